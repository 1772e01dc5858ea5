"""Wrong marks, told from rough curves and from errors told too small; the odds in closed form against sums done the
long way.
"""
import numpy as np
import pytest

from plankcore.geometry import wrong_marks
from plankcore.geometry.wrong_marks import find_wrong_marks

X = np.linspace(0, 3000, 14)


def make_pair(seed, *, error=0.3, off=(), times=1.0, hump_mm=0.0):
    """Marks on both edges of a plank; off : (number, mm), the second edge's numbers from 14 on."""
    rng = np.random.default_rng(seed)
    middle, half = 90 * np.sin(X / 1400), 60 - 20 * np.exp(-X / 2000)
    y = np.r_[middle + half + hump_mm / np.cosh((X - 1400) / 320) ** 2, middle - half]
    y = y + times * error * rng.standard_normal(28)
    for number, mm in off:
        y[number] += mm
    return np.r_[X, X], y, np.full(28, error), np.repeat([1.0, -1.0], 14)


def find(*args, **kwargs):
    found = find_wrong_marks(*make_pair(*args, **kwargs), shortest_wave=600.0)
    return set(np.flatnonzero(found.wrong)), found.scale


@pytest.mark.parametrize("number", [1, 6, 18, 26])
def test_a_wrong_mark_is_named_and_it_alone(number):
    assert all(find(seed, off=[(number, way * 4.0)])[0] == {number} for seed, way in ((1, 1), (2, -1)))


@pytest.mark.parametrize("number", [0, 13, 14, 27])
def test_a_wrong_mark_at_an_end_names_itself_and_not_the_other_edge(number):
    found = [find(seed, off=[(number, 4.0)])[0] for seed in range(6)]
    assert sum(number in f for f in found) >= 5
    assert sum(any(k // 14 != number // 14 for k in f) for f in found) <= 1


@pytest.mark.parametrize("first", [4, 8, 19])
def test_two_wrong_side_by_side_are_both_named(first):
    found = [find(seed, off=[(first, 4.0), (first + 1, 4.0)])[0] for seed in range(4)]
    assert sum(f == {first, first + 1} for f in found) >= 3


def test_sound_marks_and_a_hump_of_the_wood_are_seldom_doubted():
    assert sum(bool(find(seed)[0]) for seed in range(20)) <= 2
    assert sum(bool(find(seed, hump_mm=8.0)[0]) for seed in range(20)) <= 2


def test_a_slip_at_an_end_is_named_on_an_edge_that_has_a_hump_elsewhere():
    """The hump made the whole edge look rough, and no slip at an end was named."""
    found = [(number, find(seed, off=[(number, 4.0)], hump_mm=9.0)[0]) for seed in range(6) for number in (0, 13)]
    assert sum(number in f for number, f in found) >= 7


def test_two_slips_side_by_side_may_be_named_on_an_edge_that_has_a_hump_elsewhere():
    found = [find(seed, off=[(2, 4.0), (3, 4.0)], hump_mm=9.0)[0] for seed in range(6)]
    assert sum(f >= {2, 3} for f in found) >= 2


def test_errors_told_half_are_told_and_no_mark_is_blamed():
    found = [find(seed, times=2.0) for seed in range(20)]
    assert sum(bool(wrong) for wrong, _ in found) <= 2
    assert np.median([scale for _, scale in found]) == pytest.approx(2.0, abs=0.6)
    assert np.median([find(seed)[1] for seed in range(20)]) == pytest.approx(1.0, abs=0.15)


def test_order_and_unit_of_the_marks_change_nothing():
    x, y, errors, signs = make_pair(3, off=[(5, 4.0)])
    mixed = np.random.default_rng(0).permutation(28)
    again = find_wrong_marks(x[mixed] / 25.4, y[mixed] / 25.4, errors[mixed] / 25.4, signs[mixed],
                             shortest_wave=600 / 25.4)
    assert set(mixed[np.flatnonzero(again.wrong)]) == {5}
    assert set(np.flatnonzero(find_wrong_marks(x, y, errors, -signs, shortest_wave=600.0).wrong)) == {5}


def test_one_edge_alone_is_searched_too():
    x, y, errors, signs = (v[:14] for v in make_pair(3, off=[(5, 4.0)]))
    assert np.flatnonzero(find_wrong_marks(x, y, errors, signs, shortest_wave=600.0).wrong).tolist() == [5]


def test_too_few_marks_are_never_doubted():
    x = np.arange(4) * 100.0
    y = np.array([0.0, 0, 50, 0])
    assert not find_wrong_marks(x, y, np.full(4, 0.1), np.ones(4), shortest_wave=200.0).wrong.any()


def test_the_odds_of_a_shift_are_the_normal_integral_over_its_size():
    """exp(a p - a^2 d / 2), averaged over a normal a about +10 and -10, by sums over a fine grid."""
    p, d, shift, spread = 3.0, 0.7, 10.0, 4.0
    a = np.linspace(-60, 60, 240001)
    density = sum(np.exp(-0.5 * ((a - m) / spread) ** 2) for m in (shift, -shift)) / (2 * spread * np.sqrt(2 * np.pi))
    direct = np.log(np.sum(np.exp(a * p - a ** 2 * d / 2) * density) * (a[1] - a[0]))
    assert wrong_marks._shift(p, d, shift, spread) == pytest.approx(direct, abs=1e-6)


def test_the_odds_of_two_shifts_are_the_normal_integral_over_both():
    """Half the time both are off by the same, as above; half the time each by its own, a double sum."""
    p, d = np.array([[[1.5], [-0.4]]]), np.array([[[0.8], [0.5]]])
    both, error = np.array([[[0.2]]]), np.full((2, 1), 1.0)
    a = np.linspace(-60, 60, 1501)
    step = a[1] - a[0]

    def spread(m, s):
        return np.exp(-0.5 * ((a - m) / s) ** 2) / (s * np.sqrt(2 * np.pi))
    free = np.exp(1.5 * a[:, None] - 0.4 * a[None] - 0.5 * (0.8 * a[:, None] ** 2 + 0.5 * a[None] ** 2
                                                            + 0.4 * a[:, None] * a[None]))
    free = np.sum(free * spread(0, 10.0)[:, None] * spread(0, 10.0)[None]) * step ** 2
    alike = np.sum(np.exp(1.1 * a - 0.5 * 1.7 * a ** 2) * (spread(10.0, 4.0) + spread(-10.0, 4.0)) / 2) * step
    got = wrong_marks._shift_two(p, d, both, error)
    assert got[0, 0, 0] == pytest.approx(np.log((free + alike) / 2), abs=1e-5)
