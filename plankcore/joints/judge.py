"""Pairs of joints, single joints and lengths judged by a named rule, and what was found of them as facts: what sheet,
record and check read.
"""
from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from ..model.drawing import Fact, Place
from ..model.joints_and_fastenings import Verdict
from ..trade.butt_rules import LENGTHS
from . import words
from .frames import find_fraction

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..model.joints_and_fastenings import Joint, SideFrames
    from ..model.plank import Plank
    from ..trade.butt_rules import ButtRule, LengthRule
    from .scarfs import JointSettings

__all__ = [
    "find_steps",
    "find_too_long",
    "judge_joint",
    "judge_length",
    "judge_lengths",
    "judge_own_pairs",
    "judge_pair",
    "judge_pairs",
    "list_facts",
    "measure_clearance",
    "remark",
]

MOST_ROWS = 8             # most verdicts in the title block; the butt map shows all
_VERDICTS = {True: "holds", False: "fails", None: "not judged"}
_LONGEST_BOARD = "THE LONGEST BOARD THERE IS, AS IT WAS GIVEN"


def remark(key: Any, brief: Any, *, verdict: str = "", number: Any = None, unit: str = "", limit: Any = None,
           place: Any = None, about: str = "") -> Any:
    """A Fact on common practice that no rule here states.

    brief : its sentence, from words.py.
    """
    return Fact(key, words.say_practice(brief), verdict=verdict, number=number, unit=unit, limit=limit, place=place,
                about=about, brief=brief)


def find_too_long(parts: Any, stock_mm: float) -> Any:
    """Facts of the parts that are longer than the longest board; stock_mm 0 where none was given."""
    found = []
    for part in parts:
        if stock_mm and part.to_mm - part.from_mm > stock_mm + 1e-6:
            brief = words.say_too_long(part, stock_mm)
            found.append(Fact("stock", words.say_board(brief), verdict="fails", number=part.to_mm - part.from_mm,
                              unit="mm", limit=stock_mm,
                              source=_LONGEST_BOARD, about="PART %d" % part.number, brief=brief))
    return tuple(found)


def list_facts(placed: Any, blocks: Any, settings: JointSettings, story: Mapping[str, Any]) -> tuple[Fact, ...]:
    """Facts of a JointPlan, a tuple of Fact, in the order in which they are printed.

    Parameters
    ----------
    placed : tuple of PlacedJoint
    blocks : list of BlockSize or None
        Of each.
    settings : JointSettings
    story : dict
        The results of place.place_joints: rule, verdicts, legal, on_boards, why, proposed, remarks, too_long,
        short_parts, ahead, behind, neighbours; remarks and too_long are Facts.
    """
    rule = story["rule"]
    told, read = words.say_rule(rule)
    found = [Fact("rule", told, "holds", source=rule.source, about=rule.name, brief=rule.title),
             Fact("rule-read", read)]
    found += [Fact("placed", words.say_placed(joint, block, settings), number=joint.distance_mm, unit="mm",
                   place=Place(along_mm=joint.distance_mm), about="%s %s %s" % (joint.kind, joint.label, joint.bay))
              for joint, block in zip(placed, blocks)]
    if story["proposed"]:
        found.append(Fact("proposed", words.say_proposed(story["why"])))
    found += [*_list_bays(placed, settings, story), *_list_pairs(story), *_list_lengths(settings, story)]
    found += story["too_long"]
    if settings.stock_mm and not story["too_long"]:
        found.append(Fact("stock", "", "holds", unit="mm", limit=settings.stock_mm, source=_LONGEST_BOARD))
    if any(joint.kind == "scarf" for joint in placed):
        found.append(Fact("glued", words.say_glued(len(placed), story["short_parts"])))
    found += story["remarks"]
    if placed:
        found.append(Fact("drawn-net", words.DRAWN_NET))
    return (*found, Fact("caution", words.CAUTION))


def _list_bays(placed, settings, story):
    if not placed:
        return
    judged, legal = settings.kind in story["rule"].counts, story["legal"]
    yield Fact("legal-bays", words.say_legal_bays(legal, count=len(placed), kind=settings.kind, judged=judged),
               verdict="not judged" if not judged else "holds" if legal else "fails", number=len(legal), unit="bays",
               about="; ".join(legal))
    if settings.stock_mm and story["on_boards"] != legal:
        yield Fact("bays-on-boards", words.say_on_boards(story["on_boards"], settings.stock_mm), verdict="",
                   number=len(story["on_boards"]), unit="bays", about="; ".join(story["on_boards"]))


def _list_pairs(story):
    """Facts of the verdicts: their number, then those that fail, are not judged and pass, each worst first."""
    verdicts, neighbours = [v for v in story["verdicts"] if v.key in ("pair", "joint")], story["neighbours"]
    yield Fact("neighbours", words.say_count(verdicts, neighbours), verdict="holds" if neighbours else "not judged",
               number=neighbours,
               unit="joints")
    told = [v for passed in (False, None) for v in verdicts if v.passed is passed]
    for k, verdict in enumerate(told):
        yield _tell_verdict(verdict, words.say_verdict(verdict) if k < MOST_ROWS else "")
    if len(told) > MOST_ROWS:
        yield Fact("more", words.say_more(len(told) - MOST_ROWS), number=len(told) - MOST_ROWS, unit="verdicts")
    held = [v for v in verdicts if v.passed]
    closest = next((v for v in held if v.key == "pair"), None)
    for verdict in held:
        yield _tell_verdict(verdict, words.say_closest(verdict) if verdict is closest else "")


def _tell_verdict(verdict, said):
    return Fact(verdict.key, said, verdict=_VERDICTS[verdict.passed], number=verdict.number, unit=verdict.unit,
                limit=verdict.limit,
                source=verdict.source, about="; ".join(map(words.describe_joint, verdict.joints)), brief=verdict.words)


def _list_lengths(settings, story):
    spaces = [v for v in story["verdicts"] if v.key == "spaces"]
    feet = [v for v in story["verdicts"] if v.key == "feet"]
    if spaces:
        yield Fact("length-rule", words.say_length_rule())
    for one, other in zip(spaces, feet):
        # five feet are enough only under special conditions, which a drawing cannot judge: so one rule met of the two
        # is a doubt
        verdict = ("holds" if one.passed and other.passed else "fails" if not one.passed and not other.passed
                   else "doubt")
        worse = other if one.passed and not other.passed else one
        yield Fact("length", words.say_length(one, other), verdict=verdict, number=worse.number, unit=worse.unit,
                   limit=worse.limit, source=worse.source,
                   about=worse.key, brief="%s; %s" % (one.words, other.words))
    if any(v.passed is False for v in feet):
        yield Fact("short-pieces", words.SHORT_PIECES)
    for end, kind, old in (("ahead", settings.fore_end, story["ahead"]), ("behind", settings.aft_end, story["behind"])):
        if kind != "hood" and old is None:
            yield Fact("old-piece", words.say_old_piece(end), "not judged", about=end)


_SLACK = 1e-6
_STEPS = 3                # joints in this many neighbouring strakes, each shifted equally from the last, are in steps


def _verdict(rule, key, passed, said, *, joints, number=0.0, limit=0.0, unit=""):
    head = " AND ".join(map(words.describe_joint, joints))
    return Verdict(rule.name, rule.source, key=key, passed=passed, head=head, said=said, number=float(number),
                   limit=float(limit), unit=unit, joints=joints)


def judge_pair(rule: ButtRule, first: Joint, second: Joint, *, scarf_mm: float = 0.0) -> Verdict | None:
    """What a rule says of two joints of one side.

    Parameters
    ----------
    rule : ButtRule
    first, second : Joint
    scarf_mm : float
        Length of a scarf, for rules on joints in one plane across.

    Returns
    -------
    Verdict or None
        None where the rule does not cover two joints in these places. Of several demands the one met worst.
    """
    between = abs(first.number - second.number) - 1
    if between < 0:
        return None
    spaces, apart = abs(first.place - second.place), abs(first.distance_mm - second.distance_mm)
    same = spaces == 0 or (rule.plane_of_scarf and apart < scarf_mm - _SLACK)
    demands: list[tuple[float, float, str]] = []
    if between in rule.least_spaces:
        demands.append((spaces, rule.least_spaces[between], "frame spaces"))
    if between in rule.least_mm:
        demands.append((apart, rule.least_mm[between], "mm"))
    if same and rule.solid_strakes is not None:
        demands.append((between, rule.solid_strakes, "strakes in one plane" if spaces else "strakes in one bay"
                        if first.place % 1 else "strakes on one frame"))
    if not demands:
        return None
    number, limit, unit = min(demands, key=lambda d: (d[0] - d[1]) / max(d[1], 1.0))
    if not {first.kind, second.kind} <= set(rule.counts):
        return _verdict(rule, "pair", None, words.say_pair(number, limit, unit, only=rule.counts[0]), number=number,
                        limit=limit, unit=unit, joints=(first, second))
    doubt = first.doubt_mm + second.doubt_mm if unit == "mm" else 0.0
    return _verdict(rule, "pair", number >= limit - _SLACK,
                    words.say_pair(number, limit, unit, unsure=abs(number - limit) < doubt), number=number,
                    limit=limit, unit=unit, joints=(first, second))


def judge_pairs(rule: ButtRule, joints: Sequence[Joint], *, scarf_mm: float = 0.0) -> tuple[Verdict, ...]:
    """Verdicts on all pairs of joints of one side that the rule covers, the worst first."""
    found = [judge_pair(rule, a, b, scarf_mm=scarf_mm) for a, b in itertools.combinations(joints, 2)
             if a.side == b.side]
    return tuple(sorted((v for v in found if v), key=lambda v: ({False: 0, True: 1, None: 2}[v.passed],
                                                                (v.number - v.limit) / max(v.limit, 1.0))))


def judge_joint(rule: ButtRule, joint: Joint, *, thickness_mm: float = 0.0, slope: float = 0.0) -> list[Verdict]:
    """What a rule says of one joint by itself: whether it may lie on a frame, and whether a scarf is long enough. A
    list of Verdict.
    """
    found = []
    if joint.place % 1 == 0:
        passed = None if rule.on_frame is None else joint.kind in rule.on_frame
        found.append(_verdict(rule, "joint", passed, words.say_on_frame(passed), joints=(joint,)))
    if rule.least_slope and joint.kind == "scarf" and slope and joint.ours:
        found.append(_verdict(rule, "joint", slope >= rule.least_slope - _SLACK,
                              words.say_slope(slope, thickness_mm, rule.least_slope), number=slope,
                              limit=rule.least_slope, unit="thicknesses", joints=(joint,)))
    return found


def judge_length(lengths: LengthRule, head: Any, *, spaces: float, length_mm: float,
                 joints: tuple[Joint, ...] = ()) -> tuple[Verdict, Verdict]:
    """Two Verdicts on a length: six frame spaces, and the five feet that are allowed where those cannot be had.

    Parameters
    ----------
    lengths : LengthRule
    head : str
        Which length it is.
    spaces : float
        Frame spaces it runs: the difference of its ends' bay indexes.
    length_mm : float
        Along the baseline.
    joints : tuple of Joint

    Returns
    -------
    tuple of Verdict
        The second counts only where the first fails: where the first is met and the length is short of the second, its
        `passed` is None.
    """
    whole = spaces >= lengths.least_spaces - _SLACK
    enough = length_mm >= lengths.least_mm - _SLACK
    first = Verdict("six-spaces", lengths.spaces_source, key="spaces", passed=whole, head=head,
                    said=words.say_spaces(spaces, lengths.least_spaces), number=float(spaces),
                    limit=float(lengths.least_spaces),
                    unit="frame spaces", joints=joints)
    passed = True if enough else None if whole else False
    return first, Verdict("five-feet", lengths.floor_source, key="feet", passed=passed, head=head,
                          said=words.say_feet(length_mm, whole=whole, enough=enough), number=float(length_mm),
                          limit=lengths.least_mm,
                          unit="mm", joints=joints)


def measure_clearance(rule: ButtRule, joint: Joint, others: Sequence[Joint]) -> tuple[float, Joint] | None:
    """Clearance of a joint from the nearest one that the rule keeps it apart from: (amount over the limit in the rule's
    unit, that joint), or None where there is none."""
    found = []
    for other in others:
        between = abs(joint.number - other.number) - 1
        if other.side != joint.side or not {joint.kind, other.kind} <= set(rule.counts):
            continue
        if between in rule.least_spaces:
            found.append((abs(joint.place - other.place) - rule.least_spaces[between], other))
        if between in rule.least_mm:
            found.append((abs(joint.distance_mm - other.distance_mm) - rule.least_mm[between], other))
    return min(found, key=lambda f: f[0]) if found else None


def find_steps(joints: Sequence[Joint]) -> list[tuple[Joint, ...]]:
    """Joints in steps: triples from three neighbouring strakes, each shifted by the same few spaces in the same
    direction, with a joint of this plank among them.

    Common practice, no source: joints in diagonal steps make a line of weakness that no pair of them shows.
    """
    by_strake = {}
    for joint in joints:
        by_strake.setdefault((joint.side, joint.number), []).append(joint)
    found = []
    for (side, number), low in by_strake.items():
        rows = [low] + [by_strake.get((side, number + k), []) for k in range(1, _STEPS)]
        for run in itertools.product(*rows):
            shifts = {round(b.place - a.place, 1) for a, b in zip(run, run[1:])}
            if len(shifts) == 1 and 0 < abs(shifts.pop()) <= _STEPS and any(j.ours for j in run):
                found.append(run)
    return found


def judge_own_pairs(rule: ButtRule, own: Sequence[Joint], others: Sequence[Joint], *,
                    scarf_mm: float) -> tuple[Verdict, ...]:
    """Verdicts on pairs of which at least one joint is the new plank's; scarf_mm : as in judge_pair."""
    return tuple(v for v in judge_pairs(rule, [*own, *others], scarf_mm=scarf_mm) if any(j.ours for j in v.joints))


def judge_lengths(plank: Plank, frames: SideFrames, chosen: Sequence[Joint], *, ends: Mapping[str, Joint | None],
                  ahead: Joint | None, behind: Joint | None) -> tuple[Verdict, ...]:
    """Each length between butts, and the old pieces left ahead and behind. A length is not ended by a glued scarf
    within the plank."""
    length = plank.measure_length_mm()
    stops = [(ends["fore"], 0.0)] + [(j, j.distance_mm) for j in chosen if j.kind == "butt"] + [(ends["aft"], length)]
    places = [j.place if j else find_fraction(frames, d) for j, d in stops]
    found: list[Verdict] = []
    for k in range(len(stops) - 1):
        name = "NEW PLANK" if len(stops) == 2 else "NEW LENGTH %d" % (k + 1)
        found += judge_length(LENGTHS, name, spaces=places[k + 1] - places[k], length_mm=stops[k + 1][1]
                              - stops[k][1], joints=tuple(s[0] for s in stops[k:k + 2] if s[0]))
    if ahead and ends["fore"]:
        found += judge_length(LENGTHS, "OLD PIECE AHEAD", spaces=ends["fore"].place - ahead.place,
                              length_mm=-ahead.distance_mm, joints=(ahead, ends["fore"]))
    if behind and ends["aft"]:
        found += judge_length(LENGTHS, "OLD PIECE BEHIND", spaces=behind.place - ends["aft"].place,
                              length_mm=behind.distance_mm - length, joints=(ends["aft"], behind))
    return tuple(found)
