"""Moisture. Refusals first; numbers against their source are in reference/test_wood_handbook.py."""
import math

import pytest

from plankcore.errors import SettingError
from plankcore.trade.moisture import find_equilibrium_percent, find_movement_mm, judge_hanging_moisture
from plankcore.trade.wood import find_species, make_own_species

OAK = find_species("white oak")
BAD = [-0.1, 200.1, math.nan, math.inf]


@pytest.mark.parametrize("bad", BAD)
def test_a_moisture_that_cannot_be_is_refused_and_the_field_named(bad):
    for start, end, field in ((bad, 20.0, "Moisture at hanging"), (15.0, bad, "Moisture afloat")):
        with pytest.raises(SettingError) as caught:
            find_movement_mm(100.0, OAK, cut="flat", start_percent=start, end_percent=end)
        assert caught.value.where == field
    with pytest.raises(SettingError):
        judge_hanging_moisture(bad)


@pytest.mark.parametrize("cut", ["", "rift", "Flat", None])
def test_a_cut_not_known_is_refused(cut):
    with pytest.raises(SettingError, match="cut"):
        find_movement_mm(100.0, OAK, cut=cut, start_percent=8, end_percent=12)


@pytest.mark.parametrize("size", [-1.0, math.nan, math.inf])
def test_a_size_that_is_none_is_refused(size):
    with pytest.raises(SettingError):
        find_movement_mm(size, OAK, cut="flat", start_percent=8, end_percent=12)


@pytest.mark.parametrize("celsius, humidity",
                         [(-5, 50), (140, 50), (math.nan, 50), (20, -1), (20, 100.5), (20, math.nan)])
def test_air_that_is_none_is_refused(celsius, humidity):
    with pytest.raises(SettingError):
        find_equilibrium_percent(celsius, humidity)


@pytest.mark.parametrize("start, end, equation",
                         [(6, 14, "13-2"), (14, 6, "13-2"), (5.9, 14, "13-3"), (6, 14.1, "13-3"), (12, 28, "13-3")])
def test_the_equation_follows_from_the_moistures(start, end, equation):
    found = find_movement_mm(100.0, OAK, cut="flat", start_percent=start, end_percent=end)
    assert found.equation == equation and equation in found.words and "estimate" in found.words


@pytest.mark.parametrize("wood", [find_species("teak"), find_species("iroko"), make_own_species(7.8, 3.3),
                                  find_species("Douglas-fir, interior north")])
def test_imported_woods_and_those_without_a_coefficient_go_by_their_shrinkage(wood):
    assert find_movement_mm(100.0, wood, cut="flat", start_percent=8, end_percent=12).equation == "13-3"


def test_quarter_sawn_moves_less_and_nothing_moves_without_a_change():
    flat, quarter = (find_movement_mm(100.0, OAK, cut=cut, start_percent=12, end_percent=28).movement_mm
                     for cut in ("flat", "quarter"))
    assert 0 < quarter < 0.7 * flat
    assert find_movement_mm(100.0, OAK, cut="flat", start_percent=13, end_percent=13).movement_mm == 0


def test_air_without_water_leaves_none_in_the_wood_and_wetter_air_more():
    assert find_equilibrium_percent(20, 0) == 0
    found = [find_equilibrium_percent(20, h) for h in range(0, 101, 5)]
    assert found == sorted(found) and 20 < found[-1] < 35


def test_the_verdict_says_why():
    assert "too dry" in judge_hanging_moisture(10).words and "too wet" in judge_hanging_moisture(
        25).words and "R1606" in judge_hanging_moisture(15).words
