"""How joints look on the plank, on its parts, and in the title block."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..geometry.strokes import draw_polyline
from ..model.drawing import Overlay, SheetLine, SheetText
from ..paper.blocks import FORWARD, tell_forward
from . import lettering
from .scarfs import draw_block

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Point, Points
    from ..model.joints_and_fastenings import Joint, Part, PlacedJoint
    from ..model.plank import Plank
    from ..trade.butt_rules import BlockSize
    from .scarfs import JointSettings

__all__ = ["draw_overlay"]

CROSS_MM = 6.0            # arm of a register cross
# neighbours' joints are drawn up to this far beyond the plank's ends; those farther off are only listed
NEAR_MM = 500.0
BAND_MM, MARK_MM = 14.0, 10.0
FIRST_BAND_MM = 26.0      # first row of words: clear of the saw line and of rings at the edge
MOST_BANDS = 3


def _stroke(points, role, style, *, closed=False, **values):
    points = np.asarray(points, float)
    return SheetLine(draw_polyline(np.vstack([points, points[:1]]) if closed else points), "draw", role=role,
                     style=style,
                     closed=closed, values=tuple(values.items()))


def draw_overlay(plank: Plank, placed: Sequence[PlacedJoint], parts: Sequence[Part], *,
                 lines: Sequence[Sequence[Points]], blocks: Sequence[BlockSize | None],
                 end_blocks: Sequence[tuple[Points, BlockSize]], registers: Sequence[tuple[Point, Point, Points]],
                 others: Sequence[Joint], number: Any, settings: JointSettings, facts: Any, findings: Any) -> Overlay:
    """The Overlay of a plank's joints.

    Parameters
    ----------
    plank : Plank
    placed, parts : tuple of PlacedJoint, of Part
    lines : list of list of (2, 2)
        Each joint's own lines: its feather edges fore and aft, or the butt.
    blocks : list of BlockSize or None
    end_blocks : list of (line (2, 2), BlockSize or None)
        Of the plank's own butt ends.
    registers : list of (ahead, behind, shared)
    others : sequence of Joint
        Neighbours' joints. number : of the plank's own strake.
    settings : JointSettings
    facts, findings : sequence of Fact, of Finding

    Returns
    -------
    Overlay
    """
    page = _Page(plank)
    drawn, texts = [], []
    for joint, edges, block, register in zip(placed, lines, blocks, registers):
        (_draw_scarf if joint.kind == "scarf" else _draw_butt)(
            page, drawn, texts=texts, joint=joint, edges=edges, block=block)
        _draw_register(page, drawn, texts=texts, joint=joint, register=register)
    for line, block in end_blocks:
        _draw_block(drawn, line, block, "end")
    _draw_neighbours(page, drawn, texts=texts, others=others, number=number)
    if len(parts) > 1:
        shifts = page.stack(len(parts), others) if settings.lay_out else [np.zeros(2)] * len(parts)
        for part, shift in zip(parts, shifts):
            _draw_part(page, drawn, texts=texts, part=part, shift=shift, count=len(parts), placed=placed, lines=lines,
                       registers=registers, apart=settings.lay_out)
    return Overlay(tuple(drawn), tuple(texts), tuple(facts), tuple(findings))


class _Page:
    """Which way things lie on the page: `right` along the plank, `down` across it."""

    def __init__(self, plank):
        start, along, across = plank.find_axes()
        self.plank, self.start, self.along = plank, start, along
        corner = plank.find_corners()
        self.down = across if (corner["lower fore"] - corner["upper fore"]) @ across > 0 else -across
        self.right = along if along[0] >= 0 else -along
        self.angle = float(np.degrees(np.arctan2(self.right[1], self.right[0])))

    def letter(self, texts: list[SheetText], text: str, at: Point, height_mm: float, *, anchor: str = "start",
               angle_deg: float | None = None, style: str = "note", role: str = "label") -> None:
        angle = self.angle if angle_deg is None else angle_deg
        texts.append(SheetText(text, (float(at[0]), float(at[1])), height_mm=float(height_mm), angle_deg=float(angle),
                               anchor=anchor, style=style,
                               role=role))

    def letter_along(self, texts: list[SheetText], line: Points, text: str, *, half: str, side: int,
                     style: str = "note", most_mm: float = 5.0) -> None:
        """Words that read upwards along a line across the plank, in its upper or lower half, on its right (side 1) or
        left (-1), clear of stations' words at the edges and of the crosses."""
        way = line[1] - line[0]
        wide = float(np.hypot(*way))
        way = way / wide
        height = float(np.clip(0.27 * wide / text_width_mm(text, height_mm=1.0), 1.8, most_mm))
        right = np.array([way[1], -way[0]])
        right = right if right @ self.right > 0 else -right
        off = right * (2.0 + height if side > 0 else -2.0)
        at = line[0] + way * wide * (0.325 if half == "upper" else 0.675) + off
        self.letter(texts, text, at, height, anchor="middle",
                    angle_deg=float(np.degrees(np.arctan2(-way[1], -way[0]))), style=style)

    def find_edge(self, name: str, distance_mm: float) -> Point:
        """The point of an edge at a distance along the baseline; beyond the plank's ends a point level with the edge's
        end."""
        points = self.plank.edges[name].curve.flatten()
        x = (points - self.start) @ self.along
        y = (points - self.start) @ self.down
        return self.start + distance_mm * self.along + float(np.interp(distance_mm, x, y)) * self.down

    def stack(self, count: int, others: Sequence[Joint]) -> list[Point]:
        """Shifts for drawing the parts below the plank, alternately in two rows, since neighbours overlap by the scarf.
        """
        y = np.concatenate([(c.flatten() - self.start) @ self.down for c in self.plank.outline()])
        tall = float(np.ptp(y))
        below = FIRST_BAND_MM + MOST_BANDS * BAND_MM if others else 0.0
        return [self.down * (tall + below + 30.0 + (k % 2) * (tall + 30.0)) for k in range(count)]


def _told(joint):
    return {"joint": joint.label, "kind": joint.kind, "bay": joint.bay, "distance_mm": joint.distance_mm,
                "length_mm": joint.length_mm, "slope": float(joint.slope),
                "thickness_mm": float(joint.thickness_mm), "feather": joint.feather}


def _draw_butt(page, drawn, *, texts, joint, edges, block):
    drawn.append(_stroke(joint.line, "joint", "joint", **_told(joint)))
    page.letter_along(texts, joint.line, lettering.letter_joint(joint), half="upper", side=-1)
    if block is not None:
        width = float(np.hypot(*(joint.line[1] - joint.line[0]))) + 2 * block.lap_mm
        _draw_block(drawn, joint.line, block, joint.label)
        page.letter_along(texts, joint.line, lettering.letter_block(block, width), half="lower", side=-1)


def _draw_block(drawn, line, block, label):
    if block is not None and block.length_mm > 0:
        drawn.append(_stroke(draw_block(line, length_mm=block.length_mm, lap_mm=block.lap_mm), "block", "block",
                             closed=True, joint=label,
                             length_mm=block.length_mm, lap_mm=block.lap_mm, thickness_mm=block.thickness_mm,
                             clear_mm=block.clear_mm))


def _draw_scarf(page, drawn, *, texts, joint, edges, block):
    drawn.append(_stroke(joint.line, "joint", "joint-middle", **_told(joint)))
    outside = 1 if joint.feather == "aft" else 0
    for k, line in enumerate(edges):
        out = k == outside
        drawn.append(_stroke(line, "feather", "joint" if out else "joint-hidden", joint=joint.label,
                             face="outside" if out else "inside"))
        # on the side away from the scarf's middle, which has other words
        side = 1 if (line.mean(axis=0) - joint.line.mean(axis=0)) @ page.right > 0 else -1
        # the words read upwards, so they begin in the lower half
        page.letter_along(texts, line, lettering.letter_feather(out),
                          half="lower" if out else "upper", side=side)
        if out:
            page.letter_along(texts, line, lettering.letter_facing(k == 1), half="upper", side=side)
    page.letter_along(texts, joint.line, lettering.letter_joint(joint), half="upper", side=-1)
    page.letter_along(texts, joint.line, lettering.letter_slope(joint),
                      half="lower", side=-1)


def _draw_cross(drawn, at, page, **values):
    for way in (page.along, page.down):
        drawn.append(_stroke([at - way * CROSS_MM, at + way * CROSS_MM], "register", "register", **values))


def _draw_register(page, drawn, texts, joint, register):
    ahead, behind, shared = register
    drawn.append(_stroke([ahead, behind], "datum", "datum", joint=joint.label,
                         length_mm=float(np.hypot(*(behind - ahead)))))
    for place in (ahead, *shared, behind):
        _draw_cross(drawn, place, page, joint=joint.label, part="whole")
    said = lettering.letter_between(float(np.hypot(*(behind - ahead))))
    at = min((ahead, behind), key=lambda p: float(p @ page.right))
    # clear of a section's words there
    page.letter(texts, said, at + page.right * (CROSS_MM + 2.0) + page.down * 10.0, 3.0)


def _draw_neighbours(page, drawn, texts, others, number):
    """Short marks for neighbours' joints, outside the edge on the neighbour's side; farther out the more strakes lie
    between."""
    length = page.plank.measure_length_mm()
    for joint in others:
        step = joint.number - number
        if not 1 <= abs(step) <= MOST_BANDS or not -NEAR_MM <= joint.distance_mm <= length + NEAR_MM:
            continue
        out = -page.down if step > 0 else page.down
        near = page.find_edge("upper" if step > 0 else "lower",
                              joint.distance_mm) + out * (FIRST_BAND_MM + (abs(step) - 1) * BAND_MM)
        mark = np.stack([near, near + out * MARK_MM])
        if joint.kind == "scarf":
            mark[1] = mark[1] + page.right * MARK_MM / 2
        drawn.append(_stroke(mark, "neighbour", "neighbour", strake=joint.strake, kind=joint.kind, bay=joint.bay,
                             distance_mm=joint.distance_mm))
        page.letter(texts, lettering.letter_neighbour(joint),
                    mark.mean(axis=0) + page.right * 4.0 + page.down * 2.2, 4.5)


def _draw_part(page, drawn, *, texts, part, shift, count, placed, lines, registers, apart):
    cubics = np.concatenate([c.cubics for c in part.curves]) + shift
    pieces = " ".join(str(len(c.cubics)) for c in part.curves)
    drawn.append(SheetLine(cubics, "draw", role="part", style="part", closed=True,
                           values=(("part", str(part.number)), ("pieces", pieces),
                                                                  ("from_mm", part.from_mm), ("to_mm", part.to_mm),
                                                                  ("shift_mm", "%.7f %.7f" % tuple(shift)))))
    if not apart:
        return
    ends = []
    for k, (joint, edges, register) in enumerate(zip(placed, lines, registers)):
        if part.number not in (k + 1, k + 2):
            continue
        is_fore = part.number == k + 1
        ahead, behind, shared = register
        for place in ((ahead, *shared) if is_fore else (*shared, behind)):
            _draw_cross(drawn, place + shift, page, joint=joint.label, part=str(part.number),
                        shift_mm="%.7f %.7f" % tuple(shift))
        datum = np.stack([ahead, shared[-1]] if is_fore else [shared[0], behind])
        drawn.append(_stroke(datum + shift, "datum", "datum", joint=joint.label,
                             length_mm=float(np.hypot(*(datum[1] - datum[0])))))
        if joint.kind == "scarf":
            _draw_slope(page, drawn, texts=texts, joint=joint, edges=edges, is_fore=is_fore, shift=shift)
        ends.append(joint)
    # within the stretch that belongs to this part alone
    first = part.from_mm + (placed[part.number - 2].length_mm if part.number > 1 else 0.0)
    last = part.to_mm - (placed[part.number - 1].length_mm if part.number < count else 0.0)
    top, foot = (page.find_edge(edge, (first + last) / 2) for edge in ("upper", "lower"))
    wide = float(np.hypot(*(foot - top)))
    said = lettering.letter_part(part, count, page.plank.face, ends)
    height = min(float(np.clip(0.08 * wide, 3.5, 9.0)),
                 0.7 * max(last - first, 50.0) / text_width_mm(said, height_mm=1.0))
    at = top + (foot - top) * 0.72 + shift
    page.letter(texts, said, at, height, anchor="middle")
    # as a text of its own, since it is replaced when the plank is turned
    page.letter(texts, tell_forward(page.plank.forward), at + page.down * 1.6 * height, height, anchor="middle",
                role=FORWARD)


def _draw_slope(page, drawn, *, texts, joint, edges, is_fore, shift):
    """Letter on a part where its slope begins, and on which face."""
    # if the outside feather faces aft, it belongs to the fore part, whose slope is then on the inside
    inside = is_fore == (joint.feather == "aft")
    begin = edges[0] if is_fore else edges[1]
    seen = page.plank.seen_from == ("inboard" if inside else "outboard")
    drawn.append(_stroke(begin + shift, "slope", "joint" if seen else "joint-hidden", joint=joint.label,
                         face="inside" if inside else "outside"))
    to_right = (edges[1] - edges[0]).mean(axis=0) @ page.right > 0
    side = 1 if to_right == is_fore else -1
    page.letter_along(texts, begin + shift, lettering.SLOPE_FROM, half="upper", side=side)
    page.letter_along(texts, begin + shift, lettering.letter_face(inside), half="lower",
                      side=side)
