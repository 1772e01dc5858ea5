"""A plane map behind a lens that bulges: one radial term, then the map. Points are (n, 2) as in plane_maps.

A point that the lens images at x would be imaged by a perfect lens at

    c + (x - c) (1 + k |x - c|^2 / r^2)

where c is the lens's middle and k the relative displacement of a point at the distance r from c. The radial polynomial
from the picture to the perfect picture is that of D. Brown, Decentering distortion of lenses, Photogrammetric
Engineering 32 (1966) 444 (memory), its first term. It bends straight lines, so that lines as well as curves have to be
fitted again.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .plane_maps import PlaneMap

if TYPE_CHECKING:
    from .arrays import Array, Matrix, Point, Points

__all__ = ["Lens", "LensMap", "bend", "slope"]

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
