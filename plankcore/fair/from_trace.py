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

__all__ = ["Chart", "FairedEdge", "fair_trace", "measure_bow", "measure_line_error", "read_line"]

ORDER = 4
DEGREE = 5
CORNER_MM = 4.0            # rounding of a traced corner: left out of the edges that meet there
STRAY_MM = 1.5             # trace further off than this is not part of the edge
LOST_MM = STRAY_MM * (1 - 0.05 ** 0.5) ** 0.5      # as good as not: its say is under a twentieth
_LOOK_MM = 0.5             # how closely a trace is looked at for how far it lies off
_FINE_MM = 1e-4            # chords of the drawn edge there: the record prints it to 0.01 mm
RUN_ON_MM = 60.0
_HAIR_MM = 1e-6


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
    points: np.ndarray            # what it was faired from and may lie off it, (n, 2) mm on the page
    degrees_of_freedom: float
    measure_error: Callable       # measure_error(x) -> standard error of the edge (n,), mm
    straight: bool = False
    reach_mm: float = RUN_ON_MM       # how far past its record it may be run on to meet its neighbour
    spacing_mm: float = 0.0           # of its marks, along; 0 of a trace
    knuckles: tuple = ()              # places x where it turns
    wave_mm: float = 0.0              # that its marks speak for, or the shortest that a trace may have
    told: str = ""                    # 'straight', or the line that it was told to follow
    lost: tuple = None                # of a trace, what has no say in it: length, farthest off, mm, and where

    def measure_off_mm(self, curve, points):
        """How far points (n, 2) lie off the edge as it is drawn, square to it; (n,) mm, above 0 on the chart's side
        across."""
        along, across = self.chart.read(curve.flatten(tolerance_mm=_FINE_MM))
        x, y = self.chart.read(points)
        lean = np.interp(x, along, np.gradient(across, along))
        return (y - np.interp(x, along, across)) / np.hypot(1.0, lean)

    def measure_band_mm(self, start, end):
        """Largest standard error of the edge between two of its points, (2,) each."""
        first, last = self.chart.read(np.stack([start, end]))[0]
        return float(np.max(self.measure_error(np.linspace(first, last, 41))))

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
        cuts = [self.low - self.reach_mm, *self.knuckles, self.high + self.reach_mm]
        parts = []
        for first, last in zip(cuts[:-1], cuts[1:]):
            # of the two directions at a knuckle each piece has its own
            inner = (first + _HAIR_MM if parts else first, last - _HAIR_MM if last in self.knuckles else last)

            def path(x, derivative, inner=inner):
                return self.path(np.clip(x, *inner), derivative)
            parts.append(fit_cubics(path if self.knuckles else self.path, first, last,
                                    tolerance_mm=2 * tolerance.FIT_MM))
        cubics = np.concatenate(parts)
        cubics[1:, 0] = cubics[:-1, 3]
        return Curve(cubics)


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
    points, lost = _gather_trace(chart, charted, function, low + margin, high - margin)
    strength = _measure_strength(x, residuals)
    error = measure_line_error(x, fit.weights, scale=strength) if straight else _make_error(fit, strength)
    return FairedEdge(chart, function, low, high, points, freedom, error, straight, lost=lost,
                      wave_mm=wave)


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


def _gather_trace(chart, charted, function, low, high):
    """Points of a trace (n, 2) that have a say in its edge, and what has none as (length, farthest off, its place) or
    None."""
    x = np.linspace(low, high, max(int((high - low) / _LOOK_MM), 20) + 1)
    y = np.mean([_read_across(x, *c) for c in charted], axis=0)
    off = np.abs(y - function(x, 0)) / np.hypot(1.0, function(x, 1))
    counts = off < LOST_MM
    if counts.all() or not counts.any():
        return chart.place(x, y), None
    worst = int(np.argmax(np.where(counts, -1.0, off)))
    place = chart.place(x[worst:worst + 1], y[worst:worst + 1])[0]
    length = float(np.count_nonzero(~counts)) * (x[1] - x[0])
    return chart.place(x[counts], y[counts]), (length, float(off[worst]), tuple(map(float, place)))


def measure_line_error(x, weights, *, scale=1.0):
    """Standard error of a straight line fitted to points, as a function of x.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Where the points stand.
    weights : ndarray, shape (n,)
        One over the square of their errors, for a scale of 1.
    scale : float
        What the squares of the errors are to be multiplied by.
    """
    middle, half = float(np.mean(x)), max(float(np.ptp(x)) / 2, 1e-9)

    def design(at):
        return np.stack([np.ones(len(at)), (np.asarray(at, float) - middle) / half], axis=1)
    cover = np.linalg.inv(design(x).T @ (design(x) * np.asarray(weights)[:, None]))
    return lambda at: np.sqrt(scale * np.einsum("ni,ij,nj->n", design(at), cover, design(at)))


def _measure_strength(x, residuals):
    """Strength of a trace's error, one that wanders and is not new at each point: the residuals' variance times twice
    the distance over which they agree with themselves."""
    step = x[1] - x[0]
    thin = max(len(residuals) // 400, 1)            # agreement is sought over tens of mm, not at every point
    step, r = step * thin, residuals[::thin] - residuals.mean()
    size = len(r)
    agree = np.correlate(r, r, "full")[size - 1:]
    agree = agree / max(agree[0], 1e-30)
    stop = int(np.argmax(agree <= 0)) or size
    return float(np.mean(r ** 2)) * step * max(2 * float(np.sum(agree[:stop])) - 1, 1.0)


def _make_error(fit, strength):
    """Standard error of a spline, as a function of x."""
    def error(at):
        first, values = evaluate_basis(np.asarray(at, float), fit.spline.knots, fit.spline.degree)
        index = first[:, None] + np.arange(values.shape[1])
        inner = np.einsum("ni,nij,nj->n", values, fit.covariance[index[:, :, None], index[:, None, :]], values)
        return np.sqrt(strength * np.maximum(inner, 0.0))
    return error
