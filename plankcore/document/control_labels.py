"""What the label of a control says: two coordinates, a length, or two sides."""
from __future__ import annotations

import re
from dataclasses import dataclass

from ..errors import PlankError, SelectionError
from ..units import parse_length_mm

__all__ = ["ControlLabel", "looks_like_control", "read_control_label"]

_REMEDY = ("Label a point 0, 0 or 1200 mm, 300 mm (across, then down); a line 1000 mm; a rectangle 1000 x 600 mm; + "
           "or - 0.5 mm may follow as \u00b1 0.5 mm.")
_NAME = re.compile(r"^[^:=]*[:=]\s*")
_ERROR = re.compile(r"\s*(?:\u00b1|\+/-)\s*(.+)$")
_TIMES = re.compile(r"\s*[x\u00d7]\s*(?=[-+.\d])", re.IGNORECASE)
_WORD = re.compile(r"(mm|cm|m|in|inch|inches|ft|foot|feet|\"|''|')$", re.IGNORECASE)
_BARE = re.compile(r"^[+-]?\s*[\d./ ]+$")
_LIKE = re.compile(r"^\s*[-+.]?\d|\d[^,;]*[,;]|[,;].*\d")


@dataclass(frozen=True)
class ControlLabel:
    """kind : 'point', 'length' or 'rectangle'. values_mm : coordinates (x, y), length (l,) or sides (a, b). error_mm :
    0 if it says none.
    """

    kind: str
    values_mm: tuple[float, ...]
    error_mm: float = 0.0


def looks_like_control(text: str | None) -> bool:
    """True for words meant as a control, whether or not they can be read: they begin with a digit, or contain a digit
    and a comma."""
    return bool(_LIKE.search(_NAME.sub("", text or "")))


def read_control_label(text: str, *, unit: str, who: str) -> ControlLabel:
    """The meaning of a label.

    Parameters
    ----------
    text : str
        Two lengths separated by a comma or semicolon, one length, or two with an x between them; before them a name and
        a colon if wanted, after them the standard error. A bare number beside one with a unit takes that unit, else
        `unit`.
    who : str
        What the label belongs to, for the message.

    Raises
    ------
    SelectionError
        If it cannot be read; the message quotes the label.
    """
    body, error = _NAME.sub("", " ".join((text or "").split())), 0.0
    try:
        match = _ERROR.search(body)
        if match:
            error = parse_length_mm(match.group(1), unit=unit, field="error", least_mm=1e-3, most_mm=100)
            body = body[:match.start()]
        if ";" in body or "," in body:
            kind, parts = "point", re.split(r"\s*%s\s*" % (";" if ";" in body else ","), body)
        else:
            kind, parts = "rectangle", _TIMES.split(body)
            kind = kind if len(parts) > 1 else "length"
        if len(parts) != {"point": 2, "length": 1, "rectangle": 2}[kind]:
            raise SelectionError("it holds %d numbers; decimals are written with a point" % len(parts), "")
        words = [m.group(1) for m in map(_WORD.search, parts) if m]
        parts = [p + " " + words[0] if words and _BARE.match(p) else p for p in parts]
        low = None if kind == "point" else 1e-3
        values = tuple(parse_length_mm(p, unit=unit, field="label", least_mm=low, most_mm=1e6) for p in parts)
    except PlankError as problem:
        raise SelectionError("The label '%s' of %s cannot be read: %s" % (text, who, problem.problem), _REMEDY,
                             who) from None
    return ControlLabel(kind, values, error)
