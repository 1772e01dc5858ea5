"""Settings of a plot: margins, file and day, the medium that it is plotted on."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..model.ranges import refuse_unknown
from .chosen import ALL, PLOTTED

if TYPE_CHECKING:
    from ..model.page import MediumCorrection

__all__ = ["MediumSettings", "SheetSettings"]


@dataclass(frozen=True)
class SheetSettings:
    """margin_mm: clear paper round everything; file_name: printed on the sheet; day: date to print, or ''; correction:
    of the medium, to be applied and printed; plotted: which parts of a plank, one of PLOTTED."""

    margin_mm: float = 20.0
    file_name: str = ""
    day: str = ""
    correction: MediumCorrection | None = None
    plotted: str = ALL

    def __post_init__(self):
        refuse_unknown(self.plotted, PLOTTED, field="What to plot")


@dataclass(frozen=True)
class MediumSettings:
    """The medium that is plotted on.

    roll, sheet : names in ROLLS and SHEETS, or OWN, with own_mm the width of the roll, or both sides of the sheet.
    long_side : direction of the sheet's long side, 'along' the plank or 'across'. edge_mm : border that the machine
    cannot reach. overlap_mm : of tiles. gap_mm : between pieces on a roll. longest_mm : length left of the roll, 0 for
    no limit. first_edge : the edge of a sheet that goes into the machine first, 'short edge' or 'long edge'; a
    correction is stored for that.
    """

    roll: str = "36 in (914 mm)"
    sheet: str = "A3"
    own_mm: tuple[float, ...] = (0.0, 0.0)
    long_side: str = "along"
    edge_mm: float = 10.0
    overlap_mm: float = 20.0
    gap_mm: float = 15.0
    longest_mm: float = 0.0
    first_edge: str = "short edge"
