"""Choose Stock as a process: what it writes, read back here by itself, and that nothing is written when it refuses. The
boat is invented.
"""
from pathlib import Path

import numpy as np
import pytest
from drawings import draw_plank, draw_plank_points, fair, open_drawing, reopen
from host.scripts import run_script
from lxml import etree

from plankcore.allowance.saw_line import add_allowances
from plankcore.document.layers.joints import write_joints
from plankcore.document.layers.lines import read_stations, write_saw_line, write_stations
from plankcore.document.layers.stock import read_pieces
from plankcore.fair.fair import FairSettings
from plankcore.geometry.outline import flatten_outline
from plankcore.geometry.polyline import measure_area_mm2
from plankcore.joints.place import JointSettings, place_joints
from plankcore.stations.strike import StationSettings, strike_stations

pytestmark = pytest.mark.long          # whole actions on whole drawings

EXTENSIONS = Path(__file__).resolve().parents[3] / "extensions"
PLANK = "{urn:plankcore:1}"
PAGE = 'width="2200mm" height="900mm" viewBox="0 0 2200 900"'
TABLE = (
    'id,length,width,thickness,moisture,species,grain,knots\n'
    'B1,2400,260,32,15,larch,0.5,"400,30,12"\nB2,2100,190,30,21,larch,0,\n')


def make_drawing(*, saw=True, thickness=25.0, strakes=("5",)):
    drawing = open_drawing("".join(draw_plank(draw_plank_points() + (0, 300 * k), key="trace%d" % k)
                                   for k in range(len(strakes))), page=PAGE)
    for k, strake in enumerate(strakes):
        drawing = reopen(drawing, ["trace%d" % k])
        plank, group = fair(drawing, settings=FairSettings(), name="Tamsin Grey", strake=strake,
                            thickness_mm=thickness)
        struck, told = strike_stations(plank, settings=StationSettings(first_mm=150, spacing_mm=230))
        write_stations(drawing, group, struck, told, square_to="baseline")
        if saw:
            write_saw_line(drawing, group,
                                  add_allowances(plank,
                                                           added_mm={"upper": 3, "lower": 3, "fore": 25, "aft": 25}))
    return drawing


def save(folder, drawing, table=TABLE):
    (folder / "in.svg").write_bytes(etree.tostring(drawing.root))
    if table is not None:
        (folder / "boards.csv").write_text(table)
    return folder / "in.svg"


def run(drawing, *, select=(), **settings):
    """(code, stderr, output path)"""
    output = drawing.parent / "out.svg"
    settings = dict({"folder": str(drawing.parent), "boards": "boards.csv"}, **settings)
    done = run_script("plank_stock", drawing, output, select=select, settings=settings, saved_as=str(drawing),
                      strict=True)
    return done.code, done.said, output


def find_layers(path):
    return [e for e in etree.parse(str(path)).getroot().iter() if e.get(PLANK + "layer") == "stock"]


def list_rows(layer):
    return [v for k, v in layer.attrib.items() if k.startswith(PLANK + "fact-") and k.endswith("-words")]


BAD = {
    "no plank": ({}, '<path d="M 0,0 L 9,9"/>', TABLE, "no fair plank"),
    "a bad table": ({}, None, TABLE.replace("260", "wide"), "row 2, column width"),
    "a table that is not there": ({"boards": "none.csv"}, None, TABLE, "cannot be read"),
    "a bad length": ({"kerf": "thick"}, None, TABLE, "Kerf"),
    "a kerf beyond any": ({"kerf": "200 mm"}, None, TABLE, "Kerf"),
    "no such folder": ({"folder": "nowhere/at/all"}, None, TABLE, "There is no folder"),
    "a rule not known": ({"knots": "some"}, None, TABLE, "some"),
    "neither yes nor no": ({"sap": "perhaps"}, None, TABLE, "neither true nor false"),
}


@pytest.mark.parametrize("case", BAD)
def test_refused_with_a_remedy_and_nothing_written(tmp_path, case):
    settings, body, table, words = BAD[case]
    drawing = open_drawing(body, page=PAGE) if body else make_drawing()
    code, said, output = run(save(tmp_path, drawing, table), **settings)
    assert code == 251 and words in said and "Remedy:" in said and "Choose Stock" in said
    assert not output.exists() and sorted(p.name for p in tmp_path.iterdir()) == ["boards.csv", "in.svg"]


@pytest.fixture(scope="module")
def chosen(tmp_path_factory):
    """(folder, said) of two planks on two boards."""
    folder = tmp_path_factory.mktemp("chosen")
    code, said, _ = run(save(folder, make_drawing(strakes=("5", "6"))), day="1 May", true_size="true")
    assert code == 0
    return folder, said


def test_each_plank_has_its_layer_and_the_page_is_written_once(chosen):
    folder, said = chosen
    found = find_layers(folder / "out.svg")
    assert len(found) == 2 and {layer.get(PLANK + "board-1") for layer in found} == {"B1", "B2"}
    page = etree.parse(str(folder / "tamsin-grey-strakes-5-6-starboard-boards.svg")).getroot()
    assert [e.get(PLANK + "board") for e in page.iter() if e.get(PLANK + "role") == "board"] == ["B1", "B2"]
    assert sorted(e.get(PLANK + "piece") for e in page.iter()
                  if e.get(PLANK + "role") == "saw") == ["strake 5 starboard", "strake 6 starboard"]
    assert "2 of 2 pieces on 2 of 2 boards" in said and "boards.svg" in said


def test_a_board_whose_name_has_a_blank_is_one_board(tmp_path):
    code, _, _ = run(save(tmp_path, make_drawing(strakes=("5",)), table=TABLE.replace("B2", "red two")), day="1 May")
    (layer,) = find_layers(tmp_path / "out.svg")
    assert code == 0 and layer.get(PLANK + "board-1") == "red two" and layer.get(PLANK + "board-2") is None


def test_a_page_to_each_board_is_a_pdf_and_the_true_size_comes_by_choice(chosen, tmp_path):
    name = "tamsin-grey-strakes-5-6-starboard-boards.pdf"
    assert (chosen[0] / name).read_bytes().count(b"/Type /Page ") == 3 and name in chosen[1]
    assert run(save(tmp_path, make_drawing()), page="A3")[0] == 0
    assert [p.suffix for p in tmp_path.glob("*boards*") if p.suffix != ".csv"] == [".pdf"]


def test_the_rows_say_board_grain_measure_and_least_board(chosen):
    for layer in find_layers(chosen[0] / "out.svg"):
        rows = " ".join(list_rows(layer))
        assert ("LARCH" in rows and "GRAIN RUNS OUT" in rows and "BF BY NHLA" in rows and "LEAST BOARD" in rows
                and "SAW LINE" in rows)
        assert float(layer.get(PLANK + "runout-deg")) > 1 and float(layer.get(PLANK + "spare-mm")) >= 0
    wet = next(e for e in find_layers(chosen[0] / "out.svg") if e.get(PLANK + "board-1") == "B2")
    assert any("TOO WET" in (e.get(PLANK + "text") or "").upper() for e in wet)


def test_run_again_it_replaces_its_layer_and_the_next_action_reads_it(chosen, tmp_path):
    (tmp_path / "in.svg").write_bytes((chosen[0] / "out.svg").read_bytes())
    (tmp_path / "boards.csv").write_text(TABLE)
    code, _, output = run(tmp_path / "in.svg")
    assert code == 0 and len(find_layers(output)) == 2


def test_a_plank_selected_is_the_only_one(tmp_path):
    drawing = make_drawing(strakes=("5", "6"))
    code, said, output = run(save(tmp_path, drawing), select=("plank-2",))
    assert code == 0 and "1 of 1 pieces" in said
    layer, = find_layers(output)
    assert layer.getparent().get("id") == "plank-2"


def test_without_a_saw_line_the_net_outline_is_taken_and_said(tmp_path):
    code, _, output = run(save(tmp_path, make_drawing(saw=False)))
    assert code == 0 and "THE SHAPE IS THE NET OUTLINE" in " ".join(list_rows(find_layers(output)[0]))


def test_without_boards_it_says_what_to_buy_and_writes_no_page(tmp_path):
    code, said, output = run(save(tmp_path, make_drawing(), None), boards="")
    assert code == 0 and "this is what to buy" in said and "5/4" not in said and "4/4" in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["in.svg", "out.svg"] and len(find_layers(output)) == 1


def test_where_no_board_serves_the_plank_is_told_so(tmp_path):
    code, said, output = run(save(tmp_path, make_drawing(),
                                  "id,length,width,thickness\nB1,2000,120,32\nB2,2400,300,20\n"))
    assert code == 0 and "no board" in said
    assert "NO BOARD" in " ".join(list_rows(find_layers(output)[0])) and not list(tmp_path.glob("*-boards.*"))


def make_scarfed(saw):
    drawing = make_drawing(saw=saw)
    group = drawing.find_groups()[0]
    plank = drawing.read_plank(group)
    plan = place_joints(plank, read_stations(drawing, group), settings=JointSettings(
        joints="4-5", kind="scarf", slope=8.0), records=[], frame_records=[])
    write_joints(drawing, group, plan.overlay, rule="three-and-three", fore_end="butt", aft_end="butt",
                             failing=0)
    return drawing, group


@pytest.mark.parametrize("saw", [True, False])
def test_the_parts_of_a_scarfed_plank_are_pieces(saw):
    """They overlap by the scarf, and together have the plank's outline: area of both less that of the whole is the
    scarf's.
    """
    drawing, group = make_scarfed(saw)
    whole, = read_pieces(drawing, [group], use_parts=False)
    parts = read_pieces(drawing, [group])
    assert [p.part for p in parts] == [1,
                                       2] and all(p.includes == ("saw line" if saw else "net outline") for p in parts)
    areas = [abs(measure_area_mm2(flatten_outline(p.curves))) for p in (whole, *parts)]
    width = whole.stations[0][1]
    scarf = 8 * 25.0 * np.mean([np.hypot(*(line[1] - line[0])) for _, line in whole.stations[3:5]])
    assert sum(areas[1:]) - areas[0] == pytest.approx(scarf, rel=0.12) and len(width) == 2
    assert len(whole.joints) == 1 and len(whole.keep_clear) > 5
    for part in parts:
        assert all(np.hypot(*(a.end - b.start)) < 1e-6 for a, b in zip(part.curves, part.curves[1:] + part.curves[:1]))
        assert 0 < len(part.stations) < len(whole.stations)
        assert len(part.run) < len(whole.run)


def test_parts_come_out_of_narrower_boards(tmp_path):
    drawing, _ = make_scarfed(True)
    boards = "id,length,width,thickness\nA,1250,150,30\nB,1250,150,30\n"
    code, said, output = run(save(tmp_path, drawing, boards))
    assert code == 0 and "2 of 2 pieces on 2 of 2 boards" in said
    rows = list_rows(find_layers(output)[0])
    assert any(r.startswith("PART 1: BOARD") for r in rows) and any(r.startswith("PART 2: BOARD") for r in rows)
    code, said, _ = run(tmp_path / "in.svg", parts="false")
    assert code == 0 and "0 of 1 pieces" in said
