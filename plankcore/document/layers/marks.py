"""Read Marks in the drawing: the shapes and numbers it reads, and the layer of marks it writes and owns."""
from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from ...actions import MARKS
from ...errors import SelectionError
from ...model.drawing import Fact
from .. import names, transforms
from ..overlay import put_facts
from ..read import collect_shapes, find_total_map, is_hidden, read_traces, refuse_foreign
from ..write import LayerWriter, count_in_mm, make_layer

if TYPE_CHECKING:
    from typing import Mapping

    from ...model.plank import Trace
    from ...model.scan import MarkReport
    from ..drawing import Drawing
    from ..names import Element

__all__ = ["find_marks_layer", "read_mark_shapes", "read_numbers", "write_marks"]

_SELECT = ("Select the traced tags, lines or arcs (the whole trace of a scan may be selected), then run the action "
           "again.")
_PLACE = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(?:px)?(?:[\s,]|$)")
_CROSS_MM, _RING_MM, _WORDS_MM = 2.5, 7.0, 5.0
_NEAR_MM = 1.0            # an earlier mark this near a new one, on the same edge, is the same mark
_ID = "plank-marks"


def _is_ours(element):
    """Whether an element is one that our actions made: a plank, the layer of marks, or anything in it. Artwork that was
    only carried to true size is still the user's."""
    return names.get(element, "role") in ("plank", "mark", "ring", "note",
                                          "control") or names.get(element, "layer") == MARKS.layer


def read_mark_shapes(drawing: Drawing) -> list[Trace]:
    """Traces of all selected shapes that our actions did not make; words and pictures among them are skipped.

    Raises
    ------
    SelectionError
        If nothing is selected, or nothing in it is a line.
    """
    if not drawing.selected:
        raise SelectionError("Nothing is selected.", _SELECT)
    shapes = []

    def visit(element):
        kind = names.read_kind(element)
        if not kind or kind in ("text", "flowRoot", "image", "title", "desc") or _is_ours(element):
            return
        if kind in ("g", "a", "svg", "switch"):
            for child in element:
                if not is_hidden(child):
                    visit(child)
        elif kind not in ("defs", "metadata", "style", "script"):
            shapes.extend(collect_shapes([element]))
    for element in drawing.selected:
        refuse_foreign(element)
        visit(element)
    if not shapes:
        raise SelectionError("The selection holds no traced line.", _SELECT)
    unique = {id(s): s for s in shapes}
    return read_traces(list(unique.values()), drawing.page)


def read_numbers(drawing: Drawing) -> list[tuple[str, tuple[float, ...]]]:
    """Words on the page and their places: [(text, (x, y) mm)].

    The place is that of the text's own start (or middle or end, as it is anchored): no font is measured, so it may be
    off by half a number's width. Lines of a text that have their own place are separate entries. Hidden words are left
    out.
    """
    found = []

    def visit(element):
        kind = names.read_kind(element)
        if not kind or is_hidden(element) or _is_ours(element) or kind in ("defs", "metadata"):
            return
        if kind == "text":
            _read_text(element, drawing.page, found)
            return
        for child in element:
            visit(child)
    visit(drawing.root)
    return found


def _read_text(element, page, found):
    lines = [t for t in element if names.read_kind(t) == "tspan" and t.attrib.get("x") is not None
             and t.attrib.get("y") is not None]
    for one in lines or [element]:
        words = " ".join("".join(one.itertext()).split())
        place = [_PLACE.match(one.attrib.get(k) or element.attrib.get(k) or "0") for k in ("x", "y")]
        own = [float(m.group(1)) for m in place if m]
        if words and len(own) == 2:
            at = transforms.apply(find_total_map(element, page), np.array([own]))[0]
            found.append((words, (float(at[0]), float(at[1]))))


def find_marks_layer(root: Element) -> Element | None:
    """The layer of marks at the root of the drawing, or None."""
    return names.find_layer(root, MARKS.layer)


def write_marks(drawing: Drawing, report: MarkReport, *, settings: Mapping[str, float | str],
                keep: bool = False) -> Element:
    """Write a MarkReport into the layer of marks, in place of what an earlier run left there.

    Parameters
    ----------
    drawing : Drawing
    report : MarkReport
    settings : dict
        The action's settings, stored as attributes of the layer.
    keep : bool
        Whether marks of earlier runs stay, except those that were read again.

    Returns
    -------
    lxml element
        The layer; its own coordinates are mm.
    """
    root, page = drawing.root, drawing.page
    old = find_marks_layer(root)
    following = old.getnext() if old is not None else None
    earlier = names.find_roles(old, "mark") if old is not None and keep else []
    earlier = [(e, find_total_map(e, page)) for e in earlier]
    if old is not None:
        root.remove(old)
    layer = make_layer(root, label=MARKS.label, layer=MARKS.layer, before=following)
    layer.set("id", names.find_free_id(root, _ID, bare=True))
    count_in_mm(layer, page)
    names.put(layer, **settings)
    out = LayerWriter(layer, find_total_map(layer, page))
    for element, total in earlier:
        if not any(m.mark.edge == names.get(element, "edge") and _is_at(element, total, m.mark.point)
                   for m in report.marks):
            layer.append(element)
            place = transforms.compose(transforms.invert(find_total_map(layer, page)), total)
            element.attrib.pop("transform", None)
            if np.abs(place - np.eye(2, 3)).max() > 1e-12:
                element.attrib["transform"] = transforms.format_matrix(place)
    kept = len(names.find_roles(layer, "mark"))
    put_facts(layer, [*report.facts, *[Fact("marks-kept", number=float(kept), unit="marks")] * bool(kept)],
              report.findings)
    for one in report.marks:
        _write_mark(out, one)
    _write_notes(out, report)
    return layer


def _is_at(element, total, point):
    """Whether an earlier mark's cross stands at a point, by the middle of its path."""
    numbers = [float(v) for v in re.findall(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", element.attrib.get("d")
                                            or "")]
    if len(numbers) < 4 or len(numbers) % 2:
        return False
    places = transforms.apply(total, np.array(numbers).reshape(-1, 2))
    middle = (places.min(axis=0) + places.max(axis=0)) / 2
    return float(np.hypot(*(middle - np.asarray(point)))) <= _NEAR_MM


def _write_mark(out, one):
    x, y = one.mark.point
    r = _CROSS_MM
    cross = [np.array([(x - r, y), (x + r, y)]), np.array([(x, y - r), (x, y + r)])]
    element = out.add_polylines(cross, role="mark", style="mark" if one.mark.verdict == "used" else "doubtful",
                                edge=one.mark.edge, station=one.mark.station,
                                error_mm=one.mark.error_mm, verdict=one.mark.verdict, kind=one.kind,
                                **({"told": one.mark.told} if one.mark.told else {}))
    said = (one.mark.edge, one.mark.station, one.mark.told)
    element.set("{%s}label" % names.INKSCAPE, " ".join(w for w in said if w))


def _write_notes(out, report):
    """Rings with words at doubtful marks and at shapes that were left out, and a list of both below all."""
    for one in report.marks:
        if one.mark.verdict != "used":
            _write_ring(out, one.mark.point, one.outboard, "; ".join(one.notes) or "doubtful")
    for one in report.unread:
        if not one.minor:
            _write_ring(out, one.where, (0.0, 1.0), "not read: " + one.reason)
    for finding in report.findings:
        if finding.where is not None:
            _write_ring(out, finding.where, (0.0, -1.0), finding.text)
    places = np.array([m.mark.point for m in report.marks])
    left, foot = places.min(axis=0)[0], places.max(axis=0)[1] + 60
    for k, line in enumerate(report.rows):
        out.add_text(line, height_mm=_WORDS_MM, at_mm=(left, foot + 9 * k), style="note")


def _write_ring(out, point, outboard, words):
    x, y = point
    out.add_circle((x, y), _RING_MM, role="ring", style="doubtful")
    down = outboard[1] > 0
    out.add_text(words, height_mm=_WORDS_MM, at_mm=(x, y + (2 * _RING_MM + _WORDS_MM if down else -2 * _RING_MM)),
                 anchor="middle", style="warning")
