"""Read Marks: traced tags, thick lines, block lines and divider arcs to marks with edge, station and standard error.

It uses these modules: shapes decides what each traced shape may be, kinds reads tags and arcs, lines reads lines,
places finds edges and frames. Shapes that were not read are reported with the reason.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, PlankError, SelectionError, SettingError
from ..model.plank import EDGE_NAMES, Finding, Mark
from ..model.scan import MarkReport, ReadMark, Unread
from ..model.typed import refuse_outside, refuse_unknown
from . import words
from .facts import list_mark_facts
from .kinds import LINE_EDGES, SQUARE, NoArc, combine_arcs, read_arc, read_tag
from .lines import NoEdgeError, open_line, open_round, read_line
from .places import ShapePlace, find_numbers, lay_out, number_marks
from .shapes import KINDS, LETTER_MM, gather_shapes, judge_shape, judge_tags

if TYPE_CHECKING:
    from typing import Any, Callable, Sequence

    from ..model.plank import Trace

__all__ = ["EDGES", "KINDS", "LINE_EDGES", "STATIONS", "MarkSettings", "read_marks"]

EDGES = ("auto",) + EDGE_NAMES
STATIONS = ("numbers", "count", "none")
MOST_TAGS = 500           # a plank has a few dozen


@dataclass(frozen=True)
class MarkSettings:
    """Settings: what the shapes are and how they are read; lengths in mm.

    kind : one of KINDS. line_edge : which side of a drawn line's own width is meant. edge : one of EDGES.
    radius_mm : the dividers' radius, 0 where there are no arcs. block_mm : width of the block, for kind 'block'.
    stroke_width_mm : width assumed for a line drawn as one stroke, 0 where the stroke itself is the edge.
    at_frames : marks along a line are placed at its ticks, or else at the frame numbers, instead of every spacing_mm.
    same_point_mm : arcs whose centres are nearer than this are of one point. least_error_mm : lower limit for the error
    of every mark. stations : one of STATIONS. reach_mm : a number farther away along the plank belongs to another
    frame. count : for 'count', see number_marks.
    """

    kind: str = "auto"
    line_edge: str = "inboard"
    edge: str = "auto"
    forward: str = "right"
    radius_mm: float = 0.0
    block_mm: float = 25.4
    stroke_width_mm: float = 0.0
    spacing_mm: float = 100.0
    at_frames: bool = False
    same_point_mm: float = 10.0
    least_error_mm: float = 0.2
    smallest_mm: float = 6.0
    shortest_line_mm: float = 25.0
    shortest_tag_mm: float = 20.0
    stations: str = "numbers"
    reach_mm: float = 60.0
    from_end: str = "fore"
    count: Callable[..., Any] | None = None

    def __post_init__(self):
        for name, allowed in (("kind", KINDS), ("line_edge", LINE_EDGES), ("edge", EDGES), ("stations", STATIONS),
                              ("forward", ("right", "left"))):
            refuse_unknown(getattr(self, name), allowed, field=name)
        if self.kind == "arc":
            refuse_outside(self.radius_mm, 0, math.inf, above=True, problem="The dividers' opening is not given.",
                           remedy="Give the radius the arcs were struck with, such as 40 mm.", field="Divider opening")
        if self.stations == "count" and self.count is None:
            raise SettingError("There is no first label to count frames from.", "Give the first frame's label.",
                               "First label")


def read_marks(traces: Sequence[Trace], *, settings: MarkSettings,
               numbers: Sequence[tuple[str, Sequence[float]]] = ()) -> MarkReport:
    """Marks from traced shapes.

    Parameters
    ----------
    traces : sequence of Trace
    settings : MarkSettings
    numbers : sequence of (text, (x, y))
        Words on the page and their places in mm, of which those that look like frame numbers are used.

    Returns
    -------
    MarkReport

    Raises
    ------
    SelectionError
        If the edges cannot be told from the arrangement.
    PatternError
        If nothing could be read; the message gives the reasons.
    """
    shapes = gather_shapes(traces)
    if not shapes:
        raise SelectionError("The selected objects hold no lines.", "Select the traced tags, lines or arcs.")
    tags, slender, rounds, unread = _sort_kinds(shapes, settings)
    arcs, strokes = _open_slender(slender, settings, unread)
    for shape in rounds:
        try:
            strokes += open_round(shape, forward=settings.forward)
        except (ValueError, PlankError) as error:
            unread.append(words.leave(shape.label, shape.where, *_find_reason(error)))
    if not tags and not arcs and not strokes:
        _refuse_nothing(unread, len(shapes))
    # a nearly square tag has no direction of its own
    places = [ShapePlace(t.box.centre[None], t.box.along if t.box.width < SQUARE * t.box.length else None,
                         outboard=None, edge=t.edge,
                    name=t.label) for t in tags]
    for stroke in strokes:
        points, way = stroke.middle
        places.append(ShapePlace(points, np.array([way[1], -way[0]]), outboard=None, edge=stroke.edge,
                                 name=stroke.shape.label))
    places += [ShapePlace(a.point[None], a.outboard, outboard=a.outboard, edge=a.edge, name=a.shapes[0]) for a in arcs]
    layout = lay_out(places, edge=settings.edge, forward=settings.forward)
    frames, findings = find_numbers(numbers, layout.axis,
                                    reach_mm=settings.reach_mm) if settings.stations == "numbers" else ([], [])
    readings, edges = _read_all(tags, strokes, arcs=arcs, layout=layout, frames=frames, settings=settings,
                                unread=unread)
    if not readings:
        _refuse_nothing(unread, len(shapes))
    labels = [r.station for r in readings]
    if settings.stations != "none":
        labels = number_marks(readings, edges, layout.axis, numbers=frames, reach_mm=settings.reach_mm,
                              count=settings.count if settings.stations == "count" else None,
                              from_end=settings.from_end, forward=settings.forward)
    marks = _finish(readings, edges, labels=labels, layout=layout, settings=settings)
    sides = [m for m in marks if m.mark.edge in ("upper", "lower")]
    missing = sum(not m.mark.station for m in sides)
    if settings.stations == "numbers" and 0 < missing < len(sides):
        findings.append(Finding(words.tell_no_number(missing, len(sides), settings.reach_mm), None, "no-number",
                                number=float(missing), unit="marks", limit=float(len(sides))))
    told = tuple(findings) + _find_doubles(marks)
    facts = list_mark_facts(marks, unread)
    return MarkReport(tuple(marks), tuple(unread), told, rows=words.list_rows(facts, told), facts=facts)


def _find_reason(error):
    """Key and numbers of the reason why a shape could not be read as a line."""
    if isinstance(error, NoEdgeError):
        return (error.key, *error.numbers)
    return ("no-plank", error.problem) if isinstance(error, PlankError) else ("no-line", str(error))


def _sort_kinds(shapes, settings):
    """Shapes sorted by what they may be: tags, slender ones, lines all round; and the Unread ones."""
    found, unread = {"tag": [], "slender": [], "round": []}, []
    for shape in shapes:
        verdict = judge_shape(shape, kind=settings.kind, smallest_mm=settings.smallest_mm,
                              shortest_line_mm=settings.shortest_line_mm,
                              shortest_tag_mm=settings.shortest_tag_mm, radius_mm=settings.radius_mm)
        if isinstance(verdict, Unread):
            unread.append(verdict)
        else:
            found[verdict].append(shape)
    if len(found["tag"]) > MOST_TAGS:
        raise SelectionError("%d shapes look like tags, where %d are read at most." % (len(found["tag"]), MOST_TAGS),
                             "Select the tags alone; suppress the specks of the trace.")
    tags = []
    for shape, why in judge_tags(found["tag"]):
        if why is None:
            tags.append(shape)
        else:
            unread.append(why)
    return tags, found["slender"], found["round"], unread


def _open_slender(slender, settings, unread):
    """Slender shapes as arcs, combined, and as strokes."""
    arcs, strokes = [], []
    for shape in slender:
        if settings.radius_mm > 0 and settings.kind in ("auto", "arc"):
            found = read_arc(shape, radius_mm=settings.radius_mm)
            if not isinstance(found, NoArc):
                arcs.append(found)
                continue
            # if only arcs are wanted, any other shape is reported; else a straight or longer one is a line
            if settings.kind == "arc" or shape.length_mm < settings.shortest_line_mm:
                unread.append(words.leave(shape.label, shape.where, found.key, *found.numbers,
                                          minor=shape.box.length < settings.shortest_line_mm and found.is_short))
                continue
        if shape.length_mm < settings.shortest_line_mm:
            unread.append(words.leave(shape.label, shape.where, "short", settings.shortest_line_mm, minor=True))
            continue
        try:
            strokes.append(open_line(shape, stroke_width_mm=settings.stroke_width_mm))
        except ValueError as error:
            unread.append(words.leave(shape.label, shape.where, *_find_reason(error),
                                      minor=shape.box.length < 2 * LETTER_MM))
    return combine_arcs(arcs, same_point_mm=settings.same_point_mm), strokes


def _read_all(tags, strokes, *, arcs, layout, frames, settings, unread):
    """Readings of all shapes and the edge of each."""
    readings, edges = [], []
    for shape, edge in zip(tags, layout.edges):
        found = read_tag(shape, layout.outboard[edge], line_edge=settings.line_edge) if edge else None
        if found is None:
            unread.append(words.leave(shape.label, shape.where, "tag-sides" if edge else "tag-along"))
            continue
        readings.append(found)
        edges.append(edge)
    for stroke, edge in zip(strokes, layout.edges[len(tags):]):
        if not edge:
            unread.append(words.leave(stroke.shape.label, stroke.shape.where, "line-across"))
            continue
        outward = settings.block_mm if settings.kind == "block" else 0.0
        places = None
        if settings.at_frames and edge in ("upper", "lower"):
            places = _make_places(stroke, frames, layout.axis)
        read = read_line(stroke, layout.outboard[edge], line_edge=settings.line_edge, outward_mm=outward,
                          places=places,
                          # an end is short: closer marks, since its bow would not show with one
                          spacing_mm=settings.spacing_mm if edge in ("upper", "lower")
                          else min(settings.spacing_mm, stroke.length_mm / 5))
        if not read:
            unread.append(words.leave(stroke.shape.label, stroke.shape.where, "line-without-places"))
        readings += read
        edges += [edge] * len(read)
    for reading, edge in zip(arcs, layout.edges[len(tags) + len(strokes):]):
        if not edge:
            unread.append(words.leave(", ".join(reading.shapes), tuple(map(float, reading.point)), "arc-along"))
            continue
        readings.append(reading)
        edges.append(edge)
    return readings, edges


def _make_places(stroke, frames, axis):
    """Where to read a line: at its ticks (ticks nearer than 5 mm are one), or at the frame numbers where it has none.
    """
    def places(points):
        along = points @ axis
        found = []
        if stroke.ticks:
            for tip in stroke.ticks:
                k = int(np.argmin(np.sum((points - np.asarray(tip)) ** 2, axis=1)))
                if not any(np.hypot(*(points[k] - points[j])) < 5.0 for j, _ in found):
                    found.append((k, ""))
            return sorted(found)
        for label, at in frames:
            if along.min() <= at <= along.max():
                found.append((int(np.argmin(np.abs(along - at))), label))
        return found
    return places


def _finish(readings, edges, labels, layout, settings):
    """Marks in the order of their edges, from the fore end aft and from the upper edge down, each with its error square
    to the edge.
    """
    out = []
    order = {"upper": -layout.outboard["fore"], "lower": -layout.outboard["fore"], "fore": layout.outboard["lower"],
             "aft": layout.outboard["lower"]}
    for edge in EDGE_NAMES:
        mine = sorted((k for k, e in enumerate(edges) if e == edge),
                      key=lambda k: float(readings[k].point @ order[edge]))
        points = np.array([readings[k].point for k in mine])
        for place, k in enumerate(mine):
            reading = readings[k]
            run = points[min(place + 1, len(points) - 1)] - points[max(place - 1, 0)]
            run = order[edge] if np.hypot(*run) < 1.0 else run / np.hypot(*run)
            square = np.array([run[1], -run[0]])
            error = float(np.sqrt(max(square @ reading.covariance @ square, 0.0)))
            if reading.error_mm > 0:                 # an error given on the drawing itself is kept
                error = reading.error_mm
            mark = Mark((float(reading.point[0]), float(reading.point[1])), edge, station=labels[k],
                        error_mm=max(error, settings.least_error_mm), residual_mm=0.0,
                        verdict="doubtful" if reading.doubtful else "used", told=reading.told)
            out.append(ReadMark(mark, reading.kind, outboard=(float(reading.outboard[0]), float(reading.outboard[1])),
                                notes=reading.notes, shapes=reading.shapes))
    return out


def _find_doubles(marks):
    """Findings for stations that an edge has twice."""
    seen, out = {}, []
    for one in marks:
        key = (one.mark.edge, one.mark.station)
        if one.mark.station and key in seen:
            out.append(Finding(words.tell_two_marks(one.mark.station, one.mark.edge), one.mark.point, "two-marks",
                               number=2.0, unit="marks", station=one.mark.station, edge=one.mark.edge))
        seen[key] = one
    return tuple(out)


def _refuse_nothing(unread, count):
    worst = sorted(words.group_unread(unread), key=lambda rows: (rows[0].minor, -len(rows)))[:3]
    raise PatternError(words.tell_nothing_read(count, worst), "Check the kind of mark and its sizes, or trace again.",
                       worst[0][0].where if worst else None)
