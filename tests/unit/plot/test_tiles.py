"""Tiles: nothing is lost or moved, every join proves shift and angle, and the key says what is where."""
import numpy as np
import pytest
from invented_sheets import invent_matter
from overlaps import list_crossings
from plots import flatten, list_words, make_line_overlay, make_matter, make_text
from shapely import unary_union
from shapely.geometry import LineString, Polygon, box

from plankcore.errors import SettingError
from plankcore.geometry.strokes import flatten_strokes, measure_extent
from plankcore.model.page import MediumCorrection
from plankcore.plot.key import tell_scale
from plankcore.plot.sheet import (
    MediumSettings,
    SheetSettings,
    choose_long_side,
    cut_page,
    lay_out_matter,
    lay_out_roll,
    lay_out_sheets,
    lay_out_tiles,
    make_page,
)
from plankcore.plot.tiles import list_joins, list_order, plan_tiles

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
        plan_tiles([np.array([(0, 0), (20000, 0), (20000, 20000), (0, 20000)], float)], width_mm=200, height_mm=200,
                   overlap_mm=10)


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
    plan = plan_tiles([np.array([(0, 0), (3100, 0), (3100, 500), (0, 500)], float)], width_mm=wide, height_mm=tall,
                      overlap_mm=20.0)
    joins = list_joins(plan)
    columns, rows = 1 + max(t.column for t in plan.tiles), 1 + max(t.number for t in plan.tiles)
    assert len(plan.tiles) == columns * rows and len(joins) == (columns - 1) * rows + columns * (rows - 1)
    for join in joins:
        (a, b), (c, d) = plan.find_box(join.first), plan.find_box(join.second)
        low, high, places = np.maximum(a, c), np.minimum(b, d), np.array(join.crosses)
        assert (places - 5.0 >= low).all() and (places + 5.0 <= high).all(), "whole crosses on both tiles"
        assert join.apart_mm >= 0.5 * max(high - low) and np.hypot(*np.diff(places, axis=0).T).max() <= 1000.0


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


@pytest.mark.parametrize("sheet, side", [("A4", "along"), ("A4", "across"), ("A3", "along"), ("letter", "along")])
def test_the_key_is_one_page_with_every_tile_and_join_and_what_must_be_known(sheet, side):
    pages = lay(make_matter(length=2300.0), sheet=sheet, long_side=side)
    key, = [p for p in pages if p.name.startswith("KEY")]
    words = list_words(key)
    joins = {dict(one.values)["join"] for p in pages for one in p.lines if one.role == "join-mark"}
    told, frames = set(words.split("\n")), {s.label for s in make_matter(length=2300.0).stations}
    # of joins and frames those that have room are numbered on the plan
    assert {p.name for p in pages if p is not key} <= told and len(frames & told) >= 0.7 * len(frames)
    assert len(joins & told) >= 0.5 * len(joins) and (sheet != "A3" or joins <= told)
    flat = words.replace("\n", " ")
    for part in ("TERN OF NOWHERE", "NOT AN APPROVAL", "MEASURE THE BARS", "KEY PLAN 1:", "ALL JOINED", "LAY",
                 "STRAIGHT",
                 "DOUBT", "ORDER, EACH GLUED BY ONE EDGE"):
        assert part in flat, part
    assert any(one.role == "scale-bar" for one in key.lines)
    assert all(one.pen == "draw" for one in key.lines), "nothing on the key is cut"
    low, high = measure_extent(np.concatenate([one.cubics for one in key.lines]))
    assert low.min() >= 8.0 - 1e-6 and (high <= np.array([key.width_mm, key.height_mm]) - 8.0 + 1e-6).all()


def test_a_sheet_that_has_no_room_for_the_key_is_refused():
    with pytest.raises(SettingError, match="no room for the key") as refusal:
        lay(sheet="own size", own_mm=(170.0, 110.0))
    assert refusal.value.where == "Sheet size"


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


def make_arch(*, length=3000.0, width=120.0, bow=500.0, skew=0.0):
    """A closed outline, (n, 2): a strongly curved plank."""
    x = np.linspace(0.0, length, 400)
    y = -4 * bow * x * (length - x) / length ** 2 + skew * x
    return np.vstack([np.column_stack([x, y]), np.column_stack([x, y + width])[::-1]])


def count_sheets(shape, wide, tall, overlap, *, step, clear):
    """Fewest sheets in columns that begin anywhere on a grid, as far apart as the overlap allows or nearer: by shapely
    and by the shortest way through the grid. clear : above and below the shape.
    """
    whole, (low, high) = Polygon(shape), (shape[:, 0].min(), shape[:, 0].max())
    lefts = np.arange(low - wide + overlap, high, step)
    need = []
    for left in lefts:
        part = whole.intersection(box(left, -1e5, left + wide, 1e5))
        deep = part.bounds[3] - part.bounds[1] + 2 * clear if not part.is_empty else 0.0
        need.append(max(1, int(np.ceil((deep - overlap) / (tall - overlap) - 1e-9))))
    best = np.where(lefts <= low + 1e-9, need, 10 ** 6)
    for k in range(len(lefts)):
        before = np.flatnonzero((lefts < lefts[k]) & (lefts >= lefts[k] - (wide - overlap) - 1e-9))
        if len(before):
            best[k] = min(best[k], best[before].min() + need[k])
    return int(best[lefts + wide >= high - 1e-9].min())


SHAPES = {"arch": make_arch(), "flat": make_arch(bow=30.0), "askew": make_arch(bow=120.0, skew=0.12),
          "short": make_arch(length=240.0, bow=10.0), "wide": make_arch(width=420.0, bow=200.0),
          "hollow": make_arch(bow=-260.0, width=60.0)}


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("wide, tall", [(277.0, 190.0), (190.0, 277.0), (400.0, 277.0)])
def test_columns_follow_the_shape_and_are_the_fewest(name, wide, tall):
    """Every place of it lies on a sheet that overlaps its neighbour by what was asked, none is empty, and no choice of
    columns has fewer: shapely and the shortest way through all choices. All sheets are met by few lines.
    """
    shape = SHAPES[name]
    plan = plan_tiles([shape], width_mm=wide, height_mm=tall, overlap_mm=20.0, baselines_mm=[60.0])
    boxes = {tile: box(*np.concatenate(plan.find_box(tile))) for tile in plan.tiles}
    whole = Polygon(shape)
    assert unary_union(list(boxes.values())).covers(whole)
    assert all(one.intersects(whole) for one in boxes.values())
    fewest = count_sheets(shape, wide, tall, 20.0, step=5.0, clear=4.0)
    assert count_sheets(shape, wide, tall, 20.0, step=5.0, clear=0.0) <= len(plan.tiles) <= fewest
    for tile in plan.tiles:
        beside = [other for other in plan.tiles if other.column == tile.column + 1]
        assert all(tile.left_mm + wide - other.left_mm >= 20.0 - 1e-9 for other in beside)
        if beside:
            # where the two columns lie over each other, both have all of the shape
            strip = whole.intersection(box(beside[0].left_mm, -1e5, beside[0].left_mm + 20.0, 1e5))
            here = unary_union([boxes[t] for t in plan.tiles if t.column == tile.column])
            assert here.covers(strip) and unary_union([boxes[t] for t in beside]).covers(strip)
        y = plan.lines_mm[tile.line]
        assert tile.top_mm + 10.0 <= y <= tile.top_mm + tall - 10.0, "its line runs across it"
    assert len({tile.name for tile in plan.tiles}) == len(plan.tiles)
    grid = np.prod([max(1, np.ceil((size - 20.0) / (side - 20.0)))
                    for size, side in zip(np.ptp(shape, axis=0), (wide, tall))])
    assert len(plan.tiles) <= grid + 1
    if name == "arch":
        assert len(plan.tiles) < 0.75 * grid


def test_every_tile_but_the_first_is_glued_by_one_edge_on_one_that_lies():
    plan = plan_tiles([SHAPES["wide"]], width_mm=277.0, height_mm=190.0, overlap_mm=20.0)
    laid = []
    for tile, under, edge in list_order(plan):
        assert (under is None) == (not laid) and (edge in ("left", "upper") or not laid)
        assert under is None or under in laid
        laid.append(tile)
    assert laid == list(plan.tiles)


def test_tiles_say_their_neighbours_their_glue_edge_file_and_day():
    pages = lay_out_tiles(make_matter(length=2300.0, width=300.0), medium=MediumSettings(sheet="A4"),
                          settings=SheetSettings(file_name="tern_7", day="2026-11-29"))[0]
    tiles = {p.name: p for p in pages if p.name != "KEY"}
    over = {name: {dict(one.values)["tile"] for one in p.lines if one.role == "lap"} for name, p in tiles.items()}
    for name, page in tiles.items():
        words = list_words(page).split("\n")
        flat = " ".join(words)
        assert "FILE tern_7  2026-11-29" in flat and "TILE %d OF %d" % (list(tiles).index(name) + 1, len(tiles)) in flat
        told = {word for side in ("LEFT", "RIGHT", "ABOVE", "BELOW") if side + " " in flat
                for word in flat.split(side + " ", 1)[1].split("  ")[0].replace(" AND ", " ").split() if word in tiles}
        assert over[name] <= told and {other for other in tiles if name in over[other]} <= told
        glued = [one for one in page.lines if one.role == "glue-edge"]
        assert len(glued) == (name != next(iter(tiles)))
        assert all(any("GLUE ON %s" % dict(one.values)["tile"] in word for word in words) for one in glued)
        assert all(name in over[dict(one.values)["tile"]] for one in glued), "it lies on that one"


@pytest.mark.parametrize("seed", range(12))
def test_no_word_of_the_plank_is_cut_by_a_tile_or_lost(seed):
    """Invented planks: the frames' numbers are whole on some tile, and no word of a tile lies across its edges, hardly
    one across any line.
    """
    matter = invent_matter(seed)
    pages = lay_out_tiles(matter, medium=MediumSettings(sheet=("A4", "A3")[seed % 2],
                                                        long_side=("along", "across")[seed // 2 % 2]))[0]
    words = "\n".join(list_words(p) for p in pages[1:]).split("\n")
    assert {one.label.upper() for one in matter.stations} <= set(words)
    crossed = [(p.name, told) for p in pages for told in list_crossings(p)]
    assert [one for one in crossed if "tile-edge" in one[1] or "glue-edge" in one[1] or "'lap'" in one[1]] == []
    # where a tile is full, its own title has no free place
    assert len(crossed) <= max(4, 0.05 * len(words)), crossed


def test_a_plank_wider_than_the_roll_is_laid_in_strips():
    pages, said = lay_out_roll([make_matter(width=420.0, bowed=False)],
                               medium=MediumSettings(roll="own size", own_mm=(330.0, 0.0)))
    strips = [p for p in pages if not p.name.startswith("KEY")]
    assert "strips" in said and {p.name for p in strips} == {"A1", "B1"}
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


def test_planks_that_fit_a_large_sheet_whole_share_it():
    """Three planks of under a metre on one A0, whole, clear of each other by shapely; one of 3 m is in tiles."""
    short = [make_matter(strake=str(k), length=length, width=110.0)
             for k, length in ((1, 700.0), (2, 800.0), (3, 650.0))]
    long = make_matter(strake="9", length=3000.0)
    pages, said = lay_out_sheets([short[0], long, *short[1:]], medium=MediumSettings(sheet="A0"))
    assert [p.name for p in pages[:2]] == ["SHEET 1", "PLANK 2 KEY"] and "3 planks share 1 sheet" in said[0]
    sheet = pages[0]
    shapes = [Polygon(flatten(one)) for one in sheet.lines if one.pen == "cut"]
    assert len(shapes) == 3 and all(a.distance(b) >= 15.0 for k, a in enumerate(shapes) for b in shapes[:k])
    low, high = measure_extent(np.concatenate([one.cubics for one in sheet.lines]))
    assert low.min() >= 10.0 - 1e-6 and (high <= np.array([1189.0, 841.0]) - 10.0 + 1e-6).all()
    words = list_words(sheet).split("\n")
    assert all(any("STRAKE %d" % k in word for word in words) for k in (1, 2, 3))
    assert any(one.role == "scale-bar" for one in sheet.lines)
    assert {p.title for p in pages[1:]} == {"TERN OF NOWHERE  STRAKE 9  STARBOARD"}


def test_one_plank_or_a_small_sheet_is_in_tiles_as_before():
    pages, said = lay_out_sheets([make_matter()], medium=MediumSettings(sheet="A3"))
    assert pages[0].name == "KEY" and len(said) == 1
    pages, _ = lay_out_sheets([make_matter(), make_matter(strake="8")], medium=MediumSettings(sheet="A3"))
    assert [p.name for p in pages if "KEY" in p.name] == ["PLANK 1 KEY", "PLANK 2 KEY"]


@pytest.mark.parametrize("width", [100.0, 240.0])
def test_the_long_side_is_laid_where_sheets_are_fewest(width):
    matter = make_matter(length=1100.0, width=width)

    def count(side):
        return len(lay(matter, sheet="A4", long_side=side)) - 1
    side = choose_long_side([matter], MediumSettings(sheet="A4", edge_mm=8.0), SheetSettings())
    assert count(side) == min(count("along"), count("across"))
