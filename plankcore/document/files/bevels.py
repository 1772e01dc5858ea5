"""The table of hollow and bevels at the frames: a CSV file, or the same rows typed into a dialog."""
from __future__ import annotations

from ...errors import SettingError
from .table import Column, read_table, read_table_file

__all__ = ["COLUMNS", "read_bevel_table"]

_FLAT = ("flat", "straight")
COLUMNS = (
    Column("frame", required=True), Column("radius", "length", words=_FLAT), Column("hollow", "length"),
    Column("width", "length", least=1),
    Column("upper bevel", "number"), Column("lower bevel", "number"), Column("upper angle", "number"),
    Column("lower angle", "number"),
    Column("bend", "length", words=_FLAT), Column("twist", "number", least=-90, most=90), Column("note", otherwise=""),
)


def read_bevel_table(path, typed, *, unit, folder=""):
    """Rows of the table: frame, radius, hollow, width, upper and lower bevel, upper and lower angle, bend, twist, note.

    Parameters
    ----------
    path : str
        A CSV file, looked for in folder if the path is not whole; '' for none.
    typed : str
        The same rows, headings first, divided by line ends, by the two characters backslash and n, as the dialog passes
        line ends on, or by '|'.
    unit : str
        Of bare lengths.

    Returns
    -------
    list of dict
        As `files.table.read_table` gives them; empty where neither is given.

    Raises
    ------
    SettingError
        If both are given.
    DocumentError
        With row and column.
    """
    typed = typed.replace("\\n", "\n").replace("|", "\n").strip()
    if path.strip() and typed:
        raise SettingError("The readings are given twice: in the file '%s' and typed." % path.strip(),
                           "Empty one of the two fields.", "Readings")
    if path.strip():
        return read_table_file(path.strip(), COLUMNS, unit=unit, folder=folder)
    return read_table(typed, COLUMNS, unit=unit, where="Readings typed") if typed else []
