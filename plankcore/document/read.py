"""Drawn objects of a selection to Traces in mm."""
from __future__ import annotations

import re
from typing import TYPE_CHECKING

import inkex
import numpy as np

from ..errors import DocumentError, EmptyPathError, PatternError, SelectionError
from ..model.plank import Trace
from ..model.typed import read_frame_text, split_mark_word
from . import names, transforms
from .pathdata import read_path
from .plain_paths import read_plain_paths

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Cubics, Matrix
    from .names import Element
    from .transforms import PageScale

__all__ = [
    "FARTHEST_MM",
    "MOST_PIECES",
    "collect_shapes",
    "describe",
    "find_total_map",
    "is_hidden",
    "list_candidates",
    "read_trace",
    "read_traces",
    "refuse_foreign",
    "refuse_many",
]

# inkex writes six digits, too few for five metres
inkex.paths.PathCommand.number_template = "{:.10g}"

_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
FARTHEST_MM = 200_000.0   # farthest from the page's corner: forty planks end to end
# pieces of line, or shapes, that one action reads; a traced scan of a plank has tens, a noisy one hundreds
MOST_PIECES = 1500
MOST_LENGTH_MM = 400_000.0   # total length of all lines that one action reads; the outline of a plank is a dozen metres
_SELECT = "Select the traced outline, the four edge lines, or the marks and the end lines."
_LABEL = "{%s}label" % names.INKSCAPE
_EDGE_LABEL = re.compile(r"^\s*(upper|lower|fore|aft)\b[\s:,#]*(.*)$", re.IGNORECASE)


def describe(element: Element) -> str:
    """What the user can find an object by: its label, and its id."""
    label, known = element.attrib.get(_LABEL), element.attrib.get("id")
    return "'%s' (%s)" % (label, known) if label else str(
        known or (element.tag if isinstance(element.tag, str) else "a comment"))


def is_hidden(element: Element) -> bool:
    """Whether an object is switched off in the editor, and with it all that lies in it."""
    style = (element.attrib.get("style") or "").replace(" ", "")
    return "display:none" in style or element.attrib.get("display") == "none"


def find_total_map(element: Element, page: PageScale) -> Matrix:
    """Affine map (2, 3) from an element's own coordinates to mm on the page, all groups' transforms taken in."""
    total: Matrix | None = None
    for one in [element, *element.iterancestors()]:
        if names.read_kind(one) == "svg":
            if one.getparent() is None:
                break
            raise DocumentError("%s lies in a drawing within the drawing, whose scale is its own." % describe(element),
                                "Ungroup it out of there (Object > Ungroup), then run the action again.",
                                describe(element))
        text = one.attrib.get("transform")
        if not text:
            continue
        try:
            own = transforms.read_transform(text)
        except ValueError:
            own = np.full((2, 3), np.nan)
        total = own if total is None else transforms.compose(own, total)
        (a, b, _), (c, d, _) = total.tolist()
        if not np.isfinite(total).all() or abs(a * d - b * c) < 1e-12:
            raise DocumentError("The transform on %s, or on a group round it, cannot be used." % describe(element),
                                "Undo the flattening, or draw it again.", describe(element))
    return transforms.compose(page.user_to_mm, np.eye(2, 3) if total is None else total)


def refuse_foreign(element: Element) -> None:
    """Refuse a selected element from outside the SVG namespace: the editor draws nothing for it.

    Raises
    ------
    SelectionError
    """
    if not names.read_kind(element):
        raise SelectionError("%s is not an object of SVG; nothing is drawn for it." % describe(element),
                             "Take it out of the selection.", describe(element))


def collect_shapes(elements: Sequence[Element]) -> list[Element]:
    """All drawable shapes in a selection, groups opened, in order.

    Raises
    ------
    SelectionError
        At the first object that is not a line: text, a clone, a picture alone.
    """
    shapes, pictures = [], []

    def visit(element):
        kind = names.read_kind(element)
        if kind in _SHAPES:
            shapes.append(element)
        elif kind in ("g", "a", "svg", "switch"):
            for child in element:
                visit(child)
        elif kind in ("text", "flowRoot", "tspan"):
            raise SelectionError("%s is text, not a line." % describe(element),
                                 "Select lines only, or choose Path > Object to Path first.", describe(element))
        elif kind == "use":
            raise SelectionError("%s is a clone." % describe(element),
                                 "Choose Edit > Clone > Unlink Clone, then select it again.", describe(element))
        elif kind == "image":
            pictures.append(element)
    for element in elements:
        refuse_foreign(element)
        visit(element)
    if not shapes and pictures:
        raise SelectionError("A picture is selected, not a line.",
                             "Trace it first (Path > Trace Bitmap), then select the trace.", describe(pictures[0]))
    if not shapes:
        raise SelectionError("No lines are selected.", _SELECT, describe(elements[0]) if elements else None)
    unique, seen = [], set()
    for shape in shapes:
        if id(shape) not in seen:
            seen.add(id(shape))
            unique.append(shape)
    return unique


def refuse_many(count: int, what: str, where: str | None = None) -> None:
    """Refuse more lines than a plank can have, before hours are spent on them.

    Raises
    ------
    SelectionError
    """
    if count > MOST_PIECES:
        raise SelectionError("%s: %d, where %d are read at most." % (what, count, MOST_PIECES),
                             "Delete the specks of the trace (trace again with specks suppressed), or select only "
                             "what belongs to the plank.", where)


def _count_pieces(element):
    text = element.attrib.get("d") or ""
    return max(1, text.count("M") + text.count("m"), text.count("Z") + text.count("z"))


def read_traces(elements: Sequence[Element], page: PageScale) -> list[Trace]:
    """Shapes as Traces in mm, as by `read_trace`; refused where they are more, or of more pieces, than a plank can
    have.
    """
    refuse_many(len(elements), "Too many shapes are selected")
    refuse_many(sum(_count_pieces(e) for e in elements), "The selected shapes are of too many pieces")
    known = _read_together(elements, page)
    traces = [read_trace(e, page) if runs is None else _name_trace(e, runs) for e, runs in zip(elements, known)]
    every = [cubics for trace in traces for cubics, _ in trace.runs]
    length = float(np.hypot(*np.diff(np.concatenate(every), axis=1).reshape(-1, 2).T).sum()) if every else 0.0
    if length > MOST_LENGTH_MM:
        raise SelectionError("The selected lines are %.0f m long in all, where %.0f m are read at most." % (
            length / 1000, MOST_LENGTH_MM / 1000), "Select only what belongs to the plank; is the page's scale right?")
    return traces


def _read_together(elements: Sequence[Element], page: PageScale) -> list[list[tuple[Cubics, bool]] | None]:
    """The runs in mm of each of several shapes; plain paths are read all at once. None for a shape that has to be read
    by itself."""
    found = read_plain_paths([e.attrib.get("d") if names.read_kind(e) == "path" else None for e in elements])
    beside: dict[Any, list[int]] = {}
    for k, runs in enumerate(found):
        if runs:                                  # shapes without a transform share the map of their group
            element = elements[k]
            beside.setdefault(element if element.attrib.get("transform") else element.getparent(), []).append(k)
    for some in beside.values():
        runs = [run for k in some for run in found[k] or ()]
        cubics = transforms.apply(find_total_map(elements[some[0]], page), np.concatenate([c for c, _ in runs]))
        sound = bool((np.abs(cubics) <= FARTHEST_MM).all())
        parts = iter(np.split(cubics, np.cumsum([len(c) for c, _ in runs])[:-1]))
        for k in some:
            placed = [(next(parts), closed) for _, closed in found[k] or ()]
            found[k] = placed if sound else None
    return [runs or None for runs in found]


def read_trace(element: Element, page: PageScale) -> Trace:
    """One shape as a Trace in mm.

    Raises
    ------
    PatternError
        If its data are empty, not finite, or cut off.
    """
    kind = names.read_kind(element)
    refuse_many(_count_pieces(element), "The path is of too many pieces", describe(element))
    if kind == "path":
        text = element.attrib.get("d")
    else:
        try:
            text = str(inkex.Path(element.get_path()))
        except (ValueError, TypeError):
            text = ""
        size = [element.attrib.get(k) for k in ("x", "y", "width", "height", "r", "cx", "cy", "rx", "ry", "points",
                                                "x1", "x2", "y1", "y2")]
        if any(v is not None and "nan" in v.lower() for v in size):
            raise PatternError("The shape holds something that is not a number (NaN).", "Draw it again.",
                               describe(element))
    total = find_total_map(element, page)
    runs = []
    for sub in read_path(text, where=describe(element)):
        cubics = transforms.apply(total, sub.cubics)
        if not np.isfinite(cubics).all() or np.abs(cubics).max() > FARTHEST_MM:
            raise PatternError("The path runs off beyond any page (a place of %g mm)."
                               % np.abs(cubics[np.isfinite(cubics)]).max(), "Draw it again.", describe(element))
        runs.append((cubics, sub.closed))
    if not runs:
        raise EmptyPathError("The path has no length.", "Draw or trace it again.", describe(element))
    return _name_trace(element, runs)


def _name_trace(element, runs):
    """A Trace of runs in mm, with edge and station from its object's label and attributes."""
    label = element.attrib.get(_LABEL) or ""
    match = _EDGE_LABEL.match(label)
    edge = names.get(element, "edge") or (match.group(1).lower() if match else "")
    said, told = split_mark_word(match.group(2) if match else label)
    station = names.get(element, "station") or read_frame_text(said) or (said if match else "")
    try:
        error = float(names.get(element, "error-mm", "0"))
    except ValueError:
        error = 0.0
    return Trace(tuple(runs), describe(element), edge=edge, station=station,
                 error_mm=error if 0 < error < 100 else 0.0, source=element,
                 told=names.get(element, "told") or told)


def list_candidates(root: Element) -> list[Element]:
    """Shapes a plank could be read from when nothing is selected: visible ones outside our own layers."""
    found = []

    def visit(element):
        if is_hidden(element) or names.get(element, "role") not in ("", "trued"):
            return
        kind = names.read_kind(element)
        if kind in _SHAPES:
            found.append(element)
        elif kind in ("svg", "g", "a"):
            for child in element:
                visit(child)
    visit(root)
    return found
