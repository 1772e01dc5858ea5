"""Invented planks laid out to be plotted, for the tests of sheets, tiles, rolls and files."""
from __future__ import annotations

import numpy as np
from fact_rows import make_facts
from shapes import draw_lines, make_bowed_plank, make_straight_plank

from plankcore.allowance.saw_line import add_allowances
from plankcore.geometry.bezier import flatten_cubics
from plankcore.model.drawing import Overlay, SheetLine, SheetText
from plankcore.model.page import PlankMatter
from plankcore.stations.strike import StationSettings, strike_stations

NAMES = {"name": "Tern of Nowhere", "side": "starboard", "face": "inboard", "thickness_mm": 22.0}


def make_matter(*, strake="7", length=1200.0, width=100.0, bowed=True, saw=True, overlays=(), plank=None, **more):
    """A plank with stations and, unless told otherwise, a saw line."""
    if plank is None:
        plank = make_bowed_plank(length=length, width=width, strake=strake, **NAMES) if bowed else make_straight_plank(
            length=length, fore=width, aft=0.8 * width, strake=strake, **NAMES)
    stations = strike_stations(plank, settings=StationSettings(first_mm=60, spacing_mm=200))[0]
    line = add_allowances(plank, added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 12}) if saw else None
    return PlankMatter(plank, tuple(stations), line, tuple(overlays), **more)


def make_line_overlay(*shapes, texts=(), rows=(), **values):
    """An Overlay of polylines, each (points, role, style, pen, closed)."""
    return Overlay(tuple(SheetLine(draw_lines(np.vstack([p, p[:1]]) if closed else p), pen, role=role, style=style,
                                   closed=closed,
                                   values=tuple(values.items())) for p, role, style, pen, closed in shapes),
                   tuple(texts),
                   make_facts(rows))


def make_text(text, x, y, height=5.0):
    return SheetText(text, (float(x), float(y)), height)


def flatten(line):
    return flatten_cubics(line.cubics, tolerance_mm=0.002)


def list_words(page):
    """All words of a page, as one text."""
    return "\n".join(dict(line.values)["text"] for line in page.lines if "text" in dict(line.values))
