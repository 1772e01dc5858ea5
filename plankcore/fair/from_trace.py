"""Fairing of one edge known by a dense trace."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from ..errors import PatternError
from ..geometry import tolerance
from ..geometry.bezier import fit_cubics
from ..geometry.curve import Curve
from ..geometry.smoothing import StrayFailure, evaluate_basis, fit_robustly, space_knots, wave_to_penalty

__all__ = ["Chart", "FairedEdge", "fair_trace", "measure_bow", "read_line"]

ORDER = 4
DEGREE = 5
CORNER_MM = 4.0            # rounding of a traced corner: left out of the edges that meet there
STRAY_MM = 1.5             # trace further off than this is not part of the edge
RUN_ON_MM = 60.0


@dataclass(frozen=True, eq=False, repr=False)
class Chart:
    """Axes laid along an edge: origin, unit direction along, unit direction across, (2,) mm each.

    Laid from the edge's own ends, so that a turned page or a shifted start changes nothing.
    """

    origin: np.ndarray
    along: np.ndarray
    across: np.ndarray

    @classmethod
    def lay(cls, start, end):
        """The chart whose x axis runs from start to end."""
        start, end = np.asarray(start, float), np.asarray(end, float)
        along = (end - start) / np.hypot(*(end - start))
        return cls(start, along, np.array([-along[1], along[0]]))

    def read(self, points):
        """x along and y across of points (n, 2)."""
        away = np.asarray(points, float) - self.origin
        return away @ self.along, away @ self.across

    def place(self, x, y):
        """Points (n, 2) on the page."""
        return self.origin + np.outer(x, self.along) + np.outer(y, self.across)


@dataclass(frozen=True, eq=False, repr=False)
class FairedEdge:
    """An edge as a function on its chart, before corners are cut, with its report."""

    chart: Chart
    function: Callable            # function(x, derivative) -> y
    low: float
    high: float
    rms_mm: float
    worst_mm: float
    worst_point: tuple
    degrees_of_freedom: float
    band_mm: float
    straight: bool = False
    reach_mm: float = RUN_ON_MM       # how far past its record it may be run on to meet its neighbour

    def path(self, x, derivative):
        """Points or derivatives by x, as bezier.fit_cubics wants them."""
        y = self.function(x, derivative)
        if derivative == 0:
            return self.chart.place(x, y)
        return np.outer(np.full(len(x), 1.0 if derivative == 1 else 0.0),
                        self.chart.along) + np.outer(y, self.chart.across)

    @property
    def first_point(self):
        """Where the record of the edge begins, (2,) mm."""
        return self.path(np.array([self.low]), 0)[0]

    @property
    def last_point(self):
        """Where the record of the edge ends, (2,) mm."""
        return self.path(np.array([self.high]), 0)[0]

    def run_on(self):
        """The edge as a Curve, run on past both ends by its reach; true to half of tolerance.CURVE_MM."""
        return Curve(fit_cubics(self.path, self.low - self.reach_mm, self.high + self.reach_mm,
                                tolerance_mm=2 * tolerance.FIT_MM))


def fair_trace(name, runs, settings, *, is_end):
    """Fair one edge known by dense runs of points: one line, or both edges of a thick line, whose middle is then meant.

    An end that bows less than the honest error is straight; one that bows more stays curved.

    Returns
    -------
    FairedEdge

    Raises
    ------
    PatternError
        If the trace doubles back, or most of it lies off any fair edge; with the place.
    """
    chart = Chart.lay(np.mean([r[0] for r in runs], axis=0), np.mean([r[-1] for r in runs], axis=0))
    charted = [chart.read(r) for r in runs]
    low, high = min(float(x[0]) for x, _ in charted), max(float(x[-1]) for x, _ in charted)
    length = high - low
    for run, (x, _) in zip(runs, charted):
        _refuse_folds(name, run, x, length)
    order, wave = (3, min(settings.shortest_wave_mm, 2 * length)) if is_end else (ORDER, settings.shortest_wave_mm)
    margin = min(CORNER_MM, 0.15 * length)
    # a wave is well drawn by two hundred points
    x = np.linspace(low + margin, high - margin, max(int((high - low - 2 * margin) / max(wave / 200, 0.5)), 20) + 1)
    y = np.mean([_read_across(x, *c) for c in charted], axis=0)
    weights = np.full(len(x), x[1] - x[0])
    try:
        fit = _fit_wave(x, y, weights, low, high, wave=wave, order=order)
    except StrayFailure as failure:
        point = chart.place(x[failure.worst:failure.worst + 1], y[failure.worst:failure.worst + 1])[0]
        raise PatternError("The %s edge is no line to be faired: %.0f %% of it lies more than %.1f mm off any run "
                           "without waves shorter than %.0f mm." % (name, 100 * failure.share, STRAY_MM, wave),
                           "Draw it again without its teeth or steps, or give a shorter wave.",
                           tuple(map(float, point))) from None
    if is_end:
        # an end is short, and a wander of the pen looks like a bend in it: the stiffer of two curves is right as long
        # as they differ by no more than the honest error
        fit = _find_stiffest(fit, x, y, weights, low, high, wave=4 * wave, order=order,
                             apart_mm=settings.honest_error_mm)
    function, residuals, freedom = _read_spline(fit.spline), fit.residuals, fit.degrees_of_freedom
    straight = is_end and measure_bow(function, low, high) < settings.honest_error_mm
    if straight:
        line = np.polyfit(x, y, 1, w=np.sqrt(fit.weights))
        function, residuals, freedom = read_line(*line), y - np.polyval(line, x), 2.0
    used = fit.weights > 0.05 * weights
    rms = float(np.sqrt(np.average(residuals ** 2, weights=fit.weights)))
    worst = int(np.argmax(np.where(used, np.abs(residuals), 0.0)))
    point = chart.place(x[worst:worst + 1], function(x[worst:worst + 1], 0))[0]
    return FairedEdge(chart, function, low, high, rms, float(abs(residuals[worst])),
                      (float(point[0]), float(point[1])), freedom,
                      _measure_band(fit, x, residuals), straight)


def _fit_wave(x, y, weights, low, high, *, wave, order):
    """A robust fit that keeps half of a wave of this length."""
    # coarser knots would bend the answer: a sixth of the wave changes it by 1e-4 mm
    knots = space_knots(low - RUN_ON_MM, high + RUN_ON_MM, spacing=max(wave / 6, (high - low) / 300), degree=DEGREE)
    return fit_robustly(x, y, penalty=wave_to_penalty(wave, order=order), order=order, knots=knots, degree=DEGREE,
                        weights=weights, cut=STRAY_MM)


def _find_stiffest(fit, x, y, weights, low, high, *, wave, order, apart_mm):
    """The stiffer fit, where the trace bears one and it nowhere differs by more than apart_mm; else the fit as it is.
    """
    try:
        stiff = _fit_wave(x, y, weights, low, high, wave=wave, order=order)
    except StrayFailure:
        return fit
    return stiff if np.max(np.abs(stiff.spline.evaluate(x) - fit.spline.evaluate(x))) <= apart_mm else fit


def _read_across(at, x, y):
    """y of a run at places `at`; where a staircase steps back a pixel, its points are taken in order along the chart.
    """
    order = np.argsort(x, kind="stable")
    return np.interp(at, x[order], y[order])


def _read_spline(spline):
    def function(x, derivative):
        return spline.evaluate(x, derivative=derivative)
    return function


def read_line(slope, level):
    """A straight edge as a function on its chart."""
    def function(x, derivative):
        return (slope * x + level, np.full(len(x), slope), np.zeros(len(x)))[min(derivative, 2)]
    return function


def measure_bow(function, low, high):
    """Largest distance of a curve from the chord of its own ends, mm."""
    at = np.linspace(low, high, 101)
    y = function(at, 0)
    return float(np.max(np.abs(y - np.interp(at, at[[0, -1]], y[[0, -1]]))))


def _refuse_folds(name, run, x, length):
    back = np.maximum.accumulate(x) - x
    if back.max() > max(3.0, 0.02 * length):
        raise PatternError("The %s edge doubles back on itself by %.1f mm." % (name, back.max()),
                           "Take out the fold with the node tool, or draw the edge again.",
                           tuple(map(float, run[int(np.argmax(back))])))


def _measure_band(fit, x, residuals):
    """Largest standard error along the edge, the trace's error being one that wanders, not one that is new at each
    point.

    Its strength is the residuals' variance times twice the distance over which they agree with themselves.
    """
    step = x[1] - x[0]
    thin = max(len(residuals) // 400, 1)            # agreement is sought over tens of mm, not at every point
    step, r = step * thin, residuals[::thin] - residuals.mean()
    size = len(r)
    agree = np.correlate(r, r, "full")[size - 1:]
    agree = agree / max(agree[0], 1e-30)
    stop = int(np.argmax(agree <= 0)) or size
    strength = float(np.mean(r ** 2)) * step * max(2 * float(np.sum(agree[:stop])) - 1, 1.0)
    at = np.linspace(x.min(), x.max(), 41)
    first, values = evaluate_basis(at, fit.spline.knots, fit.spline.degree)
    index = first[:, None] + np.arange(values.shape[1])
    inner = np.einsum("ni,nij,nj->n", values, fit.covariance[index[:, :, None], index[:, None, :]], values)
    return float(np.sqrt(np.max(inner) * strength))
