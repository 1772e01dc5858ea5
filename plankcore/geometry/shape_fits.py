"""Least-squares lines and circles through traced points, with errors that allow for points that err together.

A traced line's neighbouring points are off by nearly the same amount, so a fit through a thousand of them is not a
thousand times surer. The covariance of every fit here is propagated with the correlation seen in its own
residuals (a sandwich estimate; W. Newey and K. West, Econometrica 55 (1987) 703, from memory), summed up to the first
lag at which it dies out, and is never less than that of independent points.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["LineFit", "CircleFit", "BowFit", "fit_line", "fit_circle", "fit_held_circle", "fit_bow", "propagate_error", "pool_correlation", "measure_correlation",
           "trim_residuals"]

_MAD = 1.4826             # standard deviation of a normal deviate over its median absolute one
_LEAST_FREE = 0.25        # a fit that uses up more than the rest of its independent points has no error worth scaling


@dataclass(frozen=True, eq=False, repr=False)
class LineFit:
    """A straight line through points.

    point : (2,), the middle of the points used. direction, normal : (2,), unit; the normal is to the left of travel on a page with y down.
    rms, worst : of the points' distances, those trimmed left out of rms and kept in worst.
    covariance : (2, 2) of the offset at `point` and of the slope. along, residuals, used : (n,), of the points in order.
    """

    point: np.ndarray
    direction: np.ndarray
    normal: np.ndarray
    rms: float
    worst: float
    covariance: np.ndarray
    along: np.ndarray
    residuals: np.ndarray
    used: np.ndarray

    def propagate(self, gammas):
        """The covariance with another correlation of the residuals; see `propagate_error`."""
        return propagate_error(np.stack([np.ones(len(self.along)), self.along], axis=1), self.residuals, self.used, gammas=gammas)

    def measure_error(self, along):
        """Standard error of the line's offset at a distance along it from `point`."""
        row = np.array([1.0, along])
        return float(np.sqrt(max(row @ self.covariance @ row, 0.0)))


@dataclass(frozen=True, eq=False, repr=False)
class CircleFit:
    """A circle. covariance : (2, 2) of the centre where the radius was held, (3, 3) with the radius last where it was free."""

    centre: np.ndarray
    radius: float
    rms: float
    worst: float
    covariance: np.ndarray
    residuals: np.ndarray


@dataclass(frozen=True, eq=False, repr=False)
class BowFit:
    """A parabola over the chord of a run of points.

    curvature, error : at the middle, per mm, positive where the run bends to the left of travel; and its standard error.
    point, direction, normal : at the middle. offset_error : standard error across the line at the middle.
    """

    curvature: float
    error: float
    point: np.ndarray
    direction: np.ndarray
    normal: np.ndarray
    offset_error: float
    rms: float


def measure_correlation(residuals, used, most):
    """Sums of products of residuals by lag 0, 1, .. most - 1, and how many pairs each sums, for residuals in order along a line."""
    e = np.where(used, residuals, 0.0)
    lags = range(min(most, len(e)))
    return (np.array([float(e[lag:] @ e[:len(e) - lag]) for lag in lags]),
            np.array([np.count_nonzero(used[lag:] & used[:len(e) - lag]) for lag in lags]))


def pool_correlation(fits):
    """Mean product of residuals by lag over several LineFits of one tracing, from lag 0 to the first that is not positive."""
    fits = list(fits)
    most = max((len(f.residuals) // 2 for f in fits), default=0)
    sums, pairs = np.zeros(most), np.zeros(most)
    for fit in fits:
        products, count = measure_correlation(fit.residuals, fit.used, len(fit.residuals) // 2)
        sums[:len(products)] += products
        pairs[:len(count)] += count
    mean = sums / np.maximum(pairs, 1)
    end = np.flatnonzero(mean <= 0)
    return mean[:int(end[0])] if len(end) else mean


def propagate_error(design, residuals, used=None, *, gammas=None):
    """Covariance of the parameters of a linear fit from its residuals, which stand in order along a line.

    Parameters
    ----------
    design : ndarray, shape (n, p)
        Change of each residual by each parameter, either sign.
    residuals : ndarray, shape (n,)
    used : ndarray of bool, shape (n,), optional
        False for points that had no say.
    gammas : ndarray, optional
        Mean product of residuals by lag, from more data of the same kind; raised where these residuals themselves are larger.

    Returns
    -------
    ndarray, shape (p, p)
    """
    used = np.ones(len(residuals), bool) if used is None else used
    count, free = np.count_nonzero(used), design.shape[1]
    g = np.where(used[:, None], design, 0.0)
    square = g.T @ g
    products, pairs = measure_correlation(residuals, used, len(residuals) // 2)
    base = float(products[0]) / max(count, 1)
    if gammas is None:
        gammas = products / np.maximum(pairs, 1)
    elif len(gammas) and base < gammas[0]:
        base = float(gammas[0])
    else:
        gammas = gammas * (base / gammas[0] if len(gammas) else 0.0)
    if base <= 0 or count <= free:
        return np.zeros((free, free)) if base <= 0 else np.full((free, free), np.inf)
    rest = np.zeros((free, free))
    for lag in range(1, min(len(gammas), len(residuals))):
        if gammas[lag] <= 0:
            break
        cross = g[lag:].T @ g[:-lag]
        rest += gammas[lag] * (cross + cross.T)
    # in axes where the fit's own matrix is the unit: what correlation adds there is never negative
    root = np.linalg.cholesky(square)
    back = np.linalg.inv(root)
    sizes, ways = np.linalg.eigh(back @ rest @ back.T / base)
    sizes = np.maximum(sizes, 0.0)
    grown = root @ (np.eye(free) + (ways * sizes) @ ways.T) @ root.T
    together = 1.0 + float(np.mean(sizes))
    scale = base / max(1.0 - free * together / count, _LEAST_FREE)
    inverse = np.linalg.inv(square)
    return scale * inverse @ grown @ inverse


def trim_residuals(residuals, *, cut=4.0, floor=0.02):
    """Which residuals are believed: those within `cut` robust standard deviations (from the median absolute one), or within cut times floor."""
    size = np.abs(residuals)
    return size <= cut * max(_MAD * float(np.median(size)), floor)


def fit_line(points, *, cut=4.0, floor=0.02):
    """The line with the least squared distances from points, those far off left out.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        In order along the line, three at least.
    cut, floor : float
        See `trim_residuals`; floor in mm.

    Returns
    -------
    LineFit
        Running from the first point towards the last.

    Raises
    ------
    ValueError
        With fewer than three points, or all in one place.
    """
    points = np.asarray(points, float)
    if len(points) < 3 or np.ptp(points, axis=0).max() <= 0:
        raise ValueError("a line takes three points at different places")
    used = np.ones(len(points), bool)
    for _ in range(4):
        middle = points[used].mean(axis=0)
        direction = np.linalg.svd(points[used] - middle, full_matrices=False)[2][0]
        if direction @ (points[-1] - points[0]) < 0:
            direction = -direction
        normal = np.array([direction[1], -direction[0]])
        off = (points - middle) @ normal
        again = trim_residuals(off - np.median(off[used]), cut=cut, floor=floor)
        if np.array_equal(again, used) or np.count_nonzero(again) < max(3, 0.4 * len(points)):
            break
        used = again
    along = (points - middle) @ direction
    covariance = propagate_error(np.stack([np.ones(len(along)), along], axis=1), off, used)
    return LineFit(middle, direction, normal, float(np.sqrt(np.mean(off[used] ** 2))), float(np.abs(off).max()), covariance, along, off, used)


def fit_bow(points):
    """Bend, place and direction at the middle of a short run of points, from a parabola over its chord.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        In order; five at least.

    Returns
    -------
    BowFit
    """
    points = np.asarray(points, float)
    if len(points) < 5:
        raise ValueError("a bow takes five points")
    line = fit_line(points, cut=1e9)
    middle = (points[0] + points[-1]) / 2
    x = (points - middle) @ line.direction
    y = (points - line.point) @ line.normal
    design = np.stack([np.ones(len(x)), x, x ** 2], axis=1)
    used = np.ones(len(x), bool)
    for _ in range(3):
        found = np.linalg.lstsq(design[used], y[used], rcond=None)[0]
        residuals = y - design @ found
        again = trim_residuals(residuals)
        if np.array_equal(again, used) or np.count_nonzero(again) < max(5, 0.6 * len(x)):
            break
        used = again
    covariance = propagate_error(design, residuals, used)
    slope = found[1]
    stretch = np.hypot(1.0, slope)
    direction = (line.direction + slope * line.normal) / stretch
    base = line.point + line.direction * ((middle - line.point) @ line.direction)
    return BowFit(float(2 * found[2] / stretch ** 3), float(2 * np.sqrt(covariance[2, 2])), base + found[0] * line.normal,
                  direction, np.array([direction[1], -direction[0]]), float(np.sqrt(covariance[0, 0])), float(np.sqrt(np.mean(residuals[used] ** 2))))


def fit_held_circle(points, *, radius, start, most=100):
    """The circle of known radius nearest to points: its centre by Gauss-Newton, with the centre's covariance.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        In order along the arc.
    radius : float
        mm, held.
    start : (2,)
        A place near the centre, on its side of the arc.

    Returns
    -------
    CircleFit

    Raises
    ------
    ValueError
        If no centre is settled on.

    Notes
    -----
    For n independent points with error s, even over an arc that subtends 2a about the y axis, the errors of the centre
    are s / sqrt(n (1/2 - sin 2a / 4a)) along x and s / sqrt(n (1/2 + sin 2a / 4a)) along y: from the normal equations.
    """
    points = np.asarray(points, float)

    def measure(centre):
        away = points - centre
        distance = np.hypot(away[:, 0], away[:, 1])
        return away / np.maximum(distance, 1e-12)[:, None], distance - radius

    centre = np.array(start, float)
    used = np.ones(len(points), bool)
    for _ in range(3):
        centre = _descend(centre, measure, used, most)
        ways, residuals = measure(centre)
        again = trim_residuals(residuals)
        if np.array_equal(again, used) or np.count_nonzero(again) < max(4, 0.6 * len(points)):
            break
        used = again
    return CircleFit(centre, float(radius), float(np.sqrt(np.mean(residuals[used] ** 2))), float(np.abs(residuals).max()),
                     propagate_error(ways, residuals, used), residuals)


def fit_circle(points, *, start, most=100):
    """The circle nearest to points, radius free.

    start : (3,)
        Centre and radius to begin at. Covariance is (3, 3), the radius last. ValueError if none is settled on.
    """
    points = np.asarray(points, float)

    def measure(state):
        away = points - state[:2]
        distance = np.hypot(away[:, 0], away[:, 1])
        return np.column_stack([away / np.maximum(distance, 1e-12)[:, None], np.ones(len(points))]), distance - state[2]

    state = _descend(np.array(start, float), measure, np.ones(len(points), bool), most)
    design, residuals = measure(state)
    return CircleFit(state[:2], float(state[2]), float(np.sqrt(np.mean(residuals ** 2))), float(np.abs(residuals).max()),
                     propagate_error(design, residuals), residuals)


def _descend(state, measure, used, most):
    """Gauss-Newton with halved steps; residuals fall by design times step."""
    design, residuals = measure(state)
    cost = float(residuals[used] @ residuals[used])
    for _ in range(most):
        step = np.linalg.lstsq(design[used], residuals[used], rcond=None)[0]
        share = 1.0
        while share > 1e-6:
            trial = state + share * step
            design_new, residuals_new = measure(trial)
            cost_new = float(residuals_new[used] @ residuals_new[used])
            if np.isfinite(cost_new) and cost_new <= cost * (1 + 1e-12):
                break
            share /= 2
        else:
            return state
        moved = float(np.abs(trial - state).max())
        state, design, residuals, cost = trial, design_new, residuals_new, cost_new
        if moved < 1e-9:
            return state
    if moved > 1e-3:
        raise ValueError("no circle was settled on")
    return state
