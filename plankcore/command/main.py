"""The command line: plankcore run, install, uninstall, zip; and the zip of the actions to unpack into the editor's
extensions folder.
"""
from __future__ import annotations

import argparse
import os
import sys
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

from .. import __version__
from ..errors import PlankError, SettingError
from . import install
from .install import list_files

if TYPE_CHECKING:
    from typing import Sequence

__all__ = ["main", "write_archive"]

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


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code: 0, 1 where a plank of a recipe failed, 2 on refusal."""
    parser = argparse.ArgumentParser(prog="plankcore",
                                     description="Plank patterns: run recipes, and put the actions into the editor.")
    parser.add_argument("--version", action="version", version="plankcore " + __version__)
    commands = parser.add_subparsers(dest="command", required=True)
    run = commands.add_parser("run", help="run a recipe: a chain of actions on one or many planks")
    run.add_argument("recipe", help="TOML file")
    for name, said in (("install", "put the actions into the editor's user folder"),
                       ("uninstall", "take them out again")):
        one = commands.add_parser(name, help=said)
        one.add_argument("--folder", default=None, help="the editor's extensions folder, if it is not found by itself")
    zipped = commands.add_parser("zip", help="make a zip to unpack into the editor's extensions folder")
    zipped.add_argument("file", help="the zip to write")
    options = parser.parse_args(arguments)
    try:
        return _COMMANDS[options.command](options)
    except PlankError as error:
        print(error, file=sys.stderr)
        return 2


def _run(options):
    from .recipe import read_recipe  # the other commands must work where inkex is missing
    from .running import run_recipe
    written, failed = run_recipe(read_recipe(options.recipe), actions=install.find_extension_source(),
                                 progress=lambda text: print(text, flush=True))
    print("%d of %d planks done." % (len(written), len(written) + len(failed)))
    for path in written:
        print("  " + str(path))
    return 1 if failed else 0


def _install(options):
    print("\n".join(install.describe(install.install(folder=options.folder))))
    return 0


def _uninstall(options):
    print("\n".join(install.describe(install.uninstall(folder=options.folder))))
    return 0


def _zip(options):
    files = write_archive(options.file)
    print("%s holds %d files. Unpack it into a new folder inside the editor's extensions folder and start the editor "
          "again." % (options.file, len(files)))
    return 0


_COMMANDS = {"run": _run, "install": _install, "uninstall": _uninstall, "zip": _zip}

if __name__ == "__main__":
    sys.exit(main())
