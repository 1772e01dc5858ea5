"""Readings that the other readings along a line do not believe: the search, and how far off is too far."""
from __future__ import annotations

from math import erfc, sqrt
from typing import TYPE_CHECKING

import numpy as np

from .spline_process import fit_process

if TYPE_CHECKING:
    from .arrays import Mask, Values

__all__ = ["find_doubtful", "find_limits"]

FALSE_ALARM = 0.045       # share of sound lines on which some reading may be called doubtful
GROSS = 10.0              # a wrong reading is wrong by about this many honest errors
MOST_DOUBTFUL = 0.25      # beyond this share the honest error is wrong, not the readings


def find_limits(errors: Values, spreads: Values, *, false_alarm: float, gross: float) -> Values:
    """How far off the others each reading may lie before it is doubtful.

    For a given chance of a false alarm, fewest wrong readings are missed when each is judged by how much likelier it is
    wrong than sound (J. Neyman and E. Pearson, Phil. Trans. A 231, 1933, doi:10.1098/rsta.1933.0009). A reading amid
    others is known to a fraction of a gross error and need not be suspected early; one at an end is not, and must be.

    Parameters
    ----------
    errors : ndarray, shape (n,)
        Honest errors.
    spreads : ndarray, shape (n,)
        Standard errors of the readings' distances from what the others say.
    false_alarm : float
        Chance that any of the readings, all sound, is called doubtful.
    gross : float
        A wrong reading is wrong by about this many honest errors.

    Returns
    -------
    ndarray, shape (n,)
        Limits on |distance|, in the unit of errors.
    """
    wrong = gross * errors

    def place(level):
        return np.maximum(wrong / 2 + level * spreads ** 2 / wrong, 0.0)
    low, high = -50.0, 200.0
    for _ in range(80):
        middle = (low + high) / 2
        chance = sum(erfc(z / sqrt(2)) for z in place(middle) / spreads)
        low, high = (middle, high) if chance > false_alarm else (low, middle)
    return place(high)


def find_doubtful(x: Values, y: Values, errors: Values, sign: Values, *, shortest_wave_mm: float) -> Mask:
    """Readings that the other readings do not believe.

    A reading is judged by its distance from the curve that all others make without it (`find_limits` says how far is
    too far).
    Where several fail, one bad reading has usually dragged its neighbour: the one without which the rest is likeliest
    is taken, and the search goes on without it.

    Parameters
    ----------
    x, y, errors, sign, shortest_wave_mm
        As `fit_process` takes them; y and errors in any one unit.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    doubtful, first = np.zeros(len(x), bool), None
    while doubtful.sum() < MOST_DOUBTFUL * len(x):
        suspects, surprise = _find_suspects(x, y, errors=errors, sign=sign, left=doubtful,
                                            shortest_wave_mm=shortest_wave_mm)
        first = suspects if first is None else first
        if not suspects.any():
            break
        doubtful[int(np.argmax(np.where(suspects, surprise, -np.inf)))] = True
    # near an end two readings may each explain all without the other: then it cannot be told which is wrong, and both
    # are named
    for other in np.flatnonzero(first & ~doubtful) if doubtful.any() else ():
        alone = np.zeros(len(x), bool)
        alone[other] = True
        if not _find_suspects(x, y, errors=errors, sign=sign, left=alone, shortest_wave_mm=shortest_wave_mm)[0].any():
            doubtful[other] = True
    return doubtful


def _find_suspects(x, y, errors, sign, left, shortest_wave_mm):
    """Readings beyond their limit when those in `left` are left out, and the surprise at each; shape (n,) both."""
    suspects, surprise = np.zeros(len(x), bool), np.full(len(x), -np.inf)
    keep = np.flatnonzero(~left)
    if min(np.unique(x[keep][sign[keep] == s]).size for s in np.unique(sign)) < 5:
        return suspects, surprise
    # two opinions of how smooth the line is, the third and the fourth derivative, weigh the same: at an end they differ
    # most
    fits = [fit_process(x[keep], y[keep], errors[keep], sign[keep], shortest_wave=shortest_wave_mm, order=order)
            for order in (3, 4)]
    others = np.mean([f.others for f in fits], axis=0)
    spread = np.sqrt(np.mean([f.other_errors ** 2 + f.others ** 2 for f in fits], axis=0) - others ** 2)
    surprise[keep] = -np.log(np.mean([np.exp(-f.surprise) for f in fits], axis=0) + 1e-300)
    for s in np.unique(sign):
        mine = sign[keep] == s
        limits = find_limits(errors[keep][mine], spread[mine], false_alarm=FALSE_ALARM, gross=GROSS)
        suspects[keep[mine]] = np.abs(others[mine]) > limits
    return suspects, surprise
