"""How near the truth a trace comes that was drawn by a pen that wanders, and how true the errors told are.

Planks of `invented_planks.py` (edges that are known functions, none a spline), ends raked, straight or bowed by up to
6 mm, their outline moved square to itself by a stationary wander and traced pixel by pixel at 150 dpi. The wander is
smooth (Gaussian correlation, exp(-d^2 / 2 l^2)) or rough (exp(-d / l)); the length l is what is printed. Both are made
by colouring white noise on the whole outline in the frequency domain, which shares nothing with the estimator.

1. Accuracy: rms of the long edges, the ends and the corners beside their limits; for the corners, how much of it lies
   along the long edge (the end's error) and across it (the long edge's). Without wobble too, and for exact curves
   instead of pixels.
2. Coverage: how much of the long edges, of the ends and how many corners lie within the band that is told, and within
   twice that. What is told of an edge is one standard error, the largest along it; of a corner, both edges' own at the
   corner.
3. The wander that was found: its standard deviation, and the distance at which agreement has fallen to 1/e.

    python tests/benchmarks/wandering_traces.py [PLANKS]
"""
from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).resolve().parent)]

from invented_planks import invent_plank
from pixel_tracing import fill_pixels, trace_pixels
from trace_accuracy import PIXEL_MM, extend

from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.polyline import measure_arc_mm, measure_distance_mm
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern

FIRST_SEED = 3000                # beside the planks that anything was chosen by
SD_MM = 0.2
LIMITS_MM = {"long": 0.10, "corners": 0.28}
STILL_MM = 0.01
COVER = 0.85
KINDS = [("smooth", 30.0), ("rough", 30.0), ("smooth", 20.0), ("smooth", 50.0), ("smooth", 100.0), ("rough", 20.0),
         ("rough", 50.0), ("rough", 100.0)]
LENGTH_OVER = {"smooth": np.sqrt(2.0), "rough": 1.0}       # distance to 1/e over l


def draw_sides(seed):
    """True sides of an invented plank, bow to the right: upper (fore to aft), aft, lower (aft to fore), fore (lower to
    upper), each a dense polyline (n, 2) mm. Half of the ends are straight.
    """
    length, upper, lower = invent_plank(seed)
    rng = np.random.default_rng(40_000 + seed)
    width = float(lower(0.0) - upper(0.0))
    rake_fore, rake_aft = rng.uniform(-0.25, 0.25, 2) * width
    bows = rng.uniform(-6, 6, 2) * (rng.random(2) < 0.5)
    top = np.linspace(length, 0, int(length) + 1)
    bottom = np.linspace(-rake_aft, length + rake_fore, int(length) + 1)
    u, v = np.column_stack([top, upper(top)]), np.column_stack([bottom, lower(bottom)])
    t = np.linspace(0, 1, 201)[:, None]
    fore = v[-1] + (u[0] - v[-1]) * t + bows[0] * 4 * t * (1 - t) * np.array([1.0, 0.0])
    aft = u[-1] + (v[0] - u[-1]) * t - bows[1] * 4 * t * (1 - t) * np.array([1.0, 0.0])
    low = np.vstack([u, v]).min(axis=0) - 40
    return [side - low for side in (u, aft, v, fore)]


def wander(sides, seed, *, kind, length_mm, sd_mm):
    """The sides as a pen that wanders draws them."""
    rng = np.random.default_rng(90_000 + seed)
    whole = sum(float(measure_arc_mm(s)[-1]) for s in sides)
    count = int(whole)
    turn = 2 * np.pi * np.fft.rfftfreq(count, whole / count) * length_mm
    power = np.exp(-turn ** 2 / 2) if kind == "smooth" else 1 / (1 + turn ** 2)
    slip = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) * np.sqrt(power), count)
    slip *= sd_mm / np.sqrt(np.fft.irfft(power, count)[0])
    at, slip = np.arange(count + 1) * whole / count, np.append(slip, slip[0])
    before, drawn = 0.0, []
    for side in sides:
        arc = measure_arc_mm(side)
        way = np.gradient(side, arc, axis=0)
        way /= np.hypot(*way.T)[:, None]
        drawn.append(side + np.interp(before + arc, at, slip)[:, None] * np.stack([way[:, 1], -way[:, 0]], axis=1))
        before += arc[-1]
    return drawn


def trace(drawn, *, pixels):
    """A Trace of the outline: the border of its pixels, or its own points."""
    ring = np.vstack([s[:-1] for s in drawn])
    loops = [ring]
    if pixels:
        columns, rows = (int(v / PIXEL_MM) + 100 for v in ring.max(axis=0))
        loops = trace_pixels(fill_pixels([ring], pixel_mm=PIXEL_MM, columns=columns, rows=rows), pixel_mm=PIXEL_MM)
    runs = []
    for loop in loops:
        loop = np.vstack([loop, loop[:1]])
        runs.append((loop[:-1, None] + np.diff(loop, axis=0)[:, None] * (np.arange(4) / 3)[None, :, None], True))
    return Trace(tuple(runs), "trace")


def measure_plank(seed, *, kind="smooth", length_mm=30.0, sd_mm=SD_MM, pixels=True):
    """Of one plank: squares of the distances by kind of edge; distances over what is told; corners (along, across, over
    what is told); wander found.
    """
    sides = draw_sides(seed)
    drawn = wander(sides, seed, kind=kind, length_mm=length_mm, sd_mm=sd_mm) if sd_mm else sides
    plank = fair_plank(read_pattern([trace(drawn, pixels=pixels)], forward="right"), settings=FairSettings())
    upper, aft, lower, fore = sides
    found = {"long": [], "ends": [], "long over": [], "ends over": [], "corners": [], "corners over": []}
    for name, true in (("upper", upper), ("lower", lower), ("fore", fore), ("aft", aft)):
        edge, what = plank.edges[name], "long" if name in ("upper", "lower") else "ends"
        points = edge.curve.evaluate(edge.curve.find_places(np.linspace(0, edge.curve.measure_length_mm(), 200)))
        off = measure_distance_mm(points, extend(true))
        found[what].append(off)
        found[what + " over"].append(off / max(edge.band_mm, 1e-9))
    corners = {"upper fore": (upper, 0, 1, fore), "upper aft": (upper, -1, -2, aft), "lower aft": (lower, 0, 1, aft),
               "lower fore": (lower, -1, -2, fore)}
    for name, at in plank.find_corners().items():
        line, here, next_, _ = corners[name]
        way = (line[here] - line[next_]) / np.hypot(*(line[here] - line[next_]))
        off = at - line[here]
        along, across = float(off @ way), float(off @ [-way[1], way[0]])
        long, end = name.split()
        found["corners"].append((along, across))
        found["corners over"].append(np.hypot(along, across)
                                     / max(np.hypot(plank.edges[long].band_mm, plank.edges[end].band_mm), 1e-9))
    found["wander"] = (plank.edges["upper"].wander_mm, plank.edges["upper"].wander_length_mm)
    return found


def measure_kind(seeds, **kind):
    """Figures of many planks: rms in mm of long edges, worst plank's, ends, corners, along and across; shares within
    once and twice what is told of long edges, ends and corners; mean wander found.
    """
    rows = [measure_plank(seed, **kind) for seed in seeds]

    def gather(key):
        return np.concatenate([np.asarray(r[key], float) for r in rows])
    corners = gather("corners")
    figures = {"long": _rms(gather("long")), "worst": max(_rms(r["long"]) for r in rows), "ends": _rms(gather("ends")),
               "corners": _rms(np.hypot(*corners.T)), "along": _rms(corners[:, 0]), "across": _rms(corners[:, 1]),
               "wander": np.mean([r["wander"] for r in rows], axis=0)}
    for what in ("long", "ends", "corners"):
        over = gather(what + " over")
        figures[what + " cover"] = (float(np.mean(over <= 1)), float(np.mean(over <= 2)))
    return figures


def _rms(values):
    return float(np.sqrt(np.mean(np.square(values))))


def main(planks):
    """Print all figures."""
    seeds = range(FIRST_SEED, FIRST_SEED + planks)
    print("%d planks a kind, 150 dpi, wander of %.1f mm (standard deviation); limits: long edges %.2f mm rms, corners "
          "%.2f; within once what is told of long edges %.2f"
          % (planks, SD_MM, LIMITS_MM["long"], LIMITS_MM["corners"], COVER))
    for kind, length in KINDS:
        f = measure_kind(seeds, kind=kind, length_mm=length)
        limits = length == 30.0
        print("%-6s %3.0f mm: long edges %.3f%s, worst plank %.3f; ends %.3f; corners %.3f%s (along %.3f, across "
              "%.3f); within once, twice what is told: long %.2f %.2f%s, ends %.2f %.2f, corners %.2f %.2f; wander "
              "found %.2f mm, %.0f mm to 1/e (true %.0f)"
              % (kind, length, f["long"], _judge(f["long"] <= LIMITS_MM["long"], limits), f["worst"], f["ends"],
                 f["corners"], _judge(f["corners"] <= LIMITS_MM["corners"], limits), f["along"], f["across"],
                 *f["long cover"], _judge(f["long cover"][0] >= COVER, True), *f["ends cover"], *f["corners cover"],
                 *f["wander"], length * LENGTH_OVER[kind]), flush=True)
    for what, pixels in (("pixels without wobble", True), ("exact curves", False)):
        f = measure_kind(seeds, sd_mm=0.0, pixels=pixels)
        print("%-22s: long edges %.4f (limit %.2f)%s; ends %.4f; corners %.4f"
              % (what, f["long"], STILL_MM, _judge(f["long"] <= STILL_MM, True), f["ends"], f["corners"]), flush=True)


def _judge(holds, is_asked):
    return "" if holds or not is_asked else " OVER"


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
