"""Pages to plot as a PDF at true size, written without a library so that the bytes are the same each time. Everything
visible is strokes, words included; under these the words are repeated as text that is not painted (ISO 32000-1:2008,
table 106, mode 3), to be searched and copied.

The unit of a PDF is 1/72 in, and readers stop at 14,400 of them, 5080 mm (PDF Reference, sixth edition, version 1.7,
section 2.1 of its implementation limits, appendix C). From PDF 1.6 a page may count in larger units, its UserUnit (ISO
32000-1:2008, table 30).
"""
from __future__ import annotations

import math
import unicodedata
import zlib
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ...geometry.lettering import CAP, draw_letter
from ...geometry.strokes import find_touching
from ...model.page import LONGEST_PAGE_MM
from ..overlay import read_look
from ..path_text import spell_number, spell_numbers, spell_points
from .sheet import CAP_HEIGHT, WIDTHS, find_words, measure_stroke_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ...model.page import Page

__all__ = ["LONGEST_PDF_MM", "choose_user_unit", "write_pdf"]

LONGEST_PDF_MM = LONGEST_PAGE_MM
_PT_PER_MM = 72 / 25.4


def choose_user_unit(width_mm: float, height_mm: float) -> int:
    """The least whole UserUnit with which readers accept a page: 1 up to 5080 mm, 2 up to 10160 mm."""
    return max(1, math.ceil(max(width_mm, height_mm) / LONGEST_PDF_MM - 1e-9))


_WORDS = (b"", b" ", b" m\n", b" l\n", b" c\n", b" l\nh\n", b" c\nh\n")


def _write_strokes(lines):
    """Path operators for lines, in mm: a text for each line."""
    if not lines:
        return []
    counts = np.array([len(line.cubics) for line in lines])
    cubics = np.concatenate([line.cubics for line in lines])
    own = np.cumsum(counts) - counts
    begins = ~find_touching(cubics)
    begins[own] = True
    points, kinds = spell_points(cubics, begins)
    starts = np.flatnonzero(kinds == 0)
    firsts = starts[np.searchsorted(np.flatnonzero(begins), own)]
    # which operator stands after each point, and so before the next; the last one of a closed chain also closes it
    after = np.array((2, 3, 1, 1, 4))[kinds]
    ends = np.append(starts[1:], len(points)) - 1
    shut = np.repeat([line.closed for line in lines], counts)[begins]
    after[ends[shut]] += 2
    heads = np.ones(2 * len(points), int)
    heads[2::2] = after[:-1]
    heads[2 * firsts] = 0
    text, stops = spell_numbers(points.ravel(), decimals=4, heads=heads, words=_WORDS)
    last = np.append(firsts[1:], len(points)) - 1
    stops = stops[2 * last + 1].tolist()
    return [text[a:b] + _WORDS[word].decode("ascii") for a, b, word in zip([0, *stops[:-1]], stops, after[last])]


def _write_content(page, unit):
    scale = _PT_PER_MM / unit
    out = ["%s 0 0 %s 0 %s cm" % (spell_number(scale, 10), spell_number(-scale, 10),
                                  spell_number(page.height_mm * scale, 6)), "1 J 1 j"]
    for pen in ("draw", "cut"):
        out.append("/OC /%s BDC" % pen)
        former, told = None, []
        lines = [one for one in page.lines if one.pen == pen and read_look(one.style)]
        words = [find_words(line) for line in lines]
        strokes = iter(_write_strokes([line for line, found in zip(lines, words) if found is None]))
        for line, found in zip(lines, words):
            look = read_look(line.style)
            if line.style != former and look is not None:
                (red, green, blue), width, dashes = look
                former = line.style
                out += ["%s %s %s RG" % tuple(spell_number(v, 4) for v in (red, green, blue)),
                        "%s w" % spell_number(width, 4), "[%s] 0 d" % " ".join(spell_number(v, 4) for v in dashes)]
            if found is None:
                out.append(next(strokes) + "S")
            elif look is not None:
                out += _letter(found, measure_stroke_mm(found, look[1]))
                told.append(_tell(found))
        out += ["BT 3 Tr", *told, "ET"] if told else []
        out.append("EMC")
    return "\n".join(out).encode("cp1252")


def _letter(found, width_mm):
    """Words as strokes, each letter in its own axes, so that the same letter has the same bytes everywhere."""
    out = ["q %s cm %s w" % (" ".join(spell_number(v, 7) for v in found.matrix.T.ravel()),
                             spell_number(width_mm / found.scale, 4))]
    pen = 0
    for character, at in zip(found.spelt, found.starts):
        if character == " ":
            continue
        step, pen = round(at * 1e4) - pen, round(at * 1e4)
        out.append(("1 0 0 1 %s 0 cm\n" % spell_number(step / 1e4, 4) if step else "") + _form_letter(character))
    return [*out, "Q"]


@lru_cache(maxsize=None)
def _form_letter(character):
    return "\n".join("%s S" % " ".join("%s %s %s" % (spell_number(x, 4), spell_number(y, 4), "l" if k else "m")
                                        for k, (x, y) in enumerate(stroke)) for stroke in draw_letter(character))


def _tell(found):
    """The same words as invisible text, as tall and as long as the strokes, for searching and copying."""
    size = CAP * 1000.0 / CAP_HEIGHT
    text = "".join(map(_spell_cp1252, found.spelt))
    # a letter is as wide with its accent as without
    wide = sum(WIDTHS.get(c, WIDTHS.get(unicodedata.normalize("NFD", c)[0], 556)) for c in text) * size / 1000.0
    quoted = text.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
    return "/F %s Tf %s Tz %s Tm (%s) Tj" % (spell_number(size, 3), spell_number(100.0 * found.length / wide, 2),
                                            " ".join(spell_number(v, 6) for v in found.matrix.T.ravel()), quoted)


@lru_cache(maxsize=None)
def _spell_cp1252(character):
    """A letter as the standard fonts of PDF have it: without its accent where they have none with it."""
    plain = unicodedata.normalize("NFD", character)[0]
    for one in ({"\u1e9e": "\u00df", "\u0141": "L", "\u0110": "D"}.get(character, character), plain):
        try:
            return one.encode("cp1252").decode("cp1252")
        except UnicodeEncodeError:
            continue
    return "?"


def _quote(text):
    """A text string of PDF: UTF-16 with its mark, in hex."""
    return "<FEFF%s>" % text.encode("utf-16-be").hex().upper()


def write_pdf(pages: Sequence[Page], *, title: str) -> bytes:
    """A PDF of pages, each at true size, with what is drawn and what is cut in layers of their own.

    Parameters
    ----------
    pages : sequence of Page
    title : str

    Returns
    -------
    bytes
    """
    objects: list = [("<< /Type /Catalog /Pages 2 0 R /OCProperties << /OCGs [4 0 R 5 0 R] "
                      "/D << /Order [4 0 R 5 0 R] >> >> /ViewerPreferences << /PrintScaling /None >> >>"), "",
                     "<< /Title %s >>" % _quote(title), "<< /Type /OCG /Name (draw) >>", "<< /Type /OCG /Name (cut) >>",
                     "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>"]
    kids = []
    for page in pages:
        unit = choose_user_unit(page.width_mm, page.height_mm)
        width, height = (spell_number(v * _PT_PER_MM / unit, 6) for v in (page.width_mm, page.height_mm))
        kids.append("%d 0 R" % (len(objects) + 1))
        objects.append("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %s %s]%s /Resources << /Properties << /draw 4 0 "
                       "R /cut 5 0 R >> /Font << /F 6 0 R >> >> /Contents %d 0 R >>"
                       % (width, height, " /UserUnit %d" % unit if unit > 1 else "", len(objects) + 2))
        content = zlib.compress(_write_content(page, unit), 9)
        objects.append(b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(content), content))
    objects[1] = "<< /Type /Pages /Kids [%s] /Count %d >>" % (" ".join(kids), len(kids))
    data, places = bytearray(b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n"), []
    for number, body in enumerate(objects, 1):
        places.append(len(data))
        data += b"%d 0 obj\n%s\nendobj\n" % (number, body if isinstance(body, bytes) else body.encode("ascii"))
    start = len(data)
    data += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    data += b"".join(b"%010d 00000 n \n" % place for place in places)
    data += b"trailer\n<< /Size %d /Root 1 0 R /Info 3 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, start)
    return bytes(data)
