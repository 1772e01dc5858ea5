"""What the sheet's title block must say of hollow and bevels: what is counted, what was taken for granted, the seam,
the stock, the bend.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry.error_ladder import FEW
from ..trade.seams import find_rule
from ..trade.thicknesses import describe_system
from ..units import format_inches, format_mm
from .shapes import EDGES

__all__ = ["BendReport", "list_rows"]

_LEAST_PPM = 5.0          # a hundredth of a mm in a metre is not seen
_KINDS = {"RADIUS": "radius", "BEND": "bend", "TWIST": "twist"}      # what else is faired is the bevel of an edge
_LEAST_MM = 0.05          # smaller lengths are not worth a word


@dataclass(frozen=True)
class BendReport:
    """What bending does to a board.

    known : whether a bend was given. turn_deg : in all, and of the fore and the aft half. added_mm : to the flat
    length. run_mm : of the pattern.
    find_strain : of the edges at x, or None. worst_strain, strain_mm : the largest along the plank, and in mm over its
    length. advice : BendAdvice or None. is_wound : whether the twist was given, so that advice is on bend and twist
    together.
    """

    known: bool
    turn_deg: float
    fore_deg: float
    aft_deg: float
    added_mm: float
    run_mm: float
    find_strain: object
    worst_strain: float
    strain_mm: float
    advice: object
    is_wound: bool = False


def list_rows(board, *, bend, fair, settings, size_mm, crossings=()):
    """Rows for the title block, in capitals.

    Parameters
    ----------
    board : Board
        Complete but for its rows.
    bend : BendReport
    fair : FairReadings
    settings : BoardSettings
    size_mm : float or None
        Of the stock size named.
    crossings : sequence of Crossing
        To name frames between readings.
    """
    other = "outboard" if board.face == "inboard" else "inboard"
    counted = ", ".join(board.includes) if board.includes else "nothing: the board is flat and its edges are square"
    rows = ["Board: %s face (long dashes) and %s face (short dashes) as they lie on the flat board, net. Counted: %s."
            % (board.face, other, counted),
            ("Bevels in degrees from square, plus where the outside is wider (OUT WIDER); each edge at each frame has "
            "its own.")]
    if "hollow" in board.includes:
        rows.append("Widths of the pattern were taken as %s; the board's are straight, corner to corner."
                    % ("girths, measured round the frames by a wrapped pattern" if settings.widths == "girth"
                       else "straight, corner to corner"))
    rows += _tell_doubtful(fair)
    rows += [row for row in (_tell_taken(board, fair), _tell_kept(fair), *_tell_between(fair, crossings),
                             _tell_changes(board), _tell_seam(board, settings), *_tell_stock(board, settings, size_mm),
                             *_tell_bend(board, bend, settings),
                             _tell_ends(settings), _tell_corners(board)) if row]
    return [row.upper() for row in rows]


def _tell_doubtful(fair):
    """Readings that the others do not believe, kept or left out: whoever only has the sheet must know of them."""
    for how, left in (("kept", False), ("left out", True)):
        some = [d for d in fair.doubts if d.left_out is left]
        if some:
            told = "; ".join("frame %s %s %s, the others say %s" % (d.label, d.kind.lower(), d.reading, d.others)
                             for d in some)
            yield "Doubtful readings %s: %s. Read %s again." % (how, told, "it" if len(some) == 1 else "them")


def _tell_taken(board, fair):
    """What nobody read, and what was taken for it."""
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


def _tell_kept(fair):
    """Readings that no fairing has touched: their errors are still in the board."""
    kept = "; ".join("%s (%d frames)" % (_KINDS.get(kind, kind.lower() + " bevel"), count)
                     for kind, count in fair.list_kept())
    return ("Too few to fair, kept as read with whatever error they have: %s. What %d frames or more give is faired."
            % (kept, FEW + 1) if kept else "")


def _tell_between(fair, crossings):
    """Frames that were not read and where the run of the readings reaches, or would reach, beyond what was read on both
    sides of them.
    """
    found = fair.list_between(crossings)
    beyond = ["frame %s %s by %s (read at %s)" % (label, _KINDS.get(kind, kind.lower() + " bevel"), _spell_beyond(
        kind, label, by, crossings), " and ".join(pair)) for label, kind, by, pair, _ in found if by]
    held = ["frame %s %s" % (label, _KINDS.get(kind, kind.lower() + " bevel"))
            for label, kind, by, _, is_held in found if is_held and not by]
    if beyond:
        yield "Not read, and the run of all readings there goes beyond what was read on both sides: %s. Read %s." % (
            "; ".join(beyond), "it" if len(beyond) == 1 else "them")
    if held:
        yield ("Not read, and held within what was read on both sides, which no smooth run through all readings "
               "would keep to: %s. Read %s." % ("; ".join(held), "it" if len(held) == 1 else "them"))


def _spell_beyond(kind, label, by, crossings):
    """How far, in the measure of the table; of a roundness the depth over the plank's width."""
    if kind == "RADIUS":
        return "%.1f mm of hollow" % (abs(by) * next(c.width_mm for c in crossings if c.label == label) ** 2 / 8)
    if kind == "BEND":
        return "1/%.0f mm" % (1 / abs(by))
    return "%.1f degrees%s" % (np.degrees(abs(by)) * (1000 if kind == "TWIST" else 1),
                               " a metre" if kind == "TWIST" else "")


def _tell_changes(board):
    """Where a bevel turns from one sense to the other, which is easily missed at the bench, and where the frames turn
    from round to hollow.
    """
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


def _tell_seam(board, settings):
    seam = board.seam
    if not seam.gap_mm > 0:
        return "Seam: none; edges fit tight all through."
    share = ("half taken from each plank's edge" if seam.share == "both"
             else "all taken from the %s edge of this plank, so the neighbour there is planed tight" % seam.share)
    inside = "; the bevels as read have it in them already" if settings.seam_in_bevels else ""
    return "Seam: %s open outside, tight inside; %s%s. %s %s" % (format_mm(seam.gap_mm), share, inside, seam.source,
                                                                 _tell_tight(board))


def _tell_tight(board):
    """What the seam took off which bevel, so that the tight one can be found again, and where the wood is to be left at
    it.
    """
    seam = board.seam
    taken = "%.1f degrees" % np.degrees(
        np.arctan(seam.gap_mm / board.thickness_mm / (2 if seam.share == "both" else 1)))
    edges = "each bevel here" if seam.share == "both" else "the bevel of the %s edge here" % seam.share
    share = {1 / 2: "half", 1 / 3: "third"}.get(find_rule(seam.rule).tight_share)
    words = "The seam has taken %s off %s: the tight bevel is that much more." % (taken, edges)
    return words + (" Drawn as one bevel from the inside edge; the rule opens from the inner %s: keep that %s at the "
                    "tight bevel." % (share, share) if share else "")


def _tell_stock(board, settings, size_mm):
    net = board.stock_mm - settings.planing_mm
    named = "next size up %s" % board.stock_name if size_mm else board.stock_name
    yield "Stock: %s thick (%s), of it %s for planing; %s. Sizes: %s." % (format_mm(board.stock_mm), format_inches(
        board.stock_mm, denominator=32), format_mm(board.stock_mm - net), named, describe_system(settings.sizes))
    if settings.stock_mm:
        least = min(board.sections, key=lambda s: s.thickness_mm)
        if least.thickness_mm < board.thickness_mm - _LEAST_MM:
            yield "Of stock %s thick the finished plank is only %s at frame %s; %s is wanted." % (format_mm(
                settings.stock_mm), format_mm(least.thickness_mm), least.station, format_mm(board.thickness_mm))
        else:
            yield "Stock %s thick leaves the %s wanted at every frame." % (format_mm(settings.stock_mm),
                                                                           format_mm(board.thickness_mm))


def _tell_bend(board, bend, settings):
    if not bend.known:
        if bend.is_wound:
            yield ("Twist was given, the bend along the plank was not: its length in bending, the strain of its "
                   "edges and whether it goes cold or steamed are not judged, "
                   "since twist alone tells too little. Give the bend, or straight.")
        else:
            yield ("Bend along the plank was not given: its length in bending, the strain of its edges and steaming "
                   "are not judged.")
        return
    differ = board.thickness_mm * np.radians(bend.turn_deg)
    yield ("Bend: %.1f degrees in all. Flat length %s by %s against the pattern's (pattern %s thick; both keep their "
           "length half-way through)."
           % (bend.turn_deg, "longer" if bend.added_mm >= 0 else "shorter", format_mm(abs(bend.added_mm)),
              format_mm(settings.pattern_mm)))
    if abs(differ) > _LEAST_MM:
        yield _tell_lean(differ, bend)
    ppm = 1e6 * bend.worst_strain
    if abs(ppm) >= _LEAST_PPM:
        sense = "shorter" if ppm > 0 else "longer"
        yield ("Hull round both ways or winding: on it the edges want to be up to %.2f mm in a metre %s than the "
               "middle, %s over the length. A flat board does not give that: "
               "ease the edges at the dry fit, take a narrower plank, or steam it (common practice, no source); "
               "never force it edgeways."
               % (abs(ppm) / 1000, sense, format_mm(abs(bend.strain_mm), places=2)))
    else:
        yield "Edge strain: none; the readings are those of a surface that unrolls."
    lead = ("bend and twist together, by their principal curvature: " if bend.is_wound
            else "the bend alone; twist was not given and is not judged: ")
    yield "Bending, " + lead + bend.advice.words


def _tell_lean(differ_mm, bend):
    longer, shorter = ("outside", "inside") if differ_mm > 0 else ("inside", "outside")
    return ("Hung, the %s measures %s more than the %s. An end sawn square stays square to the plank there; against "
            "one sawn square amidships the fore end leans %.1f and the aft end %.1f degrees. "
            "Butts: saw square to the face. Hood end: read its bevel from the hung plank's face at the rabbet, and "
            "leave wood until the dry fit." % (longer, format_mm(abs(differ_mm)), shorter, abs(bend.fore_deg),
                                               abs(bend.aft_deg)))


def _tell_ends(settings):
    ends = [(name, value) for name, value in (("fore", settings.fore_bevel_deg), ("aft", settings.aft_bevel_deg))
            if value]
    return "Ends: " + "; ".join("%s end %+.1f degrees from square, outside %s"
                                % (n, v, "longer" if v > 0 else "shorter") for n, v in ends) + "." if ends else ""


def _tell_corners(board):
    most = max(board.sections, key=lambda s: s.rounding_mm)
    if most.rounding_mm < 0.3:
        return ""
    if most.curvature_per_mm > 0:
        return ("The outside is rounded by up to %s at its corners (frame %s): the outboard line is where the "
                "finished corners lie, so plane the edges to their bevels, not from line to line."
                % (format_mm(most.rounding_mm), most.station))
    return ("The inside is rounded by up to %s at its corners (frame %s) and the outside hollowed: plane the edges "
            "to their bevels, not from line to line." % (format_mm(most.rounding_mm), most.station))
