"""The surveyor's fourth instrument: what bending, the frames' roundness, the seam and the water do to a plank, worked
out again from the drawn faces, sections and saw line.

It shares no code with plankcore. What no line shows, a radius along the plank for instance, is taken as it was read at
the frames; cases that are surveyed so have at most two
readings of a kind, so that what holds between frames is a straight line and beyond them the nearest reading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
import shapely
from surveyor import Claim, lay_axes, read_words

__all__ = ["Readings", "find_words", "list_frames", "list_wood_claims"]

_MM = r"(-?\d+(?:\.\d+)?)"
_TENTH = 0.1


@dataclass(frozen=True)
class Readings:
    """What was read at frames, label to value: radius across and bend along as curvature, 1/mm, twist in rad/mm.
    pattern_mm : thickness of the pattern."""

    radius: dict = field(default_factory=dict)
    bend: dict = field(default_factory=dict)
    twist: dict = field(default_factory=dict)
    pattern_mm: float = 3.0


def _step(text):
    """A tenth where there is no point: noughts behind it are left out."""
    return 0.01 if "." in text and len(text.split(".")[1]) == 2 else _TENTH


def find_words(pattern, words):
    match = re.search(pattern, words)
    assert match, "the sheet does not say: %s" % pattern
    return match.groups()


# -- the middle line -------------------------------------------------------------------------------------------


def _trace_middle(edges):
    """Distance along the baseline, height over it, and width of the line midway between the long edges, from end to end
    every half mm; (n, 3)."""
    fore, along, up = lay_axes(edges)
    charts = []
    for name in ("upper", "lower"):
        line = edges[name]
        first, last = line[0] - line[1], line[-1] - line[-2]
        line = np.vstack([line[0] + 80 * first / np.hypot(*first), line, line[-1] + 80 * last / np.hypot(*last)]) - fore
        charts.append((line @ along, line @ up))
    long = float(np.hypot(*(edges["upper"][-1] + edges["lower"][-1] - edges["upper"][0] - edges["lower"][0])) / 2)
    x = np.linspace(0.0, long, int(2 * long) + 1)
    upper, lower = (np.interp(x, *c) for c in charts)
    middle = (upper + lower) / 2
    slope = np.gradient(middle, x)
    # square to the middle line, the edges being all but parallel to it
    return x, middle, _measure_across(charts, x, middle, slope)


def _measure_across(charts, x, middle, slope):
    wide = np.zeros(len(x))
    for at, height in charts:
        off = np.interp(x, at, height) - middle
        for _ in range(12):  # where the square to the middle line meets the edge
            off = (np.interp(x - off * slope / np.sqrt(1 + slope**2), at, height) - middle) * np.sqrt(1 + slope**2)
        wide += np.abs(off)
    return wide


def _measure(x, y):
    return float(np.hypot(np.diff(x), np.diff(y)).sum())


def list_frames(drawing, lofted):
    """{label: (distance along the pattern's baseline, width of the pattern along the frame)}, from the fore end aft."""
    fore, along, _ = lay_axes(lofted.pattern)
    found = {}
    for item in drawing.find("station"):
        line = np.stack([item.runs[0].pieces[0][0], item.runs[0].pieces[-1][-1]])
        found[item.values["station"]] = float((line.mean(axis=0) - fore) @ along), float(np.hypot(*(line[1] - line[0])))
    return dict(sorted(found.items(), key=lambda row: row[1]))


def _spread(readings, frames, x):
    """What was read at one or two frames, at places x along the baseline: straight between them, level beyond."""
    if not readings:
        return np.zeros(len(x))
    places = {label: at for label, (at, _) in frames.items()}
    rows = sorted((places[label], value) for label, value in readings.items())
    assert len(rows) <= 2, "more than two readings of a kind are not a straight line"
    return np.interp(x, [r[0] for r in rows], [r[1] for r in rows])


# -- the board -------------------------------------------------------------------------------------------------


def list_wood_claims(sheet, drawing, lofted, readings, *, thickness_mm):
    """Bend, strain, stock, seam, corners and end bevels as the sheet tells them."""
    words = read_words(sheet)
    x, y, wide = _trace_middle(lofted.pattern)
    board = _trace_middle(lofted.edges)
    speed = np.hypot(1.0, np.gradient(y, x))
    frames = list_frames(drawing, lofted)
    yield from _claim_bend(words, (x, y), board=board, lofted=lofted, readings=readings, thickness=thickness_mm)
    if readings.bend:
        yield from _claim_strain(
            words, (x, wide, speed), drawing, frames=frames, readings=readings, thickness=thickness_mm
        )
    yield from _claim_stock(words, x, frames=frames, lofted=lofted, readings=readings, board=board,
                            thickness=thickness_mm)
    yield from _claim_seam(words, thickness_mm)
    yield from _claim_corners(words, drawing)
    yield from _claim_end_bevels(words, lofted, thickness_mm)


def _claim_bend(words, pattern, board, lofted, readings, thickness):
    told = re.search(r"BEND: %s DEGREES IN ALL\. FLAT LENGTH (LONGER|SHORTER) BY %s MM" % (_MM, _MM), words)
    if not told:
        assert "BEND ALONG THE PLANK WAS NOT GIVEN" in words or "TWIST WAS GIVEN" in words
        yield Claim("sheet, bend, not told", 0.0, 1e-3, _measure(*board[:2]) - _measure(*pattern))
        return
    added = _measure(*board[:2]) - _measure(*pattern)
    # a pattern and a plank keep their lengths half-way through: of the inside (t - p) / 2 apart, of the outside (t + p)
    # / 2
    lever = (
        (thickness - readings.pattern_mm) / 2 if lofted.face == "inboard" else -(thickness + readings.pattern_mm) / 2
    )
    yield Claim(
        "sheet, bend, flat length", float(told.group(3)) * (1 if told.group(2) == "LONGER" else -1), _TENTH, added
    )
    yield Claim("sheet, bend, degrees in all", float(told.group(1)), _TENTH, float(np.degrees(added / lever)))
    hung = re.search(
        r"HUNG, THE (OUTSIDE|INSIDE) MEASURES %s MM MORE THAN .*? THE FORE END LEANS %s AND THE AFT END %s DEGREES"
        % (_MM, _MM, _MM),
        words,
    )
    if not hung:
        return
    yield Claim(
        "sheet, bend, outside over inside",
        float(hung.group(2)) * (1 if hung.group(1) == "OUTSIDE" else -1),
        _TENTH,
        thickness * added / lever,
    )
    # the place half-way along the baseline stays where it is when the board's length is laid out
    lines = []
    for (x, y), edges in ((pattern, lofted.pattern), (board[:2], lofted.edges)):
        fore, along, up = lay_axes(edges)
        lines.append(shapely.LineString(fore + x[:, None] * along + y[:, None] * up))
    middle = len(pattern[0]) // 2
    still = shapely.Point(shapely.get_coordinates(lines[0])[middle])
    before, after = (shapely.line_locate_point(line, still) for line in lines)
    for end, text, longer in (
        ("fore", hung.group(3), after - before),
        ("aft", hung.group(4), lines[1].length - after - lines[0].length + before),
    ):
        yield Claim("sheet, bend, %s end leans" % end, float(text), _TENTH, abs(float(np.degrees(longer / lever))))


def _claim_strain(words, middle, drawing, *, frames, readings, thickness):
    x, wide, speed = middle
    round_, bend, twist = (_spread(r, frames, x) for r in (readings.radius, readings.bend, readings.twist))
    strain = (round_ * bend - twist**2) * wide**2 / 8
    worst = float(strain[int(np.argmax(np.abs(strain)))])
    told = re.search(
        r"UP TO %s MM IN A METRE (SHORTER|LONGER) THAN THE MIDDLE, %s MM OVER THE LENGTH" % (_MM, _MM), words
    )
    if told:
        sign = 1 if told.group(2) == "SHORTER" else -1
        yield Claim("sheet, strain, worst", float(told.group(1)) * sign, 0.01, 1000 * worst)
        yield Claim(
            "sheet, strain, over the length", float(told.group(3)), 0.01, abs(float(np.trapezoid(strain * speed, x)))
        )
    else:
        yield Claim("sheet, strain, none", 0.0, 0.01, 1000 * worst)
    # the table stands in the drawing and in the record; a sheet has no room for it
    labels = [i.values["text"] for i in drawing.items if i.role == "label" and "text" in i.values]
    for label, (at, width) in frames.items():
        section = drawing.one("section", station=label)
        value = (measure_roundness(section) * np.interp(at, x, bend) - np.interp(at, x, twist) ** 2) * width**2 / 8
        yield Claim("drawing, section %s, strain" % label, section.number("strain-ppm") / 1000, 2e-4, 1000 * value)
        row = find_table_row(labels, label)
        yield Claim("drawing, table, frame %s, strain" % label, float(row[8]), _TENTH, 1000 * value)
    # half-way through the plank, where it keeps its length, both principal radii are half a thickness longer
    root = np.sqrt(bend**2 + 4 * twist**2)
    tightest = float(np.max([np.abs(v / (1 + v * thickness / 2)) for v in ((bend + root) / 2, (bend - root) / 2)]))
    radius, times, thick, share = find_words(
        r"A RADIUS OF %s MM TO ITS MIDDLE IS %s TIMES THE THICKNESS OF %s MM \(%s %% STRAIN\)" % (_MM, _MM, _MM, _MM),
        words,
    )
    for name, text, step, value in (
        ("radius", radius, 1.0, 1 / tightest),
        ("over thickness", times, 1.0, 1 / tightest / thickness),
        ("thickness", thick, 0.0, thickness),
        ("percent", share, 0.01, 50 * thickness * tightest),
    ):
        yield Claim("sheet, bending, %s" % name, float(text), step, value)


def find_table_row(labels, station):
    """Cells of a frame's row in the table of hollow and bevels."""
    start = next(k for k, t in enumerate(labels) if t.startswith("HOLLOW AND BEVELS")) + 1
    width = 10 if labels[start + 9] == "NOTE" else 9
    at = next(
        k
        for k in range(start + width, len(labels))
        if labels[k] == station.upper()
        and re.fullmatch(r"\d+\.\d", labels[k + 1])
        and re.fullmatch(r"\d+\.\d", labels[k + 2])
    )
    return labels[at : at + 9]


def measure_roundness(section):
    """Curvature of the inside of a drawn section, 1/mm, > 0 where it is hollowed: by the circle through its ends and
    its middle."""
    inside = type(section.runs[0])(section.runs[0].pieces[: int(section.values["inside-pieces"])], False).trace(64)
    a, b = inside[0], inside[-1]
    chord = float(np.hypot(*(b - a)))
    way = (b - a) / chord
    out = np.array([-way[1], way[0]])
    tip = section.runs[0].pieces[int(section.values["inside-pieces"])][-1]
    out = out if (tip - b) @ out > 0 else -out
    heights = (inside - a) @ out
    depth = float(heights[int(np.argmax(np.abs(heights)))])
    return 8 * depth / (chord**2 + 4 * depth**2)


def _claim_stock(words, x, frames, lofted, readings, board, thickness):
    stock, planing = find_words(r"STOCK: %s MM THICK \([^)]*\), OF IT %s MM FOR PLANING" % (_MM, _MM), words)
    at_frames = max(s["stock"] for s in lofted.sections.values())
    if len(readings.radius) in (1, 2) and min(readings.radius.values()) > 0:
        # on round frames: the thickness, and what the inside is hollowed by between straight corners
        curve = _spread(readings.radius, frames, x)
        chord = np.interp(x / x[-1], board[0] / board[0][-1], board[2])
        if lofted.face == "outboard":
            chord = chord / (1 + curve * thickness)
        needed = max(at_frames, float(thickness + (1 / curve - np.sqrt(1 / curve**2 - chord**2 / 4)).max()))
        yield Claim("sheet, stock", float(stock), _TENTH, needed + float(planing))
    else:
        yield Claim(
            "sheet, stock, no less than at the frames",
            float(stock),
            _TENTH,
            max(float(stock), at_frames + float(planing)),
        )


def _claim_seam(words, thickness):
    """By the rule of a sixteenth of an inch for each inch of thickness: a sixteenth of it."""
    told = re.search(r"SEAM: %s MM OPEN OUTSIDE, TIGHT INSIDE; (HALF|ALL)" % _MM, words)
    if told:
        gap = thickness / 16
        yield Claim("sheet, seam", float(told.group(1)), _TENTH, gap)
        (taken,) = find_words(r"THE SEAM HAS TAKEN %s DEGREES OFF" % _MM, words)
        yield Claim(
            "sheet, seam, degrees",
            float(taken),
            _TENTH,
            float(np.degrees(np.arctan(gap / thickness / (2 if told.group(2) == "HALF" else 1)))),
        )


def _claim_corners(words, drawing):
    told = re.search(r"THE (OUTSIDE|INSIDE) IS ROUNDED BY UP TO %s MM AT ITS CORNERS \(FRAME ([^)]*)\)" % _MM, words)
    rounding = {s.values["station"].upper(): _measure_rounding(s) for s in drawing.find("section")}
    if not told:
        assert max(rounding.values()) < 0.3 + 2e-4
        return
    yield Claim("sheet, corners", float(told.group(2)), _TENTH, max(rounding.values()))
    yield Claim("sheet, corners, the frame", rounding[told.group(3)], 2e-4, max(rounding.values()))


def _measure_rounding(section):
    """How much lower the corners of a drawn section lie than the face that is rounded."""
    run, inside = section.runs[0], int(section.values["inside-pieces"])
    upper, lower = run.pieces[0][0], run.pieces[inside - 1][-1]
    way = (lower - upper) / np.hypot(*(lower - upper))
    out = np.array([-way[1], way[0]])
    tips = run.pieces[inside][-1], run.pieces[-1][0]
    out = out if (tips[0] - lower) @ out > 0 else -out
    outer = (type(run)(run.pieces[inside + 1 : -1], False).trace(400) - upper) @ out
    inner = (type(run)(run.pieces[:inside], False).trace(400) - upper) @ out
    ends = [(t - upper) @ out for t in tips]
    return (
        float(outer.max() - min(ends))
        if measure_roundness(section) > 1e-9
        else float(max(-inner.min(), max(ends) - min(ends)))
    )


def _claim_end_bevels(words, lofted, thickness):
    found = re.findall(r"(FORE|AFT) END ([+-]\d+\.\d) DEGREES FROM SQUARE", words)
    told = {end: float(degrees) for end, degrees in found}
    if not lofted.other:
        return
    for end in ("fore", "aft"):
        line = shapely.LineString(lofted.other[end])
        middle = lofted.share(end, 0.5)
        away, out = shapely.distance(shapely.Point(middle), line), lofted.outward(end, middle)[1]
        near = np.array(
            shapely.get_coordinates(
                shapely.line_interpolate_point(line, shapely.line_locate_point(line, shapely.Point(middle)))
            )[0]
        )
        away = away if (near - middle) @ out > 0 else -away
        yield Claim(
            "sheet, %s end, degrees" % end,
            told.get(end.upper(), 0.0),
            _TENTH,
            float(np.degrees(np.arctan2(away if lofted.face == "inboard" else -away, thickness))),
        )
