"""The command line: plankcore run, install, uninstall, zip."""
from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from .. import __version__
from ..errors import PlankError
from . import archive, install

if TYPE_CHECKING:
    from typing import Sequence

__all__ = ["main"]


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
    files = archive.write_archive(options.file)
    print("%s holds %d files. Unpack it into a new folder inside the editor's extensions folder and start the editor "
          "again." % (options.file, len(files)))
    return 0


_COMMANDS = {"run": _run, "install": _install, "uninstall": _uninstall, "zip": _zip}

if __name__ == "__main__":
    sys.exit(main())
