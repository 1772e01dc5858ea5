"""The outer line of two curves side by side: lines and waves whose places are known."""
import numpy as np
import pytest
from shapes import draw_graph, make_arc

from plankcore.geometry.curve import Curve, make_line
from plankcore.geometry.outward import join_outer, measure_aside_mm

LINE = make_line((0, 0), (1000, 0))


def wave(height, count, *, level=0.0):
    """y = level - height sin(count pi x / 1000): with y down, `height` is to the left of travel where the sine is
    positive.
    """
    k = count * np.pi / 1000
    return draw_graph(lambda x: level - height * np.sin(k * x), lambda x: -height * k * np.cos(k * x), 0.0, 1000.0)


def test_where_nothing_is_abreast_the_distance_is_not_a_number():
    aside, places = measure_aside_mm(LINE, make_line((400, -5), (600, -5)), [0.1, 0.5, 0.9])
    assert np.isnan(aside[[0, 2]]).all() and np.isnan(places[[0, 2]]).all() and aside[1] == pytest.approx(
        5) and places[1] == pytest.approx(0.5)


def test_distance_to_the_left_of_a_line():
    aside, places = measure_aside_mm(LINE, wave(7, 3), np.linspace(0, 1, 41))
    assert aside == pytest.approx(7 * np.sin(3 * np.pi * np.linspace(0, 1, 41)), abs=0.006)
    assert places[0] == pytest.approx(0, abs=1e-6) and (np.diff(places) > 0).all()


def test_distance_between_circles_is_the_difference_of_radii():
    inner, outer = make_arc(500.0, 0.0, 1.0), make_arc(512.0, -0.1, 1.1)
    sign = np.sign(measure_aside_mm(inner, outer, [12.0])[0][0])
    assert measure_aside_mm(inner, outer, np.linspace(0, 24, 50))[0] == pytest.approx(sign * 12, abs=1e-4)
    assert measure_aside_mm(outer, inner, [3.0, 12.0])[0] == pytest.approx(-sign * 12, abs=1e-4)


def test_the_nearer_of_two_crossings_is_meant():
    hook = Curve(np.concatenate([make_line((0, -4), (600, -4)).cubics, make_line((600, -4), (600, -300)).cubics,
                                 make_line((600, -300), (0, -300)).cubics]))
    assert measure_aside_mm(LINE, hook, [0.3])[0] == pytest.approx(4)


def test_one_curve_outside_all_along_is_given_back_itself():
    above = wave(2, 1, level=-5.0)
    assert join_outer(LINE, above, left=1.0) is above and join_outer(above, LINE, left=1.0) is above
    assert join_outer(LINE, above, left=-1.0) is LINE


def test_curves_that_are_the_same_within_the_fit_are_not_switched_between():
    assert join_outer(LINE, wave(0.003, 9), left=1.0) is LINE


@pytest.mark.parametrize("count", [1, 2, 3, 6])
@pytest.mark.parametrize("swapped", [False, True])
@pytest.mark.parametrize("left", [1.0, -1.0])
def test_the_outer_line_is_the_larger_at_every_place_and_cut_at_the_crossings(count, swapped, left):
    """Line and sine cross at every 1000 / count mm; between, the larger of both is known."""
    pair = [LINE, wave(6, count, level=0.0)]
    joined = join_outer(*(pair[::-1] if swapped else pair), left=left)
    points = joined.evaluate(np.linspace(0, len(joined.cubics), 2001))
    sine = 6 * np.sin(count * np.pi * points[:, 0] / 1000)
    assert -points[:, 1] == pytest.approx(np.maximum(sine, 0) if left > 0 else np.minimum(sine, 0), abs=0.006)
    joints = joined.cubics[:-1, 3, 0]
    for k in range(1, count):
        assert np.abs(joints - 1000 * k / count).min() < 0.5
    assert np.array_equal(joined.cubics[1:, 0], joined.cubics[:-1, 3]) and (np.diff(points[:, 0]) > 0).all()


def test_a_stretch_in_common_costs_one_cut():
    """Level with the line to x = 400, then leaving it to the left, back, and to the right of it."""
    other = Curve(np.concatenate([make_line((0, 0), (400, 0)).cubics, make_line((400, 0), (600, -8)).cubics,
                                  make_line((600, -8), (1000, 8)).cubics]))
    joined = join_outer(LINE, other, left=1.0)
    points = joined.evaluate(np.linspace(0, len(joined.cubics), 1001))
    assert -points[:, 1] == pytest.approx(np.interp(points[:, 0], [0, 400, 600, 800, 1000], [0, 0, 8, 0, 0]), abs=1e-6)
    assert len(joined.cubics) <= 5
