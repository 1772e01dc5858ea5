"""Metals that planks are fastened with, and what is said against a metal or against two of them in one boat; each with
who says so.
"""
from __future__ import annotations

from dataclasses import dataclass

from .named import find_named

__all__ = ["METALS", "NOT_NAMED", "Metal", "find_metal", "judge_metal", "judge_mixing"]

NOT_NAMED = "not-named"
PRACTICE = "common practice, no source"
_KNIGHT = "E. F. Knight, Small-Boat Sailing: copper and iron immersed together in sea water set up galvanic action"
SAME_METAL = ("nuts and roves of the same metal as what they hold (Lloyd's Register, Rules 1891, composite vessels, "
              "Section 33, 3, says it of nuts)")


@dataclass(frozen=True)
class Metal:
    """A metal: its name among the settings, its words, its family ('copper', 'iron', 'stainless', '' where not named),
    and what is said against it or ''.
    """

    name: str
    words: str
    family: str
    caution: str = ""


_METALS = (
    Metal(NOT_NAMED, "not named", ""),
    Metal("silicon-bronze", "silicon bronze", "copper"),
    Metal("copper", "copper", "copper"),
    Metal("nickel-copper", "nickel-copper alloy", "copper"),
    Metal("brass", "brass", "copper",
          "brass loses its zinc in salt water and crumbles; not under water (%s)" % PRACTICE),
    Metal("galvanised-iron", "galvanised iron", "iron",
          "the zinc must be whole: a head that is filed or struck bare rusts (%s)" % PRACTICE),
    Metal("galvanised-steel", "galvanised steel", "iron",
          "the zinc must be whole: a head that is filed or struck bare rusts; hot dipped, not plated (%s)" % PRACTICE),
    Metal("stainless", "stainless steel", "stainless",
          "stainless steel in wet wood, where no air comes, pits and cracks unseen; not under water (%s)" % PRACTICE),
)
METALS = tuple(metal.name for metal in _METALS)


def find_metal(name: str, *, where: str = "Metal") -> Metal:
    """The Metal of a name in METALS; `where` is the field it was given in.

    Raises
    ------
    SettingError
    """
    return find_named(_METALS, name, problem="'%s' is not the name of a metal known here.", remedy="Use one of: %s.",
                      where=where)


def judge_metal(name: str, *, kind: str) -> list[str]:
    """What is said against a metal for a kind of fastening, 'screw', 'nail', 'rivet' or another, as a list of str."""
    metal = find_metal(name)
    found = [metal.caution] if metal.caution else []
    if kind == "screw" and metal.name == "copper":
        found.append("copper is too soft for screws: bronze is used (%s)" % PRACTICE)
    return found


def judge_mixing(name: str, boat_name: str) -> str:
    """What is said against fastenings of one metal in a boat that is fastened with another, a str with its source; ''
    where they are one, or one is not named.

    Examples
    --------
    >>> judge_mixing("copper", "copper")
    ''
    """
    new, old = find_metal(name), find_metal(boat_name, where="Metal of the boat's fastenings")
    if not (new.family and old.family) or new.name == old.name:
        return ""
    said = "%s here, %s elsewhere in the boat: " % (new.words, old.words)
    if {new.family, old.family} == {"copper", "iron"}:
        return said + "wet together the iron wastes (%s)" % _KNIGHT
    if new.family == old.family:
        return said + "near of kind, yet one metal throughout is the rule (%s)" % PRACTICE
    return said + "two metals wet together waste the baser (%s)" % PRACTICE
