"""Where many elements lie, read at once: for guards, for boxes, and for room between words. Lettering is most of a
drawing, and is never read stroke by stroke.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from . import names, transforms
from .pathdata import read_places
from .read import find_total_map

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Array, Indices, Points
    from .names import Element
    from .scale import PageScale

__all__ = ["measure_box", "measure_boxes", "read_points"]


def read_points(elements: Sequence[Element], page: PageScale) -> tuple[Points, Indices, Indices]:
    """Ends and control points of paths.

    Parameters
    ----------
    elements : sequence of path elements
    page : PageScale

    Returns
    -------
    points : ndarray, shape (n, 2), mm on the page
    begins : ndarray of int, shape (m,)
        Where each run begins.
    owner : ndarray of int, shape (n,)
        The number of the element that each point belongs to.

    Raises
    ------
    PatternError
        If one cannot be read.
    """
    beside: dict[Any, list[int]] = {}
    found: list[Any] = []
    for k, element in enumerate(elements):
        # those that lie in one layer and have no transform of their own share a map, and are read as one path
        key = k if element.attrib.get("transform") else element.getparent()
        beside.setdefault(key, []).append(k)
    for some in beside.values():
        found += _read_beside([elements[k] for k in some], some, page)
    if len(beside) > 1:
        found = sorted((one for some in found for one in _split(*some)), key=lambda one: one[2][0])
    if not found:
        return np.zeros((0, 2)), np.zeros(0, int), np.zeros(0, int)
    starts = np.cumsum([0] + [len(points) for points, _, _ in found[:-1]])
    return (np.concatenate([points for points, _, _ in found]),
            np.concatenate([begins + start for (_, begins, _), start in zip(found, starts)]),
            np.concatenate([owner for _, _, owner in found]))


def _read_beside(elements, numbers, page):
    """(points, begins, owner) of elements that have one map to the page."""
    texts = [e.attrib.get("d") for e in elements]
    total = find_total_map(elements[0], page)
    if len(elements) > 1 and all(texts):
        count = [text.count("M") for text in texts]
        try:
            points, begins = read_places(" ".join(texts), where="")
        except PatternError:                                  # one of them was not written by us: read each by itself
            points, begins = np.zeros((0, 2)), np.zeros(0, int)
        if len(begins) == sum(count) and min(count) > 0:
            owner = np.repeat(np.repeat(numbers, count), np.diff(np.append(begins, len(points))))
            return [(transforms.apply(total, points), begins, owner)]
    found = []
    for number, element, text in zip(numbers, elements, texts):
        points, begins = read_places(text, where=names.get(element, "role"))
        found.append((transforms.apply(total, points), begins, np.full(len(points), number)))
    return found


def _split(points, begins, owner):
    """(points, begins, owner) of each element, one after another; an element that draws nothing is skipped."""
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    for a, b in zip(first.tolist(), [*first[1:].tolist(), len(owner)]):
        yield points[a:b], begins[np.searchsorted(begins, a):np.searchsorted(begins, b)] - a, owner[a:b]


def measure_boxes(elements: Sequence[Element], page: PageScale) -> Array:
    """Least and greatest x and y of each of several paths, (n, 2, 2) mm; NaN for one that draws nothing or cannot be
    read."""
    boxes = np.full((len(elements), 2, 2), np.nan)
    try:
        points, _, owner = read_points(elements, page)
    except PatternError:                                      # one of them cannot be read: measure each by itself
        for k, element in enumerate(elements):
            boxes[k] = _measure_alone(element, page)
        return boxes
    if len(points):
        first = np.flatnonzero(np.diff(owner, prepend=-1))
        boxes[owner[first], 0] = np.minimum.reduceat(points, first)
        boxes[owner[first], 1] = np.maximum.reduceat(points, first)
    return boxes


def _measure_alone(element, page):
    try:
        points, _, _ = read_points([element], page)
    except PatternError:
        return np.full((2, 2), np.nan)
    return np.stack([points.min(axis=0), points.max(axis=0)]) if len(points) else np.full((2, 2), np.nan)


def measure_box(elements: Sequence[Element], page: PageScale) -> Points | None:
    """Least and greatest x and y of all of several paths, (2, 2) mm; None where none can be read."""
    boxes = measure_boxes(elements, page)
    boxes = boxes[~np.isnan(boxes).any(axis=(1, 2))]
    return np.stack([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)]) if len(boxes) else None
