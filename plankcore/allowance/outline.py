"""The saw line square through a board that holds both faces of a plank, and in words what is planed off where."""
from __future__ import annotations

import numpy as np

from ..errors import PatternError
from ..geometry.outer_edge import join_outer, measure_aside_mm
from ..geometry.outline import measure_outline_area_mm2, meet_corners
from ..geometry.varied_offset import offset_curve_varied
from ..units import format_mm

__all__ = ["LOOP", "describe_planing", "list_stations", "outline_board", "tell_place"]

LOOP = ("upper", "aft", "lower", "fore")      # the order of Plank.outline
_SEEN_MM = 0.1            # less than this is not planed
_PER_PIECE = 16


def outline_board(board, distances):
    """Closed curves outside both faces, edge by edge the outer line of the two, each moved outward by its own distance.

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
        raise PatternError("The two faces of the board do not run the same way round.", "Run Hollow and Bevels again.")
    left, moved, most = way[0], [], 1.0
    for chain in chains:
        row = []
        for name, curve in zip(LOOP, chain):
            def distance(u, curve=curve, chain=chain, name=name):
                return left * distances[name](curve, chain, u)
            most = max(most, float(np.abs(distance(np.linspace(0, len(curve.cubics), 33))).max()))
            row.append(offset_curve_varied(curve, distance))
        moved.append(row)
    # corners of the two faces lie apart by what is planed; past them each edge runs on along its tangent
    apart = max(float(np.hypot(*(a.end - b.end))) for a, b in zip(*chains))
    reach = 12 * most + 4 * apart + 1.0
    outer = [join_outer(a.extend(reach), b.extend(reach), left=left) for a, b in zip(*moved)]
    # the chain of corners that lie farthest out: where two moved edges cross more than once, the crossing near it is
    # meant
    return tuple(meet_corners(chains[0], outer, reach_mm=1.0))


def list_stations(board):
    """(label, distance along the baseline, mm) of a board's sections, from the fore end aft; none without a board."""
    return sorted(((s.station.upper(), s.distance_mm) for s in board.sections),
                  key=lambda row: row[1]) if board is not None else []


def tell_place(distance_mm, stations):
    """'AT STATION 12', 'BETWEEN STATIONS 11 AND 12', 'FORWARD OF STATION 7'; where no station is known, how far from
    the fore end.
    """
    if not stations:
        return "%.0f MM FROM THE FORE END" % distance_mm
    away = [d for _, d in stations]
    steps = np.diff(away)
    near = int(np.argmin(np.abs(np.array(away) - distance_mm)))
    if abs(away[near] - distance_mm) <= (0.15 * float(np.min(steps)) if len(steps) else 10.0):
        return "AT STATION %s" % stations[near][0]
    after = int(np.searchsorted(away, distance_mm))
    if after == 0:
        return "FORWARD OF STATION %s" % stations[0][0]
    if after == len(stations):
        return "AFT OF STATION %s" % stations[-1][0]
    return "BETWEEN STATIONS %s AND %s" % (stations[after - 1][0], stations[after][0])


def describe_planing(plank, board):
    """What stands proud on which face, edge by edge, once the board is sawn square to a line outside both faces.

    Parameters
    ----------
    plank : Plank
        For the baseline along which places are told.
    board : Board

    Returns
    -------
    list of str
        A row for each edge, in capitals, the allowance not counted.
    """
    left = 1.0 if measure_outline_area_mm2(board.drawn_face) > 0 else -1.0
    drawn = {"inboard": "INSIDE", "outboard": "OUTSIDE"}[board.face]
    other = {"INSIDE": "OUTSIDE", "OUTSIDE": "INSIDE"}[drawn]
    start, along, _ = plank.find_axes()
    stations = list_stations(board)
    rows = []
    for name, curve, over in zip(LOOP, board.drawn_face, board.other_face):
        count = len(curve.cubics)
        u = np.linspace(0, count, max(_PER_PIECE * count, 200) + 1)
        # at the corners an edge of one face stands over the end of the other: only where both are abreast is there
        # something to plane
        aside = left * measure_aside_mm(curve, over.extend(1.0), u)[0]
        far = (curve.evaluate(u) - start) @ along
        if name == "lower":
            u, aside, far = u[::-1], aside[::-1], far[::-1]
        keep = np.isfinite(aside)
        aside, far = aside[keep], far[keep]
        rows.append(_describe_edge(name, aside, far, drawn, other, stations))
    return rows


def _describe_edge(name, aside, far, drawn, other, stations):
    """aside > 0: the other face reaches farther out, so the wood to come off stands on the drawn face."""
    title = "%s %s: " % (name.upper(), "EDGE" if name in ("upper", "lower") else "END")
    long = name in ("upper", "lower")
    parts = []
    for sign, face in ((1, drawn), (-1, other)):
        if len(aside) and (sign * aside).max() >= _SEEN_MM:
            worst = int(np.argmax(sign * aside))
            least, most = float((sign * aside).min()), float(sign * aside[worst])
            even = most - least < _SEEN_MM
            amount = format_mm(most).upper()
            amount = amount + " ALL ALONG" if even else "UP TO " + amount if least < _SEEN_MM else "%s TO %s" % (
                format_mm(least).upper()[:-3], amount)
            parts.append((most, "%s OFF THE %s FACE%s" % (
                amount, face, ", MOST %s" % tell_place(far[worst], stations) if long and not even else "")))
    if not parts:
        return title + "SQUARE, NOTHING TO PLANE BUT THE ALLOWANCE."
    text = title + "; ".join(words for _, words in sorted(parts, reverse=True)) + "."
    told = np.flatnonzero(np.abs(aside) >= _SEEN_MM)
    turns = [(far[told[k]] + far[told[k + 1]]) / 2 for k in np.flatnonzero(np.diff(np.sign(aside[told])))]
    if turns and long:
        text += " IT CHANGES FACE %s." % ", ".join(tell_place(t, stations) for t in turns[:4])
    elif turns:
        text += " IT CHANGES FACE ALONG THE END."
    return text
