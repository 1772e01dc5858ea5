"""The nouns of a scan before it is a pattern: controls, pieces, and what was read of its shapes; immutable, in mm on
the page.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .plank import Mark, freeze

if TYPE_CHECKING:
    from typing import Any

    from ..geometry.arrays import Points
    from .drawing import Fact
    from .plank import Finding

__all__ = [
    "ControlLength",
    "ControlPoint",
    "ControlRectangle",
    "MarkReport",
    "Misfit",
    "ReadMark",
    "ScanPiece",
    "Unread",
]


@dataclass(frozen=True)
class ReadMark:
    """A mark read from traced shapes: the Mark, the kind of shape, its unit direction outboard, notes, the shapes'
    labels."""

    mark: Mark
    kind: str
    outboard: tuple[float, ...]
    notes: tuple[str, ...] = ()
    shapes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Unread:
    """A traced shape that was left out: its label, the reason in words, its place (x, y) in mm; minor where it is
    clearly not a mark (a speck, a letter).

    key, numbers : the reason as data; shapes that share both are listed together.
    """

    label: str
    reason: str
    where: tuple[float, ...]
    minor: bool = False
    key: str = ""
    numbers: tuple[float | str, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class MarkReport:
    """What was read (tuple of ReadMark, edge by edge), what was not (tuple of Unread), and what was noticed (tuple of
    Finding). facts : all of it, for code. rows : the same as sentences, to be lettered below the marks."""

    marks: tuple[ReadMark, ...]
    unread: tuple[Unread, ...]
    findings: tuple[Finding, ...] = ()
    rows: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = ()


@dataclass(frozen=True)
class ControlPoint:
    """A point of a scan: label, its place (x, y) on the page, its true place or None, its own standard error or 0 for
    the one stated for all.
    """

    label: str
    at: tuple[float, ...]
    true: tuple[float, ...] | None = None
    error_mm: float = 0.0


@dataclass(frozen=True)
class ControlLength:
    """A drawn line, ends ((x, y), (x, y)), whose true length is known; error_mm as in ControlPoint."""

    label: str
    ends: tuple[Any, ...]
    length_mm: float
    error_mm: float = 0.0


@dataclass(frozen=True)
class ControlRectangle:
    """Four corners (x, y) on the page, clockwise as seen there, of a true rectangle: sides_mm from the first corner to
    the second, and on to the third.
    """

    label: str
    corners: tuple[tuple[float, ...], ...]
    sides_mm: tuple[float, ...]
    error_mm: float = 0.0


@dataclass(frozen=True, eq=False, repr=False)
class ScanPiece:
    """One piece of artwork: its name, labelled points, the far ends of all of it (k, 2), and the kind of map that trued
    it up, or ''.
    """

    label: str
    points: tuple[ControlPoint, ...]
    reach: Points
    map: str = ""

    def __post_init__(self):
        object.__setattr__(self, "reach", freeze(self.reach, columns=2))


@dataclass(frozen=True)
class Misfit:
    """The residual (dx, dy) of a point at its fitted place `at`, and the predicted standard error of the fit there."""

    label: str
    at: tuple[float, ...]
    off: tuple[Any, ...]
    error_mm: float
    verdict: str = "used"
