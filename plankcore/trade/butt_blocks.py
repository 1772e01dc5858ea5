"""Butt blocks, and the slopes of scarfs: usual sizes. Common practice throughout unless a source is named."""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError

__all__ = [
    "LEAST_LAP_MM",
    "LEAST_TIMES",
    "MOST_LAP_MM",
    "MOST_TIMES",
    "SLOPES",
    "BlockSize",
    "describe_slope",
    "measure_scarf",
    "size_block",
]

LEAST_TIMES, MOST_TIMES = 8.0, 12.0
"""A block is 8 to 12 times the plank's thickness long. Common practice, no source; a light launch had one of 8 in on
3/4 in (Amateur Work, vol. 5).
"""
LEAST_LAP_MM, MOST_LAP_MM = 12.7, 25.4
"""It laps each neighbour by 1/2 to 1 in. Common practice, no source."""
SLOPES = ("4", "6", "8", "10", "12")

# what is said of each slope, and who says it; no strengths: the published figures disagree
_SLOPES = {
    4: "TRADITIONAL IN PLANKS (SOUPPEZ, THE STRENGTH OF SCARF JOINTS)",
    6: "TRADITIONAL IN KEELS (SOUPPEZ, THE STRENGTH OF SCARF JOINTS)",
    8: "USUAL IN SHEET WOOD (COMMON PRACTICE)",
    10: "BETWEEN SHEET AND SOLID WOOD (COMMON PRACTICE)",
    12: "USUAL FOR GLUED SOLID PLANKS (COMMON PRACTICE); OF GLUED SCARFS 1 IN 12 OR FLATTER IS THE STRONGEST (USDA "
        "WOOD HANDBOOK, CH. 10)",
}


@dataclass(frozen=True)
class BlockSize:
    """A butt block: length along the plank, how far it laps past each edge, least and usual thickness; `times` is its
    length in plank thicknesses, clear_mm what stays free to the nearer frame.
    """

    length_mm: float
    lap_mm: float
    thickness_mm: float
    thicker_mm: float
    times: float
    clear_mm: float = 0.0


def size_block(*, thickness_mm: float, clear_mm: float, drain_mm: float, lap_mm: float,
               times: float = 10.0) -> BlockSize:
    """The block for a butt between two frames.

    Parameters
    ----------
    thickness_mm : float
        Of the plank.
    clear_mm : float
        Clear length between the frames' sides, or as much of it as has the butt in its middle.
    drain_mm : float
        Gap left at each frame: small keeps the wet in, large leaves little block.
    lap_mm : float
        Past each edge of the plank.
    times : float
        Wanted length in thicknesses, 8 to 12; the bay may allow less.

    Returns
    -------
    BlockSize
        thickness_mm that of the plank; thicker_mm 1/4 in more, as is also done on boats to 1 in planking (common
        practice, no source).
    """
    if not LEAST_TIMES <= times <= MOST_TIMES:
        raise SettingError("A butt block of %g times the plank's thickness is not usual." % times,
                           "Give %g to %g." % (LEAST_TIMES, MOST_TIMES), "Block length")
    length = max(min(times * thickness_mm, clear_mm - 2 * drain_mm), 0.0)
    return BlockSize(length, lap_mm, thickness_mm=thickness_mm,
                     thicker_mm=thickness_mm + 6.35 if thickness_mm <= 25.4 else thickness_mm,
                     times=length / thickness_mm, clear_mm=(clear_mm - length) / 2)


def measure_scarf(*, thickness_mm: float, slope: float) -> tuple[float, float, float]:
    """Length along the plank, length of the slope's face, both mm, and its angle in degrees, of a scarf of slope to 1.
    """
    length = slope * thickness_mm
    return length, math.hypot(length, thickness_mm), math.degrees(math.atan2(thickness_mm, length))


def describe_slope(slope: float) -> str:
    """Who uses a slope, in words, or ''."""
    return _SLOPES.get(int(slope), "") if float(slope).is_integer() else ""
