"""Frames that lie in a scarf's feathers, so that they lack room for their fastenings, and where in its bay a scarf
avoids this. A part of joints."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..trade.butt_rules import USUAL_FRAME_EDGE_MM, USUAL_SIDED_MM, guess_head_mm, list_bare_spans
from .facts import remark
from .scarfs import find_joint_line
from .words import say_bare_frames

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..geometry.arrays import Points
    from ..model.drawing import SheetLine, Station
    from ..model.joint import Joint, PlacedJoint, SideFrames
    from ..model.plank import Plank

__all__ = ["find_bare_frames", "note_bare", "shift_clear", "tell_bare_frames"]

_TRY_MM = 0.5


def find_bare_frames(plank: Plank, stations: Sequence[Station], line: Points, *, length_mm: float,
                     siding_mm: float) -> tuple[str, ...]:
    """Labels of the frames that lose room for fastenings to a scarf's feathers.

    Parameters
    ----------
    line : ndarray, shape (2, 2), mm
        The scarf's middle across the plank.
    length_mm : float
        Of the scarf, along the plank.
    siding_mm : float
        Breadth of the frames; 0 takes USUAL_SIDED_MM.
    """
    spans = list_bare_spans(length_mm, head_mm=guess_head_mm(plank.thickness_mm))
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    aft = np.array([way[1], -way[0]])
    aft = aft if aft @ plank.find_axes()[1] > 0 else -aft
    half = (siding_mm or USUAL_SIDED_MM) / 2 - USUAL_FRAME_EDGE_MM
    found = []
    for station in stations:
        at = (station.line - line.mean(axis=0)) @ aft
        low, high = at.min() - max(half, 0.0), at.max() + max(half, 0.0)
        if any(low < end and high > begin for begin, end in spans):
            found.append(station.label)
    return tuple(found)


def shift_clear(plank: Plank, stations: Sequence[Station], joint: Joint, frames: SideFrames, *, length_mm: float,
                siding_mm: float, square_to: str) -> Joint | None:
    """A scarf shifted within its bay, by as little as is needed, to where every frame keeps its fastenings; None where
    there is no such place."""
    low = int(joint.place)
    first, last = frames.distances_mm[low] + siding_mm / 2 + _TRY_MM, frames.distances_mm[low
                                                                                          + 1] - siding_mm / 2 - _TRY_MM
    places = joint.distance_mm + np.arange(-np.floor((joint.distance_mm - first) / _TRY_MM),
                                           np.floor((last - joint.distance_mm) / _TRY_MM) + 1) * _TRY_MM
    room = length_mm / 2
    places = places[(places >= max(first, room)) & (places <= min(last, plank.measure_length_mm() - room))]
    along, line = plank.find_axes()[1], find_joint_line(plank, joint.distance_mm, square_to=square_to,
                                                        stations=stations)
    told = {"length_mm": length_mm, "siding_mm": siding_mm}
    for place in places[np.argsort(np.abs(places - joint.distance_mm), kind="stable")]:
        # first a quick test, with the lean that it has at the bay's middle
        if not find_bare_frames(plank, stations, line + (place - joint.distance_mm) * along, **told):
            exact = find_joint_line(plank, float(place), square_to=square_to, stations=stations)
            if not find_bare_frames(plank, stations, exact, **told):
                return replace(joint, distance_mm=float(place))
    return None


def tell_bare_frames(placed: Sequence[PlacedJoint], bare: Sequence[Sequence[str]], siding_mm: float) -> list[str]:
    """A Fact for each scarf that has frames in its feathers; bare : the labels of these frames, for each scarf."""
    return [remark("bare-frames", say_bare_frames(joint, labels, siding_mm), verdict="doubt", number=len(labels),
                   unit="frames", about="; ".join(labels)) for joint, labels in zip(placed, bare) if labels]


def note_bare(line: SheetLine, bare: Mapping[str, Sequence[str]]) -> SheetLine:
    """A joint's line with its frames that have no room for their fastenings among its values; bare : {joint: labels}.
    """
    labels = bare.get(dict(line.values).get("joint", "")) if line.role == "joint" else None
    return replace(line, values=(*line.values, ("bare_frames", " ".join(labels)))) if labels else line
