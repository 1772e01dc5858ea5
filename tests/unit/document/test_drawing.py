"""A plank in a drawing: what may be selected, written and read back, the guard, layers that went stale. Refusals first.
"""
import dataclasses
import re

import inkex
import numpy as np
import pytest
from drawings import draw_plank, draw_plank_points, fair, open_drawing, reopen, write_path_data
from lxml import etree
from shapes import turn

from plankcore.allowance.saw_line import add_allowances
from plankcore.document import names, transforms
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.files.output import write_files
from plankcore.document.files.sheet import write_pages_svg, write_sheet_layer
from plankcore.document.layers.lines import read_saw_line, read_stations, write_saw_line, write_stations
from plankcore.document.pathdata import read_path
from plankcore.document.read import find_total_map
from plankcore.errors import DocumentError, PatternError, SelectionError
from plankcore.fair.fair import FairSettings
from plankcore.geometry.bezier import flatten_cubics
from plankcore.model.plank import EDGE_NAMES
from plankcore.plot.sheet import lay_out_sheet, make_page
from plankcore.stations.strike import StationSettings, strike_stations

NAMES = {"name": "Tern of Nowhere", "strake": "3", "side": "port", "face": "outboard", "thickness_mm": 22.0}
STRAIGHT = "M 0,0 L 900,0"


def find(drawing, role, **wanted):
    """The one element with this role and these of our attributes."""
    found = [e for e in names.find_roles(drawing.root, role)
             if all(names.get(e, k.replace("_", "-")) == v for k, v in wanted.items())]
    assert len(found) == 1, "%d of role %s" % (len(found), role)
    return found[0]


def make_fair(body=None, **names_):
    drawing = open_drawing(draw_plank() if body is None else body)
    plank, group = fair(drawing, **(names_ or NAMES))
    return drawing, plank, group


def strike(drawing, group):
    found, _ = strike_stations(drawing.read_plank(group), settings=StationSettings())
    write_stations(drawing, group, found, square_to="baseline")
    return found


def allow(drawing, group, **added):
    saw = add_allowances(drawing.read_plank(group),
                         added_mm={"upper": 3.0, "lower": 3.0, "fore": 25.0, "aft": 12.0, **added})
    write_saw_line(drawing, group, saw)
    return saw


def compare_planks(a, b, within=1e-6):
    for name in EDGE_NAMES:
        assert a.edges[name].curve.cubics == pytest.approx(b.edges[name].curve.cubics, abs=within)


def test_the_comparison_of_planks_can_fail():
    _, plank, _ = make_fair()
    edge = plank.edges["aft"]
    moved = dataclasses.replace(edge, curve=edge.curve.transform([[1, 0, 2e-6], [0, 1, 0]]))
    with pytest.raises(AssertionError):
        compare_planks(plank, dataclasses.replace(plank, edges={**plank.edges, "aft": moved}))


# -- the file itself ------------------------------------------------------------------------------------------

@pytest.mark.parametrize("data", [
    b"", b"not xml", b"<svg", b"<svg xmlns='http://www.w3.org/2000/svg'><g>", b"<html/>", b"<svg/>",
    b"<svg xmlns='urn:other'/>",
    b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>",
    b"<!DOCTYPE svg [<!ENTITY % x SYSTEM 'file:///nowhere'> %x;]><svg xmlns='http://www.w3.org/2000/svg'/>",
    b" " * 5000 + b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg xmlns='http://www.w3.org/2000/svg'>&a;</svg>",
])
def test_a_damaged_or_odd_file_is_refused_and_named(data):
    with pytest.raises(DocumentError) as caught:
        load_document(data, where="plank.svg")
    assert caught.value.where == "plank.svg" and caught.value.remedy


def test_a_plain_doctype_is_no_reason_to_refuse():
    data = (b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"><svg '
            b'xmlns="http://www.w3.org/2000/svg"/>')
    assert load_document(data, where="x").getroot() is not None


# -- selections -----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("body, selected, words", [
    ("", (), "no line that might be a plank"),
    (draw_plank() + draw_plank(key="second"), (), "2 lines that might be meant"),
    (draw_plank(), ("nobody",), "nobody"),
    ('<text id="t" x="5" y="5">words</text>', ("t",), "text"),
    ('<g id="g"><path id="p" d="%s"/><text>words</text></g>' % STRAIGHT, ("g",), "text"),
    (draw_plank() + '<use id="u" xlink:href="#trace"/>', ("u",), "clone"),
    ('<image id="i" width="5" height="5"/>', ("i",), "picture"),
    ('<g id="empty"/>', ("empty",), "No lines"),
    ('<defs id="d"/>', ("d",), "No lines"),
])
def test_what_cannot_be_read_is_refused_by_name(body, selected, words):
    with pytest.raises(SelectionError, match=words) as caught:
        open_drawing(body, selected=selected).find_source()
    assert caught.value.remedy


@pytest.mark.parametrize("shape", ['<path id="p" d=""/>', '<path id="p"/>', '<path id="p" d="M NaN,0 L 5,5"/>',
                                   '<path id="p" d="M 0,0 L 5"/>', '<path id="p" d="M 5,5"/>',
                                   '<rect id="p" x="nan" y="0" width="5" height="5"/>',
                                   '<path id="p" d="M 0,0 L 1e12,5"/>', '<circle id="p" cx="5" cy="5" r="0"/>'])
def test_a_shape_without_true_places_is_refused_by_name(shape):
    with pytest.raises(PatternError) as caught:
        open_drawing(shape, selected=("p",)).find_source()
    assert "p" in str(caught.value.where)


@pytest.mark.parametrize("transform", ["scale(0)", "matrix(1,0,1,0,0,0)", "matrix(nan,0,0,1,0,0)", "scale(1e-9)"])
def test_a_transform_that_flattens_is_refused(transform):
    with pytest.raises((DocumentError, PatternError)):
        open_drawing('<g transform="%s">%s</g>' % (transform, draw_plank()), selected=("trace",)).find_source()


def test_a_nested_viewport_is_refused_or_read_at_its_true_size():
    """SVG 1.1, 7.9: an inner svg with its own viewBox scales what is in it, here to half."""
    body = '<svg x="0" y="0" width="1000" height="200" viewBox="0 0 2000 400">%s</svg>' % draw_plank()
    try:
        (trace,), _, _ = open_drawing(body, selected=("trace",)).find_source()
    except (DocumentError, SelectionError, PatternError):
        return
    points = np.concatenate([c.reshape(-1, 2) for c, _ in trace.runs])
    assert np.ptp(points[:, 0]) == pytest.approx(np.ptp(draw_plank_points()[:, 0]) / 2, abs=1e-3)


def test_with_nothing_selected_the_one_candidate_is_read_and_named():
    """Small shapes, hidden ones and our own are no candidates."""
    small = '<path id="small" d="M 0,0 L 50,0"/><g style="display:none">%s</g>' % draw_plank(key="hidden")
    drawing = open_drawing(draw_plank() + small)
    traces, group, said = drawing.find_source()
    assert len(traces) == 1 and group is None and "trace" in said


def test_with_nothing_selected_a_finished_plank_is_faired_again():
    drawing, _, group = make_fair()
    again = reopen(drawing)
    traces, found, said = again.find_source()
    assert found.get("id") == group.get("id") and "faired again" in said and len(traces) == 1


def test_lines_of_our_own_are_not_read_as_a_trace():
    drawing, _, _group = make_fair()
    etree.SubElement(drawing.root, "{http://www.w3.org/2000/svg}path",
                     {"id": "stray", "d": STRAIGHT, names.attribute("role"): "edge"})
    with pytest.raises(SelectionError, match="these actions have drawn"):
        reopen(drawing, ("stray",)).find_source()


@pytest.mark.parametrize("shape, extent", [
    ('<rect id="p" x="10" y="20" width="5000.1234567" height="100.7654321"/>', (5000.1234567, 100.7654321)),
    ('<rect id="p" width="100" height="50" rx="5"/>', (100, 50)),
    ('<circle id="p" cx="1234.56789" cy="50" r="40.123456"/>', (80.246912, 80.246912)),
    ('<ellipse id="p" cx="9" cy="9" rx="30" ry="20"/>', (60, 40)),
    ('<line id="p" x1="4999.9876543" y1="1" x2="0" y2="2"/>', (4999.9876543, 1)),
    ('<polyline id="p" points="0,0 4321.7654321,5 7,9"/>', (4321.7654321, 9)),
    ('<polygon id="p" points="0 0 10 0 10 7"/>', (10, 7)),
])
def test_other_shapes_are_read_with_all_their_digits(shape, extent):
    (trace,), _, _ = open_drawing(shape, selected=("p",)).find_source()
    points = np.concatenate([flatten_cubics(c, tolerance_mm=1e-4) for c, _ in trace.runs])
    assert np.ptp(points, axis=0) == pytest.approx(extent, abs=1e-6)


def test_what_an_object_says_of_itself():
    marked = ('<circle id="a" cx="5" cy="5" r="1" inkscape:label="Upper 12"/><circle id="b" cx="5" cy="5" r="1" '
              'inkscape:label="lower: F3"/>'
              '<circle id="c" cx="5" cy="5" r="1" inkscape:label="upperware"/><circle id="d" cx="5" cy="5" r="1" '
              'xmlns:plank="urn:plankcore:1" plank:edge="lower" plank:station="9" plank:error-mm="0.3"/>')
    traces, _, _ = open_drawing(marked, selected="abcd").find_source()
    assert [(t.edge, t.station, t.error_mm) for t in traces] == [("upper", "12", 0), ("lower", "F3", 0), ("", "", 0),
                                                                 ("lower", "9", 0.3)]


# -- planks ------------------------------------------------------------------------------------------------------------

def test_an_action_without_a_plank_is_refused():
    with pytest.raises(SelectionError, match="no fair plank"):
        open_drawing(draw_plank()).find_group()


def make_two():
    drawing = open_drawing(draw_plank() + draw_plank(draw_plank_points() + (0, 180), key="second"), selected=("trace",))
    _, one = fair(drawing, strake="3")
    drawing.selected = [drawing.root.getElementById("second")]
    _, two = fair(drawing, strake="4")
    return drawing, one, two


def test_of_two_planks_the_selected_one_is_meant_and_both_or_neither_refused():
    drawing, one, two = make_two()
    assert one.get("id") != two.get("id")
    with pytest.raises(SelectionError, match="2 planks"):
        reopen(drawing).find_group()
    with pytest.raises(SelectionError, match="Two planks"):
        reopen(drawing, (one.get("id"), two.get("id"))).find_group()
    names.find_roles(two, "edge")[0].set("id", "an-edge")
    assert reopen(drawing, ("an-edge",)).find_group().get("id") == two.get("id")


# the plank drawn on pages of other units: user units to the mm, group transforms round the trace
PAGES = [
    ('width="2000mm" height="400mm" viewBox="0 0 2000 400"', 1.0, "", (0, 0)),
    ('width="2000mm" height="400mm" viewBox="-300 70 2000 400"', 1.0, "", (-300, 70)),
    ('width="7559.05512px" height="1511.81102px"', 96 / 25.4, "", (0, 0)),
    ('width="200cm" height="40cm" viewBox="0 0 500 100"', 0.25, "", (0, 0)),
    ('width="78.7401574803in" height="15.7480314961in" viewBox="0 0 7874.01574803 1574.80314961"', 100 / 25.4, "",
     (0, 0)),
    ('width="2000mm" height="400mm" viewBox="0 0 2000 400"', 1.0, "translate(7,-9) rotate(20) scale(1.25)", (0, 0)),
    ('width="2000mm" height="400mm" viewBox="0 0 2000 400"', 1.0, "matrix(-0.5,0.1,0.3,2,40,5)", (0, 0)),
]


def draw_on_page(page, per_mm, transform, origin):
    """The invented plank, its user coordinates such that it lies at the same mm on each page."""
    points = draw_plank_points() * per_mm + origin
    inner = points
    if transform:
        matrix = np.array(inkex.Transform(transform).matrix)
        inner = transforms.apply(transforms.invert(matrix), points)
    body = '<g id="outer" transform="%s"><g id="inner">%s</g></g>' % (transform, '<path id="trace" d="%s"/>'
                                                                      % write_path_data(inner, digits=11))
    return open_drawing(body, page=page)


@pytest.mark.parametrize("page, per_mm, transform, origin", PAGES)
def test_a_plank_written_and_read_back_is_the_same_to_a_millionth_on_every_page(page, per_mm, transform, origin):
    drawing = draw_on_page(page, per_mm, transform, origin)
    plank, _group = fair(drawing, **NAMES)
    again = reopen(drawing)
    found = again.read_plank(again.find_group())
    compare_planks(plank, found)
    for field in ("name", "strake", "side", "face", "forward", "thickness_mm"):
        assert getattr(found, field) == getattr(plank, field)
    for name in EDGE_NAMES:
        for value in ("rms_mm", "worst_mm", "band_mm", "straight"):
            assert getattr(found.edges[name], value) == pytest.approx(getattr(plank.edges[name], value), abs=1e-6)


@pytest.mark.parametrize("page, per_mm, transform, origin", PAGES)
def test_the_original_keeps_its_shape_and_its_place_on_the_page(page, per_mm, transform, origin):
    drawing = draw_on_page(page, per_mm, transform, origin)
    element = drawing.root.getElementById("trace")
    data, before = element.get("d"), find_total_map(element, drawing.page)
    _, group = fair(drawing)
    element = drawing.root.getElementById("trace")
    assert element.get("d") == data
    corners = read_path(data, where="trace")[0].cubics[:, 0]
    assert transforms.apply(find_total_map(element, drawing.page),
                            corners) == pytest.approx(transforms.apply(before, corners), abs=1e-6)
    layer = element.getparent()
    assert names.get(layer, "layer") == "source" and "display:none" in layer.get("style") and layer.get(
        "{%s}insensitive" % names.SODIPODI) == "true"
    assert layer.getparent() is group


def test_what_is_written_is_found_on_the_page_in_mm():
    """Attributes that other tools rely on; the group's own units are mm, so d can be read as it stands."""
    drawing = draw_on_page(*PAGES[3])
    plank, group = fair(drawing, **NAMES)
    assert names.get(group,
                     "role") == "plank" and names.get(group, "strake") == "3" and names.get(group, "side") == "port"
    assert float(names.get(group, "length-mm")) == pytest.approx(plank.measure_length_mm(), abs=1e-6)
    assert float(names.get(group, "width-mm")) == pytest.approx(plank.measure_width_mm(), abs=1e-6)
    assert float(names.get(group, "area-mm2")) == pytest.approx(plank.measure_area_mm2(), abs=1e-4)
    upper = find(drawing, "edge", edge="upper")
    assert float(names.get(upper, "length-mm")) == pytest.approx(plank.edges["upper"].curve.measure_length_mm(),
                                                                 abs=1e-6)
    run, = read_path(upper.get("d"), where="upper")
    assert run.cubics == pytest.approx(plank.edges["upper"].curve.cubics, abs=1e-6)
    outline, = read_path(find(drawing, "outline").get("d"), where="outline")
    assert outline.closed


def test_marks_ticks_notes_and_comb_are_written_and_marks_read_back():
    x = np.linspace(110, 1790, 10)
    upper = 180 - 50 * np.sin(np.pi * x / 1900)
    lower = upper + 100
    upper[4] += 5
    dots = "".join('<circle cx="%f" cy="%f" r="2" inkscape:label="%s %d"/>' % (a, b, e, k)
                   for e, y in (("upper", upper), ("lower", lower)) for k, (a, b) in enumerate(zip(x, y)))
    ends = '<path id="e1" d="M 100,170 L 100,300"/><path id="e2" d="M 1800,150 L 1800,300"/>'
    drawing = open_drawing('<g id="all">%s%s</g>' % (dots, ends), selected=("all",))
    plank, _group = fair(drawing, settings=FairSettings(honest_error_mm=0.3), comb=True)
    again = reopen(drawing)
    found = again.read_plank(again.find_group())
    assert [(m.edge, m.station, m.verdict)
            for m in found.marks] == [(m.edge, m.station, m.verdict) for m in plank.marks]
    for a, b in zip(found.marks, plank.marks):
        assert a.point == pytest.approx(b.point, abs=1e-6) and a.residual_mm == pytest.approx(b.residual_mm, abs=1e-6)
    doubtful = find(drawing, "mark", verdict="doubtful")
    assert names.get(doubtful, "station") == "4"
    assert len(names.find_roles(drawing.root, "ring")) == 1 and len(names.find_roles(drawing.root, "comb")) == 2
    # the run of the marks is short for the wave that was asked for, which is told first
    wave, note = names.find_roles(drawing.root, "note")
    assert "560 mm" in names.get(wave, "text") and "Upper edge" in names.get(note, "text")


# -- guard -------------------------------------------------------------------------------------------------------------

def read_again(drawing):
    again = reopen(drawing)
    return again.read_plank(again.find_group())


def put_transform(drawing, element, text):
    element.attrib["transform"] = (text + " " + element.attrib.get("transform", "")).strip()


@pytest.mark.parametrize("transform, words", [
    ("scale(1.0005)", "scaled"), ("scale(0.999,1)", "scaled"), ("scale(25.4)", "scaled"), ("skewX(0.05)", "skewed"),
    ("scale(-1,1)", "mirrored"), ("matrix(0,1,1,0,0,0)", "mirrored"),
])
@pytest.mark.parametrize("which", ["plank", "layer", "edge"])
def test_a_plank_stretched_skewed_or_mirrored_is_refused(transform, words, which):
    drawing, _, group = make_fair()
    element = {"plank": group, "layer": names.find_layer(group, "fair"),
               "edge": find(drawing, "edge", edge="upper")}[which]
    put_transform(drawing, element, transform)
    with pytest.raises(PatternError, match=words) as caught:
        read_again(drawing)
    assert "run Fair Plank again" in caught.value.remedy


@pytest.mark.parametrize("transform",
                         ["translate(123.4,-56.7)", "rotate(33)", "rotate(180)", "translate(5,6) rotate(-71,400,20)"])
@pytest.mark.parametrize("which", ["plank", "layer"])
def test_a_plank_moved_or_turned_as_a_whole_is_still_the_plank(transform, which):
    drawing, plank, group = make_fair()
    put_transform(drawing, group if which == "plank" else names.find_layer(group, "fair"), transform)
    found = read_again(drawing)
    matrix = np.array(inkex.Transform(transform).matrix)
    for name in EDGE_NAMES:
        assert found.edges[name].curve.cubics == pytest.approx(plank.edges[name].curve.transform(matrix).cubics,
                                                               abs=1e-6)


def edit_number(element, place, by):
    """Add to one number of a path's data."""
    words = element.get("d").replace(",", " , ").split()
    numbers = [k for k, w in enumerate(words) if w not in ",MLCZ"]
    k = numbers[place]
    words[k] = "%.7f" % (float(words[k]) + by)
    element.set("d", " ".join(words))


@pytest.mark.parametrize("edge", EDGE_NAMES)
def test_an_edge_moved_alone_is_caught(edge):
    drawing, _, _ = make_fair()
    put_transform(drawing, find(drawing, "edge", edge=edge), "translate(0,2)")
    with pytest.raises(PatternError):
        read_again(drawing)


@pytest.mark.parametrize("place, by", [(13, 0.5), (11, 1.0), (-7, 2.0), (20, -40.0), (0, 0.3)])
def test_a_node_or_a_handle_moved_is_caught(place, by):
    drawing, _, _ = make_fair()
    edit_number(find(drawing, "edge", edge="upper"), place, by)
    with pytest.raises(PatternError, match="changed|bent|agrees"):
        read_again(drawing)


def bend(element, height):
    """A path's data bowed downwards by so much amidships."""
    def move(match):
        x, y = float(match.group(1)), float(match.group(2))
        return "%.7f,%.7f" % (x, y + height * np.sin(np.pi * (x - 100) / 1700))
    element.set("d", re.sub(r"(-?[\d.]+),(-?[\d.]+)", move, element.get("d")))


@pytest.mark.parametrize("height, caught", [(0.01, False), (0.2, True), (-0.2, True), (3.0, True)])
def test_a_plank_bent_as_a_whole_is_caught_though_its_area_is_the_same(height, caught):
    drawing, _, _ = make_fair()
    for element in names.find_roles(drawing.root, "edge") + names.find_roles(drawing.root, "outline"):
        bend(element, height)
    if not caught:
        assert read_again(drawing)
        return
    with pytest.raises(PatternError, match="changed since"):
        read_again(drawing)


def test_an_outline_bent_apart_from_its_edges_is_caught():
    drawing, _, _ = make_fair()
    edit_number(find(drawing, "outline"), 13, 1.0)
    with pytest.raises(PatternError, match="outline"):
        read_again(drawing)


def test_edges_lost_doubled_or_cut_are_caught():
    for change, words in (("lose", "lost"), ("double", "too many"), ("cut", "pieces"), ("empty", "empty")):
        drawing, _, _ = make_fair()
        edge = find(drawing, "edge", edge="lower")
        if change == "lose":
            edge.getparent().remove(edge)
        elif change == "double":
            edge.addnext(etree.fromstring(etree.tostring(edge)))
        elif change == "cut":
            edge.set("d", edge.get("d") + " M 0,0 L 5,5")
        else:
            edge.set("d", "")
        with pytest.raises(PatternError, match=words):
            read_again(drawing)


@pytest.mark.parametrize("attribute", ["guard-mm", "area-mm2"])
@pytest.mark.parametrize("value", ["", "1 2 3", "nan", "words"])
def test_a_plank_without_its_record_of_lengths_is_refused(attribute, value):
    drawing, _, group = make_fair()
    group.set(names.attribute(attribute), value)
    with pytest.raises(PatternError):
        read_again(drawing)


def test_a_page_given_another_scale_afterwards_is_caught():
    """Somebody sets the page to half its width: every length on it halves."""
    drawing, _, _ = make_fair()
    drawing.root.set("width", "1000mm")
    drawing.root.set("height", "200mm")
    with pytest.raises(PatternError, match="scaled"):
        read_again(drawing)


def test_a_drawing_without_the_fair_layer_is_refused():
    drawing, _, group = make_fair()
    group.remove(names.find_layer(group, "fair"))
    with pytest.raises(PatternError, match="no fair edges"):
        read_again(drawing)


# -- layers ------------------------------------------------------------------------------------------------------------

def test_stations_and_saw_line_come_back():
    drawing, _, group = make_fair()
    struck, saw = strike(drawing, group), allow(drawing, group)
    again = reopen(drawing)
    group = again.find_group()
    found, line = read_stations(again, group), read_saw_line(again, group)
    assert [s.label for s in found] == [s.label for s in struck]
    for a, b in zip(found, struck):
        assert a.line == pytest.approx(b.line, abs=1e-6) and a.width_mm == pytest.approx(
            b.width_mm, abs=1e-6) and a.distance_mm == pytest.approx(b.distance_mm, abs=1e-6)
    assert line.added_mm == saw.added_mm
    for a, b in zip(line.curves, saw.curves):
        assert a.cubics == pytest.approx(b.cubics, abs=1e-6)


def test_without_those_layers_there_is_nothing_to_read():
    drawing, _, group = make_fair()
    assert read_stations(drawing, group) == [] and read_saw_line(drawing, group) is None


@pytest.mark.parametrize("layer, action", [("stations", "Frame Stations"), ("saw", "Allowances")])
def test_layers_older_than_the_last_fairing_are_refused_with_the_action_to_run(layer, action):
    drawing, _, group = make_fair()
    strike(drawing, group)
    allow(drawing, group)
    drawing.selected = [group]
    fair(drawing, settings=FairSettings(shortest_wave_mm=900), **NAMES)
    with pytest.raises(PatternError, match="faired again") as caught:
        read_stations(drawing, group) if layer == "stations" else read_saw_line(drawing, group)
    assert action in caught.value.remedy


@pytest.mark.parametrize("change", ["translate(30,0)", "translate(0,4)", "rotate(1)", "scale(1.01)", "longer"])
def test_a_station_moved_since_it_was_struck_is_refused(change):
    drawing, _, group = make_fair()
    strike(drawing, group)
    station = find(drawing, "station", station="3")
    if change == "longer":
        edit_number(station, 1, -5)
    else:
        put_transform(drawing, station, change)
    with pytest.raises(PatternError, match="Station 3"):
        read_stations(drawing, group)


@pytest.mark.parametrize("change", ["translate(10,0)", "translate(0,1)", "rotate(0.2)", "scale(1.001)", "scale(-1,1)",
                                    "handle", "node", "two", "lost", "pieces"])
def test_a_saw_line_changed_since_it_was_made_is_refused(change):
    drawing, _, group = make_fair()
    allow(drawing, group)
    saw = find(drawing, "saw")
    if change in ("handle", "node"):
        edit_number(saw, 11 if change == "handle" else 13, 2.0)
    elif change == "two":
        saw.addnext(etree.fromstring(etree.tostring(saw)))
    elif change == "lost":
        saw.getparent().remove(saw)
    elif change == "pieces":
        saw.set(names.attribute("pieces"), "1 1 1 1")
    else:
        put_transform(drawing, saw, change)
    with pytest.raises(PatternError, match="saw line"):
        read_saw_line(drawing, group)


def test_stations_and_saw_line_moved_with_the_whole_plank_are_still_good():
    drawing, _, group = make_fair()
    strike(drawing, group)
    allow(drawing, group)
    put_transform(drawing, group, "translate(40,-7) rotate(12)")
    again = reopen(drawing)
    group = again.find_group()
    assert len(read_stations(again, group)) > 4 and read_saw_line(again, group) is not None


@pytest.mark.parametrize("moved", ["fair", "stations", "saw"])
def test_one_layer_moved_apart_from_the_others_is_refused_when_they_are_used_together(moved):
    """The plank dragged off, its stations and saw line left behind, or the other way round."""
    drawing, _, group = make_fair()
    strike(drawing, group)
    allow(drawing, group)
    put_transform(drawing, names.find_layer(group, moved), "translate(0,15)")
    again = reopen(drawing)
    group = again.find_group()
    with pytest.raises(PatternError):
        again.read_plank(group)
        read_stations(again, group)
        read_saw_line(again, group)


def spell_layers(group, *, but):
    return {names.get(c, "layer"): etree.tostring(c) for c in group if names.get(c, "layer") != but}


def test_a_second_run_replaces_its_own_layer_only():
    drawing, _, group = make_fair()
    strike(drawing, group)
    allow(drawing, group)
    note = etree.SubElement(group, "{http://www.w3.org/2000/svg}g", {"id": "my-notes"})
    order = [names.get(c, "layer") for c in group]
    before = spell_layers(group, but="saw")
    allow(drawing, group, upper=5.0)
    assert spell_layers(group, but="saw") == before and [names.get(c, "layer") for c in group] == order
    assert names.get(find(drawing, "saw"), "upper-mm") == "5"
    before = spell_layers(group, but="fair")
    drawing.selected = [group]
    fair(drawing, **NAMES)
    assert spell_layers(group, but="fair") == before and [names.get(c, "layer") for c in group] == order
    assert note.getparent() is group and len(drawing.find_groups()) == 1
    assert names.get(group, "fairing") == "2"


def test_fairing_again_with_the_same_settings_gives_the_same_plank():
    drawing, plank, group = make_fair()
    drawing.selected = [group]
    again, _ = fair(drawing, **NAMES)
    compare_planks(plank, again, within=1e-9)


def test_transforms_keep_every_digit_their_author_gave_them():
    """Six digits, as the editor's own library writes, are too few: 22677.165 would lose 0.035 of a unit."""
    text = "translate(22677.1651234,-9) rotate(20.1234567)"
    drawing = open_drawing('<g id="outer" transform="%s">%s</g>' % (text, draw_plank()),
                           page='width="30000mm" height="30000mm" viewBox="0 0 30000 30000"')
    fair(drawing)
    assert reopen(drawing).root.getElementById("outer").attrib.get("transform") == text


def test_artwork_that_is_not_ours_is_left_as_it_was():
    other = '<g id="mine" transform="scale(2)"><path id="doodle" d="M 1,1 L 2,2"/><text id="t">words</text></g>'
    drawing = open_drawing(other + draw_plank(), selected=("trace",))
    before = etree.tostring(drawing.root.getElementById("mine"))
    fair(drawing)
    strike(drawing, drawing.find_group())
    assert etree.tostring(drawing.root.getElementById("mine")) == before


# -- sheet -------------------------------------------------------------------------------------------------------------

def test_the_sheet_file_is_one_unit_to_the_mm_with_what_is_cut_apart(tmp_path):
    drawing, plank, group = make_fair()
    strike(drawing, group)
    sheet = lay_out_sheet(drawing.read_plank(group), stations=read_stations(drawing, group),
                          saw=allow(drawing, group))
    write_files({tmp_path / "sheet.svg": write_pages_svg([make_page(sheet)])})
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.svg"]
    root = etree.parse(str(tmp_path / "sheet.svg")).getroot()
    width, height = float(root.get("width")[:-2]), float(root.get("height")[:-2])
    assert root.get("width").endswith("mm") and [float(v) for v in root.get("viewBox").split()] == [0, 0, width, height]
    assert width == pytest.approx(sheet.width_mm, abs=0.011) and width >= sheet.width_mm
    cut = [e for e in root.iter() if names.get(e, "role") == "saw"]
    look = cut[0].getparent()                      # lines of one look share a group
    assert len(cut) == 1 and names.get(look.getparent(), "layer") == "cut" and len(look) == len(look.getparent()) == 1
    bar, = [e for e in root.iter() if names.get(e, "role") == "scale-bar" and names.get(e, "length-mm") == "1000"]
    run, = read_path(bar.get("d"), where="bar")
    assert np.hypot(*(run.cubics[-1, 3] - run.cubics[0, 0])) == pytest.approx(1000, abs=1e-6)
    assert len([e for e in root.iter() if names.get(e, "role") == "station"]) == len(
        strike_stations(plank, settings=StationSettings())[0])


def test_a_sheet_for_a_folder_that_is_not_there_is_refused_and_leaves_nothing(tmp_path):
    sheet = lay_out_sheet(make_fair()[1])
    with pytest.raises(DocumentError, match="no folder"):
        write_files({tmp_path / "nowhere" / "sheet.svg": write_pages_svg([make_page(sheet)])})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("degrees", [0, 30])
def test_the_sheet_drawn_round_the_plank_lies_where_the_sheet_would(degrees):
    drawing = open_drawing(draw_plank(turn(draw_plank_points(), degrees) + (300, 0)))
    plank, group = fair(drawing)
    sheet = lay_out_sheet(plank)
    write_sheet_layer(drawing, group, sheet)
    frame, = read_path(find(drawing, "sheet").get("d"), where="frame")
    corners = transforms.apply(sheet.to_sheet, transforms.apply(find_total_map(find(drawing, "sheet"), drawing.page),
                                                                frame.cubics[:, 0]))
    assert corners == pytest.approx(np.array([(0, 0), (sheet.width_mm, 0), (sheet.width_mm, sheet.height_mm),
                                              (0, sheet.height_mm)]), abs=1e-6)


def test_all_planks_are_meant_where_none_is_selected():
    drawing = open_drawing(draw_plank() + draw_plank(draw_plank_points() + (0, 180), key="second"), selected=["trace"])
    fair(drawing)
    again = reopen(drawing, ["second"])
    fair(again)
    both = reopen(again)
    assert [g.get("id") for g in both.find_groups_meant()] == ["plank-1", "plank-2"]
    assert [g.get("id") for g in reopen(again, ["plank-2"]).find_groups_meant()] == ["plank-2"]
    with pytest.raises(SelectionError, match="no fair plank"):
        open_drawing(draw_plank()).find_groups_meant()


def test_tables_lie_beside_the_drawing_unless_it_was_read_from_elsewhere(tmp_path):
    path = str(tmp_path / "boat.svg")
    assert Drawing(open_drawing("").root, (), path).home == str(tmp_path)
    assert Drawing(open_drawing("").root, (), path, "elsewhere").home == "elsewhere"
    assert Drawing(open_drawing("").root).home == ""
