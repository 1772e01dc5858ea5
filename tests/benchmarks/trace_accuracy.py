"""How near the truth a faired 150 dpi trace comes.

Invented planks drawn with a hand that wobbles (seven waves of 60 to 300 mm all round) by 0.2 mm: as its standard
deviation, and as the most it does, which is a standard deviation of some 0.08 mm; once as a filled shape and once as a
line 4 mm wide with an outer and an inner border; every border is the exact staircase of the pixels. Ends raked either
way, straight, every third fore end bowed by 3 mm.
Printed for each kind: rms
distance of the fair long edges from the truth, pooled and of the worst plank (limit 0.10 mm), of the ends, and of the
corners (limit 0.5 mm):
rms, share within the limit, worst. Then the same for the editor's own trace of samples/tamsin_grey.

    python tests/benchmarks/trace_accuracy.py
"""
from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import shapely

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "samples" / "tamsin_grey"), str(Path(__file__).resolve().parent)]

from invented_planks import invent_plank
from pixel_tracing import fill_pixels, trace_pixels

from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.polyline import measure_arc_mm, measure_distance_mm
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern

PIXEL_MM = 25.4 / 150
WOBBLES_MM = {"0.2 mm at most": 0.08, "0.2 mm sd": 0.2}
WAVES_MM = (60.0, 300.0)
LINE_MM = 4.0
RMS_LIMIT_MM, CORNER_LIMIT_MM = 0.10, 0.5
PLANKS = 15


def draw_sides(seed):
    """True sides of an invented plank on its page as dense polylines, bow to the right: upper (fore to aft), aft, lower
    (aft to fore), fore (lower to upper).
    """
    length, upper, lower = invent_plank(seed)
    rng = np.random.default_rng(500 + seed)
    width = float(lower(0.0) - upper(0.0))
    rake_fore, rake_aft = rng.uniform(-0.25, 0.25, 2) * width
    top = np.linspace(length, 0, int(length) + 1)
    bottom = np.linspace(-rake_aft, length + rake_fore, int(length) + 1)
    u, v = np.column_stack([top, upper(top)]), np.column_stack([bottom, lower(bottom)])
    t = np.linspace(0, 1, 201)[:, None]
    fore = v[-1] + (u[0] - v[-1]) * t
    if seed % 3 == 0:
        fore = fore + 3.0 * 4 * t * (1 - t) * np.array([1.0, 0.0])
    aft = u[-1] + (v[0] - u[-1]) * t
    low = np.vstack([u, v]).min(axis=0) - 40
    return [side - low for side in (u, aft, v, fore)]


def wobble(sides, seed, sd_mm):
    """The sides as a hand draws them, each point moved square to its side."""
    rng = np.random.default_rng(900 + seed)
    round_mm = sum(measure_arc_mm(s)[-1] for s in sides)
    times = np.round(round_mm / np.geomspace(*WAVES_MM, 7))
    phase, height = rng.uniform(0, 2 * np.pi, 7), rng.uniform(0.6, 1.4, 7)
    height *= sd_mm / np.sqrt(np.sum(height ** 2) / 2)
    before, drawn = 0.0, []
    for side in sides:
        arc = measure_arc_mm(side)
        slip = np.sin(2 * np.pi * np.outer(before + arc, times) / round_mm + phase) @ height
        way = np.gradient(side, arc, axis=0)
        way /= np.hypot(*way.T)[:, None]
        drawn.append(side + slip[:, None] * np.stack([way[:, 1], -way[:, 0]], axis=1))
        before += arc[-1]
    return drawn


def draw_traces(sides, seed, *, line, sd_mm):
    """A Trace of the pixel borders: of the filled shape, or of a line of LINE_MM with both its borders."""
    ring = shapely.Polygon(np.vstack([s[:-1] for s in wobble(sides, seed, sd_mm)])).buffer(0)
    rings = [ring]
    if line:
        rings = [ring.buffer(LINE_MM / 2), ring.buffer(-LINE_MM / 2, join_style="mitre")]
    columns, rows = (int(v / PIXEL_MM) + 40 for v in ring.bounds[2:])
    ink = fill_pixels([np.array(r.exterior.coords)[:-1] for r in rings], pixel_mm=PIXEL_MM, columns=columns + 60,
                      rows=rows + 60)
    runs = []
    for loop in trace_pixels(ink, pixel_mm=PIXEL_MM):
        loop = np.vstack([loop, loop[:1]])
        runs.append((loop[:-1, None] + np.diff(loop, axis=0)[:, None] * (np.arange(4) / 3)[None, :, None], True))
    return [Trace(tuple(runs), "pixels")]


def compare(plank, truth, corners):
    """Mean square distance of long edges and ends, and distances of the four corners, mm."""
    off = {}
    for name, line in truth.items():
        curve = plank.edges[name].curve
        points = curve.evaluate(curve.find_places(np.linspace(0, curve.measure_length_mm(), 400)))
        off[name] = measure_distance_mm(points, line)
    found = plank.find_corners()
    return (float(np.mean(np.concatenate([off["upper"], off["lower"]]) ** 2)),
            float(np.mean(np.concatenate([off["fore"], off["aft"]]) ** 2)),
            [float(np.hypot(*(found[k] - corners[k]))) for k in found])


def extend(line, reach=3.0):
    """A polyline run straight on at both ends, so that a corner a little past the true one is not counted twice."""
    a, b = line[0] - line[1], line[-1] - line[-2]
    return np.vstack([line[0] + reach * a / np.hypot(*a), line, line[-1] + reach * b / np.hypot(*b)])


def measure_plank(seed, *, line, sd_mm):
    """compare() for one invented plank."""
    upper, aft, lower, fore = sides = draw_sides(seed)
    pattern = read_pattern(draw_traces(sides, seed, line=line, sd_mm=sd_mm), forward="right", line_edge="middle")
    plank = fair_plank(pattern, settings=FairSettings())
    truth = {"upper": extend(upper), "lower": extend(lower), "fore": extend(fore), "aft": extend(aft)}
    return compare(plank, truth,
                   {"upper fore": upper[0], "upper aft": upper[-1], "lower aft": lower[0], "lower fore": lower[-1]})


def measure_kind(seeds, *, line, sd_mm):
    """Rms of the long edges, pooled and of the worst plank, rms of the ends, and all corners' distances, mm."""
    rows = [measure_plank(seed, line=line, sd_mm=sd_mm) for seed in seeds]
    long, ends = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    return float(np.sqrt(long.mean())), float(np.sqrt(long.max())), float(np.sqrt(ends.mean())), np.concatenate(
        [r[2] for r in rows])


def measure_sample():
    """compare() for the editor's trace of the sample, against its truth."""
    import truth
    path = ROOT / "samples" / "tamsin_grey" / "strake_5_traced.svg"
    drawing = Drawing(load_document(path.read_bytes(), where=path.name).getroot())
    traces, _, _ = drawing.find_source()
    plank = fair_plank(read_pattern(traces, forward="right"), settings=FairSettings())
    t = np.linspace(-0.01, 1.01, 20001)
    corners = {k.split("_")[1] + " " + k.split("_")[0]: v for k, v in truth.corners_mm().items()}
    return compare(plank, {"upper": truth.upper_edge_mm(t), "lower": truth.lower_edge_mm(t),
                           "fore": truth.fore_end_mm(t), "aft": truth.aft_end_mm(t)}, corners)


def main():
    for name, sd in WOBBLES_MM.items():
        for what, line in (("filled shape", False), ("line of %.0f mm" % LINE_MM, True)):
            rms, worst, ends, corners = measure_kind(range(PLANKS), line=line, sd_mm=sd)
            print("wobble %-15s %-14s %d planks: long edges rms %.3f mm, worst plank %.3f (limit %.2f); ends rms "
                  "%.3f; corners rms %.2f, %.0f %% within %.1f mm, worst %.2f"
                  % (name, what, PLANKS, rms, worst, RMS_LIMIT_MM, ends, np.sqrt(np.mean(corners ** 2)),
                     100 * np.mean(corners <= CORNER_LIMIT_MM), CORNER_LIMIT_MM, corners.max()),
                  flush=True)
    long, ends, corners = measure_sample()
    print("samples/tamsin_grey: long edges rms %.3f mm; ends rms %.3f; worst corner %.2f mm"
          % (np.sqrt(long), np.sqrt(ends), max(corners)))


if __name__ == "__main__":
    main()
