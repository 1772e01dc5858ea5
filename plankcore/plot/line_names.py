"""Names lettered along lines, so that each line says what it is; and the straight line through the wood, with its
ticks."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.polyline import contains_points
from ..geometry.strokes import flatten_strokes
from ..paper.blocks import make_stroke
from ..paper.room import WordBlock

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Points
    from ..model.drawing import SheetLine, SheetText
    from ..paper.room import Room
    from .strip import LyingPlank

__all__ = ["LINE_NAME", "draw_baseline", "letter_baseline", "name_lines"]

LINE_NAME = "line-name"   # role of lettering that says what a line is
_TICK_MM, _EVERY_MM = 3.0, 100.0
_SIZES = (7.0, 5.0, 3.5)
_APART_MM = 1200.0        # distance between repeats of a line's name
_OFF_MM = (1.5, 4.0, 7.0, 11.0, 16.0)
_TRIES, _RETRY_MM = 8, 8.0


def draw_baseline(run: LyingPlank, outline: Points) -> list[SheetLine]:
    """The straight line from fore mark to aft mark, with a tick every 100 mm from the fore mark; outside the wood it is
    dotted.

    outline : (n, 2), closed, of the line to cut.
    """
    fore, aft = run.fore_mark, run.aft_mark
    length = float(np.hypot(*(aft - fore)))
    way = (aft - fore) / length
    at = np.append(np.arange(0.0, length, 2.0), length)
    inside = contains_points(outline, fore + way * (np.clip(at, 0.5, length - 0.5))[:, None])
    turns = np.flatnonzero(np.diff(inside.astype(int))) + 1
    lines = []
    for first, last in zip([0, *turns], [*turns, len(at) - 1]):
        if at[last] - at[first] > 1e-9:
            on = bool(inside[first])
            lines.append(make_stroke(fore + way * at[first], fore + way * at[last], role="wood-baseline",
                                     style="scale-bar" if on else "datum",
                                     values=(("from_mm", float(at[first])), ("to_mm", float(at[last])),
                                             ("on_wood", "yes" if on else "no"))))
    square = np.array([way[1], -way[0]])
    square = square if square[1] < 0 else -square
    for number in range(int(length // _EVERY_MM) + 1):
        place = fore + way * number * _EVERY_MM
        tall = _TICK_MM * (2.0 if number % 10 == 0 else 1.0)
        lines.append(make_stroke(place - square * tall, place + square * tall, role="wood-baseline-tick",
                                 style="scale-bar", values=(("distance_mm", number * _EVERY_MM),)))
    return lines


def letter_baseline(room: Room, run: LyingPlank) -> list[SheetText]:
    """The metres at their ticks, and what the line is."""
    length = float(np.hypot(*(run.aft_mark - run.fore_mark)))
    way = (run.aft_mark - run.fore_mark) / length
    texts: list[SheetText] = []

    def find_places(at, wide, tall, reach):
        along = np.concatenate([[0.0], *([-v, v] for v in np.arange(3.0, reach, 3.0))])
        off = np.array([1.0, -1.0]) * (tall / 2 + 2.0)
        return np.stack([np.repeat(at[0] + along, 2), np.tile(at[1] + off, len(along))], axis=1) \
            + np.array([wide / 2 + 1.5, 0.0])
    for number in range(1, int(length // 1000) + 1):
        tick = run.fore_mark + way * number * 1000.0
        for size in _SIZES:
            block = WordBlock((("%d M" % number, size),), role=LINE_NAME)
            wide = block.size_mm[0]
            places = find_places(tick, wide, block.size_mm[1], 4.0)
            laid = room.place(block, np.concatenate([places, places - [wide + 3.0, 0.0]]))
            if laid is not None:
                texts += laid
                break
    for size in _SIZES:
        block = WordBlock((("BASELINE, A TICK EVERY 100 MM", size),), role=LINE_NAME)
        places = find_places(run.fore_mark + way * 0.1 * length, block.size_mm[0], block.size_mm[1], length)
        half = block.size_mm[0] / 2
        on = (places[:, 0] - half > run.left_mm) & (places[:, 0] + half < run.right_mm)
        laid = room.place(block, places[on])
        if laid is not None:
            return texts + list(laid)
    return texts


def name_lines(room: Room, run: LyingPlank, lines: Sequence[SheetLine]) -> tuple[list[SheetText], list[SheetLine]]:
    """The name of each outline along both its long edges, every metre or so: on the wood, so that it stays with the
    piece, with a stroke to its line."""
    plank = run.plank
    texts: list[SheetText] = []
    leads: list[SheetLine] = []
    has_saw = any(one.role == "saw" for one in lines)
    shapes = []
    for one in lines:
        face = dict(one.values).get("face", plank.face)
        told = "NET, %s FACE (%s)" % (str(face).upper(), "UP" if face == plank.seen_from else "DOWN")
        if one.role == "saw":
            shapes.append((one, "SAW"))
        elif one.role == "outline":
            shapes.append((one, told if has_saw else "CUT, " + told))
        elif one.role in ("drawn-face", "other-face"):
            shapes.append((one, told))
    for number, (one, words) in enumerate(shapes):
        points = flatten_strokes(one.cubics, tolerance_mm=0.1)[0]
        for edge, down in (("upper", 1.0), ("lower", -1.0)):
            curve = _find_side(points, run, edge)
            _name_side(room, run, curve, words, down=down, texts=texts, leads=leads, begin=0.12 + 0.1 * number)
    return texts, leads


def _find_side(points, run, edge):
    """The stretch of a closed polyline near a long edge, (n, 2) by x."""
    near = points[np.abs(points[:, 1] - run.find_edge(edge, points[:, 0]))
                  < np.abs(points[:, 1] - run.find_middle(points[:, 0]))]
    return near[np.argsort(near[:, 0], kind="stable")]


def _name_side(room, run, curve, words, *, down, texts, leads, begin):
    if len(curve) < 2:
        return
    length = run.right_mm - run.left_mm
    count = max(int(length // _APART_MM), 1)
    for k in range(count):
        goal = run.left_mm + length * (begin + k) / count
        for size in _SIZES:
            block = WordBlock(((words, size),), role=LINE_NAME)
            half, tall = block.size_mm[0] / 2, block.size_mm[1] / 2
            x = run.left_mm + half + np.arange(0.0, max(length - 2 * half, 0.0) + 1e-9, 10.0)
            x = x[np.argsort(np.abs(x - goal), kind="stable")]
            x = x[np.abs(x - goal) < length / count]
            slope = np.arctan2(np.interp(x + half, *curve.T) - np.interp(x - half, *curve.T), 2 * half)
            angles = np.degrees(slope)
            on = np.stack([x, np.interp(x, *curve.T)], axis=1)
            away = np.stack([-np.sin(slope), np.cos(slope)], axis=1) * np.sign(down)
            places = np.concatenate([on + away * (tall + off) for off in _OFF_MM])
            if _lay_name(room, block, places, angles_deg=np.tile(angles, len(_OFF_MM)), curve=curve,
                         down=np.sign(down), texts=texts, leads=leads):
                break


def _lay_name(room, block, places, *, angles_deg, curve, down, texts, leads):
    """Letter a name where it is free and so is its stroke to the line: words without one might be read as the next
    line's. Whether there was such a place.
    """
    for _ in range(_TRIES):
        at = room.find(block.size_mm, places, angles_deg=angles_deg)
        if at is None:
            return False
        middle, angle = at
        laid = block.letter(middle, angle_deg=angle)
        lead = _draw_lead(laid[0], curve, down)
        if not room.crosses_words(*lead.cubics[0, [0, 3]]):
            room.add_box(middle, block.size_mm, angle_deg=angle)
            room.add_lines([lead.cubics])
            texts += laid
            leads.append(lead)
            return True
        rest = np.hypot(*(places - middle).T) > _RETRY_MM
        places, angles_deg = places[rest], angles_deg[rest]
    return False


def _draw_lead(text, curve, down):
    """A short stroke from the words' beginning to their line."""
    a = np.radians(text.angle_deg)
    right, below = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    start = np.asarray(text.at_mm, float) + right * 2.0 + (-below * (text.height_mm + 0.8) if down > 0
                                                           else below * 0.8)
    return make_stroke(start, (start[0], float(np.interp(start[0], *curve.T))), role="lead", style="note")
