"""Invented shapes the tests share, simple enough to check by hand. Lengths in mm, y down."""
from __future__ import annotations

import numpy as np

from plankcore.geometry.bezier import fit_cubics, hermite_to_cubics
from plankcore.geometry.curve import Curve, make_line
from plankcore.geometry.polyline import measure_distance_mm
from plankcore.model.plank import Edge, Plank, Trace


def draw_rectangle(width, height, *, left=0.0, top=0.0):
    """Four corners, clockwise as seen from the upper left."""
    return np.array([[left, top], [left + width, top], [left + width, top + height], [left, top + height]], float)


def draw_lines(points):
    """Cubics (n - 1, 4, 2) that are the straight strokes through points."""
    points = np.asarray(points, float)
    step = np.diff(points, axis=0)[:, None]
    return points[:-1, None] + step * (np.arange(4) / 3)[None, :, None]


def draw_trace(points, *, closed=False, label="shape", **values):
    """A Trace of straight strokes."""
    points = np.vstack([points, points[:1]]) if closed else np.asarray(points, float)
    return Trace(((draw_lines(points), closed),), label, **values)


def draw_graph(function, slope, low, high, *, tolerance_mm=1e-4):
    """Curve of y = function(x), x running from low to high (or back)."""
    def path(x, derivative):
        return np.stack([x, function(x)] if derivative == 0 else [np.ones_like(x), slope(x)], axis=1)
    return Curve(fit_cubics(path, low, high, tolerance_mm=tolerance_mm))


def make_plank(upper, lower, fore, aft, **names):
    """A Plank of four Curves: upper and lower from fore to aft, fore and aft from upper to lower."""
    return Plank({n: Edge(n, c) for n, c in zip(("upper", "lower", "fore", "aft"), (upper, lower, fore, aft))}, **names)


def make_straight_plank(*, length=1000.0, fore=100.0, aft=80.0, left=50.0, top=40.0, **names):
    """A tapering plank with straight edges, bow to the right, symmetric about a level baseline."""
    middle = top + max(fore, aft) / 2
    a, b = np.array([left + length, middle - fore / 2]), np.array([left, middle - aft / 2])
    c, d = np.array([left + length, middle + fore / 2]), np.array([left, middle + aft / 2])
    return make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), **names)


def make_arc(radius, first, last, *, count=24):
    """Arc about the origin from one angle to another, rad from x towards y; handles of 4/3 tan(a/4), true to 1e-7 of
    the radius.
    """
    a = np.linspace(first, last, count + 1)
    step = (last - first) / count
    slope = radius * 4 * np.tan(step / 4) / step
    return Curve(hermite_to_cubics(radius * np.stack([np.cos(a), np.sin(a)], 1),
                                   slope * np.stack([-np.sin(a), np.cos(a)], 1), a))


def make_chain(points):
    """Straight Curves round a polygon."""
    return [make_line(a, b) for a, b in zip(points, np.roll(points, -1, axis=0))]


SNY_MM = 60.0


def make_bowed_plank(*, length=1200.0, width=100.0, left=50.0, top=120.0, **names):
    """A plank of even depth whose edges are parabolas with a sny of 60 mm; ends square to the page, bow to the right.
    """
    def shape(y):
        return (lambda x: y - 4 * SNY_MM * (x - left) * (left + length - x) / length ** 2,
                lambda x: -4 * SNY_MM * (length + 2 * (left - x)) / length ** 2)
    upper, lower = (draw_graph(*shape(y), left + length, left) for y in (top, top + width))
    return make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end), **names)


def draw_outline(upper, lower, *, left, right, rake_fore=0.0, rake_aft=0.0, step=2.0):
    """Polygon between two graphs upper(x) and lower(x), clockwise from the upper left; each end leans by its rake, mm.
    """
    top = np.linspace(left, right, int((right - left) / step) + 1)
    low = np.linspace(right + rake_fore, left + rake_aft, int((right - left) / step) + 1)
    a, b = np.column_stack([top, upper(top)]), np.column_stack([low, lower(low)])
    count = int(np.hypot(*(b[0] - a[-1])) / step) + 1
    fore = a[-1] + (b[0] - a[-1]) * np.linspace(0, 1, count + 1)[1:-1, None]
    aft = b[-1] + (a[0] - b[-1]) * np.linspace(0, 1, count + 1)[1:-1, None]
    return np.vstack([a, fore, b, aft])


def turn(points, degrees, *, about=(0.0, 0.0)):
    """Points turned from x towards y."""
    a = np.radians(degrees)
    return (np.asarray(points, float) - about) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) + about


def measure_gap(found, truth):
    """Largest distance of points `found` from the polyline `truth`, mm."""
    return float(measure_distance_mm(found, truth).max())
