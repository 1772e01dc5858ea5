"""Tiles: nothing is lost or moved, every join proves shift and angle, and the key says what is where."""
import numpy as np
import pytest
from plots import flatten, list_words, make_line_overlay, make_matter, make_text
from shapely import unary_union
from shapely.geometry import LineString, Polygon

from plankcore.errors import SettingError
from plankcore.geometry.strokes import flatten_strokes, measure_extent
from plankcore.model.page import MediumCorrection, SheetBlock
from plankcore.plot.key import tell_scale
from plankcore.plot.sheet import (
    MediumSettings,
    SheetSettings,
    cut_page,
    lay_out_matter,
    lay_out_roll,
    lay_out_tiles,
    make_page,
)
from plankcore.plot.tiles import draw_tiles, list_joins, name_tile, plan_tiles

pytestmark = pytest.mark.long          # whole pages laid out


def lay(matter=None, **medium):
    return lay_out_tiles(matter or make_matter(),
                         medium=MediumSettings(**{"sheet": "A4", "overlap_mm": 20.0, "edge_mm": 8.0, **medium}))[0]


def find_offsets(tiles):
    """Where each tile lies in the first one's places, from the crosses alone: as they are laid on the bench."""
    crosses = {t.name: {dict(one.values)["cross"]: np.mean(measure_extent(one.cubics), axis=0) for one in t.lines
                        if one.role == "join-mark"} for t in tiles}
    offsets, left = {tiles[0].name: np.zeros(2)}, [t.name for t in tiles[1:]]
    while left:
        name = next(n for n in left if any(set(crosses[n]) & set(crosses[m]) for m in offsets))
        other = next(m for m in offsets if set(crosses[name]) & set(crosses[m]))
        shifts = [crosses[other][c] + offsets[other] - crosses[name][c]
                  for c in set(crosses[name]) & set(crosses[other])]
        assert len(shifts) >= 2 and np.ptp(shifts, axis=0).max() < 1e-9, "shift and angle agree at every cross"
        offsets[name] = shifts[0]
        left.remove(name)
    return offsets


@pytest.mark.parametrize("change, field", [({"overlap_mm": 5.0}, "Overlap"), ({"overlap_mm": 120.0}, "Overlap"),
                                           ({"edge_mm": 80.0}, "Edge"), ({"edge_mm": -1.0}, "Edge"),
                                           ({"sheet": "A9"}, "Sheet size"),
                                           ({"sheet": "own size", "own_mm": (50.0, 100.0)}, "Own sheet")])
def test_media_that_cannot_be_are_refused(change, field):
    with pytest.raises(SettingError) as refusal:
        lay(**change)
    assert refusal.value.where == field


def test_more_tiles_than_anyone_joins_are_refused():
    with pytest.raises(SettingError, match="would take"):
        plan_tiles((0, 0), (20000, 20000), width_mm=200, height_mm=200, overlap_mm=10)


@pytest.mark.parametrize("sheet, side", [("A4", "along"), ("A4", "across"), ("A3", "along"), ("letter", "across")])
def test_tiles_joined_on_their_crosses_are_the_plank(sheet, side):
    """Every stroke of the plank lies under some tile, and no tile has a stroke that is not the plank's: shapely, to
    0.01 mm.
    """
    matter = make_matter()
    pages = lay(matter, sheet=sheet, long_side=side)
    tiles = [p for p in pages if not p.name.startswith("KEY")]
    assert len(tiles) > 3
    offsets = find_offsets(tiles)
    own = ("join-mark", "tile-edge")

    def gather(role):
        runs = [run + offsets[t.name] for t in tiles for one in t.lines if one.role == role
                and role not in own for run in flatten_strokes(one.cubics, tolerance_mm=0.002)]
        return unary_union([LineString(run) for run in runs])
    sheet_page = make_page(lay_out_matter(matter))
    for role in ("saw", "outline", "station"):
        whole = unary_union([LineString(run) for one in sheet_page.lines if one.role == role
                             for run in flatten_strokes(one.cubics, tolerance_mm=0.002)])
        # tiles are turned to the least width: areas of a thin band along the line do not mind, and count what lies on
        # two tiles once
        assert gather(role).buffer(0.05).area == pytest.approx(whole.buffer(0.05).area, rel=2e-3), role
    band = gather("saw").buffer(0.05)
    assert band.geom_type == "Polygon" and len(
        band.interiors) == 1, "the cut line closes all round once the tiles are joined"
    told = next(one for one in sheet_page.lines if one.role == "saw")
    assert Polygon(band.interiors[0]).area == pytest.approx(Polygon(flatten(told)).buffer(-0.05).area, rel=1e-5)


def test_every_tile_keeps_within_what_the_machine_reaches():
    for page in lay(make_matter(length=2300.0)):
        assert (page.width_mm, page.height_mm) == (297.0, 210.0)
        low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
        assert low.min() >= 8.0 - 1e-6 and (high <= np.array([289.0, 202.0]) + 1e-6).all(), page.name


def test_corrected_tiles_keep_within_it_too_and_still_join():
    correction = MediumCorrection("bond", "d", number=1, along=1.01, across=1.015, skew_mm_per_m=8.0)
    pages = lay_out_tiles(make_matter(), medium=MediumSettings(sheet="A3", edge_mm=8.0),
                          settings=SheetSettings(correction=correction))[0]
    for page in pages:
        low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
        assert low.min() >= 8.0 - 1e-6 and (high <= np.array([page.width_mm, page.height_mm]) - 8.0
                                            + 1e-6).all(), page.name
    find_offsets([p for p in pages if not p.name.startswith("KEY")])
    assert "CORRECTED FOR BOND" in "\n".join(map(list_words, pages))


@pytest.mark.parametrize("wide, tall", [(277.0, 190.0), (190.0, 277.0), (np.inf, 150.0), (2000.0, 300.0)])
def test_every_overlap_has_crosses_well_apart_and_no_metre_without_one(wide, tall):
    plan = plan_tiles((0, 0), (3100, 500), width_mm=wide, height_mm=tall, overlap_mm=20.0)
    every = {(c, r) for c in range(len(plan.lefts)) for r in range(len(plan.tops))}
    joins = list_joins(plan, every)
    columns, rows = len(plan.lefts), len(plan.tops)
    assert len(joins) == (columns - 1) * rows + columns * (rows - 1)
    for join in joins:
        low = [max(p) for p in zip(*((plan.lefts[c], plan.tops[r]) for c, r in (join.first, join.second)))]
        high = [min(p) for p in zip(*((plan.lefts[c] + plan.width_mm, plan.tops[r] + plan.height_mm)
                                      for c, r in (join.first, join.second)))]
        places = np.array(join.crosses)
        assert (places - 5.0 >= low).all() and (places + 5.0 <= high).all(), "whole crosses on both tiles"
        assert join.apart_mm >= 0.5 * max(np.subtract(high,
                                                      low)) and np.hypot(*np.diff(places, axis=0).T).max() <= 1000.0


def test_the_told_distances_are_the_crosses_own():
    pages = lay()
    crosses = {dict(one.values)["cross"]: (p.name, np.mean(measure_extent(one.cubics), axis=0)) for p in pages
               for one in p.lines if one.role == "join-mark"}
    told = [text for p in pages if not p.name.startswith("KEY") for text in list_words(p).split("\n")
            if " TO " in text and text.endswith(" MM")]
    assert told
    for text in told:
        first, _, second, value, _ = text.split()
        assert np.hypot(*(crosses[first][1] - crosses[second][1])) == pytest.approx(float(value), abs=0.051), text


def test_the_key_names_every_tile_and_every_join_and_carries_words_and_bars():
    pages = lay()
    key = [p for p in pages if p.name.startswith("KEY")]
    words = "\n".join(map(list_words, key))
    tiles = [p.name for p in pages if p not in key]
    for name in tiles:
        assert name in words.split("\n"), name
    joins = {dict(one.values)["join"] for p in pages for one in p.lines if one.role == "join-mark"}
    flat = words.replace("\n", " ")
    assert all("JOIN %s," % j in flat for j in joins)
    for part in ("TERN OF NOWHERE", "NOT AN APPROVAL", "MEASURE THE BARS", "SAW LINE", "KEY PLAN 1:", "ALL JOINED"):
        assert part in flat
    assert any(one.role == "scale-bar" for p in key for one in p.lines)
    assert all(one.pen == "draw" for p in key for one in p.lines), "nothing on the key is cut"


def test_the_key_plan_is_the_plank_at_its_scale():
    matter = make_matter()
    key = next(p for p in lay(matter) if p.name.startswith("KEY"))
    text = next(t for t in list_words(key).split("\n") if t.startswith("KEY PLAN 1:"))
    scale = int(text.split("1:")[1].split()[0])
    small = [measure_extent(one.cubics) for one in key.lines if one.role == "key-plan" and one.closed]
    spans = sorted(float(np.hypot(*(high - low))) * scale for low, high in small)
    whole = [measure_extent(one.cubics) for one in make_page(lay_out_matter(matter)).lines
             if one.role in ("saw", "outline")]
    assert spans == pytest.approx(sorted(float(np.hypot(*(high - low))) for low, high in whole), rel=2e-3)


@pytest.mark.parametrize("scale, words", [(8, "1:8 (1 1/2 IN TO THE FOOT)"), (16, "1:16 (3/4 IN TO THE FOOT)"),
                                          (4, "1:4 (3 IN TO THE FOOT)"), (12, "1:12 (1 IN TO THE FOOT)"),
                                          (24, "1:24 (1/2 IN TO THE FOOT)"), (32, "1:32 (3/8 IN TO THE FOOT)")])
def test_scales_have_their_name_in_inches_to_the_foot(scale, words):
    """12 inches divided by the scale; the names are those of the drawing office: arithmetic."""
    assert tell_scale(scale) == words


def test_tiles_without_anything_on_them_are_left_out():
    piece = SheetBlock(make_line_overlay((np.array([(0, 0), (900, 0)], float), "a", "note", "draw", False),
                                    (np.array([(0, 0), (0, 500)], float), "a", "note", "draw", False)).lines)
    plan = plan_tiles((0, 0), (900, 500), width_mm=300, height_mm=200, overlap_mm=20)
    pages, joins, _, kept = draw_tiles(piece, plan, edge_mm=5.0, title="T")
    assert len(pages) < len(plan.lefts) * len(plan.tops) and (1, 1) not in kept
    assert all(j.first in kept and j.second in kept for j in joins)
    assert [p.name for p in pages] == [name_tile(k) for k in kept]


def test_a_plank_wider_than_the_roll_is_laid_in_strips():
    pages, said = lay_out_roll([make_matter(width=420.0, bowed=False)],
                               medium=MediumSettings(roll="own size", own_mm=(330.0, 0.0)))
    strips = [p for p in pages if not p.name.startswith("KEY")]
    assert "strips" in said and [p.name for p in strips] == ["A1", "B1"]
    assert all(p.height_mm == pytest.approx(330.0) for p in pages)
    find_offsets(strips)


def test_a_table_beside_the_plank_is_on_the_tiles_below_it():
    table = make_line_overlay(texts=[make_text("FRAME %d" % k, 1400, 150 + 8 * k) for k in range(6)])
    words = "\n".join(map(list_words, lay(make_matter(overlays=[table]), sheet="A3")))
    assert all("FRAME %d" % k in words for k in range(6))


@pytest.mark.parametrize("longest, count", [(5080.0, 1), (1000.0, 2), (500.0, 3)])
def test_a_page_cut_along_its_length_joins_again(longest, count):
    page = make_page(lay_out_matter(make_matter()))
    parts = cut_page(page, longest_mm=longest)
    assert len(parts) == count and (count > 1 or parts[0] is page)
    assert all(p.width_mm <= longest + 1e-6 for p in parts)
    if count > 1:
        offsets = find_offsets(parts)
        joined = np.vstack([flatten(one) + offsets[p.name] for p in parts for one in p.lines if one.role == "saw"])
        whole = next(flatten(one) for one in page.lines if one.role == "saw")
        assert np.ptp(joined, axis=0) == pytest.approx(np.ptp(whole, axis=0), abs=2e-3)
