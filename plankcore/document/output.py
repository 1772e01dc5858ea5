"""Where files that an action writes are put, and what they are called."""
from __future__ import annotations

import os
import re
from pathlib import Path
from urllib.parse import quote, unquote

from ..errors import DocumentError, SettingError
from . import names

__all__ = ["choose_sheet_paths", "relink_pictures"]

_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")


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


def relink_pictures(root, *, old_folder, new_folder):
    """Let linked pictures be found from another folder: a drawing written elsewhere must not lose its scan.

    Links that are whole addresses or embedded data stay as they are.
    """
    for image in root.iter("{%s}image" % names.SVG):
        for key in _HREFS:
            link = image.get(key)
            if not link or re.match(r"^[A-Za-z][A-Za-z0-9+.-]*:", link) or link.startswith(("/", "#")):
                continue
            there = os.path.join(old_folder, unquote(link))
            if os.path.exists(there):
                image.set(key, quote(os.path.relpath(there, new_folder).replace(os.sep, "/")))
