"""True Up Scan and Join Scans in the real editor, their results read back by the second reader. The scans are invented.
"""
import numpy as np
import pytest
from drawings import HEAD
from host import editor
from host.reader import compare, read
from host.scripts import run_chain

from plankcore.geometry.plane_maps import PlaneMap

PAGE = 'width="4200mm" height="400mm" viewBox="0 0 15874.015748 1511.811024"'          # the editor's own px
PX = 96 / 25.4
NET = np.array([(0, 0), (1900, 0), (3800, 0), (0, 300), (1900, 300), (3800, 300)], float)
QUARTER = PlaneMap([[0.25, -0.01, 30], [0.01, 0.25, 9]])
PHOTO = PlaneMap([[0.3, 0.02, 5], [0.01, 0.29, 90], [4e-5, -1e-4, 1]])
CURVE = np.array([(60, 150), (1300, 10), (2600, 290), (3750, 140)], float)


def draw_scan(key, view):
    """A group with a traced curve, a picture's frame and six control shapes, as the view shows the true plane."""
    at = PX * view.apply(NET)
    dots = "".join('<circle id="%s%d" cx="%.6f" cy="%.6f" r="12" inkscape:label="%g, %g mm"/>' % (key, k, *p, *t)
                   for k, (p, t) in enumerate(zip(at, NET)))
    line = "M %.6f,%.6f C %.6f,%.6f %.6f,%.6f %.6f,%.6f" % tuple((PX * view.apply(CURVE)).ravel())
    return ('<g id="%s" inkscape:groupmode="layer" inkscape:label="%s"><path id="%s-line" '
            'style="fill:none;stroke:#000" d="%s"/>%s</g>' % (key, key, key, line, dots))


@pytest.fixture(scope="module")
def done(display, tmp_path_factory):
    folder = tmp_path_factory.mktemp("scans")
    drawing = folder / "in.svg"
    drawing.write_text(HEAD % (PAGE, draw_scan("flat", QUARTER) + draw_scan("photo", PHOTO)))
    profile = editor.make_profile(folder / "profile")
    steps = ["select-by-id:flat", "plank_true_up", "select-clear", "select-by-id:photo", "plank_true_up",
             "select-clear", "select-by-id:flat,photo", "plank_join"]
    run = editor.run_actions(drawing, steps, profile=profile, display=display, output=folder / "editor.svg")
    run.check("plank_true_up", "plank_true_up", "plank_join")
    last = run_chain(drawing, [("plank_true_up", ["flat"], {}), ("plank_true_up", ["photo"], {}),
                               ("plank_join", ["flat", "photo"], {})], folder=folder)
    return folder / "editor.svg", last


def test_the_editor_and_the_scripts_draw_the_same(done):
    assert compare(read(done[0]), read(done[1])) <= 1e-5


def test_every_control_lies_at_its_true_place(done):
    """Rings stand where the controls came to lie: within a hundredth of a mm of their labels, in both pieces and in the
    join.
    """
    rings = [r for r in read(done[0]).find("ring") if "point" in r.values]
    assert len(rings) == 18
    for ring in rings:
        points = ring.trace()
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        assert middle == pytest.approx([float(v.strip(" m")) for v in ring.values["point"].split(",")], abs=0.01)
        assert ring.number("residual-mm") < 0.01 and ring.values["verdict"] == "used"


BARREL = np.array([(x, y) for y in (0, 150, 300) for x in (0, 900, 1900, 2900, 3800)], float)


def bulge(points):
    """As a lens draws them that moves a point 600 mm from (600, 130) by 2 percent: r (1 - 0.02 (r / 600)^2)."""
    off = points - [600, 130]
    return [600, 130] + off * (1 - 0.02 * np.sum(off ** 2, axis=1) / 600 ** 2)[:, None]


def draw_barrel(wrong_mm=0.0):
    dots = "".join('<circle id="d%d" cx="%.6f" cy="%.6f" r="12" inkscape:label="%g, %g mm"/>'
                   % (k, *p, *(t + ([0, wrong_mm] if k == 7 else [0, 0])))
                   for k, (p, t) in enumerate(zip(PX * bulge(PHOTO.apply(BARREL)), BARREL)))
    line = "M %s" % " L ".join("%.6f,%.6f" % tuple(p) for p in PX * bulge(
        PHOTO.apply(np.column_stack([np.linspace(100, 3700, 200), np.full(200, 140.0)]))))
    return HEAD % (PAGE, '<g id="barrel" inkscape:groupmode="layer" inkscape:label="barrel"><path id="long" '
                         'style="fill:none;stroke:#000" d="%s"/>%s</g>' % (line, dots))


def test_a_photo_through_a_bulging_lens_is_trued_twice_and_comes_out_the_same(display, tmp_path):
    """Run again in the editor it starts from the raw trace, and the scripts agree: the line that was drawn straight on
    the floor is straight within what the form of the bulge leaves.
    """
    drawing = tmp_path / "in.svg"
    drawing.write_text(draw_barrel())
    twice = ["select-by-id:barrel", "plank_true_up", "select-clear", "select-by-id:barrel", "plank_true_up"]
    run = editor.run_actions(drawing, twice, profile=editor.make_profile(tmp_path / "profile"), display=display,
                             output=tmp_path / "editor.svg")
    run.check("plank_true_up", "plank_true_up")
    step = ("plank_true_up", ["barrel"], {})
    (tmp_path / "once").mkdir()
    once = run_chain(drawing, [step], folder=tmp_path / "once")
    assert compare(read(tmp_path / "editor.svg"), read(once)) <= 1e-5
    assert read(once).by_id("barrel").values["map"] == "lens"
    assert np.abs(read(once).by_id("long").trace()[:, 1] - 140.0).max() < 0.3


def test_a_misread_dot_is_refused_by_name_in_the_editor(display, tmp_path):
    drawing = tmp_path / "in.svg"
    drawing.write_text(draw_barrel(wrong_mm=5.0))
    run = editor.run_actions(drawing, ["select-by-id:barrel", "plank_true_up"], profile=editor.make_profile(
        tmp_path / "profile"), display=display, output=tmp_path / "out.svg")
    assert [r.code for r in run.actions] == [251] and "1900, 155 mm" in run.actions[0].said and not read(
        tmp_path / "out.svg").find("trued")
