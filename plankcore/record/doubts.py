"""The record's list of doubts: those of the plank itself, and those that the actions left on their layers, each once.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..actions import FAIR
from ..model.facts import COUNTS, SAID_BY_FACTS, is_told_of_plank
from ..units import format_mm

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.drawing import Station
    from ..model.facts import Fact
    from ..model.plank import Plank
    from ..model.record import OffsetTable, ToldLayer
    from .words import Measure

__all__ = ["is_doubt", "list_doubts", "list_layer_doubts"]

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
