"""What the record says. Refusals first; then a tapering plank with straight edges, whose proof lengths are sums by
hand.
"""
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapes import make_bowed_plank, make_plank, make_straight_plank

from plankcore.allowance.saw_line import add_allowances
from plankcore.errors import SettingError
from plankcore.geometry.curve import Curve
from plankcore.model.board import Board, Seam, Section
from plankcore.model.drawing import Fact, Station
from plankcore.model.plank import Finding, Mark
from plankcore.model.record import ToldLayer
from plankcore.record.build import RecordSettings, build_record, read_moisture
from plankcore.record.sketch import WIDTH_MM, draw_sketch, name_scale
from plankcore.stations.strike import StationSettings, strike_stations

NAMES = {"name": "Tern of Nowhere", "strake": "7", "side": "starboard", "face": "inboard", "thickness_mm": 22.0}
# 1000 long, 100 wide at the bow on the right (x = 1050), 80 at the butt (x = 50), baseline level at y = 90
PLANK = make_straight_plank(**NAMES)
STATIONS = strike_stations(PLANK, settings=StationSettings(first_mm=100, spacing_mm=400))[0]


def tell(heading, action, *rows, findings=()):
    """What an action has said, in its words."""
    return ToldLayer(heading, action, tuple(Fact("said", row) for row in rows), tuple(findings))


SECTIONS = (ToldLayer("Hollow and bevels", "Hollow and Bevels"), ToldLayer("Scarfs and butts", "Scarfs and Butts"),
            tell("Stock", "Choose Stock", "A BOARD OF 3 M"))


def build(plank=PLANK, stations=STATIONS, **values):
    settings = {k: values.pop(k) for k in list(values) if k in RecordSettings.__dataclass_fields__}
    return build_record(plank, stations=stations, settings=RecordSettings(**settings), **values)


def mark(x, y, edge, station="", residual=0.0, verdict="used"):
    return Mark((x, y), edge, station, 0.3, residual_mm=residual, verdict=verdict)


def make_board(plank=PLANK, *, drawn=None, includes=("bevel", "hollow"), known=None, findings=()):
    known = known or {"radius": "given", "upper": "given", "lower": "between"}
    sections = tuple(Section(s.label, s.line, s.distance_mm, 0.001, inside_mm=s.width_mm, outside_mm=s.width_mm + 2.0,
                             hollow_mm=1.3, rounding_mm=0.5, stock_mm=24.0,
                             thickness_mm=21.5, bevels_deg={"upper": 3.0, "lower": -2.0},
                             growths_mm={"upper": 1.0, "lower": 1.0}, known=known,
                             profile=np.zeros((3, 2))) for s in STATIONS)
    return Board(tuple(drawn or plank.outline()), tuple(plank.outline()), sections, Seam(), thickness_mm=22.0,
                 stock_mm=27.0, stock_name="", length_added_mm=0.0, turn_deg=0.0,
                 includes=includes, facts=(), findings=findings, face=plank.face)


@pytest.mark.parametrize("text", ["wet", "-1", "201", "14 to 16", "nan", "inf", "14 %%", "1e1", "%"])
def test_a_moisture_that_is_none_is_refused(text):
    with pytest.raises(SettingError) as caught:
        read_moisture(text)
    assert caught.value.where == "Moisture"


@pytest.mark.parametrize("text, value", [("", None), ("  ", None), ("14", 14.0), ("14 %", 14.0), ("14.5%", 14.5),
                                         ("0", 0.0), ("200", 200.0)])
def test_moisture_as_typed(text, value):
    assert read_moisture(text) == value


@pytest.mark.parametrize("setting, field", [("measured_by", "Measured by"), ("day", "Date"), ("remarks", "Remarks"),
                                            ("file_name", "File name"), ("drawing_name", "Drawing")])
@pytest.mark.parametrize("text", ["approved", "APPROVED by the surveyor", "not approved yet", "seen,approved"])
def test_no_one_can_have_the_record_say_that_it_is_approved(setting, field, text):
    with pytest.raises(SettingError, match="not an approval") as caught:
        build(**{setting: text})
    assert caught.value.where == field


@pytest.mark.parametrize("values", [{"plank": replace(PLANK, name="Approved")},
                                    {"sections": (tell("Stock", "Choose Stock", "APPROVED FOR USE"),)}])
def test_nor_can_the_boats_name_or_another_actions_words(values):
    with pytest.raises(SettingError, match="not an approval"):
        build(**values)


@pytest.mark.parametrize("text", ["bell \x07", "\x00", "half \ud800"])
def test_what_cannot_be_printed_is_refused(text):
    with pytest.raises(SettingError, match="cannot be printed"):
        build(remarks=text)


def test_a_plank_too_long_to_sketch_is_refused():
    with pytest.raises(SettingError, match="too long"):
        build(make_straight_plank(length=60000.0), ())


def list_texts(record):
    """Every word of a record, but for the figures."""
    return [record.title, *(w for f in record.facts for w in f), *record.steps, *record.key, *record.includes,
            *record.doubts, *record.cautions,
            *(r for s in record.sections for r in (s.heading, *s.rows))]


@pytest.mark.parametrize("values", [{}, {"figures": "mm"}, {"figures": "inches", "denominator": 8},
                                    {"board": make_board()}, {"sections": SECTIONS}])
def test_the_word_stands_nowhere_and_that_it_is_no_approval_does(values):
    record = build(**values)
    assert not any("approved" in t.lower() for t in list_texts(record))
    assert "not an approval" in record.cautions[0] and "surveyor" in record.cautions[0]


def test_what_is_not_known_is_left_to_be_filled_in():
    facts = dict(build(make_straight_plank(), ()).facts)
    assert [k for k, v in facts.items() if not v] == ["Boat", "Thickness, finished", "Moisture of the wood",
                                                      "Measured by", "Date", "Drawing", "This record"]
    facts = dict(build(replace(PLANK, key="2"), moisture=14.0, measured_by="M. Thole", day="3 May",
                       remarks="Old plank kept.", drawing_name="s.svg", file_name="r.html").facts)
    assert (facts["Moisture of the wood"] == "14 %" and facts["Drawing"] == "s.svg, fairing 2"
            and facts["Thickness, finished"] == "22.0 mm = 0-0-7")
    assert (facts["Remarks"] == "Old plank kept." and facts["Strake and side"] == "7 starboard"
            and facts["Face of the figures"] == "inboard face (inside of the planking)")
    assert facts["Seen from"].startswith("outboard: the board lies with its outboard face up")


def test_proof_lengths_of_a_tapering_plank():
    """Ends 100 and 80, a metre apart, symmetric: each diagonal is the root of 1000^2 + 90^2, each edge that of 1000^2 +
    10^2.
    """
    found = {p.name: p.length_mm for p in build().proofs}
    assert found["Baseline, fore mark to aft mark"] == found["Over all, along the baseline"] == pytest.approx(
        1000.0, abs=1e-6)
    assert (found["Fore end, corner to corner"],
            found["Aft end, corner to corner"]) == pytest.approx((100.0, 80.0), abs=1e-6)
    for name in ("Diagonal, upper fore to lower aft", "Diagonal, lower fore to upper aft"):
        assert found[name] == pytest.approx(np.hypot(1000, 90), abs=1e-6)
    for edge in ("Upper", "Lower"):
        assert found["%s edge, tape along the batten" % edge] == pytest.approx(np.hypot(1000, 10), abs=1e-6)
    # between the hundred of the fore end and itself, to a rounding of a 32nd
    assert found["Breadth of board it lies in, along the baseline"] == pytest.approx(100.0, abs=0.8)


def test_proofs_are_written_in_the_figures_asked_for():
    """1000 / 25.4 is 39.3701 in: 3 ft 3 in and 3 eighths, exactly enough for each of the fractions."""
    for values, words in (({"figures": "both"}, "1000.0 mm = 3-3-3"), ({"figures": "mm"}, "1000.0 mm"),
                          ({"figures": "inches", "denominator": 32}, "3-3-3")):
        assert build(**values).proofs[0].words == words
        assert [t.figures for t in build(**values).tables] == {"both": ["mm", "inches"]}.get(values["figures"],
                                                                                             [values["figures"]])


def test_the_width_that_is_known_stands_under_its_face_and_the_rest_is_open():
    for face, known, other in (("inboard", "inside_mm", "outside_mm"), ("outboard", "outside_mm", "inside_mm")):
        row = build(replace(PLANK, face=face)).stations[1]
        # 3.543 in, nearest sixteenth 3 9/16
        assert getattr(row, known) == pytest.approx(90.0, abs=1e-6) and row.words[known] == "90.0\u00a0mm\n0-3-4+"
        assert getattr(row, other) is None and other not in row.words and row.bevels_deg == {} and row.hollow_mm is None


def test_a_board_gives_both_faces_bevels_hollow_and_thickness():
    record = build(board=make_board())
    row = record.stations[0]
    assert (row.inside_mm, row.outside_mm, row.hollow_mm,
            row.thickness_mm) == pytest.approx((98.0, 100.0, 1.3, 21.5), abs=1e-6)
    assert (row.words["upper_bevel"], row.words["lower_bevel"],
            row.words["hollow_mm"]) == ("+3.0", "(-2.0)", "1.3 inside")
    assert "Counted in the width of the other face: bevel, hollow." in record.includes and any(
        "Not in the figures" in t and "bevel" not in t for t in record.includes)


def test_what_a_board_only_assumes_is_not_printed_as_measured():
    """It is printed all the same: a yard that has only the page strikes the plank by it."""
    row = build(board=make_board(known={"radius": "taken", "upper": "taken", "lower": "given"})).stations[0]
    assert row.hollow_mm is None and row.bevels_deg == {"upper": 3.0, "lower": -2.0} and row.bevels_known == {
        "upper": "square", "lower": "read"}
    assert row.words["upper_bevel"] == "(+3.0)" and row.words["lower_bevel"] == "-2.0" and "hollow_mm" not in row.words


def test_a_bevel_that_nobody_gave_on_a_round_frame_is_printed_as_radial():
    row = build(board=make_board(known={"radius": "between", "upper": "taken", "lower": "beyond"})).stations[0]
    assert row.bevels_known == {"upper": "radial", "lower": "as at the nearest frame read"}
    assert row.words["upper_bevel"] == "(+3.0 radial)" and row.words["hollow_mm"] == "(1.3 inside)"


def test_the_saw_line_is_measured_where_it_is_drawn():
    """Allowances of 3, 4, 25 and 12 mm on straight edges; then one straight side of the drawn saw line is shoved 0.3 mm
    farther out, whatever was typed.
    """
    saw = add_allowances(PLANK, added_mm={"upper": 3, "lower": 4, "fore": 25, "aft": 12})
    record = build(saw=saw)
    assert [s.saw_mm for s in record.stations] == [{"upper": pytest.approx(3.0, abs=1e-6),
                                                    "lower": pytest.approx(4.0, abs=1e-6)}] * len(STATIONS)
    assert [(p.name, round(p.length_mm, 6)) for p in record.saw] == [("%s end, %s" % (e, w), v) for e, v in (
        ("fore", 25.0), ("aft", 12.0)) for w in ("a quarter down", "middle", "three quarters down")]
    along = (saw.curves[0].end - saw.curves[0].start) / np.hypot(*(saw.curves[0].end - saw.curves[0].start))
    out = np.array([along[1], -along[0]]) if along[0] > 0 else np.array([-along[1], along[0]])
    moved = replace(saw, curves=(Curve(saw.curves[0].cubics + 0.3 * out), *saw.curves[1:]))
    found = build(saw=moved)
    assert [s.saw_mm["upper"] for s in found.stations] == [pytest.approx(3.3, abs=1e-6)] * len(STATIONS) and any(
        "upper 3.3 mm, lower 4 mm, fore 25 mm, aft 12 mm" in t for t in found.includes)


def test_a_frame_that_meets_an_end_is_told_where_and_has_no_row_for_the_edge_it_does_not_reach():
    """From the lower edge (y = 139 at x = 950) to the fore end, which stands upright at x = 1050, 10 mm above the
    baseline.
    """
    slanted = Station("0", [(1050.0, 80.0), (950.0, 139.0)], float(np.hypot(100, 59)), 50.0, ends=("fore", "lower"))
    record = build(stations=[slanted, *STATIONS], figures="mm",
                   saw=add_allowances(PLANK, added_mm={"upper": 3, "lower": 4, "fore": 25, "aft": 12}))
    assert [(r.label, r.along.words, r.upper) for r in record.tables[0].rows
            if r.label.startswith("0")] == [("0, lower edge", "100.0", None)]
    assert ("Frame 0 meets the fore end, 0.0 mm along from the fore mark and 10.0 mm up from the baseline: it has no "
            "row in the offsets there." in record.doubts)
    assert record.stations[0].words["upper_saw"].endswith("(off the fore end)") and record.stations[0].saw_mm == {
        "upper": pytest.approx(25.0, abs=1e-6), "lower": pytest.approx(4.0, abs=1e-6)}


def test_widths_stand_where_the_board_has_them_along():
    """Bending makes the board's run longer: both tables of one record lay the frames off at the same place."""
    longer = make_straight_plank(length=1004.0, left=46.0, **NAMES)
    moved = tuple(replace(s, line=s.line - [3.0, 0.0]) for s in make_board().sections)
    record = build(board=replace(make_board(drawn=longer.outline()), sections=moved), figures="mm")
    along = {r.label: r.along.value_mm for r in record.tables[0].rows if r.kind == "station"}
    assert {s.label: s.along_mm for s in record.stations} == pytest.approx(along, abs=0.05) and along == pytest.approx(
        {s.label: s.distance_mm + 3.0 for s in STATIONS}, abs=0.051)


def test_offsets_are_those_of_the_board_where_there_is_one():
    """A board 4 mm longer than the drawing, by bending: the fore end stays, the aft mark moves."""
    longer = make_straight_plank(length=1004.0, left=46.0, **NAMES)
    record = build(board=make_board(drawn=longer.outline(), includes=("bend",)))
    assert record.proofs[0].length_mm == pytest.approx(1004.0,
                                                       abs=1e-6) and record.tables[0].rows[-1].along.words == "1004.0"
    assert any("on the flat board" in t
               for t in record.includes) and "Counted in them: bending along." in record.includes
    assert build().tables[0].rows[-1].along.words == "1000.0" and any("as it lies in the drawing" in t
                                                                      for t in build().includes)


def make_joint(label, kind, distance, length=0.0):
    return SimpleNamespace(label=label, kind=kind, bay="1-2", length_mm=length, slope=12.0 if length else 0.0,
                           line=np.array([[1050 - distance, 41.0], [1050 - distance, 139.0]]))


def test_joints_are_listed_by_their_place_on_what_is_struck():
    """They are placed on the plank as it is struck, so their place along its baseline is told as it is."""
    sections = (tell("Scarfs and butts", "Scarfs and Butts", "BUTT RULE: SUCH AND SUCH"),)
    joints = (make_joint("1", "scarf", 300.0, 264.0),)
    for board in (None, make_board()):
        found = next(s for s in build(joints=joints, sections=sections, figures="mm", board=board).sections
                     if s.heading == "Scarfs and butts")
        assert found.rows == ("Butt rule: such and such",) and found.cells == (
            ("1", "scarf", "1-2", "300.0 mm", "264.0 mm", "12 to 1"),)


def test_what_has_not_been_run_is_said_once():
    sections = build(sections=SECTIONS).sections
    assert [s.heading for s in sections] == ["Stock", "Fairing", "True scale", "Not worked out"]
    assert sections[-1].rows == ("Hollow and bevels: Hollow and Bevels has not been run.",
                                 "Scarfs and butts: Scarfs and Butts has not been run.",
                                "Saw line: Allowances has not been run.")
    assert "has not been run" in sections[2].rows[0]
    made = build(scans=(Fact("true-up", "SCALE BY 6 POINTS"), Fact("spare", number=8.0))).sections
    assert [s.heading for s in made] == ["Fairing", "True scale", "Not worked out"]
    assert made[1].rows == ("Scale by 6 points",)


def test_the_saw_line_is_told_and_is_not_in_the_figures():
    saw = add_allowances(PLANK, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12.5})
    record = build(saw=saw)
    assert ("The saw line in the drawing stands outside this line by: upper 3 mm, lower 3 mm, fore 25 mm, aft 12.5 "
            "mm. Saw to that, or leave wood as the yard does." in record.includes)
    assert record.tables[0].rows == build().tables[0].rows
    rows = next(s for s in record.sections if s.heading == "Saw line").rows
    assert rows[0] == "Allowance asked, outside both faces: upper 3 mm, lower 3 mm, fore 25 mm, aft 12.5 mm."
    assert [row.upper() for row in rows[1:]] == list(saw.rows) and not any(row.isupper() for row in rows)
    assert "saw and plane" in record.includes[-1] and "swelling" in record.includes[-1]


# off the upper edge at frame 1 (y = 41 there) by 0.4 mm upward, which is outside; the lower edge lies at y = 139
MARKED = replace(PLANK,
                 marks=(mark(950, 40.6, "upper", "1", residual=-0.4), mark(950, 138.5, "lower", "1", residual=-0.5),
                               mark(550, 40.0, "upper", "2", residual=5.0, verdict="doubtful"),
                               mark(550, 130.0, "lower", "2", residual=5.0, verdict="left-out"),
                        mark(1050.2, 90, "fore", "", residual=-0.2),
                               mark(49.9, 90, "aft", "", residual=0.1)))


def test_residuals_are_positive_outside_whatever_sign_the_fairing_gave_them():
    """Square to the edge, which leans by 1 in 100: 5e-5 less than straight up."""
    record = build(MARKED)
    assert [s.residuals_mm for s in record.stations[:2]] == [{e: pytest.approx(v, rel=1e-4) for e, v in row.items()}
                                                             for row in ({"upper": 0.4, "lower": -0.5},
                                                                         {"upper": 5.0, "lower": -5.0})]
    assert (record.stations[0].words["upper_residual"], record.stations[1].words["upper_residual"],
            record.stations[1].words["lower_residual"]) == ("+0.4", "+5.0, doubtful", "-5.0, left out")
    assert {m.edge: m.residual_mm for m in record.marks if m.edge in ("fore", "aft")} == {"fore": pytest.approx(0.2),
                                                                                          "aft": pytest.approx(0.1)}


def test_marks_are_kept_as_they_were_measured_and_the_worst_is_told():
    marks = build(MARKED).marks
    assert [(m.edge, m.station) for m in marks] == [("upper", "1"), ("upper", "2"), ("lower", "1"), ("lower", "2"),
                                                    ("fore", ""), ("aft", "")]
    assert (marks[0].along_mm, marks[0].up_mm) == pytest.approx((100.0, 49.4)) and (
        marks[5].along_mm, marks[5].up_mm) == pytest.approx((1000.1, 0.0))
    assert [m.worst for m in marks].count(True) == 1 and abs(
        next(m for m in marks if m.worst).residual_mm) == pytest.approx(5.0, rel=1e-4)


def test_doubts_are_told_together():
    doubts = build(MARKED, (), board=replace(make_board(MARKED), findings=(Finding("The board is thin."),))).doubts
    assert (doubts[0] == "Doubtful mark, kept: upper edge, frame 2, 5 mm off. Measure it again on the boat."
            and "left out: lower edge, frame 2" in doubts[1])
    assert any("Frame stations are not struck" in t for t in doubts) and "The board is thin." in doubts
    assert build().doubts == ()


def test_the_key_tells_rounding_and_notation():
    key = " ".join(build(figures="both", denominator=16).key)
    assert ("nearest 0.1 mm" in key and "nearest 1/16 in, corners and ends to the nearest 1/32 in" in key
            and "25.4 mm exactly" in key)
    assert "+ adds 1/16 in, +- adds 1/32 in, ++ adds 3/32 in" in key and "Do not take points from both" in key
    assert "eighths" not in " ".join(build(figures="mm").key)


def test_steps_say_what_this_plank_asks_for_and_no_more():
    plain, bowed = " ".join(build().steps), make_bowed_plank(width=40.0)
    assert "1000.0 mm = 3-3-3 apart" in plain
    assert not any(words in plain for words in ("outside the plank", "brackets", "row for each edge"))
    told = " ".join(build(bowed,
                          strike_stations(bowed, settings=StationSettings(first_mm=8, spacing_mm=200,
                                                                          square_to="run"))[0], figures="inches").steps)
    assert "row for each edge" in told and "brackets" in told
    square = " ".join(build(bowed, strike_stations(bowed, settings=StationSettings(first_mm=200, spacing_mm=200))[0],
                            figures="mm").steps)
    assert "From about 200.0 to 1000.0 mm along the baseline lies outside the plank" in square


# -- the sketch --------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("ratio, words",
                         [(4, "3 in"), (8, "1 1/2 in"), (12, "1 in"), (16, "3/4 in"), (24, "1/2 in"), (32, "3/8 in")])
def test_scales_in_feet_have_their_names(ratio, words):
    """Arithmetic: 12 in over the ratio."""
    assert name_scale(ratio, figures="inches") == "1:%d, %s to the foot" % (ratio, words) and name_scale(
        ratio, figures="mm") == "1:%d" % ratio


def find_ends(line):
    return line.cubics[0, 0], line.cubics[-1, 3]


@pytest.mark.parametrize("degrees", [0, 33, 200])
@pytest.mark.parametrize("forward", ["right", "left"])
def test_the_sketch_is_to_scale_upright_and_not_mirrored(degrees, forward):
    a, (sx, dx) = np.radians(degrees), ((1, 0) if forward == "right" else (-1, 2000))
    turned = np.array([[np.cos(a) * sx, -np.sin(a), 70 + np.cos(a) * dx],
                       [np.sin(a) * sx, np.cos(a), -30 + np.sin(a) * dx]])
    plank = make_plank(*(PLANK.edges[n].curve.transform(turned) for n in ("upper", "lower", "fore", "aft")),
                       forward=forward)
    sketch = draw_sketch(plank, (), figures="mm")
    upper, _aft, _lower, fore = [line for line in sketch.lines if line.role == "edge"]
    assert sketch.ratio in (10.0, 15.0) and sketch.scale == "1:%g" % sketch.ratio
    assert np.hypot(*np.subtract(*find_ends(upper))) * sketch.ratio == pytest.approx(np.hypot(1000, 10), abs=1e-6)
    # from the lower corner, up on the paper
    assert find_ends(fore)[0][1] > find_ends(fore)[1][1]
    assert (find_ends(upper)[0][0] > find_ends(upper)[1][0]) == (forward == "right")          # the bow where it lies
    words = {t.text: t.at_mm for t in sketch.texts}
    assert (words["FWD"][0] > WIDTH_MM / 2) == (forward == "right") and "UP" in words and (
        words["fore mark"][0] > words["aft mark"][0]) == (forward == "right")


@pytest.mark.parametrize("plank",
                         [PLANK, make_bowed_plank(length=4800.0, width=140.0),
                          make_straight_plank(length=300.0, fore=250.0, aft=240.0),
                          make_bowed_plank(length=900.0, forward="right")])
@pytest.mark.parametrize("figures", ["mm", "inches"])
def test_nothing_of_the_sketch_lies_off_its_paper(plank, figures):
    marked = replace(plank,
                     marks=(mark(*plank.find_corners()["upper fore"], "upper", "1", residual=4.0, verdict="doubtful"),
                                   mark(*plank.find_corners()["lower aft"], "lower", "9", residual=4.0)))
    stations = strike_stations(plank, settings=StationSettings(first_mm=50, spacing_mm=60))[0]
    sketch = draw_sketch(marked, stations, figures=figures)
    points = np.concatenate([line.cubics.reshape(-1, 2) for line in sketch.lines])
    wide, high = points.max(axis=0)
    assert points.min() >= 0 and wide <= sketch.width_mm == WIDTH_MM and high <= sketch.height_mm < 130
    for text in sketch.texts:
        half = 0.6 * text.height_mm * len(text.text)                                           # a broad letter
        left = text.at_mm[0] - {"start": 0, "middle": half / 2, "end": half}[text.anchor]
        assert left >= 0 and left + half <= WIDTH_MM and text.height_mm <= text.at_mm[1] <= sketch.height_mm - 0.5
    rings = [line.role for line in sketch.lines if line.role in ("doubtful", "worst")]
    assert rings.count("doubtful") == 1


def test_labels_that_would_touch_are_thinned_and_frames_all_drawn():
    plank = make_straight_plank(length=2000.0)
    stations = strike_stations(plank, settings=StationSettings(first_mm=20, spacing_mm=20))[0]
    sketch = draw_sketch(plank, stations, figures="mm")
    labels = sorted(t.at_mm[0] for t in sketch.texts if t.text.isdigit())
    assert sum(line.role == "station" for line in sketch.lines) == len(stations) > len(labels) > 10
    assert np.diff(labels).min() > 2.5


def test_joints_and_the_worst_mark_are_on_the_sketch():
    marked = replace(PLANK,
                     marks=(mark(950, 40.6, "upper", "1", residual=-0.4), mark(550, 138.0, "lower", "2", residual=0.1)))
    sketch = draw_sketch(marked, STATIONS, (make_joint("1", "scarf", 300.0, 264.0), make_joint("2", "butt", 700.0)),
                         figures="mm")
    assert {"scarf 1",
            "butt 2"} <= {t.text for t in sketch.texts} and sum(line.role == "joint" for line in sketch.lines) == 4
    worst, = [line for line in sketch.lines if line.role == "worst"]
    fore = next(t for t in sketch.texts if t.text == "1")
    assert worst.cubics[:, :, 0].mean() == pytest.approx(fore.at_mm[0], abs=0.3)
    assert next(line for line in sketch.lines if line.role == "edge").cubics[0, 0, 0] > worst.cubics[:, 0, 0].max()
