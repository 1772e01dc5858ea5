"""What an action is called stands in the table of actions alone: every sentence that names one takes its name from
there, so that an action that is renamed is called so everywhere.
"""
import ast
import re
from pathlib import Path

import pytest
from house.test_doors import walk

from plankcore.actions import ACTIONS

ROOT = Path(__file__).resolve().parents[2]
HOUSE = sorted(p.relative_to(ROOT).as_posix() for folder in ("plankcore", "extensions")
               for p in (ROOT / folder).rglob("*.py") if p.name != "actions.py")
# titles of several words, as they stand in the menu and in capitals
LONG = [form for one in ACTIONS if " " in one.title for form in (one.title, one.title.upper())]
# one word may be an ordinary word too: it is a title alone, and where it is told to be run or to be looked into
SHORT = [form for one in ACTIONS if " " not in one.title for form in (one.title, one.title.upper())]
HEADINGS = {one.heading for one in ACTIONS if one.heading}
NAMED = (r"(?:^|\b(?:[Rr]un|RUN|[Ii]n|IN|[Aa]fter|AFTER|NEEDS) )%s"
         r"(?:$|[.,;:]| again\b| AGAIN\b| first\b| FIRST\b| has\b)")


def find_titles(text):
    """Strings of a module, its docstrings left out, in which an action is called by a name that is spelt out."""
    said = {id(n.value) for n in walk(text) if isinstance(n, ast.Expr)}
    return [n.value for n in walk(text) if isinstance(n, ast.Constant) and isinstance(n.value, str)
            and id(n) not in said and (any(one in n.value for one in LONG) or n.value in HEADINGS
                                       or any(re.search(NAMED % one, n.value) for one in SHORT))]


@pytest.mark.parametrize("path", HOUSE)
def test_no_title_is_spelt_out(path):
    assert find_titles((ROOT / path).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("text", [
    "a = 'Run Fair Plank again.'", "a = 'IT IS MIRRORED: RUN FAIR PLANK AGAIN'", "a = ('RUN TRUE UP '\n     'SCAN')",
    "f('ALLOWANCES')", "a = 'RUN ALLOWANCES AGAIN'", "a = 'Run Fastenings first.'", "a = x == 'Scarfs and butts'",
    "a = 'SCARFS AND BUTTS ARE DRAWN NET'", "f(remedy='Give it in Allowances.')"])
def test_a_title_that_is_spelt_out_is_seen(text):
    assert find_titles(text)


@pytest.mark.parametrize("text", [
    "a = 'RUN %s AGAIN' % FAIR.capitals", "'''Fair Plank again.'''", "def f():\n    'As Check Plank says.'",
    "a = 'FASTENINGS AT EACH FRAME'", "a = 'a fair plank'", "f(fastenings=2)", "a = 'no fastenings in it'"])
def test_what_only_looks_like_a_title_is_let_pass(text):
    assert find_titles(text) == []
