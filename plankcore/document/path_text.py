"""Numbers and paths to text, thousands at once: most of what an action writes is numbers, and most of those are strokes
of letters.

Each number is spelt as Python's own `%.*f` spells it, without the noughts at its end; those that lie within rounding of
the middle between two spellings are left to Python itself.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import find_straight, find_touching

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import ArrayLike, Cubics, Indices, Mask, Points, Values

__all__ = ["spell_number", "spell_numbers", "spell_points", "write_cubics", "write_polyline", "write_polylines",
           "write_strokes"]

_FEW = 40                 # numbers that are quicker spelt one by one
_STRETCH = 8192           # numbers spelt at a time: their figures stay in the processor's cache
_MOST = 2.0 ** 52         # whole numbers up to here are exact, and so are their figures
# what stands before a place of a path: its first, a next run after an open one and after a closed one, a stroke, a
# curve's first control point, the other places of a curve; and before a y
_HEADS = (b"M ", b" M ", b" Z M ", b" L ", b" C ", b" ", b",")
_FIRST, _NEXT, _SHUT, _LINE, _CURVE, _MORE, _Y = range(7)


def spell_number(value: float, decimals: int = 7) -> str:
    """One number: 12.500 as '12.5', -0.0 as '0'."""
    text = "%.*f" % (decimals, value)
    text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def spell_numbers(values: Values, *, decimals: int, heads: Indices, words: tuple[bytes, ...]) -> tuple[str, Indices]:
    """Many numbers in one text, each after a word of its own.

    Parameters
    ----------
    values : ndarray, shape (n,)
    decimals : int
        1 or more.
    heads : ndarray of int, shape (n,)
        Which of the words stands before each number.
    words : tuple of bytes

    Returns
    -------
    text : str
    ends : ndarray of int, shape (n,)
        Where each number ends in it.
    """
    values, heads = np.asarray(values, float), np.asarray(heads)
    with np.errstate(invalid="ignore"):
        plain = len(values) > _FEW and bool((np.abs(values) < _MOST / 10.0 ** decimals).all())
    if not plain:
        parts = [words[head].decode("ascii") + spell_number(value, decimals)
                 for head, value in zip(heads.tolist(), values.tolist())]
        return "".join(parts), np.cumsum([len(part) for part in parts], dtype=int)
    data, ends, done = [], [], 0
    for first in range(0, len(values), _STRETCH):
        some, counts = _spell_stretch(values[first:first + _STRETCH], decimals, heads[first:first + _STRETCH], words)
        data.append(some)
        ends.append(np.cumsum(counts) + done)
        done += len(some)
    return b"".join(data).decode("ascii"), np.concatenate(ends)


def _spell_stretch(values, decimals, heads, words):
    """The bytes of numbers with their words, and how many each takes."""
    scaled = values * 10.0 ** decimals
    whole = np.rint(scaled)
    # the product may be rounded by half a unit in its last place: what lies so near a middle is left to Python
    near = np.flatnonzero(0.5 - np.abs(scaled - whole) < 1e-9 + 4e-16 * np.abs(scaled))
    for k in near.tolist():
        whole[k] = float(("%.*f" % (decimals, values[k])).replace(".", ""))
    size = np.abs(whole).astype(np.int64)
    high = size // 10 ** decimals
    low = size - high * 10 ** decimals
    figures = len(str(int(high.max())))
    lengths = np.array([len(word) for word in words])
    wide = int(lengths.max())
    table = np.frombuffer(b"".join(word.ljust(wide) for word in words), np.uint8).reshape(-1, wide)
    cells = np.empty((len(values), wide + figures + decimals + 2), np.uint8)
    keep = np.empty(cells.shape, bool)
    cells[:, :wide] = table[heads]
    keep[:, :wide] = np.arange(wide) < lengths[heads][:, None]
    cells[:, wide], keep[:, wide] = 45, whole < 0
    at = wide + figures
    for column in range(at, wide, -1):                        # figures before the point, the last one first
        keep[:, column] = high > 0
        rest = high // 10
        cells[:, column] = high - rest * 10 + 48
        high = rest
    keep[:, at] = True
    cells[:, at + 1], keep[:, at + 1] = 46, low > 0
    seen = np.zeros(len(values), bool)
    for column in range(at + 1 + decimals, at + 1, -1):
        rest = low // 10
        figure = low - rest * 10
        seen = seen | (figure > 0)
        cells[:, column], keep[:, column] = figure + 48, seen
        low = rest
    return cells[keep].tobytes(), np.count_nonzero(keep, axis=1)


def _spell_pairs(points, heads, decimals):
    """The text of places (n, 2) with the word before each, and where each ends in it."""
    every = np.full(2 * len(points), _Y)
    every[0::2] = heads
    text, ends = spell_numbers(np.ascontiguousarray(points, dtype=float).ravel(), decimals=decimals, heads=every,
                               words=_HEADS)
    return text, ends[1::2]


def write_polyline(points: ArrayLike, *, closed: bool = False, decimals: int = 7) -> str:
    """Path text of straight strokes through points (n, 2); lettering needs fewer decimals than lines to cut by."""
    return write_polylines(points, [0], closed=closed, decimals=decimals)


def write_polylines(points: ArrayLike, begins: ArrayLike, *, closed: bool = False, decimals: int = 7) -> str:
    """Path text of several runs of straight strokes through points (n, 2), each beginning at one of the indices
    `begins`, the first at 0.
    """
    heads = np.full(len(np.asarray(points)), _LINE)
    heads[begins] = _SHUT if closed else _NEXT
    heads[0] = _FIRST
    text, _ = _spell_pairs(points, heads, decimals)
    return text + (" Z" if closed else "")


def write_cubics(cubics: ArrayLike, *, closed: bool) -> str:
    """Path text of a connected chain of cubics; pieces that are straight are written as lines.

    Seven decimals: a ten-thousandth of the tightest tolerance, and no drift, since every place is absolute.
    """
    cubics = np.asarray(cubics, float)
    begins = np.zeros(len(cubics), bool)
    begins[0] = True
    points, kinds = spell_points(cubics, begins)
    text, _ = _spell_pairs(points, np.array((_FIRST, _LINE, _CURVE, _MORE, _MORE))[kinds], 7)
    return text + (" Z" if closed else "")


def spell_points(cubics: Cubics, begins: Mask) -> tuple[Points, Indices]:
    """The places that chains of cubics are written by, and what each is.

    Parameters
    ----------
    cubics : ndarray, shape (k, 4, 2)
    begins : ndarray of bool, shape (k,)
        Which begin a chain.

    Returns
    -------
    points : ndarray, shape (n, 2)
    kinds : ndarray of int, shape (n,)
        0 where a chain begins, 1 the end of a straight stroke, 2 and 3 a curve's control points, 4 its end.
    """
    straight = find_straight(cubics)
    count = begins + np.where(straight, 1, 3)
    last = np.cumsum(count) - 1
    points, kinds = np.empty((int(last[-1]) + 1, 2)), np.empty(int(last[-1]) + 1, int)
    points[last], kinds[last] = cubics[:, 3], np.where(straight, 1, 4)
    for back, kind in ((2, 2), (1, 3)):
        points[last[~straight] - back], kinds[last[~straight] - back] = cubics[~straight, 3 - back], kind
    first = (last - count + 1)[begins]
    points[first], kinds[first] = cubics[begins, 0], 0
    return points, kinds


def write_strokes(lines: Sequence[tuple[Cubics, bool]], *, decimals: int = 7) -> list[str]:
    """Path text of many lines at once, each in as many runs as it has chains of touching pieces.

    Parameters
    ----------
    lines : sequence of (cubics (k, 4, 2), closed)
        closed : whether every run is shut.

    Returns
    -------
    list of str
    """
    if not lines:
        return []
    counts = np.array([len(cubics) for cubics, _ in lines])
    cubics = np.concatenate([cubics for cubics, _ in lines])
    shut = np.repeat([closed for _, closed in lines], counts)
    own = np.cumsum(counts) - counts
    begins = ~find_touching(cubics)
    begins[own] = True
    points, kinds = spell_points(cubics, begins)
    heads = np.array((_NEXT, _LINE, _CURVE, _MORE, _MORE))[kinds]
    starts = np.flatnonzero(kinds == 0)
    heads[starts[shut[begins]]] = _SHUT
    firsts = starts[np.searchsorted(np.flatnonzero(begins), own)]
    heads[firsts] = _FIRST
    text, ends = _spell_pairs(points, heads, decimals)
    stops = ends[np.append(firsts[1:], len(points)) - 1].tolist()
    return [text[a:b] + (" Z" if closed else "") for a, b, (_, closed) in zip([0, *stops[:-1]], stops, lines)]
