"""Where in a plank joints may lie: every bay tried against a rule, the best of what is left, and which frames a scarf's
feathers leave without room for their fastenings.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..model.joints_and_fastenings import Joint
from ..model.typed import refuse_outside
from ..trade.butt_rules import USUAL_FRAME_EDGE_MM, USUAL_SIDED_MM, guess_head_mm, list_bare_spans
from . import words
from .frames import name_place
from .judge import find_steps, judge_pair, measure_clearance, remark
from .scarfs import find_joint_line
from .words import say_bare_frames

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Points
    from ..model.drawing import SheetLine, Station
    from ..model.joints_and_fastenings import PlacedJoint, SideFrames
    from ..model.plank import Plank
    from ..trade.butt_rules import ButtRule

__all__ = [
    "MOST_JOINTS",
    "Demands",
    "choose_best",
    "describe_nearest",
    "find_bare_frames",
    "find_legal_bays",
    "find_legal_sets",
    "list_candidates",
    "note_bare",
    "shift_clear",
    "tell_bare_frames",
]

MOST_JOINTS = 4


@dataclass(frozen=True)
class Demands:
    """The demands that a set of joints in a plank must meet.

    rule : ButtRule. neighbours : Joints of both sides. ends : the plank's fore and aft end: (place in frame spaces,
    distance).
    least_spaces : least length between butts, in frame spaces. scarf_mm : length of a scarf, 0 for butts. stock_mm :
    longest board, 0 where any length can be had.
    """

    rule: ButtRule
    neighbours: tuple[Joint, ...]
    ends: tuple[tuple[float, ...], ...]
    least_spaces: float
    scarf_mm: float = 0.0
    stock_mm: float = 0.0


def list_candidates(frames: SideFrames, *, kind: str, side: str, strake: str, number: int, length_mm: float,
                    room_mm: float) -> list[Joint]:
    """A Joint in the middle of each bay between two of the plank's stations, where there is room_mm of plank on both
    sides of it."""
    found = []
    for k in range(frames.first, frames.last):
        middle = float(frames.distances_mm[k:k + 2].mean())
        if room_mm <= middle <= length_mm - room_mm:
            found.append(Joint(side, strake, kind=kind, bay=name_place(frames, k + 0.5), distance_mm=middle, note="",
                               number=number, place=k + 0.5, doubt_mm=0.0,
                               ours="new"))
    return found


def _fits_length(demands, from_, to):
    """Whether the length of a part between two joints, or an end and a joint, is allowed; each is (place, distance, is
    a joint)."""
    if not demands.scarf_mm and to[0] - from_[0] < demands.least_spaces - 1e-6:
        return False
    lap = demands.scarf_mm / 2
    run = to[1] - from_[1]
    if from_[2] and to[2] and run < demands.scarf_mm - 1e-6:
        return False
    return not demands.stock_mm or run + lap * (from_[2] + to[2]) <= demands.stock_mm + 1e-6


def _clears_neighbours(demands, joint):
    verdicts = [judge_pair(demands.rule, joint, other, scarf_mm=demands.scarf_mm) for other in demands.neighbours
                if other.side == joint.side]
    return all(v is None or v.passed is not False for v in verdicts)


def find_legal_sets(candidates: Sequence[Joint], demands: Demands, *, count: int) -> list[tuple[Joint, ...]]:
    """All sets of `count` joints that meet the demands, each from the fore end aft: a list of tuples of Joint."""
    refuse_outside(count, 1, MOST_JOINTS, problem="%d joints in one plank cannot be proposed.",
                   remedy="Give 1 to %d." % MOST_JOINTS, field="Joints")
    clear = [j for j in candidates if _clears_neighbours(demands, j)]
    fore, aft = (end + (False,) for end in demands.ends)
    found = []

    def grow(chosen, last, start):
        left = count - len(chosen)
        if not left:
            if _fits_length(demands, last, aft):
                found.append(chosen)
            return
        for k in range(start, len(clear) - left + 1):
            here = (clear[k].place, clear[k].distance_mm, True)
            if _fits_length(demands, last, here):
                grow(chosen + (clear[k],), here, k + 1)
    grow((), fore, 0)
    return found


def find_legal_bays(sets: Sequence[tuple[Joint, ...]]) -> tuple[str, ...]:
    """Names of the bays that occur in any of the sets, from the fore end aft."""
    bays = {j.place: j.bay for chosen in sets for j in chosen}
    return tuple(bays[place] for place in sorted(bays))


def _list_parts(chosen, demands):
    """(frame spaces, mm) of each part; the mm include the scarfs' laps."""
    stops = [demands.ends[0] + (0,)] + [(j.place, j.distance_mm, 1) for j in chosen] + [demands.ends[1] + (0,)]
    return [(b[0] - a[0], b[1] - a[1] + demands.scarf_mm / 2 * (a[2] + b[2])) for a, b in zip(stops, stops[1:])]


def _list_fails(joint, demands):
    """What one joint by itself fails: a list of (share that it falls short by, in words)."""
    found = []
    for other in demands.neighbours:
        verdict = judge_pair(demands.rule, joint, other,
                             scarf_mm=demands.scarf_mm) if other.side == joint.side else None
        if verdict is not None and verdict.passed is False:
            found.append(((verdict.limit - verdict.number) / max(verdict.limit, 1.0), verdict.words))
    for way, (spaces, length) in zip(("AHEAD", "BEHIND"), _list_parts((joint,), demands)):
        if not demands.scarf_mm and spaces < demands.least_spaces - 1e-6:
            found.append(((demands.least_spaces - spaces) / demands.least_spaces,
                          words.say_short_way(way, spaces, demands.least_spaces)))
        if demands.stock_mm and length > demands.stock_mm + 1e-6:
            found.append(((length - demands.stock_mm) / demands.stock_mm,
                          words.say_long_way(way, length, demands.stock_mm)))
    return sorted(found, reverse=True)


def describe_nearest(candidates: Sequence[Joint], demands: Demands) -> str:
    """A sentence on the bay that fails least, and what it fails, worst first; '' where there is no bay to try."""
    if not candidates:
        return ""
    fails, joint = min(((_list_fails(j, demands), j) for j in candidates),
                       key=lambda row: ([f[0] for f in row[0][:1]], len(row[0]), row[1].place))
    if not fails:
        return words.say_alone(joint.bay)
    return words.say_least_wrong(joint.bay, [said for _, said in fails])


def choose_best(sets: Sequence[tuple[Joint, ...]], demands: Demands, *, asked: str, candidates: Sequence[Joint] = (),
                keeps: Any = None) -> tuple[tuple[Joint, ...], str]:
    """The set to propose and why; `asked` says what was asked for: '2 butts'; candidates : all joints that were tried,
    to name the best of them where none is allowed; keeps : as in words.say_why.

    Preferred in this order: fewest joints in steps with the neighbours' (see judge.find_steps); largest clearance over
    what the rule asks for; longest shortest part; farthest forward.

    Returns
    -------
    chosen : tuple of Joint
    why : str

    Raises
    ------
    PatternError
        If there is no set.
    """
    if not sets:
        raise PatternError(words.say_no_place(asked, demands.rule.name,
                                                   None if demands.scarf_mm else demands.least_spaces,
                                                   describe_nearest(candidates, demands)),
                           "Take fewer joints or longer stock, or run the plank on to a legal bay; to see what fails "
                           "where, type the bays.")

    def rank(chosen):
        steps = find_steps(demands.neighbours + chosen)
        rooms = [measure_clearance(demands.rule, j, demands.neighbours) for j in chosen]
        room = min((r[0] for r in rooms if r), default=0.0)
        return len(steps), -room, -min(p[0] for p in _list_parts(chosen, demands)), [j.place for j in chosen]
    best = min(sets, key=rank)
    rooms = [r for r in (measure_clearance(demands.rule, j, demands.neighbours) for j in best) if r]
    over, other = min(rooms, key=lambda r: r[0]) if rooms else (0.0, None)
    parts = _list_parts(best, demands)
    why = words.say_why(over=over, unit="frame spaces" if demands.rule.least_spaces else "mm", other=other,
                  shortest_spaces=min(p[0] for p in parts), longest_mm=max(p[1] for p in parts),
                  stock_mm=demands.stock_mm, in_steps=bool(find_steps(demands.neighbours + best)), keeps=keeps)
    return tuple(replace(j, note="proposed") for j in best), why


_TRY_MM = 0.5


def find_bare_frames(plank: Plank, stations: Sequence[Station], line: Points, *, length_mm: float,
                     siding_mm: float) -> tuple[str, ...]:
    """Labels of the frames that lose room for fastenings to a scarf's feathers.

    Parameters
    ----------
    line : ndarray, shape (2, 2), mm
        The scarf's middle across the plank.
    length_mm : float
        Of the scarf, along the plank.
    siding_mm : float
        Breadth of the frames; 0 takes USUAL_SIDED_MM.
    """
    spans = list_bare_spans(length_mm, head_mm=guess_head_mm(plank.thickness_mm))
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    aft = np.array([way[1], -way[0]])
    aft = aft if aft @ plank.find_axes()[1] > 0 else -aft
    half = (siding_mm or USUAL_SIDED_MM) / 2 - USUAL_FRAME_EDGE_MM
    found = []
    for station in stations:
        at = (station.line - line.mean(axis=0)) @ aft
        low, high = at.min() - max(half, 0.0), at.max() + max(half, 0.0)
        if any(low < end and high > begin for begin, end in spans):
            found.append(station.label)
    return tuple(found)


def shift_clear(plank: Plank, stations: Sequence[Station], joint: Joint, frames: SideFrames, *, length_mm: float,
                siding_mm: float, square_to: str) -> Joint | None:
    """A scarf shifted within its bay, by as little as is needed, to where every frame keeps its fastenings; None where
    there is no such place."""
    low = int(joint.place)
    first, last = frames.distances_mm[low] + siding_mm / 2 + _TRY_MM, frames.distances_mm[low
                                                                                          + 1] - siding_mm / 2 - _TRY_MM
    places = joint.distance_mm + np.arange(-np.floor((joint.distance_mm - first) / _TRY_MM),
                                           np.floor((last - joint.distance_mm) / _TRY_MM) + 1) * _TRY_MM
    room = length_mm / 2
    places = places[(places >= max(first, room)) & (places <= min(last, plank.measure_length_mm() - room))]
    along, line = plank.find_axes()[1], find_joint_line(plank, joint.distance_mm, square_to=square_to,
                                                        stations=stations)
    told = {"length_mm": length_mm, "siding_mm": siding_mm}
    for place in places[np.argsort(np.abs(places - joint.distance_mm), kind="stable")]:
        # first a quick test, with the lean that it has at the bay's middle
        if not find_bare_frames(plank, stations, line + (place - joint.distance_mm) * along, **told):
            exact = find_joint_line(plank, float(place), square_to=square_to, stations=stations)
            if not find_bare_frames(plank, stations, exact, **told):
                return replace(joint, distance_mm=float(place))
    return None


def tell_bare_frames(placed: Sequence[PlacedJoint], bare: Sequence[Sequence[str]], siding_mm: float) -> list[str]:
    """A Fact for each scarf that has frames in its feathers; bare : the labels of these frames, for each scarf."""
    return [remark("bare-frames", say_bare_frames(joint, labels, siding_mm), verdict="doubt", number=len(labels),
                   unit="frames", about="; ".join(labels)) for joint, labels in zip(placed, bare) if labels]


def note_bare(line: SheetLine, bare: Mapping[str, Sequence[str]]) -> SheetLine:
    """A joint's line with its frames that have no room for their fastenings among its values; bare : {joint: labels}.
    """
    labels = bare.get(dict(line.values).get("joint", "")) if line.role == "joint" else None
    return replace(line, values=(*line.values, ("bare_frames", " ".join(labels)))) if labels else line
