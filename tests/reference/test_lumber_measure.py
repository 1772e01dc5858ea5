"""Board measure against published examples and plain arithmetic.

NHLA examples: American Hardwood Export Council, "Measurement" (americanhardwood.org, Grading sawn lumber). A board foot
is 144 cubic inches.
"""
import pytest

from plankcore.errors import SettingError
from plankcore.trade.lumber_measure import (
    BOARD_FEET_PER_M3,
    find_nominal_inches,
    measure_board_feet,
    measure_cubic_metres,
    measure_hardwood,
    measure_softwood,
    measure_surface_feet,
)

IN, FT = 25.4, 304.8


@pytest.mark.parametrize("sizes", [(0, 254, 3000), (25, -1, 3000), (25, 254, 0), (float("nan"), 254, 3000),
                                   (25, float("inf"), 3000)])
def test_boards_without_a_size_are_refused(sizes):
    for measure in (measure_board_feet, measure_hardwood, measure_cubic_metres):
        with pytest.raises(SettingError, match="cannot be measured"):
            measure(*sizes)


def test_softwood_without_a_size_is_refused():
    with pytest.raises(SettingError):
        measure_softwood(2, 8, 0)


def test_a_five_quarter_board_by_volume():
    """5/4 x 10 in x 12 ft: 1.25 x 10 x 12 / 12 = 12.5; x 144 x 25.4^3 mm3 = 0.0294967 m3."""
    assert measure_board_feet(1.25 * IN, 10 * IN, 12 * FT) == pytest.approx(12.5, abs=1e-9)
    assert measure_cubic_metres(1.25 * IN, 10 * IN, 12 * FT) == pytest.approx(0.0294967, abs=5e-8)


@pytest.mark.parametrize("sizes, feet", [((2, 8, 16), 21.33), ((1, 6, 8), 4.0)])
def test_softwood_to_hundredths_on_nominal_sizes(sizes, feet):
    """L x W x T / 12: 21.333 and 4. PS 20: from memory, not checked."""
    assert measure_softwood(*sizes) == feet


def test_nhla_example_of_two_inches():
    """2 in x 6 1/4 in x 8 ft: 4 1/6, so SM 4 and BF 8 (AHEC)."""
    found = measure_hardwood(2 * IN, 6.25 * IN, 8 * FT)
    assert (found.surface_feet, found.thickness_in, found.board_feet) == (4, 2, 8)


@pytest.mark.parametrize("width, length, surface", [(8, 12, 8), (10, 13, 11), (10, 13.9, 11), (6.25, 8.5, 4)])
def test_nhla_surface_measure(width, length, surface):
    """8 in x 12 ft is SM 8; 10 in x 13 ft 10.83, so 11; lengths between whole feet go down (AHEC)."""
    assert measure_surface_feet(width * IN, length * FT) == surface


def test_under_an_inch_counts_as_an_inch():
    """3/4 in x 12 in x 8 ft: SM 8, BF 8 (NHLA, in the glossary of goodwoodcorp.com)."""
    assert measure_hardwood(0.75 * IN, 12 * IN, 8 * FT).board_feet == 8


def test_exact_halves_go_either_way():
    """6 in x 9 ft is 4.5: up and down in turn (E. M. Wengert, woodweb.com, 2007)."""
    assert [measure_surface_feet(6 * IN, 9 * FT, half=h) for h in ("up", "down")] == [5, 4]
    assert [measure_surface_feet(6.1 * IN, 9 * FT, half=h) for h in ("up", "down")] == [5, 5]


def test_a_cubic_metre():
    """1e9 / (144 x 25.4^3) = 423.776 board feet."""
    assert BOARD_FEET_PER_M3 == pytest.approx(423.776, abs=5e-4)
    assert measure_board_feet(1000, 1000, 1000) == pytest.approx(423.776, abs=5e-4)


@pytest.mark.parametrize("thickness, inches",
                         [(20, 1), (25.4, 1), (31.75, 1.25), (31.4, 1.25), (31.0, 1), (38.1, 1.5), (50.8, 2), (62, 2)])
def test_rough_thickness_by_quarters(thickness, inches):
    """n/4 is n quarters of an inch, the least when green or air dry (NHLA)."""
    assert find_nominal_inches(thickness) == pytest.approx(inches, rel=1e-12)
