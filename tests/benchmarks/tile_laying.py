"""How straight a plank comes out of tiles that a person lays by the marks on them: before, cross on cross; now, by one
line and one tape.

Every mark is filled on 150 dpi grids that lie on the tile by chance (16 of them), read off its pixels on one of those,
and laid with a slip of 0.2 mm (standard deviation, across and along), 200 times. What is told is how far the net
outline, over 4 m, lies from its true place, after the whole was moved without stretch to fit
best: the largest distance across the length (bend), and the greatest difference of two places along it. The wire itself
is taken as straight and the tape as true; a second row's line is set off with a slip of its own at either end.
"""
from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]

from plots import make_matter

from plankcore.geometry.strokes import flatten_strokes
from plankcore.plot.sheet import MediumSettings, lay_out_tiles

PIXEL_MM, SLIP_MM, REPEATS, GRIDS = 25.4 / 150, 0.2, 200, 16
LIMITS_MM = {"A3": 0.8, "A4": 1.0}
EDGE_MM = 10.0


def read_off(strokes, rng, at=None, reach=6.0):
    """Middle of the ink, within `reach` of a place, of strokes of 0.35 mm filled on a grid: where a person would point
    to, mm.
    """
    shift = rng.uniform(0, PIXEL_MM, 2)
    low = (np.min([s.min(axis=0) for s in strokes], axis=0) if at is None else at - reach) - 1.0
    high = (np.max([s.max(axis=0) for s in strokes], axis=0) if at is None else at + reach) + 1.0
    x, y = (np.arange(a, b, PIXEL_MM) + c for a, b, c in zip(low, high, shift))
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
    ink = np.zeros(grid.shape[:2], bool)
    for a, b in (s[[0, -1]] for s in strokes):
        way = (b - a) / np.hypot(*(b - a))
        along = np.clip((grid - a) @ way, 0.0, np.hypot(*(b - a)))
        ink |= np.hypot(*np.moveaxis(grid - a - along[..., None] * way, -1, 0)) <= 0.175
    return grid[ink].mean(axis=0)


def fit(found, wanted):
    """The turn and shift that carry places best to others: (matrix (2, 2), shift)."""
    a, b = found - found.mean(axis=0), wanted - wanted.mean(axis=0)
    turn = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return matrix, wanted.mean(axis=0) - matrix @ found.mean(axis=0)


def read_often(strokes, rng, at=None):
    """What is read off on each of some grids, (n, 2)."""
    return np.array([read_off(strokes, rng, at=at) for _ in range(GRIDS)])


def read_tiles(pages, rng):
    """Of each tile: what is read of its crosses {name: places}, of its first and last tick {distance: places}, its
    line's values, the net outline on it, and the true place of the first tick.
    """
    tiles = {}
    for page in (p for p in pages if not p.name.startswith("KEY")):
        crosses, ticks, net, line = {}, {}, [], {}
        for one in page.lines:
            values, runs = dict(one.values), flatten_strokes(one.cubics, tolerance_mm=0.01)
            if one.role == "join-mark":
                crosses[values["cross"]] = runs
            elif one.role == "baseline":
                line = dict(values, run=runs[0][[0, -1]])
            elif one.role == "baseline-tick":
                ticks[values["distance_mm"]] = runs
            elif one.role == "outline":
                net += [run[::5] for run in runs]
        ends = {}
        for tick in (min(ticks), max(ticks)):
            place = np.array([ticks[tick][0][0, 0], line["run"][0, 1]])
            ends[tick] = np.stack([read_often(ticks[tick], rng)[:, 0],
                                   read_often([line["run"]], rng, at=place)[:, 1]], axis=1)
        first = np.array([ticks[min(ticks)][0][0, 0], line["run"][0, 1]])
        tiles[page.name] = ({name: read_often(runs, rng) for name, runs in crosses.items()}, ends, line,
                            np.concatenate(net) if net else np.zeros((0, 2)), first)
    return tiles


def lay_by_line(tiles, rng):
    """Each tile by its line at its first and last tick, and by the tape at both: {tile: (matrix, shift)}."""
    off = {row: rng.normal(0, SLIP_MM, 2) * (row != "A") for row in {t[2]["row"] for t in tiles.values()}}
    longest, laid = max(max(t[1]) for t in tiles.values()), {}
    for name, (_, ticks, line, _, _) in tiles.items():
        found, wanted = [], []
        for tick, places in ticks.items():
            bow = np.interp(tick / longest, [0, 1], off[line["row"]])
            found.append(rng.choice(places))
            wanted.append(np.array([tick, line["below_mm"] + bow]) + rng.normal(0, SLIP_MM, 2))
        laid[name] = fit(np.array(found), np.array(wanted))
    return laid


def lay_by_crosses(tiles, rng):
    """Each tile on those that lie already, all shared crosses on each other."""
    names, laid = list(tiles), {}
    laid[names[0]] = (np.eye(2), np.zeros(2))
    left = names[1:]
    while left:
        name = max(left, key=lambda n: sum(bool(set(tiles[n][0]) & set(tiles[m][0])) for m in laid))
        found, wanted = [], []
        for other, (matrix, shift) in laid.items():
            for cross in sorted(set(tiles[name][0]) & set(tiles[other][0])):
                found.append(rng.choice(tiles[name][0][cross]))
                wanted.append(matrix @ rng.choice(tiles[other][0][cross]) + shift + rng.normal(0, SLIP_MM, 2))
        laid[name] = fit(np.array(found), np.array(wanted))
        left.remove(name)
    return laid


def measure(tiles, laid, true):
    """Largest distance across and along of the outline from its true place, after the best move of the whole."""
    names = [n for n in tiles if len(tiles[n][3])]
    placed = np.concatenate([tiles[n][3] @ laid[n][0].T + laid[n][1] for n in names])
    wanted = np.concatenate([tiles[n][3] + true[n] for n in names])
    matrix, shift = fit(placed, wanted)
    off = placed @ matrix.T + shift - wanted
    return float(np.abs(off[:, 1]).max()), float(np.ptp(off[:, 0]))


def main(repeats=REPEATS):
    print("%d repeats, slips %.1f mm, 150 dpi, a plank of 4 m; mm, 95 of 100 lie below" % (repeats, SLIP_MM))
    for sheet, side, bow in (("A3", "along", "bowed"), ("A3", "across", "bowed"), ("A4", "along", "bowed"),
                             ("A4", "along", "straight"), ("A4", "across", "bowed")):
        matter = make_matter(length=4000.0, width=130.0, bowed=bow == "bowed")
        tiles = read_tiles(lay_out_tiles(matter, medium=MediumSettings(sheet=sheet, long_side=side,
                                                                       edge_mm=EDGE_MM))[0], np.random.default_rng(7))
        true = {name: np.array([min(t[1]), t[2]["below_mm"]]) - t[4] for name, t in tiles.items()}
        for told, lay in (("cross on cross", lay_by_crosses), ("by the line", lay_by_line)):
            rng = np.random.default_rng(20261129)
            off = np.array([measure(tiles, lay(tiles, rng), true) for _ in range(repeats)])
            bend, length = np.percentile(off, 95, axis=0)
            print("%s %-6s %-8s %2d tiles  %-15s bend %5.2f (limit %.1f)  along %5.2f"
                  % (sheet, side, bow, len(tiles), told, bend, LIMITS_MM[sheet], length), flush=True)


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:]))
