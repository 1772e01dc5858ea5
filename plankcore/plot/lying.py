"""How a plank lies on its sheet: its edges as functions of x along the baseline, and which way is aft."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Callable

    from ..geometry.arrays import ArrayLike, Points, Values
    from ..model.plank import Plank

__all__ = ["LyingPlank"]


class LyingPlank:
    """A plank that lies along its sheet: forward to one side, the upper edge up.

    left_mm, right_mm : the range of x that has both long edges. aft : -1.0 where aft is to the left, else 1.0.
    fore_mark, aft_mark : ends of the baseline, (2,).
    """

    def __init__(self, plank: Plank, move: Callable[[Points], Points]):
        self.plank = plank
        self._edges = {}
        for name in ("upper", "lower"):
            points = move(plank.edges[name].curve.flatten(tolerance_mm=0.1))
            self._edges[name] = points[np.argsort(points[:, 0], kind="stable")]
        self.left_mm = float(max(points[0, 0] for points in self._edges.values()))
        self.right_mm = float(min(points[-1, 0] for points in self._edges.values()))
        self.fore_mark, self.aft_mark = move(plank.find_baseline())
        self.aft = 1.0 if self.aft_mark[0] > self.fore_mark[0] else -1.0

    def find_edge(self, name: str, x: ArrayLike | float) -> Values:
        """y of an edge at x; beyond its ends the value at the end."""
        points = self._edges[name]
        return np.interp(x, points[:, 0], points[:, 1])

    def find_middle(self, x: Values) -> Values:
        """y half-way between the edges at x."""
        return (self.find_edge("upper", x) + self.find_edge("lower", x)) / 2

    def measure_width(self, x: ArrayLike | float) -> Values:
        """Width from edge to edge at x."""
        return self.find_edge("lower", x) - self.find_edge("upper", x)

    def list_places(self, x: Values, size_mm: tuple[float, float], *, inset_mm: float = 2.0,
                    step_mm: float = 3.0) -> Points:
        """Middles (n, 2) of boxes that lie between the edges at each x (n,), from the upper edge down, x by x."""
        x = np.asarray(x, float)
        x = x[(x - size_mm[0] / 2 > self.left_mm + inset_mm) & (x + size_mm[0] / 2 < self.right_mm - inset_mm)]
        ends = np.stack([x - size_mm[0] / 2, x, x + size_mm[0] / 2])
        top = self.find_edge("upper", ends).max(axis=0) + inset_mm + size_mm[1] / 2
        foot = self.find_edge("lower", ends).min(axis=0) - inset_mm - size_mm[1] / 2
        count = np.where(foot >= top - 1e-9, np.maximum(np.ceil((foot + 1e-9 - top) / step_mm), 0), 0).astype(int)
        number = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
        # as numpy's arange steps, to the last digit
        return np.stack([np.repeat(x, count), np.repeat(top, count)
                         + number * np.repeat((top + step_mm) - top, count)], axis=1)
