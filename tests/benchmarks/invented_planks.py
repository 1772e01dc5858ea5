"""Invented planks whose two long edges are known functions, none of them splines.

Each plank is a run of the hull's sny (a bow of the middle line), drawn by hyperbolic,
trigonometric, exponential or rational functions, and a width that tapers from amidships
to both ends, drawn by another such function. Numbers are invented; the ranges (2.4 to 5.4 m
long, 90 to 180 mm wide, sny to 200 mm) are common practice, no source.
"""
from __future__ import annotations

import numpy as np

__all__ = ["invent_plank", "invent_planks"]


def _bow(kind, rng):
    """A shape on t in [0, 1] of about unit height; kind picks the family."""
    a = rng.uniform(0.7, 1.3)
    m = rng.uniform(0.4, 0.6)
    if kind == 0:      # a hanging chain
        k = rng.uniform(1.0, 2.5)
        return lambda t: 1 - (np.cosh(k * (t - m)) - 1) / (np.cosh(k * 0.5) - 1)
    if kind == 1:      # a cosine with a lean
        p = rng.uniform(-0.25, 0.25)
        return lambda t: np.sin(np.pi * (t + p * t * (1 - t)) * a / 1.3 + 0.15)
    if kind == 2:      # a witch: rational
        k = rng.uniform(0.5, 2.0)
        return lambda t: 1.0 / (1 + k * (2 * (t - m)) ** 2)
    if kind == 3:      # reverse: one inflection, as a plank that runs into the tuck
        k = rng.uniform(3.0, 5.0)
        return lambda t: np.tanh(k * (t - m)) * 0.5 + 0.4 * np.cos(2.2 * t)
    k = rng.uniform(0.8, 2.2)      # fast rise at one end
    return lambda t: (1 - np.exp(-k * 2 * t)) * np.cos(1.1 * t) * 1.3


def _taper(kind, rng):
    """Width over its largest, on t in [0, 1]."""
    f, b = rng.uniform(0.55, 0.95, 2)
    if kind == 0:
        return lambda t: np.exp(np.log(f) * (1 - t) ** 2 + np.log(b) * t ** 2)
    if kind == 1:
        return lambda t: (f + (b - f) * t) + (1.05 - (f + b) / 2) * np.sin(np.pi * t) ** 1.0
    return lambda t: 1 / (1 + (1 / f - 1) * np.exp(-3 * t) + (1 / b - 1) * np.exp(-3 * (1 - t)))


def invent_plank(seed):
    """Return (length_mm, upper(x_mm), lower(x_mm)); x from 0 to length, y down, mm."""
    rng = np.random.default_rng(seed)
    length = rng.uniform(2400, 5400)
    sny = rng.uniform(25, 200) * rng.choice([-1.0, 1.0])
    width = rng.uniform(90, 180)
    bow, taper = _bow(seed % 5, rng), _taper(seed % 3, rng)

    def upper(x):
        t = np.asarray(x) / length
        return -sny * bow(t) - width * taper(t) / 2

    def lower(x):
        t = np.asarray(x) / length
        return -sny * bow(t) + width * taper(t) / 2
    return length, upper, lower


def invent_planks(count=60):
    """The first `count` planks, in order."""
    return [invent_plank(seed) for seed in range(count)]


KINDS = ("base", "garboard", "stealer", "bump", "missing", "short", "reverse", "S")


def invent_kind(kind, seed):
    """A plank of one of KINDS, with its marks.

    base : as invent_plank. garboard : one edge on a straight keel line. stealer : beside one, where one edge shifts by
    12 to 35 mm over 0.5 to 1 m. bump : 6 to 10 mm more or less width amidships, by one edge or both. missing : as base,
    two to four marks lost on one edge. short : 900 mm with 5 frames. reverse, S : one inflection, and two.

    Returns
    -------
    length_mm, (upper, lower), (x of upper's marks, of lower's), (corners' distance past the marks, fore and aft)
    """
    rng = np.random.default_rng([41, KINDS.index(kind), seed])
    if kind in ("base", "missing"):
        length, upper, lower = invent_plank(seed)
    else:
        length, upper, lower = _invent_odd(kind, seed, rng)
    x = np.linspace(0, length, 5 if kind == "short" else round(length / 230) + 1)
    places = [x, x]
    if kind == "missing":
        lost = rng.choice(len(x), size=rng.integers(2, 5), replace=False)
        places[rng.integers(2)] = np.delete(x, lost)
    return length, (upper, lower), places, rng.uniform(0.1, 0.9, 2) * (x[1] - x[0])


def _invent_odd(kind, seed, rng):
    """length, upper, lower of the kinds that are not as invent_plank's."""
    short = kind == "short"
    length = 900.0 if short else rng.uniform(2400, 5400)
    sny = rng.uniform(*((5, 40) if short else (25, 200))) * rng.choice([-1.0, 1.0])
    width = rng.uniform(*((60, 140) if short else (90, 180)))
    bow, taper = _bow(3 if kind == "reverse" else seed % 5, rng), _taper(seed % 3, rng)
    if kind == "S":
        a, p, d = rng.uniform(0.7, 1.0), rng.uniform(-0.1, 0.1), rng.uniform(-0.6, 0.6)

        def bow(t):
            return 0.5 * np.sin(2 * np.pi * a * (t - 0.5 + p)) + d * np.cosh(1.5 * (t - 0.5))
    where, way = rng.uniform(0.25, 0.75) * length, rng.choice([-1.0, 1.0])
    reach, share = rng.uniform(250, 450 if kind == "stealer" else 400), rng.choice([0.0, 0.5, 1.0])
    high = way * (rng.uniform(12, 35) if kind == "stealer" else rng.uniform(6, 10))
    share = round(share) if kind == "stealer" else share
    slope = rng.uniform(-0.02, 0.02)

    def local(x):
        if kind == "stealer":
            return high * np.tanh((x - where) / reach) / 2
        return high / np.cosh((x - where) / reach) ** 2 if kind == "bump" else 0.0

    def make(side, part):
        def edge(x):
            x = np.asarray(x, float)
            t = x / length
            if kind == "garboard":
                return slope * x + (side * (width * taper(t) + abs(sny) * bow(t) / 2) if side == way else 0.0)
            return -sny * bow(t) + side * (width * taper(t) / 2 + part * local(x))
        return edge
    return length, make(-1.0, share), make(1.0, 1 - share)
