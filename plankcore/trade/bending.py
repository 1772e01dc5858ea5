"""Whether a plank can be bent cold: strain at its face compared with what wood bears. Guides, not guarantees."""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import SettingError
from .wood import find_species

if TYPE_CHECKING:
    from typing import Any

    from .wood import Species

__all__ = ["BendAdvice", "find_edge_stiffness", "find_principal_curvature", "find_strain", "judge_bend"]

_COLD, _STEAM = 3.0, 2.0
"""In nominal breaking radii: cold at three or more, steam below two; doubtful between. Derived from strength and
stiffness of clear wood; the factors are practice, no source, for knots, slope of grain and the spread from tree to
tree."""
# radius over thickness at nominal breaking, E / 2f, for the wood in the table that is stiffest for its strength,
# Douglas-fir: 13.4 GPa, 85 MPa
_STIFFEST = 13400 / (2 * 85)
# least radius steamed without a strap, 25 mm stock, over thickness: W. C. Stevens and N. Turner; E. C. Peck, Bending
# Solid Wood to Form:
# from memory, not checked, low confidence
_STEAMED = {"white ash": 12.0, "iroko": 18.0, "Douglas-fir, coast": 34.0, "true mahogany": 34.0}


@dataclass(frozen=True)
class BendAdvice:
    """Strain at the face as a fraction; radius over thickness (inf where straight); verdict 'cold', 'doubtful' or
    'steam'; a sentence."""

    strain: float
    radius_by_thickness: float
    verdict: str
    words: str


def find_strain(thickness_mm: float, radius_mm: float) -> float:
    """Strain at the face of a plank bent to a radius to its middle, as a fraction: t / 2R."""
    return thickness_mm / (2 * abs(radius_mm))


def find_edge_stiffness(width_mm: float, thickness_mm: float) -> float:
    """How many times stiffer a plank is edgewise than flatwise: (w/t)^2. It can be bent and twisted, but not forced
    sideways."""
    return (width_mm / thickness_mm) ** 2


def find_principal_curvature(bend_per_mm: Any, twist_rad_per_mm: Any, *, outward_mm: float = 0.0) -> Any:
    """The larger principal curvature, 1/mm, of a flat board that is bent by k and twisted by t: (|k| + sqrt(k^2 + 4
    t^2)) / 2.

    outward_mm : distance of the surface outside the one where bend and twist were read; each principal radius is longer
    by that.

    Of the second fundamental form [[k, t], [t, 0]]: its greater eigenvalue (M. do Carmo, Differential Geometry of
    Curves and Surfaces; from memory, not checked).
    Roundness across is planed, not bent, so it does not count. That limits for bending along the grain also hold at an
    angle to it is common practice, no source.
    """
    root = (bend_per_mm ** 2 + 4 * twist_rad_per_mm ** 2) ** 0.5
    one, other = (abs(way / (1 + way * outward_mm)) for way in ((bend_per_mm + root) / 2, (bend_per_mm - root) / 2))
    return (one + other + abs(one - other)) / 2                     # the maximum, also for arrays


def judge_bend(thickness_mm: float, radius_mm: float, *, species: Species | str = "") -> BendAdvice:
    """Cold, doubtful or steam, for a plank at its sharpest bend.

    Parameters
    ----------
    thickness_mm : float
    radius_mm : float
        Of the bend along the plank, to the middle of its thickness, either sign; inf is straight.
    species : str or Species
        '' when not known: then judged as the stiffest wood for its strength.

    Returns
    -------
    BendAdvice

    Raises
    ------
    SettingError
        For an invalid thickness or radius, or an unknown species.
    """
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise SettingError("A thickness of %g mm cannot be bent." % thickness_mm, "Give the plank's thickness.",
                           "Thickness")
    if math.isnan(radius_mm) or radius_mm == 0:
        raise SettingError("A radius of %g mm cannot be." % radius_mm,
                           "Give the radius of the bend; without a bend, none.", "Bend")
    if isinstance(species, str):
        wood = find_species(species) if species.strip() else None
    else:
        wood = species
    radius = abs(radius_mm)
    if math.isinf(radius):
        return BendAdvice(0.0, math.inf, "cold", "The plank lies straight.")
    ratio = radius / thickness_mm
    breaks = _STIFFEST
    if wood is not None and wood.rupture_mpa and wood.elastic_gpa:
        breaks = 1000 * wood.elastic_gpa / (2 * wood.rupture_mpa)
    verdict = "cold" if ratio >= _COLD * breaks else "steam" if ratio < _STEAM * breaks else "doubtful"
    if wood is not None and wood.rupture_mpa and wood.elastic_gpa:
        about = "%s breaks nominally at %.0f times (%s)" % (wood.name, breaks, wood.strength_source)
    else:
        about = ("%s; judged as the stiffest in the table, which breaks nominally at %.0f times "
                 "(Douglas-fir, from memory, not checked)"
                 % ("no strength is known here for %s" % wood.name if wood else "the wood is not given", breaks))
    what = {"cold": "bends cold", "doubtful": "is doubtful cold: try it, or steam it", "steam": "needs steam"}[verdict]
    words = ["A radius of %.0f mm to its middle is %.0f times the thickness of %g mm (%.2f %% strain): it %s."
             % (radius, ratio, thickness_mm, 100 * thickness_mm / (2 * radius), what),
             about[0].upper() + about[1:] + ". A guide with a factor of %d to %d; grain, knots and moisture decide."
             % (_STEAM, _COLD)]
    least = _STEAMED.get(wood.name) if wood else None
    if verdict == "steam" and wood and least and ratio < least:
        words.append("Even steamed and without a strap, %s is told to stand %.0f times (from memory, low "
                     "confidence): laminate it, or use thinner stock." % (wood.name, least))
    return BendAdvice(find_strain(thickness_mm, radius), ratio, verdict, " ".join(words))
