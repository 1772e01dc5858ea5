"""A plank on sheets of paper that are joined: its key and its tiles; and long pages cut into parts."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.page import Page, SheetBlock
from ..paper.blocks import join_blocks, measure_block, move_block
from ..trade.media import find_sheet_mm
from .calibration import correct_page, restore_page, shrink_room
from .chosen import ALL, keep_chosen
from .ends import drop_ends, letter_ends
from .key import lay_key
from .plank import describe_plank
from .settings import MediumSettings, SheetSettings
from .tiles import draw_tiles, plan_tiles
from .turned import check_edge, turn_least

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import MediumCorrection, PlankMatter

__all__ = ["cut_page", "cut_plank", "lay_out_tiles"]

_TABLE_GAP_MM = 15.0


def lay_out_tiles(matter: PlankMatter, *, medium: MediumSettings = MediumSettings(),
                  settings: SheetSettings = SheetSettings()) -> tuple[list[Page], str]:
    """A plank on sheets of paper that are joined: the key pages first, then the tiles, row by row. As `lay_out_roll`.
    """
    long, short = find_sheet_mm(medium.sheet, medium.own_mm)
    page = (long, short) if medium.long_side == "along" else (short, long)
    check_edge(medium, *page)
    room = shrink_room(page[0] - 2 * medium.edge_mm, page[1] - 2 * medium.edge_mm, settings.correction)
    pages = cut_plank(matter, room[0], tall=room[1], page_mm=page, medium=medium, settings=settings)
    tiles = sum(not one.name.startswith("KEY") for one in pages)
    return pages, "%d tile%s of %.0f x %.0f mm and %d page%s with the key" % (
        tiles, "" if tiles == 1 else "s", *page, len(pages) - tiles, "" if len(pages) - tiles == 1 else "s")


def cut_plank(matter: PlankMatter, wide: float, tall: float, page_mm: Sequence[float] | None, *, medium: MediumSettings,
              settings: SheetSettings) -> list[Page]:
    """A plank, and the tables of its overlays below it, in tiles with a key."""
    piece, tables, outlines = turn_least(matter)
    piece, tables = keep_chosen(piece, settings.plotted), tables if settings.plotted == ALL else []
    low, high = measure_block(piece)
    laid = [piece]
    _lay_tables(laid, tables, low[0], high[1], room=high[0] - low[0])
    whole = join_blocks(*laid)
    low, high = measure_block(whole)
    plan = plan_tiles(low, high, width_mm=wide, height_mm=tall, overlap_mm=medium.overlap_mm)
    title = describe_plank(matter.plank) or "PLANK"
    tiles, joins, rows, kept = draw_tiles(whole, plan, edge_mm=medium.edge_mm, title=title, page_mm=page_mm)
    room = (min(plan.width_mm, 1500.0), tall) if page_mm is None else (wide, tall)
    key = lay_key(matter, outlines, plan, kept, joins=joins, rows=rows, room_mm=room, page_mm=page_mm
                  or (room[0] + 2 * medium.edge_mm, tall + 2 * medium.edge_mm), edge_mm=medium.edge_mm, title=title,
                  settings=settings)
    return [correct_page(letter_ends(one, edge_mm=medium.edge_mm), settings.correction, about_mm=medium.edge_mm,
                         fixed=page_mm is not None) for one in key + tiles]


def _move(piece, x, y):
    return move_block(piece, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))


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


def cut_page(page: Page, *, longest_mm: float, overlap_mm: float = 50.0, edge_mm: float = 10.0,
             correction: MediumCorrection | None = None, about_mm: float = 0.0) -> list[Page]:
    """A page cut along its length into pages of at most longest_mm, with a straight line to lay them by, crosses to
    join them, and the length of each at both its ends.

    Parameters
    ----------
    page : Page
    longest_mm : float
        Of a page, borders included.
    correction : MediumCorrection, optional
        The correction already applied to the page, about about_mm: it is undone, the parts are cut and measured in true
        mm, and corrected again.

    Returns
    -------
    list of Page
        The page itself where it is short enough.
    """
    if page.width_mm <= longest_mm:
        return [page]
    whole = drop_ends(restore_page(page, correction, about_mm=about_mm))
    room = shrink_room(longest_mm - 2 * edge_mm, whole.height_mm, correction)[0]
    if correction is not None:
        # the skew over the whole height, which shrink_room does not allow for here
        room -= abs(correction.matrix[0, 1]) * whole.height_mm * (1 + abs(1 - correction.across))
    count = np.ceil((whole.width_mm - overlap_mm) / (room - overlap_mm) - 1e-9)
    # parts of equal length, without clear paper at the ends
    room = (whole.width_mm + (count - 1) * overlap_mm) / count
    plan = plan_tiles(np.zeros(2), (whole.width_mm, whole.height_mm), width_mm=room, height_mm=whole.height_mm,
                      overlap_mm=overlap_mm)
    parts = draw_tiles(SheetBlock(whole.lines), plan, edge_mm=edge_mm, title=page.title)[0]
    return [correct_page(letter_ends(part, edge_mm=edge_mm, always=True), correction, about_mm=edge_mm)
            for part in parts]
