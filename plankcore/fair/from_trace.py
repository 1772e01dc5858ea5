"""Fairing of one edge known by a dense trace."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry import arrays
from ..geometry.bezier import fit_cubics
from ..geometry.curve import Curve
from ..geometry.smoothing import SplineFit, StrayFailure, evaluate_basis, fit_robustly, space_knots, wave_to_penalty
from ..geometry.wander import LEAST_WANDER_MM, Wander, find_wander, fit_end_through_wander, fit_through_wander, thin_run

if TYPE_CHECKING:
    from typing import Callable, Mapping, Sequence

    from ..geometry.arrays import ArrayLike, Numbers, Point, Points, Values
    from .fair import FairSettings

    EdgeFunction = Callable[[Values, int], Values]   # at x, which derivative -> y
    EdgeError = Callable[[Values], Values]           # at x -> standard error, mm
    Lost = tuple[float, float, tuple[float, ...]]    # of a trace, what was ignored: length, farthest off, mm, where

__all__ = ["Chart", "FairedEdge", "fair_trace", "fair_traces", "measure_bow", "measure_line_error", "read_line"]

ORDER = 4
DEGREE = 5
CORNER_MM = 4.0            # a traced corner is rounded: this much is left out at the ends of each edge
STRAY_MM = 1.5             # points of a trace farther off the edge than this are ignored
# beyond this distance a point's weight is under a twentieth: it counts as ignored
LOST_MM = STRAY_MM * (1 - 0.05 ** 0.5) ** 0.5
_LOOK_MM = 0.5             # spacing of the points at which a trace's distance from the edge is measured
_FINE_MM = 1e-4            # tolerance of the drawn edge's chords for that: the record prints the distance to 0.01 mm
RUN_ON_MM = 60.0
_HAIR_MM = 1e-6
_CLOSE = 0.5               # in an end, waves shorter than this share of its length are taken to be the pen's
_LARGER = 1.6  # an end that wanders this many times as much as the long edges gets its own estimate of the pen


@dataclass(frozen=True, eq=False, repr=False)
class Chart:
    """Axes laid along an edge: origin, unit direction along, unit direction across, (2,) mm each.

    Laid from the edge's own ends, so that a turned page or a shifted start changes nothing.
    """

    origin: Point
    along: Point
    across: Point

    @classmethod
    def lay(cls, start: ArrayLike, end: ArrayLike) -> Chart:
        """The chart whose x axis runs from start to end."""
        start, end = np.asarray(start, float), np.asarray(end, float)
        along = (end - start) / np.hypot(*(end - start))
        return cls(start, along, np.array([-along[1], along[0]]))

    def read(self, points: ArrayLike) -> tuple[Values, Values]:
        """x along and y across of points (n, 2)."""
        away = np.asarray(points, float) - self.origin
        return away @ self.along, away @ self.across

    def place(self, x: Numbers, y: Numbers) -> Points:
        """Points (n, 2) on the page."""
        return self.origin + np.outer(x, self.along) + np.outer(y, self.across)


@dataclass(frozen=True, eq=False, repr=False)
class FairedEdge:
    """An edge as a function on its chart, before corners are cut, with its report."""

    chart: Chart
    function: EdgeFunction
    low: float
    high: float
    points: Points                # marks or trace it was faired from, (n, 2) mm on the page
    degrees_of_freedom: float
    measure_error: EdgeError
    straight: bool = False
    reach_mm: float = RUN_ON_MM       # how far past its marks or trace it may be extended to meet its neighbour
    spacing_mm: float = 0.0           # spacing of its marks; 0 for a trace
    knuckles: tuple[float, ...] = ()  # places x where it turns
    wave_mm: float = 0.0              # wave length that its marks support; of a trace the shortest allowed
    told: str = ""                    # 'straight', or the line that the user made it follow
    wander: Wander | None = None      # wander of the pen that traced it
    lost: Lost | None = None

    def measure_off_mm(self, curve: Curve, points: ArrayLike) -> Values:
        """How far points (n, 2) lie off the edge as it is drawn, square to it; (n,) mm, positive towards the chart's
        `across`."""
        along, across = self.chart.read(curve.flatten(tolerance_mm=_FINE_MM))
        x, y = self.chart.read(points)
        lean = np.interp(x, along, np.gradient(across, along))
        return (y - np.interp(x, along, across)) / np.hypot(1.0, lean)

    def measure_band_mm(self, start: Point, end: Point) -> float:
        """Largest standard error of the edge between two of its points, (2,) each."""
        first, last = self.chart.read(np.stack([start, end]))[0]
        return float(np.max(self.measure_error(np.linspace(first, last, 41))))

    def path(self, x: Values, derivative: int) -> Points:
        """Points or derivatives by x, as bezier.fit_cubics wants them."""
        y = self.function(x, derivative)
        if derivative == 0:
            return self.chart.place(x, y)
        return np.outer(np.full(len(x), 1.0 if derivative == 1 else 0.0),
                        self.chart.along) + np.outer(y, self.chart.across)

    @property
    def first_point(self) -> Point:
        """Where the marks or the trace of the edge begin, (2,) mm."""
        return self.path(np.array([self.low]), 0)[0]

    @property
    def last_point(self) -> Point:
        """Where the marks or the trace of the edge end, (2,) mm."""
        return self.path(np.array([self.high]), 0)[0]

    def run_on(self) -> Curve:
        """The edge as a Curve, extended past both ends by reach_mm; accurate to half of tolerance.CURVE_MM."""
        cuts = [self.low - self.reach_mm, *self.knuckles, self.high + self.reach_mm]
        parts = []
        for first, last in zip(cuts[:-1], cuts[1:]):
            # at a knuckle each piece has its own direction: keep a hair away from it
            inner = (first + _HAIR_MM if parts else first, last - _HAIR_MM if last in self.knuckles else last)

            def path(x, derivative, inner=inner):
                return self.path(np.clip(x, *inner), derivative)
            parts.append(fit_cubics(path if self.knuckles else self.path, first, last,
                                    tolerance_mm=2 * arrays.FIT_MM))
        cubics = np.concatenate(parts)
        cubics[1:, 0] = cubics[:-1, 3]
        return Curve(cubics)


def fair_trace(name: str, runs: Sequence[Points], settings: FairSettings, *, is_end: bool) -> FairedEdge:
    """Fair one edge by itself: as `fair_traces`, with the pen's wander estimated on this edge alone."""
    return fair_traces({name: runs}, settings, ends=(name,) if is_end else ())[0][name]


def fair_traces(traces: Mapping[str, Sequence[Points]], settings: FairSettings, *,
                ends: Sequence[str] = ("fore", "aft")) -> tuple[dict[str, FairedEdge], Wander | None]:
    """Fair edges known by dense runs of points: one line each, or both edges of a thick line, whose middle is meant.

    The pen's wander (see geometry.wander) is estimated on the long edges, or on the ends where no long edge is traced;
    each edge is then the best linear estimate given that wander. An end that bows less than the honest error is
    straight; one that bows more stays curved.

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
        If a trace doubles back, or no fair edge runs near most of it; with the place.
    """
    read = {name: _read_trace(name, runs, settings, is_end=name in ends) for name, runs in traces.items()}
    long = [t for t in read.values() if not t.is_end]
    wander = _find_wander(long or list(read.values())) if read else None
    return {name: _finish_trace(t, wander, settings) for name, t in read.items()}, wander


@dataclass(frozen=True, eq=False, repr=False)
class _Traced:
    """A trace on its chart with a first, ordinary smoothing fit: evenly spaced x, heights y (n,), and the wave and
    order of the penalty."""

    chart: Chart
    charted: list[tuple[Values, Values]]
    low: float
    high: float
    margin: float
    x: Values
    y: Values
    wave: float
    order: int
    fit: SplineFit
    is_end: bool

    @property
    def says(self) -> Values:
        """Weight of each place, 0 to 1."""
        return self.fit.weights / (self.x[1] - self.x[0])

    def thin(self) -> tuple[Values, Values, Values]:
        """Fewer places, heights and weights, for fits with a full covariance matrix: each place takes the mean of its
        neighbours' residuals from the first fit."""
        x, left, says = thin_run(self.x, self.left, self.says)
        return x, self.fit.spline.evaluate(x) + left, says

    @property
    def left(self) -> Values:
        """Residuals of the first fit, 0 where a place has no weight."""
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
    # two hundred points describe a wave well
    x = np.linspace(low + margin, high - margin, max(int((high - low - 2 * margin) / max(wave / 200, 0.5)), 20) + 1)
    y = np.mean([_read_across(x, *c) for c in charted], axis=0)
    try:
        fit = _fit_wave(x, y, np.full(len(x), x[1] - x[0]), low=low, high=high, wave=wave, order=order)
    except StrayFailure as failure:
        point = chart.place(x[failure.worst:failure.worst + 1], y[failure.worst:failure.worst + 1])[0]
        raise PatternError("The %s edge is no line to be faired: %.0f %% of it lies more than %.1f mm off any run "
                           "without waves shorter than %.0f mm." % (name, 100 * failure.share, STRAY_MM, wave),
                           "Draw it again without its teeth or steps, or give a shorter wave.",
                           tuple(map(float, point))) from None
    return _Traced(chart, charted, low, high, margin=margin, x=x, y=y, wave=wave, order=order, fit=fit, is_end=is_end)


def _find_wander(traced):
    """The wander of the pen that drew these, or None where it is negligible."""
    if not any(t.is_end for t in traced):
        runs, wave = [thin_run(t.x, t.left) for t in traced], min(t.wave for t in traced)
    else:
        # the residuals of a bowed end would hold part of its bow: a closer fit leaves only the pen's short waves
        runs = [thin_run(t.x, _follow_end(t)) for t in traced]
        wave = _CLOSE * min(t.high - t.low for t in traced)
    found = find_wander(runs, wave_mm=wave, order=traced[0].order)
    return None if found is None or found.sd_mm ** 2 + found.white_mm ** 2 < LEAST_WANDER_MM ** 2 else found


def _follow_end(traced):
    """Residuals of an end from a fit that follows every wave longer than half the end."""
    x, y = traced.x, traced.y
    try:
        fit = _fit_wave(x, y, np.full(len(x), x[1] - x[0]), low=traced.low, high=traced.high,
                        wave=_CLOSE * (traced.high - traced.low), order=traced.order)
    except StrayFailure:
        return traced.left
    return np.where(fit.weights > 0.05 * (x[1] - x[0]), fit.residuals, 0.0)


def _finish_trace(traced, wander, settings):
    """The FairedEdge of a trace, given the wander of its pen."""
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
    points, lost = _gather_trace(traced, function)
    return FairedEdge(traced.chart, function, low, high, points=points, degrees_of_freedom=freedom,
                      measure_error=error, straight=straight, wander=wander, lost=lost, wave_mm=traced.wave)


def _fit_end(traced, wander, settings):
    """(fit of an end, whether it is straight, the Wander used, its standard error). The wander is that of the long
    edges, or the end's own where that is much larger; a straight end's error includes the bow that it may have."""
    own = float(np.sqrt(np.mean(_follow_end(traced) ** 2)))
    # no line is known better than this; how far its errors are correlated then hardly matters
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


def _fit_wave(x, y, weights, *, low, high, wave, order):
    """A robust fit that keeps a wave of this length at half its height."""
    # knots a sixth of the wave apart change the result by 1e-4 mm; coarser ones by more
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


def read_line(slope: float, level: float) -> EdgeFunction:
    """A straight edge as a function on its chart."""
    def function(x, derivative):
        return (slope * x + level, np.full(len(x), slope), np.zeros(len(x)))[min(derivative, 2)]
    return function


def measure_bow(function: EdgeFunction, low: float, high: float) -> float:
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


def _gather_trace(traced, function):
    """Points of a trace (n, 2) that its edge was fitted to, and the part that was ignored as Lost, or None."""
    chart, low, high = traced.chart, traced.low + traced.margin, traced.high - traced.margin
    x = np.linspace(low, high, max(int((high - low) / _LOOK_MM), 20) + 1)
    y = np.mean([_read_across(x, *c) for c in traced.charted], axis=0)
    height = function(x, 0)
    off = np.abs(y - height) / np.hypot(1.0, np.gradient(height, x))
    counts = off < LOST_MM
    if counts.all() or not counts.any():
        return chart.place(x, y), None
    worst = int(np.argmax(np.where(counts, -1.0, off)))
    place = chart.place(x[worst:worst + 1], y[worst:worst + 1])[0]
    length = float(np.count_nonzero(~counts)) * (x[1] - x[0])
    return chart.place(x[counts], y[counts]), (length, float(off[worst]), tuple(map(float, place)))


def measure_line_error(x: Values, weights: Values, *, scale: float = 1.0) -> EdgeError:
    """Standard error of a straight line fitted to points, as a function of x.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Places of the points.
    weights : ndarray, shape (n,)
        One over the square of their errors, for a scale of 1.
    scale : float
        Factor for the squares of the errors.
    """
    middle, half = float(np.mean(x)), max(float(np.ptp(x)) / 2, 1e-9)

    def design(at):
        return np.stack([np.ones(len(at)), (np.asarray(at, float) - middle) / half], axis=1)
    cover = np.linalg.inv(design(x).T @ (design(x) * np.asarray(weights)[:, None]))
    return lambda at: np.sqrt(scale * np.einsum("ni,ij,nj->n", design(at), cover, design(at)))


def _measure_strength(x, residuals):
    """Spectral strength of a trace's error, which is correlated from point to point: the residuals' variance times
    twice their correlation length."""
    step = x[1] - x[0]
    thin = max(len(residuals) // 400, 1)            # correlation matters over tens of mm: not every point is needed
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
