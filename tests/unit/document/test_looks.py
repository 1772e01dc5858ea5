"""The look of lines: seen on white, told apart by the colour-blind, and by one black pen."""
from itertools import combinations

import numpy as np
import pytest

from plankcore.document.overlay import BLACK, BLUE, GREEN, PURPLE, VERMILION, read_look

COLOURS = [BLACK, BLUE, VERMILION, GREEN, PURPLE]
# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A Physiologically-based Model for Simulation of Color Vision
# Deficiency, IEEE TVCG 15 (2009), no. 6: full severity, on linear RGB
VISIONS = {
    "all": np.eye(3),
    "no red": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                        [-0.003882, -0.048116, 1.051998]]),
    "no green": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                          [-0.011820, 0.042940, 0.968881]]),
    "no blue": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
                         [0.004733, 0.691367, 0.303900]]),
}
# CIE 1976, L*a*b*: a difference that is just seen is about 2.3 (Mahy, Van Eycken, Oosterlinck 1994, from memory); thin
# lines want many times that
LEAST_DIFFERENCE = 20.0


def make_linear(colour):
    """Linear shares of red, green, blue: IEC 61966-2-1 (sRGB, from memory)."""
    shares = np.array([int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)


def measure_contrast(colour):
    """Contrast ratio against white: WCAG 2.1, definitions of relative luminance and contrast ratio (from memory)."""
    return 1.05 / (np.array([0.2126, 0.7152, 0.0722]) @ make_linear(colour) + 0.05)


def find_lab(linear):
    """CIE L*a*b* under D65 (ISO/CIE 11664-4; sRGB's matrix; both from memory)."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    share = to_xyz @ np.clip(linear, 0, 1) / np.array([0.9505, 1.0, 1.089])
    f = np.where(share > (6 / 29) ** 3, np.cbrt(share), share / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def measure_difference(one, other, vision):
    return float(np.linalg.norm(find_lab(VISIONS[vision] @ make_linear(one))
                                - find_lab(VISIONS[vision] @ make_linear(other))))


@pytest.mark.parametrize("vision", VISIONS)
def test_colours_are_told_apart_by_those_who_see_no_red_green_or_blue(vision):
    assert min(measure_difference(*pair, vision) for pair in combinations(COLOURS, 2)) >= LEAST_DIFFERENCE


def test_a_pair_that_someone_takes_for_one_is_seen():
    """Planted faults: red and green of one lightness where no green is seen, a bluer green where no blue is; white and
    black are 100 apart, and grey looks grey to all."""
    assert measure_difference("#a05000", "#5a7000", "no green") < LEAST_DIFFERENCE
    assert measure_difference(BLUE, "#00704f", "no blue") < LEAST_DIFFERENCE
    assert measure_difference("#ffffff", BLACK, "all") == pytest.approx(100.0, abs=0.1)
    for vision in VISIONS:
        assert measure_difference("#808080", "#ffffff", vision) == pytest.approx(
            measure_difference("#808080", "#ffffff", "all"), abs=0.5)


def test_the_formula_gives_the_known_ends():
    """Black on white is 21 to 1, white on white 1 to 1."""
    assert measure_contrast("#000000") == pytest.approx(21.0) and measure_contrast("#ffffff") == pytest.approx(1.0)


@pytest.mark.parametrize("colour", COLOURS)
def test_every_colour_stands_out_from_white_as_words_must(colour):
    """WCAG 2, success criterion 1.4.3: 4.5 to 1."""
    assert measure_contrast(colour) >= 4.5


def test_the_outlines_of_a_plank_differ_by_their_dashes():
    """One black pen: the line to cut, both net lines, frames, parts, blocks and hidden joints."""
    kinds = ("saw", "outline", "drawn-face", "other-face", "station", "part", "block", "joint-hidden", "joint-middle",
             "frame", "datum", "bare")
    dashes = [read_look(kind)[2] for kind in kinds]
    assert len(set(dashes)) == len(dashes) and dashes[0] == ()
