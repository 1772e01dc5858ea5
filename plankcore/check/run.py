"""Every check of the trade that a plank's drawing, and what was measured on the boat, allow: pass, doubt, fail, or not
judged for want of something; those of the drawing as a whole stand here.

A check is a pure function of a PlankState that returns one CheckResult; CHECKS lists all of them, in the order in which
they are reported. None of them is an approval.
"""
from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

from ..actions import ACTIONS, CHECK, FAIR, JOIN, JOINTS, MARKS, PLOT, STATIONS, STOCK, TRUE_UP, TURN
from ..errors import SettingError
from ..model.check import VERDICTS, CheckResult, Measured
from ..model.drawing import Fact
from ..model.typed import refuse_outside
from ..trade.check_limits import PRACTICE
from ..units import parse_length_mm
from . import bevels, joints, scale_and_marks, shape, wood
from .drawing import draw_results, tell_table_place

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.check import PlankState
    from ..model.drawing import Overlay

__all__ = [
    "CHECKS",
    "DRAWING_CHECKS",
    "FACES",
    "LAST",
    "SIDES",
    "Measured",
    "count_verdicts",
    "draw_check",
    "list_facts",
    "read_number",
    "read_widths_mm",
    "run_checks",
    "summarise",
    "tell_table_place",
    "write_table",
]

# actions whose doubts have checks of their own, or that leave none on a plank; the doubts of all others are listed
# here, those of the fairing last
_ELSEWHERE = (TRUE_UP, JOIN, MARKS, JOINTS, STOCK, TURN, PLOT, CHECK)
_TOLD = sorted((one for one in ACTIONS if one.layer and one not in _ELSEWHERE), key=lambda one: one is FAIR)
# doubts (by key) that other checks deal with
_OWN = ("bevel-off", "thin-stock", "mark-off")
_MOST = 3


def check_fresh(state: PlankState) -> CheckResult:
    """Layers that could not be read: they were changed by hand, or are older than the layers that they were made from.
    """
    name = "LAYERS AS THEY WERE MADE"
    if state.troubles:
        said = "; ".join(t.problem.rstrip(".").upper() for t in state.troubles[:_MOST]) + (
            "; AND %d MORE" % (len(state.troubles) - _MOST) if len(state.troubles) > _MOST else "")
        remedies = list(dict.fromkeys(t.remedy.rstrip(".").upper() for t in state.troubles))
        return CheckResult(name, "fail", found=said, limit="NONE CHANGED OR OUT OF DATE",
                           source="the lengths and numbers each layer carries", remedy="; ".join(remedies[:_MOST]),
                           where=tuple(t.where for t in state.troubles if t.where is not None),
                           number=len(state.troubles))
    return CheckResult(name, "pass",
                       found="%d LAYERS: %s" % (len(state.layers), ", ".join(v.upper() for v in state.layers.values())),
                       limit="NONE CHANGED OR OUT OF DATE", source="the lengths and numbers each layer carries",
                       number=0)


def check_names(state: PlankState) -> CheckResult:
    """Names that must be on a pattern so that it can still be identified in a year."""
    name, plank = "NAMES ON THE PLANK", state.plank
    missing = [word for word, value in (("BOAT", plank.name), ("STRAKE", plank.strake), ("SIDE", plank.side),
                                        ("FACE", plank.face)) if not value.strip()]
    if missing:
        return CheckResult(name, "doubt", found="NO %s" % ", NO ".join(missing), limit="BOAT, STRAKE, SIDE, FACE",
                           source=PRACTICE,
                           remedy="GIVE THEM IN %s" % FAIR.capitals, where=(), number=len(missing))
    if plank.assumed:
        told = ", ".join("%s %s" % (word.upper(), getattr(plank, word).upper()) for word in plank.assumed)
        return CheckResult(name, "doubt", found="NOBODY HAS SAID %s; IT WAS TAKEN AS USUAL" % told,
                           limit="BOAT, STRAKE, SIDE, FACE", source=PRACTICE,
                           remedy="SAY IT IN %s, NAMES" % FAIR.capitals, where=(), number=len(plank.assumed))
    return CheckResult(name, "pass",
                       found="%s, STRAKE %s, %s, %s FACE"
                       % (plank.name.upper(), plank.strake.upper(), plank.side.upper(),
                                                       plank.face.upper()), limit="BOAT, STRAKE, SIDE, FACE",
                       source=PRACTICE,
                       number=0)


def check_doubts(state: PlankState) -> CheckResult:
    """Doubts that other actions have left on the drawing. Those on marks, joints, bevels and stock have checks of their
    own.
    """
    name, found = "DOUBTS LEFT BY OTHER ACTIONS", []
    for one in _TOLD:
        for finding in state.findings.get(one.layer, ()):
            if finding.verdict == "doubt" and finding.key not in _OWN:
                found.append((one.title.upper(), finding))
    if not found:
        return CheckResult(name, "pass", found="NONE", limit="NONE", source="the actions themselves", number=0)
    said = "%s: %s" % (found[0][0], found[0][1].text.rstrip(".").upper()) + ("; AND %d MORE" % (len(found) - 1)
                                                                             if len(found) > 1 else "")
    return CheckResult(name, "doubt", found=said, limit="NONE", source="the actions themselves",
                       remedy="CLEAR EACH UP; THEY ARE WRITTEN WHERE THEY STAND",
                       where=tuple(f.where for _, f in found if f.where is not None), number=len(found))


def tell_unseen(state: PlankState) -> CheckResult:
    """Things that can only be checked on the boat."""
    return CheckResult.need("WHAT NO DRAWING SHOWS", "A LOOK ON THE BOAT: PATTERN FLAT ON EVERY FRAME AND NOT "
                                                     "EDGE-SET, COMPASS NEVER MOVED, NEIGHBOURS' EDGES FAIR AND SOUND, "
                            "FRAMES MENDED, BUTTS CLEAR OF MAST STEP AND CHAINPLATES, SEAM TAKEN OFF ONE EDGE OR "
                            "SHARED AS AGREED")


DRAWING_CHECKS = (check_fresh, check_names, check_doubts)
LAST = (tell_unseen,)


SIDES = ("not said", "starboard", "port")
FACES = ("not said", "outboard", "inboard")
CHECKS = (*DRAWING_CHECKS, *scale_and_marks.SCALE_CHECKS, *scale_and_marks.MARK_CHECKS, *shape.CHECKS, *bevels.CHECKS,
          *wood.CHECKS, *joints.CHECKS, *LAST)
_AS_FACT = {"fail": "fails", "doubt": "doubt", "pass": "holds"}
_NOT_AN_APPROVAL = "AGAINST THE RULES NAMED; NOT AN APPROVAL."
_CAUTION = ("REPAIRS TO STRUCTURE ARE FOR THE SURVEYOR, CLASS OR FLAG AUTHORITY; WHERE THEY ASK FOR OTHER LIMITS, "
            "THOSE GO BEFORE THESE.")


def read_number(text: str, field: str, *, low: int, high: int) -> float | None:
    """A number as typed, or None where the field is empty; a decimal comma and a sign % or deg are understood.

    Raises
    ------
    SettingError
    """
    plain = re.sub(r"\s*(%|deg|°)$", "", text.strip().lower()).replace(",", ".")
    if not text.strip():
        return None
    try:
        value = float(plain)
    except ValueError:
        value = float("nan")
    refuse_outside(value, low, high, problem="'%s' cannot be used.", told=text.strip(),
                   remedy="Give a number from %g to %g, or leave it empty." % (low, high), field=field)
    return value


def read_widths_mm(text: str, field: str, *, unit: str) -> tuple[float, ...]:
    """Lengths as typed one after the other, divided by semicolons, or by commas where there is no semicolon; an empty
    field gives none.

    Raises
    ------
    SettingError
    """
    pieces = [p.strip() for p in text.split(";" if ";" in text else ",")]
    return tuple(parse_length_mm(p, unit=unit, field=field, least_mm=5, most_mm=2000) for p in pieces if p)


def run_checks(state: PlankState, *, checks: Any = CHECKS) -> tuple[CheckResult, ...]:
    """All that the checks say.

    Parameters
    ----------
    state : PlankState
    checks : sequence of callable

    Returns
    -------
    tuple of CheckResult
        In the order of the checks.

    Raises
    ------
    SettingError
        If the frame that was measured is not one of the plank's.
    """
    measured = state.measured
    if measured.frame.strip() and state.stations and state.find_station(measured.frame) is None:
        raise SettingError("The plank has no station labelled '%s'." % measured.frame,
                           "Use one of: %s." % ", ".join(s.label for s in state.stations), "Frame that was measured")
    if not measured.frame.strip() and (measured.width_mm or measured.girth_mm or measured.upper_angle_deg is not None
                                       or measured.lower_angle_deg is not None):
        raise SettingError("A width, a girth or an angle was measured, but not said at which frame.",
                           "Give the frame's label, as %s has it." % STATIONS.title, "Frame that was measured")
    return tuple(check(state) for check in checks)


def summarise(results: Sequence[CheckResult]) -> str:
    """'CHECK: 21 PASS, 2 DOUBT, 1 FAIL, 9 NOT JUDGED. AGAINST THE RULES NAMED; NOT AN APPROVAL.'"""
    count = {v: sum(r.verdict == v for r in results) for v in VERDICTS}
    return "CHECK: %d PASS, %d DOUBT, %d FAIL, %d NOT JUDGED. %s" % (count["pass"], count["doubt"], count["fail"],
                                                                     count["not judged"], _NOT_AN_APPROVAL)


def count_verdicts(results: Sequence[CheckResult]) -> str:
    """'21 pass, 2 in doubt, 1 fail, 9 not judged': fails only where there are any."""
    count = {v: sum(r.verdict == v for r in results) for v in VERDICTS}
    failed = ["%d fail" % count["fail"]] if count["fail"] else []
    return ", ".join(["%d pass" % count["pass"], "%d in doubt" % count["doubt"], *failed,
                      "%d not judged" % count["not judged"]])


def list_facts(results: Any) -> tuple[Fact, ...]:
    """The summary, then fails and doubts in full, then what was not judged. What passed has a Fact without words, since
    the table on the drawing shows it.

    Returns
    -------
    tuple of Fact
        With the key 'check'; `about` is the check's name, or the names of all checks that lack the same.
    """
    found = [Fact("summary", summarise(results), number=len(results), unit="checks")]
    for verdict in ("fail", "doubt", "pass"):
        for r in (r for r in results if r.verdict == verdict):
            said = "" if verdict == "pass" else "%s: %s: %s. LIMIT: %s (%s). %s." % (
                verdict.upper(), r.name, r.found, r.limit, r.source.upper(), r.remedy.rstrip("."))
            found.append(Fact("check", said, _AS_FACT[verdict], r.number, source=r.source, about=r.name))
    wanting = {}
    for r in (r for r in results if r.verdict == "not judged"):
        wanting.setdefault(r.remedy, []).append(r.name)
    found += [Fact("check", "NOT JUDGED: %s: %s." % ("; ".join(some), need), "not judged", about="; ".join(some))
              for need, some in wanting.items()]
    return (*found, Fact("caution", _CAUTION))


def draw_check(state: PlankState, results: Sequence[CheckResult]) -> Overlay:
    """The Overlay: rings at the places of fails and doubts with short words, and the table of all results clear of
    everything else.
    """
    return draw_results(state, results, summary=summarise(results), caution=_CAUTION, facts=list_facts(results))


def write_table(results: Sequence[CheckResult]) -> Any:
    """The results as a table, CSV, UTF-8: bytes."""
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow(["check", "verdict", "found", "limit", "source", "what to do", "x (mm)", "y (mm)"])
    for r in results:
        at = ["%.1f" % v for v in r.where[0]] if r.where else ["", ""]
        out.writerow([r.name, r.verdict, r.found, r.limit, r.source, r.remedy, *at])
    return text.getvalue().encode("utf-8")
