"""Closed polygons seen column by column: how far each reaches up and down at every x, as two chains of points; arrays
in mm, y down.

Long thin shapes that lie along x are kept apart by how far they may move up and down past one another. Between two
chains that distance is greatest at a corner of one of them, so it is found exactly, for many shifts along x at once.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .arrays import list_distinct
from .polyline import measure_area_mm2, turn_left

if TYPE_CHECKING:
    from .arrays import Points, Values

__all__ = ["Envelope", "cover_columns", "find_envelope", "find_room", "grow_envelope", "measure_rise_mm"]

_MITRE = 0.2              # corners sharper than this reach no farther than the square root of 10 times the breadth
_HAIR_MM = 1e-6


@dataclass(frozen=True, eq=False, repr=False)
class Envelope:
    """top and bottom : chains (n, 2) with rising x, over the same range of x; top has the smaller y."""

    top: Points
    bottom: Points

    @property
    def first_mm(self) -> float:
        """Least x."""
        return float(self.top[0, 0])

    @property
    def last_mm(self) -> float:
        """Greatest x."""
        return float(self.top[-1, 0])

    def shift(self, x_mm: float, y_mm: float) -> Envelope:
        """The same envelope, shifted."""
        return Envelope(self.top + (x_mm, y_mm), self.bottom + (x_mm, y_mm))


def _straighten(chain):
    """A chain whose x falls in places near its ends, as over a hollow end: such hollows are filled, so that x rises
    throughout."""
    half = len(chain) // 2
    x = chain[:, 0].copy()
    x[:half] = np.minimum.accumulate(x[:half][::-1])[::-1]
    x[half:] = np.maximum.accumulate(x[half:])
    return np.stack([np.maximum.accumulate(x), chain[:, 1]], axis=1)


def find_envelope(polygon: Points) -> Envelope:
    """The columns of a long shape; a hollow in its ends is filled, so what is clear of the envelope is clear of the
    polygon.
    """
    polygon = np.asarray(polygon, float)
    left, right = int(np.argmin(polygon[:, 0])), int(np.argmax(polygon[:, 0]))
    rolled = np.roll(polygon, -left, axis=0)
    count = (right - left) % len(polygon)
    chains = [_straighten(rolled[:count + 1]), _straighten(np.vstack([rolled[count:], rolled[:1]])[::-1])]
    middle = 0.5 * (chains[0][0, 0] + chains[0][-1, 0])
    chains.sort(key=lambda c: float(np.interp(middle, c[:, 0], c[:, 1])))
    return Envelope(*chains)


def _move_chain(chain, distance_mm):
    """A chain offset square to itself, positive to the left of travel (upwards on a page with y down); corners mitred.
    """
    steps = np.diff(chain, axis=0)
    sized = np.hypot(steps[:, 0], steps[:, 1]) > 1e-9
    chain, steps = chain[np.concatenate([[True], sized])], steps[sized]
    normals = turn_left(steps / np.hypot(steps[:, 0], steps[:, 1])[:, None])
    sums = np.vstack([normals[:1], normals[:-1] + normals[1:], normals[-1:]])
    sums[1:-1] /= np.maximum(1.0 + np.sum(normals[:-1] * normals[1:], axis=1), _MITRE)[:, None]
    return chain + distance_mm * sums


def grow_envelope(envelope: Envelope, distance_mm: float) -> Envelope:
    """An envelope with a strip of this breadth added all round, its ends left square."""
    low, high = envelope.first_mm - distance_mm, envelope.last_mm + distance_mm

    def square(chain, outer):
        chain = chain[np.argsort(chain[:, 0], kind="stable")]
        x, y = chain.T
        # a vertical end has several points at one x: take the outermost
        first, last = outer(y[x <= max(low, x[0]) + _HAIR_MM]), outer(y[x >= min(high, x[-1]) - _HAIR_MM])
        inside = chain[(x > low + _HAIR_MM) & (x < high - _HAIR_MM)]
        return np.vstack([[low, first], inside, [high, last]])
    return Envelope(square(_move_chain(envelope.top, distance_mm), np.min),
                    square(_move_chain(envelope.bottom, -distance_mm), np.max))


def _measure_strips(polygon, clear_mm, grid):
    """For each x of the grid and each side k, lower and upper y (n, k) of all that lies within clear_mm[k] of that
    side; inf and -inf where it does not reach."""
    start, end = polygon, np.roll(polygon, -1, axis=0)
    step = end - start
    size = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-12)
    low, high = np.full((len(polygon), len(grid)), np.inf), np.full((len(polygon), len(grid)), -np.inf)
    clear = np.asarray(clear_mm, float)[:, None]
    for corner in (start, end):
        away = grid[None] - corner[:, :1]
        near = np.abs(away) <= np.maximum(clear - _HAIR_MM, _HAIR_MM)
        rise = np.sqrt(np.maximum(clear ** 2 - away ** 2, 0.0))
        low, high = np.where(near, np.minimum(low, corner[:, 1:] - rise),
                             low), np.where(near, np.maximum(high, corner[:, 1:] + rise), high)
    normal = turn_left(step / size[:, None])
    for way in (1.0, -1.0):
        a = start + way * clear * normal
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (grid[None] - a[:, :1]) / step[:, :1]
        y = a[:, 1:] + share * step[:, 1:]
        on = (np.abs(step[:, :1]) > 1e-9) & (share >= 0) & (share <= 1)
        low, high = np.where(on, np.minimum(low, y), low), np.where(on, np.maximum(high, y), high)
    return low, high


def find_room(polygon: Points, clear_mm: Values, *, step_mm: float = 5.0) -> Envelope | None:
    """The part of a polygon's inside, column by column, that keeps given distances from its sides.

    Parameters
    ----------
    polygon : ndarray, shape (n, 2)
    clear_mm : ndarray, shape (n,)
        The distance to keep from each side; side k runs from corner k to corner k + 1.
    step_mm : float
        Spacing of the places along a side that are measured, besides its ends.

    Returns
    -------
    Envelope or None
        The longest run of columns where anything is left; None where nothing is left.
    """
    polygon, clear = np.asarray(polygon, float), np.asarray(clear_mm, float)
    step = np.roll(polygon, -1, axis=0) - polygon
    x = polygon[:, 0]
    marks = np.concatenate([x, x + clear, x - clear, np.roll(x, -1) + clear, np.roll(x, -1) - clear])
    grid = list_distinct(np.concatenate([np.arange(x.min(), x.max(), step_mm), [x.max()],
                                     marks[(marks >= x.min()) & (marks <= x.max())]]))
    low, high = _measure_strips(polygon, clear, grid)
    # with y down and the shape run clockwise as seen, the inside lies below the sides that run to the right
    upper = (step[:, 0] * np.sign(measure_area_mm2(polygon))) >= 0
    top, bottom = high[upper].max(axis=0, initial=-np.inf), low[~upper].min(axis=0, initial=np.inf)
    open_ = (top < bottom - _HAIR_MM) & np.isfinite(top) & np.isfinite(bottom)
    if not open_.any():
        return None
    ends = np.flatnonzero(np.diff(np.concatenate([[0], open_.astype(int), [0]])))
    first, last = max(zip(ends[::2], ends[1::2]), key=lambda run: grid[run[1] - 1] - grid[run[0]])
    if last - first < 2:
        return None
    return Envelope(*(_drop_straight(np.stack([grid, y], axis=1)[first:last]) for y in (top, bottom)))


def _drop_straight(chain):
    """A chain without points that lie on the straight line through their neighbours."""
    before, after = np.diff(chain, axis=0)[:-1], np.diff(chain, axis=0)[1:]
    bent = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]) > 1e-9
    return chain[np.concatenate([[True], bent, [True]])]


def cover_columns(polygon: Points, *, grow_mm: float = 0.0, count: int = 25) -> tuple[Values, Values, Values]:
    """A shape grown all round, as columns that enclose it: x (count,), lower and upper y, each a bound as far as the
    next x on either side.

    A shape that doubles back on itself is filled between its lowest and its highest place in each column.
    """
    polygon = np.asarray(polygon, float)
    x = np.linspace(polygon[:, 0].min() - grow_mm, polygon[:, 0].max() + grow_mm, count)
    grid = list_distinct(np.concatenate([np.linspace(x[0], x[-1], 8 * (count - 1) + 1), polygon[:, 0]]))
    low, high = _measure_strips(polygon, np.full(len(polygon), grow_mm), grid)
    low, high = low.min(axis=0), high.max(axis=0)
    bounds = np.concatenate([x[:1], x, x[-1:]])
    spans = [(grid >= a - _HAIR_MM) & (grid <= b + _HAIR_MM) for a, b in zip(bounds[:-2], bounds[2:])]
    return x, np.array([low[s].min() for s in spans]), np.array([high[s].max() for s in spans])


def measure_rise_mm(first: Points, second: Points, shifts_mm: Values) -> Values:
    """The greatest value, over the columns both have, of first's y less second's, second moved along x by each of the
    shifts.

    Parameters
    ----------
    first, second : ndarray, shapes (n, 2) and (m, 2)
        Chains with rising x.
    shifts_mm : ndarray, shape (k,)

    Returns
    -------
    ndarray, shape (k,)
        -inf where they have no column in common. Exact: the difference of two chains is greatest at a corner of one.
    """
    shifts = np.asarray(shifts_mm, float)[:, None]
    at = first[None, :, 0] - shifts
    rise = first[None, :, 1] - np.interp(at, second[:, 0], second[:, 1])
    best = np.where((at >= second[0, 0]) & (at <= second[-1, 0]), rise, -np.inf).max(axis=1)
    at = second[None, :, 0] + shifts
    rise = np.interp(at, first[:, 0], first[:, 1]) - second[None, :, 1]
    return np.maximum(best, np.where((at >= first[0, 0]) & (at <= first[-1, 0]), rise, -np.inf).max(axis=1))
