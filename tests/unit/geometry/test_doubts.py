"""The limits beyond which a reading is doubtful, and the search for doubtful ones."""
from statistics import NormalDist

import numpy as np
import pytest

from plankcore.geometry.readings import find_doubtful, find_limits, find_step, measure_out_of_line


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


def make_pair(*, count=12, seed=0, error=0.3, off=()):
    """Two curves that run together, as readings with honest errors: x, y, errors, signs. off : (sign, first, last,
    height).
    """
    rng = np.random.default_rng(seed)
    at = np.linspace(0.0, 2400.0, count)
    middle, half = 60 * np.sin(np.pi * at / 2400) + 4 * np.sin(2 * np.pi * at / 2400), 55 + 12 * np.sin(
        np.pi * at / 2400)
    y = np.concatenate([middle + half, middle - half]) + rng.normal(0, error, 2 * count)
    for sign, first, last, height in off:
        y[(0 if sign > 0 else count) + first:(0 if sign > 0 else count) + last + 1] += height
    return np.concatenate([at, at]), y, np.full(2 * count, error), np.repeat([1.0, -1.0], count)


@pytest.mark.parametrize("count", [1, 3, 5])
def test_too_few_readings_tell_nothing(count):
    assert find_step(*make_pair(count=count)) is None


def test_one_curve_alone_tells_nothing():
    x, y, errors, signs = make_pair()
    assert find_step(x[signs > 0], y[signs > 0], errors[signs > 0], signs[signs > 0]) is None


@pytest.mark.parametrize("sign, first, last, height",
                         [(1, 3, 6, 4.0), (-1, 5, 9, -3.0), (1, 0, 4, 3.0), (-1, 8, 11, 5.0)])
def test_a_step_is_found_where_it_is(sign, first, last, height):
    step = find_step(*make_pair(off=[(sign, first, last, height)]))
    assert (step.sign, step.first, step.last) == (sign, first, last) and step.gain > 10
    assert step.height == pytest.approx(height, abs=4 * step.error)


def test_order_of_the_readings_changes_nothing():
    x, y, errors, signs = make_pair(off=[(1, 3, 6, 4.0)])
    mixed = np.random.default_rng(3).permutation(len(x))
    a, b = find_step(x, y, errors, signs), find_step(x[mixed], y[mixed], errors[mixed], signs[mixed])
    assert (a.first, a.last, a.sign) == (b.first, b.last, b.sign) and a.height == pytest.approx(
        b.height, abs=1e-9) and a.gain == pytest.approx(b.gain, abs=1e-6)


def test_one_reading_alone_is_told_as_one():
    step = find_step(*make_pair(off=[(1, 5, 5, 5.0)]))
    assert step.first == step.last == 5 and step.gain > 10


def test_sound_readings_seldom_show_a_step():
    gains = np.array([find_step(*make_pair(seed=seed)).gain for seed in range(60)])
    assert np.mean(gains > 6) <= 0.05


def test_readings_worse_than_they_say_are_no_step():
    """Three times the honest error all along: the errors are too small, and no run stands off."""
    steps = []
    for seed in range(20):
        x, y, errors, signs = make_pair(error=0.9, seed=seed)
        steps.append(find_step(x, y, errors / 3, signs).gain)
    assert np.median(steps) < 6 and np.mean(np.array(steps) > 10) <= 0.1


def test_a_cubic_runs_on_exactly():
    """The two neighbours on either side give a cubic exactly: four points fix it."""
    x = np.array([0.0, 1.0, 2.5, 3.0, 4.2, 6.0, 7.0])
    off, growth = measure_out_of_line(x, 2 - x + 0.5 * x ** 2 - 0.1 * x ** 3)
    assert np.isnan(off[[0, 1, -2, -1]]).all() and off[2:-2] == pytest.approx(0, abs=1e-12)
    assert np.all(growth[2:-2] > 1)


def test_one_reading_off_is_told_by_what_it_is_off():
    """Even spacing: what the neighbours say is (-1, 4, 4, -1) / 6 of them (Lagrange), so errors grow by sqrt(1 +
    34/36).
    """
    y = np.zeros(7)
    y[3] = 2.0
    off, growth = measure_out_of_line(np.arange(7), y)
    assert off[2:5] == pytest.approx([-2 * 4 / 6, 2.0, -2 * 4 / 6]) and growth[3] == pytest.approx(np.sqrt(1 + 34 / 36))
