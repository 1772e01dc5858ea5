"""Checks of scarfs, butts and fastenings: the verdicts of the rule that was chosen, and the fastenings' numbers and
places."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import FASTENINGS, JOINTS
from ..geometry.polyline import measure_distance_mm
from ..model.check import CheckResult, make_place
from ..model.drawing import find_facts
from ..trade.check_limits import END_DISTANCE_MM, GRAIN_SHANKS, PRACTICE
from ..trade.fastening_patterns import count_crossing, find_width_rule, measure_edge_distance_mm
from ..units import format_mm

if TYPE_CHECKING:
    from ..model.check import PlankState

__all__ = ["CHECKS"]

_SLACK_MM = 0.05
_AGAIN = "%s RUN AGAIN: ITS LAYER IS OLDER THAN THE FACTS THAT ARE READ HERE" % JOINTS.capitals


def _list_found(state, key, *verdicts):
    """The Facts of Scarfs and Butts that have this key and one of these verdicts, or any verdict. Only data is
    compared, never the sentences."""
    return find_facts(state.facts.get("joints", ()), key, *verdicts)


def _find_missing(state):
    """What is needed before the joints can be checked, or ''."""
    if "joints" not in state.facts:
        return JOINTS.capitals
    if not _list_found(state, "rule"):
        return _AGAIN
    if state.joint_settings.get("judged_side", state.plank.side) != state.plank.side:
        return ("%s RUN AGAIN: THEY WERE JUDGED AGAINST NEIGHBOURS TO %s"
                % (JOINTS.capitals, state.joint_settings["judged_side"].upper()))
    return ""


def _is_unchecked(state):
    return not _list_found(state, "neighbours", "holds")


def _find_places(state):
    """Places of the joints' own doubts; where there are none, those of the joints."""
    told = [f.where for f in state.findings.get("joints", ()) if f.where is not None]
    return tuple(told or [make_place(j.line.mean(axis=0)) for j in state.joints])


def check_pairs(state: PlankState) -> CheckResult:
    """Butts and scarfs against the neighbours', by the rule that was chosen."""
    name, missing = "BUTTS BY THE RULE NAMED", _find_missing(state)
    if missing:
        return CheckResult.need(name, missing)
    rule = _list_found(state, "rule")[0]
    title, source = rule.brief, rule.source
    judged = [f for f in state.facts["joints"] if f.key in ("pair", "joint")]
    fails = [f for f in judged if f.verdict == "fails"]
    if fails:
        said = fails[0].brief + ("; AND %d MORE" % (len(fails) - 1) if len(fails) > 1 else "")
        bays = _list_found(state, "legal-bays", "holds")
        remedy = "NO BAY OF THIS PLANK IS KNOWN TO BE LEGAL FOR IT: MOVE IT, OR RUN THE PLANK ON"
        if bays:
            remedy = "MOVE THE BUTT TO A LEGAL BAY (%s): %s PROPOSES ONE" % (bays[0].about.upper(), JOINTS.capitals)
        return CheckResult(name, "fail", found=said, limit=title, source=source, remedy=remedy,
                           where=_find_places(state), number=len(fails))
    if _is_unchecked(state):
        return CheckResult.need(name, "THE NEIGHBOURS' JOINTS IN %s" % JOINTS.capitals)
    notes, passed = [f for f in judged if f.verdict == "not judged"], [f for f in judged if f.verdict == "holds"]
    if notes:
        return CheckResult(name, "doubt", found=notes[0].brief, limit=title, source=source,
                           remedy="THE RULE DOES NOT SPEAK OF IT: ASK THE SURVEYOR, OR JUDGE BY ANOTHER RULE",
                           where=_find_places(state), number=len(notes))
    said = "CLOSEST: " + passed[0].brief if passed else "THE RULE HAS NOTHING TO SAY OF JOINTS SO PLACED"
    return CheckResult(name, "pass", found=said, limit=title, source=source, number=0)


def check_practice(state: PlankState) -> CheckResult:
    """Arrangements that good practice avoids though no rule forbids them: joints in steps, and the same bay on both
    sides."""
    name, missing = "JOINTS IN STEP WITH THE NEIGHBOURS'", _find_missing(state)
    if missing or _is_unchecked(state):
        return CheckResult.need(name, missing or "%s, WITH THE NEIGHBOURS' JOINTS" % JOINTS.capitals)
    said = _list_found(state, "practice", "doubt", "fails")
    if not said:
        return CheckResult(name, "pass", found="NONE", limit="NONE", source=PRACTICE, number=0)
    return CheckResult(name, "doubt", found=said[0].brief, limit="NONE", source=PRACTICE,
                       remedy="MOVE A JOINT SO THAT THE LINE OF STEPS IS BROKEN", where=_find_places(state),
                       number=len(said))


def check_lengths(state: PlankState) -> CheckResult:
    """Whether each new length, and each old piece that is left, is six frame spaces long, or five feet where that is
    not possible."""
    name, source = "LENGTHS BETWEEN BUTTS", "US Army TB 55-1900-201-45/1, 2-12 c and d"
    if not _list_found(state, "rule"):
        return CheckResult.need(name, _find_missing(state))
    judged = _list_found(state, "length")
    if not judged:
        return CheckResult.need(name, JOINTS.capitals)
    limit = "6 FRAME SPACES, NOT UNDER 5 FT"
    both, doubts = _list_found(state, "length", "fails"), _list_found(state, "length", "doubt")
    spaces, short = [f for f in doubts if f.about == "spaces"], [f for f in doubts if f.about == "feet"]
    ends = tuple(map(make_place, state.plank.find_baseline()))
    if both or spaces:
        return CheckResult(name, "fail" if both else "doubt", found=(both or spaces)[0].brief, limit=limit,
                           source=source,
                           remedy="A LONGER PIECE, BUTTS FARTHER APART; SHORT PIECES HOLD NO FASTENINGS", where=ends,
                           number=len(both) + len(spaces))
    if short:
        return CheckResult(name, "doubt", found=short[0].brief, limit=limit, source=source,
                           remedy="SIX SPACES ARE MET; SEE WHETHER THE SURVEYOR WANTS 5 FT AS WELL", where=ends,
                           number=len(short))
    if _list_found(state, "old-piece", "not judged"):
        return CheckResult.need(
            name, "THE OLD JOINTS OF THIS STRAKE: 6 FRAME SPACES MUST BE LEFT THERE; THE NEW LENGTH PASSES")
    return CheckResult(name, "pass", found=judged[0].brief, limit=limit, source=source, number=0)


def check_stock_lengths(state: PlankState) -> CheckResult:
    """Whether each part comes out of the longest board that was given in Scarfs and Butts. No rule asks for it: it
    depends on the stock there is."""
    name = "PARTS OUT OF THE LONGEST BOARD"
    if not _list_found(state, "rule"):
        return CheckResult.need(name, _find_missing(state))
    short, held = _list_found(state, "stock", "fails"), _list_found(state, "stock", "holds")
    if short:
        return CheckResult(name, "fail", found="; ".join(f.brief for f in short), limit="THE LONGEST BOARD",
                           source=short[0].source,
                           remedy="A LONGER BOARD, OR ANOTHER PLACE FOR THE JOINT", where=(), number=len(short))
    if held:
        return CheckResult(name, "pass", found="EACH COMES OUT OF IT", limit=format_mm(held[0].limit).upper(),
                           source=held[0].source,
                           number=0)
    return CheckResult.need(name, "THE LONGEST BOARD, GIVEN IN %s" % JOINTS.capitals)


def _find_ways(state):
    """How far each fastening stands below the run, mm, and its place (n, 2)."""
    plank, points = state.plank, np.array([f.at_mm for f in state.fastenings.fastenings])
    away = [measure_distance_mm(points, plank.edges[e].curve.flatten()) for e in ("upper", "lower")]
    return (away[0] - away[1]) / 2, points


def check_grain(state: PlankState) -> CheckResult:
    """Whether fastenings are in one grain line: in the frame's grain those of one frame, in the plank's grain those of
    neighbouring frames."""
    name = "FASTENINGS IN ONE GRAIN LINE"
    if state.fastenings is None:
        return CheckResult.need(name, FASTENINGS.capitals)
    offsets, points = _find_ways(state)
    size = state.fastenings.size.diameter_mm * GRAIN_SHANKS
    groups = []
    for station in state.struck_stations:
        mine = [k for k, f in enumerate(state.fastenings.fastenings) if f.kind == "frame"
                and f.station == station.label]
        if mine:
            way = (station.line[1] - station.line[0]) / np.hypot(*(station.line[1] - station.line[0]))
            groups.append((station, mine, (points[mine] - station.line[0]) @ np.array([-way[1], way[0]]),
                           offsets[mine]))
    pairs = []
    for station, mine, ahead, _ in groups:
        pairs += [(abs(float(ahead[i] - ahead[j])), "FRAME %s, ALONG THE FRAME" % station.label.upper(),
                   points[mine[i]]) for i in range(len(mine)) for j in range(i)]
    for (station, mine, _, here), (_, _, _, there) in zip(groups[1:], groups):
        pairs += [(abs(float(a - b)), "FRAME %s, ALONG THE PLANK" % station.label.upper(), points[k])
                  for k, a in zip(mine, here) for b in there]
    if not pairs:
        return CheckResult.need(name, "FASTENINGS AT THE FRAMES")
    worst = min(pairs, key=lambda p: p[0])
    said, limit = "%s APART, %s" % (format_mm(worst[0]).upper(), worst[1]), "THE SHANK, %s" % format_mm(size).upper()
    if worst[0] >= size - _SLACK_MM:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=worst[0])
    where = tuple(make_place(p[2]) for p in pairs if p[0] < size - _SLACK_MM)
    return CheckResult(name, "fail", found=said, limit=limit, source=PRACTICE,
                       remedy="STAGGER THEM, OR THE FRAME OR THE PLANK SPLITS", where=where,
                       number=worst[0])


def check_fastening_count(state: PlankState) -> CheckResult:
    """Whether each frame has as many fastenings as the rule that they were laid out by asks for."""
    name = "FASTENINGS AT EACH FRAME"
    if state.fastenings is None:
        return CheckResult.need(name, FASTENINGS.capitals)
    rule = state.fastenings.values.get("rule", "")
    if rule == "own":
        return CheckResult.need(name, "A RULE BY WIDTH; THEY WERE COUNTED ON THE BOAT")
    named = find_width_rule(rule)
    short, seen = [], []
    for number, station in enumerate(state.struck_stations):
        counts = count_crossing(rule, station.width_mm).counts
        here = sum(f.kind == "frame" and f.station == station.label for f in state.fastenings.fastenings)
        seen.append(here)
        if here < counts[number % len(counts)]:
            short.append((station, here, counts[number % len(counts)]))
    said = "%d IN ALL, %d TO %d AT A FRAME" % (sum(seen), min(seen), max(seen)) if seen else "NONE"
    limit, source = (named.words.upper(), named.source
                     + "; at least as many as the rest of the planking: US Army TB 55-1900-201-45/1, 2-12 e")
    if not short:
        return CheckResult(name, "pass", found=said, limit=limit, source=source, number=sum(seen))
    said = "%d OF %d AT FRAME %s" % (short[0][1], short[0][2], short[0][0].label.upper()) + (
        " AND FEWER AT %d MORE" % (len(short) - 1) if len(short) > 1 else "")
    return CheckResult(name, "doubt", found=said, limit=limit, source=source,
                       remedy="SEE WHETHER A JOINT OR AN END TAKES THEIR PLACE THERE; "
                                                           "ELSE A SMALLER EDGE DISTANCE OR STAGGER",
                       where=tuple(make_place(s.line.mean(axis=0)) for s, _, _ in short), number=sum(seen))


def check_edge_distance(state: PlankState) -> CheckResult:
    """Fastenings clear of the plank's edges."""
    name = "FASTENINGS CLEAR OF THE EDGES"
    if state.fastenings is None or not state.stations:
        return CheckResult.need(name, FASTENINGS.capitals)
    width = {s.label: s.width_mm for s in state.struck_stations}
    rows = [(f.edge_mm, measure_edge_distance_mm(width.get(f.station, min(width.values()))), f)
            for f in state.fastenings.fastenings if f.kind == "frame"]
    if not rows:
        return CheckResult.need(name, "FASTENINGS AT THE FRAMES")
    worst = min(rows, key=lambda r: r[0] - r[1])
    said = "%s AT FRAME %s" % (format_mm(worst[0]).upper(), worst[2].station.upper())
    limit = "%s: 3/4 IN OR A SIXTH OF THE WIDTH" % format_mm(worst[1]).upper()
    if worst[0] >= worst[1] - _SLACK_MM:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=worst[0])
    return CheckResult(name, "doubt", found=said, limit=limit, source=PRACTICE,
                       remedy="MOVE THEM IN, OR THE EDGE SPLITS",
                       where=tuple(r[2].at_mm for r in rows if r[0] < r[1] - _SLACK_MM), number=worst[0])


def check_end_distance(state: PlankState) -> CheckResult:
    """Fastenings clear of the ends and butts."""
    name = "FASTENINGS CLEAR OF ENDS AND BUTTS"
    if state.fastenings is None:
        return CheckResult.need(name, FASTENINGS.capitals)
    rows = [(f.end_mm, f) for f in state.fastenings.fastenings if f.kind in ("frame", "butt")]
    if not rows:
        return CheckResult.need(name, "FASTENINGS AT FRAMES OR BUTTS")
    worst = min(rows, key=lambda r: r[0])
    said = "%s AT %s %s" % (format_mm(worst[0]).upper(), worst[1].kind.upper(), worst[1].station.upper())
    limit = "%s: 2 TO 3 IN" % format_mm(END_DISTANCE_MM.good).upper()
    # 1 mm of grace: a yard that works in whole mm sets the row at 50 for 2 in
    if worst[0] >= END_DISTANCE_MM.good - 1.0:
        return CheckResult(name, "pass", found=said, limit=limit, source=END_DISTANCE_MM.source, number=worst[0])
    return CheckResult(name, "doubt", found=said, limit=limit, source=END_DISTANCE_MM.source,
                       remedy="MOVE THEM AWAY FROM THE END, OR IT SPLITS",
                       where=tuple(r[1].at_mm for r in rows if r[0] < END_DISTANCE_MM.good - 1.0), number=worst[0])


CHECKS = (check_pairs, check_practice, check_lengths, check_stock_lengths, check_fastening_count, check_edge_distance,
          check_end_distance, check_grain)
