"""Hollow, stock, bevels, seams and bends of single sections, worked out by hand from the geometry of circles and
triangles.

The formulas, each derived anew and not taken from a handbook: depth of an arc s = R - sqrt(R^2 - c^2/4); on a frame of
radius R with radial edges, half angle a = asin(c / 2R): stock t + R (1 - cos a), outside c (R + t) / R, bevel a,
corners rounded by (R + t)(1 - cos a);
with bevels b on a flat frame the
outside is c + t (tan b1 + tan b2); between flats that meet at the angle f, a tight bevel is f / 2 and a seam g open
outside takes 2 atan(g / 2t) off the two together, atan(g / t) off one alone. The seam of 1/16 in per inch is that of
the Traditional Small Craft Association's rules of thumb.
"""
import numpy as np
import pytest
from shapes import make_plank

from plankcore.geometry.curve import make_line
from plankcore.section.board import BoardSettings, make_board
from plankcore.section.readings import Crossing, read_frames
from plankcore.section.shapes import draw_profile, find_curvature_per_mm, shape_section
from plankcore.stations.strike import StationSettings, strike_stations

IN = 25.4
EMPTY = dict.fromkeys(("radius", "hollow", "width", "upper bevel", "lower bevel", "upper angle", "lower angle",
                       "bend", "twist", "note"))
NO_SEAM = {"upper": 0.0, "lower": 0.0}


def make_board_of(thickness, width=120.0, *, length=1000.0, settings=None, **readings):
    """A board of a straight plank with one station amidships, read as told."""
    corners = [(length, 0.0), (0.0, 0.0), (length, width), (0.0, width)]
    plank = make_plank(*(make_line(corners[i], corners[j]) for i, j in ((0, 1), (2, 3), (0, 2), (1, 3))),
                       thickness_mm=thickness)
    stations, _ = strike_stations(plank, settings=StationSettings(first_mm=length / 2, spacing_mm=length))
    row = {**EMPTY, "frame": "1", "row": 2, **{k.replace("_", " "): v for k, v in readings.items()}}
    return make_board(plank, stations, [row], settings=BoardSettings(**{"widths": "chord", **(settings or {})}))


def section_of(*args, **kinds):
    return make_board_of(*args, **kinds).sections[0]


@pytest.mark.parametrize("radius, chord, depth", [(12, 5, 0.26331), (24, 6, 0.18824), (18, 4.5, 0.14118),
                                                  (300, 120, 6.0612), (3000, 150, 0.93765)])
def test_depth_of_an_arc_both_ways(radius, chord, depth):
    """R - sqrt(R^2 - c^2/4): of R = 12, c = 5 that is 12 - sqrt(137.75) = 0.26331."""
    found = section_of(25.0, float(chord) if chord > 50 else chord * IN,
                       radius=float(radius) if chord > 50 else radius * IN)
    unit = 1.0 if chord > 50 else IN
    assert found.hollow_mm / unit == pytest.approx(depth, abs=6e-6 * max(1, depth))
    assert find_curvature_per_mm(radius - np.sqrt(radius ** 2 - chord ** 2 / 4),
                                 chord) == pytest.approx(1 / radius, rel=1e-9)
    assert section_of(25.0, chord * unit,
                      hollow=found.hollow_mm).curvature_per_mm == pytest.approx(1 / radius / unit, rel=1e-6)


@pytest.mark.parametrize("radius, chord, thickness, stock, outside, bevel",
                         [(12 * IN, 5 * IN, 0.75 * IN, 1.01331 * IN, 5.3125 * IN, 12.0247),
                          (300.0, 120.0, 25.0, 31.0612, 130.0, 11.5370)])
def test_stock_outside_and_bevel_on_a_round_frame(radius, chord, thickness, stock, outside, bevel):
    found = section_of(thickness, chord, radius=radius)
    assert (found.stock_mm, found.outside_mm) == pytest.approx((stock, outside), abs=1e-4 * IN)
    assert found.bevels_deg == pytest.approx({"upper": bevel, "lower": bevel}, abs=1e-4)
    a = np.arcsin(chord / radius / 2)
    assert found.rounding_mm == pytest.approx((radius + thickness) * (1 - np.cos(a)), abs=1e-9)
    assert found.growths_mm["upper"] == pytest.approx(thickness * np.sin(a), abs=1e-9)
    assert found.known["radius"] == "given" and found.known["upper"] == "taken"


def test_a_hollow_frame_takes_its_stock_from_the_other_side():
    """R = -300, c = 120, t = 25: from the middle of the inside to the outside corners 300 - 275 cos(11.537 deg) =
    30.5561; outside 120 x 275 / 300 = 110.
    """
    found = section_of(25.0, 120.0, radius=-300.0)
    assert (found.stock_mm, found.outside_mm) == pytest.approx((30.5561, 110.0), abs=1e-4)
    assert found.hollow_mm == pytest.approx(275 * (1 - np.cos(np.arcsin(0.2))), abs=1e-9)
    assert found.rounding_mm == pytest.approx(6.0612, abs=1e-4)


def test_outside_growth_on_a_radius_of_600():
    """150 x 625 / 600 = 156.25."""
    assert section_of(25.0, 150.0, radius=600.0).outside_mm - 150.0 == pytest.approx(6.25, abs=1e-9)


@pytest.mark.parametrize("thickness, angle, gap, bevel, growth", [
    (IN, 0, IN / 16, -1.790, -0.0312 * IN), (IN, 6, IN / 16, 1.210, 0.0211 * IN),
    (IN, 24, IN / 16, 10.210, 0.1801 * IN), (1.25 * IN, 10, 5 / 64 * IN, 3.210, 0.0701 * IN),
    (IN, -8, IN / 16, -5.790, -0.1014 * IN), (25.0, 8, 2.0, 1.709, 0.746)])
def test_bevels_between_flats_with_a_shared_seam(thickness, angle, gap, bevel, growth):
    """(f - 2 atan(g / 2t)) / 2, and t tan of it: on a flat side it is below nought, at the bilge above."""
    found = section_of(thickness, upper_angle=angle, lower_angle=angle,
                       settings={"seam_rule": "own", "seam_own_mm": gap})
    assert found.bevels_deg == pytest.approx({"upper": bevel, "lower": bevel}, abs=6e-4)
    assert found.growths_mm["lower"] == pytest.approx(growth, abs=0.00006 * IN)
    assert found.outside_mm == pytest.approx(120 + 2 * found.growths_mm["upper"], abs=1e-9)


@pytest.mark.parametrize("thickness, angle, opening",
                         [(IN, 6, 0.10482 * IN), (1.25 * IN, 10, 0.21872 * IN), (25.0, 8, 3.4963)])
def test_a_tight_bevel_fills_what_square_edges_leave_open(thickness, angle, opening):
    """Two square edges between flats at the angle f stand 2 t tan(f / 2) open outside."""
    found = section_of(thickness, upper_angle=angle, lower_angle=angle)
    assert found.growths_mm["upper"] + found.growths_mm["lower"] == pytest.approx(opening, abs=6e-6 * IN)


@pytest.mark.parametrize("thickness, gap", [(2 * IN, IN / 8), (1.25 * IN, 5 / 64 * IN)])
def test_a_sixteenth_to_the_inch(thickness, gap):
    """2 in opens 1/8 in, 1 1/4 in 5/64: 2 atan(1/32) = 3.5798 degrees shared, atan(1/16) = 3.5763 on one edge."""
    both = make_board_of(thickness, settings={"seam_rule": "sixteenth"})
    assert both.seam.gap_mm == pytest.approx(gap, abs=1e-9)
    assert sum(both.sections[0].bevels_deg.values()) == pytest.approx(-3.5798, abs=5e-5)
    for edge, other in (("upper", "lower"), ("lower", "upper")):
        alone = section_of(thickness, settings={"seam_rule": "sixteenth", "seam_share": edge})
        assert alone.bevels_deg[edge] == pytest.approx(-3.5763, abs=5e-5) and alone.bevels_deg[other] == 0.0


def test_an_eighth_to_the_inch():
    """atan(1/8) = 7.125 degrees on one edge."""
    assert section_of(IN, settings={"seam_rule": "eighth", "seam_share": "upper"}).bevels_deg["upper"] == pytest.approx(
        -7.125, abs=5e-4)


@pytest.mark.parametrize("thickness, up, low", [(20.0, 3.0, -5.0), (25.0, 10.0, 0.0)])
def test_the_outside_of_a_flat_plank_with_two_bevels(thickness, up, low):
    found = section_of(thickness, upper_bevel=up, lower_bevel=low)
    assert found.outside_mm == pytest.approx(120 + thickness * (np.tan(np.radians(up)) + np.tan(np.radians(low))),
                                             abs=1e-9)


def test_bevels_that_have_the_seam_in_them_are_left_alone():
    for rule in ("none", "eighth"):
        found = section_of(25.0, upper_bevel=4.0, lower_bevel=-1.0,
                           settings={"seam_rule": rule, "seam_in_bevels": True})
        assert found.bevels_deg == pytest.approx({"upper": 4.0, "lower": -1.0}, abs=1e-9)


def test_an_angle_read_in_the_plane_of_a_frame_30_degrees_askew():
    """tan(f / 2) = tan(10 deg) / cos(30 deg): 23.02 degrees for 20 read. A bevel is half an angle: 10 becomes 11.51."""
    crossing = Crossing("7", np.array([[0.0, 0.0], [0.0, 120.0]]), distance_mm=0.0, width_mm=120.0,
                        askew_rad={"upper": np.radians(30), "lower": 0.0})
    row = {**EMPTY, "frame": "7", "row": 2, "upper angle": 20.0, "lower angle": 20.0}

    def read(row, in_plane):
        return read_frames([row], [crossing], thickness_mm=25.0, face="inboard", pattern_mm=None,
                           in_frame_plane=in_plane)[0][0]
    assert read(row, True).angles_deg == pytest.approx({"upper": 23.02, "lower": 20.0}, abs=5e-3)
    assert read(row, False).angles_deg == {"upper": 20.0, "lower": 20.0}
    assert read({**row, "upper angle": None, "upper bevel": 10.0},
                True).bevels_deg["upper"] == pytest.approx(11.51, abs=3e-3)


@pytest.mark.parametrize("turn, thickness, added, differ",
                         [(np.degrees(0.5), 25.0, 5.5, 12.5), (30.0, 25.0, 5.76, 13.09), (20.0, 19.0, 2.79, 6.63)])
def test_what_a_total_turn_adds(turn, thickness, added, differ):
    """turn (t - p) / 2 with a pattern of 3 mm; inside and outside differ by turn t."""
    board = make_board_of(thickness, length=3000.0, settings={"turn_deg": turn})
    assert board.length_added_mm == pytest.approx(added, abs=6e-3)
    assert board.drawn_face[0].measure_length_mm() == pytest.approx(3000 + board.length_added_mm, abs=1e-6)
    assert "MEASURES %s MM MORE" % ("%.1f" % differ) in " ".join(board.rows)
    assert make_board_of(thickness, length=3000.0,
                         settings={"turn_deg": -turn}).length_added_mm == pytest.approx(-added, abs=6e-3)


def test_a_strip_of_a_sphere_has_short_edges():
    """On a sphere of 1000 a line 75 mm beside a great circle of 3000 measures 3000 cos(0.075) = 2991.566; K w^2 / 8 =
    0.0028125 says 2991.5625.
    """
    board = make_board_of(10.0, 150.0, length=3000.0, radius=1000.0, bend=1000.0)
    assert board.sections[0].strain == pytest.approx(0.0028125, rel=1e-9)
    assert 3000 * (1 - board.sections[0].strain) == pytest.approx(3000 * np.cos(0.075), abs=0.005)
    assert make_board_of(10.0, 150.0, length=3000.0, radius=1000.0,
                         bend=-1000.0).sections[0].strain == pytest.approx(-0.0028125, rel=1e-9)


def test_a_section_between_radial_edges_is_a_sector_of_a_ring():
    """Area of the section by the shoelace rule of many points against that of the sector, a ((R + t)^2 - R^2)."""
    radius, t, a = 200.0, 25.0, np.radians(40)
    shape = shape_section(1 / radius, 2 * radius * np.sin(a), t, bevels_rad={"upper": None, "lower": None},
                          seams_rad=NO_SEAM)
    cubics, inside = draw_profile(shape)
    u = np.linspace(0, 1, 200)[:-1, None]
    p = np.concatenate([c[0] * (1 - u) ** 3 + 3 * c[1] * u * (1 - u) ** 2 + 3 * c[2] * u ** 2 * (1 - u)
                        + c[3] * u ** 3 for c in cubics])
    q = np.roll(p, -1, axis=0)
    assert abs(np.sum(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])) / 2 == pytest.approx(
        a * ((radius + t) ** 2 - radius ** 2), rel=1e-5)
    arc = p[:inside * 199] - np.array([radius * np.sin(a), -radius * np.cos(a)])
    assert np.hypot(*arc.T) == pytest.approx(np.full(len(arc), radius), abs=1e-4)
