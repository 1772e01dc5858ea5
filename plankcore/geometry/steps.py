"""Readings along a line that do not run on: one that its neighbours do not bear out, and a run of them that is shifted
bodily.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import log
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from .arrays import ArrayLike, Values

__all__ = ["Step", "find_step", "measure_out_of_line"]

_DEGREES = range(3, 8)    # of the polynomials that stand for what is smooth
_LEAST_RUN = 1            # one reading alone is looked at too, so that it is not taken for a run
_CHOICES = 2.0            # a run's two ends are chosen among many: they count as so many numbers fitted


@dataclass(frozen=True)
class Step:
    """A run of readings, by number from first to last, on the curve of this sign, that stands height off the rest,
    within error.

    gain : how much better the readings are told with it than without, 2 log likelihood less the price of the numbers it
    takes (G. Schwarz, Annals of Statistics 6, 1978, 461); beyond 10 is commonly called very strong (R. Kass and A.
    Raftery, JASA 90, 1995, 773: from memory, not checked).
    """

    sign: int
    first: int
    last: int
    height: float
    error: float
    gain: float


def measure_out_of_line(x: ArrayLike, y: ArrayLike) -> tuple[Values, Values]:
    """Each reading less what the two nearest on either side say of it (the cubic through them).

    Parameters
    ----------
    x, y : array_like, shape (n,)
        Places, rising, and readings.

    Returns
    -------
    off : ndarray, shape (n,)
        nan for the first two and the last two, which have no two neighbours on both sides.
    growth : ndarray, shape (n,)
        How many times as large the standard error of `off` is as that of one reading.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    off, growth = np.full(len(x), np.nan), np.full(len(x), np.nan)
    for k in range(2, len(x) - 2):
        near = np.array([k - 2, k - 1, k + 1, k + 2])
        share = np.array([np.prod([(x[k] - x[m]) / (x[j] - x[m]) for m in near if m != j]) for j in near])
        off[k], growth[k] = y[k] - share @ y[near], np.sqrt(1 + share @ share)
    return off, growth


def find_step(x: Values, y: Values, errors: ArrayLike, signs: Values) -> Step | None:
    """The likeliest bodily shift of a run of readings, on one of two curves that run together: u = c + h, v = c - h, c
    and h smooth.

    Parameters
    ----------
    x, y, errors : array_like, shape (n,)
        Places along, offsets, standard errors.
    signs : array_like, shape (n,)
        +1 for readings of u, -1 for those of v.

    Returns
    -------
    Step or None
        The best there is, however poor its gain; `first` and `last` count along x among the readings of that sign. None
        where there are too few readings to tell.
    """
    x, y, errors, signs = (np.asarray(v, float) for v in (x, y, errors, signs))
    order = np.argsort(x, kind="stable")
    x, y, errors, signs = x[order], y[order], errors[order], signs[order]
    count = len(x)
    fewest = min(int(np.sum(signs == s)) for s in (1, -1))
    at = 2 * (x - x.min()) / max(np.ptp(x), 1e-12) - 1
    runs = list(_list_runs(signs))
    # runs of no other length than all of a short curve would leave nothing to stand off from
    degrees = [p for p in _DEGREES if 2 * p + 1 <= count - 4 and p + 1 <= fewest - 3]
    if not runs or not degrees:
        return None
    shapes = np.stack([r[2] for r in runs], axis=1) / errors[:, None]
    z = y / errors
    plain, least, step = np.inf, np.inf, None
    for degree in degrees:
        basis = np.polynomial.legendre.legvander(at, degree)
        columns = np.hstack([basis, signs[:, None] * basis[:, :degree]]) / errors[:, None]
        q, _ = np.linalg.qr(columns)
        left, moved = z - q @ (q.T @ z), shapes - q @ (q.T @ shapes)
        size = np.sum(moved ** 2, axis=0)
        told = (moved.T @ left) ** 2 / np.maximum(size, 1e-9)
        fixed = columns.shape[1]
        # where even the best run leaves more than the errors say, the errors are too small
        k = int(np.argmax(np.where(size > 1e-6, told, -1.0)))
        spread = max(1.0, (left @ left - told[k]) / max(count - fixed - 1, 1))
        price = log(count)
        plain = min(plain, left @ left / spread + count * log(spread) + fixed * price)
        cost = (left @ left - told[k]) / spread + count * log(spread) + (fixed + 1 + _CHOICES) * price
        if step is None or cost < least:
            (first, last), least = runs[k][1], cost
            step = Step(int(runs[k][0]), first, last=last, height=float(moved[:, k] @ left / size[k]),
                        error=float(np.sqrt(spread / size[k])), gain=0.0)
    return None if step is None else replace(step, gain=float(plain - least))


def _list_runs(signs):
    """(sign, (first, last), indicator) of every run that leaves as many readings of its curve outside it as it must
    hold.
    """
    for sign in (1, -1):
        mine = np.flatnonzero(signs == sign)
        for i in range(len(mine)):
            for j in range(i + _LEAST_RUN - 1, len(mine)):
                # a run and what it leaves tell the same story: the shorter one is meant
                if 2 * (j - i + 1) <= len(mine):
                    shape = np.zeros(len(signs))
                    shape[mine[i:j + 1]] = 1.0
                    yield sign, (i, j), shape
