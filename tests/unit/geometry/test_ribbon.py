"""Axes along the middle of two edges. Refusals first; then rings, whose axes are known."""
import numpy as np
import pytest
from shapes import draw_graph, make_arc

from plankcore.geometry.curve import Curve, make_line
from plankcore.geometry.ribbon import carry_curve, find_places_at, lay_ribbon

START, ALONG = np.array([0.0, 0.0]), np.array([1.0, 0.0])


def lay_ring(inner=1950.0, outer=2050.0, half=0.4):
    """Ring sector about the origin, over a level axis; left of travel is outward."""
    first, last = -np.pi / 2 - half, -np.pi / 2 + half
    upper, lower = make_arc(outer, first, last), make_arc(inner, first, last)
    return upper, lower, lay_ribbon(upper, lower, start=START, along=ALONG, reach=(-900.0, 900.0))


def rest(x):
    return np.zeros(len(x))


def keep(x, v):
    return v


def test_an_edge_that_turns_back_is_refused():
    hook = Curve(np.array([[[0, 0], [900, 0], [900, 60], [300, 60]]], float))
    with pytest.raises(ValueError, match="turns back"):
        lay_ribbon(hook, make_line((0, 100), (900, 100)), start=START, along=ALONG, reach=(0.0, 900.0))


def test_points_beyond_the_ends_are_refused():
    ribbon = lay_ring()[2]
    with pytest.raises(ValueError, match="beyond the ribbon's ends"):
        ribbon.read(np.array([[1500.0, -1900.0]]))


def test_what_lies_past_the_centre_of_bend_is_refused():
    ribbon = lay_ring()[2]
    with pytest.raises(ValueError):
        ribbon.read(np.array([[100.0, 600.0]]))


def test_the_middle_line_of_a_ring_turns_about_its_centre():
    """The middle of two concentric arcs over one x is not quite the middle radius: 0.02 mm here, the second difference
    of sqrt(r^2 - x^2).
    """
    ribbon = lay_ring()[2]
    x = np.linspace(-600, 600, 41)
    points, ways, _, _ = ribbon.find_frames(x)
    assert np.abs(np.hypot(*points.T) - 2000).max() < 0.1
    assert np.abs(np.sum(points * ways, axis=1)).max() < 0.5
    assert ribbon.measure_length_mm(-600, 600) == pytest.approx(2 * 2000 * np.arcsin(0.3), abs=0.05)


def test_places_read_and_placed_again_are_the_same():
    _upper, _lower, ribbon = lay_ring()
    rng = np.random.default_rng(3)
    x, v = rng.uniform(-700, 700, 200), rng.uniform(-60, 60, 200)
    x_again, v_again = ribbon.read(ribbon.place(x, v))
    assert np.abs(x_again - x).max() < 1e-8 and np.abs(v_again - v).max() < 1e-8


def test_offsets_of_the_edges_are_half_the_width_each():
    upper, lower, ribbon = lay_ring()
    x = ribbon.nodes_mm
    inner = np.abs(x) < 700
    for curve, side in ((upper, 50.0), (lower, -50.0)):
        assert ribbon.measure_offsets(curve)[inner] == pytest.approx(np.full(inner.sum(), side), abs=0.1)


def test_nothing_changed_gives_the_very_same_curve():
    upper, _, ribbon = lay_ring()
    again = carry_curve(upper, ribbon, ribbon.stretch(rest, about=0.0), across=keep)
    assert np.abs(again.evaluate(np.linspace(0, len(again.cubics), 300))
                  - upper.evaluate(np.linspace(0, len(upper.cubics), 300))).max() < 1e-6


def test_a_ring_stretched_evenly_keeps_its_angle_and_grows_in_radius():
    """A share e on the middle radius of 2000: the turning stays, so the radius there is 2000 (1 + e); the edges stay 50
    mm off.
    """
    upper, lower, ribbon = lay_ring()
    target = ribbon.stretch(lambda x: np.full(len(x), 0.01), about=0.0)
    for curve, side in ((upper, 50.0), (lower, -50.0)):
        moved = carry_curve(curve, ribbon, target, across=keep)
        points = moved.evaluate(np.linspace(0, len(moved.cubics), 400)) - np.array([0.0, 20.0])
        assert np.abs(np.hypot(*points.T) - (2020 + side)).max() < 0.02
        assert np.ptp(np.arctan2(points[:, 0], -points[:, 1])) == pytest.approx(0.8, abs=1e-5)


def test_a_straight_strip_stretched_and_narrowed_unevenly():
    """Strain x / 10^5 from 0 to 1000 adds 5 mm; widths shrink to 1 - x / 10^4, with a kink at 400 where they stay."""
    upper, lower = make_line((0, 0), (1000, 0)), make_line((0, 100), (1000, 100))
    ribbon = lay_ribbon(upper, lower, start=np.array([0.0, 50.0]), along=ALONG, reach=(-10.0, 1010.0))
    target = ribbon.stretch(lambda x: x / 1e5, about=0.0)
    moved = carry_curve(upper, ribbon, target, across=lambda x, v: v * (1 - np.minimum(x, 400) / 1e4), breaks=[400.0])
    assert moved.end == pytest.approx((1005.0, 50 - 50 * 0.96), abs=1e-6)
    points = moved.evaluate(np.linspace(0, len(moved.cubics), 200))
    x = (-1 + np.sqrt(1 + 2e-5 * points[:, 0])) * 1e5
    assert np.abs(points[:, 1] - (50 - 50 * (1 - np.minimum(x, 400) / 1e4))).max() < 0.006
    assert len(moved.cubics) < 8


def test_places_at_given_x_are_found():
    curve = draw_graph(lambda x: 20 * np.sin(x / 200), lambda x: 0.1 * np.cos(x / 200), 1000.0, 0.0)
    ribbon = lay_ribbon(curve, make_line((1000, 100), (0, 100)), start=START, along=ALONG, reach=(-20.0, 1020.0))
    wanted = [123.0, 400.0, 777.0]
    found = find_places_at(curve, ribbon, wanted)
    assert sorted(ribbon.read(curve.evaluate(found))[0]) == pytest.approx(wanted, abs=1e-7)
    assert find_places_at(curve, ribbon, [1015.0]) == [] and find_places_at(curve, ribbon, []) == []
