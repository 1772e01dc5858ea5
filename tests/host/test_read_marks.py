"""Read Marks in the real editor on the sample's trace, its marks faired there, read back by the second reader."""
import sys
from pathlib import Path

import numpy as np
import pytest
from host import editor
from host.reader import compare, read
from host.scripts import run_chain

BOAT = Path(__file__).resolve().parents[2] / "samples" / "tamsin_grey"
MARKS = {"kind": "line", "line_edge": "centre", "forward": "right"}
STEPS = [("plank_marks", ["path66"], MARKS),
         ("plank_fair", ["plank-marks"], {"honest_error": "0.3 mm", "meant_for": "strake_5_traced.svg",
                                          "side": "starboard", "face": "inboard", "forward": "right"})]


@pytest.fixture(scope="module")
def done(display, tmp_path_factory):
    folder = tmp_path_factory.mktemp("marks")
    profile = editor.make_profile(folder / "profile", settings={script: settings for script, _, settings in STEPS})
    steps = ["select-by-id:path66", "plank_marks", "select-clear", "select-by-id:plank-marks", "plank_fair"]
    run = editor.run_actions(BOAT / "strake_5_traced.svg", steps, profile=profile, display=display,
                             output=folder / "editor.svg")
    run.check("plank_marks", "plank_fair")
    return read(folder / "editor.svg"), read(run_chain(BOAT / "strake_5_traced.svg", STEPS, folder=folder))


def test_the_editor_and_the_scripts_draw_the_same(done):
    assert compare(*done) <= 1e-6


def test_the_plank_faired_from_the_marks_is_the_true_one(done, monkeypatch):
    """Marks along the pen's line, itself drawn within 0.5 mm of the true edge (samples/tamsin_grey/truth.py)."""
    monkeypatch.syspath_prepend(str(BOAT))
    sys.modules.pop("truth", None)
    import truth
    for name, curve in (("upper", truth.upper_edge_mm), ("lower", truth.lower_edge_mm)):
        edge, = [item for item in done[0].find("edge") if item.values["edge"] == name]
        true = curve(np.linspace(-0.01, 1.01, 8001))
        off = np.sqrt(((edge.trace()[:, None] - true[None]) ** 2).sum(axis=2).min(axis=1))
        assert np.sqrt(np.mean(off ** 2)) < 0.15 and off.max() < 0.6
    assert len([m for m in done[0].find("mark") if m.values["edge"] == "upper"]) > 10
