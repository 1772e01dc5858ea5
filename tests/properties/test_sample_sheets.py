"""The samples' own sheets and butt map as they are plotted: no word is crossed by a line or another word, crosses, bars
and titles among them, and none lies outside its strip. Strake 6's sheet is read beside its run, in test_end_to_end.
"""
import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from host.reader import read
from overlaps import list_crossings, list_words_off
from surveyed_planks import change_item

from plankcore.command.recipe import read_recipe
from plankcore.command.running import run_recipe
from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.layers.state import read_matter
from plankcore.plot.chosen import cut_parts
from plankcore.plot.sheet import lay_out_matter, make_page

ROOT = Path(__file__).resolve().parents[2]
BOAT = ROOT / "samples" / "tamsin_grey"


def run_sample(name, folder, *, without=()):
    """The first drawing of a sample's recipe, with its files in a folder; some actions left out."""
    told = read_recipe(BOAT / name)
    task = told.planks[0]
    steps = tuple(dataclasses.replace(s, arguments=(*s.arguments, *(["--pdf=false"] if s.action == "plot" else [])))
                  for s in task.steps if s.action not in without)
    task = dataclasses.replace(task, output=folder / task.output.name, steps=steps)
    written, failed = run_recipe(dataclasses.replace(told, folder=folder, planks=(task,)), actions=ROOT / "extensions",
                                 progress=lambda text: None)
    assert not failed, failed[0][1]
    return written[0]


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """{strake: its sheet as plotted}, each made when first asked for."""
    done = {}

    def make(strake):
        if strake not in done:
            folder = tmp_path_factory.mktemp("strake")
            run_sample("strake_%s.toml" % strake, folder, without=("record",))
            done[strake] = read(folder / ("strake_%s_sheet.svg" % strake))
        return done[strake]
    return make


@pytest.mark.long
@pytest.mark.parametrize("strake", ["3", "5"])
def test_nothing_on_the_sample_sheet_is_lettered_across_anything_else(sheets, strake):
    sheet = sheets(strake)
    words = [i for i in sheet.items if "text" in i.values and i.runs]
    assert len(words) > 80 and len(sheet.find("name")) >= 5
    assert list_crossings(sheet) + list_words_off(sheet) == []


def find_middle(item):
    points = np.vstack([piece for run in item.runs for piece in run.pieces])
    return (points.min(axis=0) + points.max(axis=0)) / 2


@pytest.mark.long
@pytest.mark.parametrize("role, onto, words", [
    ("corner-cross", "PROVE", "crossed by a line of role corner-cross"),
    ("scale-bar", "SAW", "crossed by a line of role scale-bar"),
    ("station", "TAMSIN GREY", "crossed by a line of role station"),
    ("lead", "FWD", "crossed by a line of role lead"),
    ("way", "DOUBT", "lies across"),
])
def test_a_line_or_a_word_that_is_moved_onto_words_is_seen(sheets, role, onto, words):
    """Planted faults on the sample's own sheet."""
    sheet = sheets("5")
    goal = find_middle(next(i for i in sheet.items if i.values.get("text") == onto and i.runs))
    away = goal - find_middle(sheet.find(role)[0])
    found = list_crossings(change_item(sheet, role, lambda p: p + away))
    assert any(words in text and onto in text for text in found), found


@pytest.mark.long
def test_a_name_that_is_moved_off_its_strip_is_seen(sheets):
    wrong = change_item(sheets("5"), "name", lambda p: p + [0.0, 120.0])
    assert any("outside its strip" in text for text in list_words_off(wrong))


@pytest.mark.long
def test_nothing_is_lettered_across_anything_else_on_the_sheets_of_the_side(tmp_path):
    """Eight planks with joints and fastenings, and their butt map; stock, roll and tiles have tests of their own."""
    path = run_sample("side.toml", tmp_path, without=("stock", "plot"))
    drawing = Drawing(load_document(path.read_bytes(), where="side").getroot(), (), str(path))
    groups = drawing.find_groups()
    assert len(groups) == 8
    found = []
    for group in groups:
        page = make_page(lay_out_matter(cut_parts(read_matter(drawing, group))))
        found += ["%s: %s" % (group.get("id"), text) for text in list_crossings(page) + list_words_off(page)]
    assert found == []
    chart = read(tmp_path / "side_butt_map.svg")
    numbers = [i for i in chart.find("number") if re.fullmatch(r"\d+", i.values["text"])]
    assert len(numbers) == 3 and list_crossings(chart) == []
