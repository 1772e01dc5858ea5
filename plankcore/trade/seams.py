"""How far a caulking seam is open at the outside: builders' rules, which differ, each with its source."""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError
from .named import find_named

__all__ = ["RULES", "THIN_MM", "VERY_THIN_MM", "SeamRule", "find_gap_mm", "find_rule", "judge_thickness"]

VERY_THIN_MM = 12.7
"""Up to this thickness, 1/2 in, planks are commonly laid without caulking. Common practice, no source."""
THIN_MM = 15.875
"""Up to this thickness, 5/8 in, wicking or no caulking is common. Common practice, no source; the limit differs from
yard to yard."""


@dataclass(frozen=True)
class SeamRule:
    """One rule: opening at the outside per mm of thickness, where the bevel begins, and the source.

    tight_share : share of the thickness, from the inside, that touches; None where the rule does not say.
    """

    name: str
    words: str
    source: str
    gap_per_mm: float = 0.0
    tight_share: float | None = None


_RULES = (
    SeamRule("none", "no seam", "tight all through"),
    SeamRule("sixteenth", "1/16 in per inch of thickness, opening from half the thickness",
             source="Traditional Small Craft Association, rules of thumb", gap_per_mm=1 / 16, tight_share=1 / 2),
    SeamRule("eighth", "1/8 in per inch of thickness, the inner third tight",
             source="a builder's account, Choptank Boatworks", gap_per_mm=1 / 8, tight_share=1 / 3),
    # 3 to 4 mm on 25 mm: the middle, 3.5 in 25
    SeamRule("seventh", "3 to 4 mm on 25 mm (3.5 is taken), the inner third tight, a third for caulking, a third for "
                        "stopping", source="builders' accounts in a yachtsmen's forum", gap_per_mm=3.5 / 25,
             tight_share=1 / 3),
    SeamRule("own", "a gap of one's own", "given by the user"),
)

RULES = tuple(rule.name for rule in _RULES)


def find_rule(name: str) -> SeamRule:
    """The SeamRule with a name in RULES; case and surrounding blanks are ignored.

    Raises
    ------
    SettingError
    """
    return find_named(_RULES, name, problem="'%s' is not the name of a seam rule.", remedy="Use one of: %s.",
                      where="Seam")


def judge_thickness(thickness_mm: float) -> str:
    """A doubt, in words, where a plank is so thin that builders give it no caulking seam, else ''."""
    if thickness_mm <= VERY_THIN_MM:
        return "A plank of %.1f mm (up to 1/2 in) is commonly laid tight, without a caulking seam." % thickness_mm
    if thickness_mm <= THIN_MM:
        return ("A plank of %.1f mm (1/2 to 5/8 in) commonly takes wicking or no caulking, so little or no seam."
                % thickness_mm)
    return ""


def find_gap_mm(rule: str, thickness_mm: float, *, own_mm: float = 0.0) -> tuple[float, str]:
    """Opening of a seam at the outside, between two planks, and the rule in words.

    The rule is applied at any thickness; `judge_thickness`, and the words returned, say where a seam is unusual.

    Parameters
    ----------
    rule : str
        One of RULES.
    thickness_mm : float
        Finished thickness.
    own_mm : float
        The gap itself, for the rule 'own': small leaves no room for caulking, large lets it be driven through.

    Returns
    -------
    gap_mm : float
        Of the whole seam, however its bevel is shared between the two planks.
    words : str
        The rule and its source: one sentence or two, without the number.

    Raises
    ------
    SettingError
        For an unknown rule, an invalid thickness, or an own gap that is negative or not less than the thickness.

    Examples
    --------
    >>> find_gap_mm("sixteenth", 50.8)[0]
    3.175
    """
    found = find_rule(rule)
    if found.name != "none" and not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise SettingError("A seam cannot be found for a thickness of %g mm." % thickness_mm,
                           "Give the plank's finished thickness.", "Thickness")
    gap = found.gap_per_mm * thickness_mm if found.gap_per_mm else 0.0
    if found.name == "own":
        if not 0 <= own_mm < thickness_mm:
            raise SettingError("A seam of %g mm cannot be used in a plank of %g mm." % (own_mm, thickness_mm),
                               "Give 0 or more, and less than the thickness.", "Seam, own gap")
        gap = float(own_mm)
    words = "%s (%s)" % (found.words, found.source)
    doubt = judge_thickness(thickness_mm) if gap > 0 else ""
    return gap, words[0].upper() + words[1:] + "." + (" " + doubt if doubt else "")
