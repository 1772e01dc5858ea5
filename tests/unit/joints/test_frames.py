"""Frames of a side, places among them and strakes in order. Refusals first. The plank is 1000 mm long, its frames 7 to
11 every 200 mm from 150.
"""
import numpy as np
import pytest
from shapes import make_plank, make_straight_plank

from plankcore.errors import DocumentError, PatternError, SettingError
from plankcore.joints.frames import (
    find_fraction,
    find_frames,
    find_place,
    name_place,
    number_strakes,
    place_records,
    read_spot,
)
from plankcore.model.joints_and_fastenings import FrameRecord, JointRecord
from plankcore.stations.strike import LabelRule, StationSettings, strike_stations

PLANK = make_straight_plank(side="starboard", strake="5")


def strike(first="7", step=1):
    return strike_stations(PLANK,
                           settings=StationSettings(first_mm=150, spacing_mm=200, labels=LabelRule(first, step)))[0]


FRAMES = find_frames(PLANK, strike(), siding_mm=30.0)


def record(**values):
    return JointRecord(**{"side": "starboard", "strake": "6", "where": "side.csv, row 3", **values})


def test_fewer_than_two_stations_are_refused():
    for few in (strike()[:1], []):
        with pytest.raises(PatternError, match="%d frame station" % len(few)):
            find_frames(PLANK, few)


def test_two_stations_of_one_label_are_refused():
    stations = strike()
    with pytest.raises(PatternError, match="labelled '7'"):
        find_frames(PLANK, [stations[0], stations[0]])


@pytest.mark.parametrize("rows, words", [
    ([("7", 0.0), ("8", 0.2), ("9", 400.0), ("10", 600.0), ("11", 800.0)], "one place"),
    ([("7", 0.0), ("8", 200.0), ("8", 300.0), ("9", 400.0), ("10", 600.0), ("11", 800.0)], "there twice"),
    ([("7", 0.0), ("8", 200.0), ("9", 400.0), ("11", 800.0)], "no frame 10"),
    ([("11", -200.0), ("10", 0.0), ("9", 200.0), ("8", 400.0), ("7", 600.0)], "the other way"),
])
def test_tables_of_frames_that_contradict_are_refused(rows, words):
    with pytest.raises(DocumentError, match=words) as caught:
        find_frames(PLANK, strike(),
                    records=[FrameRecord(a, d, "frames.csv, row %d" % k) for k, (a, d) in enumerate(rows, 2)])
    assert caught.value.where.startswith("frames.csv, row")


@pytest.mark.parametrize("text, words", [
    ("7-9", "not next to each other"), ("on 300", "no frame '300'"), ("abc", "no bay"), ("9", "no bay"),
    ("", "no bay"), ("9 + x", "not a length"), ("9 + -5", "out of range"),
    ("+ 20", "no bay"), ("on", "no bay"), ("112 + 900 mm", "no bay"), ("108+900 mm", "beyond the frames"),
])
def test_what_is_no_place_is_refused(text, words):
    with pytest.raises(SettingError, match=words):
        read_spot(FRAMES, text)


@pytest.mark.parametrize("text, place, distance, doubt", [
    ("7-8", 7.5, 250.0, 100.0), ("8-7", 7.5, 250.0, 100.0), (" 7 - 8 ", 7.5, 250.0, 100.0), ("on 9", 9.0, 550.0, 0.0),
    ("ON 9", 9.0, 550.0, 0.0), ("8 + 60 mm", 8.5, 410.0, 0.0),
    ("8+60", 8.5, 410.0, 0.0), ("8 + 10 mm", 8.0, 360.0, 0.0), ("8 + 190 mm", 9.0, 540.0, 0.0),
    ("007-08", 7.5, 250.0, 100.0), ("12-13", 12.5, 1250.0, 100.0), ("3-4", 3.5, -550.0, 100.0)])
def test_places(text, place, distance, doubt):
    """Frame 7 is frame number 7 counting from frame 0, which stands 1400 mm ahead of it; a frame is 30 mm broad."""
    assert read_spot(FRAMES, text) == (pytest.approx(place), pytest.approx(distance), pytest.approx(doubt))


def test_names_of_places_and_fractions():
    assert name_place(FRAMES, 9.0) == "on 9" and name_place(FRAMES, 9.5) == "9-10"
    assert find_place(FRAMES, 550.0 + 15.0) == 9.0 and find_place(FRAMES, 550.0 + 15.1) == 9.5 and find_place(
        FRAMES, 1e6) is None
    assert find_fraction(FRAMES,
                         600.0) == pytest.approx(9.25) and find_fraction(FRAMES, -1250.0 - 100.0) == pytest.approx(-0.5)


def test_frames_are_counted_on_from_zero_to_a_hundred_aft():
    assert (FRAMES.labels[0], FRAMES.labels[-1]) == (
        "0", "111") and FRAMES.labels[FRAMES.first] == "7" and FRAMES.labels[FRAMES.last] == "11"
    assert FRAMES.distances_mm[:2] == pytest.approx([-1250.0, -1050.0])


def test_frames_that_count_down_aft():
    frames = find_frames(PLANK, strike("F12", -1), spacing_mm=300.0)
    assert frames.labels[-1] == "F0" and frames.labels[frames.first] == "F12" and frames.labels[frames.first
                                                                                                - 1] == "F13"
    assert frames.distances_mm[frames.first - 1] == pytest.approx(
        150.0 - 300.0) and frames.distances_mm[-1] == pytest.approx(950 + 8 * 300.0)
    assert read_spot(frames, "F12-F11")[1] == pytest.approx(250.0)


def test_a_number_that_is_missing_is_a_frame_between():
    stations = [s for s in strike() if s.label != "8"]
    frames = find_frames(PLANK, stations)
    assert frames.labels == FRAMES.labels and frames.distances_mm == pytest.approx(FRAMES.distances_mm)


def test_labels_that_cannot_be_counted_are_all_there_is():
    stations = strike()
    odd = [type(s)(a, s.line, s.width_mm, s.distance_mm) for s, a in zip(stations, ("7", "7A", "8", "mast", "8B"))]
    frames = find_frames(PLANK, odd)
    assert frames.labels == ("7", "7A", "8", "mast", "8B")
    assert read_spot(frames, "7A-7")[:2] == (0.5, pytest.approx(250.0))


def test_a_table_of_frames_is_laid_on_the_stations():
    """Frames of odd spacing ahead and behind; between the stations the plank's own distances hold. The datum is 930 mm
    ahead of the fore end.
    """
    rows = [("5", 500.0), ("6", 800.0), ("7", 1080.0), ("8", 1280.0), ("9", 1480.0), ("10", 1680.0), ("11", 1880.0),
            ("12", 2200.0)]
    frames = find_frames(PLANK, strike(), records=[FrameRecord(a, d) for a, d in rows])
    assert frames.labels == tuple(a for a, _ in rows)
    assert frames.distances_mm == pytest.approx([-430.0, -130.0, 150.0, 350.0, 550.0, 750.0, 950.0, 1270.0])
    assert frames.datum_mm == pytest.approx(-930.0) and (frames.first, frames.last) == (2, 6)
    joint, = place_records([record(distance_mm=2000.0)], frames=frames, plank=PLANK, numbers={"6": 6})
    assert joint.bay == "11-12" and joint.distance_mm == pytest.approx(1070.0)


@pytest.mark.parametrize("values, words, column", [
    ({"bay": "9-12"}, "not next", "column bay"), ({"bay": "on 999"}, "no frame", "column bay"),
    ({"distance_mm": 100.0}, "bow datum", "column from"),
    ({"distance_mm": 100.0, "of": "77x"}, "no frame '77x'", "column from"),
    ({"distance_mm": 90000.0, "of": "9"}, "beyond the frames", "column distance")])
def test_records_that_have_no_place_are_refused_with_row_and_column(values, words, column):
    with pytest.raises(DocumentError, match=words) as caught:
        place_records([record(**values)], frames=FRAMES, plank=PLANK, numbers={"6": 6})
    assert caught.value.where == "side.csv, row 3, " + column


def test_a_line_far_from_the_plank_is_refused():
    with pytest.raises(DocumentError, match="from the plank"):
        place_records([record(point=(500.0, 2000.0))], frames=FRAMES, plank=PLANK, numbers={"6": 6})


def test_a_drawn_line_is_projected_on_the_baseline():
    """The bow is at x = 1050, so x = 740 is 310 mm aft of the fore end: in bay 7-8, which runs from 150 to 350."""
    joint, = place_records([record(point=(740.0, 10.0), kind="scarf")], frames=FRAMES, plank=PLANK, numbers={"6": 6})
    assert (joint.bay, joint.kind, joint.number,
            joint.doubt_mm) == ("7-8", "scarf", 6, 0.0) and joint.distance_mm == pytest.approx(310.0)


def test_records_of_kind_none_are_no_joints():
    assert place_records([record(kind="none")], frames=FRAMES, plank=PLANK, numbers={"6": 6}) == []


@pytest.mark.parametrize("strakes, own, words", [
    (["6", "B"], "5", "'B' is a letter, and strake '5' is a number"), (["sheer"], "5", "neither a number"),
    (["0"], "5", "neither"), (["6"], "", "no strake number"), (["6"], "garboard", "neither"),
    (["B", "6"], "A", "'6' is a number"), (["6.5"], "5", "neither")])
def test_strakes_that_have_no_order_are_refused(strakes, own, words):
    with pytest.raises((DocumentError, PatternError), match=words):
        number_strakes([record(strake=s) for s in strakes], own)


@pytest.mark.parametrize("rows, own, words", [
    ([("sheer", 9), ("sheer", 8)], "sheer", "number 8 here and number 9 before"),
    ([("sheer", 9), ("binder", None)], "sheer", "no number"), ([("sheer", 9)], "5", "not in the table")])
def test_orders_that_contradict_are_refused(rows, own, words):
    with pytest.raises((DocumentError, PatternError), match=words):
        number_strakes([record(strake=s, order=n) for s, n in rows], own)


def test_strakes_in_order():
    assert number_strakes([record(strake=s) for s in ("6", "7f", "07a")], "5") == {"5": 5, "6": 6, "7f": 7, "07a": 7}
    assert number_strakes([record(strake=s) for s in ("A", "c")], "B") == {"a": 1, "b": 2, "c": 3}
    assert number_strakes([record(strake="Sheer", order=9), record(strake="binder", order=8), record(strake="sheer")],
                          "Binder") == {"sheer": 9, "binder": 8}


def test_places_do_not_depend_on_how_the_plank_lies():
    turned = np.array([[np.cos(0.4), -np.sin(0.4), 30.0], [np.sin(0.4), np.cos(0.4), -10.0]])
    moved = make_plank(*(PLANK.edges[n].curve.transform(turned) for n in ("upper", "lower", "fore", "aft")))
    point = turned[:, :2] @ np.array([740.0, 10.0]) + turned[:, 2]
    joint, = place_records([record(point=tuple(point))], frames=FRAMES, plank=moved, numbers={"6": 6})
    assert joint.distance_mm == pytest.approx(310.0)
