"""Strokes: chains split at their breaks, exact extents, clipping that keeps curves, dashes that add up."""
import numpy as np
import pytest
from shapely.geometry import LineString, box
from shapes import make_arc

from plankcore.geometry.bezier import evaluate_cubics
from plankcore.geometry.polyline import measure_arc_mm, measure_distance_mm
from plankcore.geometry.strokes import (
    clip_strokes,
    dash_polyline,
    draw_polyline,
    find_straight,
    flatten_lines,
    flatten_strokes,
    measure_extent,
    sample_lines,
    split_strokes,
)

ARC = make_arc(100.0, 0.3, 5.5).cubics


def test_chains_are_split_where_they_do_not_touch():
    cubics = np.concatenate([draw_polyline([(0, 0), (1, 0), (1, 1)]), draw_polyline([(5, 5), (6, 5)]),
                             draw_polyline([(6, 5), (7, 7)])])
    assert [len(run) for run in split_strokes(cubics)] == [2, 2]


def test_extent_is_exact_where_the_curve_turns_between_its_ends():
    low, high = measure_extent(ARC)
    assert low == pytest.approx((-100, -100), abs=1e-4) and high == pytest.approx((100 * np.cos(0.3), 100), abs=1e-4)
    dense = evaluate_cubics(ARC, np.linspace(0, 1, 2001)).reshape(-1, 2)
    assert (dense.min(axis=0) >= low - 1e-9).all() and (dense.max(axis=0) <= high + 1e-9).all()


@pytest.mark.parametrize("points", [[(0, 0), (3, 4)], [(2, 1), (2, 9)], [(0, 0), (0, 0)]])
def test_extent_of_straight_strokes(points):
    low, high = measure_extent(draw_polyline(points))
    assert low == pytest.approx(np.min(points, axis=0)) and high == pytest.approx(np.max(points, axis=0))


@pytest.mark.parametrize("low, high", [((-50, -50), (50, 120)), ((-120, -120), (120, 120)), ((-100.5, 20), (0, 60)),
                                       ((0, 0), (10, 10)), ((60, -90), (99, 90))])
def test_clipping_keeps_what_a_polygon_library_keeps(low, high):
    """Second opinion: shapely's intersection of the finely flattened arc with the rectangle."""
    runs = clip_strokes(ARC, low, high)
    inside = LineString(flatten_strokes(ARC, tolerance_mm=1e-5)[0]).intersection(box(*low, *high))
    found = [flatten_strokes(run, tolerance_mm=1e-5)[0] for run in runs]
    assert sum(measure_arc_mm(f)[-1] for f in found) == pytest.approx(inside.length, abs=1e-3)
    assert len(found) == len(getattr(inside, "geoms", [inside])) - (inside.length == 0)
    for f in found:
        assert (f >= np.array(low) - 1e-6).all() and (f <= np.array(high) + 1e-6).all()
        assert np.abs(np.hypot(*f.T) - 100).max() < 1e-4


def test_a_line_along_the_very_edge_of_the_rectangle_is_kept_once():
    assert sum(len(r) for r in clip_strokes(draw_polyline([(0, 0), (10, 0)]), (0, 0), (10, 10))) == 1
    assert clip_strokes(draw_polyline([(0, -1), (10, -1)]), (0, 0), (10, 10)) == []


def test_what_is_straight_is_known():
    bent = np.array([[(0, 0), (1, 0.01), (2, 0), (3, 0)]], float)
    assert find_straight(np.concatenate([draw_polyline([(0, 0), (30, 40)]), bent])).tolist() == [True, False]


def test_dashes_add_up_and_bend_round_corners():
    points = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], float)
    dashes = dash_polyline(points, (6, 2))
    assert [measure_arc_mm(d)[-1] for d in dashes] == pytest.approx([6, 6, 6, 6])
    assert dashes[1].tolist() == [[8, 0], [10, 0], [10, 4]]


@pytest.mark.parametrize("off_mm,straight", [(1e-10, True), (2e-8, True), (1e-6, False), (0.01, False)])
@pytest.mark.parametrize("long_mm", [0.5, 30.0, 4000.0])
def test_a_stroke_is_straight_where_its_written_digits_are(long_mm, off_mm, straight):
    """Seven decimals are written: what one solver's rounding or another's bends by is none of them."""
    off_mm = off_mm if straight else off_mm * max(1.0, long_mm / 500)
    line = np.array([[(0, 0), (long_mm / 3, off_mm), (2 * long_mm / 3, -off_mm), (long_mm, 0)]])
    assert find_straight(line).tolist() == [straight]


def test_lines_flattened_together_are_those_flattened_alone():
    rng = np.random.default_rng(8)
    lines = [np.concatenate([draw_polyline(rng.normal(size=(k + 2, 2)) * 40), rng.normal(size=(2, 4, 2)) * 30])
             for k in range(6)]
    points, firsts, owner = flatten_lines(lines, tolerance_mm=0.05)
    together = np.split(points, firsts[1:])
    alone = [(k, run) for k, line in enumerate(lines) for run in flatten_strokes(line, tolerance_mm=0.05)]
    assert [k for k, _ in alone] == owner.tolist()
    for (_, run), other in zip(alone, together):
        np.testing.assert_array_equal(run, other)


def test_places_along_lines_are_as_close_as_asked_and_lie_on_them():
    lines = [draw_polyline([(0, 0), (10, 0), (10, 7)]), draw_polyline([(50, 50), (50.5, 50)])]
    places = sample_lines(lines, tolerance_mm=0.1, step_mm=2.0)
    near = places[places[:, 0] < 20]
    assert len(places) - len(near) == 2                       # of a stroke smaller than a step its ends alone
    assert measure_distance_mm(near, np.array([(0, 0), (10, 0), (10, 7)])).max() < 1e-12
    assert measure_distance_mm(np.column_stack([np.linspace(0, 10, 50), np.zeros(50)]),
                               near[np.lexsort((near[:, 1], near[:, 0]))]).max() < 1.1
