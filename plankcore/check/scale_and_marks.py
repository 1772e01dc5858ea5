"""Checks of size: the drawing against what was measured on the boat, the scan against its controls, the plot against
its bars; and of the marks and the traced line that a plank was faired from.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR, PLOT, TRUE_UP
from ..geometry.readings import find_step
from ..model.check import CheckResult, make_place
from ..trade.check_limits import BAR_SHARE, GIRTH_PER_STRAKE_MM, OFF_FAIR_MM, PRACTICE, STEP_MM, WRONG_SCALES
from ..units import format_mm

if TYPE_CHECKING:
    from typing import Any

    from ..model.check import PlankState

__all__ = ["MARK_CHECKS", "SCALE_CHECKS"]

_YARD = "the honest error of the tape, as given"
_SHEET_BARS_MM = {"ALONG": (1000.0, 500.0, 200.0, 100.0), "ACROSS": (150.0, 50.0)}       # as Plot Sheets draws them
# a measured length within this share of a bar's is taken to be that bar; the bars in inches all differ by more
_MEANT = 0.01
_NEAR = 0.004             # a ratio within this share of a known mistake's is taken to be that mistake


def _grade(off, tolerance):
    """Pass within the stated tolerance, fail beyond twice that, doubt between."""
    return "pass" if abs(off) <= tolerance else "doubt" if abs(off) <= 2 * tolerance else "fail"


def _measure_width(state):
    """(Width on the drawing at the frame that was measured, its Station), or None."""
    if not (state.measured.frame and state.measured.width_mm):
        return None
    station = state.find_station(state.measured.frame)
    return None if station is None else (station.width_mm, station)


def _name_ratio(ratio):
    near = next((words for told, words in WRONG_SCALES if abs(ratio / told - 1) < _NEAR), "")
    return " (%s)" % near if near else ""


def _tell_scale(state):
    """What to do where length or width is wrong; the ratio of both is used where both are known."""
    length = state.plank.measure_length_mm() / state.measured.true_length_mm if state.measured.true_length_mm else None
    width = _measure_width(state)
    across = width[0] / state.measured.width_mm if width else None
    if length and across:
        along_mm, across_mm = state.measured.length_tolerance_mm, state.measured.width_tolerance_mm
        long_out, wide_out = abs(length - 1) * state.measured.true_length_mm > along_mm, abs(
            across - 1) * state.measured.width_mm > across_mm
        same = abs(length / across
                   - 1) <= along_mm / state.measured.true_length_mm + across_mm / state.measured.width_mm
        if long_out and same:
            told = ("WRONG EVENLY, LENGTH AND WIDTH" if wide_out
                    else "WRONG ALONG; THE WIDTH IS TOO SMALL TO SAY WHETHER ACROSS AS WELL")
            return "%s: THE SCALE OF THE DOCUMENT OR SCAN%s. RUN %s" % (told, _name_ratio(length), TRUE_UP.capitals)
        if long_out:
            return "WRONG ALONG AND NOT SO ACROSS: THE FEED OF SCANNER OR PRINTER. RUN %s" % TRUE_UP.capitals
        return "WRONG ACROSS AND NOT ALONG: A MARK READ ON THE WRONG SIDE OF ITS LINE, OR THE TAPE. MEASURE AGAIN"
    if length:
        return "SEE THE SCALE OF THE DOCUMENT%s AND THE TAPE; RUN %s" % (_name_ratio(length), TRUE_UP.capitals)
    return "SEE THE SCALE OF THE DOCUMENT%s, THE SIDE OF THE LINE THAT WAS READ, AND THE TAPE" % _name_ratio(across)


def check_length(state: PlankState) -> CheckResult:
    """The drawing's length against the boat's."""
    name, told = "TRUE LENGTH", state.measured.true_length_mm
    if not told:
        return CheckResult.need(
            name, "THE LENGTH FROM MIDDLE OF FORE END TO MIDDLE OF AFT END, TAPED ON THE BOAT OR THE PATTERN")
    drawn = state.plank.measure_length_mm()
    verdict = _grade(drawn - told, state.measured.length_tolerance_mm)
    said, limit = "%s DRAWN" % format_mm(drawn).upper(), "%s TAPED, WITHIN %s" % (
        format_mm(told).upper(), format_mm(state.measured.length_tolerance_mm).upper())
    if verdict == "pass":
        return CheckResult(name, verdict, found=said, limit=limit, source=_YARD, number=drawn - told)
    return CheckResult(name, verdict, found="%s, %.2f PERCENT OUT" % (said, 100 * (drawn / told - 1)), limit=limit,
                       source=_YARD,
                       remedy=_tell_scale(state), where=tuple(map(make_place, state.plank.find_baseline())),
                       number=drawn - told)


def check_width(state: PlankState) -> CheckResult:
    """The drawing's width at one frame against the boat's: this is how one finds that a line was read on its wrong side
    along the whole plank."""
    name, measured = "WIDTH AS MEASURED ON THE BOAT", state.measured
    if not (measured.frame and measured.width_mm):
        return CheckResult.need(name, "A FRAME AND THE PLANK'S WIDTH THERE, MEASURED IN THE OPENING")
    found = _measure_width(state)
    if found is None:
        return CheckResult.need(name, "A STATION LABELLED %s" % measured.frame.upper())
    width, station = found
    verdict = _grade(width - measured.width_mm, measured.width_tolerance_mm)
    said = "%s DRAWN AT FRAME %s" % (format_mm(width).upper(), station.label.upper())
    limit = "%s MEASURED, WITHIN %s" % (format_mm(measured.width_mm).upper(),
                                        format_mm(measured.width_tolerance_mm).upper())
    if verdict == "pass":
        return CheckResult(name, verdict, found=said, limit=limit, source=_YARD, number=width - measured.width_mm)
    return CheckResult(name, verdict,
                       found="%s, %s %s" % (said, format_mm(abs(width - measured.width_mm)).upper(),
                                      "TOO WIDE" if width > measured.width_mm else "TOO NARROW"), limit=limit,
                       source=_YARD,
                       remedy=_tell_scale(state), where=tuple(map(make_place, station.line)),
                       number=width - measured.width_mm)


def check_scan(state: PlankState) -> CheckResult:
    """Whether more was measured than the scan's map needs, so that its scale is proved."""
    name, source = "SCALE OF THE SCAN", "at least one control more than the map needs"
    if not state.scans:
        return CheckResult.need(name, "%s, OR A TRUE LENGTH AND A WIDTH FROM THE BOAT" % TRUE_UP.capitals)
    bare = [s.label for s in state.scans if not s.proved]
    if bare:
        return CheckResult(name, "doubt", found="%d OF %d WITHOUT A SPARE CONTROL: %s"
                           % (len(bare), len(state.scans), ", ".join(bare[:3]).upper()), limit="NONE", source=source,
                           remedy="AN EXACT FIT PROVES NOTHING: MEASURE ONE MORE POINT OR LENGTH AND RUN %s AGAIN"
                                  % TRUE_UP.capitals,
                           where=(), number=len(bare))
    worst = max(s.worst_mm for s in state.scans)
    return CheckResult(name, "pass", found="%d PROVED, WORST CONTROL %s OFF"
                       % (len(state.scans), format_mm(worst, places=2).upper()), limit="ALL PROVED", source=source,
                       number=worst)


def check_bars(state: PlankState) -> CheckResult:
    """A plot's scale bars, along and across."""
    name = "SCALE BARS OF THE PLOT"
    rows = []
    for way, (told, found) in (("ALONG", state.measured.bar_along_mm), ("ACROSS", state.measured.bar_across_mm)):
        if found:
            usual = next((mm for mm in _SHEET_BARS_MM[way] if abs(found / mm - 1) <= _MEANT), 0.0)
            rows.append((way, told or state.sheet_bars.get(way.lower(), 0.0) or usual, found))
    if not rows:
        return CheckResult.need(name, "BOTH BARS OF THE PLOT MEASURED WITH A STEEL TAPE")
    bare = [way for way, told, _ in rows if not told]
    if bare:
        return CheckResult.need(name, "WHAT THE BAR %s SAYS" % " AND ".join(bare))
    worst = max(rows, key=lambda r: abs(r[2] / r[1] - 1))
    share = worst[2] / worst[1] - 1
    said = "; ".join("%s: %s FOR %s" % (way, format_mm(found).upper(), format_mm(told).upper())
                     for way, told, found in rows)
    return _tell_share(name, said, share=share,
                       remedy="PLOT AGAIN, CORRECTED FOR THIS MEDIUM (%s, CALIBRATE)%s"
                              % (PLOT.capitals, _name_ratio(1 + share)), where=())


def _tell_share(name, said, share, remedy, where):
    verdict = "pass" if abs(share) <= BAR_SHARE.good + 1e-9 else "doubt" if abs(
        share) <= BAR_SHARE.bad + 1e-9 else "fail"
    limit = "%.1f PERCENT, FAILS OVER %.1f" % (100 * BAR_SHARE.good, 100 * BAR_SHARE.bad)
    return CheckResult(name, verdict, found="%s (%+.2f PERCENT)" % (said, 100 * share), limit=limit,
                       source=BAR_SHARE.source,
                       remedy="" if verdict == "pass" else remedy, where=where if verdict != "pass" else (),
                       number=share)


def check_diagonals(state: PlankState) -> CheckResult:
    """The plank's diagonals on the plot: a skewed plot or struck plank shows in their difference."""
    name, measured, corner = "DIAGONALS", state.measured, state.plank.find_corners()
    ways = (("UPPER FORE TO LOWER AFT", measured.falling_mm, "upper fore", "lower aft"),
            ("LOWER FORE TO UPPER AFT", measured.rising_mm, "lower fore", "upper aft"))
    rows = [(words, float(np.hypot(*(corner[a] - corner[b]))), found, corner[a], corner[b])
            for words, found, a, b in ways if found]
    if len(rows) < 2:
        return CheckResult.need(name, "BOTH DIAGONALS OF THE NET OUTLINE, MEASURED ON THE PLOT OR THE BOARD")
    worst = max(rows, key=lambda r: abs(r[2] / r[1] - 1))
    said = "; ".join("%s %s FOR %s" % (words, format_mm(found).upper(), format_mm(told).upper())
                     for words, told, found, _, _ in rows)
    lean = (rows[0][2] - rows[0][1]) * (rows[1][2] - rows[1][1]) < 0
    return _tell_share(name, said, share=worst[2] / worst[1] - 1,
                       remedy="ONE IS LONG AND ONE SHORT: IT LEANS" if lean
                       else "BOTH ARE OUT THE SAME WAY: ITS SCALE IS WRONG",
                       where=(make_place(worst[3]), make_place(worst[4])))


def check_girth(state: PlankState) -> CheckResult:
    """Widths of all strakes at one frame against the girth there."""
    name, measured = "GIRTH AT A FRAME", state.measured
    station = state.find_station(measured.frame) if measured.frame else None
    if not (measured.girth_mm and measured.other_widths_mm):
        return CheckResult.need(name, "THE GIRTH OF THE SIDE AT A FRAME AND THE WIDTHS OF ALL OTHER STRAKES THERE")
    if station is None:
        return CheckResult.need(name, "THE FRAME THEY ARE OF, AMONG THE STATIONS")
    total = sum(measured.other_widths_mm) + station.width_mm
    count = len(measured.other_widths_mm) + 1
    tolerance = GIRTH_PER_STRAKE_MM * count ** 0.5 + measured.width_tolerance_mm
    verdict = _grade(total - measured.girth_mm, tolerance)
    said = "%d STRAKES ADD UP TO %s" % (count, format_mm(total).upper())
    limit = "%s, WITHIN %s" % (format_mm(measured.girth_mm).upper(), format_mm(tolerance).upper())
    if verdict == "pass":
        return CheckResult(name, verdict, found=said, limit=limit, source=PRACTICE, number=total - measured.girth_mm)
    return CheckResult(name, verdict, found=said, limit=limit, source=PRACTICE,
                       remedy="MEASURE THE WIDTHS AND THE GIRTH AGAIN AT FRAME %s, ALL ALONG THE SAME LINE"
                       % station.label.upper(), where=tuple(map(make_place, station.line)),
                       number=total - measured.girth_mm)


SCALE_CHECKS = (check_length, check_width, check_scan, check_bars, check_diagonals, check_girth)


# gain in likelihood by assuming a step among the marks: strong and very strong evidence (see geometry.doubts.Step)
_LIKELY, _SURE = 6.0, 10.0
_SCHWARZ = "2 log likelihood, Kass and Raftery (1995), from memory, not checked"
_LONG = ("upper", "lower")


def _name_mark(mark):
    return "%s %s" % (mark.edge.upper(), mark.station.upper() or "UNNAMED")


def check_doubtful(state: PlankState) -> CheckResult:
    """Marks that contradict the others: one that was kept pulls the edge towards it, one that was left out is still
    unexplained."""
    name, marks = "MARKS THE OTHERS DO NOT BELIEVE", [m for m in state.plank.marks if m.edge in _LONG]
    if not marks:
        return CheckResult.need(name, "MARKS AT THE FRAMES; A TRACED LINE HAS NONE")
    kept, left = ([m for m in marks if m.verdict == v] for v in ("doubtful", "left-out"))
    source = "the other marks, by their honest error"
    if kept:
        return CheckResult(name, "fail", found="%d KEPT: %s" % (len(kept), ", ".join(map(_name_mark, kept))),
                           limit="NONE KEPT",
                           source=source,
                           remedy="MEASURE IT AGAIN ON THE BOAT, OR LEAVE IT OUT IN %s" % FAIR.capitals,
                           where=tuple(m.point for m in kept), number=len(kept))
    if left:
        return CheckResult(name, "doubt", found="%d LEFT OUT: %s" % (len(left), ", ".join(map(_name_mark, left))),
                           limit="NONE",
                           source=source,
                           remedy="MEASURE IT AGAIN ON THE BOAT: IF IT IS RIGHT, THE NEIGHBOUR'S EDGE IS UNFAIR THERE",
                           where=tuple(m.point for m in left), number=len(left))
    return CheckResult(name, "pass", found="NONE OF %d" % len(marks), limit="NONE", source=source, number=0)


def check_off_fair(state: PlankState) -> CheckResult:
    """How far the marks, or the trace, lie off the fair edge."""
    name, plank = "MARKS OFF THE FAIR EDGE", state.plank
    limit = "%s, FAILS OVER %s" % (format_mm(OFF_FAIR_MM.good).upper(), format_mm(OFF_FAIR_MM.bad).upper())
    used = [m for m in plank.marks if m.verdict != "left-out"]
    rows: list[tuple[float, str, tuple[Any, ...]]] = [(abs(m.residual_mm), _name_mark(m), (m.point,)) for m in used]
    marked = {m.edge for m in used}
    rows += [(e.worst_mm, "TRACE OF THE %s %s" % (n.upper(), "EDGE" if n in _LONG else "END"), ())
             for n, e in plank.edges.items() if n not in marked]
    worst = max(rows, key=lambda r: r[0])
    said = "%s, %s" % (format_mm(worst[0], places=2).upper(), worst[1])
    if worst[0] <= OFF_FAIR_MM.good:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=worst[0])
    where = tuple(p for size, _, at in rows if size > OFF_FAIR_MM.good for p in at)
    return CheckResult(name, "fail" if worst[0] > OFF_FAIR_MM.bad else "doubt", found=said, limit=limit,
                       source=PRACTICE,
                       remedy="THAT IS A MISPLACED MARK OR AN UNFAIR NEIGHBOUR: MEASURE IT AGAIN ON THE BOAT",
                       where=where, number=worst[0])


def check_step(state: PlankState) -> CheckResult:
    """A run of marks that is shifted from the rest by about the thickness of a line."""
    name = "MARK ON THE WRONG SIDE OF A THICK LINE"
    marks = [m for m in state.plank.marks if m.edge in _LONG and m.verdict != "left-out" and m.error_mm > 0]
    start, along, across = state.plank.find_axes()
    marks.sort(key=lambda m: (m.edge, float((np.array(m.point) - start) @ along)))
    points = np.array([m.point for m in marks]).reshape(-1, 2) - start
    signs = np.array([1.0 if m.edge == "upper" else -1.0 for m in marks])
    step = find_step(points @ along, points @ across, [m.error_mm for m in marks],
                     signs) if len(set(signs)) == 2 else None
    if step is None:
        return CheckResult.need(name, "MARKS AT SIX FRAMES OR MORE; OF A TRACE, THE WIDTH AT A FRAME AS MEASURED ON "
                                      "THE BOAT")
    mine = sorted((m for m, s in zip(marks, signs) if s == step.sign),
                  key=lambda m: float((np.array(m.point) - start) @ along))[step.first:step.last + 1]
    height = abs(step.height)
    limit = "LESS THAN %s, OR NO BETTER TOLD WITH IT THAN WITHOUT" % format_mm(STEP_MM).upper()
    # a single mark is dealt with by the check on wrong marks
    if step.gain <= _LIKELY or height < STEP_MM or len(mine) < 2:
        return CheckResult(name, "pass", found="NO STEP IN THE MARKS", limit=limit, source=_SCHWARZ, number=step.gain)
    said = "%s TO %s STAND %s OFF THE REST" % (_name_mark(mine[0]), _name_mark(mine[-1]), format_mm(height).upper())
    return CheckResult(name, "fail" if step.gain > _SURE else "doubt", found=said, limit=limit, source=_SCHWARZ,
                       remedy="SEE WHICH SIDE OF THE LINE THEY WERE READ ON, AND WHETHER THE COMPASS WAS MOVED MIDWAY",
                       where=tuple(m.point for m in mine), number=height)


MARK_CHECKS = (check_doubtful, check_off_fair, check_step)
