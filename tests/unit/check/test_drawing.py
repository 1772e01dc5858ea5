"""What the checks draw: rings where the trouble is, words that overprint nothing, a table clear of all else. Sizes are
those of the drawing itself.
"""
import numpy as np
import pytest
from shapes import make_bowed_plank, make_plank, make_straight_plank

from plankcore.check.drawing import CLEAR_MM, MOST_RINGS, RING_MM, TAG_MM
from plankcore.check.run import draw_check, run_checks, tell_table_place
from plankcore.geometry.lettering import text_width_mm
from plankcore.model.check import CheckResult, Measured, PlankState

PLANK = make_straight_plank(name="Tern of Nowhere", strake="7", thickness_mm=22.0)


def fail(name, *where, verdict="fail"):
    return CheckResult(name, verdict, found="9 MM", limit="1 MM", source="a source", remedy="MEND IT",
                       where=tuple(where), number=9.0)


def draw(results, plank=PLANK, **more):
    return draw_check(PlankState(plank=plank, **more), results)


def box_of(text):
    """Least and greatest x and y of a line of words that stands level or turned, in mm."""
    a = np.radians(text.angle_deg)
    way, up = np.array([np.cos(a), np.sin(a)]), np.array([np.sin(a), -np.cos(a)])
    wide = text_width_mm(text.text, height_mm=text.height_mm)
    corners = np.array(text.at_mm) + [0 * way, wide * way, text.height_mm * up, wide * way + text.height_mm * up]
    return np.array([corners.min(axis=0), corners.max(axis=0)])


def overlap(a, b):
    return bool(np.all(a[0] < b[1] - 1e-6) and np.all(b[0] < a[1] - 1e-6))


def list_tags(overlay):
    return [t for t in overlay.texts if t.height_mm == TAG_MM]


def list_rings(overlay):
    return [line.cubics.reshape(-1, 2) for line in overlay.lines if line.role == "ring"]


def measure_table(overlay):
    boxes = [box_of(t) for t in overlay.texts if t.height_mm != TAG_MM]
    return np.array([np.min([b[0] for b in boxes], axis=0), np.max([b[1] for b in boxes], axis=0)])


def test_nothing_wrong_is_nothing_ringed():
    overlay = draw([CheckResult("ALL", "pass", found="1", limit="2", source="x"), CheckResult.need("B", "A TAPE")])
    assert not list_rings(overlay) and not list_tags(overlay) and overlay.texts[0].style == "note"
    # what is a note is printed by a recipe, and the rows are already
    assert {t.role for t in overlay.texts} == {"label"}


def test_a_ring_stands_round_its_place_and_its_words_outside_the_plank():
    overlay = draw([fail("WIDTH", (600.0, 44.0)), fail("DEPTH", (700.0, 134.0), verdict="doubt"), fail("NOWHERE")])
    rings = sorted(list_rings(overlay), key=lambda r: r[:, 0].mean())
    assert [r.min(axis=0) + RING_MM for r in rings] == [pytest.approx((600, 44)),
                                                                      pytest.approx((700, 134))]
    above, below = sorted(list_tags(overlay), key=lambda t: t.at_mm[1])
    assert above.text == "1 FAIL: WIDTH" and below.text == "3 DOUBT: DEPTH"          # fails first, then doubts
    assert box_of(above)[1, 1] < 40 and box_of(below)[0, 1] > 140


def test_one_ring_for_one_place_and_a_line_of_words_for_each_check():
    overlay = draw([fail("ONE", (600.0, 44.0)), fail("TWO", (603.0, 46.0))])
    assert len(list_rings(overlay)) == 1 and sorted(t.text for t in list_tags(overlay)) == ["1 FAIL: ONE",
                                                                                            "2 FAIL: TWO"]


def test_no_check_hides_the_plank_under_rings():
    assert len(
        list_rings(draw([fail("MANY", *((100.0 + 60 * k, 90.0) for k in range(15)))]))) == MOST_RINGS


@pytest.mark.parametrize("degrees", [0, 7, -20])
def test_words_overprint_neither_each_other_nor_what_is_lettered(degrees):
    a = np.radians(degrees)
    matrix = np.array([[np.cos(a), -np.sin(a), 100.0], [np.sin(a), np.cos(a), 300.0]])
    plank = make_plank(*(make_bowed_plank().edges[n].curve.transform(matrix)
                         for n in ("upper", "lower", "fore", "aft")))
    places = [tuple(plank.edges["upper"].curve.evaluate([u])[0]) for u in np.linspace(0.2, 0.8, 12)]
    clutter = np.array([[p[0] - 60, p[1] - 40, p[0] + 60, p[1] - 20] for p in places[::4]])
    overlay = draw([fail("CHECK NUMBER %d" % k, p) for k, p in enumerate(places)], plank, clutter=clutter)
    boxes = [box_of(t) for t in list_tags(overlay)]
    assert len(boxes) == 12
    for k, box in enumerate(boxes):
        assert not any(overlap(box, other) for other in boxes[:k])
        assert not any(overlap(box, other.reshape(2, 2)) for other in clutter)


def test_the_table_lies_below_and_clear_of_the_plank_and_its_words():
    overlay = draw([fail("WIDTH", (600.0, 134.0))], boxes=(np.array([[0.0, -100.0], [1200.0, 300.0]]),))
    table = measure_table(overlay)
    assert table[0, 1] >= 300 + CLEAR_MM - 1e-6 and table[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert not any(overlap(table, box_of(t)) for t in list_tags(overlay))


@pytest.mark.parametrize("below, above", [([[0.0, 320.0], [1200.0, 700.0]], None),
                                          ([[0.0, 320.0], [1200.0, 700.0]], [[0.0, -900.0], [1200.0, -120.0]])])
def test_the_table_passes_by_what_else_is_on_the_page(below, above):
    own = np.array([[0.0, -100.0], [1200.0, 300.0]])
    boxes = [own] + [np.array(b) for b in (below, above) if b is not None]
    table = measure_table(draw([fail("WIDTH", (600.0, 134.0))], boxes=tuple(boxes)))
    assert not any(overlap(table, b) for b in boxes)
    if above is None:
        assert table[1, 1] < own[0, 1]                 # above is nearer
    else:
        assert table[0, 1] > 700                       # the way down is shorter than the way up


@pytest.mark.parametrize("more, place", [((), "below"), ((np.array([[0.0, 320.0], [1200.0, 700.0]]),), "above")])
def test_where_the_table_lies_can_be_told(more, place):
    state = PlankState(plank=PLANK, boxes=(np.array([[0.0, -100.0], [1200.0, 300.0]]), *more))
    assert tell_table_place(state, draw_check(state, [fail("WIDTH", (600.0, 134.0))])) == place


def test_every_result_stands_in_the_table_with_its_numbers():
    state = PlankState(plank=PLANK, measured=Measured(true_length_mm=1020.0, moisture=25.0))
    results = run_checks(state)
    words = " ".join(t.text for t in draw_check(state, results).texts)
    for result in results:
        for text in (result.name, result.found, result.limit, result.source.upper(),
                     result.remedy.replace("NEEDS ", "", 1)):
            if result.verdict in ("fail", "doubt") or text in (result.name, result.found):
                assert all(word in words for word in text.split())
    assert "NOT AN APPROVAL" in words and "SURVEYOR" in words


def test_cells_of_a_row_do_not_run_into_each_other():
    state = PlankState(plank=PLANK, measured=Measured(true_length_mm=1020.0, moisture=25.0))
    boxes = [box_of(t) for t in draw_check(state, run_checks(state)).texts if t.height_mm != TAG_MM]
    assert not any(overlap(a, b) for k, a in enumerate(boxes) for b in boxes[:k])
