"""The look of lines: seen on white, and told apart by one black pen."""
import pytest

from plankcore.document.overlay import BLACK, BLUE, GREEN, PURPLE, VERMILION, read_look


def measure_contrast(colour):
    """Contrast ratio against white: WCAG 2.1, definitions of relative luminance and contrast ratio (from memory)."""
    shares = [int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 1.05 / (luminance + 0.05)


def test_the_formula_gives_the_known_ends():
    """Black on white is 21 to 1, white on white 1 to 1."""
    assert measure_contrast("#000000") == pytest.approx(21.0) and measure_contrast("#ffffff") == pytest.approx(1.0)


@pytest.mark.parametrize("colour", [BLACK, BLUE, VERMILION, GREEN, PURPLE])
def test_every_colour_stands_out_from_white_as_words_must(colour):
    """WCAG 2, success criterion 1.4.3: 4.5 to 1."""
    assert measure_contrast(colour) >= 4.5


def test_the_outlines_of_a_plank_differ_by_their_dashes():
    """One black pen: the line to cut, both net lines, frames, parts, blocks and hidden joints."""
    kinds = ("saw", "outline", "drawn-face", "other-face", "station", "part", "block", "joint-hidden", "joint-middle",
             "frame", "datum", "bare")
    dashes = [read_look(kind)[2] for kind in kinds]
    assert len(set(dashes)) == len(dashes) and dashes[0] == ()
