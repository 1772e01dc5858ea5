"""What of a scarf holds no fastening: its feathers; common practice throughout, no source."""
from __future__ import annotations

from .fastening_tables import PUTTIED_BELOW_MM, find_screw

__all__ = ["FEATHER_SHARE", "USUAL_FRAME_EDGE_MM", "USUAL_SIDED_MM", "guess_head_mm", "list_bare_spans"]

FEATHER_SHARE = 1 / 3
"""Of a scarf's length, at each tip, where one of its two halves is under a third of the thickness."""
USUAL_SIDED_MM, USUAL_FRAME_EDGE_MM = 45.0, 10.0
"""Breadth of a frame where none is told, and what a fastening keeps from its sides."""


def list_bare_spans(length_mm: float, *, head_mm: float, whole: bool = False) -> tuple[tuple[float, float], ...]:
    """Stretches along the plank, from the scarf's middle aft, where no fastening's middle may stand: ((from_mm, to_mm),
    ...).

    head_mm : half the breadth of a plug or head, which stays off the tips too. whole : all of the scarf is kept clear.

    Examples
    --------
    >>> list_bare_spans(300.0, head_mm=5.0)
    ((-155.0, -50.0), (50.0, 155.0))
    """
    half, feather = length_mm / 2, length_mm * FEATHER_SHARE
    if whole:
        return ((-half - head_mm, half + head_mm),)
    return ((-half - head_mm, -half + feather), (half - feather, half + head_mm))


def guess_head_mm(thickness_mm: float) -> float:
    """Half the plug's breadth, or without a plug the shank's, that a plank of this thickness usually takes: the screw
    table of Herreshoff and Nevins within its rows.
    """
    inches = min(max(thickness_mm / 25.4, 0.375), 2.0)
    row, _ = find_screw(inches * 25.4)
    return (row.plugs_in[0] if thickness_mm >= PUTTIED_BELOW_MM else row.shank_in) * 25.4 / 2
