"""Who imports whom: only downward, one operation knows nothing of another, and one border opens the editor's libraries.

DEVELOPERS.md, "Doors", says it in words; here it is read off the source.
"""
import ast
import sys
from functools import lru_cache
from pathlib import Path

import pytest

from plankcore.actions import ACTIONS

ROOT = Path(__file__).resolve().parents[2]

# room: the rooms it may open; an operation is a folder of plankcore that is named in none of the others
DOORS = {
    "extensions": {"extensions", "document", "operation", "naming", "actions", "units"},
    "command": {"command", "document", "actions", "errors", "units", "package"},
    "document": {"document", "paper", "model", "geometry", "actions", "errors", "units", "package"},
    "operation": {"paper", "model", "geometry", "trade", "actions", "errors", "units"},
    "paper": {"paper", "model", "geometry", "actions", "errors", "units"},
    "naming": {"model", "actions", "errors", "units"},
    "trade": {"trade", "errors", "units"},
    "model": {"model", "geometry", "actions", "errors"},
    "geometry": {"geometry"},
    "units": {"errors"},
    "actions": set(),
    "errors": set(),
    "package": set(),
}
# room: what it may import that is neither ours nor Python's own
OTHERS = {
    "extensions": {"inkex"}, "command": {"inkex", "lxml"}, "document": {"numpy", "inkex", "lxml"},
    "operation": {"numpy"},
    "paper": {"numpy"}, "model": {"numpy"}, "geometry": {"numpy"},
}


def read_sources():
    """{path below the root: text} of everything that a user runs."""
    return dict(_read_sources())


@lru_cache(maxsize=None)
def _read_sources():
    paths = [*(ROOT / "plankcore").rglob("*.py"), *(ROOT / "extensions").glob("*.py")]
    return [(p.relative_to(ROOT).as_posix(), p.read_text(encoding="utf-8")) for p in paths]


@lru_cache(maxsize=1000)
def parse(text):
    """The tree of a module; the same tree for the same text, so that nobody may change it."""
    return ast.parse(text)


@lru_cache(maxsize=1000)
def walk(text):
    """Every node of a module's tree: most of what a rule costs is to go through them."""
    return tuple(ast.walk(parse(text)))


def find_room(path):
    """The room that a file belongs to; operations are told apart by their folders, see find_operation."""
    parts = Path(path).with_suffix("").parts
    if parts[0] == "extensions":
        return "extensions"
    if parts[1] == "__init__":
        return "package"
    return parts[1] if parts[1] in DOORS else "operation"


def find_operation(path):
    """The folder of an operation that a file lies in, or ''."""
    return Path(path).parts[1] if find_room(path) == "operation" else ""


def find_for_types(text):
    """Imports that only a checker of types reads, below `if TYPE_CHECKING:`; nothing of them happens on a click."""
    return {part for node in walk(text) if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
            for one in node.body for part in ast.walk(one)}


def list_imports(path, text, known, *, for_types=False):
    """Paths of our own files, and names of other packages, that a file imports anywhere in it; or that it names in
    annotations only.
    """
    ours, others = _list_imports(path, text, frozenset(known), for_types)
    return set(ours), set(others)


@lru_cache(maxsize=1000)
def _list_imports(path, text, known, for_types):
    named = find_for_types(text)
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
                below = ["%s/%s.py" % (base, name), "%s/%s/__init__.py" % (base, name)]
                ours.add(next((p for p in below if p in known), base + "/__init__.py"))
    for node in walk(text):
        if (node in named) != for_types:
            continue
        if isinstance(node, ast.Import):
            for alias in node.names:
                add(alias.name.split("."), [])
        elif isinstance(node, ast.ImportFrom):
            above = package[:len(package) - node.level + 1] if node.level else []
            add(above + (node.module.split(".") if node.module else []), [a.name for a in node.names])
    return ours, others - {"__future__"}


def find_wrong_nouns(path, ours):
    """Files that annotations take their nouns from through no door: besides a room's own doors, those of model and
    geometry stand open, for whoever is handed a noun may say so; those of another operation do not.
    """
    room = find_room(path)
    return ["%s takes a noun from %s" % (path, other) for other in sorted(ours)
            for there in [find_room(other)]
            if (there not in DOORS[room] | {"model", "geometry"} and room != there)
            or (room == there == "operation" and find_operation(other) != find_operation(path))]


def list_faces(actions):
    """{folder: the modules by which it is opened}, as the rows of these actions say; all others in it are its own."""
    found = {}
    for face in (face for one in actions for face in one.faces):
        folder, module = face.split(".")
        found.setdefault(folder, set()).add(module)
    return found


FACES = list_faces(ACTIONS)


def find_violations(sources, paths=None):
    """Every import through a door that is not there, in words, in all files or some."""
    found = []
    for path, text in sorted((p, sources[p]) for p in paths or sources):
        room = find_room(path)
        ours, others = list_imports(path, text, sources)
        found += find_wrong_nouns(path, list_imports(path, text, sources, for_types=True)[0])
        if Path(path).stem == "__init__" and (ours or others):
            found.append("%s imports something" % path)
            continue
        if room == "errors" and others:
            found.append("%s imports %s" % (path, sorted(others)))
        for other in sorted(others - set(sys.stdlib_module_names) - OTHERS.get(room, set())):
            found.append("%s imports %s" % (path, other))
        for other in sorted(ours):
            there, folder = find_room(other), find_operation(other)
            if room == there == "operation":
                if folder != find_operation(path):
                    found.append("%s opens the operation %s" % (path, other))
            elif there not in DOORS[room]:
                found.append("%s opens %s" % (path, other))
            elif there == "operation" and Path(other).stem not in FACES[folder]:
                found.append("%s opens %s, which is not a face of %s" % (path, other, folder))
            elif room == there == "extensions" and Path(other).stem != "_plank_path":
                found.append("%s imports another action" % path)
    return found


def test_nobody_goes_through_a_wrong_door():
    assert find_violations(read_sources()) == []


def test_every_face_is_opened_by_some_script():
    sources = read_sources()
    opened = {other for p in sources if find_room(p) == "extensions"
              for other in list_imports(p, sources[p], sources)[0]}
    assert {p for p in opened if find_operation(p)} == {"plankcore/%s/%s.py" % (folder, face)
                                                        for folder, faces in FACES.items() for face in faces}


@pytest.mark.parametrize("path, line", [
    ("plankcore/geometry/curve.py", "import scipy.linalg"),
    ("plankcore/fair/fair.py", "from scipy.interpolate import BSpline"),
    ("plankcore/document/read.py", "def f():\n    import scipy"),
    ("plankcore/geometry/curve.py", "from ..model.plank import Edge"),
    ("plankcore/geometry/curve.py", "from .. import errors"),
    ("plankcore/geometry/curve.py", "from plankcore.units import MM_PER"),
    ("plankcore/geometry/curve.py", "from lxml import etree"),
    ("plankcore/model/plank.py", "from .. import units"),
    ("plankcore/model/plank.py", "from ..document import names"),
    ("plankcore/model/plank.py", "from ..paper import pieces"),
    ("plankcore/stations/strike.py", "from ..fair.fair import fair_plank"),
    ("plankcore/stations/strike.py", "from ..plot import sheet"),
    ("plankcore/stations/strike.py", "from ..fair.from_marks import fair_marks"),
    ("plankcore/stations/strike.py", "import inkex"),
    ("plankcore/stations/strike.py", "from plankcore.document.names import get"),
    ("plankcore/paper/blocks.py", "from ..plot.sheet import make_page"),
    ("plankcore/paper/blocks.py", "from ..trade import wood"),
    ("plankcore/document/layers/lines.py", "from ...stations.strike import strike_stations"),
    ("plankcore/document/layers/lines.py", "from ... import stations"),
    ("plankcore/document/layers/lines.py", "from ...command import install"),
    ("plankcore/document/layers/lines.py", "import requests"),
    ("plankcore/errors.py", "import os"),
    ("plankcore/units.py", "import numpy"),
    ("plankcore/trade/__init__.py", "from ..model.plank import Plank"),
    ("plankcore/document/layers/lines.py", "from ...trade import wood"),
    ("plankcore/__init__.py", "from .model.plank import Plank"),
    ("plankcore/stock/__init__.py", "from .choose import choose_stock"),
    ("plankcore/geometry/__init__.py", "import numpy"),
    ("plankcore/command/main.py", "from ..fair.fair import fair_plank"),
    ("extensions/plank_fair.py", "from plankcore.geometry import curve"),
    ("extensions/plank_fair.py", "from plankcore.model.plank import Plank"),
    ("extensions/plank_fair.py", "from plankcore.fair import from_marks"),
    ("extensions/plank_fair.py", "from plankcore.command import install"),
    ("extensions/plank_fair.py", "import numpy as np"),
    ("plankcore/geometry/curve.py", "if TYPE_CHECKING:\n    from ..fair.fair import FairSettings"),
    ("plankcore/stations/strike.py", "if TYPE_CHECKING:\n    from ..fair.fair import FairSettings"),
    ("plankcore/document/read.py", "if TYPE_CHECKING:\n    from ..stations.strike import StationSettings"),
])
def test_planted_violations_are_caught(path, line):
    sources = read_sources()
    before = find_violations(sources, [path])
    sources[path] += "\n" + line + "\n"
    new = set(find_violations(sources, [path])) - set(before)
    assert new and all(v.startswith(path) for v in new)
