"""Checks of a plank's shape: fair edges, widths from frame to frame, frame lines, and whether it is the hand and face
that is wanted.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR, STATIONS, TURN
from ..geometry.arrays import find_median
from ..geometry.polyline import cross_segments
from ..geometry.readings import measure_out_of_line
from ..model.check import CheckResult, make_place
from ..trade.check_limits import FLAT_SHARE, LEAST_WIDTH_MM, MOST_INFLECTIONS, OFF_FAIR_MM, PRACTICE, UNEVEN_FRAMES
from ..units import format_inches, format_mm

if TYPE_CHECKING:
    from ..model.check import PlankState

__all__ = ["CHECKS"]

_STEP_MM = 10.0           # spacing of the places where an edge's curvature is measured
# a wave of this height, as long as the shortest wave, is too small to be seen as an inflection or a flat: common
# practice, no source
_SEEN_MM = 0.5
_PAIR_MM = 40.0  # marks on the two edges that are this near to each other along the baseline belong to one frame
_SURE = 3.0               # a difference of more than this many standard errors is taken to be real


def _measure_bend(plank, name):
    """Places (n, 2) and curvature (n,) along a long edge, corners left out."""
    curve = plank.edges[name].curve
    length = curve.measure_length_mm()
    margin = min(2 * _STEP_MM, 0.1 * length)
    at = curve.find_places(np.linspace(margin, length - margin, max(int(length / _STEP_MM), 20)))
    at = np.minimum(at, len(curve.cubics) - 1e-9)
    return curve.evaluate(at), curve.measure_curvature_per_mm(at)


def _find_least_bend(state):
    """Curvature at the crest of the highest wave that is too small to be seen, 1/mm: height times (2 pi / length)
    squared."""
    return _SEEN_MM * (2 * np.pi / state.shortest_wave_mm) ** 2


def check_turns(state: PlankState) -> CheckResult:
    """Inflections of the long edges."""
    name, found, where = "TURNS OF THE LONG EDGES", [], []
    for edge in ("upper", "lower"):
        places, bend = _measure_bend(state.plank, edge)
        firm = np.flatnonzero(np.abs(bend) > _find_least_bend(state))
        turns = [(j + k) // 2 for j, k in zip(firm[:-1], firm[1:]) if bend[j] * bend[k] < 0]
        found.append(len(turns))
        where += [make_place(places[k]) for k in turns] if len(turns) > MOST_INFLECTIONS else []
    said, limit = "%d ON THE UPPER EDGE, %d ON THE LOWER" % tuple(found), "%d ON EACH" % MOST_INFLECTIONS
    if max(found) <= MOST_INFLECTIONS:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=max(found))
    return CheckResult(name, "doubt", found=said, limit=limit, source=PRACTICE,
                       remedy="SIGHT ALONG A BATTEN THERE; A LONGER SHORTEST WAVE IN %s IRONS A WANDER OUT"
                       % FAIR.capitals,
                       where=tuple(where), number=max(found))


def check_flats(state: PlankState) -> CheckResult:
    """Places where an edge bends much less than on both sides of them, without turning."""
    name, worst, where = "FLAT SPOTS", 1.0, []
    for edge in ("upper", "lower"):
        places, bend = _measure_bend(state.plank, edge)
        turns = np.flatnonzero(bend[:-1] * bend[1:] < 0) + 1
        for first, last in zip([0, *turns], [*turns, len(bend)]):
            size = np.abs(bend[first:last])
            # the greatest curvature ahead of each place and the greatest behind it: the smaller of the two is what it
            # is compared with
            beside = np.minimum(np.maximum.accumulate(size), np.maximum.accumulate(size[::-1])[::-1])
            share = np.where(beside - size > _find_least_bend(state), size / np.maximum(beside, 1e-15), 1.0)
            k = int(np.argmin(share))
            worst = min(worst, float(share[k]))
            if share[k] < FLAT_SHARE:
                where.append(make_place(places[first + k]))
    said, limit = ("BEND FALLS TO %.0f PERCENT OF THAT BESIDE IT" % (100 * worst) if worst < 1
                   else "NONE"), "%.0f PERCENT" % (100 * FLAT_SHARE)
    if not where:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=worst)
    return CheckResult(name, "doubt", found=said, limit=limit, source=PRACTICE,
                       remedy="SIGHT ALONG A BATTEN THERE; LOOK AT THE COMB IN %s" % FAIR.capitals,
                       where=tuple(where), number=worst)


def _list_widths(state):
    """(place along the baseline, width square to it, standard error of the width, point) at each frame. Measured
    between the marks themselves where both edges have them, else on the stations."""
    plank = state.plank
    start, along, across = plank.find_axes()
    upper, lower = ([m for m in plank.marks if m.edge == e and m.verdict != "left-out"] for e in ("upper", "lower"))
    pairs = []
    for mark in upper:
        near = [m for m in lower if abs((np.array(m.point) - mark.point) @ along) < _PAIR_MM
                and not (m.station and mark.station and m.station != mark.station)]
        if near:
            other = min(near, key=lambda m: abs((np.array(m.point) - mark.point) @ along))
            apart = np.array(other.point) - mark.point
            # the lower mark may lie a little ahead or aft of the upper one: correct for that by the slope of the fair
            # lower edge
            place = plank.edges["lower"].curve
            way = place.find_direction(min(place.find_nearest(other.point)[0], len(place.cubics) - 1e-9))
            width = apart @ across - (apart @ along) * (way @ across) / (way @ along)
            pairs.append((float((np.array(mark.point) - start) @ along), abs(float(width)),
                          float(np.hypot(mark.error_mm, other.error_mm)), mark.point))
    if len(pairs) < 5:
        pairs = [(s.distance_mm, abs(float((s.line[1] - s.line[0]) @ across)), 0.0, make_place(s.line[0]))
                 for s in state.stations if s.is_whole()]
    pairs.sort()
    return pairs


def check_width_change(state: PlankState) -> CheckResult:
    """Each frame's width against what the two frames on either side of it say."""
    name, rows = "WIDTH FROM FRAME TO FRAME", _list_widths(state)
    limit = "%s, FAILS OVER %s" % (format_mm(OFF_FAIR_MM.good).upper(), format_mm(OFF_FAIR_MM.bad).upper())
    if len(rows) < 5:
        return CheckResult.need(name, "WIDTHS AT FIVE FRAMES: RUN %s" % STATIONS.capitals)
    off, growth = measure_out_of_line([r[0] for r in rows], [r[1] for r in rows])
    noise = _SURE * growth * np.array([r[2] for r in rows])
    # a jump no larger than the marks' own errors would make is not counted
    inner = [k for k in range(len(rows)) if np.isfinite(off[k])]
    over = [k for k in inner if abs(off[k]) > max(OFF_FAIR_MM.good, noise[k])]
    worst = max(inner, key=lambda k: abs(off[k]))
    said = "%s OFF WHAT THE FRAMES BESIDE IT SAY" % format_mm(abs(off[worst])).upper()
    if not over:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=abs(float(off[worst])))
    failing = any(abs(off[k]) > max(OFF_FAIR_MM.bad, noise[k]) for k in over)
    peak = [k for k in over if abs(off[k]) > 0.75 * abs(off[worst])]
    return CheckResult(name, "fail" if failing else "doubt", found=said, limit=limit, source=PRACTICE,
                       remedy="MEASURE THE WIDTH THERE ON THE BOAT; LOOK FOR A MARK READ ON THE WRONG SIDE OF A LINE",
                       where=tuple(make_place(rows[k][3]) for k in peak), number=abs(float(off[worst])))


def check_least_width(state: PlankState) -> CheckResult:
    """Strakes that run too narrow."""
    name, plank = "NARROWEST WIDTH", state.plank
    corner = plank.find_corners()
    # a station that ends on a raked end does not show the strake's width
    rows = [(s.width_mm, "AT FRAME %s" % s.label.upper(), s.line.mean(axis=0)) for s in state.stations if s.is_whole()]
    for end in ("fore", "aft"):
        a, b = corner["upper " + end], corner["lower " + end]
        rows.append((float(np.hypot(*(a - b))), "AT THE %s END" % end.upper(), (a + b) / 2))
    width, words, at = min(rows, key=lambda r: r[0])
    said, limit = "%s %s" % (format_mm(width).upper(), words), "ABOUT %s" % format_inches(LEAST_WIDTH_MM).upper()
    if width >= LEAST_WIDTH_MM:
        return CheckResult(name, "pass", found=said, limit=limit, source=PRACTICE, number=width)
    return CheckResult(name, "doubt", found=said, limit=limit, source=PRACTICE,
                       remedy="A STEALER, OR ANOTHER LINING OFF; THIS PLANK ALONE CANNOT MEND IT",
                       where=(make_place(at),), number=width)


def check_frames(state: PlankState) -> CheckResult:
    """Frame lines that cross, share a label, or are unevenly spaced."""
    name, stations = "FRAME LINES", state.stations
    if not stations:
        return CheckResult.need(name, STATIONS.capitals)
    wrong, where = [], []
    for a, b in zip(stations, stations[1:]):
        t, u = cross_segments(a.line[:1], a.line[1:], b.line[:1], b.line[1:])
        if 0 <= t[0] <= 1 and 0 <= u[0] <= 1:
            wrong.append("%s AND %s CROSS" % (a.label.upper(), b.label.upper()))
            where.append(make_place(b.line.mean(axis=0)))
    labels = [s.label.strip().lower() for s in stations]
    twice = sorted({v for v in labels if labels.count(v) > 1})
    wrong += ["%s STANDS TWICE" % v.upper() for v in twice]
    where += [make_place(s.line[0]) for s in stations if s.label.strip().lower() in twice]
    if wrong:
        return CheckResult(name, "fail", found="; ".join(wrong), limit="NONE", source="by their nature",
                           remedy="STRIKE THEM AGAIN", where=tuple(where))
    space = np.diff([s.distance_mm for s in stations])
    if len(space) < 2:
        return CheckResult(name, "pass", found="%d" % len(stations), limit="NONE CROSS", source="by their nature")
    share = space / find_median(space)
    off = np.flatnonzero((share < UNEVEN_FRAMES.good) | (share > UNEVEN_FRAMES.bad))
    said = "%d, %.0f TO %.0f MM APART" % (len(stations), space.min(), space.max())
    limit = "%g TO %g TIMES %.0f MM" % (UNEVEN_FRAMES.good, UNEVEN_FRAMES.bad, find_median(space))
    if not len(off):
        return CheckResult(name, "pass", found=said, limit=limit, source=UNEVEN_FRAMES.source,
                           number=float(share.max()))
    gaps = tuple(make_place((stations[k].line.mean(axis=0) + stations[k + 1].line.mean(axis=0)) / 2) for k in off)
    return CheckResult(name, "doubt", found=said, limit=limit, source=UNEVEN_FRAMES.source,
                       remedy="COUNT THE FRAMES THERE: ONE MISSED OR MARKED TWICE SHIFTS ALL LABELS BEYOND IT",
                       where=gaps,
                       number=float(share[off[0]]))


def check_hand(state: PlankState) -> CheckResult:
    """Whether the shape on the page is not mirrored: it must agree with the side and the way the bow lies that its
    names give."""
    name, plank = "HAND OF THE SHAPE", state.plank
    start, along, _ = plank.find_axes()
    corner = plank.find_corners()
    up = sum(corner["upper " + e] - corner["lower " + e] for e in ("fore", "aft"))
    # y runs down on the page: with the upper edge up, the bow lies to the right if the cross product of forward and up
    # is negative
    shown = "right" if -along[0] * up[1] + along[1] * up[0] < 0 else "left"
    said = "%s, SEEN FROM %s, BOW TO THE %s" % (plank.side.upper(), plank.seen_from.upper(), shown.upper())
    if shown == plank.forward:
        return CheckResult(name, "pass", found=said, limit="BOW TO THE %s" % plank.forward.upper(),
                           source="the plank's own names")
    return CheckResult(name, "fail", found=said, limit="BOW TO THE %s" % plank.forward.upper(),
                       source="the plank's own names",
                       remedy="IT IS MIRRORED: RUN %s AGAIN" % FAIR.capitals, where=(make_place(start),))


def check_scanned_face(state: PlankState) -> CheckResult:
    """Whether the pattern was read with the same face up as it was scanned: the other face gives the mirror image."""
    name, wanted = "FACE UP IN THE SCAN", state.measured.scanned_up
    if not wanted:
        return CheckResult.need(name, "THE FACE THAT LAY UP IN THE SCAN, FROM THE WORDS ON THE PATTERN")
    told = state.first_seen_from or state.plank.seen_from
    if told == wanted:
        return CheckResult(name, "pass", found=told.upper(), limit=wanted.upper(), source="the words on the pattern")
    return CheckResult(name, "fail", found="%s BY SIDE AND FORWARD" % told.upper(), limit=wanted.upper(),
                       source="the words on the pattern",
                       remedy="THE SHAPE IS THE MIRROR IMAGE: SET FORWARD, OR THE SIDE, RIGHT IN %s" % FAIR.capitals,
                       where=(make_place(state.plank.find_baseline()[0]),))


def check_side(state: PlankState) -> CheckResult:
    """Whether the plank is for the side of the boat that is wanted."""
    name, wanted = "SIDE OF THE BOAT", state.measured.for_side
    if not wanted:
        return CheckResult.need(name, "THE SIDE IT IS MEANT FOR")
    if state.plank.side == wanted:
        return CheckResult(name, "pass", found=wanted.upper(), limit=wanted.upper(), source="the yard")
    return CheckResult(name, "fail", found=state.plank.side.upper(), limit=wanted.upper(), source="the yard",
                       remedy="RUN %s, OR SET THE SIDE RIGHT IN %s" % (TURN.capitals, FAIR.capitals),
                       where=(make_place(state.plank.find_baseline()[0]),))


def check_symmetry(state: PlankState) -> CheckResult:
    """Whether somebody has stated that the hull is symmetrical, where a plank was made from the other side's."""
    name = "SYMMETRY ON RECORD"
    if not state.turned or state.first_side == state.plank.side:
        return CheckResult(name, "pass", found="MADE FROM ITS OWN SIDE", limit="", source="")
    if state.symmetry.strip():
        return CheckResult(name, "pass", found=state.symmetry.strip().upper(), limit="ON RECORD", source=PRACTICE)
    return CheckResult(name, "fail", found="MADE FROM A %s PLANK, NOBODY NAMED" % state.first_side.upper(),
                       limit="ON RECORD",
                       source=PRACTICE,
                       remedy="COMPARE THE SIDES OF THE HULL, THEN RUN %s AGAIN AND SAY WHO DID" % TURN.capitals)


CHECKS = (check_hand, check_scanned_face, check_side, check_symmetry, check_frames, check_turns, check_flats,
          check_width_change, check_least_width)
