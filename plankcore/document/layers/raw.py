"""The raw trace that True Up keeps: a copy of all it carries, as it was before, in a hidden and locked layer.

A map that redraws paths (perspective, lens) is taken back by putting the copy in the place of what was redrawn, so that
a second run starts from the raw trace and maps do not add up. What was done to the trued work in between is not lost:
labels, styles and words of what is still there are taken over, controls that were deleted stay deleted, and what was
drawn or redrawn since is kept in place, in a layer of its own; findings name each of these.

In the layer (`plank:layer` = raw, `plank:of` as the work) each element has `plank:raw-of`, the id of what was made of
it; the outermost also has its former transform. A picture that is embedded in the drawing is not stored twice: its copy
has `plank:picture` in its place.
"""
from __future__ import annotations

import copy
import zlib
from typing import TYPE_CHECKING

from ...model.plank import Finding
from .. import names, transforms
from ..control_labels import looks_like_control
from ..read import describe, find_total_map
from ..write import make_layer

if TYPE_CHECKING:
    from typing import Sequence

    from ..drawing import Drawing
    from ..names import Element

__all__ = ["find_raw", "mark_redrawn", "put_raw_back", "write_raw"]

_LABEL = "{%s}label" % names.INKSCAPE
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_SHAPE = {"d", "transform", "x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "points", "x1", "y1", "x2",
          "y2", "pathLength", "id", *_HREFS}


def _local(element):
    return element.tag.rsplit("}", 1)[-1] if isinstance(element.tag, str) else ""


def _walk(element):
    return (e for e in element.iter() if isinstance(e.tag, str))


def _sign(element):
    return "%08x" % zlib.crc32(" ".join((element.attrib.get("d") or "").split()).encode())


def mark_redrawn(element: Element) -> None:
    """Store on a redrawn path what it looked like, so that a later change to it can be seen."""
    names.put(element, redrawn=_sign(element))


def write_raw(drawing: Drawing, carried: Sequence[Element], *, key: str) -> None:
    """Copy what is to be carried into the layer, before it is changed. Pictures by themselves are not copied: no map
    changes them."""
    carried = [e for e in carried if _local(e) != "image"]
    if not carried:
        return
    layer = make_layer(drawing.root, label="Raw trace (%s, before True Up)"
                       % (carried[0].attrib.get(_LABEL) or carried[0].get("id")), layer="raw", hidden=True, locked=True)
    names.put(layer, of=key)
    layer.set("id", names.find_free_id(drawing.root, "plank-raw"))
    taken = {e.attrib.get("id") for e in _walk(drawing.root)}
    back = transforms.invert(find_total_map(layer, drawing.page))
    for element in carried:
        place = transforms.compose(back, find_total_map(element, drawing.page))
        twin = copy.deepcopy(element)
        twin.tail = None
        for one in _walk(twin):
            own = one.attrib.get("id")
            if own:
                number = 1
                while "raw-%d-%s" % (number, own) in taken:
                    number += 1
                taken.add("raw-%d-%s" % (number, own))
                names.put(one, raw_of=own)
                one.attrib["id"] = "raw-%d-%s" % (number, own)
            if _local(one) == "image":
                for name in _HREFS:
                    if (one.attrib.get(name) or "").startswith("data:"):
                        del one.attrib[name]
                        names.put(one, picture="in the work")
        twin.attrib[names.attribute("was-transform")] = element.attrib.get("transform") or ""
        twin.attrib["transform"] = transforms.format_matrix(place)
        layer.append(twin)


def find_raw(root: Element, key: str) -> Element | None:
    """The layer of one True Up, or None."""
    return next((e for e in root if isinstance(e.tag, str) and names.get(e, "layer") == "raw"
                 and names.get(e, "of") == key), None)


def put_raw_back(drawing: Drawing, work: Element, layer: Element) -> tuple[Element, list[Finding]]:
    """Put the raw trace in the place of a work that was redrawn.

    Returns
    -------
    raw : element, or None where the layer has none for this work
    findings : list of Finding
    """
    stored = next((e for e in layer if isinstance(e.tag, str) and names.get(e, "raw-of") == work.get("id")), None)
    if stored is None:
        return None, []
    raw = copy.deepcopy(stored)
    former = raw.attrib.pop(names.attribute("was-transform"), "")
    raw.attrib.pop("transform", None)
    if former:
        raw.attrib["transform"] = former
    here = {e.attrib.get("id"): e for e in _walk(work) if e.attrib.get("id")}
    known = {names.get(e, "raw-of") for e in _walk(raw)}
    outside = {e.attrib.get("id") for e in _walk(drawing.root)} - set(here)
    gone, back = [], []
    for one in list(_walk(raw)):
        own = one.attrib.pop(names.attribute("raw-of"), "")
        if not own:
            continue
        one.attrib["id"] = own if own not in outside else names.find_free_id(drawing.root, own)
        now = here.get(own)
        if now is None and one is not raw:
            label = one.attrib.get(_LABEL) or ""
            if looks_like_control(label) or names.get(one, "picture"):
                gone.append("'%s'" % label if label else own)
                one.getparent().remove(one)
            elif not any(names.get(p, "raw-of") or p.attrib.get("id") in back for p in one.iterancestors()
                         if p is not raw):
                back.append(own)
        elif now is not None:
            _take_over(one, now)
    kept = _keep_changes(drawing, work, known)
    place = work.getparent()
    raw.tail = work.tail
    place.replace(work, raw)
    findings = []
    for who, key, said in (
            (gone, "deleted-since", "Deleted since the former True Up, and left away again"),
            (back, "missing-since", "Missing since the former True Up, and back from the raw trace"),
            (kept, "drawn-since", ("Drawn or changed on the trued scan since, and kept as it lay in the layer 'Drawn "
                                   "on the trued scan'"))):
        if who:
            more = " and %d more" % (len(who) - 6) if len(who) > 6 else ""
            findings.append(Finding("%s: %s%s." % (said, ", ".join(who[:6]), more), None, key, number=float(len(who)),
                                    unit="objects"))
    return raw, findings


def _take_over(raw, now):
    """Labels, styles and words as they are now."""
    for name, value in now.attrib.items():
        if name not in _SHAPE and not name.startswith(("{%s}" % names.NAMESPACE, "{%s}" % names.SODIPODI)):
            raw.attrib[name] = value
    if names.get(raw, "picture"):
        for name in _HREFS:
            if now.attrib.get(name):
                raw.attrib[name] = now.attrib[name]
        del raw.attrib[names.attribute("picture")]
    if _local(raw) in ("text", "tspan") and "".join(raw.itertext()) != "".join(now.itertext()):
        inner, other = [e for e in _walk(raw) if not len(e)], [e for e in _walk(now) if not len(e)]
        if len(inner) == len(other):
            for mine, theirs in zip(inner, other):
                mine.text = theirs.text


def _keep_changes(drawing, work, known):
    """Move elements that the raw trace does not have, and ones redrawn by hand, to a layer of their own; returns how to
    name them."""
    def is_ours(element):
        return names.get(element, "role") in ("ring", "note", "layer", "residual")
    new = [e for e in _walk(work) if e is not work and e.attrib.get("id") and e.attrib["id"] not in known
           and not is_ours(e) and _local(e) not in ("tspan", "title", "desc")]
    new = [e for e in new if not any(p is n for p in e.iterancestors() for n in new)]
    changed = [e for e in _walk(work) if names.get(e, "redrawn") and names.get(e, "redrawn") != _sign(e)
               and not any(e is n for n in new)]
    if not new + changed:
        return []
    layer = make_layer(drawing.root, label="Drawn on the trued scan", layer="")
    for name in ("role", "layer"):
        layer.attrib.pop(names.attribute(name), None)
    if work.attrib.get("style"):
        layer.attrib["style"] = work.attrib["style"]
    layer.set("id", names.find_free_id(drawing.root, "plank-kept"))
    back = transforms.invert(find_total_map(layer, drawing.page))
    told = [describe(e) for e in new + changed]
    for element in new + changed:
        place = transforms.compose(back, find_total_map(element, drawing.page))
        if element in changed:
            element.attrib["id"] = names.find_free_id(drawing.root, element.attrib["id"] + "-kept")
            element.attrib.pop(names.attribute("redrawn"), None)
        layer.append(element)
        element.attrib["transform"] = transforms.format_matrix(place)
    return told
