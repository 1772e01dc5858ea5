"""Control shapes read from the selection, in mm on the page, x right and y down."""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SelectionError
from ..model.scan import ControlLength, ControlPoint, ControlRectangle
from . import names, transforms
from .carry import restore_untouched
from .control_labels import looks_like_control, read_control_label
from .reach import HOLDERS, LENGTH, SHAPES, find_picture_corners, measure_reach, read_label, trace_points, walk_shown
from .read import describe, find_total_map, read_trace, refuse_foreign, refuse_many

if TYPE_CHECKING:
    from ..geometry.arrays import Point, Points
    from ..model.plank import Finding
    from .drawing import Drawing
    from .names import Element

__all__ = ["ANY_LABEL", "MOST_CONTROLS", "Scan", "read_scan"]

_CARRIED = SHAPES | HOLDERS | {"image", "text", "use"}
MOST_CONTROLS = 400  # a yard sets out a dozen; the work grows fast with their number, since all are fitted together
_SMALL = 0.05             # a control is no larger than this share of all that is selected
_NEAR = 0.1               # nor farther than this share from the text that labels it
_EDGE = 0.002             # a trace may reach beyond its picture by this share of a side
ANY_LABEL = re.compile(r"^\s*(upper|lower|fore|aft)\b", re.IGNORECASE)


@dataclass(frozen=True, eq=False, repr=False)
class Scan:
    """Controls; the far ends of the artwork, (k, 2) mm; elements to carry; control elements with their place (None for
    lengths and rectangles); texts that label controls; corners (4, 2) mm of the picture it was traced from, or None
    where none lies round all of it; findings from undoing an earlier run."""

    points: tuple[ControlPoint, ...]
    lengths: tuple[ControlLength, ...]
    rectangles: tuple[ControlRectangle, ...]
    reach: Points
    carried: tuple[Element, ...]
    controls: tuple[tuple[Element, Point | None], ...]
    words: tuple[Element, ...]
    picture: Points | None = None
    findings: tuple[Finding, ...] = ()


def read_scan(drawing: Drawing, *, unit: str) -> Scan:
    """Read what is to be trued up, after any earlier True Up of it has been taken back.

    A control is a shape whose label reads as one, wherever in the selection it lies; or a small selected shape without
    a label near a text that reads as one. A line with a length gives that length between its ends; a shape of four
    straight sides with two lengths gives four corners, clockwise from the one nearest the top left, the longer length
    along the longer pair of sides;
    any other shape gives a point, the middle of its extent. All else that is selected is carried; where nothing else
    is, the layer that holds the controls.

    Raises
    ------
    SelectionError
        Nothing selected, a label that cannot be read or is missing, nothing to carry.
    PatternError
        A scan trued up by a perspective whose raw trace is gone, or a finished plank.
    """
    if not drawing.selected:
        raise SelectionError("Nothing is selected.", "Select the scan (its group or layer, or the picture and the "
                                                     "trace) and the control shapes, then run the action again.")
    refuse_many(len(drawing.selected), "Too many objects are selected")
    selected, told = restore_untouched(drawing)
    refuse_many(sum(1 for element in selected for _ in walk_shown(element, kinds=SHAPES)),
                "Too many shapes are selected")
    for element in selected:
        refuse_foreign(element)
        if any(names.get(p, "role") == "plank" for p in [element, *element.iterancestors()]):
            raise PatternError("%s is part of a fair plank, which is at true size already." % describe(element),
                               "Select the scan it was traced from; true it up before fairing.", describe(element))
    known = {}
    controls, words, tops = _sort_out(drawing, selected, unit, known)
    if len(controls) > MOST_CONTROLS:
        raise SelectionError("%d controls are selected, where %d are read at most." % (len(controls), MOST_CONTROLS),
                             "Take out those that lie close to others.")
    points, lengths, rectangles = [], [], []
    spots = [_read_one(element, label, page=drawing.page, points=points, lengths=lengths, rectangles=rectangles)
             for element, label in controls]
    carried = _find_carried(tops, [e for e, _ in controls])
    shapes = [e for e, _ in controls]
    reach = measure_reach(carried, drawing.page, without=shapes, known=known)
    if reach is None:
        reach = measure_reach(shapes + list(carried), drawing.page, known=known)
    if reach is None and controls:
        raise SelectionError("Nothing that is selected draws anything.",
                             "Select the scan, and the control shapes on it, then run the action again.")
    if reach is None:
        reach = np.zeros((0, 2))                  # leave it to the operation to say that there are no controls
    spread = np.vstack([reach, *([p.at] for p in points), *(d.ends for d in lengths), *(r.corners for r in rectangles)])
    return Scan(tuple(points), tuple(lengths), rectangles=tuple(rectangles), reach=reach, carried=tuple(carried),
                controls=tuple(zip(shapes, spots)),
                words=tuple(words), picture=_find_picture(drawing, spread) if len(spread) else None,
                findings=tuple(told))


def _find_picture(drawing, spread):
    """Corners (4, 2) of the smallest picture of the drawing, hidden or not, that lies round all of points (k, 2), or
    None.
    """
    best, found = np.inf, None
    for image in drawing.root.iter("{%s}image" % names.SVG):
        if any(names.get(p, "layer") == "raw" or names.read_kind(p) in ("defs", "symbol", "pattern", "marker")
               for p in image.iterancestors()):
            continue
        try:
            corners = find_picture_corners(image, drawing.page)
        except PatternError:
            continue                              # its transform cannot be read
        sides = np.column_stack([corners[1] - corners[0], corners[3] - corners[0]])
        area = abs(float(np.linalg.det(sides)))
        if 0 < area < best:
            share = np.linalg.solve(sides, (spread - corners[0]).T)
            if share.min() > -_EDGE and share.max() < 1 + _EDGE:
                best, found = area, corners
    return found


def _sort_out(drawing, selected, unit, known):
    """(control, ControlLabel) pairs, texts that label controls, and all other selected elements."""
    traces, every = {}, []
    for element in selected:
        for shape in walk_shown(element, kinds=SHAPES):
            if shape in selected or looks_like_control(read_label(shape)):
                try:
                    traces[shape] = trace_points(read_trace(shape, drawing.page))
                except PatternError:
                    if looks_like_control(read_label(shape)):
                        raise
        far = measure_reach([element], drawing.page, known=known)
        every += [far] if far is not None else []
    size = float(np.hypot(*np.ptp(np.concatenate(every), axis=0))) if every else 0.0
    controls, silent, tops = [], [], []
    for shape, points in traces.items():
        text = read_label(shape)
        if looks_like_control(text):
            controls.append((shape, read_control_label(text, unit=unit, who=describe(shape))))
        elif float(np.ptp(points, axis=0).max()) <= _SMALL * size and not ANY_LABEL.match(text):
            if text:
                raise SelectionError("The label '%s' is no pair of lengths." % text,
                                     "Label a control point with its true place, 1200 mm, 300 mm for instance; leave "
                                     "other small shapes out of the selection, or group them with the scan.",
                                     describe(shape))
            silent.append((shape, points.min(axis=0) / 2 + points.max(axis=0) / 2))
    spoken = _match_words(drawing, silent, chosen=[t for s in selected for t in walk_shown(s, kinds={"text"})],
                          unit=unit, size=size)
    controls += [(shape, label) for shape, label, _ in spoken]
    words = [w for _, _, w in spoken]
    taken = [e for e, _ in controls] + words
    tops = [e for e in selected if not any(e is t for t in taken) and names.get(e, "role") != "layer"]
    return controls, words, tops


def _match_words(drawing, silent, chosen, unit, size):
    """(shape, label, text) for small shapes without a label: each takes the text nearest to it, the nearest pair first.
    """
    pairs = []
    texts = [t for t in _walk_page(drawing.root) if looks_like_control("".join(t.itertext()))] if silent else []
    for word in texts:
        spot = _find_text_place(word, drawing.page)
        for shape, at in silent:
            pairs.append((float(np.hypot(*(spot - at))), shape, word))
    found, used = {}, []
    for distance, shape, word in sorted(pairs, key=lambda p: p[0]):
        if shape not in found and not any(word is u for u in used) and distance <= _NEAR * size:
            found[shape] = word
            used.append(word)
    for shape, at in silent:
        if shape not in found:
            raise SelectionError("The small shape %s has no label, and no text beside it tells its true place."
                                 % describe(shape),
                                 "Give it a label (Object > Object Properties) such as 1200 mm, 300 mm, or leave it "
                                 "out of the selection.", tuple(map(float, at)))
    return [(shape, read_control_label("".join(word.itertext()), unit=unit, who=describe(shape)), word)
            for shape, word in found.items()]


def _walk_page(root):
    for child in root:
        yield from walk_shown(child, kinds={"text"})


def _find_text_place(word, page):
    """Where a text starts, mm (2,)."""
    holder = next((t for t in [word, *word.iterdescendants()] if names.read_kind(t) in ("text", "tspan")
                   and t.attrib.get("x") and t.attrib.get("y")), word)
    numbers = [LENGTH.match(holder.attrib.get(k) or "0") for k in ("x", "y")]
    return transforms.apply(find_total_map(word, page), np.array([float(m.group(1)) if m else 0.0 for m in numbers]))


def _read_one(element, label, *, page, points, lengths, rectangles):
    """Put one control in its list; the place of a point is returned."""
    trace, who = read_trace(element, page), describe(element)
    outline = trace_points(trace)
    if label.kind == "point":
        at = (outline.min(axis=0) + outline.max(axis=0)) / 2
        points.append(ControlPoint(_name(element, label, "%g, %g"), tuple(map(float, at)), label.values_mm,
                                   label.error_mm))
        return at
    elif label.kind == "length":
        cubics, closed = trace.runs[0]
        ends = cubics[[0, -1], [0, 3]]
        drawn = float(np.hypot(*(ends[1] - ends[0])))
        off = np.abs((outline - ends[0]) @ [ends[0, 1] - ends[1, 1], ends[1, 0] - ends[0, 0]]) / max(drawn, 1e-9)
        if len(trace.runs) > 1 or closed or drawn == 0 or off.max() > 1e-3 * drawn:
            raise SelectionError("%s is labelled with one length, but it is no straight line." % who,
                                 "Draw one straight line between the two points, or give a point both its "
                                 "coordinates.", tuple(map(float, outline[0])))
        lengths.append(ControlLength("%s (%s)" % (_name(element, label, "%g"), element.get("id")),
                                     tuple(tuple(map(float, e)) for e in ends), label.values_mm[0], label.error_mm))
    else:
        corners = _find_corners(trace)
        if corners is None:
            raise SelectionError("%s is labelled with two sides, but it is no shape of four straight sides." % who,
                                 "Draw four straight lines from corner to corner and close them.",
                                 tuple(map(float, outline[0])))
        sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
        short, long = sorted(label.values_mm)
        given = (long, short) if sides[0] + sides[2] >= sides[1] + sides[3] else (short, long)
        rectangles.append(ControlRectangle("%s (%s)" % (_name(element, label, "%g x %g"), element.get("id")),
                                           tuple(tuple(map(float, c)) for c in corners), given, label.error_mm))
    return None


def _name(element, label, form):
    return read_label(element) or form % label.values_mm


def _find_corners(trace):
    """Corners (4, 2) of a closed shape of four straight sides, clockwise on the page from the one nearest the top left;
    else None.
    """
    cubics, closed = trace.runs[0]
    if len(trace.runs) != 1 or len(cubics) != 4 or not closed:
        return None
    chord = cubics[:, 3] - cubics[:, 0]
    for k in (1, 2):
        handle = cubics[:, k] - cubics[:, 0]
        if np.any(np.abs(chord[:, 0] * handle[:, 1] - chord[:, 1] * handle[:, 0]) > 1e-4 * np.sum(chord ** 2, axis=1)):
            return None
    corners = cubics[:, 0]
    x, y = corners.T
    if np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0:
        corners = corners[::-1]
    return np.roll(corners, -int(np.argmin(corners.sum(axis=1))), axis=0)


def _find_carried(tops, controls):
    """Outermost of the elements to carry; the layers of the controls where there are none."""
    if not tops:
        if not controls:
            raise SelectionError("The selection holds nothing that can be trued up.",
                                 "Select the scan and its control shapes.")
        for control in controls:
            above = [p for p in control.iterancestors() if names.read_kind(p) == "g"]
            layer = next((p for p in above if p.attrib.get("{%s}groupmode" % names.INKSCAPE) == "layer"),
                         above[-1] if above else None)
            if layer is None:
                raise SelectionError("Only control shapes are selected, and they lie in no layer.",
                                     "Select the scan with them, or put scan, trace and control shapes in one layer.",
                                     describe(control))
            tops = tops + ([layer] if not any(layer is t for t in tops) else [])
    for element in tops:
        if names.read_kind(element) not in _CARRIED:
            raise SelectionError("%s cannot be carried along." % describe(element),
                                 "Put it in a group or layer, and select that.", describe(element))
    return [e for e in tops if not any(p is t for p in e.iterancestors() for t in tops)]
