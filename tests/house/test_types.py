"""Types are written down, and calls say what is what: every public function and field is annotated, and no call of a
function of ours, here or in the tests, passes more than four arguments by their place alone, nor takes more than five.

What the annotations say is for mypy, run beside these tests; see DEVELOPERS.md.
"""
import ast

import pytest
from house.test_doors import ROOT, parse, read_sources, walk

MOST_BY_PLACE = 4
MOST_TAKEN = 5              # a function that needs more values takes the rest by their names


def list_definitions(tree):
    """Public functions and methods of a module, and the fields of its frozen classes: (name, node)."""
    found, ahead = [], [("", node) for node in tree.body]
    while ahead:
        above, node = ahead.pop()
        if isinstance(node, ast.FunctionDef):
            if not node.name.startswith("_"):
                found.append((above + node.name, node))
        elif isinstance(node, ast.ClassDef):
            ahead += [(above + node.name + ".", part) for part in node.body]
        elif isinstance(node, ast.AnnAssign) and above:
            found.append((above + ast.unparse(node.target), node))
        elif isinstance(node, (ast.If, ast.Try, ast.With)):
            ahead += [(above, part) for part in ast.iter_child_nodes(node)]
    return found


def find_untyped(text):
    """What is public and not annotated, or says only that it is an array, a tuple, a dict or a list of anything."""
    bare = {"tuple", "dict", "list", "set", "object", "np.ndarray"}
    found = []
    for name, node in list_definitions(parse(text)):
        if isinstance(node, ast.AnnAssign):
            if ast.unparse(node.annotation) in bare:
                found.append("%s is only a %s" % (name, ast.unparse(node.annotation)))
            continue
        asked = node.args
        every = [*asked.posonlyargs, *asked.args, *asked.kwonlyargs, *filter(None, (asked.vararg, asked.kwarg))]
        missing = [a.arg for a in every if a.annotation is None and a.arg not in ("self", "cls")]
        missing += ["return"] if node.returns is None else []
        found += ["%s does not say the type of %s" % (name, ", ".join(missing))] if missing else []
        told = [a.annotation for a in every if a.annotation is not None] + ([node.returns] if node.returns else [])
        found += ["%s has only a %s" % (name, ast.unparse(one)) for one in told if ast.unparse(one) in bare]
    return found


def read_tests():
    """{path below the root: text} of tests and samples."""
    return {p.relative_to(ROOT).as_posix(): p.read_text(encoding="utf-8")
            for folder in ("tests", "samples") for p in (ROOT / folder).rglob("*.py")}


def list_variadic(sources):
    """Names of functions that take any number of arguments by place: ours that are written so, and Python's own."""
    ours = {node.name for text in sources.values() for node in walk(text)
            if isinstance(node, ast.FunctionDef) and node.args.vararg}
    # the marks of a page's text, each a child of the one above; and what hypothesis draws for a test, in its order
    return ours | {"zip", "max", "min", "print", "chain", "join", "format", "div", "p", "table", "tr", "td", "given"}


@pytest.fixture(scope="module")
def free():
    """The names that any number of arguments may be given to."""
    return list_variadic({**read_sources(), **read_tests()})


def find_long_calls(text, free):
    """Calls that pass more than four arguments by their place, but for functions that take any number of them."""
    found = []
    for node in walk(text):
        if isinstance(node, ast.Call) and len(node.args) > MOST_BY_PLACE:
            name = node.func.attr if isinstance(node.func, ast.Attribute) else ast.unparse(node.func)
            if name not in free:
                found.append("line %d: %s is given %d" % (node.lineno, name, len(node.args)))
    return found


def test_every_public_function_and_field_says_its_type():
    sources = read_sources()
    assert len(sources) > 120
    assert {p: found for p, text in sorted(sources.items()) for found in [find_untyped(text)] if found} == {}


def test_no_call_passes_more_than_four_arguments_by_place(free):
    sources = read_sources()
    tests = read_tests()
    assert len(tests) > 100
    every = {**sources, **tests}
    assert {p: found for p, text in every.items() for found in [find_long_calls(text, free)] if found} == {}


def find_long_definitions(text):
    """Functions and methods that would take more than five values by their place alone."""
    found = []
    for node in ast.walk(parse(text)):
        if isinstance(node, ast.FunctionDef):
            taken = [one.arg for one in (*node.args.posonlyargs, *node.args.args) if one.arg not in ("self", "cls")]
            if len(taken) > MOST_TAKEN:
                found.append("line %d: %s takes %d" % (node.lineno, node.name, len(taken)))
    return found


def test_no_function_takes_more_than_five_values_by_place():
    assert {p: found for p, text in read_sources().items() for found in [find_long_definitions(text)] if found} == {}


@pytest.mark.parametrize("line, count", [
    ("def draw(a, b, c, d, e, f): pass", 1), ("def draw(a, b, c, d, e, *, f): pass", 0),
    ("class A:\n    def draw(self, a, b, c, d, e): pass", 0),
    ("class A:\n    def draw(self, a, b, c, d, e, f): pass", 1),
])
def test_a_planted_long_definition_is_caught(line, count):
    assert len(find_long_definitions(line)) == count


@pytest.mark.parametrize("line", [
    "def draw_more(points: Points): pass", "def draw_more(points) -> Points: pass",
    "def draw_more(*points) -> None: pass",
    "def draw_more(*, way=1.0) -> None: pass", "def draw_more(**ways) -> None: pass",
    "class More:\n    def draw(self, way) -> None: pass", "class More:\n    def draw(self): pass",
    "class More:\n    points: np.ndarray", "class More:\n    ways: tuple = ()",
    "def draw_more(points: np.ndarray) -> None: pass",
    "def draw_more() -> tuple: pass", "if True:\n    def draw_more(): pass",
])
def test_a_planted_lack_of_types_is_caught(line):
    text = read_sources()["plankcore/geometry/curve.py"]
    assert find_untyped(text) == []
    assert len(find_untyped(text + "\n\n" + line + "\n")) == 1


def test_what_is_private_may_stay_without():
    assert find_untyped("def _draw(points):\n    def inner(x): pass\nclass A:\n    def __init__(self, x): pass\n") == []


@pytest.mark.parametrize("line, count", [
    ("Curve(1, 2, 3, 4, 5)", 1), ("x.measure(1, 2, 3, 4, 5)", 1), ("f(1, 2, 3, 4, *rest)", 1),
    ("f(1, 2, 3, 4, e=5)", 0),
    ("max(1, 2, 3, 4, 5)", 0), ("f(g(1, 2, 3, 4, 5), 2)", 1),
])
def test_a_planted_long_call_is_caught(free, line, count):
    assert len(find_long_calls(line, free)) == count
