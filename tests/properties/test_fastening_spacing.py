"""No two fastenings of a plank, of whatever groups, stand too near each other: every pair, on invented planks, by a
reader of the drawn crosses of its own.

The rule: four shanks along the grain or two across it, and 1 mm of wood between two plugs' holes: common practice, no
source.
"""
import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapes import make_line, make_plank

from plankcore.errors import PatternError
from plankcore.fastenings.lay_out import FasteningSettings, SizeSettings, lay_out_fastenings
from plankcore.model.joints_and_fastenings import PlacedJoint
from plankcore.stations.strike import StationSettings, strike_stations

LOOSE_MM = 0.1


def read_crosses(layout):
    """(middle, radius of the circle drawn) of each fastening, from what is drawn alone: the circle is what of the chain
    lies at one distance from its middle.
    """
    found = []
    for line in layout.overlay.lines:
        if line.role == "fastening":
            ends = line.cubics[:, [0, 3]].reshape(-1, 2)
            middle = (ends.max(axis=0) + ends.min(axis=0)) / 2
            found.append((middle, np.hypot(*(ends - middle).T).min()))
    return found


def find_grain(edges, point):
    """Way of the grain there, a unit (2,): between those of both edges at their places next to the point."""
    ways = []
    for line in edges:
        at = line.project(shapely.Point(*point))
        a, b = (line.interpolate(min(max(at + d, 0.0), line.length)) for d in (-2.0, 2.0))
        way = np.array([b.x - a.x, b.y - a.y])
        ways.append(way / np.hypot(*way))
    return sum(ways) / np.hypot(*sum(ways))


def list_clashes(layout, edges, shank_mm):
    """Pairs that stand too near, in words."""
    found = []
    for (a, plug_a), (b, plug_b) in itertools.combinations(read_crosses(layout), 2):
        apart = np.hypot(*(a - b))
        if apart > 60:
            continue
        way = find_grain(edges, (a + b) / 2)
        along, across = abs((a - b) @ way), abs((a - b) @ np.array([-way[1], way[0]]))
        if apart < plug_a + plug_b + (1.0 if layout.size.plug_mm else 0.0) - LOOSE_MM:
            found.append("holes %.2f apart" % apart)
        if along < 4 * shank_mm - LOOSE_MM and across < 2 * shank_mm - LOOSE_MM:
            found.append("%.2f along and %.2f across" % (along, across))
    return found


@st.composite
def invented(draw):
    """A plank with straight or bent edges, narrow or wide, both ends raked, its frames near and far, and a butt or a
    scarf near a frame.
    """
    fore, aft = draw(st.floats(35, 240)), draw(st.floats(35, 240))
    sny, length = draw(st.floats(-60, 60)), draw(st.floats(700, 1500))
    rakes = draw(st.floats(-220, 220)), draw(st.floats(-220, 220))
    thickness = draw(st.sampled_from([14.0, 22.0, 30.0]))
    corner = {"a": (length, 0.0), "b": (0.0, sny), "c": (length + rakes[0], fore), "d": (rakes[1], aft + sny)}
    a, b, c, d = (np.array(corner[k]) for k in "abcd")
    plank = make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), thickness_mm=thickness)
    stations, _ = strike_stations(plank, settings=StationSettings(first_mm=draw(st.floats(30, 200)),
                                                                  spacing_mm=draw(st.floats(70, 260))))
    joints = []
    kind = draw(st.sampled_from(["none", "butt", "scarf"]))
    if kind != "none" and len(stations) > 2:
        at = stations[len(stations) // 2]
        line = at.line + np.array([draw(st.floats(-120, 120)), 0.0])
        joints = [PlacedJoint("1", kind, bay="1-2", distance_mm=0.0,
                              length_mm=6 * thickness if kind == "scarf" else 0.0,
                              slope=6.0 if kind == "scarf" else 0.0, line=line, thickness_mm=thickness,
                              feather="aft" if kind == "scarf" else "")]
    edges = [shapely.LineString([a, b]), shapely.LineString([c, d])]
    return plank, stations, joints, edges


@settings(max_examples=25)
@given(invented(), st.integers(0, 6), st.sampled_from(["hood", "butt", "none"]), st.sampled_from(["hood", "butt"]),
       st.floats(12, 60), st.floats(10, 20), st.floats(0, 25), st.sampled_from([30.0, 45.0, 80.0]))
def test_no_two_fastenings_clash(made, count, fore, aft, hood, stagger, edge, sided):
    plank, stations, joints, edges = made
    asked = FasteningSettings(rule="own" if count else "small", own_count=count, butt_count=2 * count, fore_end=fore,
                              aft_end=aft, hood_mm=hood, stagger_mm=stagger, edge_mm=edge,
                              end_mm=20.0, sided_mm=sided, size=SizeSettings(heads="auto"))
    try:
        layout = lay_out_fastenings(plank, stations=stations, joints=joints, settings=asked)
    except PatternError as error:
        assume("No fastening has room" not in error.problem and "no frame stations" not in error.problem)
        raise
    assert list_clashes(layout, edges, layout.size.diameter_mm) == []
    said = " ".join(f.text for f in layout.overlay.findings)
    for one in layout.bare:
        assert 0 < one.length_mm == pytest.approx(float(np.hypot(*np.subtract(*one.ends_mm))),
                                                  abs=0.5) and ("Bare for" in said)
    for station in stations:
        here = sum(f.kind == "frame" and f.station == station.label for f in layout.fastenings)
        wanted = count or (2 if station.width_mm <= 6 * 25.4 else 3)
        assert here == wanted or any(b.station == station.label and b.kind == "frame"
                                     and (b.wanted, b.count) == (wanted, here) for b in layout.bare) or "Frame" in said


def test_a_planted_clash_is_found():
    plank = make_plank(make_line((1000, 0), (0, 0)), make_line((1000, 120), (0, 120)),
                       make_line((1000, 0), (1000, 120)), make_line((0, 0), (0, 120)), thickness_mm=22.0)
    stations, _ = strike_stations(plank, settings=StationSettings(first_mm=150.0, spacing_mm=200.0))
    layout = lay_out_fastenings(plank, stations=stations, settings=FasteningSettings())
    edges = [shapely.LineString([(1000, 0), (0, 0)]), shapely.LineString([(1000, 120), (0, 120)])]
    assert list_clashes(layout, edges, 6.35) == []
    line = next(line for line in layout.overlay.lines if line.role == "fastening")
    for shift, words in (((13.0, 0.0), "holes 13.00 apart"), ((20.0, 5.0), "20.00 along and 5.00 across")):
        near = replace(line, cubics=line.cubics + np.array(shift))
        spoilt = replace(layout, overlay=replace(layout.overlay, lines=(*layout.overlay.lines, near)))
        assert words in list_clashes(spoilt, edges, 6.35)
