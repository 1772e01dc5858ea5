"""Manners of the house that no other tool checks. Each rule is shown a planted fault."""
import ast
import re
import subprocess
from pathlib import Path

import pytest
from house.test_doors import walk

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 400
MOST_LINES = 50           # of a function, below its docstring
EMPTY_NAMES = {"utils", "util", "helpers", "helper", "misc", "common", "base", "tools", "stuff"}
# the command line speaks and ends; the border to the editor reports
MAY_SPEAK = ("plankcore/command/", "plankcore/document/extension.py")
MACHINE = re.compile(r"(?<![\w.*{}~-])/(?:work|root|tmp|home|Users|mnt)/[\w.-]")


def list_files():
    """Files of the project, tracked or about to be, as paths below the root."""
    said = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL)
    if said.returncode == 0:
        return sorted(p for p in said.stdout.decode().splitlines() if (ROOT / p).is_file())
    found = (p.relative_to(ROOT) for p in ROOT.rglob("*") if p.is_file())
    return sorted(p.as_posix() for p in found if not any(part.startswith(".") and part != ".ci" or part in (
        "__pycache__", "build", "out") or part.endswith(".egg-info") for part in p.parts))


FILES = list_files()
SOURCES = [p for p in FILES if p.endswith(".py")]
HOUSE = [p for p in SOURCES if p.startswith(("plankcore/", "extensions/"))]


def read_text(path):
    """A file's text, or None where it is not text."""
    try:
        return (ROOT / path).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


def find_speech(text):
    """Calls of print, exit and their kin."""
    found = []
    for node in walk(text):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            if name in ("print", "exit", "quit", "sys.exit", "os._exit", "sys.stdout.write", "sys.stderr.write",
                        "breakpoint"):
                found.append("%s at %d" % (name, node.lineno))
        elif isinstance(node, ast.Raise) and node.exc is not None and "SystemExit" in ast.unparse(node.exc):
            found.append("SystemExit at %d" % node.lineno)
    return found


def find_long_functions(text):
    """Functions of more lines than one takes in at once; what is said of them above does not count."""
    found = []
    for node in walk(text):
        if isinstance(node, ast.FunctionDef):
            said = node.body[0]
            told = isinstance(said, ast.Expr) and isinstance(said.value, ast.Constant)
            lines = node.end_lineno - node.lineno + 1 - (said.end_lineno - said.lineno + 1 if told else 0)
            if lines > MOST_LINES:
                found.append("%s has %d lines" % (node.name, lines))
    return found


def find_machine_paths(text):
    """Places on someone's machine."""
    return [text[m.start():m.end() + 20] for m in MACHINE.finditer(text)]


def test_there_is_something_to_look_at():
    assert len(HOUSE) > 20 and "README.md" in FILES


@pytest.mark.parametrize("path", [p for p in HOUSE if not p.startswith(MAY_SPEAK)])
def test_nobody_prints_or_exits(path):
    assert find_speech(read_text(path)) == []


@pytest.mark.parametrize("text", ["print(1)", "import sys\nsys.exit(2)", "def f():\n    raise SystemExit",
                                  "raise SystemExit(3)", "exit()", "import sys\nsys.stderr.write('x')"])
def test_planted_speech_is_caught(text):
    assert find_speech(text)


def test_what_only_looks_like_speech_is_let_pass():
    assert find_speech("self.print(1)\nraise ValueError('print')\nfingerprint(2)") == []


@pytest.mark.parametrize("path", HOUSE)
def test_no_file_is_too_long_to_read(path):
    assert len(read_text(path).splitlines()) <= LONGEST


@pytest.mark.parametrize("path", SOURCES)
def test_modules_are_called_after_what_they_do(path):
    assert not {part.lower() for part in Path(path).with_suffix("").parts} & EMPTY_NAMES


def test_scripts_take_no_name_that_python_or_the_editor_has():
    """An action's folder is first on its path, and the editor's own modules lie on it by their bare names."""
    import sys
    for path in (Path(p) for p in HOUSE if p.startswith("extensions/")):
        assert path.stem.startswith(("plank_", "_plank_")) and path.stem not in sys.stdlib_module_names


@pytest.mark.parametrize("path", HOUSE)
def test_every_file_is_read_by_the_oldest_python_an_editor_brings(path):
    ast.parse(read_text(path), feature_version=(3, 8))


@pytest.mark.parametrize("text",
                         ["match x:\n    case 1:\n        pass", "with (open('a') as a, open('b') as b):\n    pass"])
def test_planted_newer_syntax_is_caught(text):
    ast.parse(text)
    with pytest.raises(SyntaxError):
        ast.parse(text, feature_version=(3, 8))


@pytest.mark.parametrize("path", HOUSE)
def test_annotations_wait(path):
    """Names such as tuple[int] in annotations are no trouble to 3.8 so long as nobody evaluates them."""
    text = read_text(path)
    annotated = any(isinstance(n, ast.AnnAssign) or getattr(n, "returns", None)
                    or getattr(n, "annotation", None) for n in walk(text))
    assert not annotated or "from __future__ import annotations" in text


@pytest.mark.parametrize("path", FILES)
def test_no_place_on_a_machine_is_named(path):
    text = read_text(path)
    assert text is None or find_machine_paths(text) == []


@pytest.mark.parametrize("folder", ["work", "root", "tmp", "home"])
def test_planted_places_are_caught(folder):
    assert find_machine_paths('open("/%s/boat/strake.svg")'
                              % folder) and find_machine_paths("file:///%s/x.png" % folder)
    assert not find_machine_paths("a/%s/b and frame/%s" % (folder, folder))


def test_the_readme_points_at_what_is_there():
    """Links to files of the project."""
    for path in (p for p in FILES if p.endswith(".md")):
        for target in re.findall(r"\]\(([^)#:]+)\)", read_text(path)):
            assert (ROOT / path).parent.joinpath(target).exists(), "%s points at %s" % (path, target)


def list_unrefused_lapping(text):
    """The words that are missing where planking whose edges lap is refused."""
    plain = " ".join(text.lower().split())
    return [word for word in ("clinker", "lap", "out of scope", "do not cut a clinker strake") if word not in plain]


@pytest.mark.parametrize("path", ["README.md", "extensions/plank_fair.inx"])
def test_planking_whose_edges_lap_is_refused_in_words(path):
    assert list_unrefused_lapping(read_text(path)) == []
    assert "clinker" in list_unrefused_lapping(re.sub("(?i)clinker", "", read_text(path)))


@pytest.mark.parametrize("path", HOUSE)
def test_no_function_is_longer_than_one_takes_in(path):
    assert find_long_functions(read_text(path)) == []


@pytest.mark.parametrize("lines, count", [(49, 0), (50, 1)])
def test_a_planted_long_function_is_caught(lines, count):
    text = "def draw():\n    \"\"\"Said\n\n    at length.\n    \"\"\"\n" + "    x = 1\n" * lines
    assert len(find_long_functions(text)) == count
