"""The actions put into the editor's user folder, and taken out again.

Everything goes into one folder of ours, with a list of what was put there; nothing else is touched.
"""
from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from .. import __version__
from ..errors import SettingError

__all__ = ["InstallReport", "find_extension_source", "list_files", "find_user_extensions", "install", "uninstall", "describe", "FOLDER"]

FOLDER = "plank_pattern"
MANIFEST = "installed.json"
_PACKAGE = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class InstallReport:
    """folder: ours; written, removed: paths within it; replaced: files changed by someone since, kept aside as NAME.yours; kept: files not ours."""

    folder: Path
    written: tuple = ()
    removed: tuple = ()
    replaced: tuple = ()
    kept: tuple = ()


def find_extension_source():
    """The folder of plank_*.py and .inx: beside the package (installed, unzipped), a folder up (source tree), or inside it (a wheel)."""
    for folder in (_PACKAGE.parent, _PACKAGE.parent / "extensions", _PACKAGE / "extensions"):
        if (folder / "plank_fair.py").is_file():
            return folder
    raise SettingError("The action scripts were not found beside the package.", "Install plankcore again.", str(_PACKAGE))


def list_files():
    """What an installation holds, as (file, path inside the folder) pairs, sorted."""
    source = find_extension_source()
    pairs = [(p, p.name) for pattern in ("plank_*.inx", "plank_*.py", "_plank_path.py") for p in source.glob(pattern)]
    for path in _PACKAGE.rglob("*.py"):
        inside = path.relative_to(_PACKAGE)
        if inside.parts[0] != "extensions" and "__pycache__" not in inside.parts:
            pairs.append((path, (Path("plankcore") / inside).as_posix()))
    return sorted(pairs, key=lambda pair: pair[1])


def find_user_extensions(*, folder=None):
    """The editor's user extensions folder: as told, or from INKSCAPE_PROFILE_DIR, or asked of the editor, or the usual place.

    Raises
    ------
    SettingError
        If none is found.
    """
    if folder is not None:
        told = Path(folder).expanduser()
        if not told.parent.is_dir():
            raise SettingError("There is no folder '%s'." % told.parent, "Give the editor's own extensions folder.", "--folder")
        return told
    looked = []
    profile = os.environ.get("INKSCAPE_PROFILE_DIR")
    if profile:
        looked.append(Path(profile))
    else:
        editor = shutil.which("inkscape")
        if editor:
            try:
                said = subprocess.run([editor, "--user-data-directory"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, timeout=60)
                lines = [line for line in said.stdout.decode("utf-8", "replace").splitlines() if line.strip()]
                if lines:
                    looked.append(Path(lines[-1].strip()))
            except (OSError, subprocess.SubprocessError):
                looked = []
        looked.append(_find_usual_folder())
    for data in looked:
        # the editor makes its folder at its first start; where the editor itself named it, we may make it
        if data.is_dir() or (len(looked) > 1 and data is looked[0]) or profile:
            return data / "extensions"
    raise SettingError("The editor's user folder was not found; looked for %s." % ", ".join(map(str, looked)),
                       "Start the editor once, or give its extensions folder with --folder.", "--folder")


def _find_usual_folder():
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", "~")).expanduser() / "inkscape"
    if sys.platform == "darwin":
        return Path("~/Library/Application Support/org.inkscape.Inkscape/config/inkscape").expanduser()
    return Path(os.environ.get("XDG_CONFIG_HOME") or "~/.config").expanduser() / "inkscape"


def _sum(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _read_manifest(target):
    try:
        files = json.loads((target / MANIFEST).read_text(encoding="utf-8"))["files"]
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, KeyError, TypeError):
        raise SettingError("The list of installed files cannot be read.", "Delete that folder by hand and install again.", str(target / MANIFEST)) from None
    # a list that points outside our folder is not ours to follow
    return {name: said for name, said in files.items() if not Path(name).is_absolute() and ".." not in Path(name).parts}


def _put(source, target):
    target.parent.mkdir(parents=True, exist_ok=True)
    rough = target.with_name(target.name + ".part")
    shutil.copyfile(source, rough)
    os.replace(rough, target)


def install(*, folder=None):
    """Put the actions into the editor's user folder.

    Running it again replaces our own files only. A file of ours that someone changed is kept aside as NAME.yours.

    Returns
    -------
    InstallReport

    Raises
    ------
    SettingError
        If the folder is not found or cannot be written, or another copy of the actions lies elsewhere in it.
    """
    place = find_user_extensions(folder=folder)
    target = place / FOLDER
    if place.is_dir():
        for other in sorted(place.rglob("plank_fair.inx")):
            if other.parent.resolve() != target.resolve():
                raise SettingError("Another copy of these actions lies in %s; two with one name cannot both be loaded." % other.parent,
                                   "Remove that folder, then install again.", str(other.parent))
    before, files = _read_manifest(target), list_files()
    written, replaced = [], []
    try:
        for source, name in files:
            there = target / name
            if there.is_file():
                found = _sum(there)
                if found == _sum(source):
                    continue
                if before.get(name) != found:
                    os.replace(there, there.with_name(there.name + ".yours"))
                    replaced.append(name)
            _put(source, there)
            written.append(name)
        ours = {name: _sum(source) for source, name in files}
        removed = []
        for name in sorted(set(before) - set(ours)):
            if (target / name).is_file():
                (target / name).unlink()
                removed.append(name)
        listing = json.dumps({"version": __version__, "files": ours}, indent=1, sort_keys=True) + "\n"
        rough = target / (MANIFEST + ".part")
        rough.write_text(listing, encoding="utf-8")
        os.replace(rough, target / MANIFEST)
        _remove_empty(target)
    except OSError as error:
        raise SettingError("The actions cannot be written to %s: %s." % (target, error.strerror), "Give a folder you may write to with --folder.", "--folder") from None
    return InstallReport(target, tuple(written), tuple(removed), tuple(replaced), _list_others(target, ours))


def uninstall(*, folder=None):
    """Take the actions out again: the files on our list, and folders left empty; whatever else lies there stays.

    Returns
    -------
    InstallReport
    """
    target = find_user_extensions(folder=folder) / FOLDER
    before = _read_manifest(target)
    if not before:
        raise SettingError("The actions are not installed there.", "Give the extensions folder with --folder if they are elsewhere.", str(target))
    removed = []
    for name in sorted(before):
        if (target / name).is_file():
            (target / name).unlink()
            removed.append(name)
    (target / MANIFEST).unlink()
    for cache in sorted(target.rglob("__pycache__"), reverse=True):
        shutil.rmtree(cache)
    kept = _list_others(target, {})
    _remove_empty(target)
    if not kept:
        target.rmdir()
    return InstallReport(target, removed=tuple(removed), kept=kept)


def _list_others(target, ours):
    found = (p.relative_to(target).as_posix() for p in target.rglob("*") if p.is_file() and "__pycache__" not in p.parts)
    return tuple(sorted(name for name in found if name not in ours and name != MANIFEST))


def _remove_empty(target):
    for path in sorted((p for p in target.rglob("*") if p.is_dir()), reverse=True):
        if not any(path.iterdir()):
            path.rmdir()


def describe(report):
    """What was done, in plain sentences."""
    said = []
    if report.written:
        said.append("%d files written to %s." % (len(report.written), report.folder))
        said.append("Start the editor again; the actions are under Extensions > Plank Pattern.")
    elif not report.removed:
        said.append("Nothing to do: %s is up to date." % report.folder)
    if report.removed:
        said.append("%d files removed from %s." % (len(report.removed), report.folder))
    for name in report.replaced:
        said.append("%s had been changed; your version is kept beside it as %s.yours." % (name, name))
    if report.kept:
        said.append("Left alone, as not ours: %s." % ", ".join(report.kept))
    return said
