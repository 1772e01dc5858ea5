"""Scale bars in mm and inches along and across, and four crosses with both diagonals given, by which a plot's scale is
checked."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..model.drawing import SheetText
from ..model.page import SheetBlock
from .blocks import make_cross, make_stroke

if TYPE_CHECKING:
    from ..model.drawing import SheetLine

__all__ = ["Bars", "MediumBars", "PageBars", "lay_bars", "lay_diagonals", "lay_medium_bars", "lay_page_bars"]


_LAST_MM = 6.0            # the last number is centred on the end of its bar, and reaches beyond it
_NUMBER_MM = 14.0         # between the ticks of two numbers, at least


@dataclass(frozen=True, eq=False, repr=False)
class Bars:
    """Bars drawn from (0, 0) down and to the right. below_mm : how far down all of them reach; along_below_mm : how far
    those along do.

    beside_mm : width of the free place below those along, up to where those across begin. reach_mm : length of the
    longest one along.
    right_mm : how far to the right they reach.
    """

    piece: SheetBlock
    below_mm: float
    along_below_mm: float
    beside_mm: float
    reach_mm: float
    right_mm: float


def _draw_bar(lines, texts, *, start, way, total, step, long_every, values, name, end_numbered=False):
    """end_numbered : whether the last tick is long and has its number, if it has room for one."""
    across = np.array([-way[1], way[0]])
    lines.append(make_stroke(start, start + way * total, role="scale-bar", style="scale-bar",
                             values=(("length_mm", float(total)), ("along", name))))
    count = round(total / step)
    last = count if end_numbered and (count % long_every) * step >= _NUMBER_MM else 0
    for k in range(count + 1):
        tall = 6.0 if k % long_every == 0 or k == last else 3.5
        at = start + way * total * k / count
        lines.append(make_stroke(at, at + across * tall, role="scale-bar-tick", style="scale-bar"))
        if k % long_every == 0 or k == last:
            texts.append(SheetText(values(k),
                                   tuple(map(float,
                                             at + across * (tall + 1.5) + np.array([0.0, 4.0 if way[0] else 1.5]))),
                                   height_mm=3.5, angle_deg=0.0,
                                   anchor="end" if not way[0] else "middle" if k else "start"))


def lay_bars(room_mm: float) -> Bars:
    """The longest bars that fit a width.

    Parameters
    ----------
    room_mm : float
        Width of the place; from about 300 mm up the bars across stand 150 mm tall instead of 50.

    Returns
    -------
    Bars
    """
    lines: list[SheetLine] = []
    texts: list[SheetText] = []
    mm = next((v for v in (1000, 500, 200, 100) if v + _LAST_MM <= room_mm), None)
    inches = next((v for v in (36, 24, 12, 6, 3) if v * 25.4 + _LAST_MM <= room_mm), None)
    down = 150.0 if room_mm > 300 else 50.0
    x, y = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    if mm:
        step = 10 if mm <= 200 else 50
        _draw_bar(lines, texts, start=np.zeros(2), way=x, total=float(mm), step=float(step), long_every=2,
                  values=lambda k: "%d" % (k * step), name="along")
        texts.append(SheetText("%d MM ALONG" % mm, (0.0, -3.0), 4.0))
    if inches:
        _draw_bar(lines, texts, start=np.array([0.0, 30.0]), way=x, total=inches * 25.4, step=25.4,
                  long_every=6 if inches > 6 else 1,
                  values=lambda k: "%d" % k, name="along")
        texts.append(SheetText("%d IN ALONG" % inches, (0.0, 27.0), 4.0))
    # across: to the right of the bars along where there is room, else below them
    reach = max(float(mm or 0), (inches or 0) * 25.4)
    beside = room_mm - reach > 170
    at = np.array([reach + 60.0, 0.0]) if beside else np.array([22.0, 60.0])
    _draw_bar(lines, texts, start=at, way=y, total=down, step=10.0, long_every=5, values=lambda k: "%d" % (10 * k),
              name="across")
    texts.append(SheetText("%d MM ACROSS" % down, (float(at[0]) + 3.0, float(at[1]) + 8.0), 4.0))
    wide = 6 if down > 100 else 2
    _draw_bar(lines, texts, start=at + [60.0, 0.0], way=y, total=wide * 25.4, step=25.4, long_every=1,
              values=lambda k: "%d" % k, name="across")
    texts.append(SheetText("%d IN ACROSS" % wide, (float(at[0]) + 63.0, float(at[1]) + 8.0), 4.0))
    lowest = float(at[1]) + max(down, wide * 25.4)
    piece, right = SheetBlock(tuple(lines), tuple(texts)), float(max(reach, at[0] + 115.0))
    return Bars(piece, lowest, along_below_mm=46.0 if beside else lowest + 4.0,
                beside_mm=reach + 20.0 if beside else room_mm, reach_mm=reach, right_mm=right)


@dataclass(frozen=True, eq=False, repr=False)
class PageBars:
    """Bars along the bottom of a page and up its right side. beside_mm, above_mm : width and height of the page that
    they leave free."""

    piece: SheetBlock
    beside_mm: float
    above_mm: float


_FOOT_MM, _SIDE_MM, _NARROW_MM = 41.0, 46.0, 170.0


def lay_page_bars(wide_mm: float, tall_mm: float) -> PageBars:
    """Bars as long and as tall as a page: the longer they are, the more accurately they show a medium's errors.

    Parameters
    ----------
    wide_mm, tall_mm : float
        What may be drawn on, from (0, 0).
    """
    lines: list[SheetLine] = []
    texts: list[SheetText] = []
    x, y = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    above = max(tall_mm - _FOOT_MM, 30.0)
    narrow = wide_mm < _NARROW_MM  # on narrow pages the inch bars are left out, to leave room for words
    for number, (unit, name) in enumerate(((1.0, "MM"), (25.4, "IN"))):
        side = np.array([wide_mm - (7.0 if narrow else 28.0 - 21.0 * number), 3.0])
        for way, room, start in ((x, wide_mm - 2 * _LAST_MM, np.array([_LAST_MM, above + 6.0 + 20.0 * number])),
                                 (y, 0.0 if narrow and number else min(above, 900.0) - 2 * _LAST_MM, side)):
            step = (50.0 if room > 600 else 10.0) if unit == 1 else 1.0
            count = int(room // (step * unit))
            if count < 1:
                continue
            total, along = count * step, bool(way[0])
            _draw_bar(lines, texts, start=start, way=way, total=total * unit, step=step * unit,
                      long_every=2 if unit == 1 else 1, values=lambda k,
                      step=step: "%d" % (k * step), name="along" if along else "across")
            words, at = "%d %s %s" % (total, name,
                                      "ALONG" if along else "ACROSS"), start + ((20.0, -2.0) if along else (6.0, 40.0))
            texts.append(SheetText(words, tuple(map(float, at)), 3.5, 0.0 if along else -90.0))
    return PageBars(SheetBlock(tuple(lines), tuple(texts)), wide_mm - (_SIDE_MM - 21.0 if narrow else _SIDE_MM), above)


@dataclass(frozen=True, eq=False, repr=False)
class MediumBars:
    """Bars as long as a medium, along its bottom and up its right side. lengths_mm : of those in mm, along and across;
    beside_mm, below_mm : how much of the width and the height they take up."""

    piece: SheetBlock
    lengths_mm: tuple[float, float]
    beside_mm: float
    below_mm: float


def lay_medium_bars(wide_mm: float, tall_mm: float, *, clear_mm: float) -> MediumBars:
    """Bars in mm and inches as long as a medium in both directions, clear of crosses in its corners.

    Parameters
    ----------
    wide_mm, tall_mm : float
        What may be drawn on, from (0, 0).
    clear_mm : float
        Distance to keep from the corners, in both directions.
    """
    lines: list[SheetLine] = []
    texts: list[SheetText] = []
    found = {}
    for way, room in (((1.0, 0.0), wide_mm), ((0.0, 1.0), tall_mm)):
        along = bool(way[0])
        for number, (unit, name) in enumerate(((1.0, "MM"), (25.4, "IN"))):
            step = (50.0 if room > 1000 else 10.0) if unit == 1 else 1.0
            # the inch bars end before the row of the others begins
            spare = 8.0 if along else 0.0
            count = int((room - 2 * clear_mm - spare - 40.0 * number) // (step * unit))
            start = np.array([clear_mm, tall_mm - 17.0 - 22.0 * number] if along
                             else [wide_mm - 10.0 - 26.0 * number, clear_mm])
            total = count * step
            _draw_bar(lines, texts, start=start, way=np.array(way), total=total * unit, step=step * unit,
                      long_every=(10 if step == 10 and count > 12 else 2) if unit == 1 else 6 if count > 12 else 1,
                      values=lambda k, step=step: "%d" % (k * step), name="along" if along else "across",
                      end_numbered=along or clear_mm + total * unit < tall_mm - 26.0)      # above the bars along
            at = start + (np.array([20.0, -2.0]) if along else np.array([5.0, 46.0]))
            words = "%d %s %s" % (total, name, "ALONG" if along else "ACROSS")
            texts.append(SheetText(words, tuple(map(float, at)), 3.5, 0.0 if along else -90.0))
            found[along, name] = float(total)
    return MediumBars(SheetBlock(tuple(lines), tuple(texts)), (found[True, "MM"], found[False, "MM"]), 62.0, 48.0)


def lay_diagonals(left: float, top: float, width_mm: float, depth_mm: float) -> SheetBlock | None:
    """Four crosses at the corners of a rectangle, with its sides and diagonals given: a skewed plot shows in the
    diagonals' difference.

    Parameters
    ----------
    left, top : float, mm
    width_mm, depth_mm : float
        The room there is; the rectangle's sides are whole tens of mm.

    Returns
    -------
    SheetBlock or None
        None where there is only room for a rectangle too small to show anything.
    """
    a, b = 10.0 * np.floor(width_mm / 10), 10.0 * np.floor(depth_mm / 10)
    if a < 100 or b < 80:
        return None
    corners = [(left, top), (left + a, top), (left + a, top + b), (left, top + b)]
    lines, texts = [], []
    for name, (x, y), side in zip("ABCD", corners, (1, -1, -1, 1)):
        lines.append(make_cross((x, y), 4.0, role="corner-cross", style="scale-bar", values=(("corner", name),)))
        texts.append(SheetText(name, (x + side * 3.0, y - 2.0), height_mm=4.0, angle_deg=0.0,
                               anchor="start" if side > 0 else "end"))
    texts.append(SheetText("CROSSES: AB AND DC %.1f  AD AND BC %.1f  AC AND BD %.1f MM" % (a, b, np.hypot(a, b)),
                           (left + 12.0, top + b + 1.5), 3.5))
    return SheetBlock(tuple(lines), tuple(texts))
