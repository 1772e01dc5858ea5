"""The nouns of fastenings: one fastening in its place, its size, what to buy, and the whole layout; in mm on the page.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .drawing import Overlay

if TYPE_CHECKING:
    from typing import Any, Mapping

__all__ = ["KINDS", "BareStretch", "BlockPlace", "Fastening", "FasteningLayout", "FasteningList", "FasteningSize"]

KINDS = ("frame", "butt", "end")


@dataclass(frozen=True)
class Fastening:
    """One fastening in its place.

    at_mm : (x, y). kind : 'frame' at a frame, 'butt' in a butt block, 'end' at a hood end. station : the frame's label,
    the joint's, or the end's name.
    along_mm : from the upper edge, along the frame, the joint or the end, on the drawn face. edge_mm : to the nearer of
    the long edges.
    end_mm : to the nearest end of the plank or butt in it. through : a through bolt.
    """

    at_mm: tuple[float, ...]
    kind: str
    station: str
    along_mm: float
    edge_mm: float
    end_mm: float
    through: bool = False


@dataclass(frozen=True)
class FasteningSize:
    """The fastening to drive: its name in words, shank diameter and length, plug diameter and depth (0, 0: none), lead
    hole for the thread (0: not known), and the source.

    plug_words : all plugs that the table names, or what is done instead of plugging. reach_mm : how far the point goes
    into what is behind the plank. gauge : 'No 12' or a diameter, for screws and for the boat's own fastenings.
    from_table : whether a screw is from a table; its length is then given in inches.
    """

    name: str
    words: str
    diameter_mm: float
    length_mm: float
    plug_mm: float
    depth_mm: float
    lead_mm: float
    plug_words: str
    table: str
    reach_mm: float = 0.0
    gauge: str = ""
    from_table: bool = False


@dataclass(frozen=True)
class FasteningList:
    """One line of what to buy: what it is for, size in words, how many are driven, how many spares, the table, and the
    metal in words ('' for wooden plugs)."""

    use: str
    words: str
    count: int
    spares: int
    table: str
    metal: str = "not named"

    @property
    def total(self) -> int:
        """How many to buy."""
        return self.count + self.spares


@dataclass(frozen=True)
class BlockPlace:
    """A butt block as it is drawn: its middle (x, y), length along the plank, and thickness."""

    at_mm: tuple[float, ...]
    length_mm: float
    thickness_mm: float


@dataclass(frozen=True)
class BareStretch:
    """A stretch of a frame, of one side of a butt or of a hood end that lacks the fastenings it should have.

    kind, station : as of a Fastening. side : 'fore' or 'aft' of a butt, else ''. from_mm, to_mm : from the upper edge,
    along the frame, the joint or the end.
    wanted, count : fastenings asked for and laid out on that frame, butt or end. ends_mm : where the stretch begins and
    ends, ((x, y), (x, y)).
    """

    kind: str
    station: str
    side: str
    from_mm: float
    to_mm: float
    wanted: int
    count: int
    ends_mm: tuple[tuple[float, ...], ...]

    @property
    def length_mm(self) -> float:
        """Length of the stretch."""
        return self.to_mm - self.from_mm


@dataclass(frozen=True, eq=False, repr=False)
class FasteningLayout:
    """All fastenings of a plank, the size at the frames, the buying lists, and the drawing. values : attributes for the
    layer. bare : tuple of BareStretch."""

    fastenings: tuple[Fastening, ...]
    size: FasteningSize
    lists: tuple[FasteningList, ...]
    overlay: Overlay
    values: Mapping[str, Any]
    bare: tuple[BareStretch, ...] = ()
