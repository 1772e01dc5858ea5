"""The saw line square through a board. Refusals first; that both faces lie inside it is measured by shapely, which
shares no code with us.
"""
import dataclasses

import numpy as np
import pytest
import shapely
from shapes import draw_graph, make_bowed_plank, make_line, make_plank, make_straight_plank

from plankcore.allowance.saw_line import MOST_MM, SwellingSettings, add_allowances
from plankcore.errors import PatternError, SettingError
from plankcore.geometry.outline import flatten_outline
from plankcore.model.board import Board, Seam, Section

LOOP = ("upper", "aft", "lower", "fore")
LENGTH, LEFT = 2400.0, 100.0
ADDED = {"upper": 3.0, "lower": 4.0, "fore": 25.0, "aft": 12.0}


def shape_face(upper, lower, *, fore=0.0, aft=0.0, rake=0.0, width=120.0):
    """Four edges of a bowed face, bow to the right: sny of 60 mm, each long edge moved outward by a function of the
    share of the length from the bow; ends moved outward by fore and aft, the fore end raked by `rake` at its lower
    corner."""
    def draw(level, sign, growth, right):
        def y(x):
            return level - 240 * (x - LEFT) * (LEFT + LENGTH - x) / LENGTH ** 2 + sign * growth(
                (LEFT + LENGTH - x) / LENGTH)

        def slope(x):
            return (y(x + 1e-4) - y(x - 1e-4)) / 2e-4
        return draw_graph(y, slope, right, LEFT - aft, tolerance_mm=1e-3)
    upper = draw(200.0, -1, upper, LEFT + LENGTH + fore)
    lower = draw(200.0 + width, 1, lower, LEFT + LENGTH + fore + rake)
    return upper, make_line(upper.end, lower.end), lower.reverse(), make_line(lower.start, upper.start)


def none(s):
    return 0.0 * s


FACES = {
    "wider all along": {"upper": lambda s: 3 + 0 * s, "lower": lambda s: 2 + s, "fore": 1.0, "aft": 0.5},
    "narrower all along": {"upper": lambda s: -3 + 0 * s, "lower": lambda s: -2 - s, "fore": -1.0, "aft": -0.5},
    "the same": {"upper": none, "lower": none},
    "changes over once": {"upper": lambda s: 6 * (s - 0.4), "lower": lambda s: -4 * (s - 0.6), "fore": -2.0,
                          "aft": 1.5},
    "changes over often": {"upper": lambda s: 4 * np.sin(5 * np.pi * s), "lower": lambda s: 3 * np.cos(4 * np.pi * s),
                               "fore": 0.7},
    "the same for a half": {"upper": lambda s: np.where(s > 0.5, 30 * (s - 0.5) ** 2, 0.0), "lower": none},
    "raked end": {"upper": lambda s: 5 * (s - 0.5), "lower": none, "fore": 3.0, "rake": 40.0},
}


def make_sections(count=11):
    """Stations 7, 8 and so on from the bow, at even shares from 0.05 to 0.95 of the length."""
    return tuple(Section(str(7 + k), np.array([[LEFT + LENGTH * (1 - s), 150], [LEFT + LENGTH * (1 - s), 270]]),
                         distance_mm=LENGTH * s, curvature_per_mm=0.0, inside_mm=120.0, outside_mm=123.0,
                         hollow_mm=1.0, rounding_mm=0.0, stock_mm=26.0, thickness_mm=25.0,
                         bevels_deg={}, growths_mm={}, known={}, profile=np.zeros((4, 2)))
                 for k, s in enumerate(np.linspace(0.05, 0.95, count)))


def make_board(kind, *, sections=(), face="inboard", includes=("bevel", "seam")):
    drawn = shape_face(none, none, rake=FACES[kind].get("rake", 0.0))
    plank = make_plank(drawn[0], drawn[2].reverse(), drawn[3].reverse(), drawn[1], face=face)
    return plank, Board(drawn, shape_face(**FACES[kind]), sections=sections, seam=Seam("sixteenth", "", 1.6, "both"),
                        thickness_mm=25.0, stock_mm=27.0,
                        stock_name="5/4", length_added_mm=1.0, turn_deg=2.0, includes=includes, face=face)


def make_polygon(curves):
    return shapely.Polygon(flatten_outline(curves, tolerance_mm=1e-4))


# -- refusals ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("value", [-0.1, MOST_MM + 1, float("nan")])
def test_allowances_are_refused_as_without_a_board(value):
    plank, board = make_board("wider all along")
    with pytest.raises(SettingError, match="fore"):
        add_allowances(plank, added_mm=dict(ADDED, fore=value), board=board)


def test_faces_that_run_opposite_ways_are_refused():
    plank, board = make_board("wider all along")
    turned = tuple(c.reverse() for c in board.other_face[::-1])
    with pytest.raises(PatternError, match="same way round"):
        add_allowances(plank, added_mm=ADDED, board=dataclasses.replace(board, other_face=turned))


def test_a_face_too_hollow_for_the_allowance_is_refused_with_the_place():
    """The lower edge is cut out 60 mm deep by 60 / (1 + (x / 40)^2): radius 13.3 at its crown."""
    hollow = draw_graph(lambda x: 200 - 60 / (1 + ((x - 600) / 40) ** 2), lambda x: 60 * 2 * (x - 600) / 1600
                        / (1 + ((x - 600) / 40) ** 2) ** 2, 1200.0, 0.0, tolerance_mm=2e-3)
    top = make_line((1200, 0), (0, 0))
    plank = make_plank(top, hollow, make_line(top.start, hollow.start), make_line(top.end, hollow.end))
    board = Board(tuple(plank.outline()), tuple(plank.outline()), sections=(), seam=Seam(), thickness_mm=25.0,
                  stock_mm=27.0, stock_name="", length_added_mm=0.0, turn_deg=0.0, includes=())
    with pytest.raises(PatternError, match=r"radius of 13\.[345]") as caught:
        add_allowances(plank, added_mm=dict(ADDED, lower=20.0), board=board)
    assert caught.value.where == pytest.approx((600, 140), abs=1)


# -- the line ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("added", [ADDED, {"upper": 0.0, "lower": 0.0, "fore": 0.0, "aft": 0.0},
                                   {"upper": 10.0, "lower": 0.0, "fore": 50.0, "aft": 0.0}],
                         ids=["usual", "none", "uneven"])
@pytest.mark.parametrize("kind", FACES)
def test_both_faces_lie_inside_with_the_allowance_and_no_more(kind, added):
    plank, board = make_board(kind)
    saw = add_allowances(plank, added_mm=added, board=board)
    sawn = make_polygon(saw.curves)
    assert sawn.is_valid
    for face in (board.drawn_face, board.other_face):
        assert sawn.buffer(0.01).contains(make_polygon(face))
    for name, cut, *pair in zip(LOOP, saw.curves, board.drawn_face, board.other_face):
        lines = [shapely.LineString(c.flatten(tolerance_mm=1e-4)) for c in pair]
        # corners are mitred, so an edge of the saw line runs on past the face beside it: measured where both are
        # abreast
        places = [shapely.Point(p) for p in cut.evaluate(np.linspace(0, len(cut.cubics), 120))]
        away = np.array([[line.distance(p) for line in lines] for p in places])
        abreast = np.array([all(1.0 < line.project(p) < line.length - 1.0 for line in lines) for p in places])
        assert abreast.sum() > 30 and away.min() >= added[name] - 0.01
        assert away[abreast].min(axis=1) == pytest.approx(np.full(abreast.sum(), added[name]), abs=0.02)


@pytest.mark.parametrize("kind", FACES)
def test_no_more_wood_than_the_union_of_both_faces_needs(kind):
    """Against the two faces grown by shapely: along the edges the saw line leaves nothing over; at the corners its
    mitres do.
    """
    plank, board = make_board(kind)
    saw = add_allowances(plank, added_mm=dict.fromkeys(ADDED, 5.0), board=board)
    grown = shapely.union_all([make_polygon(f).buffer(5.0, join_style="mitre", mitre_limit=10.0)
                               for f in (board.drawn_face, board.other_face)])
    sawn = make_polygon(saw.curves)
    assert grown.difference(sawn).area < 0.02 * (2 * LENGTH)
    assert sawn.difference(grown).area < 0.02 * (2 * LENGTH) + 4 * 6.0 * 6.0


@pytest.mark.parametrize("kind, most", [("wider all along", 12), ("changes over once", 30), ("changes over often", 80)])
def test_few_cubics(kind, most):
    plank, board = make_board(kind)
    saw = add_allowances(plank, added_mm=ADDED, board=board)
    assert sum(len(c.cubics) for c in saw.curves) <= most + sum(
        len(c.cubics) for f in (board.drawn_face, board.other_face) for c in f)
    assert [tuple(a.end) for a in saw.curves] == [tuple(b.start) for b in saw.curves[1:] + saw.curves[:1]]


def test_the_same_faces_give_the_line_as_without_a_board():
    plank, board = make_board("the same")
    with_board, without = (add_allowances(plank, added_mm=ADDED, board=b).curves for b in (board, None))
    for a, b in zip(with_board, without):
        assert max(b.find_nearest(p)[1] for p in a.evaluate(np.linspace(0, len(a.cubics), 50))) < 0.012


def test_wood_on_a_hood_end_shows_in_the_length():
    """25 mm on the fore end of a straight plank 1000 long, and none aft, makes 1025; 4 mm more where the other face
    reaches farther forward.
    """
    plank = make_straight_plank(fore=80.0, aft=80.0)
    saw = add_allowances(plank, added_mm={"upper": 0.0, "lower": 0.0, "fore": 25.0, "aft": 0.0})
    assert np.ptp(np.vstack([c.flatten() for c in saw.curves]), axis=0) == pytest.approx((1025, 80), abs=1e-6)
    longer = make_straight_plank(length=1004.0, fore=80.0, aft=80.0)
    board = Board(tuple(plank.outline()), tuple(longer.outline()), sections=(), seam=Seam(), thickness_mm=25.0,
                  stock_mm=27.0, stock_name="", length_added_mm=0.0, turn_deg=0.0, includes=("bevel",))
    saw = add_allowances(plank, added_mm={"upper": 0.0, "lower": 0.0, "fore": 25.0, "aft": 0.0}, board=board)
    assert np.ptp(np.vstack([c.flatten() for c in saw.curves]), axis=0) == pytest.approx((1029, 80), abs=1e-6)


# -- the words --------------------------------------------------------------------------------------------------------

def find_row(saw, start):
    found = [r for r in saw.rows if r.startswith(start)]
    assert len(found) == 1, saw.rows
    return found[0]


def test_without_a_board_the_rows_say_what_is_not_counted():
    saw = add_allowances(make_bowed_plank(), added_mm=ADDED)
    assert saw.includes == () and "DRAWN FACE ALONE" in saw.rows[0]
    row = find_row(saw, "COUNTED")
    assert row == "COUNTED: WOOD FOR SAW AND ENDS. NOT COUNTED: BEVEL, HOLLOW, SEAM, LENGTH IN BENDING, SWELLING."


def test_with_a_board_the_rows_say_what_is_counted():
    plank, board = make_board("wider all along", includes=("bevel", "hollow", "seam", "bend"))
    saw = add_allowances(plank, added_mm=ADDED, board=board)
    assert saw.includes == ("bevel", "hollow", "seam", "bend") and "BOTH FACES" in saw.rows[0]
    told = "COUNTED: WOOD FOR SAW AND ENDS, BEVEL, HOLLOW, SEAM, LENGTH IN BENDING. NOT COUNTED: SWELLING."
    assert find_row(saw, "COUNTED") == told
    assert all(row == row.upper() and row.endswith(".") for row in saw.rows)


@pytest.mark.parametrize("face, wide, narrow", [("inboard", "INSIDE", "OUTSIDE"), ("outboard", "OUTSIDE", "INSIDE")])
def test_the_wood_to_come_off_stands_on_the_narrower_face(face, wide, narrow):
    """Where the other face reaches farther out, a square edge leaves its wood on the drawn face."""
    for kind, proud in (("wider all along", wide), ("narrower all along", narrow)):
        plank, board = make_board(kind, face=face)
        saw = add_allowances(plank, added_mm=ADDED, board=board)
        assert find_row(saw, "UPPER EDGE") == "UPPER EDGE: 3 MM ALL ALONG OFF THE %s FACE." % proud
        assert find_row(saw, "LOWER EDGE").startswith("LOWER EDGE: 2 TO 3 MM OFF THE %s FACE, MOST " % proud)
        assert find_row(saw, "FORE END") == "FORE END: 1 MM ALL ALONG OFF THE %s FACE." % proud


def test_the_change_of_face_is_named_by_station():
    """6 (s - 0.4) changes at s = 0.4, between 10 (0.32) and 11 (0.41), nearer than 0.15 of a space to 11; -4 (s - 0.6)
    at 0.6, between 13 (0.59) and 14.
    """
    plank, board = make_board("changes over once", sections=make_sections())
    saw = add_allowances(plank, added_mm=ADDED, board=board)
    upper, lower = find_row(saw, "UPPER EDGE"), find_row(saw, "LOWER EDGE")
    assert (upper == "UPPER EDGE: UP TO 3.6 MM OFF THE INSIDE FACE, MOST AFT OF STATION 17; UP TO 2.4 MM OFF THE "
                     "OUTSIDE FACE, MOST FORWARD OF STATION 7. IT CHANGES FACE AT STATION 11.")
    assert lower.endswith(
        "IT CHANGES FACE AT STATION 13.") and "2.4 MM OFF THE INSIDE FACE, MOST FORWARD OF STATION 7" in lower
    between = add_allowances(plank, added_mm=ADDED, board=dataclasses.replace(board, sections=make_sections(7)))
    assert find_row(between, "UPPER EDGE").endswith("IT CHANGES FACE BETWEEN STATIONS 9 AND 10.")


def test_without_stations_places_are_told_from_the_fore_end():
    plank, board = make_board("changes over once")
    row = find_row(add_allowances(plank, added_mm=ADDED, board=board), "UPPER EDGE")
    told = float(row.rsplit("FACE ", 1)[1].split(" MM FROM THE FORE END")[0])
    assert told == pytest.approx(0.4 * LENGTH, abs=5)


def test_an_edge_with_nothing_to_plane_says_so():
    plank, board = make_board("the same for a half")
    assert find_row(add_allowances(plank, added_mm=ADDED, board=board),
                    "LOWER EDGE") == "LOWER EDGE: SQUARE, NOTHING TO PLANE BUT THE ALLOWANCE."


def test_room_for_swelling_comes_off_both_faces_of_a_board():
    """A board 120 mm wide, both faces the same, tangential 6 %, from 0 to 30 %: it grows by 6/94 of its width, half of
    it at each edge.
    """
    plank, board = make_board("the same")
    swelling = SwellingSettings("own wood", hanging_percent=15, afloat_percent=30, room=True, tangential_percent=6.0,
                                radial_percent=3.0)
    share = 15 / (3000 / 6.0 - 30 + 15)
    saw = add_allowances(plank, added_mm=dict(ADDED, upper=1.0), board=board, swelling=swelling)
    assert saw.includes == ("bevel", "seam", "swelling")
    cut, face = saw.curves[0], shapely.LineString(board.drawn_face[0].flatten(tolerance_mm=1e-4))
    middle = cut.evaluate([len(cut.cubics) / 2])[0]
    assert make_polygon(board.drawn_face).contains(shapely.Point(middle))
    assert face.distance(shapely.Point(middle)) == pytest.approx(share * 120 / 2 - 1.0, abs=0.03)
