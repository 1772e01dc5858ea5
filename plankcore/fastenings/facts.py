"""What was found of a plank's fastenings, for the title block."""
from __future__ import annotations

from ..trade.fastening_metals import find_metal, judge_metal, judge_mixing
from . import words
from .sizes import find_driven_metal

__all__ = ["list_rows"]


def list_rows(out, lists, rule):
    """Rows for the title block, in capitals, of a finished Layout."""
    settings, size = out.settings, out.size
    metal, boat = find_driven_metal(settings.size), find_metal(settings.size.boat_metal)
    against = judge_metal(metal.name, kind=size.name) + list(filter(None, [judge_mixing(metal.name, boat.name)]))
    yield words.tell_rule(rule, out.words, out.counts, out.short, len(out.frames))
    yield words.tell_size(size)
    yield words.tell_metal(metal, boat, against)
    yield words.tell_buying(lists, settings.size.spare_percent)
    yield words.tell_heads(size)
    yield words.tell_lead_holes(size, settings.size.frame_wood)
    yield words.tell_distances(settings, out.plank.face)
    without = [end for end in ("fore", "aft") if getattr(settings, end + "_end") == "none"]
    if without:
        yield words.tell_no_ends(without)
    if out.bare:
        yield words.tell_left_bare(out.bare)
    yield from words.CAUTIONS
