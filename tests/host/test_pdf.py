"""The plot sheet as SVG and as the PDF that the editor makes of it: true size, and what is cut apart from what is drawn."""
import io

import numpy as np
import pypdf
import pytest

from host.pdf import measure_bar_mm, read_pdf
from host.reader import read

TRUE_MM = 0.05             # of a bar of 1000 mm


@pytest.fixture(scope="module")
def sheet(outcomes):
    """(SVG reading, PDF bytes) of the traced strake, both made by the action in the editor."""
    path = outcomes("traced").editor_sheet
    return read(path), path.with_suffix(".pdf").read_bytes()


def scale_pdf(data, along, across):
    """The same PDF as a plot driver that fits it to the page would print it."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(data))
    page, = writer.pages
    page.add_transformation((along, 0, 0, across, 0, 0))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def find_bars(svg):
    return [(b, b.trace()) for b in svg.find("scale-bar")]


def measure_worst_bar_mm(svg, page):
    """How far the worst of the bars is from the length it claims, in the share of it that 1000 mm would have."""
    return max(abs(measure_bar_mm(page, line) / bar.number("length-mm") - 1) for bar, line in find_bars(svg)) * 1000


def measure_drift_mm(svg, page):
    """Compare every path: the largest distance between control points of SVG and PDF, mm."""
    drawn = [[np.vstack([run.pieces[0][:1]] + [p[1:] for p in run.pieces]) for run in item.runs] for item in svg.items if item.runs]
    assert len(drawn) == len(page.paths)
    worst = 0.0
    for runs, path in zip(drawn, page.paths):
        assert len(runs) == len(path)
        for run, (points, closed) in zip(runs, path):
            # what closes a path is a point in the one and an operator in the other
            run = run[:-1] if closed and len(run) == len(points) + 1 else run
            assert len(run) == len(points)
            worst = max(worst, float(np.hypot(*(run - points).T).max()))
    return worst


def test_the_bars_claim_what_they_measure_in_the_svg(sheet):
    bars = find_bars(sheet[0])
    assert {round(b.number("length-mm"), 3) for b, _ in bars} == {1000.0, 914.4, 150.0, 152.4}
    assert {b.values["along"] for b, _ in bars} == {"along", "across"}
    for bar, line in bars:
        way = line[1] - line[0]
        assert np.hypot(*way) == pytest.approx(bar.number("length-mm"), abs=1e-6)
        assert abs(way[1 if bar.values["along"] == "along" else 0]) < 1e-9


def test_a_thousand_mm_is_a_thousand_mm_in_the_pdf(sheet):
    svg, data = sheet
    long, = [line for bar, line in find_bars(svg) if bar.number("length-mm") == 1000]
    assert measure_bar_mm(read_pdf(data), long) == pytest.approx(1000, abs=TRUE_MM)
    assert measure_worst_bar_mm(svg, read_pdf(data)) <= TRUE_MM


@pytest.mark.parametrize("along, across", [(1.0001, 1.0001), (1.0001, 1.0), (1.0, 0.9995), (0.98, 0.98)])
def test_planted_fault_a_pdf_out_of_scale_is_caught(sheet, along, across):
    svg, data = sheet
    page = read_pdf(scale_pdf(data, along, across))
    assert measure_worst_bar_mm(svg, page) > TRUE_MM
    assert measure_drift_mm(svg, page) > TRUE_MM


def test_every_line_of_the_sheet_is_in_the_pdf_at_its_place(sheet):
    svg, data = sheet
    assert measure_drift_mm(svg, read_pdf(data)) <= 0.01


def test_the_page_is_the_sheet(sheet):
    svg, data = sheet
    page = read_pdf(data)
    assert (page.width_mm, page.height_mm) == pytest.approx((svg.width_mm, svg.height_mm), abs=0.01)


@pytest.mark.parametrize("name", ["traced", "marks", "edges"])
def test_one_unit_of_the_sheet_is_one_mm_and_it_holds_everything(outcomes, name):
    svg = read(outcomes(name).editor_sheet)
    root = svg.items[0].element.getroottree().getroot()
    assert root.get("width") == "%smm" % root.get("viewBox").split()[2] and root.get("height") == "%smm" % root.get("viewBox").split()[3]
    assert svg.box == (0, 0, svg.width_mm, svg.height_mm) and svg.scale == 1
    told = svg.one("sheet")
    assert (told.number("width-mm"), told.number("height-mm")) == pytest.approx((svg.width_mm, svg.height_mm), abs=1e-6)
    places = np.vstack([run.trace(8) for item in svg.items for run in item.runs])
    assert places.min() >= 0 and np.all(places.max(axis=0) <= [svg.width_mm, svg.height_mm])


@pytest.mark.parametrize("name", ["traced", "marks", "edges"])
def test_what_is_cut_lies_apart_from_what_is_drawn(outcomes, name):
    svg = read(outcomes(name).editor_sheet)
    cut, = svg.within(svg.one("layer", layer="cut"))
    assert cut.role == "saw" and [r.closed for r in cut.runs] == [True]
    drawn = svg.within(svg.one("layer", layer="draw"))
    assert not [i for i in drawn if i.role == "saw"]
    assert {"outline", "station", "scale-bar", "label", "name", "note"} <= {i.role for i in drawn}
    assert len(drawn) + 1 == len([i for i in svg.items if i.runs])          # nothing outside the two layers


def test_the_cut_line_of_the_sheet_is_the_saw_line_of_the_drawing(outcomes):
    """The sheet turns the plank to lie along it: the same shape, moved as a whole."""
    done = outcomes("traced")
    here, there = (read(p).one("saw").trace(8) for p in (done.editor, done.editor_sheet))
    assert here.shape == there.shape
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    turn = np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b))
    turned = a @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    assert np.hypot(*(turned - b).T).max() <= 1e-5
    assert abs(turn) < np.radians(5)


def test_the_sheet_says_what_the_sawyer_must_know(outcomes):
    svg = read(outcomes("traced").editor_sheet)
    words = " ".join(i.values["text"] for i in svg.items if "text" in i.values)
    for word in ("TAMSIN GREY", "STRAKE 5", "STARBOARD", "FWD", "UP", "OUTBOARD FACE UP", "NOT MIRRORED", "INBOARD FACE", "SAW LINE", "UPPER 3 MM", "LOWER 3.2 MM",
                 "FORE 25 MM", "AFT 19.1 MM", "MEASURE THE BARS", "NOT AN APPROVAL", "22.2 MM"):
        assert word in words, word
    assert [i.values["text"] for i in svg.items if i.role == "label" and i.values["text"].isdigit()] == [str(f) for f in range(7, 18)]
