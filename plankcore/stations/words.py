"""Every sentence of Frame Stations: frames struck from little evidence, what was left out, and which numbers stay free.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any, Sequence

__all__ = [
    "tell_corner_mark",
    "tell_corner_marks",
    "tell_far_pair",
    "tell_free_numbers",
    "tell_lone",
    "tell_merged",
    "tell_no_partner",
    "tell_not_struck",
    "tell_odd_gap",
    "tell_other_number",
    "tell_pieces",
    "tell_stray",
]

_MOST_NAMED = 6


def tell_not_struck(name: str, along_mm: float, width_mm: float | None) -> str:
    """A frame whose line misses the plank (width_mm None), or crosses too little of it."""
    return "frame %s, %.0f mm from the fore end, %s: not struck, number left free" % (
        name, along_mm, "misses the plank" if width_mm is None else "meets %.1f mm of it" % width_mm)


def tell_lone(name: str, what: str, edge: str, square_to: str) -> str:
    """A frame known on one edge alone; what : 'tick' or 'mark'."""
    return "frame %s: %s on the %s edge alone, struck square to the %s" % (name, what, edge, square_to)


def tell_pieces(name: str, count: Any) -> str:
    """A line that meets the plank more than once."""
    return "frame %s meets the plank in %d pieces: the nearest is struck" % (name, count)


def tell_stray(what: str, edge: str) -> str:
    """A tick or mark that is not a frame, since a frame is too near."""
    return "%s on the %s edge alone, too near to the frame beside it: no frame struck" % (what, edge)


def tell_other_number(text: str, what: Any, frame: Any) -> str:
    """A second number beside one tick or line."""
    return "'%s' stands beside the %s of frame %s: not used as a number" % (text, what, frame)


def tell_corner_marks(what: str, corners: Sequence[str]) -> str:
    """Marks or ticks at the corners, which measure the corner; corners : 'upper fore' and so on."""
    return "%ss at the corners (%s) have no frame label: no frame is struck there" % (what, ", ".join(corners))


def tell_corner_mark(what: str, edge: str, along_mm: float, frame: str, *, is_forward: bool) -> str:
    """A mark beyond all labelled frames; frame : the label of the outermost of them."""
    return ("%s on the %s edge, %.0f mm from the fore end, has no frame label and stands %s of frame %s: taken as a "
            "corner mark, no frame struck; label it if it is a frame's"
            % (what, edge, along_mm, "forward" if is_forward else "aft", frame))


def tell_no_partner(edge: str) -> str:
    """A tick at an end that belongs to no frame."""
    return "tick on the %s edge has no partner: no frame struck" % edge


def tell_merged(count: Any, what: Any, spread_mm: float) -> str:
    """Several on one edge that were merged."""
    return "%d %ss %.0f mm apart taken as one, their middle" % (count, what, spread_mm)


def tell_far_pair(what: str, away_mm: float) -> str:
    """One on each edge, matched to one frame although they are far apart."""
    return "%ss %.0f mm apart along the baseline taken as one frame" % (what, away_mm)


def _tell_gap(first, second, gap_mm, usual_mm):
    return "%s to %s is %.0f mm, %.1f times the usual %.0f mm" % (
        first, second, gap_mm, gap_mm / usual_mm if usual_mm > 0 else 1.0, usual_mm)


def tell_free_numbers(free: Sequence[str], what: str, *, first: str, second: str, gap_mm: float,
                      usual_mm: float) -> str:
    """Numbers between two frames that have no marks on the plank."""
    some = ", ".join(free[:_MOST_NAMED]) + (" and %d more" % (len(free) - _MOST_NAMED) if len(free) > _MOST_NAMED
                                            else "")
    one = len(free) == 1
    return "frame%s %s %s no %s on either edge: %s left free (%s)" % (
        "" if one else "s", some, "has" if one else "have", what, "number" if one else "numbers",
        _tell_gap(first, second, gap_mm, usual_mm))


def tell_odd_gap(first: str, second: str, gap_mm: float, usual_mm: float) -> str:
    """Two frames far nearer or farther than usual."""
    return "%s: look whether a frame is missing, or one too many" % _tell_gap(first, second, gap_mm, usual_mm)
