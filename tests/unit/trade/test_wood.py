"""Finding a wood by the name someone gives it. Refusals first; numbers against their source are in
reference/test_wood_handbook.py.
"""
import math

import pytest

from plankcore.errors import SettingError
from plankcore.trade.wood import SPECIES, find_species, list_names, make_own_species


@pytest.mark.parametrize("typed, offered", [("white oka", "white oak"), ("sitka sproce", "Sitka spruce"),
                                            ("western larsh", "western larch"), ("scots pine", "pine"),
                                            ("larch", "western larch; tamarack"),
                                            ("European  Larch", "western larch; tamarack"), ("oak", "white oak"),
                                            ("cedar", "western redcedar"), ("teek", "teak")])
def test_an_unknown_name_is_refused_and_the_nearest_offered(typed, offered):
    with pytest.raises(SettingError) as caught:
        find_species(typed)
    assert (caught.value.where == "Species" and offered in caught.value.remedy
            and "tangential and radial" in caught.value.remedy)


@pytest.mark.parametrize("typed", ["", "  ", "xyzzy", "12"])
def test_a_name_like_none_is_answered_with_all(typed):
    with pytest.raises(SettingError) as caught:
        find_species(typed)
    assert all(name in caught.value.remedy for name in list_names())


@pytest.mark.parametrize("tangential, radial, where",
                         [(7.8, None, "radial"), (None, 3.0, "tangential"), (0.0, 3.0, "tangential"),
                          (7.8, -3.0, "radial"), (26.0, 3.0, "tangential"),
                                                       (math.nan, 3.0, "tangential"), (7.8, math.inf, "radial"),
                          (3.0, 7.8, "radial")])
def test_shrinkages_that_cannot_be_are_refused(tangential, radial, where):
    with pytest.raises(SettingError) as caught:
        find_species("own", tangential_percent=tangential, radial_percent=radial)
    assert where in caught.value.where


def test_own_without_numbers_is_refused():
    with pytest.raises(SettingError, match="needs its shrinkage"):
        find_species("own")


@pytest.mark.parametrize("typed",
                         ["White Oak", "  white   oak ", "WHITE-OAK", "oak, white", "Quercus alba", "white_oak"])
def test_case_blanks_hyphens_and_order_do_not_count(typed):
    assert find_species(typed).name == "white oak"


@pytest.mark.parametrize("typed, name", [("Douglas fir", "Douglas-fir, coast"), ("Oregon pine", "Douglas-fir, coast"),
                                         ("hackmatack", "tamarack"), ("mahogany", "true mahogany"),
                                         ("khaya", "African mahogany"), ("Alaska cedar", "yellow-cedar"),
                                         ("red cedar", "western redcedar")])
def test_other_names(typed, name):
    assert find_species(typed).name == name


def test_no_two_rows_share_a_name():
    every = [" ".join(sorted(word.lower().replace("-", " ").replace(",", " ").split())) for s in SPECIES
             for word in (s.name, *s.others)]
    assert len(every) == len(set(every))


def test_a_known_name_with_own_numbers_goes_by_the_numbers():
    wood = find_species("white oak", tangential_percent=8.0, radial_percent=4.0)
    assert wood.own and (wood.tangential_percent, wood.radial_percent) == (
        8.0, 4.0) and wood.tangential_coefficient is None and "user" in wood.shrinkage_source
    assert find_species("European larch", tangential_percent=7.8, radial_percent=3.3).name == "European larch"
    assert make_own_species(7.8, 3.3).name == "own"


@pytest.mark.parametrize("wood", SPECIES, ids=lambda s: s.name)
def test_every_row_is_sound_and_says_where_it_is_from(wood):
    assert 0 < wood.radial_percent < wood.tangential_percent < 25
    # volume shrinks by about as much as both together: a typing error would stand out
    assert 0.7 * (wood.radial_percent + wood.tangential_percent) < wood.volumetric_percent < 1.5 * (
        wood.radial_percent + wood.tangential_percent)
    assert wood.shrinkage_source and bool(wood.coefficient_source) == (wood.tangential_coefficient is not None)
    assert bool(wood.strength_source) == (wood.rupture_mpa is not None)
    assert ("Table 4-4" in wood.shrinkage_source) == wood.imported


@pytest.mark.parametrize("name, source, told",
                         [("white oak", "shrinkage_source", False), ("tamarack", "shrinkage_source", True),
                          ("western larch", "shrinkage_source", True),
                                                ("white ash", "coefficient_source", False),
                          ("tamarack", "coefficient_source", True), ("white oak", "strength_source", True)])
def test_what_nobody_looked_up_says_so(name, source, told):
    assert ("from memory, not checked" in getattr(find_species(name), source)) == told
