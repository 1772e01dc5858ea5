"""Frame stations. Refusals first; then a tapering plank with straight edges, whose widths are simple sums."""
import numpy as np
import pytest
from shapes import draw_trace, make_bowed_plank, make_plank, make_straight_plank, turn

from plankcore.errors import SelectionError, SettingError
from plankcore.model.plank import Mark, Tick
from plankcore.stations.strike import LabelRule, StationSettings, strike_stations

# 1000 long, 100 wide at the bow on the right (x = 1050), 80 at the butt (x = 50), level baseline at y = 90
PLANK = make_straight_plank()


def strike(plank=PLANK, lines=(), **settings):
    labels = settings.pop("labels", LabelRule())
    return strike_stations(plank, settings=StationSettings(labels=labels, **settings), lines=lines)[0]


def rule(a, b, label="frame"):
    return draw_trace([a, b], label=label)


@pytest.mark.parametrize("first", ["", "bow", "12.5", "1/2", "-", "#"])
def test_a_label_that_cannot_be_counted_on_is_refused(first):
    with pytest.raises(SettingError) as caught:
        strike(labels=LabelRule(first))
    assert caught.value.where == "First label"


@pytest.mark.parametrize("settings, words", [({"spacing_mm": 5}, "too small"), ({"spacing_mm": 0}, "too small"),
                                             ({"spacing_mm": -100}, "too small"),
                                             ({"first_mm": 1000.0}, "beyond"), ({"first_mm": 5000.0}, "beyond")])
def test_spacings_that_give_no_station_are_refused(settings, words):
    with pytest.raises(SettingError, match=words):
        strike(**settings)


@pytest.mark.parametrize("lines, words", [
    ((), "No frame lines"), ((rule((500, 80), (500, 85)),), "not a straight frame line"),
    ((draw_trace([(500, 0), (530, 90), (500, 200)]),), "not a straight frame line"),
    ((rule((100, 300), (900, 300)),), "does not cross"), ((rule((5000, 0), (5000, 200)),), "does not cross"),
    ((rule((500, 500), (500, 620)),), "does not cross"),
])
def test_lines_that_are_no_frames_are_refused(lines, words):
    with pytest.raises(SelectionError, match=words):
        strike(source="lines", lines=lines)


@pytest.mark.parametrize("source", ["ticks", "marks"])
def test_without_ticks_or_marks_on_the_long_edges_it_is_refused(source):
    with pytest.raises(SelectionError, match="No %s" % source):
        strike(source=source)
    ends = make_straight_plank(marks=(Mark((1050, 70), "fore"),), ticks=(Tick((1050, 70), (1058, 70), "fore"),))
    with pytest.raises(SelectionError, match="No %s" % source):
        strike(ends, source=source)


@pytest.mark.parametrize("from_end, distances", [("fore", [100, 400, 700]), ("aft", [150, 450, 750])])
def test_distances_labels_and_widths(from_end, distances):
    """From aft: 250, 550, 850 from the butt are 750, 450, 150 from the bow; counting starts at the butt."""
    first = 100 if from_end == "fore" else 250
    found = strike(first_mm=first, spacing_mm=300, labels=LabelRule("7", 1, from_end))
    assert [s.distance_mm for s in found] == pytest.approx(distances, abs=1e-6)
    assert [s.width_mm for s in found] == pytest.approx([100 - d / 50 for d in distances], abs=1e-6)
    assert [s.label for s in found] == (["7", "8", "9"] if from_end == "fore" else ["9", "8", "7"])
    for station in found:
        assert station.line[:, 0] == pytest.approx([1050 - station.distance_mm] * 2, abs=1e-6)
        assert station.line[0, 1] < station.line[1, 1]


@pytest.mark.parametrize("rule, names",
                         [(LabelRule("12", -1), ["12", "11", "10"]), (LabelRule("1", -1), ["1", "0", "-1"]),
                          (LabelRule("F9", 1), ["F9", "F10", "F11"]),
                                         (LabelRule("08", 1), ["08", "09", "10"]),
                          (LabelRule("frame 3"), ["frame 3", "frame 4", "frame 5"]),
                          (LabelRule(" 5 "), ["5", "6", "7"]),
                                         (LabelRule("-2"), ["-2", "-1", "0"]),
                          (LabelRule("12 1/2"), ["12 1/2", "13 1/2", "14 1/2"]), (LabelRule("7A"), ["7A", "8A", "9A"]),
                                         (LabelRule("A"), ["A", "B", "C"]), (LabelRule("c", -1), ["c", "b", "a"]),
                          (LabelRule("F1", -1), ["F1", "F0", "F-1"])])
def test_counting(rule, names):
    assert rule.name(3) == names


def test_stations_turn_with_the_plank():
    turned = make_plank(
        *(PLANK.edges[n].curve.transform(np.array([[np.cos(0.5), -np.sin(0.5), 30], [np.sin(0.5), np.cos(0.5), -10]]))
          for n in ("upper", "lower", "fore", "aft")))
    for a, b in zip(strike(first_mm=100, spacing_mm=300), strike(turned, first_mm=100, spacing_mm=300)):
        assert b.line == pytest.approx(turn(a.line, np.degrees(0.5)) + (30, -10), abs=1e-6)


@pytest.mark.parametrize("square_to, first", [("baseline", (500, 500)), ("drawn", (480, 520))])
def test_a_leaning_frame_line_is_squared_or_left(square_to, first):
    station, = strike(source="lines", square_to=square_to, lines=[rule((478, 30), (522, 150))])
    assert station.line[:, 0] == pytest.approx(first, abs=6)
    if square_to == "drawn":
        way = station.line[1] - station.line[0]
        assert way[0] / way[1] == pytest.approx(44 / 120, abs=1e-9)
        assert station.width_mm > strike(source="lines", lines=[rule((478, 30), (522, 150))])[0].width_mm


def test_drawn_lines_are_sorted_from_the_fore_end_and_may_be_short_or_long():
    found = strike(source="lines",
                   lines=[rule((300, -50), (300, 250)), rule((900, 60), (900, 120)), rule((600, 200), (600, 0))])
    assert [s.distance_mm for s in found] == pytest.approx([150, 450, 750], abs=1e-6)


def test_square_to_the_run_of_a_bowed_plank():
    """On two like parabolas one above the other the run's slope is that of the parabola; at a quarter of the length it
    is half of 4 sny / length.
    """
    plank = make_bowed_plank(length=1200.0, width=100.0)
    found = strike(plank, square_to="run", first_mm=300, spacing_mm=600)
    slope = 4 * 60.0 / 1200 * 0.5
    for station, lean in zip(found, (slope, -slope)):
        way = station.line[1] - station.line[0]
        assert abs(way[0] / way[1]) == pytest.approx(abs(lean), abs=0.01)
        assert station.width_mm < 100 and station.width_mm == pytest.approx(100 * np.cos(np.arctan(slope)), abs=0.15)
    assert [s.distance_mm for s in found] == pytest.approx([300, 900], abs=1e-6)


def test_square_to_the_baseline_of_a_bowed_plank_is_upright_and_of_even_depth():
    for station in strike(make_bowed_plank(), first_mm=100, spacing_mm=250):
        assert station.width_mm == pytest.approx(100, abs=1e-3)


def test_ticks_on_both_edges_make_a_station():
    ticks = tuple(Tick((x, y), (x, y - 8), e) for x in (300.0, 700.0) for y, e in ((45.0, "upper"), (135.0, "lower")))
    found = strike(make_straight_plank(ticks=ticks), source="ticks")
    assert [s.distance_mm for s in found] == pytest.approx([350, 750], abs=0.5)


def test_an_inner_and_an_outer_tick_at_one_frame_are_one():
    """Both borders of a line carry the tick."""
    ticks = tuple(Tick((x + d, y), (x + d, y - 8), e) for x in (300.0, 700.0)
                  for y, e in ((45.0, "upper"), (135.0, "lower")) for d in (-1.0, 1.0))
    assert len(strike(make_straight_plank(ticks=ticks), source="ticks")) == 2


def test_marks_give_their_frames_names_and_corner_marks_without_one_are_no_stations():
    marks = tuple(Mark((x, y), e, label) for x, label in ((1045.0, ""), (800.0, "8"), (500.0, "9"), (55.0, ""))
                  for y, e in ((41.0, "upper"), (139.0, "lower")))
    found = strike(make_straight_plank(marks=marks), source="marks")
    assert [(s.label, round(s.distance_mm)) for s in found] == [("8", 250), ("9", 550)]
