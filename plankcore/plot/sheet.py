"""Plot sheets: a page sized to the plank, planks nested on a roll, or tiles to join, with everything on them that the
sawyer must know.

A Sheet is a list of things to draw, in mm on its own page (origin top left, y down). What is cut and what is only drawn
are kept apart, so that a cutter can be given the one and a pen the other.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SettingError
from ..geometry.convex import find_least_width
from ..geometry.strokes import flatten_strokes
from ..model.drawing import Sheet
from ..model.page import MediumCorrection, Page, Piece, PlankMatter
from ..model.ranges import refuse_outside, refuse_unknown
from ..paper.bars import lay_bars, lay_diagonals
from ..paper.blocks import join_pieces, letter_texts, measure_piece, move_line, move_piece
from ..trade.media import OWN, ROLLS, SHEETS, find_roll_mm, find_sheet_mm
from .boxes import lay_boxes, lay_foot, measure_bottom
from .calibration import correct_page, find_lie, restore_page, shrink_room
from .cards import SEE_RECORD, SHORT_CARD
from .chosen import ALL, CUT, PLOTTED, crop_sheet, keep_chosen
from .ends import drop_ends, letter_ends
from .key import lay_key
from .plank import describe_plank, keep_on_wood, lay_plank, list_outlines, split_parts
from .roll import nest_on_roll
from .tiles import draw_tiles, plan_tiles
from .title import CAUTIONS, lay_rows, list_cautions, list_details, list_heading

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Overlay, SawLine, Station
    from ..model.plank import Plank

__all__ = [
    "CAUTIONS",
    "OWN",
    "PLOTTED",
    "ROLLS",
    "SHEETS",
    "MediumSettings",
    "SheetSettings",
    "cut_page",
    "describe_plank",
    "find_lie",
    "lay_out_matter",
    "lay_out_roll",
    "lay_out_sheet",
    "lay_out_tiles",
    "make_page",
]

_TABLE_GAP_MM = 15.0
# words on a roll are smaller than on a sheet: they are read close by, and they take up the roll
_ROLL_SIZE = 0.6


@dataclass(frozen=True)
class SheetSettings:
    """margin_mm: clear paper round everything; file_name: printed on the sheet; day: date to print, or ''; correction:
    of the medium, to be told and applied; plotted: what of a plank, one of PLOTTED.
    """

    margin_mm: float = 20.0
    file_name: str = ""
    day: str = ""
    correction: MediumCorrection | None = None
    plotted: str = ALL

    def __post_init__(self):
        refuse_unknown(self.plotted, PLOTTED, field="What to plot")


@dataclass(frozen=True)
class MediumSettings:
    """What is plotted on.

    roll, sheet : names in ROLLS and SHEETS, or OWN, with own_mm the width of the roll, or both sides of the sheet.
    long_side : which way
    the sheet's long side lies, 'along' the plank or 'across'. edge_mm : what the machine does not reach at each edge.
    overlap_mm : of
    tiles. gap_mm : between pieces on a roll. longest_mm : of the roll that is left, 0 where there is no end to it.
    first_edge : of a sheet, the one
    that goes into the machine first, 'short edge' or 'long edge'; a correction is kept for that.
    """

    roll: str = "36 in (914 mm)"
    sheet: str = "A3"
    own_mm: tuple[float, ...] = (0.0, 0.0)
    long_side: str = "along"
    edge_mm: float = 10.0
    overlap_mm: float = 20.0
    gap_mm: float = 15.0
    longest_mm: float = 0.0
    first_edge: str = "short edge"


def lay_out_sheet(plank: Plank, *, stations: Sequence[Station] = (), saw: SawLine | None = None,
                  overlays: Sequence[Overlay] = (), board_includes: Sequence[str] = (), rows: Sequence[str] = (),
                  settings: SheetSettings = SheetSettings()) -> Sheet:
    """Lay a plank along a page with its stations, overlays, bars, title and cautions.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    saw : SawLine, optional
        Without it the net outline is the line to cut, and the sheet says so.
    overlays : sequence of Overlay
        What other actions have drawn, in mm on the page of the drawing. What stands clear of the plank's ends, a table
        for instance, is laid below it; rows go into the title block.
    board_includes : sequence of str
        What the faces of the board count, of 'bevel', 'hollow', 'seam', 'bend'.
    rows : sequence of str
        What else the title block must say.
    settings : SheetSettings

    Returns
    -------
    Sheet
    """
    return lay_out_matter(PlankMatter(plank, tuple(stations), saw, tuple(overlays),
                                      board_includes=tuple(board_includes),
                                      rows=tuple(rows)), settings=settings)


def lay_out_matter(matter: PlankMatter, *, settings: SheetSettings = SheetSettings()) -> Sheet:
    """`lay_out_sheet` of a PlankMatter."""
    refuse_outside(settings.margin_mm, 0, 500, problem="A margin of %g mm cannot be used.", remedy="Give 0 to 500 mm.",
                   field="Margin")
    margin = settings.margin_mm
    piece, tables, to_piece = lay_plank(matter)
    low, high = measure_piece(piece)
    shift = np.array([margin, margin]) - low
    to_sheet = to_piece + np.hstack([np.zeros((2, 2)), shift[:, None]])
    laid = [_move(piece, *shift)]
    bottom = margin + high[1] - low[1]
    room = max(high[0] - low[0], *(_measure_width(t) for t in tables)) if tables else high[0] - low[0]
    bottom = _lay_tables(laid, tables, margin, bottom, room=room)
    top = bottom + 22.0
    foot, bars = _lay_foot(matter, settings, piece, room)
    laid.append(_move(foot, margin, top))
    room = max(room, measure_piece(foot)[1][0])
    bottom = max(top + bars.below_mm, top + measure_bottom(foot))
    diagonals = lay_diagonals(margin + 4.0, top - 14.0, min(room - 8.0, 1000.0), bottom + 26.0 - (top - 14.0))
    if diagonals is not None:
        laid.append(diagonals)
        bottom = measure_piece(diagonals)[1][1]
    whole = join_pieces(*laid)
    return Sheet(float(room + 2 * margin), float(bottom + margin), to_sheet, whole.lines, texts=whole.texts,
                 title=describe_plank(matter.plank) or "PLANK")


def _move(piece, x, y):
    return move_piece(piece, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))


def _measure_width(piece):
    low, high = measure_piece(piece)
    return float(high[0] - low[0])


def _lay_tables(laid, tables, left, bottom, room):
    """Lay tables below the plank, side by side where there is room. Returns the y below them."""
    x, y, lowest = left, bottom + _TABLE_GAP_MM, bottom
    for table in tables:
        low, high = measure_piece(table)
        if x > left and x + high[0] - low[0] > left + room + 1e-6:
            x, y = left, lowest + _TABLE_GAP_MM
        laid.append(_move(table, x - low[0], y - low[1]))
        x += high[0] - low[0] + _TABLE_GAP_MM
        lowest = max(lowest, y + high[1] - low[1])
    return lowest


def _lay_foot(matter, settings, piece, room):
    """Bars, the three boxes beside or below them, and what every sheet says, from (0, 0); and the Bars."""
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
    words = lay_foot(matter, settings, bars.beside_mm if beside else max(room, measure_piece(boxes)[1][0]), name,
                     height_mm=min(names, default=0.0))
    below = bars.along_below_mm if beside else measure_bottom(boxes) + 2.0
    return join_pieces(bars.piece, boxes, _move(words, 0.0, below)), bars


def make_page(sheet: Sheet, *, settings: SheetSettings = SheetSettings()) -> Page:
    """A Sheet as a Page: what is chosen of it; its words become strokes, and all of it is carried by the medium's
    correction.
    """
    sheet = crop_sheet(sheet, settings.plotted, margin_mm=settings.margin_mm)
    page = Page("SHEET", sheet.width_mm, sheet.height_mm, (*sheet.lines, *letter_texts(sheet.texts)), title=sheet.title)
    page = page if settings.plotted == CUT else letter_ends(page, edge_mm=settings.margin_mm)
    return correct_page(page, settings.correction, about_mm=settings.margin_mm)


def _turn(piece):
    """A piece turned so that it takes the least width, and the turn (2, 3)."""
    runs = [run for one in (*piece.lines, *letter_texts(piece.texts))
            for run in flatten_strokes(one.cubics, tolerance_mm=0.1)]
    a = np.radians(find_least_width(np.concatenate(runs)).turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a), 0.0], [np.sin(a), np.cos(a), 0.0]])
    return move_piece(piece, turn), turn


def _turn_least(matter):
    """A plank turned so that it takes the least width, its parts where they lie by it: the piece, its tables, and its
    outlines alone.
    """
    piece, tables, to_piece = lay_plank(matter)
    alone, _ = split_parts(piece)
    turn = _turn(alone)[1]
    outlines = [move_line(move_line(one, to_piece), turn) for one in list_outlines(matter.plank, matter.saw)]
    return move_piece(piece, turn), tables, outlines


def lay_out_roll(matters: Sequence[PlankMatter], *, medium: MediumSettings = MediumSettings(),
                 settings: SheetSettings = SheetSettings()) -> tuple[list[Page], str]:
    """Planks along a roll, each turned to its least width and one in the hollow of another, with their words and bars.

    Parameters
    ----------
    matters : sequence of PlankMatter
    medium : MediumSettings
    settings : SheetSettings

    Returns
    -------
    pages : list of Page
        One, the roll; or strips to join of a single plank that is wider than the roll.
    said : str
        What was done, for the user.

    Raises
    ------
    PatternError
        If one of several planks is wider than the roll. SettingError : if it is too short for them.
    """
    width = find_roll_mm(medium.roll, medium.own_mm[0])
    _check_edge(medium, width)
    reach = shrink_room(1.0, width - 2 * medium.edge_mm, settings.correction)[1]
    pieces, words, common = [], [], _lay_common(settings, reach)
    for matter in matters:
        piece, tables, _outlines = _turn_least(matter)
        piece, parts = split_parts(piece)
        piece = keep_chosen(keep_on_wood(piece), settings.plotted)
        parts = [one for one in (keep_chosen(part, settings.plotted) for part in parts) if one.lines]
        low, high = measure_piece(piece)
        if high[1] - low[1] > reach:
            told = "%s takes %.0f mm across, and the roll gives %.0f mm" % (describe_plank(matter.plank)
                                                                            or "The plank", high[1] - low[1], reach)
            if len(matters) > 1:
                raise PatternError(told + ".", "Choose a wider roll, or plot it alone, in strips.",
                                   describe_plank(matter.plank))
            return _lay_strips(matter, reach, medium, settings, told=told)
        pieces += [piece, *(_turn(part)[0] for part in parts)]
        if settings.plotted != ALL:
            continue
        words += tables + [_lay_block(list_heading(matter) + list_details(matter), reach, high[0] - low[0])]
    common = keep_chosen(common, settings.plotted)
    every = [*pieces, *words, *([common] if common.lines else [])]
    shifts, length = nest_on_roll(every, width_mm=reach, gap_mm=medium.gap_mm, solid=range(len(pieces), len(every)))
    if any(shift is None for shift in shifts):
        raise SettingError("The words do not fit the roll, which gives %.0f mm." % reach, "Choose a wider roll.",
                           "Roll")
    whole = join_pieces(*(_move(piece, *(shift + medium.edge_mm)) for piece, shift in zip(every, shifts)))
    title = "  ".join(dict.fromkeys(describe_plank(m.plank) for m in matters if describe_plank(m.plank))) or "PLANK"
    page = Page("ROLL", length + 2 * medium.edge_mm, reach + 2 * medium.edge_mm,
                (*whole.lines, *letter_texts(whole.texts)), title=title)
    page = page if settings.plotted == CUT else letter_ends(page, edge_mm=medium.edge_mm)
    page = correct_page(page, settings.correction, about_mm=medium.edge_mm)
    if medium.longest_mm and page.width_mm > medium.longest_mm:
        raise SettingError("They take %.0f mm of the roll, and %.0f mm are left." % (
            page.width_mm, medium.longest_mm), "Plot fewer planks, or take another roll.", "Longest run")
    return [page], "%d plank%s on %.0f mm of a roll %.0f mm wide" % (len(matters), "" if len(matters) == 1 else "s",
                                                                     page.width_mm, width)


def _check_edge(medium, *sides):
    if not 0 <= medium.edge_mm < 0.25 * min(sides):
        raise SettingError("An edge of %g mm leaves too little of a medium %.0f mm wide." % (
            medium.edge_mm, min(sides)), "Give what the machine cannot reach, 0 to 50 mm or so.", "Edge")


def _lay_block(rows, reach, length_mm):
    """Words in a block that fits across the roll: low and wide, so that it goes under a plank, but no longer than the
    plank.
    """
    for wide in (*np.arange(400.0, max(length_mm, 1000.0), 100.0), *np.arange(1000.0, 8000.0, 500.0)):
        pieces, bottoms = lay_rows(rows, wide, size=_ROLL_SIZE)
        if bottoms[-1] <= 0.3 * reach or (wide >= length_mm and bottoms[-1] <= reach):
            break
    return join_pieces(*pieces)


def _lay_common(settings, reach):
    """Bars, cautions and the crosses of the diagonals: once for a whole roll."""
    bars = lay_bars(1300.0)
    cautions = [_move(piece, 0.0, 50.0) for piece in lay_rows(list_cautions(settings), bars.beside_mm)[0]]
    block = join_pieces(bars.piece, *cautions)
    bottom = measure_piece(block)[1][1]
    diagonals = lay_diagonals(4.0, -14.0, 1000.0, min(bottom + 28.0, reach - 10.0))
    return join_pieces(block, diagonals or Piece())


def _lay_strips(matter, reach, medium, settings, told):
    pages = _cut_plank(matter, np.inf, reach, None, medium=medium, settings=settings)
    return pages, "%s: it was laid in strips, to be joined" % told


def lay_out_tiles(matter: PlankMatter, *, medium: MediumSettings = MediumSettings(),
                  settings: SheetSettings = SheetSettings()) -> tuple[list[Page], str]:
    """A plank on sheets of paper that are joined: the key pages first, then the tiles, row by row. As `lay_out_roll`.
    """
    long, short = find_sheet_mm(medium.sheet, medium.own_mm)
    page = (long, short) if medium.long_side == "along" else (short, long)
    _check_edge(medium, *page)
    room = shrink_room(page[0] - 2 * medium.edge_mm, page[1] - 2 * medium.edge_mm, settings.correction)
    pages = _cut_plank(matter, room[0], tall=room[1], page_mm=page, medium=medium, settings=settings)
    tiles = sum(not one.name.startswith("KEY") for one in pages)
    return pages, "%d tile%s of %.0f x %.0f mm and %d page%s with the key" % (
        tiles, "" if tiles == 1 else "s", *page, len(pages) - tiles, "" if len(pages) - tiles == 1 else "s")


def _cut_plank(matter, wide, tall, page_mm, medium, settings):
    """A plank, and the tables of its overlays below it, in tiles with a key."""
    piece, tables, outlines = _turn_least(matter)
    piece, tables = keep_chosen(piece, settings.plotted), tables if settings.plotted == ALL else []
    low, high = measure_piece(piece)
    laid = [piece]
    _lay_tables(laid, tables, low[0], high[1], room=high[0] - low[0])
    whole = join_pieces(*laid)
    low, high = measure_piece(whole)
    plan = plan_tiles(low, high, width_mm=wide, height_mm=tall, overlap_mm=medium.overlap_mm)
    title = describe_plank(matter.plank) or "PLANK"
    tiles, joins, rows, kept = draw_tiles(whole, plan, edge_mm=medium.edge_mm, title=title, page_mm=page_mm)
    room = (min(plan.width_mm, 1500.0), tall) if page_mm is None else (wide, tall)
    key = lay_key(matter, outlines, plan, kept, joins=joins, rows=rows, room_mm=room, page_mm=page_mm
                  or (room[0] + 2 * medium.edge_mm, tall + 2 * medium.edge_mm), edge_mm=medium.edge_mm, title=title,
                  settings=settings)
    return [correct_page(letter_ends(one, edge_mm=medium.edge_mm), settings.correction, about_mm=medium.edge_mm,
                         fixed=page_mm is not None) for one in key + tiles]


def cut_page(page: Page, *, longest_mm: float, overlap_mm: float = 50.0, edge_mm: float = 10.0,
             correction: MediumCorrection | None = None, about_mm: float = 0.0) -> list[Page]:
    """A page cut along its length into pages no longer than that, with a straight line to lay them by, crosses to join
    them, and the length of each at both its ends.

    Parameters
    ----------
    page : Page
    longest_mm : float
        Of a page, edges and all.
    correction : MediumCorrection, optional
        What the page was corrected by, about about_mm; the parts are cut and measured in true mm, and corrected again.

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
        # the lean of the whole height, which is not shrunk here
        room -= abs(correction.matrix[0, 1]) * whole.height_mm * (1 + abs(1 - correction.across))
    count = np.ceil((whole.width_mm - overlap_mm) / (room - overlap_mm) - 1e-9)
    # equal parts, and no clear paper at the ends
    room = (whole.width_mm + (count - 1) * overlap_mm) / count
    plan = plan_tiles(np.zeros(2), (whole.width_mm, whole.height_mm), width_mm=room, height_mm=whole.height_mm,
                      overlap_mm=overlap_mm)
    parts = draw_tiles(Piece(whole.lines), plan, edge_mm=edge_mm, title=page.title)[0]
    return [correct_page(letter_ends(part, edge_mm=edge_mm, always=True), correction, about_mm=edge_mm)
            for part in parts]
