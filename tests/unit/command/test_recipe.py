"""Recipes: what is refused before anything runs, then one and two planks run through the real actions."""
from pathlib import Path

import pytest
from drawings import HEAD, MM_PAGE, draw_plank, draw_plank_points, fair, open_drawing
from lxml import etree

from plankcore.command.recipe import read_recipe
from plankcore.command.running import list_actions, load_action, run_recipe
from plankcore.document import names
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.errors import DocumentError, PlankError, SettingError
from plankcore.model.plank import EDGE_NAMES

pytestmark = pytest.mark.long          # whole actions on whole drawings

ACTIONS = Path(__file__).resolve().parents[3] / "extensions"
STEP = '[[plank.step]]\naction = "fair"\nstrake = "3"\n'
PLANK = '[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n'


def write(folder, text, *, body=None, drawing="in.svg"):
    (folder / drawing).write_text(HEAD % (MM_PAGE, draw_plank() if body is None else body))
    path = folder / "recipe.toml"
    path.write_text(text)
    return path


def run(path):
    said = []
    written, failed = run_recipe(read_recipe(path), actions=ACTIONS, progress=said.append)
    return written, failed, said


@pytest.mark.parametrize("text, words", [
    ("this is not toml", "not valid TOML"), ("", "no plank"), ("plank = 5", "no plank"), ("[[plank]]\n", "no drawing"),
    ('[[plank]]\ndrawing = "in.svg"\n' + STEP, "no output"),
    ('[[plank]]\ndrawing = ""\noutput = "o.svg"\n' + STEP, "no drawing"),
    ('[[plank]]\ndrawing = 5\noutput = "o.svg"\n' + STEP, "no drawing"),
    (PLANK, "no steps"), (PLANK + "[[plank.step]]\nwave = 5\n", "names no action"),
    (PLANK + '[[plank.step]]\naction = 5\n', "names no action"),
    (PLANK + 'colour = "red"\n' + STEP, "'colour' is not known"),
    ("speed = 9\n" + PLANK + STEP, "'speed' is not known"),
    (PLANK + STEP + "select = \"trace\"\n", "not a list"), (PLANK + STEP + "select = [5]\n", "not a list"),
    (PLANK + STEP + "wave = [1, 2]\n", "not a word or a number"),
    ('[[plank]]\ndrawing = "in.svg"\noutput = "in.svg"\n' + STEP, "take the place"),
    (PLANK + STEP + PLANK + STEP, "out.svg"),                                        # two planks, one file
    ("every = 5\n" + PLANK + STEP, "every"), ("[every]\nfair = 5\n" + PLANK + STEP, "every|fair"),
    ("[every.fare]\nboat = \"x\"\n" + PLANK + STEP, "fare"),
    (PLANK + "step = 5\n", "step"), (PLANK + "step = [5]\n", "step"), ("plank = [5]", "plank"),
])
def test_a_recipe_that_cannot_be_followed_is_refused_before_anything_runs(tmp_path, text, words):
    with pytest.raises(PlankError, match=words) as caught:
        read_recipe(write(tmp_path, text))
    assert caught.value.remedy


def test_a_recipe_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(DocumentError, match="cannot be read"):
        read_recipe(tmp_path / "none.toml")


def test_actions_are_the_scripts_that_lie_there():
    assert set(list_actions(ACTIONS)) >= {"fair", "stations", "allowance", "plot"}
    assert load_action(ACTIONS, "fair").__name__ == "PlankFair"
    with pytest.raises(SettingError):
        load_action(ACTIONS, "os")


def test_a_chain_of_steps_gives_one_drawing_with_all_layers_and_the_sheet(tmp_path):
    path = write(tmp_path, 'folder = "results"\n[every.fair]\nboat = "Tern of Nowhere"\nstrake = "9"\n' + PLANK + STEP +
                 '[[plank.step]]\naction = "stations"\nspacing = "300 mm"\n[[plank.step]]\naction = '
                 '"allowance"\nupper = "1/8 in"\n[[plank.step]]\naction = "plot"\npdf = false\n')
    before = (tmp_path / "in.svg").read_bytes()
    written, failed, said = run(path)
    assert failed == [] and written == [tmp_path / "results" / "out.svg"]
    assert (tmp_path / "in.svg").read_bytes() == before
    root = etree.parse(str(written[0])).getroot()
    group, = names.find_roles(root, "plank")
    assert [names.get(c, "layer") for c in group] == ["source", "fair", "stations", "saw", "sheet"]
    # the step's own word stands over every.fair
    assert names.get(group, "name") == "Tern of Nowhere" and names.get(group, "strake") == "3"
    assert float(names.get(names.find_roles(root, "saw")[0], "upper-mm")) == pytest.approx(3.175)
    assert sorted(p.name for p in (tmp_path / "results").iterdir()) == ["out.svg",
                                                                        "tern-of-nowhere-strake-3-starboard-sheet.svg"]
    assert any("fair" in s for s in said) and any("written to" in s for s in said)


def test_a_recipe_gives_what_the_operation_gives(tmp_path):
    """To a millionth of a mm: one process or another."""
    written, _, _ = run(write(tmp_path, PLANK + STEP))
    plank, _ = fair(open_drawing(draw_plank()))
    again = Drawing(load_document(written[0].read_bytes(), where="out.svg").getroot())
    found = again.read_plank(again.find_group())
    for name in EDGE_NAMES:
        assert found.edges[name].curve.cubics == pytest.approx(plank.edges[name].curve.cubics, abs=1e-6)


def test_a_plank_that_fails_is_told_and_not_written_and_the_others_go_on(tmp_path):
    second = '[[plank]]\nlabel = "the second"\ndrawing = "gone.svg"\noutput = "second.svg"\n' + STEP
    third = '[[plank]]\ndrawing = "in.svg"\noutput = "third.svg"\n' + STEP
    fourth = '[[plank]]\ndrawing = "in.svg"\noutput = "fourth.svg"\n' + STEP + 'shortest_wave = "never"\n'
    written, failed, said = run(write(tmp_path, PLANK + STEP + second + third + fourth))
    assert [p.name for p in written] == ["out.svg", "third.svg"]
    assert [label for label, _ in failed] == ["the second", "fourth"]
    assert "never" in str(failed[1][1]) and "step fair" in str(failed[1][1])
    assert sorted(p.name for p in tmp_path.iterdir()) == ["in.svg", "out.svg", "recipe.toml", "third.svg"]
    assert any("[2/4]" in s and "FAILED" in s for s in said)


@pytest.mark.parametrize("setting, words", [('colour = "red"', "colour"), ('doubtful = "drop"', "doubtful"),
                                            ("comb = 7", "comb"), ('comb = "yes please"', "comb")])
def test_a_setting_an_action_cannot_use_is_told(tmp_path, setting, words):
    _, failed, _ = run(write(tmp_path, PLANK + STEP + setting + "\n"))
    assert len(failed) == 1 and words in str(failed[0][1])


def test_an_action_that_is_none_is_told_with_those_that_are(tmp_path):
    _, failed, _ = run(write(tmp_path, PLANK + '[[plank.step]]\naction = "fare"\n'))
    assert "'fare'" in str(failed[0][1]) and "stations" in str(failed[0][1])


def test_selected_ids_say_which_plank_is_meant(tmp_path):
    body = draw_plank() + draw_plank(draw_plank_points() + (0, 180), key="second")
    first = PLANK + '[[plank.step]]\naction = "fair"\nselect = ["second"]\n'
    _, failed, _ = run(write(tmp_path, PLANK + STEP, body=body))
    assert "2 lines" in str(failed[0][1])
    written, failed, _ = run(write(tmp_path, first, body=body))
    root = etree.parse(str(written[0])).getroot()
    source, = [c for c in names.find_roles(root, "plank")[0] if names.get(c, "layer") == "source"]
    assert failed == [] and [e.get("id") for e in source] == ["second"]


def test_two_planks_faired_in_one_drawing_each_keep_their_own_later_steps(tmp_path):
    body = draw_plank() + draw_plank(draw_plank_points() + (0, 180), key="second")
    steps = "".join('[[plank.step]]\naction = "fair"\nselect = ["%s"]\nstrake = "%s"\n[[plank.step]]\naction = '
                    '"allowance"\nupper = "%s mm"\n' % row
                    for row in (("trace", "3", "1"), ("second", "4", "2")))
    written, failed, _ = run(write(tmp_path, PLANK + steps, body=body))
    assert failed == []
    groups = names.find_roles(etree.parse(str(written[0])).getroot(), "plank")
    assert {names.get(g, "strake"): names.get(names.find_roles(g, "saw")[0], "upper-mm")
            for g in groups} == {"3": "1", "4": "2"}


def test_a_result_may_lie_in_a_folder_of_its_own_and_its_sheet_beside_it(tmp_path):
    _written, failed, _ = run(write(tmp_path, PLANK.replace("out.svg", "deep/er/out.svg") + STEP
                                   + '[[plank.step]]\naction = "plot"\npdf = false\n'))
    assert failed == [] and len(list((tmp_path / "deep" / "er").iterdir())) == 2
