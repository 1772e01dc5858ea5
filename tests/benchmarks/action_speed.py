"""What each action costs in the processor, as a process over an editor effect that does nothing, on the same drawing.

The drawings are made by the actions themselves from the samples (an invented boat): each action is measured on the
drawing it meets in the order of work, with all that the actions before it have drawn. Action and idle effect run in
turn; the least of each counts. CPU seconds of the process, user and system, so that what else the machine does matters
little. Limits: true up, join, marks, stations, allowance and joints 2.5; section, fastenings, turn, record, check and
one sheet 4. Choose Stock searches, and is printed without a limit;
Fair Plank is measured
on 20,000 nodes in speed.py.

    python tests/benchmarks/action_speed.py [RUNS] [ACTION ...]
"""
from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import tomllib

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "samples" / "tamsin_grey"
LIMITS = {"true_up": 2.5, "join": 2.5, "marks": 2.5, "stations": 2.5, "allowance": 2.5, "joints": 2.5,
          "section": 4.0, "fastenings": 4.0, "turn": 4.0, "record": 4.0, "check": 4.0, "plot": 4.0}
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
    around = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
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


def main(runs=5, wanted=()):
    with tempfile.TemporaryDirectory() as place:
        idle = Path(place) / "idle.py"
        idle.write_text(IDLE)
        for recipe in ("strake_6/strake_6.toml", "strake_3.toml"):
            print(recipe)
            for action, cpu, base, size in measure_recipe(recipe, runs=runs, wanted=wanted, idle=idle):
                limit = "   limit %.1f" % LIMITS[action] if action in LIMITS else ""
                print("  %-11s %5.2f   (%.2f over %.2f s, %d kB)%s"
                      % (action, cpu / base, cpu, base, size // 1000, limit), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5, tuple(sys.argv[2:]))
