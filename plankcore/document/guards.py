"""Guards of overlays' layers: numbers stored with a layer, which show when anything in it was changed by hand, so that
lettering need never be read back."""
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
