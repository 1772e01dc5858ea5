"""A pattern whose upper face lies above the dots is shown too large in a photograph; this map corrects it.

A camera at a height H above its foot c on the floor sees a point p, h above the floor, in the same place as the floor's
point

    q = c + (p - c) H / (H - h)

by similar triangles. So p = q - h/H (q - c): the work is shrunk towards the foot by the share h/H. An error in the
foot's place does not change the work's size, and shifts it only by h/H of that error.

The foot follows from the map of the floor. With (l, 1) the floor's vanishing line in the picture, measured from the
lens's middle, and f the focal length in the picture, the direction square to the floor has its vanishing point at f^2 l
(R. Hartley and A. Zisserman, Multiple View Geometry in Computer Vision, 2nd ed., 8.6: v = K K' l; memory). A single map
of a floor does not determine f where the camera looks nearly straight down, but the height does: at the lens's middle
the scale of the picture (root of the ratio of areas) is H / (f cos^1.5 of the tilt), and the tilt's tangent is f |l|.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.plane_maps import PlaneMap

if TYPE_CHECKING:
    from ..geometry.arrays import ArrayLike, Point, Points, Values

__all__ = ["check_heights", "find_foot", "lower_to_floor", "measure_height_error"]

# standard error of each height as a share of it: 56 mm of 2.8 m, 0.1 mm of 4 mm (common practice, no source)
_SHARE_ERROR = 0.02
_NEAR = 0.1               # a pattern higher than this share of the camera's height cannot be one lying on a floor


def check_heights(pattern_mm: float, camera_mm: float) -> None:
    """Raise SettingError where only one height is given, or the two are impossible together."""
    if not (np.isfinite(pattern_mm) and np.isfinite(camera_mm)) or pattern_mm < 0 or camera_mm < 0:
        raise SettingError("The heights of pattern and camera cannot be %g and %g mm." % (pattern_mm, camera_mm),
                           "Give lengths above the dots, or leave both empty.", "Pattern above the dots")
    if bool(pattern_mm) != bool(camera_mm):
        raise SettingError("Only the height of the %s is given." % ("pattern" if pattern_mm else "camera"),
                           "Give both, the pattern's upper face and the camera's lens above the dots, or neither "
                           "where dots and face are level.", "Pattern above the dots")
    if pattern_mm > _NEAR * camera_mm:
        raise SettingError("A pattern %g mm above the dots under a camera at %g mm cannot be put right."
                           % (pattern_mm, camera_mm),
                           "Lay the dots level with the pattern's upper face, or photograph it from higher up.",
                           "Pattern above the dots")


def find_foot(plane_map: PlaneMap, middle: ArrayLike, camera_mm: float) -> Point:
    """The point of the floor under the camera, (2,) mm, true.

    plane_map : PlaneMap from the picture, corrected for the lens, to the floor. middle : (2,), where the lens's axis
    meets the picture.
    """
    middle = np.asarray(middle, float)
    enlarged = float(np.sqrt(abs(np.linalg.det(plane_map.differentiate(middle)))))
    line = plane_map.matrix[2, :2] / plane_map.measure_depth(middle)
    cosine = 1.0
    for _ in range(50):
        focus = camera_mm / (enlarged * cosine ** 1.5)
        cosine = 1 / np.sqrt(1 + focus ** 2 * float(line @ line))
    return plane_map.apply(middle + focus ** 2 * line)


def lower_to_floor(foot: Point, pattern_mm: float, camera_mm: float) -> PlaneMap:
    """The PlaneMap from floor to pattern, which shrinks the work towards the foot."""
    share = pattern_mm / camera_mm
    return PlaneMap(np.hstack([(1 - share) * np.eye(2), share * np.asarray(foot, float)[:, None]]))


def measure_height_error(images: Points, foot: Point, pattern_mm: float, camera_mm: float) -> Values:
    """Standard error (k,), mm, of points of the floor (k, 2) from the errors of both heights."""
    return np.sqrt(2) * _SHARE_ERROR * pattern_mm / camera_mm * np.hypot(*(images - foot).T)
