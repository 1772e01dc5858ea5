"""Writes strake_5_marks.svg and strake_5_edges.svg: the plank of truth.py as marks, and as drawn edge lines.

Both carry slips from a seeded generator, so they come out the same each time. Everything is invented.

    python make_drawings.py        writes both beside this file

Needs numpy and lxml.
"""
from __future__ import annotations

import pathlib

import numpy as np
import truth
from lxml import etree

__all__ = ["make_edges", "make_marks"]

HERE = pathlib.Path(__file__).resolve().parent
SVG = "http://www.w3.org/2000/svg"
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
SODIPODI = "http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"
PX_PER_MM = 96 / 25.4

EDGES = {"upper": truth.upper_edge_mm, "lower": truth.lower_edge_mm}
ENDS = {"fore": truth.fore_end_mm, "aft": truth.aft_end_mm}

MARK_SEED = 12
MARK_RADIUS_MM = 3.0
MARK_SD_MM = 0.3
INSIDE_CORNER_MM = 3.0              # the last mark on each edge stands this far from the corner
WRONG_EDGE, WRONG_FRAME, WRONG_BY_MM = "upper", 12, 4.0
END_OVERSHOOT_MM = 4.0              # the end lines of the marks drawing run past the corners by this

PEN_SEED = 23
PEN_SD_MM = 0.2
PEN_TURN_SD_DEG = 0.03              # slip of a handle's direction
PEN_GAP_MM = 3.0                    # between the two pieces of the upper edge
PEN_PARTING_T = 0.56                # where on the upper edge that gap is
FRAME_BEYOND_MM = (12.0, 25.0)      # drawn frame lines run past the edges by a length in this range
# page mm to the drawing group's own axes: out by this shift, turn and scale (in px), so the reader has to undo it
GROUP_SHIFT_PX, GROUP_TURN_DEG, GROUP_SCALE = (310.0, -85.0), 1.7, 1.25

INK, GREY, FRAME_INK = "#0072b2", "#595959", "#d55e00"


def _new_page(title, says, *, per_mm):
    """An empty page of the plank's size; per_mm user units in a millimetre."""
    page = etree.Element("{%s}svg" % SVG, nsmap={None: SVG, "inkscape": INKSCAPE, "sodipodi": SODIPODI})
    page.set("width", "%.6fmm" % truth.PAGE_WIDTH_MM)
    page.set("height", "%.6fmm" % truth.PAGE_HEIGHT_MM)
    page.set("viewBox", "0 0 %.6f %.6f" % (truth.PAGE_WIDTH_MM * per_mm, truth.PAGE_HEIGHT_MM * per_mm))
    page.set("id", "page")
    page.set("version", "1.1")
    _add(page, "title").text = title
    _add(page, "desc").text = says
    view = etree.SubElement(page, "{%s}namedview" % SODIPODI, id="view", pagecolor="#ffffff")
    view.set("{%s}document-units" % INKSCAPE, "mm" if per_mm == 1 else "px")
    return page


def _add(parent, tag, **attributes):
    return etree.SubElement(parent, "{%s}%s" % (SVG, tag),
                            {name.replace("_", "-"): value for name, value in attributes.items()})


def _add_layer(page, name, label):
    layer = _add(page, "g", id=name)
    layer.set("{%s}groupmode" % INKSCAPE, "layer")
    layer.set("{%s}label" % INKSCAPE, label)
    return layer


def _add_text(parent, text, place, size, **attributes):
    """Text with its middle at a place, in user units."""
    node = _add(parent, "text", x="%.3f" % place[0], y="%.3f" % place[1], **attributes)
    node.set("style", "font-family:sans-serif;font-size:%.3fpx;text-anchor:middle;fill:%s;stroke:none" % (size, GREY))
    node.text = text
    return node


def _add_writing(page, *, per_mm):
    """What is written on the pattern, in the bay between frames 13 and 12."""
    layer = _add_layer(page, "layer_writing", "Writing")
    place = (truth.frame_line_mm(13).mean(axis=0) + truth.frame_line_mm(12).mean(axis=0)) / 2 + [0.0, 2.0]
    for count, line in enumerate(("TAMSIN GREY \u00b7 STRAKE 5 STBD", "IN FACE LINES",
                                  "SEEN FROM OUTBOARD \u00b7 FWD \u2192")):
        _add_text(layer, line, (place + [0.0, 16.0 * count]) * per_mm, 11.0 * per_mm, id="writing_%d" % (count + 1))


def _write(page, name):
    etree.indent(page)
    etree.ElementTree(page).write(str(HERE / name), xml_declaration=True, encoding="UTF-8")
    print("%-20s %6d bytes" % (name, (HERE / name).stat().st_size))


def _line_style(colour, width, dashes=None):
    return "fill:none;stroke:%s;stroke-width:%.3f;stroke-linecap:round%s" % (
        colour, width, ";stroke-dasharray:%s" % dashes if dashes else "")


def _tangent(curve, t):
    """Unit directions (n, 2) of a curve at t, and its speed in mm per unit of t, by a central difference."""
    t, step = np.atleast_1d(np.asarray(t, float)), 1e-5
    along = (curve(t + step) - curve(t - step)) / (2 * step)
    speed = np.hypot(*along.T)
    return along / speed[:, None], speed


def _square(tangent):
    """Unit normals on the right of travel as seen (y down): inward on the upper edge, outward on the lower."""
    return np.column_stack([-tangent[:, 1], tangent[:, 0]])


def _cubics(curve, t, *, rng=None, sd_mm=0.0, turn_sd_deg=0.0):
    """Nodes and handles of smooth cubics along a curve, as a person would set them.

    Parameters
    ----------
    curve : function of t giving page mm
    t : ndarray, shape (n,)
        Where the nodes go.
    sd_mm, turn_sd_deg : float
        Slip of each node square to the curve, and of its handles' direction.

    Returns
    -------
    ndarray, shape (n - 1, 4, 2), page mm
    """
    tangent, speed = _tangent(curve, t)
    nodes, angle = curve(t), np.arctan2(tangent[:, 1], tangent[:, 0])
    if rng is not None:
        nodes = nodes + rng.normal(0, sd_mm, len(t))[:, None] * _square(tangent)
        angle = angle + np.radians(rng.normal(0, turn_sd_deg, len(t)))
    heading = np.column_stack([np.cos(angle), np.sin(angle)])
    reach = np.diff(t) / 3
    return np.stack([nodes[:-1], nodes[:-1] + (speed[:-1] * reach)[:, None] * heading[:-1],
                     nodes[1:] - (speed[1:] * reach)[:, None] * heading[1:], nodes[1:]], axis=1)


def _reverse(cubics):
    return cubics[::-1, ::-1]


def _path_text(cubics):
    pair = "%.4f,%.4f".__mod__
    return "M %s C %s" % (pair(tuple(cubics[0, 0])),
                          " ".join(pair(tuple(point)) for cubic in cubics for point in cubic[1:]))


def _t_at(curve, distance_mm, start=0.0):
    """The t at a distance in mm along a curve from t = start; negative goes back."""
    t, step = start, np.sign(distance_mm) * 0.25
    way, here = 0.0, curve(start)[0]
    _, speed = _tangent(curve, start)
    while way < abs(distance_mm):
        on = t + step / speed[0]
        there = curve(on)[0]
        moved = float(np.hypot(*(there - here)))
        if way + moved >= abs(distance_mm):
            return float(t + (on - t) * (abs(distance_mm) - way) / moved)
        way, t, here = way + moved, on, there
    return float(t)


def make_marks():
    """The plank as marks: a dot on each edge at each frame and near each corner, and a line at each end."""
    rng = np.random.default_rng(MARK_SEED)
    page = _new_page(
        "TAMSIN GREY, strake 5 starboard: marks",
        "Boat, plank and numbers are invented. One dot, by its middle, for each mark, with an error square to the "
        "edge of %.1f mm "
        "(one standard deviation). The mark on the %s edge at frame %d is wrong on purpose: it stands %.1f mm inside "
        "the true edge."
        % (MARK_SD_MM, WRONG_EDGE, WRONG_FRAME, WRONG_BY_MM), per_mm=1)

    ends = _add(_add_layer(page, "layer_ends", "Ends"), "g", id="ends", style=_line_style(INK, 1.0))
    for end, curve in ENDS.items():
        _, speed = _tangent(curve, 0.5)
        over = END_OVERSHOOT_MM / speed[0]
        if end == "fore":
            _add(ends, "path", id="end_fore", d=_path_text(_cubics(curve, np.linspace(-over, 1 + over, 6))))
        else:
            (x0, y0), (x1, y1) = curve([-over, 1 + over])
            _add(ends, "path", id="end_aft", d="M %.4f,%.4f L %.4f,%.4f" % (x0, y0, x1, y1))

    marks = _add(_add_layer(page, "layer_marks", "Marks"), "g", id="marks", style="fill:%s;stroke:none" % FRAME_INK)
    numbers = _add_layer(page, "layer_numbers", "Numbers")
    at_frames = truth.frame_marks_mm()
    for edge, curve in EDGES.items():
        inward = 1 if edge == "upper" else -1
        places = [("aft", curve(_t_at(curve, INSIDE_CORNER_MM, 0.0))[0])]
        places += [("%02d" % frame, at_frames[frame][edge]) for frame in sorted(at_frames, reverse=True)]
        places += [("fore", curve(_t_at(curve, -INSIDE_CORNER_MM, 1.0))[0])]
        t = np.linspace(0, 1, 20001)
        points = curve(t)
        for name, place in places:
            nearest = t[np.argmin(np.hypot(*(points - place).T))]
            normal = inward * _square(_tangent(curve, nearest)[0])[0]
            error_mm = rng.normal(0, MARK_SD_MM)
            if (edge, name) == (WRONG_EDGE, "%02d" % WRONG_FRAME):
                error_mm = WRONG_BY_MM
            x, y = place + error_mm * normal
            dot = _add(marks, "circle", id="mark_%s_%s" % (edge, name), cx="%.4f" % x, cy="%.4f" % y,
                       r="%g" % MARK_RADIUS_MM)
            # the object's label tells the edge and the frame
            dot.set("{%s}label" % INKSCAPE, "%s %d" % (edge, int(name)) if name.isdigit() else edge)
            if edge == "upper" and name.isdigit():
                _add_text(numbers, str(int(name)), place + [0.0, 20.0], 11.0, id="number_%s" % name)
    _add_writing(page, per_mm=1)
    _write(page, "strake_5_marks.svg")


def make_edges():
    """The plank as a person draws it with the pen tool: five open lines in a turned, scaled group of a px drawing, and
    frame lines.
    """
    rng = np.random.default_rng(PEN_SEED)
    page = _new_page(
        "TAMSIN GREY, strake 5 starboard: drawn edges",
        "Boat, plank and numbers are invented. Edges drawn with few nodes, each slipped square to the edge by %.1f mm "
        "(one standard deviation). The upper edge is in two pieces with a gap of %.0f mm between them; "
        "the lines run past the corners." % (PEN_SD_MM, PEN_GAP_MM), per_mm=PX_PER_MM)

    turn = np.radians(GROUP_TURN_DEG)
    back = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) / GROUP_SCALE

    def to_group(points_mm):
        return (points_mm * PX_PER_MM - np.array(GROUP_SHIFT_PX)) @ back.T

    frames = _add(_add_layer(page, "layer_frames", "Frames"), "g", id="frames",
                  style=_line_style(FRAME_INK, 3.0, "18,9"))
    numbers = _add(page.find("{%s}g" % SVG), "g", id="frame_numbers")
    for frame in sorted(truth.frame_positions_mm()):
        head, foot = truth.frame_line_mm(frame)
        down = (foot - head) / np.hypot(*(foot - head))
        above, below = rng.uniform(*FRAME_BEYOND_MM, 2)
        (x0, y0), (x1, y1) = (head - above * down) * PX_PER_MM, (foot + below * down) * PX_PER_MM
        _add(frames, "path", id="frame_%02d" % frame, d="M %.4f,%.4f L %.4f,%.4f" % (x0, y0, x1, y1))
        _add_text(numbers, str(frame), (head + [10.0, 22.0]) * PX_PER_MM, 11.0 * PX_PER_MM, id="number_%02d" % frame)

    group = _add(_add_layer(page, "layer_edges", "Edges"), "g", id="edges",
                 transform="translate(%g,%g) rotate(%g) scale(%g)" % (*GROUP_SHIFT_PX, GROUP_TURN_DEG, GROUP_SCALE),
                 style=_line_style(INK, 3.0))
    upper, lower = EDGES["upper"], EDGES["lower"]

    def past(curve, corner):
        """The t at 5 to 10 mm past a corner."""
        return _t_at(curve, (2 * corner - 1) * rng.uniform(5.0, 10.0), float(corner))

    parted = (_t_at(upper, -PEN_GAP_MM / 2, PEN_PARTING_T), _t_at(upper, PEN_GAP_MM / 2, PEN_PARTING_T))
    spans = {   # name: curve, t of the nodes, drawn the other way
        "edge_upper_aft_part": (upper, np.linspace(past(upper, 0), parted[0], 4), False),
        "edge_upper_fore_part": (upper, np.linspace(parted[1], past(upper, 1), 4), True),
        "edge_lower": (lower, np.linspace(past(lower, 0), past(lower, 1), 6), True),
        "edge_fore": (truth.fore_end_mm, np.linspace(past(truth.fore_end_mm, 0), past(truth.fore_end_mm, 1), 3), False),
        "edge_aft": (truth.aft_end_mm, np.array([past(truth.aft_end_mm, 0), past(truth.aft_end_mm, 1)]), True),
    }
    for name, (curve, t, other_way) in spans.items():
        cubics = _cubics(curve, t, rng=rng, sd_mm=PEN_SD_MM, turn_sd_deg=PEN_TURN_SD_DEG)
        _add(group, "path", id=name, d=_path_text(to_group(_reverse(cubics) if other_way else cubics)))
    _add_writing(page, per_mm=PX_PER_MM)
    _write(page, "strake_5_edges.svg")


if __name__ == "__main__":
    make_marks()
    make_edges()
