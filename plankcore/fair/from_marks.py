"""Fairing of long edges known by marks at the frames, both together; marks that contradict the others are found and
reported."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.arrays import list_distinct
from ..geometry.spline_process import AveragedFit, fit_process
from ..geometry.wrong_marks import find_wrong_marks
from ..model.plank import Finding
from .from_trace import RUN_ON_MM, Chart, FairedEdge, measure_bow, measure_line_error, read_line
from .words import tell_doubtful_mark, tell_scatter, tell_shortened_wave

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..geometry.arrays import Values
    from ..model.plank import Mark
    from .fair import FairSettings

__all__ = ["fair_end_marks", "fair_marks", "refuse_bare_knuckle"]

ORDERS = (3, 4)
# with this many marks on an edge or fewer, the third and fourth order are averaged: there are too few to trust the
# fourth alone
FEW_MARKS = 8
WAVES_IN_PLANK = 3.0      # the shortest wave is limited to the marks' length divided by this
# report where the mean square of the residuals is more than this many times what the honest errors say
MOST_SCATTER = 2.0


def fair_marks(marks: Mapping[str, Sequence[Mark]],
               settings: FairSettings) -> tuple[dict[str, FairedEdge], list[Mark], list[Finding]]:
    """Fair edges through marks.

    Parameters
    ----------
    marks : dict
        Edge name to a tuple of Mark, from fore to aft; one edge or both.
    settings : FairSettings

    Returns
    -------
    edges : dict of str to FairedEdge
    marks : list of Mark
        With residual and verdict: used, doubtful (kept, but it disagrees) or left-out.
    findings : list of Finding
    """
    names = [n for n in ("upper", "lower") if n in marks]
    record = _lay_out([m for n in names for m in marks[n]], names, settings)
    doubtful = find_wrong_marks(record.x, record.y, record.errors, record.sign, shortest_wave=record.wave_mm,
                                breaks=record.breaks).wrong
    left = doubtful if settings.doubtful == "leave out" else np.zeros(len(record.marks), bool)
    fit = _fit_some(record, ~left)
    means = np.where(record.sign > 0, fit.evaluate(record.x, sign=1),
                     fit.evaluate(record.x, sign=-1 if len(names) > 1 else 1))
    residual = record.y - means
    out = [replace(mark, residual_mm=float(residual[k]), error_mm=float(record.errors[k]),
                   verdict="left-out" if left[k] else "doubtful" if doubtful[k] else "used")
           for k, mark in enumerate(record.marks)]
    findings = _tell_wave(record, settings) + _tell_doubtful(record, doubtful, left, fit)
    if not doubtful.any():
        findings += _tell_scatter(record, residual, fit)
    edges = {name: _make_edge(record, fit, s, ~left)
             for s, name in ((1, names[0]), (-1, names[-1]))[:len(names)]}
    return edges, out, findings


@dataclass(frozen=True, eq=False, repr=False)
class _Record:
    """Marks of both long edges on one chart: x, y and errors (n,) in mm, sign 1 for the first edge, -1 for the second;
    and the shortest wave to consider."""

    chart: Chart
    marks: list[Mark]
    x: Values
    y: Values
    errors: Values
    sign: Values
    wave_mm: float
    breaks: tuple[tuple[float, float], ...] = ()


def _lay_out(marks, names, settings):
    points = np.array([m.point for m in marks], float)
    sign = np.array([1.0 if m.edge == names[0] else -1.0 for m in marks])
    errors = np.array([m.error_mm or settings.honest_error_mm for m in marks])
    chart = Chart.lay(np.mean([points[sign == s][0] for s in list_distinct(sign)], axis=0),
                      np.mean([points[sign == s][-1] for s in list_distinct(sign)], axis=0))
    x, y = chart.read(points)
    breaks = tuple((float(x[k]), float(sign[k])) for k, m in enumerate(marks) if m.told == "knuckle")
    for k, mark in enumerate(marks):
        if mark.told == "knuckle":
            refuse_bare_knuckle(mark, int(np.sum((sign == sign[k]) & (x < x[k]))),
                                int(np.sum((sign == sign[k]) & (x > x[k]))))
    return _Record(chart, marks, x, y, errors=errors, sign=sign, breaks=breaks,
                   wave_mm=min(settings.shortest_wave_mm, float(np.ptp(x)) / WAVES_IN_PLANK))


def refuse_bare_knuckle(mark: Mark, fore: int, aft: int) -> None:
    """Refuse a knuckle that has fewer than two marks on a side: an edge cannot turn where it begins.

    Raises
    ------
    PatternError
    """
    if min(fore, aft) < 2:
        raise PatternError("The knuckle of the %s edge%s has %d marks on one side; it needs two on both." % (
            mark.edge, " at frame %s" % mark.station if mark.station else "", min(fore, aft)),
                           "Set marks on both sides of it, or take the word knuckle out of its label.", mark.point)


def _fit_some(record, keep):
    """Both edges fitted with order 4; where an edge has few marks, with the mean of orders 3 and 4."""
    x, sign = record.x[keep], record.sign[keep]
    fewest = min(list_distinct(x[sign == s]).size for s in list_distinct(sign))
    orders = sorted({min(o, fewest - 1) for o in (ORDERS if fewest <= FEW_MARKS else ORDERS[-1:])})
    if record.breaks:
        return _fit_broken(record, keep, fewest)
    fits = tuple(fit_process(x, record.y[keep], record.errors[keep], sign, shortest_wave=record.wave_mm, order=order)
                 for order in orders)
    return fits[0] if len(fits) == 1 else AveragedFit(fits)


def _fit_broken(record, keep, fewest):
    for order in range(min(ORDERS[-1], fewest - 1), 1, -1):
        try:
            return fit_process(record.x[keep], record.y[keep], record.errors[keep], record.sign[keep],
                               shortest_wave=record.wave_mm, order=order, breaks=record.breaks)
        except ValueError:
            continue           # a knuckle takes parameters of its own: with few marks the order must be lower
    raise PatternError("There are too few marks beside a knuckle to fair the edges: %d." % fewest,
                       "Set more marks, or take the word knuckle out of the label.")


def _tell_wave(record, settings):
    """A Finding where the plank is too short for the wave that was asked for."""
    if record.wave_mm >= settings.shortest_wave_mm:
        return []
    return [Finding(tell_shortened_wave(record.wave_mm, settings.shortest_wave_mm, float(np.ptp(record.x))), None,
                    "wave-shortened", number=record.wave_mm, unit="mm", limit=settings.shortest_wave_mm, verdict="")]


def _tell_doubtful(record, doubtful, left, fit):
    """A Finding for each mark that contradicts the others: how far it is from the curve that they make without it."""
    seen = _fit_some(record, ~doubtful) if doubtful.any() else fit
    found = []
    for k in np.flatnonzero(doubtful):
        mark, sign = record.marks[k], record.sign[k]
        off = float(record.y[k] - seen.evaluate(record.x[k:k + 1], sign=int(sign))[0])
        number = 1 + int(np.count_nonzero(record.sign[:k] == sign))
        found.append(Finding(tell_doubtful_mark(mark, number, abs(off), left_out=bool(left[k])), mark.point, "mark-off",
                             number=abs(off), unit="mm", station=mark.station, edge=mark.edge))
    return found


def _tell_scatter(record, residual, fit):
    """A Finding where no single mark is doubtful, but all scatter far more than their errors say."""
    scatter = float(np.mean((residual / record.errors) ** 2)
                    / max(1 - np.sum(fit.degrees_of_freedom) / max(len(residual), 1), 0.05))
    if scatter <= MOST_SCATTER:
        return []
    return [Finding(tell_scatter(float(np.sqrt(scatter)), float(np.mean(record.errors))), None, "scatter",
                    number=float(np.sqrt(scatter)), unit="honest errors", limit=MOST_SCATTER ** 0.5)]


def _make_edge(record, fit, s, used):
    """The FairedEdge of one sign, with its marks that were used."""
    x, mine = record.x, record.sign == s
    spacing = float(np.ptp(x[mine])) / (np.count_nonzero(mine) - 1)
    return FairedEdge(
        record.chart, lambda u, derivative: fit.evaluate(u, sign=s, derivative=derivative),
        float(x[mine][0]), float(x[mine][-1]), points=record.chart.place(x[mine & used], record.y[mine & used]),
        degrees_of_freedom=float(np.sum(fit.degrees_of_freedom[record.sign[used] == s])),
        measure_error=lambda u: fit.measure_error(u, sign=s), reach_mm=max(RUN_ON_MM, 1.2 * spacing),
        spacing_mm=spacing, wave_mm=fit.wave,
        knuckles=tuple(sorted(place for place, sign in record.breaks if sign == s)))


def fair_end_marks(name: str, marks: Sequence[Mark], settings: FairSettings) -> tuple[FairedEdge, list[Mark]]:
    """Fair an end known by two or more marks of its own, as where the rabbet or a butt was pricked off.

    Two marks, or more that bow less than the honest error, give a straight end; others a curve.

    Returns
    -------
    edge : FairedEdge
    marks : list of Mark
    """
    points = np.array([m.point for m in marks], float)
    errors = np.array([m.error_mm or settings.honest_error_mm for m in marks])
    chart = Chart.lay(points[0], points[-1])
    x, y = chart.read(points)
    line = np.polyfit(x, y, 1, w=1 / errors)
    function, error, freedom = read_line(*line), measure_line_error(x, errors ** -2.0), 2.0
    straight = True
    places = len(list_distinct(x))
    if places == 3:
        # three marks give the parabola through them and nothing more complicated
        bow = np.polyfit(x, y, 2, w=1 / errors)

        def curve(u, derivative):
            return np.polyval(np.polyder(bow, derivative), u)
    elif places > 3:
        fit = fit_process(x, y, errors, np.ones(len(x)), shortest_wave=2 * float(np.ptp(x)), order=3)

        def curve(u, derivative):
            return fit.evaluate(u, sign=1, derivative=derivative)
    if places > 2:
        straight = measure_bow(curve, float(x.min()),
                               float(x.max())) < max(settings.honest_error_mm, float(np.mean(errors)))
        if not straight:
            function, freedom = curve, 3.0 if places == 3 else float(np.sum(fit.degrees_of_freedom))
            error = _make_parabola_error(x, errors) if places == 3 else (lambda u: fit.measure_error(u, sign=1))
    residual = y - function(x, 0)
    edge = FairedEdge(chart, function, float(x.min()), float(x.max()), points=points, degrees_of_freedom=freedom,
                      measure_error=error, straight=straight, reach_mm=max(RUN_ON_MM, float(np.ptp(x))))
    return edge, [replace(m, residual_mm=float(r), error_mm=float(e)) for m, r, e in zip(marks, residual, errors)]


def _make_parabola_error(x, errors):
    """Standard error of the parabola through marks at three places, as a function of x."""
    middle, half = float(np.mean(x)), float(np.ptp(x)) / 2

    def design(at):
        return np.vander((np.asarray(at, float) - middle) / half, 3)
    cover = np.linalg.inv(design(x).T @ (design(x) / errors[:, None] ** 2))
    return lambda at: np.sqrt(np.einsum("ni,ij,nj->n", design(at), cover, design(at)))
