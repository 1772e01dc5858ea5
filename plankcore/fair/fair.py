"""A Pattern to a fair Plank.

Two knobs, both in mm. *Honest error*: how far off a mark may honestly be; small keeps the edge on the marks, large
lets it run fair past them. *Shortest wave*: the shortest bend the wood can have; small follows every wander of the pen,
large smooths the edge towards a simple sweep. A wave of that length in a trace keeps half its height.

Edges known by marks go through `geometry.spline_process`, both together; edges known by a dense trace through
`geometry.smoothing`. Both use a penalty on the fourth derivative: for frame marks it keeps less of their error than the
third or second (tests/benchmarks/fairing_accuracy.py prints by how much).
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SettingError
from ..geometry.outline import find_outline_crossing
from ..geometry.polyline import turn_left
from ..model.plank import EDGE_NAMES, Comb, Finding, Plank
from ..model.typed import refuse_outside, refuse_unknown
from .batten import bend_battens, find_stiffness, hold_edge, tell_battens
from .corners import join_edges
from .from_marks import fair_end_marks, fair_marks
from .from_trace import fair_traces
from .report import draw_report, list_reports
from .told import fair_told, fair_with_knuckles
from .words import tell_knuckle, tell_trace_left_out, tell_wander

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.curve import Curve
    from ..model.plank import Pattern
    from .from_trace import FairedEdge

__all__ = ["BATTENS", "FairSettings", "draw_report", "fair_plank", "measure_comb"]

BATTENS = ("beside", "edge")

NEAR_KNUCKLE_MM = 15.0     # the pieces of an edge may cross this far from the mark labelled knuckle
LEAST_LOST_MM = 2.0        # a shorter stretch of ignored trace is not reported: it is the rest of a corner or a tick


@dataclass(frozen=True)
class FairSettings:
    """How to fair.

    honest_error_mm : how far off a mark may honestly be (its standard error, unless a mark has its own).
    shortest_wave_mm : the shortest wave the wood can have.
    doubtful : 'keep' or 'leave out' the marks that do not agree with the others. known : edges whose shape is given by
    the user, 'upper: straight; lower: keel line'; '' where none is.
    nails : where a batten is held, beside the marks whose labels say nail: 'upper: 3, 5, 9; lower: 2, 7'.
    batten : 'beside' the fair edge, to compare, or 'edge': the edge is cut to it.
    batten_thick_mm, batten_wide_mm, batten_wood : its section, thick in the direction that it bends, and its wood; with
    0 and '' forces are given in units of EI.
    """

    honest_error_mm: float = 0.5
    shortest_wave_mm: float = 600.0
    doubtful: str = "keep"
    known: str = ""
    nails: str = ""
    batten: str = "beside"
    batten_thick_mm: float = 0.0
    batten_wide_mm: float = 0.0
    batten_wood: str = ""

    def __post_init__(self):
        refuse_outside(self.honest_error_mm, 0.02, 20, problem="An honest error of %g mm cannot be used.",
                       remedy="Give 0.02 to 20 mm; 0.5 mm suits marks made with care.", field="Honest error")
        refuse_outside(self.shortest_wave_mm, 20, 20000, problem="A shortest wave of %g mm cannot be used.",
                       remedy="Give 20 mm to 20 m; 600 mm suits most planks.", field="Shortest wave")
        refuse_unknown(self.doubtful, ("keep", "leave out"), problem="'%s' is not a way to treat doubtful marks.",
                       remedy="Say keep or leave out.", field="Doubtful marks")
        refuse_unknown(self.batten, BATTENS, problem="'%s' is no place for a batten.", remedy="Say beside or edge.",
                       field="Batten")
        for value, what in ((self.batten_thick_mm, "thickness"), (self.batten_wide_mm, "width")):
            refuse_outside(value, 0, 200, problem="A batten's %s of %%g mm cannot be used." % what,
                           remedy="Give up to 200 mm; 0 or empty where it is not known.", field="Batten, %s" % what)
        find_stiffness(self.batten_thick_mm, self.batten_wide_mm, self.batten_wood)
        self.list_known()
        self.list_nails()

    def list_known(self) -> dict[str, str]:
        """{edge: 'straight' or the name of the line that it follows}.

        Raises
        ------
        SettingError
            If it is not of the form 'upper: straight; lower: keel line', or names an edge twice.
        """
        found = _split_by_edge(self.known, "'%s' does not say the shape of one edge, once.",
                               "Write edge, colon, shape, as in 'upper: straight; lower: keel line'. Edges are upper, "
                               "lower, fore, aft; a shape is straight, or a line's label.",
                               field="Edges whose shape is known")
        return {edge: "straight" if shape.lower() == "straight" else shape for edge, shape in found.items()}

    def list_nails(self) -> dict[str, tuple[str, ...]]:
        """{edge: frames at whose marks a batten is nailed}.

        Raises
        ------
        SettingError
            If it is not of the form 'upper: 3, 5, 9; lower: 2, 7', or names an edge twice.
        """
        found = _split_by_edge(self.nails, "'%s' does not say the nails of one edge, once.",
                               "Write edge, colon, frames, as in 'upper: 3, 5, 9; lower: 2, 7'. Edges are upper and "
                               "lower.", field="Nails", edges=("upper", "lower"))
        return {edge: tuple(" ".join(w.split()) for w in text.split(",") if w.strip())
                for edge, text in found.items()}


def _split_by_edge(said, problem, remedy, *, field, edges=EDGE_NAMES):
    """{edge: text} from 'upper: this; lower: that'."""
    found = {}
    for part in (p.strip() for p in said.split(";") if p.strip()):
        edge, _, rest = (w.strip() for w in part.partition(":"))
        if edge.lower() not in edges or not rest or edge.lower() in found:
            raise SettingError(problem % part, remedy, field)
        found[edge.lower()] = rest
    return found


def fair_plank(pattern: Pattern, *, settings: FairSettings, lines: Mapping[str, Curve] | None = None, said: str = "",
               told: Sequence[Finding] = (), **names: Any) -> Plank:
    """Fair four edges, intersect them at the corners, and assemble the plank.

    Parameters
    ----------
    pattern : Pattern
    settings : FairSettings
    lines : dict of str to Curve
        The lines, by name, that settings.known makes edges follow.
    said : str
        A sentence on how the selection was understood, which becomes a finding.
    told : sequence of Finding
        Findings about the plank's names, to be added to the plank's own.
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
    faired, marks, more = _fair_edges(pattern, settings, lines or {})
    automatic = faired
    battens = bend_battens(faired, [*marks, *pattern.told], pattern.ticks, settings)
    if settings.batten == "edge":
        faired = {**faired, **{b.edge: hold_edge(faired[b.edge], b) for b in battens}}
    edges, marks, guesses = join_edges(faired, marks, settings)
    more += tell_battens(battens, settings)
    plank = Plank(edges, forward=pattern.forward, marks=tuple(marks), ticks=pattern.ticks,
                  findings=tuple(findings + more + guesses + _tell_knuckles(edges, [*marks, *pattern.told])), **names)
    crossing = find_outline_crossing(plank.outline())
    if crossing is not None:
        raise PatternError("The faired edges cross each other.",
                           "Check the marks near there; a longer shortest wave may be needed.", crossing)
    return replace(plank, battens=battens, reports=list_reports(plank, faired, automatic))


def _tell_knuckles(edges, marks):
    """A Finding for each mark labelled knuckle: by how much its edge turns there."""
    found = []
    for mark in (m for m in marks if m.told == "knuckle"):
        curve = edges[mark.edge].curve
        turns = [(float(np.hypot(*(curve.evaluate([u])[0] - mark.point))), abs(turn))
                 for u, turn in curve.find_knuckles(least_deg=0.0)]
        turn = max((t for d, t in turns if d < 2 * NEAR_KNUCKLE_MM), default=0.0)
        found.append(Finding(tell_knuckle(mark.edge, mark.station, turn), None, "knuckle", number=turn, unit="deg",
                             verdict="", edge=mark.edge, station=mark.station))
    return found


def _fair_edges(pattern, settings, lines):
    """All edges faired: ({name: FairedEdge}, marks, findings). Long edges known by marks are faired together, every
    other edge by itself; an edge whose shape is given is fitted to its marks or trace as it is."""
    edges: dict[str, FairedEdge] = {}
    marks, findings = [], []
    for name, called in settings.list_known().items():
        edges[name], laid, told = fair_told(name, pattern.edges[name], None if called == "straight" else lines[called],
                                            called=called, settings=settings)
        marks, findings = [*marks, *laid], [*findings, *told]
    marked = [n for n in ("upper", "lower") if pattern.edges[n].marks and n not in edges]
    if marked:
        faired, out, told = fair_marks({n: pattern.edges[n].marks for n in marked}, settings)
        edges, marks, findings = {**edges, **faired}, [*marks, *out], [*findings, *told]
    knuckles = {n: [m for m in pattern.told if m.edge == n and m.told == "knuckle"] for n in EDGE_NAMES}
    for name in (n for n in EDGE_NAMES if knuckles[n] and n not in edges):
        edges[name] = fair_with_knuckles(name, pattern.edges[name].runs, knuckles[name], settings)
    for name in EDGE_NAMES:
        if name not in edges and pattern.edges[name].marks:
            edges[name], laid = fair_end_marks(name, pattern.edges[name].marks, settings)
            marks = [*marks, *laid]
    traced, wander = fair_traces({n: pattern.edges[n].runs for n in EDGE_NAMES if n not in edges}, settings)
    edges = {**edges, **traced}
    lost = {name: edge.lost for name, edge in edges.items() if edge.lost and edge.lost[0] >= LEAST_LOST_MM}
    findings = [*findings, *(Finding(tell_trace_left_out(name, length, most), where, "trace-left-out", number=most,
                                     unit="mm",
                                     edge=name)
                             for name, (length, most, where) in lost.items())]
    if wander is not None:
        findings.append(Finding(tell_wander(wander.sd_mm, wander.length_mm), None, "wander", number=wander.sd_mm,
                                unit="mm", verdict=""))
    return edges, marks, findings


COMB_STEP_MM = 25.0
COMB_HEIGHT_MM = 60.0
STRAIGHT_RADIUS_MM = 1e6  # an edge flatter than this (3 mm in 5 m) is as good as straight: its comb is not enlarged


def measure_comb(plank: Plank) -> tuple[Comb, ...]:
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
        # a change of sign where the edge is nearly straight is not counted as an inflection
        firm = np.flatnonzero(np.abs(bend) > 0.02 * largest)
        turns = [k for k, j in zip(firm[:-1], firm[1:]) if bend[k] * bend[j] < 0]
        combs.append(Comb(name, feet, tips, tuple(tuple(map(float, (feet[k] + feet[k + 1]) / 2)) for k in turns),
                          least_radius_mm=1.0 / largest))
    return tuple(combs)
