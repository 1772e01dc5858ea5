"""Every fastening's own figures, the counts of each group, the stagger, butt blocks and the way scarfs face are
measured
again on the drawn lines and agree to their last decimal.
"""

import pytest
from surveyed_planks import CASES, THICKNESS_MM, change_item, run
from surveyor import list_differences, loft
from surveyor_fastenings import list_block_claims, list_feather_claims, list_layout_claims, list_register_claims

NAMES = {
    "joints and fastenings": 0.0,
    "butt, hood end raked": 0.0,
    "scarf and butt laid out, hood ends bowed": 45.0,
    "frames that meet both hood ends, on a board": 0.0,
}


def survey(name, drawing, sheet):
    drawn, plank = loft(drawing), drawing.find("plank")[0]
    return [
        *list_layout_claims(sheet, drawing, drawn),
        *list_block_claims(sheet, drawing, drawn, thickness_mm=THICKNESS_MM, siding_mm=NAMES[name]),
        *list_register_claims(sheet, drawing, drawn),
        *list_feather_claims(sheet, drawing, drawn, seen_from=plank.values["seen-from"]),
    ]


@pytest.mark.parametrize("name", NAMES)
def test_fastenings_blocks_and_scarfs_are_what_is_drawn(name):
    found = run(CASES[name])
    claims = survey(name, found.drawing, found.told)
    assert list_differences(claims) == []
    assert len(claims) > 90


@pytest.mark.parametrize(
    "name, role, fault, words",
    [
        ("joints and fastenings", "fastening", {"change": lambda p: p + [0.0, 0.01], "first": 3}, "edge"),
        ("joints and fastenings", "fastening", {"change": lambda p: p + [0.5, 0.0], "first": 3}, "along"),
        ("joints and fastenings", "fastening", {"drop": True, "first": 3}, "at frame"),
        ("joints and fastenings", "fastening", {"change": lambda p: p + [0.0, 1.0], "first": 4}, "stagger"),
        (
            "joints and fastenings",
            "feather",
            {"change": lambda p: p + [400.0, 0.0], "face": "outside"},
            "outside feather",
        ),
        ("butt, hood end raked", "fastening", {"change": lambda p: p + [0.02, 0.0], "kind": "end"}, "from the end"),
        ("butt, hood end raked", "fastening", {"change": lambda p: p + [0.02, 0.0], "kind": "butt"}, "clear of ends"),
        ("butt, hood end raked", "fastening", {"drop": True, "kind": "end"}, "at-ends"),
        ("butt, hood end raked", "block", {"change": lambda p: p * 1.001, "joint": "1"}, "block, clear of frames"),
        ("scarf and butt laid out, hood ends bowed", "slope", {"values": {"face": "inside"}}, "slope on part"),
        ("scarf and butt laid out, hood ends bowed", "slope", {"change": lambda p: p + [0.01, 0.0]}, "at a feather"),
    ],
)
def test_fastenings_drawn_otherwise_than_told_are_seen(name, role, fault, words):
    """Planted faults: a fastening moved or missing, a feather or a slope on the other face, a block of another
    length."""
    found = run(CASES[name])
    try:
        wrong = list_differences(survey(name, change_item(found.drawing, role, **fault), found.told))
    except (AssertionError, KeyError) as error:
        wrong = [str(error)]
    assert any(words in w for w in wrong), wrong
