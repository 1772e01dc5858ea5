"""Pictures of the record: the plank with its figures, and its offsets as a chart."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import TRUE_UP
from ..errors import PatternError, SettingError
from ..geometry.curve import make_line
from ..model.drawing import SheetLine, SheetText
from ..model.record import Sketch
from ..units import format_inches

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Array, ArrayLike, Numbers, Point, Values
    from ..geometry.curve import Curve
    from ..model.drawing import Station
    from ..model.joints_and_fastenings import PlacedJoint
    from ..model.plank import Mark, Plank

__all__ = ["WIDTH_MM", "BaselineChart", "EdgeGraph", "draw_sketch", "name_scale"]


class BaselineChart:
    """A plank's baseline as axes: places on the page to (along, up) in mm and back."""

    def __init__(self, plank):
        self.start, self.along, across = plank.find_axes()
        corner = plank.find_corners()
        self.up = across if (corner["upper fore"] + corner["upper aft"] - corner["lower fore"]
                             - corner["lower aft"]) @ across > 0 else -across

    def find(self, points: ArrayLike) -> Array:
        """(n, 2) page places as (n, 2) of along and up."""
        away = np.asarray(points, float) - self.start
        return np.stack([away @ self.along, away @ self.up], axis=-1)


class EdgeGraph:
    """A curve as heights over distances along a straight line; refused where it doubles back."""

    def __init__(self, curve, start, along, up, what):
        self.curve, self.start, self.along, self.up = curve, np.asarray(start, float), along, up
        self.places = np.linspace(0, len(curve.cubics), 64 * len(curve.cubics) + 1)
        self.at = (curve.evaluate(self.places) - self.start) @ along
        turned = np.flatnonzero(np.diff(self.at) <= 0)
        if len(turned):
            raise PatternError("The %s turns back on itself, so it cannot be given by offsets." % what,
                               "Fair the plank with a longer shortest wave, or mend the trace there.",
                               tuple(map(float, curve.evaluate([self.places[turned[0]]])[0])))

    def evaluate(self, at: Numbers) -> Values:
        """Heights (n,) at distances (n,); beyond the ends the end pieces are extrapolated."""
        at = np.atleast_1d(np.asarray(at, float))
        u = np.interp(at, self.at, self.places)
        for _ in range(3):  # Newton's method: starts within 1/64 of a piece, and converges to the last digits
            slope = self.curve.evaluate(u, derivative=1) @ self.along
            u = u - ((self.curve.evaluate(u) - self.start) @ self.along - at) / np.where(np.abs(slope) < 1e-9, 1e-9,
                                                                                         slope)
        return (self.curve.evaluate(u) - self.start) @ self.up


WIDTH_MM = 186.0          # width between margins that fits A4 and letter paper
_HEIGHT_MM = 56.0         # greatest height of the plank, so that page 1 holds sketch, offsets and proof lengths
_EDGE_MM = 4.0
_LETTER_MM = 2.5
_RATIOS = {"mm": (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200),
           "inches": (1, 2, 4, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192)}
_BARS = {"mm": (2000, 1000, 500, 200, 100, 50, 20), "inches": (6 * 304.8, 3 * 304.8, 304.8, 152.4, 76.2, 25.4)}


def name_scale(ratio: float, *, figures: str) -> str:
    """'1:20', or of a scale in feet '1:16, 3/4 in to the foot'."""
    if figures == "mm":
        return "1:%g" % ratio
    return "1:%g, %s to the foot" % (ratio, format_inches(304.8 / ratio, denominator=32))


def draw_sketch(plank: Plank, stations: Sequence[Station], joints: Sequence[PlacedJoint] = (), *,
                figures: str) -> Sketch:
    """Draw a plank small.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    joints : sequence of PlacedJoint
    figures : str
        'mm' or 'inches': what the scale is named in.

    Returns
    -------
    Sketch
        With the bow the way it lies in the drawing, upper edge up, never mirrored.
    """
    chart = BaselineChart(plank)
    points = chart.find(np.vstack([c.flatten() for c in plank.outline()]))
    low, high = points.min(axis=0), points.max(axis=0)
    fits = [r for r in _RATIOS[figures] if (high[0] - low[0]) / r <= WIDTH_MM - 2 * _EDGE_MM
            and (high[1] - low[1]) / r <= _HEIGHT_MM]
    if not fits:
        raise SettingError("A plank %.0f mm long is too long for the record's sketch." % (high[0] - low[0]),
                           "Give the plank its true size (%s)." % TRUE_UP.title, "Sketch")
    ratio = float(fits[0])
    # the bow stays on the side that it has on the page
    aft = -1.0 if chart.along[0] * chart.up[1] - chart.along[1] * chart.up[0] > 0 else 1.0
    turn = np.stack([aft * chart.along, -chart.up]) / ratio
    left = (WIDTH_MM - (high[0] - low[0]) / ratio) / 2 - min(aft * low[0], aft * high[0]) / ratio
    top = 5.0 + 2 * _LETTER_MM + high[1] / ratio
    to_paper = np.hstack([turn, (np.array([left, top]) - turn @ chart.start)[:, None]])
    pen = _Pen(to_paper, ratio)
    for curve in plank.outline():
        pen.draw(curve, "edge")
    base = plank.find_baseline()
    pen.draw(make_line(base[0], base[1]), "baseline")
    bottom = top - low[1] / ratio
    for foot, word in zip(base, ("fore mark", "aft mark")):
        x, y = pen.find(foot)
        pen.stroke((x, y - 1.6), (x, y + 1.6), "mark")
        pen.letter(word, (x, bottom + 1.6 * _LETTER_MM), "start" if x < WIDTH_MM / 2 else "end")
    _draw_stations(pen, stations, top - high[1] / ratio - 3.2)
    _draw_joints(pen, joints, chart, bottom + 3.2 * _LETTER_MM)
    _ring_marks(pen, plank)
    end = _draw_foot(pen, bottom + (4.6 if joints else 3.2) * _LETTER_MM - 2.0, ratio, figures, bow=-aft)
    return Sketch(WIDTH_MM, end, ratio=ratio, scale=name_scale(ratio, figures=figures), lines=tuple(pen.lines),
                  texts=tuple(pen.texts))


class _Pen:
    """Collects lines and words on paper, mm."""

    def __init__(self, to_paper, ratio):
        self.to_paper, self.ratio, self.lines, self.texts = to_paper, ratio, [], []

    def find(self, point: ArrayLike) -> Point:
        """A place on the page as a place on the paper."""
        return self.to_paper[:, :2] @ np.asarray(point, float) + self.to_paper[:, 2]

    def draw(self, curve: Curve, role: str) -> None:
        self.lines.append(SheetLine(curve.transform(self.to_paper).cubics, "draw", role, role))

    def stroke(self, start: ArrayLike, end: ArrayLike, role: str) -> None:
        self.lines.append(SheetLine(make_line(start, end).cubics, "draw", role, role))

    def ring(self, centre: Point, radius: float, role: str) -> None:
        k = 4 / 3 * np.tan(np.pi / 8)
        quarter = np.array([(1, 0), (1, k), (k, 1), (0, 1)])
        turns = [np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]) for a in np.arange(4) * np.pi / 2]
        self.lines.append(SheetLine(np.stack([radius * quarter @ t for t in turns]) + centre, "draw", role=role,
                                    style=role, closed=True))

    def letter(self, text: str, at: ArrayLike, anchor: str = "middle", height_mm: float = _LETTER_MM) -> None:
        self.texts.append(SheetText(text, (float(at[0]), float(at[1])), height_mm=height_mm, angle_deg=0.0,
                                    anchor=anchor))


def _draw_stations(pen, stations, y):
    """Lines across, and labels in a row above; where labels would touch, the later one is left out."""
    free = -np.inf
    for station in sorted(stations, key=lambda s: pen.find(s.line[0])[0]):
        upper, lower = (pen.find(p) for p in station.line)
        pen.stroke(upper, lower, "station")
        half = 0.36 * _LETTER_MM * len(station.label)
        if upper[0] - half > free:
            pen.stroke((upper[0], y + 0.6), upper, "lead")
            pen.letter(station.label, (upper[0], y))
            free = upper[0] + half + 1.0


def _draw_joints(pen, joints, chart, y):
    """A joint's middle, and of a scarf both its ends; its label in a row below."""
    for joint in joints:
        half = joint.length_mm / 2 * chart.along
        for shift in ((0.0,) if joint.kind == "butt" else (-1.0, 1.0)):
            pen.stroke(*(pen.find(p + shift * half) for p in joint.line), "joint")
        if joint.kind != "butt":
            pen.stroke(pen.find(joint.line[0] - half), pen.find(joint.line[1] + half), "joint")
        low = pen.find(joint.line[1])
        pen.stroke(low, (low[0], y - _LETTER_MM), "lead")
        pen.letter("%s %s" % (joint.kind, joint.label), (low[0], y))


def find_worst_mark(plank: Plank) -> Mark | None:
    """The mark that lies farthest off the fair edges, or None."""
    return max(plank.marks, key=lambda m: abs(m.residual_mm), default=None)


def _ring_marks(pen, plank):
    worst = find_worst_mark(plank)
    for mark in plank.marks:
        if mark.verdict != "used":
            pen.ring(pen.find(mark.point), 2.2, "doubtful")
        elif worst is not None and mark is worst:
            pen.ring(pen.find(mark.point), 1.6, "worst")


def _draw_foot(pen, y, ratio, figures, *, bow):
    """UP and FWD, the bar of the scale and its words. Returns the y below."""
    # FWD on the side of the bow, the scale bar on the other
    edge = WIDTH_MM - _EDGE_MM if bow > 0 else _EDGE_MM
    tip, tail = np.array([edge, y + 7.0]), np.array([edge - bow * 16.0, y + 7.0])
    _draw_arrow(pen, tail, tip)
    pen.letter("FWD", (tail + tip) / 2 + (0, -1.4), height_mm=3.2)
    foot = np.array([edge - bow * 24.0, y + 9.5])
    _draw_arrow(pen, foot, foot + (0.0, -9.0))
    pen.letter("UP", foot + (-bow * 1.6, -2.0), "start" if bow < 0 else "end", height_mm=3.2)
    most = next((v for v in _BARS[figures] if v / ratio <= 80.0), _BARS[figures][-1])
    start = _EDGE_MM if bow > 0 else WIDTH_MM - _EDGE_MM - most / ratio
    for k in range(5):
        x = start + most / ratio * k / 4
        pen.stroke((x, y + 7.0), (x, y + 7.0 - (2.4 if k % 4 == 0 else 1.4)), "bar")
    pen.stroke((start, y + 7.0), (start + most / ratio, y + 7.0), "bar")
    words = "%d mm" % most if figures == "mm" else "%g ft" % (most / 304.8) if most >= 304.8 else format_inches(most)
    pen.letter("%s of the plank. Scale %s." % (words, name_scale(ratio, figures=figures)),
               (start if bow > 0 else WIDTH_MM - _EDGE_MM, y + 10.8), "start" if bow > 0 else "end")
    return float(y + 12.5)


def _draw_arrow(pen, tail, tip):
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    pen.stroke(tail, tip, "arrow")
    for s in (1, -1):
        pen.stroke(tip, tip - 2.6 * way + s * 1.1 * side, "arrow")
