"""Sets of pieces laid on single boards, and everything that was once found out of them remembered; how narrow a board
two pieces can come out of side by side.

A pair is laid at a grid of turns and shifts of the one against the other, and measured along and across a
board at all turns of the whole. The coarse grids lose some mm, which are allowed for: a board found too narrow here
really is.

The pieces of a set are laid one after another, each as near to an edge of the board as possible, in several orders;
simple bounds, computed first, avoid most of the failing attempts.
"""
from __future__ import annotations

from itertools import combinations, permutations
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.envelope import measure_rise_mm
from .fitting import find_spot

if TYPE_CHECKING:
    from typing import Any, Collection, Sequence

    from ..model.board import Board
    from .fitting import LaidPiece

__all__ = ["MOST_TOGETHER", "SAME_MM3", "Packer", "PairWidths"]

_STEP_DEG = 0.5
_AGAINST_DEG = 6.0        # greatest turn of one piece against the other
_SHIFTS = 19


class PairWidths:
    """Least breadth of a board for two pieces, as a function of its length.

    Parameters
    ----------
    first, second : Outline
    settings : StockSettings
    """

    def __init__(self, first, second, settings):
        self._lengths, self._widths = _measure(first, second, settings)
        longer = max(np.ptp(first.points[:, 0]), np.ptp(second.points[:, 0]))
        shorter = min(np.ptp(first.points[:, 0]), np.ptp(second.points[:, 0]))
        self._end_to_end_mm = 0.97 * (longer + shorter)
        self._lost_mm = 4.0 + 0.5 * (longer + shorter) * np.radians(_STEP_DEG / 2)

    def find_least_mm(self, length_mm: float) -> float:
        """Lower bound for the breadth of a board of this length for the two; 0 where they may lie end to end."""
        if length_mm >= self._end_to_end_mm:
            return 0.0
        at = np.searchsorted(self._lengths, length_mm + 30.0, side="right")
        return float(self._widths[at - 1]) - self._lost_mm if at else np.inf


def _measure_support(hull, turns):
    """Extents of a hull at turns: least and greatest x and y, (4, k)."""
    a = np.radians(turns)
    x = np.outer(hull[:, 0], np.cos(a)) - np.outer(hull[:, 1], np.sin(a))
    y = np.outer(hull[:, 0], np.sin(a)) + np.outer(hull[:, 1], np.cos(a))
    return np.stack([x.min(axis=0), x.max(axis=0), y.min(axis=0), y.max(axis=0)])


def _measure(first, second, settings):
    """Rising lengths, and for each the least breadth of the two together within that length."""
    most = int(np.ceil(settings.most_turn_deg / _STEP_DEG))
    against = int(min(round(_AGAINST_DEG / _STEP_DEG), 2 * most))
    whole = np.arange(-most, most + 1) * _STEP_DEG
    c, s = np.cos(np.radians(whole)), np.sin(np.radians(whole))
    one = _measure_support(first.hull, whole)
    reach = 0.5 * (np.ptp(first.points[:, 0]) + np.ptp(second.points[:, 0]))
    shifts = np.linspace(-0.9 * reach, 0.9 * reach, _SHIFTS)
    seen = first.see(0.0, False)
    long, wide = [], []
    for over in ((False, True) if settings.turn_over else (False,)):
        hull = second.hull * (1.0, -1.0) if over else second.hull
        for end in (0.0, 180.0):
            two = _measure_support(hull, end + np.arange(-most - against, most + against + 1) * _STEP_DEG)
            for k in range(-against, against + 1):
                other = second.see(end + k * _STEP_DEG, over)
                support = two[:, against + k:against + k + len(whole)]
                below = measure_rise_mm(seen.bottom, other.top, shifts) + settings.kerf_mm
                above = -measure_rise_mm(other.bottom, seen.top, -shifts) - settings.kerf_mm
                for y in (below, above):
                    dx, dy = np.outer(shifts, c) - np.outer(y, s), np.outer(shifts, s) + np.outer(y, c)
                    long.append(np.maximum(one[1], support[1] + dx) - np.minimum(one[0], support[0] + dx))
                    wide.append(np.maximum(one[3], support[3] + dy) - np.minimum(one[2], support[2] + dy))
    lengths, widths = np.concatenate([v.ravel() for v in long]), np.concatenate([v.ravel() for v in wide])
    sound = np.isfinite(lengths) & np.isfinite(widths)
    order = np.argsort(lengths[sound])
    return lengths[sound][order], np.minimum.accumulate(widths[sound][order])


_MOST_WAYS = 1100         # all distributions are tried if sets of pieces times boards are no more than this
MOST_TOGETHER = 6        # most pieces on one board
_SMALL_ORDERS = 16        # orders tried for five or more pieces on one board, where there are few pieces in all
SAME_MM3 = 1e3            # volumes that differ by less count as equal


class Packer:
    """Lays pieces on boards, and caches all results.

    Parameters
    ----------
    boards : sequence of ReadyBoard
    shapes : sequence of Outline
    settings : StockSettings
    allowed : ndarray of bool, shape (pieces, boards)
        Whether a board's thickness and kind are right for a piece.
    """

    def __init__(self, boards, shapes, settings, allowed):
        self.boards, self.shapes, self.settings, self.allowed = boards, shapes, settings, allowed
        self.volumes = np.array([b.board.volume_mm3 for b in boards])
        self.by_volume = sorted(range(len(boards)),
                                key=lambda b: (round(float(self.volumes[b])), boards[b].board.label))
        self._found, self._first = {}, {}
        self._waists, self._pairs = {}, {}
        self.looked, self.most_looked = 0, np.inf
        self.is_small = (2 ** len(shapes) - 1) * len(boards) <= _MOST_WAYS

    def _lay(self, board, order, goal):
        """Spots of pieces laid one after another, with this care, or None; cached."""
        key = (board, order, goal)
        if key not in self._first:
            spots = self._lay(board, order[:-1], goal) if len(order) > 1 else ()
            spot = None if spots is None else find_spot(self.boards[board], self.shapes[order[-1]], placed=spots,
                                                        settings=self.settings, goal=goal, care=2)
            self._first[key] = None if spot is None else (*spots, spot)
        return self._first[key]

    def _measure_waist_mm(self, piece, length_mm):
        """A lower bound for a piece's breadth at the middle of a board of this length, wherever it lies; 0 where it
        need not cross the middle."""
        key = (piece, round(length_mm))
        if key not in self._waists:
            self._waists[key] = self.shapes[piece].measure_waist_mm(length_mm, length_mm / 2,
                                                                    self.settings.most_turn_deg)
        return self._waists[key]

    def _find_pair(self, first, second):
        if (first, second) not in self._pairs:
            self._pairs[first, second] = PairWidths(self.shapes[first], self.shapes[second], self.settings)
        return self._pairs[first, second]

    def may_fit(self, board: int, pieces: Sequence[int]) -> bool:
        """Whether simple bounds rule the set out, without laying anything."""
        ready = self.boards[board]
        if ready.room is None or len(pieces) > MOST_TOGETHER or not all(self.allowed[p, board] for p in pieces):
            return False
        if sum(self.shapes[p].area_mm2 for p in pieces) > ready.area_mm2:
            return False
        if any(self._find_pair(*two).find_least_mm(ready.length_mm) > ready.breadth_mm
               for two in combinations(pieces, 2)):
            return False
        waists = [self._measure_waist_mm(p, ready.length_mm) for p in pieces]
        kerf = self.settings.kerf_mm
        if sum(w + kerf for w in waists if w > 0) - kerf > ready.breadth_mm:
            return False
        if len(pieces) > 2 and min(waists) > 0:
            # all lie side by side: two need their breadth together, and each further one at least its least breadth
            two = min(self._find_pair(*pair).find_least_mm(ready.length_mm) + sum(
                w + kerf for p, w in zip(pieces, waists) if p not in pair) for pair in combinations(pieces, 2))
            return two <= ready.breadth_mm
        return True

    def pack(self, board: int, pieces: Sequence[int]) -> tuple[LaidPiece, ...] | None:
        """Spots of these pieces on a board, in their order, or None where no way was found."""
        pieces = tuple(sorted(pieces))
        key = (board, pieces)
        if key in self._found:
            return self._found[key]
        self._found[key] = None
        if not self.may_fit(board, pieces):
            return None
        if len(pieces) > 1 and any(self.pack(board, less) is None for less in combinations(pieces, len(pieces) - 1)):
            return None
        if len(pieces) == 1:
            spot = find_spot(self.boards[board], self.shapes[pieces[0]], placed=(), settings=self.settings,
                             goal=self.settings.lay, care=0)
            self._found[key] = None if spot is None else (spot,)
            return self._found[key]
        if self.looked >= self.most_looked:
            del self._found[key]
            return None
        self.looked += 1
        for piece in pieces if len(pieces) > 2 else ():
            # add one piece to the others in their known places
            others = tuple(p for p in pieces if p != piece)
            spots = dict(zip(others, self._found[board, others]))
            spot = find_spot(self.boards[board], self.shapes[piece], placed=tuple(spots.values()),
                             settings=self.settings, goal="up", care=0)
            if spot is not None:
                self._found[key] = tuple({**spots, piece: spot}[p] for p in pieces)
                return self._found[key]
        orders = self._list_orders(pieces)
        ways = [(order, "up") for order in orders]
        if not self.boards[board].even:
            ways[2:2] = [(order, "down") for order in (orders if self.is_small else orders[:2])]
        for order, goal in ways:
            spots = self._lay_in_order(board, order, goal)
            if spots is not None:
                self._found[key] = tuple(spots[order.index(p)] for p in pieces)
                return self._found[key]
        return None

    def _list_orders(self, pieces):
        """Orders to lay pieces in: all orders of up to three pieces (of more where there are few pieces in all); else
        the largest first, and then `tries` random ones."""
        by_size = tuple(sorted(pieces, key=lambda p: -self.shapes[p].area_mm2))
        if len(pieces) <= (3 if not self.is_small else 5 if len(self.shapes) <= 6 else 4):
            return list(permutations(by_size))
        chance = np.random.default_rng([self.settings.seed, *pieces])
        count = max(self.settings.tries, _SMALL_ORDERS) if self.is_small else self.settings.tries
        return list(dict.fromkeys([by_size]
                                  + [tuple(int(p) for p in chance.permutation(pieces)) for _ in range(count)]))

    def _lay_in_order(self, board, order, goal):
        spots = self._lay(board, order[:-1], goal)
        spot = None if spots is None else find_spot(self.boards[board], self.shapes[order[-1]], placed=spots,
                                                    settings=self.settings,
                                                    goal=goal, care=0)
        return None if spot is None else (*spots, spot)

    def measure_runout_deg(self, board: int, pieces: Sequence[int]) -> float:
        """Sum of each piece's greatest angle to the grain, as packed."""
        return sum(s.shape.find_worst_runout_deg(self.boards[board].board, s.turn_deg, s.over, s.x_mm)
                   for s in self._find_packed(board, pieces))

    def _find_packed(self, board: int, pieces: Sequence[int]) -> tuple[LaidPiece, ...]:
        spots = self.pack(board, pieces)
        if spots is None:               # a plan holds only what was packed; else a piece would be lost without a word
            raise ValueError("board %d was never packed with these pieces" % board)
        return spots

    def find_bound_mm3(self, pieces: Sequence[int], free: Collection[int]) -> float:
        """Lower bound for the volume of a free board that can take all these pieces, without laying any."""
        return next((self.volumes[b] for b in self.by_volume if b in free
                     and all(self.pack(b, (p,)) is not None for p in pieces) and self.may_fit(b, pieces)), np.inf)

    def find_cheapest(self, pieces: Sequence[int], free: Collection[int], *, below_mm3: float = np.inf) -> int | None:
        """The board of least volume, of those free, that takes all these pieces and costs less than a limit; of equal
        boards the one with the least run-out; or None."""
        found = None
        for board in self.by_volume:
            if board not in free:
                continue
            if self.volumes[board] >= below_mm3 or (found is not None
                                                    and self.volumes[board] > self.volumes[found[0]] + SAME_MM3):
                break
            if self.pack(board, pieces) is not None:
                runout = self.measure_runout_deg(board, pieces)
                if found is None or runout < found[1] - 1e-3:
                    found = (board, runout)
        return None if found is None else found[0]

    def refuse(self, board: Board | None, pieces: Any) -> None:
        """Cache that these pieces do not fit on a board after all."""
        self._found[board, tuple(sorted(pieces))] = None

    def settle(self, board: int, pieces: Sequence[int]) -> list[LaidPiece]:
        """The Spots of a finished plan: each piece is laid again beside the others where that reduces the run-out."""
        spots = list(self._find_packed(board, pieces))
        if len(spots) == 1:
            return [find_spot(self.boards[board], spots[0].shape, placed=(), settings=self.settings,
                              goal=self.settings.lay) or spots[0]]
        if self.settings.lay != "grain":
            return spots
        for k in range(len(spots)):
            others = spots[:k] + spots[k + 1:]
            better = find_spot(self.boards[board], spots[k].shape, placed=others, settings=self.settings, goal="grain")
            ready = self.boards[board].board
            worst = [s.shape.find_worst_runout_deg(ready, s.turn_deg, s.over, s.x_mm)
                     for s in (spots[k], better or spots[k])]
            if better is not None and worst[1] < worst[0] - 0.1:
                spots[k] = better
        return spots
