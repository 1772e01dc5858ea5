"""Wood left on: refusals, then boxes and bows that can be measured by hand."""
import numpy as np
import pytest
from shapes import draw_graph, make_bowed_plank, make_line, make_plank, make_straight_plank

from plankcore.allowance.saw_line import MOST_MM, add_allowances
from plankcore.errors import PatternError, SettingError
from plankcore.geometry.outline import measure_outline_area_mm2

NAMES = ("upper", "lower", "fore", "aft")


def add(plank, upper=0.0, lower=0.0, fore=0.0, aft=0.0):
    return add_allowances(plank, added_mm={"upper": upper, "lower": lower, "fore": fore, "aft": aft})


@pytest.mark.parametrize("edge", NAMES)
@pytest.mark.parametrize("value", [-0.1, MOST_MM + 1, float("nan"), float("inf")])
def test_an_allowance_that_is_none_is_refused_and_the_edge_named(edge, value):
    with pytest.raises(SettingError) as caught:
        add(make_straight_plank(), **{edge: value})
    assert edge in caught.value.where and edge in caught.value.problem


def test_an_edge_too_hollow_for_the_allowance_is_refused_with_the_place():
    """The lower edge is cut out 60 mm deep by 60 / (1 + (x / 40)^2), whose radius at the crown is 40^2 / (2 * 60) =
    13.3: 20 mm outward cannot be.
    """
    hollow = draw_graph(lambda x: 200 - 60 / (1 + ((x - 600) / 40) ** 2), lambda x: 60 * 2 * (x - 600) / 1600
                        / (1 + ((x - 600) / 40) ** 2) ** 2, 1200.0, 0.0, tolerance_mm=2e-3)
    top = make_line((1200, 0), (0, 0))
    plank = make_plank(top, hollow, make_line(top.start, hollow.start), make_line(top.end, hollow.end))
    assert add(plank, lower=5)
    with pytest.raises(PatternError, match=r"radius of 13\.[345]") as caught:
        add(plank, lower=20)
    assert caught.value.where == pytest.approx((600, 140), abs=1) and caught.value.remedy


def test_each_edge_moves_out_by_its_own_allowance():
    """A box 1000 x 80: area (1000 + 25 + 40) x (80 + 3 + 4)."""
    saw = add(make_straight_plank(fore=80.0, aft=80.0), upper=3, lower=4, fore=25, aft=40)
    points = np.vstack([c.flatten() for c in saw.curves])
    assert points.min(axis=0) == pytest.approx((50 - 40, 40 - 3), abs=1e-6)
    assert points.max(axis=0) == pytest.approx((1050 + 25, 120 + 4), abs=1e-6)
    assert abs(measure_outline_area_mm2(saw.curves)) == pytest.approx(1065 * 87, rel=1e-9)
    assert saw.added_mm == {"upper": 3, "lower": 4, "fore": 25, "aft": 40}


def test_no_allowance_gives_the_net_outline():
    plank = make_bowed_plank()
    for net, saw in zip(plank.outline(), add(plank).curves):
        assert saw.evaluate([0.0, len(saw.cubics)]) == pytest.approx(net.evaluate([0.0, len(net.cubics)]), abs=1e-6)
    assert abs(measure_outline_area_mm2(add(plank).curves)) == pytest.approx(plank.measure_area_mm2(), rel=1e-9)


@pytest.mark.parametrize("edge, d", [("upper", 3.0), ("lower", 3.0), ("upper", 40.0), ("lower", 40.0)])
def test_wood_is_added_outside_the_bowed_edge_and_only_there(edge, d):
    plank = make_bowed_plank()
    saw = dict(zip(("upper", "aft", "lower", "fore"), add(plank, **{edge: d}).curves))
    net = plank.edges[edge].curve.extend(60)
    other = {"upper": "lower", "lower": "upper"}[edge]
    for point in saw[edge].evaluate(np.linspace(0, len(saw[edge].cubics), 50)):
        assert net.find_nearest(point)[1] == pytest.approx(d, abs=0.01)
        assert plank.edges[other].curve.extend(60).find_nearest(point)[1] > 90
    for point in saw[other].evaluate(np.linspace(0, len(saw[other].cubics), 20)):
        assert plank.edges[other].curve.find_nearest(point)[1] < 0.01


def test_two_sides_of_a_wedge_keep_their_corners_mitred():
    """Ends raked by 45 degrees: the mitre lies out along the end by 25 and along the edge by 3."""
    a, b, c, d = np.array([(1000, 0), (0, 0), (1100, 100), (0, 100.0)])
    saw = add(make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d)), upper=3, fore=25)
    upper = saw.curves[0]
    assert upper.start == pytest.approx((1000 - 3 + 25 * np.sqrt(2), -3), abs=1e-6)
