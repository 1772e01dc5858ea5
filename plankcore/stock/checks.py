"""A finished layout measured by itself, from the outlines alone: how much farther than asked each piece lies from all
it must keep clear of.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.ordered import list_distinct
from ..geometry.separation import (
    contains_polygon,
    list_sides,
    measure_gap_mm,
    measure_line_gap_mm,
    measure_point_gap_mm,
)

if TYPE_CHECKING:
    from typing import Sequence

    from .fitting import LaidPiece
    from .shapes import ReadyBoard, StockSettings

__all__ = ["measure_spare_mm"]


def measure_spare_mm(ready: ReadyBoard, spot: LaidPiece, others: Sequence[LaidPiece], settings: StockSettings) -> float:
    """Least distance of a piece from the board's sides, its defects and other pieces, each less what was asked for.

    Parameters
    ----------
    ready : ReadyBoard
    spot : LaidPiece
    others : sequence of LaidPiece
        What else lies on the board.
    settings : StockSettings

    Returns
    -------
    float
        mm; below 0 by what is lacking, where a piece crosses what it must not by the whole of what was asked.
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
