"""What the checks say, drawn: a ring and a few words at each fail and doubt, and the table of all results clear of all
that lies on the page.
"""
from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.bezier import draw_circle
from ..geometry.lettering import text_width_mm
from ..geometry.strokes import draw_polyline
from ..model.drawing import Overlay, SheetLine, SheetText

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Point
    from ..model.check import CheckResult, PlankState

__all__ = ["draw_results", "tell_table_place"]

RING_MM = 10.0            # larger than the rings of other actions, which may stand at the same place
TAG_MM, FIRST_MM, LANE_MM, MOST_LANES = 5.0, 26.0, 9.0, 24
SAME_MM = 12.0            # places closer together than this share a ring
MOST_RINGS = 4            # most rings for one check: more would hide the plank
LETTER_MM, TITLE_MM, CLEAR_MM = 4.5, 9.0, 30.0
PITCH, GAP = 1.75, 2.2    # line spacing, and gap between columns, in capital heights
# most letters in a line of each column
_WIDE = {"CHECK": 44, "PASS": 44, "NOT JUDGED": 44, "NO": 3, "FROM": 4, "FOUND": 62, "LIMIT": 46, "WHAT TO DO": 62,
         "NEEDS": 62}
_SOURCE_LETTERS = 100     # so that the sources are no wider than the columns above them
_VERDICTS = {"fail": "FAIL", "doubt": "DOUBT", "pass": "PASS", "not judged": "NOT JUDGED"}


def draw_results(state: PlankState, results: Sequence[CheckResult], *, summary: str, caution: str,
                 facts: Any) -> Overlay:
    """The Overlay of results.

    Parameters
    ----------
    state : PlankState
    results : sequence of CheckResult
    summary, caution : str
        Lettered above the table.
    facts : sequence of Fact
        What the layer carries.
    """
    ordered = [r for v in ("fail", "doubt") for r in results if r.verdict == v]
    lines, texts = [], []
    page = _Page(state)
    _mark_places(page, ordered, lines, texts)
    table = _lay_table(ordered, results, summary, caution)
    left, top = page.find_room(table.width_mm, table.height_mm)
    shift = np.array([left, top])
    lines += [SheetLine(line.cubics + shift, line.pen, line.role, line.style) for line in table.lines]
    texts += [SheetText(t.text, (t.at_mm[0] + left, t.at_mm[1] + top), height_mm=t.height_mm, angle_deg=t.angle_deg,
                        anchor=t.anchor, style=t.style,
                        role=t.role) for t in table.texts]
    return Overlay(tuple(lines), tuple(texts), tuple(facts))


def tell_table_place(state: PlankState, overlay: Overlay) -> str:
    """'below' or 'above': where the table of an Overlay of `draw_results` lies from the plank."""
    title = next(t for t in overlay.texts if t.height_mm == TITLE_MM)
    middle = np.vstack([c.flatten(tolerance_mm=0.5) for c in state.plank.outline()])[:, 1].mean()
    return "below" if title.at_mm[1] > middle else "above"


class _Page:
    """The plank's place on the page: which way it runs, what is taken, and where there is room."""

    def __init__(self, state):
        plank = state.plank
        self.start, along, _across = plank.find_axes()
        self.right = along if along[0] >= 0 else -along
        self.down = np.array([-self.right[1], self.right[0]])
        self.angle = float(np.degrees(np.arctan2(self.right[1], self.right[0])))
        outline = np.vstack([c.flatten(tolerance_mm=0.5) for c in plank.outline()]) - self.start
        self.shape = outline @ self.right, outline @ self.down
        self.edges = {}
        for name in ("upper", "lower"):
            points = plank.edges[name].curve.flatten(tolerance_mm=0.5) - self.start
            order = np.argsort(points @ self.right)
            self.edges[name] = (points @ self.right)[order], (points @ self.down)[order]
        self.taken = [tuple(map(float, box)) for box in np.reshape(np.asarray(state.clutter, float), (-1, 4))]
        points = outline + self.start
        own = [np.array([points.min(axis=0), points.max(axis=0)])] + ([np.asarray(state.boxes[0], float)]
                                                                      if state.boxes else [])
        self.own = np.array([np.min([b[0] for b in own], axis=0), np.max([b[1] for b in own], axis=0)])
        self.others = [np.asarray(b, float) for b in state.boxes[1:]]

    def place_tag(self, at: Sequence[float], texts_mm: Sequence[float]) -> tuple[list[Point], float]:
        """Places for several lines of words about a point, outside the plank, and the sign of the way out along `down`.
        """
        x, y = (np.asarray(at, float) - self.start) @ self.right, (np.asarray(at, float) - self.start) @ self.down
        levels = sorted(float(np.interp(x, *self.edges[e])) for e in ("upper", "lower"))
        sense = -1.0 if y < sum(levels) / 2 else 1.0
        edge = min(levels[0], y) if sense < 0 else max(levels[1], y)
        wide = max(texts_mm)
        for lane in range(MOST_LANES):
            level = edge + sense * (FIRST_MM + LANE_MM * lane)
            base = level if sense < 0 else level + TAG_MM
            spots = [self.start + (x - wide / 2) * self.right + (base + sense * LANE_MM * k) * self.down
                     for k in range(len(texts_mm))]
            boxes = [self._box(spot, w) for spot, w in zip(spots, texts_mm)]
            if not any(_overlap(a, b) for a in boxes for b in self.taken):
                break
        self.taken += boxes
        self.own = np.array([np.min([self.own[0], *(b[:2] for b in boxes)], axis=0),
                             np.max([self.own[1], *(b[2:] for b in boxes)], axis=0)])
        return spots, sense

    def _box(self, spot, wide):
        corners = np.array([spot, spot + wide * self.right, spot - TAG_MM * self.down,
                            spot + wide * self.right - TAG_MM * self.down])
        low, high = corners.min(axis=0) - 1.5, corners.max(axis=0) + 1.5
        return (*map(float, low), *map(float, high))

    def find_room(self, width_mm: float, height_mm: float) -> tuple[float, ...]:
        """Upper left corner of a place for the table: below the plank, or above it where that is nearer, clear of all
        other planks and lines on the page.
        """
        left = float(self.own[0, 0])
        below, above = float(self.own[1, 1]) + CLEAR_MM, float(self.own[0, 1]) - CLEAR_MM - height_mm
        beside = [b for b in self.others if b[0, 0] < left + width_mm + CLEAR_MM and b[1, 0] > left - CLEAR_MM]
        for box in sorted(beside, key=lambda b: b[0, 1]):
            if box[0, 1] < below + height_mm + CLEAR_MM and box[1, 1] > below - CLEAR_MM:
                below = float(box[1, 1]) + CLEAR_MM
        for box in sorted(beside, key=lambda b: -b[1, 1]):
            if box[0, 1] < above + height_mm + CLEAR_MM and box[1, 1] > above - CLEAR_MM:
                above = float(box[0, 1]) - CLEAR_MM - height_mm
        # both are distances from the plank's own box; the smaller wins, so that the table is seen to belong to it
        down, up = below - float(self.own[1, 1]), float(self.own[0, 1]) - (above + height_mm)
        return (left, below) if down <= up + CLEAR_MM else (left, above)


def _overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _mark_places(page, ordered, lines, texts):
    """Rings, and beside each its number in the table and the check's name."""
    spots = []
    for number, result in enumerate(ordered, 1):
        for at in result.where[:MOST_RINGS]:
            near = next((s for s in spots if np.hypot(s[0][0] - at[0], s[0][1] - at[1]) < SAME_MM), None)
            if near is None:
                spots.append((at, {number: result}))
            else:
                near[1].setdefault(number, result)
    for at, results in sorted(spots, key=lambda s: float((np.asarray(s[0]) - page.start) @ page.right)):
        lines.append(SheetLine(draw_circle(at, RING_MM), "draw", role="ring", style="doubtful", closed=True,
                               values=(("check", "; ".join(r.name.lower() for r in results.values())),)))
        words = ["%d %s: %s" % (number, _VERDICTS[r.verdict], r.name) for number, r in results.items()]
        starts, sense = page.place_tag(at, [text_width_mm(w, height_mm=TAG_MM) for w in words])
        for word, start in zip(words, starts):
            texts.append(SheetText(word, (float(start[0]), float(start[1])), height_mm=TAG_MM, angle_deg=page.angle,
                                   anchor="start", style="warning",
                                   role="label"))
        reach = (starts[0] - np.asarray(at, float)) @ page.down - (TAG_MM if sense > 0 else 0.0)
        lines.append(
            SheetLine(
                draw_polyline(np.array([np.asarray(at, float) + sense * RING_MM * page.down, np.asarray(at, float)
                                        + (reach - sense * 2.0) * page.down])), "draw", "leader", "warning"))


class _Table:
    """Lines and words of a table, laid from (0, 0) right and down."""

    def __init__(self):
        self.lines, self.texts, self.width_mm, self.height_mm = [], [], 0.0, 0.0

    def letter(self, text: str, x: float, y: float, *, height_mm: float = LETTER_MM, style: str = "note") -> None:
        """One line of words with its baseline at y."""
        self.texts.append(SheetText(text, (float(x), float(y)), height_mm=height_mm, angle_deg=0.0, anchor="start",
                                    style=style, role="label"))
        self.width_mm = max(self.width_mm, x + text_width_mm(text, height_mm=height_mm))
        self.height_mm = max(self.height_mm, y + 0.4 * height_mm)

    def lay(self, heads: Sequence[str], cells: Sequence[Sequence[str]], x: float, y: float, *,
            styles: Sequence[str] | None = None) -> tuple[float, float]:
        """Columns under their heads, from a corner: (right, bottom) of what was laid."""
        wrapped = [[textwrap.wrap(c, _WIDE.get(h, 24)) or [""] for h, c in zip(heads, row)] for row in cells]
        wide = [max([text_width_mm(h, height_mm=LETTER_MM)]
                    + [text_width_mm(line, height_mm=LETTER_MM) for row in wrapped for line in row[k] if line])
                for k, h in enumerate(heads)]
        at = x + np.concatenate([[0.0], np.cumsum(np.array(wide) + GAP * LETTER_MM)])
        y += LETTER_MM
        for head, left in zip(heads, at):
            self.letter(head, left, y)
        right = float(at[-1]) - GAP * LETTER_MM
        self.lines.append(SheetLine(draw_polyline(np.array([[x, y + 0.5 * LETTER_MM], [right, y + 0.5 * LETTER_MM]])),
                                    "draw", "rule", "note"))
        y += 2.0 * LETTER_MM
        for number, row in enumerate(wrapped):
            tall = max(len(c) for c in row)
            for left, lines in zip(at, row):
                for k, line in enumerate(lines):
                    if line:
                        self.letter(line, left, y + k * 1.4 * LETTER_MM, style=styles[number] if styles else "note")
            y += (PITCH + 1.4 * (tall - 1)) * LETTER_MM
        return right, y


def _lay_table(ordered, results, summary, caution):
    """All results: fails and doubts first, then side by side what passed and what was not judged, and the sources by
    their numbers.
    """
    table = _Table()
    sources = list(dict.fromkeys(r.source for r in [*ordered, *results] if r.source and r.verdict != "not judged"))

    def refer(result):
        return "%d" % (sources.index(result.source) + 1) if result.source else ""
    y = TITLE_MM
    table.letter(summary, 0.0, y, height_mm=TITLE_MM,
                 style="warning" if any(r.verdict == "fail" for r in results) else "note")
    y += 1.6 * TITLE_MM
    table.letter(caution, 0.0, y)
    y += 2.0 * LETTER_MM
    if ordered:
        cells = [("%d" % n, _VERDICTS[r.verdict], r.name, r.found, r.limit, refer(r), r.remedy)
                 for n, r in enumerate(ordered, 1)]
        _, y = table.lay(("NO", "", "CHECK", "FOUND", "LIMIT", "FROM", "WHAT TO DO"), cells, 0.0, y,
                         styles=["warning" if r.verdict == "fail" else "note" for r in ordered])
        y += 1.5 * LETTER_MM
    passed = [r for r in results if r.verdict == "pass"]
    right, foot = 0.0, y
    if passed:
        right, foot = table.lay(("PASS", "FOUND", "LIMIT", "FROM"),
                                [(r.name, r.found, r.limit, refer(r)) for r in passed], 0.0, y)
        right += 3 * GAP * LETTER_MM
    bare = [r for r in results if r.verdict == "not judged"]
    if bare:
        table.lay(("NOT JUDGED", "NEEDS"),
                  [(r.name, r.needs) for r in bare], right, y)
    foot += LETTER_MM
    for number, source in enumerate(sources, 1):
        for line in textwrap.wrap("%d  %s" % (number, source.upper()), _SOURCE_LETTERS, subsequent_indent="   "):
            table.letter(line, 0.0, foot)
            foot += 1.5 * LETTER_MM
    return table
