"""Scarfs and butts: placed in a plank, judged against the neighbours' by a named rule, and drawn.

Rules are applied word for word: what a rule does not cover is reported as not judged. Distances are along the plank's
baseline.
"""
from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..actions import FAIR
from ..errors import PatternError, SettingError
from ..model.joints_and_fastenings import KINDS, Joint, PlacedJoint
from ..model.typed import refuse_outside
from ..trade.butt_rules import GARBOARD_SHIFT_MM, LENGTHS, RULES, SLOPES, find_rule, measure_scarf, size_block
from .bays import (
    MOST_JOINTS,
    Demands,
    choose_best,
    describe_nearest,
    find_bare_frames,
    find_legal_bays,
    find_legal_sets,
    list_candidates,
    note_bare,
    shift_clear,
    tell_bare_frames,
)
from .butt_map import PAGES, draw_butt_map
from .drawing import draw_overlay
from .frames import find_fraction, find_frames, find_place, name_place, number_strakes, place_records, read_spot
from .judge import (
    find_steps,
    find_too_long,
    judge_joint,
    judge_lengths,
    judge_own_pairs,
    judge_pairs,
    list_facts,
    remark,
)
from .scarfs import (
    ENDS,
    FEATHERS,
    SQUARE_TO,
    JointSettings,
    check_settings,
    find_end_line,
    find_feathers,
    find_joint_line,
    find_register,
    split_plank,
)
from .words import (
    describe_joint,
    list_findings,
    say_asked,
    say_garboard,
    say_gone,
    say_no_board,
    say_opposite,
    say_short_block,
    say_short_part,
    say_steps,
)

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Overlay, Station
    from ..model.joints_and_fastenings import FrameRecord, JointRecord, Part, SideFrames, Verdict
    from ..model.page import Page
    from ..model.plank import Plank
    from ..trade.butt_rules import ButtRule

__all__ = [
    "ENDS", "FEATHERS", "KINDS", "PAGES", "RULES", "SLOPES", "SQUARE_TO", "JointPlan", "JointSettings", "draw_map",
    "place_joints"]

_PROPOSE = re.compile(r"^propose\s+(\d+)$", re.IGNORECASE)


@dataclass(frozen=True, eq=False, repr=False)
class JointPlan:
    """The result.

    joints : PlacedJoint, from the fore end aft. parts : Part. verdicts : of all that concerns this plank, pairs first,
    the worst first.
    legal : names of the bays where the rules allow the joints asked for; on_boards : those of them that the longest
    board allows too. why : reason for those proposed. side : every Joint known, on both sides; frames : SideFrames.
    rule : ButtRule. overlay : Overlay, with the facts that later actions read.
    """

    joints: tuple[PlacedJoint, ...]
    parts: tuple[Part, ...]
    verdicts: tuple[Verdict, ...]
    legal: tuple[str, ...]
    why: str
    side: tuple[Joint, ...]
    frames: SideFrames
    rule: ButtRule
    overlay: Overlay
    on_boards: tuple[str, ...] = ()


def place_joints(plank: Plank, stations: Sequence[Station], *, settings: JointSettings = JointSettings(),
                 records: Sequence[JointRecord] = (), frame_records: Sequence[FrameRecord] = ()) -> JointPlan:
    """Place joints in a plank, judge them and draw them.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    settings : JointSettings
    records : sequence of JointRecord
        Joints on the boat. Those of this plank's own strake are the old joints ahead of it and behind.
    frame_records : sequence of FrameRecord

    Returns
    -------
    JointPlan

    Raises
    ------
    SettingError, PatternError, DocumentError
        Among others where records contradict each other.
    """
    rule = find_rule(settings.rule)
    check_settings(settings)
    frames = find_frames(plank, stations, records=frame_records, spacing_mm=settings.spacing_mm,
                         siding_mm=settings.siding_mm)
    numbers = number_strakes(records, plank.strake) if records else {plank.strake.strip().lower(): 0}
    number = numbers[plank.strake.strip().lower()]
    known = place_records(records, frames=frames, plank=plank, numbers=numbers)
    ends = _place_ends(plank, frames, settings, number)
    others, ahead, behind, remarks = _sort_known(known, plank, number, ends)
    demands = _make_demands(rule, settings, plank, frames, others=others, ends=ends)
    chosen, why, legal, on_boards, proposed = _choose(plank, stations, frames, settings, number=number, demands=demands)
    placed, bounds, lines = _lay_out(plank, stations, chosen, settings)
    parts = split_plank(plank, bounds)
    registers = _register(plank, parts, lines)
    blocks = [_size_block(plank, frames, settings, j) if j.kind == "butt" else None for j in chosen]
    end_blocks = [(find_end_line(plank, name), _size_block(plank, frames, settings, joint))
                  for name, joint in ends.items() if joint and joint.kind == "butt"]
    own = list(chosen) + [j for j in ends.values() if j]
    verdicts = judge_own_pairs(rule, own, others, scarf_mm=settings.slope * plank.thickness_mm) + tuple(
        v for j in own for v in judge_joint(rule, j, thickness_mm=plank.thickness_mm, slope=settings.slope))
    verdicts += judge_lengths(plank, frames, chosen, ends=ends, ahead=ahead, behind=behind)
    side = tuple(others) + tuple(j for j in known if j.number == number and j.side == plank.side
                                 and j in (ahead, behind)) + tuple(own)
    bare = [find_bare_frames(plank, stations, j.line, length_mm=j.length_mm, siding_mm=settings.siding_mm)
            if j.kind == "scarf" else () for j in placed]
    remarks += [*_remark(plank, own, side, known, number=number), *_warn_blocks(chosen, blocks),
                *tell_bare_frames(placed, bare, settings.siding_mm)]
    story = {"rule": rule, "verdicts": verdicts, "legal": legal, "on_boards": on_boards, "why": why,
                 "remarks": tuple(remarks), "too_long": find_too_long(parts, settings.stock_mm),
                 "short_parts": _list_short_parts(frames, parts, chosen), "proposed": proposed, "ahead": ahead,
                 "behind": behind, "neighbours": len(others)}
    overlay = draw_overlay(plank, placed, parts, lines=lines, blocks=blocks, end_blocks=end_blocks,
                           registers=registers, others=others, number=number, settings=settings,
                           facts=list_facts(placed, blocks, settings, story),
                           findings=list_findings(plank, placed, chosen, verdicts=verdicts, too_long=story["too_long"]))
    overlay = replace(overlay, lines=tuple(note_bare(line, {j.label: labels for j, labels in zip(placed, bare)})
                                           for line in overlay.lines))
    return JointPlan(placed, parts, verdicts, legal, why=why, side=side, frames=frames, rule=rule, overlay=overlay,
                     on_boards=on_boards)


def draw_map(plank: Plank, plan: JointPlan, *, others: Sequence[tuple[Plank, Sequence[Station]]] = (),
             page: str = "a4", settings: JointSettings = JointSettings(), file_name: str = "") -> Page:
    """The butt map of the plank's side as one Page, every pair judged; others : other new planks and their stations."""
    here = [j for j in plan.side if j.side == plank.side]
    scarf = settings.slope * plank.thickness_mm
    verdicts = judge_pairs(plan.rule, here, scarf_mm=scarf) + tuple(
        v for j in here for v in judge_joint(plan.rule, j, thickness_mm=plank.thickness_mm, slope=settings.slope))
    return draw_butt_map(plank, plan.frames, here, verdicts, rule=plan.rule, others=others, page=page,
                         unit=settings.unit, file_name=file_name)


def _place_ends(plank, frames, settings, number):
    """The plank's ends as Joints, None for an end in a rabbet."""
    found: dict[str, Joint | None] = {}
    for name, kind, distance in (("fore", settings.fore_end, 0.0),
                                 ("aft", settings.aft_end, plank.measure_length_mm())):
        found[name] = None
        if kind != "hood":
            place = find_place(frames, distance)
            if place is None:
                raise PatternError("The %s end lies beyond the frames that are known (%s to %s), so its bay is not."
                                   % (name, frames.labels[0], frames.labels[-1]),
                                   "Say that it is a hood end, or give a table of frames.")
            found[name] = Joint(plank.side, plank.strake or "this", kind, name_place(frames, place),
                                distance_mm=distance,
                                note="%s end" % name, number=number, place=place, doubt_mm=0.0, ours="end", end=name)
    return found


def _sort_known(known, plank, number, ends):
    """(neighbours of this side, the old joint ahead, that behind, remarks): records inside the plank or at its ends are
    in none of these."""
    others, ahead, behind, remarks = [], None, None, []
    length = plank.measure_length_mm()
    for joint in known:
        if joint.side != plank.side or joint.number != number:
            others.append(joint)
            continue
        if any(e is not None and abs(joint.place - e.place) <= 0.5 for e in ends.values()):
            continue                                          # this record is the plank's own end
        if 0 < joint.distance_mm < length:
            remarks.append(remark("taken-as-gone", say_gone(joint), number=joint.distance_mm, unit="mm",
                                  about=describe_joint(joint)))
        elif joint.distance_mm <= 0 and (ahead is None or joint.distance_mm > ahead.distance_mm):
            ahead = joint
        elif joint.distance_mm >= length and (behind is None or joint.distance_mm < behind.distance_mm):
            behind = joint
    return tuple(j for j in others if j.side == plank.side), ahead, behind, remarks


def _make_demands(rule, settings, plank, frames, *, others, ends):
    fore, aft = (ends[n] for n in ("fore", "aft"))
    length = plank.measure_length_mm()
    stops = tuple((j.place, d) if j else (find_fraction(frames, d), d) for j, d in ((fore, 0.0), (aft, length)))
    return Demands(rule, others, stops, LENGTHS.least_spaces,
                   scarf_mm=settings.slope * plank.thickness_mm if settings.kind == "scarf" else 0.0,
                   stock_mm=settings.stock_mm)


def _choose(plank, stations, frames, settings, *, number, demands):
    """(joints, why, legal bays by the rules, those of them that the longest board allows, whether they were proposed).
    """
    text = settings.joints.strip()
    if text.lower() == "none":
        return (), "", (), (), False
    match = _PROPOSE.match(text)
    typed = () if match else _read_typed(plank, frames, settings, number, text=text)
    count = int(match.group(1)) if match else len(typed)
    if match:
        refuse_outside(count, 1, MOST_JOINTS, problem="%d joints in one plank cannot be proposed.",
                       remedy="Write 'propose 1' to 'propose %d', or 'none'." % MOST_JOINTS, field="Joints")
    if match and settings.kind not in demands.rule.counts:
        raise SettingError("The rule %s says nothing of %ss, so no bay can be proposed by it."
                           % (demands.rule.name, settings.kind), "Choose one that does: %s; or type the places."
                           % ", ".join(name for name in RULES if settings.kind in find_rule(name).counts), "Rule")
    legal: tuple[str, ...] = ()
    on_boards: tuple[str, ...] = ()
    sets: list[tuple[Joint, ...]] = []
    candidates: list[Joint] = []
    if settings.kind in demands.rule.counts and 1 <= count <= MOST_JOINTS and all(j.kind == settings.kind
                                                                                  for j in typed):
        room = max(demands.scarf_mm / 2, 1.0)
        candidates = list_candidates(frames, kind=settings.kind, side=plank.side, strake=plank.strake or "this",
                                     number=number, length_mm=plank.measure_length_mm(), room_mm=room)
        # first by the rules alone: the length of the boards is not a rule
        legal = find_legal_bays(find_legal_sets(candidates, replace(demands, stock_mm=0.0), count=count))
        sets = find_legal_sets(candidates, demands, count=count)
        on_boards = find_legal_bays(sets)
    if not match:
        return typed, "", legal, on_boards, False
    asked, keeps = say_asked(count, settings.kind), None
    if legal and not sets:
        nearest = describe_nearest([j for j in candidates if j.bay in legal], demands)
        raise PatternError(say_no_board(demands.stock_mm, asked, legal, nearest),
                           "Take longer boards or more joints; the rule %s is not what stands in the way."
                           % demands.rule.name)
    if sets and settings.kind == "scarf":
        sets, keeps = _keep_fastenings(plank, stations, frames, settings, candidates=candidates, demands=demands,
                                       sets=sets, count=count)
    chosen, why = choose_best(sets, demands if sets else replace(demands, stock_mm=0.0), asked=asked,
                              candidates=candidates, keeps=keeps)
    return chosen, why, legal, on_boards, True


def _keep_fastenings(plank, stations, frames, settings, *, candidates, demands, sets, count):
    """(sets, True) of those sets of scarfs that can be shifted within their bays so that every frame keeps its
    fastenings, shifted; where there is none, (all sets, False)."""
    told = {"length_mm": demands.scarf_mm, "siding_mm": settings.siding_mm, "square_to": settings.square_to}
    moved = [shift_clear(plank, stations, joint, frames, **told) for joint in candidates]
    clear = find_legal_sets([joint for joint in moved if joint], demands, count=count)
    if not clear:
        return sets, False
    return clear, True


def _read_typed(plank, frames, settings, number, text):
    found = []
    for piece in (p.strip() for p in re.split(r"[,;]", text)):
        if not piece:
            continue
        head, *rest = piece.split(None, 1)
        kind, spot = (head, rest[0]) if rest and head.lower() in ("butt", "scarf") else ("", piece)
        try:
            place, distance, _ = read_spot(frames, spot, unit=settings.unit)
        except SettingError as error:
            raise SettingError(error.problem, error.remedy, "Joints") from None
        if not 0 < distance < plank.measure_length_mm():
            raise SettingError("'%s' does not lie in this plank." % piece, "It runs from bay or frame %s to %s."
                               % (_name_end(frames, 0.0), _name_end(frames, plank.measure_length_mm())), "Joints")
        found.append(Joint(plank.side, plank.strake or "this", (kind or settings.kind).lower(),
                           name_place(frames, place), distance_mm=distance, note="", number=number, place=place,
                           doubt_mm=0.0, ours="new"))
    if not found:
        raise SettingError("No joint is given.", "Write places as 10-11, 14-15, or 'propose 1', or 'none'.", "Joints")
    found.sort(key=lambda j: j.distance_mm)
    for a, b in zip(found, found[1:]):
        if b.distance_mm - a.distance_mm < 1.0:
            raise SettingError("Two joints lie at %s." % a.bay, "Give each its own place.", "Joints")
    return tuple(found)


def _name_end(frames, distance_mm):
    place = find_place(frames, distance_mm)
    return "the end" if place is None else name_place(frames, place)


def _lay_out(plank, stations, chosen, settings):
    """(PlacedJoints, bounds for split_plank, the joint's own lines for each)."""
    placed, bounds, lines = [], [], []
    for number, joint in enumerate(chosen, 1):
        line = find_joint_line(plank, joint.distance_mm, square_to=settings.square_to, stations=stations)
        if joint.kind == "scarf":
            if plank.thickness_mm <= 0:
                raise PatternError("The plank's thickness is not known, so a scarf has no length.",
                                   "Give it in %s." % FAIR.title)
            length = measure_scarf(thickness_mm=plank.thickness_mm, slope=settings.slope)[0]
            cuts = find_feathers(plank, line, length)
        else:
            length, cuts = 0.0, find_feathers(plank, line, 0.0)
        bounds.append((cuts[0], cuts[1]))
        lines.append([cuts[0][0], cuts[1][0]] if length else [cuts[0][0]])
        placed.append(PlacedJoint(str(number), joint.kind, joint.bay, joint.distance_mm, length_mm=length,
                                  slope=settings.slope
                                  if length else 0.0, line=line, thickness_mm=plank.thickness_mm,
                                  feather=settings.feather if length else ""))
    return tuple(placed), bounds, lines


def _register(plank, parts, lines):
    found = []
    for k, own in enumerate(lines):
        start, along, _ = plank.find_axes()
        at = [float((line.mean(axis=0) - start) @ along) for line in own]
        nearest = parts[k - 1].to_mm if k else parts[0].from_mm
        following = parts[k + 2].from_mm if k + 2 < len(parts) else parts[-1].to_mm
        room = at[0] - nearest, following - at[-1]
        if min(room) < 1.0:
            raise PatternError("Joint %d and the next run into each other: no solid wood is left between them." % (
                k + 1), "Place them further apart, or give a shorter slope.", tuple(map(float, own[0].mean(axis=0))))
        found.append(find_register(plank, own, room_mm=room))
    return found


def _size_block(plank, frames, settings, joint):
    """The block of a butt, or None: on a frame, or without a thickness."""
    if joint.place % 1 == 0 or plank.thickness_mm <= 0:
        return None
    low = int(joint.place)
    sides = frames.distances_mm[low] + settings.siding_mm / 2, frames.distances_mm[low + 1] - settings.siding_mm / 2
    clear = 2 * min(joint.distance_mm - sides[0], sides[1] - joint.distance_mm)
    return size_block(thickness_mm=plank.thickness_mm, clear_mm=float(clear), drain_mm=settings.drain_mm,
                      lap_mm=settings.lap_mm, times=settings.block_times)


def _warn_blocks(chosen, blocks):
    return [remark("short-block", say_short_block(j, b), verdict="doubt", number=b.times, unit="thicknesses", limit=8.0,
                   about=describe_joint(j)) for j, b in zip(chosen, blocks) if b is not None and b.times < 8 - 1e-6]


def _list_short_parts(frames, parts, chosen):
    """Names of parts with a scarf at an end that are shorter than a length between butts should be: a list of str."""
    found = []
    for k, part in enumerate(parts):
        spaces = find_fraction(frames, part.to_mm) - find_fraction(frames, part.from_mm)
        if any(j.kind == "scarf" for j in chosen[max(k - 1, 0):k + 1]) and (
                spaces < LENGTHS.least_spaces - 1e-6 or part.to_mm - part.from_mm < LENGTHS.least_mm - 1e-6):
            found.append(say_short_part(part, spaces))
    return found


def _remark(plank, own, side, known, number):
    """Common practice that no rule here states: a list of Fact."""
    found = [remark("practice", say_steps(run), verdict="doubt", about="; ".join(map(describe_joint, run)))
             for run in find_steps(side)]
    for joint in own:
        for other in known:
            if other.side == plank.side or other.number != number:
                continue
            apart, about = abs(other.distance_mm - joint.distance_mm), describe_joint(joint)
            if number == 1 and apart < GARBOARD_SHIFT_MM:
                found.append(remark("practice", say_garboard(joint, apart), verdict="doubt", number=apart, unit="mm",
                                    limit=GARBOARD_SHIFT_MM, about=about))
            elif other.place == joint.place:
                found.append(remark("practice", say_opposite(joint), verdict="doubt", about=about))
    return found
