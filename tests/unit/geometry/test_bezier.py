"""Cubic pieces, against the Bernstein form worked by hand and against circles."""
import numpy as np
import pytest
from shapes import draw_lines, measure_gap

from plankcore.geometry.bezier import evaluate_cubics, fit_cubics, flatten_cubics, hermite_to_cubics, split_cubic

ARCH = np.array([[0, 0], [0, 4], [4, 4], [4, 0]], float)


def test_a_path_that_is_not_smooth_is_refused():
    def zigzag(u, derivative):
        return np.stack([u, np.abs(np.sin(40 * u))] if derivative == 0 else [np.ones_like(u), np.zeros_like(u)], axis=1)
    with pytest.raises(ValueError, match="too rough"):
        fit_cubics(zigzag, 0, 10, tolerance_mm=1e-9, most=20)


@pytest.mark.parametrize("derivative, expected", [(0, (2, 3)), (1, (6, 0)), (2, (0, -24)), (3, (-48, 0))])
def test_arch_at_its_middle(derivative, expected):
    """x = 12t^2 - 8t^3, y = 12t - 12t^2: at 1/2 point (2, 3), then (24t - 24t^2, 12 - 24t), (24 - 48t, -24), (-48, 0).
    """
    assert evaluate_cubics(ARCH[None], [0.5], derivative=derivative)[0, 0] == pytest.approx(expected)


def test_a_part_lies_on_the_whole():
    part = split_cubic(ARCH, 0.2, 0.7)
    t = np.linspace(0, 1, 9)
    assert evaluate_cubics(part[None], t)[0] == pytest.approx(evaluate_cubics(ARCH[None], 0.2 + 0.5 * t)[0])


def test_flattening_keeps_within_its_tolerance_and_uses_one_chord_for_a_line():
    cubics = np.stack([ARCH * 50, draw_lines([(200, 0), (900, 0)])[0]])
    for tolerance in (1.0, 0.01):
        line = flatten_cubics(cubics, tolerance_mm=tolerance)
        dense = evaluate_cubics(cubics, np.linspace(0, 1, 2001)).reshape(-1, 2)
        assert measure_gap(dense, line) <= tolerance
        assert line[-2:] == pytest.approx(np.array([[200, 0], [900, 0]]))


def test_hermite_pieces_have_the_slopes_asked_for():
    at, points, slopes = np.array([0, 2, 5.0]), np.array([[0, 0], [2, 1], [5, 0.0]]), np.array(
        [[1, 1], [1, 0], [1, -1.0]])
    cubics = hermite_to_cubics(points, slopes, at)
    assert evaluate_cubics(cubics, [0, 1], derivative=1) / np.diff(at)[:, None, None] == pytest.approx(
        np.stack([slopes[:-1], slopes[1:]], axis=1))


@pytest.mark.parametrize("tolerance", [0.1, 0.005, 1e-4])
def test_a_fitted_circle_is_round_within_the_tolerance_and_takes_few_pieces(tolerance):
    def circle(u, derivative):
        turns = u + derivative * np.pi / 2
        return 100 * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    cubics = fit_cubics(circle, 0, np.pi, tolerance_mm=tolerance)
    radius = np.linalg.norm(evaluate_cubics(cubics, np.linspace(0, 1, 101)).reshape(-1, 2), axis=1)
    assert np.abs(radius - 100).max() <= tolerance
    assert len(cubics) < 40
    assert cubics[1:, 0] == pytest.approx(cubics[:-1, 3], abs=0)
