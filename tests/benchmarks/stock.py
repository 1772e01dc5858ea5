"""What choosing stock costs, and how near to the least wood it comes.

1. 20 invented planks on 30 invented boards with knots: seconds, and the ratio to shapely turning and measuring the same
planks' bounds at
   the turns of a net of 0.01 degrees, once for each plank and board, which is the plainest search of one plank alone.
2. Eight small yards of 6 planks and 8 boards: wood over that of a long search, which undoes and mends its plan 200
times and lays what comes
   on one board in up to 200 orders. Aim 1.03.

    python tests/benchmarks/stock.py [TRIES]
"""
from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from shapely.affinity import rotate
from shapely.geometry import Polygon

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from stock_pieces import invent_board, invent_piece

from plankcore.geometry.outline import flatten_outline
from plankcore.stock import packing as stock_packing
from plankcore.stock.choose import StockSettings, choose_stock


def invent_yard(planks, boards, seed, **sizes):
    chance = np.random.default_rng(seed)
    return [invent_piece(chance, "P%d" % k, **sizes)
            for k in range(planks)], [invent_board(chance, "B%d" % k) for k in range(boards)]


def time_shapely(pieces, turns=2001):
    """Seconds to turn each plank once through a net of turns and take its bounds."""
    shapes = [Polygon(flatten_outline(p.curves, tolerance_mm=0.05)) for p in pieces]
    began = time.perf_counter()
    for shape in shapes:
        for turn in np.linspace(-10, 10, turns):
            _ = rotate(shape, turn, origin=(0, 0)).bounds
    return time.perf_counter() - began


def main(tries=6):
    settings = StockSettings(tries=tries)
    pieces, boards = invent_yard(20, 30, 1)
    began = time.perf_counter()
    plan = choose_stock(pieces, boards, settings=settings,
                        progress=lambda text: print("  %5.1f s  %s" % (time.perf_counter() - began, text), flush=True))
    ours = time.perf_counter() - began
    plain = time_shapely(pieces) * len(boards)
    print("20 planks on 30 boards: %.1f s, %d placed, waste %.0f %%; over a plain search of one plank alone by "
          "shapely %.2f (%.1f s)"
          % (ours, len(plan.placements), 100 * plan.waste_share, ours / plain, plain), flush=True)
    print("Least spare of any piece: %.3f mm" % min(p.spare_mm for p in plan.placements))
    for seed in range(8):
        pieces, boards = invent_yard(6, 8, 100 + seed, longest=2600.0)
        began = time.perf_counter()
        quick = choose_stock(pieces, boards, settings=settings)
        took, ways = time.perf_counter() - began, stock_packing._MOST_WAYS
        stock_packing._MOST_WAYS = 0                   # for the long search: tries, in place of all ways of sharing out
        long = choose_stock(pieces, boards, settings=replace(settings, tries=200, seed=2))
        stock_packing._MOST_WAYS = ways
        print("Yard %d: %.1f s, wood over that of a long search %.3f (%d of 6 placed, and %d)   aim 1.03" % (
            seed, took, quick.volume_mm3 / long.volume_mm3, len(quick.placements), len(long.placements)), flush=True)


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))
