"""Edges whose shape the user gives rather than the fit: straight, following a given line, or with a knuckle."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.curve import Curve, cross_curves, make_line
from ..geometry.polyline import measure_arc_mm, resample_polyline
from ..geometry.readings import FALSE_ALARM, GROSS, find_limits
from ..model.plank import Finding
from .from_marks import MOST_SCATTER
from .from_trace import RUN_ON_MM, Chart, FairedEdge, fair_trace, measure_line_error
from .words import tell_doubtful_mark, tell_told_shape

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Point, Points
    from ..model.plank import EdgeSource, Mark
    from .fair import FairSettings

__all__ = ["fair_told", "fair_with_knuckles"]

STRAIGHT = "straight"
_STEP_MM = 5.0             # spacing of the places at which a trace is compared with a given shape
_FAR_MM = 100.0            # a given line that is farther than this from the edge is refused
_CLEAR_MM = 8.0            # a traced knuckle is rounded: this much on both sides of it is left out
_LEAST_PIECE_MM = 60.0
_FINE_MM = 1e-3


@dataclass(frozen=True, eq=False, repr=False)
class GivenEdge(FairedEdge):
    """An edge that is a given curve, fitted to its marks as a rigid shape."""

    given: Any = None         # a Curve

    def run_on(self) -> Curve:
        """The given curve, extended straight past both ends."""
        return self.given if self.straight else self.given.extend(self.reach_mm)


def fair_told(name: str, source: EdgeSource, line: Curve | None, *, called: str,
              settings: FairSettings) -> tuple[FairedEdge, list[Mark], list[Finding]]:
    """Fit a given shape to the marks or the trace of an edge: it is shifted across and turned, and keeps its shape.

    Parameters
    ----------
    line : Curve or None
        The given line, where it lies on the page; None is straight.
    called : str
        'straight', or the line's name.

    Raises
    ------
    PatternError
        If the line is too far away, or shorter than the edge.
    """
    marks = list(source.marks)
    points, errors = _list_points(source, settings.honest_error_mm)
    chart = Chart.lay(points[0], points[-1])
    x = chart.read(points)[0]
    curve = make_line(chart.place(x.min() - RUN_ON_MM, 0.0)[0], chart.place(x.max() + RUN_ON_MM, 0.0)[0])
    if line is not None:
        curve = line if (line.end - line.start) @ chart.along > 0 else line.reverse()
        _refuse_elsewhere(name, called, curve, chart=chart, points=points)
    left = np.zeros(len(points), bool)
    doubtful = left
    while True:
        laid = _lay_on(curve, chart, points, errors=errors, used=~left)
        off = _measure_off(laid, chart, points)
        suspect = _find_suspect(x, off, errors, left) if marks else None
        if suspect is None:
            break
        left = left.copy()
        left[suspect] = True
    if marks and left.any():
        doubtful = left
        if settings.doubtful != "leave out":
            laid = _lay_on(curve, chart, points, errors=errors, used=np.ones(len(points), bool))
            left = np.zeros(len(points), bool)
        off = _measure_off(laid, chart, points)
    used = ~left
    scale = 1.0 if marks else float(np.mean(off ** 2)) * 40.0 / _STEP_MM / settings.honest_error_mm ** 2
    spread = float(np.mean((off[used] / errors[used]) ** 2) * used.sum() / max(used.sum() - 2, 1))
    worst = int(np.argmax(np.abs(np.where(used, off, 0.0))))
    at = tuple(map(float, points[worst]))
    station = marks[worst].station if marks else ""
    odd = spread > MOST_SCATTER
    findings = [Finding(tell_told_shape(name, called, float(abs(off[worst])), station, odd=odd), at if odd else None,
                        "told-shape", number=float(abs(off[worst])), unit="mm", verdict="doubt" if odd else "",
                        edge=name, station=station)]
    findings += [Finding(tell_doubtful_mark(marks[k], k + 1, float(abs(off[k])), left_out=bool(left[k])),
                         marks[k].point, "mark-off", number=float(abs(off[k])), unit="mm", edge=name,
                         station=marks[k].station) for k in np.flatnonzero(doubtful)]
    out = [replace(m, error_mm=float(errors[k]), residual_mm=float(off[k]),
                   verdict="left-out" if left[k] else "doubtful" if doubtful[k] else "used")
           for k, m in enumerate(marks)]
    spacing = float(np.ptp(x)) / (len(marks) - 1) if marks else 0.0
    along, across = chart.read(laid.extend(RUN_ON_MM).flatten(tolerance_mm=_FINE_MM))
    edge = GivenEdge(chart, lambda u, derivative: np.interp(u, along, across), float(x.min()), float(x.max()),
                     points=points[used], degrees_of_freedom=2.0,
                     measure_error=measure_line_error(x[used], errors[used] ** -2.0, scale=scale),
                     straight=line is None, reach_mm=max(RUN_ON_MM, 1.2 * spacing), spacing_mm=spacing, told=called,
                     given=laid if line is not None else laid.extend(max(RUN_ON_MM, 1.2 * spacing)))
    return edge, out, findings


def _list_points(source, honest_mm):
    """The points of an edge's marks or trace, (n, 2), and the standard error of each, (n,)."""
    if source.marks:
        return (np.array([m.point for m in source.marks], float),
                np.array([m.error_mm or honest_mm for m in source.marks]))
    runs = [resample_polyline(run, step_mm=_STEP_MM) for run in source.runs]
    count = min(len(run) for run in runs)
    runs = [run[np.round(np.linspace(0, len(run) - 1, count)).astype(int)][1:-1] for run in runs]
    return np.mean(runs, axis=0), np.full(count - 2, honest_mm)


def _measure_off(curve, chart, points):
    """How far points lie off a curve, square to it, positive towards the chart's `across`: (n,) mm."""
    along, across = chart.read(curve.extend(RUN_ON_MM).flatten(tolerance_mm=_FINE_MM))
    x, y = chart.read(points)
    lean = np.interp(x, along, np.gradient(across, along))
    return (y - np.interp(x, along, across)) / np.hypot(1.0, lean)


def _lay_on(curve, chart, points, errors, used):
    """A curve shifted across and turned to fit the points used by least squares, each weighted by its error."""
    x = chart.read(points)[0]
    middle = float(np.mean(x[used]))
    for _ in range(4):
        off = _measure_off(curve, chart, points)
        slope, shift = np.polyfit(x[used] - middle, off[used], 1, w=1 / errors[used])
        turn = np.array([[np.cos(slope), -np.sin(slope)], [np.sin(slope), np.cos(slope)]])
        axes = np.stack([chart.along, chart.across], axis=1)
        turn = axes @ turn @ axes.T
        centre = chart.place(np.array([middle]), np.array([0.0]))[0]
        curve = curve.transform(np.column_stack([turn, centre - turn @ centre + shift * chart.across]))
    return curve


def _find_suspect(x, off, errors, left):
    """The mark that contradicts the others most, if all of them lie on the given shape; None if all agree."""
    keep = np.flatnonzero(~left)
    if len(keep) < 5:
        return None
    design = np.column_stack([np.ones(len(keep)), x[keep] - np.mean(x[keep])]) / errors[keep][:, None]
    share = np.sum(np.linalg.qr(design)[0] ** 2, axis=1)
    others, spread = off[keep] / (1 - share), errors[keep] / np.sqrt(1 - share)
    over = np.abs(others) / find_limits(errors[keep], spread, false_alarm=FALSE_ALARM, gross=GROSS)
    return int(keep[np.argmax(over)]) if over.max() > 1 else None


def _refuse_elsewhere(name, called, curve, chart, points):
    """Refuse a given line that lies too far from the edge, or is too short for it."""
    along = chart.read(curve.flatten(tolerance_mm=0.1))[0]
    x = chart.read(points)[0]
    for bare, where in ((float(along.min() - x.min()), points[np.argmin(x)]),
                        (float(x.max() - along.max()), points[np.argmax(x)])):
        if bare > RUN_ON_MM:
            raise PatternError("The line '%s' stops %.0f mm short of the record of the %s edge, which is to follow it."
                               % (called, bare, name), "Draw the line on past that place, to within %.0f mm of it."
                               % RUN_ON_MM, tuple(map(float, where)))
    off = np.abs(_measure_off(curve, chart, points))
    if off.max() > _FAR_MM:
        raise PatternError("The line '%s' lies %.0f mm off the %s edge, which is to follow it."
                           % (called, off.max(), name), "Lay the line where the edge runs, to within %.0f mm."
                           % _FAR_MM, tuple(map(float, points[int(np.argmax(off))])))


@dataclass(frozen=True, eq=False, repr=False)
class KnuckledEdge(FairedEdge):
    """A traced edge in pieces, which meet where they cross near each knuckle that the user marked."""

    pieces: tuple[FairedEdge, ...] = ()
    places: tuple[Point, ...] = ()

    def run_on(self) -> Curve:
        """The pieces end to end, extended past both ends.

        Raises
        ------
        PatternError
            If two pieces do not cross near their knuckle.
        """
        curves = [piece.run_on() for piece in self.pieces]
        first, parts, start = 0.0, [], None
        for k, place in enumerate(self.places):
            hits = cross_curves(curves[k], curves[k + 1])
            near = min(hits, key=lambda hit: float(np.hypot(*(hit[2] - place))), default=None)
            if near is None or np.hypot(*(near[2] - place)) > RUN_ON_MM:
                raise PatternError("The edge does not turn at the knuckle that is said: its pieces %s." % (
                    "do not cross" if near is None else "cross %.0f mm from it" % np.hypot(*(near[2] - place))),
                                   "Move the mark to where the edge turns, or take the word knuckle out of its label.",
                                   tuple(map(float, place)))
            parts.append(_pin(curves[k].trim(first, near[0]), start, near[2]))
            first, start = near[1], near[2]
        parts.append(_pin(curves[-1].trim(first, float(len(curves[-1].cubics))), start, None))
        return Curve(np.concatenate(parts))


def _pin(curve, start, end):
    cubics = np.array(curve.cubics)
    if start is not None:
        cubics[0, 0] = start
    if end is not None:
        cubics[-1, 3] = end
    return cubics


def fair_with_knuckles(name: str, runs: Sequence[Points], knuckles: Sequence[Mark],
                       settings: FairSettings) -> FairedEdge:
    """Fair a traced edge in pieces that meet at the knuckles that the user marked.

    Raises
    ------
    PatternError
        If a piece is too short to be faired; or as fair_trace.
    """
    order = sorted(knuckles, key=lambda m: float(measure_arc_mm(runs[0])[_find_nearest(runs[0], m.point)]))
    places = [np.asarray(m.point, float) for m in order]
    pieces = []
    for k in range(len(places) + 1):
        parts = []
        for run in runs:
            arc = measure_arc_mm(run)
            low = arc[_find_nearest(run, places[k - 1])] + _CLEAR_MM if k else -1.0
            high = arc[_find_nearest(run, places[k])] - _CLEAR_MM if k < len(places) else arc[-1] + 1
            parts.append(run[(arc >= low) & (arc <= high)])
        if min(len(p) for p in parts) < 3 or measure_arc_mm(parts[0])[-1] < _LEAST_PIECE_MM:
            raise PatternError("The %s edge is too short beside its knuckle to be faired there." % name,
                               "Leave %.0f mm of line on both sides of a knuckle." % (_LEAST_PIECE_MM + 2 * _CLEAR_MM),
                               tuple(map(float, places[min(k, len(places) - 1)])))
        pieces.append(fair_trace(name, parts, settings, is_end=False))
    chart = Chart.lay(pieces[0].first_point, pieces[-1].last_point)
    cuts = chart.read(np.array(places))[0]
    tables = [chart.read(piece.run_on().flatten(tolerance_mm=_FINE_MM)) for piece in pieces]

    def pick(x, ask):
        out, which = np.zeros(len(x)), np.searchsorted(cuts, x)
        for k in np.unique(which):
            mine = which == k
            out[mine] = ask(k, x[mine])
        return out

    def read_height(x, derivative):
        return pick(np.asarray(x, float), lambda k, at: np.interp(at, *tables[k]))

    def measure_error(x):
        return pick(np.asarray(x, float),
                    lambda k, at: pieces[k].measure_error(pieces[k].chart.read(chart.place(at, 0.0 * at))[0]))
    ends = chart.read(np.stack([pieces[0].first_point, pieces[-1].last_point]))[0]
    lost = max((p.lost for p in pieces if p.lost), key=lambda row: row[0], default=None)
    return KnuckledEdge(chart, read_height, float(ends[0]), float(ends[1]),
                        points=np.concatenate([p.points for p in pieces]),
                        degrees_of_freedom=float(sum(p.degrees_of_freedom for p in pieces)),
                        measure_error=measure_error, lost=lost, pieces=tuple(pieces), places=tuple(places))


def _find_nearest(run, point):
    return int(np.argmin(np.hypot(*(run - np.asarray(point, float)).T)))
