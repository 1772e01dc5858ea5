"""A curve through values that goes nowhere beyond them: held against scipy's, and against what it promises."""
import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from plankcore.geometry.monotone import join_monotone


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
