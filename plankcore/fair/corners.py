"""Corners of a plank: fair edges are extended and cut where they cross, and corners that no mark holds are reported as
guesses."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.curve import Curve, cross_curves, make_line
from ..model.plank import CornerGuess, Edge, Finding
from .words import tell_corner_guess, tell_overrun

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..model.plank import Mark
    from .fair import FairSettings
    from .from_trace import FairedEdge

__all__ = ["join_edges"]

GUESS_ERRORS = 2.0         # a corner is a guess if its edge's standard error there is over this many honest errors
GUESS_SHARE = 0.25         # and if it lies farther past the last mark than this share of the marks' spacing
SEEN_MM = 20.0  # marks or a trace that end this far short of the corner, or run this far past it, are reported
_PLACES = {"fore": 0, "aft": 1}


def join_edges(faired: Mapping[str, FairedEdge], marks: Sequence[Mark],
               settings: FairSettings) -> tuple[dict[str, Edge], list[Mark], list[Finding]]:
    """Edges cut where they cross.

    Returns
    -------
    edges : dict of str to Edge
    marks : list of Mark
        With how far they lie off the edges as they are drawn.
    findings : list of Finding
        Corners that are guessed, and marks or traces that run far past their corner.

    Raises
    ------
    PatternError
        If an edge and an end do not meet; the message says how far they are apart.
    """
    curves = {name: edge.run_on() for name, edge in faired.items()}
    corners = _find_corners(curves, faired)
    result: dict[str, Edge] = {}
    findings: list[Finding] = []
    for name, edge in faired.items():
        first, last = corners[name]
        # an end far from the last marks may have been read the wrong way round, from lower to upper
        between = (curves[name].trim(first[0], last[0]) if first[0] <= last[0]
                   else curves[name].trim(last[0], first[0]).reverse())
        curve = _snap(between, first[1], last[1], straight=edge.straight)
        off = np.abs(edge.measure_off_mm(curves[name], edge.points))
        worst = int(np.argmax(off))
        guesses, more = _judge_corners(name, edge, (first[1], last[1]), settings.honest_error_mm)
        findings += more
        result[name] = Edge(name, curve, float(np.sqrt(np.mean(off ** 2))), float(off[worst]),
                            worst_point=tuple(map(float, edge.points[worst])),
                            degrees_of_freedom=edge.degrees_of_freedom,
                            band_mm=edge.measure_band_mm(first[1], last[1]), straight=edge.straight, guesses=guesses,
                            told=edge.told)
        if edge.wander is not None:
            result[name] = replace(result[name], wander_mm=edge.wander.sd_mm, wander_length_mm=edge.wander.length_mm,
                                   wander_kind=edge.wander.kind, stairs_mm=edge.wander.stairs_mm)
    return result, [replace(m, residual_mm=float(faired[m.edge].measure_off_mm(curves[m.edge], [m.point])[0]))
                    for m in marks], findings


def _judge_corners(name, edge, corners, honest_mm):
    """CornerGuesses of a long edge, with Findings for them and for marks or a trace that run far past their corner."""
    guesses, findings = [], []
    if name not in ("upper", "lower"):
        return (), []
    at = edge.chart.read(np.stack(corners))[0]
    for end, k in _PLACES.items():
        beyond = float(edge.low - at[0] if end == "fore" else at[1] - edge.high)
        where = tuple(map(float, corners[k]))
        if beyond < -SEEN_MM:
            findings.append(Finding(tell_overrun(name, end, -beyond), where, "overrun", number=-beyond, unit="mm",
                                    verdict="", edge=name))
        band = float(edge.measure_error(at[k:k + 1])[0])
        if beyond > max(SEEN_MM, GUESS_SHARE * edge.spacing_mm) and band > GUESS_ERRORS * honest_mm:
            guesses.append(CornerGuess(end, beyond, band))
            findings.append(Finding(tell_corner_guess(name, guesses[-1], edge.spacing_mm), where, "corner-guessed",
                                    number=band, unit="mm", edge=name))
    return tuple(guesses), findings


def _find_corners(curves, edges):
    """Where each curve meets its neighbours: {name: ((u, point) at its start, (u, point) at its end)}."""
    at = {}
    for long, end in (("upper", "fore"), ("upper", "aft"), ("lower", "fore"), ("lower", "aft")):
        hits = cross_curves(curves[long], curves[end])
        expected = edges[long].first_point if end == "fore" else edges[long].last_point
        if not hits:
            raise PatternError("The %s edge and the %s end do not meet: the end passes %.0f mm from where the record "
                               "of the edge stops." % (long, end, curves[end].find_nearest(expected)[1]),
                               "Draw the end from edge to edge, and the edge, or its last mark, to within %.0f mm of "
                               "it." % edges[long].reach_mm, tuple(map(float, expected)))
        u, v, point = min(hits, key=lambda h: float(np.hypot(*(h[2] - expected))))
        at[long, end], at[end, long] = (u, point), (v, point)
    return {"upper": (at["upper", "fore"], at["upper", "aft"]), "lower": (at["lower", "fore"], at["lower", "aft"]),
            "fore": (at["fore", "upper"], at["fore", "lower"]), "aft": (at["aft", "upper"], at["aft", "lower"])}


def _snap(curve, start, end, *, straight):
    if straight:
        return make_line(start, end)
    cubics = np.array(curve.cubics)
    cubics[0, 0], cubics[-1, 3] = start, end
    return Curve(cubics)
