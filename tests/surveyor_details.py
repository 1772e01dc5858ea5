"""The surveyor's second instrument: joints, fastenings, fairing, scale bars and page of a plank, measured again on the
drawn lines.

As surveyor it shares no code with plankcore; of the attributes it reads only the role of a line and the label it stands
under.
"""
from __future__ import annotations

import re

import numpy as np
import shapely
from lxml import html
from surveyor import Claim, read_figure

__all__ = [
    "list_bar_claims",
    "list_fastening_claims",
    "list_joint_claims",
    "list_joint_record_claims",
]

_MM = r"(\d+(?:\.\d+)?)"


def _read_mm(text):
    """(figure, its step) of '176' or '177.4': format_mm leaves a nought after the point out, so a tenth is meant."""
    return float(text), 0.01 if "." in text and len(text.split(".")[1]) == 2 else 0.1


def _read_words(sheet):
    return " ".join(i.values["text"] for i in sheet.items if i.role in ("note", "warning") and "text" in i.values)


def _find_middle(item):
    points = item.runs[0].trace(1)
    return (points[0] + points[-1]) / 2


def _measure_along(lofted, point):
    fore, along, _ = lofted.axes
    return float((point - fore) @ along)


def _measure_scarf(plan, label, lofted):
    """Length along the baseline between the two feathers of a scarf."""
    outer, inner = (_measure_along(lofted,
                                   _find_middle(next(i for i in plan.find("feather", joint=label)
                                                     if i.values["face"] == f))) for f in ("outside", "inside"))
    return abs(outer - inner)


def list_joint_claims(sheet, lofted, *, thickness_mm):
    """What the sheet says of scarfs and butts, on its own lines: length, slope face, angle, distance, block, lengths of
    the parts.
    """
    words = _read_words(sheet)
    for item in sheet.find("joint"):
        label = item.values["joint"]
        where = "sheet, joint %s" % label
        if sheet.find("feather", joint=label):
            long = _measure_scarf(sheet, label, lofted)
            slope, thick, length, face, angle = re.search(
                r"SCARF %s: [^,]*, %s:1 ON %s MM: %s MM \([^)]*\) ALONG, SLOPE FACE %s MM, %s DEG"
                % (label, _MM, _MM, _MM, _MM, _MM), words).groups()
            yield Claim(where + ", length", *_read_mm(length), long)
            yield Claim(where + ", thickness", *_read_mm(thick), thickness_mm)
            yield Claim(where + ", slope", float(slope), 0.02, long / thickness_mm)
            yield Claim(where + ", slope face", *_read_mm(face), float(np.hypot(long, thickness_mm)))
            yield Claim(where + ", angle", float(angle), 0.01, float(np.degrees(np.arctan2(thickness_mm, long))))
        else:
            distance, length, past = re.search(
                r"BUTT %s: [^,]*, %s MM FROM THE FORE END\. BLOCK %s MM LONG .*?, %s MM PAST EACH EDGE"
                % (label, _MM, _MM, _MM), words).groups()
            yield Claim(where + ", distance", *_read_mm(distance), _measure_along(lofted, _find_middle(item)))
            yield from _claim_block(where + ", block", sheet.one("block", joint=label), butt=item, length=length,
                                    past=past)
    frames = _list_frame_places(sheet, lofted)
    for number, length, spaces in re.findall(r"PART (\d+) IS %s MM LONG(?: \(%s FRAME SPACES\))?" % (_MM, _MM), words):
        points = sheet.one("part", part=number).runs[0]
        counts = [int(v) for v in sheet.one("part", part=number).values["pieces"].split()]
        aft, fore = points.pieces[counts[0]:counts[0] + counts[1]], points.pieces[sum(counts[:3]):]
        ends = [_measure_along(lofted, (end[0][0] + end[-1][-1]) / 2) for end in (fore, aft)]
        yield Claim("sheet, part %s, length" % number, float(length), 1.0, ends[1] - ends[0])
        if spaces:
            yield Claim("sheet, part %s, frame spaces" % number, float(spaces), 0.1, float(np.diff(frames(ends))[0]))
    whole = re.search(r"NEW PLANK: (\d+) FRAME SPACES", words)
    if whole and not re.search(r"(SCARF|BUTT) 2: ", words) and not sheet.find("block"):
        ends = frames([0.0, _measure_along(lofted, (lofted.corner("upper aft") + lofted.corner("lower aft")) / 2)])
        yield Claim("sheet, new plank, frame spaces", float(whole.group(1)), 0.1, float(np.diff(np.floor(ends))[0]))


def _list_frame_places(sheet, lofted):
    """Frame spaces as a function of the distance aft along the baseline: each space in proportion, and beyond the last
    frames, whose numbers follow each other, by the mean of all."""
    along = []
    for item in sheet.find("station"):
        middle = item.runs[0].trace(1).mean(axis=0)
        along.append((int(re.search(r"\d+", item.values["station"]).group()), _measure_along(lofted, middle)))
    along.sort(key=lambda one: one[1])
    number, at = np.array(along, float).T
    number = np.abs(number - number[0])
    mean = (at[-1] - at[0]) / number[-1]
    number, at = (np.r_[v[0] - 9 * d, v, v[-1] + 9 * d] for v, d in ((number, 1.0), (at, mean)))
    return lambda places: np.interp(places, at, number)


def _claim_block(where, block, butt, length, past):
    """A block's length, and how far it laps past the ends of the butt's line, on the four strokes of its outline."""
    corners = block.runs[0].trace(1)[:-1]
    line = butt.runs[0].trace(1)
    way = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    square = np.array([-way[1], way[0]])
    yield Claim(where + ", length", *_read_mm(length), float(np.ptp(corners @ square)))
    ring = shapely.Polygon(corners)
    cut = shapely.get_coordinates(
        shapely.intersection(shapely.LineString([line[0] - 500 * way, line[-1] + 500 * way]), ring))
    for end, name, sign in ((line[0], "upper", -1), (line[-1], "lower", 1)):
        yield Claim("%s, past the %s edge" % (where, name), *_read_mm(past), float(((cut - end) @ way * sign).max()))


def list_joint_record_claims(data, drawing, lofted, *, denominator):
    """The record's table of joints: middle and length."""
    page = html.fromstring(data.decode("utf-8"))
    tables = [t for t in page.xpath("//table") if t.xpath(".//th") and t.xpath(".//th")[0].text_content() == "Joint"]
    rows = [[c.text_content() for c in r] for t in tables for r in t.xpath("./tbody/tr")]
    assert len(rows) == len(drawing.find("joint")), "the record tells of %d joints, %d are drawn" % (
        len(rows), len(drawing.find("joint")))
    for label, kind, _, middle, length, slope in rows:
        item = drawing.one("joint", joint=label)
        for text in middle.split(" = "):
            yield Claim("record, joint %s, along" % label, *read_figure(text, denominator=denominator),
                        _measure_along(lofted, _find_middle(item)))
        assert bool(length) == bool(slope) == (kind == "scarf") == bool(drawing.find("feather", joint=label))
        for text in length.split(" = ") if length else ():
            yield Claim("record, joint %s, length" % label, *read_figure(text, denominator=denominator),
                        _measure_scarf(drawing, label, lofted))


# -- fastenings ------------------------------------------------------------------------------------------------

def measure_cross(item):
    """(middle, diameter of the circle) of a fastening as drawn: its longest straight stroke, and the curves about its
    middle.
    """
    straight = [p for p in item.runs[0].pieces if shapely.LineString(p).length - np.hypot(*(p[-1] - p[0])) < 1e-6]
    longest = max(straight, key=lambda p: float(np.hypot(*(p[-1] - p[0]))))
    middle = (longest[0] + longest[-1]) / 2
    round_it = [p for p in item.runs[0].pieces if shapely.LineString(p).length - np.hypot(*(p[-1] - p[0])) > 1e-3]
    return middle, 2 * float(np.mean([np.hypot(*(q - middle)) for p in round_it for q in (p[0], p[-1])]))


def list_fastening_claims(sheet, lofted):
    """The buying list against the crosses that are drawn, those at butts told by the drawn blocks and sides of frames;
    the plug against the drawn circles; the room to the edges.
    """
    words = _read_words(sheet)
    crosses = [measure_cross(i) for i in sheet.find("fastening") if "diameter-mm" in i.values]
    bands = []
    for label, _ in lofted.frames:
        a, b = (i.runs[0].trace(1) for i in sheet.find("frame-side", station=label))
        bands.append(shapely.buffer(shapely.Polygon([a[0], a[-1], b[-1], b[0]]).convex_hull, 1e-3))
    blocks = [shapely.Polygon(i.runs[0].trace(1)) for i in sheet.find("block")]
    at_butts = sum(any(b.contains(shapely.Point(p)) for b in blocks)
                   and not any(b.contains(shapely.Point(p)) for b in bands) for p, _ in crosses)
    driven = {"PLANK": len(crosses) - at_butts, "BUTT BLOCKS": at_butts, "HEADS": len(crosses)}
    spare, bought = re.search(r"BUY, WITH (\d+) PERCENT SPARE: (.*?\))\. ", words).groups()
    told = [(a, {"BUTT BLOCKS": "BUTT BLOCKS", "HEADS": "HEADS"}.get(n, "PLANK"), b)
            for a, n, b in re.findall(r"(\d+) [^;]*? FOR ([A-Z, ]+?) \((\d+) DRIVEN\)", bought)]
    assert {n for _, n, _ in told} == {n for n, count in driven.items() if count}, "the buying list tells of %s" % told
    for count, name, used in told:
        yield Claim("sheet, driven for %s" % name, int(used), 0, driven[name])
        yield Claim("sheet, bought for %s" % name, int(count), 0, -(-driven[name] * (100 + int(spare)) // 100))
    plug = re.search(r"PLUGS [^(]*\(%s MM\)" % _MM, words)
    for _, wide in crosses if plug else ():
        yield Claim("sheet, plug", *_read_mm(plug.group(1)), wide)
    rooms = re.search(r"KEPT FROM THE EDGES (\d+)/(\d+) IN OR A SIXTH OF THE WIDTH", words)
    least = 25.4 * int(rooms.group(1)) / int(rooms.group(2))
    edges = [shapely.LineString(lofted.edges[e]) for e in ("upper", "lower")]
    # not a figure to be met but a floor: it is agreed where the drawing gives as much or more
    nearest = min(float(shapely.distance(shapely.Point(p), line)) for p, _ in crosses for line in edges)
    yield Claim("sheet, room to the edges", least, 0.003, min(nearest, least))
    lines = [i.runs[0].trace(1) for i in sheet.find("bare")]
    bare = re.search(r"LEFT BARE, DRAWN DASHED: (.*?), FROM THE UPPER EDGE DOWN", words)
    lengths = re.findall(r"\(%s MM\)" % _MM, bare.group(1)) if bare else []
    assert len(lengths) == len(lines), "%d stretches are told as left bare, %d are drawn" % (len(lengths), len(lines))
    for number, (length, line) in enumerate(zip(lengths, lines)):
        yield Claim("sheet, left bare %d" % number, *_read_mm(length), float(np.hypot(*(line[-1] - line[0]))))


# -- scale bars and page ---------------------------------------------------------------------------------------

def list_bar_claims(sheet):
    """Bars and their ticks against what is lettered at them, page size as the file's head gives it against what it
    says, corner crosses against their distances.
    """
    head = sheet.one("sheet")
    yield Claim("sheet, page wide", head.number("width-mm"), 0.01, sheet.width_mm)
    yield Claim("sheet, page high", head.number("height-mm"), 0.01, sheet.height_mm)
    letters = re.findall(r"(?<= )(\d+(?:\.\d+)?) (MM|IN) (ALONG|ACROSS)", _read_words(sheet))
    bars = sheet.find("scale-bar")
    assert len(bars) == len(letters), "%d bars are drawn, %d lettered" % (len(bars), len(letters))
    ticks = [(t.runs[0].trace(1)[0], shapely.LineString(t.runs[0].trace(1))) for t in sheet.find("scale-bar-tick")]
    for bar, (figure, unit, way) in zip(bars, letters):
        line = bar.runs[0].trace(1)
        step = 25.4 if unit == "IN" else 1.0
        where = "sheet, bar %s %s %s" % (figure, unit, way)
        yield Claim(where, float(figure) * step, 0.0, float(np.hypot(*(line[-1] - line[0]))))
        yield Claim(where + ", lies", 0.0, 0.0, float(abs((line[-1] - line[0])[1 if way == "ALONG" else 0])))
        on = sorted(float(np.hypot(*(p - line[0]))) for p, _ in ticks
                    if shapely.distance(shapely.Point(p), shapely.LineString(line)) < 1e-6)
        apart = float(figure) * step / (len(on) - 1)
        for k, at in enumerate(on):
            yield Claim("%s, tick %d" % (where, k), k * apart, 0.0, at)
    yield from _claim_corners(sheet)


def _claim_corners(sheet):
    crosses = [np.vstack([r.trace(1) for r in i.runs]) for i in sheet.find("corner-cross")]
    middles = [(c.min(axis=0) + c.max(axis=0)) / 2 for c in crosses]
    told = re.search(r"CROSSES: AB AND DC %s +AD AND BC %s +AC AND BD %s MM" % (_MM, _MM, _MM), _read_words(sheet))
    if told:
        named = _name_corners(middles)
        for figure, pairs in zip(told.groups(), (("AB", "DC"), ("AD", "BC"), ("AC", "BD"))):
            for a, b in pairs:
                yield Claim("sheet, crosses %s%s" % (a, b), float(figure), 0.1, float(np.hypot(*(named[a] - named[b]))))


def _name_corners(middles):
    """A upper left, then round by the clock."""
    low, high = np.min(middles, axis=0), np.max(middles, axis=0)
    corners = {"A": low, "B": np.array([high[0], low[1]]), "C": high, "D": np.array([low[0], high[1]])}
    return {k: min(middles, key=lambda m: float(np.hypot(*(m - at)))) for k, at in corners.items()}
