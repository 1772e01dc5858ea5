"""Pieces of a sheet: lettered, measured, moved, and rid of lines that are drawn already; and how words are set, broken
to fit a room.
"""
from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import arrays
from ..geometry.bezier import draw_circle, evaluate_cubics, flatten_cubics
from ..geometry.lettering import letter_points, text_width_mm
from ..geometry.polyline import measure_distance_mm
from ..geometry.strokes import draw_polyline, draw_polylines, measure_extent, measure_extents, split_strokes
from ..model.drawing import SheetLine
from ..model.page import SheetBlock
from ..model.plank import freeze

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import ArrayLike, Cubics, Matrix, Point, Points
    from ..model.drawing import SheetText, Station

__all__ = [
    "FORWARD",
    "drop_doubles",
    "is_same_line",
    "join_blocks",
    "letter_texts",
    "list_station_words",
    "make_cross",
    "make_ring",
    "make_stroke",
    "measure_block",
    "move_block",
    "move_line",
    "move_text",
    "tell_forward",
    "wrap_words",
]


@lru_cache(maxsize=8192)
def _measure_word(word):
    """Width of a word in letters 1 mm high; words in a line do not affect each other, so their widths add up."""
    return text_width_mm(word, height_mm=1.0)


def wrap_words(text: str, room_mm: float, height_mm: float) -> list[str]:
    """A text broken into lines no longer than the room, unless a single word is."""
    room, space = room_mm / height_mm, _measure_word(" ")
    lines, line, width = [], [], 0.0
    for word in text.split(" "):
        longer = width + space + _measure_word(word) if line else _measure_word(word)
        if line and longer > room:
            lines.append(" ".join(line))
            line, longer = [], _measure_word(word)
        line.append(word)
        width = longer
    return lines + [" ".join(line)]


def list_station_words(station: Station, line: Points | None = None) -> list[tuple[str, Point, float, float]]:
    """What is lettered at a frame's line: its label below the upper edge and its width above the lower, read along the
    plank.

    Parameters
    ----------
    station : Station
    line : ndarray, shape (2, 2), mm, optional
        The line where it is drawn, if that is not its place on the plank.

    Returns
    -------
    list of (text, at_mm (2,), height_mm, angle_deg)
    """
    upper, lower = station.line if line is None else line
    down = (lower - upper) / max(station.width_mm, 1e-9)
    right = np.array([down[1], -down[0]])
    right = right if right[0] >= 0 else -right
    angle = float(np.degrees(np.arctan2(right[1], right[0])))
    height = float(np.clip(station.width_mm / 12, 4.0, 10.0))
    told = [(station.label, upper + down * 2.0 * height, height),
            ("%.1f" % station.width_mm, lower - down * 0.8 * height, 0.55 * height)]
    return [(text, at + right * (2.5 if station.words != "left" else -2.5 - text_width_mm(text, height_mm=size)),
             size, angle) for text, at, size in told]


FORWARD = "forward"       # role of lettering that says which way the bow lies


def tell_forward(forward: str) -> str:
    """'FWD TO THE LEFT', for 'left'."""
    return "FWD TO THE %s" % forward.upper()


def make_stroke(a: ArrayLike, b: ArrayLike, *, role: str = "note", style: str = "note", pen: str = "draw",
                values: tuple[tuple[str, Any], ...] = ()) -> SheetLine:
    """A straight line from a to b."""
    return SheetLine(draw_polyline([a, b]), pen, role=role, style=style, closed=False, values=values)


def make_arrow(tail: Point, tip: Point, *, back_mm: float, aside_mm: float) -> list[SheetLine]:
    """A straight arrow: its shaft, and two barbs that end so far behind the tip and to both sides of the shaft."""
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    return [make_stroke(tail, tip, style="arrow", role="arrow"),
            *(make_stroke(tip, tip - way * back_mm + side * s * aside_mm, style="arrow", role="arrow")
              for s in (1.0, -1.0))]


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


def is_same_line(first: Cubics, second: Cubics, *, within_mm: float = arrays.CURVE_MM) -> bool:
    """Whether two lines (cubics) cover each other, whatever their direction and starting point."""
    low, high = measure_extent(first)
    other_low, other_high = measure_extent(second)
    if max(np.abs(low - other_low).max(), np.abs(high - other_high).max()) > within_mm:
        return False
    for one, other in ((first, second), (second, first)):
        chains = [flatten_cubics(chain, tolerance_mm=arrays.FLATTEN_MM) for chain in split_strokes(other)]
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
        alike = stands & (np.abs(extents - extents[k]).max(axis=1) <= arrays.CURVE_MM)
        near = [j for j in np.flatnonzero(alike).tolist() if every[j].pen in (line.pen, "cut")]
        if not any(is_same_line(every[j].cubics, line.cubics) for j in near):
            stands[k] = True
            kept.append(line)
    return tuple(kept)
