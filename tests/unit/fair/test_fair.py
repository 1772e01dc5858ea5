"""Patterns to fair planks: refusals, straight and curved ends, corners, doubtful marks, the comb."""
import dataclasses
import re

import numpy as np
import pytest
from shapes import draw_graph, make_bowed_plank, make_line, make_plank, make_straight_plank, measure_gap

from plankcore.errors import PatternError, SettingError
from plankcore.fair.fair import FairSettings, fair_plank, measure_comb
from plankcore.model.plank import EDGE_NAMES, EdgeSource, Finding, Mark, Pattern

LENGTH = 2400.0


def upper(x):
    return -80 * np.cos(x / 2000 - 0.5)


def lower(x):
    return upper(x) + 110 - (x - 1200) ** 2 / 60000


def run(function, first=LENGTH, last=0.0, noise=0.0, seed=0):
    x = np.linspace(first, last, int(abs(last - first)) + 1)
    wander = sum(np.sin(2 * np.pi * x / wave + seed + wave) for wave in (60, 95, 140, 210)) / np.sqrt(2)
    return np.column_stack([x, function(x) + noise * wander])


def end(x, bow=0.0, rake=0.0, beyond=0.0):
    """A line from the upper to the lower edge, bowed forward by `bow`, its foot forward by `rake`."""
    t = np.linspace(-beyond / 100, 1 + beyond / 100, 121)
    y = upper(x) + (lower(x) - upper(x)) * t
    return np.column_stack([x + rake * t + bow * 4 * t * (1 - t), y])


def make_pattern(*, noise=0.0, fore=None, aft=None, **edges):
    sources = {"upper": EdgeSource((run(upper, noise=noise),)), "lower": EdgeSource((run(lower, noise=noise, seed=1),)),
               "fore": EdgeSource((end(LENGTH) if fore is None else fore,)),
               "aft": EdgeSource((end(0.0) if aft is None else aft,))}
    sources.update(edges)
    return Pattern(sources, (), "right", "lines")


def make_marks(function, name, *, count=14, error=0.0, wrong=None, seed=0):
    x = np.linspace(LENGTH - 3, 3, count)
    y = function(x) + np.random.default_rng(seed).normal(0, 1, count) * error
    if wrong:
        y[wrong[0]] += wrong[1]
    return EdgeSource(marks=tuple(Mark((float(a), float(b)), name, "F%d" % k) for k, (a, b) in enumerate(zip(x, y), 1)))


def make_marked(*, error=0.3, wrong=None, seed=0):
    return make_pattern(upper=make_marks(upper, "upper", error=error, wrong=wrong, seed=seed),
                        lower=make_marks(lower, "lower", error=error, seed=seed + 100))


def fair(pattern, **settings):
    return fair_plank(pattern, settings=FairSettings(**settings))


# -- refusals ---------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("field, value", [("honest_error_mm", 0), ("honest_error_mm", -1), ("honest_error_mm", 21),
                                          ("honest_error_mm", float("nan")),
                                          ("shortest_wave_mm", 0), ("shortest_wave_mm", 19),
                                          ("shortest_wave_mm", 1e6), ("doubtful", "drop"), ("doubtful", "")])
def test_settings_out_of_range_are_refused(field, value):
    with pytest.raises(SettingError) as caught:
        FairSettings(**{field: value})
    assert caught.value.where and caught.value.remedy


def test_an_edge_that_doubles_back_is_refused_with_the_place():
    there, back, on = run(upper, LENGTH, 1000), run(upper, 1000, 1100) + (0, 4), run(upper, 1100, 0) + (0, 8)
    with pytest.raises(PatternError, match="upper edge doubles back") as caught:
        fair(make_pattern(upper=EdgeSource((np.vstack([there, back, on]),))))
    assert 990 < caught.value.where[0] < 1110


def test_an_end_that_does_not_reach_the_edge_is_refused():
    short = end(LENGTH)[:30] - (0, 0)
    with pytest.raises(PatternError, match="do not meet") as caught:
        fair(make_pattern(fore=short + (0, 10), lower=EdgeSource((run(lambda x: lower(x) + 120),))))
    assert caught.value.remedy


def test_edges_that_cross_are_refused():
    crossed = EdgeSource((run(lambda x: upper(x) + 110 * (x / LENGTH - 0.4) / 0.6),))
    with pytest.raises(PatternError):
        fair(make_pattern(lower=crossed, aft=end(0.0)))


# -- ends ----------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("rake", [0.0, 20.0, -35.0])
def test_a_straight_end_stays_straight(rake):
    wander = np.column_stack([0.15 * np.sin(np.linspace(0, 40, 121)), np.zeros(121)])
    plank = fair(make_pattern(fore=end(LENGTH, rake=rake) + wander))
    fore = plank.edges["fore"]
    assert fore.straight and len(fore.curve.cubics) == 1
    points = fore.curve.evaluate(np.linspace(0, 1, 9))
    assert measure_gap(points, points[[0, -1]]) < 1e-9
    truth = np.array([(LENGTH, upper(LENGTH)), (LENGTH + rake, lower(LENGTH))])
    way = (truth[1] - truth[0]) / np.hypot(*(truth[1] - truth[0]))
    assert measure_gap(points, np.array([truth[0] - 90 * way, truth[1] + 90 * way])) < 0.15


@pytest.mark.parametrize("bow", [2.0, 6.0, -6.0])
def test_a_curved_end_stays_curved(bow):
    fore = fair(make_pattern(fore=end(LENGTH, bow=bow))).edges["fore"]
    assert not fore.straight
    middle = fore.curve.evaluate([len(fore.curve.cubics) / 2])[0]
    assert measure_gap([middle], end(LENGTH, bow=bow)) < 0.1
    chord = (fore.curve.start + fore.curve.end) / 2
    assert middle[0] - chord[0] == pytest.approx(bow, rel=0.08)


def test_how_much_bow_is_an_error_is_the_users_to_say():
    assert fair(make_pattern(fore=end(LENGTH, bow=1.0)), honest_error_mm=2.0).edges["fore"].straight
    assert not fair(make_pattern(fore=end(LENGTH, bow=1.0)), honest_error_mm=0.3).edges["fore"].straight


# -- corners -----------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("rounding", [0, 5])
@pytest.mark.parametrize("rake", [0.0, 25.0])
def test_corners_are_recut_where_the_fair_edges_cross(rounding, rake):
    """The record of every edge bends into its neighbour for the last 5 mm, as a rounded trace does."""
    def bend(points, towards):
        points = points.copy()
        for k, way in ((0, towards), (-1, towards)):
            near = np.hypot(*(points - points[k]).T) < rounding
            points[near] += np.array(way) * ((rounding - np.hypot(*(points[near] - points[k]).T)) ** 2
                                             / (2 * max(rounding, 1)))[:, None]
        return points
    plank = fair(make_pattern(upper=EdgeSource((bend(run(upper), (0, 1)),)),
                              lower=EdgeSource((bend(run(lower, LENGTH + rake), (0, -1)),)),
                              fore=end(LENGTH, rake=rake)))
    corners = plank.find_corners()
    assert corners["upper fore"] == pytest.approx((LENGTH, upper(LENGTH)), abs=0.1)
    assert corners["upper aft"] == pytest.approx((0, upper(0.0)), abs=0.1)
    assert corners["lower aft"] == pytest.approx((0, lower(0.0)), abs=0.1)
    # the raked end meets the lower edge a little further down than at the foot of its own record
    assert corners["lower fore"] == pytest.approx((LENGTH + rake, lower(LENGTH + rake)), abs=0.4)


def test_edges_that_stop_short_of_the_corner_are_run_on():
    plank = fair(make_pattern(upper=EdgeSource((run(upper, LENGTH - 30, 25),))))
    assert plank.find_corners()["upper fore"] == pytest.approx((LENGTH, upper(LENGTH)), abs=0.2)


def test_edges_that_run_past_the_corner_are_cut():
    plank = fair(make_pattern(upper=EdgeSource((run(upper, LENGTH + 9, -9),)), fore=end(LENGTH, beyond=8),
                              aft=end(0.0, beyond=8)))
    assert plank.find_corners()["upper fore"] == pytest.approx((LENGTH, upper(LENGTH)), abs=0.05)


def test_the_four_edges_meet_exactly_and_close():
    loop = fair(make_pattern(noise=0.2)).outline()
    for k, curve in enumerate(loop):
        assert curve.end == pytest.approx(loop[(k + 1) % 4].start, abs=1e-9)


# -- traces ------------------------------------------------------------------------------------------------------------

def test_a_clean_trace_comes_back_as_it_is():
    plank = fair(make_pattern())
    for name, function in (("upper", upper), ("lower", lower)):
        curve = plank.edges[name].curve
        points = curve.evaluate(np.linspace(0, len(curve.cubics), 300))
        assert np.abs(points[:, 1] - function(points[:, 0])).max() < 0.05


def test_a_wandering_trace_is_faired_and_its_wander_reported():
    plank = fair(make_pattern(noise=0.3))
    for name, function in (("upper", upper), ("lower", lower)):
        edge = plank.edges[name]
        points = edge.curve.evaluate(np.linspace(0, len(edge.curve.cubics), 300))
        off = points[:, 1] - function(points[:, 0])
        assert np.sqrt(np.mean(off ** 2)) < 0.06
        # four waves of 0.3/sqrt 2 each: rms 0.3
        assert edge.rms_mm == pytest.approx(0.3, abs=0.05)
        assert 0.5 < edge.worst_mm < 1.0
        assert 4 < edge.degrees_of_freedom < 16
        # at the corners, where it is largest
        assert 0.2 * np.sqrt(np.mean(off ** 2)) < edge.band_mm < 0.35


def test_the_worst_place_is_where_the_trace_lies_furthest_off():
    line = run(upper)
    x = line[:, 0]
    line[:, 1] += 0.8 * np.exp(-((x - 900) / 15) ** 2)
    edge = fair(make_pattern(upper=EdgeSource((line,)))).edges["upper"]
    assert edge.worst_point[0] == pytest.approx(900, abs=10) and edge.worst_mm == pytest.approx(0.8, abs=0.1)


def test_a_stretch_of_trace_that_does_not_count_is_told_with_its_length_and_place():
    """A slip of the pen, 6 mm high; it lies 1.32 mm or more off along 2 * 20 * sqrt(ln(6 / 1.32)), 49 mm."""
    line = run(upper)
    x = line[:, 0]
    line[:, 1] += 6.0 * np.exp(-((x - 900) / 20) ** 2)
    plank = fair(make_pattern(upper=EdgeSource((line,))))
    told = next(f for f in plank.findings if f.key == "trace-left-out")
    assert told.where[0] == pytest.approx(900, abs=3) and told.number == pytest.approx(6.0, abs=0.2)
    assert float(re.search(r"Upper edge: (\d+) mm of the trace", told.text).group(1)) == pytest.approx(49, abs=3)
    assert plank.edges["upper"].worst_mm < 1.35
    assert not [f for f in fair(make_pattern()).findings if f.key == "trace-left-out"]


def test_a_blot_of_ink_does_not_drag_the_edge():
    line = run(upper)
    line[1200:1215, 1] += 6
    edge = fair(make_pattern(upper=EdgeSource((line,)))).edges["upper"]
    points = edge.curve.evaluate(np.linspace(0, len(edge.curve.cubics), 300))
    assert np.abs(points[:, 1] - upper(points[:, 0])).max() < 0.06


def test_both_borders_of_a_line_give_its_middle():
    both = EdgeSource((run(lambda x: upper(x) - 2), run(lambda x: upper(x) + 2)))
    points = fair(make_pattern(upper=both)).edges["upper"].curve.evaluate(np.linspace(0.1, 2, 40))
    assert points[:, 1] == pytest.approx(upper(points[:, 0]), abs=0.05)


def test_written_edges_are_few_smooth_cubics():
    """Direction runs on at every joint to a hundredth of a degree; fewer than one piece in 60 mm."""
    curve = fair(make_pattern(noise=0.2)).edges["upper"].curve
    assert len(curve.cubics) < LENGTH / 60
    for joint in range(1, len(curve.cubics)):
        before, after = curve.find_direction(joint - 1e-9), curve.find_direction(float(joint))
        assert abs(before[0] * after[1] - before[1] * after[0]) < np.radians(0.01)


# -- marks -------------------------------------------------------------------------------------------------------------

def test_clean_marks_give_the_edge_back():
    plank = fair(make_marked(error=0.0))
    for name, function in (("upper", upper), ("lower", lower)):
        points = plank.edges[name].curve.evaluate(np.linspace(0.1, len(plank.edges[name].curve.cubics) - 0.1, 100))
        assert points[:, 1] == pytest.approx(function(points[:, 0]), abs=0.1)
    assert {m.verdict for m in plank.marks} == {"used"} and plank.findings == ()


@pytest.mark.parametrize("doubtful, verdict, word",
                         [("keep", "doubtful", "kept"), ("leave out", "left-out", "left out")])
@pytest.mark.parametrize("index", [0, 5, 13])
def test_a_mark_4_mm_wrong_is_named_and_treated_as_the_user_says(doubtful, verdict, word, index):
    plank = fair(make_marked(wrong=(index, 4.0)), doubtful=doubtful, honest_error_mm=0.3)
    off = [m for m in plank.marks if m.verdict != "used"]
    assert [(m.edge, m.station, m.verdict) for m in off] == [("upper", "F%d" % (index + 1), verdict)]
    finding, = plank.findings
    assert finding.where == off[0].point
    assert "F%d" % (index + 1) in finding.text and word in finding.text and finding.text.startswith("Upper")
    if 0 < index < 13:
        assert float(finding.text.split(":")[1].split()[0]) == pytest.approx(4.0, abs=1.0)


def test_a_mark_left_out_no_longer_drags_the_edge():
    kept, left = (fair(make_marked(wrong=(6, 4.0)), doubtful=d, honest_error_mm=0.3) for d in ("keep", "leave out"))
    x = LENGTH - 3 - 6 * (LENGTH - 6) / 13

    def measure_off(plank):
        curve = plank.edges["upper"].curve
        place = curve.evaluate(np.linspace(0, len(curve.cubics), 3000))
        return abs(float(np.interp(x, place[::-1, 0], place[::-1, 1])) - upper(x))
    assert measure_off(left) < 0.4 < measure_off(kept)
    mark = next(m for m in left.marks if m.verdict == "left-out")
    assert abs(mark.residual_mm) == pytest.approx(4.0, abs=0.8)


def test_residuals_are_the_marks_distances_from_the_written_edge():
    plank = fair(make_marked(error=0.4), honest_error_mm=0.4)
    for mark in plank.marks:
        if not 20 < mark.point[0] < LENGTH - 20:
            continue
        assert plank.edges[mark.edge].curve.find_nearest(mark.point)[1] == pytest.approx(abs(mark.residual_mm),
                                                                                         abs=0.03)
    upper_edge = plank.edges["upper"]
    rms = np.sqrt(np.mean([m.residual_mm ** 2 for m in plank.marks if m.edge == "upper"]))
    assert upper_edge.rms_mm == pytest.approx(rms, rel=1e-9)
    assert upper_edge.worst_mm == pytest.approx(max(abs(m.residual_mm) for m in plank.marks if m.edge == "upper"),
                                                rel=1e-9)


@pytest.mark.long
def test_the_scatter_of_marks_is_told_from_twice_its_honest_share_on():
    """Marks by turns above and below the edges by so many honest errors. Chi-square for each degree of freedom, by the
    residuals and freedom that the plank itself gives: sum (r / e)^2 / (n - freedom) (P. Bevington, Data Reduction and
    Error Analysis, ch. 11; from memory, not checked). Two: common practice, no source."""
    told = {}
    for times in np.arange(0.8, 1.65, 0.05):
        x = np.linspace(LENGTH - 3, 3, 16)
        off = 0.3 * times * (-1.0) ** np.arange(16)
        sources = {name: EdgeSource(marks=tuple(Mark((float(a), float(function(a) + b)), name, "F%d" % k)
                                                for k, (a, b) in enumerate(zip(x, sign * off), 1)))
                   for name, function, sign in (("upper", upper, 1), ("lower", lower, -1))}
        plank = fair(make_pattern(**sources), honest_error_mm=0.3)
        assert all(m.verdict == "used" for m in plank.marks)
        square = sum((m.residual_mm / m.error_mm) ** 2 for m in plank.marks)
        free = len(plank.marks) - sum(plank.edges[n].degrees_of_freedom for n in ("upper", "lower"))
        words = [f.text for f in plank.findings if "scatter about" in f.text]
        told[square / free] = words
        assert not words or "about %.1f times" % np.sqrt(square / free) in words[0]
    assert all(bool(words) == (share > 2.0) for share, words in told.items())
    assert 1.7 < max(s for s in told if s <= 2.0) and min(s for s in told if s > 2.0) < 2.3


def test_marks_that_scatter_more_than_they_honestly_may_are_told_of():
    texts = " ".join(f.text for f in fair(make_marked(error=3.0), honest_error_mm=0.5).findings)
    assert "scatter" in texts or "off what the other marks say" in texts


def test_what_the_selection_was_taken_for_is_carried_on():
    pattern = dataclasses.replace(make_pattern(), findings=(Finding("one border only"),))
    assert [f.text for f in fair_plank(pattern, settings=FairSettings(),
                                       said="path1 was read").findings] == ["path1 was read", "one border only"]


# -- comb --------------------------------------------------------------------------------------------------------------

def test_an_inflection_is_found_where_the_edge_changes_its_bend():
    """A cubic parabola bends one way up to its middle, x = 600, and the other way after it."""
    shape = draw_graph(lambda x: 2e-7 * (x - 600) ** 3, lambda x: 6e-7 * (x - 600) ** 2, 1200.0, 0.0)
    flat = make_line(shape.start + (0, 100), shape.end + (0, 100))
    combs = measure_comb(make_plank(shape, flat, make_line(shape.start, flat.start), make_line(shape.end, flat.end)))
    (place,), straight = combs[0].inflections, combs[1].inflections
    assert place[0] == pytest.approx(600, abs=25) and straight == ()


def test_a_plain_bow_has_no_inflection_and_its_least_radius_is_told():
    """A parabola of sny s over length l bends most at its crown, to the radius l^2 / (8 s)."""
    for comb in measure_comb(make_bowed_plank(length=1200)):
        assert comb.inflections == ()
        assert comb.least_radius_mm == pytest.approx(1200 ** 2 / (8 * 60), rel=1e-3)
        assert np.hypot(*(comb.tips - comb.feet).T).max() == pytest.approx(60, rel=1e-3)


def test_teeth_stand_on_the_edge_square_to_it_on_the_outer_side_of_the_bend():
    plank = make_bowed_plank()
    comb = measure_comb(plank)[0]
    assert measure_gap(comb.feet, plank.edges["upper"].curve.flatten()) < 0.01
    middle = len(comb.feet) // 2
    tooth = comb.tips[middle] - comb.feet[middle]
    assert abs(tooth[0]) < 0.05 * abs(tooth[1])


def test_a_straight_plank_has_a_comb_without_teeth():
    """What is left of curvature in straight edges is rounding, which means nothing and must not be blown up to full
    height.
    """
    for comb in measure_comb(make_straight_plank()):
        assert comb.inflections == ()
        assert np.hypot(*(comb.tips - comb.feet).T).max() < 1


def test_names_of_edges():
    assert set(fair(make_pattern()).edges) == set(EDGE_NAMES)
