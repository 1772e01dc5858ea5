"""No verdict hangs on a sentence: every row of every layer put in other words gives the same verdicts. The drawings are
invented.
"""
from pathlib import Path

import pytest
from drawings import draw_plank, fair, open_drawing
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from plankcore.check.run import Measured, run_checks
from plankcore.command.running import load_action
from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.layers.lines import write_stations
from plankcore.document.layers.state import gather_state
from plankcore.stations.strike import StationSettings, strike_stations

EXTENSIONS = Path(__file__).resolve().parents[2] / "extensions"
OLD = ("FAILS: ", "NOTE: ", "PASS: ", "FAILS BOTH: ", "OLD PIECE AHEAD: NO JOINT", "PRACTICE: MARCH IN STEPS",
       "NO JOINT OF ANOTHER STRAKE WAS GIVEN", "CLOSEST THAT PASSES: ", "STOCK 30 MM THICK LEAVES", "")


def act(drawing, action, select=(), **values):
    one = load_action(EXTENSIONS, action)()
    one.read_arguments(["--%s=%s" % pair for pair in values.items()])
    one.apply(drawing.root, list(select), "")


def prepare(folder, table, **values):
    drawing = open_drawing(draw_plank(), selected=["trace"])
    plank, group = fair(drawing, name="Tern of Nowhere", strake="5", thickness_mm=20.0)
    write_stations(drawing, group,
                          *strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=250)),
                          square_to="baseline")
    act(drawing, "section", typed="frame,upper bevel|1,2|5,4", **({"stock": "30 mm"} if table else {}))
    (folder / "side.csv").write_text("side,strake,kind,bay\n" + table)
    act(drawing, "joints", **dict({"joints": "3-4", "fore_end": "hood", "aft_end": "hood",
                                       "joint_file": str(folder / "side.csv") if table else ""}, **values))
    return drawing


def judge(root):
    drawing = Drawing(root, [Drawing(root).find_groups()[0].get("id")])
    read = load_action(EXTENSIONS, "check").work.__globals__["READ"]
    return {r.name: r.verdict
            for r in run_checks(gather_state(drawing, drawing.find_group(), read=read, measured=Measured()))}


CASES = [("", {}), ("starboard,6,butt,3-4\nport,6,butt,3-4\n", {}),
         ("starboard,6,butt,6-7\nstarboard,4,butt,6-7\n", {}), ("starboard,6,scarf,5-6\n", {"rule": "light-craft"}),
         ("starboard,9,butt,6-7\n", {"stock": "900 mm"})]


@pytest.fixture(scope="module", params=range(len(CASES)))
def drawn(request, tmp_path_factory):
    drawing = prepare(tmp_path_factory.mktemp("side"), CASES[request.param][0], **CASES[request.param][1])
    return etree.tostring(drawing.root), judge(drawing.root)


@settings(max_examples=6)
@given(words=st.lists(st.sampled_from(OLD), min_size=3, max_size=3))
def test_rows_in_other_words_give_the_same_verdicts(drawn, words):
    text, verdicts = drawn
    root = etree.fromstring(text)
    changed = 0
    for element in root.iter():
        for key in [k for k in element.attrib if k.startswith(names.attribute("fact-"))
                    and k.endswith(("-words", "-brief"))]:
            element.set(key, words[changed % 3] + "QUITE OTHER WORDS.")
            changed += 1
    assert changed > 5 and judge(root) == verdicts


def test_a_board_too_short_is_not_charged_to_the_butt_rule(tmp_path):
    """Butt in 3-4 of a plank 1700 mm long, longest board 900 mm, and no neighbour that the rule speaks of."""
    drawing = prepare(tmp_path, "starboard,9,butt,6-7\n", stock="900 mm")
    found = judge(drawing.root)
    assert found["BUTTS BY THE RULE NAMED"] == "pass" and found["PARTS OUT OF THE LONGEST BOARD"] == "fail"
    layer = names.find_layer(Drawing(drawing.root).find_groups()[0], "joints")
    assert [names.get(layer, "fact-%d-verdict" % k) for k in range(1, 30)
            if names.get(layer, "fact-%d-key" % k) == "stock"] == ["fails"]


def test_a_layer_without_facts_is_to_be_made_again(tmp_path):
    drawing = prepare(tmp_path, "starboard,6,butt,6-7\n")
    for element in drawing.root.iter():
        for key in [k for k in element.attrib if k.startswith(names.attribute("fact-"))]:
            del element.attrib[key]
    assert judge(drawing.root)["BUTTS BY THE RULE NAMED"] == "not judged"
