"""Free room on a sheet: whatever is drawn takes cells of a grid, and words are placed where no cell is taken.

Lettering heights come from the distance they are read at. ISO 9241-3 prefers letters that fill 20 to 22 minutes of arc
and allows no less than 16 (as makers of displays quote it; NUREG-0700 rev. 2, 1.3.1-4, asks the same and gives the
height, 6.283 D M / 21600). From 1 m that is 5.8 to 6.4 mm, at least 4.7. The sizes are those of ISO 3098 (2.5, 3.5, 5,
7, 10, 14 mm; the series from memory): 7 mm for what is read while standing, 5 where room is short, less only where
stated.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..geometry.strokes import sample_lines
from ..model.drawing import SheetText
from ..model.plank import freeze

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import ArrayLike, Cubics, Mask, Point, Points

__all__ = ["READING_MM", "Bounds", "Room", "WordBlock", "WordPair", "find_letter_height_mm", "make_block"]

READING_MM = 1000.0       # from the eye of somebody standing over the plot
_CELL_MM = 1.0
# spacing of the places that are tested in a box; taken stretches are 3 cells wide, so that none is missed between them
_STEP_MM = 2.0
_TURN_DEG = 0.25         # angles are rounded to this
_ROUND_MM = 220.0         # how far the grid reaches beyond what is drawn
_CLEAR_MM = 1.2           # clear paper round words
_PAIR_MM = 2.5            # extra space between two blocks side by side


def find_letter_height_mm(distance_mm: float, *, minutes: float = 20.0) -> float:
    """Height of a capital, mm, that fills a given angle in minutes of arc at a distance: 2 pi D M / 21600 (NUREG-0700
    rev. 2)."""
    return 2 * np.pi * distance_mm * minutes / 21600


@dataclass(frozen=True)
class WordBlock:
    """Lines of words set one below the other: (text, height) each, all beginning at the left.

    role, style : of every line.
    """

    lines: tuple[tuple[str, float], ...]
    role: str = "label"
    style: str = "note"
    leading: float = 0.62

    @property
    def wide_mm(self) -> float:
        """Width of its longest line."""
        return max(text_width_mm(text, height_mm=height) for text, height in self.lines)

    @property
    def tall_mm(self) -> float:
        """Height from the top of its first line to below its last, descenders included."""
        return sum(h for _, h in self.lines) * (1 + self.leading) - self.lines[0][1] * self.leading \
            + 0.17 * self.lines[-1][1]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box that must be free, clear paper included."""
        return self.wide_mm + 2 * _CLEAR_MM + 0.1 * self.lines[0][1], self.tall_mm + 2 * _CLEAR_MM + 0.3

    def letter(self, middle: ArrayLike, *, angle_deg: float = 0.0) -> tuple[SheetText, ...]:
        """Its SheetTexts, with the middle of the box at a place (2,)."""
        right, down = _find_ways(angle_deg)
        at = np.asarray(middle, float) - right * self.wide_mm / 2 - down * self.tall_mm / 2
        found: list[SheetText] = []
        for number, (text, height) in enumerate(self.lines):
            at = at + down * (height if not number else height * (1 + self.leading))
            found.append(SheetText(text, (float(at[0]), float(at[1])), height, angle_deg, role=self.role,
                                   style=self.style))
        return tuple(found)


@dataclass(frozen=True)
class WordPair:
    """Two Blocks side by side, their tops level."""

    first: WordBlock
    second: WordBlock

    @property
    def size_mm(self) -> tuple[float, float]:
        """As of a WordBlock."""
        one, other = self.first.size_mm, self.second.size_mm
        return one[0] + other[0] + _PAIR_MM, max(one[1], other[1])

    def letter(self, middle: ArrayLike, *, angle_deg: float = 0.0) -> tuple[SheetText, ...]:
        """As of a WordBlock."""
        right, down = _find_ways(angle_deg)
        one, other, (wide, tall) = self.first.size_mm, self.second.size_mm, self.size_mm
        middle = np.asarray(middle, float)
        return (*self.first.letter(middle + right * (one[0] - wide) / 2 + down * (one[1] - tall) / 2,
                                   angle_deg=angle_deg),
                *self.second.letter(middle + right * (wide - other[0]) / 2 + down * (other[1] - tall) / 2,
                                    angle_deg=angle_deg))


@dataclass(frozen=True, eq=False, repr=False)
class Bounds:
    """What words keep to. boxes : (low, high) of the rectangles that they must lie in; borders : places (n, 2) that
    they must not lie across; taken : lines, cubics (k, 4, 2), that others will draw.
    """

    boxes: tuple[tuple[Point, Point], ...]
    borders: Points
    taken: tuple[Cubics, ...]


class Room:
    """A grid over a stretch of paper: which cells are taken.

    Parameters
    ----------
    low, high : (2,)
        Least and greatest x and y of what will be drawn, mm; the grid reaches some way beyond.
    round_mm : float
        How far.
    """

    def __init__(self, low: ArrayLike, high: ArrayLike, *, round_mm: float = _ROUND_MM):
        self._low = np.asarray(low, float) - round_mm
        size = np.ceil((np.asarray(high, float) + round_mm - self._low) / _CELL_MM).astype(int) + 3
        self._taken, self._worded = np.zeros(size, bool), np.zeros(size, bool)

    def copy(self) -> Room:
        """A copy with the same cells taken, for trying things out."""
        other = object.__new__(Room)
        other._low, other._taken, other._worded = self._low, self._taken.copy(), self._worded.copy()
        return other

    def add_lines(self, lines: Sequence[Cubics]) -> None:
        """Take the cells that cubics (k, 4, 2) run over, and one cell on each side."""
        if not len(lines):
            return
        _take(self._taken, self._find_cells(sample_lines(list(lines), tolerance_mm=0.2, step_mm=0.7)))

    def keep_to(self, bounds: Bounds) -> None:
        """Take all that is not within some bounds."""
        inside = np.zeros_like(self._taken)
        for low, high in bounds.boxes:
            first = np.maximum(np.ceil((np.asarray(low, float) - self._low) / _CELL_MM).astype(int), 0)
            last = np.maximum(np.floor((np.asarray(high, float) - self._low) / _CELL_MM).astype(int), 0)
            inside[first[0]:last[0], first[1]:last[1]] = True
        self._taken |= ~inside
        _take(self._taken, self._find_cells(np.asarray(bounds.borders, float).reshape(-1, 2)))
        self.add_lines(bounds.taken)

    def _find_cells(self, points):
        cells = np.floor((points - self._low) / _CELL_MM).astype(int)
        return cells[np.all((cells >= 1) & (cells < np.array(self._taken.shape) - 1), axis=1)]

    def crosses_words(self, start: ArrayLike, end: ArrayLike) -> bool:
        """Whether a straight stroke would run over words that have been laid."""
        start, end = np.asarray(start, float), np.asarray(end, float)
        share = np.linspace(0.0, 1.0, int(np.hypot(*(end - start)) / 0.7) + 2)[:, None]
        cells = self._find_cells(start + (end - start) * share)
        return bool(self._worded[cells[:, 0], cells[:, 1]].any())

    def add_box(self, middle: ArrayLike, size_mm: Sequence[float], *, angle_deg: float = 0.0) -> None:
        """Take all cells in a box."""
        places = np.asarray(middle, float) + _fill(size_mm, angle_deg, _CELL_MM)
        if angle_deg == 0.0:                      # all cells from its first to its last
            first, last = (np.clip(np.floor((places[k] - self._low) / _CELL_MM).astype(int), 1,
                                   np.array(self._taken.shape) - 2) for k in (0, -1))
            self._taken[first[0] - 1:last[0] + 2, first[1] - 1:last[1] + 2] = True
            self._worded[first[0]:last[0] + 1, first[1]:last[1] + 1] = True
            return
        cells = self._find_cells(places)
        _take(self._taken, cells)
        self._worded[cells[:, 0], cells[:, 1]] = True

    def find_free(self, middles: ArrayLike, size_mm: Sequence[float], *, angle_deg: float = 0.0) -> Mask:
        """Which boxes of one size and angle are free, bool (n,); middles : (n, 2). No place outside the grid is free.
        """
        middles = np.asarray(middles, float).reshape(-1, 2)
        free = np.zeros(len(middles), bool)
        for some in self._list_free(middles, size_mm, angle_deg=angle_deg):
            free[some] = True
        return free

    def _list_free(self, middles, size_mm, *, angle_deg):
        """The numbers of those boxes that are free, in order and a few at a time, looked for as they are asked for."""
        cells = np.floor((middles - self._low) / _CELL_MM).astype(int)
        # middles are rounded to cells, by half a cell at most: the extra cells taken on each side allow for that
        offsets = np.rint(_fill(size_mm, angle_deg, _STEP_MM) / _CELL_MM).astype(int)
        low, high = offsets.min(axis=0), offsets.max(axis=0)
        there = np.flatnonzero(np.all((cells + low >= 0) & (cells + high < self._taken.shape), axis=1))
        flat, tall = self._taken.ravel(), self._taken.shape[1]
        steps = offsets[:, 0] * tall + offsets[:, 1]
        at = cells[there, 0] * tall + cells[there, 1]
        # a few places spread over the box rule most candidates out quickly
        for first in range(0, len(there), 256):
            part = np.arange(first, min(first + 256, len(there)))
            for some in (steps[::61], steps[::11]):
                part = part[~flat[at[part][:, None] + some].any(axis=1)]
            for few in (part[k:k + 16] for k in range(0, len(part), 16)):
                yield there[few[~flat[at[few][:, None] + steps].any(axis=1)]]

    def place(self, block: WordBlock | WordPair, middles: ArrayLike, *,
              angles_deg: Any = 0.0) -> tuple[SheetText, ...] | None:
        """Letter a block at the first of the places (n, 2) where it is free, and take its cells; None where no place is
        free.

        angles_deg : one for all places, or one for each (n,).
        """
        at = self.find(block.size_mm, middles, angles_deg=angles_deg)
        if at is None:
            return None
        middle, angle = at
        self.add_box(middle, block.size_mm, angle_deg=angle)
        return block.letter(middle, angle_deg=angle)

    def find(self, size_mm: Sequence[float], middles: ArrayLike, *,
             angles_deg: Any = 0.0) -> tuple[Point, float] | None:
        """The first free place (2,) for a box and its angle, or None."""
        middles = np.asarray(middles, float).reshape(-1, 2)
        best = len(middles)
        if np.ndim(angles_deg) == 0:
            angle = float(np.round(angles_deg / _TURN_DEG) * _TURN_DEG)
            found = next((few for few in self._list_free(middles, size_mm, angle_deg=angle) if len(few)), None)
            return None if found is None else (middles[found[0]], angle)
        angles = np.round(np.asarray(angles_deg, float) / _TURN_DEG) * _TURN_DEG
        for angle in sorted(set(angles.tolist())):
            some = np.flatnonzero(angles[:best] == angle)
            found = next((few for few in self._list_free(middles[some], size_mm, angle_deg=angle) if len(few)), None)
            best = best if found is None else int(some[found[0]])
        return (middles[best], float(angles[best])) if best < len(middles) else None


def _find_ways(angle_deg):
    """Unit vectors (2,) along lines of words at this angle, and down from line to line."""
    a = np.radians(angle_deg)
    return np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])


def _take(grid, cells):
    """Take cells (n, 2), and all cells next to them."""
    flat, tall = grid.reshape(-1), grid.shape[1]
    at = cells[:, 0] * tall + cells[:, 1]
    for dx in (-tall, 0, tall):
        for dy in (-1, 0, 1):
            flat[at + (dx + dy)] = True


def _fill(size_mm, angle_deg, step_mm):
    return _fill_box(round(float(size_mm[0]), 3), round(float(size_mm[1]), 3), round(float(angle_deg), 4), step_mm)


@lru_cache(maxsize=4096)
def _fill_box(wide: float, tall: float, angle_deg: float, step_mm: float) -> Points:
    """A grid of places (n, 2) over a box about the origin."""
    across = [np.linspace(-side / 2, side / 2, max(int(np.ceil(side / step_mm)), 1) + 1) for side in (wide, tall)]
    u, v = (axis.ravel() for axis in np.meshgrid(*across))
    a = np.radians(angle_deg)
    return freeze(np.stack([u * np.cos(a) - v * np.sin(a), u * np.sin(a) + v * np.cos(a)], axis=1))


def make_block(text: SheetText) -> tuple[WordBlock, Point]:
    """One line of words as a WordBlock, and the middle of its present place."""
    block = WordBlock(((text.text, text.height_mm),), role=text.role, style=text.style)
    right, down = _find_ways(text.angle_deg)
    start = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor] * block.wide_mm
    return block, (np.asarray(text.at_mm, float) + right * (block.wide_mm / 2 - start)
                   + down * (block.tall_mm / 2 - text.height_mm))

