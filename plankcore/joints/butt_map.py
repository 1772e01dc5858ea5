"""The butt map: strakes by frames of one side, to scale along it, every joint, and and those that fail, on one page. A
part of joints."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import stroke_text, text_width_mm
from ..geometry.strokes import draw_polyline, sample_lines
from ..model.drawing import SheetLine, SheetText
from ..model.page import Page
from ..model.typed import refuse_unknown
from ..paper.blocks import wrap_words
from . import lettering
from .map_chart import MARGIN_MM, ROW_MM, MapChart, find_new_planks

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Station
    from ..model.joints_and_fastenings import Joint, SideFrames, Verdict
    from ..model.plank import Plank
    from ..trade.butt_rules import ButtRule

__all__ = ["PAGES", "draw_butt_map"]

PAGES = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
_BARS = {"mm": (10000, 5000, 2000, 1000, 500, 200, 100), "in": tuple(f * 304.8 for f in (40, 20, 10, 5, 2, 1))}
_BAR_MM = 70.0            # greatest length of the scale bar on the page
_NUMBER_MM, _BESIDE_MM = 2.6, 2.2


def draw_butt_map(plank: Plank, frames: SideFrames, joints: Sequence[Joint], verdicts: Sequence[Verdict],
                  rule: ButtRule, *, others: Sequence[tuple[Plank, Sequence[Station]]] = (), page: str = "a4",
                  unit: str = "mm", file_name: str = "") -> Page:
    """A page with a row to each strake, the garboard lowest, and a line to each frame, seen from outboard; distances
    along the side are to scale, rows are not.

    Parameters
    ----------
    plank : Plank
        The plank at hand: its outline is framed; it is hatched like all new planks.
    frames : SideFrames
    joints : sequence of Joint
        Of the plank's side.
    verdicts : sequence of Verdict
        Of pairs and single joints; those that fail are numbered on the map and listed.
    rule : ButtRule
    others : sequence of (Plank, stations)
        The other new planks that are known, of any side.
    page : str
        One of PAGES, landscape.
    unit : str
        Unit of the frame spaces and the scale bar: 'in' for inches and feet, else mm.

    Returns
    -------
    Page

    Raises
    ------
    SettingError
        If the side is too large to be legible on one page.
    """
    refuse_unknown(page, PAGES, problem="There is no page '%s'.", remedy="Choose one of: %s.", field="Map page")
    width, height = PAGES[page]
    fails = [v for v in verdicts if v.passed is False]
    planks, joints, lost = find_new_planks(plank, frames, joints, others)
    chart = MapChart(plank, frames, joints=joints, planks=planks, page_mm=(width, height), listed=len(fails))
    lines, texts = [], []
    _draw_grid(chart, lines, texts)
    for one in planks:
        _draw_plank(chart, lines, texts, one=one, joints=joints)
    for joint in joints:
        _draw_joint(chart, lines, joint)
    at = {(j.strake, j.kind, j.bay): j.number for j in joints}
    spots = [_draw_fail(chart, lines, verdict=verdict, number=number, at=at) for number, verdict in enumerate(fails, 1)]
    _draw_bar(chart, lines, texts, unit)
    _number_fails(lines, texts, spots)
    _letter(chart, texts, rule=rule, verdicts=verdicts, fails=fails, lost=lost, file_name=file_name, unit=unit)
    title = lettering.name_map(plank)
    return Page("butt map", width, height_mm=height,
                lines=tuple(lines + [one for text in texts for one in _spell(text)]), title=title)


def _line(points, style, role, **values):
    return SheetLine(draw_polyline(points), "draw", role=role, style=style, closed=False, values=tuple(values.items()))


def _spell(text):
    """Words as a line of strokes with the text in its values; an empty list for blank text."""
    strokes = stroke_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                          anchor=text.anchor)
    return [SheetLine(np.concatenate([draw_polyline(s) for s in strokes]), "draw", role=text.role, style=text.style,
                      closed=False,
                      values=(("text", text.text),))] if strokes else []


def _draw_grid(chart, lines, texts):
    for k in range(chart.high - chart.low + 2):
        y = chart.foot - k * chart.row
        lines.append(_line([(chart.left, y), (chart.right, y)], "grid", "grid"))
    high = float(np.clip(0.42 * chart.row, 1.8, 3.2))
    for number in range(chart.low, chart.high + 1):
        own = number == chart.number
        name = chart.plank.strake if own and chart.plank.strake else chart.names.get(number, str(number))
        said = lettering.letter_strake(name, full=number in (chart.low, chart.high) or own)
        texts.append(SheetText(said, (chart.left - 2.0, chart.y(number) + high / 2), height_mm=high, angle_deg=0.0,
                               anchor="end"))
    places, free = chart.frames.distances_mm, []
    for k in range(chart.first, chart.last + 1):
        x, label = chart.x(places[k]), chart.frames.labels[k]
        lines.append(_line([(x, chart.top), (x, chart.foot)], "grid", "grid", frame=label,
                           distance_mm=float(places[k])))
        half = text_width_mm(label.upper(), height_mm=2.3) / 2
        if all(abs(x - other) > half + room + 0.8 for other, room in free):
            free.append((x, half))
            texts.append(SheetText(label.upper(), (x, chart.top - 2.0), height_mm=2.3, angle_deg=0.0, anchor="middle"))
    texts.append(SheetText(lettering.FRAMES, (chart.left - 6.0, chart.top - 2.0), height_mm=2.3, angle_deg=0.0,
                           anchor="end"))


def _letter_spaces(chart, texts, unit):
    """Letter each frame space below its bay, or none at all where one has no room. Returns whether they were lettered.
    """
    places = chart.frames.distances_mm[chart.first:chart.last + 1]
    words = [lettering.letter_space(b - a, unit) for a, b in zip(places[:-1], places[1:])]
    rooms = np.diff(places) / chart.ratio
    if any(text_width_mm(word, height_mm=1.8) + 0.8 > room for word, room in zip(words, rooms)):
        return False
    for word, a, b in zip(words, places[:-1], places[1:]):
        texts.append(SheetText(word, ((chart.x(a) + chart.x(b)) / 2, chart.foot + 2.8), height_mm=1.8, angle_deg=0.0,
                               anchor="middle", role="space"))
    return True


def _draw_plank(chart, lines, texts, one, joints):
    """A new plank's stretch of its row: framed, hatched, and labelled where there is room."""
    a, b = sorted(chart.x(v) for v in (one.from_mm, one.to_mm))
    tall = chart.row / 2 if one.own else 0.42 * chart.row
    top, foot = chart.y(one.number) - tall, chart.y(one.number) + tall
    role = "this-plank" if one.own else "new-plank"
    lines.append(_line([(a, top), (b, top), (b, foot), (a, foot), (a, top)], "edge" if one.own else "hatch", role,
                       strake=one.strake, from_mm=float(one.from_mm), to_mm=float(one.to_mm)))
    stops = sorted([a, b] + [x for x in (chart.x(j.distance_mm) for j in joints if j.number == one.number)
                             if a < x < b])
    start, end = max(zip(stops[:-1], stops[1:]), key=lambda pair: pair[1] - pair[0])
    middle, high = (start + end) / 2, float(np.clip(0.3 * chart.row, 1.6, 2.6))
    word = one.strake.upper()
    half = text_width_mm(word, height_mm=high) / 2 + 1.0 if word else 0.0
    half = half if 2 * half + 4.0 < end - start else 0.0
    # in a bay that is wide enough for the word
    lines_at = sorted(chart.x(v) for v in chart.frames.distances_mm)
    bays = [(p + q) / 2 for p, q in zip(lines_at[:-1], lines_at[1:]) if q - p > 2 * half
            and start + half < (p + q) / 2 < end - half]
    middle = min(bays, key=lambda at: abs(at - middle), default=middle)
    if half:
        texts.append(SheetText(word, (middle, chart.y(one.number) + high / 2), height_mm=high, angle_deg=0.0,
                               anchor="middle", role="strake"))
    for x in np.arange(a - 2 * tall, b, 3.0 if one.own else 4.5):
        for low, high_x in ((max(a, x), min(middle - half, x + 2 * tall)),
                            (max(middle + half, x, a), min(b, x + 2 * tall))):
            if high_x - low > 0.3:
                lines.append(_line([(low, foot - (low - x)), (high_x, foot - (high_x - x))], "hatch", role))


def _draw_bar(chart, lines, texts, unit):
    """The bar of the scale, between the words at the map's foot."""
    sizes = _BARS["in" if unit == "in" else "mm"]
    long = next((v for v in sizes if v / chart.ratio <= _BAR_MM), sizes[-1])
    x, y = (chart.left + chart.right) / 2 - long / chart.ratio / 2, chart.foot + 6.5
    ends = [(x, y), (x + long / chart.ratio, y)]
    lines.append(_line(ends, "map-joint", "map-bar", length_mm=float(long), ratio=chart.ratio))
    lines += [_line([(at, y - 1.2), (at, y + 1.2)], "edge", "map-bar-end") for at, _ in ends]
    said = lettering.letter_scale(long, chart.ratio, unit)
    texts.append(SheetText(said, ((chart.left + chart.right) / 2, y + 4.0), height_mm=2.1, angle_deg=0.0,
                           anchor="middle", role="scale"))


def _draw_joint(chart, lines, joint):
    x, y, tall = chart.x(joint.distance_mm), chart.y(joint.number), chart.row / 2
    lean = min(0.35 * chart.row, 2.5) if joint.kind == "scarf" else 0.0
    lines.append(_line([(x - lean, y + tall), (x + lean, y - tall)], "map-joint", "joint", strake=joint.strake,
                       kind=joint.kind, bay=joint.bay, distance_mm=float(joint.distance_mm)))


def _draw_fail(chart, lines, verdict, number, at):
    """A broken line from joint to joint of a failing pair; beside them where they lie in one bay, for over other joints
    it would be read as theirs. Places (n, 2) where its number may stand, the most wanted first.

    at : {(strake, kind, bay): row} of the joints.
    """
    ends = np.array([(chart.x(j.distance_mm), chart.y(at.get((j.strake, j.kind, j.bay), j.number)))
                     for j in verdict.joints])
    if len(ends) != 2:
        return ends.mean(axis=0)[None]
    way = ends
    if abs(ends[0, 0] - ends[1, 0]) < _BESIDE_MM:
        way = np.array([ends[0], ends[0] + [_BESIDE_MM, 0.0], ends[1] + [_BESIDE_MM, 0.0], ends[1]])
    lines.append(_line(way, "failing", "failing", number=number))
    middle = way[len(way) // 2 - 1:len(way) // 2 + 1]
    share = np.array([0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95])[:, None]
    return middle[0] + share * (middle[1] - middle[0])


def _number_fails(lines, texts, spots):
    """The number of each failing pair as near to its line as it is crossed by nothing; where there is no such place,
    beside the line's middle.
    """
    taken = sample_lines([one.cubics for one in lines], tolerance_mm=0.2, step_mm=0.4)
    turns = np.radians(np.arange(0, 360, 30.0))
    away = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    for number, places in enumerate(spots, 1):
        half = np.array([text_width_mm(str(number), height_mm=_NUMBER_MM), _NUMBER_MM]) / 2
        tried = np.concatenate([places + out * one for out in (2.2, 3.0, 4.0, 5.5, 7.0) for one in away])
        free = next((at for at in tried if not np.any(np.all(np.abs(taken - at) < half + 0.5, axis=1))),
                    places[0] + [1.0 + half[0], -0.6 - half[1]])
        box = np.stack(np.meshgrid(*(np.linspace(-h, h, 8) for h in half)), axis=-1).reshape(-1, 2)
        taken = np.concatenate([taken, free + box])
        texts.append(SheetText(str(number), (float(free[0]), float(free[1] + half[1])), height_mm=_NUMBER_MM,
                               angle_deg=0.0, anchor="middle", style="warning", role="number"))


def _letter(chart, texts, *, rule, verdicts, fails, lost, file_name, unit):
    width, height = chart.page
    left, room = MARGIN_MM, width - 2 * MARGIN_MM
    plank = chart.plank
    texts.append(SheetText(lettering.head_map(plank), (left, MARGIN_MM + 5.0), 4.5))
    y = MARGIN_MM + 10.0
    for text in lettering.letter_rule(rule):
        for part in wrap_words(text, room, 2.1):
            texts.append(SheetText(part, (left, y), 2.1))
            y += 3.3
    texts.append(SheetText(lettering.FORWARD, (chart.right, chart.foot + 7.5) if chart.bow_right
                           else (chart.left, chart.foot + 7.5), height_mm=2.6, angle_deg=0.0,
                           anchor="end" if chart.bow_right else "start"))
    low_at = (chart.left if chart.bow_right else chart.right, chart.foot + 7.5)
    texts.append(SheetText(lettering.GARBOARD_LOWEST, low_at, height_mm=2.1, angle_deg=0.0,
                           anchor="start" if chart.bow_right else "end"))
    spaced = _letter_spaces(chart, texts, unit)
    y = chart.foot + 15.0
    passed = sum(v.passed is True for v in verdicts)
    unjudged = sum(v.passed is None for v in verdicts)
    signs = lettering.letter_signs(unit if spaced else "", measured=chart.frames.datum_mm is not None, lost=lost)
    for part in wrap_words(signs, room, 2.1):
        texts.append(SheetText(part, (left, y), 2.1))
        y += 3.3
    y -= 3.3
    texts.append(SheetText(lettering.letter_count(len(fails), passed, unjudged), (left, y + 4.2),
                           height_mm=2.6, angle_deg=0.0, anchor="start", style="warning" if fails else "note"))
    y += 8.4
    fit = int((height - MARGIN_MM - 6.0 - y) / ROW_MM)
    columns = 2 if len(fails) > fit else 1
    for k, verdict in enumerate(fails[:fit * columns]):
        said = lettering.letter_fail(k + 1, verdict)
        room_here = room / columns - 4.0
        high = min(2.3, room_here / text_width_mm(said, height_mm=1.0))
        texts.append(SheetText(said, (left + (k // fit) * room / columns, y + (k % fit) * ROW_MM), high))
    if len(fails) > fit * columns:
        texts.append(SheetText(lettering.letter_more(len(fails) - fit * columns), (left, y + fit * ROW_MM),
                               height_mm=2.3,
                               angle_deg=0.0, anchor="start", style="warning"))
    foot = lettering.foot_map(file_name)
    texts.append(SheetText(foot, (left, height - MARGIN_MM), min(2.3, room / text_width_mm(foot, height_mm=1.0))))
