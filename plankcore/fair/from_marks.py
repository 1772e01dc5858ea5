"""Fairing of the two long edges known by marks at the frames, both together; what the other marks do not believe is
found and said.
"""
from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..geometry.doubts import find_doubtful
from ..geometry.spline_process import fit_process
from ..model.plank import Finding
from .from_trace import RUN_ON_MM, Chart, FairedEdge, measure_bow, read_line

__all__ = ["fair_end_marks", "fair_marks"]

ORDER = 4


def fair_marks(marks, settings):
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
    flat = [m for n in names for m in marks[n]]
    points = np.array([m.point for m in flat], float)
    sign = np.array([1.0 if m.edge == names[0] else -1.0 for m in flat])
    errors = np.array([m.error_mm or settings.honest_error_mm for m in flat])
    chart = Chart.lay(np.mean([points[sign == s][0] for s in np.unique(sign)], axis=0),
                      np.mean([points[sign == s][-1] for s in np.unique(sign)], axis=0))
    x, y = chart.read(points)
    doubtful = find_doubtful(x, y, errors, sign, shortest_wave_mm=settings.shortest_wave_mm)
    left = doubtful if settings.doubtful == "leave out" else np.zeros(len(flat), bool)
    fit = _fit(x[~left], y[~left], errors[~left], sign[~left], settings.shortest_wave_mm)
    means = np.where(sign > 0, fit.evaluate(x, sign=1), fit.evaluate(x, sign=-1 if len(names) > 1 else 1))
    residual = y - means
    # what each doubtful mark is off by, as the others see it
    seen = _fit(x[~doubtful], y[~doubtful], errors[~doubtful], sign[~doubtful],
                settings.shortest_wave_mm) if doubtful.any() else fit
    edges, out, findings = {}, [], []
    for k, mark in enumerate(flat):
        verdict = "left-out" if left[k] else "doubtful" if doubtful[k] else "used"
        out.append(replace(mark, residual_mm=float(residual[k]), error_mm=float(errors[k]), verdict=verdict))
        if doubtful[k]:
            off = float(y[k] - seen.evaluate(x[k:k + 1], sign=int(sign[k]))[0])
            which = "at frame %s" % mark.station if mark.station else "%d from the fore end" % (
                1 + np.count_nonzero(sign[:k] == sign[k]))
            findings.append(
                Finding("%s edge, mark %s: %.1f mm off what the other marks say; measure it again. It is %s."
                                    % (mark.edge.capitalize(), which, abs(off), "left out" if left[k] else "kept"),
                        mark.point, "mark-off", abs(off)))
    used = ~left
    scatter = float(np.mean((residual[used] / errors[used]) ** 2)
                    / max(1 - np.sum(fit.degrees_of_freedom) / max(used.sum(), 1), 0.05))
    if scatter > 2.0 and not doubtful.any():
        findings.append(Finding("The marks scatter about %.1f times as much as the honest error of %.2g mm says."
                                % (np.sqrt(scatter), float(np.mean(errors)))))
    for s, name in ((1, names[0]), (-1, names[-1]))[:len(names)]:
        mine = sign == s
        here = np.where(mine & used, np.abs(residual), -1.0)
        at = np.linspace(x[mine].min(), x[mine].max(), 41)
        worst = int(np.argmax(here))
        edges[name] = FairedEdge(
            chart, lambda u, derivative, s=s: fit.evaluate(u, sign=s, derivative=derivative), float(x[mine][0]),
            float(x[mine][-1]),
            float(np.sqrt(np.mean(residual[mine & used] ** 2))), float(here[worst]), flat[worst].point,
            float(np.sum(fit.degrees_of_freedom[(sign[used] == s)])), float(np.max(fit.measure_error(at, sign=s))),
            reach_mm=max(RUN_ON_MM, 1.2 * float(np.ptp(x[mine])) / (np.count_nonzero(mine) - 1)))
    return edges, out, findings


def fair_end_marks(name, marks, settings):
    """Fair an end known by marks of its own: the rabbet or the butt pricked off at two places or more.

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
    function, band, freedom = read_line(*line), float(1 / np.sqrt(np.sum(errors ** -2.0))), 2.0
    straight = True
    places = len(np.unique(x))
    if places == 3:
        # three marks can show a bow, and no more than that: the parabola through them
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
            band = float(np.max(errors)) if places == 3 else float(
                np.max(fit.measure_error(np.linspace(x.min(), x.max(), 21), sign=1)))
    residual = y - function(x, 0)
    worst = int(np.argmax(np.abs(residual)))
    edge = FairedEdge(chart, function, float(x.min()), float(x.max()), float(np.sqrt(np.mean(residual ** 2))),
                      float(abs(residual[worst])),
                      tuple(map(float, points[worst])), freedom, band, straight,
                      reach_mm=max(RUN_ON_MM, float(np.ptp(x))))
    return edge, [replace(m, residual_mm=float(r), error_mm=float(e)) for m, r, e in zip(marks, residual, errors)]


def _fit(x, y, errors, sign, shortest_wave_mm):
    fewest = min(np.unique(x[sign == s]).size for s in np.unique(sign))
    return fit_process(x, y, errors, sign, shortest_wave=shortest_wave_mm, order=int(min(ORDER, fewest - 1)))
