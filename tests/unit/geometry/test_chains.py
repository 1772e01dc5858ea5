"""Pieces of line joined end to end, and cut where they turn."""
import numpy as np
import pytest
from shapes import turn

from plankcore.geometry.polyline import measure_arc_mm
from plankcore.geometry.traced_lines import join_runs, split_at_turns

JOIN = {"gap_mm": 20.0, "turn_deg": 20.0, "reach_mm": 12.0}


def rule(first, last, y=0.0):
    return np.column_stack([np.linspace(first, last, int(abs(last - first)) + 1),
                            np.full(int(abs(last - first)) + 1, float(y))])


def test_nothing_gives_nothing():
    assert join_runs([], **JOIN) == []


@pytest.mark.parametrize("second", [rule(125, 200), rule(106, 200, y=6), turn(rule(106, 200), 40, about=(106, 0))])
def test_too_far_beside_or_turned_stays_apart(second):
    assert len(join_runs([rule(0, 100), second], **JOIN)) == 2


@pytest.mark.parametrize("pieces", [
    [rule(0, 100), rule(106, 200), rule(210, 300)],
    [rule(210, 300), rule(0, 100)[::-1], rule(200, 106)],
    [rule(106, 200), rule(300, 210), rule(100, 0)],
])
def test_pieces_in_any_order_and_direction_make_one_chain(pieces):
    chain, = join_runs(pieces, **JOIN)
    chain = chain if chain[0, 0] < chain[-1, 0] else chain[::-1]
    assert chain[[0, -1]] == pytest.approx(np.array([(0, 0), (300, 0)]))
    assert (np.diff(chain[:, 0]) > 0).all()


def test_where_pieces_overlap_the_chain_does_not_go_back():
    chain, = join_runs([rule(0, 100), rule(95, 200)], **JOIN)
    chain = chain if chain[0, 0] < chain[-1, 0] else chain[::-1]
    assert (np.diff(chain[:, 0]) > 0).all() and measure_arc_mm(chain)[-1] == pytest.approx(200, abs=1)


def test_a_line_traced_twice_stays_on_its_own():
    assert len(join_runs([rule(0, 100), rule(0, 100, y=1.5)], **JOIN)) == 2


def test_the_best_of_two_continuations_is_taken():
    chains = join_runs([rule(0, 100), rule(104, 150, y=3), rule(104, 140, y=0.2)], **JOIN)
    assert sorted(len(c) for c in chains) == [47, 101 + 37]


def test_an_angle_is_cut_into_its_legs_without_the_corner():
    corner = np.vstack([rule(0, 100), np.column_stack([np.full(60, 100.0), np.arange(1, 61)])])
    legs = split_at_turns(corner, step_mm=1, window_mm=8, least_deg=35, margin_mm=4)
    assert [len(p) for p in legs] == pytest.approx([97, 57], abs=3)
    assert np.ptp(legs[0][:, 1]) == 0 and np.ptp(legs[1][:, 0]) == 0


def test_a_gentle_curve_is_left_whole():
    a = np.linspace(0, 1, 201)
    arc = 200 * np.column_stack([np.sin(a), 1 - np.cos(a)])
    assert len(split_at_turns(arc, step_mm=1, window_mm=8, least_deg=35, margin_mm=4)) == 1
