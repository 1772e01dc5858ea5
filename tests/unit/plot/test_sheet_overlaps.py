"""Nothing on a sheet is lettered across anything else: invented planks, and the samples' own sheets."""
import numpy as np
import pytest
from invented_sheets import invent_matter
from overlaps import list_crossings, list_words_off
from shapes import draw_lines

from plankcore.geometry.strokes import draw_polyline
from plankcore.model.drawing import SheetLine, SheetText
from plankcore.model.page import Page
from plankcore.paper.blocks import letter_texts
from plankcore.plot.cards import NUMBER_MM, SHORT_CARD
from plankcore.plot.sheet import lay_out_matter, make_page

FEW, MANY = 12, 200


def check(seed):
    matter = invent_matter(seed)
    sheet = lay_out_matter(matter)
    page = make_page(sheet)
    assert list_crossings(page) + list_words_off(page) == []
    # every frame has its card, and what it does not say is told
    labels = [t for t in sheet.texts if t.role in ("label", SHORT_CARD)]
    for station in matter.stations:
        assert [t for t in labels if t.text == station.label.upper()], "frame %s has no card" % station.label
    if any(t.role == SHORT_CARD for t in labels):
        words = " ".join(t.text for t in sheet.texts)
        assert "CARDS THAT SAY SEE RECORD" in words or "MORE: SEE RECORD" in words


@pytest.mark.parametrize("seed", range(FEW))
def test_nothing_is_lettered_across_anything_else(seed):
    check(seed)


@pytest.mark.long
@pytest.mark.parametrize("first", range(FEW, MANY, 8))
def test_nothing_is_lettered_across_anything_else_on_many_planks(first):
    for seed in range(first, min(first + 8, MANY)):
        check(seed)


def make_one(*lines, texts=()):
    return Page("SHEET", 300.0, 200.0, (*lines, *letter_texts(texts)))


def test_a_line_through_a_word_and_a_word_on_a_word_are_seen():
    """Planted faults."""
    word = SheetText("FRAME", (100.0, 100.0), NUMBER_MM)
    line = SheetLine(draw_polyline([(120.0, 60.0), (122.0, 140.0)]), "draw", role="station", style="station")
    assert list_crossings(make_one(line, texts=(word,))) == ["'FRAME' (note) is crossed by a line of role station"]
    assert list_crossings(make_one(texts=(word, SheetText("12", (130.0, 108.0), NUMBER_MM))))
    assert not list_crossings(make_one(texts=(word, SheetText("12", (130.0, 130.0), NUMBER_MM))))


def test_a_word_outside_its_strip_or_off_the_page_is_seen():
    square = SheetLine(draw_lines(np.array([(50, 50), (250, 50), (250, 150), (50, 150), (50, 50)])), "cut",
                       role="saw", style="saw", closed=True)
    inside, across = (SheetText("UP", (x, 100.0), 15.0, role="name") for x in (100.0, 240.0))
    assert not list_words_off(make_one(square, texts=(inside,)))
    assert list_words_off(make_one(square, texts=(across,))) == ["'UP' lies outside its strip"]
    assert list_words_off(make_one(square, texts=(SheetText("NOTE", (290.0, 100.0), 5.0),)))
