"""Fairing of the two long edges known by marks at the frames, both together, and the search for doubtful marks."""
from __future__ import annotations

from dataclasses import replace
from math import erfc, sqrt

import numpy as np

from .geometry.spline_process import fit_process
from .model import Finding
from .trace_fairing import RUN_ON_MM, Chart, FairedEdge, measure_bow, read_line

__all__ = ["fair_marks", "fair_end_marks", "find_doubtful", "find_limits"]

ORDER = 4
FALSE_ALARM = 0.045       # share of sound edges on which some mark may be called doubtful
GROSS = 10.0              # a wrong mark is wrong by about this many honest errors: 4 mm where 0.4 mm is honest
MOST_DOUBTFUL = 0.25      # beyond this share the honest error is wrong, not the marks


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
    seen = _fit(x[~doubtful], y[~doubtful], errors[~doubtful], sign[~doubtful], settings.shortest_wave_mm) if doubtful.any() else fit
    edges, out, findings = {}, [], []
    for k, mark in enumerate(flat):
        verdict = "left-out" if left[k] else "doubtful" if doubtful[k] else "used"
        out.append(replace(mark, residual_mm=float(residual[k]), error_mm=float(errors[k]), verdict=verdict))
        if doubtful[k]:
            off = float(y[k] - seen.evaluate(x[k:k + 1], sign=int(sign[k]))[0])
            which = "at frame %s" % mark.station if mark.station else "%d from the fore end" % (1 + np.count_nonzero(sign[:k] == sign[k]))
            findings.append(Finding("%s edge, mark %s: %.1f mm off what the other marks say; measure it again. It is %s."
                                    % (mark.edge.capitalize(), which, abs(off), "left out" if left[k] else "kept"), mark.point))
    used = ~left
    scatter = float(np.mean((residual[used] / errors[used]) ** 2) / max(1 - np.sum(fit.degrees_of_freedom) / max(used.sum(), 1), 0.05))
    if scatter > 2.0 and not doubtful.any():
        findings.append(Finding("The marks scatter about %.1f times as much as the honest error of %.2g mm says." % (np.sqrt(scatter), float(np.mean(errors)))))
    for s, name in ((1, names[0]), (-1, names[-1]))[:len(names)]:
        mine = sign == s
        here = np.where(mine & used, np.abs(residual), -1.0)
        at = np.linspace(x[mine].min(), x[mine].max(), 41)
        worst = int(np.argmax(here))
        edges[name] = FairedEdge(
            chart, lambda u, derivative, s=s: fit.evaluate(u, sign=s, derivative=derivative), float(x[mine][0]), float(x[mine][-1]),
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
        straight = measure_bow(curve, float(x.min()), float(x.max())) < max(settings.honest_error_mm, float(np.mean(errors)))
        if not straight:
            function, freedom = curve, 3.0 if places == 3 else float(np.sum(fit.degrees_of_freedom))
            band = float(np.max(errors)) if places == 3 else float(np.max(fit.measure_error(np.linspace(x.min(), x.max(), 21), sign=1)))
    residual = y - function(x, 0)
    worst = int(np.argmax(np.abs(residual)))
    edge = FairedEdge(chart, function, float(x.min()), float(x.max()), float(np.sqrt(np.mean(residual ** 2))), float(abs(residual[worst])),
                      tuple(map(float, points[worst])), freedom, band, straight, reach_mm=max(RUN_ON_MM, float(np.ptp(x))))
    return edge, [replace(m, residual_mm=float(r), error_mm=float(e)) for m, r, e in zip(marks, residual, errors)]


def _fit(x, y, errors, sign, shortest_wave_mm):
    fewest = min(np.unique(x[sign == s]).size for s in np.unique(sign))
    return fit_process(x, y, errors, sign, shortest_wave=shortest_wave_mm, order=int(min(ORDER, fewest - 1)))


def find_limits(errors, spreads, *, false_alarm, gross):
    """How far off the others each mark may lie before it is doubtful.

    For a given chance of a false alarm, fewest wrong marks are missed when each is judged by how much likelier it is wrong
    than sound (J. Neyman and E. Pearson, Phil. Trans. A 231, 1933, doi:10.1098/rsta.1933.0009). A mark amid others is
    known to a fraction of a gross error and need not be suspected early; an end mark is not, and must be.

    Parameters
    ----------
    errors : ndarray, shape (n,)
        Honest errors.
    spreads : ndarray, shape (n,)
        Standard errors of the marks' distances from what the others say.
    false_alarm : float
        Chance that any of the marks, all sound, is called doubtful.
    gross : float
        A wrong mark is wrong by about this many honest errors.

    Returns
    -------
    ndarray, shape (n,)
        Limits on |distance|, in the unit of errors.
    """
    wrong = gross * errors

    def place(level):
        return np.maximum(wrong / 2 + level * spreads ** 2 / wrong, 0.0)
    low, high = -50.0, 200.0
    for _ in range(80):
        middle = (low + high) / 2
        chance = sum(erfc(z / sqrt(2)) for z in place(middle) / spreads)
        low, high = (middle, high) if chance > false_alarm else (low, middle)
    return place(high)


def find_doubtful(x, y, errors, sign, *, shortest_wave_mm):
    """Marks that the other marks do not believe.

    A mark is judged by its distance from the edge that all others make without it (`find_limits` says how far is too far).
    Where several fail, one bad mark has usually dragged its neighbour: the one without which the rest is likeliest is taken,
    and the search goes on without it.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    doubtful, first = np.zeros(len(x), bool), None
    while doubtful.sum() < MOST_DOUBTFUL * len(x):
        suspects, surprise = _find_suspects(x, y, errors, sign, doubtful, shortest_wave_mm)
        first = suspects if first is None else first
        if not suspects.any():
            break
        doubtful[int(np.argmax(np.where(suspects, surprise, -np.inf)))] = True
    # near an end two marks may each explain all without the other: then it cannot be told which is wrong, and both are named
    for other in np.flatnonzero(first & ~doubtful) if doubtful.any() else ():
        alone = np.zeros(len(x), bool)
        alone[other] = True
        if not _find_suspects(x, y, errors, sign, alone, shortest_wave_mm)[0].any():
            doubtful[other] = True
    return doubtful


def _find_suspects(x, y, errors, sign, left, shortest_wave_mm):
    """Marks beyond their limit when those in `left` are left out, and the surprise at each mark; shape (n,) both."""
    suspects, surprise = np.zeros(len(x), bool), np.full(len(x), -np.inf)
    keep = np.flatnonzero(~left)
    if min(np.unique(x[keep][sign[keep] == s]).size for s in np.unique(sign)) < 5:
        return suspects, surprise
    # two opinions of how smooth wood is, the third and the fourth derivative, weigh the same: at an end they differ most
    fits = [fit_process(x[keep], y[keep], errors[keep], sign[keep], shortest_wave=shortest_wave_mm, order=order) for order in (3, 4)]
    others = np.mean([f.others for f in fits], axis=0)
    spread = np.sqrt(np.mean([f.other_errors ** 2 + f.others ** 2 for f in fits], axis=0) - others ** 2)
    surprise[keep] = -np.log(np.mean([np.exp(-f.surprise) for f in fits], axis=0) + 1e-300)
    for s in np.unique(sign):
        mine = sign[keep] == s
        limits = find_limits(errors[keep][mine], spread[mine], false_alarm=FALSE_ALARM, gross=GROSS)
        suspects[keep[mine]] = np.abs(others[mine]) > limits
    return suspects, surprise
