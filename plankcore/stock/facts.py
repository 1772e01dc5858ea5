"""What Choose Stock found of each piece, as facts, its doubts, and the tally of the boards used."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.drawing import Fact, Place
from ..model.plank import Finding
from ..model.stock import BoardUse
from ..trade.lumber_measure import measure_board_feet, measure_cubic_metres, measure_hardwood
from ..trade.moisture import judge_hanging_moisture
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.stock import Placement, PlankPiece, StockBoard, StockPlan
    from .shapes import Outline, StockSettings

__all__ = ["count_uses", "list_facts", "list_findings"]


def count_uses(placements: Sequence[Placement], pieces: Sequence[PlankPiece], shapes: Sequence[Outline],
               boards: Sequence[StockBoard]) -> tuple[BoardUse, ...]:
    """A BoardUse for each board used, measured whole; a drawn board by its mean width. Exact halves of a surface
    measure are rounded up and down alternately."""
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
                             board_feet=measure_board_feet(board.thickness_mm, mean, board.length_mm),
                             surface_feet=tally.surface_feet,
                             tally_feet=tally.board_feet,
                             cubic_metres=measure_cubic_metres(board.thickness_mm, mean, board.length_mm),
                             waste_share=1.0 - net / board.area_mm2))
    return tuple(uses)


def _find_board(plan, boards, label):
    place = next((p for p in plan.placements if p.piece == label), None)
    return place, None if place is None else next(b for b in boards if b.label == place.board)


def _is_steep(place, settings):
    return bool(settings.steepest) and np.tan(np.radians(place.runout_deg)) > 1 / settings.steepest


def list_facts(piece: PlankPiece, plan: StockPlan, boards: Sequence[StockBoard],
               settings: StockSettings) -> tuple[Fact, ...]:
    """Facts of one piece, a tuple of Fact, in the order in which the sheet prints them."""
    place, board = _find_board(plan, boards, piece.label)
    found = _list_placed(piece, plan, place=place, board=board, settings=settings) if place is not None else [
        Fact("board", words.tell_no_board(dict(plan.unplaced)[piece.label]),
             verdict="fails" if boards else "not judged")]
    need, scarf = plan.needs[piece.label], plan.scarfs[piece.label]
    found.append(Fact("least-board", words.tell_least_board(piece, need, settings), number=need.width_mm, unit="mm"))
    found.append(Fact("sny", number=need.sny_mm, unit="mm"))
    if scarf is not None:
        found.append(Fact("scarf", words.tell_scarf(scarf, settings), number=scarf.width_mm, unit="mm",
                          limit=scarf.whole_width_mm))
    return tuple(_head(fact, piece) for fact in found)


def _head(fact, piece):
    """A sentence in capitals, with the part that it is on; a sentence on a possible scarf is on the whole plank."""
    head = "" if fact.key == "scarf" or not fact.words else words.name_part(piece)
    return Fact(**{**vars(fact), "words": (head + fact.words).upper()})


def _list_placed(piece, plan, place, board, settings):
    use = next(u for u in plan.uses if u.board == board.label)
    beside = [p for p in use.pieces if p != piece.label]
    return [Fact("board", words.tell_board(place, board, beside), verdict="holds", number=place.spare_mm, unit="mm",
                 about=board.label),
            Fact("grain", words.tell_grain(place, piece), verdict="doubt" if _is_steep(place, settings) else "holds",
                 number=place.runout_deg, unit="deg", place=Place("", "", place.runout_mm),
                 limit=float(np.degrees(np.arctan(1 / settings.steepest))) if settings.steepest else None),
            Fact("board-measure", words.tell_measure(use), number=use.board_feet, unit="board feet", about=board.label)]


def list_findings(piece: PlankPiece, plan: StockPlan, boards: Sequence[StockBoard],
                  settings: StockSettings) -> tuple[Finding, ...]:
    """Doubts about one piece's stock, for the drawing."""
    place, board = _find_board(plan, boards, piece.label)
    if place is None:
        middle = tuple(float(v) for v in piece.run[len(piece.run) // 2])
        why = dict(plan.unplaced)[piece.label]
        return (Finding(words.warn_of_no_board(piece, why), middle, "no-board"),) if boards else ()
    found = []
    if _is_steep(place, settings):
        found.append(Finding(words.warn_of_grain(board, place.runout_deg, settings.steepest), place.runout_at, "grain",
                             number=place.runout_deg, unit="deg",
                             limit=float(np.degrees(np.arctan(1 / settings.steepest)))))
    if not piece.stock_mm:
        found.append(Finding(words.warn_of_thickness(board), key="thickness-not-known"))
    if board.moisture_percent is not None:
        advice = judge_hanging_moisture(board.moisture_percent)
        if advice.verdict != "ok":
            found.append(Finding(words.warn_of_moisture(board, advice), None, "moisture", number=board.moisture_percent,
                                 unit="percent"))
    if place.turned_over:
        found.append(Finding(words.warn_of_hidden_side(board), key="hidden-side"))
    return tuple(found)
