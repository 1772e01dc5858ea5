"""Corners: ends drawn far from the last mark, edges that run past them, and corners that nobody measured.

All planks are invented; a shape's true corner is where its own formulas cross.
"""
import numpy as np
import pytest
from drawings import MM_PAGE, open_drawing, reopen
from drawings import fair as fair_drawing
from shapes import draw_trace

from plankcore.document import names
from plankcore.errors import PlankError
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.curve import make_line
from plankcore.model.plank import Trace
from plankcore.plot.title import list_heading
from plankcore.scan.pattern import read_pattern

LENGTH = 2400.0


def upper(x):
    return 60 - 40 * np.sin(np.pi * x / 2600)


def lower(x):
    return upper(x) + 130 - x / 80


def draw_edge(function, first, last):
    x = np.linspace(first, last, 400)
    return draw_trace(np.column_stack([x, function(x)]))


def draw_end(x, *, rake=0.0, bow=0.0, short=0.0):
    """An end from edge to edge, its foot `rake` further forward, bowed by `bow`, drawn `short` mm less at both ends."""
    t = np.linspace(short / 130, 1 - short / 130, 80)
    at = x + rake * t + 4 * bow * t * (1 - t)
    return draw_trace(np.column_stack([at, upper(at) + (lower(at) - upper(at)) * t]))


def cross(x, y, edge="", station=""):
    arms = [make_line((x - 2, y), (x + 2, y)).cubics, make_line((x, y - 2), (x, y + 2)).cubics]
    return Trace(tuple((a, False) for a in arms), "mark", edge, station)


def draw_marks(first, last, count=11):
    return [cross(x, f(x)) for f in (upper, lower) for x in np.linspace(first, last, count)]


def fair(traces, **settings):
    return fair_plank(read_pattern(traces, forward="right"), settings=FairSettings(**settings))


HOODS = {"square": {}, "raked": {"rake": -90.0}, "raked forward": {"rake": 70.0},
         "curved": {"rake": -60.0, "bow": 14.0}}


@pytest.mark.parametrize("hood", HOODS)
@pytest.mark.parametrize("past", [60.0, 40.0, 20.0, 0.0, -20.0, -40.0, -55.0])
def test_drawn_edges_that_stop_short_of_an_end_or_run_past_it_are_used_or_refused_with_the_distance(hood, past):
    """past > 0: both edges run past the ends by so much; < 0: they stop short of them."""
    shape = HOODS[hood]
    fore, aft = draw_end(LENGTH, **shape), draw_end(0.0)
    rake = shape.get("rake", 0.0)
    edges = [draw_edge(upper, -past, LENGTH + past), draw_edge(lower, -past, LENGTH + rake + past)]
    plank = fair([*edges, fore, aft])
    corner = plank.find_corners()
    # where a curved end runs out against an edge is known worse: its own run past its drawing
    within = 2.5 if hood == "curved" else 0.3
    assert corner["upper fore"] == pytest.approx((LENGTH, upper(LENGTH)), abs=within)
    assert corner["lower fore"] == pytest.approx((LENGTH + rake, lower(LENGTH + rake)), abs=2 * within)
    told = [f.number for f in plank.findings if f.key == "overrun"]
    # all four, and each with its length
    assert told == pytest.approx([past] * 4, abs=max(1.5, 2 * within)) if past > 20 else not told or past == 20.0


def test_an_edge_that_stops_farther_off_than_it_is_run_on_is_refused_with_the_distance():
    with pytest.raises(PlankError, match=r"passes 9\d mm from where the record") as caught:
        fair([draw_edge(upper, 0, LENGTH - 95), draw_edge(lower, 0, LENGTH), draw_end(LENGTH), draw_end(0.0)])
    assert caught.value.remedy and caught.value.where


def test_a_line_that_lies_too_far_from_an_end_is_refused_with_its_distance_and_nothing_drawn_with_other_words():
    edges = [draw_edge(upper, 0, LENGTH), draw_edge(lower, 0, LENGTH)]
    with pytest.raises(PlankError, match=r"lies 300 mm from where the edges stop"):
        fair([*edges, draw_end(LENGTH - 300), draw_end(0.0)])
    with pytest.raises(PlankError, match=r"3 separate lines were"):
        fair([*edges, draw_end(0.0)])


@pytest.mark.parametrize("hood", HOODS)
@pytest.mark.parametrize("gap", [-60.0, -20.0, 20.0, 60.0])
@pytest.mark.parametrize("count", [5, 11])
def test_an_end_line_past_the_last_mark_or_behind_it_is_used(hood, gap, count):
    """gap > 0: the end lies so far past the last mark; < 0: the marks overrun it. A short plank of five frames too."""
    length = LENGTH if count > 5 else 900.0
    shape = HOODS[hood]
    last = length - gap + min(shape.get("rake", 0.0), 0.0) * (gap > 0)
    plank = fair([*draw_marks(30.0, last, count), draw_end(length, **shape), draw_end(0.0)], honest_error_mm=0.3)
    assert plank.find_corners()["upper fore"] == pytest.approx((length, upper(length)),
                                                              abs=2.5 if hood == "curved" else 1.5)


def test_marks_without_a_line_within_reach_of_an_end_are_refused_with_the_distance():
    with pytest.raises(PlankError, match=r"lies \d+ mm from where the edges stop"):
        fair([*draw_marks(30.0, LENGTH - 700), draw_end(LENGTH), draw_end(0.0)])
    with pytest.raises(PlankError, match="neither a line nor two marks"):
        fair([*draw_marks(30.0, LENGTH - 100), draw_end(0.0), draw_end(3.0)])


def tuck(x):
    """An edge that runs into the tuck: it turns up in the last 500 mm, past the last mark most of all."""
    return upper(x) - 14 * np.exp((x - LENGTH) / 300)


def fair_tuck(last, **settings):
    x = np.linspace(20.0, last, 10)
    marks = [cross(a, f(a)) for f in (tuck, lower) for a in x]
    t = np.linspace(-0.2, 1.2, 80)
    fore = draw_trace(np.column_stack([LENGTH + 0 * t, tuck(LENGTH) + (lower(LENGTH) - tuck(LENGTH)) * t]))
    return fair([*marks, fore, draw_end(0.0)], honest_error_mm=0.3, **settings)


def test_a_corner_that_no_mark_holds_is_told_with_its_distance_and_its_error_and_asks_for_a_mark():
    plank = fair_tuck(LENGTH - 200)
    guess, = plank.edges["upper"].guesses
    assert (guess.end, guess.beyond_mm) == ("fore", pytest.approx(200.0, abs=1.5)) and guess.band_mm > 0.6
    finding = next(f for f in plank.findings if f.key == "corner-guessed" and f.where[1] < lower(LENGTH) - 50)
    assert finding.number == pytest.approx(guess.band_mm) and "one more mark" in finding.text
    assert "200 mm past the last mark" in finding.text and finding.where == pytest.approx((LENGTH, tuck(LENGTH)), abs=8)


def test_a_corner_beside_its_last_mark_is_not_told_and_one_more_mark_takes_the_guess_away():
    assert not any(f.key == "corner-guessed" for f in fair_tuck(LENGTH - 5).findings)


def test_guessed_corners_stand_in_the_drawing_and_on_the_sheet():
    svg = ""
    for f in (tuck, lower):
        for k, x in enumerate(np.linspace(20.0, LENGTH - 200, 10)):
            svg += '<circle id="%s%d" cx="%.6f" cy="%.6f" r="2"/>' % (f.__name__, k, x, f(x))
    for k, x in enumerate((0.0, LENGTH)):
        svg += '<path id="end%d" d="M %g,%.6f L %g,%.6f"/>' % (k, x, tuck(x) - 5, x, lower(x) + 5)
    drawing = open_drawing('<g id="all">%s</g>' % svg, page=MM_PAGE, selected=["all"])
    plank, group = fair_drawing(drawing, settings=FairSettings(honest_error_mm=0.3))
    again = reopen(drawing)
    group = again.find_groups()[0]
    read = again.read_plank(group)
    assert [e.guesses for e in read.edges.values()] == [
        tuple(type(g)(g.end, pytest.approx(g.beyond_mm, abs=1e-6), pytest.approx(g.band_mm, abs=1e-6))
              for g in e.guesses) for e in plank.edges.values()]
    edge = next(e for e in names.find_roles(group, "edge") if names.get(e, "edge") == "upper")
    assert float(names.get(edge, "fore-beyond-mm")) == pytest.approx(200, abs=1.5)

    class Matter:
        saw, stations, board_includes = None, (), ()
    Matter.plank = read
    row = next(r.text for r in list_heading(Matter) if r.text.startswith("GUESSED CORNERS"))
    assert "UPPER FORE, 200 MM PAST THE LAST MARK" in row
