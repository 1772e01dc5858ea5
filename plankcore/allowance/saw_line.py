"""The saw line: the net outline, or both faces of the board, moved outward edge by edge by the wood that is left for
saw, plane and fitting, square through the board; and what is planed off where.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..actions import SECTION
from ..errors import PatternError
from ..geometry.outline import OffsetFailure, measure_outline_area_mm2, meet_corners, offset_outline
from ..geometry.outward import join_outer, measure_aside_mm, offset_curve_varied, offset_outline_varied
from ..model.drawing import Fact, Place, SawLine
from ..model.plank import Finding
from ..model.typed import refuse_outside
from . import words
from .swelling import LIVES, SwellingSettings, find_swelling, make_room

if TYPE_CHECKING:
    from typing import Any, Callable, Mapping

    from ..geometry.curve import Curve
    from ..model.board import Board
    from ..model.plank import Plank

__all__ = [
    "LIVES",
    "LOOP",
    "MOST_MM",
    "SEEN_MM",
    "Cut",
    "Planing",
    "SwellingSettings",
    "add_allowances",
    "list_stations",
    "measure_planing",
    "outline_board",
]

LOOP = ("upper", "aft", "lower", "fore")      # the order of Plank.outline
SEEN_MM = 0.1            # differences smaller than this are not worth planing, and are ignored
_PER_PIECE = 16


def outline_board(board: Board, distances: Mapping[str, Callable[..., Any]]) -> tuple[Curve, ...]:
    """A closed chain of curves outside both faces: for each edge the outer line of the two, moved outward by its own
    distance.

    Parameters
    ----------
    board : Board
    distances : dict of str to callable
        Edge name to distance(curve, chain, u): mm outward at places u of that curve of the chain.

    Returns
    -------
    tuple of Curve
        In the order of Plank.outline.

    Raises
    ------
    OffsetFailure
        Where the shape cannot take it.
    PatternError
        If the two faces do not run the same way round.
    """
    chains = [list(board.drawn_face), list(board.other_face)]
    way = [1.0 if measure_outline_area_mm2(chain) > 0 else -1.0 for chain in chains]
    if way[0] != way[1]:
        raise PatternError("The two faces of the board do not run the same way round.", SECTION.again)
    left, moved, most = way[0], [], 1.0
    for chain in chains:
        row = []
        for name, curve in zip(LOOP, chain):
            def distance(u, curve=curve, chain=chain, name=name):
                return left * distances[name](curve, chain, u)
            most = max(most, float(np.abs(distance(np.linspace(0, len(curve.cubics), 33))).max()))
            row.append(offset_curve_varied(curve, distance))
        moved.append(row)
    # the two faces' corners lie as far apart as the bevels make them: run each edge on along its tangent, far enough to
    # meet the others
    apart = max(float(np.hypot(*(a.end - b.end))) for a, b in zip(*chains))
    reach = 12 * most + 4 * apart + 1.0
    outer = [join_outer(a.extend(reach), b.extend(reach), left=left) for a, b in zip(*moved)]
    # where two moved edges cross more than once, the crossing nearest the drawn face's corner is taken
    return tuple(meet_corners(chains[0], outer, reach_mm=1.0))


def list_stations(board: Board | None) -> list[tuple[str, float]]:
    """(label, distance along the baseline in mm) of each section of a board, from the fore end aft; empty without a
    board."""
    return sorted(((s.station.upper(), s.distance_mm) for s in board.sections),
                  key=lambda row: row[1]) if board is not None else []


@dataclass(frozen=True)
class Cut:
    """Wood that comes off one face of an edge: 'INSIDE' or 'OUTSIDE', the least and the most of it, and where along the
    baseline the most is.
    """

    face: str
    least_mm: float
    most_mm: float
    along_mm: float


@dataclass(frozen=True)
class Planing:
    """What is planed off one edge of a board that was sawn square: a Cut for each face that loses wood, and the places
    along the baseline where the wood to come off changes from one face to the other."""

    edge: str
    cuts: tuple[Cut, ...]
    changes_mm: tuple[float, ...]

    @property
    def is_long(self) -> bool:
        """Whether it is a long edge, not an end."""
        return self.edge in ("upper", "lower")


def measure_planing(plank: Plank, board: Board) -> list[Planing]:
    """What has to be planed off which face, edge by edge, once the board is sawn square to a line outside both faces.

    Parameters
    ----------
    plank : Plank
        Gives the baseline along which places are measured.
    board : Board

    Returns
    -------
    list of Planing
        In the order of LOOP, without the allowance.
    """
    left = 1.0 if measure_outline_area_mm2(board.drawn_face) > 0 else -1.0
    drawn = {"inboard": "INSIDE", "outboard": "OUTSIDE"}[board.face]
    other = {"INSIDE": "OUTSIDE", "OUTSIDE": "INSIDE"}[drawn]
    start, along, _ = plank.find_axes()
    found = []
    for name, curve, over in zip(LOOP, board.drawn_face, board.other_face):
        count = len(curve.cubics)
        u = np.linspace(0, count, max(_PER_PIECE * count, 200) + 1)
        # near a corner the edge of one face may lie opposite the end of the other: such places are NaN, and are left
        # out
        aside = left * measure_aside_mm(curve, over.extend(1.0), u)[0]
        far = (curve.evaluate(u) - start) @ along
        if name == "lower":
            u, aside, far = u[::-1], aside[::-1], far[::-1]
        keep = np.isfinite(aside)
        found.append(_measure_edge(name, aside[keep], far=far[keep], drawn=drawn, other=other))
    return found


def _measure_edge(name, aside, far, drawn, other):
    """A Planing from `aside`, how far the other face reaches beyond the drawn one: where it is positive the wood to
    come off is on the drawn face."""
    cuts = []
    for sign, face in ((1, drawn), (-1, other)):
        if len(aside) and (sign * aside).max() >= SEEN_MM:
            worst = int(np.argmax(sign * aside))
            cuts.append(Cut(face, float((sign * aside).min()), float(sign * aside[worst]), far[worst]))
    told = np.flatnonzero(np.abs(aside) >= SEEN_MM)
    changes = [(far[told[k]] + far[told[k + 1]]) / 2 for k in np.flatnonzero(np.diff(np.sign(aside[told])))]
    return Planing(name, tuple(cuts), tuple(changes))


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
