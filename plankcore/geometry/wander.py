"""How a hand-held pen wanders about the line that it follows, and splines fitted to a line drawn in that way.

Neighbouring points of a traced line are off by nearly the same amount, so that a thousand of them tell no more than a
few independent ones. The wander is modelled as a stationary Gaussian process plus white noise (the stairs of the
pixels). Its parameters are a standard deviation, a correlation length and its kind (rough, fair, smooth: exponential,
Matern of order 3/2 and Gaussian correlation). They are estimated from the residuals of a smoothing spline, by Whittle's
likelihood (P. Whittle, J. R. Stat. Soc. B 15 (1953) 125, from memory) on cosine transforms, over the wave lengths that
the spline does not follow. Given the wander a curve is the best linear estimate (generalised least squares, with the
spline's penalty as its prior), averaged over smoothness by restricted likelihood; its standard error is the posterior's
(G. Wahba, J. R. Stat. Soc. B 45 (1983) 133, from memory).
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from math import comb
from typing import TYPE_CHECKING

import numpy as np

from .smoothing import Spline, evaluate_basis, measure_roughness

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Matrix, Values

__all__ = [
    "LEAST_WANDER_MM",
    "Wander",
    "WanderFit",
    "find_wander",
    "fit_end_through_wander",
    "fit_through_wander",
    "thin_run",
]

LEAST_WANDER_MM = 0.01     # a smaller wander is taken to be none: it has no effect on anything drawn or cut

KINDS = ("rough", "fair", "smooth")
_RATIO = 2.1461932206      # (1 + z) exp(-z) = 1 / e
_MOST_POINTS = 300         # most points kept of a run: the full covariance matrix of them is computed
_LENGTHS_MM = 6.0 * 1.3 ** np.arange(14)
_WHITES = 10.0 ** np.arange(-3.0, 1.1, 0.5)
# longest correlation length tried, in shortest waves: a longer wander cannot be told from the line itself
_LONGEST = 0.25
_SURE = 1.25               # waves shorter than the spline's by this factor stay almost whole in its residuals
_STEP = 1.3                # ratio of neighbouring waves of the ladder
_REACH = 3.0               # longest wave of the ladder, in lengths of the line
_FEWEST = 12               # fewest terms of the transform that a wander is estimated from


@dataclass(frozen=True)
class Wander:
    """sd_mm : standard deviation. length_mm : distance at which the correlation is 1/e. kind : one of KINDS. white_mm :
    standard deviation of the white noise, for points `step_mm` apart."""

    sd_mm: float
    length_mm: float
    kind: str = "fair"
    white_mm: float = 0.0
    step_mm: float = 1.0

    def correlate(self, apart_mm: Values) -> Values:
        """Correlation of places at these distances."""
        return _correlate(self.kind, np.abs(apart_mm) / self.length_mm)

    def measure_strength(self, wave_mm: float) -> float:
        """Spectral density at waves of a length: variance times the length of each independent stretch, mm3."""
        turn = 2 * np.pi * self.length_mm / wave_mm
        density = {"rough": 2 / (1 + turn ** 2), "fair": 4 / _RATIO / (1 + (turn / _RATIO) ** 2) ** 2,
                   "smooth": np.sqrt(np.pi) * np.exp(-turn ** 2 / 4)}[self.kind]
        return float(self.sd_mm ** 2 * self.length_mm * density + self.white_mm ** 2 * self.step_mm)

    @property
    def stairs_mm(self) -> float:
        """Standard deviation of the white noise, converted to points 1 mm apart."""
        return self.white_mm * float(np.sqrt(self.step_mm))

    def raise_to(self, sd_mm: float) -> Wander:
        """The same wander scaled up, white noise included, to at least this standard deviation."""
        times = max(sd_mm / max(self.sd_mm, 1e-12), 1.0)
        return replace(self, sd_mm=self.sd_mm * times, white_mm=self.white_mm * times)

    def covary(self, x: Values, step_mm: float, says: Values) -> Matrix:
        """Covariance (n, n) of points of a run step_mm apart; a point with weight w has the variance of a full one
        divided by w."""
        whole = self.sd_mm ** 2 * self.correlate(x[:, None] - x[None])
        alone = self.white_mm ** 2 * self.step_mm / step_mm + 1e-5 * self.sd_mm ** 2
        whole[np.arange(len(x)), np.arange(len(x))] += alone + self.sd_mm ** 2 * (1 / says - 1)
        return whole


def _correlate(kind, z):
    if kind == "rough":
        return np.exp(-z)
    return (1 + _RATIO * z) * np.exp(-_RATIO * z) if kind == "fair" else np.exp(-z ** 2)


def thin_run(x: Values, *columns: Values) -> list[Values]:
    """Evenly spaced points, and columns of values at them, averaged in groups so that at most _MOST_POINTS are left."""
    group = -(-len(x) // _MOST_POINTS)
    count = len(x) // group
    return [np.asarray(c, float)[:count * group].reshape(count, group).mean(axis=1) for c in (x, *columns)]


def find_wander(runs: Sequence[Sequence[Values]], *, wave_mm: float, order: int) -> Wander | None:
    """The wander of one pen, estimated from the residuals of smoothing splines through the lines it drew.

    Parameters
    ----------
    runs : sequence of (x, residuals)
        Each evenly spaced; residual 0 where a point had no weight.
    wave_mm, order :
        Of the splines: a wave of that length keeps half its height.

    Returns
    -------
    Wander or None
        None where the lines are too short to tell.
    """
    gains, powers, tables, steps = [], [], [], []
    lengths = _LENGTHS_MM[_LENGTHS_MM <= max(_LONGEST * wave_mm, _LENGTHS_MM[0])]
    for x, residuals in runs:
        count, step = len(x), float(x[1] - x[0])
        terms = np.arange(1, count)
        frequency = terms / (2.0 * count * step)
        terms, frequency = terms[frequency >= _SURE / wave_mm], frequency[frequency >= _SURE / wave_mm]
        if not len(terms):
            continue
        # a table of all cosines that are needed: term k at place j + 1/2, and at lag j
        cosines, place = np.cos(np.pi / (2 * count) * np.arange(4 * count)), np.arange(count)
        powers.append(2.0 / count * (cosines[np.outer(terms, 2 * place + 1) % (4 * count)] @ residuals) ** 2)
        near = place[place * step <= 6 * lengths[-1]]
        lags = cosines[np.outer(near, 2 * terms) % (4 * count)]
        apart, weight = near * step, np.where(near == 0, 1.0, 2.0)
        tables.append(np.stack([_correlate(kind, apart / length) * weight
                                for kind in KINDS for length in lengths]) @ lags)
        gains.append((1 - 1 / (1 + (frequency * wave_mm) ** (2 * order))) ** 2)
        steps.append(np.full(len(terms), step))
    if not powers or sum(len(p) for p in powers) < _FEWEST:
        return None
    power, gain, every_step = (np.concatenate(v) for v in (powers, gains, steps))
    table = np.maximum(np.hstack(tables), 1e-7)            # (kinds * lengths, terms)
    first = float(every_step[0])
    model = (table[:, None, :] + _WHITES[None, :, None] * (first / every_step)) * gain
    variance = np.mean(power / model, axis=2)
    likelihood = -0.5 * len(power) * np.log(np.maximum(variance, 1e-30)) - 0.5 * np.sum(np.log(model), axis=2)
    best = int(np.argmax(likelihood))
    row, white = divmod(best, len(_WHITES))
    size = float(variance.ravel()[best])
    kind, length = divmod(row, len(lengths))
    return Wander(float(np.sqrt(size)), float(lengths[length]), KINDS[kind],
                  white_mm=float(np.sqrt(size * _WHITES[white])), step_mm=first)


@dataclass(frozen=True, eq=False, repr=False)
class WanderFit:
    """A curve through a wandering line: spline, covariance of its coefficients, degrees of freedom.

    straight : probability that the line is straight, where the fit compares both.
    """

    spline: Spline
    covariance: Matrix
    degrees_of_freedom: float
    straight: float = 0.0

    def measure_error(self, at: Values) -> Values:
        """Standard error of the curve at places (k,), mm."""
        first, values = evaluate_basis(np.asarray(at, float), self.spline.knots, self.spline.degree)
        index = first[:, None] + np.arange(values.shape[1])
        inner = np.einsum("ni,nij,nj->n", values, self.covariance[index[:, :, None], index[:, None, :]], values)
        return np.sqrt(np.maximum(inner, 0.0))


def fit_through_wander(x: Values, y: Values, says: Values, wander: Wander, *, wave_mm: float, order: int,
                       knots: Values, degree: int) -> WanderFit:
    """The curve through a line drawn with this wander, averaged over the waves from wave_mm up, weighted by likelihood.

    Parameters
    ----------
    x, y, says : ndarray, shape (n,)
        Evenly spaced places along, heights, and the weight of each (0 to 1).
    """
    heard = says > 0.05
    step = float(x[1] - x[0])
    whole, side, _, coarse = _weigh(x[heard], y[heard], says[heard], wander, step=step, knots=knots, degree=degree,
                                    order=order)
    roughness = measure_roughness(knots, degree, order) * (
        (wave_mm / (2 * np.pi)) ** (2 * order) / wander.measure_strength(wave_mm))
    base = whole + roughness
    scale = 1 / np.sqrt(np.diag(base))
    root = np.linalg.cholesky(base * np.outer(scale, scale))
    back = np.linalg.inv(root) * scale[None]               # back @ base @ back.T = 1
    share, ways = np.linalg.eigh(back @ roughness @ back.T)
    share = np.clip(share, 0.0, 1.0)
    share[:order] = 0.0
    side = ways.T @ (back @ side)
    count = max(int(np.ceil(np.log(max(_REACH * np.ptp(x) / wave_mm, 1.0)) / np.log(_STEP))), 0) + 1
    times = (_STEP ** np.arange(count)) ** (2.0 * order)
    sums = 1 - share + times[:, None] * share               # (rungs, coefficients)
    # restricted log likelihood of each rung, without terms that all have in common
    logs = 0.5 * np.sum(side ** 2 / sums - np.log(sums), axis=1) + 0.5 * (len(share) - order) * np.log(times)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    each = side / sums
    mean = weights @ each
    carry = ways.T @ back                                   # coefficients = carry.T @ (mean)
    inner = np.diag(weights @ (1 / sums)) + (each - mean).T @ ((each - mean) * weights[:, None])
    return WanderFit(Spline(knots, carry.T @ mean + coarse, degree), carry.T @ inner @ carry,
                     float(weights @ np.sum((1 - share) / sums, axis=1)))


def _weigh(x, y, says, wander, *, step, knots, degree, order):
    """(normal matrix, right side, number of coefficients, coefficients of the polynomial) of generalised least squares
    for the heights, minus the polynomial that has no roughness."""
    count = len(knots) - degree - 1
    first, values = evaluate_basis(x, knots, degree)
    basis = np.zeros((len(x), count))
    basis[np.arange(len(x))[:, None], first[:, None] + np.arange(degree + 1)] = values
    plain = _place_polynomial(x, y, knots, degree=degree, order=order)
    heavy = np.linalg.solve(wander.covary(x, step, says), np.column_stack([basis, y - basis @ plain]))
    both = basis.T @ heavy
    return (both[:, :-1] + both[:, :-1].T) / 2, both[:, -1], count, plain


def _place_polynomial(x, y, knots, *, degree, order):
    """Coefficients, on these knots, of the least-squares polynomial of degree order - 1, by its blossoms."""
    middle, half = float(np.mean(x)), float(np.ptp(x)) / 2
    line = np.polyfit((x - middle) / half, y, order - 1)[::-1]
    return _list_blossoms((knots - middle) / half, degree=degree, order=order) @ line


def _list_blossoms(knots, *, degree, order):
    """Coefficients on these knots, in columns, of the powers 0 to order - 1."""
    count = len(knots) - degree - 1
    sums = np.zeros((count, order))
    sums[:, 0] = 1.0
    for k in range(1, degree + 1):
        sums[:, 1:] = sums[:, 1:] + knots[k:k + count, None] * sums[:, :-1]
    return sums / np.array([comb(degree, k) for k in range(order)])


_BOWS_MM = (1.0, 6.0)       # prior standard deviations of the bow of an end that is not straight
_END_WAVES = (1.0, 4.0, 16.0)     # and of its roughness, in shortest waves
_STRAIGHT = 0.5                 # prior probability that an end is straight


def fit_end_through_wander(x: Values, y: Values, says: Values, wander: Wander, *, wave_mm: float, knots: Values,
                           degree: int) -> tuple[WanderFit, WanderFit]:
    """Fits of an end: the average over straight and bowed, weighted by likelihood; and the straight line alone.

    Parameters
    ----------
    As in fit_through_wander; the penalty is on the third derivative, and on the bow.
    """
    order, heard = 3, says > 0.05
    whole, side, count, coarse = _weigh(x[heard], y[heard], says[heard], wander, step=float(x[1] - x[0]), knots=knots,
                                        degree=degree, order=2)
    first, values = evaluate_basis(np.array([x[0], (x[0] + x[-1]) / 2, x[-1]]), knots, degree)
    bow = np.zeros(count)
    for row, part, value in zip(first, (-0.5, 1.0, -0.5), values):
        bow[row:row + degree + 1] += part * value
    roughness = measure_roughness(knots, degree, order) * (
        (wave_mm / (2 * np.pi)) ** (2 * order) / wander.measure_strength(wave_mm))
    bent = [(times ** (2 * order), size) for times in _END_WAVES for size in _BOWS_MM]
    rungs = [(1e6, 1e-4, _STRAIGHT), *((times, size, (1 - _STRAIGHT) / len(bent)) for times, size in bent)]
    # in axes of which the first two span straight lines, which no prior restrains, and the third with them parabolas,
    # which have no roughness: in the coefficients themselves the stiffest rungs would lose half the digits
    plain = _list_blossoms((knots - np.mean(knots)) / np.ptp(knots), degree=degree, order=order)
    axes = np.linalg.qr(plain, mode="complete")[0]
    whole, side, bow, roughness = axes.T @ whole @ axes, axes.T @ side, axes.T @ bow, axes.T @ roughness @ axes
    bow[:2], roughness[:order], roughness[:, :order] = 0.0, 0.0, 0.0
    means, covers, logs, freedoms = [], [], [], []
    for times, size, beforehand in rungs:
        prior = times * roughness + np.outer(bow, bow) / size ** 2
        scale = 1 / np.sqrt(np.diag(whole + prior))
        cover = np.linalg.inv((whole + prior) * np.outer(scale, scale)) * np.outer(scale, scale)
        mean = cover @ side
        # log likelihood without terms that all rungs have in common; of the prior's determinant only the factors that
        # differ
        logs.append(0.5 * (count - order) * np.log(times) - np.log(size) + np.sum(np.log(scale))
                    - 0.5 * np.linalg.slogdet((whole + prior) * np.outer(scale, scale))[1]
                    + 0.5 * float(side @ mean) + np.log(beforehand))
        means.append(mean)
        covers.append(cover)
        freedoms.append(float(np.sum(cover * whole)))
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    mean = weights @ np.array(means)
    cover = sum(w * (c + np.outer(m - mean, m - mean)) for w, c, m in zip(weights, covers, means))
    line = WanderFit(Spline(knots, axes @ means[0] + coarse, degree), axes @ covers[0] @ axes.T, 2.0)
    return WanderFit(Spline(knots, axes @ mean + coarse, degree), axes @ cover @ axes.T, float(weights @ freedoms),
                     float(weights[0])), line
