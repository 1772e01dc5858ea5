"""A knuckle goes through all that is done to a plank: frames, bevels, scarf, fastenings, saw line, the other hand."""
from pathlib import Path

import numpy as np
import pytest
from drawings import HEAD
from knuckled import LENGTH, NAMES, PAGE, TURN, draw_shapes, upper
from lxml import etree

from plankcore.command.running import load_action
from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.pathdata import read_path
from plankcore.document.places import measure_box, measure_boxes
from plankcore.errors import PlankError
from plankcore.geometry.curve import Curve

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[2] / "extensions"
TABLE = "frame, radius, upper bevel, lower bevel\n" + "".join("%d, %d, 2, %g\n" % (k, 900 + 20 * k, 1 + 0.1 * k)
                                                            for k in range(1, 12))


def draw():
    """The root of a drawing of the plank's marks and ends."""
    return load_document((HEAD % (PAGE, draw_shapes())).encode(), where="test").getroot()


def act(root, script, select=(), path="strake_5.svg", **settings):
    action = load_action(EXTENSIONS, script)()
    action.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    action.apply(root, list(select), str(path))
    return action.messages


def find_turns(element):
    """Turns of a drawn line in degrees, each joint that turns by more than a quarter of one."""
    return [turn for run in read_path(element.get("d"), where="test")
            for _, turn in Curve(run.cubics).find_knuckles(least_deg=0.25)]


def list_turns(root, role, edge=""):
    return [[round(abs(t), 2) for t in find_turns(e) if 1 < abs(t) < 30] for e in names.find_roles(root, role)
            if not edge or names.get(e, "edge") == edge]


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    folder = tmp_path_factory.mktemp("knuckle")
    (folder / "frames.csv").write_text(TABLE)
    root, path = draw(), folder / "strake_5.svg"
    act(root, "fair", ["all"], path, honest_error="0.3 mm", meant_for="strake_5.svg", report="true",
        nails="upper: 1, 4, 8, 11", **NAMES)
    act(root, "stations", [], path, source="marks")
    act(root, "section", [], path, table="frames.csv", pattern="4 mm")
    act(root, "joints", [], path, joints="scarf 4-5", slope="8")
    act(root, "fastenings", [], path, sided="45 mm")
    act(root, "allowance", [], path, upper="3 mm", lower="3 mm", fore="25 mm", aft="25 mm")
    act(root, "turn", [], path, symmetry="diagonals, M. Orme, 3 May")
    act(root, "plot", ["plank-1"], path, file_name="sheet", dxf="true", pdf="false", hpgl="true")
    act(root, "check", ["plank-1"], path)
    return root, folder, path


def test_no_action_is_stopped_and_each_line_turns_where_the_edge_does(done):
    root = done[0]
    true = np.degrees(np.arctan(TURN))
    for turns in list_turns(root, "edge", "lower"):
        assert turns == [pytest.approx(true, abs=0.3)]
    assert len(list_turns(root, "edge", "lower")) == 2, "the plank and the other hand"
    for role in ("drawn-face", "other-face", "saw"):
        found = list_turns(root, role)
        assert found and all(turns.count(pytest.approx(true, abs=0.6)) == 1 for turns in found), (role, found)


def test_what_later_actions_draw_keeps_clear_of_the_report_and_no_file_to_cut_by_has_it(done):
    root, folder, _ = done
    drawing = Drawing(root)
    report = next(e for e in names.find_roles(root, "report") if e.tag.endswith("}g"))
    others = [e for e in root.iter() if isinstance(e.tag, str) and e.get("d")
              and not any(names.get(p, "role") == "report" for p in e.iterancestors())]
    box, boxes = measure_box(list(report), drawing.page), measure_boxes(others, drawing.page)
    apart = np.maximum(boxes[:, 0] - box[1], box[0] - boxes[:, 1]).max(axis=1)
    assert len(others) > 300 and np.nanmin(apart) > 20
    files = sorted(p for p in folder.iterdir() if p.suffix in (".dxf", ".plt", ".svg"))
    assert len(files) >= 3
    for file in files:
        assert b"BELIEVED" not in file.read_bytes().upper(), file.name
    sheet = load_document((folder / "sheet.svg").read_bytes(), where="test").getroot()
    assert not [e for role in ("report", "batten", "nail", "apart") for e in names.find_roles(sheet, role)]


def test_all_frames_are_there_and_the_frame_at_the_knuckle_has_its_width(done):
    stations = [e for e in names.find_roles(names.find_roles(done[0], "plank")[0], "station")]
    assert [names.get(e, "station") for e in stations] == [str(k) for k in range(1, 12)]
    six = next(e for e in stations if names.get(e, "station") == "6")
    # square to a baseline that leans by a degree at most
    assert float(names.get(six, "width-mm")) == pytest.approx(125.0, abs=1.5)


def test_the_check_takes_it_for_no_fault(done):
    told = [names.get(e, "text") for e in names.find_roles(names.find_layer(
        names.find_roles(done[0], "plank")[0], "check"), "note")]
    assert not any("CROSS" in t and "NONE" not in t for t in told if t)


def test_the_drawing_can_be_read_again_and_the_knuckle_is_in_the_record(done):
    root, _, path = done
    again = load_document(etree.tostring(root), where="test").getroot()
    act(again, "record", ["plank-1"], path, file_name="record")
    text = (path.parent / "record.html").read_text(encoding="utf-8")
    edge = next(e for e in names.find_roles(root, "edge") if names.get(e, "edge") == "lower")
    (turn,), = [[abs(t) for t in find_turns(edge)]]
    assert "a knuckle at frame 6, where it turns by %.1f degrees" % turn in text


def test_what_was_said_of_edges_stays_in_the_drawing_and_is_taken_from_a_dialog_only_for_its_plank():
    root = draw()
    act(root, "fair", ["all"], known="upper: straight", meant_for="strake_5.svg", **NAMES)
    fair = names.find_layer(names.find_roles(root, "plank")[0], "fair")
    assert names.get(fair, "known") == "upper: straight"
    act(root, "fair", ["plank-1"])                              # empty: as the drawing has it
    edges = {names.get(e, "edge"): e for e in names.find_roles(root, "edge")}
    assert names.get(edges["upper"], "told") == names.get(edges["upper"], "told") == "straight"
    with pytest.raises(PlankError, match="Edges whose shape is known"):
        act(root, "fair", ["plank-1"], tab="fair", known="lower: straight", meant_for="strake_7.svg")
    act(root, "fair", ["plank-1"], known="none")
    edges = {names.get(e, "edge"): e for e in names.find_roles(root, "edge")}
    assert not names.get(edges["upper"], "told")


def test_a_line_to_follow_is_found_by_its_label_or_refused_by_name():
    def add(root, label, shift):
        line = etree.SubElement(root, "{%s}path" % names.SVG, {"{%s}label" % names.INKSCAPE: label})
        x = np.linspace(60, LENGTH + 140, 60)
        line.set("d", "M " + " L ".join("%.6f,%.6f" % (a, upper(a - 100) + shift) for a in x))
    root = draw()
    add(root, "Sheer line", 3.0)
    act(root, "fair", ["all"], known="upper: sheer line", meant_for="strake_5.svg", **NAMES)
    edge = next(e for e in names.find_roles(root, "edge") if names.get(e, "edge") == "upper")
    assert names.get(edge, "told") == "sheer line" and float(names.get(edge, "worst-mm")) < 0.6
    before = etree.tostring(root)
    for shape, words in (("keel", "No line in the drawing is called 'keel'"), ("Sheer line", "More than one line")):
        add(root, "Sheer line", 9.0)
        with pytest.raises(PlankError, match=words):
            act(root, "fair", ["plank-1"], known="upper: %s" % shape)
    assert before
