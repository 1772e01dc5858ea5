"""Scarfs and Butts on a drawing: tables that are refused with row and column, lines that are read, the layer written
and read back, the map as a file.
"""
from pathlib import Path

import numpy as np
import pytest
from drawings import draw_plank, fair, open_drawing, reopen
from lxml import etree

from plankcore.command.running import load_action
from plankcore.document import names
from plankcore.document.files.table import read_frame_table, read_joint_table
from plankcore.document.layers.joints import read_joints
from plankcore.document.layers.lines import read_stations, write_stations
from plankcore.errors import DocumentError, PatternError, PlankError, SelectionError, SettingError
from plankcore.stations.strike import StationSettings, strike_stations

EXTENSIONS = Path(__file__).resolve().parents[4] / "extensions"
INCH_PAGE = 'width="80in" height="16in" viewBox="0 0 160 32"'
HEAD = "side,strake,kind,bay,distance,from,order,note\n"
GOOD = HEAD + "starboard,6,butt,1-2,,,,sound\nstarboard,4,scarf,,60 mm,3,,\nport,5,butt,on 4,,,,\n"


def prepare(body="", **page):
    """A drawing with one fair plank, 1700 mm long, with stations every 250 mm from 100."""
    drawing = open_drawing(draw_plank() + body, selected=["trace"], **page)
    plank, group = fair(drawing, name="Tern of Nowhere", strake="5", thickness_mm=20.0)
    write_stations(drawing, group,
                          *strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=250)),
                          square_to="baseline")
    return drawing, group


def run(drawing, select=(), path="", **settings):
    action = load_action(EXTENSIONS, "joints")()
    settings = {"joints": "3-4", "fore_end": "hood", "aft_end": "hood", **settings}
    action.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    action.apply(drawing.root, list(select), path)
    return action.messages


def write(folder, text, name="side.csv"):
    (folder / name).write_text(text, encoding="utf-8")
    return str(folder / name)


@pytest.mark.parametrize("row, words, spot", [
    ("starbord,6,butt,1-2,,,,", "not one of the words", "row 2, column side"),
    ("starboard,,butt,1-2,,,,", "no strake", "row 2, column strake"),
    ("starboard,6,halving,1-2,,,,", "not one of the words", "row 2, column kind"),
    ("starboard,6,butt,,,,,", "neither a bay nor a distance", "row 2, column bay"),
    ("starboard,6,butt,1-2,50,1,,", "both a bay and a distance", "row 2, column bay"),
    ("starboard,6,butt,1-2,,1,,", "no distance", "row 2, column distance"),
    ("starboard,6,butt,,wide,1,,", "not a length", "row 2, column distance"),
    ("starboard,6,butt,1-2,,,2.5,", "no strake's number", "row 2, column order"),
    ("starboard,6,butt,1-2,,,0,", "out of range", "row 2, column order"),
    ("starboard,6,none,1-2,,,,", "without a joint", "row 2, column kind"),
    ("starboard,6,butt,1-3,,,,", "not next to each other", "row 2, column bay"),
    ("starboard,6,butt,on 99 x,,,,", "no frame", "row 2, column bay"),
    ("starboard,6,butt,,50,zz,,", "no frame 'zz'", "row 2, column from"),
    ("starboard,6,butt,,50,,,", "bow datum", "row 2, column from"),
    ("starboard,sheer,butt,1-2,,,,", "neither a number", "row 2, column strake"),
    ("starboard,B,butt,1-2,,,,", "is a letter", "row 2, column strake"),
])
def test_a_table_that_cannot_be_is_refused_and_nothing_is_written(tmp_path, row, words, spot):
    drawing, _ = prepare()
    before = etree.tostring(drawing.root)
    with pytest.raises(DocumentError, match=words) as caught:
        run(drawing, joint_file=write(tmp_path, HEAD + row + "\n"), map_file="map", folder=str(tmp_path))
    assert caught.value.where == "side.csv, " + spot and caught.value.remedy
    assert etree.tostring(drawing.root) == before and not list(tmp_path.glob("*.svg"))


@pytest.mark.parametrize("text, words", [("frame,distance\n1,0\n", "holds 1 frame"),
                                         ("frame,distance\n1,0\n2,\n", "no distance"), ("frame\n1\n2\n", "missing"),
                                         ("frame,distance\n9,0\n8,250\n", "no frame")])
def test_a_table_of_frames_that_cannot_be_is_refused(tmp_path, text, words):
    drawing, _ = prepare()
    with pytest.raises(DocumentError, match=words):
        run(drawing, frame_file=write(tmp_path, text))


@pytest.mark.parametrize("settings, field",
                         [({"spacing": "wide"}, "Frame spacing"), ({"siding": "-3"}, "Frame siding"),
                          ({"stock": "90 m"}, "Longest board"), ({"lap": "1 m"}, "Block lap"),
                                             ({"drain": "x"}, "Drain gap"), ({"block_times": "3"}, "Block length"),
                          ({"map_file": "a/b"}, "File name"), ({"joints": "soon"}, "Joints")])
def test_settings_are_refused_by_field_and_nothing_is_written(tmp_path, settings, field):
    drawing, _ = prepare()
    before = etree.tostring(drawing.root)
    with pytest.raises(SettingError) as caught:
        run(drawing, folder=str(tmp_path), **settings)
    assert caught.value.where == field and etree.tostring(drawing.root) == before


def test_a_map_that_has_nowhere_to_go_is_refused_before_anything_is_drawn():
    drawing, group = prepare()
    with pytest.raises(DocumentError, match="not been saved"):
        run(drawing, map_file="map")
    assert names.find_layer(group, "joints") is None


def test_a_plank_without_stations_is_refused():
    drawing = open_drawing(draw_plank())
    fair(drawing, strake="5", thickness_mm=20.0)
    with pytest.raises(PatternError, match="0 frame stations"):
        run(drawing)


def test_the_tables_are_read(tmp_path):
    rows = read_joint_table(write(tmp_path, GOOD), unit="mm")
    assert [(r.side, r.strake, r.kind, r.bay, r.distance_mm, r.of, r.note) for r in rows] == [
        ("starboard", "6", "butt", "1-2", None, "", "sound"), ("starboard", "4", "scarf", "", 60.0, "3", ""),
        ("port", "5", "butt", "on 4", None, "", "")]
    assert rows[1].where == "side.csv, row 3"
    frames = read_frame_table(write(tmp_path, "frame;distance (in)\n1;10\n2;20,5\n"), unit="mm")
    assert [(f.label, f.distance_mm) for f in frames] == [("1", 254.0), ("2", pytest.approx(520.7))]


def test_a_table_is_looked_for_beside_the_drawing(tmp_path):
    drawing, group = prepare()
    write(tmp_path, GOOD)
    run(drawing, joint_file="side.csv", path=str(tmp_path / "drawing.svg"))
    assert len([e for e in names.find_roles(group, "neighbour")]) == 2


@pytest.mark.parametrize("page", [{}, {"page": INCH_PAGE}])
@pytest.mark.parametrize("lay_out", ["true", "false"])
@pytest.mark.parametrize("kind", ["butt", "scarf"])
def test_what_is_written_is_read_back(tmp_path, page, lay_out, kind):
    if page:                                               # the same plank, two user units to the inch
        drawing = open_drawing('<g transform="scale(%.12f)">%s</g>' % (2 / 25.4, draw_plank()), selected=["trace"],
                               **page)
        plank, group = fair(drawing, strake="5", thickness_mm=20.0)
        write_stations(drawing, group,
                              *strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=250)),
                              square_to="baseline")
    else:
        drawing, group = prepare()
    run(drawing, kind=kind, joints="2-3, 4-5", lay_out=lay_out, joint_file=write(tmp_path, GOOD))
    again = reopen(drawing)
    group = again.find_group()
    plank = again.read_plank(group)
    joints, parts = read_joints(again, group)
    assert [(j.label, j.kind, j.bay, j.slope, j.feather)
            for j in joints] == [(str(k + 1), kind, bay, 12.0 if kind == "scarf" else 0.0,
                                  "aft" if kind == "scarf" else "") for k, bay in enumerate(("2-3", "4-5"))]
    assert [j.length_mm for j in joints] == pytest.approx([240.0 if kind == "scarf" else 0.0] * 2)
    start, along, _ = plank.find_axes()
    for joint in joints:
        assert (joint.line.mean(axis=0) - start) @ along == pytest.approx(joint.distance_mm, abs=1e-5)
        assert max(plank.edges[n].curve.find_nearest(p)[1] for n, p in zip(("upper", "lower"), joint.line)) < 1e-4
    assert [p.number for p in parts] == [1, 2, 3] and parts[0].from_mm == pytest.approx(0, abs=1e-6)
    for part in parts:
        for curve, name in zip((part.curves[0], part.curves[2]), ("upper", "lower")):
            assert max(plank.edges[name].curve.find_nearest(p)[1]
                       for p in curve.evaluate(np.linspace(0, len(curve.cubics), 9))) < 1e-3
        assert all(np.hypot(*(a.end - b.start)) < 1e-6 for a, b in zip(part.curves, part.curves[1:] + part.curves[:1]))


def test_without_the_layer_nothing_is_read():
    drawing, group = prepare()
    assert read_joints(drawing, group) == ((), ())


def test_no_joints_leave_no_parts_but_judge_the_ends(tmp_path):
    drawing, group = prepare()
    run(drawing, joints="none", aft_end="butt", joint_file=write(tmp_path, GOOD))
    assert read_joints(drawing, group) == ((), ())
    layer = names.find_layer(group, "joints")
    assert names.get(layer, "aft-end") == "butt" and names.get(layer, "rule") == "three-and-three" and names.get(
        layer, "fact-1-words")


def test_a_layer_that_was_changed_or_is_stale_is_refused():
    drawing, group = prepare()
    run(drawing)
    line = names.find_roles(group, "joint")[0]
    line.attrib["transform"] = "translate(3,0)"
    with pytest.raises(PatternError, match="has been changed"):
        read_joints(drawing, group)
    del line.attrib["transform"]
    names.put(names.find_roles(group, "part")[0], pieces="1 2")
    with pytest.raises(PatternError, match="has been changed"):
        read_joints(drawing, group)
    names.put(names.find_layer(group, "joints"), fairing="77")
    with pytest.raises(PatternError, match="faired again"):
        read_joints(drawing, group)


def test_running_again_replaces_its_own_layer_only():
    drawing, group = prepare()
    run(drawing, joints="2-3, 4-5")
    run(drawing, joints="3-4")
    assert len(read_joints(drawing,
                           group)[0]) == 1 and len([e for e in group if names.get(e, "layer") == "joints"]) == 1
    assert len(read_stations(drawing, group)) == 7


@pytest.mark.parametrize("label, words", [("", "label does not say"), ("strake butt", "label does not say"),
                                          ("plank 6 butt", "label does not say"), ("strake 6", "label does not say")])
def test_a_selected_line_without_its_words_is_refused(label, words):
    drawing, group = prepare('<path id="mark" inkscape:label="%s" d="M 900,100 L 900,120"/>' % label)
    with pytest.raises(SelectionError, match=words):
        run(drawing, [group.get("id"), "mark"])


def test_a_line_drawn_beside_the_plank_is_a_joint():
    drawing, group = prepare('<path id="mark" inkscape:label="strake 6 scarf: above" d="M 900,60 L 900,100"/><path '
                             'id="far" inkscape:label="port strake 4 butt" d="M 500,330 L 500,360"/>')
    run(drawing, [group.get("id"), "mark", "far"])
    plank = drawing.read_plank(group)
    start, along, _ = plank.find_axes()
    mark, = names.find_roles(group, "neighbour")
    assert (names.get(mark, "strake"), names.get(mark, "kind")) == ("6", "scarf")
    assert float(names.get(mark, "distance-mm")) == pytest.approx(float((np.array([900.0, 80.0]) - start) @ along),
                                                                  abs=1e-3)


@pytest.mark.parametrize("page, size", [("a4", ("297", "210")), ("letter", ("279.4", "215.9"))])
def test_the_map_is_a_file_of_its_own_at_true_size(tmp_path, page, size):
    drawing, _ = prepare()
    said = run(drawing, joint_file=write(tmp_path, GOOD), map_file="map.svg", folder=str(tmp_path), map_page=page)
    assert said == ["The butt map is in %s and map.pdf" % (tmp_path / "map.svg")]
    assert (tmp_path / "map.pdf").read_bytes().startswith(b"%PDF-")
    root = etree.parse(str(tmp_path / "map.svg")).getroot()
    for key, told in zip(("width", "height"), size):
        assert float(root.get(key)[:-2]) == float(told) and root.get(key).endswith("mm")
    assert [float(v) for v in root.get("viewBox").split()] == [0.0, 0.0, float(size[0]), float(size[1])]
    words = [names.get(e, "text") for e in root.iter() if isinstance(e.tag, str) and names.get(e, "text")]
    assert any("NOT AN APPROVAL" in w for w in words) and any(w.startswith("BUTT MAP") for w in words)


def test_every_refusal_is_one_of_ours():
    """A number too large for a length, a huge count, a table that is a folder: none of them is a fault of the program.
    """
    drawing, _ = prepare()
    for settings in ({"joints": "propose 99999999999"}, {"joints": "3 + 1e400"}, {"joint_file": str(EXTENSIONS)},
                     {"joints": "on " * 50}, {"joints": "3-4," * 400}):
        with pytest.raises(PlankError):
            run(drawing, **settings)
