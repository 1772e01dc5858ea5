"""The record's Fairing table: rms, worst, band and degrees of freedom of every edge are worked out again from the marks
and traces in the drawing, by other formulas, and agree to their last decimal; and the band is as wide as the errors
met.
"""

import numpy as np
import pytest
from invented_planks import invent_plank
from surveyed_planks import CASES, change_item, run
from surveyor import list_differences
from surveyor_fairing import list_fairing_table_claims

from plankcore.fair.fair import FairSettings
from plankcore.fair.from_marks import fair_end_marks
from plankcore.fair.from_trace import fair_trace
from plankcore.model.plank import Mark

NAMES = [
    "plain, no saw line",
    "saw line of the drawn face",
    "bevels and round",
    "marks, one doubtful, other face of a copy",
    "marks, one left out, ends marked thrice",
    "ends marked twice",
]


@pytest.mark.parametrize("name", NAMES)
def test_the_fairing_table_is_what_marks_and_traces_give(name):
    found = run(CASES[name])
    claims = list(list_fairing_table_claims(found.page, found.original))
    assert list_differences(claims) == []
    assert len(claims) >= 14 and {c.where.split(", ")[-1] for c in claims} >= {"rms", "worst", "band", "freedom"}


@pytest.mark.parametrize(
    "name, role, fault, words",
    [
        ("marks, one doubtful, other face of a copy", "mark", {"values": {"error-mm": "0.7"}, "first": 4}, "band"),
        ("marks, one doubtful, other face of a copy", "mark", {"change": lambda p: p + [0.0, 0.4], "first": 4}, "rms"),
        (
            "marks, one left out, ends marked thrice",
            "mark",
            {"values": {"error-mm": "0.1"}, "edge": "upper", "first": 5},
            "upper, band",
        ),
        (
            "marks, one left out, ends marked thrice",
            "mark",
            {"values": {"error-mm": "0.6"}, "edge": "fore"},
            "fore, band",
        ),
        ("ends marked twice", "mark", {"change": lambda p: p + [0.0, 2.0], "edge": "aft"}, "aft, band"),
        ("plain, no saw line", "source", {"change": lambda p: p + [0.0, 0.05]}, "worst"),
        ("plain, no saw line", "edge", {"change": lambda p: p * [1.0, 1.002], "edge": "upper"}, "upper, rms"),
        ("saw line of the drawn face", "edge", {"values": {"wander-mm": "0.4"}, "edge": "upper"}, "band"),
    ],
)
def test_marks_errors_and_traces_otherwise_than_faired_are_seen(name, role, fault, words):
    """Planted faults: a mark's error, a mark's place, a mark missing, a trace or an edge that was moved."""
    found = run(CASES[name])
    wrong = list_differences(list_fairing_table_claims(found.page, change_item(found.original, role, **fault)))
    assert any(words in w for w in wrong), wrong


def test_the_band_of_a_trace_is_as_wide_as_its_ends_are_off():
    """Of 40 invented edges, traced by a pen that strays 0.3 mm and forgets within some 25 mm: errors at both ends over
    the bands told. The edges are none of the estimator's family (see invented_planks)."""
    off, bands = [], []
    weight = np.exp(-0.5 * (np.arange(-80, 81) / 10.0) ** 2)
    weight *= 0.3 / np.sqrt((weight**2).sum())
    for seed in range(1, 41):
        length, upper, _ = invent_plank(seed)
        x = np.arange(0.0, min(length, 3000.0), 1.0)
        y = upper(x) + np.convolve(np.random.default_rng(1000 + seed).normal(0, 1, len(x) + 160), weight, "valid")
        edge = fair_trace("upper", (np.column_stack([x, y]),), FairSettings(), is_end=False)
        ends = np.array([edge.first_point, edge.last_point])
        off += list(ends[:, 1] - upper(ends[:, 0]))
        bands.append(float(edge.measure_error(np.array([edge.low, edge.high])).max()))
    assert 0.8 < np.sqrt(np.mean(np.square(off)) / np.mean(np.square(bands))) < 1.25


@pytest.mark.parametrize("count", [2, 3, 5])
def test_the_band_of_an_end_known_by_marks_is_as_wide_as_it_is_off(count):
    """400 straight ends of 100 mm, marks off by 0.4 mm: the error at the outermost mark over the band told there."""
    rng, off, bands = np.random.default_rng(count), [], []
    for _ in range(400):
        y = np.linspace(0.0, 100.0, count)
        marks = tuple(Mark((float(x), float(v)), "fore", "", 0.4) for x, v in zip(rng.normal(0, 0.4, count), y))
        edge = fair_end_marks("fore", marks, FairSettings(honest_error_mm=3.0))[0]
        assert edge.straight
        off.append(edge.first_point[0])
        bands.append(float(edge.measure_error(np.array([edge.low]))[0]))
    assert 0.9 < np.sqrt(np.mean(np.square(off)) / np.mean(np.square(bands))) < 1.1
