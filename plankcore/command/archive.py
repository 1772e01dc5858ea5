"""A zip of the actions to unpack into the editor's extensions folder."""
from __future__ import annotations

import os
import zipfile
from pathlib import Path

from ..errors import SettingError
from .install import list_files

__all__ = ["write_archive"]

_DAY = (2020, 1, 1, 0, 0, 0)      # one date for all, so that the same files give the same zip


def write_archive(path):
    """Write the zip: scripts, their descriptions and the package at its root.

    Returns
    -------
    list of str
        What it holds.

    Raises
    ------
    SettingError
        If the folder is missing or cannot be written to.
    """
    path = Path(path)
    if not path.parent.is_dir():
        raise SettingError("There is no folder '%s'." % path.parent, "Make it, or give another.", str(path))
    rough = path.with_name(path.name + ".part")
    try:
        with zipfile.ZipFile(rough, "w", zipfile.ZIP_DEFLATED) as archive:
            files = list_files()
            for source, name in files:
                entry = zipfile.ZipInfo(name, _DAY)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.external_attr = 0o644 << 16
                archive.writestr(entry, source.read_bytes())
        os.replace(rough, path)
    except OSError as error:
        raise SettingError("The zip cannot be written to '%s': %s." % (path, error.strerror), "Give another place.", str(path)) from None
    return [name for _, name in files]
