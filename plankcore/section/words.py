"""Every sentence of Hollow and Bevels: what is included, what was assumed, the seam, the stock, the bend, the doubts,
and the lettering beside a section."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import SECTION
from ..geometry.readings import FEW
from ..trade.lumber_measure import describe_system
from ..trade.seams import find_rule
from ..units import format_inches, format_mm
from .shapes import EDGES

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board, Section
    from ..trade.bending import BendAdvice
    from .board import BoardSettings
    from .faces import BendReport
    from .fair_readings import Doubt, FairReadings
    from .readings import Crossing

__all__ = [
    "BEVEL_SENSE",
    "NO_STRAIN",
    "list_remarks",
    "list_some",
    "name_table",
    "note_beyond",
    "note_doubt",
    "note_doubt_beside",
    "note_held",
    "note_missed",
    "spell_bevel",
    "spell_end",
    "spell_hollow",
    "tell_advice",
    "tell_bend",
    "tell_bend_unknown",
    "tell_beyond",
    "tell_changes",
    "tell_corners",
    "tell_doubtful",
    "tell_doubtful_reading",
    "tell_ends",
    "tell_faces",
    "tell_finished",
    "tell_held",
    "tell_kept",
    "tell_lean",
    "tell_missed",
    "tell_passed_over",
    "tell_seam",
    "tell_stock",
    "tell_strain",
    "tell_taken",
    "tell_thin_stock",
    "tell_widths",
]

_MOST_NAMED = 12          # most labels of frames in one list
BEVEL_SENSE = ("Bevels in degrees from square, plus where the outside is wider (OUT WIDER); each edge at each frame "
               "has its own.")
NO_STRAIN = "Edge strain: none; the readings are those of a surface that unrolls."


def tell_faces(face: str, includes: Sequence[str]) -> str:
    """Which line is which face, and what the shapes allow for."""
    other = "outboard" if face == "inboard" else "inboard"
    counted = ", ".join(includes) if includes else "nothing: the board is flat and its edges are square"
    return ("Board: %s face (long dashes) and %s face (short dashes) as they lie on the flat board, net. Counted: %s."
            % (face, other, counted))


def tell_widths(widths: str) -> str:
    """How the pattern's widths were taken; widths : 'girth' or 'chord'."""
    return ("Widths of the pattern were taken as %s; the board's are straight, corner to corner."
            % ("girths, measured round the frames by a wrapped pattern" if widths == "girth"
               else "straight, corner to corner"))


def tell_doubtful(doubts: Sequence[Doubt], *, left_out: bool) -> str:
    """Readings that contradict the others, kept or left out: somebody who only has the sheet must know of them."""
    told = "; ".join("frame %s %s %s, the others say %s" % (
        d.label, d.kind, _spell_reading(d.kind, d.reading), _spell_reading(d.kind, d.others)) for d in doubts)
    return "Doubtful readings %s: %s. Read %s again." % ("left out" if left_out else "kept", told, _it(doubts))


def _it(some):
    return "it" if len(some) == 1 else "them"


def tell_taken(board: Board, fair: FairReadings) -> str:
    """What was not read, and what was assumed instead."""
    words = []
    if fair.curvature is None:
        words.append("no radius was given: the frames are taken as flat")
    elif len(fair.curvature.labels) == 1:
        words.append("one radius was given, at frame %s, and taken for all" % fair.curvature.labels[0])
    for edge in EDGES:
        line = fair.bevels[edge]
        if line is None:
            words.append("no bevel was given for the %s edge: it is taken as %s"
                         % (edge, "square" if fair.curvature is None else "radial, square to the frame's curve"
                            + (", less the seam" if board.seam.gap_mm > 0 and board.seam.share in ("both", edge)
                               else "")))
        elif len(line.labels) == 1:
            words.append("one bevel was given for the %s edge, at frame %s, and taken for all" % (edge, line.labels[0]))
    for word, lead in (("between", "taken from the frames on both sides"),
                       ("beyond", "held as at the nearest frame that was read")):
        frames = [s.station for s in board.sections if word in (s.known["radius"], s.known["upper"], s.known["lower"])]
        if frames:
            words.append("%s, where something was not read: frames %s" % (lead, ", ".join(frames)))
    for section in board.sections:
        words += ["frame %s meets the %s end and has no bevel of the %s edge" % (section.station, section.known[e], e)
                  for e in EDGES if not section.reaches(e)]
    text = "; ".join(words)
    return text[:1].upper() + text[1:] + "." if text else ""


def tell_kept(kept: Sequence[tuple[str, int]]) -> str:
    """Readings that were not faired, so that their errors are still in the board; kept : (kind, number of frames)."""
    return ("Too few to fair, kept as read with whatever error they have: %s. What %d frames or more give is faired."
            % ("; ".join("%s (%d frames)" % (_name_kind(kind), count) for kind, count in kept), FEW + 1))


def tell_beyond(found: Sequence[tuple[str, str, float, Sequence[str], bool]], crossings: Sequence[Crossing]) -> str:
    """Frames without a reading where the faired line goes beyond the readings on both sides; found : rows of
    FairReadings.list_between."""
    told = ["frame %s %s by %s (read at %s)" % (label, _name_kind(kind), _spell_beyond(kind, label, by, crossings),
                                                " and ".join(pair)) for label, kind, by, pair, _ in found]
    return "Not read, and the run of all readings there goes beyond what was read on both sides: %s. Read %s." % (
        "; ".join(told), _it(told))


def tell_held(found: Sequence[tuple[str, str, float, Sequence[str], bool]]) -> str:
    """Frames without a reading where the line was limited to the range of the readings on both sides."""
    told = ["frame %s %s" % (label, _name_kind(kind)) for label, kind, _, _, _ in found]
    return ("Not read, and held within what was read on both sides, which no smooth run through all readings would "
            "keep to: %s. Read %s." % ("; ".join(told), _it(told)))


def _name_kind(kind):
    return "%s bevel" % kind if kind in EDGES else kind


def _spell_reading(kind, value):
    """As it was written down; value as Doubt has it."""
    if kind == "radius":
        return "flat" if abs(value) < 1e-7 else "%.0f mm" % (1 / value)
    return "%.1f mm" % value if kind == "hollow" else "%.1f degrees" % value


def _spell_beyond(kind, label, by, crossings):
    """How far, in the unit of the table; for a roundness, as depth over the plank's width."""
    if kind == "radius":
        return "%.1f mm of hollow" % (abs(by) * next(c.width_mm for c in crossings if c.label == label) ** 2 / 8)
    if kind == "bend":
        return "1/%.0f mm" % (1 / abs(by))
    return "%.1f degrees%s" % (np.degrees(abs(by)) * (1000 if kind == "twist" else 1),
                               " a metre" if kind == "twist" else "")


def tell_changes(board: Board) -> str:
    """Where a bevel changes its sign, which is easily missed at the bench, and where the frames change from round to
    hollow."""
    words = []
    read = [s for s in board.sections if s.known["radius"] == "given"]
    words += ["between frames %s and %s the frames turn from %s: there they pass through flat, with a radius greater "
              "than was read on either side"
              % (a.station, b.station, "round to hollow" if a.curvature_per_mm > 0 else "hollow to round")
              for a, b in zip(read[:-1], read[1:]) if a.curvature_per_mm * b.curvature_per_mm < 0]
    for edge in EDGES:
        signs = [(s.station, s.bevels_deg[edge]) for s in board.sections if s.reaches(edge)
                 and abs(s.bevels_deg[edge]) > 0.05]
        words += ["the %s bevel changes sense between frames %s and %s" % (edge, a[0], b[0])
                  for a, b in zip(signs[:-1], signs[1:]) if a[1] * b[1] < 0]
    return "Mind: %s." % "; ".join(words) if words else ""


def tell_seam(board: Board, settings: BoardSettings) -> str:
    """The seam, and by how much it reduces the bevels."""
    seam = board.seam
    if not seam.gap_mm > 0:
        return "Seam: none; edges fit tight all through."
    share = ("half taken from each plank's edge" if seam.share == "both"
             else "all taken from the %s edge of this plank, so the neighbour there is planed tight" % seam.share)
    inside = "; the bevels as read have it in them already" if settings.seam_in_bevels else ""
    return "Seam: %s open outside, tight inside; %s%s. %s %s" % (format_mm(seam.gap_mm), share, inside, seam.source,
                                                                 _tell_tight(board))


def _tell_tight(board):
    """By how much the seam reduces each bevel, so that the tight bevel can be recovered, and where to leave the wood
    tight."""
    seam = board.seam
    taken = "%.1f degrees" % np.degrees(
        np.arctan(seam.gap_mm / board.thickness_mm / (2 if seam.share == "both" else 1)))
    edges = "each bevel here" if seam.share == "both" else "the bevel of the %s edge here" % seam.share
    share = {1 / 2: "half", 1 / 3: "third"}.get(find_rule(seam.rule).tight_share or 0.0)
    words = "The seam has taken %s off %s: the tight bevel is that much more." % (taken, edges)
    return words + (" Drawn as one bevel from the inside edge; the rule opens from the inner %s: keep that %s at the "
                    "tight bevel." % (share, share) if share else "")


def tell_stock(board: Board, settings: BoardSettings, size_mm: float) -> str:
    """What stock to buy; size_mm : of the stock size named, or None."""
    net = board.stock_mm - settings.planing_mm
    named = "next size up %s" % board.stock_name if size_mm else board.stock_name
    return "Stock: %s thick (%s), of it %s for planing; %s. Sizes: %s." % (format_mm(board.stock_mm), format_inches(
        board.stock_mm, denominator=32), format_mm(board.stock_mm - net), named, describe_system(settings.sizes))


def tell_finished(stock_mm: float, wanted_mm: float, least: Section, *, holds: bool) -> str:
    """Whether the stock at hand leaves the thickness wanted; least : the thinnest Section."""
    if holds:
        return "Stock %s thick leaves the %s wanted at every frame." % (format_mm(stock_mm), format_mm(wanted_mm))
    return "Of stock %s thick the finished plank is only %s at frame %s; %s is wanted." % (
        format_mm(stock_mm), format_mm(least.thickness_mm), least.station, format_mm(wanted_mm))


def tell_bend_unknown(*, is_wound: bool) -> str:
    """No bend was given, so none is judged."""
    if is_wound:
        return ("Twist was given, the bend along the plank was not: its length in bending, the strain of its edges and "
                "whether it goes cold or steamed are not judged, since twist alone tells too little. Give the bend, or "
                "straight.")
    return ("Bend along the plank was not given: its length in bending, the strain of its edges and steaming are not "
            "judged.")


def tell_bend(turn_deg: float, added_mm: float, pattern_mm: float) -> str:
    """The plank's angle of bend, and its flat length compared with the pattern's."""
    return ("Bend: %.1f degrees in all. Flat length %s by %s against the pattern's (pattern %s thick; both keep their "
            "length half-way through)." % (turn_deg, "longer" if added_mm >= 0 else "shorter", format_mm(abs(added_mm)),
                                           format_mm(pattern_mm)))


def tell_strain(ppm: float, over_length_mm: float) -> str:
    """Strain of a flat board's edges on a hull that is round in both directions; ppm : negative where they are too
    short."""
    sense = "shorter" if ppm > 0 else "longer"
    return ("Hull round both ways or winding: on it the edges want to be up to %.2f mm in a metre %s than the "
            "middle, %s over the length. A flat board does not give that: ease the edges at the dry fit, take a "
            "narrower plank, or steam it (common practice, no source); never force it edgeways."
            % (abs(ppm) / 1000, sense, format_mm(abs(over_length_mm), places=2)))


def tell_advice(advice: BendAdvice, *, is_wound: bool) -> str:
    """Whether it can be bent cold or has to be steamed."""
    lead = ("bend and twist together, by their principal curvature: " if is_wound
            else "the bend alone; twist was not given and is not judged: ")
    return "Bending, " + lead + advice.words


def tell_lean(differ_mm: float, bend: BendReport) -> str:
    """The outside is longer or shorter than the inside by differ_mm, and the ends lean accordingly."""
    longer, shorter = ("outside", "inside") if differ_mm > 0 else ("inside", "outside")
    return ("Hung, the %s measures %s more than the %s. An end sawn square stays square to the plank there; against "
            "one sawn square amidships the fore end leans %.1f and the aft end %.1f degrees. "
            "Butts: saw square to the face. Hood end: read its bevel from the hung plank's face at the rabbet, and "
            "leave wood until the dry fit." % (longer, format_mm(abs(differ_mm)), shorter, abs(bend.fore_deg),
                                               abs(bend.aft_deg)))


def tell_ends(settings: BoardSettings) -> str:
    """Bevels of the ends, or ''."""
    ends = [(name, value) for name, value in (("fore", settings.fore_bevel_deg), ("aft", settings.aft_bevel_deg))
            if value]
    return "Ends: " + "; ".join("%s end %+.1f degrees from square, outside %s"
                                % (n, v, "longer" if v > 0 else "shorter") for n, v in ends) + "." if ends else ""


def tell_corners(board: Board) -> str:
    """Corners that are rounded, or ''."""
    most = max(board.sections, key=lambda s: s.rounding_mm)
    if most.rounding_mm < 0.3:
        return ""
    if most.curvature_per_mm > 0:
        return ("The outside is rounded by up to %s at its corners (frame %s): the outboard line is where the "
                "finished corners lie, so plane the edges to their bevels, not from line to line."
                % (format_mm(most.rounding_mm), most.station))
    return ("The inside is rounded by up to %s at its corners (frame %s) and the outside hollowed: plane the edges "
            "to their bevels, not from line to line." % (format_mm(most.rounding_mm), most.station))


# notes beside a frame's section and in its row of the table

def note_doubt(kind: str, *, left_out: bool) -> str:
    """A reading at this frame is in doubt."""
    return "%s IN DOUBT, %s" % (kind.upper(), "LEFT OUT" if left_out else "KEPT")


def note_doubt_beside(kind: str, frames: Sequence[str]) -> str:
    """The value here, where there is no reading, is derived from doubtful readings."""
    return "%s FROM FRAME %s, IN DOUBT" % (kind.upper(), ", ".join(frames).upper())


def note_held(kind: str) -> str:
    """The value here, where there is no reading, was limited to the range of its neighbours' readings."""
    return "%s LIMITED" % kind.upper()


def note_beyond(kind: str) -> str:
    """The value here, where there is no reading, goes beyond both neighbours' readings."""
    return "%s BEYOND BOTH NEIGHBOURS" % kind.upper()


def note_missed(edge: str, end: str) -> str:
    """The frame meets an end and not this edge."""
    return "MEETS THE %s END: NO %s BEVEL" % (end.upper(), edge.upper())


def spell_bevel(section: Section, edge: str) -> str:
    """'+11.5 OUT WIDER': the number with its sign, and the sign's sense in words; RADIAL after it where no bevel was
    given and the edge is square to the frame's curve."""
    degrees, radial = section.bevels_deg[edge], ", RADIAL" if section.find_bevel_source(edge) == "radial" else ""
    text = "%+.1f" % degrees
    if text in ("+0.0", "-0.0"):
        return "0.0 SQUARE" + radial
    return text + (" OUT WIDER" if degrees > 0 else " OUT NARROWER") + radial


def spell_end(end: str) -> str:
    """The text in place of a bevel where the frame meets an end."""
    return "%s END" % end.upper()


def spell_hollow(section: Section) -> str:
    """How deep, and which side of the board."""
    return "HOLLOW %s %.1f" % ("IN" if section.curvature_per_mm > 0 else "OUT", section.hollow_mm)


def name_table(thickness_mm: float) -> str:
    """Title of the table."""
    return "%s, %.1f MM THICK" % (SECTION.heading.upper(), thickness_mm)


def list_remarks(section: Section) -> list[str]:
    """The last cell of a frame's row, a list of str: its note, radial edges, and which values are not from readings
    there."""
    remarks = [section.note.upper()] if section.note else []
    radial = [e.upper() for e in EDGES if section.find_bevel_source(e) == "radial"]
    if radial:
        remarks.append("RADIAL: %s" % ", ".join(radial))
    for word in ("between", "beyond"):
        kinds = [name.upper() for name in ("radius", "upper", "lower") if section.known[name] == word]
        if kinds:
            remarks.append("%s: %s" % (word.upper(), ", ".join(kinds)) if len(kinds) < 3
                           else "NOT READ, %s" % word.upper())
    return remarks


# doubts

def tell_doubtful_reading(doubt: Doubt) -> str:
    """A Doubt in full."""
    # a doubtful angle is stated as the bevel that it gives
    what = "hollow" if not doubt.is_bevel else "%s bevel" % doubt.kind.split()[0]
    return "Frame %s, %s: %.1f %s off what the other frames say; measure it again. It is %s." % (
        doubt.label, what, doubt.off, "degrees" if doubt.is_bevel else "mm", "left out" if doubt.left_out else "kept")


def tell_thin_stock(stock_mm: float, wanted_mm: float, frames: Sequence[tuple[str, float]], needed_mm: float) -> str:
    """The stock at hand leaves too little; frames : (label, finished mm) where it does."""
    return "Stock of %.1f mm leaves less than the %.1f mm wanted at these frames: %s; it takes %.1f mm." % (
        stock_mm, wanted_mm, ", ".join("%s (%.1f)" % frame for frame in frames), needed_mm)


def tell_passed_over(labels: Sequence[str]) -> str:
    """Frames of the table that this plank does not have."""
    return "Frames of the table that are not on this plank were passed over: %s." % list_some(labels)


def tell_missed(frame: str, end: str, edge: str, kinds: Sequence[str]) -> str:
    """Readings of an edge that the frame does not meet; kinds : of 'bevel' and 'angle'."""
    return "Frame %s meets the %s end, not the %s edge: the %s %s read there is not used." % (
        frame, end, edge, edge, " and ".join(kinds))


def list_some(labels: Sequence[str]) -> str:
    """A list of labels, cut short where there are many."""
    return ", ".join(labels[:_MOST_NAMED]) + (" and %d more" % (len(labels) - _MOST_NAMED)
                                              if len(labels) > _MOST_NAMED else "")
