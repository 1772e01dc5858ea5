"""What is lettered of joints on the wood, on parts drawn apart, and on the butt map. No code reads it back."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..units import format_mm

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.joints_and_fastenings import Joint, PlacedJoint
    from ..model.plank import Plank

__all__ = [
    "FORWARD",
    "FRAMES",
    "GARBOARD_LOWEST",
    "SLOPE_FROM",
    "foot_map",
    "head_map",
    "letter_between",
    "letter_block",
    "letter_count",
    "letter_face",
    "letter_facing",
    "letter_fail",
    "letter_feather",
    "letter_joint",
    "letter_more",
    "letter_neighbour",
    "letter_part",
    "letter_rule",
    "letter_scale",
    "letter_signs",
    "letter_slope",
    "letter_space",
    "letter_strake",
    "name_map",
]

FORWARD, FRAMES, GARBOARD_LOWEST, SLOPE_FROM = "FWD", "FRAMES", "GARBOARD LOWEST", "SLOPE FROM HERE"
_MAP_SIGNS = ("UPRIGHT STROKE: BUTT. LEANING STROKE: SCARF. HATCHED: NEW PLANKS, THIS ONE THE CLOSER. BROKEN LINE AND "
              "NUMBER: A PAIR THAT FAILS.")
_MAP_CAUTION = ("CHECKED AGAINST THE RULE NAMED, NOT AN APPROVAL. BUTTS IN STRUCTURE ARE FOR THE SURVEYOR, CLASS OR "
                "FLAG AUTHORITY.")


def letter_joint(joint: PlacedJoint) -> str:
    """'BUTT A: 9-10', along a joint's line."""
    return "%s %s: %s" % (joint.kind.upper(), joint.label, joint.bay.upper())


def letter_block(block: Any, width_mm: float) -> str:
    """A butt block's size."""
    return "BLOCK %.0f X %.0f X %.0f" % (block.length_mm, width_mm, block.thickness_mm)


def letter_feather(outside: bool) -> str:
    """Which feather a line is."""
    return "%s FEATHER" % ("OUTSIDE" if outside else "INSIDE")


def letter_facing(aft: bool) -> str:
    """Which way the outside feather faces."""
    return "FEATHER FACES %s" % ("AFT" if aft else "FORWARD")


def letter_slope(joint: PlacedJoint) -> str:
    """A scarf's slope and length."""
    return "%g:1, %s LONG" % (joint.slope, format_mm(joint.length_mm).upper())


def letter_between(apart_mm: float) -> str:
    """How far apart a joint's outer crosses are."""
    return "%.1f BETWEEN END CROSSES" % apart_mm


def letter_neighbour(joint: Joint) -> str:
    """Beside the mark of a neighbour's joint."""
    return "%s: %s %s" % (joint.strake.upper(), joint.kind.upper(), joint.bay.upper())


def letter_part(part: Any, count: int, face: str, joints: Sequence[PlacedJoint]) -> str:
    """On a part that is drawn apart; joints : those at its ends."""
    return "PART %d OF %d, %.0f LONG, NET OF THE %s FACE, NOT THE SAW LINE. %s" % (
        part.number, count, part.to_mm - part.from_mm, face.upper(),
        " AND ".join("%s %s" % (j.kind.upper(), j.label) for j in joints))


def letter_face(inside: bool) -> str:
    """On which face a slope is cut."""
    return "ON THE %s FACE" % ("INSIDE" if inside else "OUTSIDE")


def name_map(plank: Plank) -> str:
    """Title of the butt map."""
    return "BUTT MAP, " + plank.side.upper()


def head_map(plank: Plank) -> str:
    """First line of the butt map."""
    return "  ".join(t for t in ("BUTT MAP", plank.name.upper(), "%s SIDE, SEEN FROM OUTBOARD" % plank.side.upper())
                     if t)


def foot_map(file_name: str) -> str:
    """Last line of the butt map."""
    return "  ".join(t for t in (_MAP_CAUTION, "FILE %s" % file_name if file_name else "") if t)


def letter_rule(rule: Any) -> tuple[str, str]:
    """The rule by which the joints were judged, in two lines."""
    return "RULE: %s. SOURCE: %s." % (rule.title, rule.source.upper()), "READ AS: %s." % rule.read


def letter_space(space_mm: float, unit: str) -> str:
    """A frame space, without its unit."""
    return "%.1f" % (space_mm / 25.4) if unit == "in" else "%.0f" % space_mm


def letter_scale(bar_mm: float, ratio: float, unit: str) -> str:
    """What the map's bar stands for."""
    long = "%g FT" % (bar_mm / 304.8) if unit == "in" else "%g M" % (bar_mm / 1000)
    return "%s ALONG THE SIDE. SCALE 1:%g; THE ROWS ARE NOT TO SCALE." % (long, ratio)


def letter_signs(spaces_in: str, *, measured: bool, lost: Sequence[str]) -> str:
    """What the map's signs mean.

    spaces_in : the unit of the frame spaces below the map, '' where they are not lettered. measured : whether the
    frames of the side are given. lost : strakes of new planks that could not be put on it.
    """
    found = [_MAP_SIGNS]
    if spaces_in:
        found.append("BELOW THE MAP: FRAME SPACES ALONG THE BASELINE, %s." % ("IN" if spaces_in == "in" else "MM"))
    if not measured:
        found.append("FRAMES BEYOND THIS PLANK ARE COUNTED ON EVENLY, NOT MEASURED.")
    if lost:
        found.append("NEW, AND NOT ON THE MAP, SINCE NO FRAME OR NUMBER SAYS WHERE: STRAKE %s."
                     % ", ".join(lost).upper())
    return " ".join(found)


def letter_strake(name: str, *, full: bool) -> str:
    """A strake's name beside its row."""
    return "STRAKE %s" % name.upper() if full else name.upper()


def letter_count(fails: int, passed: int, unjudged: int) -> str:
    """How many pairs fail, pass and are not judged."""
    return "%d FAIL, %d PASS%s." % (fails, passed, ", %d NOT JUDGED" % unjudged if unjudged else "")


def letter_fail(number: int, verdict: Any) -> str:
    """A pair that fails, by its number on the map."""
    return "%d  %s" % (number, verdict.words)


def letter_more(count: int) -> str:
    """How many more fail than are listed."""
    return "AND %d MORE THAT FAIL" % count
