"""The same curves by other people's code: scipy.interpolate.make_smoothing_spline, csaps, and a kriging written here
from the textbook.
"""
from math import factorial

import numpy as np
import pytest
from scipy.interpolate import make_smoothing_spline

from plankcore.geometry import spline_process
from plankcore.geometry.smoothing import fit_penalised_spline, knots_at_sites, space_knots, wave_to_penalty
from plankcore.geometry.spline_process import fit_process

csaps = pytest.importorskip("csaps")


def draw_data(seed, count=60):
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0, 4000, count))
    return x, 90 * np.sin(x / 900 + seed) + rng.normal(0, 0.5, count), rng.uniform(0.3, 3.0, count)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("wave", [80.0, 600.0, 2500.0])
def test_cubic_smoothing_spline_against_scipy_and_csaps(seed, wave):
    x, y, w = draw_data(seed)
    lam = wave_to_penalty(wave, order=2) / np.mean(np.diff(x))
    ours = fit_penalised_spline(x, y, penalty=lam, order=2, knots=knots_at_sites(x, degree=3), degree=3,
                                weights=w).spline
    at = np.linspace(x[0], x[-1], 777)
    assert ours.evaluate(at) == pytest.approx(make_smoothing_spline(x, y, w=w, lam=lam)(at), abs=1e-6)
    # csaps weighs closeness by p and smoothness by 1 - p; 1 / (1 + lam) keeps too few digits where lam is large, so it
    # is asked in units of 1000 mm
    small = lam / 1000 ** 3
    assert ours.evaluate(at) == pytest.approx(csaps.csaps(x / 1000, y, at / 1000, weights=w, smooth=1 / (1 + small)),
                                              abs=1e-6)


@pytest.mark.parametrize("wave", [300.0, 900.0])
def test_few_even_knots_stand_in_for_a_knot_at_every_point(wave):
    """2,000 dense points: knots a sixth of the wave apart change the curve by less than a hundredth of a mm."""
    x = np.linspace(0, 5000, 2001)
    rng = np.random.default_rng(9)
    y = 120 * np.sin(x / 1500) + sum(0.1 * np.sin(2 * np.pi * x / length + p)
                                     for length, p in zip((60, 90, 150, 250), rng.uniform(0, 6, 4)))
    lam = wave_to_penalty(wave, order=2)
    ours = fit_penalised_spline(x, y, penalty=lam, order=2, knots=space_knots(0, 5000, spacing=wave / 6, degree=3),
                                degree=3, weights=np.full(2001, x[1])).spline
    theirs = make_smoothing_spline(x, y, lam=lam / x[1])
    assert ours.evaluate(x) == pytest.approx(theirs(x), abs=0.01)


@pytest.mark.parametrize("wave", [400.0, 600.0])
def test_half_of_the_wave_is_kept_by_scipys_spline_too(wave):
    """lam = (L / 2 pi)^4 / h for weights of one at a spacing of h."""
    x = np.arange(0, 12 * wave, 5.0)
    y = np.sin(2 * np.pi * x / wave)
    middle = np.abs(x - 6 * wave) < 2 * wave
    theirs = make_smoothing_spline(x, y, lam=wave_to_penalty(wave, order=2) / 5)(x)
    ours = fit_penalised_spline(x, y, penalty=wave_to_penalty(wave, order=2), order=2,
                                knots=space_knots(0, x[-1], spacing=wave / 12, degree=3), degree=3,
                                weights=np.full(len(x), 5.0))
    assert theirs[middle] == pytest.approx(0.5 * y[middle], abs=1e-3)
    assert ours.spline.evaluate(x[middle]) == pytest.approx(theirs[middle], abs=2e-3)


# -- the process ------------------------------------------------------------------------------------------------

def cover(s, t, order):
    """Covariance of the (order - 1)-fold integral of Brownian motion: integral of ((s - u)(t - u))^(m - 1) / (m - 1)!^2
    up to the smaller (G. Wahba, Spline Models, 1990, 1.2).
    """
    nodes, weights = np.polynomial.legendre.leggauss(order)
    least = np.minimum(s, t)
    u = least[..., None] * (nodes + 1) / 2
    return np.sum(((s[..., None] - u) * (t[..., None] - u)) ** (order - 1) * weights,
                  axis=-1) * least / 2 / factorial(order - 1) ** 2


def krige(at, x, y, noise, rough, signs, sign, order):
    """Mean, variance and restricted log likelihood of one curve or two by universal kriging with another covariance
    than the module's own. rough : (2, 2), variances and covariance of the order-th derivatives of the first curve and
    the second.
    """
    pair = len(set(signs)) > 1

    def basis(t, s):
        powers = np.stack([t ** k for k in range(order)], axis=1)
        return powers if not pair else np.hstack([powers, s[:, None] * powers])
    rough = np.asarray(rough)
    which, other = (signs < 0).astype(int), int(sign < 0)
    ones = np.full(len(at), float(sign))
    inner = cover(x[:, None], x[None], order) * rough[which[:, None], which[None]]
    v = inner + np.diag(noise ** 2)
    k = cover(at[:, None], x[None], order) * rough[other, which][None]
    f, f_at = basis(x, signs), basis(at, ones)
    solve = np.linalg.solve
    b = f.T @ solve(v, f)
    beta = solve(b, f.T @ solve(v, y))
    mean = f_at @ beta + k @ solve(v, y - f @ beta)
    rest = f_at - k @ solve(v, f)
    variance = cover(at, at, order) * rough[other, other] - np.sum(k * solve(v, k.T).T, axis=1) + np.sum(
        rest * solve(b, rest.T).T, axis=1)
    off = y - f @ beta
    like = -0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(b)[1] + off @ solve(v, off))
    return mean, variance, like


def list_rungs(got, pair):
    """Every rung of the ladder as (2, 2): for a pair all those together, then each curve's own with each of the
    other's.
    """
    first = got.parts[1]
    if not pair:
        return [[[p.same, 0.0], [0.0, 0.0]] for p in first]
    count = round((np.sqrt(1 + 4 * len(first)) - 1) / 2)
    own = [p.same for p in first[-count:]]
    assert len(first) == count * count + count and len({(p.same, p.cross) for p in first[:-count]}) == count * count
    return ([[[p.same, p.cross], [p.cross, p.same]] for p in first[:-count]]
            + [[[a, 0.0], [0.0, b]] for a in own for b in own])


@pytest.mark.parametrize("order", [2, 3, 4])
@pytest.mark.parametrize("pair", [False, True])
def test_the_process_is_the_average_of_krigings_weighted_by_their_likelihood(order, pair, monkeypatch):
    """All rungs are kept, the light ones as well: those of two curves together and those of each by itself weigh the
    same beforehand."""
    monkeypatch.setattr(spline_process, "_LIGHT", -1.0)
    rng = np.random.default_rng(order)
    x = np.sort(rng.uniform(0, 3000, 13))
    signs = np.ones(13)
    y = 80 * np.sin(x / 1100) + rng.normal(0, 0.5, 13)
    if pair:
        x, signs = np.r_[x, x], np.r_[signs, -signs]
        y = np.r_[y - 50, y + 45 + x[:13] / 300 + rng.normal(0, 0.5, 13)]
    noise = rng.uniform(0.3, 0.7, len(x))
    got = fit_process(x, y, noise, signs, shortest_wave=700.0, order=order)
    at = np.linspace(x.min(), x.max(), 9)
    unit, unit_at = (x - x.min()) / got.scale, (at - x.min()) / got.scale
    for sign in (1, -1) if pair else (1,):
        rows = [krige(unit_at, unit, y=y, noise=noise, rough=rough, signs=signs, sign=sign, order=order)
                for rough in list_rungs(got, pair)]
        share = np.exp(np.array([r[2] for r in rows]) - max(r[2] for r in rows))
        share /= share.sum()
        if pair:
            count = round((len(rows) / 2) ** 0.5)
            apart = share[count * count:].reshape(count, count)
            assert [p.share for p in got.parts[sign]] == pytest.approx(
                np.r_[share[:count * count], apart.sum(axis=1 if sign > 0 else 0)], abs=1e-5)
            assert got.apart == pytest.approx(apart.sum(), abs=1e-5)
        else:
            assert [p.share for p in got.parts[sign]] == pytest.approx(share, abs=1e-5)
        mean = sum(s * r[0] for s, r in zip(share, rows))
        square = sum(s * (r[1] + r[0] ** 2) for s, r in zip(share, rows))
        assert got.evaluate(at, sign=sign) == pytest.approx(mean, abs=1e-4)
        assert got.measure_error(at, sign=sign) == pytest.approx(np.sqrt(square - mean ** 2), rel=1e-3, abs=1e-4)


@pytest.mark.parametrize("order", [2, 3, 4])
def test_each_rung_of_the_process_is_the_penalised_spline_of_its_wave(order):
    """Rungs are waves 1.3 apart; the curve is the average of the penalised fits with lam = (wave / 2 pi)^2m / (error^2
    spacing).
    """
    rng = np.random.default_rng(order)
    x = np.linspace(0, 3000, 15)
    y = 80 * np.sin(x / 800) + rng.normal(0, 0.4, 15)
    got = fit_process(x, y, np.full(15, 0.4), np.ones(15), shortest_wave=900.0, order=order)
    knots = knots_at_sites(x, degree=2 * order - 1)
    at, total = np.linspace(0, 3000, 31), 0.0
    for part in got.parts[1]:
        lam = got.scale ** (2 * order - 1) / part.same
        rung = np.log(2 * np.pi * (lam * 0.16 * 3000 / 14) ** (1 / (2 * order)) / 900.0) / np.log(1.3)
        assert rung == pytest.approx(round(rung), abs=1e-6)
        total = total + part.share * fit_penalised_spline(x, y, penalty=lam, order=order, knots=knots, degree=2 * order
                                                     - 1, weights=np.full(15, 1 / 0.16)).spline.evaluate(at)
    assert got.evaluate(at, sign=1) == pytest.approx(total, abs=1e-4)


@pytest.mark.parametrize("pair", [False, True])
def test_each_point_seen_from_the_others_is_the_kriging_without_it(pair, monkeypatch):
    """Distance, its standard error and the surprise of each point, with the smoothness judged without it too. All rungs
    are kept, the light ones as well.
    """
    monkeypatch.setattr(spline_process, "_LIGHT", -1.0)
    order, count = 3, 9
    rng = np.random.default_rng(4)
    x = np.sort(rng.uniform(0, 3000, count))
    signs = np.ones(count)
    y = 80 * np.sin(x / 700) + rng.normal(0, 0.5, count)
    y[3] += 3
    if pair:
        x, signs, y = np.r_[x, x], np.r_[signs, -signs], np.r_[y - 50, y + 45 + x / 300 + rng.normal(0, 0.5, count)]
    noise = np.full(len(x), 0.5)
    got = fit_process(x, y, noise, signs, shortest_wave=500.0, order=order)
    unit, densities = (x - x.min()) / got.scale, []
    for k in range(len(x)):
        rest = np.arange(len(x)) != k
        rows = [krige(unit[k:k + 1], unit[rest], y=y[rest], noise=noise[rest], rough=rough, signs=signs[rest],
                      sign=signs[k], order=order)
                for rough in list_rungs(got, pair)]
        share = np.exp(np.array([r[2] for r in rows]) - max(r[2] for r in rows))
        share /= share.sum()
        mean = sum(s * r[0][0] for s, r in zip(share, rows))
        variance = sum(s * (r[1][0] + 0.25 + (r[0][0] - mean) ** 2) for s, r in zip(share, rows))
        assert got.others[k] == pytest.approx(y[k] - mean, abs=1e-3)
        assert got.other_errors[k] == pytest.approx(np.sqrt(variance), rel=1e-3)
        density = sum(s * np.exp(-0.5 * (y[k] - r[0][0]) ** 2 / (r[1][0] + 0.25))
                      / np.sqrt(2 * np.pi * (r[1][0] + 0.25)) for s, r in zip(share, rows))
        densities.append(density)
        assert got.surprise[k] - got.surprise[0] == pytest.approx(-np.log(density / densities[0]), abs=2e-3)
