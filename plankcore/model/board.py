"""The nouns of the plank as wood on a round hull: what was read at a frame, the section there, and the board's two
faces; in mm.
"""
from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from .drawing import list_words
from .plank import EDGE_NAMES, freeze

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..geometry.arrays import Points
    from ..geometry.curve import Curve
    from .drawing import Fact, Station
    from .plank import Finding, Plank

__all__ = ["Board", "FrameReading", "Seam", "Section", "lay_on_board"]


@dataclass(frozen=True)
class FrameReading:
    """What the yard wrote down at one frame; None for what was not read.

    curvature_per_mm : of the frame across the plank, to the inside of the plank; > 0 where the frame is round, < 0
    where it is hollow.
    bevels_deg : edge name to the bevel from square, > 0 where the outside face is wider.
    angles_deg : edge name to the angle between this plank's flat and its neighbour's, > 0 where the hull is round
    there.
    bend_per_mm : curvature along the plank, > 0 where the hull is round. twist_deg_per_m : twist of the plank along its
    run.
    row : its row in the table, for messages. hollow_mm : the depth as written down, where a depth was read instead of a
    radius.
    """

    station: str
    curvature_per_mm: float | None = None
    bevels_deg: Mapping[str, float] = field(default_factory=dict)
    angles_deg: Mapping[str, float] = field(default_factory=dict)
    bend_per_mm: float | None = None
    twist_deg_per_m: float | None = None
    note: str = ""
    row: str = ""
    hollow_mm: float | None = None


@dataclass(frozen=True)
class Seam:
    """The caulking seam that a rule asks for: the rule with its source, the opening at the outside, and the edges whose
    bevels are reduced for it."""

    rule: str = "none"
    source: str = ""
    gap_mm: float = 0.0
    share: str = "both"


@dataclass(frozen=True, eq=False, repr=False)
class Section:
    """The board cut across at one station.

    line : (2, 2), where it is on the drawn face as it lies on the board, upper end first.
    inside_mm, outside_mm : width of each face, corner to corner. hollow_mm : depth to plane out of the middle of the
    hollow face. rounding_mm : depth to plane off the corners of the round face. stock_mm : thickness of flat stock that
    it needs, without an allowance for planing.
    thickness_mm : finished thickness; less than wanted where the given stock is too thin. bevels_deg : edge name to the
    bevel to plane, the seam included.
    growths_mm : edge name to how far the outside corner stands outside the inside one (negative inside), square to the
    board's edge.
    known : {name of a number: where it is from}: 'given', 'between' (frames on both sides), 'beyond' (the nearest
    frame) or 'taken' (given nowhere); of an edge's bevel also
        'fore' or 'aft', the end that the frame meets instead of that edge: there is no such bevel, and its number is 0.
    profile : (n, 2), the section at the wanted thickness as a closed polygon: x along the straight line between the
    inside corners, from
        the upper, y outward. It begins at the upper inside corner and runs along the inside.
    strain : share by which the edges are too short when a flat board is bent to a hull that is round in both
    directions; None where the bend is not known.
    """

    station: str
    line: Points
    distance_mm: float
    curvature_per_mm: float
    inside_mm: float
    outside_mm: float
    hollow_mm: float
    rounding_mm: float
    stock_mm: float
    thickness_mm: float
    bevels_deg: Mapping[str, float]
    growths_mm: Mapping[str, float]
    known: Mapping[str, str]
    profile: Points
    note: str = ""
    strain: float | None = None

    def __post_init__(self):
        object.__setattr__(self, "line", freeze(self.line, columns=2))
        object.__setattr__(self, "profile", freeze(self.profile, columns=2))

    def reaches(self, edge: str) -> bool:
        """Whether the frame meets this long edge, and not an end of the plank instead."""
        return self.known.get(edge) not in ("fore", "aft")

    def find_bevel_source(self, edge: str) -> str:
        """Where an edge's bevel comes from: 'read', 'from the frames on both sides', 'as at the nearest frame read';
        where none was given at any frame 'radial', square to the curve of frames that were read as round, or
        'square'."""
        known = self.known.get(edge, "")
        if known == "taken":
            return "square" if self.known.get("radius") == "taken" else "radial"
        return {"given": "read", "between": "from the frames on both sides",
                "beyond": "as at the nearest frame read"}.get(known, known)


@dataclass(frozen=True, eq=False, repr=False)
class Board:
    """Both faces of a plank as they lie on the flat board, one over the other, and the sections between them.

    drawn_face, other_face : four Curves each, in the order of Plank.outline; the drawn face is the plank's own outline
    with the
        bend along and the roundness across counted. face : the face that drawn_face is, as Plank.face.
    stock_mm : the thickest stock that any section needs, planing included; stock_name what to buy. thickness_mm :
    finished thickness wanted.
    length_added_mm : what bending adds to the flat length between the ends. turn_deg : angle that the plank is bent
    through. includes : which of 'bevel', 'hollow', 'seam', 'bend' the faces allow for. given_stock_mm : thickness of
    the stock at hand, 0 where none was given.
    """

    drawn_face: tuple[Curve, ...]
    other_face: tuple[Curve, ...]
    sections: tuple[Section, ...]
    seam: Seam
    thickness_mm: float
    stock_mm: float
    stock_name: str
    length_added_mm: float
    turn_deg: float
    includes: tuple[str, ...]
    facts: tuple[Fact, ...] = ()
    findings: tuple[Finding, ...] = ()
    face: str = "inboard"
    given_stock_mm: float = 0.0

    @property
    def rows(self) -> tuple[str, ...]:
        """What sheet and record print of them."""
        return list_words(self.facts)


def lay_on_board(plank: Plank, stations: Sequence[Station], board: Board | None) -> tuple[Plank, list[Station]]:
    """The plank and its stations as they are struck on the flat board, allowing for the bend along and the roundness
    across.

    Parameters
    ----------
    plank : Plank
        As the pattern shows it.
    stations : sequence of Station
    board : Board or None
        Without one nothing changes.

    Returns
    -------
    plank : Plank
    stations : list of Station
    """
    if board is None:
        return plank, list(stations)
    curves = dict(zip(("upper", "aft", "lower", "fore"), board.drawn_face))
    curves.update(lower=curves["lower"].reverse(), fore=curves["fore"].reverse())
    struck = replace(plank, edges={n: replace(plank.edges[n], curve=curves[n]) for n in EDGE_NAMES})
    start, along, _ = struck.find_axes()
    there = {s.station: s.line for s in board.sections}
    lines = [(one, there.get(one.label, one.line)) for one in stations]
    return struck, [replace(one, line=line, width_mm=float(np.hypot(*(line[1] - line[0]))),
                            distance_mm=float((line.mean(axis=0) - start) @ along)) for one, line in lines]
