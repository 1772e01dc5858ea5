"""How each kind of line looks: colours of Okabe and Ito (2008, jfly.uni-koeln.de/color), line patterns as well,
so that a black plotter or a colour-blind eye can tell them apart. All sizes in mm."""
from __future__ import annotations

__all__ = ["BLACK", "BLUE", "GREEN", "PURPLE", "VERMILION", "read_look", "style_for"]

BLACK, BLUE, VERMILION, GREEN, PURPLE = "#000000", "#0072b2", "#d55e00", "#009e73", "#cc79a7"

_LINES = {
    "edge": (BLUE, 0.35, None), "outline": (BLUE, 0.35, "6,2"), "saw": (VERMILION, 0.5, None),
    "station": (BLACK, 0.3, "10,2,1.5,2"), "mark": (GREEN, 0.3, None), "doubtful": (VERMILION, 0.5, None),
    "tick": (GREEN, 0.25, "1.5,1"), "band": (BLUE, 0.15, "1,2"), "comb": (PURPLE, 0.15, None),
    "inflection": (PURPLE, 0.4, None),
    "note": (BLACK, 0.3, None), "warning": (VERMILION, 0.4, None), "scale-bar": (BLACK, 0.3, None),
    "sheet": (BLACK, 0.2, "3,3"),
    "drawn-face": (BLUE, 0.35, "14,2"), "other-face": (GREEN, 0.35, "3,2"), "section": (BLACK, 0.35, None),
    "bevel": (VERMILION, 0.7, None),
    "section-line": (BLUE, 0.5, None), "stock-face": (BLACK, 0.15, "1,1.5"),
    "stock-board": (BLACK, 0.6, None), "stock-sap": (GREEN, 0.35, "12,4"), "stock-defect": (VERMILION, 0.5, None),
    "stock-grain": (GREEN, 0.15, "20,3,4,3"),
    "arrow": (BLACK, 0.4, None), "join": (PURPLE, 0.35, None),
    "joint": (PURPLE, 0.6, None), "joint-hidden": (PURPLE, 0.5, "4,2"), "joint-middle": (PURPLE, 0.25, "10,2,1,2"),
    "block": (PURPLE, 0.35, "7,3"),
    "register": (BLACK, 0.3, None), "datum": (BLACK, 0.15, "1,3"), "neighbour": (GREEN, 0.6, None),
    "part": (BLUE, 0.45, "16,2"),
    "grid": (BLACK, 0.1, None), "hatch": (BLUE, 0.15, None), "map-joint": (BLACK, 0.7, None),
    "failing": (VERMILION, 0.5, "2,1.2"),
    "fastening": (PURPLE, 0.35, None), "frame": (BLACK, 0.15, "2,2"), "bare": (VERMILION, 0.5, "8,4"),
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


def read_look(kind):
    """Colour as three shares (red, green, blue), width and dashes in mm of one kind of line, or None of what has no
    stroke.
    """
    if kind in ("area", "none"):
        return None
    colour, width, dashes = _LINES[kind]
    shares = tuple(int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5))
    return shares, width, tuple(float(v) for v in dashes.split(",")) if dashes else ()
