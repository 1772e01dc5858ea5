"""The real editor with dialogs that still hold what was typed for another plank. The planks are invented.

Preferences are written as the editor keeps them after the last plank: strake 5, port. Drawing and dialog are those of
the next.
"""
import pytest
from host import editor
from host.reader import read
from host.refusals import run_steps
from host.scripts import run_script
from host.simple import draw_outline, draw_page

LAST = {"boat": "Tern of Nowhere", "strake": "5", "side": "port", "face": "outboard", "forward": "left",
        "thickness": "22 mm", "meant_for": "strake_5.svg"}
OWN = {"boat": "Tern of Nowhere", "strake": "7", "side": "starboard", "face": "inboard", "forward": "right",
       "thickness": "25 mm"}
CALLED = ["Tern of Nowhere", "7", "starboard", "inboard", "right", "25"]
KEYS = ("name", "strake", "side", "face", "forward", "thickness-mm")
NOT_SAID = {"boat": "", "strake": "", "side": "as the drawing says", "face": "as the drawing says",
            "forward": "as the drawing says", "thickness": "", "meant_for": ""}


@pytest.fixture
def edit(display, tmp_path):
    """edit(settings, steps, data): the run, and the drawing strake_7.svg after it."""
    def run(settings, steps, data=None):
        drawing, output = tmp_path / "strake_7.svg", tmp_path / "out.svg"
        drawing.write_bytes(data if data is not None else draw_page(draw_outline()).encode())
        profile = editor.make_profile(tmp_path / "profile", settings=settings)
        return editor.run_actions(drawing, steps, profile=profile, display=display, output=output), read(output)
    return run


@pytest.fixture(scope="module")
def faired(tmp_path_factory):
    """Strake 7, starboard, as a script has faired it."""
    return run_steps(tmp_path_factory.mktemp("faired"), draw_page(draw_outline()).encode(), "plank_fair",
                     settings={"plank_fair": OWN})


def tell(plank):
    return [plank.values.get(k) for k in KEYS]


def test_a_new_plank_is_not_called_after_the_last(edit):
    run, reading = edit({"plank_fair": LAST}, ["select-by-id:trace", "plank_fair"])
    action, = run.actions
    assert action.code == 251 and not reading.find("plank")
    for words in ("strake 5", "side port", "for 'strake_5.svg'", "write strake_7.svg in the field 'These are for'"):
        assert words in action.said


def test_names_that_are_for_this_drawing_are_taken(edit):
    run, reading = edit({"plank_fair": dict(OWN, meant_for="strake_7.svg")}, ["select-by-id:trace", "plank_fair"])
    run.check("plank_fair")
    plank = reading.one("plank")
    assert tell(plank) == CALLED and plank.element.get(
        "{http://www.inkscape.org/namespaces/inkscape}label") == "Plank: Tern of Nowhere, strake 7, starboard"


def test_faired_again_it_keeps_its_names_with_the_last_planks_in_the_dialog(edit, faired):
    run, reading = edit({"plank_fair": LAST}, ["select-by-id:plank-1", "plank_fair"], faired)
    run.check("plank_fair")
    assert tell(reading.one("plank")) == CALLED and reading.one("plank").values["fairing"] == "2"
    assert [n for n in reading.find("note") if "strake_5.svg and were left aside" in n.values.get("text", "")]


def test_faired_again_with_names_of_no_drawing_it_is_refused_with_both(edit, faired):
    run, reading = edit({"plank_fair": dict(LAST, meant_for="")}, ["select-by-id:plank-1", "plank_fair"], faired)
    action, = run.actions
    assert action.code == 251 and tell(reading.one("plank")) == CALLED and reading.one("plank").values["fairing"] == "1"
    for words in ("strake 7", "strake 5", "side starboard", "side port", "thickness 25 mm", "thickness 22 mm"):
        assert words in action.said


@pytest.mark.parametrize("settings", [{}, NOT_SAID], ids=["a dialog never used", "a dialog emptied"])
def test_faired_again_with_nothing_typed_it_keeps_its_names(edit, faired, settings):
    run, reading = edit({"plank_fair": settings}, ["select-by-id:plank-1", "plank_fair"], faired)
    run.check("plank_fair")
    assert tell(reading.one("plank")) == CALLED


def test_readings_of_the_last_plank_do_not_get_onto_this_one(edit, faired):
    """One after the other, on one drawing: each is refused, and names the field."""
    settings = {"plank_stations": {"spacing": "400 mm", "meant_for": "7 starboard"},
                "plank_section": {"typed": "frame,radius | 1,500", "meant_for": "5 port"},
                "plank_allowance": {"species": "teak", "room": "1"},
                "plank_joints": {"joints": "2-3", "meant_for": "5 port"}, "plank_fastenings": {"thickness": "22 mm"},
                "plank_turn": {"symmetry": "diagonals, M. Orme", "meant_for": "5 port"},
                "plank_check": {"true_length": "1650 mm"},
                "plank_record": {"measured_by": "M. Orme", "meant_for": "5 port"}}
    said = {"plank_section": "Rows typed", "plank_allowance": "Leave room for swelling", "plank_joints": "Joints",
            "plank_fastenings": "25 mm thick by the drawing, and 22 mm",
            "plank_turn": "Hull found symmetrical by", "plank_check": "True length", "plank_record": "Measured by"}
    run, reading = edit(settings, ["select-by-id:plank-1", *settings], faired)
    assert [(a.script, a.code) for a in run.actions] == [(s, 251 if s in said else 0) for s in settings]
    for action in run.actions[1:]:
        assert said[action.script] in action.said
    assert [i.values["layer"] for i in reading.find("layer")] == ["source", "fair", "stations"]


def test_frames_fastenings_and_boards_of_the_last_plank_do_not_get_onto_this_one(edit, faired):
    """The last plank's first label, its fastening and its species: each refused with the field named, and nothing
    drawn.
    """
    settings = {"plank_stations": {"first_label": "7", "first": "90 mm", "meant_for": "5 port"},
                "plank_fastenings": {"gauge": "12", "meant_for": "5 port"}, "plank_stock": {"species": "teak"}}
    said = {"plank_stations": ("First label (7)", "First frame from the end (90 mm)"),
            "plank_fastenings": ("The boat's own gauge (12)",), "plank_stock": ("Boards of this species only (teak)",)}
    run, reading = edit(settings, ["select-by-id:plank-1", *settings], faired)
    assert [(a.script, a.code) for a in run.actions] == [(s, 251) for s in settings]
    for action in run.actions:
        assert all(words in action.said for words in (*said[action.script], "7 starboard"))
    assert [i.values["layer"] for i in reading.find("layer")] == ["source", "fair"]


def test_a_bow_of_the_last_plank_does_not_turn_the_marks_of_this_one(edit):
    run, reading = edit({"plank_marks": {"forward": "left", "meant_for": "strake_5.svg"}},
                        ["select-by-id:trace", "plank_marks"])
    action, = run.actions
    assert (action.code == 251 and "The bow lies to the (left)" in action.said and "strake_7.svg" in action.said
            and not reading.find("mark"))


def test_planted_fault_a_dialog_that_is_not_known_for_one_lets_the_last_planks_names_in(tmp_path):
    """What tells a dialog from a command line is the tab that the editor names: without it the same names are taken, as
    a recipe's are.
    """
    drawing = tmp_path / "strake_7.svg"
    drawing.write_text(draw_page(draw_outline()))
    for more, code in (([], 0), (["--tab=names"], 251)):
        assert run_script("plank_fair", drawing, tmp_path / "out.svg", settings=LAST, more=more,
                          saved_as=str(drawing)).code == code
