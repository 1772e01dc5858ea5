"""The butt map: strakes by frames of one side, every joint, and what fails, on one page. A part of joints."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.lettering import stroke_text, text_width_mm
from ..geometry.strokes import draw_polyline
from ..model.drawing import SheetLine, SheetText
from ..model.page import Page
from ..model.ranges import refuse_unknown
from ..paper.setting import wrap_words
from . import lettering

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.joint import Joint, SideFrames, Verdict
    from ..model.plank import Plank
    from ..trade.butt_rules import ButtRule

__all__ = ["PAGES", "draw_butt_map"]

PAGES = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
MARGIN_MM = 10.0
MOST_STRAKES, MOST_FRAMES = 40, 120
_LEFT, _TOP = 24.0, 34.0          # room for strake names, and for the title
_ROW_MM = 3.6                     # of the list of verdicts


def draw_butt_map(plank: Plank, frames: SideFrames, joints: Sequence[Joint], verdicts: Sequence[Verdict],
                  rule: ButtRule, *, page: str = "a4", file_name: str = "") -> Page:
    """A page with a row to each strake, the garboard lowest, and a line to each frame, seen from outboard.

    Parameters
    ----------
    plank : Plank
        Highlighted.
    frames : SideFrames
    joints : sequence of Joint
        Of the plank's side.
    verdicts : sequence of Verdict
        Of pairs and single joints; those that fail are numbered on the map and listed.
    rule : ButtRule
    page : str
        One of PAGES, landscape.

    Returns
    -------
    Page

    Raises
    ------
    SettingError
        If the side is too large for one page to be read.
    """
    refuse_unknown(page, PAGES, problem="There is no page '%s'.", remedy="Choose one of: %s.", field="Map page")
    width, height = PAGES[page]
    fails = [v for v in verdicts if v.passed is False]
    chart = _Chart(plank, frames, joints=joints, width=width, height=height, fails=len(fails))
    lines, texts = [], []
    _draw_grid(chart, lines, texts)
    _draw_plank(chart, lines, texts)
    for joint in joints:
        _draw_joint(chart, lines, joint)
    for number, verdict in enumerate(fails, 1):
        _draw_fail(chart, lines, texts=texts, verdict=verdict, number=number)
    _letter(chart, texts, lines=lines, rule=rule, verdicts=verdicts, fails=fails, file_name=file_name)
    title = lettering.name_map(plank)
    return Page("butt map", width, height_mm=height,
                lines=tuple(lines + [one for text in texts for one in _spell(text)]), title=title)


class _Chart:
    """From strake and place to the page."""

    def __init__(self, plank, frames, joints, width, height, fails):
        self.plank, self.frames, self.page = plank, frames, (width, height)
        own = [j for j in joints if j.ours]
        self.number = own[0].number if own else 0
        numbers = [j.number for j in joints] + [self.number]
        self.low, self.high = max(min(numbers), 1) if min(numbers) > 0 else min(numbers), max(numbers)
        self.low = min(self.low, 1) if self.low > 0 else self.low
        if self.high - self.low + 1 > MOST_STRAKES:
            raise SettingError("The map would hold %d strakes; one page can be read with %d."
                               % (self.high - self.low + 1, MOST_STRAKES),
                               "Take strakes far from the plank out of the table.", "Map file")
        places = [j.place for j in joints] + [frames.first - 0.5, frames.last + 0.5]
        self.first = max(int(np.floor(min(places))) - 1, 0)
        self.last = min(int(np.ceil(max(places))) + 1, len(frames.labels) - 1)
        if self.last - self.first > MOST_FRAMES:
            raise SettingError("The map would hold %d frames; one page can be read with %d." % (
                self.last - self.first, MOST_FRAMES), "Take joints far from the plank out of the table.", "Map file")
        self.names = {j.number: j.strake for j in joints}
        list_mm = 26.0 + _ROW_MM * min(max(fails, 1), 14)
        self.left, self.right = MARGIN_MM + _LEFT, width - MARGIN_MM - 4.0
        self.top, self.foot = MARGIN_MM + _TOP, height - MARGIN_MM - list_mm
        self.row = min((self.foot - self.top) / (self.high - self.low + 1), 14.0)
        self.foot = self.top + self.row * (self.high - self.low + 1)
        self.bow_right = plank.side == "starboard"

    def x(self, place: float) -> float:
        share = (place - self.first) / (self.last - self.first)
        return self.right - share * (self.right - self.left) if self.bow_right else self.left + share * (
            self.right - self.left)

    def y(self, number: int) -> float:
        """Middle of a strake's row."""
        return self.foot - (number - self.low + 0.5) * self.row


def _line(points, style, role, **values):
    return SheetLine(draw_polyline(points), "draw", role=role, style=style, closed=False, values=tuple(values.items()))


def _spell(text):
    """Words as a line of strokes that carries them in its values; none for blanks."""
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
    spaces = chart.last - chart.first
    step = next(s for s in (1, 2, 5, 10, 20) if (chart.right - chart.left) / spaces * s > 5.5 or s == 20)
    for k in range(chart.first, chart.last + 1):
        lines.append(_line([(chart.x(k), chart.top), (chart.x(k), chart.foot)], "grid", "grid",
                           frame=chart.frames.labels[k]))
        if (k - chart.first) % step == 0:
            texts.append(SheetText(chart.frames.labels[k].upper(), (chart.x(k), chart.top - 2.0), height_mm=2.3,
                                   angle_deg=0.0, anchor="middle"))
    texts.append(SheetText(lettering.FRAMES, (chart.left - 6.0, chart.top - 2.0), height_mm=2.3, angle_deg=0.0,
                           anchor="end"))


def _draw_plank(chart, lines, texts):
    """This plank's stretch of its row, bordered and hatched."""
    frames = chart.frames
    ends = [float(np.interp(d, frames.distances_mm, np.arange(len(frames.labels))))
            for d in (0.0, chart.plank.measure_length_mm())]
    a, b = sorted(chart.x(p) for p in np.clip(ends, chart.first, chart.last))
    top, foot = chart.y(chart.number) - chart.row / 2, chart.y(chart.number) + chart.row / 2
    lines.append(_line([(a, top), (b, top), (b, foot), (a, foot), (a, top)], "edge", "this-plank"))
    for x in np.arange(a - chart.row, b, 3.0):
        low, high = max(a, x), min(b, x + chart.row)
        if high - low > 0.3:
            lines.append(_line([(low, foot - (low - x)), (high, foot - (high - x))], "hatch", "this-plank"))


def _draw_joint(chart, lines, joint):
    x, y, tall = chart.x(joint.place), chart.y(joint.number), chart.row / 2
    lean = min(0.35 * chart.row, 2.5) if joint.kind == "scarf" else 0.0
    lines.append(_line([(x - lean, y + tall), (x + lean, y - tall)], "map-joint", "joint", strake=joint.strake,
                       kind=joint.kind, bay=joint.bay))


def _draw_fail(chart, lines, texts, verdict, number):
    ends = np.array([(chart.x(j.place), chart.y(j.number)) for j in verdict.joints])
    if len(ends) == 2:
        lines.append(_line(ends, "failing", "failing", number=number))
    spot = ends.mean(axis=0)
    # several failing pairs share an end: their numbers stand at different parts of their lines
    if len(ends) == 2:
        spot = ends[0] + (ends[1] - ends[0]) * (0.5, 0.35, 0.65)[number % 3]
    texts.append(SheetText(str(number), (float(spot[0] + 1.0), float(spot[1] - 0.6)), height_mm=2.6, angle_deg=0.0,
                           anchor="start", style="warning",
                           role="number"))


def _letter(chart, texts, lines, rule, verdicts, fails, file_name):
    width, height = chart.page
    left, room = MARGIN_MM, width - 2 * MARGIN_MM
    plank = chart.plank
    texts.append(SheetText(lettering.head_map(plank), (left, MARGIN_MM + 5.0), 4.5))
    y = MARGIN_MM + 10.0
    for text in lettering.letter_rule(rule):
        for part in wrap_words(text, room, 2.1):
            texts.append(SheetText(part, (left, y), 2.1))
            y += 3.3
    texts.append(SheetText(lettering.FORWARD, (chart.right, chart.foot + 4.5) if chart.bow_right
                           else (chart.left, chart.foot + 4.5), height_mm=2.6, angle_deg=0.0,
                           anchor="end" if chart.bow_right else "start"))
    low_at = (chart.left if chart.bow_right else chart.right, chart.foot + 4.5)
    texts.append(SheetText(lettering.GARBOARD_LOWEST, low_at, height_mm=2.1, angle_deg=0.0,
                           anchor="start" if chart.bow_right else "end"))
    y = chart.foot + 9.5
    passed = sum(v.passed is True for v in verdicts)
    unjudged = sum(v.passed is None for v in verdicts)
    texts.append(SheetText(lettering.MAP_SIGNS, (left, y), 2.1))
    texts.append(SheetText(lettering.letter_count(len(fails), passed, unjudged), (left, y + 4.2),
                           height_mm=2.6, angle_deg=0.0, anchor="start", style="warning" if fails else "note"))
    y += 8.4
    fit = int((height - MARGIN_MM - 6.0 - y) / _ROW_MM)
    columns = 2 if len(fails) > fit else 1
    for k, verdict in enumerate(fails[:fit * columns]):
        said = lettering.letter_fail(k + 1, verdict)
        room_here = room / columns - 4.0
        high = min(2.3, room_here / text_width_mm(said, height_mm=1.0))
        texts.append(SheetText(said, (left + (k // fit) * room / columns, y + (k % fit) * _ROW_MM), high))
    if len(fails) > fit * columns:
        texts.append(SheetText(lettering.letter_more(len(fails) - fit * columns), (left, y + fit * _ROW_MM),
                               height_mm=2.3,
                               angle_deg=0.0, anchor="start", style="warning"))
    foot = lettering.foot_map(file_name)
    texts.append(SheetText(foot, (left, height - MARGIN_MM), min(2.3, room / text_width_mm(foot, height_mm=1.0))))
