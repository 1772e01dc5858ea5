"""Labels upper, lower, fore, aft on drawn lines and marks rule; against the place on the page they are refused, with
both named. Invented shapes.
"""
import numpy as np
import pytest
from shapes import draw_lines, draw_trace

from plankcore.errors import SelectionError
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern
from plankcore.scan.places import ShapePlace, lay_out

LINES = {"upper": [(1000, 50), (0, 50)], "lower": [(1000, 150), (0, 150)], "fore": [(1000, 50), (1000, 150)],
         "aft": [(0, 50), (0, 150)]}


def draw_four(labels):
    return [Trace(((draw_lines(np.array(points, float)), False),), "line '%s'" % label, edge=label)
            for points, label in zip(LINES.values(), labels)]


def draw_marks(upper="upper", lower="lower", fore="fore", aft="aft"):
    def mark(x, y, edge):
        return draw_trace([(x - 2, y - 2), (x + 2, y + 2)], label="mark %s %d" % (edge or "plain", x), edge=edge)
    rows = [mark(x, y, e) for x in range(50, 1000, 150) for y, e in ((50, upper), (150, lower))]
    return rows + [mark(x, y, e) for x, e in ((1000, fore), (0, aft)) for y in (60, 100, 140)]


@pytest.mark.parametrize("labels, told", [(("lower", "upper", "fore", "aft"), ("labelled lower", "labelled upper")),
                                          (("upper", "lower", "aft", "fore"), ("labelled aft", "labelled fore")),
                                          (("lower", "", "", ""), ("labelled lower", "upper edge"))])
def test_lines_labelled_against_their_place_are_refused_with_both(labels, told):
    with pytest.raises(SelectionError) as caught:
        read_pattern(draw_four(labels), forward="right")
    assert all(word in caught.value.problem for word in told), caught.value.problem


@pytest.mark.parametrize("labels, forward",
                         [(("upper", "lower", "fore", "aft"), "right"), (("upper", "lower", "aft", "fore"), "left"),
                          (("", "lower", "", ""), "right")])
def test_lines_labelled_as_they_lie_are_read(labels, forward):
    assert set(read_pattern(draw_four(labels), forward=forward).edges) == {"upper", "lower", "fore", "aft"}


@pytest.mark.parametrize("swap, told", [({"upper": "lower", "lower": "upper"}, ("labelled upper", "lower")),
                                        ({"fore": "aft", "aft": "fore"}, ("labelled fore", "aft end"))])
def test_marks_labelled_against_their_place_are_refused(swap, told):
    with pytest.raises(SelectionError) as caught:
        read_pattern(draw_marks(**swap), forward="right")
    assert all(word in caught.value.problem for word in told), caught.value.problem


def test_marks_labelled_as_they_lie_are_read():
    assert len(read_pattern(draw_marks(), forward="right").edges["upper"].marks) == 7
    assert len(read_pattern(draw_marks(fore="aft", aft="fore"), forward="left").edges["upper"].marks) == 7


def stand(points, turned):
    """Points turned on the page about the origin, by quarter turns clockwise as seen there (y points down)."""
    return np.asarray(points, float) @ np.linalg.matrix_power(np.array([[0.0, 1.0], [-1.0, 0.0]]), turned)


def stand_traces(traces, turned):
    return [Trace(tuple((stand(c, turned), closed) for c, closed in t.runs), t.label, edge=t.edge, station=t.station)
            for t in traces]


def read_corners(pattern):
    return {n: np.array([[m.point for m in e.marks][k] if e.marks else e.runs[0][k] for k in (0, -1)])
            for n, e in pattern.edges.items()}


@pytest.mark.parametrize("turned", [1, 3])
@pytest.mark.parametrize("labels, forward",
                         [(("upper", "lower", "fore", "aft"), "right"), (("upper", "lower", "aft", "fore"), "left"),
                          (("upper", "", "", "aft"), "right"), (("", "lower", "fore", ""), "right")])
def test_labels_settle_what_stands_upright(turned, labels, forward):
    """Read upright and turned, it is the plank that was drawn level: never its mirror image."""
    level = read_corners(read_pattern(draw_four(labels), forward=forward))
    upright = read_corners(read_pattern(stand_traces(draw_four(labels), turned), forward=forward))
    # edges are read at points 1 mm apart
    assert all(upright[n] == pytest.approx(stand(level[n], turned), abs=1.0) for n in level)


@pytest.mark.parametrize("turned", [1, 3])
@pytest.mark.parametrize("ends", ["marks", "lines"])
def test_labels_settle_marks_that_stand_upright(turned, ends):
    marks = draw_marks() if ends == "marks" else draw_marks()[:14] + [
        t for t in draw_four(("upper", "lower", "fore", "aft")) if t.edge in ("fore", "aft")]
    level, upright = (read_corners(read_pattern(t, forward="right")) for t in (marks, stand_traces(marks, turned)))
    assert all(upright[n] == pytest.approx(stand(level[n], turned), abs=1.0) for n in level)


@pytest.mark.parametrize("turned", [1, 3])
@pytest.mark.parametrize("labels", [("", "", "", ""), ("upper", "lower", "", ""), ("", "", "fore", "aft")])
def test_upright_with_too_few_labels_is_refused_and_says_how(turned, labels):
    with pytest.raises(SelectionError, match="upright") as caught:
        read_pattern(stand_traces(draw_four(labels), turned), forward="right")
    assert "label" in caught.value.remedy
    with pytest.raises(SelectionError, match="upright"):
        read_pattern(stand_traces(draw_marks("", "", *labels[2:]) if labels[2] else draw_marks(
            labels[0], labels[1])[:14] + draw_four([""] * 4)[2:], turned), forward="right")


@pytest.mark.parametrize("turned", [1, 3])
def test_labels_of_the_mirror_image_are_refused_upright_too(turned):
    with pytest.raises(SelectionError, match="is labelled") as caught:
        read_pattern(stand_traces(draw_four(("lower", "upper", "fore", "aft")), turned), forward="right")
    assert "labelled lower" in caught.value.problem and "labelled upper" in caught.value.problem
    with pytest.raises(SelectionError, match="is labelled upper and"):
        read_pattern(stand_traces(draw_marks("lower", "upper"), turned), forward="right")


@pytest.mark.parametrize("place", [0, 3, 6])
@pytest.mark.parametrize("own, other", [("upper", "lower"), ("lower", "upper")])
@pytest.mark.parametrize("sny", [0.0, 150.0])
@pytest.mark.parametrize("others", ["", "labelled"])
def test_one_mark_labelled_as_the_other_row_is_refused_by_name(place, own, other, sny, others):
    def mark(x, y, edge):
        y += sny * (1 - (x / 500 - 1) ** 2)
        return draw_trace([(x - 2, y - 2), (x + 2, y + 2)], label="%s %d" % (edge or "plain", x), edge=edge)
    high, low = ("upper", "lower") if others else ("", "")
    rows = {"upper": [mark(x, 50, high) for x in range(50, 1000, 150)],
            "lower": [mark(x, 150, low) for x in range(50, 1000, 150)]}
    rows[other][place] = mark(50 + 150 * place, 50 if other == "upper" else 150, own)
    with pytest.raises(SelectionError) as caught:
        read_pattern(rows["upper"] + rows["lower"] + draw_four([""] * 4)[2:], forward="right")
    at = caught.value.where
    assert "%s %d is labelled %s" % (
        own, 50 + 150 * place, own) in caught.value.problem and "row of the %s edge" % other in caught.value.problem
    assert at[0] == pytest.approx(50 + 150 * place) and "(%.0f, %.0f) mm" % at in caught.value.problem


def test_a_mark_measured_wrong_is_no_label_that_is_wrong():
    """A third of the width off its row: a doubtful mark, to be ringed by fairing, not refused here."""
    marks = draw_marks()
    marks[6] = draw_trace([(498, 48 + 33), (502, 52 + 33)], label="upper 10", edge="upper")
    assert len(read_pattern(marks, forward="right").edges["upper"].marks) == 7


SPOTS = [((x, y), e) for x in range(50, 1000, 150) for y, e in ((50, "upper"), (150, "lower"))] + [
    ((x, y), e) for x, e in ((1000, "fore"), (0, "aft")) for y in (60, 140)]


def lay(spots, turned):
    return lay_out([ShapePlace(stand([at], turned), edge=e, name="%s %d" % (e, k)) for k, (at, e) in enumerate(spots)],
                   edge="auto", forward="right")


@pytest.mark.parametrize("turned", [0, 1, 2, 3])
def test_read_marks_takes_the_labels_of_what_stands_upright(turned):
    """Outboard and the run of frames turn with the plank; upside down (two quarter turns) they contradict the place and
    are refused.
    """
    if turned == 2:
        with pytest.raises(SelectionError, match="is labelled upper"):
            lay(SPOTS, turned)
        return
    found = lay(SPOTS, turned)
    assert found.axis == pytest.approx(stand([(1, 0)], turned)[0],
                                       abs=0.05) and found.outboard["upper"] == pytest.approx(
        stand([(0, -1)], turned)[0], abs=0.05)
    assert list(found.edges) == [e for _, e in SPOTS]


@pytest.mark.parametrize("turned", [1, 3])
def test_read_marks_refuses_the_mirror_image_of_what_stands_upright(turned):
    swap = {"upper": "lower", "lower": "upper"}
    with pytest.raises(SelectionError, match="is labelled upper"):
        lay([(at, swap.get(e, e)) for at, e in SPOTS], turned)
    # without an end nothing tells: labels stand
    assert list(lay(SPOTS[:14], turned).edges) == [e for _, e in SPOTS[:14]]
