"""Pages to plot as an SVG drawing that the editor opens, and the sheet's own matter as a layer in the drawing of the
plank.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import inkex
import numpy as np
from lxml import etree

from ...actions import PLOT
from ...geometry.strokes import measure_extent, split_strokes
from .. import names
from ..overlay import style_for
from ..path_text import write_strokes
from ..places import read_points
from ..read import find_total_map
from ..transforms import apply, compose
from ..write import LayerWriter, make_layer

if TYPE_CHECKING:
    from typing import Sequence

    from ...model.drawing import Sheet
    from ...model.page import Page
    from ..drawing import Drawing
    from ..names import Element

__all__ = ["PAGE_GAP_MM", "write_pages_svg", "write_sheet_layer"]

PAGE_GAP_MM = 20.0        # between pages that lie side by side in one drawing

_BLANK = ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="%s" xmlns:sodipodi="%s" width="%%.4fmm" '
          'height="%%.4fmm" '
          'viewBox="0 0 %%.4f %%.4f"><title></title></svg>' % (names.INKSCAPE, names.SODIPODI))


def _round_up(value):
    """A page's size with the decimals that are written, never less."""
    return float(np.ceil(np.round(value, 6) * 100) / 100)


def _write_lines(lines, left):
    """Path text of each line, moved along by `left` mm; letters, which are all straight, with as many decimals as they
    need.
    """
    lettered = np.array([any(key == "text" for key, _ in line.values) for line in lines], bool)
    texts = [""] * len(lines)
    for which, decimals in ((lettered, 3), (~lettered, 7)):
        found = np.flatnonzero(which).tolist()
        for k, text in zip(found, write_strokes([(lines[k].cubics + [left, 0.0], lines[k].closed) for k in found],
                                                decimals=decimals)):
            texts[k] = text
    return texts


def write_pages_svg(pages: Sequence[Page]) -> bytes:
    """An SVG drawing of pages side by side, one unit to the mm, in two layers: draw and cut.

    Parameters
    ----------
    pages : sequence of Page
        Several become pages of the editor's, which it prints and exports one by one.

    Returns
    -------
    bytes
    """
    names.register()
    width, height = _round_up(pages[0].width_mm), _round_up(pages[0].height_mm)
    root = inkex.load_svg(_BLANK % (width, height, width, height)).getroot()
    root.find("{%s}title" % names.SVG).text = pages[0].title
    if len(pages) > 1:
        view = etree.SubElement(root, "{%s}namedview" % names.SODIPODI, {"id": "view", "pagecolor": "#ffffff"})
    layers = {pen: make_layer(root, label=pen, layer=pen) for pen in ("draw", "cut")}
    names.put(root, role="sheet", width_mm=width, height_mm=height)
    left = 0.0
    for number, page in enumerate(pages, 1):
        if len(pages) > 1:
            etree.SubElement(view, "{%s}page" % names.INKSCAPE, {"id": "page-%d" % number, "x": "%.4f" % left,
                                                                 "y": "0", "width": "%.4f" % _round_up(page.width_mm),
                                                                "height": "%.4f" % _round_up(page.height_mm),
                                                                 "{%s}label" % names.INKSCAPE: page.name})
        for line, text in zip(page.lines, _write_lines(page.lines, left)):
            values = dict(line.values, page=page.name) if len(pages) > 1 else dict(line.values)
            etree.SubElement(layers[line.pen], "{%s}path" % names.SVG,
                             {"d": text, "style": style_for(line.style), **names.spell({"role": line.role, **values})})
        left += _round_up(page.width_mm) + PAGE_GAP_MM
    names.tidy(root)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + root.tostring()


def write_sheet_layer(drawing: Drawing, group: Element, sheet: Sheet) -> None:
    """Draw the sheet's own matter (frame, bars, words) round the plank in the drawing, in its Plot sheet layer.

    Where other layers have lettered below the plank, bars and words move down, clear of them.
    """
    layer = drawing.replace_layer(group, layer=PLOT.layer, label=PLOT.label).layer
    # the sheet lies on the page turned as the plank is: its places go back through to_sheet
    out = LayerWriter(layer, compose(sheet.to_sheet, find_total_map(layer, drawing.page)))
    lines = [one for one in sheet.lines if one.role in ("scale-bar", "scale-bar-tick", "corner-cross")]
    texts = [one for one in sheet.texts if one.role == "note"]
    top = min((float(measure_extent(one.cubics)[0][1]) for one in lines), default=0.0) - 8.0
    down = _find_room_below(drawing, layer, sheet, top)
    frame = np.array([[0, 0], [sheet.width_mm, 0], [sheet.width_mm, sheet.height_mm + down],
                      [0, sheet.height_mm + down]], float)
    out.add_polyline(frame, role="sheet", style="sheet", closed=True, width_mm=sheet.width_mm,
                     height_mm=sheet.height_mm)
    for line in lines:
        for run in split_strokes(line.cubics):
            out.add_curve(run + [0.0, down], role=line.role, style=line.style, closed=line.closed, **dict(line.values))
    for text in texts:
        out.add_text(text.text, height_mm=text.height_mm, at_mm=(text.at_mm[0], text.at_mm[1] + down),
                     angle_deg=text.angle_deg, anchor=text.anchor, style=text.style, role=text.role)


def _find_room_below(drawing, layer, sheet, top):
    """How far words that begin at `top` on the sheet must move down so as to clear those that other layers letter
    there, mm.
    """
    lowest = top
    for other in layer.getparent():
        if other is layer or names.get(other, "layer") in ("", "source"):
            continue
        words = [e for e in other if isinstance(e.tag, str) and names.get(e, "text")]
        points, _, owner = read_points(words, drawing.page)
        points, first = apply(sheet.to_sheet, points), np.flatnonzero(np.diff(owner, prepend=-1))
        for low, high in zip(np.minimum.reduceat(points, first), np.maximum.reduceat(points, first)) if len(
                first) else ():
            if lowest < high[1] and low[1] < sheet.height_mm and high[0] > 0 and low[0] < sheet.width_mm:
                lowest = float(high[1])
    return lowest - top + 10.0 if lowest > top else 0.0
