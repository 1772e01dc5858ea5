"""The report of a fairing that a person reads: a panel for each long edge, with bars for the residual at each frame,
the band within which the edge is known, and sentences on which marks were believed, which were not, and what to measure
again; for a batten its bend, the force at each nail, and how far it runs from the fair edge."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.strokes import draw_polyline
from ..model.drawing import SheetLine, SheetText
from ..model.page import SheetBlock
from ..model.plank import EdgeReport, ReportRow
from ..paper.blocks import make_ring, wrap_words
from .words import spell_force, tell_again, tell_believed, tell_unbelieved

if TYPE_CHECKING:
    from typing import Mapping

    from ..model.plank import Plank
    from .from_trace import FairedEdge

__all__ = ["draw_report", "list_reports"]

WIDE_MM = 360.0            # width of a panel
_LEFT_MM, _RIGHT_MM = 44.0, 12.0
_BARS_MM, _BEND_MM = 64.0, 42.0      # height of the field with the bars, and of that with the bend
_SMALL_MM, _WORDS_MM, _TITLE_MM = 2.8, 4.0, 7.0
_COLUMN_MM, _GAP_MM = 108.0, 10.0
_PLACES = 48               # number of bars for a trace
_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


def list_reports(plank: Plank, faired: Mapping[str, FairedEdge],
                 automatic: Mapping[str, FairedEdge]) -> tuple[EdgeReport, ...]:
    """EdgeReports of both long edges.

    Parameters
    ----------
    plank : Plank
        The plank as faired.
    faired, automatic : dict of str to FairedEdge
        The edges as drawn, and as fairing alone would have drawn them, without battens.
    """
    found = []
    for name in ("upper", "lower"):
        edge, marks = faired[name], [m for m in plank.marks if m.edge == name]
        if marks:
            x = edge.chart.read(np.array([m.point for m in marks]))[0]
            band = edge.measure_error(x)
            rows = tuple(ReportRow(m.station, float(x[k] - x.min()), plank.measure_outside_mm(m), m.error_mm,
                                   band_mm=float(band[k]), verdict=m.verdict, told=m.told)
                         for k, m in enumerate(marks))
        else:
            rows = _list_trace_rows(plank, name, edge)
        report = EdgeReport(name, rows, bool(marks), automatic[name].wave_mm)
        offs = {row: abs(f.number) for f in plank.findings if f.key == "mark-off" and f.number is not None
                for m, row in zip(marks, rows) if f.where == m.point}
        held = edge is not automatic[name]
        found.append(replace(report, believed=tell_believed(plank.edges[name], report, held=held),
                             unbelieved=tell_unbelieved(report, offs, edge.lost),
                             again=tell_again(plank.edges[name], report, edge.lost)))
    return tuple(found)


def _list_trace_rows(plank, name, edge):
    """Rows for a trace: the largest distance from the edge in each of many equal stretches."""
    x = edge.chart.read(edge.points)[0]
    off = edge.measure_off_mm(plank.edges[name].curve.extend(60.0), edge.points)
    sense = np.mean(edge.chart.read(plank.edges["lower" if name == "upper" else "upper"].curve.flatten())[1])
    off = -off if sense > np.mean(edge.chart.read(edge.points)[1]) else off
    cuts = np.linspace(x.min(), x.max(), _PLACES + 1)
    rows = []
    for first, last in zip(cuts[:-1], cuts[1:]):
        mine = np.flatnonzero((x >= first) & (x <= last))
        if len(mine):
            k = mine[int(np.argmax(np.abs(off[mine])))]
            rows.append(ReportRow("", float((first + last) / 2 - cuts[0]), float(off[k]), 0.0,
                                  band_mm=float(edge.measure_error(np.array([(first + last) / 2]))[0])))
    return tuple(rows)


def draw_report(plank: Plank) -> SheetBlock:
    """Panels of both long edges, one below the other, from (0, 0) to the right and down, mm; full of lines and words
    that are the report's own.
    """
    lines: list[SheetLine] = []
    texts: list[SheetText] = []
    top = 0.0
    for report in plank.reports:
        batten = next((b for b in plank.battens if b.edge == report.edge), None)
        top = _draw_panel(lines, texts, plank, report=report, batten=batten, top=top) + 14.0
    return SheetBlock(tuple(lines), tuple(texts))


def _write(texts, text, x, y, *, height=_SMALL_MM, anchor="start", style="note", angle=0.0):
    texts.append(SheetText(text, (float(x), float(y)), height, angle_deg=angle, anchor=anchor, style=style,
                           role="report"))


def _line(lines, points, style, *, closed=False, **values):
    points = np.asarray(points, float)
    lines.append(SheetLine(draw_polyline(np.vstack([points, points[:1]]) if closed else points), "draw", role="report",
                           style=style, closed=closed, values=tuple(values.items())))


def _draw_panel(lines, texts, plank, *, report, batten, top):
    """One edge's panel with its head at `top`; where it ends."""
    edge = plank.edges[report.edge]
    names = ", ".join(w for w in (plank.name, "strake %s" % plank.strake if plank.strake else "", plank.side) if w)
    _write(texts, "%s EDGE" % report.edge.upper(), 0, top + _TITLE_MM, height=_TITLE_MM)
    _write(texts, names, WIDE_MM, top + _TITLE_MM, height=_WORDS_MM, anchor="end")
    y = top + _TITLE_MM + 9.0
    what = "marks" if report.marked else "the line"
    _write(texts, "How far %s lie%s off the edge, mm; upward is outside the wood" % (
        what, "" if report.marked else "s"), 0, y)
    legend = WIDE_MM - 150.0
    _line(lines, [(legend, y - 1.4), (legend + 12, y - 1.4)], "report-band")
    _write(texts, "twice the edge's own error", legend + 15, y)
    if report.marked:
        _line(lines, [(legend + 84, y - 1.4), (legend + 92, y - 1.4)], "report-error")
        _write(texts, "a mark's honest error", legend + 95, y)
    place = _make_scale(report, batten, plank.forward)
    y = _draw_bars(lines, texts, report, top=y + 9.0, place=place)
    if batten is not None:
        y = _draw_batten(lines, texts, batten, top=y + 9.0, place=place)
    y += 8.0
    deepest = y
    for k, (head, rows) in enumerate((("BELIEVED", report.believed), ("NOT BELIEVED", report.unbelieved),
                                      ("MEASURE AGAIN", report.again))):
        x, at = k * (_COLUMN_MM + _GAP_MM + 8.0), y
        odd = k > 0 and (bool(edge.guesses) and k == 2 or any(r.verdict != "used" for r in report.rows))
        style = "warning" if odd else "note"
        _write(texts, head, x, at + _WORDS_MM, height=_WORDS_MM, style=style)
        at += 3.0
        for row in rows:
            for piece in wrap_words(row, _COLUMN_MM, _SMALL_MM + 0.4):
                at += 5.6
                _write(texts, piece, x, at + _WORDS_MM, height=_SMALL_MM + 0.4, style=style)
            at += 1.4
        deepest = max(deepest, at + _WORDS_MM)
    bottom = deepest + 5.0
    _line(lines, [(-6, top - 6), (WIDE_MM + 6, top - 6), (WIDE_MM + 6, bottom), (-6, bottom)], "report-frame",
          closed=True, panel=report.edge)
    return bottom + 6.0


def _make_scale(report, batten, forward):
    """place(along) on the panel: as the plank lies on the page, so that fore is on the side the bow lies."""
    along = [r.along_mm for r in report.rows] + ([a.along_mm for a in batten.apart] if batten is not None else [])
    low, high = min(along), max(along)
    room = WIDE_MM - _LEFT_MM - _RIGHT_MM - 16.0

    def place(at):
        share = (np.asarray(at, float) - low) / max(high - low, 1.0)
        return _LEFT_MM + 8.0 + room * (1 - share if forward == "right" else share)
    return place


def _draw_bars(lines, texts, report, *, top, place):
    """The field of bars with its scale, from `top` down; where it ends."""
    rows = report.rows
    most = max([abs(r.residual_mm) for r in rows] + [r.error_mm for r in rows] + [2 * r.band_mm for r in rows] + [0.1])
    step = next((s for s in _STEPS if most / s <= 4), _STEPS[-1])
    reach = step * np.ceil(most / step + 0.3)
    middle, tall = top + _BARS_MM / 2, _BARS_MM / 2 / reach
    left, right = _LEFT_MM, WIDE_MM - _RIGHT_MM
    for k in range(-int(reach / step), int(reach / step) + 1):
        y = middle - k * step * tall
        _line(lines, [(left, y), (right, y)], "report" if k == 0 else "grid")
        _write(texts, "%+g" % round(k * step, 6) if k else "0", left - 3.0, y + _SMALL_MM / 2, anchor="end")
    x = [float(place(r.along_mm)) for r in rows]
    wide = float(np.clip(0.45 * min(np.abs(np.diff(sorted(x))).min() if len(x) > 1 else 9.0, 18.0), 1.2, 7.0))
    order = np.argsort(x)
    for sign in (1, -1):
        band = [(x[k], middle - sign * min(2 * rows[k].band_mm, reach) * tall) for k in order]
        _line(lines, band, "report-band")
    room = np.abs(np.diff(sorted(x))).min() if len(x) > 1 else 99.0
    for at, row in zip(x, rows):
        odd = row.verdict != "used"
        height = float(np.clip(row.residual_mm, -reach, reach)) * tall
        _line(lines, [(at - wide / 2, middle), (at + wide / 2, middle), (at + wide / 2, middle - height),
                      (at - wide / 2, middle - height)], "bar-doubt" if odd else "bar", closed=True,
              bar=report.edge, station=row.station, residual_mm=row.residual_mm, band_mm=row.band_mm)
        for sign in (1, -1) if row.error_mm else ():
            y = middle - sign * min(row.error_mm, reach) * tall
            _line(lines, [(at - wide / 2 - 1.5, y), (at + wide / 2 + 1.5, y)], "report-error")
        if report.marked and (room > 9.5 or odd):
            _write(texts, _spell(row.residual_mm, 2), at, top + _BARS_MM + 13.0, height=_SMALL_MM - 0.2,
                   anchor="middle", style="warning" if odd else "note")
        if odd:
            lines.append(make_ring((at, middle - height / 2), abs(height) / 2 + 4.5, role="report"))
        if row.station and (room > 7 or odd):
            _write(texts, row.station, at, top + _BARS_MM + 6.0, height=3.4, anchor="middle",
                   style="warning" if odd else "note")
        if row.told:
            _write(texts, row.told, at, top + _BARS_MM + 18.0, height=_SMALL_MM - 0.4, anchor="middle")
    fore_left = float(place(rows[0].along_mm)) < float(place(rows[-1].along_mm))
    for at, word, anchor in zip((left, right), ("fore", "aft") if fore_left else ("aft", "fore"), ("start", "end")):
        _write(texts, word, at, top - 1.5, anchor=anchor)
    if report.marked:
        _write(texts, "Frame", 0, top + _BARS_MM + 6.0)
        _write(texts, "Off the edge", 0, top + _BARS_MM + 13.0)
    return top + _BARS_MM + (18.0 if any(r.told for r in rows) else 13.0 if report.marked else 3.0)


def _spell(value, places):
    """A number with its sign, zero without."""
    words = "%+.*f" % (places, value)
    return words if float(words) else words[1:]


def _draw_batten(lines, texts, batten, *, top, place):
    """Bend of the batten and of the fair edge, the force at each nail, and the difference at each frame."""
    along, held, fair = batten.bends.T
    _write(texts, "Bend along the edge, 1/m: batten dashed, fair edge plain. At a nail the batten's bend changes its "
           "slope, by the force over EI.", 0, top)
    top += 6.0
    most = max(float(np.abs(held).max()), float(np.abs(fair[2:-2]).max()), 1e-9)
    middle, tall = top + _BEND_MM / 2, _BEND_MM / 2 / most
    left, right = _LEFT_MM, WIDE_MM - _RIGHT_MM
    _line(lines, [(left, middle), (right, middle)], "report")
    for value in (most, -most):
        _write(texts, "%+.2g" % (1000 * value), left - 3.0, middle - value * tall + _SMALL_MM / 2, anchor="end")
    x = place(along)
    # the fair edge's bend comes from differences, which are one-sided at the two places at each end: leave those out
    _line(lines, np.column_stack([x, middle - np.clip(fair, -most, most) * tall])[2:-2], "report-fair")
    _line(lines, np.column_stack([x, middle - held * tall]), "held")
    foot = top + _BEND_MM
    rows = [(float(place(a.along_mm)), a) for a in batten.apart]
    hardest = max(abs(n.jump_per_mm2) for n in batten.nails) or 1.0
    for nail in batten.nails:
        near = min(batten.apart, key=lambda a: np.hypot(a.point[0] - nail.point[0], a.point[1] - nail.point[1]))
        at = float(place(near.along_mm))
        _line(lines, [(at, middle - _BEND_MM / 2), (at, middle + _BEND_MM / 2)], "datum")
        size = 7.0 * nail.jump_per_mm2 / hardest
        _line(lines, [(at - 1.5, foot + 11.0), (at + 1.5, foot + 11.0), (at + 1.5, foot + 11.0 - size),
                      (at - 1.5, foot + 11.0 - size)], "bar-force", closed=True, station=nail.station,
              force_per_ei_m2=1e6 * nail.jump_per_mm2, **({} if nail.force_n is None else {"force_n": nail.force_n}))
        _write(texts, spell_force(nail), at, foot + 23.0, height=_SMALL_MM - 0.2, anchor="middle")
    _write(texts, "Force of the nail", 0, foot + 23.0)
    _line(lines, [(left, foot + 11.0), (right, foot + 11.0)], "grid")
    y = foot + 30.0
    _write(texts, "Batten off edge", 0, y)
    room = np.abs(np.diff(sorted(at for at, _ in rows))).min() if len(rows) > 1 else 99.0
    worst = max(batten.apart, key=lambda a: abs(a.apart_mm))
    for at, one in rows:
        if room > 8.5 or one is worst or any(one.point == n.point for n in batten.nails):
            _write(texts, _spell(one.apart_mm, 1), at, y, height=_SMALL_MM - 0.2, anchor="middle",
                   style="warning" if one is worst else "note")
    if batten.source:
        y += 7.0
        _write(texts, "EI %.3g N m2. %s" % (batten.stiffness_nmm2 / 1e6, batten.source), 0, y, height=_SMALL_MM - 0.4)
    return y
