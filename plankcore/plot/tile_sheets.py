"""What is drawn on each sheet that is joined with others: its part of the plank, a piece of the straight line that it
is laid by, crosses that prove its joins, the edge it is glued by, its neighbours.

Sheets laid cross on cross turn a little at each join, and the turns add up to a bend. Laid by one line that is straight
by itself, a wire or a chalk line, and by the figures of one tape along it, each has its own slip and no more. Words are
never cut by a sheet's edge: each is whole on the sheet that shows it when all are laid.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import clip_strokes, draw_polyline, measure_extents, sample_lines
from ..model.drawing import SheetLine
from ..model.page import Page
from ..paper.blocks import letter_texts, make_cross, make_stroke
from ..paper.room import Bounds, Room, WordBlock, WordPair
from .tiles import ARM_MM, list_borders, list_joins, list_order, name_row

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Points
    from ..model.page import SheetBlock
    from .tiles import Join, Tile, TilePlan

__all__ = ["RowLine", "draw_tiles", "find_bounds", "list_lines", "list_neighbours"]

TICK_MM, NAMED_MM, METRE_MM = 10.0, 100.0, 1000.0
_SIZES = (3.0, 2.5)       # of the sheet's own lettering, which is read close by
_BASELINE = ("wood-baseline", "wood-baseline-tick")
_SIDES = (("LEFT", 0, -1), ("RIGHT", 0, 1), ("ABOVE", 1, -1), ("BELOW", 1, 1))


@dataclass(frozen=True)
class RowLine:
    """A line that sheets are laid by. number : of the plan; y_mm : where it lies; below_mm : how far below the first
    line of the same body; first_mm, last_mm : its outermost ticks.
    """

    number: int
    y_mm: float
    below_mm: float
    first_mm: float
    last_mm: float


def _list_ticks(plan, tile):
    """Distances of a tile's ticks from nought."""
    left, right = tile.left_mm - plan.zero_mm, tile.left_mm + plan.width_mm - plan.zero_mm
    first, last = np.ceil(left / TICK_MM - 1e-6), np.floor(right / TICK_MM + 1e-6)
    return TICK_MM * np.arange(max(first, 0.0), last + 1.0)


def list_lines(plan: TilePlan) -> list[RowLine]:
    """The lines of a plan, in order."""
    found = []
    for number, y in enumerate(plan.lines_mm):
        ticks = np.concatenate([_list_ticks(plan, tile) for tile in plan.tiles if tile.line == number])
        found.append(RowLine(number, y, plan.find_below_mm(number), first_mm=float(ticks.min()),
                             last_mm=float(ticks.max())))
    return found


def list_neighbours(plan: TilePlan, tile: Tile) -> list[tuple[str, list[str]]]:
    """Names of the tiles that lie over a tile or under it, by its sides."""
    low, high = plan.find_box(tile)
    found: dict[str, list[str]] = {}
    for other in plan.tiles:
        box = plan.find_box(other)
        shared = np.minimum(box[1], high) - np.maximum(box[0], low)
        if other.body != tile.body or other == tile or np.any(shared <= 1e-6):
            continue
        step = other.column - tile.column or other.number - tile.number
        side = next(name for name, axis, way in _SIDES
                    if axis == (other.column == tile.column) and way == np.sign(step))
        found.setdefault(side, []).append(other.name)
    return [(name, found[name]) for name, *_ in _SIDES if name in found]


def _draw_line(plan, tile):
    """The piece of its line on a tile, with ticks every 10 mm, longer at 50, longest at 100; and the ticks that are
    lettered, every 100, on a tile with fewer than two of those every 50.
    """
    ticks, y, row = _list_ticks(plan, tile), plan.lines_mm[tile.line], name_row(tile.line)
    lines = [make_stroke((tile.left_mm, y), (tile.left_mm + plan.width_mm, y), role="baseline", style="join",
                         values=(("row", row), ("from_mm", tile.left_mm - plan.zero_mm),
                                 ("to_mm", tile.left_mm + plan.width_mm - plan.zero_mm),
                                 ("below_mm", plan.find_below_mm(tile.line))))]
    for tick in ticks:
        x = plan.zero_mm + tick
        arm = 4.0 if tick % NAMED_MM == 0 else 2.5 if tick % (NAMED_MM / 2) == 0 else 1.2
        lines.append(SheetLine(draw_polyline([(x, y - arm), (x, y + arm)]), "draw", role="baseline-tick",
                               style="join", closed=False, values=(("row", row), ("distance_mm", float(tick)))))
    told = NAMED_MM if np.count_nonzero(np.mod(ticks, NAMED_MM) == 0) > 1 else NAMED_MM / 2
    return lines, [float(tick) for tick in ticks if tick % told == 0]


def find_bounds(plan: TilePlan) -> Bounds:
    """What the plank's own words keep to: the tiles, but not across an edge that is seen when all are laid, nor where
    lines, ticks with their figures, and crosses stand.
    """
    found = []
    for tile in plan.tiles:
        lines, figures = _draw_line(plan, tile)
        y = plan.lines_mm[tile.line]
        found += lines
        for tick in figures:
            x = plan.zero_mm + tick
            corners = [(x - 16, y - 9), (x + 16, y - 9), (x + 16, y + 9), (x - 16, y + 9), (x - 16, y - 9)]
            found.append(SheetLine(draw_polyline(corners), "draw", role="baseline-tick", style="join", closed=True))
    found += [make_cross(at, ARM_MM, role="join-mark", style="join") for join in list_joins(plan)
              for at in join.crosses]
    return Bounds(tuple(map(plan.find_box, plan.tiles)), list_borders(plan), tuple(one.cubics for one in found))


def draw_tiles(pieces: Sequence[SheetBlock], plan: TilePlan, *, edge_mm: float, titles: Sequence[str],
               page_mm: Sequence[float] | None = None,
               last: str = "") -> tuple[list[Page], list[Join], list[str]]:
    """The tiles as pages.

    Parameters
    ----------
    pieces : sequence of SheetBlock
        What is cut up, in the places of the plan; one for each of its bodies.
    plan : TilePlan
    edge_mm : float
        What the machine cannot reach.
    titles : sequence of str
        Lettered on every tile of each body.
    page_mm : (float, float), optional
        The sheet of paper; else the tile and the edges.
    last : str
        File and date, or ''.

    Returns
    -------
    pages : list of Page
        In the order of laying.
    joins : list of Join
    off : list of str
        Roles of the lines that are not whole on the tiles.
    """
    joins, pages = list_joins(plan), []
    parts, off = _part_lines(pieces, plan)
    size = np.array([plan.width_mm, plan.height_mm])
    width, height = page_mm or (size + 2 * edge_mm)
    for number, (tile, under, edge) in enumerate(list_order(plan), 1):
        low, _ = plan.find_box(tile)
        rows = ["%s  TILE %d OF %d" % (titles[tile.body], number, len(plan.tiles)), _tell_line(plan, tile),
                "  ".join("%s %s" % (side, " AND ".join(names)) for side, names in list_neighbours(plan, tile)), last]
        own = _furnish(plan, tile, joins, parts[tile], under=under, edge=edge, rows=[row for row in rows if row])
        whole = [replace(line, cubics=np.asarray(line.cubics) - low + edge_mm) for line in (*parts[tile], *own)]
        pages.append(Page(tile.name, float(width), height_mm=float(height), lines=tuple(whole),
                          title=titles[tile.body]))
    return pages, joins, off


def _part_lines(pieces, plan):
    """The lines of each tile, clipped, words whole, on every tile that has room for all of them; and the roles of lines
    that the tiles together do not have whole.
    """
    parts, off = {tile: [] for tile in plan.tiles}, []
    for body, piece in enumerate(pieces):
        tiles = [tile for tile in plan.tiles if tile.body == body]
        lines = (*piece.lines, *letter_texts(piece.texts))
        extents = measure_extents([line.cubics for line in lines])
        for line, (least, most) in zip(lines, extents):
            words, whole = "text" in dict(line.values), False
            for tile in tiles:
                low, high = plan.find_box(tile)
                # a tile that is laid by the straight line of the wood has that in its place
                if np.any(most < low) or np.any(least > high) or (
                        line.role in _BASELINE and abs((least + most)[1] / 2 - plan.lines_mm[tile.line]) < 1e-6):
                    continue
                if np.all((least >= low) & (most <= high)):
                    parts[tile].append(line)
                    whole = True
                elif not words:
                    runs = clip_strokes(line.cubics, low, high)
                    if runs:
                        parts[tile].append(replace(line, cubics=np.concatenate(runs), closed=False))
            if words and not whole:
                _move_in(line, least, most, plan=plan, tiles=tiles, parts=parts)
            elif not whole and not _are_covered(line, plan, tiles):
                off.append(line.role)
    return parts, off


def _are_covered(line, plan, tiles):
    """Whether every place of a line lies on some tile."""
    points = sample_lines([line.cubics], tolerance_mm=0.5, step_mm=2.0)
    covered = np.zeros(len(points), bool)
    for tile in tiles:
        low, high = plan.find_box(tile)
        covered |= np.all((points >= low - 1e-6) & (points <= high + 1e-6), axis=1)
    return bool(covered.all())


def _move_in(line, least, most, *, plan, tiles, parts):
    """Words that no tile has whole, moved the least way into one, smaller where they must be."""
    best = None
    for tile in tiles:
        low, high = plan.find_box(tile)
        low, high = low + 1.0, high - 1.0
        share = min(1.0, *((high - low) / np.maximum(most - least, 1e-9)))
        middle = (least + most) / 2
        half = (most - least) * share / 2
        at = np.clip(middle, low + half, high - half)
        way = float(np.hypot(*(at - middle)))
        if best is None or way < best[0]:
            best = way, tile, (np.asarray(line.cubics) - middle) * share + at
    assert best is not None
    parts[best[1]].append(replace(line, cubics=best[2]))


def _tell_line(plan, tile):
    """Which line a tile is laid by, and where that lies."""
    below = plan.find_below_mm(tile.line)
    first = plan.owners.index(tile.body)
    return "LAY BY LINE %s%s, TICKS IN MM FROM ONE ZERO" % (
        name_row(tile.line), ", %.1f MM %s LINE %s" % (abs(below), "BELOW" if below > 0 else "ABOVE", name_row(first))
        if tile.line != first else "")


def _furnish(plan, tile, joins, found, *, under, edge, rows):
    """Everything on a tile that is not the plank's: lines and lettered words, clear of what is drawn."""
    low, high = plan.find_box(tile)
    drawn, figures = _draw_line(plan, tile)
    corners = [low, np.array([high[0], low[1]]), high, np.array([low[0], high[1]])]
    glued = {"left": 3, "upper": 0}.get(edge)
    for k in range(4):
        values = (("tile", under.name),) if k == glued else ()
        drawn.append(make_stroke(corners[k], corners[(k + 1) % 4], role="glue-edge" if k == glued else "tile-edge",
                                 style="sheet", values=values))
    covers = [(later, *_share(plan, tile, later)) for later in plan.tiles[plan.tiles.index(tile) + 1:]
              if later.body == tile.body]
    covers = [(later, a, b) for later, a, b in covers if np.all(b - a > 1e-6)]
    for later, a, b in covers:
        ends = ((a[0], a[1]), (a[0], b[1])) if later.column != tile.column else ((a[0], a[1]), (b[0], a[1]))
        drawn.append(make_stroke(*ends, role="lap", style="sheet", values=(("tile", later.name),)))
    crosses = [(join, k, at) for join in joins if tile in (join.first, join.second)
               for k, at in enumerate(join.crosses)]
    drawn += [make_cross(at, ARM_MM, role="join-mark", style="join",
                         values=(("join", str(join.number)), ("cross", _name_cross(join, k))))
              for join, k, at in crosses]
    room = Room(low, high, round_mm=2.0)
    room.keep_to(Bounds(((low, high),), np.zeros((0, 2)), ()))
    room.add_lines([line.cubics for line in (*found, *drawn)])
    texts = []
    for tick in figures:
        texts += _letter_figure(room, plan.zero_mm + tick, plan.lines_mm[tile.line], tick)
    for join, k, at in crosses:
        texts += _letter_cross(room, join, k, at, low=low, high=high)
    for later, a, b in covers:
        texts += _letter_strip(room, ["%s IS GLUED ON HERE" % later.name, later.name], a, b,
                               upright=later.column != tile.column)
        room.add_box((a + b) / 2, b - a)
    if under is not None:
        edges = (low, np.array([low[0] + 30.0, high[1]])) if edge == "left" else (low, np.array([high[0],
                                                                                                low[1] + 30.0]))
        texts += _letter_strip(room, ["TRIM ON THE DASHED EDGE, GLUE ON %s" % under.name, "GLUE ON %s" % under.name],
                               *edges, upright=edge == "left", middle=False)
    texts += _letter_title(room, tile, rows, low=low, high=high, found=(*found, *drawn))
    return [*drawn, *letter_texts(texts)]


def _share(plan, first, second):
    boxes = plan.find_box(first), plan.find_box(second)
    return np.maximum(boxes[0][0], boxes[1][0]), np.minimum(boxes[0][1], boxes[1][1])


def _name_cross(join, k):
    return "%d%s" % (join.number, chr(ord("A") + k))


def _place(room, blocks, middles, *, low, high, angles_deg=0.0):
    """The texts of the first of some blocks that finds a place; of the last at the first place that is on the sheet if
    none does.
    """
    middles = np.asarray(middles, float).reshape(-1, 2)
    angles = np.broadcast_to(np.asarray(angles_deg, float), len(middles))
    for block in blocks:
        laid = room.place(block, middles, angles_deg=angles)
        if laid is not None:
            return list(laid)
    half = np.array(blocks[-1].size_mm) / 2
    halves = np.where(angles[:, None] == 0.0, half, half[::-1])
    inside = np.flatnonzero(np.all((middles >= low + halves) & (middles <= high - halves), axis=1))
    k = inside[0] if len(inside) else 0
    return list(blocks[-1].letter(middles[k], angle_deg=float(angles[k])))


def _letter_figure(room, x, y, tick):
    """A tick's figure, to either side of it and of the line; larger at whole metres; none where there is no room."""
    for size in (5.0, *_SIZES) if tick % METRE_MM == 0 else _SIZES:
        block = WordBlock((("%d" % tick, size),), style="join", role="note")
        wide, tall = block.size_mm
        off = np.array([(a, b) for a in (2.0, 3.5, 5.0, 6.5) for b in np.arange(3.4, max(7.8 - tall / 2, 3.5), 0.8)])
        places = np.concatenate([np.array([x, y]) + (off + [wide / 2, tall / 2]) * way
                                 for way in ((1, -1), (-1, -1), (1, 1), (-1, 1))])
        laid = room.place(block, places)
        if laid is not None:
            return list(laid)
    return []


def _letter_cross(room, join, k, at, *, low, high):
    """A cross's name, and how far it is to the next, beside it."""
    text = _name_cross(join, k)
    if k + 1 < len(join.crosses):
        text += "  TO %s %.1f MM" % (_name_cross(join, k + 1), np.hypot(*np.subtract(join.crosses[k + 1], at)))
    blocks = [WordBlock(((text, size),), style="join", role="note") for size in _SIZES]
    wide, tall = blocks[0].size_mm
    steps = np.arange(-99.0, 100.0, 3.0)
    x, y = (axis.ravel() for axis in np.meshgrid(steps, steps))
    places, angles, apart = [], [], []
    for angle, half in ((0.0, (wide / 2, tall / 2)), (-90.0, (tall / 2, wide / 2))):
        off = np.hypot(np.maximum(np.abs(x) - half[0], 0.0), np.maximum(np.abs(y) - half[1], 0.0))
        places.append(np.stack([x, y], axis=1) + at)
        angles.append(np.full(len(x), angle))
        apart.append(off)
    order = np.argsort(np.concatenate(apart), kind="stable")
    return _place(room, blocks, np.concatenate(places)[order], low=low, high=high,
                  angles_deg=np.concatenate(angles)[order])


def _letter_strip(room, texts, low, high, *, upright, middle=True):
    """Words along a strip of a tile, along its middle or its outer side; the shorter where the longer find no room."""
    angle = -90.0 if upright else 0.0
    axis, across = (1, 0) if upright else (0, 1)
    for size in _SIZES:
        for text in texts:
            block = WordBlock(((text, size),), style="join", role="note")
            wide, tall = block.size_mm
            along = np.arange(low[axis] + wide / 2, high[axis] - wide / 2 + 1e-9, 4.0)
            off = np.arange(low[across] + tall / 2 + 1.0, high[across] - tall / 2, 2.0)
            off = off[np.argsort(np.abs(off - (low + high)[across] / 2), kind="stable")] if middle else off
            places = np.zeros((len(along) * len(off), 2))
            if not len(places):
                continue
            places[:, axis], places[:, across] = np.tile(along, len(off)), np.repeat(off, len(along))
            laid = room.place(block, places, angles_deg=angle)
            if laid is not None:
                return list(laid)
    return []


def _letter_title(room, tile, rows, *, low, high, found):
    """The tile's name and what it says of itself, together where there is room, else row by row."""
    x, y = np.arange(low[0] + 4.0, high[0], 6.0), np.arange(low[1] + 4.0, high[1], 4.0)
    places = np.stack([np.tile(x, len(y)), np.repeat(y, len(x))], axis=1)
    name = WordBlock(((tile.name, 8.0),), role="note")
    for size in _SIZES:
        for some in (rows, ["  ".join(rows[k:k + 2]) for k in range(0, len(rows), 2)]):
            laid = room.place(WordPair(name, WordBlock(tuple((row, size) for row in some), role="note")), places)
            if laid is not None:
                return list(laid)
    texts: list = []
    for blocks in ([WordBlock(((tile.name, size),), role="note") for size in (8.0, 5.0)],
                   *([WordBlock(((row, size),), role="note") for size in _SIZES] for row in rows)):
        taken = (*found, *letter_texts(texts))
        texts += _place(room, blocks, _order_by_emptiness(places, taken, blocks[-1].size_mm, low=low, high=high),
                        low=low, high=high)
    return texts


def _order_by_emptiness(places: Points, found: Sequence[SheetLine], size: Sequence[float], *, low: Points,
                        high: Points) -> Points:
    """Places on a sheet for the middle of a box: that where least is drawn first."""
    half = np.asarray(size) / 2
    inside = places[np.all((places >= low + half) & (places <= high - half), axis=1)]
    if not len(inside):
        return places[:1]
    points = sample_lines([line.cubics for line in found], tolerance_mm=0.5, step_mm=4.0)
    counts = [int(np.count_nonzero(np.all(np.abs(points - at) <= half, axis=1))) for at in inside[::5]]
    return np.concatenate([inside[::5][int(np.argmin(counts))][None], inside])

