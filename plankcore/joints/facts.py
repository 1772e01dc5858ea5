"""What was found of joints as facts, beside the sentences of words.py."""
from __future__ import annotations

from ..model.joint import JointFact
from .judge import describe_joint

__all__ = ["LENGTH_RULES", "list_facts"]

LENGTH_RULES = ("six-spaces", "five-feet")
_SAID = {True: "holds", False: "fails", None: "not judged"}


def list_facts(settings, count, story):
    """Facts of a JointPlan, a tuple of JointFact, in the order of the verdicts, the worst pair first.

    Parameters
    ----------
    settings : JointSettings
    count : int
        Joints laid out in the plank.
    story : dict
        As joints.place_joints makes it.
    """
    rule = story["rule"]
    found = [JointFact("rule", "holds", rule.title, source=rule.source),
             JointFact("neighbours", "holds" if story["neighbours"] else "not judged", number=story["neighbours"])]
    for v in story["verdicts"]:
        if v.rule not in LENGTH_RULES:
            found.append(JointFact("pair" if len(v.joints) == 2 else "joint", _SAID[v.passed], v.words, v.number,
                                   v.limit, v.source, "; ".join(map(describe_joint, v.joints))))
    if count:
        judged = settings.kind in rule.counts
        found.append(JointFact("legal-bays", "not judged" if not judged else "holds" if story["legal"] else "fails",
                               number=len(story["legal"]), about="; ".join(story["legal"])))
    lengths = [v for v in story["verdicts"] if v.rule in LENGTH_RULES]
    for spaces, feet in zip(lengths[::2], lengths[1::2]):
        # five feet are the floor where special conditions govern: whether they do is not for a drawing to say
        verdict = ("holds" if spaces.passed and feet.passed else "fails" if not spaces.passed
                   and not feet.passed else "doubt")
        worse = feet if spaces.passed and not feet.passed else spaces
        found.append(JointFact("length", verdict, "%s; %s" % (spaces.words, feet.words), worse.number, worse.limit,
                               worse.source, "spaces" if worse is spaces else "feet"))
    for end, kind, old in (("ahead", settings.fore_end, story["ahead"]), ("behind", settings.aft_end, story["behind"])):
        if kind != "hood" and old is None:
            found.append(JointFact("old-piece", "not judged", about=end))
    found += [JointFact("stock", "fails", words, source="THE LONGEST BOARD THERE IS, AS IT WAS GIVEN")
              for words in story["too_long"]]
    if settings.stock_mm and not story["too_long"]:
        found.append(JointFact("stock", "holds", limit=settings.stock_mm,
                               source="THE LONGEST BOARD THERE IS, AS IT WAS GIVEN"))
    found += [JointFact("practice", "doubt", words) for words in story["avoided"]]
    return tuple(found)
