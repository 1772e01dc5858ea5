"""The nouns laid on a fair plank: what an action found, as facts; stations, the saw line, and the sheet; and what turns
with a plank; immutable, in mm.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .plank import Plank, freeze

if TYPE_CHECKING:
    from typing import Any, Iterable, Mapping

    from ..geometry.arrays import Cubics, Matrix, Point, Points
    from ..geometry.curve import Curve
    from .plank import Comb, Finding

__all__ = [
    "COUNTS",
    "SAID_BY_FACTS",
    "VERDICTS",
    "Fact",
    "Overlay",
    "Place",
    "PlankLayers",
    "SawLine",
    "Sheet",
    "SheetLine",
    "SheetText",
    "Station",
    "Turn",
    "find_facts",
    "is_told_of_plank",
    "list_words",
]

VERDICTS = ("", "holds", "doubt", "fails", "not judged")
# findings (by key) that only repeat at their place what facts (by key) of the same layer say in full
SAID_BY_FACTS = {"joint-fails": ("pair", "joint"), "short-lengths": ("length",), "board-too-short": ("stock",),
                  "thin-stock": ("stock",), "no-board": ("board",), "grain": ("grain",),
                  "little-room": ("inside-drawn-edge",), "moisture-when-hung": ("moisture-when-hung",),
                  "metal": ("metal",)}
# facts that only count findings of the same layer; the findings say more
COUNTS = {"doubtful-readings": ("bevel-off", "reading-off"), "left-bare": ("too-few", "no-room", "uneven"),
           "fastenings-by-width": ("too-few", "count-by-width")}
# findings of the fairing that are told from the plank's own marks, corners and names
_OF_THE_PLANK = ("mark-off", "corner-guessed", "taken-as-usual")


@dataclass(frozen=True)
class Place:
    """The place on the plank that a fact is about: station, edge, distance aft of the fore end; '' and None where not
    given."""

    station: str = ""
    edge: str = ""
    along_mm: float | None = None


@dataclass(frozen=True)
class Fact:
    """One thing that an action found.

    key : what the fact is on: 'pair', 'stock', 'swelling', 'bow-to'. verdict : one of VERDICTS.
    number, limit : the value found and the one it is compared with, both in `unit` ('mm', 'deg', 'frame spaces'); None
    where there is none. source : who sets the limit.
    place : Place or None. about : the joints, parts, bays or boards concerned, separated by '; '.
    words : the sentence that sheet and record print, '' where they print none. brief : a short form of it, for a table.
    Both are made in the words.py of the operation and are for people: no code reads them.
    """

    key: str
    words: str = ""
    verdict: str = ""
    number: float | None = None
    unit: str = ""
    limit: float | None = None
    source: str = ""
    place: Place | None = None
    about: str = ""
    brief: str = ""


def list_words(facts: Iterable[Fact]) -> tuple[str, ...]:
    """The sentences of those facts that have one, in order, a tuple of str: what sheet and record print."""
    return tuple(fact.words for fact in facts if fact.words)


def find_facts(facts: Iterable[Fact], key: str, *verdicts: str) -> list[Fact]:
    """The facts with one key and one of these verdicts, or any verdict: a list of Fact."""
    return [fact for fact in facts if fact.key == key and (not verdicts or fact.verdict in verdicts)]


def is_told_of_plank(plank: Plank, finding: Finding) -> bool:
    """Whether a finding of the fairing is told from the plank itself: doubtful marks, guessed corners, assumed names.
    """
    if finding.key not in _OF_THE_PLANK:
        return False
    if finding.key == "mark-off":
        off = [m for m in plank.marks if m.verdict != "used"]
        return any((m.edge, m.station) == (finding.edge, finding.station) for m in off) or bool(off) and not (
            finding.edge or finding.station)
    if finding.key == "corner-guessed":
        guesses = {name for name, edge in plank.edges.items() if edge.guesses}
        return finding.edge in guesses or bool(guesses) and not finding.edge
    return bool(plank.assumed)


@dataclass(frozen=True, eq=False, repr=False)
class Station:
    """A frame line across the plank: label, its two ends (2, 2), the one towards the upper edge first, width along it.

    ends : the edge on which each end of the line lies. Near a raked or curved hood end a frame may meet the fore or the
    aft edge instead of a long one.
    words : 'right' or 'left', the side of the line that its words stand on; turning a plank swaps it.
    """

    label: str
    line: Points
    width_mm: float
    distance_mm: float
    words: str = "right"
    ends: tuple[str, ...] = ("upper", "lower")

    def __post_init__(self):
        object.__setattr__(self, "line", freeze(self.line, columns=2))

    def is_whole(self) -> bool:
        """Whether it runs from the upper edge to the lower."""
        return tuple(self.ends) == ("upper", "lower")

    def find_end(self, edge: str) -> Point | None:
        """The end (2,) of its line on an edge, or None where the frame does not reach that edge."""
        return self.line[self.ends.index(edge)] if edge in self.ends else None


@dataclass(frozen=True, eq=False, repr=False)
class SawLine:
    """The line to cut: four closed curves in the order of Plank.outline, and what was added on each edge.

    facts : Facts on what it includes and what is planed off where; `rows` : their sentences, for the sheet. includes :
    which of 'bevel', 'hollow', 'seam', 'bend', 'swelling' it allows for. findings : doubts, for the drawing.
    lives : 'under water', 'topside' or 'not said'. afloat_percent : moisture that swelling was judged at, None where it
    was not judged.
    """

    curves: tuple[Curve, ...]
    added_mm: Mapping[str, float]
    facts: tuple[Fact, ...] = ()
    includes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    lives: str = "not said"
    afloat_percent: float | None = None

    @property
    def rows(self) -> tuple[str, ...]:
        """The sentences of its facts, which sheet and record print."""
        return list_words(self.facts)


@dataclass(frozen=True, eq=False, repr=False)
class SheetLine:
    """Cubics (k, 4, 2) in mm, each beginning where the one before ends, of the sheet or, in an Overlay, of the page;
    pen 'cut' or 'draw'; role and style as the document names them.
    """

    cubics: Cubics
    pen: str
    role: str
    style: str
    closed: bool = False
    values: tuple[tuple[str, Any], ...] = ()


@dataclass(frozen=True)
class SheetText:
    """Words to letter: place (x, y) of the baseline, capital height, turn, anchor."""

    text: str
    at_mm: tuple[float, ...]
    height_mm: float
    angle_deg: float = 0.0
    anchor: str = "start"
    style: str = "note"
    role: str = "note"


@dataclass(frozen=True, eq=False, repr=False)
class Overlay:
    """What one action draws and letters on a plank, in mm on the page, and what it found.

    lines : SheetLine; texts : SheetText; facts : Fact, `rows` their words; findings : Finding.
    """

    lines: tuple[SheetLine, ...] = ()
    texts: tuple[SheetText, ...] = ()
    facts: tuple[Fact, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def rows(self) -> tuple[str, ...]:
        """The sentences of its facts, which sheet and record print."""
        return list_words(self.facts)


@dataclass(frozen=True, eq=False, repr=False)
class Sheet:
    """A sheet of width_mm by height_mm; to_sheet : (2, 3), the map from the drawing's page to it."""

    width_mm: float
    height_mm: float
    to_sheet: Matrix
    lines: tuple[SheetLine, ...]
    texts: tuple[SheetText, ...]
    title: str

    def __post_init__(self):
        object.__setattr__(self, "to_sheet", freeze(self.to_sheet))


@dataclass(frozen=True)
class Turn:
    """How a plank is turned that is wanted with another face up, or for the other side of the boat.

    side, face_up, forward : of the new plank: 'port' or 'starboard'; the face that lies up on the board; which way the
    bow lies, upper edge up.
    mirrored : whether its outline is the mirror image of the old one (left to right), or the old one unchanged.
    side_changes, face_changes : what is asked for. drawn_face_up : whether the face whose outline is drawn is the one
    that lies up.
    """

    side: str
    face_up: str
    forward: str
    mirrored: bool
    side_changes: bool
    face_changes: bool
    drawn_face_up: bool


@dataclass(frozen=True, eq=False, repr=False)
class PlankLayers:
    """A plank and everything that actions have drawn on it.

    combs : Comb; stations : Station; square_to : what the stations were struck square to; station_findings : Finding;
    saw : SawLine or None.
    overlays : name of a layer to its Overlay, findings and all.
    """

    plank: Plank
    combs: tuple[Comb, ...] = ()
    stations: tuple[Station, ...] = ()
    square_to: str = ""
    station_findings: tuple[Finding, ...] = ()
    saw: SawLine | None = None
    overlays: Mapping[str, Overlay] = field(default_factory=dict)
