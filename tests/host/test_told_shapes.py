"""The real editor: knuckle, nails and report by dialog and label, read back by the second reader. All is invented."""
import knuckled
import numpy as np
import pytest
from host import editor
from host.reader import compare, read
from host.scripts import run_script
from knuckled import PAGE, draw_shapes, lower
from scipy.interpolate import CubicSpline

NAMES = {**knuckled.NAMES, "meant_for": "strake_5.svg"}
TOLD = {"honest_error": "0.3", "nails": "upper: 1, 4, 8, 11", "report": "true", "batten_thick": "12 mm",
        "batten_wide": "3/4 in", "batten_wood": "white oak"}


def draw():
    return ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
            '%s>%s</svg>' % (PAGE, draw_shapes())).encode()


@pytest.fixture(scope="module")
def both(display, tmp_path_factory):
    """The drawing by the editor, and by the script."""
    folder = tmp_path_factory.mktemp("told")
    drawing = folder / "strake_5.svg"
    drawing.write_bytes(draw())
    profile = editor.make_profile(folder / "profile", settings={"plank_fair": {**NAMES, **TOLD}})
    run = editor.run_actions(drawing, ["select-by-id:all", "plank_fair"], profile=profile, display=display,
                             output=folder / "editor.svg")
    run.check("plank_fair")
    run_script("plank_fair", drawing, folder / "scripts.svg", select=["all"], settings={**NAMES, **TOLD},
               saved_as=str(drawing))
    return read(folder / "editor.svg"), read(folder / "scripts.svg")


def test_the_editor_and_the_script_draw_the_same(both):
    assert compare(*both) <= 1e-6


def test_the_lower_edge_turns_at_its_knuckle(both):
    points = both[0].one("edge", edge="lower").trace()
    true = lower(points[:, 0] - 100)
    assert np.abs(points[:, 1] - true).max() < 0.3
    mark = both[0].one("mark", edge="lower", station="6")
    assert mark.values["told"] == "knuckle"


def test_the_batten_runs_through_its_nails_as_anothers_spline(both):
    nails = both[0].find("nail")
    centres = np.array([n.runs[0].trace().min(axis=0) + np.ptp(n.runs[0].trace(), axis=0) / 2 for n in nails])
    order = np.argsort(centres[:, 0])
    spline = CubicSpline(*centres[order].T, bc_type="natural")
    line = both[0].one("batten").trace()
    assert np.abs(line[:, 1] - spline(line[:, 0])).max() < 0.02
    stiffness = 12.3e3 * 19.05 * 12 ** 3 / 12
    x = centres[order, 0]
    jumps = np.diff(np.concatenate([[0], spline((x[:-1] + x[1:]) / 2, 3), [0]]))
    forces = np.array([float(nails[k].values["force-n"]) for k in order])
    # outward of the upper edge is up, where y falls
    assert forces == pytest.approx(-jumps * stiffness, abs=0.01 * np.abs(jumps).max() * stiffness)


def test_the_report_has_a_bar_for_each_mark_left_of_the_plank(both):
    bars = [b for b in both[0].find("report") if b.values.get("bar")]
    assert len(bars) == 22
    left = min(item.runs[0].trace()[:, 0].min() for item in both[0].find("edge"))
    assert max(b.runs[0].trace()[:, 0].max() for b in bars) < left - 100
