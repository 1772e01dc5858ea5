"""How lumber is measured and sold: board feet, cubic metres, thicknesses."""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError

__all__ = [
    "BOARD_FEET_PER_M3",
    "MM3_PER_BOARD_FOOT",
    "SYSTEMS",
    "HardwoodMeasure",
    "StockSize",
    "describe_system",
    "find_nominal_inches",
    "find_stock_size",
    "find_surfaced_mm",
    "list_sizes",
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
_SAME = 1e-6              # rounding error of converting inches to mm and back
# about 1/64 in: a board that is thinner than a size in quarters by no more than this still has its name; common
# practice, no source
_ROUGH_MM = 0.4


@dataclass(frozen=True)
class HardwoodMeasure:
    """Surface measure in whole square feet, the thickness in inches that it is multiplied by, and the resulting board
    feet."""

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
        How an exact half is rounded. A tally rounds them alternately up and down; a single board is rounded up here.

    Returns
    -------
    int
    """
    _check(width_mm, "Width")
    _check(length_mm, "Length")
    exact = width_mm / _INCH_MM * math.floor(length_mm / _FOOT_MM + _SAME) / 12
    return math.floor(exact + 0.5 + _SAME) if half == "up" else math.ceil(exact - 0.5 - _SAME)


def find_nominal_inches(thickness_mm: float) -> float:
    """The thickness that a rough board is charged at, inches: the thickest size in quarters that it reaches; under 1 in
    counts as 1 in."""
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


_SAME_MM = 1e-6           # rounding error of converting inches to mm


@dataclass(frozen=True)
class StockSize:
    """One size: its name, thickness as sawn in mm, and, where the trade gives it, after surfacing two sides."""

    name: str
    size_mm: float
    surfaced_mm: float | None = None


# n/4 is n quarter inches, the least thickness when green or air dry: NHLA (National Hardwood Lumber Association),
# Measurement.
# Surfaced two sides, inches: NHLA rules, from memory, not checked. 16/4: by what the name means.
_QUARTERS = tuple(StockSize("%d/4" % n, n * 25.4 / 4, surfaced * 25.4) for n, surfaced in (
    (4, 13 / 16), (5, 1 + 1 / 16), (6, 1 + 5 / 16), (8, 1.75), (10, 2.25), (12, 2.75), (16, 3.75)))
# preferred thicknesses of sawn softwood, EN 1313-1, at 20 % moisture: from memory, not checked
_METRIC = tuple(StockSize("%d mm" % n, float(n)) for n in (16, 19, 22, 25, 32, 38, 44, 50, 63, 75, 100))
_TABLES = {"quarters": _QUARTERS, "metric": _METRIC}
_WORDS = {"quarters": "quarters of an inch, rough (NHLA; the least when green or air dry)",
          "metric": "mm, sawn softwood at 20 % moisture (EN 1313-1, from memory, not checked)"}

SYSTEMS = tuple(_TABLES)


def _find_table(system):
    plain = str(system).strip().lower()
    if plain not in _TABLES:
        raise SettingError("'%s' is not a way of counting thickness known here." % system,
                           "Use one of: %s." % ", ".join(SYSTEMS), "Stock sizes")
    return _TABLES[plain]


def list_sizes(system: str) -> tuple[StockSize, ...]:
    """All StockSizes of a system, thinnest first."""
    return _find_table(system)


def describe_system(system: str) -> str:
    """A sentence on the sizes, with their source."""
    _find_table(system)
    return _WORDS[str(system).strip().lower()]


def find_stock_size(thickness_mm: float, *, system: str) -> tuple[str, float | None]:
    """The next size up: the size to buy so that a board of this thickness can be made from it.

    Parameters
    ----------
    thickness_mm : float
        The thickness needed, planing included: sawn stock is rough, and 4/4 does not make a finished inch.
    system : str
        'quarters' or 'metric'.

    Returns
    -------
    name : str
        '5/4', '32 mm'; where no size is thick enough, words that say so.
    size_mm : float or None
        As sawn; None where no size is thick enough.

    Raises
    ------
    SettingError
        For an unknown system or an invalid thickness.

    Examples
    --------
    >>> find_stock_size(31.0612, system="quarters")
    ('5/4', 31.75)
    """
    table = _find_table(system)
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise SettingError("A board of %g mm cannot be bought." % thickness_mm, "Give a thickness above 0.",
                           "Thickness")
    for size in table:
        if size.size_mm >= thickness_mm - _SAME_MM:
            return size.name, size.size_mm
    return "thicker than the largest size, %s (%.1f mm)" % (table[-1].name, table[-1].size_mm), None


def find_surfaced_mm(name: str) -> float | None:
    """Thickness of a size in quarters bought surfaced two sides, mm, or None: NHLA, from memory, not checked."""
    return next((s.surfaced_mm for s in _QUARTERS if s.name == str(name).strip()), None)
