"""The limits beyond which a reading is doubtful, and the search for doubtful ones."""
from statistics import NormalDist

import numpy as np
import pytest

from plankcore.geometry.doubts import find_doubtful, find_limits


@pytest.mark.parametrize("count, share", [(1, 0.3173), (1, 0.05), (14, 0.045), (40, 0.01)])
def test_the_limit_for_like_marks_is_that_of_the_normal_deviate(count, share):
    """Readings known alike share the chance of a false alarm evenly: the limit is the normal deviate of share / count,
    both ways (statistics.NormalDist).
    """
    limits = find_limits(np.full(count, 0.4), np.full(count, 0.6), false_alarm=share, gross=10.0)
    assert limits / 0.6 == pytest.approx(np.full(count, NormalDist().inv_cdf(1 - share / count / 2)), abs=1e-6)


def test_limits_for_unlike_marks_keep_the_chance_and_suspect_the_less_known_earlier():
    """An end reading, known to 1.5 mm by the others, is suspected at fewer standard errors than an inner one known to
    0.5; all chances together make the share.
    """
    spreads = np.array([1.5, 0.7, 0.5, 0.5, 0.5, 0.7, 1.5])
    limits = find_limits(np.full(7, 0.4), spreads, false_alarm=0.045, gross=10.0)
    z = limits / spreads
    assert z[0] < z[1] < z[2]
    assert sum(2 * (1 - NormalDist().cdf(v)) for v in z) == pytest.approx(0.045, abs=1e-6)


@pytest.mark.parametrize("unit", [1.0, 1e-4])
def test_one_wrong_reading_is_found_whatever_the_unit_of_the_readings(unit):
    x = np.arange(12) * 230.0
    y = 20 * np.sin(x / 1500) + 0.3 * np.cos(7.0 * np.arange(12))
    y[4] += 5.0
    found = find_doubtful(x, unit * y, np.full(12, 0.4 * unit), np.ones(12), shortest_wave_mm=460.0)
    assert np.flatnonzero(found).tolist() == [4]


def test_too_few_readings_are_never_doubted():
    assert not find_doubtful(np.arange(4) * 100.0, np.array([0.0, 0.0, 50.0, 0.0]), np.full(4, 0.1), np.ones(4),
                             shortest_wave_mm=200.0).any()
