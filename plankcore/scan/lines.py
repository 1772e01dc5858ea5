"""Marks along a thick line: its inboard or outboard border or the middle between, at even steps or at given places.

A marker or pencil line is traced as a closed shape, long and slender; a line run all round the plank as one shape with
one hole. Each place is read from a short run of the border: a parabola over it gives the place, its direction and its
error.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.polyline import measure_arc_mm, measure_area_mm2, resample_polyline
from ..geometry.shape_fits import fit_bow
from ..geometry.small_shapes import split_slender
from ..geometry.traced_lines import find_turns, remove_spikes, resample_closed
from .edges import name_edges
from .kinds import Reading

if TYPE_CHECKING:
    from typing import Any

    from ..geometry.arrays import Point, Points
    from .shapes import TracedShape

__all__ = ["NoEdgeError", "Stroke", "open_line", "open_round", "read_line"]

STEP_MM = 1.0
WINDOW_MM = 10.0          # a place is read from this much border on each side, shorter than any wave of the wood
# a tick that touches the line: foot, least and greatest height, as for an outline
TICK_FOOT_MM, TICK_LEAST_MM, TICK_MOST_MM = 8.0, 3.0, 30.0
CORNER_DEG = 25.0
CORNER_WINDOW_MM = 15.0
KINK_DEG, KINK_WINDOW_MM = 40.0, 8.0         # a line that turns by the angle within twice the length is not an edge


class NoEdgeError(ValueError):
    """A line that cannot be an edge of a plank: key and numbers of a reason in words.py."""

    def __init__(self, key, *numbers):
        super().__init__(key)
        self.key, self.numbers = key, numbers


class Stroke:
    """One drawn line along one edge: its two borders (n, 2), identical if it has no width, and the tips of ticks found
    on them (k, 2)."""

    def __init__(self, borders, shape, ticks=(), edge=""):
        self.borders, self.shape, self.ticks, self.edge = borders, shape, list(ticks), edge or shape.edge

    @property
    def length_mm(self) -> float:
        """Length along it, ends left out."""
        return float(measure_arc_mm(self.borders[0])[-1])

    @property
    def middle(self) -> tuple[Points, Point]:
        """Points roughly along it, (9, 2), and the unit direction of its chord (2,)."""
        border = self.borders[0]
        chord = border[-1] - border[0]
        return border[np.linspace(0, len(border) - 1, 9).astype(int)], chord / max(np.hypot(*chord), 1e-9)


def open_line(shape: TracedShape, *, stroke_width_mm: float) -> Stroke:
    """A slender shape as a Stroke.

    stroke_width_mm : width assumed for a line drawn as a single stroke; its borders are half of that to each side.

    Raises
    ------
    NoEdgeError
        If it has a corner. ValueError if it is too short for its thickness.
    """
    step = min(STEP_MM, shape.length_mm / 24)
    if not shape.closed:
        line = resample_polyline(shape.outer, step_mm=step)
        _refuse_corner(line, step)
        if stroke_width_mm <= 0:
            return Stroke((line, line), shape)
        way = np.gradient(line, axis=0)
        square = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
        return Stroke((line + square * stroke_width_mm / 2, line - square * stroke_width_mm / 2), shape)
    even, step = resample_closed(shape.outer, step_mm=step)
    even, spikes = remove_spikes(even, step_mm=step, foot_mm=TICK_FOOT_MM, least_mm=TICK_LEAST_MM, most_mm=TICK_MOST_MM)
    borders = split_slender(even, thickness_mm=shape.thickness_mm, step_mm=step)
    for border in borders:
        _refuse_corner(border, step)
    return Stroke(borders, shape, [s.tip for s in spikes])


def _refuse_corner(line, step):
    """Refuse a line with a sharp turn, which no edge of a plank has: it is lettering, or two lines that touch."""
    window = min(KINK_WINDOW_MM, len(line) * step / 4)
    turns = find_turns(line, step_mm=step, window_mm=window, least_deg=KINK_DEG, closed=False) if len(line) > 8 else []
    if turns:
        raise NoEdgeError("corner", abs(turns[0][1]))


def open_round(shape: Any, *, forward: Any) -> Any:
    """A line all round the plank as four Strokes, each with its edge.

    Raises
    ------
    NoEdgeError
        If it does not have two corners at each end.
    PlankError
        If it does not have the shape of a plank.
    """
    loops, ticks = [], []
    for loop in (shape.outer, shape.holes[0]):
        even, step = resample_closed(loop, step_mm=STEP_MM)
        even, spikes = remove_spikes(even, step_mm=step, foot_mm=TICK_FOOT_MM, least_mm=TICK_LEAST_MM,
                                     most_mm=TICK_MOST_MM)
        ticks += [np.array(s.tip) for s in spikes]
        even, step = resample_closed(even, step_mm=STEP_MM)
        loops.append(name_edges(_split_at_corners(even, step), forward=forward))
    band = abs(measure_area_mm2(shape.outer)) - abs(measure_area_mm2(shape.holes[0]))
    thickness = band / max(sum(measure_arc_mm(s)[-1] for s in loops[0].values()), 1.0)
    drop = int(np.ceil(1.5 * thickness + WINDOW_MM / 2))
    strokes = []
    for name in loops[0]:
        borders = [loop[name] for loop in loops]
        tips = [t for t in ticks if _is_nearest(t, name, loops[0])]
        strokes.append(Stroke(tuple(b[drop:-drop] for b in borders), shape, tips, name))
    return [s for s in strokes if min(len(b) for b in s.borders) >= 12]


def _is_nearest(point, name, sections):
    return name == min(sections, key=lambda n: float(np.min(np.sum((sections[n] - point) ** 2, axis=1))))


def _split_at_corners(even, step):
    """Four sections between the strongest corners, two at each end of the loop."""
    turning = np.sign(measure_area_mm2(even))
    found = [(k, abs(a)) for k, a in find_turns(even, step_mm=step, window_mm=CORNER_WINDOW_MM, least_deg=CORNER_DEG)
             if a * turning > 0]
    away = even - even.mean(axis=0)
    along = away @ np.linalg.svd(away[::10], full_matrices=False)[2][0]
    corners = []
    for sign in (1, -1):
        here = [(k, a) for k, a in found if sign * along[k] > 0.5 * np.max(sign * along)]
        corners += [k for k, _ in sorted(here, key=lambda row: -row[1])[:2]]
    if len(corners) < 4:
        raise NoEdgeError("few-corners", len(corners))
    corners = sorted(corners)
    return [even[np.arange(a, (b if b > a else b + len(even)) + 1) % len(even)]
            for a, b in zip(corners, corners[1:] + corners[:1])]


def read_line(stroke: Stroke, outboard: Point, *, line_edge: str, outward_mm: float, spacing_mm: float,
              places: Any = None) -> list[Reading]:
    """Readings along a stroke.

    Parameters
    ----------
    stroke : Stroke
    outboard : (2,)
        Roughly outboard, on the page.
    line_edge : str
        'inboard', 'centre' or 'outboard': which border is meant, or the middle between.
    outward_mm : float
        Distance of the true edge outboard of it: the width of a block, or 0.
    spacing_mm : float
        Between readings, where no places are given; a line shorter than this gives one reading, at its middle.
    places : callable, optional
        places(points) gives the indices of the border's points (n, 2) to read at, and a label for each.

    Returns
    -------
    list of Reading
    """
    outboard = np.asarray(outboard, float)
    first, second = stroke.borders
    if first is not second:
        near = second[np.argmin(np.sum((second - first[len(first) // 2]) ** 2, axis=1))]
        if (first[len(first) // 2] - near) @ outboard > 0:
            first, second = second, first
    inner, outer = first, second                      # `first` is the inboard border by now
    base = outer if line_edge == "outboard" else inner
    arc = measure_arc_mm(base)
    step = arc[-1] / (len(base) - 1)
    half = max(min(round(WINDOW_MM / step), (len(base) - 1) // 2), 2)
    if places is None:
        room = arc[-1] - 2 * half * step
        count = int(room // spacing_mm) + 1 if room > 0 else 1
        at = (arc[-1] - (count - 1) * spacing_mm) / 2 + spacing_mm * np.arange(count)
        chosen = [(int(k), "") for k in np.round(at / step)]
    else:
        chosen = [(k, name) for k, name in places(base) if 2 <= k < len(base) - 2]
    readings = []
    for k, name in chosen:
        bow = _fit_at(base, k, half)
        normal = bow.normal if bow.normal @ outboard > 0 else -bow.normal
        point, error = bow.point, bow.offset_error
        if line_edge == "centre" and inner is not outer:
            other = _fit_at(outer, int(np.argmin(np.sum((outer - point) ** 2, axis=1))), half)
            gap = (other.point - point) @ normal
            point, error = point + normal * gap / 2, float(np.hypot(error, other.offset_error)) / 2
        along = np.array([-normal[1], normal[0]])
        covariance = error ** 2 * (np.outer(normal, normal) + np.outer(along, along))
        shape = stroke.shape
        readings.append(Reading(point + outward_mm * normal, covariance, outboard=normal,
                                kind="block" if outward_mm else "line",
                                notes=(), doubtful=False,
                                edge=stroke.edge, station=name or shape.station, error_mm=shape.error_mm,
                                shapes=(shape.label,)))
    return readings


def _fit_at(border, k, half):
    """Parabola over a stretch of a border with point k in its middle; a shorter stretch near an end."""
    half = max(min(half, k, len(border) - 1 - k), 2)
    first = int(np.clip(k - half, 0, len(border) - 2 * half - 1))
    return fit_bow(border[first:first + 2 * half + 1])
