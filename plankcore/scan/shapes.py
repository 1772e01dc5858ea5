"""Traced runs gathered into shapes, and what each may be: tag, line, arc, or nothing to read.

A tracer gives all it sees as one object of many runs, and a thing drawn with a border as two runs, one in the other.
A *shape* is a closed run with the runs that lie directly in it (its *holes*), or one open run. Specks, letters and
grain are recognised by size and slenderness alone; every rule gives its reason.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SelectionError
from ..geometry import arrays
from ..geometry.arrays import find_median
from ..geometry.polyline import contains_points, measure_arc_mm, measure_area_mm2
from ..geometry.small_shapes import Rectangle, find_rectangle, find_thickness_mm
from ..geometry.strokes import flatten_all
from ..geometry.traced_lines import resample_closed
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Point, Points
    from ..model.plank import Trace
    from ..model.scan import Unread

__all__ = ["KINDS", "LETTER_MM", "TracedShape", "gather_shapes", "judge_shape", "judge_tags"]

KINDS = ("auto", "tag", "line", "block", "arc")
RING_SHARE = 0.5  # if a hole is at least this share of its shape, the shape is a ring: something drawn by its border
SLENDER = 5.0             # a line is at least this many times as long as thick
UNFOLDED = 0.6  # and its ends are at least this share of its length apart; those of a half circle are 2/pi apart
LINE_MOST_MM = 8.0        # and no thicker than this; a marker pen is 2 to 6 (common practice, no source)
LINE_LEAST_MM = 0.3       # anything thinner is grain or a scratch; a sharp pencil is 0.5 (common practice, no source)
TAG_WIDTH_MM = 8.0        # least width of a tag
TAG_LONGEST_MM = 250.0    # greatest length of a tag
TAG_FILL = 0.7            # a tag fills at least this share of the smallest rectangle round it
CLOSE_GAP_MM = 0.5        # a run counts as closed if its ends are nearer than this
DEEPEST = 60              # most levels of loops within loops; a printed tag on a framed sheet has four
LETTER_MM = 30.0          # shapes smaller than this that are nothing else are taken for lettering
TOUCHING = 1.6            # a tag this many times as large as the usual one is two tags that touch
DWARF = 0.4               # one smaller than this share of the usual one is something else
CIRCLE_FILL, CIRCLE_EVEN = (0.75, 0.83), 0.93     # a circle fills pi/4 of its square, and is as wide as long


@dataclass(frozen=True, eq=False, repr=False)
class TracedShape:
    """One traced shape, mm. Costly properties are computed only when needed, since most shapes of a trace are letters
    and specks.

    drawn : ndarray, shape (n, 2)
        The points of its run.
    drawn_holes : tuple of ndarray
        Those of the runs that lie directly in it.
    closed : bool
    low, high : (2,), the least and greatest x and y of its points.
    """

    drawn: Points
    drawn_holes: tuple[Points, ...]
    closed: bool
    low: Point
    high: Point
    label: str
    edge: str = ""
    station: str = ""
    error_mm: float = 0.0
    told: str = ""

    @cached_property
    def _even(self) -> tuple[Points, float]:
        step = float(np.clip(measure_arc_mm(self.drawn)[-1] / 800, 0.25, 1.0))
        return resample_closed(self.drawn, step_mm=step) if self.closed else (self.drawn, step)

    @property
    def outer(self) -> Points:
        """Its outline evenly spaced by step_mm and not closed up, or the points of an open run."""
        return self._even[0]

    @property
    def step_mm(self) -> float:
        """Spacing of the outline's points."""
        return self._even[1]

    @cached_property
    def holes(self) -> tuple[Points, ...]:
        """Outlines of its holes, evenly spaced."""
        return tuple(resample_closed(h, step_mm=self.step_mm)[0] for h in self.drawn_holes)

    @cached_property
    def box(self) -> Rectangle:
        """The smallest rectangle round it."""
        return find_rectangle(self.outer)

    @cached_property
    def area_mm2(self) -> float:
        """Area of the outline, holes filled; 0 for an open run."""
        return abs(measure_area_mm2(self.outer)) if self.closed else 0.0

    @cached_property
    def _half_round_mm(self) -> float:
        return float(measure_arc_mm(np.vstack([self.outer, self.outer[:1]]))[-1] / 2)

    @cached_property
    def thickness_mm(self) -> float:
        """Thickness, as if it were slender; 0 for an open run."""
        return find_thickness_mm(self._half_round_mm, self.area_mm2) if self.closed else 0.0

    @cached_property
    def length_mm(self) -> float:
        """Length along its middle."""
        return self._half_round_mm - self.thickness_mm if self.closed else float(measure_arc_mm(self.drawn)[-1])

    @property
    def most_mm(self) -> float:
        """Diagonal of its bounding box: no two of its points are farther apart."""
        return float(np.hypot(*(self.high - self.low)))

    @property
    def where(self) -> tuple[float, float]:
        """Its middle, (x, y) mm."""
        return (float(self.box.centre[0]), float(self.box.centre[1]))

    @property
    def about(self) -> tuple[float, float]:
        """The middle of its bounding box, (x, y) mm."""
        x, y = (self.low + self.high) / 2
        return (float(x), float(y))

    @cached_property
    def is_ring(self) -> bool:
        """Whether a hole takes up most of it."""
        return bool(self.drawn_holes) and abs(measure_area_mm2(self.holes[0])) >= RING_SHARE * self.area_mm2

    @property
    def fill(self) -> float:
        """Its share of the smallest rectangle round it."""
        return self.area_mm2 / max(self.box.length * self.box.width, 1e-9)

    @property
    def is_slender(self) -> bool:
        """Whether it is a line by its proportions."""
        return not self.closed or (not self.is_ring and self.length_mm >= SLENDER * self.thickness_mm)


def gather_shapes(traces: Sequence[Trace]) -> list[TracedShape]:
    """All shapes in traces.

    Parameters
    ----------
    traces : sequence of Trace

    Returns
    -------
    list of TracedShape
    """
    loops, shapes = [], []
    for points, low, high, closed, trace in _flatten_runs(traces):
        if closed or (len(points) > 3 and np.hypot(*(points[-1] - points[0])) <= CLOSE_GAP_MM):
            area = abs(measure_area_mm2(points))
            if area > 0:
                loops.append((area, points, low, high, trace))
        else:
            shapes.append(_make_shape(points, (), low, high=high, trace=trace, closed=False))
    loops.sort(key=lambda row: -row[0])
    lows, highs = (np.array([row[k] for row in loops]).reshape(-1, 2) for k in (2, 3))
    depth: list[int] = []
    holes: list[list[Points]] = [[] for _ in loops]
    for k, (_, points, low, high, _) in enumerate(loops):
        around = np.flatnonzero(np.all((lows[:k] <= low) & (highs[:k] >= high), axis=1))
        if len(around) > DEEPEST:
            raise SelectionError("More than %d loops lie one within the other." % DEEPEST,
                                 "Select the traced tags, lines or arcs alone.", tuple(map(float, points[0])))
        around_it = [int(j) for j in around if contains_points(loops[j][1], points[:1])[0]]
        depth.append(len(around_it))
        if depth[k] % 2 and around_it:
            holes[max(around_it, key=lambda j: depth[j])].append(points)
    for k, (_, points, low, high, trace) in enumerate(loops):
        if depth[k] % 2 == 0:
            shapes.append(_make_shape(points, tuple(holes[k]), low, high=high, trace=trace, closed=True))
    return shapes


def _flatten_runs(traces):
    """Points of each run, their least and greatest x and y, whether it is closed, and its trace."""
    runs = [(cubics, closed, trace) for trace in traces for cubics, closed in trace.runs]
    if not runs:
        return
    starts = np.cumsum([0] + [len(cubics) for cubics, _, _ in runs])
    begins = np.zeros(starts[-1], bool)
    begins[starts[:-1]] = True
    points, firsts = flatten_all(np.concatenate([cubics for cubics, _, _ in runs]), begins,
                                 tolerance_mm=arrays.CURVE_MM)
    lows, highs = np.minimum.reduceat(points, firsts), np.maximum.reduceat(points, firsts)
    for some, low, high, (_, closed, trace) in zip(np.split(points, firsts[1:]), lows, highs, runs):
        yield some, low, high, closed, trace


def _make_shape(points, holes, low, *, high, trace, closed):
    return TracedShape(points, holes, closed=closed, low=low, high=high, label=trace.label, edge=trace.edge,
                       station=trace.station, error_mm=trace.error_mm, told=trace.told)


def judge_shape(shape: TracedShape, *, kind: str, smallest_mm: float, shortest_line_mm: float, shortest_tag_mm: float,
                radius_mm: float = 0.0) -> Unread | str:
    """What a shape may be.

    Parameters
    ----------
    shape : TracedShape
    kind : str
        One of KINDS: what the user says the shapes are.
    smallest_mm, shortest_line_mm, shortest_tag_mm : float
        Anything shorter is a speck, not a line, or not a tag.
    radius_mm : float
        The dividers' radius, 0 where there are no arcs.

    Returns
    -------
    str or Unread
        'tag', 'slender' (a line or an arc), 'round' (a line that runs all round the plank), or why it is none of these.
    """
    def leave(key, *numbers, minor=False):
        return words.leave(shape.label, shape.about if minor else shape.where, key, *numbers, minor=minor)

    # a cheap test first: nothing in a shape is longer than the diagonal of its bounding box
    if shape.most_mm < smallest_mm and (shape.closed or shape.length_mm < smallest_mm):
        return leave("speck", smallest_mm, minor=True)
    is_letter = shape.closed and shape.most_mm < LETTER_MM and not shape.is_ring
    if not is_letter:
        found = _judge_size(shape, smallest_mm, leave)
        if found is not None:
            return found
    most = LINE_MOST_MM if kind in ("auto", "tag") else 2 * LINE_MOST_MM
    if shape.is_slender and shape.thickness_mm <= most:
        return _judge_slender(shape, leave, kind=kind, smallest_mm=smallest_mm, shortest_line_mm=shortest_line_mm,
                              radius_mm=radius_mm)
    if is_letter and shape.most_mm < shortest_tag_mm:
        return leave("small", LETTER_MM, minor=True)
    long, wide, fill = shape.box.length, shape.box.width, shape.fill
    if shape.is_ring and long > TAG_LONGEST_MM:
        return "round" if kind in ("auto", "line", "block") else leave("round-line", long, kind)
    if shape.closed and wide >= TAG_WIDTH_MM and shortest_tag_mm <= long <= TAG_LONGEST_MM and fill >= TAG_FILL:
        asked = "line" if kind == "block" else kind
        return "tag" if kind in ("auto", "tag") else leave("tag-for-other", long, wide, asked)
    if long < LETTER_MM:
        return leave("small", LETTER_MM, minor=True)
    return leave("nothing", long, wide, 100 * fill)


def _judge_size(shape, smallest_mm, leave):
    """The Unread of a shape that is a speck or a whole circle, or None."""
    long, wide = shape.box.length, shape.box.width
    if max(long, shape.length_mm if not shape.closed else 0.0) < smallest_mm:
        return leave("speck", smallest_mm, minor=True)
    if shape.closed and CIRCLE_FILL[0] < shape.fill < CIRCLE_FILL[1] and wide > CIRCLE_EVEN * long and (
            shape.is_ring or long >= LETTER_MM):
        return leave("circle", (long + wide) / 4)
    return None


def _judge_slender(shape, leave, *, kind, smallest_mm, shortest_line_mm, radius_mm):
    """Whether a shape with a line's proportions is a line."""
    if shape.closed and shape.thickness_mm < LINE_LEAST_MM:
        return leave("thin", LINE_LEAST_MM, minor=True)
    if shape.length_mm < (smallest_mm if radius_mm > 0 and kind in ("auto", "arc") else shortest_line_mm):
        return leave("short", shortest_line_mm, minor=True)
    long = shape.box.length
    # an arc longer than a half circle has near ends too, but gets its own reason
    beyond = radius_mm > 0 and shape.length_mm > np.pi * radius_mm and abs(long / (2 * radius_mm) - 1) < 0.15
    if long < UNFOLDED * shape.length_mm and not beyond:
        return leave("folded", minor=long < 2 * LETTER_MM)
    return "slender" if kind != "tag" else leave("line-for-tag", shape.length_mm, minor=long < LETTER_MM)


def judge_tags(tags: Sequence[TracedShape]) -> list[tuple[TracedShape, Unread | None]]:
    """Tags of unusual size: two that touch, or something else.

    With three tags or more the usual size is the median area.

    Returns
    -------
    list of (TracedShape, Unread or None)
    """
    if len(tags) < 3:
        return [(t, None) for t in tags]
    usual = float(find_median([t.area_mm2 for t in tags]))
    out = []
    for tag in tags:
        times, why = tag.area_mm2 / usual, None
        if times > TOUCHING:
            why = words.leave(tag.label, tag.where, "touching", times)
        elif times < DWARF:
            why = words.leave(tag.label, tag.where, "dwarf", times, minor=tag.box.length < LETTER_MM)
        out.append((tag, why))
    return out
