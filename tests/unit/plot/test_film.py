"""Film for a cutter: parts that make the whole again, closed pieces, frames, crosses where they are told, and a mirror.

Areas and outlines are measured by shapely.
"""
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from plots import list_words, make_matter
from shapely.geometry import Polygon

from plankcore.errors import SettingError
from plankcore.geometry.bezier import draw_circle
from plankcore.geometry.outline import part_closed
from plankcore.geometry.strokes import draw_polyline, flatten_strokes, measure_extent
from plankcore.model.page import MediumCorrection
from plankcore.plot.chosen import CUT
from plankcore.plot.film import FilmSettings, make_film
from plankcore.plot.passes import order_cuts, plan_passes
from plankcore.plot.sheet import SheetSettings, lay_out_matter, make_page

FILM = FilmSettings(weeding_mm=8.0, crosses=True, hairline=True)


@pytest.fixture(scope="module")
def page():
    settings = SheetSettings(plotted=CUT)
    return make_page(lay_out_matter(make_matter(length=1500.0), settings=settings), settings=settings)


def draw_shape(line):
    run, = flatten_strokes(line.cubics, tolerance_mm=0.001)
    return Polygon(run)


def find(page, role):
    return [one for one in page.lines if one.role == role]


def find_middle(line):
    return np.mean(measure_extent(line.cubics), axis=0)


@pytest.mark.parametrize("ends", [(3.0, 9.0), (-5.0, 4.0), (2.0, 2.5)])
def test_a_curve_is_parted_as_shapely_parts_it(ends):
    """A horseshoe, open to the right, which a line across meets four times, and a circle."""
    angles = np.linspace(0.4, 2 * np.pi - 0.4, 60)
    ring = np.column_stack([np.cos(angles), np.sin(angles)])
    shoe = np.vstack([10 * ring, 6 * ring[::-1], 10 * ring[:1]])
    for cubics in (draw_polyline(shoe), draw_polyline(np.roll(shoe[:-1], 17, axis=0)[list(range(len(shoe) - 1)) + [0]]),
                   draw_circle((1.0, 2.0), 8.0)):
        whole = Polygon(flatten_strokes(cubics, tolerance_mm=1e-4)[0])
        parts = [Polygon(flatten_strokes(p, tolerance_mm=1e-4)[0]) for p in part_closed(cubics, low=ends[0],
                                                                                       high=ends[1])]
        told = whole.intersection(shapely.box(ends[0], -99, ends[1], 99))
        assert all(p.is_valid for p in parts) and len(parts) == (len(told.geoms) if told.geom_type != "Polygon" else 1)
        assert shapely.union_all(parts).symmetric_difference(told).area < 1e-2
        assert sum(p.area for p in parts) == pytest.approx(told.area, abs=1e-2)


@pytest.mark.parametrize("feed", [0.0, 2000.0, 700.0, 400.0])
def test_parts_make_the_whole_again_and_none_is_longer_than_the_machine_feeds(page, feed):
    pages, _ = make_film([page], replace(FILM, feed_mm=feed))
    count = {0.0: 1, 2000.0: 1, 700.0: 3, 400.0: 5}[feed]
    assert len(pages) == count and all(p.width_mm <= feed + 1e-6 for p in pages if feed)
    area, laid, at = 0.0, [], 0.0
    for one in pages:
        piece, = find(one, "saw")
        shape = draw_shape(piece)
        assert piece.closed and shape.is_valid and np.abs(piece.cubics[0, 0] - piece.cubics[-1, 3]).max() < 1e-6
        assert all(np.abs(a[3] - b[0]).max() < 1e-6 for a, b in zip(piece.cubics[:-1], piece.cubics[1:]))
        area += shape.area
        crosses = {dict(c.values)["corner"]: find_middle(c) for c in find(one, "film-cross")}
        # laid cross on cross: A and D of a part on B and C of the one before
        move = np.array([at, 0.0]) - crosses["A"]
        laid.append(shapely.affinity.translate(shape, *move))
        at += crosses["B"][0] - crosses["A"][0]
        assert crosses["D"] - crosses["A"] == pytest.approx((0, (crosses["C"] - crosses["B"])[1]), abs=1e-9)
    whole, = find(page, "saw")
    assert area == pytest.approx(draw_shape(whole).area, abs=0.5)
    together = shapely.union_all([p.buffer(1e-4, join_style="mitre") for p in laid])
    assert together.geom_type == "Polygon" and together.area == pytest.approx(area, abs=1.0)
    low, high = measure_extent(whole.cubics)
    assert together.bounds[2] - together.bounds[0] == pytest.approx(high[0] - low[0], abs=1e-3)
    assert together.bounds[3] - together.bounds[1] == pytest.approx(high[1] - low[1], abs=1e-3)


def test_crosses_stand_as_far_apart_as_is_told(page):
    one, = make_film([page], FILM)[0]
    said, = make_film([page], FILM)[1]
    at = {dict(c.values)["corner"]: find_middle(c) for c in find(one, "film-cross")}
    told = [float(v) for v in re.findall(r"(\d+\.\d) mm", said)]
    assert told == pytest.approx([np.hypot(*(at[a] - at[b])) for a, b in ("AB", "AD", "AC")], abs=0.05)
    assert at["B"] - at["A"] == pytest.approx((told[0], 0), abs=0.05)


def test_the_frame_lies_outside_the_piece_and_inside_the_crosses_and_is_cut_last(page):
    one = order_cuts(make_film([page], FILM)[0][0])
    frame, piece = draw_shape(find(one, "weeding-frame")[0]), draw_shape(find(one, "saw")[0])
    assert frame.contains(piece) and frame.exterior.distance(piece) == pytest.approx(8.0, abs=1e-6)
    crosses = [shapely.Point(find_middle(c)) for c in find(one, "film-cross")]
    assert len(crosses) == 4 and all(not frame.contains(c) for c in crosses)
    assert shapely.box(0, 0, one.width_mm, one.height_mm).contains(shapely.MultiPoint(crosses).buffer(14.99))
    draw, cut = plan_passes(one)
    assert draw.runs == () and len(cut.runs) == 2 + 4 * 2
    order = [line.role for line in one.lines]
    assert order.index("saw") < order.index("weeding-frame")


def test_cuts_are_hairlines_and_each_piece_one_path(page):
    one, = make_film([page], FILM)[0]
    assert {line.style for line in one.lines} == {"hairline"} and len(find(one, "saw")) == 1


def test_film_cut_from_its_back_is_mirrored_and_says_so_in_words_that_are_not(page):
    plain, turned = make_film([page], FILM)[0][0], make_film([page], replace(FILM, mirror=True))[0][0]
    a, b = draw_shape(find(plain, "saw")[0]), draw_shape(find(turned, "saw")[0])
    back = shapely.affinity.scale(b, xfact=-1, origin=(plain.width_mm / 2, 0))
    assert back.symmetric_difference(a).area < 0.05 < b.symmetric_difference(a).area
    words, = [one for one in turned.lines if "text" in dict(one.values)]
    assert "MIRRORED" in list_words(turned) and "TERN OF NOWHERE" in list_words(turned) and words.pen == "draw"
    assert list_words(plain) == ""
    # the words run from left to right, below all that is cut
    first, last = words.cubics[0, 0], words.cubics[-1, 3]
    assert last[0] > first[0] and words.cubics[:, :, 1].min() > max(c.cubics[:, :, 1].max() for c in turned.lines
                                                                    if c.pen == "cut")
    low, high = measure_extent(words.cubics)
    assert low[0] >= 0 and high[0] <= turned.width_mm and high[1] <= turned.height_mm


def test_corrected_film_is_parted_in_true_mm_and_corrected_again():
    """2 percent short along: pieces are drawn shorter, and no page is longer than the machine feeds."""
    correction = MediumCorrection("film", "d", number=1, along=1.02, across=0.99, skew_mm_per_m=2.0)
    settings = SheetSettings(plotted=CUT, correction=correction)
    page = make_page(lay_out_matter(make_matter(length=1500.0), settings=settings), settings=settings)
    pages, said = make_film([page], replace(FILM, feed_mm=700.0), correction=correction, about_mm=20.0)
    assert len(pages) == 3 and all(p.width_mm <= 701.0 for p in pages)
    at = {dict(c.values)["corner"]: find_middle(c) for c in find(pages[0], "film-cross")}
    told = [float(v) for v in re.findall(r"(\d+\.\d) mm", said[1])]
    assert np.hypot(*(at["B"] - at["A"])) == pytest.approx(1.02 * told[0], abs=0.06)
    assert (at["D"] - at["A"])[1] == pytest.approx(0.99 * told[1], abs=0.06)


@pytest.mark.parametrize("change, field", [({"weeding_mm": -1.0}, "Weeding frame"), ({"feed_mm": -5.0}, "Longest feed"),
                                           ({"feed_mm": 30.0}, "Longest feed"), ({"weeding_mm": float("nan")},
                                                                                 "Weeding frame")])
def test_what_cannot_be_cut_is_refused(page, change, field):
    with pytest.raises(SettingError) as refusal:
        make_film([page], replace(FILM, **change))
    assert refusal.value.where == field


def test_a_page_without_cuts_is_refused(page):
    with pytest.raises(SettingError, match="nothing to cut"):
        make_film([replace(page, lines=())], FILM)


@pytest.mark.parametrize("change", [{"weeding_mm": 5.0}, {"crosses": True}, {"mirror": True}, {"feed_mm": 600.0}])
def test_tiles_of_paper_are_no_film(change):
    with pytest.raises(SettingError, match="one sheet or a roll"):
        FilmSettings(**change).leave_tiles()
    assert FilmSettings(hairline=True).leave_tiles().is_plain()
