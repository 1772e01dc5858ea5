"""Readings at the frames faired along the plank: each kind by the same fairing as the edges, between frames interpolated, beyond the last held level."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .errors import SettingError
from .geometry.bezier import hermite_to_cubics
from .geometry.curve import Curve
from .geometry.doubts import find_doubtful
from .geometry.spline_process import fit_process
from .model import Finding
from .section_shapes import EDGES

__all__ = ["ReadingLine", "FairReadings", "fair_line", "fair_readings"]

ORDER = 4
ROUGH = 0.05              # bend and twist are read roughly: to this share of the largest. Practice, no source
LEAST_TWIST_DEG = 0.1     # per m
_PIECE_MM = 20.0          # of a faired line's cubics: a wave of 600 mm is followed to 1e-5 of its height


@dataclass(frozen=True, eq=False, repr=False)
class ReadingLine:
    """One kind of reading along the plank: a function of the distance along the baseline, mm, held level beyond first_mm and last_mm.

    labels : frames that gave it. doubtful : (label, off) of those that the others do not believe.
    """

    function: object
    first_mm: float
    last_mm: float
    labels: tuple
    doubtful: tuple = ()

    def evaluate(self, x):
        """Values (n,) at x (n,)."""
        return self.function(np.clip(np.asarray(x, float), self.first_mm, self.last_mm))

    def tell(self, label, x):
        """'given', 'between' or 'beyond'."""
        if label in self.labels:
            return "given"
        return "between" if self.first_mm < x < self.last_mm else "beyond"


@dataclass(frozen=True, eq=False, repr=False)
class FairReadings:
    """All kinds: ReadingLine or None where no frame gave any. curvature and bend in 1/mm, bevels tight and in rad, twist in rad/mm."""

    curvature: ReadingLine
    bevels: dict
    bend: ReadingLine
    twist: ReadingLine
    findings: tuple = ()

    def list_breaks(self):
        """Distances along the baseline where a reading begins to be held level, mm."""
        lines = [self.curvature, self.bend, *self.bevels.values()]
        return sorted({d for line in lines if line is not None and line.last_mm > line.first_mm for d in (line.first_mm, line.last_mm)})


def fair_line(x, y, errors, labels, *, shortest_wave_mm):
    """Fair one kind of reading: one is held along the whole plank, two make a straight line, more a smoothing spline of the order they can bear.

    Parameters
    ----------
    x, y, errors : sequence of float
        Distance along, reading, and the reading's honest error.
    labels : sequence of str

    Returns
    -------
    ReadingLine
    """
    x, y, errors = (np.asarray(v, float) for v in (x, y, errors))
    names, count = tuple(labels), len(x)
    if count == 1:
        return ReadingLine(lambda at: np.full(np.shape(at), y[0]), float(x[0]), float(x[0]), names)
    if count == 2:
        return ReadingLine(lambda at: np.interp(at, x, y), float(x[0]), float(x[1]), names)
    ones = np.ones(count)
    wave = max(shortest_wave_mm, 2 * float(np.ptp(x)) / (count - 1))
    doubtful = find_doubtful(x, y, errors, ones, shortest_wave_mm=wave)

    def fit(keep):
        return fit_process(x[keep], y[keep], errors[keep], ones[keep], shortest_wave=wave, order=min(ORDER, int(keep.sum()) - 1))
    whole = fit(np.ones(count, bool))
    said = ()
    if doubtful.any():
        others = fit(~doubtful).evaluate(x, sign=1)
        said = tuple((names[i], float(y[i] - others[i])) for i in np.flatnonzero(doubtful))
    return ReadingLine(_tabulate(whole, float(x[0]), float(x[-1])), float(x[0]), float(x[-1]), names, said)


def _tabulate(fit, first, last):
    """A faired line as cubics of even length: it is asked for at many places, and the sum of kernels is slow."""
    count = max(int(np.ceil((last - first) / _PIECE_MM)), 1)
    nodes = np.linspace(first, last, count + 1)
    values, slopes = (fit.evaluate(nodes, sign=1, derivative=k) for k in (0, 1))
    curve = Curve(hermite_to_cubics(np.stack([nodes, values], 1), np.stack([np.ones(count + 1), slopes], 1), nodes))
    return lambda at: curve.evaluate((np.asarray(at, float) - first) / (last - first) * count)[:, 1]


def fair_readings(readings, crossings, *, settings, seam_rad):
    """Fair all kinds of reading.

    Parameters
    ----------
    readings : sequence of FrameReading
    crossings : sequence of Crossing
    settings : BoardSettings
        honest_hollow_mm, honest_bevel_deg, shortest_wave_mm and seam_in_bevels are used.
    seam_rad : dict
        Edge to what the seam takes off its bevel: added back to bevels that were read with the seam in them.

    Returns
    -------
    FairReadings

    Raises
    ------
    SettingError
    """
    if not 0.01 <= settings.honest_hollow_mm <= 10:
        raise SettingError("An honest error of %g mm in a hollow cannot be used." % settings.honest_hollow_mm, "Give 0.01 to 10 mm.", "Honest error of a hollow")
    if not 0.01 <= settings.honest_bevel_deg <= 10:
        raise SettingError("An honest error of %g degrees in a bevel cannot be used." % settings.honest_bevel_deg, "Give 0.01 to 10 degrees.", "Honest error of a bevel")
    place = {c.label: c for c in crossings}
    findings = []

    def line(values, error_of):
        pairs = [(r, v) for r, v in values if v is not None]
        if not pairs:
            return None
        return fair_line([place[r.station].distance_mm for r, _ in pairs], [v for _, v in pairs], [error_of(r) for r, _ in pairs],
                         [r.station for r, _ in pairs], shortest_wave_mm=settings.shortest_wave_mm)

    def find_sag(reading):
        """mm of hollow to curvature, over the plank's width there."""
        return 8.0 / place[reading.station].width_mm ** 2

    def doubt(line, what, unit, factor, end):
        for label, off in line.doubtful if line is not None else ():
            findings.append(Finding("Frame %s, %s: %.1f %s off what the other frames say; measure it again. It is kept." % (label, what, abs(factor(label) * off), unit),
                                    tuple(map(float, place[label].line[end]))))
    curvature = line([(r, r.curvature_per_mm) for r in readings], lambda r: settings.honest_hollow_mm * find_sag(r))
    doubt(curvature, "hollow", "mm", lambda label: place[label].width_mm ** 2 / 8, 0)
    bevels, error = {}, np.radians(settings.honest_bevel_deg)
    for edge in EDGES:
        values = []
        for r in readings:
            typed, angle = r.bevels_deg.get(edge), r.angles_deg.get(edge)
            tight = None if typed is None else np.radians(typed) + (seam_rad[edge] if settings.seam_in_bevels else 0.0)
            values.append((r, tight if angle is None else np.radians(angle) / 2))
        # an angle is read as badly as a bevel, and halved
        bevels[edge] = line(values, lambda r: error / (2 if edge in r.angles_deg else 1))
        doubt(bevels[edge], "%s bevel" % edge, "degrees", lambda label: 180 / np.pi, EDGES.index(edge))
    largest = max([abs(r.bend_per_mm or 0.0) for r in readings], default=0.0)
    bend = line([(r, r.bend_per_mm) for r in readings], lambda r: max(ROUGH * largest, 1e-9))
    turns = [(r, None if r.twist_deg_per_m is None else np.radians(r.twist_deg_per_m) / 1000) for r in readings]
    most = max([abs(v or 0.0) for _, v in turns], default=0.0)
    twist = line(turns, lambda r: max(ROUGH * most, np.radians(LEAST_TWIST_DEG) / 1000))
    return FairReadings(curvature, bevels, bend, twist, tuple(findings))
