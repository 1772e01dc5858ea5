"""Transforms of groups and shapes, read from the attribute's own text, and the page's own, from its user units to mm:
one uniform map, or a refusal.

Use `element.attrib`, not inkex's properties or `get`: merely reading a transform or style through them writes it back
in inkex's own form, the transform with six digits, which moves a plank of five metres by hundredths of a mm. Grammar:
SVG 1.1, 7.6 (https://www.w3.org/TR/SVG11/coords.html#TransformAttribute).

The page's own is read from width, height, viewBox and preserveAspectRatio themselves (SVG 1.1, 7.7 and 7.8,
https://www.w3.org/TR/SVG11/coords.html); inkex's helpers guess where these are missing, and only use x.
"""
from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..errors import DocumentError
from .path_text import spell_number

if TYPE_CHECKING:
    from ..geometry.arrays import Array, Matrix
    from .names import Element

__all__ = ["PageScale", "apply", "compose", "format_matrix", "invert", "read_page_scale", "read_transform"]

_CALL = re.compile(r"\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)\s*,?")


def compose(outer: Matrix, inner: Matrix) -> Matrix:
    """The composed affine map (2, 3): inner first, then outer."""
    outer, inner = np.asarray(outer, float), np.asarray(inner, float)
    total = np.empty((2, 3))
    total[:, :2] = outer[:, :2] @ inner[:, :2]
    total[:, 2] = outer[:, :2] @ inner[:, 2] + outer[:, 2]
    return total


def invert(matrix: Matrix) -> Matrix:
    """Inverse of an affine map (2, 3)."""
    matrix = np.asarray(matrix, float)
    linear = np.linalg.inv(matrix[:, :2])
    return np.hstack([linear, (-linear @ matrix[:, 2])[:, None]])


def apply(matrix: Matrix, points: Array) -> Array:
    """Points (..., 2) under an affine map."""
    matrix, points = np.asarray(matrix, float), np.asarray(points, float)
    # reshaped, since many small matrix products are ten times as slow as one large one
    return (points.reshape(-1, 2) @ matrix[:, :2].T + matrix[:, 2]).reshape(points.shape)


def format_matrix(matrix: Matrix) -> str:
    """An SVG transform with about twelve digits (the editor's own writer keeps six): over 10 m less than 1e-6 mm is
    lost, and rounding differences between machines, in the sixteenth digit, are not written.

    The linear part is written to eleven decimals relative to its size; the shift to 1e-8, or to the twelfth digit of
    the larger coordinate where that is coarser.
    """
    m = np.asarray(matrix, float)
    scale, shift = float(np.abs(m[:, :2]).max()), float(np.abs(m[:, 2]).max())
    size = round(math.log10(scale)) if np.isfinite(m).all() and scale > 0 else None
    if size is None:
        values = ["%.15g" % v for v in m.T.ravel()]
    else:
        far = math.ceil(math.log10(shift) + 0.2) if shift > 0 else 0
        values = [spell_number(v, max(11 - size, 0)) for v in m[:, :2].T.ravel()]
        values += [spell_number(v, max(min(8 + max(-size, 0), 12 - far), 0)) for v in m[:, 2]]
    return "matrix(%s)" % ",".join(values)


def read_transform(text: str | None) -> Matrix:
    """The affine map (2, 3) of a transform attribute; the identity where there is none.

    Raises
    ------
    ValueError
        If any of it cannot be read.
    """
    return _read(text or "").copy()


@lru_cache(maxsize=256)               # a group's is asked for with each shape in it
def _read(text):
    total = np.eye(2, 3)
    rest = text.strip()
    if rest == "none":
        return total
    while rest:
        match = _CALL.match(rest)
        if not match:
            raise ValueError("transform")
        total = compose(total, _read_call(match.group(1), [float(v) for v in match.group(2).replace(",", " ").split()]))
        rest = rest[match.end():]
    return total


def _read_call(name, v):
    if name == "matrix" and len(v) == 6:
        return np.array([[v[0], v[2], v[4]], [v[1], v[3], v[5]]])
    if name == "translate" and len(v) in (1, 2):
        return np.array([[1, 0, v[0]], [0, 1, v[1] if len(v) == 2 else 0.0]])
    if name == "scale" and len(v) in (1, 2):
        return np.array([[v[0], 0, 0], [0, v[-1], 0]])
    if name == "rotate" and len(v) in (1, 3):
        c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        turn = np.array([[c, -s, 0], [s, c, 0]])
        if len(v) == 1:
            return turn
        x, y = v[1:]
        return np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y]])
    if name in ("skewX", "skewY") and len(v) == 1:
        t = math.tan(math.radians(v[0]))
        return np.array([[1, t, 0], [0, 1, 0]]) if name == "skewX" else np.array([[1, 0, 0], [t, 1, 0]])
    raise ValueError("transform")


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
