"""Sizes of sawn stock. Refusals first; sizes against their source are in reference/test_wood_handbook.py."""
import math

import pytest

from plankcore.errors import SettingError
from plankcore.trade.lumber_measure import SYSTEMS, describe_system, find_stock_size, find_surfaced_mm, list_sizes


@pytest.mark.parametrize("system", ["", "inches", "eighths"])
def test_a_system_not_known_is_refused(system):
    for ask in (lambda: find_stock_size(25.0, system=system), lambda: list_sizes(system),
                lambda: describe_system(system)):
        with pytest.raises(SettingError, match="not a way of counting"):
            ask()


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("thickness", [0.0, -1.0, math.nan, math.inf])
def test_a_thickness_that_is_none_is_refused(system, thickness):
    with pytest.raises(SettingError):
        find_stock_size(thickness, system=system)


@pytest.mark.parametrize("system, largest", [("quarters", "16/4"), ("metric", "100 mm")])
def test_thicker_than_the_thickest_is_said(system, largest):
    words, size = find_stock_size(150.0, system=system)
    assert size is None and "thicker" in words and largest in words


@pytest.mark.parametrize("needed, found", [(5.0, 16.0), (16.0, 16.0), (16.1, 19.0), (25.0, 25.0), (25.4, 32.0),
                                           (33.0, 38.0), (99.0, 100.0)])
def test_the_next_size_up_in_mm(needed, found):
    """EN 1313-1, from memory, not checked."""
    assert find_stock_size(needed, system="metric") == ("%d mm" % found, found)


def test_what_inches_lose_on_the_way_to_mm_does_not_cost_a_size():
    assert find_stock_size(0.1 * 25.4 + 0.9 * 25.4, system="quarters")[0] == "4/4"
    assert find_stock_size(25.4 + 1e-3, system="quarters")[0] == "5/4"


@pytest.mark.parametrize("system", SYSTEMS)
def test_sizes_rise_and_say_where_they_are_from(system):
    sizes = [s.size_mm for s in list_sizes(system)]
    assert sizes == sorted(set(sizes)) and ("NHLA" in describe_system(system)
                                            or "from memory" in describe_system(system))


@pytest.mark.parametrize("name, inches", [("4/4", 13 / 16), ("5/4", 1 + 1 / 16), ("6/4", 1 + 5 / 16), ("8/4", 1.75)])
def test_surfaced_two_sides(name, inches):
    """NHLA, from memory, not checked."""
    assert find_surfaced_mm(name) == pytest.approx(inches * 25.4)
    assert find_surfaced_mm("32 mm") is None
