"""Smoothing splines for a few measured points whose error is known, one curve or two that run together.

A smoothing spline of order m is the best guess of a random function whose m-th derivative is
white noise, from values with independent errors (G. Wahba, J. R. Stat. Soc. B 40, 1978,
p. 364). That view gives what a penalty alone does not: how much smoothness the points
themselves speak for, the uncertainty of the curve, and what each point looks like from all the others.

Two curves u and v are written u = c + h, v = c - h. Where the half difference h is smoother
than the mean c, as the width of a plank is smoother than its sweep, each curve borrows
strength from the other; where it is not, the points say so and nothing is lent.

Smoothness is not picked but averaged: over a ladder of wave lengths from the shortest
the caller allows, weighted by the restricted likelihood of the points (D. Harville, JASA 72, 1977,
doi:10.1080/01621459.1977.10480998). An average moves smoothly with the data; a pick jumps.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import factorial
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from .arrays import Matrix, Values

__all__ = ["ProcessFit", "fit_process"]

_STEP = 1.3          # rung of the ladder of waves: the likelihood changes little within one
_LIGHT = 1e-4        # rungs with less than this share of the weight are dropped


@dataclass(frozen=True, eq=False, repr=False)
class ProcessFit:
    """Fitted pair of curves.

    means : ndarray, shape (n,)
        The curve at each point.
    others : ndarray, shape (n,)
        y less what all the other points together say of it.
    other_errors : ndarray, shape (n,)
        Standard error of `others`, the point's own error included.
    surprise : ndarray, shape (n,)
        -log probability density of each y given all the others. The point whose removal leaves the likeliest rest has
        the largest, since p(rest) = p(all) / p(point | rest).
    degrees_of_freedom : ndarray, shape (n,)
        Each point's share in its own mean, 0 to 1; their sum is the curve's freedom.
    wave : float
        Likelihood-weighted (geometric mean) wave length of c.
    evidence : float
        log probability density of all points, averaged over the ladder, but for a constant of their number and order.
    """

    order: int
    origin: float
    scale: float
    sites: Values
    signs: Values
    pair: bool
    kernel_c: Values
    kernel_h: Values
    polynomial: Values
    parts: tuple[tuple[float, float, float, Matrix, Matrix, Matrix, Values], ...]
    means: Values
    others: Values
    other_errors: Values
    surprise: Values
    degrees_of_freedom: Values
    wave: float
    evidence: float = 0.0

    def evaluate(self, x: Values, *, sign: int, derivative: int = 0) -> Values:
        """The curve with this sign (+1 for u, -1 for v) at x (k,), or its derivative by x."""
        at = (np.asarray(x, float) - self.origin) / self.scale
        kernel = _evaluate_kernel(at[:, None] - self.sites[None], self.order, derivative)
        value = kernel @ (self.kernel_c + sign * self.kernel_h)
        value = value + _polynomials(at, self.order, derivative) @ (
            self.polynomial[:self.order] + (sign * self.polynomial[self.order:] if self.pair else 0.0))
        return value / self.scale ** derivative

    def measure_error(self, x: Values, *, sign: int) -> Values:
        """Standard error of the curve with this sign at x (k,)."""
        at = (np.asarray(x, float) - self.origin) / self.scale
        kernel = _evaluate_kernel(at[:, None] - self.sites[None], self.order, 0)
        basis = _pair_basis(_polynomials(at, self.order, 0), np.full(len(at), float(sign)), self.pair)
        mean, square, inner = 0.0, 0.0, 0.0
        for share, tau_c, tau_h, projector, tail, cover, y in self.parts:
            k = kernel * (tau_c + tau_h * sign * self.signs[None])
            weights = k @ projector + basis @ tail.T
            variance = np.sum((weights @ cover) * weights, axis=1) - 2 * np.sum(weights * k, axis=1)
            value = weights @ y
            inner = inner + share * np.maximum(variance, 0.0)
            mean, square = mean + share * value, square + share * value ** 2
        return np.sqrt(inner + np.maximum(square - mean ** 2, 0.0))


def _evaluate_kernel(distance, order, derivative):
    """Generalised covariance (-1)^m |d|^(2m-1) / (2 (2m-1)!) or its derivative: no origin, no direction."""
    power = 2 * order - 1 - derivative
    size = np.abs(distance) ** power / (2 * factorial(power)) * (-1) ** order
    return size * np.sign(distance) if derivative % 2 else size


def _polynomials(at, order, derivative):
    """Legendre polynomials below `order` (or derivatives), shape (len(at), order)."""
    columns = []
    for k in range(order):
        series = np.polynomial.legendre.Legendre.basis(k)
        columns.append((series.deriv(derivative) if derivative else series)(at))
    return np.stack(columns, axis=1)


def _pair_basis(basis, signs, pair):
    return np.hstack([basis, signs[:, None] * basis]) if pair else basis


def fit_process(x: Values, y: Values, errors: Values, signs: Values, *, shortest_wave: float,
                order: int = 4) -> ProcessFit:
    """Fit one curve, or a pair, through points with known errors.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Places along and offsets, one length unit.
    errors : ndarray, shape (n,)
        Standard error of each y.
    signs : ndarray, shape (n,)
        +1 for points of the first curve, -1 for the second; all +1 for a single curve.
    shortest_wave : float
        No smoothness rougher than this wave (kept at half height by evenly spread points) is considered.
    order : int
        m, the derivative that is taken as noise.

    Returns
    -------
    ProcessFit

    Raises
    ------
    ValueError
        With fewer than order + 1 points on a curve.
    """
    x, y, errors, signs = (np.asarray(a, float) for a in (x, y, errors, signs))
    pair = bool(np.any(signs < 0))
    for sign in ((1, -1) if pair else (1,)):
        if np.unique(x[signs == sign]).size < order + 1:
            raise ValueError("a curve needs points at %d places at least" % (order + 1))
    low, high = float(x.min()), float(x.max())
    origin, scale = (low + high) / 2, (high - low) / 2
    at = (x - origin) / scale
    level = float(y.mean())
    z = y - level
    n = len(x)
    basis = _pair_basis(_polynomials(at, order, 0), signs, pair)
    fixed = basis.shape[1]
    q, _ = np.linalg.qr(basis, mode="complete")
    free = q[:, fixed:]
    kernel = _evaluate_kernel(at[:, None] - at[None], order, 0)
    kernel_h = kernel * signs[:, None] * signs[None]
    noise = np.diag(errors ** 2)

    # the ladder of waves, as variances of the m-th derivative in scaled units
    spacing = (high - low) / max(np.count_nonzero(signs > 0) - 1, 1)
    middle = float(np.exp(np.mean(np.log(errors))))
    longest = max(6 * (high - low), 2 * shortest_wave)
    waves = shortest_wave * _STEP ** np.arange(int(np.ceil(np.log(longest / shortest_wave) / np.log(_STEP))) + 1)
    tau = middle ** 2 * (spacing / scale) / (waves / scale / (2 * np.pi)) ** (2 * order)
    if pair:
        rung_c, rung_h = (r.ravel() for r in np.meshgrid(np.arange(len(waves)), np.arange(len(waves)), indexing="ij"))
        tau_c, tau_h = tau[rung_c] / 2, tau[rung_h] / 2
    else:
        rung_c = np.arange(len(waves))
        tau_c, tau_h = tau, np.zeros(len(tau))

    reduced = (free.T @ noise @ free)[None] + tau_c[:, None, None] * (free.T @ kernel @ free)[None]
    if pair:
        reduced = reduced + tau_h[:, None, None] * (free.T @ kernel_h @ free)[None]
    chol_inverse = np.linalg.inv(np.linalg.cholesky(reduced))
    half = chol_inverse @ free.T                                    # (g, n - fixed, n)
    pull = np.einsum("gij,gi->gj", half, half @ z)                  # projector times z
    diagonal = np.sum(half ** 2, axis=1)
    log_like = (np.sum(np.log(np.diagonal(chol_inverse, axis1=1, axis2=2)), axis=1)
                - 0.5 * np.sum((half @ z) ** 2, axis=1))

    def share_out(logs):
        share = np.exp(logs - logs.max(axis=0))
        return share / share.sum(axis=0)

    share = share_out(log_like)
    # each point seen from the others: both its deviation and the smoothness are judged without it
    off, variance = pull / diagonal, 1.0 / diagonal
    log_rest = log_like[:, None] + 0.5 * np.log(variance) + 0.5 * off ** 2 / variance
    without = share_out(log_rest)
    top = log_rest.max(axis=0)
    surprise = top + np.log(np.mean(np.exp(log_rest - top),
                                    axis=0)) - log_like.max() - np.log(np.mean(np.exp(log_like - log_like.max())))
    others = np.sum(without * off, axis=0)
    other_errors = np.sqrt(np.sum(without * (variance + off ** 2), axis=0) - others ** 2)

    keep = np.flatnonzero(share > _LIGHT)
    parts, tail_sum = [], 0.0
    inverse_basis = np.linalg.pinv(basis)
    for g in keep:
        projector = half[g].T @ half[g]
        cover = noise + tau_c[g] * kernel + tau_h[g] * kernel_h
        tail = (np.eye(n) - projector @ cover) @ inverse_basis.T
        parts.append((share[g] / share[keep].sum(), tau_c[g], tau_h[g], projector, tail, cover, z))
        tail_sum = tail_sum + parts[-1][0] * (tail.T @ z)
    weight = np.array([p[0] for p in parts])
    pulls = pull[keep]
    polynomial = np.array(tail_sum)
    polynomial[0] += level
    fit_c = (weight * tau_c[keep]) @ pulls
    fit_h = ((weight * tau_h[keep]) @ pulls) * signs
    wave = float(np.exp(np.sum(share * np.log(waves[rung_c]))))
    freedom = 1 - errors ** 2 * (weight @ diagonal[keep])
    residual = errors ** 2 * (weight @ pulls)
    return ProcessFit(order, origin, scale=scale, sites=at, signs=signs, pair=pair, kernel_c=fit_c, kernel_h=fit_h,
                      polynomial=polynomial, parts=tuple(parts),
                      means=y - residual, others=others, other_errors=other_errors, surprise=surprise,
                      degrees_of_freedom=freedom, wave=wave,
                      evidence=float(log_like.max() + np.log(np.mean(np.exp(log_like - log_like.max())))))
