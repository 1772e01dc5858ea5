"""Which control is wrong: by its own residual, and by how well all others agree without it.

A control's own residual is held against the errors it should have, r' (I - H)^-1 r with H the share of the control in
the fit at its own place: the same as how far it lies from the place that all the others give it, over the error of that
distance (W. Baarda, A testing procedure for use in geodetic networks, 1968; memory).
It is never less than the plain residual over the control's error.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.map_fits import limit_chi_square

if TYPE_CHECKING:
    from typing import Any, Callable, Sequence

    from ..geometry.map_fits import MapFit
    from .controls import Controls

__all__ = ["Suspect", "find_culprit", "find_wrong", "measure_residuals"]

_UNSEEN = 1e-6            # a control with less than this share of itself to spare is not tested by the others


@dataclass(frozen=True)
class Suspect:
    """label of a control; map by which all others agree without it, or '' where they do not; off_mm : how far it lies
    from where they put it, or None; errors : the same in units of its own error."""

    label: str
    map: str
    off_mm: float | None
    errors: float


def measure_residuals(controls: Controls, fit: MapFit) -> dict[str, float]:
    """{label: residual over its error} for every control; where one label has several, the largest."""
    found = {}

    def hold(label, residual, share):
        left = np.eye(len(residual)) - share
        size = float(np.sqrt(max(residual @ np.linalg.solve(left, residual), 0.0))) if np.linalg.eigvalsh(
            (left + left.T) / 2)[0] > _UNSEEN else 0.0
        found[label] = max(found.get(label, 0.0), size)
    residuals, slopes, length_slopes = fit.measure_shares(controls.points, controls.lengths)
    count = len(controls.point_labels)
    for k, label in enumerate(controls.point_labels):
        hold(label, residuals[2 * k:2 * k + 2], slopes[k] @ fit.covariance @ slopes[k].T)
    for k, label in enumerate(controls.length_labels):
        hold(label, residuals[2 * count + k:][:1], (length_slopes[k] @ fit.covariance @ length_slopes[k])[None, None])
    return found


def find_culprit(controls: Controls, fit_one: Callable[..., Any], *, rungs: Sequence[str],
                 below: str | None = None) -> Suspect | None:
    """The Suspect without which a map explains all others with two to spare: of several the one that needs the least
    map; or None.

    fit_one : callable(rung, controls), a MapFit or None. rungs : names of the maps to try, in order. below : stop
    before this one.
    """
    best, found = (len(rungs), np.inf), None
    for label in dict.fromkeys(controls.point_labels + controls.length_labels):
        rest = controls.leave_out(label)
        for number, rung in enumerate(rungs):
            if rung == below:
                break
            fit = fit_one(rung, rest)
            if fit is not None and fit.freedom >= 2 and fit.chi_square <= limit_chi_square(fit.freedom):
                # the least map first: a greater one can bend itself to what is wrong
                if (number, fit.chi_square / fit.freedom) < best:
                    best, found = (number, fit.chi_square / fit.freedom), (label, rung, fit)
                break
    return None if found is None else _measure(controls, *found)


def _measure(controls, label, rung, fit):
    """A Suspect as the fit to all others sees it."""
    off, errors = None, 0.0
    if label in controls.point_labels:
        k = controls.point_labels.index(label)
        if controls.points.frames[k] == 0:
            way = fit.plane_map.apply(controls.points.source[k]) - controls.points.target[k]
            off = float(np.hypot(*way))
            errors = float(np.sqrt(way @ np.linalg.solve(fit.predict_covariance(controls.points.source[k])[0]
                                                         + controls.points.errors[k] ** 2 * np.eye(2), way)))
    else:
        k = controls.length_labels.index(label)
        off = float(np.hypot(*np.subtract(*fit.plane_map.apply(controls.lengths.ends[k])))
                    - controls.lengths.lengths[k])
        errors = abs(off) / float(controls.lengths.errors[k])
    return Suspect(label, rung, off, errors)


def find_wrong(controls: Controls, fit: MapFit, *, explained: bool, culprit: Suspect | None,
               limit: float) -> Suspect | None:
    """The control that must not stand: one over `limit` of its errors out; the culprit first, for one that is wrong
    pulls others with it. A Suspect, or None.
    """
    if not explained and culprit is not None and culprit.errors > limit:
        return culprit
    residuals = measure_residuals(controls, fit)
    if not residuals:
        return None
    label = max(residuals, key=residuals.get)
    return Suspect(label, "", None, residuals[label]) if residuals[label] > limit else None
