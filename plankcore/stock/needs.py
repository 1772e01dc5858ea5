"""What a piece asks of any board: the narrowest that serves, and whether one scarf would let narrower ones serve."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.convex import find_least_rectangle, find_least_width, measure_extents_mm
from ..geometry.separation import cut_polygon
from ..model.stock import LeastBoard, ScarfSaving

if TYPE_CHECKING:
    from .shapes import Outline, StockSettings

__all__ = ["find_least_board", "find_scarf"]

_CUTS = 41


def find_least_board(shape: Outline, settings: StockSettings) -> LeastBoard:
    """The least boards a piece can be got out of, the clearances asked for counted; exact (geometry/convex.py)."""
    across, along = 2 * settings.edge_mm, 2 * settings.end_mm
    narrow, area = find_least_width(shape.fine), find_least_rectangle(shape.fine)
    length, width = measure_extents_mm(shape.hull, 0.0)
    return LeastBoard(narrow.width_mm + across, narrow.length_mm + along, turn_deg=narrow.turn_deg,
                      along_width_mm=float(width[0]) + across,
                      along_length_mm=float(length[0]) + along,
                      area_width_mm=area.width_mm + across, area_length_mm=area.length_mm + along, sny_mm=shape.sny_mm)


def find_scarf(shape: Outline, settings: StockSettings, *, thickness_mm: float) -> ScarfSaving | None:
    """The one scarf that lets the narrowest boards serve for both parts.

    The plank is cut square to its baseline; both parts have the whole length of the scarf, its slope times the
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
    best = None
    for middle in np.linspace(first + 1.5 * long, last - 1.5 * long, _CUTS):
        parts = [cut_polygon(shape.fine, (middle + way * long / 2, 0.0), (way, 0.0)) for way in (1.0, -1.0)]
        boards = [find_least_width(p) for p in parts]
        widths, lengths = tuple(b.width_mm + across for b in boards), tuple(b.length_mm + along for b in boards)
        if best is None or (max(widths), sum(widths)) < (max(best[1]), sum(best[1])):
            best = (float(middle), widths, lengths)
    whole = find_least_width(shape.fine)
    wood = (whole.width_mm + across) * (whole.length_mm + along)
    start = shape.to_own[:, :2] @ shape.piece.run[0] + shape.to_own[:, 2]
    return ScarfSaving(best[0] - float(start[0]), long, width_mm=max(best[1]), widths_mm=best[1], lengths_mm=best[2],
                       saved_mm2=wood - sum(w * n for w, n in zip(best[1], best[2])),
                       whole_width_mm=whole.width_mm + across)
