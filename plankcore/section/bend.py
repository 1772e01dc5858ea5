"""What bending does to a board on its frames: how it turns along the pattern, its length, the strain of its edges."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..trade.bending import find_principal_curvature, judge_bend

__all__ = ["BendReport", "find_turning", "report_bend"]


@dataclass(frozen=True)
class BendReport:
    """What bending does to a board.

    known : whether a bend was given. turn_deg : in all, and of the fore and the aft half. added_mm : to the flat
    length. run_mm : of the pattern.
    find_strain : of the edges at x, or None. worst_strain, strain_mm : the largest along the plank, and in mm over its
    length. advice : BendAdvice or None. is_wound : whether the twist was given, so that advice is on bend and twist
    together.
    """

    known: bool
    turn_deg: float
    fore_deg: float
    aft_deg: float
    added_mm: float
    run_mm: float
    find_strain: object
    worst_strain: float
    strain_mm: float
    advice: object
    is_wound: bool = False


def find_turning(fair, axes, settings, *, beyond_mm):
    """Turning of the plank for each mm of pattern, as a function of the distance along the baseline; the pattern's own
    middle lies beyond_mm outside the inside face, where the bend is measured."""
    if settings.turn_deg:
        even = np.radians(settings.turn_deg) / axes.run_mm
        return lambda x: np.full(np.shape(x), even)
    if fair.bend is None:
        return lambda x: np.zeros(np.shape(x))

    def turning(x):
        bend = fair.bend.evaluate(x)
        return bend / (1 + bend * beyond_mm)
    return turning


def report_bend(shape, fair, settings):
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
        """K w^2 / 8: the edges of a flat board lie so much longer than those of the hull
        (a line beside a geodesic, K the Gaussian curvature: M. do Carmo, Differential Geometry of Curves and Surfaces;
        from memory, not checked)."""
        wide = shape.axes.find_width_mm(x) if width_mm is None else width_mm
        twist = 0.0 if fair.twist is None else fair.twist.evaluate(x)
        return (shape.find_curvature(x) * find_bend(x) - twist ** 2) * wide ** 2 / 8
    wound = np.zeros(len(places)) if fair.twist is None else fair.twist.evaluate(places)
    # the middle of the thickness keeps its length, and strain goes by that; bend and twist are read on the inside
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
