"""Ticks or marks on the edges matched frame by frame: in pairs, with an end of the plank, or alone. A part of stations.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.arrays import find_median
from ..model.plank import Finding
from ..model.typed import read_frame_text
from . import words

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..geometry.arrays import Point, Points
    from .lines import Bed

__all__ = ["NUMBER_REACH_MM", "FrameSpots", "Spot", "give_labels", "leave_corner_marks", "pair_spots"]

# ticks or marks on the two edges that are this near to each other along the baseline belong to one frame
PAIR_MM = 40.0
# share of the usual gap: two single ones that are nearer to each other than this are one frame, which is reported
FAR_SHARE = 0.45
SPREAD_MM = 6.0           # both borders of a drawn line may have the same tick; a distance over this is reported
CORNER_MM = 25.0  # among labelled marks an unlabelled one this near to a corner measures the corner, not a frame
NUMBER_REACH_MM = 60.0    # a number written farther away belongs to another frame


@dataclass(frozen=True, eq=False, repr=False)
class Spot:
    """One tick or mark, or several that are one: its place on an edge (2,), the edge, its label or ''."""

    point: Point
    edge: str
    label: str = ""


@dataclass(frozen=True, eq=False, repr=False)
class FrameSpots:
    """What is known of a frame before its line is struck: spots on one or two edges, the one towards the upper edge
    first, or a drawn Strip; and its label or ''."""

    along_mm: float
    label: str
    spots: tuple[Spot, ...] = ()
    drawn: Any = None

    @property
    def lone(self) -> Spot | None:
        """The only Spot, or None."""
        return self.spots[0] if len(self.spots) == 1 else None

    @property
    def where(self) -> tuple[float, float]:
        """A place (x, y) for a finding on it."""
        at = self.spots[0].point if self.spots else self.drawn.line[0]
        return (float(at[0]), float(at[1]))


def give_labels(places: Sequence[Points], labels: Sequence[str], numbers: Sequence[tuple[str, tuple[float, int]]], *,
                what: str) -> tuple[list[str], list[Any]]:
    """Labels for places, each a group of points (k, 2), from numbers written beside them where they have none.

    Parameters
    ----------
    places : list of ndarray, shape (k, 2)
        Ends of a line, or one point.
    labels : list of str
    numbers : sequence of (text, (x, y))
    what : str
        For messages: 'line', 'tick'.

    Returns
    -------
    list of str, list of Finding
        A second number beside a place is reported and not used.
    """
    found, findings = list(labels), []
    taken = {}
    for text, at in numbers:
        label = read_frame_text(text)
        if not label or not places:
            continue
        away = [_measure_from(points, np.asarray(at, float)) for points in places]
        k = int(np.argmin(away))
        if away[k] <= NUMBER_REACH_MM:
            taken.setdefault(k, []).append((away[k], label, at))
    for k, rows in taken.items():
        rows = sorted(rows, key=lambda r: r[0])
        own = labels[k] or rows[0][1]
        found[k] = own
        other = next((r for r in rows if r[1].lower() != own.lower()), None)
        if other is not None:
            findings.append(Finding(words.tell_other_number(other[1], what, own), tuple(map(float, other[2])),
                                    "other-number", station=own))
    return found, findings


def _measure_from(points, at):
    """Distance of a place from a point, or from the straight line between two."""
    a, b = points[0], points[-1]
    size = float((b - a) @ (b - a))
    share = float(np.clip((at - a) @ (b - a) / size, 0.0, 1.0)) if size > 0 else 0.0
    return float(np.hypot(*(a + share * (b - a) - at)))


def pair_spots(bed: Bed, spots: Sequence[Spot], *, what: str) -> tuple[list[FrameSpots], list[Finding]]:
    """Frames from ticks or marks.

    Parameters
    ----------
    bed : Bed
    spots : sequence of Spot
        On all four edges. Unlabelled ones on the fore and aft edge only complete a frame that has one on a long edge.
    what : str
        'tick' or 'mark'.

    Returns
    -------
    list of FrameSpots, list of Finding

    Raises
    ------
    PatternError
        Where two labels contradict each other; the message names both.
    """
    findings = []
    rows = {name: _gather(bed, [s for s in spots if s.edge == name], what, findings)
            for name in ("upper", "lower", "fore", "aft")}
    rows = _leave_corners(bed, rows, what, findings)
    far_mm = max(FAR_SHARE * _find_gap(bed, rows), PAIR_MM)
    pairs, left = _match(bed, rows["upper"], lower=rows["lower"], far_mm=far_mm, what=what, findings=findings)
    frames = [_make_frame(bed, pair) for pair in pairs]
    frames += _finish_lone(bed, left, rows=rows, frames=frames, what=what, findings=findings)
    return sorted(frames, key=lambda f: f.along_mm), findings


def _leave_corners(bed, rows, what, findings):
    """Spots by edge, without those that measure a corner: unlabelled ones at a corner, where others are labelled."""
    if not any(s.label for n in ("upper", "lower") for s in rows[n]):
        return rows
    at_corners = []
    for corner, place in bed.plank.find_corners().items():
        near = [(n, s) for n in ("upper", "lower") for s in rows[n] if not s.label
                and float(np.hypot(*(s.point - place))) <= CORNER_MM]
        at_corners += [corner] * bool(near)
        rows = {n: [s for s in row if not any(s is c for _, c in near)] for n, row in rows.items()}
    if at_corners:                    # this is common, so there is one finding for all, at the first
        findings.append(Finding(words.tell_corner_marks(what, at_corners),
                                tuple(map(float, bed.plank.find_corners()[at_corners[0]])), "corner-marks",
                                number=float(len(at_corners)), unit="corners", verdict=""))
    return rows


def _finish_lone(bed, left, *, rows, frames, what, findings):
    """Frames for spots without a partner on the other long edge: with a spot on an end, or alone; and for labelled
    marks on an end that belong to no frame yet."""
    more, used = [], set()
    for spot in left:
        beside = [s for n in ("fore", "aft") for s in rows[n] if id(s) not in used and _agree(s, spot)
                  and (abs(_apart(bed, s, spot)) <= PAIR_MM or (s.label and s.label.lower() == spot.label.lower()))]
        if beside:
            end = min(beside, key=lambda s: abs(_apart(bed, s, spot)))
            used.add(id(end))
            more.append(_make_frame(bed, (spot, end) if spot.edge == "upper" else (end, spot)))
        else:
            more.append(FrameSpots(float(bed.measure_along(spot.point)), spot.label, (spot,)))
    for spot in (s for n in ("fore", "aft") for s in rows[n] if id(s) not in used):
        if spot.label and what == "mark" and not any(f.label.lower() == spot.label.lower() for f in frames + more):
            more.append(FrameSpots(float(bed.measure_along(spot.point)), spot.label, (spot,)))
        elif what == "tick":
            findings.append(Finding(words.tell_no_partner(spot.edge), tuple(map(float, spot.point)), "no-partner",
                                    edge=spot.edge))
    return more


def leave_corner_marks(bed: Bed, frames: list[FrameSpots]) -> tuple[list[FrameSpots], list[Finding]]:
    """Frames without those whose marks measure a corner, and findings on these.

    A mark near a corner measures the plank's width at its end, and is not at a frame. If two or more frames are
    labelled, unlabelled marks forward or aft of all of them are taken for such marks: counting on would put a frame
    into the boat that does not exist.

    Parameters
    ----------
    bed : Bed
    frames : list of FrameSpots
        Made of marks, from the fore end aft.

    Returns
    -------
    list of FrameSpots, list of Finding
    """
    told = [k for k, f in enumerate(frames) if f.label]
    if len(told) < 2:
        return frames, []
    first, last = told[0], told[-1]
    findings = [_tell_corner(bed, s, frames[first].label, is_forward=True) for f in frames[:first] for s in f.spots]
    findings += [_tell_corner(bed, s, frames[last].label, is_forward=False) for f in frames[last + 1:]
                 for s in f.spots]
    return frames[first:last + 1], findings


def _tell_corner(bed, spot, frame, *, is_forward):
    return Finding(words.tell_corner_mark("mark", spot.edge, float(bed.measure_along(spot.point)), frame,
                                          is_forward=is_forward), tuple(map(float, spot.point)), "corner-mark",
                   edge=spot.edge)


def _make_frame(bed, pair):
    middle = np.mean([s.point for s in pair], axis=0)
    return FrameSpots(float(bed.measure_along(middle)), pair[0].label or pair[1].label, tuple(pair))


def _apart(bed, a, b):
    return float((a.point - b.point) @ bed.along)


def _agree(a, b):
    return not (a.label and b.label) or a.label.lower() == b.label.lower()


def _gather(bed, spots, what, findings):
    """Spots of one edge in order from the fore end, with those that are close together merged."""
    if not spots:
        return []
    edge, clusters = spots[0].edge, []
    way = bed.down if edge in ("fore", "aft") else bed.along
    for spot in sorted(spots, key=lambda s: float(s.point @ way)):
        last = clusters[-1] if clusters else None
        if last and float(np.hypot(*(spot.point - last[-1].point))) < PAIR_MM / 2 and all(
                _agree(spot, s) for s in last):
            last.append(spot)
        else:
            clusters.append([spot])
    curve, found = bed.plank.edges[edge].curve, []
    for cluster in clusters:
        points = np.array([s.point for s in cluster])
        place = curve.evaluate([curve.find_nearest(points.mean(axis=0))[0]])[0]
        label = next((s.label for s in cluster if s.label), "")
        # measured along the edge, since the two borders of a thick line have a tick each, side by side
        spread = float(np.ptp(points @ way))
        if spread > SPREAD_MM:
            findings.append(Finding(words.tell_merged(len(cluster), what, spread), tuple(map(float, place)),
                                    "taken-as-one", number=spread, unit="mm", limit=SPREAD_MM, station=label,
                                    edge=edge))
        found.append(Spot(place, edge, label))
    for a in found:
        same = [b for b in found if b is not a and a.label and b.label.lower() == a.label.lower()]
        if same:
            raise PatternError("Two %ss of the %s edge are labelled %s, %.0f mm apart."
                               % (what, edge, a.label, abs(_apart(bed, a, same[0]))), "Mend the label that is wrong.",
                               tuple(map(float, a.point)))
    return found


def _find_gap(bed, rows):
    """Usual distance from frame to frame along an edge, or 0 where it cannot be determined."""
    gaps = [g for n in ("upper", "lower") for g in np.diff([float(bed.measure_along(s.point)) for s in rows[n]])]
    return float(find_median(gaps)) if len(gaps) >= 3 else 0.0


def _match(bed, upper, *, lower, far_mm, what, findings):
    """Pairs (upper, lower), and the spots without a partner."""
    pairs, free = [], {"upper": list(upper), "lower": list(lower)}

    def take(a, b):
        pairs.append((a, b))
        free["upper"].remove(a)
        free["lower"].remove(b)
    for a in upper:
        same = next((b for b in free["lower"] if a.label and b.label.lower() == a.label.lower()), None)
        if same is not None:
            if abs(_apart(bed, a, same)) > far_mm:
                raise PatternError("Frame %s is marked on the upper edge %.0f mm from the fore end, on the lower "
                                   "edge %.0f mm from it."
                                   % (a.label, *(float(bed.measure_along(s.point)) for s in (a, same))),
                                   "One of the two labels is wrong: mend it.", tuple(map(float, a.point)))
            take(a, same)
    for a in free["upper"]:
        for b in free["lower"]:
            if not _agree(a, b) and abs(_apart(bed, a, b)) <= PAIR_MM:
                raise PatternError("At one place, %.0f mm from the fore end, the upper edge's %s is labelled %s and "
                                   "the lower edge's %s." % (float(bed.measure_along(a.point)), what, a.label, b.label),
                                   "Mend the label that is wrong.", tuple(map(float, a.point)))
    for most in (PAIR_MM, far_mm):
        near = sorted(((abs(_apart(bed, a, b)), i, j) for i, a in enumerate(free["upper"])
                       for j, b in enumerate(free["lower"]) if _agree(a, b)), key=lambda r: r[0])
        rows = [(away, free["upper"][i], free["lower"][j]) for away, i, j in near if away <= most]
        for away, a, b in rows:
            if any(a is s for s in free["upper"]) and any(b is s for s in free["lower"]):
                take(a, b)
                if away > PAIR_MM:
                    findings.append(Finding(words.tell_far_pair(what, away), tuple(map(float, a.point)), "far-pair",
                                            number=away, unit="mm", limit=PAIR_MM, station=a.label or b.label))
    return pairs, free["upper"] + free["lower"]
