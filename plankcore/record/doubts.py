"""What the record tells as doubts: those of the plank itself, and those that the actions left on their layers, each
once; and sentences that were made for the pen, in the case in which they are read.
"""
from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

from ..actions import FAIR
from ..model.drawing import COUNTS, SAID_BY_FACTS, is_told_of_plank
from ..units import format_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.drawing import Fact, Station
    from ..model.plank import Plank
    from ..model.record import OffsetTable, ToldLayer
    from .words import Measure

__all__ = ["is_doubt", "list_doubts", "list_layer_doubts", "settle_case"]

# always written with capitals; phrases must precede the words that they are made of
_PROPER = (
    "FPL-GTR-190", "TB 55-1900-201-45/1", "US Army", "USDA Wood Handbook", "Wood Handbook", "NHLA", "SM", "FPL", "EN",
    "ISO", "ASTM", "USDA", "US", "Lloyd's Register", "Lloyd's", "Great Lakes", "J.-B. Souppez", "WoodenBoat",
    "Traditional Small Craft Association", "Choptank Boatworks", "Herreshoff", "Nevins",
    "Screw Sizes for Planking and Deck Fastenings", "Nail Size Chart", "R. M. Steward", "Steward",
    "Boatbuilding Manual", "E. F. Knight",
    "Small-Boat Sailing", "Small Boat Sailing", "Gougeon", "Douglas-fir", "Sitka", "Spanish-cedar", "Port-Orford-cedar",
    "Atlantic white-cedar", "African", "Alaska", "Honduras", "Rules 1891", "Section", "Table", "Tables", "Equation",
    "FWD",
)
# after these words a single letter is a name, not the article
_NAMED_BY = ("BUTT", "SCARF", "PART", "PARA", "JOINT", "CROSS", "BOARD", "STRAKE", "FRAME", "STATION", "BAY", "AND",
             "TO", "OR")
_UNITS = {"MM", "CM", "M", "FT", "IN", "BF", "KG", "N", "DEG", "X"}
_WORD = re.compile(r"[^\W_]+(?:['\u2019][^\W_]+)*")
_KEPT = 0xE000            # first of the private-use characters that stand for names while the rest is converted


def settle_case(text: str, names: Sequence[str] = ()) -> str:
    """A sentence in capitals converted to ordinary case: 'STRAKE 4A BUTT 23-24: 2 STRAKES BETWEEN.' becomes 'Strake 4a
    butt 23-24: 2 strakes between.' if a strake is called 4a.

    Parameters
    ----------
    text : str
        A text that is not all in capitals only has its first letter made a capital.
    names : sequence of str
        Names of boat, strake, frames, boards and files as they are written.
    """
    text = text.strip()
    if not text.isupper():
        return text[:1].upper() + text[1:]
    kept: list[str] = []

    def keep(match: re.Match[str], name: str) -> str:
        kept.append(name)
        return chr(_KEPT + len(kept) - 1)
    wanted = {n.strip() for n in (*names, *_PROPER) if len(n.strip()) > 1 and any(c.isalpha() for c in n)}
    for name in sorted(wanted, key=lambda n: (-len(n), n)):
        text = re.sub(r"(?<!\w)%s(?!\w)" % re.escape(name.upper()), functools.partial(keep, name=name), text)
    pieces, at, before = [], 0, ""
    for match in _WORD.finditer(text):
        pieces += [text[at:match.start()], _settle_word(match.group(), before, text[match.end():])]
        at, before = match.end(), match.group()
    lower = "".join(pieces) + text[at:]
    for k in range(len(kept) - 1, -1, -1):
        lower = lower.replace(chr(_KEPT + k), kept[k])
    return re.sub(r"(^|[^.\W]{2}[.!?]\s+|[)%\d][.!?]\s+)([^\W\d_])", lambda m: m.group(1) + m.group(2).upper(), lower)


def _settle_word(word, before, after):
    """One word; before : the word ahead of it, after : the text behind it."""
    if word in _UNITS and (before[-1:].isdigit() or len(word) > 1):
        return word.lower()
    if any(c.isdigit() for c in word):
        return word.lower() if re.match(r"^(M[23]|\d+(MM|D))$", word) else word
    if len(word) == 1:
        article = word == "A" and before not in _NAMED_BY and after[:1] == " "
        return word.lower() if article or word == "A" and not before and after[:1] == " " else word
    return word.lower()


def is_doubt(fact: Fact, layer: ToldLayer) -> bool:
    """Whether a fact is listed among the doubts, and so left out of its action's part of the record."""
    told = {one.key for one in layer.findings}
    return fact.verdict in ("doubt", "fails") and bool(fact.words or fact.brief) and not (
        told & set(COUNTS.get(fact.key, ())))


def list_layer_doubts(plank: Plank, layers: Sequence[ToldLayer]) -> list[str]:
    """Doubts that the actions left: findings and facts with doubts or failures, in the order of work."""
    found = []
    for layer in layers:
        facts = [fact for fact in layer.facts or () if is_doubt(fact, layer)]
        keys = {fact.key for fact in facts}
        found += [fact.words or fact.brief for fact in facts]
        for one in layer.findings:
            if one.verdict == "doubt" and not keys & set(SAID_BY_FACTS.get(one.key, ())) and not (
                    is_told_of_plank(plank, one)):
                found.append(one.text)
    return found


def list_doubts(plank: Plank, *, missed: Sequence[tuple[str, str, tuple[float, float]]],
                tables: Sequence[OffsetTable], board: Board | None, stations: Sequence[Station],
                measure: Measure) -> list[str]:
    """Doubts about the plank itself. missed : (frame's label, end of the plank, (along, up) from the baseline in mm)
    for each frame line that meets an end of the plank instead of an edge."""
    assumed = ", ".join("%s %s" % (word, getattr(plank, word)) for word in plank.assumed)
    found = ["Nobody has said %s: taken as usual. Say it in %s." % (assumed, FAIR.title)] * bool(assumed)
    for mark in plank.marks:
        if mark.verdict != "used":
            found.append("Doubtful mark, %s: %s edge%s, %s off. Measure it again on the boat."
                         % ("left out" if mark.verdict == "left-out" else "kept", mark.edge, ", frame %s"
                            % mark.station if mark.station else "", format_mm(abs(plank.measure_outside_mm(mark)))))
    for name, edge in plank.edges.items():
        found += ["Guessed corner: %s edge at the %s end, %s past the last mark, known there to %s (one standard "
                  "error). Set one more mark there." % (name, one.end, format_mm(one.beyond_mm), format_mm(one.band_mm))
                  for one in edge.guesses]
    for table in tables:
        if table.reached_mm > table.limit_mm:
            found.append("A batten through the figures in %s comes no nearer to the edges than %.1f mm (%.1f mm is "
                         "aimed at): use finer figures." % (table.figures, table.reached_mm, table.limit_mm))
    for label, at_end, (along, up) in missed:
        found.append("Frame %s meets the %s end, %s along from the fore mark and %s %s from the baseline: it has no "
                     "row in the offsets there."
                     % (label, at_end, measure.write(along) if along >= 0 else measure.write(-along) + " forward",
                        measure.write(abs(up)), "up" if up >= 0 else "down"))
    if not stations:
        found.append("Frame stations are not struck: widths and bevels cannot be given by frame.")
    for station in stations:
        if not station.is_whole():
            found.append("Frame %s meets the %s end: its width is from the %s to the %s%s." % (
                station.label, next(e for e in station.ends if e in ("fore", "aft")),
                *("%s %s" % (e, "edge" if e in ("upper", "lower") else "end") for e in station.ends),
                "" if set(station.ends) & {"upper", "lower"} else "; it has no offsets"))
    if board is not None:
        found += [f.text for f in board.findings]
    return found
