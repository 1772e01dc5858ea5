"""The lines to cut for a plank's parts: the plank's own saw line as far as each part reaches, drawn where the part is.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.parting import part_closed
from ..geometry.polyline import measure_distance_mm
from ..geometry.strokes import flatten_strokes
from ..model.drawing import SheetLine

if TYPE_CHECKING:
    from ..model.drawing import Overlay
    from ..model.page import PlankMatter

__all__ = ["cut_parts"]

_OWN_MM = 0.5             # an end of a part within this distance of the plank's outline is the plank's own end
_FAR_MM = 1e6


def cut_parts(matter: PlankMatter) -> PlankMatter:
    """A PlankMatter with a line to cut added for each part that is drawn clear of the plank.

    At a joint a part is cut along the joint's own line, square through and without allowance; everywhere else along the
    plank's saw line. Without a saw line the part's net outline is cut.
    """
    return replace(matter, overlays=tuple(_add_cuts(one, matter) for one in matter.overlays))


def _add_cuts(overlay: Overlay, matter: PlankMatter) -> Overlay:
    parts = [one for one in overlay.lines if one.role == "part" and np.any(_read_shift(one))]
    if not parts:
        return overlay
    saw = None if matter.saw is None else np.concatenate([c.cubics for c in matter.saw.curves])
    net = flatten_strokes(np.concatenate([c.cubics for c in matter.plank.outline()]), tolerance_mm=0.05)[0]
    return replace(overlay, lines=(*overlay.lines, *(_cut(one, saw, net) for one in parts)))


def _read_shift(line):
    return np.array([float(v) for v in str(dict(line.values).get("shift_mm", "0 0")).split()])


def _cut(part, saw, net):
    """The SheetLine to cut of a part's outline."""
    values, shift = dict(part.values), _read_shift(part)
    kept = tuple((key, values[key]) for key in ("part", "shift_mm"))
    place = np.asarray(part.cubics, float) - shift
    cubics = place if saw is None else saw
    counts = [int(v) for v in str(values["pieces"]).split()]
    curves = np.split(place, np.cumsum(counts)[:-1])
    middle = place[:, 0].mean(axis=0)
    for end in curves if saw is not None else ():
        points = flatten_strokes(end, tolerance_mm=0.05)[0]
        # this side is the plank's own edge or end: the saw line bounds the part there
        if measure_distance_mm((points[:1] + points[-1:]) / 2 if len(points) == 2 else points, net).max() < _OWN_MM:
            continue
        cubics = _trim(cubics, points, middle)
    return SheetLine(cubics + shift, "cut", role="part-saw", style="saw", closed=True, values=kept)


def _trim(cubics, end, middle):
    """The part of a closed curve on a part's own side of a straight cut along its end at a joint; if the end is not
    straight the cut goes through its outermost place."""
    way = (end[-1] - end[0]) / np.hypot(*(end[-1] - end[0]))
    turn = np.array([[way[1], -way[0]], [way[0], way[1]]])              # turns the end's direction to y
    at, inside = (end @ turn.T)[:, 0], float((turn @ middle)[0])
    ends = (float(at.min()), _FAR_MM) if inside > at.mean() else (-_FAR_MM, float(at.max()))
    some = part_closed(cubics @ turn.T, low=ends[0], high=ends[1])
    return max(some, key=lambda one: float(np.ptp(one.reshape(-1, 2), axis=0).max())) @ turn
