"""The saw line: the net outline, or both faces of the board, moved outward edge by edge by the wood that is left for
saw, plane and fitting.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.outline import OffsetFailure, offset_outline
from ..geometry.varied_offset import offset_outline_varied
from ..model.drawing import SawLine
from ..model.facts import Fact, Place
from ..model.plank import Finding
from ..model.ranges import refuse_outside
from . import words
from .outline import LOOP, SEEN_MM, list_stations, measure_planing, outline_board
from .swelling import LIVES, SwellingSettings, find_swelling, make_room

if TYPE_CHECKING:
    from typing import Any, Mapping

    from ..model.board import Board
    from ..model.plank import Plank

__all__ = ["LIVES", "MOST_MM", "SwellingSettings", "add_allowances"]

MOST_MM = 300.0
# where the drawn line is nearer than this to the saw line, the saw takes it away. Common practice, no source
LEAST_CLEAR_MM = 1.0
SEEN_ROOM_MM = 0.05       # smaller figures would print as 0.0 mm
_PLACES = 200             # sampled along an edge to find the largest room
_COUNTED = ("bevel", "hollow", "seam", "bend", "swelling")


def add_allowances(plank: Plank, *, added_mm: Mapping[str, float], board: Board | None = None,
                   swelling: SwellingSettings = SwellingSettings()) -> SawLine:
    """Move each edge outward by its own allowance, corners mitred.

    Parameters
    ----------
    plank : Plank
    added_mm : dict
        Edge name to mm, 0 or more: small on the long edges leaves little to plane, large wastes stock; on the
        ends it is wood to fit the hood end and the butt with. Common practice, no source: 1/16 to 1/8 in an edge,
        1 to 2 in at an end until the dry fit.
    board : Board, optional
        With it the line is sawn square through the board and holds both faces, each with the allowance outside it;
        without, the line follows the net outline of the drawn face.
    swelling : SwellingSettings
        With a species, the result says how the wood swells afloat. If room for it is asked for, half of it is left off
        each long edge; only then can the saw line run inside a face.

    Returns
    -------
    SawLine

    Raises
    ------
    SettingError
        If an allowance is negative or over MOST_MM, or the swelling settings cannot be used.
    PatternError
        If the outline cannot be offset so far; the message gives the place.
    """
    for name, value in added_mm.items():
        refuse_outside(value, 0, MOST_MM, problem="An allowance of %%g mm on the %s edge cannot be used." % name,
                       remedy="Give 0 to %d mm; an allowance is wood left on." % MOST_MM,
                       field="Allowance, %s" % name)
    widest = plank.measure_width_mm()
    if board is not None:
        widest = max([widest] + [max(s.inside_mm, s.outside_mm) for s in board.sections])
    taken = find_swelling(swelling, widest_mm=widest, seam=board.seam if board is not None else None)
    # room is refused above where nobody says how the wood moves
    share = None if taken is None or not swelling.room else taken.share
    room = None if share is None else make_room(share, widest)
    try:
        if board is None and room is None:
            curves: Any = offset_outline(plank.outline(), [added_mm[n] for n in LOOP])
        else:
            distances = {name: _make_distance(added_mm[name], room if name in ("upper", "lower") else None)
                         for name in LOOP}
            if board is not None:
                curves = outline_board(board, distances)
            else:
                chain = plank.outline()
                curves = offset_outline_varied(chain, [partial(distances[n], c, chain) for n, c in zip(LOOP, chain)])
    except OffsetFailure as failure:
        raise PatternError("The plank cannot take these allowances: %s." % failure.reason,
                           "Give less there, or fair with a longer shortest wave.", failure.point) from None
    includes = tuple(w for w in _COUNTED if (w == "swelling" and room is not None)
                     or (board is not None and w in board.includes))
    left_off = _find_left_off(plank, board, added_mm, room) if room is not None else ()
    facts = _list_facts(plank, board, includes, left_off) + (list(taken.facts) if taken is not None else [])
    return SawLine(tuple(curves), dict(added_mm), facts=tuple(facts), includes=includes,
                   findings=(taken.findings if taken is not None else ())
                   + _warn_of_room(left_off, list_stations(board)),
                   lives=swelling.lives, afloat_percent=taken.afloat_percent if taken is not None else None)


def _make_distance(added_mm, room):
    if room is None:
        return lambda curve, chain, u: added_mm + 0.0 * u
    return lambda curve, chain, u: added_mm - room(curve, chain, u)


@dataclass(frozen=True)
class LeftOff:
    """What is left off a long edge for swelling. most_mm : the largest amount; along_mm and at_mm (x, y) : its place
    along the baseline and on the page. added_mm : the edge's allowance."""

    edge: str
    most_mm: float
    along_mm: float
    added_mm: float
    at_mm: tuple[float, ...]

    @property
    def inside_mm(self) -> float:
        """How far the saw line lies inside the drawn line, negative where it stays outside."""
        return self.most_mm - self.added_mm


def _find_left_off(plank, board, added_mm, room):
    """A LeftOff for each long edge."""
    start, along, _ = plank.find_axes()
    chains = [plank.outline()] if board is None else [list(board.drawn_face), list(board.other_face)]
    found = []
    for name in ("upper", "lower"):
        rows = []
        for chain in chains:
            curve = chain[LOOP.index(name)]
            u = np.linspace(0, len(curve.cubics), _PLACES + 1)
            rows += list(zip(room(curve, chain, u), curve.evaluate(u)))
        most, at = max(rows, key=lambda r: r[0])
        found.append(LeftOff(name, float(most), along_mm=float((at - start) @ along), added_mm=float(added_mm[name]),
                             at_mm=tuple(map(float, at))))
    return tuple(found)


def _list_facts(plank, board, includes, left_off):
    """Facts on the line: what it includes, the room for swelling, and what is planed off where."""
    on_board, stations = board is not None, list_stations(board)
    found = [Fact("saw-line", words.tell_saw_line(includes, on_board=on_board),
                  about="both faces" if on_board else "drawn face"),
             Fact("counted", words.tell_counted(includes, [w for w in _COUNTED if w not in includes]),
                  about="; ".join(includes))]
    if left_off:
        most = max(left_off, key=lambda one: one.most_mm)
        inner = max(left_off, key=lambda one: one.inside_mm)
        found += [Fact("swelling-room", words.tell_room(left_off, stations, on_board=on_board), number=most.most_mm,
                       unit="mm", place=Place("", most.edge, most.along_mm)),
                  Fact("inside-drawn-edge", words.tell_room_inside(left_off, stations, on_board=on_board,
                                                                   seen_mm=SEEN_ROOM_MM),
                       verdict="doubt" if -inner.inside_mm < LEAST_CLEAR_MM else "holds", number=inner.inside_mm,
                       unit="mm", limit=-LEAST_CLEAR_MM, place=Place("", inner.edge, inner.along_mm))]
    return found + [_tell_planing(one, stations) for one in (measure_planing(plank, board) if on_board else ())]


def _tell_planing(planing, stations):
    """The Fact of one edge: the most that comes off either face, 0 where it is square."""
    most = max(planing.cuts, key=lambda cut: cut.most_mm, default=None)
    return Fact("planed-off", words.tell_planing(planing, stations, seen_mm=SEEN_MM),
                number=most.most_mm if most else 0.0, unit="mm", about=most.face.lower() if most else "",
                place=Place("", planing.edge, float(most.along_mm) if most else None))


def _warn_of_room(left_off, stations):
    """Edges where the saw takes the drawn line away, or comes within LEAST_CLEAR_MM of it."""
    return tuple(Finding(words.warn_of_room(one, stations, seen_mm=SEEN_ROOM_MM, clear_mm=LEAST_CLEAR_MM), one.at_mm,
                         "little-room", number=-one.inside_mm, unit="mm", limit=LEAST_CLEAR_MM, edge=one.edge)
                 for one in left_off if -one.inside_mm < LEAST_CLEAR_MM)
