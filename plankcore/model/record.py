"""The nouns of the record that is filed with the boat: figures as they are printed, offsets, proofs, and the rest in
words; mm.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Mapping

    from .drawing import Fact, SheetLine, SheetText
    from .plank import Finding

__all__ = [
    "EndRow",
    "Figure",
    "Heading",
    "MarkRow",
    "OffsetRow",
    "OffsetTable",
    "Proof",
    "Record",
    "Sketch",
    "StationRow",
    "ToldLayer",
]


@dataclass(frozen=True)
class Figure:
    """A number as it is printed: its text, and the same value in mm, with the same rounding."""

    words: str
    value_mm: float


@dataclass(frozen=True)
class OffsetRow:
    """One ordinate: its distance along the baseline, and the height of each edge there, square to the baseline.

    kind : 'corner', 'station' or 'between'. upper, lower : Figure, positive upwards, or None where the ordinate is not
    used for that edge.
    batten : False where it is too near another one for a batten to be sprung through both. end : 'fore' or 'aft' of a
    corner. frame : the label of the frame it is at, '' where it is at none.
    """

    label: str
    kind: str
    along: Figure
    upper: Figure | None = None
    lower: Figure | None = None
    batten: bool = True
    end: str = ""
    frame: str = ""


@dataclass(frozen=True)
class EndRow:
    """A point of an end: distance from the upper corner along the straight line to the lower one, and distance outside
    that line (Figures)."""

    end: str
    down: Figure
    out: Figure


@dataclass(frozen=True)
class OffsetTable:
    """The offsets in one kind of figures, complete in itself.

    figures : 'mm' or 'inches'. rounding, fine_rounding : in words, for the table and for corners and ends. half_mm :
    largest rounding error of an offset.
    ends : 'fore' and 'aft' to EndRows, empty where the end is straight. reached_mm : how far a batten through the
    figures runs from the edge at most. limit_mm : how far it may. lowest_mm, highest_mm : of all offsets.
    """

    figures: str
    rounding: str
    fine_rounding: str
    half_mm: float
    rows: tuple[OffsetRow, ...]
    ends: Mapping[str, tuple[EndRow, ...]]
    reached_mm: float
    limit_mm: float
    lowest_mm: float
    highest_mm: float


@dataclass(frozen=True)
class Proof:
    """A length to measure on the struck plank. edge : the edge that it is the length of, '' for other lengths."""

    name: str
    length_mm: float
    words: str
    edge: str = ""


@dataclass(frozen=True)
class StationRow:
    """One frame: drawn width, widths of both faces, bevels (> 0 where the outside face is wider), hollow, thickness,
    residuals of its marks; None where not known.

    bevels_known : edge to where its bevel comes from: 'read', 'from the frames on both sides', 'as at the nearest frame
    read', or, where none was given at all, 'radial' or 'square'.
    hollowed : 'inside' or 'outside', the face that hollow_mm is planed out of. saw_mm : {'upper', 'lower'} to the
    distance of the saw line outside the net line, at that end of the frame's line.
    words : the printed text of each number, by its name.
    """

    label: str
    along_mm: float
    inside_mm: float | None = None
    outside_mm: float | None = None
    bevels_deg: Mapping[str, float] | None = None
    hollow_mm: float | None = None
    thickness_mm: float | None = None
    residuals_mm: Mapping[str, float] | None = None
    bevels_known: Mapping[str, str] | None = None
    hollowed: str = ""
    saw_mm: Mapping[str, float] | None = None
    words: Mapping[str, str] | None = None


@dataclass(frozen=True)
class MarkRow:
    """A mark as it was measured: edge, frame, place along and square to the baseline, honest error, distance from the
    fair edge, verdict, and whether it is the worst of all."""

    edge: str
    station: str
    along_mm: float
    up_mm: float
    error_mm: float
    residual_mm: float
    verdict: str
    worst: bool


@dataclass(frozen=True, eq=False, repr=False)
class Sketch:
    """The plank drawn small: SheetLines and SheetTexts in mm on paper, and the scale, 1 to `ratio`, in words."""

    width_mm: float
    height_mm: float
    ratio: float
    scale: str
    lines: tuple[SheetLine, ...]
    texts: tuple[SheetText, ...]


@dataclass(frozen=True)
class Heading:
    """One heading of the record with its contents: lines of text, and optionally a table (headings, rows of text)."""

    heading: str
    rows: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    cells: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class ToldLayer:
    """What one action found on a plank.

    heading : of its part of the record, '' where it has none. action : its title. facts : None where the action has not
    been run. findings : those lettered on its layer.
    """

    heading: str
    action: str
    facts: tuple[Fact, ...] | None = None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Record:
    """Everything that the record says about one plank.

    facts : (name, text), the text '' where it is to be filled in by hand. steps : how to strike the plank. key : how to
    read the figures. tables : OffsetTable.
    saw : Proofs for the saw line's distance outside the net line, at places away from the frames; empty without a saw
    line. count : a sentence on how much is in doubt. blanks : what is filled in by hand when the plank is hung.
    """

    title: str
    facts: tuple[tuple[str, ...], ...]
    sketch: Sketch
    steps: tuple[str, ...]
    key: tuple[str, ...]
    tables: tuple[OffsetTable, ...]
    proofs: tuple[Proof, ...]
    stations: tuple[StationRow, ...]
    marks: tuple[MarkRow, ...]
    sections: tuple[Heading, ...]
    includes: tuple[str, ...]
    doubts: tuple[str, ...]
    cautions: tuple[str, ...]
    saw: tuple[Proof, ...] = ()
    count: str = ""
    blanks: tuple[Heading, ...] = ()
