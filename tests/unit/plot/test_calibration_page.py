"""The page to measure a medium by: bars as long as the medium, crosses in its corners, and true figures."""
import re

import numpy as np
import pytest
from overlaps import list_crossings
from plots import list_words

from plankcore.errors import SettingError
from plankcore.geometry.strokes import measure_extent
from plankcore.model.page import MediumCorrection
from plankcore.plot.calibration import measure_medium
from plankcore.plot.sheet import MediumSettings, SheetSettings, find_lie, lay_out_calibration

LENGTHS = {"STRAKE 5": 2437.3, "STRAKE 6": 1204.0}
MEDIA = [("tiles", {"sheet": "A4"}, (297.0, 210.0)), ("tiles", {"sheet": "A4", "long_side": "across"}, (210.0, 297.0)),
         ("tiles", {"sheet": "A0"}, (1189.0, 841.0)), ("roll", {}, (2520.0, 914.4)),
         ("roll", {"roll": "15 in (381 mm)", "longest_mm": 2000.0}, (2000.0, 381.0)),
         ("one sheet", {}, (2500.0, 700.0))]


def lay(kind, more, settings=SheetSettings()):
    return lay_out_calibration(kind, LENGTHS, medium=MediumSettings(**more), settings=settings,
                               sheet_mm=(2500.0, 700.0))


def find_bars(page):
    return {(dict(one.values)["along"], round(dict(one.values)["length_mm"], 6)): one.cubics[0, [0, 3]]
            for one in page.lines if one.role == "scale-bar"}


def find_crosses(page):
    return {dict(one.values)["corner"]: np.mean(measure_extent(one.cubics), axis=0) for one in page.lines
            if one.role == "corner-cross"}


@pytest.mark.parametrize("kind, more, size", MEDIA)
def test_bars_are_as_long_as_the_medium_and_crosses_stand_in_its_corners(kind, more, size):
    page, _ = lay(kind, more)
    assert (page.width_mm, page.height_mm) == pytest.approx(size)
    bars = find_bars(page)
    edge = 20.0 if kind == "one sheet" else 10.0
    for way, k in (("along", 0), ("across", 1)):
        mm = max(length for name, length in bars if name == way)
        assert mm > size[k] - 2 * edge - 90.0       # whole steps of 50 mm
    for (way, length), ends in bars.items():
        assert np.abs(ends[1] - ends[0]) == pytest.approx((length, 0) if way == "along" else (0, length), abs=1e-9)
    crosses = find_crosses(page)
    corners = {"A": (0, 0), "B": (1, 0), "C": (1, 1), "D": (0, 1)}
    for name, at in crosses.items():
        assert np.abs(at - np.array(corners[name]) * size).max() < edge + 7.0
    low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
    assert low.min() >= edge - 1e-6 and (high <= np.array(size) - edge + 1e-6).all()


@pytest.mark.parametrize("kind, more, size", MEDIA)
def test_every_figure_is_what_is_drawn(kind, more, size):
    page, _ = lay(kind, more)
    words = " ".join(list_words(page).split())
    assert list_crossings(page) == []
    for name, at in find_crosses(page).items():
        letter = next(one for one in page.lines if dict(one.values).get("text") == name)
        assert np.hypot(*(np.mean(measure_extent(letter.cubics), axis=0) - at)) < 9.0
    crosses, lengths = find_crosses(page), [length for _, length in find_bars(page)]
    told = re.search(r"AB AND DC ([\d.]+) AD AND BC ([\d.]+) AC AND BD ([\d.]+) MM", words).groups()
    for text, pairs in zip(told, (("AB", "DC"), ("AD", "BC"), ("AC", "BD"))):
        for a, b in pairs:
            assert np.hypot(*(crosses[a] - crosses[b])) == pytest.approx(float(text), abs=0.051)
    says = re.search(r"BAR ALONG SAYS ([\d.]+) MEASURES _+ BAR ACROSS SAYS ([\d.]+)", words).groups()
    assert {float(v) for v in says} <= set(lengths)
    for name, length in LENGTHS.items():
        left = re.search(r"LEAVES ([\d.]+) MM OVER THE ([\d.]+) MM OF %s" % name, words).groups()
        assert float(left[1]) == pytest.approx(length, abs=0.051)
        assert float(left[0]) == pytest.approx(0.5 * length / float(says[0]), abs=0.0051)


def test_the_error_that_is_told_is_the_one_that_a_reading_leaves():
    """A medium that does nothing, its bars read half a mm too long and too short: what the correction then puts the
    plank out by is what was told.
    """
    page, _ = lay("tiles", {"sheet": "A3"})
    words = " ".join(list_words(page).split())
    along, across = (float(v) for v in re.search(r"ALONG SAYS ([\d.]+) .*ACROSS SAYS ([\d.]+)", words).groups())
    told = float(re.search(r"LEAVES ([\d.]+) MM OVER THE [\d.]+ MM OF STRAKE 5", words).group(1))
    for off in (0.5, -0.5):
        found, _ = measure_medium("film", day="", along_mm=(along, along + off), across_mm=(across, across))
        assert abs(LENGTHS["STRAKE 5"] * (found.along - 1.0)) == pytest.approx(told, rel=0.005)


def test_it_says_how_it_is_fed_and_what_corrected_it():
    medium = MediumSettings(sheet="A3", first_edge="long edge")
    correction = MediumCorrection("bond", "d", number=1, along=1.004, across=0.997, skew_mm_per_m=2.0)
    page, said = lay("tiles", {"sheet": "A3", "first_edge": "long edge"}, SheetSettings(correction=correction))
    words = " ".join(list_words(page).split())
    assert find_lie("tiles", medium).describe().upper() in words and "CORRECTED FOR BOND" in words
    assert find_lie("tiles", medium).describe() in said
    low, high = measure_extent(np.concatenate([one.cubics for one in page.lines]))
    assert low.min() >= 10.0 - 1e-6 and (high <= np.array([page.width_mm, page.height_mm]) - 10.0 + 1e-6).all()


def test_a_medium_too_small_to_measure_is_refused():
    with pytest.raises(SettingError, match="too small"):
        lay("tiles", {"sheet": "own size", "own_mm": (130.0, 110.0)})
