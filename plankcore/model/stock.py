"""The nouns of choosing stock: boards with their defects, what is to be got out of them, where it lies, and what that
costs; in mm.

A board has axes of its own: x along it from its left end, y across it from its upper edge down, as it lies on its page.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.polyline import find_self_crossing
from .plank import freeze

if TYPE_CHECKING:
    from typing import Mapping

    from ..geometry.arrays import Matrix, Numbers, Points
    from ..geometry.curve import Curve
    from .drawing import Fact
    from .plank import Finding

__all__ = ["BoardUse", "Defect", "LeastBoard", "Placement", "PlankPiece", "ScarfSaving", "StockBoard", "StockPlan"]


@dataclass(frozen=True, eq=False, repr=False)
class Defect:
    """A defect in a board: its outline (n, 2) on the board. A sound `knot` may be allowed inside a plank, any other
    `defect` never."""

    kind: str
    outline: Points

    def __post_init__(self):
        object.__setattr__(self, "outline", freeze(self.outline, columns=2))


@dataclass(frozen=True, eq=False, repr=False)
class StockBoard:
    """One board, lying with the face up that is to be chalked.

    outline : (n, 2), closed. grain : (k, 2), rising x and the direction of the grain there, in degrees from x towards
    y. moisture_percent : None where not known.
    sap_mm : breadth of sapwood along the upper and the lower edge. drawn : whether its outline is drawn, so that its
    edges need not be straight.
    where : its row in the table or its object on the page, for messages.
    """

    label: str
    outline: Points
    thickness_mm: float
    grain: Points = field(default_factory=lambda: np.zeros((1, 2)))
    moisture_percent: float | None = None
    species: str = ""
    defects: tuple[Defect, ...] = ()
    sap_mm: tuple[float, ...] = (0.0, 0.0)
    drawn: bool = False
    where: str = ""

    def __post_init__(self):
        object.__setattr__(self, "outline", freeze(self.outline, columns=2))
        object.__setattr__(self, "grain", freeze(self.grain, columns=2))
        crossing = find_self_crossing(self.outline)
        if len(self.outline) < 3 or crossing is not None:
            raise PatternError("The outline of board %s crosses itself or has no size." % self.label,
                               "Draw it again, once round.", self.where or self.label)

    @property
    def length_mm(self) -> float:
        """Length, from end to end."""
        return float(np.ptp(self.outline[:, 0]))

    @property
    def width_mm(self) -> float:
        """Greatest width."""
        return float(np.ptp(self.outline[:, 1]))

    @property
    def area_mm2(self) -> float:
        """Of one face."""
        x, y = (self.outline - self.outline[0]).T
        return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))

    @property
    def volume_mm3(self) -> float:
        """Volume of the whole board, waste included."""
        return self.area_mm2 * self.thickness_mm

    def find_grain_deg(self, x_mm: Numbers) -> Numbers:
        """Direction of the grain at places along the board, degrees."""
        return np.interp(x_mm, self.grain[:, 0], self.grain[:, 1])


@dataclass(frozen=True, eq=False, repr=False)
class PlankPiece:
    """A plank, or one part of a scarfed plank, to be got out of a board; places in mm on the page of the drawing.

    curves : the closed chain that must fit, and `includes` what it is: 'saw line' or 'net outline'. net : the net
    outline, where that is another.
    run : (n, 2) midway between the long edges, from the fore end. stations : (label, line (2, 2)). joints : (label,
    line (2, 2)).
    keep_clear : (k, 2) places of joints and fastenings that knots must keep away from. stock_mm : thickness of board
    that it needs, 0 where not known.
    face_up : the face that one sees in this shape, 'inboard' or 'outboard'. key : the plank's own id. part : number of
    the part, 0 for a whole plank.
    """

    label: str
    curves: tuple[Curve, ...]
    run: Points
    includes: str = "net outline"
    net: tuple[Curve, ...] = ()
    stations: tuple[tuple[str, Points], ...] = ()
    joints: tuple[tuple[str, Points], ...] = ()
    keep_clear: Points = field(default_factory=lambda: np.zeros((0, 2)))
    stock_mm: float = 0.0
    finished_mm: float = 0.0
    face_up: str = "outboard"
    forward: str = "right"
    key: str = ""
    part: int = 0

    def __post_init__(self):
        object.__setattr__(self, "run", freeze(self.run, columns=2))
        object.__setattr__(self, "keep_clear", freeze(np.reshape(self.keep_clear, (-1, 2))))


@dataclass(frozen=True, eq=False, repr=False)
class Placement:
    """Where a piece lies on a board: `to_board` (2, 3) carries page places onto the board.

    turned_over : whether the other face lies up. turn_deg : angle of its baseline to the board's length. spare_mm : the
    smallest distance to the board's edges, sapwood, defects and other pieces, minus the clearance asked for. runout_deg
    : the greatest angle between its run and the grain;
    runout_mm : the place of that along the run from the fore end; runout_at : the same place on the page.
    """

    piece: str
    board: str
    to_board: Matrix
    turn_deg: float
    turned_over: bool
    spare_mm: float
    runout_deg: float
    runout_mm: float
    runout_at: tuple[float, ...]

    def __post_init__(self):
        object.__setattr__(self, "to_board", freeze(self.to_board))


@dataclass(frozen=True)
class LeastBoard:
    """The narrowest board that a piece comes out of, with the clearances asked for, and the length needed then.
    turn_deg : angle of the baseline to that board.

    along_width_mm, along_length_mm : the same with the baseline along the board. area_width_mm, area_length_mm : of the
    board of least area.
    sny_mm : how far its run bows from a straight line.
    """

    width_mm: float
    length_mm: float
    turn_deg: float
    along_width_mm: float
    along_length_mm: float
    area_width_mm: float
    area_length_mm: float
    sny_mm: float


@dataclass(frozen=True)
class ScarfSaving:
    """What one scarf would save. at_mm, length_mm : its middle along the baseline from the fore end, and its length.
    width_mm : boards of this width are then enough for both parts.

    lengths_mm, widths_mm : of the two boards. saved_mm2 : face area of the least board for the whole plank minus that
    of the two.
    """

    at_mm: float
    length_mm: float
    width_mm: float
    widths_mm: tuple[float, ...]
    lengths_mm: tuple[float, ...]
    saved_mm2: float
    whole_width_mm: float


@dataclass(frozen=True)
class BoardUse:
    """A board that is used: what is cut from it, and its measure."""

    board: str
    pieces: tuple[str, ...]
    board_feet: float
    surface_feet: int
    tally_feet: float
    cubic_metres: float
    waste_share: float


@dataclass(frozen=True, eq=False, repr=False)
class StockPlan:
    """placements : Placement. unplaced : (piece label, reason). uses : BoardUse of each board used. needs : {piece
    label: LeastBoard}. scarfs : {piece label: ScarfSaving, or None}.

    facts, findings : {piece label: Facts} and {piece label: Findings}. waste_share : waste as a share of all wood in
    the boards used.
    """

    placements: tuple[Placement, ...]
    unplaced: tuple[tuple[str, str], ...]
    uses: tuple[BoardUse, ...]
    needs: Mapping[str, LeastBoard]
    scarfs: Mapping[str, ScarfSaving | None]
    facts: Mapping[str, tuple[Fact, ...]]
    findings: Mapping[str, tuple[Finding, ...]]
    volume_mm3: float = 0.0
    waste_share: float = 0.0
    summary: tuple[str, ...] = ()
