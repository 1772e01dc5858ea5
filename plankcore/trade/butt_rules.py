"""Where joints of the planking may lie: the rules there are, which differ, each with who says it and how it was read
here.

None of them is the law of a class or a flag; a rule is named so that it can be looked up and argued with.
"""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from typing import Mapping

__all__ = ["GARBOARD_SHIFT_MM", "GARBOARD_SOURCE", "LENGTHS", "RULES", "ButtRule", "LengthRule", "find_rule"]

_BULLETIN = "US Army TB 55-1900-201-45/1"


@dataclass(frozen=True)
class ButtRule:
    """One rule.

    name : what a setting calls it. title : what a sheet calls it. counts : the kinds of joint its words speak of.
    least_spaces : frame spaces two joints must be apart, by how many solid strakes lie between them. least_mm : the
    same in mm.
    solid_strakes : how many must lie between two joints in one bay, on one frame, or in one plane across, or None.
    on_frame : kinds that may lie on a frame; None where the rule does not say. least_slope : length of a scarf in
    thicknesses, or 0.
    plane_of_scarf : two joints nearer than a scarf is long lie in one plane across.
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
    """The shortest length: frame spaces it should run, the least length where that cannot be had, and who says so."""

    source: str
    least_spaces: int
    spaces_source: str
    least_mm: float
    floor_source: str


# 2-13 a speaks of butts "as glued scarf joints at the frames" in light narrow-strake work: so by its words a glued
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
    """The rule of a name.

    Raises
    ------
    SettingError
    """
    for rule in _RULES:
        if rule.name == name:
            return rule
    raise SettingError("There is no butt rule '%s'." % name, "Choose one of: %s." % ", ".join(RULES), "Rule")
