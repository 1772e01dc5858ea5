"""Sentences on a turned plank, for its sheet, and on joints that were judged on the other side."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..actions import JOINTS
from ..model.drawing import Fact

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.plank import Plank

__all__ = ["list_facts", "tell_judged_side", "warn_judged_side"]


def _describe(plank):
    return "STRAKE %s %s" % (plank.strake.upper(),
                             plank.side.upper()) if plank.strake else "THE %s PLANK" % plank.side.upper()


def list_facts(plank: Plank, turn: Any, *, symmetry: Any, stays: Sequence[str] = ()) -> tuple[Fact, ...]:
    """What was done and how the new plank lies, a tuple of Fact.

    Parameters
    ----------
    plank : Plank
        The one it is made from.
    turn : Turn
    symmetry : str
        From check_symmetry.
    stays : sequence of str
        What of the fairing is not carried along: 'batten', 'report'.
    """
    checked = "; HULL CHECKED FOR SYMMETRY: %s" % symmetry.upper() if symmetry else ""
    of = _describe(plank)
    if turn.side_changes:
        first = "OTHER HAND OF %s%s%s." % (
            of, "" if turn.mirrored else ", WITH THE OTHER FACE UP, SO THAT THE SAME LINE SERVES", checked)
    else:
        first = "OTHER FACE OF %s: THE SAME PLANK TURNED OVER%s." % (of, checked)
    second = ("THIS IS A %s PLANK WITH ITS %s FACE UP, BOW TO THE %s. THE LINE IS THAT OF ITS %s FACE, WHICH LIES %s."
              % (turn.side.upper(), turn.face_up.upper(), turn.forward.upper(), plank.face.upper(),
                 "UP" if turn.drawn_face_up else "UNDER"))
    found = [Fact("turned-from", first, about=of), Fact(
        "lies", second, about="%s; %s; %s; %s" % (turn.side, turn.face_up, turn.forward, plank.face))]
    if symmetry:
        found.append(Fact("symmetry", "PORT AND STARBOARD ARE ALIKE ONLY IF THE HULL IS TRUE: TRY THE PATTERN ON THE "
                          "%s SIDE BEFORE CUTTING." % turn.side.upper(), "doubt", about=symmetry))
    if stays:
        found.append(Fact("stays", "THE %s OF THE FAIRING STAY%s WITH THE ORIGINAL: LOOK AT %s THERE." % (
            " AND THE ".join(stays).upper(), "" if len(stays) > 1 else "S", "THEM" if len(stays) > 1 else "IT"),
            about="; ".join(stays)))
    return tuple(found)


def tell_judged_side(judged: Any, side: str) -> Fact:
    """The Fact that joints were judged against neighbours of the other side, 'port' or 'starboard'."""
    return Fact("judged-side", "THE JOINTS WERE JUDGED AGAINST NEIGHBOURS TO %s: JUDGE THEM AGAIN AGAINST THOSE TO %s."
                % (judged.upper(), side.upper()), "not judged", about=judged)


def warn_judged_side(judged: Any, side: str) -> str:
    """The same for the user."""
    return ("The joints were judged against neighbours to %s. Run %s on the new plank, against those to %s."
            % (judged, JOINTS.title, side))
