"""Artwork carried along by a map: a group by its transform; under a perspective or a lens every path is redrawn,
accurate to 0.02 mm.

What an action moves keeps its former transform (`plank:was-transform` for True Up, `plank:join-was` for Join Scans), so
that the action run again starts from the untouched state. A perspective rewrites paths: there the raw trace is put back
(layers/raw.py). Everything one True Up moved, its report and the raw trace carry the same `plank:of`.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import JOIN, TRUE_UP
from ..errors import EmptyPathError, PatternError
from ..geometry import arrays
from ..geometry.plane_maps import PlaneMap, map_cubics
from ..model.plank import Finding
from . import names, transforms
from .layers.raw import find_raw, mark_redrawn, put_raw_back, write_raw
from .path_text import write_cubics
from .read import describe, find_total_map, read_trace

if TYPE_CHECKING:
    from typing import Any, Sequence

    from .controls import Scan
    from .drawing import Drawing
    from .names import Element
    from .pieces import Pieces

__all__ = ["carry_pieces", "carry_scan", "restore_joined", "restore_untouched"]

_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_SIZES = ("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "points", "x1", "y1", "x2", "y2", "pathLength")
_ASIDE = {"defs", "clipPath", "mask", "pattern", "marker", "symbol", "metadata", "title", "desc"}
_ROLES = ("", "trued", "control")
_BENT = ("perspective", "lens")
_WRITTEN = ("of", "map", "scale", "freedom", "proved", "sigma0-mm", "worst-mm", "far-mm", "bulge", "pattern-mm",
            "camera-mm", "left-out",
            "join-sigma0-mm", "join-freedom", "join-worst-mm", "join-scale", "join-far-mm")


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


def restore_untouched(drawing: Drawing) -> tuple[list[Element], list[Finding]]:
    """Undo an earlier True Up (and a Join after it) of what is selected.

    Returns
    -------
    selected : list of elements
        The selected elements without the action's own report.
    findings : list of Finding
        What had been changed in the trued work since, and what was done with that.

    Raises
    ------
    PatternError
        If it was a perspective and its raw trace is gone, or a plank was made of it.
    """
    root, keys = drawing.root, set()
    for element in drawing.selected:
        for one in [element, *element.iterancestors(), *element.iterdescendants()]:
            if isinstance(one.tag, str) and names.get(one, "of"):
                keys.add(names.get(one, "of"))
    every = [e for e in root.iter() if isinstance(e.tag, str) and names.get(e, "of") in keys] if keys else []
    chosen = [e.get("id") for e in drawing.selected]
    findings, instead = [], {}
    for element in every:
        if any(names.get(p, "role") == "plank" for p in element.iterancestors()):
            raise PatternError("%s is part of a fair plank, which is at true size already." % describe(element),
                               "Select the scan it was traced from; true it up before fairing.", describe(element))
        layer = find_raw(root, names.get(element, "of"))
        if names.get(element,
                     "map") in _BENT and names.get(element, "role") != "layer" and names.read_kind(element) != "image":
            raw, told = put_raw_back(drawing, element, layer) if layer is not None else (None, [])
            if raw is None:
                raise PatternError("%s has been trued up already, by a perspective, which redrew its paths, and its "
                                   "raw trace is not in the drawing." % describe(element),
                                   "Undo that (Edit > Undo), or take the drawing as it was before, and true it up "
                                   "from there.", describe(element))
            findings += told
            instead[element] = raw
    for element in every:
        if element in instead:
            continue
        if names.get(element, "role") == "layer":
            element.getparent().remove(element)
            continue
        _restore(element, "join-was")
        _restore(element, "was-transform")
        _drop(element, *_WRITTEN)
        if names.get(element, "role") in ("trued", "control"):
            _drop(element, "role")
    inside = {e.get("id"): e for raw in instead.values() for e in raw.iter() if isinstance(e.tag, str)}
    here = [inside.get(key, e) for key, e in zip(chosen, drawing.selected)]
    return [e for e in here if e is root or any(p is root for p in e.iterancestors())], findings


def restore_joined(root: Element, elements: Sequence[Element]) -> None:
    """Undo an earlier Join of these pieces, and remove its report."""
    for report in [e for e in root if isinstance(e.tag, str) and names.get(e, "layer") == JOIN.layer]:
        if any(e.get("id") in names.get(report, "joins").split() for e in elements):
            root.remove(report)
    keys = {names.get(e, "of") for e in elements if names.get(e, "of")}
    for element in [*elements, *(e for e in root if isinstance(e.tag, str) and names.get(e, "layer") == TRUE_UP.layer
                                 and names.get(e, "of") in keys)]:
        _restore(element, "join-was")


def _move(element, plane_map, page, keep):
    """Set the transform that carries an element by an affine map of the page, the former one kept in the attribute
    `keep`.
    """
    parent = find_total_map(element.getparent(), page)
    former = element.attrib.get("transform") or ""
    own = transforms.read_transform(former)
    inside = transforms.compose(transforms.invert(parent), transforms.compose(plane_map.matrix[:2], parent))
    if names.attribute(keep) not in element.attrib:
        element.set(names.attribute(keep), former)
    element.attrib["transform"] = transforms.format_matrix(transforms.compose(inside, own))


def carry_scan(drawing: Drawing, scan: Scan, fit: Any) -> tuple[str, list[Finding]]:
    """Carry a Scan by a TrueUp.

    The controls and their words are carried by the map of the floor, everything else by that of the pattern's upper
    face. Affine maps go into the transform of each carried element. Under perspective paths and shapes are redrawn in
    their own coordinates (ids, styles and transforms stay); control points and words get the affine transform that is
    nearest to the map at their place, so that a point's middle stays its middle; pictures and clones are left where
    they are.

    Returns
    -------
    key : str
        The key for the report's attribute `plank:of`.
    findings : list of Finding
        What was left behind.

    Raises
    ------
    PatternError
        If a path cannot be read, or reaches beyond the horizon.
    """
    key = _find_id(scan.carried[0], drawing.root)
    inside = lambda e: any(p is c for p in [e, *e.iterancestors()] for c in scan.carried)
    loose = [e for e in (*(c for c, _ in scan.controls), *scan.words) if not inside(e)]
    findings = []
    write_raw(drawing, scan.carried, key=key)
    for element in scan.carried:
        if fit.plane_map.is_affine:
            _move(element, fit.face_map, drawing.page, "was-transform")
        else:
            _redraw(element, fit.face_map, page=drawing.page,
                    controls={id(c): (at, fit.plane_map) for c, at in scan.controls},
                    left=findings)
        names.put(element, of=key)
    for element in loose:
        if fit.plane_map.is_affine:
            _move(element, fit.plane_map, drawing.page, "was-transform")
        else:
            _redraw(element, fit.plane_map, page=drawing.page,
                    controls={id(c): (at, fit.plane_map) for c, at in scan.controls},
                    left=findings)
        names.put(element, of=key)
    if fit.plane_map.is_affine and fit.foot is not None:
        # these controls lie in what was carried: they went by the pattern's map, and are to go by that of the floor
        # below it
        for element in [c for c, _ in scan.controls if inside(c) and not any(c is one for one in scan.carried)]:
            _move(element, fit.plane_map.compose(fit.face_map.invert()), drawing.page, "was-transform")
            names.put(element, of=key)
    for element, _ in scan.controls:
        names.put(element, role="control")
    for element in scan.carried:
        if names.get(element, "role") in _ROLES:
            names.put(element, role="trued")
        names.put(element, map=fit.map, scale=float(fit.scale), freedom=fit.freedom,
                  proved="no" if fit.sigma0_mm is None else "yes", far_mm=fit.far_mm)
        if fit.bulge is not None:
            names.put(element, bulge=float(fit.bulge))
        if fit.foot is not None:
            names.put(element, pattern_mm=float(fit.pattern_mm), camera_mm=float(fit.camera_mm))
        if fit.left_out:
            names.put(element, left_out="; ".join(fit.left_out))
        if fit.sigma0_mm is not None and fit.worst is not None:
            names.put(element, sigma0_mm=fit.sigma0_mm, worst_mm=float(np.hypot(*fit.worst.off)))
    return key, _gather_left(findings) + _note_page(fit.face_map.apply(scan.reach), drawing.page)


def _note_page(reach, page):
    low, high = reach.min(axis=0), reach.max(axis=0)
    if min(low) > -1 and high[0] < page.width_mm + 1 and high[1] < page.height_mm + 1:
        return []
    return [Finding("The work is %.0f mm by %.0f mm at true size and does not lie on the page, which is %.0f by %.0f "
                    "mm: enlarge the page (File > Document Properties > Resize to content)." % (
        *(high - low), page.width_mm, page.height_mm), key="off-the-page")]


def _gather_left(left):
    """One finding for each kind of thing that stayed behind."""
    told = []
    for why in dict.fromkeys(w for w, _ in left):
        who = [describe(e) for w, e in left if w == why]
        more = " and %d more" % (len(who) - 4) if len(who) > 4 else ""
        told.append(Finding("%s: %s%s." % (why, ", ".join(who[:4]), more), None, "stayed-behind",
                            number=float(len(who)),
                            unit="objects"))
    return told


def _redraw(element, plane_map, page, controls, left):
    """Everything in and below an element under a perspective; controls: {id(): (place or None, map)}; what cannot
    follow is put in `left` as (why, element).
    """
    kind = names.read_kind(element)
    if not kind or kind in _ASIDE or names.get(element, "role") == "layer":
        return
    for name in ("clip-path", "mask"):
        if (element.attrib.get(name) or "none") != "none":
            left.append(("A clip or mask stayed as it was", element))
    spot, floor = controls.get(id(element), (None, None))
    if spot is not None:
        _move(element, PlaneMap(floor.linearise(spot)), page, "was-transform")
    elif kind in _SHAPES:
        _redraw_shape(element, plane_map, page, left)
    elif kind == "text":
        _move(element, PlaneMap(plane_map.linearise(_find_start(element, page))), page, "was-transform")
        left.append(("Words cannot be bent and were only set in their place", element))
    elif kind in ("g", "a", "switch"):
        for child in element:
            _redraw(child, plane_map, page=page, controls=controls, left=left)
    elif kind == "image":
        left.append(("A picture cannot follow a perspective and stayed behind", element))
    else:
        left.append(("This cannot follow a perspective and stayed behind", element))


def _find_start(element, page):
    """Where words start, mm (2,)."""
    holder = next((t for t in element.iter() if isinstance(t.tag, str) and t.attrib.get("x") and t.attrib.get("y")),
                  element)
    try:
        at = [float(holder.attrib.get(k, "0").split()[0]) for k in ("x", "y")]
    except ValueError:
        at = [0.0, 0.0]
    return transforms.apply(find_total_map(element, page), np.array(at))


def _redraw_shape(element, plane_map, page, left):
    if names.read_kind(element) == "path" and not (element.attrib.get("d") or "").strip():
        return
    try:
        trace = read_trace(element, page)
    except EmptyPathError:
        return
    back, text = transforms.invert(find_total_map(element, page)), []
    for cubics, closed in trace.runs:
        try:
            mapped = map_cubics(plane_map, cubics, tolerance_mm=arrays.CURVE_MM / 2)
        except ValueError:
            raise PatternError("%s reaches beyond the horizon of this perspective." % describe(element),
                               "Take it out of the selection, or check the labels of the control points.",
                               tuple(map(float, cubics[0, 0]))) from None
        text.append(write_cubics(transforms.apply(back, mapped), closed=closed))
    if names.read_kind(element) != "path":
        element.tag = "{%s}path" % names.SVG
        for name in _SIZES:
            element.attrib.pop(name, None)
    # from these attributes the editor would redraw the shape as it was before
    for name in [n for n in element.attrib if n.startswith("{%s}" % names.SODIPODI)
                 or n in ("{%s}path-effect" % names.INKSCAPE, "{%s}original-d" % names.INKSCAPE)]:
        if not name.endswith("insensitive"):
            if name.endswith("path-effect"):
                left.append(("A path effect was taken into the path", element))
            del element.attrib[name]
    element.attrib["d"] = " ".join(text)
    mark_redrawn(element)


def carry_pieces(drawing: Drawing, found: Pieces, join: Any) -> None:
    """Carry Pieces by a Join: each piece by its rigid map, and the report of its True Up with it."""
    for element, piece in zip(found.elements, join.pieces):
        key = names.get(element, "of")
        reports = [e for e in drawing.root if isinstance(e.tag, str) and key and names.get(e, "layer") == TRUE_UP.layer
                   and names.get(e, "of") == key]
        for one in [element, *reports]:
            _move(one, piece.plane_map, drawing.page, "join-was")
        if names.get(element, "role") in _ROLES:
            names.put(element, role="trued")
        names.put(element, join_sigma0_mm=join.sigma0_mm, join_freedom=join.freedom,
                  join_worst_mm=float(np.hypot(*join.worst.off)), join_far_mm=piece.far_mm)
        if piece.scale is not None:
            names.put(element, join_scale=float(piece.scale))
    for element in found.points:
        names.put(element, role="control")
