"""Fastenings of a plank: how many at each frame and butt by a named rule, the place of each, their size, and what to
buy.

The stagger is a zigzag in both woods. *Along the plank*: of two neighbouring frames one row begins right at the edge
distance from the upper edge and the other at that from the lower edge, so that no two fastenings are in one grain line
of the plank. The grain is taken to follow the run (the line midway between the edges).
*Along the frame*: the fastenings of a plank at one frame each lie on their own line along the frame, and the order is
reversed from frame to frame.
"""
from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from ..actions import STATIONS
from ..errors import PatternError, SettingError
from ..model.joints_and_fastenings import FasteningLayout
from ..trade.butt_rules import MOST_LAP_MM
from ..trade.fastening_patterns import RULES, count_crossing, find_width_rule
from ..trade.fastening_tables import FRAME_WOODS
from ..units import format_mm
from . import words
from .butts import find_block_reach, lay_out_butt, lay_out_end
from .drawing import draw_fastenings
from .groups import ENDS, FRAME_LIES, SCARFS, FasteningSettings, Layout, refuse_settings
from .places import find_row, make_path, measure_aft_mm, measure_clearance_mm, order_across_frame, spread
from .sizes import HEADS, METALS, SIZES, SizeSettings, find_driven_metal, fit_butt_size, list_doubts, list_what_to_buy

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Station
    from ..model.joints_and_fastenings import BlockPlace, PlacedJoint
    from ..model.plank import Plank

__all__ = ["ENDS", "FRAME_LIES", "FRAME_WOODS", "HEADS", "METALS", "RULES", "SCARFS", "SIZES", "FasteningSettings",
           "SizeSettings", "lay_out_fastenings"]

_BAY = re.compile(r"^(upper|lower)\s+(.+)$", re.IGNORECASE)


def lay_out_fastenings(plank: Plank, *, stations: Sequence[Station], settings: FasteningSettings = FasteningSettings(),
                       joints: Sequence[PlacedJoint] = (), blocks: Sequence[BlockPlace] = ()) -> FasteningLayout:
    """Lay out a plank's fastenings.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
        From the fore end aft.
    settings : FasteningSettings
    joints : sequence of PlacedJoint
        Scarfs and butts in the plank; its own ends are set by `settings`.
    blocks : sequence of BlockPlace
        Butt blocks that are drawn already; their length is used, unless the settings give another.

    Returns
    -------
    FasteningLayout

    Raises
    ------
    SettingError, PatternError
    """
    refuse_settings(settings)
    if not stations:
        raise PatternError("The plank has no frame stations, so there is nothing to fasten it to.",
                           STATIONS.first)
    out = Layout(plank, stations, joints=joints, settings=settings, blocks=blocks)
    if settings.stagger_mm < out.size.diameter_mm:
        raise SettingError(
            "A stagger of %s is less than the fastening's own thickness, %s: two would stand in one grain line."
                           % (format_mm(settings.stagger_mm), format_mm(out.size.diameter_mm)),
            "Give %s or more." % format_mm(out.size.diameter_mm), "Stagger")
    _lay_out_frames(out)
    for joint in joints:
        if joint.kind == "butt":
            lay_out_butt(out, joint)
    for end in ("fore", "aft"):
        lay_out_end(out, end)
    if not out.fastenings:
        raise PatternError("No fastening has room on this plank with these distances.",
                           "Give a smaller edge distance, end distance or stagger.")
    _check_neighbours(out)
    butt_size, doubt = fit_butt_size(out.size, out.thickness_mm, settings.size.block_mm
                                     or min([b.thickness_mm for b in blocks], default=out.thickness_mm))
    for text in list_doubts(out.size, settings.size) + ([doubt] if doubt
                                                        and any(f.kind == "butt" for f in out.fastenings) else []):
        out.doubt("metal", text)
    counts = {kind: sum(f.kind == kind and not f.through for f in out.fastenings) for kind in ("frame", "butt", "end")}
    counts["through"] = sum(f.through for f in out.fastenings)
    lists = list_what_to_buy(counts, out.size, butt_size, settings.size)
    overlay = draw_fastenings(out, lists, find_width_rule(settings.rule))
    values = {"rule": settings.rule, "size": out.size.words, "table": out.size.table,
              "diameter_mm": out.size.diameter_mm,
                  "length_mm": out.size.length_mm, "plug_mm": out.size.plug_mm,
                  "plug_depth_mm": out.size.depth_mm, "lead_mm": out.size.lead_mm, "count": len(out.fastenings),
                  "at_frames": counts["frame"] + counts["through"], "at_butts": counts["butt"],
                  "at_ends": counts["end"], "spares": sum(one.spares for one in lists if one.use != "heads"),
                  "stagger_mm": settings.stagger_mm,
                  "apart_least_mm": min(out.apart_mm, default=0.0), "apart_most_mm": max(out.apart_mm, default=0.0),
                  "edge_mm": settings.edge_mm,
                  "end_mm": settings.end_mm, "sided_mm": settings.sided_mm, "frame_lies": settings.frame_lies,
                  "metal": find_driven_metal(settings.size).name, "boat_metal": settings.size.boat_metal,
                  "bare_count": len(out.bare), "bare_mm": max([one.length_mm for one in out.bare], default=0.0)}
    return FasteningLayout(tuple(out.fastenings), out.size, lists=lists, overlay=overlay, values=values,
                           bare=tuple(out.bare))


def _lay_out_frames(out):
    settings, before = out.settings, np.zeros(0)
    for number, frame in enumerate(out.frames):
        station = frame.station
        crossing = count_crossing(settings.rule, station.width_mm, own_count=settings.own_count)
        wanted = crossing.counts[number % len(crossing.counts)]
        turn = (number // len(crossing.counts)) % 2 == 1
        out.words.setdefault(crossing.words, []).append(station.label)
        if crossing.doubt:
            out.doubt_frame(station, "count-by-width", crossing.doubt)
        elif settings.rule != "own" and settings.own_count > wanted:
            out.doubt_frame(station, "fewer-than-the-boat", words.tell_fewer_than_the_boat(wanted, settings.own_count))
        edge = out.find_edge_mm(station.width_mm)
        needs = {"upper": edge, "lower": edge, "fore": settings.end_mm, "aft": settings.end_mm}
        count, row, offsets, apart = wanted, None, None, np.inf
        while count and offsets is None:
            lines = _share_out(frame, settings.frame_edge_mm, count)
            ranks = order_across_frame(count)[::-1 if turn else 1]
            paths = {rank: make_path(out.ground, station.line, lines[rank]) for rank in ranks}
            row = find_row(out.ground, [paths[rank] for rank in ranks], needs_mm=needs, zones=out.zones)
            offsets, apart = spread(row, before, turn=turn, stagger_mm=settings.stagger_mm,
                                    grain_mm=out.size.diameter_mm, accept=out.spacing.accept) if row else (None, 0.0)
            count -= offsets is None
        out.counts[station.label] = count
        if count < wanted:
            why = _find_why_short(out, frame, needs, count=wanted if count else 1, before=before, turn=turn)
            out.short[station.label] = (wanted, why)
        middle = make_path(out.ground, station.line, (frame.aft_mm + frame.fore_mm) / 2)
        bare = []
        if count < wanted and middle is not None:
            stand = [path.middle_mm + offset - path.upper_mm
                     for path, offset in zip(row.paths, offsets)] if row is not None and offsets is not None else []
            bare = out.tell_bare(middle, stand, kind="frame", station=station.label, wanted=wanted, edge_mm=edge)
        if row is None or offsets is None:
            out.doubt_frame(station, "no-room", words.tell_no_room_at_frame(why), bare)
            before = np.zeros(0)
            continue
        if count < wanted:
            out.doubt_frame(station, "too-few", words.tell_few_at_frame(count, wanted, why), bare)
        if count > 1 and lines[1] - lines[0] < out.size.diameter_mm:
            out.doubt_frame(station, "grain-lines",
                            words.tell_frame_lines(count, lines[1] - lines[0], settings.sided_mm))
        if apart < out.size.diameter_mm:
            out.doubt_frame(station, "tapers-too-fast", words.TAPERS_TOO_FAST)
        if len(before):
            out.apart_mm.append(float(np.abs(np.subtract.outer(offsets, before)).min()))
        out.add(row.paths, offsets, kind="frame", station=station.label, through=crossing.through if count > 1 else 0)
        before = offsets


def _share_out(frame, clear_mm, count):
    """How far ahead of the station mark each of `count` lines along a frame stands."""
    aft, fore = frame.aft_mm + clear_mm, frame.fore_mm - clear_mm
    return np.array([(aft + fore) / 2]) if count == 1 else np.linspace(aft, fore, count)


def _find_why_short(out, frame, needs, *, count, before, turn):
    """Why `count` fastenings have no room at a frame: the kind of joint that it lies in, or which size of the plank is
    too small.

    Returns a key for words.py.
    """
    lines = _share_out(frame, out.settings.frame_edge_mm, count)
    paths = [make_path(out.ground, frame.station.line, lines[rank])
             for rank in order_across_frame(count)[::-1 if turn else 1]]

    def lay(some, zones):
        row = find_row(out.ground, paths, needs_mm=some, zones=zones)
        return row, spread(row, before, turn=turn, stagger_mm=out.settings.stagger_mm, grain_mm=out.size.diameter_mm,
                           accept=out.spacing.accept)[0] if row else None
    clear_ends, clear_edges = dict(needs, fore=0.0, aft=0.0), dict(needs, upper=0.0, lower=0.0)
    for joint in out.joints:
        if lay(needs,
               [zone for other in out.joints if other is not joint for zone in out.bar_joint(other)])[1] is not None:
            return joint.kind
    if lay(clear_ends, out.zones)[1] is not None:
        return "end-distance"
    if lay(needs, out.zones)[0]:
        return "grain-line"
    if lay(clear_edges, out.zones)[1] is not None:
        return "edge-distance"
    return "end-or-joint"


def _find_bay(text, labels):
    """The two labels of a bay as it is typed, '9-10' or '-2 to -1', or None where they are not both among the labels.
    """
    for dash in re.finditer(r"-| to ", text):
        pair = text[:dash.start()].strip(), text[dash.end():].strip()
        if pair[0] in labels and pair[1] in labels:
            return pair
    return None


def _check_neighbours(out):
    """Findings for fastenings between frames that would hit the butt block of a neighbouring strake, where it laps this
    plank."""
    labels = [f.station.label for f in out.frames]
    for text in filter(None, (t.strip() for t in out.settings.neighbours.split(","))):
        match = _BAY.match(text)
        bay = _find_bay(match.group(2), labels) if match else None
        if match is None or bay is None:
            raise SettingError("'%s' is not a neighbour's butt between two frames of this plank." % text,
                               "Write the edge and the bay, as in: upper 9-10, lower 12-13.", "Neighbours' butts")
        edge = match.group(1).lower()
        a, b = (out.frames[labels.index(label)] for label in bay)
        middle = (a.station.line + b.station.line) / 2
        apart = abs(measure_aft_mm(out.ground, a.station.line,
                                   b.station.line.mean(axis=0)[None])[0]) - out.settings.sided_mm
        reach = find_block_reach(out, None, apart / 2)
        struck = {}
        for one in out.fastenings:
            aft = abs(measure_aft_mm(out.ground, middle, np.array([one.at_mm]))[0])
            near = measure_clearance_mm(out.ground, np.array([one.at_mm]))[edge][0]
            if one.kind != "frame" and aft < reach and near < MOST_LAP_MM + out.size.diameter_mm / 2:
                struck.setdefault((one.kind, one.station), []).append(one)
        for (kind, station), ones in struck.items():
            what = words.name_butt(station) if kind == "butt" else words.name_end(station)
            out.doubt("struck-block",
                      words.tell_struck_block(len(ones), what, edge=edge, bay=bay, lap_mm=MOST_LAP_MM), ones[0].at_mm)
