"""Lower bound for the breadth of a board that two pieces come out of side by side, so that boards are not tried in
vain.

The two are laid against each other at a grid of turns and shifts, and each such pair is measured along and across a
board at all turns of the whole. The coarse grids lose some mm, which are allowed for: a board found too narrow here
really is.
"""
from __future__ import annotations

import numpy as np

from ..geometry.envelope import measure_rise_mm

__all__ = ["PairWidths"]

_STEP_DEG = 0.5
_AGAINST_DEG = 6.0        # greatest turn of one piece against the other
_SHIFTS = 19


class PairWidths:
    """Least breadth of a board for two pieces, as a function of its length.

    Parameters
    ----------
    first, second : Outline
    settings : StockSettings
    """

    def __init__(self, first, second, settings):
        self._lengths, self._widths = _measure(first, second, settings)
        longer = max(np.ptp(first.points[:, 0]), np.ptp(second.points[:, 0]))
        shorter = min(np.ptp(first.points[:, 0]), np.ptp(second.points[:, 0]))
        self._end_to_end_mm = 0.97 * (longer + shorter)
        self._lost_mm = 4.0 + 0.5 * (longer + shorter) * np.radians(_STEP_DEG / 2)

    def find_least_mm(self, length_mm: float) -> float:
        """Lower bound for the breadth of a board of this length for the two; 0 where they may lie end to end."""
        if length_mm >= self._end_to_end_mm:
            return 0.0
        at = np.searchsorted(self._lengths, length_mm + 30.0, side="right")
        return float(self._widths[at - 1]) - self._lost_mm if at else np.inf


def _measure_support(hull, turns):
    """Extents of a hull at turns: least and greatest x and y, (4, k)."""
    a = np.radians(turns)
    x = np.outer(hull[:, 0], np.cos(a)) - np.outer(hull[:, 1], np.sin(a))
    y = np.outer(hull[:, 0], np.sin(a)) + np.outer(hull[:, 1], np.cos(a))
    return np.stack([x.min(axis=0), x.max(axis=0), y.min(axis=0), y.max(axis=0)])


def _measure(first, second, settings):
    """Rising lengths, and for each the least breadth of the two together within that length."""
    most = int(np.ceil(settings.most_turn_deg / _STEP_DEG))
    against = int(min(round(_AGAINST_DEG / _STEP_DEG), 2 * most))
    whole = np.arange(-most, most + 1) * _STEP_DEG
    c, s = np.cos(np.radians(whole)), np.sin(np.radians(whole))
    one = _measure_support(first.hull, whole)
    reach = 0.5 * (np.ptp(first.points[:, 0]) + np.ptp(second.points[:, 0]))
    shifts = np.linspace(-0.9 * reach, 0.9 * reach, _SHIFTS)
    seen = first.see(0.0, False)
    long, wide = [], []
    for over in ((False, True) if settings.turn_over else (False,)):
        hull = second.hull * (1.0, -1.0) if over else second.hull
        for end in (0.0, 180.0):
            two = _measure_support(hull, end + np.arange(-most - against, most + against + 1) * _STEP_DEG)
            for k in range(-against, against + 1):
                other = second.see(end + k * _STEP_DEG, over)
                support = two[:, against + k:against + k + len(whole)]
                below = measure_rise_mm(seen.bottom, other.top, shifts) + settings.kerf_mm
                above = -measure_rise_mm(other.bottom, seen.top, -shifts) - settings.kerf_mm
                for y in (below, above):
                    dx, dy = np.outer(shifts, c) - np.outer(y, s), np.outer(shifts, s) + np.outer(y, c)
                    long.append(np.maximum(one[1], support[1] + dx) - np.minimum(one[0], support[0] + dx))
                    wide.append(np.maximum(one[3], support[3] + dy) - np.minimum(one[2], support[2] + dy))
    lengths, widths = np.concatenate([v.ravel() for v in long]), np.concatenate([v.ravel() for v in wide])
    sound = np.isfinite(lengths) & np.isfinite(widths)
    order = np.argsort(lengths[sound])
    return lengths[sound][order], np.minimum.accumulate(widths[sound][order])
