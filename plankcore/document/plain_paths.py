"""Paths of M, L, C and Z alone, as tracers, the editor and we write them: any number of them read at once.

A trace of a scan is hundreds of short paths, and most of the time of reading one by itself goes into handling small
arrays. What is written otherwise is left to `pathdata.read_path`, which also says what is wrong with it.
"""
from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Cubics, Mask, Values

__all__ = ["decode_decimals", "read_plain_paths"]

# each run begins with an M and is closed at most once; no command is without numbers
_PLAIN = re.compile(r"[ \r\n\t]*(?:M[0-9., \r\n\t-]+(?:[LC][0-9., \r\n\t-]+)*(?:Z[ \r\n\t]*)?)+")
_TENS = 10.0 ** np.arange(16)
_STRETCH = 60000           # bytes of path text decoded at a time
_M, _L, _C, _Z = b"MLCZ"


def read_plain_paths(texts: Sequence[str | None]) -> list[list[tuple[Cubics, bool]] | None]:
    """The runs of each of several paths.

    Parameters
    ----------
    texts : sequence of str or None
        The attributes `d`.

    Returns
    -------
    list
        For each text its runs: (cubics (k, 4, 2) in the path's own units, whether it was closed with Z); None for a
        text that is not plain.
    """
    plain = [k for k, text in enumerate(texts) if text and _PLAIN.fullmatch(text)]
    found: list[list[tuple[Cubics, bool]] | None] = [None] * len(texts)
    traced = _trace(" ".join(texts[k] or "" for k in plain)) if plain else None
    if traced is None:
        return found
    cubics, counts, closed = traced
    runs = [(some, shut) for some, shut in zip(np.split(cubics, np.cumsum(counts)[:-1]), closed.tolist())]
    first = 0
    for k in plain:
        last = first + (texts[k] or "").count("M")
        found[k] = [run for run in runs[first:last] if len(run[0])]
        first = last
    return found


def _trace(text):
    """Cubics of all runs in a text, how many each run has, and which are closed; None where a number is written
    otherwise, or a command has the wrong count of them.
    """
    raw = np.frombuffer(text.encode("ascii"), np.uint8)
    part = ((raw >= 48) & (raw <= 57)) | (raw == 46) | (raw == 45)
    starts = np.flatnonzero(part & ~np.concatenate([[False], part[:-1]]))
    numbers = decode_decimals(raw, part)
    if numbers is None or len(numbers) != len(starts):
        return None
    at = np.flatnonzero((raw == _M) | (raw == _L) | (raw == _C) | (raw == _Z))
    letters = raw[at]
    sizes = np.where(letters == _C, 6, 2)
    counts = np.diff(np.searchsorted(starts, np.append(at, len(raw))))
    if np.any(counts % sizes) or np.any((counts == 0) != (letters == _Z)):
        return None
    repeat = counts // sizes
    letter, size = np.repeat(letters, repeat), np.repeat(sizes, repeat)
    base = np.cumsum(size) - size
    heads = (np.cumsum(repeat) - repeat)[letters == _M]       # the first pair after each M
    curved = letter == _C
    base_end = base + np.where(curved, 4, 0)
    ends = np.stack([numbers[base_end], numbers[base_end + 1]], axis=1)
    before = np.concatenate([ends[:1], ends[:-1]])
    third = (ends - before) / 3
    cubics = np.stack([before, before + third, ends - third, ends], axis=1)
    first = base[curved]
    for k in (0, 1):
        cubics[curved, k + 1] = np.stack([numbers[first + 2 * k], numbers[first + 2 * k + 1]], axis=1)
    run = np.zeros(len(letter), int)
    run[heads] = 1
    run = np.cumsum(run) - 1
    real = (cubics[:, 1:] != cubics[:, :1]).reshape(len(cubics), -1).any(axis=1)
    real[heads] = False
    # runs that Z closes with a stroke
    shut = np.zeros(len(heads), bool)
    shut[np.cumsum(letters == _M)[letters == _Z] - 1] = True
    lasts = np.append(heads[1:], len(letter)) - 1
    pen, start = ends[lasts], ends[heads]
    back = np.flatnonzero(shut & np.any(pen != start, axis=1))
    if len(back):
        strokes = pen[back, None] + (start[back] - pen[back])[:, None] * (np.arange(4) / 3)[None, :, None]
        cubics = np.insert(cubics, lasts[back] + 1, strokes, axis=0)
        real = np.insert(real, lasts[back] + 1, True)
        run = np.insert(run, lasts[back] + 1, back)
    return cubics[real], np.bincount(run[real], minlength=len(heads)), shut


def decode_decimals(raw: Any, part: Mask) -> Values | None:
    """Plain decimals of 1 to 15 digits, thousands at once; None where any number is written otherwise.

    Exact to the last bit: the digits make a whole number below 2^53, and one division by a power of ten up to 10^15,
    which is exact too, is correctly rounded. Two to three times as fast as reading the numbers one by one, if done in
    portions that fit the processor's cache.
    """
    cuts = [0]
    while cuts[-1] + _STRETCH < len(raw):
        first = cuts[-1] + _STRETCH
        gap = np.flatnonzero(~part[first:first + 400])
        if not len(gap) and first + 400 >= len(raw):         # the text ends within a number
            break
        if not len(gap):                                     # no separator in 400 characters: not plain
            return None
        cuts.append(first + int(gap[0]))
    cuts.append(len(raw))
    values = [_decode_stretch(raw[a:b], part[a:b]) for a, b in zip(cuts[:-1], cuts[1:])]
    return None if any(v is None for v in values) else np.concatenate(values)


def _decode_stretch(raw, part):
    begins = np.flatnonzero(part & ~np.concatenate([[False], part[:-1]]))
    if not len(begins):
        return np.zeros(0)
    digit = (raw >= 48) & (raw <= 57)
    count = np.cumsum(digit, dtype=np.int32)                 # digits up to and including each byte
    ends = np.flatnonzero(part[:-1] & ~part[1:])
    if part[-1]:
        ends = np.append(ends, len(raw) - 1)
    first = count[begins] - digit[begins]
    many = count[ends] - first
    signed = (raw[begins] == 45) | (raw[begins] == 43)
    dots = np.flatnonzero(raw == 46)
    owner = np.searchsorted(begins, dots, side="right") - 1
    dotted = np.zeros(len(begins), np.int64)
    dotted[owner] = 1
    # a number is plain if its bytes are digits, at most one dot and one leading sign: no exponent, second dot, or next
    # number run on to it
    plain = ends - begins + 1 == many + dotted + signed
    if not plain.all() or many.min() < 1 or many.max() > 15 or len(dots) != np.count_nonzero(dotted):
        return None
    longest = int(many.max())
    # each number's digits in a row, zeros in front of the shorter ones
    digits = np.concatenate([np.zeros(longest, np.uint8), raw[digit] - 48])
    place = count[ends]                                      # index of the last digit, the zeros in front counted
    whole = np.zeros(len(begins))
    for k in range(longest - 1, -1, -1):
        whole *= 10
        whole += digits[longest - 1 - k:].take(place) * (many > k)
    after = np.zeros(len(begins), np.int64)
    after[owner] = count[ends[owner]] - count[dots]
    values = whole / _TENS[after]
    return np.where(raw[begins] == 45, -values, values)
