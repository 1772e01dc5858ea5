"""Polylines: lengths, areas, crossings of shapes that can be checked in the head."""
import numpy as np
import pytest
from shapes import draw_rectangle

from plankcore.geometry.polyline import (
    contains_points,
    cross_segments,
    find_self_crossing,
    measure_arc_mm,
    measure_area_mm2,
    measure_distance_mm,
    resample_polyline,
    turn_left,
)


def test_arc_length_of_3_4_5_steps():
    assert measure_arc_mm([(0, 0), (3, 4), (3, 4), (9, 12)]) == pytest.approx([0, 5, 5, 15])


def test_left_of_travel_to_the_right_is_up_the_page():
    assert turn_left([[1.0, 0.0]])[0] == pytest.approx([0, -1])


@pytest.mark.parametrize("step, expected", [(2.5, 4), (3.0, 3), (100.0, 1)])
def test_open_resampling_keeps_both_ends_and_an_even_step(step, expected):
    even = resample_polyline([(0, 0), (4, 0), (10, 0)], step_mm=step)
    assert len(even) == expected + 1
    assert even[[0, -1]] == pytest.approx(np.array([[0, 0], [10, 0]]))
    assert np.diff(even[:, 0]) == pytest.approx(np.full(expected, 10 / expected))


def test_closed_resampling_does_not_repeat_the_first_point():
    even = resample_polyline(draw_rectangle(4, 2), step_mm=1, closed=True)
    assert len(even) == 12
    assert even[-1] == pytest.approx([0, 1])


def test_area_is_positive_clockwise_as_seen():
    shape = draw_rectangle(30, 20, left=1e6, top=1e6)
    assert measure_area_mm2(shape) == pytest.approx(600, rel=1e-12)
    assert measure_area_mm2(shape[::-1]) == pytest.approx(-600, rel=1e-12)


def test_crossing_of_two_segments():
    t, u = cross_segments(*(np.array([p], float) for p in ((0, 0), (4, 0), (1, -1), (1, 3))))
    assert (t[0], u[0]) == pytest.approx((0.25, 0.25))
    t, u = cross_segments(*(np.array([p], float) for p in ((0, 0), (4, 0), (0, 1), (4, 1))))
    assert np.isnan(t[0]) and np.isnan(u[0])


def test_figure_of_eight_crosses_in_its_middle():
    assert find_self_crossing([(0, 0), (10, 10), (10, 0), (0, 10)]) == pytest.approx((5, 5))


def test_simple_shapes_do_not_cross():
    assert find_self_crossing(draw_rectangle(100, 5)) is None
    assert find_self_crossing([(0, 0), (1, 0), (2, 0), (3, 0)], closed=False) is None
    # repeated points are no crossing
    assert find_self_crossing([(0, 0), (0, 0), (5, 0), (5, 5), (5, 5), (0, 5)]) is None


def test_an_open_line_may_cross_where_its_closing_would_not_count():
    bow = [(0, 0), (10, 0), (10, 10), (5, -5)]
    assert find_self_crossing(bow, closed=False) is not None
    assert find_self_crossing(bow[:3], closed=False) is None


@pytest.mark.parametrize("upright", [False, True])
def test_crossing_is_found_whichever_way_the_shape_lies(upright):
    x = np.linspace(0, 1000, 501)
    loop = np.vstack([np.column_stack([x, np.zeros(501)]),
                      np.column_stack([x[::-1], np.where(np.abs(x[::-1] - 300) < 5, -3.0, 20.0)])])
    found = find_self_crossing(loop[:, ::-1] if upright else loop)
    along, across = found[::-1] if upright else found
    assert abs(along - 300) < 8 and across == pytest.approx(0)


def test_distance_to_a_line():
    line = [(0, 0), (10, 0)]
    assert measure_distance_mm([(5, 3), (-3, 4), (13, -4), (7, 0)], line) == pytest.approx([3, 5, 5, 0])


def test_distance_works_in_slabs():
    points = np.column_stack([np.linspace(0, 10, 1000), np.full(1000, 2.0)])
    assert measure_distance_mm(points, [(0, 0), (10, 0)]) == pytest.approx(np.full(1000, 2.0))


def test_inside_and_outside():
    notched = [(0, 0), (10, 0), (10, 10), (5, 5), (0, 10)]
    assert contains_points(notched,
                           [(5, 1), (5, 9), (1, 8), (11, 5), (-1, 0)]).tolist() == [True, False, True, False, False]
