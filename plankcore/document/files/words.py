"""Words among a page's lines, recognised as letters, so that a file holds each letter's form once."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ...geometry.lettering import CAP
from ...geometry.pen_letters import find_lettering
from ..overlay import read_look

if TYPE_CHECKING:
    from ...geometry.pen_letters import Lettered
    from ...model.drawing import SheetLine

__all__ = ["CAP_HEIGHT", "WIDTHS", "find_words", "measure_stroke_mm"]

# Widths of Helvetica's capitals, figures and marks, and its capitals' height, in thousandths of the size, by the
# metrics published with the fourteen standard fonts of PDF (Adobe Core 14 AFM; from memory, and tested against a copy
# of them).
# The text is invisible: the widths only make a selection of it lie along the strokes.
CAP_HEIGHT = 718
WIDTHS = {character: width for width, some in (
    (191, "'"), (260, "|"), (278, " !,./:;I[\\]"), (333, "()-"), (355, '"'), (389, "*"), (400, "\u00b0"), (500, "J"),
    (556, "#$0123456789?L_"), (584, "+<=>\u00b1\u00d7"), (611, "FTZ\u00df"), (667, "&ABEKPSVXY\u00de"), (722, "CDHNRU"),
    (778, "GOQ\u00d8"), (833, "M"), (889, "%"), (944, "W"), (1000, "\u00c6"),
    (1015, "@")) for character in some}


def measure_stroke_mm(found: Lettered, width_mm: float) -> float:
    """How thick words are drawn: as their look says, large ones a fourteenth of their capitals' height, so that a name
    is read as far off as its letters are tall for (ISO 3098, lettering of type A; from memory, not checked).
    """
    return max(width_mm, CAP * found.scale / 14.0)


def find_words(line: SheetLine) -> Lettered | None:
    """The letters of a line to draw, or None where it is not lettering, or only part of its words."""
    text = dict(line.values).get("text")
    look = read_look(line.style)
    if not text or line.pen != "draw" or look is None or look[2]:
        return None
    return find_lettering(text, line.cubics)
