"""Blanks of the record for what is only known on the boat, filled in by hand when the plank is hung.

What a surveyor wants to know about a repair is common practice, no source; what is required is for the surveyor, the
class society or the flag authority to say.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..model.record import Heading
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.joint import PlacedJoint
    from ..model.plank import Plank
    from ..model.record import Proof, ToldLayer
    from .build import RecordSettings

__all__ = ["list_blanks"]

_HUNG = ("baseline", "over all", "fore end", "aft end", "falling", "rising", "width")


def list_blanks(plank: Plank, *, board: Board | None, joints: Sequence[PlacedJoint], layers: Sequence[ToldLayer],
                proofs: Sequence[Proof], measure: words.Measure, settings: RecordSettings) -> tuple[Heading, ...]:
    """The surveyor's part: what failed, old against new, hung against drawn, photographs and signatures.

    proofs : those of the record, in the order of words.PROOFS.
    """
    facts = {fact.key: fact for layer in layers for fact in layer.facts or ()}
    thickness = board.thickness_mm if board is not None else plank.thickness_mm
    size, metal = facts.get("size"), facts.get("metal")
    known = {"moisture": "%g %%" % settings.moisture if settings.moisture is not None else "",
             "thickness": measure.write(thickness) + ", finished" if thickness else "",
             "fastening": _say_size(size), "metal": metal.about if metal is not None else "",
             "joints": _count(joints)}
    heading, columns, names = words.OLD_AND_NEW
    changed = Heading(heading, (), columns, tuple((name, "", known.get(key, ""), "") for key, name in names.items()))
    hung = tuple((p.name, p.words, "", "") for key, p in zip(words.PROOFS, proofs) if key in _HUNG)
    signed = {"measured": (settings.measured_by, settings.day)}
    heading, columns, names = words.SIGNATURES
    people = Heading(heading, (), columns, tuple((name, *signed.get(key, ("", "")), "") for key, name in names.items()))
    found, places = words.FOUND
    pictures, told, taken = words.PHOTOGRAPHS
    return (Heading(found, (words.FILL_IN,), ("", ""), tuple((name, "") for name in places)), changed,
            Heading(words.HUNG[0], (), words.HUNG[1], hung),
            Heading(pictures, (), told, tuple((name, "") for name in taken)), people)


def _count(joints):
    """'1 butt and 2 scarfs', '' of none."""
    found = [(sum(joint.kind == kind for joint in joints), kind) for kind in ("butt", "scarf")]
    return " and ".join("%d %s%s" % (n, kind, "" if n == 1 else "s") for n, kind in found if n)


def _say_size(fact):
    """Kind and diameter of the fastenings laid out, from their fact."""
    if fact is None:
        return ""
    return ", ".join(w for w in (fact.about, "%.1f mm" % fact.number if fact.number else "") if w)
