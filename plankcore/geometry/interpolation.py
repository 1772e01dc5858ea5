"""Cubic splines through given points, every point kept: what a thin rod does that is held there and nowhere else,
slopes small.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from .arrays import ArrayLike, Values

__all__ = ["ENDS", "interpolate_cubic"]

ENDS = ("natural", "running on")


def interpolate_cubic(x: ArrayLike, y: ArrayLike, at: ArrayLike, *, ends: str) -> Values:
    """Values of the cubic spline through (x, y).

    Parameters
    ----------
    x : ndarray, shape (n,), rising
    y : ndarray, shape (n,)
    at : ndarray, shape (k,)
        Where; beyond the ends the end pieces run on.
    ends : str
        'natural': no curvature at the ends, as of a rod that stops there. 'running on': the first two pieces are one
        cubic, and so the last two (de Boor, A Practical Guide to Splines, 1978, chapter IV: "not-a-knot"), as of a rod
        that goes on evenly;
        through three points it is the parabola. Two points give the straight line.

    Returns
    -------
    ndarray, shape (k,)
    """
    x, y, at = (np.asarray(v, float) for v in (x, y, at))
    h, count = np.diff(x), len(x)
    if ends not in ENDS or count < 2 or not (h > 0).all():
        raise ValueError("rising x, at least two, and one of %s are needed" % (ENDS,))
    if count == 2 or (count == 3 and ends == "running on"):
        return np.polynomial.Polynomial.fit(x, y, count - 1)(at)
    # second derivatives m at the points: continuous slope at each inner one, and the ends' conditions
    matrix, right = np.zeros((count, count)), np.zeros(count)
    inner = np.arange(1, count - 1)
    matrix[inner, inner - 1], matrix[inner, inner], matrix[inner, inner + 1] = h[:-1], 2 * (h[:-1] + h[1:]), h[1:]
    right[1:-1] = 6 * np.diff(np.diff(y) / h)
    if ends == "natural":
        matrix[0, 0] = matrix[-1, -1] = 1.0
    else:
        matrix[0, :3] = h[1], -(h[0] + h[1]), h[0]
        matrix[-1, -3:] = h[-1], -(h[-2] + h[-1]), h[-2]
    m = np.linalg.solve(matrix, right)
    k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, count - 2)
    a, b, step = x[k + 1] - at, at - x[k], h[k]
    return (m[k] * a ** 3 + m[k + 1] * b ** 3) / (6 * step) + (y[k] / step - m[k] * step / 6) * a + (
        y[k + 1] / step - m[k + 1] * step / 6) * b
