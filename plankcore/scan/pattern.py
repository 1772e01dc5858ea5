"""Drawn shapes to a Pattern: decides which line is which edge, before fairing.

Terms. A *loop* is a closed line all round the plank. A *piece* is an open line. A *chain* is pieces joined end to end
where one continues another in the same direction. A *section* is the part of a loop between two corners.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..actions import MARKS
from ..errors import PatternError, SelectionError
from ..geometry import arrays
from ..geometry.bezier import flatten_cubics
from ..geometry.polyline import contains_points, find_self_crossing, measure_arc_mm, measure_area_mm2, resample_polyline
from ..geometry.traced_lines import find_turns, join_runs, remove_spikes, resample_closed, split_at_turns
from ..model.plank import EDGE_NAMES, EdgeSource, Finding, Mark, Pattern, Tick
from . import words
from .edges import name_edges, refuse_labels, sort_marks

if TYPE_CHECKING:
    from typing import NoReturn, Sequence

    from ..model.plank import Trace

__all__ = ["LINE_EDGES", "read_pattern"]

LINE_EDGES = ("middle", "inner", "outer")
STEP_MM = 1.0              # spacing of the points of an edge: shorter than any wave of the wood
MARK_SIZE_MM = 30.0        # a drawn object no larger than this is a mark, not a line
CLOSE_GAP_MM = 0.5         # a loop counts as closed if its ends are nearer than this
TICK_FOOT_MM, TICK_LEAST_MM, TICK_MOST_MM = 8.0, 3.0, 30.0
CORNER_LEAST_DEG = 25.0
JOIN_GAP_MM = 20.0         # greatest gap between pieces that are broken at a tick
TOLD_OFF_MM = 15.0         # a mark labelled knuckle or nail belongs to a drawn edge no farther away than this
END_REACH_MM = 120.0       # a drawn end may be this far from the ends, or the last marks, of the long edges


def read_pattern(traces: Sequence[Trace], *, forward: str, line_edge: str = "middle", error_mm: float = 0.5) -> Pattern:
    """Read a plank's four edges from drawn objects.

    Parameters
    ----------
    traces : sequence of Trace
        What was selected.
    forward : {'right', 'left'}
        Where the bow lies on the page.
    line_edge : {'middle', 'inner', 'outer'}
        Which border of a drawn line is meant, where the tracer gives both.
    error_mm : float
        Error given to marks that carry none of their own.

    Raises
    ------
    SelectionError, PatternError
        If the objects are not one plank.
    """
    if not traces:
        raise SelectionError("Nothing to read.",
                             "Select the traced outline, the four edge lines, or the marks and the end lines.")
    runs = [(flatten_cubics(c, tolerance_mm=arrays.CURVE_MM), closed, trace) for trace in traces
            for c, closed in trace.runs]
    if not runs:
        raise SelectionError("The selected objects hold no lines.",
                             "Select the traced outline, the four edge lines, or the marks and the end lines.")
    extent = max(float(np.ptp(p, axis=0).max()) for p, _, _ in runs)
    loops = [p for p, closed, _ in runs if (closed or _is_nearly_closed(p))
             and np.ptp(p, axis=0).max() > max(0.5 * extent, MARK_SIZE_MM)]
    marks = [t for t in traces if _measure_size(t) <= MARK_SIZE_MM]
    if loops:
        return _add_told(_read_loops(loops, forward, line_edge), marks, error_mm)
    small = {id(m) for m in marks}
    long_runs = [run for run in runs if id(run[2]) not in small]
    lines = [p for p, _, _ in long_runs]
    # together with lines as long as the plank small strokes are ticks and numbers; together with only two short ends
    # they are marks
    if len(marks) >= 6 and sum(float(measure_arc_mm(p)[-1]) for p in lines) < 0.8 * float(
            np.ptp(np.concatenate([p for p, _, _ in runs]), axis=0).max()):
        return _read_marks(marks, long_runs, forward, error_mm)
    said = {id(t) for t in marks if t.told}
    pattern = _read_pieces(lines if len(marks) > len(said) else [p for p, _, t in runs if id(t) not in said], forward,
                           _find_told(runs))
    _refuse_line_labels(runs, pattern)
    return _add_told(pattern, marks, error_mm)


def _add_told(pattern, marks, error_mm):
    """A pattern of drawn edges, with the marks on them that are labelled knuckle or nail; each must lie on its edge."""
    found = []
    for trace in (t for t in marks if t.told):
        centre = _find_centre(trace)
        edges = {n: e.runs[0] for n, e in pattern.edges.items()}
        edge = trace.edge if trace.edge in edges else _find_nearest_edge(edges, centre)
        off = float(np.min(np.hypot(*(edges[edge] - centre).T)))
        if off > TOLD_OFF_MM:
            raise SelectionError("%s says %s of the %s edge, and lies %.0f mm off it." % (trace.label, trace.told, edge,
                                                                                         off),
                                 "Move the mark onto the edge, to within %.0f mm, or mend its label." % TOLD_OFF_MM,
                                 tuple(map(float, centre)))
        found.append(_make_mark(trace, edge, error_mm))
    return replace(pattern, told=tuple(found))


def _find_told(runs):
    """Edge, middle (2,) and label of every drawn line that is labelled as an edge."""
    evens = [(resample_polyline(p, step_mm=STEP_MM), t) for p, _, t in runs if t.edge in EDGE_NAMES
             and measure_arc_mm(p)[-1] > MARK_SIZE_MM]
    return [(t.edge, even[len(even) // 2], t.label) for even, t in evens]


def _refuse_line_labels(runs, pattern):
    """Refuse a drawn line that is labelled as one edge and lies in the place of another."""
    edges = {n: e.runs[0] for n, e in pattern.edges.items()}
    told = {label: (edge, middle, _find_nearest_edge(edges, middle)) for edge, middle, label in _find_told(runs)}
    for label, (edge, middle, found) in told.items():
        if edge != found:
            other = next((name for name, row in told.items() if row[2] == edge), None)
            raise SelectionError("%s is labelled %s, and lies where the %s edge is%s."
                                 % (label, edge, found, "" if other is None
                                    else "; where the %s edge is lies %s, labelled %s" % (edge, other, told[other][0])),
                                 "Turn the drawing (a scan may lie upside down or be mirrored), set where the bow "
                                 "lies, or mend the label.", tuple(map(float, middle)))


def _is_nearly_closed(points):
    return len(points) > 3 and np.hypot(*(points[-1] - points[0])) <= CLOSE_GAP_MM


def _measure_size(trace):
    points = np.concatenate([c.reshape(-1, 2) for c, _ in trace.runs]) if trace.runs else np.zeros((1, 2))
    return float(np.ptp(points, axis=0).max())


def _read_loops(loops, forward, line_edge):
    loops = sorted(loops, key=lambda p: -abs(measure_area_mm2(p)))
    outer, inside = loops[0], []
    for other in loops[1:]:
        # a few points are enough; testing all would take longer than the fairing
        if contains_points(outer[::4], other[:: max(len(other) // 8, 1)]).mean() > 0.9:
            inside.append(other)
        elif abs(measure_area_mm2(other)) > 0.2 * abs(measure_area_mm2(outer)):
            raise SelectionError("Two outlines are selected, side by side.",
                                 "Select the outline of one plank, and run the action once for each.",
                                 tuple(map(float, other.mean(axis=0))))
    inner = next((p for p in inside if abs(measure_area_mm2(p)) > 0.3 * abs(measure_area_mm2(outer))), None)
    findings = []
    if inner is None and line_edge != "outer":
        findings.append(Finding(words.ONE_EDGE, key="one-edge-of-line"))
    wanted = [outer] if inner is None else {"outer": [outer], "inner": [inner], "middle": [outer, inner]}[line_edge]
    sections, ticks = [], []
    for loop in wanted:
        parts, spikes = _split_loop(loop)
        named = name_edges(parts, forward=forward)
        sections.append(named)
        ticks += [Tick(s.foot, s.tip, _find_nearest_edge(named, s.foot)) for s in spikes]
    edges = {name: EdgeSource(runs=tuple(s[name] for s in sections)) for name in sections[0]}
    return Pattern(edges, tuple(ticks), forward=forward, kind="outline", findings=tuple(findings))


def _split_loop(loop):
    """Four sections of a loop between its corners, in order, and the spikes that were taken out."""
    even, step = resample_closed(loop, step_mm=STEP_MM)
    even, spikes = remove_spikes(even, step_mm=step, foot_mm=TICK_FOOT_MM, least_mm=TICK_LEAST_MM, most_mm=TICK_MOST_MM)
    if spikes:
        even, step = resample_closed(even, step_mm=STEP_MM)
    crossing = find_self_crossing(even[::2])
    if crossing is not None:
        raise PatternError("The outline crosses itself.",
                           "Take out the loop there with the node tool, or trace again.", crossing)
    half_width = abs(measure_area_mm2(even)) / (len(even) * step)
    window = float(np.clip(0.25 * half_width, 6.0, 20.0))
    turning = np.sign(measure_area_mm2(even))
    found = [(k, a) for k, a in find_turns(even, step_mm=step, window_mm=window, least_deg=CORNER_LEAST_DEG)
             if a * turning > 0]
    if len(found) < 4:
        raise PatternError("Only %d corners were found on the outline; a plank has four." % len(found),
                           "Draw the four edges as four separate lines, run a little past the corners, and select "
                           "those.",
                           tuple(map(float, even[found[0][0]])) if found else None)
    corners = _choose_corners(even, found, step)
    pieces = []
    for k, first in enumerate(corners):
        last = corners[(k + 1) % 4]
        index = np.arange(first, last + 1 if last > first else last + len(even) + 1) % len(even)
        pieces.append(even[index])
    return pieces, spikes


def _choose_corners(even, found, step):
    """Four corners, two at each end, the strongest first."""
    middle = even.mean(axis=0)
    away = even - middle
    along = away @ np.linalg.svd(away[::10], full_matrices=False)[2][0]
    chosen = []
    for sign in (1, -1):
        reach = np.max(sign * along)
        here = [(k, a) for k, a in found if sign * along[k] > 0.5 * reach]
        if len(here) < 2:
            raise PatternError("Only one corner was found at an end of the plank.",
                               "Draw the four edges as four separate lines, run a little past the corners, and "
                               "select those.",
                               tuple(map(float, even[int(np.argmax(sign * along))])))
        chosen += [k for k, _ in sorted(here, key=lambda row: -abs(row[1]))[:2]]
    return sorted(chosen)


def _find_nearest_edge(named, point):
    return min(named, key=lambda name: float(np.min(np.sum((named[name] - np.asarray(point)) ** 2, axis=1))))


def _chain_lines(lines):
    """Open lines, cut at sharp turns and joined where one continues another, the longest first; specks are left out."""
    many = len(lines) > 8
    pieces = []
    for line in lines:
        if measure_arc_mm(line)[-1] < 12:
            continue
        even = resample_polyline(line, step_mm=STEP_MM)
        for part in split_at_turns(even, step_mm=STEP_MM, window_mm=8.0, least_deg=35.0, margin_mm=4.0):
            if many and len(part) > 12:
                part = part[3:-3]             # a traced centreline bends towards the tick that it was broken at
            if len(part) >= 10:
                pieces.append(part)
    chains = join_runs(pieces, gap_mm=JOIN_GAP_MM, turn_deg=20.0, reach_mm=12.0)
    return sorted((c for c in chains if measure_arc_mm(c)[-1] >= 25), key=lambda c: -measure_arc_mm(c)[-1])


def _read_pieces(lines, forward, told):
    """Edges from open lines: four drawn ones, or the dozens that a centreline tracer makes. told : labels of lines, by
    the lines' middles."""
    if len(lines) == 1:
        gap = float(np.hypot(*(lines[0][-1] - lines[0][0])))
        if measure_arc_mm(lines[0])[-1] > 3 * gap:
            raise PatternError("The outline is open: there is a gap of %.1f mm." % gap,
                               "Close it with the node tool (join the two end nodes), then run the action again.",
                               tuple(map(float, lines[0][-1])))
    chains = _chain_lines(lines)
    if len(chains) < 4:
        raise SelectionError("%s found; a plank needs four edges."
                             % ("1 line was" if len(chains) == 1 else "%d separate lines were" % len(chains)),
                             "Select the upper edge, the lower edge and both ends; or one closed outline; or marks "
                             "and two end lines.")
    first, second = chains[:2]
    if len(chains) > 4 and measure_arc_mm(chains[2])[-1] > 0.6 * measure_arc_mm(second)[-1]:
        raise SelectionError("There are more than two long lines: this may be two planks.",
                             "Select the edges of one plank only.",
                             tuple(map(float, chains[2].mean(axis=0))))
    if np.hypot(*(first[0] - second[0])) + np.hypot(*(first[-1] - second[-1])) > np.hypot(
            *(first[0] - second[-1])) + np.hypot(*(first[-1] - second[0])):
        second = second[::-1]
    ends, left = [], chains[2:]
    for a, b in ((first[-1], second[-1]), (first[0], second[0])):
        width = float(np.hypot(*(a - b)))

        def miss(chain):
            p, q = chain[0], chain[-1]
            return float(min(max(np.hypot(*(p - a)), np.hypot(*(q - b))),
                             max(np.hypot(*(p - b)), np.hypot(*(q - a)))))
        best = min(left, key=miss) if left else None
        reach = max(END_REACH_MM, 0.5 * width)
        if best is None or miss(best) > reach:
            _refuse_end(a, b, None if best is None else miss(best), reach)
        left = [c for c in left if c is not best]
        ends.append(best if np.hypot(*(best[0] - a)) < np.hypot(*(best[-1] - a)) else best[::-1])
    sections, labels = [first, ends[0], second[::-1], ends[1][::-1]], [""] * 4
    for edge, middle, _ in told:
        labels[_find_nearest_edge(dict(enumerate(sections)), middle)] = edge
    named = name_edges(sections, forward=forward, told=labels)
    return Pattern({k: EdgeSource(runs=(v,)) for k, v in named.items()}, (), forward, "lines")


def _refuse_end(a, b, away_mm, reach_mm) -> NoReturn:
    """Refuse an end whose nearest line is too far from the last places of both edges, a and b."""
    where = tuple(map(float, (np.asarray(a) + np.asarray(b)) / 2))
    if away_mm is None:
        raise SelectionError("Nothing is drawn across one end of the plank.",
                             "Draw the end as a line from edge to edge, and select it too.", where)
    raise SelectionError("The line drawn nearest to one end of the plank lies %.0f mm from where the edges stop there; "
                         "up to %.0f mm are bridged or cut." % (away_mm, reach_mm),
                         "Draw the end as a line from edge to edge, or bring the edges to within %.0f mm of it."
                         % reach_mm, where)


def _read_marks(marks, long_runs, forward, error_mm):
    """Edges from marks near the upper and lower edge, and for each end a line, or marks labelled as that end's."""
    lines = [p for p, _, _ in long_runs]
    told_ends = [row for row in _find_told(long_runs) if row[0] in ("fore", "aft")]
    end_marks = {name: [t for t in marks if t.edge == name] for name in ("fore", "aft")}
    marks = [t for t in marks if t.edge not in end_marks]
    points = np.stack([_find_centre(t) for t in marks])
    told_ends += [(t.edge, _find_centre(t), t.label) for t in end_marks["fore"] + end_marks["aft"]]
    upper, axis = sort_marks(points, [t.edge for t in marks], ends=[row[:2] for row in told_ends], forward=forward)
    refuse_labels(np.vstack([points, *(row[1][None] for row in told_ends)]),
                  ["upper" if u else "lower" for u in upper] + [row[0] for row in told_ends],
                  [t.label for t in marks] + [row[2] for row in told_ends], axis=axis, forward=forward)
    along = points @ axis
    order = np.argsort(along)
    bow_first = forward == "right"
    order = order[::-1] if bow_first else order
    edges = {}
    for name, index in (("upper", order[upper[order]]), ("lower", order[~upper[order]])):
        if len(index) < 4:
            raise SelectionError("The %s edge has only %d marks; it needs at least 4." % (name, len(index)),
                                 "Mark the edge at every frame.")
        edges[name] = EdgeSource(marks=tuple(_make_mark(marks[i], name, error_mm) for i in index))
    lines = sorted((resample_polyline(p, step_mm=STEP_MM) for p in lines if measure_arc_mm(p)[-1] >= 25),
                   key=lambda p: float(np.mean(p @ axis)))
    top, bottom = edges["upper"].marks, edges["lower"].marks
    for name, at in (("fore", 0), ("aft", -1)):
        place = (along.max() if bow_first
                 else along.min()) if name == "fore" else (along.min() if bow_first else along.max())
        if len(end_marks[name]) >= 2:
            across = np.array(bottom[at].point) - np.array(top[at].point)
            edges[name] = EdgeSource(marks=tuple(sorted((_make_mark(t, name, error_mm) for t in end_marks[name]),
                                                        key=lambda m: float(np.array(m.point) @ across))))
            continue
        mine = [p for p in lines if abs(float(np.mean(p @ axis)) - place) < 0.5 * np.ptp(along)]
        if not mine:
            raise SelectionError("%d marks are selected, but the %s end has neither a line nor two marks of its own; "
                                 "both ends are needed." % (len(marks), name),
                                 "Draw the end as a line from edge to edge, or label its marks '%s', and select them "
                                 "too; if the marks were read, run %s again with that end selected."
                                 % (name, MARKS.title),
                                 tuple(map(float, top[at].point)))
        # a raked end's middle may be far from the last mark, but one of its feet is near its row
        gaps = [_measure_end_gap(p, top[at].point, bottom[at].point) for p in mine]
        line, reach = mine[int(np.argmin(gaps))], max(END_REACH_MM, 0.1 * float(np.ptp(along)))
        if min(gaps) > reach:
            _refuse_end(top[at].point, bottom[at].point, min(gaps), reach)
        edges[name] = EdgeSource(runs=(
            line if np.hypot(*(line[0] - top[at].point)) < np.hypot(*(line[-1] - top[at].point)) else line[::-1],))
    return Pattern(edges, (), forward, "marks")


def _measure_end_gap(line, top, bottom):
    """Distances of a line from the last marks of both edges, mm: the larger one."""
    return max(float(np.min(np.hypot(*(line - np.asarray(point)).T))) for point in (top, bottom))


def _make_mark(trace, edge, error_mm):
    x, y = _find_centre(trace)
    return Mark((float(x), float(y)), edge, trace.station, trace.error_mm or error_mm, told=trace.told)


def _find_centre(trace):
    """Middle of a mark's outline box: the point meant by a small circle, square, cross or dot."""
    points = np.concatenate([flatten_cubics(c, tolerance_mm=arrays.CURVE_MM) for c, _ in trace.runs])
    return (points.min(axis=0) + points.max(axis=0)) / 2
