"""Paths for knives: order, direction, start, overcut, no line twice, and a pivot whose blade follows the line."""
import numpy as np
import pytest
import shapely
from plots import make_line_overlay, make_matter
from shapely.geometry import Polygon

from plankcore.errors import SettingError
from plankcore.geometry.polyline import measure_arc_mm, measure_distance_mm
from plankcore.model.page import Page
from plankcore.plot.passes import CutterSettings, lead_pivot, order_cuts, plan_passes
from plankcore.plot.sheet import lay_out_matter, make_page

SQUARE = np.array([(10, 10), (110, 10), (110, 60), (10, 60)], float)
HOLE = np.array([(30, 20), (50, 20), (50, 40), (30, 40)], float)


def make_cut_page(*shapes):
    return Page("P", 200.0, 100.0, make_line_overlay(*((p, "saw", "saw", pen, True) for p, pen in shapes)).lines)


def drag_blade(pivot, offset, start):
    """Where the tip of a trailing blade goes: it is drawn straight towards the pivot, which is a tractrix; in small
    steps. Places are complex numbers, for speed.
    """
    steps = np.diff(pivot, axis=0)
    dense = np.vstack([pivot[k] + step * np.linspace(0, 1, max(int(np.hypot(*step) / 0.005), 2),
                                                     endpoint=False)[:, None] for k, step in enumerate(steps)]
                      + [pivot[-1:]])
    tip, way = complex(*start), []
    for p in (dense @ [1, 1j]).tolist():
        back = tip - p
        tip = p + offset * back / abs(back)
        way.append(tip)
    return np.column_stack([np.real(way), np.imag(way)])


@pytest.mark.parametrize("settings", [{"overcut_mm": -1}, {"overcut_mm": 50}, {"offset_mm": -0.1},
                                      {"offset_mm": 9}, {"overcut_mm": float("nan")}])
def test_settings_that_cannot_be_are_refused(settings):
    with pytest.raises(SettingError):
        CutterSettings(**settings)


def test_inside_comes_before_outside():
    page = order_cuts(make_cut_page((SQUARE, "cut"), (HOLE, "cut"), (HOLE + 25, "draw")))
    cuts = [one for one in page.lines if one.pen == "cut"]
    assert [one.cubics[0, 0].tolist() for one in cuts] == [[30, 20], [10, 10]] and len(page.lines) == 3


@pytest.mark.parametrize("again", [SQUARE, SQUARE[::-1], np.roll(SQUARE, 1, axis=0), SQUARE + 0.001])
def test_no_line_is_cut_twice(again):
    assert len(order_cuts(make_cut_page((SQUARE, "cut"), (again, "cut"))).lines) == 1


def test_a_line_that_is_nearly_another_is_kept():
    assert len(order_cuts(make_cut_page((SQUARE, "cut"), (SQUARE + 0.5, "cut"))).lines) == 2


@pytest.mark.parametrize("shape", [SQUARE, SQUARE[::-1]])
@pytest.mark.parametrize("overcut", [0.0, 1.0, 3.0])
def test_a_cut_runs_clockwise_from_the_middle_of_its_longest_side_and_past_its_start(shape, overcut):
    _, cut = plan_passes(make_cut_page((shape, "cut")), CutterSettings(overcut))
    run, = cut.runs
    assert run[0, 0] == pytest.approx(60) and run[0, 1] in (pytest.approx(10), pytest.approx(60))
    assert measure_arc_mm(run)[-1] == pytest.approx(300 + overcut)
    # clockwise as seen, y down: along the upper side to the right
    assert (run[1] - run[0])[0] * (1 if run[0, 1] < 35 else -1) > 0
    assert Polygon(run[:6]).area == pytest.approx(5000) and np.abs(
        measure_distance_mm(run, np.vstack([SQUARE, SQUARE[:1]]))).max() < 1e-9


def test_a_plank_is_begun_in_the_middle_of_a_long_edge():
    page = order_cuts(make_page(lay_out_matter(make_matter())))
    _, cut = plan_passes(page)
    run, = cut.runs
    corners = np.array([one.cubics[[0, -1], [0, 3]] for one in page.lines if one.pen == "cut"]).reshape(-1, 2)
    assert np.hypot(*(run[0] - corners).T).min() > 400
    assert np.hypot(*(run[0] - run[-1])) == pytest.approx(1.0, abs=1e-3)


def test_drawn_lines_are_whole_and_know_their_look():
    page = make_page(lay_out_matter(make_matter()))
    draw, cut = plan_passes(page)
    assert (draw.tool, cut.tool) == ("draw", "cut") and len(draw.runs) == len(draw.styles)
    assert {"outline", "station", "note"} <= set(draw.styles) and set(cut.styles) == {"saw"}
    outline, = [run for run, style in zip(draw.runs, draw.styles) if style == "outline"]
    assert outline[0] == pytest.approx(outline[-1])


@pytest.mark.parametrize("offset", [0.25, 0.9])
def test_the_blade_follows_the_line_where_the_pivot_is_led(offset):
    """The tip's way is worked out from how a trailing blade is dragged, not from how the pivot was led: within 0.02 mm,
    and with nothing left uncut.
    """
    curve = np.column_stack([np.linspace(0, 40, 200), 5 * np.sin(np.linspace(0, 4, 200))])
    line = np.vstack([curve, curve[-1] + [(10, 0), (10, 10), (-5, 10), (-5, 3)]])
    tip = drag_blade(lead_pivot(line, offset_mm=offset), offset, line[0])
    assert measure_distance_mm(tip, line).max() < 0.02 and measure_distance_mm(line, tip).max() < 0.02


def test_without_it_the_blade_rounds_the_corners_by_about_its_offset():
    """Common practice, no source: the error at a corner is about the offset."""
    line = np.array([(0, 0), (20, 0), (20, 20)], float)
    tip = drag_blade(line, 0.25, (-0.25, 0))
    assert 0.1 < measure_distance_mm(line[1:2], tip)[0] < 0.3


def test_with_an_offset_the_overcut_lets_the_blade_settle():
    _, cut = plan_passes(make_cut_page((SQUARE, "cut")), CutterSettings(0.0, 0.5))
    assert measure_arc_mm(cut.runs[0])[-1] > 300 + 6 * 0.5
    # a blade that stood askew at the start, if not right ahead of its pivot, has cut the whole square by the end
    ring = np.vstack([SQUARE, SQUARE[:1]])
    dense = np.vstack([a + (b - a) * np.linspace(0, 1, 400)[:, None] for a, b in zip(ring[:-1], ring[1:])])
    for angle in np.linspace(0.5, 5.8, 7):
        tip = drag_blade(cut.runs[0], 0.5, cut.runs[0][0] + 0.5 * np.array([np.cos(angle), np.sin(angle)]) + 1e-9)
        steps = shapely.STRtree(shapely.linestrings(np.stack([tip[:-1], tip[1:]], axis=1)))
        (which, _), away = steps.query_nearest(shapely.points(dense), all_matches=False, return_distance=True)
        assert len(which) == len(dense) and away.max() < 0.05
