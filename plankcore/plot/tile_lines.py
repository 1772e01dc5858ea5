"""The straight line that tiles are laid by: every tile has a piece of it, with ticks, so that errors in laying do not
add up.

Tiles that are laid cross on cross turn a little at each join, and the turns add up to a bend. If they are laid along
one straight line, such as a wire or a chalk line, and by a single tape along it, each tile has only its own error. Each
row of tiles has its own line, parallel to the first at a given distance, so that a tile without neighbours is laid like
any other.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import draw_polyline
from ..model.drawing import SheetLine, SheetText
from ..paper.blocks import make_stroke

if TYPE_CHECKING:
    from typing import Sequence

    from .tiles import TilePlan

__all__ = ["RowLine", "draw_line", "name_row", "place_lines"]

TICK_MM, NAMED_MM = 10.0, 100.0
_FINE_MM = 3.0
_BAND_MM = 8.0            # height that the line, its ticks and figures take up


@dataclass(frozen=True)
class RowLine:
    """The line of one row of tiles.

    row : number of the row from the top; y_mm : its y on the plan; zero_mm : x of its tick 0, where the first tiles
    begin, the same for all rows; below_mm : distance below the first row's line; first_mm, last_mm : its outermost
    ticks on tiles that are kept.
    """

    row: int
    y_mm: float
    zero_mm: float
    below_mm: float
    first_mm: float
    last_mm: float


def name_row(row: int) -> str:
    """Letter of a row of tiles, from the top."""
    return chr(ord("A") + row % 26) * (1 + row // 26)


def _list_ticks(left, right, zero):
    """Distances of the ticks from tick 0 within a tile."""
    first, last = np.ceil((left - zero) / TICK_MM - 1e-6), np.floor((right - zero) / TICK_MM + 1e-6)
    return TICK_MM * np.arange(max(first, 0.0), last + 1.0)


def place_lines(plan: TilePlan, kept: Sequence[Sequence[int]], lines: Sequence[SheetLine]) -> dict[int, RowLine]:
    """The line of each row, placed in the middle half of its tiles where it covers least of what is drawn.

    Parameters
    ----------
    plan : TilePlan
    kept : collection of (column, row)
    lines : sequence of SheetLine
        What is drawn on the tiles, words as strokes.

    Returns
    -------
    dict
        Row to RowLine, for the rows that have tiles.
    """
    points = np.concatenate([np.asarray(one.cubics, float).reshape(-1, 2)[:, 1] for one in lines])
    zero, found, first_y = plan.lefts[0], {}, None
    for row in sorted({place[1] for place in kept}):
        tried = plan.tops[row] + plan.height_mm * (
            0.5 + np.array([0.0, *(s * k / 40 for k in range(1, 11) for s in (1, -1))]))
        covered = [int(np.count_nonzero(np.abs(points - y) < _BAND_MM)) for y in tried]
        y = float(tried[int(np.argmin(covered))])
        first_y = y if first_y is None else first_y
        ticks = np.concatenate([_list_ticks(plan.lefts[c], plan.lefts[c] + plan.width_mm, zero) for c, r in kept
                                if r == row])
        found[row] = RowLine(row, y, zero_mm=float(zero), below_mm=y - first_y, first_mm=float(ticks.min()),
                             last_mm=float(ticks.max()))
    return found


def draw_line(line: RowLine, left: float, width_mm: float) -> tuple[list[SheetLine], list[SheetText]]:
    """The piece of a row's line on one tile: lines, and the figures at its ticks.

    There is a tick every 10 mm, longer at 50, longest and with its figure at 100; a tile with fewer than two of these
    has figures at 50 too.
    """
    ticks, y = _list_ticks(left, left + width_mm, line.zero_mm), line.y_mm
    whole = [make_stroke((left, y), (left + width_mm, y), role="baseline", style="join",
                         values=(("row", name_row(line.row)), ("from_mm", float(ticks[0])),
                                 ("to_mm", float(ticks[-1])), ("below_mm", line.below_mm)))]
    words, told = [], NAMED_MM if np.count_nonzero(np.mod(ticks, NAMED_MM) == 0) > 1 else NAMED_MM / 2
    for tick in ticks:
        x = line.zero_mm + tick
        arm = 4.0 if tick % NAMED_MM == 0 else 2.5 if tick % (NAMED_MM / 2) == 0 else 1.2
        whole.append(SheetLine(draw_polyline([(x, y - arm), (x, y + arm)]), "draw", role="baseline-tick",
                               style="join", closed=False,
                               values=(("row", name_row(line.row)), ("distance_mm", float(tick)))))
        if tick % told == 0:
            text, anchor = "%d" % tick, "start"
            if x + 20.0 > left + width_mm:
                anchor = "end"
            words.append(SheetText(text, (float(x + (1.5 if anchor == "start" else -1.5)), float(y - 2.0)),
                                   height_mm=_FINE_MM,
                                   angle_deg=0.0, anchor=anchor, style="join"))
    return whole, words
