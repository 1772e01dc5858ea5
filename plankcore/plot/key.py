"""The first pages of a set of tiles: words, key plan, how to lay the tiles and check them; bars as long as the page."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import measure_extent
from ..model.page import Page
from ..paper.bars import lay_page_bars
from ..paper.blocks import join_blocks, letter_texts, measure_block, move_block
from ..units import format_inches
from .tile_lines import name_row
from .tiles import draw_plan, name_tile
from .title import TitleRow, lay_rows, list_cautions, list_details, list_heading

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..model.drawing import SheetLine
    from ..model.page import PlankMatter
    from .sheet import SheetSettings
    from .tile_lines import RowLine
    from .tiles import TilePlan

__all__ = ["lay_key", "tell_scale"]

_SIZES = (1.0, 0.8, 0.6)  # sizes of the lettering: the largest with which all is on one page is used, else the smallest


def tell_scale(scale: int) -> str:
    """'1:16 (3/4 IN TO THE FOOT)'."""
    return "1:%d (%s TO THE FOOT)" % (scale, format_inches(12 * 25.4 / scale).upper())


def _list_line_rows(plan, kept, rows, ends_mm):
    """How to lay the tiles, and how to check that they lie straight."""
    order = [rows[row] for row in sorted(rows)]
    zero, first, last = order[0].zero_mm, min(line.first_mm for line in order), max(line.last_mm for line in order)
    lines = "LINE A" if len(order) == 1 else "THE LINE OF ITS ROW"
    told = [TitleRow("LAY EVERY TILE BY ONE STRAIGHT LINE, NOT BY ITS NEIGHBOUR: STRETCH A THIN WIRE, OR STRIKE A "
                     "CHALK LINE, %d MM LONG OR MORE, AND LAY ALONG IT ONE STEEL TAPE THAT STAYS. EACH TILE LIES "
                     "RIGHT WHEN %s IS UNDER THE WIRE AT BOTH ENDS OF THE TILE AND ITS TICKS ARE AT THEIR FIGURES ON "
                     "THE TAPE. SLIPS IN LAYING TILE ON TILE ADD UP TO A BEND; THESE DO NOT." % (last - first, lines),
                     4.0)]
    for line in order[1:]:
        told.append(TitleRow("LINE %s IS PARALLEL TO LINE %s, %.1f MM BELOW IT: SET IT OFF AT BOTH ENDS, TICK UNDER "
                             "TICK, FROM %d TO %d." % (name_row(line.row), name_row(order[0].row), line.below_mm,
                                                       line.first_mm, line.last_mm), 4.0))
    told.append(TitleRow("PROVE IT.  STRAIGHT: THE WIRE COVERS %s AT EVERY TICK.  LENGTH: FROM TICK %d TO TICK %d "
                         "ARE %.1f MM BY ONE TAPE; THE LINE TO CUT BEGINS AT %.1f AND ENDS AT %.1f MM."
                         % (lines, first, last, last - first, ends_mm[0] - zero, ends_mm[1] - zero), 4.0))
    side, deep = plan.width_mm, plan.height_mm
    told.append(TitleRow("EACH TILE: DASHED EDGES %.1f X %.1f MM, BOTH DIAGONALS %.1f MM; DIAGONALS THAT DIFFER SAY "
                         "THAT THE MACHINE LEANS." % (side, deep, np.hypot(side, deep)), 4.0))
    return told


def _list_join_rows(joins):
    if not joins:
        return []
    rows = [TitleRow("CROSSES PROVE THE JOINS: BOTH CROSSES OF EVERY JOIN COVER EACH OTHER, PRICKED THROUGH OR "
                     "AGAINST THE LIGHT, OR NEARLY; WHERE THEY AND THE WIRE DISAGREE, THE WIRE HOLDS. "
                     "CUT ONE TILE AT ITS DASHED EDGE WHERE IT HINDERS. FROM CROSS TO CROSS:", 4.0)]
    told = ["JOIN %d, %s TO %s: %.1f MM" % (j.number, name_tile(j.first), name_tile(j.second), j.apart_mm)
            for j in joins]
    rows.append(TitleRow(".  ".join(told) + ".", 4.0))
    upright = sorted((j for j in joins if j.upright), key=lambda j: j.crosses[0][0])
    if len(upright) > 1:
        first, last = upright[0], upright[-1]
        ends = [("%d%s" % (j.number, chr(ord("A") + k)), j.crosses[k]) for j in (first, last)
                for k in (0, len(j.crosses) - 1)]
        told = ["%s TO %s %.1f" % (a[0], b[0], np.hypot(*np.subtract(a[1], b[1])))
                for a, b in ((ends[0], ends[3]), (ends[1], ends[2]))]
        rows.append(TitleRow("ALL JOINED, THE LONG DIAGONALS, CROSS TO CROSS: %s MM. THEY PROVE THE ENDS, AND SAY "
                             "NOTHING OF A BEND BETWEEN: THAT IS FOR THE WIRE." % ", ".join(told), 4.0))
    elif len(joins) > 1:
        first, last = joins[0], joins[-1]
        rows.append(TitleRow("ALL JOINED: FROM CROSS %dA TO CROSS %dA %.1f MM." % (
            first.number, last.number, np.hypot(*np.subtract(first.crosses[0], last.crosses[0]))), 4.0))
    return rows


def lay_key(matter: PlankMatter, outlines: Sequence[SheetLine], plan: TilePlan, kept: Any, *, joins: Any,
            rows: Mapping[int, RowLine], room_mm: Sequence[float], page_mm: Sequence[float], edge_mm: float,
            title: str, settings: SheetSettings) -> list[Page]:
    """Pages of words and key plan.

    Parameters
    ----------
    outlines : sequence of SheetLine
        The plank's outlines in the places of the tiles, the one to cut first.
    rows : dict
        Row to the RowLine that its tiles are laid by.
    room_mm : (float, float)
        What may be drawn on; inf below for a roll.
    page_mm : (float, float)
        Size of the paper; a height of inf becomes the height needed.

    Returns
    -------
    list of Page
    """
    bars = lay_page_bars(room_mm[0], room_mm[1] if np.isfinite(room_mm[1]) else 300.0)
    for size in _SIZES:
        blocks = _list_blocks(matter, outlines, plan=plan, kept=kept, joins=joins, rows=rows, wide=bars.beside_mm,
                              tall=room_mm[1], size=size, settings=settings)
        columns = _flow(blocks, bars.above_mm, room_mm[1])
        if len(columns) == 1:
            break
    columns[0].append(bars.piece)
    pages = []
    for number, column in enumerate(columns, 1):
        whole = move_block(join_blocks(*column), np.array([[1.0, 0.0, edge_mm], [0.0, 1.0, edge_mm]]))
        height = page_mm[1] if np.isfinite(page_mm[1]) else measure_block(whole)[1][1] + edge_mm
        pages.append(Page("KEY" if len(columns) == 1 else "KEY %d" % number, float(page_mm[0]), height_mm=float(height),
                          lines=(*whole.lines, *letter_texts(whole.texts)), title=title))
    return pages


def _list_blocks(matter, outlines, *, plan, kept, joins, rows, wide, tall, size, settings):
    """Pieces that are kept whole, each with the clear paper above it."""
    blocks = []

    def add_rows(rows, above=0.0):
        pieces, bottoms = lay_rows(rows, wide, size=size)
        for piece, bottom, before in zip(pieces, bottoms, [0.0, *bottoms[:-1]]):
            blocks.append((move_block(piece, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -bottom]])),
                           bottom - before + above))
            above = 0.0
    add_rows(list_heading(matter))
    drawn, scale = draw_plan(outlines, plan, kept, rows, room_mm=wide, tall_mm=min(0.4 * tall, 250.0))
    drop = measure_block(drawn)[1][1]
    add_rows([TitleRow("KEY PLAN %s. TILES %s TO %s, DASHED."
                       % (tell_scale(scale), name_tile(kept[0]), name_tile(kept[-1])), 4.0)], 4.0)
    blocks.append((move_block(drawn, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -drop]])), drop + 4.0))
    ends = measure_extent(outlines[0].cubics)
    add_rows(_list_line_rows(plan, kept, rows, (ends[0][0], ends[1][0])) + _list_join_rows(joins), 4.0)
    add_rows(list_cautions(settings) + list_details(matter), 4.0)
    return blocks


def _flow(blocks, first_tall, tall):
    """Blocks one below the other, with a new column where the next does not fit: lists of placed pieces. The first
    column has its own height."""
    columns, y = [[]], 0.0
    for piece, height in blocks:
        if columns[-1] and y + height > (first_tall if len(columns) == 1 else tall):
            columns.append([])
            y = 0.0
        y += height
        columns[-1].append(move_block(piece, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, y]])))
    return columns
