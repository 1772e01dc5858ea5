"""Cubic splines through points. Refusals first; scipy is the second opinion."""
import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from plankcore.geometry.interpolation import interpolate_cubic


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
    assert interpolate_cubic(x, y, at, ends=ends) == pytest.approx(CubicSpline(x, y, bc_type=kind)(at), abs=1e-7,
                                                                   rel=1e-9)


def test_a_batten_on_three_ducks():
    """Simple-beam deflection y = d (3 x L^2 - 4 x^3) / L^3 up to the middle, L = 2, d = 1: at 0.5 it is 0.6875 exactly.
    """
    assert interpolate_cubic([0, 1, 2], [0, 1, 0], [0.5, 1.5],
                             ends="natural") == pytest.approx([0.6875, 0.6875], abs=1e-12)
