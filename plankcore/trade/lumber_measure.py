"""How sawn boards are counted: board feet by volume, hardwood by surface measure, softwood by nominal sizes, and cubic
metres.

Sources. Board foot, surface measure, whole feet of length, and the examples: NHLA rules as given by the American
Hardwood Export Council, "Measurement" (americanhardwood.org, Grading sawn lumber). Boards under 1 in count as 1 in: the
same rules, in a trade glossary (goodwoodcorp.com).
Exact halves go up and down in turn: E. M. Wengert on the NHLA rules, "Rounding Numbers when Figuring Board Feet"
(woodweb.com, 2007).
Softwood to hundredths on nominal sizes: PS 20, American Softwood Lumber Standard, from memory, not checked; hundredths
also Wengert, there.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError
from .thicknesses import list_sizes

__all__ = [
    "BOARD_FEET_PER_M3",
    "MM3_PER_BOARD_FOOT",
    "HardwoodMeasure",
    "find_nominal_inches",
    "measure_board_feet",
    "measure_cubic_metres",
    "measure_hardwood",
    "measure_softwood",
    "measure_surface_feet",
]

_INCH_MM, _FOOT_MM = 25.4, 304.8
MM3_PER_BOARD_FOOT = 144 * _INCH_MM ** 3
"""A board foot is 144 cubic inches: 1 ft by 1 ft by 1 in."""
BOARD_FEET_PER_M3 = 1e9 / MM3_PER_BOARD_FOOT
_SAME = 1e-6              # what inches lose on their way to mm and back
# about 1/64 in: a board this little under a quarter is still called by it; common practice, no source
_ROUGH_MM = 0.4


@dataclass(frozen=True)
class HardwoodMeasure:
    """Surface measure in whole square feet, the thickness it is multiplied by in inches, and the board feet of both."""

    surface_feet: int
    thickness_in: float
    board_feet: float


def _check(value, field):
    if not (math.isfinite(value) and value > 0):
        raise SettingError("A board cannot be measured with a %s of %g." % (field.lower(), value),
                           "Give a length above 0.", field)


def measure_board_feet(thickness_mm: float, width_mm: float, length_mm: float) -> float:
    """Board feet by volume, not rounded: thickness (in) x width (in) x length (ft) / 12.

    Examples
    --------
    >>> round(measure_board_feet(31.75, 254.0, 3657.6), 6)
    12.5
    """
    for value, field in ((thickness_mm, "Thickness"), (width_mm, "Width"), (length_mm, "Length")):
        _check(value, field)
    return thickness_mm * width_mm * length_mm / MM3_PER_BOARD_FOOT


def measure_surface_feet(width_mm: float, length_mm: float, *, half: str = "up") -> int:
    """Surface measure of a hardwood board: width (in) x whole feet of length / 12, to the nearest whole number.

    Parameters
    ----------
    half : {'up', 'down'}
        Which way an exact half goes. A tally turns them about, one up, the next down; one board alone is counted up
        here.

    Returns
    -------
    int
    """
    _check(width_mm, "Width")
    _check(length_mm, "Length")
    exact = width_mm / _INCH_MM * math.floor(length_mm / _FOOT_MM + _SAME) / 12
    return math.floor(exact + 0.5 + _SAME) if half == "up" else math.ceil(exact - 0.5 - _SAME)


def find_nominal_inches(thickness_mm: float) -> float:
    """The thickness a rough board is charged at, inches: the thickest size in quarters it reaches; under 1 in counts as
    1 in.
    """
    _check(thickness_mm, "Thickness")
    reached = [s.size_mm for s in list_sizes("quarters") if s.size_mm <= thickness_mm + _ROUGH_MM]
    return round(4 * max(reached + [_INCH_MM]) / _INCH_MM) / 4


def measure_hardwood(thickness_mm: float, width_mm: float, length_mm: float, *, half: str = "up") -> HardwoodMeasure:
    """Board feet as NHLA tallies a board: surface measure times nominal thickness.

    Returns
    -------
    HardwoodMeasure
    """
    surface, nominal = measure_surface_feet(width_mm, length_mm, half=half), find_nominal_inches(thickness_mm)
    return HardwoodMeasure(surface, nominal, surface * nominal)


def measure_softwood(thickness_in: float, width_in: float, length_ft: float) -> float:
    """Board feet of softwood by its nominal sizes, in inches and feet, to hundredths."""
    for value, field in ((thickness_in, "Thickness"), (width_in, "Width"), (length_ft, "Length")):
        _check(value, field)
    return math.floor(thickness_in * width_in * length_ft / 12 * 100 + 0.5 + _SAME) / 100


def measure_cubic_metres(thickness_mm: float, width_mm: float, length_mm: float) -> float:
    """Volume, cubic metres."""
    return measure_board_feet(thickness_mm, width_mm, length_mm) / BOARD_FEET_PER_M3
