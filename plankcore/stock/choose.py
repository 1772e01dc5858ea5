"""Boards for planks: the least board that each needs, how they are laid on the boards at hand, and an independent check
of the layout."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import list_distinct
from ..geometry.convex import find_least_rectangle, find_least_width, measure_extents_mm
from ..geometry.polyline import (
    contains_polygon,
    cut_polygon,
    list_sides,
    measure_gap_mm,
    measure_line_gap_mm,
    measure_point_gap_mm,
)
from ..model.stock import LeastBoard, Placement, ScarfSaving, StockPlan
from ..model.typed import refuse_outside, refuse_unknown
from .drawing import draw_boards
from .facts import count_uses, list_facts, list_findings
from .packing import Packer
from .pages import BOARD_PAGES, draw_board_pages
from .shapes import KNOT_RULES, LAYS, Outline, ReadyBoard, StockSettings
from .sharing import share_out
from .words import list_summary, tell_why

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.stock import PlankPiece, StockBoard
    from .fitting import LaidPiece

__all__ = [
    "BOARD_PAGES",
    "KNOT_RULES",
    "LAYS",
    "StockSettings",
    "choose_stock",
    "draw_board_pages",
    "draw_boards",
    "find_least_board",
    "find_scarf",
    "measure_spare_mm",
]

_CUTS = 41


def find_least_board(shape: Outline, settings: StockSettings) -> LeastBoard:
    """The least boards that a piece comes out of with the clearances asked for; exact (geometry/convex.py)."""
    across, along = 2 * settings.edge_mm, 2 * settings.end_mm
    narrow, area = find_least_width(shape.fine), find_least_rectangle(shape.fine)
    length, width = measure_extents_mm(shape.hull, 0.0)
    return LeastBoard(narrow.width_mm + across, narrow.length_mm + along, turn_deg=narrow.turn_deg,
                      along_width_mm=float(width[0]) + across,
                      along_length_mm=float(length[0]) + along,
                      area_width_mm=area.width_mm + across, area_length_mm=area.length_mm + along, sny_mm=shape.sny_mm)


def find_scarf(shape: Outline, settings: StockSettings, *, thickness_mm: float) -> ScarfSaving | None:
    """The single scarf with which the narrowest boards are enough for both parts.

    The plank is cut square to its baseline; both parts include the whole length of the scarf, its slope times the
    thickness.

    Returns
    -------
    ScarfSaving or None
        None where the plank is too short for one, or its thickness is not known.
    """
    long = settings.scarf_slope * thickness_mm
    x = shape.points[:, 0]
    first, last = float(x.min()), float(x.max())
    if long <= 0 or last - first < 4 * long:
        return None
    across, along = 2 * settings.edge_mm, 2 * settings.end_mm
    cuts = []
    for middle in np.linspace(first + 1.5 * long, last - 1.5 * long, _CUTS):
        parts = [cut_polygon(shape.fine, (middle + way * long / 2, 0.0), (way, 0.0)) for way in (1.0, -1.0)]
        boards = [find_least_width(p) for p in parts]
        widths, lengths = tuple(b.width_mm + across for b in boards), tuple(b.length_mm + along for b in boards)
        cuts.append((float(middle), widths, lengths))
    best = min(cuts, key=lambda cut: (max(cut[1]), sum(cut[1])))
    whole = find_least_width(shape.fine)
    wood = (whole.width_mm + across) * (whole.length_mm + along)
    start = shape.to_own[:, :2] @ shape.piece.run[0] + shape.to_own[:, 2]
    return ScarfSaving(best[0] - float(start[0]), long, width_mm=max(best[1]), widths_mm=best[1], lengths_mm=best[2],
                       saved_mm2=wood - sum(w * n for w, n in zip(best[1], best[2])),
                       whole_width_mm=whole.width_mm + across)


def measure_spare_mm(ready: ReadyBoard, spot: LaidPiece, others: Sequence[LaidPiece], settings: StockSettings) -> float:
    """Least distance of a piece from the board's sides, its defects and other pieces, each minus the clearance asked
    for.

    Parameters
    ----------
    ready : ReadyBoard
    spot : LaidPiece
    others : sequence of LaidPiece
        The other pieces on the board.
    settings : StockSettings

    Returns
    -------
    float
        mm; negative by the clearance that is lacking, which is all of it where a piece overlaps something.
    """
    outline = spot.find_points()
    own, (start, end) = list_sides(outline), list_sides(ready.board.outline)
    spare = [np.inf]
    inside = contains_polygon(ready.board.outline, outline)
    for clear in list_distinct(ready.clear_mm):
        these = ready.clear_mm == clear
        spare.append((measure_line_gap_mm(own, (start[these], end[these])) if inside else 0.0) - float(clear))
    places = spot.shape.clear @ spot.shape.find_map(spot.turn_deg, spot.over).T + (spot.x_mm, spot.y_mm)
    for blot in ready.blots:
        if blot.inside and contains_polygon(outline, blot.outline):
            spare.append(measure_line_gap_mm(own, list_sides(blot.outline)) - settings.clear_mm)
            if len(places):
                spare.append(measure_point_gap_mm(blot.outline, places) - settings.clear_mm)
        else:
            spare.append(measure_gap_mm(outline, blot.outline) - settings.clear_mm)
    spare += [measure_gap_mm(outline, other.find_points()) - settings.kerf_mm for other in others]
    return float(min(spare))


_THIN_MM = 0.05           # a board that is too thin by no more than this is accepted
_NEAR_MM = 0.1            # clearances may be short by this
_MOST_PLANS = 4


def choose_stock(pieces: Sequence[PlankPiece], boards: Sequence[StockBoard], *,
                 settings: StockSettings = StockSettings(), progress: Any = lambda text: None) -> StockPlan:
    """Lay pieces on boards.

    Parameters
    ----------
    pieces : sequence of PlankPiece
    boards : sequence of StockBoard
        Without any, only the list of what to buy is made.
    settings : StockSettings
    progress : callable
        progress(text) is called as the work goes on.

    Returns
    -------
    StockPlan

    Raises
    ------
    SettingError
        If a setting cannot be used.

    Notes
    -----
    One piece on one empty rectangular board without defects gets the best possible turn (geometry/convex.py).
    Everything else is a search, which may miss a better place, but never takes one that does not fit: each is checked
    again from the outlines alone.
    """
    _check_settings(settings)
    shapes = [Outline(p) for p in pieces]
    needs = {p.label: find_least_board(s, settings) for p, s in zip(pieces, shapes)}
    scarfs = {p.label: None if p.part else find_scarf(s, settings, thickness_mm=p.finished_mm or p.stock_mm)
              for p, s in zip(pieces, shapes)}
    ready = [ReadyBoard(b, settings) for b in boards]
    fault = np.array([[_find_fault(p, b, settings) for b in boards] for p in pieces],
                     object).reshape(len(pieces), len(boards))
    packer = Packer(ready, shapes, settings, fault == "")
    placements, unplaced = _place(packer, ready, settings, progress) if boards else [], []
    done = {p.piece for p in placements}
    for k, piece in enumerate(pieces):
        if piece.label not in done:
            why = _find_why(k, packer, boards, fault)
            unplaced.append((piece.label, tell_why(why, piece, needs[piece.label])))
    uses = count_uses(placements, pieces, shapes, boards)
    used = [b for b in boards if b.label in {u.board for u in uses}]
    wood = sum(b.volume_mm3 for b in used)
    net = sum(s.area_mm2 * next(b.thickness_mm for b in boards if b.label == p.board) for s in shapes
              for p in placements if p.piece == s.piece.label)
    plan = StockPlan(tuple(placements), tuple(unplaced), uses=uses, needs=needs, scarfs=scarfs, facts={}, findings={},
                     volume_mm3=wood,
                     waste_share=1.0 - net / wood if wood else 0.0)
    facts = {p.label: list_facts(p, plan, boards, settings) for p in pieces}
    findings = {p.label: list_findings(p, plan, boards, settings) for p in pieces}
    return StockPlan(plan.placements, plan.unplaced, uses=plan.uses, needs=needs, scarfs=scarfs, facts=facts,
                     findings=findings, volume_mm3=plan.volume_mm3,
                     waste_share=plan.waste_share, summary=list_summary(plan, pieces, boards))


def _place(packer, ready, settings, progress):
    """Placements of the plan; if the check shows that one does not fit, it is ruled out and another plan is made."""
    for _ in range(_MOST_PLANS):
        shared, placements, sound = share_out(packer, progress=progress), [], True
        for board in sorted(shared):
            spots = packer.settle(board, shared[board])
            told = [_tell_placement(ready[board], spot, [s for s in spots if s is not spot], settings)
                    for spot in spots]
            if min(t.spare_mm for t in told) < -_NEAR_MM:
                packer.refuse(board, shared[board])
                sound = False
            else:
                placements += told
        if sound:
            break
    return placements


def _check_settings(settings):
    for value, low, high, field in (
            (settings.kerf_mm, 0, 50, "Kerf"), (settings.edge_mm, 0, 300, "Clear of the board's edges"),
            (settings.end_mm, 0, 1000, "Clear of the board's ends"),
            (settings.clear_mm, 0, 300, "Clear of defects"), (settings.most_turn_deg, 0, 25, "Most turn"),
            (settings.steepest, 0, 100, "Warn of grain running out"),
            (settings.scarf_slope, 4, 20, "Scarf to try"), (settings.tries, 0, 200, "Tries"),
            (settings.seed, 0, 2 ** 31, "Seed")):
        refuse_outside(value, low, high, problem="%g cannot be used.", remedy="Give %g to %g." % (low, high),
                       field=field)
    for value, known, field in ((settings.knots, KNOT_RULES, "Knots"), (settings.lay, LAYS, "Lay a plank")):
        refuse_unknown(value, known, field=field)


def _find_fault(piece, board, settings):
    """Reason why a board cannot be used for a piece, before trying to lay it; '' where it can."""
    if settings.species and board.species.strip().lower() != settings.species.strip().lower():
        return "species"
    return "thickness" if piece.stock_mm > board.thickness_mm + _THIN_MM else ""


def _tell_placement(ready, spot, others, settings):
    runout, _at = spot.shape.measure_runout_deg(ready.board, spot.turn_deg, spot.over, (spot.x_mm, spot.y_mm))
    worst = int(np.argmax(np.round(runout, 6)))
    own = spot.shape.to_own
    page = (spot.shape.run[worst] - own[:, 2]) @ own[:, :2]
    turn = (spot.turn_deg + 90.0) % 180.0 - 90.0
    return Placement(spot.shape.piece.label, ready.board.label, to_board=spot.find_to_board(), turn_deg=turn,
                     turned_over=spot.over,
                     spare_mm=measure_spare_mm(ready, spot, others, settings), runout_deg=float(runout[worst]),
                     runout_mm=float(spot.shape.run_mm[worst]), runout_at=(float(page[0]), float(page[1])))


def _find_why(k, packer, boards, fault):
    """Key of the reason why a piece was not placed, for words.tell_why."""
    if not boards:
        return "no-boards"
    if all(fault[k] == "species"):
        return "species"
    if all(fault[k] != ""):
        return "thickness"
    return "used" if any(packer.pack(b, (k,)) is not None for b in range(len(boards))) else "size"
