"""The table of the frames, from a file or typed. Refusals first."""
import pytest

from plankcore.document.files.table import read_bevel_table
from plankcore.errors import DocumentError, SettingError

TEXT = "Frame,Radius (in),Hollow,Upper bevel,Bend,Note\n7,24,,2.5,straight,sound\n8,flat,3 mm,-1,6000,\n"


def read(typed="", path="", **more):
    return read_bevel_table(path, typed, unit="mm", **more)


def test_given_twice_it_is_refused(tmp_path):
    (tmp_path / "frames.csv").write_text(TEXT)
    with pytest.raises(SettingError, match="given twice"):
        read(TEXT, "frames.csv", folder=str(tmp_path))


@pytest.mark.parametrize("text, where", [
    ("radius\n300", "headings"), ("frame,girth\n7,3", "headings"), ("frame,radius\n7,round", "row 2, column radius"),
    ("frame,radius\n7,300|,200", "row 3, column frame"),
    ("frame,upper bevel\n7,1\n8,steep", "row 3, column upper bevel"), ("frame,twist\n7,120", "row 2, column twist"),
    ("frame,width\n7,-20", "row 2, column width"),
    ("frame,upper bevel\n7,flat", "row 2, column upper bevel"), ("frame,hollow\n7,flat", "row 2, column hollow"),
    ("frame,radius\n7,300,9", "row 2"),
])
def test_faulty_tables_are_refused_with_row_and_column(text, where):
    with pytest.raises(DocumentError) as caught:
        read(text)
    assert caught.value.where == "Readings typed, " + where


def test_a_file_that_is_not_there_is_refused():
    with pytest.raises(DocumentError, match="cannot be read"):
        read(path="none.csv")


@pytest.mark.parametrize("divide", ["\n", "\\n", "|", "\r\n"])
def test_rows_are_divided_as_the_dialog_or_the_hand_divides_them(divide):
    rows = read(divide.join(TEXT.strip().split("\n")))
    assert [r["frame"] for r in rows] == ["7", "8"] and [r["row"] for r in rows] == [2, 3]
    assert rows[0]["radius"] == pytest.approx(
        24 * 25.4) and rows[1]["radius"] == "flat" and rows[0]["bend"] == "straight" and rows[1]["bend"] == 6000.0
    assert (rows[0]["upper bevel"], rows[1]["upper bevel"], rows[1]["hollow"],
            rows[0]["hollow"]) == (2.5, -1.0, 3.0, None)
    assert (rows[0]["note"], rows[1]["note"], rows[0]["lower angle"]) == ("sound", "", None)


def test_the_same_from_a_file_and_nothing_from_nothing(tmp_path):
    (tmp_path / "frames.csv").write_text(TEXT)
    assert read(path="frames.csv", folder=str(tmp_path)) == read(TEXT)
    assert read() == [] and read("  \n") == []
