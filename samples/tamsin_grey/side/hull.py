"""The starboard side of the invented cutter TAMSIN GREY as a surface, and her planks laid flat.

Every number is invented; no boat was measured. The surface is a plain closed form: at each place along her a cubic
through four points, which move along her as sines and parabolas. Strakes take the same share of the girth in every
section. A plank is the strip between two strake edges, cut into narrow triangles that are laid flat one after the
other: what a limber pattern shows that lies on the frames without edge-set.

Axes, mm: x aft from the stem head's place, y to starboard from the middle line, z up from the base line. Frame n stands
at x = 230 n.

Needs numpy only. `python hull.py` prints the planks.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = [
    "FRAME_SPACING_MM",
    "PLANKS",
    "STRAKES",
    "Plank",
    "find_frames",
    "find_hood_mm",
    "find_point_mm",
    "lay_flat",
    "read_frame",
]

LENGTH_MM = 8400.0
# of the girth, from the keel: the edges of the strakes
SHARES = (0.0, 0.16, 0.30, 0.405, 0.51, 0.61, 0.71, 0.81, 0.905, 1.0)
STRAKES = len(SHARES) - 1
FRAME_SPACING_MM = 230.0
TRANSOM_MM = 8060.0
STEPS = 600


@dataclass(frozen=True)
class Plank:
    """A plank to be made: its strake, and where it runs from and to; 'hood' and 'transom', or the bay in which it
    butts, (9, 10).
    """

    name: str
    strake: int
    fore: object
    aft: object


# what is out of her; strakes 5 and 6 have their own samples
PLANKS = (Plank("2a", 2, (20, 21), "transom"), Plank("3f", 3, "hood", (14, 15)), Plank("3m", 3, (14, 15), (27, 28)),
          Plank("4m", 4, (10, 11), (23, 24)),
          Plank("4a", 4, (23, 24), "transom"), Plank("7f", 7, "hood", (15, 16)), Plank("7a", 7, (15, 16), (28, 29)),
          Plank("8m", 8, (11, 12), (24, 25)))


def _section_points_mm(x_mm):
    """The four points (n, 4, 2) of the cubics (y, z) at places x along her."""
    t = np.asarray(x_mm, float) / LENGTH_MM
    beam = 980.0 * np.sin(np.pi * (0.035 + 0.85 * t - 0.14 * t ** 2))
    sheer = 1330.0 + 420.0 * (t - 0.62) ** 2
    keel = 150.0 + 420.0 * np.exp(-t / 0.16) + 90.0 * t ** 3
    half = np.full_like(beam, 55.0)
    rise = sheer - keel
    return np.stack([np.stack([half, keel], -1),
                     np.stack([half + 0.93 * (beam - half), keel + (0.10 + 0.25 * (1 - t) ** 4) * rise], -1),
                     np.stack([1.03 * beam, keel + 0.20 * rise], -1), np.stack([beam, sheer], -1)], axis=-2)


def _trace_sections_mm(x_mm, u):
    """Points (n, len(u), 2) of the sections at x (n,)."""
    p = _section_points_mm(x_mm)
    b = np.stack([(1 - u) ** 3, 3 * u * (1 - u) ** 2, 3 * u ** 2 * (1 - u), u ** 3], axis=-1)
    return np.einsum("uk,nkc->nuc", b, p)


def find_point_mm(x_mm, girth):
    """Points (n, 3) of her side at x (n,) and a share of the girth (n,) or one for all: 0 at the keel, 1 at the sheer.
    """
    x = np.atleast_1d(np.asarray(x_mm, float))
    share = np.broadcast_to(np.asarray(girth, float), x.shape)
    u = np.linspace(0, 1, 801)
    traced = _trace_sections_mm(x, u)
    arc = np.concatenate([np.zeros((len(x), 1)),
                          np.cumsum(np.hypot(*np.moveaxis(np.diff(traced, axis=1), 2, 0)), axis=1)], axis=1)
    out = np.empty((len(x), 3))
    for k in range(len(x)):
        at = np.interp(share[k] * arc[k, -1], arc[k], u)
        out[k, 0], out[k, 1:] = x[k], _trace_sections_mm(x[k:k + 1], np.array([at]))[0, 0]
    return out


def find_hood_mm(girth):
    """Where the hood ends stand: the rabbet of the stem rakes, x for a share of the girth."""
    return 420.0 - 260.0 * np.asarray(girth, float) ** 0.8


def _find_end_mm(place, girth):
    if place == "hood":
        return float(find_hood_mm(girth))
    if place == "transom":
        return TRANSOM_MM
    return FRAME_SPACING_MM * sum(place) / 2


def lay_flat(plank):
    """The plank's edges laid flat.

    Returns
    -------
    upper, lower : ndarray, shape (STEPS + 1, 2), mm
        From fore to aft, forward to the right, upper edge uppermost (y down), as a starboard plank is seen from
        outboard.
    x_upper, x_lower : ndarray, shape (STEPS + 1,), mm
        Where each point stands along her.
    """
    low, high = SHARES[plank.strake - 1], SHARES[plank.strake]
    x_upper, x_lower = (np.linspace(_find_end_mm(plank.fore, g), _find_end_mm(plank.aft, g), STEPS + 1)
                        for g in (high, low))
    above, below = find_point_mm(x_upper, high), find_point_mm(x_lower, low)

    def size(a, b):
        return float(np.linalg.norm(a - b))
    upper, lower = np.zeros((STEPS + 1, 2)), np.zeros((STEPS + 1, 2))
    lower[0] = (0.0, size(above[0], below[0]))
    for k in range(STEPS):
        upper[k + 1] = _place(upper[k], lower[k], size(above[k], above[k + 1]), size(below[k], above[k + 1]))
        lower[k + 1] = _place(upper[k + 1], lower[k], size(above[k + 1], below[k + 1]), size(below[k], below[k + 1]))
    # middle of the ends on a level baseline, bow to the right
    fore, aft = (upper[0] + lower[0]) / 2, (upper[-1] + lower[-1]) / 2
    way = (fore - aft) / np.hypot(*(fore - aft))
    turn = np.array([[way[0], way[1]], [-way[1], way[0]]])
    return (upper - aft) @ turn.T, (lower - aft) @ turn.T, x_upper, x_lower


def _place(a, b, from_a, from_b):
    """The point at these distances from a and b that lies to the left of the way from a to b as seen on the page:
    further aft.
    """
    way = b - a
    base = np.hypot(*way)
    along = (base ** 2 + from_a ** 2 - from_b ** 2) / (2 * base)
    off = np.sqrt(max(from_a ** 2 - along ** 2, 0.0))
    way = way / base
    return a + along * way + off * np.array([-way[1], way[0]])


def find_frames(plank):
    """Numbers of the frames that cross the plank from edge to edge, from fore to aft."""
    low, high = SHARES[plank.strake - 1], SHARES[plank.strake]
    first = max(_find_end_mm(plank.fore, g) for g in (low, high))
    last = min(_find_end_mm(plank.aft, g) for g in (low, high))
    return [n for n in range(1, 40) if first + 20 < n * FRAME_SPACING_MM < last - 20]


def read_frame(strake, frame):
    """What bevel gauge, straightedge and batten would say at a frame.

    Returns
    -------
    dict
        radius_mm across, in the frame's plane (> 0 round), to the inside; upper_angle_deg and lower_angle_deg between
        this plank's flat and its neighbours'; bend_mm, the radius along; inf where flat.
    """
    x = FRAME_SPACING_MM * frame
    low, high = SHARES[strake - 1], SHARES[strake]
    points = find_point_mm(np.full(5, x), [SHARES[max(strake - 2, 0)], low, (low + high) / 2, high,
                                           SHARES[min(strake + 1, STRAKES)]])[:, 1:]
    angles = {}
    for edge, (a, b, c) in (("lower", (0, 1, 3)), ("upper", (1, 3, 4))):
        first, second = points[b] - points[a], points[c] - points[b]
        angles[edge] = float(np.degrees(np.arctan2(first[0] * second[1] - first[1] * second[0], first @ second)))
    chord, rise = points[3] - points[1], points[2] - (points[1] + points[3]) / 2
    out = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
    sag = float(rise @ out)
    radius = np.inf if abs(sag) < 0.02 else float(np.hypot(*chord) ** 2 / (8 * sag) + sag / 2)
    run = find_point_mm(x + np.array([-230.0, 0.0, 230.0]), (low + high) / 2)
    middle = run[1] - (run[0] + run[2]) / 2
    bow = float(middle[1:] @ out)
    bend = np.inf if abs(bow) < 0.05 else float(np.sum((run[2] - run[0]) ** 2) / (8 * bow))
    return {"radius_mm": radius, "upper_angle_deg": angles["upper"], "lower_angle_deg": angles["lower"],
            "bend_mm": bend}


def _print_planks():
    for plank in PLANKS:
        upper, lower, _, _ = lay_flat(plank)
        wide = np.hypot(*(upper - lower).T)
        frames = find_frames(plank)
        print("strake %-3s %5.0f mm long, %3.0f to %3.0f mm wide, box %4.0f mm deep, frames %d to %d" % (
            plank.name, upper[0, 0] - upper[-1, 0], wide.min(), wide.max(), np.ptp(np.vstack([upper, lower])[:, 1]),
            frames[0], frames[-1]))
        for n in frames[::3]:
            r = read_frame(plank.strake, n)
            print("    frame %2d  radius %7.0f  angles %5.1f upper %5.1f lower  bend %8.0f"
                  % (n, r["radius_mm"], r["upper_angle_deg"], r["lower_angle_deg"], r["bend_mm"]))


if __name__ == "__main__":
    _print_planks()
