"""The true length of a long page, lettered at both its ends, each beside a cross: a tape from cross to cross shows
whether a program or a print shop has scaled it."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..geometry.strokes import sample_lines
from ..model.drawing import SheetText
from ..model.page import LONGEST_PAGE_MM
from ..paper.blocks import letter_texts, make_cross

if TYPE_CHECKING:
    from ..model.page import Page

__all__ = ["drop_ends", "letter_ends"]

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
