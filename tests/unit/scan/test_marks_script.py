"""Read Marks as a process: what it writes, read back here by itself; what it refuses. The drawings are invented."""
import re
from pathlib import Path

import numpy as np
import pytest
from drawings import HEAD, MM_PAGE, write_path_data
from host.scripts import run_script
from lxml import etree
from mark_drawings import draw_arc_points, draw_rows, draw_tag_points
from shapes import draw_rectangle, turn

from plankcore.command.recipe import read_recipe
from plankcore.command.running import run_recipe

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[3] / "extensions"
PLANK = "{urn:plankcore:1}"
INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"
SVG = "{http://www.w3.org/2000/svg}"


def draw_body(count=8, *, scale=1.0, more=""):
    """Tags on both rows as one traced object in a group 'scan' with a picture, and frame numbers as text."""
    upper, lower = draw_rows(count)
    runs = [turn(draw_tag_points(), 0) + p for p in upper] + [turn(draw_tag_points(), 180) + p for p in lower]
    runs.append(draw_rectangle(1.5, 1.5, left=900, top=250))
    data = " ".join(write_path_data(r * scale) for r in runs)
    words = "".join('<text id="n%d" x="%g" y="%g"><tspan x="%g" y="%g">%d</tspan></text>'
                    % (k, *(2 * [(p[0] + 4) * scale, (p[1] + 95) * scale]), k + 7)
                    for k, p in enumerate(upper[::-1]))
    return '<g id="scan"><image id="pic" width="5" height="5"/><path id="trace" d="%s"/>%s</g><g id="words">%s</g>' % (
        data, more, words)


def write(folder, body, page=MM_PAGE):
    path = folder / "in.svg"
    path.write_text(HEAD % (page, body))
    return path


def run(drawing, *, select=("scan",), **settings):
    """(code, stdout, stderr, output path)"""
    output = drawing.parent / "out.svg"
    done = run_script("plank_marks", drawing, output, select=select, settings=settings, strict=True)
    return done.code, done.out, done.said, output


def read_back(path):
    """(layer, [(edge, station, x, y, error, verdict, kind)]) of the layer at the root, its own transform taken in; mm
    on a page of 1 unit to the mm.
    """
    root = etree.parse(str(path)).getroot()
    layer, = [e for e in root if e.get(PLANK + "layer") == "marks"]
    match = re.match(r"matrix\(([^)]*)\)", layer.get("transform") or "matrix(1,0,0,1,0,0)")
    a, b, c, d, e, f = map(float, match.group(1).split(","))
    wide = float(root.get("width")[:-2]) / float(root.get("viewBox").split()[2])
    marks = []
    for mark in layer.iter(SVG + "path"):
        if mark.get(PLANK + "role") == "mark":
            places = np.array([float(v) for v in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", mark.get("d"))]).reshape(-1, 2)
            x, y = (places.min(axis=0) + places.max(axis=0)) / 2
            marks.append((mark.get(PLANK + "edge"), mark.get(PLANK + "station"), (a * x + c * y + e) * wide,
                          (b * x + d * y + f) * wide,
                          float(mark.get(PLANK + "error-mm")), mark.get(PLANK + "verdict"), mark.get(PLANK + "kind")))
    return layer, marks


def find_words(layer):
    return [e.get(PLANK + "text") for e in layer.iter(SVG + "path") if e.get(PLANK + "role") == "note"]


# -- refusals -------------------------------------------------------------------------------------------------------

CLONE = '<use id="u" xlink:href="#trace"/>'
BAD = {
    "nothing selected": (draw_body(), (), {}, ["Nothing is selected"]),
    "an id that is not there": (draw_body(), ("nope",), {}, ["nope"]),
    "only words": (draw_body(), ("words",), {}, ["holds no traced line"]),
    "only a picture": (draw_body(), ("pic",), {}, ["holds no traced line"]),
    "a clone": (draw_body(more=CLONE), ("scan",), {}, ["clone"]),
    "an empty path": ('<path id="p" d=""/>', ("p",), {}, ["p"]),
    "a path cut off": ('<path id="p" d="M 0,0 L 5"/>', ("p",), {}, ["p"]),
    "specks alone": ('<path id="p" d="M 0,0 L 1,0 L 1,1 Z"/>', ("p",), {}, ["a speck under 6 mm"]),
    "one tag whose edge is not said": ('<path id="p" d="%s"/>' % write_path_data(draw_tag_points() + (500, 100)),
                                       ("p",), {}, ["alone does not tell"]),
    "arcs without an opening": (draw_body(), ("scan",), {"kind": "arc"}, ["opening is not given", "Divider opening"]),
    "tags where lines are asked for": (draw_body(), ("scan",), {"kind": "line"}, ["only lines are asked for"]),
    "an opening that is no length": (draw_body(), ("scan",), {"radius": "wide"},
                                     ["'wide' is not a length", "Divider opening"]),
    "an opening below nothing": (draw_body(), ("scan",), {"radius": "-40"}, ["out of range"]),
    "a block that is no length": (draw_body(), ("scan",), {"block": "1 inch and a bit"}, ["Block"]),
    "a spacing of nothing": (draw_body(), ("scan",), {"spacing": "0"}, ["Marks along a line every"]),
    "an error of nothing": (draw_body(), ("scan",), {"least_error": "0"}, ["Least error"]),
    "a label that cannot be counted on": (draw_body(), ("scan",), {"stations": "count", "first_label": "stem"},
                                          ["'stem'"]),
    "a kind that is not known": (draw_body(), ("scan",), {"kind": "dots"}, ["dots"]),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_gives_one_message_and_no_output(tmp_path, name):
    body, select, settings, words = BAD[name]
    code, out, said, output = run(write(tmp_path, body), select=select, **settings)
    assert code == 251 and out == "" and not output.exists(), said
    assert re.fullmatch(r"Read Marks\n\nProblem: \S.*\nRemedy: \S.*(\nWhere: \S.*)?\n?", said), said
    assert all(w in said for w in words), said


@pytest.mark.parametrize("page", ['width="2000" height="400mm" viewBox="0 0 2000 500"', 'viewBox="0 0 2000 400"',
                                  'width="100%" height="400mm"'])
def test_a_page_without_a_true_size_is_refused(tmp_path, page):
    code, out, _, output = run(write(tmp_path, draw_body(), page))
    assert code == 251 and out == "" and not output.exists()


# -- what is written ---------------------------------------------------------------------------------------------------

def check_tags(marks):
    upper, lower = draw_rows()
    for edge, true in (("upper", upper), ("lower", lower)):
        mine = [m for m in marks if m[0] == edge]
        assert [m[1] for m in mine] == [str(k) for k in range(7, 15)]
        assert np.array([m[2:4] for m in mine]) == pytest.approx(true[::-1], abs=0.05)
    assert {m[4:] for m in marks} == {(0.2, "used", "tag")}


def test_tags_of_a_whole_scan_become_marks_and_the_scan_stays_as_it_is(tmp_path):
    drawing = write(tmp_path, draw_body())
    code, out, said, output = run(drawing)
    assert (code, out, said) == (0, "", "")
    layer, marks = read_back(output)
    check_tags(marks)
    assert layer.get(INKSCAPE + "groupmode") == "layer" and layer.get("id") == "plank-marks" and layer.get(
        "transform") is None
    assert find_words(layer) == ["Read: 16 marks (tag 16): upper 8, lower 8",
                                 "Standard error 0.20 to 0.20 mm; 0 doubtful",
                                 "No marks were read on: fore, aft. Fair Plank needs them, or a line there",
                                 "Not read: 1, a speck under 6 mm"]
    before, after = (etree.parse(str(p)).getroot() for p in (drawing, output))
    for key in ("scan", "words"):
        told = [[(e.tag, dict(e.attrib), e.text) for e in root.find(".//*[@id='%s']" % key).iter()]
                for root in (before, after)]
        assert len(told[0]) >= 3 and told[0] == told[1]


def test_on_a_page_of_other_units_the_marks_lie_at_the_same_mm(tmp_path):
    code, _, said, output = run(write(tmp_path, draw_body(scale=4.0),
                                      'width="2000mm" height="400mm" viewBox="0 0 8000 1600"'))
    assert (code, said) == (0, "")
    layer, marks = read_back(output)
    check_tags(marks)
    assert layer.get("transform").startswith("matrix(4,")


def test_a_second_run_takes_the_place_of_the_first_and_of_nothing_else(tmp_path):
    drawing = write(tmp_path, draw_body(more='<path id="own" d="M 0,0 L 9,9"/>'))
    run(drawing, least_error="2 mm")
    first = tmp_path / "out.svg"
    first.rename(tmp_path / "first.svg")
    code, _, said, output = run(tmp_path / "first.svg")
    assert (code, said) == (0, "")
    _, marks = read_back(output)
    check_tags(marks)
    one, two = (etree.parse(str(p)).getroot() for p in (tmp_path / "first.svg", output))
    assert [e.get("id") for e in one] == [e.get("id") for e in two]


def test_marks_of_an_earlier_run_can_be_kept(tmp_path):
    arcs = "".join('<path id="arc%g" d="%s"/>' % (y, write_path_data(draw_arc_points(40, 150, 210) + (2000.0, y)))
                   for y in (180.0, 260.0))
    drawing = write(tmp_path, draw_body() + '<g id="arcs">%s</g>' % arcs)
    run(drawing)
    (tmp_path / "out.svg").rename(tmp_path / "first.svg")
    code, _, said, output = run(tmp_path / "first.svg", select=("arcs",), kind="arc", radius="40", edge="fore",
                                earlier="keep")
    assert (code, said) == (0, "")
    _, marks = read_back(output)
    assert [m[0] for m in marks] == ["upper"] * 8 + ["lower"] * 8 + ["fore"] * 2
    assert np.array([m[2:4] for m in marks[-2:]]) == pytest.approx(np.array([(2000, 180), (2000, 260)]), abs=0.05)
    output.rename(tmp_path / "second.svg")
    _, again = read_back(run(tmp_path / "second.svg", select=("arcs",), kind="arc", radius="40", edge="fore",
                             earlier="keep")[3])
    assert len(again) == 18
    output.rename(tmp_path / "third.svg")
    assert len(read_back(run(tmp_path / "third.svg", select=("arcs",), kind="arc", radius="40",
                             edge="fore")[3])[1]) == 2


def test_doubtful_marks_and_shapes_left_out_are_ringed_and_named(tmp_path):
    askew = np.array([[-12.5, 0], [12.5, 6], [12.5, 70], [-12.5, 70]], float) + (2040, 115)
    pair = draw_rectangle(52, 70, left=1000, top=600)
    code, _, said, output = run(write(
        tmp_path, draw_body(more='<path d="%s %s"/>' % (write_path_data(askew), write_path_data(pair)))), edge="upper")
    assert (code, said) == (0, "")
    layer, marks = read_back(output)
    assert [m[5] for m in marks].count("doubtful") == 1
    words = find_words(layer)
    assert sum(e.get(PLANK + "role") == "ring" for e in layer) == 2
    assert any("out of square" in w for w in words) and any(w.startswith("not read: ") and "touch" in w for w in words)
    assert any(w.startswith("Not read: 1, ") and "touch" in w for w in words)


def test_hidden_words_give_no_number_and_counting_needs_none(tmp_path):
    body = draw_body().replace('<g id="words">', '<g id="words" style="display:none">')
    _, marks = read_back(run(write(tmp_path, body))[3])
    assert {m[1] for m in marks} == {""}
    _, marks = read_back(run(write(tmp_path, body), stations="count", first_label="F7")[3])
    assert [m[1] for m in marks if m[0] == "lower"] == ["F%d" % k for k in range(7, 15)]


def test_in_a_recipe_the_marks_feed_fair_plank(tmp_path):
    _upper, _lower = draw_rows()
    ends = "".join('<path d="%s"/>' % write_path_data(np.array([(x, 80.0), (x, 380.0)]), closed=False)
                   for x in (170.0, 1840.0))
    write(tmp_path, draw_body() + '<g id="ends">%s</g>' % ends)
    recipe = tmp_path / "recipe.toml"
    recipe.write_text('[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n[[plank.step]]\naction = "marks"\nselect = '
                      '["scan"]\nleast_error = 0.3\n'
                      '[[plank.step]]\naction = "fair"\nselect = ["plank-marks", "ends"]\n')
    written, failed = run_recipe(read_recipe(recipe), actions=EXTENSIONS, progress=lambda text: None)
    assert failed == []
    root = etree.parse(str(written[0])).getroot()
    fair, = [e for e in root.iter() if isinstance(e.tag, str) and e.get(PLANK + "layer") == "fair"]
    marks = [e for e in fair if e.get(PLANK + "role") == "mark"]
    assert len(marks) == 16 and {float(m.get(PLANK + "error-mm")) for m in marks} == {0.3}
    assert {m.get(PLANK + "station") for m in marks} == {str(k) for k in range(7, 15)}
