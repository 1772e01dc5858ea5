"""Outlines moved by a distance that varies along them. Refusals first; then lines and circles, whose moved shapes are
known.
"""
import numpy as np
import pytest
from shapes import draw_graph, draw_rectangle, make_arc, make_chain

from plankcore.geometry.curve import make_line
from plankcore.geometry.outline import OffsetFailure, offset_outline
from plankcore.geometry.outward import offset_curve_varied, offset_outline_varied

BOX = make_chain(draw_rectangle(400.0, 100.0))


def rest(u):
    return np.zeros(len(u))


def test_a_move_past_the_middle_of_a_hollow_is_refused_with_the_place():
    arc = make_arc(50.0, 0.0, 2.0, count=1)
    inward = 1.0 if arc.measure_curvature_per_mm([0.5])[0] < 0 else -1.0
    with pytest.raises(OffsetFailure, match="radius of 50"):
        offset_curve_varied(arc, lambda u: inward * (40.0 + 20.0 * u))


@pytest.mark.parametrize("faulty", [lambda u: np.where(u > 0.5, np.nan, 1.0), lambda u: np.where(u > 0.5, np.inf, 1.0)])
def test_a_distance_that_is_no_number_is_refused(faulty):
    with pytest.raises(OffsetFailure, match="not a number"):
        offset_curve_varied(BOX[0], faulty)


def test_edges_moved_through_each_other_are_refused():
    with pytest.raises(OffsetFailure):
        offset_outline_varied(BOX, [lambda u: -60.0 + 0 * u, rest, lambda u: -60.0 + 0 * u, rest])


def test_a_distance_too_rough_to_follow_is_refused():
    with pytest.raises(OffsetFailure):
        offset_curve_varied(BOX[0], lambda u: np.where(u > 1 / np.sqrt(2), 5.0, 0.0))


def test_no_distance_gives_the_very_same_curves():
    assert all(a is b for a, b in zip(offset_outline_varied(BOX, [rest] * 4), BOX))


def test_a_line_moved_evenly_more_is_a_line():
    """4 mm at the left end and 10 at the right: the moved line runs from (0, -4) to (400, -10), and the ends are run on
    to meet it.
    """
    moved = offset_outline_varied(BOX, [lambda u: 4 + 6 * u, lambda u: 2 + 0 * u, rest, rest])
    top = moved[0].evaluate(np.linspace(0, len(moved[0].cubics), 9))
    assert np.abs(top[:, 1] + 4 + 6 * top[:, 0] / 400).max() < 1e-3
    assert moved[0].start == pytest.approx((0, -4), abs=1e-6) and moved[0].end == pytest.approx((402, -10.03), abs=2e-3)
    assert moved[1].start == pytest.approx(moved[0].end) and moved[1].end == pytest.approx((402, 100), abs=1e-6)


@pytest.mark.parametrize("backwards", [False, True])
def test_an_even_distance_agrees_with_the_plain_offset_either_way_round(backwards):
    low = draw_graph(lambda x: 100 + 20 * np.sin(x / 100), lambda x: 0.2 * np.cos(x / 100), 400.0, 0.0)
    chain = [BOX[0], make_line((400, 0), low.start), low, make_line(low.end, (0, 0))]
    added = [3.0, 0.5, -2.0, 1.0]
    if backwards:
        chain, added = [c.reverse() for c in chain[::-1]], added[::-1]
    plain = offset_outline(chain, added)
    varied = offset_outline_varied(chain, [lambda u, d=d: d + 0 * u for d in added])
    for a, b in zip(plain, varied):
        at = np.linspace(0, 1, 50)
        gap = [b.find_nearest(p)[1] for p in a.evaluate(at * len(a.cubics))]
        assert max(gap) < 0.01 and np.allclose(a.end, b.end, atol=0.01)


def test_a_circle_moved_by_a_wave_and_a_kink_is_met_everywhere():
    """About a circle the moved point at azimuth a lies at radius + distance: checked by radius, not by construction."""
    arc = make_arc(500.0, -1.0, 1.0, count=8)

    def distance(u):
        return 5 * np.sin(u) + np.abs(u - 3.3)
    moved = offset_curve_varied(arc, distance, breaks=[3.3], tolerance_mm=0.002)
    points = moved.evaluate(np.linspace(0, len(moved.cubics), 4001))
    u = (np.arctan2(points[:, 1], points[:, 0]) + 1.0) / 2.0 * 8
    away = np.hypot(*points.T) - 500.0
    sign = np.sign(away[2000] * distance(u[2000:2001])[0])
    assert np.abs(away - sign * distance(u)).max() < 0.01
    assert len(moved.cubics) < 60
