"""The record to file with the boat: figures by which a yard without a plotter strikes the plank, all that is known of
it, and blanks for what only the boat knows.

What a surveyor wants to know about a repair is common practice, no source; what is required is for the surveyor, the
class society or the flag authority to say.

A Record is text and figures in reading order; the layout on paper is made in document/files/record.py.
"""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..actions import ALLOWANCE
from ..errors import SettingError
from ..model.board import lay_on_board
from ..model.plank import EDGE_NAMES
from ..model.record import Heading, MarkRow, Proof, Record, StationRow, ToldLayer
from ..model.saw import measure_saw_line
from . import words
from .doubts import list_doubts, list_layer_doubts, settle_case
from .offsets import lay_out_offsets
from .sketch import BaselineChart, draw_sketch, find_worst_mark

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.drawing import Fact, SawLine, Station
    from ..model.joints_and_fastenings import PlacedJoint
    from ..model.plank import Plank

__all__ = ["FIGURES", "RecordSettings", "build_record", "list_blanks", "read_moisture"]

_HUNG = ("baseline", "over all", "fore end", "aft end", "falling", "rising", "width")


def list_blanks(plank: Plank, *, board: Board | None, joints: Sequence[PlacedJoint], layers: Sequence[ToldLayer],
                proofs: Sequence[Proof], measure: words.Measure, settings: RecordSettings) -> tuple[Heading, ...]:
    """The surveyor's part: what failed, old against new, hung against drawn, photographs and signatures.

    proofs : those of the record, in the order of words.PROOFS.
    """
    facts = {fact.key: fact for layer in layers for fact in layer.facts or ()}
    thickness = board.thickness_mm if board is not None else plank.thickness_mm
    size, metal = facts.get("size"), facts.get("metal")
    known = {"moisture": "%g %%" % settings.moisture if settings.moisture is not None else "",
             "thickness": measure.write(thickness) + ", finished" if thickness else "",
             "fastening": _say_size(size), "metal": metal.about if metal is not None else "",
             "joints": _count(joints)}
    heading, columns, names = words.OLD_AND_NEW
    changed = Heading(heading, (), columns, tuple((name, "", known.get(key, ""), "") for key, name in names.items()))
    hung = tuple((p.name, p.words, "", "") for key, p in zip(words.PROOFS, proofs) if key in _HUNG)
    signed = {"measured": (settings.measured_by, settings.day)}
    heading, columns, names = words.SIGNATURES
    people = Heading(heading, (), columns, tuple((name, *signed.get(key, ("", "")), "") for key, name in names.items()))
    found, places = words.FOUND
    pictures, told, taken = words.PHOTOGRAPHS
    return (Heading(found, (words.FILL_IN,), ("", ""), tuple((name, "") for name in places)), changed,
            Heading(words.HUNG[0], (), words.HUNG[1], hung),
            Heading(pictures, (), told, tuple((name, "") for name in taken)), people)


def _count(joints):
    """'1 butt and 2 scarfs', '' of none."""
    found = [(sum(joint.kind == kind for joint in joints), kind) for kind in ("butt", "scarf")]
    return " and ".join("%d %s%s" % (n, kind, "" if n == 1 else "s") for n, kind in found if n)


def _say_size(fact):
    """Kind and diameter of the fastenings laid out, from their fact."""
    if fact is None:
        return ""
    return ", ".join(w for w in (fact.about, "%.1f mm" % fact.number if fact.number else "") if w)


FIGURES = ("both", "inches first", "mm", "inches")
_KINDS = {"both": ("mm", "inches"), "inches first": ("inches", "mm")}


@dataclass(frozen=True)
class RecordSettings:
    """The record's settings, and data that only the yard knows; '' and None leave a blank to be filled in by hand.

    figures : one of FIGURES; of two kinds the first is the yard's own, and is on page 1. denominator : 8, 16 or 32, for
    inches. moisture : of the wood, percent of its dry weight.
    drawing_name, file_name : printed.
    """

    figures: str = "both"
    denominator: int = 16
    measured_by: str = ""
    day: str = ""
    moisture: float | None = None
    remarks: str = ""
    drawing_name: str = ""
    file_name: str = ""


def read_moisture(text: str) -> float | None:
    """Moisture content as typed, '14' or '14 %'; None where nothing is.

    Raises
    ------
    SettingError
        If it is not a number from 0 to 200: green softwood seldom holds more water than twice its dry weight (from
        memory, not checked).
    """
    plain = text.strip()
    if not plain:
        return None
    match = re.match(r"^(\d{1,3}(?:\.\d+)?)\s*%?$", plain)
    if not match or float(match.group(1)) > 200:
        raise SettingError("'%s' is not a moisture content." % plain,
                           "Give a number from 0 to 200, such as 14 or 14 %, or leave it empty.", "Moisture")
    return float(match.group(1))


def build_record(plank: Plank, *, stations: Sequence[Station] = (), saw: SawLine | None = None,
                 board: Board | None = None, joints: Sequence[PlacedJoint] = (),
                 sections: Sequence[ToldLayer] = (), scans: Sequence[Fact] = (),
                 settings: RecordSettings = RecordSettings()) -> Record:
    """Put a plank's record together.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    saw : SawLine or None
    board : Board or None
        With a board, the offsets are of its drawn face, since that is what is struck on the board.
    joints : sequence of PlacedJoint
    sections : sequence of ToldLayer
        Facts and findings of the actions, in order; the saw line's facts are taken from `saw`.
    scans : sequence of Fact
        What was found when the scans were trued and joined.
    settings : RecordSettings

    Returns
    -------
    Record

    Raises
    ------
    SettingError, PatternError
        Among others where a text contains a word that claims an approval, which no record may.
    """
    struck, lines = lay_on_board(plank, stations, board)
    places = measure_saw_line(struck, lines, saw) if saw is not None else ()
    kinds = _KINDS.get(settings.figures, (settings.figures,))
    tables = tuple(lay_out_offsets(struck, lines, figures=k, denominator=settings.denominator) for k in kinds)
    measure = words.Measure(kinds, settings.denominator)
    title = words.name_plank(plank)
    layers = [*sections, ToldLayer(ALLOWANCE.heading, ALLOWANCE.title, saw.facts if saw is not None else None)]
    names = _list_names(plank, stations, joints, settings)
    every = list_doubts(plank, missed=_find_missed(struck, lines), tables=tables, board=board, stations=stations,
                         measure=measure) + list_layer_doubts(plank, _join_layers(layers))
    doubts = tuple(dict.fromkeys(settle_case(text, names) for text in every))
    proofs = _list_proofs(struck, measure)
    record = Record(
        title, words.list_facts(plank, board, saw=saw, measure=measure, settings=settings),
        sketch=draw_sketch(struck, lines, joints, figures="inches" if kinds[0] == "inches" else "mm"),
        steps=words.list_steps(plank, tables, measure.write(struck.measure_length_mm())), key=words.write_key(tables),
        tables=tables, proofs=proofs,
        stations=_list_stations(plank, lines, board=board, places=places, measure=measure),
        marks=_list_marks(plank, find_worst_mark(plank)),
        sections=tuple(words.list_sections(plank, [_find_on_board(j, struck) for j in joints], layers=layers,
                                           asked=[words.tell_asked(saw)] if saw is not None else [], scans=scans,
                                           names=names, measure=measure)),
        includes=words.list_inclusions(plank, places, board), doubts=doubts, count=words.count_doubts(doubts),
        cautions=(*words.CAUTIONS, words.tell_media(struck.measure_length_mm())), saw=_list_saw(places, measure),
        blanks=list_blanks(plank, board=board, joints=joints, layers=layers, proofs=proofs, measure=measure,
                           settings=settings))
    _refuse_forbidden(record, settings)
    return record


def _join_layers(layers):
    """ToldLayers merged, one for each action: an action's facts and findings may come separately."""
    found = {}
    for one in layers:
        other = found.get(one.action)
        found[one.action] = one if other is None else ToldLayer(
            other.heading or one.heading, one.action, (*(other.facts or ()), *(one.facts or ())),
            (*other.findings, *one.findings))
    return list(found.values())


def _list_names(plank, stations, joints, settings):
    """Names that keep their capitals and small letters."""
    return [plank.name, plank.strake, settings.drawing_name, settings.file_name, settings.measured_by,
            *(s.label for s in stations), *(j.label for j in joints), *(j.bay for j in joints)]


def _find_missed(struck, lines):
    """(label, end of the plank, (along, up) in mm) for each frame line that meets an end of the plank instead of an
    edge."""
    chart = BaselineChart(struck)
    return [(line.label, edge, tuple(map(float, at))) for line in lines
            for edge, at in zip(line.ends, chart.find(line.line)) if edge not in ("upper", "lower")]


def _find_on_board(joint, struck):
    """(joint, distance of its middle along the baseline of the struck plank)."""
    return joint, float(BaselineChart(struck).find(joint.line)[:, 0].mean())


def _list_proofs(plank, measure):
    """Lengths by which the struck plank is checked."""
    chart, corner = BaselineChart(plank), plank.find_corners()
    reach = np.ptp(chart.find(np.vstack([c.flatten(tolerance_mm=1e-4) for c in plank.outline()])), axis=0)

    def apart(a, b):
        return float(np.hypot(*(corner[a] - corner[b])))
    lengths = {"baseline": plank.measure_length_mm(), "over all": float(reach[0]),
               "fore end": apart("upper fore", "lower fore"), "aft end": apart("upper aft", "lower aft"),
               "falling": apart("upper fore", "lower aft"), "rising": apart("lower fore", "upper aft"),
               "upper edge": plank.edges["upper"].curve.measure_length_mm(),
               "lower edge": plank.edges["lower"].curve.measure_length_mm(),
               "width": plank.measure_width_mm(), "breadth": float(reach[1])}
    edges = {"fore end": "fore", "aft end": "aft", "upper edge": "upper", "lower edge": "lower"}
    return tuple(Proof(words.PROOFS[key], value, measure.write(value), edges.get(key, ""))
                 for key, value in lengths.items())


def _list_saw(places, measure):
    """Distances of the saw line outside the net line at places away from the frames."""
    return tuple(Proof(words.name_saw_place(p), p.outside_mm, words.write_outside(p.outside_mm, measure, " = "), p.edge)
                 for p in places if not p.station)


def _print_stock(section):
    """Notes for which the sheet has no room: the stock that a section needs, its strain, and the note from the table.
    """
    told = {"stock_mm": "%.1f" % section.stock_mm, "note": section.note}
    if section.strain is not None:
        told["strain"] = "%.1f" % (round(1000 * section.strain, 1) + 0.0)
    return {key: word for key, word in told.items() if word}


def _list_stations(plank, stations, board, places, measure):
    """Widths, bevels, hollow, residuals and the saw line at each frame, as they are struck."""
    there = {s.station: s for s in board.sections} if board is not None else {}
    inner = "inside_mm" if plank.face == "inboard" else "outside_mm"
    found = []
    for station in stations:
        section = there.get(station.label)
        numbers = {inner: station.width_mm}
        printed = {}
        if section is not None:
            sources = {e: section.find_bevel_source(e) for e in section.bevels_deg if section.reaches(e)}
            hollow = None if section.known.get("radius") == "taken" else section.hollow_mm
            numbers = {"inside_mm": section.inside_mm, "outside_mm": section.outside_mm,
                           "thickness_mm": section.thickness_mm, "hollow_mm": hollow,
                           "bevels_deg": {e: v for e, v in section.bevels_deg.items() if e in sources},
                           "bevels_known": sources,
                           "hollowed": "" if not hollow
                           or not section.curvature_per_mm else "inside" if section.curvature_per_mm > 0 else "outside"}
            printed = {"%s_bevel" % e: words.bracket(words.write_bevel(section.bevels_deg[e], source), source == "read")
                     for e, source in sources.items()}
            printed["thickness_mm"] = "%.1f" % section.thickness_mm
            printed.update(_print_stock(section))
            if hollow is not None:
                printed["hollow_mm"] = words.bracket(" ".join(w for w in ("%.1f" % hollow, numbers["hollowed"]) if w),
                                              section.known.get("radius") == "given")
        printed.update({k: measure.write(numbers[k], "\n").replace(" ", "\u00a0") for k in ("inside_mm", "outside_mm")
                      if numbers.get(k) is not None})
        marks = {m.edge: m for m in plank.marks if m.station == station.label and m.edge in ("upper", "lower")}
        printed.update({"%s_residual" % e: words.write_residual(plank, m) for e, m in marks.items()})
        saws = {p.end: p for p in places if p.station == station.label}
        printed.update({"%s_saw" % e: words.write_outside(p.outside_mm, measure, "\n")
                      + ("" if p.edge == e else "\n(off the %s end)" % p.edge) for e, p in saws.items()})
        found.append(StationRow(station.label, station.distance_mm,
                                residuals_mm={e: plank.measure_outside_mm(m) for e, m in marks.items()},
                                saw_mm={e: p.outside_mm for e, p in saws.items()}, words=printed,
                                **{"bevels_deg": {}, **numbers}))
    return tuple(found)


def _list_marks(plank, worst):
    chart, found = BaselineChart(plank), []
    for mark in plank.marks:
        along, up = chart.find([mark.point])[0]
        found.append(MarkRow(mark.edge, mark.station, along_mm=float(along), up_mm=float(up), error_mm=mark.error_mm,
                             residual_mm=plank.measure_outside_mm(mark), verdict=mark.verdict, worst=mark is worst))
    order = {n: k for k, n in enumerate(EDGE_NAMES)}
    return tuple(sorted(found, key=lambda m: (order[m.edge], m.along_mm)))


def _refuse_forbidden(record, settings):
    """Refuse a record with a text that claims an approval: its cautions say that it is none. Other actions' rows are
    searched too, only because they may contain something typed, such as who found the hull symmetrical, or the name of
    a board."""
    texts = [("Measured by", settings.measured_by), ("Date", settings.day), ("Remarks", settings.remarks),
             ("File name", settings.file_name), ("Drawing", settings.drawing_name),
             ("Boat, strake", record.title), *((s.heading, " ".join(s.rows)) for s in record.sections),
             ("In doubt", " ".join(record.doubts))]
    for field, text in texts:
        if re.search(r"\bapproved\b", text, re.IGNORECASE):
            raise SettingError("The word 'approved' may not stand on a plank's record: the record is not an approval.",
                               "Write who looked at it and when ('seen by the surveyor, 3 May'); the surveyor's own "
                               "paper is filed beside it.", field)
        bad = next((c for c in text if ord(c) < 32 and c not in "\t\n\r" or ord(c) in (0xFFFE, 0xFFFF)
                    or 0xD800 <= ord(c) < 0xE000), None)
        if bad is not None:
            raise SettingError("The text holds a character that cannot be printed (number %d)." % ord(bad),
                               "Type it again.", field)
