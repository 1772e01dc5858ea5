"""Closed shapes: refusals, area, and the outward offset of rectangles, circles and parabolas."""
import numpy as np
import pytest
from shapes import draw_graph, draw_rectangle, make_arc, make_bowed_plank, make_chain

from plankcore.geometry.curve import Curve, make_line
from plankcore.geometry.outline import (
    OffsetFailure,
    find_outline_crossing,
    flatten_outline,
    measure_outline_area_mm2,
    meet_corners,
    offset_curve,
    offset_outline,
)

BOX = make_chain(draw_rectangle(200, 50))


def measure_radii(curve):
    return np.hypot(*curve.evaluate(np.linspace(0, len(curve.cubics) - 1e-9, 500)).T)


def test_an_offset_beyond_the_radius_is_refused_with_the_place():
    with pytest.raises(OffsetFailure, match="radius of 30.0 mm") as caught:
        offset_curve(make_arc(30, 0, 2), -31)
    assert np.hypot(*caught.value.point) == pytest.approx(30, abs=0.01)


@pytest.mark.parametrize("inward", [26, 30, 120])
def test_an_inward_offset_that_eats_the_shape_is_refused(inward):
    with pytest.raises(OffsetFailure):
        offset_outline(BOX, [-inward] * 4)


def test_an_edge_that_is_eaten_is_refused():
    """A trapezium's short side of 10 mm between flanks at 45 degrees loses 2 d tan 22.5 when all move in by d: nothing
    is left from 12.07 mm on.
    """
    trapezium = make_chain(np.array([(0, 0), (10, 0), (60, 50), (-50, 50.0)]))
    for inward in (12.2, 15.0):
        with pytest.raises(OffsetFailure):
            offset_outline(trapezium, [-inward] * 4)
    assert offset_outline(trapezium,
                          [-11.9] * 4)[0].measure_length_mm() == pytest.approx(10 - 23.8 * np.tan(np.pi / 8), abs=1e-6)


@pytest.mark.parametrize("gap, d", [(8.0, 5.0), (2.0, 1.5)])
def test_an_offset_that_closes_a_notch_is_refused(gap, d):
    """A slot narrower than twice the offset: its sides would cross."""
    slot = np.array([(0, 0), (200, 0), (200, 50), (100 + gap, 50), (100 + gap / 2, 20), (100, 50), (0, 50.0)])
    with pytest.raises(OffsetFailure):
        offset_outline(make_chain(slot), [d] * 7)
    assert offset_outline(make_chain(slot), [gap / 20] * 7)


def test_a_moved_edge_is_cut_where_it_crosses_the_next_nearest_its_corner():
    """A box whose right side noses out past its upper right corner, (200, 0), before it comes down: the line of the
    upper side, run on, crosses it there and, by the closed form of the cubic, again half-way. The corner is meant."""
    nose = Curve([[(200, 0), (205, -12), (210, -6), (200, 48)]])        # y(t) = -36 t + 54 t^2 + 30 t^3
    sides = [make_line((0, 0), (200, 0)), nose, make_line((200, 48), (0, 48)), make_line((0, 48), (0, 0))]
    again = (-54 + np.sqrt(54 ** 2 + 4 * 30 * 36)) / 60
    assert 0 < again < 1 and nose.evaluate([again])[0] == pytest.approx((200 + 15 * again - 15 * again ** 3, 0))
    for moved in (sides, [make_line((0, 0), (207, 0)), *sides[1:]]):
        met = meet_corners(sides, moved, reach_mm=12.0)
        assert met[0].end == pytest.approx((200, 0), abs=1e-6) and met[1].start == pytest.approx((200, 0), abs=1e-6)
        assert met[1].measure_length_mm() == pytest.approx(nose.measure_length_mm(), abs=1e-5)


def test_area_has_the_sign_of_the_turn():
    assert measure_outline_area_mm2(BOX) == pytest.approx(10000)
    assert measure_outline_area_mm2([c.reverse() for c in BOX[::-1]]) == pytest.approx(-10000)


def test_area_under_a_parabola_is_exact_far_from_the_origin():
    """Two thirds of its box."""
    top = draw_graph(lambda x: 100 - (x - 1e4) ** 2 / 100, lambda x: -(x - 1e4) / 50, 1e4 - 100, 1e4 + 100)
    assert abs(measure_outline_area_mm2([top, make_line(top.end, top.start)])) == pytest.approx(2 / 3 * 200 * 100,
                                                                                                rel=1e-9)


@pytest.mark.parametrize("distance, radius", [(10, 110), (-10, 90), (-90, 10), (0, 100)])
def test_offset_of_a_circle_is_a_circle(distance, radius):
    """The arc runs clockwise as seen, so its left is outside."""
    assert measure_radii(offset_curve(make_arc(100, 0, 2), distance)) == pytest.approx(np.full(500, radius), abs=0.005)


def test_each_side_of_a_box_moves_out_by_its_own_distance():
    moved = offset_outline(BOX, [1, 2, 3, 4])
    assert np.stack([c.start for c in moved]) == pytest.approx(np.array([(-4, -1), (202, -1), (202, 53), (-4, 53.0)]),
                                                               abs=1e-6)
    assert flatten_outline(moved).max(axis=0) == pytest.approx((202, 53), abs=1e-6)


def test_direction_of_the_chain_does_not_matter():
    moved = offset_outline([c.reverse() for c in BOX[::-1]], [4, 3, 2, 1])
    assert abs(measure_outline_area_mm2(moved)) == pytest.approx(206 * 54)


def test_mitre_of_a_slanting_corner():
    """Right triangle 30, 40, 50 moved out by r has the corners of a triangle whose inscribed circle is larger by r: 10
    -> 15, so 1.5 as large.
    """
    moved = offset_outline(make_chain(np.array([(0, 0), (40, 0), (0, 30.0)])), [5, 5, 5])
    assert [c.measure_length_mm() for c in moved] == pytest.approx([60, 75, 45], abs=1e-6)


def test_a_plank_moved_out_keeps_its_distance_everywhere():
    """Distance from the moved edge back to the net edge, at many places, within a hundredth."""
    plank = make_bowed_plank()
    moved = offset_outline(plank.outline(), [3.0, 25.0, 6.0, 12.0])
    for before, after, d in zip(plank.outline(), moved, [3.0, 25.0, 6.0, 12.0]):
        wide = before.extend(100)
        gaps = [wide.find_nearest(p)[1] for p in after.evaluate(np.linspace(0, len(after.cubics), 60))]
        assert gaps == pytest.approx(np.full(60, d), abs=0.01)


def test_moved_edges_meet_exactly():
    moved = offset_outline(make_bowed_plank().outline(), [3, 25, 6, 12])
    for k, curve in enumerate(moved):
        assert curve.end == pytest.approx(moved[(k + 1) % 4].start, abs=0)


def test_crossing_of_an_outline():
    assert find_outline_crossing(BOX) is None
    assert find_outline_crossing(make_chain(np.array([(0, 0), (10, 10), (10, 0), (0, 10.0)]))) == pytest.approx((5, 5))
