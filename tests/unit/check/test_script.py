"""Check Plank on a drawing: what it refuses, what it writes, that it changes nothing else, and when it speaks. The
drawings are invented.
"""
import csv
from pathlib import Path

import numpy as np
import pytest
from drawings import MM_PAGE, draw_plank, fair, open_drawing, reopen
from lxml import etree

from plankcore.allowance.saw_line import add_allowances
from plankcore.command.running import load_action
from plankcore.document import names
from plankcore.document.layers.lines import write_saw_line, write_stations
from plankcore.document.overlay import read_overlay
from plankcore.errors import DocumentError, PatternError, SelectionError, SettingError
from plankcore.fair.fair import FairSettings
from plankcore.stations.strike import StationSettings, strike_stations

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[3] / "extensions"
INCH_PAGE = 'width="80in" height="16in" viewBox="0 0 80 16"'
PIXEL_PAGE = 'width="2000mm" height="400mm" viewBox="0 0 7559.0551 1511.8110"'


def prepare(*, page=MM_PAGE, scale=1.0, more="", path=""):
    body = draw_plank() if scale == 1.0 else '<g transform="scale(%.12f)">%s</g>' % (scale, draw_plank())
    drawing = open_drawing(body + more, page=page, selected=["trace"], path=path)
    plank, group = fair(drawing, name="Tern of Nowhere", strake="5", thickness_mm=22.0,
                        settings=FairSettings(honest_error_mm=0.4))
    struck, findings = strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=300))
    write_stations(drawing, group, struck, findings, square_to="run")
    write_saw_line(drawing, group, add_allowances(
        plank, added_mm={"upper": 3.0, "lower": 3.0, "fore": 25.0, "aft": 25.0}))
    return drawing, group


def check(drawing, **settings):
    """Run the action: the drawing, opened again, and what was said."""
    action = load_action(EXTENSIONS, "check")()
    action.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    action.apply(drawing.root, [g.get("id") for g in drawing.find_groups()[:1]], drawing.path)
    return reopen(drawing), action.messages


def tmp_path_of(said):
    return said.split("The list is in ")[1].rstrip(".")


def read_rows(drawing):
    group = drawing.find_groups()[0]
    return read_overlay(drawing, group, layer="check", action="Check Plank").rows


def measure_layer(drawing):
    layer = names.find_layer(drawing.find_groups()[0], "check")
    overlay = read_overlay(drawing, drawing.find_groups()[0], layer="check", action="Check Plank")
    assert layer is not None
    return np.array([t.at_mm for t in overlay.texts])


def test_without_a_plank_it_is_refused():
    with pytest.raises(SelectionError):
        check(open_drawing(draw_plank()))


@pytest.mark.parametrize("settings, field",
                         [({"true_length": "long"}, "True length"),
                          ({"frame": "1", "frame_width": "-5"}, "Width at that frame"),
                          ({"moisture": "wet"}, "Moisture"),
                                             ({"length_tolerance": "0"}, "Length, within"),
                          ({"frame": "99", "frame_width": "100"}, "Frame that was measured"),
                          ({"frame_width": "100"}, "Frame that was measured"),
                                             ({"frame": "1", "other_widths": "110; wide"},
                                              "Widths of the other strakes"),
                          ({"upper_angle": "130", "frame": "1"}, "Angle above")])
def test_settings_that_cannot_be_are_refused_with_their_field(settings, field):
    drawing, group = prepare()
    with pytest.raises(SettingError) as caught:
        check(drawing, **settings)
    assert caught.value.where == field and names.find_layer(group, "check") is None


def test_a_stretched_plank_is_refused_and_nothing_is_written():
    drawing, group = prepare()
    group.attrib["transform"] = "scale(1.01,1)"
    with pytest.raises(PatternError, match="scaled"):
        check(drawing)
    assert names.find_layer(group, "check") is None


def test_a_list_without_a_place_is_refused():
    drawing, group = prepare()
    with pytest.raises(DocumentError):
        check(drawing, file_name="list")
    assert names.find_layer(group, "check") is None


def test_the_list_is_written_beside_the_drawing(tmp_path):
    drawing, _ = prepare(path=str(tmp_path / "plank.svg"))
    _, said = check(drawing, file_name="strake 5 checks", moisture="15")
    with open(tmp_path / "strake 5 checks.csv", newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert next(r for r in rows if r["check"] == "MOISTURE WHEN HUNG")["verdict"] == "pass"
    assert len(said) == 1 and "strake 5 checks.csv" in said[0]
    with open(tmp_path_of(said[0]), encoding="utf-8", newline="") as handle:
        verdicts = [r["verdict"] for r in csv.DictReader(handle)]
    # all numbers in one line, and where the table is
    assert said[0].startswith("%d pass, %d in doubt, %d not judged; the table lies below the plank."
                              % tuple(verdicts.count(v) for v in ("pass", "doubt", "not judged")))


def test_it_is_silent_unless_something_fails():
    """The editor opens a window for whatever is said: not for a plank that is well."""
    _, said = check(prepare()[0], moisture="15")
    assert said == []
    _, said = check(prepare()[0], moisture="25", true_length="1650")
    assert len(
        said) == 1 and "2 fail: true length; moisture when hung" in said[0] and "The table below the plank" in said[0]


def test_empty_fields_are_not_given():
    _, said = check(prepare()[0], true_length="", frame_width="", moisture="", board_width=" ")
    assert said == []


def test_it_changes_nothing_but_its_own_layer():
    drawing, group = prepare()
    before = [etree.tostring(c) for c in group]
    check(drawing, moisture="25")
    assert [etree.tostring(c) for c in group if names.get(c, "layer") != "check"] == before


def test_run_again_it_replaces_its_layer_and_the_table_stays_where_it_was():
    drawing, _ = check(prepare()[0], moisture="25")
    first = measure_layer(drawing)
    drawing, _ = check(drawing, moisture="25")
    assert measure_layer(drawing) == pytest.approx(first, abs=1e-3)
    layers_there = [c for c in drawing.find_groups()[0] if names.get(c, "layer") == "check"]
    assert len(layers_there) == 1 and layers_there[0].get("{%s}label" % names.INKSCAPE) == "Check"
    drawing, _ = check(drawing, moisture="15")
    assert read_rows(drawing)[0].startswith("CHECK: ") and " 0 FAIL" in read_rows(drawing)[0]


@pytest.mark.parametrize("page, scale", [(INCH_PAGE, 1 / 25.4), (PIXEL_PAGE, 7559.0551 / 2000)])
def test_pages_of_other_units_say_and_place_the_same(page, scale):
    one, _ = check(prepare()[0], true_length="1650", moisture="25")
    other, _ = check(prepare(page=page, scale=scale)[0], true_length="1650", moisture="25")
    assert [r for r in read_rows(other)
            if r.startswith(("CHECK", "FAIL"))] == [r for r in read_rows(one) if r.startswith(("CHECK", "FAIL"))]
    assert measure_layer(other) == pytest.approx(measure_layer(one), abs=0.05)


def test_the_table_keeps_clear_of_other_lines_on_the_page():
    """A line drawn across the page where the table would come, one hidden there, and words of no path."""
    line = '<path id="line" style="stroke:#000" d="M 50 420 L 1900 430"/>'
    free, _ = check(prepare()[0])
    barred, _ = check(prepare(more=line)[0])
    hidden, _ = check(prepare(more=line.replace("stroke:#000", "display:none"))[0])
    assert measure_layer(hidden) == pytest.approx(measure_layer(free), abs=1e-6)
    places = measure_layer(barred)
    assert places[:, 1].min() > 430 or places[:, 1].max() < 420


def test_a_stray_path_that_cannot_be_read_is_no_hindrance():
    check(prepare(more='<path id="junk" d="M 1 2 L nonsense"/><path id="none" d=""/><path id="odd" d="M 1,2 3"/>')[0])


def test_each_layer_that_is_out_of_date_is_told_once():
    drawing, group = prepare()
    for name in ("stations", "saw"):
        names.put(names.find_layer(group, name), fairing="0")
    drawing, said = check(drawing)
    row = next(r for r in read_rows(drawing) if r.startswith("FAIL: LAYERS"))
    assert row.count(
        "HAS BEEN FAIRED AGAIN SINCE") == 2 and "RUN FRAME STATIONS AGAIN" in row and "RUN ALLOWANCES AGAIN" in row
    assert "layers as they were made" in said[0]


def test_doubts_that_other_actions_wrote_are_taken_up():
    drawing, group = prepare()
    plank = drawing.read_plank(group)
    from fact_rows import make_facts

    from plankcore.document.overlay import write_overlay
    from plankcore.model.drawing import Overlay
    from plankcore.model.plank import Finding
    corner = plank.find_corners()["upper fore"]
    write_overlay(drawing, group,
                  Overlay((), (), make_facts(["A BOARD OF 3 M."]),
                          (Finding("the grain runs out 1 in 8", tuple(map(float, corner))),)), layer="stock",
                  label="Choose Stock")
    drawing, _ = check(drawing)
    row = next(r for r in read_rows(drawing) if "BOARD CHOSEN" in r)
    assert row.startswith("DOUBT: ") and "THE GRAIN RUNS OUT 1 IN 8" in row


def test_a_scan_without_a_spare_control_is_doubted():
    for proved, words in (("yes", None), ("no", "DOUBT: SCALE OF THE SCAN")):
        drawing, group = prepare()
        source = next(e for e in names.find_roles(group, "source"))
        names.put(source, proved=proved, worst_mm=0.2, far_mm=0.4)
        drawing, _ = check(drawing)
        found = [r for r in read_rows(drawing) if "SCALE OF THE SCAN" in r]
        assert (found == []) if words is None else found[0].startswith(words)


