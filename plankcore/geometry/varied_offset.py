"""A closed chain of curves moved outward by a distance that varies along each curve, corners mitred."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import tolerance
from .bezier import fit_cubics
from .curve import Curve
from .ordered import list_distinct
from .outline import OffsetFailure, join_mitred, measure_outline_area_mm2, meet_corners, split_at_knuckles
from .polyline import turn_left

if TYPE_CHECKING:
    from typing import Callable, Sequence

    from .arrays import Values

__all__ = ["join_cuts", "measure_slope", "offset_curve_varied", "offset_outline_varied"]

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


def offset_curve_varied(curve: Curve, distance: Callable[[Values], Values], *, tolerance_mm: float = tolerance.FIT_MM,
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
                          tolerance_mm: float = tolerance.FIT_MM,
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
