"""One piece laid on one board, beside the pieces that are there already.

A piece is turned, shifted along the board, and then moved across it. For one turn and one shift every obstacle forbids
an interval of positions across the board, which is found exactly from the corners of both (geometry/envelope.py), so
that the free positions are exact too. Turns and shifts are searched: a coarse grid first (search.py), then smaller and
smaller steps about the best. On an empty rectangle without defects the best turn is computed directly
(geometry/convex.py).
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import list_distinct
from ..geometry.convex import find_roomiest_turn, measure_extents_mm
from ..geometry.envelope import measure_rise_mm
from .search import cast_nets, find_gaps, find_turning_cost, forbid_blot, weigh
from .shapes import FLAT_MM, Outline

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Matrix, Points
    from .shapes import ReadyBoard, StockSettings

__all__ = ["LaidPiece", "find_spot"]

_STEPS = 4                # how often the last grid's steps of turn and shift are halved
_NEAR_MM = 1.5            # inaccuracy of the columns, allowed for
_FINE_DEG = 0.02          # step between the turns tried on a plain board


@dataclass(frozen=True, eq=False)
class LaidPiece:
    """Where a piece lies: its Outline, turn, whether turned over, and its origin on the board. room_mm : how far it can
    move across there; cost : for the goal, smaller is better."""

    shape: Outline
    turn_deg: float
    over: bool
    x_mm: float
    y_mm: float
    room_mm: float
    cost: float

    def find_points(self) -> Points:
        """Its outline on the board, (n, 2)."""
        return self.shape.points @ self.shape.find_map(self.turn_deg, self.over).T + (self.x_mm, self.y_mm)

    def find_to_board(self) -> Matrix:
        """The map (2, 3) from the drawing's page to the board."""
        own = self.shape.to_own
        turn = self.shape.find_map(self.turn_deg, self.over)
        return np.hstack([turn @ own[:, :2], (turn @ own[:, 2] + (self.x_mm, self.y_mm))[:, None]])


def _forbid(ready, shape, *, placed, turn_deg, over, shifts, grow_mm):
    """Forbidden intervals of positions across the board at each of the shifts: lower and upper ends (k, j)."""
    seen = shape.see(turn_deg, over)
    low = [np.full(len(shifts), -1e9), -measure_rise_mm(seen.bottom, ready.room.bottom, -shifts)]
    high = [measure_rise_mm(ready.room.top, seen.top, shifts), np.full(len(shifts), 1e9)]
    for spot in placed:
        other = spot.shape.see_grown(spot.turn_deg, spot.over, grow_mm).shift(spot.x_mm, spot.y_mm)
        # without common columns this is (inf, -inf), which forbids nothing
        low.append(-measure_rise_mm(seen.bottom, other.top, -shifts))
        high.append(measure_rise_mm(other.bottom, seen.top, shifts))
    ends = np.full(len(shifts), seen.first_mm), np.full(len(shifts), seen.last_mm)
    for blot in ready.blots:
        at = blot.x[None] - shifts[:, None]
        top, bottom = (np.interp(at, c[:, 0], c[:, 1]) for c in (seen.top, seen.bottom))
        clear = np.repeat((shape.clear @ shape.find_map(turn_deg, over).T)[None], len(shifts),
                          axis=0) if len(shape.clear) else ()
        forbid_blot(blot, at, top, bottom, first=ends[0], last=ends[1], clear=clear, shifts=shifts, low=low, high=high)
    return np.stack(low, axis=1), np.stack(high, axis=1)


def _look(goal, ready, *, shape, placed, turn_deg, over, shifts, grow_mm):
    """The best LaidPiece at one turn over several shifts, computed exactly; a cost above 1e5 means that it does not
    fit."""
    seen = shape.see(turn_deg, over)
    first, last = ready.room.first_mm - seen.first_mm, ready.room.last_mm - seen.last_mm
    if last < first:
        return LaidPiece(shape, turn_deg, over=over, x_mm=0.5 * (first + last), y_mm=0.0, room_mm=last - first,
                         cost=2e6 + first - last)
    shifts = np.clip(shifts, first, last)
    low, high = _forbid(ready, shape, placed=placed, turn_deg=turn_deg, over=over, shifts=shifts, grow_mm=grow_mm)
    cost, y, room = weigh(goal, ready, shape=shape, turns=[(turn_deg, over)] * len(shifts), shifts=shifts,
                          gaps=find_gaps(low, high),
                          limits=(first, last))
    best = int(np.argmin(np.round(cost, 6)))
    return LaidPiece(shape, float(turn_deg), over=over, x_mm=float(shifts[best]), y_mm=float(y[best]),
                     room_mm=float(room[best]),
                     cost=float(cost[best]))


def find_spot(ready: ReadyBoard, shape: Outline, placed: Sequence[LaidPiece], settings: StockSettings, goal: str, *,
              care: int = 3) -> LaidPiece | None:
    """Lay a piece on a board.

    Parameters
    ----------
    ready : ReadyBoard
    shape : Outline
    placed : sequence of LaidPiece
        What lies on the board already.
    settings : StockSettings
    goal : str
        'up' or 'down' lays it as near the board's upper or lower edge as it goes, by the middle of its area; 'grain'
        with the least run-out;
        'middle' with the most room all round; 'room' with the most room across.
    care : int
        Number of finer grids; from 3 on the best place is then improved by exact steps. 0 takes the first place where
        it fits.

    Returns
    -------
    LaidPiece or None
        None where no place was found.
    """
    if ready.room is None or shape.area_mm2 + sum(s.shape.area_mm2 for s in placed) > ready.area_mm2:
        return None
    if placed and not _may_lie_beside(ready, shape, placed, settings):
        return None
    limits = shape.find_turns(ready.breadth_mm, settings.most_turn_deg)
    if limits is None:
        return None
    overs = (False, True) if settings.turn_over else (False,)
    if ready.plain and not placed:
        return _find_plain_spot(ready, shape, limits=limits, overs=overs, goal=goal)
    grow = settings.kerf_mm + FLAT_MM
    best = None
    for turn, over, x, step, along in cast_nets(ready, shape, placed=placed, limits=limits, overs=overs, goal=goal,
                                                grow_mm=grow, nets=care):
        spot = _look(goal, ready, shape=shape, placed=placed, turn_deg=turn, over=over, shifts=np.array([x]),
                     grow_mm=grow)
        if care > 2 or -_NEAR_MM < spot.room_mm < 0:
            spot = _polish(goal, ready, shape=shape, placed=placed, spot=spot, limits=limits, grow_mm=grow, step=step,
                           along=along)
        best = spot if best is None or spot.cost < best.cost - 1e-9 else best
        if not care and best.room_mm >= 0:
            break
    return best if best is not None and best.room_mm >= 0 else None


def _may_lie_beside(ready, shape, placed, settings):
    """False where, in some column that the piece must cross wherever it lies, less is free than the piece's least
    breadth there."""
    first, long = ready.room.first_mm, ready.length_mm
    for share in (0.5, 0.4, 0.6, 0.3, 0.7):
        waist = shape.measure_waist_mm(long, share * long, settings.most_turn_deg)
        if waist <= 0:
            continue
        x, at, most = first + share * long, -np.inf, 0.0
        others = [s.shape.see_grown(s.turn_deg, s.over, settings.kerf_mm + FLAT_MM) for s in placed]
        runs = [(float(np.interp(x - s.x_mm, e.top[:, 0], e.top[:, 1])) + s.y_mm,
                 float(np.interp(x - s.x_mm, e.bottom[:, 0], e.bottom[:, 1])) + s.y_mm)
                for s, e in zip(placed, others) if e.first_mm + s.x_mm <= x <= e.last_mm + s.x_mm]
        at = float(np.interp(x, ready.room.top[:, 0], ready.room.top[:, 1]))
        for low, high in sorted(runs) + [(float(np.interp(x, ready.room.bottom[:, 0], ready.room.bottom[:, 1])),
                                          np.inf)]:
            most, at = max(most, low - at), max(at, high)
        if most < waist:
            return False
    return True


def _polish(goal, ready, *, shape, placed, spot, limits, grow_mm, step, along):
    """A LaidPiece improved by smaller and smaller exact steps of turn and shift."""
    end = 180.0 if abs(spot.turn_deg) > 90 else 0.0
    limits = (-limits[1], -limits[0]) if spot.over else limits          # turned over, turns have the opposite sign
    for _ in range(_STEPS):
        for way in (1.0, -1.0):
            better = True
            while better:
                turn = end + float(np.clip(spot.turn_deg + way * step - end, *limits))
                found = _look(goal, ready, shape=shape, placed=placed, turn_deg=turn, over=spot.over,
                              shifts=spot.x_mm + along * np.array([-1.0, 0.0, 1.0]), grow_mm=grow_mm)
                better = found.cost < spot.cost - 1e-4
                spot = found if better else spot
        found = _look(goal, ready, shape=shape, placed=placed, turn_deg=spot.turn_deg, over=spot.over,
                      shifts=spot.x_mm + along * np.array([-1.0, -0.5, 0.5, 1.0]), grow_mm=grow_mm)
        spot = found if found.cost < spot.cost - 1e-4 else spot
        step, along = 0.5 * step, 0.5 * along
    return spot


def _find_plain_spot(ready, shape, limits, overs, goal):
    """The best LaidPiece on an empty rectangle: for most room the turn is exact, for other goals turns a fiftieth of a
    degree apart are tried."""
    room = ready.room
    length, breadth = ready.length_mm, ready.breadth_mm
    roomiest = find_roomiest_turn(shape.points, length_mm=length, width_mm=breadth, low_deg=limits[0],
                                  high_deg=limits[1])
    if roomiest.spare_mm < 0:
        return None
    count = max(int((limits[1] - limits[0]) / _FINE_DEG), 1) + 1
    turns = list_distinct(np.concatenate([[roomiest.turn_deg], np.linspace(limits[0], limits[1], count)]))
    lengths, widths = measure_extents_mm(shape.hull, turns)
    turns = turns[(lengths <= length) & (widths <= breadth)] if goal not in ("middle",
                                                                             "room") else np.array([roomiest.turn_deg])
    turns = turns if len(turns) else np.array([roomiest.turn_deg])
    found = []
    for over in overs:
        for end in shape.ends:
            signed = end + (-turns if over else turns)
            a = np.radians(signed)
            points = shape.hull * (1.0, -1.0) if over else shape.hull
            centre = shape.centre * (1.0, -1.0) if over else shape.centre
            y = np.outer(points[:, 0], np.sin(a)) + np.outer(points[:, 1], np.cos(a))
            low, high = y.min(axis=0), y.max(axis=0)
            lean = centre[0] * np.sin(a) + centre[1] * np.cos(a)
            if goal == "up":
                cost = lean - low
            elif goal == "down":
                cost = high - lean
            elif goal == "grain":
                cost = np.array([shape.find_worst_runout_deg(ready.board, t, over,
                                                             0.5 * (room.first_mm + room.last_mm)) for t in signed])
            else:
                cost = high - low
            cost = cost + over * find_turning_cost(goal)
            best = int(np.argmin(np.round(cost, 6)))
            turn = float(signed[best])
            seen = shape.see(turn, over)
            slack = breadth - float(high[best] - low[best])
            x = room.first_mm - seen.first_mm
            x += 0.5 * (room.last_mm - seen.last_mm - x) if goal in ("middle", "room") else 0.0
            across = {"up": 0.0, "down": slack}.get(goal, 0.5 * slack)
            found.append(LaidPiece(shape, turn, over=over, x_mm=float(x),
                                   y_mm=float(room.top[0, 1] - low[best] + across), room_mm=slack,
                              cost=float(cost[best])))
    return min(found, key=lambda s: round(s.cost, 6))
