"""Cubic Bezier pieces: arrays of shape (k, 4, 2) in mm.

The formulas are those of any text on the Bernstein form (for instance G. Farin, Curves and
Surfaces for CAGD); nothing here is approximate except `flatten_cubics` and `fit_cubics`,
which say their tolerance.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Callable

    from .arrays import Array, ArrayLike, Cubic, Cubics, Points, Values

__all__ = ["draw_circle", "evaluate_cubics", "fit_cubics", "flatten_cubics", "hermite_to_cubics", "split_cubic"]


_QUARTER = 0.5522847498307936     # handle length of a quarter circle, 4/3 tan(pi/8)


def draw_circle(centre: ArrayLike, radius_mm: float, *, way: ArrayLike = (1.0, 0.0)) -> Cubics:
    """A full circle as four cubics (4, 4, 2), from the end of `way` (a unit, (2,)) a quarter turn at a time from x
    towards y; true to 0.03 percent of its radius.
    """
    at, x = np.asarray(centre, float), radius_mm * np.asarray(way, float)
    y = np.array([-x[1], x[0]])
    return np.stack([np.stack([at + a, at + a + _QUARTER * b, at + b + _QUARTER * a, at + b])
                     for a, b in ((x, y), (y, -x), (-x, -y), (-y, x))])


def evaluate_cubics(cubics: Cubics, t: ArrayLike, *, derivative: int = 0) -> Array:
    """Points (or first, second, third derivatives by t) at parameters t, shape (k, len(t), 2)."""
    cubics = np.asarray(cubics, float)
    t = np.asarray(t, float)
    a, b, c, d = (cubics[:, i] for i in range(4))
    p3, p2, p1 = d - a + 3 * (b - c), 3 * (a - 2 * b + c), 3 * (b - a)
    t = t[None, :, None]
    if derivative == 0:
        return ((p3[:, None] * t + p2[:, None]) * t + p1[:, None]) * t + a[:, None]
    if derivative == 1:
        return (3 * p3[:, None] * t + 2 * p2[:, None]) * t + p1[:, None]
    if derivative == 2:
        return 6 * p3[:, None] * t + 2 * p2[:, None]
    return np.broadcast_to(6 * p3[:, None], (len(cubics), t.shape[1], 2))


def split_cubic(cubic: Cubic, first: float, last: float) -> Points:
    """The part of one cubic (4, 2) between parameters first and last, again (4, 2)."""
    start, end = evaluate_cubics(cubic[None], [first, last])[0]
    speed = evaluate_cubics(cubic[None], [first, last], derivative=1)[0] * (last - first) / 3
    return np.stack([start, start + speed[0], end - speed[1], end])


def flatten_cubics(cubics: Cubics, *, tolerance_mm: float) -> Points:
    """A polyline (n, 2) that lies within tolerance_mm of a connected chain of cubics.

    Each piece is cut evenly, by the bound h^2/8 max|second derivative| on a chord's error.
    """
    cubics = np.asarray(cubics, float)
    bend = np.max(np.linalg.norm(np.stack([cubics[:, 0] - 2 * cubics[:, 1] + cubics[:, 2],
                                           cubics[:, 1] - 2 * cubics[:, 2] + cubics[:, 3]]), axis=2), axis=0)
    pieces = np.maximum(np.ceil(np.sqrt(6 * bend / (8 * tolerance_mm))), 1).astype(int)
    which = np.repeat(np.arange(len(cubics)), pieces)
    first = np.cumsum(pieces) - pieces
    t = ((np.arange(len(which)) - first[which] + 1) / pieces[which])[:, None]
    a, b, c, d = (cubics[which, i] for i in range(4))
    s = 1 - t
    points = s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d
    return np.vstack([cubics[:1, 0], points])


def hermite_to_cubics(points: Points, slopes: Points, at: Values) -> Cubics:
    """Cubics (k, 4, 2) through points (k+1, 2) with derivatives `slopes` by the parameter `at` (k+1,)."""
    third = (np.diff(at) / 3)[:, None]
    return np.stack([points[:-1], points[:-1] + third * slopes[:-1],
                     points[1:] - third * slopes[1:], points[1:]], axis=1)


def fit_cubics(path: Callable[[Values, int], Points], first: float, last: float, *, tolerance_mm: float,
               most: int = 4000) -> Cubics:
    """Few cubics that follow a smooth parametric path.

    Parameters
    ----------
    path : callable
        path(u, derivative) gives points (n, 2) in mm, or derivatives by u, at u (n,).
    first, last : float
        The range of u.
    tolerance_mm : float
        Largest distance allowed between path and cubics, measured at equal parameters,
        which is never less than the true distance.

    Returns
    -------
    ndarray, shape (k, 4, 2), mm
        The path is met, point and direction, where pieces join.

    Raises
    ------
    ValueError
        If `most` pieces do not reach the tolerance: the path is not smooth.
    """
    probe = np.linspace(0, 1, 9)[1:-1]
    count = 1
    while count <= most:
        at = np.linspace(first, last, count + 1)
        cubics = hermite_to_cubics(path(at, 0), path(at, 1), at)
        u = (at[:-1, None] + np.diff(at)[:, None] * probe).ravel()
        error = np.max(np.linalg.norm(evaluate_cubics(cubics, probe).reshape(-1, 2) - path(u, 0), axis=1))
        if error <= tolerance_mm:
            return cubics
        # a cubic's error falls with the fourth power of its length
        count = max(count + 1, int(np.ceil(count * min((error / tolerance_mm) ** 0.25, 8.0))))
    raise ValueError("the path is too rough for %d cubic pieces" % most)
