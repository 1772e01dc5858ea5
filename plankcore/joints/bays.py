"""Where in a plank joints may lie: every bay is checked against a rule, and the best is proposed. A part of joints."""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..errors import PatternError
from ..model.joint import Joint
from ..model.ranges import refuse_outside
from . import words
from .frames import name_place
from .judge import find_steps, judge_pair, measure_clearance

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.joint import SideFrames
    from ..trade.butt_rules import ButtRule

__all__ = [
    "MOST_JOINTS",
    "Demands",
    "choose_best",
    "describe_nearest",
    "find_legal_bays",
    "find_legal_sets",
    "list_candidates",
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
