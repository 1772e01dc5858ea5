"""Where a turned plank is laid on the page, and the note above it."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..model.drawing import Overlay, SheetText
from ..model.facts import list_words

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Matrix, Point
    from ..model.turn import PlankLayers, Turn

__all__ = ["find_map", "measure_text", "note_turn", "place_copy"]

_LETTER_MM = 8.0          # height of the note's capitals
_LEAD = 1.85              # line spacing of the note, in capital heights


def find_map(turn: Turn, *, middle_mm: float, down_mm: float) -> Matrix:
    """The map (2, 3) from the plank's places on the page to the new one's: mirrored about the upright line x =
    middle_mm if asked, and shifted down."""
    if turn.mirrored:
        return np.array([[-1.0, 0.0, 2.0 * middle_mm], [0.0, 1.0, down_mm]])
    return np.array([[1.0, 0.0, 0.0], [0.0, 1.0, down_mm]])


def place_copy(layers: PlankLayers, turn: Turn, *, boxes: Sequence[Any], clear_mm: float, facts: Any) -> Matrix:
    """The map that puts the new plank below the old one, clear of everything that belongs to any plank on the page.

    Parameters
    ----------
    layers : PlankLayers
        The plank to be turned.
    turn : Turn
    boxes : sequence of array-like, shape (2, 2), mm
        Bounding box of everything that belongs to each plank; that of the plank to be turned comes first.
    clear_mm : float
        Small keeps them together; large leaves room for what later actions write.
    facts : sequence of Fact
        The note to be lettered above the new plank, for which room is kept.

    Returns
    -------
    ndarray, shape (2, 3)
    """
    shape = np.concatenate([c.cubics.reshape(-1, 2) for c in layers.plank.outline()])
    middle = float(shape[:, 0].min() + shape[:, 0].max()) / 2
    rows = list_words(facts)
    head = _measure_note_mm(rows)
    at_place = find_map(turn, middle_mm=middle, down_mm=0.0)
    points = _list_places(layers) @ at_place[:, :2].T + at_place[:, 2]
    low, high = points.min(axis=0), points.max(axis=0)
    right = max([high[0]] + [low[0] + text_width_mm(r, height_mm=_LETTER_MM) for r in rows])
    boxes = [np.asarray(b, float) for b in boxes]
    top = boxes[0][1, 1] + clear_mm                       # the top of the note
    tall = head + high[1] - low[1]
    # other planks may lie below already: go on down until there is room
    for box in sorted(boxes[1:], key=lambda b: b[0, 1]):
        beside = box[0, 0] > right + clear_mm or box[1, 0] < low[0] - clear_mm
        if not beside and box[1, 1] > top - clear_mm and box[0, 1] < top + tall + clear_mm:
            top = box[1, 1] + clear_mm
    return find_map(turn, middle_mm=middle, down_mm=float(top + head - low[1]))


def _measure_note_mm(rows):
    """Height of the note and the gap between it and the plank, mm."""
    return (len(rows) * _LEAD + 1.0) * _LETTER_MM if rows else 0.0


def _list_places(layers):
    """Control points and ends of everything carried, (n, 2): nothing drawn is higher than these."""
    found = [c.cubics.reshape(-1, 2) for c in layers.plank.outline()] + [s.line for s in layers.stations]
    found += [c.tips for c in layers.combs]
    found += [c.cubics.reshape(-1, 2) for c in layers.saw.curves] if layers.saw else []
    corner = layers.plank.find_corners()
    left, top = (min(float(p[k]) for p in corner.values()) for k in (0, 1))
    # words of doubts are above their ring; those without a place are above the plank, each layer's higher than the last
    # one's
    doubts = [(layers.plank.findings, 40.0), (layers.station_findings, 0.0),
              (layers.saw.findings if layers.saw else (), 70.0)]
    for findings, first_mm in doubts + [(o.findings, 90.0) for o in layers.overlays.values()]:
        loose = sum(f.where is None for f in findings)
        found += [np.array([[left, top - first_mm - 9.0 * loose]])] if loose else []
        found += [np.array([f.where]) - (0.0, 20.0) for f in findings if f.where is not None]
    for overlay in layers.overlays.values():
        found += [np.asarray(line.cubics).reshape(-1, 2) for line in overlay.lines]
        found += [_find_block(text) for text in overlay.texts]
    return np.vstack(found)


def _find_block(text):
    """Corners of the box round a line of lettering, (4, 2) mm: both ends of its baseline, and the tops above them."""
    wide, start, _, way = measure_text(text)
    up = np.array([way[1], -way[0]]) * text.height_mm
    return np.stack([start, start + way * wide, start + up, start + way * wide + up])


def measure_text(text: SheetText) -> tuple[float, Point, Point, Point]:
    """For a line of lettering: (width in mm, start (2,) mm, end (2,) mm, direction (2,))."""
    angle = np.radians(text.angle_deg)
    way = np.array([np.cos(angle), np.sin(angle)])
    wide = text_width_mm(text.text, height_mm=text.height_mm)
    start = np.asarray(text.at_mm, float) - way * wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    return wide, start, start + way * wide, way


def note_turn(layers: PlankLayers, facts: Any) -> tuple[Overlay, tuple[SheetText, ...]]:
    """The facts for the sheet, and their lettering above the new plank.

    Parameters
    ----------
    layers : PlankLayers
        The new plank's.
    facts : sequence of Fact

    Returns
    -------
    Overlay
        Holds only the facts: the sheet has its own place for their words.
    texts : tuple of SheetText
        Their words, for the drawing.
    """
    rows = list_words(facts)
    points = _list_places(layers)
    left, top = (float(v) for v in points.min(axis=0))
    head = _measure_note_mm(rows)
    texts = tuple(SheetText(row, (left, top - head + (_LEAD * k + 1.0) * _LETTER_MM), _LETTER_MM, role="label",
                            style="note") for k, row in enumerate(rows))
    return Overlay(facts=tuple(facts)), texts
