"""Which sheets a plank takes: columns of equal sheets that follow its curve, the fewest, each met by one of a few
parallel straight lines; how they lie over each other, and in which order they are laid.

A column of sheets covers what the plank reaches over it and no more, and begins where that lies: a plank that is
strongly curved takes no empty sheets. Columns are as far apart as the overlap allows, and are pushed along the plank to
where they are fewest, then to where the fewest lines meet them all. Sheets stay square to the straight line that they
are laid by, the plank's own baseline: turned against it by up to 8 degrees, 60 invented planks would take 2 to 3 sheets
in a hundred less, and the line would run askew over every one of them. Columns that overlap unevenly save none.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.polyline import resample_polyline

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Points

__all__ = ["ARM_MM", "Join", "Tile", "TilePlan", "list_borders", "list_joins", "list_order", "name_row", "plan_tiles"]

ARM_MM = 5.0              # of the crosses
_LONGEST_BETWEEN_MM = 1000.0
_LEAST_APART_MM = 20.0    # crosses that stand nearer to each other prove nothing
_CLEAR_MM = 4.0           # from what is covered to the upper and lower edges of its sheet
_STEP_MM = 2.0            # of the places along where columns are tried
_LINE_CLEAR_MM = 10.0     # from a line to the edges of a sheet that is laid by it: its ticks and figures stand there
_MOST = 400


@dataclass(frozen=True)
class Tile:
    """One sheet. body : the number of what it is of, a plank or one of its parts; column : from the left, and number in
    its stack from the top; left_mm, top_mm : its upper left corner; line : the number of the line it is laid by.
    """

    body: int
    column: int
    number: int
    left_mm: float
    top_mm: float
    line: int

    @property
    def name(self) -> str:
        """A1 for a sheet of the first column that is laid by line A."""
        return "%s%d" % (name_row(self.line), self.column + 1)


@dataclass(frozen=True)
class TilePlan:
    """Tiles in the order they are laid: of those that lie over each other the later lies on top.

    lines_mm : y of each line; owners : the body of each; zero_mm : x of the nought of all lines.
    """

    tiles: tuple[Tile, ...]
    width_mm: float
    height_mm: float
    overlap_mm: float
    lines_mm: tuple[float, ...]
    owners: tuple[int, ...]
    zero_mm: float

    def find_box(self, tile: Tile) -> tuple[Points, Points]:
        """Upper left and lower right corner of a tile."""
        low = np.array([tile.left_mm, tile.top_mm])
        return low, low + [self.width_mm, self.height_mm]

    def find_below_mm(self, line: int) -> float:
        """How far a line lies below the first line of its body; less than 0 above it."""
        return self.lines_mm[line] - self.lines_mm[self.owners.index(self.owners[line])]


@dataclass(frozen=True)
class Join:
    """Two tiles that lie over each other, the later on top, and the crosses in their overlap in order: places, and the
    way the join runs.
    """

    number: int
    first: Tile
    second: Tile
    crosses: tuple[tuple[float, ...], ...]
    upright: bool

    @property
    def apart_mm(self) -> float:
        """From the first cross to the last."""
        return float(np.hypot(*np.subtract(self.crosses[-1], self.crosses[0])))


def name_row(row: int) -> str:
    """Letter of a line that tiles are laid by."""
    return chr(ord("A") + row % 26) * (1 + row // 26)


def plan_tiles(bodies: Sequence[Points], *, width_mm: float, height_mm: float, overlap_mm: float,
               baselines_mm: Sequence[float] | None = None, from_mm: float | None = None) -> TilePlan:
    """Cover shapes with sheets.

    Parameters
    ----------
    bodies : sequence of ndarray, shape (n, 2), mm
        Closed outlines, each covered by itself: a plank, or its parts.
    width_mm, height_mm : float
        What the machine reaches on one sheet; inf for a roll without end.
    overlap_mm : float
        Little saves paper; much gives the crosses room and the glue a hold.
    baselines_mm : sequence of float, optional
        y of the line of each that its sheets are laid by wherever it meets them; else half-way down its first column.
    from_mm : float, optional
        x of a place that lies a whole number of 100 mm from the nought of the lines; else they begin with the first
        sheet.

    Raises
    ------
    SettingError
        If the overlap is as large as a sheet, or there would be too many sheets to join.
    """
    size = np.max([np.ptp(body, axis=0) for body in bodies], axis=0) + [0.0, 2 * _CLEAR_MM]
    wide, tall = (float(min(reach, most)) if not np.isfinite(reach) else float(reach)
                  for reach, most in zip((width_mm, height_mm), size))
    if not 2 * ARM_MM <= overlap_mm <= 0.4 * min(wide, tall):
        raise SettingError("An overlap of %.0f mm does not suit tiles of %.0f x %.0f mm." % (overlap_mm, wide, tall),
                           "Give %.0f mm to two fifths of the smaller side." % (2 * ARM_MM), "Overlap")
    if size[0] / (wide - overlap_mm) > _MOST:
        raise _find_too_many(size[0] / (wide - overlap_mm))
    tiles, lines, owners = [], [], []
    for number, body in enumerate(bodies):
        found, own = _cover(np.asarray(body, float), wide, tall, overlap=overlap_mm,
                            baseline=None if baselines_mm is None else baselines_mm[number])
        used = sorted({line for *_, line in found})
        tiles += [Tile(number, column, k, left_mm=left, top_mm=top, line=len(lines) + used.index(line))
                  for column, k, left, top, line in found]
        lines += [own[k] for k in used]
        owners += [number] * len(used)
    if len(tiles) > _MOST:
        raise _find_too_many(len(tiles))
    begin = min(tile.left_mm for tile in tiles)
    zero = begin if from_mm is None else from_mm - 100.0 * np.ceil((from_mm - begin) / 100.0 - 1e-9)
    return TilePlan(tuple(tiles), wide, tall, overlap_mm=float(overlap_mm), lines_mm=tuple(lines),
                    owners=tuple(owners), zero_mm=float(zero))


def _find_too_many(count):
    return SettingError("The plank would take %d tiles." % np.ceil(count), "Choose a larger sheet, or a roll.",
                        "Sheet size")


def _cover(body, wide, tall, overlap, baseline):
    """(column, number, left, top, line) of each sheet of one shape, in the order of laying; and y of its lines."""
    (low, _), (high, _) = body.min(axis=0), body.max(axis=0)
    pitch, deep = wide - overlap, tall - overlap
    if wide >= high - low - 1e-9:
        phases, count = np.array([(low + high - wide) / 2]), 1
        tops, feet = np.array([[body[:, 1].min()]]), np.array([[body[:, 1].max()]])
    else:
        step = pitch / np.ceil(pitch / _STEP_MM)
        phases = low - step * np.arange(round(pitch / step))
        count = int(np.ceil((high - phases[-1] - overlap) / pitch - 1e-9))
        tops, feet = _measure_reaches(body, phases[-1], step, wide, count=count, pitch=pitch)
        tops, feet = tops[::-1], feet[::-1]
    # a column that begins where the one before has covered all is none
    begins = phases[:, None] + pitch * np.arange(count)
    needed = begins + overlap < high - 1e-9
    needed[:, 0] = True
    numbers = np.where(needed, np.maximum(np.ceil((feet - tops + 2 * _CLEAR_MM - overlap) / deep - 1e-9), 1), 0)
    numbers = numbers.astype(int)
    fewest = np.flatnonzero(numbers.sum(axis=1) == numbers.sum(axis=1).min())
    best = None
    for k in fewest.tolist():
        columns = [(begins[k, c], int(n), feet[k, c] + _CLEAR_MM - n * deep - overlap, tops[k, c] - _CLEAR_MM)
                   for c, n in enumerate(numbers[k]) if n]
        found, lines = _lay_lines(columns, tall, deep, overlap=overlap, baseline=baseline)
        last = columns[-1][0] + wide
        cost = (len(lines), abs((low - columns[0][0]) - (last - high)))
        if best is None or cost < best[0]:
            best = cost, found, lines
    assert best is not None
    return best[1], best[2]


def _measure_reaches(body, first, step, wide, *, count, pitch):
    """Least and greatest y over each column, for every phase: (phases, count); inf and -inf beyond the shape."""
    ends = np.vstack([body, body[:1]])
    points = np.vstack([resample_polyline(ends, step_mm=step / 4), body])
    every, span = round(pitch / step), int(np.ceil(wide / step)) + 1
    total = every * count + span
    least, most = np.full(total, np.inf), np.full(total, -np.inf)
    cell = np.clip(((points[:, 0] - first) / step + 1e-9).astype(int), 0, total - 1)
    np.minimum.at(least, cell, points[:, 1])
    np.maximum.at(most, cell, points[:, 1])
    windows = np.lib.stride_tricks.sliding_window_view
    tops, feet = windows(least, span).min(axis=1), windows(most, span).max(axis=1)
    places = np.arange(every)[:, None] + every * np.arange(count)
    return tops[places], feet[places]


def _lay_lines(columns, tall, deep, overlap, baseline):
    """Tops of all columns and the line of each sheet, so that few lines do: the baseline where it meets a sheet, then
    each time the line that meets most of those that go first out of reach.

    columns : (left, number of sheets, least and greatest top) of each.
    """
    clear = min(max(_LINE_CLEAR_MM, 0.55 * overlap), 0.3 * tall)
    first = columns[0]
    lines = [float(baseline) if baseline is not None else (first[2] + first[3]) / 2 + (first[1] * deep + overlap) / 2]
    found: dict[tuple[int, int], tuple[float, int]] = {}
    waiting: list[tuple[float, float, int, int, float | None]] = []
    for c, (_, number, least, most) in enumerate(columns):
        top = (least + most) / 2
        if number == 1:
            reach = (least + clear, most + tall - clear)
            if reach[0] <= lines[0] <= reach[1]:
                found[c, 0] = (float(np.clip(top, lines[0] - tall + clear, lines[0] - clear)), 0)
            else:
                waiting.append((reach[1], reach[0], c, 0, None))
            continue
        tried = [top, *np.linspace(least, most, 9)]
        meets = [[k for k in range(number) if t + k * deep + clear <= lines[0] <= t + k * deep + tall - clear]
                 for t in tried]
        best = max(range(len(tried)), key=lambda k: len(meets[k]))
        for k in range(number):
            at = tried[best] + k * deep
            if k in meets[best]:
                found[c, k] = (float(at), 0)
            else:
                waiting.append((at + tall - clear, at + clear, c, k, float(at)))
    while waiting:
        foot = min(waiting)[0]
        some = [one for one in waiting if one[1] <= foot]
        y = (max(one[1] for one in some) + foot) / 2
        taken = set()
        for _, _, c, k, at in some:
            if c in taken:                                       # a line is not asked to carry two sheets of one column
                continue
            taken.add(c)
            top = at if at is not None else float(np.clip((columns[c][2] + columns[c][3]) / 2, y - tall + clear,
                                                          y - clear))
            found[c, k] = (top, len(lines))
        lines.append(float(y))
        waiting = [one for one in waiting if (one[2], one[3]) not in found]
    return [(c, k, float(columns[c][0]), *found[c, k]) for c, k in sorted(found)], lines


def list_order(plan: TilePlan) -> list[tuple[Tile, Tile | None, str]]:
    """Each tile in the order of laying, the one earlier tile that it is glued on, and by which of its edges, 'left' or
    'upper': the one with which it shares most; None and '' for the first of a body.
    """
    told = []
    for k, tile in enumerate(plan.tiles):
        best: tuple[float, Tile | None, str] = (0.0, None, "")
        for other in plan.tiles[:k]:
            low, high = _find_shared(plan, tile, other)
            if other.body == tile.body and np.all(high - low > 1e-6):
                upright = other.column != tile.column
                shared = float((high - low)[1 if upright else 0])
                best = max(best, (shared, other, "left" if upright else "upper"), key=lambda one: one[0])
        told.append((tile, best[1], best[2]))
    return told


def _find_shared(plan, first, second):
    """Corners of what two tiles share; the second not beyond the first where they share nothing."""
    boxes = plan.find_box(first), plan.find_box(second)
    return np.maximum(boxes[0][0], boxes[1][0]), np.minimum(boxes[0][1], boxes[1][1])


def list_joins(plan: TilePlan) -> list[Join]:
    """All joins of tiles, in the order of laying.

    Every overlap long enough has at least two crosses, as far apart as it allows, and no more than a metre from one to
    the next; none of them lies on a third tile.
    """
    joins: list[Join] = []
    for k, tile in enumerate(plan.tiles):
        for other in plan.tiles[:k]:
            if other.body != tile.body or abs(other.column - tile.column) > 1:
                continue
            upright = other.column != tile.column
            crosses = _place_crosses(plan, other, tile, upright)
            if crosses:
                joins.append(Join(len(joins) + 1, other, tile, crosses=tuple(crosses), upright=upright))
    return joins


def _place_crosses(plan, first, second, upright):
    low, high = _find_shared(plan, first, second)
    along, across = (1, 0) if upright else (0, 1)
    if (high - low)[across] < 2 * ARM_MM - 1e-9 or (high - low)[along] < 4 * ARM_MM + _LEAST_APART_MM:
        return []
    places = np.zeros((int((high - low)[along] - 4 * ARM_MM) + 1, 2))
    places[:, across] = (low + high)[across] / 2
    places[:, along] = np.linspace(low[along] + 2 * ARM_MM, high[along] - 2 * ARM_MM, len(places))
    for other in plan.tiles:
        if other.body == first.body and other not in (first, second):
            box = plan.find_box(other)
            places = places[~np.all((places > box[0] - 2 * ARM_MM) & (places < box[1] + 2 * ARM_MM), axis=1)]
    if len(places) < 2 or np.ptp(places[:, along]) < _LEAST_APART_MM:
        return []
    count = max(2, int(np.ceil(np.ptp(places[:, along]) / _LONGEST_BETWEEN_MM)) + 1)
    wanted = np.linspace(places[0, along], places[-1, along], count)
    return [tuple(map(float, places[int(np.argmin(np.abs(places[:, along] - at)))])) for at in wanted]


def list_borders(plan: TilePlan, *, step_mm: float = 0.7) -> Points:
    """Places (n, 2) along the edges of tiles as they are seen when all are laid: not where a later one lies over them.
    """
    found = []
    for k, tile in enumerate(plan.tiles):
        low, high = plan.find_box(tile)
        corners = np.array([low, (high[0], low[1]), high, (low[0], high[1]), low])
        points = resample_polyline(corners, step_mm=step_mm)
        for later in plan.tiles[k + 1:]:
            box = plan.find_box(later)
            points = points[~np.all((points > box[0] + 1e-6) & (points < box[1] - 1e-6), axis=1)]
        found.append(points)
    return np.concatenate(found)
