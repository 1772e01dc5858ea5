"""The number of each frame: by its label or by counting, where numbers are left free for frames that left no trace. A
part of stations."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.arrays import find_median
from ..model.plank import Finding
from ..model.typed import parse_labels
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Values
    from ..model.typed import LabelRule
    from .pairs import FrameSpots

__all__ = ["count_gap", "find_usual_gap", "list_strays", "number_frames"]

NEAR = 0.25               # a gap counts as a whole multiple of the usual one if the ratio is this near to it
SHORT, LONG = 0.6, 1.4    # gaps shorter or longer than these times the usual one are reported
MOST_ODD = 0.25           # if more than this share of the gaps does not fit, there is no usual gap


def _fits(ratio):
    return SHORT <= ratio <= LONG or (ratio > LONG and abs(ratio - round(ratio)) <= NEAR)


def find_usual_gap(gaps: Values) -> float:
    """The largest gap of which nearly all are whole multiples, mm; the median where there is none; 0 without gaps."""
    gaps = np.asarray([g for g in gaps if g > 1e-6], float)
    for one in sorted(gaps, reverse=True):
        ratios = gaps / one
        good = np.array([_fits(r) for r in ratios])
        if (~good).mean() <= MOST_ODD and (good & (ratios <= LONG)).any():
            return float(find_median(gaps[good] / np.maximum(np.round(ratios[good]), 1)))
    return float(find_median(gaps)) if len(gaps) else 0.0


def count_gap(gap_mm: float, usual_mm: float) -> int:
    """How many frame spaces a gap spans: the whole multiple of the usual one, or 1."""
    ratio = gap_mm / usual_mm if usual_mm > 0 else 1.0
    return round(ratio) if ratio > LONG and abs(ratio - round(ratio)) <= NEAR else 1


def list_strays(frames: Sequence[FrameSpots]) -> list[FrameSpots]:
    """Unlabelled marks on one edge only that are far too near to a frame to be another: to be reported and left out."""
    firm = [f for f in frames if f.label or f.lone is None]
    usual = find_usual_gap(np.diff([f.along_mm for f in (firm if len(firm) >= 3 else frames)]))
    strays = []
    for frame in frames:
        if frame.label or frame.lone is None or not usual:
            continue
        beside = [abs(f.along_mm - frame.along_mm) for f in frames if f is not frame and f not in strays]
        if beside and min(beside) < SHORT * usual and any(abs(f.along_mm - frame.along_mm) == min(beside)
                                                          and (f in firm) for f in frames):
            strays.append(frame)
    return strays


def number_frames(frames: Sequence[FrameSpots], rule: LabelRule, *, what: str) -> tuple[list[str], list[Finding]]:
    """A label for every frame.

    Parameters
    ----------
    frames : list of FrameSpots
        From the fore end aft.
    rule : LabelRule
        Numbering to use where nothing is labelled.
    what : str
        What marks a frame, for messages: 'tick', 'mark', 'line'.

    Returns
    -------
    list of str, list of Finding

    Raises
    ------
    PatternError
        Where labels contradict each other; the message names both. SettingError from the rule.
    """
    along = np.array([f.along_mm for f in frames])
    labels = parse_labels([f.label for f in frames])
    told = [k for k, f in enumerate(frames) if f.label]
    for i, k in enumerate(told):
        for j in told[:i]:
            if frames[j].label.lower() == frames[k].label.lower():
                raise PatternError("The label %s stands at two frames, %.0f and %.0f mm from the fore end." % (
                    frames[k].label, along[j], along[k]), "Mend the one that is wrong.", frames[k].where)
    ways = _find_ways(frames, labels, told, along)
    usual = _find_usual(labels, told, along)
    steps = [count_gap(g, usual) for g in np.diff(along)]
    names = _count_by_rule(frames, steps,
                           rule) if not told else _count_by_labels(frames, labels, told=told, along=along,
                                                                   steps=steps, usual=usual,
                                                                   find_way=lambda label: ways.get(label.family,
                                                                                                   rule.step * (
                                                                       1 if rule.from_end == "fore" else -1)),
                                                                   what=what)
    twice = next((n for k, n in enumerate(names) if n.lower() in [m.lower() for m in names[:k]]), None)
    if twice is not None:
        raise PatternError("Two frames would be numbered %s." % twice, "Label more of them.",
                           frames[names.index(twice)].where)
    return names, _tell_gaps(frames, names, along=along, usual=usual, what=what)


def _find_usual(labels, told, along):
    """The usual gap, from labels where there are several, else from the gaps themselves."""
    by_label = []
    for a, b in zip(told, told[1:]):
        steps = labels[a].count_to(labels[b]) if labels[a] and labels[b] else None
        by_label += [(along[b] - along[a]) / abs(steps)] * abs(steps) if steps else []
    return float(find_median(by_label)) if len(by_label) >= 3 else find_usual_gap(np.diff(along))


def _find_ways(frames, labels, told, along):
    """{family of labels: 1 where its numbers rise going aft, -1 going forward}; refused where they do both."""
    ways = {}
    for family in {labels[k].family for k in told if labels[k]}:
        mine = [k for k in told if labels[k] and labels[k].family == family]
        found = [(1 if labels[b].rank > labels[a].rank else -1, a, b) for a, b in zip(mine, mine[1:])]
        if not found:
            continue
        way = ways[family] = 1 if sum(f[0] for f in found) >= 0 else -1
        wrong = next((f for f in found if f[0] != way), None)
        if wrong is not None:
            _, a, b = wrong
            raise PatternError("The labels are out of order: frame %s stands %.0f mm and frame %s %.0f mm from the "
                               "fore end, and the others %s aft." %
                               (frames[a].label, along[a], frames[b].label, along[b], "grow" if way > 0 else "fall"),
                               "Mend the label that is wrong.", frames[b].where)
    return ways


def _count_by_rule(frames, steps, rule):
    places = np.concatenate([[0], np.cumsum(steps)]).astype(int)
    places = places if rule.from_end == "fore" else places[-1] - places
    return rule.name_at([int(p) for p in places])


def _count_by_labels(frames, labels, *, told, along, steps, usual, find_way, what):
    names = [f.label for f in frames]
    reach = np.concatenate([[0], np.cumsum(steps)]).astype(int)

    def count(k, steps_on):
        name = labels[k].count_on(find_way(labels[k]) * int(steps_on)) if labels[k] else None
        if name is None:
            raise PatternError("The frames beside %s have no label, and from '%s' they cannot be counted."
                               % (frames[k].label, frames[k].label), "Label them.", frames[k].where)
        return name
    for a, b in zip(told, told[1:]):
        steps_told = labels[a].count_to(labels[b]) if labels[a] and labels[b] else None
        between, room = range(a + 1, b), None if steps_told is None else abs(steps_told)
        if room is None:
            if len(between):
                raise PatternError("Between frames %s and %s stand%s %d without a label, and from the one to the "
                                   "other nothing can be counted." %
                                   (frames[a].label, frames[b].label, "s" if len(between) == 1 else "", len(between)),
                                   "Label %s." % ("it" if len(between) == 1 else "them"), frames[a + 1].where)
            continue
        if room == reach[b] - reach[a]:
            jumps = reach[a + 1:b] - reach[a]
        elif room == b - a:
            jumps = np.arange(1, b - a)
        elif len(between) or (usual and (along[b] - along[a]) / room < SHORT * usual and room > 1):
            raise PatternError("From frame %s to frame %s the labels count %d frame spaces, the %ss on the plank %d "
                               "(%.0f mm; %.0f mm is usual)." %
                               (frames[a].label, frames[b].label, room, what, reach[b] - reach[a],
                                along[b] - along[a], usual),
                               "Mend the label that is wrong, or label the frames between.", frames[b].where)
        else:
            continue
        for k, jump in zip(between, jumps):
            names[k] = count(a, jump)
    first, last = told[0], told[-1]
    for k in range(first):
        names[k] = count(first, -(reach[first] - reach[k]))
    for k in range(last + 1, len(frames)):
        names[k] = count(last, reach[k] - reach[last])
    return names


def _tell_gaps(frames, names, along, usual, what):
    """Findings for numbers that were left free, and for gaps that are far from usual."""
    found, gaps = [], np.diff(along)
    for k, gap in enumerate(gaps):
        a, b = (parse_labels([names[k], names[k + 1]]))
        steps = a.count_to(b) if a and b else None
        between = [a.count_on(int(np.sign(steps)) * j) for j in range(1, abs(steps))] if a and steps else []
        free = [name for name in between if name is not None]         # all: letters do not run out between two
        ratio = gap / usual if usual > 0 else 1.0
        where = tuple((np.array(frames[k].where) + frames[k + 1].where) / 2)
        if free:
            found.append(Finding(words.tell_free_numbers(free, what, first=names[k], second=names[k + 1], gap_mm=gap,
                                                         usual_mm=usual), where, "numbers-left-free",
                                                         number=float(len(free)),
                                 unit="numbers", station=names[k]))
        elif len(gaps) > 1 and not SHORT <= ratio <= LONG:
            found.append(Finding(words.tell_odd_gap(names[k], names[k + 1], gap, usual), where, "odd-gap",
                                 number=float(gap), unit="mm", limit=float(usual), station=names[k]))
    return found
