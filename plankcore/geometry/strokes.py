"""Strokes of pens and knives: chains of cubics with breaks, clipped to a rectangle, measured, and cut into dashes."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .bezier import evaluate_cubics, split_cubic
from .polyline import measure_arc_mm, resample_polylines

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Array, ArrayLike, Cubic, Cubics, Indices, Mask, Point, Points

__all__ = [
    "clip_strokes",
    "dash_polyline",
    "draw_polyline",
    "draw_polylines",
    "find_straight",
    "find_touching",
    "flatten_all",
    "flatten_lines",
    "flatten_strokes",
    "measure_extent",
    "measure_extents",
    "sample_lines",
    "split_strokes",
]

_TOUCH_MM = 1e-6
# half of the last digit that curves are written with; rounding differences between machines are smaller
_UNWRITTEN_MM = 5e-8


def split_strokes(cubics: Cubics) -> list[Cubics]:
    """The chains of touching pieces in an array of cubics (k, 4, 2), in order: a list of arrays (j, 4, 2)."""
    cubics = np.asarray(cubics, float)
    apart = np.flatnonzero(~find_touching(cubics)[1:]) + 1
    return np.split(cubics, apart) if len(apart) else [cubics]


def find_touching(cubics: Cubics) -> Mask:
    """Which of cubics (k, 4, 2) begin where the one before ends: bool (k,); the first does not."""
    cubics = np.asarray(cubics, float)
    gaps = np.abs(cubics[1:, 0] - cubics[:-1, 3])
    return np.concatenate([[False], (gaps[:, 0] <= _TOUCH_MM) & (gaps[:, 1] <= _TOUCH_MM)])


def draw_polyline(points: ArrayLike) -> Cubics:
    """Cubics (n - 1, 4, 2) that are the straight strokes through points (n, 2)."""
    points = np.asarray(points, float)
    step = np.diff(points, axis=0)[:, None]
    return points[:-1, None] + step * (np.arange(4) / 3)[None, :, None]


def draw_polylines(points: Points, begins: Indices) -> Cubics:
    """The same for many runs of points in one array (n, 2), each beginning at one of the indices `begins`."""
    within = np.ones(max(len(points) - 1, 0), bool)
    within[np.asarray(begins)[1:] - 1] = False
    return draw_polyline(points)[within]


def find_straight(cubics: Cubics) -> Mask:
    """Which of cubics (k, 4, 2) are straight strokes, apart from rounding (in computing or in the digits written): bool
    (k,)."""
    a, b, c, d = (np.asarray(cubics, float)[:, i] for i in range(4))
    chord, first, second = d - a, b - a, c - a
    flat = np.maximum(np.abs(chord[:, 0] * first[:, 1] - chord[:, 1] * first[:, 0]),
                      np.abs(chord[:, 0] * second[:, 1] - chord[:, 1] * second[:, 0]))
    long = np.sum(chord * chord, axis=1)
    # a cubic that ends where it begins is never straight, unless its control points coincide too
    returns = (long < 1e-12) & (np.sum(first * first + second * second, axis=1) > 1e-12)
    # flat : the chord's length times the control points' distance from it
    return (flat <= np.maximum(1e-9 * np.maximum(long, 1e-12), _UNWRITTEN_MM * np.sqrt(long))) & ~returns


def flatten_strokes(cubics: Cubics, *, tolerance_mm: float) -> list[Points]:
    """The chains of cubics (k, 4, 2) as polylines within tolerance_mm: a list of arrays (n, 2)."""
    cubics = np.asarray(cubics, float)
    if not len(cubics):
        return [np.zeros((0, 2))]
    points, firsts = flatten_all(cubics, ~find_touching(cubics), tolerance_mm=tolerance_mm)
    ends = [*firsts[1:].tolist(), len(points)]
    return [points[a:b] for a, b in zip(firsts.tolist(), ends)]


def flatten_all(cubics: Cubics, begins: Mask, *, tolerance_mm: float) -> tuple[Points, Indices]:
    """The same for all chains at once: their points (n, 2), and where each chain begins in them.

    begins : ndarray of bool, shape (k,)
        Which of the cubics begin a chain.
    """
    cubics = np.asarray(cubics, float)
    bend = np.max(np.linalg.norm(np.stack([cubics[:, 0] - 2 * cubics[:, 1] + cubics[:, 2],
                                           cubics[:, 1] - 2 * cubics[:, 2] + cubics[:, 3]]), axis=2), axis=0)
    pieces = np.maximum(np.ceil(np.sqrt(6 * bend / (8 * tolerance_mm))), 1).astype(int)
    count = pieces + begins                                   # the first piece of a chain also contributes its start
    which = np.repeat(np.arange(len(cubics)), count)
    last = np.cumsum(count) - 1
    t = ((np.arange(len(which)) - last[which] + pieces[which]) / pieces[which])[:, None]
    a, b, c, d = (cubics[which, i] for i in range(4))
    s = 1 - t
    return s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d, (last - count + 1)[begins]


def flatten_lines(lines: Sequence[Cubics], *, tolerance_mm: float) -> tuple[Points, Indices, Indices]:
    """The chains of several lines, cubics (k, 4, 2), at once.

    Returns
    -------
    points : ndarray, shape (n, 2), mm
    firsts : ndarray of int, shape (m,)
        Where each chain begins in them.
    owner : ndarray of int, shape (m,)
        The number of the line that each chain is of.
    """
    counts = np.array([len(cubics) for cubics in lines], int)
    if not counts.sum():
        return np.zeros((0, 2)), np.zeros(0, int), np.zeros(0, int)
    cubics = np.concatenate(lines)
    begins = ~find_touching(cubics)
    begins[(np.cumsum(counts) - counts)[counts > 0]] = True
    points, firsts = flatten_all(cubics, begins, tolerance_mm=tolerance_mm)
    return points, firsts, np.repeat(np.arange(len(lines)), counts)[begins]


def sample_lines(lines: Sequence[Cubics], *, tolerance_mm: float, step_mm: float) -> Points:
    """Places (n, 2) along several lines, cubics (k, 4, 2), to find which paper is taken: one every step_mm, and only
    the corners of chains smaller than that; in no particular order."""
    points, firsts, _ = flatten_lines(lines, tolerance_mm=tolerance_mm)
    if not len(points):
        return points
    counts = np.diff(np.append(firsts, len(points)))
    long = np.hypot(*(np.maximum.reduceat(points, firsts) - np.minimum.reduceat(points, firsts)).T) > step_mm
    dense, taken = points[np.repeat(long, counts)], points[np.repeat(~long, counts)]
    if not len(dense):
        return taken
    own = np.cumsum(counts[long]) - counts[long]
    return np.concatenate([taken, resample_polylines(dense, own, step_mm=step_mm)])


def measure_extent(cubics: Cubics) -> tuple[Point, Point]:
    """Least and greatest x and y of cubics (k, 4, 2), exact: two points (2,), mm."""
    low, high = measure_extents([cubics])[0]
    return low, high


def measure_extents(lines: Sequence[Cubics]) -> Array:
    """The same of each of several lines, cubics (k, 4, 2): (n, 2, 2), mm."""
    if not len(lines):
        return np.zeros((0, 2, 2))
    counts = np.array([len(cubics) for cubics in lines])
    cubics = np.asarray(lines[0], float) if len(lines) == 1 else np.concatenate(lines)
    ends = cubics[:, [0, 3]]
    low, high = ends.min(axis=1), ends.max(axis=1)
    # a piece lies within the hull of its control points: only where these reach beyond its ends can it turn back
    beyond = np.flatnonzero(np.any((cubics[:, 1:3].min(axis=1) < low) | (cubics[:, 1:3].max(axis=1) > high), axis=1))
    if len(beyond):
        turns = _find_turns(cubics[beyond])
        low[beyond], high[beyond] = np.minimum(low[beyond], turns.min(axis=0)), np.maximum(high[beyond],
                                                                                           turns.max(axis=0))
    first = np.cumsum(counts) - counts
    return np.stack([np.minimum.reduceat(low, first), np.maximum.reduceat(high, first)], axis=1)


def _find_turns(cubics):
    """Where cubics (k, 4, 2) turn back in x and in y, (2, k, 2); their start where they do not."""
    a, b, c, d = (cubics[:, i] for i in range(4))
    # extremes are where the derivative, a quadratic in each coordinate, has roots within the piece
    p, q, r = d - a + 3 * (b - c), 2 * (a - 2 * b + c), b - a
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(np.maximum(q * q - 4 * p * r, 0.0))
        tip = -0.5 * (q + np.where(q >= 0, root, -root))
        places = np.stack([tip / p, r / tip])
    t = np.where(np.isfinite(places) & (places > 0) & (places < 1), places, 0.0)
    s = 1 - t
    return s * s * s * a + 3 * s * s * t * b + 3 * s * t * t * c + t * t * t * d


def _find_crossings(cubic, low, high):
    """Parameters in (0, 1) where one cubic (4, 2) meets the four lines that bound a rectangle, in order."""
    a, b, c, d = cubic
    p3, p2, p1 = d - a + 3 * (b - c), 3 * (a - 2 * b + c), 3 * (b - a)
    size = max(float(np.abs(cubic - a).max()), 1e-12)
    found = []
    for k in (0, 1):
        for line in (low[k], high[k]):
            terms = np.array([p3[k], p2[k], p1[k], a[k] - line])
            # set leading terms that are only rounding to zero: they would give meaningless roots
            terms[:3][np.abs(terms[:3]) < 1e-12 * size] = 0.0
            if not terms[:3].any():
                continue
            roots = np.roots(terms)
            found += [float(v.real) for v in roots if abs(v.imag) < 1e-9 and 1e-9 < v.real < 1 - 1e-9]
    return sorted(found)


def clip_strokes(cubics: Cubics, low: ArrayLike, high: ArrayLike) -> list[Cubics]:
    """The parts of cubics (k, 4, 2) that lie within a rectangle.

    Parameters
    ----------
    low, high : (2,), mm
        Its corners.

    Returns
    -------
    list of ndarray, shape (j, 4, 2)
        Chains in order, each a part of one chain of the input; curves are split, not flattened. Parts shorter than
        0.001 mm are left out.
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    kept = []
    for chain in split_strokes(cubics):
        run: list[Cubic] = []
        inside = np.all((chain >= low) & (chain <= high), axis=(1, 2))
        outside = np.any((chain.max(axis=1) < low) | (chain.min(axis=1) > high), axis=1)
        for cubic, whole, gone in zip(chain, inside, outside):
            parts = [cubic] if whole else [] if gone else _cut_cubic(cubic, low, high)
            for part in parts:
                if run and np.abs(run[-1][3] - part[0]).max() > _TOUCH_MM:
                    kept.append(np.stack(run))
                    run = []
                run.append(part)
            if not parts and run:
                kept.append(np.stack(run))
                run = []
        if run:
            kept.append(np.stack(run))
    return [run for run in kept if np.ptp(run.reshape(-1, 2), axis=0).max() > 1e-3]


def _cut_cubic(cubic, low, high):
    ends = [0.0, *_find_crossings(cubic, low, high), 1.0]
    parts = []
    for first, last in zip(ends[:-1], ends[1:]):
        middle = evaluate_cubics(cubic[None], [(first + last) / 2])[0, 0]
        if last - first > 1e-12 and np.all((middle >= low) & (middle <= high)):
            parts.append(split_cubic(cubic, first, last))
    return parts


def dash_polyline(points: Points, pattern_mm: Sequence[float]) -> list[Points]:
    """Cut a polyline (n, 2) into dashes.

    Parameters
    ----------
    pattern_mm : sequence of float
        Lengths of pen down and pen up in turn, an even number of them.

    Returns
    -------
    list of ndarray, shape (m, 2)
    """
    arc = measure_arc_mm(points)
    pattern = np.asarray(pattern_mm, float)
    count = int(np.ceil(arc[-1] / pattern.sum())) + 1
    marks = np.concatenate([[0.0], np.cumsum(np.tile(pattern, count))])
    firsts, lasts = marks[:-1:2], np.minimum(marks[1::2], arc[-1])
    firsts, lasts = firsts[lasts - firsts >= 1e-9], lasts[lasts - firsts >= 1e-9]
    if not len(firsts):
        return []
    # the points of all dashes in one array: first point, corners within the dash, last point
    low, high = np.searchsorted(arc, firsts + 1e-9, side="right"), np.searchsorted(arc, lasts - 1e-9, side="left")
    inner = np.maximum(high - low, 0)
    ends = np.cumsum(inner + 2)
    begins = ends - inner - 2
    at = np.empty(int(ends[-1]))
    at[begins], at[ends - 1] = firsts, lasts
    own = np.repeat(np.arange(len(firsts)), inner)
    number = np.arange(len(own)) - np.repeat(np.cumsum(inner) - inner, inner)
    at[begins[own] + 1 + number] = arc[low[own] + number]
    places = np.stack([np.interp(at, arc, points[:, 0]), np.interp(at, arc, points[:, 1])], axis=1)
    return [places[a:b] for a, b in zip(begins.tolist(), ends.tolist())]
