"""Moisture in wood: how much a board swells or shrinks with it, its equilibrium in air, and what it should be when a
plank is hung.

Across the grain only: along it wood shrinks less than 0.1 to 0.2 percent from green to ovendry (USDA Wood Handbook,
chapter 4: from memory, not checked), so no length is ever corrected.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import SettingError

if TYPE_CHECKING:
    from .wood import Species

__all__ = [
    "AFLOAT_PERCENT",
    "CUTS",
    "LEAST_PERCENT",
    "LIVES",
    "MEAN_PERCENT",
    "MOST_PERCENT",
    "SATURATION_PERCENT",
    "TOPSIDE_PERCENTS",
    "Afloat",
    "MoistureAdvice",
    "Movement",
    "find_afloat",
    "find_equilibrium_percent",
    "find_movement_by_coefficient_mm",
    "find_movement_by_shrinkage_mm",
    "find_movement_mm",
    "judge_hanging_moisture",
]

CUTS = ("flat", "quarter")
SATURATION_PERCENT = 30.0
"""Above this wood does not swell: fibre saturation as the Wood Handbook's equations take it (FPL-GTR-190, p. 13-18)."""
AFLOAT_PERCENT = 28.0
"""Moisture assumed for planking under water. Fibre saturation lies between 25 and 30 percent in most woods (FPL R1424,
Shrinkage of Wood in Ship Construction, 1942), and a plank that is wet outside and dry inside does not pass it right
through; 28 is common practice, no source."""
TOPSIDE_PERCENTS = (15.0, 20.0)
"""Range of moisture assumed for planking above water; common practice, no source."""
LIVES = ("not said", "under water", "topside")
LEAST_PERCENT, MEAN_PERCENT, MOST_PERCENT = 12.0, 15.0, 18.0
"""Range of moisture for planking when it is hung: E.C. Peck, FPL R1606, Seasoning, Storage, and Handling of Ship
Planking and Decking (1945)."""
_LOW_PERCENT, _HIGH_PERCENT = 6.0, 14.0        # range in which the coefficients of Table 13-5 are valid
_HIGHEST_PERCENT = 200.0


@dataclass(frozen=True)
class Movement:
    """Change of a size, mm, positive where it grows; the equation of the Wood Handbook used, '13-2' or '13-3'; a
    sentence for a record."""

    movement_mm: float
    equation: str
    words: str


@dataclass(frozen=True)
class MoistureAdvice:
    """verdict 'low', 'ok' or 'high', and the reason; comes : the consequence of hanging it so, '' where it is fit."""

    verdict: str
    words: str
    comes: str = ""


@dataclass(frozen=True)
class Afloat:
    """The moisture assumed for a plank once the boat is afloat: percent, None where nobody has said; span, (least,
    most) percent where a middle value is taken, else (); a sentence for a sheet."""

    percent: float | None
    span: tuple[float, ...]
    words: str


def _check_percent(value, field):
    if not (math.isfinite(value) and 0 <= value <= _HIGHEST_PERCENT):
        raise SettingError("A moisture of %g %% cannot be." % value,
                           "Give 0 to %d percent of the ovendry weight." % _HIGHEST_PERCENT, field)
    return min(float(value), SATURATION_PERCENT)


def find_movement_by_coefficient_mm(size_mm: float, coefficient: float, *, start_percent: float,
                                    end_percent: float) -> float:
    """Change of a size by Equation 13-2, D C (end - start); holds within 6 to 14 percent (USDA Wood Handbook
    FPL-GTR-190, p. 13-18).
    """
    return size_mm * coefficient * (end_percent - start_percent)


def find_movement_by_shrinkage_mm(size_mm: float, shrinkage_percent: float, *, start_percent: float,
                                  end_percent: float) -> float:
    """Change of a size by Equation 13-3, D (end - start) / (30 100/S - 30 + start), S percent from green to ovendry;
    moistures above 30 count as 30.

    USDA Wood Handbook FPL-GTR-190, p. 13-18: the equation is from memory, not checked; that it uses S and is limited to
    30 was read there.
    """
    start, end = min(start_percent, SATURATION_PERCENT), min(end_percent, SATURATION_PERCENT)
    return size_mm * (end - start) / (SATURATION_PERCENT * 100 / shrinkage_percent - SATURATION_PERCENT + start)


def find_movement_mm(size_mm: float, species: Species, *, cut: str | None, start_percent: float,
                     end_percent: float) -> Movement:
    """How much a board's width changes with its moisture.

    Within 6 to 14 percent the coefficient of a domestic wood is used (Equation 13-2); beyond, and for imported woods
    and the user's own shrinkages, the shrinkage (Equation 13-3). Moistures above 30 percent count as 30.

    Parameters
    ----------
    size_mm : float
        Width at the start.
    species : Species
    cut : str
        'flat' (the face shows the rings' flat side: moves most) or 'quarter' (rings square to the face: about half as
        much).
    start_percent, end_percent : float
        0 to 200.

    Returns
    -------
    Movement

    Raises
    ------
    SettingError
    """
    if cut not in CUTS:
        raise SettingError("'%s' is not a cut of wood known here." % cut, "Use one of: %s." % ", ".join(CUTS), "Cut")
    if not (math.isfinite(size_mm) and size_mm >= 0):
        raise SettingError("A width of %g mm cannot move." % size_mm, "Give 0 or more.", "Width")
    start, end = _check_percent(start_percent, "Moisture at hanging"), _check_percent(end_percent, "Moisture afloat")
    coefficient = species.pick_coefficient(cut)
    inside = all(_LOW_PERCENT <= v <= _HIGH_PERCENT for v in (start, end))
    if coefficient and inside and not species.imported:
        moved, equation, source = find_movement_by_coefficient_mm(size_mm, coefficient, start_percent=start,
                                                                  end_percent=end), "13-2", species.coefficient_source
    else:
        moved, equation, source = find_movement_by_shrinkage_mm(size_mm, species.pick_shrinkage_percent(
            cut), start_percent=start, end_percent=end), "13-3", species.shrinkage_source
    words = ("%s, %s sawn, %g to %g %% moisture: Wood Handbook Equation %s; %s. An estimate by averages; single "
             "boards differ" % (species.name, cut, start, end, equation, source))
    return Movement(moved, equation, words)


def find_equilibrium_percent(temperature_c: float, humidity_percent: float) -> float:
    """Equilibrium moisture of wood in air: W. T. Simpson, FPL-RN-0268 (1998), after Hailwood and Horrobin (1946).

    Parameters
    ----------
    temperature_c : float
        -1 to 130.
    humidity_percent : float
        Relative, 0 to 100.

    Raises
    ------
    SettingError
    """
    if not -1 <= temperature_c <= 130:
        raise SettingError("A temperature of %g degrees C is outside the formula." % temperature_c,
                           "Give -1 to 130 degrees C.", "Temperature")
    if not 0 <= humidity_percent <= 100:
        raise SettingError("A relative humidity of %g %% cannot be." % humidity_percent, "Give 0 to 100.", "Humidity")
    t, h = float(temperature_c), humidity_percent / 100
    w = 349 + 1.29 * t + 0.0135 * t ** 2
    k = 0.805 + 0.000736 * t - 0.00000273 * t ** 2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t ** 2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t ** 2
    kh = k * h
    return 1800 / w * (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh ** 2) / (1 + k1 * kh + k1 * k2 * kh ** 2))


def find_afloat(lives: str, typed_percent: float | None = None) -> Afloat:
    """The moisture afloat that a plank is judged at. A typed number comes first; wet or dry is never assumed.

    Parameters
    ----------
    lives : one of LIVES
    typed_percent : float or None

    Returns
    -------
    Afloat

    Raises
    ------
    SettingError
    """
    if lives not in LIVES:
        raise SettingError("'%s' does not say where a plank lives." % lives, "Use one of: %s." % ", ".join(LIVES),
                           "This plank lives")
    middle = sum(TOPSIDE_PERCENTS) / 2
    common = "%g to %g %%, common practice, no source" % TOPSIDE_PERCENTS
    if typed_percent is not None:
        _check_percent(typed_percent, "Moisture afloat")
        where = {"not said": "not said is whether this plank lives under water or above",
                 "under water": "the plank lives under water",
                 "topside": "the plank lives above water"
                 + (", where planking commonly stays at %s" % common
                    if not TOPSIDE_PERCENTS[0] <= typed_percent <= TOPSIDE_PERCENTS[1] else "")}[lives]
        return Afloat(float(typed_percent), (), "%g %% afloat, as typed; %s." % (typed_percent, where))
    if lives == "under water":
        return Afloat(AFLOAT_PERCENT, (),
                      "the plank lives under water: %g %% afloat is taken, common practice, no source."
                      % AFLOAT_PERCENT)
    if lives == "topside":
        return Afloat(middle, TOPSIDE_PERCENTS,
                      "the plank lives above water: %g %% afloat is taken, the middle of %s." % (middle, common))
    return Afloat(None, (), "ask: is this plank under water or above? Movement afloat not judged.")


def judge_hanging_moisture(percent: float, *, lives: str = "not said") -> MoistureAdvice:
    """Whether planking at this moisture is fit to hang: 12 to 18 percent, on average 15 (FPL R1606, 1945); `lives`, one
    of LIVES, decides which consequence is stated.

    Returns
    -------
    MoistureAdvice

    Raises
    ------
    SettingError
    """
    _check_percent(percent, "Moisture at hanging")
    told = "FPL R1606 (1945) gives %d to %d %%, on average %d %%" % (LEAST_PERCENT, MOST_PERCENT, MEAN_PERCENT)
    if percent < LEAST_PERCENT:
        known = {"under water": "it will swell hard, crush seams and strain frames",
                 "topside": "above water it will swell to what planking there stays at, %g to %g %%" % TOPSIDE_PERCENTS}
        comes = known.get(lives, "under water it would swell hard, crush seams and strain frames, above water less; "
                                 "which it is was not said")
        return MoistureAdvice("low", "%g %% is too dry to hang: %s. %s" % (percent, comes, told), comes)
    if percent > MOST_PERCENT:
        comes = ("what dries before the boat is afloat opens its seams" if lives == "under water"
                 else "above water it will dry and open the seams")
        return MoistureAdvice("high", "%g %% is too wet to hang: %s. %s" % (percent, comes, told), comes)
    return MoistureAdvice("ok", "%g %% is fit to hang. %s" % (percent, told))
