"""Pieces of a scan to be joined, read from the selection, in mm on the page, x right and y down."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SelectionError
from ..model.scan import ControlPoint, ScanPiece
from . import names
from .carry import restore_joined
from .control_labels import looks_like_control, read_control_label
from .controls import ANY_LABEL, MOST_CONTROLS
from .reach import SHAPES, measure_reach, read_label, trace_points, walk_shown
from .read import describe, read_trace, refuse_many

if TYPE_CHECKING:

    from .drawing import Drawing
    from .names import Element

__all__ = ["Pieces", "read_pieces"]

_POINT_MM = 60.0          # shapes larger than this, at true size, are not taken for shared points


@dataclass(frozen=True, eq=False, repr=False)
class Pieces:
    """ScanPieces and the element of each; elements of the shared points."""

    pieces: tuple[ScanPiece, ...]
    elements: tuple[Element, ...]
    points: tuple[Element, ...]


def _read_true(text):
    """A shared point's label read as a place, where it gives one in mm or with its units; else None."""
    if not looks_like_control(text):
        return None
    try:
        said = read_control_label(text, unit="mm", who=text)
    except SelectionError:
        return None
    return said if said.kind == "point" else None


def read_pieces(drawing: Drawing) -> Pieces:
    """The selected groups or layers as pieces to join, after an earlier Join of them has been taken back; where nothing
    is selected, all that have been trued up. Shared points are small labelled shapes in them.

    Raises
    ------
    SelectionError
    """
    elements = drawing.selected or [e for e in names.find_roles(drawing.root, "trued") if names.read_kind(e) == "g"]
    if not elements:
        raise SelectionError("Nothing is selected.", "Select the pieces, each a group or layer with its labelled "
                                                     "points inside, then run the action again.")
    for element in elements:
        if names.read_kind(element) != "g" or names.get(element, "role") in ("plank", "layer"):
            raise SelectionError("%s is no piece of a scan." % describe(element),
                                 "Group each piece with its labelled points, and select the groups.", describe(element))
        if any(p is e for p in element.iterancestors() for e in elements):
            raise SelectionError("%s lies inside another selected piece." % describe(element),
                                 "Select the pieces side by side, or take one out of the other.", describe(element))
    refuse_many(len(elements), "Too many pieces are selected")
    restore_joined(drawing.root, elements)
    pieces, shared = [], []
    for element in elements:
        points = []
        for shape in walk_shown(element, kinds=SHAPES):
            text = read_label(shape)
            if not text or shape is element:
                continue
            try:
                outline = trace_points(read_trace(shape, drawing.page))
            except PatternError:
                continue
            if float(np.ptp(outline, axis=0).max()) <= _POINT_MM:
                at = (outline.min(axis=0) + outline.max(axis=0)) / 2
                true = _read_true(text)
                points.append(ControlPoint(text, tuple(map(float, at)), true.values_mm if true else None,
                                           true.error_mm if true else 0.0))
                shared.append((text, shape))
                if len(shared) > MOST_CONTROLS:
                    raise SelectionError("More than %d labelled points lie in the pieces." % MOST_CONTROLS,
                                         "Take out the labels of those that are not shared.", describe(element))
        reach = measure_reach([element], drawing.page)
        if reach is None:
            raise SelectionError("The piece %s is empty." % describe(element),
                                 "Select groups that hold a scan or its trace.", describe(element))
        pieces.append(ScanPiece(read_label(element) or str(element.get("id")), tuple(points), reach,
                                names.get(element, "map")))
    marked = [s for t, s in shared if not ANY_LABEL.match(t)]
    return Pieces(tuple(pieces), tuple(elements), tuple(marked))
