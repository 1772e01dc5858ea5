"""Allowed places for fastenings on a plank: clear of its edges and ends, of butts and of a scarf's feathers; and how a
row is spread over them."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.polyline import contains_points, measure_distance_mm
from ..model.plank import EDGE_NAMES, freeze

if TYPE_CHECKING:
    from typing import Any, Callable, Mapping, Sequence

    from ..geometry.arrays import Array, Numbers, Point, Points, Values
    from ..model.plank import Plank

__all__ = [
    "Ground",
    "Path",
    "Row",
    "Zone",
    "find_clear_spans",
    "find_normal",
    "find_row",
    "make_end_path",
    "make_path",
    "measure_aft_mm",
    "measure_clearance_mm",
    "order_across_frame",
    "spread",
    "survey_plank",
]

_STEP_MM = 2.0            # first spacing along a path; what is found is then refined
_PARTS, _ROUNDS = 16, 5   # each round of refining cuts the step into this many parts: 2 mm become 0.000002 mm
# long edges are extended this far past the corners, so that a frame that runs out at an end still has a middle
_BEYOND_MM = 400.0
_SAFE_MM = 1e-6
# chord tolerance of the edges, small so that a distance given as 3/4 in is 19.05 mm on the drawing too
_CHORD_MM = 1e-3


@dataclass(frozen=True, eq=False, repr=False)
class Zone:
    """A strip across the plank where no fastening is allowed: from from_mm to to_mm aft of a line (2, 2), measured
    square to it."""

    line: Points
    from_mm: float
    to_mm: float


@dataclass(frozen=True, eq=False, repr=False)
class Ground:
    """A plank's edges as polylines, its outline as a polygon, its long edges extended past the corners, and the
    direction forward, a unit (2,)."""

    edges: Mapping[str, Points]
    outline: Points
    long_edges: Mapping[str, Points]
    forward: Point


@dataclass(frozen=True, eq=False, repr=False)
class Path:
    """A line across the plank along which fastenings are placed: points (n, 2), distances along it (n,), and where it
    crosses the upper and the lower edge."""

    points: Points
    along_mm: Values
    upper_mm: float
    lower_mm: float

    def __post_init__(self):
        object.__setattr__(self, "points", freeze(self.points, columns=2))
        object.__setattr__(self, "along_mm", freeze(self.along_mm))

    @property
    def middle_mm(self) -> float:
        """Where the path meets the run."""
        return (self.upper_mm + self.lower_mm) / 2

    def find(self, along_mm: Numbers) -> Array:
        """Points (n, 2) at distances along the path."""
        return np.stack([np.interp(along_mm, self.along_mm, self.points[:, k]) for k in (0, 1)], axis=-1)


@dataclass(frozen=True, eq=False, repr=False)
class Row:
    """Fastenings across a plank, one on each path: the paths, and the range that all of them allow, as offsets from the
    run; low_mm is towards the upper edge."""

    paths: tuple[Path, ...]
    low_mm: float
    high_mm: float

    def find(self, offsets_mm: Values) -> Points:
        """Points (n, 2), one on each path at its offset."""
        return np.array([path.find(path.middle_mm + o) for path, o in zip(self.paths, offsets_mm)]).reshape(-1, 2)


def survey_plank(plank: Plank) -> Ground:
    """A Ground of a plank."""
    edges = {name: plank.edges[name].curve.flatten(tolerance_mm=_CHORD_MM) for name in EDGE_NAMES}
    outline = np.concatenate([c.flatten(tolerance_mm=_CHORD_MM)[:-1] for c in plank.outline()])
    long_edges = {name: plank.edges[name].curve.extend(_BEYOND_MM).flatten(tolerance_mm=_CHORD_MM)
                  for name in ("upper", "lower")}
    return Ground(edges, outline, long_edges, -plank.find_axes()[1])


def _pass_edge(polyline, start, way, near_mm):
    """Distance along a line, from start and by unit way, to where it passes a polyline; of several the crossing nearest
    to near_mm; None if it does not cross it."""
    side = (polyline - start) @ np.array([-way[1], way[0]])
    ahead = (polyline - start) @ way
    hits = np.flatnonzero((side[:-1] < 0) != (side[1:] < 0))
    if not len(hits):
        return None
    share = side[hits] / (side[hits] - side[hits + 1])
    found = ahead[hits] + share * (ahead[hits + 1] - ahead[hits])
    return float(found[np.argmin(np.abs(found - near_mm))])


def find_normal(ground: Ground, line: Points) -> Point:
    """Unit (2,) square to a line (2, 2) across the plank, forward."""
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    normal = np.array([-way[1], way[0]])
    return normal if normal @ ground.forward > 0 else -normal


def make_path(ground: Ground, line: Points, ahead_mm: float) -> Path | None:
    """The Path beside a line (2, 2) across the plank and ahead_mm forward of it, or None where it does not cross both
    long edges."""
    line = np.asarray(line, float)
    width = float(np.hypot(*(line[1] - line[0])))
    way = (line[1] - line[0]) / width
    start = line[0] + ahead_mm * find_normal(ground, line)
    ends = [_pass_edge(ground.long_edges[name], start, way, near) for name, near in (("upper", 0.0), ("lower", width))]
    upper, lower = ends
    if upper is None or lower is None or lower - upper < _STEP_MM:
        return None
    return Path(np.stack([start + upper * way, start + lower * way]), np.array([upper, lower]), upper, lower)


def make_end_path(ground: Ground, plank: Plank, end: str, inward_mm: float) -> Path | None:
    """The Path that follows an end of the plank, 'fore' or 'aft', inward_mm from it, or None as of make_path."""
    curve = plank.edges[end].curve
    u = curve.find_places(np.linspace(0, curve.measure_length_mm(), 129))
    points, ways = curve.evaluate(u), np.array([curve.find_direction(v) for v in u])
    normals = np.stack([-ways[:, 1], ways[:, 0]], axis=1)
    inward = -ground.forward if end == "fore" else ground.forward
    points = points + inward_mm * normals * np.sign(normals @ inward)[:, None]
    # extended past both long edges, then cut back to them
    head, tail = -ways[0], ways[-1]
    points = np.vstack([points[0] + head / np.hypot(*head) * 100, points, points[-1] + tail / np.hypot(*tail) * 100])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ends = []
    for name in ("upper", "lower"):
        hits = []
        for k, (a, b) in enumerate(zip(points[:-1], points[1:])):
            size = np.hypot(*(b - a))
            at = _pass_edge(ground.long_edges[name], a, (b - a) / size, size / 2)
            if at is not None and -_SAFE_MM <= at <= size + _SAFE_MM:
                hits.append(along[k] + at)
        if not hits:
            return None
        ends.append(float(min(hits, key=lambda v: abs(v - (100.0 if name == "upper" else along[-1] - 100.0)))))
    return Path(points, along, *ends) if ends[1] - ends[0] > _STEP_MM else None


def measure_clearance_mm(ground: Ground, points: Points) -> dict[str, Values]:
    """Edge name to distances (n,) of points from it."""
    return {name: measure_distance_mm(points, polyline) for name, polyline in ground.edges.items()}


def measure_aft_mm(ground: Ground, line: Points, points: Points) -> Values:
    """How far points (n, 2) lie aft of a line across the plank, (n,)."""
    return -(np.asarray(points, float) - line[0]) @ find_normal(ground, line)


def _judge(ground, path, along_mm, needs_mm, zones):
    """Room to spare at places along a path, (n,); negative where no fastening is allowed."""
    points = path.find(along_mm)
    spare = np.full(len(points), 1e6)
    for name, need in needs_mm.items():
        spare = np.minimum(spare, measure_distance_mm(points, ground.edges[name]) - need)
    for zone in zones:
        aft = measure_aft_mm(ground, zone.line, points)
        spare = np.minimum(spare, np.maximum(zone.from_mm - aft, aft - zone.to_mm))
    near = spare >= -_SAFE_MM
    spare[near] = np.where(contains_points(ground.outline, points[near]), spare[near], -1.0)
    return spare


def find_clear_spans(ground: Ground, path: Path, *, needs_mm: Mapping[str, float],
                     zones: Sequence[Zone] = ()) -> list[tuple[float, ...]]:
    """Parts of a path where fastenings are allowed.

    Parameters
    ----------
    needs_mm : dict
        Edge name to the distance to keep from it.
    zones : sequence of Zone

    Returns
    -------
    list of (from_mm, to_mm)
        Along the path; a fastening may also be at either end of each part.
    """
    count = max(int(np.ceil((path.lower_mm - path.upper_mm) / _STEP_MM)), 2)
    along = np.linspace(path.upper_mm, path.lower_mm, count + 1)
    clear = _judge(ground, path, along_mm=along, needs_mm=needs_mm, zones=zones) >= -_SAFE_MM
    edges = np.flatnonzero(np.diff(np.concatenate([[0], clear.astype(int), [0]])))
    spans = []
    for first, last in zip(edges[::2], edges[1::2] - 1):
        ends = []
        for inside, outside in ((first, first - 1), (last, last + 1)):
            a, b = along[inside], along[min(max(outside, 0), count)]
            for _ in range(_ROUNDS):
                tries = np.linspace(a, b, _PARTS + 1)
                good = _judge(ground, path, along_mm=tries, needs_mm=needs_mm, zones=zones) >= -_SAFE_MM
                k = int(np.argmin(good)) if not good.all() else _PARTS + 1
                a, b = tries[max(k - 1, 0)], tries[min(k, _PARTS)]
            ends.append(float(a))
        spans.append(tuple(ends))
    return spans


def find_row(ground: Ground, paths: Sequence[Path | None], *, needs_mm: Mapping[str, float],
             zones: Sequence[Zone] = ()) -> Row | None:
    """The Row of several paths, or None where they share no room."""
    there = [path for path in paths if path is not None]
    if len(there) < len(paths):
        return None
    low, high, known = -np.inf, np.inf, {}
    for path in there:
        if id(path) not in known:
            spans = find_clear_spans(ground, path, needs_mm=needs_mm, zones=zones)
            known[id(path)] = max(spans, key=lambda s: s[1] - s[0]) if spans else None
        span = known[id(path)]
        if span is None:
            return None
        low, high = max(low, span[0] - path.middle_mm), min(high, span[1] - path.middle_mm)
    return Row(tuple(there), float(low), float(high)) if high >= low else None


def spread(row: Row, before: Values, *, turn: bool, stagger_mm: float, grain_mm: float,
           accept: Callable[..., Any]) -> tuple[Values | None, float]:
    """Offsets of a row's fastenings from the run, alternating from one frame to the next.

    Of two neighbouring rows one begins right at the edge distance from the upper edge, the other at that from the
    lower. Where the plank tapers so fast that two fastenings would still be in one grain line, the row is shifted and
    narrowed by as little as is needed.

    Parameters
    ----------
    before : ndarray, shape (m,), mm
        Offsets of the row at the frame before, or empty.
    turn : bool
        Which of the two: alternates from frame to frame.
    stagger_mm : float
        Wanted between a row and the next.
    grain_mm : float
        Two offsets nearer than this lie in one grain line.
    accept : callable
        Given rows of places (r, n, 2), which of them clash neither within themselves nor with fastenings that are
        final: bool (r,).

    Returns
    -------
    offsets : ndarray, shape (n,), mm, or None where so many have no room
    apart_mm : float
        Least distance to any offset of the row before; inf without one.
    """
    count, room = len(row.paths), row.high_mm - row.low_mm
    if count == 1:
        # a single fastening is off the middle by a sixth of the room, so that the plank is held above and below its run
        # alternately
        middle, off = row.low_mm + room / 2, min(room / 2, max(stagger_mm / 2, room / 6))
        tries = middle + np.linspace(-room / 2, room / 2, 41)
        rows, wish = tries[:, None], np.abs(tries - (middle + (off if turn else -off)))
    else:
        slack = min(stagger_mm, room / (2 * count - 1))
        if slack < grain_mm:
            return None, 0.0
        first, last = np.meshgrid(*[np.linspace(0, 2 * slack, 17)] * 2)
        first, last = first.ravel(), last.ravel()
        keep = (room - first - last) / (count - 1) >= 2 * grain_mm - 1e-9
        first, last = first[keep], last[keep]
        rows = row.low_mm + first[:, None] + (room - first - last)[:, None] * np.linspace(0, 1, count)
        wish = np.abs(first - (slack if turn else 0)) + np.abs(last - (0 if turn else slack))
    clear = accept(np.stack([path.find(path.middle_mm + rows[:, k]) for k, path in enumerate(row.paths)],
                            axis=1)) if len(rows) else np.zeros(0, bool)
    rows, wish = rows[clear], wish[clear]
    if not len(rows):
        return None, 0.0
    apart = np.abs(rows[:, :, None] - np.asarray(before, float)).reshape(len(rows), -1).min(axis=1) if len(
        before) else np.full(len(rows), np.inf)
    good = apart >= grain_mm
    best = int(np.argmin(np.where(good, wish, np.inf)) if good.any() else np.argmax(apart))
    return rows[best], float(apart[best])


def order_across_frame(count: int) -> list[int]:
    """Which of `count` lines along a frame each fastening takes, from 0: each its own, neighbours as far apart as
    possible."""
    if count % 2:
        return [2 * k % count for k in range(count)]
    return [2 * (k + 1) % (count + 1) - 1 for k in range(count)]
