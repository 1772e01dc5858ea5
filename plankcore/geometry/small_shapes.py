"""Small closed shapes: the least rectangle round one, its four sides, and the two borders of a slender one."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from .convex import find_hull
from .correlated_errors import pool_correlation
from .polyline import measure_arc_mm, resample_polyline
from .shape_fits import fit_line

if TYPE_CHECKING:
    from .arrays import Point, Points
    from .shape_fits import LineFit

__all__ = [
    "Rectangle",
    "cross_lines",
    "find_middle_line",
    "find_rectangle",
    "find_thickness_mm",
    "fit_sides",
    "split_slender",
]


@dataclass(frozen=True, eq=False, repr=False)
class Rectangle:
    """A turned rectangle: centre (2,), unit direction of its long sides (2,), length and width in mm, length the
    larger.
    """

    centre: Point
    along: Point
    length: float
    width: float

    @property
    def across(self) -> Point:
        """Unit direction of the short sides: `along` turned to the left of travel, y down."""
        return np.array([self.along[1], -self.along[0]])


def find_rectangle(points: Points) -> Rectangle:
    """The rectangle of least area round points.

    One of its sides lies along a side of the convex hull (H. Freeman and R. Shapira, Comm. ACM 18 (1975) 409, from
    memory), so only those directions are tried.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm

    Returns
    -------
    Rectangle
    """
    hull = find_hull(points)
    if len(hull) < 3:
        ends = hull if len(hull) == 2 else np.vstack([hull[:1], hull[:1]])
        size = float(np.hypot(*(ends[1] - ends[0])))
        along = (ends[1] - ends[0]) / size if size else np.array([1.0, 0.0])
        return Rectangle(ends.mean(axis=0), along, size, 0.0)
    sides = np.roll(hull, -1, axis=0) - hull
    size = np.hypot(sides[:, 0], sides[:, 1])
    ways = sides[size > 1e-12] / size[size > 1e-12][:, None]
    squares = np.stack([ways[:, 1], -ways[:, 0]], axis=1)
    origin = hull.mean(axis=0)
    u, v = (hull - origin) @ ways.T, (hull - origin) @ squares.T
    extent = np.stack([np.ptp(u, axis=0), np.ptp(v, axis=0)])
    best = int(np.argmin(extent[0] * extent[1]))
    middle = origin + ways[best] * (u[:, best].max()
                                    + u[:, best].min()) / 2 + squares[best] * (v[:, best].max() + v[:, best].min()) / 2
    long, short = float(extent[0, best]), float(extent[1, best])
    along = ways[best]
    if short > long:
        long, short, along = short, long, squares[best]
    return Rectangle(middle, along, long, short)


def fit_sides(points: Points, rectangle: Rectangle, *, margin: float = 0.22, depth: float = 0.3) -> dict[str, LineFit]:
    """Lines through the four sides of a nearly rectangular closed shape, its corners left out.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        Closed and evenly spaced, in order.
    rectangle : Rectangle
    margin : float
        Share of the width left out at each end of each side: corners are rounded.
    depth : float
        Points of a short side lie no deeper than this share of half the length.

    Returns
    -------
    dict of str to LineFit
        'ahead' and 'behind': the short sides towards and against `along`; 'left' and 'right': the long sides, left
        being towards `across`. A side with too few points is missing.
    """
    away = points - rectangle.centre
    u, v = away @ rectangle.along, away @ rectangle.across
    a, b = rectangle.length / 2, rectangle.width / 2
    corner = margin * rectangle.width
    # near the ends only: the inner border of a bent shape must not count as its end
    chosen = {"ahead": (np.abs(v) <= b - corner) & (u > (1 - depth) * a),
              "behind": (np.abs(v) <= b - corner) & (u < -(1 - depth) * a),
              "left": (np.abs(u) <= a - corner) & (v > 0), "right": (np.abs(u) <= a - corner) & (v < 0)}
    sides = {}
    for name, mine in chosen.items():
        index = np.flatnonzero(mine)
        if len(index) < 6:
            continue
        # the side may run past the loop's first point: begin it after the widest gap
        gaps = np.diff(np.concatenate([index, [index[0] + len(points)]]))
        index = np.roll(index, -int(np.argmax(gaps)) - 1)
        sides[name] = fit_line(points[index], alone=False)
    # all sides were drawn by one hand and one scanner: their correlation is estimated together, since the short sides
    # alone are too short for it
    gammas = pool_correlation(sides.values())
    return {name: replace(side, covariance=side.propagate(gammas)) for name, side in sides.items()}


def cross_lines(first: LineFit, second: LineFit) -> Point | None:
    """Where two LineFits cross, (2,) mm, or None where they are parallel."""
    matrix = np.stack([first.direction, -second.direction], axis=1)
    if abs(np.linalg.det(matrix)) < 1e-6:
        return None
    return first.point + first.direction * np.linalg.solve(matrix, second.point - first.point)[0]


def find_thickness_mm(half_round_mm: float, area_mm2: float) -> float:
    """Thickness of a slender closed shape: with length L and thickness t its area is L t and half its perimeter L + t.
    """
    root = np.sqrt(max(half_round_mm * half_round_mm - 4 * area_mm2, 0.0))
    return float((half_round_mm - root) / 2)


def split_slender(points: Points, *, thickness_mm: float, step_mm: float) -> tuple[Points, ...]:
    """The two long borders of a slender closed shape, ends left out.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        Closed. The shape may be curved, up to a half circle.
    thickness_mm : float
        What is left out at each end of each border.
    step_mm : float
        Spacing of the points given back.

    Returns
    -------
    tuple of two ndarray, shape (k, 2), mm
        Both run from the same end.

    Raises
    ------
    ValueError
        If the shape is too short for its thickness.
    """
    even = resample_polyline(points, step_mm=step_mm, closed=True)
    # the tips are the two points farthest apart
    hull = find_hull(even)
    apart = np.sum((hull[:, None] - hull[None]) ** 2, axis=2)
    i, j = np.unravel_index(int(np.argmax(apart)), apart.shape)
    k, m = sorted(_centre_tip(even, int(np.argmin(np.sum((even - hull[q]) ** 2, axis=1))), thickness_mm / step_mm)
                  for q in (i, j))
    sides = [even[k:m + 1], np.concatenate([even[m:], even[:k + 1]])[::-1]]
    drop = int(np.ceil(1.25 * thickness_mm / step_mm))
    sides = [s[drop:len(s) - drop] for s in sides]
    if min(len(s) for s in sides) < 5:
        raise ValueError("the shape is too short for its thickness")
    return tuple(sides)


def _centre_tip(even, tip, steps):
    """The middle of an end, near one of its corners: about there the two points at twice the thickness to either side
    along the line are nearest to each other."""
    lag = max(round(2 * steps), 2)
    near = tip + np.arange(-int(np.ceil(steps)), int(np.ceil(steps)) + 1)
    gap = np.sum((even[(near + lag) % len(even)] - even[(near - lag) % len(even)]) ** 2, axis=1)
    # of several that are equally near, the middle one
    best = near[gap <= gap.min() + 1e-9 + 0.02 * gap.min()]
    return int(best[len(best) // 2] % len(even))


def find_middle_line(first: Points, second: Points) -> Points:
    """Points midway between two borders (n, 2) and (m, 2) that run the same way, evenly spaced and about parallel.

    Each point of the first is paired with the place of the second that lies square across; picking the nearest point
    instead would pick the points that err towards it, and bend the middle that way.
    """
    arc, other = measure_arc_mm(first), measure_arc_mm(second)
    reach = max(round(3.0 / max(arc[1], 1e-9)), 1)               # directions are taken over 3 mm to each side
    before, after = np.maximum(np.arange(len(first)) - reach,
                               0), np.minimum(np.arange(len(first)) + reach, len(first) - 1)
    at = arc * other[-1] / arc[-1]
    for _ in range(4):
        pair = np.stack([np.interp(at, other, second[:, k]) for k in (0, 1)], axis=1)
        middle = (first + pair) / 2
        way = middle[after] - middle[before]
        way = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
        at = at - np.sum((pair - first) * way, axis=1)
    inside = (at >= 0) & (at <= other[-1])
    return middle[inside] if np.count_nonzero(inside) >= 5 else middle
