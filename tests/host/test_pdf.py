"""The plot sheet as SVG and PDF, and the PDF that the editor makes of the SVG: true size, and what is cut apart from
what is drawn.
"""
import io
import os
import subprocess

import numpy as np
import pypdf
import pytest
from host.conftest import require
from host.editor import find_missing
from host.pdf import measure_bar_mm, read_pdf, read_pdf_pages
from host.reader import read
from host.scripts import run_script

TRUE_MM = 0.05             # of a bar of 1000 mm


@pytest.fixture(scope="module")
def sheet(outcomes):
    """(SVG reading, PDF bytes) of the traced strake, both made by the action in the editor."""
    done = outcomes("traced")
    return done.sheet_reading, done.editor_sheet.with_suffix(".pdf").read_bytes()


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
    """Compare every stroke: the largest distance between control points of SVG and PDF, mm."""
    drawn = [(np.vstack([run.pieces[0][:1]] + [p[1:] for p in run.pieces]), run.closed) for item in svg.items
             for run in item.runs]
    found = [one for path in page.paths for one in path]
    assert len(drawn) == len(found)
    worst = 0.0
    for (run, _), (points, closed) in zip(drawn, found):
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
    svg = outcomes(name).sheet_reading
    root = svg.items[0].element.getroottree().getroot()
    assert root.get("width") == "%smm" % root.get("viewBox").split()[2] and root.get("height") == "%smm" % root.get(
        "viewBox").split()[3]
    assert svg.box == (0, 0, svg.width_mm, svg.height_mm) and svg.scale == 1
    told = svg.one("sheet")
    assert (told.number("width-mm"), told.number("height-mm")) == pytest.approx((svg.width_mm, svg.height_mm), abs=1e-6)
    places = np.vstack([run.trace(8) for item in svg.items for run in item.runs])
    assert places.min() >= 0 and np.all(places.max(axis=0) <= [svg.width_mm, svg.height_mm])


@pytest.mark.parametrize("name", ["traced", "marks", "edges"])
def test_what_is_cut_lies_apart_from_what_is_drawn(outcomes, name):
    svg = outcomes(name).sheet_reading
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
    svg = outcomes("traced").sheet_reading
    words = " ".join(i.values["text"] for i in svg.items if "text" in i.values)
    for word in ("TAMSIN GREY", "STRAKE 5", "STARBOARD", "FWD", "UP", "OUTBOARD FACE UP", "NOT MIRRORED",
                 "INBOARD FACE", "SAW LINE", "UPPER EDGE: SAW 3 MM", "LOWER EDGE: SAW 3.2 MM",
                 "FORE END: SAW 25 MM", "AFT END: SAW 19.1 MM", "MEASURE THE BARS", "NOT AN APPROVAL", "22.2 MM"):
        assert word in words, word
    assert [i.values["text"] for i in svg.items if i.role in ("label", "short-card")
            and i.values["text"].isdigit()] == [str(f) for f in range(7, 18)]


# -- pages -------------------------------------------------------------------------------------------------------------

MEDIA = {"tiles": {"sheets": "tiles", "sheet_size": "A3"}, "roll": {"sheets": "roll", "roll": "24 in (610 mm)"}}


@pytest.fixture(scope="module", params=MEDIA)
def pages(request, outcomes, tmp_path_factory):
    """(kind, SVG path, our PDF, the PDF that the editor makes of the SVG) of the traced strake."""
    folder = tmp_path_factory.mktemp(request.param)
    result = run_script("plank_plot", outcomes("traced").scripts, folder / "out.svg",
                        settings={"file_name": "pages", "folder": folder, **MEDIA[request.param]},
                        saved_as=str(folder / "out.svg"))
    assert result.code == 0, result.said
    require(find_missing())
    env = dict(os.environ, INKSCAPE_PROFILE_DIR=str(folder / "profile"), DBUS_SESSION_BUS_ADDRESS="disabled:")
    subprocess.run(["inkscape", str(folder / "pages.svg"), "--export-filename=%s" % (folder / "editor.pdf")], env=env,
                   check=True, timeout=120,
                   stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return request.param, folder / "pages.svg", (folder / "pages.pdf").read_bytes(), (
        folder / "editor.pdf").read_bytes()


def test_the_editor_exports_the_same_pages(pages):
    """As many, and of the same size, as in our own PDF."""
    kind, _svg, ours, editors = pages
    told, found = ([(float(p.mediabox.width), float(p.mediabox.height))
                    for p in pypdf.PdfReader(io.BytesIO(data)).pages] for data in (ours, editors))
    assert len(told) == len(found) == (1 if kind == "roll" else 8)
    assert np.abs(np.subtract(told, found)).max() * 25.4 / 72 <= 0.02


def test_bars_and_crosses_are_true_in_both(pages):
    """A bar of the key, and crosses of every tile, measured in the strokes of either PDF against the SVG."""
    kind, path, ours, editors = pages
    svg = read(path)
    bars = [b for b in svg.find("scale-bar")]
    first, page = read_pdf_pages(ours), pypdf.PdfReader(io.BytesIO(editors))
    lengths = {round(b.number("length-mm"), 1) for b in bars}
    strokes = [p for one in first for drawn in one.paths for p, _ in drawn if len(p) == 2]
    for told in lengths:
        assert min(abs(float(np.hypot(*(s[1] - s[0]))) - told) for s in strokes) <= TRUE_MM * told / 1000
    assert len(page.pages) == len(first)
    if kind == "tiles":
        crosses = [i for i in svg.items if i.role == "join-mark"]
        by_name = {}
        for item in crosses:
            by_name.setdefault(item.values["cross"],
                               []).append(np.mean([run.trace(2).mean(axis=0) for run in item.runs], axis=0))
        assert by_name and all(len(places) == 2
                               for places in by_name.values()), "each cross lies on both tiles of its join"


def test_tiles_are_pages_of_the_editors(pages):
    kind, path, _, _ = pages
    root = read(path).items[0].element.getroottree().getroot()
    told = root.findall(".//{http://www.inkscape.org/namespaces/inkscape}page")
    assert len(told) == (0 if kind == "roll" else 8)
    lefts = [float(p.get("x")) for p in told]
    assert lefts == sorted(lefts) and all(p.get("y") == "0" for p in told)


@pytest.mark.parametrize("change, words", [
    ({"sheets": "roll", "roll": "own size"}, ["roll 0 mm wide", "Own width"]),
    ({"sheets": "tiles", "overlap": "1 mm"}, ["overlap"]), ({"medium": "film"}, ["has not been measured"]),
    ({"calibrate": "a sheet that was not corrected"}, ["no name"]),
    ({"medium": "film", "calibrate": "a sheet that was not corrected"}, ["Bar along"]),
    ({"hpgl": "true", "hpgl_range": "classic"}, ["819 mm"]),
    ({"knife_offset": "9 mm"}, ["blade offset"]), ({"svg": "false", "pdf": "false"}, ["No format"])])
def test_what_cannot_be_plotted_is_refused_and_nothing_is_written(outcomes, tmp_path, change, words):
    settings = {"file_name": "no", "folder": tmp_path, "media_file": tmp_path / "media.csv", **change}
    result = run_script("plank_plot", outcomes("traced").scripts, tmp_path / "out.svg", settings=settings,
                        saved_as=str(tmp_path / "out.svg"))
    assert result.code == 251 and all(w in result.said for w in words), result.said
    assert list(tmp_path.iterdir()) == []


def test_a_medium_is_measured_kept_and_used(outcomes, tmp_path):
    """1003 mm found of 1000 along, 149.7 of 150 across: the next sheet is drawn 0.99701 as long and 1.00200 as wide,
    and says so.
    """
    def plot(name, **settings):
        result = run_script("plank_plot", outcomes("traced").scripts, tmp_path / "out.svg",
                            saved_as=str(tmp_path / "out.svg"),
                            settings={"file_name": name, "folder": tmp_path, "pdf": "false",
                                      "medium": "Drafting film", "media_file": tmp_path / "media.csv", **settings})
        assert result.code == 0, result.said
        return read(tmp_path / (name + ".svg"))
    plot("first", calibrate="a sheet that was not corrected", measured_day="2026-05-03", along_found="1003",
         across_found="149.7")
    svg = plot("next")
    bars = {(b.values["along"], round(b.number("length-mm"))): b.trace() for b in svg.find("scale-bar")}
    assert np.hypot(*np.diff(bars["along", 1000], axis=0)[0]) == pytest.approx(997.01, abs=0.005)
    assert np.hypot(*np.diff(bars["across", 150], axis=0)[0]) == pytest.approx(150.3006, abs=0.0005)
    assert any("CORRECTED FOR DRAFTING FILM 2026-05-03" in i.values.get("text", "") for i in svg.items)


def plot(outcomes, tmp_path, name, **settings):
    return run_script("plank_plot", outcomes("traced").scripts, tmp_path / "out.svg",
                      saved_as=str(tmp_path / "out.svg"),
                      settings={"file_name": name, "folder": tmp_path, "pdf": "false", "medium": "Bond",
                                "media_file": tmp_path / "media.csv", **settings})


def test_a_medium_measured_on_one_page_is_turned_or_refused_on_another(outcomes, tmp_path):
    """Bars of the key: 1 percent long along the sheet's long side. On the same sheet laid across they are drawn short
    across the plank, and it is said; on another size nothing is written.
    """
    tiles = {"sheets": "tiles", "sheet_size": "A3"}
    kept = plot(outcomes, tmp_path, "first", calibrate="a sheet that was not corrected", along_told="380",
                along_found="383.8", across_told="220", across_found="220", **tiles)
    assert kept.code == 0, kept.said

    def find_factors(name):
        bars = {}
        for bar in read(tmp_path / (name + ".svg")).find("scale-bar"):
            bars[bar.values["along"]] = float(np.hypot(*(bar.trace()[-1] - bar.trace()[0]))) / bar.number("length-mm")
        return bars
    assert find_factors("first") == pytest.approx({"along": 380 / 383.8, "across": 1.0}, abs=1e-5)
    turned = plot(outcomes, tmp_path, "turned", long_side="across", **tiles)
    assert turned.code == 0 and "changed places" in turned.said
    assert find_factors("turned") == pytest.approx({"along": 1.0, "across": 380 / 383.8}, abs=1e-5)
    before = sorted(p.name for p in tmp_path.iterdir())
    for change in (dict(tiles, sheet_size="A4"), {"sheets": "roll"}, {"sheets": "one sheet"}):
        refused = plot(outcomes, tmp_path, "no", **change)
        told = "was measured on 420.0 x 297.0 mm, fed along the plank"
        assert refused.code == 251 and told in refused.said, refused.said
    assert sorted(p.name for p in tmp_path.iterdir()) == before


@pytest.mark.parametrize("choice, count, unit", [({}, 2, 1), ({"long_pdf": "one page"}, 1, 2)])
def test_a_pdf_over_5080_mm_is_in_parts_unless_one_page_is_chosen(tmp_path, choice, count, unit):
    """An invented straight plank of 6.2 m, faired and plotted by the scripts; the lengths that are told stand in the
    strokes of the PDF.
    """
    drawing = tmp_path / "drawn.svg"
    drawing.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="6400mm" height="400mm" viewBox="0 0 6400 400">'
                       '<path id="plank" style="fill:none;stroke:#000" d="M 100,100 L 6300,100 L 6300,240 L 100,240 '
                       'Z"/></svg>')
    fair = run_script("plank_fair", drawing, tmp_path / "fair.svg", select=("plank",), settings={"strake": "5"},
                      saved_as=str(drawing))
    assert fair.code == 0, fair.said
    done = run_script("plank_plot", tmp_path / "fair.svg", tmp_path / "out.svg",
                      settings={"file_name": "long", "folder": tmp_path, **choice}, saved_as=str(drawing))
    assert done.code == 0, done.said
    data = (tmp_path / "long.pdf").read_bytes()
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    assert len(pages) == count and all(p.get("/UserUnit", 1) == unit and max(map(float, p.mediabox)) <= 14400
                                       for p in pages)
    assert ("parts" in done.said) == (count == 2)
    told = [i for i in read(tmp_path / "long.svg").items if i.role == "page-end" and "apart-mm" in i.values]
    assert len(told) == 2 and all(i.number("length-mm") > 6200
                                  for i in told), "the drawing is one page, and says how long at both ends"
