"""From the page's user units to mm: one uniform map, or a refusal.

Read from width, height, viewBox and preserveAspectRatio themselves (SVG 1.1, 7.7 and 7.8,
https://www.w3.org/TR/SVG11/coords.html); inkex's helpers guess where these are missing, and only use x.
"""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import DocumentError

if TYPE_CHECKING:
    from ..geometry.arrays import Matrix
    from .names import Element

__all__ = ["PageScale", "read_page_scale"]

_LENGTH = re.compile(r"^\s*\+?(\d+\.?\d*(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?)\s*(mm|cm|in|pt|pc|px|Q|)\s*$")
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 25.4 / 96, "Q": 0.25}
# x and y scales may differ by this share through rounding of the page's own numbers: 0.1 mm in 5 m
_EVEN = 2e-5
_REMEDY = ("Open File > Document Properties and give the page its true width and height in mm, with equal scale "
           "along and across.")


@dataclass(frozen=True, eq=False, repr=False)
class PageScale:
    """user_to_mm : ndarray, shape (2, 3); mm_per_unit : float; width_mm, height_mm of the page."""

    user_to_mm: Matrix
    mm_per_unit: float
    width_mm: float
    height_mm: float


def _read_length(text, which):
    match = _LENGTH.match(text or "")
    if not match:
        said = "is not given" if not text else "is '%s'" % text
        raise DocumentError("The page has no true size: its %s %s." % (which, said), _REMEDY, "page %s" % which)
    value = float(match.group(1)) * _MM[match.group(2)]
    if not 0 < value < 1e7:
        raise DocumentError("The page's %s of %g mm cannot be right." % (which, value), _REMEDY, "page %s" % which)
    return value


def read_page_scale(root: Element) -> PageScale:
    """Map from the root's user units to mm.

    Parameters
    ----------
    root : lxml element
        The svg element.

    Raises
    ------
    DocumentError
        If the page does not say its true size, or scales x and y differently.
    """
    width, height = _read_length(root.get("width"), "width"), _read_length(root.get("height"), "height")
    box = root.get("viewBox")
    if box is None:
        unit = _MM["px"]
        return PageScale(np.array([[unit, 0.0, 0.0], [0.0, unit, 0.0]]), unit, width, height)
    try:
        x, y, w, h = (float(v) for v in box.replace(",", " ").split())
    except ValueError:
        raise DocumentError("The page's viewBox '%s' cannot be read." % box, _REMEDY, "page viewBox") from None
    if not (w > 0 and h > 0 and np.isfinite([x, y, w, h]).all()):
        raise DocumentError("The page's viewBox '%s' has no size." % box, _REMEDY, "page viewBox")
    along, across = width / w, height / h
    if abs(along / across - 1) > _EVEN:
        raise DocumentError("The page is scaled by %.5f along and %.5f across: a true circle would not be round."
                            % (along, across),
                            _REMEDY, "page width, height and viewBox")
    scale = min(along, across)
    align = ((root.get("preserveAspectRatio") or "").split() or ["xMidYMid"])[0]
    if align == "none":
        shift = np.zeros(2)
    else:
        part = np.array([{"xMin": 0.0, "xMid": 0.5, "xMax": 1.0}.get(align[:4], 0.5),
                         {"YMin": 0.0, "YMid": 0.5, "YMax": 1.0}.get(align[4:], 0.5)])
        shift = part * (np.array([width, height]) - scale * np.array([w, h]))
    return PageScale(np.array([[scale, 0.0, shift[0] - scale * x], [0.0, scale, shift[1] - scale * y]]), scale, width,
                     height)
