"""A closed curve cut by straight lines across it into closed parts."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .strokes import clip_strokes, draw_polyline

if TYPE_CHECKING:
    from .arrays import Cubics

__all__ = ["part_closed"]

_MEET_MM = 1e-6
_FAR_MM = 1e7             # beyond any page


def part_closed(cubics: Cubics, *, low: float, high: float) -> list[Cubics]:
    """The parts of a closed curve that does not cross itself which lie between two places along x.

    Parameters
    ----------
    cubics : ndarray, shape (k, 4, 2), mm
        A chain that ends where it begins.
    low, high : float, mm

    Returns
    -------
    list of ndarray, shape (j, 4, 2)
        Each closed: pieces of the curve (split, not flattened) and straight strokes along the cuts.

    Examples
    --------
    >>> square = draw_polyline([(0, 0), (4, 0), (4, 2), (0, 2), (0, 0)])
    >>> [part[:, 0].tolist() for part in part_closed(square, low=1.0, high=9.0)]
    [[[1.0, 0.0], [4.0, 0.0], [4.0, 2.0], [1.0, 2.0]]]
    """
    parts = [np.asarray(cubics, float)]
    for at, side in ((low, 1), (high, -1)):
        parts = [piece for part in parts for piece in _keep_side(part, at, side)]
    return parts


def _keep_side(cubics, at, side):
    """The parts of a closed curve on one side of the line x = at: 1 for the greater x."""
    x = cubics[:, :, 0]
    if (side * (x - at) >= -_MEET_MM).all():
        return [cubics]
    edges = ((at, -_FAR_MM), (_FAR_MM, _FAR_MM)) if side > 0 else ((-_FAR_MM, -_FAR_MM), (at, _FAR_MM))
    chains = clip_strokes(cubics, *edges)
    if len(chains) > 1 and np.abs(chains[-1][-1, 3] - chains[0][0, 0]).max() <= _MEET_MM:
        chains = [np.concatenate([chains[-1], chains[0]]), *chains[1:-1]]
    # the curve does not cross itself, so every other stretch of the cutting line is inside it
    ends = sorted([(float(one[0, 0, 1]), k, 0) for k, one in enumerate(chains)]
                  + [(float(one[-1, 3, 1]), k, 1) for k, one in enumerate(chains)])
    partner = {}
    for one, other in zip(ends[::2], ends[1::2]):
        partner[one[1:]], partner[other[1:]] = other[1:], one[1:]
    parts, left = [], set(range(len(chains)))
    while left:
        first = k = min(left)
        loop = []
        while k in left:
            left.remove(k)
            loop.append(chains[k])
            after, _ = partner[k, 1]
            stroke = draw_polyline([chains[k][-1, 3], chains[after][0, 0]])
            stroke[-1, 3] = chains[after][0, 0]    # exactly the same number, so that the part is closed
            loop.append(stroke)
            k = after
        assert k == first
        parts.append(np.concatenate(loop))
    return parts
