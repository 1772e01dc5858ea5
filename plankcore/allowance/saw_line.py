"""The saw line: the net outline, or both faces of the board, moved outward edge by edge by the wood that is left for
saw, plane and fitting.
"""
from __future__ import annotations

import numpy as np

from ..errors import PatternError, SettingError
from ..geometry.outline import OffsetFailure, offset_outline
from ..geometry.varied_offset import offset_outline_varied
from ..model.drawing import SawLine
from ..model.plank import Finding
from ..units import format_mm
from .outline import LOOP, describe_planing, list_stations, outline_board, tell_place
from .swelling import LIVES, SwellingSettings, find_swelling, make_room

__all__ = ["LIVES", "MOST_MM", "SwellingSettings", "add_allowances"]

MOST_MM = 300.0
LEAST_CLEAR_MM = 1.0      # a line so near the saw is not there to plane to. Common practice, no source
_SEEN_MM = 0.1            # less than this is not sawn
_PLACES = 200             # of an edge, looked at for its largest room
_COUNTED = ("bevel", "hollow", "seam", "bend", "swelling")
_WORDS = {"bend": "LENGTH IN BENDING"}


def add_allowances(plank, *, added_mm, board=None, swelling=SwellingSettings()):
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
        With a species, what the wood does afloat is told; room asked, half of it is left off each long edge, the only
        way that the line can come inside a face.

    Returns
    -------
    SawLine

    Raises
    ------
    SettingError
        If an allowance is negative or beyond MOST_MM, or the swelling asked for cannot be.
    PatternError
        If the shape cannot take it, with the place.
    """
    for name, value in added_mm.items():
        if not 0 <= value <= MOST_MM:
            raise SettingError("An allowance of %g mm on the %s edge cannot be used." % (value, name),
                               "Give 0 to %d mm; an allowance is wood left on." % MOST_MM, "Allowance, %s" % name)
    widest = plank.measure_width_mm()
    if board is not None:
        widest = max([widest] + [max(s.inside_mm, s.outside_mm) for s in board.sections])
    taken = find_swelling(swelling, widest_mm=widest, seam=board.seam if board is not None else None)
    room = make_room(taken.share, widest) if taken is not None and swelling.room else None
    try:
        if board is None and room is None:
            curves = offset_outline(plank.outline(), [added_mm[n] for n in LOOP])
        else:
            distances = {name: _make_distance(added_mm[name], room if name in ("upper", "lower") else None)
                         for name in LOOP}
            if board is not None:
                curves = outline_board(board, distances)
            else:
                chain = plank.outline()
                curves = offset_outline_varied(chain, [lambda u, n=n,
                                                       c=c: distances[n](c, chain, u) for n, c in zip(LOOP, chain)])
    except OffsetFailure as failure:
        raise PatternError("The plank cannot take these allowances: %s." % failure.reason,
                           "Give less there, or fair with a longer shortest wave.", failure.point) from None
    includes = tuple(w for w in _COUNTED if (w == "swelling" and room is not None)
                     or (board is not None and w in board.includes))
    left_off = _find_left_off(plank, board, added_mm, room) if room is not None else ()
    rows = _say_what_is_counted(includes, board) + _tell_room(left_off, board)
    if board is not None:
        rows += describe_planing(plank, board)
    if taken is not None:
        rows += list(taken.rows)
    return SawLine(tuple(curves), dict(added_mm), tuple(rows), includes,
                   (taken.findings if taken is not None else ()) + _warn_of_room(left_off),
                   swelling.lives, taken.afloat_percent if taken is not None else None)


def _make_distance(added_mm, room):
    if room is None:
        return lambda curve, chain, u: added_mm + 0.0 * u
    return lambda curve, chain, u: added_mm - room(curve, chain, u)


def _say_what_is_counted(includes, board):
    def spell(words):
        return ", ".join(_WORDS.get(w, w.upper()) for w in words)
    missing = [w for w in _COUNTED if w not in includes]
    if board is None:
        first = "SAW LINE OF THE DRAWN FACE ALONE, AS IF EVERY EDGE WERE SQUARE."
    else:
        lies = ("ROOM FOR SWELLING TAKEN OFF BOTH FACES, THE ALLOWANCE OUTSIDE WHAT IS LEFT" if "swelling" in includes
                else "OUTSIDE BOTH FACES")
        first = "SAW LINE SQUARE THROUGH THE BOARD, %s. PLANE TO THE BEVELS AFTER SAWING." % lies
    counted = "COUNTED: WOOD FOR SAW AND ENDS%s." % (", " + spell(includes) if includes else "")
    return [first, counted + (" NOT COUNTED: %s." % spell(missing) if missing else "")]


def _find_left_off(plank, board, added_mm, room):
    """What is left off each long edge for swelling: (edge, least mm, most mm, where the most is in words, allowance,
    place of the most on the page).
    """
    start, along, _ = plank.find_axes()
    chains = [plank.outline()] if board is None else [list(board.drawn_face), list(board.other_face)]
    stations, found = list_stations(board), []
    for name in ("upper", "lower"):
        rows = []
        for chain in chains:
            curve = chain[LOOP.index(name)]
            u = np.linspace(0, len(curve.cubics), _PLACES + 1)
            rows += list(zip(room(curve, chain, u), curve.evaluate(u)))
        most, at = max(rows, key=lambda r: r[0])
        found.append((name, float(min(r[0] for r in rows)), float(most),
                      tell_place(float((at - start) @ along), stations), float(added_mm[name]), tuple(map(float, at))))
    return tuple(found)


def _tell_room(left_off, board):
    """The line that is planed to is not the line that is drawn: by how much, and where the saw runs by it."""
    if not left_off:
        return []
    face, line = ("FACES", "THE DRAWN FACES") if board is not None else ("FACE", "THE DRAWN FACE")
    room = "; ".join("%s EDGE UP TO %s, MOST %s" % (name.upper(), format_mm(most).upper(), where)
                     for name, _, most, where, _, _ in left_off)
    rows = ["ROOM FOR SWELLING LEFT OFF: %s. THE %s %s DRAWN WITHOUT IT: PLANE THE EDGES THAT MUCH INSIDE %s."
            % (room, face, "ARE" if board is not None else "IS", "THEM" if board is not None else "IT")]
    inside = ["%s EDGE UP TO %s INSIDE, MOST %s" % (name.upper(), format_mm(most - added).upper(), where)
              for name, _, most, where, added, _ in left_off if most - added > _SEEN_MM]
    if inside:
        rows.append("THE SAW LINE RUNS INSIDE %s BY WHAT THE ROOM IS MORE THAN THE ALLOWANCE: %s. IT IS MEANT."
                    % (line, "; ".join(inside)))
    else:
        rows.append("THE SAW LINE STAYS OUTSIDE %s: %s AT LEAST."
                    % (line, "; ".join("%s EDGE %s" % (name.upper(), format_mm(max(added - most, 0.0)).upper())
                                       for name, _, most, _, added, _ in left_off)))
    return rows


def _warn_of_room(left_off):
    """Edges where the drawn line is sawn away, or all but."""
    found = []
    for name, _, most, where, added, at in left_off:
        if added - most < LEAST_CLEAR_MM:
            if most - added > _SEEN_MM:
                lies = "%s inside the drawn edge" % format_mm(most - added)
            elif added - most < _SEEN_MM:
                lies = "along the drawn edge"
            else:
                lies = "only %s outside the drawn edge" % format_mm(added - most)
            found.append(Finding("WARN: %s edge: with room for swelling the saw runs %s (%s): nothing is left there "
                                 "to plane to the drawn line, and %s to the line that is meant. "
                                 "Mark that line anew, %s inside, or allow %s."
                                 % (name, lies, where.lower(), format_mm(added), format_mm(most),
                                    format_mm(most + LEAST_CLEAR_MM)), at))
    return tuple(found)
