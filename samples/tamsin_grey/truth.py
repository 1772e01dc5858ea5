"""The true shape of strake 5, starboard, of the invented cutter TAMSIN GREY.

Every line here is a plain closed form (a hyperbola, sines and cosines, an arc of a circle),
none of them a spline, so that a fairing that works with splines is not tested on itself.
Boat, plank and all numbers are invented.

Two frames of axes are used:

* plank axes (u, v): u runs along the baseline from the butt forward, v square to it and
  downward; both in mm;
* page axes (x, y): x to the right, y down, both in mm from the upper left corner of the page.
  Forward is to the right and the upper edge is uppermost, so a starboard plank is seen from
  outboard. The baseline climbs forward by TURN_DEG on the page.

Needs numpy only. `python truth.py` prints the leading dimensions.
"""
from __future__ import annotations

import numpy as np

__all__ = [
    "DPI",
    "PAGE_HEIGHT_MM",
    "PAGE_WIDTH_MM",
    "PIXELS_HIGH",
    "PIXELS_WIDE",
    "aft_end_mm",
    "corners_mm",
    "fore_end_mm",
    "frame_line_mm",
    "frame_marks_mm",
    "frame_positions_mm",
    "lower_edge_mm",
    "outline_mm",
    "to_page_mm",
    "upper_edge_mm",
]

DPI = 150
PIXELS_WIDE, PIXELS_HIGH = 15_962, 1_800
# whole pixels first, so that scan and page are the same size to the last digit
PAGE_WIDTH_MM, PAGE_HEIGHT_MM = PIXELS_WIDE * 25.4 / DPI, PIXELS_HIGH * 25.4 / DPI

LENGTH_MM = 2600.0                  # along the baseline, where the middle line meets the two ends
TURN_DEG = 0.5
ORIGIN_MM = (46.6, 210.25)          # page place of u = 0, v = 0

# The butt is square to the middle line there; the hood end is raked 12 degrees from square.
AFT_UPPER_MM, AFT_LOWER_MM = -6.1, 6.1
FORE_UPPER_MM, FORE_LOWER_MM = 2616.5, 2583.5
HOOD_SAGITTA_MM = 3.0               # the hood end bows forward by this, as the rabbet does

FRAME_SPACING_MM = 230.0
FIRST_FRAME, LAST_FRAME = 7, 17     # counted aft from the bow; the stem rakes, so 1 to 6 stand forward of this plank
FIRST_FRAME_MM = 2415.0             # u of frame 7; the butt then falls midway between frames 17 and 18


def _middle_mm(u_mm):
    """The middle line's v: a hyperbola with its ends down by about 90 mm, its crown moved forward by a sine."""
    s = np.asarray(u_mm, dtype=float) / LENGTH_MM
    return 500.0 * (np.sqrt(0.36 + (s - 0.5) ** 2) - 0.6) - 90.512 + 5.0 * np.sin(2 * np.pi * s)


def _width_mm(u_mm):
    """The width measured square to the baseline: 110 at the butt, 95 at the hood end, 136 amidships."""
    s = np.asarray(u_mm, dtype=float) / LENGTH_MM
    return 102.5 + 7.5 * np.cos(np.pi * s) + 32.5 * np.sin(np.pi * s)


def _upper_v_mm(u_mm):
    return _middle_mm(u_mm) - _width_mm(u_mm) / 2


def _lower_v_mm(u_mm):
    return _middle_mm(u_mm) + _width_mm(u_mm) / 2


def to_page_mm(u_mm, v_mm):
    """Plank axes to page axes.

    Parameters
    ----------
    u_mm, v_mm : array_like, mm
        Along the baseline forward from the butt, and down from it.

    Returns
    -------
    ndarray, shape (n, 2), mm
        x to the right, y down.
    """
    turn = np.radians(TURN_DEG)
    u, v = np.broadcast_arrays(np.atleast_1d(np.asarray(u_mm, float)), np.atleast_1d(np.asarray(v_mm, float)))
    return np.column_stack([ORIGIN_MM[0] + u * np.cos(turn) + v * np.sin(turn),
                            ORIGIN_MM[1] - u * np.sin(turn) + v * np.cos(turn)])


def upper_edge_mm(t):
    """Points of the upper edge, page axes in mm; t = 0 at the butt, 1 at the hood end.

    Values of t outside 0 to 1 run on along the same curve past the corners.
    """
    u = AFT_UPPER_MM + (FORE_UPPER_MM - AFT_UPPER_MM) * np.atleast_1d(np.asarray(t, float))
    return to_page_mm(u, _upper_v_mm(u))


def lower_edge_mm(t):
    """Points of the lower edge, page axes in mm; t = 0 at the butt, 1 at the hood end.

    Values of t outside 0 to 1 run on along the same curve past the corners.
    """
    u = AFT_LOWER_MM + (FORE_LOWER_MM - AFT_LOWER_MM) * np.atleast_1d(np.asarray(t, float))
    return to_page_mm(u, _lower_v_mm(u))


def fore_end_mm(t):
    """Points of the hood end, page axes in mm: an arc, t = 0 at the upper corner, 1 at the lower.

    The arc bows forward by HOOD_SAGITTA_MM; t outside 0 to 1 runs on along the circle.
    """
    upper, lower = upper_edge_mm(1.0)[0], lower_edge_mm(1.0)[0]
    chord = lower - upper
    chord_mm = np.hypot(*chord)
    along = chord / chord_mm
    forward = np.array([along[1], -along[0]])       # to the right of the page, as along points down
    radius_mm = (chord_mm ** 2 / 4 + HOOD_SAGITTA_MM ** 2) / (2 * HOOD_SAGITTA_MM)
    angle = np.arcsin(chord_mm / (2 * radius_mm)) * (2 * np.atleast_1d(np.asarray(t, float)) - 1)
    return ((upper + lower) / 2 + np.outer(radius_mm * np.sin(angle), along)
            + np.outer(radius_mm * np.cos(angle) - (radius_mm - HOOD_SAGITTA_MM), forward))


def aft_end_mm(t):
    """Points of the butt, page axes in mm: a straight line, t = 0 at the upper corner, 1 at the lower."""
    upper, lower = upper_edge_mm(0.0)[0], lower_edge_mm(0.0)[0]
    return upper + np.outer(np.atleast_1d(np.asarray(t, float)), lower - upper)


def corners_mm():
    """The four corners, page axes in mm: keys aft_upper, fore_upper, fore_lower, aft_lower."""
    return {"aft_upper": upper_edge_mm(0.0)[0], "fore_upper": upper_edge_mm(1.0)[0],
            "fore_lower": lower_edge_mm(1.0)[0], "aft_lower": lower_edge_mm(0.0)[0]}


def outline_mm(count=2001):
    """The whole outline as one closed polygon, page axes in mm, clockwise as seen, first point not repeated.

    Parameters
    ----------
    count : int
        Points on each long edge; the ends get a tenth as many.
    """
    t, s = np.linspace(0, 1, count), np.linspace(0, 1, max(count // 10, 2))
    return np.vstack([upper_edge_mm(t)[:-1], fore_end_mm(s)[:-1], lower_edge_mm(t[::-1])[:-1],
                      aft_end_mm(s[::-1])[:-1]])


def frame_positions_mm():
    """Frame number to its u, mm along the baseline from the butt; frame 7 is the foremost."""
    return {frame: FIRST_FRAME_MM - FRAME_SPACING_MM * (frame - FIRST_FRAME)
            for frame in range(FIRST_FRAME, LAST_FRAME + 1)}


def frame_marks_mm():
    """Frame number to {"upper": (x, y), "lower": (x, y)}: where its line, square to the baseline, cuts the edges; page
    mm.
    """
    return {frame: {"upper": to_page_mm(u, _upper_v_mm(u))[0], "lower": to_page_mm(u, _lower_v_mm(u))[0]}
            for frame, u in frame_positions_mm().items()}


def frame_line_mm(frame, *, beyond_mm=0.0):
    """The two ends (2, 2) of a frame's line on the page, run on past both edges by beyond_mm; upper end first."""
    u = frame_positions_mm()[frame]
    return to_page_mm([u, u], [_upper_v_mm(u) - beyond_mm, _lower_v_mm(u) + beyond_mm])


def _print_dimensions():
    box = outline_mm()
    print("page            %.3f x %.3f mm, %d x %d pixels at %d dpi"
          % (PAGE_WIDTH_MM, PAGE_HEIGHT_MM, PIXELS_WIDE, PIXELS_HIGH, DPI))
    print("clear margins   left %.2f right %.2f top %.2f bottom %.2f mm" % (
        box[:, 0].min(), PAGE_WIDTH_MM - box[:, 0].max(), box[:, 1].min(), PAGE_HEIGHT_MM - box[:, 1].max()))
    t = np.linspace(0, 1, 20001)
    for name, edge in (("upper", upper_edge_mm(t)), ("lower", lower_edge_mm(t))):
        chord = edge[-1] - edge[0]
        off = ((edge - edge[0]) @ np.array([chord[1], -chord[0]])) / np.hypot(*chord)
        print("%s edge      %.2f mm along, chord %.2f mm, bow %.2f mm" % (
            name, np.hypot(*np.diff(edge, axis=0).T).sum(), np.hypot(*chord), np.abs(off).max()))
    for name, end in (("fore", fore_end_mm(t)), ("aft ", aft_end_mm(t))):
        print("%s end        %.2f mm along" % (name, np.hypot(*np.diff(end, axis=0).T).sum()))
    for name, corner in corners_mm().items():
        print("corner %-10s %.3f, %.3f mm" % (name, *corner))
    for frame, marks in frame_marks_mm().items():
        print("frame %2d        upper %.3f, %.3f   lower %.3f, %.3f   width %.2f mm" % (
            frame, *marks["upper"], *marks["lower"], np.hypot(*(marks["lower"] - marks["upper"]))))


if __name__ == "__main__":
    _print_dimensions()
