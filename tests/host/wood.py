"""A bilge plank through all that is done to the wood: what a run of it leaves, and the truth it is compared with.

Strake 3 of the sample's side (invented): from four drawn lines and the yard's table of readings to both faces of the
board, its joints, fastenings and saw line, the boards it comes out of, the plank for the other hand, the sheet, the
check and the record. The truth is the surface that the sample was drawn from (samples/tamsin_grey/side/hull.py: closed
forms, none of them a spline).
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from host.chains import hull
from host.reader import read

__all__ = [
    "AT",
    "FRAMES",
    "PATTERN_MM",
    "PLANK",
    "THICKNESS_MM",
    "WORST_MM",
    "Outcome",
    "find_board_ends",
    "find_frame_ends",
    "lay_truth",
    "measure_bend",
    "measure_frame",
    "measure_middles",
    "take_outcome",
]

PLANK = next(p for p in hull.PLANKS if p.name == "3f")
AT = np.array([60.0, 200.0 + 420.0])              # where make_side.py puts it on the page
FRAMES = range(2, 15)
THICKNESS_MM, PATTERN_MM = 25.0, 4.0
# the honest error that Fair Plank was told; nodes were drawn off by 0.15
WORST_MM = 0.5


@dataclass(frozen=True)
class Outcome:
    """A folder with a drawing and the files beside it, the drawing read, the plank in it and its other hand, and what
    the actions said.
    """

    folder: object
    reading: object
    plank: object
    copy: object
    said: dict


def take_outcome(folder, drawing, said=()):
    """An Outcome of a drawing."""
    reading = read(drawing)
    one, other = reading.find("plank")
    return Outcome(folder, reading, plank=reading.below(one), copy=reading.below(other), said=dict(said))


@lru_cache(maxsize=None)
def lay_flat():
    """hull.lay_flat of the plank."""
    return hull.lay_flat(PLANK)


@lru_cache(maxsize=None)
def lay_truth():
    """{edge: points (n, 2) on the page} of the true pattern, the long edges run on past the corners."""
    upper, lower, *_ = lay_flat()
    found = {}
    for name, line in (("upper", upper), ("lower", lower)):
        found[name] = np.vstack([3 * line[0] - 2 * line[1], line, 3 * line[-1] - 2 * line[-2]]) + AT
    for name, k in (("fore", 0), ("aft", -1)):
        found[name] = np.array([1.1 * upper[k] - 0.1 * lower[k], 1.1 * lower[k] - 0.1 * upper[k]]) + AT
    return found


def find_frame_ends(frame):
    """Places (2, 2) on the page where a frame crosses the true edges, upper first."""
    upper, lower, x_upper, x_lower = lay_flat()
    x = hull.FRAME_SPACING_MM * frame
    return np.array([[np.interp(x, xs, line[:, k]) for k in (0, 1)]
                     for xs, line in ((x_upper, upper), (x_lower, lower))]) + AT


def measure_frame(frame):
    """(straight width, depth of the hollow under it, tight bevel of each edge by half the angle between the flats),
    from the surface.
    """
    x, low, high = hull.FRAME_SPACING_MM * frame, hull.SHARES[PLANK.strake - 1], hull.SHARES[PLANK.strake]
    below, middle, above = hull.find_point_mm(np.full(3, x), [low, (low + high) / 2, high])
    width = np.linalg.norm(above - below)
    read_there = hull.read_frame(PLANK.strake, frame)
    return width, float(np.linalg.norm(np.cross(above - below, middle - below))
                        / width), {e: read_there[e + "_angle_deg"] / 2 for e in ("upper", "lower")}


@lru_cache(maxsize=None)
def measure_bend():
    """(places along the run from the fore end, what the hull has turned by there, radians), by the radii along the
    surface at the frames.
    """
    bend = np.array([1 / hull.read_frame(PLANK.strake, n)["bend_mm"] for n in FRAMES])
    bend = np.array([bend[0], *bend, bend[-1]])
    middle = np.array([lay_truth()["fore"].mean(axis=0), *(find_frame_ends(n).mean(axis=0) for n in FRAMES),
                       lay_truth()["aft"].mean(axis=0)])
    steps = np.hypot(*np.diff(middle, axis=0).T)
    return np.concatenate([[0.0],
                           np.cumsum(steps)]), np.concatenate([[0.0], np.cumsum(steps * (bend[1:] + bend[:-1]) / 2)])


def find_board_ends(frame):
    """As find_frame_ends, on the flat board: a pattern keeps its length half-way through its own thickness, the plank
    through its own, and is bent further out.
    """
    ends, (along, turned) = find_frame_ends(frame), measure_bend()
    fore, aft = lay_truth()["fore"].mean(axis=0), lay_truth()["aft"].mean(axis=0)
    way = (aft - fore) / np.hypot(*(aft - fore))
    added = (np.interp((ends.mean(axis=0) - fore) @ way, along,
                       turned) - turned[-1] / 2) * (THICKNESS_MM - PATTERN_MM) / 2
    return ends + added * way


def measure_middles(items):
    """Middles (n, 2) of drawn objects."""
    return np.array([(i.runs[0].trace().min(axis=0) + i.runs[0].trace().max(axis=0)) / 2 for i in items])
