"""Planks on a roll: each turned to its least width and nested in each other's hollows, with its words beside it."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..actions import RECORD
from ..errors import PatternError, SettingError
from ..geometry.lettering import text_width_mm
from ..model.drawing import SheetText
from ..model.page import Page, SheetBlock
from ..paper.bars import lay_bars, lay_diagonals
from ..paper.blocks import join_blocks, letter_texts, make_stroke, measure_block, move_block
from ..trade.media import find_roll_mm
from .beside import FreePaper
from .calibration import correct_page, shrink_room
from .chosen import ALL, CUT, MediumSettings, SheetSettings, keep_chosen
from .long_pages import cut_plank, letter_ends
from .plank import describe_plank, keep_on_wood, split_parts
from .roll import COLUMN_MM, check_edge, find_profile, nest_on_roll, turn_block, turn_least, turn_profile
from .title import TitleRow, lay_rows, list_brief, list_cautions

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Points
    from ..model.page import PlankMatter

__all__ = ["lay_out_roll", "lay_out_shared"]

# words on a roll are smaller than on a sheet, to save paper: they are read from close by
_ROLL_SIZE, _TABLE_SIZE = 0.5, 0.6
_FINE_MM = 2.5            # smallest letters
_COLUMN_MM, _MOST_COLUMNS = 150.0, 8
# weight of extra length of roll against the distance of words from their plank
_NEARNESS = 0.5
_SHARE, _BESIDE_MM = 0.95, 12.0  # share of a plank's depth that its words at its end may take; their distance from it


def lay_out_roll(matters: Sequence[PlankMatter], *, medium: MediumSettings = MediumSettings(),
                 settings: SheetSettings = SheetSettings()) -> tuple[list[Page], str]:
    """Planks along a roll, each turned to its least width and nested in each other's hollows, with their words and
    bars.

    Parameters
    ----------
    matters : sequence of PlankMatter
    medium : MediumSettings
    settings : SheetSettings

    Returns
    -------
    pages : list of Page
        One page, the roll; or strips to be joined, for a single plank that is wider than the roll.
    said : str
        A sentence for the user on what was done.

    Raises
    ------
    PatternError
        If one of several planks is wider than the roll. SettingError : if it is too short for them.
    """
    width = find_roll_mm(medium.roll, medium.own_mm[0])
    check_edge(medium, width)
    reach = shrink_room(1.0, width - 2 * medium.edge_mm, settings.correction)[1]
    pieces: list[SheetBlock] = []
    words: list[_Words | None] = []         # for each piece, the words at its end, or None
    for matter in matters:
        found, told_of = _gather(matter, settings)
        low, high = measure_block(found[0])
        if high[1] - low[1] > reach:
            told = "%s takes %.0f mm across, and the roll gives %.0f mm" % (describe_plank(matter.plank)
                                                                            or "The plank", high[1] - low[1], reach)
            if len(matters) > 1:
                raise PatternError(told + ".", "Choose a wider roll, or plot it alone, in strips.",
                                   describe_plank(matter.plank))
            return _lay_strips(matter, reach, medium, settings, told=told)
        pieces += found
        words += told_of
    common = keep_chosen(_lay_common(settings, reach, 1300.0), settings.plotted)
    whole, used = _nest(pieces, words, common, gap_mm=medium.gap_mm, reach=reach)
    whole = move_block(whole, np.array([[1.0, 0.0, medium.edge_mm], [0.0, 1.0, medium.edge_mm]]))
    title = "  ".join(dict.fromkeys(describe_plank(m.plank) for m in matters if describe_plank(m.plank))) or "PLANK"
    page = Page("ROLL", used + 2 * medium.edge_mm, reach + 2 * medium.edge_mm,
                (*whole.lines, *letter_texts(whole.texts)), title=title)
    page = page if settings.plotted == CUT else letter_ends(page, edge_mm=medium.edge_mm)
    page = correct_page(page, settings.correction, about_mm=medium.edge_mm)
    if medium.longest_mm and page.width_mm > medium.longest_mm:
        raise SettingError("They take %.0f mm of the roll, and %.0f mm are left." % (
            page.width_mm, medium.longest_mm), "Plot fewer planks, or take another roll.", "Longest run")
    return [page], "%d plank%s on %.0f mm of a roll %.0f mm wide" % (len(matters), "" if len(matters) == 1 else "s",
                                                                     page.width_mm, width)


def _gather(matter, settings) -> tuple[list[SheetBlock], list[_Words | None]]:
    """A plank and its parts as pieces, each turned to its least width, and the words for each, or None; the parts alone
    where only they are cut."""
    piece, tables, _outlines = turn_least(matter)
    piece, parts = split_parts(piece)
    piece = keep_chosen(keep_on_wood(piece), settings.plotted, parted=any(
        one.role == "part-saw" for part in parts for one in part.lines))
    parts = [turn_block(one)[0] for one in (keep_chosen(part, settings.plotted) for part in parts) if one.lines]
    if not piece.lines:
        return parts, [None for _ in parts]
    words = _Words(matter, _list_rows(matter), tables) if settings.plotted == ALL else None
    return [piece, *parts], [words, *(None for _ in parts)]


def lay_out_shared(matters: Sequence[PlankMatter], *, page_mm: Sequence[float], room_mm: Sequence[float],
                   medium: MediumSettings, settings: SheetSettings) -> tuple[list[Page], list[PlankMatter]]:
    """Planks that fit a sheet of paper whole, as many to a sheet as it holds, nested as on a roll, each sheet with its
    bars.

    Parameters
    ----------
    matters : sequence of PlankMatter
    page_mm, room_mm : (float, float)
        The paper, and what may be drawn on.
    medium : MediumSettings
    settings : SheetSettings

    Returns
    -------
    pages : list of Page
        SHEET 1, SHEET 2 and so on.
    left : list of PlankMatter
        Those that do not fit a sheet, in the order given.
    """
    common = keep_chosen(_lay_common(settings, room_mm[1], min(1300.0, 0.6 * room_mm[0])), settings.plotted)

    def lay(some):
        pieces = [piece for _, own, _ in some for piece in own]
        if any((np.diff(measure_block(piece), axis=0) > np.asarray(room_mm) + 1e-6).any() for piece in pieces):
            return None
        try:
            whole, used = _nest(pieces, [one for _, _, told in some for one in told], common, gap_mm=medium.gap_mm,
                                reach=room_mm[1])
        except SettingError:                # its words or bars are too tall for the sheet
            return None
        return whole if used <= room_mm[0] + 1e-6 else None
    sheets: list[tuple[list, SheetBlock]] = []
    left: list[PlankMatter] = []
    for matter in sorted(matters, key=lambda one: -one.plank.measure_length_mm()):
        if matter.plank.measure_length_mm() > np.hypot(room_mm[0], room_mm[1]):
            left.append(matter)
            continue
        own = (matter, *_gather(matter, settings))
        for k, (some, _) in enumerate(sheets):
            laid = lay([*some, own])
            if laid is not None:
                sheets[k] = ([*some, own], laid)
                break
        else:
            laid = lay([own])
            if laid is None:
                left.append(matter)
            else:
                sheets.append(([own], laid))
    pages = []
    for number, (some, whole) in enumerate(sheets, 1):
        whole = move_block(whole, np.array([[1.0, 0.0, medium.edge_mm], [0.0, 1.0, medium.edge_mm]]))
        names = [describe_plank(matter.plank) for matter, *_ in some]
        page = Page("SHEET %d" % number, float(page_mm[0]), float(page_mm[1]),
                    (*whole.lines, *letter_texts(whole.texts)), title="  ".join(dict.fromkeys(filter(None, names))))
        pages.append(correct_page(page, settings.correction, about_mm=medium.edge_mm, fixed=True))
    return pages, [one for one in matters if any(one is other for other in left)]


@dataclass(frozen=True, eq=False, repr=False)
class _Words:
    """(words for a plank as it lies, words for it lying end for end, tables)."""

    matter: PlankMatter
    rows: tuple[list[TitleRow], list[TitleRow]]
    tables: list[SheetBlock]


def _nest(pieces, words, common, *, gap_mm, reach) -> tuple[SheetBlock, float]:
    """All pieces where they lie, each plank's words at its end, tables near it, bars and cautions, and the length of
    roll.

    For the words a rectangle beyond the plank's end is nested together with it; they are upright in it whichever way
    round the plank ends up.
    """
    places = [_place_words(piece, one) if one else None for piece, one in zip(pieces, words)]
    every = [*(join_blocks(piece, _frame(*place)) if place else piece for piece, place in zip(pieces, places)),
             *([_frame(*measure_block(common))] if common.lines else [])]
    nest = nest_on_roll(every, width_mm=reach, gap_mm=gap_mm)
    maps = [one for one in nest.maps if one is not None]
    if len(maps) < len(nest.maps):
        raise SettingError("A part or the words do not fit the roll, which gives %.0f mm." % reach,
                           "Choose a wider roll.", "Roll")
    paper, edges = FreePaper(reach, gap_mm), []
    for piece, matrix, turned in zip(every, maps, nest.turned):
        profile = turn_profile(find_profile(piece)) if turned else find_profile(piece)
        at = profile.low + matrix[:, 2]
        paper.take_profile(profile, at)
        x = at[0] + COLUMN_MM * np.arange(len(profile.least))
        edges.append(np.concatenate([np.column_stack([x, at[1] + side])[::25]
                                     for side in (profile.least, profile.most)]))
    found = [move_block(piece, matrix) for piece, matrix in zip(pieces, maps)]
    for one, place, matrix, turned, beside in zip(words, places, maps, nest.turned, edges):
        if one and place:
            block = _choose_form(one, turned, place[1][1] - place[0][1])
            found.append(_centre(block, matrix[:, :2] @ np.mean(place, axis=0) + matrix[:, 2]))
            found += [_lay(paper, [_name_table(table, _name(one))], beside, weight=_NEARNESS) for table in one.tables]
    if common.lines:
        middle = np.mean(measure_block(common), axis=0)
        found.append(_centre(common, maps[-1][:, :2] @ middle + maps[-1][:, 2]))
    return join_blocks(*found), paper.used_mm


def _name(words):
    return describe_plank(words.matter.plank) or "PLANK"


def _place_words(piece, words):
    """The rectangle, (low, high), that a plank's words take up beyond its right end."""
    low, high = measure_block(piece)
    end = np.concatenate([one.cubics.reshape(-1, 2) for one in piece.lines if one.pen == "cut"])
    middle = float(np.mean(end[end[:, 0] > end[:, 0].max() - 60.0, 1]))
    deep = max(_SHARE * (high[1] - low[1]), 60.0)
    # large enough for both ways round
    size = np.max([np.ptp(measure_block(_choose_form(words, turned, deep)), axis=0)
                   for turned in (False, True)], axis=0)
    top = float(np.clip(middle - size[1] / 2, low[1], max(low[1], high[1] - size[1])))
    left = high[0] + _BESIDE_MM
    return np.array([left, top]), np.array([left + size[0], top + size[1]])


def _choose_form(words, turned, deep):
    """Words in as few columns as this height allows."""
    forms = _lay_forms(words, turned)
    return next((one for one in forms if np.ptp(measure_block(one), axis=0)[1] <= deep + 1e-6), forms[-1])


def _centre(piece, at):
    """A piece with its middle at a place."""
    shift = at - np.mean(measure_block(piece), axis=0)
    return move_block(piece, np.array([[1.0, 0.0, shift[0]], [0.0, 1.0, shift[1]]]))


def _frame(low, high):
    """A rectangle, as a piece."""
    corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    return SheetBlock(tuple(make_stroke(a, b) for a, b in zip(corners, np.roll(corners, -1, axis=0))))


def _lay(paper: FreePaper, forms: list[SheetBlock], beside: Points, *, weight: float) -> SheetBlock:
    piece = paper.lay(forms, beside, weight=weight)
    if piece is None:
        raise SettingError("The words do not fit the roll, which gives %.0f mm." % paper.width_mm,
                           "Choose a wider roll.", "Roll")
    return piece


def _list_rows(matter: PlankMatter) -> tuple[list[TitleRow], list[TitleRow]]:
    """The words of a plank on a roll: which plank it is, what to check and to cut, doubts, and where to find the rest;
    for the plank as it lies, and for it lying end for end."""
    plank, found = matter.plank, []
    heading = list_brief(matter)
    # the name in one line, by which it is found
    wide = _ROLL_SIZE * text_width_mm(heading[0].text, height_mm=heading[0].height_mm)
    heading[0] = replace(heading[0], height_mm=heading[0].height_mm * min(1.0, 0.99 * _COLUMN_MM / wide))
    for turned in (False, True):
        ways = ("LEFT" if plank.forward == "right" else "RIGHT", "FOOT") if turned else (plank.forward.upper(), "TOP")
        rows = list(heading)
        # replace the row on face and side by one for the way that the plank lies here
        rows[1] = TitleRow("SEEN FROM %s: THE BOARD LIES WITH ITS %s FACE UP.  NOT MIRRORED.  ON THIS ROLL IT LIES%s "
                           "FWD TO THE %s, UPPER EDGE TO THE %s." % (plank.seen_from.upper(), plank.seen_from.upper(),
                                                                 " END FOR END:" if turned else "", *ways), 5.0)
        rows.append(TitleRow("ALL OTHER FIGURES, SOURCES AND CAUTIONS: %s OF %s."
                             % (RECORD.capitals, describe_plank(plank) or "PLANK"), 5.0))
        found.append(rows)
    return found[0], found[1]


def _lay_forms(words, turned) -> list[SheetBlock]:
    """A plank's words in one to eight columns: high and narrow, or low and wide."""
    lines, bottoms = lay_rows(words.rows[turned], _COLUMN_MM, size=_ROLL_SIZE)
    forms = []
    for count in range(1, min(_MOST_COLUMNS, len(lines)) + 1):
        deep, placed, x, begin = bottoms[-1] / count, [], 0.0, 0
        while begin < len(lines):
            above = bottoms[begin - 1] if begin else 0.0
            end = begin + 1
            while end < len(lines) and bottoms[end] - above <= deep + 5.0:
                end += 1
            placed += [move_block(one, np.array([[1.0, 0.0, x], [0.0, 1.0, -above]])) for one in lines[begin:end]]
            x, begin = x + _COLUMN_MM + 8.0, end
        forms.append(join_blocks(*placed))
    return forms


def _name_table(table: SheetBlock, name: str) -> SheetBlock:
    """A table scaled down to the size of the roll's words, with its plank's name above it."""
    low, _ = measure_block(table)
    lines = tuple(replace(one, cubics=(np.asarray(one.cubics) - low) * _TABLE_SIZE) for one in table.lines)
    size = max(_TABLE_SIZE, *(_FINE_MM / one.height_mm for one in table.texts)) if table.texts else _TABLE_SIZE
    if size > _TABLE_SIZE:
        lines = tuple(replace(one, cubics=(np.asarray(one.cubics) - low) * size) for one in table.lines)
    texts = tuple(replace(one, at_mm=tuple(map(float, (np.asarray(one.at_mm) - low) * size)),
                          height_mm=one.height_mm * size) for one in table.texts)
    return SheetBlock(lines, (*texts, SheetText(name, (0.0, -3.0), 5.0)))


def _lay_common(settings: SheetSettings, reach: float, wide_mm: float) -> SheetBlock:
    """Bars, cautions and the crosses of the diagonals, once for the whole roll."""
    bars = lay_bars(wide_mm)
    cautions = [move_block(piece, np.array([[1.0, 0.0, 0.0], [0.0, 1.0, bars.along_below_mm + 4.0]]))
                for piece in lay_rows(list_cautions(settings), bars.beside_mm)[0]]
    block = join_blocks(bars.piece, *cautions)
    bottom = measure_block(block)[1][1]
    diagonals = lay_diagonals(4.0, -14.0, min(1000.0, wide_mm - 8.0), min(bottom + 28.0, reach - 10.0))
    return join_blocks(block, diagonals or SheetBlock())


def _lay_strips(matter, reach, medium, settings, told):
    pages = cut_plank(matter, np.inf, reach, None, medium=medium, settings=settings)
    return pages, "%s: it was laid in strips, to be joined" % told
