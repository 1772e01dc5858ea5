"""Fastenings as a process on a small drawing: what it writes, and that a refusal writes nothing."""
from pathlib import Path

import pytest
from drawings import draw_plank, fair, open_drawing
from host.scripts import run_script
from lxml import etree

from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.layers.joints import read_fastenings
from plankcore.document.layers.lines import write_stations
from plankcore.stations.strike import StationSettings, strike_stations

pytestmark = pytest.mark.long          # whole actions on whole drawings

SCRIPT = Path(__file__).resolve().parents[3] / "extensions" / "plank_fastenings.py"


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """A saved drawing with a plank 22 mm thick and its stations."""
    drawing = open_drawing(draw_plank())
    plank, group = fair(drawing, thickness_mm=22.0)
    stations, _ = strike_stations(plank, settings=StationSettings())
    write_stations(drawing, group, stations, square_to="baseline")
    path = tmp_path_factory.mktemp("boat") / "strake.svg"
    path.write_bytes(etree.tostring(drawing.root))
    return path


def run(drawn, folder, *arguments):
    """(exit code, what was said, the drawing written or None)."""
    out = folder / "out.svg"
    done = run_script("plank_fastenings", drawn, out, more=arguments)
    written = out.read_bytes() if out.is_file() else b""
    return done.code, done.said, Drawing(load_document(written, where="test").getroot()) if written else None


@pytest.mark.parametrize("arguments, words", [
    (["--rule=own"], "Count them on the boat"), (["--stagger=5 mm"], "one grain line"),
    (["--thickness=3 in"], "22 mm thick by the drawing, and 76.2 mm by the dialog"),
    (["--sided=wide"], "is not a length"), (["--edge=-3"], "out of range"),
    (["--list_file=screws"], "The drawing has not been saved"),
    (["--list_file=screws", "--folder=no such folder"], "There is no folder"),
    (["--neighbours=upper nine"], "upper 9-10")])
def test_a_refusal_writes_nothing(drawn, tmp_path, arguments, words):
    code, said, written = run(drawn, tmp_path, *arguments)
    assert code == 251 and words in said and written is None
    assert list(tmp_path.iterdir()) == []


def test_it_writes_the_layer_and_on_demand_the_list(drawn, tmp_path):
    code, said, written = run(drawn, tmp_path, "--fore_end=hood", "--list_file=screws", "--folder=%s" % tmp_path)
    assert code == 0 and "screws.csv" in said
    layout = read_fastenings(written, written.find_group())
    assert {f.kind for f in layout.fastenings} == {"frame", "end"}
    *lines, mark = (tmp_path / "screws.csv").read_text(encoding="utf-8").splitlines()
    assert mark.startswith("# plankcore-mark")
    assert len(lines) == 1 + len(layout.lists) and "No 14 x 1 3/4 in wood screw" in lines[1]


def test_a_bare_number_is_in_the_unit_given(drawn, tmp_path):
    code, said, written = run(drawn, tmp_path, "--unit=in", "--edge=1", "--end=3", "--stagger=1/2")
    assert code == 0 and said == ""
    layer = names.find_layer(written.find_group(), "fastenings")
    assert [float(names.get(layer, n))
            for n in ("edge-mm", "end-mm", "stagger-mm", "sided-mm")] == pytest.approx([25.4, 76.2, 12.7, 45.0])
    assert min(f.edge_mm
               for f in read_fastenings(written, written.find_group()).fastenings) >= 25.4 - 1e-3
