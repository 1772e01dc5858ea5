"""Marks from single tags, and from divider arcs struck from one point, with their covariances."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.polyline import measure_distance_mm, resample_polyline
from ..geometry.shape_fits import fit_bow, fit_circle, fit_held_circle
from ..geometry.small_shapes import Rectangle, cross_lines, find_middle_line, find_rectangle, fit_sides, split_slender
from . import words

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Point, Points
    from .shapes import TracedShape

__all__ = ["LINE_EDGES", "SQUARE", "NoArc", "Reading", "combine_arcs", "find_middle", "read_arc", "read_tag"]

LINE_EDGES = ("inboard", "centre", "outboard")
# a tag wider than this share of its length is nearly square: instead of a short side the one facing outboard is used
SQUARE = 0.87
PARALLEL_DEG = 3.0        # a tag is bent if its long sides are farther from parallel than this
# or if a long side deviates from straight by more: the larger of mm and share of length
STRAIGHT_MM, STRAIGHT_SHARE = 0.8, 0.015
END_MM, END_SHARE = 0.5, 0.03  # a tag is torn if its end deviates from straight by more: mm, share of width
# or if a corner is missing by more than this share of its width; a corner rounded with radius r is missing by 0.41 r
CORNER_SHARE = 0.15
ASKEW_DEG = 8.0           # if an end is farther out of square than this, only a corner may have touched the line
# an arc's curvature must be this many times its standard error, else its centre could be on either side
SIDE_LIMIT = 4.0
OPENING_LIMIT = 4.0       # the dividers were moved if the radius differs by more than this many standard errors
OPENING_SHARE = 0.03      # and by more than this share
OPENING_FAR = (0.6, 1.6)  # outside these shares of the dividers' radius it is not one of their arcs
# arcs of one point whose centres disagree by more than these, in squared standard errors: their error is enlarged; the
# mark is doubtful
AT_ODDS, DISAGREE = 3.0, 9.0
APART_MM = 1.0            # which also needs a distance over this


@dataclass(frozen=True, eq=False, repr=False)
class Reading:
    """A place (2,) mm with covariance (2, 2) mm2, unit direction outboard (2,), and notes; doubtful : whether one of
    the notes is a doubt."""

    point: Point
    covariance: Points
    outboard: Point
    kind: str
    notes: tuple[str, ...] = ()
    doubtful: bool = False
    edge: str = ""
    station: str = ""
    error_mm: float = 0.0
    shapes: tuple[str, ...] = field(default=())
    told: str = ""


def read_tag(shape: TracedShape, outboard: Point, *, line_edge: str) -> Reading | None:
    """The middle of a tag's outboard short side.

    Parameters
    ----------
    shape : TracedShape
        Filled, or drawn by its border.
    outboard : (2,)
        Roughly outboard, on the page.
    line_edge : str
        One of LINE_EDGES: which side of a drawn border is meant.

    Returns
    -------
    Reading or None
        None where its sides cannot be identified.
    """
    loops = [(shape.outer, shape.box)]
    if shape.is_ring:
        both = loops + [(shape.holes[0], find_rectangle(shape.holes[0]))]
        loops = {"inboard": both[1:], "centre": both, "outboard": both[:1]}[line_edge]
    found = [_read_tag_loop(loop, box, np.asarray(outboard, float)) for loop, box in loops]
    if any(f is None for f in found):
        return None
    point = np.mean([f[0] for f in found], axis=0)
    # errors of a tag's two borders are correlated: their covariances are averaged, not divided by two
    covariance = np.mean([f[1] for f in found], axis=0)
    way = np.mean([f[2] for f in found], axis=0)
    notes = tuple(dict.fromkeys(n for f in found for n in f[3]))
    return Reading(point, covariance, outboard=way / np.hypot(*way), kind="tag", notes=notes, doubtful=bool(notes),
                   edge=shape.edge, station=shape.station,
                   error_mm=shape.error_mm, shapes=(shape.label,), told=shape.told)


def _read_tag_loop(points, box, outboard):
    if box.width > SQUARE * box.length and abs(outboard @ box.across) > abs(outboard @ box.along):
        box = Rectangle(box.centre, box.across, box.width, box.length)
    sides = fit_sides(points, box)
    end = sides.get("ahead" if outboard @ box.along > 0 else "behind")
    if end is None or "left" not in sides or "right" not in sides:
        return None
    corners = [c for c in (cross_lines(end, sides[name]) for name in ("left", "right")) if c is not None]
    if len(corners) < 2:
        return None
    point = (corners[0] + corners[1]) / 2
    normal = end.normal if end.normal @ outboard > 0 else -end.normal
    square = end.measure_error((point - end.point) @ end.direction) ** 2
    sideways = sum(sides[n].measure_error((c - sides[n].point) @ sides[n].direction) ** 2
                   for n, c in zip(("left", "right"), corners)) / 4
    covariance = square * np.outer(normal, normal) + sideways * np.outer(end.direction, end.direction)
    return point, covariance, normal, _check_tag(points, box, end=end, sides=sides, corners=corners)


def _check_tag(points, box, end, sides, corners):
    """Notes on what is wrong with a tag."""
    notes = []
    ways = [s.direction if s.direction @ box.along > 0 else -s.direction for s in (sides["left"], sides["right"])]
    out = abs(np.degrees(np.arcsin(np.clip(ways[0][0] * ways[1][1] - ways[0][1] * ways[1][0], -1, 1))))
    # points trimmed from a long side are a missing corner, not a bend
    worst = max(float(np.abs(s.residuals[s.used]).max()) for s in (sides["left"], sides["right"]))
    if out > PARALLEL_DEG:
        notes.append(words.note_out_of_parallel(out))
    elif worst > max(STRAIGHT_MM, STRAIGHT_SHARE * box.length):
        notes.append(words.note_bent(worst))
    if end.worst > max(END_MM, END_SHARE * box.width):
        notes.append(words.note_torn(end.worst))
    else:
        missing = float(measure_distance_mm(np.stack(corners), np.vstack([points, points[:1]])).max())
        if missing > max(2 * END_MM, CORNER_SHARE * box.width):
            notes.append(words.note_missing_corner(missing))
    run = ways[0] + ways[1]
    askew = abs(np.degrees(np.arcsin(np.clip(abs(run @ end.direction) / np.hypot(*run), -1, 1))))
    if askew > ASKEW_DEG and not notes:
        notes.append(words.note_askew(askew))
    return tuple(notes)


def find_middle(shape: Any) -> Any:
    """Points along the middle of a slender shape, (n, 2) mm in order, its ends left out; ValueError if it is too short
    for its thickness.
    """
    if not shape.closed:
        return resample_polyline(shape.outer, step_mm=min(shape.step_mm, shape.length_mm / 12))
    first, second = split_slender(shape.outer, thickness_mm=shape.thickness_mm, step_mm=shape.step_mm)
    return find_middle_line(first, second)


@dataclass(frozen=True)
class NoArc:
    """Why a shape is not an arc of the dividers: key and numbers of a reason in words.py."""

    key: str
    numbers: tuple[float, ...] = ()

    @property
    def words(self) -> str:
        """The reason as a sentence."""
        return words.tell_unread(self.key, *self.numbers)

    @property
    def is_short(self) -> bool:
        """Whether the only reason is that it is too short for its thickness."""
        return self.key == "thick-arc"


def read_arc(shape: Any, *, radius_mm: float) -> Reading | NoArc:
    """The point a divider arc was struck from: the centre of the circle of known radius nearest to the arc's middle
    line.

    Returns
    -------
    Reading or NoArc
        The direction outboard is from arc to centre.
    """
    turn = np.degrees(shape.length_mm / radius_mm)
    if turn > 180:
        return NoArc("long-arc", (turn, radius_mm))
    try:
        points = find_middle(shape)
        bow = fit_bow(points)
    except ValueError:
        return NoArc("thick-arc")
    chord = float(np.hypot(*(points[-1] - points[0])))
    if not abs(bow.curvature) > SIDE_LIMIT * bow.error:
        return NoArc("flat-arc", (chord, abs(bow.curvature) * chord ** 2 / 8, bow.error * chord ** 2 / 8))
    side = np.sign(bow.curvature)
    try:
        fit = fit_held_circle(points, radius=radius_mm, start=bow.point + side * radius_mm * bow.normal)
    except ValueError:
        return NoArc("no-centre")
    seen, error = _measure_radius(points, fit, bow)
    if not OPENING_FAR[0] < seen / radius_mm < OPENING_FAR[1] and abs(
            1 / seen - 1 / radius_mm) > OPENING_LIMIT * error / seen ** 2:
        return NoArc("other-radius", (seen, radius_mm))
    notes: tuple[str, ...] = ()
    if abs(seen - radius_mm) > max(OPENING_LIMIT * error, OPENING_SHARE * radius_mm):
        notes = (words.note_opening(seen, error, radius_mm),)
    middle = bow.point
    way = fit.centre - middle
    return Reading(fit.centre, fit.covariance, outboard=way / np.hypot(*way), kind="arc", notes=notes,
                   doubtful=bool(notes), edge=shape.edge,
                   station=shape.station, error_mm=shape.error_mm, shapes=(shape.label,), told=shape.told)


def _measure_radius(points, fit, bow):
    """The arc's own radius and its standard error: from a circle with free radius, or for a short arc from its bend."""
    try:
        free = fit_circle(points, start=(*fit.centre, fit.radius))
        error = float(np.sqrt(free.covariance[2, 2]))
        if free.radius > 0 and error < 0.25 * free.radius:
            return free.radius, error
    except (ValueError, np.linalg.LinAlgError):
        pass
    return 1 / abs(bow.curvature), bow.error / bow.curvature ** 2


def combine_arcs(readings: Sequence[Reading], *, same_point_mm: float) -> list[Reading]:
    """Arcs whose centres lie within same_point_mm of each other, combined to one mark by weighted mean.

    Returns
    -------
    list of Reading
        The covariance is the inverse of the summed weights, enlarged where the arcs disagree by more than that.
    """
    left, out = list(readings), []
    while left:
        first = left.pop(0)
        near = [r for r in left if np.hypot(*(r.point - first.point)) <= same_point_mm]
        left = [r for r in left if not any(r is n for n in near)]
        out.append(_combine([first] + near) if near else first)
    return out


def _combine(group):
    weights = [np.linalg.inv(r.covariance + 1e-8 * np.eye(2)) for r in group]
    covariance = np.linalg.inv(sum(weights))
    point = covariance @ sum(w @ r.point for w, r in zip(weights, group))
    excess = sum((r.point - point) @ w @ (r.point - point) for w, r in zip(weights, group)) / (2 * len(group) - 2)
    notes = tuple(n for r in group for n in r.notes)
    apart = max(float(np.hypot(*(r.point - point))) for r in group)
    if excess > DISAGREE and apart > APART_MM:
        covariance = covariance + apart ** 2 / 2 * np.eye(2)
        notes += (words.note_apart(len(group), apart),)
    way = sum(r.outboard for r in group)
    return Reading(point, covariance * (excess if excess > AT_ODDS else 1.0),
                   outboard=way / max(np.hypot(*way), 1e-9), kind="arc",
                   notes=notes, doubtful=bool(notes),
                   edge=next((r.edge for r in group if r.edge), ""),
                   station=next((r.station for r in group if r.station), ""),
                   error_mm=max(r.error_mm for r in group), shapes=tuple(s for r in group for s in r.shapes),
                   told=next((r.told for r in group if r.told), ""))
