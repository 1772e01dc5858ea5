"""Curves through given points: cubic splines, which are the shape of a thin rod held at the points; monotone cubics,
which never overshoot two neighbouring values; and smooth curves that are replaced by those wherever they overshoot."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from typing import Callable

    from .arrays import ArrayLike, Mask, Values

__all__ = ["ENDS", "hold_within", "interpolate_cubic", "join_monotone"]

_AT = 40                  # places in a stretch at which a curve is evaluated
ENDS = ("natural", "running on")


def interpolate_cubic(x: ArrayLike, y: ArrayLike, at: ArrayLike, *, ends: str, derivative: int = 0) -> Values:
    """Values of the cubic spline through (x, y), or its slopes.

    Parameters
    ----------
    x : ndarray, shape (n,), rising
    y : ndarray, shape (n,)
    at : ndarray, shape (k,)
        Where to evaluate; beyond the ends the end pieces are extrapolated.
    ends : str
        'natural': no curvature at the ends, like a rod that stops there. 'running on': the first two pieces are one
        cubic, and so are the last two (de Boor, A Practical Guide to Splines, 1978, chapter IV: "not-a-knot"), like a
        rod that continues smoothly beyond the points;
        through three points it is the parabola. Two points give the straight line.
    derivative : int
        0 to 3. The third jumps at the points; the value there is that of the piece after it.

    Returns
    -------
    ndarray, shape (k,)
    """
    x, y, at = (np.asarray(v, float) for v in (x, y, at))
    h, count = np.diff(x), len(x)
    if ends not in ENDS or count < 2 or not (h > 0).all():
        raise ValueError("rising x, at least two, and one of %s are needed" % (ENDS,))
    if count == 2 or (count == 3 and ends == "running on"):
        through = np.polynomial.Polynomial.fit(x, y, count - 1)
        return (through.deriv(derivative) if derivative else through)(at)
    # solve for the second derivatives m at the points: continuous slope at each inner point, and the end conditions
    matrix, right = np.zeros((count, count)), np.zeros(count)
    inner = np.arange(1, count - 1)
    matrix[inner, inner - 1], matrix[inner, inner], matrix[inner, inner + 1] = h[:-1], 2 * (h[:-1] + h[1:]), h[1:]
    right[1:-1] = 6 * np.diff(np.diff(y) / h)
    if ends == "natural":
        matrix[0, 0] = matrix[-1, -1] = 1.0
    else:
        matrix[0, :3] = h[1], -(h[0] + h[1]), h[0]
        matrix[-1, -3:] = h[-1], -(h[-2] + h[-1]), h[-2]
    m = np.linalg.solve(matrix, right)
    k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, count - 2)
    a, b, step = x[k + 1] - at, at - x[k], h[k]
    if derivative == 3:
        return (m[k + 1] - m[k]) / step
    if derivative == 2:
        return (m[k] * a + m[k + 1] * b) / step
    if derivative:
        return ((m[k + 1] * b ** 2 - m[k] * a ** 2) / (2 * step) + (y[k + 1] - y[k]) / step
                - (m[k + 1] - m[k]) * step / 6)
    return (m[k] * a ** 3 + m[k + 1] * b ** 3) / (6 * step) + (y[k] / step - m[k] * step / 6) * a + (
        y[k + 1] / step - m[k + 1] * step / 6) * b


def join_monotone(x: Values, y: Values) -> Callable[[Values], Values]:
    """Monotone interpolation: piecewise cubics with continuous slope that stay between each two neighbouring values.

    The slope at a value is the weighted harmonic mean of those of the chords beside it, and 0 at a turn
    (F. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5, 1984, doi:10.1137/0905021; from memory, compared with
    another implementation in the tests).

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
    return _join_with_slopes(x, y, _find_slopes(x, y))


def _find_slopes(x, y):
    """Slopes (n,) at the values that keep each cubic between its two values."""
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
        slope[0], slope[-1] = _find_end_slope(step[0], step[1], chord[0],
                                              chord[1]), _find_end_slope(step[-1], step[-2], chord[-1], chord[-2])

    return slope


def _join_with_slopes(x, y, slope):
    """Piecewise cubics through values (n,) with slopes (n,)."""
    step = np.diff(x)

    def evaluate(at):
        at = np.asarray(at, float)
        k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(step) - 1)
        h, t = step[k], (at - x[k]) / step[k]
        return ((2 * t - 3) * t ** 2 + 1) * y[k] + (3 - 2 * t) * t ** 2 * y[k + 1] + h * t * (t - 1) * (
            (t - 1) * slope[k] + t * slope[k + 1])
    return evaluate


def hold_within(free: Callable[..., Values], x: Values, y: Values, *,
                room: Values) -> tuple[Callable[[Values], Values], Mask]:
    """A smooth curve, replaced by a monotone one wherever it overshoots two neighbouring values without good reason.

    A smooth curve may rightly reach beyond two values if it has an extremum between them. This is accepted where the
    values on both sides curve that way too, up to 4/3 of what a parabola with the smaller of the two curvatures would
    reach (A. Suresh and H. T. Huynh, J.
    Comput. Phys. 136, 1997,
    doi:10.1006/jcph.1997.5745, section 2, from memory, not checked). Where it overshoots by more, that stretch is
    replaced by `join_monotone`'s rule, which is repeated until no stretch overshoots.

    Parameters
    ----------
    free : callable
        free(at, derivative=0): the curve or its slope at places (k,).
    x, y : array_like, shape (n,)
        Two or more, x rising. The curve need not pass through every y.
    room : array_like, shape (n,)
        Overshoot at each value that is always accepted.

    Returns
    -------
    curve : callable
        Values (k,) at places (k,) between the first x and the last; its slope is continuous.
    held : ndarray of bool, shape (n - 1,)
        The stretches that were replaced; in each the curve lies between its two values.
    """
    x, y, room = (np.asarray(v, float) for v in (x, y, room))
    step, fixed, held = np.diff(x), np.zeros(len(x), bool), np.zeros(len(x) - 1, bool)
    passed, slope, flat = free(x), free(x, derivative=1), _find_slopes(x, y)
    inner = np.linspace(0, 1, _AT + 1)

    def compose():
        value = np.where(fixed, y, passed)
        joined = _join_with_slopes(x, value, np.where(fixed, flat, slope))
        anew = fixed[:-1] | fixed[1:]

        def curve(at):
            at = np.asarray(at, float)
            k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(step) - 1)
            return np.where(anew[k], joined(at), free(at))
        return value, curve
    while True:
        value, curve = compose()
        reach = np.stack([curve(x[:-1] + t * step) for t in inner])
        both = np.stack([y[:-1], y[1:], value[:-1], value[1:]])
        bend = _find_bends(x, value) * step ** 2 / 6                  # 4/3 of 1/8, the rise of a parabola
        more = np.maximum(room[:-1], room[1:])
        out = (reach.max(axis=0) > both.max(axis=0) + more
               + np.maximum(-bend, 0)) | (reach.min(axis=0) < both.min(axis=0) - more - np.maximum(bend, 0))
        if not (out & ~held).any():
            return curve, held
        held |= out
        fixed[:-1] |= held
        fixed[1:] |= held


def _find_bends(x, y):
    """Second derivatives (n - 1,) that the values on both sides of each stretch agree on: the smaller of the two, 0
    where they differ in sign or there is only one."""
    if len(x) < 4:
        return np.zeros(len(x) - 1)
    chord = np.diff(y) / np.diff(x)
    second = 2 * np.diff(chord) / (x[2:] - x[:-2])
    a, b = np.concatenate([second[:1], second]), np.concatenate([second, second[-1:]])
    # an end stretch has values on one side only: use the two nearest second derivatives
    a[0], b[0], a[-1], b[-1] = second[0], second[1], second[-1], second[-2]
    return np.where(a * b > 0, np.sign(a) * np.minimum(np.abs(a), np.abs(b)), 0.0)


def _find_end_slope(near, next_, chord, beyond):
    """Slope at an end, from the parabola through three values, limited so that the end stretch does not overshoot."""
    slope = ((2 * near + next_) * chord - near * beyond) / (near + next_)
    if slope * chord <= 0:
        return 0.0
    return 3 * chord if chord * beyond <= 0 and abs(slope) > 3 * abs(chord) else slope
