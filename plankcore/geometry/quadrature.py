"""Gauss-Legendre nodes and weights.

By the eigenvalues of the Jacobi matrix (G. Golub and J. Welsch, Math. Comp. 23, 1969,
doi:10.1090/S0025-5718-69-99647-1):
the numpy room that also has them takes 3 ms to load, on every click.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from .arrays import Values

__all__ = ["find_gauss_rule"]


def find_gauss_rule(count: int) -> tuple[Values, Values]:
    """Nodes and weights, shape (count,) each, of the rule on [0, 1] that is exact for polynomials of degree 2 count -
    1.

    Examples
    --------
    >>> nodes, weights = find_gauss_rule(2)
    >>> float(round(weights @ nodes ** 3, 12))
    0.25
    """
    k = np.arange(1.0, count)
    beside = k / np.sqrt(4 * k * k - 1)
    nodes, vectors = np.linalg.eigh(np.diag(beside, 1) + np.diag(beside, -1))
    return (nodes + 1) / 2, vectors[0] ** 2
