"""How fastenings are set out, and their metals."""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import SettingError
from .named import find_named

__all__ = [
    "CLEAR_ACROSS_SHANKS",
    "CLEAR_ALONG_SHANKS",
    "METALS",
    "NOT_NAMED",
    "PLUG_WALL_MM",
    "RULES",
    "FramePattern",
    "Metal",
    "WidthRule",
    "count_butt",
    "count_crossing",
    "find_metal",
    "find_width_rule",
    "judge_metal",
    "judge_mixing",
    "measure_edge_distance_mm",
]

NOT_NAMED = "not-named"
PRACTICE = "common practice, no source"
_KNIGHT = "E. F. Knight, Small-Boat Sailing: copper and iron immersed together in sea water set up galvanic action"
SAME_METAL = ("nuts and roves of the same metal as what they hold (Lloyd's Register, Rules 1891, composite vessels, "
              "Section 33, 3, says it of nuts)")


@dataclass(frozen=True)
class Metal:
    """A metal: its name among the settings, its words, its family ('copper', 'iron', 'stainless', '' where not named),
    and a sentence with objections to it, or ''."""

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
    """Objections to a metal for a kind of fastening ('screw', 'nail', 'rivet' or another), a list of str."""
    metal = find_metal(name)
    found = [metal.caution] if metal.caution else []
    if kind == "screw" and metal.name == "copper":
        found.append("copper is too soft for screws: bronze is used (%s)" % PRACTICE)
    return found


def judge_mixing(name: str, boat_name: str) -> str:
    """The objection to fastenings of one metal in a boat that is fastened with another, a str with its source; '' where
    they are the same, or one is not named.

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


INCH_MM = 25.4
CLEAR_ALONG_SHANKS, CLEAR_ACROSS_SHANKS = 4.0, 2.0
"""Least distance of two fastenings in shank diameters, along the grain or else across it; nearer ones may split the
wood between them. Common practice, no source;
for joints that carry load along the plank, EN 1995-1-1:2004, table 8.2, nails in bored holes, asks 4 to 5 along and 3
to 4 across (from memory, not checked)."""
PLUG_WALL_MM = 1.0
"""Wood left between the holes of two plugs. Common practice, no source."""
_SLACK_MM = 0.01          # widths are not known more accurately
_LLOYDS_1891 = "Lloyd's Register, Rules 1891, Section 46, as printed at bruzelius.info"
_COMPOSITE = "Lloyd's Register, Rules 1891, composite vessels, Section 33, as printed at bruzelius.info"
_LAKES = "Rules for the construction of hulls on the Great Lakes, 1866, maritimehistoryofthegreatlakes.ca"
_SMALL = "small craft practice, no source"


@dataclass(frozen=True)
class FramePattern:
    """The fastenings at a frame for a plank of one width.

    counts : numbers of fastenings, taken in turn from frame to frame: (2,) double, (1,) single, (2, 1) alternate double
    and single.
    through : how many of them are through bolts. doubt : the rule's objection to this width, or ''.
    """

    counts: tuple[int, ...]
    through: int = 0
    doubt: str = ""

    @property
    def words(self) -> str:
        """double, single, alternate double and single, or a number."""
        if len(self.counts) > 1:
            return "alternate double and single"
        return {1: "single", 2: "double"}.get(self.counts[0], "%d" % self.counts[0]) + (
            ", %d of them a through bolt" % self.through if self.through else "")


@dataclass(frozen=True)
class WidthRule:
    """A rule for fastening by width: its name, its wording in short, and the source. butts : its wording on butts, or
    ''."""

    name: str
    words: str
    source: str
    butts: str = ""


_TWO_EACH = "at every butt two bolts, read here as two each side of the joint"
_RULES = (
    WidthRule("small", "two to 6 in wide, three to 8 in", _SMALL,
              "three each side to 4 in wide, four under 6 in, five from 6 in"),
    WidthRule("lloyds", "over 11 in double, over 8 in to 11 in alternate double and single, to 8 in single",
              _LLOYDS_1891, _TWO_EACH),
    WidthRule("composite", "from 10 in double, from 8 1/2 in alternate double and single, under 8 1/2 in single",
              _COMPOSITE, "all butts double"),
    WidthRule("lakes-bottom", "bottom plank to 10 in wide square fastened, read here as two spikes to a timber; over "
                              "10 in in the same proportion, read as one to each 5 in or part of it", _LAKES),
    WidthRule("lakes-bilge", "side plank from the lower turn of the bilge to the light water line, no wider than 8 "
                             "in: three spikes and a through bolt", _LAKES),
    WidthRule("lakes-side",
              "side plank above the light water line, no wider than 6 in: three spikes and a through bolt", _LAKES),
    WidthRule("own", "as counted on the boat", "given by the user"),
)
RULES = tuple(rule.name for rule in _RULES)
_LAKES_WIDEST_IN = {"lakes-bilge": 8.0, "lakes-side": 6.0}
# two spikes to 10 in: wider bottom plank is "to be fastened in the same proportion", so one for each 5 in or part of it
_LAKES_EACH_IN = 5.0


def find_width_rule(name: str) -> WidthRule:
    """The WidthRule of a name in RULES.

    Raises
    ------
    SettingError
    """
    return find_named(_RULES, name, problem="'%s' is not the name of a rule for fastening by width.",
                      remedy="Use one of: %s.", where="Rule")


def _to_inches(width_mm):
    if not (math.isfinite(width_mm) and width_mm > 0):
        raise SettingError("A plank %g mm wide cannot be fastened." % width_mm, "Give a width above 0.", "Width")
    return width_mm / INCH_MM


def _at_most(width_in, limit_in):
    return width_in <= limit_in + _SLACK_MM / INCH_MM


def count_crossing(rule: str, width_mm: float, *, own_count: int = 0) -> FramePattern:
    """The fastenings at a frame by a rule.

    Parameters
    ----------
    rule : str
        One of RULES.
    width_mm : float
        Width of the plank there.
    own_count : int
        For the rule 'own': the number counted on the boat, 1 to 12.

    Returns
    -------
    FramePattern

    Raises
    ------
    SettingError

    Examples
    --------
    >>> count_crossing("lloyds", 9 * 25.4).counts
    (2, 1)
    """
    name = find_width_rule(rule).name
    width = _to_inches(width_mm)
    if name == "own":
        if not 1 <= own_count <= 12:
            raise SettingError("%d fastenings to a frame cannot be laid out." % own_count,
                               "Count them on the boat, at a frame where the plank is sound; give 1 to 12.",
                               "Count at each frame, on the boat")
        return FramePattern((int(own_count),))
    if name == "small":
        if _at_most(width, 6.0):
            return FramePattern((2,))
        wider = "" if _at_most(
            width, 8.0) else "the practice quoted ends at planks 8 in wide; this one is wider, and three are laid out."
        return FramePattern((3,), doubt=wider)
    if name == "lloyds":
        return FramePattern((1,) if _at_most(width, 8.0) else (2, 1) if _at_most(width, 11.0) else (2,))
    if name == "composite":
        # "from 10 in" includes exactly 10 in
        return FramePattern((2,) if width >= 10.0 - _SLACK_MM / INCH_MM
                            else (2, 1) if width >= 8.5 - _SLACK_MM / INCH_MM else (1,))
    if name == "lakes-bottom":
        return FramePattern((max(2, math.ceil((width - _SLACK_MM / INCH_MM) / _LAKES_EACH_IN)),))
    limit = _LAKES_WIDEST_IN[name]
    doubt = "" if _at_most(
        width, limit) else "the rule of 1866 lets planks there be no wider than %g in; this one is wider." % limit
    return FramePattern((4,), 1, doubt)


def count_butt(rule: str, width_mm: float, *, own_count: int = 0) -> tuple[int, str]:
    """Fastenings on each side of a butt: own_count where it is given, else by the rule if it covers butts, else by
    small craft practice.

    Returns
    -------
    count : int
    words : str
        Which rule, and its source.
    """
    found, small = find_width_rule(rule), _RULES[0]
    width = _to_inches(width_mm)
    if own_count:
        if not 1 <= own_count <= 24:
            raise SettingError("%d fastenings each side of a butt cannot be laid out." % own_count,
                               "Give 1 to 24, or 0 for the rule's number.", "Count each side of a butt")
        return int(own_count), "as given"
    if found.name in ("lloyds", "composite"):
        return 2, "%s (%s)" % (found.butts, found.source)
    count = 3 if _at_most(width, 4.0) else 5 if width >= 6.0 - _SLACK_MM / INCH_MM else 4
    return count, "%s (%s)" % (small.butts, small.source)


def measure_edge_distance_mm(width_mm: float) -> float:
    """How far a fastening is kept from a plank's edge, mm: 3/4 in or a sixth of the width, whichever is more. Common
    practice, no source.
    """
    return max(0.75 * INCH_MM, width_mm / 6)
