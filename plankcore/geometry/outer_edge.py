"""Two curves that run side by side: how far the one lies to the left of the other, and the outer line of both."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import tolerance
from .curve import Curve
from .polyline import turn_left

if TYPE_CHECKING:
    from .arrays import ArrayLike, Values

__all__ = ["join_outer", "measure_aside_mm"]

_CHORDS = 24              # of a piece, to find where a curve is crossed
_STEPS = 16               # of a piece, to see which curve is the outer one
# curves nearer than this are the same line: each was fitted to FIT_MM, and a switch between them would be noise
_SAME_MM = 0.8 * tolerance.FIT_MM


def _find_ways(curve, u):
    """Unit tangents (n, 2)."""
    along = curve.evaluate(u, derivative=1)
    size = np.linalg.norm(along, axis=1)
    for k in np.flatnonzero(size < 1e-9):
        along[k] = curve.find_direction(float(np.atleast_1d(u)[k]))
        size[k] = 1.0
    return along / size[:, None]


def measure_aside_mm(curve: Curve, other: Curve, u: ArrayLike) -> tuple[Values, Values]:
    """How far `other` lies to the left of `curve`, square to it.

    Parameters
    ----------
    curve, other : Curve
    u : array_like, shape (n,)
        Places on `curve`.

    Returns
    -------
    aside_mm : ndarray, shape (n,)
        Positive to the left of travel; nan where the line square to the curve does not meet the other.
    places : ndarray, shape (n,)
        Where on the other.
    """
    u = np.atleast_1d(np.asarray(u, float))
    points, ways = curve.evaluate(u), _find_ways(curve, u)
    left = turn_left(ways)
    count = len(other.cubics)
    v = np.linspace(0, count, _CHORDS * count + 1)
    away = other.evaluate(v)[None] - points[:, None]
    ahead = np.einsum("ijk,ik->ij", away, ways)
    share = np.divide(ahead[:, :-1], ahead[:, :-1] - ahead[:, 1:], out=np.full(ahead[:, 1:].shape, np.nan),
                      where=ahead[:, :-1] != ahead[:, 1:])
    aside = np.einsum("ijk,ik->ij", away, left)
    where = np.abs(aside[:, :-1] * (1 - share) + aside[:, 1:] * share)
    where[~((share >= -1e-9) & (share <= 1 + 1e-9))] = np.inf
    best = np.argmin(where, axis=1)
    rows = np.arange(len(u))
    met = np.isfinite(where[rows, best])
    places = np.where(met, v[best] + np.where(met, share[rows, best], 0.0) * (v[1] - v[0]), 0.0)
    for _ in range(6):
        gap = np.einsum("ij,ij->i", other.evaluate(places) - points, ways)
        speed = np.einsum("ij,ij->i", other.evaluate(places, derivative=1), ways)
        places = np.clip(places - np.divide(gap, speed, out=np.zeros(len(u)), where=np.abs(speed) > 1e-9), 0, count)
    found = np.einsum("ij,ij->i", other.evaluate(places) - points, left)
    return np.where(met, found, np.nan), np.where(met, places, np.nan)


def join_outer(first: Curve, second: Curve, *, left: float) -> Curve:
    """The outer line of two curves that run side by side the same way.

    Parameters
    ----------
    first, second : Curve
        Run on past whatever is to be cut off, so that all that counts of each has the other abreast.
    left : float
        1 where outward is to the left of travel, -1 where to the right.

    Returns
    -------
    Curve
        Parts of both, in turn, cut where they cross; one of them where it is the outer one all along. Nothing is fitted
        anew.
    """
    count = len(first.cubics)
    u = np.linspace(0, count, _STEPS * count + 1)
    beyond = left * measure_aside_mm(first, second, u)[0]
    which = np.where(beyond > _SAME_MM, 1, np.where(beyond < -_SAME_MM, -1, 0))        # a nan is a nought
    told = np.flatnonzero(which)
    if not len(told) or (which[told] < 0).all():
        return first
    if (which[told] > 0).all():
        return second
    # where they are the same the line stays on the curve it is on
    turns = [(told[k], told[k + 1]) for k in np.flatnonzero(np.diff(which[told]))]
    parts, on_first, at_first, at_second = [], which[told[0]] < 0, 0.0, 0.0
    for before, after in turns:
        here, there = _find_crossing(first, second, u[before], u[after])
        parts.append(first.trim(at_first, here) if on_first else second.trim(at_second, there))
        on_first, at_first, at_second = not on_first, here, there
    parts.append(first.trim(at_first, float(count)) if on_first else second.trim(at_second, float(len(second.cubics))))
    cubics = np.concatenate([p.cubics for p in parts])
    cubics[1:, 0] = cubics[:-1, 3]
    return Curve(cubics)


def _find_crossing(first, second, low, high):
    """Places on both where they cross, between two places of the first with the second on either side: cut down to the
    last bit that matters.
    """
    side = np.sign(measure_aside_mm(first, second, [low])[0][0])
    for _ in range(6):
        u = np.linspace(low, high, 33)
        over = np.flatnonzero(np.sign(measure_aside_mm(first, second, u)[0]) == -side)
        last = over[0] if len(over) else len(u) - 1
        low, high = u[max(last - 1, 0)], u[last]
    return float(high), float(measure_aside_mm(first, second, [high])[1][0])
