"""Plot sheets: a page sized to the plank, planks nested on a roll, or tiles to join, with everything on them that the
sawyer must know.

A Sheet is a list of things to draw, in mm on its own page (origin top left, y down). What is cut and what is only drawn
are kept apart, so that a cutter can be given the one and a pen the other.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..model.drawing import Sheet
from ..model.page import Page, PlankMatter
from ..model.typed import refuse_outside
from ..paper.bars import lay_bars, lay_diagonals
from ..paper.blocks import join_blocks, letter_texts, measure_block, move_block
from ..trade.media import OWN, ROLLS, SHEETS
from .boxes import lay_boxes, lay_foot, measure_bottom
from .calibration import correct_page, find_lie
from .calibration_page import lay_out_calibration
from .cards import SEE_RECORD, SHORT_CARD
from .chosen import CUT, PLOTTED, MediumSettings, SheetSettings, crop_sheet
from .long_pages import choose_long_side, cut_page, find_room, lay_out_tiles, letter_ends
from .plank import describe_plank, lay_plank
from .roll_page import lay_out_roll, lay_out_shared
from .title import CAUTIONS

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Fact, Overlay, SawLine, Station
    from ..model.plank import Plank

__all__ = [
    "CAUTIONS",
    "OWN",
    "PLOTTED",
    "ROLLS",
    "SHEETS",
    "MediumSettings",
    "SheetSettings",
    "choose_long_side",
    "cut_page",
    "describe_plank",
    "find_lie",
    "lay_out_calibration",
    "lay_out_matter",
    "lay_out_roll",
    "lay_out_sheet",
    "lay_out_sheets",
    "lay_out_tiles",
    "make_page",
]

_TABLE_GAP_MM = 15.0


def lay_out_sheet(plank: Plank, *, stations: Sequence[Station] = (), saw: SawLine | None = None,
                  overlays: Sequence[Overlay] = (), board_includes: Sequence[str] = (), scans: Sequence[Fact] = (),
                  settings: SheetSettings = SheetSettings()) -> Sheet:
    """Lay a plank along a page with its stations, overlays, bars, title and cautions.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    saw : SawLine, optional
        Without it the net outline is the line to cut, and the sheet says so.
    overlays : sequence of Overlay
        Drawings of other actions, in mm on the page of the drawing. Anything clear of the plank's ends, such as a
        table, is placed below it; rows go into the title block.
    board_includes : sequence of str
        Which of 'bevel', 'hollow', 'seam', 'bend' the faces of the board allow for.
    scans : sequence of Fact
        What was found when the scans were trued; their words go into the title block.
    settings : SheetSettings

    Returns
    -------
    Sheet
    """
    return lay_out_matter(PlankMatter(plank, tuple(stations), saw, tuple(overlays),
                                      board_includes=tuple(board_includes),
                                      scans=tuple(scans)), settings=settings)


def lay_out_matter(matter: PlankMatter, *, settings: SheetSettings = SheetSettings()) -> Sheet:
    """`lay_out_sheet` of a PlankMatter."""
    refuse_outside(settings.margin_mm, 0, 500, problem="A margin of %g mm cannot be used.", remedy="Give 0 to 500 mm.",
                   field="Margin")
    margin = settings.margin_mm
    piece, tables, to_piece = lay_plank(matter)
    low, high = measure_block(piece)
    shift = np.array([margin, margin]) - low
    to_sheet = to_piece + np.hstack([np.zeros((2, 2)), shift[:, None]])
    laid = [_move(piece, *shift)]
    bottom = margin + high[1] - low[1]
    room = max(high[0] - low[0], *(_measure_width(t) for t in tables)) if tables else high[0] - low[0]
    bottom = _lay_tables(laid, tables, margin, bottom, room=room)
    top = bottom + 22.0
    foot, bars = _lay_foot(matter, settings, piece, room)
    laid.append(_move(foot, margin, top))
    room = max(room, measure_block(foot)[1][0])
    bottom = max(top + bars.below_mm, top + measure_bottom(foot))
    diagonals = lay_diagonals(margin + 4.0, top - 14.0, min(room - 8.0, 1000.0), bottom + 26.0 - (top - 14.0))
    if diagonals is not None:
        laid.append(diagonals)
        bottom = measure_block(diagonals)[1][1]
    whole = join_blocks(*laid)
    return Sheet(float(room + 2 * margin), float(bottom + margin), to_sheet, whole.lines, texts=whole.texts,
                 title=describe_plank(matter.plank) or "PLANK")


def _move(piece, x, y):
    return move_block(piece, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))


def _measure_width(piece):
    low, high = measure_block(piece)
    return float(high[0] - low[0])


def _lay_tables(laid, tables, left, bottom, room):
    """Lay tables below the plank, side by side where there is room. Returns the y below them."""
    x, y, lowest = left, bottom + _TABLE_GAP_MM, bottom
    for table in tables:
        low, high = measure_block(table)
        if x > left and x + high[0] - low[0] > left + room + 1e-6:
            x, y = left, lowest + _TABLE_GAP_MM
        laid.append(_move(table, x - low[0], y - low[1]))
        x += high[0] - low[0] + _TABLE_GAP_MM
        lowest = max(lowest, y + high[1] - low[1])
    return lowest


def _lay_foot(matter, settings, piece, room):
    """Bars, the three boxes beside or below them, and the lines of every sheet, from (0, 0); and the Bars."""
    bars = lay_bars(room)
    told = [dict(one.values) for one in bars.piece.lines if one.role == "scale-bar"]
    lettered = [(one["along"], one["length_mm"]) for one in told]
    names = [t.height_mm for t in piece.texts if t.role == "name"]
    said = [] if names else ["THE NAME HAS NO ROOM ON THE WOOD: IT STANDS AT THE FOOT"]
    if any(t.role == SHORT_CARD for t in piece.texts):
        said.append("CARDS THAT SAY %s HAD NO ROOM FOR ALL THEIR FIGURES" % SEE_RECORD)
    column = bars.right_mm + 40.0
    boxes, beside = lay_boxes(matter, room, lettered, beside_mm=room - column, said=said)
    at = (column, -10.0) if beside else (0.0, bars.below_mm + 8.0)
    boxes = _move(boxes, *at)
    name = describe_plank(matter.plank) or "PLANK"
    words = lay_foot(matter, settings, bars.beside_mm if beside else max(room, measure_block(boxes)[1][0]), name,
                     height_mm=min(names, default=0.0))
    below = bars.along_below_mm if beside else measure_bottom(boxes) + 2.0
    return join_blocks(bars.piece, boxes, _move(words, 0.0, below)), bars


def lay_out_sheets(matters: Sequence[PlankMatter], *, medium: MediumSettings = MediumSettings(),
                   settings: SheetSettings = SheetSettings()) -> tuple[list[Page], list[str]]:
    """Planks on sheets of paper: of several those that fit a sheet whole share sheets, the others are in tiles.

    Returns
    -------
    pages : list of Page
        The shared sheets, then each plank's key and tiles.
    said : list of str
        Sentences for the user on what was done.
    """
    page, room = find_room(medium, settings)
    pages, said, left = [], [], list(matters)
    if len(matters) > 1:
        pages, left = lay_out_shared(matters, page_mm=page, room_mm=room, medium=medium, settings=settings)
        if pages:
            said.append("%d planks share %d sheet%s of %.0f x %.0f mm, whole." % (
                len(matters) - len(left), len(pages), "" if len(pages) == 1 else "s", *page))
    for number, matter in enumerate(matters, 1):
        if any(matter is one for one in left):
            own, told = lay_out_tiles(matter, medium=medium, settings=settings)
            pages += own if len(matters) == 1 else [replace(one, name="PLANK %d %s" % (number, one.name))
                                                    for one in own]
            said.append(("%s: %s." % (own[0].title, told)) if len(matters) > 1 else told[0].upper() + told[1:] + ".")
    return pages, said


def make_page(sheet: Sheet, *, settings: SheetSettings = SheetSettings()) -> Page:
    """A Sheet as a Page: reduced to what is chosen, with words as strokes, and corrected for the medium."""
    sheet = crop_sheet(sheet, settings.plotted, margin_mm=settings.margin_mm)
    page = Page("SHEET", sheet.width_mm, sheet.height_mm, (*sheet.lines, *letter_texts(sheet.texts)), title=sheet.title)
    page = page if settings.plotted == CUT else letter_ends(page, edge_mm=settings.margin_mm)
    return correct_page(page, settings.correction, about_mm=settings.margin_mm)
