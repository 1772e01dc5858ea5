"""What is said of joints in the title block and as doubts on the drawing."""
from __future__ import annotations

from ..model.plank import Finding
from ..trade.butt_blocks import describe_slope, measure_scarf
from ..trade.butt_rules import LENGTHS
from ..units import format_inches, format_mm

__all__ = ["list_findings", "list_rows"]

MOST_ROWS = 8
_SAID = {True: "PASS", False: "FAILS", None: "NOTE"}
_LENGTHS = ("six-spaces", "five-feet")


def list_rows(plank, placed, blocks, settings, story):
    """The rows of the title block, a tuple of str in capitals.

    story : rule, verdicts, legal, why, remarks, too_long, short_parts, proposed, ahead, behind, neighbours, as
    joints.place_joints makes it.
    """
    rule, verdicts = story["rule"], story["verdicts"]
    rows = ["BUTT RULE: %s. SOURCE: %s." % (rule.title, rule.source.upper()), "READ AS: %s." % rule.read]
    rows += [_describe_placed(joint, block, settings) for joint, block in zip(placed, blocks)]
    if story["proposed"]:
        rows.append("PROPOSED BECAUSE: " + story["why"])
    if placed:
        legal = ", ".join(story["legal"]).upper() or "NONE"
        if settings.kind not in rule.counts:
            legal = "NOT JUDGED, THE RULE SAYS NOTHING OF %sS" % settings.kind.upper()
        rows.append("LEGAL BAYS OF THIS PLANK FOR %d %s%s: %s."
                    % (len(placed), settings.kind.upper(), "" if len(placed) == 1 else "S", legal))
        if settings.stock_mm and story["on_boards"] != story["legal"]:
            rows.append("OF THESE THE LONGEST BOARD, %s, ALLOWS: %s." % (
                format_mm(settings.stock_mm, places=0).upper(), ", ".join(story["on_boards"]).upper() or "NONE"))
    rows += _tell_pairs([v for v in verdicts if v.rule not in _LENGTHS], story["neighbours"])
    rows += _tell_lengths([v for v in verdicts if v.rule in _LENGTHS], story, settings)
    rows += ["BOARD TOO SHORT: %s. NO BUTT RULE ASKS THIS." % text for text in story["too_long"]]
    if any(j.kind == "scarf" for j in placed):
        parts = "TWO PARTS" if len(placed) == 1 else "ITS PARTS"
        rows.append(
            "; ".join(
                ["A SCARF GLUED BEFORE HANGING MAKES ONE PLANK OF %s: THE LENGTH RULE IS NOT APPLIED TO ITS PARTS"
                 % parts] + story["short_parts"]) + ".")
    rows += ["PRACTICE: %s." % text for text in story["remarks"]]
    if placed:
        rows.append("SCARFS AND BUTTS ARE DRAWN NET: NO SAW ALLOWANCE IS INCLUDED THERE. PARTS GO TOGETHER WITH "
                    "THEIR CROSSES ON ONE STRAIGHT LINE AT THE DISTANCE TOLD.")
    rows.append("SCARFS AND BUTTS: CHECKED AGAINST THE RULE NAMED, NOT AN APPROVAL. BUTTS IN STRUCTURE ARE FOR THE "
                "SURVEYOR, CLASS OR FLAG AUTHORITY.")
    return tuple(rows)


def _describe_placed(joint, block, settings):
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
                      thicker, format_mm(block.lap_mm).upper(), format_mm(settings.drain_mm).upper(), counted))


def _tell_pairs(verdicts, neighbours):
    if not neighbours:
        rows = ["NO JOINT OF ANOTHER STRAKE WAS GIVEN: THE RULE HAS NOT BEEN CHECKED."]
    else:
        count = {passed: sum(v.passed is passed for v in verdicts) for passed in (True, False, None)}
        rows = ["JUDGED BY IT: %d FAIL, %d PASS%s."
                % (count[False], count[True], ", %d NOT JUDGED" % count[None] if count[None] else "")]
    told = [v for v in verdicts if v.passed is False] + [v for v in verdicts if v.passed is None]
    closest = next((v for v in verdicts if v.passed and len(v.joints) == 2), None)
    rows += ["%s: %s." % (_SAID[v.passed], v.words) for v in told[:MOST_ROWS]]
    if len(told) > MOST_ROWS:
        rows.append("AND %d MORE; THE BUTT MAP SHOWS ALL." % (len(told) - MOST_ROWS))
    if closest:
        rows.append("CLOSEST THAT PASSES: %s." % closest.words)
    return rows


def _tell_lengths(verdicts, story, settings):
    rows = ["LENGTHS JUDGED BY %s (SIX FRAME SPACES) AND 2-12 D (NOT UNDER 5 FT WHERE THEY CANNOT BE HAD):"
            % LENGTHS.spaces_source.upper()] if verdicts else []
    for spaces, feet in zip(verdicts[::2], verdicts[1::2]):
        said = ("PASS" if spaces.passed and feet.passed else "PASS SIX SPACES, SHORT OF 5 FT" if spaces.passed
                else "FAILS SIX SPACES, MEETS 5 FT" if feet.passed else "FAILS BOTH")
        rows.append("%s: %s; %s." % (said, spaces.words, feet.words.partition(": ")[2]))
    if any(v.passed is False and v.rule == "five-feet" for v in verdicts):
        rows.append("SHORT GRAVING PIECES ARE NOT NORMALLY ACCEPTED: THEY HOLD NO FASTENINGS (2-12 B).")
    for name, kind, old in (("AHEAD", settings.fore_end, story["ahead"]),
                            ("BEHIND", settings.aft_end, story["behind"])):
        if kind != "hood" and old is None:
            rows.append("OLD PIECE %s: NO JOINT OF THIS STRAKE IS GIVEN THERE; SEE THAT 6 FRAME SPACES OF IT REMAIN."
                        % name)
    return rows


def list_findings(plank, placed, own, story):
    """Failing verdicts as Findings, one to each joint of the plank, at the joint; failing lengths without a place."""
    fails = [v for v in story["verdicts"] if v.passed is False]
    found, told = [], set()
    corner = plank.find_corners()
    lines = [(joint, place.line) for joint, place in zip(own, placed)]
    lines += [(j, [corner[edge + j.note.split()[0]] for edge in ("upper ", "lower ")])
              for j in {j: j for v in fails for j in v.joints if j.ours == "end"}]
    level = float(plank.find_baseline()[:, 1].mean())
    for joint, (upper, lower) in lines:
        spot = upper if upper[1] < level else lower               # on that edge the words are written outside the plank
        mine = [v for v in fails if joint in v.joints and v.rule not in _LENGTHS]
        if mine:
            more = "; and %d more" % (len(mine) - 1) if len(mine) > 1 else ""
            found.append(Finding("fails: %s%s" % (mine[0].words, more), (float(spot[0]), float(spot[1]))))
            told |= {id(v) for v in mine}
    short = [v for v in fails if id(v) not in told and v.rule == "six-spaces"]
    if short:
        found.append(Finding("too short: " + "; ".join(v.words for v in short)))
    found += [Finding("board too short: " + text) for text in story["too_long"]]
    return tuple(found)
