"""Smoothing splines whose numbers are known from elsewhere.

Batten on three ducks: a simple beam's deflection y = d (3 x L^2 - 4 x^3) / L^3 for x <= L/2 (any text on beams);
through (0, 0), (1, 1), (2, 0) it gives y(1/4) = 0.3671875 and y(1/2) = 0.6875 exactly.

R's data set cars (M. Ezekiel, Methods of Correlation Analysis, 1930: speed in mph, stopping distance in ft; typed from
memory) and R's smooth.spline on it (help page's example; printed numbers from memory): df 2.635278, GCV 244.1044,
penalised criterion (RSS of the 19 means) 4187.776; with df = 10: RSS 1680.19, GCV 263.905. All were recomputed by
Reinsch's matrices before they were put here, which gave lambda 1029.95.

Titanium heat data (C. de Boor, A Practical Guide to Splines, 1978, and its public listing titanium.m): at lambda 100,
df 30.6423, RSS 0.0065975, f(895) 2.1417821; at 10000, df 10.7132, RSS 0.6285179, f(895) 1.7221404: computed by
Reinsch's matrices and by SciPy 1.17.1, which agree to 4e-14.
"""
import numpy as np
import pytest

from plankcore.geometry.smoothing import fit_penalised_spline, knots_at_sites
from plankcore.geometry.spline_process import fit_process

SPEED = np.array([4, 4, 7, 7, 8, 9, 10, 10, 10, 11, 11, 12, 12, 12, 12, 13, 13, 13, 13, 14, 14, 14, 14, 15, 15, 15,
                  16, 16, 17, 17, 17, 18, 18, 18, 18, 19, 19, 19,
                  20, 20, 20, 20, 20, 22, 23, 24, 24, 24, 24, 25], float)
STOP = np.array([2, 10, 4, 22, 16, 10, 18, 26, 34, 17, 28, 14, 20, 24, 28, 26, 34, 34, 46, 26, 36, 60, 80, 20, 26, 54,
                 32, 40, 32, 40, 50, 42, 56, 76, 84, 36, 46, 68,
                 32, 48, 52, 56, 64, 66, 54, 70, 92, 93, 120, 85], float)
HEAT = np.array([.644, .622, .638, .649, .652, .639, .646, .657, .652, .655, .644, .663, .663, .668, .676, .676, .686,
                 .679, .678, .683, .694, .699, .710, .730, .763,
                 .812, .907, 1.044, 1.336, 1.881, 2.169, 2.075, 1.598, 1.211, .916, .746, .672, .627, .615, .607,
                 .606, .609, .603, .601, .603, .601, .611, .601, .608])
DEGREES = np.arange(595.0, 1080, 10)


def smooth(x, y, penalty, weights=None):
    return fit_penalised_spline(x, y, penalty=penalty, order=2, knots=knots_at_sites(np.unique(x), degree=3),
                                degree=3, weights=weights)


# -- batten on three ducks ------------------------------------------------------------------------------

@pytest.mark.parametrize("x, y", [(0.25, 0.3671875), (0.5, 0.6875), (1.0, 1.0), (1.5, 0.6875), (1.75, 0.3671875)])
def test_a_batten_held_by_three_ducks(x, y):
    assert smooth(np.array([0.0, 1, 2]), np.array([0.0, 1, 0]),
                  1e-10).spline.evaluate([x])[0] == pytest.approx(y, abs=1e-8)


def test_the_process_of_order_two_is_that_batten_where_the_marks_are_sure():
    """Marks with next to no error, and waves short enough to go through them."""
    got = fit_process([0.0, 1, 2], [0.0, 1, 0], np.full(3, 1e-4), np.ones(3), shortest_wave=0.05, order=2)
    assert got.evaluate([0.25, 0.5, 1.75], sign=1) == pytest.approx([0.3671875, 0.6875, 0.3671875], abs=1e-6)


# -- cars ---------------------------------------------------------------------------------------------------

def fit_cars(penalty):
    """Fit to the means at each speed, weighted by their count: the same curve as to all points. Returns (fit, GCV over
    all 50).
    """
    x, where, count = np.unique(SPEED, return_inverse=True, return_counts=True)
    got = smooth(x, np.bincount(where, STOP) / count, penalty, count.astype(float))
    off = STOP - got.spline.evaluate(SPEED)
    return got, float(np.mean(off ** 2) / (1 - got.degrees_of_freedom / 50) ** 2)


def find_least(function, low, high):
    """Golden section on log lambda."""
    ratio = (np.sqrt(5) - 1) / 2
    for _ in range(80):
        a, b = high - ratio * (high - low), low + ratio * (high - low)
        low, high = (low, b) if function(a) < function(b) else (a, high)
    return (low + high) / 2


def test_cars_smoothed_by_cross_validation():
    """The least GCV is flat: R's own search, which stops early, and ours agree to a thousandth in lambda, and in GCV to
    all its digits.
    """
    got, gcv = fit_cars(1029.95)
    assert got.degrees_of_freedom == pytest.approx(2.635278, abs=2e-6)
    assert np.sum(got.weights * got.residuals ** 2) == pytest.approx(4187.776, abs=2e-3)
    assert gcv == pytest.approx(244.1044, abs=1e-4)
    best = 10 ** find_least(lambda p: fit_cars(10 ** p)[1], 0, 6)
    assert best == pytest.approx(1029.95, rel=1e-3) and fit_cars(best)[1] == pytest.approx(244.1044, abs=1e-4)


def test_cars_with_ten_degrees_of_freedom():
    low, high = -6.0, 6.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if fit_cars(10 ** middle)[0].degrees_of_freedom > 10 else (low, middle)
    got, gcv = fit_cars(10 ** low)
    assert 10 ** low == pytest.approx(0.85896, rel=1e-3)
    assert np.sum(got.weights * got.residuals ** 2) == pytest.approx(1680.19, abs=0.05)
    assert gcv == pytest.approx(263.905, abs=0.01)


# -- titanium ------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("penalty, freedom, rss, peak",
                         [(100.0, 30.6423, 0.0065975, 2.1417821), (1e4, 10.7132, 0.6285179, 1.7221404)])
def test_titanium(penalty, freedom, rss, peak):
    got = smooth(DEGREES, HEAT, penalty)
    assert got.degrees_of_freedom == pytest.approx(freedom, abs=5e-5)
    assert np.sum(got.residuals ** 2) == pytest.approx(rss, abs=5e-8)
    assert got.spline.evaluate([895.0])[0] == pytest.approx(peak, abs=5e-8)
