"""The tally of the boards that are used, as lumber is measured."""
from __future__ import annotations

from ..model.stock import BoardUse
from ..trade.lumber_measure import measure_board_feet, measure_cubic_metres, measure_hardwood

__all__ = ["count_uses"]


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
                             board_feet=measure_board_feet(board.thickness_mm, mean, board.length_mm),
                             surface_feet=tally.surface_feet,
                             tally_feet=tally.board_feet,
                             cubic_metres=measure_cubic_metres(board.thickness_mm, mean, board.length_mm),
                             waste_share=1.0 - net / board.area_mm2))
    return tuple(uses)
