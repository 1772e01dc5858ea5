"""A plank cut into tiles: equal rectangles that overlap, with one straight line through all of a row, and crosses in
every overlap by which the join is checked."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.lettering import text_width_mm
from ..geometry.strokes import clip_strokes, measure_extents, sample_lines
from ..model.drawing import SheetLine, SheetText
from ..model.page import Page, SheetBlock
from ..paper.blocks import letter_texts, make_cross, make_stroke
from .tile_lines import draw_line, name_row, place_lines

if TYPE_CHECKING:
    from typing import Any, Collection, Mapping, Sequence

    from ..geometry.arrays import ArrayLike
    from .tile_lines import RowLine

__all__ = ["Join", "TilePlan", "draw_tiles", "list_joins", "name_tile", "plan_tiles"]

_ARM_MM = 5.0
_LONGEST_BETWEEN_MM = 1000.0
_FINE_MM = 3.0            # lettering of the crosses


@dataclass(frozen=True)
class TilePlan:
    """Tiles in columns and rows: the x and y where each begins, their size, and the least overlap."""

    lefts: tuple[float, ...]
    tops: tuple[float, ...]
    width_mm: float
    height_mm: float
    overlap_mm: float


@dataclass(frozen=True)
class Join:
    """Two overlapping tiles (column, row), the places of the crosses in their overlap in order, and the direction of
    the join."""

    number: int
    first: tuple[int, ...]
    second: tuple[int, ...]
    crosses: tuple[tuple[float, ...], ...]
    upright: bool

    @property
    def apart_mm(self) -> float:
        """From the first cross to the last."""
        return float(np.hypot(*np.subtract(self.crosses[-1], self.crosses[0])))


def name_tile(place: Sequence[int]) -> str:
    """A1 for the first column of the first row; rows are letters, from the top."""
    column, row = place
    return "%s%d" % (name_row(row), column + 1)


def plan_tiles(low: ArrayLike, high: ArrayLike, *, width_mm: float, height_mm: float, overlap_mm: float) -> TilePlan:
    """Spread tiles over a rectangle.

    Parameters
    ----------
    low, high : (2,), mm
        Its corners.
    width_mm, height_mm : float
        What the machine reaches on one tile; inf for a roll without end.
    overlap_mm : float
        Small saves paper; large gives the crosses room and the adhesive tape a hold.

    Raises
    ------
    SettingError
        If the overlap is as large as a tile, or there would be too many tiles to join.
    """
    size = np.asarray(high, float) - low
    if not 2 * _ARM_MM <= overlap_mm <= 0.4 * min(width_mm, height_mm):
        raise SettingError("An overlap of %.0f mm does not suit tiles of %.0f x %.0f mm."
                           % (overlap_mm, min(width_mm, size[0]), min(height_mm, size[1])),
                           "Give %.0f mm to two fifths of the smaller side." % (2 * _ARM_MM), "Overlap")
    starts, sides = [], []
    for k, reach in enumerate((width_mm, height_mm)):
        reach = min(reach, size[k]) if not np.isfinite(reach) else reach
        count = max(1, int(np.ceil((size[k] - overlap_mm) / (reach - overlap_mm) - 1e-9)))
        first = low[k] - (count * (reach - overlap_mm) + overlap_mm - size[k]) / 2
        starts.append(tuple(float(first + n * (reach - overlap_mm)) for n in range(count)))
        sides.append(float(reach))
    if len(starts[0]) * len(starts[1]) > 400:
        raise SettingError("The plank would take %d tiles." % (len(starts[0]) * len(starts[1])),
                           "Choose a larger sheet, or a roll.", "Sheet size")
    return TilePlan(starts[0], starts[1], width_mm=sides[0], height_mm=sides[1], overlap_mm=float(overlap_mm))


def _clip(lines, extents, low, high):
    """Lines, or the parts of them, that lie within a rectangle; extents : (n, 2, 2), least and greatest x and y of
    each.
    """
    least, most = extents[:, 0], extents[:, 1]
    whole = np.all((least >= low) & (most <= high), axis=1)
    kept = []
    for k in np.flatnonzero(np.all((most >= low) & (least <= high), axis=1)).tolist():
        line = lines[k]
        if whole[k]:
            kept.append(line)
            continue
        runs = clip_strokes(line.cubics, low, high)
        if runs:
            kept.append(replace(line, cubics=np.concatenate(runs), closed=False))
    return kept


def list_joins(plan: TilePlan, kept: Collection[tuple[int, ...]]) -> list[Join]:
    """All joins between the tiles that are kept, from left to right and down.

    Every overlap has at least two crosses, as far apart as it is long, and no more than a metre from one to the next.
    """
    joins = []
    for row in range(len(plan.tops)):
        for column in range(len(plan.lefts)):
            here = (column, row)
            for there, upright in (((column + 1, row), True), ((column, row + 1), False)):
                if here in kept and there in kept:
                    joins.append(Join(len(joins) + 1, here, second=there,
                                      crosses=tuple(_place_crosses(plan, there, upright)),
                                      upright=upright))
    return joins


def _place_crosses(plan, second, upright):
    column, row = second
    # clear of the corners, where four tiles overlap
    inset = 2 * _ARM_MM
    if upright:
        inset += plan.overlap_mm if len(plan.tops) > 1 else 0.0
        x, start, length = plan.lefts[column] + plan.overlap_mm / 2, plan.tops[row] + inset, plan.height_mm - 2 * inset
    else:
        inset += plan.overlap_mm if len(plan.lefts) > 1 else 0.0
        x, start, length = plan.tops[row] + plan.overlap_mm / 2, plan.lefts[column] + inset, plan.width_mm - 2 * inset
    count = max(2, int(np.ceil(length / _LONGEST_BETWEEN_MM)) + 1)
    along = np.linspace(start, start + length, count)
    return [(float(x), float(v)) if upright else (float(v), float(x)) for v in along]


def _name_cross(join, k):
    return "%d%s" % (join.number, chr(ord("A") + k))


def draw_tiles(
        piece: SheetBlock, plan: TilePlan, *, edge_mm: float, title: str,
        page_mm: Sequence[float] | None = None) -> tuple[list[Page], list[Join], dict[int, RowLine],
                                                         list[tuple[int, ...]]]:
    """The tiles as pages.

    Parameters
    ----------
    piece : SheetBlock
        What is cut up, in the coordinates of the plan.
    plan : TilePlan
    edge_mm : float
        What the machine cannot reach.
    title : str
        Lettered on every tile.
    page_mm : (float, float), optional
        The sheet of paper; else the tile and the edges.

    Returns
    -------
    pages : list of Page
        Those tiles that have something on them, row by row.
    joins : list of Join
    rows : dict
        Row to the RowLine that its tiles are laid by.
    kept : list of (column, row)
    """
    lines = (*piece.lines, *letter_texts(piece.texts))
    size, parts = np.array([plan.width_mm, plan.height_mm]), {}
    extents = measure_extents([line.cubics for line in lines])
    for row, top in enumerate(plan.tops):
        for column, left in enumerate(plan.lefts):
            found = _clip(lines, extents, np.array([left, top]), np.array([left, top]) + size)
            if found:
                parts[column, row] = found
    joins, rows, pages = list_joins(plan, set(parts)), place_lines(
        plan, list(parts), [one for found in parts.values() for one in found]), []
    width, height = page_mm or (size + 2 * edge_mm)
    for number, (place, found) in enumerate(parts.items(), 1):
        low = np.array([plan.lefts[place[0]], plan.tops[place[1]]])
        extra, words = _draw_crosses(joins, place)
        by, figures = draw_line(rows[place[1]], low[0], size[0])
        extra, words = extra + by, words + figures
        frame = [low, low + [size[0], 0], low + size, low + [0, size[1]]]
        extra += [make_stroke(a, b, role="tile-edge", style="sheet") for a, b in zip(frame, frame[1:] + frame[:1])]
        words += _letter_tile([*found, *extra, *letter_texts(words)], place, low=low, size=size,
                              rows=("%s  TILE %d OF %d" % (title, number, len(parts)), _tell_line(rows, place[1])))
        whole = [replace(line, cubics=np.asarray(line.cubics) - low + edge_mm)
                 for line in (*found, *extra, *letter_texts(words))]
        pages.append(Page(name_tile(place), float(width), height_mm=float(height), lines=tuple(whole), title=title))
    return pages, joins, rows, list(parts)


def _tell_line(rows, row):
    """Words: which line a tile is laid by, and where that is."""
    first, line = rows[min(rows)], rows[row]
    return "LAY BY LINE %s%s, TICKS IN MM FROM ONE ZERO" % (
        name_row(row), ", %.1f MM BELOW LINE %s" % (line.below_mm, name_row(first.row)) if line is not first else "")


def _draw_crosses(joins, place):
    """Crosses of a tile's joins and their words, on the tile's own side of them."""
    lines, words = [], []
    for join in joins:
        if place not in (join.first, join.second):
            continue
        for k, (x, y) in enumerate(join.crosses):
            lines.append(make_cross((x, y), _ARM_MM, role="join-mark", style="join",
                                    values=(("join", str(join.number)), ("cross", _name_cross(join, k)))))
            text = _name_cross(join, k)
            if k + 1 < len(join.crosses):
                text += "  TO %s %.1f MM" % (_name_cross(join, k + 1),
                                             np.hypot(*np.subtract(join.crosses[k + 1], (x, y))))
            before = place == join.first
            if join.upright:
                at, anchor = (x - _ARM_MM - 2 if before else x + _ARM_MM + 2,
                              y + _FINE_MM / 2), "end" if before else "start"
            else:
                at = (x + _ARM_MM + 2, y - _ARM_MM if before else y + _ARM_MM + _FINE_MM)
                anchor = "start" if k + 1 < len(join.crosses) else "end"
                at = at if anchor == "start" else (x - _ARM_MM - 2, at[1])
            words.append(SheetText(text, (float(at[0]), float(at[1])), height_mm=_FINE_MM, angle_deg=0.0,
                                   anchor=anchor, style="join"))
    return lines, words


def _letter_tile(found, place, low, size, rows):
    """The tile's name and title, in two rows, in whichever of some places is emptiest."""
    points = sample_lines([line.cubics for line in found], tolerance_mm=0.5, step_mm=4.0)
    tall, wide = 16.0, min(28.0 + max(text_width_mm(row, height_mm=_FINE_MM) for row in rows), size[0])
    spots = [(low[0] + x, low[1] + share * (size[1] - tall))
             for share in (0.0, 1.0, 0.06, 0.94, 0.12, 0.88, 0.2, 0.8, 0.3, 0.7, 0.4, 0.6)
             for x in ((size[0] - wide) / 2, 0.22 * (size[0] - wide), 0.78 * (size[0] - wide))]
    x, y = min(spots,
               key=lambda s: int(np.count_nonzero(np.all((points >= s) & (points <= np.add(s, [wide, tall])), axis=1))))
    return [SheetText(name_tile(place), (float(x + 3), float(y + 12)), 8.0),
            *(SheetText(row, (float(x + 26), float(y + 6 + 6 * k)), _FINE_MM) for k, row in enumerate(rows))]


def draw_plan(outlines: Sequence[SheetLine], plan: TilePlan, kept: Any, rows: Mapping[int, RowLine], *, room_mm: float,
              tall_mm: float) -> Any:
    """A key plan: the tiles, the lines that they are laid by and the plank's outlines, drawn small.

    Returns
    -------
    SheetBlock
        From (0, 0) down and to the right.
    scale : int
        1 : scale.
    """
    low = np.array([plan.lefts[0], plan.tops[0]])
    span = np.array([plan.lefts[-1] + plan.width_mm, plan.tops[-1] + plan.height_mm]) - low
    scale = next((n for n in SCALES if span[0] / n <= room_mm - 22.0 and span[1] / n <= tall_mm), SCALES[-1])
    lines = [SheetLine((line.cubics - low) / scale, "draw", role="key-plan",
                       style="outline" if line.pen == "draw" else "edge",
                       closed=line.closed) for line in outlines]
    words = []
    for line in rows.values():                               # only outside the tiles, so that no tile's name is hidden
        x, y = span[0] / scale, (line.y_mm - low[1]) / scale
        lines.append(make_stroke((x + 1.0, y), (x + 5.0, y), role="key-plan", style="join",
                                 values=(("row", name_row(line.row)),)))
        words.append(SheetText("LINE " + name_row(line.row), (float(x + 6.5), float(y + 1.2)), 2.5, style="join"))
    for place in kept:
        corner = (np.array([plan.lefts[place[0]], plan.tops[place[1]]]) - low) / scale
        side = np.array([plan.width_mm, plan.height_mm]) / scale
        corners = [corner, corner + [side[0], 0], corner + side, corner + [0, side[1]]]
        lines += [make_stroke(a, b, role="key-plan", style="sheet") for a, b in zip(corners, corners[1:] + corners[:1])]
        height = float(np.clip(0.25 * side.min(), 2.5, 6.0))
        words.append(SheetText(name_tile(place),
                               tuple(map(float, corner + [side[0] / 2, height + 1.5 if place[1] == 0 else side[1]
                                                          - 1.5])), height_mm=height, angle_deg=0.0, anchor="middle"))
    return SheetBlock(tuple(lines), tuple(words)), scale


# usual drawing scales that also have a name in inches to the foot: 1:8 is 1 1/2 in, 1:16 is 3/4 in
SCALES = (2, 4, 8, 12, 16, 24, 32, 48, 64, 96)
