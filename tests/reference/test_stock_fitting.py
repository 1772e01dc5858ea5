"""Fitting planks to boards against shapely and against plain searches that share no code with ours.

shapely: https://shapely.readthedocs.io. The sny of an arc is its sagitta, R - sqrt(R^2 - L^2 / 4).
"""
import itertools

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapes import make_arc, make_bowed_plank, make_line, make_plank, make_straight_plank
from stock_pieces import invent_piece, make_board, make_knot, make_piece

from plankcore.geometry.convex import find_least_rectangle, find_least_width, find_roomiest_turn
from plankcore.geometry.outline import flatten_outline
from plankcore.geometry.polyline import measure_gap_mm
from plankcore.stock.choose import StockSettings, choose_stock

BARE = StockSettings(kerf_mm=0.0, edge_mm=0.0, end_mm=0.0, clear_mm=0.0)
CHANCES = range(6)


def draw_polygon(piece):
    return Polygon(flatten_outline(piece.curves, tolerance_mm=0.005))


def turn_bounds(polygon, turns):
    """Lengths and widths of a polygon at turns, as shapely measures them."""
    boxes = np.array([affinity.rotate(polygon, t, origin=(0, 0)).bounds for t in turns])
    return boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1]


@pytest.mark.parametrize("seed", CHANCES)
def test_the_least_rectangle_is_shapelys(seed):
    points = np.array(draw_polygon(invent_piece(np.random.default_rng(seed), "P")).exterior.coords)[:-1]
    found = find_least_rectangle(points)
    assert found.length_mm * found.width_mm == pytest.approx(Polygon(points).minimum_rotated_rectangle.area, rel=1e-9)


@pytest.mark.parametrize("seed", CHANCES)
def test_no_turn_of_a_fine_net_is_narrower(seed):
    """Turns a hundredth of a degree apart, round the whole half circle near the plank's own axis and coarser elsewhere.
    """
    polygon = draw_polygon(invent_piece(np.random.default_rng(seed), "P"))
    found = find_least_width(np.array(polygon.exterior.coords)[:-1])
    turns = np.concatenate([np.arange(-10, 10, 0.01), np.arange(10, 170, 0.5)])
    assert found.width_mm <= turn_bounds(polygon, turns)[1].min() + 1e-6
    assert found.width_mm == pytest.approx(turn_bounds(polygon, turns)[1].min(), abs=0.5)


@pytest.mark.parametrize("seed", CHANCES)
def test_the_roomiest_turn_is_that_of_a_fine_net(seed):
    """Within half a mm, in boards where the width alone binds, and where the length does too."""
    polygon = draw_polygon(invent_piece(np.random.default_rng(seed), "P"))
    points = np.array(polygon.exterior.coords)[:-1]
    turns = np.arange(-10, 10.001, 0.01)
    lengths, widths = turn_bounds(polygon, turns)
    for length, width in ((lengths.max() + 500, widths.min() + 7), (lengths.max() - 8, widths.min() + 60),
                          (lengths.min() + 3, widths.max())):
        spare = np.minimum(length - lengths, width - widths).max() / 2
        assert find_roomiest_turn(points, length_mm=length, width_mm=width, low_deg=-10,
                                  high_deg=10).spare_mm == pytest.approx(spare, abs=0.5)
        assert find_roomiest_turn(points, length_mm=length, width_mm=width, low_deg=-10,
                                  high_deg=10).spare_mm >= spare - 1e-6


def test_an_arc_needs_its_width_and_its_sny():
    """A plank of even width whose hollow edge is an arc of 10 m with a chord of 4 m, its ends radial: the sny is
    202.041 mm; L^2 / 8 R is 200.
    """
    half, width = np.arcsin(0.2), 120.0
    upper, lower = (make_arc(r, -np.pi / 2 + half, -np.pi / 2 - half) for r in (10000.0 + width, 10000.0))
    plank = make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end))
    need = choose_stock([make_piece(plank)], [], settings=BARE).needs["A"]
    assert need.width_mm == pytest.approx(width + 202.041, abs=0.01)
    assert need.width_mm - width == pytest.approx(4000 ** 2 / (8 * 10000), abs=2.1)
    # the run lies midway between the edges, on a circle larger by half the width
    assert need.sny_mm == pytest.approx((10000 + width / 2) * (1 - np.cos(half)), abs=0.02)


@pytest.mark.parametrize("over, fits", [(0.5, True), (-0.5, False)])
@pytest.mark.parametrize("seed", CHANCES[:4])
def test_a_board_half_a_millimetre_wider_or_narrower_than_the_least(seed, over, fits):
    piece = invent_piece(np.random.default_rng(seed), "P", stock_mm=0.0)
    need = choose_stock([piece], [], settings=BARE).needs["P"]
    plan = choose_stock([piece], [make_board("B", need.length_mm + 200, need.width_mm + over)], settings=BARE)
    assert bool(plan.placements) is fits


def find_best_margin(polygon, board, knots, turns, shifts, rises):
    """The greatest least distance from the board's sides and its knots over a net of turns and places, by shapely
    alone.
    """
    sides, best = board.exterior, -np.inf
    for turned in (affinity.rotate(polygon, t, origin=(0, 0)) for t in turns):
        for x, y in itertools.product(shifts, rises):
            moved = affinity.translate(turned, x, y)
            if board.contains(moved):
                best = max(best, min([moved.distance(sides)] + [moved.distance(k) for k in knots]))
    return best


def test_with_a_knot_in_the_way_a_plain_search_finds_no_better():
    """The bowed plank, 1200 x 100 with a sny of 60, in 1300 x 220 with a knot in its hollow: the spare is within half a
    mm of a net's best, or better.
    """
    piece = make_piece(make_bowed_plank(left=0.0, top=0.0))
    polygon = draw_polygon(piece)
    knot = (640.0, 190.0, 20.0)
    plan = choose_stock([piece], [make_board("B", 1300, 220, defects=(make_knot(*knot),))],
                        settings=StockSettings(kerf_mm=0.0, edge_mm=0.0, end_mm=0.0, clear_mm=0.0, lay="middle"))
    place, = plan.placements
    outline = np.array(polygon.exterior.coords)[:-1] @ place.to_board[:, :2].T + place.to_board[:, 2]
    laid, board, hole = Polygon(outline), box(0, 0, 1300, 220), Point(knot[:2]).buffer(knot[2], 64)
    assert board.contains(laid)
    assert place.spare_mm == pytest.approx(min(laid.distance(board.exterior), laid.distance(hole)), abs=0.1)
    middle = polygon.centroid
    about = affinity.translate(polygon, -middle.x, -middle.y)
    best = -np.inf
    for end in (0, 180):
        best = max(best, find_best_margin(about, board, knots=[hole], turns=end + np.arange(-3, 3.01, 0.5),
                                          shifts=np.arange(600, 701, 20.0), rises=np.arange(80, 141, 4.0)))
    assert place.spare_mm >= best - 0.5


def test_a_knot_that_leaves_a_gap_too_narrow_by_a_little_is_seen():
    """A straight plank of 100 x 1000 between a knot and the edge: free are 300 - 60 - 2 x radius."""
    piece = make_piece(make_straight_plank(fore=100.0, aft=100.0))
    for radius, fits in ((69.8, True), (70.2, False)):
        board = make_board("B", 1040, 240 + 0.0, defects=(make_knot(520, 240 - radius, radius),))
        plan = choose_stock([piece], [board],
                            settings=StockSettings(kerf_mm=0, edge_mm=0, end_mm=0, clear_mm=0, most_turn_deg=0.0))
        assert bool(plan.placements) is fits, radius


def list_groupings(items):
    """All ways to part items into groups."""
    if not items:
        yield []
        return
    for rest in list_groupings(items[1:]):
        yield [[items[0]]] + rest
        for k in range(len(rest)):
            yield rest[:k] + [[items[0]] + rest[k]] + rest[k + 1:]


def test_a_small_yard_against_all_ways_of_sharing_out():
    """Straight tapering planks, whose nests are known: two laid head to tail are one parallel strip of fore + aft +
    kerf.

    Five planks and six boards. The least wood is that of all groupings of the planks and all choices of boards for
    them, each group taken to fit where its widths, head to tail, and the kerfs come to no more than the board; at most
    3 percent more may be used.
    """
    kerf, length = 4.0, 1500.0
    tapers = [(110.0, 70.0), (100.0, 60.0), (120.0, 90.0), (95.0, 95.0), (130.0, 80.0)]
    pieces = [make_piece(make_straight_plank(length=length, fore=f, aft=a), "P%d" % k, stock_mm=25.0)
              for k, (f, a) in enumerate(tapers)]
    widths = [190.5, 301.0, 150.0, 420.0, 260.0, 135.0]
    boards = [make_board("B%d" % k, 1560.0, w, 30.0) for k, w in enumerate(widths)]

    def needed(group):
        """Strips side by side, alternately head to tail: the same turn for all makes their edges meet; width at the
        wider end of the lot.
        """
        best = np.inf
        for flips in itertools.product((0, 1), repeat=len(group)):
            ends = [sum(tapers[k][e ^ f] for k, f in zip(group, flips)) for e in (0, 1)]
            best = min(best, max(ends) + kerf * (len(group) - 1))
        return best
    least = np.inf
    for grouping in list_groupings(list(range(5))):
        for chosen in itertools.permutations(range(6), len(grouping)):
            if all(needed(g) <= widths[b] - 0.5 for g, b in zip(grouping, chosen)):
                least = min(least, sum(widths[b] for b in chosen))
    plan = choose_stock(pieces, boards, settings=StockSettings(kerf_mm=kerf, edge_mm=0.0, end_mm=0.0))
    assert len(plan.placements) == 5
    assert plan.volume_mm3 / (1560.0 * 30.0) <= 1.03 * least
    for one, other in itertools.combinations(plan.placements, 2):
        if one.board == other.board:
            shapes = [flatten_outline(next(p for p in pieces if p.label == q.piece).curves) @ q.to_board[:, :2].T
                      + q.to_board[:, 2] for q in (one, other)]
            assert Polygon(shapes[0]).distance(Polygon(shapes[1])) >= kerf - 0.01
            assert measure_gap_mm(*shapes) == pytest.approx(Polygon(shapes[0]).distance(Polygon(shapes[1])), abs=1e-9)
