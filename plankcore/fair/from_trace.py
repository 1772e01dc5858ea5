"""Fairing of one edge known by a dense trace."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from ..errors import PatternError
from ..geometry import tolerance
from ..geometry.bezier import fit_cubics
from ..geometry.curve import Curve
from ..geometry.smoothing import SplineFit, StrayFailure, evaluate_basis, fit_robustly, space_knots, wave_to_penalty
from ..geometry.wander import LEAST_WANDER_MM, Wander, find_wander, fit_end_through_wander, fit_through_wander, thin_run

__all__ = ["Chart", "FairedEdge", "fair_trace", "fair_traces", "measure_bow", "measure_line_error", "read_line"]

ORDER = 4
DEGREE = 5
CORNER_MM = 4.0            # rounding of a traced corner: left out of the edges that meet there
STRAY_MM = 1.5             # trace further off than this is not part of the edge
LOST_MM = STRAY_MM * (1 - 0.05 ** 0.5) ** 0.5      # as good as not: its say is under a twentieth
_LOOK_MM = 0.5             # how closely a trace is looked at for how far it lies off
_FINE_MM = 1e-4            # chords of the drawn edge there: the record prints it to 0.01 mm
RUN_ON_MM = 60.0
_HAIR_MM = 1e-6
_CLOSE = 0.5               # of its length: shorter waves in an end are the pen's
_LARGER = 1.6              # an end that wanders so much more than the long edges is drawn by another pen


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
    wander: Wander | None = None      # of the pen that traced it
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
    """Fair one edge by itself: as `fair_traces`, with the wander found on this edge alone."""
    return fair_traces({name: runs}, settings, ends=(name,) if is_end else ())[0][name]


def fair_traces(traces, settings, *, ends=("fore", "aft")):
    """Fair edges known by dense runs of points: one line each, or both edges of a thick line, whose middle is meant.

    The pen's wander is found on the long edges, and on the ends where none is traced; each edge is then the best
    linear curve for it. An end that bows less than the honest error is straight; one that bows more stays curved.

    Parameters
    ----------
    traces : dict of str to sequence of ndarray (n, 2), mm
    ends : names of the edges that are ends

    Returns
    -------
    edges : dict of str to FairedEdge
    wander : Wander or None
        None where no line wanders.

    Raises
    ------
    PatternError
        If a trace doubles back, or most of it lies off any fair edge; with the place.
    """
    read = {name: _read_trace(name, runs, settings, is_end=name in ends) for name, runs in traces.items()}
    long = [t for t in read.values() if not t.is_end]
    wander = _find_wander(long or list(read.values())) if read else None
    return {name: _finish_trace(t, wander, settings) for name, t in read.items()}, wander


@dataclass(frozen=True, eq=False, repr=False)
class _Traced:
    """A trace on its chart with a first, plain fit: even places x, heights y (n,), and how it was penalised."""

    chart: Chart
    charted: list
    low: float
    high: float
    margin: float
    x: np.ndarray
    y: np.ndarray
    wave: float
    order: int
    fit: SplineFit
    is_end: bool

    @property
    def says(self):
        """How much say each place has, 0 to 1."""
        return self.fit.weights / (self.x[1] - self.x[0])

    def thin(self):
        """Fewer places, heights and says, for fits that take each with all others: each stands for its neighbours, by
        the mean of what the plain fit leaves of them."""
        x, left, says = thin_run(self.x, self.left, self.says)
        return x, self.fit.spline.evaluate(x) + left, says

    @property
    def left(self):
        """What the plain fit leaves over, 0 where a place has no say."""
        return np.where(self.says > 0.05, self.fit.residuals, 0.0)


def _read_trace(name, runs, settings, *, is_end):
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
    try:
        fit = _fit_wave(x, y, np.full(len(x), x[1] - x[0]), low, high, wave=wave, order=order)
    except StrayFailure as failure:
        point = chart.place(x[failure.worst:failure.worst + 1], y[failure.worst:failure.worst + 1])[0]
        raise PatternError("The %s edge is no line to be faired: %.0f %% of it lies more than %.1f mm off any run "
                           "without waves shorter than %.0f mm." % (name, 100 * failure.share, STRAY_MM, wave),
                           "Draw it again without its teeth or steps, or give a shorter wave.",
                           tuple(map(float, point))) from None
    return _Traced(chart, charted, low, high, margin, x, y, wave, order, fit, is_end)


def _find_wander(traced):
    """The wander of the pen that drew these, or None where it is next to nothing."""
    if not any(t.is_end for t in traced):
        runs, wave = [_pair(t.x, t.left) for t in traced], min(t.wave for t in traced)
    else:
        # what a fit leaves of a bowed end is partly its bow: one that follows closer leaves the pen's short waves alone
        runs = [_pair(t.x, _follow_end(t)) for t in traced]
        wave = _CLOSE * min(t.high - t.low for t in traced)
    found = find_wander(runs, wave_mm=wave, order=traced[0].order)
    return None if found is None or found.sd_mm ** 2 + found.white_mm ** 2 < LEAST_WANDER_MM ** 2 else found


def _pair(x, left):
    places, means = thin_run(x, left)
    return places, means


def _follow_end(traced):
    """What a fit of an end leaves over that follows every wave longer than half of it."""
    x, y = traced.x, traced.y
    try:
        fit = _fit_wave(x, y, np.full(len(x), x[1] - x[0]), traced.low, traced.high,
                        wave=_CLOSE * (traced.high - traced.low), order=traced.order)
    except StrayFailure:
        return traced.left
    return np.where(fit.weights > 0.05 * (x[1] - x[0]), fit.residuals, 0.0)


def _finish_trace(traced, wander, settings):
    """The FairedEdge of a trace, by the wander of its pen."""
    low, high, x = traced.low, traced.high, traced.x
    straight = False
    if traced.is_end:
        fit, straight, wander, error = _fit_end(traced, wander, settings)
        function = _read_spline(fit.spline)
        if straight:
            ends = fit.spline.evaluate(x[[0, -1]])
            slope = float((ends[1] - ends[0]) / (x[-1] - x[0]))
            function = read_line(slope, float(ends[0] - slope * x[0]))
        freedom = fit.degrees_of_freedom
    elif wander is None:
        fit = traced.fit
        function, freedom = _read_spline(fit.spline), fit.degrees_of_freedom
        error = _make_error(fit, _measure_strength(x, fit.residuals))
    else:
        places, heights, says = traced.thin()
        fit = fit_through_wander(places, heights, says, wander, wave_mm=traced.wave, order=traced.order,
                                 knots=traced.fit.spline.knots, degree=DEGREE)
        function, error, freedom = _read_spline(fit.spline), fit.measure_error, fit.degrees_of_freedom
    points, lost = _gather_trace(traced.chart, traced.charted, function, low + traced.margin, high - traced.margin)
    return FairedEdge(traced.chart, function, low, high, points, freedom, error, straight, wander=wander,
                      lost=lost, wave_mm=traced.wave)


def _fit_end(traced, wander, settings):
    """An end by the wander of the long edges, or by its own where it is larger; whether it is straight; that wander;
    and its error, of a straight one with the bow that it may have.
    """
    own = float(np.sqrt(np.mean(_follow_end(traced) ** 2)))
    # no line is known better than this, and how alike its errors are then hardly matters
    used = wander or Wander(LEAST_WANDER_MM, 0.1 * (traced.high - traced.low))
    if own > _LARGER * np.hypot(used.sd_mm, used.white_mm):
        used = wander = (_find_wander([traced]) or used).raise_to(own)
    x, y, says = traced.thin()
    curve, line = fit_end_through_wander(x, y, says, used, wave_mm=traced.wave, knots=traced.fit.spline.knots,
                                         degree=DEGREE)
    if measure_bow(_read_spline(curve.spline), traced.low, traced.high) >= settings.honest_error_mm:
        return curve, False, wander, curve.measure_error

    def error(at):
        return np.hypot(line.measure_error(at), line.spline.evaluate(at) - curve.spline.evaluate(at))
    return line, True, wander, error


def _fit_wave(x, y, weights, low, high, *, wave, order):
    """A robust fit that keeps half of a wave of this length."""
    # coarser knots would bend the answer: a sixth of the wave changes it by 1e-4 mm
    knots = space_knots(low - RUN_ON_MM, high + RUN_ON_MM, spacing=max(wave / 6, (high - low) / 300), degree=DEGREE)
    return fit_robustly(x, y, penalty=wave_to_penalty(wave, order=order), order=order, knots=knots, degree=DEGREE,
                        weights=weights, cut=STRAY_MM)


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
    height = function(x, 0)
    off = np.abs(y - height) / np.hypot(1.0, np.gradient(height, x))
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
