"""The files that are plotted, read back by others: DXF by ezdxf, PDF by pypdf, SVG by svgelements, HP-GL by the list of
its commands.
"""
import io
import re
import shutil
import subprocess
from dataclasses import replace

import ezdxf
import ezdxf.disassemble
import numpy as np
import pikepdf
import pypdf
import pytest
import shapely
import svgelements
from host.pdf import read_pdf_pages
from host.reader import read
from hpgl_reader import plot_hpgl
from lxml import etree
from plots import make_matter
from shapely.geometry import LineString

from plankcore.document.files import hpgl as hpgl_file
from plankcore.document.files.dxf import write_dxf
from plankcore.document.files.pdf import write_pdf
from plankcore.document.files.sheet import WIDTHS, write_pages_svg
from plankcore.geometry.bezier import draw_circle
from plankcore.geometry.strokes import find_straight, flatten_strokes, measure_extent, split_strokes
from plankcore.model.drawing import SheetLine, SheetText
from plankcore.model.page import Page
from plankcore.paper.blocks import letter_texts
from plankcore.plot.passes import CutterSettings, order_cuts, plan_passes
from plankcore.plot.sheet import MediumSettings, lay_out_matter, lay_out_tiles, make_page

TRUE_MM_PER_M = 0.05


@pytest.fixture(scope="module", params=[900.0, 6200.0], ids=["a short plank", "a long one"])
def page(request):
    return order_cuts(make_page(lay_out_matter(make_matter(length=request.param, width=140.0))))


@pytest.fixture(scope="module")
def tiles():
    return lay_out_tiles(make_matter(), medium=MediumSettings(sheet="A3"))[0]


def find_bars(page):
    """{told length, mm: its ends}"""
    return {dict(one.values)["length_mm"]: one.cubics[0, [0, 3]] for one in page.lines if one.role == "scale-bar"}


def find_stroke(strokes, ends):
    """The straight stroke of two points nearest to a place, whichever way it is drawn."""
    return min((s for s in strokes if len(s) == 2),
               key=lambda s: min(float(np.hypot(*(way - ends).T).max()) for way in (s, s[::-1])))


# -- DXF ---------------------------------------------------------------------------------------------------------------

def read_dxf(data):
    doc = ezdxf.read(io.StringIO(data.decode("ascii")))
    audit = doc.audit()
    assert not audit.errors and not audit.fixes, audit.errors
    return doc


def list_polylines(doc, layer):
    found = []
    for one in doc.modelspace().query("LWPOLYLINE[layer=='%s']" % layer):
        points = np.array([p[:2] for p in one.get_points()])
        found.append(np.vstack([points, points[:1]]) if one.closed else points)
    return found


def test_dxf_is_whole_in_mm_and_true(page):
    doc = read_dxf(write_dxf([page]))
    assert doc.dxfversion == "AC1015" and doc.units == ezdxf.units.MM and doc.header["$MEASUREMENT"] == 1
    strokes = list_polylines(doc, "BARS")
    for told, ends in find_bars(page).items():
        stroke = find_stroke(strokes, ends * [1, -1] + [0, page.height_mm])
        assert abs(np.hypot(*(stroke[1] - stroke[0])) / told - 1) * 1000 <= TRUE_MM_PER_M


def test_dxf_curves_lie_within_a_hundredth(page):
    doc = read_dxf(write_dxf([page]))
    for layer, role in (("CUT", "saw"), ("NET", "outline")):
        found, = list_polylines(doc, layer)
        line, = [one for one in page.lines if one.role == role]
        fine = flatten_strokes(line.cubics, tolerance_mm=1e-4)[0] * [1, -1] + [0, page.height_mm]
        assert LineString(found).hausdorff_distance(LineString(fine)) <= 0.0101
        assert found[0] == pytest.approx(found[-1])


def test_dxf_has_a_layer_for_each_meaning_and_a_line_type_for_each_look(page):
    doc = read_dxf(write_dxf([page]))
    assert {one.dxf.name for one in doc.layers} - {"Defpoints"} == {"0", "CUT", "NET", "FRAMES", "WORDS", "BARS",
                                                                    "BASELINE", "NOTES"}    # Defpoints is the reader's
    space = doc.modelspace()
    net, = space.query("LWPOLYLINE[layer=='NET']")
    assert doc.linetypes.get(net.dxf.linetype).dxf.description and net.closed
    cut, = space.query("LWPOLYLINE[layer=='CUT']")
    assert (net.dxf.color, cut.dxf.color) == (5, 30)          # the nearest of the numbered palette, not its black
    assert cut.dxf.linetype == "Continuous" and cut.closed
    looks = {(e.dxf.color, e.dxf.linetype) for e in space if e.dxftype() == "LWPOLYLINE"}
    assert len(looks) >= 3 and len({kind for _, kind in looks}) >= 3
    assert {e.dxftype() for e in space} == {"LWPOLYLINE", "INSERT"}
    for block in doc.blocks:                                  # letters of strokes, and words of letters
        kinds = {e.dxftype() for e in block}
        assert block.name.startswith("*") or kinds == {"LWPOLYLINE" if block.name.startswith("L") else "INSERT"}
    assert "W1" in doc.blocks


def list_block_strokes(doc):
    return [np.array([p[:2] for p in one.get_points()])
            for one in ezdxf.disassemble.recursive_decompose(doc.modelspace().query("INSERT"))]


def test_a_dxf_holds_what_comes_again_once(page):
    """A block of words takes the place of its letters' blocks: fewer of them are put in than there are letters."""
    doc = read_dxf(write_dxf([page]))
    letters = sum(len(dict(one.values)["text"].replace(" ", "")) for one in page.lines if "text" in dict(one.values))
    assert len(doc.modelspace().query("INSERT")) < 0.6 * letters


def test_dxf_letters_are_blocks_of_the_same_strokes(page):
    found = list_block_strokes(read_dxf(write_dxf([page])))
    told = [run[:, [0, 3]] * [1, -1] + [0, page.height_mm] for one in page.lines if "text" in dict(one.values)
            for run in split_strokes(one.cubics)]
    # a text of one upright stroke, I for instance, is a polyline
    assert 0.98 * len(told) <= len(found) <= len(told)
    ends = np.array([(r[0, 0], r[-1, 1]) for r in told])
    for stroke in found:
        assert np.abs(ends - stroke[[0, -1]]).max(axis=(1, 2)).min() <= 2e-3


@pytest.mark.parametrize("radius", [0.4, 9.5, 800.0])
@pytest.mark.parametrize("way", [(1.0, 0.0), (0.6, -0.8)])
def test_dxf_circles_are_circles(radius, way):
    """Plugs and shanks, as a drawing program wants them; a closed curve that is no circle stays a polyline."""
    round_one = SheetLine(draw_circle((40.0, 30.0), radius, way=way), "draw", role="fastening", style="fastening",
                          closed=True)
    oval = replace(round_one, cubics=round_one.cubics * [1.0, 0.999])
    space = read_dxf(write_dxf([Page("P", 100.0, 80.0, (round_one, oval))])).modelspace()
    circle, = space.query("CIRCLE")
    assert tuple(circle.dxf.center)[:2] == pytest.approx((40.0, 50.0), abs=1e-4)
    assert circle.dxf.radius == pytest.approx(radius, abs=1e-4) and circle.dxf.layer == "FASTENINGS"
    assert len(space.query("LWPOLYLINE")) == 1


def test_pages_of_a_dxf_lie_side_by_side(tiles):
    doc = read_dxf(write_dxf(tiles))
    frames = [LineString(p) for p in list_polylines(doc, "TILES")]
    reach = max(f.bounds[2] for f in frames)
    assert reach > 420.0 * (len(tiles) - 1) and doc.header["$EXTMAX"][0] == pytest.approx(
        sum(t.width_mm for t in tiles) + 20.0 * (len(tiles) - 1))


# -- PDF ---------------------------------------------------------------------------------------------------------------

def test_pdf_is_true_along_and_across(page):
    data = write_pdf([page], title=page.title)
    found, = read_pdf_pages(data)
    assert (found.width_mm, found.height_mm) == pytest.approx((page.width_mm, page.height_mm), abs=0.01)
    strokes = [points for path in found.paths for points, _ in path]
    for told, ends in find_bars(page).items():
        stroke = find_stroke(strokes, ends)
        assert abs(np.hypot(*(stroke[1] - stroke[0])) / told - 1) * 1000 <= 0.001


def test_a_long_pdf_counts_in_larger_units_and_no_other_reader_is_misled(page):
    reader = pypdf.PdfReader(io.BytesIO(write_pdf([page], title="T")))
    one, = reader.pages
    assert max(map(float, one.mediabox)) <= 14400
    assert one.get("/UserUnit", 1) == (2 if page.width_mm > 5080 else 1) and reader.pdf_header == "%PDF-1.6"


def test_pdf_has_every_stroke_at_its_place(page):
    found, = read_pdf_pages(write_pdf([page], title="T"))
    runs = [(run, line.closed) for pen in ("draw", "cut") for line in page.lines if line.pen == pen
            for run in split_strokes(line.cubics)]
    strokes = [one for path in found.paths for one in path]
    assert len(runs) == len(strokes)
    for (run, shut), (points, closed) in zip(runs, strokes):
        told = [run[:1, 0]] + [c[3:] if s else c[1:] for c, s in zip(run, find_straight(run))]
        assert np.abs(np.vstack(told) - points).max() <= 1e-3 and closed == shut


def test_pdf_has_the_colours_that_were_chosen(page):
    """Colours of Okabe and Ito, 2008, as red, green and blue of 255: blue 0 114 178, black, and their vermilion made
    darker for its contrast on white, 179 71 0. RG takes red, green, blue in that order (ISO 32000-1:2008, table 74)."""
    reader = pypdf.PdfReader(io.BytesIO(write_pdf([page], title="T")))
    colours, now, begun = [], None, 0
    for given, operator in pypdf.generic.ContentStream(reader.pages[0].get_contents(), reader).operations:
        now = [round(255 * float(v)) for v in given] if operator == b"RG" else now
        begun += operator == b"m"
        if operator == b"S":
            colours, begun = colours + [now] * begun, 0
    strokes = [one for pen in ("draw", "cut") for one in page.lines if one.pen == pen
               for _ in split_strokes(one.cubics)]
    wanted = {"saw": [179, 71, 0], "outline": [0, 114, 178], "station": [0, 0, 0], "scale-bar": [0, 0, 0]}
    seen = [(one.role, colour) for one, colour in zip(strokes, colours) if one.role in wanted]
    assert len(strokes) == len(colours) and {role for role, _ in seen} == set(wanted)
    assert all(colour == wanted[role] for role, colour in seen)


def test_pdf_is_compressed_and_its_words_are_found_by_two_readers(page, tmp_path):
    data = write_pdf([page], title="T")
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert reader.pages[0]["/Contents"].get_object()["/Filter"] == "/FlateDecode"
    texts = [dict(one.values)["text"] for one in page.lines if "text" in dict(one.values)]
    long = [t for t in texts if len(t) > 12 and t.isascii()]
    (tmp_path / "p.pdf").write_bytes(data)
    readings = [reader.pages[0].extract_text()]
    if shutil.which("pdftotext"):
        # page by page as drawn: its other modes put words of one height into one line
        readings.append(subprocess.run(["pdftotext", "-raw", str(tmp_path / "p.pdf"), "-"], capture_output=True,
                                       check=True, timeout=60).stdout.decode())
    assert long
    for reading in readings:
        have = "".join(reading.split())
        assert [t for t in long if "".join(t.upper().split()) not in have] == []


def find_level(line):
    """Whether words run along the page: their first stroke, the stem of a letter, is upright."""
    first = line.cubics[0, [0, 3]]
    return abs(first[0] - first[1]).min() < 1e-9


def test_pdf_words_lie_along_their_strokes(page, tmp_path):
    """By poppler's own metrics of Helvetica: the box of a word against the strokes that are seen."""
    if not shutil.which("pdftotext"):
        pytest.skip("no pdftotext here")
    (tmp_path / "p.pdf").write_bytes(write_pdf([page], title="T"))
    if page.width_mm > 5080:
        pytest.skip("pdftotext counts in the page's own units")
    told = subprocess.run(["pdftotext", "-bbox", str(tmp_path / "p.pdf"), "-"], capture_output=True, check=True,
                          timeout=60).stdout.decode()
    boxes = np.array([[float(v) * 25.4 / 72 for v in box] for *box, word in re.findall(
        r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]+)<', told) if word == "FWD"])
    line = next(one for one in page.lines if dict(one.values).get("text") == "FWD" and find_level(one))
    low, high = measure_extent(line.cubics)
    left, top, right, bottom = boxes[np.abs(boxes[:, [0, 2]] - [low[0], high[0]]).sum(axis=1).argmin()]
    assert (left, right) == pytest.approx((low[0], high[0]), abs=0.1 * (high[0] - low[0]))
    assert top < low[1] + 0.5 and bottom > high[1] - 0.5


def test_widths_of_the_unseen_text_are_the_published_ones():
    """pypdf's copy of the metrics of the standard fonts."""
    from pypdf._codecs.core_font_metrics import CORE_FONT_METRICS
    told = CORE_FONT_METRICS["Helvetica"].character_widths
    assert {c: WIDTHS[c] for c in WIDTHS if c in told} == {c: told[c] for c in WIDTHS if c in told}
    assert len([c for c in WIDTHS if c in told]) > 60


def test_qpdf_has_no_complaint(page, tmp_path):
    """qpdf's own check, through its library for Python; planted faults are what it complains of."""
    data = write_pdf([page], title="T")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.check_pdf_syntax() == [] and len(pdf.pages) == 1 and not pdf.is_linearized
    for wrong in (data.replace(b"/Length ", b"/Length 1", 1), data.replace(b"startxref\n", b"startxref\n9", 1)):
        with pikepdf.open(io.BytesIO(wrong)) as pdf:
            assert pdf.get_warnings() + pdf.check_pdf_syntax() != []


def test_a_strict_reader_has_no_complaint(page):
    pypdf.PdfReader(io.BytesIO(write_pdf([page], title="T")), strict=True).pages[0].extract_text()


def test_pdf_pages_and_layers(tiles):
    reader = pypdf.PdfReader(io.BytesIO(write_pdf(tiles, title="Tern \u00e6")))
    assert [tuple(float(v) * 25.4 / 72 for v in p.mediabox[2:])
            for p in reader.pages] == [pytest.approx((t.width_mm, t.height_mm), abs=1e-3) for t in tiles]
    assert [g.get_object()["/Name"] for g in reader.trailer["/Root"]["/OCProperties"]["/OCGs"]] == ["draw", "cut"]
    assert (reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
            and reader.metadata.title == "Tern \u00e6")


def test_every_format_is_the_same_bytes_each_time(page):
    for write in (lambda: write_pdf([page], title="T"), lambda: write_dxf([page]),
                  lambda: write_pages_svg([page]),
                  lambda: hpgl_file.write_hpgl(plan_passes(page), height_mm=page.height_mm)):
        assert write() == write()


# -- HP-GL -------------------------------------------------------------------------------------------------------------

def write_hpgl(page, **settings):
    return hpgl_file.write_hpgl(plan_passes(page, CutterSettings(**settings)),
                                height_mm=page.height_mm)


def test_hpgl_draws_with_the_first_pen_and_then_cuts_with_the_second(page):
    strokes, commands = plot_hpgl(write_hpgl(page))
    assert commands[:2] == [("IN", []), ("PA", [])] and [n for name, n in commands if name == "SP"] == [[1], [2], [0]]
    assert set(strokes) == {1, 2} and len(strokes[2]) == 1
    assert max(len(n) for _, n in commands) <= 100


def test_hpgl_is_true(page):
    strokes, _ = plot_hpgl(write_hpgl(page, overcut_mm=0.0))
    for told, ends in find_bars(page).items():
        ends = ends * [1, -1] + [0, page.height_mm]
        # the bar is drawn with its ticks in one stroke: its ends are places of that
        away = [np.hypot(*(s[:, None] - ends).transpose(2, 0, 1)) for s in strokes[1]]
        nearest = int(np.argmin([a.min(axis=0).max() for a in away]))
        stroke = strokes[1][nearest][away[nearest].argmin(axis=0)]
        assert abs(np.hypot(*(stroke[1] - stroke[0])) - told) <= 0.025 * 2 ** 0.5          # whole units at both ends
        assert abs(np.hypot(*(stroke[1] - stroke[0])) - told) <= max(TRUE_MM_PER_M * told / 1000, 0.025 * 2 ** 0.5)


def test_a_pen_draws_every_letter_in_few_strokes_and_travels_little(page):
    """Ink of the sheet's words, by shapely: all of it is drawn, and nothing beside it; the travel is less than half of
    what the order on the page takes."""
    strokes, _ = plot_hpgl(write_hpgl(page, overcut_mm=0.0))
    lines = [one for one in page.lines if "text" in dict(one.values)]
    letters = sum(len(dict(one.values)["text"].replace(" ", "")) for one in lines)
    others = sum(len(split_strokes(one.cubics)) for one in page.lines if "text" not in dict(one.values))
    tree = shapely.STRtree([LineString(s * [1, -1] + [0, page.height_mm]) for s in strokes[1]])
    inks = shapely.points(np.vstack([one.cubics[:, [0, 3]].mean(axis=1) for one in lines]))
    assert tree.query_nearest(inks, all_matches=False, return_distance=True)[1].max() < 0.1
    net = sum(flatten_strokes(one.cubics, tolerance_mm=0.1)[0].shape[0] > 2 for one in page.lines)
    assert len(strokes[1]) <= 1.15 * letters + others + 80 * max(net, 1)
    way = np.array([(s[0], s[-1]) for s in strokes[1]])
    order = [run.reshape(-1, 2) for one in page.lines if one.pen == "draw" for run in split_strokes(one.cubics)]
    plain = np.array([(r[0], r[-1]) for r in order])

    def travel(ends):
        return float(np.hypot(*(ends[1:, 0] - ends[:-1, 1]).T).sum())
    assert travel(way) < 0.8 * travel(plain)


def test_hpgl_cuts_the_saw_line(page):
    strokes, _ = plot_hpgl(write_hpgl(page, overcut_mm=2.0))
    cut, = strokes[2]
    line, = [one for one in page.lines if one.pen == "cut"]
    fine = LineString(flatten_strokes(line.cubics, tolerance_mm=1e-4)[0] * [1, -1] + [0, page.height_mm])
    assert LineString(cut).hausdorff_distance(fine) <= 0.01 + 0.025
    assert np.hypot(*np.diff(cut, axis=0).T).sum() == pytest.approx(fine.length + 2.0, abs=0.1)


def test_hpgl_dashes_what_is_dashed_and_never_a_cut(page):
    strokes, _ = plot_hpgl(write_hpgl(page, overcut_mm=0.0))
    outline, = [one for one in page.lines if one.role == "outline"]
    fine = LineString(flatten_strokes(outline.cubics, tolerance_mm=1e-3)[0] * [1, -1] + [0, page.height_mm])
    on = [LineString(s) for s in strokes[1] if fine.buffer(0.05).contains(LineString(s))]
    # pen down for 6 mm of 8, in longer dashes: 72 mm of 96, for each is a lift
    assert sum(s.length for s in on) == pytest.approx(0.75 * fine.length, rel=0.03)
    assert fine.length / 98 < len(on) < fine.length / 94 + 2


# -- SVG ---------------------------------------------------------------------------------------------------------------

def test_svg_is_one_unit_to_the_mm_for_another_reader(page):
    drawing = svgelements.SVG.parse(io.BytesIO(write_pages_svg([page])), ppi=25.4)
    assert (drawing.width, drawing.height) == pytest.approx((page.width_mm, page.height_mm), abs=0.011)
    bars = [e for e in drawing.elements() if isinstance(e, svgelements.Path)
            and (e.values.get("attributes") or {}).get("{urn:plankcore:1}role") == "scale-bar"]
    assert sorted(round(b.length(), 3) for b in bars) == pytest.approx(sorted(find_bars(page)), abs=1e-3)


def test_svg_holds_each_letter_once_and_its_words_lie_where_the_strokes_do(page):
    """Read by the tests' own reader, which shares no code with us: every stroke of every word within 0.01 mm."""
    data = write_pages_svg([page])
    root = etree.fromstring(data)
    forms = root.findall(".//{http://www.w3.org/2000/svg}defs/{http://www.w3.org/2000/svg}path")
    spelt = {c for one in page.lines for c in dict(one.values).get("text", "").upper() if c != " "}
    assert 20 < len(forms) <= len(spelt) and len({f.get("id") for f in forms}) == len(forms)
    items = [i for i in read(data).items if "text" in i.values]
    lines = [one for one in page.lines if "text" in dict(one.values)]
    assert [i.values["text"] for i in items] == [dict(one.values)["text"] for one in lines]
    for item, line in zip(items, lines):
        told = [np.vstack([run[:1, 0], run[:, 3]]) for run in split_strokes(line.cubics)]
        found = [run.trace(1) for run in item.runs]
        assert len(told) == len(found) and max(np.abs(a - b).max() for a, b in zip(told, found)) <= 0.01


def test_words_take_few_bytes(page):
    """40 bytes a letter in SVG and 6 in PDF, at most: with as many letters as a sheet has it stays within 300 kB."""
    letters = sum(len(dict(one.values)["text"].replace(" ", "")) for one in page.lines if "text" in dict(one.values))
    bare = replace(page, lines=tuple(one for one in page.lines if "text" not in dict(one.values)))
    texts = sum("text" in dict(one.values) for one in page.lines)
    assert len(write_pages_svg([page])) - len(write_pages_svg([bare])) <= 40 * letters + 300 * texts + 12000
    assert len(write_pdf([page], title="T")) - len(write_pdf([bare], title="T")) <= 6 * letters + 60 * texts + 6000


@pytest.mark.parametrize("change", [lambda c: c[:-3], lambda c: c + 0.5 * (c / 40.0) ** 2])
def test_words_that_are_cut_off_or_bent_are_written_as_the_lines_they_are(change):
    whole, = letter_texts([SheetText("FRAME 12", (10.0, 20.0), 4.0)])
    line = replace(whole, cubics=change(np.array(whole.cubics)))
    data = write_pages_svg([Page("P", 60.0, 40.0, (line,))])
    item, = [i for i in read(data).items if "text" in i.values]
    told = [np.vstack([run[:1, 0], run[:, 3]]) for run in split_strokes(line.cubics)]
    assert b"<use" not in data
    assert max(np.abs(a - b.trace(1)).max() for a, b in zip(told, item.runs)) <= 0.001
