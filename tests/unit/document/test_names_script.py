"""Names in a drawing: what Fair Plank and the later actions do with those that a dialog still holds of another plank.
The planks are invented.

A run with --tab is a run from a dialog: the editor always tells which tab is open, and nobody else does.
"""
import io
from pathlib import Path

import pytest
from drawings import HEAD, MM_PAGE, draw_plank, draw_plank_points
from lxml import etree

from plankcore.command.recipe import read_recipe
from plankcore.command.running import load_action, run_recipe
from plankcore.document import names
from plankcore.document.extension import load_document
from plankcore.errors import PlankError, SettingError

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[3] / "extensions"
LABEL = "{%s}label" % names.INKSCAPE
FIVE = {"boat": "Tern of Nowhere", "strake": "5", "side": "port", "face": "inboard", "forward": "right",
        "thickness": "22 mm"}
SEVEN = {"boat": "Gannet", "strake": "7", "side": "starboard", "face": "outboard", "forward": "left",
         "thickness": "1 in"}
DIALOG = {"tab": "names"}


def open_root(*bodies):
    return load_document((HEAD % (MM_PAGE, "".join(bodies) or draw_plank())).encode(), where="test").getroot()


def two():
    return open_root(draw_plank(), draw_plank(draw_plank_points() + (0, 180), key="second"))


def act(root, script, select=(), path="strake_5.svg", **settings):
    """Run an action on a drawing in memory: what it said."""
    action = load_action(EXTENSIONS, script)()
    action.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    before = etree.tostring(root)
    try:
        action.apply(root, list(select), path)
    except PlankError:
        assert etree.tostring(root) == before
        raise
    return action.messages


def find(root, key="plank-1"):
    return next(g for g in names.find_roles(root, "plank") if g.get("id") == key)


def tell(group):
    return [names.get(group, k) for k in ("name", "strake", "side", "face", "forward", "thickness-mm")]


def list_notes(root):
    return [names.get(e, "text") for e in names.find_roles(root, "note")]


CALLED_FIVE = ["Tern of Nowhere", "5", "port", "inboard", "right", "22"]


def test_a_first_fairing_from_a_dialog_takes_names_only_where_they_are_for_this_drawing():
    root = open_root()
    for left_over in (SEVEN, dict(SEVEN, meant_for="strake_7.svg"), {}):
        with pytest.raises(PlankError):
            act(root, "fair", ["trace"], **DIALOG, **left_over)
    assert names.find_roles(root, "plank") == []
    act(root, "fair", ["trace"], **DIALOG, **FIVE, meant_for="strake_5.svg")
    assert tell(find(root)) == CALLED_FIVE and find(root).get(LABEL) == "Plank: Tern of Nowhere, strake 5, port"


@pytest.mark.parametrize("how", [{}, DIALOG])
def test_faired_again_with_empty_fields_a_plank_keeps_its_names(how):
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "fair", ["plank-1"], **how, honest_error="0.4 mm")
    assert tell(find(root)) == CALLED_FIVE and names.get(find(root), "fairing") == "2"
    assert not any(word in note for note in list_notes(root) for word in ("dialog", "Renamed", "amed yet", "Nobody"))


@pytest.mark.parametrize("how", [{}, DIALOG, dict(DIALOG, meant_for="strake_5.svg")])
def test_faired_again_with_another_planks_names_it_is_refused_with_both(how):
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    with pytest.raises(SettingError) as refused:
        act(root, "fair", ["plank-1"], **how, **SEVEN)
    for words in ("strake 5", "strake 7", "side port", "side starboard", "thickness 22 mm", "thickness 25.4 mm",
                  "Gannet"):
        assert words in refused.value.problem
    assert tell(find(root)) == CALLED_FIVE


def test_names_for_another_drawing_are_left_aside_and_told_on_this_one():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "fair", ["plank-1"], **DIALOG, **SEVEN, meant_for="strake_7.svg")
    assert tell(find(root)) == CALLED_FIVE and len([t for t in list_notes(root) if "strake_7.svg" in t
                                                    and "strake 7" in t]) == 1


def test_a_renamed_plank_takes_its_layers_label_along_and_is_told():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "fair", ["plank-1"], **DIALOG, **SEVEN, meant_for="Tern of Nowhere, strake 5, port")
    assert tell(find(root)) == ["Gannet", "7", "starboard", "outboard", "left", "25.4"]
    assert find(root).get(LABEL) == "Plank: Gannet, strake 7, starboard" and names.get(find(root),
                                                                                       "seen-from") == "inboard"
    assert any(t.startswith("Renamed: it was boat Tern of Nowhere, strake 5, side port") for t in list_notes(root))


def test_a_label_that_somebody_gave_the_layer_is_left():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    find(root).set(LABEL, "the one with the knot")
    act(root, "fair", ["plank-1"], strake="6", meant_for="Tern of Nowhere, strake 5, port")
    assert find(root).get(LABEL) == "the one with the knot" and names.get(find(root), "strake") == "6"


def test_what_a_script_leaves_unsaid_is_kept_as_a_fact_until_somebody_says_it(tmp_path):
    root = open_root()
    act(root, "fair", ["trace"], boat="Tern of Nowhere", strake="5")
    assert tell(find(root)) == ["Tern of Nowhere", "5", "starboard", "inboard", "right",
                                "0"] and names.get(find(root), "names-assumed") == "side face forward"
    act(root, "fair", ["plank-1"], side="port")
    assert names.get(find(root), "side") == "port" and names.get(
        find(root), "names-assumed") == "face forward" and find(root).get(LABEL).endswith("strake 5, port")
    act(root, "check")
    rows = " ".join(list_notes(root) + [names.get(e, "text") for e in names.find_roles(root, "label")])
    assert "FACE INBOARD" in rows and "TAKEN AS USUAL" in rows
    # the sheet and the record say so too, before anything is cut
    act(root, "plot", path=str(tmp_path / "strake_5.svg"), pdf="false", file_name="sheet")
    act(root, "record", path=str(tmp_path / "strake_5.svg"), file_name="record")
    told = (tmp_path / "sheet.svg").read_text()
    assert "NOBODY HAS SAID FACE: TAKEN AS INBOARD" in told and "NOBODY HAS SAID FORWARD: TAKEN AS RIGHT" in told
    assert "Nobody has said face inboard, forward right" in (tmp_path / "record.html").read_text()


# -- two planks --------------------------------------------------------------------------------------------------------

def test_two_planks_of_one_name_in_a_drawing_are_refused_and_a_letter_tells_them_apart():
    root = two()
    act(root, "fair", ["trace"], **FIVE)
    for how in ({}, dict(DIALOG, meant_for="strake_5.svg")):
        with pytest.raises(SettingError, match="called the same.*plank-1"):
            act(root, "fair", ["second"], **how, **FIVE)
    act(root, "fair", ["second"], **dict(FIVE, strake="5a"))
    with pytest.raises(SettingError, match="called the same"):
        act(root, "fair", ["plank-2"], strake="5", meant_for="Tern of Nowhere, strake 5a, port")
    assert [names.get(g, "strake") for g in names.find_roles(root, "plank")] == ["5", "5a"]


def test_the_boat_comes_from_the_drawings_other_plank_and_is_told():
    root = two()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "fair", ["second"], **dict(FIVE, strake="6", boat=""))
    assert names.get(find(root, "plank-2"), "name") == "Tern of Nowhere"
    assert any(t.startswith("Boat: Tern of Nowhere, as the other planks") for t in list_notes(root))


# -- turned ------------------------------------------------------------------------------------------------------------

CHECKED = "diagonals, M. Orme, 3 May"


def test_the_last_planks_strake_and_witness_do_not_get_onto_a_turned_one():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    for left in ({"symmetry": CHECKED}, {"side": "same", "face_up": "other", "strake": "7P"},
                 {"symmetry": CHECKED, "meant_for": "7 starboard"}):
        with pytest.raises(PlankError, match="for"):
            act(root, "turn", ["plank-1"], tab="turn", **left)
    act(root, "turn", ["plank-1"], tab="turn", symmetry=CHECKED, strake="5S", meant_for="5 port")
    assert tell(find(root, "plank-2"))[:3] == ["Tern of Nowhere", "5S", "starboard"]
    # turned anew with an empty field the copy keeps the name that it was given
    act(root, "turn", ["plank-1"], symmetry=CHECKED)
    assert names.get(find(root, "plank-2"), "strake") == "5S" and "strake 5S" in find(root, "plank-2").get(LABEL)


def test_a_copy_follows_its_original_that_was_renamed():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "turn", ["plank-1"], symmetry=CHECKED)
    act(root, "fair", ["plank-1"], strake="6", meant_for="Tern of Nowhere, strake 5, port")
    said = act(root, "turn", ["plank-1"], symmetry=CHECKED)
    assert names.get(find(root, "plank-2"), "strake") == "6" and "strake 6" in find(root, "plank-2").get(LABEL)
    assert "The earlier copy was called strake 5; the new one is strake 6." in said


def test_a_copy_that_would_be_called_as_another_plank_is_refused():
    root = two()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "fair", ["second"], **dict(FIVE, side="starboard", forward="right"))
    with pytest.raises(SettingError, match="called the same.*plank-2"):
        act(root, "turn", ["plank-1"], symmetry=CHECKED)
    act(root, "turn", ["plank-1"], symmetry=CHECKED, strake="5 by symmetry")
    assert len(names.find_roles(root, "plank")) == 3


# -- the later actions -------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("script, typed, field", [
    ("section", {"typed": "frame,radius | 1,flat"}, "Rows typed"),
    ("section", {"turn": "12"}, "Bend between the ends"), ("section", {"pattern": "6 mm"}, "Pattern thickness"),
    ("allowance", {"species": "teak"}, "Species"), ("joints", {"joints": "scarf 2-3"}, "Joints"),
    ("joints", {"joints": "none", "fore_end": "hood"}, "The fore end of the plank"),
    ("fastenings", {"aft_end": "hood"}, "The plank's aft end"),
    ("fastenings", {"neighbours": "upper 2-3"}, "Butts of the neighbours"),
    ("record", {"measured_by": "M. Orme"}, "Measured by"), ("record", {"moisture": "14"}, "Moisture"),
    ("check", {"true_length": "1700 mm"}, "True length"),
    ("check", {"scanned_up": "inboard"}, "Face that lay up"),
    ("turn", {"symmetry": CHECKED}, "Hull found symmetrical by")])
def test_what_a_dialog_keeps_of_another_plank_does_not_measure_this_one(tmp_path, script, typed, field):
    root, path = open_root(), str(tmp_path / "strake_5.svg")
    act(root, "fair", ["trace"], **FIVE)
    act(root, "stations", spacing="400 mm")
    for meant in ({}, {"meant_for": "7 starboard"}):
        with pytest.raises(SettingError) as refused:
            act(root, script, path=path, tab="one", **typed, **meant)
        assert field in refused.value.problem and "write 5 port" in refused.value.remedy
    act(root, script, path=path, tab="one", meant_for="5 port", **typed)


@pytest.mark.parametrize("typed, field",
                         [({"first_label": "7"}, "First label"), ({"spacing": "400 mm"}, "Frame spacing"),
                          ({"first": "90 mm"}, "First frame from the end")])
def test_the_last_planks_frames_do_not_number_or_place_this_ones(typed, field):
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    for meant in ({}, {"meant_for": "7 starboard"}):
        with pytest.raises(SettingError) as refused:
            act(root, "stations", path="strake_5.svg", tab="one", **typed, **meant)
        assert "%s (%s)" % (field, *typed.values()) in refused.value.problem and "write 5 port" in refused.value.remedy
        assert not names.find_roles(root, "station")
    act(root, "stations", path="strake_5.svg", tab="one", meant_for="5 port", **typed)
    assert names.find_roles(root, "station")


def test_a_dialog_as_it_begins_numbers_a_plank_without_asking():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "stations", path="strake_5.svg", tab="one")
    act(root, "stations", path="strake_5.svg", tab="one", spacing="9 1/18 in", first="15 cm", meant_for="5 port")


@pytest.mark.parametrize("typed, field",
                         [({"gauge": "12"}, "The boat's own gauge"), ({"length": "45 mm"}, "The boat's own length"),
                          ({"plug": "12 mm"}, "The boat's own plug")])
def test_a_fastening_drawn_from_another_plank_is_not_this_ones(typed, field):
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "stations", spacing="400 mm")
    with pytest.raises(SettingError) as refused:
        act(root, "fastenings", tab="one", meant_for="7 starboard", **typed)
    assert field in refused.value.problem and "write 5 port" in refused.value.remedy


@pytest.mark.parametrize("script, select, typed, field",
                         [("stock", (), {"species": "teak"}, "Boards of this species only"),
                          ("marks", ("trace",), {"forward": "left"}, "The bow lies to the"),
                                                          ("marks", ("trace",),
                                                           {"stations": "count", "first_label": "7"},
                                                           "First label, when counting")])
def test_a_species_a_bow_and_a_count_of_the_last_plank_are_refused(script, select, typed, field):
    root = open_root()
    if script == "stock":
        act(root, "fair", ["trace"], **FIVE)
    for meant in ("", "strake_7.svg"):
        with pytest.raises(SettingError) as refused:
            act(root, script, select, path="strake_5.svg", tab="one", meant_for=meant, **typed)
        assert field in refused.value.problem and refused.value.where == "These are for"
    try:
        act(root, script, select, path="strake_5.svg", tab="one", meant_for="strake_5.svg", **typed)
    except PlankError as other:
        assert other.where != "These are for"


def test_a_thickness_left_in_fastenings_is_refused_where_the_drawing_has_another():
    root = open_root()
    act(root, "fair", ["trace"], **FIVE)
    act(root, "stations", spacing="400 mm")
    with pytest.raises(SettingError, match="22 mm thick by the drawing, and 38 mm"):
        act(root, "fastenings", thickness="38 mm", meant_for="5 port")
    act(root, "fastenings", thickness="22 mm", tab="size")


def test_a_recipe_may_say_names_once_and_its_later_steps_leave_them_out(tmp_path):
    (tmp_path / "in.svg").write_text(HEAD % (MM_PAGE, draw_plank()))
    step = '[[plank.step]]\naction = "fair"\n'
    head = '[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n'
    says = "".join('%s = "%s"\n' % pair for pair in FIVE.items())

    def run(text):
        (tmp_path / "recipe.toml").write_text(text)
        _, failed = run_recipe(read_recipe(tmp_path / "recipe.toml"), actions=EXTENSIONS, progress=io.StringIO().write)
        return failed
    assert run(head + step + says + step + 'select = ["plank-1"]\nhonest_error = "0.4 mm"\n') == []
    assert tell(find(etree.parse(str(tmp_path / "out.svg")).getroot())) == CALLED_FIVE
    (_, problem), = run(head + step + says + step + 'select = ["plank-1"]\nside = "starboard"\n')
    assert "side port" in problem.problem and "side starboard" in problem.problem
