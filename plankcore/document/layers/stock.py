"""Planks, or the parts of scarfed planks, read as pieces to be got out of boards; and the Stock layer."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...actions import ALLOWANCE, JOINTS, STOCK
from ...errors import PatternError
from ...geometry.curve import cross_curves, make_line
from ...geometry.polyline import measure_arc_mm
from ...model.drawing import Overlay
from ...model.stock import PlankPiece
from ..overlay import write_overlay
from .joints import read_fastenings, read_joints
from .lines import read_saw_line
from .sections import read_struck

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ...model.stock import StockPlan
    from ..drawing import Drawing
    from ..names import Element

__all__ = ["read_pieces", "write_stock"]

_RUN_POINTS = 121
_JOINT_STEP_MM = 10.0     # spacing of the places along a joint that knots are kept clear of


def read_pieces(drawing: Drawing, groups: Sequence[Element], *, use_parts: bool = True) -> list[PlankPiece]:
    """PlankPieces of planks as they are struck on the board, in order: a scarfed plank's parts, if it has been divided
    and parts are wanted, else the whole plank.

    Raises
    ------
    PatternError
        If a plank or one of its layers was changed since it was made.
    """
    found, taken = [], set()
    for group in groups:
        plank, stations, board = read_struck(drawing, group)
        label = " ".join(p for p in ("strake %s" % plank.strake if plank.strake else plank.name or "plank",
                                     plank.side) if p)
        label = "%s (%s)" % (label, group.get("id")) if label in taken else label
        taken.add(label)
        found += _read_plank_pieces(drawing, group, plank=plank, stations=stations, board=board, label=label,
                                    use_parts=use_parts)
    return found


def _find_run(plank):
    """Midway between the long edges, (n, 2), from the fore end."""
    sides = []
    for name in ("upper", "lower"):
        points = plank.edges[name].curve.flatten(tolerance_mm=0.02)
        arc = measure_arc_mm(points)
        even = np.linspace(0.0, arc[-1], _RUN_POINTS)
        sides.append(np.stack([np.interp(even, arc, points[:, k]) for k in (0, 1)], axis=1))
    return (sides[0] + sides[1]) / 2


def _read_plank_pieces(drawing, group, *, plank, stations, board, label, use_parts):
    saw, fastened = read_saw_line(drawing, group), read_fastenings(drawing, group)
    joints, parts = read_joints(drawing, group)
    run = _find_run(plank)
    start, along = plank.find_axes()[:2]
    near = [np.array(f.at_mm) for f in fastened.fastenings] if fastened else []
    for joint in joints:
        count = max(int(np.hypot(*(joint.line[1] - joint.line[0])) / _JOINT_STEP_MM), 1)
        near += list(joint.line[0] + np.linspace(0.0, 1.0, count + 1)[:, None] * (joint.line[1] - joint.line[0]))
    clear = np.array(near).reshape(-1, 2)
    whole = {"includes": "saw line" if saw else "net outline",
                 "stock_mm": board.stock_mm if board else plank.thickness_mm, "finished_mm": plank.thickness_mm,
                 "face_up": plank.seen_from, "forward": plank.forward, "key": group.get("id") or ""}
    told = [(s.label, s.line) for s in stations]
    if not (use_parts and len(parts) > 1):
        return [PlankPiece(label, tuple(saw.curves if saw else plank.outline()), run,
                           net=tuple(plank.outline()) if saw else (), stations=tuple(told),
                           joints=tuple((j.label, j.line) for j in joints), keep_clear=clear, **whole)]
    pieces = []
    for part in parts:
        first, last = part.from_mm - 1e-6, part.to_mm + 1e-6

        def within(points):
            place = (np.asarray(points) - start) @ along
            return (place >= first) & (place <= last)
        here = run[within(run)]
        curves = _cut_saw(saw.curves, part, len(parts), label) if saw else part.curves
        inside = within(clear)
        pieces.append(PlankPiece("%s part %d" % (label, part.number), tuple(curves), here if len(here) > 2 else run,
                                 net=tuple(part.curves) if saw else (),
                                 stations=tuple((name, line) for name, line in told if within(line.mean(axis=0))),
                                 joints=tuple((j.label, j.line) for j in joints if within(j.line.mean(axis=0))),
                                 keep_clear=clear[inside], part=part.number, **whole))
    return pieces


def _cut_saw(curves, part, count, label):
    """The saw line of one part: that of the plank, cut across where the part ends within the plank."""
    upper, aft, lower, fore = curves
    if part.number < count:
        end = part.curves[1]
        u, v, across = _cross(upper, lower, top=end.start, foot=end.end, label=label)
        upper, lower, aft = upper.trim(0.0, u), lower.trim(v, float(len(lower.cubics))), across
    if part.number > 1:
        end = part.curves[3]
        # the aft end is cut first: places on the upper curve, counted from its fore end, stay valid
        u, v, across = _cross(upper, lower, top=end.end, foot=end.start, label=label)
        upper, lower, fore = upper.trim(u, float(len(upper.cubics))), lower.trim(0.0, v), across.reverse()
    return upper, aft, lower, fore


def _cross(upper, lower, top, foot, label):
    """Where the line from top to foot, extended, crosses both curves, and the part of it between them."""
    way = (foot - top) / np.hypot(*(foot - top))
    line = make_line(top - 350.0 * way, foot + 350.0 * way)
    first, last = (min(cross_curves(curve, line), key=lambda h: float(np.hypot(*(h[2] - near))), default=None)
                   for curve, near in ((upper, top), (lower, foot)))
    if first is None or last is None:
        raise PatternError("The saw line of %s does not cross the end of a part." % label,
                           "Run %s and %s again." % (ALLOWANCE.title, JOINTS.title), tuple(map(float, top)))
    return first[0], last[0], make_line(first[2], last[2])


def write_stock(drawing: Drawing, groups: Sequence[Element], pieces: Sequence[PlankPiece], plan: StockPlan) -> None:
    """Write each plank's Stock layer: facts and doubts of its pieces; of a plank in one piece also how it lies on its
    board.
    """
    for group in groups:
        own = [p for p in pieces if p.key == (group.get("id") or "")]
        facts = [fact for p in own for fact in plan.facts[p.label]]
        findings = [f for p in own for f in plan.findings[p.label]]
        places = {p.piece: p for p in plan.placements}
        boards = [places[p.label].board for p in own if p.label in places]
        values: dict[str, Any] = {"board_%d" % k: one for k, one in enumerate(dict.fromkeys(boards), 1)}
        if len(own) == 1 and boards:
            place, need = places[own[0].label], plan.needs[own[0].label]
            values.update(turn_deg=place.turn_deg, runout_deg=place.runout_deg, spare_mm=place.spare_mm,
                          turned_over="yes" if place.turned_over else "no", least_width_mm=need.width_mm)
        write_overlay(drawing, group, Overlay((), (), tuple(facts), tuple(findings)), layer=STOCK.layer,
                      label=STOCK.label, placed=len(boards), pieces=len(own), **values)
