"""The order in which a pen draws strokes, so that it travels little between them.

The nearest stroke comes next, from either of its ends; then stretches of the order, none longer than a few dozen
strokes, are reversed as long as that shortens the travel (2-opt). The work is bounded, and the same strokes give the
same order.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import ArrayLike, Points

__all__ = ["measure_travel_mm", "order_strokes"]

_ROUNDS = 6               # rounds of reversing stretches
_LONGEST = 40             # most strokes in a stretch that is reversed
_PER_CELL = 4.0           # average number of stroke ends in a cell of the grid for finding neighbours
_RINGS = 6                # rings of cells round the pen that are searched before all remaining strokes are


def measure_travel_mm(strokes: Sequence[Points], *, start_mm: ArrayLike = (0.0, 0.0)) -> float:
    """How far a pen travels lifted, mm, from a place to the first stroke (n, 2) and from each to the next."""
    if not len(strokes):
        return 0.0
    first, last = np.array([s[0] for s in strokes]), np.array([s[-1] for s in strokes])
    return float(np.hypot(*(first - np.vstack([np.asarray(start_mm, float), last[:-1]])).T).sum())


def order_strokes(strokes: Sequence[Points], *, start_mm: ArrayLike = (0.0, 0.0)) -> list[Points]:
    """Strokes (n, 2) in an order of little travel from a place, each forwards or backwards.

    Examples
    --------
    >>> import numpy as np
    >>> far, near = np.array([[9., 0.], [8., 0.]]), np.array([[1., 0.], [2., 0.]])
    >>> [s.tolist() for s in order_strokes([far, near])]
    [[[1.0, 0.0], [2.0, 0.0]], [[8.0, 0.0], [9.0, 0.0]]]
    """
    if len(strokes) < 2:
        return list(strokes)
    ends = np.array([(s[0], s[-1]) for s in strokes], float)
    order, turned = _follow_nearest(ends, np.asarray(start_mm, float))
    order, turned = _turn_stretches(ends, order, turned, start=np.asarray(start_mm, float))
    return [strokes[k][::-1] if back else strokes[k] for k, back in zip(order.tolist(), turned.tolist())]


def _follow_nearest(ends, start):
    """Order of the strokes, and whether each is drawn backwards: always the nearest end of those that are left."""
    count = len(ends)
    low = ends.reshape(-1, 2).min(axis=0)
    size = max(float(np.sqrt(np.prod(np.ptp(ends.reshape(-1, 2), axis=0) + 1.0) * _PER_CELL / (2 * count))), 1e-3)
    where = np.floor((ends - low) / size).astype(int)
    cells: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for k, pair in enumerate(where.tolist()):
        for side, cell in enumerate(pair):
            cells.setdefault((cell[0], cell[1]), []).append((k, side))
    places, left = ends.tolist(), np.ones(count, bool)
    order, turned, pen = [], [], start.tolist()
    for _ in range(count):
        found = _find_near(cells, places, pen, corner=low.tolist(), size=size)
        if found is None:
            rest = np.flatnonzero(left)
            away = np.hypot(*(ends[rest] - pen).transpose(2, 0, 1))
            at = int(np.argmin(away))
            found = int(rest[at // 2]), at % 2
        k, side = found
        left[k] = False
        for one, cell in enumerate(where[k].tolist()):
            cells[(cell[0], cell[1])].remove((k, one))
        order.append(k)
        turned.append(bool(side))
        pen = places[k][1 - side]
    return np.array(order), np.array(turned)


def _find_near(cells, places, pen, corner, size):
    """(stroke, which of its ends) nearest to the pen, or None where there is none in the cells around it."""
    x, y = int((pen[0] - corner[0]) // size), int((pen[1] - corner[1]) // size)
    best: tuple[int, int] | None = None
    least = float("inf")
    for ring in range(_RINGS + 1):
        if best is not None and least <= ((ring - 1) * size) ** 2:
            break
        for i in range(x - ring, x + ring + 1):
            step = 1 if abs(i - x) == ring else max(2 * ring, 1)
            for j in range(y - ring, y + ring + 1, step):
                for k, side in cells.get((i, j), ()):
                    at = places[k][side]
                    away = (at[0] - pen[0]) ** 2 + (at[1] - pen[1]) ** 2
                    if away < least or (away == least and best is not None and (k, side) < best):
                        best, least = (k, side), away
    return best


def _turn_stretches(ends, order, turned, start):
    """Reverse stretches of the order as long as that shortens the travel."""
    count = len(order)
    for _ in range(_ROUNDS):
        saved = False
        for wide in range(min(_LONGEST, count)):
            here = ends[order, turned.astype(int)]
            there = ends[order, 1 - turned.astype(int)]
            before = np.vstack([start, there[:-1]])[:count - wide]
            first, last = here[:count - wide], there[wide:]
            gain = np.hypot(*(before - first).T) - np.hypot(*(before - last).T)
            after = here[wide + 1:]
            inner = len(after)
            gain[:inner] += np.hypot(*(last[:inner] - after).T) - np.hypot(*(first[:inner] - after).T)
            taken = np.zeros(count + 1, bool)
            for k in np.argsort(-gain, kind="stable")[:np.count_nonzero(gain > 1e-6)].tolist():
                if taken[max(k - 1, 0):k + wide + 2].any():
                    continue
                taken[max(k - 1, 0):k + wide + 2] = True
                order[k:k + wide + 1] = order[k:k + wide + 1][::-1]
                turned[k:k + wide + 1] = ~turned[k:k + wide + 1][::-1]
                saved = True
        if not saved:
            break
    return order, turned
