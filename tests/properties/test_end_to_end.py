"""From two traced photographs to the sheet, against the truth: the limits of the benchmark, which prints the figures.
"""
import end_to_end
import numpy as np
import pytest
from host.reader import read
from overlaps import list_crossings, list_words_off


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return end_to_end.run_sample(tmp_path_factory.mktemp("end_to_end"))


@pytest.fixture(scope="module")
def found(made):
    return end_to_end.measure(*made)


def test_nothing_on_the_sheet_is_lettered_across_anything_else(made):
    sheet = read(made[1])
    assert len(sheet.find("name")) >= 5 and list_crossings(sheet) + list_words_off(sheet) == []


def test_the_net_outline_on_the_sheet_lies_on_the_true_one(found):
    assert found["worst"] <= end_to_end.WORST_AIM_MM
    assert max(found["corners"].values()) <= end_to_end.WORST_LIMIT_MM


def test_the_scale_holds(found):
    assert abs(found["length"]) <= end_to_end.SCALE_AIM
    assert max(abs(found["along"]), abs(found["across"])) <= end_to_end.SCALE_LIMIT


def test_every_frame_has_its_width(found):
    assert len(found["widths_mm"]) == 17 and np.abs(found["widths_mm"]).max() < 0.5


def test_the_judge_can_fail():
    """A turn and a shift are taken out; a scale wrong by a twentieth of a percent is not."""
    true = end_to_end.truth.outline_mm(601)
    ring = end_to_end.shapely.LineString(np.vstack([true, true[:1]]))
    c, s = np.cos(0.01), np.sin(0.01)
    off = []
    for grow in (1.0, 1.0005):
        moved = (true - true.mean(axis=0)) * grow @ np.array([[c, s], [-s, c]]) + true.mean(axis=0) + [3.0, -2.0]
        off.append(end_to_end.shapely.distance(end_to_end.shapely.points(end_to_end.lay_on(moved, true)[0]),
                                               ring).max())
    assert off[0] < 0.01 and off[1] > end_to_end.WORST_LIMIT_MM
