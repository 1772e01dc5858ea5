"""Nothing on a sheet is lettered across anything else: invented planks, and the samples' own sheets."""
from functools import lru_cache

import numpy as np
import pytest
import shapely
from invented_sheets import invent_matter
from overlaps import list_crossings, list_words_off
from shapes import draw_lines, make_straight_plank

from plankcore.geometry.strokes import draw_polyline, flatten_strokes
from plankcore.model.drawing import SheetLine, SheetText
from plankcore.model.page import Page, PlankMatter
from plankcore.paper.blocks import letter_texts
from plankcore.plot.cards import NUMBER_MM, SHORT_CARD
from plankcore.plot.line_names import LINE_NAME
from plankcore.plot.sheet import lay_out_matter, make_page
from plankcore.stations.strike import StationSettings, strike_stations

FEW, MANY = 4, 200
DOZEN = [*range(FEW), *(pytest.param(seed, marks=pytest.mark.long) for seed in range(FEW, 12))]


@lru_cache(maxsize=16)
def lay_out(seed):
    """An invented plank's matter and its sheet."""
    matter = invent_matter(seed)
    return matter, lay_out_matter(matter)


def check(seed):
    matter, sheet = lay_out(seed)
    page = make_page(sheet)
    assert list_crossings(page) + list_words_off(page) == []
    # every frame has its card, and what it does not say is told
    labels = [t for t in sheet.texts if t.role in ("label", SHORT_CARD)]
    for station in matter.stations:
        assert [t for t in labels if t.text == station.label.upper()], "frame %s has no card" % station.label
    if any(t.role == SHORT_CARD for t in labels):
        words = " ".join(t.text for t in sheet.texts)
        assert "CARDS THAT SAY SEE RECORD" in words or "MORE: SEE RECORD" in words


@pytest.mark.parametrize("seed", DOZEN)
def test_nothing_is_lettered_across_anything_else(seed):
    check(seed)


@pytest.mark.long
@pytest.mark.parametrize("first", range(12, MANY, 4))
def test_nothing_is_lettered_across_anything_else_on_many_planks(first):
    for seed in range(first, min(first + 4, MANY)):
        check(seed)


@pytest.mark.parametrize("seed", DOZEN)
def test_the_name_of_a_line_is_led_to_that_line(seed):
    """Without its stroke SAW, which stands inside the net line, would be read as the net line's name."""
    _, sheet = lay_out(seed)
    leads = [one.cubics[0, [0, 3]] for one in sheet.lines if one.role == "lead"]
    shapes = {one.role: shapely.LineString(flatten_strokes(one.cubics, tolerance_mm=0.01)[0])
              for one in sheet.lines if one.role in ("saw", "outline")}
    names = [t for t in sheet.texts if t.role == LINE_NAME and ("SAW" in t.text or t.text.startswith("CUT"))]
    for text in names:
        near = min(leads, key=lambda ends: np.hypot(*(ends[0] - text.at_mm)))
        assert np.hypot(*(near[0] - text.at_mm)) < text.height_mm + 3.5
        assert shapes["saw" if text.text == "SAW" else "outline"].distance(shapely.Point(near[1])) < 0.3
    assert names


def test_arrows_stand_between_the_end_and_the_first_frame_where_there_is_room():
    """Frames 300 mm in from either end: letters of 15 mm there; 90 mm in: smaller ones, so that no card is crowded."""
    for first, high in ((300.0, 15.0), (90.0, 10.0)):
        plank = make_straight_plank(length=1500.0, fore=150.0, aft=150.0, strake="5", side="starboard")
        stations = strike_stations(plank, settings=StationSettings(first_mm=first, spacing_mm=1500.0 - 2 * first))[0]
        sheet = lay_out_matter(PlankMatter(plank, tuple(stations)))
        frames = sorted(float(one.cubics[0, 0, 0]) for one in sheet.lines if one.role == "station")
        ways = [t for t in sheet.texts if t.role == "way"]
        assert len(ways) == 4 and {t.height_mm for t in ways} == {high}
        assert all(t.at_mm[0] < frames[0] or t.at_mm[0] > frames[-1] for t in ways)


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
