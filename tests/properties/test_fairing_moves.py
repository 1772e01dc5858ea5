"""What must change nothing: where the plank lies, how it is turned, where its line begins and which way it runs, the
page's units.
"""
import dataclasses

import numpy as np
import pytest
from drawings import fair, open_drawing, write_path_data
from hypothesis import given
from hypothesis import strategies as st
from shapes import draw_outline, draw_trace, make_straight_plank, turn

from plankcore.document import transforms
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.polyline import measure_distance_mm
from plankcore.model.plank import EDGE_NAMES, EdgeSource, Mark, Pattern
from plankcore.scan.pattern import read_pattern

ANGLES = st.floats(-70, 70)
PLACES = st.tuples(st.floats(-3000, 3000), st.floats(-3000, 3000))


@st.composite
def planks(draw):
    """Outlines of invented planks, with some wobble: polygons (n, 2)."""
    length, width, sny = draw(st.floats(700, 1800)), draw(st.floats(60, 160)), draw(st.floats(-80, 80))
    taper, wobble, wave = draw(st.floats(-0.3, 0.3)), draw(st.floats(0, 0.3)), draw(st.floats(60, 250))

    def upper(x):
        return 200 + sny * np.sin(np.pi * x / length) + wobble * np.sin(2 * np.pi * x / wave)

    def lower(x):
        return 200 + sny * np.sin(np.pi * x / length) + width * (1 - taper * x / length) + wobble * np.cos(
            2 * np.pi * x / wave)
    return draw_outline(upper, lower, left=0.0, right=length, rake_fore=draw(st.floats(-0.3, 0.3)) * width, step=1.7)


def read_and_fair(points):
    return fair_plank(read_pattern([draw_trace(points, closed=True)], forward="right"), settings=FairSettings())


def measure_apart(found, wanted, move=lambda p: p):
    """Largest distance between the edges of two planks, the second one moved, mm."""
    apart = 0.0
    for name in EDGE_NAMES:
        a, b = found.edges[name].curve, wanted.edges[name].curve
        line = move(b.flatten(tolerance_mm=1e-6))
        apart = max(apart, measure_distance_mm(a.evaluate(np.linspace(0, len(a.cubics), 60)), line).max(),
                    float(np.hypot(*(a.start - line[0]))), float(np.hypot(*(a.end - line[-1]))))
    return apart


@pytest.mark.parametrize("name", EDGE_NAMES)
def test_the_measure_of_difference_can_fail(name):
    """One edge of the four a tenth of a mm away is seen."""
    plank = make_straight_plank()
    edges = {n: dataclasses.replace(e, curve=e.curve.transform([[1, 0, 0.0], [0, 1, 0.1]])) if n == name else e
             for n, e in plank.edges.items()}
    found = dataclasses.make_dataclass("Found", ["edges"])(edges)
    assert measure_apart(found, plank) == pytest.approx(0.1, abs=1e-6)


@given(planks(), ANGLES, PLACES, st.floats(0, 1), st.booleans())
def test_fairing_moves_with_the_plank_and_does_not_know_how_its_line_is_drawn(points, angle, place, share, backwards):
    """The plank moved and turned, mirrored, and its line begun elsewhere or run the other way: three against one."""
    plain = read_and_fair(points)
    check_moved(points, plain, angle, place)
    check_redrawn(points, plain, share, backwards)
    check_mirrored(points, plain)


def check_moved(points, plain, angle, place):
    moved = read_and_fair(turn(points, angle) + place)
    assert measure_apart(moved, plain, lambda p: turn(p, angle) + place) < 1e-3
    for name in EDGE_NAMES:
        assert moved.edges[name].rms_mm == pytest.approx(plain.edges[name].rms_mm, abs=1e-4)


def check_redrawn(points, plain, share, backwards):
    """The edges within a twentieth of a mm, half of what a trace is good for: the points it is read at shift along it
    by part of a mm. The corners, which few of those points tell, within a tenth.
    """
    other = np.roll(points, int(share * len(points)), axis=0)
    found = read_and_fair(other[::-1] if backwards else other)
    assert measure_apart(found, plain) < 0.1
    for name in ("upper", "lower"):
        middle = np.linspace(0.1, 0.9, 60) * len(found.edges[name].curve.cubics)
        line = plain.edges[name].curve.flatten(tolerance_mm=1e-6)
        assert measure_distance_mm(found.edges[name].curve.evaluate(middle), line).max() < 0.05


def check_mirrored(points, plain):
    """Forward right mirrored is forward left."""
    mirror = np.array([-1.0, 1.0])
    other = fair_plank(read_pattern([draw_trace((points * mirror)[::-1], closed=True)], forward="left"),
                       settings=FairSettings())
    assert measure_apart(other, plain, lambda p: p * mirror) < 0.05


@st.composite
def pages(draw):
    """Page attributes, user units to the mm, origin of the viewBox, and a group's transform: one uniform map in all its
    disguises.
    """
    per_mm = draw(st.sampled_from([1.0, 96 / 25.4, 1 / 25.4, 0.1, 3.3]))
    unit, size = draw(st.sampled_from([("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("pt", 25.4 / 72), ("px", 25.4 / 96),
                                       ("", 25.4 / 96)]))
    origin = draw(st.tuples(st.floats(-500, 500), st.floats(-500, 500)))
    page = 'width="%.12g%s" height="%.12g%s" viewBox="%.12g %.12g %.12g %.12g"' % (
        4000 / size, unit, 1000 / size, unit, *origin, 4000 * per_mm, 1000 * per_mm)
    a, b = np.radians(draw(ANGLES)), draw(st.floats(0.2, 5))
    matrix = np.array([[b * np.cos(a), -b * np.sin(a), draw(st.floats(-900, 900))],
                       [b * np.sin(a), b * np.cos(a), draw(st.floats(-900, 900))]])
    return page, per_mm, np.array(origin), matrix


@given(planks(), pages())
def test_units_viewbox_and_group_transforms_change_nothing(points, page):
    """The same mm on the page, whatever the page's own numbers: to a millionth."""
    attributes, per_mm, origin, matrix = page
    plain, _ = fair(open_drawing('<path id="p" d="%s"/>' % write_path_data(points, digits=10), selected=("p",)))
    inner = transforms.apply(transforms.invert(matrix), points * per_mm + origin)
    body = '<g transform="%s"><g transform="translate(5,-7)"><path id="p" d="%s"/></g></g>' % (
        transforms.format_matrix(matrix), write_path_data(inner - (5, -7), digits=10))
    other, _ = fair(open_drawing(body, page=attributes, selected=("p",)))
    for name in EDGE_NAMES:
        assert other.edges[name].curve.cubics == pytest.approx(plain.edges[name].curve.cubics, abs=1e-6)


# -- marks --------------------------------------------------------------------------------------------------------

@st.composite
def mark_sets(draw):
    """Marks (n, 2) of an upper and of a lower edge, fore to aft, with slips."""
    count, seed = draw(st.integers(7, 18)), draw(st.integers(0, 10 ** 6))
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0, 3000, count) * 0.1 + np.linspace(0, 2700, count))[::-1]
    sny = draw(st.floats(-150, 150))
    y = 300 + sny * np.sin(x / 1000)
    return np.column_stack([x, y + rng.normal(0, 0.4, count)]), np.column_stack(
        [x, y + 110 - x / 100 + rng.normal(0, 0.4, count)])


def fair_mark_sets(upper, lower, move=lambda p: p):
    top, low = move(upper), move(lower)
    marks = {n: EdgeSource(marks=tuple(Mark(tuple(map(float, p)), n) for p in pts))
             for n, pts in (("upper", top), ("lower", low))}
    t = np.linspace(-0.05, 1.05, 60)[:, None]
    ends = {n: EdgeSource(runs=(move(upper[k] + t * (lower[k] - upper[k])),)) for n, k in (("fore", 0), ("aft", -1))}
    return fair_plank(Pattern({**marks, **ends}, (), "right", "marks"), settings=FairSettings())


@given(mark_sets(), ANGLES, PLACES)
def test_marks_are_faired_the_same_wherever_they_lie(sets, angle, place):
    def move(p):
        return turn(p, angle) + place
    plain, moved = fair_mark_sets(*sets), fair_mark_sets(*sets, move)
    assert measure_apart(moved, plain, move) < 1e-3
    assert [m.residual_mm for m in moved.marks] == pytest.approx([m.residual_mm for m in plain.marks], abs=1e-6)
    assert [m.verdict for m in moved.marks] == [m.verdict for m in plain.marks]


@given(mark_sets(), st.integers(0, 10 ** 6))
def test_the_order_in_which_marks_were_drawn_does_not_matter(sets, seed):
    upper, lower = sets
    dots = [draw_trace(p + np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]), closed=True, label="dot")
            for p in np.vstack([upper, lower])]
    t = np.linspace(-0.05, 1.05, 3)[:, None]
    ends = [draw_trace(upper[k] + t * (lower[k] - upper[k]), label="end") for k in (0, -1)]
    every = dots + ends
    shuffled = [every[k] for k in np.random.default_rng(seed).permutation(len(every))]
    a, b = (fair_plank(read_pattern(t, forward="right"), settings=FairSettings()) for t in (every, shuffled))
    assert measure_apart(a, b) < 1e-6
