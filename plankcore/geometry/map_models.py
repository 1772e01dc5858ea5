"""The kinds of plane map, each written in numbers that a fit can find, and what lies behind a lens that bulges.

A point that the lens images at x would be imaged by a perfect lens at

    c + (x - c) (1 + k |x - c|^2 / r^2)

where c is the lens's middle and k the relative displacement of a point at the distance r from c. The radial polynomial
from the picture to the perfect picture is that of D. Brown, Decentering distortion of lenses, Photogrammetric
Engineering 32 (1966) 444 (memory), its first term. It bends straight lines, so that lines as well as curves have to be
fitted again.

Coordinates are taken about the middle c of the points that a map is fitted to, u = (x - c) / s:

    image = A u / (1 + g u) + b

with A a rotation and one scale (similarity), a rotation and two scales (scales), or any matrix (affine); perspective
has g free as well. Behind a lens that bulges (lens) u is first moved to e + (u - e) (1 + k |u - e|^2), e the lens's
middle, as above; how well e is known before the fit enters as two observations of it.
Where nothing determines how the result is turned or where it lies (lengths alone), A is kept symmetric, so that it
stretches without turning, and b is held at the middle.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .plane_maps import PlaneMap

if TYPE_CHECKING:
    from .arrays import Array, Matrix, Point, Points, Values

__all__ = ["KINDS", "Lens", "LensMap", "MapModel", "bend", "slope"]

_STEPS = 60


@dataclass(frozen=True)
class Lens:
    """Where the middle of a lens lies in its picture, (x, y), and the standard error of each coordinate."""

    middle: Point | tuple[float, ...]
    error: float


def bend(offsets: Array, share: float) -> Array:
    """Offsets (n, 2) from the middle, in units of r, corrected to those of a perfect lens; share : k."""
    return offsets * (1.0 + share * np.sum(offsets ** 2, axis=-1))[..., None]


def slope(offsets: Array, share: float) -> Array:
    """d(bend)/d(offset), shape (..., 2, 2)."""
    size = 1.0 + share * np.sum(offsets ** 2, axis=-1)
    return size[..., None, None] * np.eye(2) + 2 * share * offsets[..., :, None] * offsets[..., None, :]


@dataclass(frozen=True, eq=False, repr=False)
class LensMap:
    """outer : PlaneMap of the perfect picture. middle : (2,). reach : r. share : k."""

    outer: PlaneMap
    middle: Point
    reach: float
    share: float

    is_affine = False
    keeps_lines = False

    def _straighten(self, points):
        """Points as a perfect lens would have them, and their offsets from the middle in units of r."""
        offsets = (np.asarray(points, float) - self.middle) / self.reach
        return self.middle + self.reach * bend(offsets, self.share), offsets

    def measure_depth(self, points: Array) -> Array:
        """Denominator of the perspective at points (..., 2); set to zero where the lens correction would fold the
        picture over."""
        straight, offsets = self._straighten(points)
        return np.where(1.0 + 3 * self.share * np.sum(offsets ** 2, axis=-1) > 0, self.outer.measure_depth(straight),
                        0.0)

    def apply(self, points: Array) -> Array:
        """Points (..., 2) under the map."""
        return self.outer.apply(self._straighten(points)[0])

    def differentiate(self, points: Array) -> Array:
        """d(image)/d(point), shape (..., 2, 2)."""
        straight, offsets = self._straighten(points)
        return self.outer.differentiate(straight) @ slope(offsets, self.share)

    def linearise(self, point: Point) -> Matrix:
        """The affine map (2, 3) that agrees with this one, and with its slopes, at a point (2,)."""
        linear = self.differentiate(point)
        return np.hstack([linear, (self.apply(point) - linear @ np.asarray(point, float))[:, None]])

    def follow(self, outer: PlaneMap) -> LensMap:
        """This map, and then a PlaneMap."""
        return LensMap(outer.compose(self.outer), self.middle, self.reach, self.share)

    def measure_bulge(self, points: Points) -> float:
        """How far the lens moves the outermost of points (n, 2), as a share of its distance from the middle: positive
        where the picture bulges (its corners are drawn in)."""
        return float(self.share * np.max(np.sum(self._straighten(points)[1] ** 2, axis=-1)))


KINDS = ("similarity", "scales", "affine", "perspective", "lens")


class MapModel:
    """One kind of map about a middle. Its parameters q in order: those of A, then b where it is free, then g, then k
    and e, then the frames' poses."""

    def __init__(self, kind, middle, reach, origin, *, turns, shifts, frames, lens=None):
        self.kind, self.middle, self.reach, self.origin = kind, middle, reach, origin
        self.turns, self.shifts, self.frames = turns, shifts, frames
        self.inner = {"similarity": 2, "scales": 3}.get(kind, 4) - (1 if not turns else 0)
        self.bends = 2 if kind in ("perspective", "lens") else 0
        self.bent = self.inner + (2 if shifts else 0)
        self.lens = self.bent + self.bends                       # index of k in q; e follows
        self.own = self.lens + (3 if kind == "lens" else 0)
        self.size = self.own + 3 * frames
        self.known = 2 if kind == "lens" else 0                  # number of observations of the map's own parameters
        if kind == "lens":
            self._lens_middle, self._lens_error = (np.asarray(lens.middle, float) - middle) / reach, lens.error / reach

    def observe_own(self, q: Values) -> tuple[Point, Matrix]:
        """Residuals over their errors (known,) of what is known beforehand of the map's own parameters, and their
        derivatives by q."""
        slopes = np.zeros((2, self.size))
        slopes[:, self.lens + 1:self.lens + 3] = np.eye(2) / self._lens_error
        return (q[self.lens + 1:self.lens + 3] - self._lens_middle) / self._lens_error, slopes

    def _straighten(self, q, points):
        """u of points (k, 2), corrected to a perfect lens; and for a bulging lens their offsets from the lens's middle.
        """
        u = (points - self.middle) / self.reach
        if self.kind != "lens":
            return u, None
        middle = q[self.lens + 1:self.lens + 3]
        return middle + bend(u - middle, q[self.lens]), u - middle

    def spread(self, q: Values) -> tuple[Points, Array, Point, Point]:
        """A, dA/dq (inner, 2, 2), b, g."""
        p = q[:self.inner]
        if self.kind == "similarity":
            slopes = [np.eye(2), np.array([[0, -1.0], [1, 0]])][:self.inner]
            linear = sum(v * s for v, s in zip(p, slopes))
        elif self.kind == "scales":
            turn = p[2] if self.turns else 0.0
            c, s = np.cos(turn), np.sin(turn)
            linear = np.array([[c * p[0], -s * p[1]], [s * p[0], c * p[1]]])
            slopes = [np.array([[c, 0], [s, 0]]), np.array([[0, -s], [0, c]]),
                      np.array([[-s * p[0], -c * p[1]], [c * p[0], -s * p[1]]])][:self.inner]
        else:
            units = [np.eye(4)[k].reshape(2, 2) for k in range(4)]
            slopes = units if self.turns else [units[0], units[1] + units[2], units[3]]
            linear = sum(v * s for v, s in zip(p, slopes))
        shift = q[self.inner:self.inner + 2] if self.shifts else np.zeros(2)
        return linear, np.array(slopes), shift, (q[self.bent:self.bent + 2] if self.bends else np.zeros(2))

    def map(self, q: Values) -> LensMap | PlaneMap:
        """The PlaneMap, or LensMap, with these parameters."""
        linear, _, shift, bend = self.spread(q)
        place = shift + self.origin
        outer = np.vstack([np.hstack([linear + np.outer(place, bend), place[:, None]]), [*bend, 1.0]])
        inner = np.array([[1 / self.reach, 0, -self.middle[0] / self.reach],
                          [0, 1 / self.reach, -self.middle[1] / self.reach], [0, 0, 1.0]])
        found = PlaneMap(outer @ inner)
        if self.kind != "lens":
            return found
        return LensMap(found, self.middle + self.reach * q[self.lens + 1:self.lens + 3], self.reach,
                                 float(q[self.lens]))

    def image(self, q: Values, points: Points) -> Points:
        """Images of points (k, 2), minus the origin."""
        linear, _, shift, bend = self.spread(q)
        u, _ = self._straighten(q, points)
        return (u @ linear.T) / (1.0 + u @ bend)[:, None] + shift

    def differentiate(self, q: Values, points: Points) -> Array:
        """d(image)/dq, shape (k, 2, size)."""
        linear, slopes, _, bend = self.spread(q)
        u, offsets = self._straighten(q, points)
        depth = 1.0 + u @ bend
        out = np.zeros((len(u), 2, self.size))
        out[:, :, :self.inner] = np.einsum("pij,kj->kip", slopes, u) / depth[:, None, None]
        if self.shifts:
            out[:, :, self.inner:self.inner + 2] = np.eye(2)
        if self.bends:
            out[:, :,
                self.bent:self.bent + 2] = -(u @ linear.T)[:, :, None] * u[:, None, :] / (depth ** 2)[:, None, None]
        if offsets is not None:
            # d(image)/du
            far = (linear - ((u @ linear.T) / depth[:, None])[:, :, None] * bend) / depth[:, None, None]
            out[:, :, self.lens] = np.einsum("kij,kj->ki", far, offsets * np.sum(offsets ** 2, axis=1)[:, None])
            out[:, :, self.lens + 1:self.lens + 3] = far @ (np.eye(2) - slope(offsets, q[self.lens]))
        return out

    def adopt(self, plane_map: PlaneMap) -> Values:
        """Parameters of the nearest map of this kind, as a start."""
        local = plane_map.linearise(self.middle)
        linear = local[:, :2] * self.reach
        if not self.turns:
            _u, s, v = np.linalg.svd(linear)
            linear = v.T @ np.diag(s) @ v
        if self.kind == "similarity":
            inner = [(linear[0, 0] + linear[1, 1]) / 2, (linear[1, 0] - linear[0, 1]) / 2]
        elif self.kind == "scales":
            inner = [np.hypot(*linear[:, 0]), np.hypot(*linear[:, 1]),
                     np.arctan2(linear[1, 0] - linear[0, 1], linear[0, 0] + linear[1, 1])]
        else:
            inner = linear.ravel() if self.turns else [linear[0, 0], (linear[0, 1] + linear[1, 0]) / 2, linear[1, 1]]
        q = np.zeros(self.size)
        q[:self.inner] = inner[:self.inner]
        if self.shifts:
            q[self.inner:self.inner + 2] = plane_map.apply(self.middle) - self.origin
        if self.bends:
            q[self.bent:self.bent + 2] = plane_map.matrix[2, :2] * self.reach / plane_map.measure_depth(self.middle)
        if self.kind == "lens":
            q[self.lens + 1:self.lens + 3] = self._lens_middle
        return q
