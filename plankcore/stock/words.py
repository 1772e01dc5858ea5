"""What is said of stock: rows for the sheet, doubts, and the tally of the boards."""
from __future__ import annotations

import numpy as np

from ..model.plank import Finding
from ..model.stock import BoardUse
from ..trade.lumber_measure import measure_board_feet, measure_cubic_metres, measure_hardwood
from ..trade.moisture import judge_hanging_moisture
from ..trade.thicknesses import find_stock_size
from ..units import format_inches, format_mm

__all__ = ["count_uses", "describe_board", "list_findings", "list_rows", "list_summary"]

def _find_board(plan, boards, label):
    place = next((p for p in plan.placements if p.piece == label), None)
    return place, None if place is None else next(b for b in boards if b.label == place.board)


def count_uses(placements, pieces, shapes, boards):
    """A BoardUse for each board used, as it comes: a drawn board by its mean width. Exact halves of a surface measure
    go up and down in turn.
    """
    uses, half = [], "up"
    for board in boards:
        here = [p for p in placements if p.board == board.label]
        if not here:
            continue
        mean = board.area_mm2 / board.length_mm
        tally = measure_hardwood(board.thickness_mm, mean, board.length_mm, half=half)
        if tally.surface_feet != measure_hardwood(board.thickness_mm, mean, board.length_mm,
                                                  half="down" if half == "up" else "up").surface_feet:
            half = "down" if half == "up" else "up"
        net = sum(s.area_mm2 for p, s in zip(pieces, shapes) if p.label in {h.piece for h in here})
        uses.append(BoardUse(board.label, tuple(h.piece for h in here),
                             measure_board_feet(board.thickness_mm, mean, board.length_mm), tally.surface_feet,
                             tally.board_feet,
                             measure_cubic_metres(board.thickness_mm, mean, board.length_mm),
                             1.0 - net / board.area_mm2))
    return tuple(uses)


def describe_board(board):
    """A board in one line."""
    parts = [board.species, "%g x %.0f x %.0f mm" % (round(board.thickness_mm, 1), board.width_mm, board.length_mm),
             "drawn outline" if board.drawn else "",
             "moisture %g %%" % board.moisture_percent if board.moisture_percent is not None else "moisture not known"]
    return "%s: %s" % (board.label, ", ".join(p for p in parts if p))


def _tell_slope(angle_deg):
    return "with the grain" if angle_deg < 0.3 else "1 in %.0f" % (1 / np.tan(np.radians(angle_deg)))


def _find_frame(piece, at_mm):
    """' at frame 9' for the station nearest to a place along the run, where there is one within its spacing."""
    start, way = piece.run[0], piece.run[-1] - piece.run[0]
    long = float(np.hypot(*way))
    places = [(abs(float((np.mean(line, axis=0) - start) @ way) / long - at_mm), label)
              for label, line in piece.stations]
    return ", near frame %s" % min(places)[1] if places and min(places)[0] < 300 else ""


def list_rows(piece, plan, boards, settings):
    """Rows of one piece for the sheet, a tuple of str in capitals."""
    place, board = _find_board(plan, boards, piece.label)
    need, scarf, rows = plan.needs[piece.label], plan.scarfs[piece.label], []
    head = "PART %d: " % piece.part if piece.part else ""
    if place is not None:
        use = next(u for u in plan.uses if u.board == board.label)
        beside = [p for p in use.pieces if p != piece.label]
        rows.append("%sBOARD %s%s. TURNED %.2f DEGREES FROM ITS LENGTH%s. SPARE %s ALL ROUND AT THE LEAST." % (
            head, describe_board(board), " (with " + ", ".join(beside) + ")" if beside else "", place.turn_deg,
            ", HIDDEN SIDE UP" if place.turned_over else "",
            format_mm(max(place.spare_mm, 0.0))))
        rows.append("%sGRAIN RUNS OUT %s AT THE WORST (%.1f DEGREES), %.0f MM ALONG FROM THE FORE END%s." % (
            head, _tell_slope(place.runout_deg), place.runout_deg, place.runout_mm,
            _find_frame(piece, place.runout_mm)))
        rows.append("%sBOARD MEASURE OF %s: %.2f BF BY VOLUME, %g BF BY NHLA (SM %d), %.4f M3; WASTE %.0f %%." % (
            head, board.label, use.board_feet, use.tally_feet, use.surface_feet, use.cubic_metres,
            100 * use.waste_share))
    else:
        rows.append("%sNO BOARD: %s." % (head, next(why for label, why in plan.unplaced if label == piece.label)))
    size = ""
    if piece.stock_mm:
        name, _ = find_stock_size(piece.stock_mm, system="quarters")
        size = ", %s THICK (%s)" % (format_mm(piece.stock_mm), name)
    rows.append("%sLEAST BOARD: %s (%s) WIDE, %s LONG%s. SNY %s. OF LEAST AREA: %.0f X %.0f MM. %s." % (
        head, format_mm(need.width_mm), format_inches(need.width_mm), format_mm(need.length_mm, places=0), size,
        format_mm(need.sny_mm), need.area_width_mm, need.area_length_mm,
        "CLEAR OF EDGES %s, OF ENDS %s COUNTED; THE SHAPE IS THE %s"
        % (format_mm(settings.edge_mm), format_mm(settings.end_mm), piece.includes)))
    if scarf is not None:
        rows.append(_tell_scarf(scarf, settings))
    return tuple(r.upper() for r in rows)


def _tell_scarf(scarf, settings):
    if scarf.width_mm > 0.95 * scarf.whole_width_mm:
        return "A SCARF WOULD NOT LET A NARROWER BOARD SERVE"
    saved = "SAVES %.3f M2 OF BOARD" % (
        scarf.saved_mm2 / 1e6) if scarf.saved_mm2 > 0 else "COSTS %.3f M2 MORE OF BOARD" % (-scarf.saved_mm2 / 1e6)
    return ("A SCARF %g TO 1 (%.0f MM) WITH ITS MIDDLE %.0f MM FROM THE FORE END LETS BOARDS OF %.0f MM SERVE "
            "IN PLACE OF %.0f MM, AND %s. WHERE A JOINT MAY BE IS FOR THE BUTT RULE"
            % (settings.scarf_slope, scarf.length_mm, scarf.at_mm, scarf.width_mm, scarf.whole_width_mm, saved))


def list_findings(piece, plan, boards, settings):
    """Doubts about one piece's stock."""
    found = []
    place, board = _find_board(plan, boards, piece.label)
    middle = tuple(float(v) for v in piece.run[len(piece.run) // 2])
    who = "Part %d" % piece.part if piece.part else "The plank"
    if place is None:
        if boards:
            found.append(Finding("%s has no board: %s."
                                 % (who, next(why for label, why in plan.unplaced if label == piece.label)), middle))
        return tuple(found)
    if settings.steepest and np.tan(np.radians(place.runout_deg)) > 1 / settings.steepest:
        found.append(Finding("Grain of board %s runs out %s here, steeper than 1 in %g."
                             % (board.label, _tell_slope(place.runout_deg), settings.steepest), place.runout_at))
    if not piece.stock_mm:
        found.append(Finding("Whether board %s is thick enough was not judged: the plank's thickness is not known."
                             % board.label))
    if board.moisture_percent is not None:
        advice = judge_hanging_moisture(board.moisture_percent)
        if advice.verdict != "ok":
            found.append(Finding("Board %s: %s." % (board.label, advice.words)))
    if place.turned_over:
        found.append(Finding("On board %s the plank lies with its hidden side up: turn the pattern over to mark it."
                             % board.label))
    return tuple(found)


def list_summary(plan, pieces, boards, settings):
    """What is said of the whole."""
    if not boards:
        lines = ["No boards are given: this is what to buy."]
        for piece in pieces:
            need = plan.needs[piece.label]
            size = "" if not piece.stock_mm else ", %s thick (%s)" % (
                format_mm(piece.stock_mm), find_stock_size(piece.stock_mm, system="quarters")[0])
            lines.append("%s: %.0f mm (%s) wide, %.0f mm long%s"
                         % (piece.label, need.width_mm, format_inches(need.width_mm), need.length_mm, size))
        return tuple(lines)
    lines = ["%d of %d pieces on %d of %d boards: %.2f board feet by volume, %g by NHLA, %.4f m3, waste %.0f %%" % (
        len(plan.placements), len(pieces), len(plan.uses), len(boards), sum(u.board_feet for u in plan.uses),
        sum(u.tally_feet for u in plan.uses),
        sum(u.cubic_metres for u in plan.uses), 100 * plan.waste_share)]
    lines += ["%s: %s" % (u.board, ", ".join(u.pieces)) for u in plan.uses]
    lines += ["%s: no board, %s" % row for row in plan.unplaced]
    return tuple(lines)
