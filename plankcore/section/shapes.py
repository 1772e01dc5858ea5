"""The section of a plank on a round or a hollow frame, exact: concentric arcs inside and outside, straight edges at
their bevels.

Axes: x along the straight line between the inside corners, upper corner at -c/2, lower at +c/2; y outward. With k the
curvature of the frame (to the inside of the plank, > 0 round, < 0 hollow), sin a = k c/2 and t the thickness, the
inside is the circle k (x^2 + y^2 - c^2/4) + 2 y cos a = 0 through both corners and the outside k (x^2 + y^2 - c^2/4 -
t^2) + 2 (y cos a - t) = 0; both hold for flat frames too. An edge leaves its corner at the bevel b from square; its
length q solves k q^2 + 2 q cos(a - b) = t (2 + k t). Radial edges have b = a and q = t. All numbers may be arrays of
one shape.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.curve import make_line

if TYPE_CHECKING:
    from typing import Mapping

    from ..geometry.arrays import Array, Cubics, Numbers, Values

__all__ = [
    "EDGES",
    "SectionShape",
    "draw_profile",
    "find_chord_mm",
    "find_curvature_per_mm",
    "find_fault",
    "find_finished_mm",
    "shape_from_outside",
    "shape_section",
]

EDGES = ("upper", "lower")
_LEAST_OUTSIDE_MM = 1.0       # a section with a narrower outside face is refused
# least ratio of the radius to half the width: at 1 the plank would span a half circle
_LEAST_RADIUS = 1.02
_ARC_RAD = 0.4                # angle of one cubic's arc, which is then accurate to 1e-7 of the radius


@dataclass(frozen=True, eq=False, repr=False)
class SectionShape:
    """Numbers of one section or many: arrays of one shape, mm; angles in rad.

    half_rad : a, the angle from the middle of the frame's arc to its corner. bevels_rad, reaches_mm, growths_mm,
    rises_mm : by edge, the bevel from square, the length of the edge in section, how far its outside corner stands
    outside the inside one, and how high above it.
    hollow_mm, rounding_mm, stock_mm : as in Section. crown_mm : height of the middle of the inside above its corners,
    signed.
    """

    curvature_per_mm: Numbers
    thickness_mm: Numbers
    inside_mm: Numbers
    outside_mm: Numbers
    half_rad: Numbers
    crown_mm: Numbers
    hollow_mm: Numbers
    rounding_mm: Numbers
    stock_mm: Numbers
    bevels_rad: Mapping[str, Numbers]
    reaches_mm: Mapping[str, Numbers]
    growths_mm: Mapping[str, Numbers]
    rises_mm: Mapping[str, Numbers]


def find_curvature_per_mm(depth_mm: Numbers, width_mm: Numbers) -> Numbers:
    """Curvature of the arc that lies depth_mm under a straightedge of width_mm, signed as the depth: 1/R, R = w^2/(8 s)
    + s/2.
    """
    return 8 * depth_mm / (width_mm ** 2 + 4 * depth_mm ** 2)


def find_chord_mm(width_mm: Numbers, curvature_per_mm: Numbers, *, pattern_mm: float) -> Numbers:
    """Straight width of a face from the width of a pattern that was bent round it.

    The pattern lies on the outer side of the face and keeps its length half-way through its own thickness p, so that g
    = (R + p/2) 2a and the straight width is 2 R sin a; R is that of the face, negative where it is hollow.
    """
    longer = 1 + curvature_per_mm * pattern_mm / 2
    half = width_mm * curvature_per_mm / (2 * longer)
    return width_mm / longer * np.sinc(half / np.pi)


def shape_section(curvature_per_mm: Numbers, inside_mm: Numbers, thickness_mm: Numbers, *,
                  bevels_rad: Mapping[str, Numbers | None], seams_rad: Mapping[str, float]) -> SectionShape:
    """A section from the straight width of its inside.

    Parameters
    ----------
    curvature_per_mm, inside_mm, thickness_mm : float or ndarray
    bevels_rad : dict
        Edge to the tight bevel from square, > 0 where the outside is wider, or None for a radial edge.
    seams_rad : dict
        Edge to the reduction of its bevel for the seam.

    Returns
    -------
    SectionShape
        NaN where no such section is possible; `find_fault` gives the reason.
    """
    k, c, t = np.broadcast_arrays(*(np.asarray(v, float) for v in (curvature_per_mm, inside_mm, thickness_mm)))
    with np.errstate(invalid="ignore", divide="ignore"):
        half = np.arcsin(k * c / 2)
        crown = k * c ** 2 / (4 * (1 + np.cos(half)))
        bevels, reaches, growths, rises = {}, {}, {}, {}
        for edge in EDGES:
            told = bevels_rad[edge]
            tight = half if told is None else told
            bevel = tight - seams_rad[edge] + np.zeros(k.shape)
            across, last = np.cos(half - bevel), t * (2 + k * t)
            reach = last / (across + np.sqrt(across ** 2 + k * last))
            bevels[edge], reaches[edge] = bevel, reach
            growths[edge], rises[edge] = reach * np.sin(bevel), reach * np.cos(bevel)
        outside = np.hypot(c + growths["upper"] + growths["lower"], rises["upper"] - rises["lower"])
        higher, lower = np.maximum(rises["upper"], rises["lower"]), np.minimum(rises["upper"], rises["lower"])
        top = np.where(k > 0, t + crown, higher)
        stock = top - np.minimum(crown, 0.0)
        hollow = np.where(k > 0, crown, np.maximum(top - t - crown, 0.0))
        rounding = np.where(k > 0, top - lower, np.maximum(-crown, higher - lower))
    return SectionShape(k, t, inside_mm=c, outside_mm=outside, half_rad=half, crown_mm=crown, hollow_mm=hollow,
                        rounding_mm=rounding, stock_mm=stock, bevels_rad=bevels, reaches_mm=reaches,
                        growths_mm=growths, rises_mm=rises)


def shape_from_outside(curvature_per_mm: Values, outside_mm: Values, thickness_mm: float, *,
                       bevels_rad: Mapping[str, Numbers | None], seams_rad: Mapping[str, float]) -> SectionShape:
    """A section from the straight width of its outside: the inside width is found by Newton's method. Otherwise as
    `shape_section`."""
    def shape(inside):
        return shape_section(curvature_per_mm, inside, thickness_mm, bevels_rad=bevels_rad, seams_rad=seams_rad)
    outside = np.asarray(outside_mm, float)
    with np.errstate(invalid="ignore", divide="ignore"):
        inside = outside / (1 + curvature_per_mm * thickness_mm)
        for _ in range(8):
            here, beside = shape(inside).outside_mm, shape(inside + 1e-3).outside_mm
            inside = inside - (here - outside) / ((beside - here) / 1e-3)
    return shape(inside)


def find_finished_mm(shape: SectionShape, stock_mm: float) -> Array:
    """Thickness left when such a section, with the same bevels, is made of flat stock of stock_mm, found by bisection;
    0 where nothing is left."""
    none = dict.fromkeys(EDGES, 0.0)
    low, high = np.zeros(shape.stock_mm.shape), np.full(shape.stock_mm.shape, float(stock_mm))
    for _ in range(50):
        middle = (low + high) / 2
        fits = shape_section(shape.curvature_per_mm, shape.inside_mm, middle, bevels_rad=shape.bevels_rad,
                             seams_rad=none).stock_mm <= stock_mm
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    return low


def find_fault(shape: SectionShape) -> tuple[int, str] | None:
    """(index, sentence) of the first section that is impossible, or None."""
    k, c, t = (np.atleast_1d(v) for v in (shape.curvature_per_mm, shape.inside_mm, shape.thickness_mm))
    for i in range(len(k)):
        radius = 1 / k[i] if k[i] else np.inf
        if not 1 + k[i] * t[i] > 1e-3:
            return i, "a plank of %.1f mm does not go into a hollow frame of radius %.1f mm" % (t[i], -radius)
        if not abs(k[i]) * c[i] * _LEAST_RADIUS < 2:
            return i, "the radius of %.1f mm is no more than half the width there" % abs(radius)
        bevel = {e: np.degrees(np.atleast_1d(shape.bevels_rad[e])[i]) for e in EDGES}
        reach = {e: np.atleast_1d(shape.reaches_mm[e])[i] for e in EDGES}
        for e in EDGES:
            if not (np.isfinite(reach[e]) and reach[e] > 0):
                return i, "an edge planed %.1f degrees from square does not come out at the outside face (%s edge)" % (
                    bevel[e], e)
        lower = min(np.atleast_1d(shape.rises_mm[e])[i] for e in EDGES)
        apart = c[i] + lower * sum(np.tan(np.radians(bevel[e])) for e in EDGES)
        wide = c[i] + sum(np.atleast_1d(shape.growths_mm[e])[i] for e in EDGES)
        if not min(apart, wide) > _LEAST_OUTSIDE_MM:
            return (i, "the edges, planed %.1f and %.1f degrees from square, meet before the outside face, %.1f mm "
                       "wide inside" % (bevel["upper"], bevel["lower"], c[i]))
    return None


def _draw_arc(first, last, half_rad, curvature):
    """Cubics (n, 4, 2) of an arc about the sections' centre, from one point to another; straight where the curvature is
    zero."""
    way = last - first

    def find_direction(point):
        along = np.array([curvature * point[1] + np.cos(half_rad), -curvature * point[0]])
        return along / np.hypot(*along) * (1 if way[0] >= 0 else -1)
    turn = float(np.arccos(np.clip(find_direction(first) @ find_direction(last), -1, 1)))
    count = max(int(np.ceil(turn / _ARC_RAD)), 1)
    points = [first, last]
    if count > 1:
        centre = np.array([0.0, -np.cos(half_rad) / curvature])
        begin = np.arctan2(*(first - centre)[::-1])
        step = (np.arctan2(*(last - centre)[::-1]) - begin + np.pi) % (2 * np.pi) - np.pi
        at = begin + step * np.arange(count + 1) / count
        points = [first, *(centre + np.hypot(*(first - centre)) * np.stack([np.cos(at), np.sin(at)], 1)[1:-1]), last]
    pieces = []
    for a, b in zip(points[:-1], points[1:]):
        handle = np.hypot(*(b - a)) / (3 * np.cos(turn / count / 4) ** 2)
        pieces.append([a, a + handle * find_direction(a), b - handle * find_direction(b), b])
    return np.array(pieces)


def draw_profile(shape: SectionShape) -> tuple[Cubics, int]:
    """The outline of one section.

    Parameters
    ----------
    shape : SectionShape
        Of single numbers.

    Returns
    -------
    cubics : ndarray, shape (n, 4, 2), mm
        Closed: the inside from the upper corner to the lower, the lower edge outward, the outside back, the upper edge
        inward; the upper inside corner lies at (0, 0).
    inside_pieces : int
        How many of them are the inside.
    """
    k, half = float(shape.curvature_per_mm), float(shape.half_rad)
    middle = float(shape.inside_mm) / 2
    corner = {"upper": np.array([-middle, 0.0]), "lower": np.array([middle, 0.0])}
    out = {e: corner[e] + s * np.array([float(shape.growths_mm[e]), 0.0]) + np.array([0.0, float(shape.rises_mm[e])])
           for e, s in (("upper", -1), ("lower", 1))}
    inside = _draw_arc(corner["upper"], corner["lower"], half, k)
    outside = _draw_arc(out["lower"], out["upper"], half, k)
    cubics = np.concatenate([inside, make_line(corner["lower"], out["lower"]).cubics, outside,
                             make_line(out["upper"], corner["upper"]).cubics])
    return cubics + np.array([middle, 0.0]), len(inside)
