"""Fairing of one edge known by a dense trace."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from .errors import PatternError
from .geometry import tolerance
from .geometry.bezier import fit_cubics
from .geometry.curve import Curve
from .geometry.smoothing import evaluate_basis, fit_robustly, space_knots, wave_to_penalty

__all__ = ["Chart", "FairedEdge", "fair_trace"]

ORDER = 4
DEGREE = 5
CORNER_MM = 7.0            # rounding of a traced corner: left out of the edges that meet there
STRAY_MM = 1.5             # trace further off than this is not part of the edge
RUN_ON_MM = 60.0


@dataclass(frozen=True, eq=False)
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


@dataclass(frozen=True, eq=False)
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

    def path(self, x, derivative):
        """Points or derivatives by x, as bezier.fit_cubics wants them."""
        y = self.function(x, derivative)
        if derivative == 0:
            return self.chart.place(x, y)
        return np.outer(np.full(len(x), 1.0 if derivative == 1 else 0.0), self.chart.along) + np.outer(y, self.chart.across)

    @property
    def first_point(self):
        """Where the record of the edge begins, (2,) mm."""
        return self.path(np.array([self.low]), 0)[0]

    @property
    def last_point(self):
        """Where the record of the edge ends, (2,) mm."""
        return self.path(np.array([self.high]), 0)[0]

    def run_on(self, reach_mm):
        """The edge as a Curve, run on past both ends; true to half of tolerance.CURVE_MM."""
        return Curve(fit_cubics(self.path, self.low - reach_mm, self.high + reach_mm, tolerance_mm=tolerance.FIT_MM))


def fair_trace(name, runs, settings, *, is_end):
    """Fair one edge known by dense runs of points: one line, or both edges of a thick line, whose middle is then meant.

    An end that bows less than the honest error is straight; one that bows more stays curved.

    Returns
    -------
    FairedEdge
    """
    chart = Chart.lay(np.mean([r[0] for r in runs], axis=0), np.mean([r[-1] for r in runs], axis=0))
    spans = [chart.read(r)[0] for r in runs]
    low, high = min(s[0] for s in spans), max(s[-1] for s in spans)
    length = high - low
    margin = min(CORNER_MM, 0.15 * length)
    fits, kept = [], []
    order = 3 if is_end else ORDER
    # an end is short: a wave as long as twice itself is the most that can be told from a wander
    wave = min(settings.shortest_wave_mm, 2 * length) if is_end else settings.shortest_wave_mm
    # coarser knots would bend the answer, finer ones only cost time: measured, a sixteenth changes it by 1e-5 mm
    knots = space_knots(low - RUN_ON_MM, high + RUN_ON_MM, spacing=max(wave / 8, length / 300), degree=DEGREE)
    for run in runs:
        x, y = chart.read(run)
        weights = np.abs(np.gradient(x))
        inside = (x > low + margin) & (x < high - margin)
        _refuse_folds(name, run, x, length)
        x, y, weights = x[inside], y[inside], weights[inside]
        fit = fit_robustly(x, y, penalty=wave_to_penalty(wave, order=order), order=order, knots=knots, degree=DEGREE,
                           weights=weights, cut=STRAY_MM)
        fits.append(fit)
        kept.append((x, weights, fit.weights, fit.residuals))
    splines = [f.spline for f in fits]

    def function(x, derivative):
        return np.mean([s.evaluate(x, derivative=derivative) for s in splines], axis=0)

    straight = False
    if is_end:
        at = np.linspace(low, high, 101)
        slope, level = np.polyfit(at, function(at, 0), 1)
        if np.max(np.abs(function(at, 0) - slope * at - level)) * 2 < settings.honest_error_mm:
            straight = True
            lines = [np.polyfit(x, s.evaluate(x) + r, 1, w=np.sqrt(w)) for (x, _, w, r), s in zip(kept, splines)]
            slope, level = np.mean(lines, axis=0)
            kept = [(x, weights, w, s.evaluate(x) + r - np.polyval(line, x))
                    for (x, weights, w, r), s, line in zip(kept, splines, lines)]

            def function(x, derivative):                     # noqa: F811 - the straight end takes the curve's place
                return (slope * x + level, np.full(len(x), slope), np.zeros(len(x)))[min(derivative, 2)]

    count = sum(np.sum(w) for _, _, w, _ in kept)
    rms = float(np.sqrt(sum(np.sum(w * r ** 2) for _, _, w, r in kept) / max(count, 1e-12)))
    used = [(np.where(w > 0.05 * v, np.abs(r), 0.0), x) for x, v, w, r in kept]
    worst = max(float(u.max()) for u, _ in used)
    place = next(x[int(np.argmax(u))] for u, x in used if float(u.max()) == worst)
    edge = FairedEdge(chart, function, low, high, rms, worst, (0.0, 0.0), 2.0 if straight else float(np.mean([f.degrees_of_freedom for f in fits])),
                      float(np.mean([_measure_band(f, k) for f, k in zip(fits, kept)])), straight)
    point = edge.path(np.array([place]), 0)[0]
    return FairedEdge(**{**edge.__dict__, "worst_point": (float(point[0]), float(point[1]))})


def _refuse_folds(name, run, x, length):
    back = np.maximum.accumulate(x) - x
    if back.max() > max(3.0, 0.02 * length):
        raise PatternError("The %s edge doubles back on itself by %.1f mm." % (name, back.max()),
                           "Take out the fold with the node tool, or draw the edge again.", tuple(map(float, run[int(np.argmax(back))])))


def _measure_band(fit, kept):
    """Largest standard error along the edge, the trace's error being one that wanders, not one that is new at each point.

    Its strength is the residuals' variance times twice the distance over which they agree with themselves.
    """
    x, weights, _, residuals = kept
    step = float(np.median(np.abs(np.diff(x)))) or 1.0
    r = residuals - residuals.mean()
    size = len(r)
    spectrum = np.abs(np.fft.rfft(r, 2 * size)) ** 2
    agree = np.fft.irfft(spectrum)[:size]
    agree = agree / max(agree[0], 1e-30)
    stop = int(np.argmax(agree <= 0)) or size
    strength = float(np.mean(r ** 2)) * step * max(2 * float(np.sum(agree[:stop])) - 1, 1.0)
    at = np.linspace(x.min(), x.max(), 41)
    first, values = evaluate_basis(at, fit.spline.knots, fit.spline.degree)
    index = first[:, None] + np.arange(values.shape[1])
    inner = np.einsum("ni,nij,nj->n", values, fit.covariance[index[:, :, None], index[:, None, :]], values)
    return float(np.sqrt(np.max(inner) * strength))
