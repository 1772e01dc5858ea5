"""A batten held by nails against beam formulas and another's splines.

Beam: deflection under a load between two supports, USDA Wood Handbook FPL-GTR-190 (2010), chapter 9, "Deflection
Equations", and any text on strength of materials: P L^3 / (48 EI) at midspan, P a^2 b^2 / (3 EI L) under a load at a
from one support and b from the other; an overhang of length c loaded at its end sinks by P c^2 (L + c) / (3 EI). From
memory, not checked. Splines: scipy's CubicSpline with bc_type 'natural'.
"""
import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from plankcore.errors import SettingError
from plankcore.fair.batten import find_stiffness
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.interpolation import interpolate_cubic
from plankcore.model.plank import EdgeSource, Mark, Pattern

LENGTH = 2400.0


def make_pattern(x, y, nails, width=120.0):
    """Marks at x (n,) on an upper edge of heights y, outward is up (-y of the page), those at `nails` nailed."""
    upper = EdgeSource(marks=tuple(Mark((float(a), float(-b)), "upper", "%d" % k, 0.3,
                                        told="nail" if k in nails else "")
                                   for k, (a, b) in enumerate(zip(x, y), 1)))
    lower = EdgeSource(marks=tuple(Mark((float(a), width), "lower", "%d" % k, 0.3) for k, a in enumerate(x, 1)))
    ends = {n: EdgeSource((np.column_stack([np.full(300, at), np.linspace(-150, width + 60, 300)]),))
            for n, at in (("fore", float(x[0]) + 5), ("aft", float(x[-1]) - 5))}
    return Pattern({"upper": upper, "lower": lower, **ends}, (), "right", "marks")


def bend(x, y, nails, **settings):
    plank = fair_plank(make_pattern(np.asarray(x, float), np.asarray(y, float), nails),
                       settings=FairSettings(honest_error_mm=0.3, **settings))
    batten, = plank.battens
    return plank, batten


FRAMES = np.linspace(LENGTH, 0, 11)
SECTION = {"batten_thick_mm": 12.0, "batten_wide_mm": 18.0, "batten_wood": "Sitka spruce"}


def test_a_batten_pushed_out_at_midspan_takes_the_force_of_a_simply_supported_beam():
    deflection, first, middle, last = 6.0, 1, 6, 11
    y = np.zeros(11)
    y[middle - 1] = deflection
    _, batten = bend(FRAMES, y, (first, middle, last), **SECTION)
    stiffness = 10.8e3 * 18 * 12 ** 3 / 12                     # E by the table of woods, I = b h^3 / 12
    assert batten.stiffness_nmm2 == pytest.approx(stiffness)
    force = 48 * stiffness * deflection / LENGTH ** 3
    assert [n.force_n for n in batten.nails] == pytest.approx([-force / 2, force, -force / 2], rel=1e-3)
    assert [n.jump_per_mm2 for n in batten.nails] == pytest.approx([-force / 2 / stiffness, force / stiffness,
                                                                    -force / 2 / stiffness], rel=1e-3)


@pytest.mark.parametrize("middle", [3, 4, 8])
def test_a_load_off_the_middle(middle):
    y, deflection = np.zeros(11), 5.0
    y[middle - 1] = deflection
    _, batten = bend(FRAMES, y, (1, middle, 11), **SECTION)
    a = LENGTH - FRAMES[middle - 1]
    force = 3 * batten.stiffness_nmm2 * LENGTH * deflection / (a ** 2 * (LENGTH - a) ** 2)
    assert batten.nails[1].force_n == pytest.approx(force, rel=1e-3)
    # the reactions of a beam on two supports
    assert batten.nails[0].force_n == pytest.approx(-force * (LENGTH - a) / LENGTH, rel=1e-3)


def test_an_overhang():
    """Supports at the first nail and the second, the third at the end of an overhang of c."""
    y = np.zeros(11)
    y[-1] = -4.0
    _, batten = bend(FRAMES, y, (1, 8, 11), **SECTION)
    span, over = LENGTH - FRAMES[7], FRAMES[7]
    force = 3 * batten.stiffness_nmm2 * 4.0 / (over ** 2 * (span + over))
    assert batten.nails[2].force_n == pytest.approx(-force, rel=1e-3)


def test_the_batten_is_anothers_natural_spline_and_its_forces_balance():
    rng = np.random.default_rng(11)
    for count in (3, 4, 6, 11):
        nails = sorted(rng.choice(np.arange(2, 11), count - 2, replace=False).tolist()) + [1, 11]
        y = 40 * np.sin(np.pi * FRAMES / 2600) + rng.normal(0, 1.0, 11)
        _, batten = bend(FRAMES, y, nails)
        points = np.array([n.point for n in batten.nails])
        x, up = points[::-1, 0], -points[::-1, 1]
        # axes laid along the plank lean against the page by less than a degree: slopes are taken out by a line
        other = CubicSpline(x, up, bc_type="natural")
        drawn = batten.curve.flatten(tolerance_mm=1e-4)
        assert np.abs(-drawn[:, 1] - other(drawn[:, 0])).max() < 0.02
        jumps = np.diff(np.concatenate([[0.0], other((x[:-1] + x[1:]) / 2, 3), [0.0]]))[::-1]
        found = np.array([n.jump_per_mm2 for n in batten.nails])
        assert found == pytest.approx(jumps, abs=2e-3 * np.abs(jumps).max())
        assert abs(found.sum()) < 1e-6 * np.abs(found).sum()
        assert abs(found @ (points[:, 0] - points[0, 0])) < 2e-3 * np.abs(found) @ np.abs(points[:, 0] - points[0, 0])


@pytest.mark.parametrize("derivative", [0, 1, 2, 3])
@pytest.mark.parametrize("ends, kind", [("natural", "natural"), ("running on", "not-a-knot")])
def test_derivatives_are_anothers(derivative, ends, kind):
    x = np.array([0.0, 130, 300, 520, 900, 1000])
    y = np.array([3.0, 5, -2, 8, 1, 0])
    at = np.linspace(0, 999, 400)
    there = CubicSpline(x, y, bc_type=kind)(at, derivative)
    assert interpolate_cubic(x, y, at, ends=ends, derivative=derivative) == pytest.approx(there, abs=1e-12 + 1e-9
                                                                                        * np.abs(there).max())


def test_no_other_curve_through_the_nails_bends_less():
    """Holladay's theorem, tried with curves that pass through the same points."""
    x = np.array([0.0, 300, 700, 1200, 1900, 2400])
    y = np.array([0.0, 30, 44, 52, 30, 0])
    at = np.linspace(0, 2400, 24001)
    own = interpolate_cubic(x, y, at, ends="natural", derivative=2)
    through = np.prod([(at - k) / 2400 for k in x], axis=0)
    rng = np.random.default_rng(4)
    for _ in range(30):
        bump = through * np.polyval(rng.normal(0, 200, 4), at / 2400)
        other = own + np.gradient(np.gradient(bump, at), at)
        assert np.sum(other ** 2) > np.sum(own ** 2)


def test_stiffness_needs_all_of_the_section_and_a_known_wood():
    assert find_stiffness(0.0, 0.0, "") == (0.0, "")
    stiffness, source = find_stiffness(10.0, 20.0, "white oak")
    assert stiffness == pytest.approx(12.3e3 * 20 * 10 ** 3 / 12) and "12.3 GPa" in source and "Wood Handbook" in source
    for wrong in ((10.0, 0.0, "white oak"), (10.0, 20.0, ""), (10.0, 20.0, "live oak"), (10.0, 20.0, "nosuchwood")):
        with pytest.raises(SettingError) as caught:
            find_stiffness(*wrong)
        assert caught.value.remedy
