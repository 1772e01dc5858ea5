"""The numbers by which an overlay's layer is known: they change when anything in it is changed by hand, and stand
beside it, so that lettering is never read back.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import names, transforms
from .places import read_points
from .read import find_total_map

if TYPE_CHECKING:
    from .drawing import Drawing
    from .names import Element

__all__ = ["measure_layer_guard", "measure_lettered_guard"]

_ARM_MM = 100.0           # how far along its line a word's second point is taken, by which a turn of it is seen
_NUMBERS = 6              # that shapes are known by


def measure_layer_guard(layer: Element, drawing: Drawing, group: Element) -> list[float]:
    """Numbers that change when anything in the layer is moved against its plank, turned, stretched or taken away, and
    that a rigid move of the whole leaves alone: those of its shapes, then those of its words.

    Words are never read back from their strokes: they are known by the numbers written beside them, which is what later
    actions letter them anew from. Rings and words of doubts are for people, and may be moved: the layer's facts say
    what they say.
    """
    corner = drawing.read_plank(group).find_corners()
    mine = [e for e in layer if names.get(e, "role") and e.attrib.get("d") and names.get(e, "look") != "finding"]
    words = [e for e in mine if names.get(e, "text")]
    shapes = _measure_shapes([e for e in mine if not names.get(e, "text")], corner, drawing.page)
    return shapes + _measure_words(layer, words, corner, drawing.page)


def _measure_words(layer, elements, corner, page):
    """How many there are, and where they begin and which way they run, from the numbers beside them."""
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
    """The numbers of a layer made before 2026-11-29, by all that is drawn, words and doubts too."""
    return _measure_shapes([e for e in layer if names.get(e, "role") and e.attrib.get("d")],
                           drawing.read_plank(group).find_corners(), drawing.page)


def _measure_shapes(elements, corner, page):
    """Of each element the middle of its length and its first point, as sums of their distances from two corners of the
    plank, and the length of all. Each element counts alike; a straight stroke counts the same however it is cut.
    Without any there are as many numbers: an older guard is told by its count.
    """
    if not elements:
        return [0.0] * _NUMBERS
    points, begins, owner = read_points(elements, page)
    if not len(points):
        return [0.0] * _NUMBERS
    steps, middles = np.diff(points, axis=0), (points[1:] + points[:-1]) / 2
    within = np.ones(len(points) - 1, bool)
    within[begins[begins > 0] - 1] = False                     # from one run to the next nothing is drawn
    long = np.hypot(*steps.T) * within
    count = len(elements)
    total = np.bincount(owner[1:], long, count)
    first = points[np.minimum(np.searchsorted(owner, np.arange(count)), len(points) - 1)]
    weighed = np.stack([np.bincount(owner[1:], long * middles[:, k], count) for k in (0, 1)], axis=1)
    middle = np.where(total[:, None] > 0, weighed / np.maximum(total, 1e-12)[:, None], first)
    away = [float(np.sum(np.hypot(*(places - corner[name]).T))) for places in (middle, first)
            for name in ("upper fore", "lower aft")]
    return [float(count), *away, float(np.sum(long))]
