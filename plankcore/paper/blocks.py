"""Pieces of a sheet: lettered, measured, moved, and cleared of lines that are drawn twice."""
from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import tolerance
from ..geometry.bezier import draw_circle, evaluate_cubics, flatten_cubics
from ..geometry.lettering import letter_points
from ..geometry.polyline import measure_distance_mm
from ..geometry.strokes import draw_polyline, draw_polylines, measure_extent, measure_extents, split_strokes
from ..model.drawing import SheetLine
from ..model.page import SheetBlock
from ..model.plank import freeze

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import ArrayLike, Cubics, Matrix, Point
    from ..model.drawing import SheetText

__all__ = [
    "drop_doubles",
    "is_same_line",
    "join_blocks",
    "letter_texts",
    "make_cross",
    "make_ring",
    "make_stroke",
    "measure_block",
    "move_block",
    "move_line",
    "move_text",
]


def make_stroke(a: ArrayLike, b: ArrayLike, *, role: str = "note", style: str = "note", pen: str = "draw",
                values: tuple[tuple[str, Any], ...] = ()) -> SheetLine:
    """A straight line from a to b."""
    return SheetLine(draw_polyline([a, b]), pen, role=role, style=style, closed=False, values=values)


def make_cross(at: ArrayLike, arm_mm: float, *, role: str, style: str = "note",
               values: tuple[tuple[str, Any], ...] = ()) -> SheetLine:
    """Two strokes that cross at a place, along and across."""
    x, y = at
    return SheetLine(np.concatenate([draw_polyline([(x - arm_mm, y), (x + arm_mm, y)]),
                                     draw_polyline([(x, y - arm_mm), (x, y + arm_mm)])]), "draw", role=role,
                     style=style, closed=False,
                     values=values)


def make_ring(at: ArrayLike, radius_mm: float, *, role: str = "ring", style: str = "doubtful",
              values: tuple[tuple[str, Any], ...] = ()) -> SheetLine:
    """A circle."""
    return SheetLine(draw_circle(at, radius_mm), "draw", role=role, style=style, closed=True, values=values)


@lru_cache(maxsize=8192)
def _letter(text):
    """A SheetText as a line, or None where it has no strokes; cached, since each is measured and drawn more than once.
    """
    points, begins = letter_points(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                                   anchor=text.anchor)
    if not len(points):
        return None
    return SheetLine(freeze(draw_polylines(points, begins)), "draw", role=text.role, style=text.style, closed=False,
                     values=(("text", text.text),))


def letter_texts(texts: Sequence[SheetText]) -> tuple[SheetLine, ...]:
    """Words as lines of strokes, with the text of each in its values."""
    return tuple(line for line in map(_letter, texts) if line is not None)


def measure_block(*pieces: SheetBlock) -> tuple[Point, Point]:
    """Least and greatest x and y of all that pieces draw and letter: two points (2,), mm. There must be at least one
    line or text."""
    return measure_extent(np.concatenate([one.cubics for piece in pieces
                                          for one in (*piece.lines, *letter_texts(piece.texts))]))


def move_line(line: SheetLine, matrix: Matrix) -> SheetLine:
    """A SheetLine under an affine map (2, 3)."""
    return replace(line, cubics=np.asarray(line.cubics) @ matrix[:, :2].T + matrix[:, 2])


def move_text(text: SheetText, matrix: Matrix) -> SheetText:
    """A SheetText under a rigid map (2, 3)."""
    at = matrix[:, :2] @ np.asarray(text.at_mm, float) + matrix[:, 2]
    turned = float(np.degrees(np.arctan2(matrix[1, 0], matrix[0, 0])))
    return replace(text, at_mm=(float(at[0]), float(at[1])), angle_deg=text.angle_deg + turned)


def move_block(piece: SheetBlock, matrix: Matrix) -> SheetBlock:
    """A piece under a rigid map (2, 3)."""
    matrix = np.asarray(matrix, float)
    return SheetBlock(tuple(move_line(one, matrix) for one in piece.lines),
                 tuple(move_text(one, matrix) for one in piece.texts))


def join_blocks(*pieces: SheetBlock) -> SheetBlock:
    """One piece of several, in order."""
    return SheetBlock(tuple(one for p in pieces for one in p.lines), tuple(one for p in pieces for one in p.texts))


def is_same_line(first: Cubics, second: Cubics, *, within_mm: float = tolerance.CURVE_MM) -> bool:
    """Whether two lines (cubics) cover each other, whatever their direction and starting point."""
    low, high = measure_extent(first)
    other_low, other_high = measure_extent(second)
    if max(np.abs(low - other_low).max(), np.abs(high - other_high).max()) > within_mm:
        return False
    for one, other in ((first, second), (second, first)):
        chains = [flatten_cubics(chain, tolerance_mm=tolerance.FLATTEN_MM) for chain in split_strokes(other)]
        places = evaluate_cubics(np.asarray(one, float), [0.0, 0.25, 0.5, 0.75, 1.0]).reshape(-1, 2)
        if np.min([measure_distance_mm(places, chain) for chain in chains], axis=0).max() > within_mm:
            return False
    return True


def drop_doubles(lines: Sequence[SheetLine], *, earlier: Sequence[SheetLine] = ()) -> tuple[SheetLine, ...]:
    """Lines without those that repeat an earlier one of the same pen; a line to draw is also left out where a line to
    cut covers it.

    A knife that runs along a line twice tears the material, and a pen makes the line thick.
    """
    every = [*earlier, *lines]
    extents = measure_extents([one.cubics for one in every]).reshape(-1, 4)
    kept, stands = [], np.arange(len(every)) < len(earlier)
    for k in range(len(earlier), len(every)):
        line = every[k]
        alike = stands & (np.abs(extents - extents[k]).max(axis=1) <= tolerance.CURVE_MM)
        near = [j for j in np.flatnonzero(alike).tolist() if every[j].pen in (line.pen, "cut")]
        if not any(is_same_line(every[j].cubics, line.cubics) for j in near):
            stands[k] = True
            kept.append(line)
    return tuple(kept)
