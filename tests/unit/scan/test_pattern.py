"""Drawn shapes to a Pattern: refusals first, then an outline, a marker line's two borders, lines in pieces, marks."""
import numpy as np
import pytest
from shapes import draw_lines, draw_outline, draw_rectangle, draw_trace, measure_gap, turn

from plankcore.errors import PatternError, SelectionError
from plankcore.geometry.polyline import measure_arc_mm
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern

LEFT, RIGHT = 100.0, 1900.0


def upper(x):
    return 300 - 60 * np.sin(np.pi * (x - LEFT) / (RIGHT - LEFT))


def lower(x):
    return upper(x) + 120 - (x - LEFT) / 60


def outline(grow=0.0):
    """The plank's polygon, grown outward by so much (small growth: along the page's axes)."""
    return draw_outline(lambda x: upper(x) - grow, lambda x: lower(x) + grow, left=LEFT - grow, right=RIGHT + grow)


def graph(function, first=LEFT, last=RIGHT, step=3.0):
    x = np.linspace(first, last, int(abs(last - first) / step) + 2)
    return np.column_stack([x, function(x)])


def end_line(x, beyond=0.0):
    return np.array([(x, upper(np.array(x)) - beyond), (x, lower(np.array(x)) + beyond)])


EDGE_LINES = [graph(upper), graph(lower), end_line(LEFT), end_line(RIGHT)]


def dots(function, count, size=3.0, edge="", wrong=()):
    """Small squares round points of an edge."""
    x = np.linspace(LEFT + 5, RIGHT - 5, count)
    return [draw_trace(draw_rectangle(size, size, left=a - size / 2, top=b - size / 2), closed=True, label="dot",
                       edge=edge) for a, b in zip(x, function(x))]


def all_dots(count=9):
    return dots(upper, count) + dots(lower, count)


def read(traces, forward="right", **more):
    return read_pattern(traces, forward=forward, **more)


def lines(*points):
    return [draw_trace(p, label="line %d" % k) for k, p in enumerate(points)]


def check_edges(pattern, within, *, cut=12.0):
    """Every edge, `cut` mm clear of its ends, lies on the true line."""
    truth = {"upper": graph(upper, LEFT - 5, RIGHT + 5), "lower": graph(lower, LEFT - 5, RIGHT + 5),
             "aft": end_line(LEFT, 5), "fore": end_line(RIGHT, 5)}
    for name, line in truth.items():
        for run in pattern.edges[name].runs:
            arc = measure_arc_mm(run)
            inner = run[(arc > cut) & (arc < arc[-1] - cut)]
            assert len(inner) > 20 and measure_gap(inner, line) < within, name


def check_directions(pattern):
    """Upper and lower run aft, the ends run down."""
    for edge in ("upper", "lower"):
        run = pattern.edges[edge].runs[0] if pattern.edges[edge].runs else np.array(
            [m.point for m in pattern.edges[edge].marks])
        assert run[0, 0] > run[-1, 0]
    for edge in ("fore", "aft"):
        run = pattern.edges[edge].runs[0]
        assert run[0, 1] < run[-1, 1]
    assert pattern.edges["fore"].runs[0][:, 0].mean() > pattern.edges["aft"].runs[0][:, 0].mean()


@pytest.mark.parametrize("edge, shift",
                         [("upper", (0, 0.2)), ("lower", (0, -0.2)), ("fore", (0.2, 0)), ("aft", (-0.2, 0))])
def test_the_check_of_edges_can_fail(edge, shift):
    order = dict(zip(("upper", "lower", "aft", "fore"), range(4)))
    drawn = [line + np.array(shift) if k == order[edge] else line for k, line in enumerate(EDGE_LINES)]
    with pytest.raises(AssertionError, match=edge):
        check_edges(read(lines(*drawn)), 0.05, cut=2)


# -- refusals ------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("traces, error, words", [
    ([], SelectionError, "Nothing to read"),
    ([Trace((), "empty")], SelectionError, "no lines"),
    (lines(graph(upper)), SelectionError, "1 line was found"),
    (lines(graph(upper), graph(lower), end_line(LEFT)), SelectionError, "3 separate lines"),
    (lines(graph(upper), graph(lower), graph(lambda x: lower(x) + 60), end_line(LEFT), end_line(RIGHT)),
     SelectionError, "two planks"),
    (lines(graph(upper), graph(lower), end_line(LEFT), end_line(LEFT + 600)), SelectionError, "one end"),
    ([draw_trace(outline(), closed=True), draw_trace(outline() + (0, 400), closed=True)], SelectionError,
     "side by side"),
    ([draw_trace(draw_rectangle(100, 90), closed=True)], PatternError, "not long enough"),
    ([draw_trace(turn(outline(), 90), closed=True)], SelectionError, "upright"),
    ([draw_trace(np.array([(0, 0), (1000, 40), (0, 80.0)]), closed=True)], PatternError, "corner"),
    ([draw_trace(np.column_stack([500 * np.cos(a), 60 * np.sin(a)]), closed=True)
      for a in [np.linspace(0, 6.28, 300)[:-1]]], PatternError, "corner"),
    (all_dots(), SelectionError, "both ends are needed"),
    (all_dots() + lines(end_line(LEFT)), SelectionError, "both ends are needed"),
    (all_dots() + lines(end_line(800.0), end_line(1000.0)), SelectionError, r"lies \d+ mm from where the edges stop"),
    (dots(upper, 9) + dots(lower, 3) + lines(end_line(LEFT), end_line(RIGHT)), SelectionError, "only 3 marks"),
])
def test_what_is_not_one_plank_is_refused_with_a_remedy(traces, error, words):
    with pytest.raises(error, match=words) as caught:
        read(traces)
    assert caught.value.remedy


def test_an_open_outline_is_refused_with_its_gap_and_place():
    loop = outline()[:-12]
    with pytest.raises(PatternError, match=r"gap of \d+\.\d mm") as caught:
        read([draw_trace(loop)])
    assert caught.value.where == pytest.approx(tuple(loop[-1]), abs=1)


def test_a_loop_of_line_at_one_place_is_refused_with_the_place():
    """The pen runs 20 mm on, round a circle of 40 mm and back over its own line: a knot that is no plank's edge."""
    shape = outline()
    index = int(np.argmin(np.hypot(*(shape - (1000, upper(1000.0))).T)))
    a = np.linspace(np.pi / 2, -np.pi * 1.5, 80)
    knot = shape[index] + np.column_stack([20 * np.cos(a) + np.linspace(20, -20, 80), 20 * np.sin(a) - 20])
    with pytest.raises(PatternError, match="crosses itself") as caught:
        read([draw_trace(np.vstack([shape[:index - 8], knot, shape[index + 8:]]), closed=True)])
    assert np.hypot(*(np.array(caught.value.where) - shape[index])) < 45


# -- one outline -----------------------------------------------------------------------------------------------

@pytest.mark.parametrize("degrees", [0, 40, -65])
def test_an_outline_gives_four_edges_that_lie_on_it(degrees):
    pattern = read([draw_trace(turn(outline(), degrees), closed=True)])
    assert pattern.kind == "outline" and pattern.ticks == ()
    back = {n: np.concatenate([turn(r, -degrees) for r in e.runs]) for n, e in pattern.edges.items()}
    assert back["upper"][:, 0] == pytest.approx(np.sort(back["upper"][:, 0])[::-1])
    assert measure_gap(back["upper"], graph(upper, LEFT - 2, RIGHT + 2)) < 1.5
    assert np.ptp(back["fore"][:, 0]) < 2 and back["fore"][:, 0].mean() == pytest.approx(RIGHT, abs=1)


def test_directions_of_the_edges():
    check_directions(read([draw_trace(outline(), closed=True)]))


def test_forward_left_names_the_ends_the_other_way():
    pattern = read([draw_trace(outline(), closed=True)], forward="left")
    assert pattern.edges["fore"].runs[0][:, 0].mean() < pattern.edges["aft"].runs[0][:, 0].mean()
    assert pattern.edges["upper"].runs[0][0, 0] < pattern.edges["upper"].runs[0][-1, 0]


@pytest.mark.parametrize("gap, closed", [(0.3, False), (0.0, False)])
def test_an_outline_whose_ends_all_but_meet_counts_as_closed(gap, closed):
    loop = np.vstack([outline(), outline()[:1] + (0, gap)])
    assert read([draw_trace(loop)]).kind == "outline"


def test_a_filled_shape_traced_in_curves_is_read_as_curves():
    """One cubic along the upper edge whose handles bow it by 75 mm: 3/4 of the handles' 100."""
    cubics = np.concatenate([[[(0, 0), (500, -100), (1000, -100), (1500, 0)]],
                             draw_lines([(1500, 0), (1500, 150), (0, 150), (0, 0)])]).astype(float)
    pattern = read([Trace(((cubics, True),), "curve")])
    assert pattern.edges["upper"].runs[0][:, 1].min() == pytest.approx(-75, abs=0.1)


@pytest.mark.parametrize("line_edge, grow, runs", [("outer", 2.0, 1), ("inner", -2.0, 1), ("middle", 0.0, 2)])
def test_which_border_of_a_marker_line_is_meant(line_edge, grow, runs):
    """A line 4 mm wide: its outer border 2 mm outside, its inner 2 mm inside; plus a frame number's box within."""
    box = draw_rectangle(18, 14, left=900, top=280)
    both = Trace(((draw_lines(np.vstack([outline(2), outline(2)[:1]])), True),
                  (draw_lines(np.vstack([outline(-2), outline(-2)[:1]])[::-1]), True),
                  (draw_lines(np.vstack([box, box[:1]])), True)), "marker")
    pattern = read([both], line_edge=line_edge)
    assert len(pattern.edges["upper"].runs) == runs
    x = np.linspace(LEFT + 20, RIGHT - 20, 50)
    middle = np.mean([np.interp(x, r[::-1, 0], r[::-1, 1]) for r in pattern.edges["upper"].runs], axis=0)
    assert middle == pytest.approx(upper(x) - grow, abs=0.1)
    fore = np.mean([r[20:-20, 0].mean() for r in pattern.edges["fore"].runs])
    assert fore == pytest.approx(RIGHT + grow, abs=0.1)
    assert pattern.findings == ()


def test_the_two_borders_may_be_two_objects():
    pattern = read([draw_trace(outline(-2), closed=True), draw_trace(outline(2), closed=True)])
    assert len(pattern.edges["lower"].runs) == 2


def test_a_single_border_is_used_and_said_so():
    pattern = read([draw_trace(outline(), closed=True)], line_edge="inner")
    assert "Only one edge of the line" in pattern.findings[0].text
    assert read([draw_trace(outline(), closed=True)], line_edge="outer").findings == ()


def test_ticks_fused_into_the_outline_are_taken_out_and_offered():
    """Ticks 1 mm wide, 8 mm out from the upper edge and 8 mm in from the lower, at three frames."""
    shape = [tuple(p) for p in outline()]
    spiked = []
    for k, (x, y) in enumerate(shape):
        spiked.append((x, y))
        following = shape[(k + 1) % len(shape)]
        for frame in (400, 800, 1500):
            if min(x, following[0]) <= frame < max(x, following[0]) and abs(following[0] - x) < 3:
                way = np.sign(following[0] - x)
                spiked += [(frame - way * 0.5, y), (frame - way * 0.5, y - 8), (frame + way * 0.5, y - 8),
                           (frame + way * 0.5, y)]
    pattern = read([draw_trace(np.array(spiked), closed=True)])
    assert sorted((t.edge, round(t.foot[0], -1))
                  for t in pattern.ticks) == [(e, x) for e in ("lower", "upper") for x in (400, 800, 1500)]
    for tick in pattern.ticks:
        assert tick.tip[1] - tick.foot[1] == pytest.approx(-8, abs=1.5)
    check_edges(pattern, 1.6)


# -- lines -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("order", [(0, 1, 2, 3), (3, 1, 0, 2), (2, 3, 1, 0)])
@pytest.mark.parametrize("backwards", [(), (0,), (1, 2), (0, 1, 2, 3)])
def test_four_lines_in_any_order_and_direction(order, backwards):
    drawn = [EDGE_LINES[k][::-1] if k in backwards else EDGE_LINES[k] for k in order]
    pattern = read(lines(*drawn))
    assert pattern.kind == "lines"
    check_edges(pattern, 0.05, cut=2)
    check_directions(pattern)


def test_lines_in_pieces_with_gaps_are_chained():
    parts = [graph(upper, LEFT, 700), graph(upper, 712, 1300)[::-1], graph(upper, 1305, RIGHT),
             graph(lower, RIGHT, 1000), graph(lower, LEFT, 990)]
    pattern = read(lines(*parts, end_line(LEFT), end_line(RIGHT)))
    check_edges(pattern, 0.05, cut=2)
    assert pattern.edges["upper"].runs[0][[0, -1], 0] == pytest.approx((RIGHT, LEFT), abs=1)


def test_a_piece_missing_at_a_gap_wider_than_a_tick_is_refused():
    parts = [graph(upper, LEFT, 900), graph(upper, 1000, RIGHT), graph(lower)]
    with pytest.raises(SelectionError):
        read(lines(*parts, end_line(LEFT), end_line(RIGHT)))


def test_two_angles_are_cut_at_their_corners():
    """Upper edge and fore end drawn in one go, lower edge and aft end in another."""
    one = np.vstack([graph(upper), end_line(RIGHT)[1:]])
    two = np.vstack([graph(lower)[::-1], end_line(LEFT)[:1]])
    check_edges(read(lines(one, two)), 0.05, cut=6)


def test_a_tracers_broken_centreline_is_put_together():
    """Pieces of 300 mm broken at every tick, with tick stubs and a number's box between."""
    drawn = []
    for function in (upper, lower):
        for first in np.arange(LEFT, RIGHT, 300):
            drawn.append(graph(function, first + 1, first + 299, step=1))
            drawn.append(np.array([(first, function(first) - 8), (first, function(first) - 1)]))
    drawn += [end_line(LEFT), end_line(RIGHT), draw_rectangle(18, 14, left=800, top=320)[[0, 1, 2, 3, 0]][:4]]
    check_edges(read(lines(*drawn)), 0.1, cut=10)


# -- marks ---------------------------------------------------------------------------------------------------------

def test_marks_and_end_lines():
    pattern = read(all_dots() + lines(end_line(LEFT, 4), end_line(RIGHT, 4)), error_mm=0.7)
    assert pattern.kind == "marks"
    check_directions(pattern)
    for name, function in (("upper", upper), ("lower", lower)):
        marks = pattern.edges[name].marks
        assert len(marks) == 9 and {m.error_mm for m in marks} == {0.7}
        assert [m.station for m in marks] == [""] * 9           # a frame nobody named gets no name
        for mark in marks:
            assert mark.point[1] == pytest.approx(float(function(np.array(mark.point[0]))), abs=1e-6)


def test_a_marks_own_words_are_kept():
    x = 600.0
    own = draw_trace(draw_rectangle(3, 3, left=x - 1.5, top=upper(x) - 1.5), closed=True, edge="upper", station="F12",
                     error_mm=0.1)
    pattern = read(all_dots() + [own] + lines(end_line(LEFT), end_line(RIGHT)))
    mark, = [m for m in pattern.edges["upper"].marks if m.station == "F12"]
    assert mark.error_mm == 0.1


def test_crosses_and_circles_are_read_at_their_middle():
    cross = Trace(((draw_lines([(598, 290), (602, 290)]), False), (draw_lines([(600, 288), (600, 292)]), False)),
                  "cross", edge="upper")
    pattern = read(all_dots() + [cross] + lines(end_line(LEFT), end_line(RIGHT)))
    assert any(m.point == pytest.approx((600, 290)) for m in pattern.edges["upper"].marks)
