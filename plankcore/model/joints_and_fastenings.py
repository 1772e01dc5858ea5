"""The nouns of scarfs and butts, and of fastenings: what the yard wrote down, where each lies along the plank, the
parts, what a rule says, and what to buy; in mm on the page.

Distances run along the plank's baseline from the middle of its fore end, aft positive; what lies ahead of the plank is
negative.
A bay is '9-10', between two frames next to each other, the forward one first; 'on 9' is on a frame and belongs to no
bay.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .drawing import Overlay
from .plank import freeze

if TYPE_CHECKING:
    from typing import Any, Mapping

    from ..geometry.arrays import Points, Values
    from ..geometry.curve import Curve

__all__ = [
    "KINDS",
    "BareStretch",
    "BlockPlace",
    "Fastening",
    "FasteningLayout",
    "FasteningList",
    "FasteningSize",
    "FrameRecord",
    "Joint",
    "JointRecord",
    "Part",
    "PlacedJoint",
    "SideFrames",
    "Verdict",
]

KINDS = ("butt", "scarf")


@dataclass(frozen=True)
class JointRecord:
    """One row of a table of joints, or one labelled line on the page, as it was written.

    kind : butt, scarf, or none, which names a strake without a joint. order : the strake's number from the garboard, or
    None.
    bay : '9-10' or 'on 9', or ''. distance_mm : aft from the frame `of`, or from the bow datum where that is ''; None
    where a bay is given.
    point : (x, y) of a line on the page, in place of both. where : its row, or its label, for messages.
    """

    side: str
    strake: str
    kind: str = "butt"
    bay: str = ""
    distance_mm: float | None = None
    of: str = ""
    note: str = ""
    order: int | None = None
    point: tuple[float, ...] | None = None
    where: str = ""


@dataclass(frozen=True)
class FrameRecord:
    """One row of a table of frames: label, distance aft from the bow datum, and its row, for messages."""

    label: str
    distance_mm: float
    where: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class SideFrames:
    """The frames of the side, from forward aft: labels and places along the plank's baseline.

    first, last : indices from 0 of the frames at the plank's own foremost and aftermost stations. datum_mm : where the
    bow datum lies along the baseline, or None. siding_mm : breadth of a frame along the plank.
    """

    labels: tuple[str, ...]
    distances_mm: Values
    first: int
    last: int
    datum_mm: float | None = None
    siding_mm: float = 0.0

    def __post_init__(self):
        object.__setattr__(self, "distances_mm", freeze(self.distances_mm))


@dataclass(frozen=True)
class Joint:
    """A joint of this strake or of another. place : in frame spaces: n + 1/2 in the bay aft of frame n, n on that
    frame.

    number : of the strake, from the garboard up. doubt_mm : half the length of the bay where only the bay is known
    (distance_mm is then its middle), else 0.
    ours : 'new' for a joint in the plank, 'end' for an end of it, '' for one on the boat. end : 'fore' or 'aft' where
    it is an end.
    """

    side: str
    strake: str
    kind: str
    bay: str
    distance_mm: float
    note: str = ""
    number: int = 0
    place: float = 0.0
    doubt_mm: float = 0.0
    ours: str = ""
    where: str = ""
    end: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class PlacedJoint:
    """A joint in the plank as it is laid out.

    distance_mm : of its middle, along the baseline from the fore end. length_mm : along the plank, 0 for a butt. slope
    : 12.0 for 12 to 1, 0 for a butt.
    line : (2, 2), across the plank at its middle, upper end first. feather : 'aft' or 'fore', the way the outside
    feather edge of a scarf faces; '' for a butt.
    """

    label: str
    kind: str
    bay: str
    distance_mm: float
    length_mm: float
    slope: float
    line: Points
    thickness_mm: float
    feather: str = ""

    def __post_init__(self):
        object.__setattr__(self, "line", freeze(self.line, columns=2))


@dataclass(frozen=True, eq=False, repr=False)
class Part:
    """One length of a plank made of several: from joint to joint. At a scarf it runs to the scarf's far end, so that
    parts overlap by its length.

    number : from 1 at the fore end. curves : closed chain of Curves where they lie in the plank, net. from_mm, to_mm :
    along the baseline.
    """

    number: int
    curves: tuple[Curve, ...]
    from_mm: float
    to_mm: float


@dataclass(frozen=True)
class Verdict:
    """What one rule says of one pair of joints, one joint, or one length.

    key : 'pair', 'joint', 'spaces' or 'feet'. passed : True, False, or None where the rule does not cover the case.
    number, limit : in `unit`: 'frame spaces', 'mm', 'thicknesses', or strakes, as 'strakes in one bay'. joints : those
    judged. head, said : for people: which joints or length, and the statement on them; `words` joins both.
    """

    rule: str
    source: str
    key: str
    passed: bool | None
    head: str
    said: str
    number: float
    limit: float
    unit: str
    joints: tuple[Joint, ...] = ()

    @property
    def words(self) -> str:
        """The whole sentence, for people."""
        return "%s: %s" % (self.head, self.said)


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
