"""Curves seen from the side: how far one lies to the left of another, the outer line of both, and a closed chain of
curves moved outward by a distance that varies along each.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import arrays
from .arrays import list_distinct
from .bezier import fit_cubics
from .curve import Curve
from .outline import OffsetFailure, join_mitred, measure_outline_area_mm2, meet_corners, split_at_knuckles
from .polyline import turn_left

if TYPE_CHECKING:
    from typing import Callable, Sequence

    from .arrays import ArrayLike, Values

__all__ = [
    "join_cuts",
    "join_outer",
    "measure_aside_mm",
    "measure_slope",
    "offset_curve_varied",
    "offset_outline_varied",
]

_CHORDS = 24              # chords of each piece, to find where the other curve is crossed
_STEPS = 16               # places on each piece where it is decided which curve is the outer one
# curves nearer than this count as one line: each was fitted to FIT_MM, and switching between them would be noise
_SAME_MM = 0.8 * arrays.FIT_MM


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


# as for a constant offset: where the edge shrinks to less than this share of its length it is nearly a cusp, and is
# refused
_LEAST_STRETCH = 0.02
_STEP = 1e-3               # step for numerical slopes, as a share of the range


def measure_slope(function: Callable[[Values], Values], at: Values, first: float, last: float) -> Values:
    """Slope (n,) of function at places (n,) between first and last, from three values within that range: values beyond
    it are not used."""
    step = _STEP * (last - first)
    middle = np.clip(at, first + step, last - step)
    before, amid, after = (np.asarray(function(middle + k * step), float) for k in (-1, 0, 1))
    return (after - before) / (2 * step) + (at - middle) * (after - 2 * amid + before) / step ** 2


def join_cuts(count: int, breaks: Sequence[float]) -> Values:
    """The joints 0 to count of a curve together with `breaks`, rising; a break at a joint is not added."""
    between = [b for b in breaks if 0 < b < count and abs(b - round(b)) > 1e-6]
    cuts = list_distinct(np.concatenate([np.arange(count + 1.0), between]))
    return cuts[np.concatenate([[True], np.diff(cuts) > 1e-6])]


def offset_curve_varied(curve: Curve, distance: Callable[[Values], Values], *, tolerance_mm: float = arrays.FIT_MM,
                        breaks: Sequence[float] = ()) -> Curve:
    """The curve with each point moved, square to it, to the left of travel (page with y down) by its own distance.

    Parameters
    ----------
    distance : callable
        distance(u) gives mm (n,) at places u (n,) of the curve, negative to the right. Smooth between joints of the
        curve and `breaks`.
    breaks : sequence of float, optional
        Places where the distance has a kink: the moved curve is cut there.

    Returns
    -------
    Curve
        The same curve where the distance is zero everywhere.

    Raises
    ------
    OffsetFailure
        Where the curve bends, towards that side, to a radius no larger than the distance, or the distance is too rough.
    """
    count = len(curve.cubics)
    turns = [0, *(k for k, _ in curve.find_knuckles()), count]
    if len(turns) > 2:
        return _offset_pieces(curve, distance, turns, tolerance_mm=tolerance_mm, breaks=breaks)
    u = np.linspace(0, count, 24 * count + 1)
    d = np.asarray(distance(u), float) + np.zeros(len(u))
    if not np.isfinite(d).all():
        raise OffsetFailure("the distance is not a number there", curve.evaluate(u[~np.isfinite(d)][:1])[0])
    if not d.any():
        return curve
    bend = curve.measure_curvature_per_mm(np.minimum(u, np.nextafter(count, 0)))
    worst = int(np.argmin(1 + d * bend))
    too_hollow = OffsetFailure("the edge bends to a radius of %.1f mm there, and is to move by %.1f mm"
                               % (1 / max(abs(bend[worst]), 1e-9), abs(d[worst])),
                               curve.evaluate(u[worst:worst + 1])[0])
    if 1 + d[worst] * bend[worst] < _LEAST_STRETCH:
        raise too_hollow
    cuts = join_cuts(count, breaks)
    parts = []
    for first, last in zip(cuts[:-1], cuts[1:]):
        inside = np.nextafter(last, first)

        def path(at, derivative):
            at = np.clip(at, first, inside)
            along = curve.evaluate(at, derivative=1)
            left = turn_left(along / np.maximum(np.linalg.norm(along, axis=1), 1e-12)[:, None])
            here = np.asarray(distance(at), float)
            if derivative == 0:
                return curve.evaluate(at) + here[:, None] * left
            slope = measure_slope(distance, at, first, inside)
            return along * (1 + here * curve.measure_curvature_per_mm(at))[:, None] + slope[:, None] * left
        try:
            parts.append(fit_cubics(path, float(first), float(inside), tolerance_mm=tolerance_mm))
        except ValueError:
            raise too_hollow from None
    cubics = np.concatenate(parts)
    cubics[1:, 0] = cubics[:-1, 3]
    return Curve(cubics)


def _offset_pieces(curve, distance, cuts, tolerance_mm, breaks):
    """The same for a curve with knuckles: offset piece by piece, mitred where the pieces meet."""
    moved, most = [], 0.0
    for first, last in zip(cuts[:-1], cuts[1:]):
        def find(u, first=first):
            return distance(np.asarray(u, float) + first)
        most = max(most, float(np.abs(find(np.linspace(0, last - first, 33))).max()))
        moved.append(offset_curve_varied(Curve(curve.cubics[first:last]), find, tolerance_mm=tolerance_mm,
                                         breaks=[b - first for b in breaks if first < b < last]))
    return join_mitred(split_at_knuckles(curve), moved, reach_mm=12 * most + 1.0)


def offset_outline_varied(curves: Sequence[Curve], distances: Sequence[Callable[[Values], Values]], *,
                          tolerance_mm: float = arrays.FIT_MM,
                          breaks: Sequence[Sequence[float]] | None = None) -> list[Curve]:
    """A closed chain moved outward by distances that vary along it, corners mitred.

    Parameters
    ----------
    curves : sequence of Curve
        End to end and closed, either way round.
    distances : sequence of callable
        For each curve distance(u): mm (n,) outward at places u (n,) of that curve; may be negative.
    breaks : sequence of sequences of float, optional
        For each curve the places where its distance has a kink.

    Returns
    -------
    list of Curve
        As many as came in. Corners lie where the offset curves cross; curves that are too short for that are extended
        along their tangents.

    Raises
    ------
    OffsetFailure
        If a curve bends too hard, moved neighbours do not meet, or the result crosses itself.
    """
    left = 1.0 if measure_outline_area_mm2(curves) > 0 else -1.0
    breaks = breaks or [()] * len(curves)
    moved, most = [], 0.0
    for curve, distance, cuts in zip(curves, distances, breaks):
        u = np.linspace(0, len(curve.cubics), 8 * len(curve.cubics) + 1)
        most = max(most, float(np.abs(distance(u)).max()))
        moved.append(offset_curve_varied(curve, _turn(distance, left), tolerance_mm=tolerance_mm, breaks=cuts))
    if most == 0.0:
        return list(curves)
    return meet_corners(curves, moved, reach_mm=12 * most + 1.0)


def _turn(distance, left):
    return lambda u: left * np.asarray(distance(u), float)
