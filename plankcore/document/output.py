"""Where files that an action writes are put, and what they are called."""
from __future__ import annotations

import re
from pathlib import Path

from ..errors import DocumentError, SettingError

__all__ = ["choose_sheet_paths"]


def choose_sheet_paths(drawing_path, plank, *, folder, file_name):
    """Paths (svg, pdf) for a plank's sheet.

    Without a folder the sheet lies beside the drawing; without a name it is called after boat, strake and side.

    Raises
    ------
    DocumentError
        If the folder is missing, or none is given and the drawing has not been saved.
    SettingError
        If the name holds a folder.
    """
    if folder.strip():
        place = Path(folder.strip()).expanduser()
    elif drawing_path:
        place = Path(drawing_path).resolve().parent
    else:
        raise DocumentError("The drawing has not been saved, so there is no folder beside it to write the sheet to.", "Save the drawing, or give a folder.", "Folder")
    if not place.is_dir():
        raise DocumentError("There is no folder '%s'." % place, "Make it, or give another.", "Folder")
    name = file_name.strip()
    if Path(name).name != name:
        raise SettingError("'%s' is not a plain file name." % name, "Give the name alone; the folder has a field of its own.", "File name")
    if not name:
        words = [plank.name, "strake %s" % plank.strake if plank.strake else "", plank.side, "sheet"]
        name = re.sub(r"[^a-z0-9]+", "-", " ".join(w for w in words if w).lower()).strip("-") or "plank-sheet"
    name = re.sub(r"\.(svg|pdf)$", "", name, flags=re.IGNORECASE)
    svg = place / (name + ".svg")
    if drawing_path and svg.resolve() == Path(drawing_path).resolve():
        raise SettingError("The sheet would take the place of the drawing itself.", "Give another file name.", "File name")
    return svg, place / (name + ".pdf")
