"""Frame stations: lines across the plank at the frames, labelled and measured.

A station is struck *square to the baseline* (the straight line from the middle of the fore end to the middle of the
aft end), *square to the run* (the line midway between the edges, where it is there), or left *as drawn*.
Distances are along the baseline from the fore end.
"""
from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from .errors import PatternError, SelectionError, SettingError
from .geometry.curve import cross_curves, make_line
from .line_model import Station
from .model import Finding

__all__ = ["SQUARE_TO", "SOURCES", "LabelRule", "StationSettings", "strike_stations"]

SQUARE_TO = ("baseline", "run", "drawn")
SOURCES = ("spacing", "ticks", "marks", "lines")
PAIR_MM = 40.0            # ticks or marks on the two edges this near along the baseline belong to one frame
_LABEL = re.compile(r"^(.*?)(\d+)$")


@dataclass(frozen=True)
class LabelRule:
    """How stations are named: the first label, and how the number in it goes on.

    '7' counted up gives 7, 8, 9; 'F12' counted down gives F12, F11. from_end is where counting starts.
    """

    first: str = "1"
    step: int = 1
    from_end: str = "fore"

    def name(self, count):
        """Labels of `count` stations in counting order."""
        match = _LABEL.match(self.first.strip())
        if not match:
            raise SettingError("'%s' is not a label that can be counted on from." % self.first, "Give a number, with letters before it if you like: 1, 07, F12.", "First label")
        head, digits = match.groups()
        numbers = [int(digits) + self.step * k for k in range(count)]
        return [head + ("-" if n < 0 else "") + str(abs(n)).zfill(len(digits) if digits.startswith("0") else 0) for n in numbers]


@dataclass(frozen=True)
class StationSettings:
    """source : one of SOURCES. square_to : one of SQUARE_TO. first_mm, spacing_mm : for source 'spacing', from the counted-from end."""

    source: str = "spacing"
    square_to: str = "baseline"
    first_mm: float = 150.0
    spacing_mm: float = 230.0
    labels: LabelRule = LabelRule()


def strike_stations(plank, *, settings, lines=()):
    """Strike stations across a plank.

    Parameters
    ----------
    plank : Plank
    settings : StationSettings
    lines : sequence of Trace
        Drawn frame lines, for source 'lines'.

    Returns
    -------
    stations : list of Station
        From the fore end aft. Marks that say their frame give their stations its label; others are counted.
    findings : list of Finding
        Frames that were left out, near a raked end for instance, because their line does not cross both edges.

    Raises
    ------
    SettingError, SelectionError, PatternError
    """
    labels = []
    length = plank.measure_length_mm()
    if settings.source == "spacing":
        if settings.spacing_mm < 10:
            raise SettingError("A frame spacing of %.1f mm is too small." % settings.spacing_mm, "Give 10 mm or more.", "Spacing")
        along = np.arange(settings.first_mm, length, settings.spacing_mm)
        along = along[along > 0]
        if not len(along):
            raise SettingError("The first frame, %.0f mm from the end, lies beyond the plank's %.0f mm." % (settings.first_mm, length), "Give a smaller distance.", "First frame")
        if settings.labels.from_end == "aft":
            along = (length - along)[::-1]
        drawn = [None] * len(along)
    elif settings.source == "lines":
        drawn = [_cross_drawn(plank, line) for line in lines]
        if not drawn:
            raise SelectionError("No frame lines are selected.", "Select the plank and the lines drawn at the frames, each from edge to edge or past it.")
        along = _measure_along(plank, drawn)
    else:
        pairs = _pair_ticks(plank) if settings.source == "ticks" else _pair_marks(plank)
        # marks at the corners carry no frame: where the others tell theirs, they are no stations
        told = [p for p in pairs if p[2]]
        pairs = told if len(told) >= 2 else pairs
        drawn = [np.stack(p[:2]) for p in pairs]
        labels = [p[2] for p in pairs]
        along = _measure_along(plank, drawn)
    struck, names, findings = [], [], []
    for k in np.argsort(along, kind="stable"):
        line = drawn[k] if settings.square_to == "drawn" and drawn[k] is not None else _strike_square(plank, along[k], settings.square_to, drawn[k])
        if line is None:
            foot = plank.find_baseline()[0] if along[k] < length / 2 else plank.find_baseline()[1]
            findings.append(Finding("No station %.0f mm from the fore end: square to the %s it does not cross both edges." % (along[k], settings.square_to),
                                    tuple(map(float, foot if drawn[k] is None else drawn[k].mean(axis=0)))))
            continue
        struck.append(line)
        names.append(labels[k] if labels else "")
    if not struck:
        raise PatternError("No station crosses both edges of the plank.", "Strike them by spacing, or as drawn.")
    if not all(names) or len(names) < 2:
        names = settings.labels.name(len(struck))
        names = names[::-1] if settings.labels.from_end == "aft" else names
    where = _measure_along(plank, struck)
    return [Station(name, line, float(np.hypot(*(line[1] - line[0]))), float(d)) for name, line, d in zip(names, struck, where)], findings


def _measure_along(plank, lines):
    """Distance along the baseline of the middle of each line (2, 2)."""
    start, along, _ = plank.find_axes()
    return np.array([(line.mean(axis=0) - start) @ along for line in lines])


def _cut(plank, start, end):
    """Where the line through start and end, run on, meets both long edges: (2, 2), or None."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    way = (end - start) / np.hypot(*(end - start))
    reach = plank.measure_length_mm()
    line = make_line(start - reach * way, end + reach * way)
    middle, points = (start + end) / 2, []
    for name in ("upper", "lower"):
        hits = cross_curves(plank.edges[name].curve, line)
        if not hits:
            return None
        points.append(min((h[2] for h in hits), key=lambda p: float(np.hypot(*(p - middle)))))
    return np.stack(points)


def _strike_square(plank, along_mm, square_to, drawn):
    """Line (2, 2) square to baseline or run at a distance along the baseline, or None where it does not cross both edges."""
    start, along, across = plank.find_axes()
    foot = start + along_mm * along
    line = _cut(plank, foot, foot + across)
    if line is None or square_to != "run":
        return line
    middle = drawn.mean(axis=0) if drawn is not None else line.mean(axis=0)
    for _ in range(6):
        ways = []
        for name, point in zip(("upper", "lower"), line):
            curve = plank.edges[name].curve
            ways.append(curve.find_direction(min(curve.find_nearest(point)[0], len(curve.cubics) - 1e-9)))
        run = ways[0] + ways[1]
        turned = _cut(plank, middle, middle + np.array([-run[1], run[0]]))
        if turned is None:
            return None
        if np.abs(turned - line).max() < 1e-9:
            break
        line = turned
        # the station passes through the middle of the plank at its place along the baseline
        middle = line.mean(axis=0) + (along_mm - (line.mean(axis=0) - start) @ along) * run / (run @ along)
    return line


def _cross_drawn(plank, trace):
    points = np.concatenate([c.reshape(-1, 2) for c, _ in trace.runs])
    far = points[int(np.argmax(np.sum((points - points[0]) ** 2, axis=1)))]
    near = points[int(np.argmax(np.sum((points - far) ** 2, axis=1)))]
    size = float(np.hypot(*(far - near)))
    off = np.abs((points - near) @ np.array([-(far - near)[1], (far - near)[0]])) / max(size, 1e-9)
    if size < 10 or off.max() > 0.02 * size + 1.0:
        raise SelectionError("%s is not a straight frame line." % trace.label, "Draw each frame as one straight line across the plank.", trace.label)
    line = _cut(plank, near, far)
    if line is None or np.hypot(*(line.mean(axis=0) - (near + far) / 2)) > size:
        raise SelectionError("The frame line %s does not cross the plank." % trace.label, "Draw it from edge to edge, or past both.", trace.label)
    return line


def _pair_points(plank, points, what):
    """Join points on the upper and the lower edge that lie at one frame; several on one edge are averaged.

    points : dict of edge name to list of (point, label). Returns (upper, lower, label) triples.
    """
    start, along, _ = plank.find_axes()
    groups = {}
    for name in ("upper", "lower"):
        clusters = []
        for p, label in sorted(points[name], key=lambda row: float((row[0] - start) @ along)):
            if clusters and (p - clusters[-1][-1][0]) @ along < PAIR_MM / 2:
                clusters[-1].append((p, label))
            else:
                clusters.append([(p, label)])
        curve = plank.edges[name].curve
        groups[name] = [(curve.evaluate([curve.find_nearest(np.mean([p for p, _ in c], axis=0))[0]])[0], next((t for _, t in c if t), "")) for c in clusters]
    pairs = []
    for upper, label in groups["upper"]:
        near = [row for row in groups["lower"] if abs((row[0] - upper) @ along) < PAIR_MM and not (label and row[1] and row[1] != label)]
        if near:
            lower, other = min(near, key=lambda row: abs(float((row[0] - upper) @ along)))
            pairs.append((upper, lower, label or other))
    if not pairs:
        raise SelectionError("No %s were found at the same frame on both edges." % what, "Strike the stations by spacing, or from drawn lines.")
    return pairs


def _pair_ticks(plank):
    return _pair_points(plank, {n: [((np.array(t.foot) + np.array(t.tip)) / 2, "") for t in plank.ticks if t.edge == n] for n in ("upper", "lower")}, "ticks")


def _pair_marks(plank):
    return _pair_points(plank, {n: [(np.array(m.point), m.station) for m in plank.marks if m.edge == n] for n in ("upper", "lower")}, "marks")
