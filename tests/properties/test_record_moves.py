"""What must not change in a record when the plank is moved, and what must when its figures are finer."""
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_planks import invent_plank
from shapes import draw_graph, make_plank

from plankcore.geometry.curve import make_line
from plankcore.geometry.polyline import measure_distance_mm
from plankcore.record.build import RecordSettings, build_record
from plankcore.record.offsets import RULES, lay_out_offsets
from plankcore.stations.strike import StationSettings, strike_stations

FIGURES = [("mm", 16), ("inches", 8), ("inches", 16), ("inches", 32)]


def make_invented(seed, rake, matrix=np.eye(2, 3)):
    length, upper, lower = invent_plank(seed)
    a, b = (draw_graph(f, lambda x, f=f: (f(x + 0.01) - f(x - 0.01)) / 0.02, length + shift, 0.0, tolerance_mm=1e-3)
            for f, shift in ((upper, 0.0), (lower, rake)))
    return make_plank(*(c.transform(matrix) for c in (a, b, make_line(a.start, b.start), make_line(a.end, b.end))))


def strike(plank, first, spacing, square_to):
    return strike_stations(plank, settings=StationSettings(first_mm=first, spacing_mm=spacing, square_to=square_to))[0]


PLANKS = st.builds(make_invented, st.integers(0, 59), st.floats(-40, 40))
FRAMES = st.tuples(st.floats(20, 200), st.floats(150, 500), st.sampled_from(["baseline", "run"]))


@given(PLANKS, FRAMES, st.sampled_from(FIGURES))
def test_a_batten_through_the_figures_keeps_within_what_is_promised(plank, frames, how):
    figures, denominator = how
    table = lay_out_offsets(plank, strike(plank, *frames), figures=figures, denominator=denominator)
    assert table.reached_mm <= table.limit_mm == RULES["mm" if figures == "mm" else denominator].limit_mm
    along = [r.along.value_mm for r in table.rows]
    assert along == sorted(along) and len({r.label for r in table.rows}) == len(table.rows)
    assert sum(r.kind == "between" for r in table.rows) < 20


@given(st.integers(0, 59), st.floats(-40, 40), st.floats(-180, 180), st.floats(-3000, 3000))
def test_a_record_does_not_know_where_the_plank_lies_on_the_page(seed, rake, degrees, shift):
    """To the last printed word, but for a figure that falls between two roundings."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    here, there = make_invented(seed, rake), make_invented(seed, rake, np.array([[c, -s, shift], [s, c, -shift]]))
    one, other = (build_record(p, stations=strike(p, 100, 300, "baseline"), settings=RecordSettings("mm"))
                  for p in (here, there))
    assert [r.label for r in one.tables[0].rows] == [r.label for r in other.tables[0].rows]
    for a, b in zip(one.tables[0].rows, other.tables[0].rows):
        for p, q in ((a.along, b.along), (a.upper, b.upper), (a.lower, b.lower)):
            assert (p is None) == (q is None) and (p is None or abs(p.value_mm - q.value_mm) < 0.11)
    assert [p.length_mm for p in one.proofs[:9]] == pytest.approx([p.length_mm for p in other.proofs[:9]], abs=1e-4)
    for a, b in zip(one.sketch.lines, other.sketch.lines):
        assert a.role == b.role and a.cubics == pytest.approx(b.cubics, abs=1e-4)


@given(PLANKS, FRAMES, st.sampled_from(FIGURES))
def test_every_figure_is_the_edge_to_half_a_rounding(plank, frames, how):
    """The edge run on by its tangents: a corner's rounded distance may lie a hair beyond it. Page y is down and these
    planks lie with the bow to the right: up is along `across`. 0.01 mm is for the polyline."""
    figures, denominator = how
    table = lay_out_offsets(plank, strike(plank, *frames), figures=figures, denominator=denominator)
    start, along, across = plank.find_axes()
    for name in ("upper", "lower"):
        feet = np.array([start + r.along.value_mm * along + getattr(r, name).value_mm * across for r in table.rows
                         if getattr(r, name) is not None])
        off = measure_distance_mm(feet, plank.edges[name].curve.extend(2.0).flatten(tolerance_mm=0.005))
        assert off.max() <= (0.05 if figures == "mm" else 25.4 / denominator / 2) + 0.01
