"""Files that wait until the work they belong to is done: then all are written, or none; none in place of a file that is
not this plank's.
"""
from __future__ import annotations

import os
import re
from pathlib import Path

from ...errors import DocumentError
from .marks import judge, seal
from .output import write_files

__all__ = ["IF_THERE", "Outbox", "refuse_foreign"]

IF_THERE = ["refuse", "number"]
_KINDS = r"\.(svg|pdf|dxf|plt|html|csv)$"
_MOST = 999


def refuse_foreign(path, owner, remedy="Give another file name, or move that file away first."):
    """True where a file of this owner's lies at path already, false where none does.

    Raises
    ------
    DocumentError
        If what lies there is not this owner's, unchanged: with its name, and whose it is.
    """
    if not os.path.lexists(path):
        return False
    if os.path.isdir(path):
        raise DocumentError("A folder is called '%s', as the file would be." % path, "Give another file name.",
                            "Folder")
    why = judge(path, owner)
    if why:
        raise DocumentError("The file '%s' is there already, and is not replaced: %s." % (path, why), remedy,
                            os.path.basename(path))
    return True


class Outbox:
    """Files by their places, and what is to be said once they are written."""

    def __init__(self):
        self._files, self._words = {}, []
        self._owners = {}

    def find(self, path):
        """The bytes of a file that waits to be written, or None."""
        return self._files.get(os.path.realpath(path))

    def add(self, files, *, owner, replaces="", suffix="", remedy="Give another file name, move that file away "
                                                                  "first, or let files be numbered (If a file is "
                                                                  "there already)."):
        """Take files, {path: bytes}, and seal them with their owner's mark (see marks.name_owner).

        replaces: whose files they may take the place of, if not the same owner's. suffix: of the format, where the
        names do not tell.

        Raises
        ------
        DocumentError
            If a file is there that this owner did not write, or wrote and someone changed since.
        """
        for path, data in files.items():
            place = os.path.realpath(path)
            if place in self._files and self._owners.get(place) != owner:
                raise DocumentError("The file '%s' is written twice: as %s, and as %s."
                                    % (path, self._owners.get(place) or "a table that is kept",
                                       owner or "the file of a plank without a name"),
                                    "Give one of them another file name.", os.path.basename(path))
            again = place in self._files
            if again or refuse_foreign(path, replaces or owner, remedy):
                self.tell("Replaced, as this plank's own: %s%s"
                          % (path, ", which an earlier step had made" if again else ""))
            self._files[place], self._owners[place] = seal(data, suffix=suffix or Path(path).suffix,
                                                           owner=owner or "a plank without a name"), owner

    def add_kept(self, path, data):
        """Take a table that was read before and holds all that it held."""
        place = os.path.realpath(path)
        if os.path.lexists(place) and not os.path.isfile(place):
            raise DocumentError("'%s' is no plain file." % path, "Give another.", os.path.basename(path))
        self._files[place], self._owners[place] = data, None

    def number(self, stem, owner):
        """The stem, or the first of stem-2, stem-3 ... at which nothing lies that is not this owner's.

        What is looked at: stem with the suffix of a format, and stem-PAGE with one.
        """
        stem = Path(stem)
        listed = os.listdir(stem.parent) if stem.parent.is_dir() else []
        for count in range(1, _MOST + 1):
            name = stem.name if count == 1 else "%s-%d" % (stem.name, count)
            mine = re.compile(re.escape(name) + r"(-(?!\d+\.)[^/]+)?" + _KINDS, re.IGNORECASE)
            if all(judge(stem.parent / one, owner) == "" for one in listed if mine.match(one)):
                return stem.with_name(name)
        raise DocumentError("There are %d files called '%s' with numbers." % (_MOST, stem.name),
                            "Give another file name.", stem.name)

    def tell(self, text):
        """Words that are true once the files are written."""
        self._words.append(text)

    def write(self):
        """Write all; what is to be said of them, a list of str. The outbox is empty then."""
        write_files(self._files)
        words, self._words, self._files, self._owners = self._words, [], {}, {}
        return words
