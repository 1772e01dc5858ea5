"""A second reader of the drawings, for the tests alone: it shares no code with plankcore.

It reads what DEVELOPERS.md promises ("On the page") into places in mm on the page, by other means: svgelements parses
path text and transforms, page and view box are worked out here.
"""
from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
import shapely
import svgelements
from lxml import etree

__all__ = ["Difference", "Item", "Reading", "Run", "compare", "join_runs", "measure_off_mm", "measure_rms_mm", "read"]

OURS = "{urn:plankcore:1}"
SVG = "{http://www.w3.org/2000/svg}"
# CSS 2.1, section 4.3.2: 1 in = 2.54 cm = 96 px = 72 pt = 6 pc
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": 25.4 / 96, "": 25.4 / 96, "pt": 25.4 / 72, "pc": 25.4 / 6}
# numbers may differ in their last written place, seven digits after the point
LAST_PLACE = 2e-6


class Difference(AssertionError):
    """Two drawings do not say the same."""


@dataclass(frozen=True, eq=False)
class Run:
    """One subpath: control points of its pieces, (2, 2) to (4, 2) mm each, and whether it was closed."""

    pieces: tuple
    closed: bool

    def trace(self, count=32):
        """Points (n, 2) on it, count to a curve, one to a straight stroke, ends included."""
        points = [self.pieces[0][:1]]
        for piece in self.pieces:
            t = np.linspace(0, 1, count + 1)[1:, None] if len(piece) > 2 else np.ones((1, 1))
            row = piece[None]
            for _ in range(len(piece) - 1):               # de Casteljau
                row = row[:, :-1] * (1 - t[:, :, None]) + row[:, 1:] * t[:, :, None]
            points.append(row[:, 0])
        return np.vstack(points)


@dataclass(frozen=True, eq=False)
class Item:
    """One drawn or grouping object: its role, our other attributes, its runs on the page, and the element itself."""

    role: str
    values: dict
    runs: tuple
    element: object

    @property
    def name(self):
        """What to call it in a message."""
        return " ".join([self.role or self.element.tag.rsplit("}", 1)[-1]]
                        + [self.values[k] for k in ("layer", "edge", "station", "joint", "part", "kind", "face",
                                                    "text") if k in self.values])

    def number(self, name):
        """One of its numbers."""
        return float(self.values[name])

    def rows(self):
        """What a layer's action says for the sheet, in order; what is lettered on the drawing itself is no row."""
        return [v for _, v in sorted((int(k.split("-")[1]), v) for k, v in self.values.items()
                                     if re.fullmatch(r"fact-\d+-words", k)
                                     and self.values.get(k.replace("words", "lettered")) != "yes")]

    def trace(self, count=32):
        """Points of its only run."""
        assert len(self.runs) == 1, "%s has %d runs" % (self.name, len(self.runs))
        return self.runs[0].trace(count)


@dataclass(frozen=True, eq=False)
class Reading:
    """A drawing: page size, the view box as written, mm to a user unit, and its items in order."""

    width_mm: float
    height_mm: float
    box: tuple
    scale: float
    items: tuple

    def find(self, role, **values):
        """Items of a role, and with these attributes."""
        return [i for i in self.items if i.role == role
                and all(i.values.get(k.replace("_", "-")) == v for k, v in values.items())]

    def one(self, role, **values):
        """The only such item."""
        found = self.find(role, **values)
        assert len(found) == 1, "%d items of role %s %s" % (len(found), role, values)
        return found[0]

    def within(self, item):
        """Items below a group, in order."""
        return [i for i in self.items if any(p is item.element for p in i.element.iterancestors())]

    def below(self, item):
        """The same page with the items below a group alone: one plank of several."""
        return replace(self, items=tuple(self.within(item)))

    def by_id(self, key):
        """The item with this id."""
        return next(i for i in self.items if i.element.get("id") == key)


def read(source):
    """Read a drawing from a path, or from bytes."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)
    root = etree.fromstring(source if isinstance(source, bytes) else source.read_bytes(), parser)
    width, height = _read_size(root.get("width")), _read_size(root.get("height"))
    if root.get("viewBox"):
        box = tuple(float(v) for v in re.split(r"[\s,]+", root.get("viewBox").strip()))
    else:
        box = (0.0, 0.0, width / MM["px"], height / MM["px"])
    scale = width / box[2]
    assert abs(height / box[3] / scale - 1) < 1e-6, "the page's scales differ"
    page = np.array([[scale, 0, -scale * box[0]], [0, scale, -scale * box[1]], [0, 0, 1]])
    items = []
    _visit(root, page, items)
    return Reading(width, height, box=box if root.get("viewBox") else (), scale=scale, items=tuple(items))


def _read_size(text):
    number, unit = re.fullmatch(r"\s*([0-9.eE+-]+)\s*([a-z]*)\s*", text).groups()
    return float(number) * MM[unit]


def _visit(element, above, items):
    if not isinstance(element.tag, str) or element.tag == SVG + "defs":     # what is there is not drawn (SVG 1.1, 5.3)
        return
    matrix = above
    if element.get("transform"):
        m = svgelements.Matrix(element.get("transform"))
        matrix = above @ np.array([[m.a, m.c, m.e], [m.b, m.d, m.f], [0, 0, 1]])
    values = {k[len(OURS):]: v for k, v in element.attrib.items() if k.startswith(OURS)}
    shape = _read_shape(element)
    if values or shape is not None:
        runs = () if shape is None else tuple(_place(shape, matrix))
        items.append(Item(values.pop("role", ""), values, runs, element))
    for child in element:
        _visit(child, matrix, items)


def _read_shape(element):
    kind = element.tag[len(SVG):] if element.tag.startswith(SVG) else ""
    if kind == "path" and element.get("d") is not None:
        return _break_up(svgelements.Path(element.get("d")))
    if kind == "circle":
        shape = svgelements.Path(svgelements.Circle(cx=float(element.get("cx", 0)), cy=float(element.get("cy", 0)),
                                                    r=float(element.get("r"))))
        shape.approximate_arcs_with_cubics()
        return _break_up(shape)
    if kind == "g" and OURS + "text" in element.attrib:
        return [run for child in element if child.tag == SVG + "use" for run in _read_use(child)]
    return None


def _read_use(element):
    """Runs of a letter that is used: what its link names, moved by x and y (SVG 1.1, 5.6)."""
    key = element.get("{http://www.w3.org/1999/xlink}href")[1:]
    form, = element.getroottree().getroot().xpath("//*[@id='%s']" % key)
    move = np.array([float(element.get("x", 0)), float(element.get("y", 0))])
    return [Run(tuple(piece + move for piece in run.pieces), run.closed) for run in _read_shape(form)]


def _place(runs, matrix):
    """Runs moved to mm."""
    return [Run(tuple(p @ matrix[:2, :2].T + matrix[:2, 2] for p in run.pieces), run.closed) for run in runs]


def _break_up(path):
    """Runs of a svgelements path."""
    pieces, runs, closed = [], [], False
    for segment in path:
        if isinstance(segment, svgelements.Move):
            if pieces:
                runs.append(Run(tuple(pieces), closed))
            pieces, closed = [], False
            continue
        if isinstance(segment, svgelements.Close):
            closed = True
            places = [segment.start, segment.end]
            # relative steps add up to the start, but for rounding
            if abs(segment.start - segment.end) <= 1e-9 * (1 + abs(segment.start)):
                continue
        elif isinstance(segment, svgelements.CubicBezier):
            places = [segment.start, segment.control1, segment.control2, segment.end]
        elif isinstance(segment, svgelements.QuadraticBezier):
            places = [segment.start, segment.control, segment.end]
        elif isinstance(segment, svgelements.Line):
            places = [segment.start, segment.end]
        else:
            raise TypeError("no reading of %r" % segment)
        pieces.append(np.array([[p.x, p.y] for p in places]))
    if pieces:
        runs.append(Run(tuple(pieces), closed))
    return runs


def compare(a, b, *, within_mm=1e-6, lettering_mm=0.0, pages=True):
    """Compare two readings item by item, piece by piece.

    Returns
    -------
    float
        The largest distance between control points that belong together, mm, but for words that only lettering_mm lets
        pass.

    Raises
    ------
    Difference
        At the first thing that is not the same, or further apart than within_mm, or words than lettering_mm if that is
        more.
    """
    if pages and (abs(a.width_mm - b.width_mm) > within_mm or abs(a.height_mm - b.height_mm) > within_mm
                  or len(a.box) != len(b.box)
                  or any(abs(p - q) > 1e-9 * abs(p) for p, q in zip(a.box, b.box))):
        raise Difference("pages: %s x %s, %s and %s x %s, %s"
                         % (a.width_mm, a.height_mm, a.box, b.width_mm, b.height_mm, b.box))
    ours, theirs = ([i for i in r.items if i.role] for r in (a, b))
    worst = 0.0
    for one, other in zip(ours, theirs):
        if one.role != other.role or set(one.values) != set(other.values):
            raise Difference("%s %s is %s %s in the other"
                             % (one.name, sorted(one.values), other.name, sorted(other.values)))
        for key, value in one.values.items():
            if not _same(key, value, other.values[key], 1e-6 if lettering_mm else 1e-9):
                raise Difference("%s of %s: '%s' and '%s'" % (key, one.name, value, other.values[key]))
        if [r.closed for r in one.runs] != [r.closed for r in other.runs] or [[
                len(p) for p in r.pieces] for r in one.runs] != [[len(p) for p in r.pieces] for r in other.runs]:
            raise Difference("%s is made of other pieces" % one.name)
        for p, q in ((p, q) for r, s in zip(one.runs, other.runs) for p, q in zip(r.pieces, s.pieces)):
            off = float(np.hypot(*(p - q).T).max())
            if not off <= max(within_mm, lettering_mm * ("text" in one.values)):
                raise Difference("%s lies %.3g mm off, near %.1f, %.1f" % (one.name, off, *p[0]))
            worst = max(worst, off if off <= within_mm else 0.0)
    if len(ours) != len(theirs):
        raise Difference("%d items and %d; the first too many is %s"
                         % (len(ours), len(theirs), max(ours, theirs, key=len)[min(len(ours), len(theirs))].name))
    return worst


def _same(key, one, other, share):
    if one == other:
        return True
    # a fact's number and limit are of any unit; of-board is the guard of the board that a saw line was made of
    if not re.search(r"-(mm2?|deg|ppm)$|^fact-\d+-(number|limit)$|^of-board$", key):
        return False
    p, q = one.split(), other.split()
    # an area's last place is a hundred times as coarse as a length's, and a guard may be the sum over a whole layer,
    # lettering and all
    coarse = 1e3 * LAST_PLACE if key.endswith("mm2") else LAST_PLACE
    return len(p) == len(q) and all(
        abs(float(x) - float(y)) <= max(coarse, share * abs(float(y)) * (key in ("guard-mm", "of-board")))
        for x, y in zip(p, q))


def measure_off_mm(points, line):
    """Distances of points (n, 2) from a polyline (m, 2), mm."""
    return shapely.distance(shapely.points(np.asarray(points, float)), shapely.LineString(line))


def measure_rms_mm(line, truth, *, step_mm=1.0):
    """Root mean square distance of a polyline from another, at even steps along the first, mm."""
    drawn = shapely.LineString(line)
    at = shapely.line_interpolate_point(drawn, np.arange(0.0, drawn.length, step_mm))
    return float(np.sqrt(np.mean(shapely.distance(at, shapely.LineString(truth)) ** 2)))


def join_runs(item):
    """All points of an item, (n, 2)."""
    return np.vstack([r.trace() for r in item.runs])
