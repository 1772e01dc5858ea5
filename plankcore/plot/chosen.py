"""What of a plank is plotted, with the lines to cut of its parts, and what is said of a plot: margins, file and day,
the medium.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.outline import part_closed
from ..geometry.polyline import measure_distance_mm
from ..geometry.strokes import flatten_strokes
from ..model.drawing import SheetLine, SheetText
from ..model.page import SheetBlock
from ..model.typed import refuse_unknown
from ..paper.blocks import measure_block, move_line, move_text

if TYPE_CHECKING:
    from ..model.drawing import Overlay, Sheet
    from ..model.page import MediumCorrection, PlankMatter

__all__ = [
    "ALL",
    "CUT",
    "CUT_AND_FRAMES",
    "PLOTTED",
    "MediumSettings",
    "SheetSettings",
    "crop_sheet",
    "cut_parts",
    "keep_chosen",
]

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


@dataclass(frozen=True)
class SheetSettings:
    """margin_mm: clear paper round everything; file_name: printed on the sheet; day: date to print, or ''; correction:
    of the medium, to be applied and printed; plotted: which parts of a plank, one of PLOTTED."""

    margin_mm: float = 20.0
    file_name: str = ""
    day: str = ""
    correction: MediumCorrection | None = None
    plotted: str = ALL

    def __post_init__(self):
        refuse_unknown(self.plotted, PLOTTED, field="What to plot")


@dataclass(frozen=True)
class MediumSettings:
    """The medium that is plotted on.

    roll, sheet : names in ROLLS and SHEETS, or OWN, with own_mm the width of the roll, or both sides of the sheet.
    long_side : direction of the sheet's long side, 'along' the plank or 'across'. edge_mm : border that the machine
    cannot reach. overlap_mm : of tiles. gap_mm : between pieces on a roll. longest_mm : length left of the roll, 0 for
    no limit. first_edge : the edge of a sheet that goes into the machine first, 'short edge' or 'long edge'; a
    correction is stored for that.
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


_OWN_MM = 0.5             # an end of a part within this distance of the plank's outline is the plank's own end
_FAR_MM = 1e6


def cut_parts(matter: PlankMatter) -> PlankMatter:
    """A PlankMatter with a line to cut added for each part that is drawn clear of the plank.

    At a joint a part is cut along the joint's own line, square through and without allowance; everywhere else along the
    plank's saw line. Without a saw line the part's net outline is cut.
    """
    return replace(matter, overlays=tuple(_add_cuts(one, matter) for one in matter.overlays))


def _add_cuts(overlay: Overlay, matter: PlankMatter) -> Overlay:
    parts = [one for one in overlay.lines if one.role == "part" and np.any(_read_shift(one))]
    if not parts:
        return overlay
    saw = None if matter.saw is None else np.concatenate([c.cubics for c in matter.saw.curves])
    net = flatten_strokes(np.concatenate([c.cubics for c in matter.plank.outline()]), tolerance_mm=0.05)[0]
    return replace(overlay, lines=(*overlay.lines, *(_cut(one, saw, net) for one in parts)))


def _read_shift(line):
    return np.array([float(v) for v in str(dict(line.values).get("shift_mm", "0 0")).split()])


def _cut(part, saw, net):
    """The SheetLine to cut of a part's outline."""
    values, shift = dict(part.values), _read_shift(part)
    kept = tuple((key, values[key]) for key in ("part", "shift_mm"))
    place = np.asarray(part.cubics, float) - shift
    cubics = place if saw is None else saw
    counts = [int(v) for v in str(values["pieces"]).split()]
    curves = np.split(place, np.cumsum(counts)[:-1])
    middle = place[:, 0].mean(axis=0)
    for end in curves if saw is not None else ():
        points = flatten_strokes(end, tolerance_mm=0.05)[0]
        # this side is the plank's own edge or end: the saw line bounds the part there
        if measure_distance_mm((points[:1] + points[-1:]) / 2 if len(points) == 2 else points, net).max() < _OWN_MM:
            continue
        cubics = _trim(cubics, points, middle)
    return SheetLine(cubics + shift, "cut", role="part-saw", style="saw", closed=True, values=kept)


def _trim(cubics, end, middle):
    """The part of a closed curve on a part's own side of a straight cut along its end at a joint; if the end is not
    straight the cut goes through its outermost place."""
    way = (end[-1] - end[0]) / np.hypot(*(end[-1] - end[0]))
    turn = np.array([[way[1], -way[0]], [way[0], way[1]]])              # turns the end's direction to y
    at, inside = (end @ turn.T)[:, 0], float((turn @ middle)[0])
    ends = (float(at.min()), _FAR_MM) if inside > at.mean() else (-_FAR_MM, float(at.max()))
    some = part_closed(cubics @ turn.T, low=ends[0], high=ends[1])
    return max(some, key=lambda one: float(np.ptp(one.reshape(-1, 2), axis=0).max())) @ turn
