"""Lengths as people type them. Refusals first.

Expected values: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959). Feet-inches-eighths with
+, +- and ++ are the shipyard's notation of offset tables; the values below are hand arithmetic in inches.
"""
import math

import pytest

from plankcore.errors import SettingError
from plankcore.units import (
    MM_PER,
    format_feet_inches_eighths,
    format_inches,
    format_mm,
    parse_length_mm,
    round_to_part_mm,
)


def read(text, unit="mm", **limits):
    return parse_length_mm(text, unit=unit, field="Length", **limits)


@pytest.mark.parametrize("text", [
    "", "   ", None, "abc", "mm", "12 furlongs", "1,5,2", "1e3", "nan", "inf", "--3", "3 3", "1/0", "1 1/0 in", "5-6",
    "1-12-0", "1-0-8", "-1-0-0",
    "1-3-4+++", "4' 3' ", "4 in 3 ft", "0x10", "½½", "1-½-2", "2.5mm2", "12mm 3", "9" * 400, "9" * 400 + " mm",
    "9" * 400 + "-0-0", "9" * 5000,
])
def test_what_is_not_a_length_is_refused_with_its_field_and_an_example(text):
    with pytest.raises(SettingError) as caught:
        read(text)
    assert caught.value.where == "Length"
    assert "3/32 in" in caught.value.remedy


@pytest.mark.parametrize("text", ["1,500", "1,500 mm", "12,345", "1,234,567", "-1,500 mm", "2,750 in"])
def test_a_comma_that_may_part_thousands_is_refused(text):
    with pytest.raises(SettingError, match="two ways") as caught:
        read(text)
    assert caught.value.where == "Length" and "point" in caught.value.remedy


def test_unknown_unit_is_refused():
    with pytest.raises(SettingError, match="furlong"):
        read("1", unit="furlong")


@pytest.mark.parametrize("text, limits",
                         [("0.4", {"least_mm": 0.5}), ("21", {"most_mm": 20}), ("-1", {"least_mm": 0, "most_mm": 5})])
def test_a_length_out_of_range_is_refused_and_the_range_named(text, limits):
    with pytest.raises(SettingError) as caught:
        read(text, **limits)
    for value in limits.values():
        assert format_mm(value) in caught.value.remedy


@pytest.mark.parametrize("text, unit, mm", [
    ("2.5", "mm", 2.5), ("2.5", "in", 63.5), ("2.5 mm", "in", 2.5), ("2.5mm", "ft", 2.5), ("1", "cm", 10),
    ("1", "m", 1000), ("1", "ft", 304.8),
    ("2,5 mm", "in", 2.5), ("0,5", "mm", 0.5), (",5", "mm", 0.5), ("1234,5", "mm", 1234.5), ("0,125 in", "mm", 3.175),
    ("1-1/4\"", "mm", 31.75), ("5-1/2", "in", 139.7), ("1 - 1/4 in", "mm", 31.75),
    ("10'-6 7/8\"", "mm", 126.875 * 25.4),
    ("10' - 6-7/8\"", "mm", 126.875 * 25.4), ("4ft-3in", "mm", 51 * 25.4), ("\u00bd", "in", 12.7),
    ("1\u00bd\"", "mm", 38.1),
    ("1 \u00be in", "mm", 44.45), ("6' 2\u215e\"", "mm", 74.875 * 25.4), ("-\u00bd in", "mm", -12.7),
    ("\u22123", "mm", -3),
    ("1\u20444 in", "mm", 6.35),
    ("3/32 in", "mm", 25.4 * 3 / 32), ('1 1/4"', "mm", 31.75), ("1 1/4\u2033", "mm", 31.75),
    ("1 1/4\u201d", "mm", 31.75),
    ("4' 3 1/2\"", "mm", 51.5 * 25.4), ("4\u2032 3\u2033", "mm", 51 * 25.4), ("4ft 3in", "mm", 51 * 25.4),
    ("4'", "mm", 48 * 25.4), ("3''", "mm", 76.2),
    ("-3 mm", "mm", -3), ("- 3", "mm", -3), ("+3", "mm", 3), (".5", "mm", 0.5), ("5.", "mm", 5), (" 7 ", "mm", 7),
    ("2 IN", "mm", 50.8), ("1 inch", "mm", 25.4),
    ("2 feet", "mm", 609.6), ("-1' 6\"", "mm", -18 * 25.4), ("0", "mm", 0),
])
def test_written_lengths(text, unit, mm):
    assert read(text, unit=unit) == pytest.approx(mm, rel=1e-15, abs=1e-12)


@pytest.mark.parametrize("text, inches, mm", [
    ("1-3-4", 12 + 3 + 4 / 8, 393.7), ("0-0-1+", 3 / 16, 4.7625), ("4-1-1+-", 49 + 5 / 32, 1248.56875),
    ("4-1-3", 49.375, 1254.125),
    ("4-1-1++", 49 + 1 / 8 + 3 / 32, 25.4 * (49 + 7 / 32)),
])
def test_feet_inches_eighths(text, inches, mm):
    """Hand arithmetic; mm to the last digit given: 15.5 x 25.4 = 393.7; 49.15625 x 25.4 = 1248.56875."""
    assert read(text) == pytest.approx(inches * 25.4, rel=1e-15)
    assert read(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("text", ["1-3-4", "0-0-1+", "4-1-3", "0-0-0", "12-11-7+"])
def test_feet_inches_eighths_come_back_as_written(text):
    assert format_feet_inches_eighths(read(text)) == text


def test_thirty_seconds_are_rounded_to_the_sixteenth_when_written():
    """49 5/32 in lies midway between two sixteenths; the upper one is written."""
    assert format_feet_inches_eighths(read("4-1-1+-")) == "4-1-1+"


@pytest.mark.parametrize("denominator", [0, 4, 10, 64, "16", None])
def test_eighths_are_written_to_no_other_part_of_an_inch(denominator):
    with pytest.raises(SettingError) as caught:
        format_feet_inches_eighths(100.0, denominator=denominator)
    assert caught.value.where == "Fraction" and "1/32" in caught.value.remedy


@pytest.mark.parametrize("inches, denominator, text", [
    (11.96, 8, "1-0-0"), (-11.96, 8, "-1-0-0"), (11.985, 32, "1-0-0"), (11.98, 32, "0-11-7++"), (11.93, 8, "0-11-7"),
    (23.95, 8, "2-0-0"), (0.05, 8, "0-0-0"),
    (-0.05, 8, "0-0-0"), (15.5, 8, "1-3-4"), (49 + 5 / 32, 32, "4-1-1+-"), (3 / 16, 32, "0-0-1+"),
    (3 / 32, 32, "0-0-0++"), (7 / 32, 32, "0-0-1++"), (1 / 32, 32, "0-0-0+-"),
])
def test_eighths_to_a_part_of_the_users_choice_with_the_carry(inches, denominator, text):
    """11.96 in is 95.68 eighths, nearest 96, a foot: not 0-11-8, not 0-12-0. Hand arithmetic."""
    assert format_feet_inches_eighths(inches * 25.4, denominator=denominator) == text


@pytest.mark.parametrize("denominator", [8, 16, 32])
def test_the_number_and_the_words_of_a_rounded_length_are_the_same(denominator):
    """Three feet either side of nought in steps of 1.37 mm, which meet every carry sooner or later."""
    for k in range(-670, 670):
        rounded = round_to_part_mm(1.37 * k, denominator=denominator)
        assert abs(rounded - 1.37 * k) <= 25.4 / denominator / 2 + 1e-6
        text = format_feet_inches_eighths(1.37 * k, denominator=denominator)
        assert math.isclose(read(text.lstrip("-")) * (-1 if text.startswith("-") else 1), rounded, abs_tol=1e-9)
        assert math.isclose(read(format_inches(1.37 * k, denominator=denominator)), rounded, abs_tol=1e-9)


def test_one_metre_in_feet_inches_eighths():
    """1000 / 25.4 = 39.3701 in, nearest sixteenth 39.375."""
    assert format_feet_inches_eighths(1000.0) == "3-3-3"


@pytest.mark.parametrize("inches, text", [(11.98, "1-0-0"), (23.97, "2-0-0"), (11.96, "0-11-7+"), (-11.98, "-1-0-0"),
                                          (-0.001, "0-0-0")])
def test_rounding_carries_into_inches_and_feet(inches, text):
    assert format_feet_inches_eighths(inches * 25.4) == text


@pytest.mark.parametrize("inches, denominator, text", [
    (11.96, 8, "12 in"), (11.96, 16, "11 15/16 in"), (0.5, 16, "1/2 in"), (-2.25, 16, "-2 1/4 in"),
    (0.01, 16, "0 in"), (-0.01, 16, "0 in"), (102.375, 8, "102 3/8 in"),
])
def test_inches_as_fractions(inches, denominator, text):
    """11.96 in is nearer 12 than 11 7/8: the carry must not give 11 8/8."""
    assert format_inches(inches * 25.4, denominator=denominator) == text


@pytest.mark.parametrize("value, text", [(12.5, "12.5 mm"), (12.0, "12 mm"), (100.0, "100 mm"), (-0.01, "0 mm"),
                                         (0.04, "0 mm"), (1250.06, "1250.1 mm")])
def test_mm_without_trailing_noughts(value, text):
    assert format_mm(value) == text


@pytest.mark.parametrize("unit", MM_PER)
def test_a_bare_number_takes_the_unit_given(unit):
    assert read("2", unit=unit) == 2 * MM_PER[unit]


def test_every_sixteenth_of_six_feet_comes_back():
    for sixteenths in range(0, 6 * 12 * 16, 7):
        mm = sixteenths / 16 * 25.4
        assert math.isclose(read(format_feet_inches_eighths(mm)), mm, abs_tol=1e-9)
        assert math.isclose(read(format_inches(mm)), mm, abs_tol=1e-9)
