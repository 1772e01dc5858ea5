"""How much of a roll planks take, and how much of it is words: python tests/benchmarks/roll_use.py DRAWING [WIDTH]

DRAWING has planks with all that the actions drew on them, samples/tamsin_grey/out/side.svg for instance (made by
`plankcore run samples/tamsin_grey/side.toml`). The page is measured by shapely: words, rules and bars outside every
line to cut or part, each with the paper that it takes up, grown by 2 mm and joined where they are nearer than 10 mm to
each other; beside the limits of 9 m and a tenth.
"""
from __future__ import annotations

import sys
import time
from pathlib import Path

import shapely

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]

import inkex

from plankcore.document.drawing import Drawing
from plankcore.document.layers.state import read_matter
from plankcore.geometry.strokes import flatten_strokes, measure_extent
from plankcore.plot.sheet import MediumSettings, describe_plank, lay_out_roll

LONGEST_MM, MOST_WORDS = 9000.0, 0.10
OWN_MM, BETWEEN_MM = 2.0, 10.0


def find_wood(page):
    """The shapes that are cut out, and those of parts."""
    return [shapely.Polygon(flatten_strokes(one.cubics, tolerance_mm=0.1)[0]) for one in page.lines
            if one.closed and (one.pen == "cut" or one.role == "part")]


def find_words(page, wood):
    """The paper that words and bars take up, as one shape."""
    inside = shapely.union_all([one.buffer(3.0) for one in wood])
    boxes = []
    for one in page.lines:
        low, high = measure_extent(one.cubics)
        box = shapely.box(*(low - OWN_MM), *(high + OWN_MM))
        if not shapely.contains(inside, shapely.box(*low, *high).centroid) and one.pen != "cut" and not (
                one.closed and max(high - low) > 400):
            boxes.append(box)
    near = shapely.union_all(boxes).buffer(BETWEEN_MM / 2, join_style="mitre")
    return near.buffer(-BETWEEN_MM / 2, join_style="mitre")


def main(path, width="36 in (914 mm)"):
    drawing = Drawing(inkex.load_svg(path).getroot())
    matters = [read_matter(drawing, group) for group in drawing.find_groups_meant(otherwise_all=True)]
    begun = time.perf_counter()
    (page,), said = lay_out_roll(matters, medium=MediumSettings(roll=width))
    took = time.perf_counter() - begun
    wood = find_wood(page)
    words = find_words(page, wood)
    print("%s; laid in %.1f s" % (said, took))
    print("length %.0f mm (limit %.0f), words %.1f %% (limit %.0f %%), wood %.1f %%"
          % (page.width_mm, LONGEST_MM, 100 * words.area / (page.width_mm * page.height_mm), 100 * MOST_WORDS,
             100 * sum(one.area for one in wood) / (page.width_mm * page.height_mm)))
    cut = [shapely.Polygon(flatten_strokes(one.cubics, tolerance_mm=0.1)[0]) for one in page.lines if one.pen == "cut"]
    for matter, own in zip(matters, cut):
        name = describe_plank(matter.plank)
        found = [shapely.box(*measure_extent(one.cubics)[0], *measure_extent(one.cubics)[1])
                 for one in page.lines if dict(one.values).get("text") == name]
        print("%s: its name stands %s mm from its line"
              % (name, ", ".join("%.0f" % own.distance(one) for one in found)))


if __name__ == "__main__":
    main(*sys.argv[1:])
