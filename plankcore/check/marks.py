"""Checks of the marks and the traced line that a plank was faired from."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR
from ..geometry.doubts import find_step
from ..model.check import CheckResult
from ..trade.check_limits import OFF_FAIR_MM, PRACTICE, STEP_MM
from ..units import format_mm

if TYPE_CHECKING:
    from typing import Any

    from ..model.check import PlankState

__all__ = ["CHECKS"]

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


CHECKS = (check_doubtful, check_off_fair, check_step)
