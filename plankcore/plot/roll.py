"""Pieces laid on a roll: planks turned to take the least of its width, as far to its beginning as they go, one in the
hollow of another.

Each piece is divided into narrow columns across the roll, with its least and greatest y in each. It is dropped on what
is there already; of all places along the roll where it stays within the width, the first is taken. Many orders of the
pieces, and both ways round, are tried: each time the piece comes next that leaves least unused paper under it compared
with what it covers. The shortest run is kept.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.convex import find_least_width
from ..geometry.strokes import flatten_lines, flatten_strokes, sample_lines
from ..paper.blocks import letter_texts, measure_block, move_block, move_line
from .plank import lay_plank, list_outlines, split_parts

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Matrix, Point, Values
    from ..model.drawing import SheetLine
    from ..model.page import PlankMatter, SheetBlock
    from .chosen import MediumSettings

__all__ = [
    "COLUMN_MM",
    "Nest",
    "Profile",
    "check_edge",
    "find_profile",
    "nest_on_roll",
    "turn_block",
    "turn_least",
    "turn_profile",
]


def turn_block(piece: SheetBlock) -> tuple[SheetBlock, Matrix]:
    """A piece turned so that it takes the least width, and the turn (2, 3)."""
    runs = [run for one in (*piece.lines, *letter_texts(piece.texts))
            for run in flatten_strokes(one.cubics, tolerance_mm=0.1)]
    least = find_least_width(np.concatenate(runs))
    assert least is not None                # None is possible only with a limited length
    a = np.radians(least.turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a), 0.0], [np.sin(a), np.cos(a), 0.0]])
    return move_block(piece, turn), turn


def turn_least(matter: PlankMatter) -> tuple[SheetBlock, list[SheetBlock], list[SheetLine]]:
    """A plank turned to its least width, with its parts beside it: (piece, tables, a piece with its outlines only)."""
    piece, tables, to_piece = lay_plank(matter)
    alone, _ = split_parts(piece)
    turn = turn_block(alone)[1]
    outlines = [move_line(move_line(one, to_piece), turn) for one in list_outlines(matter.plank, matter.saw)]
    return move_block(piece, turn), tables, outlines


def check_edge(medium: MediumSettings, *sides: float) -> None:
    """Refuse a border that leaves too little of a medium."""
    if not 0 <= medium.edge_mm < 0.25 * min(sides):
        raise SettingError("An edge of %g mm leaves too little of a medium %.0f mm wide." % (
            medium.edge_mm, min(sides)), "Give what the machine cannot reach, 0 to 50 mm or so.", "Edge")


COLUMN_MM = 4.0
_COARSE = 4               # narrow columns combined into one while orders are tried
_WEIGHTS = (0.3, 0.8, 2.0)
_MOST_RUNS, _CHANGES = 15, 20   # greedy orders tried, and changes to the best for each: more take longer than the
# paper they save is worth


@dataclass(frozen=True, eq=False, repr=False)
class Profile:
    """A piece in columns from its least x: least and greatest y (n,) in each, counted from its least y; low, high :
    corners of its bounding box, (2,) mm."""

    low: Point
    high: Point
    least: Values
    most: Values


@dataclass(frozen=True, eq=False, repr=False)
class Nest:
    """Pieces on a roll. maps : of each, ndarray (2, 3), or None where it is wider than the roll; turned : whether it
    lies end for end; length_mm : length of roll used."""

    maps: tuple[Matrix | None, ...]
    turned: tuple[bool, ...]
    length_mm: float


def find_profile(piece: SheetBlock) -> Profile:
    """A piece in columns."""
    low, high = measure_block(piece)
    count = int(np.ceil((high[0] - low[0]) / COLUMN_MM)) + 1
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    lines = [line.cubics for line in (*piece.lines, *letter_texts(piece.texts))]
    points = np.concatenate([sample_lines(lines, tolerance_mm=0.1, step_mm=COLUMN_MM / 4),
                             # also the lines' corners, which even steps may miss
                             flatten_lines(lines, tolerance_mm=0.1)[0]]) - low
    column = np.clip((points[:, 0] / COLUMN_MM).astype(int), 0, count - 1)
    order = np.argsort(column, kind="stable")
    here, first = column[order], points[order, 1]
    begins = np.flatnonzero(np.diff(here, prepend=-1))
    least[here[begins]], most[here[begins]] = np.minimum.reduceat(first, begins), np.maximum.reduceat(first, begins)
    # columns without any point are interpolated from their neighbours
    empty = ~np.isfinite(least)
    if empty.any():
        at = np.arange(count)
        least[empty], most[empty] = np.interp(at[empty], at[~empty],
                                              least[~empty]), np.interp(at[empty], at[~empty], most[~empty])
    return Profile(low, high, least, most)


def turn_profile(profile: Profile) -> Profile:
    """The piece end for end: turned by half a turn, not mirrored."""
    tall, spare = profile.high[1] - profile.low[1], len(profile.least) * COLUMN_MM - (profile.high[0] - profile.low[0])
    # columns counted from the other end are offset from the old ones: each also takes its neighbour's range
    least, most = tall - profile.most[::-1], tall - profile.least[::-1]
    if spare > 1e-9:
        least = np.minimum(least, np.append(least[1:], np.inf))
        most = np.maximum(most, np.append(most[1:], -np.inf))
    return Profile(-profile.high, -profile.low, least, most)


def _thin(profile):
    """A profile in columns four times as wide."""
    count = -(-len(profile.least) // _COARSE)
    pad = count * _COARSE - len(profile.least)
    least = np.concatenate([profile.least, np.full(pad, np.inf)]).reshape(count, _COARSE).min(axis=1)
    most = np.concatenate([profile.most, np.full(pad, -np.inf)]).reshape(count, _COARSE).max(axis=1)
    return Profile(profile.low, profile.high, least, most)


class _Roll:
    """A roll while it is being filled, in columns; the first `by` of them are before its beginning."""

    def __init__(self, width_mm: float, gap_mm: float, column_mm: float):
        self.width_mm, self.gap_mm, self.by, self.used = width_mm, gap_mm, int(np.ceil(gap_mm / column_mm)) + 1, 0
        self.filled = np.zeros(self.by)

    def _spread(self, least):
        """The minimum within `by` columns of each column; the result is `by` columns longer at both ends."""
        wide = np.concatenate([np.full(2 * self.by, np.inf), least, np.full(2 * self.by, np.inf)])
        return np.lib.stride_tricks.sliding_window_view(wide, 2 * self.by + 1).min(axis=1)

    def settle(self, profile: Profile, start: int) -> float:
        """y of a piece when dropped at a column."""
        count = len(profile.least) + 2 * self.by
        self.filled = np.concatenate([self.filled, np.zeros(max(0, start + count + self.by - len(self.filled)))])
        below = self.filled[start:start + count]
        return max(0.0, float(np.where(below > 0, below + self.gap_mm + 1.0 - self._spread(profile.least), 0.0).max()))

    def find(self, profile: Profile) -> tuple[int, float]:
        """First column where a piece fits, and its y there."""
        count, tall = len(profile.least) + 2 * self.by, float(profile.most.max())
        self.filled = np.concatenate([self.filled, np.zeros(max(0, self.used + count + self.by - len(self.filled)))])
        spread = self._spread(profile.least) - self.gap_mm - 1.0
        for begin in range(0, self.used + 1, 128):           # in portions, since only the first that fits is needed
            starts = np.arange(begin, min(begin + 128, self.used + 1))
            below = np.lib.stride_tricks.sliding_window_view(self.filled[begin:starts[-1] + count], count)
            y = np.maximum(np.where(below > 0, below - spread, 0.0).max(axis=1), 0.0)
            fits = np.flatnonzero(y + tall <= self.width_mm + 1e-6)
            if len(fits):
                return int(starts[fits[0]]), float(y[fits[0]])
        return self.used + self.by, 0.0

    def measure_waste(self, profile: Profile, start: int, y: float) -> float:
        """Area (columns times mm) left unused under a piece, plus the growth of the run times the width."""
        place = slice(start + self.by, start + self.by + len(profile.least))
        under = np.clip(y + profile.least - self.filled[place], 0.0, None).sum()
        return float(under + max(0, start + len(profile.least) - self.used) * self.width_mm)

    def put(self, profile: Profile, start: int, y: float) -> None:
        count = len(profile.least)
        self.filled = np.concatenate([self.filled, np.zeros(max(0, start + count + 3 * self.by - len(self.filled)))])
        place = slice(start + self.by, start + self.by + count)
        self.filled[place] = np.maximum(self.filled[place], y + profile.most)
        self.used = max(self.used, start + count)


def _try_order(profiles, roll, *, first, weight):
    """One order, found greedily: (columns used, (piece, turned) in order, the column where each begins).

    first : (piece, turned) to begin with, or None for the order that the profiles come in; weight : of the area that a
    piece covers, against the area that it leaves unused.
    """
    left, order, starts = dict(profiles), [], []
    while left:
        places = {key: roll.find(one) for key, one in left.items()} if order and first else {}
        if places:
            costs = {key: roll.measure_waste(left[key], *place)
                     - weight * float(np.sum(left[key].most - left[key].least)) for key, place in places.items()}
            chosen = min(costs, key=lambda key: costs[key])
        else:
            chosen = first if first and not order else next(iter(left))
        start, y = places.get(chosen) or roll.find(left[chosen])
        roll.put(left[chosen], start, y)
        order.append(chosen)
        starts.append(start)
        left = {key: one for key, one in left.items() if key[0] != chosen[0]}
    return roll.used, order, starts


def _settle(profiles, order, starts, roll):
    """Pieces dropped again in narrow columns, at the places found in wide ones: (start, y) of each, and the columns
    used.

    Wide columns never take less than the narrow ones in them, so that no piece ends up higher than before.
    """
    places = {}
    for key, start in zip(order, starts):
        places[key] = start * _COARSE, roll.settle(profiles[key], start * _COARSE)
        roll.put(profiles[key], *places[key])
    return places, roll.used


def _improve(best, try_order, runs, coarse):
    """The best order improved by random changes: two pieces swapped, one moved elsewhere or turned, kept where the run
    gets shorter or pieces lie nearer its beginning. Returns (columns used, order, starts); the random numbers are the
    same each time."""
    rng = np.random.default_rng(0)
    for _ in range(_CHANGES * runs):
        order = list(best[1])
        a, b = rng.integers(0, len(order), 2)
        if rng.random() < 0.5:
            order[a], order[b] = order[b], order[a]
        else:
            order.insert(int(b), order.pop(a))
        other = (order[a][0], not order[a][1])
        if rng.random() < 0.5 and other in coarse:
            order[a] = other
        found = try_order(None, 0.0, {key: coarse[key] for key in order})
        best = min(found, best, key=lambda one: (one[0], sum(one[2])))
    return best


def nest_on_roll(pieces: Sequence[SheetBlock], *, width_mm: float, gap_mm: float, turnable: bool = True) -> Nest:
    """Where each piece goes.

    Parameters
    ----------
    pieces : sequence of SheetBlock
        Already turned along the roll.
    width_mm : float
        What the machine reaches across the roll.
    gap_mm : float
        Clear paper between pieces: little saves the roll, much is easier to cut apart.
    turnable : bool
        Whether they may lie end for end.

    Returns
    -------
    Nest
    """
    found = [find_profile(piece) for piece in pieces]
    fine = {}
    for k, one in enumerate(found):
        if one.most.max() <= width_mm + 1e-6:
            fine[k, False] = one
            if turnable:
                fine[k, True] = turn_profile(one)
    if not fine:
        return Nest((None,) * len(pieces), (False,) * len(pieces), 0.0)
    # longest first, unturned before turned: this order also decides between equal costs
    fine = {key: fine[key] for key in sorted(fine, key=lambda key: (-len(fine[key].least), key))}
    coarse = {key: _thin(one) for key, one in fine.items()}

    def try_order(first, weight, some=coarse):
        return _try_order(some, _Roll(width_mm, gap_mm, COLUMN_MM * _COARSE), first=first, weight=weight)
    tried = [try_order(None, 0.0)]
    # the work grows with the cube of the number of pieces: with many, fewer orders are tried
    runs = max(len(_WEIGHTS), min(_MOST_RUNS, 10000 // len(fine) ** 2))
    tried += [try_order(first, weight) for first in list(fine)[:runs // len(_WEIGHTS)] for weight in _WEIGHTS]
    _, order, starts = _improve(min(tried, key=lambda one: one[0]), try_order, runs, coarse)
    places, _ = _settle(fine, order, starts, _Roll(width_mm, gap_mm, COLUMN_MM))
    maps, turned, ends = [None] * len(pieces), [False] * len(pieces), [0.0]
    for (k, around), (start, y) in places.items():
        sign, one = -1.0 if around else 1.0, fine[k, around]
        shift = np.array([start * COLUMN_MM, y]) - one.low
        maps[k], turned[k] = np.array([[sign, 0.0, shift[0]], [0.0, sign, shift[1]]]), around
        ends.append(float(shift[0] + one.high[0]))
    return Nest(tuple(maps), tuple(turned), max(ends))
