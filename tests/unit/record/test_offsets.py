"""The table of offsets. Refusals first; then planks whose offsets are simple sums, and how figures are rounded and
read.
"""
from dataclasses import replace

import numpy as np
import pytest
from shapes import SNY_MM, draw_graph, make_bowed_plank, make_line, make_plank, make_straight_plank

from plankcore.errors import PatternError
from plankcore.geometry.curve import Curve
from plankcore.record.offsets import RULES, _judge, _Ordinate, lay_out_offsets
from plankcore.record.sketch import BaselineChart, EdgeGraph
from plankcore.stations.strike import StationSettings, strike_stations

# 1000 long, 100 wide at the bow on the right, 80 at the butt, symmetric about its baseline
PLANK = make_straight_plank()
INCH = 25.4


def lay(plank=PLANK, *, figures="mm", denominator=16, **stations):
    found = strike_stations(plank, settings=StationSettings(**stations))[0] if stations else []
    return lay_out_offsets(plank, found, figures=figures, denominator=denominator)


def list_rows(table, kind=None):
    return [(r.label, r.along.words, r.upper.words if r.upper else None, r.lower.words if r.lower else None)
            for r in table.rows if kind in (None, r.kind)]


def test_an_edge_that_turns_back_is_refused_with_its_place():
    """The upper edge runs aft, 60 mm forward again, and aft: no ordinate could tell which of three places is meant."""
    a, b, c, d = np.array([(1050, 40), (50, 50), (1050, 140), (50, 130.0)])
    back = Curve(np.concatenate([make_line(a, (500, 45)).cubics, make_line((500, 45), (560, 30)).cubics,
                                 make_line((560, 30), b).cubics]))
    with pytest.raises(PatternError, match="upper edge turns back") as caught:
        lay(make_plank(back, make_line(c, d), make_line(a, c), make_line(b, d)))
    assert 440 < caught.value.where[0] < 570


def test_an_end_that_turns_back_is_refused():
    a, b, c, d = np.array([(1050, 40), (50, 50), (1050, 140), (50, 130.0)])
    end = Curve(np.concatenate([make_line(a, (1060, 100)).cubics, make_line((1060, 100), (1070, 70)).cubics,
                                make_line((1070, 70), c).cubics]))
    with pytest.raises(PatternError, match="fore end turns back"):
        lay(make_plank(make_line(a, b), make_line(c, d), end, make_line(b, d)))


def test_the_offsets_of_a_tapering_plank_are_half_its_widths():
    """100 wide at the fore end and 80 a metre aft: 100 - d/50 at d, half of it up and half down."""
    table = lay(first_mm=150, spacing_mm=230)
    assert list_rows(table) == [
        ("fore corners", "0.0", "up 50.0", "down 50.0"), ("1", "150.0", "up 48.5", "down 48.5"),
        ("2", "380.0", "up 46.2", "down 46.2"),
        ("3", "610.0", "up 43.9", "down 43.9"), ("4", "840.0", "up 41.6", "down 41.6"),
        ("aft corners", "1000.0", "up 40.0", "down 40.0")]
    assert table.ends == {"fore": (), "aft": ()} and table.reached_mm <= 0.05 and (table.lowest_mm,
                                                                                   table.highest_mm) == (-50.0, 50.0)


def test_in_sixteenths_the_offset_is_that_at_the_distance_printed():
    """150 mm is 5.906 in, nearest sixteenth 5 14/16: 0-5-7; there 100 - 149.225/50 is 97.0155, half of it 1.9097 in,
    nearest 1 15/16: 0-1-7+.
    """
    row = next(r for r in lay(figures="inches", first_mm=150, spacing_mm=800).rows if r.kind == "station")
    assert (row.along.words, row.upper.words, row.lower.words) == ("0-5-7", "up 0-1-7+", "down 0-1-7+")
    assert (row.along.value_mm, row.upper.value_mm) == pytest.approx((149.225, 31 / 16 * INCH))


@pytest.mark.parametrize("denominator, words, fine",
                         [(8, "1/8 in", "1/16 in"), (16, "1/16 in", "1/32 in"), (32, "1/32 in", "1/32 in")])
def test_the_rounding_is_told_and_corners_are_finer(denominator, words, fine):
    table = lay(make_straight_plank(fore=101.0), figures="inches", denominator=denominator, first_mm=150,
                spacing_mm=230)
    assert (table.rounding, table.fine_rounding, table.half_mm) == (words, fine, INCH / denominator / 2)
    for row in table.rows:
        part = INCH / (int(fine[2:-3]) if row.kind == "corner" else denominator)
        for figure in (row.along, row.upper, row.lower):
            assert figure.value_mm / part == pytest.approx(round(figure.value_mm / part), abs=1e-9)
    assert lay().rounding == lay().fine_rounding == "0.1 mm"


@pytest.mark.parametrize("forward", ["right", "left"])
def test_up_is_towards_the_upper_edge_whichever_way_the_bow_lies(forward):
    """A plank bowed upward by 60 mm with 40 mm of width: amidships both edges are above the baseline."""
    plank = make_bowed_plank(width=40.0)
    if forward == "left":
        plank = make_plank(*(plank.edges[n].curve.transform(np.array([[-1.0, 0, 2000], [0, 1, 0]]))
                             for n in ("upper", "lower", "fore", "aft")), forward="left")
    row = next(r for r in lay(plank, first_mm=600, spacing_mm=5000).rows if r.kind == "station")
    assert (row.upper.value_mm, row.lower.value_mm) == pytest.approx((SNY_MM + 20, SNY_MM - 20), abs=0.051)
    assert row.lower.words == "up 40.0"


def test_raked_corners_have_rows_of_their_own_and_one_lies_forward_of_the_mark():
    """The lower edge begins 200 mm aft of the upper one, so the middle of the end lies 100 mm behind the one corner and
    ahead of the other, but along a baseline that climbs by 0 in 1000: both distances are exact."""
    a, b, c, d = np.array([(1150, 50), (50, 50), (950, 150), (50, 150.0)])
    rows = list_rows(lay(make_plank(make_line(a, b), make_line(c, d), make_line(a, c), make_line(b, d))), "corner")
    assert rows == [("fore corner, upper edge", "forward 100.0", "up 50.0", None),
                    ("fore corner, lower edge", "100.0", None, "down 50.0"),
                    ("aft corners", "1000.0", "up 50.0", "down 50.0")]


def test_a_leaning_frame_has_a_row_for_each_edge_where_it_crosses_it():
    plank = make_bowed_plank(length=1200.0, width=100.0)
    station, = strike_stations(plank, settings=StationSettings(square_to="run", first_mm=300, spacing_mm=5000))[0]
    rows = [r for r in lay_out_offsets(plank, [station], figures="mm").rows if r.kind == "station"]
    # the bow is on the right, at x = 1250; the baseline is level at the middle of the ends, y = 170
    want = {n: (1250 - p[0], 170 - p[1]) for n, p in zip(("upper", "lower"), station.line)}
    assert {r.label for r in rows} == {"1, upper edge", "1, lower edge"}
    for row in rows:
        name = row.label.split(", ")[1].split()[0]
        assert (row.along.value_mm, getattr(row, name).value_mm) == pytest.approx(want[name], abs=0.06)
        assert getattr(row, "lower" if name == "upper" else "upper") is None


def test_a_frame_that_leans_less_than_a_rounding_stays_one_row():
    """0.06 mm over 100 mm; a millimetre makes two."""
    station, = strike_stations(PLANK, settings=StationSettings(first_mm=500, spacing_mm=5000))[0]
    for lean, count in ((0.06, 1), (1.0, 2)):
        line = station.line + np.array([[-lean / 2, 0], [lean / 2, 0]])
        assert len(list_rows(lay_out_offsets(PLANK, [replace(station, line=line)], figures="mm"), "station")) == count


def test_a_frame_close_to_a_corner_is_no_point_for_the_batten():
    """At 1/16 in two figures 8 mm apart would turn a batten by a tenth; in mm to tenths they would not."""
    plank = make_bowed_plank(length=2600.0)
    for figures, batten in (("inches", False), ("mm", True)):
        first = next(r for r in lay(plank, figures=figures, first_mm=8, spacing_mm=230).rows if r.kind == "station")
        assert first.batten == batten


def test_ordinates_between_frames_are_told_by_the_frames():
    upper, lower = (draw_graph(lambda x, y=y: y - 60 * np.sin(x / 400), lambda x: -0.15 * np.cos(x / 400), 2600.0,
                               0.0) for y in (100.0, 200.0))
    table = lay(make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end)),
                first_mm=700, spacing_mm=1000)
    labels = [r.label for r in table.rows if r.kind == "between"]
    assert labels and len(set(labels)) == len(labels)
    assert {"forward of 1", "between 1 and 2", "aft of 2"} <= set(labels)
    for row in table.rows:
        if row.kind == "between":
            assert row.along.value_mm % 5 == pytest.approx(0, abs=1e-9) and row.upper and row.lower
    assert all(r.label.startswith("between the ends") for r in lay(make_bowed_plank()).rows if r.kind == "between")


@pytest.mark.parametrize("figures, denominator", [("mm", 16), ("inches", 8), ("inches", 16), ("inches", 32)])
def test_there_are_enough_ordinates_and_none_too_many(figures, denominator):
    """What is promised is kept, and taking any of those between frames away breaks it."""
    plank = make_bowed_plank(length=2600.0)
    table = lay(plank, figures=figures, denominator=denominator, first_mm=700, spacing_mm=1000)
    rule = RULES["mm" if figures == "mm" else denominator]
    assert table.limit_mm == rule.limit_mm and table.reached_mm <= rule.limit_mm
    chart = BaselineChart(plank)
    graphs = {n: EdgeGraph(plank.edges[n].curve, chart.start, along=chart.along, up=chart.up, what=n)
              for n in ("upper", "lower")}
    kept = [_Ordinate(r.label, r.kind, r.along.value_mm, tuple(n for n in graphs if getattr(r, n)))
            for r in table.rows]
    assert _judge(kept, graphs, rule)[-1] <= 0.9 * rule.limit_mm
    for one in [o for o in kept if o.kind == "between"]:
        assert _judge([o for o in kept if o is not one], graphs, rule)[-1] > 0.9 * rule.limit_mm


def test_a_bowed_end_is_given_from_the_line_between_its_corners():
    """A fore end bowed forward by 4 mm on a plank 100 deep: at the middle 4 mm outside, at the quarters three quarters
    of that (a parabola).
    """
    a, b, c, d = np.array([(1050, 40), (50, 40), (1050, 140), (50, 140.0)])
    # control points of y = 16 t (1 - t)
    end = Curve(np.array([[a, a + (16 / 3, 100 / 3), a + (16 / 3, 200 / 3), c]]))
    for figures in ("mm", "inches"):
        table = lay(make_plank(make_line(a, b), make_line(c, d), end, make_line(b, d)), figures=figures)
        assert table.ends["aft"] == () and len(table.ends["fore"]) in (1, 3)
        for row in table.ends["fore"]:
            t = row.down.value_mm / 100
            assert row.out.value_mm == pytest.approx(16 * t * (1 - t), abs=0.42 if figures == "inches" else 0.051)
            assert row.out.words.startswith("outside ")
    hollow = end.transform(np.array([[-1.0, 0, 2100], [0, 1, 0]]))
    assert {r.out.words.split()[0] for r in lay(make_plank(make_line(a, b), make_line(c, d), hollow,
                                                           make_line(b, d))).ends["fore"]} == {"inside"}


def test_the_aft_end_bows_outward_aft():
    a, b, c, d = np.array([(1050, 40), (50, 40), (1050, 140), (50, 140.0)])
    end = Curve(np.array([[b, b + (-16 / 3, 100 / 3), b + (-16 / 3, 200 / 3), d]]))
    assert next(r.out.words for r in lay(make_plank(make_line(a, b), make_line(c, d), make_line(a, c),
                                                end)).ends["aft"]).startswith("outside ")
