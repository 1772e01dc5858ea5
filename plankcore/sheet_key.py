"""The first pages of a set of tiles: words, key plan, the joins in numbers, and bars, set one below the other and broken onto further pages."""
from __future__ import annotations

import numpy as np

from .plot_model import Page
from .sheet_bars import lay_bars
from .sheet_pieces import join_pieces, letter_texts, measure_piece, move_piece
from .sheet_title import TitleRow, lay_rows, list_cautions, list_details, list_heading
from .tiling import draw_plan, name_tile
from .units import format_inches

__all__ = ["lay_key", "tell_scale"]

_SIZES = (1.0, 0.8, 0.6)      # of the lettering: the largest that keeps all on one page, or the smallest


def tell_scale(scale):
    """'1:16 (3/4 IN TO THE FOOT)'."""
    return "1:%d (%s TO THE FOOT)" % (scale, format_inches(12 * 25.4 / scale).upper())


def _list_join_rows(joins):
    rows = [TitleRow("LAY TILE ON TILE SO THAT BOTH CROSSES OF EVERY JOIN COVER EACH OTHER, PRICKED THROUGH OR AGAINST THE LIGHT; ONE ALONE PROVES NO ANGLE. "
                     "CUT ONE TILE AT ITS DASHED EDGE WHERE IT HINDERS. MEASURE FROM CROSS TO CROSS:", 4.0)]
    told = ["JOIN %d, %s TO %s: %.1f MM" % (j.number, name_tile(j.first), name_tile(j.second), j.apart_mm) for j in joins]
    rows.append(TitleRow(".  ".join(told) + ".", 4.0))
    if len(joins) > 1:
        far = max(((a, b) for k, a in enumerate(joins) for b in joins[k + 1:]), key=lambda pair: float(np.hypot(*np.subtract(pair[0].crosses[0], pair[1].crosses[0]))))
        rows.append(TitleRow("ALL JOINED: FROM CROSS %dA TO CROSS %dA %.1f MM." % (far[0].number, far[1].number, np.hypot(*np.subtract(far[0].crosses[0], far[1].crosses[0]))), 4.0))
    return rows


def lay_key(matter, outlines, plan, kept, joins, *, room_mm, page_mm, edge_mm, title, settings):
    """Pages of words and key plan.

    Parameters
    ----------
    outlines : sequence of SheetLine
        The plank's outlines where the tiles lie.
    room_mm : (float, float)
        What may be drawn on; inf below for a roll.
    page_mm : (float, float)
        The paper; a height of inf becomes as much as is needed.

    Returns
    -------
    list of Page
    """
    wide, tall = room_mm
    for size in _SIZES:
        blocks = _list_blocks(matter, outlines, plan, kept, joins, wide, tall, size, settings)
        columns = _flow(blocks, tall)
        if len(columns) == 1:
            break
    pages = []
    for number, column in enumerate(columns, 1):
        whole = move_piece(join_pieces(*column), np.array([[1.0, 0.0, edge_mm], [0.0, 1.0, edge_mm]]))
        height = page_mm[1] if np.isfinite(page_mm[1]) else measure_piece(whole)[1][1] + edge_mm
        pages.append(Page("KEY" if len(columns) == 1 else "KEY %d" % number, float(page_mm[0]), float(height), (*whole.lines, *letter_texts(whole.texts)), title))
    return pages


def _list_blocks(matter, outlines, plan, kept, joins, wide, tall, size, settings):
    """Pieces that are not broken, each with the clear paper above it."""
    blocks = []

    def add_rows(rows, above=0.0):
        pieces, bottoms = lay_rows(rows, wide, size=size)
        for piece, bottom, before in zip(pieces, bottoms, [0.0, *bottoms[:-1]]):
            blocks.append((move_piece(piece, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -bottom]])), bottom - before + above))
            above = 0.0
    add_rows(list_heading(matter))
    drawn, scale = draw_plan(outlines, plan, kept, room_mm=wide, tall_mm=min(0.4 * tall, 250.0))
    drop = measure_piece(drawn)[1][1]
    add_rows([TitleRow("KEY PLAN %s. TILES %s TO %s, DASHED." % (tell_scale(scale), name_tile(kept[0]), name_tile(kept[-1])), 4.0)], 4.0)
    blocks.append((move_piece(drawn, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -drop]])), drop + 4.0))
    add_rows(_list_join_rows(joins), 4.0)
    bars = lay_bars(min(wide, 1300.0 if tall > 600 else 290.0))         # on small paper the short ones, so that the key stays on one page
    down = measure_piece(bars.piece)[1][1]
    blocks.append((move_piece(bars.piece, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -down]])), down + 14.0))
    add_rows(list_cautions(settings) + list_details(matter), 4.0)
    return blocks


def _flow(blocks, tall):
    """Blocks one below the other, a new column where the next does not fit: lists of placed pieces."""
    columns, y = [[]], 0.0
    for piece, height in blocks:
        if columns[-1] and y + height > tall:
            columns.append([])
            y = 0.0
        y += height
        columns[-1].append(move_piece(piece, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, y]])))
    return columns
