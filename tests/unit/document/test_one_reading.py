"""A click takes its drawing from the file once, and parses no path of it twice."""
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
DRAWING = ROOT / "samples" / "tamsin_grey" / "side" / "side.svg"
COUNT = """import collections, runpy, sys
sys.argv, script = sys.argv[1:], sys.argv[1]
sys.path.insert(0, script.rpartition("/")[0])
from lxml import etree
from plankcore.document import extension, pathdata
drawings, paths = [], collections.Counter()
load, parse = extension.load_document, pathdata._read_text
extension.load_document = lambda *a, **k: drawings.append(1) or load(*a, **k)
def count(text):
    paths[text] += 1
    return parse(text)
pathdata._read_text = count
try:
    runpy.run_path(script, run_name="__main__")
finally:
    print("COUNTED", len(drawings), max(paths.values(), default=0))
"""


def count_readings(script, arguments, tmp_path):
    """How often a click loads its drawing, and how often the path that it parses most."""
    probe = tmp_path / "probe.py"
    probe.write_text(COUNT)
    done = subprocess.run([sys.executable, str(probe), str(ROOT / "extensions" / script), *arguments],
                          capture_output=True, timeout=120, cwd=str(ROOT),
                          env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert done.returncode == 0, done.stderr.decode()
    return [int(word) for word in done.stdout.decode().split("COUNTED")[1].split()]


def test_a_drawing_is_read_once_a_click_and_no_path_of_it_twice(tmp_path):
    faired, ruled, sawn = (tmp_path / name for name in ("faired.svg", "ruled.svg", "sawn.svg"))
    for script, arguments in (
            ("plank_fair.py", ["--id=edges_2a", "--strake=2a", "--face=inboard", "--output=%s" % faired, str(DRAWING)]),
            ("plank_stations.py", ["--source=spacing", "--output=%s" % ruled, str(faired)]),
            ("plank_allowance.py", ["--output=%s" % sawn, str(ruled)])):
        assert count_readings(script, arguments, tmp_path) in ([1, 0], [1, 1]), script
