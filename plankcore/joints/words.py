"""Every sentence on joints: those of the title block, of the record and of the doubts on the drawing are made here,
from what was found. No code reads them. Lettering on the wood and on the butt map is made in lettering.py."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..actions import JOINTS
from ..model.plank import Finding
from ..trade.butt_rules import GARBOARD_SOURCE, LENGTHS, USUAL_SIDED_MM, describe_slope, measure_scarf
from ..units import format_inches, format_mm

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..model.joints_and_fastenings import Joint, PlacedJoint
    from ..model.plank import Plank

__all__ = [
    "CAUTION",
    "DRAWN_NET",
    "SHORT_PIECES",
    "describe_joint",
    "list_findings",
    "say_alone",
    "say_asked",
    "say_bare_frames",
    "say_board",
    "say_closest",
    "say_count",
    "say_feet",
    "say_garboard",
    "say_glued",
    "say_gone",
    "say_least_wrong",
    "say_legal_bays",
    "say_length",
    "say_length_rule",
    "say_long_way",
    "say_measure",
    "say_more",
    "say_no_board",
    "say_no_place",
    "say_old_piece",
    "say_on_boards",
    "say_on_frame",
    "say_opposite",
    "say_pair",
    "say_placed",
    "say_practice",
    "say_proposed",
    "say_rule",
    "say_short_block",
    "say_short_part",
    "say_short_way",
    "say_slope",
    "say_spaces",
    "say_steps",
    "say_too_long",
    "say_verdict",
    "say_why",
]

_SAID = {True: "PASS", False: "FAILS", None: "NOTE"}
_MEASURES = {"frame spaces": ("FRAME SPACE APART", "FRAME SPACES APART"), "mm": ("MM APART", "MM APART")}
_ACROSS = {"strakes in one bay": "IN ONE BAY", "strakes on one frame": "ON ONE FRAME",
           "strakes in one plane": "IN ONE PLANE ACROSS"}
CAUTION = ("%s: CHECKED AGAINST THE RULE NAMED, NOT AN APPROVAL. BUTTS IN STRUCTURE ARE FOR THE SURVEYOR, CLASS OR "
           "FLAG AUTHORITY." % JOINTS.heading.upper())
DRAWN_NET = ("%s ARE DRAWN NET: NO SAW ALLOWANCE IS INCLUDED THERE. PARTS GO TOGETHER WITH THEIR CROSSES ON ONE "
             "STRAIGHT LINE AT THE DISTANCE TOLD." % JOINTS.heading.upper())
SHORT_PIECES = "SHORT GRAVING PIECES ARE NOT NORMALLY ACCEPTED: THEY HOLD NO FASTENINGS (2-12 B)."


def describe_joint(joint: Joint) -> str:
    """'STRAKE 6 BUTT 12-13', and of a plank whose strake has no name 'THIS STRAKE BUTT 12-13'."""
    return "%s %s %s" % ("THIS STRAKE" if joint.strake == "this" else "STRAKE " + joint.strake.upper(),
                         joint.kind.upper(), joint.bay.upper())


def _count(number):
    return ("%.1f" % number).rstrip("0").rstrip(".") if abs(number) < 100 else "%.0f" % number


def _say(number, one, several):
    return "%s %s" % (_count(number), one if abs(number - 1) < 0.05 else several)


def say_measure(number: Any, unit: str) -> str:
    """'2 FRAME SPACES APART', '1 STRAKE BETWEEN IN ONE BAY': how two joints are placed to each other."""
    one, several = _MEASURES.get(unit) or tuple(word + " BETWEEN " + _ACROSS[unit] for word in ("STRAKE", "STRAKES"))
    return _say(number, one, several)


# what a Verdict says, after its head --------------------------------------------------------------------------------


def say_pair(number: Any, limit: Any, unit: str, *, only: str = "", unsure: bool = False) -> str:
    """Of two joints. only : the only kind that the rule covers, where theirs is another."""
    if only:
        return "NOT JUDGED, THE RULE SPEAKS OF %sS ALONE (%s)" % (only.upper(), say_measure(number, unit))
    return "%s, %s NEEDED%s" % (say_measure(number, unit), _count(limit),
                                "; A PLACE IS KNOWN BY ITS BAY ONLY: MEASURE IT" if unsure else "")


def say_on_frame(passed: Any) -> str:
    """Of a joint on a frame."""
    return "IT LIES ON A FRAME AND BELONGS TO NO BAY; " + {
        None: "THE RULE DOES NOT SAY WHETHER IT MAY",
        True: "GLUED SCARFS ARE FOUND SO IN LIGHT WORK WITH NARROW STRAKES",
        False: "BUTTS BELONG BETWEEN FRAMES, ON BLOCKS, BUT IN MASSIVE FRAMING"}[passed]


def say_slope(slope: Any, thickness_mm: float, least: Any) -> str:
    """Of a scarf's length in thicknesses."""
    return "%s:1, %s LONG ON %s; %g:1 NEEDED" % (_count(slope), format_mm(slope * thickness_mm).upper(),
                                                 format_mm(thickness_mm).upper(), least)


def say_spaces(spaces: Any, least: Any) -> str:
    """Of a length in frame spaces."""
    return "%s, %d NEEDED" % (_say(spaces, "FRAME SPACE", "FRAME SPACES"), least)


def say_feet(length_mm: float, *, whole: Any, enough: Any) -> str:
    """Of a length in feet; whole : whether it has the frame spaces needed; enough : whether it is at least five feet.
    """
    floor = ("NOT UNDER 5 FT" if whole else "NOT UNDER 5 FT, THE FLOOR WHERE 6 SPACES CANNOT BE HAD") if enough else (
        "%s 5 FT, THE FLOOR WHERE 6 SPACES CANNOT BE HAD" % ("SHORT OF" if whole else "UNDER"))
    return "%s (%s), %s" % (format_mm(length_mm, places=0).upper(), format_inches(length_mm).upper(), floor)


# rows of title block and record -------------------------------------------------------------------------------------


def say_rule(rule: Any) -> tuple[str, str]:
    """Which rule, and how it was read: two rows."""
    return "BUTT RULE: %s. SOURCE: %s." % (rule.title, rule.source.upper()), "READ AS: %s." % rule.read


def say_placed(joint: Any, block: Any, settings: Any) -> str:
    """Of a joint in the plank: its place and its size, or that of its block."""
    if joint.kind == "scarf":
        length, face, angle = measure_scarf(thickness_mm=joint.thickness_mm, slope=joint.slope)
        use = describe_slope(joint.slope)
        return "SCARF %s: %s, %g:1 ON %s: %s (%s) ALONG, SLOPE FACE %s, %.2f DEG; OUTSIDE FEATHER FACES %s%s.%s" % (
            joint.label, joint.bay.upper(), joint.slope, format_mm(joint.thickness_mm).upper(),
            format_mm(length).upper(), format_inches(length).upper(), format_mm(face).upper(), angle,
            "AFT" if joint.feather == "aft" else "FORWARD", " (COMMON PRACTICE)" if joint.feather
            == "aft" else "; COMMON PRACTICE IS AFT", " " + use + "." if use else "")
    text = "BUTT %s: %s, %s FROM THE FORE END." % (joint.label, joint.bay.upper(), format_mm(joint.distance_mm).upper())
    if block is None:
        return text + " NO BLOCK IS SIZED: %s." % ("IT LIES ON A FRAME" if joint.thickness_mm > 0
                                                   else "THE PLANK'S THICKNESS IS NOT KNOWN")
    thicker = " OR %s" % format_mm(block.thicker_mm).upper() if block.thicker_mm > block.thickness_mm else ""
    short = "" if block.times >= 8 - 1e-6 else "; THE BAY LEAVES LESS THAN THE 8 TO 12 OF COMMON PRACTICE"
    counted = "" if settings.siding_mm else " (THEIR BREADTH IS NOT GIVEN: COUNTED FROM THE FRAME LINES)"
    return text + (" BLOCK %s LONG (%.1f TIMES THE THICKNESS%s), %s%s THICK, %s PAST EACH EDGE, %s CLEAR OF FRAMES "
                   "TO DRAIN%s, TOP EDGE BEVELLED (COMMON PRACTICE)."
                   % (format_mm(block.length_mm).upper(), block.times, short, format_mm(block.thickness_mm).upper(),
                      thicker, format_mm(block.lap_mm).upper(), format_mm(block.clear_mm).upper(), counted))


def say_proposed(why: Any) -> str:
    """Why a place was proposed."""
    return "PROPOSED BECAUSE: " + why


def say_why(*, over: Any, unit: str, other: Any, shortest_spaces: Any, longest_mm: float, stock_mm: float,
            in_steps: Any, keeps: Any = None) -> str:
    """The reason why a place is better than the others.

    over : by how much the nearest neighbour's joint, `other`, is farther off than it must be, in `unit`; other is None
    where there is none. keeps : whether every frame keeps its fastenings; None where that was not checked.
    """
    words = ["NO NEIGHBOUR'S JOINT THAT THE RULE COUNTS IS GIVEN" if other is None
             else "%g %s MORE THAN IT NEEDS FROM THE NEAREST NEIGHBOUR, %s"
             % (round(over, 1), unit.upper(), describe_joint(other)),
             "SHORTEST PART %.1f FRAME SPACES" % shortest_spaces]
    if stock_mm:
        words.append("LONGEST PART %s OF %s STOCK" % (format_mm(longest_mm, places=0).upper(),
                                                      format_mm(stock_mm, places=0).upper()))
    words.append("IN STEPS WITH ITS NEIGHBOURS, FOR EVERY OTHER PLACE IS TOO" if in_steps
                 else "NOT IN STEPS WITH ITS NEIGHBOURS (COMMON PRACTICE)")
    words += {None: [], True: ["WITHIN ITS BAY IT STANDS WHERE EVERY FRAME KEEPS ITS FASTENINGS"],
              False: ["NO PLACE WITHIN THE BAYS LETS EVERY FRAME KEEP ITS FASTENINGS"]}[keeps]
    return ". ".join(words) + "."


def say_legal_bays(legal: Any, *, count: Any, kind: Any, judged: Any) -> str:
    """The bays that the rules allow; judged : whether the rule covers such joints at all."""
    bays = (", ".join(legal).upper() or "NONE") if judged else "NOT JUDGED, THE RULE SAYS NOTHING OF %sS" % kind.upper()
    return "LEGAL BAYS OF THIS PLANK FOR %d %s%s: %s." % (count, kind.upper(), "" if count == 1 else "S", bays)


def say_on_boards(bays: Any, stock_mm: float) -> str:
    """Those of the legal bays that the longest board allows."""
    return "OF THESE THE LONGEST BOARD, %s, ALLOWS: %s." % (format_mm(stock_mm, places=0).upper(),
                                                            ", ".join(bays).upper() or "NONE")


def say_count(verdicts: Any, neighbours: Any) -> str:
    """How many pairs and joints fail, pass and are not judged."""
    if not neighbours:
        return "NO JOINT OF ANOTHER STRAKE WAS GIVEN: THE RULE HAS NOT BEEN CHECKED."
    count = {passed: sum(v.passed is passed for v in verdicts) for passed in (True, False, None)}
    return "JUDGED BY IT: %d FAIL, %d PASS%s." % (count[False], count[True],
                                                  ", %d NOT JUDGED" % count[None] if count[None] else "")


def say_verdict(verdict: Any) -> str:
    """One verdict as a row."""
    return "%s: %s." % (_SAID[verdict.passed], verdict.words)


def say_closest(verdict: Any) -> str:
    """The pair that passes with the smallest margin."""
    return "CLOSEST THAT PASSES: %s." % verdict.words


def say_more(count: Any) -> str:
    """How many more verdicts there are than are listed."""
    return "AND %d MORE; THE BUTT MAP SHOWS ALL." % count


def say_length_rule() -> str:
    """What lengths are judged by."""
    return ("LENGTHS JUDGED BY %s (SIX FRAME SPACES) AND 2-12 D (NOT UNDER 5 FT WHERE THEY CANNOT BE HAD):"
            % LENGTHS.spaces_source.upper())


def say_length(spaces: Any, feet: Any) -> str:
    """One length, from its two Verdicts."""
    said = ("PASS" if spaces.passed and feet.passed else "PASS SIX SPACES, SHORT OF 5 FT" if spaces.passed
            else "FAILS SIX SPACES, MEETS 5 FT" if feet.passed else "FAILS BOTH")
    return "%s: %s; %s." % (said, spaces.words, feet.said)


def say_old_piece(end: Any) -> str:
    """Of the old strake beyond an end, 'ahead' or 'behind', of which no joint is given."""
    return ("OLD PIECE %s: NO JOINT OF THIS STRAKE IS GIVEN THERE; SEE THAT 6 FRAME SPACES OF IT REMAIN."
            % end.upper())


def say_too_long(part: Any, stock_mm: float) -> str:
    """Of a part longer than the longest board, in short."""
    return "PART %d IS %.0f MM LONG, THE LONGEST BOARD %.0f MM" % (part.number, part.to_mm - part.from_mm, stock_mm)


def say_board(too_long: Any) -> str:
    """The same as a row."""
    return "BOARD TOO SHORT: %s. NO BUTT RULE ASKS THIS." % too_long


def say_short_part(part: Any, spaces: Any) -> str:
    """Of a part with a scarf at its end that is shorter than a length between butts should be, in short."""
    return "PART %d IS %.0f MM LONG (%.1f FRAME SPACES)" % (part.number, part.to_mm - part.from_mm, spaces)


def say_glued(joints: Any, short_parts: Any) -> str:
    """That the length rule does not apply to parts of a scarfed plank, and which of them would not meet it."""
    return "; ".join(["A SCARF GLUED BEFORE HANGING MAKES ONE PLANK OF %s: THE LENGTH RULE IS NOT APPLIED TO ITS PARTS"
                      % ("TWO PARTS" if joints == 1 else "ITS PARTS"), *short_parts]) + "."


def say_practice(brief: Any) -> str:
    """A remark of common practice as a row."""
    return "PRACTICE: %s." % brief


# remarks of practice, in short --------------------------------------------------------------------------------------


def say_gone(joint: Any) -> str:
    """Of an old joint within the new plank."""
    return "%s (%s) LIES WITHIN THIS PLANK AND IS TAKEN AS GONE" % (describe_joint(joint), joint.where.upper())


def say_steps(joints: Any) -> str:
    """Of joints that march in steps."""
    return "%s MARCH IN STEPS: COMMON PRACTICE AVOIDS IT" % ", ".join(describe_joint(j) for j in joints)


def say_garboard(joint: Any, apart_mm: float) -> str:
    """Of a garboard's joint near one of the other side's garboard."""
    return "%s IS %.0f MM FROM A BUTT OF THE GARBOARD OPPOSITE; %s ASKS 4 FT 6 IN" % (describe_joint(joint), apart_mm,
                                                                                     GARBOARD_SOURCE)


def say_opposite(joint: Any) -> str:
    """Of a joint in the same bay as one of the same strake on the other side."""
    return "%s: THE SAME STRAKE OPPOSITE HAS A JOINT IN THE SAME BAY: COMMON PRACTICE AVOIDS IT" % describe_joint(joint)


def say_short_block(joint: Any, block: Any) -> str:
    """Of a butt block that the bay leaves too short."""
    return "%s: THE BAY LEAVES A BLOCK OF %.1f TIMES THE THICKNESS; 8 TO 12 IS COMMON PRACTICE" % (
        describe_joint(joint), block.times)


def say_bare_frames(joint: Any, labels: Any, siding_mm: float) -> str:
    """Of the frames that lie in a scarf's feathers."""
    return ("SCARF %s: FRAME%s %s CANNOT KEEP ALL FASTENINGS THERE, A THIRD OF THE SCARF AT EACH TIP BEING A FEATHER "
            "(NO SOURCE); FRAMES TAKEN %s BROAD%s"
            % (joint.label, "S" if len(labels) > 1 else "", ", ".join(labels).upper(),
               format_mm(siding_mm or USUAL_SIDED_MM).upper(),
               "" if siding_mm else ", FOR THEIR BREADTH IS NOT GIVEN"))


# what is said where nothing will do ----------------------------------------------------------------------------------


def say_asked(count: int, kind: str) -> str:
    """'2 butts'."""
    return "%d %s%s" % (count, kind, "" if count == 1 else "s")


def say_short_way(way: str, spaces: float, least: float) -> str:
    """Of a length that a place leaves too short; way : 'AHEAD' or 'BEHIND'."""
    return "LENGTH %s OF IT %.1f FRAME SPACES, %g NEEDED" % (way, spaces, least)


def say_long_way(way: str, length_mm: float, stock_mm: float) -> str:
    """Of a part that a place makes too long for the boards."""
    return "PART %s OF IT %.0f MM LONG, THE LONGEST BOARD %.0f MM" % (way, length_mm, stock_mm)


def say_alone(bay: str) -> str:
    """Of a bay that would be allowed for one joint."""
    return " Bay %s would do for one alone." % bay


def say_least_wrong(bay: str, fails: Sequence[str]) -> str:
    """Of the bay that fails least."""
    return " Least wrong is bay %s: %s." % (bay, "; ".join(fails))


def say_no_place(asked: str, rule: str, least_spaces: float | None, nearest: str) -> str:
    """That no bay is allowed."""
    limits = ["by the rule %s" % rule]
    limits += [] if least_spaces is None else ["with %g frame spaces to each length" % least_spaces]
    return "This plank has no place for %s %s.%s" % (asked, ", ".join(limits), nearest)


def say_no_board(stock_mm: float, asked: str, legal: Sequence[str], nearest: str) -> str:
    """That the boards are too short for every bay that the rules allow."""
    return "The longest board, %s, is too short for every place that the rules allow %s: %s.%s" % (
        format_mm(stock_mm), asked, ", ".join(legal), nearest)


# doubts on the drawing ----------------------------------------------------------------------------------------------


def list_findings(plank: Plank, placed: Sequence[PlacedJoint], own: Sequence[Joint], *, verdicts: Any,
                  too_long: Any) -> tuple[Finding, ...]:
    """Failing verdicts as Findings, one to each joint of the plank, at the joint; failing lengths without a place.

    verdicts : Verdict. too_long : Facts of parts longer than the longest board.
    """
    fails = [v for v in verdicts if v.passed is False]
    found, told = [], set()
    corner = plank.find_corners()
    lines: list[tuple[Joint, Any]] = [(joint, place.line) for joint, place in zip(own, placed)]
    lines += [(j, [corner[edge + j.end] for edge in ("upper ", "lower ")])
              for j in {j: j for v in fails for j in v.joints if j.ours == "end"}]
    level = float(plank.find_baseline()[:, 1].mean())
    for joint, (upper, lower) in lines:
        spot = upper if upper[1] < level else lower               # words at this edge go upwards, out of the plank
        mine = [v for v in fails if joint in v.joints and v.key in ("pair", "joint")]
        if mine:
            more = "; and %d more" % (len(mine) - 1) if len(mine) > 1 else ""
            found.append(Finding("fails: %s%s" % (mine[0].words, more), (float(spot[0]), float(spot[1])), "joint-fails",
                                 number=float(len(mine)), unit="verdicts"))
            told |= {id(v) for v in mine}
    short = [v for v in fails if id(v) not in told and v.key == "spaces"]
    if short:
        found.append(Finding("too short: " + "; ".join(v.words for v in short), None, "short-lengths",
                             number=float(len(short)), unit="lengths"))
    return (*found, *(Finding("board too short: " + fact.brief, None, "board-too-short", number=fact.number,
                              unit=fact.unit,
                              limit=fact.limit) for fact in too_long))
