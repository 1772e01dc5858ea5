"""Plants forty named faults, one at a time, in the formulas by which wood is cut; says which of them the tests miss.

    python tests/mutants.py                   each fault against the few files of tests that should see it
    python tests/mutants.py --full            against all of tests/unit, tests/reference and tests/properties
    python tests/mutants.py "red for blue"    those faults alone whose names hold one of these words
    python tests/mutants.py --list            only finds the places

It works in a copy of this tree and changes nothing here. A fault is a short text that stands once in plankcore, and
what is put in its place; where the text stands no longer, or twice, the script says so and ends with 2: then the
formula was moved or rewritten, and its fault is to be given anew. First the tests must pass without a fault. It ends
with 1 where a fault was missed. Not part of the tests: the few files take some ten minutes of one core, --full hours.
"""
import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections import namedtuple
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SECONDS = 300             # for the tests of one fault: one that never ends counts as seen
FULL_SECONDS = 3600
ALL = ("tests/unit", "tests/reference", "tests/properties")
LEFT_BEHIND = (".git", "__pycache__", ".venv", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis", "build")

Fault = namedtuple("Fault", "name sound planted tests")

FAULTS = (
    # size and place of what was drawn
    Fault("page: a pixel of 90 to the inch", '"px": 25.4 / 96, ', '"px": 25.4 / 90, ',
          ("unit/document/test_scale.py",)),
    Fault("true up: a pattern above the dots made larger", "(1 - share) * np.eye(2)", "(1 + share) * np.eye(2)",
          ("unit/scan/test_true_up.py",)),
    Fault("join: the pieces turned the other way", "turn, x, y = q[3 * self.free.index(k):][:3]",
          "turn, x, y = q[3 * self.free.index(k):][:3] * [-1, 1, 1]",
          ("unit/scan/test_join.py",)),
    Fault("corners: of several crossings the one farthest from the corner",
          "min(hits, key=lambda hit: float(np.hypot(*(hit[2] - corner",
          "max(hits, key=lambda hit: float(np.hypot(*(hit[2] - corner",
          ("unit/geometry/test_outline.py",)),
    Fault("marks: rows nearer than their scatter are taken for two edges", "> APART * scatter",
          "> 0.3 * APART * scatter", ("unit/scan/test_marks.py",)),
    Fault("marks: their scatter is told from three times its honest share on", "MOST_SCATTER = 2.0",
          "MOST_SCATTER = 3.0", ("unit/fair/test_fair.py",)),
    # fairing
    Fault("fairing: a wave of twice the length is kept", "(wave / (2 * np.pi)) ** (2 * order)",
          "(wave / np.pi) ** (2 * order)", ("unit/geometry/test_smoothing.py",)),
    Fault("fairing: the ladder of waves without the marks' spacing", "middle ** 2 * (spacing / (long / 2)) /",
          "middle ** 2 /", ("unit/geometry/test_spline_process.py",)),
    Fault("band: the marks' share counted twice", "weights @ part.cover) * weights, axis=1) - 2 *",
          "weights @ part.cover) * weights, axis=1) - 1 *",
          ("unit/geometry/test_spline_process.py", "reference/test_second_opinions.py")),
    # frames
    Fault("stations: the distance from the other end", "points, float) - self.start) @ self.along",
          "points, float) - self.start) @ -self.along", ("unit/stations",)),
    Fault("station numbers: a lost frame leaves no number free", "return round(ratio) if ratio > LONG",
          "return 1 if ratio > LONG", ("unit/stations",)),
    # section and bend
    Fault("bevel: the other face on the wrong side", "sense = -1.0 if shape.outboard else 1.0",
          "sense = 1.0 if shape.outboard else -1.0", ("unit/section/test_board.py",)),
    Fault("bevel: the angle between two planks taken whole", "None else np.radians(angle) / 2",
          "None else np.radians(angle)", ("unit/section/test_board.py",)),
    Fault("bevel: thickness of a round plank", "t * (2 + k * t)", "t * (2 - k * t)",
          ("reference/test_sections_by_hand.py", "unit/section/test_board.py")),
    Fault("seam: each plank takes all of it", "np.arctan(gap / (2 * thickness))", "np.arctan(gap / thickness)",
          ("reference/test_sections_by_hand.py", "unit/section/test_board.py")),
    Fault("hollow: the sagitta's own square left out", "(width_mm ** 2 + 4 * depth_mm ** 2)", "width_mm ** 2",
          ("reference/test_sections_by_hand.py", "unit/section/test_board.py")),
    Fault("growth in bending: the pattern's thickness added inside", "else (t - p) / 2)", "else (t + p) / 2)",
          ("reference/test_sections_by_hand.py", "unit/section/test_board.py")),
    # the saw line
    Fault("saw line: inside the net line", "offset_curve(c, left * d, ", "offset_curve(c, -left * d, ",
          ("unit/allowance/test_saw_line.py",)),
    Fault("saw line of a board: the inner of both faces", "b.extend(reach), left=left)", "b.extend(reach), left=-left)",
          ("unit/allowance/test_board.py",)),
    Fault("swelling: all of it left off each edge", "return share / 2 * np.interp", "return share * np.interp",
          ("unit/allowance/test_swelling.py",)),
    # joints
    Fault("scarf: length along its face for length along the plank", "length = slope * thickness_mm",
          "length = math.hypot(slope, 1.0) * thickness_mm", ("unit/joints/test_place.py",)),
    Fault("scarf: its parts overlap by half of it", "sign * length_mm / 2 * aft", "sign * length_mm / 4 * aft",
          ("unit/joints/test_place.py",)),
    Fault("scarfs half a length apart are in no plane across", "apart < scarf_mm - _SLACK",
          "apart < scarf_mm / 2 - _SLACK", ("unit/joints/test_judge.py",)),
    Fault("butt block: the larger side of the bay for the smaller", "clear = 2 * min(joint.distance_mm",
          "clear = 2 * max(joint.distance_mm", ("unit/joints/test_place.py",)),
    Fault("butt block: a gap to drain at one end alone", "clear_mm - 2 * drain_mm", "clear_mm - drain_mm",
          ("unit/joints/test_place.py",)),
    Fault("butt rule: the demand that is met best is told", "= min(demands, key=",
          "= max(demands, key=", ("unit/joints/test_judge.py",)),
    Fault("bays: a frame's own number, not the next", "float(np.searchsorted(x, distance_mm) - 1) + 0.5",
          "float(np.searchsorted(x, distance_mm)) + 0.5", ("unit/joints/test_frames.py", "unit/joints/test_place.py")),
    Fault("steps: joints in one bay are called a march", "0 < abs(shifts.pop())", "0 <= abs(shifts.pop())",
          ("unit/joints/test_judge.py",)),
    # fastenings
    Fault("fastenings: half the edge distance", "ground.edges[name]) - need)", "ground.edges[name]) - need / 2)",
          ("unit/fastenings/test_lay_out.py",)),
    Fault("fastenings: no wood between two plugs", "plug_mm + PLUG_WALL_MM if", "plug_mm if",
          ("unit/fastenings/test_lay_out.py",)),
    # stock
    Fault("stock: no margin but the sapwood", "settings.edge_mm + sap)", "sap)",
          ("unit/stock/test_choose.py", "reference/test_stock_fitting.py")),
    Fault("stock: run-out of a plank turned over", "(-self.run_deg if over else self.run_deg) + turn_deg",
          "self.run_deg + turn_deg", ("unit/stock/test_choose.py", "reference/test_stock_fitting.py")),
    # turning
    Fault("turning: the drawn face lies under where it lies up", "drawn_face_up=face == new_up)",
          "drawn_face_up=face != new_up)", ("unit/turn/test_turn.py",)),
    # plots
    Fault("tiles: laid side by side without their overlap", "begins = phases[:, None] + pitch * np.arange(count)",
          "begins = phases[:, None] + wide * np.arange(count)", ("unit/plot/test_tiles.py",)),
    Fault("medium: its lean doubled, not undone", "[[1 / p, -q / (p * r)]", "[[1 / p, q / (p * r)]",
          ("unit/plot/test_calibration.py",)),
    Fault("HP-GL: a thousandth of an inch for a unit", "UNITS_PER_MM = 40.0", "UNITS_PER_MM = 1000 / 25.4",
          ("reference/test_plot_files.py",)),
    Fault("DXF: inches", '(9, "$INSUNITS"), (70, 4)', '(9, "$INSUNITS"), (70, 1)',
          ("reference/test_plot_files.py",)),
    Fault("PDF: red for blue", "for v in (red, green, blue))", "for v in (blue, green, red))",
          ("reference/test_plot_files.py",)),
    # record and check
    Fault("record: tenths cut off, not rounded", "round(value_mm * 10) / 10", "int(value_mm * 10) / 10",
          ("unit/record/test_offsets.py",)),
    Fault("check: a scale bar may be out by ten times as much", "Limit(0.001, 0.002,", "Limit(0.01, 0.02,",
          ("unit/check/test_run.py",)),
)


def copy_tree(folder):
    """This tree, but for what is no source of it."""
    shutil.copytree(str(ROOT), str(folder), ignore=shutil.ignore_patterns(*LEFT_BEHIND, "*.egg-info"))
    return folder


def find_place(fault):
    """The file, below the root, in which a fault's text stands; a str that says what is wrong where it is not one."""
    found = []
    for path in sorted((ROOT / "plankcore").rglob("*.py")):
        found += [path.relative_to(ROOT)] * path.read_text(encoding="utf-8").count(fault.sound)
    if len(found) == 1:
        return found[0]
    where = ": %s" % ", ".join(map(str, found)) if found else ""
    return "'%s' stands %d times in plankcore%s" % (fault.sound, len(found), where)


def run_tests(folder, tests, seconds):
    """'passed', 'failed', 'never ended', or what else came of it; and the test that failed."""
    given = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(folder)}
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--no-header", *tests]
    try:
        done = subprocess.run(command, cwd=str(folder), env=given, timeout=seconds, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT)
    except subprocess.TimeoutExpired:
        return "never ended", ""
    said = done.stdout.decode("utf-8", "replace")
    seen = next((line for line in said.splitlines() if line.startswith(("FAILED", "ERROR"))), "")
    return {0: "passed", 1: "failed"}.get(done.returncode, "not run: %s" % said[-2000:]), seen


def plant(folder, place, fault):
    """Put a fault in the copy's file; the sound text is given back."""
    path = folder / place
    sound = path.read_text(encoding="utf-8")
    path.write_text(sound.replace(fault.sound, fault.planted), encoding="utf-8")
    return sound


def try_faults(folder, faults, *, full):
    """Names of the faults that the tests miss."""
    missed = []
    for number, (fault, place) in enumerate(faults, 1):
        began = time.monotonic()
        sound = plant(folder, place, fault)
        tests = ALL if full else ["tests/" + t for t in fault.tests]
        what, seen = run_tests(folder, tests, FULL_SECONDS if full else SECONDS)
        (folder / place).write_text(sound, encoding="utf-8")
        if what not in ("failed", "never ended"):
            missed.append(fault.name)
        print("%2d %s  %s (%s, %.0f s)  %s" % (number, "MISSED" if what == "passed" else what, fault.name, place,
                                                time.monotonic() - began, seen.split(" - ")[0]), flush=True)
    return missed


def main(arguments=None):
    """Everything; what the process is to end with."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="*", help="try those faults whose names hold one of these")
    parser.add_argument("--full", action="store_true", help="all of the tests against each fault")
    parser.add_argument("--list", action="store_true", help="only find the places")
    told = parser.parse_args(arguments)
    chosen = [f for f in FAULTS if not told.words or any(w in f.name for w in told.words)]
    if not chosen:
        parser.error("no fault has such a name")
    places = [(fault, find_place(fault)) for fault in chosen]
    lost = ["%s: %s" % (fault.name, place) for fault, place in places if isinstance(place, str)]
    lost += ["%s: there is no tests/%s" % (f.name, t) for f in chosen for t in f.tests
             if not (ROOT / "tests" / t).exists()]
    if lost:
        print("These faults have lost their place; give them anew:\n  " + "\n  ".join(lost))
        return 2
    if told.list:
        print("\n".join("%s: %s" % (fault.name, place) for fault, place in places))
        return 0
    with tempfile.TemporaryDirectory() as scratch:
        folder = copy_tree(Path(scratch) / "tree")
        tests = ALL if told.full else sorted({"tests/" + t for f in chosen for t in f.tests})
        what, seen = run_tests(folder, tests, FULL_SECONDS)
        if what != "passed":
            print("Without a fault the tests do not pass: %s %s" % (what, seen))
            return 2
        missed = try_faults(folder, places, full=told.full)
    print("%d faults planted, %d missed%s" % (len(places), len(missed), ": " + "; ".join(missed) if missed else ""))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
