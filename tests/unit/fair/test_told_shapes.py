"""Edges whose shape is told: straight, after a drawn line, or with a knuckle; and what later actions make of a knuckle.

All planks are invented; what they are held against is the formula that they were drawn by.
"""
import numpy as np
import pytest
from drawings import fair as fair_drawing
from drawings import open_drawing, reopen, write_path_data
from shapes import draw_graph

from plankcore.document import names
from plankcore.errors import PlankError, SettingError
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.curve import Curve
from plankcore.model.plank import EdgeSource, Mark, Pattern
from plankcore.model.typed import split_mark_word
from plankcore.scan.pattern import read_pattern

LENGTH, TURN, AT = 2400.0, 0.08, 1200.0
PAGE = 'width="2600mm" height="400mm" viewBox="0 0 2600 400"'


def upper(x):
    return 100 - 50 * np.sin(np.pi * x / 2600)


def knuckled(x):
    """The lower edge: it turns by atan(TURN) and more at AT."""
    return upper(x) + 125 - np.where(x > AT, TURN * (x - AT), 0.0)


def smooth(x):
    return upper(x) + 125 - x / 60


def make_ends():
    return {name: EdgeSource((np.column_stack([np.full(200, x), np.linspace(-60, 300, 200)]),))
            for name, x in (("fore", LENGTH), ("aft", 0.0))}


def make_marks(function, name, *, rng=None, count=11, told=(), error=0.3, wrong=()):
    x = np.linspace(LENGTH - 5, 5, count)
    x[np.argmin(np.abs(x - AT))] = AT
    y = function(x) + (rng.normal(0, error, count) if rng is not None else 0.0)
    for k, off in wrong:
        y[k] += off
    return EdgeSource(marks=tuple(Mark((float(a), float(b)), name, "%d" % (k + 1),
                                       told="knuckle" if a == AT and "knuckle" in told else "")
                                  for k, (a, b) in enumerate(zip(x, y))))


def make_pattern(lower, *, rng=None, **how):
    return Pattern({"upper": make_marks(upper, "upper", rng=rng), "lower": make_marks(lower, "lower", rng=rng, **how),
                    **make_ends()}, (), "right", "marks")


def fair(pattern, lines=None, **settings):
    return fair_plank(pattern, settings=FairSettings(**{"honest_error_mm": 0.3, **settings}), lines=lines)


def measure_off(edge, function):
    points = edge.curve.flatten(tolerance_mm=1e-3)
    return points[:, 1] - function(points[:, 0])


# -- knuckles -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("text, rest, word", [("7 knuckle", "7", "knuckle"), ("Knuckle", "", "knuckle"),
                                              ("12 1/2 NAIL", "12 1/2", "nail"), ("F12", "F12", ""),
                                              ("knuckle 7", "knuckle 7", ""), ("", "", "")])
def test_the_last_word_of_a_label_says_what_an_edge_does_there(text, rest, word):
    assert split_mark_word(text) == (rest, word)


@pytest.mark.parametrize("count", [5, 7, 11, 13])
def test_an_exact_knuckle_is_kept_and_without_the_word_it_is_smoothed_over(count):
    plain, told = (fair(make_pattern(knuckled, count=count, told=t)) for t in ((), ("knuckle",)))
    assert not plain.edges["lower"].curve.find_knuckles()
    (u, turn), = told.edges["lower"].curve.find_knuckles()
    true = np.degrees(np.arctan(TURN))               # the upper edge is level at AT, less 0.1 degree
    assert abs(turn) == pytest.approx(true, abs=0.5 if count > 5 else 1.0)
    assert np.abs(told.edges["lower"].curve.evaluate([u])[0] - (AT, knuckled(AT))).max() < 0.2
    if count > 5:
        assert np.abs(measure_off(told.edges["lower"], knuckled)).max() < 0.3 < np.abs(
            measure_off(plain.edges["lower"], knuckled)).max()


@pytest.mark.long
def test_marks_with_errors_give_a_knuckled_edge_within_its_band():
    """The printed band is the largest along the edge: its rms error over 60 planks must not pass it."""
    rng = np.random.default_rng(20261129)
    rms, band, plain = [], [], []
    for _ in range(60):
        pattern = make_pattern(knuckled, rng=rng, told=("knuckle",))
        edge = fair(pattern).edges["lower"]
        rms.append(np.sqrt(np.mean(measure_off(edge, knuckled) ** 2)))
        band.append(edge.band_mm)
        bare = Pattern({**pattern.edges, "lower": EdgeSource(marks=tuple(
            Mark(m.point, m.edge, m.station) for m in pattern.edges["lower"].marks))}, (), "right", "marks")
        plain.append(np.sqrt(np.mean(measure_off(fair(bare).edges["lower"], knuckled) ** 2)))
    assert np.sqrt(np.mean(np.square(rms))) < 0.3 and np.mean(np.array(rms) < band) > 0.85
    assert np.sqrt(np.mean(np.square(rms))) < np.sqrt(np.mean(np.square(plain)))


def test_sound_marks_beside_a_knuckle_are_not_doubted_and_a_wrong_one_is_named():
    rng = np.random.default_rng(5)
    plank = fair(make_pattern(knuckled, rng=rng, told=("knuckle",)))
    assert {m.verdict for m in plank.marks} == {"used"}
    finding, = (f for f in plank.findings if f.key == "knuckle")
    (_, turn), = plank.edges["lower"].curve.find_knuckles()
    assert finding.number == pytest.approx(abs(turn)) and "%.1f degrees at frame 6" % abs(turn) in finding.text
    wrong = fair(make_pattern(knuckled, rng=rng, told=("knuckle",), wrong=((8, 4.0),)))
    assert [m.station for m in wrong.marks if m.verdict == "doubtful"] == ["9"]


def test_a_knuckle_where_an_edge_begins_is_refused():
    marks = [Mark(m.point, m.edge, m.station, told="knuckle" if k == 1 else "")
             for k, m in enumerate(make_marks(knuckled, "lower").marks)]
    pattern = Pattern({"upper": make_marks(upper, "upper"), "lower": EdgeSource(marks=tuple(marks)), **make_ends()}, (),
                      "right", "marks")
    with pytest.raises(PlankError, match="knuckle of the lower edge at frame 2 has 1 marks on one side") as caught:
        fair(pattern)
    assert caught.value.where == marks[1].point


def make_traced(*, off=0.0, told=True):
    x = np.linspace(LENGTH, 0, 2401)
    wander = 0.1 * np.sin(x / 13)
    runs = {"upper": EdgeSource((np.column_stack([x, upper(x) + wander]),)),
            "lower": EdgeSource((np.column_stack([x, knuckled(x) + wander]),))}
    marks = (Mark((AT + off, float(knuckled(AT + off))), "lower", told="knuckle"),) if told else ()
    return Pattern({**runs, **make_ends()}, (), "right", "lines", told=marks)


@pytest.mark.parametrize("off", [0.0, 5.0, -6.0])
def test_a_traced_edge_is_faired_in_pieces_that_meet_at_its_knuckle(off):
    told, plain = fair(make_traced(off=off)), fair(make_traced(told=False))
    (u, turn), = told.edges["lower"].curve.find_knuckles()
    assert abs(turn) == pytest.approx(np.degrees(np.arctan(TURN)), abs=0.4)
    assert np.abs(told.edges["lower"].curve.evaluate([u])[0] - (AT, knuckled(AT))).max() < 3.0
    assert np.abs(measure_off(told.edges["lower"], knuckled)).max() < 0.2 < np.abs(
        measure_off(plain.edges["lower"], knuckled)).max()
    assert told.edges["lower"].rms_mm < 0.2


def test_a_traced_edge_that_does_not_reach_past_its_knuckle_is_refused():
    pattern = make_traced()
    far = Pattern(pattern.edges, (), "right", "lines", told=(Mark((30.0, 100.0), "lower", told="knuckle"),))
    with pytest.raises(PlankError, match="too short beside its knuckle"):
        fair(far)


# -- straight, or after a line ---------------------------------------------------------------------------------------

def straight(x):
    return 230.0 - x / 40


@pytest.mark.parametrize("text", ["lower straight", "keel: straight", "lower:", "lower: straight; lower: keel"])
def test_what_does_not_say_a_shape_is_refused(text):
    with pytest.raises(SettingError, match="does not say the shape") as caught:
        FairSettings(known=text)
    assert "lower: keel line" in caught.value.remedy


@pytest.mark.long
def test_an_edge_that_is_said_to_be_straight_is_a_line_nearer_to_the_truth():
    rng = np.random.default_rng(2)
    free, told = [], []
    for _ in range(20):
        pattern = make_pattern(straight, rng=rng)
        free.append(measure_off(fair(pattern).edges["lower"], straight))
        edge = fair(pattern, known="lower: straight").edges["lower"]
        assert edge.straight and len(edge.curve.cubics) == 1 and edge.told == "straight"
        told.append(edge.curve.evaluate([0.0, 0.5, 1.0]))
    told = np.concatenate([p[:, 1] - straight(p[:, 0]) for p in told])
    free = np.concatenate(free)
    # an edge that shares nothing with the other finds by itself that it is all but straight: less is left to gain
    assert np.sqrt(np.mean(told ** 2)) < 0.9 * np.sqrt(np.mean(free ** 2))
    # of a line through 11 marks of 0.3 mm the ends are known to about 0.3 * sqrt(1/11 + 3/11), from the books
    assert edge.band_mm == pytest.approx(0.3 * np.sqrt(1 / 11 + 3 * 10 / (11 * 12)), rel=0.15)


def test_a_wrong_mark_on_a_straight_edge_is_named_and_a_straight_that_is_none_says_so():
    plank = fair(make_pattern(straight, rng=np.random.default_rng(4), wrong=((4, 3.0),)), known="lower: straight",
                 doubtful="leave out")
    assert [m.station for m in plank.marks if m.verdict == "left-out"] == ["5"]
    assert np.abs(plank.edges["lower"].curve.evaluate([0.0, 1.0]) @ [1 / 40, 1] - 230).max() < 0.5
    bent = fair(make_pattern(smooth), known="lower: straight")
    finding = next(f for f in bent.findings if f.key == "told-shape")
    assert "more than the honest error" in finding.text and finding.number > 5 and finding.where


def draw_line(shift=0.0, lean=0.0, first=-20.0, last=LENGTH + 20):
    return draw_graph(lambda x: smooth(x) + shift + lean * (x - AT), lambda x: (
        -50 * np.pi / 2600 * np.cos(np.pi * x / 2600) - 1 / 60 + lean), first, last)


@pytest.mark.parametrize("shift, lean, first, last", [(0.0, 0.0, -20, LENGTH + 20), (2.0, 0.001, LENGTH + 20, -20),
                                                      (-8.0, -0.003, 30, LENGTH - 20)])
def test_an_edge_follows_a_line_laid_on_its_marks(shift, lean, first, last):
    plank = fair(make_pattern(smooth), {"keel": draw_line(shift, lean, first, last)}, known="lower: keel")
    edge = plank.edges["lower"]
    assert edge.told == "keel" and not edge.straight
    assert np.abs(measure_off(edge, smooth)).max() < 0.05
    assert edge.worst_mm < 0.05


def test_a_line_that_lies_elsewhere_or_is_too_short_is_refused_with_the_distance():
    with pytest.raises(PlankError, match="lies 1[34]0 mm off the lower edge"):
        fair(make_pattern(smooth), {"keel": draw_line(140.0)}, known="lower: keel")
    with pytest.raises(PlankError, match=r"stops 3\d\d mm short of the record of the lower edge"):
        fair(make_pattern(smooth), {"keel": draw_line(first=400.0)}, known="lower: keel")


# -- in the drawing, and what later actions make of a knuckle --------------------------------------------------------

def draw_all(lower=knuckled, word="knuckle", more=""):
    """Marks as small circles with labels, and both ends."""
    parts = []
    for name, function in (("upper", upper), ("lower", lower)):
        for k, x in enumerate(sorted({*np.linspace(5, LENGTH - 5, 10), AT}, reverse=True), 1):
            label = "%s %d%s" % (name, k, " " + word if x == AT and name == "lower" else "")
            parts.append('<circle id="%s%d" cx="%.6f" cy="%.6f" r="2" inkscape:label="%s"/>' % (
                name, k, x + 100, function(x), label))
    for name, x in (("fore", LENGTH), ("aft", 0.0)):
        parts.append('<path id="%s" d="M %g,20 L %g,260"/>' % (name, x + 100, x + 100))
    return '<g id="all">%s</g>%s' % ("".join(parts), more)


def open_knuckled(**settings):
    drawing = open_drawing(draw_all(), page=PAGE, selected=["all"])
    plank, group = fair_drawing(drawing, settings=FairSettings(honest_error_mm=0.3, **settings), strake="5")
    return drawing, plank, group


def test_a_knuckle_stays_in_the_drawing_when_it_is_opened_and_faired_again():
    drawing, plank, _ = open_knuckled()
    again = reopen(drawing)
    group = again.find_groups()[0]
    read = again.read_plank(group)
    assert [m.told for m in read.marks].count("knuckle") == 1
    mark = next(e for e in names.find_roles(group, "mark") if names.get(e, "told") == "knuckle")
    assert names.get(mark, "station") == "6" and names.get(mark, "edge") == "lower"
    (_, turn), = read.edges["lower"].curve.find_knuckles()
    assert turn == pytest.approx(plank.edges["lower"].curve.find_knuckles()[0][1], abs=1e-6)
    second, _ = fair_drawing(again, settings=FairSettings(honest_error_mm=0.3), strake="5")
    assert [m.told for m in second.marks].count("knuckle") == 1


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("added", [0.0, 3.0, 25.0])
def test_the_saw_line_keeps_its_distance_at_a_knuckle_and_turns_there(sign, added):
    """sign -1: the edge turns the other way, a hollow corner. The offset of two lines at a corner is mitred: the
    distance to the edge is the allowance everywhere but beyond an outward corner, where it is that over cos(half the
    turn).
    """
    from plankcore.allowance.saw_line import add_allowances

    def edge(x):
        return upper(x) + 125 - sign * np.where(x > AT, TURN * (x - AT), 0.0)
    plank = fair(make_pattern(edge, told=("knuckle",)))
    saw = add_allowances(plank, added_mm={"upper": added, "lower": added, "fore": 5.0, "aft": 5.0})
    lower = saw.curves[2]
    (_, turn), = lower.find_knuckles()
    assert abs(turn) == pytest.approx(abs(plank.edges["lower"].curve.find_knuckles()[0][1]), abs=0.05)
    line = plank.edges["lower"].curve.extend(60.0)
    at = lower.find_places(np.linspace(60, lower.measure_length_mm() - 60, 120))
    away = np.array([line.find_nearest(p)[1] for p in lower.evaluate(at)])
    most = added / np.cos(np.radians(abs(turn) / 2))
    assert away.min() > added - 0.03 and away.max() < most + 0.03


def test_room_for_swelling_and_the_varied_offset_keep_the_knuckle_too():
    from plankcore.geometry.outward import offset_curve_varied
    curve = fair(make_pattern(knuckled, told=("knuckle",))).edges["lower"].curve
    moved = offset_curve_varied(curve, lambda u: 4.0 + u / len(curve.cubics))
    (_, turn), = moved.find_knuckles()
    assert abs(turn) == pytest.approx(abs(curve.find_knuckles()[0][1]), abs=0.3)
    (u, _), = curve.find_knuckles()
    for place in (u - 0.3, u + 0.3):
        off = moved.find_nearest(curve.evaluate([place])[0])[1]
        assert off == pytest.approx(4.0 + place / len(curve.cubics), abs=0.02)


def test_a_label_far_from_every_drawn_edge_is_refused():
    def gently(x):
        return upper(x) + 125 - np.where(x > AT, 0.04 * (x - AT), 0.0)
    x = np.linspace(0, LENGTH, 500)
    lines = ['<path id="%s" d="%s"/>' % (n, write_path_data(np.column_stack([x + 100, f(x)]), closed=False))
             for n, f in (("upper", upper), ("lower", gently))]
    ends = ['<path id="e%g" d="M %g,%.6f L %g,%.6f"/>' % (x, x + 100, upper(x), x + 100, gently(x))
            for x in (0, LENGTH)]
    mark = '<circle id="m" cx="%g" cy="%.6f" r="2" inkscape:label="lower knuckle"/>'
    for off, good in ((0.0, True), (40.0, False)):
        drawing = open_drawing('<g id="all">%s</g>' % "".join([*lines, *ends, mark % (AT + 100, gently(AT) + off)]),
                               page=PAGE, selected=["all"])
        traces, _, _ = drawing.find_source()
        if good:
            plank = fair_plank(read_pattern(traces, forward="right"), settings=FairSettings())
            assert len(plank.edges["lower"].curve.find_knuckles()) == 1
        else:
            with pytest.raises(PlankError, match="lies 40 mm off it"):
                read_pattern(traces, forward="right")


def test_curves_without_a_turn_have_no_knuckle():
    assert draw_line().find_knuckles() == [] and Curve(draw_line().cubics[:1]).find_knuckles() == []
