"""The figures of a Record as a CSV table, with the same columns in the same order in every record."""
from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ...model.record import Record

__all__ = ["spell_csv"]

_RECORD_COLUMNS = (
    "part", "frame", "edge", "point", "figures", "along", "upper", "lower", "bow", "along_mm", "upper_mm", "lower_mm",
    "bow_mm", "inside_width_mm", "outside_width_mm", "upper_bevel_deg", "lower_bevel_deg", "upper_bevel_from",
    "lower_bevel_from", "hollow_mm", "hollowed_face", "thickness_mm", "upper_saw_mm", "lower_saw_mm", "saw_mm",
    "honest_error_mm", "off_mm", "verdict")


def spell_csv(record: Record) -> bytes:
    """All figures as a CSV table, bytes in UTF-8.

    One row for each point; the column `part` says what kind of point it is. Columns in mm hold the printed figures,
    with their rounding; up, out and aft are positive. For ends, along is the distance down from the upper corner on the
    line between the corners, bow how far outside that line. frame is the frame's label alone; edge one of upper, lower,
    fore, aft, and of a row that has both long edges, both.
    """
    lines = []
    for table in record.tables:
        for row in table.rows:
            figures = {"along": row.along, "upper": row.upper, "lower": row.lower}
            lines.append({"part": "%s%s" % (row.kind, "" if row.batten else " (not for the batten)"),
                          "frame": row.frame, "edge": _name_edges(row), "point": row.label, "figures": table.figures,
                          **_spell_figures(figures)})
        for end in ("fore", "aft"):
            if not table.ends[end]:
                lines.append({"part": "%s end" % end, "edge": end, "point": "straight", "figures": table.figures})
            for point in table.ends[end]:
                lines.append({"part": "%s end" % end, "edge": end, "figures": table.figures,
                              **_spell_figures({"along": point.down, "bow": point.out})})
    for s in record.stations:
        numbers = {"along_mm": s.along_mm, "inside_width_mm": s.inside_mm, "outside_width_mm": s.outside_mm,
                   "upper_bevel_deg": (s.bevels_deg or {}).get("upper"),
                   "lower_bevel_deg": (s.bevels_deg or {}).get("lower"), "hollow_mm": s.hollow_mm,
                   "thickness_mm": s.thickness_mm,
                   **{"%s_saw_mm" % e: v for e, v in (s.saw_mm or {}).items()}}
        words = {**{"%s_bevel_from" % e: v for e, v in (s.bevels_known or {}).items()}, "hollowed_face": s.hollowed}
        lines.append({"part": "widths at the frame", "frame": s.label, "edge": "both", "point": s.label,
                      **{k: _spell_number(v) for k, v in numbers.items() if v is not None}, **words})
    lines += [{"part": "saw line", "edge": p.edge, "point": p.name, "along": p.words,
               "saw_mm": _spell_number(p.length_mm)} for p in record.saw]
    for m in record.marks:
        heights = {"%s_mm" % m.edge: "%.3f" % m.up_mm} if m.edge in ("upper",
                                                                     "lower") else {"upper_mm": "%.3f" % m.up_mm}
        lines.append({"part": "mark on the %s edge" % m.edge, "frame": m.station, "edge": m.edge, "point": m.station,
                      "along_mm": "%.3f" % m.along_mm, **heights, "honest_error_mm": "%.3f" % m.error_mm,
                      "off_mm": "%.3f" % m.residual_mm, "verdict": m.verdict})
    for p in record.proofs:
        lines.append({"part": "proof", "edge": p.edge, "point": p.name, "along": p.words,
                      "along_mm": "%.3f" % p.length_mm})
    stream = io.StringIO()
    writer = csv.DictWriter(stream, _RECORD_COLUMNS, restval="")
    writer.writeheader()
    writer.writerows([{k: _disarm(str(v)) for k, v in line.items()} for line in lines])
    return stream.getvalue().encode("utf-8")


def _name_edges(row):
    found = [edge for edge, figure in (("upper", row.upper), ("lower", row.lower)) if figure is not None]
    return found[0] if len(found) == 1 else "both"


def _spell_number(value):
    """Three decimals, and never '-0.000'."""
    return "%.3f" % (round(value, 3) + 0.0)


def _spell_figures(figures):
    found = {}
    for name, figure in figures.items():
        if figure is not None:
            found[name], found[name + "_mm"] = figure.words, ("%.5f" % figure.value_mm).rstrip("0").rstrip(".")
    return found


def _disarm(cell):
    """A label that a spreadsheet would take for a formula is made plain text; numbers stay numbers."""
    if cell[:1] in ("=", "@", "\t", "\r") or (cell[:1] in ("+", "-") and not cell[1:].replace(".", "", 1).isdigit()):
        return "'" + cell
    return cell
