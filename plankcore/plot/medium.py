"""A page carried by a medium's correction: what is drawn is drawn wrong on purpose, so that the medium makes it true.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..model.page import SheetLie
from ..trade.media import find_roll_mm, find_sheet_mm

if TYPE_CHECKING:
    from ..model.page import MediumCorrection, Page
    from .sheet import MediumSettings

__all__ = ["correct_page", "find_lie", "restore_page", "shrink_room"]


def correct_page(page: Page, correction: MediumCorrection | None, *, about_mm: float = 0.0,
                 fixed: bool = False) -> Page:
    """Carry everything on a page, bars and all, by a correction.

    Parameters
    ----------
    page : Page
    correction : MediumCorrection or None
        None leaves the page as it is.
    about_mm : float
        What the machine cannot reach at each edge: the place that stays is (about_mm, about_mm).
    fixed : bool
        Whether the page keeps its size, a sheet of paper for instance; else it grows and shrinks with what is on it.
    """
    if correction is None:
        return page
    matrix = correction.matrix
    shift = np.full(2, about_mm) - matrix @ np.full(2, about_mm)
    # a page of fixed size is filled by what `shrink_room` has room for
    lean = matrix[0, 1] * (page.height_mm - 2 * about_mm) / (matrix[1, 1] if fixed else 1.0)
    shift[0] -= min(lean, 0.0)
    lines = tuple(replace(line, cubics=np.asarray(line.cubics) @ matrix.T + shift) for line in page.lines)
    if fixed:
        return replace(page, lines=lines)
    width = (page.width_mm - 2 * about_mm) * matrix[0, 0] + abs(lean) + 2 * about_mm
    height = (page.height_mm - 2 * about_mm) * matrix[1, 1] + 2 * about_mm
    return replace(page, width_mm=float(width), height_mm=float(height), lines=lines)


def restore_page(page: Page, correction: MediumCorrection | None, *, about_mm: float = 0.0) -> Page:
    """What `correct_page` has carried, but for a fixed page, carried back: a page in true mm again."""
    if correction is None:
        return page
    matrix = correction.matrix
    height = (page.height_mm - 2 * about_mm) / matrix[1, 1]
    lean = matrix[0, 1] * height
    width = (page.width_mm - 2 * about_mm - abs(lean)) / matrix[0, 0]
    shift = np.full(2, about_mm) - matrix @ np.full(2, about_mm)
    shift[0] -= min(lean, 0.0)
    back = np.linalg.inv(matrix).T
    lines = tuple(replace(line, cubics=(np.asarray(line.cubics) - shift) @ back) for line in page.lines)
    return replace(page, width_mm=float(width + 2 * about_mm), height_mm=float(height + 2 * about_mm), lines=lines)


def find_lie(kind: str, medium: MediumSettings) -> SheetLie:
    """How a plot lies in the machine: SheetLie.

    Parameters
    ----------
    kind : {'one sheet', 'roll', 'tiles'}
        A roll is fed along itself. A sheet goes in by the edge that `medium.first_edge` tells, 'short edge' or 'long
        edge'; of one sheet that is sized to the plank the short edges are those at the plank's ends, and its page is
        told by that, since its size is another for each plank.
    medium : MediumSettings
    """
    if kind == "roll":
        return SheetLie("along", "roll %.1f mm wide" % find_roll_mm(medium.roll, medium.own_mm[0]))
    short_first = medium.first_edge == "short edge"
    if kind == "one sheet":
        return SheetLie("along" if short_first else "across", "one sheet sized to the plank")
    along = short_first == (medium.long_side == "along")
    return SheetLie("along" if along else "across", "%.1f x %.1f mm" % find_sheet_mm(medium.sheet, medium.own_mm))


def shrink_room(width_mm: float, height_mm: float, correction: MediumCorrection | None) -> tuple[float, float]:
    """The room that, once corrected, is no larger than the one there is: width and height, mm."""
    if correction is None:
        return float(width_mm), float(height_mm)
    matrix = correction.matrix
    height = height_mm / matrix[1, 1]
    return float((width_mm - abs(matrix[0, 1]) * height) / matrix[0, 0]), float(height)
