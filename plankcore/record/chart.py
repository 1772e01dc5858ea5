"""The axes of a record: a plank's baseline, and its edges as heights over it."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError

if TYPE_CHECKING:
    from ..geometry.arrays import Array, ArrayLike, Numbers, Values

__all__ = ["BaselineChart", "EdgeGraph"]


class BaselineChart:
    """A plank's baseline as axes: places on the page to (along, up) in mm and back."""

    def __init__(self, plank):
        self.start, self.along, across = plank.find_axes()
        corner = plank.find_corners()
        self.up = across if (corner["upper fore"] + corner["upper aft"] - corner["lower fore"]
                             - corner["lower aft"]) @ across > 0 else -across

    def find(self, points: ArrayLike) -> Array:
        """(n, 2) page places as (n, 2) of along and up."""
        away = np.asarray(points, float) - self.start
        return np.stack([away @ self.along, away @ self.up], axis=-1)


class EdgeGraph:
    """A curve as heights over distances along a straight line; refused where it turns back."""

    def __init__(self, curve, start, along, up, what):
        self.curve, self.start, self.along, self.up = curve, np.asarray(start, float), along, up
        self.places = np.linspace(0, len(curve.cubics), 64 * len(curve.cubics) + 1)
        self.at = (curve.evaluate(self.places) - self.start) @ along
        turned = np.flatnonzero(np.diff(self.at) <= 0)
        if len(turned):
            raise PatternError("The %s turns back on itself, so it cannot be given by offsets." % what,
                               "Fair the plank with a longer shortest wave, or mend the trace there.",
                               tuple(map(float, curve.evaluate([self.places[turned[0]]])[0])))

    def evaluate(self, at: Numbers) -> Values:
        """Heights (n,) at distances (n,); beyond the ends the end pieces run on."""
        at = np.atleast_1d(np.asarray(at, float))
        u = np.interp(at, self.at, self.places)
        for _ in range(3):                             # from a sixty-fourth of a piece off, to the last digits
            slope = self.curve.evaluate(u, derivative=1) @ self.along
            u = u - ((self.curve.evaluate(u) - self.start) @ self.along - at) / np.where(np.abs(slope) < 1e-9, 1e-9,
                                                                                         slope)
        return (self.curve.evaluate(u) - self.start) @ self.up
