"""Pages to plot as a DXF drawing in mm, for cutters and drawing programs: polylines and circles in a layer for each
meaning, words as strokes, y up.

Format of the year 2000 (AC1015) in ASCII, by the published DXF reference: group codes of HEADER, TABLES, BLOCKS,
ENTITIES and OBJECTS.
The coordinates of a DXF carry no unit of their own; $INSUNITS 4 says that they are mm.
"""
from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from ...actions import FASTENINGS
from ...geometry.bezier import draw_circle
from ...geometry.lettering import draw_letter, lay_letters
from ...geometry.strokes import flatten_lines
from ..overlay import read_look
from .sheet import find_words

if TYPE_CHECKING:
    from typing import Sequence

    from ...geometry.arrays import Points
    from ...model.page import Page

__all__ = ["CHORD_MM", "write_dxf"]

CHORD_MM = 0.01           # curves are flattened to chords within this
_GAP_MM = 20.0            # between pages side by side
_NOUGHTS = re.compile(r"00+$", re.MULTILINE)          # trailing zeros of a number, of which one is kept
_MODEL, _PAPER = "1F", "1B"
# nearest colours of the format's numbered palette; 7 is black on white and white on black
_COLOURS = {(0, 0, 0): 7, (0, 114, 178): 5, (179, 71, 0): 30, (0, 80, 40): 3, (140, 47, 107): 6}
# start of a polyline before its points: handle, layer, look, number of points, flags (1: closed; 128: dashes run on
# over corners)
_POLYLINE = "0\nLWPOLYLINE\n5\n%s\n330\n1F\n100\nAcDbEntity\n8\n%s\n%s\n100\nAcDbPolyline\n90\n%d\n70\n%d\n43\n0.0"
_INSERT = "0\nINSERT\n5\n%s\n100\nAcDbEntity\n8\nWORDS\n%s\n100\nAcDbBlockReference\n2\n%s\n10\n%s\n20\n%s\n%s"
_SAME_MM = 1e-6           # a line that lies within this of a circle is written as one
# layer by the role of a line; all other roles are notes
_MEANINGS = {role: layer for layer, roles in (
    ("NET", ("outline", "edge", "drawn-face", "other-face", "stock-face", "part")), ("FRAMES", ("station",)),
    ("BASELINE", ("wood-baseline", "wood-baseline-tick")),
    (FASTENINGS.capitals, ("fastening", "through-bolt", "frame-side", "bare")),
    ("SECTIONS", ("section", "bevel", "section-line")),
    ("JOINTS", ("joint", "feather", "slope", "block", "register", "datum", "neighbour")),
    ("BARS", ("scale-bar", "scale-bar-tick", "corner-cross", "page-end")),
    ("TILES", ("join-mark", "tile-edge", "glue-edge", "lap", "key-plan", "baseline", "baseline-tick")),
    ("SHEET", ("sheet",)))
    for role in roles}


class _Writer:
    """Collects group codes and values, line by line, and hands out handles, counted on from another writer's."""

    def __init__(self, before: _Writer | None = None):
        self.parts: list[str] = []
        self._next: int = before._next if before else 0x30

    def put(self, *pairs: tuple[int, float | str]) -> None:
        for code, value in pairs:
            self.parts.append("%d\n%s" % (code, value if isinstance(value, str) else _write_value(value)))

    def take_handle(self) -> str:
        self._next += 1
        return "%X" % self._next

    def put_places(self, points: Points) -> None:
        """The corners of a polyline (n, 2), as by `put`, all at once."""
        text = "\n".join(["10\n%.4f\n20\n%.4f"] * len(points)) % tuple(points.ravel().tolist())
        self.parts.append(_NOUGHTS.sub("0", text))


def _write_value(value):
    if isinstance(value, int):
        return "%d" % value
    text = "%.6f" % value
    return text.rstrip("0") + "0" if text.endswith("0") else text


def _name_layer(line):
    """The layer for a line, by its role: NOTES where the role has no layer."""
    if line.pen == "cut":
        return "CUT"
    if "text" in dict(line.values):
        return "WORDS"
    return _MEANINGS.get(line.role, "NOTES")


def write_dxf(pages: Sequence[Page]) -> bytes:
    """A DXF of pages side by side, from left to right.

    Parameters
    ----------
    pages : sequence of Page

    Returns
    -------
    bytes
        A layer for each meaning: CUT, NET, FRAMES, FASTENINGS, WORDS and so on. Colour and line type are each entity's
        own, since one layer has lines of several looks. Circles are CIRCLE, all other lines LWPOLYLINE, and each letter
        is a block, put in as often as it is drawn.
    """
    left, top, out = 0.0, max(page.height_mm for page in pages), _Writer()
    looks, forms = {}, _Forms(pages)
    for page in pages:
        seen = [line for line in page.lines if read_look(line.style)]
        looks.update((line.style, read_look(line.style)) for line in seen)
        _put_page(out, seen, left=left, top=top, forms=forms)
        left += page.width_mm + _GAP_MM
    entities = out.parts
    names = sorted({_name_layer(line) for page in pages for line in page.lines if read_look(line.style)})
    body, head = _Writer(out), _Writer()
    records = {name: body.take_handle() for name in (*sorted(forms.letters.values()), *forms.repeated.values())}
    _put_tables(body, names, looks=looks, records=records)
    _put_blocks(body, forms, records)
    body.parts += ["0\nSECTION\n2\nENTITIES", *entities, "0\nENDSEC"]
    _put_objects(body)
    head.put((0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1015"), (9, "$DWGCODEPAGE"), (3, "ANSI_1252"),
             (9, "$INSUNITS"), (70, 4), (9, "$MEASUREMENT"), (70, 1), (9, "$LTSCALE"), (40, 1.0),
             (9, "$EXTMIN"), (10, 0.0), (20, 0.0), (30, 0.0), (9, "$EXTMAX"), (10, left - _GAP_MM), (20, top),
             (30, 0.0), (9, "$HANDSEED"), (5, body.take_handle()), (0, "ENDSEC"),
             (0, "SECTION"), (2, "CLASSES"), (0, "ENDSEC"))
    return ("\n".join(head.parts + body.parts) + "\n0\nEOF\n").encode("ascii")


class _Forms:
    """Blocks of letters, {character: name}, filled as they are used, and of words that come more than once."""

    def __init__(self, pages: Sequence[Page]):
        self.letters: dict[str, str] = {}
        spelt = [found.spelt for page in pages for line in page.lines for found in (find_words(line),) if found]
        counts = Counter(word for one in spelt for word in one.split(" ") if len(word) > 1)
        self.repeated = {word: "W%d" % number
                         for number, word in enumerate(sorted(word for word in counts if counts[word] > 1), 1)}
        for character in sorted({character for word in self.repeated for character in word}):
            self.name_letter(character)

    def name_letter(self, character: str) -> str:
        return self.letters.setdefault(character, "L%X" % ord(character))

    def list_blocks(self, spelt: str, starts: Sequence[float]) -> list[tuple[str, float]]:
        """The blocks that words are put together of, and where each begins."""
        found, at = [], 0
        for word in spelt.split(" "):
            if word in self.repeated:
                found.append((self.repeated[word], starts[at]))
            else:
                found += [(self.name_letter(character), starts[at + k]) for k, character in enumerate(word)]
            at += len(word) + 1
        return found


def _put_page(out, lines, left, top, forms):
    """Entities of a page's lines."""
    to_drawing = np.array([[1.0, 0.0, left], [0.0, -1.0, top]])
    runs = []
    for line in lines:
        words, circle = find_words(line), _find_circle(line)
        placed = words and _place_letters(words, to_drawing)
        if placed:
            _put_words(out, line, words, placed=placed, forms=forms)
        elif circle:
            (x, y), radius = circle
            out.put((0, "CIRCLE"), (5, out.take_handle()), (330, _MODEL), (100, "AcDbEntity"), (8, _name_layer(line)),
                    *_list_look(line.style), (100, "AcDbCircle"), (10, x + left), (20, top - y), (30, 0.0),
                    (40, radius))
        else:
            runs.append(line)
    for line, points in _flatten_apart(runs):
        closed = line.closed and len(points) > 2
        if closed and np.abs(points[0] - points[-1]).max() < 1e-6:
            points = points[:-1]
        if len(points) > 1:
            look = "\n".join("%d\n%s" % pair for pair in _list_look(line.style))
            out.parts.append(_POLYLINE % (out.take_handle(), _name_layer(line), look, len(points), 128 + int(closed)))
            out.put_places(points * (1.0, -1.0) + (left, top))


def _list_look(style):
    """Colour and line type of an entity."""
    stroke = read_look(style)
    if stroke is None:
        return (6, "Continuous"), (62, 7)
    red, green, blue = (round(255 * v) for v in stroke[0])
    return (6, _name_type(style) if stroke[2] else "Continuous"), (62, _COLOURS.get((red, green, blue), 7))


def _name_type(style):
    return "PLANK-" + style.upper()


def _find_circle(line):
    """Centre and radius of a line that is a circle of four cubics, or None."""
    if not line.closed or len(line.cubics) != 4:
        return None
    ends = np.asarray(line.cubics)[:, 0]
    centre = ends.mean(axis=0)
    radius = float(np.hypot(*(ends[0] - centre)))
    told = draw_circle(centre, radius, way=(ends[0] - centre) / max(radius, 1e-9))
    for some in (told, draw_circle(centre, radius, way=told[0, 0] - centre)[::-1, ::-1]):
        turned = [some, np.roll(some, -1, axis=0), np.roll(some, -2, axis=0), np.roll(some, -3, axis=0)]
        if radius > 1e-3 and any(np.abs(one - line.cubics).max() < _SAME_MM for one in turned):
            return centre.tolist(), radius
    return None


def _place_letters(words, to_drawing):
    """Scales along and across, angle in degrees and first place of words that are not skewed; None where they are."""
    m = to_drawing[:, :2] @ words.matrix[:, :2]
    along = float(np.hypot(*m[:, 0]))
    across = float(m[0, 0] * m[1, 1] - m[0, 1] * m[1, 0]) / along
    if abs(float(m[:, 0] @ m[:, 1])) > 1e-6 * along * abs(across):
        return None
    return along, across, float(np.degrees(np.arctan2(m[1, 0], m[0, 0]))), to_drawing[:, :2] @ words.matrix[
        :, 2] + to_drawing[:, 2], m[:, 0]


def _put_words(out, line, words, placed, forms):
    along, across, turn, first, step = placed
    tail = "41\n%s\n42\n%s" % (_write_value(round(along, 5)), _write_value(round(across, 5)))
    tail += "\n50\n%s" % _write_value(round(turn, 5)) if abs(turn) > 5e-6 else ""
    look = "\n".join("%d\n%s" % pair for pair in _list_look(line.style) if pair != (6, "Continuous"))
    for name, at in forms.list_blocks(words.spelt, words.starts):
        x, y = (first + at * step).tolist()
        out.parts.append(_INSERT % (out.take_handle(), look, name, _trim(x), _trim(y), tail))


def _trim(value):
    """A place with the digits that a letter needs."""
    return _write_value(round(value, 3))


def _flatten_apart(lines):
    """(chain, its line) for all chains of lines, each a polyline without repeated points."""
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


def _put_tables(out, names, looks, records):
    out.put((0, "SECTION"), (2, "TABLES"))
    _open_table(out, "VPORT", "8", 0)
    out.put((0, "ENDTAB"))
    dashed = {_name_type(style): look[2] for style, look in looks.items() if look[2]}
    _open_table(out, "LTYPE", "5", 3 + len(dashed))
    for name in ("ByBlock", "ByLayer", "Continuous"):
        _put_record(out, "LTYPE", "5", "AcDbLinetypeTableRecord", name, (70, 0), (3, ""), (72, 65), (73, 0), (40, 0.0))
    for name, dashes in dashed.items():
        pairs = [pair for k, length in enumerate(dashes) for pair in ((49, length if k % 2 == 0 else -length), (74, 0))]
        _put_record(out, "LTYPE", "5", "AcDbLinetypeTableRecord", name, (70, 0), (3, "pen down and up in turn, mm"),
                    (72, 65), (73, len(dashes)), (40, float(sum(dashes))), *pairs)
    out.put((0, "ENDTAB"))
    _open_table(out, "LAYER", "2", 1 + len(names))
    for name in ("0", *names):
        _put_record(out, "LAYER", "2", "AcDbLayerTableRecord", name, (70, 0), (62, 30 if name == "CUT" else 7),
                    (6, "Continuous"), (390, "F"))
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
    _open_table(out, "BLOCK_RECORD", "1", 2 + len(records))
    for name, handle in (("*Model_Space", _MODEL), ("*Paper_Space", _PAPER), *records.items()):
        _put_record(out, "BLOCK_RECORD", "1", "AcDbBlockTableRecord", name, (340, "0"), handle=handle)
    out.put((0, "ENDTAB"), (0, "ENDSEC"))


def _put_blocks(out, forms, records):
    """The two spaces, empty; a block for each letter, its strokes in grid units, in the look of what it is put in; and
    one for each word that comes more than once, of its letters.
    """
    letters = {name: draw_letter(character) for character, name in forms.letters.items()}
    words = {name: word for word, name in forms.repeated.items()}
    out.put((0, "SECTION"), (2, "BLOCKS"))
    for name, record in (("*Model_Space", _MODEL), ("*Paper_Space", _PAPER), *records.items()):
        out.put((0, "BLOCK"), (5, out.take_handle()), (330, record), (100, "AcDbEntity"), (8, "0"),
                (100, "AcDbBlockBegin"), (2, name), (70, 0), (10, 0.0), (20, 0.0), (30, 0.0),
                (3, name), (1, ""))
        for points in letters.get(name, ()):
            out.parts.append((_POLYLINE % (out.take_handle(), "0", "62\n0", len(points), 128)).replace(
                "330\n" + _MODEL, "330\n" + record))
            out.put_places(points)
        for character, at in zip(*lay_letters(words[name])[:2]) if name in words else ():
            out.put((0, "INSERT"), (5, out.take_handle()), (330, record), (100, "AcDbEntity"), (8, "0"), (62, 0),
                    (100, "AcDbBlockReference"), (2, forms.letters[character]), (10, at), (20, 0.0))
        out.put((0, "ENDBLK"), (5, out.take_handle()), (330, record), (100, "AcDbEntity"),
                (8, "0"), (100, "AcDbBlockEnd"))
    out.put((0, "ENDSEC"))


def _put_objects(out):
    """The dictionaries that a complete file needs; F is the plot style that layers point to."""
    out.put((0, "SECTION"), (2, "OBJECTS"),
            (0, "DICTIONARY"), (5, "C"), (330, "0"), (100, "AcDbDictionary"), (281, 1), (3, "ACAD_GROUP"), (350, "D"),
            (3, "ACAD_PLOTSTYLENAME"), (350, "E"),
            (0, "DICTIONARY"), (5, "D"), (330, "C"), (100, "AcDbDictionary"), (281, 1),
            (0, "ACDBDICTIONARYWDFLT"), (5, "E"), (330, "C"), (100, "AcDbDictionary"), (281, 1), (3, "Normal"),
            (350, "F"), (100, "AcDbDictionaryWithDefault"), (340, "F"),
            (0, "ACDBPLACEHOLDER"), (5, "F"), (330, "E"), (0, "ENDSEC"))
