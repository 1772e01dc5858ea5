"""A pen's wander found, and curves fitted through it."""
import numpy as np
import pytest

from plankcore.geometry.smoothing import space_knots
from plankcore.geometry.wander import KINDS, Wander, find_wander, fit_end_through_wander, fit_through_wander, thin_run


def draw(pen, x, seed):
    """One line that errs as the pen does."""
    return np.linalg.cholesky(pen.covary(x, x[1] - x[0], np.ones(len(x)))) @ np.random.default_rng(seed).normal(
        0, 1, len(x))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("length", [30.0, 60.0])
def test_the_wander_of_a_pen_is_found(kind, length):
    """Means of 12 pairs of lines of 4 m, straight but for the pen: its size within a tenth, its length
    within a quarter.
    """
    x, pen = np.arange(0.0, 4000.0, 12.0), Wander(0.2, length, kind, white_mm=0.02, step_mm=12.0)
    found = [find_wander([(x, draw(pen, x, 2 * k)), (x, draw(pen, x, 2 * k + 1))], wave_mm=4000.0, order=4)
             for k in range(12)]
    assert np.mean([w.sd_mm for w in found]) == pytest.approx(0.2, rel=0.1)
    assert np.exp(np.mean([np.log(w.length_mm) for w in found])) == pytest.approx(length, rel=0.25)


@pytest.mark.parametrize("kind", KINDS)
def test_a_length_apart_two_places_agree_to_1_over_e(kind):
    assert Wander(0.2, 37.0, kind).correlate(np.array([0.0, 37.0])) == pytest.approx([1.0, np.exp(-1)])


@pytest.mark.parametrize("kind", KINDS)
def test_the_strength_is_the_integral_of_the_covariance(kind):
    pen, apart = Wander(0.3, 20.0, kind), np.linspace(-900, 900, 180001)
    for wave in (80.0, 600.0):
        by_hand = np.sum(0.09 * pen.correlate(apart) * np.cos(2 * np.pi * apart / wave)) * (apart[1] - apart[0])
        assert pen.measure_strength(wave) == pytest.approx(by_hand, rel=1e-3)


def test_too_short_a_line_tells_no_wander():
    assert find_wander([(np.arange(4.0), np.zeros(4))], wave_mm=600.0, order=4) is None


def test_thinned_points_are_means_of_their_neighbours():
    x = np.arange(1000.0)
    thin, twice = thin_run(x, 2 * x)
    assert len(thin) <= 300 and twice == pytest.approx(2 * thin) and thin[0] == pytest.approx(np.mean(x[:4]))


@pytest.mark.long
def test_the_error_told_of_a_long_edge_is_the_error_met():
    """400 draws of one wander, fitted with it known: errors at the ends and amid over what is told."""
    x, pen = np.arange(0.0, 3000.0, 12.0), Wander(0.2, 40.0, "fair", white_mm=0.02, step_mm=12.0)
    knots, at = space_knots(-60, 3050, spacing=100, degree=5), np.array([0.0, 1500.0, 2988.0])
    off, told = [], []
    for seed in range(400):
        fit = fit_through_wander(x, 30 * np.cos(x / 900 + seed) + draw(pen, x, seed), np.ones(len(x)), pen,
                                 wave_mm=600.0, order=4, knots=knots, degree=5)
        off.append(fit.spline.evaluate(at) - 30 * np.cos(at / 900 + seed))
        told.append(fit.measure_error(at))
    ratio = np.sqrt(np.mean(np.square(off), axis=0) / np.mean(np.square(told), axis=0))
    assert (ratio > 0.7).all() and (ratio < 1.15).all()


def test_an_end_without_bow_is_found_straight_and_a_bowed_one_is_not():
    x, pen = np.arange(4.0, 120.0, 1.0), Wander(0.2, 30.0, "fair", white_mm=0.02, step_mm=1.0)
    knots = space_knots(-60, 180, spacing=40, degree=5)
    likely = [fit_end_through_wander(x, bow * (1 - (x / 60 - 1) ** 2) + draw(pen, x, 7), np.ones(len(x)), pen,
                                     wave_mm=240.0, knots=knots, degree=5)[0].straight for bow in (0.0, 4.0)]
    assert likely[0] > 0.5 and likely[1] < 0.01


@pytest.mark.parametrize("sd", [0.01, 0.2])
def test_an_end_run_the_other_way_is_the_same_to_the_last_digits(sd):
    """The stiffest rungs hold a curve ten powers of ten harder than its points do: solved carelessly, half the digits
    are lost, and two machines draw two corners.
    """
    pen = Wander(sd, 6.0, "fair", white_mm=0.1 * sd, step_mm=1.0)
    x, knots = np.arange(-60.0, 61.0), space_knots(-120.0, 120.0, spacing=40, degree=5)
    y = 3 * (1 - (x / 60) ** 2) + draw(pen, x, 7)
    there, back = (fit_end_through_wander(x, one, np.ones(len(x)), pen, wave_mm=240.0, knots=knots, degree=5)[0]
                   for one in (y, y[::-1]))
    assert knots == pytest.approx(-knots[::-1])
    assert back.spline.evaluate(-x) == pytest.approx(there.spline.evaluate(x), abs=1e-8)
    assert back.degrees_of_freedom == pytest.approx(there.degrees_of_freedom, abs=1e-6)
