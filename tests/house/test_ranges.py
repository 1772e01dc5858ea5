"""Ranges of settings are read by one reader: no operation compares a setting with two numbers and refuses it itself."""
import ast

import pytest
from house.test_doors import find_room, read_sources, walk


def find_own_ranges(text):
    """Lines that refuse a setting for lying outside `least <= setting <= most`, both ends numbers or named ones."""
    found = []
    for node in walk(text):
        if isinstance(node, ast.If) and any("SettingError(" in ast.unparse(part) for part in node.body
                                            if isinstance(part, ast.Raise)):
            for one in ast.walk(node.test):
                if isinstance(one, ast.Compare) and len(one.ops) == 2 and all(
                        isinstance(end, ast.Constant) or isinstance(end, ast.Name) and end.id.isupper()
                        for end in (one.left, one.comparators[1])):
                    found.append("line %d: %s" % (node.lineno, ast.unparse(one)))
    return found


def list_operations():
    """{path: text} of all operations."""
    return {path: text for path, text in read_sources().items() if find_room(path) == "operation"}


def test_no_operation_reads_a_range_of_its_own():
    assert {path: found for path, text in list_operations().items() for found in [find_own_ranges(text)] if found} == {}


@pytest.mark.parametrize("test",
                         ["not 0 < x.error_mm <= 100", "x.on and not LEAST <= x.mm <= MOST", "not 0 <= v <= MOST"])
def test_a_planted_range_is_caught(test):
    text = list_operations()["plankcore/fair/fair.py"]
    planted = "\n\ndef check(x, v):\n    if %s:\n        raise SettingError('%%g' %% v, '', '')\n" % test
    assert find_own_ranges(text) == []
    assert len(find_own_ranges(text + planted)) == 1
