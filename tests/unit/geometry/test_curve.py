"""Chains of cubics: refusals, then lines, circles and parabolas whose measures are known in closed form."""
import numpy as np
import pytest
from shapes import draw_graph, make_arc

from plankcore.geometry.curve import Curve, cross_curves, make_line

PARABOLA = draw_graph(lambda x: x ** 2 / 100, lambda x: x / 50, 0.0, 50.0)


@pytest.mark.parametrize("cubics, reason", [(np.zeros((4, 2)), "shape"), (np.zeros((0, 4, 2)), "shape"),
                                            (np.full((1, 4, 2), np.nan), "finite")])
def test_what_is_no_curve_is_refused(cubics, reason):
    with pytest.raises(ValueError, match=reason):
        Curve(cubics)


def test_a_curve_cannot_be_written_into_and_keeps_no_hold_of_its_maker():
    cubics = np.array(make_line((0, 0), (3, 4)).cubics)
    curve = Curve(cubics)
    cubics[:] = 7
    assert curve.end == pytest.approx((3, 4))
    with pytest.raises(ValueError):
        curve.cubics[0, 0, 0] = 1


def test_lengths():
    """Line 5; half circle pi r; y = x^2/100 to x = 50: 50/2 (sqrt 2 + asinh 1)."""
    assert make_line((0, 0), (3, 4)).measure_length_mm() == pytest.approx(5)
    assert make_arc(100, 0, np.pi).measure_length_mm() == pytest.approx(100 * np.pi, abs=1e-6)
    assert PARABOLA.measure_length_mm() == pytest.approx(25 * (np.sqrt(2) + np.arcsinh(1)), abs=1e-4)


def test_places_at_distances_along():
    line = Curve(np.concatenate([make_line((0, 0), (10, 0)).cubics, make_line((10, 0), (10, 5)).cubics]))
    places = line.find_places([0, 4, 12.5, 15, 99, -3])
    assert line.evaluate(places) == pytest.approx(np.array([(0, 0), (4, 0), (10, 2.5), (10, 5), (10, 5), (0, 0)]),
                                                  abs=1e-9)
    arc = make_arc(100, 0, np.pi / 2)
    quarter = arc.evaluate(arc.find_places(100 * np.pi / 4))[0]
    assert quarter == pytest.approx(100 / np.sqrt(2) * np.ones(2), abs=1e-3)


def test_curvature_of_a_circle_is_one_over_its_radius_with_the_sign_of_its_turn():
    arc = make_arc(250, 0, 1, count=8)
    u = np.linspace(0, 7.999, 50)
    assert arc.measure_curvature_per_mm(u) == pytest.approx(np.full(50, 1 / 250), rel=1e-4)
    assert arc.reverse().measure_curvature_per_mm(u) == pytest.approx(np.full(50, -1 / 250), rel=1e-4)


@pytest.mark.parametrize("first, last", [(0.3, 0.6), (0.3, 2.7), (1.0, 2.0), (0.0, 3.0), (-4, 9)])
def test_a_trimmed_part_lies_on_the_curve(first, last):
    arc = make_arc(100, 0, 2, count=3)
    part = arc.trim(first, last)
    low, high = max(first, 0), min(last, 3)
    assert part.start == pytest.approx(arc.evaluate([low])[0], abs=1e-9)
    assert part.end == pytest.approx(arc.evaluate([high])[0], abs=1e-9)
    assert np.hypot(*part.evaluate(np.linspace(0, len(part.cubics) - 1e-9, 40)).T) == pytest.approx(np.full(40, 100),
                                                                                                    abs=0.01)


def test_reversed_curve_runs_the_other_way():
    back = PARABOLA.reverse()
    assert back.start == pytest.approx(PARABOLA.end)
    assert back.find_direction(0) == pytest.approx(-PARABOLA.find_direction(len(PARABOLA.cubics)))


def test_transform_is_affine():
    moved = make_line((1, 2), (3, 4)).transform([[0, -2, 10], [2, 0, 20]])
    assert moved.start == pytest.approx((6, 22)) and moved.end == pytest.approx((2, 26))


def test_extension_runs_straight_on_along_the_tangents():
    longer = PARABOLA.extend(10)
    assert longer.start == pytest.approx((-10, 0), abs=1e-6)
    assert longer.end == pytest.approx(np.array([50, 25]) + 10 / np.sqrt(2), abs=1e-3)


def test_direction_where_a_handle_has_no_length():
    blunt = Curve([[[0, 0], [0, 0], [10, 0], [10, 0]]])
    assert blunt.find_direction(0.0) == pytest.approx((1, 0))
    assert blunt.find_direction(1.0) == pytest.approx((1, 0))


def test_nearest_place():
    u, distance = make_line((0, 0), (10, 0)).find_nearest((4, 3))
    assert (u, distance) == pytest.approx((0.4, 3))
    assert make_line((0, 0), (10, 0)).find_nearest((-4, 3)) == pytest.approx((0, 5))
    arc = make_arc(100, 0, np.pi)
    u, distance = arc.find_nearest((0, 40))
    assert distance == pytest.approx(60, abs=1e-3) and arc.evaluate([u])[0] == pytest.approx((0, 100), abs=1e-3)


def test_crossings_of_a_parabola_and_a_level_line():
    """x^2/100 = 9 at x = 30."""
    (u, v, point), = cross_curves(PARABOLA, make_line((0, 9), (60, 9)))
    assert point == pytest.approx((30, 9), abs=1e-4)
    assert v == pytest.approx(0.5, abs=1e-5)
    assert PARABOLA.evaluate([u])[0] == pytest.approx(point, abs=1e-9)


def test_two_crossings_come_in_order_along_the_first():
    hits = cross_curves(make_line((-200, 50), (200, 50)), make_arc(100, 0, np.pi, count=5))
    assert [h[2][0] for h in hits] == pytest.approx([-np.sqrt(7500), np.sqrt(7500)], abs=0.01)


def test_lines_that_only_touch_at_their_ends_cross_there_and_parallels_never():
    assert len(cross_curves(make_line((0, 0), (10, 0)), make_line((10, 0), (10, 5)))) == 1
    assert cross_curves(make_line((0, 0), (10, 0)), make_line((0, 1), (10, 1))) == []
