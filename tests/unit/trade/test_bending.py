"""Whether a plank goes round cold. Refusals first; strains against their source are in reference/test_wood_handbook.py.
"""
import math

import numpy as np
import pytest

from plankcore.errors import SettingError
from plankcore.trade.bending import find_principal_curvature, judge_bend
from plankcore.trade.wood import find_species


@pytest.mark.parametrize("thickness", [0.0, -19.0, math.nan, math.inf])
def test_a_thickness_that_is_none_is_refused(thickness):
    with pytest.raises(SettingError):
        judge_bend(thickness, 1500.0)


@pytest.mark.parametrize("radius", [0.0, math.nan])
def test_a_radius_that_is_none_is_refused(radius):
    with pytest.raises(SettingError):
        judge_bend(19.0, radius)


def test_an_unknown_wood_is_refused():
    with pytest.raises(SettingError, match="not known"):
        judge_bend(19.0, 1500.0, species="xyzzy")


@pytest.mark.parametrize("radius", [math.inf, -math.inf])
def test_straight_is_cold(radius):
    advice = judge_bend(19.0, radius)
    assert (advice.verdict, advice.strain, advice.radius_by_thickness) == ("cold", 0.0, math.inf)


@pytest.mark.parametrize("species, ratio, verdict", [
    ("", 240, "cold"), ("", 236, "doubtful"), ("", 160, "doubtful"), ("", 157, "steam"),
    ("teak", 160, "cold"), ("teak", 157, "doubtful"), ("teak", 107, "doubtful"), ("teak", 105, "steam"),
    ("Douglas-fir", 240, "cold"), ("Douglas-fir", 230, "doubtful"), ("Douglas-fir", 150, "steam"),
    ("iroko", 200, "doubtful"),
])
def test_the_verdict(species, ratio, verdict):
    """Three times and twice the radius at nominal break, E / 2f: teak 53, Douglas-fir 79 (strengths from memory, not
    checked; the factors are common practice, no source). A wood of no known strength is judged as the stiffest."""
    advice = judge_bend(20.0, 20.0 * ratio, species=species)
    assert advice.verdict == verdict and advice.radius_by_thickness == pytest.approx(ratio)
    assert judge_bend(20.0, -20.0 * ratio, species=species) == advice


def test_the_words_own_up_to_what_is_not_known():
    for species in ("", "teak", "iroko"):
        words = judge_bend(20.0, 3000.0, species=species).words
        assert "from memory, not checked" in words and "guide" in words
    assert "not given" in judge_bend(20.0, 3000.0).words and "iroko" in judge_bend(20.0, 3000.0, species="iroko").words


def test_too_sharp_to_steam_is_said():
    """Mahogany, 25 mm, about 810 to 910 mm: Stevens and Turner, from memory, low confidence."""
    assert "laminate" in judge_bend(25.0, 600.0, species="mahogany").words
    assert "laminate" not in judge_bend(25.0, 1200.0, species="mahogany").words


def test_a_wood_may_be_given_as_itself():
    assert judge_bend(20.0, 3000.0, species=find_species("teak")) == judge_bend(20.0, 3000.0, species="teak")


@pytest.mark.parametrize("bend, twist", [(1 / 3000, 0.0), (0.0, 2e-4), (1 / 3000, 2e-4), (-1 / 1500, 1e-4)])
def test_bend_and_twist_are_judged_by_the_principal_curvature(bend, twist):
    """numpy's eigenvalues of the second fundamental form of z = k x^2 / 2 + t x y."""
    assert find_principal_curvature(bend, twist) == pytest.approx(
        np.abs(np.linalg.eigvalsh([[bend, twist], [twist, 0.0]])).max(), rel=1e-12)
