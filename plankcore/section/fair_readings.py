"""Readings at the frames faired along the plank, each kind by itself, and the doubtful ones."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..model.plank import Finding
from ..model.typed import refuse_outside
from . import words
from .reading_line import ReadingLine, fair_line
from .shapes import EDGES

if TYPE_CHECKING:
    from typing import Any, Callable, Mapping, Sequence

    from ..model.board import FrameReading
    from .board import BoardSettings
    from .readings import Crossing

__all__ = ["Doubt", "FairReadings", "fair_readings"]

# least differences that show in print: bevels have 0.1 degree, hollows 0.1 mm; for bend and twist a share of the
# largest
SEEN_DEG, SEEN_MM, SEEN_SHARE = 0.05, 0.05, 0.01
# honest error of bend and twist, as a share of the largest: they are read roughly. Common practice, no source
ROUGH = 0.05
LEAST_TWIST_DEG = 0.1     # per m


@dataclass(frozen=True, eq=False, repr=False)
class FairReadings:
    """All kinds of reading: a ReadingLine each, or None where no frame gave any. curvature and bend in 1/mm, tight
    bevels in rad, twist in rad/mm.

    seen : {kind, of 'radius', 'upper', 'lower', 'bend', 'twist': function of the place that gives the least difference
    that shows in print}.
    """

    curvature: ReadingLine | None
    bevels: Mapping[str, ReadingLine | None]
    bend: ReadingLine | None
    twist: ReadingLine | None
    findings: tuple[Finding, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    seen: Mapping[str, Callable[..., Any]] = field(default_factory=dict)

    def list_notes(self, label: str, x: float) -> list[str]:
        """Notes on doubts for a frame's row in the table: its own reading, a neighbouring one that it is derived from,
        or an overshoot that was cut off."""
        notes = [words.note_doubt(d.kind, left_out=d.left_out) for d in self.doubts if d.label == label]
        for kind, line in self._list_lines():
            if line is not None and line.tell(label, x) != "given":
                beside = line.find_kept_beside(x)
                notes += [words.note_doubt_beside(kind, beside)] if beside else []
                notes += [words.note_held(kind)] if line.is_held(x) else []
                notes += [words.note_beyond(kind)] if self.measure_beyond(kind, x)[0] else []
        return notes

    def _list_lines(self):
        return (("radius", self.curvature), *((e, self.bevels[e]) for e in EDGES), ("bend", self.bend),
                ("twist", self.twist))

    def measure_beyond(self, kind: str, x: float) -> tuple[float, tuple[str, ...]]:
        """As ReadingLine.measure_beyond, but 0 where it is too small to show in print."""
        line = dict(self._list_lines())[kind]
        if line is None:
            return 0.0, ()
        beyond, labels = line.measure_beyond(x)
        return (beyond, labels) if abs(beyond) > self.seen[kind](x) else (0.0, ())

    def list_kept(self) -> list[tuple[str, int]]:
        """(kind, number of frames that gave it) for kinds with too few readings to be faired."""
        return [(kind, len(line.labels)) for kind, line in self._list_lines() if line is not None and line.is_kept]

    def list_between(self, crossings: Sequence[Crossing]) -> list[tuple[str, str, float, tuple[str, ...], bool]]:
        """(label, kind, how far beyond both neighbours, their labels, whether it was limited to their range) for frames
        without a reading where the line goes beyond the neighbours or was limited."""
        found = []
        for crossing in crossings:
            for kind, line in self._list_lines():
                if line is not None and line.tell(crossing.label, crossing.distance_mm) == "between":
                    beyond, labels = self.measure_beyond(kind, crossing.distance_mm)
                    if beyond or line.is_held(crossing.distance_mm):
                        found.append((crossing.label, kind, beyond, labels, line.is_held(crossing.distance_mm)))
        return found

    def list_breaks(self) -> list[float]:
        """Distances along the baseline, mm, beyond which a reading is held constant."""
        lines = [self.curvature, self.bend, *self.bevels.values()]
        return sorted({d for line in lines if line is not None
                       and line.last_mm > line.first_mm for d in (line.first_mm, line.last_mm)})


@dataclass(frozen=True)
class Doubt:
    """A reading that contradicts the others.

    label : the frame. kind : 'radius', 'hollow', 'upper bevel', 'upper angle' and so on, as it was written down.
    reading, others : the reading and the value predicted from the others, in degrees, mm of hollow, or for a radius
    1/mm. off : by how much, in degrees or mm of hollow. at_mm : (x, y) of the place. left_out : whether it was not
    used.
    """

    label: str
    kind: str
    reading: float
    others: float
    off: float
    at_mm: tuple[float, ...]
    left_out: bool

    @property
    def is_bevel(self) -> bool:
        """Whether it is in degrees."""
        return self.kind not in ("radius", "hollow")

    @property
    def edge(self) -> str:
        """'upper' or 'lower' for a bevel or an angle, else ''."""
        return next((edge for edge in EDGES if self.kind in (edge + " bevel", edge + " angle")), "")


def fair_readings(readings: Sequence[FrameReading], crossings: Sequence[Crossing], *, settings: BoardSettings,
                  seam_rad: Mapping[str, float]) -> FairReadings:
    """Fair all kinds of reading.

    Parameters
    ----------
    readings : sequence of FrameReading
    crossings : sequence of Crossing
    settings : BoardSettings
        honest_hollow_mm, honest_bevel_deg, shortest_wave_mm, seam_in_bevels and doubtful are used.
    seam_rad : dict
        Edge to the reduction of its bevel for the seam: added to bevels that were read with the seam included.

    Returns
    -------
    FairReadings

    Raises
    ------
    SettingError
    """
    _refuse_settings(settings)
    place = {c.label: c for c in crossings}
    curvature, doubts = _fair_curvature(readings, place, settings)
    bevels = {}
    for edge in EDGES:
        bevels[edge], more = _fair_bevels(edge, readings, place=place, settings=settings,
                                          seam_rad=seam_rad[edge] if settings.seam_in_bevels else 0.0)
        doubts += more
    largest = max([abs(r.bend_per_mm or 0.0) for r in readings], default=0.0)
    bend = _fair(place, settings, [(r, r.bend_per_mm, max(ROUGH * largest, 1e-9)) for r in readings])
    turns = [(r, None if r.twist_deg_per_m is None else np.radians(r.twist_deg_per_m) / 1000) for r in readings]
    most = max([abs(v or 0.0) for _, v in turns], default=0.0)
    rough = max(ROUGH * most, np.radians(LEAST_TWIST_DEG) / 1000)
    twist = _fair(place, settings, [(r, v, rough) for r, v in turns])

    def width(x):
        return float(np.interp(x, [c.distance_mm for c in crossings], [c.width_mm for c in crossings]))
    seen = {"radius": lambda x: 8 * SEEN_MM / width(x) ** 2,
            **{e: lambda x: np.radians(SEEN_DEG) for e in EDGES},
            "bend": lambda x: SEEN_SHARE * largest, "twist": lambda x: SEEN_SHARE * most}
    return FairReadings(curvature, bevels, bend=bend, twist=twist, findings=tuple(map(_tell_doubt, doubts)),
                        doubts=tuple(doubts), seen=seen)


def _refuse_settings(settings):
    refuse_outside(settings.honest_hollow_mm, 0.01, 10, problem="An honest error of %g mm in a hollow cannot be used.",
                   remedy="Give 0.01 to 10 mm.", field="Honest error of a hollow")
    refuse_outside(settings.honest_bevel_deg, 0.01, 10,
                   problem="An honest error of %g degrees in a bevel cannot be used.",
                   remedy="Give 0.01 to 10 degrees.", field="Honest error of a bevel")


def _fair(place, settings, rows, doubtful="keep"):
    """The ReadingLine of (reading, value or None, honest error), or None where no frame gave a value."""
    given = [(r, value, error) for r, value, error in rows if value is not None]
    if not given:
        return None
    return fair_line([place[r.station].distance_mm for r, _, _ in given], [value for _, value, _ in given],
                     [error for _, _, error in given], [r.station for r, _, _ in given],
                     shortest_wave_mm=settings.shortest_wave_mm, doubtful=doubtful)


def _fair_curvature(readings, place, settings):
    """The roundness of the frames, and a Doubt for each radius or hollow that contradicts the others."""
    line = _fair(place, settings, [(r, r.curvature_per_mm,
                                    settings.honest_hollow_mm * (8.0 / place[r.station].width_mm ** 2))
                                   for r in readings], settings.doubtful)
    by_frame, doubts = {r.station: r for r in readings}, []
    for label, value, others in line.doubtful if line is not None else ():
        width, depth, curvature = place[label].width_mm, by_frame[label].hollow_mm, by_frame[label].curvature_per_mm

        def as_read(v, width=width, depth=depth, curvature=curvature):
            """Curvature converted to what was written down: a radius, or a depth, which is proportional to it."""
            if depth is None:
                return v
            return depth * v / curvature if curvature else v * width ** 2 / 8
        doubts.append(Doubt(label=label, kind="radius" if depth is None else "hollow", reading=as_read(value),
                            others=as_read(others), off=abs(width ** 2 / 8 * (value - others)),
                            at_mm=tuple(map(float, place[label].line[0])), left_out=label in line.left_out))
    return line, doubts


def _fair_bevels(edge, readings, place, settings, seam_rad):
    """The tight bevels of one edge, and a Doubt for each bevel or angle that contradicts the others.

    seam_rad : tight bevel minus typed bevel: 0 where the typed ones do not include the seam.
    """
    rows, error = [], np.radians(settings.honest_bevel_deg)
    by_angle = {r.station for r in readings if edge in r.angles_deg}
    for r in readings:
        typed, angle = r.bevels_deg.get(edge), r.angles_deg.get(edge)
        tight = None if typed is None else np.radians(typed) + seam_rad
        # an angle is read with the error of a bevel, which is then halved
        rows.append((r, tight if angle is None else np.radians(angle) / 2, error / (2 if angle is not None else 1)))
    line, doubts = _fair(place, settings, rows, settings.doubtful), []
    for label, value, others in line.doubtful if line is not None else ():
        angle = label in by_angle

        def as_read(v, angle=angle):
            """A tight bevel converted to what was written down: an angle is twice it, and a bevel may include the seam.
            """
            return 2 * np.degrees(v) + 0.0 if angle else np.degrees(v - seam_rad) + 0.0
        doubts.append(Doubt(label=label, kind="%s %s" % (edge, "angle" if angle else "bevel"), reading=as_read(value),
                            others=as_read(others), off=abs(180 / np.pi * (value - others)),
                            at_mm=tuple(map(float, place[label].line[EDGES.index(edge)])),
                            left_out=label in line.left_out))
    return line, doubts


def _tell_doubt(doubt):
    """The Finding of a Doubt."""
    if doubt.is_bevel:
        return Finding(words.tell_doubtful_reading(doubt), doubt.at_mm, "bevel-off", number=doubt.off, unit="deg",
                       station=doubt.label, edge=doubt.edge)
    return Finding(words.tell_doubtful_reading(doubt), doubt.at_mm, "reading-off", station=doubt.label)
