"""The layer of scarfs and butts: an Overlay, with the joints and the parts in it to be read back by later actions."""
from __future__ import annotations

import re

import numpy as np

from ...actions import JOINTS
from ...errors import PatternError, SelectionError
from ...geometry import tolerance
from ...geometry.bezier import flatten_cubics
from ...geometry.polyline import measure_distance_mm
from ...model.joint import JointRecord, Part, PlacedJoint
from .. import names
from ..overlay import read_overlay, write_overlay
from ..pathdata import cut_pieces

__all__ = ["read_drawn_joints", "read_joints", "write_joints"]

# from the middle of a station, which turned square to the run may lie a little off the drawn line's
_FRAME_LINE_MM = 5.0
_LABEL = re.compile(r"^\s*(?:(port|starboard)\s+)?strake\s+(\S+)\s+(butt|scarf)\b[\s:,]*(.*)$", re.IGNORECASE)


def write_joints(drawing, group, overlay, **values):
    """Write the overlay of Scarfs and Butts as the plank's layer `joints`; values become attributes of the layer.

    Lines of role `joint` lie across the plank at a joint's middle and carry joint, kind, bay, distance_mm, length_mm,
    slope, thickness_mm, feather;
    those of role `part` are closed and carry part, pieces (cubics in each curve), from_mm, to_mm, and shift_mm, how far
    (x y) the outline was moved from its place in the plank.
    """
    return write_overlay(drawing, group, overlay, layer=JOINTS.layer, label=JOINTS.label, **values)


def read_joints(drawing, group):
    """Joints and parts made since the last fairing, from the fore end aft.

    Returns
    -------
    joints : tuple of PlacedJoint
        None of them where there is no such layer. The plank's own ends are not among them.
    parts : tuple of Part
        Where they lie in the plank, wherever they are drawn.

    Raises
    ------
    PatternError
        If the layer was changed since it was made, or the plank was faired again.
    """
    overlay = read_overlay(drawing, group, layer=JOINTS.layer, action=JOINTS.title)
    if overlay is None:
        return (), ()
    joints, parts = [], []
    try:
        for line in overlay.lines:
            told = dict(line.values)
            if line.role == "joint":
                joints.append(PlacedJoint(told["joint"], told["kind"], told["bay"], float(told["distance_mm"]),
                                          float(told["length_mm"]), float(told["slope"]),
                                          np.stack([line.cubics[0, 0], line.cubics[-1, 3]]),
                                          float(told["thickness_mm"]), told.get("feather", "")))
            elif line.role == "part":
                shift = np.array([float(v) for v in told["shift_mm"].split()])
                if shift.shape != (2,):
                    raise ValueError
                parts.append(Part(int(told["part"]), cut_pieces(line.cubics - shift, told["pieces"]),
                                  float(told["from_mm"]), float(told["to_mm"])))
    except (KeyError, ValueError):
        raise PatternError("The layer %s has been changed since it was made." % JOINTS.label, JOINTS.again,
                           JOINTS.label) from None
    return tuple(sorted(joints, key=lambda j: j.distance_mm)), tuple(sorted(parts, key=lambda p: p.number))


def read_drawn_joints(drawing, *, side, stations=()):
    """Selected lines on the page that are labelled with a strake and a kind, as JointRecords; the plank may be selected
    with them.

    A label is 'strake 6 butt', 'port strake 6 scarf', and what follows is a note. Without a side it is that of the
    plank. A frame line that one of the stations was struck from is passed over: it is still selected after Frame
    Stations.

    Raises
    ------
    SelectionError
        If a selected line has no such label.
    """
    found = []
    for trace in drawing.read_selected_lines():
        label = trace.source.get("{%s}label" % names.INKSCAPE) or ""
        match = _LABEL.match(label)
        if not match and any(_runs_through(trace, s.line.mean(axis=0)) for s in stations):
            continue
        if not match:
            raise SelectionError("%s is selected, but its label does not say which joint it is." % trace.label,
                                 "Label it 'strake 6 butt' or 'strake 6 scarf' (Object > Object Properties), or "
                                 "select the plank alone.", trace.label)
        told, strake, kind, note = match.groups()
        points = np.concatenate([c.reshape(-1, 2) for c, _ in trace.runs])
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        found.append(JointRecord((told or side).lower(), strake, kind.lower(), note=note.strip(),
                                 point=(float(middle[0]), float(middle[1])), where=trace.label))
    return found


def _runs_through(trace, place):
    return any(float(measure_distance_mm(place[None],
                                         flatten_cubics(cubics,
                                                        tolerance_mm=tolerance.FLATTEN_MM))[0]) <= _FRAME_LINE_MM
               for cubics, _ in trace.runs)
