"""A medium measured: refusals, and a plot that comes out true on a machine that is wrong."""
import numpy as np
import pytest
from plots import make_line_overlay

from plankcore.errors import SettingError
from plankcore.model.page import MediumCorrection, Page, SheetLie
from plankcore.plot.calibration import (
    choose_correction,
    correct_page,
    find_lie,
    measure_medium,
    restore_page,
    shrink_room,
    turn_correction,
)
from plankcore.plot.sheet import MediumSettings

FILM = {"day": "2026-05-03", "along_mm": (1000, 1003), "across_mm": (1000, 998)}


def plot(machine, points):
    """Where a machine puts places."""
    return np.asarray(points, float) @ machine.T


def measure(machine, *, told=(1000.0, 600.0), medium="film", earlier=None):
    """Read off, with a perfect tape, what a machine makes of bars and crosses drawn at `told`, corrected by `earlier`
    if there is one.
    """
    total = machine @ earlier.matrix if earlier is not None else machine
    a, b = told

    def length(x, y):
        return float(np.hypot(*(total @ [x, y])))
    return measure_medium(medium, day="d", along_mm=(a, length(a, 0)), across_mm=(b, length(0, b)), rectangle_mm=told,
                          diagonals_mm=(length(a, b), length(-a, b)), earlier=earlier)[0]


@pytest.mark.parametrize("change, field", [
    ({"along_mm": (1000, 0)}, "Bar along"), ({"along_mm": (0, 1000)}, "Bar along"),
    ({"across_mm": (150, 170)}, "Bar across"), ({"along_mm": (1000, 900)}, "Bar along"),
    ({"rectangle_mm": (1000, 600), "diagonals_mm": (1166, 0)}, "Diagonals"),
    ({"rectangle_mm": (0, 600), "diagonals_mm": (1166, 1166)}, "Rectangle"),
    ({"rectangle_mm": (1000, 600), "diagonals_mm": (1166, 1200)}, "Diagonals"),
    ({"diagonals_mm": (1166, 1166)}, "Rectangle")])
def test_lengths_that_cannot_be_are_refused(change, field):
    with pytest.raises(SettingError) as refusal:
        measure_medium("film", **{**FILM, **change})
    assert refusal.value.where == field


@pytest.mark.parametrize("bars, needed, field",
                         [({"along_mm": (1000, 0), "across_mm": (150, 0)}, "bars along and across are needed too",
                           "Bar along"), ({"across_mm": (150, 0)}, "bar across is needed too", "Bar across")])
@pytest.mark.parametrize("given",
                         [{"diagonals_mm": (1166, 1166), "rectangle_mm": (1000, 600)}, {"rectangle_mm": (1000, 600)}])
def test_sides_and_diagonals_alone_are_not_enough(bars, needed, field, given):
    with pytest.raises(SettingError, match=needed) as refusal:
        measure_medium("film", **{**FILM, **bars, **given})
    assert refusal.value.where == field


def test_a_medium_without_a_name_is_refused():
    with pytest.raises(SettingError, match="no name"):
        measure_medium("  ", **FILM)


def test_lengths_that_disagree_are_doubted_and_then_refused():
    rectangle = {"along_mm": (1000, 1000), "across_mm": (600, 600), "rectangle_mm": (1000, 600), "day": "d"}
    true = float(np.hypot(1000, 600))
    assert measure_medium("film", diagonals_mm=(true, true + 0.5), **rectangle)[1] == []
    assert "disagree" in measure_medium("film", diagonals_mm=(true + 3, true + 3), **rectangle)[1][0].text
    with pytest.raises(SettingError, match="disagree"):
        measure_medium("film", diagonals_mm=(true + 15, true + 15), **rectangle)


@pytest.mark.parametrize("turn", [0.0, 0.01])
@pytest.mark.parametrize("scale", [(1.003, 0.998), (0.99, 1.0), (1.02, 1.015)])
@pytest.mark.parametrize("lean", [0.0, 1 / 600, -4 / 1000])
def test_what_is_corrected_comes_out_true(turn, scale, lean):
    """Any machine of two scales and a lean, however it turns the sheet: all lengths come out as drawn."""
    machine = np.array([[np.cos(turn), -np.sin(turn)],
                        [np.sin(turn), np.cos(turn)]]) @ np.array([[scale[0], lean], [0, scale[1]]])
    correction = measure(machine)
    assert correction.residual_mm < 1e-6
    places = np.array([(0, 0), (3000, 0), (0, 500), (3000, 500), (1234, 321)], float)
    plotted = plot(machine, places @ correction.matrix.T)
    gaps = [np.linalg.norm(p[:, None] - p[None], axis=2) for p in (places, plotted)]
    assert np.abs(gaps[0] - gaps[1]).max() < 1e-5


def test_what_is_found_on_a_corrected_sheet_comes_on_top():
    rough, later = np.array([[1.003, 0.001], [0, 0.998]]), np.array([[1.0041, 0.0015], [0, 0.9985]])
    first = measure(rough)
    second = measure(later, earlier=first)                      # the weather has changed since
    assert second.number == 2
    assert later @ second.matrix == pytest.approx(np.eye(2), abs=1e-9)


def test_the_same_lengths_typed_again_are_not_counted_twice():
    first = measure_medium("film", **FILM)[0]
    assert measure_medium("film", earlier=first, **FILM)[0] is first
    assert measure_medium("film", earlier=first, **{**FILM, "along_mm": (1000, 1000.2)})[0].number == 2


def test_bars_alone_say_nothing_of_the_lean_and_nothing_is_left_to_disagree():
    correction = measure_medium("film", rectangle_mm=(0, 0), diagonals_mm=(0, 0), **FILM)[0]
    assert correction.skew_mm_per_m == 0 and np.isnan(correction.residual_mm)


def test_the_words_on_the_sheet():
    words = measure_medium("Drafting film", **FILM)[0].describe()
    told = "CORRECTED FOR DRAFTING FILM 2026-05-03 (NO. 1): ALONG 0.99701 ACROSS 1.00200 SKEW 0.00 MM/M"
    assert words.startswith(told) and "MEASURE THEM AGAIN" in words


@pytest.mark.parametrize("lean", [0.0, 0.02, -0.02])
def test_a_corrected_page_stays_within_its_paper_and_a_fixed_one_keeps_its_size(lean):
    correction = measure(np.array([[0.98, lean], [0, 0.97]]))
    wide, tall = shrink_room(400.0, 280.0, correction)
    frame = make_line_overlay((np.array([(10, 10), (10 + wide, 10), (10 + wide, 10 + tall), (10, 10 + tall)], float),
                               "tile-edge", "sheet", "draw", True)).lines
    page = Page("A1", 420.0, 300.0, frame)
    for fixed in (True, False):
        moved = correct_page(page, correction, about_mm=10.0, fixed=fixed)
        points = moved.lines[0].cubics.reshape(-1, 2)
        assert points.min() >= 10 - 1e-9 and (points.max(axis=0) <= np.array([moved.width_mm, moved.height_mm]) - 10
                                              + 1e-6).all()
        assert ((moved.width_mm, moved.height_mm) == (420.0, 300.0)) == fixed
    assert correct_page(page, None) is page and shrink_room(400, 280, None) == (400, 280)


# -- how the sheet lay -------------------------------------------------------------------------------------------------

QUARTER = np.array([[0.0, -1.0], [1.0, 0.0]])
A3_ALONG, A3_ACROSS = SheetLie("along", "420.0 x 297.0 mm"), SheetLie("across", "420.0 x 297.0 mm")


def make_kept(lie, along=0.997, across=1.002, skew=2.0):
    return MediumCorrection("bond", "d", number=1, along=along, across=across, skew_mm_per_m=skew, residual_mm=0.1,
                            measured="x", feed=lie.feed, page=lie.page)


def test_on_a_sheet_that_lies_the_same_the_kept_factors_are_used():
    kept = make_kept(A3_ALONG)
    assert choose_correction([make_kept(A3_ACROSS), kept], A3_ALONG) is kept


@pytest.mark.parametrize("turn", [QUARTER, QUARTER.T])
def test_on_a_sheet_that_lies_the_other_way_the_machine_is_undone_all_the_same(turn):
    """A machine that is wrong by its own directions, a page a quarter turned in it either way: every length comes out
    as drawn (all lengths, against the machine itself).
    """
    machine = np.array([[1.004, 0.003], [0.0, 0.997]])
    correction = measure(machine, medium="bond")
    kept = MediumCorrection("bond", "d", number=1, along=correction.along, across=correction.across,
                            skew_mm_per_m=correction.skew_mm_per_m, residual_mm=0.1, measured="x",
                            feed="along", page=A3_ALONG.page)
    turned = choose_correction([kept], A3_ACROSS)
    assert turned.turned and turned.feed == "across" and turned.measured == ""
    assert (turned.along, turned.across) == pytest.approx((kept.across, kept.along),
                                                          abs=1e-4), "the factors change places"
    total = turn @ machine @ turn.T @ turned.matrix
    assert total.T @ total == pytest.approx(np.eye(2), abs=1e-9)
    wrong = turn @ machine @ turn.T @ kept.matrix
    assert np.abs(wrong.T @ wrong - np.eye(2)).max() > 0.01, "unturned they double the error"
    assert "TURNED" in turned.describe() and "FED ACROSS" in turned.describe() and "TURNED" not in kept.describe()


def test_turned_twice_is_as_it_was():
    kept = make_kept(A3_ALONG)
    again = turn_correction(turn_correction(kept))
    assert again.matrix == pytest.approx(kept.matrix, abs=1e-12) and not again.turned and again.feed == "along"


@pytest.mark.parametrize(
    "kept, lie",
    [(A3_ALONG, SheetLie("along", "297.0 x 210.0 mm")), (A3_ALONG, SheetLie("along", "roll 914.4 mm wide")),
     (SheetLie("", ""), A3_ALONG), (SheetLie("along", "roll 914.4 mm wide"), SheetLie("along", "roll 609.6 mm wide"))])
def test_another_page_is_refused_with_what_to_do(kept, lie):
    with pytest.raises(SettingError, match="was measured on") as refusal:
        choose_correction([make_kept(kept)], lie)
    assert refusal.value.where == "Medium" and "measure it" in refusal.value.remedy


@pytest.mark.parametrize("kind, change, feed, page", [
    ("roll", {"roll": "24 in (610 mm)"}, "along", "roll 609.6 mm wide"),
    ("roll", {"roll": "24 in (610 mm)", "first_edge": "long edge"}, "along", "roll 609.6 mm wide"),
    ("tiles", {"sheet": "A3", "long_side": "along"}, "along", "420.0 x 297.0 mm"),
    ("tiles", {"sheet": "A3", "long_side": "across"}, "across", "420.0 x 297.0 mm"),
    ("tiles", {"sheet": "A3", "long_side": "along", "first_edge": "long edge"}, "across", "420.0 x 297.0 mm"),
    ("tiles", {"sheet": "A3", "long_side": "across", "first_edge": "long edge"}, "along", "420.0 x 297.0 mm"),
    ("one sheet", {}, "along", "one sheet sized to the plank"),
    ("one sheet", {"first_edge": "long edge"}, "across", "one sheet sized to the plank")])
def test_how_each_kind_of_plot_lies(kind, change, feed, page):
    assert find_lie(kind, MediumSettings(**change)) == SheetLie(feed, page)


def test_what_is_measured_is_kept_for_how_it_lay():
    correction = measure_medium("film", **FILM, lie=A3_ACROSS)[0]
    assert (correction.feed, correction.page) == ("across", A3_ACROSS.page)


@pytest.mark.parametrize("skew", [0.0, 5.0, -5.0])
def test_a_corrected_page_is_carried_back(skew):
    correction = make_kept(A3_ALONG, skew=skew)
    line = make_line_overlay((np.array([(30, 20), (700, 250)], float), "a", "note", "draw", False)).lines
    page = Page("SHEET", 800.0, 300.0, line)
    back = restore_page(correct_page(page, correction, about_mm=20.0), correction, about_mm=20.0)
    assert (back.width_mm,
            back.height_mm) == pytest.approx((800.0, 300.0)) and back.lines[0].cubics == pytest.approx(line[0].cubics)
    assert restore_page(page, None) is page
