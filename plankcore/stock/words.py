"""Every sentence of Choose Stock: the boards, how pieces lie on them, the grain, what to buy."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..trade.lumber_measure import find_stock_size
from ..units import format_inches, format_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.stock import BoardUse, LeastBoard, Placement, PlankPiece, ScarfSaving, StockBoard, StockPlan
    from ..trade.moisture import MoistureAdvice
    from .shapes import StockSettings

__all__ = [
    "CAUTIONS",
    "LIST_TITLE",
    "PAGE_CAUTIONS",
    "RINGS",
    "RING_HEADS",
    "TITLE",
    "count_board",
    "describe_board",
    "foot_page",
    "list_board",
    "list_heads",
    "list_summary",
    "name_board",
    "name_part",
    "name_piece",
    "report_all_ways",
    "report_plan",
    "report_singles",
    "spell_slope",
    "tell_board",
    "tell_clearances",
    "tell_grain",
    "tell_heading",
    "tell_least_board",
    "tell_measure",
    "tell_no_board",
    "tell_page_scale",
    "tell_ring",
    "tell_scarf",
    "tell_unplaced",
    "tell_why",
    "warn_of_grain",
    "warn_of_hidden_side",
    "warn_of_moisture",
    "warn_of_no_board",
    "warn_of_thickness",
]

TITLE = "BOARDS TO SAW FROM"
RINGS = "AT A RING: HOW FAR ALONG THE BOARD FROM ITS LEFT END / HOW FAR IN FROM THE NEARER EDGE, MM."
CAUTIONS = (
    ("MEASURE THE BARS, ALONG AND ACROSS, BEFORE MARKING. DRAWN AT TRUE SIZE; MARK THE BOARD WITH A RULE FROM THE "
    "NUMBERS, THEN LAY THE PATTERN TO THEM."),
    ("LOOK AT BOTH FACES AND THE EDGES OF EACH BOARD FOR SHAKES, KNOTS AND SAPWOOD THAT ARE NOT DRAWN. HEART SIDE IN "
    "OR OUT BY THE HABIT OF THE YARD."),
    "A STOCK PLAN, NOT AN APPROVAL: EXTENT AND METHOD OF REPAIR ARE FOR THE SURVEYOR, CLASS OR FLAG AUTHORITY.",
    "SAWING, PLANING, SANDING: GUARDS ON, DUST DRAWN OFF. LONG BOARDS NEED A SECOND PERSON.",
)

LIST_TITLE = "BUYING LIST"
PAGE_CAUTIONS = (
    "DRAWN SMALL: NO PATTERN. MARK EACH BOARD WITH A RULE FROM ITS FIGURES, THEN LAY THE PATTERN TO THE MARKS.",
    *CAUTIONS[1:])


def list_heads() -> tuple[str, ...]:
    """Column headings of the buying list."""
    return "BOARD", "SPECIES", "T X W X L, MM", "BF, NHLA", "M3", "MOISTURE", "OUT OF IT"


def list_board(board: StockBoard, use: BoardUse) -> tuple[str, ...]:
    """A board's row of the buying list."""
    return (board.label.upper(), board.species.upper() or "ANY",
            "%g X %.0f X %.0f" % (round(board.thickness_mm, 1), board.width_mm, board.length_mm),
            "%g" % use.tally_feet, "%.4f" % use.cubic_metres,
            "NOT KNOWN" if board.moisture_percent is None else "%g %%" % board.moisture_percent,
            ", ".join(use.pieces).upper())


def name_board(board: StockBoard) -> str:
    """A board's name, the heading of its page."""
    return "BOARD %s" % board.label.upper()


RING_HEADS = ("RING", "ALONG FROM THE LEFT END, MM (IN)", "IN FROM THE EDGE THERE, MM (IN)", "OF")


def tell_ring(number: int, along_mm: float, in_mm: float, *, upper: bool, piece: str) -> tuple[str, ...]:
    """A line for one ring: its number, how far along in mm and in inches, how far in, and what it marks."""
    return ("%d" % number, "%.1f" % along_mm, "(%s)" % format_inches(along_mm).upper(), "%.1f" % in_mm,
            "(%s) %s" % (format_inches(in_mm).upper(), "UPPER" if upper else "LOWER"), piece.upper())


def tell_page_scale(ratio: float, kinds: Sequence[str]) -> str:
    """What the drawing of a board is; kinds : of the defects on it."""
    return "DRAWN 1:%g; NO PATTERN.%s" % (ratio, " CROSSED: %s." % ", ".join(kinds).upper() if kinds else "")


def foot_page(number: int, count: int, file_name: str, day: str) -> str:
    """Last line of a page."""
    words = ("PAGE %d OF %d" % (number, count), "FILE %s" % file_name if file_name else "", day)
    return "  ".join(word for word in words if word)


def describe_board(board: StockBoard) -> str:
    """A board in one line."""
    parts = [board.species, "%g x %.0f x %.0f mm" % (round(board.thickness_mm, 1), board.width_mm, board.length_mm),
             "drawn outline" if board.drawn else "",
             "moisture %g %%" % board.moisture_percent if board.moisture_percent is not None else "moisture not known"]
    return "%s: %s" % (board.label, ", ".join(p for p in parts if p))


def spell_slope(angle_deg: float) -> str:
    """The slope of the grain."""
    return "with the grain" if angle_deg < 0.3 else "1 in %.0f" % (1 / np.tan(np.radians(angle_deg)))


def _find_frame(piece, at_mm):
    """' at frame 9' for the station nearest to a place along the run, if it is no farther than the spacing of stations.
    """
    start, way = piece.run[0], piece.run[-1] - piece.run[0]
    long = float(np.hypot(*way))
    places = [(abs(float((np.mean(line, axis=0) - start) @ way) / long - at_mm), label)
              for label, line in piece.stations]
    return ", near frame %s" % min(places)[1] if places and min(places)[0] < 300 else ""


def name_part(piece: PlankPiece) -> str:
    """'PART 2: ', to precede a sentence on a part; '' for a whole plank."""
    return "PART %d: " % piece.part if piece.part else ""


def tell_board(place: Placement, board: StockBoard, beside: Sequence[str]) -> str:
    """The board a piece comes out of, and how it lies on it; beside : labels of other pieces out of it."""
    return "BOARD %s%s. TURNED %.2f DEGREES FROM ITS LENGTH%s. SPARE %s ALL ROUND AT THE LEAST." % (
        describe_board(board), " (with " + ", ".join(beside) + ")" if beside else "", place.turn_deg,
        ", HIDDEN SIDE UP" if place.turned_over else "", format_mm(max(place.spare_mm, 0.0)))


def tell_grain(place: Placement, piece: PlankPiece) -> str:
    """Where and how steeply the grain runs out of a piece."""
    return "GRAIN RUNS OUT %s AT THE WORST (%.1f DEGREES), %.0f MM ALONG FROM THE FORE END%s." % (
        spell_slope(place.runout_deg), place.runout_deg, place.runout_mm, _find_frame(piece, place.runout_mm))


def count_board(use: BoardUse) -> str:
    """A board's measures."""
    return "%.2f BF BY VOLUME, %g BF BY NHLA (SM %d), %.4f M3; WASTE %.0f %%" % (
        use.board_feet, use.tally_feet, use.surface_feet, use.cubic_metres, 100 * use.waste_share)


def tell_measure(use: BoardUse) -> str:
    """A board's measures, for the board with this label."""
    return "BOARD MEASURE OF %s: %s." % (use.board, count_board(use))


def tell_no_board(why: str) -> str:
    """A piece has no board; why : from tell_why."""
    return "NO BOARD: %s." % why


def tell_least_board(piece: PlankPiece, need: LeastBoard, settings: StockSettings) -> str:
    """The least board that the piece comes out of."""
    size = ", %s" % _spell_thick(piece).upper() if piece.stock_mm else ""
    return "LEAST BOARD: %s (%s) WIDE, %s LONG%s. SNY %s. OF LEAST AREA: %.0f X %.0f MM. %s." % (
        format_mm(need.width_mm), format_inches(need.width_mm), format_mm(need.length_mm, places=0), size,
        format_mm(need.sny_mm), need.area_width_mm, need.area_length_mm,
        "CLEAR OF EDGES %s, OF ENDS %s COUNTED; THE SHAPE IS THE %s"
        % (format_mm(settings.edge_mm), format_mm(settings.end_mm), piece.includes))


def _spell_thick(piece):
    return "%s thick (%s)" % (format_mm(piece.stock_mm), find_stock_size(piece.stock_mm, system="quarters")[0])


def tell_scarf(scarf: ScarfSaving, settings: StockSettings) -> str:
    """What one scarf would save; scarf : ScarfSaving."""
    if scarf.width_mm > 0.95 * scarf.whole_width_mm:
        return "A SCARF WOULD NOT LET A NARROWER BOARD SERVE"
    saved = "SAVES %.3f M2 OF BOARD" % (
        scarf.saved_mm2 / 1e6) if scarf.saved_mm2 > 0 else "COSTS %.3f M2 MORE OF BOARD" % (-scarf.saved_mm2 / 1e6)
    return ("A SCARF %g TO 1 (%.0f MM) WITH ITS MIDDLE %.0f MM FROM THE FORE END LETS BOARDS OF %.0f MM SERVE "
            "IN PLACE OF %.0f MM, AND %s. WHERE A JOINT MAY BE IS FOR THE BUTT RULE"
            % (settings.scarf_slope, scarf.length_mm, scarf.at_mm, scarf.width_mm, scarf.whole_width_mm, saved))


def tell_why(reason: str, piece: PlankPiece, need: LeastBoard) -> str:
    """Why a piece was not placed; reason : 'no-boards', 'species', 'thickness', 'size' or 'used'."""
    if reason == "thickness":
        return "no board is thick enough: it needs %.1f mm" % piece.stock_mm
    if reason == "size":
        return "no board that is thick enough takes it: it needs %.0f x %.0f mm clear of defects at the least" % (
            need.width_mm, need.length_mm)
    return {"no-boards": "no boards are given", "species": "no board is of the species asked for",
            "used": "the boards that take it are used for others"}[reason]


# doubts on the drawing

def warn_of_no_board(piece: PlankPiece, why: str) -> str:
    """A piece has no board."""
    return "%s has no board: %s." % ("Part %d" % piece.part if piece.part else "The plank", why)


def warn_of_grain(board: StockBoard, runout_deg: float, steepest: float) -> str:
    """The grain runs out too steeply."""
    return "Grain of board %s runs out %s here, steeper than 1 in %g." % (board.label, spell_slope(runout_deg),
                                                                          steepest)


def warn_of_thickness(board: StockBoard) -> str:
    """Nobody knows how thick the plank is to be."""
    return "Whether board %s is thick enough was not judged: the plank's thickness is not known." % board.label


def warn_of_moisture(board: StockBoard, advice: MoistureAdvice) -> str:
    """The board is too wet or too dry to hang."""
    return "Board %s: %s." % (board.label, advice.words)


def warn_of_hidden_side(board: StockBoard) -> str:
    """The pattern is to be turned over."""
    return "On board %s the plank lies with its hidden side up: turn the pattern over to mark it." % board.label


# summary, for the user and for the page of boards

def list_summary(plan: StockPlan, pieces: Sequence[PlankPiece], boards: Sequence[StockBoard]) -> tuple[str, ...]:
    """The summary of a plan."""
    if not boards:
        lines = ["No boards are given: this is what to buy."]
        for piece in pieces:
            need = plan.needs[piece.label]
            lines.append("%s: %.0f mm (%s) wide, %.0f mm long%s"
                         % (piece.label, need.width_mm, format_inches(need.width_mm), need.length_mm,
                            ", " + _spell_thick(piece) if piece.stock_mm else ""))
        return tuple(lines)
    lines = ["%d of %d pieces on %d of %d boards: %.2f board feet by volume, %g by NHLA, %.4f m3, waste %.0f %%" % (
        len(plan.placements), len(pieces), len(plan.uses), len(boards), sum(u.board_feet for u in plan.uses),
        sum(u.tally_feet for u in plan.uses),
        sum(u.cubic_metres for u in plan.uses), 100 * plan.waste_share)]
    lines += ["%s: %s" % (u.board, ", ".join(u.pieces)) for u in plan.uses]
    return tuple(lines + [tell_unplaced(*row) for row in plan.unplaced])


def tell_unplaced(label: str, why: str) -> str:
    """A piece that fits no board."""
    return "%s: no board, %s" % (label, why)


def tell_clearances(settings: StockSettings) -> str:
    """What pieces are kept clear of."""
    return "KERF %s BETWEEN PIECES. CLEAR OF EDGES%s %s, OF ENDS %s, OF DEFECTS %s%s." % (
        format_mm(settings.kerf_mm), "" if settings.use_sap else " AND SAPWOOD", format_mm(settings.edge_mm),
        format_mm(settings.end_mm), format_mm(settings.clear_mm), "" if settings.knots == "out"
        else "; SOUND KNOTS MAY LIE INSIDE, CLEAR OF EDGES, JOINTS AND FASTENINGS BY AS MUCH")


def tell_heading(board: StockBoard, use: BoardUse) -> str:
    """The lines above a board on its page."""
    return "BOARD %s.  %s.  GRAIN %s." % (describe_board(board).upper(), count_board(use), _spell_grain(board))


def _spell_grain(board):
    low, high = float(board.grain[:, 1].min()), float(board.grain[:, 1].max())
    if max(abs(low), abs(high)) < 0.05:
        return "ALONG THE BOARD"
    return "%+.1f DEGREES" % low if high - low < 0.05 else "%+.1f TO %+.1f DEGREES" % (low, high)


def name_piece(piece: PlankPiece, face: str, *, turned_over: bool) -> str:
    """A piece's name on its board, with the face that lies up."""
    return "%s   %s FACE UP%s" % (piece.label, face, "   PATTERN TURNED OVER" if turned_over else "")


# messages on progress

def report_singles(pieces: int, of: int, ways: int) -> str:
    """How many pieces fit a board on their own."""
    return "Stock: %d of %d pieces go on a board by themselves, in %d ways" % (pieces, of, ways)


def report_plan(number: int, of: int, boards: int, volume_mm3: float) -> str:
    """One plan of many."""
    return "Stock: plan %d of %d, %d boards, %.4f m3" % (number, of, boards, volume_mm3 / 1e9)


def report_all_ways(pieces: int, boards: int) -> str:
    """Few pieces: all ways are tried."""
    return "Stock: going through all ways of sharing out %d pieces over %d boards" % (pieces, boards)
