"""Pieces and boards prepared for laying: the piece turned and divided into columns, the board without the parts that
may not be used."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import list_distinct
from ..geometry.convex import find_hull, measure_extents_mm
from ..geometry.envelope import cover_columns, find_envelope, find_room, grow_envelope
from ..geometry.outline import flatten_outline
from ..geometry.polyline import measure_arc_mm

if TYPE_CHECKING:
    from typing import Any, Callable, Sequence

    from ..geometry.arrays import Numbers, Points, Values
    from ..geometry.envelope import Envelope
    from ..model.stock import StockBoard

__all__ = ["KNOT_RULES", "LAYS", "Blot", "Outline", "ReadyBoard", "StockSettings"]

# chord tolerance of a piece's outline, which is added to clearances
FLAT_MM = 0.05
KNOT_RULES = ("out", "clear")
LAYS = ("grain", "middle")
FINE_MM = 1e-3            # chord tolerance where a piece's own sizes are reported
_RUN_POINTS = 81
_NET_DEG = 0.05
_MOST_KEPT = 20000


@dataclass(frozen=True)
class StockSettings:
    """How pieces are laid on boards.

    kerf_mm : wood the saw takes between two pieces. edge_mm, end_mm : distance to keep from the board's edges (or the
    sapwood) and from its ends.
    use_sap : whether sapwood may be used. knots : 'out' keeps knots outside a piece by clear_mm; 'clear' lets sound
    knots lie inside it where they are clear_mm from its edges, joints and fastenings; other defects are always kept out
    by clear_mm. turn_over : whether pieces may lie with the other face up.
    most_turn_deg : greatest angle to the board's length: small follows the board, large makes a narrower board possible
    and lets the grain run out.
    steepest : run-out to warn of, 1 in this; 0 for never. lay : where a piece alone on its board lies, along the
    'grain' or in the 'middle'.
    scarf_slope : of the scarf that is tried, 1 in this. species : use only boards of this, where given. tries : orders
    that are tried in packing: few are quick, many waste less. seed : for random orders.
    """

    kerf_mm: float = 4.0
    edge_mm: float = 5.0
    end_mm: float = 25.0
    use_sap: bool = False
    knots: str = "out"
    clear_mm: float = 20.0
    turn_over: bool = False
    most_turn_deg: float = 10.0
    steepest: float = 10.0
    lay: str = "grain"
    scarf_slope: float = 12.0
    species: str = ""
    tries: int = 6
    seed: int = 1


class Outline:
    """A piece in axes of its own, its baseline along x with the fore end to the left, with cached results for each
    turn.

    to_own : (2, 3), from the page. points : (n, 2) of its outline; fine : on finer chords. aside : 180 where the piece
    lies the other way round on the page, so that the way it is drawn is tried first.
    """

    def __init__(self, piece):
        self.piece = piece
        way = piece.run[-1] - piece.run[0]
        angle = np.arctan2(way[1], way[0])
        c, s = np.cos(angle), np.sin(angle)
        turn = np.array([[c, s], [-s, c]])
        middle = 0.5 * (piece.run[0] + piece.run[-1])
        self.to_own = np.hstack([turn, (-turn @ middle)[:, None]])
        outline = flatten_outline(piece.curves, tolerance_mm=FLAT_MM)
        self.points = (outline - middle) @ turn.T
        self.fine = (flatten_outline(piece.curves, tolerance_mm=FINE_MM) - middle) @ turn.T
        self.clear = (piece.keep_clear - middle) @ turn.T
        self.hull = find_hull(self.points)
        self.ends = (0.0, 180.0) if way[0] >= 0 else (180.0, 0.0)
        x, y = self.points.T
        cross = x * np.roll(y, -1) - np.roll(x, -1) * y
        self.area_mm2 = 0.5 * abs(float(cross.sum()))
        self.centre = np.array([((x + np.roll(x, -1)) * cross).sum(),
                                ((y + np.roll(y, -1)) * cross).sum()]) / (3 * cross.sum())
        arc = measure_arc_mm(piece.run)
        even = np.linspace(0.0, arc[-1], _RUN_POINTS)
        run = (np.stack([np.interp(even, arc, piece.run[:, k]) for k in (0, 1)], axis=1) - middle) @ turn.T
        steps = np.diff(run, axis=0)
        self.run, self.run_mm = 0.5 * (run[1:] + run[:-1]), 0.5 * (even[1:] + even[:-1])
        self.run_deg = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
        self.run_span_deg = float(self.run_deg.min()), float(self.run_deg.max())
        self.sny_mm = float(np.ptp(run[:, 1]))
        self.kept, self._breadths = {}, []

    def find_map(self, turn_deg: float, over: bool) -> Points:
        """The map (2, 2) from its own axes to the board's: first turned over if `over`, then turned."""
        a = np.radians(turn_deg)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        return turn * (1.0, -1.0) if over else turn

    def keep(self, key: tuple[float | str, float, bool], make: Callable[..., Any]) -> Numbers:
        """The cached data for a turn."""
        if key not in self.kept:
            if len(self.kept) > _MOST_KEPT:
                self.kept.clear()
            self.kept[key] = make()
        return self.kept[key]

    def see(self, turn_deg: float, over: bool) -> Envelope:
        """The Envelope at a turn, about the piece's own origin."""
        return self.keep(("seen", round(float(turn_deg), 7), over),
                         lambda: find_envelope(self.points @ self.find_map(turn_deg, over).T))

    def see_grown(self, turn_deg: float, over: bool, grow_mm: float) -> Envelope:
        """The same, grown all round by grow_mm, such as the saw's kerf."""
        return self.keep((grow_mm, round(float(turn_deg), 7), over),
                         lambda: grow_envelope(self.see(turn_deg, over), grow_mm))

    def find_lean_mm(self, turn_deg: float, over: bool) -> float:
        """y of the centroid of its area, relative to its origin."""
        return self.keep(("lean", round(float(turn_deg), 7), over),
                         lambda: float((self.find_map(turn_deg, over) @ self.centre)[1]))

    def find_worst_runout_deg(self, board: StockBoard, turn_deg: float, over: bool, x_mm: float) -> float:
        """The greatest angle between the run and the grain."""
        if len(board.grain) > 1:
            return float(self.measure_runout_deg(board, turn_deg, over, (x_mm, 0.0))[0].max())
        least, most = self.run_span_deg
        turned = turn_deg - float(board.grain[0, 1])
        return max(abs((way + turned + 90.0) % 180.0 - 90.0) for way in ((-least, -most) if over else (least, most)))

    def measure_runout_deg(self, board: StockBoard, turn_deg: float, over: bool,
                           shift: Sequence[float]) -> tuple[Values, Points]:
        """Angle between the run and the grain all along, (n,), and the places of the run on the board."""
        at = self.run @ self.find_map(turn_deg, over).T + shift
        run = (-self.run_deg if over else self.run_deg) + turn_deg
        return np.abs((run - board.find_grain_deg(at[:, 0]) + 90.0) % 180.0 - 90.0), at

    def measure_waist_mm(self, length_mm: float, at_mm: float, most_turn_deg: float) -> float:
        """Lower bound for the piece's breadth at a place along a board of this length, wherever the piece lies; 0 where
        it need not reach that place.

        However it is turned, a column of it is at least as long as its breadth square to its own edges.
        """
        if not self._breadths:
            seen = self.see(0.0, False)
            x = np.linspace(seen.first_mm, seen.last_mm, 101)
            gap = np.interp(x, seen.bottom[:, 0], seen.bottom[:, 1]) - np.interp(x, seen.top[:, 0], seen.top[:, 1])
            self._breadths.extend((x - x[0], 0.98 * gap * np.cos(np.radians(np.abs(self.run_deg).max()))))
        x, breadth = self._breadths
        play = length_mm - x[-1] * np.cos(np.radians(most_turn_deg))
        if play < 0:
            return np.inf
        if not play < min(at_mm, length_mm - at_mm):
            return 0.0
        least = np.inf
        for place in (at_mm, length_mm - at_mm):       # for both ways round
            first, last = np.searchsorted(x, [place - play - 50.0, place + 50.0])
            least = min(least, float(breadth[max(first - 1, 0):last + 1].min()))
        return least

    def find_turns(self, room_mm: float, most_turn_deg: float) -> tuple[float, ...] | None:
        """Least and greatest turn at which the piece can lie in a strip of this breadth, within the limit; None where
        there is none.
        """
        turns = np.linspace(-most_turn_deg, most_turn_deg, 2 * int(np.ceil(most_turn_deg / _NET_DEG)) + 1)
        lengths, widths = measure_extents_mm(self.hull, turns)
        # between two turns of the grid the width falls by at most the length times the angle between them
        fits = np.flatnonzero(widths <= room_mm + lengths * np.radians(_NET_DEG))
        return (turns[fits[0]], turns[fits[-1]]) if len(fits) else None


@dataclass(frozen=True, eq=False, repr=False)
class Blot:
    """A defect with its clearance, column by column: x (k,), low and high (k,). inside : whether it may lie inside a
    piece. outline : without clearance."""

    x: Values
    low: Values
    high: Values
    inside: bool
    outline: Points


class ReadyBoard:
    """A board without its clearances: `room`, an Envelope, or None where nothing is left; and `blots`, its defects."""

    def __init__(self, board, settings):
        self.board = board
        outline = board.outline
        step = np.roll(outline, -1, axis=0) - outline
        turning = np.sign(np.sum(outline[:, 0] * np.roll(outline[:, 1], -1) - np.roll(outline[:, 0], -1)
                                 * outline[:, 1]))
        middle = outline[:, 0] + 0.5 * step[:, 0]
        near_end = np.minimum(middle - outline[:, 0].min(), outline[:, 0].max() - middle) < 0.5 * board.width_mm
        end = near_end & (np.abs(step[:, 1]) > np.abs(step[:, 0]))
        upper = step[:, 0] * turning >= 0
        sap = np.where(upper, board.sap_mm[0], board.sap_mm[1]) * (not settings.use_sap)
        self.clear_mm = np.where(end, settings.end_mm, settings.edge_mm + sap)
        self.room = find_room(outline, self.clear_mm + FLAT_MM)
        self.blots = tuple(Blot(*cover_columns(d.outline, grow_mm=settings.clear_mm + FLAT_MM), d.kind == "knot"
                                and settings.knots == "clear", d.outline)
                           for d in board.defects)
        self.breadth_mm = self.area_mm2 = 0.0
        self.plain = False                             # set for a rectangle without defects
        self.even = not self.blots and not board.drawn  # turning a piece over makes no difference on it
        if self.room is not None:
            top, bottom = self.room.top, self.room.bottom
            self.plain = len(top) == len(bottom) == 2 and np.ptp(top[:, 1]) < 1e-9 and np.ptp(
                bottom[:, 1]) < 1e-9 and not self.blots
            x = list_distinct(np.concatenate([top[:, 0], bottom[:, 0]]))
            gap = np.interp(x, bottom[:, 0], bottom[:, 1]) - np.interp(x, top[:, 0], top[:, 1])
            self.breadth_mm = float(np.ptp(np.concatenate([top[:, 1], bottom[:, 1]])))
            self.area_mm2 = float(np.sum(np.diff(x) * (gap[1:] + gap[:-1]) / 2))
            self.length_mm = self.room.last_mm - self.room.first_mm
