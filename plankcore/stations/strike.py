"""Frame stations: lines across the plank at the frames, labelled and measured.

A station is struck *square to the baseline* (the straight line from the middle of the fore end to the middle of the
aft end), *square to the run* (the line midway between the edges, where it is there), or left *as drawn*.
Distances are along the baseline from the fore end. Near a raked or curved hood end a frame meets the end instead of a
long edge, and its line stops there. Frames keep their numbers: the number of one that left no trace stays free, and a
finding names it.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SelectionError, SettingError
from ..model.drawing import Station
from ..model.plank import EDGE_NAMES, Finding
from ..model.typed import LabelRule, refuse_outside
from . import words
from .lines import Bed, Strip
from .numbers import list_strays, number_frames
from .pairs import FrameSpots, Spot, give_labels, leave_corner_marks, pair_spots

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.plank import Plank, Trace

__all__ = ["SOURCES", "SQUARE_TO", "LabelRule", "StationSettings", "strike_stations"]

SQUARE_TO = ("baseline", "run", "drawn")
SOURCES = ("spacing", "ticks", "marks", "lines")
LEAST_MM = 5.0            # a frame whose line on the plank is shorter than this is reported and not struck


@dataclass(frozen=True)
class StationSettings:
    """source : one of SOURCES. square_to : one of SQUARE_TO. first_mm, spacing_mm : for source 'spacing', from the end
    where counting starts. labels : for drawings without any labels."""

    source: str = "spacing"
    square_to: str = "baseline"
    first_mm: float = 150.0
    spacing_mm: float = 230.0
    labels: LabelRule = LabelRule()          # noqa: RUF009 - frozen


def strike_stations(plank: Plank, *, settings: StationSettings, lines: Sequence[Trace] = (),
                    numbers: Sequence[tuple[str, tuple[float, ...]]] = ()) -> tuple[list[Station], list[Finding]]:
    """Strike stations across a plank.

    Parameters
    ----------
    plank : Plank
    settings : StationSettings
    lines : sequence of Trace
        Drawn frame lines, for source 'lines'.
    numbers : sequence of (text, (x, y))
        Words on the page; frame numbers among them label the tick or drawn line beside them. Marks have their own
        labels.

    Returns
    -------
    stations : list of Station
        From the fore end aft. Where anything is labelled the rest are counted from the labels, else all go by
        settings.labels.
    findings : list of Finding
        Frames struck from one edge alone, numbers left free, odd gaps, and what was not used, each with its place.

    Raises
    ------
    SettingError, SelectionError, PatternError
        Among others where two labels contradict each other, with both.
    """
    bed = Bed(plank)
    if settings.source == "spacing":
        frames, names, findings = _space_frames(bed, settings)
    else:
        frames, findings = _find_drawn(bed, plank, lines, numbers) if settings.source == "lines" else _find_spotted(
            bed, plank, settings.source, numbers)
        names, told = number_frames(frames, settings.labels,
                                    what={"lines": "line", "ticks": "tick", "marks": "mark"}[settings.source])
        findings += told
    struck = []
    for frame, name in zip(frames, names):
        strip = _strike(bed, frame, settings.square_to)
        if strip is None or strip.width_mm < LEAST_MM:
            at = frame.where if frame.spots or frame.drawn is not None else tuple(
                map(float, bed.find_point(frame.along_mm)))
            findings.append(Finding(words.tell_not_struck(name, frame.along_mm, None if strip is None
                                                          else strip.width_mm), at, "not-struck",
                                    number=None if strip is None else strip.width_mm, unit="mm", limit=LEAST_MM,
                                    station=name))
            continue
        struck.append(Station(name, strip.line, strip.width_mm, float(bed.measure_along(strip.line.mean(axis=0))),
                              ends=strip.ends))
        findings += _tell_frame(frame, name, strip, settings)
    if not struck:
        raise PatternError("No station crosses the plank.", "Strike them by spacing, or as drawn.")
    return sorted(struck, key=lambda s: s.distance_mm), findings


def _tell_frame(frame, name, strip, settings):
    """The data needed for one frame's line."""
    what = settings.source[:-1]
    if frame.lone is not None:
        square = "run" if settings.square_to == "run" else "baseline"
        yield Finding(words.tell_lone(name, what, frame.lone.edge, square), frame.where, "lone-" + what, station=name,
                      edge=frame.lone.edge)
    if strip.pieces > 1:
        yield Finding(words.tell_pieces(name, strip.pieces), tuple(map(float, strip.line[0])), "in-pieces",
                      number=float(strip.pieces), unit="pieces", station=name)


def _strike(bed, frame, square_to):
    """Strip of a frame, or None where it meets no wood."""
    if square_to == "drawn":
        if frame.drawn is not None:
            return frame.drawn
        if len(frame.spots) == 2:
            return Strip(np.stack([s.point for s in frame.spots]), tuple(s.edge for s in frame.spots))
    if frame.lone is not None:
        return bed.strike(frame.along_mm, square_to=square_to, held=frame.lone.point)
    middle = frame.drawn.line.mean(axis=0) if frame.drawn is not None else np.mean([s.point for s in frame.spots],
                                                                                   axis=0) if frame.spots else None
    return bed.strike(frame.along_mm, square_to=square_to, middle=middle)


def _space_frames(bed, settings):
    """Evenly spaced Frames along the whole plank, from the fore end aft, their labels, and findings."""
    refuse_outside(settings.spacing_mm, 10, math.inf, problem="A frame spacing of %.1f mm is too small.",
                   remedy="Give 10 mm or more.", field="Spacing")
    aft = settings.labels.from_end == "aft"
    reach = bed.length_mm - bed.first_mm if aft else bed.last_mm
    away = np.arange(settings.first_mm, reach - 1e-6, settings.spacing_mm)
    if not len(away) or settings.first_mm >= bed.length_mm:
        raise SettingError("The first frame, %.0f mm from the end, lies beyond the plank's %.0f mm."
                           % (settings.first_mm, bed.length_mm), "Give a smaller distance.", "First frame")
    names = settings.labels.name(len(away))
    order = slice(None, None, -1) if aft else slice(None)
    along = (bed.length_mm - away if aft else away)[order]
    return [FrameSpots(float(x), "") for x in along], names[order], []


def _find_drawn(bed, plank, lines, numbers):
    """Frames from drawn lines, in order, and findings."""
    if not lines:
        raise SelectionError("No frame lines are selected.", "Select the plank and the lines drawn at the frames, "
                                                             "each from edge to edge or past it.")
    strips = [_cross_drawn(bed, line) for line in lines]
    labels, findings = give_labels([s.line for s in strips], [line.station for line in lines], numbers, what="line")
    frames = [FrameSpots(float(bed.measure_along(s.line.mean(axis=0))), label, (), s)
              for s, label in zip(strips, labels)]
    return sorted(frames, key=lambda f: f.along_mm), findings


def _find_spotted(bed, plank, source, numbers):
    """Frames from the ticks or the marks of a plank, in order, and findings."""
    what = source[:-1]
    if source == "ticks":
        spots = [Spot((np.array(t.foot) + np.array(t.tip)) / 2, t.edge) for t in plank.ticks]
        labels, findings = give_labels([s.point[None] for s in spots], [""] * len(spots), numbers, what=what)
        spots = [Spot(s.point, s.edge, label) for s, label in zip(spots, labels)]
    else:
        spots, findings = [Spot(np.array(m.point), m.edge, m.station) for m in plank.marks], []
    spots = [s for s in spots if s.edge in EDGE_NAMES]
    if not any(s.edge in ("upper", "lower") for s in spots):
        raise SelectionError("No %s were found on the long edges." % source,
                             "Strike the stations by spacing, or from drawn lines.")
    frames, told = pair_spots(bed, spots, what=what)
    if source == "marks":                 # only for marks: ticks are drawn at frames, never at corners
        frames, corner = leave_corner_marks(bed, frames)
        told += corner
    strays = list_strays(frames)
    told += [Finding(words.tell_stray(what, lone.edge), f.where, "stray-" + what, edge=lone.edge)
             for f in strays for lone in (f.lone,) if lone is not None]        # all: a stray has no partner
    frames = [f for f in frames if not any(f is s for s in strays)]
    if not frames:
        raise SelectionError("The %s lie at the corners only; no frame is among them." % source,
                             "Strike the stations by spacing, or from drawn lines.")
    return frames, findings + told


def _cross_drawn(bed, trace):
    """The Strip of a drawn line, extended to the edges that it was meant to reach."""
    points = np.concatenate([c.reshape(-1, 2) for c, _ in trace.runs])
    far = points[int(np.argmax(np.sum((points - points[0]) ** 2, axis=1)))]
    near = points[int(np.argmax(np.sum((points - far) ** 2, axis=1)))]
    size = float(np.hypot(*(far - near)))
    off = np.abs((points - near) @ np.array([-(far - near)[1], (far - near)[0]])) / max(size, 1e-9)
    if size < 10 or off.max() > 0.02 * size + 1.0:
        raise SelectionError("%s is not a straight frame line." % trace.label,
                             "Draw each frame as one straight line across the plank.", trace.label)
    strip = bed.cut((near + far) / 2, far - near)
    if strip is None or np.hypot(*(strip.line.mean(axis=0) - (near + far) / 2)) > size:
        raise SelectionError("The frame line %s does not cross the plank." % trace.label,
                             "Draw it from edge to edge, or past both.", trace.label)
    ways = (far - near) / size
    if abs(ways @ bed.along) > 0.87 and "upper" not in strip.ends and "lower" not in strip.ends:
        raise SelectionError("The frame line %s does not cross the plank." % trace.label,
                             "Draw it from edge to edge, or past both.", trace.label)
    return strip
