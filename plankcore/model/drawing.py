"""The nouns laid on a fair plank: stations, the saw line, and the sheet; immutable, in mm."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .facts import list_words
from .plank import freeze

if TYPE_CHECKING:
    from typing import Any, Mapping

    from ..geometry.arrays import Cubics, Matrix, Point, Points
    from ..geometry.curve import Curve
    from .facts import Fact
    from .plank import Finding

__all__ = ["Overlay", "SawLine", "Sheet", "SheetLine", "SheetText", "Station"]


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
