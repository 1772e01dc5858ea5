"""The lines, lettering and doubts on a plank, turned with it. Words stay unchanged, since statements on joints, edges
and faces are true however the board lies; only the words on which way the bow lies are replaced."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..paper.setting import FORWARD, tell_forward
from .places import measure_text

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Array, ArrayLike, Matrix
    from ..model.drawing import Overlay
    from ..model.plank import Plank
    from ..model.turn import Turn

__all__ = ["carry", "carry_findings", "carry_place", "turn_overlay"]

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
