"""True Up Scan and Join Scans in the real editor, their results read back by the second reader. The scans are invented."""
import numpy as np
import pytest
from plankcore.geometry.plane_maps import PlaneMap
from drawings import HEAD

from host import editor
from host.reader import compare, read
from host.scripts import run_chain

PAGE = 'width="4200mm" height="400mm" viewBox="0 0 15874.015748 1511.811024"'          # the editor's own px
PX = 96 / 25.4
NET = np.array([(0, 0), (1900, 0), (3800, 0), (0, 300), (1900, 300), (3800, 300)], float)
QUARTER = PlaneMap([[0.25, -0.01, 30], [0.01, 0.25, 9]])
PHOTO = PlaneMap([[0.3, 0.02, 5], [0.01, 0.29, 90], [4e-5, -1e-4, 1]])
CURVE = np.array([(60, 150), (1300, 10), (2600, 290), (3750, 140)], float)


def draw_scan(key, view):
    """A group with a traced curve, a picture's frame and six control shapes, as the view shows the true plane."""
    at = PX * view.apply(NET)
    dots = "".join('<circle id="%s%d" cx="%.6f" cy="%.6f" r="12" inkscape:label="%g, %g mm"/>' % (key, k, *p, *t) for k, (p, t) in enumerate(zip(at, NET)))
    line = "M %.6f,%.6f C %.6f,%.6f %.6f,%.6f %.6f,%.6f" % tuple((PX * view.apply(CURVE)).ravel())
    return '<g id="%s" inkscape:groupmode="layer" inkscape:label="%s"><path id="%s-line" style="fill:none;stroke:#000" d="%s"/>%s</g>' % (key, key, key, line, dots)


@pytest.fixture(scope="module")
def done(display, tmp_path_factory):
    folder = tmp_path_factory.mktemp("scans")
    drawing = folder / "in.svg"
    drawing.write_text(HEAD % (PAGE, draw_scan("flat", QUARTER) + draw_scan("photo", PHOTO)))
    profile = editor.make_profile(folder / "profile")
    steps = ["select-by-id:flat", "plank_true_up", "select-clear", "select-by-id:photo", "plank_true_up", "select-clear", "select-by-id:flat,photo", "plank_join"]
    run = editor.run_actions(drawing, steps, profile=profile, display=display, output=folder / "editor.svg")
    run.check("plank_true_up", "plank_true_up", "plank_join")
    last = run_chain(drawing, [("plank_true_up", ["flat"], {}), ("plank_true_up", ["photo"], {}), ("plank_join", ["flat", "photo"], {})], folder=folder)
    return folder / "editor.svg", last


def test_the_editor_and_the_scripts_draw_the_same(done):
    assert compare(read(done[0]), read(done[1])) <= 1e-5


def test_every_control_lies_at_its_true_place(done):
    """Rings stand where the controls came to lie: within a hundredth of a mm of their labels, in both pieces and in the join."""
    rings = [r for r in read(done[0]).find("ring") if "point" in r.values]
    assert len(rings) == 18
    for ring in rings:
        points = ring.trace()
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        assert middle == pytest.approx([float(v.strip(" m")) for v in ring.values["point"].split(",")], abs=0.01)
        assert ring.number("residual-mm") < 0.01 and ring.values["verdict"] == "used"
