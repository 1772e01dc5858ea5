"""A curve through values that goes nowhere beyond them: between two it rises or falls from the one to the other and turns only at a value."""
from __future__ import annotations

import numpy as np

__all__ = ["join_monotone"]


def join_monotone(x, y):
    """Piecewise cubics with one tangent at each value, which stay between the two values on both sides.

    The slope at a value is the weighted harmonic mean of those of the chords beside it, and 0 at a turn
    (F. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5, 1984, doi:10.1137/0905021; from memory, held against another's in the tests).

    Parameters
    ----------
    x, y : array_like, shape (n,)
        Two or more, x rising.

    Returns
    -------
    callable
        Values (k,) at places (k,) between the first x and the last.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    step = np.diff(x)
    chord = np.diff(y) / step
    slope = np.zeros(len(x))
    for k in range(1, len(x) - 1):
        a, b = chord[k - 1], chord[k]
        if a * b > 0:
            near, far = 2 * step[k] + step[k - 1], step[k] + 2 * step[k - 1]
            slope[k] = (near + far) / (near / a + far / b)
    if len(x) == 2:
        slope[:] = chord[0]
    else:
        slope[0], slope[-1] = _find_end_slope(step[0], step[1], chord[0], chord[1]), _find_end_slope(step[-1], step[-2], chord[-1], chord[-2])

    def evaluate(at):
        at = np.asarray(at, float)
        k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(step) - 1)
        h, t = step[k], (at - x[k]) / step[k]
        return ((2 * t - 3) * t ** 2 + 1) * y[k] + (3 - 2 * t) * t ** 2 * y[k + 1] + h * t * (t - 1) * ((t - 1) * slope[k] + t * slope[k + 1])
    return evaluate


def _find_end_slope(near, next_, chord, beyond):
    """Slope at an end, of the parabola through three values, cut to what keeps the first stretch from overshooting."""
    slope = ((2 * near + next_) * chord - near * beyond) / (near + next_)
    if slope * chord <= 0:
        return 0.0
    return 3 * chord if chord * beyond <= 0 and abs(slope) > 3 * abs(chord) else slope
