"""Joining pieces of a scan along one tape, and the block adjustment of all pieces."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.map_fits import PointSet, fit_map
from ..geometry.plane_maps import PlaneMap, fit_similarity
from ..model.scan import ControlPoint, ScanPiece

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..geometry.arrays import Array, Matrix, Point, Points, Values

__all__ = ["KINDS", "TAPE", "Block", "find_tape", "respond"]

TAPE = "the tape"
KINDS = {"scale": "similarity", "scales": "scales", "affine": "affine", "perspective": "perspective", "lens": "lens"}
_LEAST = 3                # fewest places on the tape for a piece to be tied to it


def _split(label):
    """The name before the colon of a label, and whether there is a colon."""
    head, colon, _ = label.replace("=", ":").partition(":")
    return " ".join(head.split()).casefold() if colon else ""


def find_tape(pieces: Sequence[ScanPiece], tables: Sequence[Mapping[str, ControlPoint]],
              held: int) -> tuple[set[int], ScanPiece | None]:
    """The net of dots with true places that several pieces, the held one included, were trued on.

    pieces : ScanPieces. tables : {name: ControlPoint} of each.

    Returns
    -------
    tied : set of int
        Pieces on the net; empty where there are fewer than two.
    tape : ScanPiece or None
        All true places as one piece, turned and shifted onto the held piece; error_mm of its points is from their
        labels, or 0.

    Raises
    ------
    PatternError
        If a dot has two different places.
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
            if _split(p.label) and not np.allclose(np.array(first[0].true, float), np.array(p.true, float), rtol=0,
                                                      atol=1e-6):
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
    """How errors of the tape's dots displace points of a piece.

    piece : ScanPiece. places : {name: (number, (x, y))} of the tape's dots in it, where they lie on the page. errors :
    {name: mm}. points : (m, 2) of the piece.

    Returns
    -------
    ndarray, shape (m, 2, n, 2)
        Derivatives by the errors of the n dots, in the order of places; and the number of parameters that the piece's
        map has beyond a turn and a shift.
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


# error of a dot's place in the picture, as a share of the error of its place on the tape
_PICTURE = 0.5


class Block:
    """All observations of all pieces. Unknowns: for each piece but the held one a turn about its own middle and that
    middle's place, then the points' places.
    """

    def __init__(self, pieces, tables, *, shared, held, error_mm, tied=()):
        self.free = [k for k in range(len(pieces)) if k != held]
        self.rows = [(k, shared.index(n), p) for k, table in enumerate(tables) for n, p in table.items()]
        self.at = np.array([p.at for _, _, p in self.rows], float)
        self.stated = np.array([p.error_mm or error_mm for _, _, p in self.rows])
        # errors of tape and picture together make up the stated error
        share = np.hypot(1.0, _PICTURE)
        self.errors = self.stated * np.array([_PICTURE / share if k in tied else 1 / share if tied
                                              and k == held else 1.0 for k, _, _ in self.rows])
        self.piece = np.array([k for k, _, _ in self.rows])
        self.point = np.array([j for _, j, _ in self.rows])
        self.middles = np.array([self.at[self.piece == k].mean(axis=0) for k in range(len(pieces))])
        self.count = len(shared)
        self.size = 3 * len(self.free) + 2 * self.count
        self.held, self.tied, self.pieces, self.shared = held, sorted(tied), pieces, shared
        self.spent = 0  # number of parameters that the tape's places were already used for, in truing up

    def map(self, q: Values, k: int) -> PlaneMap:
        """PlaneMap of piece k."""
        if k == self.held:
            return PlaneMap(np.eye(3))
        turn, x, y = q[3 * self.free.index(k):][:3]
        linear = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        return PlaneMap(np.hstack([linear, (np.array([x, y]) - linear @ self.middles[k])[:, None]]))

    def differentiate(self, q: Values, k: int, points: Points) -> Array:
        """d(image)/dq (m, 2, size) of points (m, 2) in piece k, without the unknown places of shared points."""
        out = np.zeros((len(points), 2, self.size))
        if k != self.held:
            at = 3 * self.free.index(k)
            c, s = np.cos(q[at]), np.sin(q[at])
            out[:, :, at] = (points - self.middles[k]) @ np.array([[-s, c], [-c, -s]])
            out[:, :, at + 1:at + 3] = np.eye(2)
        return out

    def observe(self, q: Values) -> tuple[Points, Array]:
        """Residuals (m, 2), image minus place, and their derivatives (m, 2, size)."""
        residual, jacobian = np.zeros((len(self.rows), 2)), np.zeros((len(self.rows), 2, self.size))
        places = q[3 * len(self.free):].reshape(-1, 2)
        for k in range(len(self.middles)):
            mine = self.piece == k
            residual[mine] = self.map(q, k).apply(self.at[mine]) - places[self.point[mine]]
            jacobian[mine] = self.differentiate(q, k, self.at[mine])
        for axis in (0, 1):
            jacobian[np.arange(len(self.rows)), axis, 3 * len(self.free) + 2 * self.point + axis] = -1.0
        return residual, jacobian

    def solve(self, maps: Mapping[int, PlaneMap]) -> tuple[Values, Points, Matrix, Matrix]:
        """(q, residuals, covariance, effects of all errors on q) from rough maps."""
        q = np.zeros(self.size)
        for at, k in enumerate(self.free):
            q[3 * at:3 * at + 3] = np.arctan2(maps[k].matrix[1, 0],
                                              maps[k].matrix[0, 0]), *maps[k].apply(self.middles[k])
        images = np.array([maps[k].apply(p) for k, p in zip(self.piece, self.at)])
        for j in range(self.count):
            q[3 * len(self.free) + 2 * j:][:2] = images[self.point == j].mean(axis=0)
        reach = max(float(np.ptp(self.at, axis=0).max()), 1.0)
        size = np.ones(self.size)
        size[:3 * len(self.free):3] = 1 / reach
        for _ in range(50):
            residual, jacobian = self.observe(q)
            weighted = (jacobian / self.errors[:, None, None]).reshape(-1, self.size) * size
            step = np.linalg.lstsq(weighted, -(residual / self.errors[:, None]).ravel(), rcond=None)[0]
            q = q + step * size
            if np.abs(step).max() < 1e-10:
                break
        residual, jacobian = self.observe(q)
        weighted = (jacobian / self.errors[:, None, None]).reshape(-1, self.size) * size
        covariance = np.linalg.inv(weighted.T @ weighted) * size[:, None] * size
        return q, residual, covariance, self.spread_errors(q, covariance)

    def spread_errors(self, q: Values, covariance: Matrix) -> Matrix:
        """Effect of one standard error of every error source on the unknowns q, (size, sources), and on observations of
        the tape, (dots, 2, sources)."""
        _, jacobian = self.observe(q)
        rows = np.arange(len(self.rows))
        effect = np.zeros((len(self.rows), 2, 2 * len(self.rows)))
        for axis in (0, 1):
            effect[rows, axis, 2 * rows + axis] = self.stated
        self.responses = {}
        for k in self.tied:
            mine, dots = np.flatnonzero(self.piece == k), [int(r) for r in np.flatnonzero(self.piece == self.held)
                                                           if np.any(self.point[self.piece == k] == self.point[r])]
            places, errors = {self.shared[self.point[r]]: self.at[r]
                              for r in dots}, {self.shared[self.point[r]]: self.stated[r] for r in dots}
            on_tape = np.isin(self.point[mine], self.point[dots])

            def carry(points, k=k, dots=dots, places=places, errors=errors):
                moved, spent = respond(self.pieces[k], places, errors, points)
                out = np.zeros((len(points), 2, 2 * len(self.rows)))
                for axis in (0, 1):
                    out[:, :, 2 * np.array(dots) + axis] = moved[:, :, :, axis] * self.stated[dots]
                return out, spent
            effect[mine[on_tape]], spent = carry(self.at[mine[on_tape]])
            self.responses[k] = carry
            self.spent += spent
        weighted = (jacobian / self.errors[:, None, None] ** 2).reshape(-1, self.size)
        return -covariance @ weighted.T @ effect.reshape(-1, 2 * len(self.rows))

    def measure_error(self, fit: tuple[Values, Points, Matrix, Matrix], k: int, points: Points) -> Values:
        """Predicted root mean square distance (m,) of the images of points (m, 2) in piece k."""
        moved = self.differentiate(fit[0], k, points) @ fit[3]
        if k in self.responses:
            moved = moved + self.responses[k](points)[0]
        return np.sqrt(np.sum(moved ** 2, axis=(1, 2)))
