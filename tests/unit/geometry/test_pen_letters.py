"""Lettering known again among lines, and each letter drawn with few lifts: all of its ink, and nothing beside it."""
import numpy as np
import pytest
import shapely

from plankcore.geometry.lettering import draw_letter, stroke_text
from plankcore.geometry.pen_letters import find_lettering, join_strokes, letter_with_pen
from plankcore.geometry.strokes import draw_polyline

ALL = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,:;-+=/()'\"&%#*?!\u00b0\u00b1\u00d7<>_|[]@\u00d8"
# parts that touch nowhere, counted by hand
APART = {":": 2, ";": 2, "=": 2, '"': 2, "!": 2, "?": 2, "0": 2, "%": 3, "\u00b1": 2}


def draw(text, **how):
    return np.concatenate([draw_polyline(s) for s in stroke_text(text, **{"height_mm": 5.0, **how})])


@pytest.mark.parametrize("character", ALL)
def test_a_letter_is_drawn_in_as_few_strokes_as_it_hangs_together_in(character):
    given, joined = draw_letter(character), join_strokes(draw_letter(character))
    assert len(joined) == APART.get(character, 1)
    ink, told = shapely.MultiLineString([*joined]), shapely.MultiLineString([*given])
    # strokes that touch do so within a twentieth of a grid unit, 0.03 mm of a letter 4 mm high
    assert ink.hausdorff_distance(told) < 0.06 and ink.buffer(0.06).contains(told) and told.buffer(0.06).contains(ink)


def test_what_is_drawn_twice_is_the_least():
    """By hand: E goes over its middle stroke again, 2.8 of 16.0; H over the lower or upper halves of both stems."""
    for character, more in (("E", 2.8), ("H", 2 * 2.9), ("T", 2.0), ("O", 0.0), ("M", 0.0)):
        lengths = [sum(float(np.hypot(*np.diff(s, axis=0).T).sum()) for s in some)
                   for some in (draw_letter(character), join_strokes(draw_letter(character)))]
        assert lengths[1] - lengths[0] == pytest.approx(more, abs=1e-6), character


def test_strokes_apart_stay_apart():
    one, other = np.array([[0.0, 0], [4, 0]]), np.array([[0.0, 1], [4, 1]])
    assert [s.tolist() for s in join_strokes([one, other])] == [one.tolist(), other.tolist()]


@pytest.mark.parametrize("angle", [0.0, 90.0, -33.0])
@pytest.mark.parametrize("matrix", [np.eye(2), [[0.997, 0.002], [0.0, 1.003]], [[-1.0, 0.0], [0.0, 1.0]]])
def test_words_are_known_again_turned_stretched_and_mirrored(angle, matrix):
    cubics = draw("Frame 12, \u00bd in", at_mm=(300.0, 40.0), angle_deg=angle, height_mm=3.5) @ np.array(matrix).T
    found = find_lettering("Frame 12, \u00bd in", cubics)
    assert found.spelt == "FRAME 12, 1/2 IN" and len(found.starts) == len(found.spelt)
    det = 1.0 if np.allclose(np.abs(matrix), np.eye(2)) else 0.997 * 1.003
    assert found.scale == pytest.approx(3.5 / 6 * det ** 0.5, rel=1e-9)
    ends = np.vstack([s[[0, -1]] for s in letter_with_pen(found)])
    tree = shapely.STRtree(shapely.linestrings(cubics[:, [0, 3]]))
    assert tree.query_nearest(shapely.points(ends), all_matches=False, return_distance=True)[1].max() < 0.05


@pytest.mark.parametrize("cubics", [draw("FRAME 12")[:-1], draw("FRAME 13"), draw("FRAME 12") + 1e-3 * np.arange(
    len(draw("FRAME 12")))[:, None, None] ** 2, draw("I"), np.zeros((0, 4, 2))])
def test_what_is_not_the_text_whole_is_not_taken_for_it(cubics):
    assert find_lettering("I" if len(cubics) == 1 else "FRAME 12", cubics) is None


@pytest.mark.parametrize("tolerance", [0.01, 0.03])
def test_a_pens_letters_have_no_more_places_than_they_need(tolerance):
    words = find_lettering("SAW 308", draw("SAW 308", height_mm=4.0))
    fine, few = letter_with_pen(words), letter_with_pen(words, tolerance_mm=tolerance)
    assert len(fine) == len(few) and sum(map(len, few)) < sum(map(len, fine))
    for a, b in zip(fine, few):
        assert shapely.LineString(a).hausdorff_distance(shapely.LineString(b)) <= tolerance + 0.007


def strike(words, **how):
    return letter_with_pen(find_lettering(words, draw(words, height_mm=6.0)), **how)


def test_a_word_is_one_stroke_and_figures_and_signs_stand_apart():
    """By hand: the words, F alone, a first O alone, and each figure and sign by itself; 6 mm letters, so 1 mm is a
    grid unit."""
    for words, count in (("UPPER", 1), ("UPPER +3.5 MM UNDER", 3 + 4), ("MM", 1), ("12", 2), ("FRAME 12", 2 + 2),
                         ("LOWER", 1), ("OVER", 2), ("3F", 2), ("STRAKE 3F", 1 + 2),
                         ("NET, INBOARD FACE", 1 + 1 + 1 + 2), ("0.7", 3)):
        assert len(strike(words, tied=True)) == count, words
        assert sum(map(len, strike(words, tied=True))) > sum(map(len, strike(words))) or count == len(strike(words))


@pytest.mark.parametrize("word", ["QUICK", "JUMPED", "VEXINGLY", "HAZARD", "WBT", "PFC", "KOSMOS", "AOA",
                                  "TAMSIN GREY"])
def test_tied_letters_keep_all_their_ink_and_what_ties_them_lies_under_the_line(word):
    """By shapely, at a millimetre to a grid unit: no ink is lost; what is more than the letters' own reaches no higher
    than an O's flank, a sixth of the letters' height, nor deeper than a comma."""
    ink = shapely.MultiLineString(list(draw(word, height_mm=6.0)[:, [0, 3]]))
    tied = shapely.MultiLineString(strike(word, tied=True))
    assert tied.buffer(0.06).contains(ink)
    more = tied.difference(ink.buffer(0.06))
    assert more.length > 1.0
    left, top, right, bottom = more.bounds              # y down, the line at 0
    assert -1.0 < top and bottom < 1.0 and (top > -0.15 or "O" in word)
    low, high = ink.bounds[0], ink.bounds[2]
    assert low - 1e-6 <= left and right <= high + 1e-6


def test_a_zeros_stroke_reaches_its_ring_and_is_drawn_with_it():
    zero, = strike("00")[:1]
    ring, slash = draw_letter("0")
    assert len(strike("00")) == 2 and shapely.LineString(zero).intersects(shapely.Point(ring[0] * [1, -1]).buffer(0.05))
    assert shapely.LineString(slash * [1, -1]).difference(shapely.LineString(zero).buffer(0.02)).length < 0.01
