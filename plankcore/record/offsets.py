"""The table of offsets: enough ordinates for a batten through the printed, rounded figures to reproduce the edge.

Coordinates are distances along the plank's baseline from the middle of the fore end, positive aft, and square to it,
positive up.
Where the frames alone are not enough, at the ends and in bays where the edge bends or rounding happens to be bad,
ordinates are added between them, at whole distances where both edges have small rounding errors. Whether they are
enough is computed, not guessed: splines through the printed figures, with natural and with not-a-knot ends, are
compared with the edge.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import list_distinct
from ..geometry.interpolation import ENDS, interpolate_cubic
from ..model.record import EndRow, Figure, OffsetRow, OffsetTable
from ..units import format_feet_inches_eighths, round_to_part_mm
from .sketch import BaselineChart, EdgeGraph

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.drawing import Station
    from ..model.plank import Plank

__all__ = ["RULES", "Rule", "lay_out_offsets"]

_MOST = 60                # most ordinates to add between the frames; no plank should need so many
_AIM = 0.9                # the search stops at this share of the limit
_CLOSE = 25.0             # points nearer to each other than this many rounding steps would turn a batten
_NAMES = {"upper": "upper edge", "lower": "lower edge"}


@dataclass(frozen=True)
class Rule:
    """How figures are rounded: mm to tenths, or inches to 1/denominator, corners and ends to 1/fine.

    limit_mm : how far a batten through the figures may run from the edge. stride_mm : added ordinates are at multiples
    of this.
    """

    denominator: int = 0
    fine: int = 0
    limit_mm: float = 0.3
    stride_mm: float = 5.0

    def round_mm(self, value_mm: float, *, fine: bool = False) -> float:
        """A value in mm rounded as it is printed."""
        if not self.denominator:
            return round(value_mm * 10) / 10 + 0.0
        return round_to_part_mm(value_mm, denominator=self.fine if fine else self.denominator)

    def write(self, value_mm: float, *, fine: bool = False) -> str:
        """A length as it is printed, without a sign."""
        if not self.denominator:
            return "%.1f" % abs(self.round_mm(value_mm))
        return format_feet_inches_eighths(abs(value_mm), denominator=self.fine if fine else self.denominator)

    def print_figure(self, value_mm: float, below: str, above: str = "", *, fine: bool = False) -> Figure:
        """A Figure: a word in place of the sign (`below` where negative, `above` where positive), and the length."""
        rounded = self.round_mm(value_mm, fine=fine)
        word = below if rounded < 0 else above
        return Figure((word + " " if word and rounded else "") + self.write(rounded, fine=fine), rounded)

    @property
    def step_mm(self) -> float:
        """The rounding step."""
        return 25.4 / self.denominator if self.denominator else 0.1


# limits allow for half a rounding step, plus what a batten adds between two points that were rounded the same way
RULES = {"mm": Rule(), 32: Rule(32, 32, 0.75, 6.35), 16: Rule(16, 32, 1.0, 6.35), 8: Rule(8, 16, 2.0, 6.35)}


@dataclass
class _Ordinate:
    """One row before it is printed: its place, the edges that it is used for, and for a station its index."""

    label: str
    kind: str
    along_mm: float
    edges: tuple[str, ...]
    batten: bool = True
    frame: int | None = None
    end: str = ""


def lay_out_offsets(plank: Plank, stations: Sequence[Station], *, figures: str, denominator: int = 16) -> OffsetTable:
    """Choose the ordinates, round them, and check that the figures reproduce the edges.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
        A station that meets an end instead of a long edge has no row for that edge. One that is not square to the
        baseline has a separate ordinate for each edge, where it crosses that.
    figures : str
        'mm' or 'inches'.
    denominator : int
        8, 16 or 32, for inches: coarse figures are quickly measured, fine ones reproduce the edge better.

    Returns
    -------
    OffsetTable
        If its reached_mm is over limit_mm, no choice of ordinates was good enough.

    Raises
    ------
    PatternError
        If an edge turns back on itself.
    """
    rule, chart = RULES["mm" if figures == "mm" else denominator], BaselineChart(plank)
    graphs = {n: EdgeGraph(plank.edges[n].curve, chart.start, along=chart.along, up=chart.up, what=n + " edge")
              for n in ("upper", "lower")}
    ordinates = _list_corners(plank, chart, rule) + _list_stations(stations, chart, rule)
    for name in graphs:
        _set_apart(ordinates, name, rule)
    reached = _put_between(ordinates, graphs, rule)
    ordinates.sort(key=lambda o: (o.along_mm, "upper" not in o.edges))
    labels = [s.label for s in stations]
    _label_between(ordinates, labels)
    rows = [_print_row(o, graphs, rule, labels) for o in ordinates]
    ends = {}
    for end in ("fore", "aft"):
        corners = [_find_printed_corner(rows, name, end) for name in ("upper", "lower")]
        ends[end], far = _lay_out_end(plank, chart, end=end, corners=corners, rule=rule)
        true = chart.find([plank.find_corners()["%s %s" % (name, end)] for name in ("upper", "lower")])
        reached = max(reached, far, float(np.hypot(*(true - corners).T).max()))
    heights = [f.value_mm for row in rows for f in (row.upper, row.lower) if f]
    # mm have the same rounding in corners and ends
    words = ["0.1 mm"] * 2 if figures == "mm" else ["1/%d in" % d for d in (rule.denominator, rule.fine)]
    return OffsetTable(figures, words[0], fine_rounding=words[1], half_mm=rule.step_mm / 2, rows=tuple(rows),
                       ends=ends, reached_mm=reached, limit_mm=rule.limit_mm,
                       lowest_mm=min(heights), highest_mm=max(heights))


def _list_corners(plank, chart, rule):
    found = []
    for end in ("fore", "aft"):
        at = {name: rule.round_mm(float(chart.find(plank.find_corners()["%s %s" % (name, end)])[0]), fine=True)
              for name in ("upper", "lower")}
        if at["upper"] == at["lower"]:
            found.append(_Ordinate("%s corners" % end, "corner", at["upper"], ("upper", "lower"), end=end))
        else:
            found += [_Ordinate("%s corner, %s" % (end, _NAMES[n]), "corner", at[n], (n,), end=end) for n in at]
    return found


def _list_stations(stations, chart, rule):
    """One row for a station that is square to the baseline within one rounding step, else one for each edge."""
    found = []
    for number, station in enumerate(stations):
        edges = [e for e in station.ends if e in _NAMES]
        if len(edges) < 2:
            # at a raked end a frame may meet only one long edge; one that meets neither has no offsets
            found += [_Ordinate("%s, %s" % (station.label, _NAMES[n]), "station",
                                rule.round_mm(float(chart.find([station.find_end(n)])[0, 0])), (n,), frame=number)
                      for n in edges]
            continue
        upper, lower = (rule.round_mm(float(p[0])) for p in chart.find(station.line))
        if abs(upper - lower) < 1.01 * rule.step_mm:
            middle = rule.round_mm(float(chart.find(station.line)[:, 0].mean()))
            found.append(_Ordinate(station.label, "station", middle, ("upper", "lower"), frame=number))
        else:
            found += [_Ordinate("%s, %s" % (station.label, _NAMES[n]), "station", at, (n,), frame=number)
                      for n, at in (("upper", upper), ("lower", lower))]
    return found


def _set_apart(ordinates, name, rule):
    """Mark frames that are too near a corner, or each other, as not for the batten: two rounded figures close together
    would turn it."""
    kept = [o for o in ordinates if name in o.edges and o.kind == "corner"]
    for one in sorted((o for o in ordinates if name in o.edges and o.kind == "station"), key=lambda o: o.along_mm):
        if any(abs(one.along_mm - other.along_mm) < _CLOSE * rule.step_mm for other in kept):
            one.batten = False
        else:
            kept.append(one)


def _list_points(ordinates, graph, name, rule):
    """The points that a batten for one edge is sprung through: printed distances and heights, (n,) each."""
    chosen = sorted((o.along_mm, o.kind == "corner") for o in ordinates if name in o.edges and o.batten)
    at = np.array([a for a, _ in chosen])
    return at, np.array([rule.round_mm(float(v), fine=corner) for v, (_, corner) in zip(graph.evaluate(at), chosen)])


def _spring(at, heights, graph):
    """(distances along, deviation of a batten from the graph there), the larger one of both end conditions."""
    dense = list_distinct(np.concatenate([np.linspace(a, b, 25) for a, b in zip(at[:-1], at[1:])]))
    true = graph.evaluate(dense)
    return dense, np.max([np.abs(interpolate_cubic(at, heights, dense, ends=e) - true) for e in ENDS], axis=0)


def _judge(ordinates, graphs, rule):
    """(points of the battens by edge; for the edge with the largest deviation: the result of `_spring`, its name, and
    that deviation in mm)."""
    points = {n: _list_points(ordinates, g, n, rule) for n, g in graphs.items()}
    sprung = {n: _spring(points[n][0], points[n][1], g) for n, g in graphs.items()}
    name = max(sprung, key=lambda n: sprung[n][1].max())
    return points, sprung[name], name, float(sprung[name][1].max())


def _put_between(ordinates, graphs, rule):
    """Add ordinates where a batten deviates most until it is near enough everywhere, then remove those that are not
    needed. Returns the largest deviation, mm."""
    best, kept = np.inf, len(ordinates)
    for _ in range(_MOST):
        points, sprung, name, worst = _judge(ordinates, graphs, rule)
        if worst < best:
            best, kept = worst, len(ordinates)
        if worst <= _AIM * rule.limit_mm:
            break
        found = next((f for f in (_find_kind_place(points, sprung, name=name, graphs=graphs, rule=rule,
                                                   room_mm=share * _CLOSE * rule.step_mm)
                                  for share in (1, 0.5, 0.25)) if f), None)
        if found is None:
            break
        ordinates.append(_Ordinate("", "between", *found))
    del ordinates[kept:]
    for one in [o for o in ordinates if o.kind == "between"]:
        rest = [o for o in ordinates if o is not one]
        worst = _judge(rest, graphs, rule)[-1]
        if worst <= max(best, _AIM * rule.limit_mm):
            best, ordinates[:] = worst, rest
    return best


def _find_kind_place(points, sprung, *, name, graphs, rule, room_mm):
    """A whole distance where the edges have small rounding errors, near the middle of the bay in which a batten
    deviates most, or of the next one that has room.

    Returns (distance, edges it is used for), or None: it is not used for an edge that has a point nearer than room_mm.
    """
    dense, off = sprung
    at, stride = points[name][0], rule.stride_mm

    def list_served(place):
        return tuple(n for n in graphs if n == name
                     or (points[n][0][0] < place < points[n][0][-1] and np.abs(points[n][0] - place).min() >= room_mm))
    for k in dict.fromkeys(np.clip(np.searchsorted(at, dense[np.argsort(-off)], side="left") - 1, 0, len(at) - 2)):
        bay = at[k + 1] - at[k]
        low, high = at[k] + max(room_mm, 0.25 * bay), at[k + 1] - max(room_mm, 0.25 * bay)
        places = stride * np.arange(np.ceil(low / stride), np.floor(high / stride) + 1)
        if off[(dense >= at[k]) & (dense <= at[k + 1])].max() < 0.5 * off.max() or not len(places):
            continue
        misses = [max(abs(rule.round_mm(v) - v) for v in (float(graphs[n].evaluate(p)[0]) for n in list_served(p)))
                  for p in places]
        bad = np.array(misses) / rule.limit_mm + np.abs(places - (at[k] + at[k + 1]) / 2) / bay
        best = rule.round_mm(float(places[np.argmin(bad)]))
        return best, list_served(best)
    return None


def _label_between(ordinates, labels):
    """Label an ordinate between frames by the frames on both sides; where a bay has several, the later ones also get a
    small letter."""
    ahead, seen = -1, []
    for one in ordinates:
        if one.kind == "station":
            ahead = one.frame
        elif one.kind == "between":
            before, after = ahead >= 0, ahead + 1 < len(labels)
            one.label = ("between %s and %s" % (labels[ahead], labels[ahead + 1]) if before
                         and after else "forward of %s" % labels[0] if after
                         else "aft of %s" % labels[-1] if before else "between the ends")
            seen.append(one.label)
            if seen.count(one.label) > 1:
                one.label += " (%s)" % "abcdefghijklmnopqrstuvwxyz"[(seen.count(one.label) - 1) % 26]


def _print_row(ordinate, graphs, rule, labels):
    fine = ordinate.kind == "corner"
    along = rule.print_figure(ordinate.along_mm, "forward", fine=fine)
    heights = {n: rule.print_figure(float(graphs[n].evaluate(along.value_mm)[0]), "down", "up", fine=fine)
               for n in ordinate.edges}
    return OffsetRow(ordinate.label, ordinate.kind, along=along, upper=heights.get("upper"),
                     lower=heights.get("lower"), batten=ordinate.batten,
                     end=ordinate.end, frame="" if ordinate.frame is None else labels[ordinate.frame])


def _find_printed_corner(rows, name, end):
    """(along, up) of a corner as printed."""
    row = next(r for r in rows if r.kind == "corner" and r.end == end and getattr(r, name))
    return np.array([row.along.value_mm, getattr(row, name).value_mm])


def _lay_out_end(plank, chart, end, corners, rule):
    """Offsets of an end from the straight line between its printed corners, and the largest deviation of a batten
    through them, mm."""
    page = [chart.start + a * chart.along + u * chart.up for a, u in corners]
    length = float(np.hypot(*(page[1] - page[0])))
    along = (page[1] - page[0]) / length
    out = np.array([along[1], -along[0]])
    out = out if (out @ chart.along > 0) == (end == "aft") else -out
    graph = EdgeGraph(plank.edges[end].curve, page[0], along=along, up=out, what=end + " end")
    dense = np.linspace(0, length, 201)
    most = float(np.abs(graph.evaluate(dense)).max())
    rows, reached = (), most
    for count in (1, 3, 7, 15):
        if reached <= max(rule.round_mm(rule.step_mm, fine=True) / 2,
                          0.1) or (rows and reached <= _AIM * rule.limit_mm):
            break
        rows = tuple(_print_end_row(end, rule, graph, length * (k + 1) / (count + 1)) for k in range(count))
        at = np.array([0.0, *(r.down.value_mm for r in rows), length])
        reached = float(_spring(at, np.array([0.0, *(r.out.value_mm for r in rows), 0.0]), graph)[1].max())
    return rows, reached


def _print_end_row(end, rule, graph, down_mm):
    down = rule.print_figure(down_mm, "", fine=True)
    return EndRow(end, down, rule.print_figure(float(graph.evaluate(down.value_mm)[0]), "inside", "outside", fine=True))

