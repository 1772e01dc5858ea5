"""Short planks: the shortest wave follows the marks' run, and says so."""
import numpy as np
import pytest

from plankcore.fair.fair import FairSettings
from plankcore.fair.from_marks import fair_marks
from plankcore.model.plank import Mark


def mark_edges(length, count, seed=0):
    rng = np.random.default_rng(seed)
    x = np.linspace(0, length, count)
    sweep = 15 * np.cos(2.2 * x / length)
    return {name: tuple(Mark((float(a), float(b)), name) for a, b in zip(x, off + sweep + rng.normal(0, 0.3, count)))
            for name, off in (("upper", -50), ("lower", 60))}


@pytest.mark.parametrize("length, count, wave, told", [(900.0, 5, 600.0, 300.0), (900.0, 5, 200.0, None),
                                                       (1500.0, 8, 600.0, 500.0), (3000.0, 14, 600.0, None)])
def test_the_shortest_wave_is_at_most_a_third_of_the_run_and_is_said(length, count, wave, told):
    _, _, findings = fair_marks(mark_edges(length, count), FairSettings(0.3, wave))
    said = [f for f in findings if f.key == "wave-shortened"]
    assert [round(f.number, 6) for f in said] == ([] if told is None else [pytest.approx(told, rel=0.01)])
    for finding in said:
        assert finding.limit == wave and "%.0f mm" % finding.number in finding.text


def test_sound_short_planks_are_seldom_doubted():
    found = [fair_marks(mark_edges(900.0, 5, seed), FairSettings(0.3))[1] for seed in range(20)]
    assert sum(any(m.verdict != "used" for m in marks) for marks in found) <= 2
