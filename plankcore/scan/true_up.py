"""True up a scan: from points and lengths whose true measures are known, the simplest map that makes the page true.

Maps in order: one scale (with a turn and a shift), a scale along and another across the page, affine (shear as well),
perspective, perspective and the bulge of a lens (one radial term). The first that *explains* the controls is taken: its
chi-square, the sum of (residual / honest error)^2, is no larger than what honest errors alone exceed with a chance of 1
percent. A map that leaves no spare observation always fits and proves nothing: it is taken when the simpler maps do not
explain the controls, and reported as unproved. Where no map explains them, the one with the least sigma0 is taken, the
predicted errors grow by sigma0, and a control whose absence would make the rest agree is named. A control whose own
residual is over five of its errors is refused by name, or left out where that is asked for, whichever map is asked for.
A bulge of the lens is also taken where the perspective explains the controls, if it reduces chi-square by more than one
parameter would by chance in 1 of 100 cases.

The controls lie on the floor. A pattern whose upper face lies above it is shrunk towards the foot of the camera
(height.py).

True coordinates are positive to the right and downwards, as on the page.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.map_fits import fit_map, limit_chi_square
from ..geometry.map_models import Lens, LensMap
from ..geometry.plane_maps import PlaneMap
from ..model.plank import Finding
from ..model.scan import Misfit
from ..model.typed import refuse_outside, refuse_unknown
from .controls import explain_unsettled, find_culprit, find_wrong, gather_controls, make_mirror_error, refuse_mirror
from .facts import list_true_up_facts
from .height import check_heights, find_foot, lower_to_floor, measure_height_error
from .words import (
    MAP_WORDS,
    describe_place,
    note_bulge,
    note_left_out,
    note_proof,
    note_scale,
    tell_far_end,
)

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import ArrayLike
    from ..model.drawing import Fact
    from ..model.scan import ControlLength, ControlPoint, ControlRectangle

__all__ = ["MAPS", "TrueUp", "TrueUpSettings", "true_up"]

MAPS = ("least", "scale", "scales", "affine", "perspective", "lens")
WRONG = ("refuse", "leave-out")
_KIND = {"scale": "similarity", "scales": "scales", "affine": "affine", "perspective": "perspective", "lens": "lens"}
# limit of a residual over its own standard error, exceeded by the distance of a point in the plane with a chance of 1
# percent
_DOUBTFUL = 3.0
_FLAG = 2.0  # a farthest point whose error is this many times a control's is reported (common practice, no source)
# a control that is off by this many of its errors is a blunder; if controls disagree by as many no map can be right,
# and none is written
GROSS = 5.0
# if more than this share of the controls would have to be left out, something else is wrong
_MANY = 0.2
# fewest spare observations and largest bulge for a lens to be taken without being asked for
_LENS_SPARE, _LENS_MOST = 3, 0.1
# standard error of the lens's axis about the middle of an uncropped picture, and about that of the work, as a share of
# the diagonal (common practice, no source)
_AXIS_KNOWN, _AXIS_GUESSED = 0.01, 0.05


@dataclass(frozen=True)
class TrueUpSettings:
    """map : one of MAPS. honest_error_mm : how far a control may honestly be off. most_far_mm : largest error allowed
    at the far ends.
    wrong : what to do with a control that is off by over five of its errors, one of WRONG. pattern_mm, camera_mm : how
    far above the dots the pattern's upper face and the camera's lens are, both or neither."""

    map: str = "least"
    honest_error_mm: float = 0.3
    most_far_mm: float = 5.0
    wrong: str = "refuse"
    pattern_mm: float = 0.0
    camera_mm: float = 0.0

    def __post_init__(self):
        refuse_unknown(self.map, MAPS, problem="'%s' is not a kind of map.", field="Map")
        refuse_outside(self.honest_error_mm, 0, 100, above=True, problem="A control cannot be %g mm off.",
                       remedy="Give more than 0 and at most 100 mm; 0.3 mm is careful.",
                       field="How far off a control may honestly be")
        refuse_outside(self.most_far_mm, 0, math.inf, above=True,
                       problem="No error at all at the far ends cannot be had.",
                       remedy="Give a length, 5 mm for instance.", field="Largest error allowed at the far ends")
        refuse_unknown(self.wrong, WRONG, problem="'%s' is not what can become of a wrong control.",
                       field="A control that is wrong")
        check_heights(self.pattern_mm, self.camera_mm)


@dataclass(frozen=True, eq=False, repr=False)
class TrueUp:
    """The map of a scan, with its residuals and predicted errors.

    map : name of the map. plane_map : PlaneMap or LensMap, page mm to true mm on the level of the dots; face_map the
    same for the pattern's upper face.
    scale, scale_error : true over drawn lengths at the middle of the controls, and its standard error.
    sigma0_mm : root of sum of weighted residuals^2 over freedom, or None where nothing is spare. freedom : spare
    observations.
    misfits : one for each point, corner and length. worst : the largest of them, or None where nothing is spare.
    far_mm, far_point : predicted error at the worst of the artwork's farthest points, and where that point comes to
    lie.
    explained : False where no map agrees with the honest error. bulge : of the lens at the picture's corner, a share,
    or None. left_out : labels of controls.
    foot : point of the floor under the camera, where a correction for a pattern above the dots was made; else None.
    facts : all of it; their words are lettered beside the work.
    """

    map: str
    plane_map: PlaneMap
    scale: float
    scale_error: float
    sigma0_mm: float | None
    freedom: int
    misfits: tuple[Misfit, ...]
    worst: Misfit | None
    far_mm: float
    far_point: tuple[float, ...]
    explained: bool
    findings: tuple[Finding, ...]
    face_map: PlaneMap
    bulge: float | None = None
    left_out: tuple[str, ...] = ()
    foot: tuple[float, ...] | None = None
    pattern_mm: float = 0.0
    camera_mm: float = 0.0
    facts: tuple[Fact, ...] = ()


def true_up(points: Sequence[ControlPoint], lengths: Sequence[ControlLength], rectangles: Sequence[ControlRectangle], *,
            reach: ArrayLike | None, picture: ArrayLike | None = None,
            settings: TrueUpSettings = TrueUpSettings()) -> TrueUp:
    """Fit the map of a scan.

    Parameters
    ----------
    points : sequence of ControlPoint
    lengths : sequence of ControlLength
    rectangles : sequence of ControlRectangle
        A single one also places the work: about its own middle, square to the page. Together with points or other
        rectangles it gives only its shape.
    reach : ndarray, shape (k, 2), mm on the page
        Far ends of the artwork.
    picture : ndarray, shape (4, 2), mm on the page, optional
        Corners of the uncropped picture; its middle is taken for the axis of the lens.
    settings : TrueUpSettings

    Returns
    -------
    TrueUp

    Raises
    ------
    SelectionError
        No controls, or too few.
    PatternError
        Controls that contradict each other, a mirror image, three in line for a perspective, or larger errors at the
        farthest points than allowed.
    """
    controls = gather_controls(points, lengths, rectangles, error_mm=settings.honest_error_mm)
    refuse_mirror(controls, error_mm=settings.honest_error_mm)
    reach = np.asarray(reach, float)
    lens = _place_lens(controls, reach, picture)
    controls, fits, name, fit, explained, culprit, left_out = _settle(controls, settings, lens)
    every = np.concatenate([controls.points.source, controls.lengths.ends.reshape(-1, 2)])
    _refuse_turned_over(fit, every, reach)
    grow = 1.0 if explained else max(fit.sigma0 or 1.0, 1.0)
    images, foot, face_map = fit.plane_map.apply(reach), None, fit.plane_map
    errors = grow * fit.measure_error(reach)
    if settings.pattern_mm:
        outer, middle = (fit.plane_map.outer, fit.plane_map.middle) if name == "lens" else (fit.plane_map, lens.middle)
        foot = find_foot(outer, middle, settings.camera_mm)
        errors = np.hypot(errors, measure_height_error(images, foot, settings.pattern_mm, settings.camera_mm))
        face_map = fit.plane_map.follow(lower_to_floor(foot, settings.pattern_mm, settings.camera_mm))
    far = int(np.argmax(errors))
    far_mm, far_point = float(errors[far]), tuple(map(float, face_map.apply(reach[far])))
    misfits = _list_misfits(controls, fit, grow, culprit)
    sigma0 = None if fit.sigma0 is None else fit.sigma0 * settings.honest_error_mm
    worst = max(misfits, key=lambda m: np.hypot(*m.off)) if sigma0 is not None else None
    scale, scale_error = fit.measure_scale()
    doubts = note_proof(fits, name, fit, explained, sigma0=sigma0, worst=worst, culprit=culprit, settings=settings)
    findings = note_scale(fits, name) + note_left_out(left_out, GROSS) + doubts
    bulge = fit.plane_map.measure_bulge(reach if picture is None else picture) if name == "lens" else None
    if bulge is not None:
        findings += note_bulge(bulge, known=picture is not None)
    if sigma0 is not None and worst is not None and not explained and sigma0 > GROSS * settings.honest_error_mm:
        suspect = culprit.label if culprit else worst.label
        _refuse_contradiction(doubts, suspect, _find_place(controls, suspect))
    if far_mm > settings.most_far_mm:
        raise PatternError(
            "The far end of the artwork would be uncertain by %.1f mm, more than the %.1f mm allowed: %s.%s"
            % (far_mm, settings.most_far_mm, describe_place(every, reach, explained),
               "".join(" " + f.text for f in doubts) if culprit or not explained else ""),
            "Set control points round the whole pattern, measure again what disagrees, or allow a larger error.",
            tuple(map(float, reach[far])))
    if far_mm > _FLAG * settings.honest_error_mm and explained:
        findings.append(Finding(tell_far_end(far_mm, describe_place(every, reach, True)), far_point, "far-end",
                                number=far_mm, unit="mm", limit=_FLAG * settings.honest_error_mm))
    found = TrueUp(name, fit.plane_map, scale, scale_error, sigma0_mm=sigma0, freedom=fit.freedom,
                  misfits=tuple(misfits), worst=worst, far_mm=far_mm,
                  far_point=far_point, explained=explained, findings=tuple(findings), face_map=face_map, bulge=bulge,
                  left_out=tuple(one.label for one, _ in left_out),
                  foot=None if foot is None else tuple(map(float, foot)),
                  pattern_mm=settings.pattern_mm, camera_mm=settings.camera_mm)
    return replace(found, facts=list_true_up_facts(found, honest_mm=settings.honest_error_mm,
                                                   most_far_mm=settings.most_far_mm))


def _refuse_turned_over(fit, every, reach):
    """Refuse a map that puts part of the artwork beyond the horizon, or mirrors it."""
    depth = fit.plane_map.measure_depth(np.vstack([every, reach]))
    if depth.min() * depth.max() <= 0:
        raise PatternError("Part of the artwork lies beyond the horizon of this perspective.",
                           "Check the labels of the control points, or crop the picture to the pattern.", None)
    if np.linalg.det(fit.plane_map.differentiate(every.mean(axis=0))) <= 0:
        raise make_mirror_error()


def _refuse_contradiction(doubts, suspect, where):
    raise PatternError(" ".join(f.text for f in doubts),
                       "Measure %s again and correct its label, or take the label off. If the controls are truly no "
                       "better than this, say so in how far off a control may honestly be; if a lesser map than the "
                       "scan needs was asked for, let a greater one be tried." % suspect, where)


def _fit_one(rung, controls, lens):
    """A MapFit, or None where the controls do not determine it."""
    try:
        return fit_map(_KIND[rung], controls.points, controls.lengths, lens=lens)
    except ValueError:
        return None


def _fit_all(controls, settings, lens):
    """{name: MapFit} of the maps that the controls determine, in order, and the reason why the last of the others
    failed."""
    fits, reason = {}, ""
    for name in MAPS[1:] if settings.map == "least" else (settings.map,):
        try:
            fit = fit_map(_KIND[name], controls.points, controls.lengths, lens=lens)
        except ValueError as error:
            reason = reason if name == "lens" and reason else str(error)
            continue
        if settings.map == "least" and name == "lens" and isinstance(fit.plane_map, LensMap) and (
                fit.freedom < _LENS_SPARE or abs(fit.plane_map.measure_bulge(controls.points.source)) > _LENS_MOST):
            # too few spare observations to tell a bulge from a wrong control, or an impossible bulge
            continue
        fits[name] = fit
    return fits, reason


def _choose(fits):
    """Name, fit, and whether it explains the controls."""
    for name, fit in fits.items():
        if fit.freedom == 0 or fit.chi_square <= limit_chi_square(fit.freedom):
            # among many spare controls a small bulge hardly changes chi-square per freedom: test the reduction by this
            # one parameter
            if (name == "perspective" and "lens" in fits
                and fit.chi_square - fits["lens"].chi_square > limit_chi_square(1)
                and fits["lens"].chi_square <= limit_chi_square(fits["lens"].freedom)):
                return "lens", fits["lens"], True
            return name, fit, True
    name = min(fits, key=lambda n: fits[n].sigma0)
    return name, fits[name], False


def _find_place(controls, label):
    """Where a control lies on the page as it is drawn, (x, y) mm."""
    places = dict(zip(controls.length_labels,
                      controls.lengths.ends.mean(axis=1) if len(controls.length_labels) else ()))
    places.update(zip(controls.point_labels, controls.points.source))
    return tuple(map(float, places[label])) if label in places else None


def _list_misfits(controls, fit, grow, culprit):
    misfits = []
    for label, at, off, error, predicted in zip(controls.point_labels, fit.plane_map.apply(controls.points.source),
                                                fit.point_residuals, controls.points.errors,
                                                fit.measure_error(controls.points.source)):
        misfits.append((label, at, off, error, grow * float(predicted)))
    for label, ends, off, error in zip(controls.length_labels, controls.lengths.ends, fit.length_residuals,
                                       controls.lengths.errors):
        images = fit.plane_map.apply(ends)
        way = (images[1] - images[0]) / max(float(np.hypot(*(images[1] - images[0]))), 1e-12)
        misfits.append((label, images.mean(axis=0), off * way, error,
                        grow * float(fit.measure_error(ends.mean(axis=0)[None])[0])))
    return [Misfit(label, tuple(map(float, at)), tuple(map(float, off)), predicted,
                   verdict="doubtful" if culprit and culprit.label == label
                   or np.hypot(*off) > _DOUBTFUL * error else "used")
            for label, at, off, error, predicted in misfits]


def _settle(controls, settings, lens):
    """Fits to the controls that are accepted: (controls, fits, name, fit, explained, culprit, [(Suspect, place)] of
    those left out).

    Raises
    ------
    PatternError
        If a control is wrong and is not to be left out, or too many are.
    """
    left_out, most = [], max(1, int(_MANY * (len(controls.point_labels) + len(controls.length_labels))))
    while True:
        fits, reason = _fit_all(controls, settings, lens)
        if not fits:
            raise explain_unsettled(controls, settings.map, MAP_WORDS.get(settings.map, "any"), reason)
        name, fit, explained = _choose(fits)
        rungs = MAPS[1:] if settings.map == "least" else (name,)
        culprit = None
        if not explained or settings.map == "least" and name != "scale":
            culprit = find_culprit(controls, lambda rung, rest: _fit_one(rung, rest, lens), rungs=rungs,
                                   below=name if explained else None)
        wrong = find_wrong(controls, fit, explained=explained, culprit=culprit, limit=GROSS)
        if wrong is None:
            return controls, fits, name, fit, explained, culprit, left_out
        greater = _find_greater(controls, settings, lens)
        place = _find_place(controls, wrong.label)
        if settings.wrong == "refuse" or greater or len(left_out) == most:
            sigma0 = "" if fit.sigma0 is None else "sigma0 is %.2f mm, and " % (fit.sigma0 * settings.honest_error_mm)
            said = "%s lies %.0f of its errors from where the others put it." % (wrong.label, wrong.errors)
            if wrong.map:
                said += " Check %s, it may be wrong%s: without it all others agree by %s." % (
                    wrong.label, "" if wrong.off_mm is None else " by %.1f mm" % abs(wrong.off_mm),
                    MAP_WORDS[wrong.map])
            if greater:
                said += " All controls agree by %s." % MAP_WORDS[greater]
            if len(left_out) == most:
                said += " Already left out: %s." % ", ".join(one.label for one, _ in left_out)
            raise PatternError("The controls do not agree with one another within %.2f mm: %s%s"
                               % (settings.honest_error_mm, sigma0, said),
                               ("Let the scan be put right by %s. Else measure" % MAP_WORDS[greater] if greater
                                else "Measure") + " %s again and correct its label, or take the label off, or have "
                                                  "controls that are wrong left out. "
                               "If the controls are truly no better than this, say so in how far off a control may "
                               "honestly be." % wrong.label, place)
        left_out.append((wrong, place))
        controls = controls.leave_out(wrong.label)


def _find_greater(controls, settings, lens):
    """The simplest map, more general than the one asked for, that explains all controls with spare observations, or ''.
    """
    for name in MAPS[MAPS.index(settings.map) + 1:] if settings.map != "least" else ():
        fit = _fit_one(name, controls, lens)
        if fit is not None and fit.freedom > 0 and fit.chi_square <= limit_chi_square(fit.freedom):
            return name
    return ""


def _place_lens(controls, reach, picture):
    """The Lens: its middle is that of the picture; where the picture is not known, near the middle of the work."""
    if picture is not None:
        corners = np.asarray(picture, float)
        return Lens(tuple(corners.mean(axis=0)), _AXIS_KNOWN * float(np.hypot(*np.ptp(corners, axis=0))))
    every = np.vstack([controls.points.source, controls.lengths.ends.reshape(-1, 2), reach])
    low, high = every.min(axis=0), every.max(axis=0)
    return Lens(tuple((low + high) / 2), max(_AXIS_GUESSED * float(np.hypot(*(high - low))), 1e-6))
