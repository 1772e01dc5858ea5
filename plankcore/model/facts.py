"""What an action found, as data: the only thing that one action may read of another's findings."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Iterable

    from .plank import Finding, Plank

__all__ = ["COUNTS", "SAID_BY_FACTS", "VERDICTS", "Fact", "Place", "find_facts", "is_told_of_plank",
           "list_words"]

VERDICTS = ("", "holds", "doubt", "fails", "not judged")
# findings (by key) that only repeat at their place what facts (by key) of the same layer say in full
SAID_BY_FACTS = {"joint-fails": ("pair", "joint"), "short-lengths": ("length",), "board-too-short": ("stock",),
                  "thin-stock": ("stock",), "no-board": ("board",), "grain": ("grain",),
                  "little-room": ("inside-drawn-edge",), "moisture-when-hung": ("moisture-when-hung",),
                  "metal": ("metal",)}
# facts that only count findings of the same layer; the findings say more
COUNTS = {"doubtful-readings": ("bevel-off", "reading-off"), "left-bare": ("too-few", "no-room", "uneven"),
           "fastenings-by-width": ("too-few", "count-by-width")}
# findings of the fairing that are told from the plank's own marks, corners and names
_OF_THE_PLANK = ("mark-off", "corner-guessed", "taken-as-usual")


@dataclass(frozen=True)
class Place:
    """The place on the plank that a fact is about: station, edge, distance aft of the fore end; '' and None where not
    given."""

    station: str = ""
    edge: str = ""
    along_mm: float | None = None


@dataclass(frozen=True)
class Fact:
    """One thing that an action found.

    key : what the fact is on: 'pair', 'stock', 'swelling', 'bow-to'. verdict : one of VERDICTS.
    number, limit : the value found and the one it is compared with, both in `unit` ('mm', 'deg', 'frame spaces'); None
    where there is none. source : who sets the limit.
    place : Place or None. about : the joints, parts, bays or boards concerned, separated by '; '.
    words : the sentence that sheet and record print, '' where they print none. brief : a short form of it, for a table.
    Both are made in the words.py of the operation and are for people: no code reads them.
    """

    key: str
    words: str = ""
    verdict: str = ""
    number: float | None = None
    unit: str = ""
    limit: float | None = None
    source: str = ""
    place: Place | None = None
    about: str = ""
    brief: str = ""


def list_words(facts: Iterable[Fact]) -> tuple[str, ...]:
    """The sentences of those facts that have one, in order, a tuple of str: what sheet and record print."""
    return tuple(fact.words for fact in facts if fact.words)


def find_facts(facts: Iterable[Fact], key: str, *verdicts: str) -> list[Fact]:
    """The facts with one key and one of these verdicts, or any verdict: a list of Fact."""
    return [fact for fact in facts if fact.key == key and (not verdicts or fact.verdict in verdicts)]


def is_told_of_plank(plank: Plank, finding: Finding) -> bool:
    """Whether a finding of the fairing is told from the plank itself: doubtful marks, guessed corners, assumed names.
    """
    if finding.key not in _OF_THE_PLANK:
        return False
    if finding.key == "mark-off":
        off = [m for m in plank.marks if m.verdict != "used"]
        return any((m.edge, m.station) == (finding.edge, finding.station) for m in off) or bool(off) and not (
            finding.edge or finding.station)
    if finding.key == "corner-guessed":
        guesses = {name for name, edge in plank.edges.items() if edge.guesses}
        return finding.edge in guesses or bool(guesses) and not finding.edge
    return bool(plank.assumed)
