"""Cubic splines through points. Refusals first; scipy is the second opinion."""
import numpy as np
import pytest
from scipy.interpolate import CubicSpline, PchipInterpolator

from plankcore.geometry.interpolation import interpolate_cubic, join_monotone


@pytest.mark.parametrize("x, y, ends", [([0.0], [1.0], "natural"), ([0, 0, 1.0], [1, 2, 3.0], "natural"),
                                        ([1, 0, 2.0], [1, 2, 3.0], "running on"), ([0, 1.0], [1, 2.0], "clamped")])
def test_what_is_no_row_of_points_is_refused(x, y, ends):
    with pytest.raises(ValueError):
        interpolate_cubic(x, y, [0.5], ends=ends)


@pytest.mark.parametrize("ends, kind", [("natural", "natural"), ("running on", "not-a-knot")])
@pytest.mark.parametrize("count", [2, 3, 4, 5, 12, 60])
def test_as_scipy_has_it(ends, kind, count):
    """scipy.interpolate.CubicSpline, unevenly spaced points, inside and a little beyond the ends."""
    rng = np.random.default_rng(count)
    x, y = np.cumsum(rng.uniform(5, 300, count)), rng.uniform(-90, 90, count)
    at = np.linspace(x[0] - 4, x[-1] + 4, 701)
    theirs = CubicSpline(x, y, bc_type=kind)
    assert interpolate_cubic(x, y, at, ends=ends) == pytest.approx(theirs(at), abs=1e-7, rel=1e-9)
    assert interpolate_cubic(x, y, at, ends=ends, derivative=1) == pytest.approx(theirs(at, 1), abs=1e-7, rel=1e-9)


def test_a_batten_on_three_ducks():
    """Simple-beam deflection y = d (3 x L^2 - 4 x^3) / L^3 up to the middle, L = 2, d = 1: at 0.5 it is 0.6875 exactly.
    """
    assert interpolate_cubic([0, 1, 2], [0, 1, 0], [0.5, 1.5],
                             ends="natural") == pytest.approx([0.6875, 0.6875], abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_it_is_the_curve_that_scipy_makes(seed):
    """scipy.interpolate.PchipInterpolator, by the same paper of Fritsch and Butland."""
    random = np.random.default_rng(seed)
    count = 2 + seed % 7
    x, y = np.cumsum(random.uniform(0.2, 3.0, count)), random.integers(-3, 4, count).astype(float)
    at = np.linspace(x[0], x[-1], 301)
    assert join_monotone(x, y)(at) == pytest.approx(PchipInterpolator(x, y)(at), abs=1e-12)


def test_it_passes_through_every_value_and_nowhere_beyond():
    x, y = np.array([0.0, 1.0, 4.0, 5.0]), np.array([1.0, 1.0, 30.0, 2.0])
    line = join_monotone(x, y)
    assert line(x) == pytest.approx(y)
    for k in range(3):
        part = line(np.linspace(x[k], x[k + 1], 200))
        assert part.min() >= y[k:k + 2].min() - 1e-12 and part.max() <= y[k:k + 2].max() + 1e-12
