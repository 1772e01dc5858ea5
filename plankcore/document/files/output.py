"""Files of a run: marked with their owner, and written all or none."""
from __future__ import annotations

import os
import re
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from ...errors import DocumentError, SettingError
from .. import names
from .marks import judge, seal

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ...model.page import Page
    from ...model.plank import Plank
    from ..names import Element

__all__ = [
    "IF_THERE",
    "Outbox",
    "check_formats",
    "choose_stem",
    "expand_home",
    "find_folder",
    "make_folder",
    "name_files",
    "refuse_foreign",
    "relink_pictures",
    "write_files",
]

_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_SUFFIXES = r"\.(svg|pdf|dxf|plt|hpgl|html|csv)$"


def check_formats(chosen: Mapping[str, bool]) -> None:
    """Refuse where no format is chosen; formats are given as {name: whether it is chosen}."""
    if not any(chosen.values()):
        raise SettingError("No format is chosen.",
                           "Say yes to one of: %s." % ", ".join(name.upper() for name in chosen), "Formats")


def find_folder(drawing_path: str, folder: str, *, what: str) -> Path:
    """The folder that `what` is written to: that of the drawing, or the one given, relative to it.

    Raises
    ------
    DocumentError
        If it is missing, or none is given and the drawing has not been saved.
    """
    given = expand_home(folder.strip(), field="Folder") if folder.strip() else None
    if given is None and not drawing_path:
        raise DocumentError("The drawing has not been saved, so there is no folder beside it to write the %s to."
                            % what, "Save the drawing, or give a folder.", "Folder")
    beside = Path(drawing_path).resolve().parent if drawing_path else Path()
    place = beside / given if given is not None else beside
    if not place.is_dir():
        raise DocumentError("There is no folder '%s'." % place, "Make it, or give another.", "Folder")
    return place


def choose_stem(drawing_path: str, planks: Sequence[Plank], *, folder: str, file_name: str, what: str = "sheet",
                field: str = "File name") -> Path:
    """Path of the files of one plot, without the suffix that tells their format.

    Without a folder they are written beside the drawing; without a name they are called after boat, strakes and side,
    followed by `what`.

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
        raise SettingError("'%s' is not a plain file name." % name,
                           "Give the name alone; the folder has a field of its own.", field)
    if not name:
        first = planks[0]
        strakes = " ".join(p.strake for p in planks if p.strake)
        words = [first.name, ("strakes " if len(planks) > 1 else "strake ") + strakes if strakes else "",
                 first.side if len({p.side for p in planks}) == 1 else "", what]
        name = re.sub(r"[^a-z0-9]+", "-", " ".join(w for w in words if w).lower()).strip("-") or "plank-" + what
    name = re.sub(_SUFFIXES, "", name, flags=re.IGNORECASE)
    if drawing_path and (place / (name + ".svg")).resolve() == Path(drawing_path).resolve():
        raise SettingError("The %s would take the place of the drawing itself." % what, "Give another file name.",
                           "File name")
    return place / name


def name_files(stem: Path, suffix: str, pages: Sequence[Page], separate: bool) -> list[tuple[Path, Sequence[Page]]]:
    """Pages sorted into files: all in one, or each in its own, called after the page.

    Returns
    -------
    list of (Path, list of Page)
    """
    if not separate or len(pages) == 1:
        return [(stem.with_name(stem.name + suffix), list(pages))]
    named = {}
    for page in pages:
        word = page.name.lower().replace(" ", "-")
        number = 1
        # two pages must not get the same file name
        while (word if number == 1 else "%s-again-%d" % (word, number)) in named:
            number += 1
        named[word if number == 1 else "%s-again-%d" % (word, number)] = page
    return [(stem.with_name("%s-%s%s" % (stem.name, word, suffix)), [page]) for word, page in named.items()]


def write_files(files: Mapping[Any, bytes]) -> None:
    """Write files, all of them or none.

    Each is written beside its place first, to the last byte on the disk; only when all are there do they take their
    places, and if one cannot, those that have are put back as they were. A device or a pipe is written to as it is.

    Parameters
    ----------
    files : dict
        Path to bytes.

    Raises
    ------
    DocumentError
        If a folder is not there or may not be written to, or the disk is full.
    """
    rough, aside, put = {}, {}, []
    path = None
    try:
        for path, data in files.items():
            place = os.path.realpath(path)
            folder = os.path.dirname(place)
            if not os.path.isdir(folder):
                raise DocumentError("There is no folder '%s' to write to." % folder, "Make it, or give another.",
                                    "Folder")
            if os.path.isdir(place):
                raise DocumentError("A folder is called '%s', as the file would be." % path,
                                    "Give another file name.", "Folder")
            if os.path.exists(place) and not os.path.isfile(place):
                _write_through(place, data)
                continue
            handle, rough[place] = tempfile.mkstemp(suffix=".part", dir=folder)
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            os.chmod(rough[place], 0o644)
        for place in list(rough):
            path = place
            if len(rough) + len(put) > 1 and os.path.exists(place):
                aside[place] = _keep_aside(place)
            os.replace(rough[place], place)
            put.append(place)
            del rough[place]
    except BaseException as error:
        for place in put:
            _try(os.replace, aside.pop(place), place) if place in aside else _try(os.remove, place)
        if not isinstance(error, OSError):
            raise
        raise DocumentError("The file '%s' cannot be written: %s." % (path, error.strerror or error),
                            "Give a folder you may write to, with room on its disk.", "Folder") from None
    finally:
        for left in [*rough.values(), *aside.values()]:
            _try(os.remove, left)


def _write_through(place, data):
    with open(place, "wb", buffering=0) as stream:
        view = memoryview(data)
        while view:
            view = view[stream.write(view):]


def _keep_aside(place):
    """A hard link to the file that is about to be replaced, so that it can be put back."""
    handle, name = tempfile.mkstemp(suffix=".part", dir=os.path.dirname(place))
    os.close(handle)
    os.remove(name)
    try:
        os.link(place, name)
    except OSError:                                # this file system has no hard links
        shutil.copy2(place, name)
    return name


def _try(work, *values):
    try:
        work(*values)
    except OSError:
        pass


def make_folder(path: Path, *, field: str) -> None:
    """Make a folder, and those it lies in, where it is not there yet.

    Raises
    ------
    DocumentError
        If it cannot be made, or there is a file of that name.
    """
    try:
        Path(path).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = "a file has its name" if isinstance(error, (FileExistsError, NotADirectoryError)) else error.strerror
        raise DocumentError("The folder '%s' cannot be made: %s." % (path, why), "Give another folder.",
                            field) from None


def expand_home(text: str, *, field: str) -> Path:
    """A Path as typed, with ~ for the user's own folder.

    Raises
    ------
    SettingError
        If it begins with the ~ of an unknown user, or contains what no file name can.
    """
    if any(ord(c) < 32 or 0xD800 <= ord(c) <= 0xDFFF for c in text):
        raise SettingError("A file name holds a control character, or one that is no character.", "Type it again.",
                           field)
    try:
        return Path(text).expanduser()
    except RuntimeError:
        raise SettingError("There is no user's folder '%s'." % Path(text).parts[0], "Write the folder out in full.",
                           field) from None


def relink_pictures(root: Element, *, old_folder: str, new_folder: str) -> None:
    """Rewrite links to pictures for a drawing that is written to another folder, so that its scan is still found.

    Links that are full addresses or embedded data stay as they are.
    """
    for image in root.iter("{%s}image" % names.SVG):
        for key in _HREFS:
            link = image.get(key)
            if not link or re.match(r"^[A-Za-z][A-Za-z0-9+.-]*:", link) or link.startswith(("/", "#")):
                continue
            there = os.path.join(old_folder, unquote(link))
            if os.path.exists(there):
                image.set(key, quote(os.path.relpath(there, new_folder).replace(os.sep, "/")))


IF_THERE = ["refuse", "number"]
_KINDS = r"\.(svg|pdf|dxf|plt|html|csv)$"
_MOST = 999
_REMEDY = "Give another file name, move that file away first, or let files be numbered (If a file is there already)."


def refuse_foreign(path: Path, owner: str,
                   remedy: str = "Give another file name, or move that file away first.") -> bool:
    """True where this owner's file is at path already, false where there is no file.

    Raises
    ------
    DocumentError
        If the file there is another owner's, or was changed by hand; the message names it and its owner.
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
    """Files by path, and messages to show once they are written."""

    def __init__(self):
        self._files, self._words = {}, []
        self._owners = {}

    def find(self, path: Path | str) -> bytes | None:
        """The bytes of a file that waits to be written, or None."""
        return self._files.get(os.path.realpath(path))

    def add(self, files: Mapping[Any, bytes], *, owner: str, replaces: str = "", suffix: str = "",
            remedy: str = _REMEDY) -> None:
        """Add files, {path: bytes}, each sealed with its owner's mark (see marks.name_owner).

        replaces : owner whose files may be replaced, where it is not `owner`. suffix : that of the format, where the
        file names do not show it.

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

    def add_kept(self, path: Path, data: bytes) -> None:
        """Add a table that was read before: its new content holds all that it held."""
        place = os.path.realpath(path)
        if os.path.lexists(place) and not os.path.isfile(place):
            raise DocumentError("'%s' is no plain file." % path, "Give another.", os.path.basename(path))
        self._files[place], self._owners[place] = data, None

    def number(self, stem: Path, owner: str) -> Path:
        """The stem, or the first of stem-2, stem-3 ... under which there is no file of another owner.

        Both stem.SUFFIX and stem-PAGE.SUFFIX are looked for, with the suffix of each format.
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

    def tell(self, text: str) -> None:
        """Add a message that is shown once the files are written."""
        self._words.append(text)

    def write(self) -> list[str]:
        """Write all files and return the messages, a list of str. The outbox is empty afterwards."""
        write_files(self._files)
        words, self._words, self._files, self._owners = self._words, [], {}, {}
        return words
