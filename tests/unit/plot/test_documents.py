"""What is read to be plotted, where its files go, and what the sheet's layer leaves clear in the drawing."""
from pathlib import Path

import numpy as np
import pytest
from drawings import draw_plank, draw_plank_points, fair, open_drawing, reopen
from fact_rows import make_facts
from shapes import make_bowed_plank

from plankcore.document import names
from plankcore.document.files.hpgl import sort_passes
from plankcore.document.files.output import check_formats, choose_stem, name_files, write_files
from plankcore.document.files.sheet import PAGE_GAP_MM, write_pages_svg, write_sheet_layer
from plankcore.document.files.table import read_bevel_table
from plankcore.document.layers.lines import read_stations, write_stations
from plankcore.document.layers.sections import write_board
from plankcore.document.layers.state import name_sheet, read_matter
from plankcore.document.overlay import write_overlay
from plankcore.document.pathdata import read_path
from plankcore.errors import DocumentError, PatternError, SelectionError, SettingError
from plankcore.geometry.strokes import draw_polyline
from plankcore.model.drawing import Overlay, SheetLine, SheetText
from plankcore.model.page import Page, Pass
from plankcore.plot.sheet import lay_out_matter
from plankcore.section.board import BoardSettings, draw_board, make_board
from plankcore.stations.strike import StationSettings, strike_stations

pytestmark = pytest.mark.long          # whole pages laid out

TWO = "<g>%s</g><g>%s</g>" % (draw_plank(key="a"), draw_plank(draw_plank_points() + (0, 400), key="b"))
PAGE = 'width="2000mm" height="900mm" viewBox="0 0 2000 900"'


def open_two():
    drawing = open_drawing(TWO, page=PAGE, selected=("a",))
    fair(drawing, strake="5")
    drawing = reopen(drawing, ("b",))
    fair(drawing, strake="6")
    return reopen(drawing)


def add_overlay(drawing, group, *, layer="joints", at=(900.0, 200.0), text="A NOTE", rows=("checked by eye",)):
    overlay = Overlay((SheetLine(draw_polyline([at, (at[0], at[1] + 40)]), "draw", "joint", "joint"),),
                      (SheetText(text, at, 5.0, role="label"),), make_facts(rows))
    write_overlay(drawing, group, overlay, layer=layer, label=layer)


# -- which planks ------------------------------------------------------------------------------------------------------

def test_on_a_roll_go_the_selected_planks_or_all():
    drawing = open_two()
    ids = [g.get("id") for g in drawing.find_groups()]
    assert len(ids) == 2 and [g.get("id") for g in drawing.find_groups_meant()] == ids
    assert [g.get("id") for g in reopen(drawing, (ids[1],)).find_groups_meant()] == ids[1:]
    inside = names.find_roles(drawing.find_groups()[0], "outline")[0]
    inside.set("id", "inside")
    assert [g.get("id") for g in reopen(drawing, ("inside", ids[1])).find_groups_meant()] == ids


def test_without_a_plank_there_is_nothing_to_plot():
    with pytest.raises(SelectionError, match="no fair plank"):
        open_drawing(draw_plank()).find_groups_meant()


# -- what of them ------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("layer", ["joints", "fastenings", "turn", "stock"])
def test_the_layers_of_all_actions_are_read(layer):
    drawing = open_drawing(draw_plank())
    _plank, group = fair(drawing)
    assert read_matter(drawing, group).overlays == ()
    add_overlay(drawing, group, layer=layer)
    matter = read_matter(reopen(drawing), reopen(drawing).find_group())
    overlay, = matter.overlays
    assert overlay.rows == ("checked by eye",) and [t.text for t in overlay.texts] == [
        "A NOTE"] and [one.role for one in overlay.lines] == ["joint"]


def test_after_hollow_and_bevels_the_sheet_is_of_the_plank_as_it_is_struck():
    """Its lengths and stations are the board's: longer by what bending takes, narrower by the roundness."""
    drawing = open_drawing(draw_plank(), page='width="2700mm" height="500mm" viewBox="0 0 2700 500"')
    plank, group = fair(drawing, thickness_mm=25.0)
    write_stations(drawing, group, *strike_stations(plank, settings=StationSettings()), square_to="baseline")
    stations = read_stations(drawing, group)
    rows = read_bevel_table("", "frame,radius,bend|2,400,6000|6,400,6000", unit="mm")
    board = make_board(plank, stations, rows, settings=BoardSettings(pattern_mm=3.0))
    write_board(drawing, group, board, draw_board(plank, board, stations))
    matter = read_matter(drawing, group)
    # the turn is length / (6000 + 1.5), and half the difference of 25 and 3 mm goes on at it: 11 / 6001.5 of the length
    length = plank.measure_length_mm()
    assert matter.plank.measure_length_mm() - length == pytest.approx(length * 11 / 6001.5, abs=0.1)
    girth, chord = stations[2].width_mm, matter.stations[2].width_mm
    assert chord == pytest.approx(800 * np.sin(girth / (2 * 401.5)), abs=0.02) and chord < girth
    assert matter.board_includes == board.includes and matter.plank.edges["upper"].rms_mm == pytest.approx(
        plank.edges["upper"].rms_mm, abs=1e-6)
    words = [t.text for t in lay_out_matter(matter).texts]
    assert any("LENGTH ON THE BOARD %.1f MM" % matter.plank.measure_length_mm() in w for w in words)
    face = matter.plank.face.upper()
    assert "%.1f %s" % (chord, face) in words and "%.1f %s" % (girth, face) not in words
    outlines = [one for one in lay_out_matter(matter).lines if one.role in ("outline", "drawn-face")]
    assert len(outlines) == 1


@pytest.mark.parametrize("layer, action",
                         [("section", "Hollow and Bevels"), ("joints", "Scarfs and Butts"),
                          ("fastenings", "Fastenings"), ("turn", "Other Face, Other Hand"), ("stock", "Choose Stock")])
def test_a_layer_older_than_the_plank_is_refused_by_its_actions_name(layer, action):
    drawing = open_drawing(draw_plank())
    _, group = fair(drawing)
    add_overlay(drawing, group, layer=layer)
    drawing = reopen(drawing)
    fair(drawing)
    with pytest.raises(PatternError) as refusal:
        read_matter(drawing, drawing.find_group())
    assert action in refusal.value.remedy


def test_what_an_older_layer_said_of_the_scans_is_read():
    """A layer made before layers carried facts has its words alone."""
    drawing = open_drawing(draw_plank() + '<g plank:role="layer" plank:layer="true-up" '
                                          'xmlns:plank="urn:plankcore:1"><path plank:role="note" plank:text="Worst '
                                          '0.4 mm" d="M 0,0 L 1,1"/>'
                           '<path plank:role="note" plank:text="P1: 0.2" plank:point="P1" d="M 0,0 L 1,1"/></g>',
                           selected=("trace",))
    _, group = fair(drawing)
    assert [(one.key, one.words) for one in read_matter(drawing, group).scans] == [("told", "Worst 0.4 mm")]


# -- where to ----------------------------------------------------------------------------------------------------------

def test_files_of_several_planks_are_called_after_all_strakes(tmp_path):
    planks = [make_bowed_plank(name="Tamsin Grey", strake=s, side="port") for s in ("5", "6")]
    assert choose_stem("", planks, folder=str(tmp_path),
                       file_name="") == tmp_path / "tamsin-grey-strakes-5-6-port-sheet"
    assert choose_stem("", planks[:1], folder=str(tmp_path),
                       file_name="") == tmp_path / "tamsin-grey-strake-5-port-sheet"
    assert choose_stem("", planks, folder=str(tmp_path), file_name="mine.PLT") == tmp_path / "mine"


def test_the_drawing_itself_is_never_written_over(tmp_path):
    with pytest.raises(SettingError, match="place of the drawing"):
        choose_stem(str(tmp_path / "x.svg"), [make_bowed_plank()], folder="", file_name="x")


def test_pages_go_into_one_file_or_each_into_its_own():
    pages = [Page(name, 1.0, 1.0, ()) for name in ("KEY 1", "A1")]
    assert [p.name for p, _ in name_files(Path("d/s"), ".svg", pages, False)] == ["s.svg"]
    assert [p.name for p, _ in name_files(Path("d/s"), ".svg", pages, True)] == ["s-key-1.svg", "s-a1.svg"]
    assert [p.name for p, _ in name_files(Path("d/s.v2"), ".svg", pages[:1], True)] == ["s.v2.svg"]


def test_a_plot_in_no_format_is_refused():
    check_formats({"svg": False, "pdf": True})
    with pytest.raises(SettingError, match="No format"):
        check_formats({"svg": False, "pdf": False})


def test_files_are_written_all_or_none(tmp_path):
    (tmp_path / "old.svg").write_text("old")
    with pytest.raises(DocumentError, match="no folder"):
        write_files({tmp_path / "old.svg": b"new", tmp_path / "nowhere" / "b": b"b"})
    assert [p.name for p in tmp_path.iterdir()] == ["old.svg"] and (tmp_path / "old.svg").read_text() == "old"
    write_files({tmp_path / "old.svg": b"new", tmp_path / "b": b"b"})
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b",
                                                          "old.svg"] and (tmp_path / "old.svg").read_bytes() == b"new"


def test_passes_go_into_one_file_or_each_into_its_own():
    runs = (np.zeros((2, 2)),)
    passes = [Pass("draw", runs, ("note",)), Pass("cut", runs, ("saw",))]
    assert [(p.name, len(some)) for p, some in sort_passes(Path("s.plt"), passes, False)] == [("s.plt", 2)]
    assert [p.name for p, _ in sort_passes(Path("s.plt"), passes, True)] == ["s-draw.plt", "s-cut.plt"]
    assert [p.name for p, _ in sort_passes(Path("s.plt"), [Pass("draw", (), ()), passes[1]],
                                                     True)] == ["s-cut.plt"]


# -- the files ---------------------------------------------------------------------------------------------------------

def test_several_pages_lie_side_by_side_and_are_pages_of_the_editors():
    from lxml import etree
    line = SheetLine(draw_polyline([(10, 10), (90, 40)]), "cut", "saw", "saw")
    root = etree.fromstring(write_pages_svg([Page("A1", 100.0, height_mm=50.0, lines=(line,), title="T"),
                                             Page("A2", 200.0, height_mm=60.0, lines=(line,), title="T")]))
    pages = root.findall(".//{%s}page" % names.INKSCAPE)
    assert [(float(p.get("x")), float(p.get("width")), float(p.get("height")))
            for p in pages] == [(0, 100, 50), (100 + PAGE_GAP_MM, 200, 60)]
    assert root.get("viewBox").split()[2:] == ["100.0000", "50.0000"]
    found = [read_path(e.get("d"), where="x")[0].cubics[0, 0] for e in names.find_roles(root, "saw")]
    assert found[1] - found[0] == pytest.approx((100 + PAGE_GAP_MM, 0))
    assert [names.get(e, "page") for e in names.find_roles(root, "saw")] == ["A1", "A2"]


def test_strokes_that_do_not_touch_stay_apart_in_the_svg():
    from lxml import etree
    line = SheetLine(np.concatenate([draw_polyline([(0, 0), (5, 0)]), draw_polyline([(2, 2), (2, 9)])]), "draw",
                     "join-mark", "join")
    element, = names.find_roles(etree.fromstring(write_pages_svg([Page("P", 10.0, 10.0, (line,))])), "join-mark")
    assert [run.cubics[0, [0, 3]].tolist()
            for run in read_path(element.get("d"), where="x")] == [[[0, 0], [5, 0]], [[2, 2], [2, 9]]]


# -- the layer ---------------------------------------------------------------------------------------------------------

def find_words(layer):
    return {names.get(e, "text"): np.concatenate([r.cubics.reshape(-1, 2) for r in read_path(e.get("d"), where="x")])
            for e in layer if names.get(e, "text")}


@pytest.mark.parametrize("rewritten", [False, True])
def test_the_words_in_the_drawing_keep_clear_of_other_layers(rewritten):
    drawing = open_drawing(draw_plank())
    plank, group = fair(drawing)
    write_stations(drawing, group, strike_stations(plank, settings=StationSettings())[0], square_to="baseline")
    write_sheet_layer(drawing, group, lay_out_matter(read_matter(drawing, group)))
    before = find_words(names.find_layer(group, "sheet"))
    add_overlay(drawing, group, layer="own", at=(300.0, 330.0))
    if rewritten:                                            # the editor writes relative steps
        note = next(e for e in names.find_layer(group, "own") if names.get(e, "text"))
        runs = [np.vstack([r.cubics[:1, 0], r.cubics[:, 3]]) for r in read_path(note.get("d"), where="x")]
        note.set("d", " ".join("M %r,%r l " % tuple(map(float, r[0]))
                               + " ".join("%r,%r" % tuple(map(float, s)) for s in np.diff(r, axis=0)) for r in runs))
    write_sheet_layer(drawing, group, lay_out_matter(read_matter(drawing, group)))
    after = find_words(names.find_layer(group, "sheet"))
    lowest = find_words(names.find_layer(group, "own"))["A NOTE"][:, 1].max()
    assert set(after) == set(before) and min(p[:, 1].min() for p in before.values()) < lowest
    assert all(p[:, 1].min() > lowest + 5 for p in after.values())


def test_the_frame_tells_the_sheets_own_size():
    drawing = open_drawing(draw_plank())
    _, group = fair(drawing)
    sheet = lay_out_matter(read_matter(drawing, group))
    write_sheet_layer(drawing, group, sheet)
    frame, = names.find_roles(group, "sheet")
    assert float(names.get(frame, "width-mm")) == pytest.approx(sheet.width_mm, abs=1e-6)


def test_a_turned_copy_has_a_sheet_of_its_own_name():
    drawing = open_two()
    group = drawing.find_groups()[0]
    assert name_sheet([group]) == name_sheet(drawing.find_groups()) == "sheet"
    names.put(group, turned_from="plank-7", seen_from="inboard")
    assert name_sheet([group]) == "inboard face up sheet"
