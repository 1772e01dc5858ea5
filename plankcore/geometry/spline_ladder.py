"""The ladder of smoothnesses that a smoothing spline is averaged over, and the fit at each of its rungs.

A rung says how rough the curve is: the variance of its order-th derivative, taken as white noise. For two curves that
may run together there are two kinds of rungs, with the same total prior weight:

* together: both curves equally rough, u = c + h and v = c - h; every roughness of the mean c is combined with every one
of the half difference h. Where one of c and h is much smoother than the other, each curve gains accuracy from the
other's points. * apart: the curves are independent, and every roughness of one is combined with every one of the other.
The likelihood is then a product, so that each curve is solved by itself.

The restricted likelihood of all points (D. Harville, JASA 72, 1977, doi:10.1080/01621459.1977.10480998) compares both
kinds fairly, since the same polynomials are left free in both.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import factorial
from typing import TYPE_CHECKING

import numpy as np

from .arrays import list_distinct

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Matrix, Values

__all__ = ["Ladder", "Rungs", "View", "add_logs", "add_shape", "build_ladder", "evaluate_basis",
           "evaluate_kernel", "evaluate_polynomials"]

_STEP = 1.3  # ratio of the wave lengths of neighbouring rungs: the likelihood changes little from one to the next


@dataclass(frozen=True, eq=False, repr=False)
class Rungs:
    """Rungs solved for some points. half : (g, r, n), with half' half the projector (the inverse covariance with the
    polynomials projected out). pull : (g, n), projector times values. diagonal : (g, n), of the projector.

    log_det, square (g,) and freedom are the terms of the restricted log likelihood: the determinants, the weighted sum
    of squares about the curve, and the number of points minus that of polynomials.
    """

    half: Values
    pull: Values
    diagonal: Values
    log_det: Values
    square: Values
    freedom: int

    def weigh(self, scale: float = 1.0) -> Values:
        """Restricted log likelihoods (g,), with errors and roughness both `scale` times as large."""
        return self.log_det - 0.5 * self.square / scale ** 2 - self.freedom * np.log(scale)


@dataclass(frozen=True, eq=False, repr=False)
class View:
    """The rungs that concern one curve: those of kind together, then its own of kind apart.

    same, cross : (g,)
        Of each rung the variance of this curve's order-th derivative, in scaled units, and its covariance with the
        other curve's.
    waves : (g,)
        Wave length of the mean of both, or of this curve alone.
    half, pull, diagonal
        As in Rungs, for all points of both curves; zero at points that a rung does not use.
    together, own, other : Rungs or None
        The three sets of rungs that make up the likelihood; other : the other curve by itself.
    """

    waves: Values
    same: Values
    cross: Values
    half: Values
    pull: Values
    diagonal: Values
    together: Rungs | None
    own: Rungs
    other: Rungs | None

    def weigh(self, scale: float = 1.0) -> Values:
        """Log likelihood of all points of both curves at each rung (g,), for errors and roughness `scale` times as
        large, averaged over the other curve's rungs for kind apart; minus the logarithm of the number of rungs of the
        same kind."""
        own = self.own.weigh(scale)
        if self.together is None or self.other is None:
            return own - np.log(len(own))
        other = self.other.weigh(scale)
        together = self.together.weigh(scale)
        return np.r_[together - np.log(len(together)),
                     own - np.log(len(own)) + add_logs(other) - np.log(len(other))] - np.log(2)


@dataclass(frozen=True, eq=False, repr=False)
class Ladder:
    """The solved ladder for points (n,): places scaled to -1 to 1, values minus their mean, and a View for each sign.
    """

    order: int
    origin: float
    scale: float
    level: float
    at: Values
    values: Values
    errors: Values
    signs: Values
    kernel: Matrix
    views: dict[int, View]
    jumps: tuple[tuple[float, float, int], ...] = ()


def add_logs(logs: Values, axis: int = 0) -> Values:
    """Logarithm of the sum of exponentials along one axis."""
    top = logs.max(axis=axis, keepdims=True)
    return np.squeeze(top, axis) + np.log(np.sum(np.exp(logs - top), axis=axis))


def evaluate_kernel(distance: Matrix, order: int, derivative: int) -> Matrix:
    """Generalised covariance (-1)^m |d|^(2m-1) / (2 (2m-1)!) or its derivative: depends on neither origin nor
    direction."""
    power = 2 * order - 1 - derivative
    size = np.abs(distance) ** power / (2 * factorial(power)) * (-1) ** order
    return size * np.sign(distance) if derivative % 2 else size


def evaluate_polynomials(at: Values, order: int, derivative: int) -> Matrix:
    """Legendre polynomials below `order` (or derivatives), shape (len(at), order)."""
    columns = []
    for k in range(order):
        series = np.polynomial.legendre.Legendre.basis(k)
        columns.append((series.deriv(derivative) if derivative else series)(at))
    return np.stack(columns, axis=1)


def _evaluate_jumps(at, signs, jumps, derivative):
    """Powers of the distance past each break, 0 before it and on the other curve, or their derivatives: (n, jumps)."""
    columns = []
    for place, sign, power in jumps:
        past, left = at - place, power - derivative
        factor = float(np.prod(np.arange(left + 1, power + 1))) if left >= 0 else 0.0
        columns.append(np.where((past >= 0) & (signs == sign), factor * np.maximum(past, 0.0) ** max(left, 0), 0.0))
    return np.stack(columns, axis=1)


def _list_jumps(x, signs, breaks, order):
    """(place, sign, power) of every derivative that may jump at a break: the first, and further ones up to the order,
    as far as the points between it and the neighbouring breaks suffice."""
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


def evaluate_basis(at: Values, order: int, derivative: int, *, jumps: Sequence[tuple[float, float, int]],
                   sign: int) -> Matrix:
    """The unpenalised functions of the curve with this sign: polynomials, and powers past its own breaks, (len(at), k).
    """
    own = [j for j in jumps if j[1] == sign]
    polynomials = evaluate_polynomials(at, order, derivative)
    return np.hstack([polynomials, _evaluate_jumps(at, np.full(len(at), float(sign)), own,
                                                   derivative)]) if own else polynomials


def build_ladder(x: Values, y: Values, errors: Values, signs: Values, *, shortest_wave: float, order: int,
                 breaks: Sequence[tuple[float, float]] = ()) -> Ladder:
    """Build the ladder for points with known errors, and solve each rung.

    Parameters and errors as in `spline_process.fit_process`.
    """
    x, y, errors, signs = (np.asarray(a, float) for a in (x, y, errors, signs))
    pair = bool(np.any(signs < 0))
    jumps = _list_jumps(x, signs, breaks, order)
    for sign in ((1, -1) if pair else (1,)):
        if list_distinct(x[signs == sign]).size < order + 1 + sum(s == sign for _, s, _ in jumps):
            raise ValueError("a curve needs points at %d places at least" % (order + 1))
    low, high = float(x.min()), float(x.max())
    origin, scale, level = (low + high) / 2, (high - low) / 2, float(y.mean())
    at, values = (x - origin) / scale, y - level
    jumps = tuple(((place - origin) / scale, sign, power) for place, sign, power in jumps)
    kernel = evaluate_kernel(at[:, None] - at[None], order, 0)
    waves, tau = _lay_waves(x, errors, signs, order=order, shortest_wave=shortest_wave)
    own, free = {}, []
    for sign in ((1, -1) if pair else (1,)):
        mine = np.flatnonzero(signs == sign)
        basis = evaluate_basis(at, order, 0, jumps=jumps, sign=sign)
        own[sign] = mine, _solve(basis[mine], values[mine], errors[mine], [(tau, kernel[np.ix_(mine, mine)])])
        free.append(basis * (signs == sign)[:, None])
    if pair:
        rung_c, rung_h = (r.ravel() for r in np.meshgrid(np.arange(len(waves)), np.arange(len(waves)), indexing="ij"))
        tau_c, tau_h = tau[rung_c] / 2, tau[rung_h] / 2
        together = _solve(np.hstack(free), values, errors,
                          [(tau_c, kernel), (tau_h, kernel * signs[:, None] * signs[None])])
        rungs = (np.r_[waves[rung_c], waves], np.r_[tau_c + tau_h, tau], np.r_[tau_c - tau_h, np.zeros(len(tau))])
    else:
        together, rungs = None, (waves, tau, np.zeros(len(tau)))
    views = {s: _look(rungs, together, own, s) for s in own}
    return Ladder(order, origin, scale=scale, level=level, at=at, values=values, errors=errors, signs=signs,
                  kernel=kernel, views=views, jumps=jumps)


def _look(rungs, together, own, sign):
    """The View of one curve; rungs : its waves, same and cross; own : {sign: (points, Rungs)}."""
    (waves, same, cross), (mine, alone) = rungs, own[sign]
    if together is None:
        return View(waves, same, cross, half=alone.half, pull=alone.pull, diagonal=alone.diagonal, together=None,
                    own=alone, other=None)
    half, pull, diagonal = _stack(together, alone, mine)
    return View(waves, same, cross, half=half, pull=pull, diagonal=diagonal, together=together, own=alone,
                other=own[-sign][1])


def add_shape(ladder: Ladder, shape: Values, *, sign: int, size: float) -> Ladder:
    """The same rungs for a curve that has, beside its smoothness, some of a shape (n,): a normal amount of no certain
    sense, `size` its standard deviation.
    """
    own = {s: (np.flatnonzero(ladder.signs == s), v.own) for s, v in ladder.views.items()}
    mine, alone = own[sign]
    own[sign] = mine, _loosen(alone, shape[mine], ladder.values[mine], size)
    together = ladder.views[1].together
    if together is not None:
        together = _loosen(together, np.where(ladder.signs == sign, shape, 0.0), ladder.values, size)
    return replace(ladder, views={s: _look((v.waves, v.same, v.cross), together, own, s)
                                  for s, v in ladder.views.items()})


def _loosen(rungs, shape, values, size):
    """Covariance and shape's square, by the rule for an inverse that changes by one rank, on its root."""
    lean = rungs.half @ shape
    inner = np.sum(lean ** 2, axis=1)
    left = 1 / (1 + size ** 2 * inner)
    turn = (1 - np.sqrt(left)) / np.maximum(inner, 1e-300)
    half = rungs.half - (turn[:, None] * lean)[:, :, None] * (lean[:, None] @ rungs.half)
    white = half @ values
    return Rungs(half, (white[:, None] @ half)[:, 0], np.sum(half ** 2, axis=1),
                 log_det=rungs.log_det + 0.5 * np.log(left), square=np.sum(white ** 2, axis=1), freedom=rungs.freedom)


def _lay_waves(x, errors, signs, *, order, shortest_wave):
    """Waves (k,) from the shortest allowed to far over the curve's length, and the variances (k,) of the order-th
    derivative, in scaled units, for which evenly spread points keep a wave of that length at half its height."""
    long = float(np.ptp(x))
    spacing = long / max(np.count_nonzero(signs > 0) - 1, 1)
    middle = float(np.exp(np.mean(np.log(errors))))
    longest = max(6 * long, 2 * shortest_wave)
    waves = shortest_wave * _STEP ** np.arange(int(np.ceil(np.log(longest / shortest_wave) / np.log(_STEP))) + 1)
    return waves, middle ** 2 * (spacing / (long / 2)) / (waves / (long / 2) / (2 * np.pi)) ** (2 * order)


def _solve(basis, values, errors, parts):
    """Rungs whose covariance is the sum of the parts, each (variances (g,), kernel (n, n)), and of the points' own
    errors."""
    q, _ = np.linalg.qr(basis, mode="complete")
    free = q[:, basis.shape[1]:]
    reduced = (free.T @ (free * errors[:, None] ** 2))[None]
    for tau, kernel in parts:
        reduced = reduced + tau[:, None, None] * (free.T @ kernel @ free)[None]
    inverse = np.linalg.inv(np.linalg.cholesky(reduced))
    half = inverse @ free.T
    white = half @ values
    return Rungs(half, (white[:, None] @ half)[:, 0], np.sum(half ** 2, axis=1),
                 log_det=np.sum(np.log(np.diagonal(inverse, axis1=1, axis2=2)), axis=1),
                 square=np.sum(white ** 2, axis=1), freedom=free.shape[1])


def _stack(together, own, mine):
    """half, pull and diagonal of both kinds of rungs stacked; mine : the points that the curve's own rungs use."""
    first, rows = len(together.half), own.half.shape[1]
    half = np.zeros((first + len(own.half), *together.half.shape[1:]))
    half[:first], half[first:, :rows, mine] = together.half, own.half
    pull, diagonal = np.zeros((2, len(half), half.shape[2]))
    pull[:first], pull[first:, mine] = together.pull, own.pull
    diagonal[:first], diagonal[first:, mine] = together.diagonal, own.diagonal
    return half, pull, diagonal
