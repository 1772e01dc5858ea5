"""Checks of the drawing as a whole: layers that are out of date or were changed, names that are missing, doubts that
earlier actions left, and what no drawing shows.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..actions import ACTIONS, CHECK, FAIR, JOIN, JOINTS, MARKS, PLOT, STOCK, TRUE_UP, TURN
from ..model.check import CheckResult
from ..trade.check_limits import PRACTICE

if TYPE_CHECKING:
    from ..model.check import PlankState

__all__ = ["CHECKS", "LAST"]

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


CHECKS = (check_fresh, check_names, check_doubts)
LAST = (tell_unseen,)
