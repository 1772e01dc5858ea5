"""Checks of the edges' bevels: their sign and size against the frames' roundness and the angle read on the boat, how
they change along the plank, the seam, the ends.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import ALLOWANCE, JOINTS, SECTION
from ..geometry.readings import measure_out_of_line
from ..model.check import CheckResult, make_place
from ..trade.check_limits import BEVEL_OFF_DEG, BEVEL_SHARE, BEVEL_STEP_DEG, PRACTICE, SEAM_SHARES
from ..trade.seams import find_gap_mm, judge_thickness
from ..units import format_mm

if TYPE_CHECKING:
    from ..model.check import PlankState

__all__ = ["CHECKS"]

_EDGES = ("upper", "lower")
_SIGN_DEG, _SAME_MM = 1.0, 0.05   # a smaller bevel counts as having no sign; a smaller length as zero
_GEOMETRY = ("geometry: a tight bevel is half the angle between two flats; room for how the bilge tightens: common "
             "practice, no source")


def _find_seams_deg(board):
    """By how many degrees the seam reduces the bevel of each edge."""
    share = board.seam.gap_mm / board.thickness_mm
    if board.seam.share == "both":
        return dict.fromkeys(_EDGES, float(np.degrees(np.arctan(share / 2))))
    return {e: float(np.degrees(np.arctan(share))) if e == board.seam.share else 0.0 for e in _EDGES}


def _find_end(section, edge):
    return make_place(section.line[_EDGES.index(edge)])


def check_bevel_sign(state: PlankState) -> CheckResult:
    """Each bevel against the one that its frame's roundness asks for: finds a wrong sign, a missed change of sign, and
    a number that was written beside the wrong frame."""
    name, board = "BEVELS AND THE ROUNDNESS OF THE FRAMES", state.board
    if board is None:
        return CheckResult.need(name, SECTION.capitals)
    seams, rows = _find_seams_deg(board), []
    for section in board.sections:
        for edge in _EDGES:
            if section.reaches(edge) and "taken" not in (section.known.get("radius", "taken"),
                                                         section.known.get(edge, "taken")):
                half = float(np.degrees(np.arcsin(np.clip(section.inside_mm * section.curvature_per_mm / 2, -1, 1))))
                rows.append((section, edge, section.bevels_deg[edge], half - seams[edge],
                             BEVEL_OFF_DEG.good + BEVEL_SHARE * abs(half)))
    if not rows:
        return CheckResult.need(name, "RADIUS OR HOLLOW, AND BEVELS OR ANGLES, READ AT THE FRAMES")
    wrong = [r for r in rows if r[2] * r[3] < 0 and min(abs(r[2]), abs(r[3])) >= _SIGN_DEG
             and abs(r[2] - r[3]) > 1.5 * BEVEL_OFF_DEG.good]
    far = [r for r in rows if abs(r[2] - r[3]) > r[4]]
    worst = max(wrong or rows, key=lambda r: abs(r[2] - r[3]) - r[4])
    said = "%+.1f DEG AT FRAME %s, %s EDGE; ROUNDNESS AND SEAM ASK FOR ABOUT %+.1f" % (
        worst[2], worst[0].station.upper(), worst[1].upper(), worst[3])
    limit = "THE SAME SIGN, WITHIN %g DEG AND %.0f PERCENT OF IT" % (BEVEL_OFF_DEG.good, 100 * BEVEL_SHARE)
    where = tuple(_find_end(r[0], r[1]) for r in (wrong or far))
    if wrong:
        return CheckResult(name, "fail", found="WRONG WAY AT %d PLACES: %s" % (len(wrong), said), limit=limit,
                           source=_GEOMETRY,
                           remedy="MINUS WHERE THE OUTSIDE IS NARROWER: READ THE BEVEL BOARD AGAIN, FRAME BY FRAME",
                           where=where,
                           number=worst[2] - worst[3])
    if far:
        failing = any(abs(r[2] - r[3]) > r[4] + BEVEL_OFF_DEG.bad for r in far)
        return CheckResult(name, "fail" if failing else "doubt", found=said, limit=limit, source=_GEOMETRY,
                           remedy="READ BEVEL AND HOLLOW AGAIN THERE; A KNUCKLE OR A CHINE WOULD EXPLAIN IT",
                           where=where,
                           number=worst[2] - worst[3])
    return CheckResult(name, "pass", found=said, limit=limit, source=_GEOMETRY, number=worst[2] - worst[3])


def check_bevel_change(state: PlankState) -> CheckResult:
    """Bevels from frame to frame: single readings that contradict the others, and jumps in the faired ones."""
    name, board = "BEVELS FROM FRAME TO FRAME", state.board
    if board is None or all(s.known.get(e, "taken") == "taken" for s in board.sections for e in _EDGES):
        return CheckResult.need(name, "%s, WITH BEVELS OR ANGLES READ AT THE FRAMES" % SECTION.capitals)
    limit = "%g DEG OFF WHAT THE OTHER FRAMES SAY, FAILS OVER %g" % (BEVEL_STEP_DEG.good, BEVEL_STEP_DEG.bad)
    rows = []
    for finding in state.findings.get("section", ()):
        if finding.key == "bevel-off" and finding.number is not None:
            rows.append((finding.number, finding.text.rstrip(".").upper(), finding.where))
    for edge in _EDGES:
        met = [s for s in board.sections if s.reaches(edge)]
        off, _ = measure_out_of_line([s.distance_mm for s in met], [s.bevels_deg[edge] for s in met])
        rows += [(abs(float(v)), "FRAME %s, %s BEVEL: %.1f DEG OFF" % (s.station.upper(), edge.upper(), abs(v)),
                  _find_end(s, edge)) for s, v in zip(met, off) if np.isfinite(v)]
    if not rows:
        return CheckResult.need(name, "BEVELS AT FIVE FRAMES")
    worst = max(rows, key=lambda r: r[0])
    if worst[0] <= BEVEL_STEP_DEG.good:
        return CheckResult(name, "pass", found=worst[1], limit=limit, source=BEVEL_STEP_DEG.source, number=worst[0])
    where = tuple(r[2] for r in rows if r[0] > BEVEL_STEP_DEG.good and r[2] is not None)
    return CheckResult(name, "fail" if worst[0] > BEVEL_STEP_DEG.bad else "doubt", found=worst[1], limit=limit,
                       source=BEVEL_STEP_DEG.source,
                       remedy="READ IT AGAIN: A SIGN LEFT OUT, OR ANOTHER FRAME'S NUMBER", where=where,
                       number=worst[0])


def check_half_angle(state: PlankState) -> CheckResult:
    """The bevels at one frame, compared with half the angle to the neighbours' flats, which was read again on the boat.
    """
    name, measured = "BEVEL HALF OF THE ANGLE", state.measured
    both = (("upper", measured.upper_angle_deg), ("lower", measured.lower_angle_deg))
    told = {edge: angle for edge, angle in both if angle is not None}
    if not measured.frame or not told:
        return CheckResult.need(name, "A FRAME AND THE ANGLE TO A NEIGHBOUR'S FLAT, READ THERE AGAIN")
    section = state.find_section(measured.frame)
    if section is None:
        return CheckResult.need(name, "%s AT A STATION LABELLED %s" % (SECTION.capitals, measured.frame.upper()))
    missed = [e for e in told if not section.reaches(e)]
    if missed:
        return CheckResult.need(name, "A FRAME THAT MEETS THE %s EDGE; FRAME %s MEETS THE %s END"
                                % (missed[0].upper(), section.station.upper(), section.known[missed[0]].upper()))
    seams = _find_seams_deg(state.board)
    rows = [(e, section.bevels_deg[e] + seams[e], angle / 2) for e, angle in told.items()]
    worst = max(rows, key=lambda r: abs(r[1] - r[2]))
    off = abs(worst[1] - worst[2])
    said = "%+.1f DEG TIGHT ON THE %s EDGE AT FRAME %s; HALF THE ANGLE IS %+.1f" % (worst[1], worst[0].upper(),
                                                                                    section.station.upper(), worst[2])
    limit = "WITHIN %g DEG, FAILS OVER %g" % (BEVEL_STEP_DEG.good, BEVEL_STEP_DEG.bad)
    if off <= BEVEL_STEP_DEG.good:
        return CheckResult(name, "pass", found=said, limit=limit, source=BEVEL_STEP_DEG.source, number=off)
    turned = worst[1] * worst[2] < 0 and min(abs(worst[1]), abs(worst[2])) >= _SIGN_DEG
    remedy = ("THE SIGN IS WRONG: PLUS WHERE THE HULL IS ROUND THERE" if turned
              else "READ BOTH AGAIN; THE ANGLE IS BETWEEN THE FLATS, SQUARE TO THE SEAM")
    return CheckResult(name, "fail" if off > BEVEL_STEP_DEG.bad or turned else "doubt", found=said, limit=limit,
                       source=BEVEL_STEP_DEG.source, remedy=remedy,
                       where=tuple(_find_end(section, r[0]) for r in rows if abs(r[1] - r[2]) > BEVEL_STEP_DEG.good),
                       number=off)


def check_seam(state: PlankState) -> CheckResult:
    """The seam: closed inside, open outside by the rule chosen, and within what builders use."""
    name, board = "CAULKING SEAM", state.board
    if board is None:
        return CheckResult.need(name, SECTION.capitals)
    gap, thickness = board.seam.gap_mm, board.thickness_mm
    thin = judge_thickness(thickness)
    low, high = SEAM_SHARES.good * thickness, SEAM_SHARES.bad * thickness
    limit = "%s TO %s ON %s, OR NONE IN THIN PLANKS" % (format_mm(low).upper(), format_mm(high).upper(),
                                                        format_mm(thickness).upper())
    said = "TIGHT INSIDE, %s OPEN OUTSIDE" % format_mm(gap, places=2).upper() if gap else "TIGHT ALL THROUGH"
    if board.seam.rule not in ("none", "own"):
        wanted = find_gap_mm(board.seam.rule, thickness)[0]
        if abs(gap - wanted) > _SAME_MM:
            return CheckResult(name, "fail", found=said, limit="%s BY ITS RULE" % format_mm(wanted, places=2).upper(),
                               source=board.seam.source, remedy="RUN %s AGAIN" % SECTION.capitals, where=(), number=gap)
    if (gap == 0 and thin) or (low - _SAME_MM <= gap <= high + _SAME_MM and not thin):
        return CheckResult(name, "pass", found=said, limit=limit, source=SEAM_SHARES.source, number=gap)
    if thin and gap:
        return CheckResult(name, "doubt", found=said, limit=limit, source="thin planks: " + PRACTICE,
                           remedy="LEAVE THE SEAM OUT, OR ASK THE YARD: A THIN PLANK IS SELDOM CAULKED", where=(),
                           number=gap)
    remedy = ("GIVE A SEAM RULE, OR SAY TO THE CAULKER THAT THE EDGES ARE TIGHT" if not gap
              else "SEE THAT THE IRON FITS: TOO NARROW TAKES NO COTTON, TOO WIDE LETS IT THROUGH")
    return CheckResult(name, "doubt", found=said, limit=limit, source=SEAM_SHARES.source, remedy=remedy, where=(),
                       number=gap)


def _measure_end_mm(board, end):
    """How far the outside face reaches beyond the inside one at an end, mm, square to the end."""
    number = {"aft": 1, "fore": 3}[end]
    drawn, other = board.drawn_face[number], board.other_face[number]
    far = board.drawn_face[4 - number]
    middle = drawn.evaluate([len(drawn.cubics) / 2])[0]
    way = drawn.find_direction(len(drawn.cubics) / 2)
    square = np.array([-way[1], way[0]])
    square = square if (middle - (far.start + far.end) / 2) @ square > 0 else -square
    # measured square to the end, through its middle, out to the other face's end
    points = other.flatten()
    beside, ahead = (points - middle) @ way, (points - middle) @ square
    order = np.argsort(beside)
    reach = float(np.interp(0.0, beside[order], ahead[order]))
    return reach if board.face == "inboard" else -reach


def check_hood(state: PlankState) -> CheckResult:
    """The bevel of a hood end: cut square it is short outside, or long inside, by thickness times its tangent."""
    name = "BEVEL OF THE HOOD END"
    hoods = [e for e in ("fore", "aft") if state.joint_settings.get(e + "_end") == "hood"]
    if not state.joint_settings:
        return CheckResult.need(name, "%s, WHICH SAYS WHICH END IS A HOOD END" % JOINTS.capitals)
    if not hoods:
        return CheckResult(name, "pass", found="NO HOOD END", limit="", source="")
    if state.board is None:
        return CheckResult.need(name, "%s, WITH THE BEVEL OF THE %s END" % (SECTION.capitals, hoods[0].upper()))
    reach = {e: _measure_end_mm(state.board, e) for e in hoods}
    bare = [e for e in hoods if abs(reach[e]) < _SAME_MM]
    if bare:
        return CheckResult.need(name, "THE RABBET'S BEVEL AT THE %s END, IN %s; IT IS DRAWN SQUARE"
                                % (" AND ".join(bare).upper(), SECTION.capitals))
    said = "; ".join("%s END: OUTSIDE %s %s" % (e.upper(), format_mm(abs(v)).upper(),
                                                "LONGER" if v > 0 else "SHORTER") for e, v in reach.items())
    return CheckResult(name, "pass", found=said, limit="GIVEN", source=PRACTICE)


def check_bending(state: PlankState) -> CheckResult:
    """Whether the length that bending adds is in the board and in the saw line."""
    name, board = "LENGTH IN BENDING", state.board
    if board is None:
        return CheckResult.need(name, SECTION.capitals)
    if all(s.known.get("bend", "taken") == "taken" for s in board.sections) and not board.turn_deg:
        return CheckResult.need(name, "THE BEND AT THE FRAMES, OR THE TOTAL TURN, IN %s" % SECTION.capitals)
    said = "%+.1f MM COUNTED, TURNED THROUGH %.1f DEG" % (board.length_added_mm, board.turn_deg)
    if state.saw is not None and "bend" in board.includes and "bend" not in state.saw.includes:
        return CheckResult(name, "fail", found=said, limit="IN THE SAW LINE",
                           source="geometry: bending keeps the length at mid-thickness",
                           remedy="RUN %s AGAIN" % ALLOWANCE.capitals, where=(),
                           number=board.length_added_mm)
    return CheckResult(name, "pass", found=said, limit="COUNTED",
                       source="geometry: bending keeps the length at mid-thickness",
                       number=board.length_added_mm)


CHECKS = (check_bevel_sign, check_bevel_change, check_half_angle, check_seam, check_hood, check_bending)
