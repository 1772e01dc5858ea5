"""Choice of what is plotted of a plank: everything, the cuts with the frames, or the cuts alone."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..model.drawing import SheetText
from ..model.page import SheetBlock
from ..paper.blocks import measure_block, move_line, move_text

if TYPE_CHECKING:
    from ..model.drawing import Sheet

__all__ = ["ALL", "CUT", "CUT_AND_FRAMES", "PLOTTED", "crop_sheet", "keep_chosen"]

ALL, CUT_AND_FRAMES, CUT = PLOTTED = ("all", "cut and frames", "cut alone")
# with what is cut also: frames and their numbers, the plank's names and directions, and bars to check its length
_NUMBER_MM = 8.0
_WHOLE = ("saw", "outline")
_BESIDE = ("station", "arrow", "scale-bar", "scale-bar-tick")


def keep_chosen(piece: SheetBlock, plotted: str, *, parted: bool | None = None) -> SheetBlock:
    """A piece reduced to what is to be plotted, one of PLOTTED.

    Where a plank's parts are drawn clear of it the parts are cut and the whole is not: its line is drawn with the
    frames, or left out. parted : whether that is so; None looks for parts in the piece."""
    if plotted == ALL:
        return piece
    parted = any(one.role == "part-saw" for one in piece.lines) if parted is None else parted
    lines = tuple(replace(one, pen="draw", style="outline") if parted and one.pen == "cut" and one.role in _WHOLE
                  else one for one in piece.lines)
    if plotted == CUT:
        return SheetBlock(tuple(one for one in lines if one.pen == "cut"))
    lines = tuple(one for one in lines if one.pen == "cut" or one.role in _BESIDE or parted and one.role in _WHOLE)
    texts = tuple(one for one in piece.texts if one.role in ("name", "way"))
    return SheetBlock(lines, (*texts, *(_number(one) for one in lines if one.role == "station"),
                         *(_tell_length(one) for one in lines if one.role == "scale-bar")))


def _number(line):
    """A frame's number beside its line, a quarter of the way down, in place of its full card."""
    a, b = np.asarray(line.cubics)[0, 0], np.asarray(line.cubics)[-1, 3]
    upper, lower = (a, b) if a[1] <= b[1] else (b, a)
    at = upper + (lower - upper) / 4
    return SheetText(str(dict(line.values)["station"]), (float(at[0] + 2.5), float(at[1] + _NUMBER_MM / 2)), _NUMBER_MM,
                     role="label")


def _tell_length(line):
    """How long a bar is, beside its middle."""
    a, b = np.asarray(line.cubics)[0, 0], np.asarray(line.cubics)[-1, 3]
    at, along = (a + b) / 2, abs(b[0] - a[0]) > abs(b[1] - a[1])
    return SheetText("%g MM" % dict(line.values)["length_mm"], (float(at[0] + (0.0 if along else 6.0)),
                                                                float(at[1] - (3.0 if along else 0.0))), 4.0,
                     role="scale-bar", style="scale-bar")


def crop_sheet(sheet: Sheet, plotted: str, *, margin_mm: float) -> Sheet:
    """A sheet reduced to what is to be plotted, and to the size of that with clear paper round it.

    Raises
    ------
    SettingError
        If nothing of that kind is on it.
    """
    if plotted == ALL:
        return sheet
    piece = keep_chosen(SheetBlock(sheet.lines, sheet.texts), plotted)
    if not piece.lines and not piece.texts:
        raise SettingError("There is nothing on the sheet that is %s." % plotted, "Plot all of it.", "What to plot")
    low, high = measure_block(piece)
    move = np.array([[1.0, 0.0, margin_mm - low[0]], [0.0, 1.0, margin_mm - low[1]]])
    to_sheet = np.array(sheet.to_sheet)
    to_sheet[:, 2] += move[:, 2]
    return replace(sheet, width_mm=float(high[0] - low[0] + 2 * margin_mm),
                   height_mm=float(high[1] - low[1] + 2 * margin_mm), to_sheet=to_sheet,
                   lines=tuple(move_line(one, move) for one in piece.lines),
                   texts=tuple(move_text(one, move) for one in piece.texts))
