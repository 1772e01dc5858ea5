"""A page longer than PDF readers take: its length at both ends, and its parts."""
import numpy as np
import pytest
from plots import list_words, make_matter

from plankcore.geometry.strokes import flatten_strokes, measure_extent
from plankcore.model.page import LONGEST_PAGE_MM, MediumCorrection
from plankcore.plot.sheet import MediumSettings, SheetSettings, cut_page, lay_out_matter, lay_out_roll, make_page

pytestmark = pytest.mark.long          # whole pages laid out

LONG = 6200.0
LEANING = MediumCorrection("bond", "d", number=1, along=1.004, across=0.997, skew_mm_per_m=3.0)


def make_long(correction=None, length=LONG):
    settings = SheetSettings(correction=correction)
    return make_page(lay_out_matter(make_matter(length=length, width=140.0), settings=settings), settings=settings)


def find_ends(page):
    """Crosses at the ends, from left to right, and their values."""
    found = sorted(((np.concatenate(flatten_strokes(one.cubics, tolerance_mm=0.01)).mean(axis=0), dict(one.values))
                    for one in page.lines if one.role == "page-end" and "apart_mm" in dict(one.values)),
                   key=lambda pair: pair[0][0])
    return [at for at, _ in found], [values for _, values in found]


def test_the_limit_is_that_of_the_format():
    """14,400 units of 1/72 in (PDF Reference, sixth edition, version 1.7, appendix C): 200 in."""
    assert LONGEST_PAGE_MM == pytest.approx(200 * 25.4)


def test_a_long_page_tells_its_length_at_both_ends():
    page = make_long()
    places, values = find_ends(page)
    assert len(places) == 2 and places[0][0] < 800 and places[1][0] > page.width_mm - 800
    assert all(v["length_mm"] == pytest.approx(page.width_mm)
               and v["apart_mm"] == pytest.approx(np.hypot(*(places[1] - places[0]))) for v in values)
    words = list_words(page)
    assert words.count("THIS PAGE IS %.1f MM LONG" % page.width_mm) == 2 and words.count(
        "TO THE CROSS AT ITS OTHER END %.1f MM" % values[0]["apart_mm"]) == 2


def test_a_page_that_readers_take_is_left_as_it_was():
    assert find_ends(make_long(length=4000.0))[0] == []


def test_a_long_roll_tells_its_length_too():
    page, = lay_out_roll([make_matter(length=LONG, width=140.0)], medium=MediumSettings())[0]
    places, values = find_ends(page)
    assert len(places) == 2 and values[0]["length_mm"] == pytest.approx(page.width_mm)


@pytest.mark.parametrize("correction", [None, LEANING])
def test_parts_tell_their_own_length_and_nobody_elses(correction):
    """Figures are true once the machine has undone the correction, and no part says that it is as long as the whole."""
    page = make_long(correction)
    parts = cut_page(page, longest_mm=LONGEST_PAGE_MM, correction=correction, about_mm=20.0)
    assert len(parts) == 2
    undo = np.eye(2) if correction is None else np.linalg.inv(correction.matrix)
    for part in parts:
        assert part.width_mm <= LONGEST_PAGE_MM + 1e-6
        places, values = find_ends(part)
        apart = float(np.hypot(*(undo @ (places[1] - places[0]))))
        assert len(places) == 2 and values[0]["apart_mm"] == pytest.approx(apart, abs=1e-6)
        assert correction is not None or values[0]["length_mm"] == pytest.approx(part.width_mm)
        assert "%.1f MM LONG" % page.width_mm not in list_words(part)
        low, high = measure_extent(np.concatenate([one.cubics for one in part.lines]))
        assert low.min() >= -1e-6 and high[0] <= part.width_mm + 1e-6 and high[1] <= part.height_mm + 1e-6


@pytest.mark.parametrize("correction", [None, LEANING])
def test_crosses_and_ticks_of_parts_are_told_in_true_mm(correction):
    parts = cut_page(make_long(correction), longest_mm=LONGEST_PAGE_MM, correction=correction, about_mm=20.0)
    undo = np.eye(2) if correction is None else np.linalg.inv(correction.matrix)
    for part in parts:
        ticks = {dict(one.values)["distance_mm"]: undo @ one.cubics[0, [0, 3]].mean(axis=0) for one in part.lines
                 if one.role == "baseline-tick"}
        first, last = min(ticks), max(ticks)
        assert np.hypot(*(ticks[last] - ticks[first])) == pytest.approx(last - first, abs=1e-6) and last - first > 2500
        crosses = {dict(one.values)["cross"]: undo @ np.mean(measure_extent(one.cubics), axis=0) for one in part.lines
                   if one.role == "join-mark"}
        told = next(text for text in list_words(part).split("\n") if text.startswith("1A  TO 1B"))
        assert np.hypot(*(crosses["1A"] - crosses["1B"])) == pytest.approx(float(told.split()[3]), abs=0.06)
