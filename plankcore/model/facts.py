"""What an action found, as data: the only thing that one action may read of another's findings."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Iterable

__all__ = ["VERDICTS", "Fact", "Place", "find_facts", "list_words"]

VERDICTS = ("", "holds", "doubt", "fails", "not judged")


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
