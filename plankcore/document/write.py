"""Layers, paths and lettering put into a drawing, and what is drawn in it to be read: the report of a fairing with its
battens, and what a fit of scans left over.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ..actions import JOIN, TRUE_UP
from ..geometry.bezier import draw_circle
from ..geometry.lettering import letter_points
from ..model.drawing import Fact, list_words
from . import names, transforms
from .overlay import put_facts, read_facts, style_for
from .path_text import write_cubics, write_polyline, write_polylines, write_strokes
from .places import measure_boxes
from .read import find_total_map

if TYPE_CHECKING:
    from typing import Sequence

    from ..actions import Action
    from ..geometry.arrays import ArrayLike, Cubics, Point, Points
    from ..model.drawing import SheetLine
    from ..model.page import SheetBlock
    from ..model.plank import Batten, Finding
    from ..model.scan import Misfit
    from .drawing import Drawing
    from .names import Element
    from .transforms import PageScale

__all__ = [
    "LayerWriter",
    "count_in_mm",
    "make_layer",
    "read_scan_facts",
    "write_batten",
    "write_fit_report",
    "write_report",
]

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


_TIMES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


def write_fit_report(drawing: Drawing, *, action: Action, facts: Sequence[Fact], misfits: Sequence[Misfit],
                     findings: Sequence[Finding], box: Points, **values: float | str) -> Element:
    """Write the layer at the top of the drawing; the callers have removed an older one.

    Parameters
    ----------
    action : Action
        Whose layer it is. values : attributes of the layer.
    facts : sequence of Fact
        Written on the layer with the findings; their words are lettered below the work.
    misfits : sequence of Misfit
    findings : sequence of Finding
    box : ndarray, shape (k, 2), mm
        Outermost points of the work as it lies now.
    """
    page = drawing.page
    earlier = _list_reports(drawing)
    group = make_layer(drawing.root, label=action.label, layer=action.layer)
    group.set("id", names.find_free_id(drawing.root, "plank-" + action.layer))
    count_in_mm(group, page)
    out = LayerWriter(group, find_total_map(group, page))
    size = float(np.hypot(*np.ptp(box, axis=0)))
    height = float(np.clip(size / 250, 2.5, 12.0))
    largest = max((float(np.hypot(*m.off)) for m in misfits), default=0.0)
    times = max((t for t in _TIMES if t * largest <= 0.05 * size), default=1)
    names.put(group, times=times, **values)
    # joined pieces share points: each report letters its words at another corner of the point
    side, drop, anchor = ((1, -1.4, "start"), (1, 2.1, "start"), (-1, -1.4, "end"), (-1, 2.1, "end"))[len(earlier) % 4]
    for m in misfits:
        off = float(np.hypot(*m.off))
        out.add_circle(m.at, height, role="ring", style="mark" if m.verdict == "used" else "doubtful", point=m.label,
                       residual_mm=off, error_mm=m.error_mm, verdict=m.verdict)
        if off * times > 0.2:
            out.add_polylines(_draw_arrow(np.array(m.at), times * np.array(m.off)), role="residual", style="arrow",
                              point=m.label, residual_mm=off)
        out.add_text("%s: %.2f" % (m.label, off), height_mm=0.7 * height,
                     at_mm=(m.at[0] + side * 1.4 * height, m.at[1] + drop * height), anchor=anchor, point=m.label)
    # below the lines of earlier reports
    said = sum(len([e for e in names.find_roles(one, "note") if not names.get(e, "point")]) + 1 for one in earlier)
    left, below = float(box[:, 0].min()), float(box[:, 1].max()) + (4 + 1.8 * said) * height
    put_facts(group, facts, findings)
    rows = [(text, "note") for text in list_words(facts)]
    if misfits and times * largest > 0.2:
        rows.append(("Arrows are drawn %d times as long as the residuals, in mm" % times, "note"))
    for finding in findings:
        rows.append((finding.text, "warning"))
        if finding.where is not None:
            out.add_circle(finding.where, 2 * height, role="ring", style="doubtful")
    for number, (text, style) in enumerate(rows):
        out.add_text(text, height_mm=height, at_mm=(left, below + 1.8 * height * number), style=style)
    return group


def _draw_arrow(start, way):
    tip = start + way
    back, across = -0.25 * way, 0.12 * np.array([-way[1], way[0]])
    return [np.stack([start, tip]), np.stack([tip + back + across, tip, tip + back - across])]


def _list_reports(drawing):
    return [one for one in drawing.root
            if isinstance(one.tag, str) and names.get(one, "layer") in (TRUE_UP.layer, JOIN.layer)]


def read_scan_facts(drawing: Drawing) -> list[Fact]:
    """What True Up Scan and Join Scans found about the scans' scale, doubts and all, a list of Fact.

    Raises
    ------
    PatternError
        If a layer carries other facts than were written on it.
    """
    found = []
    for one in _list_reports(drawing):
        action = JOIN if names.get(one, "layer") == JOIN.layer else TRUE_UP
        found += read_facts(one, action=action.title, lettered=True) or _read_older(one)
    return found


def _read_older(layer):
    """What a layer made before 2026-11-29 has lettered below the work: it carries no facts, and what it was made of may
    be a plank by now, so that it cannot be made again.
    """
    return [Fact("told", names.get(e, "text")) for e in names.find_roles(layer, "note") if not names.get(e, "point")]
