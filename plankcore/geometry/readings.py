"""Readings along a line: which of them the others do not believe, and splines through them where the error given is the
largest they may honestly have.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import erfc, log, sqrt
from typing import TYPE_CHECKING

import numpy as np

from .arrays import list_distinct
from .interpolation import interpolate_cubic
from .spline_process import fit_process

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Array, ArrayLike, Mask, Values
    from .spline_process import ProcessFit

__all__ = [
    "FEW",
    "SHARES",
    "LadderFit",
    "Step",
    "find_doubtful",
    "find_limits",
    "find_step",
    "fit_ladder",
    "measure_out_of_line",
]

_DEGREES = range(3, 8)    # degrees of the polynomials that model smooth curves
_LEAST_RUN = 1            # runs of one reading are tried too, so that a single wrong reading is not taken for a run
_CHOICES = 2.0            # the two ends of a run are chosen among many: they count as this many fitted parameters
FALSE_ALARM = 0.045       # share of lines without wrong readings on which some reading may be called doubtful
GROSS = 10.0              # a wrong reading is wrong by about this many honest errors
MOST_DOUBTFUL = 0.25      # if more than this share of the readings look wrong, it is the honest error that is wrong


def find_limits(errors: Values, spreads: Values, *, false_alarm: float, gross: float) -> Values:
    """How far off the others each reading may lie before it is doubtful.

    For a given chance of a false alarm, fewest wrong readings are missed when each is judged by the likelihood ratio of
    wrong against sound (J. Neyman and E. Pearson, Phil. Trans. A 231, 1933, doi:10.1098/rsta.1933.0009). A reading
    among others is predicted to a fraction of a gross error, so its limit can be high; one at an end is predicted
    badly, and needs a lower limit.

    Parameters
    ----------
    errors : ndarray, shape (n,)
        Honest errors.
    spreads : ndarray, shape (n,)
        Standard errors of the differences between the readings and their predictions from the others.
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
    """Readings that contradict the other readings.

    A reading is judged by its distance from the curve that all others make without it (`find_limits` says how far is
    too far).
    Where several fail, one bad reading has usually pulled its neighbours' prediction: the one whose removal makes the
    rest most likely is taken out, and the search is repeated without it.

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
    # near an end, removing either of two readings may make the rest agree: one cannot tell which is wrong, and both are
    # named
    for other in np.flatnonzero(first & ~doubtful) if doubtful.any() else ():
        alone = np.zeros(len(x), bool)
        alone[other] = True
        if not _find_suspects(x, y, errors=errors, sign=sign, left=alone, shortest_wave_mm=shortest_wave_mm,
                              breaks=breaks)[0].any():
            doubtful[other] = True
    return doubtful


def _find_suspects(x, y, *, errors, sign, left, shortest_wave_mm, breaks):
    """Readings beyond their limit when those in `left` are left out, and the surprise at each; shape (n,) both."""
    suspects, surprise = np.zeros(len(x), bool), np.full(len(x), -np.inf)
    keep = np.flatnonzero(~left)
    if min(list_distinct(x[keep][sign[keep] == s]).size for s in list_distinct(sign)) < 5:
        return suspects, surprise
    # smoothness judged by the third and by the fourth derivative, averaged with equal weight: they differ most at an
    # end
    try:
        fits = [fit_process(x[keep], y[keep], errors[keep], sign[keep], shortest_wave=shortest_wave_mm, order=order,
                            breaks=breaks) for order in (3, 4)]
    except ValueError:
        return suspects, surprise          # too few readings beside a break to compare any with the others
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
    """A run of readings, numbers first to last, on the curve with this sign, that is `height` off the rest, with
    standard error `error`.

    gain : how much better the readings are explained with the step than without: twice the gain in log likelihood, less
    the penalty for its parameters (G. Schwarz, Annals of Statistics 6, 1978, 461); beyond 10 is commonly called very
    strong (R. Kass and A. Raftery, JASA 90, 1995, 773: from memory, not checked).
    """

    sign: int
    first: int
    last: int
    height: float
    error: float
    gain: float


def measure_out_of_line(x: ArrayLike, y: ArrayLike) -> tuple[Values, Values]:
    """Each reading minus its prediction from the two nearest on either side (the cubic through those four).

    Parameters
    ----------
    x, y : array_like, shape (n,)
        Places, rising, and readings.

    Returns
    -------
    off : ndarray, shape (n,)
        NaN for the first two and the last two, which lack two neighbours on one side.
    growth : ndarray, shape (n,)
        Standard error of `off` divided by that of one reading.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    off, growth = np.full(len(x), np.nan), np.full(len(x), np.nan)
    for k in range(2, len(x) - 2):
        near = np.array([k - 2, k - 1, k + 1, k + 2])
        share = np.array([np.prod([(x[k] - x[m]) / (x[j] - x[m]) for m in near if m != j]) for j in near])
        off[k], growth[k] = y[k] - share @ y[near], np.sqrt(1 + share @ share)
    return off, growth


def find_step(x: Values, y: Values, errors: ArrayLike, signs: Values) -> Step | None:
    """The likeliest shift of a whole run of readings, on one of two curves that run together: u = c + h, v = c - h, c
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
        The best one found, however small its gain; `first` and `last` count along x among the readings of that sign.
        None where there are too few readings to tell.
    """
    x, y, errors, signs = (np.asarray(v, float) for v in (x, y, errors, signs))
    order = np.argsort(x, kind="stable")
    x, y, errors, signs = x[order], y[order], errors[order], signs[order]
    count = len(x)
    fewest = min(int(np.sum(signs == s)) for s in (1, -1))
    at = 2 * (x - x.min()) / max(np.ptp(x), 1e-12) - 1
    runs = list(_list_runs(signs))
    # both curves must have more readings than parameters, even with the longest run taken out
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
        # if even the best run leaves larger residuals than the errors say, the stated errors are too small: scale them
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
    """(sign, (first, last), indicator) of every run that leaves enough readings of its curve outside it."""
    for sign in (1, -1):
        mine = np.flatnonzero(signs == sign)
        for i in range(len(mine)):
            for j in range(i + _LEAST_RUN - 1, len(mine)):
                # shifting a run or shifting the rest the other way is the same: only the shorter of the two is tried
                if 2 * (j - i + 1) <= len(mine):
                    shape = np.zeros(len(signs))
                    shape[mine[i:j + 1]] = 1.0
                    yield sign, (i, j), shape


SHARES = (1.0, 0.3, 0.1, 0.03, 0.01)
"""Shares of the error given that are tried as the true error. Tried on invented runs of 7 to 15 readings: exact bevels
of cones, cylinders, waves and parabolas change by at most 0.02 of the error given; of real errors of half the error
given on straight runs, 0.71 is left with 8 readings, 0.54 with 11 and 0.50 with 15 (0.76, 0.61, 0.55 with the fourth
order alone and shares down to 0.03)."""

FEW = 6
"""Up to this many points are kept as they are, since a whole wave over six points cannot be told from a straight line
with errors. Tried on invented runs of six: smoothing moved such a wave by 0.26 of the error given, and removed so
little of real errors that 0.89 of them stayed."""

ORDERS = (3, 4)  # orders of the smoothed derivative, averaged: the lower removes more error, the higher distorts less
# prior weight of a share of the error is share ** -PRIOR: small shares are favoured, since the error given is an upper
# limit
PRIOR = 1.5
# prior range of the free polynomial terms, in errors given: makes likelihoods of different orders comparable
REACH = 20.0
SHORTEST = 1.75           # shortest wave considered, in spaces between points
# in errors given. If no point would move farther than the first, all are kept as read; from the second on the fit is
# used as it is; between them the two are blended
STILL, MOVED = 0.15, 0.3
_LIGHT = 1e-4             # fits with less than this share of the weight are dropped


@dataclass(frozen=True, eq=False, repr=False)
class LadderFit:
    """A curve averaged over fits with several shares of the error and orders, plus the part of each point's residual
    that is added back to it.

    fits, weights : of the average. places, added : (n,) each, where and how much is added back. is_kept : whether there
    were too few points, so that the curve passes through all.
    """

    fits: tuple[ProcessFit, ...]
    weights: Array
    places: Array
    added: Array
    is_kept: bool

    def evaluate(self, x: Values, *, derivative: int = 0) -> Values:
        """Values (k,) at x (k,), or the first derivative by x."""
        x = np.asarray(x, float)
        fair = np.sum([w * f.evaluate(x, sign=1, derivative=derivative)
                       for w, f in zip(self.weights, self.fits)], axis=0)
        if not self.added.any():
            return fair
        # beyond the outermost points the added part stays constant
        near = np.clip(x, self.places[0], self.places[-1])
        added = interpolate_cubic(self.places, self.added, near, ends="running on", derivative=derivative)
        return fair + (np.where(near == x, added, 0.0) if derivative else added)


def fit_ladder(x: Values, y: Values, errors: Values, *, shortest_wave: float) -> LadderFit:
    """One curve through points whose errors are at most those given.

    A fit that takes the error given as true would move exact points by up to that error. So it is averaged over smaller
    errors, weighted by their likelihood, as over wave lengths (see spline_process): it then follows smooth points
    closely and still smooths rough ones. Where it would move no point by more than STILL of its error, or where there
    are at most FEW points, it passes through all.

    Parameters
    ----------
    x, y, errors : array_like, shape (n,)
        Two points or more, x rising.
    shortest_wave : float
        No smoothness rougher than this wave is considered, nor than SHORTEST spaces between points.

    Returns
    -------
    LadderFit
    """
    x, y, errors = (np.asarray(v, float) for v in (x, y, errors))
    count, signs = len(x), np.ones(len(x))
    wave = max(shortest_wave, SHORTEST * float(np.ptp(x)) / (count - 1))
    rungs = [(share, order) for share in SHARES for order in sorted({min(order, count - 1) for order in ORDERS})]
    fits = [fit_process(x, y, errors * share, signs, shortest_wave=wave, order=order) for share, order in rungs]
    # likelihoods of different orders count different free polynomial terms: give each term a uniform prior over REACH
    spread = np.log(REACH * np.sqrt(count / (2 * np.pi))) + float(np.mean(np.log(errors)))
    evidence = np.array([f.evidence - PRIOR * np.log(share) - order * spread for f, (share, order) in zip(fits, rungs)])
    weights = np.exp(evidence - evidence.max())
    heavy = np.flatnonzero(weights > _LIGHT * weights.sum())
    weights = weights[heavy] / weights[heavy].sum()
    off = y - weights @ np.array([fits[k].means for k in heavy])
    far = float(np.clip((np.abs(off / errors).max() - STILL) / (MOVED - STILL), 0.0, 1.0))
    again = 1.0 if count <= FEW else 1.0 - far ** 2 * (3 - 2 * far)
    return LadderFit(fits=tuple(fits[k] for k in heavy), weights=weights, places=x, added=again * off,
                     is_kept=count <= FEW)
