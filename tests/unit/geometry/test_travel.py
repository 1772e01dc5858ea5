"""The order of strokes: all of them once, little travel, the same each time, and it ends."""
import itertools

import numpy as np
import pytest
import shapely

from plankcore.geometry import travel
from plankcore.geometry.travel import hang_strokes, measure_travel_mm, order_strokes


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


def cross_all(strokes):
    return shapely.unary_union([shapely.LineString(s) for s in strokes])


def comb(count, tall=4.0):
    x = 10.0 * np.arange(count)
    return [np.array([[0.0, 0.0], [x[-1], 0.0]]), *(np.array([[v, 0.0], [v, tall]]) for v in x)]


BOX = [np.array(p, float) for p in ([[0, 0], [90, 0]], [[90, 40], [90, 0]], [[90, 40], [0, 40]], [[0, 0], [0, 40]])]
ARROW = [np.array(p, float) for p in ([[0, 0], [50, 0]], [[50, 0], [42, 3]], [[50, 0], [42, -3]])]
CROSS = [np.array(p, float) for p in ([[-4, 0], [4, 0]], [[0, -4], [0, 4]])]


@pytest.mark.parametrize("strokes, lifts", [(comb(11), 1), (BOX, 1), (ARROW, 1), (CROSS, 1), (comb(11, 20.0), 10),
                                            (BOX[:3], 1), ([], 0)])
@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_what_meets_is_drawn_with_few_lifts_and_no_ink_is_lost_or_added(strokes, lifts, turn):
    """Ticks on a bar, a box, an arrow, a cross; long teeth are not drawn twice, but those at the ends go on. Ink by
    shapely."""
    a = np.radians(turn)
    strokes = [s @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) for s in strokes]
    found = hang_strokes(strokes, most_mm=12.0)
    assert len(found) == lifts
    if strokes:
        assert cross_all(found).hausdorff_distance(cross_all(strokes)) < 0.02
        twice = sum(float(np.hypot(*np.diff(s, axis=0).T).sum()) for s in found) - cross_all(strokes).length
        assert twice <= 12.0 * len(strokes)


def test_ticks_across_a_bent_line_hang_on_it_wherever_it_turns():
    line = np.column_stack([np.linspace(0, 300, 61), 20 * np.sin(np.linspace(0, 9, 61))])
    ticks = [line[k] + np.array([[0.0, -3.0], [0.0, 3.0]]) + shift for k in range(0, 61, 5)
             for shift in ([0.0, 0.0], [1.7, 0.0])][:-1]
    found = hang_strokes([*ticks, line], most_mm=12.0)
    assert len(found) == 1 and cross_all(found).hausdorff_distance(cross_all([line, *ticks])) < 0.02
    assert found[0][0].tolist() in (line[0].tolist(), line[-1].tolist())


def test_strokes_that_meet_nothing_stay_as_they_are():
    strokes = make_strokes(60, 4)
    clear = [s for k, s in enumerate(strokes)
             if all(shapely.LineString(s).distance(shapely.LineString(o)) > 1 for o in strokes[:k] + strokes[k + 1:])]
    assert len(clear) > 20 and spell(hang_strokes(clear, most_mm=12.0)) == spell(clear)


def test_the_last_digits_choose_no_way():
    """Rings, which begin where they end, and strokes as far to one side as to the other: what two machines round
    otherwise changes nothing.
    """
    turn = np.linspace(0, 2 * np.pi, 13)
    rings = [np.column_stack([10 * k + 3 * np.cos(turn), 3 * np.sin(turn)]) for k in range(6)]
    pairs = [np.array([[0.0, y], [5.0, y]]) for y in (-8.0, 8.0)]
    noise = np.random.default_rng(4)
    plain = order_strokes(rings + pairs)
    for _ in range(20):
        other = order_strokes([s + noise.normal(0, 1e-12, s.shape) for s in rings + pairs])
        for a, b in zip(plain, other):
            assert a == pytest.approx(b, abs=1e-9)
