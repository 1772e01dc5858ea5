"""Lines, circles and small shapes: closed forms, second opinions, and errors against repeats."""
import numpy as np
import pytest
from shapes import draw_rectangle, turn

from plankcore.geometry.convex import find_hull
from plankcore.geometry.correlated_errors import propagate_error, trim_residuals
from plankcore.geometry.polyline import measure_arc_mm, measure_area_mm2, resample_polyline
from plankcore.geometry.shape_fits import fit_bow, fit_circle, fit_held_circle, fit_line
from plankcore.geometry.small_shapes import (
    cross_lines,
    find_middle_line,
    find_rectangle,
    find_thickness_mm,
    fit_sides,
    split_slender,
)

# NIST Norris, StRD linear regression (https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml): y, x; values from
# memory, checked by the certified intercept, slope and residual deviation below
NORRIS = np.array([0.1, 0.2, 338.8, 337.4, 118.1, 118.2, 888.0, 884.6, 9.2, 10.1, 228.1, 226.5, 668.5, 666.3, 998.5,
                   996.3, 449.1, 448.6, 778.9, 777.0,
                   559.2, 558.2, 0.3, 0.4, 0.1, 0.6, 778.1, 775.5, 668.8, 666.9, 339.3, 338.0, 448.9, 447.5, 10.8,
                   11.6, 557.7, 556.0, 228.3, 228.1,
                   998.0, 995.8, 888.8, 887.6, 119.6, 120.2, 0.3, 0.3, 0.6, 0.3, 557.6, 556.8, 339.3, 339.1, 888.0,
                   887.2, 998.5, 999.0, 778.9, 779.0,
                   10.2, 11.1, 117.6, 118.3, 228.9, 229.2, 668.4, 669.1, 449.2, 448.9, 0.2, 0.5]).reshape(-1, 2)


def make_arc(radius, first_deg, last_deg, count, centre=(0.0, 0.0)):
    a = np.radians(np.linspace(first_deg, last_deg, count))
    return np.asarray(centre) + radius * np.column_stack([np.cos(a), np.sin(a)])


# -- refusals -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("points",
                         [np.zeros((0, 2)), np.zeros((2, 2)), np.zeros((9, 2)), np.array([[0, 0], [1, 1]], float)])
def test_no_line_through_fewer_than_three_places(points):
    with pytest.raises(ValueError):
        fit_line(points)


def test_no_bow_through_four_points():
    with pytest.raises(ValueError):
        fit_bow(np.column_stack([np.arange(4), np.zeros(4)]))


def test_a_shape_as_wide_as_long_has_no_two_borders():
    with pytest.raises(ValueError, match="too short"):
        split_slender(draw_rectangle(10, 9), thickness_mm=9, step_mm=1)


# -- lines ----------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("degrees", [0, 37, 90, 180, -120])
def test_an_exact_line_is_met_whatever_its_direction(degrees):
    points = turn(np.column_stack([np.linspace(0, 50, 21), np.zeros(21)]), degrees) + (1000, -300)
    line = fit_line(points)
    assert line.direction == pytest.approx(turn([[1, 0]], degrees)[0], abs=1e-12)
    assert line.worst < 1e-10 and line.measure_error(25.0) < 1e-9


def test_the_line_agrees_with_the_smallest_eigenvector():
    """Least squared distances: the normal is the least eigenvector of the scatter matrix (numpy.linalg.eigh)."""
    rng = np.random.default_rng(3)
    points = turn(np.column_stack([np.linspace(0, 50, 80), rng.normal(0, 0.4, 80)]), 25)
    line = fit_line(points, cut=1e9)
    values, ways = np.linalg.eigh(np.cov(points.T))
    assert abs(ways[:, 0] @ line.normal) == pytest.approx(1, abs=1e-12)
    assert line.rms == pytest.approx(np.sqrt(values[0] * 79 / 80))


def test_a_point_far_off_has_no_say():
    points = np.column_stack([np.arange(40.0), np.tile([0.02, -0.02], 20)])
    points[17, 1] = 5.0
    line = fit_line(points)
    assert not line.used[17] and line.used.sum() == 39 and line.worst == pytest.approx(5.0, abs=0.01)
    assert abs(line.direction[1]) < 1e-3 and line.rms < 0.021


def test_covariance_agrees_with_certified_regression():
    """NIST Norris: standard errors 0.232818234301152 and 0.429796848199937e-3, certified (from memory; residual
    deviation 0.884796396144373).
    """
    y, x = NORRIS[:, 0], NORRIS[:, 1]
    design = np.column_stack([np.ones(36), x])
    found = np.linalg.lstsq(design, y, rcond=None)[0]
    assert found == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    residuals = y - design @ found
    assert np.sqrt(residuals @ residuals / 34) == pytest.approx(0.884796396144373, rel=1e-10)
    # one lag: no neighbours err together
    covariance = propagate_error(design, residuals, gammas=np.array([residuals @ residuals / 36]))
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-6)


def test_points_that_err_together_are_not_counted_as_many():
    """Mean of a series made of blocks of m equal values: its variance is that of n/m values, so the error grows by sqrt
    m (6 % of its value is allowed for the estimate's own chance)."""
    rng = np.random.default_rng(8)
    errors, means = [], []
    for _ in range(300):
        series = np.repeat(rng.normal(0, 1, 100), 5)
        means.append(series.mean())
        errors.append(propagate_error(np.ones((500, 1)), series - series.mean())[0, 0])
    assert np.sqrt(np.mean(errors)) / np.std(means) == pytest.approx(1.0, abs=0.15)
    assert np.sqrt(np.mean(errors)) > 1.9 / np.sqrt(500)


def test_trimming_spares_stairs_of_less_than_the_floor():
    assert trim_residuals(np.array([0.0] * 20 + [0.07])).all()
    assert trim_residuals(np.array([0.0] * 20 + [0.09])).tolist() == [True] * 20 + [False]


# -- circles --------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("first, last", [(-90, 90), (10, 40), (200, 290), (0, 12)])
def test_an_exact_arc_gives_its_centre(first, last):
    fit = fit_held_circle(make_arc(40, first, last_deg=last, count=60, centre=(300, 200)), radius=40, start=(303, 196))
    assert fit.centre == pytest.approx((300, 200), abs=1e-7) and fit.worst < 1e-9
    free = fit_circle(make_arc(40, first, last_deg=last, count=60, centre=(300, 200)), start=(302, 197, 38))
    assert free.centre == pytest.approx((300, 200), abs=1e-4) and free.radius == pytest.approx(40, abs=1e-4)


@pytest.mark.parametrize("half_deg", [10.0, 30.0, 80.0])
def test_errors_of_the_centre_follow_the_closed_form(half_deg):
    """s / sqrt(n (1/2 -+ sin 2a / 4a)), from the normal equations of unit vectors spread evenly over an arc of half
    angle a.
    """
    rng = np.random.default_rng(5)
    a, n, s = np.radians(half_deg), 4000, 0.1
    angle = np.linspace(-a, a, n)
    points = (40 + rng.normal(0, s, n))[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    fit = fit_held_circle(points, radius=40, start=(0.5, 0.2))
    radial, tangential = np.sqrt(n * (0.5 + np.sin(2 * a) / (4 * a))), np.sqrt(n * (0.5 - np.sin(2 * a) / (4 * a)))
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([s / radial, s / tangential], rel=0.12)


def test_the_free_circle_agrees_with_scikit_image():
    """skimage.measure.CircleModel fits algebraically (Coope, 1993, doi:10.1007/BF00939613), so a good arc agrees to a
    share of the noise.
    """
    measure = pytest.importorskip("skimage.measure")
    rng = np.random.default_rng(2)
    points = make_arc(40, 0, last_deg=150, count=200, centre=(30, 60)) + rng.normal(0, 0.02, (200, 2))
    ours = fit_circle(points, start=(31, 58, 39))
    if hasattr(measure.CircleModel, "from_estimate"):
        theirs = measure.CircleModel.from_estimate(points)
        centre, radius = theirs.center, theirs.radius
    else:
        theirs = measure.CircleModel()
        assert theirs.estimate(points)
        centre, radius = theirs.params[:2], theirs.params[2]
    assert ours.centre == pytest.approx(centre, abs=2e-3) and ours.radius == pytest.approx(radius, abs=2e-3)


def test_a_bow_is_signed_by_its_side_and_is_the_curvature():
    """Parabola over a short arc: curvature 1/R at its middle; left of travel is positive on a page with y down."""
    # travels down the page (y grows); its centre lies at smaller x, to the right of travel
    arc = make_arc(50, -10, 10, 41)
    bow = fit_bow(arc)
    assert bow.curvature == pytest.approx(-1 / 50, rel=0.02)
    assert fit_bow(arc[::-1]).curvature == pytest.approx(1 / 50, rel=0.02)
    assert bow.point == pytest.approx((50, 0), abs=5e-3) and abs(bow.direction[1]) == pytest.approx(1, abs=1e-6)


# -- small shapes -----------------------------------------------------------------------------------------------------

def test_the_hull_of_a_square_with_points_in_it_is_its_corners():
    points = np.vstack([draw_rectangle(4, 4), [[1, 1], [2, 0], [3, 2]]])
    assert {tuple(p) for p in find_hull(points)} == {(0, 0), (4, 0), (4, 4), (0, 4)}


@pytest.mark.parametrize("degrees", [0, 1, 20, 45, 89, 90, 170, 261])
def test_the_least_rectangle_is_that_of_shapely(degrees):
    """shapely.minimum_rotated_rectangle as second opinion."""
    shapely = pytest.importorskip("shapely")
    rng = np.random.default_rng(degrees)
    points = turn(np.vstack([draw_rectangle(60, 20), rng.uniform((0, 0), (60, 20), (30, 2)), [[-3.0, 10.0]]]),
                  degrees) + (700, 40)
    box = find_rectangle(points)
    assert box.length * box.width == pytest.approx(shapely.minimum_rotated_rectangle(shapely.MultiPoint(points)).area,
                                                   rel=1e-9)
    assert (box.length, box.width) == pytest.approx((63, 20))
    assert abs(box.along @ turn([[1, 0]], degrees)[0]) == pytest.approx(1)
    assert box.centre == pytest.approx(turn([[28.5, 10]], degrees)[0] + (700, 40))


def test_points_in_one_line_have_a_box_without_width():
    box = find_rectangle(np.array([[0, 0], [3, 4], [6, 8]], float))
    assert (box.length, box.width) == (10.0, 0.0) and box.along == pytest.approx((0.6, 0.8))
    assert find_rectangle(np.zeros((3, 2))).length == 0


def test_sides_of_a_rectangle_cross_at_its_corners():
    loop = resample_polyline(turn(draw_rectangle(70, 25), 33), step_mm=0.5, closed=True)
    sides = fit_sides(loop, find_rectangle(loop))
    found = np.array([cross_lines(sides[a], sides[b]) for a in ("ahead", "behind") for b in ("left", "right")])
    for corner in turn(draw_rectangle(70, 25), 33):
        assert np.hypot(*(found - corner).T).min() < 1e-6


def test_a_line_parallel_to_another_crosses_it_nowhere():
    a = fit_line(np.column_stack([np.arange(5.0), np.zeros(5)]))
    assert cross_lines(a, fit_line(np.column_stack([np.arange(5.0), np.ones(5)]))) is None


def test_thickness_and_middle_of_a_slender_shape():
    """A rectangle 120 x 4: length times thickness is its area, their sum half its round."""
    loop = turn(draw_rectangle(120, 4), 12)
    half = measure_arc_mm(np.vstack([loop, loop[:1]]))[-1] / 2
    assert find_thickness_mm(half, abs(measure_area_mm2(loop))) == pytest.approx(4.0)
    first, second = split_slender(loop, thickness_mm=4.0, step_mm=0.5)
    middle = turn(find_middle_line(first, second), -12)
    assert middle[:, 1] == pytest.approx(2.0, abs=0.02) and np.ptp(middle[:, 0]) > 105


@pytest.mark.parametrize("thickness", [0.7, 4.0])
def test_the_middle_of_a_thick_arc_keeps_its_radius(thickness):
    outer, inner = (make_arc(r, -35, 35, 200) for r in (40 + thickness / 2, 40 - thickness / 2))
    loop = np.vstack([outer, inner[::-1]])
    middle = find_middle_line(*split_slender(loop, thickness_mm=thickness, step_mm=0.25))
    assert np.hypot(*middle.T) == pytest.approx(40.0, abs=0.01)


def test_the_middle_of_an_arc_cut_off_askew_keeps_its_radius():
    """One border is 12 degrees shorter: pairing by share of length would bend the middle by 0.2 mm."""
    first, second = make_arc(42, -35, 35, 280), make_arc(38, -35, 23, 220)
    assert np.hypot(*find_middle_line(first, second).T) == pytest.approx(40.0, abs=0.01)
