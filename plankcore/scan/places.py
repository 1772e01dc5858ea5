"""Where marks belong: the edge that each shape lies on, the outboard direction there, and its frame."""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SelectionError
from ..geometry.arrays import list_distinct
from ..model.plank import EDGE_NAMES, Finding
from . import words
from .edges import UPRIGHT, refuse_labels, settle_axis, sort_marks

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Point, Points
    from .kinds import Reading

__all__ = ["ShapePlace", "SortedShapes", "find_numbers", "lay_out", "number_marks"]

END_DEG = 45.0            # a shape is at an end if it points along the plank within this angle
END_SHARE = 0.15          # and lies within this share of the length from the outermost shape
LONG = 1.5                # marks must extend this many times as far along the plank as across it
APART = 3.0               # the two rows must be apart by this many times their scatter
PAIR_MM = 40.0            # marks of two edges this near along the plank belong to one frame
_SAY = "Say which edge these marks are on (Edge), or label them 'upper', 'lower', 'fore' or 'aft'."
_FRAME = re.compile(r"^(?:frame|fr\.?|no\.?|#)?\s*([A-Za-z]{0,3}[ -]?\d{1,4}[A-Za-z]?)$", re.IGNORECASE)


@dataclass(frozen=True, eq=False, repr=False)
class ShapePlace:
    """What is known of a shape before its edge is: points (n, 2); the direction of its long side (2,) or None;
    outboard, if known; the edge in its label; how the user can find it."""

    points: Points
    pointing: Point | None = None
    outboard: Any = None
    edge: str = ""
    name: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class SortedShapes:
    """The edge of each shape ('' where none fits), the outboard direction of each edge, and the direction along the
    plank towards the right of the page."""

    edges: tuple[str, ...]
    outboard: Mapping[str, Point]
    axis: Point


def lay_out(places: Sequence[ShapePlace], *, edge: str, forward: str) -> SortedShapes:
    """Sort shapes to the edges of a plank.

    A shape that points along the plank, near its end, is at the fore or aft end; all others are sorted to the upper and
    lower edge by their arrangement. Divider arcs show by themselves on which side their centre is. A shape's own label
    takes precedence over everything.

    Parameters
    ----------
    places : list of ShapePlace
    edge : str
        'auto', or the edge all of them are on.
    forward : {'right', 'left'}

    Raises
    ------
    SelectionError
        Where the edges cannot be told from the arrangement.
    """
    told = [p.edge if p.edge in EDGE_NAMES else edge if edge in EDGE_NAMES else "" for p in places]
    axis = _find_axis(places, told, forward)
    up = np.array([axis[1], -axis[0]])
    bow = axis if forward == "right" else -axis
    outboard = {"upper": up, "lower": -up, "fore": bow, "aft": -bow}
    everything = np.concatenate([p.points for p in places]) @ axis
    low, high = everything.min(), everything.max()
    edges = list(told)
    for k, place in enumerate(places):
        if edges[k] or place.pointing is None or abs(place.pointing @ axis) < np.cos(np.radians(END_DEG)):
            continue
        at = float(np.mean(place.points @ axis))
        way = place.outboard @ axis if place.outboard is not None else 0.0
        near_high, near_low = at > high - END_SHARE * (high - low), at < low + END_SHARE * (high - low)
        if not (near_high or near_low) or way and (way > 0) != near_high:
            edges[k] = "none"
            continue
        edges[k] = "fore" if near_high == (forward == "right") else "aft"
    for k, place in enumerate(places):
        if not edges[k] and place.outboard is not None:
            edges[k] = "upper" if place.outboard @ up > 0 else "lower"
    if not all(edges):
        _sort_sides(places, edges, axis)
    # not checked: an edge chosen in the dialog for all of them, which is not a label on the page
    # nor upright rows without a labelled end, where no row is above the other, so that there is nothing to compare
    # labels with
    middles = np.stack([p.points.mean(axis=0) for p in places])
    if any(p.edge in EDGE_NAMES for p in places) and np.ptp(middles @ axis) > UPRIGHT * np.ptp(middles @ up):
        refuse_labels(middles, edges, [p.name or "a mark" for p in places], axis=axis, forward=forward)
    return SortedShapes(tuple("" if e == "none" else e for e in edges), outboard, axis)


def _find_axis(places, told, forward):
    """Unit direction along the plank, to the right of the page."""
    ends = [p for p, e in zip(places, told) if e in ("fore", "aft")]
    sides = [p for p, e in zip(places, told) if e not in ("fore", "aft")]
    only_end = bool(ends) and not sides and len({e for e in told}) == 1
    points = np.concatenate([p.points for p in places])
    values, ways = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[1:]
    if len(points) < 2 or values[0] < 1e-6:
        if not all(told):
            raise SelectionError("One mark alone does not tell which edge it is on.", _SAY,
                                 tuple(map(float, points[0])))
        return np.array([1.0, 0.0])
    axis = np.array([-ways[0][1], ways[0][0]]) if only_end else ways[0]
    if not only_end and len(values) > 1 and values[0] < LONG * values[1]:
        if not all(told):
            raise SelectionError("The marks do not lie along a plank: they reach about as far one way as the other.",
                                 _SAY,
                                 tuple(map(float, points.mean(axis=0))))
        axis = np.array([1.0, 0.0])
    if abs(axis[0]) < UPRIGHT:
        if only_end or not all(told):
            raise SelectionError(
                "The plank stands upright on the page, so left and right, upper and lower are not clear.",
                                 "Turn it to lie along the page, upper edge towards the top; or, if these marks are "
                                 "of one end alone, say which (Edge).")
        if ends and sides:
            return settle_axis(axis, np.stack([p.points.mean(axis=0) for p in places]), told, forward=forward)
        axis = np.array([1.0, 0.0])
    return axis if axis[0] > 0 else -axis


def _sort_sides(places, edges, axis):
    """Set upper or lower, in place, for every shape that has no edge yet."""
    mine = [k for k, e in enumerate(edges) if e in ("", "upper", "lower")]
    points = np.concatenate([places[k].points for k in mine])
    owner = np.concatenate([np.full(len(places[k].points), k) for k in mine])
    told = [edges[k] for k in owner]
    where = tuple(map(float, points.mean(axis=0)))
    if list_distinct(np.round(points @ axis, -1)).size >= 5:
        upper = sort_marks(points, told)[0]
        degree = 3
    else:
        up = np.array([axis[1], -axis[0]])
        upper = (points - points.mean(axis=0)) @ up > 0
        degree = 1
    x, y = (points - points.mean(axis=0)) @ axis, (points - points.mean(axis=0)) @ np.array([axis[1], -axis[0]])
    x = x / max(np.abs(x).max(), 1e-9)
    side = np.where(upper, 1.0, -1.0)
    design = np.column_stack([np.vander(x, degree + 1), side])
    found = np.linalg.lstsq(design, y, rcond=None)[0]
    spare = len(y) - design.shape[1]
    scatter = np.sqrt(np.sum((y - design @ found) ** 2) / spare) if spare > 0 else np.inf
    if not any(told) and not abs(found[-1]) > APART * scatter:
        raise SelectionError("The marks do not fall into two rows, an upper and a lower.", _SAY, where)
    for k in mine:
        if not edges[k]:
            edges[k] = "upper" if np.mean(upper[owner == k]) > 0.5 else "lower"


def find_numbers(numbers: Sequence[tuple[str, Sequence[float]]], axis: Point, *,
                 reach_mm: float) -> tuple[list[tuple[str, float]], list[Any]]:
    """Texts that are frame numbers, with their place along the plank.

    Parameters
    ----------
    numbers : sequence of (text, (x, y))
    axis : (2,)
    reach_mm : float
        The same number written twice within this distance along the plank is one frame.

    Returns
    -------
    list of (label, along_mm)
    list of Finding
        Numbers that are written at two frames; they are used for neither.
    """
    seen = {}
    for text, at in numbers:
        match = _FRAME.match(" ".join(str(text).split()))
        if match:
            seen.setdefault(match.group(1), []).append(np.asarray(at, float))
    found, findings = [], []
    for label, places in seen.items():
        along = np.array([p @ axis for p in places])
        if np.ptp(along) > reach_mm:
            findings.append(Finding(words.tell_number_twice(label, len(places), np.ptp(along)),
                                    tuple(map(float, places[int(np.argmax(along))])), "number-twice",
                                    number=float(np.ptp(along)), unit="mm", limit=reach_mm, station=label))
        else:
            found.append((label, float(along.mean())))
    return found, findings


def number_marks(readings: Sequence[Reading], edges: Sequence[str], axis: Point, *,
                 numbers: Sequence[tuple[str, float]], reach_mm: float, count: Any, from_end: str,
                 forward: str) -> list[str]:
    """Frame labels for readings that have none.

    Parameters
    ----------
    readings : list of Reading
    edges : list of str
    axis : (2,)
    numbers : list of (label, along_mm)
        From `find_numbers`; each goes to the nearest mark of each edge within reach_mm along the plank.
    count : callable or None
        count(n) gives n labels, the first at the end counted from; `numbers` are then ignored.
    from_end : {'fore', 'aft'}

    Returns
    -------
    list of str
    """
    labels = [r.station for r in readings]
    along = np.array([r.point @ axis for r in readings]) if readings else np.zeros(0)
    sides = [k for k, e in enumerate(edges) if e in ("upper", "lower")]
    if count is not None:
        groups = []
        for k in sorted(sides, key=lambda k: along[k]):
            if groups and along[k] - np.mean(along[groups[-1]]) < PAIR_MM and edges[k] not in [edges[j]
                                                                                               for j in groups[-1]]:
                groups[-1].append(k)
            else:
                groups.append([k])
        if (from_end == "fore") == (forward == "right"):
            groups = groups[::-1]
        for group, name in zip(groups, count(len(groups))):
            for k in group:
                labels[k] = labels[k] or name
        return labels
    for side in ("upper", "lower"):
        mine = [k for k in sides if edges[k] == side]
        for label, at in numbers:
            if any(labels[k] == label for k in mine):
                continue
            near = [k for k in mine if not labels[k] and abs(along[k] - at) <= reach_mm
                    and _is_nearest_number(along[k], label, numbers)]
            if near:
                labels[min(near, key=lambda k: abs(along[k] - at))] = label
    return labels


def _is_nearest_number(along, label, numbers):
    return label == min(numbers, key=lambda row: abs(row[1] - along))[0]
