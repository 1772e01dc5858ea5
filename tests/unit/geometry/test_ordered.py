"""Middle and distinct numbers are numpy's own; and what they stand for is loaded by none of them."""
import subprocess
import sys

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from plankcore.geometry.arrays import find_median, list_distinct

ROWS = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40)


@given(ROWS)
def test_the_middle_one_is_numpys(values):
    assert find_median(values) == np.median(values)


@given(ROWS)
def test_the_distinct_ones_are_numpys(values):
    assert np.array_equal(list_distinct(values + values[:3]), np.unique(values))


def test_nothing_has_no_middle_and_no_distinct_ones():
    assert np.isnan(find_median([])) and len(list_distinct([])) == 0


def test_neither_loads_masked_arrays():
    code = ("import sys; from plankcore.geometry.arrays import *; find_median([1.0, 2.0]); list_distinct([2, 1]); "
            "sys.exit('numpy.ma' in sys.modules)")
    assert subprocess.run([sys.executable, "-c", code], timeout=60).returncode == 0
