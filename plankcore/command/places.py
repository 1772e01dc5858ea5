"""Where the editor keeps its user's actions."""
from __future__ import annotations

import locale
import os
import shutil
import subprocess
import sys
from pathlib import Path

from ..errors import SettingError

__all__ = ["FOLDER", "find_user_extensions"]

FOLDER = "plank_pattern"
_WHERE_THE_EDITOR_SAYS = ("Start the editor once (Edit > Preferences > System > User extensions tells the folder), "
                          "or give that folder with --folder.")


def find_user_extensions(*, folder: Path | None = None) -> Path:
    """The editor's user extensions folder.

    The first of these that there is: the folder given; the one in INKSCAPE_PROFILE_DIR; what the editor itself answers;
    the system's usual place.

    Parameters
    ----------
    folder : str or path, optional
        The extensions folder itself. It need not be there yet, but the one above it must.

    Raises
    ------
    SettingError
        If the folder given cannot be the editor's extensions folder, or none is found.
    """
    if folder is not None:
        return _check_told_folder(folder)
    profile = os.environ.get("INKSCAPE_PROFILE_DIR")
    data = Path(profile) if profile else _ask_editor() or _find_usual_folder()
    if not data.is_dir():
        raise SettingError("The editor's user folder was not found; looked for '%s'." % data, _WHERE_THE_EDITOR_SAYS,
                           "--folder")
    return data / "extensions"


def _check_told_folder(folder):
    if not str(folder).strip():
        raise SettingError("The folder has no name.", "Give the editor's own extensions folder.", "--folder")
    told = Path(os.path.abspath(os.path.expanduser(str(folder))))
    if not told.parent.is_dir():
        raise SettingError("There is no folder '%s'." % told.parent, "Give the editor's own extensions folder.",
                           "--folder")
    if told.exists() and not told.is_dir():
        raise SettingError("'%s' is not a folder." % told, "Give the editor's own extensions folder.", "--folder")
    if told.name == FOLDER:
        raise SettingError("'%s' is the folder that is made for the actions." % told,
                           "Give the folder it lies in: '%s'." % told.parent, "--folder")
    if (told / "preferences.xml").is_file():  # this is the profile's own folder, one up: no actions are loaded from it
        raise SettingError("'%s' is the editor's user folder, not its extensions folder." % told,
                           "Give '%s'." % (told / "extensions"), "--folder")
    return told


def _ask_editor():
    """The user folder as the editor reports it, or None; the editor creates it if need be."""
    editor = shutil.which("inkscape")
    if not editor:
        return None
    try:
        said = subprocess.run([editor, "--user-data-directory"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                              stdin=subprocess.DEVNULL, timeout=60).stdout
    except (OSError, subprocess.SubprocessError):
        return None
    try:
        text = said.decode("utf-8")
    # a folder name with an accent, on a system that does not use UTF-8
    except UnicodeDecodeError:
        text = said.decode(locale.getpreferredencoding(False), "replace")
    lines = [line.strip() for line in text.splitlines() if os.path.isabs(line.strip())]
    return Path(lines[-1]) if lines else None


def _find_usual_folder():
    home = Path(os.path.expanduser("~"))
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA") or home / "AppData" / "Roaming") / "inkscape"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "org.inkscape.Inkscape" / "config" / "inkscape"
    return Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config") / "inkscape"
