"""Strokes: chains split at their breaks, exact extents, clipping that keeps curves, dashes that add up."""
import numpy as np
import pytest
from shapely.geometry import LineString, box
from shapes import make_arc

from plankcore.geometry.bezier import evaluate_cubics
from plankcore.geometry.polyline import measure_arc_mm
from plankcore.geometry.strokes import (
    clip_strokes,
    dash_polyline,
    draw_polyline,
    find_straight,
    flatten_strokes,
    measure_extent,
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
