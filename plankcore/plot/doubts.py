"""A plank's doubts in short, worst first; the record has each in full."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..actions import FAIR
from ..model.drawing import SAID_BY_FACTS, is_told_of_plank
from ..units import format_mm

if TYPE_CHECKING:
    from typing import Iterator

    from ..model.drawing import Fact
    from ..model.page import PlankMatter
    from ..model.plank import Finding

__all__ = ["list_doubts", "tell_fact"]

_LONGEST = 80             # characters of a line
# names for the keys of facts, where the key itself would be misunderstood
_CALLED = {"bending": "bend, radius", "strain": "edge strain, never force it edgeways:",
           "finished": "finished thickness", "inside-drawn-edge": "saw line past the net line",
           "seam-afloat": "swelling at the seam", "little-room": "saw line to the net line",
           "grain": "grain runs out", "left-bare": "longest bare stretch",
           "doubtful-readings": "readings in doubt, read again: frames",
           "beyond-readings": "not read, beyond both neighbours: frames",
           "held-readings": "not read, held between neighbours: frames",
           "pair": "joints too near, between them", "symmetry": "hull taken as alike on both sides, by",
           "lone-tick": "struck from one tick alone", "lone-mark": "struck from one mark alone",
           "stray-tick": "tick that no frame was struck from", "stray-mark": "mark that no frame was struck from",
           "no-partner": "nothing opposite on the other edge", "not-struck": "frame not struck",
           "in-pieces": "frame in pieces",
           "far-pair": "two marks of one frame apart", "odd-gap": "gap between frames",
           "numbers-left-free": "numbers left free between frames", "other-number": "number read otherwise",
           "trace-left-out": "trace left out, off the edge", "scatter": "marks scatter, honest errors",
           "overrun": "edge runs past its end", "one-edge-of-line": "one edge of the line was found",
           "another-boat": "another boat than the other planks'", "not-named": "not named",
           "reading-off": "reading off", "bevel-off": "bevel off", "passed-over": "readings passed over"}
_WHOLE = ("readings", "kinds", "verdicts")


def list_doubts(matter: PlankMatter) -> list[str]:
    """One line each, at most 80 characters, worst first: side and face that nobody gave, facts that fail, a missing saw
    line, marks, corners, and all other doubts."""
    plank = matter.plank
    found = ["NOBODY HAS SAID %s: TAKEN AS %s" % (word.upper(), getattr(plank, word).upper())
             for word in plank.assumed]
    if found:
        found.append("SAY IT IN %s BEFORE CUTTING" % FAIR.capitals)
    facts = [fact for some in matter.told for fact in some.facts]
    found += [tell_fact(fact) for fact in facts if fact.verdict == "fails"]
    if matter.saw is None:
        found.append("THE SOLID LINE IS NET: NO ALLOWANCE WAS MADE, NOT EVEN FOR THE SAW")
    found += _list_marks(plank)
    told = [tell_fact(fact) for fact in facts if fact.verdict == "doubt"]
    keys = {fact.key for fact in facts if fact.verdict in ("doubt", "fails")}
    findings = [*matter.findings, *(one for some in matter.told for one in some.findings)]
    told += [tell_fact(one) for one in findings if one.verdict == "doubt" and one.key and one.key not in keys
             and not is_told_of_plank(plank, one) and not keys & set(SAID_BY_FACTS.get(one.key, ()))]
    return list(dict.fromkeys(found + told))


def _list_marks(plank) -> Iterator[str]:
    marks = sorted((m for m in plank.marks if m.verdict != "used"), key=lambda m: -abs(m.residual_mm))
    for mark in marks:
        yield "MARK %s%s %.1f MM OFF, %s: MEASURE IT AGAIN" % (
            mark.edge.upper(), " " + mark.station.upper() if mark.station else "", abs(mark.residual_mm),
            "LEFT OUT" if mark.verdict == "left-out" else "KEPT")
    guesses = [(one.band_mm, name, one) for name, edge in plank.edges.items() for one in edge.guesses]
    for _, name, one in sorted(guesses, key=lambda row: -row[0]):
        yield "CORNER %s %s GUESSED %.0f MM PAST THE LAST MARK, WITHIN %.1f MM" % (
            name.upper(), one.end.upper(), one.beyond_mm, one.band_mm)


def tell_fact(fact: Fact | Finding) -> str:
    """A fact in one line, from its data: what, how much, limit, place. Where the line is too long, the last of these
    are left out."""
    brief = getattr(fact, "brief", "")
    if brief and len(brief) <= _LONGEST:
        return brief.upper()
    place = getattr(fact, "place", None)
    station, edge = (place.station, place.edge) if place is not None else (getattr(fact, "station", ""),
                                                                         getattr(fact, "edge", ""))
    about = getattr(fact, "about", "")
    parts = [_CALLED.get(fact.key, fact.key.replace("-", " "))]
    if fact.unit in _WHOLE and about:
        parts, about = [parts[0] + " " + about.replace("; ", ", ")], ""
    elif fact.number is not None:
        parts[0] += " " + _spell(fact.number, fact.unit)
    if fact.limit is not None:
        parts.append("limit %s" % _spell(fact.limit, fact.unit))
    if edge:
        parts.append("%s %s" % (edge, "edge" if edge in ("upper", "lower") else "end"))
    if station:
        parts.append("frame %s" % station)
    if about:
        parts.append(about.replace("; ", ", "))
    while len(", ".join(parts)) > _LONGEST and len(parts) > 1:
        parts.pop()
    return ", ".join(parts).upper()[:_LONGEST]


def _spell(value, unit):
    if unit == "mm":
        return format_mm(value)
    if unit in _WHOLE:
        return "%d %s" % (value, unit)
    return ("%s %s" % ("%d" % value if float(value).is_integer() else "%.1f" % value, unit)).strip()
