"""The layers of stations and saw line: written by their actions, read back by the plot."""
from __future__ import annotations

import numpy as np

from ..errors import PatternError
from ..geometry.curve import Curve
from ..model import SawLine, Station
from . import names, scale
from .pathdata import read_path
from .read import find_total_map

__all__ = ["write_stations", "read_stations", "write_saw_line", "read_saw_line"]

_LOOP = ("upper", "aft", "lower", "fore")


def write_stations(drawing, group, stations, findings=(), *, square_to):
    """Write the Stations layer: lines across with their label near the upper edge and their width near the lower, read along the plank."""
    out = drawing.replace_layer(group, layer="stations", label="Frame stations")
    names.put(out.layer, square_to=square_to)
    for station in stations:
        out.add_polyline(station.line, role="station", style="station", station=station.label, width_mm=station.width_mm, distance_mm=station.distance_mm)
        upper, lower = station.line
        down = (lower - upper) / max(station.width_mm, 1e-9)
        right = np.array([down[1], -down[0]])
        right = right if right[0] >= 0 else -right
        angle = float(np.degrees(np.arctan2(right[1], right[0])))
        height = float(np.clip(station.width_mm / 12, 4.0, 10.0))
        out.add_text(station.label, height_mm=height, at_mm=upper + down * 2.0 * height + right * 2.5, angle_deg=angle, role="label", station=station.label)
        out.add_text("%.1f" % station.width_mm, height_mm=0.55 * height, at_mm=lower - down * 0.8 * height + right * 2.5, angle_deg=angle, role="label", station=station.label)
    for finding in findings:
        x, y = finding.where
        out.add_text(finding.text, height_mm=4, at_mm=(x, y), anchor="middle", style="warning")


def read_stations(drawing, group):
    """Stations struck since the last fairing, from the fore end aft; none where there is no such layer.

    Raises
    ------
    PatternError
        If one was changed since, or the plank was faired again.
    """
    layer, page = drawing.find_fresh_layer(group, layer="stations", action="Frame Stations"), drawing.page
    found = []
    if layer is None:
        return found
    for element in names.find_roles(layer, "station"):
        runs = read_path(element.get("d"), where="station %s" % names.get(element, "station"))
        line = scale.apply(find_total_map(element, page), np.stack([runs[0].cubics[0, 0], runs[0].cubics[-1, 3]]))
        width = float(np.hypot(*(line[1] - line[0])))
        try:
            told, distance = float(names.get(element, "width-mm")), float(names.get(element, "distance-mm"))
        except ValueError:
            told, distance = np.nan, 0.0
        if not abs(width - told) <= 0.05:
            raise PatternError("Station %s has been moved or stretched since it was struck." % names.get(element, "station"), "Run Frame Stations again.", tuple(map(float, line[0])))
        found.append(Station(names.get(element, "station"), line, width, distance))
    return found


def write_saw_line(drawing, group, saw):
    """Write the Saw line layer: the closed path to cut, with what it includes."""
    out = drawing.replace_layer(group, layer="saw", label="Saw line")
    cubics = np.concatenate([c.cubics for c in saw.curves])
    values = {"%s_mm" % n: float(v) for n, v in saw.added_mm.items()}
    counts = " ".join(str(len(c.cubics)) for c in saw.curves)
    length = sum(c.measure_length_mm() for c in saw.curves)
    out.add_curve(cubics, role="saw", style="saw", closed=True, pieces=counts, round_mm=float(length), **values)


def read_saw_line(drawing, group):
    """The saw line made since the last fairing, or None.

    Raises
    ------
    PatternError
        If it was changed since it was made, or the plank was faired again.
    """
    layer, page = drawing.find_fresh_layer(group, layer="saw", action="Allowances"), drawing.page
    if layer is None:
        return None
    elements = names.find_roles(layer, "saw")
    try:
        element = elements[0]
        counts = [int(v) for v in names.get(element, "pieces").split()]
        added = {n: float(names.get(element, "%s-mm" % n)) for n in ("upper", "lower", "fore", "aft")}
        told = float(names.get(element, "round-mm"))
        runs = read_path(element.get("d"), where="saw line")
        cubics = scale.apply(find_total_map(element, page), runs[0].cubics)
        if len(elements) != 1 or len(runs) != 1 or len(cubics) != sum(counts):
            raise ValueError
        ends = np.cumsum([0] + counts)
        saw = SawLine(tuple(Curve(cubics[a:b]) for a, b in zip(ends[:-1], ends[1:])), added)
        if abs(sum(c.measure_length_mm() for c in saw.curves) - told) > 0.05:
            raise ValueError
    except (ValueError, IndexError):
        raise PatternError("The saw line has been changed since it was made.", "Run Allowances again.", "saw line") from None
    return saw
