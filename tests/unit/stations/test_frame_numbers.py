"""Frames keep their numbers. On straight planks with a raked or a round hood end, where places and widths are sums and
a circle's own equation.

Refusals first. Planks are invented; the bow lies to the right, x runs aft to the left.
"""
import numpy as np
import pytest
from shapes import draw_trace, make_arc, make_plank, make_straight_plank

from plankcore.errors import PatternError, SettingError
from plankcore.geometry.curve import make_line
from plankcore.model.plank import Mark, Tick
from plankcore.stations.strike import LabelRule, StationSettings, strike_stations

TOP, LOW = 50.0, 150.0
# of the frames of the straight plank, from the fore end aft
PLACES = tuple(1000.0 - 150.0 - 200.0 * k for k in range(5))


def make_raked(**names):
    """100 wide; the lower edge begins 200 mm aft of the upper one, on a straight end."""
    a, b, c, d = np.array([(1150, TOP), (50, TOP), (950, LOW), (50, LOW)])
    return make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), **names)


def make_round(**names):
    """As make_raked, with a fore end that is an arc of radius 500 about (650, 150): from (650 + 489.9, 50) to (1150,
    150).
    """
    arc = make_arc(500.0, -np.arcsin(100 / 500), 0.0).transform(np.array([[1.0, 0, 650], [0, 1.0, 150]]))
    return make_plank(make_line(arc.start, (50, TOP)), make_line(arc.end, (50, LOW)), arc,
                      make_line((50, TOP), (50, LOW)), **names)


def make_even(spots=(), kind="ticks", **names):
    """1000 long and 100 wide throughout, with ticks or marks at (x, edge) or (x, edge, label)."""
    level = {"upper": TOP, "lower": LOW}
    if kind == "ticks":
        made = {"ticks": tuple(Tick((x, level[e]), (x, level[e] + 8), e) for x, e, *_ in spots)}
    else:
        made = {"marks": tuple(Mark((x, level[e]), e, (label or [""])[0], 0.3) for x, e, *label in spots)}
    a, b, c, d = np.array([(1000, TOP), (0, TOP), (1000, LOW), (0, LOW)], float)
    return make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d), **made, **names)


def both(places, labels=None):
    return [(x, e) if labels is None else (x, e, labels[k]) for k, x in enumerate(places) for e in ("upper", "lower")]


def strike(plank, source="ticks", lines=(), numbers=(), labels=LabelRule("7"), **settings):
    return strike_stations(plank, settings=StationSettings(source=source, labels=labels, **settings), lines=lines,
                           numbers=numbers)


def words(findings):
    return "; ".join(f.text for f in findings)


@pytest.mark.parametrize("spots, told", [
    ([(850, "upper", "7"), (845, "lower", "8"), (650, "upper", "9"), (650, "lower", "9")], ["7", "8", "one place"]),
    (both(PLACES, ["7", "8", "10", "9", "11"]), ["10", "9", "out of order"]),
    (both(PLACES, ["7", "8", "9", "11", "12"]), ["9", "11", "2 frame spaces"]),
    (both(PLACES, ["7", "", "", "9", ""]), ["7", "9", "2 frame spaces"]),
    (both(PLACES, ["7", "", "7A", "8", "9"]), ["7", "7A"]),
    (both(PLACES, ["7", "8", "7", "9", "10"]), ["7"]),
    ([(850, "upper", "7"), (250, "lower", "7"), (650, "upper", "8"), (650, "lower", "8")],
     ["7", "upper edge", "lower edge"]),
])
def test_labels_that_contradict_each_other_are_refused_with_both(spots, told):
    with pytest.raises(PatternError) as caught:
        strike(make_even(spots, "marks"), "marks")
    assert all(word in caught.value.problem for word in told), caught.value.problem
    assert caught.value.where is not None


def test_a_letter_that_runs_out_is_refused():
    with pytest.raises(SettingError, match="letters"):
        strike(make_even(), "spacing", first_mm=100, spacing_mm=10, labels=LabelRule("A"))


@pytest.mark.parametrize("make, edge_x", [(make_raked, lambda y: 1150 - 2 * (y - TOP)),
                                          (make_round, lambda y: 650 + np.sqrt(500 ** 2 - (150 - y) ** 2))])
def test_a_frame_at_a_raked_or_round_end_stops_at_the_end_and_keeps_its_number(make, edge_x):
    plank = make()
    middle = float(plank.find_baseline()[0][0])
    found, told = strike(plank, "spacing", first_mm=3.0, spacing_mm=300)
    assert [s.label for s in found] == ["7", "8", "9", "10"] and not told
    first = found[0]
    assert sorted(first.ends)[1] in ("upper", "lower") and "fore" in first.ends
    at = first.find_end("fore")
    # the baseline of such a plank is not quite level: square to it is not quite upright
    assert at[0] == pytest.approx(edge_x(at[1]), abs=1e-3)
    assert first.distance_mm == pytest.approx(3.0, abs=1e-6)
    assert first.width_mm == pytest.approx(float(np.hypot(*(first.line[1] - first.line[0]))))
    assert all(s.ends == ("upper", "lower") and s.is_whole() for s in found[1:]) and middle > found[1].line[0, 0]


def test_frames_aft_of_the_baseline_are_struck_too_where_the_plank_reaches_on():
    """Counted from aft, the raked tip 100 mm forward of the baseline's end still crosses a frame."""
    found, _ = strike(make_raked(), "spacing", first_mm=50, spacing_mm=100, labels=LabelRule("20", -1, "aft"))
    assert found[0].ends == ("upper", "fore") and found[0].distance_mm < 0
    assert [s.label for s in found] == [str(20 - k) for k in range(len(found))][::-1]


def test_a_frame_that_falls_on_the_end_itself_leaves_its_number_free():
    found, told = strike(make_straight_plank(), "spacing", first_mm=0, spacing_mm=300)
    assert [s.label for s in found][-3:] == ["8", "9", "10"]
    if len(found) == 3:
        assert "frame 7" in words(told) and "free" in words(told)


def test_a_frame_of_which_the_plank_has_next_to_nothing_is_told():
    found, told = strike(make_raked(), "spacing", first_mm=98.5, spacing_mm=100, labels=LabelRule("1", 1, "aft"))
    assert found[0].label == "10" and found[0].ends == ("upper", "fore")
    assert "frame 11" in words(told) and "free" in words(told)


@pytest.mark.parametrize("lost", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("edge", ["upper", "lower"])
@pytest.mark.parametrize("kind", ["ticks", "marks"])
@pytest.mark.parametrize("square_to", ["baseline", "run", "drawn"])
def test_a_lone_tick_or_mark_strikes_its_frame_and_is_told(lost, edge, kind, square_to):
    spots = [s for k, s in enumerate(both(PLACES)) if not (k // 2 == lost and s[1] != edge)]
    found, told = strike(make_even(spots, kind), kind, square_to=square_to)
    assert [s.label for s in found] == ["7", "8", "9", "10", "11"]
    assert [s.line[0, 0] for s in found] == pytest.approx(
        PLACES, abs=1e-6) and [s.width_mm for s in found] == pytest.approx([100] * 5, abs=1e-6)
    lone, = [f for f in told if "alone" in f.text]
    assert "frame %d" % (7 + lost) in lone.text and edge in lone.text and lone.where[0] == pytest.approx(PLACES[lost])


@pytest.mark.parametrize("from_end, way", [("fore", 1), ("aft", 1), ("aft", -1), ("fore", -1)])
@pytest.mark.parametrize("kind", ["ticks", "marks"])
def test_one_side_unread_gives_all_frames_their_numbers(kind, from_end, way):
    found, told = strike(make_even([(x, "lower") for x in PLACES], kind), kind, labels=LabelRule("-1", way, from_end))
    wanted = ["-1", "0", "1", "2", "3"] if way > 0 else ["-1", "-2", "-3", "-4", "-5"]
    assert [s.label for s in found] == (wanted if from_end == "fore" else wanted[::-1])
    assert len(told) == 5


@pytest.mark.parametrize("lost", [1, 2, 3])
@pytest.mark.parametrize("kind", ["ticks", "marks", "lines"])
@pytest.mark.parametrize("from_end", ["fore", "aft"])
def test_a_frame_without_a_trace_leaves_its_number_free_and_is_named(lost, kind, from_end):
    places = [x for k, x in enumerate(PLACES) if k != lost]
    lines = [draw_trace([(x, 40), (x, 160)], label="line %d" % x) for x in places]
    plank = make_even(both(places), kind) if kind != "lines" else make_even()
    found, told = strike(plank, kind, lines=lines if kind == "lines" else (), labels=LabelRule("7", 1, from_end))
    names = ["7", "8", "9", "10", "11"][::1 if from_end == "fore" else -1]
    assert [s.label for s in found] == [n for k, n in enumerate(names) if k != lost]
    assert "frame %s has no" % names[lost] in words(told) and "400 mm" in words(told) and "2.0 times" in words(told)


def test_a_gap_that_is_no_multiple_is_named_and_counts_once():
    found, told = strike(make_even(both([900, 700, 390, 190, -10 + 20])))
    assert [s.label for s in found] == ["7", "8", "9", "10", "11"]
    assert "8 to 9 is 310 mm" in words(told)


def test_a_stray_stroke_shifts_no_number():
    spots = both(PLACES) + [(PLACES[1] - 60, "upper")]
    found, told = strike(make_even(spots))
    assert [s.line[0, 0] for s in found] == pytest.approx(PLACES) and [s.label for s in found] == ["7", "8", "9",
                                                                                                   "10", "11"]
    assert "no frame struck" in words(told)


def test_two_lone_ticks_a_little_apart_are_one_frame_and_told():
    spots = both(PLACES[:2]) + [(PLACES[2] - 30, "upper"), (PLACES[2] + 30, "lower")] + both(PLACES[3:])
    found, told = strike(make_even(spots))
    assert len(found) == 5 and found[2].distance_mm == pytest.approx(1000 - PLACES[2], abs=1e-6)
    assert "60 mm apart" in words(told)


@pytest.mark.parametrize("kind", ["marks", "lines", "ticks"])
@pytest.mark.parametrize("labels, wanted", [
    (["7", "8", "9", "10", "11"], None), (["", "", "9", "", ""], ["7", "8", "9", "10", "11"]),
    (["11", "", "9", "", ""], ["11", "10", "9", "8", "7"]),
    (["", "-1", "", "1", ""], ["-2", "-1", "0", "1", "2"]), (["12 1/2", "13", "13 1/2", "14", "15"], None),
    (["A", "B", "", "D", ""], ["A", "B", "C", "D", "E"]),
    (["7", "7A", "8", "", "10"], ["7", "7A", "8", "9", "10"]), (["B", "A", "0", "1", "2"], None),
    (["F1", "F0", "F-1", "F-2", "F-3"], None),
])
def test_labels_rule(kind, labels, wanted):
    """Marks carry theirs; of lines every second is drawn with its own and the rest have words beside them; ticks have
    words.
    """
    numbers, lines = [], []
    if kind == "lines":
        plank = make_even()
        lines = [draw_trace([(x, 40), (x, 160)], label="line", station=label if k % 2 else "")
                 for k, (x, label) in enumerate(zip(PLACES, labels))]
        numbers = [("frame " + label, (x + 4, 30)) for k, (x, label) in enumerate(zip(PLACES, labels)) if label
                   and not k % 2]
    elif kind == "ticks":
        plank = make_even(both(PLACES))
        numbers = [("frame " + label, (x + 4, 170)) for x, label in zip(PLACES, labels)
                   if label] + [("Ash 22 thick", (500, 60)), ("frame 99", (500, 400))]
    else:
        plank = make_even(both(PLACES, labels), kind)
    if kind != "marks" and any(label.startswith("F-") for label in labels):
        pytest.skip("a dash in words on the page divides; below nought such frames are labelled on marks")
    found, told = strike(plank, kind, lines=lines, numbers=numbers, labels=LabelRule("7"))
    wanted = wanted or labels
    if kind == "marks" and sum(map(bool, labels)) >= 2:
        # marks are set at corners too: where two frames tell their number, none is counted on beyond them, and each
        # mark left out is told
        first, *_, last = [k for k, label in enumerate(labels) if label]
        assert sum("taken as a corner mark" in f.text for f in told) == 2 * (len(labels) - (last - first + 1))
        wanted = wanted[first:last + 1]
    assert [s.label for s in found] == wanted


def test_a_label_on_one_edge_is_enough_and_free_numbers_are_named():
    spots = [(850, "upper", "7"), (850, "lower"), (650, "upper"), (650, "lower", "8"), (250, "upper", "10"),
             (250, "lower", "10")]
    found, told = strike(make_even(spots, "marks"), "marks")
    assert [s.label for s in found] == ["7", "8", "10"]
    assert "frame 9 has no mark" in words(told)


def test_corner_marks_among_labelled_ones_are_no_frames_but_an_unlabelled_mark_between_is_counted():
    spots = both([995, *PLACES, 5], ["", "7", "8", "", "10", "11", ""])
    found, told = strike(make_even(spots, "marks"), "marks")
    assert [s.label for s in found] == ["7", "8", "9", "10", "11"]
    assert [f.text for f in told if "corner" in f.text] == [("marks at the corners (upper fore, upper aft, lower "
                                                            "fore, lower aft) have no frame label: no frame is "
                                                            "struck there")]


@pytest.mark.parametrize("edges", [("upper", "lower"), ("upper",), ("lower",)])
@pytest.mark.parametrize("away", [30, 60, 100])
def test_corner_marks_well_inside_the_corner_are_told_and_are_no_frames(away, edges):
    """The last frame and the end may be most of a frame space apart, and a mark set anywhere between."""
    corner = [s for s in both([1000 - away, away]) if s[1] in edges]
    found, told = strike(make_even(both(PLACES[:4], ["7", "8", "", "10"]) + corner, "marks"), "marks")
    assert [s.label for s in found] == ["7", "8", "9",
                                        "10"] and [s.line[0, 0] for s in found] == pytest.approx(PLACES[:4])
    left = [f for f in told if "taken as a corner mark" in f.text]
    assert sorted(f.where for f in left) == sorted((float(x), {"upper": TOP, "lower": LOW}[e]) for x, e in corner)
    assert all(("forward of frame 7" if f.where[0] > 500 else "aft of frame 10") in f.text
               and "edge, %.0f mm from" % (1000 - f.where[0]) in f.text for f in left)
    assert len(told) == len(left)


def test_a_corner_mark_is_told_where_a_single_frame_has_its_label():
    found, told = strike(make_even(both([990, *PLACES], ["", "", "", "9", "", ""]), "marks"), "marks")
    assert [s.label for s in found] == ["7", "8", "9", "10",
                                        "11"] and words(told).count("at the corners (upper fore, lower fore)") == 1


@pytest.mark.parametrize("square_to", ["baseline", "run"])
def test_a_lone_tick_at_a_raked_end_meets_the_end(square_to):
    ticks = tuple(Tick((x, y), (x, y + 8), e) for x in (850.0, 650.0, 450.0, 250.0)
                  for y, e in ((TOP, "upper"), (LOW, "lower"))) + (Tick((1050.0, TOP), (1050.0, TOP + 8), "upper"),)
    found, told = strike(make_raked(ticks=ticks), square_to=square_to)
    assert [s.label for s in found] == ["7", "8", "9", "10", "11"] and found[0].ends == ("upper", "fore")
    assert found[0].line[0] == pytest.approx((1050, TOP), abs=1e-6)
    # both long edges are level, so the frame is upright; it meets x = 1150 - 2 (y - 50) at y = 100
    if square_to == "run":
        assert found[0].line[1] == pytest.approx((1050, 100),
                                                 abs=1e-6) and found[0].width_mm == pytest.approx(50, abs=1e-6)
    assert "frame 7: tick on the upper edge alone" in words(told)


def test_a_tick_on_the_end_is_the_lone_ticks_partner():
    ticks = tuple(Tick((x, y), (x, y + 8), e) for x in (850.0, 650.0, 450.0)
                  for y, e in ((TOP, "upper"), (LOW, "lower")))
    ticks += (Tick((1050.0, TOP), (1050.0, TOP + 8), "upper"), Tick((1050.0, 100.0), (1042.0, 100.0), "fore"))
    found, told = strike(make_raked(ticks=ticks), square_to="drawn")
    assert found[0].ends == ("upper", "fore") and [s.label for s in found] == ["7", "8", "9", "10"] and not told


def test_a_drawn_line_may_end_on_a_raked_end():
    lines = [draw_trace([(x, 30), (x, 170)], label="line") for x in (1050.0, 850.0, 650.0)]
    found, told = strike(make_raked(), "lines", lines=lines, square_to="drawn")
    assert [s.ends for s in found] == [("upper", "fore"), ("upper", "lower"), ("upper", "lower")] and not told
    assert found[0].line == pytest.approx(np.array([(1050, 50), (1050, 100.0)]), abs=1e-6)


@pytest.mark.parametrize("labels, bay, typed", [
    (["-2", "-1", "0", "1", "2"], "-2 to -1", ["-2 to -1", "-2--1", "-1 to -2"]),
    (["12 1/2", "13", "13 1/2", "14", "15"], "12 1/2 to 13", ["12 1/2-13", "12 1/2 to 13"]),
    (["7", "7A", "8", "9", "10"], "7-7A", ["7-7A", "7a - 7", "7 to 7A"]), (["A", "B", "C", "D", "E"], "A-B", ["a-b"]),
    (["F-1", "F-2", "F-3", "F-4", "F-5"], "F-1 to F-2", ["F-1-F-2"]),
])
def test_bays_between_such_labels_are_written_and_read(labels, bay, typed):
    from plankcore.joints.frames import find_frames, name_place, read_spot
    stations, _ = strike(make_even(both(PLACES, labels), "marks"), "marks")
    frames = find_frames(make_even(), stations)
    assert name_place(frames, frames.first + 0.5) == bay
    for text in typed:
        place, distance, _ = read_spot(frames, text)
        assert place == frames.first + 0.5 and distance == pytest.approx(250.0, abs=1e-6)
    assert read_spot(frames, "on " + labels[0])[0] == frames.first
    with pytest.raises(SettingError):
        read_spot(frames, labels[0])


def test_a_number_left_free_is_a_frame_between_for_joints():
    from plankcore.joints.frames import find_frames
    stations, _ = strike(make_even(both([x for k, x in enumerate(PLACES) if k != 2])))
    frames = find_frames(make_even(), stations)
    own = dict(zip(frames.labels, frames.distances_mm))
    assert own["9"] == pytest.approx(550.0) and frames.last - frames.first == 4


def test_what_follows_a_frame_that_meets_the_end():
    """Section without the bevel of the edge that is not met, offsets for the edge that is, no width in the checks,
    fastenings by its own width.
    """
    from plankcore.fastenings.groups import FasteningSettings
    from plankcore.fastenings.lay_out import lay_out_fastenings
    from plankcore.record.build import build_record
    from plankcore.record.offsets import lay_out_offsets
    from plankcore.section.board import BoardSettings, draw_board, make_board
    plank = make_raked(thickness_mm=22.0, strake="5")
    stations, _ = strike(plank, "lines", lines=[draw_trace([(x, 30), (x, 170)], label="line")
                                                for x in (1050.0, 850.0, 650.0, 450.0, 250.0)], square_to="drawn")
    empty = dict.fromkeys(("radius", "hollow", "width", "upper bevel", "lower bevel", "upper angle", "lower angle",
                           "bend", "twist", "note"))
    rows = [{**empty, "frame": "7", "radius": 900.0, "upper bevel": 5.0, "lower bevel": 6.0, "row": 2},
            {**empty, "frame": "9", "upper bevel": 5.0, "lower bevel": 6.0, "row": 3},
            {**empty, "frame": "77", "radius": 900.0, "row": 4}]
    board = make_board(plank, stations, rows, settings=BoardSettings())
    first = board.sections[0]
    assert first.known["lower"] == "fore" and not first.reaches("lower") and first.reaches(
        "upper") and first.bevels_deg["lower"] == 0.0
    assert first.bevels_deg["upper"] == pytest.approx(
        5.0, abs=0.05) and board.sections[1].bevels_deg["lower"] == pytest.approx(6.0, abs=0.05)
    told = words(board.findings)
    assert ("Frame 7 meets the fore end, not the lower edge: the lower bevel read there is not used" in told
            and "77" in told)
    assert any("FRAME 7 MEETS THE FORE END" in row for row in board.rows)
    drawn = [t.text for t in draw_board(plank, board, stations).texts]
    assert "FORE END" in drawn and "NONE" in drawn
    table = lay_out_offsets(plank, stations, figures="mm")
    row, = [r for r in table.rows if r.kind == "station" and r.label.startswith("7")]
    assert row.label == "7, upper edge" and row.lower is None and table.reached_mm <= table.limit_mm
    record = build_record(plank, stations=stations, board=board)
    assert any("Frame 7 meets the fore end" in d for d in record.doubts)
    assert "lower" not in record.stations[0].bevels_deg and "upper" in record.stations[0].bevels_deg
    layout = lay_out_fastenings(plank, stations=stations, settings=FasteningSettings())
    assert layout is not None
