"""Readings at the frames faired along the plank: each kind by the same fairing as the edges, between frames
interpolated, beyond the last held level.
"""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry.bezier import hermite_to_cubics
from ..geometry.curve import Curve
from ..geometry.doubts import find_doubtful
from ..geometry.error_ladder import fit_ladder
from ..geometry.interpolation import hold_within
from ..model.plank import Finding
from ..model.ranges import refuse_outside
from .shapes import EDGES

__all__ = ["TREATMENTS", "FairReadings", "ReadingLine", "fair_line", "fair_readings"]

TREATMENTS = ("keep", "leave out")
# of the honest error: so far beyond both neighbours a fair run may go before it is asked whether they bear it out.
# Practice, no source
ROOM = 0.1
# what is printed: bevels to 0.1 degree, hollows to 0.1 mm; of bend and twist, a share of the largest
SEEN_DEG, SEEN_MM, SEEN_SHARE = 0.05, 0.05, 0.01
ROUGH = 0.05              # bend and twist are read roughly: to this share of the largest. Practice, no source
LEAST_TWIST_DEG = 0.1     # per m
_PIECE_MM = 20.0          # of a faired line's cubics: a wave of 600 mm is followed to 1e-5 of its height


@dataclass(frozen=True, eq=False, repr=False)
class ReadingLine:
    """One kind of reading along the plank: a function of the distance along the baseline, mm, held level beyond
    first_mm and last_mm.

    labels : frames that gave it. doubtful : (label, reading, what the others say) of those that the others do not
    believe.
    places_mm, readings : of the frames that gave it, in order. left_out : labels of doubtful readings that were not
    used. held : of each stretch
        between two of them, whether the smoothest fit swung out there, so that the line was held within the two
        readings. is_kept : whether the readings were too few to be faired, so that the line passes through all.
    """

    function: object
    first_mm: float
    last_mm: float
    labels: tuple
    doubtful: tuple = ()
    places_mm: tuple = ()
    left_out: tuple = ()
    readings: tuple = ()
    held: tuple = ()
    is_kept: bool = False

    def evaluate(self, x):
        """Values (n,) at x (n,)."""
        return self.function(np.clip(np.asarray(x, float), self.first_mm, self.last_mm))

    def tell(self, label, x):
        """'given', 'between' or 'beyond'."""
        if label in self.labels:
            return "given"
        return "between" if self.first_mm < x < self.last_mm else "beyond"

    def _find_stretch(self, x):
        """Number of the stretch between two readings that x lies in, or None."""
        if len(self.places_mm) < 2 or not self.first_mm < x < self.last_mm:
            return None
        return min(int(np.searchsorted(self.places_mm, x, side="right")) - 1, len(self.places_mm) - 2)

    def is_held(self, x):
        """Whether x lies where the line was held within the readings on both sides."""
        stretch = self._find_stretch(x)
        return stretch is not None and bool(self.held) and self.held[stretch]

    def measure_beyond(self, x):
        """(how far the line lies at x beyond what was read on both sides, signed, the two labels); (0, ()) where it
        lies within, or none stand on both sides.
        """
        stretch = self._find_stretch(x)
        if stretch is None:
            return 0.0, ()
        value, pair = float(self.evaluate([x])[0]), self.readings[stretch:stretch + 2]
        return max(value - max(pair), 0.0) + min(value - min(pair), 0.0), self.labels[stretch:stretch + 2]

    def find_kept_beside(self, x):
        """Labels of doubtful readings that were kept at the frames next to x on both sides, or at the nearest where it
        lies beyond the last.
        """
        count = int(np.searchsorted(self.places_mm, x)) if self.places_mm else 0
        beside = self.labels[max(count - 1, 0):count + 1]
        return [label for label, _, _ in self.doubtful if label in beside and label not in self.left_out]


@dataclass(frozen=True, eq=False, repr=False)
class FairReadings:
    """All kinds: ReadingLine or None where no frame gave any. curvature and bend in 1/mm, bevels tight and in rad,
    twist in rad/mm.

    seen : kind in capitals to a function of the place, the least difference that shows in print.
    """

    curvature: ReadingLine
    bevels: dict
    bend: ReadingLine
    twist: ReadingLine
    findings: tuple = ()
    doubts: tuple = ()
    seen: dict = None

    def list_notes(self, label, x):
        """What a frame's row in the table must say of doubt: its own reading, one beside it that it is taken from, a
        swing that was cut.
        """
        own = [(kind, left) for name, kind, left in ((d.label, d.kind, d.left_out) for d in self.doubts)
               if name == label]
        notes = ["%s IN DOUBT, %s" % (kind, "LEFT OUT" if left else "KEPT") for kind, left in own]
        for kind, line in self._list_lines():
            if line is not None and line.tell(label, x) != "given":
                beside = line.find_kept_beside(x)
                notes += ["%s FROM FRAME %s, IN DOUBT" % (kind, ", ".join(beside).upper())] if beside else []
                notes += ["%s LIMITED" % kind] if line.is_held(x) else []
                notes += ["%s BEYOND BOTH NEIGHBOURS" % kind] if self.measure_beyond(kind, x)[0] else []
        return notes

    def _list_lines(self):
        return (("RADIUS", self.curvature), *((e.upper(), self.bevels[e]) for e in EDGES), ("BEND", self.bend),
                ("TWIST", self.twist))

    def measure_beyond(self, kind, x):
        """As ReadingLine.measure_beyond, and 0 where it is too little to be seen in print."""
        line = dict(self._list_lines())[kind]
        if line is None:
            return 0.0, ()
        beyond, labels = line.measure_beyond(x)
        return (beyond, labels) if abs(beyond) > self.seen[kind](x) else (0.0, ())

    def list_kept(self):
        """(kind, number of frames that gave it) of all that were too few to be faired."""
        return [(kind, len(line.labels)) for kind, line in self._list_lines() if line is not None and line.is_kept]

    def list_between(self, crossings):
        """(label, kind, how far beyond both neighbours, their labels, whether it was held within them) of frames not
        read where either is so.
        """
        found = []
        for crossing in crossings:
            for kind, line in self._list_lines():
                if line is not None and line.tell(crossing.label, crossing.distance_mm) == "between":
                    beyond, labels = self.measure_beyond(kind, crossing.distance_mm)
                    if beyond or line.is_held(crossing.distance_mm):
                        found.append((crossing.label, kind, beyond, labels, line.is_held(crossing.distance_mm)))
        return found

    def list_breaks(self):
        """Distances along the baseline where a reading begins to be held level, mm."""
        lines = [self.curvature, self.bend, *self.bevels.values()]
        return sorted({d for line in lines if line is not None
                       and line.last_mm > line.first_mm for d in (line.first_mm, line.last_mm)})


@dataclass(frozen=True)
class Doubt:
    """A reading that the others do not believe: the frame, what was read in capitals, the reading and what the others
    say in words, and whether it was left out.
    """

    label: str
    kind: str
    reading: str
    others: str
    left_out: bool


def fair_line(x, y, errors, labels, *, shortest_wave_mm, doubtful="keep"):
    """Fair one kind of reading: one is held along the whole plank, two make a straight line, up to error_ladder.FEW a
    line through all, more a smoothing spline.

    Parameters
    ----------
    x, y, errors : sequence of float
        Distance along, reading, and the reading's honest error.
    labels : sequence of str
    doubtful : str
        Of TREATMENTS. A doubtful reading that is kept is followed.

    Between two frames the line lies within what both read (geometry.interpolation.hold_within), but where the readings
    round about bear it out that it turns between them: then it may reach beyond both, and `measure_beyond` says by how
    much.
    The errors are the largest the readings may honestly have (geometry.error_ladder): readings that run exactly smooth
    come back as they were read, and so do those that are too few to tell a bend from an error by.

    Returns
    -------
    ReadingLine
    """
    x, y, errors = (np.asarray(v, float) for v in (x, y, errors))
    names, count = tuple(labels), len(x)
    if count == 1:
        return ReadingLine(lambda at: np.full(np.shape(at), y[0]), float(x[0]), float(x[0]), names, (), tuple(x), (),
                           tuple(y))
    if count == 2:
        return ReadingLine(lambda at: np.interp(at, x, y), float(x[0]), float(x[1]), names, (), tuple(x), (), tuple(y),
                           (), True)
    wave = max(shortest_wave_mm, 2 * float(np.ptp(x)) / (count - 1))
    wrong = find_doubtful(x, y, errors, np.ones(count), shortest_wave_mm=wave)

    def fit(keep):
        return fit_ladder(x[keep], y[keep], errors[keep], shortest_wave=shortest_wave_mm)
    said, enough = (), int((~wrong).sum()) >= 2
    if wrong.any():
        trusted = fit(~wrong) if enough else None
        # where hardly one is believed by the others, the middle of all is what they say, and none can be left out
        others = trusted.evaluate(x[wrong]) if enough else np.full(int(wrong.sum()), np.median(y))
        said = tuple((names[i], float(y[i]), float(o)) for i, o in zip(np.flatnonzero(wrong), others))
    kept = np.flatnonzero(~wrong) if wrong.any() and enough and doubtful == "leave out" else np.arange(count)
    followed = trusted if len(kept) < count else fit(np.ones(count, bool))
    free = _tabulate(followed, float(x[kept[0]]), float(x[kept[-1]]))
    curve, held = hold_within(free, x[kept], y[kept], room=ROOM * errors[kept])
    return ReadingLine(curve, float(x[kept[0]]), float(x[kept[-1]]), tuple(names[i] for i in kept), said,
                       tuple(x[kept]),
                       tuple(name for name, _, _ in said) if len(kept) < count else (), tuple(y[kept]),
                       tuple(map(bool, held)), followed.is_kept)


def _tabulate(fit, first, last):
    """A faired line as cubics of even length: it is asked for at many places, and the sum of kernels is slow. free(at,
    derivative=0 or 1).
    """
    count = max(int(np.ceil((last - first) / _PIECE_MM)), 1)
    nodes = np.linspace(first, last, count + 1)
    values, slopes = (fit.evaluate(nodes, derivative=k) for k in (0, 1))
    curve = Curve(hermite_to_cubics(np.stack([nodes, values], 1), np.stack([np.ones(count + 1), slopes], 1), nodes))

    def free(at, *, derivative=0):
        at = np.asarray(at, float)
        return fit.evaluate(at,
                            derivative=1) if derivative else curve.evaluate((at - first) / (last - first) * count)[:, 1]
    return free


def fair_readings(readings, crossings, *, settings, seam_rad):
    """Fair all kinds of reading.

    Parameters
    ----------
    readings : sequence of FrameReading
    crossings : sequence of Crossing
    settings : BoardSettings
        honest_hollow_mm, honest_bevel_deg, shortest_wave_mm, seam_in_bevels and doubtful are used.
    seam_rad : dict
        Edge to what the seam takes off its bevel: added back to bevels that were read with the seam in them.

    Returns
    -------
    FairReadings

    Raises
    ------
    SettingError
    """
    refuse_outside(settings.honest_hollow_mm, 0.01, 10, problem="An honest error of %g mm in a hollow cannot be used.",
                   remedy="Give 0.01 to 10 mm.", field="Honest error of a hollow")
    refuse_outside(settings.honest_bevel_deg, 0.01, 10,
                   problem="An honest error of %g degrees in a bevel cannot be used.",
                   remedy="Give 0.01 to 10 degrees.", field="Honest error of a bevel")
    place = {c.label: c for c in crossings}
    findings, doubts = [], []

    def line(values, error_of, doubtful="keep"):
        pairs = [(r, v) for r, v in values if v is not None]
        if not pairs:
            return None
        return fair_line([place[r.station].distance_mm for r, _ in pairs], [v for _, v in pairs],
                         [error_of(r) for r, _ in pairs],
                         [r.station for r, _ in pairs], shortest_wave_mm=settings.shortest_wave_mm, doubtful=doubtful)

    def find_sag(reading):
        """mm of hollow to curvature, over the plank's width there."""
        return 8.0 / place[reading.station].width_mm ** 2

    def doubt(line, what, unit, factor, end, tell):
        for label, value, others in line.doubtful if line is not None else ():
            left = label in line.left_out
            findings.append(Finding("Frame %s, %s: %.1f %s off what the other frames say; measure it again. It is %s."
                                    % (label, what, abs(factor(label) * (value - others)), unit,
                                       "left out" if left else "kept"),
                                    tuple(map(float, place[label].line[end])),
                                    *(("bevel-off", abs(factor(label) * (value - others))) if unit == "degrees"
                                      else ("reading-off",))))
            kind, as_read = tell(label)
            doubts.append(Doubt(label, kind.upper(), as_read(value), as_read(others), left))
    by_frame = {r.station: r for r in readings}

    def tell_roundness(label):
        """As it was written down: a radius, or a depth, which is as the curvature is."""
        depth, curvature = by_frame[label].hollow_mm, by_frame[label].curvature_per_mm
        if depth is None:
            return "radius", lambda v: "flat" if abs(v) < 1e-7 else "%.0f mm" % (1 / v)
        return "hollow", lambda v: "%.1f mm" % (depth * v / curvature if curvature
                                                else v * place[label].width_mm ** 2 / 8)
    curvature = line([(r, r.curvature_per_mm) for r in readings], lambda r: settings.honest_hollow_mm * find_sag(r),
                     settings.doubtful)
    doubt(curvature, "hollow", "mm", lambda label: place[label].width_mm ** 2 / 8, 0, tell_roundness)
    bevels, error = {}, np.radians(settings.honest_bevel_deg)
    for edge in EDGES:
        values = []
        for r in readings:
            typed, angle = r.bevels_deg.get(edge), r.angles_deg.get(edge)
            tight = None if typed is None else np.radians(typed) + (seam_rad[edge] if settings.seam_in_bevels else 0.0)
            values.append((r, tight if angle is None else np.radians(angle) / 2))
        # an angle is read as badly as a bevel, and halved
        bevels[edge] = line(values, lambda r: error / (2 if edge in r.angles_deg else 1), settings.doubtful)
        by_angle = {r.station for r in readings if edge in r.angles_deg}

        def tell(label, edge=edge, by_angle=by_angle):
            """As it was written down: an angle is twice the tight bevel, a bevel may have the seam in it."""
            if label in by_angle:
                return "%s angle" % edge, lambda v: "%.1f degrees" % (2 * np.degrees(v) + 0.0)
            return "%s bevel" % edge, lambda v: "%.1f degrees" % (
                np.degrees(v - (seam_rad[edge] if settings.seam_in_bevels else 0.0)) + 0.0)
        doubt(bevels[edge], "%s bevel" % edge, "degrees", lambda label: 180 / np.pi, EDGES.index(edge), tell)
    largest = max([abs(r.bend_per_mm or 0.0) for r in readings], default=0.0)
    bend = line([(r, r.bend_per_mm) for r in readings], lambda r: max(ROUGH * largest, 1e-9))
    turns = [(r, None if r.twist_deg_per_m is None else np.radians(r.twist_deg_per_m) / 1000) for r in readings]
    most = max([abs(v or 0.0) for _, v in turns], default=0.0)
    twist = line(turns, lambda r: max(ROUGH * most, np.radians(LEAST_TWIST_DEG) / 1000))
    def width(x):
        return float(np.interp(x, [c.distance_mm for c in crossings], [c.width_mm for c in crossings]))
    seen = {"RADIUS": lambda x: 8 * SEEN_MM / width(x) ** 2,
            **{e.upper(): lambda x: np.radians(SEEN_DEG) for e in EDGES},
            "BEND": lambda x: SEEN_SHARE * largest, "TWIST": lambda x: SEEN_SHARE * most}
    return FairReadings(curvature, bevels, bend, twist, tuple(findings), tuple(doubts), seen)
