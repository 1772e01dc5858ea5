"""Corrections of the media that have been measured, by name, in a CSV file that is independent of any drawing."""
from __future__ import annotations

import csv
import io
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ...errors import SettingError
from ...model.page import MediumCorrection
from .output import expand_home, make_folder
from .table import Column, read_table, read_table_file

if TYPE_CHECKING:
    from typing import Sequence

__all__ = ["find_media_file", "find_named", "make_place", "read_media", "write_media"]

_MEDIA_COLUMNS = (
    Column("medium", required=True), Column("day", otherwise=""), Column("number", "number", required=True, least=1),
    Column("along", "number", required=True, least=0.9, most=1.1),
    Column("across", "number", required=True, least=0.9, most=1.1),
    Column("skew", "number", otherwise=0.0, least=-50, most=50), Column("residual", "number", otherwise=float("nan")),
    Column("measured", otherwise=""),
    Column("feed", otherwise=""), Column("page", otherwise=""),
)


def find_media_file(path: str = "") -> Path:
    """The file given, or the one in the user's own data folder."""
    if path.strip():
        return expand_home(path.strip(), field="File of media")
    if sys.platform == "win32":
        home = os.environ.get("APPDATA") or Path.home()
    elif sys.platform == "darwin":
        home = Path.home() / "Library" / "Application Support"
    else:
        home = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(home) / "plankcore" / "media.csv"


def read_media(path: Path, *, waiting: bytes | None = None) -> list[MediumCorrection]:
    """All media of a file, a list of MediumCorrection; none where there is no file yet. waiting: its content in bytes,
    where an earlier step of the recipe changed the file and it is not written yet.

    Raises
    ------
    DocumentError
        If the file is not such a table; the row and the column are named.
    """
    if waiting is None and not os.path.lexists(path):
        return []
    rows = read_table(waiting.decode("utf-8"), _MEDIA_COLUMNS,
                      where=Path(path).name) if waiting is not None else read_table_file(str(path), _MEDIA_COLUMNS)
    return [MediumCorrection(r["medium"], r["day"], number=int(r["number"]), along=r["along"], across=r["across"],
                             skew_mm_per_m=r["skew"],
                             residual_mm=r["residual"], measured=r["measured"], feed=_read_feed(r), page=r["page"])
            for r in rows]


def _spell(name):
    return " ".join(name.split()).lower()


def _read_feed(row):
    """The way of feed, '' for anything else: such a correction is refused when it is to be used."""
    return row["feed"] if row["feed"] in ("along", "across") else ""


def find_named(media: Sequence[MediumCorrection], name: str) -> list[MediumCorrection]:
    """All corrections stored under a medium's name: one for each page and way of feed that was measured.

    Raises
    ------
    SettingError
        If there is none.
    """
    found = [one for one in media if _spell(one.medium) == _spell(name)]
    if found:
        return found
    known = ", ".join(dict.fromkeys(one.medium for one in media))
    raise SettingError("The medium '%s' has not been measured." % name,
                       "Measure it (page Calibration)%s; or leave the name empty to plot uncorrected."
                       % (", or use one of: " + known if known else ""), "Medium")


def _key(one):
    return _spell(one.medium), one.feed, one.page


def write_media(media: Sequence[MediumCorrection], correction: MediumCorrection) -> bytes:
    """The file's new content, as bytes: a correction in place of the older one of its name, page and feed."""
    kept = [one for one in media if _key(one) != _key(correction)] + [correction]
    out = io.StringIO()
    out.write("# What undoes each medium's errors. along, across: factors; skew: mm in a metre across; residual, "
              "measured: mm; feed, page: how the measured sheet lay.\n")
    table = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\n")
    table.writerow([c.name for c in _MEDIA_COLUMNS])
    for one in kept:
        table.writerow([" ".join(one.medium.split()), " ".join(one.day.split()), one.number, "%.8f" % one.along,
                        "%.8f" % one.across, "%.6f" % (one.skew_mm_per_m + 0.0),
                        "%.4f" % one.residual_mm if one.residual_mm == one.residual_mm else "", one.measured,
                        one.feed, one.page])
    return out.getvalue().encode("utf-8")


def make_place(path: Path, given: str) -> None:
    """Make the user's own data folder where it is not there yet; a folder that was given must be there."""
    if not given.strip():
        make_folder(Path(path).parent, field="File of media")
