"""An action's layer: drawn from an Overlay in the styles of its roles, its facts written beside it, and read back."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import STATIONS
from ..errors import PatternError
from ..geometry.lettering import text_width_mm
from ..model.drawing import VERDICTS, Fact, Overlay, Place, SheetLine, SheetText, list_words
from ..model.plank import Finding
from . import names, transforms
from .pathdata import read_path
from .places import measure_box, measure_boxes, measure_layer_guard, measure_lettered_guard
from .read import find_total_map

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..model.plank import Plank
    from .drawing import Drawing
    from .names import Element
    from .transforms import PageScale
    from .write import LayerWriter

__all__ = [
    "BLACK",
    "BLUE",
    "GREEN",
    "PURPLE",
    "VERMILION",
    "drop_facts",
    "put_facts",
    "read_facts",
    "read_findings",
    "read_look",
    "read_overlay",
    "read_words",
    "style_for",
    "write_overlay",
]

# each stands out from white by 4.5 to 1 or more (WCAG 2, contrast ratio), and from each other for those who see no red,
# green or blue (tests/unit/document/test_looks.py); no two kinds of line differ by colour alone
BLACK, BLUE, VERMILION, GREEN, PURPLE = "#000000", "#0072b2", "#b34700", "#005028", "#8c2f6b"

_LINES = {
    "edge": (BLUE, 0.35, None), "outline": (BLUE, 0.35, "6,2"), "saw": (VERMILION, 0.5, None),
    # 1/1000 in: cutters' drivers recognise cuts by such thin lines (common practice, no source)
    "hairline": (VERMILION, 0.025, None),
    "station": (BLACK, 0.3, "10,2,1.5,2"), "mark": (GREEN, 0.3, None), "doubtful": (VERMILION, 0.5, None),
    "tick": (GREEN, 0.25, "1.5,1"), "band": (BLUE, 0.15, "1,2"), "comb": (PURPLE, 0.15, None),
    "inflection": (PURPLE, 0.4, None),
    "note": (BLACK, 0.3, None), "warning": (VERMILION, 0.4, None), "scale-bar": (BLACK, 0.3, None),
    "sheet": (BLACK, 0.2, "3,3"),
    "drawn-face": (BLUE, 0.35, "14,2"), "other-face": (GREEN, 0.35, "3,2"), "section": (BLACK, 0.35, None),
    "bevel": (VERMILION, 0.7, None),
    "section-line": (BLUE, 0.5, None), "stock-face": (BLACK, 0.15, "1,1.5"),
    "stock-board": (BLACK, 0.6, None), "stock-sap": (GREEN, 0.35, "12,4"), "stock-defect": (VERMILION, 0.5, None),
    "stock-grain": (GREEN, 0.15, "20,3,4,3"),
    "arrow": (BLACK, 0.4, None), "join": (PURPLE, 0.35, None),
    "joint": (PURPLE, 0.6, None), "joint-hidden": (PURPLE, 0.5, "4,2"), "joint-middle": (PURPLE, 0.25, "10,2,1,2"),
    "block": (PURPLE, 0.35, "7,3"),
    "register": (BLACK, 0.3, None), "datum": (BLACK, 0.15, "1,3"), "neighbour": (GREEN, 0.6, None),
    "part": (BLUE, 0.45, "16,2"),
    "grid": (BLACK, 0.1, None), "hatch": (BLUE, 0.15, None), "map-joint": (BLACK, 0.7, None),
    "failing": (VERMILION, 0.5, "2,1.2"),
    "held": (PURPLE, 0.5, "6,2.5"), "report": (BLACK, 0.25, None), "report-frame": (BLACK, 0.35, None),
    "report-band": (BLUE, 0.3, "3,1.5"), "report-error": (BLACK, 0.2, None), "report-fair": (BLUE, 0.35, None),
    "fastening": (PURPLE, 0.35, None), "frame": (BLACK, 0.15, "2,2"), "bare": (VERMILION, 0.5, "8,4"),
}


_FILLED = {"bar": BLUE, "bar-doubt": VERMILION, "bar-force": PURPLE}


def style_for(kind: str) -> str:
    """CSS for one kind of line."""
    if kind == "area":
        return "fill:%s;fill-opacity:0.06;stroke:none" % BLUE
    if kind in _FILLED:
        return "fill:%s;fill-opacity:0.75;stroke:%s;stroke-width:0.2" % (_FILLED[kind], _FILLED[kind])
    if kind == "none":
        return "fill:none;stroke:none"
    colour, width, dashes = _LINES[kind]
    text = "fill:none;stroke:%s;stroke-width:%g;stroke-linecap:round;stroke-linejoin:round" % (colour, width)
    return text + (";stroke-dasharray:%s" % dashes if dashes else "")


def read_look(kind: str) -> tuple[tuple[float, ...], float, tuple[float, ...]] | None:
    """Colour (red, green, blue; 0 to 1 each), width and dashes in mm of one kind of line; None where it has no stroke.
    """
    if kind in ("area", "none", *_FILLED):
        return None
    colour, width, dashes = _LINES[kind]
    shares = tuple(int(colour[k:k + 2], 16) / 255 for k in (1, 3, 5))
    return shares, width, tuple(float(v) for v in dashes.split(",")) if dashes else ()


_WORDS = ("key", "words", "brief", "verdict", "unit", "source", "about")
_NUMBERS = ("number", "limit")
_UNNAMED = "told"                                         # key given to a sentence of an older drawing that has none
_NO_DOUBT = ("what-was-read", "corner-marks")             # keys in older drawings that are not doubts


def put_facts(layer: Element, facts: Sequence[Fact], findings: Sequence[Finding] = (), *,
              plank: Plank | None = None) -> None:
    """Write facts, and the Findings lettered on a layer, as its attributes, without their empty fields. Places of
    findings are stored along the plank's baseline and square to it, so that they move with the plank; without a plank,
    as x and y in the layer's own coordinates, which are the page's when it is written."""
    axes = plank.find_axes() if plank is not None else tuple(np.eye(3, 2)[[2, 0, 1]])
    rows = [_spell_fact(fact) for fact in facts] + [_spell_finding(one, axes) for one in findings]
    if rows:
        values = {"fact_%d_%s" % (number, name): value for number, row in enumerate(rows, 1)
                  for name, value in row.items() if value}
        names.put(layer, facts=len(rows), **values)


def _spell_fact(fact):
    told = {name: getattr(fact, name) for name in _WORDS}
    told.update((name, _spell_number(getattr(fact, name))) for name in _NUMBERS)
    if fact.place is not None:
        told.update(place_station=fact.place.station, place_edge=fact.place.edge,
                    place_along_mm=_spell_number(fact.place.along_mm))
    return told


def _spell_finding(finding, axes):
    told = {"key": finding.key or _UNNAMED, "words": finding.text, "verdict": finding.verdict, "unit": finding.unit,
            "lettered": "yes", "place_station": finding.station, "place_edge": finding.edge}
    told.update((name, _spell_number(getattr(finding, name))) for name in _NUMBERS)
    if finding.where is not None:
        start, along, across = axes
        away = np.asarray(finding.where, float) - start
        told.update(place_along_mm="%.6f" % (away @ along), place_across_mm="%.6f" % (away @ across))
    return told


def _spell_number(value):
    return "" if value is None else "%.9g" % value


def read_facts(layer: Element, *, action: str, lettered: bool = False) -> tuple[Fact, ...]:
    """The facts that a layer carries, a tuple of Fact, without those that are lettered on it, or with them behind.

    Raises
    ------
    PatternError
        If it was made before facts were written, or its facts are incomplete or damaged; the remedy is to run `action`
        again.
    """
    return tuple(_read_fact(row) for row in _read_rows(layer, action) if lettered or not row["lettered"])


def read_findings(layer: Element, plank: Plank, page: PageScale, *, action: str) -> tuple[Finding, ...]:
    """What is lettered on a layer of a plank, each at its place: a tuple of Finding.

    Raises
    ------
    PatternError
        As read_facts.
    """
    start, along, across = plank.find_axes()
    found = []
    for row in _read_rows(layer, action):
        if row["lettered"]:
            fact = _read_fact(row)
            place = fact.place or Place()
            where = None if place.along_mm is None else tuple(
                map(float, start + place.along_mm * along + float(row["place-across-mm"]) * across))
            found.append(Finding(fact.words, where, "" if fact.key == _UNNAMED else fact.key, number=fact.number,
                                 unit=fact.unit,
                                 limit=fact.limit, station=place.station, edge=place.edge, verdict=fact.verdict))
    return tuple(found) or _read_older(layer, page)


def _read_rows(layer, action):
    """The attributes of each fact of a layer, {name: text}; refused where one is incomplete."""
    label = layer.get("{%s}label" % names.INKSCAPE) or names.get(layer, "layer")
    if names.get(layer, "row-1"):
        raise PatternError("The layer %s was made by an older version of these actions." % label,
                           "Run %s again." % action, label)
    try:
        count = int(names.get(layer, "facts", "0"))
        if names.get(layer, "fact-%d-key" % (count + 1)):
            raise ValueError
        return [_read_row(layer, number) for number in range(1, count + 1)]
    except ValueError:
        raise PatternError("The layer %s no longer tells what was found when it was made." % label,
                           "Run %s again." % action, label) from None


def _read_row(layer, number):
    row = {name: names.get(layer, "fact-%d-%s" % (number, name))
           for name in (*_WORDS, *_NUMBERS, "lettered", "place-station", "place-edge", "place-along-mm",
                        "place-across-mm")}
    numbers = [row[name] for name in (*_NUMBERS, "place-along-mm", "place-across-mm") if row[name]]
    if not row["key"] or row["verdict"] not in VERDICTS or not np.isfinite([float(one) for one in numbers]).all():
        raise ValueError
    if row["lettered"] and bool(row["place-along-mm"]) != bool(row["place-across-mm"]):
        raise ValueError
    return row


def _read_fact(row):
    told = {name: row[name] for name in _WORDS}
    told.update((name, float(row[name]) if row[name] else None) for name in _NUMBERS)
    station, edge, along = row["place-station"], row["place-edge"], row["place-along-mm"]
    place = Place(station, edge, float(along) if along else None) if station or edge or along else None
    return Fact(place=place, **told)


def _read_older(layer, page):
    """Findings of a drawing made before 2026-11-29, by their lettering. The place is the middle of the ring drawn
    before the words. Words without a ring have no place, except on the layer of frame lines: there it is where the
    words are."""
    found, box = [], None
    for element in layer:
        if not isinstance(element.tag, str):
            continue
        role, words = names.get(element, "role"), names.get(element, "text")
        if role == "ring":
            box = measure_box([element], page)
        elif role == "note" and words and names.get(element, "look") in ("", "finding"):
            if box is None and names.get(layer, "layer") == STATIONS.layer:
                box = measure_box([element], page)
                if box is not None:
                    box[0, 1] = box[1, 1]                          # the letters' lower edge only
            found.append((words, box, names.get(element, "key"), names.get(element, "number")))
            box = None
    return tuple(Finding(words, None if box is None else tuple(map(float, box.mean(axis=0))), key, _read_number(number),
                         verdict="" if key in _NO_DOUBT else "doubt") for words, box, key, number in found)


def _read_number(text):
    try:
        return float(text)
    except ValueError:
        return None


def read_words(layer: Element) -> tuple[str, ...]:
    """The sentences of the facts that an action has just written on a layer, to be shown: a tuple of str."""
    return list_words(read_facts(layer, action="the action that made it"))


def drop_facts(values: Mapping[str, str]) -> dict[str, str]:
    """Attributes of a layer, as names.list_values gives them, without those that carry facts."""
    return {name: value for name, value in values.items() if name != "facts" and not name.startswith("fact_")}


# a larger difference of a guard means that the overlay was changed: guards are exact to the digits written, the editor
# rounds more coarsely
_MOVED_MM = 0.05
# how many numbers the guards of layers made before 2026-11-29 have: four (too weak to be trusted), or six (lettering
# was measured)
_OLD_GUARD, _LETTERED_GUARD = 4, 6
_STILL = 1e-6             # a layer whose map to the page differs less than this from the identity has not been moved
_NOTE_MM = 5.0            # height of a doubt's words
_OWN = ("role", "look", "pen")


def write_overlay(drawing: Drawing, group: Element, overlay: Overlay, *, layer: str, label: str,
                  **values: float | str) -> LayerWriter:
    """Write an Overlay in place of the plank's layer of this name; values become attributes of the layer.

    Each line keeps its role, look and pen, each text its place, so that a later action can lay them on a sheet.

    Returns
    -------
    LayerWriter
        For writing further elements into the layer.
    """
    out = drawing.replace_layer(group, layer=layer, label=label)
    names.put(out.layer, **values)
    put_facts(out.layer, overlay.facts, overlay.findings,
              plank=drawing.read_plank(group) if overlay.findings else None)
    for line in overlay.lines:
        out.add_curve(line.cubics, role=line.role, style=line.style, closed=line.closed, look=line.style,
                      pen=line.pen, **dict(line.values))
    for text in overlay.texts:
        at, turned = out.find_own(text.at_mm)
        out.add_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                     anchor=text.anchor, role=text.role, style=text.style,
                     look=text.style, pen="draw", lettered_at_mm="%.6f %.6f" % tuple(at),
                     lettered_height_mm=float(text.height_mm),
                     lettered_turn_deg=float(text.angle_deg) + turned, lettered_from=text.anchor)
    if overlay.findings:
        corner, taken = drawing.read_plank(group).find_corners(), _list_notes(group, drawing.page)
        for finding in overlay.findings:
            _write_finding(out, finding, corner, taken)
    names.put(out.layer, guard_mm=" ".join("%.6f" % v for v in measure_layer_guard(out.layer, drawing, group)))
    return out


def _list_notes(group, page):
    """Boxes (left, top, right, bottom), mm, of the words of role note on a plank, those of its other layers too."""
    notes = [e for e in names.find_roles(group, "note") if e.attrib.get("d")]
    notes += [e for e in names.find_roles(group, "report") if names.get(e, "panel")]
    return [tuple(box.ravel()) for box in measure_boxes(notes, page) if np.isfinite(box).all()]


def _write_finding(out, finding, corner, taken):
    """Letter a doubt: a ring where it has a place, its words outside the plank, farther out where other words are in
    the way; the words' box is added to `taken`."""
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


def read_overlay(drawing: Drawing, group: Element, *, layer: str, action: str) -> Overlay | None:
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
        older = len(told) == _LETTERED_GUARD
        measured = (measure_lettered_guard if older else measure_layer_guard)(found, drawing, group)
        sound = len(told) == len(measured) and max(abs(a - b) for a, b in zip(told, measured)) <= _MOVED_MM
    except ValueError:
        sound = False
    # older layers stored the place of words on the page, not in the layer: once the layer was moved that place is wrong
    lost = sound and older and np.abs(find_total_map(found, drawing.page) - np.eye(2, 3)).max() > _STILL
    if lost or not sound and len(names.get(found, "guard-mm").split()) == _OLD_GUARD:
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
            lines.append(SheetLine(cubics, names.get(element, "pen", "draw"), role=names.get(element, "role"),
                                   style=look,
                                   closed=closed, values=values))
    return Overlay(tuple(lines), tuple(texts), facts)


def _read_text(element, look, page):
    total = find_total_map(element, page)
    at = transforms.apply(total, np.array([[float(v) for v in names.get(element, "lettered-at-mm").split()]]))[0]
    turned = float(np.degrees(np.arctan2(total[1, 0], total[0, 0])))
    return SheetText(names.get(element, "text"), (float(at[0]), float(at[1])),
                     height_mm=float(names.get(element, "lettered-height-mm")),
                     angle_deg=float(names.get(element, "lettered-turn-deg")) + turned,
                     anchor=names.get(element, "lettered-from", "start"), style=look, role=names.get(element, "role"))
