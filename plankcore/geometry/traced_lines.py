"""Traced lines: their corners and spikes, seen at the scale of millimetres, not of pixels; and pieces of them joined
into chains where they run on in the same direction.

A tracer's outline turns a right angle at every pixel; a corner of the shape is a turn that is still there when measured
over a `window`. A spike is a short excursion, out and back on
almost the same spot, after which the line goes on as before: a tick drawn across an edge.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .polyline import resample_polyline

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Points, Values

__all__ = ["Spike", "find_turns", "join_runs", "measure_turns", "remove_spikes", "resample_closed", "split_at_turns"]


@dataclass(frozen=True)
class Spike:
    """A tick taken out of a line: middle of its foot (x, y), tip (x, y), height, all mm."""

    foot: tuple[float, ...]
    tip: tuple[float, ...]
    height_mm: float


def remove_spikes(points: Points, *, step_mm: float, foot_mm: float, least_mm: float,
                  most_mm: float) -> tuple[Points, Sequence[Spike]]:
    """Remove short out-and-back excursions from a closed polyline.

    Parameters
    ----------
    points : ndarray, shape (n, 2), mm
        Closed, evenly spaced by step_mm.
    foot_mm : float
        A spike's foot is no wider than this.
    least_mm, most_mm : float
        Heights that count as a spike: anything lower is a wobble, anything higher part of the shape.

    Returns
    -------
    points : ndarray, shape (m, 2), mm
    spikes : list of Spike
    """
    count = len(points)
    best = np.zeros(count)                    # height of the best excursion that starts at each point
    best_lag = np.zeros(count, int)
    longest = min(int((2 * most_mm + foot_mm) / step_mm), count // 4)
    x, y = (np.concatenate([points[:, k], points[:longest, k]]) for k in (0, 1))
    for lag in range(max(int(2 * least_mm / step_mm), 2), longest + 1):
        # out and back to almost the same spot: the foot is narrow, the path several times as long
        widest = min(foot_mm, lag * step_mm / 3, lag * step_mm - 2 * least_mm)
        dx, dy = x[lag:lag + count] - x[:count], y[lag:lag + count] - y[:count]
        here = np.flatnonzero(dx * dx + dy * dy <= widest * widest)
        height = (lag * step_mm - np.hypot(dx[here], dy[here])) / 2
        better = height > best[here] + 0.25 * step_mm
        best[here[better]], best_lag[here[better]] = height[better], lag
    spikes, drop = [], np.zeros(count, bool)
    for start in np.argsort(-best, kind="stable"):
        if best[start] <= 0:
            break
        lag = best_lag[start]
        index = (start + np.arange(lag + 1)) % count
        if drop[index].any():
            continue
        # of nearly equal ones take the narrowest foot: spread ink widens a spike's foot
        run = points[index]
        foot = (run[0] + run[-1]) / 2
        before = points[(start - int(12 / step_mm)) % count] - points[start]
        after = points[(start + lag + int(12 / step_mm)) % count] - run[-1]
        size = np.hypot(*before) * np.hypot(*after)
        # the line does not go on in the same direction: a pointed end of the shape, no tick
        if size == 0 or -(before @ after) / size < 0.8:
            continue
        away = np.hypot(*(run - foot).T)
        tip = run[int(np.argmax(away))]
        spikes.append(Spike(tuple(map(float, foot)), tuple(map(float, tip)), float(away.max())))
        drop[index[1:-1]] = True
    return points[~drop], spikes


def measure_turns(points: Points, *, step_mm: float, window_mm: float, closed: bool = True) -> Values:
    """Turn in degrees at each point between the directions before and after it, taken over window_mm each.

    Positive turns from x towards y: clockwise as seen on a page with y down.
    """
    lag = max(round(window_mm / step_mm), 1)
    if closed:
        before, after = points - np.roll(points, lag, axis=0), np.roll(points, -lag, axis=0) - points
    else:
        index = np.arange(len(points))
        before = points - points[np.maximum(index - lag, 0)]
        after = points[np.minimum(index + lag, len(points) - 1)] - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns = np.degrees(np.arctan2(cross, np.sum(before * after, axis=1)))
    if not closed:                             # too near an end for a full window
        turns[:lag], turns[-lag:] = 0.0, 0.0
    return turns


def find_turns(points: Points, *, step_mm: float, window_mm: float, least_deg: float,
               closed: bool = True) -> list[tuple[int, float]]:
    """Places where a line turns by more than least_deg, strongest first.

    Returns
    -------
    list of (index, turn_deg)
        No two nearer than the window along the line.
    """
    turns = measure_turns(points, step_mm=step_mm, window_mm=window_mm, closed=closed)
    size = np.abs(turns)
    gap = round(1.5 * window_mm / step_mm)
    found, free = [], size >= least_deg
    while free.any():
        k = int(np.argmax(np.where(free, size, -1.0)))
        # along a rounded corner the turn is nearly constant: take the middle of the stretch near the maximum
        near = (k + np.arange(-gap, gap + 1)) % len(points) if closed else np.arange(max(k - gap, 0),
                                                                                     min(k + gap + 1, len(points)))
        high = near[size[near] >= 0.9 * size[k]]
        high = high[np.abs((high - k + len(points) // 2) % len(points) - len(points) // 2) <= gap] if closed else high
        offset = (high - k + len(points) // 2) % len(points) - len(points) // 2 if closed else high - k
        middle = int((k + round(float(np.mean(offset)))) % len(points))
        found.append((middle, float(turns[k])))
        free[near] = False
    return found


def resample_closed(points: Points, *, step_mm: float) -> tuple[Points, float]:
    """A closed polyline evenly spaced, and the step really used."""
    even = resample_polyline(points, step_mm=step_mm, closed=True)
    loop = np.vstack([even, even[:1]])
    return even, float(np.mean(np.hypot(*np.diff(loop, axis=0).T)))


def split_at_turns(points: Points, *, step_mm: float, window_mm: float, least_deg: float,
                   margin_mm: float) -> list[Points]:
    """Cut an open, evenly spaced polyline (n, 2) at its sharp turns, leaving out margin_mm on each side of them."""
    places = sorted(k for k, _ in find_turns(points, step_mm=step_mm, window_mm=window_mm, least_deg=least_deg,
                                             closed=False))
    margin = round(margin_mm / step_mm)
    parts, first = [], 0
    for k in places:
        parts.append(points[first:max(k - margin, first)])
        first = k + margin
    parts.append(points[first:])
    return [p for p in parts if len(p) > 1]


def _find_way(run, reach_mm):
    """Unit direction in which a line (n, 2) ends, over the last reach_mm of it."""
    steps = np.hypot(*np.diff(run[::-1], axis=0).T)
    back = int(np.searchsorted(np.cumsum(steps), reach_mm)) + 1
    way = run[-1] - run[max(len(run) - 1 - back, 0)]
    return way / max(np.hypot(*way), 1e-12)


def join_runs(pieces: Sequence[Points], *, gap_mm: float, turn_deg: float, reach_mm: float) -> list[Points]:
    """Join open pieces end to end.

    Parameters
    ----------
    pieces : list of ndarray, shape (n, 2), mm
    gap_mm : float
        Ends farther apart than this are not joined.
    turn_deg : float
        A piece whose direction differs by more than this from the last piece's is another line.
    reach_mm : float
        Directions are taken over this length from each end.

    Returns
    -------
    list of ndarray
        Chains are grown from the longest pieces first; pieces that lie beside a chain (a line traced twice) are left
        separate.
    """
    if not pieces:
        return []
    limit = np.cos(np.radians(turn_deg))
    pieces = sorted(pieces, key=len, reverse=True)
    free = np.ones(len(pieces), bool)
    starts = np.array([[piece[0], piece[-1]] for piece in pieces])  # first point of each piece as drawn, and reversed

    def find_next(chain):
        tail, way = chain[-1], _find_way(chain, reach_mm)
        best, best_cost = None, np.inf
        offsets = starts - tail
        near = (np.hypot(offsets[..., 0], offsets[..., 1]) <= gap_mm) & free[:, None]
        for k, turned in np.argwhere(near):                  # only the few that are near
            candidate = pieces[k][::-1] if turned else pieces[k]
            across = candidate[0] - tail
            if _find_way(candidate[::-1], reach_mm) @ way > -limit or across @ way < -0.5 * gap_mm:
                continue
            sideways = abs(across[0] * way[1] - across[1] * way[0])
            if sideways > 0.25 * gap_mm:
                continue
            cost = float(np.hypot(*across)) + 4 * sideways
            if cost < best_cost:
                best, best_cost = (k, candidate), cost
        return best

    chains = []
    for start in range(len(pieces)):
        if not free[start]:
            continue
        free[start] = False
        chain = pieces[start]
        for _ in range(2):
            while True:
                step = find_next(chain)
                if step is None:
                    break
                free[step[0]] = False
                # where two pieces overlap, the start of the later one is cut off
                ahead = (step[1] - chain[-1]) @ _find_way(chain, reach_mm)
                chain = np.vstack([chain, step[1][ahead > 0] if (ahead > 0).any() else step[1][-1:]])
            chain = chain[::-1]
        chains.append(chain)
    return chains
