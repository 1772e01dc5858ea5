"""Joints and fastenings read back from their layers."""
from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

import numpy as np

from ...actions import FASTENINGS, JOINTS
from ...errors import PatternError, SelectionError
from ...geometry import arrays
from ...geometry.bezier import flatten_cubics
from ...geometry.polyline import measure_distance_mm
from ...model.joints_and_fastenings import (
    BareStretch,
    BlockPlace,
    Fastening,
    FasteningLayout,
    FasteningList,
    FasteningSize,
    JointRecord,
    Part,
    PlacedJoint,
)
from .. import names
from ..overlay import read_overlay, write_overlay
from ..pathdata import cut_pieces
from .lines import read_stations

if TYPE_CHECKING:
    from typing import Sequence

    from ...model.drawing import Overlay, Station
    from ..drawing import Drawing
    from ..names import Element
    from ..write import LayerWriter

__all__ = [
    "read_blocks",
    "read_drawn_joints",
    "read_ends",
    "read_fastenings",
    "read_joints",
    "spell_list",
    "write_fastenings",
    "write_joints",
]

# farthest that a drawn frame line's middle may lie from its station's: a station struck square to the run may have
# moved a little
_FRAME_LINE_MM = 5.0
_LABEL = re.compile(r"^\s*(?:(port|starboard)\s+)?strake\s+(\S+)\s+(butt|scarf)\b[\s:,]*(.*)$", re.IGNORECASE)


def write_joints(drawing: Drawing, group: Element, overlay: Overlay, **values: int | str) -> LayerWriter:
    """Write the overlay of Scarfs and Butts as the plank's layer `joints`; values become attributes of the layer.

    Lines of role `joint` lie across the plank at a joint's middle and carry joint, kind, bay, distance_mm, length_mm,
    slope, thickness_mm, feather;
    those of role `part` are closed and carry part, pieces (cubics in each curve), from_mm, to_mm, and shift_mm, how far
    (x y) the outline was moved from its place in the plank.
    """
    return write_overlay(drawing, group, overlay, layer=JOINTS.layer, label=JOINTS.label, **values)


def read_joints(drawing: Drawing, group: Element) -> tuple[tuple[PlacedJoint, ...], tuple[Part, ...]]:
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
                joints.append(PlacedJoint(told["joint"], told["kind"], bay=told["bay"],
                                          distance_mm=float(told["distance_mm"]),
                                          length_mm=float(told["length_mm"]), slope=float(told["slope"]),
                                          line=np.stack([line.cubics[0, 0], line.cubics[-1, 3]]),
                                          thickness_mm=float(told["thickness_mm"]), feather=told.get("feather", "")))
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


def read_drawn_joints(drawing: Drawing, *, side: str, stations: Sequence[Station] = ()) -> list[JointRecord]:
    """Selected lines on the page that are labelled with a strake and a kind, as JointRecords; the plank may be selected
    with them.

    A label is 'strake 6 butt', 'port strake 6 scarf', and what follows is a note. Without a side it is that of the
    plank. A frame line that a station was struck from is skipped: it is often still selected after Frame Stations.

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
                                                        tolerance_mm=arrays.FLATTEN_MM))[0]) <= _FRAME_LINE_MM
               for cubics, _ in trace.runs)


_LIST = ("use", "words", "count", "spares", "table", "metal")
# a larger difference means that something was moved: written numbers are exact to seven decimals, the editor rounds
# more coarsely
_MOVED_MM = 0.01


def _list_ground(drawing, group):
    """The frames and joints that fastenings are laid out on: (kind, label, place along the plank in mm) of each."""
    joints, _ = read_joints(drawing, group)
    return [("frame", s.label, s.distance_mm) for s in read_stations(drawing, group)] + [
        (j.kind, j.label, j.distance_mm) for j in joints]


def read_blocks(drawing: Drawing, group: Element) -> tuple[BlockPlace, ...]:
    """BlockPlaces drawn by Scarfs and Butts since the last fairing, also those at the plank's own ends; none where
    there is no such layer."""
    overlay, found = read_overlay(drawing, group, layer=JOINTS.layer, action=JOINTS.title), []
    for line in overlay.lines if overlay else ():
        told = dict(line.values)
        if line.role == "block" and "length_mm" in told:
            middle = line.cubics[:, 0].mean(axis=0)
            found.append(BlockPlace((float(middle[0]), float(middle[1])), float(told["length_mm"]),
                                    float(told["thickness_mm"])))
    return tuple(found)


def read_ends(drawing: Drawing, group: Element) -> dict[str, str]:
    """How the plank's ends were set in Scarfs and Butts: {'fore', 'aft'} to 'butt' or 'hood', or 'none' where nothing
    was set, or a scarf."""
    layer = drawing.find_fresh_layer(group, layer=JOINTS.layer, action=JOINTS.title)
    told = {end: names.get(layer, end + "-end") if layer is not None else "" for end in ("fore", "aft")}
    return {end: what if what in ("butt", "hood") else "none" for end, what in told.items()}


def write_fastenings(drawing: Drawing, group: Element, layout: FasteningLayout) -> LayerWriter:
    """Write a FasteningLayout in place of the plank's layer `fastenings`.

    The layer's attributes hold its numbers, what it was laid out on (ground-1-kind, ground-1-label, ground-1-along-mm
    and so on), and the lines of the buying list (list-1-use, -words, -count, -spares, -table, -metal). Each line of
    role `fastening` is a cross with a circle of the plug's or, without a plug, the shank's true size.
    """
    lists = {"list_%d_%s" % (k, name): getattr(one, name) for k, one in enumerate(layout.lists, 1) for name in _LIST}
    ground = {"ground_%d_%s" % (k, name): value for k, row in enumerate(_list_ground(drawing, group), 1)
              for name, value in zip(("kind", "label", "along_mm"), row)}
    return write_overlay(drawing, group, layout.overlay, layer=FASTENINGS.layer, label=FASTENINGS.label,
                         **layout.values, **ground, **lists)


def read_fastenings(drawing: Drawing, group: Element) -> FasteningLayout | None:
    """The fastenings laid out since the last fairing, or None where there is no such layer.

    Returns
    -------
    FasteningLayout
        Its overlay without findings, its values as text.

    Raises
    ------
    PatternError
        If the layer was changed since it was made, the plank was faired again, or its frames or joints have changed
        since.
    """
    overlay = read_overlay(drawing, group, layer=FASTENINGS.layer, action=FASTENINGS.title)
    if overlay is None:
        return None
    layer = names.find_layer(group, FASTENINGS.layer)
    values = names.list_values(layer)
    _refuse_if_outdated(drawing, group, values)
    try:
        fastenings, lists, bare = [], [], []
        for line in overlay.lines:
            told = dict(line.values)
            if line.role == "fastening":
                centre = (line.cubics[-1, 0] + line.cubics[-1, 3]) / 2
                fastenings.append(Fastening((float(centre[0]), float(centre[1])), told["kind"], station=told["station"],
                                            along_mm=float(told["along_mm"]), edge_mm=float(told["edge_mm"]),
                                            end_mm=float(told["clear_end_mm"]),
                                            through=told["through"] == "yes"))
            elif line.role == "bare":
                ends = tuple((float(x), float(y)) for x, y in (line.cubics[0, 0], line.cubics[-1, 3]))
                bare.append(BareStretch(told["kind"], told["station"], side=told.get("side", ""),
                                        from_mm=float(told["from_mm"]),
                                        to_mm=float(told["to_mm"]), wanted=int(told["wanted"]),
                                        count=int(told["fastened"]), ends_mm=ends))
        while "list_%d_use" % (len(lists) + 1) in values:
            told = {name: values["list_%d_%s" % (len(lists) + 1, name)] for name in _LIST}
            lists.append(FasteningList(**dict(told, count=int(told["count"]), spares=int(told["spares"]))))
        size = FasteningSize("", values["size"], diameter_mm=float(values["diameter_mm"]),
                             length_mm=float(values["length_mm"]), plug_mm=float(values["plug_mm"]),
                             depth_mm=float(values["plug_depth_mm"]), lead_mm=float(values["lead_mm"]),
                             plug_words="", table=values["table"])
        if len(fastenings) != int(values["count"]):
            raise ValueError
    except (KeyError, ValueError):
        raise PatternError("The layer %s has been changed since it was made." % FASTENINGS.label, FASTENINGS.again,
                           FASTENINGS.label) from None
    return FasteningLayout(tuple(fastenings), size, lists=tuple(lists), overlay=overlay, values=values,
                           bare=tuple(bare))


def _refuse_if_outdated(drawing, group, values):
    found = _list_ground(drawing, group)
    same = "ground_%d_kind" % (len(found) + 1) not in values
    for number, (kind, label, along) in enumerate(found, 1):
        was, called, place = (values.get("ground_%d_%s" % (number, name)) for name in ("kind", "label", "along_mm"))
        try:
            same = same and (was, called) == (kind, label) and abs(float(place) - along) <= _MOVED_MM
        except (TypeError, ValueError):
            same = False
    if not same:
        raise PatternError("The frames or the joints are others than when the fastenings were laid out.",
                           FASTENINGS.again, FASTENINGS.label)


def spell_list(lists: Sequence[FasteningList]) -> bytes:
    """The buying list as CSV, bytes in UTF-8, a line to each size."""
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow(["use", "what", "metal", "driven", "spare", "buy", "table"])
    for one in lists:
        out.writerow([one.use, one.words, one.metal, one.count, one.spares, one.total, one.table])
    return text.getvalue().encode("utf-8")
