"""Two curves that run side by side: how far one lies to the left of the other, and the outer line of both."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import tolerance
from .curve import Curve
from .polyline import turn_left

if TYPE_CHECKING:
    from .arrays import ArrayLike, Values

__all__ = ["join_outer", "measure_aside_mm"]

_CHORDS = 24              # chords of each piece, to find where the other curve is crossed
_STEPS = 16               # places on each piece where it is decided which curve is the outer one
# curves nearer than this count as one line: each was fitted to FIT_MM, and switching between them would be noise
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
        Positive to the left of travel; NaN where the line square to the curve does not cross the other.
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
        Extended past the parts to be cut off later, so that every part that is kept has the other curve opposite it.
    left : float
        1 where outward is to the left of travel, -1 where to the right.

    Returns
    -------
    Curve
        Parts of both curves alternately, cut where they cross; or one whole curve where it is the outer one everywhere.
        No curve is fitted again.
    """
    count = len(first.cubics)
    u = np.linspace(0, count, _STEPS * count + 1)
    beyond = left * measure_aside_mm(first, second, u)[0]
    which = np.where(beyond > _SAME_MM, 1, np.where(beyond < -_SAME_MM, -1, 0))        # NaN becomes 0, undecided
    told = np.flatnonzero(which)
    if not len(told) or (which[told] < 0).all():
        return first
    if (which[told] > 0).all():
        return second
    # where the curves coincide (0) the line stays on the curve that it is on
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
    """Places on both curves where they cross, between two places on the first that have the second on different sides:
    by bisection, as far as it matters."""
    side = np.sign(measure_aside_mm(first, second, [low])[0][0])
    for _ in range(6):
        u = np.linspace(low, high, 33)
        over = np.flatnonzero(np.sign(measure_aside_mm(first, second, u)[0]) == -side)
        last = over[0] if len(over) else len(u) - 1
        low, high = u[max(last - 1, 0)], u[last]
    return float(high), float(measure_aside_mm(first, second, [high])[1][0])
