"""What True Up Scan says of its fit, in words."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..model.plank import Finding

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Points
    from ..geometry.map_fits import MapFit
    from ..model.scan import Misfit
    from .controls import Suspect
    from .true_up import TrueUpSettings

__all__ = ["MAP_WORDS", "ONE_EDGE", "describe_place", "note_bulge", "note_left_out", "note_proof", "note_scale"]

ONE_EDGE = "Only one edge of the line was found; it is used as it is."
MAP_WORDS = {"scale": "one scale", "scales": "a scale along and another across", "affine": "scales and shear",
             "perspective": "perspective", "lens": "perspective and the bulge of the lens"}
_OLD_DPI = 96 / 90                # 90 user units to the inch before the editor's 0.92, 96 since


def note_scale(fits: Mapping[str, MapFit], name: str) -> list[Finding]:
    """What the plain scale gives away."""
    fit = fits.get("scale") or fits[name]
    if name in ("perspective", "lens"):
        return []
    scale, error = fit.measure_scale()
    for factor, how in ((_OLD_DPI, "small"), (1 / _OLD_DPI, "large")):
        if error < 0.005 and abs(scale / factor - 1) <= 3 * error + 1e-4:
            return [Finding("All lengths on the page were too %s by the factor 1.0667, which is 96 / 90: old "
                            "drawings hold 90 units to the inch, the editor now counts 96. "
                            "The scale is put right here; whatever else was drawn or plotted from the same file has "
                            "the same error." % how, key="old-units")]
    if abs(scale - 1) <= 3 * error + 1e-4 and error < 0.005:
        return [Finding("The scan was at true size within %.2f percent." % max(100 * 3 * error, 0.01), None,
                        "true-size", number=100 * 3 * error, unit="percent", verdict="")]
    return []


def note_proof(fits: Mapping[str, MapFit], name: str, fit: MapFit, explained: bool, sigma0: float | None,
               worst: Misfit | None, culprit: Suspect | None, settings: TrueUpSettings) -> list[Finding]:
    """What the controls prove, and which of them to look at."""
    findings = []
    if fit.freedom == 0:
        text = ("Nothing is proved: the controls are just enough for %s, so any slip in them would go unseen. Mark "
                "spare ones." % MAP_WORDS[name])
        if len(fits) > 1 and name != "scale":
            text += " Lesser maps do not agree with the controls within %.2f mm." % settings.honest_error_mm
        findings.append(Finding(text, key="nothing-spare"))
    elif not explained:
        findings.append(Finding("The controls do not agree with one another within %.2f mm: sigma0 is %.2f mm, and "
                                "%s is out by %.2f mm." % (
            settings.honest_error_mm, sigma0, worst.label, np.hypot(*worst.off)), worst.at, "disagree", number=sigma0,
            unit="mm",
                                limit=settings.honest_error_mm, station=worst.label))
    elif fit.freedom == 1:
        findings.append(Finding("Only one observation is spare: a weak proof.", None, "one-spare", number=1.0,
                                unit="observations"))
    if culprit:
        findings.append(Finding("Check %s, it may be wrong%s: without it all others agree by %s."
                                % (culprit.label, "" if culprit.off_mm is None else " by %.1f mm"
                                   % abs(culprit.off_mm), MAP_WORDS[culprit.map]), None, "suspect",
                                number=culprit.off_mm, unit="mm", station=culprit.label))
    return findings


def describe_place(controls: Points, reach: Points, explained: bool) -> str:
    """Why the far end is unsure."""
    if not explained:
        return "the controls do not agree with one another"
    spread, work = (np.linalg.svd(p - p.mean(axis=0), compute_uv=False) for p in (controls, reach))
    # a plank is long and thin itself: the controls are held against it
    if len(controls) >= 3 and spread[1] * work[0] < 0.3 * spread[0] * work[1]:
        return "the controls lie nearly in line"
    size = float(np.hypot(*np.ptp(reach, axis=0)))
    share = float(np.hypot(*np.ptp(controls, axis=0))) / max(size, 1e-9)
    return "the controls reach over %.0f percent of the artwork" % (
        100 * share) if share < 0.8 else "more controls, or a lesser map, would hold it better"


def note_left_out(left_out: Sequence[Any], limit: float) -> list[Finding]:
    """A finding for each control that was left out."""
    return [Finding("%s was left out: it lies %sover %g of its errors from where all others put it%s." % (
        one.label, "" if one.off_mm is None else "%.1f mm, " % abs(one.off_mm), limit,
        " (by %s)" % MAP_WORDS[one.map] if one.map else ""), where, "left-out", number=one.off_mm, unit="mm",
                    station=one.label) for one, where in left_out]


def note_bulge(bulge: float, *, known: bool) -> list[Finding]:
    """What a lens did to the picture, and how its middle was had."""
    return [Finding("The lens %s by %.2f percent at the picture's corner, which is taken out%s." % (
        "bulges" if bulge > 0 else "pinches", abs(100 * bulge),
        "" if known else "; its middle was looked for near the middle of the work, since the uncropped picture does "
                         "not lie round it"), None, "bulge", number=100 * bulge, unit="percent",
                         verdict="" if known else "doubt")]
