"""The foot of a sheet: three boxes of at most ten lines of eighty characters, PROVE, SAW and DOUBT, and below them the
lines that every sheet has. Everything else is in the record."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..actions import RECORD
from ..geometry.lettering import text_width_mm
from ..model.drawing import SheetText
from ..model.page import SheetBlock
from ..model.saw import find_saw_range, measure_saw_line
from ..paper.blocks import join_blocks, make_stroke, measure_block, move_block, wrap_words
from ..trade.media import find_paper_movement_mm
from ..units import format_inches, format_mm, format_outside_mm
from .doubts import list_doubts
from .strip import NAME_MM
from .title import COUNTED

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import PlankMatter
    from .sheet import SheetSettings

__all__ = ["LONGEST", "MOST_LINES", "BoxLine", "lay_box", "lay_boxes", "lay_foot", "list_boxes", "list_prove",
           "list_saw", "measure_bottom", "trim_lines"]

LONGEST, MOST_LINES = 80, 10
_SIZES = (7.0, 5.0)
_HEAD, _PITCH, _CLOSE, _PAD_MM, _BLANK_MM, _APART_MM = 14.0, 1.75, 1.5, 5.0, 34.0, 14.0


@dataclass(frozen=True)
class BoxLine:
    """One line of a box; blank : whether it ends with a blank for a measured figure."""

    text: str
    blank: bool = False


def _find_fact(matter, key):
    return next((fact for one in matter.told for fact in one.facts if fact.key == key and fact.number is not None),
                None)


def list_prove(matter: PlankMatter, bars: Sequence[tuple[str, float]]) -> list[BoxLine]:
    """What to measure, on the plot before cutting and on the plank when it is hung, with blanks for the measured
    figures.

    bars : (along or across, length in mm) of the sheet's bars.
    """
    plank = matter.plank
    corner = plank.find_corners()

    def measure(a, b):
        return _tell_mm(float(np.hypot(*(corner[a] - corner[b]))))
    length, width = plank.measure_length_mm(), plank.measure_width_mm()
    rows = [BoxLine("LENGTH ON THE BOARD %s (%s)" % (_tell_mm(length), format_inches(length).upper()), True)]
    added, leaning = _find_fact(matter, "length-in-bending"), _find_fact(matter, "lean-of-ends")
    if added is not None:
        rows.append(BoxLine("HUNG: THE PATTERN LAY %s %s THAN THIS%s" % (
            _tell_mm(abs(added.number)), "SHORTER" if added.number >= 0 else "LONGER",
            "; OUTSIDE %s %s" % (_tell_mm(abs(leaning.number)), "LONGER" if leaning.number > 0 else "SHORTER")
            if leaning is not None else ""), True))
    rows += [BoxLine("GREATEST WIDTH %s (%s)" % (_tell_mm(width), format_inches(width).upper()), True),
             BoxLine("FORE END %s" % measure("upper fore", "lower fore"), True),
             BoxLine("AFT END %s" % measure("upper aft", "lower aft"), True),
             BoxLine("UPPER FORE TO LOWER AFT %s" % measure("upper fore", "lower aft"), True),
             BoxLine("LOWER FORE TO UPPER AFT %s" % measure("lower fore", "upper aft"), True)]
    for way in ("along", "across"):
        some = [_tell_mm(long) if float(long).is_integer() else "%d IN" % round(long / 25.4)
                for lies, long in bars if lies == way]
        if some:
            rows.append(BoxLine("BARS %s %s" % (way.upper(), " AND ".join(some)), True))
    least, most = find_paper_movement_mm(length)
    rows.append(BoxLine("MEASURE THE BARS BEFORE CUTTING: PAPER MOVES %.1f TO %.1f MM OVER THIS LENGTH"
                        % (least, most)))
    return rows


def list_saw(matter: PlankMatter) -> list[BoxLine]:
    """Stock, which line to saw, how far it is outside the net line and what is planed off, edge by edge, and what the
    line includes."""
    plank, saw = matter.plank, matter.saw
    stock = _find_fact(matter, "stock")
    finished = "THICKNESS %s" % _tell_mm(plank.thickness_mm) if plank.thickness_mm else ""
    bought = "STOCK %s (%s)" % (_tell_mm(stock.number), format_inches(stock.number, denominator=32).upper()) \
        if stock is not None and stock.unit == "mm" and stock.limit is None else ""
    rows = [BoxLine("; ".join(t for t in (bought, finished) if t))] if bought or finished else []
    rows.append(BoxLine("SEEN FROM %s, NOT MIRRORED; FWD TO THE %s, UPPER EDGE TO THE TOP"
                        % (plank.seen_from.upper(), plank.forward.upper())))
    if saw is None:
        rows.append(BoxLine("THE SOLID LINE IS NET, %s FACE: NO ALLOWANCE IS IN IT" % plank.face.upper()))
        rows.append(BoxLine("NOT INCLUDED: SAW, ENDS, %s" % ", ".join(COUNTED)))
        return rows
    rows.append(BoxLine("SAW LINE SOLID. DASHED: NET, %s FACE" % plank.face.upper()))
    planed = {fact.place.edge: fact for fact in saw.facts if fact.key == "planed-off" and fact.place is not None}
    for edge, ends in find_saw_range(measure_saw_line(plank, matter.stations, saw)).items():
        text = "%s %s: SAW %s OUTSIDE NET" % (edge.upper(), "EDGE" if edge in ("upper", "lower") else "END",
                                              format_outside_mm(*ends).upper())
        text = text.replace("OUTSIDE OUTSIDE", "OUTSIDE").replace("INSIDE OUTSIDE NET", "INSIDE NET")
        fact = planed.get(edge)
        if fact is not None:
            text += "; PLANE SQUARE" if not fact.about else "; PLANE UP TO %s OFF THE %s" % (_tell_mm(fact.number),
                                                                                            fact.about.upper())
        rows.append(BoxLine(text))
    counted = [word for word in COUNTED if word in {str(w).upper() for w in saw.includes}]
    absent = [word for word in COUNTED if word not in counted]
    rows.append(BoxLine("COUNTED: %s. NOT: %s" % (", ".join(counted) or "NOTHING", ", ".join(absent) or "NOTHING")))
    if any(one.role == "section" for overlay in matter.overlays for one in overlay.lines):
        rows.append(BoxLine("BEVELS, ON THE FACE UP: UNDER LEANS IN BELOW IT, STANDING LEANS OUT"))
    return rows


def trim_lines(lines: Sequence[BoxLine], *, most: int = MOST_LINES) -> list[BoxLine]:
    """At most ten lines, or fewer; where there are more, the last says how many are only in the record."""
    if len(lines) <= most:
        return list(lines)
    kept = list(lines[:most - 1])
    return [*kept, BoxLine("AND %d MORE: SEE RECORD" % (len(lines) - len(kept)))]


def list_boxes(matter: PlankMatter, bars: Sequence[tuple[str, float]], *, said: Sequence[str] = (),
               most: int = MOST_LINES) -> tuple[tuple[str, list[BoxLine], str], ...]:
    """(title, lines, look) of PROVE, SAW and DOUBT; as `lay_boxes`."""
    doubts = [BoxLine(text) for text in [*list_doubts(matter), *said]]
    told = (("PROVE", list_prove(matter, bars), "note"), ("SAW", list_saw(matter), "note"),
            ("DOUBT", doubts or [BoxLine("NOTHING WAS FOUND IN DOUBT")], "warning" if doubts else "note"))
    return tuple((title, trim_lines(lines, most=most), style) for title, lines, style in told)


def lay_box(title: str, lines: Sequence[BoxLine], *, style: str, size: float,
            room_mm: float = np.inf) -> tuple[SheetBlock, float, float]:
    """One box from (0, 0): its heading, its lines, blanks in a column of their own, and a frame; its width and height.

    size : of its letters, mm; room_mm : its greatest width, to which lines are broken.
    """
    pad, pitch = min(_PAD_MM, size), _PITCH if size >= _SIZES[-1] else _CLOSE
    blank, beside = min(_BLANK_MM, 6.8 * size), [one.text for one in lines if one.blank]
    if np.isfinite(room_mm):
        room = room_mm - 2 * pad - (blank + 6.0 if beside else 0.0)
        broken = [(one, wrap_words(one.text, room, size)) for one in lines]
        beside = [part for one, parts in broken if one.blank for part in parts]
        lines = [BoxLine(part, one.blank and k == len(parts) - 1) for one, parts in broken
                 for k, part in enumerate(parts)]
    wide = max(text_width_mm(one.text, height_mm=size) for one in lines)
    head = (2.0 if size >= _SIZES[-1] else 1.4) * size
    texts = [SheetText(title, (pad, pad + head), head, style=style)]
    column = pad + max(text_width_mm(text, height_mm=size) for text in beside or [one.text for one in lines]) + 6.0
    if beside:
        texts.append(SheetText("TAPE", (column, pad + head), size))
    drawn, y = [], pad + head + 0.3 * size
    for one in lines:
        y += pitch * size
        texts.append(SheetText(one.text, (pad, y), size, style=style))
        if one.blank:
            drawn.append(make_stroke((column, y + 1.0), (column + blank, y + 1.0), role="blank", style="note"))
    right = max(pad + wide, column + blank if beside else 0.0) + pad
    foot = y + 0.6 * size + pad
    corners = np.array([(0.0, 0.0), (right, 0.0), (right, foot), (0.0, foot), (0.0, 0.0)])
    drawn += [make_stroke(a, b, role="box", style="note") for a, b in zip(corners, corners[1:])]
    return SheetBlock(tuple(drawn), tuple(texts)), right, foot


def lay_boxes(matter: PlankMatter, room_mm: float, bars: Sequence[tuple[str, float]], *, beside_mm: float = 0.0,
              said: Sequence[str] = ()) -> tuple[SheetBlock, bool]:
    """The three boxes from (0, 0): in one row with letters of 7 mm where there is room, else of 5 mm, else in as many
    rows as needed.

    Parameters
    ----------
    room_mm : float
        Width available below the bars; beside_mm : that to the right of them.
    bars : sequence of (along or across, length in mm)
    said : sequence of str
        Further doubts, on the layout of the sheet itself.

    Returns
    -------
    piece : SheetBlock
    beside : bool
        Whether they go to the right of the bars.
    """
    boxes = list_boxes(matter, bars, said=said)
    for size in _SIZES:
        laid = [lay_box(title, lines, style=style, size=size) for title, lines, style in boxes]
        wide = sum(right for _, right, _ in laid) + _APART_MM * (len(laid) - 1)
        for room, beside in ((beside_mm, True), (room_mm, False)):
            if wide <= room:
                return _arrange(laid, room), beside
    return _arrange(laid, max(room_mm, *(right for _, right, _ in laid))), False


def _arrange(laid, room):
    """Boxes in rows."""
    found, x, y, lowest = [], 0.0, 0.0, 0.0
    for piece, right, foot in laid:
        if x and x + right > room + 1e-6:
            x, y = 0.0, lowest + _APART_MM
        found.append(move_block(piece, np.array([[1.0, 0.0, x], [0.0, 1.0, y]])))
        x, lowest = x + right + _APART_MM, max(lowest, y + foot)
    return join_blocks(*found)


def lay_foot(matter: PlankMatter, settings: SheetSettings, room_mm: float, name: str, *, height_mm: float,
             size: float = 1.0) -> SheetBlock:
    """The lines below the boxes on every sheet, from (0, 0): which plank it is, that it is no approval, where to find
    the rest, correction, file and day. height_mm : of the name's letters on the wood; size : factor of its own letters,
    1 on a sheet."""
    fairing = ", FAIRING %s" % matter.plank.key.upper() if matter.plank.key else ""
    rows = [("%s" % name, 14.0, "note"),
            ("A PATTERN, NOT AN APPROVAL: EXTENT AND METHOD OF REPAIR ARE FOR THE SURVEYOR, CLASS OR FLAG AUTHORITY.",
             5.0, "note"),
            ("SAWING, DUST, LEAD PAINT, DRY FIT, SWELLING, SOURCES AND ALL FIGURES: %s OF %s%s, PAGE 1."
             % (RECORD.capitals, name, fairing), 5.0, "note")]
    if 0 < height_mm < NAME_MM:
        rows.append(("NAMES ON THE WOOD IN LETTERS OF %g MM: THE PLANK IS TOO NARROW FOR %g." % (height_mm, NAME_MM),
                     5.0, "note"))
    if settings.correction is not None:
        rows.append((settings.correction.describe(), 5.0, "warning"))
    last = "  ".join(t for t in ("FILE %s" % settings.file_name if settings.file_name else "", settings.day) if t)
    rows += [(last, 5.0, "note")] if last else []
    texts, y = [], 0.0
    for text, full, style in rows:
        height = max(size * full, min(2.5, full))
        for part in wrap_words(text, room_mm, height):
            y += height * (1.4 if full > 10 else 1.85 if size == 1 else _CLOSE)
            texts.append(SheetText(part, (0.0, y), height, style=style))
    return SheetBlock((), tuple(texts))


def _tell_mm(value):
    return format_mm(value).upper()


def measure_bottom(piece: SheetBlock) -> float:
    """Greatest y of a piece; 0 of one that is empty."""
    return float(measure_block(piece)[1][1]) if piece.lines or piece.texts else 0.0
