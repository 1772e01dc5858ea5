"""An Overlay in a layer of its own, written and read back: what an action draws and letters on a plank, and the
facts it found.
"""
from __future__ import annotations

import numpy as np

from ..errors import PatternError
from ..geometry.lettering import text_width_mm
from ..model.drawing import Overlay, SheetLine, SheetText
from . import names, transforms
from .facts import put_facts, read_facts
from .pathdata import read_path
from .places import measure_boxes, read_points
from .read import find_total_map

__all__ = ["read_overlay", "write_overlay"]

# an overlay is known by sums exact to their written digits; this leaves room for the editor's rounding
_MOVED_MM = 0.05
_OLD_GUARD = 4            # numbers in the guard of layers made before 2026-11-29
_NOTE_MM = 5.0            # height of a doubt's words
_OWN = ("role", "look", "pen")


def write_overlay(drawing, group, overlay, *, layer, label, **values):
    """Write an Overlay in place of the plank's layer of this name; values become attributes of the layer.

    Each line keeps its role, look and pen, each text its place, so that a later action can lay them on a sheet.

    Returns
    -------
    LayerWriter
        For what else belongs in the layer.
    """
    out = drawing.replace_layer(group, layer=layer, label=label)
    names.put(out.layer, **values)
    put_facts(out.layer, overlay.facts, overlay.findings,
              plank=drawing.read_plank(group) if overlay.findings else None)
    for line in overlay.lines:
        out.add_curve(line.cubics, role=line.role, style=line.style, closed=line.closed, look=line.style,
                      pen=line.pen, **dict(line.values))
    for text in overlay.texts:
        x, y = text.at_mm
        out.add_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                     anchor=text.anchor, role=text.role, style=text.style,
                     look=text.style, pen="draw", lettered_at_mm="%.6f %.6f" % (x, y),
                     lettered_height_mm=float(text.height_mm),
                     lettered_turn_deg=float(text.angle_deg), lettered_from=text.anchor)
    if overlay.findings:
        corner, taken = drawing.read_plank(group).find_corners(), _list_notes(group, drawing.page)
        for finding in overlay.findings:
            _write_finding(out, finding, corner, taken)
    names.put(out.layer, guard_mm=" ".join("%.6f" % v for v in _measure(out.layer, drawing, group)))
    return out


def _list_notes(group, page):
    """Boxes (left, top, right, bottom), mm, of the words of role note on a plank, those of its other layers too."""
    notes = [e for e in names.find_roles(group, "note") if e.attrib.get("d")]
    return [tuple(box.ravel()) for box in measure_boxes(notes, page) if np.isfinite(box).all()]


def _write_finding(out, finding, corner, taken):
    """A doubt, ringed where it has a place, its words outside the plank, and further out where others stand in the way;
    their box is added to `taken`.
    """
    if finding.where is None:
        x, y = (min(float(p[k]) for p in corner.values()) for k in (0, 1))
        y, outside, anchor = y - 90, -1, "start"
    else:
        x, y = finding.where
        out.add_circle((x, y), 7.0, role="ring", style="doubtful", look="finding")
        outside = -1 if y < np.mean([p[1] for p in corner.values()]) else 1
        y, anchor = y + outside * 14 + (_NOTE_MM if outside > 0 else 0), "middle"
    wide = text_width_mm(finding.text, height_mm=_NOTE_MM)
    left = x - wide / 2 if anchor == "middle" else x
    while any(left < right + _NOTE_MM and left + wide > nearest - _NOTE_MM and y > t - 2
              and y - _NOTE_MM < below + 2 for nearest, t, right, below in taken):
        y += outside * 9
    taken.append((left, y - _NOTE_MM, left + wide, y))
    out.add_text(finding.text, height_mm=_NOTE_MM, at_mm=(x, y), anchor=anchor, style="warning", look="finding")


def _read_runs(element, page):
    total = find_total_map(element, page)
    return [(transforms.apply(total, r.cubics), r.closed)
            for r in read_path(element.attrib.get("d"), where=names.get(element, "role"))]


def _measure(layer, drawing, group):
    """Numbers that change when anything in the layer is moved against its plank, turned, stretched or taken away, and
    that a rigid move of the whole leaves alone.

    Of each element the middle of its length and its first point, as sums of their distances from two corners of the
    plank, and the length of all. Each element counts alike, so that none can be moved unseen amid the many points of
    the lettering; a straight stroke counts the same however it is cut.
    """
    elements = [e for e in layer if names.get(e, "role") and e.attrib.get("d")]
    if not elements:
        return [0.0]
    points, begins, owner = read_points(elements, drawing.page)
    if not len(points):
        return [0.0]
    steps, middles = np.diff(points, axis=0), (points[1:] + points[:-1]) / 2
    within = np.ones(len(points) - 1, bool)
    within[begins[begins > 0] - 1] = False                     # from one run to the next nothing is drawn
    long = np.hypot(*steps.T) * within
    count = len(elements)
    total = np.bincount(owner[1:], long, count)
    first = points[np.minimum(np.searchsorted(owner, np.arange(count)), len(points) - 1)]
    weighed = np.stack([np.bincount(owner[1:], long * middles[:, k], count) for k in (0, 1)], axis=1)
    middle = np.where(total[:, None] > 0, weighed / np.maximum(total, 1e-12)[:, None], first)
    corner = drawing.read_plank(group).find_corners()
    away = [float(np.sum(np.hypot(*(places - corner[name]).T))) for places in (middle, first)
            for name in ("upper fore", "lower aft")]
    return [float(count), *away, float(np.sum(long))]


def read_overlay(drawing, group, *, layer, action):
    """The Overlay of a layer made since the last fairing, or None where there is none.

    Raises
    ------
    PatternError
        If it was changed or moved since, or the plank was faired again; the remedy is to run `action` again.
    """
    found = drawing.find_fresh_layer(group, layer=layer, action=action)
    return None if found is None else drawing.remember(found, lambda: _read_layer(drawing, group, found, action),
                                                       drawing.read_plank(group))


def _read_layer(drawing, group, found, action):
    label, facts = found.get("{%s}label" % names.INKSCAPE), read_facts(found, action=action)
    try:
        told = [float(v) for v in names.get(found, "guard-mm").split()]
        measured = _measure(found, drawing, group)
        sound = len(told) == len(measured) and max(abs(a - b) for a, b in zip(told, measured)) <= _MOVED_MM
    except ValueError:
        sound = False
    if not sound and len(names.get(found, "guard-mm").split()) == _OLD_GUARD:
        raise PatternError("The layer %s was made by an older version of these actions." % label,
                           "Run %s again." % action, label)
    if not sound:
        raise PatternError("The layer %s has been changed since it was made." % label, "Run %s again." % action, label)
    lines, texts = [], []
    for element in found:
        look = names.get(element, "look")
        if not look or look == "finding":
            continue
        if names.get(element, "text"):
            texts.append(_read_text(element, look, drawing.page))
            continue
        values = tuple((key, value) for key, value in names.list_values(element).items() if key not in _OWN)
        for cubics, closed in _read_runs(element, drawing.page):
            lines.append(SheetLine(cubics, names.get(element, "pen", "draw"), names.get(element, "role"), look,
                                   closed, values))
    return Overlay(tuple(lines), tuple(texts), facts)


def _read_text(element, look, page):
    total = find_total_map(element, page)
    at = transforms.apply(total, np.array([[float(v) for v in names.get(element, "lettered-at-mm").split()]]))[0]
    turned = float(np.degrees(np.arctan2(total[1, 0], total[0, 0])))
    return SheetText(names.get(element, "text"), (float(at[0]), float(at[1])),
                     float(names.get(element, "lettered-height-mm")),
                     float(names.get(element, "lettered-turn-deg")) + turned,
                     names.get(element, "lettered-from", "start"), look, names.get(element, "role"))
