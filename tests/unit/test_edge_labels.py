"""Labels upper, lower, fore, aft on drawn lines and marks rule; against the place on the page they are refused, with both named. Invented shapes."""
import numpy as np
import pytest
from plankcore.errors import SelectionError
from plankcore.model import Trace
from plankcore.tracing import read_pattern
from shapes import draw_lines, draw_trace

LINES = {"upper": [(1000, 50), (0, 50)], "lower": [(1000, 150), (0, 150)], "fore": [(1000, 50), (1000, 150)], "aft": [(0, 50), (0, 150)]}


def draw_four(labels):
    return [Trace(((draw_lines(np.array(points, float)), False),), "line '%s'" % label, edge=label) for points, label in zip(LINES.values(), labels)]


def draw_marks(upper="upper", lower="lower", fore="fore", aft="aft"):
    def mark(x, y, edge):
        return draw_trace([(x - 2, y - 2), (x + 2, y + 2)], label="mark %s %d" % (edge or "plain", x), edge=edge)
    rows = [mark(x, y, e) for x in range(50, 1000, 150) for y, e in ((50, upper), (150, lower))]
    return rows + [mark(x, y, e) for x, e in ((1000, fore), (0, aft)) for y in (60, 100, 140)]


@pytest.mark.parametrize("labels, told", [(("lower", "upper", "fore", "aft"), ("labelled lower", "labelled upper")), (("upper", "lower", "aft", "fore"), ("labelled aft", "labelled fore")), (("lower", "", "", ""), ("labelled lower", "upper edge"))])
def test_lines_labelled_against_their_place_are_refused_with_both(labels, told):
    with pytest.raises(SelectionError) as caught:
        read_pattern(draw_four(labels), forward="right")
    assert all(word in caught.value.problem for word in told), caught.value.problem


@pytest.mark.parametrize("labels, forward", [(("upper", "lower", "fore", "aft"), "right"), (("upper", "lower", "aft", "fore"), "left"), (("", "lower", "", ""), "right")])
def test_lines_labelled_as_they_lie_are_read(labels, forward):
    assert set(read_pattern(draw_four(labels), forward=forward).edges) == {"upper", "lower", "fore", "aft"}


@pytest.mark.parametrize("swap, told", [(dict(upper="lower", lower="upper"), ("labelled upper", "lower")), (dict(fore="aft", aft="fore"), ("labelled fore", "aft end"))])
def test_marks_labelled_against_their_place_are_refused(swap, told):
    with pytest.raises(SelectionError) as caught:
        read_pattern(draw_marks(**swap), forward="right")
    assert all(word in caught.value.problem for word in told), caught.value.problem


def test_marks_labelled_as_they_lie_are_read():
    assert len(read_pattern(draw_marks(), forward="right").edges["upper"].marks) == 7
    assert len(read_pattern(draw_marks(fore="aft", aft="fore"), forward="left").edges["upper"].marks) == 7
