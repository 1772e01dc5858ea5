"""A plank turned to take the least width of a roll or of rows of sheets; and the refusal of borders that leave too
little of them."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.convex import find_least_width
from ..geometry.strokes import flatten_strokes
from ..paper.blocks import letter_texts, move_block, move_line
from .plank import lay_plank, list_outlines, split_parts

if TYPE_CHECKING:
    from ..geometry.arrays import Matrix
    from ..model.drawing import SheetLine
    from ..model.page import PlankMatter, SheetBlock
    from .settings import MediumSettings

__all__ = ["check_edge", "turn_block", "turn_least"]


def turn_block(piece: SheetBlock) -> tuple[SheetBlock, Matrix]:
    """A piece turned so that it takes the least width, and the turn (2, 3)."""
    runs = [run for one in (*piece.lines, *letter_texts(piece.texts))
            for run in flatten_strokes(one.cubics, tolerance_mm=0.1)]
    least = find_least_width(np.concatenate(runs))
    assert least is not None                # None is possible only with a limited length
    a = np.radians(least.turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a), 0.0], [np.sin(a), np.cos(a), 0.0]])
    return move_block(piece, turn), turn


def turn_least(matter: PlankMatter) -> tuple[SheetBlock, list[SheetBlock], list[SheetLine]]:
    """A plank turned to its least width, with its parts beside it: (piece, tables, a piece with its outlines only)."""
    piece, tables, to_piece = lay_plank(matter)
    alone, _ = split_parts(piece)
    turn = turn_block(alone)[1]
    outlines = [move_line(move_line(one, to_piece), turn) for one in list_outlines(matter.plank, matter.saw)]
    return move_block(piece, turn), tables, outlines


def check_edge(medium: MediumSettings, *sides: float) -> None:
    """Refuse a border that leaves too little of a medium."""
    if not 0 <= medium.edge_mm < 0.25 * min(sides):
        raise SettingError("An edge of %g mm leaves too little of a medium %.0f mm wide." % (
            medium.edge_mm, min(sides)), "Give what the machine cannot reach, 0 to 50 mm or so.", "Edge")
