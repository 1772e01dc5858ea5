"""Other Face, Other Hand on a drawing: what it refuses, what it writes, and that each layer comes along, whoever wrote
it. The drawings are invented.
"""
from pathlib import Path

import numpy as np
import pytest
from drawings import HEAD, MM_PAGE, draw_plank, draw_plank_points, fair, open_drawing, reopen
from fact_rows import make_facts
from lxml import etree
from shapes import draw_lines

from plankcore.allowance.saw_line import add_allowances
from plankcore.command.recipe import read_recipe
from plankcore.command.running import load_action, run_recipe
from plankcore.document import names
from plankcore.document.layers.lines import read_saw_line, read_stations, write_saw_line, write_stations
from plankcore.document.overlay import read_overlay, write_overlay
from plankcore.errors import PatternError, SelectionError, SettingError
from plankcore.fair.fair import FairSettings
from plankcore.model.drawing import Overlay, SheetLine, SheetText
from plankcore.model.plank import EDGE_NAMES, Finding
from plankcore.stations.strike import StationSettings, strike_stations

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[3] / "extensions"
CHECKED = "diagonals, M. Orme, 3 May"
INCH_PAGE = 'width="80in" height="16in" viewBox="0 0 80 16"'


def prepare(*, page=MM_PAGE, body=None, comb=False, bare=False, **known):
    """A drawing with one fair plank that has stations and a saw line, unless it is to be bare."""
    drawing = open_drawing(draw_plank() if body is None else body, page=page)
    plank, group = fair(drawing, name="Tern of Nowhere", strake="5", thickness_mm=22.0, comb=comb,
                        settings=FairSettings(honest_error_mm=0.4), **known)
    if bare:
        return drawing, group
    struck, findings = strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=300))
    write_stations(drawing, group, struck, findings, square_to="run")
    write_saw_line(drawing, group, add_allowances(
        plank, added_mm={"upper": 3.0, "lower": 4.0, "fore": 25.0, "aft": 20.0}))
    return drawing, group


def turn(drawing, select=(), **settings):
    """Run the action: the drawing, opened again, and what was said."""
    action = load_action(EXTENSIONS, "turn")()
    action.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    action.apply(drawing.root, list(select), "")
    return reopen(drawing), action.messages


def find_group(drawing, key):
    return next(g for g in drawing.find_groups() if g.get("id") == key)


def read_curves(drawing, key):
    plank = drawing.read_plank(find_group(drawing, key))
    return {n: plank.edges[n].curve.cubics for n in EDGE_NAMES}


def add_overlay(drawing, group, *, layer="harvest"):
    """An overlay such as an action of tomorrow might write."""
    at = drawing.read_plank(group).find_corners()["upper fore"]
    line = SheetLine(draw_lines([at + (-200, 10), at + (-170, 60)]), "draw", "reap", "station", closed=False,
                     values=(("depth_mm", "12.5"), ("shift_mm", "10 20"), ("frame", "9")))
    words = SheetText("AHEAD 9", tuple(map(float, at + (-200, 40))), 6.0, 5.0, anchor="start", style="warning",
                      role="label")
    overlay = Overlay((line,), (words,), make_facts(["REAP IT.", "TWICE."]),
                      (Finding("too wet", tuple(map(float, at + (-100, 30)))), Finding("no day given")))
    return write_overlay(drawing, group, overlay, layer=layer, label="Harvest", stock_mm=28.0, share="both",
                         guessed="yes"), at


def test_a_batten_and_a_report_stay_with_the_original_and_that_is_said():
    drawing, group = prepare(bare=True)
    assert not [t for t in turn(reopen(drawing), symmetry=CHECKED)[1] if "Not on the copy" in t]
    fair_layer = names.find_layer(group, "fair")
    for role in ("batten", "report"):
        names.put(etree.SubElement(fair_layer, "{%s}g" % names.SVG), role=role)
    turned, said = turn(drawing, symmetry=CHECKED)
    assert any("Not on the copy: the batten and the report" in text for text in said)
    copy, = (one for one in turned.find_groups() if names.get(one, "turned-from"))
    told = list(names.list_values(names.find_layer(copy, "turned" if names.find_layer(copy, "turned") is not None
                                                   else "turn")).values())
    assert any("STAY WITH THE ORIGINAL" in str(value) for value in told)


# -- refusals -------------------------------------------------------------------------------------------------------

def expect_refusal(drawing, error, words, select=(), **settings):
    before = etree.tostring(drawing.root)
    with pytest.raises(error, match=words) as caught:
        turn(drawing, select, **settings)
    assert caught.value.remedy and etree.tostring(drawing.root) == before
    return caught.value


@pytest.mark.parametrize("settings, words", [({}, "nobody is named"), ({"symmetry": "yes"}, "'yes' does not say"),
                                             ({"side": "same"}, "Nothing is to be turned"),
                                             ({"side": "starboard", "symmetry": CHECKED}, "Nothing is to be turned"),
                                             ({"clear": "-5", "symmetry": CHECKED}, "Clear"),
                                             ({"clear": "wide", "symmetry": CHECKED}, "wide")])
def test_settings_that_cannot_be_are_refused_and_nothing_is_written(settings, words):
    drawing, _ = prepare()
    expect_refusal(drawing, SettingError, words, **settings)


def test_without_a_plank_or_with_several_it_is_refused():
    expect_refusal(open_drawing(draw_plank()), SelectionError, "no fair plank", symmetry=CHECKED)
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    expect_refusal(drawing, SelectionError, "2 planks", symmetry=CHECKED)


def test_a_layer_older_than_the_fairing_or_changed_by_hand_is_refused():
    drawing, group = prepare()
    add_overlay(drawing, group)
    names.put(names.find_roles(group, "reap")[0], depth_mm="13")
    names.find_roles(group, "reap")[0].set("d", "M 0,0 L 10,10")
    error = expect_refusal(drawing, PatternError, "Harvest has been changed", symmetry=CHECKED)
    assert error.remedy == "Run the action that made it again."
    drawing, group = prepare()
    add_overlay(drawing, group)
    fair(reopen_with(drawing, group), strake="5")
    expect_refusal(drawing, PatternError, "faired again since its", symmetry=CHECKED)


def reopen_with(drawing, group):
    """The same drawing with the plank selected, as Fair Plank is run on it again."""
    drawing.selected = [group]
    return drawing


# -- what is written ------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("page", [MM_PAGE, INCH_PAGE], ids=["mm", "in"])
@pytest.mark.parametrize("settings, mirrored, side, forward, up", [
    ({"symmetry": CHECKED}, True, "port", "left", "outboard"),
    ({"side": "same", "face_up": "inboard"}, True, "starboard", "left", "inboard"),
    ({"side": "port", "face_up": "other", "symmetry": CHECKED}, False, "port", "right", "inboard")])
def test_the_new_plank_is_the_old_one_turned_and_below_it(page, settings, mirrored, side, forward, up):
    body = draw_plank() if page == MM_PAGE else draw_plank(draw_plank_points() / 25.4)
    drawing, group = prepare(page=page, body=body)
    original = etree.tostring(group, method="c14n", exclusive=True)
    drawing, said = turn(drawing, **settings)
    assert said == [] and etree.tostring(find_group(drawing, "plank-1"), method="c14n", exclusive=True) == original
    new = find_group(drawing, "plank-2")
    plank, old = drawing.read_plank(new), drawing.read_plank(find_group(drawing, "plank-1"))
    assert (plank.side, plank.forward, plank.seen_from, plank.face, plank.strake, plank.name,
            plank.thickness_mm) == (side, forward, up, "inboard", "5", "Tern of Nowhere", 22.0)
    sign = np.array([-1.0 if mirrored else 1.0, 1.0])
    for name in EDGE_NAMES:
        a, b = plank.edges[name].curve.cubics, old.edges[name].curve.cubics
        assert a - a[0, 0] == pytest.approx((b - b[0, 0]) * sign, abs=2e-6)
        assert (plank.edges[name].rms_mm,
                plank.edges[name].straight) == (old.edges[name].rms_mm, old.edges[name].straight)
    low = min(c.flatten()[:, 1].min() for c in plank.outline())
    assert low > max(c.flatten()[:, 1].max() for c in old.outline()) + 150
    stations, others = read_stations(drawing, new), read_stations(drawing, find_group(drawing, "plank-1"))
    assert [(s.label, round(s.width_mm, 5), round(s.distance_mm, 5)) for s in stations] == [
        (s.label, round(s.width_mm, 5), round(s.distance_mm, 5)) for s in others] and len(stations) > 4
    assert names.get(names.find_layer(new, "stations"), "square-to") == "run"
    assert read_saw_line(drawing, new).added_mm == {"upper": 3.0, "lower": 4.0, "fore": 25.0, "aft": 20.0}
    assert new.get("{%s}label" % names.INKSCAPE) == "Plank: Tern of Nowhere, strake 5, %s, %s face up" % (side, up)
    told = [names.get(new, k) for k in ("turned-from", "turned-fairing", "turned", "seen-from", "fairing", "symmetry")]
    assert told == ["plank-1", "1", "mirrored" if mirrored else "same", up, "1", settings.get("symmetry", "")]
    assert names.get(names.find_layer(new, "fair"), "honest-error-mm") == "0.4"


def test_the_trace_stays_with_the_original():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    new = find_group(drawing, "plank-2")
    assert [names.get(c, "layer") for c in new] == ["fair", "stations", "saw",
                                                    "turn"] and not names.find_roles(new, "source")


def test_the_comb_and_the_doubts_of_the_fairing_come_along():
    drawing, _group = prepare(comb=True)
    drawing, _ = turn(drawing, symmetry=CHECKED)
    one, two = (names.find_layer(find_group(drawing, k), "fair") for k in ("plank-1", "plank-2"))
    for role in ("comb", "inflection", "ring", "mark", "tick", "outline"):
        assert len(names.find_roles(one, role)) == len(names.find_roles(two, role)), role
    assert len(names.find_roles(two, "comb")) == 2
    assert [names.get(e, "text")
            for e in names.find_roles(one, "note")] == [names.get(e, "text") for e in names.find_roles(two, "note")]
    assert sorted(names.get(e, "least-radius-mm") for e in names.find_roles(one, "comb")) == sorted(
        names.get(e, "least-radius-mm") for e in names.find_roles(two, "comb"))


def test_a_layer_of_any_action_comes_along_with_its_attributes_words_and_doubts():
    drawing, group = prepare()
    _, _at = add_overlay(drawing, group)
    add_overlay(drawing, group, layer="stock")
    drawing, _ = turn(drawing, symmetry=CHECKED, strake="5 port")
    new = find_group(drawing, "plank-2")
    layer = names.find_layer(new, "harvest")
    assert [names.get(layer, k) for k in ("stock-mm", "share", "guessed", "facts", "fact-1-words", "fact-2-words",
                                          "fact-3-words", "fact-4-words", "fact-4-lettered")] == [
        "28", "both", "yes", "4", "REAP IT.", "TWICE.", "too wet", "no day given", "yes"]
    assert layer.get("{%s}label" % names.INKSCAPE) == "Harvest" and names.get(new, "strake") == "5 port"
    overlay = read_overlay(drawing, new, layer="harvest", action="Harvest")
    there = drawing.read_plank(new).find_corners()["upper fore"]
    assert overlay.lines[0].cubics[0, [0, 3]] - there == pytest.approx(np.array([(200, 10), (170, 60)]), abs=1e-5)
    values = dict(overlay.lines[0].values)
    assert (values["depth_mm"],
            values["frame"]) == ("12.5", "9") and [float(v) for v in values["shift_mm"].split()] == [-10, 20]
    assert (overlay.texts[0].text, overlay.texts[0].angle_deg, overlay.texts[0].style,
            overlay.texts[0].role) == ("AHEAD 9", -5.0, "warning", "label")
    assert overlay.texts[0].at_mm[0] < there[0] + 200, "its last letter stands where its first did"
    ring, = names.find_roles(layer, "ring")
    assert [names.get(e, "text") for e in names.find_roles(layer, "note")] == ["too wet",
                                                                               "no day given"] and ring is not None
    assert names.find_layer(new, "stock") is None, "boards are each plank's own"


def test_what_is_said_is_lettered_near_the_plank_and_kept_for_the_sheet():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    new = find_group(drawing, "plank-2")
    layer = names.find_layer(new, "turn")
    overlay = read_overlay(drawing, new, layer="turn", action="Other Face, Other Hand")
    assert layer.get("{%s}label" % names.INKSCAPE) == "Turned"
    told = "OTHER HAND OF STRAKE 5 STARBOARD; HULL CHECKED FOR SYMMETRY: DIAGONALS, M. ORME, 3 MAY."
    assert overlay.rows[0] == told
    assert [names.get(e, "text") for e in names.find_roles(layer, "label")] == list(overlay.rows)


def test_a_plank_that_was_moved_and_turned_on_the_page_is_turned_where_it_lies():
    drawing, group = prepare()
    group.set("transform", "rotate(30) translate(100,50)")
    drawing, _ = turn(drawing, symmetry=CHECKED)
    one, two = (drawing.read_plank(find_group(drawing, k)) for k in ("plank-1", "plank-2"))
    for name in EDGE_NAMES:
        a, b = two.edges[name].curve.cubics, one.edges[name].curve.cubics
        assert a - a[0, 0] == pytest.approx((b - b[0, 0]) * (-1, 1), abs=2e-6)


# -- again, and again ------------------------------------------------------------------------------------------------

def test_asked_for_the_same_again_it_takes_the_place_of_the_earlier_copy():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    before = read_curves(drawing, "plank-2")
    drawing, _ = turn(drawing, ["plank-1"], side="same", face_up="other")
    drawing, said = turn(drawing, ["plank-1"], side="port", symmetry="half breadths, the yard", strake="5P")
    assert [g.get("id") for g in drawing.find_groups()] == ["plank-1", "plank-2", "plank-3"]
    # a name that changes is told
    assert said == ["The earlier copy was called strake 5; the new one is strake 5P."]
    again = find_group(drawing, "plank-2")
    assert (names.get(again, "symmetry"), names.get(again, "strake"),
            names.get(again, "fairing")) == ("half breadths, the yard", "5P", "2")
    assert names.get(find_group(drawing, "plank-3"), "seen-from") == "inboard"
    shape = read_curves(drawing, "plank-2")
    for name in EDGE_NAMES:                                     # it had to go below plank-3; the shape is the same
        assert shape[name] - shape["upper"][0, 0] == pytest.approx(before[name] - before["upper"][0, 0], abs=1e-6)


def test_what_was_made_on_the_earlier_copy_itself_is_told_when_it_goes():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    add_overlay(drawing, find_group(drawing, "plank-2"))
    drawing, said = turn(drawing, ["plank-1"], symmetry=CHECKED)
    assert len(said) == 1 and said[0].count(":") == 1 and "Harvest" in said[0]
    assert turn(drawing, ["plank-1"], symmetry=CHECKED)[1] == []
    write_saw_line(drawing, find_group(drawing, "plank-2"),
                          read_saw_line(drawing, find_group(drawing, "plank-2")))
    assert "Saw line" in turn(drawing, ["plank-1"], symmetry=CHECKED)[1][0]


def test_joints_carried_to_the_other_side_are_to_be_judged_again_there():
    drawing, group = prepare()
    add_overlay(drawing, group, layer="joints")
    drawing, said = turn(drawing, symmetry=CHECKED)
    joints = names.find_layer(find_group(drawing, "plank-2"), "joints")
    assert len(said) == 1 and "Scarfs and Butts" in said[0] and "JUDGED AGAINST NEIGHBOURS TO STARBOARD" in names.get(
        joints, "fact-3-words")
    drawing, said = turn(drawing, ["plank-2"], side="same", face_up="other")
    over = names.find_layer(find_group(drawing, "plank-3"), "joints")
    assert said and (names.get(over, "judged-side"), names.get(over, "fact-3-words")) == (
        "starboard", names.get(joints, "fact-3-words")) and names.get(over, "fact-4-lettered") == "yes"
    drawing, said = turn(drawing, ["plank-2"], side="starboard", symmetry=CHECKED)
    back = names.find_layer(find_group(drawing, "plank-4"), "joints")
    assert said == [] and names.get(back, "fact-3-lettered") == "yes", "no fact of the joints beyond the two of its own"


def test_a_copy_of_a_plank_faired_again_since_is_refused_until_it_is_turned_again():
    drawing, _ = prepare(bare=True)
    drawing, _ = turn(drawing, symmetry=CHECKED)
    drawing.read_plank(find_group(drawing, "plank-2"))
    fair(reopen_with(drawing, find_group(drawing, "plank-1")), strake="5", settings=FairSettings(shortest_wave_mm=900))
    with pytest.raises(PatternError,
                       match=r"made by turning strake 5, starboard \(plank-1\), which has been faired again") as caught:
        drawing.read_plank(find_group(drawing, "plank-2"))
    assert "Other Face, Other Hand" in caught.value.remedy and "plank-1" in caught.value.remedy
    drawing.read_plank(find_group(drawing, "plank-1"))
    drawing, _ = turn(drawing, ["plank-1"], symmetry=CHECKED)
    assert drawing.read_plank(find_group(drawing, "plank-2")).side == "port" and names.get(
        find_group(drawing, "plank-2"), "turned-fairing") == "2"


def test_a_copy_of_a_copy_is_the_first_again_and_goes_stale_with_it():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    drawing, _ = turn(drawing, ["plank-2"], side="starboard", symmetry="templates, the yard")
    third = find_group(drawing, "plank-3")
    assert (names.get(third, "turned-from"), names.get(third, "side"), names.get(third, "forward"),
            names.get(third, "seen-from")) == ("plank-2", "starboard", "right", "outboard")
    one, three = read_curves(drawing, "plank-1"), read_curves(drawing, "plank-3")
    for name in EDGE_NAMES:
        assert three[name] - three["upper"][0, 0] == pytest.approx(one[name] - one["upper"][0, 0], abs=2e-6)
    fair(reopen_with(drawing, find_group(drawing, "plank-1")), strake="5")
    with pytest.raises(PatternError, match=r"plank-3\) goes back to .*plank-1"):
        drawing.read_plank(find_group(drawing, "plank-3"))


def test_a_port_plank_turned_over_still_says_what_it_rests_on():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    drawing, _ = turn(drawing, ["plank-2"], side="same", face_up="other")
    third = find_group(drawing, "plank-3")
    rows = read_overlay(drawing, third, layer="turn", action="").rows
    assert names.get(third, "symmetry") == CHECKED
    assert (rows[0] == "OTHER FACE OF STRAKE 5 PORT: THE SAME PLANK TURNED OVER; HULL CHECKED FOR SYMMETRY: "
                       "DIAGONALS, M. ORME, 3 MAY." and "PORT SIDE" in rows[2])


def test_a_copy_whose_original_is_gone_stands_by_itself():
    drawing, _group = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    drawing.root.remove(find_group(drawing, "plank-1"))
    assert reopen(drawing).read_plank(find_group(drawing, "plank-2")).side == "port"


def test_a_copy_changed_by_hand_is_refused_with_a_remedy_that_it_has():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    find_group(drawing, "plank-2").set("transform", "scale(1.01,1)")
    with pytest.raises(PatternError, match="scaled") as caught:
        drawing.read_plank(find_group(drawing, "plank-2"))
    assert "Other Face, Other Hand on strake 5, starboard (plank-1)" in caught.value.remedy.replace(
        "Tern of Nowhere, ", "")
    find_group(drawing, "plank-2").set("transform", "matrix(-1,0,0,1,2000,0)")
    with pytest.raises(PatternError, match="mirrored"):
        drawing.read_plank(find_group(drawing, "plank-2"))


def test_a_copy_is_faired_by_fairing_its_original():
    drawing, _ = prepare()
    drawing, _ = turn(drawing, symmetry=CHECKED)
    with pytest.raises(SelectionError, match="no trace of its own") as caught:
        reopen_with(drawing, find_group(drawing, "plank-2")).find_source()
    assert "plank-1" in caught.value.remedy
    _, group, said = reopen(drawing).find_source()
    assert group.get("id") == "plank-1" and "faired again" in said


# -- in a recipe -----------------------------------------------------------------------------------------------------

def run(folder, steps):
    (folder / "in.svg").write_text(HEAD % (MM_PAGE, draw_plank()))
    (folder / "recipe.toml").write_text('[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n'
                                        + "".join("[[plank.step]]\n%s\n" % s for s in steps))
    said = []
    written, failed = run_recipe(read_recipe(folder / "recipe.toml"), actions=EXTENSIONS, progress=said.append)
    return etree.parse(str(written[0])).getroot() if written else None, failed, said


def test_after_a_turn_the_steps_that_follow_act_on_the_new_plank(tmp_path):
    root, failed, said = run(tmp_path, ['action = "fair"\nstrake = "3"', 'action = "stations"\nspacing = "300 mm"',
                                        'action = "turn"\nsymmetry = "%s"' % CHECKED,
                                        'action = "allowance"\nupper = "2 mm"',
                                        'action = "turn"\nselect = ["plank-1"]\nside = "same"\nface_up = "other"',
                                        'action = "allowance"\nupper = "7 mm"'])
    assert failed == []
    found = {g.get("id"): [names.get(e, "upper-mm") for e in names.find_roles(g, "saw")]
             for g in names.find_roles(root, "plank")}
    assert found == {"plank-1": [], "plank-2": ["2"], "plank-3": ["7"]}
    assert any("OTHER HAND OF STRAKE 3 STARBOARD" in s for s in said)


def test_a_copy_that_is_replaced_is_the_one_that_was_turned_last(tmp_path):
    turned = 'action = "turn"\nsymmetry = "%s"' % CHECKED
    root, failed, _ = run(tmp_path, ['action = "fair"\nstrake = "3"', turned, turned + '\nselect = ["plank-1"]',
                                     'action = "allowance"'])
    assert failed == []
    assert {g.get("id"): len(names.find_roles(g, "saw"))
            for g in names.find_roles(root, "plank")} == {"plank-1": 0, "plank-2": 1}


def test_what_the_new_plank_brought_along_is_not_told_twice(tmp_path):
    _, failed, said = run(tmp_path,
                          ['action = "fair"\nhonest_error = "0.4 mm"',
                           'action = "stations"\nfirst = "1 mm"\nspacing = "300 mm"',
                           'action = "turn"\nsymmetry = "%s"' % CHECKED])
    notes = [s for s in said if "note: " in s]
    assert failed == [] and len(notes) == len(set(notes)) and len(notes) >= 3
