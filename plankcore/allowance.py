"""The saw line: the net outline, or both faces of the board, moved outward edge by edge by the wood that is left for saw, plane and fitting."""
from __future__ import annotations

from .board_outline import LOOP, describe_planing, outline_board
from .errors import PatternError, SettingError
from .geometry.outline import OffsetFailure, offset_outline
from .geometry.varied_offset import offset_outline_varied
from .line_model import SawLine
from .swelling import SwellingSettings, find_swelling, make_room

__all__ = ["add_allowances", "SwellingSettings", "MOST_MM"]

MOST_MM = 300.0
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
        With it the line is sawn square through the board and holds both faces, each with the allowance outside it; without,
        the line follows the net outline of the drawn face.
    swelling : SwellingSettings
        With a species, what the wood does afloat is told; room asked, half of it is left off each long edge, the only way that
        the line can come inside a face.

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
            raise SettingError("An allowance of %g mm on the %s edge cannot be used." % (value, name), "Give 0 to %d mm; an allowance is wood left on." % MOST_MM, "Allowance, %s" % name)
    widest = plank.measure_width_mm()
    if board is not None:
        widest = max([widest] + [max(s.inside_mm, s.outside_mm) for s in board.sections])
    taken = find_swelling(swelling, widest_mm=widest, seam=board.seam if board is not None else None)
    room = make_room(taken.share, widest) if taken is not None and swelling.room else None
    try:
        if board is None and room is None:
            curves = offset_outline(plank.outline(), [added_mm[n] for n in LOOP])
        else:
            distances = {name: _make_distance(added_mm[name], room if name in ("upper", "lower") else None) for name in LOOP}
            if board is not None:
                curves = outline_board(board, distances)
            else:
                chain = plank.outline()
                curves = offset_outline_varied(chain, [lambda u, n=n, c=c: distances[n](c, chain, u) for n, c in zip(LOOP, chain)])
    except OffsetFailure as failure:
        raise PatternError("The plank cannot take these allowances: %s." % failure.reason, "Give less there, or fair with a longer shortest wave.", failure.point) from None
    includes = tuple(w for w in _COUNTED if (w == "swelling" and room is not None) or (board is not None and w in board.includes))
    rows = _say_what_is_counted(includes, board)
    if board is not None:
        rows += describe_planing(plank, board)
    if taken is not None:
        rows += list(taken.rows)
    return SawLine(tuple(curves), dict(added_mm), tuple(rows), includes, taken.findings if taken is not None else ())


def _make_distance(added_mm, room):
    if room is None:
        return lambda curve, chain, u: added_mm + 0.0 * u
    return lambda curve, chain, u: added_mm - room(curve, chain, u)


def _say_what_is_counted(includes, board):
    def spell(words):
        return ", ".join(_WORDS.get(w, w.upper()) for w in words)
    missing = [w for w in _COUNTED if w not in includes]
    first = "SAW LINE SQUARE THROUGH THE BOARD, OUTSIDE BOTH FACES. PLANE TO THE BEVELS AFTER SAWING." if board is not None else "SAW LINE OF THE DRAWN FACE ALONE, AS IF EVERY EDGE WERE SQUARE."
    counted = "COUNTED: WOOD FOR SAW AND ENDS%s." % (", " + spell(includes) if includes else "")
    return [first, counted + (" NOT COUNTED: %s." % spell(missing) if missing else "")]
