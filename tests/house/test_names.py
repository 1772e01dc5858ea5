"""One name, one thing: no two modules offer classes of one name."""
import ast
from collections import defaultdict

from house.test_doors import parse, read_sources


def find_shared_names(sources):
    """{class: the modules that define it}, of public classes that more than one module defines."""
    found = defaultdict(list)
    for path, text in sorted(sources.items()):
        for node in parse(text).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(path)
    return {name: paths for name, paths in found.items() if len(paths) > 1}


def test_no_two_classes_share_a_name():
    assert find_shared_names(read_sources()) == {}


def test_planted_fault_a_second_section_is_named():
    sources = {**read_sources(), "plankcore/planted.py": "class Section:\n    pass\n"}
    assert find_shared_names(sources) == {"Section": ["plankcore/model/board.py", "plankcore/planted.py"]}
