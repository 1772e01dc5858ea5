"""Pairs of joints, single joints and lengths judged by a named rule."""
from __future__ import annotations

import itertools

from ..model.joint import Verdict
from ..units import format_inches, format_mm

__all__ = [
    "describe_joint",
    "find_steps",
    "judge_joint",
    "judge_length",
    "judge_pair",
    "judge_pairs",
    "measure_clearance",
]

_SLACK = 1e-6
_STEPS = 3                # joints in that many strakes running, each as far from the last, march in steps


def describe_joint(joint):
    """'STRAKE 6 BUTT 12-13', and of a plank whose strake has no name 'THIS STRAKE BUTT 12-13'."""
    return "%s %s %s" % ("THIS STRAKE" if joint.strake == "this" else "STRAKE " + joint.strake.upper(),
                         joint.kind.upper(), joint.bay.upper())


def _verdict(rule, passed, words, number, limit, *joints):
    return Verdict(rule.name, rule.source, passed, words, float(number), float(limit), joints)


def judge_pair(rule, first, second, *, scarf_mm=0.0):
    """What a rule says of two joints of one side.

    Parameters
    ----------
    rule : ButtRule
    first, second : Joint
    scarf_mm : float
        Length of a scarf, for rules that speak of planes across.

    Returns
    -------
    Verdict or None
        None where the rule says nothing of two joints so placed. Of several demands the one that is met worst is told.
    """
    between = abs(first.number - second.number) - 1
    if between < 0:
        return None
    spaces, apart = abs(first.place - second.place), abs(first.distance_mm - second.distance_mm)
    same = spaces == 0 or (rule.plane_of_scarf and apart < scarf_mm - _SLACK)
    demands = []
    if between in rule.least_spaces:
        demands.append((spaces, rule.least_spaces[between], "FRAME SPACE APART", "FRAME SPACES APART"))
    if between in rule.least_mm:
        demands.append((apart, rule.least_mm[between], "MM APART", "MM APART"))
    if same and rule.solid_strakes is not None:
        where = "ONE PLANE ACROSS" if spaces else "ONE BAY" if first.place % 1 else "ON ONE FRAME"
        where = where if where.startswith("ON ") else "IN " + where
        demands.append((between, rule.solid_strakes, "STRAKE BETWEEN " + where, "STRAKES BETWEEN " + where))
    if not demands:
        return None
    pair = "%s AND %s: " % (describe_joint(first), describe_joint(second))
    number, limit, *measure = min(demands, key=lambda d: (d[0] - d[1]) / max(d[1], 1.0))
    if not {first.kind, second.kind} <= set(rule.counts):
        return _verdict(rule, None, pair + "NOT JUDGED, THE RULE SPEAKS OF %sS ALONE (%s)"
                        % (rule.counts[0].upper(), _say(number, *measure)), number, limit, first, second)
    doubt = first.doubt_mm + second.doubt_mm if measure[0] == "MM APART" else 0.0
    unsure = "; A PLACE IS KNOWN BY ITS BAY ONLY: MEASURE IT" if abs(number - limit) < doubt else ""
    return _verdict(rule, number >= limit - _SLACK, pair + "%s, %s NEEDED%s"
                    % (_say(number, *measure), _count(limit), unsure), number, limit, first, second)


def _count(number):
    return ("%.1f" % number).rstrip("0").rstrip(".") if abs(number) < 100 else "%.0f" % number


def _say(number, one, several):
    return "%s %s" % (_count(number), one if abs(number - 1) < 0.05 else several)


def judge_pairs(rule, joints, *, scarf_mm=0.0):
    """Every pair of joints of one side that the rule has something to say of, the worst first."""
    found = [judge_pair(rule, a, b, scarf_mm=scarf_mm) for a, b in itertools.combinations(joints, 2)
             if a.side == b.side]
    return tuple(sorted((v for v in found if v), key=lambda v: ({False: 0, True: 1, None: 2}[v.passed],
                                                                (v.number - v.limit) / max(v.limit, 1.0))))


def judge_joint(rule, joint, *, thickness_mm=0.0, slope=0.0):
    """What a rule says of one joint by itself: whether it may lie on a frame, and whether a scarf is long enough. A
    list of Verdict.
    """
    found = []
    if joint.place % 1 == 0:
        told = describe_joint(joint) + ": IT LIES ON A FRAME AND BELONGS TO NO BAY"
        if rule.on_frame is None:
            found.append(_verdict(rule, None, told + "; THE RULE DOES NOT SAY WHETHER IT MAY", 0, 0, joint))
        elif joint.kind in rule.on_frame:
            found.append(_verdict(rule, True, told + "; GLUED SCARFS ARE FOUND SO IN LIGHT WORK WITH NARROW STRAKES",
                                  0, 0, joint))
        else:
            found.append(_verdict(rule, False, told
                                  + "; BUTTS BELONG BETWEEN FRAMES, ON BLOCKS, BUT IN MASSIVE FRAMING", 0, 0, joint))
    if rule.least_slope and joint.kind == "scarf" and slope and joint.ours:
        enough = slope >= rule.least_slope - _SLACK
        found.append(_verdict(rule, enough,
                              "%s: %s:1, %s LONG ON %s; %g:1 NEEDED"
                              % (describe_joint(joint), _count(slope), format_mm(slope * thickness_mm).upper(),
                                 format_mm(thickness_mm).upper(), rule.least_slope),
                              slope, rule.least_slope, joint))
    return found


def judge_length(lengths, words, *, spaces, length_mm, joints=()):
    """Six frame spaces, and five feet where they cannot be had, both numbers: two Verdicts.

    Parameters
    ----------
    lengths : LengthRule
    words : str
        Which length it is.
    spaces : float
        Frame spaces it runs: the difference of its ends' bay indexes.
    length_mm : float
        Along the baseline.
    joints : tuple of Joint

    Returns
    -------
    tuple of Verdict
        The second is judged only where the first fails; where the first is met and the length is short of the second,
        it is told with passed None.
    """
    whole = spaces >= lengths.least_spaces - _SLACK
    enough = length_mm >= lengths.least_mm - _SLACK
    first = Verdict("six-spaces", lengths.spaces_source, whole,
                    "%s: %s, %d NEEDED" % (words, _say(spaces, "FRAME SPACE", "FRAME SPACES"), lengths.least_spaces),
                    float(spaces), float(lengths.least_spaces), joints)
    told = "%s: %s (%s), " % (words, format_mm(length_mm, places=0).upper(), format_inches(length_mm).upper())
    if whole:
        passed, floor = (True, "NOT UNDER 5 FT") if enough else (
            None, "SHORT OF 5 FT, THE FLOOR WHERE 6 SPACES CANNOT BE HAD")
    else:
        passed, floor = (True, "NOT UNDER 5 FT, THE FLOOR WHERE 6 SPACES CANNOT BE HAD") if enough else (
            False, "UNDER 5 FT, THE FLOOR WHERE 6 SPACES CANNOT BE HAD")
    return first, Verdict("five-feet", lengths.floor_source, passed, told + floor, float(length_mm), lengths.least_mm,
                          joints)


def measure_clearance(rule, joint, others):
    """How far a joint clears the nearest one it must be apart from, in the rule's measure: (over the limit, that
    joint), or None where there is none.
    """
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


def find_steps(joints):
    """Joints of three strakes running that stand the same few spaces apart, each further the same way, ours among them:
    a list of triples.

    Common practice, no source: joints marching diagonally make a line of weakness that no pair of them shows.
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
