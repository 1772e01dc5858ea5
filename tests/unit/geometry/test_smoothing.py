"""The penalised spline at its limits: polynomials, least squares, outliers, waves."""
import numpy as np
import pytest

from plankcore.geometry.smoothing import (
    Spline,
    evaluate_basis,
    fit_penalised_spline,
    fit_robustly,
    knots_at_sites,
    space_knots,
    wave_to_penalty,
)

RNG = np.random.default_rng(7)
X = np.sort(RNG.uniform(0, 1000, 80))
Y = 40 * np.sin(X / 200) + RNG.normal(0, 0.5, 80)
KNOTS = space_knots(0, 1000, spacing=60, degree=5)


def fit(penalty, y=Y, x=X, **more):
    return fit_penalised_spline(x, y, penalty=penalty, order=3, knots=KNOTS, degree=5, **more)


def test_basis_functions_sum_to_one_and_are_never_negative():
    x = np.linspace(0, 1000, 333)
    first, values = evaluate_basis(x, KNOTS, 5)
    assert values.sum(axis=1) == pytest.approx(np.ones(333)) and values.min() >= 0
    assert first.min() == 0 and first.max() == len(KNOTS) - 12


def test_spaced_knots_cover_the_range_evenly_and_no_wider_than_asked():
    assert KNOTS[5] == 0 and KNOTS[-6] == pytest.approx(1000)
    assert np.diff(KNOTS) == pytest.approx(np.full(len(KNOTS) - 1, 1000 / 17))


def test_derivatives_and_run_on_of_a_polynomial():
    """A spline holds x^3 exactly: 3x^2, 6x, 6; beyond its ends too."""
    spline = fit(0.0, y=X ** 3 / 1e6).spline
    at = np.array([-30.0, 10.0, 500.0, 990.0, 1040.0])
    for k, expected in enumerate((at ** 3, 3 * at ** 2, 6 * at, np.full(5, 6.0))):
        assert spline.evaluate(at, derivative=k) == pytest.approx(expected / 1e6, rel=1e-6, abs=1e-9)


def test_a_spline_cannot_be_written_into():
    spline = Spline(KNOTS, np.zeros(len(KNOTS) - 6), 5)
    with pytest.raises(ValueError):
        spline.coefficients[0] = 1


def test_without_penalty_it_is_least_squares():
    """Residuals are square to every basis function, and the freedom is the number of coefficients."""
    got = fit(0.0)
    first, values = evaluate_basis(X, KNOTS, 5)
    moments = np.zeros(len(KNOTS) - 6)
    np.add.at(moments, first[:, None] + np.arange(6), values * got.residuals[:, None])
    assert np.abs(moments).max() < 1e-6
    assert got.degrees_of_freedom == pytest.approx(len(KNOTS) - 6, abs=1e-4)


def test_with_endless_penalty_it_is_the_best_parabola():
    got = fit(1e19)
    assert got.spline.evaluate(X) == pytest.approx(np.polyval(np.polyfit(X, Y, 2), X), abs=1e-3)
    assert got.degrees_of_freedom == pytest.approx(3, abs=1e-3)


@pytest.mark.parametrize("penalty", [1.0, 1e6, 1e12, 1e16])
def test_a_parabola_costs_nothing_whatever_the_penalty(penalty):
    y = 5 + 0.1 * X - X ** 2 / 4000
    assert fit(penalty, y=y).spline.evaluate(X) == pytest.approx(y, abs=1e-6)


def test_freedom_falls_and_roughness_falls_as_the_penalty_grows():
    fits = [fit(10.0 ** p) for p in range(2, 18, 2)]
    at = np.linspace(0, 1000, 2001)
    rough = [np.sum(f.spline.evaluate(at, derivative=3) ** 2) for f in fits]
    rss = [np.sum(f.residuals ** 2) for f in fits]
    assert (np.diff([f.degrees_of_freedom for f in fits]) < 0).all()
    assert (np.diff(rough) < 0).all() and (np.diff(rss) > 0).all()


def test_a_heavier_point_pulls_the_curve_closer():
    off = []
    for weight in (1.0, 10.0, 100.0):
        weights = np.ones(80)
        weights[40] = weight
        off.append(abs(fit(1e9, weights=weights).residuals[40]))
    assert off[0] > off[1] > off[2]


def test_a_weight_of_nought_is_the_same_as_no_point():
    weights = np.ones(80)
    weights[20] = 0
    y = Y.copy()
    y[20] += 500
    some = np.arange(80) != 20
    a = fit(1e9, y=y, weights=weights).spline.evaluate(X)
    b = fit(1e9, y=Y[some], x=X[some]).spline.evaluate(X)
    assert a == pytest.approx(b, abs=1e-7)


def test_the_order_of_the_points_does_not_matter():
    shuffle = RNG.permutation(80)
    assert fit(1e9, x=X[shuffle],
               y=Y[shuffle]).spline.evaluate(X) == pytest.approx(fit(1e9).spline.evaluate(X), abs=1e-8)


def test_freedom_is_the_trace_of_the_smoother():
    """Worked the long way: how much each fitted value moves when its own point moves."""
    base = fit(1e9)
    trace = 0.0
    for k in range(80):
        y = Y.copy()
        y[k] += 1
        trace += (y - fit(1e9, y=y).residuals - (Y - base.residuals))[k]
    assert base.degrees_of_freedom == pytest.approx(trace, rel=1e-6)


@pytest.mark.parametrize("order", [2, 3, 4])
@pytest.mark.parametrize("unit", [1.0, 1 / 25.4])
def test_a_wave_of_the_length_named_keeps_half_its_height(order, unit):
    """Dense points with a weight of one per unit length; whole waves, judged in the middle, in mm and in inches."""
    wave = 600.0 * unit
    x = np.linspace(0, 20 * wave, 4001)
    y = np.sin(2 * np.pi * x / wave)
    got = fit_penalised_spline(x, y, penalty=wave_to_penalty(wave, order=order), order=order, degree=2 * order - 1,
                               knots=space_knots(0, 20 * wave, spacing=wave / 12, degree=2 * order - 1),
                               weights=np.full(4001, x[1] - x[0]))
    middle = np.abs(x - 10 * wave) < 2 * wave
    assert got.spline.evaluate(x[middle]) == pytest.approx(0.5 * y[middle], abs=0.002)


@pytest.mark.parametrize("factor, kept",
                         [(0.5, 1 / (1 + 2 ** 8)), (2.0, 1 / (1 + 2 ** -8)), (0.8, 1 / (1 + 1.25 ** 8))])
def test_shorter_waves_are_lost_and_longer_ones_kept(factor, kept):
    """Order 4: a wave of length s L keeps 1 / (1 + s^-8) (the transfer of the penalised fit: common analysis, derived
    in the module's head).
    """
    wave = 300.0
    x = np.linspace(0, 6000, 6001)
    y = np.sin(2 * np.pi * x / (factor * wave))
    got = fit_penalised_spline(x, y, penalty=wave_to_penalty(wave, order=4), order=4, degree=5,
                               knots=space_knots(0, 6000, spacing=12, degree=5), weights=np.ones(6001))
    middle = np.abs(x - 3000) < 1200
    assert got.spline.evaluate(x[middle]) == pytest.approx(kept * y[middle], abs=0.003)


@pytest.mark.parametrize("height", [4.0, 40.0, -400.0])
def test_a_short_run_off_the_curve_has_no_say(height):
    x = np.linspace(0, 2000, 2001)
    y = 80 * np.sin(x / 900) + 0.1 * np.sin(x / 11)

    def fair(y):
        return fit_robustly(x, y, penalty=wave_to_penalty(400, order=4), order=4, degree=5,
                            knots=space_knots(0, 2000, spacing=60, degree=5),
                            weights=np.ones(2001), cut=1.5)
    clean = fair(y)
    y[900:912] += height
    got = fair(y)
    assert got.spline.evaluate(x) == pytest.approx(clean.spline.evaluate(x), abs=0.005)
    assert not got.weights[900:912].any() and got.weights[:890].min() > 0.8


def test_a_long_run_off_the_curve_does_have_a_say():
    """A third of the edge moved by 1 mm, less than the cut, is the edge."""
    x = np.linspace(0, 2000, 2001)
    y = np.where(x > 1400, 1.0, 0.0)
    got = fit_robustly(x, y, penalty=wave_to_penalty(200, order=4), order=4, degree=5,
                       knots=space_knots(0, 2000, spacing=30, degree=5), weights=np.ones(2001), cut=1.5)
    assert got.spline.evaluate([200.0, 1900.0]) == pytest.approx([0, 1], abs=0.1)


def test_fit_through_the_sites_themselves():
    """Knots at the sites and degree 2m - 1, next to no penalty: the curve goes through the points."""
    x = np.array([0.0, 1, 2.5, 4, 7])
    y = np.array([0.0, 1, -1, 2, 0])
    got = fit_penalised_spline(x, y, penalty=1e-9, order=2, knots=knots_at_sites(x, degree=3), degree=3)
    assert got.spline.evaluate(x) == pytest.approx(y, abs=1e-6)
    assert got.spline.evaluate([0.0, 7.0], derivative=2) == pytest.approx([0, 0], abs=1e-4)     # natural ends
