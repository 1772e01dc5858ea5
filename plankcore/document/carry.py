"""Artwork carried along by a map: a group by its transform; under perspective every path of it anew, to 0.02 mm.

What an action moves keeps its former transform (`plank:was-transform` for True Up, `plank:join-was` for Join Scans), so that the
action run again starts from the untouched state. A perspective rewrites paths and cannot be taken back that way: a second True Up
of it is refused. Everything one True Up moved, and its report, carry the same `plank:of`.
"""
from __future__ import annotations

import numpy as np

from ..errors import PatternError
from ..geometry import tolerance
from ..geometry.plane_maps import PlaneMap, map_cubics
from ..model import Finding
from . import names, transforms
from .pathdata import write_cubics
from .read import describe, find_total_map, read_trace

__all__ = ["carry_scan", "carry_pieces", "restore_untouched", "restore_joined"]

_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_SIZES = ("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "points", "x1", "y1", "x2", "y2", "pathLength")
_ASIDE = {"defs", "clipPath", "mask", "pattern", "marker", "symbol", "metadata", "title", "desc"}
_ROLES = ("", "trued", "control")


def _local(element):
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""


def _find_id(element, root):
    if not element.get("id"):
        taken, number = set(root.xpath("//@id")), 1
        while "scan-%d" % number in taken:
            number += 1
        element.set("id", "scan-%d" % number)
    return element.get("id")


def _restore(element, attribute):
    """Give an element its former transform back."""
    old = element.attrib.pop(names.attribute(attribute), None)
    if old is None:
        return
    if old:
        element.attrib["transform"] = old
    elif "transform" in element.attrib:
        del element.attrib["transform"]


def _drop(element, *which):
    for name in which:
        element.attrib.pop(names.attribute(name), None)


def restore_untouched(root, selected):
    """Take back an earlier True Up (and a Join after it) of what is selected. Returns the selected elements but its own report.

    Raises
    ------
    PatternError
        If it was a perspective.
    """
    keys = set()
    for element in selected:
        for one in [element, *element.iterancestors(), *element.iterdescendants()]:
            if isinstance(one.tag, str) and names.get(one, "of"):
                keys.add(names.get(one, "of"))
    every = [e for e in root.iter() if isinstance(e.tag, str) and names.get(e, "of") in keys] if keys else []
    bent = next((e for e in every if names.get(e, "map") == "perspective"), None)
    if bent is not None:
        raise PatternError("%s has been trued up already, by a perspective, which redrew its paths." % describe(bent), "Undo that (Edit > Undo), or take the drawing as it was before, and true it up from there.", describe(bent))
    for element in every:
        if names.get(element, "role") == "layer":
            element.getparent().remove(element)
            continue
        _restore(element, "join-was")
        _restore(element, "was-transform")
        _drop(element, "of", "map", "scale", "freedom", "proved", "sigma0-mm", "worst-mm", "far-mm", "join-sigma0-mm", "join-freedom", "join-worst-mm", "join-scale", "join-far-mm")
        if names.get(element, "role") in ("trued", "control"):
            _drop(element, "role")
    return [e for e in selected if e is root or e.getparent() is not None]


def restore_joined(root, elements):
    """Take back an earlier Join of these pieces, and remove its report."""
    for report in [e for e in root if isinstance(e.tag, str) and names.get(e, "layer") == "join"]:
        if any(e.get("id") in names.get(report, "joins").split() for e in elements):
            root.remove(report)
    keys = {names.get(e, "of") for e in elements if names.get(e, "of")}
    for element in [*elements, *(e for e in root if isinstance(e.tag, str) and names.get(e, "layer") == "true-up" and names.get(e, "of") in keys)]:
        _restore(element, "join-was")


def _move(element, plane_map, page, keep):
    """Set the transform that carries an element by an affine map of the page, the former one kept in the attribute `keep`."""
    parent = find_total_map(element.getparent(), page)
    former = element.attrib.get("transform") or ""
    own = transforms.read_transform(former)
    inside = transforms.compose(transforms.invert(parent), transforms.compose(plane_map.matrix[:2], parent))
    if names.attribute(keep) not in element.attrib:
        element.set(names.attribute(keep), former)
    element.attrib["transform"] = transforms.format_matrix(transforms.compose(inside, own))


def carry_scan(drawing, scan, fit):
    """Carry a Scan by a TrueUp.

    Affine maps go into the transform of each carried element. Under perspective paths and shapes are redrawn in their own
    coordinates (ids, styles and transforms stay); control points and words are set by the transform nearest to it where they
    stand, so that a point's middle stays its middle; pictures and clones stay behind.

    Returns
    -------
    key : str
        What the report is to carry as `plank:of`.
    findings : list of Finding
        What was left behind.

    Raises
    ------
    PatternError
        If a path cannot be read, or reaches beyond the horizon.
    """
    key = _find_id(scan.carried[0], drawing.root)
    inside = lambda e: any(p is c for p in [e, *e.iterancestors()] for c in scan.carried)          # noqa: E731
    loose = [e for e in (*(c for c, _ in scan.controls), *scan.words) if not inside(e)]
    findings = []
    for element in [*scan.carried, *loose]:
        if fit.plane_map.is_affine:
            _move(element, fit.plane_map, drawing.page, "was-transform")
        else:
            _redraw(element, fit.plane_map, drawing.page, scan.controls, findings)
        names.put(element, of=key)
    for element, _ in scan.controls:
        names.put(element, role="control")
    for element in scan.carried:
        if names.get(element, "role") in _ROLES:
            names.put(element, role="trued")
        names.put(element, map=fit.map, scale=float(fit.scale), freedom=fit.freedom, proved="no" if fit.sigma0_mm is None else "yes", far_mm=fit.far_mm)
        if fit.sigma0_mm is not None:
            names.put(element, sigma0_mm=fit.sigma0_mm, worst_mm=float(np.hypot(*fit.worst.off)))
    return key, _gather_left(findings) + _note_page(fit.plane_map.apply(scan.reach), drawing.page)


def _note_page(reach, page):
    low, high = reach.min(axis=0), reach.max(axis=0)
    if min(low) > -1 and high[0] < page.width_mm + 1 and high[1] < page.height_mm + 1:
        return []
    return [Finding("The work is %.0f mm by %.0f mm at true size and does not lie on the page, which is %.0f by %.0f mm: enlarge the page (File > Document Properties > Resize to content)." % (
        *(high - low), page.width_mm, page.height_mm))]


def _gather_left(left):
    """One finding for each kind of thing that stayed behind."""
    told = []
    for why in dict.fromkeys(w for w, _ in left):
        who = [describe(e) for w, e in left if w == why]
        told.append(Finding("%s: %s%s." % (why, ", ".join(who[:4]), " and %d more" % (len(who) - 4) if len(who) > 4 else "")))
    return told


def _redraw(element, plane_map, page, controls, left):
    """Everything in and below an element under a perspective; what cannot follow is put in `left` as (why, element)."""
    kind = _local(element)
    if not kind or kind in _ASIDE or names.get(element, "role") == "layer":
        return
    for name in ("clip-path", "mask"):
        if (element.attrib.get(name) or "none") != "none":
            left.append(("A clip or mask stayed as it was", element))
    spot = next((at for control, at in controls if control is element), None)
    if spot is not None:
        _move(element, PlaneMap(plane_map.linearise(spot)), page, "was-transform")
    elif kind in _SHAPES:
        _redraw_shape(element, plane_map, page, left)
    elif kind == "text":
        _move(element, PlaneMap(plane_map.linearise(_find_start(element, page))), page, "was-transform")
        left.append(("Words cannot be bent and were only set in their place", element))
    elif kind in ("g", "a", "switch"):
        for child in element:
            _redraw(child, plane_map, page, controls, left)
    elif kind == "image":
        left.append(("A picture cannot follow a perspective and stayed behind", element))
    else:
        left.append(("This cannot follow a perspective and stayed behind", element))


def _find_start(element, page):
    """Where words start, mm (2,)."""
    holder = next((t for t in element.iter() if isinstance(t.tag, str) and t.attrib.get("x") and t.attrib.get("y")), element)
    try:
        at = [float(holder.attrib.get(k, "0").split()[0]) for k in ("x", "y")]
    except ValueError:
        at = [0.0, 0.0]
    return transforms.apply(find_total_map(element, page), np.array(at))


def _redraw_shape(element, plane_map, page, left):
    if _local(element) == "path" and not (element.attrib.get("d") or "").strip():
        return
    try:
        trace = read_trace(element, page)
    except PatternError as error:
        if "no length" in error.problem:
            return
        raise
    back, text = transforms.invert(find_total_map(element, page)), []
    for cubics, closed in trace.runs:
        try:
            mapped = map_cubics(plane_map, cubics, tolerance_mm=tolerance.CURVE_MM / 2)
        except ValueError:
            raise PatternError("%s reaches beyond the horizon of this perspective." % describe(element), "Take it out of the selection, or check the labels of the control points.", tuple(map(float, cubics[0, 0]))) from None
        text.append(write_cubics(transforms.apply(back, mapped), closed=closed))
    if _local(element) != "path":
        element.tag = "{%s}path" % names.SVG
        for name in _SIZES:
            element.attrib.pop(name, None)
    # the editor would redraw the old form from these
    for name in [n for n in element.attrib if n.startswith("{%s}" % names.SODIPODI) or n in ("{%s}path-effect" % names.INKSCAPE, "{%s}original-d" % names.INKSCAPE)]:
        if not name.endswith("insensitive"):
            if name.endswith("path-effect"):
                left.append(("A path effect was taken into the path", element))
            del element.attrib[name]
    element.attrib["d"] = " ".join(text)


def carry_pieces(drawing, found, join):
    """Carry Pieces by a Join: each piece by its rigid map, and the report of its True Up with it."""
    for element, piece in zip(found.elements, join.pieces):
        key = names.get(element, "of")
        reports = [e for e in drawing.root if isinstance(e.tag, str) and key and names.get(e, "layer") == "true-up" and names.get(e, "of") == key]
        for one in [element, *reports]:
            _move(one, piece.plane_map, drawing.page, "join-was")
        if names.get(element, "role") in _ROLES:
            names.put(element, role="trued")
        names.put(element, join_sigma0_mm=join.sigma0_mm, join_freedom=join.freedom, join_worst_mm=float(np.hypot(*join.worst.off)), join_far_mm=piece.far_mm)
        if piece.scale is not None:
            names.put(element, join_scale=float(piece.scale))
    for element in found.points:
        names.put(element, role="control")
