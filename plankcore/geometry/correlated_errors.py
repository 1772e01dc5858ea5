"""Errors of fits through points with correlated errors, as neighbouring points on a traced line have.

A traced line's neighbouring points are off by nearly the same amount, so a fit through a thousand of them is not a
thousand times surer. The covariance is propagated with the correlation seen in the residuals themselves (a sandwich
estimate; W. Newey and K. West, Econometrica 55 (1987) 703, from memory), summed up to the first lag where it is no
longer positive, and is never less than that of independent points.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .arrays import find_median

if TYPE_CHECKING:
    from typing import Any, Collection

    from .arrays import Mask, Matrix, Values

__all__ = ["measure_correlation", "pool_correlation", "propagate_error", "trim_residuals"]

_MAD = 1.4826             # standard deviation of a normal distribution over its median absolute deviation
_FEW_LAGS = 48
# the variance is divided by the share of independent points that the fit's parameters leave free, but by no less than
# this
_LEAST_FREE = 0.25


def measure_correlation(residuals: Values, used: Mask, most: int) -> tuple[Values, Values]:
    """Sums of products of residuals by lag 0, 1, .. most - 1, and how many pairs each sums, for residuals in order
    along a line.
    """
    e, most = np.where(used, residuals, 0.0), min(most, len(residuals))
    if not most:
        return np.zeros(0), np.zeros(0)
    pairs = len(e) - np.arange(most, dtype=float) if np.all(used) else _correlate(np.asarray(used, float), most)
    return _correlate(e, most), pairs


def _correlate(row, most):
    return np.correlate(np.concatenate([row, np.zeros(most - 1)]), row, "valid")


def pool_correlation(fits: Collection[Any]) -> Values:
    """Mean product of residuals by lag over several LineFits of one tracing, from lag 0 to the first that is not
    positive.
    """
    fits = list(fits)
    most = max((len(f.residuals) // 2 for f in fits), default=0)
    # a few lags nearly always reach the first that is not positive
    mean = _pool(fits, min(most, _FEW_LAGS))
    if most > _FEW_LAGS and np.all(mean > 0):
        mean = _pool(fits, most)
    end = np.flatnonzero(mean <= 0)
    return mean[:int(end[0])] if len(end) else mean


def _pool(fits, most):
    sums, pairs = np.zeros(most), np.zeros(most)
    for fit in fits:
        products, count = measure_correlation(fit.residuals, fit.used, min(most, len(fit.residuals) // 2))
        sums[:len(products)] += products
        pairs[:len(count)] += count
    return sums / np.maximum(pairs, 1)


def propagate_error(design: Matrix, residuals: Values, used: Mask | None = None, *,
                    gammas: Values | None = None) -> Matrix:
    """Covariance of the parameters of a linear fit from its residuals, which stand in order along a line.

    Parameters
    ----------
    design : ndarray, shape (n, p)
        Change of each residual by each parameter, either sign.
    residuals : ndarray, shape (n,)
    used : ndarray of bool, shape (n,), optional
        False for points that the fit ignored.
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
    believed = np.where(used, residuals, 0.0)
    base = float(believed @ believed) / max(int(count), 1)
    if gammas is None:
        products, pairs = measure_correlation(residuals, used, len(residuals) // 2)
        gammas = products / np.maximum(pairs, 1)
    elif len(gammas) and base < gammas[0]:
        base = float(gammas[0])
    else:
        gammas = gammas * (base / gammas[0] if len(gammas) else 0.0)
    if base <= 0 or count <= free:
        return np.zeros((free, free)) if base <= 0 else np.full((free, free), np.inf)
    rest = _sum_lags(g, gammas)
    # in coordinates where the normal matrix is the identity, negative contributions of the correlation are cut off
    root = np.linalg.cholesky(square)
    back = np.linalg.inv(root)
    sizes, ways = np.linalg.eigh(back @ rest @ back.T / base)
    sizes = np.maximum(sizes, 0.0)
    grown = root @ (np.eye(free) + (ways * sizes) @ ways.T) @ root.T
    together = 1.0 + float(np.mean(sizes))
    scale = base / max(1.0 - free * together / count, _LEAST_FREE)
    inverse = np.linalg.inv(square)
    return scale * inverse @ grown @ inverse


def _sum_lags(g, gammas):
    """Sum over lags from 1 to the first that is not positive of gamma times g'g, one g shifted by the lag, both ways.
    """
    tail = gammas[1:len(g)]
    ends = np.flatnonzero(tail <= 0)
    tail = tail[:int(ends[0])] if len(ends) else tail
    if not len(tail):
        return np.zeros((g.shape[1], g.shape[1]))
    # each column is summed over its lags first: one large product instead of one for each lag
    shifted = np.stack([np.correlate(column[1:], tail, "full")[len(tail) - 1:] for column in g.T])
    cross = shifted @ g[:-1]
    return cross + cross.T


def trim_residuals(residuals: Values, *, cut: float = 4.0, floor: float = 0.02) -> Mask:
    """Which residuals are kept: those within `cut` robust standard deviations (from the median absolute residual), or
    within cut times floor."""
    size = np.abs(residuals)
    return size <= cut * max(_MAD * find_median(size), floor)
