"""One straight line through every tile: ticks at their true distances, rows parallel at a told offset, and the key that
says how it is proved.
"""
import numpy as np
import pytest
from plots import list_words, make_matter

from plankcore.geometry.strokes import flatten_strokes
from plankcore.model.page import MediumCorrection
from plankcore.plot.sheet import MediumSettings, SheetSettings, lay_out_roll, lay_out_tiles

pytestmark = pytest.mark.long          # whole pages laid out


def lay(*, sheet="A4", side="along", length=2300.0, width=130.0, settings=SheetSettings(), **more):
    pages = lay_out_tiles(make_matter(length=length, width=width, **more),
                          medium=MediumSettings(sheet=sheet, long_side=side), settings=settings)[0]
    return [p for p in pages if p.name.startswith("KEY")], [p for p in pages if not p.name.startswith("KEY")]


def find_crosses(page):
    return {dict(one.values)["cross"]: np.concatenate(flatten_strokes(one.cubics, tolerance_mm=0.01)).mean(axis=0)
            for one in page.lines if one.role == "join-mark"}


def find_line(page):
    """The line's ends (2, 2), its values, and its ticks {distance: foot on the line}."""
    line, = [one for one in page.lines if one.role == "baseline"]
    ticks = {dict(one.values)["distance_mm"]: one.cubics[0, [0, 3]].mean(axis=0) for one in page.lines
             if one.role == "baseline-tick"}
    return line.cubics[0, [0, 3]], dict(line.values), ticks


@pytest.mark.parametrize("sheet, side", [("A3", "along"), ("A4", "along"), ("A4", "across"), ("letter", "along")])
def test_every_tile_carries_a_piece_of_one_line_from_side_to_side(sheet, side):
    """Laid by their lines and ticks alone, all tiles have all shared crosses on each other: a straight line at one
    offset for each row.
    """
    _, tiles = lay(sheet=sheet, side=side)
    crosses, rows = {}, {}
    for page in tiles:
        ends, values, ticks = find_line(page)
        assert np.ptp(ends[:, 1]) < 1e-9 and ends[:, 0] == pytest.approx(
            (10.0, page.width_mm - 10.0)), "from edge to edge, along"
        assert len(ticks) >= 2 and np.diff(sorted(ticks)) == pytest.approx(10.0) and {
            t for t in ticks if t % 100 == 0}, "a tick every 100 mm at least"
        first = min(ticks)
        for distance, foot in ticks.items():
            assert foot - ticks[first] == pytest.approx((distance - first, 0.0), abs=1e-9)
        shift = np.array([first, values["below_mm"]]) - ticks[first]
        rows.setdefault(values["row"], set()).add(values["below_mm"])
        assert values["row"] == page.name.rstrip("0123456789"), "its name says which line it is laid by"
        for name, at in find_crosses(page).items():
            crosses.setdefault(name, []).append(at + shift)
    assert crosses and all(len(places) == 2 and np.abs(np.subtract(*places)).max() < 1e-9
                           for places in crosses.values())
    assert all(len(offsets) == 1 for offsets in rows.values()) and rows["A"] == {0.0}


def test_the_figures_stand_at_their_ticks():
    _, tiles = lay(sheet="A3")
    for page in tiles:
        _, _, ticks = find_line(page)
        told = [dict(one.values)["text"] for one in page.lines if one.style == "join"
                and dict(one.values).get("text", "").isdigit()]
        hundreds = [t for t in sorted(ticks) if t % 100 == 0]
        # one that has no room beside its tick is left out
        assert set(map(int, told)) <= set(hundreds) and len(told) >= max(2, len(hundreds) - 1)


def test_a_tile_whose_neighbours_are_left_out_is_laid_by_its_own_line():
    """A bowed plank leaves corners of its rectangle out; the tiles that remain tell where they lie."""
    _, tiles = lay(sheet="letter", side="along", length=4000.0, width=300.0)
    rows = {find_line(p)[1]["row"] for p in tiles}
    assert len(rows) > 1
    for page in tiles:
        row, below = find_line(page)[1]["row"], find_line(page)[1]["below_mm"]
        words, way = list_words(page), "BELOW" if below > 0 else "ABOVE"
        assert "LAY BY LINE %s" % row in words and (row == "A" or "%.1f MM %s LINE A" % (abs(below), way) in words)


def test_the_key_says_how_the_tiles_are_laid_and_what_proves_them():
    key, tiles = lay()
    words = " ".join("\n".join(map(list_words, key)).split())
    ticks = sorted({t for p in tiles for t in find_line(p)[2]})
    assert "FROM TICK %d TO TICK %d ARE %.1f MM BY ONE TAPE" % (ticks[0], ticks[-1], ticks[-1] - ticks[0]) in words
    for part in ("WIRE", "CHALK LINE", "STEEL TAPE", "AT EVERY TICK", "LONG DIAGONALS", "BOTH DIAGONALS 335.9 MM"):
        assert part in words, part
    for page in tiles:
        _, values, _ = find_line(page)
        below = values["below_mm"]
        assert values["row"] == "A" or "LINE %s IS PARALLEL TO LINE A, %.1f MM %s IT" % (
            values["row"], abs(below), "BELOW" if below > 0 else "ABOVE") in words


def test_where_the_line_to_cut_begins_and_ends_on_the_tape_is_told_truly():
    key, tiles = lay(sheet="A3")
    words = " ".join("\n".join(map(list_words, key)).split())
    told = [float(words.split("LINE TO CUT BEGINS AT ")[1].split()[0]),
            float(words.split("AND ENDS AT ")[1].split()[0])]
    found = []
    for page in tiles:
        _, _, ticks = find_line(page)
        shift = min(ticks) - ticks[min(ticks)][0]
        found += [run[:, 0] + shift for one in page.lines if one.role == "saw"
                  for run in flatten_strokes(one.cubics, tolerance_mm=0.001)]
    found = np.concatenate(found)
    assert told == pytest.approx([found.min(), found.max()], abs=0.06)


@pytest.mark.parametrize("sheet, side, along, across",
                         [("A3", "along", 380, 210), ("A4", "along", 260, 120), ("A4", "across", 170, 210)])
def test_the_bars_of_the_key_are_as_long_and_as_tall_as_its_page(sheet, side, along, across):
    key, _ = lay(sheet=sheet, side=side)
    bars = [(dict(one.values)["along"], dict(one.values)["length_mm"], one.cubics[0, [0, 3]]) for p in key
            for one in p.lines if one.role == "scale-bar"]
    assert len(bars) == 4
    for way, told, ends in bars:
        assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(told, abs=1e-9)
    assert max(told for way, told, _ in bars
               if way == "along") >= along and max(told for way, told, _ in bars if way == "across") >= across


def test_a_corrected_line_measures_true_on_the_machine():
    """What a machine makes of it: the correction undone by its inverse gives back the figures."""
    correction = MediumCorrection("bond", "d", number=1, along=1.004, across=0.997, skew_mm_per_m=2.0)
    _, tiles = lay(sheet="A3", settings=SheetSettings(correction=correction))
    for page in tiles:
        _, _, ticks = find_line(page)
        places = np.array([ticks[t] for t in sorted(ticks)]) @ np.linalg.inv(correction.matrix).T
        assert np.hypot(*(places - places[0]).T) == pytest.approx(np.array(sorted(ticks)) - min(ticks), abs=1e-6)


def test_strips_of_a_wide_plank_have_their_lines():
    pages = lay_out_roll([make_matter(width=420.0, bowed=False)],
                         medium=MediumSettings(roll="own size", own_mm=(330.0, 0.0)))[0]
    strips = [p for p in pages if not p.name.startswith("KEY")]
    assert {find_line(p)[1]["row"] for p in strips} == {"A", "B"}
    words = " ".join("\n".join(list_words(p) for p in pages if p.name.startswith("KEY")).split())
    assert float(words.split("LINE TO CUT BEGINS AT ")[1].split()[0]) >= 0.0, "a tape has no figures before its nought"
