"""Fastenings in butt blocks and at hood ends: rows beside a joint or along an end."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import CURVE_MM
from ..trade.butt_rules import MOST_LAP_MM, size_block
from ..trade.fastening_patterns import count_butt
from . import words
from .groups import choose_clear
from .places import find_row, make_end_path, make_path, measure_aft_mm

if TYPE_CHECKING:
    from ..geometry.arrays import Point
    from ..model.joints_and_fastenings import PlacedJoint
    from .groups import Layout

__all__ = ["find_block_reach", "lay_out_butt", "lay_out_end"]

BLOCK_TIMES = 10.0        # length of a butt block in thicknesses: 8 to 12 is usual
DRAIN_MM = 10.0           # gap between a butt block and a frame, so that water drains. Common practice, no source
DRAWN_MM = 20.0           # a block whose middle is within this distance of a butt belongs to it
BLOCK_END_MM = 12.7       # a fastening keeps this far from the block's end. Common practice, no source


def lay_out_butt(out: Layout, joint: PlacedJoint) -> None:
    """A butt block's fastenings, each side of the joint."""
    middle = joint.line.mean(axis=0)
    places = [(measure_aft_mm(out.ground, joint.line, f.station.line.mean(axis=0)[None])[0], f) for f in out.frames]
    on = next((f for aft, f in places if aft - f.fore_mm < 0 < aft - f.aft_mm), None)
    if on is not None:
        bare = _tell_whole(out, make_path(out.ground, joint.line, 0.0), kind="butt", station=joint.label)
        out.doubt("butt-on-frame", words.tell_butt_on_frame(joint.label, on.station.label, bare), middle)
        return
    reaches = {"aft": min([aft - f.fore_mm for aft, f in places if aft > 0], default=np.inf),
               "fore": min([f.aft_mm - aft for aft, f in places if aft < 0], default=np.inf)}
    for side, reach in reaches.items():
        reach, sign = find_block_reach(out, middle, reach), -1 if side == "aft" else 1
        _lay_out_block(out, reach, lambda inward: make_path(out.ground, joint.line, sign * inward), kind="butt",
                       station=joint.label, way=side, side=words.name_butt_side(side, joint.label), where=middle)


def find_block_reach(out: Layout, at_mm: Point | None, clear_mm: float) -> float:
    """How far from a butt its block reaches, mm, where the next frame's side is clear_mm away; at_mm : the butt's
    middle; None for another plank's butt, whose drawn block is not known."""
    wanted = out.settings.block_mm or size_block(thickness_mm=out.thickness_mm, clear_mm=1e6, drain_mm=0.0,
                                                 lap_mm=MOST_LAP_MM, times=BLOCK_TIMES).length_mm
    drawn = [b.length_mm for b in out.blocks if at_mm is not None
             and np.hypot(*(np.asarray(b.at_mm) - at_mm)) < DRAWN_MM]
    if drawn and not out.settings.block_mm:
        return min(drawn[0] / 2, clear_mm)
    return min(wanted / 2, clear_mm - DRAIN_MM)


def _lay_out_block(out, reach_mm, make, *, kind, station, side, where, way=""):
    """Fastenings in one half of a butt block: two rows square to the plank, used alternately from the upper edge down.
    """
    settings = out.settings
    first, last = settings.end_mm, reach_mm - BLOCK_END_MM
    if last < first:
        bare = _tell_whole(out, make(first), kind=kind, station=station, way=way)
        out.doubt("short-block", words.tell_short_block(side, max(reach_mm, 0.0), first, bare), where)
        return
    second = min(first + max(2 * settings.stagger_mm, 4 * out.size.diameter_mm), last)
    _lay_out_rows(out, [make(first), make(second)], near_mm=first, kind=kind, station=station, way=way, side=side,
                  where=where)


def _tell_whole(out, path, *, kind, station, way=""):
    """Record a line across the plank without any fastening as bare; returns its length in words, or ''."""
    if path is None:
        return ""
    width = path.lower_mm - path.upper_mm
    wanted, _ = count_butt(out.settings.rule, width, own_count=out.settings.butt_count)
    return words.tell_bare(out.tell_bare(path, [], kind=kind, station=station, wanted=wanted,
                                         edge_mm=out.find_edge_mm(width), side=way))


def _lay_out_rows(out, paths, *, near_mm, kind, station, side, where, way=""):
    """Fastenings on two paths alternately, spread evenly between the edge distances, or as evenly as other fastenings
    in the way allow."""
    settings = out.settings
    if None in paths:
        known = next((path for path in paths if path is not None), None)
        bare = _tell_whole(out, known, kind=kind, station=station, way=way)
        out.doubt("no-room", words.tell_no_room_here(side, bare), where)
        return
    width = paths[0].lower_mm - paths[0].upper_mm
    wanted, _ = count_butt(settings.rule, width, own_count=settings.butt_count)
    edge = out.find_edge_mm(width)
    needs = {"upper": edge, "lower": edge, **{end: min(near_mm, settings.end_mm) - CURVE_MM for end in ("fore", "aft")}}
    placed, count = None, wanted
    while count:
        placed, moved = _find_even(out, paths, count, needs), False
        if placed is None:
            placed, moved = choose_clear(out.ground, paths, out.spacing, count=count, needs_mm=needs,
                                         zones=out.zones), True
        if placed is not None:
            break
        count -= 1
    stand = [path.middle_mm + offset - path.upper_mm for path, offset in placed or ()]
    # a path that passes one long edge only has no stretch across the plank that could be bare
    bare = words.tell_bare([] if paths[0] is None else out.tell_bare(
        paths[0], stand, kind=kind, station=station, wanted=wanted, edge_mm=edge, side=way))
    if placed is None:
        out.doubt("no-room", words.tell_no_room_here(side, bare), where)
        return
    if count < wanted:
        out.doubt("too-few", words.tell_few_at_butt(side, count, wanted, bare), where)
    elif moved or bare:
        out.doubt("uneven", words.tell_uneven(side, bare), where)
    out.add([path for path, _ in placed], [offset for _, offset in placed], kind=kind, station=station)


def _find_even(out, paths, count, needs):
    """(path, offset) of fastenings spread evenly, or None where they would clash or have no room."""
    row = find_row(out.ground, [paths[k % 2] for k in range(count)], needs_mm=needs, zones=out.zones)
    if row is None:
        return None
    offsets = np.linspace(row.low_mm, row.high_mm, count) if count > 1 else np.array([(row.low_mm + row.high_mm) / 2])
    return list(zip(row.paths, map(float, offsets))) if out.spacing.accept(row.find(offsets)[None])[0] else None


def lay_out_end(out: Layout, end: str) -> None:
    """Fastenings at an end of the plank: a row in the rabbet, or half a butt block."""
    settings = out.settings
    what, where = getattr(settings, end + "_end"), out.plank.edges[end].curve.evaluate(
        [len(out.plank.edges[end].curve.cubics) / 2])[0]
    if what == "hood":
        paths = [make_end_path(out.ground, out.plank, end, settings.hood_mm + more)
                 for more in (0.0, settings.stagger_mm)]
        _lay_out_rows(out, paths, near_mm=settings.hood_mm, kind="end", station=end,
                      side=words.name_end(end), where=where)
    elif what == "butt":
        line = np.stack([out.plank.edges[end].curve.start, out.plank.edges[end].curve.end])
        aft = [(measure_aft_mm(out.ground, line, f.station.line.mean(axis=0)[None])[0], f) for f in out.frames]
        clear = min([-a + f.aft_mm if end == "aft" else a - f.fore_mm for a, f in aft], default=np.inf)
        reach = find_block_reach(out, line.mean(axis=0), clear)
        _lay_out_block(out, reach, lambda inward: make_end_path(out.ground, out.plank, end, inward), kind="butt",
                       station=end, side=words.name_end(end), where=where)
