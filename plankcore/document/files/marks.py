"""The mark in every file that an action writes: what it is, of which plank, and a digest that tells whether it was
changed since.

A file is replaced only where its mark says that this plank wrote it and nobody has changed it: so every format carries
one, where that format has a place for it. SVG: an attribute of the root. HTML: a meta element. CSV: a last line that
begins with #.
PDF: a comment
before the table of places. DXF: a comment, group 999. HP-GL has no comment that all machines know: between the last PU
and SP0, 64 commands PU or PA, which move nothing there, are the digest's first bits.
"""
from __future__ import annotations

import hashlib
import os
import re
import stat
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from ...errors import DocumentError
from .. import names

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Sequence

    from ...model.plank import Plank

__all__ = ["NOT_OURS", "judge", "name_owner", "seal", "spell_name"]

_BLANK = b"0" * 64
_MARK = re.compile(rb"plankcore-mark ([0-9a-f]{64}) ([^\"<>\r\n]*)")
_ROOT = re.compile(rb"<(?:[A-Za-z_][\w.-]*:)?svg(?=[\s>/])")
_OLD = re.compile(rb"\s[\w.-]+:mark=\"plankcore-mark [^\"]*\"")
_TAIL = re.compile(rb"((?:P[UA];){64})SP0;\s*$")
_MOST_BYTES = 500_000_000
NOT_OURS = "no action has written it"


def name_owner(what: str, planks: Sequence[Plank], drawing_path: str) -> str:
    """A file's owner in words: kind of file, boat, strakes and side; '' where nothing distinguishes this plank from
    others.

    Where boat or strake is missing, the drawing's file name is used.
    """
    parts = [what]
    for plank in planks:
        parts += [plank.name or "no boat named", "strake " + (plank.strake or "not named"), plank.side]
    if all(p.name and p.strake for p in planks):
        return " / ".join(parts)
    return " / ".join([*parts, "drawing " + spell_name(drawing_path)]) if drawing_path else ""


def spell_name(path: str) -> str:
    """A file's name as text that can be written, also where its bytes are not valid text."""
    return os.path.basename(path).encode("utf-8", "replace").decode("utf-8")


def _spell(owner, digest=_BLANK):
    return b"plankcore-mark %s %s" % (digest, quote(owner, safe=" /").encode("ascii"))


def seal(data: bytes, *, suffix: str, owner: str) -> bytes:
    """The bytes of a file with its mark in them.

    Parameters
    ----------
    data : bytes
    suffix : {'.svg', '.html', '.csv', '.pdf', '.dxf', '.plt'}
    owner : str
        As by `name_owner`.
    """
    suffix = suffix.lower()
    if suffix in (".plt", ".hpgl"):
        end = data.rindex(b"SP0;")
        return data[:end] + _spell_bits(data[:end], owner) + data[end:]
    marked = _PLACES[suffix](data, _spell(owner))
    at = next(m for m in _MARK.finditer(marked) if m.group(1) == _BLANK).start(1)
    return marked[:at] + hashlib.sha256(marked).hexdigest().encode("ascii") + marked[at + 64:]


def _spell_bits(body, owner):
    first = int.from_bytes(hashlib.sha256(owner.encode("utf-8") + b"\0" + body).digest()[:8], "big")
    return b"".join(b"PA;" if first >> k & 1 else b"PU;" for k in range(63, -1, -1))


def _mark_svg(data, mark):
    root = _ROOT.search(data)
    if root is None:
        raise DocumentError("What was to be written is not an SVG drawing.", "Run the action again.", "Drawing")
    at = root.end()
    stop = data.index(b">", at)
    head = _OLD.sub(b"", data[at:stop])
    bound = re.search(rb"xmlns:plank=\"([^\"]*)\"", head)
    prefix = b"plank" if bound is None or bound.group(1) == names.NAMESPACE.encode() else b"plankmark"
    if b"xmlns:%s=" % prefix not in head:
        head = b' xmlns:%s="%s"' % (prefix, names.NAMESPACE.encode()) + head
    return data[:at] + b' %s:mark="%s"' % (prefix, mark) + head + data[stop:]


def _mark_html(data, mark):
    return data.replace(b"<head>", b'<head><meta name="plankcore-mark" content="%s">' % mark, 1)


def _mark_csv(data, mark):
    ending = b"\r\n" if b"\r\n" in data else b"\n"
    return data + (b"" if data.endswith(b"\n") else ending) + b"# " + mark + ending


def _mark_pdf(data, mark):
    line, at = b"% " + mark + b"\n", data.rindex(b"\nxref\n") + 1
    told = data.rindex(b"startxref\n") + len(b"startxref\n")
    end = data.index(b"\n", told)
    return data[:at] + line + data[at:told] + b"%d" % (int(data[told:end]) + len(line)) + data[end:]


def _mark_dxf(data, mark):
    return b"999\n" + mark + b"\n" + data


_PLACES = {".svg": _mark_svg, ".html": _mark_html, ".csv": _mark_csv, ".pdf": _mark_pdf, ".dxf": _mark_dxf}


def judge(path: Path, owner: str) -> str:
    """'' where the file at path may be replaced by one of this owner's, else why not, in words; the file is there.

    An owner that ends in '*' matches every owner that begins with the words before it.
    """
    try:
        info = os.stat(path)
    except OSError as error:
        return "it cannot be looked at (%s)" % error.strerror
    if not stat.S_ISREG(info.st_mode):
        return "it is a folder" if stat.S_ISDIR(info.st_mode) else "it is a device or a pipe"
    if info.st_size > _MOST_BYTES:
        return NOT_OURS
    try:
        with open(path, "rb") as stream:
            data = stream.read()
    except OSError as error:
        return "it cannot be read (%s)" % error.strerror
    tail = _TAIL.search(data[-300:]) if data[:3] == b"IN;" else None
    if tail:
        body = data[:len(data) - len(tail.group(0))] if len(data) <= 300 else data[:len(data) - 300 + tail.start()]
        return "" if owner and _spell_bits(body, owner) == tail.group(
            1) else "it was written for another plank, or changed since"
    found = list(_MARK.finditer(data))
    if not found:
        return NOT_OURS
    for one in found:
        if hashlib.sha256(data[:one.start(1)] + _BLANK + data[one.end(1):]).hexdigest().encode("ascii") == one.group(1):
            told = unquote(one.group(2).decode("ascii", "replace"))
            same = told.startswith(owner[:-1]) if owner.endswith("*") else told == owner
            return "" if owner and same else "it holds: %s" % told
    return "it was changed since it was written (it held: %s)" % unquote(found[0].group(2).decode("ascii", "replace"))
