"""What lies on a plank, turned with it: lines, lettering and doubts; where the turned plank is laid on the page, and
the note above it.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..model.drawing import Overlay, SheetText, list_words
from ..paper.blocks import FORWARD, tell_forward

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Array, ArrayLike, Matrix, Point
    from ..model.drawing import PlankLayers, Turn
    from ..model.plank import Plank

__all__ = [
    "carry",
    "carry_findings",
    "carry_place",
    "find_map",
    "measure_text",
    "note_turn",
    "place_copy",
    "turn_overlay",
]

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


_WAYS = ("shift_mm",)     # values of a line that are a direction (x y) on the page
# lines on one face have another look where that face lies down: exchanged by turning over
_HIDDEN = {"slope": {"joint": "joint-hidden", "joint-hidden": "joint"}}
_AWAY_MM = 10.0           # ruled lines this far beside the plank belong to a table


def carry(matrix: Matrix, points: ArrayLike) -> Array:
    """Points (..., 2) under an affine map (2, 3)."""
    return np.asarray(points, float) @ matrix[:, :2].T + matrix[:, 2]


def carry_place(matrix: Matrix, place: Sequence[float]) -> tuple[float, ...]:
    """A place (x, y) under an affine map."""
    return tuple(float(v) for v in carry(matrix, place))


def carry_findings(findings: Any, matrix: Any) -> Any:
    """Findings carried along a map."""
    return tuple(f if f.where is None else replace(f, where=carry_place(matrix, f.where)) for f in findings)


def turn_overlay(overlay: Overlay, turn: Turn, matrix: Matrix, *, plank: Plank) -> Overlay:
    """An Overlay carried along a map.

    Facts stay as they are, since none depends on left and right. Lettering stays readable, in the place of its mirror
    image. A ruled table beside the plank is moved without mirroring, so that its columns keep their order. Of a line's
    values shift_mm is a direction (x y) on the page, and is turned too; all others are lengths, names and numbers
    without left or right.

    Parameters
    ----------
    overlay : Overlay
    turn : Turn
    matrix : ndarray, shape (2, 3)
        From find_map.
    plank : Plank
        The one that is turned, where it lies.
    """
    across = np.concatenate([c.cubics[..., 0].ravel() for c in plank.outline()])
    low, high = float(across.min()), float(across.max())
    middle = (low + high) / 2
    aside = np.array([[1.0, 0.0, float(carry(matrix, (middle, 0.0))[0]) - middle], [0.0, 1.0, matrix[1, 2]]])
    table = _find_table(overlay, low - _AWAY_MM, high + _AWAY_MM)
    lines = tuple(_turn_line(line, turn, aside if _stands_in(line.cubics, table) else matrix) for line in overlay.lines)
    texts = tuple(_turn_text(t, turn, aside if _stands_in(np.stack(measure_text(t)[1:3]), table) else matrix)
                  for t in overlay.texts)
    return replace(overlay, lines=lines, texts=texts, findings=carry_findings(overlay.findings, matrix))


def _find_table(overlay, low, high):
    """Least and greatest x of ruled lines beside the plank, or None."""
    ruled = [line.cubics[..., 0] for line in overlay.lines if line.role == "rule"
             and (line.cubics[..., 0].min() > high or line.cubics[..., 0].max() < low)]
    return (min(float(x.min()) for x in ruled), max(float(x.max()) for x in ruled)) if ruled else None


def _stands_in(points, table):
    # a title may be longer than the rules below it, but begins at the same x
    x = np.asarray(points)[..., 0]
    return table is not None and table[0] - 1.0 <= x.min() <= table[1] + 1.0


def _turn_line(line, turn, matrix):
    looks = _HIDDEN.get(line.role, {}) if turn.face_changes else {}
    return replace(line, cubics=carry(matrix, line.cubics), style=looks.get(line.style, line.style),
                   values=tuple((n, _turn_value(n, v, matrix)) for n, v in line.values))


def _turn_value(name, value, matrix):
    if name not in _WAYS:
        return value
    x, y = matrix[:, :2] @ [float(v) for v in value.split()]
    return "%.7f %.7f" % (x + 0.0, y + 0.0)


def _turn_text(text, turn, matrix):
    text = replace(text, text=tell_forward(turn.forward)) if text.role == FORWARD else text
    _, start, end, way = measure_text(text)
    first, last, run = carry(matrix, start), carry(matrix, end), matrix[:, :2] @ way
    if np.linalg.det(matrix[:, :2]) < 0:
        # a mirrored text can run either way: choose the direction nearer to the one before
        if run @ way < 1e-9:
            first, last, run = last, first, -run
        else:
            up = matrix[:, :2] @ [way[1], -way[0]] * text.height_mm
            first, last = first + up, last + up
    at = {"start": first, "middle": (first + last) / 2, "end": last}[text.anchor]
    return replace(text, at_mm=(float(at[0]), float(at[1])),
                   angle_deg=float(np.degrees(np.arctan2(run[1], run[0]))))
