"""Bend, strain, stock, seam, planing, swelling, areas and boards: what the sheet tells of the wood is measured again on
the faces, sections and saw line that are drawn, and agrees to its last decimal.
"""

import numpy as np
import pytest
from surveyed_planks import CASES, THICKNESS_MM, change_item, run
from surveyor import list_differences, loft
from surveyor_saw import list_area_claims, list_planing_claims, list_stock_claims, list_swelling_claims
from surveyor_wood import Readings, list_wood_claims

TWIST = np.radians([1.5, 2.5]) / 1000
READ = {
    "radial and bent on a girth, inches": Readings({"2": 1 / 700, "5": 1 / 520}, {"2": 1 / 6000, "5": 1 / 4000}),
    "wound": Readings({"2": 1 / 900, "6": 1 / 600}, {"2": 1 / 9000}, {"2": TWIST[0], "6": TWIST[1]}, 6.0),
    "hollow and bend, stations by the run": Readings(pattern_mm=6.0),
    "bevels and round": Readings(),
    "square bevels, end bevels, swelling": Readings(),
    "joints and fastenings": Readings(),
}
BOARDED = [*READ, "frames that meet both hood ends, on a board"]
# shrinkage of white oak, flat sawn, green to ovendry: 10.5 percent (USDA Wood Handbook FPL-GTR-190, table 4-3)
SWOLLEN = {
    "room for swelling": {"afloat_percent": 25.0, "added_mm": {"upper": 3.0, "lower": 3.0}},
    "square bevels, end bevels, swelling": {"afloat_percent": 28.0, "added_mm": {"upper": 3.0, "lower": 3.0}},
}


@pytest.mark.parametrize("name", READ)
def test_what_bending_and_roundness_do_is_what_is_drawn(name):
    found = run(CASES[name])
    claims = list(
        list_wood_claims(found.told, found.drawing, loft(found.drawing), READ[name], thickness_mm=THICKNESS_MM)
    )
    assert list_differences(claims) == []
    assert len(claims) > (20 if READ[name].bend else 3)


@pytest.mark.parametrize("name", BOARDED)
def test_what_is_planed_off_is_what_lies_between_the_faces(name):
    found = run(CASES[name])
    claims = list(list_planing_claims(found.told, found.drawing, loft(found.drawing)))
    assert list_differences(claims) == []
    assert len(claims) >= 8


@pytest.mark.parametrize("name", SWOLLEN)
def test_swelling_is_by_the_drawn_width_and_the_room_is_drawn(name):
    found = run(CASES[name])
    claims = list_swelling_claims(
        found.told, loft(found.drawing), shrinkage_percent=10.5, hung_percent=15.0, **SWOLLEN[name]
    )
    assert list_differences(claims) == []


@pytest.mark.parametrize("name", ["plain, no saw line", "raked and bowed ends, counted from aft", "wound"])
def test_areas_and_lengths_in_the_drawing_are_those_drawn(name):
    found = run(CASES[name])
    assert list_differences(list_area_claims(found.drawing, loft(found.drawing))) == []


def test_boards_are_told_by_the_saw_line():
    found = run(CASES["saw line of the drawn face"])
    claims = list_stock_claims(
        found.drawing, loft(found.drawing), board_mm=(32.0, 300.0, 3600.0), thickness_mm=THICKNESS_MM
    )
    assert list_differences(claims) == []


def stretch_last(values, factor):
    """An edge's pieces drawn longer from one place on, as if the board had been laid out by another bend."""
    return lambda p: p * [factor, 1.0] + values


def survey_all(name, drawing, sheet):
    drawn = loft(drawing)
    claims = [*list_area_claims(drawing, drawn)]
    if name in READ:
        claims += list_wood_claims(sheet, drawing, drawn, READ[name], thickness_mm=THICKNESS_MM)
        claims += list_planing_claims(sheet, drawing, drawn)
    if name in SWOLLEN:
        claims += list_swelling_claims(sheet, drawn, shrinkage_percent=10.5, hung_percent=15.0, **SWOLLEN[name])
    return claims


@pytest.mark.parametrize(
    "name, role, fault, words",
    [
        ("wound", "drawn-face", {"change": lambda p: p * [1.0001, 1.0]}, "flat length"),
        ("wound", "section", {"values": {"strain-ppm": "200"}, "first": 1}, "strain"),
        ("wound", "section", {"change": lambda p: p * [1.2, 1.0], "first": 6}, "corners"),
        ("wound", "other-face", {"change": lambda p: p + [0.0, 0.15]}, "planed off the upper edge"),
        ("wound", "other-face", {"change": lambda p: p + [2.0, 0.0]}, "end, degrees"),
        ("radial and bent on a girth, inches", "drawn-face", {"change": lambda p: p * [1.0, 1.05]}, "stock"),
        ("square bevels, end bevels, swelling", "other-face", {"change": lambda p: p + [0.3, 0.0]}, "fore end"),
        ("room for swelling", "saw", {"change": lambda p: p + [0.0, 0.12]}, "saw outside the"),
        ("room for swelling", "edge", {"change": lambda p: p + [0.0, 0.1], "edge": "upper"}, "swelling, width"),
        ("plain, no saw line", "outline", {"change": lambda p: p * [1.00001, 1.0]}, "area of the outline"),
        ("plain, no saw line", "edge", {"change": lambda p: p + [0.0, 0.01], "edge": "lower"}, "width"),
    ],
)
def test_wood_drawn_otherwise_than_told_is_seen(name, role, fault, words):
    """Planted faults: faces, sections, saw line and edges moved by a little after the sheet was written."""
    found = run(CASES[name])
    wrong = list_differences(survey_all(name, change_item(found.drawing, role, **fault), found.told))
    assert any(words in w for w in wrong), wrong


def test_a_saw_line_broader_than_its_boards_were_chosen_for_is_seen():
    case = CASES["saw line of the drawn face"]
    drawing = change_item(run(case).drawing, "saw", lambda p: p * [1.0, 1.001])
    claims = list_stock_claims(drawing, loft(drawing), board_mm=(32.0, 300.0, 3600.0), thickness_mm=THICKNESS_MM)
    assert any("least board, wide" in w for w in list_differences(claims))


@pytest.mark.parametrize("name, factor", [("sny", 1.03), ("run-out-deg", 1.03)])
def test_edges_more_bowed_than_the_boards_were_chosen_for_are_seen(name, factor):
    """Both long edges bowed more by a thirtieth: the sny told, and the angle to the grain, are those of a flatter
    plank."""
    drawing = run(CASES["saw line of the drawn face"]).drawing
    lofted = loft(drawing)
    for edge in ("upper", "lower"):
        line = lofted.edges[edge]
        share = np.linspace(0.0, 1.0, len(line))[:, None]
        lofted.edges[edge] = line + (factor - 1) * (line - (1 - share) * line[0] - share * line[-1])
    claims = list_stock_claims(drawing, lofted, board_mm=(32.0, 300.0, 3600.0), thickness_mm=THICKNESS_MM)
    assert any("stock, " + name in w for w in list_differences(claims))
