"""What the yard wrote down at the frames: rows of a table to FrameReadings, impossible ones are refused, with their
row."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..actions import STATIONS
from ..errors import PatternError, SettingError
from ..model.board import FrameReading
from ..model.plank import Finding
from . import words
from .shapes import EDGES, find_chord_mm, find_curvature_per_mm

if TYPE_CHECKING:
    from typing import Any, Mapping, Sequence

    from ..geometry.arrays import Points
    from ..model.drawing import Station
    from ..model.plank import Plank

__all__ = ["Crossing", "find_crossings", "read_frames"]

MOST_BEVEL_DEG = 60.0
LEAST_RADIUS_MM = 10.0
AGREE_MM = 0.5            # a radius and a hollow given at one frame may differ by this much in depth
_FLAT = ("flat", "straight")


@dataclass(frozen=True, eq=False, repr=False)
class Crossing:
    """A station as the readings need it: its label, its line from upper to lower edge, where it crosses the middle of
    the plank (mm along the baseline), the width on the pattern there, its angle off square to each long edge that it
    reaches, rad, and the edges that its ends lie on."""

    label: str
    line: Points
    distance_mm: float
    width_mm: float
    askew_rad: Mapping[str, float]
    ends: tuple[str, ...] = ("upper", "lower")

    def find_missed(self) -> dict[str, Any]:
        """{long edge: end of the plank that the frame meets instead}."""
        return {edge: end for edge, end in zip(EDGES, self.ends) if end != edge}


def find_crossings(plank: Plank, stations: Sequence[Station]) -> list[Crossing]:
    """The stations of a plank as Crossings, from the fore end aft."""
    found = []
    for station in stations:
        way = (station.line[1] - station.line[0]) / np.hypot(*(station.line[1] - station.line[0]))
        askew = {}
        for edge, point in zip(station.ends, station.line):
            if edge not in EDGES:
                continue
            curve = plank.edges[edge].curve
            run = curve.find_direction(min(curve.find_nearest(point)[0], len(curve.cubics) - 1e-9))
            askew[edge] = float(np.arcsin(min(abs(float(way @ run)), 1.0)))
        start, along, _ = plank.find_axes()
        found.append(Crossing(station.label, station.line,
                              distance_mm=float((station.line.mean(axis=0) - start) @ along),
                              width_mm=station.width_mm, askew_rad=askew, ends=tuple(station.ends)))
    return sorted(found, key=lambda c: c.distance_mm)


def read_frames(rows: Sequence[Mapping[str, Any]], crossings: Sequence[Crossing], *, thickness_mm: float, face: str,
                pattern_mm: float | None, in_frame_plane: bool) -> tuple[list[FrameReading], list[Finding]]:
    """Rows of the frames' table to readings.

    Parameters
    ----------
    rows : sequence of dict
        Keys frame, radius, hollow, width, upper bevel, lower bevel, upper angle, lower angle, bend, twist, note and
        row; None where a cell is empty; lengths in mm, angles in degrees, the words 'flat' and 'straight' allowed for a
        radius.
    crossings : sequence of Crossing
    thickness_mm, face : of the plank
    pattern_mm : float or None
        Thickness of a pattern that was bent round the frames, so that its widths are girths; None where they are
        straight.
    in_frame_plane : bool
        Whether bevels and angles were read in the plane of the frame, which may be askew to the edge, instead of square
        to the edge.

    Returns
    -------
    readings : list of FrameReading
        From the fore end aft, at most one for each frame of the plank, with bevels square to the edge.
    findings : list of Finding
        Frames of the table that are not on this plank.

    Raises
    ------
    SettingError
        For a row that contradicts itself or is impossible; the message names it.
    PatternError
        If no row belongs to this plank.
    """
    by_label = {}
    for crossing in crossings:
        plain = crossing.label.strip().lower()
        if plain in by_label:
            raise PatternError("Two stations of the plank are labelled %s." % crossing.label,
                               "Strike the stations again with labels that differ.",
                               tuple(map(float, crossing.line[0])))
        by_label[plain] = crossing
    found, passed, findings = {}, [], []
    for row in rows:
        plain = row["frame"].strip().lower()
        where = "frame %s, row %s" % (row["frame"], row["row"])
        if plain not in by_label:
            passed.append(row["frame"])
            continue
        if plain in found:
            raise SettingError("Frame %s stands in the table twice." % row["frame"], "Take one of the rows out.", where)
        row = _leave_missed(row, by_label[plain], findings)
        found[plain] = _read_row(row, by_label[plain], where=where, thickness=thickness_mm, face=face,
                                 pattern=pattern_mm, in_frame_plane=in_frame_plane)
    if passed and not found:
        raise PatternError("None of the frames in the table is a station of this plank: %s."
                           % words.list_some(passed),
                           "Label them as %s has: %s."
                           % (STATIONS.title, words.list_some([c.label for c in crossings])),
                           "Readings")
    if passed:
        findings.append(Finding(words.tell_passed_over(passed), None, "passed-over", number=float(len(passed)),
                                unit="frames"))
    return [found[k] for k in by_label if k in found], findings


def _leave_missed(row, crossing, findings):
    """The row without the bevel or angle of an edge that the frame does not reach, and a finding for such a reading."""
    for edge, end in crossing.find_missed().items():
        given = [kind for kind in ("bevel", "angle") if row["%s %s" % (edge, kind)] is not None]
        if given:
            findings.append(Finding(words.tell_missed(row["frame"], end, edge, given),
                                    tuple(map(float, crossing.line[EDGES.index(edge)])), "read-beyond-the-end",
                                    station=row["frame"], edge=edge))
            row = {**row, **{"%s %s" % (edge, kind): None for kind in given}}
    return row


def _read_row(row, crossing, *, where, thickness, face, pattern, in_frame_plane):
    curvature = _read_curvature(row, crossing, where=where, thickness=thickness, face=face, pattern=pattern)
    bevels, angles = {}, {}
    for edge in EDGES:
        bevel, angle = row["%s bevel" % edge], row["%s angle" % edge]
        if bevel is not None and angle is not None:
            raise SettingError("The %s edge has a bevel and an angle to its neighbour at frame %s."
                               % (edge, row["frame"]), "Give one: a tight bevel is half the angle.", where)
        for value, kept, most, name in ((bevel, bevels, MOST_BEVEL_DEG, "bevel"),
                                        (angle, angles, 2 * MOST_BEVEL_DEG, "angle")):
            if value is None:
                continue
            if abs(value) > most:
                raise SettingError("%s %s of %g degrees cannot be planed."
                                   % ("An" if name == "angle" else "A", name, value),
                                   "Give -%g to %g degrees." % (most, most), "%s, %s edge" % (where, edge))
            kept[edge] = _set_square(value, crossing.askew_rad[edge],
                                     halves=2 if name == "angle" else 1) if in_frame_plane else float(value)
    bend = row["bend"]
    bend = None if bend is None else 0.0 if bend in _FLAT else _invert(bend, "bend", where)
    return FrameReading(crossing.label, curvature, bevels_deg=bevels, angles_deg=angles, bend_per_mm=bend,
                        twist_deg_per_m=row["twist"], note=row["note"] or "", row=where,
                        hollow_mm=row["hollow"] if row["radius"] is None else None)


def _set_square(read_deg, askew_rad, *, halves):
    """A bevel or an angle that was read in a plane askew to the edge, converted to square to the edge: tan(b) = tan(b
    read) / cos(askew), with b half the angle."""
    return float(halves * np.degrees(np.arctan(np.tan(np.radians(read_deg / halves)) / np.cos(askew_rad))))


def _invert(radius, what, where):
    if abs(radius) < LEAST_RADIUS_MM:
        raise SettingError("A %s of radius %g mm cannot be." % (what, radius),
                           "Give %g mm or more, or the word flat." % LEAST_RADIUS_MM, where)
    return 1.0 / radius


def _read_curvature(row, crossing, *, where, thickness, face, pattern):
    """Curvature of the frame across the plank, 1/mm, or None where the row does not give it."""
    radius, hollow, width = row["radius"], row["hollow"], row["width"]
    if width is not None and hollow is None:
        raise SettingError("Frame %s has a width of straightedge but no hollow." % row["frame"],
                           "Give the depth under it too.", where)
    given = None if radius is None else 0.0 if radius in _FLAT else _invert(radius, "frame", where)
    from_hollow = None if hollow is None else _read_hollow(hollow, width, crossing=crossing, where=where,
                                                           thickness=thickness, face=face, pattern=pattern)
    if given is not None and from_hollow is not None:
        span = width or crossing.width_mm
        apart = abs(given - from_hollow) * span ** 2 / 8
        if apart > AGREE_MM:
            raise SettingError(
                "Radius and hollow at frame %s do not agree: they differ by %.1f mm of depth over %.0f mm."
                % (row["frame"], apart, span), "Give the one that was measured.", where)
    curvature = given if given is not None else from_hollow
    if curvature:
        turns = "hollow" if curvature < 0 else "round"
        if abs(1 / curvature) <= crossing.width_mm / 2:
            raise SettingError(
                "The frame is %s to a radius of %.1f mm, no more than half the plank's width of %.1f mm there."
                % (turns, abs(1 / curvature), crossing.width_mm),
                               "Give the radius of the frame, not the hollow; a plank is flatter than a half circle.",
                where)
        if curvature < 0 and -1 / curvature <= thickness:
            raise SettingError("The frame is hollow to a radius of %.1f mm, and the plank is %.1f mm thick."
                               % (-1 / curvature, thickness), "Give a larger radius or a thinner plank.", where)
    return curvature


def _read_hollow(depth, width, *, crossing, where, thickness, face, pattern):
    if width is not None and width <= 0:
        raise SettingError("A straightedge of %g mm cannot be used." % width,
                           "Give its length, or leave it empty for the plank's width.", where)
    span = crossing.width_mm if width is None else width
    if abs(depth) >= span / 2:
        raise SettingError("A hollow of %g mm under a straightedge of %g mm is half a circle or more."
                           % (depth, span), "Give the depth, not the radius.", where)
    curvature = find_curvature_per_mm(depth, span)
    if width is None:
        # the straightedge spans the inside of the plank, corner to corner. That width follows from the pattern's only
        # with the radius, which is to be found: iterate
        for _ in range(30):
            own = curvature / (1 + curvature * thickness) if face == "outboard" else curvature
            wide = crossing.width_mm if pattern is None else find_chord_mm(crossing.width_mm, own, pattern_mm=pattern)
            curvature = find_curvature_per_mm(depth, wide / (1 + curvature * thickness) if face == "outboard" else wide)
    return float(curvature)
