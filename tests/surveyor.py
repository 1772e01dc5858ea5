"""A surveyor for the tests: reads a plank's drawing, its record (HTML and CSV) and its sheet, measures every figure
again on what is drawn, and says where they differ.

It shares no code with plankcore: paths are read by svgelements (through host.reader), shapes measured by numpy and
shapely, words by regular expressions.
Feet-inches-eighths are read by hand: F-I-E, behind it + for 1/16, +- for 1/32, ++ for 3/32 of an inch of 25.4 mm
exactly (international yard and pound agreement, 1959).
"""
from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
import shapely
from host import reader
from lxml import html

__all__ = [
    "CSV_COLUMNS",
    "Claim",
    "Lofted",
    "cross_rays",
    "cut_up",
    "list_box_claims",
    "list_card_claims",
    "list_csv_claims",
    "list_differences",
    "list_record_claims",
    "list_sheet_claims",
    "list_title_claims",
    "loft",
    "measure_along",
    "read_words",
]

# mm or degrees: what measuring on chords of a hundredth of a piece, and a file of seven digits, may add
SLACK = 2e-4
_LOOP = ("upper", "aft", "lower", "fore")
_BEHIND = {None: 0, "+": 2, "+-": 1, "++": 3}
_FIGURE = r"(?:(\d+(?:\.\d+)?)|(\d+)-(\d+)-(\d+)(\+\+|\+-|\+)?)"


@dataclass(frozen=True)
class Claim:
    """A figure: where it stands, as printed (mm or degrees), its step, and what it is when measured."""

    where: str
    printed: float
    step: float
    measured: float

    @property
    def agrees(self):
        return abs(self.printed - self.measured) <= self.step / 2 + SLACK


def list_differences(claims):
    """Those that the drawing does not bear out, in words."""
    return ["%s: %g is printed, the drawing gives %.4f" % (c.where, c.printed, c.measured) for c in claims
            if not c.agrees]


def read_figure(text, *, denominator=16):
    """(mm, step) of '12.5', '12.5 mm', '0-4-3+' with the words for a sign before it."""
    match = re.match(r"^\(?(?:(up|down|forward|outside|inside) )?" + _FIGURE + r"(?: ?mm)?\)?$", text.strip())
    assert match, "no figure: %r" % text
    word, mm, feet, inches, eighths, behind = match.groups()
    size = float(mm) if mm else 25.4 * (12 * int(feet) + int(inches) + int(eighths) / 8 + _BEHIND[behind] / 32)
    step = (0.1 if "." not in mm
            or len(mm.split(".")[1]) == 1 else 10.0 ** -len(mm.split(".")[1])) if mm else 25.4 / denominator
    return (-size if word in ("down", "forward", "inside") else size), step


def measure_length(points):
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def cross_up(points, origin, along, up, at):
    """Height over a line through origin where a polyline, run on straight at its ends, stands over distance `at` along
    it.
    """
    points = np.vstack([points[0] + 5 * (points[0] - points[1]) / np.hypot(*(points[0] - points[1])), points,
                        points[-1] + 5 * (points[-1] - points[-2]) / np.hypot(*(points[-1] - points[-2]))])
    x, y = (points - origin) @ along, (points - origin) @ up
    if x[0] > x[-1]:
        x, y = x[::-1], y[::-1]
    assert x[0] <= at <= x[-1], "no line there"
    return float(np.interp(at, x, y))


@dataclass(frozen=True, eq=False)
class Lofted:
    """One drawing of a plank: edges as dense points (upper and lower from fore to aft, fore and aft from upper to
    lower), frames, saw line, sections.
    """

    edges: dict
    pattern: dict
    frames: list
    saw: object
    sections: dict
    marks: list
    other: dict
    face: str
    seen_from: str = ""
    ways: dict = field(default_factory=dict)

    @property
    def axes(self):
        return lay_axes(self.edges)

    def corner(self, name):
        long, end = name.split()
        return self.edges[long][0 if end == "fore" else -1]

    def _walk(self, edge):
        """An edge's points, how far along it each lies, those that differ, its ways at them, and its strokes in a tree;
        worked out once for a line.
        """
        line = self.edges[edge]
        if edge not in self.ways or self.ways[edge][0] is not line:
            away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
            keep = np.concatenate([[True], np.diff(away) > 1e-9])
            self.ways[edge] = (line, away, away[keep], np.gradient(line[keep], away[keep], axis=0,
                                                                   edge_order=2 if keep.sum() > 2 else 1),
                               cut_up(line))
        return self.ways[edge]

    def locate(self, edge, points):
        """How far along an edge the places nearest to points (n, 2) lie, and how far the points stand off it: (n,)."""
        line, away, _, _, strokes = self._walk(edge)
        _, near = strokes.query_nearest(shapely.points(points), all_matches=False)
        step = line[near + 1] - line[near]
        size = np.maximum(np.einsum("ij,ij->i", step, step), 1e-30)
        share = np.clip(np.einsum("ij,ij->i", points - line[near], step) / size, 0.0, 1.0)
        return away[near] + share * np.sqrt(size), np.hypot(*(points - line[near] - share[:, None] * step).T)

    def walk(self, edge, at):
        """Points (n, 2) this far along an edge."""
        line, away = self._walk(edge)[:2]
        return np.stack([np.interp(at, away, c) for c in line.T], axis=1)

    def length(self, edge):
        return float(self._walk(edge)[1][-1])

    def outward(self, edge, point):
        """(distance of the point from that edge, the way straight out from it there)."""
        off, out = self.outward_each(edge, np.array([point]))
        return float(off[0]), out[0]

    def outward_each(self, edge, points):
        """The same of points (n, 2): distances (n,) and ways (n, 2)."""
        _, _, away, ways, _ = self._walk(edge)
        at, off = self.locate(edge, points)
        way = np.stack([np.interp(at, away, w) for w in ways.T], axis=1)
        way = way / np.hypot(*way.T)[:, None]
        out = np.stack([-way[:, 1], way[:, 0]], axis=1)
        middle = np.mean([self.corner(n) for n in ("upper fore", "upper aft", "lower fore", "lower aft")], axis=0)
        inside = {"upper": self.edges["lower"], "lower": self.edges["upper"], "fore": self.edges["aft"],
                  "aft": self.edges["fore"]}[edge].mean(axis=0)
        if edge in ("upper", "lower"):
            along = self.axes[1]
            inside = inside + ((points - middle) @ along)[:, None] * along
        inwards = np.einsum("ij,ij->i", out, inside - points) >= 0
        return off, np.where(inwards[:, None], -out, out)

    def saw_off(self, edge, point):
        """How far outside the net line the drawn saw line runs, along the square to it: a frame's end may stand a
        hundredth of a mm off the edge it meets.
        """
        return float(self.saw_off_each(edge, np.array([point]))[0])

    def saw_off_each(self, edge, points):
        """The same of points (n, 2)."""
        if "saw" not in self.ways or self.ways["saw"][0] is not self.saw:
            self.ways["saw"] = self.saw, cut_up(shapely.get_coordinates(self.saw))
        points = self.walk(edge, self.locate(edge, points)[0])
        which, away = measure_along(points, self.outward_each(edge, points)[1], self.ways["saw"][1], reach=400.0)
        assert len(which) == len(points), "no saw line there"
        return away

    def nearest_edge(self, point, prefer):
        off = {e: float(self.locate(e, np.array([point]))[1][0]) for e in self.edges}
        return min(off, key=lambda e: (round(off[e], 3), e != prefer))

    def share(self, edge, share):
        """The point at a share of an edge's length."""
        return self.walk(edge, np.array([share * self.length(edge)]))[0]


def cut_up(line):
    """A polyline's strokes in a tree, so that a ray is tried on those near it alone."""
    return shapely.STRtree(shapely.linestrings(np.stack([line[:-1], line[1:]], axis=1)))


def measure_along(points, ways, strokes, *, reach):
    """How far along its way (n, 2), forth or back, each of points (n, 2) has the nearest of the strokes: the numbers of
    those that have any within reach, in order, and that distance.
    """
    which, hits = cross_rays(np.stack([points - reach * ways, points + reach * ways], axis=1), strokes)
    away = np.einsum("ij,ij->i", hits - points[which], ways[which])
    order = np.lexsort((np.abs(away), which))
    first = order[np.unique(which[order], return_index=True)[1]]
    return which[first], away[first]


def cross_rays(rays, strokes):
    """Where rays (n, 2, 2) cross the strokes of cut_up: the ray's number (m,) and the place (m, 2) of each crossing."""
    rays = shapely.linestrings(np.asarray(rays, float))
    which, stroke = strokes.query(rays, predicate="intersects")
    places, number = shapely.get_coordinates(shapely.intersection(rays[which], strokes.geometries[stroke]),
                                             return_index=True)
    return which[number], places


def lay_axes(edges):
    fore, aft = ((edges["upper"][k] + edges["lower"][k]) / 2 for k in (0, -1))
    along = (aft - fore) / np.hypot(*(aft - fore))
    up = np.array([along[1], -along[0]])
    up = up if (edges["upper"][0] + edges["upper"][-1] - edges["lower"][0] - edges["lower"][-1]) @ up > 0 else -up
    return fore, along, up


def trace(run):
    """Points of a run on chords of a quarter of a mm: on an end bowed to a radius of 200 mm they stand 4e-5 mm off."""
    longest = max(float(np.hypot(*np.diff(p, axis=0).T).sum()) for p in run.pieces)
    return run.trace(max(int(longest / 0.25), 8))


def split(run, counts):
    """A closed run in its four edges, by how many pieces each has."""
    found, k = {}, 0
    for name, count in zip(_LOOP, counts):
        points = trace(reader.Run(tuple(run.pieces[k:k + count]), False))
        found[name] = points[::-1] if name in ("lower", "fore") else points
        k += count
    assert k == len(run.pieces)
    return found


def loft(drawing, *, counts=None):
    """Read a drawing, or a sheet (with how many pieces the net line's edges have), as a Reading of host.reader."""
    found = _loft(drawing, None if counts is None else tuple(counts))
    # a test that plants a fault changes its own
    return replace(found, edges=dict(found.edges), pattern=dict(found.pattern), frames=list(found.frames),
                   sections=dict(found.sections), marks=list(found.marks), other=dict(found.other), ways={})


@lru_cache(maxsize=60)
def _loft(drawing, counts):
    faces = drawing.find("drawn-face")
    edges = drawing.find("edge")
    pattern = {e.values["edge"]: trace(e.runs[0]) for e in edges}
    other, face = {}, drawing.find("plank")[0].values["face"] if drawing.find("plank") else ""
    if counts is not None:
        net = split(drawing.one("outline").runs[0], counts)
    elif faces:
        net = split(faces[0].runs[0], [int(v) for v in faces[0].values["pieces"].split()])
    else:
        net = pattern
    if drawing.find("other-face") and "pieces" in drawing.find("other-face")[0].values:
        over = drawing.find("other-face")[0]
        other = split(over.runs[0], [int(v) for v in over.values["pieces"].split()])
    ends = {(i.values["station"], i.values["edge"]): i.runs[0].pieces[0][0] for i in drawing.find("section-line")}
    frames = []
    for item in drawing.find("station"):
        label, line = item.values["station"], np.stack([item.runs[0].pieces[0][0], item.runs[0].pieces[-1][-1]])
        frames.append((label,
                       np.stack([ends[label, "upper"], ends[label, "lower"]]) if (label, "upper") in ends else line))
    saws = drawing.find("saw")
    return Lofted(net, pattern, frames, shapely.LinearRing(trace(saws[0].runs[0])[:-1]) if saws else None,
                  sections={i.values["station"]: measure_section(i) for i in drawing.find("section")},
                  marks=drawing.find("mark"), other=other, face=face)


def measure_section(item):
    """Widths, bevels, hollow and thickness of a section as it is drawn: of its outline alone, and how many pieces of
    that are its inside.
    """
    run, inside = item.runs[0], int(item.values["inside-pieces"])
    upper, lower = run.pieces[0][0], run.pieces[inside - 1][-1]
    along = (lower - upper) / np.hypot(*(lower - upper))
    out = np.array([-along[1], along[0]])
    tips = run.pieces[inside][-1], run.pieces[-1][0]         # outside corners: of the lower edge, of the upper
    out = out if (tips[0] - lower) @ out > 0 else -out
    inner = (reader.Run(run.pieces[:inside], False).trace(400) - upper) @ out
    outer = (reader.Run(run.pieces[inside + 1:-1], False).trace(400) - upper) @ out
    all_of_it = (run.trace(400) - upper) @ out
    found = {"inside": float(np.hypot(*(lower - upper))), "outside": float(np.hypot(*(tips[0] - tips[1]))),
             "stock": float(np.ptp(all_of_it))}
    found["upper"] = float(np.degrees(np.arctan2(-(tips[1] - upper) @ along, (tips[1] - upper) @ out)))
    found["lower"] = float(np.degrees(np.arctan2((tips[0] - lower) @ along, (tips[0] - lower) @ out)))
    round_out = float(item.values["radius-mm"]) > 0 if item.values["radius-mm"] != "flat" else None
    # surveyed by itself, against the readings
    told = item.values.get("strain-ppm", "unknown")
    found["strain"] = None if told == "unknown" else float(told) / 1000
    found["upper growth"] = float(-(tips[1] - upper) @ along)
    found["lower growth"] = float((tips[0] - lower) @ along)
    found["hollow"] = 0.0 if round_out is None else float(inner.max()) if round_out else float(
        max((t - upper) @ out for t in tips) - outer.min())
    found["hollowed"] = "" if round_out is None else "inside" if round_out else "outside"
    found["thick"] = float(outer.max() - inner.max()) if round_out else float(outer.min() - inner.min())
    found["known"] = dict(w.split("=") for w in item.values["known"].split())
    return found


# -- the record ------------------------------------------------------------------------------------------------

def _measure_proofs(lofted):
    fore, along, up = lofted.axes
    loop = np.vstack(list(lofted.edges.values())) - fore
    x = [(lofted.edges[n] - fore) @ along for n in ("upper", "lower")]
    low, high = max(v[0] for v in x), min(v[-1] for v in x)
    at = np.union1d(np.linspace(low, high, 20001), np.concatenate([v[(v >= low) & (v <= high)] for v in x]))
    width = np.interp(at, x[0],
                      (lofted.edges["upper"] - fore) @ up) - np.interp(at, x[1], (lofted.edges["lower"] - fore) @ up)

    def apart(a, b):
        return float(np.hypot(*(lofted.corner(a) - lofted.corner(b))))
    ends = (lofted.edges["fore"][[0, -1]].mean(axis=0), lofted.edges["aft"][[0, -1]].mean(axis=0))
    return {"Baseline": float(np.hypot(*(ends[1] - ends[0]))), "Over all": float(np.ptp(loop @ along)),
            "Fore end": apart("upper fore", "lower fore"), "Aft end": apart("upper aft", "lower aft"),
            "Diagonal, upper fore": apart("upper fore", "lower aft"), "Diagonal, lower fore": apart(
                "lower fore", "upper aft"), "Upper edge": measure_length(lofted.edges["upper"]),
            "Lower edge": measure_length(lofted.edges["lower"]), "Greatest width": float(np.abs(width).max()),
            "Breadth": float(np.ptp(loop @ up))}


def _spread(where, text, measured, denominator):
    """A claim for each kind of figures in '118.0 mm = 0-4-5' or two lines."""
    for part in re.split(r" = |\n", text.replace("\u00a0", " ")):
        if part.startswith("(off the"):
            continue
        yield Claim(where, *read_figure(part, denominator=denominator), measured)
    if text.startswith("inside "):
        raise AssertionError("read the sign of %s apart" % where)


def _claim_outside(where, text, measured, denominator):
    inside = text.startswith("inside ")
    for claim in _spread(where, text[7:] if inside else text, measured, denominator):
        yield Claim(claim.where, -claim.printed if inside else claim.printed, claim.step, claim.measured)


def _claim_offsets(lofted, rows, where, denominator):
    """Rows of (name, along, upper, lower) as printed."""
    fore, along, up = lofted.axes
    frames = dict(lofted.frames)
    fine = {8: 16, 16: 32, 32: 32}[denominator]
    for name, first, *heights in rows:
        corner = "corner" in name
        at, step = read_figure(first, denominator=fine if corner else denominator)
        sides = [e for e, h in zip(("upper", "lower"), heights) if h not in ("", "\u2013")]
        frame = name.split(",")[0] if name.split(",")[0] in frames else None
        if corner or frame:
            places = [(lofted.corner("%s %s" % (e, name.split()[0])) if corner
                       else frames[frame][("upper", "lower").index(e)]) for e in sides]
            away = [float((p - fore) @ along) for p in places]
            # one row for both where they stand no farther apart than one rounding: the middle
            yield Claim("%s, %s, along" % (where, name), at, step,
                        float(np.mean(away)))
        for edge, text in zip(("upper", "lower"), heights):
            if text not in ("", "\u2013"):
                yield Claim("%s, %s, %s edge" % (where, name, edge),
                            *read_figure(text, denominator=fine if corner else denominator),
                            cross_up(lofted.edges[edge], fore, along, up, at=at))


def _claim_ends(lofted, points, corners, where, denominator):
    """points: {end: [(down, out)] as (mm, step)}; corners: {(edge, end): (along, up)} as printed."""
    fore, along, up = lofted.axes
    for end, rows in points.items():
        a, b = (fore + corners[e, end][0] * along + corners[e, end][1] * up for e in ("upper", "lower"))
        way = (b - a) / np.hypot(*(b - a))
        out = np.array([-way[1], way[0]])
        out = out if (out @ along > 0) == (end == "aft") else -out
        for (down, _), (bow, step) in rows:
            yield Claim("%s, %s end, %.1f down" % (where, end, down), bow, step,
                        cross_up(lofted.edges[end], a, way, out, at=down))


def _table(page, key):
    return [[c.text_content() for c in row] for row in page.xpath("//table[@id='%s']/tbody/tr" % key)]


def list_record_claims(data, lofted, *, denominator):
    """Every figure of the HTML."""
    page, proofs = html.fromstring(data.decode("utf-8")), _measure_proofs(lofted)
    for name, text in [[c.text_content() for c in row] for row in page.xpath("//table[@class='proofs']/tbody/tr")]:
        yield from _spread("record, %s" % name, text, next(v for k, v in proofs.items() if name.startswith(k)),
                           denominator)
    step = next(t for t in (li.text_content() for li in page.xpath("//ol/li"))
                if t.startswith("Strike a straight baseline"))
    yield from _spread("record, first step", re.search(r"aft mark, (.*?) apart", step).group(1), proofs["Baseline"],
                       denominator)
    for figures in ("mm", "inches"):
        rows = _table(page, "offsets-" + figures)
        if not rows:
            continue
        yield from _claim_offsets(lofted, rows, "record in " + figures, denominator)
        fine = {8: 16, 16: 32, 32: 32}[denominator]
        corners = {(e, r[0].split()[0]): tuple(read_figure(c, denominator=fine)[0] for c in (r[1], h)) for r in rows
                   if "corner" in r[0] for e, h in zip(("upper", "lower"), r[2:]) if h != "\u2013"}
        points = {"fore": [], "aft": []}
        for end, *cells in _table(page, "ends-" + figures):
            if cells[0] != "straight from corner to corner":
                points[end.split()[0]].append(tuple(read_figure(c, denominator=fine) for c in cells))
        yield from _claim_ends(lofted, points, corners, "record in " + figures, denominator=denominator)
    heads = [h.text_content() for h in page.xpath("//table[@id='stations']/thead/tr/th")]
    for row in _table(page, "stations"):
        yield from _claim_frame(dict(zip(heads, row)), lofted, denominator)
    if lofted.saw is not None:
        rows = _table(page, "saw")
        assert rows, "the record has no saw line at the ends"
        for name, text in rows:
            yield from _claim_outside("record, saw line, %s" % name, text, _measure_saw_place(lofted, name),
                                      denominator)
        yield from _claim_ranges("record",
                                 next(t.text_content() for t in page.xpath("//ul/li")
                                      if t.text_content().startswith("The saw line in the drawing stands")), lofted)
    yield from _claim_marks([[c.text_content() for c in row]
                             for row in page.xpath("//table[thead/tr/th='Off the fair edge']/tbody/tr")], lofted)


def _measure_saw_place(lofted, name):
    edge, where = re.match(r"(upper|lower|fore|aft) (?:end|edge), (.*)", name).groups()
    return lofted.saw_off(edge, lofted.share(edge, {"a quarter": 0.25, "middle": 0.5,
                                                    "three quarters": 0.75}[re.sub(r" (down|along)$", "", where)]))


def list_saw_places(lofted):
    """{edge: [mm]} at both ends of each frame and at the quarters of the ends (of all edges, where there are no
    frames).
    """
    found = {}
    for _, line in lofted.frames:
        for prefer, point in zip(("upper", "lower"), line):
            edge = lofted.nearest_edge(point, prefer)
            found.setdefault(edge, []).append(lofted.saw_off(edge, point))
    for edge in ("fore", "aft") if lofted.frames else ("upper", "lower", "fore", "aft"):
        found.setdefault(edge, []).extend(lofted.saw_off(edge, lofted.share(edge, s)) for s in (0.25, 0.5, 0.75))
    return found


def _claim_ranges(where, text, lofted):
    """'upper 3.7 to 7.2 mm', 'upper 3 mm', 'upper 0.4 mm inside to 1.2 mm outside' for each edge."""
    for edge, values in list_saw_places(lofted).items():
        match = re.search(r"\b%s (\d+(?:\.\d+)?)( mm inside)?(?: to (\d+(?:\.\d+)?) mm( inside)?)?" % edge, text,
                          re.IGNORECASE)
        assert match, "%s says nothing of the %s edge: %s" % (where, edge, text)
        low, inside, high, inside_too = match.groups()
        low = -float(low) if inside else float(low)
        high = low if high is None else -float(high) if inside_too else float(high)
        yield Claim("%s, saw line, %s, least" % (where, edge), low, 0.1, min(values))
        yield Claim("%s, saw line, %s, most" % (where, edge), high, 0.1, max(values))


def _claim_frame(cells, lofted, denominator):
    label = cells["Frame"]
    line, section, where = dict(lofted.frames)[label], lofted.sections.get(label), "record, frame %s" % label
    drawn = "Inside width" if lofted.face == "inboard" else "Outside width"
    yield from _spread("%s, %s on the plan" % (where, drawn), cells[drawn], float(np.hypot(*(line[1] - line[0]))),
                       denominator)
    if section is not None:
        for head, key in (("Inside width", "inside"), ("Outside width", "outside")):
            yield from _spread("%s, %s of the section" % (where, head), cells[head], section[key], denominator)
        for edge in ("upper", "lower"):
            text = cells["Bevel %s, deg" % edge]
            if _misses(lofted, section, edge, line):
                assert text == "\u2013", "%s, %s: '%s'" % (where, edge, text)
                continue
            radial = section["known"][edge] == "taken" and section["known"]["radius"] != "taken"
            assert ("radial" in text) == radial, "%s, %s: '%s'" % (where, edge, text)
            plain = text.strip("()").replace(" radial", "")
            yield Claim("%s, bevel %s" % (where, edge), 0.0 if plain == "square" else float(plain), 0.1, section[edge])
        if section["known"]["radius"] != "taken":
            depth, *face = cells["Hollow, mm"].strip("()").split()
            assert "".join(face) == (section["hollowed"] if section["hollow"]
                                     else ""), "%s, hollow: '%s'" % (where, cells["Hollow, mm"])
            yield Claim("%s, hollow" % where, float(depth), 0.1, section["hollow"])
        yield Claim("%s, thickness" % where, float(cells["Thickness, mm"]), 0.1, section["thick"])
        if section["strain"] is not None:
            yield Claim("%s, strain" % where, float(cells["Strain, mm per m"]), 0.1, section["strain"])
        yield Claim("%s, stock" % where, float(cells["Stock, mm"]), 0.1, section["stock"])
    if lofted.saw is not None:
        for edge, point in zip(("upper", "lower"), line):
            text = cells["Saw line off %s edge" % edge]
            on = lofted.nearest_edge(point, edge)
            assert ("(off the %s end)" % on in text) == (on != edge), "%s: '%s'" % (where, text)
            yield from _claim_outside("%s, saw line off the %s edge" % (where, edge), text, lofted.saw_off(on, point),
                                      denominator)


def _misses(lofted, section, edge, line):
    """Whether a frame meets an end of the plank in place of this edge, which then has no bevel there; what is known of
    it must name the end that its line meets."""
    on = lofted.nearest_edge(line[("upper", "lower").index(edge)], edge)
    assert section["known"][edge] == on if on != edge else section["known"][edge] not in ("fore", "aft")
    return on != edge


def _find_mark(lofted, edge, station, at):
    """Where the mark of this edge and frame is drawn: the middle of its cross, the one nearest to that distance along.
    """
    fore, along, _ = lay_axes(lofted.pattern)
    some = [i for i in lofted.marks if i.values["edge"] == edge and i.values.get("station", "") == station]
    middles = [reader.join_runs(i) for i in some]
    middles = [(m.min(axis=0) + m.max(axis=0)) / 2 for m in middles]
    return min(middles, key=lambda p: abs((p - fore) @ along - at))


def _measure_mark(lofted, edge, point):
    """Along and up of a mark, and how far outside its fair edge it lies, square to that; the edge runs on straight past
    its corners.
    """
    fore, along, up = lay_axes(lofted.pattern)
    lines = []
    for name in (edge, {"upper": "lower", "lower": "upper", "fore": "aft", "aft": "fore"}[edge]):
        line = lofted.pattern[name]
        ends = line[0] - line[1], line[-1] - line[-2]
        ends = [60 * way / np.hypot(*way) for way in ends]
        lines.append(shapely.LineString(np.vstack([line[0] + ends[0], line, line[-1] + ends[1]])))
    foot, facing = (np.array(shapely.get_coordinates(shapely.line_interpolate_point(
        line, shapely.line_locate_point(line, shapely.Point(point))))[0]) for line in lines)
    off = float(np.hypot(*(point - foot)))
    off = -off if (point - foot) @ (facing - foot) > 0 else off
    return float((point - fore) @ along), float((point - fore) @ up), off


def _claim_marks(rows, lofted):
    for edge, station, along, up, _, off, _ in rows:
        station = "" if station == "\u2013" else station
        measured = _measure_mark(lofted, edge, _find_mark(lofted, edge, station, float(along)))
        for name, text, value, step in zip(("along", "up", "off"), (along, up, off), measured, (0.1, 0.1, 0.01)):
            yield Claim("record, mark %s %s, %s" % (edge, station, name), float(text), step, value)


# -- the table -------------------------------------------------------------------------------------------------

# in this order in every record, so that a sheet of figures made for one plank serves for the next
CSV_COLUMNS = (
    "part", "frame", "edge", "point", "figures", "along", "upper", "lower", "bow", "along_mm", "upper_mm", "lower_mm",
    "bow_mm", "inside_width_mm", "outside_width_mm", "upper_bevel_deg", "lower_bevel_deg", "upper_bevel_from",
    "lower_bevel_from", "hollow_mm", "hollowed_face", "thickness_mm", "upper_saw_mm", "lower_saw_mm", "saw_mm",
    "honest_error_mm", "off_mm", "verdict")


def _claim_columns(row, lofted, denominator):
    """The frame and the edge of a row: the drawing has that frame, and its end on that edge lies as far along as the
    row says; where a row is of no frame, its words name the edge that its column names.
    """
    where, edge = "table, %s, %s" % (row["part"], row["point"]), row["edge"]
    frames = dict(lofted.frames)
    if row["part"].startswith("station"):
        assert row["frame"] in frames, "%s: no frame %s is drawn" % (where, row["frame"])
        fore, along, _ = lofted.axes
        step = read_figure(row["along"], denominator=denominator)[1] * (1 if edge in ("upper", "lower") else 2)
        some = ("upper", "lower") if edge == "both" else (edge,)
        assert [e for e in ("upper", "lower") if row[e]] == list(some), "%s: edge %s" % (where, edge)
        for name in some:
            point = frames[row["frame"]][("upper", "lower").index(name)]
            if lofted.nearest_edge(point, name) == name:
                yield Claim("%s, frame %s on the %s edge" % (where, row["frame"], name), float(row["along_mm"]), step,
                            float((point - fore) @ along))
        return
    if row["part"] == "widths at the frame":
        assert (row["frame"], edge) == (row["point"], "both"), where
        return
    if row["part"].startswith("mark on"):
        assert edge == row["part"].split()[3] and row["frame"] == row["point"], where
        return
    assert not row["frame"] or row["frame"] in frames, "%s: no frame %s is drawn" % (where, row["frame"])
    named = re.findall(r"\b(upper|lower)(?= edge)|\b(fore|aft)(?= end)", (row["part"] + " " + row["point"]).lower())
    if edge and edge != "both" and named:
        assert edge in {a or b for a, b in named}, "%s: edge %s" % (where, edge)
    if row["part"].split()[-1] == "end":
        assert edge == row["part"].split()[0], "%s: edge %s" % (where, edge)



def list_csv_claims(data, lofted, *, denominator):
    """Every figure of the CSV, and what its columns frame and edge say of it."""
    proofs = _measure_proofs(lofted)
    table = csv.DictReader(io.StringIO(data.decode("utf-8")))
    rows = list(table)
    assert tuple(table.fieldnames) == CSV_COLUMNS, table.fieldnames
    fore, along, _ = lofted.axes
    assert all(row["part"].startswith("# ") == (row["point"] is None) for row in rows)
    for row in rows:
        if row["point"] is not None:                     # else the mark that every file carries
            yield from _claim_columns(row, lofted, denominator)
    fine = {8: 16, 16: 32, 32: 32}[denominator]
    frames = dict(lofted.frames)
    for figures in ("mm", "inches"):
        some = [r for r in rows if r["figures"] == figures]
        offsets = [r for r in some if not r["part"].endswith(" end")]
        if not offsets:
            continue
        yield from _claim_offsets(lofted, [(r["point"], r["along"], r["upper"], r["lower"]) for r in offsets],
                                  "table in " + figures, denominator)
        for r in offsets:                                        # the columns in mm say what the words say
            for name in ("along", "upper", "lower"):
                if r[name]:
                    yield Claim("table, %s, %s_mm" % (r["point"], name), float(r[name + "_mm"]), 0.0,
                                read_figure(r[name], denominator=denominator)[0])
        corners = {(e, r["point"].split()[0]): (float(r["along_mm"]), float(r[e + "_mm"])) for r in offsets
                   if r["part"] == "corner" for e in ("upper", "lower") if r[e]}
        points = {end: [(read_figure(r["along"], denominator=fine), read_figure(r["bow"], denominator=fine))
                        for r in some if r["part"] == end + " end" and r["point"] != "straight"]
                  for end in ("fore", "aft")}
        yield from _claim_ends(lofted, points, corners, "table in " + figures, denominator=denominator)
    for r in rows:
        where = "table, %s, %s" % (r["part"], r["point"])
        if r["part"] == "proof":
            value = next(v for k, v in proofs.items() if r["point"].startswith(k))
            yield Claim(where, float(r["along_mm"]), 0.001, value)
            yield from _spread(where, r["along"], value, denominator)
        elif r["part"] == "saw line":
            yield Claim(where, float(r["saw_mm"]), 0.001, _measure_saw_place(lofted, r["point"]))
        elif r["part"] == "widths at the frame":
            yield from _claim_csv_frame(r, where, lofted, frames[r["point"]], fore=fore, along=along)
        elif r["part"].startswith("mark on"):
            edge = r["part"].split()[3]
            measured = _measure_mark(lofted, edge, _find_mark(lofted, edge, r["point"], float(r["along_mm"])))
            for name, value in zip(("along_mm", edge + "_mm" if edge in ("upper", "lower") else "upper_mm", "off_mm"),
                                   measured):
                yield Claim("%s, %s" % (where, name), float(r[name]), 0.001, value)
    assert sum(r["part"] == "widths at the frame"
               for r in rows) == len(frames) and sum(r["part"].startswith("mark on") for r in rows) == len(lofted.marks)


def _claim_csv_frame(r, where, lofted, line, fore, along):
    yield Claim(where + ", along", float(r["along_mm"]), 0.001, float((line.mean(axis=0) - fore) @ along))
    yield Claim(where + ", width on the plan",
                float(r["%s_width_mm" % ("inside" if lofted.face == "inboard" else "outside")]), 0.001,
                float(np.hypot(*(line[1] - line[0]))))
    section = lofted.sections.get(r["point"])
    if section is not None:
        for name, key in (("inside_width_mm", "inside"), ("outside_width_mm", "outside"),
                          ("upper_bevel_deg", "upper"), ("lower_bevel_deg", "lower"), ("thickness_mm", "thick")):
            if key in ("upper", "lower") and _misses(lofted, section, key, line):
                assert r[name] == r[key + "_bevel_from"] == "", "%s, %s" % (where, name)
                continue
            yield Claim("%s, %s" % (where, name), float(r[name]), 0.001, section[key])
        if section["known"]["radius"] != "taken":
            yield Claim(where + ", hollow", float(r["hollow_mm"]), 0.001, section["hollow"])
        for edge in (e for e in ("upper", "lower") if not _misses(lofted, section, e, line)):
            radial = section["known"][edge] == "taken" and section["known"]["radius"] != "taken"
            assert (r[edge + "_bevel_from"] == "radial") == radial, where
    if lofted.saw is not None:
        for edge, point in zip(("upper", "lower"), line):
            yield Claim("%s, saw line off the %s edge" % (where, edge), float(r[edge + "_saw_mm"]), 0.001,
                        lofted.saw_off(lofted.nearest_edge(point, edge), point))


# -- the sheet -------------------------------------------------------------------------------------------------

def read_words(sheet):
    """All that is said in the title block, one line after the other."""
    return " ".join(i.values["text"] for i in sheet.items if i.role in ("note", "warning") and "text" in i.values)


def list_title_claims(sheet, lofted, *, at_frames=True):
    """Sizes of the plank and places of the saw line, as the title block tells them; at_frames: at each frame too."""
    words = read_words(sheet)
    proofs = _measure_proofs(lofted)

    def find(pattern):
        match = re.search(pattern, words)
        assert match, "the sheet does not say %s: %s" % (pattern, words[:600])
        return match.groups()
    for name, pattern in (("Baseline", "NET LENGTH %s"), ("Greatest width", "GREATEST WIDTH %s")):
        mm, inches = find(pattern % r"(\d+(?:\.\d+)?) MM \(([^)]*) IN\)")
        yield Claim("sheet, " + name, float(mm), 0.1, proofs[name])
        whole = sum(float(p.split("/")[0]) / float(p.split("/")[1]) if "/" in p else float(p) for p in inches.split())
        yield Claim("sheet, %s in inches" % name, 25.4 * whole, 25.4 / 16, proofs[name])
    for name, pattern in (("Fore end", "ENDS: FORE %s MM"), ("Aft end", "ENDS: FORE [0-9.]+ MM, AFT %s MM"),
                          ("Diagonal, upper fore", "UPPER FORE TO LOWER AFT %s MM"),
                          ("Diagonal, lower fore", "LOWER FORE TO UPPER AFT %s MM")):
        yield Claim("sheet, " + name, float(find(pattern % r"(\d+(?:\.\d+)?)")[0]), 0.1, proofs[name])
    if lofted.saw is not None:
        told = find(r"CUT LINE \(SOLID\): SAW LINE\. FROM THE NET LINE[^:]*: (.*?)\. ")[0]
        yield from _claim_ranges("sheet", told + " ", lofted)
        if at_frames:
            yield from _claim_saw_rows(words, lofted)


def _claim_saw_rows(words, lofted):
    """'UPPER EDGE TO THE SAW LINE, MM: 2 3.7, 3 5.1.'"""
    places = {}
    for label, line in lofted.frames:
        for prefer, point in zip(("upper", "lower"), line):
            edge = lofted.nearest_edge(point, prefer)
            places.setdefault(edge, []).append((label.upper(), lofted.saw_off(edge, point)))
    for edge in ("upper", "lower"):
        match = re.search(r"%s EDGE TO THE SAW LINE, MM[^:]*: (.*?)\. " % edge.upper(), words)
        values = places.get(edge, [])
        if not match:
            assert np.ptp([v for _, v in values]
                          or [0.0]) < 0.1 + SLACK, "the sheet does not tell the saw line of the %s edge" % edge
            continue
        told = [part.rsplit(" ", 1) for part in match.group(1).split(", ")]
        assert [t[0] for t in told] == [v[0] for v in values]
        for (label, text), (_, value) in zip(told, values):
            yield Claim("sheet, saw line off the %s edge at %s" % (edge, label), float(text), 0.1, value)


def list_box_claims(sheet, lofted):
    """Figures of the boxes PROVE and SAW at the foot of a sheet: lengths, and the saw line by edge."""
    words, proofs = read_words(sheet), _measure_proofs(lofted)

    def find(pattern):
        match = re.search(pattern, words)
        assert match, "the sheet does not say %s: %s" % (pattern, words[:600])
        return match.groups()
    for name, pattern in (("Baseline", "LENGTH ON THE BOARD %s"), ("Greatest width", "GREATEST WIDTH %s")):
        mm, inches = find(pattern % r"(\d+(?:\.\d+)?) MM \(([^)]*) IN\)")
        yield Claim("sheet, " + name, float(mm), 0.1, proofs[name])
        whole = sum(float(p.split("/")[0]) / float(p.split("/")[1]) if "/" in p else float(p) for p in inches.split())
        yield Claim("sheet, %s in inches" % name, 25.4 * whole, 25.4 / 16, proofs[name])
    for name, pattern in (("Fore end", "FORE END %s MM"), ("Aft end", "AFT END %s MM"),
                          ("Diagonal, upper fore", "UPPER FORE TO LOWER AFT %s MM"),
                          ("Diagonal, lower fore", "LOWER FORE TO UPPER AFT %s MM")):
        yield Claim("sheet, " + name, float(find(pattern % r"(\d+(?:\.\d+)?)")[0]), 0.1, proofs[name])
    hung = re.search(r"THE PATTERN LAY (\d+(?:\.\d+)?) MM (SHORTER|LONGER) THAN THIS", words)
    flat = re.search(r"FLAT LENGTH (LONGER|SHORTER) BY (\d+(?:\.\d+)?) MM", words)
    if hung and flat:                                  # that is measured on its own, with the record's words
        yield Claim("sheet, hung", float(hung.group(1)), 0.0, float(flat.group(2)))
    if lofted.saw is not None:
        told = " ".join("%s %s" % (edge, text) for edge, text in re.findall(
            r"(UPPER|LOWER|FORE|AFT) (?:EDGE|END): SAW ((?:[0-9.]+(?: MM INSIDE)?(?: TO )?)+(?: MM)?(?: INSIDE)?)",
            words))
        yield from _claim_ranges("sheet", told + " ", lofted)


def list_sheet_claims(sheet, lofted):
    """Every figure of the boxes, of the cards at the frames and of the straight line, measured on the sheet itself."""
    yield from list_box_claims(sheet, lofted)
    yield from list_card_claims(sheet, lofted)
    yield from list_baseline_claims(sheet, lofted)


def list_baseline_claims(sheet, lofted):
    """The straight line runs from fore mark to aft mark, and its ticks stand every 100 mm from the fore mark."""
    fore, along, up = lofted.axes
    length = _measure_proofs(lofted)["Baseline"]
    ends = np.vstack([i.runs[0].trace(1) for i in sheet.find("wood-baseline")]) - fore
    yield Claim("sheet, baseline, begins", 0.0, 1e-3, float((ends @ along).min()))
    yield Claim("sheet, baseline, ends", length, 1e-3, float((ends @ along).max()))
    yield Claim("sheet, baseline, straight", 0.0, 1e-3, float(np.abs(ends @ up).max()))
    ticks = sheet.find("wood-baseline-tick")
    assert len(ticks) == int(length // 100) + 1
    for k, item in enumerate(ticks):
        middle = item.runs[0].trace(1).mean(axis=0) - fore
        yield Claim("sheet, baseline, tick %d" % k, 100.0 * k, 1e-3, float(middle @ along))


def list_card_claims(sheet, lofted):
    """The card of every frame: its number, the width of the drawn face, and of a section both bevels in degrees, their
    mm on this thickness and their sense, and the hollow.

    Standing and under are of the face that lies up: where the outside is wider, its edge leans inward below an outboard
    face, outward below an inboard one (common practice, no source).
    """
    labels = [i.values["text"] for i in sheet.items if i.role in ("label", "short-card") and "text" in i.values]
    faces = {"inboard": "INBOARD", "outboard": "OUTBOARD"}
    for label, line in lofted.frames:
        heads = [k for k, text in enumerate(labels[:-1]) if text == label.upper()
                 and re.fullmatch(r"(\d+\.\d (IN|OUT)BOARD|SEE RECORD)", labels[k + 1])]
        assert len(heads) == 1, "frame %s has %d cards" % (label, len(heads))
        start, where = heads[0] + 1, "sheet, card of frame %s" % label
        if labels[start] == "SEE RECORD":
            continue
        mm, face = labels[start].split()
        assert face == faces[lofted.face], where
        yield Claim(where + ", width", float(mm), 0.1, float(np.hypot(*(line[1] - line[0]))))
        if lofted.sections:
            yield from _claim_card(labels[start + 1:], lofted, label, line=line, where=where)


def _claim_card(texts, lofted, label, line, where):
    section = lofted.sections[label]
    up = lofted.seen_from
    for edge in ("upper", "lower"):
        if texts[0] == "SEE RECORD":
            return
        text, texts = texts[0], texts[1:]
        if _misses(lofted, section, edge, line):
            assert text == "%s NONE, %s END" % (edge.upper(), section["known"][edge].upper()), "%s: %s" % (where, text)
            continue
        radial = section["known"][edge] == "taken" and section["known"]["radius"] != "taken"
        assert ("RADIAL" in text) == radial, "%s, %s: %s" % (where, edge, text)
        square = re.fullmatch(r"%s 0\.0\u00b0 SQUARE(?: RADIAL)?" % edge.upper(), text)
        if square:
            yield Claim("%s, bevel %s" % (where, edge), 0.0, 0.1, section[edge])
            continue
        degrees, mm, sense = re.fullmatch(r"%s ([+-]\d+\.\d)\u00b0 (\d+\.\d) MM (UNDER|STANDING)(?: RADIAL)?"
                                          % edge.upper(), text).groups()
        yield Claim("%s, bevel %s" % (where, edge), float(degrees), 0.1, section[edge])
        yield Claim("%s, bevel %s in mm" % (where, edge), float(mm), 0.1, abs(section[edge + " growth"]))
        assert (sense == "UNDER") == ((float(degrees) > 0) == (up == "outboard")), "%s: %s" % (where, text)
    if texts and texts[0].startswith("HOLLOW "):
        depth, face = re.fullmatch(r"HOLLOW (\d+\.\d) MM (INSIDE|OUTSIDE)", texts[0]).groups()
        assert face.lower() == section["hollowed"], where
        yield Claim(where + ", hollow", float(depth), 0.1, section["hollow"])
    elif not (texts and texts[0] == "SEE RECORD"):
        assert section["hollow"] < 0.05 + SLACK, where
