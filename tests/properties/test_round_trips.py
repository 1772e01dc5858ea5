"""What goes out and comes back is what it was."""
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_planks import invent_plank
from shapes import draw_graph, make_plank, measure_gap

from plankcore.allowance.saw_line import add_allowances
from plankcore.document.path_text import write_cubics
from plankcore.document.pathdata import read_path
from plankcore.geometry.curve import make_line
from plankcore.geometry.outline import flatten_outline, offset_outline
from plankcore.geometry.polyline import contains_points
from plankcore.units import MM_PER, format_feet_inches_eighths, format_inches, format_mm, parse_length_mm

NUMBERS = st.floats(-30000, 30000).map(lambda v: round(v, 7))
POINTS = st.tuples(NUMBERS, NUMBERS)


@st.composite
def invented(draw):
    """Invented planks as four Curves, ends raked."""
    length, upper, lower = invent_plank(draw(st.integers(0, 59)))
    rakes = [draw(st.floats(-40, 40)) for _ in range(2)]
    a = draw_graph(upper, lambda x: (upper(x + 0.01) - upper(x - 0.01)) / 0.02, length, 0.0, tolerance_mm=1e-3)
    b = draw_graph(lower, lambda x: (lower(x + 0.01) - lower(x - 0.01)) / 0.02, length + rakes[0], rakes[1],
                   tolerance_mm=1e-3)
    return make_plank(a, b, make_line(a.start, b.start), make_line(a.end, b.end))


@given(invented(), st.lists(st.floats(0, 60), min_size=4, max_size=4))
def test_an_offset_out_and_in_returns(plank, distances):
    """Within twice the 0.02 mm that a written curve may be off; and the moved outline holds the net one."""
    moved = offset_outline(plank.outline(), distances)
    back = offset_outline(moved, [-d for d in distances])
    for net, again in zip(plank.outline(), back):
        points = again.evaluate(np.linspace(0, len(again.cubics), 80))
        assert measure_gap(points, net.flatten(tolerance_mm=1e-4)) < 0.04
        assert again.start == pytest.approx(net.start, abs=0.05) and again.end == pytest.approx(net.end, abs=0.05)
    inner = flatten_outline(plank.outline())
    if min(distances) > 0.1:
        assert contains_points(flatten_outline(moved), inner[::max(len(inner) // 40, 1)]).all()


@given(invented(), st.floats(0.5, 20), st.floats(0.5, 20))
def test_two_allowances_one_after_the_other_are_their_sum(plank, first, second):
    both = add_allowances(plank, added_mm=dict.fromkeys(("upper", "lower", "fore", "aft"), first + second)).curves
    twice = offset_outline(offset_outline(plank.outline(), [first] * 4), [second] * 4)
    for a, b in zip(both, twice):
        assert measure_gap(a.evaluate(np.linspace(0, len(a.cubics), 60)), b.flatten(tolerance_mm=1e-4)) < 0.02


@given(st.lists(POINTS, min_size=4, max_size=40), st.booleans())
def test_written_curves_are_read_as_they_were(points, closed):
    points = np.array(points[: 1 + 3 * ((len(points) - 1) // 3)])
    cubics = np.stack([points[k:k + 4] for k in range(0, len(points) - 1, 3)])
    real = np.ptp(cubics, axis=1).max(axis=1) > 0
    if not real.any():
        return
    run, = read_path(write_cubics(cubics, closed=closed), where="x")
    assert run.closed == closed
    ends = np.vstack([cubics[:1, 0], cubics[real, 3]])
    found = np.vstack([run.cubics[:1, 0], run.cubics[: int(real.sum()), 3]])
    assert found == pytest.approx(ends, abs=1e-6)
    for ours, theirs in zip(cubics[real], run.cubics):
        t = np.linspace(0, 1, 9)[:, None]
        at = (1 - t) ** 3 * theirs[0] + 3 * (1 - t) ** 2 * t * theirs[1] + 3 * (
            1 - t) * t * t * theirs[2] + t ** 3 * theirs[3]
        dense = np.linspace(0, 1, 2001)[:, None]
        line = (1 - dense) ** 3 * ours[0] + 3 * (1 - dense) ** 2 * dense * ours[1] + 3 * (
            1 - dense) * dense ** 2 * ours[2] + dense ** 3 * ours[3]
        size = max(float(np.ptp(ours, axis=0).max()), 1.0)
        assert measure_gap(at, line) < 1e-6 * size + 1e-6


@given(st.floats(-50000, 50000), st.sampled_from(list(MM_PER)))
def test_lengths_written_with_their_unit_come_back_whatever_the_dialogs_unit(value, unit):
    value = round(value, 4)
    text = "%.4f mm" % value
    assert parse_length_mm(text, unit=unit, field="x") == pytest.approx(value, abs=1e-9)
    assert parse_length_mm(format_mm(value, places=4), unit=unit, field="x") == pytest.approx(value, abs=1e-4)


@given(st.floats(0, 60000))
def test_inches_come_back_to_half_a_sixteenth(value):
    for write in (format_inches, format_feet_inches_eighths):
        assert abs(parse_length_mm(write(value), unit="mm", field="x") - value) <= 25.4 / 32 + 1e-6
