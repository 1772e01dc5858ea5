"""What is shown in and below an element, and how far it reaches, in mm on the page."""
from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.arrays import list_distinct
from ..geometry.bezier import evaluate_cubics
from . import names, transforms
from .read import find_total_map, is_hidden, read_trace

if TYPE_CHECKING:
    from typing import Collection, Iterator, Sequence

    from ..geometry.arrays import Points
    from ..model.plank import Trace
    from .names import Element
    from .transforms import PageScale

__all__ = ["HOLDERS", "LENGTH", "SHAPES", "find_picture_corners", "measure_reach", "read_label", "trace_points",
           "walk_shown"]

SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
HOLDERS = {"g", "a", "switch"}
LENGTH = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_WAYS = np.stack([np.cos(np.arange(16) * np.pi / 8), np.sin(np.arange(16) * np.pi / 8)])


def read_label(element: Element) -> str:
    """What the user has labelled an element, or ''."""
    return (element.attrib.get("{%s}label" % names.INKSCAPE) or "").strip()


def walk_shown(element: Element, *, kinds: Collection[str]) -> Iterator[Element]:
    """Visible elements of these kinds in and below one, without our own reports."""
    if not names.read_kind(element) or is_hidden(element) or names.get(element, "role") == "layer":
        return
    if names.read_kind(element) in kinds:
        yield element
    if names.read_kind(element) in HOLDERS:
        for child in element:
            yield from walk_shown(child, kinds=kinds)


def trace_points(trace: Trace) -> Points:
    """Points (n, 2) along all runs of a Trace, nine to a cubic."""
    return np.concatenate([evaluate_cubics(c, np.linspace(0, 1, 9)).reshape(-1, 2) for c, _ in trace.runs])


def _find_far(points):
    """Those of points (n, 2) that lie farthest out in each of sixteen directions."""
    return points[list_distinct(np.argmax(points @ _WAYS, axis=0))]


def _find_reach(shape, page):
    """Outermost points of a shape, (n, 2) mm; empty for an empty path."""
    try:
        return _find_far(np.concatenate([c.reshape(-1, 2) for c, _ in read_trace(shape, page).runs]))
    except PatternError:
        return np.zeros((0, 2))


def measure_reach(elements: Sequence[Element], page: PageScale, *, without: Sequence[Element] = (),
                  known: dict[Element, Points] | None = None) -> Points | None:
    """Outermost points of the shapes in elements, or of the pictures where there are no shapes; None without either.

    known : cache, {shape: its outermost points}, to which this adds.
    """
    found, known = [], {} if known is None else known
    for element in elements:
        for shape in walk_shown(element, kinds=SHAPES):
            if not any(shape is w for w in without):
                if shape not in known:
                    known[shape] = _find_reach(shape, page)
                if len(known[shape]):
                    found.append(known[shape])
    if not found:
        found = [find_picture_corners(i, page) for e in elements for i in walk_shown(e, kinds={"image"})]
    return _find_far(np.concatenate(found)) if found else None


def find_picture_corners(image: Element, page: PageScale) -> Points:
    """Corners (4, 2) of a picture, clockwise from its own top left."""
    sizes = [LENGTH.match(image.attrib.get(k) or "0") for k in ("x", "y", "width", "height")]
    x, y, width, height = (float(m.group(1)) if m else 0.0 for m in sizes)
    return transforms.apply(find_total_map(image, page),
                            np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)]))
