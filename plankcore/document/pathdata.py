"""Path text to cubics: strict, and fast enough for a tracer's tens of thousands of nodes.

The editor's own parser lets bad text pass (a cut-off path, NaN); this one refuses any text that it cannot read
completely. Grammar: SVG 1.1, section 8.3 (https://www.w3.org/TR/SVG11/paths.html).
"""
from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.curve import Curve
from .path_text import trace_commands
from .plain_paths import decode_decimals

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Cubics, Indices, Points

__all__ = ["Subpath", "count_pieces", "cut_pieces", "read_path", "read_places"]

_LETTERS = b"MmZzLlHhVvCcSsQqTtAa"
_BAD, _SPACE, _LETTER, _PART = range(4)
_KIND = np.full(256, _BAD, np.uint8)
_KIND[list(b" \t\r\n\f,")] = _SPACE
_KIND[list(_LETTERS)] = _LETTER
_KIND[list(b"0123456789.+-eE")] = _PART
_BLANK_LETTERS = bytes.maketrans(_LETTERS + b",", b" " * (len(_LETTERS) + 1))
_KEPT = 100000             # texts up to this length are cached once they are read
_NOT_OURS = re.compile(r"[^MLCZ0-9., -]")
_GLUED = re.compile(rb"(?<=[0-9.])(?=[+-])")
_TWO_DOTS = re.compile(rb"(\.[0-9]+)(?=\.)")
_NEEDS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Z": 0, "S": 4, "Q": 4, "T": 2, "A": 7}
_SIZES = np.ones(256, int)
_SIZES[[ord(c) for name in _NEEDS for c in (name, name.lower())]] = np.repeat(list(_NEEDS.values()), 2)


@dataclass(frozen=True, eq=False, repr=False)
class Subpath:
    """One run of a path: cubics (k, 4, 2) and whether it was closed with z."""

    cubics: Cubics
    closed: bool


def read_path(text: str, *, where: str) -> list[Subpath]:
    """Read all of a path's text.

    Parameters
    ----------
    text : str
        The attribute `d`.
    where : str
        Label of the object, for the message.

    Returns
    -------
    list of Subpath
        In the path's own user units; a lone moveto gives nothing.

    Raises
    ------
    PatternError
        If the text is empty or any of it cannot be read.
    """
    try:
        return list(_read_known(text) if text is not None and len(text) <= _KEPT else _read_text(text))
    except _UnreadableError as error:
        raise PatternError("The path %s." % error, "Draw or trace it again; the file may have been cut off or edited "
                                                   "by hand.", where) from None


class _UnreadableError(Exception):
    """What is wrong with a path's text, as a clause that follows 'The path'."""


def _read_text(text):
    refuse = _UnreadableError
    if text is None or not text.strip():
        raise refuse("is empty")
    try:
        data = text.encode("ascii")
    except UnicodeEncodeError:
        raise refuse("holds something that is not path data") from None
    if data.lstrip()[:1] not in (b"M", b"m"):
        raise refuse("does not start with a moveto")
    raw, begins, numbers = _read_numbers(data, refuse)
    if len(numbers) != len(begins):  # "1-2" and "1.5.5" are legal for two numbers: put spaces between them
        raw, begins, numbers = _read_numbers(_TWO_DOTS.sub(rb"\1 ", _GLUED.sub(b" ", data)), refuse)
    if len(numbers) != len(begins) or not np.isfinite(numbers).all():
        raise refuse("holds something that is not a finite number")
    at = np.flatnonzero(_KIND[raw] == _LETTER)
    commands = raw[at].tobytes().decode("ascii")
    counts = np.diff(np.searchsorted(begins, np.append(at, len(raw))))
    for name in set(commands):
        needed = _NEEDS[name.upper()]
        mine = counts[raw[at] == ord(name)]
        if (needed == 0 and mine.any()) or (needed and (np.any(mine == 0) or np.any(mine % needed))):
            raise refuse("has the wrong count of numbers after '%s' (it may have been cut off)" % name)
    if set(commands) & set("SsQqTtAa"):
        try:
            traced = trace_commands(list(commands), counts.tolist(), numbers)
            return [Subpath(cubics, closed) for cubics, closed in traced]
        except ValueError:
            raise refuse("has an arc whose flags are neither 0 nor 1") from None
    return _read_plain(commands, counts, numbers)


@lru_cache(maxsize=1024)
def _read_known(text):
    """A text read and cached: an action, and the steps of a recipe, read the same ones again and again."""
    runs = tuple(_read_text(text))
    for run in runs:
        run.cubics.setflags(write=False)
    return runs


def read_places(text: str, *, where: str) -> tuple[Points, Indices]:
    """The end and control points of a path, read quickly if it has the form that we write; for guards and boxes, not
    for cutting.

    Parameters
    ----------
    text : str
        The attribute `d`.
    where : str
        Label of the object, for the message.

    Returns
    -------
    points : ndarray, shape (n, 2)
        Ends and control points in order, in the path's own units. A run that is closed ends where it began.
    begins : ndarray of int, shape (m,)
        The index at which each run begins.

    Raises
    ------
    PatternError
        As read_path does.
    """
    if text and not _NOT_OURS.search(text):
        raw = np.frombuffer(text.encode("ascii"), np.uint8)
        kind = _KIND[raw]
        part = kind == _PART
        starts = np.flatnonzero(part & ~np.concatenate([[False], part[:-1]]))
        numbers = decode_decimals(raw, part)
        if numbers is not None and len(numbers) == len(starts) and len(starts) and len(
                starts) % 2 == 0 and raw[0] == ord("M"):
            points = numbers.reshape(-1, 2)
            begins = np.searchsorted(starts, np.flatnonzero(raw == ord("M"))) // 2
            shut = np.searchsorted(begins, np.searchsorted(starts, np.flatnonzero(raw == ord("Z"))) // 2 - 1,
                                   side="right") - 1
            if len(shut) and shut.min() >= 0:
                ends = np.append(begins[1:], len(points))[shut]
                points = np.insert(points, ends, points[begins[shut]], axis=0)
                begins = begins + np.searchsorted(shut, np.arange(len(begins)))
            return points, begins
    runs = [np.concatenate([run.cubics[:1, 0], run.cubics[:, 1:].reshape(-1, 2)])
            for run in read_path(text, where=where)]
    if not runs:
        return np.zeros((0, 2)), np.zeros(0, int)
    return np.concatenate(runs), np.cumsum([0] + [len(run) for run in runs[:-1]])


def _read_numbers(data, refuse):
    """The bytes, where each number begins, and the numbers; as many as could be read."""
    raw = np.frombuffer(data, np.uint8)
    kind = _KIND[raw]
    if kind.min() == _BAD:
        raise refuse("holds something that is not a number (it may be NaN)")
    part = kind == _PART
    begins = np.flatnonzero(part[1:] & ~part[:-1]) + 1
    numbers = decode_decimals(raw, part) if len(begins) > 500 else None
    if numbers is None:
        with warnings.catch_warnings():
            # numpy only warns of text that it cannot read to its end; the count of numbers shows it
            warnings.simplefilter("ignore")
            try:
                numbers = np.fromstring(data.translate(_BLANK_LETTERS), dtype=float, sep=" ")
            except ValueError:
                numbers = np.zeros(0)
    return raw, begins, numbers


def _read_plain(commands, counts, numbers):
    """Moveto, lineto, curveto and closepath, in arrays, one subpath at a time."""
    starts = np.concatenate([[0], np.cumsum(counts)])
    heads = [k for k, c in enumerate(commands) if c in "Mm"]
    # a subpath may also follow a closepath without a moveto
    heads += [k + 1 for k, c in enumerate(commands[:-1]) if c in "Zz" and commands[k + 1] not in "MmZz"]
    heads = sorted(set(heads)) + [len(commands)]
    pen = np.zeros(2)
    result = []
    for head, stop in zip(heads[:-1], heads[1:]):
        names = commands[head:stop]
        closed = names[-1] in "Zz"
        body = names.rstrip("Zz")
        if not body:
            continue
        span = numbers[starts[head]:starts[head + len(body)]]
        count = counts[head:head + len(body)]
        points, end = _trace_subpath(body, count, span, pen)
        pen = points[0, 0].copy() if closed else end
        if closed and len(points) and np.any(points[-1, 3] != points[0, 0]) or (closed and len(points) == 1
                                                                                and not np.ptp(points, axis=1).any()):
            back = points[-1, 3] + (points[0, 0] - points[-1, 3]) * (np.arange(4) / 3)[:, None]
            points = np.concatenate([points, back[None]])
        real = (points[:, 1:] != points[:, :1]).reshape(len(points), -1).any(axis=1)
        if real.any():
            result.append(Subpath(points[real], closed))
    return result


def _trace_subpath(names, counts, numbers, pen):
    """Cubics of one subpath, and where the pen ends."""
    letter = np.frombuffer(names.encode("ascii"), np.uint8)
    sizes = _SIZES[letter]
    repeat = counts // sizes
    letter = np.repeat(letter, repeat)
    size = np.repeat(sizes, repeat)
    base = np.cumsum(size) - size
    upper = letter & 0xDF                     # upper case: without the bit that marks small letters in ASCII
    relative = letter != upper
    moves_x, moves_y = upper != ord("V"), upper != ord("H")
    offset = np.where(upper == ord("C"), 4, 0)
    x = np.where(moves_x, numbers[np.minimum(base + offset, len(numbers) - 1)], 0.0)
    y_index = np.where(upper == ord("V"), base, base + offset + 1)
    y = np.where(moves_y, numbers[np.minimum(y_index, len(numbers) - 1)], 0.0)
    ends = np.stack([_walk(x, ~relative & moves_x, pen[0]), _walk(y, ~relative & moves_y, pen[1])], axis=1)
    before = np.vstack([pen[None], ends[:-1]])
    third = (ends - before) / 3
    cubics = np.stack([before, before + third, ends - third, ends], axis=1)
    curve = np.flatnonzero(upper == ord("C"))
    if curve.size:
        shift = np.where(relative[curve, None], before[curve], 0.0)
        for k in (0, 1):
            cubics[curve, k + 1] = np.stack([numbers[base[curve] + 2 * k], numbers[base[curve] + 2 * k + 1]],
                                            axis=1) + shift
    if names[0] in "Mm":                      # after the first pair, a moveto's pairs are lines
        lone = np.repeat(ends[:1, None], 4, axis=1)
        cubics = cubics[1:] if len(cubics) > 1 else lone
    return cubics, ends[-1].copy()


def _walk(values, absolute, start):
    """Positions from values that are steps, or places where `absolute`."""
    steps = np.where(absolute, 0.0, values)
    total = np.cumsum(steps) + start
    if not absolute.any():
        return total
    index = np.arange(len(values))
    last = np.maximum.accumulate(np.where(absolute, index, -1))
    base = np.where(last >= 0, values[last] - total[last], 0.0)
    return total + base


def count_pieces(curves: Sequence[Curve]) -> str:
    """How many cubics each of several curves has, as text for `cut_pieces`."""
    return " ".join(str(len(curve.cubics)) for curve in curves)


def cut_pieces(cubics: Cubics, counts: str) -> tuple[Curve, ...]:
    """The four Curves, in the order of Plank.outline, of a closed path that was written as one.

    Raises
    ------
    ValueError
        If the counts (see `count_pieces`) are not four, or do not add up to the number of its cubics.
    """
    ends = np.cumsum([0] + [int(v) for v in counts.split()])
    if len(ends) != 5 or ends[-1] != len(cubics):
        raise ValueError("not the cubics of four curves")
    return tuple(Curve(cubics[a:b]) for a, b in zip(ends[:-1], ends[1:]))
