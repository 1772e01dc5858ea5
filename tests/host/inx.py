"""The dialogs' definitions, read from the .inx files."""
from __future__ import annotations

from lxml import etree

from host.scripts import EXTENSIONS

__all__ = ["read_inx", "list_params", "list_length_fields", "NS"]

NS = "{http://www.inkscape.org/namespace/inkscape/extension}"


def read_inx(script):
    """Root of an action's .inx."""
    return etree.parse(str(EXTENSIONS / (script + ".inx"))).getroot()


def list_params(root):
    """All its params, in order, notebooks included."""
    return list(root.iter(NS + "param"))


def list_length_fields(script):
    """Names of the fields whose label asks for a length."""
    return [p.get("name") for p in list_params(read_inx(script)) if "(length)" in (p.get("gui-text") or "")]
