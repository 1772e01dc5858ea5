"""The present contents of a plank's layers: which actions were run, and what is plotted and reported of them."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ...actions import ACTIONS, ALLOWANCE, CHECK, FAIR, FASTENINGS, JOINTS, OVERLAYS, PLOT, SECTION, STATIONS
from ...errors import PatternError
from ...model.page import PlankMatter
from .. import names, transforms
from ..overlay import read_findings, read_overlay, write_overlay
from ..pathdata import cut_pieces, read_path, read_places
from ..places import measure_box, measure_boxes
from ..planks import find_original
from ..read import describe, find_total_map, is_hidden
from ..write import read_scan_facts
from .lines import read_saw_line
from .sections import read_struck

if TYPE_CHECKING:
    from typing import Any, Callable, Mapping, Sequence

    from ...model.check import Measured, PlankState
    from ...model.drawing import Overlay
    from ...model.record import ToldLayer
    from ..drawing import Drawing
    from ..names import Element
    from ..write import LayerWriter

__all__ = ["gather_state", "name_sheet", "read_matter", "read_sections", "write_check"]

# name of each reader, the action whose layer it reads, and the value where that layer is missing
_READ = (("stations", STATIONS, ()), ("saw", ALLOWANCE, None), ("board", SECTION, None), ("joints", JOINTS, ((), ())),
         ("fastenings", FASTENINGS, None))
# overlays that those readers read completely; all others are read as plain overlays
_READ_WHOLE = (SECTION, FASTENINGS)
# layers that are not searched for lettering
_QUIET = ("source", CHECK.layer)


def gather_state(drawing: Drawing, group: Element, *, read: Mapping[str, Callable[[Drawing, Element], Any]],
                 measured: Measured) -> PlankState:
    """All that is known of a plank.

    Parameters
    ----------
    drawing : Drawing
    group : plank group
    read : dict
        'stations', 'saw', 'board', 'joints' and 'fastenings' to the reader of each, called with drawing and group.
    measured : Measured

    Returns
    -------
    PlankState

    Raises
    ------
    PatternError
        If the fair plank itself has been changed: then there is nothing to check.
    """
    from ...model.check import PlankState  # loaded by those who check, not by those who plot

    plank = drawing.read_plank(group)
    troubles, found = [], {}
    for name, action, empty in _READ:
        found[name] = _try(lambda name=name: read[name](drawing, group), group, layer=action.layer, empty=empty,
                           troubles=troubles)
    overlays = {one.layer: _try(lambda one=one: read_overlay(drawing, group, layer=one.layer, action=one.title),
                                group, layer=one.layer, empty=None, troubles=troubles) for one in OVERLAYS
                if one not in _READ_WHOLE}
    told = {layer: overlay.facts for layer, overlay in overlays.items() if overlay is not None}
    sheet = _try(lambda: drawing.find_fresh_layer(group, layer=PLOT.layer, action=PLOT.title), group,
                 layer=PLOT.layer, empty=None,
                 troubles=troubles)
    joints, parts = found["joints"]
    layers = [c for c in group if names.get(c, "role") == "layer" and names.get(c, "layer") not in ("", *_QUIET)]
    fresh = {names.get(one, "layer"): one for one in layers
             if names.get(one, "fairing") == names.get(names.find_layer(group, FAIR.layer), "fairing")}
    titles = {one.layer: one.title for one in ACTIONS}
    told_there = {name: _try(lambda name=name, one=one: read_findings(one, plank, drawing.page,
                                                                      action=titles.get(name, CHECK.title)),
                             group, layer=name, empty=(), troubles=troubles) for name, one in fresh.items()}
    first = _find_first(group)
    joint_layer = names.find_layer(group, JOINTS.layer) if JOINTS.layer in told else None
    asked = {k: names.get(joint_layer, k.replace("_", "-"))
             for k in ("rule", "fore_end", "aft_end", "failing", "judged_side")} if joint_layer is not None else {}
    return PlankState(
        plank=plank, measured=measured, stations=tuple(found["stations"]), saw=found["saw"],
        saw_curves=found["saw"].curves if found["saw"] is not None else _read_saw_curves(drawing, group),
        board=found["board"], joints=joints, parts=parts, joint_settings={k: v for k, v in asked.items() if v},
        facts=told, fastenings=found["fastenings"],
        findings=told_there,
        layers={names.get(one, "layer"): one.get("{%s}label" % names.INKSCAPE) or "" for one in layers},
        troubles=tuple(troubles), scans=tuple(_read_scans(drawing, group)), sheet_bars=_read_bars(sheet),
        turned=bool(names.get(group, "turned-from")),
        first_seen_from=names.get(first, "seen-from") or plank.seen_from, first_side=names.get(first, "side")
        or plank.side, symmetry=names.get(group, "symmetry"),
        shortest_wave_mm=_read_wave(group), boxes=tuple(_measure_boxes(drawing, group)),
        clutter=_measure_words(drawing, group))


def write_check(drawing: Drawing, group: Element, overlay: Overlay) -> LayerWriter:
    """Write what the checks say in place of the plank's layer `check`."""
    return write_overlay(drawing, group, overlay, layer=CHECK.layer, label=CHECK.label)


def _try(reader, group, layer, empty, troubles):
    """What a reader returns. Where it refuses, the reason is added to the troubles, once, and `empty` is returned."""
    from ...model.check import Trouble

    try:
        value = reader()
    except PatternError as error:
        element = names.find_layer(group, layer)
        label = (element.get("{%s}label" % names.INKSCAPE) if element is not None else "") or layer
        if all(t.problem != error.problem for t in troubles):
            troubles.append(Trouble(label, error.problem, error.remedy, None if error.where is None
                                    or isinstance(error.where, str) else tuple(map(float, error.where))))
        return empty
    return empty if value is None else value


def _find_first(group):
    """The plank that this one goes back to through turns: the one that was scanned. The plank itself where it was not
    turned, or where that one is gone."""
    seen = []
    while not any(group is one for one in seen):
        seen.append(group)
        original = find_original(group)
        group = original if original is not None else group
    return group


def _read_wave(group):
    try:
        value = float(names.get(names.find_layer(group, FAIR.layer), "shortest-wave-mm"))
    except ValueError:
        return 600.0
    return value if np.isfinite(value) and value > 0 else 600.0


def _read_saw_curves(drawing, group):
    """The four curves of a saw line that is out of date, or () where it is missing or cannot be read: whether it still
    holds the plank can be checked all the same."""
    layer = names.find_layer(group, ALLOWANCE.layer)
    element = next(iter(names.find_roles(layer, "saw")), None) if layer is not None else None
    if element is None:
        return ()
    try:
        runs = read_path(element.attrib.get("d"), where="saw line")
        return cut_pieces(transforms.apply(find_total_map(element, drawing.page), runs[0].cubics),
                          names.get(element, "pieces"))
    except (PatternError, ValueError, IndexError):
        return ()


def _read_places(element, page):
    """Ends and control points (n, 2) of a path, mm."""
    return transforms.apply(find_total_map(element, page),
                            read_places(element.attrib.get("d"), where=names.get(element, "role"))[0])


def _read_scans(drawing, group):
    """What True Up Scan recorded on the artwork that a plank was read from; where there is nothing, on all artwork
    outside planks, since marks may have been read from that."""
    from ...model.check import ScanProof

    source = names.find_layer(group, "source")
    inside = [e for e in names.find_roles(source, "trued") + names.find_roles(source, "source")
              if names.get(e, "proved")] if source is not None else []
    every = inside or [e for e in drawing.root.iter() if isinstance(e.tag, str) and names.get(e, "proved")
                       and not any(names.get(p, "role") == "plank" for p in e.iterancestors())]
    for element in every:
        try:
            worst, far = (float(names.get(element, n, "0") or 0) for n in ("worst-mm", "far-mm"))
        except ValueError:
            worst, far = 0.0, 0.0
        yield ScanProof(describe(element), names.get(element, "proved") == "yes", worst, far)


def _read_bars(sheet):
    """{direction: length} of a sheet's longest scale bars."""
    found = {}
    for element in names.find_roles(sheet, "scale-bar") if sheet is not None else ():
        try:
            found[names.get(element, "along")] = max(float(names.get(element, "length-mm")),
                                                     found.get(names.get(element, "along"), 0.0))
        except ValueError:
            continue
    return found


def _list_paths(parent, *, without=()):
    """Visible paths below an element, layers of these names left out."""
    found = []
    for element in parent:
        if not isinstance(element.tag,
                          str) or is_hidden(element) or names.get(element, "layer") in without or element.tag.rsplit(
                "}", 1)[-1] in ("defs", "metadata", "clipPath", "mask"):
            continue
        if element.tag == "{%s}path" % names.SVG:
            found.append(element)
        else:
            found += _list_paths(element, without=without)
    return found


def _measure_boxes(drawing, group):
    """Boxes of all that lies on the page: this plank without what the checks wrote, then every other plank and every
    other object at the top of the drawing or of a layer."""
    yield measure_box(_list_paths(group, without=_QUIET), drawing.page)
    rest = [c for c in drawing.root if c is not group and isinstance(c.tag, str) and not is_hidden(c)]
    while rest:
        one = rest.pop()
        inner = [c for c in one if isinstance(c.tag, str)]
        if any(c is group for c in one.iterdescendants()) or (names.get(one, "role") != "plank" and inner
                                                              and "{%s}groupmode" % names.INKSCAPE in one.attrib):
            rest += [c for c in inner if c is not group and not is_hidden(c)]
            continue
        box = measure_box([one] if one.tag == "{%s}path" % names.SVG else _list_paths(one), drawing.page)
        if box is not None:
            yield box


def _measure_words(drawing, group):
    """Where words are lettered on the plank, (n, 4): least and greatest x and y of each."""
    boxes = measure_boxes([e for e in _list_paths(group, without=_QUIET) if names.get(e, "text")], drawing.page)
    return boxes[np.isfinite(boxes).all(axis=(1, 2))].reshape(-1, 4)


def read_matter(drawing: Drawing, group: Element) -> PlankMatter:
    """The PlankMatter to plot: the plank as it is struck on the board, its stations, saw line and overlays, and what
    was said when its scans were trued.

    Raises
    ------
    PatternError
        If a layer was changed, or is older than the plank's fairing.
    """
    plank, stations, board = read_struck(drawing, group)
    # marks lie on the pattern, so their residuals are measured again on the faired plank, positive outside its edge
    faired = drawing.read_plank(group)
    plank = replace(plank, marks=tuple(replace(m, residual_mm=faired.measure_outside_mm(m)) for m in faired.marks))
    overlays = [read_overlay(drawing, group, layer=one.layer, action=one.title) for one in OVERLAYS]
    return PlankMatter(plank, tuple(stations), saw=read_saw_line(drawing, group),
                       overlays=tuple(o for o in overlays if o is not None),
                       board_includes=board.includes if board is not None else (),
                       scans=tuple(read_scan_facts(drawing)),
                       findings=tuple(one for layer in read_sections(drawing, group) for one in layer.findings))


def name_sheet(groups: Sequence[Element], what: str = "sheet") -> str:
    """What follows the plank's names in a file name: a copy with its other face up must not overwrite its original's
    files."""
    copy = len(groups) == 1 and names.get(groups[0], "turned-from")
    return "%s face up %s" % (names.get(groups[0], "seen-from"), what) if copy else what


def read_sections(drawing: Drawing, group: Element) -> list[ToldLayer]:
    """The facts of all layers of a plank, whichever action made them, and the findings lettered on them.

    Returns
    -------
    list of ToldLayer
        For fairing, stations and saw line only findings, and no heading.

    Raises
    ------
    PatternError
        If a layer was changed, or is older than the plank's fairing.
    """
    from ...model.record import ToldLayer  # loaded by the record alone

    plank, found = drawing.read_plank(group), []
    for one in ACTIONS:
        if one not in OVERLAYS and one not in (FAIR, STATIONS, ALLOWANCE):
            continue
        layer = drawing.find_fresh_layer(group, layer=one.layer, action=one.title)
        told = read_findings(layer, plank, drawing.page, action=one.title) if layer is not None else ()
        if one in OVERLAYS:
            overlay = read_overlay(drawing, group, layer=one.layer, action=one.title)
            found.append(ToldLayer(one.heading, one.title, None if overlay is None else overlay.facts, told))
        else:
            found.append(ToldLayer("", one.title, (), told))
    return found
