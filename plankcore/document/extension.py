"""The one way an action runs: in the editor, as a script, or as a step of a recipe."""
from __future__ import annotations

import io
import os
import sys
import tempfile
import traceback
import warnings
from abc import abstractmethod
from typing import TYPE_CHECKING

import inkex
from inkex.elements._parser import NodeBasedLookup
from lxml import etree

from .. import __version__, units
from ..actions import Action
from ..errors import DocumentError, PlankError, SettingError
from . import names
from .drawing import Drawing

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any, NoReturn, Sequence

    from ..model.plank import Plank
    from .files.output import Outbox
    from .names import Element

__all__ = ["PlankExtension", "load_document", "report_fault"]

# inkex turns all warnings on, and the editor shows whatever reaches stderr to the user in a dialog
warnings.simplefilter("ignore")

_DAMAGED = "Open the drawing in the editor and save it again as Inkscape SVG."


def load_document(data: bytes, *, where: str) -> Any:
    """An inkex document from bytes, refused unless it is whole, plain SVG.

    The editor's own loader repairs cut-off files in silence and expands entities; a drawing to cut wood by must be
    whole.

    Raises
    ------
    DocumentError
    """
    if b"<!DOCTYPE" in data[:4096] or b"<!ENTITY" in data:
        head = data[:4096].split(b"<svg", 1)[0]
        if b"<!ENTITY" in data or b"[" in head:
            raise DocumentError("The drawing defines entities of its own, which are not read.", _DAMAGED, where)
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=True, strip_cdata=False)
    parser.set_element_class_lookup(NodeBasedLookup())
    try:
        root = etree.fromstring(data, parser)
        known = root.tag == "{%s}svg" % names.SVG
    except KeyError:                              # inkex has no class for this root element: not an SVG drawing
        known = False
    except etree.XMLSyntaxError as error:
        raise DocumentError("The drawing is damaged or cut off: %s." % str(error).split(",")[0], _DAMAGED,
                            where) from None
    if not known:
        raise DocumentError("The file is not an SVG drawing.", "Give a drawing saved by the editor.", where)
    return root.getroottree()


def _refuse_unreadable(argument):
    """The argument itself. A setting with characters that no drawing can hold (control characters, lone surrogates) is
    refused."""
    if not argument.startswith("--") or argument.startswith("--output="):
        return argument                           # names of drawings are not written into them, and may hold any bytes
    bad = next((c for c in argument if (ord(c) < 32 and c not in "\t\r\n") or 0xD800 <= ord(c) <= 0xDFFF
                or c in "\ufffe\uffff"), None)
    if bad is not None:
        name = argument.split("=", 1)[0].lstrip("-")
        raise SettingError("A setting holds a character that cannot be written (number %d)." % ord(bad),
                           "Type it again, without what was pasted in.", name if bad not in name else None)
    return argument


class _Arguments(inkex.base.ArgumentParser):
    """An argument parser that raises our own errors."""

    def error(self, message: str) -> NoReturn:
        raise SettingError("A setting cannot be used: %s." % message,
                           "See the action's dialog, or its --help, for the names and values.")


class PlankExtension(inkex.EffectExtension):
    """Base of all actions.

    A subclass gives its row of the table of actions as `ACTION`, `add_arguments(pars)` and `work(drawing, options)`;
    `work` reads, calls one operation and writes. A PlankError becomes its message, exit code 251, and nothing written;
    any other exception is reported as a fault in the program.
    """

    ACTION: Action

    def __init__(self):
        super().__init__()
        for one in self.arg_parser._actions:
            if one.dest == "input_file":
                one.type = str                    # inkex would check the file here, and refuse it in its own words
        self.arg_parser.allow_abbrev = False      # an abbreviated option is taken for a mistake
        self.arg_parser.error = _Arguments.error.__get__(self.arg_parser)    # type: ignore[method-assign]
        self.messages = []
        self._outbox = None
        self._waits = False                       # whether files are held back until the drawing is written too

    def add_arguments(self, pars: Any) -> None:
        """Adds the options that every action has; subclasses call this first."""
        pars.add_argument("--tab", default="")
        pars.add_argument("--unit", default="mm", choices=["mm", "cm", "in"], help="unit of bare numbers")

    @property
    def in_dialog(self) -> bool:
        """Whether the settings come from a dialog, which keeps what was typed last, perhaps for another plank. Only the
        editor passes --tab."""
        return bool(self.options.tab)

    def read_length_mm(self, name: str, field: str, *, least_mm: float | None = None, most_mm: float | None = None,
                       empty_mm: float | None = None) -> float:
        """A length option in mm; empty_mm where the field is empty. Without empty_mm an empty field is refused."""
        if empty_mm is not None and not getattr(self.options, name).strip():
            return empty_mm
        return units.parse_length_mm(getattr(self.options, name), unit=self.options.unit, field=field,
                                     least_mm=least_mm, most_mm=most_mm)

    def list_settings(self) -> list[str]:
        """Names of the settings that a recipe's step may give."""
        return [one.dest for one in self.arg_parser._actions
                if one.dest not in ("help", "ids", "selected_nodes", "input_file", "output", "tab")]

    def read_yes_no(self, name: str, field: str) -> bool:
        """A true or false option; anything else is refused, not taken for false."""
        value = getattr(self.options, name)
        if value is None:
            raise SettingError("A setting is neither true nor false (%s)." % name, "Write true or false.", field)
        return value

    @abstractmethod
    def work(self, drawing: Drawing, options: Any) -> bool | None:
        """Read, compute, write: defined by each action. Returning False means that the drawing stays as it was."""

    @staticmethod
    def add_file_arguments(pars: Any) -> None:
        """For actions that write files beside the drawing."""
        from .files.output import IF_THERE
        pars.add_argument("--folder", default="")
        pars.add_argument("--if_there", default="refuse", choices=IF_THERE,
                          help="a file of another's at the place: refuse, or number the new one")

    def choose_place(self, drawing: Drawing, planks: Sequence[Plank], *, file_name: str, what: str,
                     field: str = "File name") -> tuple[Path, str]:
        """(Path without suffix, owner) for the files of these planks."""
        from .files.marks import name_owner
        from .files.output import choose_stem
        stem = choose_stem(drawing.path, planks, folder=self.options.folder, file_name=file_name, what=what,
                           field=field)
        owner = name_owner(what, planks, drawing.path)
        return (self.outbox.number(stem, owner) if self.options.if_there == "number" else stem), owner

    @property
    def outbox(self) -> Outbox:
        """The Outbox, where files of this action wait until they are written."""
        if self._outbox is None:
            from .files.output import Outbox  # loaded only for actions that write files
            self._outbox = Outbox()
        return self._outbox

    def say_when_written(self, text: str) -> None:
        """Hold back a message about files until they have been written."""
        self.outbox.tell(text)

    def say(self, text: str) -> None:
        """Show the user a message about something that is not on the drawing, such as files written."""
        self.messages.append(text)

    # -- life of a run as a process ---------------------------------------------------------------------------

    def read_arguments(self, args: Sequence[str]) -> None:
        """Set the options from ['--name=value', ...]; a bad one raises SettingError."""
        self.options = self.arg_parser.parse_args([_refuse_unreadable(arg) for arg in args])
        for name, value in vars(self.options).items():
            if name not in ("input_file", "output") and isinstance(value, str) and os.path.isabs(value):
                setattr(self.options, name, self._read_as_typed(value))

    def _read_as_typed(self, value):
        """A path as it was typed. Where a field has a button for choosing files, the editor makes a relative path
        absolute with the scripts' folder: undone here."""
        scripts = os.path.dirname(os.path.realpath(type(self).work.__code__.co_filename))
        whole = os.path.realpath(value)
        return os.path.relpath(whole,
                               scripts) if whole.startswith(scripts + os.sep) and not os.path.exists(whole) else value

    def parse_arguments(self, args: Sequence[str]) -> None:
        try:
            self.read_arguments(args)
        except PlankError as error:
            raise inkex.AbortExtension(self._format(error)) from None

    def load_raw(self) -> None:
        if isinstance(self.options.input_file, str) and not os.path.isfile(self.options.input_file):
            raise inkex.AbortExtension(self._format(DocumentError("There is no file '%s'." % self.options.input_file,
                                                                  "Give the drawing's path.", self.options.input_file)))
        super().load_raw()

    def load(self, stream: Any) -> Any:
        data = stream.read()
        if isinstance(data, str):
            data = data.encode("utf-8")
        try:
            document = load_document(data, where=str(self.options.input_file) if isinstance(self.options.input_file,
                                                                                            str) else "the drawing")
        except PlankError as error:
            raise inkex.AbortExtension(self._format(error)) from None
        self.svg = document.getroot()
        return document

    def has_changed(self, ret: Any) -> bool:
        """What inkex asks before it saves: true where the action wrote to the drawing."""
        return bool(ret)

    def effect(self) -> bool:
        """Run on the loaded drawing; true when the drawing is to be written."""
        try:
            path, read_from = os.environ.get("DOCUMENT_PATH", ""), self.options.input_file
            # with --output, files are written together with the drawing
            self._waits = isinstance(self.options.output, str)
            changed = self.apply(self.svg, self.options.ids, path, home="" if path
                                 or not isinstance(read_from, str) else os.path.dirname(os.path.abspath(read_from)))
            if self._waits:
                self._write_output(changed)
        except PlankError as error:
            raise inkex.AbortExtension(self._format(error)) from None
        except Exception:       # noqa: BLE001 - a user never sees a traceback
            raise inkex.AbortExtension(self._format(report_fault(type(self).__name__))) from None
        if self.messages:
            inkex.errormsg("\n".join(self.messages))
        return changed

    def apply(self, root: Element, selected: Sequence[str], path: str, *, home: str = "",
              outbox: Outbox | None = None) -> bool:
        """Run on a drawing in memory, in a recipe or a process. True unless the action leaves the drawing as it was.

        path : where the drawing is kept or will be. home : the folder that tables lie in, if not that of path. outbox :
        collects the files, for the caller to write; without one they are written when the work is done.
        """
        names.register()
        self._outbox = outbox if outbox is not None else self._outbox
        result = self.work(Drawing(root, selected, path, home), self.options)
        names.tidy(root)
        if outbox is None and not self._waits and self._outbox is not None:
            self.messages += self.outbox.write()
        return result is not False

    def _write_output(self, changed):
        """Write the drawing to --output together with the action's files: all or none."""
        from .files.marks import spell_name
        from .files.output import write_files
        target, source = self.options.output, self.options.input_file
        source = source if isinstance(source, str) else "standard input"
        owner = "drawing / %s / from %s" % (self.ACTION.title, spell_name(source))
        if changed:
            stream = io.BytesIO()
            self.save(stream)
            if os.path.exists(target) and not os.path.isfile(target) and not os.path.isdir(target):
                write_files({target: stream.getvalue()})              # a pipe or a device
            else:
                # a drawing may replace itself, since it still holds all that it held; any other file there is replaced
                # only if we wrote it and nobody has changed it
                same = os.path.exists(target) and os.path.exists(source) and os.path.samefile(target, source)
                self.outbox.add({target: stream.getvalue()}, owner=owner, replaces="drawing / *" if same else "",
                                suffix=".svg",
                                remedy="Give --output another name, or move that file away first.")
        self.messages += self.outbox.write()

    def save_raw(self, ret: Any) -> None:
        """Write to standard output for the editor. A file given by --output was written before, with all others."""
        if isinstance(self.options.output, str):
            return
        try:
            super().save_raw(ret)
            if self.has_changed(ret):
                self.options.output.flush()
        except OSError as error:
            raise inkex.AbortExtension(
                self._format(DocumentError("The drawing cannot be handed back: %s." % error.strerror,
                                           "Run the action again; make room on the disk."))) from None

    def _format(self, error):
        return "%s\n\n%s" % (self.ACTION.title, error)


def report_fault(who: str) -> PlankError:
    """Message for an unexpected exception, to be called while it is handled: it asks the user to report it, and shows
    no traceback."""
    text = traceback.format_exc()
    last = text.strip().splitlines()[-1][:200]
    try:
        with tempfile.NamedTemporaryFile("w", prefix="plank-fault-", suffix=".txt", delete=False,
                                         encoding="utf-8") as report:
            report.write("plankcore %s, %s\nPython %s\n\n%s" % (__version__, who, sys.version, text))
        remedy = "A report lies in %s; please send it in, with the drawing if you can." % report.name
    except OSError:
        remedy = "Please send this message in, with the drawing if you can."
    return PlankError("The action met a fault of its own (%s). Nothing was changed." % last, remedy)
