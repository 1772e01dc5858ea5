"""Which line is which edge, which mark belongs to which. Refusals first."""
import numpy as np
import pytest
from shapes import draw_rectangle, turn

from plankcore.errors import PatternError, SelectionError
from plankcore.scan.edges import name_edges, sort_marks


def draw_sides(points):
    return [np.array([a, (a + b) / 2, b]) for a, b in zip(points, np.roll(points, -1, axis=0))]


LEVEL = draw_rectangle(400, 60)


def test_a_square_is_not_read_as_a_plank():
    with pytest.raises(PatternError, match="not long enough"):
        name_edges(draw_sides(draw_rectangle(80, 60)), forward="right")


@pytest.mark.parametrize("degrees", [90, -90, 84])
def test_an_upright_plank_is_refused(degrees):
    with pytest.raises(SelectionError, match="upright"):
        name_edges(draw_sides(turn(LEVEL, degrees)), forward="right")
    with pytest.raises(SelectionError, match="upright"):
        sort_marks(turn(np.array([(x, y) for x in range(0, 700, 100) for y in (0.0, 60.0)]), degrees), [""] * 14)


@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("degrees", [0, 60, -70])
def test_names_do_not_depend_on_start_direction_or_turn(first, backwards, degrees):
    points = np.roll(turn(LEVEL, degrees), first, axis=0)
    named = name_edges(draw_sides(points[::-1] if backwards else points), forward="right")
    middle = {n: turn(s[1:2], -degrees)[0] for n, s in named.items()}
    for name, place in (("upper", (200, 0)), ("lower", (200, 60)), ("fore", (400, 30)), ("aft", (0, 30))):
        assert middle[name] == pytest.approx(place)
    starts = {n: turn(s[:1], -degrees)[0] for n, s in named.items()}
    for name, place in (("upper", (400, 0)), ("lower", (400, 60)), ("fore", (400, 0)), ("aft", (0, 0))):
        assert starts[name] == pytest.approx(place)


def test_bow_to_the_left_swaps_the_ends():
    named = name_edges(draw_sides(LEVEL), forward="left")
    assert named["fore"][1] == pytest.approx((0, 30)) and named["upper"][0] == pytest.approx((0, 0))


@pytest.mark.parametrize("degrees", [0, 35, -65])
@pytest.mark.parametrize("sny", [0.0, 150.0, -150.0])
def test_marks_are_sorted_though_the_plank_bows_by_more_than_its_width(degrees, sny):
    x = np.linspace(0, 3000, 14)
    bow = sny * (1 - (x / 1500 - 1) ** 2)
    points = np.vstack([np.column_stack([x, bow - 50 + x / 200]), np.column_stack([x, bow + 50 - x / 200])])
    upper, axis = sort_marks(turn(points, degrees), [""] * 28)
    assert upper.tolist() == [True] * 14 + [False] * 14
    assert axis @ np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))]) > 0.99


def test_what_a_mark_says_of_itself_stands():
    points = np.array([(x, y) for x in range(0, 700, 100) for y in (0.0, 60.0)])
    told = [""] * 14
    told[0] = "lower"                       # a mark high on the page that says it is on the lower edge
    assert not sort_marks(points, told)[0][0]
