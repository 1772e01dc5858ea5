"""The rectangular elastica: a batten pushed up square at both ends, whose measures are known numbers.

With rise 1 and curvature 2y its half chord is B(3/4, 1/2)/4 = 0.5990701174, its half length B(1/4, 1/2)/4 =
1.3110287771 (the lemniscate constant), their product pi/4 (Euler 1744, additamentum I; values from memory, recomputed
below from the gamma function). From dx/ds = y^2 the area under the whole arch is the integral of y^3 ds, which is 1.
"""
import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import beta

from plankcore.geometry.bezier import fit_cubics
from plankcore.geometry.curve import Curve, make_line
from plankcore.geometry.outline import measure_outline_area_mm2, offset_curve

HALF_CHORD, HALF_LENGTH = 0.5990701174, 1.3110287771
RISE = 400.0                # mm


@pytest.fixture(scope="module")
def arch():
    """The whole arch from its differential equation x' = cos a, y' = sin a, a' = -2y, started upright."""
    found = solve_ivp(lambda s, v: [np.cos(v[2]), np.sin(v[2]), -2 * v[1]], (0, 2 * HALF_LENGTH), [0, 0, np.pi / 2],
                      method="DOP853", rtol=1e-12, atol=1e-13, dense_output=True)

    def path(s, derivative):
        x, y, a = found.sol(np.asarray(s))
        return RISE * np.stack([x, y] if derivative == 0 else [np.cos(a), np.sin(a)], axis=1)
    return Curve(fit_cubics(path, 0.0, 2 * HALF_LENGTH, tolerance_mm=1e-4))


def test_the_constants_are_those_of_the_gamma_function():
    assert beta(0.75, 0.5) / 4 == pytest.approx(HALF_CHORD, abs=5e-11)
    assert beta(0.25, 0.5) / 4 == pytest.approx(HALF_LENGTH, abs=5e-11)
    assert HALF_CHORD * HALF_LENGTH == pytest.approx(0.7853981634, abs=1e-10)


def test_length(arch):
    assert arch.measure_length_mm() == pytest.approx(2 * HALF_LENGTH * RISE, abs=1e-4)


def test_chord_and_rise(arch):
    assert arch.end - arch.start == pytest.approx((2 * HALF_CHORD * RISE, 0), abs=1e-6)
    crown = arch.evaluate(arch.find_places(HALF_LENGTH * RISE))[0]
    assert crown == pytest.approx((HALF_CHORD * RISE, RISE), abs=2e-4)


def test_places_along_it(arch):
    """Where x' = y^2 says: at the height 1/sqrt 2 the direction is 60 degrees from upright's fall, cos a = 1/2."""
    at = arch.find_places(np.linspace(0, 2 * HALF_LENGTH * RISE, 41)[1:-1])
    height = arch.evaluate(at)[:, 1] / RISE
    ways = np.array([arch.find_direction(u) for u in at])
    assert ways[:, 0] == pytest.approx(height ** 2, abs=1e-4)


def test_curvature_is_twice_the_height(arch):
    """The page's y runs down, so an arch drawn upwards in numbers turns from y towards x: negative."""
    u = np.linspace(0.2, len(arch.cubics) - 0.2, 200)
    height = arch.evaluate(u)[:, 1] / RISE
    assert -arch.measure_curvature_per_mm(u) * RISE == pytest.approx(2 * height, abs=0.01)


def test_area_under_it_is_the_square_of_the_rise(arch):
    assert abs(measure_outline_area_mm2([arch, make_line(arch.end, arch.start)])) == pytest.approx(RISE ** 2, rel=1e-6)


@pytest.mark.parametrize("distance", [10.0, -10.0])
def test_a_curve_beside_it_is_longer_by_distance_times_turn(arch, distance):
    """The whole turn is pi, so the parallel curve differs by pi d (Steiner's formula, common knowledge)."""
    assert abs(offset_curve(arch, distance).measure_length_mm() - arch.measure_length_mm()) == pytest.approx(
        np.pi * 10, abs=0.02)
