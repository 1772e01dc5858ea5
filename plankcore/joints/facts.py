"""What was found about joints, as the facts that sheet, record and check read."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..model.facts import Fact, Place
from . import words

if TYPE_CHECKING:
    from typing import Any, Mapping

    from .settings import JointSettings

__all__ = ["find_too_long", "list_facts", "remark"]

MOST_ROWS = 8             # most verdicts in the title block; the butt map shows all
_VERDICTS = {True: "holds", False: "fails", None: "not judged"}
_LONGEST_BOARD = "THE LONGEST BOARD THERE IS, AS IT WAS GIVEN"


def remark(key: Any, brief: Any, *, verdict: str = "", number: Any = None, unit: str = "", limit: Any = None,
           place: Any = None, about: str = "") -> Any:
    """A Fact on common practice that no rule here states.

    brief : its sentence, from words.py.
    """
    return Fact(key, words.say_practice(brief), verdict=verdict, number=number, unit=unit, limit=limit, place=place,
                about=about, brief=brief)


def find_too_long(parts: Any, stock_mm: float) -> Any:
    """Facts of the parts that are longer than the longest board; stock_mm 0 where none was given."""
    found = []
    for part in parts:
        if stock_mm and part.to_mm - part.from_mm > stock_mm + 1e-6:
            brief = words.say_too_long(part, stock_mm)
            found.append(Fact("stock", words.say_board(brief), verdict="fails", number=part.to_mm - part.from_mm,
                              unit="mm", limit=stock_mm,
                              source=_LONGEST_BOARD, about="PART %d" % part.number, brief=brief))
    return tuple(found)


def list_facts(placed: Any, blocks: Any, settings: JointSettings, story: Mapping[str, Any]) -> tuple[Fact, ...]:
    """Facts of a JointPlan, a tuple of Fact, in the order in which they are printed.

    Parameters
    ----------
    placed : tuple of PlacedJoint
    blocks : list of BlockSize or None
        Of each.
    settings : JointSettings
    story : dict
        The results of place.place_joints: rule, verdicts, legal, on_boards, why, proposed, remarks, too_long,
        short_parts, ahead, behind, neighbours; remarks and too_long are Facts.
    """
    rule = story["rule"]
    told, read = words.say_rule(rule)
    found = [Fact("rule", told, "holds", source=rule.source, about=rule.name, brief=rule.title),
             Fact("rule-read", read)]
    found += [Fact("placed", words.say_placed(joint, block, settings), number=joint.distance_mm, unit="mm",
                   place=Place(along_mm=joint.distance_mm), about="%s %s %s" % (joint.kind, joint.label, joint.bay))
              for joint, block in zip(placed, blocks)]
    if story["proposed"]:
        found.append(Fact("proposed", words.say_proposed(story["why"])))
    found += [*_list_bays(placed, settings, story), *_list_pairs(story), *_list_lengths(settings, story)]
    found += story["too_long"]
    if settings.stock_mm and not story["too_long"]:
        found.append(Fact("stock", "", "holds", unit="mm", limit=settings.stock_mm, source=_LONGEST_BOARD))
    if any(joint.kind == "scarf" for joint in placed):
        found.append(Fact("glued", words.say_glued(len(placed), story["short_parts"])))
    found += story["remarks"]
    if placed:
        found.append(Fact("drawn-net", words.DRAWN_NET))
    return (*found, Fact("caution", words.CAUTION))


def _list_bays(placed, settings, story):
    if not placed:
        return
    judged, legal = settings.kind in story["rule"].counts, story["legal"]
    yield Fact("legal-bays", words.say_legal_bays(legal, count=len(placed), kind=settings.kind, judged=judged),
               verdict="not judged" if not judged else "holds" if legal else "fails", number=len(legal), unit="bays",
               about="; ".join(legal))
    if settings.stock_mm and story["on_boards"] != legal:
        yield Fact("bays-on-boards", words.say_on_boards(story["on_boards"], settings.stock_mm), verdict="",
                   number=len(story["on_boards"]), unit="bays", about="; ".join(story["on_boards"]))


def _list_pairs(story):
    """Facts of the verdicts: their number, then those that fail, are not judged and pass, each worst first."""
    verdicts, neighbours = [v for v in story["verdicts"] if v.key in ("pair", "joint")], story["neighbours"]
    yield Fact("neighbours", words.say_count(verdicts, neighbours), verdict="holds" if neighbours else "not judged",
               number=neighbours,
               unit="joints")
    told = [v for passed in (False, None) for v in verdicts if v.passed is passed]
    for k, verdict in enumerate(told):
        yield _tell_verdict(verdict, words.say_verdict(verdict) if k < MOST_ROWS else "")
    if len(told) > MOST_ROWS:
        yield Fact("more", words.say_more(len(told) - MOST_ROWS), number=len(told) - MOST_ROWS, unit="verdicts")
    held = [v for v in verdicts if v.passed]
    closest = next((v for v in held if v.key == "pair"), None)
    for verdict in held:
        yield _tell_verdict(verdict, words.say_closest(verdict) if verdict is closest else "")


def _tell_verdict(verdict, said):
    return Fact(verdict.key, said, verdict=_VERDICTS[verdict.passed], number=verdict.number, unit=verdict.unit,
                limit=verdict.limit,
                source=verdict.source, about="; ".join(map(words.describe_joint, verdict.joints)), brief=verdict.words)


def _list_lengths(settings, story):
    spaces = [v for v in story["verdicts"] if v.key == "spaces"]
    feet = [v for v in story["verdicts"] if v.key == "feet"]
    if spaces:
        yield Fact("length-rule", words.say_length_rule())
    for one, other in zip(spaces, feet):
        # five feet are enough only under special conditions, which a drawing cannot judge: so one rule met of the two
        # is a doubt
        verdict = ("holds" if one.passed and other.passed else "fails" if not one.passed and not other.passed
                   else "doubt")
        worse = other if one.passed and not other.passed else one
        yield Fact("length", words.say_length(one, other), verdict=verdict, number=worse.number, unit=worse.unit,
                   limit=worse.limit, source=worse.source,
                   about=worse.key, brief="%s; %s" % (one.words, other.words))
    if any(v.passed is False for v in feet):
        yield Fact("short-pieces", words.SHORT_PIECES)
    for end, kind, old in (("ahead", settings.fore_end, story["ahead"]), ("behind", settings.aft_end, story["behind"])):
        if kind != "hood" and old is None:
            yield Fact("old-piece", words.say_old_piece(end), "not judged", about=end)
