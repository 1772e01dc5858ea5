"""The words of a sheet: what the plank is, what the line to cut includes, what is in doubt, and the cautions."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR
from ..model.drawing import SheetText
from ..model.page import SheetBlock
from ..model.saw import find_saw_range, measure_saw_line
from ..paper.blocks import wrap_words
from ..units import format_inches, format_mm, format_outside_mm
from .plank import describe_plank

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import PlankMatter
    from .sheet import SheetSettings

__all__ = ["CAUTIONS", "COUNTED", "TitleRow", "lay_rows", "list_brief", "list_cautions", "list_heading"]

CAUTIONS = (
    "MEASURE THE BARS, ALONG AND ACROSS, BEFORE CUTTING. PAPER MOVES WITH THE WEATHER; FILM AND VINYL STRETCH.",
    "CHECK HAND AND FACE AGAINST THE BOAT. DRY FIT BEFORE FASTENING.",
    "A PATTERN, NOT AN APPROVAL: EXTENT AND METHOD OF REPAIR ARE FOR THE SURVEYOR, CLASS OR FLAG AUTHORITY.",
    "SAWING, PLANING, SANDING: GUARDS ON, DUST DRAWN OFF; OLD PAINT MAY HOLD LEAD.",
)
# allowances that a line to cut may include: the title says of each whether it does
COUNTED = ("BEVEL", "HOLLOW", "SEAM", "SWELLING", "BEND")


@dataclass(frozen=True)
class TitleRow:
    """One statement of the title block: its words, their height, their look, and clear paper below it in mm."""

    text: str
    height_mm: float
    style: str = "note"
    below_mm: float = 0.0


def list_heading(matter: PlankMatter) -> list[TitleRow]:
    """Name, hand, sizes, what the line to cut includes, and marks in doubt, as TitleRows."""
    plank, saw = matter.plank, matter.saw
    corner = plank.find_corners()

    def measure(a, b):
        return float(np.hypot(*(corner[a] - corner[b])))
    length, width = plank.measure_length_mm(), plank.measure_width_mm()
    rows = [
        TitleRow(describe_plank(plank) or "PLANK", 10.0, below_mm=3.0),
        TitleRow("SEEN FROM %s: THE BOARD LIES WITH ITS %s FACE UP.  NOT MIRRORED.  FWD TO THE %s, UPPER EDGE TO THE "
                 "TOP."
                 % (plank.seen_from.upper(), plank.seen_from.upper(), plank.forward.upper()), 5.0),
        TitleRow("NET LENGTH %s (%s).  GREATEST WIDTH %s (%s)."
                 % (_tell_mm(length), format_inches(length).upper(), _tell_mm(width), format_inches(width).upper())
                 + ("  THICKNESS %s." % _tell_mm(plank.thickness_mm) if plank.thickness_mm else "")
                 + ("  STATIONS: LABEL ABOVE, WIDTH IN MM BELOW." if matter.stations else ""), 5.0),
        TitleRow("ENDS: FORE %s, AFT %s.  DIAGONALS: UPPER FORE TO LOWER AFT %s, LOWER FORE TO UPPER AFT %s."
                 % (_tell_mm(measure("upper fore", "lower fore")), _tell_mm(measure("upper aft", "lower aft")),
                    _tell_mm(measure("upper fore", "lower aft")), _tell_mm(measure("lower fore", "upper aft"))), 5.0),
    ]
    if saw:
        rows += _list_saw(plank, matter.stations, saw)
    else:
        rows.append(TitleRow("CUT LINE (SOLID): NET OUTLINE OF THE %s FACE. NO ALLOWANCE FOR SAW, ENDS, BEVEL, "
                             "HOLLOW, SEAM, SWELLING OR BEND." % plank.face.upper(), 5.0))
    if matter.board_includes:
        rows.append(TitleRow("THE BOARD'S FACES COUNT: %s."
                             % ", ".join(str(word).upper() for word in matter.board_includes), 5.0))
    return rows + _list_warnings(plank)


def list_brief(matter: PlankMatter) -> list[TitleRow]:
    """The heading without rows that the record has: of the saw line only the first row, the last (what it includes),
    and all warnings."""
    rows, warnings = list_heading(matter), _list_warnings(matter.plank)
    board = 1 if matter.board_includes else 0
    saw = rows[4:len(rows) - len(warnings) - board]
    return rows[:4] + saw[:1] + saw[1:][-1:] + rows[len(rows) - len(warnings) - board:]


def _list_saw(plank, stations, saw):
    """The line to cut: where it runs, what was asked for, what it includes and what it does not."""
    counted = {str(word).upper() for word in saw.includes}
    places = measure_saw_line(plank, stations, saw)
    ranges = find_saw_range(places)
    absent = [word for word in COUNTED if word not in counted]
    rows = [TitleRow("CUT LINE (SOLID): SAW LINE. FROM THE NET LINE, SQUARE TO IT, AS DRAWN: %s." % "  ".join(
        "%s %s" % (n.upper(), format_outside_mm(*ends).upper()) for n, ends in ranges.items()), 5.0)]
    rows += [TitleRow(text, 5.0) for text in _list_saw_places(places)]
    if counted:
        asked = "  ".join("%s %s" % (n.upper(), _tell_mm(saw.added_mm[n]))
                          for n in ("upper", "lower", "fore", "aft"))
        rows.append(TitleRow("ALLOWANCE ASKED%s: %s." % (
            ", ROOM FOR SWELLING TAKEN OFF FIRST" if "SWELLING" in counted else " OUTSIDE BOTH FACES", asked), 5.0))
    rows += [TitleRow(row.upper(), 5.0) for row in saw.rows]
    rows.append(TitleRow("DASHED LINE: NET OUTLINE OF THE %s FACE, NO ALLOWANCE." % plank.face.upper()
                         + (" INCLUDED IN THE CUT LINE: %s."
                            % ", ".join(word for word in COUNTED if word in counted) if counted else "")
                         + (" NOT INCLUDED: %s." % ", ".join(absent) if absent else ""), 5.0))
    return rows


def _list_warnings(plank):
    """Names that nobody gave, doubtful marks and guessed corners."""
    rows = []
    if plank.assumed:
        told = ", ".join("%s %s" % (word.upper(), getattr(plank, word).upper()) for word in plank.assumed)
        rows.append(TitleRow("NOBODY HAS SAID %s: TAKEN AS USUAL. SAY IT IN %s BEFORE CUTTING."
                             % (told, FAIR.capitals), 5.0, "warning"))
    for how, verdict in (("KEPT", "doubtful"), ("LEFT OUT", "left-out")):
        some = [m for m in plank.marks if m.verdict == verdict]
        if some:
            told = ", ".join("%s%s (%.1f MM OFF)" % (m.edge.upper(), " " + m.station.upper() if m.station else "",
                                                     abs(m.residual_mm)) for m in some)
            rows.append(TitleRow("DOUBTFUL MARKS %s: %s. MEASURE THEM AGAIN." % (how, told), 5.0, "warning"))
    said = ["%s %s" % (name.upper(), "STRAIGHT" if edge.told == "straight" else "AFTER THE LINE '%s'"
                       % edge.told.upper()) for name, edge in plank.edges.items() if edge.told]
    said += ["%s TURNS BY %.1f DEGREES%s (KNUCKLE)" % (name.upper(), turn, " AT FRAME %s" % station.upper() if station
                                                       else "") for name, station, turn in plank.find_knuckles()]
    if said:
        rows.append(TitleRow("SAID OF THE EDGES, NOT FOUND: %s." % "; ".join(said), 5.0))
    guessed = ["%s %s, %.0f MM PAST THE LAST MARK, WITHIN %.1f MM (ONE STANDARD ERROR)"
               % (name.upper(), one.end.upper(), one.beyond_mm, one.band_mm)
               for name, edge in plank.edges.items() for one in edge.guesses]
    if guessed:
        rows.append(TitleRow("GUESSED CORNERS: %s. SET ONE MORE MARK AT EACH." % "; ".join(guessed), 5.0, "warning"))
    return rows


def _list_saw_places(places):
    """The saw line's distance outside the net line at each frame and, where it varies, on the ends: a row for each
    edge."""
    for edge in ("upper", "lower", "fore", "aft"):
        some = [(p.station or p.where, p.outside_mm) for p in places if p.edge == edge]
        if len({format_mm(v) for _, v in some}) > 1:
            told = ", ".join("%s %.1f" % (name.upper(), round(v, 1) + 0.0) for name, v in some)
            yield "%s %s TO THE SAW LINE, MM%s: %s." % (edge.upper(), "END" if edge in ("fore", "aft") else "EDGE",
                                                        ", MINUS INSIDE" if min(v for _, v in some) < -0.05 else "",
                                                        told)


def list_cautions(settings: SheetSettings) -> list[TitleRow]:
    """Cautions, correction, file and day, as TitleRows."""
    rows = [TitleRow(text, 4.0) for text in CAUTIONS]
    if settings.correction is not None:
        rows.insert(0, TitleRow(settings.correction.describe(), 5.0, "warning"))
    last = "  ".join(t for t in ("FILE %s" % settings.file_name if settings.file_name else "", settings.day) if t)
    return rows + ([TitleRow(last, 4.0)] if last else [])


def lay_rows(rows: Sequence[TitleRow], room_mm: float, *, size: float = 1.0) -> tuple[list[SheetBlock], list[float]]:
    """Letter statements one below the other from (0, 0), each wrapped to the room.

    Parameters
    ----------
    rows : sequence of TitleRow
    room_mm : float
    size : float
        Factor of the letters' heights: less than 1 saves paper, down to letters 2.5 mm high.

    Returns
    -------
    pieces : list of SheetBlock
        One for each line of words, in order, so that a column may be broken between them.
    bottoms : list of float
        The y below each.
    """
    pieces, bottoms, y = [], [], 0.0
    for row in rows:
        height = max(row.height_mm * size, min(2.5, row.height_mm))
        for part in wrap_words(row.text, room_mm, height):
            y += height * 1.85
            pieces.append(SheetBlock((), (SheetText(part, (0.0, y), height, style=row.style),)))
            bottoms.append(y)
        y += row.below_mm * size
    return pieces, bottoms


def _tell_mm(value):
    return format_mm(value).upper()
