"""Blocks of words placed beside their plank on a roll: on free paper, as near to the plank as there is room.

The roll is divided into square cells. A block has several forms, low and wide or high and narrow, and takes the form
and the free place that are nearest, or the end of the roll where these are too far.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..paper.blocks import measure_block, move_block
from .roll import COLUMN_MM

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Point, Points, Values
    from ..model.page import SheetBlock
    from .roll import Profile

__all__ = ["FreePaper"]

_STEP = 4                 # places are tried this many cells apart along the roll, and half as many across
_SPARE_MM = 4000.0        # length of paper beyond what is used that a block may also go to


class FreePaper:
    """The free cells of a roll.

    Parameters
    ----------
    width_mm : float
        What the machine reaches across.
    gap_mm : float
        Clear paper round everything.
    """

    def __init__(self, width_mm: float, gap_mm: float):
        self.width_mm, self.gap_mm, self.used_mm = width_mm, gap_mm, 0.0
        self._taken = np.zeros((0, int(width_mm / COLUMN_MM)), bool)

    def _lengthen(self, length_mm):
        more = int(np.ceil((length_mm + _SPARE_MM) / COLUMN_MM)) - len(self._taken)
        if more > 0:
            self._taken = np.concatenate([self._taken, np.zeros((more, self._taken.shape[1]), bool)])

    def take_profile(self, profile: Profile, at: Point) -> None:
        """Take the cells of a piece whose least x and y are at a place."""
        self._lengthen(at[0] + len(profile.least) * COLUMN_MM)
        first = at[0] / COLUMN_MM
        for k, (low, high) in enumerate(zip(at[1] + profile.least, at[1] + profile.most)):
            self._take(first + k, first + k + 1, low, high)
        self.used_mm = max(self.used_mm, float(at[0] + profile.high[0] - profile.low[0]))

    def _take(self, first, last, low_mm, high_mm):
        around = self.gap_mm / COLUMN_MM
        self._taken[max(0, int(np.floor(first - around))):int(np.ceil(last + around)),
                    max(0, int(np.floor(low_mm / COLUMN_MM - around))):
                    max(0, int(np.ceil(high_mm / COLUMN_MM + around)))] = True

    def _find_free(self, size):
        """Places (n, 2), mm, where the upper left corner of a rectangle may go."""
        self._lengthen(self.used_mm + size[0])
        wide, tall = (int(np.ceil(v / COLUMN_MM)) for v in size)
        if tall > self._taken.shape[1]:
            return np.zeros((0, 2))
        total = np.pad(self._taken.astype(np.int32).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        inside = total[wide:, tall:] - total[:-wide, tall:] - total[wide:, :-tall] + total[:-wide, :-tall]
        return np.argwhere(inside[::_STEP, ::2] == 0) * COLUMN_MM * np.array([_STEP, 2.0])

    def lay(self, forms: Sequence[SheetBlock], beside: Points, *, weight: float) -> SheetBlock | None:
        """The form of a block with the nearest place, moved there; None where none fits the roll.

        Parameters
        ----------
        forms : sequence of SheetBlock
        beside : ndarray, shape (n, 2), mm
            Places along the plank that it belongs to.
        weight : float
            Weight of extra length of roll against distance: small keeps words near, large saves the roll.
        """
        best = None
        for form in forms:
            low, high = measure_block(form)
            places = self._find_free(high - low)
            if not len(places):
                continue
            cost = _measure_apart_mm(places, high - low, beside) + weight * np.clip(
                places[:, 0] + high[0] - low[0] - self.used_mm, 0.0, None)
            k = int(np.argmin(cost))
            if best is None or cost[k] < best[0]:
                best = (cost[k], places[k], low, high - low, form)
        if best is None:
            return None
        _, place, low, size, form = best
        self._take(place[0] / COLUMN_MM, (place[0] + size[0]) / COLUMN_MM, place[1], place[1] + size[1])
        self.used_mm = max(self.used_mm, float(place[0] + size[0]))
        return move_block(form, np.array([[1.0, 0.0, place[0] - low[0]], [0.0, 1.0, place[1] - low[1]]]))


def _measure_apart_mm(places: Points, size: Point, beside: Points) -> Values:
    """Distance of rectangles, given by their upper left corners (n, 2), from the nearest of some places (m, 2): (n,)
    mm."""
    apart = np.full(len(places), np.inf)
    for at in beside:
        off = np.maximum(np.maximum(places - at, at - places - size), 0.0)
        apart = np.minimum(apart, np.hypot(off[:, 0], off[:, 1]))
    return apart
