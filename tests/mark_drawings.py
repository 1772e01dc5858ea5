"""Invented marks for the tests: tags, lines and arcs as a tracer gives them. Lengths in mm, y down; up is outboard."""
from __future__ import annotations

import numpy as np
from shapes import draw_trace, turn

from plankcore.geometry.polyline import resample_polyline

__all__ = [
    "add_noise",
    "draw_arc_points",
    "draw_line_points",
    "draw_rows",
    "draw_stairs",
    "draw_tag_points",
    "draw_tags",
    "place",
]


def draw_tag_points(*, width=25.0, length=70.0, rounding=3.0):
    """A tag hanging down from its outboard end, whose middle is the origin; corners are quarter circles."""
    w, r = width / 2, rounding
    if r <= 0:
        return np.array([[-w, 0], [w, 0], [w, length], [-w, length]], float)
    corners = []
    for x, y, first in ((w - r, r, -90), (w - r, length - r, 0), (-w + r, length - r, 90), (-w + r, r, 180)):
        a = np.radians(np.linspace(first, first + 90, 7))
        corners.append(np.column_stack([x + r * np.cos(a), y + r * np.sin(a)]))
    return np.vstack(corners)


def draw_stairs(points, pixel):
    """The outline as the stairs of a bitmap: from pixel corner to pixel corner, along and across."""
    grid = np.round(resample_polyline(points, step_mm=pixel / 8, closed=True) / pixel)
    grid = grid[np.any(grid != np.roll(grid, 1, axis=0), axis=1)]
    stairs = []
    for a, b in zip(grid, np.roll(grid, -1, axis=0)):
        stairs += [a, np.array([b[0], a[1]])]
    stairs = np.array(stairs)
    return stairs[np.any(stairs != np.roll(stairs, 1, axis=0), axis=1)] * pixel


def add_noise(points, rng, *, sd, together=1, closed=True):
    """Each point off square to the line by noise of this standard deviation, `together` neighbours erring alike."""
    way = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0) if closed else np.gradient(points, axis=0)
    way = way / np.hypot(*way.T)[:, None]
    noise = rng.normal(0, sd, len(points) + together - 1)
    noise = np.convolve(noise, np.ones(together) / np.sqrt(together), "valid")
    return points + noise[:, None] * np.column_stack([way[:, 1], -way[:, 0]])


def draw_arc_points(radius, first_deg, last_deg, *, thickness=0.7, step=0.8):
    """A divider arc about the origin: a closed blob, or an open line where thickness is 0."""
    a = np.radians(np.linspace(first_deg, last_deg, max(int(radius * np.radians(last_deg - first_deg) / step), 6)))
    ring = np.column_stack([np.cos(a), np.sin(a)])
    if thickness == 0:
        return radius * ring
    return np.vstack([(radius + thickness / 2) * ring, ((radius - thickness / 2) * ring)[::-1]])


def draw_line_points(centre, thickness):
    """A closed blob of this thickness round an open line (n, 2), ends square."""
    way = np.gradient(np.asarray(centre, float), axis=0)
    square = np.column_stack([way[:, 1], -way[:, 0]]) / np.hypot(*way.T)[:, None]
    return np.vstack([centre + square * thickness / 2, (centre - square * thickness / 2)[::-1]])


def draw_rows(count=8, *, spacing=230.0, width=260.0, sny=30.0, left=200.0, top=100.0):
    """True points of an upper and a lower edge: (count, 2) each, from left to right."""
    x = left + spacing * np.arange(count)
    bow = sny * np.sin(np.pi * (x - left) / (spacing * (count - 1)))
    return np.column_stack([x, top + bow]), np.column_stack([x, top + width + bow])


def place(points, at, degrees=0.0, **values):
    """A closed Trace of points turned and put in place."""
    return draw_trace(turn(points, degrees) + np.asarray(at), closed=True, **values)


def draw_tags(count=8, *, points=None, **rows):
    """Traces of sound tags on both rows, and their true points."""
    points = draw_tag_points() if points is None else points
    upper, lower = draw_rows(count, **rows)
    traces = [place(points, p, label="upper tag %d" % k) for k, p in enumerate(upper)]
    traces += [place(points, p, 180.0, label="lower tag %d" % k) for k, p in enumerate(lower)]
    return traces, upper, lower
