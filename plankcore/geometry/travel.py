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

    from .arrays import ArrayLike, Point, Points

__all__ = ["hang_strokes", "measure_travel_mm", "order_strokes"]

_ROUNDS = 6               # rounds of reversing stretches
_LONGEST = 40             # most strokes in a stretch that is reversed
_PER_CELL = 4.0           # average number of stroke ends in a cell of the grid for finding neighbours
_MEET_MM = 0.01           # strokes that come so near each other meet
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
    ends = _coarsen(np.array([(s[0], s[-1]) for s in strokes], float))
    start = _coarsen(np.asarray(start_mm, float))
    order, turned = _follow_nearest(ends, start)
    order, turned = _turn_stretches(ends, order, turned, start=start)
    return [strokes[k][::-1] if back else strokes[k] for k, back in zip(order.tolist(), turned.tolist())]


def _coarsen(places):
    """Places to a hundredth of a micrometre: of two ways that are equally short the last digits, which differ from
    machine to machine, are not to choose."""
    return np.floor(places * 1e5 + 0.3137) / 1e5             # no place that is drawn lies on the border of two steps


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
            gain = np.round(gain, 7)
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


def hang_strokes(strokes: Sequence[Points], *, most_mm: float) -> list[Points]:
    """Strokes (n, 2) with fewer lifts: those that end where one other begins are drawn in one, and short straight ones
    are drawn on the way along the stroke that they meet, there and back: the ticks of a bar, the barbs of an arrow.

    most_mm : length of the longest one that is drawn so; a lift takes as long as some way with the pen down.

    Examples
    --------
    >>> import numpy as np
    >>> [s.tolist() for s in hang_strokes([np.array([[0., 0.], [9., 0.]]), np.array([[5., 0.], [5., 2.]])], most_mm=3)]
    [[[0.0, 0.0], [5.0, 0.0], [5.0, 2.0], [5.0, 0.0], [9.0, 0.0]]]
    """
    chains = _chain_ends([np.asarray(s, float) for s in strokes])
    lengths = [float(np.hypot(*np.diff(s, axis=0).T).sum()) for s in chains]
    order = sorted(range(len(chains)), key=lambda k: -lengths[k])
    hosts, places = [k for k in order if not _is_short(chains[k], lengths[k], most_mm)], {}
    segments = _Segments([chains[k] for k in hosts])
    for k in order:
        if _is_short(chains[k], lengths[k], most_mm):
            found = segments.find(chains[k])
            if found is None:
                hosts.append(k)
                segments.add(chains[k])
            else:
                places.setdefault(hosts[found[0]], []).append((found[1], found[2], found[3], chains[k]))
    return [_draw_hung(chains[k], sorted(places.get(k, ()), key=lambda one: one[:2])) for k in sorted(hosts)]


def _is_short(stroke, length_mm, most_mm):
    return len(stroke) == 2 and length_mm <= most_mm


def _chain_ends(strokes):
    """Open strokes joined where the ends of two meet, and of no third."""
    ends: dict[tuple[int, int], list[int]] = {}
    for k, stroke in enumerate(strokes):
        for end in (0, -1) if np.abs(stroke[0] - stroke[-1]).max() > _MEET_MM else ():
            ends.setdefault(tuple(np.round(stroke[end] / _MEET_MM).astype(int).tolist()), []).append(k)
    chains: dict[int, Points] = dict(enumerate(strokes))
    into = list(range(len(strokes)))
    for some in ends.values():
        if len(some) == 2 and into[some[0]] != into[some[1]]:
            a, b = into[some[0]], into[some[1]]
            one, other = chains[a], chains.pop(b)
            gaps = [(float(np.abs(x[-1] - y[0]).max()), x, y) for x in (one, one[::-1]) for y in (other, other[::-1])]
            _, x, y = min(gaps, key=lambda gap: gap[0])
            chains[a] = np.vstack([x, y[1:]])
            into = [a if k == b else k for k in into]
    return list(chains.values())


class _Segments:
    """Straight pieces of strokes, to find the stroke that another one meets."""

    def __init__(self, strokes: Sequence[Points]):
        self._parts: list[tuple[Points, Points]] = []
        self._numbers: list[tuple[int, int]] = []
        self._first, self._last, self._own = np.zeros((0, 2)), np.zeros((0, 2)), np.zeros((0, 2), int)
        self._count = 0
        for stroke in strokes:
            self._keep(stroke)
        self._gather()

    def _keep(self, stroke):
        self._parts.append((stroke[:-1], stroke[1:]))
        self._numbers += [(self._count, k) for k in range(len(stroke) - 1)]
        self._count += 1

    def _gather(self):
        if self._parts:
            self._first = np.concatenate([self._first, *(a for a, _ in self._parts)])
            self._last = np.concatenate([self._last, *(b for _, b in self._parts)])
            self._own = np.concatenate([self._own, np.array(self._numbers, int)])
            self._parts, self._numbers = [], []

    def add(self, stroke: Points) -> None:
        self._keep(stroke)
        self._gather()

    def find(self, short: Points) -> tuple[int, int, float, Point] | None:
        """(number of a stroke, of its piece, share along that, the place) where one of two points meets it, or None."""
        low, high = short.min(axis=0) - _MEET_MM, short.max(axis=0) + _MEET_MM
        near = np.flatnonzero(np.all((np.minimum(self._first, self._last) <= high)
                                     & (np.maximum(self._first, self._last) >= low), axis=1))
        best = None
        for k in near.tolist():
            a, way = self._first[k], self._last[k] - self._first[k]
            for at, place, away in _list_meetings(a, way, short):
                if away <= _MEET_MM and (best is None or away < best[0] - 1e-9):
                    best = (away, *self._own[k].tolist(), at, place)
        return None if best is None else best[1:]


def _list_meetings(start, way, short):
    """(share along a straight piece, place on it, how far the short stroke lies off) at both ends of that and where the
    two cross."""
    long = float(way @ way)
    if long < 1e-18:
        return
    across = short[1] - short[0]
    area = way[0] * across[1] - way[1] * across[0]
    if abs(area) > 1e-9:
        gap = short[0] - start
        s, t = (gap[0] * across[1] - gap[1] * across[0]) / area, (gap[0] * way[1] - gap[1] * way[0]) / area
        if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0:
            yield float(s), start + s * way, 0.0
            return
    for end in short:
        at = float(np.clip((end - start) @ way / long, 0.0, 1.0))
        yield at, start + at * way, float(np.hypot(*(start + at * way - end)))


def _draw_hung(stroke, hung):
    """A stroke with the short ones that hang on it, [(piece, share along it, place, (2, 2))] in order."""
    if not hung:
        return stroke
    out, begun = [stroke[0]], 0
    for piece, _, place, short in hung:
        out += list(stroke[begun + 1:piece + 1])
        begun = max(begun, piece)
        out.append(place)
        for end in short:
            if np.abs(end - place).max() > _MEET_MM:
                out += [end, place]
    return np.array([*out, *stroke[begun + 1:]])
