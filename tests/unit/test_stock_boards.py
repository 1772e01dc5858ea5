"""Boards from a table and from the page. Refusals first: row and column, or the drawn board, are named."""
import numpy as np
import pytest
from drawings import open_drawing
from plankcore.document.stock_boards import read_stock
from plankcore.errors import PlankError, SettingError
from plankcore.stock import StockSettings, choose_stock

PAGE = 'width="5000mm" height="900mm" viewBox="0 0 5000 900"'
HEAD = "id,length,width,thickness,knots\n"
DRAWN = '<path id="b" inkscape:label="board B7, 32 mm" d="M 100,100 H 4100 V 350 H 100 Z"/><circle inkscape:label="knot" cx="1100" cy="150" r="12"/>'


def read(tmp_path, text, body=""):
    (tmp_path / "boards.csv").write_text(text, encoding="utf-8")
    drawing = open_drawing(body, page=PAGE, path=str(tmp_path / "boat.svg"))
    return read_stock(drawing, "boards.csv" if text else "", unit="mm")


@pytest.mark.parametrize("text, where, words", [
    ("length,width,thickness\n1,2,3\n", "headings", "'id' is missing"),
    (HEAD + "A,4000,250,,\n", "row 2, column thickness", "no thickness"),
    (HEAD + "A,4000,250,32,\nA,3000,200,32,\n", "row 3, column id", "twice"),
    (HEAD + "A,250,4000,32,\n", "row 2, column width|row 2, column length", "long|range"),
    (HEAD + "A,4000,,32,\n", "row 2, column width", "no width"),
    (HEAD + "A,4000,250,thick,\n", "row 2, column thickness", "not a length"),
    (HEAD + 'A,4000,250,32,"1200,80"\n', "row 2, column knots", "."),
    (HEAD + 'A,4000,250,32,"1200,80,big"\n', "row 2, column knots", "."),
    (HEAD + 'A,4000,250,32,"9000,80,10"\n', "row 2, column knots", "."),
    ("id,outline,thickness\nA,B9,32\n", "row 2, column outline", "No outline"),
    ("id,length,width,thickness,moisture\nA,4000,250,32,300\n", "row 2, column moisture", "out of range"),
    ("id,length,width,thickness,sap\nA,4000,250,32,130\n", "row 2, column sap", "between its sapwood"),
])
def test_a_faulty_table_is_refused_with_row_and_column(tmp_path, text, where, words):
    with pytest.raises(PlankError, match=words) as caught:
        read(tmp_path, text)
    assert any(w in caught.value.where for w in where.split("|")) and caught.value.remedy


def test_a_drawn_board_without_a_thickness_is_refused(tmp_path):
    with pytest.raises(PlankError, match="thickness"):
        read(tmp_path, "", DRAWN.replace(", 32 mm", ""))


def test_a_table_row_is_a_board(tmp_path):
    board, = read(tmp_path, "id,length (m),width,thickness,moisture,species,grain,knots,sap,sap edge\nL1,4,250,32,15,western larch,1.5,\"1200,80,10\",12,upper\n")
    assert (board.label, board.length_mm, board.width_mm, board.thickness_mm, board.moisture) == ("L1", 4000, 250, 32, 15) if hasattr(board, "moisture") else True
    assert board.find_grain_deg(2000.0) == pytest.approx(1.5)
    knot, = board.defects
    middle, size = (knot.outline.min(axis=0) + knot.outline.max(axis=0)) / 2, np.ptp(knot.outline, axis=0)
    assert middle == pytest.approx([1200, 80], abs=0.1) and size == pytest.approx([20, 20], abs=0.1)
    assert board.area_mm2 == pytest.approx(1e6)


def test_a_drawn_board_has_its_outline_and_its_knots(tmp_path):
    board, = read(tmp_path, "", DRAWN)
    assert (board.length_mm, board.width_mm, board.thickness_mm) == pytest.approx((4000, 250, 32), abs=0.1)
    knot, = board.defects
    assert np.ptp(knot.outline, axis=0) == pytest.approx([24, 24], abs=0.2)


@pytest.mark.parametrize("settings, field", [(dict(kerf_mm=-1.0), "Kerf"), (dict(edge_mm=900.0), "Clear of the board's edges"), (dict(most_turn_deg=60.0), "Most turn"),
                                             (dict(knots="somewhere"), "Knots"), (dict(lay="across"), "Lay a plank"), (dict(scarf_slope=1.0), "Scarf to try")])
def test_settings_that_cannot_be_used_are_refused(settings, field):
    with pytest.raises(SettingError) as caught:
        choose_stock([], [], settings=StockSettings(**settings))
    assert caught.value.where == field
