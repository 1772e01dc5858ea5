"""Fastenings drawn and lettered on the plank, and what the sheet's title block says of them."""
from __future__ import annotations

import numpy as np

from ..geometry.bezier import draw_circle
from ..geometry.lettering import text_width_mm
from ..model.drawing import Overlay, SheetLine, SheetText
from ..trade.fastening_metals import NOT_NAMED, SAME_METAL, find_metal, judge_metal, judge_mixing
from ..trade.fastening_tables import LEAST_PLUG_DEPTH_MM
from ..units import format_inches, format_mm
from .places import find_clear_spans, find_normal, make_path
from .sizes import find_driven_metal

__all__ = ["draw_cross", "draw_fastenings"]

_KINDS = ("screw", "nail", "rivet", "bolt")
_CAUTIONS = (
    ("AS LARGE AND AS MANY AS THE REST OF THE PLANKING AT LEAST (ARMY TB 55-1900-201-45/1, 2-12 E). MEND BAD FRAMES "
    "FIRST: NEW FASTENINGS IN THEM ARE USELESS (2-8 B)."),
    "WHERE THE SURVEYOR OR THE CLASS GIVES A SCHEDULE OF FASTENINGS, THAT GOES BEFORE THIS ONE.",
)


def _draw_stroke(a, b):
    return np.stack([a + (b - a) * k / 3 for k in range(4)])


def draw_cross(at_mm, way, *, radius_mm, arm_mm):
    """A circle and the cross through it as one chain of cubics (k, 4, 2), which ends with the whole stroke across it;
    way is a unit (2,) it stands by.
    """
    x, y = np.asarray(way, float), np.array([-way[1], way[0]])
    at, r = np.asarray(at_mm, float), radius_mm
    arcs = draw_circle(at, r, way=way)
    # in by one arm, round, across and back to the circle, a quarter round, out and across the other way
    back = arcs[2]
    strokes = [_draw_stroke(at + arm_mm * x, at + r * x), *arcs, _draw_stroke(at + r * x, at - arm_mm * x),
               _draw_stroke(at - arm_mm * x, at - r * x), back,
               _draw_stroke(at - r * y, at - arm_mm * y), _draw_stroke(at - arm_mm * y, at + arm_mm * y)]
    return np.stack(strokes)


def draw_fastenings(out, lists, rule):
    """The Overlay of a finished Layout."""
    lines, texts = [], []
    size = out.size
    radius = (size.plug_mm or size.diameter_mm) / 2
    taken = np.array([one.at_mm for one in out.fastenings]).reshape(-1, 2)
    for frame in out.frames:
        normal = find_normal(out.ground, frame.station.line)
        for ahead in (frame.aft_mm, frame.fore_mm):
            path = make_path(out.ground, frame.station.line, ahead)
            for a, b in find_clear_spans(out.ground, path, needs_mm={}) if path else ():
                lines.append(SheetLine(_draw_stroke(*path.find(np.array([a, b])))[None], "draw", "frame-side",
                                       "frame", False, (("station", frame.station.label),)))
        texts.append(_letter_count(out, frame, normal, taken))
    ways = {frame.station.label: frame.station.line[1] - frame.station.line[0] for frame in out.frames}
    default = np.array([-out.ground.forward[1], out.ground.forward[0]])
    for one in out.fastenings:
        way = ways.get(one.station, default) if one.kind == "frame" else default
        values = (("station", one.station), ("kind", one.kind), ("along_mm", one.along_mm), ("edge_mm", one.edge_mm),
                  ("clear_end_mm", one.end_mm),
                  ("diameter_mm", size.diameter_mm), ("through", "yes" if one.through else "no"))
        cubics = draw_cross(one.at_mm, way / np.hypot(*way), radius_mm=radius, arm_mm=max(1.45 * radius, radius + 2.0))
        lines.append(SheetLine(cubics, "draw", "fastening", "fastening", False, values))
        if one.through:
            lines.append(SheetLine(draw_cross(one.at_mm, default, radius_mm=1.8 * radius, arm_mm=0)[1:5], "draw",
                                   "through-bolt", "fastening", True, (("station", one.station),)))
    for one in out.bare:
        values = (("station", one.station), ("kind", one.kind), ("side", one.side), ("from_mm", one.from_mm),
                  ("to_mm", one.to_mm), ("length_mm", one.length_mm),
                  ("wanted", str(one.wanted)), ("fastened", str(one.count)))
        lines.append(SheetLine(_draw_stroke(*np.array(one.ends_mm))[None], "draw", "bare", "bare", False, values))
    return Overlay(tuple(lines), tuple(texts), tuple(_say_rows(out, lists, rule)), out.list_findings())


def _letter_count(out, frame, normal, taken):
    """How many at a frame, small, beside it: forward of it and clear of the line's own figures if that is free of
    fastenings, else where of six places is most room.

    Abaft the line at the edges stand the section and its bevels, so those places come last.
    """
    upper, lower = frame.station.line
    down = (lower - upper) / frame.station.width_mm
    right = np.array([down[1], -down[0]])
    right = right if right[0] >= 0 else -right
    height = float(np.clip(frame.station.width_mm / 22, 2.5, 5.0))
    text = _count(out.counts[frame.station.label], out.size.name)
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
    return SheetText(text, tuple(map(float, at)), height, float(np.degrees(np.arctan2(right[1], right[0]))), anchor,
                     "note", "label")


def _say_rows(out, lists, rule):
    settings, size = out.settings, out.size
    used = "; ".join("%s AT %s" % (words.upper(), _say_labels(labels, out.frames))
                     for words, labels in out.words.items())
    yield "FASTENINGS BY WIDTH: %s (%s). IT ASKS HERE: %s. LAID OUT: %s." % (rule.words.upper(), rule.source.upper(),
                                                                             used, _say_laid_out(out))
    yield "SIZE: %s, SHANK %s. TABLE: %s." % (size.words.upper(), format_mm(size.diameter_mm, places=2).upper(),
                                              size.table.upper())
    yield "METAL: %s." % _say_metal(settings.size, size)
    yield "BUY, WITH %d PERCENT SPARE: %s." % (settings.size.spare_percent, "; ".join(
        "%d %s FOR %s (%d DRIVEN)" % (one.total, one.words.upper(), one.use.upper(), one.count) for one in lists))
    if size.depth_mm:
        yield "HEADS: %s, BORED %s DEEP, GRAIN OF THE PLUG ALONG THE PLANK; NEVER LESS THAN %s OF PLUG." % (
            size.plug_words.upper(), format_mm(size.depth_mm).upper(), format_inches(LEAST_PLUG_DEPTH_MM).upper())
    else:
        yield "HEADS: %s." % size.plug_words.upper()
    lead = "A LITTLE UNDER THE SHANK; TRY IT IN A SPARE PIECE"
    if size.lead_mm:
        lead = ("FOR THE THREAD %s IN %s, FOR THE SHANK %s (USDA WOOD HANDBOOK, CH. 8, FROM MEMORY: "
                "TRY IT IN A SPARE PIECE)" % (format_mm(size.lead_mm).upper(), settings.size.frame_wood.upper(),
                                              format_mm(size.diameter_mm, places=2).upper()))
    yield "BORE LEAD HOLES: %s." % lead
    edge = format_mm(
        settings.edge_mm).upper() if settings.edge_mm else "3/4 IN OR A SIXTH OF THE WIDTH, WHICHEVER IS MORE"
    lies = {"middle": "THE MARK AT ITS MIDDLE", "fore": "FORWARD OF ITS MARK",
            "aft": "ABAFT ITS MARK"}[settings.frame_lies]
    yield "STAGGERED BY %s. KEPT FROM THE EDGES %s, FROM ENDS AND BUTTS %s, ON THE %s FACE. FRAMES %s BROAD, %s." % (
        format_mm(settings.stagger_mm).upper(), edge, format_mm(settings.end_mm).upper(), out.plank.face.upper(),
        format_mm(settings.sided_mm).upper(), lies)
    bare = [end for end in ("fore", "aft") if getattr(settings, end + "_end") == "none"]
    if bare:
        yield "NO END FASTENINGS ARE LAID OUT AT THE %s." % " AND THE ".join("%s END" % end.upper() for end in bare)
    if out.bare:
        yield "LEFT BARE, DRAWN DASHED: %s, FROM THE UPPER EDGE DOWN." % "; ".join(
            "%s %s TO %s (%s)" % (_say_place(one), format_mm(one.from_mm, places=0).upper(),
                                  format_mm(one.to_mm, places=0).upper(), format_mm(one.length_mm).upper())
            for one in out.bare)
    yield from _CAUTIONS


def _say_place(one):
    what = {"frame": "FRAME %s", "butt": "BUTT %s",
            "end": "%s END"}[one.kind] if one.station not in ("fore", "aft") else "%s END"
    return what % one.station.upper() + (", %s SIDE" % one.side.upper() if one.side else "")


def _say_metal(settings, size):
    """The metal, or that it is to be asked for; and what is said against it."""
    metal, boat = find_driven_metal(settings), find_metal(settings.boat_metal)
    said = ["NOT NAMED, ASK BEFORE BUYING: ____________" if metal.name == NOT_NAMED else metal.words.upper()]
    if boat.name == NOT_NAMED:
        said.append("SEE WHAT THE REST OF THE BOAT IS FASTENED WITH AND TAKE THE SAME (COMMON PRACTICE, NO SOURCE)")
    else:
        said.append("THE REST OF THE BOAT'S: %s" % boat.words.upper())
    said += [text.upper() for text in judge_metal(metal.name, kind=size.name)
             + list(filter(None, [judge_mixing(metal.name, boat.name)]))]
    return "; ".join([*said, SAME_METAL.upper()])


def _count(count, kind):
    """'1 SCREW', '3 NAILS', 'NO SCREW'."""
    word = kind.upper() if kind in _KINDS else "FASTENING"
    return "NO %s" % word if not count else "%d %s%s" % (count, word, "" if count == 1 else "S")


def _say_laid_out(out):
    """What stands at the frames in fact, most first; and where that is less than the rule asks, what took the room."""
    alike = {}
    for label, count in out.counts.items():
        alike.setdefault((count, *out.short.get(label, (count, ""))), []).append(label)
    parts = []
    for (count, wanted, why), labels in sorted(alike.items(), key=lambda item: -item[0][0]):
        parts.append("%s AT %s%s" % (count or "NONE", _say_labels(labels, out.frames),
                                     " (%d ASKED: %s)" % (wanted, why.upper()) if why else ""))
    return "; ".join(parts)


def _say_labels(labels, frames):
    """Frames by label; 'EVERY FRAME' where it is all of them."""
    return "EVERY FRAME" if len(labels) == len(frames) else ("FRAME " if len(labels) == 1 else "FRAMES ") + " ".join(
        label.upper() for label in labels)
