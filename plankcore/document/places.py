"""Where many elements lie, read at once: for boxes, for room between words, and for guards, the numbers by which an
overlay's layer is known. Lettering is most of a drawing, and is never read stroke by stroke.
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
    from .drawing import Drawing
    from .names import Element
    from .transforms import PageScale

__all__ = ["measure_box", "measure_boxes", "measure_layer_guard", "measure_lettered_guard", "read_points"]


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


_ARM_MM = 100.0  # a second point this far along a word's line is measured too, so that a turn of the word shows
_NUMBERS = 6              # how many numbers a guard holds for the shapes


def measure_layer_guard(layer: Element, drawing: Drawing, group: Element) -> list[float]:
    """Numbers that change when anything in the layer is moved against its plank, turned, stretched or taken away, and
    that a rigid move of the whole leaves alone: first those of its shapes, then those of its words.

    For words the place and angle that are stored beside them are used, not their strokes: later actions letter them
    again from those. Rings and words of doubts are left out, since people may move them: the layer's facts hold what
    they say.
    """
    corner = drawing.read_plank(group).find_corners()
    mine = [e for e in layer if names.get(e, "role") and e.attrib.get("d") and names.get(e, "look") != "finding"]
    words = [e for e in mine if names.get(e, "text")]
    shapes = _measure_shapes([e for e in mine if not names.get(e, "text")], corner, drawing.page)
    return shapes + _measure_words(layer, words, corner, drawing.page)


def _measure_words(layer, elements, corner, page):
    """How many words there are, and sums over where they begin and which way they run."""
    if not elements:
        return [0.0]
    beside, places = find_total_map(layer, page), []
    for element in elements:
        at = np.array([float(v) for v in names.get(element, "lettered-at-mm").split()])
        turn = np.radians(float(names.get(element, "lettered-turn-deg")))
        total = find_total_map(element, page) if element.attrib.get("transform") else beside
        places.append(transforms.apply(total, np.stack([at, at + _ARM_MM * np.array([np.cos(turn), np.sin(turn)])])))
    away = [float(np.sum(np.hypot(*(some - corner[name]).T))) for some in np.stack(places, axis=1)
            for name in ("upper fore", "lower aft")]
    return [float(len(elements)), *away]


def measure_lettered_guard(layer: Element, drawing: Drawing, group: Element) -> list[float]:
    """The guard as it was before 2026-11-29: of all that is drawn, words and doubts too."""
    return _measure_shapes([e for e in layer if names.get(e, "role") and e.attrib.get("d")],
                           drawing.read_plank(group).find_corners(), drawing.page)


def _measure_shapes(elements, corner, page):
    """For the middle and the first point of all elements: sums of their distances from two corners of the plank; and
    the length of all. Each element counts alike; a straight stroke counts the same however it is cut. Without elements
    as many zeros: how many numbers a guard has tells its version."""
    if not elements:
        return [0.0] * _NUMBERS
    points, begins, owner = read_points(elements, page)
    if not len(points):
        return [0.0] * _NUMBERS
    steps, middles = np.diff(points, axis=0), (points[1:] + points[:-1]) / 2
    within = np.ones(len(points) - 1, bool)
    within[begins[begins > 0] - 1] = False                     # the jump from one run to the next is not drawn
    long = np.hypot(*steps.T) * within
    count = len(elements)
    total = np.bincount(owner[1:], long, count)
    first = points[np.minimum(np.searchsorted(owner, np.arange(count)), len(points) - 1)]
    weighed = np.stack([np.bincount(owner[1:], long * middles[:, k], count) for k in (0, 1)], axis=1)
    middle = np.where(total[:, None] > 0, weighed / np.maximum(total, 1e-12)[:, None], first)
    away = [float(np.sum(np.hypot(*(places - corner[name]).T))) for places in (middle, first)
            for name in ("upper fore", "lower aft")]
    return [float(count), *away, float(np.sum(long))]
