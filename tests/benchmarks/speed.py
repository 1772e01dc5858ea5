"""What Fair Plank costs.

1. As a process, over an editor effect that does nothing, on the same drawing: a trace of 20,000 nodes of a 5 m plank as
a bitmap
   tracer writes it (outer and inner border of a marker line, relative curves in short numbers). Both run in turn; the
   fastest of each counts. Aim 1.3, limit 1.6. The fair plank is written as well; the idle effect writes nothing.
2. The fairing kernel at 100,000 points over scipy.interpolate.make_smoothing_spline with the same penalty. Aim 1. Ours
has a knot
   to every sixth of the wave, scipy's one to every point; how far each lies from scipy's curve through every fiftieth
   point is printed too (at this number of points scipy's own rounding is more than a mm).
3. Growth of reading and fairing, in one process, from 1,000 to 1,000,000 nodes: exponent of the time. Limit 1.1.

    python tests/benchmarks/speed.py [RUNS]
"""
from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from scipy.interpolate import make_smoothing_spline

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT)]

from plankcore.document.pathdata import read_path
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.smoothing import fit_penalised_spline, space_knots, wave_to_penalty
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern

IDLE = ("import inkex\n\n\nclass Idle(inkex.EffectExtension):\n    def effect(self):\n        return False\n\n\nif "
        "__name__ == '__main__':\n    Idle().run()\n")
LENGTH_MM = 5000.0


def draw_border(count, grow):
    """A closed border of so many points round an invented plank, grown outward by so much, with a hand's wobble."""
    side = count // 2 - 12
    x = np.linspace(40 - grow, 40 + LENGTH_MM + grow, side)
    middle, width = 260 - 2.4e-5 * (x - 40) * (5040 - x), 160 - 0.008 * (x - 40) + 10 * np.sin(
        np.pi * (x - 40) / LENGTH_MM)
    slip = [sum(0.08 * np.sin(2 * np.pi * x / wave + 7 * k + wave) for wave in (83, 120, 170, 260)) for k in (0, 1)]
    upper = np.column_stack([x, middle - width / 2 - grow + slip[0]])
    lower = np.column_stack([x, middle + width / 2 + grow + slip[1]])[::-1]
    t = np.linspace(0, 1, 14)[1:-1, None]
    return np.vstack([upper, upper[-1] + t * (lower[0] - upper[-1]), lower, lower[-1] + t * (upper[0] - lower[-1])])


def write_border(points):
    """Path text in a tracer's manner: one absolute moveto, then relative curves with four decimals, each measured from
    where the last one ended.
    """
    ways = np.gradient(np.vstack([points[-1:], points, points[:2]]), axis=0)[1:-1] / 3
    pen = np.round(points[0], 4)
    words = ["M %s,%s c" % tuple(_number(v) for v in pen)]
    for k, end in enumerate(np.vstack([points[1:], points[:1]])):
        steps = np.round(np.stack([points[k] + ways[k], end - ways[k + 1], end]) - pen, 4)
        words.append(" ".join("%s,%s" % (_number(a), _number(b)) for a, b in steps))
        pen = pen + steps[2]
    return " ".join(words) + " z"


def _number(value):
    return ("%.4f" % value).rstrip("0").rstrip(".") or "0"


def write_trace(count):
    """The path text of both borders, count nodes in all."""
    return " ".join(write_border(draw_border(count // 2, grow)) for grow in (2.0, -2.0))


def time_process(runs):
    """Fastest run of Fair Plank and of an idle effect, s, and bytes a node."""
    text = write_trace(20_000)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "trace.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="5100mm" height="420mm" viewBox="0 0 5100 420">'
                                          '<path id="trace" style="fill:#000000;stroke-width:0.17" d="%s"/></svg>'
            % text)
        (folder / "idle.py").write_text(IDLE)
        scripts = {"idle": folder / "idle.py", "fair": ROOT / "extensions" / "plank_fair.py"}
        # compiled files are kept, as in an installation
        around = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        best = dict.fromkeys(scripts, np.inf)
        for _ in range(runs + 1):
            for name, script in scripts.items():
                out = folder / ("out-%s.svg" % name)
                began = time.perf_counter()
                subprocess.run([sys.executable, str(script), "--id=trace", "--output=" + str(out),
                                str(folder / "trace.svg")], env=around, check=True)
                best[name] = min(best[name], time.perf_counter() - began)
        if b'role="edge"' not in (folder / "out-fair.svg").read_bytes():
            raise SystemExit("Fair Plank wrote no edges")
    return best["fair"], best["idle"], len(text) / 20_000


def time_kernel(count=100_000, runs=5):
    """Fastest run of our penalised fit and of scipy's with the same penalty, s, and how far each lies off scipy's
    through fewer points, mm.
    """
    x = np.linspace(0, LENGTH_MM, count)
    y = 120 * np.sin(x / 1500) + sum(0.1 * np.sin(2 * np.pi * x / wave) for wave in (61, 90, 140, 230))
    wave = 600.0
    lam = wave_to_penalty(wave, order=2)
    knots = space_knots(0, LENGTH_MM, spacing=wave / 6, degree=3)
    weights = np.full(count, x[1])
    ours, theirs = np.inf, np.inf
    for _ in range(runs):
        began = time.perf_counter()
        fit = fit_penalised_spline(x, y, penalty=lam, order=2, knots=knots, degree=3, weights=weights)
        ours = min(ours, time.perf_counter() - began)
        began = time.perf_counter()
        spline = make_smoothing_spline(x, y, lam=lam / x[1])
        theirs = min(theirs, time.perf_counter() - began)
    few = make_smoothing_spline(x[::50], y[::50], lam=lam / (50 * x[1]))
    inside = (x > wave) & (x < LENGTH_MM - wave)
    return ours, theirs, float(np.abs(fit.spline.evaluate(x) - few(x))[inside].max()), float(
        np.abs(spline(x) - few(x))[inside].max())


def time_growth(counts=(1_000, 10_000, 100_000, 1_000_000)):
    """Time of reading and fairing for each count of nodes, s, and the exponent from the first to the last and over the
    last decade.
    """
    times = []
    for count in counts:
        text = write_trace(count)
        best = np.inf
        for _ in range(3 if count > 50_000 else 7):
            began = time.perf_counter()
            runs = tuple((run.cubics, run.closed) for run in read_path(text, where="trace"))
            fair_plank(read_pattern([Trace(runs, "trace")], forward="right"), settings=FairSettings())
            best = min(best, time.perf_counter() - began)
        times.append(best)
    return times, float(np.log(times[-1] / times[0]) / np.log(counts[-1] / counts[0])), float(
        np.log(times[-1] / times[-2]) / np.log(counts[-1] / counts[-2]))


def main(runs=15):
    fair, idle, size = time_process(runs)
    print("Fair Plank as a process over an idle effect, 20,000 nodes of %.0f bytes: %.2f (%.0f over %.0f ms)   aim "
          "1.3, limit 1.6" % (size, fair / idle, 1e3 * fair, 1e3 * idle), flush=True)
    ours, theirs, off, other = time_kernel()
    print("Fairing kernel over make_smoothing_spline, 100,000 points: %.2f (%.0f over %.0f ms; off by %.4f and %.4f "
          "mm)   aim 1" % (ours / theirs, 1e3 * ours, 1e3 * theirs, off, other), flush=True)
    times, exponent, last = time_growth()
    print("Reading and fairing 1e3, 1e4, 1e5, 1e6 nodes: %s s, exponent %.2f, over the last decade %.2f   limit 1.1"
          % (", ".join("%.3f" % t for t in times), exponent, last))


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))
