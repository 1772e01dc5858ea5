"""Smoothing splines where the error given is only an upper limit: how much smaller it really is, is judged from the
points themselves."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .interpolation import interpolate_cubic
from .spline_process import fit_process

if TYPE_CHECKING:
    from .arrays import Array, Values
    from .spline_process import ProcessFit

__all__ = ["FEW", "SHARES", "LadderFit", "fit_ladder"]

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
