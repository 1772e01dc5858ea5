"""The nouns of checking a plank: what is known of it from its drawing and from the boat, and what one check says;
immutable, in mm on the page.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .board import Board, lay_on_board
from .drawing import SawLine
from .plank import Plank

if TYPE_CHECKING:
    from typing import Mapping

    from ..geometry.arrays import ArrayLike, Point, Points
    from ..geometry.curve import Curve
    from .board import Section
    from .drawing import Fact, Station
    from .joints_and_fastenings import FasteningLayout, Part, PlacedJoint
    from .plank import Finding

__all__ = ["VERDICTS", "CheckResult", "Measured", "PlankState", "ScanProof", "Trouble", "make_place"]

VERDICTS = ("fail", "doubt", "pass", "not judged")


def make_place(at: Point) -> tuple[float, float]:
    """A place (x, y) of plain numbers."""
    return (float(at[0]), float(at[1]))


@dataclass(frozen=True)
class CheckResult:
    """What one check says.

    name : what is checked, in words. verdict : one of VERDICTS. found, limit : with their units, in words. source : of
    the limit.
    remedy : what to do, or, where it is not judged, what is needed. where : places (x, y) to mark. number : the value
    that was judged, if it is a single number. needs : what is missing where the verdict is 'not judged'.
    """

    name: str
    verdict: str
    found: str = ""
    limit: str = ""
    source: str = ""
    remedy: str = ""
    where: tuple[tuple[float, ...], ...] = ()
    number: float | None = None
    needs: str = ""

    @classmethod
    def need(cls, name: str, what: str) -> CheckResult:
        """A result 'not judged', for a check that lacks what it needs."""
        return cls(name, "not judged", remedy="NEEDS " + what, needs=what)


@dataclass(frozen=True)
class Trouble:
    """A layer that could not be read, with what its action's refusal would say: its label, what is wrong, what to do,
    where (x, y) or None."""

    label: str
    problem: str
    remedy: str
    where: tuple[float, ...] | None = None


@dataclass(frozen=True)
class ScanProof:
    """What True Up Scan left on a piece of artwork: whether more was measured than the map needs, the worst misfit, and
    the predicted error at the farthest points."""

    label: str
    proved: bool
    worst_mm: float = 0.0
    far_mm: float = 0.0


@dataclass(frozen=True)
class Measured:
    """What the yard has measured or wants; all of it is optional, and 0, '' or None mean not given.

    true_length_mm : from the middle of the fore end to the middle of the aft end. frame : label of the frame that the
    next numbers are of:
    width_mm of the plank, upper_angle_deg and lower_angle_deg to the neighbours' flats (> 0 where the hull is round),
    girth_mm of the side, other_widths_mm of all other strakes.
    length_tolerance_mm, width_tolerance_mm : how far off these may honestly be.
    moisture : of the wood, percent. board_* : of the board there is. bar_* : (stated, measured) length of a plot's
    scale bars. falling_mm, rising_mm : of the plot, from the upper fore corner to the lower aft one, and from the lower
    fore corner to the upper aft one.
    scanned_up : face that lay up when the pattern was scanned, 'outboard' or 'inboard'. for_side : 'port' or
    'starboard'.
    """

    true_length_mm: float = 0.0
    length_tolerance_mm: float = 3.0
    frame: str = ""
    width_mm: float = 0.0
    width_tolerance_mm: float = 1.0
    upper_angle_deg: float | None = None
    lower_angle_deg: float | None = None
    girth_mm: float = 0.0
    other_widths_mm: tuple[float, ...] = ()
    moisture: float | None = None
    board_length_mm: float = 0.0
    board_width_mm: float = 0.0
    board_thickness_mm: float = 0.0
    bar_along_mm: tuple[float, ...] = (0.0, 0.0)
    bar_across_mm: tuple[float, ...] = (0.0, 0.0)
    falling_mm: float = 0.0
    rising_mm: float = 0.0
    scanned_up: str = ""
    for_side: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class PlankState:
    """All that the drawing holds on one plank; parts that are missing or could not be read are empty.

    first_seen_from, first_side : of the plank that was scanned, where this one was made by turning it. turned : whether
    this one was.
    saw : SawLine; saw_curves : its four curves even where it is out of date. joint_settings : the settings of Scarfs
    and Butts. facts : layer to the Facts its action has left there; a layer that could not be read has none. findings :
    layer to Findings its action has left there. layers : labels of all layers there are, by name. troubles : Trouble.
    sheet_bars : lengths of the scale bars of the sheet, by 'along' and 'across'.
    boxes : least and greatest x and y, (2, 2), of all that lies on the page, this plank's own first. clutter : (n, 4),
    the same of each word lettered on the plank.
    """

    plank: Plank
    measured: Measured = field(default_factory=Measured)
    stations: tuple[Station, ...] = ()
    saw: SawLine | None = None
    saw_curves: tuple[Curve, ...] = ()
    board: Board | None = None
    joints: tuple[PlacedJoint, ...] = ()
    parts: tuple[Part, ...] = ()
    joint_settings: Mapping[str, str] = field(default_factory=dict)
    facts: Mapping[str, tuple[Fact, ...]] = field(default_factory=dict)
    fastenings: FasteningLayout | None = None
    findings: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)
    layers: Mapping[str, str] = field(default_factory=dict)
    troubles: tuple[Trouble, ...] = ()
    scans: tuple[ScanProof, ...] = ()
    sheet_bars: Mapping[str, float] = field(default_factory=dict)
    turned: bool = False
    first_seen_from: str = ""
    first_side: str = ""
    symmetry: str = ""
    shortest_wave_mm: float = 600.0
    boxes: tuple[Points, ...] = ()
    clutter: ArrayLike = ()

    @property
    def struck_stations(self) -> list[Station]:
        """The stations as they lie on the board, on which fastenings are laid out."""
        return lay_on_board(self.plank, self.stations, self.board)[1]

    def find_station(self, label: str) -> Station | None:
        """The station with a label, or None; case and surrounding blanks are ignored."""
        plain = label.strip().lower()
        return next((s for s in self.stations if s.label.strip().lower() == plain), None)

    def find_section(self, label: str) -> Section | None:
        """The section at the station with a label, or None."""
        plain = label.strip().lower()
        return next((s for s in self.board.sections if s.station.strip().lower() == plain),
                    None) if self.board is not None else None
