"""Plane maps fitted by least squares to points and lengths, with the standard error of any point they are applied to.

The maps and their parameters are those of map_models.py. Points whose true places are known only relative to each
other, such as the corners of a rectangle, form a frame; each frame but the first has its own rotation and shift as
further unknowns.

Gauss-Newton with Levenberg's damping; errors by the law of propagation, C = (J' W J)^-1 (any text on adjustment, for
instance E. Mikhail, Observations and Least Squares, 1976; memory).
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from .map_models import KINDS, Lens, MapModel
from .plane_maps import PlaneMap, fit_affine, fit_homography, fit_similarity

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Array, Indices, Matrix, Points, Values
    from .map_models import LensMap

__all__ = ["KINDS", "LengthSet", "MapFit", "PointSet", "fit_map", "limit_chi_square"]

_RARE_Z = 2.3263478740408408      # normal deviate exceeded with a chance of 1 percent
_STEPS = 200
_SETTLED = 1e-12
# standard error of a lens's middle about that of the points, as a share of their spread, where nothing better is known
_VAGUE = 0.1
# least over greatest singular value, with columns scaled to equal length, below which the fit is not determined
_SINGULAR = 1e-7


def _columns(values, shape):
    array = np.array(values, float).reshape(shape)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, eq=False, repr=False)
class PointSet:
    """source, target : (n, 2); errors : (n,) standard error of one coordinate of the target; frames : (n,) int, 0 the
    first.
    """

    source: Points = field(default_factory=lambda: np.zeros((0, 2)))
    target: Points = field(default_factory=lambda: np.zeros((0, 2)))
    errors: Values = field(default_factory=lambda: np.zeros(0))
    frames: Indices = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self):
        for name, shape in (("source", (-1, 2)), ("target", (-1, 2)), ("errors", -1)):
            object.__setattr__(self, name, _columns(getattr(self, name), shape))
        frames = np.zeros(len(self.source), int) if not len(self.frames) else np.array(self.frames, int)
        object.__setattr__(self, "frames", frames)


@dataclass(frozen=True, eq=False, repr=False)
class LengthSet:
    """ends : (m, 2, 2) in the source; lengths : (m,) true; errors : (m,) standard error of a length."""

    ends: Array = field(default_factory=lambda: np.zeros((0, 2, 2)))
    lengths: Values = field(default_factory=lambda: np.zeros(0))
    errors: Values = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self):
        for name, shape in (("ends", (-1, 2, 2)), ("lengths", -1), ("errors", -1)):
            object.__setattr__(self, name, _columns(getattr(self, name), shape))


@dataclass(frozen=True, eq=False, repr=False)
class MapFit:
    """A fitted map and its residuals.

    observations, unknowns : int
        Number of coordinates and lengths given, and of parameters fitted; freedom is the difference.
    chi_square : float
        Sum of (residual / standard error)^2.
    point_residuals : ndarray, shape (n, 2)
        Image minus target, the target turned into the map's own frame.
    length_residuals : ndarray, shape (m,)
    covariance : ndarray, shape (u, u)
        Covariance of the map's own parameters, for errors as stated.
    """

    kind: str
    plane_map: PlaneMap | LensMap
    observations: int
    unknowns: int
    chi_square: float
    point_residuals: Points
    length_residuals: Values
    covariance: Matrix
    model: MapModel = field(repr=False)
    parameters: Values = field(repr=False)

    @property
    def freedom(self) -> int:
        """Observations less unknowns."""
        return self.observations - self.unknowns

    @property
    def sigma0(self) -> float | None:
        """Root of chi-square over freedom, in units of the stated errors; None without spare observations, since it
        then proves nothing."""
        return float(np.sqrt(self.chi_square / self.freedom)) if self.freedom > 0 else None

    def predict_covariance(self, points: Sequence[tuple[float, int]]) -> Array:
        """Covariance (k, 2, 2) of the images of points (k, 2), for errors as stated."""
        jacobian = self.model.differentiate(self.parameters, np.atleast_2d(np.asarray(points, float)))
        return np.einsum("kiu,uv,kjv->kij", jacobian, self.covariance, jacobian)

    def measure_error(self, points: Sequence[tuple[float, int]]) -> Values:
        """Root mean square distance of the images of points (k, 2) from where they should be: root of the covariance's
        trace.
        """
        return np.sqrt(np.maximum(np.trace(self.predict_covariance(points), axis1=1, axis2=2), 0.0))

    def measure_shares(self, points: PointSet, lengths: LengthSet) -> tuple[Values, Array, Matrix]:
        """Residuals of points and lengths over their errors (2 n + m,), and their slopes by the map's numbers over the
        same: (n, 2, u) and (m, u).
        """
        residual, jacobian = _observe(self.model, self.parameters, points, lengths)
        count = len(points.source)
        return residual[:2 * count + len(lengths.ends)], jacobian[:2 * count].reshape(
            count, 2, self.model.size), jacobian[2 * count:2 * count + len(lengths.ends)]

    def measure_scale(self) -> tuple[float, float]:
        """Root of the map's magnification of area at its middle, and its standard error."""
        linear, slopes = self.model.spread(self.parameters)[:2]
        size = float(np.sqrt(abs(np.linalg.det(linear)))) / self.model.reach
        inverse = np.linalg.inv(linear)
        gradient = np.zeros(len(self.covariance))
        gradient[:len(slopes)] = [0.5 * size * np.trace(inverse @ s) for s in slopes]
        return size, float(np.sqrt(gradient @ self.covariance @ gradient))


def _observe(model, q, points, lengths):
    """Residuals over their errors, and their slopes by q."""
    rows, slopes = [], []
    if len(points.source):
        images, jacobian = model.image(q, points.source), model.differentiate(q, points.source)
        residual = images - (points.target - model.origin)
        for frame in range(1, model.frames + 1):
            mine = points.frames == frame
            at = model.own + 3 * (frame - 1)
            c, s = np.cos(q[at]), np.sin(q[at])
            own = points.target[mine]
            residual[mine] = images[mine] - own @ np.array([[c, s], [-s, c]]) - q[at + 1:at + 3]
            jacobian[mine, :, at] = -own @ np.array([[-s, c], [-c, -s]])
            jacobian[mine, :, at + 1:at + 3] = -np.eye(2)
        rows.append((residual / points.errors[:, None]).ravel())
        slopes.append((jacobian / points.errors[:, None, None]).reshape(-1, model.size))
    if len(lengths.ends):
        first, second = model.image(q, lengths.ends[:, 0]), model.image(q, lengths.ends[:, 1])
        across = second - first
        size = np.maximum(np.hypot(*across.T), 1e-300)
        change = model.differentiate(q, lengths.ends[:, 1]) - model.differentiate(q, lengths.ends[:, 0])
        rows.append((size - lengths.lengths) / lengths.errors)
        slopes.append(np.einsum("mi,miu->mu", across / size[:, None], change) / lengths.errors[:, None])
    if model.known:
        residual, jacobian = model.observe_own(q)
        rows.append(residual)
        slopes.append(jacobian)
    return np.concatenate(rows), np.concatenate(slopes)


def _solve(model, q, points, lengths):
    """The parameters that minimise the sum of squares, from a start."""
    residual, jacobian = _observe(model, q, points, lengths)
    cost, damping = residual @ residual, 0.0
    for _ in range(_STEPS):
        size = np.maximum(np.linalg.norm(jacobian, axis=0), 1e-300)
        scaled = jacobian / size
        step = np.linalg.lstsq(np.vstack([scaled, np.sqrt(damping) * np.eye(model.size)]),
                               np.concatenate([-residual, np.zeros(model.size)]), rcond=1e-12)[0]
        trial = q + step / size
        new, slopes = _observe(model, trial, points, lengths)
        better = new @ new
        if np.isfinite(better) and better <= cost * (1 + 1e-12) + 1e-24:
            # converged: a further step would change every image by a negligible share of the stated errors
            small = np.linalg.norm(step) <= 1e-9 + _SETTLED * np.linalg.norm(q * size)
            q, residual, jacobian, cost, damping = trial, new, slopes, better, damping / 10 if damping > 1e-9 else 0.0
            if small:
                break
        else:
            damping = max(10 * damping, 1e-6)
            if damping > 1e12:
                break
    return q, residual, jacobian


def _start(kind, points, lengths, mine, turns):
    """A PlaneMap near enough to start the iteration from."""
    source, target, weights = points.source[mine], points.target[mine], 1 / points.errors[mine] ** 2
    if kind == "perspective" and len(source) >= 4:
        return fit_homography(source, target, weights=weights)
    if kind == "affine" and len(source) >= 3:
        try:
            return fit_affine(source, target, weights=weights)
        except ValueError:
            pass
    if kind != "similarity" and (len(source) < 3 or kind in ("perspective", "lens")):
        below = KINDS[KINDS.index(kind) - 1]
        return fit_map(below, points, lengths).plane_map
    if turns:
        return fit_similarity(source, target, weights=weights)
    # lengths alone, or one point: the scale from squared lengths
    drawn = np.sum((lengths.ends[:, 1] - lengths.ends[:, 0]) ** 2, axis=1)
    scale = float(np.sqrt(np.sum(drawn * lengths.lengths ** 2) / np.sum(drawn ** 2)))
    middle = source.mean(axis=0) if len(source) else lengths.ends.reshape(-1, 2).mean(axis=0)
    place = target.mean(axis=0) if len(source) else middle
    return PlaneMap(np.hstack([scale * np.eye(2), (place - scale * middle)[:, None]]))


def fit_map(kind: str, points: PointSet, lengths: LengthSet = LengthSet(), *, lens: Lens | None = None) -> MapFit:
    """Fit one kind of map.

    Parameters
    ----------
    kind : str
        One of KINDS.
    points : PointSet
    lengths : LengthSet
    lens : Lens, optional
        Where the lens's middle lies, for the kind 'lens'; the middle of the points, known to a tenth of their spread,
        where it is not given.

    Returns
    -------
    MapFit

    Raises
    ------
    ValueError
        If there are fewer observations than unknowns, or they do not determine all unknowns (points in line, all
        lengths in one direction).
    """
    mine = points.frames == 0
    turns, shifts = int(mine.sum()) >= 2, bool(mine.any())
    frames = int(points.frames.max()) if len(points.source) else 0
    every = np.concatenate([points.source, lengths.ends.reshape(-1, 2)])
    if not len(every):
        raise ValueError("nothing to fit to")
    middle = every.mean(axis=0)
    reach = float(np.sqrt(np.mean(np.sum((every - middle) ** 2, axis=1))))
    if not reach > 0:
        raise ValueError("all points are one")
    origin = points.target[mine].mean(axis=0) if shifts else middle
    model = MapModel(kind, middle, reach, origin, turns=turns, shifts=shifts, frames=frames,
                     lens=lens or Lens(middle, _VAGUE * reach))
    observations = 2 * len(points.source) + len(lengths.ends) + model.known
    if observations < model.size:
        raise ValueError("%d numbers are needed and %d are given"
                         % (model.size - model.known, observations - model.known))
    begin = _start(kind, points, lengths=lengths, mine=mine, turns=turns)
    q = model.adopt(begin)
    for frame in range(1, frames + 1):
        own = points.frames == frame
        pose = fit_similarity(points.target[own], model.image(q, points.source[own]), scaled=False).matrix
        q[model.own + 3 * (frame - 1):][:3] = np.arctan2(pose[1, 0], pose[0, 0]), pose[0, 2], pose[1, 2]
    q, residual, jacobian = _solve(model, q, points, lengths)
    size = np.linalg.norm(jacobian, axis=0)
    if not np.isfinite(jacobian).all() or not size.all():
        raise ValueError("the observations leave the map open")
    _, values, right = np.linalg.svd(jacobian / size, full_matrices=False)
    if values[-1] < _SINGULAR * values[0]:
        raise ValueError("the observations leave the map open")
    root = right.T / values / size[:, None]
    count = 2 * len(points.source)
    return MapFit(kind, model.map(q), observations=observations, unknowns=model.size,
                  chi_square=float(residual @ residual),
                  point_residuals=residual[:count].reshape(-1, 2)
                  * points.errors[:, None] if count else np.zeros((0, 2)),
                  length_residuals=residual[count:count + len(lengths.ends)] * lengths.errors,
                  covariance=root @ root.T, model=model, parameters=q)


def limit_chi_square(freedom: int) -> float:
    """The chi-square that honest errors exceed with a chance of 1 percent (E. Wilson and M. Hilferty, PNAS 17, 1931,
    684; within 1 %)."""
    part = 2 / (9 * freedom)
    return freedom * (1 - part + _RARE_Z * np.sqrt(part)) ** 3
