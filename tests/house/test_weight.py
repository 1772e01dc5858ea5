"""What a click loads: an action's script, in a process that has nothing of ours, loads no scipy and nothing that is
another action's.
"""
import json
import os
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

import pytest
from house.test_doors import ROOT, find_room, list_imports, read_sources

from plankcore.actions import ACTIONS

SCRIPTS = ["plank_" + one.key for one in ACTIONS]


# one line for each script: the modules in a process of its own after it was imported; where a process can be forked,
# the others' libraries are loaded once for all
LIST_LOADED = """
import importlib, json, os, sys
if hasattr(os, "fork"):
    import inkex, lxml.etree, numpy
for folder, script in json.loads(sys.argv[1]):
    if not hasattr(os, "fork") or not os.fork():
        sys.path.insert(0, folder)
        importlib.import_module(script)
        print(json.dumps(sorted(sys.modules)), flush=True)
        os._exit(0)
    if os.wait()[1]:
        sys.exit("%s ended badly" % script)
"""


def list_each(pairs):
    """Names of all modules after a script was imported from a folder, for each of (folder, script)."""
    pairs = [(str(folder), script) for folder, script in pairs]
    lots = [pairs] if hasattr(os, "fork") else [[pair] for pair in pairs]
    said = []
    for lot in lots:
        done = subprocess.run([sys.executable, "-c", LIST_LOADED, json.dumps(lot)], stdin=subprocess.DEVNULL,
                              capture_output=True, timeout=120)
        assert done.returncode == 0, done.stderr.decode()
        said += done.stdout.splitlines()
    assert len(said) == len(pairs)
    return [json.loads(line) for line in said]


@lru_cache(maxsize=None)
def list_own():
    """{script: names of all modules after it was imported}."""
    return dict(zip(SCRIPTS, list_each([(ROOT / "extensions", script) for script in SCRIPTS])))


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
    loaded = list_own()[script]
    assert "plankcore.document.extension" in loaded
    assert find_weight(script, loaded) == []


def test_fair_plank_knows_nothing_of_what_comes_after_it():
    loaded = list_own()["plank_fair"]
    assert not {"plankcore." + room for room in ("plot", "stations", "allowance", "document.files.sheet",
                                                 "document.layers.lines", "document.files.output")} & set(loaded)


PLANTED = [("import scipy.linalg", "scipy.linalg"), ("from plankcore.plot import sheet", "plankcore.plot.sheet"),
           ("import plankcore.document.files.sheet", "plankcore.document.files.sheet"),
           ("from plankcore.command import install", "plankcore.command.install")]


@pytest.fixture(scope="module")
def planted(tmp_path_factory):
    """{line: modules after a Fair Plank was imported that has it at its head}."""
    text, folders = (ROOT / "extensions" / "plank_fair.py").read_text(), []
    for line, _ in PLANTED:
        folder = tmp_path_factory.mktemp("planted")
        (folder / "plank_fair.py").write_text(text.replace(
            "import _plank_path", "import sys; sys.path.insert(0, %r)\n%s\nimport _plank_path" % (str(ROOT), line), 1))
        (folder / "_plank_path.py").write_text("")
        folders.append((folder, "plank_fair"))
    return dict(zip([line for line, _ in PLANTED], list_each(folders)))


@pytest.mark.parametrize("line, name", PLANTED)
def test_planted_weight_is_caught(planted, line, name):
    assert name in find_weight("plank_fair", planted[line])
