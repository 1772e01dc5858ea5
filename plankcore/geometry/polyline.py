"""Polylines and polygons, arrays (n, 2) in mm: lengths, crossings, points inside, distances between closed ones."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Array, ArrayLike, Indices, Mask, Points, Values

__all__ = [
    "contains_points",
    "contains_polygon",
    "cross_segments",
    "cut_polygon",
    "dot_rows",
    "draw_disc",
    "find_self_crossing",
    "list_sides",
    "measure_arc_mm",
    "measure_area_mm2",
    "measure_distance_mm",
    "measure_gap_mm",
    "measure_line_gap_mm",
    "measure_point_gap_mm",
    "resample_polyline",
    "resample_polylines",
    "turn_left",
]


def turn_left(vectors: Points) -> Points:
    """Turn (n, 2) vectors a quarter: (x, y) to (y, -x), which on a page with y down is to the left of travel."""
    vectors = np.asarray(vectors, float)
    return np.stack([vectors[..., 1], -vectors[..., 0]], axis=-1)


def measure_arc_mm(points: ArrayLike) -> Values:
    """Distance along the polyline to each point, shape (n,), mm; the first is 0."""
    steps = np.diff(np.asarray(points, float), axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])


def resample_polyline(points: ArrayLike, *, step_mm: float, closed: bool = False) -> Points:
    """Points at equal distances along a polyline.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
    step_mm : float
        Wanted distance; the one used is the nearest that divides the length evenly.
    closed : bool
        Whether the last point joins the first; the result then does not repeat the first point.

    Returns
    -------
    ndarray, shape (m, 2), mm
    """
    points = np.asarray(points, float)
    if closed:
        points = np.vstack([points, points[:1]])
    arc = measure_arc_mm(points)
    count = max(round(arc[-1] / step_mm), 3 if closed else 1)
    at = np.linspace(0.0, arc[-1], count + 1)
    if closed:
        at = at[:-1]
    return np.stack([np.interp(at, arc, points[:, 0]), np.interp(at, arc, points[:, 1])], axis=1)


def resample_polylines(points: Points, begins: Indices, *, step_mm: float) -> Points:
    """The same of many open polylines in one array (n, 2), each beginning at one of the indices `begins`, in order."""
    gaps = np.zeros(len(points))
    # distances for all runs together: each begins 1 mm after the end of the one before
    gaps[np.asarray(begins)[1:]] = 1.0
    steps = np.hypot(*np.diff(points, axis=0).T)
    steps[np.asarray(begins)[1:] - 1] = 0.0
    arc = np.concatenate([[0.0], np.cumsum(steps)]) + np.cumsum(gaps)
    first, last = arc[begins], arc[np.append(begins[1:], len(points)) - 1]
    count = np.maximum(np.rint((last - first) / step_mm).astype(int), 1)
    which = np.repeat(np.arange(len(count)), count + 1)
    number = np.arange(len(which)) - (np.cumsum(count + 1) - count - 1)[which]
    at = first[which] + number * ((last - first) / count)[which]
    return np.stack([np.interp(at, arc, points[:, 0]), np.interp(at, arc, points[:, 1])], axis=1)


def measure_area_mm2(points: Points) -> float:
    """Signed area of the closed polygon, mm2; positive when it runs clockwise as seen on the page (y down)."""
    points = np.asarray(points, float)
    points = points - points[0]          # moved to the origin, since far from it digits would be lost
    following = np.roll(points, -1, axis=0)
    return 0.5 * float(np.sum(points[:, 0] * following[:, 1] - following[:, 0] * points[:, 1]))


def cross_segments(start_a: Array, end_a: Array, start_b: Array, end_b: Array) -> tuple[Array, Array]:
    """Where segments a and b, arrays (n, 2), cross: parameters (t, u), NaN where parallel.

    A true crossing has both in [0, 1]; the point is start_a + t (end_a - start_a).
    """
    along_a, along_b, between = end_a - start_a, end_b - start_b, start_b - start_a
    det = along_a[..., 0] * along_b[..., 1] - along_a[..., 1] * along_b[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (between[..., 0] * along_b[..., 1] - between[..., 1] * along_b[..., 0]) / det
        u = (between[..., 0] * along_a[..., 1] - between[..., 1] * along_a[..., 0]) / det
    parallel = det == 0
    return np.where(parallel, np.nan, t), np.where(parallel, np.nan, u)


def find_self_crossing(points: ArrayLike, *, closed: bool = True) -> tuple[float, ...] | None:
    """The first place where a polyline crosses itself, as (x, y) in mm, or None.

    Neighbouring segments share a point and do not count. Segments are sorted along the
    longer side of the shape and compared with those they overlap there, so the work grows
    about linearly for long thin shapes.
    """
    given = np.asarray(points, float)
    line = np.vstack([given, given[:1]]) if closed else given
    keep = np.concatenate([[True], np.any(np.diff(line, axis=0) != 0, axis=1)])
    line = line[keep]
    count = len(line) - 1
    if count < 3:
        return None
    axis = int(np.ptp(line[:, 1]) > np.ptp(line[:, 0]))
    start, end = line[:-1], line[1:]
    low = np.minimum(start, end)
    high = np.maximum(start, end)
    order = np.argsort(low[:, axis], kind="stable")
    left = low[order, axis]
    last = np.searchsorted(left, high[order, axis], side="right")   # candidates end here
    active = np.arange(count)
    lag = 0
    other = 1 - axis
    while active.size:
        lag += 1
        active = active[active + lag < last[active]]
        i, j = order[active], order[active + lag]
        near = (low[i, other] <= high[j, other]) & (low[j, other] <= high[i, other])
        gap = np.abs(i - j)
        near &= (gap > 1) & ~(closed & (gap == count - 1))
        i, j = i[near], j[near]
        if i.size:
            t, u = cross_segments(start[i], end[i], start[j], end[j])
            hit = (t >= 0) & (t <= 1) & (u >= 0) & (u <= 1)
            if hit.any():
                k = int(np.flatnonzero(hit)[0])
                return tuple(float(v) for v in start[i[k]] + t[k] * (end[i[k]] - start[i[k]]))
    return None


def measure_distance_mm(points: ArrayLike, polyline: ArrayLike) -> Values:
    """Distance from each of `points` (n, 2) to the nearest place on an open polyline (m, 2), shape (n,), mm."""
    points, polyline = np.asarray(points, float), np.asarray(polyline, float)
    (start_x, start_y), (along_x, along_y) = polyline[:-1].T, np.diff(polyline, axis=0).T
    size = np.maximum(along_x ** 2 + along_y ** 2, 1e-30)
    best = np.full(len(points), np.inf)
    for first in range(0, len(points), 256):              # in portions, to limit memory
        away_x, away_y = (points[first:first + 256, k, None] - start for k, start in ((0, start_x), (1, start_y)))
        t = np.minimum(np.maximum((away_x * along_x + away_y * along_y) / size, 0.0), 1.0)
        off_x, off_y = away_x - t * along_x, away_y - t * along_y
        best[first:first + 256] = np.sqrt(np.min(off_x ** 2 + off_y ** 2, axis=1))
    return best


def contains_points(polygon: ArrayLike, points: ArrayLike) -> Mask:
    """Whether each of `points` (n, 2) lies inside the closed polygon (m, 2): even-odd rule, bool (n,)."""
    polygon, points = np.asarray(polygon, float), np.asarray(points, float).reshape(-1, 2)
    (start_x, start_y), (end_x, end_y) = polygon.T, np.roll(polygon, -1, axis=0).T
    inside = np.zeros(len(points), bool)
    for first in range(0, len(points), 256):              # in portions, to limit memory
        x, y = points[first:first + 256].T
        which, side = np.nonzero((start_y > y[:, None]) != (end_y > y[:, None]))
        right = start_x[side] + (y[which] - start_y[side]) / (end_y[side] - start_y[side]) * (
            end_x[side] - start_x[side]) > x[which]
        inside[first:first + 256] = np.bincount(which[right], minlength=len(x)) % 2 == 1
    return inside


def dot_rows(first: Points, second: Points) -> Values:
    """Scalar products of the rows of two arrays (n, 2), (n,)."""
    return first[:, 0] * second[:, 0] + first[:, 1] * second[:, 1]


def _close(polygon):
    polygon = np.asarray(polygon, float)
    return polygon, np.roll(polygon, -1, axis=0)


def _measure_ends(points, start, end):
    """Least distance of points (n, 2) from segments (m, 2)."""
    along = end - start
    size = np.maximum(np.sum(along ** 2, axis=1), 1e-30)
    away = points[:, None] - start[None]
    t = np.clip(np.sum(away * along, axis=2) / size, 0.0, 1.0)
    return float(np.sqrt(np.min(np.sum((away - t[..., None] * along) ** 2, axis=2))))


def measure_line_gap_mm(first: Sequence[Points], second: Sequence[Points]) -> float:
    """Least distance between two sets of segments, each (start (n, 2), end (n, 2)); 0 where any two cross.

    Two segments that do not cross are nearest at an end of one of them.
    """
    (a, b), (c, d) = first, second
    t, u = cross_segments(a[:, None], b[:, None], c[None], d[None])
    if np.any((t >= 0) & (t <= 1) & (u >= 0) & (u <= 1)):
        return 0.0
    return min(_measure_ends(np.concatenate([a, b]), c, d), _measure_ends(np.concatenate([c, d]), a, b))


def measure_gap_mm(first: Points, second: Points) -> float:
    """Least distance between two closed polygons, mm; 0 where they touch, cross, or one lies inside the other."""
    if contains_points(first, second[:1])[0] or contains_points(second, first[:1])[0]:
        return 0.0
    return measure_line_gap_mm(_close(first), _close(second))


def cut_polygon(polygon: Points, point: ArrayLike, outward: ArrayLike) -> Points:
    """The part of a polygon that does not lie beyond a straight line: `outward` (2,) points away from what is kept.

    Sutherland and Hodgman, Communications of the ACM 17 (1974) 32, for one line; a polygon that falls into several
    pieces stays one polygon, joined along the line.
    """
    polygon, following = _close(polygon)
    outward = np.asarray(outward, float) / np.hypot(*outward)
    beyond, ahead = (polygon - point) @ outward, (following - point) @ outward
    kept = []
    for p, q, u, v in zip(polygon, following, beyond, ahead):
        if u <= 0:
            kept.append(p)
        if (u < 0 < v) or (v < 0 < u):
            kept.append(p + (q - p) * (u / (u - v)))
    return np.array(kept).reshape(-1, 2)


def draw_disc(centre: Sequence[int], radius_mm: float, *, count: int = 48) -> Points:
    """A polygon that encloses a circle; with 48 sides it is nowhere farther from it than 0.22 percent of the radius."""
    a = (np.arange(count) + 0.5) * 2 * np.pi / count
    return np.asarray(centre, float) + radius_mm / np.cos(np.pi / count) * np.stack([np.cos(a), np.sin(a)], axis=1)


def measure_point_gap_mm(polygon: Points, points: Points) -> float:
    """Least distance of points (n, 2) from a closed polygon, mm; 0 where one lies inside."""
    return 0.0 if contains_points(polygon, points).any() else _measure_ends(np.asarray(points, float), *_close(polygon))


def contains_polygon(outer: Points, inner: Points) -> bool:
    """Whether a closed polygon holds another, without touching it."""
    return bool(contains_points(outer, inner[:1])[0]) and measure_line_gap_mm(_close(outer), _close(inner)) > 0.0


def list_sides(polygon: Points) -> tuple[Points, ...]:
    """Starts and ends (n, 2) of the sides of a closed polygon."""
    return _close(polygon)
