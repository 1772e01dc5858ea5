"""Ends of a plank known by marks of their own, and marks that bring their own errors. All planks are invented."""
import numpy as np
import pytest

from plankcore.errors import SelectionError
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.curve import make_line
from plankcore.geometry.polyline import measure_distance_mm
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern

LENGTH, WIDTH, RAKE, BOW = 2000.0, 120.0, 30.0, 6.0


def cross(x, y, edge="", error=0.0, station=""):
    """A small cross, as Read Marks writes them."""
    arms = [make_line((x - 2, y), (x + 2, y)).cubics, make_line((x, y - 2), (x, y + 2)).cubics]
    return Trace(tuple((a, False) for a in arms), "mark", edge=edge, station=station, error_mm=error)


def edge_marks(errors=(0.3, 0.3)):
    along = np.linspace(20, LENGTH - 60, 9)
    return [cross(x, y, edge, e) for edge, y, e in (("upper", 0.0, errors[0]), ("lower", WIDTH, errors[1]))
            for x in along]


def fore_end(t):
    """A raked end that bows forward by BOW, from the upper corner (t = 0) to the lower."""
    return np.stack([LENGTH - RAKE * t + 4 * BOW * t * (1 - t), WIDTH * t], axis=-1)


def end_marks(count=5):
    fore = [cross(*fore_end(t), "fore", 0.2) for t in np.linspace(0.05, 0.95, count)]
    aft = [cross(0.0, y, "aft", 0.2) for y in (10.0, 60.0, 110.0)]
    return fore + aft


def fair(traces, **settings):
    return fair_plank(read_pattern(traces, forward="right"), settings=FairSettings(**settings))


def test_a_bowed_end_follows_its_marks_and_a_straight_one_is_a_line():
    plank = fair(edge_marks() + end_marks(), honest_error_mm=0.3)
    t = np.linspace(-0.1, 1.1, 2000)
    assert measure_distance_mm(plank.edges["fore"].curve.flatten(), fore_end(t)).max() < 0.1
    assert plank.edges["aft"].straight and not plank.edges["fore"].straight
    corner = plank.find_corners()
    assert corner["upper fore"] == pytest.approx(fore_end(0.0), abs=0.1) and corner["lower fore"] == pytest.approx(
        fore_end(1.0), abs=0.1)
    assert corner["upper aft"] == pytest.approx((0, 0), abs=0.05)


def test_three_marks_show_the_whole_bow():
    """A parabola through three marks, run on to the corners: the bow and both corners of an end that is one."""
    plank = fair(edge_marks() + end_marks(3), honest_error_mm=0.3)
    t = np.linspace(-0.1, 1.1, 2000)
    assert measure_distance_mm(plank.edges["fore"].curve.flatten(), fore_end(t)).max() < 0.1
    corner = plank.find_corners()
    assert corner["upper fore"] == pytest.approx(fore_end(0.0), abs=0.1) and corner["lower fore"] == pytest.approx(
        fore_end(1.0), abs=0.1)


def test_two_marks_give_a_straight_raked_end():
    plank = fair(edge_marks() + [cross(LENGTH, 5, "fore"), cross(LENGTH - 25, 115, "fore"), cross(0, 5, "aft"),
                                 cross(0, 115, "aft")])
    assert plank.edges["fore"].straight
    assert plank.find_corners()["lower fore"] == pytest.approx((LENGTH - 25 - 5 * 25 / 110, WIDTH), abs=0.05)


def test_one_mark_is_no_end():
    with pytest.raises(SelectionError, match="fore end has neither a line nor two marks"):
        fair(edge_marks() + end_marks()[-3:] + [cross(LENGTH, 60, "fore")])


def test_one_end_may_be_a_line_and_the_other_marks():
    line = Trace(((make_line((-2, -10), (-2, WIDTH + 10)).cubics, False),), "line")
    plank = fair(edge_marks() + end_marks()[:5] + [line])
    assert plank.find_corners()["upper aft"] == pytest.approx((-2, 0), abs=0.05)


def test_marks_are_weighed_by_their_own_errors():
    """One mark 3 mm out: with a stated error of 5 mm it hardly moves the edge, with 0.1 mm it rules it."""
    def read_bump(error):
        traces = edge_marks()
        traces[4] = cross(20 + 4 * (LENGTH - 80) / 8, 3.0, "upper", error)
        plank = fair(traces + end_marks(), honest_error_mm=0.3)
        curve = plank.edges["upper"].curve
        return float(curve.evaluate([curve.find_nearest((980, 0))[0]])[0, 1])
    assert abs(read_bump(5.0)) < 0.1 and read_bump(0.1) > 2.0


def test_end_marks_are_reported_with_the_others():
    plank = fair(edge_marks() + end_marks(), honest_error_mm=0.3)
    assert sum(m.edge == "fore" for m in plank.marks) == 5 and sum(m.edge == "aft" for m in plank.marks) == 3
    assert all(abs(m.residual_mm) < 0.3 and m.verdict == "used" for m in plank.marks)
