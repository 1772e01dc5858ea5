"""Parts of a plank put together again are the plank; areas and overlaps by shapely."""
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from invented_planks import invent_plank
from shapely import union_all
from shapely.geometry import Polygon
from shapes import draw_graph, make_plank, measure_gap

from plankcore.errors import PatternError
from plankcore.geometry.curve import make_line
from plankcore.geometry.outline import flatten_outline, measure_outline_area_mm2
from plankcore.joints.place import JointSettings, place_joints
from plankcore.stations.strike import StationSettings, strike_stations

TRUE_MM = 0.02


class Found(tuple):
    """A plank and its plan, told briefly."""

    def __repr__(self):
        return "plank of %.0f mm: %s" % (self[0].measure_length_mm(),
                                         [(j.kind, j.bay, j.slope) for j in self[1].joints])


@st.composite
def jointed(draw):
    """An invented plank with raked ends, turned on the page, and its JointPlan."""
    length, upper, lower = invent_plank(draw(st.integers(0, 59)))
    rakes = [draw(st.floats(-40, 40)) for _ in range(2)]
    a = draw_graph(upper, lambda x: (upper(x + 0.01) - upper(x - 0.01)) / 0.02, length, 0.0, tolerance_mm=1e-3)
    b = draw_graph(lower, lambda x: (lower(x + 0.01) - lower(x - 0.01)) / 0.02, length + rakes[0], rakes[1],
                   tolerance_mm=1e-3)
    t = draw(st.floats(-3.1, 3.1))
    matrix = np.array([[np.cos(t), -np.sin(t), draw(st.floats(-500, 500))],
                       [np.sin(t), np.cos(t), draw(st.floats(-500, 500))]])
    edges = [c.transform(matrix) for c in (a, b, make_line(a.start, b.start), make_line(a.end, b.end))]
    plank = make_plank(*edges, strake="5", thickness_mm=draw(st.floats(12, 30)))
    stations = strike_stations(plank, settings=StationSettings(first_mm=150, spacing_mm=230))[0]
    bays = draw(st.lists(st.integers(1, len(stations) - 2), min_size=1, max_size=3, unique=True))
    joints = ", ".join("%s %s-%s" % (draw(st.sampled_from(["butt", "scarf"])), stations[k].label,
                                     stations[k + 1].label) for k in bays)
    settings = JointSettings(joints=joints, fore_end="hood", aft_end="hood",
                             slope=draw(st.sampled_from([4.0, 8.0, 12.0])),
                             square_to=draw(st.sampled_from(["run", "frames"])))
    try:
        return Found((plank, place_joints(plank, stations, settings=settings)))
    except PatternError:                                   # scarfs that run into each other, or off the end
        assume(False)


def polygon(curves):
    return Polygon(flatten_outline(curves, tolerance_mm=1e-4))


@given(jointed())
def test_the_parts_together_are_the_plank(found):
    plank, plan = found
    whole, parts = polygon(plank.outline()), [polygon(p.curves) for p in plan.parts]
    assert all(p.is_valid for p in parts) and len(parts) == len(plan.joints) + 1
    rim = TRUE_MM * plank.measure_length_mm()
    # on a grid of a millionth: in full doubles shapely's union can drop a whole polygon whose side is another's but for
    # the last digit
    assert union_all(parts, grid_size=1e-6).symmetric_difference(whole, grid_size=1e-6).area < rim
    # what lies twice is the scarfs, and nothing else
    assert sum(p.area for p in parts) - whole.area == pytest.approx(
        sum(a.intersection(b).area for a, b in zip(parts, parts[1:])), abs=rim)
    for a, b, joint in zip(parts, parts[1:], plan.joints):
        wide = float(np.hypot(*(joint.line[1] - joint.line[0])))
        assert a.intersection(b).area == pytest.approx(joint.length_mm * wide, rel=0.02, abs=1.0)
    for part in plan.parts:
        assert abs(measure_outline_area_mm2(part.curves)) == pytest.approx(polygon(part.curves).area, abs=1.0)


@given(jointed())
def test_every_part_lies_on_the_planks_own_edges(found):
    plank, plan = found
    for part in plan.parts:
        for curve, name in zip((part.curves[0], part.curves[2]), ("upper", "lower")):
            points = curve.evaluate(np.linspace(0, len(curve.cubics), 60))
            assert measure_gap(points, plank.edges[name].curve.flatten(tolerance_mm=1e-4)) < 1e-3


@given(jointed())
def test_parts_and_their_crosses_laid_apart_agree_by_one_rigid_map(found):
    """The outline drawn below, moved back by the shift it carries, is the part; its crosses, moved back by the same,
    are those on the plank.
    """
    _, plan = found
    outlines = {dict(one.values)["part"]: one for one in plan.overlay.lines if one.role == "part"}
    crosses = [one for one in plan.overlay.lines if one.role == "register"]
    here = np.array([one.cubics[0] for one in crosses if dict(one.values)["part"] == "whole"])
    assert len(outlines) == len(plan.parts) and len(here)
    for part in plan.parts:
        drawn = outlines[str(part.number)]
        shift = np.array([float(v) for v in dict(drawn.values)["shift_mm"].split()])
        assert np.abs(drawn.cubics - shift - np.concatenate([c.cubics for c in part.curves])).max() < TRUE_MM
        mine = [one.cubics[0] - shift for one in crosses if dict(one.values)["part"] == str(part.number)]
        assert len(mine) >= 4                              # two strokes to a cross, two crosses at least to each joint
        for cross in mine:
            assert np.abs(here - cross).max(axis=(1, 2)).min() < TRUE_MM


@given(jointed())
def test_what_lies_side_by_side_below_does_not_overlap(found):
    _, plan = found
    laid = [Polygon(np.concatenate([one.cubics[:, 0], one.cubics[-1:, 3]])) for one in plan.overlay.lines
            if one.role == "part"]
    for k, a in enumerate(laid):
        assert all(a.buffer(0).intersection(b.buffer(0)).area < 1.0 for b in laid[k + 1:])


@given(jointed())
def test_the_crosses_of_a_joint_stand_on_one_straight_line(found):
    """So that a string along both parts proves them."""
    _, plan = found
    for joint in plan.joints:
        middles = np.array([one.cubics[0, [0, 3]].mean(axis=0) for one in plan.overlay.lines
                            if one.role == "register" and dict(one.values)["part"] == "whole"
                            and dict(one.values)["joint"] == joint.label])
        way = middles.max(axis=0) - middles.min(axis=0)
        far = middles[np.argmax(np.hypot(*(middles - middles[0]).T))]
        near = middles[np.argmax(np.hypot(*(middles - far).T))]
        across = np.array([-(far - near)[1], (far - near)[0]]) / np.hypot(*(far - near))
        assert np.hypot(*way) > 20.0 and np.abs((middles - near) @ across).max() < 1e-6
