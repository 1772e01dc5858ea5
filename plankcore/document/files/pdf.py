"""Pages to plot as a PDF at true size, written by ourselves: nothing but strokes, and the same bytes each time.

The unit of a PDF is 1/72 in, and readers stop at 14,400 of them, 5080 mm (PDF Reference, sixth edition, version 1.7,
section 2.1 of its implementation limits, appendix C). From PDF 1.6 a page may count in larger units, its UserUnit (ISO
32000-1:2008, table 30).
"""
from __future__ import annotations

import math

from ...geometry.strokes import find_straight, split_strokes
from ...model.page import LONGEST_PAGE_MM
from ..styles import read_look

__all__ = ["LONGEST_PDF_MM", "choose_user_unit", "write_pdf"]

LONGEST_PDF_MM = LONGEST_PAGE_MM
_PT_PER_MM = 72 / 25.4


def choose_user_unit(width_mm, height_mm):
    """The least whole UserUnit that brings a page within what readers take: 1 up to 5080 mm, 2 up to 10160 mm."""
    return max(1, math.ceil(max(width_mm, height_mm) / LONGEST_PDF_MM - 1e-9))


def _number(value, places=4):
    text = "%.*f" % (places, value)
    text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _write_strokes(line):
    """Path operators for a line, in mm."""
    out = []
    for run in split_strokes(line.cubics):
        out.append("%s %s m" % (_number(run[0, 0, 0]), _number(run[0, 0, 1])))
        for cubic, straight in zip(run, find_straight(run)):
            if straight:
                out.append("%s %s l" % (_number(cubic[3, 0]), _number(cubic[3, 1])))
            else:
                out.append(" ".join(_number(v) for v in cubic[1:].ravel()) + " c")
        if line.closed:
            out.append("h")
    return out


def _write_content(page, unit):
    scale = _PT_PER_MM / unit
    out = ["%s 0 0 %s 0 %s cm" % (_number(scale, 10), _number(-scale, 10), _number(page.height_mm * scale, 6)),
           "1 J 1 j"]
    for pen in ("draw", "cut"):
        out.append("/OC /%s BDC" % pen)
        look = None
        for line in (one for one in page.lines if one.pen == pen and read_look(one.style)):
            if line.style != look:
                (red, green, blue), width, dashes = read_look(line.style)
                look = line.style
                out += ["%s %s %s RG" % tuple(_number(v) for v in (red, green, blue)), "%s w" % _number(width),
                        "[%s] 0 d" % " ".join(_number(v) for v in dashes)]
            out += _write_strokes(line)
            out.append("S")
        out.append("EMC")
    return "\n".join(out).encode("ascii")


def _quote(text):
    """A text string of PDF: UTF-16 with its mark, in hex."""
    return "<FEFF%s>" % text.encode("utf-16-be").hex().upper()


def write_pdf(pages, *, title):
    """A PDF of pages, each at true size, with what is drawn and what is cut in layers of their own.

    Parameters
    ----------
    pages : sequence of Page
    title : str

    Returns
    -------
    bytes
    """
    objects = [("<< /Type /Catalog /Pages 2 0 R /OCProperties << /OCGs [4 0 R 5 0 R] /D << /Order [4 0 R 5 0 R] >> >> "
               "/ViewerPreferences << /PrintScaling /None >> >>"), "",
               "<< /Title %s >>" % _quote(title), "<< /Type /OCG /Name (draw) >>", "<< /Type /OCG /Name (cut) >>"]
    kids = []
    for page in pages:
        unit = choose_user_unit(page.width_mm, page.height_mm)
        width, height = (_number(v * _PT_PER_MM / unit, 6) for v in (page.width_mm, page.height_mm))
        kids.append("%d 0 R" % (len(objects) + 1))
        objects.append("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %s %s]%s /Resources << /Properties << /draw 4 0 "
                       "R /cut 5 0 R >> >> /Contents %d 0 R >>"
                       % (width, height, " /UserUnit %d" % unit if unit > 1 else "", len(objects) + 2))
        content = _write_content(page, unit)
        objects.append(b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content))
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
