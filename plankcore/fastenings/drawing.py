"""Fastenings drawn and lettered on the plank, and what was found of them, as facts with the sentences of words.py."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.bezier import draw_circle
from ..geometry.lettering import text_width_mm
from ..model.drawing import Fact, Overlay, SheetLine, SheetText
from ..trade.fastening_patterns import NOT_NAMED, find_metal, judge_metal, judge_mixing
from . import words
from .places import find_clear_spans, find_normal, make_path
from .sizes import find_driven_metal
from .words import count_fastenings

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Cubics, Point
    from ..model.joints_and_fastenings import FasteningList
    from ..trade.fastening_patterns import WidthRule
    from .groups import Layout

__all__ = ["draw_cross", "draw_fastenings", "list_facts"]


def list_facts(out: Any, lists: Any, rule: Any) -> tuple[Fact, ...]:
    """Facts of a finished Layout, in the order in which the sheet prints them.

    Parameters
    ----------
    out : Layout
    lists : tuple of FasteningList
    rule : WidthRule

    Returns
    -------
    tuple of Fact
        DEVELOPERS.md, "Facts", lists the keys.
    """
    settings, size = out.settings, out.size
    found = [Fact("fastenings-by-width",
                  words.tell_rule(rule, out.words, counts=out.counts, short=out.short, frames=len(out.frames)),
                  verdict="doubt" if out.short else "holds", number=sum(out.counts.values()), unit="fastenings",
                  source=rule.source, about="; ".join(out.short)),
             Fact("size", words.tell_size(size), number=size.diameter_mm, unit="mm", source=size.table,
                  about=size.name),
             _judge_metal(settings.size, size),
             Fact("to-buy", words.tell_buying(lists, settings.size.spare_percent),
                  number=sum(one.total for one in lists if one.use != "heads"), unit="fastenings"),
             Fact("heads", words.tell_heads(size), number=size.depth_mm, unit="mm"),
             Fact("lead-holes", words.tell_lead_holes(size, settings.size.frame_wood), number=size.lead_mm or None,
                  unit="mm"),
             Fact("stagger", words.tell_distances(settings, out.plank.face, out.apart_mm), unit="mm",
                  number=min(out.apart_mm, default=settings.stagger_mm), limit=settings.stagger_mm)]
    without = [end for end in ("fore", "aft") if getattr(settings, end + "_end") == "none"]
    if without:
        found.append(Fact("no-end-fastenings", words.tell_no_ends(without), about="; ".join(without)))
    if out.bare:
        found.append(Fact("left-bare", words.tell_left_bare(out.bare), verdict="doubt",
                          number=max(one.length_mm for one in out.bare), unit="mm",
                          about="; ".join(dict.fromkeys(one.station for one in out.bare))))
    return (*found, *(Fact("caution", text) for text in words.CAUTIONS))


def _judge_metal(settings, size):
    """Facts on the metal: whether it is known, suits this kind of fastening, and goes with the boat's other metal."""
    metal, boat = find_driven_metal(settings), find_metal(settings.boat_metal)
    against = judge_metal(metal.name, kind=size.name) + list(filter(None, [judge_mixing(metal.name, boat.name)]))
    return Fact("metal", words.tell_metal(metal, boat, against), about=metal.name,
                verdict="doubt" if against else "not judged" if NOT_NAMED in (metal.name, boat.name) else "holds")


def _draw_stroke(a, b):
    return np.stack([a + (b - a) * k / 3 for k in range(4)])


def draw_cross(at_mm: Sequence[float], way: Point, *, radius_mm: float, arm_mm: float) -> Cubics:
    """A circle and the cross through it as one chain of cubics (k, 4, 2), which ends with the whole stroke across it;
    way : unit direction (2,) of one arm of the cross."""
    x, y = np.asarray(way, float), np.array([-way[1], way[0]])
    at, r = np.asarray(at_mm, float), radius_mm
    arcs = draw_circle(at, r, way=way)
    # one continuous path: in along one arm, round the circle, across, back to the circle, a quarter round, and across
    # the other way
    back = arcs[2]
    strokes = [_draw_stroke(at + arm_mm * x, at + r * x), *arcs, _draw_stroke(at + r * x, at - arm_mm * x),
               _draw_stroke(at - arm_mm * x, at - r * x), back,
               _draw_stroke(at - r * y, at - arm_mm * y), _draw_stroke(at - arm_mm * y, at + arm_mm * y)]
    return np.stack(strokes)


def draw_fastenings(out: Layout, lists: Sequence[FasteningList], rule: WidthRule) -> Overlay:
    """The Overlay of a finished Layout."""
    lines, texts = [], []
    size = out.size
    radius = (size.plug_mm or size.diameter_mm) / 2
    taken = np.array([one.at_mm for one in out.fastenings]).reshape(-1, 2)
    for frame in out.frames:
        normal = find_normal(out.ground, frame.station.line)
        for ahead in (frame.aft_mm, frame.fore_mm):
            path = make_path(out.ground, frame.station.line, ahead)
            if path is None:           # it passes one long edge only
                continue
            for a, b in find_clear_spans(out.ground, path, needs_mm={}):
                lines.append(SheetLine(_draw_stroke(*path.find(np.array([a, b])))[None], "draw", role="frame-side",
                                       style="frame", closed=False, values=(("station", frame.station.label),)))
        texts.append(_letter_count(out, frame, normal, taken))
    ways = {frame.station.label: frame.station.line[1] - frame.station.line[0] for frame in out.frames}
    default = np.array([-out.ground.forward[1], out.ground.forward[0]])
    for one in out.fastenings:
        way = ways.get(one.station, default) if one.kind == "frame" else default
        values = (("station", one.station), ("kind", one.kind), ("along_mm", one.along_mm), ("edge_mm", one.edge_mm),
                  ("clear_end_mm", one.end_mm),
                  ("diameter_mm", size.diameter_mm), ("through", "yes" if one.through else "no"))
        cubics = draw_cross(one.at_mm, way / np.hypot(*way), radius_mm=radius, arm_mm=max(1.45 * radius, radius + 2.0))
        lines.append(SheetLine(cubics, "draw", role="fastening", style="fastening", closed=False, values=values))
        if one.through:
            lines.append(SheetLine(draw_cross(one.at_mm, default, radius_mm=1.8 * radius, arm_mm=0)[1:5], "draw",
                                   role="through-bolt", style="fastening", closed=True,
                                   values=(("station", one.station),)))
    for one in out.bare:
        told = (("station", one.station), ("kind", one.kind), ("side", one.side), ("from_mm", one.from_mm),
                  ("to_mm", one.to_mm), ("length_mm", one.length_mm),
                  ("wanted", str(one.wanted)), ("fastened", str(one.count)))
        lines.append(SheetLine(_draw_stroke(*np.array(one.ends_mm))[None], "draw", role="bare", style="bare",
                               closed=False, values=told))
    return Overlay(tuple(lines), tuple(texts), list_facts(out, lists, rule), out.list_findings())


def _letter_count(out, frame, normal, taken):
    """Letter the number of fastenings at a frame, small, beside its line: forward of it if no fastening is there, else
    at whichever of six places has most room.

    Aft of the line, near the edges, are the section and its bevels, so those places come last.
    """
    upper, lower = frame.station.line
    down = (lower - upper) / frame.station.width_mm
    right = np.array([down[1], -down[0]])
    right = right if right[0] >= 0 else -right
    height = float(np.clip(frame.station.width_mm / 22, 2.5, 5.0))
    text = count_fastenings(out.counts[frame.station.label], out.size.name)
    wide = text_width_mm(text, height_mm=height)
    forward = float(np.sign(normal @ right))
    low, high = lower - down * 1.2 * height, upper + down * 2.2 * height
    places = []
    for corner, side, outward in ((lower - down * 3.6 * height, frame.fore_mm, forward),
                                  (upper + down * 5.4 * height, frame.fore_mm, forward), (low, frame.fore_mm, forward),
                                  (high, frame.fore_mm, forward), (low, frame.aft_mm, -forward),
                                  (high, frame.aft_mm, -forward)):
        at = corner + right * (side * (normal @ right) + 2.0 * outward)
        middle = at + right * outward * wide / 2 - down * height / 2
        places.append((float(np.hypot(*(taken - middle).T).min()) if len(taken) else np.inf,
                       "start" if outward > 0 else "end", at))
    free = max(out.size.plug_mm, out.size.diameter_mm) + wide / 2
    _, anchor, at = next((p for p in places if p[0] > free), max(places, key=lambda p: p[0]))
    return SheetText(text, tuple(map(float, at)), height_mm=height,
                     angle_deg=float(np.degrees(np.arctan2(right[1], right[0]))), anchor=anchor,
                     style="note", role="label")
