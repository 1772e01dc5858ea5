"""A smooth open curve: a chain of cubics, immutable, in mm."""
from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from . import arrays
from .bezier import evaluate_cubics, flatten_cubics, split_cubic
from .polyline import cross_segments

if TYPE_CHECKING:
    from .arrays import ArrayLike, Cubics, Point, Points, Values

__all__ = ["Curve", "cross_curves", "find_gauss_rule", "make_line"]


def find_gauss_rule(count: int) -> tuple[Values, Values]:
    """Nodes and weights, shape (count,) each, of the rule on [0, 1] that is exact for polynomials of degree 2 count -
    1.

    By the eigenvalues of the Jacobi matrix (G. Golub and J. Welsch, Math. Comp. 23, 1969,
    doi:10.1090/S0025-5718-69-99647-1): numpy.polynomial, which has them too, takes 3 ms to load on every click.

    Examples
    --------
    >>> nodes, weights = find_gauss_rule(2)
    >>> float(round(weights @ nodes ** 3, 12))
    0.25
    """
    k = np.arange(1.0, count)
    beside = k / np.sqrt(4 * k * k - 1)
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    return (nodes + 1) / 2, vectors[0] ** 2


# Gauss-Legendre with 16 nodes: arc length of plank-like cubics to 1e-9 mm
_NODES, _WEIGHTS = find_gauss_rule(16)


@dataclass(frozen=True, eq=False, repr=False)
class Curve:
    """Cubic pieces (k, 4, 2) in mm, each starting where the one before ends.

    Places on the curve are numbers u from 0 to k: the whole part is the piece.
    """

    cubics: Cubics

    def __post_init__(self):
        cubics = np.array(self.cubics, float)
        if cubics.ndim != 3 or cubics.shape[1:] != (4, 2) or not len(cubics):
            raise ValueError("a Curve takes cubics of shape (k, 4, 2)")
        if not np.isfinite(cubics).all():
            raise ValueError("a Curve takes finite numbers")
        cubics.setflags(write=False)
        object.__setattr__(self, "cubics", cubics)

    @cached_property
    def _terms(self):
        """Coefficients of t^3, t^2, t and 1 of each piece, (k, 4, 2)."""
        a, b, c, d = (self.cubics[:, i] for i in range(4))
        return np.stack([d - a + 3 * (b - c), 3 * (a - 2 * b + c), 3 * (b - a), a], axis=1)

    def _find_terms(self, u):
        """Parameter t in its piece of each place u, (n, 1), and the piece's four coefficients, each (n, 2)."""
        u = np.atleast_1d(np.asarray(u, float))
        piece = np.minimum(np.maximum(np.floor(u).astype(int), 0), len(self.cubics) - 1)
        terms = self._terms[piece]
        return (u - piece)[:, None], terms[:, 0], terms[:, 1], terms[:, 2], terms[:, 3]

    def evaluate(self, u: ArrayLike, *, derivative: int = 0) -> Points:
        """Points (n, 2), or derivatives by u, at places u (n,); beyond the ends the end pieces are extrapolated."""
        t, p3, p2, p1, a = self._find_terms(u)
        if derivative == 0:
            return ((p3 * t + p2) * t + p1) * t + a
        if derivative == 1:
            return (3 * p3 * t + 2 * p2) * t + p1
        if derivative == 2:
            return 6 * p3 * t + 2 * p2
        return 6 * p3

    def evaluate_three(self, u: ArrayLike) -> tuple[Points, Points, Points]:
        """Points, first and second derivatives by u at places u (n,): three arrays (n, 2)."""
        t, p3, p2, p1, a = self._find_terms(u)
        return ((p3 * t + p2) * t + p1) * t + a, (3 * p3 * t + 2 * p2) * t + p1, 6 * p3 * t + 2 * p2

    @property
    def start(self) -> Point:
        """First point, (2,) mm."""
        return self.cubics[0, 0]

    @property
    def end(self) -> Point:
        """Last point, (2,) mm."""
        return self.cubics[-1, 3]

    def measure_length_mm(self) -> float:
        """Length along the curve, mm."""
        return float(np.sum(self.measure_pieces_mm()))

    def measure_pieces_mm(self) -> Values:
        """Length of each piece, shape (k,), mm."""
        return self._pieces_mm

    @cached_property
    def _pieces_mm(self):
        speed = evaluate_cubics(self.cubics, _NODES, derivative=1)
        lengths = np.linalg.norm(speed, axis=2) @ _WEIGHTS
        lengths.setflags(write=False)
        return lengths

    def find_places(self, distances_mm: ArrayLike) -> Values:
        """Places u at given distances along the curve, shape (n,)."""
        ends = np.concatenate([[0.0], np.cumsum(self.measure_pieces_mm())])
        distances = np.clip(np.atleast_1d(np.asarray(distances_mm, float)), 0.0, ends[-1])
        piece = np.clip(np.searchsorted(ends, distances, side="right") - 1, 0, len(self.cubics) - 1)
        t = (distances - ends[piece]) / np.maximum(ends[piece + 1] - ends[piece], 1e-12)
        for _ in range(8):
            # arc length from the piece's start to t, by the same rule scaled to [0, t]
            nodes = piece[:, None] + t[:, None] * _NODES
            inner = np.minimum(nodes, piece[:, None] + 1 - 1e-15)
            speed = np.linalg.norm(self.evaluate(inner.ravel(), derivative=1), axis=1).reshape(inner.shape)
            arc = speed @ _WEIGHTS * t
            here = np.linalg.norm(self.evaluate(np.minimum(piece + t, piece + 1 - 1e-15), derivative=1), axis=1)
            t = np.clip(t + (distances - ends[piece] - arc) / np.maximum(here, 1e-12), 0.0, 1.0)
        return piece + t

    def flatten(self, *, tolerance_mm: float = arrays.FLATTEN_MM) -> Points:
        """A polyline (n, 2) within tolerance_mm of the curve."""
        return flatten_cubics(self.cubics, tolerance_mm=tolerance_mm)

    def measure_curvature_per_mm(self, u: Values) -> Values:
        """Signed curvature at places u, 1/mm; positive where the curve turns from x towards y."""
        p, q = self.evaluate(u, derivative=1), self.evaluate(u, derivative=2)
        return (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]) / np.maximum(np.hypot(p[:, 0], p[:, 1]), 1e-12) ** 3

    def trim(self, first: float, last: float) -> Curve:
        """The part between places first and last."""
        count = len(self.cubics)
        first, last = max(first, 0.0), min(last, float(count))
        i, j = min(int(first), count - 1), min(int(np.ceil(last)) - 1, count - 1)
        parts = [self.cubics[k] for k in range(i, j + 1)]
        if i == j:
            return Curve(split_cubic(parts[0], first - i, last - i)[None])
        parts[0] = split_cubic(parts[0], first - i, 1.0)
        parts[-1] = split_cubic(parts[-1], 0.0, last - j)
        return Curve(np.stack([p for k, p in enumerate(parts) if np.ptp(p, axis=0).max() > 1e-9 or len(parts) == 1]))

    def find_knuckles(self, *, least_deg: float = 0.2) -> list[tuple[int, float]]:
        """Joints where the curve turns: (place u, a whole number; the turn in degrees, positive from x towards y)."""
        joints = np.arange(1, len(self.cubics))
        before, after = self.evaluate(joints - 1e-9, derivative=1), self.evaluate(joints, derivative=1)
        turn = np.degrees(np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0],
                                     np.sum(before * after, axis=1)))
        return [(int(k), float(v)) for k, v in zip(joints, turn) if abs(v) >= least_deg]

    def reverse(self) -> Curve:
        """The same curve run the other way."""
        return Curve(self.cubics[::-1, ::-1])

    def transform(self, matrix: ArrayLike) -> Curve:
        """The curve under an affine map, matrix (2, 3)."""
        matrix = np.asarray(matrix, float)
        return Curve(self.cubics @ matrix[:, :2].T + matrix[:, 2])

    def extend(self, length_mm: float) -> Curve:
        """The curve with a straight run of length_mm, along its tangent, added at both ends."""
        head, tail = self.cubics[0, 0], self.cubics[-1, 3]
        before, after = self.find_direction(0.0), self.find_direction(float(len(self.cubics)))
        return Curve(np.concatenate([
            make_line(head - length_mm * before, head).cubics, self.cubics,
            make_line(tail, tail + length_mm * after).cubics]))

    def find_direction(self, u: float) -> Point:
        """Unit tangent (2,) at one place u."""
        along = self.evaluate([u], derivative=1)[0]
        size = np.hypot(*along)
        if size < 1e-9:                                   # the handle has no length: take the direction a little way in
            step = 1e-4 if u < len(self.cubics) / 2 else -1e-4
            along = (self.evaluate([u + step])[0] - self.evaluate([u])[0]) / step
            size = np.hypot(*along)
        return along / size

    @cached_property
    def _samples(self):
        """Evenly spaced places u, 32 in each piece, and the points there."""
        u = np.linspace(0, len(self.cubics), 32 * len(self.cubics) + 1)
        return u, self.evaluate(u)

    def find_nearest(self, point: ArrayLike) -> tuple[float, float]:
        """Place u on the curve nearest to point (2,), and the distance in mm."""
        x, y = (float(v) for v in point)
        places, samples = self._samples
        u = float(places[np.argmin((samples[:, 0] - x) ** 2 + (samples[:, 1] - y) ** 2)])
        most = len(self.cubics)
        for _ in range(12):
            piece = min(max(math.floor(u), 0), most - 1)
            t = u - piece
            (ax, ay), (bx, by), (cx, cy), (dx, dy) = self._terms[piece].tolist()
            away_x, away_y = ((ax * t + bx) * t + cx) * t + dx - x, ((ay * t + by) * t + cy) * t + dy - y
            px, py = (3 * ax * t + 2 * bx) * t + cx, (3 * ay * t + 2 * by) * t + cy
            slope = px * px + py * py + (away_x * (6 * ax * t + 2 * bx) + away_y * (6 * ay * t + 2 * by))
            if slope <= 0:
                break
            following = min(max(u - (away_x * px + away_y * py) / slope, 0.0), float(most))
            if following == u:                            # converged to the last bit
                break
            u = following
        return u, float(np.hypot(*(self.evaluate([u])[0] - (x, y))))


def make_line(start: ArrayLike, end: ArrayLike) -> Curve:
    """A straight Curve of one piece from start to end."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    return Curve(np.stack([start + (end - start) * k / 3 for k in range(4)])[None])


def cross_curves(first: Curve, second: Curve) -> list[tuple[float, float, Point]]:
    """All crossings of two curves.

    Returns
    -------
    list of (u, v, point)
        Places on each curve and the point (2,) in mm, in order along the first.
        Found on 16 chords of each piece, then refined by Newton's method.
    """
    def chords(curve):
        u = np.linspace(0, len(curve.cubics), 16 * len(curve.cubics) + 1)
        return u, curve.evaluate(u)

    u, points_u = chords(first)
    v, points_v = chords(second)
    t, s = cross_segments(points_u[:-1, None], points_u[1:, None], points_v[None, :-1], points_v[None, 1:])
    hit = (t >= -1e-9) & (t <= 1 + 1e-9) & (s >= -1e-9) & (s <= 1 + 1e-9)
    found: list[tuple[float, float, Point]] = []
    for i, j in np.argwhere(hit):
        a, b = u[i] + t[i, j] * (u[1] - u[0]), v[j] + s[i, j] * (v[1] - v[0])
        for _ in range(10):
            apart = second.evaluate([b])[0] - first.evaluate([a])[0]
            jacobian = np.stack([first.evaluate([a], derivative=1)[0], -second.evaluate([b], derivative=1)[0]], axis=1)
            if abs(np.linalg.det(jacobian)) < 1e-12:
                break
            step = np.linalg.solve(jacobian, apart)
            a = float(np.clip(a + step[0], 0, len(first.cubics)))
            b = float(np.clip(b + step[1], 0, len(second.cubics)))
            if np.max(np.abs(step)) < 1e-14:
                break
        if not any(abs(a - other[0]) < 1e-7 for other in found):
            found.append((a, b, (first.evaluate([a])[0] + second.evaluate([b])[0]) / 2))
    return sorted(found, key=lambda row: row[0])
