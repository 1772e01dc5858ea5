"""Tables read from files: rows of any table, bevels, joints of the neighbours."""
from __future__ import annotations

import csv
import io
import math
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Dict

from ...errors import DocumentError, SettingError
from ...model.joints_and_fastenings import FrameRecord, JointRecord
from ...units import MM_PER, parse_length_mm
from .output import expand_home

if TYPE_CHECKING:
    from typing import Sequence

__all__ = [
    "COLUMNS",
    "Column",
    "Row",
    "read_bevel_table",
    "read_frame_table",
    "read_joint_table",
    "read_table",
    "read_table_file",
]

MOST_BYTES = 5_000_000
Row = Dict[str, Any]
"""Column name to what its cell held (text, mm, a number, or None), and "row" to the line's number in the file."""
_KINDS = ("text", "length", "number", "choice")


@dataclass(frozen=True)
class Column:
    """One column of a table.

    kind : text, length (mm on reading), number, or choice (one of `choices`).
    required : a cell must not be empty, and the column must be there. least, most : allowed range of a number, or of a
    length in mm.
    otherwise : the value for an empty cell or a missing column. words : words that may stand in place of a length or a
    number, read in small letters.
    """

    name: str
    kind: str = "text"
    required: bool = False
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    otherwise: float | str | None = None
    words: tuple[str, ...] = ()


def read_table_file(path: str, columns: Sequence[Column], *, unit: str = "mm", folder: str = "") -> list[Row]:
    """Rows of a CSV file.

    Parameters
    ----------
    path : str
        A relative path is looked for in `folder`, where that is given.
    columns : sequence of Column
        The columns allowed; a heading matches whatever its case and the blanks round it, and any other heading is
        refused.
    unit : str
        Unit of lengths without one. A heading may give its own: `radius (in)`.

    Returns
    -------
    list of dict
        Column name to value, and "row" to the line's number in the file.

    Raises
    ------
    DocumentError
        The message names the file and, where possible, row and column; nothing of a faulty table is used.
    """
    place = expand_home(path, field="Table")
    place = place if place.is_absolute() or not folder else Path(folder) / place
    try:
        if place.exists() and not place.is_file():
            raise DocumentError("The table '%s' is no plain file." % place, "Give the path of a CSV file.", str(place))
        with open(place, "rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise DocumentError("The table '%s' cannot be read: %s." % (place, error.strerror),
                            "Give the path of a CSV file.", str(place)) from None
    if len(data) > MOST_BYTES:
        raise DocumentError("The table '%s' is too large to be one: more than %d bytes." % (place, MOST_BYTES),
                            "Give the path of a CSV file.", str(place))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DocumentError("The table '%s' is not plain text in UTF-8 (byte %d)." % (place.name, error.start),
                            "Save it as CSV, UTF-8.", place.name) from None
    return read_table(text, columns, unit=unit, where=place.name)


def read_table(text: str, columns: Sequence[Column], *, unit: str = "mm", where: str) -> list[Row]:
    """Rows of a table in a text: headings first, then a line to each row.

    Cells are separated by semicolons where the headings hold one, else by tabs, else by commas; decimal commas are
    understood unless commas separate the cells. Lines that start with # and empty lines are skipped. Parameters, result
    and errors as in `read_table_file`.
    """
    bad = next((c for c in text if (ord(c) < 32 and c not in "\t\r\n") or 0xD800 <= ord(c) <= 0xDFFF
                or c in "\ufffe\uffff"), None)
    if bad is not None:
        there = text[:text.index(bad)].count("\n") + 1
        raise DocumentError("The table holds bytes that are no text (character %d in row %d)." % (ord(bad), there),
                            "Save it as CSV, UTF-8.", where)
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()
             and not line.lstrip().startswith("#")]
    if not lines:
        raise DocumentError("The table is empty.",
                            "Begin with a line of headings: %s." % ", ".join(c.name for c in columns), where)
    divider = next((d for d in ";\t" if d in lines[0][1]), ",")
    heads = [h.strip() for h in next(csv.reader(io.StringIO(lines[0][1]), delimiter=divider))]
    found = _match_heads(heads, columns, unit, where)
    rows = []
    for number, line in lines[1:]:
        try:
            cells = next(csv.reader(io.StringIO(line), delimiter=divider, strict=True))
        except csv.Error:
            raise DocumentError("Row %d has a quotation mark that is not closed." % number, "Mend it there.",
                                "%s, row %d" % (where, number)) from None
        if len(cells) > len(heads) and any(c.strip() for c in cells[len(heads):]):
            raise DocumentError("Row %d has %d cells under %d headings." % (number, len(cells), len(heads)),
                                "Put text that holds a '%s' in quotation marks." % divider,
                                "%s, row %d" % (where, number))
        row: Row = {c.name: c.otherwise for c in columns}
        for column, cell_unit, cell in zip(*zip(*found), cells):
            spot = "%s, row %d, column %s" % (where, number, column.name)
            row[column.name] = _read_cell(cell.strip(), column, unit=cell_unit, divider=divider, spot=spot)
        for column in columns:
            if column.required and row[column.name] in (None, ""):
                raise DocumentError("Row %d has no %s." % (number, column.name), "Fill it in.",
                                    "%s, row %d, column %s" % (where, number, column.name))
        row["row"] = number
        rows.append(row)
    return rows


def _match_heads(heads, columns, unit, where):
    """(Column, unit) for each heading."""
    by_name, found = {c.name.lower(): c for c in columns}, []
    known = "Known headings: %s." % ", ".join(c.name + (" (needed)" if c.required else "") for c in columns)
    for head in heads:
        name, _, inside = head.lower().partition("(")
        name, inside = name.strip().replace("_", " "), inside.strip(" )")
        column = by_name.get(name)
        if column is None:
            raise DocumentError("The heading '%s' is not known." % head, known, "%s, headings" % where)
        if any(column is c for c, _ in found):
            raise DocumentError("The heading '%s' stands there twice." % head, "Take one out.", "%s, headings" % where)
        if column.kind == "length" and inside and inside not in MM_PER:
            raise DocumentError("'%s' is not a unit of length." % inside, "Use one of: %s." % ", ".join(MM_PER),
                                "%s, headings" % where)
        found.append((column, inside if column.kind == "length" and inside else unit))
    missing = [c.name for c in columns if c.required and not any(c is f for f, _ in found)]
    if missing:
        raise DocumentError("The heading '%s' is missing." % missing[0], known, "%s, headings" % where)
    return found


def _read_cell(cell, column, unit, divider, spot):
    if not cell:
        return column.otherwise
    if column.kind == "text":
        return cell
    if column.kind == "choice":
        plain = cell.lower()
        if plain not in column.choices:
            raise DocumentError("'%s' is not one of the words used here." % cell,
                                "Write one of: %s." % ", ".join(column.choices), spot)
        return plain
    if cell.lower() in column.words:
        return cell.lower()
    plain = cell.replace(",", ".") if divider != "," and cell.count(",") == 1 else cell
    if column.kind == "length":
        try:
            value = parse_length_mm(plain, unit=unit, field=spot)
        except SettingError as error:
            raise DocumentError(error.problem, error.remedy, spot) from None
    else:
        try:
            value = float(plain)
        except ValueError:
            value = float("nan")
        if not math.isfinite(value):
            raise DocumentError("'%s' is not a number." % cell, "Write a number such as 12 or -3.5.", spot)
    low, high = column.least, column.most
    if (low is not None and value < low) or (high is not None and value > high):
        allowed = " and ".join(w for w in ("at least %g" % low if low is not None else "",
                                           "at most %g" % high if high is not None else "") if w)
        raise DocumentError("%s is out of range." % cell,
                            "Give %s%s." % (allowed, " mm" if column.kind == "length" else ""), spot)
    return value


_FLAT = ("flat", "straight")
COLUMNS = (
    Column("frame", required=True), Column("radius", "length", words=_FLAT), Column("hollow", "length"),
    Column("width", "length", least=1),
    Column("upper bevel", "number"), Column("lower bevel", "number"), Column("upper angle", "number"),
    Column("lower angle", "number"),
    Column("bend", "length", words=_FLAT), Column("twist", "number", least=-90, most=90), Column("note", otherwise=""),
)


def read_bevel_table(path: str, typed: str, *, unit: str, folder: str = "") -> list[Row]:
    """Rows of the table: frame, radius, hollow, width, upper and lower bevel, upper and lower angle, bend, twist, note.

    Parameters
    ----------
    path : str
        A CSV file, relative to `folder`; '' for none.
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


_JOINTS = (
    Column("side", "choice", required=True, choices=("port", "starboard")), Column("strake", required=True),
    Column("kind", "choice", required=True, choices=("butt", "scarf", "none")), Column("bay", otherwise=""),
    Column("distance", "length", least=-1e5, most=1e5), Column("from", otherwise=""),
    Column("order", "number", least=1, most=200), Column("note", otherwise=""),
)
_FRAMES = (Column("frame", required=True), Column("distance", "length", required=True, least=-1e5, most=1e5),
           Column("note", otherwise=""))


def read_joint_table(path: str, *, unit: str, folder: str = "") -> list[JointRecord]:
    """Joints of the side from a CSV file: side, strake, kind, then bay, or distance and from; order and note may be
    there.

    Parameters
    ----------
    path : str
        A CSV file, relative to `folder`.
    unit : str
        Of bare lengths.

    Returns
    -------
    list of JointRecord

    Raises
    ------
    DocumentError
        With row and column.
    """
    found = []
    for row in read_table_file(path, _JOINTS, unit=unit, folder=folder):
        where = "%s, row %d" % (os.path.basename(path), row["row"])
        _check_place(row, where)
        order = row["order"]
        if order is not None and order != int(order):
            raise DocumentError("%g is no strake's number." % order, "Count strakes from the garboard: 1, 2, 3.",
                                where + ", column order")
        found.append(JointRecord(row["side"], row["strake"], kind=row["kind"], bay=row["bay"],
                                 distance_mm=row["distance"], of=row["from"],
                                 note=row["note"], order=None if order is None else int(order), point=None,
                                 where=where))
    return found


def _check_place(row, where):
    given = [name for name in ("bay", "distance") if row[name] not in (None, "")]
    if row["kind"] == "none" and (given or row["from"]):
        raise DocumentError("A row of kind none names a strake without a joint, and this one gives a place.",
                            "Leave bay, distance and from empty, or give the kind.", where + ", column kind")
    if row["kind"] != "none" and len(given) != 1:
        raise DocumentError("The joint has %s."
                            % ("both a bay and a distance" if given else "neither a bay nor a distance"),
                            "Give one of them: a bay as 9-10 or 'on 9', or a distance aft.", where + ", column bay")
    if row["from"] and "distance" not in given:
        raise DocumentError("A frame to measure from is given, and no distance.",
                            "Fill in the distance, or leave the column `from` empty.", where + ", column distance")


def read_frame_table(path: str, *, unit: str, folder: str = "") -> list[FrameRecord]:
    """Frames of the side from a CSV file: frame, and distance aft from the bow datum; path, unit and folder as in
    read_joint_table.

    Returns
    -------
    list of FrameRecord

    Raises
    ------
    DocumentError
        With row and column.
    """
    rows = read_table_file(path, _FRAMES, unit=unit, folder=folder)
    if len(rows) < 2:
        raise DocumentError("The table holds %d frame%s." % (len(rows), "" if len(rows) == 1 else "s"),
                            "Give all frames of the side, two at least.", str(path))
    return [FrameRecord(r["frame"], r["distance"], "%s, row %d" % (os.path.basename(path), r["row"])) for r in rows]
