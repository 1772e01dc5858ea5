"""The nouns of the trade as immutable values, in mm on the page (x right, y down)."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR
from ..errors import PatternError
from ..geometry.curve import Curve
from ..geometry.outline import measure_outline_area_mm2

if TYPE_CHECKING:
    from typing import Any, Mapping

    from ..geometry.arrays import Array, ArrayLike, Cubics, Point, Points

__all__ = [
    "EDGE_NAMES",
    "Apart",
    "Batten",
    "Comb",
    "CornerGuess",
    "Edge",
    "EdgeReport",
    "EdgeSource",
    "Finding",
    "Mark",
    "Nail",
    "Pattern",
    "Plank",
    "PlankNames",
    "ReportRow",
    "Tick",
    "Trace",
    "freeze",
]

EDGE_NAMES = ("upper", "lower", "fore", "aft")
_PAST_CORNER_MM = 500.0     # a mark may lie up to this far beyond the corner of its edge


def freeze(array: ArrayLike, *, columns: int | None = None) -> Array:
    """A read-only copy of an array; columns=2 also demands shape (n, 2)."""
    array = np.array(array, float)
    if columns is not None and (array.ndim != 2 or array.shape[1] != columns):
        raise ValueError("expected shape (n, %d)" % columns)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, eq=False, repr=False)
class Trace:
    """One drawn object: its runs of cubics in mm and whether each is closed.

    label : how the user can find it. edge, station : from the object's own label, '' where it has none. told :
    'knuckle' or 'nail' where the label says so (labels.MARK_WORDS). source : opaque to everything but the document that
    made it.
    """

    runs: tuple[tuple[Cubics, bool], ...]
    label: str
    edge: str = ""
    station: str = ""
    error_mm: float = 0.0
    source: Any = None
    told: str = ""

    def __post_init__(self):
        object.__setattr__(self, "runs",
                           tuple((freeze(c.reshape(-1, 2)).reshape(-1, 4, 2), bool(z)) for c, z in self.runs))


@dataclass(frozen=True)
class Mark:
    """A measured point of an edge: place, honest error, and after fairing its residual and its verdict.

    told : 'knuckle' where the edge turns there, 'nail' where a batten is held there.
    """

    point: tuple[float, ...]
    edge: str
    station: str = ""
    error_mm: float = 0.0
    residual_mm: float = 0.0
    verdict: str = "used"
    told: str = ""


@dataclass(frozen=True)
class Tick:
    """A short stroke across an edge, which may mark a frame: its foot on the line, and its tip."""

    foot: tuple[float, ...]
    tip: tuple[float, ...]
    edge: str


@dataclass(frozen=True, eq=False, repr=False)
class EdgeSource:
    """What is known of one edge before fairing: dense runs of points (one, or an outer and an inner), or marks."""

    runs: tuple[Points, ...] = ()
    marks: tuple[Mark, ...] = ()

    def __post_init__(self):
        object.__setattr__(self, "runs", tuple(freeze(r, columns=2) for r in self.runs))


@dataclass(frozen=True, eq=False, repr=False)
class Pattern:
    """A pattern read from a drawing: four edges, ticks found on them, and what was noticed.

    upper and lower run from the fore end to the aft end; fore and aft from the upper edge to the lower. told : marks on
    drawn edges that the user labelled as knuckles or nails.
    """

    edges: Mapping[str, EdgeSource]
    ticks: tuple[Tick, ...]
    forward: str
    kind: str
    findings: tuple[Finding, ...] = ()
    told: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class Finding:
    """Something found that is lettered on the drawing itself, at its place: a doubt that does not stop the work, or how
    something was understood. It is stored as a fact of its layer, and code goes by its key; its words are for people.

    text : the words. where : (x, y) in mm, or None. key : what was found: 'mark-off', 'odd-gap'. number : the size of
    it, in `unit`. limit : the value it is compared with, in the same unit. station, edge : where on the plank, '' where
    not given. verdict : 'doubt', or '' where nothing need be done about it.
    """

    text: str
    where: tuple[float, ...] | None = None
    key: str = ""
    number: float | None = None
    unit: str = ""
    limit: float | None = None
    station: str = ""
    edge: str = ""
    verdict: str = "doubt"


@dataclass(frozen=True)
class CornerGuess:
    """A corner with no mark near it: the end it is at, how far past the last mark it lies, and the standard error of
    the edge there."""

    end: str
    beyond_mm: float
    band_mm: float


@dataclass(frozen=True, eq=False, repr=False)
class Edge:
    """A fair edge, with how well it fits its marks or trace.

    rms_mm, worst_mm : how far the marks or the trace lie off it; worst_point where.
    degrees_of_freedom : effective number of parameters of the fit.
    band_mm : standard error of the edge itself, largest along it.
    guesses : its corners that are guessed. told : 'straight', or the line that the user made it follow. wander_mm,
    wander_length_mm : standard deviation and correlation length (to 1/e) of the wander of the pen that traced it; 0 for
    an edge known by marks, and for a line that does not wander. wander_kind : kind of its correlation, of
    geometry.wander.KINDS. stairs_mm : standard deviation of white noise (the stairs of pixels), for points 1 mm apart.
    """

    name: str
    curve: Curve
    rms_mm: float = 0.0
    worst_mm: float = 0.0
    worst_point: tuple[float, ...] = (0.0, 0.0)
    degrees_of_freedom: float = 0.0
    band_mm: float = 0.0
    straight: bool = False
    guesses: tuple[CornerGuess, ...] = ()
    told: str = ""
    wander_mm: float = 0.0
    wander_length_mm: float = 0.0
    wander_kind: str = ""
    stairs_mm: float = 0.0


@dataclass(frozen=True)
class Nail:
    """Where a batten is held: frame, place (x, y) mm, the jump of its third derivative there, 1/mm2, which is the force
    over EI, and the force in N, or None where its stiffness is not given. Positive where the nail pushes outward."""

    station: str
    point: tuple[float, ...]
    jump_per_mm2: float
    force_n: float | None = None


@dataclass(frozen=True)
class Apart:
    """How far a batten runs outside the fair edge at a frame, mm, negative inside; the place on the edge, and its
    distance from the end where the batten begins."""

    station: str
    point: tuple[float, ...]
    apart_mm: float
    along_mm: float


@dataclass(frozen=True, eq=False, repr=False)
class Batten:
    """A batten held by nails along an edge.

    bends : (n, 3), how far along, second derivative of the batten and of the fair edge there, mm and 1/mm, positive
    where hollow outward. stiffness_nmm2 : EI, 0 where it is not given; source : where it is from.
    """

    edge: str
    curve: Curve
    nails: tuple[Nail, ...]
    apart: tuple[Apart, ...]
    bends: Array
    stiffness_nmm2: float = 0.0
    source: str = ""

    def __post_init__(self):
        object.__setattr__(self, "bends", freeze(self.bends))


@dataclass(frozen=True)
class ReportRow:
    """One bar of a report: frame, distance along from the fore end of the marks or trace, how far these lie outside the
    edge, their honest error, the standard error of the edge there, mm; verdict and told as in Mark."""

    station: str
    along_mm: float
    residual_mm: float
    error_mm: float
    band_mm: float
    verdict: str = "used"
    told: str = ""


@dataclass(frozen=True)
class EdgeReport:
    """How one edge's marks or trace were faired: rows from fore to aft. For a trace the rows are places along it, and
    `marked` is False.

    wave_mm : the wave length that its marks support, or for a trace the shortest allowed. believed, unbelieved, again :
    sentences from the operation's words.py: what was believed, what was not, what to measure again.
    """

    edge: str
    rows: tuple[ReportRow, ...]
    marked: bool
    wave_mm: float
    believed: tuple[str, ...] = ()
    unbelieved: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Plank:
    """A fair plank: four edges that meet at the corners, and what it is called.

    face : the face of the plank whose shape this is. forward : the way the bow lies on the page, with the upper edge
    up. assumed : as in PlankNames. battens, reports : only on a plank just faired; they are drawn, and not read back.
    """

    edges: Mapping[str, Edge]
    name: str = ""
    strake: str = ""
    side: str = "starboard"
    face: str = "inboard"
    forward: str = "right"
    thickness_mm: float = 0.0
    marks: tuple[Mark, ...] = ()
    ticks: tuple[Tick, ...] = ()
    findings: tuple[Finding, ...] = ()
    key: str = field(default="", repr=False)
    assumed: tuple[str, ...] = ()
    battens: tuple[Batten, ...] = ()
    reports: tuple[EdgeReport, ...] = ()

    def __post_init__(self):
        loop = self.outline()
        for k, curve in enumerate(loop):
            gap = float(np.hypot(*(curve.end - loop[(k + 1) % 4].start)))
            if gap > 0.01:
                raise PatternError("The plank's edges do not meet: there is a gap of %.2f mm." % gap,
                                   FAIR.again, tuple(map(float, curve.end)))

    def outline(self) -> list[Curve]:
        """The four edges end to end, as curves: upper (fore to aft), aft, lower (aft to fore), fore (lower to upper).
        """
        e = {name: self.edges[name].curve for name in EDGE_NAMES}
        return [e["upper"], e["aft"], e["lower"].reverse(), e["fore"].reverse()]

    @property
    def seen_from(self) -> str:
        """'outboard' or 'inboard': the side one looks from, which is also the face that lies up on the board.

        With the upper edge up, a starboard plank seen from outboard has its bow to the right; changing the side, or the
        way of looking, puts it to the left.
        """
        return "outboard" if (self.side == "starboard") == (self.forward == "right") else "inboard"

    def find_corners(self) -> dict[str, Point]:
        """The four corners, (2,) each, by name."""
        upper, lower = self.edges["upper"].curve, self.edges["lower"].curve
        return {"upper fore": upper.start, "upper aft": upper.end, "lower fore": lower.start, "lower aft": lower.end}

    def find_baseline(self) -> Points:
        """Middle of the fore end and middle of the aft end, (2, 2) mm."""
        c = self.find_corners()
        return np.stack([(c["upper fore"] + c["lower fore"]) / 2, (c["upper aft"] + c["lower aft"]) / 2])

    def find_axes(self) -> tuple[Point, Point, Point]:
        """Where the baseline starts, its direction aft, and the direction square to it, a quarter turn from x towards
        y; (2,) each.
        """
        base = self.find_baseline()
        along = (base[1] - base[0]) / np.hypot(*(base[1] - base[0]))
        return base[0], along, np.array([-along[1], along[0]])

    def measure_length_mm(self) -> float:
        """Length of the baseline, mm."""
        return float(np.hypot(*np.diff(self.find_baseline(), axis=0)[0]))

    def measure_width_mm(self) -> float:
        """Greatest width square to the baseline, mm."""
        start, along, across = self.find_axes()
        profile = []
        for name in ("upper", "lower"):
            # the record prints it to 0.001 mm
            points = self.edges[name].curve.flatten(tolerance_mm=1e-4) - start
            profile.append((points @ along, points @ across))
        x = np.linspace(max(p[0][0] for p in profile), min(p[0][-1] for p in profile), 2001)
        return float(np.max(np.abs(np.interp(x, *profile[0]) - np.interp(x, *profile[1]))))

    def find_knuckles(self) -> list[tuple[str, str, float]]:
        """Knuckles of the edges: (edge, frame of the mark labelled so or '', degrees), fore to aft."""
        found = []
        for name, edge in self.edges.items():
            told = [m for m in self.marks if m.edge == name and m.told == "knuckle"]
            for u, turn in edge.curve.find_knuckles():
                place = edge.curve.evaluate([u])[0]
                near = min(told, key=lambda m: float(np.hypot(*(place - m.point))), default=None)
                found.append((name, near.station if near else "", abs(turn)))
        return found

    def measure_outside_mm(self, mark: Mark) -> float:
        """How far a mark lies outside its drawn edge, which is extended straight past its corners, mm; negative inside.
        """
        curve = self.edges[mark.edge].curve.extend(_PAST_CORNER_MM)
        u, off = curve.find_nearest(mark.point)
        way, away = curve.find_direction(u), np.asarray(mark.point, float) - curve.evaluate([u])[0]
        # in the outline the lower edge and the fore end run the other way
        side = (1.0 if measure_outline_area_mm2(self.outline()) > 0
                else -1.0) * (1.0 if mark.edge in ("upper", "aft") else -1.0)
        return float(np.copysign(off, side * (way[1] * away[0] - way[0] * away[1])))

    def measure_area_mm2(self) -> float:
        """Area of the net shape, mm2."""
        return abs(measure_outline_area_mm2(self.outline()))


@dataclass(frozen=True)
class PlankNames:
    """A plank's names and the way it belongs on the boat, as the drawing has them or as somebody typed them; '' and 0
    mean not given.

    assumed : those of 'side', 'face', 'forward' that nobody gave, so that the usual was assumed.
    """

    name: str = ""
    strake: str = ""
    side: str = ""
    face: str = ""
    forward: str = ""
    thickness_mm: float = 0.0
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Comb:
    """Curvature comb of one edge: feet on the edge and tips (n, 2), inflections, least radius of all edges in mm."""

    edge: str
    feet: Points
    tips: Points
    inflections: tuple[tuple[float, ...], ...]
    least_radius_mm: float

    def __post_init__(self):
        object.__setattr__(self, "feet", freeze(self.feet, columns=2))
        object.__setattr__(self, "tips", freeze(self.tips, columns=2))
