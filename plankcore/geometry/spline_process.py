"""Smoothing splines for a few measured points whose error is known, one curve or two that may run together.

A smoothing spline of order m is the best guess of a random function whose m-th derivative is
white noise, from values with independent errors (G. Wahba, J. R. Stat. Soc. B 40, 1978,
p. 364). This gives what a penalty alone does not: how smooth the points show the curve to be, the uncertainty of the
curve, and the prediction of each point from all the others.

Two curves share information where their mean or their half difference is smoother than the curves themselves, and are
fitted separately where they have nothing in common: the points decide which (spline_ladder).

Smoothness is not picked but averaged: over a ladder of wave lengths from the shortest
the caller allows, weighted by the restricted likelihood of the points. An average changes smoothly with the data; a
single choice would jump.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .spline_ladder import add_logs, build_ladder, evaluate_basis, evaluate_kernel

if TYPE_CHECKING:
    from typing import Iterator, Sequence

    from .arrays import Matrix, Values
    from .spline_ladder import Ladder, View

__all__ = ["AveragedFit", "ProcessFit", "WeighedRung", "fit_process"]

_LIGHT = 1e-4        # rungs with less than this share of the weight are dropped


@dataclass(frozen=True, eq=False, repr=False)
class WeighedRung:
    """The part of one rung in one curve.

    share : float
        Of the weight.
    same, cross : float
        Variance of this curve's order-th derivative, in scaled units, and its covariance with the other curve's.
    coupling : ndarray, shape (n,)
        `same` for points on this curve, `cross` for points on the other.
    projector, cover, tail : ndarray
        (n, n) each, and (n, order): the polynomial's coefficients from the values.
    """

    share: float
    same: float
    cross: float
    coupling: Values
    projector: Matrix
    cover: Matrix
    tail: Matrix


@dataclass(frozen=True, eq=False, repr=False)
class ProcessFit:
    """Fitted curve, or pair of curves.

    means : ndarray, shape (n,)
        The curve at each point.
    others : ndarray, shape (n,)
        y minus its prediction from all the other points.
    other_errors : ndarray, shape (n,)
        Standard error of `others`, the point's own error included.
    surprise : ndarray, shape (n,)
        -log probability density of each y given all the others. It is largest for the point whose removal makes the
        others most likely, since p(rest) = p(all) / p(point | rest).
    degrees_of_freedom : ndarray, shape (n,)
        Leverage of each point (its weight in its own mean), 0 to 1; the sum is the effective number of parameters.
    wave : float
        Likelihood-weighted (geometric mean) wave length of the mean of both curves, or of one alone.
    evidence : float
        log probability density of all points, averaged over the ladder, up to a constant that depends only on their
        number and the order.
    apart : float
        Share of the weight on rungs where two curves have nothing in common.
    """

    order: int
    origin: float
    scale: float
    sites: Values
    values: Values
    level: float
    kernels: dict[int, Values]
    polynomials: dict[int, Values]
    parts: dict[int, tuple[WeighedRung, ...]]
    means: Values
    others: Values
    other_errors: Values
    surprise: Values
    degrees_of_freedom: Values
    wave: float
    evidence: float = 0.0
    apart: float = 0.0
    jumps: tuple[tuple[float, float, int], ...] = ()

    def evaluate(self, x: Values, *, sign: int, derivative: int = 0) -> Values:
        """The curve with this sign (+1 for the first, -1 for the second) at x (k,), or its derivative by x."""
        at = (np.asarray(x, float) - self.origin) / self.scale
        value = (evaluate_kernel(at[:, None] - self.sites[None], self.order, derivative) @ self.kernels[sign]
                 + evaluate_basis(at, self.order, derivative, jumps=self.jumps, sign=sign) @ self.polynomials[sign])
        return value / self.scale ** derivative

    def measure_error(self, x: Values, *, sign: int) -> Values:
        """Standard error of the curve with this sign at x (k,), the differences between rungs included."""
        at = (np.asarray(x, float) - self.origin) / self.scale
        kernel = evaluate_kernel(at[:, None] - self.sites[None], self.order, 0)
        basis = evaluate_basis(at, self.order, 0, jumps=self.jumps, sign=sign)
        mean, square, inner = 0.0, 0.0, 0.0
        for part in self.parts[sign]:
            k = kernel * part.coupling
            weights = k @ part.projector + basis @ part.tail.T
            variance = np.sum((weights @ part.cover) * weights, axis=1) - 2 * np.sum(weights * k, axis=1)
            value = weights @ self.values
            inner = inner + part.share * np.maximum(variance, 0.0)
            mean, square = mean + part.share * value, square + part.share * value ** 2
        return np.sqrt(inner + np.maximum(square - mean ** 2, 0.0))


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
        m: the m-th derivative is modelled as white noise.
    breaks : sequence of (x, sign)
        Places where a curve may turn: there it is two curves that meet, independent as far as the points beside the
        break suffice.

    Returns
    -------
    ProcessFit

    Raises
    ------
    ValueError
        With fewer than order + 1 points on a curve, plus one for each parameter of its breaks.
    """
    ladder = build_ladder(x, y, errors, signs, shortest_wave=shortest_wave, order=order, breaks=breaks)
    count = len(ladder.at)
    residual, others, other_errors, surprise, freedom = np.zeros((5, count))
    parts, kernels, polynomials = {}, {}, {}
    for sign, view in ladder.views.items():
        logs = view.weigh()
        share = _share_out(logs)
        keep = np.flatnonzero(share > _LIGHT)
        weight = share[keep] / share[keep].sum()
        parts[sign] = tuple(_make_parts(ladder, sign, keep, weight))
        kernels[sign] = np.sum([p.share * p.coupling * view.pull[g] for p, g in zip(parts[sign], keep)], axis=0)
        polynomial = np.sum([p.share * (p.tail.T @ ladder.values) for p in parts[sign]], axis=0)
        polynomial[0] += ladder.level
        polynomials[sign] = polynomial
        mine = ladder.signs == sign
        others[mine], other_errors[mine], surprise[mine] = (v[mine] for v in _judge_points(view, logs))
        residual[mine] = (ladder.errors ** 2 * (weight @ view.pull[keep]))[mine]
        freedom[mine] = (1 - ladder.errors ** 2 * (weight @ view.diagonal[keep]))[mine]
    first = ladder.views[1]
    logs = first.weigh()
    share = _share_out(logs)
    return ProcessFit(ladder.order, ladder.origin, scale=ladder.scale, sites=ladder.at, values=ladder.values,
                      level=ladder.level, kernels=kernels, polynomials=polynomials, parts=parts,
                      means=np.asarray(y, float) - residual, others=others, other_errors=other_errors,
                      surprise=surprise, degrees_of_freedom=freedom,
                      wave=float(np.exp(np.sum(share * np.log(first.waves)))), evidence=float(add_logs(logs)),
                      apart=float(share[len(first.together.half):].sum()) if first.together else 0.0,
                      jumps=ladder.jumps)


def _share_out(logs: Values) -> Values:
    """Weights that sum to 1, from log likelihoods (g,) or (g, n)."""
    share = np.exp(logs - logs.max(axis=0))
    return share / share.sum(axis=0)


def _judge_points(view: View, logs: Values) -> tuple:
    """Each point predicted from the others: (others, other_errors, surprise) as in ProcessFit; the smoothness too is
    judged without it. Valid for the points of the view's own curve."""
    diagonal = np.maximum(view.diagonal, 1e-300)
    off, variance = view.pull / diagonal, 1.0 / diagonal
    log_rest = logs[:, None] + 0.5 * np.log(variance) + 0.5 * off ** 2 / variance
    without = _share_out(log_rest)
    others = np.sum(without * off, axis=0)
    errors = np.sqrt(np.maximum(np.sum(without * (variance + off ** 2), axis=0) - others ** 2, 0.0))
    return others, errors, add_logs(log_rest) - add_logs(logs)


def _make_parts(ladder: Ladder, sign: int, keep: Values, weight: Values) -> Iterator[WeighedRung]:
    """The parts of the rungs that have any weight."""
    view, order = ladder.views[sign], ladder.order
    mine = ladder.signs == sign
    noise, alike = np.diag(ladder.errors ** 2), mine[:, None] == mine[None]
    own = evaluate_basis(ladder.at, order, 0, jumps=ladder.jumps, sign=sign) * mine[:, None]
    first = len(view.together.half) if view.together is not None else 0
    inverses = {}
    for rung, share in zip(keep, weight):
        apart = bool(rung >= first)
        if apart not in inverses:
            # the polynomials of the two curves span the same space as those of mean and half difference
            basis = own if apart or len(ladder.views) == 1 else np.hstack(
                [own, evaluate_basis(ladder.at, order, 0, jumps=ladder.jumps, sign=-sign) * ~mine[:, None]])
            inverses[apart] = np.linalg.pinv(basis)[:own.shape[1]].T
        same, cross = float(view.same[rung]), float(view.cross[rung])
        projector = view.half[rung].T @ view.half[rung]
        cover = noise + ladder.kernel * np.where(alike, same, cross)
        tail = inverses[apart] - projector @ (cover @ inverses[apart])
        yield WeighedRung(float(share), same, cross=cross, coupling=np.where(mine, same, cross), projector=projector,
                   cover=cover, tail=tail * mine[:, None] if apart else tail)


@dataclass(frozen=True, eq=False, repr=False)
class AveragedFit:
    """Several fits of one curve or pair, averaged with equal weights."""

    fits: tuple[ProcessFit, ...]

    @property
    def degrees_of_freedom(self) -> Values:
        """As of ProcessFit."""
        return np.mean([f.degrees_of_freedom for f in self.fits], axis=0)

    @property
    def wave(self) -> float:
        """As of ProcessFit."""
        return float(np.exp(np.mean([np.log(f.wave) for f in self.fits])))

    def evaluate(self, x: Values, *, sign: int, derivative: int = 0) -> Values:
        """As of ProcessFit."""
        return np.mean([f.evaluate(x, sign=sign, derivative=derivative) for f in self.fits], axis=0)

    def measure_error(self, x: Values, *, sign: int) -> Values:
        """As of ProcessFit, the differences between the fits included."""
        values = np.array([f.evaluate(x, sign=sign) for f in self.fits])
        inner = np.mean([f.measure_error(x, sign=sign) ** 2 for f in self.fits], axis=0)
        return np.sqrt(inner + np.var(values, axis=0))
