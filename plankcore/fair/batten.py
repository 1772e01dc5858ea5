"""The batten, as it would be sprung by hand: an edge held at nails, the force that each nail needs, and how far the
batten runs from the fair edge.

A thin batten that is held at points and runs free between them takes, where its slopes are small, the shape of the
natural cubic spline through them: of all curves through the points it has the least bending energy (J. Holladay, Math.
Tables Aids Comp. 11, 1957, 233; I. Schoenberg, Proc. Nat. Acad. Sci. 52, 1964, 947: both from memory, not checked).
Where it is held its third derivative jumps, and the shear with it: the force there is EI times that jump.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import PatternError, SettingError
from ..geometry.bezier import hermite_to_cubics
from ..geometry.curve import Curve
from ..geometry.interpolation import interpolate_cubic
from ..model.plank import Apart, Batten, Finding, Nail
from ..trade.wood import find_species
from .told import GivenEdge, KnuckledEdge
from .words import tell_batten

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..geometry.arrays import Values
    from ..model.plank import Mark, Tick
    from .fair import FairSettings
    from .from_trace import FairedEdge

__all__ = ["bend_battens", "find_stiffness", "hold_edge", "tell_battens"]

_PLACES = 201             # places where the bend is computed
_HAIR_MM = 1e-6
_FEWEST = 3               # through two nails a batten is straight and needs no force
_GPA = 1000.0             # N/mm2


def find_stiffness(thick_mm: float, wide_mm: float, wood: str) -> tuple[float, str]:
    """(EI of a batten in N mm2, where the wood's stiffness is from); (0, '') where no section is given.

    Parameters
    ----------
    thick_mm : float
        In the direction that it bends: I = wide thick^3 / 12.
    wide_mm : float
        Square to the surface that it is laid on.

    Raises
    ------
    SettingError
        If only part of it is given, or the wood's stiffness is not known here.
    """
    if not (thick_mm or wide_mm or wood.strip()):
        return 0.0, ""
    if not (thick_mm and wide_mm and wood.strip()):
        raise SettingError("Of the batten only part is given.",
                           "Give its thickness the way it bends, its width and its wood; or none of them.", "Batten")
    species = find_species(wood)
    if not species.elastic_gpa:
        raise SettingError("How stiff %s is, is not known here." % species.name,
                           "Name another wood, or leave the batten's section empty: forces are then told for an EI of "
                           "one.",
                           "Batten, wood")
    return (species.elastic_gpa * _GPA * wide_mm * thick_mm ** 3 / 12,
            "%s, %g GPa: %s" % (species.name, species.elastic_gpa, species.strength_source))


def bend_battens(faired: Mapping[str, FairedEdge], marks: Sequence[Mark], ticks: Sequence[Tick],
                 settings: FairSettings) -> tuple[Batten, ...]:
    """A batten through the nails of each edge that has any.

    Parameters
    ----------
    faired : dict of str to FairedEdge
        The edges as they were faired.
    marks : sequence of Mark
        The marks of edges known by marks, and the marks on drawn edges.
    ticks : sequence of Tick
        Frames of a drawn edge.
    settings : FairSettings

    Raises
    ------
    SettingError, PatternError
        If a nail is not at a mark, an edge has fewer than three nails, or the edge is not one that a batten is laid
        along.
    """
    stiffness, source = find_stiffness(settings.batten_thick_mm, settings.batten_wide_mm, settings.batten_wood)
    asked, battens = settings.list_nails(), []
    for name, edge in faired.items():
        mine = [m for m in marks if m.edge == name]
        missing = [s for s in asked.get(name, ()) if all(m.station != s for m in mine)]
        if missing:
            raise SettingError("The %s edge has no mark at frame %s to nail a batten at." % (name, missing[0]),
                               "Give frames that have a mark there, or label the mark itself: %s %s nail."
                               % (name, missing[0]), "Nails")
        nails = [m for m in mine if m.told == "nail" or m.station and m.station in asked.get(name, ())]
        if nails:
            battens.append(_bend(name, edge, nails, mine, ticks=ticks, stiffness=stiffness, source=source,
                                 outward=_find_outward(faired, name)))
    return tuple(battens)


def _find_outward(faired, name):
    """1 where the chart's direction `across` points outward from the wood, else -1."""
    edge = faired[name]
    other = faired[{"upper": "lower", "lower": "upper", "fore": "aft", "aft": "fore"}[name]]
    middle = edge.chart.place(np.array([(edge.low + edge.high) / 2]), np.array([0.0]))[0]
    return -1.0 if (np.mean(other.points, axis=0) - middle) @ edge.chart.across > 0 else 1.0


def _bend(name, edge, nails, mine, *, ticks, stiffness, source, outward):
    if isinstance(edge, (GivenEdge, KnuckledEdge)) or edge.knuckles:
        raise PatternError("The %s edge has nails, and a knuckle or a shape that is told: no batten is laid along it."
                           % name, "Take the nails off, or what was said of the edge.", nails[0].point)
    x, y = edge.chart.read(np.array([m.point for m in nails]))
    order = np.argsort(x)
    nails, x, y = [nails[k] for k in order], x[order], y[order]
    if len(x) < _FEWEST or np.diff(x).min() < 1.0:
        raise PatternError("The %s edge has %d nails%s; a batten needs three at places of their own." % (
            name, len(x), "" if len(x) < _FEWEST else ", two of them at one place"),
                           "Nail it at more marks.", nails[0].point)
    third = interpolate_cubic(x, y, (x[:-1] + x[1:]) / 2, ends="natural", derivative=3)
    # positive where the nail pushes outward
    jumps = outward * np.diff(np.concatenate([[0.0], third, [0.0]]))
    low, high = min(edge.low, float(x[0])), max(edge.high, float(x[-1]))
    knots = np.concatenate([[low] if low < x[0] - _HAIR_MM else [], x, [high] if high > x[-1] + _HAIR_MM else []])
    curve = Curve(hermite_to_cubics(edge.chart.place(knots, _read(x, y, knots)),
                                    np.outer(np.ones(len(knots)), edge.chart.along)
                                    + np.outer(_read(x, y, knots, 1), edge.chart.across), knots))
    at = np.linspace(low, high, _PLACES)
    both = [outward * f for f in (_read(x, y, at, 2), np.gradient(np.gradient(edge.function(at, 0), at), at))]
    places = [(m.station or "%d" % (k + 1), m.point) for k, m in enumerate(mine)] + [
        ("", t.foot) for t in ticks if t.edge == name]
    frames = edge.chart.read(np.array([p for _, p in places]))[0]
    off = outward * (_read(x, y, frames) - edge.function(frames, 0))
    return Batten(name, curve,
                  tuple(Nail(m.station, m.point, float(j), float(j * stiffness) if stiffness else None)
                        for m, j in zip(nails, jumps)),
                  apart=tuple(Apart(label, tuple(map(float, edge.chart.place(frames[k:k + 1], edge.function(
                      frames[k:k + 1], 0))[0])), float(off[k]), float(frames[k] - low))
                              for k, (label, _) in enumerate(places)),
                  bends=np.column_stack([at - low, *both]), stiffness_nmm2=stiffness, source=source)


def _read(x, y, at, derivative=0):
    """The spline through the nails, or a derivative of it; beyond the outermost nails it is straight, as a batten is.
    """
    at = np.asarray(at, float)
    inside = np.clip(at, x[0], x[-1])
    if derivative == 0:
        return interpolate_cubic(x, y, inside, ends="natural") + (at - inside) * interpolate_cubic(
            x, y, inside, ends="natural", derivative=1)
    value = interpolate_cubic(x, y, inside, ends="natural", derivative=derivative)
    return value if derivative == 1 else np.where((at < x[0]) | (at > x[-1]), 0.0, value)


def tell_battens(battens: Sequence[Batten], settings: FairSettings) -> list[Finding]:
    """A Finding for each batten: the greatest force, where, and the farthest that it runs from the fair edge."""
    found = []
    for batten in battens:
        most = max(batten.apart, key=lambda one: abs(one.apart_mm))
        hardest = max(batten.nails, key=lambda nail: abs(nail.jump_per_mm2))
        found.append(Finding(tell_batten(batten, hardest, most, is_edge=settings.batten == "edge"), None, "batten",
                             number=most.apart_mm, unit="mm", verdict="", edge=batten.edge, station=most.station))
    return found


def hold_edge(edge: FairedEdge, batten: Batten) -> FairedEdge:
    """The edge with the batten's shape in place of its own.

    Its standard error combines the fair edge's own error e and the distance d of the batten from it: an estimate moved
    away by d from the best one has the error sqrt(e^2 + d^2).
    """
    x, y = edge.chart.read(np.array([n.point for n in batten.nails]))

    def function(at, derivative):
        return _read(x, y, at, derivative)

    def measure_error(at: Values) -> Values:
        return np.hypot(edge.measure_error(at), function(at, 0) - edge.function(at, 0))
    fields = {k: v for k, v in vars(edge).items() if k not in ("function", "measure_error")}
    held = GivenEdge(**fields, function=function, measure_error=measure_error, given=batten.curve)
    return replace(held, degrees_of_freedom=float(len(x)), straight=False)
