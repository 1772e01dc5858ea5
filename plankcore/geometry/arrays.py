"""Arrays: names for them, so that a signature says their shape and unit; the named tolerances that lengths in mm are
compared by; and the middle and the distinct ones of a row of numbers.

To the type checker the names are all the same; they are for people. In shapes n counts points, m anything else. Code
that flattens or fits curves uses the named tolerances, never a bare number.
"""
from __future__ import annotations

from typing import Any, Sequence, Union

import numpy as np

__all__ = [
    "Array",
    "ArrayLike",
    "Cubic",
    "Cubics",
    "Indices",
    "Mask",
    "Matrix",
    "Numbers",
    "Point",
    "Points",
    "Values",
    "find_median",
    "list_distinct",
]

Point = np.ndarray
"""(2,): one place, or a direction of length 1; mm."""

Points = np.ndarray
"""(n, 2): places in a row, a line or a polygon; mm."""

Values = np.ndarray
"""(n,): numbers in a row, one for each of something; the unit is in the name."""

Indices = np.ndarray
"""(n,) of int: which of a row."""

Mask = np.ndarray
"""(n,) of bool: which of a row, or not."""

Cubic = np.ndarray
"""(4, 2): a cubic piece's two ends and the two points that shape it, in the order of the line; mm."""

Cubics = np.ndarray
"""(k, 4, 2): cubic pieces, each starting where the one before ends; mm."""

Matrix = np.ndarray
"""(m, n): rows and columns of a map or of a system of equations."""

Array = np.ndarray
"""Any other shape, stated where it is used."""

ArrayLike = Union[np.ndarray, Sequence[Any]]
"""Anything that can be made into an array of the shape stated where it is used: an array, or a list of numbers or of
pairs."""

Numbers = Any
"""A number, or numbers (n,), for functions of one place or of many; or a list that is made into an array."""


CURVE_MM = 0.02
"""A written curve lies no further than this from the exact one."""

FIT_MM = 0.005
"""The part of CURVE_MM that one step of curve fitting may use: fairing, offsetting and trimming take a part each."""

FLATTEN_MM = 0.005
"""Tolerance of chords that replace curves for crossings, areas and tests only."""

GUARD_MM = 0.05
"""A finished plank whose lengths differ from its recorded ones by more than this has been changed."""


def find_median(values: ArrayLike) -> float:
    """The median of finite numbers (n,); NaN for an empty array."""
    ordered = np.sort(np.asarray(values, float), axis=None)
    half = len(ordered) // 2
    if not len(ordered):
        return float("nan")
    return float(ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2)


def list_distinct(values: ArrayLike) -> Values:
    """The distinct values of an array of finite numbers, in rising order, (n,)."""
    ordered = np.sort(np.asarray(values), axis=None)
    return ordered[np.concatenate([[True], ordered[1:] != ordered[:-1]])] if len(ordered) else ordered
