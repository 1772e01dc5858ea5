"""The actions put into the editor's user folder, and taken out again.

Everything goes into one folder of ours, with a list of what was put there; nothing else is touched.
"""
from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from .. import __version__
from ..errors import SettingError
from .places import FOLDER, find_user_extensions

__all__ = [
    "InstallReport",
    "describe",
    "find_extension_source",
    "install",
    "list_files",
    "uninstall",
]

MANIFEST = "installed.json"
_PACKAGE = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class InstallReport:
    """What was done to our folder; all names are paths within it.

    Attributes
    ----------
    folder : Path
        Ours.
    written, removed : tuple of str
        Files put there, files taken away.
    kept : tuple of str
        All other files there: not ours, and left alone.
    replaced : tuple of (str, str)
        Files of ours that someone had changed: the name, and the name under which the changed one is kept.
    """

    folder: Path
    written: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    replaced: tuple[tuple[str, ...], ...] = ()


def find_extension_source() -> Path:
    """The folder of plank_*.py and .inx: beside the package (installed, unzipped), a folder up (source tree), or inside
    it (a wheel).

    Raises
    ------
    SettingError
        If they are in none of these.
    """
    for folder in (_PACKAGE.parent, _PACKAGE.parent / "extensions", _PACKAGE / "extensions"):
        if (folder / "plank_fair.py").is_file() and (folder / "plank_fair.inx").is_file():
            return folder
    raise SettingError("The actions were not found beside the package.", "Install plankcore again.", str(_PACKAGE))


def list_files() -> list[tuple[Path, str]]:
    """What an installation holds, as (file, path inside the folder) pairs, sorted by that path."""
    source = find_extension_source()
    pairs = [(p, p.name) for pattern in ("plank_*.inx", "plank_*.py", "_plank_path.py", "README.md")
             for p in source.glob(pattern)]
    for path in _PACKAGE.rglob("*.py"):
        inside = path.relative_to(_PACKAGE)
        if inside.parts[0] != "extensions" and not {"__pycache__", "tests"} & set(inside.parts):
            pairs.append((path, (Path("plankcore") / inside).as_posix()))
    return sorted(pairs, key=lambda pair: pair[1])


def install(*, folder: Path | None = None) -> InstallReport:
    """Put the actions into the editor's user folder.

    Running it again replaces our own files only. A file of ours that someone changed is kept aside. When anything
    cannot be written, all is put back as it was.

    Parameters
    ----------
    folder : str or path, optional
        The editor's extensions folder; see `find_user_extensions`.

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
    _refuse_second_copy(place, target)
    before = _read_manifest(target)
    files = list_files()
    ours = {name: _sum(source) for source, name in files}
    removed = [name for name in sorted(set(before) - set(ours)) if (target / name).is_file()]
    _refuse_links(target, [*ours, *removed])
    try:
        found = {name: _sum(target / name) for name in [*ours, *removed] if (target / name).is_file()}
        put = {name: source.read_bytes() for source, name in files if found.get(name) != ours[name]}
        aside = {name: _name_spare(target, name) for name in [*put, *removed] if name in found
                 and found[name] != before.get(name)}
        listing = (json.dumps({"version": __version__, "files": ours}, indent=1, sort_keys=True) + "\n").encode("ascii")
        same = (target / MANIFEST).is_file() and (target / MANIFEST).read_bytes() == listing
        _exchange(target, put if same else {**put, MANIFEST: listing}, removed, aside)
    except OSError as error:
        raise SettingError("The actions cannot be written to '%s': %s." % (target, error.strerror or error),
                           "All is as it was before. Mend that, or give a folder you may write to with --folder.",
                           str(error.filename or target)) from None
    _clear_away(target, removed)
    return InstallReport(target, tuple(put), removed=tuple(removed), kept=_list_others(target, ours),
                         replaced=tuple(aside.items()))


def uninstall(*, folder: Path | None = None) -> InstallReport:
    """Take the actions out again: the files on our list, and folders that this leaves empty; all other files stay.

    Parameters
    ----------
    folder : str or path, optional
        The editor's extensions folder; see `find_user_extensions`.

    Returns
    -------
    InstallReport

    Raises
    ------
    SettingError
        If the actions are not installed there, or cannot be removed.
    """
    target = find_user_extensions(folder=folder) / FOLDER
    if not (target / MANIFEST).is_file():
        raise SettingError("The actions are not installed in '%s'." % target,
                           "Give the extensions folder with --folder if they are elsewhere.", "--folder")
    before = _read_manifest(target)
    present = sorted(name for name in before if (target / name).is_file())
    _refuse_links(target, present)
    try:
        aside = {name: _name_spare(target, name) for name in present if _sum(target / name) != before[name]}
        _exchange(target, {}, [*present, MANIFEST], aside)
    except OSError as error:
        raise SettingError("The actions cannot be removed from '%s': %s." % (target, error.strerror or error),
                           "All is as it was before. Mend that, then try again.",
                           str(error.filename or target)) from None
    _clear_away(target, present)
    kept = _list_others(target, {})
    if not target.is_symlink():
        _try(target.rmdir)  # fails, and is passed over, where the folder is not empty
    return InstallReport(target, (), removed=tuple(present), kept=kept, replaced=tuple(aside.items()))


def _exchange(folder, put, drop, aside):
    """Files put (name to content) and dropped, all or nothing; those in aside (name to name) are kept under another
    name.

    Every new file is written beside its place first, and no old one is deleted before all new ones are in.
    """
    made, rough, moved = [], {}, []
    try:
        for name, content in put.items():
            for above in reversed((folder / name).parents):
                if not above.exists():
                    above.mkdir()
                    made.append(above)
            rough[name] = folder / (name + ".plank-new")
            rough[name].write_bytes(content)
        for name in [*put, *drop]:
            there, old = folder / name, folder / aside.get(name, name + ".plank-old")
            if there.is_file() or there.is_symlink():
                os.replace(there, old)
                moved.append((old, there))
            if name in rough:
                os.replace(rough[name], there)
                moved.append((there, rough[name]))
    except BaseException:
        for now, then in reversed(moved):
            _try(os.replace, now, then)
        for path in rough.values():
            _try(path.unlink)
        for path in reversed(made):
            _try(path.rmdir)
        raise
    for old, _ in moved:
        if old.name.endswith(".plank-old"):
            _try(old.unlink)


def _name_spare(folder, name):
    """A free name for keeping a changed file, one that the editor will not load."""
    spare, number = name + ".yours", 1
    while os.path.lexists(folder / spare):
        number += 1
        spare = "%s.yours%d" % (name, number)
    return spare


def _try(step, *given):
    try:
        step(*given)
    except OSError:
        pass


def _sum(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _read_manifest(target):
    """{name: checksum} of each file that we put there; empty where nothing is installed."""
    try:
        files = json.loads((target / MANIFEST).read_text(encoding="utf-8"))["files"]
        return {name: str(said) for name, said in files.items() if _stays_inside(name)}
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise SettingError("The list of installed files cannot be read.",
                           "Delete '%s', then install again." % (target / MANIFEST),
                           str(target / MANIFEST)) from None


def _stays_inside(name):
    """Whether a path in our list of files stays inside our folder, on any system; else the list is not to be trusted.
    """
    for kind in (PurePosixPath, PureWindowsPath):
        path = kind(name)
        if path.anchor or ".." in path.parts or not path.parts:
            return False
    return name != MANIFEST


def _refuse_second_copy(place, target):
    """Refuse where another copy of the actions is found: the editor cannot load two actions with one id. It follows
    links, so they are followed here too."""
    seen = set()
    for here, folders, files in os.walk(str(place), followlinks=True):
        real = os.path.realpath(here)
        if real in seen:
            folders[:] = []
            continue
        seen.add(real)
        if "plank_fair.inx" in files and real != os.path.realpath(target):
            raise SettingError("Another copy of these actions lies in '%s'; two with one name cannot both be loaded."
                               % here,
                               "Take the files plank_*.inx, plank_*.py and _plank_path.py and the folder plankcore "
                               "out of it, then install again.", here)


def _refuse_links(target, names):
    """Refuse links inside our folder: the files behind them are somebody's own, perhaps the source itself."""
    for inside in sorted({above for name in names for above in PurePosixPath(name).parents}):
        if inside.parts and (target / inside).is_symlink():
            raise SettingError("'%s' is a link to another folder, whose files are not ours to change."
                               % (target / inside),
                               "Remove the link, then try again.", str(target / inside))


def _clear_away(target, names):
    """Compiled copies of files that are gone, and folders that this leaves empty."""
    for name in names:
        cache = (target / name).parent / "__pycache__"
        for compiled in cache.glob(Path(name).stem + ".*.pyc"):
            _try(compiled.unlink)
        for folder in [PurePosixPath(name).parent / "__pycache__", *PurePosixPath(name).parents]:
            if folder.parts:
                _try((target / folder).rmdir)  # fails, and is passed over, where the folder is not empty


def _list_others(target, ours):
    """All files there that are not ours, without compiled copies of ours."""
    found = []
    for path in target.rglob("*"):
        name = path.relative_to(target)
        if path.is_dir() and not path.is_symlink():
            continue
        source = (name.parent.parent
                  / (name.name.split(".")[0] + ".py")).as_posix() if name.parent.name == "__pycache__" else None
        if name.as_posix() not in ours and source not in ours and name.as_posix() != MANIFEST:
            found.append(name.as_posix())
    return tuple(sorted(found))


def describe(report: InstallReport) -> list[str]:
    """What was done, as a list of plain sentences."""
    said = []
    if report.written:
        said.append("%s written to %s." % (_count(report.written), report.folder))
        said.append("Start the editor again; the actions are under Extensions > Plank Pattern.")
    elif not report.removed:
        said.append("Nothing to do: %s is up to date." % report.folder)
    if report.removed:
        said.append("%s removed from %s." % (_count(report.removed), report.folder))
    for name, spare in report.replaced:
        said.append("%s had been changed by someone; that version is kept as %s." % (name, spare))
    others = [name for name in report.kept if name not in {spare for _, spare in report.replaced}]
    if others:
        more = " and %d more" % (len(others) - 10) if len(others) > 10 else ""
        said.append("Left alone, as not ours: %s%s." % (", ".join(others[:10]), more))
    return said


def _count(names):
    return "1 file" if len(names) == 1 else "%d files" % len(names)
