"""True up a scan: from points and lengths whose true measures are known, the least map that makes the page true.

Maps in order: one scale (with a turn and a shift), a scale along and another across the page, affine (shear as well),
perspective. The least one *explains* the controls when chi-square, the sum of (residual / honest error)^2, is no more than what
honest errors alone exceed one time in a hundred. A map that leaves no spare observation always fits and proves nothing: it is
taken when the lesser maps do not explain the controls, and said to be unproved. Where no map explains them, the one with the
least sigma0 is taken, the predicted errors grow by sigma0, and a control whose absence would make the rest agree is named.

True coordinates count to the right and downwards, as on the page.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .control_checks import explain_unsettled, gather_controls, make_mirror_error, refuse_mirror
from .errors import PatternError, SettingError
from .geometry.map_fits import fit_map, limit_chi_square
from .geometry.plane_maps import PlaneMap
from .model import Finding
from .scan_model import Misfit

__all__ = ["MAPS", "TrueUpSettings", "TrueUp", "true_up"]

MAPS = ("least", "scale", "scales", "affine", "perspective")
_KIND = {"scale": "similarity", "scales": "scales", "affine": "affine", "perspective": "perspective"}
_WORDS = {"scale": "one scale", "scales": "a scale along and another across", "affine": "scales and shear", "perspective": "perspective"}
_DOUBTFUL = 3.0                   # residual over its own standard error: passed one time in a hundred by the distance of a point in the plane
_FLAG = 2.0                       # a far end this many times less sure than a control is flagged (common practice, no source)
GROSS = 5.0               # controls that disagree by this many honest errors hold a blunder: no map is right, and none is written
_OLD_DPI = 96 / 90                # 90 user units to the inch before the editor's 0.92, 96 since


@dataclass(frozen=True)
class TrueUpSettings:
    """map : one of MAPS. honest_error_mm : how far a control may honestly be off. most_far_mm : largest error allowed at the far ends."""

    map: str = "least"
    honest_error_mm: float = 0.3
    most_far_mm: float = 5.0

    def __post_init__(self):
        if self.map not in MAPS:
            raise SettingError("'%s' is not a kind of map." % self.map, "Use one of: %s." % ", ".join(MAPS), "Map")
        if not 0 < self.honest_error_mm <= 100:
            raise SettingError("A control cannot be %g mm off." % self.honest_error_mm, "Give more than 0 and at most 100 mm; 0.3 mm is careful.", "How far off a control may honestly be")
        if not self.most_far_mm > 0:
            raise SettingError("No error at all at the far ends cannot be had.", "Give a length, 5 mm for instance.", "Largest error allowed at the far ends")


@dataclass(frozen=True, eq=False, repr=False)
class TrueUp:
    """The map of a scan and what it cost.

    map : name of the map. plane_map : PlaneMap, page mm to true mm.
    scale, scale_error : true over drawn lengths at the middle of the controls, and its standard error.
    sigma0_mm : root of sum of weighted residuals^2 over freedom, or None where nothing is spare. freedom : spare observations.
    misfits : one for each point, corner and length. worst : the largest of them, or None where nothing is spare.
    far_mm, far_point : predicted error at the worst of the far ends, and where that end comes to lie.
    explained : False where no map agrees with the honest error.
    """

    map: str
    plane_map: PlaneMap
    scale: float
    scale_error: float
    sigma0_mm: float
    freedom: int
    misfits: tuple
    worst: Misfit
    far_mm: float
    far_point: tuple
    explained: bool
    findings: tuple

    @property
    def report(self):
        """What to letter beside the work."""
        proof = "nothing spare: unproved" if self.sigma0_mm is None else "sigma0 %.2f mm with %d spare, worst %.2f mm at %s" % (
            self.sigma0_mm, self.freedom, np.hypot(*self.worst.off), self.worst.label)
        return "True up: %s, scale %.5f; %s; error predicted at the far end %.2f mm" % (_WORDS[self.map], self.scale, proof, self.far_mm)


def true_up(points, lengths, rectangles, *, reach, settings=TrueUpSettings()):
    """Fit the map of a scan.

    Parameters
    ----------
    points : sequence of ControlPoint
    lengths : sequence of ControlLength
    rectangles : sequence of ControlRectangle
        One alone places the work about its own middle, square to the page; beside points, or one of several, it gives its shape only.
    reach : ndarray, shape (k, 2), mm on the page
        Far ends of the artwork.
    settings : TrueUpSettings

    Returns
    -------
    TrueUp

    Raises
    ------
    SelectionError
        No controls, or too few.
    PatternError
        Controls that contradict themselves, mirror images, three in line for a perspective, far ends less sure than allowed.
    """
    controls = gather_controls(points, lengths, rectangles, error_mm=settings.honest_error_mm)
    refuse_mirror(controls, error_mm=settings.honest_error_mm)
    fits, reason = _fit_all(controls, settings)
    if not fits:
        raise explain_unsettled(controls, settings.map, _WORDS.get(settings.map, "any"), reason)
    name, fit, explained = _choose(fits)
    reach = np.asarray(reach, float)
    every = np.concatenate([controls.points.source, controls.lengths.ends.reshape(-1, 2)])
    depth = fit.plane_map.measure_depth(np.vstack([every, reach]))
    if depth.min() * depth.max() <= 0:
        raise PatternError("Part of the artwork lies beyond the horizon of this perspective.", "Check the labels of the control points, or crop the picture to the pattern.", None)
    if np.linalg.det(fit.plane_map.differentiate(every.mean(axis=0))) <= 0:
        raise make_mirror_error()
    grow = 1.0 if explained else max(fit.sigma0 or 1.0, 1.0)
    errors = grow * fit.measure_error(reach)
    far = int(np.argmax(errors))
    far_mm, far_point = float(errors[far]), tuple(map(float, fit.plane_map.apply(reach[far])))
    culprit = _find_culprit(controls, fits, name, explained, settings) if name != "scale" or not explained else None
    misfits = _list_misfits(controls, fit, grow, culprit)
    sigma0 = None if fit.sigma0 is None else fit.sigma0 * settings.honest_error_mm
    worst = max(misfits, key=lambda m: np.hypot(*m.off)) if sigma0 is not None else None
    scale, scale_error = fit.measure_scale()
    doubts = _note_proof(fits, name, fit, explained, sigma0, worst, culprit, settings)
    findings = _note_scale(fits, name) + doubts
    if not explained and sigma0 > GROSS * settings.honest_error_mm:
        suspect = culprit[0] if culprit else worst.label
        raise PatternError(" ".join(f.text for f in doubts), "Measure %s again and correct its label, or take the label off. If the controls are truly no better than this, say so in how far off a "
                           "control may honestly be; if a lesser map than the scan needs was asked for, let a greater one be tried." % suspect, _find_place(controls, suspect))
    if far_mm > settings.most_far_mm:
        said = " ".join(f.text for f in doubts) if culprit or not explained else ""
        raise PatternError("The far end of the artwork would be uncertain by %.1f mm, more than the %.1f mm allowed: %s.%s"
                           % (far_mm, settings.most_far_mm, _describe_place(every, reach, explained), " " + said if said else ""),
                           "Set control points round the whole pattern, measure again what disagrees, or allow a larger error.", tuple(map(float, reach[far])))
    if far_mm > _FLAG * settings.honest_error_mm and explained:
        findings.append(Finding("At this end the work is uncertain by %.1f mm: %s." % (far_mm, _describe_place(every, reach, True)), far_point))
    return TrueUp(name, fit.plane_map, scale, scale_error, sigma0, fit.freedom, tuple(misfits), worst, far_mm, far_point, explained, tuple(findings))


def _fit_all(controls, settings):
    """{name: MapFit} of the maps that the controls settle, in order, and why the last of the others is not settled."""
    fits, reason = {}, ""
    for name in MAPS[1:] if settings.map == "least" else (settings.map,):
        try:
            fits[name] = fit_map(_KIND[name], controls.points, controls.lengths)
        except ValueError as error:
            reason = str(error)
    return fits, reason


def _choose(fits):
    """Name, fit, and whether it explains the controls."""
    for name, fit in fits.items():
        if fit.freedom == 0 or fit.chi_square <= limit_chi_square(fit.freedom):
            return name, fit, True
    name = min(fits, key=lambda n: fits[n].sigma0)
    return name, fits[name], False


def _find_culprit(controls, fits, name, explained, settings):
    """Label of the one control without which a lesser map explains all others with two to spare, and that map; or None."""
    best, found = (len(MAPS), np.inf), None
    for label in dict.fromkeys(controls.point_labels + controls.length_labels):
        rest = controls.leave_out(label)
        for lesser in MAPS[1:]:
            if lesser == name and explained or (settings.map != "least" and lesser != name):
                break
            try:
                fit = fit_map(_KIND[lesser], rest.points, rest.lengths)
            except ValueError:
                continue
            if fit.freedom >= 2 and fit.chi_square <= limit_chi_square(fit.freedom):
                # the least map first: a greater one can bend itself to what is wrong
                if (MAPS.index(lesser), fit.chi_square / fit.freedom) < best:
                    best, found = (MAPS.index(lesser), fit.chi_square / fit.freedom), (label, lesser, fit)
                break
    if found is None:
        return None
    label, lesser, fit = found
    off = None
    if label in controls.point_labels:
        k = controls.point_labels.index(label)
        if controls.points.frames[k] == 0:
            off = float(np.hypot(*(fit.plane_map.apply(controls.points.source[k]) - controls.points.target[k])))
    else:
        k = controls.length_labels.index(label)
        off = float(np.hypot(*np.subtract(*fit.plane_map.apply(controls.lengths.ends[k]))) - controls.lengths.lengths[k])
    return label, lesser, off


def _find_place(controls, label):
    """Where a control lies on the page as it is drawn, (x, y) mm."""
    places = dict(zip(controls.length_labels, controls.lengths.ends.mean(axis=1) if len(controls.length_labels) else ()))
    places.update(zip(controls.point_labels, controls.points.source))
    return tuple(map(float, places[label])) if label in places else None


def _list_misfits(controls, fit, grow, culprit):
    misfits = []
    for label, at, off, error in zip(controls.point_labels, fit.plane_map.apply(controls.points.source), fit.point_residuals, controls.points.errors):
        predicted = grow * float(fit.measure_error(fit.plane_map.invert().apply(at[None]))[0])
        misfits.append((label, at, off, error, predicted))
    for label, ends, off, error in zip(controls.length_labels, controls.lengths.ends, fit.length_residuals, controls.lengths.errors):
        images = fit.plane_map.apply(ends)
        way = (images[1] - images[0]) / max(float(np.hypot(*(images[1] - images[0]))), 1e-12)
        misfits.append((label, images.mean(axis=0), off * way, error, grow * float(fit.measure_error(ends.mean(axis=0)[None])[0])))
    return [Misfit(label, tuple(map(float, at)), tuple(map(float, off)), predicted,
                   "doubtful" if culprit and culprit[0] == label or np.hypot(*off) > _DOUBTFUL * error else "used") for label, at, off, error, predicted in misfits]


def _note_scale(fits, name):
    """What the plain scale gives away."""
    fit = fits.get("scale") or fits[name]
    if name == "perspective":
        return []
    scale, error = fit.measure_scale()
    for factor, how in ((_OLD_DPI, "small"), (1 / _OLD_DPI, "large")):
        if error < 0.005 and abs(scale / factor - 1) <= 3 * error + 1e-4:
            return [Finding("All lengths on the page were too %s by the factor 1.0667, which is 96 / 90: old drawings hold 90 units to the inch, the editor now counts 96. "
                            "The scale is put right here; whatever else was drawn or plotted from the same file has the same error." % how)]
    if abs(scale - 1) <= 3 * error + 1e-4 and error < 0.005:
        return [Finding("The scan was at true size within %.2f percent." % max(100 * 3 * error, 0.01))]
    return []


def _note_proof(fits, name, fit, explained, sigma0, worst, culprit, settings):
    findings = []
    if fit.freedom == 0:
        text = "Nothing is proved: the controls are just enough for %s, so any slip in them would go unseen. Mark spare ones." % _WORDS[name]
        if len(fits) > 1 and name != "scale":
            text += " Lesser maps do not agree with the controls within %.2f mm." % settings.honest_error_mm
        findings.append(Finding(text))
    elif not explained:
        findings.append(Finding("The controls do not agree with one another within %.2f mm: sigma0 is %.2f mm, and %s is out by %.2f mm." % (
            settings.honest_error_mm, sigma0, worst.label, np.hypot(*worst.off)), worst.at))
    elif fit.freedom == 1:
        findings.append(Finding("Only one observation is spare: a weak proof."))
    if culprit:
        label, lesser, off = culprit
        findings.append(Finding("Check %s, it may be wrong%s: without it all others agree by %s." % (label, "" if off is None else " by %.1f mm" % abs(off), _WORDS[lesser])))
    return findings


def _describe_place(controls, reach, explained):
    """Why the far end is unsure."""
    if not explained:
        return "the controls do not agree with one another"
    spread, work = (np.linalg.svd(p - p.mean(axis=0), compute_uv=False) for p in (controls, reach))
    # a plank is long and thin itself: the controls are held against it
    if len(controls) >= 3 and spread[1] * work[0] < 0.3 * spread[0] * work[1]:
        return "the controls lie nearly in line"
    size = float(np.hypot(*np.ptp(reach, axis=0)))
    share = float(np.hypot(*np.ptp(controls, axis=0))) / max(size, 1e-9)
    return "the controls reach over %.0f percent of the artwork" % (100 * share) if share < 0.8 else "more controls, or a lesser map, would hold it better"
