"""Closed shapes made of open curves, end to end: area, inside, outward offset, self-crossing; and a closed curve parted
by straight lines across, each part again a closed curve.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import arrays
from .bezier import fit_cubics
from .curve import Curve, cross_curves, find_gauss_rule
from .polyline import find_self_crossing, turn_left
from .strokes import clip_strokes, draw_polyline

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Cubics, Points

__all__ = [
    "OffsetFailure",
    "find_outline_crossing",
    "flatten_outline",
    "join_mitred",
    "measure_outline_area_mm2",
    "meet_corners",
    "offset_curve",
    "offset_outline",
    "part_closed",
    "split_at_knuckles",
]

# where an offset shrinks the edge to less than this share of its length it is nearly a cusp, and is refused
_LEAST_STRETCH = 0.02


class OffsetFailure(ValueError):
    """An offset that the shape cannot take; `point` (x, y) in mm says where, `reason` why."""

    def __init__(self, reason, point):
        self.reason, self.point = reason, (float(point[0]), float(point[1]))
        super().__init__(reason)


def flatten_outline(curves: Sequence[Curve], *, tolerance_mm: float = arrays.FLATTEN_MM) -> Points:
    """Polygon (n, 2) of a closed chain of curves; the first point is not repeated."""
    return np.vstack([curve.flatten(tolerance_mm=tolerance_mm)[:-1] for curve in curves])


def measure_outline_area_mm2(curves: Sequence[Curve]) -> float:
    """Signed area of a closed chain of curves, mm2, exact: positive when clockwise as seen (y down).

    Each cubic contributes the integral of (x dy - y dx) / 2, a polynomial of degree 5, for which three Gauss nodes are
    exact.
    """
    nodes, weights = find_gauss_rule(3)
    origin = curves[0].start
    total = 0.0
    for curve in curves:
        u = (np.arange(len(curve.cubics))[:, None] + nodes).ravel()
        p, q = curve.evaluate(u) - origin, curve.evaluate(u, derivative=1)
        total += 0.5 * np.sum((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]) * np.tile(weights, len(curve.cubics)))
    return float(total)


def offset_curve(curve: Curve, distance_mm: float, *, tolerance_mm: float = arrays.FIT_MM) -> Curve:
    """The curve at a constant distance to the left of travel (page with y down).

    Parameters
    ----------
    distance_mm : float
        Negative lies to the right.

    Raises
    ------
    OffsetFailure
        Where the curve bends, towards that side, to a radius no larger than the distance.
    """
    if distance_mm == 0.0:
        return curve
    pieces = split_at_knuckles(curve)
    if len(pieces) > 1:
        return join_mitred(pieces, [offset_curve(p, distance_mm, tolerance_mm=tolerance_mm) for p in pieces],
                           reach_mm=12 * abs(distance_mm) + 1.0)
    u = np.linspace(0, len(curve.cubics), 24 * len(curve.cubics) + 1)
    bend = curve.measure_curvature_per_mm(np.minimum(u, np.nextafter(len(curve.cubics), 0)))
    worst = int(np.argmin(1 + distance_mm * bend))
    too_hollow = OffsetFailure("the edge bends to a radius of %.1f mm there, and the allowance is %.1f mm"
                               % (1 / max(abs(bend[worst]), 1e-9), abs(distance_mm)),
                               curve.evaluate(u[worst:worst + 1])[0])
    if 1 + distance_mm * bend[worst] < _LEAST_STRETCH:
        raise too_hollow

    def path(at, derivative):
        along = curve.evaluate(at, derivative=1)
        if derivative == 0:
            return curve.evaluate(at) + distance_mm * turn_left(along / np.linalg.norm(along, axis=1)[:, None])
        return along * (1 + distance_mm * curve.measure_curvature_per_mm(at))[:, None]

    # fitted piece by piece: at joints the third derivative may jump
    parts = []
    for piece in range(len(curve.cubics)):
        inside = np.nextafter(piece + 1.0, 0.0)
        try:
            parts.append(fit_cubics(lambda at, derivative: path(np.clip(at, piece, inside), derivative),
                                    float(piece), inside, tolerance_mm=tolerance_mm))
        except ValueError:
            raise too_hollow from None
    cubics = np.concatenate(parts)
    cubics[1:, 0] = cubics[:-1, 3]
    return Curve(cubics)


def split_at_knuckles(curve: Curve) -> list[Curve]:
    """The parts of a curve between its knuckles; the whole curve where it has none."""
    cuts = [0, *(u for u, _ in curve.find_knuckles()), len(curve.cubics)]
    return [curve] if len(cuts) == 2 else [Curve(curve.cubics[a:b]) for a, b in zip(cuts[:-1], cuts[1:])]


def join_mitred(parts: Sequence[Curve], moved: Sequence[Curve], *, reach_mm: float) -> Curve:
    """The offset pieces of one curve, each cut where it crosses the next at their knuckle, or extended by up to
    reach_mm to meet it.

    Raises
    ------
    OffsetFailure
        If two of them do not meet.
    """
    extended, first = [c.extend(reach_mm) for c in moved], 1.0
    cubics: list[Cubics] = []
    for k, piece in enumerate(extended[:-1]):
        hits = cross_curves(piece, extended[k + 1])
        if not hits:
            raise OffsetFailure("the moved edge does not meet at its knuckle", parts[k].end)
        u, v, point = min(hits, key=lambda hit: float(np.hypot(*(hit[2] - parts[k].end))))
        if u - first < 1e-6:
            raise OffsetFailure("nothing is left of the edge beside its knuckle", parts[k].end)
        cubics.append(np.array(piece.trim(first, u).cubics))
        if len(cubics) > 1:
            cubics[-1][0, 0] = cubics[-2][-1, 3]
        cubics[-1][-1, 3], first = point, v
    cubics.append(np.array(extended[-1].trim(first, len(extended[-1].cubics) - 1.0).cubics))
    cubics[-1][0, 0] = cubics[-2][-1, 3]
    return Curve(np.concatenate(cubics))


def offset_outline(curves: Sequence[Curve], distances_mm: Sequence[float], *,
                   tolerance_mm: float = arrays.FIT_MM) -> list[Curve]:
    """A closed chain moved outward by its own distance on each curve, corners mitred.

    Parameters
    ----------
    curves : sequence of Curve
        End to end and closed, either way round.
    distances_mm : sequence of float
        Outward where positive. Each corner lies where the offset curves cross; curves that are too short for that are
        extended along their tangents.

    Returns
    -------
    list of Curve
        As many as came in.

    Raises
    ------
    OffsetFailure
        If a curve bends too hard, moved neighbours do not meet, or the result crosses itself.
    """
    left = 1.0 if measure_outline_area_mm2(curves) > 0 else -1.0
    moved = [offset_curve(c, left * d, tolerance_mm=tolerance_mm) for c, d in zip(curves, distances_mm)]
    return meet_corners(curves, moved, reach_mm=12 * max(abs(d) for d in distances_mm) + 1.0)


def meet_corners(curves: Sequence[Curve], moved: Sequence[Curve], *, reach_mm: float) -> list[Curve]:
    """Offset curves, each cut where it crosses the next, or extended by up to reach_mm to meet it; of several crossings
    the one nearest the original corner.

    Parameters
    ----------
    curves, moved : sequence of Curve
        A closed chain, and the same curves moved.

    Raises
    ------
    OffsetFailure
    """
    count = len(moved)
    extended = [c.extend(reach_mm) for c in moved]
    first, last = [0.0] * count, [0.0] * count
    points = [c.end for c in curves]
    for k in range(count):
        following = (k + 1) % count
        corner = curves[k].end
        hits = cross_curves(extended[k], extended[following])
        if not hits:
            raise OffsetFailure("the moved edges do not meet at this corner", corner)
        u, v, point = min(hits, key=lambda hit: float(np.hypot(*(hit[2] - corner))))
        last[k], first[following], points[k] = u, v, point
    result = []
    for k in range(count):
        if last[k] - first[k] < 1e-6:
            raise OffsetFailure("nothing is left of this edge", extended[k].evaluate([first[k]])[0])
        cubics = np.array(extended[k].trim(first[k], last[k]).cubics)
        cubics[0, 0], cubics[-1, 3] = points[k - 1], points[k]
        result.append(Curve(cubics))
    crossing = find_outline_crossing(result)
    if crossing is not None:
        raise OffsetFailure("the moved outline would cross itself here", crossing)
    return result


def find_outline_crossing(curves: Sequence[Curve]) -> tuple[float, ...] | None:
    """The first place where a closed chain crosses itself, (x, y) mm, or None."""
    return find_self_crossing(flatten_outline(curves, tolerance_mm=0.02))


_MEET_MM = 1e-6
_FAR_MM = 1e7             # beyond any page


def part_closed(cubics: Cubics, *, low: float, high: float) -> list[Cubics]:
    """The parts of a closed curve that does not cross itself which lie between two places along x.

    Parameters
    ----------
    cubics : ndarray, shape (k, 4, 2), mm
        A chain that ends where it begins.
    low, high : float, mm

    Returns
    -------
    list of ndarray, shape (j, 4, 2)
        Each closed: pieces of the curve (split, not flattened) and straight strokes along the cuts.

    Examples
    --------
    >>> square = draw_polyline([(0, 0), (4, 0), (4, 2), (0, 2), (0, 0)])
    >>> [part[:, 0].tolist() for part in part_closed(square, low=1.0, high=9.0)]
    [[[1.0, 0.0], [4.0, 0.0], [4.0, 2.0], [1.0, 2.0]]]
    """
    parts = [np.asarray(cubics, float)]
    for at, side in ((low, 1), (high, -1)):
        parts = [piece for part in parts for piece in _keep_side(part, at, side)]
    return parts


def _keep_side(cubics, at, side):
    """The parts of a closed curve on one side of the line x = at: 1 for the greater x."""
    x = cubics[:, :, 0]
    if (side * (x - at) >= -_MEET_MM).all():
        return [cubics]
    edges = ((at, -_FAR_MM), (_FAR_MM, _FAR_MM)) if side > 0 else ((-_FAR_MM, -_FAR_MM), (at, _FAR_MM))
    chains = clip_strokes(cubics, *edges)
    if len(chains) > 1 and np.abs(chains[-1][-1, 3] - chains[0][0, 0]).max() <= _MEET_MM:
        chains = [np.concatenate([chains[-1], chains[0]]), *chains[1:-1]]
    # the curve does not cross itself, so every other stretch of the cutting line is inside it
    ends = sorted([(float(one[0, 0, 1]), k, 0) for k, one in enumerate(chains)]
                  + [(float(one[-1, 3, 1]), k, 1) for k, one in enumerate(chains)])
    partner = {}
    for one, other in zip(ends[::2], ends[1::2]):
        partner[one[1:]], partner[other[1:]] = other[1:], one[1:]
    parts, left = [], set(range(len(chains)))
    while left:
        first = k = min(left)
        loop = []
        while k in left:
            left.remove(k)
            loop.append(chains[k])
            after, _ = partner[k, 1]
            stroke = draw_polyline([chains[k][-1, 3], chains[after][0, 0]])
            stroke[-1, 3] = chains[after][0, 0]    # exactly the same number, so that the part is closed
            loop.append(stroke)
            k = after
        assert k == first
        parts.append(np.concatenate(loop))
    return parts
