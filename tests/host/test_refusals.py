"""What cannot be used is refused: one message with problem and remedy, exit code 251, nothing written. Each case is a
process.
"""
import os
import re

import pytest
from host import editor
from host.inx import list_length_fields, load_class
from host.refusals import REFUSED, TITLES, check_refusal, edit, run_steps
from host.scripts import Result, list_arguments, run_script
from host.simple import PAGE, draw_edges, draw_outline, draw_page, outline_points, spell_path
from lxml import etree

from plankcore.document.extension import load_document
from plankcore.errors import SettingError

LATER = ("plank_stations", "plank_allowance", "plank_plot")


# -- the check itself ---------------------------------------------------------------------------------------------

GOOD = "Fair Plank\n\nProblem: It is bad.\nRemedy: Mend it.\nWhere: there\n"


def test_a_good_refusal_passes(tmp_path):
    check_refusal(Result(REFUSED, "", GOOD), "plank_fair", ["bad"], [], folder=tmp_path)


@pytest.mark.parametrize("code, out, said", [
    (0, "", GOOD), (1, "", GOOD), (REFUSED, "<svg/>", GOOD), (REFUSED, "", "x.py:1: Warning: y\n" + GOOD),
    (REFUSED, "", GOOD + "more\n"),
    (REFUSED, "", "Fair Plank\n\nProblem: It is bad.\n"), (REFUSED, "", GOOD.replace("bad", "good")),
    (REFUSED, "", GOOD.replace("Mend it.", "")),
    (REFUSED, "", GOOD.replace("It is bad", "The action met a fault of its own, bad")), (REFUSED, "", "")])
def test_planted_faults_are_caught(tmp_path, code, out, said):
    with pytest.raises(AssertionError):
        check_refusal(Result(code, out, said), "plank_fair", ["bad"], [], folder=tmp_path)


def test_planted_fault_a_file_left_behind_is_caught(tmp_path):
    (tmp_path / "out.svg").write_text("")
    with pytest.raises(AssertionError):
        check_refusal(Result(REFUSED, "", GOOD), "plank_fair", ["bad"], [], folder=tmp_path)


def test_the_plank_that_the_bad_cases_spoil_is_itself_good(tmp_path):
    for count, (body, select) in enumerate([(draw_outline(), ("trace",)), (draw_edges("edges"), ("edges",))]):
        (tmp_path / "in.svg").write_text(draw_page(body))
        result = run_script("plank_fair", tmp_path / "in.svg", tmp_path / ("out_%d.svg" % count), select=select)
        assert (result.code, result.said) == (0, ""), result.said


# -- selection ----------------------------------------------------------------------------------------------------

def cut_open():
    return '<path id="a" d="%s"/>' % spell_path(outline_points()[:-15], closed=False)


def cross():
    points = outline_points()
    points[200:210, 1] += 150          # the upper edge dips through the lower
    return draw_outline("a", points=points)


MARKS = "".join('<circle id="m%d" cx="%g" cy="%g" r="3"/>' % (k, *p) for k, p in enumerate(outline_points()[::60]))
SELECTIONS = {
    "an empty page": ("", (), ["Nothing is selected, and the page holds no line", "Select the traced outline"]),
    "nothing selected, several that could be meant": (draw_outline("a") + draw_outline("b", top=400), (),
                                                      ["Nothing is selected", "2 lines", "a;", "b"]),
    "a picture": ('<image id="a" width="10" height="10" xlink:href="scan.png"/>', ("a",),
                  ["A picture is selected", "Trace"]),
    "text": ('<text id="a">words</text>' + draw_outline(), ("a",), ["a is text", "Object to Path"]),
    "a group with text in it": ('<g id="a">%s<text id="b">words</text></g>' % draw_outline(), ("a",), ["b is text"]),
    "a clone": (draw_outline() + '<use id="a" xlink:href="#trace"/>', ("a",), ["a is a clone", "Unlink Clone"]),
    "an empty group": ('<g id="a"/>', ("a",), ["No lines are selected"]),
    "an id that is not there": (draw_outline(), ("nope",), ["called 'nope'"]),
    "an open outline": (cut_open(), ("a",), ["The outline is open: there is a gap of", "Where: "]),
    "an outline that crosses itself": (cross(), ("a",), ["crosses itself", "mm from the left"]),
    "two outlines": (draw_outline("a") + draw_outline("b", top=400), ("a", "b"), ["Two outlines are selected"]),
    "edges of two planks": (draw_edges("a") + draw_edges("b", top=400), ("a", "b"), ["two planks"]),
    "edges without an end": (draw_edges("a"), ("a_0", "a_1", "a_2"), ["plank needs four edges"]),
    "marks without ends": (MARKS, tuple("m%d" % k for k in range(15)), ["both ends are needed"]),
    "a blob": ('<rect id="a" x="100" y="100" width="300" height="280"/>', ("a",), ["not long enough"]),
    "a plank on end": ('<g transform="translate(900) rotate(90)">%s</g>' % draw_outline("a"), ("a",),
                       ["stands upright"]),
}


@pytest.mark.parametrize("case", SELECTIONS)
def test_selections(refuse, case):
    body, select, words = SELECTIONS[case]
    refuse("plank_fair", draw_page(body), words, select=select)


def test_with_nothing_selected_the_one_candidate_is_used_and_named(tmp_path):
    (tmp_path / "in.svg").write_text(draw_page(draw_outline("the_trace") + '<path id="speck" d="M 0,0 h 5"/>'))
    result = run_script("plank_fair", tmp_path / "in.svg", tmp_path / "out.svg")
    assert (result.code, result.said) == (0, "")
    notes = [e.get("{urn:plankcore:1}text") for e in etree.parse(str(tmp_path / "out.svg")).iter()
             if e.get("{urn:plankcore:1}role") == "note"]
    assert "Nothing was selected; the_trace was read." in notes


# -- page and path data -------------------------------------------------------------------------------------------

PAGES = {
    "no width": ('height="900mm" viewBox="0 0 2000 900"', ["no true size", "width is not given"]),
    "no height": ('width="2000mm" viewBox="0 0 2000 900"', ["no true size", "height is not given"]),
    "per cent": ('width="100%" height="100%" viewBox="0 0 2000 900"', ["no true size", "100%"]),
    "em": ('width="200em" height="90em" viewBox="0 0 2000 900"', ["no true size", "200em"]),
    "not a number": ('width="nanmm" height="900mm" viewBox="0 0 2000 900"', ["no true size"]),
    "no size": ('width="0mm" height="900mm" viewBox="0 0 2000 900"', ["page"]),
    "other scale across": ('width="2000mm" height="900mm" viewBox="0 0 2000 905"', ["along", "across"]),
    "view box of three": ('width="2000mm" height="900mm" viewBox="0 0 2000"', ["viewBox"]),
    "view box without width": ('width="2000mm" height="900mm" viewBox="0 0 0 900"', ["viewBox"]),
}


@pytest.mark.parametrize("case", PAGES)
def test_pages_without_a_true_size(refuse, case):
    page, words = PAGES[case]
    refuse("plank_fair", draw_page(draw_outline(), page), words, select=("trace",))


PATHS = {
    "NaN": ("M 0,0 L NaN,5 L 9,9", ["NaN"]), "infinite": ("M 0,0 L 1e400,5 L 9,9", ["finite"]),
    "empty": ("", ["is empty"]), "blank": ("  ", ["is empty"]),
    "cut off in a pair": (spell_path(outline_points()).rpartition(",")[0], ["cut off"]),
    "cut off in a curve": ("M 0,0 C 1,1 2,2 3", ["cut off"]),
    "no moveto": ("L 5,5", ["moveto"]), "words": ("M 0,0 L a,b", ["not a number"]),
    "lone moveto": ("M 5,5", ["no length"]),
    "beyond any page": ("M 0,0 L 1e9,0 L 1e9,1e8 Z", ["beyond any page"]),
    "not ASCII": ("M 0,0 L ５,5", ["not path data"]),
}


@pytest.mark.parametrize("case", PATHS)
def test_bad_path_data(refuse, case):
    data, words = PATHS[case]
    refuse("plank_fair", draw_page('<path id="a" d="%s"/>' % data), ["Where: a", *words], select=("a",))


def test_a_path_without_data(refuse):
    refuse("plank_fair", draw_page('<path id="a"/>'), ["is empty", "Where: a"], select=("a",))


# -- files --------------------------------------------------------------------------------------------------------

WHOLE = draw_page(draw_outline())
BOMB = '<!DOCTYPE svg [<!ENTITY a "%s">%s]>' % (
    "x" * 50, "".join('<!ENTITY %s "%s">' % (chr(98 + k), ("&%s;" % chr(97 + k)) * 20) for k in range(8)))
FILES = {
    "cut off": (WHOLE[:len(WHOLE) // 2], ["damaged or cut off"]),
    "cut off at its very end": (WHOLE[:-3], ["damaged or cut off"]),
    "empty": ("", ["damaged or cut off"]), "not XML": ("A letter about a boat.", ["damaged or cut off"]),
    "bytes": (bytes(range(256)), ["damaged or cut off"]),
    "web page": ('<html xmlns="http://www.w3.org/1999/xhtml"><body/></html>', ["not an SVG drawing"]),
    "other XML": ("<plank/>", ["not an SVG drawing"]),
    "entity bomb": (BOMB + WHOLE.replace("</svg>", "<desc>&i;</desc></svg>"), ["entities"]),
    "an entity for the path": ('<!DOCTYPE svg [<!ENTITY p "M 0,0 L 5,5">]>' + draw_page('<path id="trace" d="&p;"/>'),
                               ["entities"]),
}


@pytest.mark.parametrize("script, case", [("plank_fair", case) for case in FILES]
                         + [("plank_plot", "cut off"), ("plank_plot", "entity bomb")])
def test_bad_files(refuse, script, case):
    data, words = FILES[case]
    refuse(script, data, words)


def test_a_file_that_is_not_there(tmp_path):
    result = run_script("plank_fair", tmp_path / "none.svg", tmp_path / "out.svg")
    check_refusal(result, "plank_fair", ["There is no file", "none.svg"], [], folder=tmp_path)


CANARY = "the canary sang"


@pytest.fixture(params=["text", "pipe"])
def outside(request, tmp_path_factory):
    """A file that no drawing may make us read. Whoever opens the pipe waits for ever, and the test with it."""
    path = tmp_path_factory.mktemp("outside") / "canary"
    if request.param == "pipe":
        os.mkfifo(path)
    else:
        path.write_text('<!ENTITY y "%s">' % CANARY)
    return path


@pytest.mark.parametrize("doctype, use", [('<!DOCTYPE svg [<!ENTITY x SYSTEM "%s">]>', "&x;"),
                                          ('<!DOCTYPE svg [<!ENTITY %% x SYSTEM "%s">%%x;]>', "&y;")])
def test_a_file_outside_is_never_read(refuse, outside, doctype, use):
    said = refuse("plank_fair", doctype % outside.as_uri() + WHOLE.replace("</svg>", "<desc>%s</desc></svg>" % use),
                  ["entities"])
    assert CANARY not in said


def test_a_plain_doctype_is_let_pass_and_not_followed(tmp_path, outside):
    (tmp_path / "in.svg").write_text('<!DOCTYPE svg SYSTEM "%s">' % outside.as_uri()
                                     + WHOLE.replace("</svg>", "<desc>&y;</desc></svg>"))
    result = run_script("plank_fair", tmp_path / "in.svg", tmp_path / "out.svg")
    assert (result.code, result.said) == (0, "") and CANARY not in (tmp_path / "out.svg").read_text()


# -- settings -----------------------------------------------------------------------------------------------------

FIELDS = [(script, name) for script in TITLES for name in list_length_fields(script)]


def test_all_actions_but_the_record_have_fields_for_lengths():
    assert {s for s, _ in FIELDS} == set(TITLES) - {"plank_record"}


@pytest.mark.parametrize("script, name", FIELDS)
@pytest.mark.parametrize("value, problem", [("three fingers", "'three fingers' is not a length"), ("-2 mm", "")])
def test_every_length_is_read_as_a_length_and_has_a_least(faired, script, name, value, problem):
    """All fields of all dialogs; in this process, for their number."""
    action = load_class(script)()
    action.read_arguments(list_arguments({name: value}))
    root = load_document(WHOLE.encode() if script == "plank_fair" else faired, where="test").getroot()
    with pytest.raises(SettingError) as refusal:
        action.apply(root, [], "")
    assert problem in refusal.value.problem and refusal.value.where
    assert refusal.value.remedy.startswith(("Write a length such as 2.5", "Give "))


@pytest.mark.parametrize("script, name", dict(FIELDS[::-1]).items())
def test_a_word_for_a_length(refuse, faired, script, name):
    """One field of each dialog, as a process."""
    refuse(script, WHOLE if script == "plank_fair" else faired, ["'three fingers' is not a length", "Where: "],
           settings={name: "three fingers"})


@pytest.mark.parametrize("script, name", [("plank_fair", "thickness"), ("plank_stations", "spacing"),
                                          ("plank_allowance", "fore"), ("plank_plot", "margin")])
def test_a_length_has_a_most(refuse, faired, script, name):
    refuse(script, WHOLE if script == "plank_fair" else faired, ["Give", "Where: "], settings={name: "90000 ft"})


@pytest.mark.parametrize("value", ["5 furlongs", "1,5,2 mm", "nan", "4-13-5"])
def test_odd_lengths(refuse, value):
    refuse("plank_fair", WHOLE, ["'%s' is not a length" % value, "Where: Plank thickness"],
           settings={"thickness": value})


def test_a_comma_that_may_part_thousands(refuse):
    refuse("plank_fair", WHOLE, ["'1,500 mm' may be read in two ways", "Where: Plank thickness"],
           settings={"thickness": "1,500 mm"})


@pytest.mark.parametrize("script, settings, words", [
    ("plank_fair", {"line_edge": "sideways"}, ["sideways"]), ("plank_fair", {"bogus": "1"}, ["bogus"]),
    ("plank_fair", {"unit": "furlong"}, ["furlong"]),
    ("plank_fair", {"comb": "perhaps"}, ["neither true nor false", "comb"]),
    ("plank_stations", {"first_label": "bow"}, ["'bow' is not a label"]),
    ("plank_stations", {"first": "9 m"}, ["beyond the plank's"]),
    ("plank_stations", {"source": "ticks"}, ["No ticks were found"]),
    ("plank_stations", {"source": "marks"}, ["No marks were found"]),
    ("plank_stations", {"source": "lines"}, ["No frame lines are selected"]),
    ("plank_plot", {"folder": "no/such/folder"}, ["There is no folder"]),
    ("plank_plot", {"file_name": "../sheet"}, ["not a plain file name"]),
    ("plank_plot", {"file_name": "in.svg"}, ["take the place of the drawing"])])
def test_settings_that_cannot_be_used(refuse, faired, script, settings, words):
    refuse(script, WHOLE if script == "plank_fair" else faired, words, settings=settings)


def test_a_sheet_of_a_drawing_never_saved_needs_a_folder(tmp_path, faired):
    drawing = tmp_path / "in.svg"
    drawing.write_bytes(faired)
    result = run_script("plank_plot", drawing, tmp_path / "out.svg")
    check_refusal(result, "plank_plot", ["has not been saved", "give a folder"], ["in.svg"], folder=tmp_path)


# -- later actions ------------------------------------------------------------------------------------------------

@pytest.fixture(scope="session")
def faired(tmp_path_factory):
    """The simple plank after Fair Plank."""
    return run_steps(tmp_path_factory.mktemp("faired"), WHOLE.encode(), "plank_fair")


def bend(find):
    """Move a node in the middle of the upper edge, with its two handles, down by 1 mm: what the node tool does."""
    edge = find("edge", "upper")
    data = edge.get("d")
    assert re.sub(r"[^MLCZ]", "", data).strip("C") == "M"           # M x,y and then cubics, six numbers each
    piece = data.count("C") // 2
    moved = {2 + 6 * piece + k for k in (3, 5, 7)}
    count = iter(range(10 ** 6))
    edge.set("d", re.sub(r"-?[0-9.]+", lambda m: "%r" % (float(m.group()) + (next(count) in moved)), data))


def drop(role, edge=None):
    def change(find):
        element = find(role, edge)
        element.getparent().remove(element)
    return change


CHANGES = {
    "scaled": (lambda find: find("plank").set("transform", "scale(1.001)"),
               ["has been scaled since it was faired", "Fair Plank again"]),
    "scaled along alone": (lambda find: find("plank").set("transform", "scale(1.001,1)"),
                           ["has been scaled since it was faired"]),
    "skewed": (lambda find: find("plank").set("transform", "skewX(0.1)"), ["has been skewed since it was faired"]),
    "mirrored": (lambda find: find("plank").set("transform", "translate(2000) scale(-1,1)"),
                 ["has been mirrored", "other hand"]),
    "flipped": (lambda find: find("plank").set("transform", "translate(0,500) scale(1,-1)"),
                ["has been mirrored", "other hand"]),
    "bent": (bend, ["has been changed since it was faired"]),
    "one edge moved": (lambda find: find("edge", "lower").set("transform", "translate(0,0.5)"),
                       ["changed since it was faired"]),
    "an edge lost": (drop("edge", "fore"), ["has lost its fore edge"]),
    "page made larger": (lambda find: find("plank").getroottree().getroot().set("width", "2001mm"),
                         ["along", "across"]),
}


@pytest.mark.parametrize("script", LATER)
def test_without_a_fair_plank(refuse, script):
    refuse(script, WHOLE, ["There is no fair plank in the drawing", "Run Fair Plank first"])


# every change by one of the later actions, in turn, and one of them by all
@pytest.mark.parametrize("script, case", [(LATER[k % 3], case) for k, case in enumerate(CHANGES)]
                         + [(script, "scaled") for script in LATER[1:]])
def test_a_plank_changed_since(refuse, faired, script, case):
    change, words = CHANGES[case]
    refuse(script, edit(faired, change), words)


def test_the_changes_are_what_is_refused(tmp_path, faired):
    """The same plank unchanged, or moved as a whole, is not."""
    for move in (lambda find: None, lambda find: find("plank").set("transform", "translate(30,8) rotate(2)")):
        assert b"plankcore" in run_steps(tmp_path, edit(faired, move), "plank_stations", "plank_allowance")


@pytest.mark.parametrize("script, what, again", [("plank_allowance", "Saw line", "Allowances"),
                                                 ("plank_stations", "Frame stations", "Frame Stations")])
def test_a_layer_older_than_the_fairing(refuse, tmp_path_factory, faired, script, what, again):
    data = run_steps(tmp_path_factory.mktemp("stale"), faired, script, "plank_fair")
    refuse("plank_plot", data, ["faired again since its %s was made" % what, "Run %s again" % again])


@pytest.mark.parametrize("script, role", [("plank_allowance", "saw"), ("plank_stations", "station")])
def test_a_layer_changed_by_hand(refuse, tmp_path_factory, faired, script, role):
    data = run_steps(tmp_path_factory.mktemp("changed"), faired, script)
    refuse("plank_plot", edit(data, lambda find: find(role).set("transform", "scale(1.01)")), ["since it was", "again"])


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """A drawing of two fair planks."""
    folder = tmp_path_factory.mktemp("two")
    (folder / "in.svg").write_text(draw_page(draw_outline("a") + draw_outline("b", top=400)))
    for key in "ab":
        result = run_script("plank_fair", folder / "in.svg", folder / "out.svg", select=(key,),
                            settings={"strake": key})
        assert result.code == 0, result.said
        os.replace(folder / "out.svg", folder / "in.svg")
    return (folder / "in.svg").read_bytes()


@pytest.mark.parametrize("script", LATER)
def test_one_of_two_planks_must_be_meant(refuse, two, script):
    refuse(script, two, ["There are 2 planks in the drawing", "strake a", "strake b"])


def test_two_planks_at_once(refuse, two):
    refuse("plank_allowance", two, ["Two planks are selected"], select=("plank-1", "plank-2"))


# -- the same in the editor -----------------------------------------------------------------------------------------

def test_the_editor_says_the_same(display, tmp_path):
    body = ('<image id="scan" width="10" height="10"/><text id="words" y="50">words</text>' + cut_open()
            + cross().replace('id="a"', 'id="b"') + draw_outline("c", top=400))
    drawing = tmp_path / "in.svg"
    drawing.write_text(draw_page(body, PAGE))
    cases = [("plank_fair", ()), ("plank_fair", ("scan",)), ("plank_fair", ("words",)), ("plank_fair", ("a",)),
             ("plank_fair", ("b",)), ("plank_fair", ("b", "c")),
             ("plank_stations", ()), ("plank_allowance", ()), ("plank_plot", ())]
    names = {"plank_fair": {"meant_for": "in.svg", "side": "starboard", "face": "inboard", "forward": "right"}}
    steps = []
    for script, select in cases:
        steps += ["select-clear"] + ["select-by-id:" + ",".join(select)] * bool(select) + [script]
    run = editor.run_actions(drawing, steps, profile=editor.make_profile(tmp_path / "profile", settings=names),
                             display=display, output=tmp_path / "out.svg")
    assert [a.script for a in run.actions] == [s for s, _ in cases]
    for action, (script, select) in zip(run.actions, cases):
        plain = run_script(script, drawing, tmp_path / "none.svg", select=select, settings=names.get(script),
                           saved_as=str(drawing))
        assert (action.code, action.said) == (REFUSED, plain.said) and "Problem: " in plain.said
    assert "urn:plankcore" not in (tmp_path / "out.svg").read_text()
    assert not (tmp_path / "none.svg").exists()
