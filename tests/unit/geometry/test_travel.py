"""The order of strokes: all of them once, little travel, the same each time, and it ends."""
import itertools

import numpy as np
import pytest

from plankcore.geometry import travel
from plankcore.geometry.travel import measure_travel_mm, order_strokes


def make_strokes(count, seed, *, size=(3000.0, 600.0), long=5.0):
    rng = np.random.default_rng(seed)
    first = rng.uniform(0, size, (count, 2))
    return [np.array([a, a + b]) for a, b in zip(first, rng.normal(0, long, (count, 2)))]


def spell(strokes):
    return sorted(sorted(map(tuple, s.tolist())) for s in strokes)


@pytest.mark.parametrize("count", [0, 1, 2, 7, 300])
def test_every_stroke_comes_once_either_way(count):
    strokes = make_strokes(count, 3)
    assert spell(order_strokes(strokes)) == spell(strokes)


@pytest.mark.parametrize("seed", range(12))
def test_few_strokes_come_in_the_best_order_or_near_it(seed):
    """Of five strokes all 3840 orders are tried."""
    strokes = make_strokes(5, seed, size=(50.0, 50.0))
    best = min(measure_travel_mm([s[::-1] if back else s for s, back in zip(order, turned)])
               for order in itertools.permutations(strokes) for turned in itertools.product((False, True), repeat=5))
    assert measure_travel_mm(order_strokes(strokes)) <= 1.25 * best


def test_travel_is_near_that_of_the_best_tour_through_as_many_places():
    """A shortest tour through n random places in an area A is 0.7124 sqrt(n A) long (Beardwood, Halton and Hammersley
    1959; the constant by Johnson, McGeoch and Rothberg 1996, both from memory)."""
    strokes = make_strokes(1500, 8, long=0.01)
    found = measure_travel_mm(order_strokes(strokes))
    assert found <= 1.25 * 0.7124 * np.sqrt(1500 * 3000.0 * 600.0)
    assert found < 0.05 * measure_travel_mm(strokes)


def test_the_same_strokes_give_the_same_order():
    strokes = make_strokes(400, 5)
    once, again = order_strokes(strokes), order_strokes([s.copy() for s in strokes])
    assert all(np.array_equal(a, b) for a, b in zip(once, again))


@pytest.mark.parametrize("strokes", [[np.zeros((2, 2))] * 50, make_strokes(40, 1, size=(0.0, 0.0), long=0.0),
                                     make_strokes(30, 2) + [s + 1e6 for s in make_strokes(30, 4)]])
def test_it_ends_whatever_is_given(strokes):
    assert len(order_strokes(strokes)) == len(strokes)


def test_the_work_is_bounded(monkeypatch):
    """Of rounds that turn stretches there are no more than six, however much each saves."""
    seen = []
    real = np.argsort
    monkeypatch.setattr(travel.np, "argsort", lambda *a, **k: (seen.append(1), real(*a, **k))[1])
    order_strokes(make_strokes(500, 9))
    assert 0 < len(seen) <= travel._ROUNDS * travel._LONGEST


def test_travel_by_hand():
    strokes = [np.array([[3.0, 4.0], [3.0, 10.0]]), np.array([[0.0, 10.0], [0.0, 0.0]])]
    assert measure_travel_mm(strokes) == pytest.approx(5.0 + 3.0) and measure_travel_mm([]) == 0.0
