"""Tiles, their key, rolls and long pages: every figure on them is measured on the pages, laid by their lines as the key
says, and agrees to its last decimal.
"""

import io
from dataclasses import replace

import numpy as np
import pypdf
import pytest
import shapely
from surveyed_planks import CASES, change_item, loft_sheet, run
from surveyor import list_box_claims, list_differences, list_title_claims, loft
from surveyor_details import list_bar_claims
from surveyor_pages import (
    list_board_claims,
    list_calibration_claims,
    list_long_page_claims,
    list_map_claims,
    list_roll_claims,
    list_tile_claims,
)


def measure_reach(drawing):
    """The greatest distance between two places of the line to cut."""
    points = drawing.one("saw").runs[0].trace(64)
    hull = shapely.get_coordinates(shapely.MultiPoint(points).convex_hull)
    return float(np.hypot(*(hull[:, None] - hull[None]).reshape(-1, 2).T).max())


def survey_tiles(found, pages):
    drawn = loft(found.drawing)
    return [
        *list_tile_claims(pages, plank_mm=measure_reach(found.drawing)),
        *list_bar_claims(pages),
        *list_box_claims(pages, drawn),
    ]


def survey_roll(found, roll):
    return [
        *list_roll_claims(roll, loft_sheet(roll, found.drawing)),
        *list_bar_claims(roll),
        # the saw line at each frame is in the record, and on the wood
        *list_title_claims(roll, loft_sheet(roll, found.drawing), at_frames=False),
    ]


def survey_calibration(found, page):
    return [*list_calibration_claims(page, loft(found.drawing)), *list_bar_claims(page)]


def survey_map(found, page):
    return list(list_map_claims(page, loft(found.drawing), found.drawing))


def survey_long(found, sheet):
    return [*list_long_page_claims(sheet), *list_bar_claims(sheet)]


KINDS = {
    "tiles": ("butt, hood end raked", survey_tiles, 500),
    "roll": ("joints and fastenings", survey_roll, 60),
    "sheet": ("over five metres", survey_long, 60),
    "calibration": ("butt, hood end raked", survey_calibration, 40),
    "map": ("butt, hood end raked", survey_map, 20),
}


def take(kind):
    name, survey, least = KINDS[kind]
    found = run(CASES[name])
    return found, found.plots.get(kind, found.sheet), survey, least


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_of_tiles_rolls_and_long_pages_is_what_is_drawn(kind):
    found, pages, survey, least = take(kind)
    claims = survey(found, pages)
    assert list_differences(claims) == []
    assert len(claims) > least


@pytest.mark.parametrize(
    "kind, role, fault, words",
    [
        ("tiles", "baseline-tick", {"change": lambda p: p + [0.02, 0.0], "first": 17}, "tick"),
        ("tiles", "baseline", {"change": lambda p: p + [0.0, 0.02], "first": 2}, "of both tiles"),
        ("tiles", "join-mark", {"change": lambda p: p + [0.0, 0.2], "first": 3}, "cross"),
        ("tiles", "tile-edge", {"change": lambda p: p * 1.001, "first": 5}, "edges"),
        ("tiles", "saw", {"change": lambda p: p + [0.3, 0.0], "first": 0}, "line to cut"),
        ("tiles", "scale-bar", {"change": lambda p: p * 1.0001}, "bar"),
        ("tiles", "key-plan", {"change": lambda p: p * 1.01}, "key plan"),
        ("roll", "section-line", {"change": lambda p: p + [0.0, 0.5], "edge": "lower"}, "width at frame"),
        ("roll", "scale-bar-tick", {"change": lambda p: p + [0.05, 0.0], "first": 3}, "tick 3"),
        ("roll", "corner-cross", {"change": lambda p: p + [0.3, 0.3]}, "crosses A"),
        ("roll", "outline", {"change": lambda p: p * 1.0001}, "Baseline"),
        ("sheet", "page-end", {"change": lambda p: p + [0.2, 0.0]}, "cross to cross"),
        ("calibration", "scale-bar", {"change": lambda p: p * 1.001}, "bar ALONG"),
        ("calibration", "corner-cross", {"change": lambda p: p + [0.2, 0.0]}, "crosses A"),
        ("map", "map-bar", {"change": lambda p: p * [1.001, 1.0]}, "map, bar"),
        ("map", "grid", {"change": lambda p: p + [0.05, 0.0], "frame": "4"}, "map, frame 4"),
        ("map", "joint", {"change": lambda p: p + [0.05, 0.0], "bay": "4-5"}, "map, joint 4-5"),
        ("map", "this-plank", {"change": lambda p: p * [1.001, 1.0]}, "length"),
    ],
)
def test_pages_drawn_otherwise_than_told_are_seen(kind, role, fault, words):
    """Planted faults: a tick, a line, a cross, an edge, a bar, the line to cut or the key's plank moved by a little."""
    found, pages, survey, _ = take(kind)
    wrong = list_differences(survey(found, change_item(pages, role, **fault)))
    assert any(words in w for w in wrong), wrong


def test_the_pages_of_the_boards_set_out_what_is_drawn_on_them():
    """By the PDF that goes to the saw; a planted fault: one that is printed a tenth of a percent too long."""
    data = run(CASES["saw line of the drawn face"]).pdfs["boards"]
    claims = list(list_board_claims(data))
    assert list_differences(claims) == [] and len(claims) >= 14
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(data))
    for page in writer.pages:
        page.add_transformation((1.001, 0, 0, 1, 0, 0))
    out = io.BytesIO()
    writer.write(out)
    wrong = list_differences(list_board_claims(out.getvalue()))
    assert len(wrong) >= 3 and all("along" in w or "long" in w for w in wrong), wrong


def test_a_figure_lettered_at_another_tick_is_seen():
    found, pages, survey, _ = take("tiles")
    items = list(pages.items)
    at = next(
        k for k, i in enumerate(items) if i.values.get("text") == "900" and i.values.get("page", "").startswith("A")
    )
    items[at] = replace(items[at], values={**items[at].values, "text": "800"})
    assert any("figure" in w for w in list_differences(survey(found, replace(pages, items=tuple(items)))))
