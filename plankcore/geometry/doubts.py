"""Readings along a line that the others do not believe: single ones, those that their neighbours do not bear out, and a
run of them that is shifted bodily.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import erfc, log, sqrt
from typing import TYPE_CHECKING

import numpy as np

from .ordered import list_distinct
from .spline_process import fit_process

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import ArrayLike, Mask, Values

__all__ = ["Step", "find_doubtful", "find_limits", "find_step", "measure_out_of_line"]

_DEGREES = range(3, 8)    # of the polynomials that stand for what is smooth
_LEAST_RUN = 1            # one reading alone is looked at too, so that it is not taken for a run
_CHOICES = 2.0            # a run's two ends are chosen among many: they count as so many numbers fitted
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


def find_doubtful(x: Values, y: Values, errors: Values, sign: Values, *, shortest_wave_mm: float,
                  breaks: Sequence[tuple[float, float]] = ()) -> Mask:
    """Readings that the other readings do not believe.

    A reading is judged by its distance from the curve that all others make without it (`find_limits` says how far is
    too far).
    Where several fail, one bad reading has usually dragged its neighbour: the one without which the rest is likeliest
    is taken, and the search goes on without it.

    Parameters
    ----------
    x, y, errors, sign, shortest_wave_mm, breaks
        As `fit_process` takes them; y and errors in any one unit.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    doubtful, first = np.zeros(len(x), bool), None
    while doubtful.sum() < MOST_DOUBTFUL * len(x):
        suspects, surprise = _find_suspects(x, y, errors=errors, sign=sign, left=doubtful,
                                            shortest_wave_mm=shortest_wave_mm, breaks=breaks)
        first = suspects if first is None else first
        if not suspects.any():
            break
        doubtful[int(np.argmax(np.where(suspects, surprise, -np.inf)))] = True
    # near an end two readings may each explain all without the other: then it cannot be told which is wrong, and both
    # are named
    for other in np.flatnonzero(first & ~doubtful) if doubtful.any() else ():
        alone = np.zeros(len(x), bool)
        alone[other] = True
        if not _find_suspects(x, y, errors=errors, sign=sign, left=alone, shortest_wave_mm=shortest_wave_mm,
                              breaks=breaks)[0].any():
            doubtful[other] = True
    return doubtful


def _find_suspects(x, y, errors, sign, left, shortest_wave_mm, breaks):
    """Readings beyond their limit when those in `left` are left out, and the surprise at each; shape (n,) both."""
    suspects, surprise = np.zeros(len(x), bool), np.full(len(x), -np.inf)
    keep = np.flatnonzero(~left)
    if min(list_distinct(x[keep][sign[keep] == s]).size for s in list_distinct(sign)) < 5:
        return suspects, surprise
    # two opinions of how smooth the line is, the third and the fourth derivative, weigh the same: at an end they differ
    # most
    try:
        fits = [fit_process(x[keep], y[keep], errors[keep], sign[keep], shortest_wave=shortest_wave_mm, order=order,
                            breaks=breaks) for order in (3, 4)]
    except ValueError:
        return suspects, surprise          # too few beside a break to judge any by the others
    others = np.mean([f.others for f in fits], axis=0)
    spread = np.sqrt(np.mean([f.other_errors ** 2 + f.others ** 2 for f in fits], axis=0) - others ** 2)
    surprise[keep] = -np.log(np.mean([np.exp(-f.surprise) for f in fits], axis=0) + 1e-300)
    for s in list_distinct(sign):
        mine = sign[keep] == s
        limits = find_limits(errors[keep][mine], spread[mine], false_alarm=FALSE_ALARM, gross=GROSS)
        suspects[keep[mine]] = np.abs(others[mine]) > limits
    return suspects, surprise


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
