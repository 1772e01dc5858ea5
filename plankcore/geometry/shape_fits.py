"""Least-squares lines, parabolas and circles through traced points, each with a covariance that allows for correlated
errors (correlated_errors)."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .arrays import find_median
from .correlated_errors import propagate_error, trim_residuals

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import ArrayLike, Mask, Matrix, Point, Points, Values

__all__ = ["BowFit", "CircleFit", "LineFit", "fit_bow", "fit_circle", "fit_held_circle", "fit_line"]


@dataclass(frozen=True, eq=False, repr=False)
class LineFit:
    """A straight line through points.

    point : (2,), the middle of the points used. direction, normal : (2,), unit; the normal is to the left of travel, y
    down.
    rms, worst : of the points' distances; trimmed points count in worst, but not in rms.
    covariance : (2, 2) of the offset at `point` and of the slope. along, residuals, used : (n,), of the points in
    order.
    """

    point: Point
    direction: Point
    normal: Point
    rms: float
    worst: float
    covariance: Points
    along: Values
    residuals: Values
    used: Mask

    def propagate(self, gammas: Values) -> Points:
        """The covariance for another correlation of the residuals; see `propagate_error`."""
        return propagate_error(np.stack([np.ones(len(self.along)), self.along], axis=1), self.residuals, self.used,
                               gammas=gammas)

    def measure_error(self, along: float) -> float:
        """Standard error of the line's offset at a distance along it from `point`."""
        row = np.array([1.0, along])
        return float(np.sqrt(max(row @ self.covariance @ row, 0.0)))


@dataclass(frozen=True, eq=False, repr=False)
class CircleFit:
    """A circle. covariance : (2, 2), of the centre, where the radius was given; (3, 3) with the radius last where it
    was fitted."""

    centre: Point
    radius: float
    rms: float
    worst: float
    covariance: Matrix
    residuals: Values


@dataclass(frozen=True, eq=False, repr=False)
class BowFit:
    """A parabola over the chord of a run of points.

    curvature, error : at the middle, per mm, positive where the run bends to the left of travel; and its standard
    error.
    point, direction, normal : at the middle. offset_error : standard error across the line at the middle.
    """

    curvature: float
    error: float
    point: Point
    direction: Point
    normal: Point
    offset_error: float
    rms: float


def fit_line(points: Points, *, cut: float = 4.0, floor: float = 0.02, alone: bool = True) -> LineFit:
    """The least-squares line through points, those far off left out.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        In order along the line, three at least.
    cut, floor : float
        See `trim_residuals`; floor in mm.
    alone : bool
        Whether its covariance comes from its own residuals; False leaves it NaN, to be found later from several lines
        together.

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
        again = trim_residuals(off - find_median(off[used]), cut=cut, floor=floor)
        if np.array_equal(again, used) or np.count_nonzero(again) < max(3, 0.4 * len(points)):
            break
        used = again
    along = (points - middle) @ direction
    covariance = propagate_error(np.stack([np.ones(len(along)), along], axis=1), off,
                                 used) if alone else np.full((2, 2), np.nan)
    return LineFit(middle, direction, normal=normal, rms=float(np.sqrt(np.mean(off[used] ** 2))),
                   worst=float(np.abs(off).max()),
                   covariance=covariance, along=along, residuals=off, used=used)


def fit_bow(points: Points) -> BowFit:
    """Curvature, place and direction at the middle of a short run of points, from a parabola over its chord.

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
    return BowFit(float(2 * found[2] / stretch ** 3), float(2 * np.sqrt(covariance[2, 2])),
                  point=base + found[0] * line.normal,
                  direction=direction, normal=np.array([direction[1], -direction[0]]),
                  offset_error=float(np.sqrt(covariance[0, 0])),
                  rms=float(np.sqrt(np.mean(residuals[used] ** 2))))


def fit_held_circle(points: Points, *, radius: float, start: ArrayLike, most: int = 100) -> CircleFit:
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
        If the iteration does not converge.

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
    return CircleFit(centre, float(radius), rms=float(np.sqrt(np.mean(residuals[used] ** 2))),
                     worst=float(np.abs(residuals).max()),
                     covariance=propagate_error(ways, residuals, used), residuals=residuals)


def fit_circle(points: Points, *, start: Sequence[int], most: int = 100) -> CircleFit:
    """The circle nearest to points, radius free.

    start : (3,)
        Centre and radius to begin at. The covariance is (3, 3), the radius last. ValueError if the iteration does not
        converge.
    """
    points = np.asarray(points, float)

    def measure(state):
        away = points - state[:2]
        distance = np.hypot(away[:, 0], away[:, 1])
        return np.column_stack([away / np.maximum(distance, 1e-12)[:, None], np.ones(len(points))]), distance - state[2]

    state = _descend(np.array(start, float), measure, np.ones(len(points), bool), most)
    design, residuals = measure(state)
    return CircleFit(state[:2], float(state[2]), rms=float(np.sqrt(np.mean(residuals ** 2))),
                     worst=float(np.abs(residuals).max()),
                     covariance=propagate_error(design, residuals), residuals=residuals)


def _descend(state, measure, used, most):
    """Gauss-Newton with step halving; residuals decrease by design times step."""
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
