"""How each kind of line looks: colours of Okabe and Ito (2008, jfly.uni-koeln.de/color), line patterns as well,
so that a black plotter or a colour-blind eye can tell them apart. All sizes in mm."""
from __future__ import annotations

__all__ = ["style_for", "BLACK", "BLUE", "VERMILION", "GREEN", "PURPLE"]

BLACK, BLUE, VERMILION, GREEN, PURPLE = "#000000", "#0072b2", "#d55e00", "#009e73", "#cc79a7"

_LINES = {
    "edge": (BLUE, 0.35, None), "outline": (BLUE, 0.35, "6,2"), "saw": (VERMILION, 0.5, None),
    "station": (BLACK, 0.3, "10,2,1.5,2"), "mark": (GREEN, 0.3, None), "doubtful": (VERMILION, 0.5, None),
    "tick": (GREEN, 0.25, "1.5,1"), "band": (BLUE, 0.15, "1,2"), "comb": (PURPLE, 0.15, None), "inflection": (PURPLE, 0.4, None),
    "note": (BLACK, 0.3, None), "warning": (VERMILION, 0.4, None), "scale-bar": (BLACK, 0.3, None), "sheet": (BLACK, 0.2, "3,3"),
    "arrow": (BLACK, 0.4, None),
}


def style_for(kind):
    """CSS for one kind of line."""
    if kind == "area":
        return "fill:%s;fill-opacity:0.06;stroke:none" % BLUE
    if kind == "none":
        return "fill:none;stroke:none"
    colour, width, dashes = _LINES[kind]
    text = "fill:none;stroke:%s;stroke-width:%g;stroke-linecap:round;stroke-linejoin:round" % (colour, width)
    return text + (";stroke-dasharray:%s" % dashes if dashes else "")
