"""Maps of the plane onto the plane: straight lines stay straight. Points are (n, 2), x right and y down as on a page.

A map is a matrix (3, 3) acting on (x, y, 1), the last row (0, 0, 1) where it is affine. Formulas: R. Hartley and A.
Zisserman, Multiple View Geometry in Computer Vision, 2nd ed., chapters 2 and 4 (memory).
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .bezier import evaluate_cubics, fit_cubics

if TYPE_CHECKING:
    from .arrays import Array, ArrayLike, Cubics, Matrix, Point, Points, Values
    from .map_models import LensMap

__all__ = ["PlaneMap", "fit_affine", "fit_homography", "fit_similarity", "judge_mirror", "map_cubics"]

_PROBES = np.linspace(0, 1, 9)[1:-1]


@dataclass(frozen=True, eq=False, repr=False)
class PlaneMap:
    """matrix : ndarray, shape (3, 3), scaled so that its last number is 1."""

    matrix: Matrix

    def __post_init__(self):
        matrix = np.array(self.matrix, float)
        if matrix.shape == (2, 3):
            matrix = np.vstack([matrix, [0.0, 0.0, 1.0]])
        if matrix.shape != (3, 3) or not np.isfinite(matrix).all() or matrix[2, 2] == 0:
            raise ValueError("expected a finite matrix (3, 3) with a last number that is not nought")
        matrix = matrix / matrix[2, 2]
        matrix.setflags(write=False)
        object.__setattr__(self, "matrix", matrix)

    keeps_lines = True

    @property
    def is_affine(self) -> bool:
        """True where parallel lines stay parallel."""
        return not self.matrix[2, :2].any()

    def measure_depth(self, points: ArrayLike) -> Array:
        """Denominator of the map at points (..., 2): 1 at the origin, zero on the line that is mapped to infinity."""
        return np.asarray(points, float) @ self.matrix[2, :2] + 1.0

    def apply(self, points: Array) -> Array:
        """Points (..., 2) under the map."""
        points = np.asarray(points, float)
        above = points @ self.matrix[:2, :2].T + self.matrix[:2, 2]
        return above if self.is_affine else above / self.measure_depth(points)[..., None]

    def differentiate(self, points: Array) -> Array:
        """d(image)/d(point), shape (..., 2, 2), at points (..., 2)."""
        points = np.asarray(points, float)
        image, depth = self.apply(points), self.measure_depth(points)
        return (self.matrix[:2, :2] - image[..., :, None] * self.matrix[2, :2]) / depth[..., None, None]

    def compose(self, inner: PlaneMap) -> PlaneMap:
        """The map that does `inner` first, then this one."""
        return PlaneMap(self.matrix @ inner.matrix)

    def follow(self, outer: PlaneMap) -> PlaneMap:
        """This map, and then another."""
        return outer.compose(self)

    def invert(self) -> PlaneMap:
        """The inverse map."""
        return PlaneMap(np.linalg.inv(self.matrix))

    def linearise(self, point: Point) -> Matrix:
        """The affine map (2, 3) that agrees with this one, and with its slopes, at a point (2,)."""
        linear = self.differentiate(point)
        return np.hstack([linear, (self.apply(point) - linear @ np.asarray(point, float))[:, None]])


def _centre(points, weights):
    share = weights / weights.sum()
    middle = share @ points
    return middle, points - middle, share


def fit_similarity(source: Points, target: Points, *, weights: Values | None = None, scaled: bool = True) -> PlaneMap:
    """The turn, shift and scale that carry source nearest to target: closed form, never a mirror image.

    Parameters
    ----------
    source, target : ndarray, shape (n, 2), n >= 2
    weights : ndarray, shape (n,), optional
        All 1 if not given.
    scaled : bool
        False holds the scale at 1.

    Returns
    -------
    PlaneMap
        Its linear part is c R with det R = +1.

    Raises
    ------
    ValueError
        If all points of source or target coincide.

    Notes
    -----
    S. Umeyama, IEEE Trans. PAMI 13 (1991) 376, in two dimensions: with the cross-covariance S of the centred points the
    best rotation has the angle of (S_xx + S_yy, S_yx - S_xy), and c is the length of that pair over the variance of the
    source.
    """
    source, target = np.asarray(source, float), np.asarray(target, float)
    weights = np.ones(len(source)) if weights is None else np.asarray(weights, float)
    (from_middle, a, share), (to_middle, b, _) = _centre(source, weights), _centre(target, weights)
    spread = float(share @ np.sum(a * a, axis=1))
    if len(source) < 2 or not spread > 1e-18 * max(1.0, float(np.abs(source).max()) ** 2):
        raise ValueError("two points that lie apart are needed")
    cross = (b * share[:, None]).T @ a
    along, turned = cross[0, 0] + cross[1, 1], cross[1, 0] - cross[0, 1]
    length = float(np.hypot(along, turned))
    if length == 0:
        raise ValueError("the points do not say how they are turned")
    scale = length / spread if scaled else 1.0
    linear = scale / length * np.array([[along, -turned], [turned, along]])
    return PlaneMap(np.hstack([linear, (to_middle - linear @ from_middle)[:, None]]))


def judge_mirror(source: Points, target: Points, *, weights: ArrayLike | None = None) -> tuple[float, ...]:
    """Root mean square distances left by the best similarity, and by the best one of the mirrored source.

    Returns
    -------
    straight, mirrored : float
        If mirrored is far smaller than straight, source or target is a mirror image. For points in line both are equal.
    """
    weights = np.ones(len(source)) if weights is None else np.asarray(weights, float)
    off = []
    for flip in (1.0, -1.0):
        turned = np.asarray(source, float) * [1.0, flip]
        try:
            rest = fit_similarity(turned, target, weights=weights).apply(turned) - target
        except ValueError:
            rest = np.asarray(target, float) - np.average(target, axis=0, weights=weights)
        off.append(float(np.sqrt(np.average(np.sum(rest ** 2, axis=1), weights=weights))))
    return tuple(off)


def fit_affine(source: Points, target: Points, *, weights: Values | None = None) -> PlaneMap:
    """The affine map by least squares, PlaneMap; at least three points (n, 2) that are not in line, or ValueError."""
    source, target = np.asarray(source, float), np.asarray(target, float)
    weights = np.ones(len(source)) if weights is None else np.asarray(weights, float)
    (from_middle, a, _), (to_middle, b, _) = _centre(source, weights), _centre(target, weights)
    root = np.sqrt(weights)[:, None]
    linear, _, rank, size = np.linalg.lstsq(a * root, b * root, rcond=None)
    if len(source) < 3 or rank < 2 or size[1] < 1e-9 * size[0]:
        raise ValueError("three points that are not in line are needed")
    return PlaneMap(np.hstack([linear.T, (to_middle - linear.T @ from_middle)[:, None]]))


def _normalise(points):
    """Similarity (3, 3) that brings points to mean zero and mean distance sqrt 2 (Hartley, IEEE PAMI 19, 1997, 580)."""
    middle = points.mean(axis=0)
    reach = float(np.mean(np.hypot(*(points - middle).T)))
    if not reach > 0:
        raise ValueError("the points are one")
    scale = np.sqrt(2.0) / reach
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1.0]])


def fit_homography(source: Points, target: Points, *, weights: Values | None = None) -> PlaneMap:
    """The perspective map by the direct linear method with normalised points: exact for four, a start for more.

    Parameters
    ----------
    source, target : ndarray, shape (n, 2), n >= 4
        Four of them with no three in line.

    Raises
    ------
    ValueError
        If they do not determine the map.
    """
    source, target = np.asarray(source, float), np.asarray(target, float)
    if len(source) < 4:
        raise ValueError("four points are needed")
    root = np.sqrt(np.ones(len(source)) if weights is None else np.asarray(weights, float))[:, None]
    first, second = _normalise(source), _normalise(target)
    a, b = PlaneMap(first).apply(source), PlaneMap(second).apply(target)
    one, none = np.ones((len(a), 1)), np.zeros((len(a), 3))
    rows = np.vstack([np.hstack([a, one, none, -b[:, :1] * a, -b[:, :1]]) * root,
                      np.hstack([none, a, one, -b[:, 1:] * a, -b[:, 1:]]) * root])
    _, size, right = np.linalg.svd(rows)
    if size[7] < 1e-9 * size[0]:
        raise ValueError("four points with no three in line are needed")
    matrix = np.linalg.inv(second) @ right[8].reshape(3, 3) @ first
    if abs(matrix[2, 2]) < 1e-12 * np.abs(matrix).max():
        raise ValueError("the origin goes to infinity")
    return PlaneMap(matrix)


def map_cubics(plane_map: LensMap | PlaneMap, cubics: Cubics, *, tolerance_mm: float) -> Cubics:
    """Cubics under a map.

    Parameters
    ----------
    plane_map : PlaneMap or LensMap
    cubics : ndarray, shape (k, 4, 2)
    tolerance_mm : float
        How far a cubic may lie from the image of the curve; under perspective a bent cubic does not stay a cubic.
        Affine maps are exact.

    Returns
    -------
    ndarray, shape (at least k, 4, 2)
        Straight pieces stay single straight pieces, where the map keeps lines straight; bent ones may be split.

    Raises
    ------
    ValueError
        If part of a curve lies on or beyond the line that goes to infinity.
    """
    cubics = np.asarray(cubics, float)
    if plane_map.is_affine or not len(cubics):
        return plane_map.apply(cubics)
    # a cubic lies within the convex hull of its control points, and the depth is linear: checking these is enough
    depth = plane_map.measure_depth(cubics)
    if np.min(depth * np.sign(depth.flat[0])) <= 1e-6 * np.abs(depth).max():
        raise ValueError("part of the curve lies beyond the horizon")
    third = (np.arange(4) / 3)[:, None]
    chord = cubics[:, 3] - cubics[:, 0]
    handles = cubics[:, 1:3] - cubics[:, :1]
    bend = np.abs(chord[:, None, 0] * handles[..., 1] - chord[:, None, 1] * handles[..., 0])
    size = np.sum(chord ** 2, axis=1)
    ahead = np.einsum("ni,nki->nk", chord, handles)
    straight = plane_map.keeps_lines & (bend.max(axis=1) <= 1e-9 * size) & (ahead.min(axis=1) >= 0) & (
        ahead.max(axis=1) <= size) & (size > 0)
    ends = plane_map.apply(cubics[:, [0, 3]])
    mapped = ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * third
    slopes = np.einsum("nkij,nkj->nki", plane_map.differentiate(cubics[:, [0, 3]]),
                       np.stack([cubics[:, 1] - cubics[:, 0], cubics[:, 3] - cubics[:, 2]], axis=1))
    hermite = np.stack([ends[:, 0], ends[:, 0] + slopes[:, 0], ends[:, 1] - slopes[:, 1], ends[:, 1]], axis=1)
    mapped[~straight] = hermite[~straight]
    off = np.hypot(*np.moveaxis(evaluate_cubics(hermite, _PROBES) - plane_map.apply(evaluate_cubics(cubics, _PROBES)),
                                2, 0)).max(axis=1)
    rough = ~straight & (off > tolerance_mm)
    if not rough.any():
        return mapped
    return np.concatenate([_refit(plane_map, one, tolerance_mm) if bad else new[None]
                           for one, new, bad in zip(cubics, mapped, rough)])


def _refit(plane_map, cubic, tolerance_mm):
    def path(u, derivative):
        points = evaluate_cubics(cubic[None], u)[0]
        if derivative == 0:
            return plane_map.apply(points)
        return np.einsum("nij,nj->ni", plane_map.differentiate(points),
                         evaluate_cubics(cubic[None], u, derivative=1)[0])
    return fit_cubics(path, 0.0, 1.0, tolerance_mm=tolerance_mm)
