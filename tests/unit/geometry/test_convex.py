"""Hulls, strips and rectangles on shapes that can be checked by hand."""
import numpy as np
import pytest
from shapes import draw_rectangle, turn

from plankcore.geometry.convex import (
    find_hull,
    find_least_rectangle,
    find_least_width,
    find_roomiest_turn,
    measure_extents_mm,
)


def test_no_turn_is_short_enough():
    assert find_least_width(draw_rectangle(100, 20), longest_mm=19) is None


def test_the_hull_leaves_out_what_lies_inside_or_on_a_side():
    points = np.vstack([draw_rectangle(10, 4), [(5, 2), (5, 0), (5, 4), (0, 0)]])
    assert sorted(map(tuple, find_hull(points))) == [(0, 0), (0, 4), (10, 0), (10, 4)]


def test_a_triangle_of_sides_3_4_5_is_narrowest_on_its_longest():
    """Its height on the side of 5 is 3 x 4 / 5 = 2.4."""
    found = find_least_width(np.array([(0, 0), (4, 0), (0, 3.0)]))
    assert found.width_mm == pytest.approx(2.4) and found.length_mm == pytest.approx(5.0)


@pytest.mark.parametrize("degrees", [-80, -33.3, 0, 12.5, 90])
def test_a_turned_rectangle_is_found_again(degrees):
    shape = turn(draw_rectangle(500, 80), degrees)
    for find in (find_least_width, find_least_rectangle):
        found = find(shape)
        assert (found.length_mm, found.width_mm) == pytest.approx((500, 80))
        assert (found.turn_deg + degrees + 90) % 180 - 90 == pytest.approx(0, abs=1e-6) or abs(
            (found.turn_deg + degrees) % 180) == pytest.approx(180, abs=1e-6)


def test_a_limited_length_is_reached_exactly():
    """A square of 100 is 141.4 on its diagonal; no longer than 120, it is 100 at the least."""
    found = find_least_width(draw_rectangle(100, 100), longest_mm=120)
    assert found.width_mm == pytest.approx(100)
    long = find_least_width(draw_rectangle(1000, 10), longest_mm=900)
    assert long.length_mm == pytest.approx(900, abs=1e-6)
    # 1000 cos a + 10 sin a = 900; the width is 1000 sin a + 10 cos a
    a = np.radians(abs(long.turn_deg))
    assert long.width_mm == pytest.approx(1000 * np.sin(a) + 10 * np.cos(a))


def test_the_roomiest_turn_of_a_rectangle_in_a_rectangle():
    found = find_roomiest_turn(turn(draw_rectangle(500, 80), 3.0), length_mm=600, width_mm=100)
    assert found.turn_deg == pytest.approx(-3.0) and found.spare_mm == pytest.approx(10)


def test_length_and_width_are_weighed_against_each_other():
    """A rod of 1000 in a square place of 800: diagonal, with (800 - 1000 / sqrt 2) / 2 to spare all round."""
    found = find_roomiest_turn(np.array([(0, 0), (1000, 0), (1000, 1e-6)]), length_mm=800, width_mm=800)
    assert found.spare_mm == pytest.approx((800 - 1000 / np.sqrt(2)) / 2, abs=1e-4)
    assert abs(found.turn_deg) == pytest.approx(45, abs=1e-3)


def test_extents():
    length, width = measure_extents_mm(draw_rectangle(30, 40), [0, 90])
    assert length == pytest.approx([30, 40]) and width == pytest.approx([40, 30])
