"""Everything on a plank, whichever action wrote it, is read; and a turned plank with the same layers is written beside
it."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ...actions import ACTIONS, ALLOWANCE, FAIR, JOINTS, PLOT, STATIONS, TURN
from ...model.drawing import PlankLayers
from ...model.plank import Comb
from .. import names, transforms
from ..overlay import drop_facts, read_findings, read_overlay, write_overlay
from ..pathdata import read_path
from ..places import measure_box
from ..planks import create_group, write_fair
from ..read import find_total_map
from ..write import LayerWriter

if TYPE_CHECKING:
    from typing import Sequence

    from ...geometry.arrays import Points
    from ...model.drawing import Overlay, SawLine, SheetText, Station, Turn
    from ..drawing import Drawing
    from ..names import Element

__all__ = [
    "create_copy",
    "find_copy",
    "list_not_carried",
    "list_own_layers",
    "put_own_strake",
    "read_boxes",
    "read_judged_side",
    "read_layers",
    "read_own_strake",
    "read_symmetry",
    "write_note",
]

# layers that concern one plank alone (its trace, its boards, its sheet, its checks), or that have readers of their own
_NOT_CARRIED = ("source", *(one.layer for one in ACTIONS if not one.carried))
# attributes that are not copied: they are written again for each layer or group
_ANEW = ("role", "layer", "fairing", "guard_mm", "carried", "turned", "turned_from", "turned_fairing", "asked",
         "symmetry", "own_strake")


def read_layers(drawing: Drawing, group: Element, *, stations: Sequence[Station], saw: SawLine | None) -> PlankLayers:
    """The plank of a group and everything that actions drew on it since the last fairing: PlankLayers.

    stations, saw : as read from their own layers. Every other layer with a guard is read as an Overlay, whichever
    action wrote it; anything else in the group is not carried.

    Raises
    ------
    PatternError
        If any of it was changed since, or made before the last fairing.
    """
    plank = drawing.read_plank(group)
    fair = names.find_layer(group, FAIR.layer)
    overlays = {}
    for layer in _list_layers(group):
        name = names.get(layer, "layer")
        if name in _NOT_CARRIED or not names.get(layer, "guard-mm"):
            continue
        overlay = read_overlay(drawing, group, layer=name, action="the action that made it")
        if overlay is not None:
            overlays[name] = replace(overlay, findings=read_findings(
                layer, plank, drawing.page, action="the action that made it"))
    struck = names.find_layer(group, STATIONS.layer)
    square_to, told = ("", ()) if struck is None else (names.get(struck, "square-to"),
                                                       read_findings(struck, plank, drawing.page,
                                                                     action=STATIONS.title))
    if saw is not None:
        saw = replace(saw, findings=read_findings(names.find_layer(group, ALLOWANCE.layer), plank, drawing.page,
                                                  action=ALLOWANCE.title))
    return PlankLayers(replace(plank, findings=read_findings(fair, plank, drawing.page, action=FAIR.title)),
                       _read_combs(fair, drawing.page),
                       stations=tuple(stations), square_to=square_to, station_findings=told, saw=saw, overlays=overlays)


def list_not_carried(group: Element) -> tuple[str, ...]:
    """What of a plank's fairing is its own and stays with it when it is turned: 'batten', 'report'."""
    fair = names.find_layer(group, FAIR.layer)
    return tuple(role for role in ("batten", "report") if names.find_roles(fair, role))


def _list_layers(group):
    return [c for c in group if isinstance(c.tag, str) and names.get(c, "role") == "layer" and names.get(c, "layer")]


def _read_places(element, page):
    """Control points of a shape that we wrote, one array (k, 4, 2) for each run, mm."""
    total = find_total_map(element, page)
    return [transforms.apply(total, r.cubics)
            for r in read_path(element.attrib.get("d"), where=names.get(element, "role"))]


def _read_combs(fair, page):
    """The curvature combs, read from what was drawn: teeth, then the line through their tips."""
    found = []
    for element in names.find_roles(fair, "comb"):
        edge = names.get(element, "edge")
        *teeth, _ = _read_places(element, page)
        rings = [np.concatenate([c.reshape(-1, 2) for c in _read_places(r, page)])
                 for r in names.find_roles(fair, "inflection") if names.get(r, "edge") == edge]
        middles = tuple(tuple(map(float, (r.min(axis=0) + r.max(axis=0)) / 2)) for r in rings)
        found.append(Comb(edge, np.stack([t[0, 0] for t in teeth]), tips=np.stack([t[-1, 3] for t in teeth]),
                          inflections=middles,
                          least_radius_mm=float(names.get(element, "least-radius-mm"))))
    return tuple(found)


def read_boxes(drawing: Drawing, group: Element, *, without: Element | None = None) -> list[Points]:
    """Bounding box of everything in each plank's group, hidden or not: least and greatest x and y, (2, 2) mm; this
    group's first.

    without : a group to leave out, since it is about to be replaced.
    """
    others = [g for g in drawing.find_groups() if g is not group and g is not without]
    boxes = [measure_box(list(g.iter("{%s}path" % names.SVG)), drawing.page) for g in [group] + others]
    return [box for box in boxes if box is not None]


def read_symmetry(group: Element) -> str:
    """Who or what found the hull symmetrical, where the plank was made from the other side's; else ''."""
    return names.get(group, "symmetry")


def read_own_strake(copy: Element | None) -> str:
    """The strake that a copy was given instead of its original's, or ''."""
    return "" if copy is None else names.get(copy, "own-strake")


def put_own_strake(copy: Element, strake: str) -> None:
    """Store the strake that a copy was given, so that the copy keeps it when it is turned again."""
    if strake:
        names.put(copy, own_strake=strake)


def find_copy(drawing: Drawing, group: Element, turn: Turn) -> Element | None:
    """The plank that was made from this one for the same side and with the same face up, or None."""
    for one in drawing.find_groups():
        if names.get(one, "turned-from") == group.get("id") and names.get(one, "side") == turn.side and names.get(
                one, "seen-from") == turn.face_up:
            return one
    return None


def list_own_layers(copy: Element) -> list[str]:
    """Labels of the layers that were made on a turned plank itself: they are lost when it is turned again."""
    return [one.get("{%s}label" % names.INKSCAPE) for one in _list_layers(copy) if names.get(one, "carried") != "yes"
            and names.get(one, "layer") not in (TURN.layer, PLOT.layer)]


def read_judged_side(group: Element) -> str:
    """The side of the boat whose joints those of this plank were judged against."""
    joints = names.find_layer(group, JOINTS.layer)
    return (names.get(joints, "judged-side") if joints is not None else "") or names.get(group, "side")


def create_copy(drawing: Drawing, group: Element, layers: PlankLayers, turn: Turn, *, copy: Element | None,
                symmetry: str, asked: str) -> Element:
    """A group for a turned plank with its Fair layer and overlays, in place of an earlier one if there is such.

    The saw line is written afterwards, since it stores the guard of the Hollow and Bevels that it was made for.

    Parameters
    ----------
    group : the plank it is made from, which stays as it is.
    layers : PlankLayers
        As they are after the turn.
    turn : Turn
    copy : group from find_copy, or None
    symmetry, asked : str
        Kept as attributes.

    Returns
    -------
    The new group, with the id of the earlier one.
    """
    plank = layers.plank
    words = (plank.name, "strake %s" % plank.strake if plank.strake else "", plank.side, "%s face up" % turn.face_up)
    new = create_group(drawing.root, drawing.page, label="Plank: " + ", ".join(w for w in words if w))
    if copy is not None:
        names.put(new, fairing=names.get(copy, "fairing", "0"))
        if copy.getparent() is drawing.root:
            copy.addprevious(new)
        copy.getparent().remove(copy)
        new.set("id", copy.get("id"))
    names.put(new, **_list_attributes(group))
    names.put(new, turned_from=group.get("id"), turned_fairing=names.get(group, "fairing"),
              turned="mirrored" if turn.mirrored else "same", asked=asked)
    if symmetry:
        names.put(new, symmetry=symmetry)
    write_fair(new, plank, page=drawing.page, settings=_list_attributes(names.find_layer(group, FAIR.layer)),
               comb=layers.combs or None)
    own = {names.get(one, "layer"): one for one in reversed(_list_layers(group))}
    for name, overlay in layers.overlays.items():
        old = own[name]
        out = write_overlay(drawing, new, overlay, layer=name, label=old.get("{%s}label" % names.INKSCAPE),
                            **drop_facts(_list_attributes(old)))
        if name == JOINTS.layer:
            names.put(out.layer, judged_side=read_judged_side(group))
    return new


def write_note(drawing: Drawing, copy: Element, overlay: Overlay, texts: Sequence[SheetText]) -> None:
    """Write the layer Turned of a turned plank, after all other layers: facts for the sheet, and the same lettered on
    the drawing.

    overlay : Overlay of facts. texts : SheetText.
    """
    for layer in _list_layers(copy):
        names.put(layer, carried="yes")
    out = write_overlay(drawing, copy, overlay, layer=TURN.layer, label=TURN.label)
    # in a group of their own, outside the overlay and its guard: the sheet letters these facts elsewhere, and the user
    # may move these words
    words = LayerWriter(etree.SubElement(out.layer, "{%s}g" % names.SVG), find_total_map(out.layer, drawing.page))
    for text in texts:
        words.add_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                       anchor=text.anchor, role=text.role, style=text.style)


def _list_attributes(element):
    """Those of our attributes of a layer or group that its copy keeps, as names.put takes them."""
    return {name: value for name, value in names.list_values(element).items() if name not in _ANEW}
