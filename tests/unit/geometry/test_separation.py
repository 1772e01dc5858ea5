"""Distances of polygons, and cuts, on squares."""
import numpy as np
import pytest
from shapes import draw_rectangle

from plankcore.geometry.polyline import (
    contains_polygon,
    cut_polygon,
    draw_disc,
    list_sides,
    measure_area_mm2,
    measure_gap_mm,
    measure_line_gap_mm,
    measure_point_gap_mm,
)

SQUARE = draw_rectangle(100, 100)


@pytest.mark.parametrize("left, top, gap",
                         [(110, 0, 10), (103, 104, 5), (100, 0, 0), (50, 50, 0), (40, 40, 0), (0, 250, 150)])
def test_gaps_of_squares(left, top, gap):
    other = draw_rectangle(20, 20, left=left, top=top)
    assert measure_gap_mm(SQUARE, other) == pytest.approx(gap, abs=1e-9)
    assert measure_gap_mm(other, SQUARE) == pytest.approx(gap, abs=1e-9)


def test_a_side_between_two_corners_counts():
    """The corner of a turned square points at the middle of a side."""
    diamond = np.array([(110, 50), (120, 40), (130, 50), (120, 60.0)])
    assert measure_gap_mm(SQUARE, diamond) == pytest.approx(10)


def test_crosses_without_any_corner_inside():
    assert measure_gap_mm(draw_rectangle(300, 10, left=-100, top=45), draw_rectangle(10, 300, left=45, top=-100)) == 0


def test_what_holds_what():
    inner = draw_rectangle(20, 20, left=10, top=10)
    assert contains_polygon(SQUARE, inner) and not contains_polygon(inner, SQUARE)
    assert not contains_polygon(SQUARE, draw_rectangle(20, 20, left=90, top=10))
    assert measure_line_gap_mm(list_sides(SQUARE), list_sides(inner)) == pytest.approx(10)


def test_points():
    assert measure_point_gap_mm(SQUARE, np.array([(130.0, 140.0), (500, 500)])) == pytest.approx(50)
    assert measure_point_gap_mm(SQUARE, np.array([(50.0, 50.0), (500, 500)])) == 0


@pytest.mark.parametrize("outward, area", [((1, 0), 3000), ((-1, 0), 7000), ((0, 5), 3000)])
def test_cuts(outward, area):
    assert abs(measure_area_mm2(cut_polygon(SQUARE, (30, 30), outward))) == pytest.approx(area)


def test_a_cut_past_everything():
    assert len(cut_polygon(SQUARE, (200, 0), (1, 0))) == 4 and len(cut_polygon(SQUARE, (-1, 0), (1, 0))) == 0


def test_a_disc_holds_its_circle_and_little_more():
    sides = list_sides(draw_disc((5, 6), 20))
    middles = (sides[0] + sides[1]) / 2
    assert np.hypot(*(middles - (5, 6)).T) == pytest.approx(20)
    assert np.hypot(*(sides[0] - (5, 6)).T).max() < 20 * 1.0022
