"""What cannot be used is refused by the actions on the wood: one message with problem, remedy and place, exit code 251,
nothing written. Each case is a process.
"""
import pytest
from host.refusals import edit, run_steps
from host.simple import draw_outline, draw_page, spell_path

THICK = {"plank_fair": {"thickness": "22 mm", "strake": "5", "side": "starboard"}}
NEW = ("plank_section", "plank_joints", "plank_fastenings", "plank_turn", "plank_stock", "plank_check", "plank_record")
MARKED = tuple("frame_%d" % x for x in (400, 700, 1000, 1300))
LINE = '<path id="loose" inkscape:label="%s" d="' + spell_path([(900, 700), (900, 720)], closed=False) + '"/>'
FRAMES = "".join('<path id="%s" d="%s"/>' % (key, spell_path([(int(key[6:]), 40), (int(key[6:]), 260)], closed=False))
                 for key in MARKED)


@pytest.fixture(scope="module")
def drawings(tmp_path_factory):
    """{name: bytes}: the simple plank traced, fair, with stations, with hollow and bevels, with a butt; and fair but of
    no thickness.
    """
    folder = tmp_path_factory.mktemp("stages")
    found = {"traced": draw_page(draw_outline() + LINE % "strake six" + FRAMES).encode()}
    found["thin"] = run_steps(folder, found["traced"], "plank_fair", settings={"plank_fair": {"strake": "5"}},
                              select=("trace",))
    found["thin"] = run_steps(folder, found["thin"], "plank_stations")
    found["fair"] = run_steps(folder, found["traced"], "plank_fair", settings=THICK, select=("trace",))
    found["stations"] = run_steps(folder, found["fair"], "plank_stations")
    found["board"] = run_steps(folder, found["stations"], "plank_section",
                               settings={"plank_section": {"typed": "frame,radius,upper bevel|1,700,3|7,500,4"}})
    found["butt"] = run_steps(folder, found["board"], "plank_joints", settings={"plank_joints": {"joints": "3-4"}})
    return found


def test_the_plank_that_is_spoilt_here_is_itself_good(drawings, tmp_path):
    done = run_steps(tmp_path, drawings["butt"], "plank_fastenings", "plank_allowance")
    for layer in ("stations", "section", "joints", "fastenings", "saw"):
        assert b'plank:layer="%s"' % layer.encode() in done, layer


# -- the plank ----------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("script", NEW)
def test_without_a_fair_plank(refuse, drawings, script):
    refuse(script, drawings["traced"], ["There is no fair plank in the drawing", "Run Fair Plank first"])


@pytest.mark.parametrize("script", NEW)
def test_a_plank_scaled_since(refuse, drawings, script):
    data = edit(drawings["butt"], lambda find: find("plank").set("transform", "scale(1.001)"))
    refuse(script, data, ["has been scaled since it was faired", "Fair Plank again"],
           settings={"symmetry": "M. Orme"} if script == "plank_turn" else {})


@pytest.mark.parametrize("script, words", [
    ("plank_section", ["has no stations", "Run Frame Stations first"]),
    ("plank_joints", ["stations", "Run Frame Stations first"]),
    ("plank_fastenings", ["stations", "Run Frame Stations first"])])
def test_without_stations(refuse, drawings, script, words):
    refuse(script, drawings["fair"], words)


def test_a_section_of_a_plank_whose_thickness_is_not_known(refuse, drawings):
    refuse("plank_section", drawings["thin"], ["has no thickness", "give the finished thickness"])


@pytest.mark.parametrize("script, layer, again", [("plank_allowance", "section", "Hollow and Bevels"),
                                                  ("plank_record", "section", "Hollow and Bevels"),
                                                  ("plank_fastenings", "joints", "Scarfs and Butts"),
                                                  ("plank_turn", "joints", "")])
def test_a_layer_changed_by_hand(refuse, drawings, script, layer, again):
    """One line of it pulled aside by half a mm."""
    role = {"section": "drawn-face", "joints": "joint"}[layer]
    data = edit(drawings["butt"], lambda find: find(role).set("transform", "translate(0,0.5)"))
    refuse(script, data, ["has been changed since it was made", "Run %s" % again],
           settings={"symmetry": "M. Orme"} if script == "plank_turn" else {})


@pytest.mark.parametrize("script, again",
                         [("plank_allowance", "Hollow and Bevels"), ("plank_fastenings", "Scarfs and Butts"),
                          ("plank_joints", "Frame Stations"), ("plank_turn", "Frame Stations")])
def test_a_layer_older_than_the_fairing(refuse, drawings, tmp_path_factory, script, again):
    data = drawings["butt"]
    if again == "Scarfs and Butts":
        data = run_steps(tmp_path_factory.mktemp("older"), data, "plank_fair", settings=THICK, select=("plank-1",))
        data = run_steps(tmp_path_factory.mktemp("older"), data, "plank_stations")
    else:
        data = run_steps(tmp_path_factory.mktemp("older"), data, "plank_fair", settings=THICK, select=("plank-1",))
    refuse(script, data, ["has been faired again since", "Run %s again" % again],
           settings={"symmetry": "M. Orme"} if script == "plank_turn" else {})


# -- tables -------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("script, name", [("plank_section", "table"), ("plank_joints", "joint_file"),
                                          ("plank_joints", "frame_file"), ("plank_stock", "boards")])
def test_a_table_that_is_not_there(refuse, drawings, tmp_path, script, name):
    refuse(script, drawings["stations"], ["The table '%s' cannot be read" % (tmp_path / "none.csv"),
                                          "Give the path of a CSV file", "Where: "], settings={name: "none.csv"})


TABLES = {
    "a radius that is none": ("plank_section", "table", "frame,radius\n1,700\n3,round\n",
                              ["'round' is not a length", "Where: table.csv, row 3, column radius"]),
    "a bevel that is none": ("plank_section", "table", "frame;upper bevel\n1;3,5\n3;steep\n",
                             ["'steep' is not a number", "row 3, column upper bevel"]),
    "a frame twice": ("plank_section", "table", "frame,radius\n1,700\n1,710\n", ["1", "twice", "row"]),
    "no frame": ("plank_section", "table", "frame,radius\n,700\n", ["Row 2 has no frame", "column frame"]),
    "an unknown heading": ("plank_section", "table", "frame,radios\n1,700\n",
                           ["The heading 'radios' is not known", "Known headings: frame (needed), radius",
                            "table.csv, headings"]),
    "no headings": ("plank_section", "table", "1,700,3\n3,500,4\n", ["The heading '1' is not known", "headings"]),
    "none of its frames on the plank": ("plank_section", "table", "frame,radius\n41,700\n", ["41", "Where: "]),
    "an empty table": ("plank_section", "table", "# nothing yet\n",
                       ["The table is empty", "Begin with a line of headings"]),
    "a picture": ("plank_section", "table", b"\x89PNG\r\n\x1a\n\x00\x00", ["not plain text"]),
    "a kind of joint that is none": ("plank_joints", "joint_file", "side,strake,kind,bay\nport,4,weld,3-4\n",
                                     ["'weld' is not one of the words", "butt, scarf, none", "row 2, column kind"]),
    "a bay that is none": ("plank_joints", "joint_file", "side,strake,kind,bay\nstarboard,4,butt,amidships\n",
                           ["amidships", "row 2"]),
    "a joint without a place": ("plank_joints", "joint_file", "side,strake,kind,bay\nstarboard,4,butt,\n", ["row 2"]),
    "frames that go back": ("plank_joints", "frame_file", "frame,distance\n1,300\n2,250\n3,900\n", ["2", "row"]),
    "a distance that is none": ("plank_joints", "frame_file", "frame,distance\n1,far\n",
                                ["'far' is not a length", "row 2, column distance"]),
    "a board without a width": ("plank_stock", "boards", "id,length,width,thickness\nA,3 m,,38 mm\n",
                                ["The board 'A' has no width", "Where: table.csv, row 2, column width"]),
    "a thickness that is none": ("plank_stock", "boards", "id,length,width,thickness\nA,3 m,200 mm,thick\n",
                                 ["'thick' is not a length", "row 2, column thickness"]),
    "a knot that is none": ("plank_stock", "boards", 'id,length,width,thickness,knots\nA,3 m,200 mm,38 mm,"here"\n',
                            ["here", "row 2"]),
    "a board twice": ("plank_stock", "boards", "id,length,width,thickness\nA,3 m,200 mm,38 mm\nA,3 m,200 mm,38 mm\n",
                      ["A", "twice"]),
}


@pytest.mark.parametrize("case", TABLES)
def test_a_table_with_a_bad_row(refuse, drawings, tmp_path, case):
    script, name, text, words = TABLES[case]
    (tmp_path / "table.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    refuse(script, drawings["stations"], words, settings={name: "table.csv"})


# -- settings -----------------------------------------------------------------------------------------------------

SETTINGS = {
    "readings twice": ("plank_section", {"table": "x.csv", "typed": "frame,radius|1,700"},
                       ["given twice", "Empty one", "Where: Readings"]),
    "a row typed badly": ("plank_section", {"typed": "frame,radius|1,round"},
                          ["'round' is not a length", "Readings typed, row 2, column radius"]),
    "a wood nobody knows": ("plank_section", {"species": "wester larch"}, ["wester larch", "western larch"]),
    "an allowance for a wood nobody knows": ("plank_allowance", {"species": "wester larch"},
                                             ["wester larch", "western larch"]),
    "a bay beyond the plank": ("plank_joints", {"joints": "70-71"}, ["70", "Where: "]),
    "a place that is none": ("plank_joints", {"joints": "somewhere"}, ["somewhere", "Where: "]),
    "a block too short to be one": ("plank_joints", {"joints": "3-4", "block_times": "3"}, ["8 to 12", "Where: "]),
    "a map beside nothing": ("plank_joints", {"joints": "3-4", "map_file": "map", "folder": "no such"},
                             ["There is no folder", "Where: Folder"]),
    "a map in the drawing's place": ("plank_joints", {"joints": "3-4", "map_file": "in"},
                                     ["take the place of the drawing", "Where: File name"]),
    "the boat's own size, not given": ("plank_fastenings", {"size": "own"}, ["gauge", "Where: "]),
    "a gauge that is none": ("plank_fastenings", {"gauge": "fat"}, ["fat", "Where: "]),
    "a stagger within one grain line": ("plank_fastenings", {"stagger": "2 mm"}, ["grain", "Where: Stagger"]),
    "rivets through nobody knows what": ("plank_fastenings", {"size": "rivet"}, ["Frame depth", "Where: "]),
    "a list with a folder in its name": ("plank_fastenings", {"list_file": "a/b"},
                                         ["not a plain file name", "Where: List file"]),
    "neighbours' butts that are none": ("plank_fastenings", {"neighbours": "above 3"}, ["above 3", "Where: "]),
    "a hull nobody compared": ("plank_turn", {}, ["nobody is named", "Where: "]),
    "a plank turned into itself": ("plank_turn", {"side": "same"},
                                   ["Nothing is to be turned", "Ask for the other face"]),
    "a kerf wider than any saw's": ("plank_stock", {"kerf": "2 ft"}, ["Where: Kerf"]),
    "a frame that the plank has not": ("plank_check", {"frame": "77", "frame_width": "120 mm"}, ["77", "Where: "]),
    "a width at nobody knows which frame": ("plank_check", {"frame_width": "120 mm"}, ["frame", "Where: "]),
    "an angle that is none": ("plank_check", {"frame": "3", "upper_angle": "round"},
                              ["'round' cannot be used", "Where: Angle above"]),
    "results under a name with a folder in it": ("plank_check", {"file_name": "a/b"},
                                                 ["not a plain file name", "Where: File name"]),
    "a moisture that is none": ("plank_record", {"moisture": "wet"}, ["wet", "Where: Moisture"]),
    "a record beside nothing": ("plank_record", {"folder": "no such"}, ["There is no folder", "Where: Folder"]),
}


@pytest.mark.parametrize("case", SETTINGS)
def test_settings_that_cannot_be_used(refuse, drawings, case):
    script, settings, words = SETTINGS[case]
    refuse(script, drawings["stations"], words, settings=settings)


def test_a_line_that_is_selected_and_says_nothing(refuse, drawings):
    """Left out unseen, it might be the very butt that the new one is too near to. A frame line, which is no joint, may
    stay selected.
    """
    words = ["'strake six' (loose) is selected", "does not say which joint it is", "Label it 'strake 6 butt'",
             "Where: 'strake six' (loose)"]
    refuse("plank_joints", drawings["stations"], words, select=("plank-1", "loose"))


def test_a_frame_line_left_selected_is_no_joint(drawings, tmp_path):
    stations = run_steps(tmp_path, drawings["fair"], "plank_stations",
                         settings={"plank_stations": {"source": "lines"}}, select=("plank-1", *MARKED))
    assert b'plank:layer="joints"' in run_steps(tmp_path, stations, "plank_joints", settings={
        "plank_joints": {"joints": "none", "fore_end": "hood", "aft_end": "hood"}}, select=MARKED)
