"""Choosing stock against shapely and plain search: least boards, what lies where, and the wood of a small yard."""
from itertools import permutations

import numpy as np
import pytest
from shapely.affinity import affine_transform, rotate
from shapely.geometry import Polygon
from stock_pieces import invent_board, invent_piece, make_board, make_knot

from plankcore.geometry.outline import flatten_outline
from plankcore.stock.choose import StockSettings, choose_stock

BARE = StockSettings(kerf_mm=0.0, edge_mm=0.0, end_mm=0.0, clear_mm=0.0)


def draw_polygon(piece):
    return Polygon(flatten_outline(piece.curves, tolerance_mm=0.02))


def find_least_by_grid(piece, step=0.01):
    """Least height of the bounds over a net of turns, and the turn."""
    shape = draw_polygon(piece)
    best = min((rotate(shape, a, origin=(0, 0)).bounds for a in np.arange(-12, 12 + step, step)),
               key=lambda b: b[3] - b[1])
    return best[3] - best[1]


@pytest.mark.parametrize("seed", range(4))
def test_the_least_board_is_that_of_a_fine_net_of_turns(seed):
    """Plain search by shapely over turns 0.01 degrees apart; the true least lies within 0.5 mm of it and is never more.
    """
    piece = invent_piece(np.random.default_rng(seed), "A")
    need = choose_stock([piece], [], settings=BARE).needs["A"]
    grid = find_least_by_grid(piece)
    assert grid - 0.5 <= need.width_mm <= grid + 0.02


@pytest.mark.parametrize("over, fits", [(0.3, True), (-0.3, False)])
def test_a_board_a_little_wider_than_the_least_takes_it_and_one_a_little_narrower_does_not(over, fits):
    piece = invent_piece(np.random.default_rng(11), "A")
    plan = choose_stock([piece], [make_board("B", 4500, find_least_by_grid(piece) + over)], settings=BARE)
    assert (len(plan.placements) == 1) is fits


@pytest.mark.parametrize("seed", [3, 8])
def test_what_is_placed_lies_on_its_board_clear_of_all(seed):
    """Inside by 5 and 25 mm, clear of knots by 20 mm and of other planks by the kerf, by shapely's own distances."""
    chance = np.random.default_rng(seed)
    pieces, boards = [invent_piece(chance, "P%d" % k, longest=2600.0)
                      for k in range(5)], [invent_board(chance, "B%d" % k) for k in range(5)]
    settings = StockSettings(tries=1)
    plan = choose_stock(pieces, boards, settings=settings)
    assert len(plan.placements) + len(plan.unplaced) == 5 and plan.placements
    by_label, laid = {p.label: p for p in pieces}, {}
    for one in plan.placements:
        m = one.to_board
        shape = affine_transform(draw_polygon(by_label[one.piece]),
                                 [m[0, 0], m[0, 1], m[1, 0], m[1, 1], m[0, 2], m[1, 2]])
        board = next(b for b in boards if b.label == one.board)
        low_x, low_y, high_x, high_y = shape.bounds
        assert (low_x >= 25 - 0.05 and high_x <= board.length_mm - 25 + 0.05 and low_y >= 5 - 0.05
                and high_y <= board.width_mm - 5 + 0.05)
        assert all(shape.distance(Polygon(d.outline)) >= settings.clear_mm - 0.1 for d in board.defects)
        assert all(shape.distance(other) >= settings.kerf_mm - 0.1 for other in laid.get(one.board, []))
        laid.setdefault(one.board, []).append(shape)


def test_the_wood_of_a_small_yard_is_within_three_percent_of_the_best_of_all_ways():
    """Four planks, each too long for two on a board, on five plain boards: every way of sharing them out is tried by
    plain search.
    """
    chance = np.random.default_rng(21)
    pieces = [invent_piece(chance, "P%d" % k, shortest=2400.0, longest=3000.0) for k in range(4)]
    boards = [make_board("B%d" % k, length, width, 32.0)
              for k, (length, width) in enumerate(((3100, 260), (3050, 205), (3200, 300), (3150, 230), (3300, 240)))]
    least = [find_least_by_grid(p, 0.05) for p in pieces]
    long = [rotate(draw_polygon(p), 0, origin=(0, 0)).bounds for p in pieces]
    long = [b[2] - b[0] for b in long]

    def takes(k, b):
        return (least[k] <= boards[b].width_mm and long[k] <= boards[b].length_mm - 5
                and 2 * least[k] > boards[b].width_mm)
    ways = [sum(boards[b].volume_mm3 for b in way) for way in permutations(range(5), 4)
            if all(takes(k, b) for k, b in enumerate(way))]
    plan = choose_stock(pieces, boards, settings=BARE)
    assert ways and len(plan.placements) == 4
    assert plan.volume_mm3 <= 1.03 * min(ways)


def test_a_knot_is_gone_round_where_there_is_room():
    """On a board with a knot at its edge the plank lies clear of it; with the same knot amidships nothing takes it."""
    piece = invent_piece(np.random.default_rng(11), "A")
    wide = find_least_by_grid(piece)
    beside = make_board("B", 4500, wide + 60, defects=(make_knot(2000, wide + 50, 9),))
    amid = make_board("B", 4000, wide + 20, defects=(make_knot(2000, wide / 2 + 10, 30),))
    assert len(choose_stock([piece], [beside], settings=BARE).placements) == 1
    assert choose_stock([piece], [amid], settings=BARE).placements == ()
