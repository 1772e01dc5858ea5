"""Every sentence of the reports of True Up Scan, Join Scans and Read Marks: what a fit proves, what was read of a
trace, and why a shape was not.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR
from ..model.plank import Finding
from ..model.scan import Unread

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Points
    from ..geometry.map_fits import MapFit
    from ..model.drawing import Fact
    from ..model.scan import Misfit, ReadMark
    from .controls import Suspect
    from .join import JoinedPiece, JoinFit
    from .true_up import TrueUp, TrueUpSettings

__all__ = [
    "MAP_WORDS",
    "ONE_EDGE",
    "describe_place",
    "group_unread",
    "leave",
    "list_rows",
    "note_apart",
    "note_askew",
    "note_bent",
    "note_bulge",
    "note_left_out",
    "note_missing_corner",
    "note_opening",
    "note_out_of_parallel",
    "note_proof",
    "note_scale",
    "note_torn",
    "tell_disagreement",
    "tell_far_end",
    "tell_far_piece",
    "tell_join",
    "tell_joined",
    "tell_mark_errors",
    "tell_marks_read",
    "tell_no_marks_on",
    "tell_no_number",
    "tell_not_read",
    "tell_nothing_read",
    "tell_number_twice",
    "tell_out_of_scale",
    "tell_true_up",
    "tell_two_marks",
    "tell_two_points",
    "tell_unread",
]

ONE_EDGE = "Only one edge of the line was found; it is used as it is."
MAP_WORDS = {"scale": "one scale", "scales": "a scale along and another across", "affine": "scales and shear",
             "perspective": "perspective", "lens": "perspective and the bulge of the lens"}
# why a shape was not read, by key
_UNREAD = {
    "speck": "a speck under %.3g mm",
    "circle": "a whole circle of radius %.1f mm",
    "thin": "a line thinner than %.3g mm, taken for grain",
    "short": "a stroke shorter than %.3g mm, taken for lettering or grain",
    "folded": "a folded or branched stroke, taken for lettering",
    "line-for-tag": "a line of %.0f mm, and only tags are asked for",
    "round-line": "a line of %.0f mm round the plank, and only %ss are asked for",
    "tag-for-other": "a tag of %.0f x %.0f mm, and only %ss are asked for",
    "small": "smaller than %.3g mm and no tag, line or arc: taken for lettering",
    "nothing": "%.0f x %.0f mm, fills %.0f %% of its box: no tag, no line, no arc",
    "touching": "%.1f times as large as the usual tag: tags that touch each other; part them on the trace",
    "dwarf": "%.2f times as large as the usual tag: something else",
    "long-arc": "an arc of %.0f degrees at %.4g mm radius: longer than a half circle",
    "thick-arc": "an arc too short for its thickness",
    "flat-arc": ("an arc too short to tell: over %.1f mm it bows %.2f mm, give or take %.2f, so its centre may lie on "
                 "either side"),
    "no-centre": "an arc to which no centre can be found",
    "other-radius": "bent to a radius of %.1f mm: no arc of %.4g mm",
    "corner": "a line with a corner of %.0f degrees in it: lettering, or two lines that touch",
    "few-corners": "a line round the plank with %d corners; a plank has four",
    "no-plank": "%s",
    "no-line": "%s",
    "tag-sides": "a tag whose sides cannot be told",
    "tag-along": "it points along the plank and is not at its end",
    "line-across": "a line across the plank that is not at its end",
    "line-without-places": "a line without a tick or a frame number to read it at",
    "arc-along": "an arc struck along the plank and not at its end",
}
_OLD_DPI = 96 / 90                # the editor had 90 user units to the inch before version 0.92, and has 96 since


def note_scale(fits: Mapping[str, MapFit], name: str) -> list[Finding]:
    """Findings on the plain scale: a well-known wrong factor, or a true size."""
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


def note_proof(fits: Mapping[str, MapFit], name: str, fit: MapFit, explained: bool, *, sigma0: float | None,
               worst: Misfit | None, culprit: Suspect | None, settings: TrueUpSettings) -> list[Finding]:
    """What the controls prove, and which of them to look at."""
    findings = []
    if fit.freedom == 0:
        text = ("Nothing is proved: the controls are just enough for %s, so any slip in them would go unseen. Mark "
                "spare ones." % MAP_WORDS[name])
        if len(fits) > 1 and name != "scale":
            text += " Lesser maps do not agree with the controls within %.2f mm." % settings.honest_error_mm
        findings.append(Finding(text, key="nothing-spare"))
    elif not explained and sigma0 is not None and worst is not None:      # both are known where anything is spare
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
    # compare the controls' proportions with those of the work, since a plank is long and thin itself
    if len(controls) >= 3 and spread[1] * work[0] < 0.3 * spread[0] * work[1]:
        return "the controls lie nearly in line"
    size = float(np.hypot(*np.ptp(reach, axis=0)))
    share = float(np.hypot(*np.ptp(controls, axis=0))) / max(size, 1e-9)
    return "the controls reach over %.0f percent of the artwork" % (
        100 * share) if share < 0.8 else "more controls, or a lesser map, would hold it better"


def note_left_out(left_out: Sequence[Any], limit: float) -> list[Finding]:
    """Findings for the controls that were left out."""
    return [Finding("%s was left out: it lies %sover %g of its errors from where all others put it%s." % (
        one.label, "" if one.off_mm is None else "%.1f mm, " % abs(one.off_mm), limit,
        " (by %s)" % MAP_WORDS[one.map] if one.map else ""), where, "left-out", number=one.off_mm, unit="mm",
                    station=one.label) for one, where in left_out]


def note_bulge(bulge: float, *, known: bool) -> list[Finding]:
    """How much the lens bulges, and where its middle was taken from."""
    return [Finding("The lens %s by %.2f percent at the picture's corner, which is taken out%s." % (
        "bulges" if bulge > 0 else "pinches", abs(100 * bulge),
        "" if known else "; its middle was looked for near the middle of the work, since the uncropped picture does "
                         "not lie round it"), None, "bulge", number=100 * bulge, unit="percent",
                         verdict="" if known else "doubt")]


def tell_true_up(fit: TrueUp) -> str:
    """The report of a TrueUp, to letter beside the work."""
    proof = "nothing spare: unproved"
    if fit.sigma0_mm is not None and fit.worst is not None:
        proof = "sigma0 %.2f mm with %d spare, worst %.2f mm at %s" % (
            fit.sigma0_mm, fit.freedom, np.hypot(*fit.worst.off), fit.worst.label)
    height = ""
    if fit.foot is not None:
        height = "; the pattern, %g mm above the dots, drawn in by %.3f percent (camera at %g mm)" % (
            fit.pattern_mm, 100 * fit.pattern_mm / fit.camera_mm, fit.camera_mm)
    elif fit.map in ("perspective", "lens"):
        height = "; dots taken as level with the pattern's upper face"
    return "True up: %s, scale %.5f; %s%s; error predicted at the far end %.2f mm" % (
        MAP_WORDS[fit.map], fit.scale, proof, height, fit.far_mm)


def tell_far_end(far_mm: float, why: str) -> str:
    """A farthest point with a larger error than the controls."""
    return "At this end the work is uncertain by %.1f mm: %s." % (far_mm, why)


# joined pieces ------------------------------------------------------------------------------------------------------


def tell_join(join: JoinFit) -> str:
    """The report of a JoinFit, to letter beside the work."""
    return ("Joined %d pieces on %d points: sigma0 %.2f mm with %d spare, worst misfit %.2f mm at %s; error predicted "
            "at the far end %.2f mm" % (
                len(join.pieces), len(join.misfits), join.sigma0_mm, join.freedom, np.hypot(*join.worst.off),
                join.worst.label, max(p.far_mm for p in join.pieces)))


def tell_joined(piece: JoinedPiece) -> str:
    """One piece: points, scale check, predicted errors."""
    scale = ""
    if piece.scale is not None and piece.scale_error is not None:
        scale = "scale left to itself %.5f (standard error %.5f), " % (piece.scale, piece.scale_error)
    return "%s: %d shared points, %serror at the joint %.2f mm, at the far end %.2f mm" % (
        piece.label, piece.shared, scale, piece.joint_mm, piece.far_mm)


def tell_disagreement(error_mm: float, sigma0_mm: float, worst: Misfit) -> str:
    """Pieces that disagree by more than the honest error allows."""
    return ("The pieces do not agree within %.2f mm: sigma0 is %.2f mm, and %s is out by %.2f mm. Check that point in "
            "each piece." % (error_mm, sigma0_mm, worst.label, np.hypot(*worst.off)))


def tell_two_points(label: str) -> str:
    """A piece that proves nothing about itself."""
    return ("The piece '%s' hangs on two points: only their distance is checked, and a slip in one turns the whole "
            "piece. Label a third." % label)


def tell_out_of_scale(label: str, scale: float, error: Any) -> str:
    """A piece whose points lie too far apart, or too near."""
    return ("The piece '%s' would fit better if it were scaled by %.5f (standard error %.5f): true it up again, or one "
            "of the others." % (label, scale, error))


def tell_far_piece(label: str, far_mm: float) -> str:
    """A farthest point with a larger error than the points."""
    return "At this end the piece '%s' is uncertain by %.1f mm." % (label, far_mm)


# marks --------------------------------------------------------------------------------------------------------------


def tell_unread(key: str, *numbers: float | str) -> str:
    """Why a shape was not read."""
    return _UNREAD[key] % numbers


def leave(label: str, where: tuple[float, ...], key: str, *numbers: float | str, minor: bool = False) -> Unread:
    """The Unread of a shape that is left out for the reason of this key."""
    return Unread(label, tell_unread(key, *numbers), where, minor, key=key, numbers=numbers)


def group_unread(unread: Sequence[Unread]) -> list[list[Unread]]:
    """Unread shapes grouped by their reason, in the order in which each reason was first met."""
    found: dict[Any, list[Unread]] = {}
    for one in unread:
        found.setdefault((one.key, one.numbers), []).append(one)
    return list(found.values())


def tell_nothing_read(count: int, groups: Sequence[Sequence[Unread]]) -> str:
    """That none of the shapes is a mark, and the reasons of a few groups."""
    said = "; ".join("%s%s" % (rows[0].reason, " (%d)" % len(rows) if len(rows) > 1 else "") for rows in groups)
    return "None of the %d shapes could be read as a mark: %s." % (count, said)


def list_rows(facts: Sequence[Fact], findings: Sequence[Finding]) -> tuple[str, ...]:
    """What was read and what was not, in lines to letter below the marks; doubts without a place between the two."""
    read, left = ([f.words for f in facts if f.words and (f.key == "not-read") == late] for late in (False, True))
    return (*read, *(f.text for f in findings if f.where is None), *left)


def tell_marks_read(marks: Sequence[ReadMark]) -> str:
    """How many marks, of which kinds, on which edges."""
    kinds: dict[str, int] = {}
    edges: dict[str, int] = {}
    for one in marks:
        kinds[one.kind] = kinds.get(one.kind, 0) + 1
        edges[one.mark.edge] = edges.get(one.mark.edge, 0) + 1
    return "Read: %d marks (%s): %s" % (len(marks), ", ".join("%s %d" % k for k in kinds.items()),
                                        ", ".join("%s %d" % e for e in edges.items()))


def tell_mark_errors(errors_mm: Sequence[float], doubtful: int) -> str:
    """How well the marks are known."""
    return "Standard error %.2f to %.2f mm; %d doubtful" % (min(errors_mm), max(errors_mm), doubtful)


def tell_no_marks_on(edges: Sequence[str]) -> str:
    """Edges that no mark was read on."""
    return "No marks were read on: %s. %s needs them, or a line there" % (", ".join(edges), FAIR.title)


def tell_not_read(some: Sequence[Unread]) -> str:
    """Shapes that were left out for one reason."""
    return "Not read: %d, %s" % (len(some), some[0].reason)


def tell_no_number(missing: int, count: int, reach_mm: float) -> str:
    """Marks of the long edges without a frame number beside them."""
    return "%d of %d marks found no frame number within %.4g mm." % (missing, count, reach_mm)


def tell_two_marks(station: str, edge: str) -> str:
    """A frame that an edge has twice."""
    return "Frame %s has two marks on the %s edge." % (station, edge)


def tell_number_twice(label: str, places: int, apart_mm: float) -> str:
    """A frame number that is written at two frames."""
    return "The frame number %s stands at %d places, %.0f mm apart; it is used for none." % (label, places, apart_mm)


def note_out_of_parallel(angle_deg: float) -> str:
    """Of a tag."""
    return "a bent tag: its sides are %.1f degrees out of parallel" % angle_deg


def note_bent(off_mm: float) -> str:
    """Of a tag's long sides."""
    return "a bent tag: its sides are up to %.1f mm off straight" % off_mm


def note_torn(off_mm: float) -> str:
    """Of a tag's end."""
    return "a torn tag: its end is up to %.1f mm off straight" % off_mm


def note_missing_corner(missing_mm: float) -> str:
    """Of a tag's end."""
    return "a torn tag: a corner of its end is missing by %.1f mm" % missing_mm


def note_askew(angle_deg: float) -> str:
    """Of a tag's end."""
    return "a tag whose end is %.0f degrees out of square: its corner may have touched, not its middle" % angle_deg


def note_opening(radius_mm: float, error_mm: float, given_mm: float) -> str:
    """Of an arc whose own radius is another than the dividers'."""
    return "an arc of %.1f mm radius, give or take %.1f, where %.4g was given: did the dividers move?" % (
        radius_mm, error_mm, given_mm)


def note_apart(count: int, apart_mm: float) -> str:
    """Of arcs that were struck from one point and do not meet there."""
    return "%d arcs of one point disagree: their centres lie up to %.1f mm from it" % (count, apart_mm)
