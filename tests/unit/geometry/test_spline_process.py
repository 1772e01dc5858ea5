"""The curve as a random function: refusals, limits, and each claim of its report worked out the long way."""
import numpy as np
import pytest

from plankcore.geometry.spline_ladder import add_shape, build_ladder
from plankcore.geometry.spline_process import fit_process

X = np.linspace(0, 3000, 14)
RNG = np.random.default_rng(3)
TRUTH = 120 * np.sin(X / 1500)
Y = TRUTH + RNG.normal(0, 0.4, 14)
ONE, ERRORS = np.ones(14), np.full(14, 0.4)


def fit(y=Y, x=X, errors=ERRORS, signs=ONE, wave=600.0, **more):
    return fit_process(x, y, errors, signs, shortest_wave=wave, **more)


def pair(upper, lower, x=X, error=0.4, **more):
    n = len(x)
    return fit_process(np.r_[x, x], np.r_[upper, lower], np.full(2 * n, error), np.r_[np.ones(n), -np.ones(n)],
                       shortest_wave=600.0, **more)


@pytest.mark.parametrize("places", [X[:4], np.repeat(X[:3], 3)])
def test_too_few_places_are_refused(places):
    with pytest.raises(ValueError, match="5 places"):
        fit_process(places, 0 * places, np.ones(len(places)), np.ones(len(places)), shortest_wave=600.0)


def test_too_few_places_on_one_of_two_curves_are_refused():
    signs = np.where(np.arange(14) < 10, 1.0, -1.0)
    with pytest.raises(ValueError):
        fit(signs=signs)


@pytest.mark.parametrize("degree", [0, 1, 2, 3])
def test_polynomials_below_the_order_come_back_exactly(degree):
    y = 30 * (X / 1000 - 1) ** degree
    got = fit(y=y)
    assert got.means == pytest.approx(y, abs=1e-8)
    at = np.linspace(-100, 3100, 9)
    assert got.evaluate(at, sign=1) == pytest.approx(30 * (at / 1000 - 1) ** degree, abs=1e-8)


def test_means_are_the_curve_at_the_points():
    assert fit().evaluate(X, sign=1) == pytest.approx(fit().means, abs=1e-9)
    both = pair(Y - 50, Y + 50)
    assert both.evaluate(X, sign=1) == pytest.approx(both.means[:14], abs=1e-9)
    assert both.evaluate(X, sign=-1) == pytest.approx(both.means[14:], abs=1e-9)


@pytest.mark.parametrize("derivative", [1, 2, 3])
@pytest.mark.parametrize("sign", [1, -1])
def test_derivatives_agree_with_differences(derivative, sign):
    got = pair(Y - 50, Y + 50 + X / 100)
    at, step = np.linspace(50, 2950, 11), 0.5
    rise = (got.evaluate(at + step, sign=sign, derivative=derivative - 1)
            - got.evaluate(at - step, sign=sign, derivative=derivative - 1)) / (2 * step)
    assert got.evaluate(at, sign=sign, derivative=derivative) == pytest.approx(rise, rel=1e-4, abs=1e-9)


def test_others_are_what_a_fit_without_the_point_says():
    """One rung of the ladder only, so that the same smoothness is meant with the point and without it."""
    got = fit(wave=20000.0)
    keep = np.arange(14) != 6
    single = fit_process(X[keep], Y[keep], ERRORS[keep], ONE[keep], shortest_wave=20000.0)
    assert got.others[6] == pytest.approx(Y[6] - single.evaluate(X[6:7], sign=1)[0], abs=0.01)
    full_error = np.hypot(single.measure_error(X[6:7], sign=1)[0], 0.4)
    assert got.other_errors[6] == pytest.approx(full_error, rel=0.02)


def test_a_wild_point_does_not_hide_in_its_own_fit():
    y = Y.copy()
    y[5] += 4
    got = fit(y=y)
    score = np.abs(got.others / got.other_errors)
    assert score.argmax() == 5 and score[5] > 3.5


def test_freedom_is_each_points_say_in_its_own_mean():
    """At fixed smoothness: move a point by 1 and see its mean move. The ladder's weights move too, a little."""
    got = fit(wave=6000.0)
    assert 0 < got.degrees_of_freedom.min() and got.degrees_of_freedom.max() < 1
    for k in (0, 7):
        y = Y.copy()
        y[k] += 1e-4
        assert (fit(y=y, wave=6000.0).means - got.means)[k] / 1e-4 == pytest.approx(got.degrees_of_freedom[k], abs=0.06)


def test_a_surer_point_draws_the_curve_and_narrows_the_band():
    errors = ERRORS.copy()
    errors[7] = 0.02
    sure, plain = fit(errors=errors), fit()
    assert abs(Y[7] - sure.means[7]) < abs(Y[7] - plain.means[7])
    assert sure.measure_error(X[7:8], sign=1)[0] < 0.5 * plain.measure_error(X[7:8], sign=1)[0]


def test_errors_far_beyond_the_honest_one_are_smoothed_less_when_the_points_are_called_sure():
    """Points called sure are followed; the same points called rough are faired."""
    freedom = [fit(errors=np.full(14, e)).degrees_of_freedom.sum() for e in (0.05, 0.4, 3.0)]
    assert freedom[0] > freedom[1] > freedom[2]


def test_the_band_holds_the_truth():
    """Of 300 invented edges, at 15 places each: root mean square of (curve - truth) / band lies near 1."""
    at = np.linspace(0, 3000, 15)
    ratio = []
    for seed in range(300):
        rng = np.random.default_rng(seed)
        a, b = rng.uniform(1200, 2500), rng.uniform(0, 6)
        got = fit(y=120 * np.sin(X / a + b) + rng.normal(0, 0.4, 14))
        ratio.append((got.evaluate(at, sign=1) - 120 * np.sin(at / a + b)) / got.measure_error(at, sign=1))
    assert 0.75 < np.sqrt(np.mean(np.square(ratio))) < 1.15


def test_two_curves_that_run_together_help_each_other():
    """Same sweep, straight taper: over 60 seeds the pair lies nearer the truth than each alone."""
    at = np.linspace(0, 3000, 61)
    single, double = [], []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        upper, lower = TRUTH - 50 + rng.normal(0, 0.4, 14), TRUTH + 50 - X / 100 + rng.normal(0, 0.4, 14)
        truth = 120 * np.sin(at / 1500) - 50
        single.append(fit(y=upper).evaluate(at, sign=1) - truth)
        double.append(pair(upper, lower).evaluate(at, sign=1) - truth)
    assert np.sqrt(np.mean(np.square(double))) < 0.93 * np.sqrt(np.mean(np.square(single)))


def test_two_curves_of_different_shape_do_not_spoil_each_other():
    """One bends hard, the other is straight: the straight one stays straight within its errors."""
    got = pair(120 * np.sin(X / 500) - 200, 0.01 * X)
    assert np.abs(got.evaluate(X, sign=-1) - 0.01 * X).max() < 0.5
    assert np.abs(got.evaluate(X, sign=1) - (120 * np.sin(X / 500) - 200)).max() < 0.5


@pytest.mark.parametrize("times", [1.0, 0.8])
def test_the_shortest_wave_keeps_half_its_height(times):
    """Points far surer than a wave is high speak for the least smoothness allowed: then the curve is the smoothing
    spline of that one penalty, which leaves 1 / (1 + (shortest / wave)^(2 m)) of a wave amid evenly spread points
    (G. Wahba, Spline Models for Observational Data, 1990; from memory, not checked)."""
    x, shortest = np.arange(0.0, 1500.1, 20.0), 160.0
    sine = np.sin(2 * np.pi * x / (times * shortest))
    got = fit_process(x, 50 * sine, np.full(len(x), 0.5), np.ones(len(x)), shortest_wave=shortest, order=4)
    amid = (x > 450) & (x < 1050)
    kept = got.means[amid] @ sine[amid] / (50 * sine[amid] @ sine[amid])
    assert kept == pytest.approx(1 / (1 + (1 / times) ** 8), abs=0.01)


def test_swapping_or_shifting_the_points_changes_nothing():
    order = RNG.permutation(14)
    a, b = fit(), fit(y=Y[order], x=X[order])
    assert b.means == pytest.approx(a.means[order], abs=1e-8)
    assert fit(x=X + 1e5, y=Y - 777).means == pytest.approx(a.means - 777, abs=1e-7)
    assert fit(x=3000 - X[::-1], y=Y[::-1]).means == pytest.approx(a.means[::-1], abs=1e-8)


def test_inches_give_the_same_curve():
    a, b = fit(), fit_process(X / 25.4, Y / 25.4, ERRORS / 25.4, ONE, shortest_wave=600 / 25.4)
    assert b.means * 25.4 == pytest.approx(a.means, abs=1e-8)
    assert b.wave * 25.4 == pytest.approx(a.wave, rel=1e-9)


def test_a_shape_that_a_curve_may_have_changes_its_density_as_one_rank_more_of_covariance():
    """By a sum over the shape's amount, on a fine grid: density of the points less that much of it, averaged."""
    rng = np.random.default_rng(5)
    x, signs = np.r_[np.linspace(0, 2000, 9), np.linspace(0, 2000, 8)], np.repeat([1.0, -1.0], [9, 8])
    y, errors = np.sin(x / 700) + 0.3 * rng.standard_normal(17), np.full(17, 0.3)
    shape, size = np.exp(-((x - 900) / 300) ** 2) * (signs > 0), 2.0

    def weigh(values):
        return build_ladder(x, values, errors, signs, shortest_wave=600.0, order=3).views[1].weigh()
    amounts = np.linspace(-12, 12, 241)
    prior = np.exp(-0.5 * (amounts / size) ** 2) / (size * np.sqrt(2 * np.pi)) * (amounts[1] - amounts[0])
    direct = np.log(sum(p * np.exp(weigh(y - a * shape)) for a, p in zip(amounts, prior)))
    ladder = add_shape(build_ladder(x, y, errors, signs, shortest_wave=600.0, order=3), shape, sign=1, size=size)
    assert ladder.views[1].weigh() == pytest.approx(direct, abs=1e-6)
    view = ladder.views[1]
    assert view.pull[0] == pytest.approx(view.half[0].T @ (view.half[0] @ ladder.values), abs=1e-9)
