"""Tables from the yard. Refusals first: each names the row and the column, and nothing of a faulty table is used."""
import pytest

from plankcore.document.files.table import Column, read_table, read_table_file
from plankcore.errors import DocumentError

COLUMNS = (Column("frame", required=True), Column("radius", "length", least=10.0, most=1e6),
           Column("upper bevel", "number", least=-60, most=60),
           Column("kind", "choice", choices=("butt", "scarf"), otherwise="butt"), Column("note", otherwise=""))


def read(text, **more):
    return read_table(text, COLUMNS, where="frames.csv", **more)


@pytest.mark.parametrize("text, where, words", [
    ("", "frames.csv", "empty"), ("# only a remark\n\n", "frames.csv", "empty"),
    ("radius\n300\n", "frames.csv, headings", "'frame' is missing"),
    ("frame,colour\n7,red\n", "frames.csv, headings", "'colour' is not known"),
    ("frame,radius,radius\n7,300,300\n", "frames.csv, headings", "twice"),
    ("frame,radius (furlong)\n7,1\n", "frames.csv, headings", "not a unit"),
    ("frame,radius\n7,300\n8,round\n", "frames.csv, row 3, column radius", "not a length"),
    ("frame,radius\n7,3\n", "frames.csv, row 2, column radius", "out of range"),
    ("frame,upper bevel\n\n7,steep\n", "frames.csv, row 3, column upper bevel", "not a number"),
    ("frame,upper bevel\n7,nan\n", "frames.csv, row 2, column upper bevel", "not a number"),
    ("frame,upper bevel\n7,61\n", "frames.csv, row 2, column upper bevel", "out of range"),
    ("frame,kind\n7,rivet\n", "frames.csv, row 2, column kind", "words"),
    ("frame,radius\n,300\n", "frames.csv, row 2, column frame", "no frame"),
    ("frame,note\n7,one,two\n", "frames.csv, row 2", "3 cells under 2"),
    ('frame,note\n7,"open\n', "frames.csv, row 2", "quotation"),
    ("frame\0,radius\n7,300\n", "frames.csv", "no text"),
])
def test_what_is_wrong_is_named_with_its_row_and_column(text, where, words):
    with pytest.raises(DocumentError, match=words) as caught:
        read(text)
    assert caught.value.where == where and caught.value.remedy


def test_a_file_that_is_not_there_not_text_or_too_large_is_refused(tmp_path, monkeypatch):
    with pytest.raises(DocumentError, match="cannot be read"):
        read_table_file(str(tmp_path / "none.csv"), COLUMNS)
    (tmp_path / "latin.csv").write_bytes("frame,note\n7,Stück\n".encode("latin-1"))
    with pytest.raises(DocumentError, match="UTF-8"):
        read_table_file(str(tmp_path / "latin.csv"), COLUMNS)
    monkeypatch.setattr("plankcore.document.files.table.MOST_BYTES", 10)
    with pytest.raises(DocumentError, match="too large"):
        read_table_file(str(tmp_path / "latin.csv"), COLUMNS)


def test_lengths_carry_their_unit_in_the_heading_in_the_cell_or_from_the_dialog():
    rows = read("Frame , Radius (in)\n7, 12\n8, 300 mm\n9, 1' 2\"\n")
    assert [r["radius"] for r in rows] == pytest.approx([304.8, 300.0, 355.6])
    assert read("frame,radius\n7,3\n", unit="ft")[0]["radius"] == pytest.approx(914.4)
    assert [r["row"] for r in rows] == [2, 3, 4] and rows[0]["frame"] == "7"


@pytest.mark.parametrize("text",
                         ["frame;radius;upper bevel\n7;304,8;-2,5\n", "frame\tradius\tupper bevel\n7\t304,8\t-2,5\n",
                          "\ufeff# made up\nFRAME,radius,upper_bevel\r\n7,304.8,-2.5\r\n"])
def test_semicolons_tabs_commas_and_decimal_commas(text, tmp_path):
    (tmp_path / "t.csv").write_bytes(text.encode("utf-8"))
    rows = read_table_file("t.csv", COLUMNS, folder=str(tmp_path))
    assert rows == [{"frame": "7", "radius": 304.8, "upper bevel": -2.5, "kind": "butt", "note": "",
                     "row": rows[0]["row"]}]


def test_empty_cells_and_short_rows_give_what_stands_in_for_them():
    rows = read('frame,radius,kind,note\n7,,Scarf,"a, b"\n8\n9,,,,\n')
    assert [r["radius"] for r in rows] == [None, None, None]
    assert [r["kind"] for r in rows] == ["scarf", "butt", "butt"] and rows[0]["note"] == "a, b"
