"""The files that are plotted, read back by others: DXF by ezdxf, PDF by pypdf, SVG by svgelements, HP-GL by the list of
its commands.
"""
import io

import ezdxf
import numpy as np
import pypdf
import pytest
import svgelements
from host.pdf import read_pdf_pages
from hpgl_reader import plot_hpgl
from plots import make_matter
from shapely.geometry import LineString

from plankcore.document.files import hpgl as hpgl_file
from plankcore.document.files.dxf import write_dxf
from plankcore.document.files.pdf import write_pdf
from plankcore.document.files.sheet import write_pages_svg
from plankcore.geometry.strokes import find_straight, flatten_strokes, split_strokes
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
    """The straight stroke of two points nearest to a place."""
    return min((s for s in strokes if len(s) == 2), key=lambda s: float(np.hypot(*(s - ends).T).max()))


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
    strokes = list_polylines(doc, "DRAW-SCALE-BAR")
    for told, ends in find_bars(page).items():
        stroke = find_stroke(strokes, ends * [1, -1] + [0, page.height_mm])
        assert abs(np.hypot(*(stroke[1] - stroke[0])) / told - 1) * 1000 <= TRUE_MM_PER_M


def test_dxf_curves_lie_within_a_hundredth(page):
    doc = read_dxf(write_dxf([page]))
    for layer, role in (("CUT", "saw"), ("DRAW-OUTLINE", "outline")):
        found, = list_polylines(doc, layer)
        line, = [one for one in page.lines if one.role == role]
        fine = flatten_strokes(line.cubics, tolerance_mm=1e-4)[0] * [1, -1] + [0, page.height_mm]
        assert LineString(found).hausdorff_distance(LineString(fine)) <= 0.0101
        assert found[0] == pytest.approx(found[-1])


def test_dxf_keeps_kinds_apart_by_layer_and_line_type(page):
    doc = read_dxf(write_dxf([page]))
    layers = {one.dxf.name: one for one in doc.layers}            # Defpoints is the reader's own
    kinds = {"CUT" if one.pen == "cut" else "DRAW-" + one.style.upper() for one in page.lines}
    assert set(layers) - {"Defpoints"} == kinds | {"0"} and len(
        {(layers[k].color, layers[k].dxf.linetype) for k in kinds}) >= 4
    dashed = doc.linetypes.get(layers["DRAW-OUTLINE"].dxf.linetype)
    assert dashed.dxf.description and layers["CUT"].dxf.linetype == "Continuous"
    assert {e.dxftype() for e in doc.modelspace()} == {"LWPOLYLINE"}, "words are strokes"


def test_pages_of_a_dxf_lie_side_by_side(tiles):
    doc = read_dxf(write_dxf(tiles))
    frames = [LineString(p) for p in list_polylines(doc, "DRAW-SHEET")]
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
    lines = [one for pen in ("draw", "cut") for one in page.lines if one.pen == pen]
    assert len(found.paths) == len(lines)
    for line, path in zip(lines, found.paths):
        runs = split_strokes(line.cubics)
        assert len(runs) == len(path)
        for run, (points, closed) in zip(runs, path):
            told = [run[:1, 0]] + [c[3:] if s else c[1:] for c, s in zip(run, find_straight(run))]
            assert np.abs(np.vstack(told) - points).max() <= 1e-3 and closed == line.closed


def test_pdf_has_the_colours_that_were_chosen(page):
    """Colours of Okabe and Ito, 2008, as red, green and blue of 255: blue 0 114 178, vermilion 213 94 0, black. RG
    takes red, green, blue in that order (ISO 32000-1:2008, table 74)."""
    reader = pypdf.PdfReader(io.BytesIO(write_pdf([page], title="T")))
    colours, now = [], None
    for given, operator in pypdf.generic.ContentStream(reader.pages[0].get_contents(), reader).operations:
        now = [round(255 * float(v)) for v in given] if operator == b"RG" else now
        colours += [now] if operator == b"S" else []
    lines = [one for pen in ("draw", "cut") for one in page.lines if one.pen == pen]
    wanted = {"saw": [213, 94, 0], "outline": [0, 114, 178], "station": [0, 0, 0], "scale-bar": [0, 0, 0]}
    seen = [(one.role, colour) for one, colour in zip(lines, colours) if one.role in wanted]
    assert len(lines) == len(colours) and {role for role, _ in seen} == set(wanted)
    assert all(colour == wanted[role] for role, colour in seen)


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
        stroke = find_stroke(strokes[1], ends * [1, -1] + [0, page.height_mm])
        assert abs(np.hypot(*(stroke[1] - stroke[0])) - told) <= 0.025 * 2 ** 0.5          # whole units at both ends
        assert abs(np.hypot(*(stroke[1] - stroke[0])) - told) <= max(TRUE_MM_PER_M * told / 1000, 0.025 * 2 ** 0.5)


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
    # pen down for 6 mm of 8
    assert sum(s.length for s in on) == pytest.approx(0.75 * fine.length, rel=0.03) and len(on) > fine.length / 10


# -- SVG ---------------------------------------------------------------------------------------------------------------

def test_svg_is_one_unit_to_the_mm_for_another_reader(page):
    drawing = svgelements.SVG.parse(io.BytesIO(write_pages_svg([page])), ppi=25.4)
    assert (drawing.width, drawing.height) == pytest.approx((page.width_mm, page.height_mm), abs=0.011)
    bars = [e for e in drawing.elements() if isinstance(e, svgelements.Path)
            and (e.values.get("attributes") or {}).get("{urn:plankcore:1}role") == "scale-bar"]
    assert sorted(round(b.length(), 3) for b in bars) == pytest.approx(sorted(find_bars(page)), abs=1e-3)
