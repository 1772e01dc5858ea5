"""What is longer than its paper: a plank on sheets that are joined, with its key and its tiles; long pages cut into
parts, with their true length lettered at both ends.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..geometry.strokes import flatten_strokes, sample_lines
from ..model.drawing import SheetText
from ..model.page import LONGEST_PAGE_MM, Page, SheetBlock
from ..paper.blocks import letter_texts, make_cross, move_line
from ..trade.media import find_sheet_mm
from .calibration import correct_page, restore_page, shrink_room
from .chosen import ALL, CUT, MediumSettings, SheetSettings, keep_chosen
from .key import lay_key
from .plank import describe_plank, is_shifted, lay_plank, split_parts, turn_along
from .roll import check_edge
from .tile_sheets import draw_tiles, find_bounds
from .tiles import plan_tiles

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.page import MediumCorrection, PlankMatter

__all__ = ["choose_long_side", "cut_page", "cut_plank", "drop_ends", "find_room", "lay_out_tiles", "letter_ends"]

_ROLE = "page-end"
_ARM_MM, _FINE_MM = 4.0, 4.0
_NEAR = 0.97             # below the limit by so much, since a medium's correction may still lengthen the page


def drop_ends(page: Page) -> Page:
    """A page without these marks, since its parts get their own."""
    return replace(page, lines=tuple(one for one in page.lines if one.role != _ROLE))


def letter_ends(page: Page, *, edge_mm: float, always: bool = False) -> Page:
    """A page longer than PDF readers accept (or any page) with its length lettered at both ends.

    Parameters
    ----------
    page : Page
    edge_mm : float
        What the machine does not reach at each edge.
    always : bool
        Whether to letter short pages too.

    Returns
    -------
    Page
        With a cross and two rows of words near each end, where it is emptiest; the crosses' values are the page's
        length and their distance.
    """
    if page.width_mm <= _NEAR * LONGEST_PAGE_MM and not always:
        return page
    points = sample_lines([one.cubics for one in page.lines], tolerance_mm=0.5, step_mm=4.0)
    rows = ["THIS PAGE IS %.1f MM LONG" % page.width_mm, "TO THE CROSS AT ITS OTHER END %.1f MM" % page.width_mm]
    wide = 2 * _ARM_MM + 3.0 + max(text_width_mm(row, height_mm=_FINE_MM) for row in rows)
    tall = 2 * _ARM_MM + 6.0
    left = _find_empty(points, edge_mm, top=edge_mm, bottom=page.height_mm - edge_mm, wide=wide, tall=tall, way=1)
    right = _find_empty(points, page.width_mm - edge_mm, top=edge_mm, bottom=page.height_mm - edge_mm, wide=wide,
                        tall=tall, way=-1)
    crosses = np.array([(left[0] + _ARM_MM, left[1] + tall / 2), (right[0] - _ARM_MM, right[1] + tall / 2)])
    apart = float(np.hypot(*(crosses[1] - crosses[0])))
    rows[1] = "TO THE CROSS AT ITS OTHER END %.1f MM" % apart
    lines, words = [], []
    for at, way, anchor in ((crosses[0], 1, "start"), (crosses[1], -1, "end")):
        lines.append(make_cross(at, _ARM_MM, role=_ROLE, style="scale-bar",
                                values=(("length_mm", float(page.width_mm)), ("apart_mm", apart))))
        for k, row in enumerate(rows):
            words.append(SheetText(row, (float(at[0] + way * (_ARM_MM + 2.5)), float(at[1] - 1.5 + 7.0 * k)),
                                   height_mm=_FINE_MM, angle_deg=0.0, anchor=anchor, style="scale-bar", role=_ROLE))
    return replace(page, lines=(*page.lines, *lines, *letter_texts(words)))


def _find_empty(points, x, *, top, bottom, wide, tall, way):
    """The outer upper corner of the emptiest place near an end of a page; of equally empty ones, the nearest to the
    end."""
    near = points[np.abs(points[:, 0] - x) < 5.5 * wide]
    best = None
    for off in np.arange(0.0, 4.5 * wide, 25.0):
        outer = x + way * off
        low, high = sorted((outer, outer + way * wide))
        inside = near[(near[:, 0] >= low) & (near[:, 0] <= high), 1]
        for y in np.arange(bottom - tall, top - 1e-6, -4.0):
            count = int(np.count_nonzero((inside >= y) & (inside <= y + tall)))
            if best is None or count < best[0]:
                best = (count, (outer, float(y)))
            if not count:
                return best[1]
    return best[1] if best else (x, max(top, bottom - tall))


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
