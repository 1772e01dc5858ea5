"""A Pattern to a fair Plank.

Two knobs, both in mm. *Honest error*: how far off a mark may honestly be; small keeps the edge on the marks, large
lets it run fair past them. *Shortest wave*: the shortest bend the wood can have; small follows every wander of the
pen, large irons the edge towards a simple sweep. A wave of that length, traced, keeps half its height.

Edges known by marks go through `geometry.spline_process`, both together; edges known by a dense trace through
`geometry.smoothing`. Both use a penalty on the fourth derivative: for frame marks it keeps less of their error than the
third or second (tests/benchmarks/fairing_accuracy.py prints by how much).
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..errors import PatternError
from ..geometry.curve import Curve, cross_curves, make_line
from ..geometry.outline import find_outline_crossing
from ..geometry.polyline import turn_left
from ..model.plank import EDGE_NAMES, Comb, Edge, Finding, Plank
from ..model.ranges import refuse_outside, refuse_unknown
from .from_marks import fair_end_marks, fair_marks
from .from_trace import fair_trace
from .words import tell_trace_left_out

__all__ = ["FairSettings", "fair_plank", "measure_comb"]

LEAST_LOST_MM = 2.0        # less of a trace that counts for nothing is the crumb of a corner or a tick


@dataclass(frozen=True)
class FairSettings:
    """How to fair.

    honest_error_mm : how far off a mark may honestly be (its standard error, unless a mark has its own).
    shortest_wave_mm : the shortest wave the wood can have.
    doubtful : 'keep' or 'leave out' the marks that do not agree with the others.
    """

    honest_error_mm: float = 0.5
    shortest_wave_mm: float = 600.0
    doubtful: str = "keep"

    def __post_init__(self):
        refuse_outside(self.honest_error_mm, 0.02, 20, problem="An honest error of %g mm cannot be used.",
                       remedy="Give 0.02 to 20 mm; 0.5 mm suits marks made with care.", field="Honest error")
        refuse_outside(self.shortest_wave_mm, 20, 20000, problem="A shortest wave of %g mm cannot be used.",
                       remedy="Give 20 mm to 20 m; 600 mm suits most planks.", field="Shortest wave")
        refuse_unknown(self.doubtful, ("keep", "leave out"), problem="'%s' is not a way to treat doubtful marks.",
                       remedy="Say keep or leave out.", field="Doubtful marks")


def fair_plank(pattern, *, settings, said="", told=(), **names):
    """Fair four edges, cross them at the corners, and put the plank together.

    Parameters
    ----------
    pattern : Pattern
    settings : FairSettings
    said : str
        How the selection was understood, to be carried as a finding.
    told : sequence of Finding
        What is to be said of the plank's names.
    **names
        name, strake, side, face, thickness_mm, assumed of the Plank.

    Returns
    -------
    Plank
        Its findings name every doubtful mark, with the place.

    Raises
    ------
    PatternError
        If edges double back, do not meet, or cross.
    """
    findings = [Finding(said, key="what-was-read")] * bool(said) + [*told, *pattern.findings]
    faired, marks, more = _fair_edges(pattern, settings)
    edges, marks = _join_edges(faired, marks)
    plank = Plank(edges, forward=pattern.forward, marks=tuple(marks), ticks=pattern.ticks,
                  findings=tuple(findings + more), **names)
    crossing = find_outline_crossing(plank.outline())
    if crossing is not None:
        raise PatternError("The faired edges cross each other.",
                           "Check the marks near there; a longer shortest wave may be needed.", crossing)
    return plank


def _fair_edges(pattern, settings):
    """Each edge faired by itself, but those known by marks together: name to FairedEdge, marks, findings."""
    edges, marks, findings = {}, [], []
    marked = [n for n in ("upper", "lower") if pattern.edges[n].marks]
    if marked:
        edges, marks, findings = fair_marks({n: pattern.edges[n].marks for n in marked}, settings)
    for name in EDGE_NAMES:
        if name not in edges and pattern.edges[name].marks:
            edges[name], more = fair_end_marks(name, pattern.edges[name].marks, settings)
            marks = [*marks, *more]
        elif name not in edges:
            edges[name] = fair_trace(name, pattern.edges[name].runs, settings, is_end=name in ("fore", "aft"))
    lost = {name: edge.lost for name, edge in edges.items() if edge.lost and edge.lost[0] >= LEAST_LOST_MM}
    findings = [*findings, *(Finding(tell_trace_left_out(name, length, most), where, "trace-left-out", most)
                             for name, (length, most, where) in lost.items())]
    return edges, marks, findings


def _join_edges(faired, marks):
    """Edges cut where they cross, name to Edge, and marks with how far they lie off them as they are drawn."""
    curves = {name: edge.run_on() for name, edge in faired.items()}
    corners, result = _find_corners(curves, faired), {}
    for name, edge in faired.items():
        first, last = corners[name]
        curve = _snap(curves[name].trim(first[0], last[0]), first[1], last[1], straight=edge.straight)
        off = np.abs(edge.measure_off_mm(curves[name], edge.points))
        worst = int(np.argmax(off))
        result[name] = Edge(name, curve, float(np.sqrt(np.mean(off ** 2))), float(off[worst]),
                            tuple(map(float, edge.points[worst])), edge.degrees_of_freedom,
                            edge.measure_band_mm(first[1], last[1]), edge.straight)
    return result, [replace(m, residual_mm=float(faired[m.edge].measure_off_mm(curves[m.edge], [m.point])[0]))
                    for m in marks]


def _find_corners(curves, edges):
    """Place on each curve and common point at both its ends: {name: ((u, point), (u, point))}."""
    at = {}
    for long, end in (("upper", "fore"), ("upper", "aft"), ("lower", "fore"), ("lower", "aft")):
        hits = cross_curves(curves[long], curves[end])
        expected = edges[long].first_point if end == "fore" else edges[long].last_point
        if not hits:
            raise PatternError("The %s edge and the %s end do not meet." % (long, end),
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


COMB_STEP_MM = 25.0
COMB_HEIGHT_MM = 60.0
STRAIGHT_RADIUS_MM = 1e6        # flatter than this is straight, and its comb stays small: 3 mm in 5 m


def measure_comb(plank):
    """Curvature of the two long edges, as teeth to draw, and the places where an edge changes the way it bends.

    The longest tooth stands COMB_HEIGHT_MM off its edge; all share one scale, so the edges can be compared.

    Returns
    -------
    tuple of Comb
    """
    found, largest = [], 1.0 / STRAIGHT_RADIUS_MM
    for name in ("upper", "lower"):
        curve = plank.edges[name].curve
        length = curve.measure_length_mm()
        at = curve.find_places(np.linspace(0.0, length, max(int(length / COMB_STEP_MM), 2) + 1))
        bend = curve.measure_curvature_per_mm(np.minimum(at, len(curve.cubics) - 1e-9))
        largest = max(largest, float(np.abs(bend).max()))
        found.append((name, curve, at, bend))
    combs = []
    for name, curve, at, bend in found:
        feet = curve.evaluate(at)
        along = curve.evaluate(np.minimum(at, len(curve.cubics) - 1e-9), derivative=1)
        normal = turn_left(along / np.linalg.norm(along, axis=1)[:, None])
        tips = feet - normal * (bend / largest * COMB_HEIGHT_MM)[:, None]
        # a sign that changes where the edge is all but straight is no inflection
        firm = np.flatnonzero(np.abs(bend) > 0.02 * largest)
        turns = [k for k, j in zip(firm[:-1], firm[1:]) if bend[k] * bend[j] < 0]
        combs.append(Comb(name, feet, tips, tuple(tuple(map(float, (feet[k] + feet[k + 1]) / 2)) for k in turns),
                          1.0 / largest))
    return tuple(combs)
