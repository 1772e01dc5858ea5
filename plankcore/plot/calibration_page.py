"""A page for measuring a medium: bars as long as the medium in both directions, crosses in its corners, what to type,
and the error over a plank's length that is left by reading them."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..model.drawing import SheetText
from ..model.page import Page, SheetBlock
from ..paper.bars import lay_medium_bars
from ..paper.blocks import join_blocks, letter_texts, make_cross, move_block
from ..trade.media import find_roll_mm, find_sheet_mm
from .calibration import correct_page, find_lie, shrink_room
from .chosen import MediumSettings, SheetSettings
from .roll import check_edge
from .title import TitleRow, lay_rows

if TYPE_CHECKING:
    from typing import Mapping, Sequence

__all__ = ["READING_MM", "find_left_error_mm", "lay_out_calibration"]

# reading error: half a division of a steel tape marked in mm, at each end
READING_MM = 0.5
_INSET_MM, _ARM_MM, _CLEAR_MM, _LETTER_MM = 5.0, 4.0, 14.0, 3.5
_SIZES = (1.0, 0.8, 0.6)


def find_left_error_mm(length_mm: float, bar_mm: float, *, reading_mm: float = READING_MM) -> float:
    """The error over another length, mm, that remains from reading a bar of this length: scale errors grow with length.
    """
    return reading_mm * length_mm / bar_mm


def lay_out_calibration(kind: str, lengths_mm: Mapping[str, float], *, medium: MediumSettings = MediumSettings(),
                        settings: SheetSettings = SheetSettings(),
                        sheet_mm: Sequence[float] = (0.0, 0.0)) -> tuple[Page, str]:
    """The page to measure.

    Parameters
    ----------
    kind : {'one sheet', 'roll', 'tiles'}
        The kind of plot to be made afterwards; the factors are stored for it.
    lengths_mm : dict
        Name of a plank to its length; of a roll the page is as long as the longest, in whole hundreds.
    sheet_mm : (float, float)
        For 'one sheet': its width and height.

    Returns
    -------
    page : Page
    said : str
        A sentence for the user.

    Raises
    ------
    SettingError
        If a medium is too small for bars that would show anything.
    """
    edge, longest = medium.edge_mm, max(lengths_mm.values())
    if kind == "roll":
        width = find_roll_mm(medium.roll, medium.own_mm[0])
        check_edge(medium, width)
        along = 100.0 * np.ceil(longest / 100) + 2 * edge
        along = min(along, medium.longest_mm) if medium.longest_mm else along
        size = (float(along), width)
    elif kind == "tiles":
        long, short = find_sheet_mm(medium.sheet, medium.own_mm)
        size = (long, short) if medium.long_side == "along" else (short, long)
        check_edge(medium, *size)
    else:
        size, edge = (float(sheet_mm[0]), float(sheet_mm[1])), settings.margin_mm
    room = shrink_room(size[0] - 2 * edge, size[1] - 2 * edge, settings.correction)
    if min(room) < 120.0:
        raise SettingError("A page of %.0f x %.0f mm is too small to measure a medium by." % size,
                           "Take a larger one.", "Sheet size")
    bars = lay_medium_bars(*room, clear_mm=_CLEAR_MM)
    crosses, sides = _lay_crosses(room)
    rows = _list_rows(kind, lengths_mm, bars.lengths_mm, sides, medium=medium, settings=settings)
    for one in _SIZES:
        pieces, bottoms = lay_rows(rows, room[0] - bars.beside_mm - 2 * _CLEAR_MM, size=one)
        if bottoms[-1] <= room[1] - bars.below_mm - 2 * _CLEAR_MM:
            break
    words = [move_block(piece, np.array([[1.0, 0.0, _CLEAR_MM], [0.0, 1.0, _CLEAR_MM]])) for piece in pieces]
    whole = move_block(join_blocks(bars.piece, crosses, *words), np.array([[1.0, 0.0, edge], [0.0, 1.0, edge]]))
    page = Page("CALIBRATION", *size, (*whole.lines, *letter_texts(whole.texts)), title="CALIBRATION")
    page = correct_page(page, settings.correction, about_mm=edge, fixed=True)
    return page, "a page to measure, %.0f x %.0f mm, for %s; type what you find" % (*size,
                                                                                    find_lie(kind, medium).describe())


def _lay_crosses(room):
    """A, B, C, D clockwise from the upper left, and the sides AB and AD."""
    a, b = (float(np.floor(v - 2 * _INSET_MM)) for v in room)
    left, top = _INSET_MM, _INSET_MM
    corners = [(left, top), (left + a, top), (left + a, top + b), (left, top + b)]
    lines = tuple(make_cross(at, _ARM_MM, role="corner-cross", style="scale-bar", values=(("corner", name),))
                  for name, at in zip("ABCD", corners))
    # each letter inward of its cross
    texts = tuple(SheetText(name, (x + 4.5 * right, y + (7.0 if down > 0 else -4.0)), _LETTER_MM,
                            anchor="start" if right > 0 else "end")
                  for name, (x, y), right, down in zip("ABCD", corners, (1, -1, -1, 1), (1, 1, -1, -1)))
    return SheetBlock(lines, texts), (a, b)


def _list_rows(kind, lengths_mm, bars_mm, sides, *, medium, settings):
    lie, (a, b) = find_lie(kind, medium), sides
    along, across = bars_mm
    rows = [TitleRow("CALIBRATION: %s." % lie.describe().upper(), 7.0, below_mm=2.0),
            TitleRow("CORNERS: A UPPER LEFT, B UPPER RIGHT, C LOWER RIGHT, D LOWER LEFT. FED ANOTHER WAY, A "
                     "SHEET HAS OTHER FACTORS.", 4.0),
            TitleRow("CROSSES: AB AND DC %.1f  AD AND BC %.1f  AC AND BD %.1f MM" % (a, b, np.hypot(a, b)), 4.0,
                     below_mm=2.0),
            TitleRow("MEASURE WITH A STEEL TAPE, FLAT, AN HOUR AFTER PLOTTING OR MORE. THEN TYPE, IN MM:", 5.0),
            TitleRow("BAR ALONG SAYS %.1f   MEASURES ________" % along, 5.0),
            TitleRow("BAR ACROSS SAYS %.1f   MEASURES ________" % across, 5.0),
            TitleRow("CROSSES AB SAYS %.1f   AD SAYS %.1f" % (a, b), 5.0),
            TitleRow("AC MEASURES ________   BD MEASURES ________", 5.0),
            TitleRow("MEDIUM ________________   DAY ____________", 5.0, below_mm=2.0)]
    for name, length in lengths_mm.items():
        rows.append(TitleRow("READ TO %.1f MM, THE BAR ALONG LEAVES %.2f MM OVER THE %.1f MM OF %s."
                             % (READING_MM, find_left_error_mm(length, along), length, name), 4.0))
    if settings.correction is not None:
        rows.append(TitleRow(settings.correction.describe(), 4.0, "warning"))
    last = "  ".join(t for t in ("FILE %s" % settings.file_name if settings.file_name else "", settings.day) if t)
    return rows + ([TitleRow(last, 4.0)] if last else [])
