"""Places between the edges of a plank as it lies on its sheet."""
import numpy as np
import pytest
from plots import NAMES
from shapes import make_bowed_plank

from plankcore.plot.strip import LyingPlank


@pytest.mark.parametrize("size", [(40.0, 30.0), (300.0, 60.0), (10.0, 170.0)])
def test_places_lie_between_the_edges_from_the_upper_one_down(size):
    """Against the rule written out place by place."""
    run = LyingPlank(make_bowed_plank(length=2400.0, width=150.0, strake="7", **NAMES), np.asarray)
    x = np.arange(run.left_mm - 20.0, run.right_mm + 20.0, 7.0)
    told = []
    for at in x:
        left, right = at - size[0] / 2, at + size[0] / 2
        if left > run.left_mm + 2.0 and right < run.right_mm - 2.0:
            top = max(float(run.find_edge("upper", v)) for v in (left, at, right)) + 2.0 + size[1] / 2
            foot = min(float(run.find_edge("lower", v)) for v in (left, at, right)) - 2.0 - size[1] / 2
            told += [(at, y) for y in np.arange(top, foot + 1e-9, 3.0)] if foot >= top - 1e-9 else []
    found = run.list_places(x, size)
    assert found.tolist() == [list(one) for one in told] if told else found.shape == (0, 2)
    assert bool(len(told)) == (size[1] < 150.0)
