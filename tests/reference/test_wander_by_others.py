"""Fits through a pen's wander against dense generalised least squares: scipy's Cholesky factors, scipy's B-splines, and
Matern correlation by scipy's Bessel functions (C. Rasmussen and C. Williams, Gaussian Processes for Machine Learning,
2006, eq. 4.14; from memory, not checked).
"""
import numpy as np
import pytest
from scipy.interpolate import BSpline
from scipy.linalg import cho_factor, cho_solve
from scipy.special import gamma, kv

from plankcore.geometry.smoothing import space_knots
from plankcore.geometry.wander import Wander, fit_end_through_wander, fit_through_wander

X = np.arange(0.0, 1500.0, 12.0)
DEGREE = 5


def matern(order, z):
    z = np.sqrt(2 * order) * np.maximum(z, 1e-9)
    return 2 ** (1 - order) / gamma(order) * z ** order * kv(order, z)


@pytest.mark.parametrize("kind, order, rate", [("rough", 0.5, 1.0), ("fair", 1.5, 2.1461932206 / np.sqrt(3))])
def test_correlations_are_materns(kind, order, rate):
    apart = np.linspace(0.0, 200.0, 41)
    assert Wander(0.2, 50.0, kind).correlate(apart) == pytest.approx(matern(order, rate * apart / 50.0), abs=1e-7)


def make_pen(kind):
    return Wander(0.2, 40.0, kind, white_mm=0.05, step_mm=12.0)


def covary(pen):
    whole = pen.sd_mm ** 2 * pen.correlate(X[:, None] - X[None])
    return whole + np.eye(len(X)) * (pen.white_mm ** 2 + 1e-5 * pen.sd_mm ** 2)


@pytest.mark.parametrize("kind", ["rough", "fair", "smooth"])
def test_a_long_edge_is_the_dense_generalised_least_squares_fit(kind):
    """A wave longer than three lengths of the line leaves one rung: one penalised fit, solved densely."""
    pen, rng = make_pen(kind), np.random.default_rng(5)
    y = 20 * np.cos(X / 700) + np.linalg.cholesky(covary(pen)) @ rng.normal(0, 1, len(X))
    knots, wave = space_knots(-60, 1560, spacing=200, degree=DEGREE), 5000.0
    fit = fit_through_wander(X, y, np.ones(len(X)), pen, wave_mm=wave, order=4, knots=knots, degree=DEGREE)
    basis = BSpline(knots, np.eye(len(knots) - DEGREE - 1), DEGREE)
    fine = np.linspace(knots[DEGREE], knots[-DEGREE - 1], 200001)
    bent = basis.derivative(4)(fine)
    rough = bent.T @ bent * (fine[1] - fine[0]) * (wave / (2 * np.pi)) ** 8 / pen.measure_strength(wave)
    factor, design = cho_factor(covary(pen)), basis(X)
    inverse = np.linalg.inv(design.T @ cho_solve(factor, design) + rough)
    at = np.linspace(0, 1488, 60)
    assert fit.spline.evaluate(at) == pytest.approx(basis(at) @ (inverse @ (design.T @ cho_solve(factor, y))), abs=2e-4)
    assert fit.measure_error(at) == pytest.approx(
        np.sqrt(np.einsum("ij,jk,ik->i", basis(at), inverse, basis(at))), rel=2e-3)


@pytest.mark.parametrize("kind", ["rough", "fair", "smooth"])
def test_a_straight_end_is_the_dense_generalised_least_squares_line(kind):
    x, pen = np.arange(4.0, 120.0, 1.0), Wander(0.2, 30.0, kind, white_mm=0.03, step_mm=1.0)
    noise = pen.sd_mm ** 2 * pen.correlate(x[:, None] - x[None]) + np.eye(len(x)) * (
        pen.white_mm ** 2 + 1e-5 * pen.sd_mm ** 2)
    y = 0.03 * x + np.linalg.cholesky(noise) @ np.random.default_rng(3).normal(0, 1, len(x))
    _, line = fit_end_through_wander(x, y, np.ones(len(x)), pen, wave_mm=240.0,
                                     knots=space_knots(-60, 180, spacing=40, degree=DEGREE), degree=DEGREE)
    factor, design = cho_factor(noise), np.column_stack([np.ones(len(x)), x])
    inverse = np.linalg.inv(design.T @ cho_solve(factor, design))
    at = np.column_stack([np.ones(5), np.linspace(0, 124, 5)])
    assert line.spline.evaluate(at[:, 1]) == pytest.approx(at @ (inverse @ (design.T @ cho_solve(factor, y))), abs=2e-3)
    assert line.measure_error(at[:, 1]) == pytest.approx(np.sqrt(np.einsum("ij,jk,ik->i", at, inverse, at)), rel=1e-2)
