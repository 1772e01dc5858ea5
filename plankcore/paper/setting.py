"""How words are set: broken to fit a width, placed at a frame's line; and the words on how a board lies."""
from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm

if TYPE_CHECKING:
    from ..geometry.arrays import Point, Points
    from ..model.drawing import Station

__all__ = ["FORWARD", "list_station_words", "tell_forward", "wrap_words"]


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
