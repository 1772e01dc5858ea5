"""Thicknesses in which sawn boards are sold: the next size up from what a plank needs."""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError

__all__ = ["SYSTEMS", "StockSize", "describe_system", "find_stock_size", "find_surfaced_mm", "list_sizes"]

_SAME_MM = 1e-6           # what inches lose on their way to mm


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
    """What the sizes are and who says so, in words."""
    _find_table(system)
    return _WORDS[str(system).strip().lower()]


def find_stock_size(thickness_mm: float, *, system: str) -> tuple[str, float | None]:
    """The next size up: what to ask for so that a board of this thickness can be made from it.

    Parameters
    ----------
    thickness_mm : float
        What the board must have, planing counted: sawn stock is rough, and 4/4 does not make a finished inch.
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
        For a system not known, or a thickness that is none.

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
    """What is left of a size in quarters that is bought surfaced two sides, mm, or None: NHLA, from memory, not
    checked.
    """
    return next((s.surfaced_mm for s in _QUARTERS if s.name == str(name).strip()), None)
