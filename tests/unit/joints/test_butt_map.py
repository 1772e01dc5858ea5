"""The butt map to scale, with every new plank of the side. Frames stand unevenly; distances are sums by hand."""
from dataclasses import replace

import numpy as np
import pytest
from overlaps import list_crossings
from shapes import make_straight_plank

from plankcore.joints.place import JointSettings, draw_map, place_joints
from plankcore.model.joints_and_fastenings import FrameRecord, JointRecord
from plankcore.stations.strike import StationSettings, strike_stations

# frames 1 to 16, spaces of 240 and, from the ninth on, 310 mm
PLACES = np.cumsum([230.0] + [240.0] * 8 + [310.0] * 7)
FRAMES = [FrameRecord(str(k), float(at)) for k, at in enumerate(PLACES, 1)]


def make_planks(**other):
    """Strake 5 from 80 mm ahead of frame 3, and another plank that begins 60 mm ahead of its first frame; each with its
    stations."""
    plank = make_straight_plank(length=1300.0, strake="5", side="starboard", thickness_mm=25.0)
    stations = strike(plank, 80, 240, 3)
    second = make_straight_plank(length=700.0, **{"strake": "6a", "side": "starboard", "thickness_mm": 25.0, **other})
    return plank, stations, [(second, strike(second, 60, 310, 11))]


def strike(plank, first_mm, spacing_mm, number):
    found = strike_stations(plank, settings=StationSettings(first_mm=first_mm, spacing_mm=spacing_mm))[0]
    return [replace(one, label=str(number + k)) for k, one in enumerate(found)]


def draw(records=(JointRecord("starboard", "7", bay="12-13"),), frames=FRAMES, settings=JointSettings(joints="5-6"),
         **other):
    plank, stations, others = make_planks(**other)
    plan = place_joints(plank, stations, settings=settings, records=records, frame_records=frames)
    return draw_map(plank, plan, others=others, settings=settings)


def find(page, role):
    return [(dict(one.values), one.cubics.reshape(-1, 2)) for one in page.lines if one.role == role]


def list_words(page):
    return [dict(one.values)["text"] for one in page.lines if "text" in dict(one.values)]


def measure(page):
    """Frame label to mm along the side from frame 3, by the lines drawn and the ratio lettered."""
    ratio = float(next(w for w in list_words(page) if "SCALE 1:" in w).split("SCALE 1:")[1].split(";")[0])
    x = {v["frame"]: points[0, 0] for v, points in find(page, "grid") if "frame" in v}
    return {label: (x["3"] - at) * ratio for label, at in x.items()}, ratio, x["3"]


def test_frames_stand_where_they_were_measured_and_the_whole_side_is_there():
    page = draw()
    found, ratio, _ = measure(page)
    assert found == pytest.approx({r.label: r.distance_mm - PLACES[2] for r in FRAMES}, abs=1e-6)
    bar, = find(page, "map-bar")
    assert np.ptp(bar[1][:, 0]) * ratio == pytest.approx(bar[0]["length_mm"]) and "1 M ALONG THE SIDE" in " ".join(
        list_words(page))
    told = [w for w in list_words(page) if w in ("240", "310")]
    assert told.count("240") == 8 and told.count("310") == 7


def test_every_new_plank_of_the_side_is_hatched_where_it_lies():
    """The other's first frame is 11, 60 mm abaft its fore end; it is 700 mm long."""
    page = draw()
    _, ratio, zero = measure(page)
    (own, box), (other, second) = find(page, "this-plank")[0], find(page, "new-plank")[0]
    assert (own["strake"], other["strake"]) == ("5", "6a")
    at = PLACES[10] - PLACES[2]
    assert [(zero - v) * ratio for v in (box[:, 0].max(), box[:, 0].min())] == pytest.approx([-80.0, 1220.0], abs=1e-6)
    assert [(zero - v) * ratio for v in (second[:, 0].max(), second[:, 0].min())] == pytest.approx(
        [at - 60.0, at + 640.0], abs=1e-6)
    assert len(find(page, "new-plank")) > 5 and second[:, 1].mean() < box[:, 1].mean()
    assert {"6A", "5"} <= set(list_words(page))


def test_a_plank_that_cannot_be_laid_is_named_and_of_the_other_side_none_is_drawn():
    page = draw(strake="oak")
    assert not find(page, "new-plank") and any("NOT ON THE MAP" in w and "OAK" in w for w in list_words(page))
    page = draw(side="port")
    assert not find(page, "new-plank") and not any("NOT ON THE MAP" in w for w in list_words(page))


def test_without_a_table_strakes_are_numbered_by_their_names_and_frames_counted_on_said_so():
    page = draw(records=(), frames=())
    rows = {v["strake"]: points[:, 1].mean() for role in ("this-plank", "new-plank") for v, points in find(page, role)
            if "strake" in v}
    assert rows["6a"] < rows["5"] - 3.0
    joints = {v["bay"]: points[:, 1].mean() for v, points in find(page, "joint")}
    assert joints["5-6"] == pytest.approx(rows["5"], abs=1.0)
    assert any("COUNTED ON EVENLY, NOT MEASURED" in w for w in list_words(page))


def test_an_inch_yard_has_its_spaces_in_inches_and_its_bar_in_feet():
    """240 mm are 9.4 in, 310 are 12.2."""
    words = list_words(draw(settings=JointSettings(joints="5-6", unit="in")))
    assert words.count("9.4") == 8 and words.count("12.2") == 7 and any("FT ALONG THE SIDE" in w for w in words)


def test_numbers_of_failing_pairs_are_crossed_by_nothing_and_a_pair_in_one_bay_is_joined_beside_its_joints():
    """Strake 6's joint lies in the same bay as this plank's 5-6, strake 4's one bay on, both against the rule."""
    page = draw(records=(JointRecord("starboard", "6", bay="5-6"), JointRecord("starboard", "4", bay="6-7")))
    assert list_crossings(page) == []
    lines = find(page, "failing")
    assert sorted(w["text"] for w, _ in find(page, "number")) == [str(k) for k in range(1, len(lines) + 1)]
    joints = [points for _, points in find(page, "joint")]
    for _, points in lines:
        upright = np.abs(points[1:-1, 0] - points[0, 0]).max() > 2.0 if len(points) > 4 else True
        assert upright and all(min(abs(p - q).min() for q in joints) < 7.0 for p in points[[0, -1]])
    assert any(len(points) > 4 for _, points in lines)


def test_the_same_plank_with_its_other_face_up_is_drawn_once():
    plank, stations, others = make_planks()
    plan = place_joints(plank, stations, settings=JointSettings(joints="5-6"), frame_records=FRAMES)
    page = draw_map(plank, plan, others=[*others, *others, (replace(plank), stations)])
    assert len([v for v, _ in find(page, "new-plank") if "from_mm" in v]) == 1
