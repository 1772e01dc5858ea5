"""The tape's places in a join: pieces trued on one net are tied to it, and the errors they share through it are carried
on.

A piece that True Up brought to its places on a tape lies on them as well as they let it. Laid on its neighbour by the
dots of the overlap alone it would lose that, for a small turn at a short seam is a large one at the far end. So the
tape enters as one more piece, which is held. What a tape's error does to a piece follows from the map
that was fitted to it: fitted again, of the same kind, to the piece as it lies, it tells how each dot's error moves
every place of the piece.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.map_fits import PointSet, fit_map
from ..geometry.plane_maps import fit_similarity
from ..model.scan import ControlPoint, ScanPiece

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..geometry.arrays import Array, Point, Points

__all__ = ["KINDS", "TAPE", "find_tape", "respond"]

TAPE = "the tape"
KINDS = {"scale": "similarity", "scales": "scales", "affine": "affine", "perspective": "perspective", "lens": "lens"}
_LEAST = 3                # places on the tape that a piece needs to be tied to it


def _split(label):
    """Name before the colon, and whether there is one."""
    head, colon, _ = label.replace("=", ":").partition(":")
    return " ".join(head.split()).casefold() if colon else ""


def find_tape(pieces: Sequence[ScanPiece], tables: Sequence[Mapping[str, ControlPoint]],
              held: int) -> tuple[set[int], ScanPiece | None]:
    """The net that several pieces were trued on, the held one among them.

    pieces : ScanPieces. tables : {name: ControlPoint} of each.

    Returns
    -------
    tied : set of int
        Those that lie on the net; empty where fewer than two do.
    tape : ScanPiece or None
        All their places, turned and shifted to where the held piece lies; its points' error_mm is that of their labels,
        or 0.

    Raises
    ------
    PatternError
        If one dot is given two places.
    """
    known = [{n: p for n, p in table.items() if p.true is not None} for table in tables]
    tied, grown = {held}, True
    while grown:
        near = {k for k in range(len(pieces)) if k not in tied and len(known[k]) >= _LEAST
                and any(set(known[k]) & set(known[j]) for j in tied)}
        tied |= near
        grown = bool(near)
    if len(tied) < 2 or len(known[held]) < _LEAST:
        return set(), None
    named = {}
    for k in sorted(tied):
        for p in known[k].values():
            first = named.setdefault(_split(p.label), (p, pieces[k].label))
            if _split(p.label) and not np.allclose(first[0].true, p.true, rtol=0, atol=1e-6):
                raise PatternError("One dot has two places: '%s' in the piece '%s', '%s' in '%s'."
                                   % (first[0].label, first[1], p.label, pieces[k].label),
                                   "Give it the same label in both pieces.", tuple(map(float, p.at)))
    places = {n: p for k in sorted(tied, reverse=True) for n, p in known[k].items()}
    source = np.array([p.true for p in known[held].values()], float)
    turn = fit_similarity(source, np.array([p.at for p in known[held].values()], float), scaled=False)
    points = tuple(ControlPoint(p.label, tuple(map(float, turn.apply(np.array(p.true, float)))), p.true, p.error_mm)
                   for p in places.values())
    return tied, ScanPiece(TAPE, points, np.array([p.at for p in points]))


def respond(piece: ScanPiece, places: Mapping[str, Point], errors: Mapping[str, float],
            points: Points) -> tuple[Array, int]:
    """How errors of the tape move places of a piece.

    piece : ScanPiece. places : {name: (number, (x, y))} of the tape's dots in it, where they lie on the page. errors :
    {name: mm}. points : (m, 2) of the piece.

    Returns
    -------
    ndarray, shape (m, 2, n, 2)
        By the errors of the n dots, in the order of places; and the numbers that the map has beyond a turn and a shift.
    """
    table = {" ".join(p.label.split()).casefold(): p for p in piece.points}
    source = np.array([table[n].at for n in places], float)
    given = PointSet(source, np.array([places[n] for n in places]), np.array([errors[n] for n in places]))
    try:
        fit = fit_map(KINDS.get(piece.map, "similarity"), given)
    except ValueError:
        fit = fit_map("similarity", given)
    slopes = fit.model.differentiate(fit.parameters, source)
    moved = np.einsum("miu,uv,njv->minj", fit.model.differentiate(fit.parameters, np.atleast_2d(points)),
                      fit.covariance, slopes)
    return moved / given.errors[None, None, :, None] ** 2, fit.unknowns - fit.model.known - 3
