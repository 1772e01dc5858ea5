"""A Pattern to a fair Plank.

Two knobs, both in mm. *Honest error*: how far off a mark may honestly be; small keeps the edge on the marks, large
lets it run fair past them. *Shortest wave*: the shortest bend the wood can have; small follows every wander of the
pen, large irons the edge towards a simple sweep. A wave of that length, traced, keeps half its height.

Edges known by marks go through `geometry.spline_process`, both together; edges known by a dense trace through
`geometry.smoothing`. Both use a penalty on the fourth derivative: for frame marks it keeps less of their error than the
third or second (tests/benchmarks/fairing_accuracy.py prints by how much).
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..errors import PatternError
from ..geometry.outline import find_outline_crossing
from ..geometry.polyline import turn_left
from ..model.plank import EDGE_NAMES, Comb, Finding, Plank
from ..model.ranges import refuse_outside, refuse_unknown
from .corners import join_edges
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
    findings = [Finding(said, key="what-was-read", verdict="")] * bool(said) + [*told, *pattern.findings]
    faired, marks, more = _fair_edges(pattern, settings)
    edges, marks, guesses = join_edges(faired, marks, settings)
    plank = Plank(edges, forward=pattern.forward, marks=tuple(marks), ticks=pattern.ticks,
                  findings=tuple(findings + more + guesses), **names)
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
    findings = [*findings, *(Finding(tell_trace_left_out(name, length, most), where, "trace-left-out", number=most,
                                     unit="mm",
                                     edge=name)
                             for name, (length, most, where) in lost.items())]
    return edges, marks, findings


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
