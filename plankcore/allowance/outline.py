"""The saw line square through a board that holds both faces of a plank, and what is planed off where."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..actions import SECTION
from ..errors import PatternError
from ..geometry.outer_edge import join_outer, measure_aside_mm
from ..geometry.outline import measure_outline_area_mm2, meet_corners
from ..geometry.varied_offset import offset_curve_varied

if TYPE_CHECKING:
    from typing import Any, Callable, Mapping

    from ..geometry.curve import Curve
    from ..model.board import Board
    from ..model.plank import Plank

__all__ = ["LOOP", "SEEN_MM", "Cut", "Planing", "list_stations", "measure_planing", "outline_board"]

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
