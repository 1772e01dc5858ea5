"""A sentence is for people: outside the words.py of an operation no code compares, searches, splits or matches one.
Facts are read instead. Each way of reading is shown a planted fault.
"""
import ast
import re
from pathlib import Path

import pytest
from house.test_doors import walk

ROOT = Path(__file__).resolve().parents[2]
HOUSE = sorted(p.relative_to(ROOT).as_posix() for folder in ("plankcore", "extensions")
               for p in (ROOT / folder).rglob("*.py"))

# attributes that hold a sentence, or sentences
SENTENCES = {"words", "brief", "said", "text", "rows", "found", "remedy", "problem"}
READING = {"startswith", "endswith", "split", "rsplit", "partition", "rpartition", "splitlines", "replace", "find",
           "rfind", "index", "rindex", "count", "removeprefix", "removesuffix"}
SAME_SENTENCE = {"lower", "upper", "casefold", "strip", "rstrip", "lstrip", "title", "capitalize"}
# what is called by such a name and is no sentence, and the two places where the same words twice are told once
ALLOWED = {
    "plankcore/document/files/record.py": {"s.words"},          # the figures of a frame by their names
    "plankcore/document/files/table.py": {"column.words"},      # the words that a column of a user's table may hold
    "plankcore/document/layers/lines.py": {"station.words"},    # 'left' or 'right', the side that words stand on
    "plankcore/paper/blocks.py": {"station.words"},
    "plankcore/document/layers/state.py": {"t.problem", "error.problem"},     # one refusal met by two readers
    "plankcore/plot/plank.py": {"t.text"},                      # the same lettering at the same place
}


def is_sentence(node, tainted):
    """Whether an expression is a sentence: an attribute that holds one, read from the page, or a name made of one."""
    if isinstance(node, ast.Attribute):
        return node.attr in SENTENCES
    if isinstance(node, ast.Name):
        return node.id in tainted
    if isinstance(node, ast.Subscript):
        return is_sentence(node.value, tainted)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return is_sentence(node.left, tainted) or is_sentence(node.right, tainted)
    if isinstance(node, ast.Call):
        name = ast.unparse(node.func)
        if name in ("names.get", "get", "element.get") or name.endswith(".get"):
            return any(isinstance(a, ast.Constant) and isinstance(a.value, str) and (
                a.value in ("text", "plank:text") or a.value.startswith(("row-", "row_"))
                or a.value.endswith(("-words", "-brief"))) for a in node.args)
        if isinstance(node.func, ast.Attribute) and node.func.attr in SAME_SENTENCE | {"join"}:
            return is_sentence(node.func.value, tainted) or any(is_sentence(a, tainted) for a in node.args)
        return name in ("str", "tuple", "list", "sorted", "list_words") and any(
            is_sentence(a, tainted) for a in node.args) or name == "list_words"
    return False


def find_tainted(tree):
    """Names that are bound to a sentence anywhere in a function."""
    tainted = set()
    for _ in range(3):
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and is_sentence(node.value, tainted):
                tainted |= {t.id for t in node.targets if isinstance(t, ast.Name)}
            elif isinstance(node, (ast.For, ast.comprehension)) and is_sentence(node.iter, tainted) and isinstance(
                    node.target, ast.Name):
                tainted.add(node.target.id)
    return tainted


def find_readings(text):
    """Places where a sentence is read: 'expression at line'."""
    found = []
    for scope in [n for n in walk(text) if isinstance(n, (ast.FunctionDef, ast.AsyncFunctionDef))]:
        tainted = find_tainted(scope)
        for node in ast.walk(scope):
            read = []
            if isinstance(node, ast.Compare) and any(isinstance(o, (ast.Eq, ast.NotEq, ast.In, ast.NotIn, ast.Lt,
                                                                    ast.Gt)) for o in node.ops):
                read = [e for one in (node.left, *node.comparators)
                        for e in (one.elts if isinstance(one, ast.Tuple) else [one])]
            elif isinstance(node, ast.Call):
                name = ast.unparse(node.func)
                if isinstance(node.func, ast.Attribute) and node.func.attr in READING:
                    read = [node.func.value]
                elif name.startswith("re.") or (isinstance(node.func, ast.Attribute) and node.func.attr in (
                        "match", "search", "fullmatch", "findall", "finditer", "sub")):
                    read = list(node.args)
            elif isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Slice):
                read = [node.value] if isinstance(node.value, ast.Attribute) and node.value.attr != "rows" else []
            found += ["%s at %d" % (ast.unparse(e), e.lineno) for e in read if is_sentence(e, tainted)]
    return sorted(set(found))


@pytest.mark.parametrize("path", [p for p in HOUSE if not p.endswith("/words.py")])
def test_no_sentence_is_read(path):
    found = find_readings((ROOT / path).read_text(encoding="utf-8"))
    assert [one for one in found if one.split(" at ")[0] not in ALLOWED.get(path, ())] == []


@pytest.mark.parametrize("path", sorted(ALLOWED))
def test_what_is_let_pass_is_still_there(path):
    assert {one.split(" at ")[0] for one in find_readings((ROOT / path).read_text(encoding="utf-8"))} == ALLOWED[path]


@pytest.mark.parametrize("text", [
    "if fact.words == 'PASS': pass", "if 'FAILS' in fact.words: pass", "a = f.words.startswith('FAILS')",
    "a = [r for r in overlay.rows if r.startswith('JUDGED')]", "a = re.search('FAILS', finding.text)",
    "a = _JUDGED.sub('x', finding.text)", "said = fact.brief\na = said.partition(': ')",
    "a = fact.words.lower() == 'x'", "a = names.get(e, 'text').split(' ')", "a = names.get(e, 'row-1') == 'x'",
    "a = names.get(e, 'fact-1-words') == 'x'",
    "for row in list_words(facts):\n    if 'X' in row: pass", "a = error.problem[4:]", "a = 'x' in error.remedy",
    "said = ' '.join(saw.rows)\na = said.count('X')", "a = result.found.endswith('MM')"])
def test_planted_readings_are_caught(text):
    assert find_readings("def f():\n" + "\n".join("    " + line for line in text.split("\n")))


@pytest.mark.parametrize("text", [
    "if fact.key == 'pair': pass", "a = fact.words or 'NONE'", "a = '; '.join(f.words for f in facts)",
    "a = finding.text.rstrip('.').upper()", "a = [r for r in overlay.rows]", "a = label.startswith('strake')",
    "a = len(overlay.rows) == 2", "a = names.get(e, 'fact-1-key') == 'pair'"])
def test_what_only_looks_like_reading_is_let_pass(text):
    assert find_readings("def f():\n    " + text) == []


# operations whose sentences are made in their words.py; plot has few and keeps them with its figures
WORDED = [p for p in HOUSE if p.startswith(tuple("plankcore/%s/" % one for one in (
    "allowance", "fair", "fastenings", "joints", "record", "scan", "section", "stations", "stock", "turn")))]
MADE = ("Finding", "Fact", "Unread", "NoArc", "Proof", "Heading", "Reading")


def find_made(text):
    """Sentences that are spelt out where a fact, a finding or a line of the record is made: 'text at line'."""
    found = []
    for call in walk(text):
        if not isinstance(call, ast.Call) or ast.unparse(call.func).split(".")[-1] not in MADE:
            continue
        named = [k.value for k in call.keywords if k.arg in ("text", "words", "brief", "notes", "reason", "rows")]
        for given in [*call.args, *named]:
            found += ["%s at %d" % (n.value, n.lineno) for n in ast.walk(given) if isinstance(n, ast.Constant)
                      and isinstance(n.value, str) and " " in n.value and len(re.findall("[A-Za-z]{2,}", n.value)) > 2]
    return found


@pytest.mark.parametrize("path", [p for p in WORDED if not p.endswith("/words.py")])
def test_sentences_are_made_in_words_alone(path):
    assert find_made((ROOT / path).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("text", [
    "a = Finding('Frame %s has two marks.' % label, at)", "a = Unread(shape.label, 'a tag that is bent', at)",
    "a = Fact('seam', words='SEAM 2 MM OPEN')", "a = Proof('Over all, along the baseline', 2.0, b)",
    "a = Heading('Fairing', ('How far the marks lie off.',))"])
def test_a_sentence_made_elsewhere_is_seen(text):
    assert find_made(text)


def test_what_is_made_of_words_is_let_pass():
    assert find_made("a = Finding(words.tell(mark), at, 'mark-off', unit='honest errors')") == []
