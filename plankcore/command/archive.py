"""A zip of the actions to unpack into the editor's extensions folder."""
from __future__ import annotations

import os
import zipfile
from pathlib import Path

from ..errors import SettingError
from .install import list_files

__all__ = ["write_archive"]

_DAY = (2020, 1, 1, 0, 0, 0)      # one date for all, so that the same files give the same zip
_UNIX = 3                         # whichever system writes it


def write_archive(path: Path | str) -> list[str]:
    """Write the zip: scripts, their descriptions and the package at its root.

    Parameters
    ----------
    path : str or path
        The zip to write; its folder must be there. The same files give the same bytes.

    Returns
    -------
    list of str
        What it holds, sorted.

    Raises
    ------
    SettingError
        If the folder is missing or cannot be written to, or the actions are not found.
    """
    path = Path(path)
    if not path.parent.is_dir():
        raise SettingError("There is no folder '%s'." % path.parent, "Make it, or give another.", str(path))
    if path.is_dir():
        raise SettingError("'%s' is a folder." % path, "Give the name of the zip to write.", str(path))
    if path.exists() and not _is_ours(path):
        raise SettingError("The file '%s' is there already, and is no zip of these actions." % path,
                           "Give another name, or move that file away first.", str(path))
    files = list_files()
    rough = path.with_name(path.name + ".part")
    try:
        try:
            with zipfile.ZipFile(str(rough), "w") as archive:
                for source, name in files:
                    entry = zipfile.ZipInfo(name, _DAY)
                    entry.compress_type, entry.create_system, entry.external_attr = (zipfile.ZIP_DEFLATED, _UNIX,
                                                                                     0o644 << 16)
                    archive.writestr(entry, source.read_bytes())
            with open(rough, "rb") as whole:
                os.fsync(whole.fileno())
            os.replace(rough, path)
        finally:
            if rough.exists():
                rough.unlink()
    except OSError as error:
        raise SettingError("The zip cannot be written to '%s': %s." % (path, error.strerror or error),
                           "Give another place.", str(path)) from None
    return [name for _, name in files]


def _is_ours(path):
    """Whether a file is a zip of the actions, which may be replaced by a newer one."""
    try:
        with zipfile.ZipFile(str(path)) as archive:
            return path.is_file() and {"plank_fair.py", "plankcore/__init__.py"} <= set(archive.namelist())
    except (OSError, zipfile.BadZipFile):
        return False
