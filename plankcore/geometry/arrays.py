"""Names for arrays, so that a signature says their shape and unit: lengths in mm on the page (x right, y down).

To the type checker they are all the same; the names are for people. In shapes n counts points, m anything else.
"""
from __future__ import annotations

from typing import Any, Sequence, Union

import numpy as np

__all__ = ["Array", "ArrayLike", "Cubic", "Cubics", "Indices", "Mask", "Matrix", "Numbers", "Point", "Points",
           "Values"]

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
