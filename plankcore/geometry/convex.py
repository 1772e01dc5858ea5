"""Convex hulls, with the narrowest strip, the smallest rectangle, and the turn that leaves most room in a given
rectangle; arrays (n, 2) in mm.

A turn is the angle, in degrees from x towards y, by which the points are rotated before they are measured along x and
y.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, overload

import numpy as np

from .arrays import list_distinct

if TYPE_CHECKING:
    from .arrays import Points, Values

__all__ = [
    "Extent",
    "find_hull",
    "find_least_rectangle",
    "find_least_width",
    "find_roomiest_turn",
    "measure_extents_mm",
]


@dataclass(frozen=True)
class Extent:
    """The size of points after a rotation by turn_deg: length_mm along x and width_mm across. spare_mm : room left all
    round in a given rectangle."""

    turn_deg: float
    length_mm: float
    width_mm: float
    spare_mm: float = 0.0


def find_hull(points: Points) -> Points:
    """Corners (m, 2) of the convex hull in the order of rising angle from x towards y; corners that lie on a side are
    left out.

    The two chains of A. M. Andrew, Information Processing Letters 9 (1979) 216, each thinned many points at a time.
    """
    points = np.asarray(points, float)
    points = points[np.lexsort((points[:, 1], points[:, 0]))]
    points = points[np.concatenate([[True], np.any(points[1:] != points[:-1], axis=1)])]
    if len(points) < 3:
        return points

    x, y = points.T.copy()
    lower, upper = _thin(x, y), _thin(x[::-1], y[::-1])
    return np.concatenate([lower[:-1], upper[:-1]])


def _thin(x, y):
    """Points in order along an axis, thinned to the hull. Repeatedly, all points on or inside the chord between their
    two neighbours are dropped: no chord lies outside the hull, so none of these is a corner of it, however many are
    dropped at once. When every corner left turns the same way, what is left is the hull."""
    while len(x) > 2:
        kept = np.ones(len(x), bool)
        np.greater((x[1:-1] - x[:-2]) * (y[2:] - y[:-2]), (y[1:-1] - y[:-2]) * (x[2:] - x[:-2]), out=kept[1:-1])
        if kept.all():
            break
        x, y = x[kept], y[kept]
    return np.stack([x, y], axis=1)


def measure_extents_mm(points: Points, turns_deg: float | Values) -> tuple[Values, Values]:
    """Length along x and width across of points, turned by each of the turns: two arrays (k,), mm."""
    a = np.radians(np.atleast_1d(np.asarray(turns_deg, float)))
    c, s = np.cos(a), np.sin(a)
    x = np.outer(points[:, 0], c) - np.outer(points[:, 1], s)
    y = np.outer(points[:, 0], s) + np.outer(points[:, 1], c)
    return np.ptp(x, axis=0), np.ptp(y, axis=0)


def _list_flush_turns(hull):
    """Turns, -90 to 90 degrees, that lay a side of the hull along x. As functions of the turn, width and length have
    kinks only at these and a quarter turn from them."""
    side = np.roll(hull, -1, axis=0) - hull
    return _fold(-np.degrees(np.arctan2(side[:, 1], side[:, 0])))


def _fold(turns_deg):
    return (np.asarray(turns_deg) + 90.0) % 180.0 - 90.0


def _bisect(turns, value, low, high):
    """Where value(turn) changes sign between low and high."""
    below = value(low) < 0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if (value(middle) < 0) == below else (low, middle)
    return 0.5 * (low + high)


@overload
def find_least_width(points: Points) -> Extent: ...


@overload
def find_least_width(points: Points, *, longest_mm: float) -> Extent | None: ...


def find_least_width(points: Points, *, longest_mm: float = np.inf) -> Extent | None:
    """The narrowest strip along x that holds the points, over all turns.

    The narrowest strip has a side of the hull flush with it (H. Freeman and R. Shapira, Communications of the ACM 18
    (1975) 409, for rectangles; M. E. Houle and G. T. Toussaint, IEEE PAMI 10 (1988) 761, for the width), or, where the
    length is limited, has just that length.

    Parameters
    ----------
    longest_mm : float
        Turns at which the points are longer than this are not allowed.

    Returns
    -------
    Extent or None
        None where no turn is short enough. The turn lies within -90 and 90 degrees.
    """
    hull = find_hull(points)
    turns = _list_flush_turns(hull)
    if np.isfinite(longest_mm):
        bends = list_distinct(np.concatenate([turns, _fold(turns + 90.0), [-90.0, 90.0]]))

        def excess(turn):
            return float(measure_extents_mm(hull, turn)[0][0]) - longest_mm
        # between two kinks the length is a concave sine arc: its values at both ends and at its top show where it
        # crosses the limit
        knots = list_distinct(np.concatenate([bends, 0.5 * (bends[1:] + bends[:-1])]))
        values = measure_extents_mm(hull, knots)[0] - longest_mm
        crossed = [_bisect(knots, excess, a, b) for a, b, u, v in zip(knots[:-1], knots[1:], values[:-1], values[1:])
                   if (u < 0) != (v < 0)]
        turns = np.concatenate([turns, knots, crossed])
    lengths, widths = measure_extents_mm(hull, turns)
    short = lengths <= longest_mm + 1e-6
    if not short.any():
        return None
    best = min(np.flatnonzero(short), key=lambda k: (round(float(widths[k]), 6), abs(turns[k])))
    return Extent(float(turns[best]), float(lengths[best]), float(widths[best]))


def find_least_rectangle(points: Points) -> Extent:
    """The rectangle of least area round the points; its length lies along x. Flush with a side of the hull (Freeman and
    Shapira, as above).
    """
    hull = find_hull(points)
    turns = _list_flush_turns(hull)
    turns = np.concatenate([turns, _fold(turns + 90.0)])
    lengths, widths = measure_extents_mm(hull, turns)
    best = min(range(len(turns)),
               key=lambda k: (round(lengths[k] * widths[k], 3), lengths[k] < widths[k], abs(turns[k])))
    return Extent(float(turns[best]), float(lengths[best]), float(widths[best]))


def find_roomiest_turn(points: Points, *, length_mm: float, width_mm: float, low_deg: float = -90.0,
                       high_deg: float = 90.0) -> Extent:
    """The turn that leaves most room all round in a rectangle whose sides are along x and y.

    Between two turns that lay a side of the hull along or across x both extents are concave, so the room that they
    leave is convex; the smaller of two convex functions is greatest at an end of the interval or where the two cross.
    The result is exact.

    Returns
    -------
    Extent
        spare_mm is half of what is left across, or along if that is less; negative where the points do not fit.
    """
    hull = find_hull(points)
    flush = _list_flush_turns(hull)
    bends = np.concatenate([flush, _fold(flush + 90.0)])
    bends = list_distinct(np.concatenate([bends[(bends > low_deg) & (bends < high_deg)], [low_deg, high_deg]]))

    def differ(turn):
        length, width = measure_extents_mm(hull, turn)
        return float((length_mm - length[0]) - (width_mm - width[0]))
    knots = list_distinct(np.concatenate([bends, 0.5 * (bends[1:] + bends[:-1])]))
    lengths, widths = measure_extents_mm(hull, knots)
    off = (length_mm - lengths) - (width_mm - widths)
    crossed = [_bisect(knots, differ, a, b) for a, b, u, v in zip(knots[:-1], knots[1:], off[:-1], off[1:])
               if (u < 0) != (v < 0)]
    turns = np.concatenate([bends, crossed])
    lengths, widths = measure_extents_mm(hull, turns)
    spare = np.minimum(length_mm - lengths, width_mm - widths) / 2
    best = max(range(len(turns)), key=lambda k: (round(float(spare[k]), 6), -abs(turns[k])))
    return Extent(float(turns[best]), float(lengths[best]), float(widths[best]), float(spare[best]))
