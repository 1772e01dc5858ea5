"""Rules for butts and scarfs: shifts, blocks, slopes and the way feathers face, each with its source."""
from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..errors import SettingError
from .fastening_tables import PUTTIED_BELOW_MM, find_screw

if TYPE_CHECKING:
    from typing import Mapping

__all__ = [
    "FEATHER_SHARE",
    "GARBOARD_SHIFT_MM",
    "GARBOARD_SOURCE",
    "LEAST_LAP_MM",
    "LEAST_TIMES",
    "LENGTHS",
    "MOST_LAP_MM",
    "MOST_TIMES",
    "RULES",
    "SLOPES",
    "USUAL_FRAME_EDGE_MM",
    "USUAL_SIDED_MM",
    "BlockSize",
    "ButtRule",
    "LengthRule",
    "describe_slope",
    "find_rule",
    "guess_head_mm",
    "list_bare_spans",
    "measure_scarf",
    "size_block",
]

_BULLETIN = "US Army TB 55-1900-201-45/1"


@dataclass(frozen=True)
class ButtRule:
    """One rule.

    name : as in settings. title : as on sheets. counts : the kinds of joint that its wording covers. least_spaces :
    frame spaces two joints must be apart, by how many solid strakes lie between them. least_mm : the same in mm.
    solid_strakes : how many must lie between two joints in one bay, on one frame, or in one plane across, or None.
    on_frame : kinds that may lie on a frame; None where the rule does not say. least_slope : length of a scarf in
    thicknesses, or 0.
    plane_of_scarf : whether two joints nearer than a scarf's length count as in one plane across.
    """

    name: str
    title: str
    source: str
    read: str
    counts: tuple[str, ...]
    least_spaces: Mapping[int, int] = field(default_factory=dict)
    least_mm: Mapping[int, float] = field(default_factory=dict)
    solid_strakes: int | None = None
    on_frame: tuple[str, ...] | None = None
    least_slope: float = 0.0
    plane_of_scarf: bool = False


@dataclass(frozen=True)
class LengthRule:
    """The rule for the shortest length: frame spaces that it should span, the least length where that is not possible,
    and the source."""

    source: str
    least_spaces: int
    spaces_source: str
    least_mm: float
    floor_source: str


# 2-13 a speaks of butts "as glued scarf joints at the frames" in light narrow-strake work: so in its terms a glued
# scarf is a kind of butt, and may lie on a frame
_SCARFS = ("ITS WORDS MAKE A GLUED SCARF A KIND OF BUTT, SO SCARFS ARE COUNTED; THEY MAY LIE ON A FRAME IN LIGHT "
           "WORK WITH NARROW STRAKES")

_RULES = (
    ButtRule("three-and-three", "THREE FRAME SPACES AND THREE STRAKES", source=_BULLETIN + ", PARA 2-13 A",
             read="THREE FRAME SPACES APART READ AS A DIFFERENCE OF BAY INDEX OF 3; THE SAME BAY ONLY WITH THREE SOLID "
             "STRAKES BETWEEN. " + _SCARFS
             + ". SILENT ON ONE OR TWO STRAKES BETWEEN IN DIFFERENT BAYS",
             counts=("butt", "scarf"), least_spaces={0: 3}, solid_strakes=3, on_frame=("scarf",)),
    # 5 ft and 4 ft: the stored page of 2-13 b ends after the 5 ft; the rest is read from the Great Lakes rules, which
    # say the same 5 ft
    ButtRule("distance", "FIVE FEET AND FOUR FEET, FOR UNUSUAL FRAME SPACING",
             source=_BULLETIN + ", PARA 2-13 B (5 FT); RULES FOR GREAT LAKES HULLS, 1866 (4 FT; SAME TIMBER)",
             read="NEXT STRAKES 5 FT; ONE STRAKE BETWEEN 4 FT, INFERRED FROM THE 1866 RULES, FOR THE BULLETIN'S OWN "
                  "WORDS "
             "ON IT WERE NOT SEEN; "
             "ONE BAY OR FRAME (THE 1866 RULES: ONE TIMBER) ONLY WITH THREE STRAKES BETWEEN. DISTANCES ALONG THE "
             "BASELINE. AS IN 2-13 A, " + _SCARFS,
             counts=("butt", "scarf"), least_mm={0: 5 * 304.8, 1: 4 * 304.8}, solid_strakes=3, on_frame=("scarf",)),
    ButtRule("yacht-scarfs", "OLD YACHT RULE FOR SCARFS",
             source="LLOYD'S, AS REPORTED BY J.-B. SOUPPEZ, THE STRENGTH OF "
                                                          "SCARF JOINTS, WOODENBOAT; SECOND-HAND, THE RULES "
                                                          "THEMSELVES WERE NOT SEEN",
             read="SCARFS ALONE, NOT BUTTS: AT LEAST 4 TIMES THE THICKNESS LONG; IN NEXT STRAKES 1.2 M APART, MIDDLE "
                  "TO "
             "MIDDLE ALONG THE BASELINE; "
             "THREE WHOLE STRAKES BETWEEN THOSE IN ONE PLANE ACROSS, READ AS IN ONE BAY OR NEARER THAN A SCARF IS LONG",
             counts=("scarf",), least_mm={0: 1200.0}, solid_strakes=3, least_slope=4.0, plane_of_scarf=True),
    ButtRule("light-craft", "TWO FRAME SPACES AND TWO STRAKES, LIGHT CRAFT",
             source="ONE BUILDER'S ACCOUNT OF A LIGHT DAYSAILER, SAMALLENSBOAT.COM, 2017; NO AUTHORITY",
             read="TWO FRAME SPACES APART READ AS A DIFFERENCE OF BAY INDEX OF 2; THE SAME BAY ONLY WITH TWO STRAKES "
             "BETWEEN. BUTTS ALONE: HE SAYS NOTHING OF GLUED SCARFS",
             counts=("butt",), least_spaces={0: 2}, solid_strakes=2),
)
RULES = tuple(rule.name for rule in _RULES)

LENGTHS = LengthRule(_BULLETIN, 6, spaces_source=_BULLETIN + ", PARA 2-12 C", least_mm=5 * 304.8,
                     floor_source=_BULLETIN + ", PARA 2-12 D")
"""A new length should run six frame spaces and leave no old one shorter; where special conditions govern, never under 5
ft.
"""

GARBOARD_SHIFT_MM = 4.5 * 304.8
GARBOARD_SOURCE = "LLOYD'S REGISTER, 1891, COMPOSITE VESSELS, SECTION 7"
"""Shift of a garboard's butts from those of the garboard opposite, and from the keel's scarfs, in composite ships."""


def find_rule(name: str) -> ButtRule:
    """The rule with a name.

    Raises
    ------
    SettingError
    """
    for rule in _RULES:
        if rule.name == name:
            return rule
    raise SettingError("There is no butt rule '%s'." % name, "Choose one of: %s." % ", ".join(RULES), "Rule")


LEAST_TIMES, MOST_TIMES = 8.0, 12.0
"""A block is 8 to 12 times the plank's thickness long. Common practice, no source; a light launch had one of 8 in on
3/4 in (Amateur Work, vol. 5).
"""
LEAST_LAP_MM, MOST_LAP_MM = 12.7, 25.4
"""It laps each neighbour by 1/2 to 1 in. Common practice, no source."""
SLOPES = ("4", "6", "8", "10", "12")

# recommendations for each slope, with sources; no strengths, since the published figures disagree
_SLOPES = {
    4: "TRADITIONAL IN PLANKS (SOUPPEZ, THE STRENGTH OF SCARF JOINTS)",
    6: "TRADITIONAL IN KEELS (SOUPPEZ, THE STRENGTH OF SCARF JOINTS)",
    8: "USUAL IN SHEET WOOD (COMMON PRACTICE)",
    10: "BETWEEN SHEET AND SOLID WOOD (COMMON PRACTICE)",
    12: "USUAL FOR GLUED SOLID PLANKS (COMMON PRACTICE); OF GLUED SCARFS 1 IN 12 OR FLATTER IS THE STRONGEST (USDA "
        "WOOD HANDBOOK, CH. 10)",
}


@dataclass(frozen=True)
class BlockSize:
    """A butt block: length along the plank, how far it laps past each edge, least and usual thickness. times : its
    length in plank thicknesses. clear_mm : gap to the nearer frame."""

    length_mm: float
    lap_mm: float
    thickness_mm: float
    thicker_mm: float
    times: float
    clear_mm: float = 0.0


def size_block(*, thickness_mm: float, clear_mm: float, drain_mm: float, lap_mm: float,
               times: float = 10.0) -> BlockSize:
    """The block for a butt between two frames.

    Parameters
    ----------
    thickness_mm : float
        Of the plank.
    clear_mm : float
        Clear length between the frames' sides; for a butt off the middle of the bay, twice its distance to the nearer
        side.
    drain_mm : float
        Gap left at each frame: small keeps water in, large leaves little block.
    lap_mm : float
        Past each edge of the plank.
    times : float
        Wanted length in thicknesses, 8 to 12; the bay may allow less.

    Returns
    -------
    BlockSize
        thickness_mm that of the plank; thicker_mm 1/4 in more, as is also done on boats to 1 in planking (common
        practice, no source).
    """
    if not LEAST_TIMES <= times <= MOST_TIMES:
        raise SettingError("A butt block of %g times the plank's thickness is not usual." % times,
                           "Give %g to %g." % (LEAST_TIMES, MOST_TIMES), "Block length")
    length = max(min(times * thickness_mm, clear_mm - 2 * drain_mm), 0.0)
    return BlockSize(length, lap_mm, thickness_mm=thickness_mm,
                     thicker_mm=thickness_mm + 6.35 if thickness_mm <= 25.4 else thickness_mm,
                     times=length / thickness_mm, clear_mm=(clear_mm - length) / 2)


def measure_scarf(*, thickness_mm: float, slope: float) -> tuple[float, float, float]:
    """Length along the plank, length of the slope's face, both mm, and its angle in degrees, of a scarf of slope to 1.
    """
    length = slope * thickness_mm
    return length, math.hypot(length, thickness_mm), math.degrees(math.atan2(thickness_mm, length))


def describe_slope(slope: float) -> str:
    """A sentence on who uses a slope, or ''."""
    return _SLOPES.get(int(slope), "") if float(slope).is_integer() else ""


FEATHER_SHARE = 1 / 3
"""Share of a scarf's length, at each tip, where one of its two halves is thinner than a third of the thickness."""
USUAL_SIDED_MM, USUAL_FRAME_EDGE_MM = 45.0, 10.0
"""Breadth of a frame where none is given, and the distance that a fastening keeps from its sides."""


def list_bare_spans(length_mm: float, *, head_mm: float, whole: bool = False) -> tuple[tuple[float, float], ...]:
    """Stretches along the plank, measured aft from the scarf's middle, where no fastening's centre may be: ((from_mm,
    to_mm), ...).

    head_mm : half the breadth of a plug or head, which keeps clear of the tips too. whole : whether all of the scarf is
    kept clear.

    Examples
    --------
    >>> list_bare_spans(300.0, head_mm=5.0)
    ((-155.0, -50.0), (50.0, 155.0))
    """
    half, feather = length_mm / 2, length_mm * FEATHER_SHARE
    if whole:
        return ((-half - head_mm, half + head_mm),)
    return ((-half - head_mm, -half + feather), (half - feather, half + head_mm))


def guess_head_mm(thickness_mm: float) -> float:
    """Half the plug's breadth, or without a plug the shank's, that a plank of this thickness usually takes: from the
    screw table of Herreshoff and Nevins, limited to its rows."""
    inches = min(max(thickness_mm / 25.4, 0.375), 2.0)
    row, _ = find_screw(inches * 25.4)
    return (row.plugs_in[0] if thickness_mm >= PUTTIED_BELOW_MM else row.shank_in) * 25.4 / 2
