"""A Plank written into a drawing and read back, with a guard that shows whether it was changed since."""
from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ..actions import FAIR, TURN
from ..errors import ChangedPlankError, PatternError
from ..geometry import arrays
from ..geometry.bezier import flatten_cubics
from ..geometry.curve import Curve
from ..geometry.polyline import measure_area_mm2
from ..model.plank import EDGE_NAMES, CornerGuess, Edge, Mark, Plank, PlankNames, Tick
from . import names, transforms
from .overlay import put_facts
from .path_text import spell_number
from .pathdata import read_path
from .read import find_total_map
from .write import LayerWriter, count_in_mm, make_layer, write_batten, write_report

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.page import SheetBlock
    from ..model.plank import Comb
    from .names import Element
    from .transforms import PageScale

__all__ = [
    "create_group",
    "describe_group",
    "find_original",
    "find_top_mm",
    "label_group",
    "measure_guard",
    "move_to_source",
    "read_names",
    "read_plank",
    "write_fair",
]

_AGAIN = ("Undo the change, or run %s again on the original, which lies in the plank's hidden Source layer."
          % FAIR.title)
_LABEL = "Plank: "
_ASPECT = 2e-5            # a length that changed by a larger share than this was not moved rigidly: it was stretched
_AREA_DECIMALS = 4        # further decimals differ between machines by rounding
_RIM_MM2 = 1.0            # areas that differ by more were changed: this is a hundredth of a mm along 100 mm of edge


def create_group(root: Element, page: PageScale, *, label: str) -> Element:
    """An empty plank group whose own coordinates are mm, at the top of the drawing."""
    group = etree.SubElement(root, "{%s}g" % names.SVG, {
        "id": names.find_free_id(root, "plank"), "{%s}groupmode" % names.INKSCAPE: "layer",
        "{%s}label" % names.INKSCAPE: label,
        **names.spell({"role": "plank", "fairing": "0"})})
    count_in_mm(group, page)
    return group


def describe_group(group: Element) -> str:
    """Words for one plank: 'strake 5 starboard (plank-1)'."""
    parts = [names.get(group, "name"), "strake %s" % names.get(group, "strake") if names.get(group, "strake") else "",
             names.get(group, "side")]
    return "%s (%s)" % (", ".join(p for p in parts if p) or "plank", group.get("id"))


def label_group(group: Element, plank: Plank) -> None:
    """Label a plank's layer with the plank's names, unless a user has given it a label."""
    key = "{%s}label" % names.INKSCAPE
    if not group.get(key) or group.get(key).startswith(_LABEL):
        group.set(key, _LABEL + (", ".join(p for p in (plank.name, "strake %s" % plank.strake if plank.strake else "",
                                                       plank.side) if p) or "not named"))


def read_names(group: Element) -> PlankNames:
    """PlankNames of a group, as the drawing has them."""
    told = {key: names.get(group, key).strip() for key in ("name", "strake", "side", "face", "forward")}
    return PlankNames(told["name"], told["strake"], told["side"], told["face"],
                      forward=told["forward"], thickness_mm=_number(group, "thickness-mm"),
                      assumed=tuple(names.get(group, "names-assumed").split()))


def move_to_source(group: Element, elements: Sequence[Element], page: PageScale) -> Element:
    """Put original artwork into the plank's hidden, locked Source layer; its shape and place on the page stay as they
    are.
    """
    layer = names.find_layer(group, "source")
    if layer is None:
        layer = make_layer(group, label="Source (original, untouched)", layer="source", hidden=True, locked=True,
                           before=group[0] if len(group) else None)
    inverse = transforms.invert(find_total_map(layer, page))
    for element in elements:
        if element.getparent() is layer:
            continue
        place = transforms.compose(inverse, find_total_map(element, page))
        layer.append(element)
        if np.abs(place - np.eye(2, 3)).max() > 1e-12:
            element.attrib["transform"] = transforms.format_matrix(place)
        elif element.attrib.get("transform"):
            del element.attrib["transform"]
        if names.get(element, "role") != "source":
            names.put(element, role="source")
    return layer


def measure_guard(plank: Plank) -> list[float]:
    """Lengths that no rigid move changes, mm: edges, diagonals, and how far the edges lie off the baseline at the
    quarters.
    """
    edges = [plank.edges[n].curve for n in EDGE_NAMES]
    corner = plank.find_corners()
    diagonals = [float(np.hypot(*(corner["upper fore"] - corner["lower aft"]))),
                 float(np.hypot(*(corner["lower fore"] - corner["upper aft"])))]
    start, along, _ = plank.find_axes()
    offsets = []
    for curve in edges[:2]:
        points = curve.evaluate(curve.find_places(curve.measure_length_mm() * np.array([0.25, 0.5, 0.75]))) - start
        offsets += [float(v) for v in points[:, 0] * along[1] - points[:, 1] * along[0]]
    return [c.measure_length_mm() for c in edges] + diagonals + offsets


def write_fair(group: Element, plank: Plank, *, page: PageScale, settings: Any,
               comb: Sequence[Comb] | None = None, report: SheetBlock | None = None) -> Element:
    """Write the fair plank into its group: attributes, edges, outline, marks, ticks and notes.

    settings : FairSettings, or dict
        The settings of the fairing, stored as attributes of the layer.
    comb : tuple of Comb, optional
    report : SheetBlock, optional
        The report for people, drawn to the left of everything in the drawing.
    """
    old = names.find_layer(group, FAIR.layer)
    following = old.getnext() if old is not None else None
    if old is not None:
        group.remove(old)
    layer = make_layer(group, label=FAIR.label, layer=FAIR.layer, before=following)
    if following is None:
        source = names.find_layer(group, "source")
        if source is not None:
            source.addnext(layer)
    number = int(names.get(group, "fairing", "0") or 0) + 1
    names.put(group, names_assumed=" ".join(plank.assumed))
    names.put(group, name=plank.name, strake=plank.strake, side=plank.side, face=plank.face, forward=plank.forward,
              seen_from=plank.seen_from,
              thickness_mm=float(plank.thickness_mm), length_mm=plank.measure_length_mm(),
              width_mm=plank.measure_width_mm(),
              area_mm2=spell_number(plank.measure_area_mm2(), _AREA_DECIMALS),
              guard_mm=" ".join("%.6f" % v for v in measure_guard(plank)),
              fairing=number)
    names.put(layer, fairing=number, **_list_said(settings, plank))
    put_facts(layer, (), plank.findings, plank=plank)
    out = LayerWriter(layer, find_total_map(layer, page))
    curves = plank.outline()
    out.add_curve(np.concatenate([c.cubics for c in curves]), role="outline", style="area", closed=True)
    for name in EDGE_NAMES:
        _write_edge(out, name, plank.edges[name])
    for mark in plank.marks:
        _write_mark(out, mark)
    for tick in plank.ticks:
        out.add_polyline(np.array([tick.foot, tick.tip]), role="tick", style="tick", edge=tick.edge)
    for one in comb or ():
        _write_comb(out, one)
    for batten in plank.battens:
        write_batten(out, batten)
    _write_findings(out, plank)
    if report is not None:
        write_report(layer, report, page)
    return layer


def _write_edge(out, name, edge):
    values: dict[str, Any] = {"%s_%s_mm" % (one.end, key): value for one in edge.guesses
                              for key, value in (("beyond", one.beyond_mm), ("band", one.band_mm))}
    if edge.told:
        values["told"] = edge.told
    if edge.wander_mm:
        values.update(wander_mm=edge.wander_mm, wander_length_mm=edge.wander_length_mm, wander_kind=edge.wander_kind,
                      stairs_mm=edge.stairs_mm)
    out.add_curve(edge.curve.cubics, role="edge", style="edge", edge=name, rms_mm=edge.rms_mm, worst_mm=edge.worst_mm,
                  freedom="%.2f" % edge.degrees_of_freedom, band_mm=edge.band_mm,
                  straight="yes" if edge.straight else "no", length_mm=edge.curve.measure_length_mm(), **values)


def _list_said(settings, plank):
    """Settings as attributes; empty ones are not written, nor those of a batten where there is none."""
    asked = settings if isinstance(settings, dict) else asdict(settings)
    return {key: value for key, value in asked.items() if value not in ("", 0.0)
            and (plank.battens or not key.startswith("batten"))}


def _write_mark(out, mark):
    x, y = mark.point
    values = {"edge": mark.edge, "station": mark.station, "error_mm": mark.error_mm, "residual_mm": mark.residual_mm,
                  "verdict": mark.verdict, **({"told": mark.told} if mark.told else {})}
    cross = [np.array([(x - 2.5, y), (x + 2.5, y)]), np.array([(x, y - 2.5), (x, y + 2.5)])]
    out.add_polylines(cross, role="mark", style="mark" if mark.verdict == "used" else "doubtful", **values)


def _write_comb(out, comb):
    teeth = [np.stack([f, t]) for f, t in zip(comb.feet, comb.tips)] + [comb.tips]
    out.add_polylines(teeth, role="comb", style="comb", edge=comb.edge, least_radius_mm=comb.least_radius_mm)
    for place in comb.inflections:
        out.add_circle(place, 4.0, role="inflection", style="inflection", edge=comb.edge)


def find_top_mm(plank: Plank) -> float:
    """Least y of a plank on the page: its middle may lie far above its corners."""
    return min(float(edge.curve.flatten(tolerance_mm=1.0)[:, 1].min()) for edge in plank.edges.values())


def _write_findings(out, plank):
    base = plank.find_baseline()
    corner = plank.find_corners()
    top = find_top_mm(plank)
    left = min(float(p[0]) for p in corner.values())
    loose = 0
    for finding in plank.findings:
        if finding.where is not None:
            x, y = finding.where
            out.add_circle((x, y), 7.0, role="ring", style="doubtful")
            outside = -1 if y < base[:, 1].mean() else 1
            out.add_text(finding.text, height_mm=5, at_mm=(x, y + outside * 14 + (5 if outside > 0 else 0)),
                         anchor="middle", style="warning")
        else:
            out.add_text(finding.text, height_mm=5, at_mm=(left, top - 40 - 9 * loose),
                         style="note" if finding.key == "wander" else "warning")
            loose += 1


def _number(element, name, otherwise=0.0):
    try:
        value = float(names.get(element, name, str(otherwise)))
    except ValueError:
        return otherwise
    return value if np.isfinite(value) else otherwise


def read_plank(group: Element, page: PageScale) -> Plank:
    """The plank of a group, checked against its guard.

    Raises
    ------
    PatternError
        If it was scaled, skewed, mirrored or bent since it was faired; the message says by how much. If it was made by
        turning a plank that has been faired again since.
    """
    if not names.get(group, "turned-from"):
        return _read_plank(group, page)
    _refuse_if_outdated(group)
    try:
        return _read_plank(group, page)
    except ChangedPlankError as error:
        original = find_original(group)
        remedy = "Undo the change, or run %s on %s again." % (
            TURN.title, describe_group(original) if original is not None else "the plank it was made from")
        raise PatternError(error.problem, remedy, error.where) from None


def find_original(group: Element) -> Element | None:
    """The group that a turned plank was made from, or None."""
    key = names.get(group, "turned-from")
    return next((g for g in names.find_roles(group.getroottree().getroot(), "plank") if g.get("id") == key),
                None) if key else None


def _refuse_if_outdated(group):
    """Refuse a turned plank whose original, or the original of that one, has been faired again since."""
    seen = []
    while group is not None and not any(group is one for one in seen):
        seen.append(group)
        original = find_original(group)
        if original is not None and names.get(original, "fairing") != names.get(group, "turned-fairing"):
            words = tuple(describe_group(g) for g in (seen[0], original))
            problem = ("The plank %s was made by turning %s, which has been faired again since." if group is seen[0]
                       else "The plank %s goes back to %s, which has been faired again since.")
            remedy = "Select %s and run %s again with the same settings." + (
                "" if group is seen[0] else " Then do so with each that was made of it.")
            raise PatternError(problem % words, remedy % (words[1], TURN.title), words[0])
        group = original


def _read_plank(group, page):
    layer = names.find_layer(group, FAIR.layer)
    label = describe_group(group)
    if layer is None:
        raise PatternError("The plank %s has no fair edges." % label, FAIR.first, label)
    edges = {}
    for element in names.find_roles(layer, "edge"):
        name = names.get(element, "edge")
        if name not in EDGE_NAMES or name in edges:
            raise ChangedPlankError("The fair plank has an edge too many ('%s')." % name, _AGAIN, label)
        total = find_total_map(element, page)
        _refuse_unless_rigid(total, label)
        runs = read_path(element.attrib.get("d"), where="%s edge of %s" % (name, label))
        if len(runs) != 1:
            raise ChangedPlankError("The %s edge has been cut into %d pieces." % (name, len(runs)), _AGAIN, label)
        edges[name] = Edge(name, Curve(transforms.apply(total, runs[0].cubics)), _number(element, "rms-mm"),
                           _number(element, "worst-mm"),
                           worst_point=(0.0, 0.0), degrees_of_freedom=_number(element, "freedom"),
                           band_mm=_number(element, "band-mm"),
                           straight=names.get(element, "straight") == "yes",
                           guesses=tuple(
                               CornerGuess(end, *(_number(element, "%s-%s-mm" % (end, key))
                                                  for key in ("beyond", "band")))
                               for end in ("fore", "aft") if names.get(element, end + "-beyond-mm")),
                           told=names.get(element, "told"),
                           wander_mm=_number(element, "wander-mm"),
                           wander_length_mm=_number(element, "wander-length-mm"),
                           wander_kind=names.get(element, "wander-kind", ""),
                           stairs_mm=_number(element, "stairs-mm"))
    missing = [n for n in EDGE_NAMES if n not in edges]
    if missing:
        raise ChangedPlankError("The fair plank has lost its %s edge." % missing[0], _AGAIN, label)
    try:
        plank = Plank(edges, names.get(group, "name"), names.get(group, "strake"),
                      names.get(group, "side", "starboard"),
                      face=names.get(group, "face", "inboard"), forward=names.get(group, "forward", "right"),
                      thickness_mm=_number(group, "thickness-mm"),
                      marks=_read_marks(layer, page, label), ticks=_read_ticks(layer, page, label),
                      findings=(), key=names.get(layer, "fairing"),
                      assumed=tuple(names.get(group, "names-assumed").split()))
    except PatternError as error:
        raise ChangedPlankError("The plank %s has been changed since it was faired: its edges no longer meet." % label,
                           _AGAIN, error.where) from None
    _refuse_if_changed(group, layer, plank, page, label=label)
    return plank


def _read_marks(layer, page, label):
    marks = []
    for element in names.find_roles(layer, "mark"):
        centre = transforms.apply(find_total_map(element, page),
                                  np.concatenate([r.cubics.reshape(-1, 2)
                                                  for r in read_path(element.attrib.get("d"), where=label)]))
        centre = (centre.min(axis=0) + centre.max(axis=0)) / 2
        marks.append(Mark((float(centre[0]), float(centre[1])), names.get(element, "edge"),
                          names.get(element, "station"),
                          _number(element, "error-mm"), residual_mm=_number(element, "residual-mm"),
                          verdict=names.get(element, "verdict", "used"), told=names.get(element, "told")))
    return tuple(marks)


def _read_ticks(layer, page, label):
    ticks = []
    for element in names.find_roles(layer, "tick"):
        ends = transforms.apply(find_total_map(element, page),
                                read_path(element.attrib.get("d"), where=label)[0].cubics[0, [0, 3]])
        ticks.append(Tick(tuple(map(float, ends[0])), tuple(map(float, ends[1])), names.get(element, "edge")))
    return tuple(ticks)


def _refuse_unless_rigid(total, label):
    linear = total[:, :2]
    along, across = np.hypot(*linear[:, 0]), np.hypot(*linear[:, 1])
    skew = abs(linear[:, 0] @ linear[:, 1]) / (along * across)
    if abs(along - 1) > _ASPECT or abs(across - 1) > _ASPECT:
        raise ChangedPlankError("The plank %s has been scaled since it was faired: %.5f along and %.5f across."
                           % (label, along, across), _AGAIN, label)
    if skew > _ASPECT:
        raise ChangedPlankError("The plank %s has been skewed since it was faired, by %.3f degrees."
                           % (label, np.degrees(np.arcsin(min(skew, 1.0)))), _AGAIN, label)
    if np.linalg.det(linear) < 0:
        raise ChangedPlankError("The plank %s has been mirrored: it would be the other hand." % label, _AGAIN, label)


def _refuse_if_changed(group, layer, plank, page, label):
    try:
        recorded = [float(v) for v in names.get(group, "guard-mm").split()]
    except ValueError:
        recorded = []
    found = measure_guard(plank)
    if len(recorded) != len(found):
        raise ChangedPlankError("The plank %s has lost its record of true lengths." % label, _AGAIN, label)
    what = ["length of the %s edge" % n for n in EDGE_NAMES] + ["diagonal from upper fore to lower aft",
                                                                "diagonal from lower fore to upper aft"]
    what += ["place of the %s edge at its %s" % (n, q) for n in ("upper", "lower")
             for q in ("fore quarter", "middle", "aft quarter")]
    off = [abs(a - b) for a, b in zip(recorded, found)]
    worst = int(np.argmax(off))
    if off[worst] > arrays.GUARD_MM:
        raise ChangedPlankError("The plank %s has been changed since it was faired: the %s is %.2f mm, and was %.2f mm."
                           % (label, what[worst], found[worst], recorded[worst]), _AGAIN, label)
    area = plank.measure_area_mm2()
    if abs(area - _number(group, "area-mm2", -1.0)) > _RIM_MM2:
        raise ChangedPlankError("The plank %s has been bent since it was faired: its area has changed by %.0f mm2."
                           % (label, area - _number(group, "area-mm2", -1.0)), _AGAIN, label)
    for element in names.find_roles(layer, "outline"):
        runs = read_path(element.attrib.get("d"), where=label)
        shape = transforms.apply(find_total_map(element, page),
                                 flatten_cubics(runs[0].cubics, tolerance_mm=arrays.FLATTEN_MM))
        drawn = abs(measure_area_mm2(shape))
        if len(runs) != 1 or abs(drawn - area) > _RIM_MM2 + 2 * arrays.FLATTEN_MM * plank.measure_length_mm():
            raise ChangedPlankError("The outline of plank %s no longer agrees with its edges." % label, _AGAIN, label)
