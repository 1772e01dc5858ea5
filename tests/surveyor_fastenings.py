"""The surveyor's fifth instrument: every fastening's own figures, the counts of each group, the stagger, butt blocks
and the way scarfs face, measured again on the drawn lines.

It shares no code with plankcore; of the attributes it reads a line's role and the label it stands under, and those
figures that are surveyed.
"""

from __future__ import annotations

import re

import numpy as np
import shapely
from surveyor import SLACK, Claim, cross_rays, cut_up, read_words
from surveyor_details import _find_middle, _measure_along, measure_cross

__all__ = [
    "list_block_claims",
    "list_feather_claims",
    "list_layout_claims",
    "list_register_claims",
    "measure_stagger",
]

_MM = r"(-?\d+(?:\.\d+)?)"
_FINE = 3e-3  # of an attribute: it has seven decimals, and is measured on chords


def _run_on(line, by):
    """A polyline run on straight at both ends, as its curve runs there: half a chord beyond the last one's way."""
    ends = []
    for a, b, c in (line[:3], line[::-1][:3]) if len(line) > 2 else ((*line, None), (*line[::-1], None)):
        way = (a - b) / np.hypot(*(a - b))
        way = way if c is None else 1.5 * way - 0.5 * (b - c) / np.hypot(*(b - c))
        ends.append(by * way / np.hypot(*way))
    return np.vstack([line[0] + ends[0], line, line[-1] + ends[1]])


def _cross_edge(lofted, edge, point, way):
    """Distance from a point along a unit way (either sense) to where that line passes a long edge, run on past its
    corners; the nearest."""
    line, key = lofted.edges[edge], "%s run on" % edge
    if key not in lofted.ways or lofted.ways[key][0] is not line:
        lofted.ways[key] = line, cut_up(_run_on(line, 400.0))
    _, hits = cross_rays([[point - 900 * way, point + 900 * way]], lofted.ways[key][1])
    away = (hits - point) @ way
    return float(away[np.argmin(np.abs(away))])


def _measure_beside(point, a, b):
    """Distance of a point from the line through two others."""
    way = (b - a) / np.hypot(*(b - a))
    return abs(float((point - a) @ np.array([-way[1], way[0]])))


def _find_way(item, lofted, drawing):
    """The way down along which a fastening's row runs, unit (2,): that of its frame or its butt; None at an end, which
    may be bowed."""
    label, kind = item.values["station"], item.values["kind"]
    if label in ("fore", "aft") and kind != "frame":
        return None
    line = (
        dict(lofted.frames)[label] if kind == "frame" else drawing.one("joint", joint=label).runs[0].trace(1)[[0, -1]]
    )
    return (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))


def _measure_down(item, point, lofted, drawing):
    """How far below the upper edge a fastening stands, along its frame, its butt or its end, and how wide the plank is
    there; mm."""
    way = _find_way(item, lofted, drawing)
    if way is not None:
        upper, lower = (_cross_edge(lofted, edge, point, way) for edge in ("upper", "lower"))
        return -upper, lower - upper
    # along a line that keeps its distance from the end
    end = lofted.edges[item.values["station"]]
    inward = float(shapely.distance(shapely.Point(point), shapely.LineString(_run_on(end, 200.0))))
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(end, axis=0).T))])
    ways = np.gradient(end, away, axis=0, edge_order=2 if len(end) > 2 else 1)
    normals = np.stack([-ways[:, 1], ways[:, 0]], axis=1) / np.hypot(*ways.T)[:, None]
    normals = normals if normals[len(end) // 2] @ (point - end[len(end) // 2]) > 0 else -normals
    path = shapely.LineString(_run_on(end + inward * normals, 100.0))
    stops = []
    for edge in ("upper", "lower"):
        hits = shapely.get_coordinates(
            shapely.intersection(path, shapely.LineString(_run_on(lofted.edges[edge], 400.0)))
        )
        corner = end[0] if edge == "upper" else end[-1]
        stops.append(shapely.line_locate_point(path, shapely.Point(hits[np.argmin(np.hypot(*(hits - corner).T))])))
    return float(shapely.line_locate_point(path, shapely.Point(point)) - stops[0]), float(stops[1] - stops[0])


def list_layout_claims(sheet, drawing, lofted):
    """Attributes of every fastening, and counts of all groups, of frames as drawn and as told."""
    words = read_words(sheet)
    edges = {e: shapely.LineString(lofted.edges[e]) for e in lofted.edges}
    butts = [
        i.runs[0].trace(1)[[0, -1]]
        for i in drawing.find("joint")
        if not drawing.find("feather", joint=i.values["joint"])
    ]
    bands = {label: _draw_band(drawing, label) for label, _ in lofted.frames}
    counted = {label: 0 for label in bands}
    groups = {"frame": 0, "butt": 0, "end": 0}
    for number, item in enumerate(drawing.find("fastening")):
        if "diameter-mm" not in item.values:
            continue
        point, kind, label = measure_cross(item)[0], item.values["kind"], item.values["station"]
        where = "drawing, fastening %d, %s %s" % (number, kind, label)
        near = {e: float(shapely.distance(shapely.Point(point), line)) for e, line in edges.items()}
        ends = [near["fore"], near["aft"]] + [_measure_beside(point, a, b) for a, b in butts]
        yield Claim(where + ", edge", item.number("edge-mm"), _FINE, min(near["upper"], near["lower"]))
        yield Claim(where + ", clear of ends", item.number("clear-end-mm"), _FINE, min(ends))
        yield Claim(where + ", along", item.number("along-mm"), _FINE, _measure_down(item, point, lofted, drawing)[0])
        yield Claim(
            where + ", shank", item.number("diameter-mm"), 0.01, float(re.search(r"SHANK %s MM" % _MM, words).group(1))
        )
        groups[kind] += 1
        if kind == "frame":
            assert bands[label].contains(shapely.Point(point)), "%s does not stand on that frame" % where
            counted[label] += 1
        elif kind == "end":
            # a row keeps its distance from the end, and from where that would run on past the corners
            hood = float(
                shapely.distance(shapely.Point(point), shapely.LineString(_run_on(lofted.edges[label], 200.0)))
            )
            stagger = float(re.search(r"STAGGERED BY %s MM" % _MM, words).group(1))
            yield Claim(where + ", from the end", hood, _FINE, min((30.0, 30.0 + stagger), key=lambda v: abs(v - hood)))
    yield from _claim_stagger(words, drawing, lofted)
    layer = next(i for i in drawing.items if i.role == "layer" and i.values.get("layer") == "fastenings")
    for name, value in (
        ("count", sum(groups.values())),
        ("at-frames", groups["frame"]),
        ("at-butts", groups["butt"]),
        ("at-ends", groups["end"]),
    ):
        yield Claim("drawing, fastenings, %s" % name, layer.number(name), 0, value)
    yield from _claim_laid_out(words, counted)
    labels = [
        i.values["text"]
        for i in sheet.items
        if "text" in i.values and re.fullmatch(r"(NO|\d+) (SCREW|NAIL|RIVET|FASTENING)S?", i.values["text"])
    ]
    assert len(labels) == len(counted), "%d counts are lettered at %d frames" % (len(labels), len(counted))
    for (label, count), text in zip(counted.items(), labels):
        yield Claim("sheet, count at frame %s" % label, 0 if text.startswith("NO") else int(text.split()[0]), 0, count)


def _draw_band(drawing, label):
    a, b = (i.runs[0].trace(1) for i in drawing.find("frame-side", station=label)[:2])
    return (
        shapely.buffer(
            shapely.MultiPoint(
                np.vstack([i.runs[0].trace(1) for i in drawing.find("frame-side", station=label)])
            ).convex_hull,
            1e-3,
        )
        if len(a) and len(b)
        else None
    )


def _claim_laid_out(words, counted):
    """'LAID OUT: 3 AT FRAMES 2 3; 2 AT FRAME 1 (3 ASKED: EDGE DISTANCE)'."""
    (text,) = re.search(r"LAID OUT: (.*?)\. [A-Z]", words).groups()
    told = {}
    for part in re.sub(r" \([^)]*\)", "", text).split("; "):
        count, labels = re.fullmatch(r"(\d+|NONE) AT (EVERY FRAME|FRAMES? .*)", part).groups()
        some = (
            list(counted)
            if labels == "EVERY FRAME"
            else [next(c for c in counted if c.upper() == t) for t in labels.split(" ")[1:]]
        )
        told.update({label: 0 if count == "NONE" else int(count) for label in some})
    assert set(told) == set(counted), "laid out at %s, frames are %s" % (sorted(told), sorted(counted))
    for label, count in counted.items():
        yield Claim("sheet, laid out at frame %s" % label, told[label], 0, count)


def _claim_stagger(words, drawing, lofted):
    """'STAGGERED BY 10 MM WHERE THERE IS ROOM: FROM FRAME TO FRAME 6.6 TO 9.2 MM APART, AS LAID OUT'."""
    apart = [mm for _, _, mm in measure_stagger(drawing, lofted)]
    told = re.search(
        r"STAGGERED BY %s MM WHERE THERE IS ROOM: FROM FRAME TO FRAME %s(?: TO %s)? MM APART" % (_MM, _MM, _MM), words
    )
    assert bool(told) == bool(apart), "the stagger of %d pairs of frames is told as %s" % (len(apart), told)
    if told:
        _, least, most = told.groups()
        yield Claim("sheet, stagger, least", float(least), 0.1, min(apart))
        yield Claim("sheet, stagger, most", float(most or least), 0.1, max(apart))


def measure_stagger(drawing, lofted):
    """Of each pair of neighbouring frames that both hold fastenings, how far apart their nearest two grain lines lie:
    the offsets from the run along the frames; [(label, label, mm)]."""
    rows = {label: [] for label, _ in lofted.frames}
    for item in drawing.find("fastening"):
        if item.values.get("kind") == "frame" and "diameter-mm" in item.values:
            down, wide = _measure_down(item, measure_cross(item)[0], lofted, drawing)
            rows[item.values["station"]].append(down - wide / 2)
    labels = list(rows)
    return [
        (a, b, float(np.abs(np.subtract.outer(rows[a], rows[b])).min()))
        for a, b in zip(labels, labels[1:])
        if rows[a] and rows[b]
    ]


# -- blocks and scarfs -----------------------------------------------------------------------------------------


def list_block_claims(sheet, drawing, lofted, *, thickness_mm, siding_mm):
    """Thickness, length in thicknesses and clearance of butt blocks, as the sheet and the drawing tell them."""
    words = read_words(sheet)
    for item in drawing.find("joint"):
        label = item.values["joint"]
        if drawing.find("feather", joint=label):
            continue
        block = drawing.one("block", joint=label)
        corners = block.runs[0].trace(1)[:-1]
        where = "joint %s, block" % label
        times, thick, thicker, clear = re.search(
            r"BUTT %s: .*?\(%s TIMES THE THICKNESS[^)]*\), %s(?: MM OR %s)? MM THICK, .*? PAST EACH EDGE, "
            r"%s MM CLEAR OF"
            % (label, _MM, _MM, _MM, _MM),
            words,
        ).groups()
        yield Claim("sheet, %s, thickness" % where, float(thick), 0.1, thickness_mm)
        assert bool(thicker) == (thickness_mm <= 25.4)
        if thicker:  # a quarter of an inch more
            yield Claim("sheet, %s, thicker" % where, float(thicker), 0.1, thickness_mm + 25.4 / 4)
        line = item.runs[0].trace(1)
        way = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
        long = float(np.ptp(corners @ np.array([-way[1], way[0]])))
        yield Claim("sheet, %s, in thicknesses" % where, float(times), 0.1, long / thickness_mm)
        yield Claim("drawing, %s, length" % where, block.number("length-mm"), _FINE, long)
        yield Claim("drawing, %s, thickness" % where, block.number("thickness-mm"), _FINE, thickness_mm)
        # from the middle of the block, along the baseline, to the sides of the frames about it
        half, at = long / 2, _measure_along(lofted, _find_middle(item))
        frames = [_measure_along(lofted, line.mean(axis=0)) for _, line in lofted.frames]
        yield Claim(
            "sheet, %s, clear of frames" % where,
            float(clear),
            0.1,
            min(abs(f - at) for f in frames) - siding_mm / 2 - half,
        )
        yield from _claim_block_label(sheet, block, item, where, thickness=thickness_mm)


def _claim_block_label(sheet, block, item, where, thickness):
    """'BLOCK 220 X 131 X 22' beside it: along the plank, across it, and through."""
    corners, line = block.runs[0].trace(1)[:-1], item.runs[0].trace(1)
    way = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    sizes = np.ptp(corners @ np.array([-way[1], way[0]])), np.ptp(corners @ way), thickness
    told = [re.fullmatch(r"BLOCK %s X %s X %s" % (_MM, _MM, _MM), i.values.get("text", "")) for i in sheet.items]
    told = [m.groups() for m in told if m]
    assert told, "the %s has no words beside it" % where
    best = min(told, key=lambda t: abs(float(t[0]) - sizes[0]))
    for name, text, value in zip(("along", "across", "through"), best, sizes):
        yield Claim("sheet, %s, %s" % (where, name), float(text), 0.1 if "." in text else 1.0, float(value))


def list_register_claims(sheet, drawing, lofted):
    """'376.0 BETWEEN END CROSSES' at each joint, on the register's own crosses; lengths lettered on the parts."""
    texts = [i.values["text"] for i in sheet.items if "text" in i.values]
    told = [float(t.split()[0]) for t in texts if t.endswith("BETWEEN END CROSSES")]
    joints = [i.values["joint"] for i in drawing.find("joint")]
    assert len(told) == len(joints), "%d joints have %d lengths between crosses" % (len(joints), len(told))
    for label, length in zip(joints, told):
        strokes = [i.runs[0].trace(1)[[0, -1]] for i in drawing.find("register", joint=label, part="whole")]
        middles = np.mean(strokes, axis=1)
        away = np.hypot(*(middles[:, None] - middles[None]).reshape(-1, 2).T)
        yield Claim("sheet, joint %s, between end crosses" % label, length, 0.1, float(away.max()))
    for item in drawing.find("datum"):
        line = item.runs[0].trace(1)[[0, -1]]
        long = float(np.hypot(*(line[1] - line[0])))
        yield Claim("drawing, datum of joint %s, length" % item.values["joint"], item.number("length-mm"), _FINE, long)
    for number, long in re.findall(r"PART (\d+) OF \d+, (\d+) LONG", " ".join(texts)):
        part = drawing.one("part", part=number)
        counts = [int(v) for v in part.values["pieces"].split()]
        aft, fore = part.runs[0].pieces[counts[0] : counts[0] + counts[1]], part.runs[0].pieces[sum(counts[:3]) :]
        ends = [_measure_along(lofted, (e[0][0] + e[-1][-1]) / 2) for e in (aft, fore)]
        yield Claim("sheet, part %s, lettered length" % number, float(long), 1.0, ends[0] - ends[1])


def list_feather_claims(sheet, drawing, lofted, *, seen_from):
    """Which way the outside feather faces: it lies aft of the inside one where it faces aft; both are drawn whole on
    the face seen, hidden on the other; the slopes on the parts are on the face told."""
    words = read_words(sheet)
    for item in drawing.find("joint"):
        label = item.values["joint"]
        feathers = {i.values["face"]: i for i in drawing.find("feather", joint=label)}
        if not feathers:
            continue
        (way,) = re.search(r"SCARF %s: .*?; OUTSIDE FEATHER FACES (AFT|FORWARD)" % label, words).groups()
        apart = _measure_along(lofted, _find_middle(feathers["outside"])) - _measure_along(
            lofted, _find_middle(feathers["inside"])
        )
        yield Claim(
            "sheet, joint %s, outside feather %s" % (label, way.lower()),
            1.0 if way == "AFT" else -1.0,
            0.0,
            float(np.sign(apart)),
        )
        for face, feather in feathers.items():
            dashed = "stroke-dasharray:none" not in feather.element.get(
                "style", ""
            ) and "stroke-dasharray" in feather.element.get("style", "")
            seen = seen_from == {"outside": "outboard", "inside": "inboard"}[face]
            yield Claim("drawing, joint %s, %s feather dashed" % (label, face), float(dashed), 0.0, float(not seen))
        for slope in drawing.find("slope", joint=label):
            yield from _claim_slope(drawing, slope, label, feathers, apart=apart)


def _claim_slope(drawing, slope, label, feathers, apart):
    """On a part drawn by itself the slope begins at the other feather than its own, and lies on the face told."""
    middle = _find_middle(slope)
    parts = [
        i
        for i in drawing.find("part")
        if shapely.Polygon(i.runs[0].trace(8)).buffer(0.01).contains(shapely.Point(middle))
    ]
    assert len(parts) == 1, "the slope of joint %s lies on %d parts" % (label, len(parts))
    shift = np.array([float(v) for v in parts[0].values["shift-mm"].split()])
    own = min(feathers, key=lambda f: float(np.hypot(*(_find_middle(feathers[f]) + shift - middle))))
    off = float(np.hypot(*(_find_middle(feathers[own]) + shift - middle)))
    yield Claim("drawing, joint %s, slope on part %s, at a feather" % (label, parts[0].values["part"]), 0.0, SLACK, off)
    # cut on a face, it begins where the other part's feather on that face ends
    yield Claim(
        "drawing, joint %s, slope on part %s, face" % (label, parts[0].values["part"]),
        {"inside": 0.0, "outside": 1.0}[slope.values["face"]],
        0.0,
        {"inside": 0.0, "outside": 1.0}[own],
    )
