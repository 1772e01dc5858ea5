"""How far a plank swells between hanging and floating, what that does to its seams, and whether it was fit to hang."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.outward import measure_aside_mm
from ..model.drawing import Fact
from ..model.plank import Finding
from ..model.typed import refuse_outside
from ..trade.moisture import LIVES, MEAN_PERCENT, find_afloat, find_movement_mm, judge_hanging_moisture
from ..trade.wood import find_species
from . import words

if TYPE_CHECKING:
    from typing import Any, Callable

    from ..model.board import Seam

__all__ = ["LIVES", "Swelling", "SwellingSettings", "find_swelling", "make_room"]

MOST_STRAKES = 100
MOST_GIRTH_MM = 30_000.0


@dataclass(frozen=True)
class SwellingSettings:
    """Settings for a plank's swelling.

    species : if it is '' and no shrinkage is given, swelling is left out altogether.
    cut : 'flat' or 'quarter'. hanging_percent, afloat_percent : moisture when hung, and once the boat has been afloat
    for long; with afloat_percent None it follows from `lives`.
    strakes, girth_mm : of one side, 0 where not known. room : whether the swelling is left off the width.
    tangential_percent, radial_percent : shrinkage known to the user, else 0. Where both are given they replace those of
    the species, which is then only a name.
    lives : one of LIVES. With 'not said' and no afloat_percent no movement is judged, and the result asks for one of
    them.
    """

    species: str = ""
    cut: str = "flat"
    hanging_percent: float = MEAN_PERCENT
    afloat_percent: float | None = None
    strakes: int = 0
    girth_mm: float = 0.0
    room: bool = False
    tangential_percent: float = 0.0
    radial_percent: float = 0.0
    lives: str = LIVES[0]

    @property
    def asked(self) -> bool:
        """Whether a wood is given, by name or by its shrinkage."""
        return bool(str(self.species).strip()) or self.tangential_percent != 0 or self.radial_percent != 0


@dataclass(frozen=True)
class Swelling:
    """share : change of a width as a fraction of it, positive where it grows. widest_mm, movement_mm : the plank at its
    widest and how far it moves there.
    seam_mm : movement at each seam, with neighbours of the same width; side_mm : over one whole side, None where it is
    not known.
    All of them are None where nobody has said whether the plank lives wet or dry. afloat_percent : what it is judged
    by, or None.
    facts, findings : what the sheet says of it, and doubts."""

    share: float | None
    widest_mm: float
    movement_mm: float | None
    seam_mm: float | None
    side_mm: float | None
    facts: tuple[Any, ...]
    findings: tuple[Finding, ...]
    afloat_percent: float | None = None


def find_swelling(settings: SwellingSettings, *, widest_mm: float, seam: Seam | None = None) -> Swelling | None:
    """What a plank does when it takes up water, or dries.

    Parameters
    ----------
    settings : SwellingSettings
    widest_mm : float
        The plank's greatest width.
    seam : Seam, optional
        The seam that was planed, to judge whether it closes.

    Returns
    -------
    Swelling or None
        None where no wood is given.

    Raises
    ------
    SettingError
        For an unknown wood, an impossible moisture, or room for swelling in a plank without a wood, or one that would
        shrink, or one of which nobody has said whether it is wet or dry.
    """
    _refuse_side(settings)
    afloat = find_afloat(settings.lives, settings.afloat_percent)
    if not settings.asked:
        if settings.room:
            raise SettingError("Room for swelling is asked, and no wood is given.",
                               "Name the species, or leave no room.", "Species")
        return None
    wood = _find_wood(settings)
    advice = judge_hanging_moisture(settings.hanging_percent, lives=settings.lives)
    findings = () if advice.verdict == "ok" else (
        Finding(words.warn_of_moisture(advice.verdict, settings.hanging_percent), None, "moisture-when-hung",
                number=settings.hanging_percent, unit="percent"),)
    hung = Fact("moisture-when-hung", words.tell_hanging(advice),
                verdict="holds" if advice.verdict == "ok" else "doubt", number=settings.hanging_percent, unit="percent",
                source="E. C. Peck, FPL R1606 (1945)", about=advice.verdict)

    def move(percent):
        return find_movement_mm(1.0, wood, cut=settings.cut, start_percent=settings.hanging_percent,
                                end_percent=percent)
    if afloat.percent is None:
        if settings.room:
            raise SettingError(
                "Room for swelling is asked, and nobody has said whether this plank lives under water or above.",
                "Say which, or type its moisture afloat, or leave no room.", "This plank lives")
        move(settings.hanging_percent)       # called only so that an unknown cut is refused here too
        asked = Fact("swelling", words.tell_not_judged(
            afloat, seam_waits=seam is not None and seam.gap_mm > 0,
            side_waits=bool(settings.strakes or settings.girth_mm)), verdict="not judged")
        return Swelling(None, float(widest_mm), movement_mm=None, seam_mm=None, side_mm=None, facts=(asked, hung),
                        findings=findings)
    movement = move(afloat.percent)
    share, moved = movement.movement_mm, movement.movement_mm * widest_mm
    if settings.room and share <= 0:
        raise SettingError("From %g to %g %% moisture this plank shrinks: there is no swelling to leave room for."
                           % (settings.hanging_percent, afloat.percent),
                           "Mend the two moistures, or leave no room.", "Leave room for swelling")
    ends = [(percent, move(percent).movement_mm) for percent in afloat.span]
    each, side, facts = _tell_afloat(settings, movement, widest_mm=widest_mm, afloat=afloat, ends=ends, seam=seam)
    return Swelling(share, float(widest_mm), movement_mm=moved, seam_mm=each, side_mm=side, facts=(*facts, hung),
                    findings=findings, afloat_percent=afloat.percent)


def _refuse_side(settings):
    refuse_outside(settings.strakes, 0, MOST_STRAKES, problem="There cannot be %g strakes on a side.",
                   remedy="Give a whole number from 1 to %d, or 0 where it is not known." % MOST_STRAKES,
                   field="Strakes on the side", whole=True)
    refuse_outside(settings.girth_mm, 0, MOST_GIRTH_MM, problem="A girth of %g mm cannot be used.",
                   remedy="Give the planked girth of one side, or 0 where it is not known.", field="Girth of the side")


def _find_wood(settings):
    """The Species, with its own shrinkage where one is typed."""
    own = settings.tangential_percent != 0 or settings.radial_percent != 0
    return find_species(str(settings.species).strip() or "own wood",
                        tangential_percent=settings.tangential_percent if own else None,
                        radial_percent=settings.radial_percent if own else None)


def _tell_afloat(settings, movement, *, widest_mm, afloat, ends, seam):
    """(movement at each seam, over the whole side or None where that is not known, both mm, and their Facts). ends :
    (percent, movement of a width of one) at both ends of the range of moisture afloat."""
    share, moved = movement.movement_mm, movement.movement_mm * widest_mm
    by_girth = bool(settings.girth_mm and settings.strakes)
    mean_mm = settings.girth_mm / settings.strakes if by_girth else widest_mm
    side = share * settings.girth_mm if settings.girth_mm else moved * settings.strakes if settings.strakes else None
    each = share * mean_mm
    facts = [Fact("swelling", words.tell_movement(moved, widest_mm, movement), number=moved, unit="mm",
                  source="USDA Wood Handbook, equation %s" % movement.equation),
             Fact("moisture-afloat", words.tell_afloat(afloat, [there * widest_mm for _, there in ends]),
                  number=afloat.percent, unit="percent", about=settings.lives),
             Fact("swelling-at-seam",
                  words.tell_share_of_seam(each, side, by_mean_strake=by_girth, by_girth=bool(settings.girth_mm),
                                           strakes=settings.strakes), number=each, unit="mm")]
    if settings.room:
        facts.append(Fact("left-off", words.tell_left_off(moved / 2), number=moved / 2, unit="mm"))
    if seam is not None and seam.gap_mm > 0:
        # each of two neighbouring planks leaves half of the room at its edge, so that every seam gets the whole
        gap = seam.gap_mm + (moved if settings.room else 0.0)
        facts += [Fact("seam-afloat", words.tell_seam(gap, there * mean_mm, percent=percent), number=there * mean_mm,
                       unit="mm", limit=gap, about="%g percent" % percent)
                  for percent, there in ends] or [Fact("seam-afloat", words.tell_seam(gap, each), number=each,
                                                       unit="mm", limit=gap)]
    return each, side, facts


def make_room(share: float, width_mm: float) -> Callable[..., Any]:
    """A function of places on a long edge: how many mm to leave off there, which is half of the plank's movement over
    its width at that place.

    Parameters
    ----------
    share : float
        Movement of a width of one.
    width_mm : float
        The greatest width, for how far to look for the opposite edge.

    Returns
    -------
    callable
        room(curve, chain, u): mm (n,) at places u (n,) of a long edge of a closed chain in the order of Plank.outline.
    """
    def room(curve, chain, u):
        facing = (chain[2] if curve is chain[0] else chain[0]).extend(3 * width_mm)
        wide = np.abs(measure_aside_mm(curve, facing, u)[0])
        known = np.isfinite(wide)
        if not known.any():
            return np.full(len(wide), share * width_mm / 2)
        # near a raked end there is no edge opposite: use the nearest width that could be measured
        return share / 2 * np.interp(u, np.asarray(u)[known], wide[known])
    return room
