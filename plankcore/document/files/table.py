"""Tables as the yard writes them, from a CSV file or typed into a dialog: strict, and every complaint names row and
column.
"""
from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

from ...errors import DocumentError, SettingError
from ...units import MM_PER, parse_length_mm
from .output import expand_home

__all__ = ["Column", "read_table", "read_table_file"]

MOST_BYTES = 5_000_000
_KINDS = ("text", "length", "number", "choice")


@dataclass(frozen=True)
class Column:
    """One column of a table.

    kind : text, length (mm on reading), number, or choice (one of `choices`).
    required : a cell must not be empty, and the column must be there. least, most : range of a number, or of a length
    in mm.
    otherwise : what an empty cell, or a column that is not there, gives. words : words that may stand in place of a
    length or a number, read in small letters.
    """

    name: str
    kind: str = "text"
    required: bool = False
    choices: tuple = ()
    least: float = None
    most: float = None
    otherwise: object = None
    words: tuple = ()


def read_table_file(path, columns, *, unit="mm", folder=""):
    """Rows of a CSV file.

    Parameters
    ----------
    path : str
        With folder, a path that is not whole is looked for there.
    columns : sequence of Column
        Others are refused; case and outer blanks of headings do not count.
    unit : str
        Of bare lengths. A heading may carry its own: `radius (in)`.

    Returns
    -------
    list of dict
        Column name to value, and "row" to the line's number in the file.

    Raises
    ------
    DocumentError
        With the file, and where it can be told the row and the column; nothing of a faulty table is used.
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


def read_table(text, columns, *, unit="mm", where):
    """Rows of a table in a text: headings first, then a line to each row.

    Cells are divided by semicolons where the headings hold one, else by tabs, else by commas; a decimal comma is
    understood where cells are not divided by it. Lines that start with # and empty lines do not count. As in
    `read_table_file`.
    """
    bad = next((c for c in text if (ord(c) < 32 and c not in "\t\r\n") or 0xD800 <= ord(c) <= 0xDFFF
                or c in "\ufffe\uffff"), None)
    if bad is not None:
        row = text[:text.index(bad)].count("\n") + 1
        raise DocumentError("The table holds bytes that are no text (character %d in row %d)." % (ord(bad), row),
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
        row = {c.name: c.otherwise for c in columns}
        for column, cell_unit, cell in zip(*zip(*found), cells):
            spot = "%s, row %d, column %s" % (where, number, column.name)
            row[column.name] = _read_cell(cell.strip(), column, cell_unit, divider, spot)
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
