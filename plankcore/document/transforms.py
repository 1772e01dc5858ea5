"""Transforms of groups and shapes, read from the attribute's own text.

Use `element.attrib`, not inkex's properties or `get`: merely reading a transform or style through them writes it back
in inkex's own form, the transform with six digits, which moves a plank of five metres by hundredths of a mm. Grammar:
SVG 1.1, 7.6 (https://www.w3.org/TR/SVG11/coords.html#TransformAttribute).
"""
from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from .path_text import spell_number

if TYPE_CHECKING:
    from ..geometry.arrays import Array, Matrix

__all__ = ["apply", "compose", "format_matrix", "invert", "read_transform"]

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
