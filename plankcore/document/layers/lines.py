"""The layers of stations and saw line: written by their actions, read back by the plot."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...actions import ALLOWANCE, SECTION, STATIONS
from ...errors import PatternError
from ...geometry import arrays
from ...geometry.outline import measure_outline_area_mm2
from ...model.drawing import SawLine, Station
from ...model.plank import EDGE_NAMES
from ...paper.blocks import list_station_words
from .. import names, transforms
from ..overlay import put_facts, read_facts
from ..pathdata import count_pieces, cut_pieces, read_path
from ..planks import find_top_mm
from ..read import find_total_map

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ...model.plank import Finding
    from ..drawing import Drawing
    from ..names import Element

__all__ = ["read_saw_line", "read_stations", "write_saw_line", "write_stations"]

_OF_BOARD = {"bevel", "hollow", "seam", "bend"}
_RING_MM, _WORDS_MM = 6.0, 4.0
# a larger difference means that the saw line was changed: its guard is exact to the digits written, the editor rounds
# more coarsely
_SAW_MM = 0.005


def write_stations(drawing: Drawing, group: Element, stations: Sequence[Station], findings: Sequence[Finding] = (), *,
                   square_to: str) -> None:
    """Write the Stations layer: lines across with their label near the upper edge and their width near the lower, read
    along the plank.
    """
    out = drawing.replace_layer(group, layer=STATIONS.layer, label=STATIONS.label)
    names.put(out.layer, square_to=square_to)
    for station in stations:
        aside: dict[str, Any] = {"words": "left"} if station.words == "left" else {}
        out.add_polyline(station.line, role="station", style="station", station=station.label,
                         width_mm=station.width_mm, distance_mm=station.distance_mm, ends=" ".join(station.ends),
                         **aside)
        for text, at, height, angle in list_station_words(station):
            out.add_text(text, height_mm=height, at_mm=at, angle_deg=angle, role="label", station=station.label)
    plank = drawing.read_plank(group)
    put_facts(out.layer, (), findings, plank=plank)
    corners = np.array(list(plank.find_corners().values()))
    middle = float(np.mean(corners[:, 1]))
    placed = [(finding.where, finding) for finding in findings if finding.where is not None]
    for number, ((x, y), finding) in enumerate(sorted(placed, key=lambda one: one[0][0])):
        out.add_circle((x, y), _RING_MM, role="ring", style="doubtful")
        # clear of the plank and in four rows, since the words of neighbouring frames are longer than the space between
        # them
        away = _RING_MM + _WORDS_MM + 1.6 * _WORDS_MM * (number % 4)
        out.add_text(finding.text, height_mm=_WORDS_MM, at_mm=(x, y - away if y < middle else y + away),
                     anchor="middle", style="warning")
    # a doubt without a place is lettered above the whole plank, and above what fairing and saw line have there
    left, above = float(corners[:, 0].min()), find_top_mm(plank)
    for number, finding in enumerate(finding for finding in findings if finding.where is None):
        out.add_text(finding.text, height_mm=_WORDS_MM, at_mm=(left, above - 100 - 1.6 * _WORDS_MM * number),
                     style="warning")


def read_stations(drawing: Drawing, group: Element) -> list[Station]:
    """Stations struck since the last fairing, from the fore end aft; none where there is no such layer.

    Raises
    ------
    PatternError
        If one was changed or moved since, or the plank was faired again.
    """
    layer = drawing.find_fresh_layer(group, layer=STATIONS.layer, action=STATIONS.title)
    if layer is None:
        return []
    plank = drawing.read_plank(group)
    return list(drawing.remember(layer, lambda: _read_stations(layer, plank, drawing.page), plank))


def _read_stations(layer, plank, page):
    found = []
    for element in names.find_roles(layer, "station"):
        label = names.get(element, "station")
        runs = read_path(element.attrib.get("d"), where="station %s" % label)
        line = transforms.apply(find_total_map(element, page), np.stack([runs[0].cubics[0, 0], runs[0].cubics[-1, 3]]))
        width = float(np.hypot(*(line[1] - line[0])))
        try:
            told, distance = float(names.get(element, "width-mm")), float(names.get(element, "distance-mm"))
        except ValueError:
            told, distance = np.nan, 0.0
        start, way, _ = plank.find_axes()
        along = float((line.mean(axis=0) - start) @ way)
        ends = tuple(names.get(element, "ends", "upper lower").split())
        if len(ends) != 2 or not set(ends) <= set(EDGE_NAMES):
            raise PatternError("Station %s no longer says on which edges it ends." % label,
                               STATIONS.again, tuple(map(float, line[0])))
        off = max(plank.edges[name].curve.find_nearest(point)[1] for name, point in zip(ends, line))
        if not max(abs(width - told), abs(along - distance), off) <= arrays.GUARD_MM:
            raise PatternError("Station %s has been moved or stretched since it was struck." % label,
                               STATIONS.again, tuple(map(float, line[0])))
        found.append(Station(label, line, width_mm=width, distance_mm=distance,
                             words=names.get(element, "words", "right"), ends=ends))
    return found


def write_saw_line(drawing: Drawing, group: Element, saw: SawLine) -> None:
    """Write the Saw line layer: the closed path to cut, with what it includes."""
    out = drawing.replace_layer(group, layer=ALLOWANCE.layer, label=ALLOWANCE.label)
    cubics = np.concatenate([c.cubics for c in saw.curves])
    values = {"%s_mm" % n: float(v) for n, v in saw.added_mm.items()}
    plank = drawing.read_plank(group)
    put_facts(out.layer, saw.facts, saw.findings, plank=plank)
    names.put(out.layer, lives=saw.lives,
              **({} if saw.afloat_percent is None else {"afloat_percent": "%g" % saw.afloat_percent}))
    out.add_curve(cubics, role="saw", style="saw", closed=True, pieces=count_pieces(saw.curves),
                  guard_mm=" ".join("%.6f" % v for v in _measure_saw(saw, plank)),
                  includes=" ".join(saw.includes), of_board=_name_board(group), **values)
    left, top = min(float(p[0]) for p in plank.find_corners().values()), find_top_mm(plank)
    for number, finding in enumerate(saw.findings):
        out.add_text(finding.text, height_mm=5, at_mm=(left, top - 70 - 9 * number), style="warning")


def _name_board(group):
    """The guard of the layer of Hollow and Bevels, '' where there is none: a saw line is out of date where the board
    was made again after it."""
    layer = names.find_layer(group, SECTION.layer)
    return "" if layer is None else names.get(layer, "guard-mm", "a board")


def _measure_saw(saw, plank):
    """A saw line's guard, mm: numbers that change when it is moved against its plank, stretched or bent. Its length all
    round, the square root of its area, and distances of its corners and of places on its pieces from two corners of the
    plank."""
    corner = plank.find_corners()
    points = np.vstack([np.vstack([c.evaluate(np.arange(len(c.cubics)) + s) for s in (0.0, 0.25, 0.5, 0.75)])
                        for c in saw.curves])
    away = [float(np.mean(np.hypot(*(points - corner[name]).T))) for name in ("upper fore", "lower aft")]
    first = [float(np.hypot(*(c.start - corner[name]))) for c in saw.curves for name in ("upper fore", "lower aft")]
    return [sum(c.measure_length_mm() for c in saw.curves), abs(measure_outline_area_mm2(saw.curves)) ** 0.5, *away,
            *first]


def read_saw_line(drawing: Drawing, group: Element) -> SawLine | None:
    """The saw line made since the last fairing, or None.

    Raises
    ------
    PatternError
        If it was changed since it was made, or the plank was faired again, or its hollow and bevels were made since.
    """
    layer, page = drawing.find_fresh_layer(group, layer=ALLOWANCE.layer, action=ALLOWANCE.title), drawing.page
    if layer is None:
        return None
    elements, facts = names.find_roles(layer, "saw"), read_facts(layer, action=ALLOWANCE.title)
    try:
        element = elements[0]
        added = {n: float(names.get(element, "%s-mm" % n)) for n in ("upper", "lower", "fore", "aft")}
        told = [float(v) for v in names.get(element, "guard-mm").split()]
        runs = read_path(element.attrib.get("d"), where="saw line")
        cubics = transforms.apply(find_total_map(element, page), runs[0].cubics)
        if len(elements) != 1 or len(runs) != 1:
            raise ValueError
        saw = SawLine(cut_pieces(cubics, names.get(element, "pieces")), added, facts,
                      tuple(names.get(element, "includes").split()),
                      lives=names.get(layer, "lives", "not said"),
                      afloat_percent=float(names.get(layer, "afloat-percent")) if names.get(layer, "afloat-percent")
                      else None)
        found = _measure_saw(saw, drawing.read_plank(group))
        if len(found) != len(told) or max(abs(a - b) for a, b in zip(found, told)) > _SAW_MM:
            raise ValueError
    except (ValueError, IndexError):
        raise PatternError("The saw line has been changed since it was made.", ALLOWANCE.again,
                           "saw line") from None
    # a turned copy's saw line may have been written before its board, and then names none: it is accepted if it counts
    # what a board adds
    board, told_board = _name_board(group), names.get(element, "of-board")
    if board != told_board and (told_board or not set(saw.includes) & _OF_BOARD):
        raise PatternError("%s has been run since the saw line was made." % SECTION.title, ALLOWANCE.again,
                           "saw line")
    return saw
