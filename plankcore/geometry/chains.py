"""Pieces of line joined into chains where one continues another in the same direction."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .corners import find_turns

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Points

__all__ = ["join_runs", "split_at_turns"]


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
