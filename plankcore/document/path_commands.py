"""Every path command to cubics, one by one: the thorough way, for paths that hold arcs, quadratics or shorthands.

Tracers write none of these; pathdata.py reads theirs in arrays. (The editor's own conversion bends arcs by a part in a
thousand and reflects a chain of T commands wrongly.) Formulas: SVG 1.1, 8.3 and appendix F.6.
"""
from __future__ import annotations

import math

import numpy as np

__all__ = ["trace_commands"]

_SIZES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Z": 0, "S": 4, "Q": 4, "T": 2, "A": 7}
_ARC_STEP = math.radians(30)      # a cubic follows such an arc to 4e-7 of its radius


def trace_commands(commands, counts, numbers):
    """Runs of cubics.

    Parameters
    ----------
    commands : list of str
        Letters in order; counts : how many of the numbers belong to each, a whole multiple of what it needs.

    Returns
    -------
    list of (cubics (k, 4, 2), closed)

    Raises
    ------
    ValueError
        If the flag of an arc is neither 0 nor 1.
    """
    runs, run = [], []
    pen = start = np.zeros(2)
    control, last = None, ""                # the control point that S and T reflect, and the command it came from
    at = 0
    for letter, count in zip(commands, counts):
        name = letter.upper()
        if name == "Z":
            if np.any(pen != start):
                run.append(_line(pen, start))
            if run:
                runs.append((np.array(run), True))
            run, pen, last = [], start, "Z"
            continue
        size = _SIZES[name]
        for k in range(at, at + count, size):
            values = np.array(numbers[k:k + size], float)
            if name == "M" and k == at:
                if run:
                    runs.append((np.array(run), False))
                run = []
                pen = start = values + (pen if letter == "m" else 0.0)
                last = "M"
                continue
            base = pen if letter.islower() else np.zeros(2)
            pieces, control, pen_next = _trace_one("L" if name == "M" else name, values, pen, base, control, last,
                                                   letter.islower())
            run += pieces
            pen, last = pen_next, name
        at += count
    if run:
        runs.append((np.array(run), False))
    return [(cubics, closed) for cubics, closed in ((_drop_still(c), z) for c, z in runs) if len(cubics)]


def _drop_still(cubics):
    return cubics[(cubics[:, 1:] != cubics[:, :1]).reshape(len(cubics), -1).any(axis=1)]


def _line(a, b):
    return np.stack([a + (b - a) * k / 3 for k in range(4)])


def _quadratic(a, q, b):
    return np.stack([a, a + 2 * (q - a) / 3, b + 2 * (q - b) / 3, b])


def _trace_one(name, values, pen, base, control, last, relative):
    """Pieces of one command, the control point it leaves behind, and where the pen ends."""
    if name in "HV":
        end = pen.copy()
        end["HV".index(name)] = values[0] + (base["HV".index(name)] if relative else 0.0)
        return [_line(pen, end)], None, end
    if name == "A":
        end = values[5:] + base
        if values[3] not in (0.0, 1.0) or values[4] not in (0.0, 1.0):
            raise ValueError("arc flag")
        return _arc(pen, end, abs(values[0]), abs(values[1]), math.radians(values[2]), bool(values[3]),
                    bool(values[4])), None, end
    points = values.reshape(-1, 2) + base
    end = points[-1]
    if name == "L":
        return [_line(pen, end)], None, end
    if name == "C":
        return [np.vstack([pen, points])], points[1], end
    if name == "S":
        first = 2 * pen - control if last in ("C", "S") else pen
        return [np.vstack([pen, first, points])], points[0], end
    if name == "Q":
        return [_quadratic(pen, points[0], end)], points[0], end
    middle = 2 * pen - control if last in ("Q", "T") else pen          # T
    return [_quadratic(pen, middle, end)], middle, end


def _arc(a, b, rx, ry, turn, large, sweep):
    """An elliptical arc from a to b as cubics (F.6.5, radii scaled up where too small, F.6.6)."""
    if np.all(a == b):
        return []
    if rx == 0 or ry == 0:
        return [_line(a, b)]
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = (cos * (a[0] - b[0]) + sin * (a[1] - b[1])) / 2, (-sin * (a[0] - b[0]) + cos * (a[1] - b[1])) / 2
    grow = (x / rx) ** 2 + (y / ry) ** 2
    if grow > 1:
        rx, ry = rx * math.sqrt(grow), ry * math.sqrt(grow)
    inner = max((rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2, 0.0) / ((rx * y) ** 2 + (ry * x) ** 2)
    root = math.sqrt(inner) * (-1 if large == sweep else 1)
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    first = math.atan2((y - cy) / ry, (x - cx) / rx)
    span = math.atan2((-y - cy) / ry, (-x - cx) / rx) - first
    if sweep and span <= 0:
        span += 2 * math.pi
    elif not sweep and span >= 0:
        span -= 2 * math.pi
    centre = np.array([cos * cx - sin * cy, sin * cx + cos * cy]) + (a + b) / 2
    count = max(math.ceil(abs(span) / _ARC_STEP - 1e-9), 1)
    angles = first + span * np.arange(count + 1) / count
    handle = 4 / 3 * math.tan(span / count / 4)
    matrix = np.array([[cos * rx, sin * rx], [-sin * ry, cos * ry]])
    unit, along = np.stack([np.cos(angles), np.sin(angles)],
                           axis=1), np.stack([-np.sin(angles), np.cos(angles)], axis=1)
    points, slopes = unit @ matrix + centre, handle * (along @ matrix)
    points[0], points[-1] = a, b
    return [np.stack([points[k], points[k] + slopes[k], points[k + 1] - slopes[k + 1], points[k + 1]])
            for k in range(count)]
