"""Rolls and sheets for plotters, printers and cutters, and how much media expand; sizes in mm.

ISO A sizes: ISO 216:2007. ANSI D and E: ASME Y14.1 (22 x 34 and 34 x 44 in). ARCH D and E1: 24 x 36 and 30 x 42 in, as
drawing offices list them.
Letter: 8 1/2 x 11 in. Rolls of paper and film 24, 36, 42 and 44 in, sold as 610, 914, 1067 and 1118 mm: common
practice, from memory, not checked.
Rolls of vinyl 15, 24, 36 and 48 in: as sellers of sign vinyl list them.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from typing import Sequence

__all__ = ["OWN", "ROLLS", "SHEETS", "find_film_movement_mm", "find_paper_movement_mm", "find_roll_mm", "find_sheet_mm"]

_IN = 25.4
OWN = "own size"
# machines go by inches; the round mm that sellers print are up to 0.4 mm wider than the roll
ROLLS = {"15 in (381 mm)": 15 * _IN, "24 in (610 mm)": 24 * _IN, "36 in (914 mm)": 36 * _IN,
         "42 in (1067 mm)": 42 * _IN, "44 in (1118 mm)": 44 * _IN, "48 in (1219 mm)": 48 * _IN}
# long side, short side
SHEETS = {
    "A0": (1189.0, 841.0), "A1": (841.0, 594.0), "A2": (594.0, 420.0), "A3": (420.0, 297.0), "A4": (297.0, 210.0),
    "ANSI D": (34 * _IN, 22 * _IN), "ANSI E": (44 * _IN, 34 * _IN), "ARCH D": (36 * _IN, 24 * _IN),
    "ARCH E1": (42 * _IN, 30 * _IN), "letter": (11 * _IN, 8.5 * _IN),
}
# how much bond paper changes with the weather, in percent: least along the machine direction, most across it (0.10 to
# 0.20 along, 0.20 to 0.40 across, a printer's table of paper movement whose range of humidity is not stated: a warning,
# never a figure to correct by)
_PAPER_PERCENT = (0.10, 0.40)
# polyester film, per degree C: 1.7e-5, as makers of the film list it
_FILM_PER_DEGREE = 1.7e-5


def find_roll_mm(name: str, own_mm: float = 0.0) -> float:
    """Width of a roll by its name, or the user's own.

    Raises
    ------
    SettingError
        If the name is not known, or the own width is impossible.
    """
    if name == OWN:
        if not 100 <= own_mm <= 5000:
            raise SettingError("A roll %g mm wide cannot be used." % own_mm, "Give its width, 100 to 5000 mm.",
                               "Own width")
        return float(own_mm)
    if name not in ROLLS:
        raise SettingError("'%s' is not a roll known here." % name,
                           "Use one of: %s; or %s." % (", ".join(ROLLS), OWN), "Roll")
    return ROLLS[name]


def find_sheet_mm(name: str, own_mm: Sequence[float] = (0.0, 0.0)) -> tuple[float, float]:
    """Long and short side of a sheet by its name, or the user's own.

    Raises
    ------
    SettingError
        If the name is not known, or an own side is impossible.
    """
    if name == OWN:
        if not (100 <= min(own_mm) and max(own_mm) <= 5000):
            raise SettingError("A sheet of %g x %g mm cannot be used." % tuple(own_mm),
                               "Give both sides, 100 to 5000 mm.", "Own sheet")
        return float(max(own_mm)), float(min(own_mm))
    if name not in SHEETS:
        raise SettingError("'%s' is not a sheet known here." % name,
                           "Use one of: %s; or %s." % (", ".join(SHEETS), OWN), "Sheet size")
    return SHEETS[name]


def find_paper_movement_mm(length_mm: float) -> tuple[float, ...]:
    """Least and most that plain paper of a length may change with the weather, mm."""
    return tuple(length_mm * percent / 100 for percent in _PAPER_PERCENT)


def find_film_movement_mm(length_mm: float, *, degrees: float) -> float:
    """Expansion of polyester film of a length over a change of temperature in degrees C, mm."""
    return length_mm * _FILM_PER_DEGREE * degrees
