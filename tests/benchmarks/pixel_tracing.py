"""The exact border of a drawn shape's pixels: what a bitmap tracer sees before it smooths anything."""
from __future__ import annotations

import numpy as np

__all__ = ["fill_pixels", "trace_pixels"]


def fill_pixels(polygons, *, pixel_mm, columns, rows):
    """Pixels (rows, columns) whose middles lie inside the polygons taken together by the even-odd rule; page mm, y
    down.
    """
    row, place = [], []
    for polygon in polygons:
        a = np.asarray(polygon, float) / pixel_mm - 0.5              # pixel middles at whole numbers
        b = np.roll(a, -1, axis=0)
        low, high = np.minimum(a[:, 1], b[:, 1]), np.maximum(a[:, 1], b[:, 1])
        first, last = np.ceil(low).astype(int), np.ceil(high).astype(int)          # rows first <= r < last
        count = last - first
        which = np.repeat(np.arange(len(a)), count)
        r = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[which]
        t = (r - a[which, 1]) / (b[which, 1] - a[which, 1])
        row.append(r)
        place.append(a[which, 0] + t * (b[which, 0] - a[which, 0]))
    row, place = np.concatenate(row), np.concatenate(place)
    order = np.lexsort((place, row))
    row, place = row[order], np.clip(np.ceil(place[order]).astype(int), 0, columns)
    ink = np.zeros((rows, columns), bool)
    for r, left, right in zip(row[::2], place[::2], place[1::2]):
        ink[r, left:right] = True
    return ink


def trace_pixels(ink, *, pixel_mm):
    """All closed borders of the ink, each (n, 2) in mm: only level and upright steps, corners of pixels.

    Ink lies to the right of travel, so outer borders run clockwise as seen and holes the other way. Pixels that touch
    by a corner alone are apart.
    """
    rows, columns = ink.shape
    wide = np.zeros((rows + 2, columns + 2), bool)
    wide[1:-1, 1:-1] = ink
    steps = []
    for ink_side, away, start, end in ((wide[1:-1, 1:-1], wide[:-2, 1:-1], (0, 0), (0, 1)),
                                       (wide[1:-1, 1:-1], wide[1:-1, 2:], (0, 1), (1, 1)),
                                       (wide[1:-1, 1:-1], wide[2:, 1:-1], (1, 1), (1, 0)),
                                       (wide[1:-1, 1:-1], wide[1:-1, :-2], (1, 0), (0, 0))):
        r, c = np.nonzero(ink_side & ~away)
        steps.append(np.stack([(r + start[0]) * (columns + 1) + c + start[1],
                               (r + end[0]) * (columns + 1) + c + end[1]], axis=1))
    follow = {}
    for start, end in np.concatenate(steps).tolist():
        follow.setdefault(start, []).append(end)
    loops = []
    while follow:
        first = here = next(iter(follow))
        before, loop = None, []
        while True:
            loop.append(here)
            choices = follow[here]
            # at a touch of two corners, turn to the right: back round the same pixel
            pick = 0 if len(choices) == 1 or before is None else _turn_right(before, here, choices, columns + 1)
            before, here = here, choices.pop(pick)
            if not choices:
                del follow[before]
            if here == first:
                break
        points = np.array(loop)
        points = np.stack([points % (columns + 1), points // (columns + 1)], axis=1) * pixel_mm
        ways = np.diff(np.vstack([points[-1:], points, points[:1]]), axis=0)
        loops.append(points[np.any(np.abs(ways[1:] - ways[:-1]) > pixel_mm / 2, axis=1)])
    return loops


def _turn_right(before, here, choices, width):
    def split(place):
        return np.array([place % width, place // width])
    way = split(here) - split(before)
    right = np.array([-way[1], way[0]])
    return int(np.argmax([(split(c) - split(here)) @ right for c in choices]))
