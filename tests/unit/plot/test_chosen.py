"""What is chosen to be plotted, on a sheet, a roll and tiles: nothing else, and none of it lost."""
import numpy as np
import pytest
from plots import list_words, make_matter

from plankcore.errors import SettingError
from plankcore.geometry.strokes import measure_extent
from plankcore.plot.chosen import ALL, CUT, CUT_AND_FRAMES
from plankcore.plot.sheet import (
    MediumSettings,
    SheetSettings,
    lay_out_matter,
    lay_out_roll,
    lay_out_tiles,
    make_page,
)

MATTER = make_matter(length=900.0)


def lay(kind, plotted, **medium):
    settings = SheetSettings(plotted=plotted)
    if kind == "sheet":
        return make_page(lay_out_matter(MATTER, settings=settings), settings=settings)
    if kind == "roll":
        page, = lay_out_roll([MATTER, make_matter(strake="8", length=800.0)], settings=settings)[0]
        return page
    return lay_out_tiles(MATTER, medium=MediumSettings(sheet="A3"), settings=settings)[0]


def measure(line):
    low, high = measure_extent(line.cubics)
    return sorted((high - low).round(6))


@pytest.mark.parametrize("kind, pieces", [("sheet", 1), ("roll", 2)])
def test_cut_alone_is_the_lines_to_cut_and_nothing_else(kind, pieces):
    page, whole = lay(kind, CUT), lay(kind, ALL)
    assert {one.pen for one in page.lines} == {"cut"} and len(page.lines) == pieces
    assert all(one.closed for one in page.lines)
    assert [measure(one) for one in page.lines] == [measure(one) for one in whole.lines if one.pen == "cut"]
    low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
    edge = 20.0 if kind == "sheet" else 10.0
    assert low == pytest.approx((edge, edge), abs=0.01)
    if kind == "sheet":
        assert (page.width_mm - high[0], page.height_mm - high[1]) == pytest.approx((edge, edge), abs=1e-6)
    assert page.height_mm < whole.height_mm or kind == "roll" and page.width_mm < whole.width_mm


@pytest.mark.parametrize("kind", ["sheet", "roll"])
def test_cut_and_frames_has_them_with_their_numbers_the_name_and_the_bars(kind):
    page = lay(kind, CUT_AND_FRAMES)
    roles = {one.role for one in page.lines if "text" not in dict(one.values)}
    assert roles == {"saw", "station", "arrow", "scale-bar", "scale-bar-tick"}
    words = list_words(page).split("\n")
    assert {"%g MM" % dict(one.values)["length_mm"] for one in page.lines if one.role == "scale-bar"
            and "text" not in dict(one.values)} <= set(words)
    frames = {s.label for s in MATTER.stations}
    assert frames <= set(words) and any("TERN OF NOWHERE" in w for w in words)
    assert not any("NOT AN APPROVAL" in w or "%.1f" % MATTER.stations[0].width_mm == w for w in words)


def test_tiles_keep_what_joins_them():
    pages = lay("tiles", CUT)
    tiles = [p for p in pages if not p.name.startswith("KEY")]
    roles = {one.role for p in tiles for one in p.lines if "text" not in dict(one.values)}
    assert {"saw", "join-mark", "baseline", "tile-edge"} <= roles and "station" not in roles


def test_what_is_no_choice_is_refused():
    with pytest.raises(SettingError) as refusal:
        SheetSettings(plotted="words")
    assert refusal.value.where == "What to plot"
