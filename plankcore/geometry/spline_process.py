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

from .ordered import list_distinct

if TYPE_CHECKING:
    from typing import Sequence

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
        -log probability density of each y given all the others. It is largest for the point without which the others
        agree best, since p(rest) = p(all) / p(point | rest).
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
    jumps: tuple[tuple[float, float, int], ...] = ()

    def evaluate(self, x: Values, *, sign: int, derivative: int = 0) -> Values:
        """The curve with this sign (+1 for u, -1 for v) at x (k,), or its derivative by x."""
        at = (np.asarray(x, float) - self.origin) / self.scale
        kernel = _evaluate_kernel(at[:, None] - self.sites[None], self.order, derivative)
        value = kernel @ (self.kernel_c + sign * self.kernel_h)
        value = value + _polynomials(at, self.order, derivative) @ (
            self.polynomial[:self.order] + (sign * self.polynomial[self.order:2 * self.order] if self.pair else 0.0))
        if self.jumps:
            value = value + _jump_columns(at, np.full(len(at), float(sign)), self.jumps,
                                          derivative) @ self.polynomial[-len(self.jumps):]
        return value / self.scale ** derivative

    def measure_error(self, x: Values, *, sign: int) -> Values:
        """Standard error of the curve with this sign at x (k,)."""
        at = (np.asarray(x, float) - self.origin) / self.scale
        kernel = _evaluate_kernel(at[:, None] - self.sites[None], self.order, 0)
        signs = np.full(len(at), float(sign))
        basis = _pair_basis(_polynomials(at, self.order, 0), signs, self.pair)
        if self.jumps:
            basis = np.hstack([basis, _jump_columns(at, signs, self.jumps, 0)])
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


def _jump_columns(at, signs, jumps, derivative):
    """Powers of the distance past each break, 0 before it and on the other curve, or their derivatives: (n, jumps)."""
    columns = []
    for place, sign, power in jumps:
        past, left = at - place, power - derivative
        factor = float(np.prod(np.arange(left + 1, power + 1))) if left >= 0 else 0.0
        columns.append(np.where((past >= 0) & (signs == sign), factor * np.maximum(past, 0.0) ** max(left, 0), 0.0))
    return np.stack(columns, axis=1)


def _list_jumps(x, signs, breaks, order):
    """(place, sign, power) of every derivative that may jump at a break: the first, and as many more, up to the
    order, as the points between it and its neighbours can tell.
    """
    jumps = []
    for place, sign in breaks:
        mine = list_distinct(x[signs == sign])
        cuts = sorted(p for p, s in breaks if s == sign)
        k = cuts.index(place)
        low, high = cuts[k - 1] if k else -np.inf, cuts[k + 1] if k + 1 < len(cuts) else np.inf
        least = min(int(np.sum((mine > low) & (mine < place))), int(np.sum((mine > place) & (mine < high))))
        if least < 1:
            raise ValueError("a break needs points on both sides of it")
        jumps += [(place, sign, power) for power in range(1, max(1, min(order - 1, least - 1)) + 1)]
    return jumps


def fit_process(x: Values, y: Values, errors: Values, signs: Values, *, shortest_wave: float, order: int = 4,
                breaks: Sequence[tuple[float, float]] = ()) -> ProcessFit:
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
    breaks : sequence of (x, sign)
        Places where a curve may turn: it is there two curves that meet, as independent as the points beside it can
        tell.

    Returns
    -------
    ProcessFit

    Raises
    ------
    ValueError
        With fewer than order + 1 points on a curve, and one more for each number that its breaks take.
    """
    x, y, errors, signs = (np.asarray(a, float) for a in (x, y, errors, signs))
    record = _lay_out(x, y, errors=errors, signs=signs, order=order, breaks=breaks)
    rungs = _lay_ladder(record, low=float(x.min()), high=float(x.max()), shortest_wave=shortest_wave)
    solved = _solve_rungs(record, rungs)
    share = _share_out(solved.log_like)
    others, other_errors, surprise = _judge_points(solved)
    keep = np.flatnonzero(share > _LIGHT)
    parts, polynomial = _keep_parts(record, rungs, solved=solved, share=share, keep=keep)
    weight = np.array([p[0] for p in parts])
    pulls = solved.pull[keep]
    fit_c = (weight * rungs.tau_c[keep]) @ pulls
    fit_h = ((weight * rungs.tau_h[keep]) @ pulls) * signs
    wave = float(np.exp(np.sum(share * np.log(rungs.waves))))
    freedom = 1 - errors ** 2 * (weight @ solved.diagonal[keep])
    residual = errors ** 2 * (weight @ pulls)
    best = solved.log_like.max()
    return ProcessFit(order, record.origin, scale=record.scale, sites=record.at, signs=signs, pair=record.pair,
                      kernel_c=fit_c, kernel_h=fit_h, polynomial=polynomial,
                      parts=tuple(parts), means=y - residual, others=others, other_errors=other_errors,
                      surprise=surprise, degrees_of_freedom=freedom, wave=wave,
                      evidence=float(best + np.log(np.mean(np.exp(solved.log_like - best)))), jumps=record.jumps)


@dataclass(frozen=True, eq=False, repr=False)
class _Record:
    """The points made ready: places scaled to -1 to 1, values less their mean, and the matrices that all rungs share.

    free : (n, n - fixed), directions that no polynomial fills. kernel, kernel_h, noise : (n, n), covariances of the
    mean, of the half difference, and of the points' own errors.
    """

    order: int
    origin: float
    scale: float
    level: float
    pair: bool
    at: Values
    values: Values
    errors: Values
    signs: Values
    basis: Matrix
    free: Matrix
    kernel: Matrix
    kernel_h: Matrix
    noise: Matrix
    jumps: tuple[tuple[float, float, int], ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class _Rungs:
    """The ladder: for each rung the wave length of the mean curve, and the variances of the order-th derivative of mean
    and half difference in scaled units, (g,) each.
    """

    waves: Values
    tau_c: Values
    tau_h: Values


@dataclass(frozen=True, eq=False, repr=False)
class _Solved:
    """What each rung makes of the points: half (g, n - fixed, n), its product with itself turned the projector; pull
    (g, n), projector times values; diagonal (g, n) of the projector; log_like (g,), restricted log likelihood.
    """

    half: Values
    pull: Values
    diagonal: Values
    log_like: Values


def _lay_out(x: Values, y: Values, errors: Values, signs: Values, order: int,
             breaks: Sequence[tuple[float, float]] = ()) -> _Record:
    pair = bool(np.any(signs < 0))
    jumps = _list_jumps(x, signs, breaks, order)
    for sign in ((1, -1) if pair else (1,)):
        if list_distinct(x[signs == sign]).size < order + 1 + sum(s == sign for _, s, _ in jumps):
            raise ValueError("a curve needs points at %d places at least" % (order + 1))
    low, high = float(x.min()), float(x.max())
    origin, scale = (low + high) / 2, (high - low) / 2
    at = (x - origin) / scale
    level = float(y.mean())
    jumps = [((place - origin) / scale, sign, power) for place, sign, power in jumps]
    basis = _pair_basis(_polynomials(at, order, 0), signs, pair)
    if jumps:
        basis = np.hstack([basis, _jump_columns(at, signs, jumps, 0)])
    q, _ = np.linalg.qr(basis, mode="complete")
    kernel = _evaluate_kernel(at[:, None] - at[None], order, 0)
    return _Record(order=order, origin=origin, scale=scale, level=level, pair=pair, at=at, values=y - level,
                   errors=errors, signs=signs, basis=basis, free=q[:, basis.shape[1]:], kernel=kernel,
                   kernel_h=kernel * signs[:, None] * signs[None], noise=np.diag(errors ** 2), jumps=tuple(jumps))


def _lay_ladder(record: _Record, *, low: float, high: float, shortest_wave: float) -> _Rungs:
    """Waves from the shortest allowed to far over the curve's length; of a pair, every wave of the mean with every wave
    of the half difference.
    """
    spacing = (high - low) / max(np.count_nonzero(record.signs > 0) - 1, 1)
    middle = float(np.exp(np.mean(np.log(record.errors))))
    longest = max(6 * (high - low), 2 * shortest_wave)
    waves = shortest_wave * _STEP ** np.arange(int(np.ceil(np.log(longest / shortest_wave) / np.log(_STEP))) + 1)
    tau = middle ** 2 * (spacing / record.scale) / (waves / record.scale / (2 * np.pi)) ** (2 * record.order)
    if not record.pair:
        return _Rungs(waves, tau, np.zeros(len(tau)))
    rung_c, rung_h = (r.ravel() for r in np.meshgrid(np.arange(len(waves)), np.arange(len(waves)), indexing="ij"))
    return _Rungs(waves[rung_c], tau[rung_c] / 2, tau[rung_h] / 2)


def _solve_rungs(record: _Record, rungs: _Rungs) -> _Solved:
    free, z = record.free, record.values
    reduced = (free.T @ record.noise @ free)[None] + rungs.tau_c[:, None, None] * (free.T @ record.kernel @ free)[None]
    if record.pair:
        reduced = reduced + rungs.tau_h[:, None, None] * (free.T @ record.kernel_h @ free)[None]
    chol_inverse = np.linalg.inv(np.linalg.cholesky(reduced))
    half = chol_inverse @ free.T
    pull = np.einsum("gij,gi->gj", half, half @ z)
    log_like = (np.sum(np.log(np.diagonal(chol_inverse, axis1=1, axis2=2)), axis=1)
                - 0.5 * np.sum((half @ z) ** 2, axis=1))
    return _Solved(half, pull, np.sum(half ** 2, axis=1), log_like)


def _share_out(logs: Values) -> Values:
    """Weights that sum to 1, from log likelihoods (g,) or (g, n)."""
    share = np.exp(logs - logs.max(axis=0))
    return share / share.sum(axis=0)


def _judge_points(solved: _Solved) -> tuple:
    """Each point seen from the others, (others, other_errors, surprise) of ProcessFit: both its deviation and the
    smoothness are judged without it.
    """
    off, variance = solved.pull / solved.diagonal, 1.0 / solved.diagonal
    log_like = solved.log_like
    log_rest = log_like[:, None] + 0.5 * np.log(variance) + 0.5 * off ** 2 / variance
    without = _share_out(log_rest)
    top = log_rest.max(axis=0)
    surprise = top + np.log(np.mean(np.exp(log_rest - top),
                                    axis=0)) - log_like.max() - np.log(np.mean(np.exp(log_like - log_like.max())))
    others = np.sum(without * off, axis=0)
    return others, np.sqrt(np.sum(without * (variance + off ** 2), axis=0) - others ** 2), surprise


def _keep_parts(record: _Record, rungs: _Rungs, solved: _Solved, share: Values, keep: Values) -> tuple:
    """What ProcessFit keeps of the rungs that weigh something, and the averaged polynomial."""
    parts, tail_sum = [], 0.0
    inverse_basis = np.linalg.pinv(record.basis)
    for g in keep:
        projector = solved.half[g].T @ solved.half[g]
        cover = record.noise + rungs.tau_c[g] * record.kernel + rungs.tau_h[g] * record.kernel_h
        tail = (np.eye(len(record.at)) - projector @ cover) @ inverse_basis.T
        parts.append((share[g] / share[keep].sum(), rungs.tau_c[g], rungs.tau_h[g], projector, tail, cover,
                      record.values))
        tail_sum = tail_sum + parts[-1][0] * (tail.T @ record.values)
    polynomial = np.array(tail_sum)
    polynomial[0] += record.level
    return parts, polynomial
