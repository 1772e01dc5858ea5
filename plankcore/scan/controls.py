"""Controls of a scan compared with one another: the scale that each implies, and which of them contradict the others.
"""
from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SelectionError
from ..geometry.arrays import list_distinct
from ..geometry.map_fits import LengthSet, PointSet, limit_chi_square
from ..geometry.plane_maps import judge_mirror

if TYPE_CHECKING:
    from typing import Any, Callable, Sequence

    from ..errors import PlankError
    from ..geometry.map_fits import MapFit
    from ..model.scan import ControlLength, ControlPoint, ControlRectangle

__all__ = [
    "Controls",
    "Suspect",
    "explain_unsettled",
    "find_culprit",
    "find_wrong",
    "gather_controls",
    "make_mirror_error",
    "measure_residuals",
    "refuse_mirror",
]

_AFFINE = ("scale", "scales", "affine")  # the last of these maps includes the others
_THIN = 0.02  # three points count as in line if their triangle's height is under this share of its longest side


@dataclass(frozen=True, eq=False, repr=False)
class Controls:
    """The points and lengths that a map is fitted to, with a label for each."""

    points: PointSet
    lengths: LengthSet
    point_labels: tuple[str, ...]
    length_labels: tuple[str, ...]

    def leave_out(self, label: str) -> Controls:
        """These controls without those with this label."""
        kept = np.array([v != label for v in self.point_labels], bool)
        long = np.array([v != label for v in self.length_labels], bool)
        p, d = self.points, self.lengths
        frames = p.frames[kept]
        return Controls(PointSet(p.source[kept], p.target[kept], p.errors[kept],
                                 np.searchsorted(list_distinct(frames), frames)),
                        LengthSet(d.ends[long], d.lengths[long], d.errors[long]),
                        tuple(v for v, k in zip(self.point_labels, kept) if k),
                        tuple(v for v, k in zip(self.length_labels, long) if k))


def gather_controls(points: Sequence[ControlPoint], lengths: Sequence[ControlLength],
                    rectangles: Sequence[ControlRectangle], *, error_mm: float) -> Controls:
    """Controls in arrays; error_mm is used for those without an error of their own.

    Raises
    ------
    SelectionError, PatternError
    """
    if not (points or lengths or rectangles):
        raise SelectionError("Nothing in the selection says how large the scan truly is: a picture or trace has no "
                             "size of its own.",
                             "Select small shapes labelled with their true coordinates (0, 0 or 1200 mm, 300 mm), "
                             "lines labelled with their true length, or a rectangle labelled 1000 x 600 mm.")
    if len(points) == 1 and not (lengths or rectangles):
        raise SelectionError("One control point alone says neither size nor turn.",
                             "Mark a second one, as far from it as the pattern allows.", points[0].label)
    _refuse_twins(points)
    for one in lengths:
        drawn = float(np.hypot(*np.subtract(*one.ends)))
        if not (one.length_mm > 0 and drawn > 1e-6):
            raise PatternError("The line '%s' has a %s of %g mm." % (
                one.label, "true length" if drawn > 1e-6 else "drawn length", one.length_mm if drawn > 1e-6 else drawn),
                               "Draw it between two points whose distance is known, and label it with that distance.",
                               tuple(map(float, one.ends[0])))
    source, target, errors, frames, labels = [], [], [], [], []
    for p in points:
        source.append(p.at)
        target.append(p.true)
        errors.append(p.error_mm or error_mm)
        frames.append(0)
        labels.append(p.label)
    for number, r in enumerate(rectangles, 1 if points else 0):
        if min(r.sides_mm) <= 0:
            raise PatternError("The rectangle '%s' has a side of no length." % r.label,
                               "Label it with both sides, 1000 x 600 mm for instance.", tuple(map(float, r.corners[0])))
        corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float) * r.sides_mm
        if number == 0:
            corners += np.mean(r.corners, axis=0) - corners.mean(axis=0)
        source += list(r.corners)
        target += [tuple(c) for c in corners]
        errors += [r.error_mm or error_mm] * 4
        frames += [number] * 4
        labels += ["%s, corner %d" % (r.label, k) for k in (1, 2, 3, 4)]
    return Controls(PointSet(np.array(source), np.array(target), np.array(errors), np.array(frames)),
                    LengthSet(np.array([d.ends for d in lengths]), np.array([d.length_mm for d in lengths]),
                              np.array([d.error_mm or error_mm for d in lengths])),
                    tuple(labels), tuple(d.label for d in lengths))


def _refuse_twins(points):
    for a, b in combinations(points, 2):
        same, spot = np.allclose(a.true, b.true, rtol=0, atol=1e-6), np.allclose(a.at, b.at, rtol=0, atol=1e-6)
        if same:
            raise PatternError("Two control points claim the same true place: '%s' and '%s'." % (a.label, b.label),
                               "Correct one label, or leave one of them out.", tuple(map(float, b.at)))
        if spot:
            raise PatternError("The control points '%s' and '%s' lie on one another." % (a.label, b.label),
                               "Move one to its place, or delete it.", tuple(map(float, b.at)))


def make_mirror_error() -> PatternError:
    return PatternError("The control points are a mirror image of their labels.",
                        "True coordinates count to the right and downwards, as on the page: if yours count upwards, "
                        "put a minus before each second number. If the scan itself is mirrored, flip it first.", None)


def refuse_mirror(controls: Controls, *, error_mm: float) -> None:
    """Raise an error where the points of the first frame fit far better as a mirror image."""
    mine = controls.points.frames == 0
    if mine.sum() >= 3:
        straight, mirrored = judge_mirror(controls.points.source[mine], controls.points.target[mine])
        if mirrored < straight / 2 and straight > 3 * error_mm:
            raise make_mirror_error()


def explain_unsettled(controls: Controls, asked: str, words: str, reason: str) -> PlankError:
    """The error to raise where no map could be fitted. asked : the map's name. words : the user's term for it."""
    source = controls.points.source
    if asked == "perspective" and not len(controls.lengths.ends):
        flat = _find_three_in_line(source)
        if len(source) >= 4 and flat:
            names = ", ".join("'%s'" % controls.point_labels[k] for k in flat)
            return PatternError("Three of the control points lie in line: %s. They cannot settle a perspective."
                                % names,
                                "Set four points as corners of the pattern, no three in line; six are better.",
                                tuple(map(float, source[flat[1]])))
        return SelectionError("A perspective needs four control points, no three in line; %d are given."
                              % len(source), "Mark more points, six are better, or choose a lesser map.")
    if len(source) >= 2 and np.linalg.matrix_rank(source - source.mean(axis=0), tol=_THIN * np.ptp(
            source, axis=0).max()) < 2 and asked not in ("least", "scale"):
        return PatternError("All control points lie in line: they say nothing of the scale across.",
                            "Mark a point well off that line, or choose one scale.", tuple(map(float, source[0])))
    return SelectionError("The controls do not settle the map asked for (%s): %s." % (words, reason),
                          "Mark more points, or lengths in other directions, or choose a lesser map.")


def _find_three_in_line(points):
    """Indices of the flattest three of points (n, 2), or None if they are far enough from being in line."""
    flattest, found = _THIN, None
    for trio in combinations(range(len(points)), 3):
        a, b, c = points[list(trio)]
        sides = [np.hypot(*(b - a)), np.hypot(*(c - b)), np.hypot(*(a - c))]
        height = abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0]) / max(max(sides), 1e-12) ** 2
        if height < flattest:
            flattest, found = height, trio
    return found


_UNSEEN = 1e-6            # a control with less redundancy than this is not tested by the others


@dataclass(frozen=True)
class Suspect:
    """label : of a control. map : the map with which all others agree without it, or '' where they do not. off_mm :
    distance from where the others put it, or None. errors : the same distance in its standard errors."""

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
    """The Suspect without which a map explains all others, with two spare observations; of several the one that needs
    the simplest map; or None.

    fit_one : callable(rung, controls), a MapFit or None. rungs : names of the maps to try, in order. below : stop
    before this one.
    """
    best, found = (len(rungs), np.inf), None
    least = _bound_affine(controls)
    most = limit_chi_square(2 * len(controls.points.source) + len(controls.lengths.ends))
    for label in dict.fromkeys(controls.point_labels + controls.length_labels):
        rest = controls.leave_out(label)
        for number, rung in enumerate(rungs):
            if rung == below or number > best[0]:
                break
            if rung in _AFFINE and least.get(label, 0.0) > most:
                continue
            fit = fit_one(rung, rest)
            if fit is not None and fit.freedom >= 2 and fit.chi_square <= limit_chi_square(fit.freedom):
                # a simpler map wins: a more general one can adapt to a wrong control
                if (number, fit.chi_square / fit.freedom) < best:
                    best, found = (number, fit.chi_square / fit.freedom), (label, rung, fit)
                break
    return None if found is None else _measure(controls, *found)


def _bound_affine(controls):
    """{point: chi-square that every affine map leaves at the least when it is left out}: that of the best one to the
    other points of the pattern's own frame, by the rule for one observation less, r^2 / (1 - h) each way.
    """
    mine = controls.points.frames == 0
    labels = [label for label, own in zip(controls.point_labels, mine) if own]
    if mine.sum() < 5:
        return {}
    weights = 1 / controls.points.errors[mine][:, None]
    source = controls.points.source[mine]
    rows = np.hstack([(source - source.mean(axis=0)) / np.ptp(source, axis=0).max(),
                      np.ones((len(source), 1))]) * weights
    base, _ = np.linalg.qr(rows)
    target = (controls.points.target[mine] - controls.points.target[mine].mean(axis=0)) * weights
    off = np.sum((target - base @ (base.T @ target)) ** 2, axis=1)
    spare = 1 - np.sum(base ** 2, axis=1)
    left = np.where(spare > 1e-6, (off.sum() - off / np.maximum(spare, 1e-6)) * (1 - 1e-6), 0.0)
    return {label: value for label, value in zip(labels, left.tolist()) if controls.point_labels.count(label) == 1}


def _measure(controls, label, rung, fit):
    """A Suspect, with its distance from the fit to all others."""
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
    """The control to reject: one that is off by over `limit` of its errors. The culprit comes first, since a wrong
    control pulls others with it. A Suspect, or None."""
    if not explained and culprit is not None and culprit.errors > limit:
        return culprit
    residuals = measure_residuals(controls, fit)
    if not residuals:
        return None
    label = max(residuals, key=lambda name: residuals[name])
    return Suspect(label, "", None, residuals[label]) if residuals[label] > limit else None
