"""A frame's line across a plank: square to the baseline or to the run, ending on whichever edges it meets. A part of
stations."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.curve import cross_curves, make_line
from ..geometry.polyline import contains_points
from ..model.plank import EDGE_NAMES

if TYPE_CHECKING:
    from ..geometry.arrays import Point, Points

__all__ = ["Bed", "Strip"]

_SAME_MM = 1e-6           # crossings nearer to each other than this are one, at a corner
_END_MM = 0.01            # a line whose middle is this near to an end coincides with it
# long edges are extended by this share of the plank's length, so that a frame that runs out at an end still has a
# middle
_BEYOND = 0.5
_ROUNDS = 12


@dataclass(frozen=True, eq=False, repr=False)
class Strip:
    """The part of a frame's line on the wood: line (2, 2), the end towards the upper edge first; the edges that its
    ends lie on; and in how many pieces it crosses the plank."""

    line: Points
    ends: tuple[str, ...]
    pieces: int = 1

    @property
    def width_mm(self) -> float:
        """Length of the line."""
        return float(np.hypot(*(self.line[1] - self.line[0])))


class Bed:
    """A plank prepared for striking frames: its axes, its outline, its long edges extended past the corners."""

    def __init__(self, plank):
        self.plank = plank
        self.start, self.along, self.across = plank.find_axes()
        self.length_mm = plank.measure_length_mm()
        corner = plank.find_corners()
        self.down = sum(corner["lower " + e] - corner["upper " + e] for e in ("fore", "aft"))
        self.polygon = np.concatenate([c.flatten()[:-1] for c in plank.outline()])
        self.long_edges = {n: plank.edges[n].curve.extend(_BEYOND * self.length_mm) for n in ("upper", "lower")}
        reach = (self.polygon - self.start) @ self.along
        self.first_mm, self.last_mm = float(reach.min()), float(reach.max())

    def measure_along(self, points: Point) -> float:
        """Distance along the baseline from the fore end, of one point or many."""
        return (np.asarray(points, float) - self.start) @ self.along

    def find_point(self, along_mm: float) -> Point:
        """The point of the baseline at a distance from the fore end."""
        return self.start + along_mm * self.along

    def _aim(self, way):
        way = np.asarray(way, float) / np.hypot(*way)
        return way if way @ self.down > 0 else -way

    def cut(self, point: Point, way: Point) -> Strip | None:
        """The Strip where the line through a point crosses the plank, of several the nearest to the point; None where
        it does not cross it."""
        point, way = np.asarray(point, float), self._aim(way)
        reach = 2 * self.length_mm + float(np.hypot(*(point - self.polygon).T).max())
        line = make_line(point - reach * way, point + reach * way)
        hits = sorted(((float((spot - point) @ way), name, spot) for name in EDGE_NAMES
                       for _, _, spot in cross_curves(self.plank.edges[name].curve, line)), key=lambda h: h[0])
        kept = []
        for hit in hits:
            # at a corner two edges are crossed in one place: the long one is kept
            if kept and hit[0] - kept[-1][0] < _SAME_MM:
                if hit[1] in ("upper", "lower"):
                    kept[-1] = hit
            else:
                kept.append(hit)
        pieces = []
        for a, b in zip(kept, kept[1:]):
            middle = (a[2] + b[2]) / 2
            # a line that runs along a square end is not a frame's line on the wood
            if not contains_points(self.polygon, middle[None])[0] or min(
                    self.plank.edges[n].curve.find_nearest(middle)[1] for n in ("fore", "aft")) < _END_MM:
                continue
            if pieces and pieces[-1][1] is a:
                pieces[-1] = (pieces[-1][0], b)
            else:
                pieces.append((a, b))
        if not pieces:
            return None
        a, b = min(pieces, key=lambda p: (max(p[0][0], -p[1][0], 0.0), p[0][0] - p[1][0]))
        return Strip(np.stack([a[2], b[2]]), (a[1], b[1]), len(pieces))

    def _cross_whole(self, point, way):
        """Where the line through a point crosses both long edges, extended past the corners: (2, 2), or None."""
        reach = 3 * self.length_mm
        line, ends = make_line(point - reach * way, point + reach * way), []
        for name in ("upper", "lower"):
            hits = cross_curves(self.long_edges[name], line)
            if not hits:
                return None
            ends.append(min((h[2] for h in hits), key=lambda p: float(np.hypot(*(p - point)))))
        return np.stack(ends)

    def _find_run(self, ends):
        """Sum of the directions of the long edges beside two points."""
        curves = [self.plank.edges[n].curve for n in ("upper", "lower")]
        return sum(c.find_direction(min(c.find_nearest(p)[0], len(c.cubics) - 1e-9)) for c, p in zip(curves, ends))

    def strike(self, along_mm: float, *, square_to: str, middle: Point | None = None,
               held: Point | None = None) -> Strip | None:
        """A frame's Strip at a distance along the baseline.

        Parameters
        ----------
        along_mm : float
            Distance of the frame's middle between the long edges, or of the held point.
        square_to : str
            'baseline' or 'run'.
        middle : (2,), optional
            Start of the search, if not on the baseline.
        held : (2,), optional
            A point that the line must pass through: a tick without a partner.
        """
        point = np.asarray(held if held is not None else middle if middle is not None else self.find_point(along_mm),
                           float)
        line = self._cross_whole(point, self.across)
        if square_to != "run" or line is None:
            foot = point if held is not None else self.find_point(along_mm)
            return self.cut(foot, self.across)
        point = point if held is not None else middle if middle is not None else line.mean(axis=0)
        for _ in range(_ROUNDS):
            run = self._find_run(line)
            turned = self._cross_whole(point, np.array([-run[1], run[0]]) / np.hypot(*run))
            if turned is None:
                break
            still = np.abs(turned - line).max() < 1e-9
            line = turned
            if held is None:
                # move along the run until the line's middle is at its distance along the baseline
                point = line.mean(axis=0) + (along_mm - self.measure_along(line.mean(axis=0))) * run / (
                    run @ self.along)
            if still:
                break
        return self.cut(point, line[1] - line[0])
