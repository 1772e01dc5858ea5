"""Pages to plot as a DXF drawing in mm, for cutters and drawing programs: polylines in layers, words as strokes, y up.

Format of the year 2000 (AC1015) in ASCII, by the published DXF reference: group codes of HEADER, TABLES, BLOCKS,
ENTITIES and OBJECTS.
The coordinates of a DXF carry no unit of their own; $INSUNITS 4 says that they are mm.
"""
from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from ...geometry.strokes import flatten_lines
from ..overlay import read_look

if TYPE_CHECKING:
    from typing import Sequence

    from ...geometry.arrays import Points
    from ...model.page import Page

__all__ = ["CHORD_MM", "write_dxf"]

CHORD_MM = 0.01           # a chord lies no further than this from its curve
_GAP_MM = 20.0            # between pages side by side
_NOUGHTS = re.compile(r"00+$", re.MULTILINE)          # at a figure's end, of which one is kept
_MODEL, _PAPER = "1F", "1B"
# nearest colours of the numbered palette: black as 7, which turns white on black screens
_COLOURS = {(0, 0, 0): 7, (0, 114, 178): 5, (213, 94, 0): 30, (0, 158, 115): 3, (204, 121, 167): 6}
# of the entity in front of its places: handle, layer, how many, and flag 1: closed; 128: dashes run on over the corners
_POLYLINE = "0\nLWPOLYLINE\n5\n%s\n330\n1F\n100\nAcDbEntity\n8\n%s\n100\nAcDbPolyline\n90\n%d\n70\n%d\n43\n0.0"


class _Writer:
    """Group codes and values, line by line, and handles."""

    def __init__(self):
        self.parts, self._next = [], 0x30

    def put(self, *pairs: tuple[int, float | str]) -> None:
        for code, value in pairs:
            self.parts.append("%d\n%s" % (code, value if isinstance(value, str) else _write_value(value)))

    def take_handle(self) -> str:
        self._next += 1
        return "%X" % self._next


    def put_places(self, points: Points) -> None:
        """The corners of a polyline (n, 2), as by `put`, all at once."""
        text = "\n".join(["10\n%.6f\n20\n%.6f"] * len(points)) % tuple(points.ravel().tolist())
        self.parts.append(_NOUGHTS.sub("0", text))


def _write_value(value):
    if isinstance(value, int):
        return "%d" % value
    text = "%.6f" % value
    return text.rstrip("0") + "0" if text.endswith("0") else text


def _name_layer(line):
    return "CUT" if line.pen == "cut" else "DRAW-" + line.style.upper()


def write_dxf(pages: Sequence[Page]) -> bytes:
    """A DXF of pages side by side, from left to right.

    Parameters
    ----------
    pages : sequence of Page

    Returns
    -------
    bytes
        Layers CUT and DRAW- with the kind of line; what is dashed elsewhere has a line type of its own here.
    """
    left, runs, top = 0.0, [], max(page.height_mm for page in pages)
    for page in pages:
        seen = [line for line in page.lines if read_look(line.style)]
        for line, points in _flatten_apart(seen):
            closed = line.closed and len(points) > 2
            if closed and np.abs(points[0] - points[-1]).max() < 1e-6:
                points = points[:-1]
            if len(points) > 1:
                runs.append((_name_layer(line), closed, points * (1.0, -1.0) + (left, top)))
        left += page.width_mm + _GAP_MM
    looks = {_name_layer(line): read_look(line.style) for page in pages for line in page.lines if read_look(line.style)}
    body, head = _Writer(), _Writer()
    _put_tables(body, looks)
    _put_blocks(body)
    _put_entities(body, runs)
    _put_objects(body)
    head.put((0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1015"), (9, "$DWGCODEPAGE"), (3, "ANSI_1252"),
             (9, "$INSUNITS"), (70, 4), (9, "$MEASUREMENT"), (70, 1), (9, "$LTSCALE"), (40, 1.0),
             (9, "$EXTMIN"), (10, 0.0), (20, 0.0), (30, 0.0), (9, "$EXTMAX"), (10, left - _GAP_MM), (20, top),
             (30, 0.0), (9, "$HANDSEED"), (5, body.take_handle()), (0, "ENDSEC"),
             (0, "SECTION"), (2, "CLASSES"), (0, "ENDSEC"))
    return ("\n".join(head.parts + body.parts) + "\n0\nEOF\n").encode("ascii")


def _flatten_apart(lines):
    """Each chain of lines with its line, as a polyline without points that lie on the one before."""
    points, firsts, owner = flatten_lines([line.cubics for line in lines], tolerance_mm=CHORD_MM)
    if not len(points):
        return
    kept = np.concatenate([[True], np.any(np.abs(np.diff(points, axis=0)) > 1e-9, axis=1)])
    kept[firsts] = True
    begins = (np.cumsum(kept) - 1)[firsts].tolist()
    points = points[kept]
    for number, a, b in zip(owner.tolist(), begins, [*begins[1:], len(points)]):
        yield lines[number], points[a:b]


def _open_table(out, name, handle, count):
    out.put((0, "TABLE"), (2, name), (5, handle), (330, "0"), (100, "AcDbSymbolTable"), (70, count))


def _put_record(out, kind, owner, subclass, name, *pairs, handle=None, code=5):
    out.put((0, kind), (code, handle or out.take_handle()), (330, owner), (100, "AcDbSymbolTableRecord"),
            (100, subclass), (2, name), *pairs)


def _put_tables(out, looks):
    out.put((0, "SECTION"), (2, "TABLES"))
    _open_table(out, "VPORT", "8", 0)
    out.put((0, "ENDTAB"))
    dashed = {"PLANK-" + name: look[2] for name, look in looks.items() if look[2]}
    _open_table(out, "LTYPE", "5", 3 + len(dashed))
    for name in ("ByBlock", "ByLayer", "Continuous"):
        _put_record(out, "LTYPE", "5", "AcDbLinetypeTableRecord", name, (70, 0), (3, ""), (72, 65), (73, 0), (40, 0.0))
    for name, dashes in dashed.items():
        pairs = [pair for k, length in enumerate(dashes) for pair in ((49, length if k % 2 == 0 else -length), (74, 0))]
        _put_record(out, "LTYPE", "5", "AcDbLinetypeTableRecord", name, (70, 0), (3, "pen down and up in turn, mm"),
                    (72, 65), (73, len(dashes)), (40, float(sum(dashes))), *pairs)
    out.put((0, "ENDTAB"))
    _open_table(out, "LAYER", "2", 1 + len(looks))
    _put_record(out, "LAYER", "2", "AcDbLayerTableRecord", "0", (70, 0), (62, 7), (6, "Continuous"), (390, "F"))
    for name, (colour, _, dashes) in looks.items():
        number = _COLOURS.get(tuple(round(255 * v) for v in colour), 7)
        _put_record(out, "LAYER", "2", "AcDbLayerTableRecord", name, (70, 0), (62, number),
                    (6, "PLANK-" + name if dashes else "Continuous"), (390, "F"))
    out.put((0, "ENDTAB"))
    _open_table(out, "STYLE", "3", 1)
    _put_record(out, "STYLE", "3", "AcDbTextStyleTableRecord", "Standard", (70, 0), (40, 0.0), (41, 1.0), (50, 0.0),
                (71, 0), (42, 2.5), (3, "txt"), (4, ""))
    out.put((0, "ENDTAB"))
    for name, handle in (("VIEW", "6"), ("UCS", "7")):
        _open_table(out, name, handle, 0)
        out.put((0, "ENDTAB"))
    _open_table(out, "APPID", "9", 1)
    _put_record(out, "APPID", "9", "AcDbRegAppTableRecord", "ACAD", (70, 0))
    out.put((0, "ENDTAB"))
    _open_table(out, "DIMSTYLE", "A", 1)
    out.put((100, "AcDbDimStyleTable"))
    _put_record(out, "DIMSTYLE", "A", "AcDbDimStyleTableRecord", "Standard", (70, 0), code=105)
    out.put((0, "ENDTAB"))
    _open_table(out, "BLOCK_RECORD", "1", 2)
    for name, handle in (("*Model_Space", _MODEL), ("*Paper_Space", _PAPER)):
        _put_record(out, "BLOCK_RECORD", "1", "AcDbBlockTableRecord", name, (340, "0"), handle=handle)
    out.put((0, "ENDTAB"), (0, "ENDSEC"))


def _put_blocks(out):
    out.put((0, "SECTION"), (2, "BLOCKS"))
    for name, record in (("*Model_Space", _MODEL), ("*Paper_Space", _PAPER)):
        out.put((0, "BLOCK"), (5, out.take_handle()), (330, record), (100, "AcDbEntity"), (8, "0"),
                (100, "AcDbBlockBegin"), (2, name), (70, 0), (10, 0.0), (20, 0.0), (30, 0.0),
                (3, name), (1, ""), (0, "ENDBLK"), (5, out.take_handle()), (330, record), (100, "AcDbEntity"),
                (8, "0"), (100, "AcDbBlockEnd"))
    out.put((0, "ENDSEC"))


def _put_entities(out, runs):
    out.put((0, "SECTION"), (2, "ENTITIES"))
    for layer, closed, points in runs:
        out.parts.append(_POLYLINE % (out.take_handle(), layer, len(points), 128 + int(closed)))
        out.put_places(points)
    out.put((0, "ENDSEC"))


def _put_objects(out):
    """The dictionaries without which the file is not whole; F is the plot style that layers point to."""
    out.put((0, "SECTION"), (2, "OBJECTS"),
            (0, "DICTIONARY"), (5, "C"), (330, "0"), (100, "AcDbDictionary"), (281, 1), (3, "ACAD_GROUP"), (350, "D"),
            (3, "ACAD_PLOTSTYLENAME"), (350, "E"),
            (0, "DICTIONARY"), (5, "D"), (330, "C"), (100, "AcDbDictionary"), (281, 1),
            (0, "ACDBDICTIONARYWDFLT"), (5, "E"), (330, "C"), (100, "AcDbDictionary"), (281, 1), (3, "Normal"),
            (350, "F"), (100, "AcDbDictionaryWithDefault"), (340, "F"),
            (0, "ACDBPLACEHOLDER"), (5, "F"), (330, "E"), (0, "ENDSEC"))
