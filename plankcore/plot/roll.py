"""Pieces laid on a roll: as far to its beginning as they go, planks one in the hollow of another.

Each piece is looked at in narrow columns across the roll: its least and its greatest reach in each. It is let down,
column by column, on what lies there already; of all places along the roll where it stays within the width, the first is
taken. Long pieces go first.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import flatten_lines, sample_lines
from ..paper.blocks import letter_texts, measure_piece

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Point
    from ..model.page import Piece

__all__ = ["nest_on_roll"]

_COLUMN_MM = 4.0


def _find_profile(piece, solid):
    """Number of columns, and least and greatest y in each, counted from the piece's least x and y; a solid piece fills
    its rectangle.
    """
    low, high = measure_piece(piece)
    count = int(np.ceil((high[0] - low[0]) / _COLUMN_MM)) + 1
    if solid:
        return low, np.zeros(count), np.full(count, high[1] - low[1])
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    lines = [line.cubics for line in (*piece.lines, *letter_texts(piece.texts))]
    points = np.concatenate([sample_lines(lines, tolerance_mm=0.1, step_mm=_COLUMN_MM / 4),
                             # their own corners as well, which even steps may pass by
                             flatten_lines(lines, tolerance_mm=0.1)[0]]) - low
    column = np.clip((points[:, 0] / _COLUMN_MM).astype(int), 0, count - 1)
    order = np.argsort(column, kind="stable")
    here, first = column[order], points[order, 1]
    begins = np.flatnonzero(np.diff(here, prepend=-1))
    least[here[begins]], most[here[begins]] = np.minimum.reduceat(first, begins), np.maximum.reduceat(first, begins)
    # a column that steps have passed over is as full as its neighbours
    empty = ~np.isfinite(least)
    if empty.any():
        at = np.arange(count)
        least[empty], most[empty] = np.interp(at[empty], at[~empty],
                                              least[~empty]), np.interp(at[empty], at[~empty], most[~empty])
    return low, least, most


def _spread(values, by, take, fill):
    """Each column with what is least or greatest within `by` columns of it; `by` columns longer at both ends."""
    wide = np.concatenate([np.full(2 * by, fill), values, np.full(2 * by, fill)])
    return take(np.lib.stride_tricks.as_strided(wide, (len(values) + 2 * by, 2 * by + 1), wide.strides * 2), axis=1)


def nest_on_roll(pieces: Sequence[Piece], *, width_mm: float, gap_mm: float,
                 solid: Any = ()) -> tuple[list[Point], float]:
    """Where each piece goes.

    Parameters
    ----------
    pieces : sequence of Piece
        Turned as they are to lie.
    width_mm : float
        What the machine reaches across the roll.
    gap_mm : float
        Clear paper between pieces: little saves the roll, much is easier to cut apart.
    solid : sequence of int
        Which of them, words for instance, are taken as full rectangles.

    Returns
    -------
    shifts : list of (2,), mm, or None
        To be added to each piece; None where a piece is wider than the roll.
    length_mm : float
        Of roll used.
    """
    profiles = [_find_profile(piece, k in solid) for k, piece in enumerate(pieces)]
    order = sorted(range(len(pieces)), key=lambda k: (k in solid, -len(profiles[k][1]), k))
    tried = [_nest(profiles, order, width_mm, gap_mm, shelves=shelves, solid=solid) for shelves in (False, True)]
    _used, shifts = min(tried, key=lambda one: one[0])
    ends = [shift[0] + measure_piece(piece)[1][0] for piece, shift in zip(pieces, shifts) if shift is not None]
    return shifts, float(max(ends, default=0.0))


def _nest(profiles, order, width_mm, gap_mm, *, shelves, solid):
    """Columns used, and the shifts: each piece where it first fits or, with shelves, those that are not solid first
    beside each other from where all before them end.

    The one wastes the ends of planks of one length, the other those of very unequal ones: both are tried.
    """
    by = int(np.ceil(gap_mm / _COLUMN_MM)) + 1
    filled = np.zeros(by)
    shifts, used, shelf = [None] * len(profiles), 0, 0
    for k in order:
        low, least, most = profiles[k]
        if most.max() > width_mm + 1e-6:
            continue
        count = len(least)
        filled = np.concatenate([filled, np.zeros(max(0, used + count + 3 * by - len(filled)))])
        spread = _spread(least, by, np.min, np.inf)
        shelved = shelves and k not in solid
        starts = range(shelf, max(used - count, shelf) + 1) if shelved else range(used + 1)
        for start in starts:
            # the first `by` columns of `filled` lie before the roll begins
            below = filled[start:start + count + 2 * by]
            lift = np.where(below > 0, below + gap_mm + 1.0 - spread, 0.0)
            y = max(0.0, float(lift.max()))
            if y + most.max() <= width_mm + 1e-6:
                break
        else:
            start, y = used + by, 0.0
            shelf = start if shelved else shelf
        shifts[k] = np.array([start * _COLUMN_MM, y]) - low
        place = slice(start + by, start + by + count)
        filled[place] = np.maximum(filled[place], y + most)
        used = max(used, start + count)
    return used, shifts
