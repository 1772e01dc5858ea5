"""What is asked for of scarfs and butts, and the shapes of joints in a plank: the line across, feather edges, the
parts, and the register by which parts go together again.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.curve import cross_curves, make_line
from ..model.joints_and_fastenings import KINDS, Part
from ..model.typed import refuse_outside, refuse_unknown

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Point, Points
    from ..model.drawing import Station
    from ..model.plank import Plank

__all__ = [
    "ENDS",
    "FEATHERS",
    "SQUARE_TO",
    "JointSettings",
    "check_settings",
    "cut_across",
    "draw_block",
    "find_end_line",
    "find_feathers",
    "find_joint_line",
    "find_register",
    "split_plank",
]

SQUARE_TO = ("run", "frames")
REGISTER_MM = 100.0       # distance of register crosses beyond a joint, where the plank is long enough


def cut_across(plank: Plank, point: Point, way: Point) -> tuple[Points, tuple[float, ...]] | None:
    """Where a straight line meets both long edges.

    Returns
    -------
    line : (2, 2)
        Upper end first.
    places : (float, float)
        On the upper and the lower edge's curves.

    None where it misses an edge.
    """
    point, way = np.asarray(point, float), np.asarray(way, float) / np.hypot(*way)
    reach = plank.measure_length_mm()
    rule = make_line(point - reach * way, point + reach * way)
    ends, places = [], []
    for name in ("upper", "lower"):
        hits = cross_curves(plank.edges[name].curve, rule)
        if not hits:
            return None
        u, _, spot = min(hits, key=lambda h: float(np.hypot(*(h[2] - point))))
        ends.append(spot)
        places.append(float(u))
    return np.stack(ends), tuple(places)


def find_joint_line(plank: Plank, distance_mm: float, *, square_to: str = "run",
                    stations: Sequence[Station] = ()) -> Points:
    """The line across the plank whose middle lies at a distance along the baseline: square to the run, or with the lean
    of the frames beside it.

    Returns
    -------
    ndarray, shape (2, 2), mm

    Raises
    ------
    PatternError
        Where no such line crosses both long edges.
    """
    start, along, across = plank.find_axes()
    point, way = start + distance_mm * along, across
    if square_to == "frames":
        lines = [s.line[1] - s.line[0] for s in stations]
        turns = [float(np.arctan2(d @ along, d @ across)) for d in lines]
        turn = float(np.interp(distance_mm, [s.distance_mm for s in stations], turns))
        way = np.sin(turn) * along + np.cos(turn) * across
    found = None
    for _ in range(30):
        found = cut_across(plank, point, way)
        if found is None:
            break
        line, places = found
        middle = line.mean(axis=0)
        if square_to == "run":
            run = np.add(*(plank.edges[n].curve.find_direction(min(u, len(plank.edges[n].curve.cubics) - 1e-9))
                           for n, u in zip(("upper", "lower"), places)))
            turned = np.array([-run[1], run[0]]) / np.hypot(*run)
            turned = turned if turned @ across > 0 else -turned
        else:
            turned = way
        short = distance_mm - (middle - start) @ along
        if abs(short) < 1e-9 and np.abs(turned - way).max() < 1e-12:
            return line
        point, way = middle + short * along, turned
    if found is None:
        raise PatternError(
            "There is no joint %.0f mm from the fore end: a line across there does not meet both edges."
            % distance_mm, "Give another place.", tuple(map(float, start + distance_mm * along)))
    return found[0]


def find_feathers(plank: Plank, line: Points, length_mm: float) -> list[tuple[Points, tuple[float, ...]]]:
    """Feather edges of a scarf: lines beside its middle one, half its length forward and aft, [(line, places)] fore
    then aft.

    Raises
    ------
    PatternError
        If the scarf runs off the plank.
    """
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    _, along, _ = plank.find_axes()
    aft = np.array([way[1], -way[0]])
    aft = aft if aft @ along > 0 else -aft
    middle, found = line.mean(axis=0), []
    for sign in (-1.0, 1.0):
        cut = cut_across(plank, middle + sign * length_mm / 2 * aft, way)
        if cut is None:
            raise PatternError("The scarf, %.0f mm long, runs off the plank's end." % length_mm,
                               "Place it further from the end, or give a shorter slope.", tuple(map(float, middle)))
        found.append(cut)
    return found


def find_end_line(plank: Plank, end: str) -> Points:
    """Corners of the fore or aft end, (2, 2), upper first."""
    corner = plank.find_corners()
    return np.stack([corner["upper " + end], corner["lower " + end]])


def split_plank(plank: Plank, bounds: Sequence[Sequence[tuple[Points, Sequence[float]]]]) -> tuple[Part, ...]:
    """The parts a plank is cut into.

    Parameters
    ----------
    plank : Plank
    bounds : sequence of (fore, aft)
        For each joint, from the fore end aft, its two cuts as of `cut_across`: the part ahead runs to `aft`, the part
        behind begins at `fore`;
        for a butt they are the same.

    Returns
    -------
    tuple of Part
        Chains in the order of Plank.outline: upper, aft, lower, fore.

    Raises
    ------
    PatternError
        If joints run into each other or off an end.
    """
    start, along, _ = plank.find_axes()
    upper, lower = plank.edges["upper"].curve, plank.edges["lower"].curve
    whole = (float(len(upper.cubics)), float(len(lower.cubics)))
    heads = [None] + [fore for fore, _ in bounds]
    tails = [aft for _, aft in bounds] + [None]
    parts = []
    for number, (head, tail) in enumerate(zip(heads, tails), 1):
        first, last = head[1] if head else (0.0, 0.0), tail[1] if tail else whole
        near = head or tail
        if any(b - a < 1e-6 for a, b in zip(first, last)):
            raise PatternError("Part %d has no length: joints run into each other, or off the plank's end." % number,
                               "Place them further apart.",
                               None if near is None else tuple(map(float, near[0].mean(axis=0))))
        top, foot = upper.trim(first[0], last[0]), lower.trim(first[1], last[1])
        aft_end = make_line(top.end, foot.end) if tail else plank.edges["aft"].curve
        fore_end = make_line(top.start, foot.start) if head else plank.edges["fore"].curve
        lines = [head[0] if head else find_end_line(plank, "fore"), tail[0] if tail else find_end_line(plank, "aft")]
        from_mm, to_mm = (float((line.mean(axis=0) - start) @ along) for line in lines)
        parts.append(Part(number, (top, aft_end, foot.reverse(), fore_end.reverse()), from_mm, to_mm))
    return tuple(parts)


def find_register(plank: Plank, lines: Sequence[Points], *, room_mm: Sequence[float]) -> tuple[Point, Point, Points]:
    """Register crosses on one straight datum along the middle of the plank, by which two parts are put together again.

    Parameters
    ----------
    plank : Plank
    lines : sequence of (2, 2)
        The joint's own: both feather edges, or the butt.
    room_mm : (float, float)
        Length of plank ahead of and behind the joint that belongs to only one of its two parts.

    Returns
    -------
    ahead, behind : ndarray, shape (2,), mm
        A cross on each part, clear of the other.
    shared : ndarray, shape (k, 2), mm
        Where the datum crosses the joint's lines: on both parts.

    Raises
    ------
    PatternError
        Where the plank bends so hard that no straight line stays in it.
    """
    start, along, _ = plank.find_axes()
    ends = []
    for line, sign, room in ((lines[0], -1.0, room_mm[0]), (lines[-1], 1.0, room_mm[1])):
        distance = float((line.mean(axis=0) - start) @ along) + sign * min(REGISTER_MM, 0.5 * room)
        ends.append(find_joint_line(plank, distance).mean(axis=0))
    ahead, behind = ends
    datum = make_line(ahead, behind)
    hits = [cross_curves(make_line(*line), datum) for line in lines]
    if not all(hits):
        raise PatternError("No straight line runs along the plank through this joint: it bends too hard there.",
                           "Give a shorter slope, or another place.", tuple(map(float, lines[0].mean(axis=0))))
    return ahead, behind, np.stack([hit[0][2] for hit in hits])


def draw_block(line: Points, *, length_mm: float, lap_mm: float) -> Points:
    """Corners (4, 2) of a butt block: length_mm along the plank about the line, lap_mm past both edges."""
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    side = np.array([-way[1], way[0]]) * length_mm / 2
    top, foot = line[0] - lap_mm * way, line[1] + lap_mm * way
    return np.stack([top - side, top + side, foot + side, foot - side])


ENDS = ("butt", "hood", "scarf")
FEATHERS = ("aft", "fore")


@dataclass(frozen=True)
class JointSettings:
    """Settings for scarfs and butts.

    joints : 'propose 1', 'none', or places as '10-11, scarf 14-15, on 12, 9 + 100 mm'. kind : of joints that are typed
    without one. rule : one of RULES.
    slope : of a scarf: 4 to 1 is short and weak, 12 to 1 long and strong. feather : the way its outside edge faces.
    square_to : one of SQUARE_TO.
    fore_end, aft_end : one of ENDS. siding_mm : breadth of a frame; 0 lets a joint lie anywhere beside its line.
    spacing_mm : of frames beyond the plank; 0 takes the plank's own.
    stock_mm : longest board there is, 0 for any. drain_mm, lap_mm, block_times : of butt blocks. lay_out : whether the
    parts are also drawn apart.
    unit : of lengths typed without a unit among the joints.
    """

    joints: str = "propose 1"
    kind: str = "butt"
    rule: str = "three-and-three"
    slope: float = 12.0
    feather: str = "aft"
    square_to: str = "run"
    fore_end: str = "butt"
    aft_end: str = "butt"
    siding_mm: float = 0.0
    spacing_mm: float = 0.0
    stock_mm: float = 0.0
    drain_mm: float = 10.0
    lap_mm: float = 20.0
    block_times: float = 10.0
    lay_out: bool = True
    unit: str = "mm"


def check_settings(settings: JointSettings) -> None:
    """Refuse values that are not among the choices, and slopes that cannot be sawn: SettingError."""
    for name, value, allowed, field in (("kind", settings.kind, KINDS, "Kind"),
                                        ("end", settings.fore_end, ENDS, "Fore end"),
                                        ("end", settings.aft_end, ENDS, "Aft end"),
                                        ("direction", settings.square_to, SQUARE_TO, "Square to"),
                                        ("way", settings.feather, FEATHERS, "Outside feather")):
        refuse_unknown(value, allowed, problem="'%%s' is no %s used here." % name, remedy="Choose one of: %s.",
                       field=field)
    refuse_outside(settings.slope, 1, 30, problem="A scarf of %g to 1 cannot be used.",
                   remedy="Give 4, 6, 8, 10 or 12.", field="Slope")
