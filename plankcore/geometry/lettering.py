"""Capitals in single strokes for pens and knives, which cannot use outline fonts.

The forms are plain drawing-office capitals laid out for this project on a grid six units high, lines and arcs of
ellipses only. Zero is slashed within, one has a flag and a foot, seven has a bar, so that no digit can be taken for a
letter.
"""
from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Any

    from .arrays import ArrayLike, Indices, Points

__all__ = ["CAP", "draw_letter", "lay_letters", "letter_points", "stroke_text", "text_width_mm"]

CAP = 6.0                 # height of a capital, in grid units
WORD_SPACE = 5.0          # between words
STEM_GAP = 2.4            # gap between two upright stems; round and sloping sides come closer
LEAST_GAP = 1.2           # least gap between two letters, however open their sides are
_DEEPEST = 1.6            # a side's depth is measured no deeper than this: beyond it a letter looks no more open
# depth taken for heights where a letter has no ink, so that a decimal point does not move too close to its digit
_EMPTY = 0.8
_EASE = 0.65              # share of a side's mean depth that the gap beside it is reduced by
_BANDS = 12               # heights at which a side's depth is measured

# Each glyph: strokes. A stroke is a list of parts: (x, y) points, y up from the baseline, or an arc
# ("arc", centre x, centre y, radius x, radius y, from, to) in degrees, counted from x towards up.
# A glyph's width is what its strokes span.
_GLYPHS: dict[str, Any] = {
    "A": [[(0, 0), (2, 6), (4, 0)], [(0.67, 2), (3.33, 2)]],
    "B": [[(0, 0), (0, 6), (2.4, 6), ("arc", 2.4, 4.6, 1.4, 1.4, 90, -90), (0, 3.2)],
          [(2.3, 3.2), ("arc", 2.3, 1.6, 1.7, 1.6, 90, -90), (0, 0)]],
    "C": [[("arc", 2.3, 3, 2.3, 3, 50, 310)]],
    "D": [[(0, 0), (0, 6), (1.4, 6), ("arc", 1.4, 3, 2.8, 3, 90, -90), (0, 0)]],
    "E": [[(3.6, 6), (0, 6), (0, 0), (3.6, 0)], [(0, 3.1), (2.8, 3.1)]],
    "F": [[(3.5, 6), (0, 6), (0, 0)], [(0, 3.1), (2.7, 3.1)]],
    "G": [[("arc", 2.3, 3, 2.3, 3, 50, 356), (2.6, 2.8)]],
    "H": [[(0, 0), (0, 6)], [(4, 0), (4, 6)], [(0, 3.1), (4, 3.1)]],
    "I": [[(0, 0), (0, 6)]],
    "J": [[(2.9, 6), (2.9, 1.5), ("arc", 1.45, 1.5, 1.45, 1.5, 0, -180)]],
    "K": [[(0, 0), (0, 6)], [(3.7, 6), (0, 2.4)], [(1.25, 3.6), (3.9, 0)]],
    "L": [[(0, 6), (0, 0), (3.3, 0)]],
    "M": [[(0, 0), (0, 6), (2.4, 1.8), (4.8, 6), (4.8, 0)]],
    "N": [[(0, 0), (0, 6), (4.1, 0), (4.1, 6)]],
    "O": [[("arc", 2.3, 3, 2.3, 3, 90, 450)]],
    "\u00d8": [[("arc", 2.3, 3, 2.3, 3, 90, 450)], [(0.1, -0.7), (4.5, 6.7)]],
    "\u00c6": [[(0, 0), (2.9, 6), (5.8, 6)], [(2.9, 6), (2.9, 0), (5.8, 0)], [(0.97, 2), (2.9, 2)],
               [(2.9, 3.1), (5.2, 3.1)]],
    "\u0110": [[(0, 0), (0, 6), (1.4, 6), ("arc", 1.4, 3, 2.8, 3, 90, -90), (0, 0)], [(-0.9, 3.1), (1.5, 3.1)]],
    "\u00de": [[(0, 0), (0, 6)], [(0, 4.7), (2.2, 4.7), ("arc", 2.2, 3.2, 1.6, 1.5, 90, -90), (0, 1.7)]],
    "\u0141": [[(0, 6), (0, 0), (3.3, 0)], [(-0.9, 2.3), (1.9, 3.9)]],
    "\u1e9e": [[(0, 0), (0, 4.5), ("arc", 1.5, 4.5, 1.5, 1.5, 180, 90), (3.5, 6), (1.9, 3.7),
                ("arc", 1.9, 1.85, 1.75, 1.85, 90, -125)]],
    "P": [[(0, 0), (0, 6), (2.2, 6), ("arc", 2.2, 4.4, 1.6, 1.6, 90, -90), (0, 2.8)]],
    "Q": [[("arc", 2.3, 3, 2.3, 3, 90, 450)], [(2.7, 1.6), (4.6, -0.5)]],
    "R": [[(0, 0), (0, 6), (2.2, 6), ("arc", 2.2, 4.4, 1.6, 1.6, 90, -90), (0, 2.8)], [(2.0, 2.8), (3.9, 0)]],
    "S": [[("arc", 1.9, 4.55, 1.65, 1.45, 35, 270), ("arc", 1.85, 1.55, 1.85, 1.55, 90, -150)]],
    "T": [[(0, 6), (4, 6)], [(2, 6), (2, 0)]],
    "U": [[(0, 6), (0, 2), ("arc", 2, 2, 2, 2, 180, 360), (4, 6)]],
    "V": [[(0, 6), (2, 0), (4, 6)]],
    "W": [[(0, 6), (1.4, 0), (2.8, 5), (4.2, 0), (5.6, 6)]],
    "X": [[(0, 0), (4, 6)], [(0, 6), (4, 0)]],
    "Y": [[(0, 6), (2, 3), (4, 6)], [(2, 3), (2, 0)]],
    "Z": [[(0, 6), (3.8, 6), (0, 0), (3.8, 0)]],
    "0": [[("arc", 1.9, 3, 1.9, 3, 90, 450)], [(0.85, 1.3), (2.95, 4.7)]],
    "1": [[(0, 4.6), (1.2, 6), (1.2, 0)], [(0, 0), (2.4, 0)]],
    "2": [[("arc", 1.75, 4.25, 1.75, 1.75, 170, -30), (0, 0), (3.6, 0)]],
    "3": [[("arc", 1.7, 4.5, 1.6, 1.5, 150, -90), ("arc", 1.7, 1.5, 1.9, 1.5, 90, -150)]],
    "4": [[(3.0, 0), (3.0, 6), (0, 1.8), (4, 1.8)]],
    "5": [[(3.3, 6), (0.2, 6), (0.2, 3.1), ("arc", 1.7, 1.95, 1.9, 1.95, 142, -145)]],
    "6": [[("arc", 3.2, 1.85, 3.2, 4.15, 95, 180), ("arc", 1.85, 1.85, 1.85, 1.85, 180, 540)]],
    "7": [[(0, 6), (3.6, 6), (1.2, 0)], [(1.3, 3), (3.4, 3)]],
    "8": [[("arc", 1.85, 4.55, 1.5, 1.45, -90, 270)], [("arc", 1.85, 1.55, 1.85, 1.55, 90, 450)]],
    "9": [[("arc", 0.5, 4.15, 3.2, 4.15, -85, 0), ("arc", 1.85, 4.15, 1.85, 1.85, 0, 360)]],
    ".": [[(0, 0), (0.5, 0), (0.5, 0.5), (0, 0.5), (0, 0)]],
    ",": [[(0.6, 0.6), (0.5, 0), (0, -1.0)]],
    ":": [[(0, 0.8), (0.5, 0.8), (0.5, 1.3), (0, 1.3), (0, 0.8)],
          [(0, 3.6), (0.5, 3.6), (0.5, 4.1), (0, 4.1), (0, 3.6)]],
    ";": [[(0.6, 0.6), (0.5, 0), (0, -1.0)], [(0.1, 3.6), (0.6, 3.6), (0.6, 4.1), (0.1, 4.1), (0.1, 3.6)]],
    "-": [[(0, 2.9), (2.4, 2.9)]],
    "+": [[(0, 2.9), (3, 2.9)], [(1.5, 1.4), (1.5, 4.4)]],
    "=": [[(0, 2.2), (3, 2.2)], [(0, 3.7), (3, 3.7)]],
    "/": [[(0, -0.6), (2.8, 6.4)]],
    "|": [[(0, -0.8), (0, 6.8)]],
    "_": [[(0, -0.8), (3.6, -0.8)]],
    "(": [[("arc", 3.1, 3, 3.1, 4.6, 125, 235)]],
    ")": [[("arc", -1.8, 3, 3.1, 4.6, 55, -55)]],
    "[": [[(1.3, 6.8), (0, 6.8), (0, -0.8), (1.3, -0.8)]],
    "]": [[(0, 6.8), (1.3, 6.8), (1.3, -0.8), (0, -0.8)]],
    "'": [[(0, 6), (0, 4.4)]],
    '"': [[(0, 6), (0, 4.4)], [(1.1, 6), (1.1, 4.4)]],
    "!": [[(0.25, 6), (0.25, 2.2)], [(0, 0), (0.5, 0), (0.5, 0.5), (0, 0.5), (0, 0)]],
    "?": [[("arc", 1.6, 4.4, 1.6, 1.6, 160, -60), (1.6, 2.2), (1.6, 1.6)],
          [(1.35, 0), (1.85, 0), (1.85, 0.5), (1.35, 0.5), (1.35, 0)]],
    "*": [[(1.3, 3.4), (1.3, 6)], [(0.17, 4.05), (2.43, 5.35)], [(0.17, 5.35), (2.43, 4.05)]],
    "%": [[("arc", 0.95, 4.9, 0.95, 1.1, 90, 450)], [("arc", 3.45, 1.1, 0.95, 1.1, 90, 450)], [(0.5, 0), (3.9, 6)]],
    "&": [[(4.3, 0), (1.0, 4.05), ("arc", 1.9, 4.75, 1.1, 1.25, 215, -35), ("arc", 1.65, 1.45, 1.65, 1.45, 135, 322),
           (4.2, 2.3)]],
    "#": [[(0.8, 0.4), (1.5, 5.6)], [(2.3, 0.4), (3.0, 5.6)], [(0, 2.1), (3.6, 2.1)], [(0.2, 3.9), (3.8, 3.9)]],
    "@": [[("arc", 2.6, 2.9, 1.2, 1.3, 90, 450)],
          [(3.8, 4.2), (3.8, 2.4), ("arc", 4.5, 2.4, 0.7, 0.8, 180, 330), ("arc", 2.6, 2.9, 2.6, 3.1, -5, 300)]],
    "<": [[(3, 4.9), (0, 2.9), (3, 0.9)]],
    ">": [[(0, 4.9), (3, 2.9), (0, 0.9)]],
    "\u00b0": [[("arc", 0.8, 5.2, 0.8, 0.8, 90, 450)]],
    "\u00b1": [[(0, 3.4), (3, 3.4)], [(1.5, 1.9), (1.5, 4.9)], [(0, 0.8), (3, 0.8)]],
    "\u00d7": [[(0, 1.5), (2.8, 4.3)], [(0, 4.3), (2.8, 1.5)]],
}
# Accents over and under a letter; x from the letter's middle, y of those over it from _ACCENT_FOOT up.
_OVER: dict[str, Any] = {
    "\u0300": [[(-0.7, 1.0), (0.5, 0)]], "\u0301": [[(-0.5, 0), (0.7, 1.0)]],
    "\u0302": [[(-0.9, 0), (0, 1.0), (0.9, 0)]], "\u030c": [[(-0.9, 1.0), (0, 0), (0.9, 1.0)]],
    "\u0303": [[(-1.1, 0.2), (-0.5, 0.8), (0.5, 0.2), (1.1, 0.8)]], "\u0304": [[(-1.0, 0.5), (1.0, 0.5)]],
    "\u0306": [[("arc", 0, 0.9, 0.9, 0.8, 180, 360)]], "\u0307": [[(0, 0.1), (0, 0.7)]],
    "\u0308": [[(-0.8, 0.1), (-0.8, 0.7)], [(0.8, 0.1), (0.8, 0.7)]], "\u030a": [[("arc", 0, 0.6, 0.6, 0.6, 90, 450)]],
    "\u030b": [[(-0.9, 0), (-0.1, 1.0)], [(0.3, 0), (1.1, 1.0)]],
}
_UNDER: dict[str, Any] = {
    "\u0327": [[(0.1, 0), (0.1, -0.5), ("arc", 0.0, -0.9, 0.6, 0.4, 80, -120)]],
    "\u0328": [[(0.6, 0), ("arc", 0.7, -0.7, 0.6, 0.6, 120, 300)]], "\u0326": [[(0.2, -0.6), (-0.1, -1.3)]],
}
_SQUAT, _ACCENT_FOOT = 0.84, 5.45      # of a letter that bears an accent, so that both stay within a line of capitals
_BOX = [[(0, 0), (3, 0), (3, 4), (0, 4), (0, 0)]]
_ALIKE = {"\u2013": "-", "\u2014": "-", "\u2212": "-", "\u2010": "-", "\u2011": "-",
          "\u2018": "'", "\u2019": "'", "\u2032": "'", "\u201c": '"', "\u201d": '"', "\u2033": '"', "\u2026": "...",
          "\u2044": "/", "\u2300": "\u00d8",
          "\u0152": "OE", "\u00d0": "\u0110",
          "\u00ba": "\u00b0", "\u02da": "\u00b0"}
_ARC_STEP_DEG = 15.0      # chord error 0.9 % of the radius: 0.04 mm on an O 10 mm high; a sheet is mostly words


@lru_cache(maxsize=8192)
def _spell(text):
    """Upper case. Accents without a form here are left off; characters without a glyph stay, to be drawn as boxes."""
    spelt = ""
    # the upper case of a sharp s would be two letters
    for c in unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).replace("\u00df", "\u1e9e").upper()):
        whole = unicodedata.normalize("NFKD", c)
        if c in _GLYPHS or _part_accents(c):
            spelt += c
        elif c in _ALIKE:
            spelt += _ALIKE[c]
        elif c.isspace():
            spelt += " "
        # a fraction in one character: keep a space before it, so that 1 1/2 does not become 11/2
        elif "\u2044" in whole:
            spelt += (" " if spelt[-1:].isdigit() else "") + whole.replace("\u2044", "/")
        else:
            spelt += "".join(_ALIKE.get(d, d) for d in unicodedata.normalize("NFD", c) if not unicodedata.combining(d))
    return spelt


@lru_cache(maxsize=None)
def _part_accents(character):
    """A letter and the accents on it, where both have forms; else ''."""
    parted = unicodedata.normalize("NFD", character)
    known = len(parted) > 1 and parted[0] in _GLYPHS and all(one in _OVER or one in _UNDER for one in parted[1:])
    return parted if known else ""


def _draw_accented(parted):
    """Strokes of a letter under or over its accents, one above the other where there are several."""
    strokes = [_draw_stroke(parts) for parts in _GLYPHS[parted[0]]]
    middle = (min(s[:, 0].min() for s in strokes) + max(s[:, 0].max() for s in strokes)) / 2.0
    over = [one for one in parted[1:] if one in _OVER]
    if over:
        strokes = [s * [1.0, _SQUAT] for s in strokes]
    for number, one in enumerate(over):
        strokes += [_draw_stroke(parts) + [middle, _ACCENT_FOOT + 1.3 * number] for parts in _OVER[one]]
    for one in parted[1:]:
        strokes += [_draw_stroke(parts) + [middle, 0.0] for parts in _UNDER.get(one, ())]
    return strokes


def _draw_stroke(parts):
    places: list[tuple[float, float]] = []
    for part in parts:
        if part[0] == "arc":
            _, cx, cy, rx, ry, first, last = part
            angles = np.radians(np.linspace(first, last, max(int(np.ceil(abs(last - first) / _ARC_STEP_DEG)), 2) + 1))
            places += list(zip(cx + rx * np.cos(angles), cy + ry * np.sin(angles)))
        else:
            places.append(part)
    points = np.array(places, float)
    return points[np.concatenate([[True], np.any(np.abs(np.diff(points, axis=0)) > 1e-9, axis=1)])]


@lru_cache(maxsize=None)
def _form(character):
    """Strokes that begin at x = 0, their width, and the gap each side asks for, in grid units."""
    parted = _part_accents(character) if character not in _GLYPHS else ""
    strokes = _draw_accented(parted) if parted else [_draw_stroke(parts) for parts in _GLYPHS.get(character, _BOX)]
    low = min(s[:, 0].min() for s in strokes)
    strokes = [s - [low, 0.0] for s in strokes]
    width = max(s[:, 0].max() for s in strokes)
    return strokes, width, _ease_gap(strokes, lambda x: x), _ease_gap(strokes, lambda x: width - x)


def _ease_gap(strokes, depth):
    """Half the gap between stems, less for open sides such as those of A or L: lettering looks evenly spaced where the
    areas between letters are equal."""
    depths = np.full(_BANDS, np.inf)
    for s in strokes:
        share = np.linspace(0.0, 1.0, 4 * _BANDS + 1)[:, None]
        dense = (s[:-1, None] * (1.0 - share) + s[1:, None] * share).reshape(-1, 2)
        band = np.floor(dense[:, 1] * (_BANDS / CAP) - 1e-9).astype(int)
        seen = (band >= 0) & (band < _BANDS)
        np.minimum.at(depths, band[seen], depth(dense[seen, 0]))
    return STEM_GAP / 2.0 - _EASE * float(np.where(np.isinf(depths), _EMPTY, np.minimum(depths, _DEEPEST)).mean())


@lru_cache(maxsize=8192)
def _set_line(spelt):
    """Where each letter starts, and how long the line is, in grid units."""
    starts, pen, side = [], 0.0, None
    for character in spelt:
        if character == " ":
            starts.append(pen)
            pen, side = pen + WORD_SPACE, None
            continue
        _, width, left, right = _form(character)
        if side is not None:
            pen += max(side + left, LEAST_GAP)
        starts.append(pen)
        pen, side = pen + width, right
    return starts, pen


def text_width_mm(text: str, *, height_mm: float) -> float:
    """Length of a line of lettering, mm, from the left of the first letter to the right of the last."""
    return _set_line(_spell(text))[1] * height_mm / CAP


def draw_letter(character: str) -> list[Points]:
    """Strokes of one letter as it is spelt, (k, 2) each, in grid units: y up from the baseline, x from its left.
    Strokes that begin where the one before ends are joined to it."""
    drawn: list[Points] = []
    for stroke in _form(character)[0]:
        if drawn and np.abs(drawn[-1][-1] - stroke[0]).max() < 1e-9:
            drawn[-1] = np.vstack([drawn[-1], stroke[1:]])
        else:
            drawn.append(stroke)
    return drawn


def lay_letters(text: str) -> tuple[str, list[float], float]:
    """The characters that a text is lettered with, where each begins, and how long the line is, in grid units (a
    capital is CAP of them high).

    Examples
    --------
    >>> lay_letters("i")
    ('I', [0.0], 0.0)
    """
    spelt = _spell(text)
    starts, length = _set_line(spelt)
    return spelt, starts, length


def stroke_text(text: str, *, height_mm: float, at_mm: ArrayLike = (0.0, 0.0), angle_deg: float = 0.0,
                anchor: str = "start") -> list[Points]:
    """Letter a line of words.

    Parameters
    ----------
    text : str
        Lower case is drawn as capitals, with the accents of Latin letters; a character that has no form here is drawn
        as a box, so that nothing is lost in silence. Tabs and line ends are spaces.
    height_mm : float
        Height of a capital.
    at_mm : (float, float)
        Where the baseline starts, has its middle or ends, by `anchor`; page axes, x right, y down.
    angle_deg : float
        Turn of the line from x towards y: clockwise as seen.
    anchor : {'start', 'middle', 'end'}

    Returns
    -------
    list of ndarray, shape (k, 2), mm
        Strokes, each drawn without lifting the pen; a ring ends where it starts. Rounds are true to 0.6 percent of the
        height.

    Raises
    ------
    ValueError
        If the height is not a positive number or the anchor is not one of the three.

    Examples
    --------
    >>> [s.round(1).tolist() for s in stroke_text("I", height_mm=6)]
    [[[0.0, 0.0], [0.0, -6.0]]]
    """
    points, begins = letter_points(text, height_mm=height_mm, at_mm=at_mm, angle_deg=angle_deg, anchor=anchor)
    return np.split(points, begins[1:]) if len(begins) else []


def letter_points(text: str, *, height_mm: float, at_mm: ArrayLike = (0.0, 0.0), angle_deg: float = 0.0,
                  anchor: str = "start") -> tuple[Points, Indices]:
    """As `stroke_text`, all strokes in one array (n, 2), and where each begins in it (m,)."""
    if not (np.isfinite(height_mm) and height_mm > 0.0):
        raise ValueError("lettering needs a height above zero, not %r" % (height_mm,))
    if anchor not in _ANCHORS:
        raise ValueError("anchor is 'start', 'middle' or 'end', not %r" % (anchor,))
    grid, starts, begins, length = _draw_line(_spell(text))
    scale, turn = height_mm / CAP, np.radians(angle_deg)
    along, up = np.array([np.cos(turn), np.sin(turn)]), np.array([np.sin(turn), -np.cos(turn)])
    across = grid[:, 0] + (starts - length * _ANCHORS[anchor])
    return np.asarray(at_mm, float) + scale * (np.outer(across, along) + np.outer(grid[:, 1], up)), begins


@lru_cache(maxsize=2048)
def _draw_line(spelt):
    """A line of letters in grid units: the points (n, 2) of all strokes, each from its own letter's left; where the
    letter of each point starts (n,); where each stroke begins (m,); and the line's length.
    """
    starts, length = _set_line(spelt)
    strokes = [(grid, start) for c, start in zip(spelt, starts) if c != " " for grid in _form(c)[0]]
    if not strokes:
        return np.zeros((0, 2)), np.zeros(0), np.zeros(0, int), length
    counts = np.array([len(grid) for grid, _ in strokes])
    return (np.concatenate([grid for grid, _ in strokes]), np.repeat([start for _, start in strokes], counts),
            np.cumsum(counts) - counts, length)


_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
