"""Every sentence of Allowances: what the saw line includes, what is planed off where, and what swelling does."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..units import format_mm

if TYPE_CHECKING:
    from typing import Any, Sequence

    from ..trade.moisture import Afloat, MoistureAdvice, Movement
    from .saw_line import LeftOff, Planing

__all__ = [
    "tell_afloat",
    "tell_counted",
    "tell_hanging",
    "tell_left_off",
    "tell_movement",
    "tell_not_judged",
    "tell_place",
    "tell_planing",
    "tell_room",
    "tell_room_inside",
    "tell_saw_line",
    "tell_seam",
    "tell_share_of_seam",
    "warn_of_moisture",
    "warn_of_room",
]

_COUNTED_AS = {"bend": "LENGTH IN BENDING"}
_MOST_CHANGES = 4         # at most this many changes of face are listed for one edge


def _spell(value_mm):
    """'+5.6 MM', '-0.4 MM'."""
    text = format_mm(value_mm).upper()
    return text if text.startswith("-") or text == "0 MM" else "+" + text


def tell_place(distance_mm: float, stations: Sequence[tuple[str, float]]) -> str:
    """'AT STATION 12', 'BETWEEN STATIONS 11 AND 12', 'FORWARD OF STATION 7'; where no station is known, how far from
    the fore end.

    Parameters
    ----------
    distance_mm : float
        Along the baseline from the fore end.
    stations : list of (label, distance_mm)
        From the fore end aft, as outline.list_stations gives them.
    """
    if not stations:
        return "%.0f MM FROM THE FORE END" % distance_mm
    away = [d for _, d in stations]
    steps = np.diff(away)
    near = int(np.argmin(np.abs(np.array(away) - distance_mm)))
    if abs(away[near] - distance_mm) <= (0.15 * float(np.min(steps)) if len(steps) else 10.0):
        return "AT STATION %s" % stations[near][0]
    after = int(np.searchsorted(away, distance_mm))
    if after == 0:
        return "FORWARD OF STATION %s" % stations[0][0]
    if after == len(stations):
        return "AFT OF STATION %s" % stations[-1][0]
    return "BETWEEN STATIONS %s AND %s" % (stations[after - 1][0], stations[after][0])


def tell_saw_line(includes: Sequence[str], *, on_board: bool) -> str:
    """What the line is: of the drawn face alone, or square through a board; with the bevels still to plane."""
    if not on_board:
        return "SAW LINE OF THE DRAWN FACE ALONE, AS IF EVERY EDGE WERE SQUARE."
    lies = ("ROOM FOR SWELLING TAKEN OFF BOTH FACES, THE ALLOWANCE OUTSIDE WHAT IS LEFT" if "swelling" in includes
            else "OUTSIDE BOTH FACES")
    return "SAW LINE SQUARE THROUGH THE BOARD, %s. PLANE TO THE BEVELS AFTER SAWING." % lies


def tell_counted(includes: Sequence[str], missing: Sequence[str]) -> str:
    """What the line includes besides the allowances, and what it leaves out."""
    def spell(words):
        return ", ".join(_COUNTED_AS.get(w, w.upper()) for w in words)
    counted = "COUNTED: WOOD FOR SAW AND ENDS%s." % (", " + spell(includes) if includes else "")
    return counted + (" NOT COUNTED: %s." % spell(missing) if missing else "")


def tell_room(left_off: Sequence[LeftOff], stations: Sequence[tuple[str, float]], *, on_board: bool) -> str:
    """How far the line to plane to differs from the line that is drawn."""
    face = "FACES" if on_board else "FACE"
    room = "; ".join("%s EDGE UP TO %s, MOST %s" % (
        one.edge.upper(), format_mm(one.most_mm).upper(), tell_place(one.along_mm, stations)) for one in left_off)
    return ("ROOM FOR SWELLING LEFT OFF: %s. THE %s %s DRAWN WITHOUT IT: PLANE THE EDGES THAT MUCH INSIDE %s."
            % (room, face, "ARE" if on_board else "IS", "THEM" if on_board else "IT"))


def tell_room_inside(left_off: Sequence[LeftOff], stations: Sequence[tuple[str, float]], *, on_board: bool,
                     seen_mm: float) -> str:
    """Where the saw runs by the drawn line: inside it, by more than seen_mm, or how far outside it stays."""
    line = "THE DRAWN FACES" if on_board else "THE DRAWN FACE"
    inside = ["%s EDGE UP TO %s INSIDE, MOST %s" % (
        one.edge.upper(), format_mm(one.inside_mm).upper(), tell_place(one.along_mm, stations))
        for one in left_off if one.inside_mm > seen_mm]
    if inside:
        return ("THE SAW LINE RUNS INSIDE %s BY WHAT THE ROOM IS MORE THAN THE ALLOWANCE: %s. IT IS MEANT."
                % (line, "; ".join(inside)))
    return "THE SAW LINE STAYS OUTSIDE %s: %s AT LEAST." % (
        line, "; ".join("%s EDGE %s" % (one.edge.upper(), format_mm(max(-one.inside_mm, 0.0)).upper())
                        for one in left_off))


def warn_of_room(one: LeftOff, stations: Sequence[tuple[str, float]], *, seen_mm: float, clear_mm: float) -> str:
    """The saw takes the drawn line away at an edge, or comes very near it: what to do about it."""
    if one.inside_mm > seen_mm:
        lies = "%s inside the drawn edge" % format_mm(one.inside_mm)
    elif -one.inside_mm <= seen_mm:
        lies = "along the drawn edge"
    else:
        lies = "only %s outside the drawn edge" % format_mm(-one.inside_mm)
    return ("WARN: %s edge: with room for swelling the saw runs %s (%s): nothing is left there to plane to the drawn "
            "line, and %s to the line that is meant. Mark that line anew, %s inside, or allow %s."
            % (one.edge, lies, tell_place(one.along_mm, stations).lower(), format_mm(one.added_mm),
               format_mm(one.most_mm), format_mm(one.most_mm + clear_mm)))


def tell_planing(planing: Planing, stations: Sequence[Any], *, seen_mm: float) -> str:
    """What comes off one edge once the board is sawn, from which face, and where it changes face.

    Parameters
    ----------
    planing : outline.Planing
    stations : list of (label, distance_mm)
    seen_mm : float
        Smaller differences are ignored.
    """
    title = "%s %s: " % (planing.edge.upper(), "EDGE" if planing.is_long else "END")
    parts = []
    for cut in sorted(planing.cuts, key=lambda c: c.most_mm, reverse=True):
        even = cut.most_mm - cut.least_mm < seen_mm
        amount = format_mm(cut.most_mm).upper()
        if even:
            amount += " ALL ALONG"
        elif cut.least_mm < seen_mm:
            amount = "UP TO " + amount
        else:
            amount = "%s TO %s" % (format_mm(cut.least_mm).upper()[:-len(" MM")], amount)
        where = ", MOST %s" % tell_place(cut.along_mm, stations) if planing.is_long and not even else ""
        parts.append("%s OFF THE %s FACE%s" % (amount, cut.face, where))
    if not parts:
        return title + "SQUARE, NOTHING TO PLANE BUT THE ALLOWANCE."
    text = title + "; ".join(parts) + "."
    if planing.changes_mm and planing.is_long:
        text += " IT CHANGES FACE %s." % ", ".join(tell_place(x, stations)
                                                   for x in planing.changes_mm[:_MOST_CHANGES])
    elif planing.changes_mm:
        text += " IT CHANGES FACE ALONG THE END."
    return text


def tell_not_judged(afloat: Afloat, *, seam_waits: bool, side_waits: bool) -> str:
    """That swelling is not judged, which question is open, and which settings could not be used because of it."""
    waits = (["WHETHER THE SEAM CLOSES"] if seam_waits else []) + (
        ["THE SIDE, BY THE STRAKES OR GIRTH GIVEN"] if side_waits else [])
    return "SWELLING: %s%s" % (afloat.words.upper(), " NOR %s." % ", NOR ".join(waits) if waits else "")


def tell_movement(moved_mm: float, widest_mm: float, movement: Movement) -> str:
    """How far the greatest width moves where nothing holds it."""
    return ("SWELLING, FREE (IN THE HULL THE NEIGHBOURS HOLD IT), AN ESTIMATE BY AVERAGES: %s ON THE GREATEST WIDTH "
            "OF %s. %s." % (_spell(moved_mm), format_mm(widest_mm).upper(), movement.words.split(". ")[0].upper()))


def tell_afloat(afloat: Afloat, ends_mm: Sequence[float]) -> str:
    """The moisture assumed afloat; ends_mm : movement at both ends of its range, or ()."""
    text = "MOISTURE AFLOAT: " + afloat.words.upper()
    if ends_mm:
        text += " OVER THAT RANGE THE PLANK MOVES BY %s TO %s." % tuple(map(_spell, ends_mm))
    return text


def tell_share_of_seam(each_mm: float, side_mm: float | None, *, by_mean_strake: bool, by_girth: bool,
                       strakes: int) -> str:
    """Movement at each seam, and over the whole side where that is known."""
    side = "." if side_mm is None else "; OVER THE SIDE %s BY %s." % (
        _spell(side_mm), "ITS GIRTH" if by_girth else "%d STRAKES LIKE IT" % strakes)
    return "AT EACH SEAM %s, %s%s" % (_spell(each_mm), "BY THE MEAN STRAKE OF THE SIDE" if by_mean_strake
                                      else "NEIGHBOURS TAKEN TO BE LIKE THIS PLANK", side)


def tell_left_off(each_edge_mm: float) -> str:
    """What is left off at each edge where the plank is widest."""
    return ("LEFT OFF FOR SWELLING: %s AT EACH EDGE AT THE WIDEST, LESS WHERE THE PLANK IS NARROWER."
            % format_mm(each_edge_mm).upper())


def tell_seam(gap_mm: float, each_mm: float, *, percent: float | None = None) -> str:
    """Whether a seam that is open by gap_mm closes by each_mm of swelling; percent : moisture, where there is a range
    of it."""
    gap = format_mm(gap_mm).upper()
    lead = "" if percent is None else "AT %g %% AFLOAT: " % percent
    if each_mm >= gap_mm:
        said = ("THE SEAM, %s AT THE OUTSIDE WHEN HUNG, WOULD CLOSE BY SWELLING ALONE; %s MORE WOULD PRESS PLANK ON "
                "PLANK AND CAULKING." % (gap, format_mm(each_mm - gap_mm).upper()))
    elif each_mm >= 0:
        said = ("THE SEAM, %s AT THE OUTSIDE WHEN HUNG, WOULD NOT CLOSE BY SWELLING ALONE: %s STAYS FOR CAULKING."
                % (gap, format_mm(gap_mm - each_mm).upper()))
    else:
        said = "THE SEAM, %s AT THE OUTSIDE WHEN HUNG, WOULD OPEN TO %s." % (gap,
                                                                              format_mm(gap_mm - each_mm).upper())
    return lead + said


def tell_hanging(advice: MoistureAdvice) -> str:
    """Whether the wood is fit to hang."""
    return "MOISTURE WHEN HUNG: %s." % advice.words.upper()


def warn_of_moisture(verdict: str, percent: float) -> str:
    """Too wet or too dry to hang."""
    return "WARN: MOISTURE TOO %s TO HANG: %g %%; 12 TO 18 %% IS ASKED." % (verdict.upper(), percent)
