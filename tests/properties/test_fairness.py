"""What fairing promises of its curve."""
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapes import draw_outline, draw_trace, measure_gap, turn

from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.smoothing import fit_penalised_spline, space_knots, wave_to_penalty
from plankcore.geometry.wander import Wander, fit_through_wander
from plankcore.scan.pattern import read_pattern

WAVES = st.floats(80, 3000)


def draw_wander(seed, length=2000):
    """A run along an invented edge with a wander of many waves, evenly spaced by 1 mm."""
    rng = np.random.default_rng(seed)
    x = np.arange(0.0, length + 1)
    y = rng.uniform(-80, 80) * np.sin(x / rng.uniform(500, 1500) + rng.uniform(0, 6))
    for wave in rng.uniform(40, 900, 8):
        y += rng.normal(0, 0.15) * np.sin(2 * np.pi * x / wave + rng.uniform(0, 6))
    return np.column_stack([x, y])


@given(st.floats(600, 3000), st.floats(50, 200), st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(-70, 70), WAVES)
def test_straight_stays_straight(length, width, slope, taper, angle, wave):
    """All four edges, whatever the slope, turn and wave: within a thousandth of a mm of a line."""
    shape = draw_outline(lambda x: slope * x, lambda x: slope * x + width * (1 - taper * x / length), left=0,
                         right=length)
    plank = fair_plank(read_pattern([draw_trace(turn(shape, angle), closed=True)], forward="right"),
                       settings=FairSettings(shortest_wave_mm=wave))
    for edge in plank.edges.values():
        points = edge.curve.evaluate(np.linspace(0, len(edge.curve.cubics), 50))
        assert measure_gap(points, points[[0, -1]]) < 1e-3
        assert edge.rms_mm < 0.01


@given(st.integers(0, 10 ** 6), WAVES, st.floats(1.05, 6), st.sampled_from([2, 3, 4]))
def test_a_longer_wave_is_never_rougher_nor_closer(seed, wave, factor, order):
    """On the same knots the integral of the squared derivative that is penalised cannot grow with the penalty, nor the
    residuals fall.
    """
    x, y = draw_wander(seed).T
    degree = 2 * order - 1
    knots = space_knots(0, 2000, spacing=max(wave / 6, 25), degree=degree)
    fits = [fit_penalised_spline(x, y, penalty=wave_to_penalty(w, order=order), order=order, knots=knots,
                                 degree=degree) for w in (wave, wave * factor)]
    at = np.linspace(0, 2000, 4001)
    rough = [np.sum(f.spline.evaluate(at, derivative=order) ** 2) for f in fits]
    assert rough[1] <= rough[0] * (1 + 1e-6)
    assert np.sum(fits[1].residuals ** 2) >= np.sum(fits[0].residuals ** 2) * (1 - 1e-9)
    assert fits[1].degrees_of_freedom <= fits[0].degrees_of_freedom + 1e-6


@given(st.integers(0, 10 ** 6), WAVES, st.floats(1.1, 6))
def test_through_one_wander_a_longer_wave_is_never_rougher(seed, wave, factor):
    """On the same knots, by the same wander: what is averaged over for the longer wave is a part of what is for the
    shorter, the smoother part (to the steps of the ladder, 1.3).
    """
    x, y = draw_wander(seed)[::8].T
    knots = space_knots(-60, 2060, spacing=max(wave / 6, 25), degree=5)
    # a wander shorter than any wave here has one strength for all
    pen, rough = Wander(0.2, 2.0, "rough", white_mm=0.05, step_mm=8.0), []
    for w in (wave, wave * 1.3 ** np.ceil(np.log(factor) / np.log(1.3))):
        fit = fit_through_wander(x, y, np.ones(len(x)), pen, wave_mm=w, order=4, knots=knots, degree=5)
        rough.append(np.sum(fit.spline.evaluate(np.linspace(10, 1990, 4001), derivative=4) ** 2))
    assert rough[1] <= rough[0] * 1.05 + 1e-30


@given(st.integers(0, 10 ** 6), st.floats(300, 1500), st.floats(-2, 2), st.floats(-40, 40))
def test_fairing_is_linear_while_nothing_is_left_out(seed, wave, stretch, shift):
    """A cubic added to the edge is added to the fair edge; the wander scaled is scaled."""
    run = draw_wander(seed)
    x = run[:, 0]
    knots = space_knots(-60, 2060, spacing=max(wave / 6, 25), degree=5)
    rest = {"penalty": wave_to_penalty(wave, order=4), "order": 4, "knots": knots, "degree": 5}
    plain = fit_penalised_spline(x, run[:, 1], **rest).spline.evaluate(x)
    cubic = shift * (x / 1000 - 1) ** 3 + shift * x / 100
    other = fit_penalised_spline(x, stretch * run[:, 1] + cubic, **rest).spline.evaluate(x)
    assert other == pytest.approx(stretch * plain + cubic, abs=1e-5)
