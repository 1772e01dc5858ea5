"""What stands on the drawing at its place is a fact of its layer: it is read from the layer's numbers, wherever its
ring and its words were moved, and from the lettering only of a drawing that was made before.
"""
import ast
from pathlib import Path

import numpy as np
import pytest
from drawings import draw_plank, fair, open_drawing, reopen

from plankcore.command.running import load_action
from plankcore.document import names, transforms
from plankcore.document.layers.lines import write_stations
from plankcore.document.layers.state import read_matter
from plankcore.document.overlay import put_facts, read_facts, read_findings
from plankcore.document.pathdata import read_path
from plankcore.document.read import find_total_map
from plankcore.errors import PatternError
from plankcore.model.drawing import Fact
from plankcore.model.plank import Finding
from plankcore.plot.doubts import list_doubts
from plankcore.stations.strike import StationSettings, strike_stations

ROOT = Path(__file__).resolve().parents[3]
FOUND = (Finding("frames 7 and 8 are far apart", (700.0, 140.0), key="odd-gap", number=612.5, unit="mm", limit=250.0,
                 station="7", edge="", verdict="doubt"),
         Finding("two marks", (300.0, 260.0), key="corner-marks", number=2.0, unit="corners", verdict=""),
         Finding("8.0 mm off", (420.0, 250.0), key="mark-off", number=8.0, unit="mm", limit=None, station="4",
                 edge="lower"))


def draw():
    """(drawing, group) of a plank with the stations layer that carries FOUND."""
    drawing = open_drawing(draw_plank(), selected=["trace"])
    plank, group = fair(drawing)
    stations, _ = strike_stations(plank, settings=StationSettings(first_mm=100, spacing_mm=250))
    write_stations(drawing, group, stations, FOUND, square_to="baseline")
    return drawing, group


def read(drawing, group):
    return read_findings(names.find_layer(group, "stations"), drawing.read_plank(group), drawing.page, action="")


def join(element):
    """All control points of a shape of ours."""
    return np.vstack([run.cubics.reshape(-1, 2) for run in read_path(element.get("d"), where="")])


def forget(layer):
    for key in [k for k in layer.attrib if k.startswith(names.attribute("fact"))]:
        del layer.attrib[key]


def assert_same(found, told):
    for one, other in zip(*(sorted(some, key=lambda f: f.key) for some in (found, told))):
        assert np.allclose(one.where, other.where, rtol=0, atol=2e-6)
        assert [getattr(one, n) for n in ("text", "key", "number", "unit", "limit", "station", "edge", "verdict")] == [
            getattr(other, n) for n in ("text", "key", "number", "unit", "limit", "station", "edge", "verdict")]
    assert len(found) == len(told)


def test_what_was_found_comes_back_with_its_numbers_and_its_place():
    drawing, _ = draw()
    drawing = reopen(drawing)
    assert_same(read(drawing, drawing.find_groups()[0]), FOUND)


def test_the_sheet_has_the_doubts_that_were_found_with_the_fairing_and_the_stations_on_the_plank_and_on_a_copy():
    """What is no doubt is left out."""
    drawing, group = draw()
    assert [text for text in list_doubts(read_matter(drawing, group)) if "FRAME" in text] == [
        "GAP BETWEEN FRAMES 612.5 MM, LIMIT 250 MM, FRAME 7", "MARK OFF 8 MM, LOWER EDGE, FRAME 4"]
    action = load_action(ROOT / "extensions", "turn")()
    action.read_arguments(["--symmetry=diagonals, M. Orme"])
    action.apply(drawing.root, [group.get("id")], "")
    drawing = reopen(drawing)
    copy, = (one for one in drawing.find_groups() if names.get(one, "turned-from"))
    assert "GAP BETWEEN FRAMES 612.5 MM, LIMIT 250 MM, FRAME 7" in list_doubts(read_matter(drawing, copy))


def test_words_without_a_place_stand_above_the_whole_plank():
    """The plank's middle lies 50 mm above its corners, and words are long."""
    drawing = open_drawing(draw_plank(), selected=["trace"])
    plank, group = fair(drawing)
    loose = [e for e in names.find_roles(names.find_layer(group, "fair"), "note") if names.get(e, "text")]
    highest = min(edge.curve.flatten()[:, 1].min() for edge in plank.edges.values())
    at = [transforms.apply(find_total_map(e, drawing.page), join(e)) for e in loose]
    assert at and all(points[:, 1].max() < highest for points in at)


@pytest.mark.parametrize("role", ["ring", "note"])
def test_rings_and_words_may_be_moved_or_deleted(role):
    """They are for people: what was found stands in the layer's numbers."""
    drawing, group = draw()
    layer = names.find_layer(group, "stations")
    for number, element in enumerate(names.find_roles(layer, role)):
        if number % 2:
            element.attrib["transform"] = "translate(0,90)"
        else:
            layer.remove(element)
    assert_same(read(drawing, group), FOUND)


def test_places_go_with_a_plank_that_is_moved_and_turned_as_a_whole():
    drawing, group = draw()
    move = np.array([[np.cos(0.3), -np.sin(0.3), 55.0], [np.sin(0.3), np.cos(0.3), -20.0]])
    group.attrib["transform"] = transforms.format_matrix(move)
    found = read(drawing, group)
    for one in FOUND:
        where = next(f.where for f in found if f.key == one.key)
        assert np.allclose(where, transforms.apply(move, np.array(one.where)), atol=1e-5)


def test_they_are_no_rows_of_sheet_and_record():
    drawing, group = draw()
    layer = names.find_layer(group, "stations")
    forget(layer)
    put_facts(layer, (Fact("seam", "SEAM 2 MM."),), FOUND, plank=drawing.read_plank(group))
    assert [f.key for f in read_facts(layer, action="")] == ["seam"] and len(read(drawing, group)) == len(FOUND)


def test_a_drawing_made_before_is_read_from_its_rings():
    drawing, group = draw()
    layer = names.find_layer(group, "stations")
    forget(layer)
    notes = names.find_roles(layer, "note")
    names.put(next(n for n in notes if names.get(n, "text").startswith("8.0")), key="mark-off", number="8")
    names.put(next(n for n in notes if names.get(n, "text") == "two marks"), key="corner-marks")
    found = {f.text: f for f in read(drawing, group)}
    assert np.allclose(found["8.0 mm off"].where, (420.0, 250.0), atol=1e-3) and found["8.0 mm off"].number == 8.0
    assert found["two marks"].verdict == "" and found["8.0 mm off"].verdict == "doubt" and len(found) == 3


@pytest.mark.parametrize("changes", [
    {"fact-2-key": ""}, {"fact-1-number": "far"}, {"facts": "2"}, {"fact-1-place-across-mm": ""},
    {"fact-1-place-along-mm": "nan"}, {"fact-1-verdict": "perhaps"}])
def test_what_was_spoilt_is_refused(changes):
    drawing, group = draw()
    for name, value in changes.items():
        names.find_layer(group, "stations").set(names.attribute(name), value)
    with pytest.raises(PatternError, match="no longer tells"):
        read(drawing, group)


def list_findings(text):
    """Each Finding that is made: whether it is given a key."""
    return [len(call.args) > 2 or any(k.arg == "key" for k in call.keywords) for call in ast.walk(ast.parse(text))
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Finding"]


@pytest.mark.parametrize("path", sorted((ROOT / "plankcore").rglob("*.py")), ids=lambda p: p.name)
def test_every_finding_is_known_by_a_key(path):
    assert all(list_findings(path.read_text(encoding="utf-8")))


def test_one_without_a_key_would_be_seen():
    assert list_findings("a = Finding('far off', (1, 2))\nb = Finding('far', None, 'far')\nc = Finding('x', key='y')"
                         ) == [False, True, True]
