"""The nouns of plotting: what is plotted of one plank, a piece of a sheet, a page to plot, and a medium's correction;
immutable, in mm."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .plank import Plank, freeze

if TYPE_CHECKING:
    from ..geometry.arrays import Matrix, Points
    from .drawing import Fact, Overlay, SawLine, SheetLine, SheetText, Station
    from .plank import Finding

__all__ = ["LONGEST_PAGE_MM", "MediumCorrection", "Page", "Pass", "PlankMatter", "SheetBlock", "SheetLie"]

# readers of PDF stop at 14,400 units of 1/72 in (PDF Reference, sixth edition, version 1.7, appendix C)
LONGEST_PAGE_MM = 14400 * 25.4 / 72


@dataclass(frozen=True, eq=False, repr=False)
class PlankMatter:
    """Everything to plot of one plank.

    stations : Station; saw : SawLine or None; overlays : Overlay; board_includes : which of 'bevel', 'hollow', 'seam',
    'bend' the board's faces allow for; scans : Fact, what was found when the scans were trued and joined.
    findings : those lettered on the layers of the fairing and of every action.
    """

    plank: Plank
    stations: tuple[Station, ...] = ()
    saw: SawLine | None = None
    overlays: tuple[Overlay, ...] = ()
    board_includes: tuple[str, ...] = ()
    scans: tuple[Fact, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def told(self) -> tuple[SawLine | Overlay, ...]:
        """All parts that carry facts and findings: the saw line if there is one, then the overlays."""
        return (self.saw, *self.overlays) if self.saw else self.overlays


@dataclass(frozen=True, eq=False, repr=False)
class SheetBlock:
    """Lines and words that are moved together: a plank, a title block, the bars."""

    lines: tuple[SheetLine, ...] = ()
    texts: tuple[SheetText, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Page:
    """A page to plot: its own origin top left, y down; words are strokes among its lines (SheetLine)."""

    name: str
    width_mm: float
    height_mm: float
    lines: tuple[SheetLine, ...]
    title: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class Pass:
    """What one pen or knife draws without a change of tool, 'draw' or 'cut': polylines (n, 2) in mm on the page, in
    order, and the look of each. Without looks, the runs are already cut into dashes and in the order for the machine.

    lettered : whether each run is part of words.
    """

    tool: str
    runs: tuple[Points, ...]
    styles: tuple[str, ...]
    lettered: tuple[bool, ...] = ()


@dataclass(frozen=True)
class SheetLie:
    """How a sheet lies in the machine. feed : whether the plank's length runs 'along' or 'across' the direction of
    feed. page : its size as text, '420 x 297 mm', which is compared literally."""

    feed: str
    page: str

    def describe(self) -> str:
        """'420 x 297 mm, fed along the plank'."""
        return "%s, fed %s the plank" % (self.page, self.feed)


@dataclass(frozen=True)
class MediumCorrection:
    """The correction of a medium's errors: what is drawn is first transformed by `matrix`, and then measures true on
    the medium.

    along, across : factors, 0.99701 where 1003 mm were measured of 1000. skew_mm_per_m : how far the correction leans a
    line across the medium, along it. residual_mm : by how much the measured lengths disagree among themselves, or NaN
    where there are no more lengths than unknowns. number : how many times this medium has been corrected. measured :
    the lengths as typed, to recognise them if typed again. feed, page : how the measured sheet lay in the machine (see
    SheetLie), '' where that was not recorded. turned : whether the factors were measured on a sheet that lay the other
    way, and were exchanged.
    """

    medium: str
    day: str
    number: int
    along: float
    across: float
    skew_mm_per_m: float = 0.0
    residual_mm: float = float("nan")
    measured: str = ""
    feed: str = ""
    page: str = ""
    turned: bool = False

    @property
    def matrix(self) -> Matrix:
        """ndarray, shape (2, 2): x along the medium, y across it."""
        return freeze(np.array([[self.along, self.skew_mm_per_m / 1000 * self.across], [0.0, self.across]]))

    def describe(self) -> str:
        """The line printed on everything that was corrected."""
        lie = " FOR %s%s." % (SheetLie(self.feed, self.page).describe().upper(),
                              ", TURNED FROM A SHEET THAT LAY THE OTHER WAY" if self.turned
                              else "") if self.page else ""
        return ("CORRECTED FOR %s %s (NO. %d): ALONG %.5f ACROSS %.5f SKEW %.2f MM/M.%s THE BARS MUST MEASURE WHAT "
                "THEY SAY NOW: MEASURE THEM AGAIN."
                % (self.medium.upper(), self.day, self.number, self.along, self.across, self.skew_mm_per_m + 0.0, lie))
