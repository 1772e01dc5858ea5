"""Maps of the plane and their fits. Refusals first; shapes are small enough to check by hand."""
import numpy as np
import pytest

from plankcore.geometry.bezier import evaluate_cubics
from plankcore.geometry.map_fits import LengthSet, PointSet, fit_map, limit_chi_square
from plankcore.geometry.map_models import Lens, LensMap
from plankcore.geometry.plane_maps import PlaneMap, fit_affine, fit_homography, fit_similarity, judge_mirror, map_cubics

# those that keep lines straight; the lens has its own tests
KINDS = ("similarity", "scales", "affine", "perspective")
SQUARE = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float)
IN_LINE = np.array([(0, 0), (1, 0), (2, 0), (5, 0)], float)
TILT = PlaneMap([[1.1, 0.1, 5], [0.05, 0.9, 7], [2e-4, -1e-4, 1]])
TRUE_MAPS = {"similarity": PlaneMap([[0.6, -0.8, 30], [0.8, 0.6, -5]]),
             "scales": PlaneMap(np.array([[0.6, -0.8, 30], [0.8, 0.6, -5]]) @ np.diag([1.2, 0.9, 1.0])),
             "affine": PlaneMap([[1.2, 0.3, 4], [-0.1, 0.8, 9]]), "perspective": TILT}
SIZES = {"similarity": 4, "scales": 5, "affine": 6, "perspective": 8}


def spread_points(count, seed=1, size=1000.0):
    return np.random.default_rng(seed).uniform(0, size, (count, 2))


def give(source, target, error=0.3, frames=()):
    return PointSet(source, target, np.full(len(source), error), frames)


def lengths_between(source, target, pairs, error=0.3):
    return LengthSet([[source[i], source[j]] for i, j in pairs],
                     [np.hypot(*(target[i] - target[j])) for i, j in pairs], np.full(len(pairs), error))


ALL_PAIRS = [(i, j) for i in range(8) for j in range(i)]


@pytest.mark.parametrize("matrix",
                         [np.eye(2), np.full((3, 3), np.nan), np.diag([1.0, 1.0, 0.0]), np.full((2, 3), np.inf)])
def test_a_matrix_that_is_no_map_is_refused(matrix):
    with pytest.raises(ValueError):
        PlaneMap(matrix)


@pytest.mark.parametrize("fit, source", [(fit_similarity, SQUARE[:1]), (fit_similarity, np.ones((3, 2))),
                                         (fit_affine, SQUARE[:2]), (fit_affine, IN_LINE), (fit_homography, SQUARE[:3]),
                                         (fit_homography, IN_LINE),
                                         (fit_homography, np.array([(0, 0), (1, 0), (2, 0), (0, 1.0)])),
                                         (fit_homography, np.ones((4, 2)))])
def test_points_that_do_not_settle_a_map_are_refused(fit, source):
    with pytest.raises(ValueError):
        fit(source, 3 * source + 1)


@pytest.mark.parametrize("kind, source",
                         [("similarity", SQUARE[:1]), ("similarity", np.ones((3, 2))), ("scales", IN_LINE),
                          ("scales", SQUARE[:2]), ("affine", IN_LINE), ("affine", SQUARE[:2]),
                                          ("perspective", SQUARE[:3]),
                          ("perspective", np.array([(0, 0), (1, 0), (2, 0), (0, 1.0)])),
                          ("similarity", np.zeros((0, 2)))])
def test_observations_that_leave_a_fit_open_are_refused(kind, source):
    with pytest.raises(ValueError):
        fit_map(kind, give(source, 2 * source))


@pytest.mark.parametrize("kind, pairs",
                         [("scales", [(0, 1)]), ("scales", [(0, 1), (3, 2)]), ("affine", [(0, 1), (0, 3)]),
                          ("affine", [(0, 1), (3, 2), (0, 3)]), ("perspective", ALL_PAIRS[:3])])
def test_lengths_all_one_way_leave_the_other_open(kind, pairs):
    with pytest.raises(ValueError):
        fit_map(kind, PointSet(), lengths_between(SQUARE, SQUARE, pairs))


def test_a_map_and_its_inverse_and_its_slopes():
    points = spread_points(9)
    assert TILT.invert().apply(TILT.apply(points)) == pytest.approx(points, abs=1e-9)
    assert TILT.compose(TILT.invert()).matrix == pytest.approx(np.eye(3), abs=1e-12)
    step = np.array([1e-4, 0])
    assert (TILT.apply(points + step) - TILT.apply(points - step)) / 2e-4 == pytest.approx(
        TILT.differentiate(points)[:, :, 0], abs=1e-6)
    plain = PlaneMap(TILT.linearise(points[0]))
    assert plain.apply(points[0]) == pytest.approx(TILT.apply(points[0])) and plain.is_affine and not TILT.is_affine
    assert plain.differentiate(points[3]) == pytest.approx(TILT.differentiate(points[0]))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("count", [4, 8])
def test_points_without_error_give_the_map_back(kind, count):
    source = spread_points(count)
    fit = fit_map(kind, give(source, TRUE_MAPS[kind].apply(source)))
    assert fit.plane_map.matrix == pytest.approx(TRUE_MAPS[kind].matrix, rel=1e-7, abs=1e-9)
    assert fit.freedom == 2 * count - SIZES[kind] and np.abs(fit.point_residuals).max() < 1e-7
    assert fit.sigma0 is None if fit.freedom == 0 else fit.sigma0 < 1e-6


@pytest.mark.parametrize("kind", KINDS)
def test_a_lesser_map_leaves_what_a_greater_one_takes(kind):
    source = spread_points(8)
    target = TILT.apply(source)
    costs = [fit_map(k, give(source, target)).chi_square for k in KINDS]
    assert costs == sorted(costs, reverse=True) and costs[-1] < 1e-9 < costs[-2]


@pytest.mark.parametrize("kind", KINDS)
def test_lengths_alone_give_the_shape_and_turn_nothing(kind):
    source = spread_points(8, seed=4)
    target = TRUE_MAPS[kind].apply(source)
    pairs = ALL_PAIRS if kind == "perspective" else ALL_PAIRS[:7]
    fit = fit_map(kind, PointSet(), lengths_between(source, target, pairs))
    assert np.abs(fit.length_residuals).max() < 1e-6 and fit.freedom == len(pairs) - (SIZES[kind] - 3)
    images = fit.plane_map.apply(source)
    rest = fit_similarity(images, target, scaled=False).apply(images) - target
    assert np.abs(rest).max() < 1e-5
    used = source[np.array(pairs).ravel()].mean(axis=0)
    assert fit.plane_map.apply(used) == pytest.approx(used, abs=1e-9)
    linear = fit.plane_map.differentiate(used)
    assert linear[0, 1] == pytest.approx(linear[1, 0], abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_points_and_lengths_together(kind):
    source = spread_points(8, seed=5)
    target = TRUE_MAPS[kind].apply(source)
    fit = fit_map(kind, give(source[:2], target[:2]), lengths_between(source, target, ALL_PAIRS))
    assert fit.plane_map.apply(source) == pytest.approx(target, abs=1e-5)
    one = fit_map(kind, give(source[:1], target[:1]), lengths_between(source, target, ALL_PAIRS))
    assert one.plane_map.apply(source[0]) == pytest.approx(target[0],
                                                           abs=1e-6) and np.abs(one.length_residuals).max() < 1e-5


@pytest.mark.parametrize("kind", KINDS)
def test_a_second_frame_gives_its_shape_and_takes_any_turn(kind):
    source = spread_points(8, seed=6)
    target = TRUE_MAPS[kind].apply(source)
    own = target.copy()
    own[4:] = PlaneMap([[0.8, 0.6, -300], [-0.6, 0.8, 55]]).apply(target[4:])
    fit = fit_map(kind, give(source, own, frames=[0] * 4 + [1] * 4))
    assert fit.plane_map.apply(source) == pytest.approx(target, abs=1e-6) and fit.unknowns == SIZES[kind] + 3


def test_the_heavier_observation_has_its_way():
    source = np.array([(0, 0), (100, 0), (200, 0)], float)
    target = source + [[0, 0], [0, 0], [3, 0]]
    for error, off in ((1e-4, 0.0), (1e4, 3.0)):
        fit = fit_map("similarity", PointSet(source, target, [0.3, 0.3, error]))
        assert abs(fit.point_residuals[2, 0]) == pytest.approx(off, abs=0.01)


def test_by_hand_the_error_of_a_scale_from_one_length():
    """1000 mm known to 0.5: the scale to 0.0005, a place 3000 mm from the middle to 1.5 mm."""
    fit = fit_map("similarity", PointSet(), LengthSet([[(0, 0), (1000, 0)]], [1000.0], [0.5]))
    assert fit.measure_scale() == pytest.approx((1.0, 0.0005))
    assert fit.measure_error([(3500, 0), (500, 0)]) == pytest.approx([1.5, 0.0], abs=1e-9)


def test_by_hand_the_error_at_a_similaritys_middle_and_far_away():
    """Four corners of a square of side 2a: error / sqrt(4) a coordinate at the middle; at distance d the turn and scale
    add error d / (a sqrt 8) each.
    """
    a, d = 500.0, 2000.0
    source = (2 * SQUARE - 1) * a
    fit = fit_map("similarity", give(source, source))
    assert fit.measure_error([(0, 0)]) == pytest.approx([0.3 * np.sqrt(2) / 2])
    assert fit.measure_error([(d, 0)]) == pytest.approx([0.3 * np.sqrt(0.5 + 2 * d ** 2 / (8 * a ** 2))])


def test_sigma0_counts_what_is_spare():
    rng = np.random.default_rng(8)
    source = spread_points(6)
    target = TRUE_MAPS["affine"].apply(source) + rng.normal(0, 0.5, (6, 2))
    fit = fit_map("affine", give(source, target, error=0.5))
    assert fit.sigma0 == pytest.approx(np.sqrt(np.sum((fit.point_residuals / 0.5) ** 2) / (2 * 6 - 6)))


def test_a_mirror_is_never_fitted_and_shows():
    oblong = SQUARE * [2, 1]
    turned = oblong * [-1, 1] * 300
    assert np.linalg.det(fit_similarity(oblong, turned).matrix[:2, :2]) > 0
    straight, mirrored = judge_mirror(oblong, turned)
    assert mirrored < 1e-9 < straight
    straight, mirrored = judge_mirror(SQUARE, SQUARE * [-1, 1])        # a square gives no turn at all to start from
    assert mirrored < 1e-9 < straight
    straight, mirrored = judge_mirror(IN_LINE, IN_LINE * 2)
    assert straight == pytest.approx(mirrored, abs=1e-9)


@pytest.mark.parametrize("freedom, value", [(1, 6.635), (2, 9.210), (4, 13.277), (8, 20.090), (20, 37.566)])
def test_the_limit_of_chi_square(freedom, value):
    """Values of the printed tables at one in a hundred (memory; scipy gives the same)."""
    assert limit_chi_square(freedom) == pytest.approx(value, rel=0.02)


def test_a_straight_piece_stays_one_straight_piece():
    line = np.array([[(0, 0), (100, 50), (200, 100), (300, 150)]], float)
    mapped = map_cubics(TILT, line, tolerance_mm=0.01)
    assert mapped.shape == (1, 4, 2)
    assert mapped[0] == pytest.approx(TILT.apply(line[0, 0]) + (TILT.apply(line[0, 3]) - TILT.apply(line[0, 0]))
                                      * (np.arange(4) / 3)[:, None])


@pytest.mark.parametrize("cubic",
                         [[(0, 0), (400, 900), (1500, -700), (2000, 300)], [(0, 0), (900, 900), (-900, 900), (0, 0)],
                          [(0, 0), (300, 0), (-100, 0), (200, 0)], [(0, 0), (0, 0), (900, 500), (1000, 0)]])
def test_a_bent_piece_lies_on_the_image_of_the_curve(cubic):
    tilt = PlaneMap([[1.1, 0.1, 5], [0.05, 0.9, 7], [4e-4, 2e-4, 1]])
    cubic = np.array([cubic], float)
    mapped = map_cubics(tilt, cubic, tolerance_mm=0.01)
    got = evaluate_cubics(mapped, np.linspace(0, 1, 400)).reshape(-1, 2)
    want = tilt.apply(evaluate_cubics(cubic, np.linspace(0, 1, 37))[0])
    chord = got[1:] - got[:-1]
    for p in want:                                                      # distance to the chords of the written curve
        along = np.clip(np.sum((p - got[:-1]) * chord, axis=1) / np.maximum(np.sum(chord ** 2, axis=1), 1e-18), 0, 1)
        assert np.hypot(*(got[:-1] + along[:, None] * chord - p).T).min() < 0.02
    assert np.abs(mapped[1:, 0] - mapped[:-1, 3]).max(initial=0.0) < 1e-9
    assert len(mapped) > 1 or cubic[0, 0].tolist() != [0, 0] or np.ptp(cubic[0, :, 1]) < 900


def test_a_curve_over_the_horizon_is_refused():
    with pytest.raises(ValueError):
        map_cubics(PlaneMap([[1, 0, 0], [0, 1, 0], [-0.001, 0, 1]]),
                   np.array([[(0, 0), (500, 10), (900, 10), (1500, 0)]], float), tolerance_mm=0.01)


def test_a_plain_map_of_cubics_is_exact():
    cubics = spread_points(8).reshape(2, 4, 2)
    assert map_cubics(TRUE_MAPS["affine"], cubics,
                      tolerance_mm=0.01) == pytest.approx(TRUE_MAPS["affine"].apply(cubics), abs=0)


# -- behind a lens -----------------------------------------------------------------------------------------------------

BULGED = LensMap(TILT, np.array([520.0, 480.0]), 600.0, 0.02)


def test_a_lens_map_is_what_its_formula_says_and_so_are_its_slopes():
    points = spread_points(9)
    off = points - [520, 480]
    assert BULGED.apply(points) == pytest.approx(
        TILT.apply([520, 480] + off * (1 + 0.02 * np.sum(off ** 2, axis=1) / 600 ** 2)[:, None]))
    step = 1e-4
    slopes = np.stack([(BULGED.apply(points + h) - BULGED.apply(points - h)) / (2 * step) for h in step * np.eye(2)],
                      axis=2)
    assert BULGED.differentiate(points) == pytest.approx(slopes, abs=1e-6)
    near = BULGED.linearise(points[0])
    assert near[:, :2] @ points[0] + near[:, 2] == pytest.approx(BULGED.apply(points[0]))
    assert BULGED.follow(PlaneMap(np.diag([2.0, 3.0, 1.0]))).apply(points) == pytest.approx(
        BULGED.apply(points) * [2, 3])
    assert BULGED.measure_bulge(np.array([(1120.0, 480.0), (520.0, 500.0)])) == pytest.approx(0.02)


def test_a_lens_is_fitted_with_its_middle_and_the_errors_of_what_it_carries():
    source = spread_points(20, seed=3)
    fit = fit_map("lens", give(source, BULGED.apply(source)), lens=Lens((510.0, 490.0), 1e3))
    assert fit.freedom == 40 - 9 and np.abs(fit.point_residuals).max() < 1e-3
    assert fit.plane_map.apply(spread_points(9)) == pytest.approx(BULGED.apply(spread_points(9)), abs=2e-3)
    assert fit.plane_map.middle == pytest.approx([520, 480], abs=0.5)
    # slopes of what is fitted, by differences
    q, model = fit.parameters, fit.model
    slopes = np.stack([(model.image(q + h, source) - model.image(q - h, source)) / 2e-6
                       for h in 1e-6 * np.eye(len(q))], axis=2)
    assert model.differentiate(q, source) == pytest.approx(slopes, abs=1e-4)


def test_straight_lines_and_curves_bend_behind_a_lens_within_the_tolerance():
    line = np.array([[(0, 0), (300, 10), (600, 20), (900, 30)]], float)
    curve = np.array([[(0, 900), (300, 500), (600, 1300), (1000, 700)]], float)
    for cubics in (line, curve):
        mapped = map_cubics(BULGED, cubics, tolerance_mm=0.01)
        want, got = (np.concatenate(evaluate_cubics(c, np.linspace(0, 1, 2000))) if c is not cubics
                     else BULGED.apply(evaluate_cubics(c, np.linspace(0, 1, 500))[0]) for c in (cubics, mapped))
        assert len(mapped) > 1
        way = np.array([np.sqrt(np.sum((got - p) ** 2, axis=1).min()) for p in want])
        assert way.max() < 0.01 + np.hypot(*np.diff(got, axis=0).T).max() / 2


def test_where_a_lens_folds_the_picture_over_nothing_is_carried():
    folded = LensMap(PlaneMap(np.eye(3)), np.zeros(2), 100.0, -0.1)
    with pytest.raises(ValueError, match="beyond"):
        map_cubics(folded, np.array([[(0, 0), (100, 0), (200, 0), (300, 0)]], float), tolerance_mm=0.01)
