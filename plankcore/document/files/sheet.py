"""Pages to plot as an SVG drawing that the editor opens, and the sheet's own matter as a layer in the drawing of the
plank; and words among a page's lines, known again as letters, so that a file holds each form of letter once.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ...actions import PLOT
from ...geometry.lettering import CAP, draw_letter
from ...geometry.pen_letters import find_lettering
from ...geometry.strokes import measure_extent, split_strokes
from .. import names
from ..overlay import read_look, style_for
from ..path_text import spell_number, write_polylines, write_strokes
from ..places import read_points
from ..read import find_total_map
from ..transforms import apply, compose
from ..write import LayerWriter, make_layer

if TYPE_CHECKING:
    from typing import Sequence

    from ...geometry.pen_letters import Lettered
    from ...model.drawing import Sheet, SheetLine
    from ...model.page import Page
    from ..drawing import Drawing
    from ..names import Element

__all__ = [
    "CAP_HEIGHT",
    "PAGE_GAP_MM",
    "WIDTHS",
    "find_words",
    "measure_stroke_mm",
    "write_pages_svg",
    "write_sheet_layer",
]

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


PAGE_GAP_MM = 20.0        # gap between pages side by side in one drawing

_HREF = "{http://www.w3.org/1999/xlink}href"       # version 1.2 of the editor reads no other attribute for links

_BLANK = ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="%s" xmlns:sodipodi="%s" '
          'xmlns:xlink="http://www.w3.org/1999/xlink" width="%%.4fmm" '
          'height="%%.4fmm" '
          'viewBox="0 0 %%.4f %%.4f"><title></title></svg>' % (names.INKSCAPE, names.SODIPODI))


def _round_up(value):
    """A page's size rounded up to the decimals that are written."""
    return float(np.ceil(np.round(value, 6) * 100) / 100)


def _write_lines(lines, left):
    """Path text of each line, moved along by `left` mm; words that were cut off, which are all straight, with as many
    decimals as they need.
    """
    lettered = np.array([any(key == "text" for key, _ in line.values) for line in lines], bool)
    texts = [""] * len(lines)
    for which, decimals in ((lettered, 3), (~lettered, 7)):
        found = np.flatnonzero(which).tolist()
        for k, text in zip(found, write_strokes([(lines[k].cubics + [left, 0.0], lines[k].closed) for k in found],
                                                decimals=decimals)):
            texts[k] = text
    return texts


class _PageWriter:
    """Writes lines into the layers of a page: those that follow each other in one look into one group, and words as
    uses of their letters, each of which the file holds once.
    """

    def __init__(self, root: Element):
        self.layers = {pen: make_layer(root, label=pen, layer=pen) for pen in ("draw", "cut")}
        self._groups: dict[str, Element] = {}
        self._looks: dict[str, str] = {}
        self._letters: dict[str, str] = {}
        self._root = root

    def put(self, lines: Sequence[SheetLine], left: float, **more: str) -> None:
        words = [find_words(line) for line in lines]
        plain = [line for line, found in zip(lines, words) if found is None]
        texts = iter(_write_lines(plain, left))
        for line, found in zip(lines, words):
            values = names.spell({"role": line.role, **dict(line.values, **more)})
            group = self._find_group(line)
            if found is None:
                etree.SubElement(group, "{%s}path" % names.SVG, {"d": next(texts), **values})
            else:
                self._put_words(group, line.style, found=found, left=left, values=values)

    def _find_group(self, line):
        if self._looks.get(line.pen) != line.style:
            self._looks[line.pen] = line.style
            self._groups[line.pen] = etree.SubElement(self.layers[line.pen], "{%s}g" % names.SVG,
                                                      {"style": style_for(line.style)})
        return self._groups[line.pen]

    def _put_words(self, group, look, found, left, values):
        m = found.matrix
        numbers = [spell_number(v, 6) for v in m[:, :2].T.ravel()] + [spell_number(m[0, 2] + left, 4),
                                                                      spell_number(m[1, 2], 4)]
        decimals = 2 if found.scale < 1.0 else 3           # decimals of a grid unit: rounds by 0.005 mm at most
        stroke = read_look(look)            # lettering has a stroke, whatever its look
        width = (0.0 if stroke is None else measure_stroke_mm(found, stroke[1])) / found.scale
        # 1e-6: a width midway between two printed ones is rounded up on every machine
        words = etree.SubElement(group, "{%s}g" % names.SVG,
                                 {"transform": "matrix(%s)" % " ".join(numbers),
                                  "stroke-width": spell_number(width + 1e-6, 3), **values})
        for character, at in zip(found.spelt, found.starts):
            if character != " ":
                place = {"x": spell_number(at, decimals)} if at else {}
                etree.SubElement(words, "{%s}use" % names.SVG, {_HREF: "#" + self._name_letter(character), **place})

    def _name_letter(self, character):
        if character not in self._letters:
            self._letters[character] = "c%x" % ord(character)
        return self._letters[character]

    def put_letters(self) -> None:
        """The forms of all letters that were used, in grid units, y up."""
        if not self._letters:
            return
        defs = etree.Element("{%s}defs" % names.SVG)
        self._root.insert(1, defs)
        for character, key in sorted(self._letters.items()):
            strokes = draw_letter(character)
            begins = np.cumsum([0] + [len(stroke) for stroke in strokes[:-1]])
            etree.SubElement(defs, "{%s}path" % names.SVG,
                             {"id": key, "d": write_polylines(np.concatenate(strokes), begins, decimals=4)})


def write_pages_svg(pages: Sequence[Page]) -> bytes:
    """An SVG drawing of pages side by side, one unit to the mm, in two layers: draw and cut.

    Parameters
    ----------
    pages : sequence of Page
        Several become separate pages in the editor, which it prints and exports one by one.

    Returns
    -------
    bytes
    """
    names.register()
    width, height = _round_up(pages[0].width_mm), _round_up(pages[0].height_mm)
    # plain elements: those of the editor's library take longer, and nothing here asks for what they can do
    root = etree.fromstring(_BLANK % (width, height, width, height))
    root.find("{%s}title" % names.SVG).text = pages[0].title
    if len(pages) > 1:
        view = etree.SubElement(root, "{%s}namedview" % names.SODIPODI, {"id": "view", "pagecolor": "#ffffff"})
    writer = _PageWriter(root)
    names.put(root, role="sheet", width_mm=width, height_mm=height)
    left = 0.0
    for number, page in enumerate(pages, 1):
        if len(pages) > 1:
            etree.SubElement(view, "{%s}page" % names.INKSCAPE, {"id": "page-%d" % number, "x": "%.4f" % left,
                                                                 "y": "0", "width": "%.4f" % _round_up(page.width_mm),
                                                                "height": "%.4f" % _round_up(page.height_mm),
                                                                 "{%s}label" % names.INKSCAPE: page.name})
        writer.put(page.lines, left, **({"page": page.name} if len(pages) > 1 else {}))
        left += _round_up(page.width_mm) + PAGE_GAP_MM
    writer.put_letters()
    names.tidy(root)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + etree.tostring(root)


def write_sheet_layer(drawing: Drawing, group: Element, sheet: Sheet) -> None:
    """Draw the sheet's own matter (frame, bars, words) round the plank in the drawing, in its Plot sheet layer.

    Where other layers have lettered below the plank, bars and words move down, clear of them.
    """
    layer = drawing.replace_layer(group, layer=PLOT.layer, label=PLOT.label).layer
    # on the drawing the sheet is turned as the plank is: places on the sheet go back through the inverse of to_sheet
    out = LayerWriter(layer, compose(sheet.to_sheet, find_total_map(layer, drawing.page)))
    lines = [one for one in sheet.lines if one.role in ("scale-bar", "scale-bar-tick", "corner-cross")]
    texts = [one for one in sheet.texts if one.role == "note"]
    top = min((float(measure_extent(one.cubics)[0][1]) for one in lines), default=0.0) - 8.0
    down = _find_room_below(drawing, layer, sheet, top)
    frame = np.array([[0, 0], [sheet.width_mm, 0], [sheet.width_mm, sheet.height_mm + down],
                      [0, sheet.height_mm + down]], float)
    out.add_polyline(frame, role="sheet", style="sheet", closed=True, width_mm=sheet.width_mm,
                     height_mm=sheet.height_mm)
    out.add_lines([replace(line, cubics=run + [0.0, down]) for line in lines for run in split_strokes(line.cubics)])
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
