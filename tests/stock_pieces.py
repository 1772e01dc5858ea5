"""Invented planks and boards for the tests of choosing stock; mm."""
from __future__ import annotations

import numpy as np
from shapes import draw_graph, draw_rectangle, make_line, make_plank

from plankcore.geometry.polyline import draw_disc, measure_arc_mm
from plankcore.model.stock import Defect, PlankPiece, StockBoard


def make_piece(plank, label="A", **values):
    """A plank as a piece to be got out of a board: its net outline."""
    sides = []
    for name in ("upper", "lower"):
        points = plank.edges[name].curve.flatten()
        arc = measure_arc_mm(points)
        even = np.linspace(0, arc[-1], 121)
        sides.append(np.stack([np.interp(even, arc, points[:, k]) for k in (0, 1)], axis=1))
    return PlankPiece(label, tuple(plank.outline()), (sides[0] + sides[1]) / 2, **values)


def make_board(label, length, width, thickness=32.0, **values):
    """A rectangular board."""
    return StockBoard(label, draw_rectangle(length, width), thickness, **values)


def make_knot(x, y, radius, kind="knot"):
    return Defect(kind, draw_disc((x, y), radius))


def invent_piece(chance, label, *, shortest=1800.0, longest=3600.0, **values):
    """A plank with sny, taper and a belly; the bow to the right."""
    length, sny = chance.uniform(shortest, longest), chance.uniform(10, 90)
    sny *= (length / 3000) ** 2
    aft, taper, belly = chance.uniform(90, 130), chance.uniform(-25, 10), chance.uniform(0, 25)

    def draw(way):
        return draw_graph(lambda x: -4 * sny * (x / length) * (1 - x / length)
                          + way * 0.5 * (aft + taper * x / length + belly * np.sin(np.pi * x / length)),
                          lambda x: -4 * sny / length * (1 - 2 * x / length) + way * 0.5
                          * (taper / length + belly * np.pi / length * np.cos(np.pi * x / length)), length, 0.0)
    upper, lower = draw(-1), draw(1)
    return make_piece(make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end)),
                      label, **dict({"stock_mm": 28.0, "finished_mm": 25.0}, **values))


def invent_board(chance, label, *, shortest=2600.0, longest=5200.0, narrowest=180.0, widest=420.0, most_defects=4):
    """A board with knots and now and then something worse, most of them near its edges, and grain that runs off a
    little.
    """
    length, width = chance.uniform(shortest, longest), chance.uniform(narrowest, widest)
    defects = []
    for _ in range(chance.integers(0, most_defects + 1)):
        radius = chance.uniform(8, 22)
        y = chance.choice([chance.uniform(radius, 60), chance.uniform(width - 60, width - radius)])
        defects.append(make_knot(chance.uniform(50, length - 50), y, radius,
                                 "knot" if chance.random() < 0.8 else "defect"))
    return make_board(label, length, width, chance.choice([32.0, 38.0]), grain=((0.0, chance.uniform(-2, 2)),),
                      defects=tuple(defects))
