"""The true shape of strake 6, starboard, of the invented cutter TAMSIN GREY, and the true places on the floor it was
photographed on.

Every line is a plain closed form (a hyperbolic cosine, a sine, a bell curve, an arc of a circle), none of them a
spline.
Boat, plank, floor and all numbers are invented.

Two frames of axes are used:

* plank axes (u, v): u along the baseline from the butt forward, v square to it and downward; mm;
* floor axes (x, y): x to the right, y down, mm, from the corner the tape was laid from. Forward is to the right, the
  upper edge uppermost. The drawing's page has the same axes once the photographs are true.

Needs numpy only. `python strake_6_truth.py` prints the leading dimensions.
"""
from __future__ import annotations

import numpy as np

__all__ = [
    "PAGE_HEIGHT_MM",
    "PAGE_WIDTH_MM",
    "aft_end_mm",
    "controls_mm",
    "corners_mm",
    "fore_end_mm",
    "frame_marks_mm",
    "frame_positions_mm",
    "lower_edge_mm",
    "outline_mm",
    "tag_marks_mm",
    "to_floor_mm",
    "upper_edge_mm",
]

PAGE_WIDTH_MM, PAGE_HEIGHT_MM = 4200.0, 1000.0

LENGTH_MM = 4000.0                  # along the baseline, where the middle line meets the two ends
TURN_DEG = 0.4                      # the baseline climbs forward by this
ORIGIN_MM = (100.0, 584.0)          # floor place of u = 0, v = 0

# The butt is square to the middle line there; the hood end is raked 14 degrees from square.
AFT_UPPER_MM, AFT_LOWER_MM = -8.4, 8.4
FORE_UPPER_MM, FORE_LOWER_MM = 4015.4, 3984.6
HOOD_SAGITTA_MM = 4.0               # the hood end bows forward by this, as the rabbet does

FRAME_SPACING_MM = 230.0
FIRST_FRAME, LAST_FRAME = 6, 22     # counted aft from the bow
FIRST_FRAME_MM = 3795.0             # u of frame 6; the butt then falls midway between frames 22 and 23
# the last tag on each long edge stands this far from its corner, along the edge
NEAR_HOOD_MM, NEAR_BUTT_MM = 65.0, 30.0
HOOD_TAGS = (0.08, 0.29, 0.5, 0.71, 0.92)    # t of the tags pushed into the rabbet


def _middle_mm(u_mm):
    """The middle line's v: a hyperbolic cosine, its ends brought level, its crown moved by a sine; about 110 mm of bow.
    """
    s = np.asarray(u_mm, dtype=float) / LENGTH_MM
    return 520.0 * (np.cosh(1.35 * (s - 0.46)) - np.cosh(0.621)) - 41.0 * s + 4.0 * np.sin(2 * np.pi * s)


def _width_mm(u_mm):
    """The width square to the baseline: 139 at the butt, 162 at the widest, 124 at the hood end; a bell curve and a
    taper.
    """
    s = np.asarray(u_mm, dtype=float) / LENGTH_MM
    return 132.0 - 10.0 * s + 34.0 * np.exp(-((s - 0.42) / 0.34) ** 2)


def _upper_v_mm(u_mm):
    return _middle_mm(u_mm) - _width_mm(u_mm) / 2


def _lower_v_mm(u_mm):
    return _middle_mm(u_mm) + _width_mm(u_mm) / 2


def to_floor_mm(u_mm, v_mm):
    """Plank axes to floor axes, (n, 2)."""
    turn = np.radians(TURN_DEG)
    u, v = np.broadcast_arrays(np.atleast_1d(np.asarray(u_mm, float)), np.atleast_1d(np.asarray(v_mm, float)))
    return np.column_stack([ORIGIN_MM[0] + u * np.cos(turn) + v * np.sin(turn),
                            ORIGIN_MM[1] - u * np.sin(turn) + v * np.cos(turn)])


def upper_edge_mm(t):
    """Points of the upper edge on the floor; t = 0 at the butt, 1 at the hood end, and on past both."""
    u = AFT_UPPER_MM + (FORE_UPPER_MM - AFT_UPPER_MM) * np.atleast_1d(np.asarray(t, float))
    return to_floor_mm(u, _upper_v_mm(u))


def lower_edge_mm(t):
    """Points of the lower edge on the floor; t = 0 at the butt, 1 at the hood end, and on past both."""
    u = AFT_LOWER_MM + (FORE_LOWER_MM - AFT_LOWER_MM) * np.atleast_1d(np.asarray(t, float))
    return to_floor_mm(u, _lower_v_mm(u))


def fore_end_mm(t):
    """Points of the hood end on the floor: an arc bowed forward, t = 0 at the upper corner, 1 at the lower, and on past
    both.
    """
    upper, lower = upper_edge_mm(1.0)[0], lower_edge_mm(1.0)[0]
    chord = lower - upper
    chord_mm = np.hypot(*chord)
    along = chord / chord_mm
    forward = np.array([along[1], -along[0]])
    radius_mm = (chord_mm ** 2 / 4 + HOOD_SAGITTA_MM ** 2) / (2 * HOOD_SAGITTA_MM)
    angle = np.arcsin(chord_mm / (2 * radius_mm)) * (2 * np.atleast_1d(np.asarray(t, float)) - 1)
    return ((upper + lower) / 2 + np.outer(radius_mm * np.sin(angle), along)
            + np.outer(radius_mm * np.cos(angle) - (radius_mm - HOOD_SAGITTA_MM), forward))


def aft_end_mm(t):
    """Points of the butt on the floor: a straight line, t = 0 at the upper corner, 1 at the lower, and on past both."""
    upper, lower = upper_edge_mm(0.0)[0], lower_edge_mm(0.0)[0]
    return upper + np.outer(np.atleast_1d(np.asarray(t, float)), lower - upper)


def corners_mm():
    """The four corners on the floor: keys aft_upper, fore_upper, fore_lower, aft_lower."""
    return {"aft_upper": upper_edge_mm(0.0)[0], "fore_upper": upper_edge_mm(1.0)[0],
            "fore_lower": lower_edge_mm(1.0)[0], "aft_lower": lower_edge_mm(0.0)[0]}


def outline_mm(count=2001):
    """The whole outline as one closed polygon on the floor, clockwise as seen, first point not repeated; count points
    on each long edge.
    """
    t, s = np.linspace(0, 1, count), np.linspace(0, 1, max(count // 10, 2))
    return np.vstack([upper_edge_mm(t)[:-1], fore_end_mm(s)[:-1], lower_edge_mm(t[::-1])[:-1],
                      aft_end_mm(s[::-1])[:-1]])


def frame_positions_mm():
    """Frame number to its u, mm along the baseline from the butt; frame 6 is the foremost."""
    return {frame: FIRST_FRAME_MM - FRAME_SPACING_MM * (frame - FIRST_FRAME)
            for frame in range(FIRST_FRAME, LAST_FRAME + 1)}


def frame_marks_mm():
    """Frame number to {"upper": (x, y), "lower": (x, y)}: where its line, square to the baseline, cuts the edges, on
    the floor.
    """
    return {frame: {"upper": to_floor_mm(u, _upper_v_mm(u))[0], "lower": to_floor_mm(u, _lower_v_mm(u))[0]}
            for frame, u in frame_positions_mm().items()}


def tag_marks_mm():
    """[(edge, frame or 0, place (2,), unit direction outboard (2,))] of every tag: at the frames, near the corners, in
    the rabbet.
    """
    curves = {"upper": upper_edge_mm, "lower": lower_edge_mm, "fore": fore_end_mm}
    outward = {"upper": np.array([0.0, -1.0]), "lower": np.array([0.0, 1.0]), "fore": np.array([1.0, 0.0])}
    places = []
    for edge in ("upper", "lower"):
        first, last = (AFT_UPPER_MM, FORE_UPPER_MM) if edge == "upper" else (AFT_LOWER_MM, FORE_LOWER_MM)
        stands = [(0, first + NEAR_BUTT_MM), *((f, u) for f, u in frame_positions_mm().items()),
                  (0, last - NEAR_HOOD_MM)]
        places += [(edge, frame, (u - first) / (last - first)) for frame, u in stands]
    places += [("fore", 0, t) for t in HOOD_TAGS]
    found = []
    for edge, frame, t in places:
        before, at, after = curves[edge]([t - 1e-5, t, t + 1e-5])
        along = (after - before) / np.hypot(*(after - before))
        outboard = np.array([along[1], -along[0]])
        found.append((edge, frame, at, outboard if outboard @ outward[edge] > 0 else -outboard))
    return found


def controls_mm():
    """Name to the true place on the floor of each control dot: a net round the pattern, on both sides of it."""
    columns = (50.0, 650.0, 1250.0, 1880.0, 2320.0, 2950.0, 3550.0, 4150.0)
    net = {"%s%d" % (row, k): (x, y) for row, y in (("A", 60.0), ("D", 940.0)) for k, x in enumerate(columns, 1)}
    # a second pair of rows nearer the pattern, which is not in their way
    net.update({"B%d" % k: (x, y) for k, (x, y) in enumerate(((330.0, 300.0), (950.0, 260.0), (2100.0, 230.0),
                                                              (3250.0, 260.0), (3850.0, 300.0)), 1)})
    net.update({"C%d" % k: (x, y) for k, (x, y) in enumerate(((330.0, 760.0), (950.0, 720.0), (2100.0, 690.0),
                                                              (3250.0, 720.0), (3850.0, 760.0)), 1)})
    return {name: np.array(place) for name, place in net.items()}


def _print_dimensions():
    box = outline_mm()
    print("on the floor    x %.1f to %.1f, y %.1f to %.1f mm"
          % (box[:, 0].min(), box[:, 0].max(), box[:, 1].min(), box[:, 1].max()))
    t = np.linspace(0, 1, 20001)
    for name, edge in (("upper", upper_edge_mm(t)), ("lower", lower_edge_mm(t))):
        chord = edge[-1] - edge[0]
        off = ((edge - edge[0]) @ np.array([chord[1], -chord[0]])) / np.hypot(*chord)
        print("%s edge      %.2f mm along, chord %.2f mm, bow %.2f mm"
              % (name, np.hypot(*np.diff(edge, axis=0).T).sum(), np.hypot(*chord), np.abs(off).max()))
    for name, end in (("fore", fore_end_mm(t)), ("aft ", aft_end_mm(t))):
        print("%s end        %.2f mm along" % (name, np.hypot(*np.diff(end, axis=0).T).sum()))
    for name, corner in corners_mm().items():
        print("corner %-10s %.3f, %.3f mm" % (name, *corner))
    for frame, marks in frame_marks_mm().items():
        print("frame %2d        upper %.3f, %.3f   lower %.3f, %.3f   width %.2f mm" % (
            frame, *marks["upper"], *marks["lower"], np.hypot(*(marks["lower"] - marks["upper"]))))
    nearest = min(float(np.hypot(*(box - place).T).min()) for place in controls_mm().values())
    print("control dots    %d, none nearer than %.0f mm to the edge" % (len(controls_mm()), nearest))


if __name__ == "__main__":
    _print_dimensions()
