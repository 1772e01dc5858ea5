"""The Board in a drawing: written, saved, opened again and rebuilt; and what becomes of one that was changed since. The
plank is invented.
"""
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from drawings import HEAD, draw_plank, fair, open_drawing
from host.scripts import run_script
from lxml import etree

from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.files.table import read_bevel_table
from plankcore.document.layers.lines import read_stations, write_stations
from plankcore.document.layers.sections import read_board, write_board
from plankcore.errors import PatternError
from plankcore.section.board import BoardSettings, draw_board, make_board
from plankcore.stations.strike import StationSettings, strike_stations

EXTENSIONS = Path(__file__).resolve().parents[4] / "extensions"
TABLE = ("frame,radius,upper bevel,lower "
         "angle,bend,note|1,flat,-2,0,9000,|3,1200,2.5,6,6000,sap|5,-450,7,16,5000,|7,300,10.5,23,5000,new")


PAGE = 'width="2700mm" height="500mm" viewBox="0 0 2700 500"'


def write(*, face="inboard", **settings):
    """A drawing with a board in it, opened anew for each test: (drawing, group, board)."""
    text, board = write_once(face, tuple(sorted(settings.items())))
    drawing = Drawing(load_document(text, where="test").getroot())
    return drawing, drawing.find_groups()[0], board


@lru_cache(maxsize=None)
def write_once(face, settings):
    drawing = open_drawing(draw_plank(), page=PAGE)
    plank, group = fair(drawing, thickness_mm=25.0, face=face, strake="7")
    write_stations(drawing, group, *strike_stations(plank, settings=StationSettings()), square_to="baseline")
    plank, stations = drawing.read_plank(group), read_stations(drawing, group)
    board = make_board(plank, stations, read_bevel_table("", TABLE, unit="mm"),
                                settings=BoardSettings(seam_rule="sixteenth", stock_mm=32.0, **dict(settings)))
    write_board(drawing, group, board, draw_board(plank, board, stations))
    return etree.tostring(drawing.root), board


def find(group):
    return names.find_layer(group, "section")


def _move_face(group):
    names.find_roles(group, "other-face")[0].attrib["transform"] = "translate(1,0)"


def _drop_section(group):
    found = names.find_roles(group, "section")[2]
    found.getparent().remove(found)


def _forget_numbers(group):
    del names.find_roles(group, "section")[1].attrib[names.attribute("hollow-mm")]


def _forget_pieces(group):
    names.put(names.find_roles(group, "drawn-face")[0], pieces="1 1 1 1")


def _forget_stock(group):
    names.put(find(group), stock_mm="thick")


@pytest.mark.parametrize("change", [_move_face, _drop_section, _forget_numbers, _forget_pieces, _forget_stock])
def test_a_board_changed_since_is_refused(change):
    drawing, group, _ = write()
    change(group)
    with pytest.raises(PatternError) as caught:
        read_board(drawing, group)
    assert "Run Hollow and Bevels again" in caught.value.remedy


def test_a_board_older_than_the_fairing_is_refused():
    drawing, group, _ = write()
    names.put(names.find_layer(group, "fair"), fairing=9)
    with pytest.raises(PatternError, match="faired again"):
        read_board(drawing, group)


def test_no_layer_is_no_board():
    drawing = open_drawing(draw_plank())
    _, group = fair(drawing)
    assert read_board(drawing, group) is None


@pytest.mark.parametrize("face", ["inboard", "outboard"])
def test_what_is_read_is_what_was_written(face):
    drawing, group, board = write(face=face, fore_bevel_deg=5.0)
    again = read_board(drawing, group)
    for a, b in zip(board.drawn_face + board.other_face, again.drawn_face + again.other_face):
        assert a.cubics.shape == b.cubics.shape and np.abs(a.cubics - b.cubics).max() < 1e-5
    for name in ("thickness_mm", "stock_mm", "length_added_mm", "turn_deg"):
        assert getattr(again, name) == pytest.approx(getattr(board, name), abs=1e-6)
    assert (again.face, again.stock_name, again.includes, again.rows, again.seam.rule,
            again.seam.share) == (face, board.stock_name, board.includes, board.rows, "sixteenth", "both")
    assert again.seam.gap_mm == pytest.approx(25 / 16) and again.seam.source == board.seam.source
    assert len(again.sections) == len(board.sections) == 7
    for a, b in zip(board.sections, again.sections):
        assert (a.station, a.note, a.known) == (b.station, b.note, b.known)
        for name in ("distance_mm", "inside_mm", "outside_mm", "hollow_mm", "rounding_mm", "stock_mm", "thickness_mm",
                     "curvature_per_mm", "strain"):
            assert getattr(b, name) == pytest.approx(getattr(a, name), abs=1e-6), name
        assert b.bevels_deg == pytest.approx(a.bevels_deg,
                                             abs=1e-6) and b.growths_mm == pytest.approx(a.growths_mm, abs=1e-6)
        assert np.abs(a.line - b.line).max() < 1e-5 and np.abs(a.profile - b.profile).max() < 1e-4


def test_a_plank_moved_and_turned_as_a_whole_brings_its_board_along():
    drawing, group, board = write()
    group.attrib["transform"] = "translate(30,400) rotate(180)" + group.attrib.get("transform", "")
    again = read_board(drawing, group)
    carry = np.array([[-1.0, 0.0, 30.0], [0.0, -1.0, 400.0]])
    for a, b in zip(board.drawn_face, again.drawn_face):
        assert np.abs(a.transform(carry).cubics - b.cubics).max() < 1e-5
    for a, b in zip(board.sections, again.sections):
        assert np.abs(a.line @ carry[:, :2].T
                      + carry[:, 2] - b.line).max() < 1e-5 and np.abs(a.profile - b.profile).max() < 1e-4


def test_the_marks_in_the_drawing_carry_their_numbers():
    _drawing, group, board = write()
    bevels = names.find_roles(find(group), "bevel")
    assert len(bevels) == 2 * len(board.sections)
    one = next(e for e in bevels if names.get(e, "station") == "3" and names.get(e, "edge") == "upper")
    assert float(names.get(one, "bevel-deg")) == pytest.approx(board.sections[2].bevels_deg["upper"], abs=1e-6)
    assert float(names.get(one, "growth-mm")) == pytest.approx(board.sections[2].growths_mm["upper"], abs=1e-6)
    section = next(e for e in names.find_roles(find(group), "section") if names.get(e, "station") == "1")
    assert names.get(section,
                     "known").split()[0] == "radius=given" and float(names.get(section, "upper-bevel-deg")) < -2


@pytest.mark.long
def test_the_action_as_a_script(tmp_path):
    """Two steps before it and it, as processes; refused without thickness, and nothing is written then."""
    table = tmp_path / "frames.csv"
    table.write_text(TABLE.replace("|", "\n"))
    (tmp_path / "in.svg").write_text(HEAD % (PAGE, draw_plank()))

    def run(script, source, *settings):
        out = tmp_path / (script + ".svg")
        done = run_script(script, tmp_path / source, out, more=settings, strict=True)
        return done.code, done.said, out
    assert run("plank_fair", "in.svg", "--id=trace")[0] == 0
    assert run("plank_stations", "plank_fair.svg")[0] == 0
    code, said, out = run("plank_section", "plank_stations.svg", "--table=frames.csv")
    assert code == 251 and "no thickness" in said and not out.exists()
    assert run("plank_fair", "in.svg", "--id=trace", "--thickness=25 mm")[0] == 0
    assert run("plank_stations", "plank_fair.svg")[0] == 0
    code, said, out = run("plank_section", "plank_stations.svg", "--table=frames.csv", "--seam_rule=eighth",
                          "--stock=1 1/4\"")
    assert (code, said) == (0, "")
    root = etree.parse(str(out)).getroot()
    assert len([e for e in root.iter() if e.get("{urn:plankcore:1}role") == "section"]) == 7
