"""The search for a place for a piece: a grid of turns and shifts, all evaluated together on columns, then finer grids
about the best.

Columns are accurate enough for that, but not exact: the result says where to look, and nothing is placed by it.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import list_distinct

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import ArrayLike, Matrix, Numbers, Values
    from .fitting import LaidPiece
    from .shapes import Blot, Outline, ReadyBoard

__all__ = ["cast_nets", "find_gaps", "find_turning_cost", "forbid_blot", "weigh"]

_COLUMNS = 61
_TURNS, _SHIFTS = 11, 9   # numbers of turns (about each end) and of shifts along the board
# a finer grid's turns and shifts, in steps of the grid before
_FINER = np.linspace(-1.0, 1.0, 9), np.linspace(-1.0, 1.0, 5)
_MOST_NETS = 4
_LACK_MM = 4.0  # if no more than this is lacking, besides what the coarse turns lose, a closer look is worth while
_STEP_MM = 4.0            # one step of turn of the finest grid moves an end by this much
# columns are closer together at the ends, where corners are
_SHARE = (1.0 - np.cos(np.linspace(0.0, np.pi, _COLUMNS))) / 2


def _list_turns(shape, limits, overs):
    """(turn, over) of the grid, rounded to recurring turns, so that results for them can be cached."""
    step = np.degrees(_STEP_MM / max(np.ptp(shape.points[:, 0]), 1.0))
    low, high = int(np.floor(limits[0] / step)), int(np.ceil(limits[1] / step))
    stride = max(1, int(np.ceil((high - low) / (_TURNS - 1))))
    turns = np.clip(np.arange(low, high + stride, stride) * step, *limits)
    return [(end + (-t if over else t), over) for over in overs for end in shape.ends for t in list_distinct(turns)]


def _see_columns(shape, turn_deg, over):
    """x, top and bottom (columns,) at one turn."""
    def make():
        seen = shape.see(turn_deg, over)
        x = seen.first_mm + (seen.last_mm - seen.first_mm) * _SHARE
        return np.stack([x, np.interp(x, seen.top[:, 0], seen.top[:, 1]),
                         np.interp(x, seen.bottom[:, 0], seen.bottom[:, 1])])
    return shape.keep(("columns", round(float(turn_deg), 7), over), make)


def _read_columns(rows, first, last, at):
    """Values of rows (r, columns) at places (r, m), both in the piece's own x; beyond its ends the values at the ends.
    """
    share = np.clip((at - first[:, None]) / (last - first)[:, None], 0.0, 1.0)
    place = np.arccos(1.0 - 2.0 * share) * ((_COLUMNS - 1) / np.pi)
    left = np.minimum(place.astype(int), _COLUMNS - 2)
    part = (share - _SHARE[left]) / (_SHARE[left + 1] - _SHARE[left])
    return [np.take_along_axis(row, left, axis=1) * (1 - part) + np.take_along_axis(row, left + 1, axis=1) * part
            for row in rows]


def cast_nets(ready: ReadyBoard, shape: Outline, *, placed: Sequence[LaidPiece], limits: Sequence[float],
              overs: Sequence[bool], goal: str, grow_mm: float,
              nets: int) -> list[tuple[float, bool, float, float, float]]:
    """Evaluate a grid of turns and shifts, and finer ones about its best two turns.

    Parameters
    ----------
    nets : int
        Number of finer grids. 0 stops where there is room, and uses a few more only where some mm are lacking.

    Returns
    -------
    list of (turn_deg, over, x_mm, step_deg, step_mm)
        Places to evaluate exactly, the most promising first, and the steps of the last grid.
    """
    if ready.room is None:          # the clearances leave nothing of the board
        return []
    turns = _list_turns(shape, limits, overs)
    seen = np.stack([_see_columns(shape, *t) for t in turns])
    first, last = ready.room.first_mm - seen[:, 0, 0], ready.room.last_mm - seen[:, 0, -1]
    # also try beginning where another piece ends, and ending where it begins
    marks = [o.x_mm + e for o in placed for g in (o.shape.see_grown(o.turn_deg, o.over, grow_mm),)
             for e in (g.last_mm, g.first_mm)]
    edges = np.where(np.array([0, 1] * len(placed), int)[None] == 0, seen[:, 0, :1], seen[:, 0, -1:])
    shifts = np.concatenate([first[:, None] + (last - first)[:, None] * np.linspace(0, 1, _SHIFTS),
                             np.array(marks)[None] - edges], axis=1)
    cost = _scan(ready, shape, placed=placed, turns=turns, seen=seen, shifts=shifts, goal=goal, grow_mm=grow_mm)
    step = max(abs(turns[1][0] - turns[0][0]) if len(turns) > 1 else 0.0, 1e-3)
    along = max(float(np.max(last - first)) / (_SHIFTS - 1), 1.0)
    least = np.round(cost, 3).min(axis=1)
    found = []
    for k in np.argsort(least, kind="stable")[:2]:
        # the true best turn is within half a step of the grid's best, so that an end may be off by that much
        if least[k] <= 1e6 + _LACK_MM + 0.5 * np.ptp(shape.points[:, 0]) * np.radians(step):
            x = float(np.clip(shifts[k, int(np.argmin(np.round(cost[k], 3)))], first[k], max(first[k], last[k])))
            found.append(_refine(ready, shape, placed=placed, best=(*turns[k], x, float(least[k])), step=step,
                                 along=along, limits=limits, goal=goal,
                                 grow_mm=grow_mm, nets=nets))
            if not nets and found[-1][-1] < 1e5:
                break
    return [f[:-1] for f in sorted(found, key=lambda f: f[-1])]


def _refine(ready, shape, *, placed, best, step, along, limits, goal, grow_mm, nets):
    """(turn, over, x, step of turn, step of shift, cost) refined by finer grids."""
    turn, over, x, cost = best
    end = 180.0 if abs(turn) > 90 else 0.0
    low, high = (-limits[1], -limits[0]) if over else limits           # turned over, turns have the opposite sign
    for _ in range(nets or _MOST_NETS):
        if not nets and (cost < 1e5 or cost > 1e6 + 2.0 + 0.5 * np.ptp(shape.points[:, 0]) * np.radians(step)):
            break
        turns = [(float(t), over) for t in list_distinct(end + np.clip(turn - end + step * _FINER[0], low, high))]
        shifts = np.broadcast_to(x + along * _FINER[1], (len(turns), len(_FINER[1])))
        seen = np.stack([_see_columns(shape, *t) for t in turns])
        costs = _scan(ready, shape, placed=placed, turns=turns, seen=seen, shifts=shifts, goal=goal, grow_mm=grow_mm)
        i, j = np.unravel_index(int(np.argmin(np.round(costs, 4))), costs.shape)
        if costs[i, j] < cost:
            turn, x, cost = turns[i][0], float(np.clip(shifts[i, j], ready.room.first_mm - seen[i, 0, 0],
                                                       ready.room.last_mm - seen[i, 0, -1])), float(costs[i, j])
        step, along = step / 4, along / 2
    return turn, over, x, step, along, cost


def _scan(ready, shape, *, placed, turns, seen, shifts, goal, grow_mm):
    """Cost (turns, shifts) at each turn and shift of a grid. seen : (turns, 3, columns)."""
    first, last = ready.room.first_mm - seen[:, 0, 0], ready.room.last_mm - seen[:, 0, -1]
    shifts = np.clip(shifts, first[:, None], np.maximum(first, last)[:, None])
    count = shifts.shape[1]
    x, top, bottom = (np.repeat(seen[:, k], count, axis=0) for k in range(3))
    which = np.repeat(np.arange(len(turns)), count)
    every = [turns[w] for w in which]
    low, high = _forbid(ready, shape, placed=placed, x=x, top=top, bottom=bottom, shifts=shifts.ravel(), turns=every,
                        grow_mm=grow_mm)
    cost = weigh(goal, ready, shape=shape, turns=every, shifts=shifts.ravel(), gaps=find_gaps(low, high),
                 limits=(first[which], last[which]))[0].reshape(shifts.shape)
    return np.where((last < first)[:, None], 2e6 + (first - last)[:, None], cost)


def _forbid(ready, shape, *, placed, x, top, bottom, shifts, turns, grow_mm):
    """Forbidden intervals across the board, starts and ends (rows, j), evaluated on columns."""
    at = x + shifts[:, None]
    room = ready.room
    low = [np.full(len(shifts), -1e9), (np.interp(at, room.bottom[:, 0], room.bottom[:, 1]) - bottom).min(axis=1)]
    high = [(np.interp(at, room.top[:, 0], room.top[:, 1]) - top).max(axis=1), np.full(len(shifts), 1e9)]
    first, last = x[:, 0], x[:, -1]
    for spot in placed:
        other = spot.shape.see_grown(spot.turn_deg, spot.over, grow_mm).shift(spot.x_mm, spot.y_mm)
        on = (at >= other.first_mm) & (at <= other.last_mm)
        down = np.where(on, np.interp(at, other.top[:, 0], other.top[:, 1]) - bottom, np.inf).min(axis=1)
        up = np.where(on, np.interp(at, other.bottom[:, 0], other.bottom[:, 1]) - top, -np.inf).max(axis=1)
        # and at a few columns of the other piece
        few = np.linspace(other.first_mm, other.last_mm, 9)
        here = few[None] - shifts[:, None]
        on = (here >= first[:, None]) & (here <= last[:, None])
        t, b = _read_columns((top, bottom), first, last, here)
        low.append(np.minimum(down,
                              np.where(on, np.interp(few, other.top[:, 0], other.top[:, 1]) - b, np.inf).min(axis=1)))
        high.append(np.maximum(up, np.where(on, np.interp(few, other.bottom[:, 0], other.bottom[:, 1]) - t,
                                            -np.inf).max(axis=1)))
    for blot in ready.blots:
        here = blot.x[None] - shifts[:, None]
        t, b = _read_columns((top, bottom), first, last, here)
        clear = [shape.clear @ shape.find_map(*turn).T for turn in turns] if blot.inside and len(shape.clear) else ()
        forbid_blot(blot, here, top=t, bottom=b, first=first, last=last, clear=clear, shifts=shifts, low=low, high=high)
    return np.stack(low, axis=1), np.stack(high, axis=1)


def forbid_blot(blot: Blot, at: Matrix, top: Matrix, bottom: Matrix, *, first: Values, last: Values, clear: ArrayLike,
                shifts: Values, low: list[Values], high: list[Values]) -> None:
    """Append the intervals that one defect forbids, (rows,) each, to the lists `low` and `high`.

    Parameters
    ----------
    at : ndarray, shape (rows, k)
        The defect's columns in the piece's own x; top, bottom of the piece there, first, last (rows,) its ends.
    clear : sequence of ndarray, shape (n, 2)
        For each row, places relative to the piece's origin that defects inside it must keep away from; may be empty.
    """
    step = blot.x[1] - blot.x[0]
    on = (at >= first[:, None] - step) & (at <= last[:, None] + step)

    def run(down, up):
        return np.where(on, down, np.inf).min(axis=1), np.where(on, up, -np.inf).max(axis=1)
    whole = run(blot.low - bottom, blot.high - top)
    if not blot.inside:
        runs = [whole]
    else:
        held = (at[:, 0] >= first) & (at[:, -1] <= last)
        runs = [tuple(np.where(held, e, w) for e, w in zip(edge, whole))
                for edge in (run(blot.low - top, blot.high - top), run(blot.low - bottom, blot.high - bottom))]
        if len(clear):
            places = np.asarray(clear) + np.stack([shifts, np.zeros(len(shifts))], axis=1)[:, None]
            column = np.round((places[..., 0] - blot.x[0]) / step).astype(int)
            here = (column >= 0) & (column < len(blot.x))
            column = np.clip(column, 0, len(blot.x) - 1)
            for k in range(places.shape[1]):
                if here[:, k].any():
                    runs.append((np.where(here[:, k], blot.low[column[:, k]] - places[:, k, 1], np.inf),
                                 np.where(here[:, k], blot.high[column[:, k]] - places[:, k, 1], -np.inf)))
    for down, up in runs:
        low.append(down)
        high.append(up)


def find_turning_cost(goal: str) -> float:
    """Cost of turning a piece over, in degrees of run-out or mm that must be gained by it: the pattern has to be turned
    over, and port and starboard are easily mixed up."""
    return 1.0 if goal == "grain" else 3.0


def find_gaps(low: Matrix, high: Matrix) -> tuple[Matrix, Matrix]:
    """The free intervals across the board of each row: starts and ends (rows, j - 1). Where an end is less than its
    start nothing is free, and the difference is what is lacking."""
    order = np.argsort(low, axis=1, kind="stable")
    low, high = np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
    return np.maximum.accumulate(high, axis=1)[:, :-1], low[:, 1:]


def weigh(goal: str, ready: ReadyBoard, *, shape: Outline, turns: Sequence[tuple[float, bool]], shifts: Values,
          gaps: Sequence[Matrix], limits: Sequence[Numbers]) -> tuple[Values, Values, Values]:
    """(cost, place across, room there) of each row. The cost is smaller the better the goal is met; where nothing is
    free it is a large number plus what is lacking.

    turns : (turn, over) of each row. limits : least and greatest shift of each row.
    """
    start, end = gaps
    rows = np.arange(len(shifts))
    free = np.where(np.isfinite(end - start), end - start, -1e9)
    most = free.max(axis=1)
    if goal in ("up", "down"):
        pick = np.argmax(free >= 0,
                         axis=1) if goal == "up" else free.shape[1] - 1 - np.argmax(free[:, ::-1] >= 0, axis=1)
        y = (start if goal == "up" else end)[rows, pick]
        lean = np.array([shape.find_lean_mm(*t) for t in turns])
        cost = y + lean if goal == "up" else -(y + lean)
    else:
        pick = np.argmax(free, axis=1)
        y = 0.5 * (start + end)[rows, pick]
        if goal == "grain":
            cost = np.array([shape.find_worst_runout_deg(ready.board, *t, x)
                             for t, x in zip(turns, shifts)]) - 1e-6 * np.minimum(most, 1000.0)
        else:
            cost = -most if goal == "room" else -np.minimum(most / 2,
                                                            np.minimum(shifts - limits[0], limits[1] - shifts))
    cost = cost + np.array([over for _, over in turns]) * find_turning_cost(goal)
    return np.where(most >= 0, cost, 1e6 - most), y, np.where(most >= 0, free[rows, pick], most)
