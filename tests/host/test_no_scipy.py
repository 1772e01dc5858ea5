"""No bundle of the editor carries scipy: the whole chain must run without it, and with the editor's own, older
libraries.
"""
import os
import shutil
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

import pytest
from host import editor
from host.chains import CHAINS, lay_out
from host.conftest import SAMPLE_CHAINS, require
from host.inx import SCRIPTS
from host.nursery import run_in_nursery
from host.reader import compare, read
from host.scripts import Result, run_chain, run_script

# the interpreter meets this before anything else
BLOCK = """import sys
assert "scipy" not in sys.modules, "it is here already"
class Block:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] == "scipy":
            raise ModuleNotFoundError("scipy is blocked here", name=name)
sys.meta_path.insert(0, Block())
"""
ALL = SAMPLE_CHAINS
TRIED = ("traced", "marks", "wood", "scans")
LIBRARY = Path("/usr/share/inkscape/extensions")


@pytest.fixture(scope="module")
def blocked(tmp_path_factory):
    """Environment in which scipy cannot be imported."""
    folder = tmp_path_factory.mktemp("blocked")
    (folder / "sitecustomize.py").write_text(BLOCK)
    return {"PYTHONPATH": str(folder)}


@pytest.fixture(scope="module")
def usual(by_scripts):
    """{chain: its last drawing, read} by this Python as it is."""
    return lru_cache(maxsize=None)(lambda name: read(by_scripts(name)))


def without_pdf(name):
    """The steps of a chain, the plot without its PDF: that is the editor's work, and tested elsewhere."""
    return tuple((s, select, dict(values, pdf="false") if s == "plank_plot" else values)
                 for s, select, values in ALL[name].steps)


def test_planted_fault_the_block_blocks(blocked, tmp_path):
    script = tmp_path / "probe.py"
    script.write_text("import scipy.linalg\n")
    done = subprocess.run([sys.executable, str(script)], env=dict(os.environ, **blocked), stderr=subprocess.PIPE,
                          timeout=60)
    assert done.returncode == 1 and b"scipy is blocked here" in done.stderr
    grown = run_in_nursery(script, [], dict(os.environ, **blocked))
    assert grown is None or grown[0] == 1 and b"scipy is blocked here" in grown[2]
    script.write_text("import numpy.linalg\n")
    assert subprocess.run([sys.executable, str(script)], env=dict(os.environ, **blocked), timeout=60).returncode == 0


def test_the_chains_hold_every_action():
    assert {s for name in TRIED for s in ALL[name].scripts} == set(SCRIPTS)


@pytest.mark.parametrize("name", TRIED)
def test_the_whole_chain_runs_without_scipy_and_gives_the_same(blocked, usual, tmp_path, name):
    last = run_chain(lay_out(ALL[name], tmp_path), without_pdf(name), folder=tmp_path, env=blocked)
    assert compare(read(last), usual(name), within_mm=1e-9) <= 1e-9


@pytest.fixture(scope="module")
def old():
    """(interpreter, environment) of the editor's own Python and libraries."""
    python = editor.find_editor_python()
    missing = editor.find_missing()
    if python is None or not LIBRARY.is_dir():
        missing.append("the editor's own libraries")
    require(missing)
    return [python], {"PYTHONPATH": str(LIBRARY)}


@pytest.mark.parametrize("name", CHAINS)
def test_the_editors_own_libraries_give_the_same(old, usual, tmp_path, name):
    python, env = old
    last = run_chain(CHAINS[name].drawing, without_pdf(name), folder=tmp_path, python=python, env=env)
    assert compare(read(last), usual(name)) <= 1e-6


def test_they_are_other_libraries(old):
    """Or the comparison would be of a thing with itself."""
    python, env = old
    done = subprocess.run([python[0], "-c", "import inkex, numpy; print(inkex.__file__, numpy.__version__)"],
                          env=dict(os.environ, **env), stdout=subprocess.PIPE, timeout=60)
    assert done.stdout.decode().startswith(str(LIBRARY))


def test_they_refuse_alike(old, tmp_path):
    python, env = old
    drawing = tmp_path / "in.svg"
    shutil.copy(CHAINS["edges"].drawing, drawing)
    results = [run_script("plank_fair", drawing, tmp_path / "out.svg", select=("frames",), python=p, env=e)
               for p, e in ((python, env), (None, None))]
    assert results[0] == results[1] and isinstance(results[0], Result) and results[0].code == 251
