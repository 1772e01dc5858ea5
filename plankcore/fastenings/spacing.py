"""How near to each other fastenings may stand, along the grain and across it, over all groups of a plank; and places
found clear of those there are.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..trade.fastening_patterns import CLEAR_ACROSS_SHANKS, CLEAR_ALONG_SHANKS, PLUG_WALL_MM
from .places import find_clear_spans

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Array, Mask, Numbers, Points
    from .places import Ground, Path, Zone

__all__ = ["Spacing", "choose_clear", "list_gaps"]

_GRAIN_MM = 5.0           # how closely the run is looked at for its way
_LOOK_MM = 0.5            # places along a path that are tried
_SAFE_MM = 1e-6
_SHORT_BY = 1.0           # a gap so much over the even one, in even ones, is told


class Spacing:
    """What two fastenings of one plank must keep from each other.

    Two clash where their plugs (without plugs, their shanks) come together, or where they stand nearer than along_mm
    along the grain and at once nearer than across_mm across it. The grain is taken to follow the run, at the middle
    between the two.
    """

    def __init__(self, ground, *, shank_mm, plug_mm):
        self.along_mm, self.across_mm = CLEAR_ALONG_SHANKS * shank_mm, CLEAR_ACROSS_SHANKS * shank_mm
        self.apart_mm = plug_mm + PLUG_WALL_MM if plug_mm else shank_mm
        self.points = np.zeros((0, 2))
        self._aft = -ground.forward
        self._down = np.array([-self._aft[1], self._aft[0]])
        charts = [np.stack([line @ self._aft, line @ self._down], axis=1)
                  for line in (ground.long_edges[name] for name in ("upper", "lower"))]
        self._along = np.arange(max(c[:, 0].min() for c in charts), min(c[:, 0].max() for c in charts) + _GRAIN_MM,
                                _GRAIN_MM)
        run = np.mean([np.interp(self._along, *c[np.argsort(c[:, 0], kind="stable")].T) for c in charts], axis=0)
        self._slope = np.gradient(run, self._along)

    def add(self, points: Points) -> None:
        """Take up fastenings (n, 2) that stand fast from now on."""
        self.points = np.concatenate([self.points, np.reshape(points, (-1, 2))])

    def find_clashes(self, points: Array, others: Array) -> Mask:
        """Which of points (..., n, 2) clash with which of others (..., m, 2): bool (..., n, m)."""
        points, others = np.asarray(points, float)[..., :, None, :], np.asarray(others, float)[..., None, :, :]
        way, middle = points - others, (points + others) / 2
        x, y = way @ self._aft, way @ self._down
        slope = np.interp(middle @ self._aft, self._along, self._slope)
        stretch = np.sqrt(1 + slope ** 2)
        along, across = np.abs(x + slope * y) / stretch, np.abs(y - slope * x) / stretch
        close = (along < self.along_mm - _SAFE_MM) & (across < self.across_mm - _SAFE_MM)
        return close | (np.hypot(x, y) < self.apart_mm - _SAFE_MM)

    def accept(self, rows: Array) -> Numbers:
        """Which of several rows (r, n, 2) stand clear of all that is fast and in themselves: bool (r,)."""
        rows = np.asarray(rows, float)
        count = rows.shape[1]
        own = self.find_clashes(rows, rows)[:, ~np.eye(count, dtype=bool)].any(axis=1) if count > 1 else np.zeros(
            len(rows), bool)
        reach = max(np.hypot(self.along_mm, self.across_mm), self.apart_mm)
        low, high = rows.reshape(-1, 2).min(axis=0) - reach, rows.reshape(-1, 2).max(axis=0) + reach
        near = self.points[((self.points >= low) & (self.points <= high)).all(axis=1)]
        return ~own & ~(self.find_clashes(rows, near).any(axis=(1, 2)) if len(near) else np.zeros(len(rows), bool))


def choose_clear(ground: Ground, paths: Sequence[Path], spacing: Any, *, count: int, needs_mm: Mapping[str, float],
                 zones: Sequence[Zone] = ()) -> list[tuple[Path, float]] | None:
    """Places of `count` fastenings on one or two paths, taken in turn, clear of all that stands fast, as evenly as may
    be.

    First each is put as near to its even place as it goes; where that leaves one without a place, they are packed from
    the upper edge down.

    Returns
    -------
    list of (path, offset_mm)
        From the run, from the upper edge down; None where so many have no room.
    """
    tries, spans_of = [], {}
    for number, path in enumerate(dict.fromkeys(paths)):
        spans_of[number] = find_clear_spans(ground, path, needs_mm=needs_mm, zones=zones)
        for low, high in spans_of[number]:
            along = np.linspace(low, high, max(int(np.ceil((high - low) / _LOOK_MM)), 1) + 1)
            tries.append((along - path.middle_mm, path.find(along), np.full(len(along), number)))
    if not tries:
        return None
    offsets, points, owner = (np.concatenate([t[k] for t in tries]) for k in range(3))
    if len(spacing.points):
        free = ~spacing.find_clashes(points, spacing.points).any(axis=1)
        offsets, points, owner = offsets[free], points[free], owner[free]
    if not len(offsets):
        return None
    kinds = list(dict.fromkeys(paths))
    ends = [(low - path.middle_mm, high - path.middle_mm) for number, path in enumerate(kinds)
            for low, high in spans_of[number]]
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    aims = np.linspace(low, high, count) if count > 1 else np.array([(low + high) / 2])
    for fill in (False, True):
        found, open_ = [], np.ones(len(offsets), bool)
        for k in range(count):
            if not open_.any():
                break
            # the path whose turn it is goes before the other by half a try
            wish = (offsets if fill else np.abs(offsets - aims[k])) + 0.5 * _LOOK_MM * (owner != k % len(kinds))
            best = int(np.argmin(np.where(open_, wish, np.inf)))
            found.append((kinds[owner[best]], float(offsets[best])))
            open_ &= ~spacing.find_clashes(points, points[best:best + 1])[:, 0]
        if len(found) == count:
            return sorted(found, key=lambda f: f[1])
    return None


def list_gaps(along_mm: Sequence[float], *, first_mm: float, last_mm: float, width_mm: float,
              wanted: int) -> list[tuple[float, float]]:
    """Stretches of a line across the plank left without the fastenings wanted there.

    Parameters
    ----------
    along_mm : sequence of float
        Places of the fastenings from the upper edge.
    first_mm, last_mm : float
        Where the first and the last might stand if nothing but the plank's edges were in the way.
    width_mm : float
        Of the plank along that line.
    wanted : int

    Returns
    -------
    list of (from_mm, to_mm)
        Where fewer stand than are wanted the longest gap at least, and every gap over twice the even one.
    """
    stops = [0.0, *sorted(along_mm), width_mm]
    gaps = list(zip(stops, stops[1:]))
    if not len(along_mm):
        return gaps
    even = (last_mm - first_mm) / max(wanted - 1, 1)
    limits = [(1 + _SHORT_BY) * even] * len(gaps)
    limits[0], limits[-1] = first_mm + _SHORT_BY * even, width_mm - last_mm + _SHORT_BY * even
    found = [gap for gap, limit in zip(gaps, limits) if gap[1] - gap[0] > limit + _LOOK_MM] if wanted > 1 else []
    if not found and len(along_mm) < wanted:
        found = [max(gaps, key=lambda gap: gap[1] - gap[0])]
    return found
