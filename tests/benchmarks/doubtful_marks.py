"""Whether a mark that is 4 mm wrong is named, and how often a sound one is.

Invented planks with 14 marks on each of both edges, in error by 0.4 mm (normal). In each case one mark on one edge is
moved 4 mm off, either way.
Printed: share of cases in which that mark is flagged (limit: at least 95 %), for inner and end marks apart, and in
which it alone is; share of sound edges on which some mark is flagged, where no mark of the plank is wrong (limit: at
most 5 %), and on the other edges of planks with a wrong mark.

    python tests/benchmarks/doubtful_marks.py
"""
from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

from invented_planks import invent_plank

from plankcore.fair.fair import FairSettings
from plankcore.fair.from_marks import fair_marks
from plankcore.model.plank import Mark

COUNT, ERROR_MM, WRONG_MM = 14, 0.4, 4.0
LEAST_FLAGGED, MOST_FALSE = 0.95, 0.05


def flag_marks(seed, *, wrong):
    """Flags (2, COUNT) of the marks of upper and lower edge, and (edge, mark) of the wrong one."""
    length, *edges = invent_plank(seed % 60)
    rng = np.random.default_rng(10_000 + seed)
    x = np.linspace(0, length, COUNT)
    y = [f(x) + ERROR_MM * rng.standard_normal(COUNT) for f in edges]
    edge, mark, way = int(rng.integers(2)), int(rng.integers(COUNT)), float(rng.choice([-1, 1]))
    if wrong:
        y[edge][mark] += way * WRONG_MM
    marks = {name: tuple(Mark((float(a), float(b)), name) for a, b in zip(x, v))
             for name, v in zip(("upper", "lower"), y)}
    _, out, _ = fair_marks(marks, FairSettings(honest_error_mm=ERROR_MM))
    flags = np.array([m.verdict != "used" for m in out]).reshape(2, COUNT)
    return flags, (edge, mark)


def measure_shares(cases):
    """(flagged, of inner marks, of end marks, flagged alone, false on sound planks' edges, false on the other edge of
    planks with a wrong mark).
    """
    hits, alone, other, false, ends = [], [], [], [], []
    for seed in range(cases):
        flags, place = flag_marks(seed, wrong=True)
        hits.append(flags[place])
        ends.append(place[1] in (0, COUNT - 1))
        alone.append(flags[place] and flags.sum() == 1)
        other.append(flags[1 - place[0]].any())
        false += list(flag_marks(seed, wrong=False)[0].any(axis=1))
    hits, ends = np.array(hits), np.array(ends)
    return tuple(float(np.mean(v)) for v in (hits, hits[~ends], hits[ends], alone, false, other))


def main(cases=480):
    hits, inner, ends, alone, false, other = measure_shares(cases)
    print("%d cases, one of %d marks %.0f mm wrong, errors %.1f mm" % (cases, COUNT, WRONG_MM, ERROR_MM))
    print("wrong mark flagged              %5.1f %%   limit at least %.0f %%   (inner marks %.1f %%, end marks %.1f "
          "%%; it alone %.1f %%)"
          % (100 * hits, 100 * LEAST_FLAGGED, 100 * inner, 100 * ends, 100 * alone))
    print("sound edges with a flag         %5.1f %%   limit at most %.0f %%" % (100 * false, 100 * MOST_FALSE))
    print("other edge of a plank with one  %5.1f %%" % (100 * other))


if __name__ == "__main__":
    main()
