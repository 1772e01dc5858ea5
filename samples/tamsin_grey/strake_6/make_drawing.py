"""Writes strake_6_marked.svg: the drawing a person has before the first action, made from the two traced photographs.

What is done here by script is done in the editor by hand, photograph by photograph:

* the trace is broken apart (Path > Break Apart), so that each dot and each tag is a shape of its own;
* each control dot gets as its label what the tape said (Object > Object Properties > Label);
* in the overlap the dots stay in both, all else is deleted from the one where it stands nearer the border;
* the frame numbers are typed beside the traced ones, as text;
* all of it is grouped, a group for each photograph, on a page large enough for the work at true size; the pictures are
  hidden.

Nothing is moved: the two groups lie side by side at the size the pictures came in. Everything is invented.

    python make_drawing.py         writes it beside this file

Needs numpy, Pillow and lxml, and the two traced drawings.
"""
from __future__ import annotations

import pathlib
import re

import draw_photos
import numpy as np
import strake_6_truth as truth
from lxml import etree

__all__ = ["break_apart", "make_drawing"]

HERE = pathlib.Path(__file__).resolve().parent
SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
INKSCAPE, SODIPODI = "http://www.inkscape.org/namespaces/inkscape", "http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"

SEAM_MM = 2100.0                    # tags and numbers aft of this are taken from the aft photograph
PLACES_MM = {"aft": (20.0, 110.0), "fore": (2150.0, 160.0)}      # where on the page the pictures were put down
TOKEN = re.compile(r"[a-zA-Z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6}


def break_apart(text):
    """Path text of the tracer's commands (m l h v c z, either case) as one absolute path text and points (n, 2) for
    each subpath.
    """
    tokens, at, command = TOKEN.findall(text), 0, ""
    here, start, parts = np.zeros(2), np.zeros(2), []
    while at < len(tokens):
        if tokens[at].isalpha():
            command, at = tokens[at], at + 1
        small = command.lower()
        if small == "z":
            parts[-1][0].append("z")
            here = start
            continue
        numbers = np.array([float(v) for v in tokens[at:at + TAKES[small]]])
        at += TAKES[small]
        if small in "hv":
            other = here[1 - "hv".index(small)] * (command.isupper())
            numbers = np.array([numbers[0], other] if small == "h" else [other, numbers[0]])
        points = numbers.reshape(-1, 2) + (0 if command.isupper() else here)
        if small == "m":
            start = points[0]
            parts.append(([], []))
            command = "L" if command == "M" else "l"
        letter = {"m": "M", "c": "C"}.get(small, "L")
        parts[-1][0].append(letter + " " + " ".join("%.5f,%.5f" % tuple(p) for p in points))
        parts[-1][1].extend(points)
        here = points[-1]
    return [(" ".join(words), np.array(points)) for words, points in parts]


def _add(parent, tag, **attributes):
    return etree.SubElement(parent, "{%s}%s" % (SVG, tag),
                            {name.replace("_", "-"): value for name, value in attributes.items()})


def _add_photo(page, pictures, photo):
    """The group of one photograph, and its picture."""
    place = "translate(%g,%g)" % PLACES_MM[photo]
    width, height = (n * draw_photos.PX_MM for n in (draw_photos.PIXELS_WIDE, draw_photos.PIXELS_HIGH))
    picture = _add(pictures, "image", id="picture_%s" % photo, x="0", y="0", width="%.6f" % width,
                   height="%.6f" % height,
                   preserveAspectRatio="none", transform=place)
    picture.set("{%s}href" % XLINK, "strake_6_%s.png" % photo)
    group = _add(page, "g", id="photo_%s" % photo, transform=place, style="fill:#000000;stroke:none")
    group.set("{%s}groupmode" % INKSCAPE, "layer")
    group.set("{%s}label" % INKSCAPE, "%s photograph" % photo.capitalize())

    view = draw_photos.find_view(photo)
    traced = etree.parse(str(HERE / ("strake_6_%s_traced.svg" % photo))).getroot()
    path, = traced.iter("{%s}path" % SVG)
    parts = break_apart(path.get("d"))
    middles = np.array([(points.min(axis=0) + points.max(axis=0)) / 2 for _, points in parts])
    floor = draw_photos.apply_view(np.linalg.inv(view), middles / draw_photos.PX_MM)

    true, taped = truth.controls_mm(), draw_photos.measure_controls()
    labels = {}
    for name, spot in true.items():
        if draw_photos.sees(photo, spot):
            nearest = int(np.argmin(np.hypot(*(floor - spot).T)))
            assert np.hypot(*(floor[nearest] - spot)) < 2.0, "no dot was traced at %s" % name
            labels[nearest] = (name, "%s: %.1f, %.1f mm" % (name, *taped[name]))
    mine = (floor[:, 0] < SEAM_MM) == (photo == "aft")
    for k, (text, _) in enumerate(parts):
        if k in labels:
            dot = _add(group, "path", id="%s_%s" % (photo, labels[k][0]), d=text)
            dot.set("{%s}label" % INKSCAPE, labels[k][1])
        elif mine[k]:
            _add(group, "path", id="%s_%d" % (photo, k), d=text)
    for frame, marks in truth.frame_marks_mm().items():
        middle = (marks["upper"] + marks["lower"]) / 2
        if (middle[0] < SEAM_MM) == (photo == "aft"):
            x, y = draw_photos.apply_view(view, middle)[0] * draw_photos.PX_MM
            word = _add(group, "text", id="number_%02d" % frame, x="%.2f" % x, y="%.2f" % (y + 4.0))
            word.set("style", "font-family:sans-serif;font-size:9px;text-anchor:middle;fill:#d55e00;stroke:none")
            word.text = str(frame)
    print("%s photograph: %d shapes traced, %d control dots" % (photo, len(parts), len(labels)))


def make_drawing():
    page = etree.Element("{%s}svg" % SVG, nsmap={None: SVG, "inkscape": INKSCAPE, "sodipodi": SODIPODI, "xlink": XLINK})
    for name, value in (("width", "%gmm" % truth.PAGE_WIDTH_MM), ("height", "%gmm" % truth.PAGE_HEIGHT_MM),
                        ("viewBox", "0 0 %g %g" % (truth.PAGE_WIDTH_MM, truth.PAGE_HEIGHT_MM)), ("id", "page"),
                        ("version", "1.1")):
        page.set(name, value)
    _add(page, "title").text = "TAMSIN GREY, strake 6 starboard: two traced photographs with their control dots"
    _add(page, "desc").text = "Boat, plank and numbers are invented. The photographs are not at true size yet."
    view = etree.SubElement(page, "{%s}namedview" % SODIPODI, id="view", pagecolor="#ffffff")
    view.set("{%s}document-units" % INKSCAPE, "mm")
    pictures = _add(page, "g", id="pictures", style="display:none")
    pictures.set("{%s}groupmode" % INKSCAPE, "layer")
    pictures.set("{%s}label" % INKSCAPE, "Pictures")
    for photo in draw_photos.PHOTOS:
        _add_photo(page, pictures, photo)
    etree.indent(page)
    path = HERE / "strake_6_marked.svg"
    etree.ElementTree(page).write(str(path), xml_declaration=True, encoding="UTF-8")
    print("%-20s %6d bytes" % (path.name, path.stat().st_size))


if __name__ == "__main__":
    make_drawing()
