"""The plot sheet: true size, what is cut and what is drawn, what it says, and nothing off the page."""
import numpy as np
import pytest
from plankcore.allowance import add_allowances
from plankcore.errors import SettingError
from plankcore.geometry.bezier import flatten_cubics
from plankcore.geometry.lettering import stroke_text
from plankcore.model import Mark
from plankcore.sheets import CAUTIONS, SheetSettings, lay_out_sheet
from plankcore.stations import StationSettings, strike_stations
from shapes import make_bowed_plank, make_plank, make_straight_plank

NAMES = dict(name="Tern of Nowhere", strake="7", side="starboard", face="inboard", thickness_mm=22.0)


def turn_plank(plank, degrees, **names):
    a = np.radians(degrees)
    matrix = np.array([[np.cos(a), -np.sin(a), 700], [np.sin(a), np.cos(a), -300]])
    return make_plank(*(plank.edges[n].curve.transform(matrix) for n in ("upper", "lower", "fore", "aft")), **names)


def lay(plank=None, *, saw=False, stations=True, **settings):
    plank = make_bowed_plank(**NAMES) if plank is None else plank
    found = strike_stations(plank, settings=StationSettings(first_mm=60, spacing_mm=200))[0] if stations else ()
    line = add_allowances(plank, added_mm=dict(upper=3, lower=3, fore=25, aft=12)) if saw else None
    return lay_out_sheet(plank, stations=found, saw=line, settings=SheetSettings(**settings))


def list_words(sheet):
    return "\n".join(t.text for t in sheet.texts)


def measure_extent(line):
    points = flatten_cubics(line.cubics, tolerance_mm=0.01)
    return np.ptp(points, axis=0)


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
        plank = make_plank(*(make_straight_plank(fore=100, aft=70).edges[n].curve.transform(mirror) for n in ("upper", "lower", "fore", "aft")), forward="left")
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
    for part in ("UPPER 3 MM", "LOWER 3 MM", "FORE 25 MM", "AFT 12 MM", "NOT INCLUDED", "INBOARD"):
        assert part in words
    assert "NO ALLOWANCE" in list_words(lay()).replace("\n", " ")


@pytest.mark.parametrize("side, forward, seen", [("starboard", "right", "OUTBOARD"), ("starboard", "left", "INBOARD"), ("port", "left", "OUTBOARD"), ("port", "right", "INBOARD")])
def test_names_hand_and_face(side, forward, seen):
    """Stand outside the starboard side of a boat, upper edge up: her bow is to the right."""
    plank = make_bowed_plank(**{**NAMES, "side": side, "forward": forward}) if forward == "right" else None
    if plank is None:
        mirror = np.array([[-1.0, 0, 2000], [0, 1, 0]])
        plank = make_plank(*(make_bowed_plank().edges[n].curve.transform(mirror) for n in ("upper", "lower", "fore", "aft")), **{**NAMES, "side": side, "forward": forward})
    words = list_words(lay(plank)).replace("\n", " ")
    assert "SEEN FROM %s" % seen in words and "%s FACE UP" % seen in words and "FWD TO THE %s" % forward.upper() in words
    for part in ("TERN OF NOWHERE", "STRAKE 7", side.upper(), "NOT MIRRORED", "THICKNESS 22 MM"):
        assert part in words
    assert {t.text for t in lay(plank).texts} >= {"FWD", "UP"}


def test_arrows_point_to_the_bow_and_to_the_upper_edge():
    sheet = lay(make_bowed_plank(**NAMES))
    shafts = [one.cubics[0, [0, 3]] for one in sheet.lines if one.role == "arrow" and np.hypot(*np.ptp(one.cubics[0], axis=0)) > 11]
    ways = [b - a for a, b in shafts]
    assert any(w[0] > 5 and abs(w[1]) < w[0] for w in ways)          # forward is to the right
    assert any(w[1] < -5 and abs(w[0]) < -w[1] for w in ways)        # up is up the page


@pytest.mark.parametrize("text", CAUTIONS)
def test_every_caution_is_on_every_sheet(text):
    assert text in " ".join(list_words(lay()).split("\n"))


def test_no_approval_is_claimed():
    assert "NOT AN APPROVAL" in list_words(lay()) and "APPROVED" not in list_words(lay())


@pytest.mark.parametrize("length, mm, inches", [(1500.0, 1000, 36), (700.0, 500, 24), (260.0, 200, 6)])
def test_scale_bars_are_true_along_and_across(length, mm, inches):
    sheet = lay(make_straight_plank(length=length), stations=False)
    bars = {(dict(one.values)["along"], round(dict(one.values)["length_mm"], 3)): measure_extent(one) for one in sheet.lines if one.role == "scale-bar"}
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
    feet = sorted(one.cubics[0, 0, 0] - left for one in sheet.lines if one.role == "scale-bar-tick" and abs(one.cubics[0, 0, 1] - y) < 1e-9 and one.cubics[0, 0, 0] <= left + 1001)
    assert feet == pytest.approx(np.arange(0, 1001, 50), abs=1e-9)
    for text in sheet.texts:
        if text.text.isdigit() and abs(text.at_mm[1] - y) < 15 and text.at_mm[0] < left + 1001 and text.anchor == "middle":
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
        assert "%.1f" % width in words
        assert np.hypot(*measure_extent(line)) == pytest.approx(width, abs=1e-6)


@pytest.mark.parametrize("verdict, word", [("doubtful", "KEPT"), ("left-out", "LEFT OUT")])
def test_doubtful_marks_are_named_on_the_sheet(verdict, word):
    sheet = lay(make_bowed_plank(**NAMES, marks=(Mark((600, 60), "upper", "12", residual_mm=-3.96, verdict=verdict), Mark((300, 60), "upper", "11"))))
    words = list_words(sheet).replace("\n", " ")
    assert "DOUBTFUL MARKS %s: UPPER 12 (4.0 MM OFF)" % word in words and "UPPER 11" not in words
    assert any(t.style == "warning" for t in sheet.texts)


def test_file_and_day_are_printed_when_given():
    assert "FILE sheet.svg" in list_words(lay(file_name="sheet.svg", day="3 May")) and "3 May" in list_words(lay(day="3 May"))


@pytest.mark.parametrize("saw", [False, True])
@pytest.mark.parametrize("length, width, names", [(250.0, 40.0, {}), (420.0, 90.0, NAMES), (1100.0, 120.0, NAMES), (3200.0, 150.0, NAMES), (6000.0, 220.0, {})])
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


