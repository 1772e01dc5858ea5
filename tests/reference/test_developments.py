"""Planks of cylinders and cones, which unroll exactly: what the readings at the frames make of a pattern, held against
the surfaces themselves.

The formulas are standard (M. do Carmo, Differential Geometry of Curves and Surfaces; D. Struik, Lectures on Classical
Differential Geometry: from memory, not checked): a cylinder of radius R unrolls by (z, azimuth) to (z, R azimuth), a
cone of half angle a to a sector whose polar radius is the slant and whose angle is the azimuth times sin a. A surface
moved outward by d along its normals makes a cylinder of R + d, and of a cone the same cone with every slant longer by d
cot a. A bent board keeps its length half-way through its thickness (theory of beams). Each pattern below is the
unrolled surface half-way through the pattern; each truth is worked out from the surfaces in space. Numbers beside a
check are computed by hand from these formulas.
"""
import numpy as np
import pytest
from shapes import draw_graph, make_arc, make_plank

from plankcore.geometry.bezier import fit_cubics
from plankcore.geometry.curve import Curve, make_line
from plankcore.geometry.polyline import measure_distance_mm
from plankcore.section.board import BoardSettings, make_board
from plankcore.stations.strike import StationSettings, strike_stations

ALLOWED_MM = 0.05
EMPTY = dict.fromkeys(("radius", "hollow", "width", "upper bevel", "lower bevel", "upper angle", "lower angle",
                       "bend", "twist", "note"))
EXACT = {"honest_hollow_mm": 0.01, "honest_bevel_deg": 0.01}


def read_at(stations, **kinds):
    """Rows of a table: each kind a function of the distance from the fore end."""
    return [{**EMPTY, "frame": s.label, "row": k + 2,
             **{name.replace("_", " "): f(s.distance_mm) for name, f in kinds.items()}} for k, s in enumerate(stations)]


def lay(plank, *, first=115.0, spacing=230.0, settings=None, **kinds):
    stations, _ = strike_stations(plank, settings=StationSettings(first_mm=first, spacing_mm=spacing))
    return make_board(plank, stations, read_at(stations, **kinds),
                      settings=BoardSettings(**{**EXACT, **(settings or {})}))


def sample(curve, count=400):
    return curve.evaluate(np.linspace(0, len(curve.cubics), count))


def list_corners(face):
    """Upper fore, upper aft, lower aft, lower fore."""
    return np.array([c.start for c in face])


# -- a plank that lies along a cylinder: round across, straight along --------------------------------------------------

R, T, P, LENGTH = 300.0, 25.0, 3.0, 2000.0


def wave(z):
    """Half the azimuth of a plank whose edges swell amidships, 60 to 75 mm from the middle."""
    return 0.2 + 0.05 * np.sin(np.pi * z / LENGTH)


def slope(z):
    return 0.05 * np.pi / LENGTH * np.cos(np.pi * z / LENGTH)


def along_cylinder(radius, *, face="inboard", forward="right"):
    """The unrolled pattern on a radius; bow to the right, z counted from the bow."""
    def edge(sign):
        return draw_graph(lambda x: sign * radius * wave(LENGTH - x), lambda x: -sign * radius * slope(LENGTH - x),
                          LENGTH, 0.0)
    upper, lower = edge(-1), edge(1)
    return make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end), face=face,
                      forward=forward, thickness_mm=T)


@pytest.mark.parametrize("face, drawn, other", [("inboard", R, R + T), ("outboard", R + T, R)])
def test_a_plank_along_a_cylinder_has_the_projected_arcs_for_its_faces(face, drawn, other):
    """Seen square to the board a corner at the azimuth a lies R sin a off the middle inside, (R + t) sin a outside; its
    bevel is a.
    """
    board = lay(along_cylinder(drawn + P / 2, face=face), radius=lambda d: R)
    z = np.linspace(0, LENGTH, 2001)
    for face_curves, radius in ((board.drawn_face, drawn), (board.other_face, other)):
        truth = np.stack([LENGTH - z, -radius * np.sin(wave(z))], 1)
        for curve, sign in ((face_curves[0], 1), (face_curves[2], -1)):
            assert measure_distance_mm(sample(curve)[2:-2], truth * [1, sign]).max() < ALLOWED_MM
        assert np.ptp(list_corners(face_curves)[:, 0]) == pytest.approx(LENGTH, abs=ALLOWED_MM)
    for section in board.sections:
        a = wave(section.distance_mm)
        assert section.bevels_deg == pytest.approx({"upper": np.degrees(a), "lower": np.degrees(a)}, abs=1e-3)
        assert (section.inside_mm, section.outside_mm) == pytest.approx((2 * R * np.sin(a), 2 * (R + T) * np.sin(a)),
                                                                        abs=1e-3)
        assert section.stock_mm == pytest.approx(
            R + T - R * np.cos(a), abs=1e-3) and section.hollow_mm == pytest.approx(R - R * np.cos(a), abs=1e-3)


def test_a_hollow_cylinder_turns_all_of_it_round():
    """In a hollow of 300 mm the pattern's middle lies at 298.5, the outside at 275: bevels and growths are negative,
    the outside narrower.
    """
    board = lay(along_cylinder(R - P / 2), radius=lambda d: -R)
    z = np.linspace(0, LENGTH, 2001)
    for curves, radius in ((board.drawn_face, R), (board.other_face, R - T)):
        assert measure_distance_mm(sample(curves[0])[2:-2],
                                   np.stack([LENGTH - z, -radius * np.sin(wave(z))], 1)).max() < ALLOWED_MM
    for section in board.sections:
        a = wave(section.distance_mm)
        assert section.bevels_deg["upper"] == pytest.approx(-np.degrees(a), abs=1e-3)
        assert section.stock_mm == pytest.approx(R - (R - T) * np.cos(a), abs=1e-3)


def test_an_end_cut_by_a_plane_at_45_degrees_is_a_circle_seen_square_to_the_board():
    """The plane's cut lies at z = R cos(azimuth), on the unrolled pattern R cos(x / R): of R = 100 at x = 50 that is
    87.7583. Seen square to the board it lies R sin(azimuth) off the middle: a circle of R."""
    radius, half = 100.0, 50.0
    assert radius * np.cos(half / radius) == pytest.approx(87.7583, abs=1e-4)

    def cut(u, derivative):
        return np.stack([-radius * np.cos(u / radius), u] if derivative == 0
                        else [np.sin(u / radius), np.ones_like(u)], 1)
    aft = Curve(fit_cubics(cut, -half, half, tolerance_mm=1e-4))
    fore = make_line((1500.0, -half), (1500.0, half))
    plank = make_plank(make_line(fore.start, aft.start), make_line(fore.end, aft.end), fore, aft, thickness_mm=10.0)
    board = lay(plank, settings={"pattern_mm": 0.0}, radius=lambda d: radius)
    points = sample(board.drawn_face[1])
    assert np.hypot(*points.T) == pytest.approx(np.full(len(points), radius), abs=ALLOWED_MM)
    assert np.abs(points[:, 1]).max() == pytest.approx(radius * np.sin(0.5), abs=ALLOWED_MM)


# -- round a cylinder: bent along, flat across -------------------------------------------------------------------------

@pytest.mark.parametrize("face, drawn", [("inboard", 0.0), ("outboard", T)])
@pytest.mark.parametrize("bend", [1200.0, -3000.0])
def test_a_plank_round_a_cylinder_is_as_long_as_its_middle(face, drawn, bend):
    """Through one third of a radian a board on 1200 mm is (1200 + 12.5) / 3 long, on the inside of 3000 (3000 - 12.5) /
    3.
    """
    turn, sign = 1.0 / 3.0, np.sign(bend)
    length = turn * abs(bend + drawn + P / 2)
    plank = make_plank(*(make_line(a, b) for a, b in (((length, 0), (0, 0)), ((length, 120), (0, 120)), (
        (length, 0), (length, 120)), ((0, 0), (0, 120)))), face=face, thickness_mm=T)
    board = lay(plank, bend=lambda d: bend)
    for curves in (board.drawn_face, board.other_face):
        assert np.ptp(list_corners(curves), axis=0) == pytest.approx((turn * abs(bend + T / 2), 120.0), abs=ALLOWED_MM)
    assert board.length_added_mm == pytest.approx(turn * abs(bend + T / 2) - length, abs=ALLOWED_MM)
    assert board.turn_deg == pytest.approx(sign * np.degrees(turn), abs=1e-3)
    assert [s.strain for s in board.sections] == pytest.approx([0.0] * len(board.sections), abs=1e-9)


# -- cones -------------------------------------------------------------------------------------------------------------

def sector(inner, outer, angle):
    """A plank that is a ring sector about the origin, symmetrical about the upright line, the outer arc uppermost, bow
    to the right.
    """
    def arc(radius):
        return make_arc(radius, -np.pi / 2 + angle / 2, -np.pi / 2 - angle / 2)
    upper, lower = arc(outer), arc(inner)
    return make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end),
                      thickness_mm=T)


def find_slant(surface_half_angle, slant, moved):
    """Slant of a point of a cone that is moved outward along its normals."""
    return slant + moved / np.tan(surface_half_angle)


@pytest.mark.parametrize("half_angle, slants, azimuth",
                         [(np.radians(30), (2900.0, 3050.0), 1.2), (np.radians(75), (4000.0, 4120.0), 0.5),
                          (np.arcsin(1000 / 3162.27766), (3162.28, 3312.28), 1.5)])
def test_a_plank_round_a_cone_is_the_same_sector_of_longer_slants(half_angle, slants, azimuth):
    """Across, a cone's generators are straight; along, the curvature is cot(half angle) / slant. The third is a strake
    of the frustum with end radii 1000 and 2000 and height 3000, whose unrolled radii are 3162.28 and 6324.56."""
    angle = azimuth * np.sin(half_angle)
    pattern = [find_slant(half_angle, s, P / 2) for s in slants]
    board = lay(sector(*pattern, angle), bend=lambda d: float(np.mean(slants)) * np.tan(half_angle))
    truth = [find_slant(half_angle, s, T / 2) for s in slants]
    # the middle of the run stays where it was: the sector's centre has moved
    centre = np.array([0.0, np.mean(truth) - np.mean(pattern)])
    for curves in (board.drawn_face, board.other_face):
        for curve, radius in ((curves[0], truth[1]), (curves[2], truth[0])):
            points = sample(curve) - centre
            assert np.abs(np.hypot(*points.T) - radius).max() < ALLOWED_MM
            assert np.ptp(np.arctan2(points[:, 0], -points[:, 1])) == pytest.approx(angle, abs=ALLOWED_MM / radius)


def test_a_plank_between_two_generators_of_a_cone_is_flat_between_them():
    """Both generators and the apex lie in one plane: the board's inside is the triangle with the slants for sides and
    sin(half its angle) = sin(a) sin(half the azimuth); an edge square to the surface leans by the angle between the
    cone's normal there and the plane's."""
    a, azimuth, slants = np.radians(20), 0.30, (1500.0, 3700.0)
    half = azimuth * np.sin(a) / 2
    pattern = [find_slant(a, s, P / 2) for s in slants]
    tip = np.array([pattern[1] * np.cos(half), 0.0])

    def corner(slant, sign):
        return tip - slant * np.array([np.cos(half), -sign * np.sin(half)])
    upper, lower = (make_line(corner(pattern[0], s), corner(pattern[1], s)) for s in (-1, 1))
    plank = make_plank(upper, lower, make_line(upper.start, lower.start), make_line(upper.end, lower.end),
                       thickness_mm=T)
    begin = float(upper.start[0])
    # slant of the place in the middle of the plank, on the inside; the radius across of a section square to the surface
    # is slant times tan a frames near the ends: what is not read is held, and here the radius changes
    board = lay(plank, first=10.0, spacing=217.0, radius=lambda d: (tip[0] - begin + d - P / 2 / np.tan(a)) * np.tan(a))
    normal = np.array([np.cos(a) * np.cos(azimuth / 2), np.cos(a) * np.sin(azimuth / 2), -np.sin(a)])
    ways = [np.array([np.sin(a) * np.cos(azimuth / 2), s * np.sin(a) * np.sin(azimuth / 2), np.cos(a)])
            for s in (1, -1)]
    flat = np.cross(*ways)
    flat = flat / np.linalg.norm(flat) * np.sign(flat[0])
    flat_half = np.arcsin(np.sin(a) * np.sin(azimuth / 2))
    bevel = np.arccos(normal @ flat)
    inside = list_corners(board.drawn_face)
    for k, (i, j) in enumerate(((0, 1), (3, 2))):
        assert np.hypot(*(inside[j] - inside[i])) == pytest.approx(slants[1] - slants[0], abs=ALLOWED_MM)
    assert np.hypot(*(inside[0] - inside[3])) == pytest.approx(2 * slants[0] * np.sin(flat_half), abs=ALLOWED_MM)
    assert np.hypot(*(inside[1] - inside[2])) == pytest.approx(2 * slants[1] * np.sin(flat_half), abs=ALLOWED_MM)
    for k in (0, 2):
        apart = measure_distance_mm(sample(board.other_face[k])[4:-4], sample(board.drawn_face[k]))
        assert apart == pytest.approx(np.full(len(apart), T * np.sin(bevel)), abs=ALLOWED_MM)
    for section in board.sections:
        assert section.bevels_deg["upper"] == pytest.approx(np.degrees(bevel), abs=0.05)


def test_half_the_cone_of_3_4_5_spans_108_degrees():
    """A cone 4 high on a radius of 3 unrolls to 216 degrees; half of it, bent round a radius of slant times tan a,
    turns by 108.
    """
    a = np.arctan2(3, 4)
    slants = (480.0, 500.0)
    pattern = [find_slant(a, s, P / 2) for s in slants]
    plank = sector(*pattern, np.pi * np.sin(a))
    assert np.degrees(np.pi * np.sin(a)) == pytest.approx(108)
    board = lay(plank, first=45.0, spacing=90.0, bend=lambda d: 490.0 * np.tan(a))
    # the plank turns about its own run through the azimuth times cos a, as the cone's normal does
    assert board.turn_deg == pytest.approx(180 * np.cos(a), abs=0.05)


# -- aslant over a cylinder --------------------------------------------------------------------------------------------

@pytest.mark.parametrize("radius, lean", [(1500.0, 30.0), (1500.0, 60.0), (2500.0, 15.0)])
def test_a_plank_aslant_over_a_cylinder_has_no_strain_and_the_length_of_its_helix(radius, lean):
    """Curvature along sin^2 / R, across cos^2 / R, twist sin cos / R: their strain cancels. The board is as long as the
    helix half-way through it; its ends shear by twist times (t - p), which is left out and is no more than that."""
    b, length, width = np.radians(lean), 2000.0, 100.0
    plank = make_plank(*(make_line(p, q) for p, q in (((length, 0), (0, 0)), ((length, width), (0, width)), (
        (length, 0), (length, width)), ((0, 0), (0, width)))), thickness_mm=T)
    turns = {"radius": lambda d: radius / np.cos(b) ** 2, "bend": lambda d: radius / np.sin(b) ** 2,
                 "twist": lambda d: np.degrees(np.sin(b) * np.cos(b) / radius) * 1000}
    board = lay(plank, **turns)
    assert max(abs(s.strain) for s in board.sections) < 1e-9
    z, azimuth = length * np.cos(b), length * np.sin(b) / (radius + P / 2)
    middle = np.hypot(z, (radius + T / 2) * azimuth)
    assert board.length_added_mm == pytest.approx(middle - length, abs=ALLOWED_MM)
    # the true flat board: the pattern's points on the surface half-way through the plank
    turned = np.array([[np.cos(b), np.sin(b)], [-np.sin(b), np.cos(b)]])
    grown = (1 + (T - P) / 2 / (radius + P / 2))
    ends = np.array([[0.0, width / 2], [0.0, -width / 2]]) @ turned * [1, grown]
    run = np.array([np.cos(b), np.sin(b) * grown])
    shear = abs((ends[0] - ends[1]) @ run / np.hypot(*run))
    assert shear == pytest.approx(np.sin(b) * np.cos(b) / radius * (T - P) * width, rel=0.02)
    assert shear < 1.0


def test_the_helix_over_a_quarter_turn():
    """On a cylinder of 300 mm a quarter turn over a height of 1000 is 1105.471 long: a plank of 6 mm whose middle lies
    there, from a thin pattern on its inside.
    """
    assert np.hypot(1000.0, 300 * np.pi / 2) == pytest.approx(1105.471, abs=1e-3)
    t, inside = 6.0, 297.0
    length, b = np.hypot(1000.0, inside * np.pi / 2), np.arctan2(inside * np.pi / 2, 1000.0)
    plank = make_plank(*(make_line(p, q) for p, q in (((length, 0), (0, 0)), ((length, 60), (0, 60)),
                                                      ((length, 0), (length, 60)), ((0, 0), (0, 60)))), thickness_mm=t)
    board = lay(plank, settings={"pattern_mm": 0.0}, bend=lambda d: inside / np.sin(b) ** 2)
    assert length + board.length_added_mm == pytest.approx(1105.471, abs=ALLOWED_MM)
