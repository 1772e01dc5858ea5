"""What no yard draws, and some file holds: refused in our words, and before the work grows without bound."""
import os
from pathlib import Path

import numpy as np
import pytest
from drawings import MM_PAGE, draw_plank, draw_plank_points, open_drawing, write_path_data

from plankcore.command.running import load_action
from plankcore.document.files.media import find_media_file
from plankcore.document.files.output import expand_home, find_folder, make_folder
from plankcore.document.files.table import Column, read_table, read_table_file
from plankcore.document.read import MOST_PIECES
from plankcore.errors import DocumentError, PlankError, SelectionError, SettingError
from plankcore.geometry.traced_lines import join_runs

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[3] / "extensions"
COLUMNS = (Column("frame", required=True),)
OTHERS = '<x:rect xmlns:x="urn:other" id="f" x="0" y="0" width="5" height="5"/>'


def run(action, body, select, page=MM_PAGE, **settings):
    made = load_action(EXTENSIONS, action)()
    made.read_arguments(["--%s=%s" % pair for pair in settings.items()])
    made.apply(open_drawing(body, page=page).root, select, "")


def far(x, y):
    points = draw_plank_points()
    points[300] = (x, y)
    return draw_plank(points)


def scatter(count, form, joint=""):
    """This many small things, each of its own place."""
    places = np.random.default_rng(3).random((count, 2)) * (1700, 100) + (100, 150)
    return joint.join(form.format(k=k, x=x, y=y) for k, (x, y) in enumerate(places))


PIECES = '<path id="trace" d="%s"/>' % scatter(100_000, "M {x:.2f},{y:.2f} l 3,0.5 -1,2 z", " ")
SHAPES = scatter(10_000, '<path id="p{k}" d="M {x:.2f},{y:.2f} l 3,0.5 -1,2 z"/>')
POINTS = scatter(10_000, '<circle id="p{k}" cx="{x:.2f}" cy="{y:.2f}" r="2" inkscape:label="{k}, {k}"/>')
ALL = ["p%d" % k for k in range(10_000)]


# -- bounded work ------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("action, body, select, words", [
    ("fair", PIECES, ["trace"], "100000, where"), ("marks", PIECES, ["trace"], "100000, where"),
    ("true_up", PIECES, ["trace"], "100000, where"),
    ("fair", SHAPES, ALL, "10000, where"), ("marks", SHAPES, ALL, "10000, where"),
    ("true_up", POINTS, ALL, "10000, where"), ("fair", SHAPES, [], "10000, where"),
    ("join", '<g id="A">%s</g><g id="B">%s</g>' % (POINTS.replace('"p', '"q'), draw_plank()), ["A", "B"],
     "labelled points"),
    ("stations", draw_plank(key="plank") + PIECES, ["trace"], "no fair plank|100000, where"),
    ("fair", far(9e6, 200), ["trace"], "beyond any page"), ("marks", far(9e6, 9e6), ["trace"], "beyond any page"),
    ("fair", draw_plank(draw_plank_points() * 4000), ["trace"], "beyond any page"),
    ("fair", '<path id="trace" d="%s"/>'
     % " ".join("M %d,%d l 900,9" % (k % 900, k % 300) for k in range(MOST_PIECES - 1)), ["trace"], "m long in all"),
    ("marks", '<path id="trace" d="%s"/>' % " ".join("M %g,%g H %g V %g H %g z" % (k, k, 900 - k, 390 - k, k)
                                                     for k in range(150)), ["trace"], "one within the other"),
    ("marks", '<path id="trace" d="%s"/>' % " ".join("M %d,%d h 60 v 18 h -60 z" % (k % 50 * 70, k // 50 * 30)
                                                     for k in range(1000)), ["trace"], "look like tags"),
])
def test_more_than_a_plank_can_have_is_refused_before_it_is_worked_on(action, body, select, words):
    with pytest.raises(PlankError, match=words) as caught:
        run(action, body, select)
    assert caught.value.remedy


def test_frame_lines_without_end_are_refused():
    drawing = open_drawing(draw_plank() + PIECES.replace("trace", "lines"), selected=["lines"])
    with pytest.raises(SelectionError, match="100000, where"):
        drawing.read_selected_lines()


def test_a_noisy_scan_is_still_read():
    """A thousand specks round a plank: ten times what a poor scan leaves."""
    specks = scatter(1000, "M {x:.2f},{y:.2f} l 3,0.5 -1,2 z", " ")
    run("fair", '<path id="trace" style="fill:#000" d="%s %s"/>' % (write_path_data(draw_plank_points()), specks),
        ["trace"])


def test_pieces_are_joined_as_when_each_was_looked_at():
    """A line cut in ten, every other piece turned round, and lines that lead elsewhere."""
    line = np.stack([np.linspace(0, 1000, 1001), np.linspace(0, 30, 1001)], axis=1)
    cut = [line[k:k + 96][::(-1) ** (k // 100)] for k in range(0, 1000, 100)]
    chains = join_runs([*cut, line[:200] + (0, 500)], gap_mm=8.0, turn_deg=20.0, reach_mm=12.0)
    assert sorted(len(c) for c in chains) == [200, 960]


# -- what is no line, no page, no word ---------------------------------------------------------------------------------

@pytest.mark.parametrize("action", ["fair", "marks", "true_up"])
def test_an_element_of_another_namespace_is_refused_where_it_is_selected(action):
    with pytest.raises(SelectionError, match="f is not an object of SVG"):
        run(action, draw_plank() + OTHERS, ["trace", "f"])


def test_an_element_of_another_namespace_in_a_group_is_no_line():
    run("fair", '<g id="g">%s%s<desc>words</desc></g>' % (draw_plank(), OTHERS), ["g"])


@pytest.mark.parametrize("blanks", ["", "   ", "\t"])
def test_a_page_whose_alignment_is_blank_has_the_usual_one(blanks):
    run("fair", draw_plank(), ["trace"], page=MM_PAGE + ' preserveAspectRatio="%s"' % blanks)


def zigzag(count, amplitude, height=100.0, closed=True):
    x, y = np.linspace(100, 1800, count), 200 + amplitude * (-1) ** np.arange(count)
    top = np.stack([x, y], axis=1)
    return '<path id="trace" d="%s"/>' % write_path_data(np.vstack([top, top[::-1] + (0, height)]) if height else top,
                                                         closed=closed)


@pytest.mark.parametrize("action", ["fair", "marks"])
@pytest.mark.parametrize("count, amplitude, height, closed",
                         [(5, 20, 100, True), (11, 80, 100, True), (50, 20, 100, True), (400, 60, 100, True),
                          (300, 50, 0, True), (300, 50, 0, False), (3, 300, 1, True)])
def test_a_zigzag_is_refused_in_our_words_or_read(action, count, amplitude, height, closed):
    try:
        run(action, zigzag(count, amplitude, height, closed), ["trace"])
    except PlankError as error:
        assert error.problem and error.remedy


def draw_teeth(form, pitch, height):
    """A plank whose long edges are teeth of this height each way: a saw's, a meander's or waves."""
    x = np.arange(100, 1801, pitch / 16 if form == "waves" else pitch / 2)
    teeth = np.sin(2 * np.pi * (x - 100) / pitch) if form == "waves" else (-1.0) ** np.arange(len(x))
    if form == "meander":
        x, teeth = np.repeat(x, 2)[1:-1], np.repeat(teeth, 2)[:-2]
    top = np.stack([x, 180 - 50 * np.sin(np.pi * x / 1900) + height * teeth], axis=1)
    bottom = np.stack([x, 300 - 50 * np.sin(np.pi * x / 1900) - height * teeth], axis=1)
    return '<path id="trace" style="fill:#000" d="%s"/>' % write_path_data(np.vstack([top, bottom[::-1]]))


@pytest.mark.parametrize("form, pitch, height, wave", [
    ("meander", 60, 5, 600), ("meander", 60, 45, 600), ("meander", 120, 45, 600), ("meander", 150, 50, 600),
    ("meander", 120, 20, 5000), ("saw", 90, 60, 5000), ("saw", 300, 45, 5000), ("saw", 600, 60, 5000),
    ("waves", 200, 20, 5000), ("waves", 300, 60, 5000), ("waves", 850, 45, 5000)])
def test_an_edge_of_teeth_is_refused_with_its_name_and_place(form, pitch, height, wave):
    """Hardly a point of it lies near any fair run: there is nothing left to fair by."""
    words = "edge is no line to be faired: [0-9]+ % of it lies more than 1.5 mm"
    with pytest.raises(PlankError, match=words) as caught:
        run("fair", draw_teeth(form, pitch, height), ["trace"], shortest_wave="%d mm" % wave)
    assert caught.value.remedy and 100 <= caught.value.where[0] <= 1900 and 50 <= caught.value.where[1] <= 400


@pytest.mark.parametrize("form", ["saw", "meander", "waves"])
@pytest.mark.parametrize("height, pitch", [(0.001, 2), (0.05, 2), (0.5, 10), (1.0, 40)])
def test_teeth_finer_than_a_stray_are_faired_past_and_take_allowances(form, height, pitch):
    """Thousands of them: the plank is read as without them, to a millimetre of its area's width."""
    drawing = open_drawing(draw_teeth(form, pitch, height))
    for action, select in (("fair", ["trace"]), ("allowance", [])):
        made = load_action(EXTENSIONS, action)()
        made.read_arguments(["--thickness=25 mm"] if action == "fair" else ["--aft=300 mm"])
        made.apply(drawing.root, select, "")
    plank = drawing.read_plank(drawing.find_group())
    assert plank.measure_width_mm() == pytest.approx(120, abs=1.0)


@pytest.mark.parametrize("text", ["Te\x07rn", "Te\ud800rn", "Tern\x00", "Te\ufffern"])
def test_a_setting_that_no_drawing_can_hold_is_refused(text):
    action = load_action(EXTENSIONS, "fair")()
    with pytest.raises(SettingError, match="cannot be written"):
        action.read_arguments(["--boat=" + text])


# -- folders and tables ------------------------------------------------------------------------------------------------

def test_a_user_who_is_not_known_has_no_folder(tmp_path):
    for work in (lambda: find_folder("", "~nobody-of-that-name/x", what="sheet"), lambda: find_media_file(
            "~nobody-of-that-name/m.csv"), lambda: read_table_file("~nobody-of-that-name/t.csv", COLUMNS)):
        with pytest.raises(SettingError, match="no user's folder '~nobody-of-that-name'"):
            work()
    with pytest.raises(SettingError, match="control character"):
        expand_home("a\0b", field="Folder")


def test_a_folder_that_is_a_file_or_lies_in_one_is_refused(tmp_path):
    (tmp_path / "file").write_text("")
    for place in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(DocumentError, match="a file has its name"):
            make_folder(place, field="Folder")
    with pytest.raises(DocumentError, match="no folder"):
        find_folder("", str(tmp_path / "file"), what="sheet")


@pytest.mark.parametrize("kind", ["fifo", "/dev/zero", "folder"])
def test_a_table_that_never_ends_is_refused(tmp_path, kind):
    place = tmp_path / "t.csv"
    if kind == "fifo":
        os.mkfifo(place)
    elif kind == "folder":
        place.mkdir()
    with pytest.raises(DocumentError, match="no plain file"):
        read_table_file(kind if kind.startswith("/") else str(place), COLUMNS)


@pytest.mark.parametrize("bad", ["\x07", "\x1b", "\ud800", "\0"])
def test_a_table_with_control_characters_is_refused_with_its_row(bad):
    with pytest.raises(DocumentError, match="row 3"):
        read_table("frame\n1\n2%s\n" % bad, COLUMNS, where="t.csv")


def test_a_scan_of_ten_thousand_shapes_is_refused_before_they_are_measured(monkeypatch):
    """Specks of a noisy trace that was broken apart: they would take a quarter of a minute."""
    from plankcore.document import controls
    measured = []
    monkeypatch.setattr(controls, "read_trace", lambda *a: measured.append(a))
    dots = "".join('<circle cx="%d" cy="%d" r="2"/>' % (10 + k % 200 * 10, 10 + k // 200 * 10) for k in range(10000))
    drawing = open_drawing('<g id="scan">%s</g>' % dots, selected=["scan"])
    with pytest.raises(SelectionError, match="10000") as caught:
        controls.read_scan(drawing, unit="mm")
    assert caught.value.remedy and not measured
