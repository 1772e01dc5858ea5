"""What a fairing draws in addition to the plank: battens, and the report in a group of its own."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from . import names
from .places import measure_boxes
from .read import find_total_map
from .write import LayerWriter

if TYPE_CHECKING:
    from ..model.page import SheetBlock
    from ..model.plank import Batten
    from .names import Element
    from .scale import PageScale

__all__ = ["write_batten", "write_report"]

# distance from all that is drawn: a doubt's words at a hood end may reach this far past it
CLEAR_MM = 400.0
_APART_MM = 20.0          # distance between reports
_LIFT_MM, _LETTERS_MM = 3.0, 3.5


def write_batten(out: LayerWriter, batten: Batten) -> None:
    """A batten beside the fair edge, its nails, and at each frame how far it runs outside it."""
    out.add_curve(batten.curve.cubics, role="batten", style="held", edge=batten.edge, source=batten.source,
                  ei_nmm2="%.9g" % batten.stiffness_nmm2)
    for nail in batten.nails:
        out.add_circle(nail.point, 2.0, role="nail", style="held", edge=batten.edge, station=nail.station,
                       force_per_ei_m2="%.9g" % (1e6 * nail.jump_per_mm2),
                       **({} if nail.force_n is None else {"force_n": "%.9g" % nail.force_n}))
    for one in batten.apart:
        out.add_text("%+.1f" % (round(one.apart_mm, 1) + 0.0), height_mm=_LETTERS_MM, at_mm=(one.point[0] + _LIFT_MM,
                                                                           one.point[1] - _LIFT_MM),
                     role="apart", style="note", edge=batten.edge, station=one.station, apart_mm=one.apart_mm)


def write_report(layer: Element, report: SheetBlock, page: PageScale) -> Element:
    """The report's panels in a group of their own, to the left of all that is drawn, below reports that are there.

    report : SheetBlock, from (0, 0) to the right and down, mm.
    """
    shapes = [e for e in layer.getroottree().getroot().iter() if isinstance(e.tag, str) and e.attrib.get("d")]
    boxes = measure_boxes(shapes, page)
    inside = np.array([any(names.get(p, "role") == "report" for p in e.iterancestors()) for e in shapes])
    known = ~np.isnan(boxes).any(axis=(1, 2))
    others, reports = boxes[known & ~inside], boxes[known & inside]
    own = np.concatenate([line.cubics.reshape(-1, 2) for line in report.lines])
    left = float(others[:, 0, 0].min()) - CLEAR_MM - float(own[:, 0].max())
    if len(reports):
        left = min(left, float(reports[:, 0, 0].min()) - float(own[:, 0].min()))
    head = float(measure_boxes(names.find_roles(layer, "outline"), page)[0, 0, 1])
    top = max([head] + [float(box[1, 1]) + _APART_MM for box in reports]) - float(own[:, 1].min())
    group = etree.SubElement(layer, "{%s}g" % names.SVG, {"{%s}label" % names.INKSCAPE: "Report of the fairing",
                                                          **names.spell({"role": "report"})})
    out = LayerWriter(group, find_total_map(group, page))
    for line in report.lines:
        out.add_curve(line.cubics + (left, top), role="report", style=line.style, closed=line.closed,
                      **dict(line.values))
    for text in report.texts:
        out.add_text(text.text, height_mm=text.height_mm, at_mm=(text.at_mm[0] + left, text.at_mm[1] + top),
                     angle_deg=text.angle_deg, anchor=text.anchor, role="report", style=text.style)
    return group
