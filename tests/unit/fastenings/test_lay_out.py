"""Fastenings of a plank. Refusals first; then planks with straight edges, on which every place is a sum."""
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from shapes import make_line, make_plank, make_straight_plank

from plankcore.errors import PatternError, SettingError
from plankcore.fastenings.groups import Spacing
from plankcore.fastenings.lay_out import FasteningSettings, SizeSettings, lay_out_fastenings
from plankcore.fastenings.places import survey_plank
from plankcore.model.drawing import Station
from plankcore.model.joints_and_fastenings import BlockPlace, PlacedJoint
from plankcore.stations.strike import StationSettings, strike_stations

INCH = 25.4


@lru_cache(maxsize=None)
def make_even_plank(*, length=1100.0, width=100.0, thickness=22.0, **names):
    """A plank of even width, bow to the right: x from 50 to 1150, upper edge at y = 40."""
    return make_straight_plank(length=length, fore=width, aft=width, thickness_mm=thickness, **names)


@lru_cache(maxsize=None)
def strike(plank, *, first=150.0, spacing=200.0):
    return tuple(strike_stations(plank, settings=StationSettings(first_mm=first, spacing_mm=spacing))[0])


def lay_out(plank=None, *, joints=(), blocks=(), stations=None, size=None, **settings):
    plank = plank or make_even_plank()
    return lay_out_fastenings(plank, stations=strike(plank) if stations is None else stations,
                              settings=FasteningSettings(size=SizeSettings(**(size or {})), **settings),
                              joints=joints, blocks=blocks)


def place_joint(x, *, kind="butt", slope=0.0, thickness=22.0, width=100.0, label="1", lean=0.0):
    return PlacedJoint(label, kind, "1-2", 1150.0 - x, length_mm=slope * thickness, slope=slope,
                       line=np.array([[x + lean, 40.0], [x - lean, 40.0 + width]]), thickness_mm=thickness,
                       feather="aft" if kind == "scarf" else "")


def find_at(layout, station, kind="frame"):
    return [f for f in layout.fastenings if (f.station, f.kind) == (station, kind)]


def tell(layout):
    return " / ".join(f.text for f in layout.overlay.findings)


@pytest.mark.parametrize("settings, size, where", [
    ({"rule": "nobody's"}, {}, "Rule"), ({"rule": "own"}, {}, "Count at each frame, on the boat"),
    ({"frame_lies": "abaft"}, {}, "Frame lies"), ({"fore_end": "stem"}, {}, "Fore end"),
    ({"aft_end": "auto"}, {}, "Aft end"), ({"scarf": "half"}, {}, "Scarfs"),
    ({"sided_mm": 20.0}, {}, "Frame width"), ({"sided_mm": 0.0}, {}, "Frame width"),
    ({"frame_edge_mm": -1.0}, {}, "Frame width"),
    ({"edge_mm": -1.0}, {}, "Edge distance"), ({"end_mm": 2000.0}, {}, "End distance"),
    ({"hood_mm": -1.0}, {}, "Hood end distance"), ({"block_mm": -5.0}, {}, "Block length"),
    ({"stagger_mm": 6.0}, {}, "Stagger"), ({"stagger_mm": 0.0}, {}, "Stagger"),
    ({"thickness_mm": 60.0}, {}, "Thickness"),
    ({"butt_count": 30, "fore_end": "hood"}, {}, "Count each side of a butt"),
    ({"neighbours": "9-10"}, {}, "Neighbours' butts"), ({"neighbours": "upper 1-9"}, {}, "Neighbours' butts"),
    ({"neighbours": "upper 1-2; lower 2-3"}, {}, "Neighbours' butts"),
    ({}, {"metal": "lead"}, "Metal"), ({}, {"boat_metal": "lead"}, "Metal of the boat's fastenings"),
    ({}, {"size": "rivet", "frame_depth_mm": 40.0, "gauge": "4 mm", "metal": "silicon-bronze"}, "Metal"),
    ({}, {"size": "biggest"}, "Size"), ({}, {"heads": "painted"}, "Heads"), ({}, {"spare_percent": -1}, "Spares"),
    ({}, {"size": "own"}, "Gauge"), ({}, {"size": "own", "gauge": "12"}, "Length"),
    ({}, {"size": "own", "gauge": "12 1/2", "length_mm": 50.0}, "Gauge"),
    ({}, {"size": "own", "gauge": "fat", "length_mm": 50.0}, "Gauge"),
    ({}, {"size": "own", "gauge": "99", "length_mm": 50.0}, "Gauge"),
    ({}, {"size": "own", "gauge": "12", "length_mm": 10.0}, "Length"),
    ({}, {"size": "rivet", "gauge": "4 mm"}, "Frame depth"), ({}, {"size": "rivet", "frame_depth_mm": 40.0}, "Gauge"),
    ({}, {"size": "rivet", "frame_depth_mm": 40.0, "gauge": "10"}, "Gauge"),
    ({}, {"size": "nail", "gauge": "10"}, "Gauge"),
    ({}, {"frame_wood": "steel"}, "Frame wood")])
def test_settings_that_cannot_be_used_are_refused(settings, size, where):
    with pytest.raises(SettingError) as caught:
        lay_out(size=size, **settings)
    assert caught.value.where == where and caught.value.remedy


def test_without_stations_thickness_or_room_it_is_refused():
    with pytest.raises(PatternError, match="no frame stations"):
        lay_out(stations=[])
    with pytest.raises(SettingError, match="thickness is not known"):
        lay_out(make_even_plank(thickness=0.0))
    with pytest.raises(PatternError, match="No fastening has room"):
        lay_out(make_even_plank(width=30.0))


def test_two_to_a_frame_in_a_zigzag():
    """Plank 100 wide at y 40 to 140, frames 45 broad at x = 1000, 800, 600 and so on: rows at the edge distance of
    19.05 and 10 further in, by turns, 12.5 either side of the mark, by turns."""
    layout = lay_out()
    assert [len(find_at(layout, label)) for label in "12345"] == [2] * 5 and len(layout.fastenings) == 10
    for number, label in enumerate("12345"):
        upper, lower = find_at(layout, label)
        x = 1000 - 200 * number
        turn = number % 2
        assert upper.at_mm == pytest.approx((x + 12.5 * (-1 if turn else 1), 40 + 19.05 + 10 * turn), abs=1e-3)
        assert lower.at_mm == pytest.approx((x - 12.5 * (-1 if turn else 1), 140 - 19.05 - 10 * (1 - turn)), abs=1e-3)
        assert (upper.along_mm, upper.edge_mm) == pytest.approx((19.05 + 10 * turn,) * 2, abs=1e-3)
        assert lower.end_mm == pytest.approx(min(1150 - lower.at_mm[0], lower.at_mm[0] - 50), abs=1e-6)
    assert layout.overlay.findings == ()


@pytest.mark.parametrize("lies, middle", [("middle", 0.0), ("fore", 22.5), ("aft", -22.5)])
@pytest.mark.parametrize("forward", ["right", "left"])
def test_the_frame_lies_where_it_is_told(lies, middle, forward):
    """Forward is to the right; with the bow to the left the same plank turned end for end."""
    plank = make_even_plank()
    if forward == "left":
        a, b, c, d = np.array([(50, 40), (1150, 40), (50, 140), (1150, 140.0)])
        plank = make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), forward="left",
                           thickness_mm=22.0)
    ahead = 1 if forward == "right" else -1
    layout = lay_out(plank, frame_lies=lies)
    for station in strike(plank):
        along = [f.at_mm[0] for f in find_at(layout, station.label)]
        assert np.mean(along) == pytest.approx(station.line[0, 0] + ahead * middle,
                                               abs=1e-6) and np.ptp(along) == pytest.approx(25.0, abs=1e-6)
    sides = sorted(float(line.cubics[0, 0, 0]) for line in layout.overlay.lines if line.role == "frame-side"
                   and dict(line.values)["station"] == "1")
    mark = strike(plank)[0].line[0, 0]
    assert np.array(sides) - mark == pytest.approx(sorted((ahead * middle - 22.5, ahead * middle + 22.5)), abs=1e-6)


def test_three_to_a_frame_take_three_lines_of_it():
    layout = lay_out(make_even_plank(width=160.0))
    for station in strike(make_even_plank(width=160.0)):
        three = find_at(layout, station.label)
        assert sorted(round(f.at_mm[0] - station.line[0, 0], 6) for f in three) == [-12.5, 0.0, 12.5]
    # a sixth of 160 is more than 3/4 in
    assert min(f.edge_mm for f in layout.fastenings) == pytest.approx(160 / 6, abs=1e-3)


@pytest.mark.parametrize("rule, width_in, counts",
                         [("lloyds", 12.0, [2, 2, 2, 2, 2]), ("lloyds", 9.0, [2, 1, 2, 1, 2]),
                          ("lloyds", 7.0, [1, 1, 1, 1, 1]), ("composite", 9.0, [2, 1, 2, 1, 2]),
                                                     ("lakes-bilge", 8.0, [4, 4, 4, 4, 4]),
                          ("lakes-bottom", 10.0, [2, 2, 2, 2, 2]), ("lakes-bottom", 12.0, [3, 3, 3, 3, 3]),
                          ("small", 7.0, [3, 3, 3, 3, 3])])
def test_counts_follow_the_rule(rule, width_in, counts):
    layout = lay_out(make_even_plank(width=width_in * INCH), rule=rule)
    assert [len(find_at(layout, label)) for label in "12345"] == counts
    assert [f.through for f in find_at(layout, "1")].count(True) == (1 if rule == "lakes-bilge" else 0)
    assert layout.values["at_frames"] == sum(counts) and tell(layout) == ""


def test_one_to_a_frame_stands_above_and_below_the_middle_by_turns():
    layout = lay_out(make_even_plank(width=180.0), rule="lloyds")
    off = [f.at_mm[1] - 130.0 for f in layout.fastenings]
    # a sixth of the room between the edge distances, 180 - 2 x 30
    assert off == pytest.approx([-20, 20, -20, 20, -20], abs=3.1) and [np.sign(v) for v in off] == [-1, 1, -1, 1, -1]


def test_through_bolts_are_drawn_and_bought_by_themselves():
    layout = lay_out(make_even_plank(width=200.0), rule="lakes-bilge")
    assert sum(line.role == "through-bolt" for line in layout.overlay.lines) == 5
    by_use = {one.use: one for one in layout.lists}
    assert (by_use["frames"].count, by_use["through bolts"].count, by_use["heads"].count) == (15, 5, 20)


def test_a_narrow_plank_gets_fewer_and_it_is_told():
    """45 mm between edges and 19.05 from each leave 6.9: not three times the shank of 6.35 for two."""
    layout = lay_out(make_even_plank(width=45.0))
    assert len(layout.fastenings) == 5 and "Frames 1, 2, 3, 4, 5: 1 of 2 fastenings" in tell(layout)
    assert len(lay_out(make_even_plank(width=60.0)).fastenings) == 10
    assert min(f.edge_mm for f in layout.fastenings) >= 19.05 - 1e-6


def test_a_plank_that_tapers_to_nothing_ends_without_fastenings():
    plank = make_straight_plank(length=1100.0, fore=20.0, aft=120.0, thickness_mm=22.0)
    layout = lay_out(plank)
    assert [len(find_at(layout, label)) for label in "12345"] == [0, 1, 2, 2, 2]
    assert "Frame 1: no fastening has room: the plank is too narrow for the edge distance." in tell(layout)


def test_a_frame_too_near_the_end_is_told():
    plank = make_even_plank()
    layout = lay_out(plank, stations=strike(plank, first=40.0, spacing=300.0))
    assert not find_at(layout,
                       "1") and "Frame 1: no fastening has room: it is too near the plank's end." in tell(layout)


def test_a_raked_end_keeps_its_distance_and_what_is_left_is_told():
    """The lower edge begins 120 mm aft of the upper: the frame's lower half runs out over the end."""
    a, b, c, d = np.array([(1150, 40), (50, 40), (1030, 140), (50, 140.0)])
    plank = make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), thickness_mm=22.0)
    layout = lay_out(plank, stations=strike(plank, first=60.0, spacing=200.0))
    assert len(find_at(layout, "1")) < 2 and "Frame 1" in tell(layout)
    # square distance from the raked end, whose way is (-120, 100)
    for one in layout.fastenings:
        assert abs((np.array(one.at_mm) - a) @ np.array([100, 120])) / np.hypot(100, 120) >= 50.8 - 1e-3


@pytest.mark.parametrize("sided, told", [(21.0, True), (45.0, False)])
def test_a_frame_without_room_to_stagger_is_told(sided, told):
    assert ("nearly one grain line of the frame" in tell(lay_out(sided_mm=sided))) == told


def test_a_plank_that_tapers_faster_than_the_stagger_is_shifted():
    """A taper of 110 mm in 1100 brings each row 10 mm nearer the run at every frame, as much as the stagger itself."""
    plank = make_straight_plank(length=1100.0, fore=210.0, aft=100.0, thickness_mm=22.0)
    layout = lay_out(plank, rule="own", own_count=2)
    rows = [sorted(f.at_mm[1] for f in find_at(layout, label)) for label in "12345"]
    for one, two in zip(rows, rows[1:]):
        assert min(abs(a - b) for a in one for b in two) >= 6.35 - 1e-6
    assert "grain line" not in tell(layout)


def test_butt_between_frames():
    """Block 10 x 22 long reaches 110 from the butt at x = 700, but the frames' sides stand at 777.5 and 622.5, and it
    drains by 10: 67.5.
    First row 50.8 from the joint, second 54.8 (12.7 short of the block's end)."""
    layout = lay_out(joints=[place_joint(700.0)])
    butt = find_at(layout, "1", "butt")
    assert len(butt) == 6
    for side in (1, -1):
        there = [f for f in butt if (f.at_mm[0] - 700) * side > 0]
        assert [abs(f.at_mm[0] - 700) for f in there] == pytest.approx([50.8, 54.8, 50.8], abs=1e-3)
        assert [f.at_mm[1] for f in there] == pytest.approx([59.05, 90.0, 120.95], abs=0.01)
    assert all(f.end_mm == pytest.approx(abs(f.at_mm[0] - 700), abs=1e-6) for f in butt)


def test_a_block_that_is_drawn_or_typed_holds():
    plank = make_even_plank(length=2000.0)
    there = {"stations": strike(plank, first=150.0, spacing=500.0), "joints": [place_joint(1650.0)]}
    second = {name: max(abs(f.at_mm[0] - 1650) for f in find_at(lay_out(plank, **there, **more), "1", "butt"))
              for name, more in (("free", {}), ("drawn", {"blocks": [BlockPlace((1650.0, 90.0), 135.0, 22.0)]}),
                                 ("elsewhere", {"blocks": [BlockPlace((1250.0, 90.0), 135.0, 22.0)]}),
                                 ("typed", {"block_mm": 140.0}))}
    # two rows four shanks apart where there is room, else 12.7 short of the block's end
    assert second == pytest.approx({"free": 50.8 + 25.4, "drawn": 67.5 - 12.7, "elsewhere": 50.8 + 25.4,
                                    "typed": 70 - 12.7},
                                   abs=1e-3)


def test_a_block_too_short_is_told():
    layout = lay_out(joints=[place_joint(700.0)], block_mm=80.0)
    assert not find_at(layout, "1", "butt") and tell(layout).count("the block reaches only 40 mm from the joint") == 2


def test_a_butt_on_a_frame_is_told_and_that_frame_left_bare():
    layout = lay_out(joints=[place_joint(805.0)])
    assert not find_at(layout, "1", "butt") and not find_at(layout, "2")
    assert "The butt 1 lies on frame 2" in tell(
        layout) and "Frame 2: no fastening has room: it lies on a butt; move the butt." in tell(layout)


@pytest.mark.parametrize("scarf, bare", [("feather", 88.0), ("whole", 264.0)])
def test_nothing_stands_in_a_scarfs_feather(scarf, bare):
    """12 to 1 in 22 mm is 264 long; a feather is 88 at each tip. About frame 3, at x = 600, the middle third holds the
    frame.
    """
    joint = place_joint(600.0, kind="scarf", slope=12.0)
    layout = lay_out(joints=[joint], scarf=scarf)
    assert len(find_at(layout, "3")) == (2 if scarf == "feather" else 0)
    away = np.array([abs(f.at_mm[0] - 600) for f in layout.fastenings])
    assert not np.any((away > 132 - bare) & (away < 132))
    moved = lay_out(joints=[place_joint(700.0, kind="scarf", slope=12.0)], scarf=scarf)
    assert not find_at(moved, "2") and not find_at(
        moved, "3") and "Frames 2, 3: no fastening has room: it lies in a scarf's feather" in tell(moved)


def test_a_leaning_scarf_is_kept_clear_square_to_itself():
    joint = place_joint(600.0, kind="scarf", slope=8.0, lean=30.0)
    normal = np.array([100.0, 60.0]) / np.hypot(100, 60)
    away = [abs((np.array(f.at_mm) - (600, 90)) @ normal) for f in lay_out(joints=[joint]).fastenings]
    assert not any(88 - 176 / 3 < v < 88 for v in away)


def test_hood_end_and_butt_end():
    """Hood end: three at 30, 40 and 30 from the end at x = 1150. Butt at x = 50: half a block, rows at 50.8 and 76.2.
    """
    layout = lay_out(fore_end="hood", aft_end="butt")
    hood, butt = find_at(layout, "fore", "end"), find_at(layout, "aft", "butt")
    assert [1150 - f.at_mm[0] for f in hood] == pytest.approx([30, 40, 30], abs=0.03)
    assert [f.at_mm[0] - 50 for f in butt] == pytest.approx([50.8, 76.2, 50.8], abs=0.03)
    assert [f.at_mm[1] for f in hood] == pytest.approx([59.05, 90, 120.95], abs=0.05)
    assert (layout.values["at_ends"], layout.values["at_butts"]) == (3, 3)
    assert not any("NO END FASTENINGS" in row for row in layout.overlay.rows)
    assert any("NO END FASTENINGS ARE LAID OUT AT THE FORE END AND THE AFT END" in row
               for row in lay_out().overlay.rows)


def test_the_number_at_a_butt_can_be_given():
    assert len(find_at(lay_out(make_even_plank(width=150.0), fore_end="hood", butt_count=4), "fore", "end")) == 4


def test_what_the_neighbours_block_laps_is_told():
    joints = [place_joint(700.0)]
    assert "strike" not in tell(lay_out(joints=joints))
    above = lay_out(joints=joints, neighbours="upper 2-3")
    hit = [f for f in above.overlay.findings
           if "2 fastenings of the butt 1 strike the block of the strake above in bay 2-3" in f.text]
    assert len(hit) == 1 and hit[0].where[1] == pytest.approx(59.05, abs=1e-3)
    below = tell(lay_out(joints=joints, neighbours="lower 2-3, upper 3-4"))
    assert "2 fastenings of the butt 1 strike the block of the strake below" in below and "above" not in below


def test_groups_that_come_close_stand_clear_of_each_other_and_it_is_told():
    """Frame 1 stands at x = 1075, the hood end's rows at 1110 and 1100: 12.5 and 22.5 from the frame's fore line, both
    under four shanks of 6.35, so two shanks across (12.7), and 12.7 and 1 between the plugs' middles. Even places would
    be 59.05, 90 and 120.95; the frame's fastening ahead stands at 59.05."""
    plank = make_even_plank()
    near = lay_out(plank, stations=strike(plank, first=75.0, spacing=300.0), fore_end="hood", hood_mm=40.0)
    assert len(find_at(near, "fore", "end")) == 3 and "Fore end: its fastenings stand unevenly" in tell(near)
    for one in find_at(near, "fore", "end"):
        for other in find_at(near, "1"):
            x, y = np.abs(np.array(one.at_mm) - other.at_mm)
            assert np.hypot(x, y) >= 13.7 - 1e-6 and (x >= 25.4 - 1e-6 or y >= 12.7 - 1e-6)


def test_a_short_hood_end_tells_what_is_left_bare():
    """A plank 45 wide: 6.9 mm between the edge distances of 19.05 hold one of three; it stands at the middle, so 22.5
    mm lie bare on each side of it.
    """
    layout = lay_out(make_even_plank(width=45.0), fore_end="hood")
    one, = [b for b in layout.bare if b.kind == "end"]
    assert (one.station, one.wanted, one.count) == ("fore", 3, 1) and one.length_mm == pytest.approx(22.5, abs=0.6)
    assert "Fore end: 1 of 3 fastenings have room. Bare for" in tell(
        layout) and "LEFT BARE, DRAWN DASHED: FRAME 1" in " ".join(layout.overlay.rows)
    drawn = [dict(line.values) for line in layout.overlay.lines if line.role == "bare"
             and dict(line.values)["kind"] == "end"]
    assert [v["length_mm"] for v in drawn] == [one.length_mm]
    assert layout.values["bare_count"] == len(layout.bare) == 6 and layout.values["bare_mm"] == max(
        b.length_mm for b in layout.bare)


@pytest.mark.parametrize("joint, station, side, length",
                         [({"x": 805.0}, "2", "", 100.0), ({"x": 805.0}, "1", "", 100.0),
                          ({"x": 700.0, "kind": "scarf", "slope": 12.0}, "3", "", 100.0)])
def test_a_frame_or_butt_without_fastenings_is_bare_for_its_whole_width(joint, station, side, length):
    """The butt at 805 lies on frame 2; the scarf at 700 puts frame 3 in its feather. The plank is 100 wide."""
    layout = lay_out(joints=[place_joint(joint.pop("x"), **joint)])
    bare = next(b for b in layout.bare if b.station == station)
    assert bare.length_mm == pytest.approx(length, abs=1e-6) and bare.count == 0 and "Bare for 100 mm." in tell(layout)


def test_nothing_is_bare_where_all_stand():
    layout = lay_out(fore_end="hood", aft_end="butt", joints=[place_joint(700.0)])
    assert layout.bare == () and "BARE" not in " ".join(layout.overlay.rows) and layout.values["bare_count"] == 0


def test_a_frame_that_ends_on_the_hood_end_gets_what_its_width_there_allows():
    """The lower edge begins 300 mm aft of the upper; a frame 60 mm aft of the fore end's middle meets that end half way
    down.
    """
    a, b, c, d = np.array([(1150, 40), (50, 40), (850, 200), (50, 200.0)])
    plank = make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), thickness_mm=22.0)
    station = Station("0", np.array([[940.0, 40.0], [940.0, 152.0]]), 112.0, 60.0, ends=("upper", "fore"))
    layout = lay_out(plank, stations=[station, *strike(plank, first=300.0)[:3]], end_mm=20.0)
    assert len(find_at(layout, "0")) == 2
    for one in find_at(layout, "0"):
        assert abs((np.array(one.at_mm) - a) @ np.array([160, 300])) / np.hypot(160, 300) >= 20.0 - 1e-3


def test_fewer_or_lighter_than_the_boat_has_is_told():
    assert "the rule gives 2, the boat has 3 elsewhere" in tell(lay_out(own_count=3))
    assert "thinner" in tell(lay_out(size={"gauge": "16"})) and "thinner" not in tell(lay_out(size={"gauge": "14"}))
    assert "shorter" in tell(lay_out(size={"length_mm": 50.0})) and "shorter" not in tell(
        lay_out(size={"length_mm": 44.0}))


@pytest.mark.parametrize("size, words, diameter, length", [
    ({}, "No 14 x 1 3/4 in wood screw", 6.35, 44.45),
    ({"size": "steward"}, "No 12 x 1 3/4 in wood screw", 0.216 * INCH, 44.45),
    ({"size": "nail"}, "9d boat nail, 2 3/4 in", 0.131 * INCH, 69.85),
    ({"size": "nail", "softwood": False}, "7d boat nail, 2 1/4 in", 0.113 * INCH, 57.15),
    ({"size": "rivet", "gauge": "4 mm", "frame_depth_mm": 40.0, "heads": "puttied"},
     "copper nail 4 mm, 71.5 mm long as bought, on a burr", 4.0, 71.525),
    ({"size": "own", "gauge": "no 12", "length_mm": 50.8}, "No 12 x 2 in (50.8 mm) wood screw", 0.216 * INCH, 50.8),
    ({"size": "own", "gauge": "5 mm", "length_mm": 60.0}, "5 mm x 60 mm", 5.0, 60.0)])
def test_what_is_driven(size, words, diameter, length):
    layout = lay_out(size=size)
    assert (layout.size.words, layout.size.diameter_mm,
            layout.size.length_mm) == (words, pytest.approx(diameter, abs=1e-6), pytest.approx(length, abs=1e-6))
    assert layout.lists[0].words == words and layout.lists[0].count == 10


@pytest.mark.parametrize("thickness, heads, plug, depth", [(22.0, "auto", 12.7, 22 / 3), (22.0, "puttied", 0.0, 0.0),
                                                           (12.7, "auto", 0.0, 0.0), (12.7, "plugged", 9.525, 4.7625)])
def test_plugs(thickness, heads, plug, depth):
    layout = lay_out(make_even_plank(thickness=thickness), size={"heads": heads})
    assert (layout.size.plug_mm, layout.size.depth_mm) == pytest.approx((plug, depth))
    cross = next(line for line in layout.overlay.lines if line.role == "fastening")
    radius = (plug or layout.size.diameter_mm) / 2
    circle = cross.cubics[1:5, 0] - (cross.cubics[-1, 0] + cross.cubics[-1, 3]) / 2
    assert np.hypot(*circle.T) == pytest.approx([radius] * 4)
    assert ("heads" in [one.use for one in layout.lists]) == bool(plug)


def test_a_screw_that_would_come_through_the_block_is_made_shorter():
    """22 less 7.33 for the plug and a block of 22 hold 36.7 mm: 1 1/4 in. In a block of 30 the 1 3/4 in screw, which
    goes 29.8 in, stays.
    """
    thin = {one.use: one for one in lay_out(joints=[place_joint(700.0)]).lists}
    assert thin["butt blocks"].words == "No 14 x 1 1/4 in wood screw" and thin["butt blocks"].count == 6
    thick = {one.use: one for one in lay_out(joints=[place_joint(700.0)], size={"block_mm": 30.0}).lists}
    assert thick["frames, butt blocks"].count == 16
    assert "comes through a block" in tell(lay_out(joints=[place_joint(700.0)], size={"size": "nail"}))


def test_a_point_that_comes_through_the_frame_is_told():
    assert "through a frame 25 mm deep" in tell(lay_out(
        size={"frame_depth_mm": 25.0})) and "through a frame" not in tell(lay_out(size={"frame_depth_mm": 30.0}))


@pytest.mark.parametrize("percent, spares", [(0, 0), (10, 1), (15, 2), (100, 10)])
def test_spares_are_rounded_up(percent, spares):
    one = lay_out(size={"spare_percent": percent}).lists[0]
    assert (one.count, one.spares, one.total) == (10, spares, 10 + spares)


def test_the_sheet_is_told_rule_size_count_holes_and_cautions():
    rows = " ".join(lay_out(fore_end="hood").overlay.rows)
    for words in ("SMALL CRAFT PRACTICE, NO SOURCE", "DOUBLE AT EVERY FRAME", "NO 14 X 1 3/4 IN WOOD SCREW",
                  "HERRESHOFF AND NEVINS", "(13 DRIVEN)", "BORE LEAD HOLES", "PLUGS 1/2 IN", "7.3 MM DEEP",
                  "AS LARGE AND AS MANY AS THE REST OF THE PLANKING AT LEAST (ARMY TB 55-1900-201-45/1, 2-12 E)",
                  "SURVEYOR", "STAGGERED BY 10 MM", "FRAMES 45 MM BROAD"):
        assert words in rows
    assert rows == rows.upper()
    assert "FROM MEMORY, NOT CHECKED" in " ".join(lay_out(size={"size": "steward"}).overlay.rows)


def find_row_of(layout, start="FASTENINGS BY WIDTH"):
    return next(row for row in layout.overlay.rows if row.startswith(start))


def test_the_row_counts_what_was_laid_out_and_not_what_the_rule_asks():
    """Frames 2 and 3 lie in the feathers of a scarf 264 long about x = 700."""
    assert find_row_of(lay_out()).endswith("LAID OUT: 2 AT EVERY FRAME.")
    moved = lay_out(joints=[place_joint(700.0, kind="scarf", slope=12.0)])
    assert find_row_of(moved).endswith("IT ASKS HERE: DOUBLE AT EVERY FRAME. LAID OUT: 2 AT FRAMES 1 4 5; NONE AT "
                                       "FRAMES 2 3 (2 ASKED: SCARF'S FEATHER).")


@pytest.mark.parametrize("plank, more, few, told", [
    ({"width": 75.0}, {"rule": "own", "own_count": 4}, "GRAIN LINE",
     "3 of 4 fastenings, no room for more: more would come into one grain line"),
    ({"width": 39.0}, {"rule": "own", "own_count": 2}, "GRAIN LINE", "1 of 2 fastenings, no room for more"),
    ({"width": 30.0}, {"rule": "own", "own_count": 2, "fore_end": "hood", "edge_mm": 14.0}, "GRAIN LINE", "1 of 2")])
def test_fewer_than_the_rule_asks_are_told_with_their_reason(plank, more, few, told):
    layout = lay_out(make_even_plank(**plank), **more)
    counted = len(find_at(layout, "3"))
    assert told in tell(layout) and find_row_of(layout).endswith("LAID OUT: %d AT EVERY FRAME (%d ASKED: %s)."
                                                                 % (counted, more["own_count"], few))


def test_fewer_by_a_feather_or_an_end_are_told_so():
    """The forward tip of a scarf's feather, and a raked end, take part of a frame's breadth: only one line along it is
    left, or part of the width.
    """
    for x, kind in ((690.0, "scarf"), (745.0, "butt")):
        layout = lay_out(joints=[place_joint(x, kind=kind, slope=12.0 if kind == "scarf" else 0.0)])
        short = [label for label in "12345" if len(find_at(layout, label)) < 2]
        assert short and ("SCARF'S FEATHER" if kind == "scarf"
                          else "ASKED: BUTT") in find_row_of(layout) and "grain line" not in tell(layout)
    plank = make_even_plank()
    assert "NONE AT FRAME 1 (2 ASKED: END DISTANCE)" in find_row_of(
        lay_out(plank, stations=strike(plank, first=40.0, spacing=300.0)))


def test_counts_are_lettered_at_each_frame_clear_of_the_crosses():
    layout = lay_out(make_even_plank(width=228.6), rule="lloyds")
    assert [t.text for t in layout.overlay.texts] == ["2 SCREWS", "1 SCREW", "2 SCREWS", "1 SCREW", "2 SCREWS"]
    for text in layout.overlay.texts:
        assert min(np.hypot(*(np.array(f.at_mm) - text.at_mm)) for f in layout.fastenings) > layout.size.plug_mm / 2


def test_the_places_turn_with_the_plank():
    plank = make_straight_plank(thickness_mm=22.0)
    matrix = np.array([[np.cos(0.7), -np.sin(0.7), 300], [np.sin(0.7), np.cos(0.7), -40]])
    turned = make_plank(*(plank.edges[n].curve.transform(matrix) for n in ("upper", "lower", "fore", "aft")),
                        thickness_mm=22.0)
    before, after = (lay_out(p, fore_end="hood", aft_end="butt") for p in (plank, turned))
    a, b = (np.array([f.at_mm for f in layout.fastenings]) for layout in (before, after))
    assert b == pytest.approx(a @ matrix[:, :2].T + matrix[:, 2], abs=1e-3)
    assert replace(before.fastenings[0], at_mm=()).kind == after.fastenings[0].kind


def find_metal_row(layout):
    return find_row_of(layout, "METAL: ")


def test_a_metal_that_is_not_named_is_asked_for():
    layout = lay_out()
    row = find_metal_row(layout)
    assert "NOT NAMED, ASK BEFORE BUYING: ____" in row and "TAKE THE SAME (COMMON PRACTICE, NO SOURCE)" in row
    assert [one.metal for one in layout.lists] == ["not named", ""] and (
        layout.values["metal"], layout.values["boat_metal"]) == ("not-named", "not-named")


def test_the_metal_goes_to_sheet_list_and_layer():
    layout = lay_out(size={"metal": "silicon-bronze", "boat_metal": "silicon-bronze"})
    assert find_metal_row(layout).startswith(
        "METAL: SILICON BRONZE; THE REST OF THE BOAT'S: SILICON BRONZE; NUTS AND ROVES") and tell(layout) == ""
    assert [one.metal for one in layout.lists] == ["silicon bronze", ""] and layout.values["metal"] == "silicon-bronze"
    assert next(one.metal
            for one in lay_out(size={"size": "rivet", "gauge": "4 mm", "frame_depth_mm": 40.0}).lists) == "copper"


@pytest.mark.parametrize("metal, boat, words, source", [
    ("silicon-bronze", "galvanised-iron", "the iron wastes", "Knight, Small-Boat Sailing"),
    ("galvanised-steel", "copper", "the iron wastes", "Knight, Small-Boat Sailing"),
    ("stainless", "silicon-bronze", "waste the baser", "common practice, no source"),
    ("silicon-bronze", "copper", "one metal throughout", "common practice, no source"),
    ("stainless", "stainless", "where no air comes", "common practice, no source"),
    ("copper", "not-named", "too soft for screws", "common practice, no source")])
def test_what_is_said_against_a_metal_stands_on_drawing_and_sheet(metal, boat, words, source):
    """Copper and iron: E. F. Knight, Small-Boat Sailing (on wikisource); the others are marked as practice."""
    layout = lay_out(size={"metal": metal, "boat_metal": boat})
    for said in (tell(layout), find_metal_row(layout)):
        assert words.upper() in said.upper() and source.upper() in said.upper()


@pytest.mark.parametrize("degrees", [0.0, 30.0, 60.0, 90.0, 135.0])
@pytest.mark.parametrize("plug_mm, shank_mm, apart_mm", [(12.7, 2.0, 13.7), (9.525, 1.5, 10.525), (0.0, 5.0, 5.0)])
def test_between_two_plugs_a_millimetre_of_wood_is_left(degrees, plug_mm, shank_mm, apart_mm):
    """Thin shanks, so that of the two demands only this one asks for more than they: plug and 1 mm, and without plugs
    the shank itself (common practice, no source)."""
    spacing = Spacing(survey_plank(make_even_plank()), shank_mm=shank_mm, plug_mm=plug_mm)
    way = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])
    for more, clash in ((-0.01, True), (0.01, False)):
        apart = (apart_mm + more) * way
        split = abs(apart[0]) < spacing.along_mm - 0.02 and abs(apart[1]) < spacing.across_mm - 0.02
        found = spacing.find_clashes([[500.0, 90.0]], [np.array([500.0, 90.0]) + apart])
        assert bool(found[0, 0]) is bool(clash or split)
