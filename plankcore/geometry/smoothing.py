"""Smoothing splines by penalised least squares on B-splines.

Minimise  sum w_i (y_i - f(x_i))^2 + lam * integral (f^(m))^2 dx.  With knots at the data sites and
degree 2m-1 this is exactly the smoothing spline of Schoenberg (1964) and Reinsch (Numer. Math.
10, 1967, doi:10.1007/BF02162161); with evenly spaced, much fewer knots it is the penalised
spline that stands in for it where there are thousands of points (P. Eilers and B. Marx,
Stat. Sci. 11, 1996, doi:10.1214/ss/1038425655, with the true integral as penalty).

Smoothness is set by a wave length L in mm, not by lam: for evenly spread points, a weight of one per mm and lam = (L /
2 pi)^(2m), a wave of length L keeps exactly half its height; shorter waves are lost, longer ones kept.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .curve import find_gauss_rule

if TYPE_CHECKING:
    from .arrays import ArrayLike, Indices, Matrix, Values

__all__ = [
    "Spline",
    "SplineFit",
    "StrayFailure",
    "evaluate_basis",
    "fit_penalised_spline",
    "fit_robustly",
    "knots_at_sites",
    "measure_roughness",
    "space_knots",
    "wave_to_penalty",
]

_LEAST_HEARD = 0.5        # a curve must run through at least this share of the points


class StrayFailure(ValueError):
    """No curve as smooth as asked for runs through the points: `worst` is the index of the farthest, `share` the part
    of them that lies off."""

    def __init__(self, worst: int, share: float) -> None:
        self.worst, self.share = worst, share
        super().__init__("%.0f %% of the points lie off any such curve" % (100 * share))


@dataclass(frozen=True, eq=False, repr=False)
class Spline:
    """A spline function: knots (n + degree + 1,), coefficients (n,), degree."""

    knots: Values
    coefficients: Values
    degree: int

    def __post_init__(self):
        for name in ("knots", "coefficients"):
            array = np.array(getattr(self, name), float)
            array.setflags(write=False)
            object.__setattr__(self, name, array)

    def evaluate(self, x: ArrayLike, *, derivative: int = 0) -> Values:
        """Values, or derivatives, at x (n,); beyond the ends the end pieces are extrapolated."""
        x = np.atleast_1d(np.asarray(x, float))
        knots, coefficients, degree = self.knots, self.coefficients, self.degree
        for _ in range(derivative):
            span = knots[degree + 1:-1] - knots[1:-degree - 1]
            coefficients = degree * np.diff(coefficients) / span
            knots, degree = knots[1:-1], degree - 1
        first, values = evaluate_basis(x, knots, degree)
        return np.sum(values * coefficients[first[:, None] + np.arange(degree + 1)], axis=1)


@dataclass(frozen=True, eq=False, repr=False)
class SplineFit:
    """A fitted spline, with its weights and errors.

    spline : Spline
    degrees_of_freedom : float
        Trace of the smoother matrix: how many free parameters the curve effectively has.
    weights : ndarray, shape (n,)
        Final weights; zero where a point was left out.
    residuals : ndarray, shape (n,)
        y - f(x).
    covariance : ndarray, shape (k, k)
        Of the coefficients, for a unit error of weight one.
    """

    spline: Spline
    degrees_of_freedom: float
    weights: Values
    residuals: Values
    covariance: Matrix


def space_knots(first: float, last: float, *, spacing: float, degree: int) -> Values:
    """Evenly spaced knots, those beyond the ends included, whose inner span covers [first, last]."""
    count = max(int(np.ceil((last - first) / spacing)), 1)
    step = (last - first) / count
    return first + step * np.arange(-degree, count + degree + 1)


def knots_at_sites(sites: Values, *, degree: int) -> Values:
    """Knots at the data sites (distinct, rising), those beyond the ends included, for the exact smoothing spline of
    that degree."""
    sites = np.asarray(sites, float)
    return np.concatenate([np.full(degree, sites[0]), sites, np.full(degree, sites[-1])])


def wave_to_penalty(wave: float, *, order: int) -> float:
    """lam that keeps half of a wave of this length, for a data weight of one per unit length."""
    return (wave / (2 * np.pi)) ** (2 * order)


def evaluate_basis(x: Values, knots: Values, degree: int) -> tuple[Indices, Matrix]:
    """The B-splines that are not zero at x: index of the first (n,), and their values (n, degree + 1).

    Cox and de Boor's recurrence (C. de Boor, A Practical Guide to Splines, ch. X), over all x at once.
    """
    last = len(knots) - degree - 2
    interval = np.clip(np.searchsorted(knots, x, side="right") - 1, degree, last)
    values = np.zeros((degree + 1, len(x)))
    values[0] = 1.0
    for d in range(1, degree + 1):
        saved = np.zeros(len(x))
        for r in range(d):
            right, left = knots[interval + r + 1], knots[interval + 1 - d + r]
            part = values[r] / (right - left)
            values[r] = saved + (right - x) * part
            saved = (x - left) * part
        values[d] = saved
    return interval - degree, values.T


def _gather(first, values, *, weights, y, width, size):
    """Normal matrix and right side of weighted least squares, band by band."""
    flat, side = np.zeros(size * size), np.zeros(size)
    weighted = values * weights[:, None]
    for i in range(width):
        row = first + i
        side += np.bincount(row, weighted[:, i] * y, minlength=size)[:size]
        for j in range(i, width):
            # the band j - i above the diagonal, as a view into the matrix
            flat[j - i::size + 1][:size - j + i] += np.bincount(row, weighted[:, i] * values[:, j],
                                                                minlength=size)[:size - j + i]
    upper = flat.reshape(size, size)
    return upper + np.triu(upper, 1).T, side


def _penalty_root(knots, degree, order):
    """Rows D such that the integral of (f^(m))^2 is |D c|^2, exact by Gauss nodes in each knot span."""
    nodes, weights = find_gauss_rule(degree - order + 1)
    spans = knots[degree:len(knots) - degree]
    spans = spans[np.concatenate([[True], np.diff(spans) > 0])]
    low, width = spans[:-1], np.diff(spans)
    x = (low[:, None] + width[:, None] * nodes).ravel()
    size = len(knots) - degree - 1
    # differentiate the basis: lower-degree basis values times the difference matrix
    difference, inner, d = np.eye(size), knots, degree
    for _ in range(order):
        span = inner[d + 1:-1] - inner[1:-d - 1]
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(span > 0, d / span, 0.0)
        difference = scale[:, None] * np.diff(difference, axis=0)
        inner, d = inner[1:-1], d - 1
    first, values = evaluate_basis(x, inner, d)
    rows = np.zeros((len(x), size - order))
    rows[np.arange(len(x))[:, None], first[:, None] + np.arange(d + 1)] = values
    return np.sqrt((width[:, None] * weights).ravel())[:, None] * (rows @ difference)


def measure_roughness(knots: Values, degree: int, order: int) -> Matrix:
    """The matrix R (n, n) with the integral of (f^(order))^2 = c R c for coefficients c on evenly spaced knots."""
    scale = (knots[-1] - knots[0]) / max(np.count_nonzero(np.diff(knots)), 1)
    root = _penalty_root((knots - knots[0]) / scale, degree, order)
    return root.T @ root / scale ** (2 * order - 1)


def fit_penalised_spline(x: Values, y: Values, *, penalty: float, order: int, knots: Values, degree: int,
                         weights: Values | None = None) -> SplineFit:
    """The smoothing spline: a compromise between closeness to the data and smoothness.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Data; x in any order.
    penalty : float
        lam. At 0 the least-squares spline on these knots; towards infinity the best polynomial of degree order - 1.
    order : int
        m: the derivative whose square is kept small.
    knots, degree : ndarray, int
        From `knots_at_sites` or `space_knots`.
    weights : ndarray, shape (n,), optional
        One over the square of each point's error, or its share of length.

    Returns
    -------
    SplineFit
    """
    weights = np.ones(len(x)) if weights is None else np.asarray(weights, float)
    problem = _Problem(x, y, penalty=penalty, order=order, knots=knots, degree=degree,
                       level=float(np.average(y, weights=weights)))
    return problem.finish(weights)


class _Problem:
    """A smoothing problem: data and knots, to be solved for one or more sets of weights."""

    def __init__(self, x, y, *, penalty, order, knots, degree, level):
        self.knots, self.degree, self.level = knots, degree, level
        self.y = np.asarray(y, float) - level
        # in units of the knot spacing, for a good condition number
        scale = (knots[-1] - knots[0]) / max(np.count_nonzero(np.diff(knots)), 1)
        unit = (knots - knots[0]) / scale
        self.first, self.values = evaluate_basis((np.asarray(x, float) - knots[0]) / scale, unit, degree)
        self.root = _penalty_root(unit, degree, order) * np.sqrt(penalty / scale ** (2 * order - 1))
        self.roughness = self.root.T @ self.root

    def gather(self, weights: Values) -> tuple[Matrix, Values]:
        return _gather(self.first, self.values, weights=weights, y=self.y, width=self.values.shape[1],
                       size=len(self.roughness))

    def measure_residuals(self, coefficients: Values) -> Values:
        return self.y - np.sum(self.values * coefficients[self.first[:, None] + np.arange(self.degree + 1)], axis=1)

    def solve(self, weights: Values) -> Values:
        """Coefficients only, for the rounds of reweighting."""
        matrix, side = self.gather(weights)
        return np.linalg.solve(matrix + self.roughness, side)

    def finish(self, weights: Values) -> SplineFit:
        """The whole SplineFit."""
        matrix, side = self.gather(weights)
        whole = matrix + self.roughness
        # where the penalty dominates, the normal matrix would lose half of the digits
        stiff = self.roughness.max() > 1e5 * matrix.max()
        inverse = _invert_by_root(matrix, whole, self.root) if stiff else np.linalg.inv(whole)
        coefficients = inverse @ side
        # one step of iterative refinement against rounding errors
        coefficients = coefficients + inverse @ (side - whole @ coefficients)
        spline = Spline(self.knots, coefficients + self.level, self.degree)
        return SplineFit(spline, float(np.sum(inverse * matrix)), weights=weights,
                         residuals=self.measure_residuals(coefficients),
                         covariance=inverse)


def _invert_by_root(matrix, whole, root):
    """Inverse of matrix + root' root, from a QR of the stacked roots: forming the sum would lose half of the digits."""
    values, vectors = np.linalg.eigh(matrix)
    upper = np.sqrt(np.maximum(values, 0.0))[:, None] * vectors.T
    r = np.linalg.qr(np.vstack([upper, root]), mode="r")
    try:
        back = np.linalg.inv(r)
    except np.linalg.LinAlgError:
        return np.linalg.pinv(whole)
    return back @ back.T


def fit_robustly(x: Values, y: Values, *, penalty: float, order: int, knots: Values, degree: int, weights: Values,
                 cut: float, rounds: int = 3) -> SplineFit:
    """A penalised fit that leaves out points far off the curve.

    Tukey's bisquare weights (P. Huber and E. Ronchetti, Robust Statistics, 2009), started at six
    times the cut and brought down to it, so that a short run of points off the curve, however far,
    ends with no weight at all.

    Parameters
    ----------
    cut : float
        Points farther off than this get no weight; at a third of it nearly their full weight.

    Returns
    -------
    SplineFit
        `weights` holds the final ones.

    Raises
    ------
    StrayFailure
        If more than half of the points lie further than the cut off the curve that was found.
    """
    x, y, weights = np.asarray(x, float), np.asarray(y, float), np.asarray(weights, float)
    level = float(np.average(y, weights=weights))
    # where there are many points per knot, the curve that points are judged by is found from a part of them
    thin = max(len(x) // (6 * len(knots)), 1)
    rough = _Problem(x[::thin], y[::thin], penalty=penalty / thin, order=order, knots=knots, degree=degree, level=level)
    coefficients = rough.solve(weights[::thin])
    for k in range(rounds):
        share = _share(rough.measure_residuals(coefficients), cut * max(6.0 * 0.3 ** k, 1.0))
        if np.count_nonzero(share) < max(_LEAST_HEARD * len(share), order + 2):
            break
        coefficients = rough.solve(weights[::thin] * share)
    whole = rough if thin == 1 else _Problem(x, y, penalty=penalty, order=order, knots=knots, degree=degree,
                                             level=level)
    off = whole.measure_residuals(coefficients)
    share = _share(off, cut)
    heard = np.count_nonzero(share) / len(share)
    if heard < _LEAST_HEARD:
        raise StrayFailure(int(np.argmax(np.abs(off))), 1 - heard)
    return whole.finish(weights * share)


def _share(residuals, limit):
    """Tukey's bisquare weight."""
    return np.clip(1 - (residuals / limit) ** 2, 0.0, 1.0) ** 2
