"""What a PDF draws, from its content stream: strokes in mm, page origin top left, y down."""
from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import pypdf
from pypdf.generic import ContentStream

__all__ = ["PdfPage", "list_pdf_words", "measure_bar_mm", "read_pdf", "read_pdf_pages"]

MM_PER_PT = 25.4 / 72          # PDF Reference 1.6, section 4.2.1: the unit is 1/72 in


@dataclass(frozen=True, eq=False)
class PdfPage:
    """Page size in mm, and its painted paths in order: each a list of (control points (n, 2) mm, closed)."""

    width_mm: float
    height_mm: float
    paths: tuple


def read_pdf(data):
    """The only page of a PDF given as bytes, which counts in 1/72 in."""
    assert "/UserUnit" not in pypdf.PdfReader(io.BytesIO(data)).pages[0]
    page, = read_pdf_pages(data)
    return page


def read_pdf_pages(data):
    """All pages of a PDF given as bytes, in order."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    return [_read_page(page, reader) for page in reader.pages]


def _read_page(page, reader):
    assert page.rotation == 0
    # ISO 32000-1:2008, table 30: the size of the page's units, in 1/72 in
    per_unit = MM_PER_PT * float(page.get("/UserUnit", 1))
    left, low, right, high = (float(v) for v in page.mediabox)
    stack, now, paths, path, seen = [], np.eye(3), [], [], True

    def place(*pairs):
        points = np.array(pairs, float).reshape(-1, 2)
        return points @ now[:2, :2].T + now[:2, 2]
    for given, operator in ContentStream(page.get_contents(), reader).operations:
        name, given = operator.decode(), [float(v) for v in given] if operator in (b"cm", b"m", b"l", b"c") else given
        if name == "q":
            stack.append(now)
        elif name == "Q":
            now = stack.pop()
        elif name == "cm":
            a, b, c, d, e, f = given
            now = now @ np.array([[a, c, e], [b, d, f], [0, 0, 1]])
        elif name == "m":
            path.append([place(*given), False])
        elif name in ("l", "c"):
            path[-1][0] = np.vstack([path[-1][0], place(*given)])
        elif name == "h":
            path[-1][1] = True
        elif name in ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*"):
            # a lone moveto draws nothing
            paths.append([((p - [left, high]) * [per_unit, -per_unit], closed or name in "sb*") for p, closed in path
                          if len(p) > 1])
            path = []
        elif name == "Tr":
            seen = given[0] != 3                       # table 106: neither filled nor stroked
        elif name == "Tj":
            assert not seen, "words are painted as text"
        elif name in ("v", "y", "re", "Do", "TJ", "W", "W*", "'", '"'):
            raise AssertionError("the page uses '%s', which is not read here" % name)
        elif name == "n":
            path = []
    return PdfPage((right - left) * per_unit, (high - low) * per_unit, tuple(paths))


def list_pdf_words(data):
    """[(words, (x, y) of their beginning)] of each page, mm from its upper left: the text that lies under the strokes.
    """
    reader = pypdf.PdfReader(io.BytesIO(data))
    return [_read_words(page, reader) for page in reader.pages]


def _read_words(page, reader):
    per_unit = MM_PER_PT * float(page.get("/UserUnit", 1))
    left, _, _, high = (float(v) for v in page.mediabox)
    stack, now, at, found = [], np.eye(3), np.eye(3), []
    for given, operator in ContentStream(page.get_contents(), reader).operations:
        name = operator.decode()
        if name == "q":
            stack.append(now)
        elif name == "Q":
            now = stack.pop()
        elif name in ("cm", "Tm"):
            a, b, c, d, e, f = (float(v) for v in given)
            matrix = np.array([[a, c, e], [b, d, f], [0, 0, 1]])
            now, at = (now @ matrix, at) if name == "cm" else (now, matrix)
        elif name == "Tj":
            x, y = (now @ at)[:2, 2]
            found.append((str(given[0]), ((x - left) * per_unit, (high - y) * per_unit)))
    return found


def measure_bar_mm(page, bar):
    """Length in the PDF of the straight stroke that lies nearest to a bar (2, 2) of the SVG."""
    strokes = [points for path in page.paths for points, _ in path if len(points) == 2]
    nearest = min(strokes, key=lambda p: float(np.hypot(*(p - bar).T).max()))
    return float(np.hypot(*(nearest[1] - nearest[0])))
