"""Boards from a table and from the page. Refusals first, each with row and column or the object."""
import numpy as np
import pytest
from drawings import open_drawing, write_path_data
from shapes import draw_rectangle, turn

from plankcore.document.files.boards import read_stock
from plankcore.errors import DocumentError, PatternError, SelectionError

HEADS = "id,length,width,thickness"
OUTLINE = '<path id="b7" inkscape:label="board B7%s" d="%s"/>'


def read(tmp_path, table=None, body="", *, unit="mm"):
    if table is not None:
        (tmp_path / "boards.csv").write_text(table)
    drawing = open_drawing(body, path=str(tmp_path / "in.svg"))
    return read_stock(drawing, "boards.csv" if table is not None else "", unit=unit)


def draw_board(label=", 32 mm", points=None, *, closed=True):
    return OUTLINE % (label, write_path_data(draw_rectangle(900, 200, left=100, top=50) if points is None else points,
                                             closed=closed))


BAD = {
    "no file": (None, "boards.csv", "cannot be read"),
    "no heading of thickness": ("id,length,width\nB1,3000,200\n", "headings", "'thickness' is missing"),
    "an unknown heading": (HEADS + ",colour\nB1,3000,200,32,red\n", "headings", "'colour' is not known"),
    "no id": (HEADS + "\n,3000,200,32\n", "row 2, column id", "no id"),
    "an id twice": (HEADS + "\nB1,3000,200,32\nb1,3000,200,32\n", "row 3, column id", "twice"),
    "no thickness": (HEADS + "\nB1,3000,200,\n", "row 2, column thickness", "no thickness"),
    "no length": (HEADS + "\nB1,,200,32\n", "row 2, column length", "has no length"),
    "no width": (HEADS + "\nB1,3000,,32\n", "row 2, column width", "has no width"),
    "a word for a length": (HEADS + "\nB1,long,200,32\n", "row 2, column length", "not a length"),
    "a length beyond any": (HEADS + "\nB1,300000,200,32\n", "row 2, column length", "out of range"),
    "wider than long": (HEADS + "\nB1,200,3000,32\n", "row 2, column width", "3000 mm wide"),
    "a moisture that cannot be": (HEADS + ",moisture\nB1,3000,200,32,wet\n", "row 2, column moisture", "not a number"),
    "a moisture too high": (HEADS + ",moisture\nB1,3000,200,32,250\n", "row 2, column moisture", "out of range"),
    "grain across": (HEADS + ",grain\nB1,3000,200,32,80\n", "row 2, column grain", "out of range"),
    "a circle of two": (HEADS + ',knots\nB1,3000,200,32,"100,50"\n', "row 2, column knots", "no circle and no shape"),
    "a circle of letters": (HEADS + ',knots\nB1,3000,200,32,"100,x,20"\n', "row 2, column knots",
                            "'x' is not a length"),
    "a circle without size": (HEADS + ',knots\nB1,3000,200,32,"100,50,0"\n', "row 2, column knots", "radius of 0"),
    "a knot off the board": (HEADS + ',knots\nB1,3000,200,32,"100,250,20"\n', "row 2, column knots",
                             "outside the board"),
    "a shape of two corners": (HEADS + ',defects\nB1,3000,200,32,"100,50 200,50"\n', "row 2, column defects",
                               "no circle and no shape"),
    "nothing but sapwood": (HEADS + ",sap\nB1,3000,200,32,100\n", "row 2, column sap", "between its sapwood"),
    "sapwood at no edge": (HEADS + ",sap,sap edge\nB1,3000,200,32,20,left\n", "row 2, column sap edge",
                           "not one of the words"),
    "an outline that is not drawn": ("id,outline,thickness\nB1,B9,32\n", "row 2, column outline",
                                     "labelled 'board B9'"),
}


@pytest.mark.parametrize("case", BAD)
def test_tables_that_are_refused(tmp_path, case):
    table, where, words = BAD[case]
    with pytest.raises(DocumentError) as caught:
        if table is None:
            read_stock(open_drawing("", path=str(tmp_path / "in.svg")), "boards.csv", unit="mm")
        read(tmp_path, table)
    assert words in caught.value.problem and str(caught.value.where).endswith(where) and caught.value.remedy


def test_an_outline_and_a_size_contradict(tmp_path):
    with pytest.raises(DocumentError) as caught:
        read(tmp_path, "id,length,width,outline,thickness\nB1,3000,200,B7,32\n", draw_board())
    assert "both" in caught.value.problem and caught.value.where.endswith("row 2, column outline")


SHAPES = {
    "no thickness": (draw_board(""), SelectionError, "nothing tells its thickness"),
    "a label with something else": (draw_board(" good one"), SelectionError, "'good one', which is no thickness"),
    "a thickness beyond any": (draw_board(", 900 mm"), SelectionError, "no thickness"),
    "an open outline": (draw_board(closed=False), PatternError, "not one closed line"),
    "a crossed outline": (draw_board(points=np.array([(0, 0), (900, 200), (900, 0), (0, 100.0)])), PatternError,
                          "crosses itself"),
    "drawn twice": (draw_board() + draw_board(), SelectionError, "Two outlines"),
    "a knot on no board": (draw_board() + '<circle inkscape:label="knot" cx="1500" cy="100" r="9"/>', SelectionError,
                           "lies on no board"),
    "grain that turns back": (draw_board() + '<path inkscape:label="grain" d="M 200,100 L 700,100 600,120"/>',
                              SelectionError, "turns back"),
    "grain too short": (draw_board() + '<path inkscape:label="grain" d="M 200,100 L 210,180"/>', SelectionError,
                        "too short"),
}


@pytest.mark.parametrize("case", SHAPES)
def test_drawn_boards_that_are_refused(tmp_path, case):
    body, kind, words = SHAPES[case]
    with pytest.raises(kind) as caught:
        read(tmp_path, None, body)
    assert words in caught.value.problem and caught.value.where


def test_drawn_and_given_a_size(tmp_path):
    with pytest.raises(SelectionError, match="drawn on the page, and the table gives it a size"):
        read(tmp_path, HEADS + "\nB7,900,200,32\n", draw_board())


def test_a_full_row(tmp_path):
    table = ('id;length (in);width;thickness;moisture;species;grain;knots;defects;sap;sap edge;note\n'
             'B1;100;200;32;15,5;Larch;-1,5;"300,60,15; 1200,80,20";"1800,10 1900,20 1850,60";12;upper;from the shed\n')
    board, = read(tmp_path, table)
    assert (board.label, board.length_mm, board.width_mm, board.thickness_mm, board.moisture_percent,
            board.species) == ("B1", 2540, 200, 32, 15.5, "Larch")
    assert board.grain.tolist() == [[0, -1.5]] and board.sap_mm == (12, 0) and not board.drawn
    assert [d.kind for d in board.defects] == ["knot", "knot", "defect"]
    assert board.defects[0].outline.mean(axis=0) == pytest.approx((300, 60)) and np.ptp(
        board.defects[0].outline, axis=0) == pytest.approx((30, 30), abs=0.1)
    assert board.defects[2].outline.tolist() == [[1800, 10], [1900, 20], [1850, 60]]


def test_defects_in_inches(tmp_path):
    board, = read(tmp_path, HEADS + ',knots\nB1,100,8,1.25,"10,2,0.5; 508mm,50mm,10mm"\n', unit="in")
    assert [d.outline.mean(axis=0).tolist() for d in board.defects] == [pytest.approx([254, 50.8]),
                                                                        pytest.approx([508, 50])]


@pytest.mark.parametrize("degrees", [0, 20, -35])
def test_a_board_drawn_askew_with_its_defects_and_grain(tmp_path, degrees):
    """On its own axes it lies level, its upper edge up; what is on it goes with it."""
    def lean(points):
        return turn(np.asarray(points, float) + (600, 150), degrees, about=(600, 150))
    body = (draw_board(points=lean(draw_rectangle(900, 200)))
            + '<path inkscape:label="Knot 1" d="%s"/>' % write_path_data(lean(draw_rectangle(20, 20, left=290, top=50)))
            + '<path inkscape:label="split" d="%s"/>' % write_path_data(lean([(880, 100), (700, 104)]), closed=False)
            + '<path inkscape:label="grain" d="%s"/>'
            % write_path_data(lean([(800, 100 + 700 * np.tan(np.radians(2))), (100, 100)]), closed=False))
    board, = read(tmp_path, None, body)
    assert (board.label, board.length_mm, board.width_mm, board.thickness_mm,
            board.drawn) == ("B7", pytest.approx(900), pytest.approx(200), 32, True)
    assert board.outline.min(axis=0) == pytest.approx((0, 0), abs=1e-6)
    knot, split = board.defects
    assert (knot.kind, split.kind) == ("knot", "defect")
    assert knot.outline.mean(axis=0) == pytest.approx((300, 60), abs=1e-6)
    assert split.outline[:, 0].min() == pytest.approx(700, abs=1e-6) and split.outline[:, 0].max() == pytest.approx(
        880, abs=1e-6)
    assert board.find_grain_deg(450.0) == pytest.approx(2, abs=1e-6)


def test_curved_grain_is_read_place_by_place(tmp_path):
    x = np.linspace(120, 980, 80)
    body = draw_board() + '<path inkscape:label="grain" d="%s"/>' % write_path_data(
        np.column_stack([x, 150 + 1e-4 * (x - 550) ** 2]), closed=False)
    board, = read(tmp_path, None, body)
    assert board.find_grain_deg(np.array([150.0, 450.0, 750.0])) == pytest.approx(
        np.degrees(np.arctan(2e-4 * np.array([-300, 0, 300]))), abs=0.05)


@pytest.mark.parametrize("table", ["id,outline,thickness,moisture\nB1,board B7,40,14\n",
                                   "id,length,width,thickness,moisture\nb7,,,40,14\n"])
def test_a_row_for_a_drawn_outline(tmp_path, table):
    body = draw_board("") + '<circle inkscape:label="knot" cx="400" cy="100" r="9"/>'
    board, = read(tmp_path, table, body)
    assert board.drawn and (board.thickness_mm, board.moisture_percent) == (40, 14) and len(board.defects) == 1
    assert board.defects[0].outline.mean(axis=0) == pytest.approx((300, 50), abs=0.2)


def test_the_table_comes_first_and_without_either_there_is_nothing(tmp_path):
    assert [b.label for b in read(tmp_path, HEADS + "\nB1,900,200,32\n", draw_board())] == ["B1", "B7"]
    assert read(tmp_path) == []


def test_without_a_drawn_board_words_such_as_knot_mean_nothing(tmp_path):
    assert read(tmp_path, None, '<circle inkscape:label="knot" cx="400" cy="100" r="9"/>') == []
