"""Tables of the side: joints on the boat, and frames."""
from __future__ import annotations

import os

from ...errors import DocumentError
from ...model.joint import FrameRecord, JointRecord
from .table import Column, read_table_file

__all__ = ["read_frame_table", "read_joint_table"]

_JOINTS = (
    Column("side", "choice", required=True, choices=("port", "starboard")), Column("strake", required=True),
    Column("kind", "choice", required=True, choices=("butt", "scarf", "none")), Column("bay", otherwise=""),
    Column("distance", "length", least=-1e5, most=1e5), Column("from", otherwise=""),
    Column("order", "number", least=1, most=200), Column("note", otherwise=""),
)
_FRAMES = (Column("frame", required=True), Column("distance", "length", required=True, least=-1e5, most=1e5),
           Column("note", otherwise=""))


def read_joint_table(path, *, unit, folder=""):
    """Joints of the side from a CSV file: side, strake, kind, then bay, or distance and from; order and note may be
    there.

    Parameters
    ----------
    path : str
        One that is not whole is looked for in folder.
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
        found.append(JointRecord(row["side"], row["strake"], row["kind"], row["bay"], row["distance"], row["from"],
                                 row["note"], None if order is None else int(order), None, where))
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


def read_frame_table(path, *, unit, folder=""):
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
