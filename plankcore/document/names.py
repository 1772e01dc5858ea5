"""The words we write into a drawing, and how we find them again: by our own attributes, never by a layer's label."""
from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from lxml import etree

if TYPE_CHECKING:
    from typing import Mapping

__all__ = [
    "INKSCAPE",
    "NAMESPACE",
    "SODIPODI",
    "SVG",
    "Element",
    "attribute",
    "find_free_id",
    "find_layer",
    "find_roles",
    "get",
    "list_values",
    "put",
    "read_kind",
    "register",
    "spell",
    "tidy",
]

NAMESPACE = "urn:plankcore:1"
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
SODIPODI = "http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"
SVG = "http://www.w3.org/2000/svg"
_SVG_HEAD = len(SVG) + 2

Element = Any
"""An element of a drawing, of lxml or inkex, which have no type annotations."""


_OF_ROLE = etree.XPath("descendant-or-self::*[@plank:role = $role]", namespaces={"plank": NAMESPACE})


def register() -> None:
    """Let new files write our attributes with the prefix plank."""
    etree.register_namespace("plank", NAMESPACE)


@lru_cache(maxsize=None)
def attribute(name: str) -> str:
    """Full name of one of our attributes."""
    return "{%s}%s" % (NAMESPACE, name)


def get(element: Element, name: str, default: str = "") -> str:
    """One of our attributes, or default."""
    return element.attrib.get(attribute(name), default)


def spell(values: Mapping[str, float | str]) -> dict[str, str]:
    """Our attributes for lxml: role='edge', rms_mm=0.12 become plank:role="edge", plank:rms-mm="0.12"."""
    spelt = {}
    for name, value in values.items():
        if isinstance(value, float):
            value = ("%.7f" % value).rstrip("0").rstrip(".")
            value = "0" if value in ("-0", "") else value
        spelt[attribute(name.replace("_", "-"))] = str(value)
    return spelt


def put(element: Element, **values: float | str) -> None:
    """Set our attributes on an element."""
    for name, value in spell(values).items():
        element.set(name, value)


def list_values(element: Element) -> dict[str, str]:
    """All our attributes of an element, as `put` takes them: rms_mm to '0.12'."""
    head = attribute("")
    return {key[len(head):].replace("-", "_"): value for key, value in element.attrib.items() if key.startswith(head)}


def read_kind(element: Element) -> str:
    """What kind of SVG element it is: path, g and so on; '' for a comment, and for elements of other namespaces, which
    are not drawn.
    """
    return element.tag[_SVG_HEAD:] if isinstance(element.tag, str) and element.tag.startswith("{%s}" % SVG) else ""


def find_roles(parent: Element, role: str) -> list[Element]:
    """All elements below parent with this role, in order."""
    return _OF_ROLE(parent, role=role)


def find_layer(group: Element, layer: str) -> Element | None:
    """The layer of a plank that one action owns, or None."""
    for child in group:
        if isinstance(child.tag, str) and child.get(attribute("layer")) == layer:
            return child
    return None


def find_free_id(root: Element, stem: str, *, bare: bool = False) -> str:
    """An id that is not used in the drawing: stem-1, stem-2 and so on; with `bare` the stem itself, then stem-2."""
    taken = {e.attrib.get("id") for e in root.iter() if isinstance(e.tag, str)}
    number = 1
    while (stem if bare and number == 1 else "%s-%d" % (stem, number)) in taken:
        number += 1
    return stem if bare and number == 1 else "%s-%d" % (stem, number)


def tidy(root: Element) -> None:
    """Declare our prefixes once, at the root, and keep every prefix that was there."""
    keep = [p for p in root.nsmap if p]
    etree.cleanup_namespaces(root, top_nsmap={"plank": NAMESPACE, "inkscape": INKSCAPE, "sodipodi": SODIPODI},
                             keep_ns_prefixes=keep)
