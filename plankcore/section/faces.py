"""Both faces of a board: bent round the frames, and laid flat."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError
from ..geometry.bezier import hermite_to_cubics
from ..geometry.curve import Curve
from ..geometry.outline import OffsetFailure
from ..geometry.outward import offset_outline_varied
from ..geometry.ribbon import Ribbon, carry_curve, find_places_at, lay_ribbon
from ..trade.bending import find_principal_curvature, judge_bend
from .shapes import EDGES, find_chord_mm, find_fault, shape_from_outside, shape_section

if TYPE_CHECKING:
    from typing import Any, Callable, Mapping, Sequence

    from ..geometry.arrays import Points, Values
    from ..model.plank import Plank
    from ..trade.bending import BendAdvice
    from .board import BoardSettings
    from .fair_readings import FairReadings
    from .shapes import SectionShape

__all__ = [
    "BendReport",
    "BoardAxes",
    "PlankShape",
    "check_shape",
    "find_turning",
    "lay_axes",
    "lay_faces",
    "report_bend",
]


@dataclass(frozen=True)
class BendReport:
    """What bending does to a board.

    known : whether a bend was given. turn_deg : total angle of bend; fore_deg, aft_deg : of the fore and the aft half.
    added_mm : added to the flat length. run_mm : length of the pattern's run.
    find_strain : strain of the edges as a function of x, or None. worst_strain, strain_mm : the largest along the
    plank, and the sum in mm over its length. advice : BendAdvice or None. is_wound : whether a twist was given, so that
    the advice is on bend and twist together.
    """

    known: bool
    turn_deg: float
    fore_deg: float
    aft_deg: float
    added_mm: float
    run_mm: float
    find_strain: Callable[[Values, Values], Values] | None
    worst_strain: float
    strain_mm: float
    advice: BendAdvice | None
    is_wound: bool = False


def find_turning(fair: FairReadings, axes: BoardAxes, settings: BoardSettings, *,
                 beyond_mm: float) -> Callable[[Values], Values]:
    """Angle of bend per mm of pattern, as a function of the distance along the baseline. The pattern's middle is
    beyond_mm outside the inside face, where the bend is measured."""
    if settings.turn_deg:
        even = np.radians(settings.turn_deg) / axes.run_mm
        return lambda x: np.full(np.shape(x), even)
    line = fair.bend
    if line is None:
        return lambda x: np.zeros(np.shape(x))

    def turning(x):
        bend = line.evaluate(x)
        return bend / (1 + bend * beyond_mm)
    return turning


def report_bend(shape: PlankShape, fair: FairReadings, settings: BoardSettings) -> BendReport:
    """What bending does to the board."""
    places = shape.list_places()
    known = bool(settings.turn_deg) or fair.bend is not None
    middle = (shape.axes.first_mm + shape.axes.last_mm) / 2
    halves = [float(np.degrees(shape.measure_along(shape.turning, *ends)))
              for ends in ((shape.axes.first_mm, middle), (middle, shape.axes.last_mm))]
    beyond = (shape.thickness_mm if shape.outboard else 0.0) + shape.pattern_mm / 2

    def find_bend(x):
        bent = np.asarray(shape.turning(x), float)
        return bent / (1 - bent * beyond)

    def find_strain(x, width_mm=None):
        """K w^2 / 8: relative difference in length between the edges of a flat board and of the hull
        (a line beside a geodesic, K the Gaussian curvature: M. do Carmo, Differential Geometry of Curves and Surfaces;
        from memory, not checked)."""
        wide = shape.axes.find_width_mm(x) if width_mm is None else width_mm
        twist = 0.0 if fair.twist is None else fair.twist.evaluate(x)
        return (shape.find_curvature(x) * find_bend(x) - twist ** 2) * wide ** 2 / 8
    wound = np.zeros(len(places)) if fair.twist is None else fair.twist.evaluate(places)
    # bend and twist are read on the inside; strain is computed for the middle of the thickness, which keeps its length
    half_mm = shape.thickness_mm / 2
    tightest = float(find_principal_curvature(find_bend(places), wound, outward_mm=half_mm).max())
    advice = judge_bend(shape.thickness_mm, 1 / tightest if tightest > 0 else np.inf,
                        species=settings.species) if known else None
    strains = find_strain(places)
    worst = float(strains[int(np.argmax(np.abs(strains)))])
    return BendReport(known=known, turn_deg=float(np.degrees(shape.measure_along(shape.turning))), fore_deg=halves[0],
                      aft_deg=halves[1], added_mm=shape.measure_along(shape.find_stretch), run_mm=shape.axes.run_mm,
                      find_strain=find_strain if known else None, worst_strain=worst if known else 0.0,
                      strain_mm=shape.measure_along(find_strain) if known else 0.0, advice=advice,
                      is_wound=fair.twist is not None)


_BEYOND_MM = 5.0          # the middle line is extended past the outermost corner by a little more than this


@dataclass(frozen=True, eq=False, repr=False)
class BoardAxes:
    """The plank's ribbon, its width along it, and where its run begins and ends along the baseline, mm."""

    ribbon: Ribbon
    widths: Curve
    first_mm: float
    last_mm: float
    run_mm: float

    def find_width_mm(self, x: Values) -> Values:
        """Drawn width square to the run at x (n,)."""
        return self.widths.evaluate((np.asarray(x, float) - self.ribbon.first_mm) / self.ribbon.step_mm)[:, 1]


def lay_axes(plank: Plank) -> BoardAxes:
    """Axes along the line midway between the long edges.

    Raises
    ------
    PatternError
        If an edge turns back on itself, or the edges cross.
    """
    start, along, _ = plank.find_axes()
    points = np.vstack([curve.flatten() for curve in plank.outline()])
    x = (points - start) @ along
    upper, lower = plank.edges["upper"].curve, plank.edges["lower"].curve
    # x of a point off the bent middle line may be a little beyond its distance along the baseline
    more = _BEYOND_MM + 0.5 * float(np.ptp((points - start) @ np.array([-along[1], along[0]])))
    try:
        ribbon = lay_ribbon(upper, lower, start=start, along=along,
                            reach=(float(x.min()) - more, float(x.max()) + more))
        ends = np.stack([plank.find_baseline()[k] for k in (0, 1)])
        first, last = (float(v) for v in ribbon.read(ends)[0])
        ribbon.read(points)
    except ValueError as error:
        raise PatternError("The plank has no middle line: %s." % error, "Fair it with a longer shortest wave.",
                           tuple(map(float, start))) from None
    wide = np.abs(ribbon.measure_offsets(upper) - ribbon.measure_offsets(lower))
    nodes = ribbon.nodes_mm
    widths = Curve(hermite_to_cubics(np.stack([nodes, wide], 1),
                                     np.stack([np.ones(len(nodes)), np.gradient(wide, nodes)], 1), nodes))
    return BoardAxes(ribbon, widths, first_mm=first, last_mm=last, run_mm=ribbon.measure_length_mm(first, last))


@dataclass(frozen=True, eq=False, repr=False)
class PlankShape:
    """A plank bent to its frames: all that is needed to compute its section anywhere along it.

    readings : FairReadings. turning : callable, rad per mm of pattern along the run at x. pattern_mm : thickness of the
    pattern. wrapped : whether its widths are girths.
    """

    axes: BoardAxes
    readings: FairReadings
    thickness_mm: float
    outboard: bool
    pattern_mm: float
    wrapped: bool
    turning: Callable[..., Any]
    seams_rad: Mapping[str, float]

    def find_curvature(self, x: Values) -> Values:
        """Curvature of the frame across the plank at x (n,), 1/mm."""
        line = self.readings.curvature
        return np.zeros(np.shape(x)) if line is None else line.evaluate(x)

    def find_chord_mm(self, x: Values, width_mm: Values) -> Values:
        """Straight width of the drawn face where the width on the pattern is width_mm."""
        if not self.wrapped:
            return np.asarray(width_mm, float) + 0.0 * np.asarray(x, float)
        k = self.find_curvature(x)
        return find_chord_mm(width_mm, k / (1 + k * self.thickness_mm) if self.outboard else k,
                             pattern_mm=self.pattern_mm)

    def shape(self, x: Values, width_mm: Values | None = None, *, chord_mm: Values | None = None,
              missed: Sequence[Any] = ()) -> SectionShape:
        """SectionShape at x (n,), for the width square to the run unless another width is given, on the pattern or
        straight on the board. Edges in `missed` get square bevels."""
        x = np.asarray(x, float)
        chord = self.find_chord_mm(x, self.axes.find_width_mm(x) if width_mm is None
                                   else width_mm) if chord_mm is None else np.asarray(chord_mm, float)
        bevels = {}
        for edge in EDGES:
            line = self.readings.bevels[edge]
            # without bevels edges are radial, which on flat frames is square
            bevels[edge] = np.zeros(x.shape) if edge in missed else None if line is None else line.evaluate(x)
        seams = {edge: 0.0 if edge in missed else seam for edge, seam in self.seams_rad.items()}
        make = shape_from_outside if self.outboard else shape_section
        return make(self.find_curvature(x), chord, self.thickness_mm, bevels_rad=bevels, seams_rad=seams)

    def find_stretch(self, x: Values) -> Values:
        """Relative difference in length of the board's middle line to the pattern's at x (n,)."""
        t, p = self.thickness_mm, self.pattern_mm
        return np.asarray(self.turning(x), float) * (-(t + p) / 2 if self.outboard else (t - p) / 2)

    def place_across(self, x: Values, v: Values) -> Values:
        """Offset on the board of a place of the pattern that is v off the middle line: places on the frame's arc are
        projected to the straight width."""
        return self.find_chord_mm(x, 2 * np.asarray(v, float)) / 2

    def list_places(self, *, step_mm: float = 25.0) -> Values:
        """Places along the run, for checks and largest values."""
        count = max(int(np.ceil((self.axes.last_mm - self.axes.first_mm) / step_mm)), 2)
        return np.linspace(self.axes.first_mm, self.axes.last_mm, count + 1)

    def measure_along(self, function: Callable[..., Any], first_mm: float | None = None,
                      last_mm: float | None = None) -> float:
        """Integral along the run, or a part of it, of function(x) for each mm of pattern, by Simpson's rule."""
        first, last = (self.axes.first_mm if first_mm is None else first_mm,
                       self.axes.last_mm if last_mm is None else last_mm)
        count = 2 * max(int(np.ceil((last - first) / 10.0)), 2)
        x = np.linspace(first, last, count + 1)
        values = np.asarray(function(x), float) * self.axes.ribbon.find_frames(x)[2]
        weights = np.where(np.arange(count + 1) % 2, 4.0, 2.0)
        weights[[0, -1]] = 1.0
        return float(weights @ values * (x[1] - x[0]) / 3)


def lay_faces(
        plank: Plank, shape: PlankShape, *,
        end_bevels_rad: Mapping[str, float]) -> tuple[tuple[Curve, ...], tuple[Curve, ...], Callable[[Points], Points]]:
    """The two faces on the flat board.

    Parameters
    ----------
    plank : Plank
    shape : PlankShape
    end_bevels_rad : dict
        'fore' and 'aft': from square, > 0 where the outside is longer.

    Returns
    -------
    drawn_face, other_face : tuple of Curve
        In the order of Plank.outline.
    carry : callable
        carry(points (n, 2)) on the drawn plank to places on the drawn face.

    Raises
    ------
    PatternError
    """
    ribbon, breaks = shape.axes.ribbon, shape.readings.list_breaks()
    places = shape.list_places()
    halves = shape.axes.find_width_mm(places) / 2
    moves = np.abs(shape.find_stretch(places)).max() > 0 or np.abs(
        shape.place_across(places, halves) - halves).max() > 0
    target = ribbon.stretch(shape.find_stretch,
                            about=(shape.axes.first_mm + shape.axes.last_mm) / 2) if moves else ribbon
    drawn = plank.outline()
    if moves:
        try:
            drawn = [carry_curve(curve, ribbon, target, across=shape.place_across, breaks=breaks) for curve in drawn]
        except ValueError as error:
            raise PatternError("The plank cannot be laid flat: %s." % error,
                               "Look at the readings: radius and bend change too fast along it.") from None
        # the ends meet except for rounding; make them meet exactly
        pieces = [np.array(c.cubics) for c in drawn]
        for k in range(4):
            pieces[k - 1][-1, 3] = pieces[k][0, 0]
        drawn = [Curve(c) for c in pieces]

    def carry(points):
        x, v = ribbon.read(points)
        return target.place(x, shape.place_across(x, v)) if moves else np.asarray(points, float)
    sense = -1.0 if shape.outboard else 1.0

    def find_growth(edge, curve):
        def distance(u):
            x = target.read(curve.evaluate(u))[0]
            return sense * shape.shape(x).growths_mm[edge]
        return distance

    def find_end(edge):
        return lambda u: np.full(np.shape(u), sense * shape.thickness_mm * np.tan(end_bevels_rad[edge]))
    distances = [find_growth("upper", drawn[0]), find_end("aft"), find_growth("lower", drawn[2]), find_end("fore")]
    try:
        cuts = [find_places_at(drawn[0], target, breaks), (), find_places_at(drawn[2], target, breaks), ()]
        other = offset_outline_varied(drawn, distances, breaks=cuts)
    except OffsetFailure as failure:
        raise PatternError("The other face cannot be laid out: %s." % failure.reason,
                           "Look at the bevels there, and at the ends'.", failure.point) from None
    return tuple(drawn), tuple(other), carry


def check_shape(shape: PlankShape) -> None:
    """Refuse a plank for which no section is possible somewhere between its frames.

    Raises
    ------
    PatternError
    """
    places = shape.list_places()
    fault = find_fault(shape.shape(places))
    if fault is not None:
        index, words = fault
        at = shape.axes.ribbon.evaluate(places[index:index + 1])[0]
        raise PatternError("Between the frames, %.0f mm from the fore end, the plank cannot be shaped: %s."
                           % (places[index], words),
                           "Read the frames on both sides again.", tuple(map(float, at)))
