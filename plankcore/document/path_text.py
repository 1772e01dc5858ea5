"""Path data from commands to cubics (curves, arcs), and from cubics and polylines to text."""
from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import find_straight, find_touching

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import ArrayLike, Cubics, Indices, Mask, Points, Values

__all__ = [
    "spell_number",
    "spell_numbers",
    "spell_points",
    "trace_commands",
    "write_cubics",
    "write_polyline",
    "write_polylines",
    "write_strokes",
]

_SIZES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Z": 0, "S": 4, "Q": 4, "T": 2, "A": 7}
_ARC_STEP = math.radians(30)      # a cubic follows such an arc to 4e-7 of its radius


def trace_commands(commands: Sequence[str], counts: Sequence[int], numbers: Values) -> list[tuple[Cubics, bool]]:
    """Runs of cubics.

    Parameters
    ----------
    commands : list of str
        Letters in order; counts : how many of the numbers belong to each, a whole multiple of what one such command
        takes.

    Returns
    -------
    list of (cubics (k, 4, 2), closed)

    Raises
    ------
    ValueError
        If the flag of an arc is neither 0 nor 1.
    """
    runs, run = [], []
    pen = start = np.zeros(2)
    control, last = None, ""                # the control point that S and T reflect, and the command it came from
    at = 0
    for letter, count in zip(commands, counts):
        name = letter.upper()
        if name == "Z":
            if np.any(pen != start):
                run.append(_line(pen, start))
            if run:
                runs.append((np.array(run), True))
            run, pen, last = [], start, "Z"
            continue
        size = _SIZES[name]
        for k in range(at, at + count, size):
            values = np.array(numbers[k:k + size], float)
            if name == "M" and k == at:
                if run:
                    runs.append((np.array(run), False))
                run = []
                pen = start = values + (pen if letter == "m" else 0.0)
                last = "M"
                continue
            base = pen if letter.islower() else np.zeros(2)
            pieces, control, pen_next = _trace_one("L" if name == "M" else name, values, pen=pen, base=base,
                                                   control=control, last=last,
                                                   relative=letter.islower())
            run += pieces
            pen, last = pen_next, name
        at += count
    if run:
        runs.append((np.array(run), False))
    return [(cubics, closed) for cubics, closed in ((_drop_still(c), z) for c, z in runs) if len(cubics)]


def _drop_still(cubics):
    return cubics[(cubics[:, 1:] != cubics[:, :1]).reshape(len(cubics), -1).any(axis=1)]


def _line(a, b):
    return np.stack([a + (b - a) * k / 3 for k in range(4)])


def _quadratic(a, q, b):
    return np.stack([a, a + 2 * (q - a) / 3, b + 2 * (q - b) / 3, b])


def _trace_one(name, values, *, pen, base, control, last, relative):
    """Pieces of one command, the control point it leaves behind, and where the pen ends."""
    if name in "HV":
        end = pen.copy()
        end["HV".index(name)] = values[0] + (base["HV".index(name)] if relative else 0.0)
        return [_line(pen, end)], None, end
    if name == "A":
        end = values[5:] + base
        if values[3] not in (0.0, 1.0) or values[4] not in (0.0, 1.0):
            raise ValueError("arc flag")
        return _arc(pen, end, rx=abs(values[0]), ry=abs(values[1]), turn=math.radians(values[2]), large=bool(values[3]),
                    sweep=bool(values[4])), None, end
    points = values.reshape(-1, 2) + base
    end = points[-1]
    if name == "L":
        return [_line(pen, end)], None, end
    if name == "C":
        return [np.vstack([pen, points])], points[1], end
    if name == "S":
        first = 2 * pen - control if last in ("C", "S") else pen
        return [np.vstack([pen, first, points])], points[0], end
    if name == "Q":
        return [_quadratic(pen, points[0], end)], points[0], end
    middle = 2 * pen - control if last in ("Q", "T") else pen          # T
    return [_quadratic(pen, middle, end)], middle, end


def _arc(a, b, *, rx, ry, turn, large, sweep):
    """An elliptical arc from a to b as cubics (F.6.5, radii scaled up where too small, F.6.6)."""
    if np.all(a == b):
        return []
    if rx == 0 or ry == 0:
        return [_line(a, b)]
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = (cos * (a[0] - b[0]) + sin * (a[1] - b[1])) / 2, (-sin * (a[0] - b[0]) + cos * (a[1] - b[1])) / 2
    grow = (x / rx) ** 2 + (y / ry) ** 2
    if grow > 1:
        rx, ry = rx * math.sqrt(grow), ry * math.sqrt(grow)
    inner = max((rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2, 0.0) / ((rx * y) ** 2 + (ry * x) ** 2)
    root = math.sqrt(inner) * (-1 if large == sweep else 1)
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    first = math.atan2((y - cy) / ry, (x - cx) / rx)
    span = math.atan2((-y - cy) / ry, (-x - cx) / rx) - first
    if sweep and span <= 0:
        span += 2 * math.pi
    elif not sweep and span >= 0:
        span -= 2 * math.pi
    centre = np.array([cos * cx - sin * cy, sin * cx + cos * cy]) + (a + b) / 2
    count = max(math.ceil(abs(span) / _ARC_STEP - 1e-9), 1)
    angles = first + span * np.arange(count + 1) / count
    handle = 4 / 3 * math.tan(span / count / 4)
    matrix = np.array([[cos * rx, sin * rx], [-sin * ry, cos * ry]])
    unit, along = np.stack([np.cos(angles), np.sin(angles)],
                           axis=1), np.stack([-np.sin(angles), np.cos(angles)], axis=1)
    points, slopes = unit @ matrix + centre, handle * (along @ matrix)
    points[0], points[-1] = a, b
    return [np.stack([points[k], points[k] + slopes[k], points[k + 1] - slopes[k + 1], points[k + 1]])
            for k in range(count)]


_FEW = 40                 # up to this many numbers are faster to format one by one
_STRETCH = 8192           # numbers formatted at a time, so that their digits stay in the processor's cache
_MOST = 2.0 ** 52         # floats below this hold whole numbers exactly, so that every digit is right
# text before a point: the path's first; the first of a further run, after an open and after a closed one; a stroke's
# end; a curve's first control point; a curve's other points; and before y
_HEADS = (b"M ", b" M ", b" Z M ", b" L ", b" C ", b" ", b",")
_FIRST, _NEXT, _SHUT, _LINE, _CURVE, _MORE, _Y = range(7)


def spell_number(value: float, decimals: int = 7) -> str:
    """One number: 12.500 as '12.5', -0.0 as '0'."""
    text = "%.*f" % (decimals, value)
    text = text.rstrip("0").rstrip(".") if decimals else text
    return "0" if text in ("-0", "") else text


def spell_numbers(values: Values, *, decimals: int, heads: Indices, words: tuple[bytes, ...]) -> tuple[str, Indices]:
    """Many numbers formatted into one text, each with a given text before it.

    Parameters
    ----------
    values : ndarray, shape (n,)
    decimals : int
        1 or more.
    heads : ndarray of int, shape (n,)
        Which of `words` stands before each number.
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
    # scaling rounds the product: a number so near to a tie could be rounded the wrong way, and is left to Python
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
    for column in range(at, wide, -1):                        # digits before the decimal point, the last one first
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
    """The points that are written for chains of cubics, and the kind of each.

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
        closed : whether every run is closed.

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
