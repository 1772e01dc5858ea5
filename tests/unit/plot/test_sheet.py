"""The plot sheet: true size, what is cut and what is drawn, what it says, and nothing off the page."""
import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from plots import make_line_overlay
from shapes import make_bowed_plank, make_plank, make_straight_plank

from plankcore.allowance.saw_line import add_allowances
from plankcore.errors import SettingError
from plankcore.geometry.bezier import flatten_cubics
from plankcore.geometry.lettering import stroke_text
from plankcore.geometry.strokes import draw_polyline, measure_extent
from plankcore.model.drawing import Fact, Overlay, Place, SheetLine, SheetText
from plankcore.model.page import MediumCorrection, PlankMatter
from plankcore.model.plank import Mark
from plankcore.plot.sheet import SheetSettings, lay_out_roll, lay_out_sheet, make_page
from plankcore.stations.strike import StationSettings, strike_stations

NAMES = {"name": "Tern of Nowhere", "strake": "7", "side": "starboard", "face": "inboard", "thickness_mm": 22.0}


def turn_plank(plank, degrees, **names):
    a = np.radians(degrees)
    matrix = np.array([[np.cos(a), -np.sin(a), 700], [np.sin(a), np.cos(a), -300]])
    return make_plank(*(plank.edges[n].curve.transform(matrix) for n in ("upper", "lower", "fore", "aft")), **names)


@lru_cache(maxsize=None)
def lay(plank=None, *, saw=False, stations=True, **settings):
    """A sheet, laid out once for all that look at it: planks and sheets are frozen."""
    plank = make_bowed_plank(**NAMES) if plank is None else plank
    found = strike_stations(plank, settings=StationSettings(first_mm=60, spacing_mm=200))[0] if stations else ()
    line = add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12}) if saw else None
    return lay_out_sheet(plank, stations=found, saw=line, settings=SheetSettings(**settings))


def list_words(sheet):
    return "\n".join(t.text for t in sheet.texts)


def measure_span(line):
    points = flatten_cubics(line.cubics, tolerance_mm=0.01)
    return np.ptp(points, axis=0)


def measure_page(page):
    return measure_extent(np.concatenate([one.cubics for one in page.lines]))


@pytest.mark.parametrize("margin", [-1, 501, float("nan")])
def test_a_margin_that_is_none_is_refused(margin):
    with pytest.raises(SettingError):
        lay(margin_mm=margin)


@pytest.mark.parametrize("degrees", [0, 25, -60])
def test_the_sheet_is_the_plank_moved_without_stretch_or_mirror(degrees):
    plank = turn_plank(make_bowed_plank(), degrees)
    sheet = lay(plank)
    linear = sheet.to_sheet[:, :2]
    assert linear.T @ linear == pytest.approx(np.eye(2), abs=1e-12) and np.linalg.det(linear) == pytest.approx(1)
    cut, = [one for one in sheet.lines if one.pen == "cut"]
    moved = np.concatenate([c.transform(sheet.to_sheet).cubics for c in plank.outline()])
    assert cut.cubics == pytest.approx(moved, abs=1e-9)


@pytest.mark.parametrize("degrees", [0, 25, -60])
@pytest.mark.parametrize("forward", ["right", "left"])
def test_the_plank_lies_along_the_sheet_with_its_bow_the_way_it_lay(degrees, forward):
    sheet = lay(turn_plank(make_straight_plank(fore=100, aft=70), degrees, forward="right"))
    if forward == "left":
        mirror = np.array([[-1.0, 0, 2000], [0, 1, 0]])
        plank = make_plank(*(make_straight_plank(fore=100, aft=70).edges[n].curve.transform(mirror)
                             for n in ("upper", "lower", "fore", "aft")), forward="left")
        sheet = lay(turn_plank(plank, degrees, forward="left"))
    cut, = [one for one in sheet.lines if one.pen == "cut"]
    points = cut.cubics.reshape(-1, 2)
    low, high = points[:, 0].min(), points[:, 0].max()
    depth = {end: np.ptp(points[np.abs(points[:, 0] - x) < 1, 1]) for end, x in (("left", low), ("right", high))}
    assert depth[forward] == pytest.approx(100, abs=0.1) and min(depth.values()) == pytest.approx(70, abs=0.1)


@pytest.mark.parametrize("margin", [0.0, 20.0, 55.0])
def test_page_is_as_long_as_what_is_cut_and_the_margins(margin):
    sheet = lay(make_straight_plank(length=1000), saw=True, margin_mm=margin)
    assert sheet.width_mm == pytest.approx(1000 + 25 + 12 + 2 * margin, abs=1e-6)
    cut, = [one for one in sheet.lines if one.pen == "cut"]
    assert cut.cubics.reshape(-1, 2).min(axis=0) == pytest.approx((margin, margin), abs=0.5)


@pytest.mark.parametrize("saw", [False, True])
def test_one_line_is_cut_and_the_net_outline_is_always_there(saw):
    sheet = lay(saw=saw)
    cut, = [one for one in sheet.lines if one.pen == "cut"]
    assert cut.role == ("saw" if saw else "outline") and cut.closed
    assert len([one for one in sheet.lines if one.role == "outline"]) == 1
    assert ("SAW LINE" in list_words(sheet)) == saw


def test_what_the_cut_line_includes_is_said():
    words = list_words(lay(saw=True)).replace("\n", " ")
    for part in ("UPPER EDGE: SAW 3 MM", "LOWER EDGE: SAW 3 MM", "FORE END: SAW 25 MM", "AFT END: SAW 12 MM",
                 "COUNTED: NOTHING. NOT: BEVEL", "INBOARD"):
        assert part in words
    assert "NO ALLOWANCE" in list_words(lay()).replace("\n", " ")


@pytest.mark.parametrize("side, forward, seen", [("starboard", "right", "OUTBOARD"), ("starboard", "left", "INBOARD"),
                                                 ("port", "left", "OUTBOARD"), ("port", "right", "INBOARD")])
def test_names_hand_and_face(side, forward, seen):
    """Stand outside the starboard side of a boat, upper edge up: her bow is to the right."""
    plank = make_bowed_plank(**{**NAMES, "side": side, "forward": forward}) if forward == "right" else None
    if plank is None:
        mirror = np.array([[-1.0, 0, 2000], [0, 1, 0]])
        plank = make_plank(*(make_bowed_plank().edges[n].curve.transform(mirror)
                             for n in ("upper", "lower", "fore", "aft")), **{**NAMES, "side": side, "forward": forward})
    words = list_words(lay(plank)).replace("\n", " ")
    assert ("SEEN FROM %s" % seen in words and "%s FACE UP" % seen in words
            and "FWD TO THE %s" % forward.upper() in words)
    for part in ("TERN OF NOWHERE", "STRAKE 7", side.upper(), "NOT MIRRORED", "THICKNESS 22 MM"):
        assert part in words
    assert {t.text for t in lay(plank).texts} >= {"FWD", "UP"}


def test_arrows_point_to_the_bow_and_to_the_upper_edge():
    sheet = lay(make_bowed_plank(**NAMES))
    shafts = [one.cubics[0, [0, 3]] for one in sheet.lines if one.role == "arrow"
              and np.hypot(*np.ptp(one.cubics[0], axis=0)) > 11]
    ways = [b - a for a, b in shafts]
    assert any(w[0] > 5 and abs(w[1]) < w[0] for w in ways)          # forward is to the right
    assert any(w[1] < -5 and abs(w[0]) < -w[1] for w in ways)        # up is up the page


def test_what_every_sheet_must_say_is_on_it_and_the_rest_is_named():
    """Cautions in full are on the record's first page; the sheet keeps the one on the bars and names the others."""
    words = " ".join(list_words(lay()).split("\n"))
    for part in ("MEASURE THE BARS BEFORE CUTTING", "NOT AN APPROVAL", "SURVEYOR, CLASS OR FLAG AUTHORITY",
                 "SAWING, DUST, LEAD PAINT, DRY FIT", "PLANK RECORD OF TERN OF NOWHERE  STRAKE 7  STARBOARD"):
        assert part in words, part


def test_no_approval_is_claimed():
    assert "NOT AN APPROVAL" in list_words(lay()) and "APPROVED" not in list_words(lay())


@pytest.mark.parametrize("length, mm, inches", [(1500.0, 1000, 36), (700.0, 500, 24), (260.0, 200, 6)])
def test_scale_bars_are_true_along_and_across(length, mm, inches):
    sheet = lay(make_straight_plank(length=length), stations=False)
    bars = {(dict(one.values)["along"], round(dict(one.values)["length_mm"], 3)): measure_span(one)
            for one in sheet.lines if one.role == "scale-bar"}
    for (way, told), extent in bars.items():
        assert extent[0 if way == "along" else 1] == pytest.approx(told, abs=1e-9)
        assert extent[1 if way == "along" else 0] == pytest.approx(0, abs=1e-9)
    assert {round(told) for way, told in bars if way == "along"} == {mm, round(inches * 25.4)}
    across = sorted(told for way, told in bars if way == "across")
    assert len(across) == 2 and across[0] % 10 == pytest.approx(0) or across[1] % 25.4 == pytest.approx(0, abs=1e-6)


def test_the_marks_on_a_bar_are_evenly_spaced_and_numbered_in_its_unit():
    sheet = lay(make_straight_plank(length=1500.0), stations=False)
    bar, = [one for one in sheet.lines if one.role == "scale-bar" and dict(one.values)["length_mm"] == 1000]
    left, y = bar.cubics[0, 0]
    feet = sorted(one.cubics[0, 0, 0] - left for one in sheet.lines if one.role == "scale-bar-tick"
                  and abs(one.cubics[0, 0, 1] - y) < 1e-9 and one.cubics[0, 0, 0] <= left + 1001)
    assert feet == pytest.approx(np.arange(0, 1001, 50), abs=1e-9)
    for text in sheet.texts:
        if text.text.isdigit() and abs(text.at_mm[1]
                                       - y) < 15 and text.at_mm[0] < left + 1001 and text.anchor == "middle":
            assert text.at_mm[0] - left == pytest.approx(int(text.text), abs=1e-6)


def test_stations_carry_label_and_width():
    plank = make_straight_plank(length=1000, fore=100, aft=80)
    sheet = lay(plank)
    drawn = [one for one in sheet.lines if one.role == "station"]
    words = [t.text for t in sheet.texts if t.role == "label"]
    assert [dict(one.values)["station"] for one in drawn] == ["1", "2", "3", "4", "5"]
    for line, distance in zip(drawn, (60, 260, 460, 660, 860)):
        width = 100 - distance / 50
        assert dict(line.values)["width_mm"] == pytest.approx(width, abs=1e-6)
        assert "%.1f INBOARD" % width in words
        assert np.hypot(*measure_span(line)) == pytest.approx(width, abs=1e-6)


@pytest.mark.parametrize("verdict, word", [("doubtful", "KEPT"), ("left-out", "LEFT OUT")])
def test_doubtful_marks_are_named_on_the_sheet(verdict, word):
    sheet = lay(make_bowed_plank(**NAMES, marks=(Mark((600, 60), "upper", "12", residual_mm=-3.96, verdict=verdict),
                                                 Mark((300, 60), "upper", "11"))))
    words = list_words(sheet).replace("\n", " ")
    assert "MARK UPPER 12 4.0 MM OFF, %s: MEASURE IT AGAIN" % word in words and "UPPER 11" not in words
    assert any(t.style == "warning" for t in sheet.texts)


def test_file_and_day_are_printed_when_given():
    assert "FILE sheet.svg" in list_words(lay(file_name="sheet.svg", day="3 May")) and "3 May" in list_words(
        lay(day="3 May"))


@pytest.mark.parametrize("saw", [False, True])
@pytest.mark.parametrize("length, width, names", [(250.0, 40.0, {}), (420.0, 90.0, NAMES), (1100.0, 120.0, NAMES),
                                                  (3200.0, 150.0, NAMES), (6000.0, 220.0, {})])
def test_nothing_lies_off_the_page(length, width, names, saw):
    """Every line and every letter, on planks from 0.25 to 6 m."""
    sheet = lay(make_straight_plank(length=length, fore=width, aft=0.8 * width, **names), saw=saw)
    points = [flatten_cubics(one.cubics, tolerance_mm=0.05) for one in sheet.lines]
    for t in sheet.texts:
        points += stroke_text(t.text, height_mm=t.height_mm, at_mm=t.at_mm, angle_deg=t.angle_deg, anchor=t.anchor)
    points = np.vstack(points)
    assert points.min() >= -1e-6
    assert (points.max(axis=0) <= np.array([sheet.width_mm, sheet.height_mm]) + 1e-6).all()


@pytest.mark.parametrize("length, width", [(500.0, 120.0), (1100.0, 120.0), (3200.0, 150.0)])
def test_no_words_run_into_other_words(length, width):
    """Title rows, bar captions and cautions: their boxes do not overlap."""
    sheet = lay(make_straight_plank(length=length, fore=width, aft=width, **NAMES), stations=False)
    boxes = []
    for t in sheet.texts:
        p = np.vstack(stroke_text(t.text, height_mm=t.height_mm, at_mm=t.at_mm, angle_deg=t.angle_deg, anchor=t.anchor))
        boxes.append((t.text, p.min(axis=0), p.max(axis=0)))
    for k, (one, low, high) in enumerate(boxes):
        for other, low2, high2 in boxes[:k]:
            assert (high <= low2 + 0.2).any() or (high2 <= low + 0.2).any(), (one, other)




# -- what other actions have drawn -------------------------------------------------------------------------------------

def lay_overlays(*overlays, plank=None, **more):
    plank = make_bowed_plank(**NAMES) if plank is None else plank
    return lay_out_sheet(plank, overlays=overlays, **more)


def find_place(sheet, text):
    return next(t for t in sheet.texts if t.text == text)


def check_on_page(sheet):
    for line in make_page(sheet).lines:
        low, high = measure_extent(line.cubics)
        assert low.min() >= -1e-6 and (high <= np.array([sheet.width_mm, sheet.height_mm]) + 1e-6).all(), line.values


@pytest.mark.parametrize("degrees", [0, 25])
def test_an_overlay_is_moved_with_the_plank(degrees):
    plank = turn_plank(make_bowed_plank(), degrees, **NAMES)
    at = plank.find_baseline().mean(axis=0)
    overlay = make_line_overlay((np.stack([at, at + (30, 10)]), "joint", "joint", "draw", False),
                                texts=[SheetText("BUTT", tuple(at + (0, 30)), 4.0, 7.0, anchor="middle", style="note",
                                                 role="label")],
                                rows=["butt in bay 4"])
    sheet = lay_overlays(overlay, plank=plank)
    line, = [one for one in sheet.lines if one.role == "joint"]
    moved = sheet.to_sheet[:, :2] @ np.array([at, at + (30, 10)]).T + sheet.to_sheet[:, 2:]
    assert line.cubics[0, [0, 3]] == pytest.approx(moved.T, abs=1e-9)
    text = find_place(sheet, "BUTT")
    assert text.at_mm == pytest.approx(sheet.to_sheet[:, :2] @ (at + (0, 30)) + sheet.to_sheet[:, 2], abs=1e-9)
    assert text.angle_deg == pytest.approx(7.0 + np.degrees(np.arctan2(sheet.to_sheet[1, 0], sheet.to_sheet[0, 0])),
                                           abs=1e-9)
    check_on_page(sheet)


def test_the_sheet_grows_for_what_an_overlay_draws_about_the_plank():
    plank = make_straight_plank(length=1000, **NAMES)
    low, high = plank.find_corners()["upper aft"], plank.find_corners()["lower fore"]
    shape = np.array([low + (30, -90), low + (200, -90), high + (-100, 130), high + (5, 130)])
    sheet = lay_overlays(make_line_overlay((shape, "neighbour", "neighbour", "draw", False)), plank=plank)
    check_on_page(sheet)
    bars = min(measure_extent(one.cubics)[0][1] for one in sheet.lines if one.role == "scale-bar")
    assert bars > max(measure_extent(one.cubics)[1][1] for one in sheet.lines
                      if one.role == "neighbour") and sheet.width_mm == pytest.approx(1045)


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("wide", [200.0, 1900.0])
def test_a_table_beside_the_plank_is_laid_below_it_as_a_whole(side, wide):
    plank = make_straight_plank(length=1000, left=50, top=40, **NAMES)
    x = 1100.0 if side == "right" else -wide - 50.0
    table = make_line_overlay(*((np.array([(x, y), (x + wide, y)]), "rule", "note", "draw", False) for y in (50, 150)),
                              texts=[SheetText("HEAD", (x, 48.0), 4.0), SheetText("FOOT", (x, 148.0), 4.0)])
    sheet = lay_overlays(table, make_line_overlay((np.array([(300, 80), (340, 80)]), "joint", "joint", "draw",
                                                   False)), plank=plank)
    head, foot = find_place(sheet, "HEAD"), find_place(sheet, "FOOT")
    assert foot.at_mm[1] - head.at_mm[1] == pytest.approx(100) and head.at_mm[0] == pytest.approx(foot.at_mm[0])
    cut, = [one for one in sheet.lines if one.pen == "cut"]
    bars = min(measure_extent(one.cubics)[0][1] for one in sheet.lines if one.role == "scale-bar")
    assert cut.cubics[..., 1].max() < head.at_mm[1] - 4 and foot.at_mm[1] < bars
    assert sheet.width_mm == pytest.approx(max(1000.0, wide) + 40, abs=0.5)
    check_on_page(sheet)


def test_two_tables_stand_side_by_side_where_there_is_room():
    plank = make_straight_plank(length=1000, left=50, top=40, **NAMES)
    tables = [make_line_overlay((np.array([(1200.0, 65.0), (1260.0, 65.0)]), "rule", "note", "draw", False),
                                texts=[SheetText(name, (1200.0, 60.0), 4.0)]) for name in ("ONE", "TWO")]
    one, two = (find_place(lay_overlays(*tables, plank=plank), name) for name in ("ONE", "TWO"))
    assert one.at_mm[1] == pytest.approx(two.at_mm[1]) and two.at_mm[0] > one.at_mm[0] + 10


def test_a_neighbours_joint_far_beyond_the_end_does_not_lengthen_the_sheet():
    """One near the end stays where it is."""
    plank = make_straight_plank(length=1000, left=50, top=40, **NAMES)
    sheet = lay_overlays(make_line_overlay(texts=[SheetText("4: BUTT 30-31", (2300.0, 30.0), 4.0),
                                                  SheetText("NEAR", (1120.0, 30.0), 4.0)]), plank=plank)
    assert "4: BUTT 30-31" not in list_words(sheet) and "NEAR" in list_words(sheet) and sheet.width_mm < 1200
    check_on_page(sheet)


def test_the_drawn_face_is_drawn_once_and_beside_the_outline_where_it_differs():
    plank = make_bowed_plank(**NAMES)
    own = Overlay((SheetLine(np.concatenate([c.cubics for c in plank.outline()]), "draw", "drawn-face", "outline",
                             closed=True),))
    other = Overlay((SheetLine(np.concatenate([c.cubics for c in plank.outline()]) + [0, 0.8], "draw", "drawn-face",
                               "outline", closed=True),))
    assert not [one for one in lay_overlays(own).lines if one.role == "drawn-face"]
    sheet = lay_overlays(other, other)
    assert len([one for one in sheet.lines if one.role == "drawn-face"]) == 1 and len(
        [one for one in sheet.lines if one.role == "outline"]) == 1


@pytest.mark.parametrize("includes, absent",
                         [((), "BEVEL, HOLLOW, SEAM, SWELLING, BEND"),
                          (("bevel", "hollow", "bend"), "SEAM, SWELLING"),
                          (("seam",), "BEVEL, HOLLOW, SWELLING, BEND")])
def test_what_is_not_included_is_what_the_saw_line_does_not_count(includes, absent):
    plank = make_bowed_plank(**NAMES)
    saw = replace(add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12}), includes=includes,
                  facts=(Fact("planed-off", "Planed off: 2.1 mm at frame 4."),))
    words = list_words(lay_out_sheet(plank, saw=saw)).replace("\n", " ")
    assert "COUNTED: %s. NOT: %s" % (", ".join(includes).upper() or "NOTHING", absent) in words


def test_a_saw_line_that_counts_all_leaves_nothing_out():
    plank = make_bowed_plank(**NAMES)
    saw = replace(add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12}),
                  includes=("bevel", "hollow", "seam", "swelling", "bend"))
    words = list_words(lay_out_sheet(plank, saw=saw)).replace("\n", " ")
    assert "COUNTED: BEVEL, HOLLOW, SEAM, SWELLING, BEND. NOT: NOTHING" in words


def test_what_is_planed_off_is_told_edge_by_edge_from_the_fact():
    plank = make_bowed_plank(**NAMES)
    facts = (Fact("planed-off", "not read", number=2.1, unit="mm", about="inside face",
                  place=Place("", "upper", 300.0)),
             Fact("planed-off", "not read", number=0.0, unit="mm", place=Place("", "aft")))
    saw = replace(add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12}), facts=facts)
    words = list_words(lay_out_sheet(plank, saw=saw))
    assert "UPPER EDGE: SAW 3 MM OUTSIDE NET; PLANE UP TO 2.1 MM OFF THE INSIDE FACE\n" in words
    assert "AFT END: SAW 12 MM OUTSIDE NET; PLANE SQUARE\n" in words and "NOT READ" not in words.upper()


def list_boxes(sheet):
    """{title: lines} of the three boxes, by the frames that are drawn."""
    sides = np.array([one.cubics[0, [0, 3]] for one in sheet.lines if one.role == "box"]).reshape(-1, 4, 2, 2)
    found = {}
    for box in sides:
        low, high = box.reshape(-1, 2).min(axis=0), box.reshape(-1, 2).max(axis=0)
        inside = [t.text for t in sheet.texts if np.all(np.array(t.at_mm) > low) and np.all(np.array(t.at_mm) < high)]
        found[inside[0]] = [text for text in inside[1:] if text != "TAPE"]
    return found


@pytest.mark.parametrize("saw", [False, True])
@pytest.mark.parametrize("length", [260.0, 400.0, 1200.0, 4000.0])
def test_three_boxes_of_at_most_ten_lines_of_eighty_characters(length, saw):
    facts = [Fact("doubt-%d" % k, "a sentence", verdict="doubt", number=float(k), unit="mm") for k in range(14)]
    facts += [Fact("worse", "a sentence", verdict="fails", number=9.0, unit="mm", brief="bay 4-5: " + 90 * "x")]
    plank = make_straight_plank(length=length, **NAMES)
    line = add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12}) if saw else None
    sheet = lay_overlays(Overlay((), (), tuple(facts)), plank=plank, saw=line)
    boxes = list_boxes(sheet)
    assert set(boxes) == {"PROVE", "SAW", "DOUBT"}
    assert all(0 < len(lines) <= 10 and max(map(len, lines)) <= 80 for lines in boxes.values())
    assert boxes["DOUBT"][0] == "WORSE 9 MM" and boxes["DOUBT"][-1] == "AND %d MORE: SEE RECORD" % (6 if saw else 7)
    check_on_page(sheet)


def test_nothing_in_doubt_is_said():
    line = add_allowances(make_bowed_plank(**NAMES), added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12})
    assert list_boxes(lay_overlays(saw=line))["DOUBT"] == ["NOTHING WAS FOUND IN DOUBT"]


def test_hand_and_face_that_nobody_said_are_the_first_doubt():
    plank = make_bowed_plank(**{**NAMES, "assumed": ("side", "face")})
    told = list_boxes(lay_overlays(Overlay((), (), (Fact("x", "", verdict="fails"),)), plank=plank))["DOUBT"]
    assert told[:3] == ["NOBODY HAS SAID SIDE: TAKEN AS STARBOARD", "NOBODY HAS SAID FACE: TAKEN AS INBOARD",
                        "SAY IT IN FAIR PLANK BEFORE CUTTING"]


def test_ends_and_diagonals_are_the_planks_own():
    """1000 long, ends 100 and 80: diagonals sqrt(1000^2 + 90^2) by Pythagoras; each with a blank for the tape."""
    sheet = lay(make_straight_plank(length=1000, fore=100, aft=80))
    told = list_boxes(sheet)["PROVE"]
    assert {"FORE END 100 MM", "AFT END 80 MM", "UPPER FORE TO LOWER AFT 1004 MM", "LOWER FORE TO UPPER AFT 1004 MM",
            "LENGTH ON THE BOARD 1000 MM (39 3/8 IN)"} <= set(told)
    assert np.hypot(1000, 90) == pytest.approx(1004, abs=0.05)
    assert len([one for one in sheet.lines if one.role == "blank"]) == len(told) - 1


def test_the_worst_mark_is_ringed():
    marks = [Mark((300, 61), "upper", "8", residual_mm=0.2), Mark((600, 60), "upper", "7", residual_mm=-0.7),
             Mark((600, 160), "lower", "7", residual_mm=0.1)]
    sheet = lay(make_bowed_plank(**NAMES, marks=tuple(marks)))
    ring, = [one for one in sheet.lines if one.role == "ring"]
    centre = np.mean(measure_extent(ring.cubics), axis=0)
    assert centre == pytest.approx(sheet.to_sheet[:, :2] @ (600, 60) + sheet.to_sheet[:, 2],
                                   abs=1e-6) and "WORST MARK 0.7 MM OFF" in {t.text for t in sheet.texts}


def test_crosses_for_the_diagonals_are_where_they_say():
    """The told lengths against the crosses' own places; AC and BD by Pythagoras."""
    sheet = lay(make_straight_plank(length=1500.0))
    at = {dict(one.values)["corner"]: np.mean(measure_extent(one.cubics), axis=0) for one in sheet.lines
          if one.role == "corner-cross"}
    text, = [t.text for t in sheet.texts if t.text.startswith("CROSSES")]
    told = dict(zip(("AB", "AD", "AC"), (float(v) for v in re.findall(r"\d+\.\d", text))))
    for pair, length in told.items():
        assert np.hypot(*(at[pair[1]] - at[pair[0]])) == pytest.approx(length, abs=0.06)
    assert np.hypot(*(at["D"] - at["B"])) == pytest.approx(told["AC"], abs=0.06) and told["AB"] == 1000.0


def test_a_correction_is_told_and_carries_everything_bars_and_all():
    correction = MediumCorrection("Drafting film", "2026-05-03", 1, 0.997, across=1.002, skew_mm_per_m=0.0)
    settings = SheetSettings(correction=correction)
    sheet = lay_out_sheet(make_straight_plank(length=1500.0), settings=settings)
    page = make_page(sheet, settings=settings)
    bars = {dict(one.values)["along"] + str(round(dict(one.values)["length_mm"])): measure_span(one)
            for one in page.lines if one.role == "scale-bar"}
    assert bars["along1000"] == pytest.approx((997.0, 0)) and bars["across150"] == pytest.approx((0, 150.3))
    assert page.width_mm == pytest.approx((sheet.width_mm - 40) * 0.997 + 40)
    assert "CORRECTED FOR DRAFTING FILM 2026-05-03" in list_words(sheet)
    low, high = measure_page(page)
    assert low.min() >= 20 - 1e-6 and (high <= np.array([page.width_mm, page.height_mm]) - 20 + 1e-6).all()


def test_a_roll_leaves_out_what_lies_outside_the_line_to_cut():
    """Neighbours' joints and blocks are drawn about the plank on its own sheet; on a roll they would only keep planks
    apart.
    """
    plank = make_straight_plank()
    inside, outside = draw_polyline([(400, 60), (400, 120)]), draw_polyline([(400, -80), (400, -20)])
    overlay = Overlay((SheetLine(inside, "draw", "section", "note"), SheetLine(outside, "draw", "neighbour", "note"),
                       SheetLine(plank.outline()[0].cubics, "draw", "bevel", "note")),
                      (SheetText("ON", (500.0, 90.0), 5.0), SheetText("6: BUTT 12-13", (420.0, -40.0), 5.0)))
    matter = PlankMatter(plank, (), None, (overlay,), board_includes=(), scans=())
    (page,), _ = lay_out_roll([matter])
    told = [dict(one.values).get("text") for one in page.lines]
    assert "ON" in told and "6: BUTT 12-13" not in told
    assert {one.role for one in page.lines} >= {"section",
                                                "outline"} and "neighbour" not in {one.role for one in page.lines}
    sheet = lay_out_sheet(plank, overlays=(overlay,))
    assert "6: BUTT 12-13" in [t.text for t in sheet.texts]
