"""The size of fastening for a plank, the holes to bore for it, and the buying list."""
from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..actions import FAIR
from ..errors import SettingError
from ..model.joints_and_fastenings import FasteningList, FasteningSize
from ..model.typed import refuse_outside, refuse_unknown
from ..trade import fastening_tables as tables
from ..trade.fastening_patterns import METALS, NOT_NAMED, find_metal, judge_metal, judge_mixing
from ..units import format_inches, format_mm, parse_length_mm
from . import words

if TYPE_CHECKING:
    from typing import Any, Mapping

    from ..trade.fastening_patterns import Metal

__all__ = [
    "HEADS",
    "METALS",
    "SIZES",
    "SizeSettings",
    "choose_size",
    "find_driven_metal",
    "fit_butt_size",
    "list_doubts",
    "list_what_to_buy",
]

SIZES = (*tables.SCREW_TABLES, "nail", "rivet", "own")
HEADS = ("auto", "plugged", "puttied")


@dataclass(frozen=True)
class SizeSettings:
    """What is driven.

    size : one of SIZES, a table or 'own'. gauge, length_mm, plug_mm : the boat's own: a gauge number for wood screws
    ('12', 'No 12') or a diameter
        with its unit ('5 mm'); with 'own' this is what is driven, with a table the least that it must give; rivets are
        given by gauge too.
    softwood : of the plank, for nails. frame_wood : the wood that the thread holds in. frame_depth_mm : of the frame
    behind the plank, 0 where not known.
    block_mm : thickness of butt blocks, 0 takes the plank's. heads : one of HEADS; 'auto' plugs heads from 5/8 in of
    thickness up. spare_percent : bought beside those driven.
    metal, boat_metal : of trade.fastening_metals.METALS, of these fastenings, and of those in the rest of the boat.
    """

    size: str = "herreshoff"
    gauge: str = ""
    length_mm: float = 0.0
    plug_mm: float = 0.0
    softwood: bool = True
    frame_wood: str = "hardwood"
    frame_depth_mm: float = 0.0
    block_mm: float = 0.0
    heads: str = "auto"
    spare_percent: int = 10
    metal: str = NOT_NAMED
    boat_metal: str = NOT_NAMED


def read_gauge_mm(text: str) -> tuple[float, bool]:
    """Shank diameter in mm of a gauge number or of a diameter with its unit, and whether it was a number; (0, False)
    where nothing is given.
    """
    plain = str(text).strip()
    if not plain:
        return 0.0, False
    number = re.match(r"^(?:no\.?|nr\.?|#)?\s*(\d+)$", plain, re.IGNORECASE)
    if number:
        return tables.measure_gauge_mm(int(number.group(1))), True
    if re.match(r"^[\d\s./]+$", plain):
        raise SettingError("'%s' is neither a gauge number nor a diameter." % plain,
                           "Give a whole number for a wood screw's gauge (12), or a diameter with its unit: 5 mm, "
                           "3/16 in.", "Gauge")
    return parse_length_mm(plain, unit="mm", field="Gauge", least_mm=0.5, most_mm=60.0), False


def choose_size(settings: SizeSettings, thickness_mm: float) -> FasteningSize:
    """The FasteningSize for a plank.

    Parameters
    ----------
    settings : SizeSettings
    thickness_mm : float

    Raises
    ------
    SettingError
        For a thickness outside the table, or where the boat's own fastening is wanted and not given.
    """
    for value, known, field in ((settings.size, SIZES, "Size"), (settings.heads, HEADS, "Heads")):
        refuse_unknown(value, known, field=field)
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise SettingError("The plank's thickness is not known, so no fastening can be chosen.",
                           "Give the thickness here, or in %s." % FAIR.title, "Thickness")
    refuse_outside(settings.spare_percent, 0, 100, problem="%g percent of spares cannot be bought.",
                   remedy="Give 0 to 100.", field="Spares")
    find_driven_metal(settings)
    find_metal(settings.boat_metal, where="Metal of the boat's fastenings")
    own_mm, numbered = read_gauge_mm(settings.gauge)
    make = {"nail": _choose_nail, "rivet": _choose_rivet, "own": _choose_own}.get(settings.size, _choose_screw)
    size = _add_plug(make(settings, thickness_mm, own_mm, numbered), settings, thickness_mm)
    reach = size.length_mm - (thickness_mm - size.depth_mm)
    if reach <= 0:
        raise SettingError("A fastening %s long does not come through a plank of %s."
                           % (format_mm(size.length_mm), format_mm(thickness_mm)), "Give a longer one.", "Length")
    return replace(size, reach_mm=reach)


def find_driven_metal(settings: SizeSettings) -> Metal:
    """The Metal of the fastenings: as named, but copper for riveted nails, which are always copper here."""
    metal = find_metal(settings.metal)
    if settings.size != "rivet" or metal.name == "copper":
        return metal
    if metal.name != NOT_NAMED:
        raise SettingError("Nails on burrs are of copper here, not of %s." % metal.words,
                           "Name copper, or take the boat's own fastening as the size.", "Metal")
    return find_metal("copper")


def _choose_screw(settings, thickness_mm, own_mm, numbered):
    row, table = tables.find_screw(thickness_mm, table=settings.size)
    shank, length = row.shank_in * 25.4, row.length_in * 25.4
    plugs = row.plugs_in
    gauge = "No %d" % row.gauge
    return FasteningSize("screw", words.name_screw(gauge, length, from_table=True), diameter_mm=shank, length_mm=length,
                         plug_mm=plugs[0] * 25.4 if plugs else 0.0, depth_mm=0.0,
                         lead_mm=tables.measure_lead_hole_mm(shank, wood=settings.frame_wood),
                         plug_words=" or ".join(format_inches(p * 25.4) for p in plugs), table=table, gauge=gauge,
                         from_table=True)


def _choose_nail(settings, thickness_mm, own_mm, numbered):
    if numbered:
        raise SettingError("'%s' is a gauge number of wood screws; nails have another." % settings.gauge.strip(),
                           "Measure one of the boat's own nails and give its diameter with the unit: 4 mm.", "Gauge")
    row, table = tables.find_nail(thickness_mm, softwood=settings.softwood)
    shank = words.SHANK_OF_THE_BOAT if own_mm else "shank %s" % row.source
    return FasteningSize("nail", words.name_nail(row.pennies, row.length_in * 25.4),
                         diameter_mm=own_mm or row.shank_in * 25.4, length_mm=row.length_in * 25.4, plug_mm=0.0,
                         depth_mm=0.0, lead_mm=0.0, plug_words="",
                         table="%s; %s" % (table, shank))


def _choose_rivet(settings, thickness_mm, own_mm, numbered):
    if settings.frame_depth_mm <= 0:
        raise SettingError("A rivet's length cannot be found without the frame's depth.",
                           "Give the depth of the frame behind the plank.", "Frame depth")
    if not own_mm or numbered:
        raise SettingError("No table of copper nails by thickness of plank is known here, and their gauge numbers "
                           "are not those of screws.",
                           "Measure one of the boat's own and give its diameter with the unit: 4 mm.", "Gauge")
    depth = 0.0 if settings.heads == "puttied" else _find_depth_mm(settings, thickness_mm)
    length = tables.measure_rivet_mm(thickness_mm - depth, settings.frame_depth_mm)
    return FasteningSize("rivet", words.name_rivet(own_mm, length), diameter_mm=own_mm, length_mm=length, plug_mm=0.0,
                         depth_mm=0.0, lead_mm=0.0, plug_words="",
                         table=words.RIVET_SOURCE)


def _choose_own(settings, thickness_mm, own_mm, numbered):
    if not own_mm or settings.length_mm <= 0:
        raise SettingError("The boat's own fastening is wanted, and its %s is not given." % (
            "length" if own_mm else "gauge"), "Draw a sound one, measure it, and give gauge and length.",
                           "Length" if own_mm else "Gauge")
    gauge = re.sub(r"(?i)^(?:no\.?|nr\.?|#)?\s*(?=\d+$)", "No ",
                  settings.gauge.strip()) if numbered else format_mm(own_mm)
    lead = tables.measure_lead_hole_mm(own_mm, wood=settings.frame_wood) if numbered else 0.0
    return FasteningSize("screw" if numbered else "fastening",
                         words.name_screw(gauge, settings.length_mm, is_wood_screw=numbered),
                         diameter_mm=own_mm, length_mm=settings.length_mm,
                         plug_mm=settings.plug_mm, depth_mm=0.0, lead_mm=lead,
                         plug_words=format_inches(settings.plug_mm, denominator=32)
                         if settings.plug_mm else "", table=words.SIZE_OF_THE_BOAT, gauge=gauge)


def _find_depth_mm(settings, thickness_mm):
    usual = tables.measure_counterbore_mm(thickness_mm)
    return usual or (min(tables.LEAST_PLUG_DEPTH_MM, thickness_mm / 2) if settings.heads == "plugged" else 0.0)


def _add_plug(size, settings, thickness_mm):
    """The size with its plug's diameter and depth, both 0 where heads are puttied."""
    depth = 0.0 if settings.heads == "puttied" else _find_depth_mm(settings, thickness_mm)
    if not depth:
        return replace(size, plug_mm=0.0, depth_mm=0.0,
                       plug_words=words.tell_puttied(is_thin=settings.heads == "auto"))
    plug, said = size.plug_mm, size.plug_words
    if settings.plug_mm:
        plug, said = settings.plug_mm, format_inches(settings.plug_mm, denominator=32)
    by_head = not plug
    if by_head:
        # a flat head is about twice as wide as its shank; the plug clears it
        plug = math.ceil(2 * size.diameter_mm / 25.4 * 16 - 1e-9) / 16 * 25.4
        said = format_inches(plug)
    return replace(size, plug_mm=plug, depth_mm=depth, plug_words=words.name_plugs(said, plug, by_head=by_head))


def fit_butt_size(size: FasteningSize, thickness_mm: float, block_mm: float) -> tuple[FasteningSize, str]:
    """The fastening for butt blocks: as at the frames, but a screw no longer than plank and block hold, and a rivet
    through the block.

    Returns
    -------
    size : FasteningSize
    doubt : str
        What cannot be had, or ''.
    """
    if size.name == "rivet":
        length = tables.measure_rivet_mm(thickness_mm - size.depth_mm, block_mm)
        return replace(size, words=words.name_rivet(size.diameter_mm, length), length_mm=length,
                       reach_mm=length - thickness_mm + size.depth_mm), ""
    if size.reach_mm <= block_mm or size.name != "screw":
        return size, "" if size.reach_mm <= block_mm else words.warn_of_point_in_block(size.name, block_mm)
    most = thickness_mm - size.depth_mm + block_mm
    shorter = tables.find_stock_length_mm(most)
    if shorter is None or shorter <= thickness_mm - size.depth_mm:
        return size, words.warn_of_block(block_mm)
    return replace(size, words=words.name_screw(size.gauge, shorter, from_table=size.from_table), length_mm=shorter,
                   reach_mm=shorter - thickness_mm + size.depth_mm, table=words.name_shorter_table(block_mm)), ""


def list_doubts(size: FasteningSize, settings: SizeSettings) -> list[Any]:
    """Objections to a size, a list of str: a point that comes through the frame, an unsuitable metal, or less than the
    boat's own."""
    found = []
    if 0 < settings.frame_depth_mm < size.reach_mm and size.name != "rivet":
        found.append(words.warn_of_point(size.reach_mm - settings.frame_depth_mm, settings.frame_depth_mm))
    metal = find_driven_metal(settings).name
    found += [said[0].upper() + said[1:] + "." for said in judge_metal(metal, kind=size.name)
              + list(filter(None, [judge_mixing(metal, settings.boat_metal)]))]
    own_mm, _ = read_gauge_mm(settings.gauge)
    if settings.size != "own":
        for what, own, taken in (("thinner", own_mm, size.diameter_mm),
                                 ("shorter", settings.length_mm, size.length_mm)):
            if own > taken + 0.1:
                found.append(words.warn_of_smaller(what, taken, own))
    return found


def list_what_to_buy(counts: Mapping[str, int], size: FasteningSize, butt_size: FasteningSize,
                     settings: SizeSettings) -> tuple[FasteningList, ...]:
    """FasteningLists.

    Parameters
    ----------
    counts : dict
        {'frame', 'butt', 'end', 'through'} to how many; through bolts are not counted among those at the frames.
    """
    metal = find_driven_metal(settings).words

    def entry(use, one, count):
        return FasteningList(use, one.words, count=count, spares=math.ceil(count * settings.spare_percent / 100),
                             table=one.table,
                             metal="" if one.name == "plug" else metal)
    # identical fastenings share a line of the buying list
    alike = {}
    for use, one, count in (("frames", size, counts["frame"]), ("hood ends", size, counts["end"]),
                            ("butt blocks", butt_size, counts["butt"])):
        if count:
            kind = (one.name, one.gauge, one.diameter_mm, one.length_mm)
            uses, _, so_far = alike.get(kind, ([], one, 0))
            alike[kind] = (uses + [use], one, so_far + count)
    lists = [entry(", ".join(uses), one, count) for uses, one, count in alike.values()]
    bolt = FasteningSize("bolt", words.BOLT, diameter_mm=0.0, length_mm=0.0, plug_mm=0.0, depth_mm=0.0, lead_mm=0.0,
                         plug_words="", table=words.RULE_GIVES_NO_SIZE)
    lists += [entry("through bolts", bolt, counts["through"])] if counts["through"] else []
    if size.depth_mm:
        plug = FasteningSize("plug", words.name_plug(size.plug_mm), diameter_mm=0.0, length_mm=0.0, plug_mm=0.0,
                             depth_mm=0.0, lead_mm=0.0, plug_words="", table=words.PLUG_EACH)
        lists.append(entry("heads", plug, sum(counts.values())))
    return tuple(lists)
