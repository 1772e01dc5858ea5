"""Lengths as people type and read them, and the only table for converting them to mm and back.

1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
"""
from __future__ import annotations

import math
import re
import unicodedata

from .errors import SettingError

__all__ = [
    "MM_PER",
    "format_feet_inches_eighths",
    "format_inches",
    "format_mm",
    "format_outside_mm",
    "parse_length_mm",
    "round_to_part_mm",
]

MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}

_EXAMPLE = ("Write a length such as 2.5, 2,5 mm, 3/32 in, 1 1/4\", 1-1/4\", 4' 3 1/2\", 4'-3\" or 4-3-5 "
            "(feet-inches-eighths).")
# patterns are compiled when first needed, since most lengths are just a number and a unit, and every click loads this
# module
_NUMBER = r"(?:\d+(?:\s+|\s*-\s*)\d+/\d+|\d+/\d+|\d+[.,]\d*|[.,]\d+|\d+)"
_ONE = r"^([+-]?)\s*(%s)\s*(mm|cm|m|in|inch|inches|ft|foot|feet|\"|''|')?$" % _NUMBER
_FEET = r"^([+-]?)\s*(%s)\s*(?:ft|foot|feet|')\s*-?\s*(%s)\s*(?:in|inch|inches|\"|'')?$" % (_NUMBER, _NUMBER)
_THOUSANDS = r"^[+-]?\s*[1-9]\d{0,2}(?:,\d{3})+(?![\d,])"
_EIGHTHS = r"^(\d+)-(\d+)-(\d+)(\+\+|\+-|\+)?$"
_WORDS = {"inch": "in", "inches": "in", '"': "in", "''": "in", "foot": "ft", "feet": "ft", "'": "ft"}
_PLUS = {None: 0.0, "+": 1 / 16, "+-": 1 / 32, "++": 3 / 32}
# suffix after the eighths for each fraction over them
_BEHIND = {8: ("",), 16: ("", "+"), 32: ("", "+-", "+", "++")}


def _read_number(text):
    """A whole or decimal number, a fraction, or a whole number and a fraction: '1 1/4', '1-1/4'."""
    total = 0.0
    for part in text.replace(",", ".").replace("-", " ").split():
        above, _, below = part.partition("/")
        total += float(above) / float(below or 1)
    return total


def _write_plainly(raw):
    """Small letters, straight marks for feet and inches, and a fraction of one character written out: 1\u00bd as 1 1/2.
    """
    plain = raw.strip().lower()
    for written, meant in (("\u2033", '"'), ("\u201d", '"'), ("\u2032", "'"), ("\u2019", "'"), ("\u2212", "-")):
        plain = plain.replace(written, meant)
    if plain.isascii():
        return plain
    whole = "".join(" " + unicodedata.normalize("NFKC", c) + " "
                    if c != "\u2044" and "\u2044" in unicodedata.normalize("NFKC", c) else c for c in plain)
    return " ".join(whole.replace("\u2044", "/").split())


def parse_length_mm(text: str, *, unit: str, field: str, least_mm: float | None = None,
                    most_mm: float | None = None) -> float:
    """Read a length.

    Parameters
    ----------
    text : str
        As typed. A bare number is in `unit`. A comma may stand for the decimal point, but not where it may part
        thousands (1,500). Feet-inches-eighths as F-I-E; a trailing + adds 1/16 in, +- adds
        1/32 in, ++ adds 3/32 in (the shipyard's notation).
    unit : str
        Key of MM_PER.
    field : str
        Name of the field, for the message.
    least_mm, most_mm : float, optional
        Range that is allowed there.

    Returns
    -------
    float
        mm.

    Raises
    ------
    SettingError
        If it is not a length, or out of range.

    Examples
    --------
    >>> parse_length_mm("1 1/4\\"", unit="mm", field="Thickness")
    31.75
    >>> parse_length_mm("1-3-4", unit="mm", field="Length")
    393.7
    """
    if unit not in MM_PER:
        raise SettingError("'%s' is not a unit of length known here." % unit,
                           "Use one of: " + ", ".join(MM_PER) + ".", field)
    raw = "" if text is None else str(text)
    plain = _write_plainly(raw)
    if re.match(_THOUSANDS, plain):
        raise SettingError("'%s' may be read in two ways: its comma parts thousands, or decimals." % raw,
                           "Write it with a point, or without the comma.", field)
    value = None
    try:
        one = re.match(_ONE, plain)
        feet_inches = re.match(_FEET, plain) if not one else None
        eighths = re.match(_EIGHTHS, plain) if not (one or feet_inches) else None
        if one:
            sign, number, word = one.groups()
            value = _read_number(number) * MM_PER[_WORDS.get(word, word) or unit]
            value = -value if sign == "-" else value
        elif feet_inches:
            sign, feet, inches = feet_inches.groups()
            value = 25.4 * (12 * _read_number(feet) + _read_number(inches))
            value = -value if sign == "-" else value
        elif eighths:
            feet, inches, parts = (int(eighths.group(k)) for k in (1, 2, 3))
            if inches < 12 and parts < 8:
                value = 25.4 * (12 * feet + inches + parts / 8 + _PLUS[eighths.group(4)])
    except (ZeroDivisionError, OverflowError):
        value = None
    if value is None or not math.isfinite(value):
        raise SettingError("'%s' is not a length." % raw, _EXAMPLE, field)
    if (least_mm is not None and value < least_mm) or (most_mm is not None and value > most_mm):
        low = "" if least_mm is None else "at least %s" % format_mm(least_mm)
        high = "" if most_mm is None else "at most %s" % format_mm(most_mm)
        raise SettingError("%s is out of range." % format_mm(value),
                           "Give %s." % " and ".join(w for w in (low, high) if w), field)
    return value


def format_mm(value_mm: float, *, places: int = 1) -> str:
    """'12.5 mm', without trailing zeros."""
    text = "%.*f" % (places, value_mm)
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return ("0" if text == "-0" else text) + " mm"


def format_outside_mm(least_mm: float, most_mm: float) -> str:
    """How far outside a line, from least to most: '3 mm', '3.7 to 7.2 mm', and where it is negative '1.2 mm inside to
    0.4 mm outside'.
    """
    ends = ["%s inside" % format_mm(-v) if v < 0 and format_mm(v) != "0 mm" else format_mm(v)
            for v in (least_mm, most_mm)]
    if ends[0] == ends[1]:
        return ends[0]
    if ends[0].endswith("inside"):
        return "%s to %s" % (ends[0], ends[1] if ends[1].endswith("inside") else ends[1] + " outside")
    return "%s to %s" % (ends[0][:-3], ends[1])


def _count_parts(value_mm, denominator):
    """Number of parts of an inch, to the nearest; half a part is rounded up. The tiny addend makes up for the rounding
    of mm to inches."""
    return math.floor(abs(value_mm) / 25.4 * denominator + 0.5 + 1e-9)


def format_inches(value_mm: float, *, denominator: int = 16) -> str:
    """Inches to the nearest fraction: '102 3/8 in'."""
    parts = _count_parts(value_mm, denominator)
    whole, rest = divmod(parts, denominator)
    sign = "-" if value_mm < 0 and parts else ""
    if not rest:
        return "%s%d in" % (sign, whole)
    common = math.gcd(rest, denominator)
    part = "%d/%d" % (rest // common, denominator // common)
    return "%s%s in" % (sign, part if not whole else "%d %s" % (whole, part))


def round_to_part_mm(value_mm: float, *, denominator: int) -> float:
    """The mm of the nearest part of an inch: what `format_inches` and `format_feet_inches_eighths` say, as a number."""
    return math.copysign(_count_parts(value_mm, denominator) / denominator * 25.4, value_mm) + 0.0


def format_feet_inches_eighths(value_mm: float, *, denominator: int = 16) -> str:
    """Feet, inches and eighths as F-I-E to the nearest 1/8, 1/16 or 1/32 in: 1-3-4, 0-0-1+, 4-1-1+-.

    A fraction over the eighth is written after it: +- for 1/32, + for 1/16, ++ for 3/32.
    """
    if denominator not in _BEHIND:
        raise SettingError("Eighths cannot be written to 1/%s in." % denominator,
                           "Use one of: %s." % ", ".join("1/%d" % d for d in _BEHIND), "Fraction")
    parts = _count_parts(value_mm, denominator)
    feet, rest = divmod(parts, 12 * denominator)
    inches, rest = divmod(rest, denominator)
    eighths, over = divmod(rest, denominator // 8)
    return "%s%d-%d-%d%s" % ("-" if value_mm < 0 and parts else "", feet, inches, eighths, _BEHIND[denominator][over])
