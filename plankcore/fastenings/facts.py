"""What was found of a plank's fastenings, as facts with the sentences of words.py."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..model.facts import Fact
from ..trade.fastening_patterns import NOT_NAMED, find_metal, judge_metal, judge_mixing
from . import words
from .sizes import find_driven_metal

if TYPE_CHECKING:
    from typing import Any

__all__ = ["list_facts"]


def list_facts(out: Any, lists: Any, rule: Any) -> tuple[Fact, ...]:
    """Facts of a finished Layout, in the order in which the sheet prints them.

    Parameters
    ----------
    out : Layout
    lists : tuple of FasteningList
    rule : WidthRule

    Returns
    -------
    tuple of Fact
        DEVELOPERS.md, "Facts", lists the keys.
    """
    settings, size = out.settings, out.size
    found = [Fact("fastenings-by-width",
                  words.tell_rule(rule, out.words, counts=out.counts, short=out.short, frames=len(out.frames)),
                  verdict="doubt" if out.short else "holds", number=sum(out.counts.values()), unit="fastenings",
                  source=rule.source, about="; ".join(out.short)),
             Fact("size", words.tell_size(size), number=size.diameter_mm, unit="mm", source=size.table,
                  about=size.name),
             _judge_metal(settings.size, size),
             Fact("to-buy", words.tell_buying(lists, settings.size.spare_percent),
                  number=sum(one.total for one in lists if one.use != "heads"), unit="fastenings"),
             Fact("heads", words.tell_heads(size), number=size.depth_mm, unit="mm"),
             Fact("lead-holes", words.tell_lead_holes(size, settings.size.frame_wood), number=size.lead_mm or None,
                  unit="mm"),
             Fact("stagger", words.tell_distances(settings, out.plank.face, out.apart_mm), unit="mm",
                  number=min(out.apart_mm, default=settings.stagger_mm), limit=settings.stagger_mm)]
    without = [end for end in ("fore", "aft") if getattr(settings, end + "_end") == "none"]
    if without:
        found.append(Fact("no-end-fastenings", words.tell_no_ends(without), about="; ".join(without)))
    if out.bare:
        found.append(Fact("left-bare", words.tell_left_bare(out.bare), verdict="doubt",
                          number=max(one.length_mm for one in out.bare), unit="mm",
                          about="; ".join(dict.fromkeys(one.station for one in out.bare))))
    return (*found, *(Fact("caution", text) for text in words.CAUTIONS))


def _judge_metal(settings, size):
    """Facts on the metal: whether it is known, suits this kind of fastening, and goes with the boat's other metal."""
    metal, boat = find_driven_metal(settings), find_metal(settings.boat_metal)
    against = judge_metal(metal.name, kind=size.name) + list(filter(None, [judge_mixing(metal.name, boat.name)]))
    return Fact("metal", words.tell_metal(metal, boat, against), about=metal.name,
                verdict="doubt" if against else "not judged" if NOT_NAMED in (metal.name, boat.name) else "holds")
