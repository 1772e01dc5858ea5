"""A page carried by a medium's correction: what is drawn is drawn wrong on purpose, so that the medium makes it true."""
from __future__ import annotations

from dataclasses import replace

import numpy as np

__all__ = ["correct_page", "shrink_room"]


def correct_page(page, correction, *, about_mm=0.0, fixed=False):
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


def shrink_room(width_mm, height_mm, correction):
    """The room that, once corrected, is no larger than the one there is: width and height, mm."""
    if correction is None:
        return float(width_mm), float(height_mm)
    matrix = correction.matrix
    height = height_mm / matrix[1, 1]
    return float((width_mm - abs(matrix[0, 1]) * height) / matrix[0, 0]), float(height)
