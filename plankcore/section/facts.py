"""What Hollow and Bevels found, as facts with the sentences of words.py."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.drawing import Fact, Place
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from .board import BoardSettings
    from .faces import BendReport
    from .fair_readings import FairReadings
    from .readings import Crossing

__all__ = ["list_facts"]

_LEAST_PPM = 5.0          # smaller strains, under 0.005 mm per metre, are not reported
_LEAST_MM = 0.05          # smaller lengths are not reported
_BENDS = {"cold": "holds", "doubtful": "doubt", "steam": "doubt"}


def list_facts(board: Board, *, bend: BendReport, fair: FairReadings, settings: BoardSettings,
               size_mm: float | None, crossings: Sequence[Crossing] = ()) -> tuple[Fact, ...]:
    """Facts of a Board, in the order in which the sheet prints them.

    Parameters
    ----------
    board : Board
        Complete except for its facts.
    bend : BendReport
    fair : FairReadings
    settings : BoardSettings
    size_mm : float or None
        Thickness of the stock size named.
    crossings : sequence of Crossing
        To name frames between readings.

    Returns
    -------
    tuple of Fact
        DEVELOPERS.md, "Facts", lists the keys.
    """
    found = [Fact("faces", words.tell_faces(board.face, board.includes), about="; ".join(board.includes)),
             Fact("bevel-sense", words.BEVEL_SENSE)]
    if "hollow" in board.includes:
        found.append(Fact("widths", words.tell_widths(settings.widths), about=settings.widths))
    found += [*_list_readings(board, fair, crossings), *_list_edges(board, settings),
              *_list_stock(board, settings, size_mm), *_list_bend(board, bend, settings),
              Fact("end-bevels", words.tell_ends(settings)), _judge_corners(board)]
    return tuple(_in_capitals(fact) for fact in found if fact.words or fact.number is not None)


def _in_capitals(fact):
    return Fact(**{**vars(fact), "words": fact.words.upper()})


def _list_readings(board, fair, crossings):
    """Facts on doubtful readings, and on what was not read."""
    for left_out in (False, True):
        some = [d for d in fair.doubts if d.left_out is left_out]
        if some:
            yield Fact("doubtful-readings", words.tell_doubtful(some, left_out=left_out), verdict="doubt",
                       number=len(some), unit="readings", about="; ".join(d.label for d in some))
    yield Fact("not-read", words.tell_taken(board, fair))
    kept = fair.list_kept()
    if kept:
        yield Fact("kept-as-read", words.tell_kept(kept), number=len(kept), unit="kinds",
                   about="; ".join(kind for kind, _ in kept))
    between = fair.list_between(crossings)
    beyond = [row for row in between if row[2]]
    held = [row for row in between if row[4] and not row[2]]
    if beyond:
        yield Fact("beyond-readings", words.tell_beyond(beyond, crossings), verdict="doubt", number=len(beyond),
                   unit="readings", about="; ".join(row[0] for row in beyond))
    if held:
        yield Fact("held-readings", words.tell_held(held), verdict="doubt", number=len(held), unit="readings",
                   about="; ".join(row[0] for row in held))


def _list_edges(board, settings):
    yield Fact("changes-sense", words.tell_changes(board))
    yield Fact("seam", words.tell_seam(board, settings), number=board.seam.gap_mm, unit="mm", source=board.seam.source,
               about=board.seam.share)


def _list_stock(board, settings, size_mm):
    """Facts on the stock to buy, and for stock at hand on the thickness that it leaves."""
    yield Fact("stock", words.tell_stock(board, settings, size_mm), number=board.stock_mm, unit="mm",
               about=board.stock_name)
    if settings.stock_mm:
        least = min(board.sections, key=lambda s: s.thickness_mm)
        holds = least.thickness_mm >= board.thickness_mm - _LEAST_MM
        yield Fact("finished", words.tell_finished(settings.stock_mm, board.thickness_mm, least, holds=holds),
                   verdict="holds" if holds else "fails", number=least.thickness_mm, unit="mm",
                   limit=board.thickness_mm, place=Place(station=least.station))


def _list_bend(board, bend, settings):
    """Facts on the bend: angle, change of length, ends and edges, and whether it can be bent cold."""
    if not bend.known:
        yield Fact("bend", words.tell_bend_unknown(is_wound=bend.is_wound), verdict="not judged")
        return
    yield Fact("bend", words.tell_bend(bend.turn_deg, bend.added_mm, settings.pattern_mm), number=bend.turn_deg,
               unit="deg")
    yield Fact("length-in-bending", number=bend.added_mm, unit="mm")
    differ = board.thickness_mm * np.radians(bend.turn_deg)
    if abs(differ) > _LEAST_MM:
        yield Fact("lean-of-ends", words.tell_lean(differ, bend), number=float(differ), unit="mm")
    ppm = 1e6 * bend.worst_strain
    flat = abs(ppm) < _LEAST_PPM
    yield Fact("strain", words.NO_STRAIN if flat else words.tell_strain(ppm, bend.strain_mm),
               verdict="holds" if flat else "doubt", number=ppm / 1000, unit="mm per m")
    advice = bend.advice
    yield Fact("bending", words.tell_advice(advice, is_wound=bend.is_wound), verdict=_BENDS[advice.verdict],
               number=None if np.isinf(advice.radius_by_thickness) else advice.radius_by_thickness,
               unit="thicknesses", about=advice.verdict)


def _judge_corners(board):
    most = max(board.sections, key=lambda s: s.rounding_mm)
    return Fact("rounded-corners", words.tell_corners(board), number=most.rounding_mm, unit="mm",
                place=Place(station=most.station))
