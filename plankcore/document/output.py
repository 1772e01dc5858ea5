"""Where files that an action writes are put, what they are called, and that they are written whole or not at all."""
from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path
from urllib.parse import quote, unquote

from ..errors import DocumentError, SettingError
from . import names

__all__ = ["check_formats", "find_folder", "choose_stem", "name_files", "write_files", "relink_pictures"]

_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_SUFFIXES = r"\.(svg|pdf|dxf|plt|hpgl|html|csv)$"


def check_formats(chosen):
    """Refuse a plot in no format: {name: yes or no}."""
    if not any(chosen.values()):
        raise SettingError("No format is chosen.", "Say yes to one of: %s." % ", ".join(name.upper() for name in chosen), "Formats")


def find_folder(drawing_path, folder, *, what):
    """The folder that `what` is written to: beside the drawing, or the one given, which counts from there if it is not whole.

    Raises
    ------
    DocumentError
        If it is missing, or none is given and the drawing has not been saved.
    """
    given = Path(folder.strip()).expanduser() if folder.strip() else None
    if given is None and not drawing_path:
        raise DocumentError("The drawing has not been saved, so there is no folder beside it to write the %s to." % what, "Save the drawing, or give a folder.", "Folder")
    beside = Path(drawing_path).resolve().parent if drawing_path else Path()
    place = beside / given if given is not None else beside
    if not place.is_dir():
        raise DocumentError("There is no folder '%s'." % place, "Make it, or give another.", "Folder")
    return place


def choose_stem(drawing_path, planks, *, folder, file_name, what="sheet"):
    """Path of the files of one plot, without the suffix that tells their format.

    Without a folder they lie beside the drawing; without a name they are called after boat, strakes and side, and
    after `what` they are.

    Raises
    ------
    DocumentError
        If the folder is missing, or none is given and the drawing has not been saved.
    SettingError
        If the name holds a folder, or is the drawing's own.
    """
    place = find_folder(drawing_path, folder, what=what)
    name = file_name.strip()
    if Path(name).name != name:
        raise SettingError("'%s' is not a plain file name." % name, "Give the name alone; the folder has a field of its own.", "File name")
    if not name:
        first = planks[0]
        strakes = " ".join(p.strake for p in planks if p.strake)
        words = [first.name, ("strakes " if len(planks) > 1 else "strake ") + strakes if strakes else "", first.side if len({p.side for p in planks}) == 1 else "", what]
        name = re.sub(r"[^a-z0-9]+", "-", " ".join(w for w in words if w).lower()).strip("-") or "plank-" + what
    name = re.sub(_SUFFIXES, "", name, flags=re.IGNORECASE)
    if drawing_path and (place / (name + ".svg")).resolve() == Path(drawing_path).resolve():
        raise SettingError("The %s would take the place of the drawing itself." % what, "Give another file name.", "File name")
    return place / name


def name_files(stem, suffix, pages, separate):
    """Pages sorted into files: all in one, or each in its own, called after the page.

    Returns
    -------
    list of (Path, list of Page)
    """
    if not separate or len(pages) == 1:
        return [(stem.with_name(stem.name + suffix), list(pages))]
    return [(stem.with_name("%s-%s%s" % (stem.name, page.name.lower().replace(" ", "-"), suffix)), [page]) for page in pages]


def write_files(files):
    """Write files, all of them or none.

    Each is written beside its place first; only when all are there do they take their places.

    Parameters
    ----------
    files : dict
        Path to bytes.

    Raises
    ------
    DocumentError
        If a folder is not there or may not be written to.
    """
    rough = {}
    try:
        for path, data in files.items():
            folder = os.path.dirname(os.path.abspath(path))
            if not os.path.isdir(folder):
                raise DocumentError("There is no folder '%s' to write to." % folder, "Make it, or give another.", "Folder")
            if os.path.isdir(path):
                raise DocumentError("A folder is called '%s', as the file would be." % path, "Give another file name.", "Folder")
            handle, rough[path] = tempfile.mkstemp(suffix=".part", dir=folder)
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            os.chmod(rough[path], 0o644)
        for path in files:
            os.replace(rough[path], path)
            del rough[path]
    except OSError as error:
        raise DocumentError("The file '%s' cannot be written: %s." % (path, error.strerror), "Give a folder you may write to.", "Folder") from None
    finally:
        for left in rough.values():
            os.remove(left)


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
