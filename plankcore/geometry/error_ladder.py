"""Smoothing splines where the error given is the largest the points may honestly have: whether they have less is judged
from the points themselves.
"""
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
"""Of the error given: what the points' errors may be. Measured on invented runs of 7 to 15 readings: bevels of cones,
cylinders, waves and parabolas come back within 0.02 of the error given, and straight runs that are half of it off keep
0.71 of that at 8 readings, 0.54 at 11 and 0.50 at 15 (0.76, 0.61, 0.55 by the fourth order alone, shares to 0.03)."""

FEW = 6
"""So many points are kept as they are. A whole wave over six of them cannot be told from a straight line with errors:
on invented runs it came back 0.26 of the error given off; and of six points' errors 0.89 stayed, faired."""

ORDERS = (3, 4)           # opinions of how smooth the line is: the lower takes more of errors, the higher bends less
PRIOR = 1.5               # a share is likelier beforehand by this power the smaller it is: the error given is the most
REACH = 20.0              # errors given that a parabola or cubic may reach beforehand: makes likelihoods comparable
SHORTEST = 1.75           # spaces between points in the shortest wave that is thought of
STILL, MOVED = 0.15, 0.3  # errors given: none is moved where none would be further; from the second on, as fitted
_LIGHT = 1e-4             # fits with less than this share of the weight are dropped


@dataclass(frozen=True, eq=False, repr=False)
class LadderFit:
    """A curve averaged over shares and orders, and what of each point's distance from it is added again.

    fits, weights : of the average. places, added : (n,) each. is_kept : whether the points were too few, so that the
    curve passes through all.
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
        # beyond the points what is added stays as at the last
        near = np.clip(x, self.places[0], self.places[-1])
        added = interpolate_cubic(self.places, self.added, near, ends="running on", derivative=derivative)
        return fair + (np.where(near == x, added, 0.0) if derivative else added)


def fit_ladder(x: Values, y: Values, errors: Values, *, shortest_wave: float) -> LadderFit:
    """One curve through points whose errors are at most those given.

    A fit that takes the error given for true bends away from points that have none, by up to that error; averaged over
    smaller errors by their likelihood, as over the wave lengths (see spline_process), it follows points that are smooth
    and still runs fair past those that are not. Where it would move no point by more than STILL of its error there is
    nothing to fair, and it passes through all; so it does through FEW.

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
    # each density is of what the polynomials leave: a higher order has a free term more, spread evenly over its reach
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
