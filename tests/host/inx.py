"""The dialogs' definitions, read from the .inx files."""
from __future__ import annotations

import importlib.util
import re
import sys

from host.scripts import EXTENSIONS
from lxml import etree

from plankcore.actions import ACTIONS

__all__ = ["NS", "SCRIPTS", "find_title", "list_length_fields", "list_pages", "list_params", "load_class", "read_inx"]

NS = "{http://www.inkscape.org/namespace/inkscape/extension}"
SCRIPTS = tuple("plank_" + one.key for one in ACTIONS)


def read_inx(script):
    """Root of an action's .inx."""
    return etree.parse(str(EXTENSIONS / (script + ".inx"))).getroot()


def find_title(script, *, numbered=False):
    """An action's name in the menu, without the dots."""
    name = read_inx(script).findtext(NS + "name").rstrip(".\u2026")
    return name if numbered else re.sub(r"^\d\d ", "", name)


def list_params(root):
    """All params, in order, notebooks included."""
    return list(root.iter(NS + "param"))


def list_pages(script):
    """Names of a dialog's tabs."""
    return [p.get("name") for p in read_inx(script).iter(NS + "page")]


def list_length_fields(script):
    """Names of the fields whose label asks for a length."""
    return [p.get("name") for p in list_params(read_inx(script)) if "(length)" in (p.get("gui-text") or "")]


def load_class(script):
    """The extension class of a script, loaded by itself."""
    if str(EXTENSIONS) not in sys.path:
        sys.path.append(str(EXTENSIONS))              # scripts find their package from beside themselves
    spec = importlib.util.spec_from_file_location("alone_" + script, EXTENSIONS / (script + ".py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return getattr(module, "".join(word.capitalize() for word in script.split("_")))
