"""Paths for pens and drag knives: inner lines before outer ones, each line once, started away from corners and overcut
past its start.

A drag knife's blade trails its pivot. The machine moves the pivot. With `offset_mm` the pivot runs ahead of the blade
by that much and swings round corners, so that the blade follows the line. Most cutters do this themselves: then it must
be 0 here.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.pen_letters import find_lettering, letter_with_pen
from ..geometry.polyline import contains_points, measure_arc_mm, measure_area_mm2
from ..geometry.strokes import flatten_strokes
from ..geometry.travel import measure_travel_mm
from ..model.page import Pass
from ..model.typed import refuse_outside
from ..paper.blocks import drop_doubles

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import ArrayLike, Points
    from ..model.page import Page

__all__ = ["CutterSettings", "PassFigures", "PenSpeeds", "lead_pivot", "measure_passes", "order_cuts", "plan_passes"]

_CHORD_MM = 0.01          # tolerance of chords: two fifths of a plotter's unit
_LETTER_MM = 0.03         # tolerance for curves of letters: a tenth of a pen's line width
_CORNER_DEG = 15.0        # a sharper turn is a corner
_SWIVEL_DEG = 3.0         # step of the arc that the blade is swung on at corners
# a blade at an angle straightens over this many offsets of travel: tan(angle / 2) falls by the factor e over each
_SETTLE = 6.0


@dataclass(frozen=True)
class CutterSettings:
    """overcut_mm : how far a closed cut runs past its start, 0 for a pen. offset_mm : distance of the blade behind its
    pivot, 0 where the machine compensates for it. tied : whether a pen draws each word in one stroke."""

    overcut_mm: float = 1.0
    offset_mm: float = 0.0
    tied: bool = True

    def __post_init__(self):
        refuse_outside(self.overcut_mm, 0, 20, problem="An overcut of %g mm cannot be used.",
                       remedy="Give 0 for a pen, 0.5 to 1 mm for a knife.", field="Overcut")
        refuse_outside(self.offset_mm, 0, 5, problem="A blade offset of %g mm cannot be used.",
                       remedy="Give 0 where the cutter sees to it, else the knife's own, 0.25 mm for instance.",
                       field="Blade offset")


@dataclass(frozen=True)
class PenSpeeds:
    """Speeds of a machine: mm per second with the tool down and lifted, and seconds to lift and lower it."""

    down_mm: float = 100.0
    up_mm: float = 250.0
    lift_seconds: float = 0.15

    def __post_init__(self):
        for value, field in ((self.down_mm, "Drawn in a second"), (self.up_mm, "Travelled in a second")):
            refuse_outside(value, 1, 5000, problem="A machine that goes %g mm in a second cannot be reckoned with.",
                           remedy="Give 1 to 5000 mm.", field=field)
        refuse_outside(self.lift_seconds, 0, 10, problem="A lift of %g seconds cannot be reckoned with.",
                       remedy="Give 0 to 10 seconds.", field="Seconds for a lift")


@dataclass(frozen=True)
class PassFigures:
    """Number of lifts of the tool, and mm of travel with it down and lifted."""

    lifts: int
    down_mm: float
    up_mm: float

    def estimate_seconds(self, speeds: PenSpeeds) -> float:
        """The time by these speeds alone: a machine that slows down at corners takes longer."""
        return self.down_mm / speeds.down_mm + self.up_mm / speeds.up_mm + self.lifts * speeds.lift_seconds


def measure_passes(passes: Sequence[Pass], *, start_mm: ArrayLike = (0.0, 0.0)) -> PassFigures:
    """Lifts and travel of passes whose runs are in the machine's order, from the starting place of its tool."""
    runs = [run for one in passes for run in one.runs]
    down = sum(float(np.hypot(*np.diff(run, axis=0).T).sum()) for run in runs)
    return PassFigures(len(runs), down, measure_travel_mm(runs, start_mm=start_mm))


def _flatten(line):
    runs = flatten_strokes(line.cubics, tolerance_mm=_CHORD_MM)
    return [np.vstack([run, run[:1]]) if line.closed and np.abs(run[0] - run[-1]).max() > 1e-6 else run for run in runs]


def _draw(line, tied):
    """The strokes of a line to draw, and whether they are words: those letter by letter, or word by word where letters
    are tied, in as few strokes as possible."""
    words = find_lettering(dict(line.values).get("text", ""), line.cubics)
    return (_flatten(line), "text" in dict(line.values)) if words is None else (
        letter_with_pen(words, tolerance_mm=_LETTER_MM, tied=tied), True)


def order_cuts(page: Page) -> Page:
    """The page with each line to cut only once, and lines inside an outline before it: a piece that was cut out first
    would move while its inside is cut."""
    cuts = drop_doubles([one for one in page.lines if one.pen == "cut"])
    outlines = [(k, _flatten(one)[0]) for k, one in enumerate(cuts) if one.closed]

    def count_around(k):
        inner = _flatten(cuts[k])[0]
        middle = inner[len(inner) // 2][None]
        return sum(bool(contains_points(outline, middle)[0]) for j, outline in outlines if j != k)
    order = sorted(range(len(cuts)), key=lambda k: -count_around(k)) if len(cuts) > 1 else range(len(cuts))
    return replace(page, lines=(*(one for one in page.lines if one.pen != "cut"), *(cuts[k] for k in order)))


def plan_passes(page: Page, settings: CutterSettings = CutterSettings()) -> tuple[Pass, ...]:
    """What the pen draws and then what the knife cuts.

    Parameters
    ----------
    page : Page
        In the order of `order_cuts`.

    Returns
    -------
    (Pass, Pass)
        Closed cuts run clockwise as seen, from the middle of their longest run between corners, and past their start by
        the overcut; with a blade offset by at least six times that, since the blade needs this distance to align
        itself.
    """
    passes = []
    for tool in ("draw", "cut"):
        runs, styles, lettered = [], [], []
        for line in (one for one in page.lines if one.pen == tool):
            found, words = _draw(line, settings.tied) if tool == "draw" else (_flatten(line), False)
            for run in found:
                if tool == "cut":
                    run = _run_past(_start_between_corners(run), settings) if line.closed else run
                    run = lead_pivot(run, offset_mm=settings.offset_mm) if settings.offset_mm else run
                runs.append(run)
                styles.append(line.style)
                lettered.append(words)
        passes.append(Pass(tool, tuple(runs), tuple(styles), tuple(lettered)))
    return tuple(passes)


def _measure_turns_deg(points):
    """Turn at each point of a closed polyline whose last point repeats its first, (n - 1,); the first is that at the
    start.
    """
    way = np.diff(points, axis=0)
    before = np.roll(way, 1, axis=0)
    return np.degrees(np.arctan2(before[:, 0] * way[:, 1] - before[:, 1] * way[:, 0], np.sum(before * way, axis=1)))


def _start_between_corners(points):
    """A closed polyline run clockwise from the middle of its longest stretch without a corner."""
    points = points[np.concatenate([[True], np.any(np.abs(np.diff(points, axis=0)) > 1e-9, axis=1)])]
    if measure_area_mm2(points[:-1]) < 0:
        points = points[::-1]
    corners = np.flatnonzero(np.abs(_measure_turns_deg(points)) > _CORNER_DEG)
    if not len(corners):
        return points
    arc = measure_arc_mm(points)
    ends = np.append(arc[corners], arc[corners[0]] + arc[-1])
    longest = int(np.argmax(np.diff(ends)))
    at = (ends[longest] + ends[longest + 1]) / 2 % arc[-1]
    start = np.array([np.interp(at, arc, points[:, 0]), np.interp(at, arc, points[:, 1])])
    after, before = points[:-1][arc[:-1] > at + 1e-9], points[:-1][arc[:-1] < at - 1e-9]
    return np.vstack([start, after, before, start])


def _run_past(points, settings):
    """A closed polyline extended along its own beginning."""
    past = max(settings.overcut_mm, _SETTLE * settings.offset_mm)
    arc = measure_arc_mm(points)
    past = min(past, 0.5 * arc[-1])
    if past <= 0:
        return points
    again = points[1:][arc[1:] < past - 1e-9]
    end = np.array([np.interp(past, arc, points[:, 0]), np.interp(past, arc, points[:, 1])])
    return np.vstack([points, again, end])


def lead_pivot(points: Points, *, offset_mm: float) -> Points:
    """The path of a pivot whose trailing blade is to follow a polyline (n, 2).

    Along each stroke the pivot is `offset_mm` ahead. At a corner the blade's edge stands still and the pivot swings
    round it on an arc.
    """
    points = points[np.concatenate([[True], np.any(np.abs(np.diff(points, axis=0)) > 1e-9, axis=1)])]
    way = np.diff(points, axis=0)
    way = way / np.hypot(way[:, 0], way[:, 1])[:, None]
    angle = np.arctan2(way[:, 1], way[:, 0])
    out = [points[0] + offset_mm * way[0]]
    for k in range(len(way)):
        out.append(points[k + 1] + offset_mm * way[k])
        if k + 1 < len(way):
            turn = (angle[k + 1] - angle[k] + np.pi) % (2 * np.pi) - np.pi
            steps = int(np.ceil(abs(np.degrees(turn)) / _SWIVEL_DEG))
            for share in np.arange(1, steps + 1) / max(steps, 1):
                a = angle[k] + share * turn
                out.append(points[k + 1] + offset_mm * np.array([np.cos(a), np.sin(a)]))
    return np.array(out)
