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
    """Where on the plank a fact holds: at which station, along which edge, how far aft of the fore end; '' and None are
    not told.
    """

    station: str = ""
    edge: str = ""
    along_mm: float | None = None


@dataclass(frozen=True)
class Fact:
    """One thing that an action found.

    key : what was looked at: 'pair', 'stock', 'swelling', 'bow-to'. verdict : one of VERDICTS.
    number, limit : what was found and what it is held against, both in `unit` ('mm', 'deg', 'frame spaces'); None where
    there is none. source : who sets the limit.
    place : Place or None. about : the joints, parts, bays or boards meant, divided by '; '.
    words : the sentence that sheet and record print, '' where they print none. brief : the same said short, for a
    table. Both are made in the words.py of the operation and are for people: no code reads them.
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
    """The sentences of facts that have one, a tuple of str, in their order: what sheet and record print."""
    return tuple(fact.words for fact in facts if fact.words)


def find_facts(facts: Iterable[Fact], key: str, *verdicts: str) -> list[Fact]:
    """Those of one key, with one of these verdicts or with any: a list of Fact."""
    return [fact for fact in facts if fact.key == key and (not verdicts or fact.verdict in verdicts)]
