"""True Up Scan and Join Scans as processes and as steps of a recipe. Drawings are small and invented."""
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from drawings import HEAD
from host.scripts import run_script
from lxml import etree

from plankcore.command.recipe import read_recipe
from plankcore.command.running import load_action, run_recipe
from plankcore.document import names, transforms
from plankcore.document.extension import load_document
from plankcore.document.read import find_total_map
from plankcore.document.transforms import read_page_scale
from plankcore.geometry.plane_maps import PlaneMap
from plankcore.scan.join import JoinSettings
from plankcore.scan.true_up import TrueUpSettings

pytestmark = pytest.mark.long          # whole actions on whole drawings

ROOT = Path(__file__).resolve().parents[3]
ACTIONS = ROOT / "extensions"
PAGE = 'width="4200mm" height="400mm" viewBox="0 0 4200 400"'
NET = np.array([(0, 0), (1900, 0), (3800, 0), (0, 300), (1900, 300), (3800, 300)], float)
QUARTER = PlaneMap([[0.25, -0.01, 30], [0.01, 0.25, 9]])
PHOTO = PlaneMap([[0.3, 0.02, 5], [0.01, 0.29, 2], [4e-5, -1e-4, 1]])
TRACE = '<path id="trace" style="fill:none;stroke:#000" d="M 60,40 C 300,20 600,70 900,40 L 900,70 L 60,80 Z"/>'


def dots(view=QUARTER, net=NET, labels=None, key="c", size=4.0):
    labels = labels or ["%g, %g mm" % tuple(t) for t in net]
    return "".join('<circle id="%s%d" cx="%.9f" cy="%.9f" r="%g" inkscape:label="%s"/>' % (key, k, *at, size, label)
                   for k, (at, label) in enumerate(zip(view.apply(net), labels)))


def layer(body, key="scan", more=""):
    return '<g id="%s" inkscape:groupmode="layer" inkscape:label="%s" %s>%s</g>' % (key, key, more, body)


def run(folder, script, body, *arguments, page=PAGE, text=None):
    """(exit code, what was said, the drawing written or None)."""
    source, output = folder / "in.svg", folder / "out.svg"
    source.write_text(HEAD % (page, body) if text is None else text, encoding="utf-8")
    done = run_script(script, source, output, more=arguments)
    assert not done.out
    return done.code, done.said, load_document(
        output.read_bytes(), where="out").getroot() if output.exists() else None


def centre(root, key):
    """Middle of a circle, mm on the page."""
    element = root.xpath("//*[@id='%s']" % key)[0]
    return transforms.apply(find_total_map(element, read_page_scale(root)),
                            np.array([float(element.attrib["cx"]), float(element.attrib["cy"])]))


SELECT = ["--id=scan"]
GOOD = layer(TRACE + dots())


def relabel(label, k=2):
    return GOOD.replace('"%g, %g mm"' % tuple(NET[k]), '"%s"' % label)


@pytest.mark.parametrize("body, arguments, said", [
    (GOOD, [], "Nothing is selected"), (GOOD, ["--id=nothere"], "'nothere'"),
    (layer(TRACE), SELECT, "how large the scan truly is"), (layer(""), SELECT, "how large"),
    (relabel("38oo, 0"), SELECT, "'38oo, 0'"), (relabel("3800, 0, 0"), SELECT, "'3800, 0, 0'"),
    (relabel("0, 0"), SELECT, "same true place"), (relabel("3.8 furlongs, 0"), SELECT, "3.8 furlongs"),
    (relabel("3900, 0"), SELECT, "Check 3900, 0, it may be wrong by 100"),
    (layer(TRACE + dots(net=NET[:1])), SELECT, "One control point alone"),
    (layer(TRACE + dots(net=NET[:3])), [*SELECT, "--map=affine"], "in line"),
    (layer(TRACE + dots(net=NET[:4])), [*SELECT, "--map=perspective"], "Three of the control points lie in line"),
    (layer(TRACE + dots(labels=["%g, %g" % (x, -y) for x, y in NET])), SELECT, "mirror image"),
    (layer(TRACE) + '<circle id="c0" cx="9" cy="9" r="4"/>', [*SELECT, "--id=c0"], "c0 has no label"),
    (layer(TRACE + dots(net=NET * 0.02)), SELECT, "uncertain by"),
    (layer(TRACE + '<path id="l" inkscape:label="1000 mm" d="M 0,0 L 90,0 L 90,90"/>'), SELECT, "no straight line"),
    (layer(TRACE + '<path id="l" inkscape:label="0 mm" d="M 0,0 L 90,0"/>'), SELECT, "0 mm"),
    (layer(TRACE + dots() + '<path id="l" inkscape:label="5, 5" d="M 0,0 L nan,0"/>'), SELECT, "not a number"),
    (GOOD.replace("<g ", '<g transform="scale(0)" ', 1), SELECT, "transform"),
    (GOOD, [*SELECT, "--honest_error=wide"], "How far off a control"),
    (GOOD, [*SELECT, "--honest_error=0"], "How far off a control"), (GOOD, [*SELECT, "--most_far=-3"], "far ends"),
    (GOOD, [*SELECT, "--map=best"], "best"), (GOOD, [*SELECT, "--unit=furlong"], "furlong"),
    (GOOD, [*SELECT, "--colour=red"], "colour"),
])
def test_bad_input_gets_a_message_an_exit_code_and_no_drawing(tmp_path, body, arguments, said):
    code, message, root = run(tmp_path, "plank_true_up", body, *arguments)
    assert code == 251 and root is None
    assert re.search(said, message) and "Problem: " in message and "Remedy: " in message
    assert "Traceback" not in message and "fault of its own" not in message


@pytest.mark.parametrize("page, text, said", [
    ('viewBox="0 0 4200 400"', None, "no true size"),
    ('width="100%" height="400mm" viewBox="0 0 4200 400"', None, "no true size"),
    ('width="4200mm" height="400mm" viewBox="0 0 4200 500"', None, "circle would not be round"),
    (PAGE, (HEAD % (PAGE, GOOD))[:-40], "damaged or cut off"), (PAGE, "", "damaged|empty"),
])
def test_a_page_without_a_size_and_a_damaged_file_are_refused(tmp_path, page, text, said):
    code, message, root = run(tmp_path, "plank_true_up", GOOD, *SELECT, page=page, text=text)
    assert code == 251 and root is None and re.search(said, message) and "Traceback" not in message


def test_a_scan_comes_to_true_size(tmp_path):
    code, message, root = run(tmp_path, "plank_true_up", GOOD, *SELECT)
    assert (code, message) == (0, "")
    assert [centre(root, "c%d" % k) for k in range(6)] == [pytest.approx(t, abs=1e-5) for t in NET]
    group = root.xpath("//*[@id='scan']")[0]
    assert names.get(group, "role") == "trued" and names.get(group, "map") == "scale" and names.get(
        group, "freedom") == "8" and names.get(group, "proved") == "yes"
    assert [etree.QName(e).localname
            for e in root] == ["g", "g", "g"] and [names.get(e, "layer") for e in root] == ["", "raw", "true-up"]


def test_nothing_spare_is_not_written_as_a_success(tmp_path):
    code, _message, root = run(tmp_path, "plank_true_up", layer(TRACE + dots(net=NET[[0, 5]])), *SELECT)
    group = root.xpath("//*[@id='scan']")[0]
    assert code == 0 and names.get(group, "proved") == "no" and names.get(group, "freedom") == "0"
    assert not names.get(group, "sigma0-mm") and not names.get(group, "worst-mm")
    assert any("Nothing is proved" in names.get(e, "text") for e in names.find_roles(root, "note"))


def test_labels_take_the_dialogs_unit(tmp_path):
    labels = ["%.6f, %.6f" % tuple(t / 25.4) for t in NET]
    code, _, root = run(tmp_path, "plank_true_up", layer(TRACE + dots(labels=labels)), *SELECT, "--unit=in",
                        "--honest_error=1/64")
    assert code == 0 and centre(root, "c5") == pytest.approx(NET[5], abs=1e-3)


def test_the_same_scan_on_pages_of_other_units_comes_out_the_same(tmp_path):
    done = []
    for n, (page, factor) in enumerate([(PAGE, 1.0), ('width="4200mm" height="400mm" viewBox="0 0 8400 800"', 2.0),
                                        (('width="4200mm" height="400mm" viewBox="0 0 15874.015748031496 '
                                         '1511.8110236220473"'), 96 / 25.4)]):
        (tmp_path / str(n)).mkdir()
        code, message, root = run(tmp_path / str(n), "plank_true_up",
                                  layer(TRACE + dots(), more='transform="scale(%.17g)"' % factor), *SELECT, page=page)
        assert (code, message) == (0, "")
        done.append([centre(root, "c%d" % k) for k in range(6)])
    assert np.abs(np.array(done) - done[0]).max() < 1e-5


def test_a_file_at_the_old_drawing_scale_is_explained(tmp_path):
    view = PlaneMap(np.diag([0.9375, 0.9375, 1.0]))
    _, _, root = run(tmp_path, "plank_true_up", layer(TRACE + dots(view)), *SELECT)
    assert any("96 / 90" in names.get(e, "text") for e in names.find_roles(root, "note"))


# -- Join Scans ------------------------------------------------------------------------------------------------------

SHARED = np.array([(1500, 20), (1900, 30), (1500, 280), (1900, 270)], float)
TURN = PlaneMap([[np.cos(0.05), -np.sin(0.05), -900], [np.sin(0.05), np.cos(0.05), 40]])


def part(key, view, span, labels="ABCD"):
    box = view.apply(np.array([(span[0], 0), (span[1], 0), (span[1], 300), (span[0], 300)], float))
    path = '<path id="%s-path" d="M %s Z"/>' % (key, " L ".join("%.9f,%.9f" % tuple(p) for p in box))
    return layer(path + dots(view, SHARED[:len(labels)], list(labels), key=key), key=key)


LEFT, RIGHT = part("left", PlaneMap(np.eye(3)), (0, 1950)), part("right", TURN, (1450, 3800))
BOTH = ["--id=left", "--id=right"]


@pytest.mark.parametrize("body, arguments, said", [
    (LEFT + RIGHT, [], "Nothing is selected"), (LEFT + RIGHT, BOTH[:1], "only one piece"),
    (LEFT + RIGHT, ["--id=left", "--id=right0"], "no piece of a scan"),
    (LEFT + part("right", TURN, (1450, 3800), "WXYZ"), BOTH, "'left' shares no labelled point"),
    (LEFT + part("right", TURN, (1450, 3800), "AXYZ"), BOTH, "shares only one point"),
    (LEFT + part("right", TURN, (1450, 3800), "AABB"), BOTH, "'A' stands twice in the piece 'right'"),
    (LEFT + part("right", PlaneMap(np.diag([1.0, -1.0, 1.0])), (1450, 3800)), BOTH, "mirror"),
    (LEFT + RIGHT, [*BOTH, "--most_far=0.1"], "'right' would be uncertain by"),
    (LEFT + RIGHT, [*BOTH, "--honest_error=x"], "How far off a shared point"),
    (LEFT + layer("", key="right"), BOTH, "'right' \\(right\\) is empty"),
])
def test_pieces_that_cannot_be_joined(tmp_path, body, arguments, said):
    code, message, root = run(tmp_path, "plank_join", body, *arguments)
    assert code == 251 and root is None and re.search(said,
                                                      message) and "Remedy: " in message and "Traceback" not in message


def test_two_pieces_are_joined_and_the_first_stays(tmp_path):
    code, message, root = run(tmp_path, "plank_join", LEFT + RIGHT, *BOTH)
    assert (code, message) == (0, "")
    for k in range(4):
        assert centre(root, "left%d" % k) == pytest.approx(SHARED[k], abs=1e-6) and centre(
            root, "right%d" % k) == pytest.approx(SHARED[k], abs=1e-6)
    right = root.xpath("//*[@id='right']")[0]
    assert float(names.get(right, "join-scale")) == pytest.approx(1,
                                                                  abs=1e-6) and names.get(right, "join-freedom") == "5"
    assert "right: 4 shared points" in " ".join(names.get(e, "text") for e in names.find_roles(root, "note"))


def test_two_shared_points_are_warned_of(tmp_path):
    _, _, root = run(tmp_path, "plank_join", part("left", PlaneMap(np.eye(3)), (0, 1950), "AB")
                     + part("right", TURN, (1450, 3800), "AB"), *BOTH)
    assert any("hangs on two points" in names.get(e, "text") for e in names.find_roles(root, "note"))


# -- recipe and dialogs ----------------------------------------------------------------------------------------------

def test_two_scans_to_one_in_a_recipe(tmp_path):
    """Each half of the net is a photo of its own; both are trued up, then joined on the points they share by their
    labels.
    """
    halves = [layer(TRACE + dots(QUARTER, NET[[0, 1, 3, 4]], key="a"), key="one"),
              layer(TRACE.replace("trace", "other") + dots(PHOTO, NET, key="b"), key="two")]
    (tmp_path / "in.svg").write_text(HEAD % (PAGE, "".join(halves)))
    (tmp_path / "recipe.toml").write_text('[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n' + "".join(
        '[[plank.step]]\naction = "%s"\nselect = %s\n%s' % step
        for step in (("true_up", '["one"]', 'map = "scale"\nmost_far = "9 mm"\n'), ("true_up", '["two"]', ""),
                     ("join", '["one", "two"]', ""))))
    written, failed = run_recipe(read_recipe(tmp_path / "recipe.toml"), actions=ACTIONS, progress=lambda text: None)
    assert failed == [] and len(written) == 1
    root = load_document(written[0].read_bytes(), where="out").getroot()
    assert [names.get(root.xpath("//*[@id='%s']" % k)[0], "map") for k in ("one", "two")] == ["scale", "perspective"]
    assert sorted(names.get(e, "layer") for e in root
                  if names.get(e, "role") == "layer") == ["join", "raw", "raw", "true-up", "true-up"]
    assert float(names.get(root.xpath("//*[@id='two']")[0], "join-worst-mm")) < 0.01


@pytest.mark.parametrize("action", ["true_up", "join"])
def test_dialog_and_arguments_are_one_definition(action):
    tree = ElementTree.parse(str(ACTIONS / ("plank_%s.inx" % action)))
    space = "{http://www.inkscape.org/namespace/inkscape/extension}"
    given = {p.get("name"): p for p in tree.iter(space + "param") if p.get("type") != "notebook"}
    made = {a.dest: a for a in load_action(ACTIONS, action)().arg_parser._actions
            if a.dest not in ("help", "tab", "ids", "selected_nodes", "output", "input_file")}
    assert set(given) == set(made)
    for name, param in given.items():
        options = [o.get("value") for o in param.iter(space + "option")]
        assert made[name].default == (options[0] if options else param.text)
        assert options == list(made[name].choices or [])
        assert param.get("gui-text") and param.get("gui-description")
    assert (TrueUpSettings().most_far_mm, JoinSettings().most_far_mm) == (5.0, 10.0)
