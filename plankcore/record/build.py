"""The record to file with the boat: figures by which a yard without a plotter strikes the plank, and all that is known
of it.

A Record is text and figures in the order they are read; what it looks like on paper is the document's affair.
"""
from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..actions import ALLOWANCE, FAIR, JOINTS, TRUE_UP
from ..errors import SettingError
from ..model.board import lay_on_board
from ..model.plank import EDGE_NAMES
from ..model.record import Heading, MarkRow, Proof, Record, StationRow
from ..model.saw import measure_saw_line
from ..units import format_feet_inches_eighths, format_mm
from .offsets import lay_out_offsets
from .sketch import BaselineChart, draw_sketch, find_worst_mark
from .words import CAUTIONS, list_inclusions, list_steps, write_key

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.drawing import SawLine, Station
    from ..model.joint import PlacedJoint
    from ..model.plank import Plank

__all__ = ["FIGURES", "RecordSettings", "build_record", "read_moisture"]

FIGURES = ("both", "mm", "inches")


@dataclass(frozen=True)
class RecordSettings:
    """What is asked for, and what only the yard knows; '' and None leave a line to be filled in by hand.

    figures : one of FIGURES. denominator : 8, 16 or 32, for inches. moisture : of the wood, percent of its dry weight.
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
        If it is no number from 0 to 200: green softwood seldom holds more water than twice its dry weight (from memory,
        not checked).
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
                 sections: Sequence[tuple[str, str, Sequence[str] | None]] = (), scans: Sequence[str] = (),
                 settings: RecordSettings = RecordSettings()) -> Record:
    """Put a plank's record together.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
    saw : SawLine or None
    board : Board or None
        Where there is one, the offsets are those of its drawn face, which is what is struck on the board.
    joints : sequence of PlacedJoint
    sections : sequence of (heading, action, rows or None)
        What later actions have to say, in order; rows None where the action has not been run.
    scans : sequence of str
        What was said of the scans' true scale.
    settings : RecordSettings

    Returns
    -------
    Record

    Raises
    ------
    SettingError, PatternError
        Among others where a text holds the word that no record may bear.
    """
    struck, lines = lay_on_board(plank, stations, board)
    places = measure_saw_line(struck, lines, saw) if saw is not None else ()
    kinds = ("mm", "inches") if settings.figures == "both" else (settings.figures,)
    tables = tuple(lay_out_offsets(struck, lines, figures=k, denominator=settings.denominator) for k in kinds)
    measure = _Measure(kinds, settings.denominator)
    title = ", ".join(p for p in (plank.name or "Unnamed boat", "strake %s" % plank.strake if plank.strake else "",
                                  plank.side) if p)
    worst = find_worst_mark(plank)
    record = Record(
        title, _list_facts(plank, board, saw=saw, measure=measure, settings=settings),
        sketch=draw_sketch(struck, lines, joints, figures="inches" if settings.figures == "inches" else "mm"),
        steps=list_steps(plank, tables, measure.write(struck.measure_length_mm())), key=write_key(tables),
        tables=tables,
        proofs=_list_proofs(struck, measure),
        stations=_list_stations(plank, lines, board=board, places=places, measure=measure),
        marks=_list_marks(plank, worst),
        sections=tuple(_list_sections(plank, [_find_on_board(j, struck) for j in joints],
                             sections=[*sections, (ALLOWANCE.heading, ALLOWANCE.title,
                                          saw.rows if saw is not None else None)], scans=scans, measure=measure)),
        includes=list_inclusions(plank, places, board),
        doubts=_list_doubts(plank, struck, lines=lines, tables=tables, board=board, stations=stations, measure=measure),
        cautions=CAUTIONS, saw=_list_saw(places, measure))
    _refuse_forbidden(record, settings)
    return record


class _Measure:
    """Writes a length in the kinds of figures that are asked for."""

    def __init__(self, kinds, denominator):
        self.kinds, self.denominator = kinds, denominator

    def write(self, value_mm: float, between: str = " = ") -> str:
        """'118.0 mm', '0-4-5', or both: '118.0 mm = 0-4-5'."""
        words = {"mm": "%.1f mm" % value_mm,
                 "inches": format_feet_inches_eighths(value_mm, denominator=self.denominator)}
        return between.join(words[k] for k in self.kinds)


def _find_on_board(joint, struck):
    """(joint, distance of its middle along the baseline that is struck); joints are placed on the struck plank."""
    return joint, float(BaselineChart(struck).find(joint.line)[:, 0].mean())


def _list_facts(plank, board, saw, measure, settings):
    thickness = board.thickness_mm if board is not None else plank.thickness_mm
    facts = [("Boat", plank.name), ("Strake and side", " ".join(p for p in (plank.strake, plank.side) if p)),
             ("Face of the figures",
              "%s face (%s of the planking)" % (plank.face, "inside" if plank.face == "inboard" else "outside")),
             ("Seen from", "%s: the board lies with its %s face up, FWD to the %s"
              % (plank.seen_from, plank.seen_from, plank.forward)),
             ("Thickness, finished", measure.write(thickness) if thickness else ""),
             ("Moisture of the wood", "%g %%" % settings.moisture if settings.moisture is not None else ""),
             *([("This plank lives",
                 saw.lives
                 + ("" if saw.afloat_percent is None else "; swelling told to %g %% afloat" % saw.afloat_percent))]
               if saw is not None and (saw.lives != "not said" or saw.afloat_percent is not None) else []),
             ("Measured by", settings.measured_by), ("Date", settings.day),
             ("Drawing", settings.drawing_name + (", fairing %s" % plank.key if plank.key else "")),
             ("This record", settings.file_name)]
    return tuple(facts + ([("Remarks", settings.remarks)] if settings.remarks else []))


def _list_proofs(plank, measure):
    """Lengths that show whether what was struck is the plank."""
    chart, corner = BaselineChart(plank), plank.find_corners()
    reach = np.ptp(chart.find(np.vstack([c.flatten(tolerance_mm=1e-4) for c in plank.outline()])), axis=0)

    def apart(a, b):
        return float(np.hypot(*(corner[a] - corner[b])))
    lengths = [("Baseline, fore mark to aft mark", plank.measure_length_mm()),
               ("Over all, along the baseline", float(reach[0])),
               ("Fore end, corner to corner", apart("upper fore", "lower fore")),
               ("Aft end, corner to corner", apart("upper aft", "lower aft")),
               ("Diagonal, upper fore to lower aft", apart("upper fore", "lower aft")),
               ("Diagonal, lower fore to upper aft", apart("lower fore", "upper aft")),
               ("Upper edge, tape along the batten", plank.edges["upper"].curve.measure_length_mm()),
               ("Lower edge, tape along the batten", plank.edges["lower"].curve.measure_length_mm()),
               ("Greatest width, square to the baseline", plank.measure_width_mm()),
               ("Breadth of board it lies in, along the baseline", float(reach[1]))]
    return tuple(Proof(name, value, measure.write(value)) for name, value in lengths)


def _list_saw(places, measure):
    """How far the saw line stands outside the net line away from the frames."""
    return tuple(Proof("%s %s, %s" % (p.edge, "end" if p.edge in ("fore", "aft") else "edge", p.where), p.outside_mm,
                       _write_outside(p.outside_mm, measure, " = ")) for p in places if not p.station)


def _write_outside(value_mm, measure, between):
    """'3.0 mm', or 'inside 0.4 mm'."""
    words = measure.write(abs(value_mm), between)
    return "inside " + words if value_mm < 0 and words != measure.write(0.0, between) else words


def _list_stations(plank, stations, board, places, measure):
    """Widths, bevels, hollow, residuals and the saw line at each frame, as they are struck."""
    there = {s.station: s for s in board.sections} if board is not None else {}
    inner = "inside_mm" if plank.face == "inboard" else "outside_mm"
    found = []
    for station in stations:
        section = there.get(station.label)
        numbers = {inner: station.width_mm}
        words = {}
        if section is not None:
            sources = {e: section.find_bevel_source(e) for e in section.bevels_deg if section.reaches(e)}
            hollow = None if section.known.get("radius") == "taken" else section.hollow_mm
            numbers = {"inside_mm": section.inside_mm, "outside_mm": section.outside_mm,
                           "thickness_mm": section.thickness_mm, "hollow_mm": hollow,
                           "bevels_deg": {e: v for e, v in section.bevels_deg.items() if e in sources},
                           "bevels_known": sources,
                           "hollowed": "" if not hollow
                           or not section.curvature_per_mm else "inside" if section.curvature_per_mm > 0 else "outside"}
            words = {"%s_bevel" % e: _bracket(_write_bevel(section.bevels_deg[e], source), source == "read")
                     for e, source in sources.items()}
            words["thickness_mm"] = "%.1f" % section.thickness_mm
            if hollow is not None:
                words["hollow_mm"] = _bracket(" ".join(w for w in ("%.1f" % hollow, numbers["hollowed"]) if w),
                                              section.known.get("radius") == "given")
        words.update({k: measure.write(numbers[k], "\n").replace(" ", "\u00a0") for k in ("inside_mm", "outside_mm")
                      if numbers.get(k) is not None})
        marks = {m.edge: m for m in plank.marks if m.station == station.label and m.edge in ("upper", "lower")}
        words.update({"%s_residual" % e: _write_residual(plank, m) for e, m in marks.items()})
        saws = {p.end: p for p in places if p.station == station.label}
        words.update({"%s_saw" % e: _write_outside(p.outside_mm, measure, "\n")
                      + ("" if p.edge == e else "\n(off the %s end)" % p.edge) for e, p in saws.items()})
        found.append(StationRow(station.label, station.distance_mm,
                                residuals_mm={e: plank.measure_outside_mm(m) for e, m in marks.items()},
                                saw_mm={e: p.outside_mm for e, p in saws.items()}, words=words,
                                **{"bevels_deg": {}, **numbers}))
    return tuple(found)


def _write_bevel(bevel_deg, source):
    """'+3.0' where the outside face is wider, '-3.0' where it is narrower, in degrees; with 'radial' where none was
    given and the edge is square to the frame's curve.
    """
    words = "%+.1f" % bevel_deg if abs(bevel_deg) >= 0.05 else "0.0" if source == "radial" else "square"
    return words + " radial" if source == "radial" else words


def _bracket(word, measured):
    """In brackets what was not measured at the frame itself."""
    return word if measured else "(%s)" % word


def _write_residual(plank, mark):
    off = plank.measure_outside_mm(mark)
    words = "%+.1f" % off if abs(off) >= 0.05 else "0.0"
    return words if mark.verdict == "used" else "%s, %s" % (words, mark.verdict.replace("-", " "))


def _list_marks(plank, worst):
    chart, found = BaselineChart(plank), []
    for mark in plank.marks:
        along, up = chart.find([mark.point])[0]
        found.append(MarkRow(mark.edge, mark.station, along_mm=float(along), up_mm=float(up), error_mm=mark.error_mm,
                             residual_mm=plank.measure_outside_mm(mark), verdict=mark.verdict, worst=mark is worst))
    order = {n: k for k, n in enumerate(EDGE_NAMES)}
    return tuple(sorted(found, key=lambda m: (order[m.edge], m.along_mm)))


def _list_sections(plank, joints, sections, scans, measure):
    """What each action has to say, then the fairing, then the scans."""
    for heading, _, rows in sections:
        if rows is None:
            continue
        if heading == JOINTS.heading and joints:
            cells = tuple((j.label, j.kind, j.bay, measure.write(along), measure.write(j.length_mm) if j.length_mm
                           else "", "%g to 1" % j.slope if j.slope else "") for j, along in joints)
            yield Heading(heading, tuple(rows),
                          ("Joint", "Kind", "Bay", "Middle, along from the fore mark", "Length", "Slope"), cells)
        else:
            yield Heading(heading, tuple(rows) or ("Nothing to say.",))
    rows = tuple((n.capitalize(),
                   *(("%.2f" % v if e.rms_mm or e.band_mm else "\u2013") for v in (e.rms_mm, e.worst_mm, e.band_mm)),
                   "straight" if e.straight else "%.1f" % e.degrees_of_freedom)
                  for n, e in ((n, plank.edges[n]) for n in EDGE_NAMES))
    yield Heading("Fairing", (("How far the trace or the marks lie off the fair edges, mm. Band: standard error of "
                              "the edge itself, at its largest."),),
                  ("Edge", "rms", "Worst", "Band", "Degrees of freedom"), rows)
    yield Heading("True scale", tuple(scans) or (
        "Nothing in the drawing says how the scan's scale was found (%s has not been run). Prove a known length before "
        "cutting." % TRUE_UP.title,))
    missing = tuple("%s: %s has not been run." % (heading, action) for heading, action, rows in sections
                    if rows is None)
    if missing:
        yield Heading("Not worked out", missing)


def _list_doubts(plank, struck, lines, tables, board, stations, measure):
    assumed = ", ".join("%s %s" % (word, getattr(plank, word)) for word in plank.assumed)
    found = ["Nobody has said %s: taken as usual. Say it in %s." % (assumed, FAIR.title)] * bool(assumed)
    for mark in plank.marks:
        if mark.verdict != "used":
            found.append("Doubtful mark, %s: %s edge%s, %s off. Measure it again on the boat."
                         % ("left out" if mark.verdict == "left-out" else "kept", mark.edge, ", frame %s"
                            % mark.station if mark.station else "", format_mm(abs(plank.measure_outside_mm(mark)))))
    for name, edge in plank.edges.items():
        found += ["Guessed corner: %s edge at the %s end, %s past the last mark, known there to %s (one standard "
                  "error). Set one more mark there." % (name, one.end, format_mm(one.beyond_mm), format_mm(one.band_mm))
                  for one in edge.guesses]
    for table in tables:
        if table.reached_mm > table.limit_mm:
            found.append("A batten through the figures in %s comes no nearer to the edges than %.1f mm (%.1f mm is "
                         "aimed at): use finer figures." % (table.figures, table.reached_mm, table.limit_mm))
    for station in lines:
        for edge, end in zip(station.ends, BaselineChart(struck).find(station.line)):
            if edge not in ("upper", "lower"):
                found.append("Frame %s meets the %s end, %s along from the fore mark and %s %s from the baseline: it "
                             "has no row in the offsets there." % (
                    station.label, edge,
                    measure.write(float(end[0])) if end[0] >= 0 else measure.write(float(-end[0])) + " forward",
                    measure.write(abs(float(end[1]))), "up" if end[1] >= 0 else "down"))
    if not stations:
        found.append("Frame stations are not struck: widths and bevels cannot be given by frame.")
    for station in stations:
        if not station.is_whole():
            found.append("Frame %s meets the %s end: its width is from the %s to the %s%s." % (
                station.label, next(e for e in station.ends if e in ("fore", "aft")),
                *("%s %s" % (e, "edge" if e in ("upper", "lower") else "end") for e in station.ends),
                "" if set(station.ends) & {"upper", "lower"} else "; it has no offsets"))
    if board is not None:
        found += [f.text for f in board.findings]
    return tuple(found)


def _refuse_forbidden(record, settings):
    """What this paper is not is said by its cautions; no text on it may claim it."""
    texts = [("Measured by", settings.measured_by), ("Date", settings.day), ("Remarks", settings.remarks),
             ("File name", settings.file_name), ("Drawing", settings.drawing_name),
             ("Boat, strake", record.title), *((s.heading, " ".join(s.rows)) for s in record.sections)]
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
