"""What a click loads: an action's script, in a fresh process, loads no scipy and nothing that is another action's."""
import json
import subprocess
import sys
from pathlib import Path

import pytest
from house.test_doors import ROOT, find_room, list_imports, read_sources

from plankcore.actions import ACTIONS

SCRIPTS = ["plank_" + one.key for one in ACTIONS]


def list_loaded(folder, script):
    """Names of all modules in a fresh process after it has imported a script from a folder."""
    code = "import json, sys; sys.path.insert(0, %r); import %s; print(json.dumps(sorted(sys.modules)))" % (
        str(folder), script)
    done = subprocess.run([sys.executable, "-c", code], stdin=subprocess.DEVNULL, capture_output=True,
                          timeout=60)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)


def list_rooms(script):
    """Dotted names of our modules that a script asks for, and of those that they ask for in turn."""
    sources = read_sources()
    found, ahead = set(), ["extensions/%s.py" % script]
    while ahead:
        path = ahead.pop()
        new = list_imports(path, sources[path], sources)[0] - found
        found |= new
        ahead += sorted(new)
    return {".".join(Path(p).with_suffix("").parts) for p in found if find_room(p) != "extensions"}


def list_operations(script):
    """Dotted names of the operations that a script itself asks for."""
    sources = read_sources()
    path = "extensions/%s.py" % script
    return {".".join(Path(p).with_suffix("").parts) for p in list_imports(path, sources[path], sources)[0]
            if find_room(p) == "operation"}


def find_weight(script, loaded):
    """What was loaded that should not have been: what nobody asked for in writing, another action's operation, a heavy
    library.
    """
    folders = {p.relative_to(ROOT).parent.as_posix().replace("/", ".") for p in ROOT.glob("plankcore/**/__init__.py")}
    unasked = {m for m in loaded if m.startswith("plankcore.")} - list_rooms(script) - folders
    others = set().union(*(list_operations(s) for s in SCRIPTS)) - list_operations(script)
    heavy = {m for m in loaded if m.partition(".")[0] in ("scipy", "PIL", "matplotlib", "pandas")}
    command = {m for m in loaded if m.startswith("plankcore.command")}
    return sorted((set(loaded) & others) | unasked | heavy | command)


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_click_loads_only_its_own_rooms(script):
    loaded = list_loaded(ROOT / "extensions", script)
    assert "plankcore.document.extension" in loaded
    assert find_weight(script, loaded) == []


def test_fair_plank_knows_nothing_of_what_comes_after_it():
    loaded = list_loaded(ROOT / "extensions", "plank_fair")
    assert not {"plankcore." + room for room in ("plot", "stations", "allowance", "document.files.sheet",
                                                 "document.layers.lines", "document.files.output")} & set(loaded)


@pytest.mark.parametrize("line, name",
                         [("import scipy.linalg", "scipy.linalg"),
                          ("from plankcore.plot import sheet", "plankcore.plot.sheet"),
                          ("import plankcore.document.files.sheet", "plankcore.document.files.sheet"),
                          ("from plankcore.command import install", "plankcore.command.install")])
def test_planted_weight_is_caught(tmp_path, line, name):
    text = (ROOT / "extensions" / "plank_fair.py").read_text()
    (tmp_path / "plank_fair.py").write_text(text.replace(
        "import _plank_path", "import sys; sys.path.insert(0, %r)\n%s\nimport _plank_path" % (str(ROOT), line), 1))
    (tmp_path / "_plank_path.py").write_text("")
    assert name in find_weight("plank_fair", list_loaded(tmp_path, "plank_fair"))
