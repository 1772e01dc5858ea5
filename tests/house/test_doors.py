"""Who imports whom: only downward, one operation knows nothing of another, and one border opens the editor's libraries.

DEVELOPERS.md, "Doors", says it in words; here it is read off the source.
"""
import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# room: the rooms it may open
DOORS = {
    "extensions": {"extensions", "document", "operation", "units"},
    "command": {"command", "document", "errors", "units", "package"},
    "document": {"document", "model", "geometry", "errors", "units", "package"},
    "operation": {"model", "geometry", "trade", "errors", "units"},
    "trade": {"trade", "errors", "units"},
    "model": {"model", "geometry", "errors"},
    "geometry": {"geometry"},
    "units": {"errors"},
    "errors": set(),
    "package": set(),
}
# room: what it may import that is neither ours nor Python's own
OTHERS = {
    "extensions": {"inkex"}, "command": {"inkex", "lxml"}, "document": {"numpy", "inkex", "lxml"},
    "operation": {"numpy"}, "model": {"numpy"}, "geometry": {"numpy"},
}
# an operation and the parts it was cut into; a part is nobody else's
PARTS = {
    "fairing": {"mark_fairing", "trace_fairing"}, "mark_fairing": {"trace_fairing"},
    "tracing": {"sorting"},
    "mark_reading": {"mark_kinds", "mark_lines", "mark_places", "mark_shapes"},
    "mark_lines": {"mark_kinds", "sorting"}, "mark_places": {"sorting"},
    "record": {"offset_chart", "offset_table", "record_sketch", "record_words"}, "offset_table": {"offset_chart"},
    "record_sketch": {"offset_chart"},
    "joining": {"joining_block", "joining_tape"}, "joining_block": {"joining_tape"},
    "truing": {"control_checks", "control_suspects", "pattern_height", "truing_words"},
    "stations": {"station_lines", "station_numbers", "station_pairs"},
    "check": {"check_bevels", "check_drawing", "check_joints", "check_layers", "check_marks", "check_scale",
              "check_shape", "check_wood"},
    "sections": {"board_faces", "frame_readings", "section_drawing", "section_fairing", "section_rows",
                 "section_shapes"}, "board_faces": {"section_shapes"},
    "frame_readings": {"section_shapes"}, "section_drawing": {"section_shapes"},
    "section_fairing": {"section_shapes"}, "section_rows": {"section_shapes"},
    "joints": {"butt_map", "joint_drawing", "joint_facts", "joint_fastenings", "joint_frames", "joint_places",
               "joint_rules", "joint_settings", "scarf_shapes"}, "joint_settings": {"scarf_shapes"},
    "joint_fastenings": {"scarf_shapes"}, "joint_facts": {"joint_rules"},
    "joint_drawing": {"joint_words", "scarf_shapes"}, "joint_places": {"joint_frames", "joint_rules"},
    "fastenings": {"fastening_butts", "fastening_drawing", "fastening_layout", "fastening_places", "fastening_sizes"},
    "fastening_butts": {"fastening_places", "fastening_spacing"}, "fastening_spacing": {"fastening_places"},
    "fastening_drawing": {"fastening_places", "fastening_sizes"},
    "fastening_layout": {"fastening_places", "fastening_sizes", "fastening_spacing"},
    "allowance": {"board_outline", "swelling"},
    "turning": {"turn_overlays", "turn_places"}, "turn_overlays": {"turn_places"},
    "sheets": {"medium_map", "roll_nesting", "sheet_bars", "sheet_ends", "sheet_key", "sheet_pieces", "sheet_plank",
               "sheet_title", "tiling"},
    "sheet_plank": {"sheet_pieces"}, "sheet_title": {"sheet_plank"}, "sheet_bars": {"sheet_pieces"},
    "tiling": {"sheet_pieces", "tile_lines"}, "tile_lines": {"sheet_pieces"}, "sheet_ends": {"sheet_pieces"},
    "roll_nesting": {"sheet_pieces"},
    "stock": {"stock_checks", "stock_drawing", "stock_needs", "stock_packing", "stock_shapes", "stock_sharing",
              "stock_words"},
    "stock_sharing": {"stock_packing"}, "stock_packing": {"stock_fitting", "stock_pairs"},
    "stock_fitting": {"stock_net", "stock_shapes"}, "stock_drawing": {"sheet_bars", "sheet_pieces", "stock_words"},
    "sheet_key": {"sheet_bars", "sheet_pieces", "sheet_title", "tile_lines", "tiling"},
    "cutter_paths": {"sheet_pieces"},
}
ALL_PARTS = set().union(*PARTS.values())


def read_sources():
    """{path below the root: text} of everything that a user runs."""
    paths = [*(ROOT / "plankcore").rglob("*.py"), *(ROOT / "extensions").glob("*.py")]
    return {p.relative_to(ROOT).as_posix(): p.read_text(encoding="utf-8") for p in paths}


def find_room(path):
    """The room that a file belongs to."""
    parts = Path(path).with_suffix("").parts
    if parts[0] == "extensions":
        return "extensions"
    if parts[1] in ("command", "document", "geometry", "trade"):
        return parts[1]
    if parts[1].endswith("model"):
        return "model"
    return parts[1] if parts[1] in ("units", "errors") else "package" if parts[1] == "__init__" else "operation"


def list_imports(path, text, known):
    """Paths of our own files, and names of other packages, that a file imports anywhere in it."""
    package = list(Path(path).parent.parts)
    ours, others = set(), set()

    def add(dotted, names):
        """A module, or things taken from it, some of which may be modules themselves."""
        base = "/".join(dotted)
        if dotted[0] == "_plank_path":
            ours.add("extensions/_plank_path.py")
        elif dotted[0] not in ("plankcore", "extensions"):
            others.add(dotted[0])
        elif base + ".py" in known:
            ours.add(base + ".py")
        else:
            for name in names or [None]:
                below = "%s/%s.py" % (base, name)
                ours.add(below if below in known else base + "/__init__.py")
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                add(alias.name.split("."), [])
        elif isinstance(node, ast.ImportFrom):
            above = package[:len(package) - node.level + 1] if node.level else []
            add(above + (node.module.split(".") if node.module else []), [a.name for a in node.names])
    return ours, others - {"__future__"}


def find_violations(sources, paths=None):
    """Every import through a door that is not there, in words, in all files or some."""
    found = []
    for path, text in sorted((p, sources[p]) for p in paths or sources):
        room, name = find_room(path), Path(path).stem
        ours, others = list_imports(path, text, sources)
        if name == "__init__" and (ours or others):
            found.append("%s imports something" % path)
            continue
        if room == "errors" and others:
            found.append("%s imports %s" % (path, sorted(others)))
        for other in sorted(others - set(sys.stdlib_module_names) - OTHERS.get(room, set())):
            found.append("%s imports %s" % (path, other))
        for other in sorted(ours):
            there, part = find_room(other), Path(other).stem
            if room == there == "operation":
                if part not in PARTS.get(name, set()):
                    found.append("%s imports the operation %s" % (path, part))
            elif there not in DOORS[room]:
                found.append("%s opens %s" % (path, other))
            elif room == "extensions" and there == "operation" and part in ALL_PARTS:
                found.append("%s imports %s, a part of another room" % (path, part))
            elif room == there == "extensions" and part != "_plank_path":
                found.append("%s imports another action" % path)
    return found


def test_nobody_goes_through_a_wrong_door():
    assert find_violations(read_sources()) == []


def test_the_table_of_parts_is_no_longer_than_it_must_be():
    sources = read_sources()
    used = {name: {Path(p).stem for p in list_imports("plankcore/%s.py" % name, sources["plankcore/%s.py" % name],
                                                      sources)[0] if find_room(p) == "operation"} for name in PARTS}
    assert used == PARTS


@pytest.mark.parametrize("path, line", [
    ("plankcore/geometry/curve.py", "import scipy.linalg"),
    ("plankcore/fairing.py", "from scipy.interpolate import BSpline"),
    ("plankcore/document/read.py", "def f():\n    import scipy"),
    ("plankcore/geometry/curve.py", "from ..model import Edge"),
    ("plankcore/geometry/curve.py", "from .. import errors"),
    ("plankcore/geometry/curve.py", "from plankcore.units import MM_PER"),
    ("plankcore/geometry/curve.py", "from lxml import etree"),
    ("plankcore/model.py", "from . import units"),
    ("plankcore/model.py", "from .document import names"),
    ("plankcore/stations.py", "from .fairing import fair_plank"),
    ("plankcore/stations.py", "from . import sheets"),
    ("plankcore/stations.py", "from .mark_fairing import fair_marks"),
    ("plankcore/stations.py", "import inkex"),
    ("plankcore/stations.py", "from plankcore.document.names import get"),
    ("plankcore/document/layers.py", "from ..stations import strike_stations"),
    ("plankcore/document/layers.py", "from .. import fairing"),
    ("plankcore/document/layers.py", "from ..command import install"),
    ("plankcore/document/layers.py", "import requests"),
    ("plankcore/errors.py", "import os"),
    ("plankcore/units.py", "import numpy"),
    ("plankcore/trade/__init__.py", "from ..model import Plank"),
    ("plankcore/document/layers.py", "from ..trade import wood"),
    ("plankcore/__init__.py", "from .model import Plank"),
    ("plankcore/geometry/__init__.py", "import numpy"),
    ("plankcore/command/main.py", "from ..fairing import fair_plank"),
    ("extensions/plank_fair.py", "from plankcore.geometry import curve"),
    ("extensions/plank_fair.py", "from plankcore.model import Plank"),
    ("extensions/plank_fair.py", "from plankcore import mark_fairing"),
    ("extensions/plank_fair.py", "from plankcore.command import install"),
    ("extensions/plank_fair.py", "import numpy as np"),
])
def test_planted_violations_are_caught(path, line):
    sources = read_sources()
    before = find_violations(sources, [path])
    sources[path] += "\n" + line + "\n"
    new = set(find_violations(sources, [path])) - set(before)
    assert new and all(v.startswith(path) for v in new)
