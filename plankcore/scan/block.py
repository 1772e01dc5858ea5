"""The adjustment of all pieces of a join and all their points together: a part of joining."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.plane_maps import PlaneMap
from .tape import respond

if TYPE_CHECKING:
    from typing import Mapping

    from ..geometry.arrays import Array, Matrix, Points, Values

__all__ = ["Block"]

# how far off a dot lies within a piece trued on the tape, as a share of how far off the tape may be
_PICTURE = 0.5


class Block:
    """All observations of all pieces. Unknowns: for each piece but the held one a turn about its own middle and that
    middle's place, then the points' places.
    """

    def __init__(self, pieces, tables, shared, held, error_mm, tied=()):
        self.free = [k for k in range(len(pieces)) if k != held]
        self.rows = [(k, shared.index(n), p) for k, table in enumerate(tables) for n, p in table.items()]
        self.at = np.array([p.at for _, _, p in self.rows], float)
        self.stated = np.array([p.error_mm or error_mm for _, _, p in self.rows])
        # tape and picture together are what was stated
        share = np.hypot(1.0, _PICTURE)
        self.errors = self.stated * np.array([_PICTURE / share if k in tied else 1 / share if tied
                                              and k == held else 1.0 for k, _, _ in self.rows])
        self.piece = np.array([k for k, _, _ in self.rows])
        self.point = np.array([j for _, j, _ in self.rows])
        self.middles = np.array([self.at[self.piece == k].mean(axis=0) for k in range(len(pieces))])
        self.count = len(shared)
        self.size = 3 * len(self.free) + 2 * self.count
        self.held, self.tied, self.pieces, self.shared = held, sorted(tied), pieces, shared
        self.spent = 0                            # numbers of the maps that the tape's places were spent on before

    def map(self, q: Values, k: int) -> PlaneMap:
        """PlaneMap of piece k."""
        if k == self.held:
            return PlaneMap(np.eye(3))
        turn, x, y = q[3 * self.free.index(k):][:3]
        linear = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        return PlaneMap(np.hstack([linear, (np.array([x, y]) - linear @ self.middles[k])[:, None]]))

    def differentiate(self, q: Values, k: int, points: Points) -> Array:
        """d(image)/dq (m, 2, size) of points (m, 2) in piece k, the places of shared points left aside."""
        out = np.zeros((len(points), 2, self.size))
        if k != self.held:
            at = 3 * self.free.index(k)
            c, s = np.cos(q[at]), np.sin(q[at])
            out[:, :, at] = (points - self.middles[k]) @ np.array([[-s, c], [-c, -s]])
            out[:, :, at + 1:at + 3] = np.eye(2)
        return out

    def observe(self, q: Values) -> tuple[Points, Array]:
        """Residuals (m, 2), image less place, and their slopes (m, 2, size)."""
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
        """What one standard error of every source does to the numbers q, (size, sources), and to observations of the
        tape, (dots, 2, sources).
        """
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
