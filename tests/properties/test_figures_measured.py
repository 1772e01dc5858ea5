"""Every figure of record, table and sheet is measured again on the drawing, by a reader that shares no code with what
wrote it, and is its rounding.

The planks are those of surveyed_planks: every option that changes a figure is on one of them. What is told of fairing,
wood, fastenings and pages has tests of its own beside this one.
"""
import csv
import io
from dataclasses import replace

import numpy as np
import pytest
import shapely
from surveyed_planks import CASES, THICKNESS_MM, change_item, loft_sheet, run
from surveyor import CSV_COLUMNS, list_csv_claims, list_differences, list_record_claims, list_sheet_claims, loft
from surveyor_details import list_bar_claims, list_fastening_claims, list_joint_claims, list_joint_record_claims


def survey(case, found):
    """Claims of record and table, and of the sheet."""
    drawn, denominator = loft(found.drawing), int(case.record.get("fraction", "16"))
    return [*list_record_claims(found.page, drawn, denominator=denominator),
            *list_csv_claims(found.table, drawn, denominator=denominator)], list(
                list_sheet_claims(found.sheet, loft_sheet(found.sheet, found.drawing)))


@pytest.mark.parametrize("name", CASES)
def test_every_figure_is_what_the_drawing_gives_to_its_last_decimal(name):
    told, lettered = survey(CASES[name], run(CASES[name]))
    assert list_differences([*told, *lettered]) == []
    assert len(told) > 60 and len(lettered) > 10


@pytest.mark.parametrize("change", [("edge", "upper", "lower"), ("frame", "3", "4"), ("frame", "3", "33")])
def test_a_row_of_the_table_under_another_frame_or_edge_is_seen(change):
    """Planted faults: of a frame's rows in mm one names the other edge, the next frame, or none that there is."""
    found = run(CASES["hollow and bend, stations by the run"])
    table = csv.DictReader(io.StringIO(found.table.decode("utf-8")))
    rows = [row for row in table if row["point"] is not None]            # the file's mark is no row
    column, old, new = change
    row = next(r for r in rows if r["part"] == "station" and r[column] == old and r["edge"] != "both")
    row[column] = new
    out = io.StringIO()
    writer = csv.DictWriter(out, CSV_COLUMNS)
    writer.writeheader()
    writer.writerows(rows)
    try:
        wrong = list_differences(list_csv_claims(out.getvalue().encode("utf-8"), loft(found.drawing), denominator=16))
    except AssertionError as error:
        wrong = [str(error)]
    assert any("frame" in w or "edge" in w for w in wrong), wrong


def test_frames_that_meet_a_raked_hood_end_are_among_those_surveyed():
    ends = {name: [i.values["ends"] for i in run(CASES[name]).drawing.find("station")]
            for name in ("raked and bowed ends, counted from aft", "frames that meet both hood ends, on a board")}
    assert "upper aft" in ends["raked and bowed ends, counted from aft"]
    both = ends["frames that meet both hood ends, on a board"]
    assert both[0] == "upper fore" and both[-1] == "upper aft" and set(both[1:-1]) == {"upper lower"}


def test_a_saw_line_drawn_three_tenths_off_in_one_place_is_seen():
    """A planted fault: one stretch of the drawn line, about one frame, 0.3 mm farther out than when record and sheet
    were written.
    """
    found = run(CASES["bevels and round"])
    drawn = loft(found.drawing)
    assert list_differences(list_record_claims(found.page, drawn, denominator=16)) == []
    label, line = drawn.frames[3]
    out = drawn.outward("upper", line[0])[1]
    points = shapely.get_coordinates(drawn.saw)
    points = points + np.where(np.hypot(*(points - line[0]).T) < 60, 0.3, 0.0)[:, None] * out
    for claims in (list_record_claims(found.page, replace(drawn, saw=shapely.LinearRing(points)), denominator=16),
                   list_csv_claims(found.table, replace(drawn, saw=shapely.LinearRing(points)), denominator=16)):
        wrong = list_differences(claims)
        assert [w for w in wrong if "frame, %s" % label in w
                or "frame %s," % label in w] and all("saw line" in w for w in wrong)


@pytest.mark.parametrize("role, change, values, words", [
    ("drawn-face", lambda p: p * [1.0 + 0.25 / 400, 1.0], {}, "Upper edge|Diagonal|edge"),
    ("section-line", lambda p: p + [0.0, 0.3], {"edge": "lower"}, "on the plan"),
])
def test_other_lines_drawn_off_are_seen_too(role, change, values, words):
    found = run(CASES["bevels and round"])
    drawing = change_item(found.drawing, role, change, **values)
    wrong = list_differences(list_record_claims(found.page, loft(drawing), denominator=16))
    assert any(w for w in wrong if any(part in w for part in words.split("|")))


def test_a_frame_told_to_meet_another_end_than_it_does_is_seen():
    """A planted fault at a raked hood end: the frame's line on the board laid where it reaches the edge."""
    name = "frames that meet both hood ends, on a board"
    found = run(CASES[name])
    drawing = change_item(found.drawing, "section-line", lambda p: p + [-40.0, 0.0], edge="lower", station="1")
    with pytest.raises(AssertionError):
        list(list_record_claims(found.page, loft(drawing), denominator=16))


DETAILS = ("joints and fastenings", "butt, hood end raked", "marks, one left out, ends marked thrice")


def survey_details(name, drawing, page, sheet):
    """Claims of joints, fastenings, bars and page."""
    drawn, plotted = loft(drawing), loft_sheet(sheet, drawing)
    claims = [*list_bar_claims(sheet), *list_joint_claims(sheet, plotted, thickness_mm=THICKNESS_MM)]
    if CASES[name].more:
        claims += [*list_joint_record_claims(page, drawing, drawn, denominator=16),
                   *list_fastening_claims(sheet, plotted)]
    return claims


@pytest.mark.parametrize("name", DETAILS)
def test_joints_fastenings_bars_and_page_are_what_is_drawn(name):
    found = run(CASES[name])
    claims = survey_details(name, found.drawing, found.page, found.told)
    assert list_differences(claims) == []
    assert len(claims) > 60 and (not CASES[name].more or sum("joint 1" in c.where for c in claims) >= 6)


@pytest.mark.parametrize("name, role, fault, words", [
    (DETAILS[0], "feather", {"change": lambda p: p + [0.3, 0.0]}, "joint 1, length"),
    (DETAILS[1], "joint", {"change": lambda p: p + [0.3, 0.0]}, "joint 1, distance"),
    (DETAILS[1], "block", {"change": lambda p: p * 1.001, "joint": "1"}, "block, length"),
    (DETAILS[0], "fastening", {"drop": True}, "driven for PLANK"),
    (DETAILS[0], "fastening", {"change": lambda p: p * 1.02}, "plug"),
    (DETAILS[2], "scale-bar", {"change": lambda p: p * 1.0001}, "bar 1000 MM ALONG"),
    (DETAILS[2], "scale-bar-tick", {"change": lambda p: p + [0.05, 0.0], "first": 3}, "tick 3"),
    (DETAILS[1], "bare", {"change": lambda p: p * 1.01}, "left bare"),
    (DETAILS[2], "corner-cross", {"change": lambda p: p + [0.3, 0.3]}, "crosses A"),
    (DETAILS[0], "station", {"change": lambda p: p + [200.0, 0.0], "station": "5"}, "part 1, frame spaces"),
])
def test_details_drawn_otherwise_than_told_are_seen(name, role, fault, words):
    """Planted faults: a feather, a butt, a block, a cross, a plug's circle, a bar, a tick, a corner cross, a frame."""
    found = run(CASES[name])
    wrong = list_differences(survey_details(name, found.drawing, found.page, change_item(found.told, role, **fault)))
    assert any(words in w for w in wrong), wrong
