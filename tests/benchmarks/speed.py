"""What the actions cost in the processor.

1. Every action as a process over an editor effect that does nothing, on the same drawing, beside its limit. The
   drawings are made by the actions themselves from the samples (an invented boat): each action is measured on the
   drawing it meets in the order of work, with all that the actions before it have drawn. Fair Plank is measured once
   more on a trace of 20,000 nodes of a 5 m plank as a bitmap tracer writes it (outer and inner border of a marker
   line, relative curves in short numbers). Action and idle effect run in turn; the least of each counts. CPU seconds
   of the process, user and system, so that what else the machine does matters little. Choose Stock searches, and has
   no limit.
2. The recipe of the whole side, in CPU seconds, beside its limit.
3. The fairing kernel at 100,000 points over scipy.interpolate.make_smoothing_spline with the same penalty. Aim 1. Ours
   has a knot to every sixth of the wave, scipy's one to every point; how far each lies from scipy's curve through every
   fiftieth point is printed too (at this number of points scipy's own rounding is more than a mm).
4. Growth of reading and fairing, in one process, from 1,000 to 1,000,000 nodes: exponent of the time. Limit 1.1.

    python tests/benchmarks/speed.py [RUNS] [NAME ...]

NAME is an action (true_up, joints and so on), trace, side, kernel or growth; without one all are measured.
"""
from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import tomllib
from scipy.interpolate import make_smoothing_spline

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT)]

from plankcore.document.pathdata import read_path
from plankcore.fair.fair import FairSettings, fair_plank
from plankcore.geometry.smoothing import fit_penalised_spline, space_knots, wave_to_penalty
from plankcore.model.plank import Trace
from plankcore.scan.pattern import read_pattern

SAMPLES = ROOT / "samples" / "tamsin_grey"
LIMITS = {"true_up": 2.5, "join": 2.5, "marks": 2.5, "stations": 2.5, "allowance": 2.5, "joints": 2.5,
          "fair": 2.5, "section": 4.0, "fastenings": 4.0, "turn": 4.0, "record": 4.0, "check": 4.0, "plot": 4.0}
TRACE_LIMIT, SIDE_LIMIT_S, GROWTH_LIMIT = 1.4, 60.0, 1.1
LENGTH_MM = 5000.0
IDLE = ("import inkex\n\n\nclass Idle(inkex.EffectExtension):\n    def effect(self):\n        return False\n\n\nif "
        "__name__ == '__main__':\n    Idle().run()\n")
# steps of other samples put in where their recipe has none: (after this action, action, settings)
MORE = {"strake_3.toml": (("section", "joints",
                           {"joints": "none", "rule": "three-and-three", "joint_file": "joints.csv",
                            "frame_file": "frames.csv", "siding": "45 mm",
                            "fore_end": "hood", "aft_end": "butt"}),
                          ("joints", "fastenings", {"sided": "45 mm"}),
                          ("record", "turn", {"symmetry": "diagonals, J. Calder (invented)"}),)}


def run_process(arguments, around):
    """CPU seconds of a process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(arguments, env=around, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode:
        raise SystemExit("%s\n%s" % (" ".join(map(str, arguments)), done.stderr.decode()[-2000:]))
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def list_surroundings():
    """The environment of a process, in which compiled files are kept, as in an installation."""
    return {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}


def list_steps(recipe):
    """(folder, drawing, action, settings, selected ids) of a sample's first plank, in the order of work."""
    place = SAMPLES / recipe
    data = tomllib.loads(place.read_text(encoding="utf-8"))
    plank = data["plank"][0]
    steps = []
    for step in plank["step"]:
        action, select = step.pop("action"), step.pop("select", [])
        step.pop("planks", None)
        steps.append((action, {**data.get("every", {}).get(action, {}), **step}, select))
        for after, more, settings in MORE.get(place.name, ()):
            if after == steps[-1][0]:
                steps.append((more, settings, []))
    return (place.parent / plank["drawing"]), steps


def measure_recipe(recipe, *, runs, wanted, idle):
    """Yields (action, CPU s of the action, CPU s of the idle effect, bytes of the drawing)."""
    drawing, steps = list_steps(recipe)
    around = list_surroundings()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "work"
        shutil.copytree(drawing.parent, folder, ignore=shutil.ignore_patterns("out"))
        now = folder / drawing.name
        for count, (action, settings, select) in enumerate(steps):
            script = ROOT / "extensions" / ("plank_%s.py" % action)
            out = folder / ("step_%d.svg" % count)
            words = ["--%s=%s" % (k, str(v).lower() if isinstance(v, bool) else v)
                     for k, v in settings.items()] + ["--id=" + s for s in select]
            best = {}
            for _ in range(runs if not wanted or action in wanted else 1):
                for name, arguments in (("idle", [sys.executable, str(idle), "--output=" + str(out), str(now)]),
                                        ("action",
                                         [sys.executable, str(script), *words, "--output=" + str(out), str(now)])):
                    out.unlink(missing_ok=True)
                    best[name] = min(best.get(name, float("inf")), run_process(arguments, around))
            if not wanted or action in wanted:
                yield action, best["action"], best["idle"], now.stat().st_size
            now = out if out.exists() else now


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


def measure_trace(folder, *, runs, idle):
    """CPU s of Fair Plank and of the idle effect on a trace of 20,000 nodes, the least of each."""
    place = folder / "trace.svg"
    place.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="5100mm" height="420mm" viewBox="0 0 5100 420">'
                     '<path id="trace" style="fill:#000000;stroke-width:0.17" d="%s"/></svg>' % write_trace(20_000))
    scripts = {"idle": idle, "fair": ROOT / "extensions" / "plank_fair.py"}
    best = dict.fromkeys(scripts, float("inf"))
    for _ in range(runs + 1):
        for name, script in scripts.items():
            out = folder / ("out-%s.svg" % name)
            out.unlink(missing_ok=True)
            best[name] = min(best[name], run_process([sys.executable, str(script), "--id=trace",
                                                      "--output=" + str(out), str(place)], list_surroundings()))
    if b'role="edge"' not in (folder / "out-fair.svg").read_bytes():
        raise SystemExit("Fair Plank wrote no edges")
    return best["fair"], best["idle"]


def measure_side(folder):
    """CPU s of the recipe of the whole side, run on a copy of the samples."""
    shutil.copytree(SAMPLES, folder / "side", ignore=shutil.ignore_patterns("out"))
    return run_process([sys.executable, "-m", "plankcore.command.main", "run", str(folder / "side" / "side.toml")],
                       {**list_surroundings(), "PYTHONPATH": str(ROOT)})


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


def tell(name, value, limit, more):
    """A figure beside its limit."""
    print("  %-12s %6.2f   %-12s %-5s %s" % (name, value, "limit %.1f" % limit if limit else "", "OVER" if limit and
                                           value > limit else "", more), flush=True)


def main(runs=5, wanted=()):
    """Print the figures of all, or of those wanted."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        idle = folder / "idle.py"
        idle.write_text(IDLE)
        actions = [name for name in wanted if name not in ("trace", "side", "kernel", "growth")]
        for recipe in ("strake_6/strake_6.toml", "strake_3.toml") if actions or not wanted else ():
            print("%s, CPU over an idle effect" % recipe)
            for action, cpu, base, size in measure_recipe(recipe, runs=runs, wanted=actions, idle=idle):
                tell(action, cpu / base, LIMITS.get(action), "%.2f over %.2f s, %d kB" % (cpu, base, size // 1000))
        if not wanted or "trace" in wanted:
            print("a trace of 20,000 nodes, CPU over an idle effect")
            fair, base = measure_trace(folder, runs=runs, idle=idle)
            tell("fair", fair / base, TRACE_LIMIT, "%.2f over %.2f s" % (fair, base))
        if not wanted or "side" in wanted:
            print("side.toml, CPU s")
            tell("side", measure_side(folder), SIDE_LIMIT_S, "")
    if not wanted or "kernel" in wanted:
        ours, theirs, off, other = time_kernel()
        print("fairing kernel over make_smoothing_spline, 100,000 points")
        tell("kernel", ours / theirs, None, "%.0f over %.0f ms; off by %.4f and %.4f mm; aim 1"
             % (1e3 * ours, 1e3 * theirs, off, other))
    if not wanted or "growth" in wanted:
        times, exponent, last = time_growth()
        print("reading and fairing 1e3, 1e4, 1e5, 1e6 nodes, exponent of the time")
        tell("growth", exponent, GROWTH_LIMIT, "%s s; over the last decade %.2f"
             % (", ".join("%.3f" % t for t in times), last))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5, tuple(sys.argv[2:]))
