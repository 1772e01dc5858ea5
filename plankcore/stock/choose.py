"""Choosing stock: which boards the planks come out of, how they lie on them, and what that costs.

First as many pieces as can be are placed, then the wood of the boards used is as little as can be, then the grain runs
out as little as can be.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.ranges import refuse_outside, refuse_unknown
from ..model.stock import Placement, StockPlan
from .checks import measure_spare_mm
from .drawing import draw_boards
from .facts import list_facts, list_findings
from .needs import find_least_board, find_scarf
from .packing import Packer
from .shapes import KNOT_RULES, LAYS, Outline, ReadyBoard, StockSettings
from .sharing import share_out
from .tally import count_uses
from .words import list_summary, tell_why

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.stock import PlankPiece, StockBoard

__all__ = ["KNOT_RULES", "LAYS", "StockSettings", "choose_stock", "draw_boards"]

_THIN_MM = 0.05           # a board this little too thin is thick enough
_NEAR_MM = 0.1            # what a piece may lie nearer than asked
_MOST_PLANS = 4


def choose_stock(pieces: Sequence[PlankPiece], boards: Sequence[StockBoard], *,
                 settings: StockSettings = StockSettings(), progress: Any = lambda text: None) -> StockPlan:
    """Lay pieces on boards.

    Parameters
    ----------
    pieces : sequence of PlankPiece
    boards : sequence of StockBoard
        None of them gives the list of what to buy alone.
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
    One piece on one empty rectangular board without defects lies at the best turn there is (geometry/convex.py); all
    else is a search, by which a better place can be missed, and never one that does not fit be taken: each is measured
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
    """Placements of the plan; one that is found not to fit, when it is measured again, is refused and another plan
    made.
    """
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
    """Why a board will not do for a piece, before anything is laid on it; '' where it may."""
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
    """Why a piece was not placed, as words.tell_why takes it."""
    if not boards:
        return "no-boards"
    if all(fault[k] == "species"):
        return "species"
    if all(fault[k] != ""):
        return "thickness"
    return "used" if any(packer.pack(b, (k,)) is not None for b in range(len(boards))) else "size"
