"""A Record as a page of HTML that needs nothing else, no script, no network.

Page 1 is complete alone: what the plank is, its sketch, the offsets in the yard's own figures, the lengths that prove
them, and what the line is.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

from lxml import etree
from lxml.builder import E

from ..path_text import write_cubics

if TYPE_CHECKING:

    from ...model.record import Record

__all__ = ["spell_html"]

# Black on white, the system's own letters; what is on the page fits between the margins of A4 (210 mm) and letter
# (215.9 mm) alike.
_CSS = """
@page { margin: 12mm 10mm; }
* { box-sizing: border-box; }
body { width: 186mm; max-width: 190mm; margin: 4mm auto; color: #000; background: #fff; overflow-wrap: break-word;
       font: 10.5pt/1.35 system-ui, "Helvetica Neue", Arial, "DejaVu Sans", sans-serif; }
h1 { font-size: 19pt; line-height: 1.15; margin: 0 0 1mm; }
h2 { font-size: 12.5pt; margin: 6mm 0 1.5mm; border-bottom: 0.4mm solid #000; break-after: avoid;
     page-break-after: avoid; }
p, li { margin: 0 0 1.2mm; }
ol, ul { margin: 0; padding-left: 6mm; }
.lead { font-size: 11.5pt; margin-bottom: 3mm; }
table { width: 100%; border-collapse: collapse; margin: 1.5mm 0; }
thead { display: table-header-group; }
tr, svg, .keep, .blanks { break-inside: avoid; page-break-inside: avoid; }
th, td { border: 0.15mm solid #555; padding: 0.9mm 1.6mm; text-align: left; vertical-align: top; }
th { font-weight: 600; }
.facts th { width: 24%; }
.facts td { width: 26%; }
.facts td, .label, h1, p, li { overflow-wrap: anywhere; }
.offsets td, .proofs td { font-size: 11.5pt; }
.figure { text-align: right; }
td.figure { font-variant-numeric: tabular-nums; white-space: nowrap; }
.frames td { white-space: pre-line; }
.frames th, .frames td { font-size: 8pt; line-height: 1.2; padding: 0.6mm 0.5mm; }
.blank { height: 7mm; }
.caption { break-after: avoid; page-break-after: avoid; }
.between td { color: #222; }
.corner td, .worst td { font-weight: 600; }
.doubt, .caution { border-left: 1.2mm solid #000; padding-left: 8mm; }
svg { display: block; width: 186mm; max-width: 100%; height: auto; margin: 1mm 0; }
.first { font-size: 8.5pt; line-height: 1.2; }
.first h1 { font-size: 16pt; }
.first h2 { font-size: 10pt; margin: 2mm 0 0.8mm; }
.first .lead { font-size: 9.5pt; margin-bottom: 1.5mm; }
.first p, .first li { margin: 0 0 0.5mm; }
.first .caption, .first .proofs td { font-size: 8pt; }
.first ul { padding-left: 4mm; }
.first th, .first td { padding: 0.35mm 1.2mm; }
.first .blank { height: 5mm; }
.first .offsets td { font-size: 9pt; }
.dense .offsets td { font-size: 7.5pt; padding: 0.05mm 1.2mm; line-height: 1.12; }
.halves { display: table; table-layout: fixed; width: 100%; }
.half { display: table-cell; vertical-align: top; }
.wide { width: 55%; padding-right: 4mm; }
.first .facts th { width: 18%; }
.first .facts td { width: 32%; }
.first .facts { font-size: 8pt; }
.first li { font-size: 8pt; }
.count { font-weight: 600; }
.blanks { table-layout: fixed; }
.blanks th, .blanks td { font-size: 9pt; padding: 0.7mm 1.2mm; }
.filled h2 { margin: 4mm 0 1mm; }
.blanks td.blank { height: 6.5mm; }
.blanks.words td.blank { height: 8mm; }
.blanks th:first-child { width: 36%; }
@media print { body { margin: 0; } .page { break-before: page; page-break-before: always; } }
"""

# black alone, told apart by pattern and weight: width in mm, dashes
_LOOKS = {"edge": (0.5, ""), "baseline": (0.15, "4 1 0.6 1"), "mark": (0.3, ""), "station": (0.18, ""),
          "lead": (0.1, "0.6 0.6"), "joint": (0.45, "1.6 0.7"),
          "doubtful": (0.4, ""), "worst": (0.25, "0.8 0.6"), "arrow": (0.4, ""), "bar": (0.3, "")}


# -- the page --------------------------------------------------------------------------------------------------

def spell_html(record: Record) -> bytes:
    """The page, as bytes in UTF-8."""
    parts = [_lay_first(record)]
    if record.stations:
        parts.append(E.div({"class": "page"}, *_lay_stations(record)))
    if record.saw:
        parts += _lay_saw(record)
    if record.marks:
        parts += _lay_marks(record)
    for table in record.tables[1:]:
        parts += _lay_offsets(record, table)
    parts += [E.h2("To strike the plank"), E.ol(*(E.li(t) for t in record.steps)),
              E.h2("How the figures are read"), E.ul(*(E.li(t) for t in record.key))]
    parts.append(E.div({"class": "page"}, *([E.h2("In doubt"), E.ul({"class": "doubt"}, *(
        E.li(t) for t in record.doubts))] if record.doubts else []), E.h2("Cautions"),
        E.ul({"class": "caution"}, *(E.li(t) for t in record.cautions))))
    for section in record.sections:
        parts.append(E.h2(section.heading))
        parts += [E.p({"class": "caption"} if section.cells else {}, row) for row in section.rows]
        if section.cells:
            parts.append(_lay_table(section.columns, section.cells))
    if record.blanks:
        parts.append(E.div({"class": "page filled"}, *(part for one in record.blanks for part in _lay_blanks(one))))
    head = E.head(E.meta(charset="utf-8"), E.title("Plank record: " + record.title),
                  E.meta(name="viewport", content="width=device-width"), E.style(_CSS))
    page = E.html({"lang": "en"}, head, E.body(*parts))
    return etree.tostring(page, method="html", doctype="<!DOCTYPE html>", encoding="utf-8", pretty_print=False)


_DENSE = 27                # with more rows of offsets than this, page 1 needs smaller letters


def _lay_first(record):
    """Page 1: what the plank is, its sketch, one table of offsets, proof lengths, what the line is."""
    table = record.tables[0]
    ends = sum(len(table.ends[end]) or 1 for end in ("fore", "aft"))
    key = [t for t in record.key if t.startswith("Feet")] if table.figures == "inches" else []
    left = [*_lay_offsets(record, table), *(E.p(t) for t in key)]
    right = [E.h2("Proof lengths"),
             _lay_table(("Measure", "It must be"), [(p.name, p.words) for p in record.proofs],
                        look="proofs", figures=(1,)),
             E.h2("What the figures are"), E.ul(*(E.li(t) for t in record.includes))]
    many = len(table.rows) + ends + 5 * len(key) > _DENSE
    return E.div({"class": "first dense" if many else "first"}, E.h1(record.title),
                 E.p({"class": "lead"}, "Plank record. Checked against the rules named in it; not an approval."),
                 _lay_facts(record.facts), E.p({"class": "count"}, record.count),
                 E.div({"class": "keep"}, _lay_sketch(record.sketch), E.p(_explain_sketch(record))),
                 E.div({"class": "halves"}, E.div({"class": "half wide"}, *left), E.div({"class": "half"}, *right)))


def _lay_blanks(section):
    """A form to be filled in by hand: what is known is printed, the rest is left blank."""
    rows = [E.tr(E.th(row[0]), *(E.td(cell) if cell else E.td({"class": "blank"}) for cell in row[1:]))
            for row in section.cells]
    head = [E.thead(E.tr(*(E.th(c) for c in section.columns)))] if any(section.columns) else []
    table = E.table({"class": "blanks words" if len(section.columns) == 2 else "blanks"}, *head, E.tbody(*rows))
    return [E.h2(section.heading), *(E.p({"class": "caption"}, row) for row in section.rows), table]


def _lay_facts(facts):
    """Two facts in each row; unknown ones are blanks to write in."""
    cells = []
    for name, text in facts:
        cells.append((E.th(name), E.td(text) if text else E.td({"class": "blank"})))
    cells += [(E.th(), E.td())] * (len(cells) % 2)
    return E.table({"class": "facts"}, E.tbody(*(E.tr(*cells[k], *cells[k + 1]) for k in range(0, len(cells), 2))))


def _lay_table(columns, rows, *, look="", figures=(), labels=(), looks=None):
    """A table of text. figures : columns that are aligned to the right. labels : columns with text that people have
    typed, which may be long."""
    body = [E.tr({"class": looks[k]} if looks and looks[k] else {},
                 *(E.td({"class": "figure" if c in figures else "label" if c in labels else "word"}, cell)
                   for c, cell in enumerate(row))) for k, row in enumerate(rows)]
    return E.table({"class": look} if look else {},
                   E.thead(E.tr(*(E.th({"class": "figure"} if k in figures else {}, c)
                                  for k, c in enumerate(columns)))), E.tbody(*body))


def _lay_offsets(record, table):
    """The offsets in one kind of figures, and the bow of the ends."""
    unit = "mm" if table.figures == "mm" else "feet-inches-eighths"
    rows = [(row.label, *(_print_offset(f, row) for f in (row.along, row.upper, row.lower))) for row in table.rows]
    fine = "" if table.fine_rounding == table.rounding else "; corners and ends to %s" % table.fine_rounding
    found = [E.h2("Offsets, %s" % unit), E.p({"class": "caption"}, "Along: aft from the fore mark. Up or down: square "
                                                                   "from the baseline. Rounded to %s%s."
                                             % (table.rounding, fine))]
    laid = _lay_table(("Frame or point", "Along", "Upper edge", "Lower edge"), rows, look="offsets",
                      figures=(1, 2, 3), labels=(0,), looks=[r.kind for r in table.rows])
    laid.set("id", "offsets-" + table.figures)
    ends = E.table({"class": "offsets", "id": "ends-" + table.figures},
                   E.thead(E.tr(*(E.th(c) for c in ("End", "Down from the upper corner", "Off the line")))), E.tbody())
    for end in ("fore", "aft"):
        points = table.ends[end] or None
        for point in points or ():
            ends[1].append(E.tr(E.td("%s end" % end), E.td({"class": "figure"}, point.down.words),
                                E.td({"class": "figure"}, point.out.words)))
        if points is None:
            ends[1].append(E.tr(E.td("%s end" % end), E.td({"colspan": "2"}, "straight from corner to corner")))
    return found + [laid, E.div({"class": "keep"}, E.p({"class": "caption"}, "Ends: points from the straight line "
                                                                             "between the corners; 'outside' is away "
                                                                             "from the plank."), ends)]


def _print_offset(figure, row):
    if figure is None:
        return "\u2013"
    return figure.words if row.batten else "(%s)" % figure.words


def _lay_stations(record):
    columns = ("Frame", "Inside width", "Outside width", "Bevel upper, deg", "Bevel lower, deg", "Hollow, mm",
               "Thickness, mm", "Saw line off upper edge", "Saw line off lower edge", "Upper mark, mm off",
               "Lower mark, mm off", "Stock, mm", "Strain, mm per m", "Note")
    keys = ("inside_mm", "outside_mm", "upper_bevel", "lower_bevel", "hollow_mm", "thickness_mm", "upper_saw",
            "lower_saw", "upper_residual", "lower_residual", "stock_mm", "strain", "note")
    used = [k for k in keys if k in ("inside_mm", "outside_mm", "upper_residual", "lower_residual")
            or any(k in s.words for s in record.stations)]
    heads = [columns[0]] + [columns[1 + keys.index(k)] for k in used]
    rows = [(s.label, *(s.words.get(k, "\u2013") for k in used)) for s in record.stations]
    unknown = [columns[1 + keys.index(k)].lower() for k in keys[:-3]
               if not any(k in s.words for s in record.stations)]
    note = ("Widths along the frame line. Bevels from square, to plane: + where the outside face is wider, - where "
            "it is narrower; in brackets what was not measured at that frame; radial: none was given, so the edge is "
            "square to the frame's curve, less the seam where there is one. ")
    note += ("Hollow: depth, and the face it is planed out of. Saw line: from the net line where the frame meets it, "
             "square to it, out to the saw line as drawn. ")
    note += "Marks: how far they lie off the fair edge, + outside it, - inside." + (
        " Not worked out: %s." % ", ".join(unknown) if unknown else "")
    table = _lay_table(heads, rows, look="frames",
                       figures=[k for k, head in enumerate(heads) if k and head != "Note"], labels=(0,))
    table.set("id", "stations")
    return [E.h2("At the frames"), E.p({"class": "caption"}, note), table]


def _lay_saw(record):
    table = _lay_table(("Place", "Outside the net line"), [(p.name, p.words) for p in record.saw], figures=(1,))
    table.set("id", "saw")
    return [E.h2("The saw line away from the frames"),
            E.p({"class": "caption"}, "Square to the net line, out to the saw line as drawn; an end is measured down "
                                      "from its upper corner."), table]


def _lay_marks(record):
    rows = [(m.edge, m.station or "\u2013", "%.1f" % m.along_mm, "%.1f" % m.up_mm, "%.2f" % m.error_mm,
             "%+.2f" % m.residual_mm, m.verdict.replace("-", " ") + (", worst" if m.worst else ""))
            for m in record.marks]
    table = _lay_table(("Edge", "Frame", "Along", "Up from the baseline", "Honest error", "Off the fair edge",
                        "Verdict"), rows, figures=(2, 3, 4, 5), labels=(1,),
                       looks=["worst" if m.worst else "" for m in record.marks])
    return [E.h2("The marks as measured"), E.p({"class": "caption"}, "The old shape, kept beside the fair one; mm; "
                                                                     "off the fair edge: + outside it, - inside. The "
                                                                     "worst is ringed on the sketch."), table]


def _explain_sketch(record):
    words = ["Scale %s. Thin lines: frames. Dots and dashes: the baseline." % record.sketch.scale]
    roles = {line.role for line in record.sketch.lines}
    words += [text for role, text in (("joint", "Heavy dashes: scarfs and butts."),
                                      ("doubtful", "Ringed: doubtful marks."),
                                      ("worst", "Dashed ring: the mark that lies farthest off.")) if role in roles]
    return " ".join(words)


def _lay_sketch(sketch):
    """The sketch as inline SVG, one unit to the mm."""
    size = "%.2f %.2f" % (sketch.width_mm, sketch.height_mm)
    svg = E.svg({"viewBox": "0 0 " + size, "width": "%.2fmm" % sketch.width_mm, "height": "%.2fmm" % sketch.height_mm,
                 "role": "img"},
                E.title("Sketch of the plank, " + sketch.scale))
    for line in sketch.lines:
        width, dashes = _LOOKS[line.role]
        values = {"d": write_cubics(line.cubics, closed=line.closed), "class": line.role, "fill": "none",
                  "stroke": "#000", "stroke-width": "%g" % width, "stroke-linejoin": "round"}
        svg.append(E.path(dict(values, **({"stroke-dasharray": dashes} if dashes else {}))))
    for text in sketch.texts:
        x, y = text.at_mm
        svg.append(E.text({"x": "%.3f" % x, "y": "%.3f" % y, "font-size": "%g" % text.height_mm,
                           "text-anchor": text.anchor, "font-family": "sans-serif"}, text.text))
    return svg
