"""Sizes of plank fastenings by thickness: screws, boat nails, copper rivets, plugs, lead holes; the tables differ, and
each has its source.

Lookups take the row for the plank's thickness, or the next row up, and say which. A thickness outside a table is
refused, never extended.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError
from ..units import format_inches, format_mm
from .named import find_named

__all__ = [
    "FRAME_WOODS",
    "LEAST_PLUG_DEPTH_MM",
    "PUTTIED_BELOW_MM",
    "RIVET_PROUD_MM",
    "SCREW_TABLES",
    "NailRow",
    "ScrewRow",
    "ScrewTable",
    "find_nail",
    "find_screw",
    "find_screw_table",
    "find_stock_length_mm",
    "measure_counterbore_mm",
    "measure_gauge_mm",
    "measure_lead_hole_mm",
    "measure_rivet_mm",
]

INCH_MM = 25.4
ROW_SLACK_MM = 0.4
"""A plank this much over a row's thickness (1/64 in) still takes that row: 25.5 mm is an inch plank."""
PUTTIED_BELOW_MM = 5 / 8 * INCH_MM
"""Planks under about 5/8 in are puttied over the heads, not plugged. Common practice, no source."""
LEAST_PLUG_DEPTH_MM = 3 / 16 * INCH_MM
"""A plug at least about 3/16 in deep: common practice, no source. At least 1/8 in into its hole: Barnacle Bill
magazine, February 2016, p. 26.
"""
RIVET_PROUD_MM = 3 / 8 * INCH_MM
"""A copper nail to be riveted stands about 3/8 in inside the frame before it is nipped. Amateur Work, vol. 6 (c. 1905).
"""
FRAME_WOODS = ("hardwood", "softwood")


@dataclass(frozen=True)
class ScrewRow:
    """One row of a screw table, inches: plank thickness, shank diameter, gauge number, length, and the plugs it names,
    smallest first.
    """

    plank_in: float
    shank_in: float
    gauge: int
    length_in: float
    plugs_in: tuple[float, ...] = ()


@dataclass(frozen=True)
class ScrewTable:
    """A table of planking screws: its title for people and the source it was taken from; `checked` False where it is
    from memory.
    """

    name: str
    title: str
    source: str
    checked: bool
    rows: tuple[ScrewRow, ...]


@dataclass(frozen=True)
class NailRow:
    """A size of common wire nail: pennies, length and shank diameter in inches; `charted` False where the shank is from
    memory.
    """

    pennies: int
    length_in: float
    shank_in: float
    charted: bool = True

    @property
    def source(self) -> str:
        """The source of its thickness."""
        said = ("a common wire nail's, 'Nail Size Chart', toolsize.io/nails" if self.charted
                else "a common wire nail's, ASTM F1667, from memory, not checked")
        return said + "; boat nails are often square and stouter: measure one"


_HERRESHOFF = ScrewTable(
    "herreshoff", "Herreshoff / Nevins",
    source="planking screws by Herreshoff and Nevins, as reprinted in 'Screw Sizes for "
                                         "Planking and Deck Fastenings', fairwindfasteners.com", checked=True,
    rows=tuple(ScrewRow(*row) for row in (
        (3 / 8, 9 / 64, 6, 3 / 4, (5 / 16,)), (7 / 16, 5 / 32, 7, 7 / 8, (5 / 16,)),
        (1 / 2, 11 / 64, 8, 1.0, (3 / 8,)), (9 / 16, 3 / 16, 9, 1.125, (3 / 8,)),
        (5 / 8, 3 / 16, 10, 1.25, (7 / 16,)), (3 / 4, 7 / 32, 12, 1.5, (7 / 16,)), (7 / 8, 1 / 4, 14, 1.75, (1 / 2,)),
        (1.0, 17 / 64, 16, 2.0, (9 / 16,)),
        (1.125, 19 / 64, 18, 2.25, (5 / 8,)), (1.25, 5 / 16, 20, 2.5, (11 / 16,)),
        (1.5, 11 / 32, 22, 2.75, (11 / 16, 3 / 4)), (1.75, 3 / 8, 24, 3.0, (3 / 4, 13 / 16)),
        (2.0, 13 / 32, 26, 3.5, (13 / 16,)))))

# shank: the gauge's diameter, since the table (from memory) gives none; it gives no plugs either
_STEWARD = ScrewTable(
    "steward", "Steward, lighter",
    source="R. M. Steward, Boatbuilding Manual, planking screws: from memory, not checked",
    checked=False,
    rows=tuple(ScrewRow(plank, 0.060 + 0.013 * gauge, gauge, length)
          for plank, gauge, length in ((0.75, 10, 1.5), (0.875, 12, 1.75), (1.0, 14, 2.0), (1.25, 18, 2.5))))

_TABLES = (_HERRESHOFF, _STEWARD)
SCREW_TABLES = tuple(table.name for table in _TABLES)

# common wire nails, length and shank: 'Nail Size Chart', toolsize.io/nails; 5d, 7d and 9d are not in it, their shanks
# are those of ASTM F1667 from memory, not checked.
# Boat nails are made to the same lengths, often square and stouter: unless the boat's own were measured the words say
# so
_NAILS = tuple(NailRow(*row) for row in (
    (2, 1.0, 0.072), (3, 1.25, 0.080), (4, 1.5, 0.098), (5, 1.75, 0.099, False), (6, 2.0, 0.113),
    (7, 2.25, 0.113, False), (8, 2.5, 0.131), (9, 2.75, 0.131, False), (10, 3.0, 0.148),
    (12, 3.25, 0.148), (16, 3.5, 0.162), (20, 4.0, 0.192)))
NAIL_SOURCE = ("one penny to each 1/8 in of plank, softwood two pennies more (Traditional Small Craft Association, "
               "rules of thumb)")

# wood screws as sold, inches: from memory, not checked
_STOCK_LENGTHS_IN = (0.375, 0.5, 0.625, 0.75, 0.875, 1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0, 3.5, 4.0, 4.5,
                     5.0, 6.0)


def find_screw_table(name: str) -> ScrewTable:
    """The ScrewTable of a name in SCREW_TABLES.

    Raises
    ------
    SettingError
    """
    return find_named(_TABLES, name, problem="'%s' is not the name of a screw table.", remedy="Use one of: %s.",
                      where="Size")


def _refuse_no_thickness(thickness_mm):
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise SettingError("A fastening cannot be found for a plank of %g mm." % thickness_mm,
                           "Give the plank's finished thickness.", "Thickness")


def find_screw(thickness_mm: float, *, table: str = "herreshoff") -> tuple[ScrewRow, str]:
    """The screw a table gives for a plank.

    Parameters
    ----------
    thickness_mm : float
        Finished.
    table : str
        One of SCREW_TABLES: 'herreshoff' is the heavier, 'steward' the lighter by two gauges.

    Returns
    -------
    row : ScrewRow
    words : str
        Which row was taken, and its source.

    Raises
    ------
    SettingError
        For a thickness outside the table.

    Examples
    --------
    >>> find_screw(22.0)[0].gauge
    14
    """
    _refuse_no_thickness(thickness_mm)
    found = find_screw_table(table)
    first, last = found.rows[0].plank_in * INCH_MM, found.rows[-1].plank_in * INCH_MM
    if not first - ROW_SLACK_MM <= thickness_mm <= last + ROW_SLACK_MM:
        raise SettingError(
            "The table of %s begins at %s and ends at %s; a plank of %s is outside it, and it is not extended."
                           % (found.title, format_inches(first), format_inches(last), format_mm(thickness_mm)),
            "Give the old boat's own gauge and length, or take another table.", "Thickness")
    row = next(r for r in found.rows if r.plank_in * INCH_MM >= thickness_mm - ROW_SLACK_MM)
    same = abs(row.plank_in * INCH_MM - thickness_mm) <= ROW_SLACK_MM
    words = "row %s%s of %s" % (format_inches(row.plank_in * INCH_MM),
                                "" if same else ", the nearest up from %s," % format_mm(thickness_mm), found.source)
    return row, words


def find_nail(thickness_mm: float, *, softwood: bool = False) -> tuple[NailRow, str]:
    """The boat nail for a plank: one penny size for each 1/8 in of thickness, two more for softwood, then the next size
    that is made.

    Returns
    -------
    row : NailRow
    words : str

    Raises
    ------
    SettingError
        Under 1/4 in, or where the nail would be longer than 20d, the last whose length is known here.

    Examples
    --------
    >>> find_nail(25.4)[0].pennies, find_nail(25.4, softwood=True)[0].pennies
    (8, 10)
    """
    _refuse_no_thickness(thickness_mm)
    eighths = math.ceil((thickness_mm - ROW_SLACK_MM) / (INCH_MM / 8))
    pennies = eighths + (2 if softwood else 0)
    if thickness_mm < INCH_MM / 4 - ROW_SLACK_MM or pennies > _NAILS[-1].pennies:
        raise SettingError("By the penny rule a plank of %s would take %dd, outside the nails known here (2d to 20d, "
                           "planks from 1/4 in)." % (format_mm(thickness_mm), pennies),
                           "Give the old boat's own nail.", "Thickness")
    row = next(r for r in _NAILS if r.pennies >= pennies)
    return row, "%s, %d/8 in%s%s" % (NAIL_SOURCE, eighths, ", softwood" if softwood else "", "" if row.pennies
                                     == pennies else "; %dd is not made, the next up is %dd" % (pennies, row.pennies))


def measure_gauge_mm(number: int) -> float:
    """Shank diameter of a wood screw by its gauge number: 0.060 in and 0.013 in for each number (ASME B18.6.1, from
    memory, not checked).

    Raises
    ------
    SettingError
        For a number below 0 or above 30.
    """
    if not 0 <= number <= 30:
        raise SettingError("No wood screw has the gauge number %g." % number,
                           "Give 0 to 30, or a diameter with its unit: 5 mm.", "Gauge")
    return (0.060 + 0.013 * number) * INCH_MM


def measure_rivet_mm(plank_mm: float, behind_mm: float) -> float:
    """Length of copper nail to buy for riveting: through the plank and what is behind it, plus RIVET_PROUD_MM."""
    return plank_mm + behind_mm + RIVET_PROUD_MM


def measure_lead_hole_mm(shank_mm: float, *, wood: str) -> float:
    """Lead hole for a screw's thread, mm: 70 % of the root diameter in softwood, 90 % in hardwood; the root is two
    thirds of the shank.

    USDA Wood Handbook FPL-GTR-190 (2010), chapter 8: from memory, not checked.

    Parameters
    ----------
    wood : str
        Of the frame, where the thread holds: one of FRAME_WOODS.
    """
    if wood not in FRAME_WOODS:
        raise SettingError("'%s' is not a kind of wood known here." % wood,
                           "Use one of: %s." % ", ".join(FRAME_WOODS), "Frame wood")
    return shank_mm * 2 / 3 * (0.9 if wood == "hardwood" else 0.7)


def measure_counterbore_mm(thickness_mm: float) -> float:
    """Depth of the hole for a plug: a third of the thickness (common practice, no source), but at least
    LEAST_PLUG_DEPTH_MM; 0 where heads are puttied."""
    return 0.0 if thickness_mm < PUTTIED_BELOW_MM - ROW_SLACK_MM else max(thickness_mm / 3, LEAST_PLUG_DEPTH_MM)


def find_stock_length_mm(most_mm: float) -> float | None:
    """The longest screw sold that is no longer than this, mm, or None."""
    fitting = [v for v in _STOCK_LENGTHS_IN if v * INCH_MM <= most_mm + 1e-6]
    return fitting[-1] * INCH_MM if fitting else None
