"""The plot sheet: one page, sized to the plank, with everything on it that the sawyer must know.

A Sheet is a list of things to draw, in mm on its own page (origin top left, y down). What is cut and what is only drawn
are kept apart, so that a cutter can be given the one and a pen the other.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .errors import SettingError
from .geometry.lettering import text_width_mm
from .line_model import Sheet, SheetLine, SheetText
from .units import format_inches, format_mm

__all__ = ["SheetSettings", "lay_out_sheet", "describe_plank"]

CAUTIONS = (
    "MEASURE THE BARS, ALONG AND ACROSS, BEFORE CUTTING. PAPER MOVES WITH THE WEATHER; FILM AND VINYL STRETCH.",
    "CHECK HAND AND FACE AGAINST THE BOAT. DRY FIT BEFORE FASTENING.",
    "A PATTERN, NOT AN APPROVAL: EXTENT AND METHOD OF REPAIR ARE FOR THE SURVEYOR, CLASS OR FLAG AUTHORITY.",
    "SAWING, PLANING, SANDING: GUARDS ON, DUST DRAWN OFF; OLD PAINT MAY HOLD LEAD.",
)


@dataclass(frozen=True)
class SheetSettings:
    """margin_mm: clear paper round everything; file_name: printed on the sheet; day: date to print, or ''."""

    margin_mm: float = 20.0
    file_name: str = ""
    day: str = ""


def lay_out_sheet(plank, *, stations=(), saw=None, settings=SheetSettings()):
    """Lay a plank along a page with its stations, bars, title and cautions.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    saw : SawLine, optional
        Without it the net outline is the line to cut, and the sheet says so.
    settings : SheetSettings

    Returns
    -------
    Sheet
    """
    if not 0 <= settings.margin_mm <= 500:
        raise SettingError("A margin of %g mm cannot be used." % settings.margin_mm, "Give 0 to 500 mm.", "Margin")
    base = plank.find_baseline()
    right = base[0] - base[1] if plank.forward == "right" else base[1] - base[0]
    right = right / np.hypot(*right)
    turn = np.array([[right[0], right[1]], [-right[1], right[0]]])
    cut = list(saw.curves) if saw else plank.outline()
    points = np.vstack([c.flatten() for c in cut]) @ turn.T
    low, high = points.min(axis=0), points.max(axis=0)
    margin = settings.margin_mm
    shift = np.array([margin, margin]) - low
    to_sheet = np.hstack([turn, shift[:, None]])

    def move(cubics):
        return np.asarray(cubics) @ turn.T + shift

    lines = [SheetLine(move(np.concatenate([c.cubics for c in cut])), "cut", "saw" if saw else "outline", "saw" if saw else "edge", True)]
    if saw:
        lines.append(SheetLine(move(np.concatenate([c.cubics for c in plank.outline()])), "draw", "outline", "outline", True))
    texts = []
    for station in stations:
        _add_station(lines, texts, station, move)
    bottom = margin + high[1] - low[1]
    width = high[0] - low[0] + 2 * margin
    _add_names(texts, lines, plank, move)
    below, under, beside = _add_bars(lines, texts, margin, bottom + 22.0, width - 2 * margin)
    title, last = _add_title(texts, plank, stations, saw, settings, margin, under + 8.0, beside)
    bottom = max(below, last)
    return Sheet(float(width), float(bottom + margin), to_sheet, tuple(lines), tuple(texts), title)


def _stroke(a, b, *, role="note", style="note", pen="draw", values=()):
    a, b = np.asarray(a, float), np.asarray(b, float)
    return SheetLine(np.stack([a + (b - a) * k / 3 for k in range(4)])[None], pen, role, style, False, values)


def _add_station(lines, texts, station, move):
    line = move(station.line)
    lines.append(_stroke(*line, role="station", style="station",
                         values=(("station", station.label), ("width_mm", station.width_mm), ("distance_mm", station.distance_mm))))
    for text, at, height, angle in station.list_words(line):
        texts.append(SheetText(text, tuple(map(float, at)), height, angle, role="label"))


def describe_plank(plank):
    """The plank's names in one line, without what is not known."""
    parts = [plank.name, "strake %s" % plank.strake if plank.strake else "", plank.side]
    return "  ".join(p.upper() for p in parts if p)


def _add_names(texts, lines, plank, move):
    """Name, face, FWD and UP inside the outline, so that they stay with the piece that is cut out."""
    upper, lower = plank.edges["upper"].curve, plank.edges["lower"].curve
    length = upper.measure_length_mm()
    name = "%s   %s FACE UP" % (describe_plank(plank), plank.seen_from.upper())

    def find_middle(share):
        u = upper.evaluate(upper.find_places(length * share))[0]
        v = lower.evaluate([lower.find_nearest(u)[0]])[0]
        return move((u + v) / 2), move(u), float(np.hypot(*(u - v)))
    here, _, wide = find_middle(0.5)
    ahead, behind = find_middle(0.45)[0], find_middle(0.55)[0]
    run = (ahead - behind) / np.hypot(*(ahead - behind))
    run = run if run[0] > 0 else -run
    angle = float(np.degrees(np.arctan2(run[1], run[0])))
    # FWD: an arrow along the run, a little way in from the fore end; UP: towards the upper edge; the name between them and the butt
    share = 0.06 if length > 900 else 0.15
    spot, top, width = find_middle(share)
    size = float(np.clip(0.3 * width, 12.0, min(45.0, 0.06 * length + 6.0)))
    room = 2 * (length * (0.5 - share) - 3.4 * size)
    height = min(0.14 * wide, 14.0, room / max(text_width_mm(name, height_mm=1.0), 1.0))
    height = max(float(height), 2.5)
    down = np.array([-run[1], run[0]])
    texts.append(SheetText(name, tuple(map(float, here + down * height / 2)), height, angle, "middle", role="name"))
    bow = move(plank.find_baseline()[0]) - move(plank.find_baseline()[1])
    bow = bow / np.hypot(*bow)
    _add_arrow(lines, spot - bow * size, spot, "FWD", texts, size)
    up = (top - spot) / max(np.hypot(*(top - spot)), 1e-9)
    aft_spot = spot - bow * (size * 2.2)
    _add_arrow(lines, aft_spot + up * (-size * 0.5), aft_spot + up * size * 0.5, "UP", texts, size)


def _add_arrow(lines, tail, tip, word, texts, size):
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    lines.append(_stroke(tail, tip, style="arrow", role="arrow"))
    for s in (1, -1):
        lines.append(_stroke(tip, tip - way * size * 0.25 + side * s * size * 0.12, style="arrow", role="arrow"))
    high = float(np.clip(size * 0.22, 4, 9))
    if word == "FWD":
        at, anchor = (tail + tip) / 2 + np.array([0.0, high * 1.8]), "middle"
    else:
        at, anchor = (tail + tip) / 2 + np.array([high * 0.7, high * 0.5]), "start"
    texts.append(SheetText(word, tuple(map(float, at)), high, 0.0, anchor, role="name"))


def _add_bars(lines, texts, left, top, room):
    """Scale bars in mm and inches, along the page and across it.

    Returns the y below all of them, the y below those along, and the room that is left of those across.
    """
    def bar(start, way, total, step, long_every, values, name):
        across = np.array([-way[1], way[0]])
        end = start + way * total
        lines.append(_stroke(start, end, role="scale-bar", style="scale-bar", values=(("length_mm", float(total)), ("along", name))))
        count = int(round(total / step))
        for k in range(count + 1):
            tall = 6.0 if k % long_every == 0 else 3.5
            at = start + way * total * k / count
            lines.append(_stroke(at, at + across * tall, role="scale-bar-tick", style="scale-bar"))
            if k % long_every == 0:
                texts.append(SheetText(values(k), tuple(map(float, at + across * (tall + 1.5) + np.array([0.0, 4.0 if way[0] else 1.5]))), 3.5, 0.0, "middle" if way[0] else "end"))

    mm = next((v for v in (1000, 500, 200, 100) if v <= room), None)
    inches = next((v for v in (36, 24, 12, 6, 3) if v * 25.4 <= room), None)
    down = 150.0 if room > 300 else 50.0
    x = np.array([1.0, 0.0])
    if mm:
        step = 10 if mm <= 200 else 50
        bar(np.array([left, top]), x, float(mm), float(step), 2, lambda k: "%d" % (k * step), "along")
        texts.append(SheetText("%d MM ALONG" % mm, (left, top - 3.0), 4.0))
    if inches:
        y = top + 30.0
        bar(np.array([left, y]), x, inches * 25.4, 25.4, 6 if inches > 6 else 1, lambda k: "%d" % k, "along")
        texts.append(SheetText("%d IN ALONG" % inches, (left, y - 3.0), 4.0))
    # across: to the right of the bars along where there is room, else below them
    reach = max(float(mm or 0), (inches or 0) * 25.4)
    beside = room - reach > 170
    cx, cy = (left + reach + 60.0, top) if beside else (left + 22.0, top + 60.0)
    y = np.array([0.0, 1.0])
    bar(np.array([cx, cy]), y, down, 10.0, 5, lambda k: "%d" % (10 * k), "across")
    texts.append(SheetText("%d MM ACROSS" % down, (cx + 3.0, cy + 8.0), 4.0))
    wide = 6 if down > 100 else 2
    bar(np.array([cx + 60.0, cy]), y, wide * 25.4, 25.4, 1, lambda k: "%d" % k, "across")
    texts.append(SheetText("%d IN ACROSS" % wide, (cx + 63.0, cy + 8.0), 4.0))
    lowest = cy + max(down, wide * 25.4)
    return (lowest, top + 46.0, reach + 20.0) if beside else (lowest, lowest + 4.0, room)


def _add_title(texts, plank, stations, saw, settings, left, top, room):
    """Title block and cautions. Returns the title and the y below."""
    title = describe_plank(plank) or "PLANK"
    length, width = plank.measure_length_mm(), plank.measure_width_mm()
    if saw:
        added = "  ".join("%s %s" % (n.upper(), format_mm(saw.added_mm[n]).upper()) for n in ("upper", "lower", "fore", "aft"))
        includes = ["CUT LINE (SOLID): SAW LINE. ADDED OUTSIDE THE NET LINE: " + added + ".",
                    "DASHED LINE: NET OUTLINE OF THE %s FACE, NO ALLOWANCE. NOT INCLUDED: BEVEL, HOLLOW, SEAM, SWELLING." % plank.face.upper()]
    else:
        includes = ["CUT LINE (SOLID): NET OUTLINE OF THE %s FACE. NO ALLOWANCE FOR SAW, ENDS, BEVEL, HOLLOW, SEAM OR SWELLING." % plank.face.upper()]
    kept = [m for m in plank.marks if m.verdict == "doubtful"]
    left_out = [m for m in plank.marks if m.verdict == "left-out"]
    doubts = ["DOUBTFUL MARKS %s: %s. MEASURE THEM AGAIN." % (how, ", ".join("%s%s (%.1f MM OFF)" % (m.edge.upper(), " " + m.station.upper() if m.station else "", abs(m.residual_mm)) for m in some))
              for how, some in (("KEPT", kept), ("LEFT OUT", left_out)) if some]
    rows = [
        (title, 10.0),
        ("SEEN FROM %s: THE BOARD LIES WITH ITS %s FACE UP.  NOT MIRRORED.  FWD TO THE %s, UPPER EDGE TO THE TOP."
         % (plank.seen_from.upper(), plank.seen_from.upper(), plank.forward.upper()), 5.0),
        ("NET LENGTH %s (%s).  GREATEST WIDTH %s (%s)." % (format_mm(length).upper(), format_inches(length).upper(), format_mm(width).upper(), format_inches(width).upper())
         + ("  THICKNESS %s." % format_mm(plank.thickness_mm).upper() if plank.thickness_mm else "")
         + ("  STATIONS: LABEL ABOVE, WIDTH IN MM BELOW." if stations else ""), 5.0),
        *((text, 5.0) for text in includes), *((text, 5.0) for text in doubts), *((text, 4.0) for text in CAUTIONS),
    ]
    if settings.file_name or settings.day:
        rows.append(("  ".join(t for t in ("FILE %s" % settings.file_name if settings.file_name else "", settings.day) if t), 4.0))
    y = top
    for text, height in rows:
        for part in _wrap(text, room, height):
            y += height * 1.85
            texts.append(SheetText(part, (left, y), height, style="warning" if text in doubts else "note"))
        y += 3.0 if text == title else 0.0
    return title, y


def _wrap(text, room_mm, height_mm):
    """Lines of a text, none longer than the room where its words allow."""
    lines, line = [], ""
    for word in text.split(" "):
        longer = line + " " + word if line else word
        if line and text_width_mm(longer, height_mm=height_mm) > room_mm:
            lines.append(line)
            longer = word
        line = longer
    return lines + [line]
