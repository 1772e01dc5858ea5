"""Layers, paths and lettering put into a drawing."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ..geometry.bezier import draw_circle
from ..geometry.lettering import letter_points
from . import names, transforms
from .overlay import style_for
from .path_text import write_cubics, write_polyline, write_polylines, write_strokes

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import ArrayLike, Cubics, Point, Points
    from ..model.drawing import SheetLine
    from .names import Element
    from .scale import PageScale

__all__ = ["LayerWriter", "count_in_mm", "make_layer"]

_PATH = "{%s}path" % names.SVG


def make_layer(parent: Element, *, label: str, layer: str, hidden: bool = False, locked: bool = False,
               before: Element | None = None) -> Element:
    """A new, empty layer in parent; `layer` is the name we find it by."""
    values = {"{%s}groupmode" % names.INKSCAPE: "layer", "{%s}label" % names.INKSCAPE: label,
              **names.spell({"role": "layer", "layer": layer})}
    if hidden:
        values["style"] = "display:none"
    if locked:
        values["{%s}insensitive" % names.SODIPODI] = "true"
    group = etree.SubElement(parent, "{%s}g" % names.SVG, values)
    if before is not None:
        before.addprevious(group)
    return group


def count_in_mm(group: Element, page: PageScale) -> None:
    """Give a group at the top of a drawing a transform under which its own coordinates are mm."""
    to_units = transforms.invert(page.user_to_mm)
    if np.abs(to_units - np.eye(2, 3)).max() > 1e-12:
        group.attrib["transform"] = transforms.format_matrix(to_units)


class LayerWriter:
    """Writes shapes given in mm on the page into one layer.

    Parameters
    ----------
    layer : lxml element
    total : ndarray, shape (2, 3)
        Map from the layer's own coordinates to mm on the page; what is written goes through its inverse.
    """

    def __init__(self, layer, total):
        self.layer = layer
        self._inverse = transforms.invert(total)

    def find_own(self, at_mm: Sequence[float]) -> tuple[Point, float]:
        """A place (x, y) mm on the page in the layer's own coordinates, (2,), and by how many degrees these are turned:
        attributes in these coordinates stay right when the layer is moved."""
        own = transforms.apply(self._inverse, np.array([at_mm], float))[0]
        return own, float(np.degrees(np.arctan2(self._inverse[1, 0], self._inverse[0, 0])))

    def add_curve(self, cubics: Cubics, *, role: str, style: str, closed: bool = False,
                  **values: float | str) -> Element:
        """A path of cubics (k, 4, 2); values become our attributes."""
        return self._add(write_cubics(transforms.apply(self._inverse, cubics), closed=closed), role, style, values)

    def add_lines(self, lines: Sequence[SheetLine]) -> None:
        """As add_curve, of many SheetLines that are one chain each, their values with them; spelt all at once."""
        texts = write_strokes([(transforms.apply(self._inverse, one.cubics), one.closed) for one in lines])
        for one, text in zip(lines, texts):
            self._add(text, one.role, one.style, dict(one.values))

    def add_polyline(self, points: Points, *, role: str, style: str, closed: bool = False,
                     **values: float | str) -> Element:
        """A path of straight strokes through points (n, 2)."""
        return self._add(write_polyline(transforms.apply(self._inverse, points), closed=closed), role, style, values)

    def add_polylines(self, runs: Sequence[Points], *, role: str, style: str, decimals: int = 7,
                      **values: float | str) -> Element:
        """One path of several open strokes."""
        counts = [len(run) for run in runs]
        return self._add_runs(np.concatenate(runs), np.cumsum(counts) - counts, decimals=decimals, role=role,
                              style=style, values=values)

    def add_circle(self, centre: Sequence[float], radius_mm: float, *, role: str, style: str,
                   **values: float | str) -> Element:
        """A full circle."""
        return self.add_curve(draw_circle(centre, radius_mm), role=role, style=style, closed=True, **values)

    def add_text(self, text: str, *, height_mm: float, at_mm: ArrayLike, angle_deg: float = 0.0, anchor: str = "start",
                 role: str = "note", style: str = "note", **values: float | str) -> Element:
        """Lettering in single strokes, which any pen or knife can draw; the words stay readable in plank:text."""
        points, begins = letter_points(text, height_mm=height_mm, at_mm=at_mm, angle_deg=angle_deg, anchor=anchor)
        if not len(points):
            return None
        return self._add_runs(points, begins, decimals=3, role=role, style=style, values={"text": text, **values})

    def _add_runs(self, points, begins, *, decimals, role, style, values):
        return self._add(write_polylines(transforms.apply(self._inverse, points), begins, decimals=decimals), role,
                         style, values)

    def _add(self, text, role, style, values):
        return etree.SubElement(self.layer, _PATH,
                                {"d": text, "style": style_for(style), **names.spell({"role": role, **values})})
