"""Shapes seen column by column, against what can be checked by hand and against plain distances of polygons."""
import numpy as np
import pytest
from shapes import draw_rectangle, turn

from plankcore.geometry.envelope import cover_columns, find_envelope, find_room, grow_envelope, measure_rise_mm
from plankcore.geometry.polyline import draw_disc, measure_gap_mm


def test_nothing_is_left_of_a_board_narrower_than_its_clearances():
    assert find_room(draw_rectangle(1000, 50), np.full(4, 25.0)) is None
    assert find_room(draw_rectangle(40, 500), np.array([5, 25, 5, 25.0])) is None


def test_the_room_of_a_rectangle():
    room = find_room(draw_rectangle(1000, 200), np.array([10, 25, 30, 5.0]))
    assert (room.first_mm, room.last_mm) == (5, 975)
    assert room.top[:, 1] == pytest.approx([10, 10]) and room.bottom[:, 1] == pytest.approx([170, 170])


@pytest.mark.parametrize("reverse", [False, True])
def test_no_place_of_a_crooked_room_is_too_near(reverse):
    x = np.linspace(0, 2000, 60)
    board = np.vstack([np.column_stack([x, 30 * np.sin(x / 150)]),
                       np.column_stack([x + 40, 260 + 20 * np.cos(x / 110)])[::-1]])
    board = board[::-1] if reverse else board
    room = find_room(board, np.full(len(board), 18.0))
    starts, ends = board, np.roll(board, -1, axis=0)
    for chain in (room.top, room.bottom):
        along = ends - starts
        away = chain[:, None] - starts[None]
        t = np.clip((away * along).sum(axis=2) / (along ** 2).sum(axis=1), 0, 1)
        near = np.sqrt(((away - t[..., None] * along) ** 2).sum(axis=2).min(axis=1))
        assert near.min() > 18 - 0.05
        assert np.median(near) < 18.1


def test_an_envelope_with_a_hollow_end_fills_it():
    shape = np.array([(0, 0), (100, 0), (90, 20), (100, 40), (0, 40), (8, 20.0)])
    seen = find_envelope(shape)
    assert (seen.first_mm, seen.last_mm) == (0, 100)
    assert np.all(np.diff(seen.top[:, 0]) >= 0) and np.all(np.diff(seen.bottom[:, 0]) >= 0)
    assert np.interp(95, *seen.top.T) <= 0 and np.interp(95, *seen.bottom.T) >= 40 - 1e-9


def test_growing_keeps_the_distance():
    shape = turn(draw_rectangle(400, 60), 7)
    grown = grow_envelope(find_envelope(shape), 4.0)
    assert measure_gap_mm(shape, np.vstack([grown.top, [(1e4, -1e4), (-1e4, -1e4)]])) == pytest.approx(4, abs=1e-6)


@pytest.mark.parametrize("start", range(4))
def test_an_upright_end_keeps_its_corners_when_it_grows(start):
    grown = grow_envelope(find_envelope(np.roll(draw_rectangle(400, 60), start, axis=0)), 4.0)
    assert grown.top[:, 1] == pytest.approx([-4] * len(grown.top)) and grown.bottom[:, 1] == pytest.approx(
        [64] * len(grown.bottom))
    assert (grown.first_mm, grown.last_mm) == (-4, 404)


def test_the_rise_is_that_of_shifted_polygons():
    """What it says one shape must be moved makes the two touch and not cross."""
    chance = np.random.default_rng(5)
    for _ in range(40):
        a, b = (turn(draw_rectangle(chance.uniform(100, 400), chance.uniform(20, 60)), chance.uniform(-15, 15))
                for _ in range(2))
        first, second = find_envelope(a), find_envelope(b)
        x = float(chance.uniform(first.first_mm - second.last_mm + 1, first.last_mm - second.first_mm - 1))
        y = float(measure_rise_mm(first.bottom, second.top, np.array([x]))[0])
        assert measure_gap_mm(a, b + (x, y + 1e-6)) < 1e-4
        assert measure_gap_mm(a, b + (x, y + 1.0)) > 0                # little where they touch at a steep end
        assert measure_gap_mm(a, b + (x, y - 1.0)) == 0


def test_without_a_column_in_common_there_is_no_rise():
    seen = find_envelope(draw_rectangle(100, 20))
    assert measure_rise_mm(seen.bottom, seen.top,
                           np.array([101.0, -101.0, 99.0])) == pytest.approx([-np.inf, -np.inf, 20])


def test_columns_cover_a_grown_circle():
    x, low, high = cover_columns(draw_disc((50, 40), 10), grow_mm=5, count=25)
    assert (x[0], x[-1]) == pytest.approx((35, 65), abs=0.05)
    for at in np.linspace(35.2, 64.8, 300):
        k = int(np.searchsorted(x, at))
        half = np.sqrt(15 ** 2 - (at - 50) ** 2)
        assert min(low[k - 1], low[k]) <= 40 - half + 0.05 and max(high[k - 1], high[k]) >= 40 + half - 0.05
    assert low.min() > 40 - 15.2 and high.max() < 40 + 15.2
