"""Median and unique as in numpy, whose own would also load its masked arrays on every click."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from .arrays import ArrayLike, Values

__all__ = ["find_median", "list_distinct"]


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
