"""Lines to cut of a plank's parts: the plank's saw line as far as the part reaches, by shapely."""
from dataclasses import replace

import numpy as np
import pytest
import shapely
from plots import list_words, make_line_overlay, make_matter
from shapely.geometry import Polygon

from plankcore.geometry.strokes import flatten_strokes
from plankcore.model.drawing import Overlay
from plankcore.plot.chosen import CUT, CUT_AND_FRAMES, cut_parts
from plankcore.plot.passes import order_cuts
from plankcore.plot.sheet import MediumSettings, SheetSettings, lay_out_matter, lay_out_roll, lay_out_tiles, make_page

DOWN = {"1": 400.0, "2": 700.0}           # how far below the plank each part is drawn, mm


def flatten(curves):
    return Polygon(flatten_strokes(np.concatenate([c.cubics for c in curves]), tolerance_mm=0.001)[0])


def make_parted(*, saw=True, lean=0.0):
    """A straight plank with its two parts drawn below it, one overlapping the other, and the two half planes
    that part them; their line leans."""
    matter = make_matter(bowed=False, length=1500.0, width=120.0, saw=saw)
    net = flatten(matter.plank.outline())
    fore, aft = (np.array(p) for p in matter.plank.find_baseline())
    x = (fore + aft)[0] / 2
    shapes, halves = [], []
    for low, high, number in ((-1e5, x + 90, "1"), (x - 90, 1e5, "2")):
        half = Polygon([(low - lean, -1e4), (high - lean, -1e4), (high + lean, 1e4), (low + lean, 1e4)])
        corners = np.array(shapely.remove_repeated_points(net.intersection(half).simplify(0.01)).exterior.coords)[:-1]
        pieces = " ".join(["1"] * len(corners))
        shapes.append(make_line_overlay((corners + [0, DOWN[number]], "part", "part", "draw", True), part=number,
                                        shift_mm="0.0000000 %.7f" % DOWN[number], pieces=pieces).lines[0])
        halves.append(half)
    return replace(matter, overlays=(Overlay(tuple(shapes)),)), halves


def find_cuts(lines):
    return [one for one in lines if one.role == "part-saw"]


@pytest.mark.parametrize("lean", [0.0, 800.0])
def test_each_part_is_cut_as_the_plank_is_and_at_its_joint_along_the_joints_end(lean):
    matter, halves = make_parted(lean=lean)
    cuts = find_cuts(cut_parts(matter).overlays[0].lines)
    whole = flatten(matter.saw.curves)
    assert [dict(one.values)["part"] for one in cuts] == ["1", "2"] and {one.pen for one in cuts} == {"cut"}
    for one, half in zip(cuts, halves):
        found = Polygon(flatten_strokes(one.cubics, tolerance_mm=0.001)[0])
        told = shapely.affinity.translate(whole.intersection(half), 0, DOWN[dict(one.values)["part"]])
        assert one.closed and found.is_valid and found.symmetric_difference(told).area < 1.0
        net = Polygon(flatten_strokes(matter.overlays[0].lines[cuts.index(one)].cubics, tolerance_mm=0.001)[0])
        assert found.area > net.area + 1000 and found.buffer(0.02).contains(net)


def test_without_a_saw_line_the_parts_net_outlines_are_cut():
    matter, _ = make_parted(saw=False)
    lines = cut_parts(matter).overlays[0].lines
    for one, part in zip(find_cuts(lines), lines):
        assert np.array_equal(one.cubics, part.cubics)


def test_they_are_on_the_cut_layer_of_sheets_and_rolls_one_closed_path_a_piece():
    matter = cut_parts(make_parted()[0])
    for page in (make_page(lay_out_matter(matter)), lay_out_roll([matter])[0][0]):
        cuts = [one for one in order_cuts(page).lines if one.pen == "cut"]
        assert sorted(one.role for one in cuts) == ["part-saw", "part-saw", "saw"] and all(one.closed for one in cuts)
        shapes = [Polygon(flatten_strokes(one.cubics, tolerance_mm=0.01)[0]) for one in cuts]
        assert all(not a.intersects(b) for k, a in enumerate(shapes) for b in shapes[:k])


def test_a_part_that_lies_in_its_plank_is_not_cut_again():
    matter, _ = make_parted()
    still = tuple(replace(one, values=tuple((k, "0 0" if k == "shift_mm" else v) for k, v in one.values))
                  for one in matter.overlays[0].lines)
    assert find_cuts(cut_parts(replace(matter, overlays=(Overlay(still),))).overlays[0].lines) == []


@pytest.mark.parametrize("kind", ["sheet", "roll"])
def test_what_is_cut_of_a_parted_plank_alone_is_its_parts(kind):
    """Not the whole as well, which would cut them across; with frames the whole is drawn under them."""
    matter = cut_parts(make_parted()[0])

    def lay(plotted):
        settings = SheetSettings(plotted=plotted)
        if kind == "roll":
            return lay_out_roll([matter], settings=settings)[0][0]
        return make_page(lay_out_matter(matter, settings=settings), settings=settings)
    page = lay(CUT)
    assert [(one.role, one.pen, one.closed) for one in page.lines] == [("part-saw", "cut", True)] * 2
    page = lay(CUT_AND_FRAMES)
    assert [one.role for one in page.lines if one.pen == "cut"] == ["part-saw"] * 2
    assert [one.pen for one in page.lines if one.role == "saw"] == ["draw"]
    assert len([one for one in page.lines if one.role == "station"]) == len(matter.stations)


def test_parts_have_tiles_and_a_line_of_their_own():
    matter = cut_parts(make_parted()[0])
    pages = lay_out_tiles(matter, medium=MediumSettings(sheet="A4"), settings=SheetSettings(plotted=CUT))[0]
    tiles = [p for p in pages if p.name != "KEY"]
    found = {number: [p for p in tiles if "PART %s OF 2" % number in list_words(p).replace("\n", " ")]
             for number in "12"}
    assert sum(map(len, found.values())) == len(tiles) and all(found.values())
    assert {one.role for p in tiles for one in p.lines if one.pen == "cut"} == {"part-saw"}
    rows = [{dict(one.values)["row"] for p in some for one in p.lines if one.role == "baseline"}
            for some in found.values()]
    assert not rows[0] & rows[1] and "IS THE FIRST OF ANOTHER PIECE" in list_words(pages[0]).replace("\n", " ")
    assert {p.title[-11:] for p in tiles} == {"PART 1 OF 2", "PART 2 OF 2"}
