"""Axes along the curved line midway between two edges: coordinates of places along and off it, and curves carried along
when that line is stretched without changing how much it turns and distances from it are changed.

A place has two coordinates: x of the nearest point of the middle line, along the straight axis over which that line is
a graph; and v, its distance from the middle line, positive to the left.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from . import arrays
from .bezier import fit_cubics, hermite_to_cubics
from .curve import Curve, find_gauss_rule
from .outward import join_cuts, measure_slope
from .polyline import dot_rows, turn_left

if TYPE_CHECKING:
    from typing import Callable, Sequence

    from .arrays import Point, Points, Values

__all__ = ["Ribbon", "carry_curve", "find_places_at", "lay_ribbon"]

# spacing of the middle line's nodes: for the bends of planks a cubic between them is accurate to 1e-6 mm
_STEP_MM = 5.0
_PROBE_MM = 1e-2          # step for numerical slopes across: far larger than rounding errors, far smaller than any wave
_NODES, _WEIGHTS = find_gauss_rule(4)


@dataclass(frozen=True, eq=False, repr=False)
class Ribbon:
    """A middle line in pieces of equal step in x, from first_mm on; start, along : the straight axis that x is measured
    on."""

    curve: Curve
    first_mm: float
    step_mm: float
    start: Point
    along: Point

    @property
    def nodes_mm(self) -> Values:
        """x of all nodes."""
        return self.first_mm + self.step_mm * np.arange(len(self.curve.cubics) + 1)

    def evaluate(self, x: Values, *, derivative: int = 0) -> Points:
        """Points of the middle line, or derivatives by x, (n, 2)."""
        u = (np.asarray(x, float) - self.first_mm) / self.step_mm
        return self.curve.evaluate(u, derivative=derivative) / self.step_mm ** derivative

    def evaluate_three(self, x: Values) -> tuple[Points, Points, Points]:
        """Points of the middle line, first and second derivatives by x: three arrays (n, 2)."""
        points, first, second = self.curve.evaluate_three((np.asarray(x, float) - self.first_mm) / self.step_mm)
        return points, first / self.step_mm, second / self.step_mm ** 2

    def find_frames(self, x: Values) -> tuple[Points, Points, Values, Values]:
        """Points (n, 2), unit directions (n, 2), speed by x (n,), and turning by x (n,), from x towards y."""
        points, along, bend = self.evaluate_three(x)
        speed = np.hypot(along[:, 0], along[:, 1])
        return points, along / speed[:, None], speed, (
            along[:, 0] * bend[:, 1] - along[:, 1] * bend[:, 0]) / speed ** 2

    def read(self, points: Points) -> tuple[Values, Values]:
        """x and v of points (n, 2).

        Raises
        ------
        ValueError
            For points beyond the ends of the middle line, or farther from it than its radius of curvature.
        """
        points = np.asarray(points, float)
        low, high = self.first_mm, self.first_mm + self.step_mm * len(self.curve.cubics)
        x = np.minimum(np.maximum((points - self.start) @ self.along, low), high)
        for _ in range(20):
            middle, way, bend = self.evaluate_three(x)
            off = points - middle
            slope = dot_rows(way, way) - dot_rows(off, bend)
            step = dot_rows(off, way) / slope
            x = np.minimum(np.maximum(x + step, low), high)
            if np.abs(step).max() < 1e-10:
                break
        else:
            raise ValueError("a point lies beyond the ribbon's ends")
        if (slope <= 0).any():
            raise ValueError("a point lies beyond the ribbon's centre of bend")
        middle, way, _, _ = self.find_frames(x)
        return x, dot_rows(points - middle, turn_left(way))

    def place(self, x: Values, v: Values) -> Points:
        """Points (n, 2) at x and v."""
        middle, way, _, _ = self.find_frames(x)
        return middle + np.asarray(v, float)[:, None] * turn_left(way)

    def measure_offsets(self, curve: Curve) -> Values:
        """v at each node of a curve that runs along the ribbon; where it is too short it is extended along its
        tangents; (n,)."""
        x = self.nodes_mm
        longer = curve.extend(float(np.ptp(x)))
        u = np.linspace(0, len(longer.cubics), 24 * len(longer.cubics) + 1)
        along = (longer.evaluate(u) - self.start) @ self.along
        order = np.argsort(along, kind="stable")
        u = np.interp(x, along[order], u[order])
        middle, way, _, _ = self.find_frames(x)
        for _ in range(12):
            off, slope = np.sum((longer.evaluate(u) - middle) * way,
                                axis=1), np.sum(longer.evaluate(u, derivative=1) * way, axis=1)
            u = np.clip(u - off / slope, 0, len(longer.cubics))
        return np.sum((longer.evaluate(u) - middle) * turn_left(way), axis=1)

    def measure_length_mm(self, first: float, last: float) -> float:
        """Length of the middle line between two x, mm."""
        piece = self.curve.trim((first - self.first_mm) / self.step_mm, (last - self.first_mm) / self.step_mm)
        return piece.measure_length_mm()

    def stretch(self, strain: Callable[..., Values], *, about: float) -> Ribbon:
        """The ribbon with its middle line lengthened everywhere by the share strain(x), turning as much between two
        places as before. Places keep their x, and the point at x = about does not move. This is exact for a strip on a
        cone or a cylinder that is offset outward."""
        x = self.nodes_mm
        at = (x[:-1, None] + self.step_mm * _NODES).ravel()
        growth = (np.asarray(strain(at), float)[:, None] * self.evaluate(at, derivative=1)).reshape(len(x) - 1, -1, 2)
        moved = np.vstack([[0.0, 0.0], np.cumsum(self.step_mm * np.einsum("ijk,j->ik", growth, _WEIGHTS), axis=0)])
        slopes = (1 + np.asarray(strain(x), float))[:, None] * self.evaluate(x, derivative=1)
        still = np.array([np.interp(about, x, moved[:, k]) for k in (0, 1)])
        return Ribbon(Curve(hermite_to_cubics(self.evaluate(x) + moved - still, slopes, x)), self.first_mm,
                      step_mm=self.step_mm, start=self.start, along=self.along)


def lay_ribbon(first: Curve, second: Curve, *, start: Point, along: Point, reach: Sequence[float]) -> Ribbon:
    """The ribbon whose middle line lies, at each x, half-way between two curves that are graphs over a straight axis.

    Parameters
    ----------
    first, second : Curve
        Where one is shorter than the other it is extended along its tangents.
    start, along : ndarray, shape (2,)
        The axis: its origin and unit direction.
    reach : tuple of float
        Least and greatest x wanted.

    Raises
    ------
    ValueError
        If a curve turns back on itself along the axis.
    """
    low, high = reach
    count = max(int(np.ceil((high - low) / _STEP_MM)), 2)
    x = np.linspace(low, high, count + 1)
    y, slope = np.mean([_read_graph(c.extend(high - low), start, along, x) for c in (first, second)], axis=0)
    across = np.array([-along[1], along[0]])
    points = start + x[:, None] * along + y[:, None] * across
    slopes = along + slope[:, None] * across
    return Ribbon(Curve(hermite_to_cubics(points, slopes, x)), low, step_mm=(high - low) / count,
                  start=np.asarray(start, float),
                  along=np.asarray(along, float))


def _read_graph(curve, start, along, x):
    """y and dy/dx at x of a curve as a graph over an axis; y points a quarter turn clockwise from the axis on a page
    with y down."""
    across = np.array([-along[1], along[0]])
    u = np.linspace(0, len(curve.cubics), 24 * len(curve.cubics) + 1)
    dense = (curve.evaluate(u) - start) @ along
    dense, u = (dense, u) if dense[-1] > dense[0] else (dense[::-1], u[::-1])
    if (np.diff(dense) <= 0).any():
        raise ValueError("the edge turns back on itself")
    at = np.interp(x, dense, u)
    for _ in range(8):
        at = np.clip(at - ((curve.evaluate(at) - start) @ along - x) / (curve.evaluate(at, derivative=1) @ along), 0,
                     len(curve.cubics))
    way = curve.evaluate(at, derivative=1)
    return np.stack([(curve.evaluate(at) - start) @ across, (way @ across) / (way @ along)])


def find_places_at(curve: Curve, ribbon: Ribbon, values: Sequence[float]) -> list[float]:
    """Places u, sorted, where a curve passes the given x of a ribbon."""
    u = np.linspace(0, len(curve.cubics), 16 * len(curve.cubics) + 1)
    x = ribbon.read(curve.evaluate(u))[0]
    off = x[None] - np.asarray(values, float)[:, None]
    which, at = np.nonzero(off[:, :-1] * off[:, 1:] < 0)
    if not len(at):
        return []
    low, high, below, above = u[at], u[at + 1], off[which, at], off[which, at + 1]
    for _ in range(12):
        # regula falsi: within one chord x is nearly linear
        middle = low - below * (high - low) / (above - below)
        here = ribbon.read(curve.evaluate(middle))[0] - np.asarray(values, float)[which]
        same = here * below > 0
        low, below, high, above = np.where(same, middle, low), np.where(same, here, below), np.where(
            same, high, middle), np.where(same, above, here)
        if np.abs(here).max() < 1e-9:
            break
    return sorted(float(v) for v in middle)


def carry_curve(curve: Curve, source: Ribbon, target: Ribbon, *, across: Callable[..., Values],
                breaks: Sequence[float] = (), tolerance_mm: float = arrays.FIT_MM) -> Curve:
    """A curve carried from one ribbon to another: from (x, v) on the first to (x, across(x, v)) on the second.

    Parameters
    ----------
    source, target : Ribbon
        The target is the source stretched.
    across : callable
        across(x, v) gives the new distances off the middle line, mm (n,), smooth between breaks.
    breaks : sequence of float
        x where `across` or the stretching has a kink.
    """
    cuts = join_cuts(len(curve.cubics), find_places_at(curve, source, breaks))
    parts = []
    for first, last in zip(cuts[:-1], cuts[1:]):
        inside = np.nextafter(last, first)
        ends = sorted(source.read(curve.evaluate([first, inside]))[0])

        def path(u, derivative):
            u = np.clip(u, first, inside)
            points = curve.evaluate(u)
            x, v = source.read(points)
            middle, way, _, _ = source.find_frames(x)
            there, heading, speed, turning = target.find_frames(x)
            off, left = np.asarray(across(x, v), float), turn_left(heading)
            if derivative == 0:
                # written as a difference, so that where nothing changes the points stay exactly the same
                return points + (there - middle) + (off[:, None] * left - v[:, None] * turn_left(way))
            run, bend, step = source.evaluate(x, derivative=1), source.evaluate(x, derivative=2), curve.evaluate(
                u, derivative=1)
            x_u = dot_rows(step, run) / (dot_rows(run, run) - dot_rows(points - middle, bend))
            v_u = dot_rows(step, turn_left(way))
            # numerical slopes of `across`, evaluated only between the breaks
            by_x = measure_slope(lambda at: across(at, v), x, ends[0],
                                 ends[1]) if ends[1] - ends[0] > 1e-6 else np.zeros(len(x))
            by_v = (np.asarray(across(x, v + _PROBE_MM), float) - np.asarray(across(x, v - _PROBE_MM), float)) / (
                2 * _PROBE_MM)
            return ((speed + off * turning) * x_u)[:, None] * heading + (by_x * x_u + by_v * v_u)[:, None] * left
        parts.append(fit_cubics(path, float(first), float(inside), tolerance_mm=tolerance_mm))
    cubics = np.concatenate(parts)
    cubics[1:, 0] = cubics[:-1, 3]
    return Curve(cubics)
