"""What a plank is called, where the drawing, a dialog with another plank's names in it, or nobody says so. The planks
are invented.
"""
from dataclasses import replace

import pytest

from plankcore.errors import DocumentError, PlankError, SettingError
from plankcore.model.plank import PlankNames
from plankcore.naming import check_same_thickness, refuse_leftovers, refuse_namesake, settle_names, spell_names

FIVE = PlankNames("Tern of Nowhere", "5", side="port", face="inboard", forward="left", thickness_mm=22.0)
SEVEN = PlankNames("Tern of Nowhere", "7", side="starboard", face="outboard", forward="right", thickness_mm=25.0)
NOTHING = PlankNames()


def settle(typed, known=None, *, meant_for="", file_name="strake_5.svg", in_dialog=True, boats=()):
    names, findings = settle_names(typed, known, meant_for=meant_for, file_name=file_name, in_dialog=in_dialog,
                                   boats=boats)
    return names, [f.text for f in findings]


# -- a plank that the drawing does not know ----------------------------------------------------------------------------

@pytest.mark.parametrize("meant_for", ["", "strake_7.svg", "strake_7", "5", "port", "Tern of Nowhere, strake 5, port",
                                       "strake_5.sv"])
def test_what_a_dialog_still_holds_of_another_plank_names_nothing(meant_for):
    with pytest.raises(SettingError) as refused:
        settle(SEVEN, meant_for=meant_for)
    for words in ("strake 7", "side starboard", "thickness 25 mm", meant_for):
        assert words in refused.value.problem
    assert "strake_5.svg" in refused.value.remedy


@pytest.mark.parametrize("meant_for", ["strake_5.svg", "strake_5", " STRAKE_5.SVG "])
def test_what_is_said_to_be_for_this_drawing_is_taken_whole(meant_for):
    assert settle(SEVEN, meant_for=meant_for) == (SEVEN, [])


def test_a_drawing_that_was_never_saved_cannot_be_told_from_another():
    with pytest.raises(DocumentError) as refused:
        settle(SEVEN, meant_for="", file_name="")
    assert refused.value.remedy.startswith("Save the drawing")


@pytest.mark.parametrize("unsaid, words", [("side", "Side of the boat"), ("face", "The line is that of the plank's"),
                                           ("forward", "The bow lies to the")])
def test_side_face_and_bow_are_asked_for(unsaid, words):
    with pytest.raises(SettingError) as refused:
        settle(replace(SEVEN, **{unsaid: ""}), meant_for="strake_5.svg")
    assert words in refused.value.problem and words in refused.value.where


def test_a_recipe_or_command_line_was_written_for_its_drawing():
    assert settle(SEVEN, in_dialog=False) == (SEVEN, [])


def test_what_nobody_says_in_a_recipe_is_taken_as_usual_and_told():
    names, told = settle(replace(NOTHING, name="Tern", strake="5"), in_dialog=False)
    assert (names.side, names.face, names.forward,
            names.assumed) == ("starboard", "inboard", "right", ("side", "face", "forward"))
    assert len(told) == 1 and "side starboard, face of the line inboard, bow to the right" in told[0]


def test_a_plank_without_names_is_said_to_have_none():
    _, told = settle(replace(SEVEN, name="", strake=""), meant_for="strake_5.svg")
    assert told == ["Not named yet: no boat, no strake. Give it in Fair Plank, Names."]


def test_the_boat_is_that_of_the_other_planks_and_another_is_told():
    names, told = settle(replace(SEVEN, name=""), in_dialog=False, boats=["Tern of Nowhere", "tern of  nowhere"])
    assert names.name.casefold() == "tern of nowhere" and told[0].startswith("Boat: ")
    names, told = settle(SEVEN, in_dialog=False, boats=["Gannet"])
    assert names.name == "Tern of Nowhere" and "Gannet" in told[0]
    names, told = settle(replace(SEVEN, name=""), in_dialog=False, boats=["Gannet", "Tern"])
    assert names.name == "" and "no boat" in told[0]


# -- one that it knows -------------------------------------------------------------------------------------------------

def test_empty_fields_mean_the_drawings_names():
    for in_dialog in (True, False):
        assert settle(NOTHING, FIVE, in_dialog=in_dialog) == (FIVE, [])


def test_the_same_names_again_are_no_contradiction():
    assert settle(replace(FIVE, name="tern of  nowhere", thickness_mm=22.0000001), FIVE) == (FIVE, [])


@pytest.mark.parametrize("key", ["name", "strake", "side", "face", "forward", "thickness_mm"])
@pytest.mark.parametrize("in_dialog", [True, False])
@pytest.mark.parametrize("meant_for", ["", "strake_5.svg", "6 port", "5 port"])
def test_a_name_that_differs_is_refused_with_both(key, in_dialog, meant_for):
    other = replace(SEVEN, name="Gannet")
    with pytest.raises(SettingError) as refused:
        settle(replace(NOTHING, **{key: getattr(other, key)}), FIVE, meant_for=meant_for, in_dialog=in_dialog)
    here, there = (("%g mm" % v if key == "thickness_mm" else v) for v in (getattr(FIVE, key), getattr(other, key)))
    assert here in refused.value.problem and there in refused.value.problem
    assert "write Tern of Nowhere, strake 5, port in" in refused.value.remedy


def test_names_that_are_for_another_drawing_are_left_aside_and_told():
    names, (told,) = settle(SEVEN, FIVE, meant_for="strake_7.svg")
    assert names == FIVE
    for words in ("strake_7.svg", "left aside", "strake 7", "side starboard", "stays Tern of Nowhere, strake 5, port"):
        assert words in told
    assert settle(FIVE, FIVE, meant_for="strake_7.svg") == (FIVE, [])


def test_a_plank_is_renamed_by_saying_what_it_is_called_now():
    to = spell_names(FIVE)
    assert to == "Tern of Nowhere, strake 5, port"
    names, (told,) = settle(SEVEN, FIVE, meant_for=to)
    assert names == SEVEN and "strake 5" in told and "side port" in told and "thickness 22 mm" in told
    # and the words that did it do nothing a second time
    with pytest.raises(SettingError):
        settle(FIVE, SEVEN, meant_for=to)
    assert settle(replace(NOTHING, name="TERN of Nowhere"), FIVE, meant_for=to)[0].name == "TERN of Nowhere"


def test_what_the_drawing_has_not_yet_is_added_where_it_is_meant_for_it():
    bare = replace(FIVE, strake="", thickness_mm=0.0)
    with pytest.raises(SettingError, match="strake 7, thickness 25 mm"):
        settle(replace(NOTHING, strake="7", thickness_mm=25.0), bare, meant_for="strake_7")
    for how in ({"meant_for": "strake_5.svg"}, {"in_dialog": False}):
        names, told = settle(replace(NOTHING, strake="7", thickness_mm=25.0), bare, **how)
        assert names == replace(FIVE, strake="7", thickness_mm=25.0) and told == []


def test_what_was_taken_as_usual_may_be_said_later_and_stays_told_until_then():
    assumed = replace(FIVE, assumed=("side", "face"))
    names, told = settle(NOTHING, assumed, in_dialog=False)
    assert names == assumed and "side port, face of the line inboard" in told[0]
    names, told = settle(replace(NOTHING, side="starboard"), assumed, in_dialog=False)
    assert names == replace(FIVE, side="starboard", assumed=("face",)) and "side" not in told[0]


# -- two of one name ---------------------------------------------------------------------------------------------------

def test_two_planks_of_one_name_are_refused():
    with pytest.raises(SettingError, match="plank-1") as refused:
        refuse_namesake(replace(FIVE, name="tern of nowhere"), [(SEVEN, "plank-2"), (FIVE, "plank-1")])
    assert "5f and 5a" in refused.value.remedy
    for other in (replace(FIVE, strake="5a"), replace(FIVE, side="starboard"), replace(FIVE, name="Gannet")):
        refuse_namesake(other, [(FIVE, "plank-1")])


# -- what else a dialog keeps ------------------------------------------------------------------------------------------

TYPED = {"Table of the frames": "frames_7.csv", "Wood": ""}


def leftovers(names=FIVE, typed=None, **how):
    refuse_leftovers(names, TYPED if typed is None else typed,
                     **{"meant_for": "", "file_name": "boat.svg", "in_dialog": True, **how})


@pytest.mark.parametrize("how",
                         [{}, {"meant_for": "7 starboard"}, {"meant_for": "5"},
                          {"meant_for": "7 starboard", "in_dialog": False}, {"meant_for": "boat.svg", "file_name": ""}])
def test_readings_that_are_not_said_to_be_this_planks_are_refused(how):
    with pytest.raises(PlankError) as refused:
        leftovers(**how)
    assert ("Table of the frames (frames_7.csv)" in refused.value.problem and "Wood" not in refused.value.problem
            and "write 5 port" in refused.value.remedy)


@pytest.mark.parametrize("how",
                         [{"meant_for": "5 port"}, {"meant_for": "strake 5, PORT"},
                          {"meant_for": "Tern of Nowhere, strake 5, port"}, {"meant_for": "boat"},
                          {"in_dialog": False},
                                 {"typed": {"Wood": " "}}, {"typed": {"Wood": ""}, "meant_for": "7 starboard"}])
def test_readings_of_this_plank_are_taken(how):
    leftovers(**how)


def test_a_plank_without_a_strake_is_known_by_its_drawing_alone():
    bare = replace(FIVE, strake="")
    leftovers(bare, meant_for="boat.svg")
    with pytest.raises(PlankError, match="not said to be for it") as refused:
        leftovers(bare)
    assert "boat.svg" in refused.value.remedy
    with pytest.raises(PlankError) as refused:
        leftovers(bare, file_name="", meant_for="port")
    assert "Give the plank its strake" in refused.value.remedy


def test_a_thickness_is_the_drawings():
    check_same_thickness(0.0, FIVE, field="Thickness")
    check_same_thickness(22.0, FIVE, field="Thickness")
    check_same_thickness(30.0, replace(FIVE, thickness_mm=0.0), field="Thickness")
    with pytest.raises(SettingError, match="22 mm thick by the drawing, and 30 mm"):
        check_same_thickness(30.0, FIVE, field="Thickness")
