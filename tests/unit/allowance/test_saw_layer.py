"""The saw line in a drawing, with its words: what makes it stale, and the action's script. Refusals first."""
import os
import sys
from dataclasses import replace

import numpy as np
import pytest
from drawings import draw_plank, fair, open_drawing, reopen
from lxml import etree

from plankcore.allowance.saw_line import SwellingSettings, add_allowances
from plankcore.document import names
from plankcore.document.layers.lines import read_saw_line, write_saw_line
from plankcore.errors import PatternError, SettingError
from plankcore.model.drawing import Place, SawLine

sys.path.append(os.path.join(os.path.dirname(__file__), "..", "..", "..", "extensions"))
from plank_allowance import PlankAllowance

ADDED = {"upper": 3.0, "lower": 3.0, "fore": 25.0, "aft": 12.0}


def make(*, swelling=SwellingSettings(), board=""):
    """A fair plank with a saw line, and, with a word in `board`, a layer that stands for its hollow and bevels."""
    drawing = open_drawing(draw_plank())
    _plank, group = fair(drawing, name="Tern of Nowhere", strake="3", side="port", thickness_mm=22.0)
    if board:
        put_board(drawing, group, board)
    saw = add_allowances(drawing.read_plank(group), added_mm=ADDED, swelling=swelling)
    write_saw_line(drawing, group, saw)
    return drawing, group, saw


def put_board(drawing, group, guard):
    names.put(drawing.replace_layer(group, layer="section", label="Hollow and bevels").layer, guard_mm=guard)


def run(drawing, **settings):
    action = PlankAllowance()
    action.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    return action.apply(drawing.root, [], "")


@pytest.mark.parametrize("before, after", [("1 2 3", "1 2 4"), ("", "1 2 3"), ("1 2 3", "")])
def test_a_saw_line_older_than_its_board_is_refused(before, after):
    drawing, group, _ = make(board=before)
    assert read_saw_line(drawing, group) is not None
    if after:
        put_board(drawing, group, after)
    else:
        group.remove(names.find_layer(group, "section"))
    with pytest.raises(PatternError, match="Hollow and Bevels") as caught:
        read_saw_line(drawing, group)
    assert "Allowances again" in caught.value.remedy


def test_a_copy_written_before_its_board_is_good():
    """What it counts says that a board was known."""
    drawing, group, saw = make()
    write_saw_line(drawing, group, SawLine(saw.curves, saw.added_mm, saw.facts, ("bevel", "hollow")))
    put_board(drawing, group, "1 2 3")
    assert read_saw_line(drawing, group).includes == ("bevel", "hollow")


def test_the_board_made_again_with_the_same_numbers_is_the_same():
    drawing, group, _ = make(board="1 2 3")
    put_board(drawing, group, "1 2 3")
    assert read_saw_line(drawing, group) is not None


@pytest.mark.parametrize("settings, field", [
    ({"upper": "-1 mm"}, "Allowance, upper"), ({"species": "wite oak"}, "Species"),
    ({"species": "teak", "hanging": "250"}, "Moisture at hanging"),
    ({"girth": "wide"}, "Girth of the side"), ({"room": "true"}, "Species"),
    ({"room": "maybe"}, "Leave room for swelling"), ({"species": "teak", "tangential": "7"}, "Shrinkage, radial"),
    ({"species": "teak", "room": "true"}, "This plank lives"),
    ({"species": "teak", "afloat": "wet"}, "Moisture afloat"),
    ({"species": "teak", "afloat": "201"}, "Moisture afloat"),
])
def test_the_action_refuses_and_writes_nothing(settings, field):
    drawing, _group, _ = make()
    before = etree.tostring(drawing.root)
    with pytest.raises(SettingError) as caught:
        run(drawing, **settings)
    assert caught.value.where == field and etree.tostring(drawing.root) == before


def same_facts(found, wanted):
    """Whether facts are the same, numbers to the digits that are written."""
    def plain(fact):
        return [v for v in vars(replace(fact, place=None)).values() if not isinstance(v, float)]

    def numbers(fact):
        place = fact.place or Place()
        return [v for v in (fact.number, fact.limit, place.along_mm) if v is not None]
    return [(plain(a), (a.place or Place()).edge) for a in found] == [
        (plain(b), (b.place or Place()).edge) for b in wanted] and all(
        numbers(a) == pytest.approx(numbers(b), rel=1e-8) for a, b in zip(found, wanted))


def test_words_and_what_is_counted_come_back():
    drawing, _group, saw = make(swelling=SwellingSettings("western larch", room=True, strakes=12, lives="under water"))
    again = reopen(drawing)
    found = read_saw_line(again, again.find_group())
    assert same_facts(found.facts, saw.facts) and len(found.rows) > 4
    assert found.includes == saw.includes == ("swelling",)
    assert found.added_mm == saw.added_mm
    for a, b in zip(found.curves, saw.curves):
        assert a.cubics == pytest.approx(b.cubics, abs=1e-6)


def test_a_doubt_is_lettered_above_the_plank():
    _drawing, group, saw = make(swelling=SwellingSettings("western larch", hanging_percent=22.0))
    layer = names.find_layer(group, "saw")
    told = [names.get(e, "text") for e in names.find_roles(layer, "note")]
    assert told == [f.text for f in saw.findings] and "TOO HIGH" in told[0]


def test_the_action_as_it_comes_says_nothing_of_swelling():
    drawing, group, saw = make()
    run(drawing)
    found = read_saw_line(drawing, drawing.find_group())
    assert found.facts == saw.facts and found.includes == () and names.find_roles(names.find_layer(group, "saw"),
                                                                                "note") == []


def test_the_action_leaves_room():
    drawing, _group, _ = make()
    run(drawing, species="Western  LARCH", cut="quarter", hanging="12", afloat="28", room="true", strakes="14",
        upper="0", lower="0")
    saw = read_saw_line(drawing, drawing.find_group())
    plank = drawing.read_plank(drawing.find_group())
    middle = saw.curves[0].evaluate([len(saw.curves[0].cubics) / 2])[0]
    place, away = plank.edges["upper"].curve.find_nearest(middle)
    width = plank.edges["lower"].curve.find_nearest(plank.edges["upper"].curve.evaluate([place])[0])[1]
    # S 4.5, radial: (28 - 12) / (3000 / 4.5 - 30 + 12) of the width, half at each edge
    assert away == pytest.approx(width * 16 / (3000 / 4.5 - 18) / 2, abs=0.03) and saw.includes == ("swelling",)
    assert np.hypot(*(
        middle - plank.edges["lower"].curve.evaluate([plank.edges["lower"].curve.find_nearest(middle)[0]])[0])) < width


@pytest.mark.parametrize("settings, lives, percent",
                         [({}, "not said", None), ({"lives": "topside"}, "topside", 17.5),
                          ({"lives": "under water"}, "under water", 28.0), ({"afloat": "25,5 %"}, "not said", 25.5)])
def test_where_the_plank_lives_stands_on_the_layer_as_data(settings, lives, percent):
    drawing, _group, _ = make()
    run(drawing, species="teak", **settings)
    again = reopen(drawing)
    layer = names.find_layer(again.find_group(), "saw")
    assert (names.get(layer, "lives"),
            names.get(layer, "afloat-percent")) == (lives, "" if percent is None else "%g" % percent)
    found = read_saw_line(again, again.find_group())
    assert (found.lives, found.afloat_percent) == (lives, percent)
