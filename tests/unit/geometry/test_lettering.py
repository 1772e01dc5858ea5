"""Single-stroke lettering: where it stands, how long it is, and that no two characters look alike."""
import unicodedata
from functools import lru_cache

import numpy as np
import pytest

from plankcore.geometry.lettering import stroke_text, text_width_mm

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
DIGITS = "0123456789"
MARKS = ".,:;-+=/()'\"&%#*?!\u00b0\u00b1\u00d7<>_|[]@"
ALL = LETTERS + DIGITS + MARKS
LOW_OR_TALL = set(",;()[]/|Q_")         # what may reach below the baseline or above a capital


def letter(text, **how):
    return np.vstack(stroke_text(text, **{"height_mm": 6.0, **how}))


@lru_cache(maxsize=None)
def densify(text):
    """Points on the strokes of a text 6 mm high, about every 0.1 mm."""
    runs = [(a, b) for s in stroke_text(text, height_mm=6.0) for a, b in zip(s[:-1], s[1:])]
    return np.vstack([np.linspace(a, b, int(np.hypot(*(b - a)) / 0.1) + 2) for a, b in runs])


def measure_apart(one, other):
    """Greatest distance of any ink of one from the ink of the other, mm."""
    distance = np.hypot(*(densify(one)[:, None] - densify(other)[None]).transpose(2, 0, 1))
    return max(distance.min(axis=0).max(), distance.min(axis=1).max())


@pytest.mark.parametrize("character", ALL)
def test_every_character_is_drawn_in_strokes_a_pen_can_follow(character):
    strokes = stroke_text(character, height_mm=6.0)
    assert strokes
    for stroke in strokes:
        assert stroke.ndim == 2 and stroke.shape[1] == 2 and len(stroke) >= 2
        assert np.isfinite(stroke).all()
        assert (np.hypot(*np.diff(stroke, axis=0).T) > 1e-3).all()


@pytest.mark.parametrize("character", ALL)
def test_every_character_starts_at_the_pen_and_is_as_wide_as_it_says(character):
    points = letter(character)
    assert points[:, 0].min() == pytest.approx(0.0, abs=1e-12)
    assert points[:, 0].max() == pytest.approx(text_width_mm(character, height_mm=6.0), abs=1e-12)


@pytest.mark.parametrize("character", LETTERS + DIGITS)
def test_capitals_and_digits_stand_on_the_line_and_reach_their_height(character):
    y = letter(character, height_mm=10.0, at_mm=(3.0, 50.0))[:, 1]
    assert y.min() == pytest.approx(40.0, abs=0.1)
    if character not in LOW_OR_TALL:
        assert y.max() == pytest.approx(50.0, abs=0.1)


@pytest.mark.parametrize("character", ALL)
def test_no_character_reaches_far_out_of_its_line(character):
    y = letter(character)[:, 1]
    assert -6.9 <= y.min() and y.max() <= 1.1
    if character not in LOW_OR_TALL:
        assert -6.03 <= y.min() and y.max() <= 0.23


def test_no_two_characters_look_alike():
    """Some ink of one lies an eighth of the height off the ink of the other; a twelfth for the small marks."""
    for k, one in enumerate(ALL):
        for other in ALL[:k]:
            apart = measure_apart(one, other)
            assert apart > (0.75 if {one, other} & set(LETTERS + DIGITS) else 0.5), (one, other, apart)


@pytest.mark.parametrize("digit, capital", ["0O", "0Q", "0D", "1I", "1L", "5S", "8B", "2Z", "6G", "7T"])
def test_digits_are_not_capitals(digit, capital):
    assert measure_apart(digit, capital) > 0.75


def test_rounds_look_round():
    """The O is an ellipse 4.6 by 6 on the grid; the chords stay within 0.15 mm of it at 10 mm."""
    ring, = stroke_text("O", height_mm=10.0)
    assert ring[0] == pytest.approx(ring[-1])
    half = np.array([23 / 6, 5.0])
    middles = (ring[:-1] + ring[1:]) / 2.0 - [23 / 6, -5.0]
    short = (1.0 - np.hypot(*(middles / half).T)) * half.max()
    assert 0.0 < short.max() < 0.15
    turns = np.diff(np.unwrap(np.arctan2(*np.diff(ring, axis=0).T)))
    assert np.abs(turns).max() < np.radians(20.0)


@pytest.mark.parametrize("text", ["HOOD END", "FRAME 12", "A", "LTAV.1", "3/4 IN", "\u00b10.5\u00b0"])
@pytest.mark.parametrize("height", [0.5, 4.0, 20.0])
def test_width_is_what_is_drawn(text, height):
    x = letter(text, height_mm=height)[:, 0]
    assert (x.min(), x.max()) == pytest.approx((0.0, text_width_mm(text, height_mm=height)), abs=1e-9)


def test_letters_never_touch_their_neighbours():
    for one in ALL:
        for other in ALL:
            pair = text_width_mm(one + other, height_mm=6.0)
            apart = pair - text_width_mm(one, height_mm=6.0) - text_width_mm(other, height_mm=6.0)
            assert 1.2 - 1e-9 <= apart <= 2.4 + 1e-9, (one, other)


def test_open_sides_come_closer_than_stems():
    def gap(one, other):
        return text_width_mm(one + other,
                             height_mm=6.0) - text_width_mm(one, height_mm=6.0) - text_width_mm(other, height_mm=6.0)
    assert gap("H", "I") > gap("H", "O") > gap("O", "O") >= gap("L", "T")


@pytest.mark.parametrize("anchor, share", [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_anchor(anchor, share):
    x = letter("STRAKE 5", anchor=anchor, at_mm=(100.0, 20.0))[:, 0]
    width = text_width_mm("STRAKE 5", height_mm=6.0)
    assert (x.min(), x.max()) == pytest.approx((100.0 - share * width, 100.0 + (1.0 - share) * width))


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("angle", [90.0, -37.0, 180.0])
def test_turning_goes_from_x_towards_y_about_the_place(anchor, angle):
    level = letter("FWD", anchor=anchor, at_mm=(0.0, 0.0))
    turned = letter("FWD", anchor=anchor, at_mm=(30.0, -7.0), angle_deg=angle)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    assert turned == pytest.approx(level @ np.array([[c, s], [-s, c]]) + [30.0, -7.0], abs=1e-9)


def test_a_quarter_turn_reads_down_the_page():
    points = letter("I-", angle_deg=90.0)
    assert points[:, 1].min() == pytest.approx(0.0, abs=1e-12) and points[:, 1].max() > 3.0
    assert points[:, 0].max() == pytest.approx(6.0)


def test_lettering_grows_with_its_height():
    assert letter("Aft 7", height_mm=12.0) == pytest.approx(2.0 * letter("Aft 7"))


@pytest.mark.parametrize("written, drawn", [("strake", "STRAKE"), ("\u00e5\u00f1\u00fc", "\u00c5\u00d1\u00dc"),
                                            ("e\u0301", "\u00c9"), ("Stra\u00dfe", "STRA\u1e9eE"),
                                            ("\u1e05", "B"), ("\u0153uvre", "OEUVRE"),
                                            ("2\u20133", "2-3"), ("\u22121", "-1"), ("4\u2032 3\u2033", "4' 3\""),
                                            ("1\u00bd", "1 1/2"), ("\u00be in", "3/4 IN"),
                                            ("A\tB", "A B"), ("A\u00a0B", "A B"),
                                            ("\u2026", "...")])
def test_words_keep_their_letters(written, drawn):
    one, other = stroke_text(written, height_mm=5.0), stroke_text(drawn, height_mm=5.0)
    assert len(one) == len(other)
    for a, b in zip(one, other):
        assert a == pytest.approx(b)


ACCENTED = ("\u00c0\u00c1\u00c2\u00c3\u00c4\u00c5\u00c7\u00c8\u00c9\u00ca\u00cb\u00cc\u00cd\u00ce\u00cf\u00d1"
            "\u00d2\u00d3\u00d4\u00d5\u00d6\u00d9\u00da\u00db\u00dc\u00dd\u0104\u0106\u010c\u0118\u0143\u0150"
            "\u015a\u0160\u0170\u0179\u017b\u017d\u0218")


@pytest.mark.parametrize("character", ACCENTED)
def test_an_accent_stays_on_its_letter_and_both_within_the_line(character):
    plain = unicodedata.normalize("NFD", character)[0]
    assert len(stroke_text(character, height_mm=6.0)) > len(stroke_text(plain, height_mm=6.0))
    y = letter(character)[:, 1]
    assert -6.9 <= y.min() and y.max() <= 1.4
    assert measure_apart(character, plain) > 0.5
    assert letter(character)[:, 0].min() == pytest.approx(0.0, abs=1e-12)


def test_no_two_accented_letters_look_alike():
    every = ACCENTED + "\u00c6\u00de\u0110\u0141\u1e9e"
    for k, one in enumerate(every):
        for other in every[:k] + ALL:
            assert measure_apart(one, other) > 0.3, one + other


def test_letters_of_the_north_are_no_others():
    for one, other in (("\u00c6", "A"), ("\u00de", "P"), ("\u0110", "D"), ("\u0141", "L"), ("\u1e9e", "B")):
        assert measure_apart(one, other) > 0.6, one


@pytest.mark.parametrize("character", ["\u4e2d", "\u20ac", "\u03a9", "~", "\U0001f6f6", "\u00b2"])
def test_an_unknown_character_is_a_box(character):
    box, = stroke_text(character, height_mm=6.0)
    assert box == pytest.approx(np.array([[0, 0], [3, 0], [3, -4], [0, -4], [0, 0]]))
    assert text_width_mm("A%sB" % character, height_mm=6.0) > text_width_mm("AB", height_mm=6.0) + 3.0


def test_no_letter_is_taken_for_the_box():
    for c in ALL:
        assert measure_apart(c, "\u4e2d") > 0.75, c


def test_the_crossed_o_of_the_north_is_neither_an_o_nor_a_nought():
    for c in "O0Q":
        assert measure_apart(c, "\u00d8") > 0.6, c


@pytest.mark.parametrize("text", ["", " ", "\n", "\u0301"])
def test_nothing_to_say_draws_nothing(text):
    assert stroke_text(text, height_mm=5.0) == []


def test_spaces_take_room():
    assert text_width_mm("", height_mm=6.0) == 0.0
    assert text_width_mm(" ", height_mm=6.0) == pytest.approx(5.0)
    assert text_width_mm("H H", height_mm=6.0) == pytest.approx(5.0 + 2 * text_width_mm("H", height_mm=6.0))
    assert text_width_mm("H  H", height_mm=6.0) == pytest.approx(10.0 + 2 * text_width_mm("H", height_mm=6.0))


def test_what_is_drawn_is_the_callers_to_change():
    for stroke in stroke_text("BOAT", height_mm=5.0):
        stroke += 1000.0
    assert letter("BOAT").max() < 100.0


@pytest.mark.parametrize("how", [{"height_mm": 0.0}, {"height_mm": -3.0}, {"height_mm": float("nan")},
                                 {"height_mm": 5.0, "anchor": "centre"}])
def test_settings_that_cannot_be_drawn_are_refused(how):
    with pytest.raises(ValueError):
        stroke_text("A", **how)
