"""A plank on sheets of paper that are joined: its key and its tiles; and long pages cut into parts."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import flatten_strokes
from ..model.page import Page, SheetBlock
from ..paper.blocks import move_line
from ..trade.media import find_sheet_mm
from .calibration import correct_page, restore_page, shrink_room
from .chosen import ALL, CUT, keep_chosen
from .ends import drop_ends, letter_ends
from .key import lay_key
from .plank import describe_plank, is_shifted, lay_plank, split_parts, turn_along
from .settings import MediumSettings, SheetSettings
from .tile_sheets import draw_tiles, find_bounds
from .tiles import plan_tiles
from .turned import check_edge

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import MediumCorrection, PlankMatter

__all__ = ["choose_long_side", "cut_page", "cut_plank", "find_room", "lay_out_tiles"]

_BAND_MM = 8.0            # what a line, its ticks and figures take up
_ROUND_MM = 8.0           # by which a sheet is taller than what it is to cover, so that one is enough


def lay_out_tiles(matter: PlankMatter, *, medium: MediumSettings = MediumSettings(),
                  settings: SheetSettings = SheetSettings()) -> tuple[list[Page], str]:
    """A plank on sheets of paper that are joined: the key first, then the tiles in the order they are laid. As
    `lay_out_roll`.
    """
    page, room = find_room(medium, settings)
    pages = cut_plank(matter, room[0], tall=room[1], page_mm=page, medium=medium, settings=settings)
    return pages, "%d tile%s of %.0f x %.0f mm and a page with the key" % (
        len(pages) - 1, "" if len(pages) == 2 else "s", *page)


def find_room(medium: MediumSettings, settings: SheetSettings) -> tuple[tuple[float, float], tuple[float, float]]:
    """Width and height of a sheet of paper as it lies, and of what may be drawn on before it is corrected, mm."""
    long, short = find_sheet_mm(medium.sheet, medium.own_mm)
    page = (long, short) if medium.long_side == "along" else (short, long)
    check_edge(medium, *page)
    return page, shrink_room(page[0] - 2 * medium.edge_mm, page[1] - 2 * medium.edge_mm, settings.correction)


def _list_bodies(matter, to_piece, outlines, plotted):
    """What is covered by tiles, (title, outline to cut, how far it lies below the plank): the plank, and its parts that
    are drawn clear of it; these alone where what is cut is plotted alone.
    """
    title, found = describe_plank(matter.plank) or "PLANK", []
    lines = [one for overlay in matter.overlays for one in overlay.lines]
    parts = [one for one in lines if one.role == "part" and is_shifted(one)]
    for part in parts:
        own = [dict(part.values).get(key) for key in ("part", "shift_mm")]
        saw = next((one for one in lines if one.role == "part-saw"
                    and [dict(one.values).get(key) for key in ("part", "shift_mm")] == own), part)
        shift = to_piece[:, :2] @ np.array([float(v) for v in str(own[1]).split()])
        found.append(("%s  PART %s OF %d" % (title, own[0] or len(found) + 1, len(parts)), move_line(saw, to_piece),
                      float(shift[1])))
    sawn = any(one.role == "part-saw" for _, one, _ in found)
    return found if sawn and plotted == CUT else [(title, outlines[0], 0.0), *found]


def choose_long_side(matters: Sequence[PlankMatter], medium: MediumSettings, settings: SheetSettings) -> str:
    """Which way the long side of sheets lies so that planks take the fewest: 'along', or 'across' where that is fewer.
    """
    counts = {}
    for side in ("along", "across"):
        room = find_room(replace(medium, long_side=side), settings)[1]
        counts[side] = sum(len(_plan(matter, *room, medium=medium, settings=settings)[0].tiles) for matter in matters)
    return "along" if counts["along"] <= counts["across"] else "across"


def _plan(matter, wide, tall, *, medium, settings):
    """The TilePlan of a plank and its parts; its map to there, its outlines there, and what is covered."""
    to_piece, outlines = turn_along(matter)
    bodies = _list_bodies(matter, to_piece, outlines, settings.plotted)
    base = matter.plank.find_baseline() @ to_piece[:, :2].T + to_piece[:, 2]
    plan = plan_tiles([flatten_strokes(one.cubics, tolerance_mm=0.1)[0] for _, one, _ in bodies], width_mm=wide,
                      height_mm=tall, overlap_mm=medium.overlap_mm,
                      baselines_mm=[float(base[0, 1]) + below for *_, below in bodies], from_mm=float(base[0, 0]))
    return plan, to_piece, outlines, bodies


def cut_plank(matter: PlankMatter, wide: float, tall: float, page_mm: Sequence[float] | None, *, medium: MediumSettings,
              settings: SheetSettings) -> list[Page]:
    """A plank, and its parts that are drawn clear of it, in tiles with a key."""
    plan, to_piece, outlines, bodies = _plan(matter, wide, tall, medium=medium, settings=settings)
    piece, tables, _ = lay_plank(matter, bounds=find_bounds(plan))
    alone, parts = split_parts(piece)
    sawn = any(one.role == "part-saw" for _, one, _ in bodies)
    pieces = [keep_chosen(one, settings.plotted, parted=sawn)
              for one in (parts if len(bodies) == len(parts) else [alone, *parts])]
    last = "  ".join(t for t in ("FILE %s" % settings.file_name if settings.file_name else "", settings.day) if t)
    tiles, joins, off = draw_tiles(pieces, plan, edge_mm=medium.edge_mm, titles=[one[0] for one in bodies],
                                   page_mm=page_mm, last=last)
    said = ["NOT WHOLE ON THE TILES, CLEAR OF THE WOOD: %s. SEE RECORD." % ", ".join(
        "%d %s" % (off.count(role), role.upper()) for role in dict.fromkeys(off))] if off else []
    if tables and settings.plotted == ALL:
        said.append("TABLES BESIDE THE PLANK ARE LEFT TO THE RECORD.")
    room = (max(min(plan.width_mm, 1500.0), 250.0), max(tall, 180.0)) if page_mm is None else (wide, tall)
    shown = [*(outlines if bodies[0][1] is outlines[0] else []), *(one for _, one, _ in bodies
                                                                   if one is not outlines[0])]
    stations = [(one.label, one.line @ to_piece[:, :2].T + to_piece[:, 2]) for one in matter.stations]
    key = lay_key(matter, shown, plan, joins=joins, stations=stations, room_mm=room, page_mm=page_mm
                  or (room[0] + 2 * medium.edge_mm, room[1] + 2 * medium.edge_mm), edge_mm=medium.edge_mm,
                  title=describe_plank(matter.plank) or "PLANK", settings=settings, said=said)
    return [correct_page(letter_ends(one, edge_mm=medium.edge_mm), settings.correction, about_mm=medium.edge_mm,
                         fixed=page_mm is not None) for one in [key, *tiles]]


def _find_emptiest(page):
    """y in the middle half of a page where a line along it covers least of what is drawn."""
    points = np.concatenate([np.asarray(one.cubics, float).reshape(-1, 2)[:, 1] for one in page.lines])
    tried = page.height_mm * (0.5 + np.array([0.0, *(s * k / 40 for k in range(1, 11) for s in (1, -1))]))
    return float(tried[int(np.argmin([np.count_nonzero(np.abs(points - y) < _BAND_MM) for y in tried]))])


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
    corners = np.array([(0.0, 0.0), (whole.width_mm, 0.0), (whole.width_mm, whole.height_mm), (0.0, whole.height_mm)])
    plan = plan_tiles([corners], width_mm=room, height_mm=whole.height_mm + _ROUND_MM, overlap_mm=overlap_mm,
                      baselines_mm=[_find_emptiest(whole)])
    parts = draw_tiles([SheetBlock(whole.lines)], plan, edge_mm=edge_mm, titles=[page.title])[0]
    return [correct_page(letter_ends(part, edge_mm=edge_mm, always=True), correction, about_mm=edge_mm)
            for part in parts]
