"""How a plank lies on its sheet, and the strip with its names in large letters that says so: kept clear, said again
every metre, and at both ends the arrows FWD and UP.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.drawing import SheetText
from ..paper.blocks import make_arrow
from ..paper.room import WordBlock

if TYPE_CHECKING:
    from typing import Callable, Sequence

    from ..geometry.arrays import ArrayLike, Points, Values
    from ..model.drawing import SheetLine
    from ..model.plank import Plank
    from ..paper.room import Room

__all__ = ["NAME_MM", "LyingPlank", "choose_name_height", "lay_arrows", "lay_names", "list_names"]


class LyingPlank:
    """A plank that lies along its sheet: forward to one side, the upper edge up.

    left_mm, right_mm : the range of x that has both long edges. aft : -1.0 where aft is to the left, else 1.0.
    fore_mark, aft_mark : ends of the baseline, (2,).
    """

    def __init__(self, plank: Plank, move: Callable[[Points], Points]):
        self.plank = plank
        self._edges = {}
        for name in ("upper", "lower"):
            points = move(plank.edges[name].curve.flatten(tolerance_mm=0.1))
            self._edges[name] = points[np.argsort(points[:, 0], kind="stable")]
        self.left_mm = float(max(points[0, 0] for points in self._edges.values()))
        self.right_mm = float(min(points[-1, 0] for points in self._edges.values()))
        self.fore_mark, self.aft_mark = move(plank.find_baseline())
        self.aft = 1.0 if self.aft_mark[0] > self.fore_mark[0] else -1.0

    def find_edge(self, name: str, x: ArrayLike | float) -> Values:
        """y of an edge at x; beyond its ends the value at the end."""
        points = self._edges[name]
        return np.interp(x, points[:, 0], points[:, 1])

    def find_middle(self, x: Values) -> Values:
        """y half-way between the edges at x."""
        return (self.find_edge("upper", x) + self.find_edge("lower", x)) / 2

    def measure_width(self, x: ArrayLike | float) -> Values:
        """Width from edge to edge at x."""
        return self.find_edge("lower", x) - self.find_edge("upper", x)

    def list_places(self, x: Values, size_mm: tuple[float, float], *, inset_mm: float = 2.0,
                    step_mm: float = 3.0) -> Points:
        """Middles (n, 2) of boxes that lie between the edges at each x (n,), from the upper edge down, x by x."""
        x = np.asarray(x, float)
        x = x[(x - size_mm[0] / 2 > self.left_mm + inset_mm) & (x + size_mm[0] / 2 < self.right_mm - inset_mm)]
        ends = np.stack([x - size_mm[0] / 2, x, x + size_mm[0] / 2])
        top = self.find_edge("upper", ends).max(axis=0) + inset_mm + size_mm[1] / 2
        foot = self.find_edge("lower", ends).min(axis=0) - inset_mm - size_mm[1] / 2
        count = np.where(foot >= top - 1e-9, np.maximum(np.ceil((foot + 1e-9 - top) / step_mm), 0), 0).astype(int)
        number = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
        # as numpy's arange steps, to the last digit
        return np.stack([np.repeat(x, count), np.repeat(top, count)
                         + number * np.repeat((top + step_mm) - top, count)], axis=1)


NAME_MM = 15.0
_SMALLER_MM = (10.0, 7.0, 5.0, 3.5)
_LEAST_AT_END_MM = 7.0    # least height of arrows at the end itself; smaller ones go in among the frames
_STRIP = 6.0              # a plank is at least this many times as wide as its name's letters are high
_INSET_MM = 11.0          # distance from the edge, which has the names of lines
_AGAIN_MM = 1000.0
_STEP_MM = 6.0


def list_names(plank: Plank) -> list[str]:
    """The names on the strip, in groups of words that stay together: boat, strake, side, and the face that lies up."""
    parts = [plank.name, "STRAKE %s" % plank.strake if plank.strake else "", plank.side,
             "%s FACE UP" % plank.seen_from]
    return [" ".join(p.upper().split()) for p in parts if p.strip()]


def choose_name_height(width_mm: float) -> float:
    """Height of the letters on a plank of this width: 15 mm, or the largest of the smaller sizes that is at most a
    sixth of the width."""
    return next((h for h in (NAME_MM, *_SMALLER_MM) if _STRIP * h <= width_mm + 1e-6), _SMALLER_MM[-1])


def lay_names(room: Room, run: LyingPlank) -> list[SheetText]:
    """Letter the strip in the lane (along the lower edge, along the upper, in the middle) that has room for the names
    most often; [] where no room was found."""
    first = choose_name_height(float(run.measure_width((run.left_mm + run.right_mm) / 2)))
    whole = list_names(run.plank)
    parted = [*whole[:-1], run.plank.seen_from.upper(), "FACE UP"]
    for height in [h for h in (NAME_MM, *_SMALLER_MM) if h <= first]:
        best: list = []
        for words in (whole, parted, [word for name in whole[:-1] for word in name.split(" ")] + parted[-2:]):
            for lane in ("lower", "upper", "middle"):
                found = _fill_lane(room, run, words, height=height, lane=lane)
                best = found if len(found) > len(best) else best
            if best:
                break
        if best:
            texts = []
            for block, middle, angle in best:
                room.add_box(middle, block.size_mm, angle_deg=angle)
                texts += block.letter(middle, angle_deg=angle)
            return texts
    return []


def _fill_lane(room, run, words, height, lane):
    """(block, middle, angle) of each word; all names are repeated as often as the lane has room, once per metre."""
    blocks = [WordBlock(((word, height),), role="name") for word in words]
    reach = [np.arange(run.left_mm + b.size_mm[0] / 2 + 4.0, run.right_mm - b.size_mm[0] / 2 - 4.0, _STEP_MM)
             for b in blocks]
    free = []
    for block, x in zip(blocks, reach):
        half = block.size_mm[0] / 2
        if lane == "middle":
            y = run.find_middle(x)
        else:
            edge = np.stack([run.find_edge(lane, x + d) for d in (-half, -half / 2, 0.0, half / 2, half)])
            y = edge.min(axis=0) - _INSET_MM - block.size_mm[1] / 2 if lane == "lower" \
                else edge.max(axis=0) + _INSET_MM + block.size_mm[1] / 2
        places = np.stack([x, y], axis=1)
        fits = (y - block.size_mm[1] / 2 >= run.find_edge("upper", x)) & (y + block.size_mm[1] / 2
                                                                       <= run.find_edge("lower", x))
        free.append(places[fits & room.find_free(places, block.size_mm)] if len(x) else places)
    found, begin = [], run.left_mm
    while True:
        some, at = [], begin
        for block, places in zip(blocks, free):
            half = block.size_mm[0] / 2
            place = next((p for p in places if p[0] - half >= at), None)
            if place is None:
                return found
            some.append((block, place, 0.0))
            at = place[0] + half + 0.4 * height
        found += some
        begin = max(at + height, some[0][1][0] - blocks[0].size_mm[0] / 2 + _AGAIN_MM)


def lay_arrows(room: Room, run: LyingPlank,
               frames_mm: Sequence[float] = ()) -> tuple[list[SheetLine], list[SheetText]]:
    """FWD and UP at both ends, each as near to its end as there is room: between the end and the first frame, in
    letters of 15, 10 or 7 mm, where they fit there, else farther in.

    frames_mm : x of the frames.
    """
    lines, texts = [], []
    reach = (run.right_mm - run.left_mm) / 2
    for end, way in ((run.left_mm, 1.0), (run.right_mm, -1.0)):
        high = choose_name_height(float(run.measure_width(end + way * min(60.0, reach))))
        heights = [h for h in (NAME_MM, *_SMALLER_MM) if h <= high]
        bare = min([abs(x - end) for x in frames_mm] + [reach])     # up to the first frame, where no card wants room
        for height, most in [*((h, bare) for h in heights if h >= _LEAST_AT_END_MM),
                             *((h, min(reach, 600.0) + 3.7 * h) for h in heights)]:
            size = (7.4 * height, 2.5 * height)
            x = end + way * np.arange(size[0] / 2 + 5.0, max(most - size[0] / 2, size[0] / 2 + 6.0), 8.0)
            x = x[np.abs(x - end) + size[0] / 2 < most]
            found = room.find(size, _order_by_middle(run, run.list_places(x, size, inset_mm=3.0, step_mm=4.0), x))
            if found is not None:
                room.add_box(found[0], size)
                _draw_arrows(lines, texts, corner=found[0] - np.array(size) / 2, height=height, aft=run.aft)
                break
    return lines, texts


def _order_by_middle(run, places, x):
    """Places in order of x, at each x those nearest to the middle of the wood first."""
    if not len(places):
        return places
    order = {at: k for k, at in enumerate(x.tolist())}
    number = np.array([order[at] for at in places[:, 0].tolist()])
    return places[np.lexsort((np.abs(places[:, 1] - run.find_middle(places[:, 0])), number))]


def _draw_arrows(lines, texts, corner, height, aft):
    """In a box from its upper left corner: FWD over its arrow, UP beside its own."""
    left, top = corner
    half = 0.5 * height
    shaft = np.array([[left + half, top + 1.85 * height], [left + 3.9 * height, top + 1.85 * height]])
    tail, tip = shaft if aft < 0 else shaft[::-1]
    lines += make_arrow(tail, tip, back_mm=0.55 * height, aside_mm=0.25 * height)
    texts.append(SheetText("FWD", (float(shaft.mean(axis=0)[0]), float(top + 1.3 * height)), height, anchor="middle",
                           role="way"))
    x = left + 4.7 * height
    lines += make_arrow(np.array([x, top + 2.2 * height]), np.array([x, top + 0.3 * height]),
                        back_mm=0.55 * height, aside_mm=0.25 * height)
    texts.append(SheetText("UP", (float(x + 0.7 * height), float(top + 1.75 * height)), height, role="way"))
