"""Errors of fits through points that err together, as neighbours on a traced line do.

A traced line's neighbouring points are off by nearly the same amount, so a fit through a thousand of them is not a
thousand times surer. The covariance is propagated with the correlation seen in the residuals themselves (a sandwich
estimate; W. Newey and K. West, Econometrica 55 (1987) 703, from memory), summed up to the first lag at which it dies
out, and is never less than that of independent points.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .ordered import find_median

if TYPE_CHECKING:
    from typing import Any, Collection

    from .arrays import Mask, Matrix, Values

__all__ = ["measure_correlation", "pool_correlation", "propagate_error", "trim_residuals"]

_MAD = 1.4826             # standard deviation of a normal deviate over its median absolute one
_LEAST_FREE = 0.25        # a fit that uses up more than the rest of its independent points has no error worth scaling


def measure_correlation(residuals: Values, used: Mask, most: int) -> tuple[Values, ...]:
    """Sums of products of residuals by lag 0, 1, .. most - 1, and how many pairs each sums, for residuals in order
    along a line.
    """
    e, kept = np.where(used, residuals, 0.0), np.asarray(used, float)
    most = min(most, len(e))
    return tuple(np.correlate(row, row, "full")[len(e) - 1:len(e) - 1 + most] for row in (e, kept))


def pool_correlation(fits: Collection[Any]) -> Values:
    """Mean product of residuals by lag over several LineFits of one tracing, from lag 0 to the first that is not
    positive.
    """
    fits = list(fits)
    most = max((len(f.residuals) // 2 for f in fits), default=0)
    sums, pairs = np.zeros(most), np.zeros(most)
    for fit in fits:
        products, count = measure_correlation(fit.residuals, fit.used, len(fit.residuals) // 2)
        sums[:len(products)] += products
        pairs[:len(count)] += count
    mean = sums / np.maximum(pairs, 1)
    end = np.flatnonzero(mean <= 0)
    return mean[:int(end[0])] if len(end) else mean


def propagate_error(design: Matrix, residuals: Values, used: Mask | None = None, *,
                    gammas: Values | None = None) -> Matrix:
    """Covariance of the parameters of a linear fit from its residuals, which stand in order along a line.

    Parameters
    ----------
    design : ndarray, shape (n, p)
        Change of each residual by each parameter, either sign.
    residuals : ndarray, shape (n,)
    used : ndarray of bool, shape (n,), optional
        False for points that had no say.
    gammas : ndarray, optional
        Mean product of residuals by lag, from more data of the same kind; raised where these residuals themselves are
        larger.

    Returns
    -------
    ndarray, shape (p, p)
    """
    used = np.ones(len(residuals), bool) if used is None else used
    count, free = np.count_nonzero(used), design.shape[1]
    g = np.where(used[:, None], design, 0.0)
    square = g.T @ g
    products, pairs = measure_correlation(residuals, used, len(residuals) // 2)
    base = float(products[0]) / max(int(count), 1)
    if gammas is None:
        gammas = products / np.maximum(pairs, 1)
    elif len(gammas) and base < gammas[0]:
        base = float(gammas[0])
    else:
        gammas = gammas * (base / gammas[0] if len(gammas) else 0.0)
    if base <= 0 or count <= free:
        return np.zeros((free, free)) if base <= 0 else np.full((free, free), np.inf)
    rest = np.zeros((free, free))
    for lag in range(1, min(len(gammas), len(residuals))):
        if gammas[lag] <= 0:
            break
        cross = g[lag:].T @ g[:-lag]
        rest += gammas[lag] * (cross + cross.T)
    # in axes where the fit's own matrix is the unit: what correlation adds there is never negative
    root = np.linalg.cholesky(square)
    back = np.linalg.inv(root)
    sizes, ways = np.linalg.eigh(back @ rest @ back.T / base)
    sizes = np.maximum(sizes, 0.0)
    grown = root @ (np.eye(free) + (ways * sizes) @ ways.T) @ root.T
    together = 1.0 + float(np.mean(sizes))
    scale = base / max(1.0 - free * together / count, _LEAST_FREE)
    inverse = np.linalg.inv(square)
    return scale * inverse @ grown @ inverse


def trim_residuals(residuals: Values, *, cut: float = 4.0, floor: float = 0.02) -> Mask:
    """Which residuals are believed: those within `cut` robust standard deviations (from the median absolute one), or
    within cut times floor.
    """
    size = np.abs(residuals)
    return size <= cut * max(_MAD * find_median(size), floor)
