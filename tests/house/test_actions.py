"""One table of actions, plankcore/actions.py: whatever has an action's name reads it there, and a row that is missing
is named.
"""
import ast
import re

import pytest
from house.test_doors import ROOT, find_operation, list_faces, list_imports, read_sources, walk
from lxml import etree

from plankcore.actions import ACTIONS, OVERLAYS, Action

INX = "{http://www.inkscape.org/namespace/inkscape/extension}"
README = (ROOT / "README.md").read_text(encoding="utf-8")
MANUAL = (ROOT / "extensions" / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def read_menu(*, numbered=False):
    """{script: its title in the menu}, from the .inx files; numbered: with the number that stands before it."""
    names = {p.stem: etree.parse(str(p)).getroot().findtext(INX + "name")
             for p in sorted((ROOT / "extensions").glob("plank_*.inx"))}
    return names if numbered else {script: re.sub(r"^\d\d ", "", name) for script, name in names.items()}


def test_the_menu_which_the_editor_sorts_by_letters_is_in_the_order_of_work():
    names = read_menu(numbered=True)
    assert sorted(names, key=names.get) == ["plank_" + one.key for one in ACTIONS]
    assert min(names.values()).startswith("01 ")


def find_gaps(actions, *, menu, sources):
    """What the table of actions, the pairs in extensions/ and the folders of operations do not agree on, in words."""
    found, rows = [], {"plank_" + one.key: one for one in actions}
    scripts = {p[len("extensions/"):-len(".py")] for p in sources if p.startswith("extensions/plank_")}
    for script in sorted(set(menu) | scripts):
        if script not in rows:
            found.append("%s (%s) has no row in actions.py" % (menu.get(script, "no title"), script))
    for script, one in rows.items():
        if script not in menu or script not in scripts:
            found.append("%s lacks extensions/%s.py or .inx" % (one.title, script))
        elif menu[script] != one.title:
            found.append("%s is called %s in the menu" % (one.title, menu[script]))
        else:
            opened = {p for p in list_imports("extensions/%s.py" % script, sources["extensions/%s.py" % script],
                                              sources)[0] if find_operation(p)}
            own = {"plankcore/%s.py" % face.replace(".", "/") for face in one.faces}
            found += ["%s opens no face %s" % (one.title, face) for face in sorted(own - opened)]
            shared = set().union(*({"plankcore/%s.py" % f.replace(".", "/") for f in other.faces} for other in actions))
            found += ["%s opens %s, a face of no row" % (one.title, p) for p in sorted(opened - own - shared)]
    folders = {find_operation(p) for p in sources} - {""}
    named = set(list_faces(actions))
    found += ["the folder plankcore/%s has no row in actions.py" % folder for folder in sorted(folders - named)]
    found += ["%s has no folder" % folder for folder in sorted(named - folders)]
    return found


def test_every_action_is_a_row_a_pair_and_a_folder():
    assert find_gaps(ACTIONS, menu=read_menu(), sources=read_sources()) == []


@pytest.mark.parametrize("left_out", ACTIONS, ids=lambda one: one.key)
def test_planted_fault_a_row_that_was_left_out_is_named(left_out):
    rest = [one for one in ACTIONS if one is not left_out]
    found = find_gaps(rest, menu=read_menu(), sources=read_sources())
    assert any(text.startswith(left_out.title) for text in found)


def test_planted_fault_a_folder_or_a_pair_without_a_row_is_named():
    sources = {**read_sources(), "plankcore/planted/__init__.py": "", "plankcore/planted/measure.py": "",
               "extensions/plank_planted.py": "from plankcore.planted.measure import measure\n"}
    found = find_gaps(ACTIONS, menu={**read_menu(), "plank_planted": "Planted Action"}, sources=sources)
    assert found == ["Planted Action (plank_planted) has no row in actions.py",
                     "the folder plankcore/planted has no row in actions.py"]
    assert find_gaps([*ACTIONS, Action("planted", "Planted", ("planted.measure",))], menu=read_menu(),
                     sources=read_sources()) == ["Planted lacks extensions/plank_planted.py or .inx",
                                                       "planted has no folder"]
    assert find_gaps(ACTIONS, menu={**read_menu(), "plank_fair": "Fair"}, sources=read_sources()) == [
        "Fair Plank is called Fair in the menu"]


def test_no_two_rows_share_a_name():
    for names in ([a.key for a in ACTIONS], [a.title for a in ACTIONS], [a.layer for a in ACTIONS if a.layer],
                  [a.heading for a in ACTIONS if a.heading]):
        assert len(set(names)) == len(names)


def test_what_draws_an_overlay_has_a_layer_a_label_and_a_heading():
    assert all(one.layer and one.label and one.heading for one in OVERLAYS)
    assert all(one.overlay for one in ACTIONS if one.carried)
    assert all(bool(one.layer) == bool(one.label) for one in ACTIONS)


# -- who names an action takes the name from its row ------------------------------------------------------------------

def find_written_titles(text):
    """Sentences of a module that spell an action's title instead of taking it from the table; docstrings may."""
    spoken = {id(node.body[0].value) for node in walk(text)
              if isinstance(node, (ast.Module, ast.FunctionDef, ast.ClassDef)) and node.body
              and isinstance(node.body[0], ast.Expr)}
    found = []
    for node in walk(text):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in spoken:
            # a title of one word is a word of the trade as well, unless one is to run it
            found += [(one.title, node.lineno) for one in ACTIONS if one.title in node.value and re.search(
                r"\b%s\b" % one.title if " " in one.title else r"(?:^|\b[Rr]un )%s$|\b[Rr]un %s\b"
                % (one.title, one.title), node.value)]
    return found


@pytest.mark.parametrize("path", [p for p in sorted(read_sources()) if p != "plankcore/actions.py"])
def test_titles_come_from_the_table(path):
    assert find_written_titles(read_sources()[path]) == []


@pytest.mark.parametrize("text", ['x = "Run Fair Plank again."', 'x = ("Run Fair "\n     "Plank first.")',
                                  'x = "Fastenings"', 'x = "Run Allowances again."'])
def test_planted_titles_are_caught(text):
    assert find_written_titles(text)


def test_titles_in_what_explains_the_code_are_let_pass():
    assert not find_written_titles('"""Fair Plank: a trace."""\n\n\ndef f():\n    """Run Allowances."""\n')


# -- documents --------------------------------------------------------------------------------------------------------

def list_walk(readme):
    """Titles in bold that the README walks through, in its order."""
    titles = "|".join(re.escape(one.title) for one in ACTIONS)
    found = re.findall(r"\*\*(%s)\b" % titles, readme.split("## The walk", 1)[1])
    return list(dict.fromkeys(found))


def test_the_readme_walks_through_every_action_in_the_order_of_work():
    assert list_walk(README) == [one.title for one in ACTIONS]


@pytest.mark.parametrize("left_out", ACTIONS, ids=lambda one: one.key)
def test_planted_fault_a_readme_without_an_action_is_caught(left_out):
    assert list_walk(README.replace(left_out.title, "This")) != [one.title for one in ACTIONS]


def test_the_readme_is_read_at_one_sitting():
    assert len(README.splitlines()) <= 150


def list_fields(path):
    """(label, value that a field begins with) of an .inx file, in its order, hidden ones and tabs left out."""
    found = []
    for param in etree.parse(str(path)).getroot().iter(INX + "param"):
        if param.get("type") == "notebook" or param.get("gui-hidden") == "true":
            continue
        text = (param.text or "").strip()
        begins = {"optiongroup": lambda: next(param.iter(INX + "option")).text,
                  "bool": lambda text=text: {"true": "on", "false": "off"}[text]}.get(param.get("type"), lambda: text)()
        found.append((re.sub(r" \((length|degrees)\)$", "", param.get("gui-text").rstrip(":")), begins))
    return found


def list_manual(manual, title):
    """{label: value} of the table of fields below an action's heading, and the labels that several actions share."""
    section = re.split(r"^## \d+\. %s$" % re.escape(title), manual, maxsplit=1, flags=re.MULTILINE)[1].split("\n## ")[0]
    rows = section.split("| field | as it comes |", 1)[1].splitlines()[2:]
    cells = [[cell.strip() for cell in re.split(r"\s\|\s|^\|\s|\s\|$", row)] for row in rows if row.startswith("|")]
    shared = manual.split("| field of several actions |", 1)[1].split("\n## ")[0].splitlines()[2:]
    return {one[1]: one[2] for one in cells}, {row.split("|")[1].strip() for row in shared if row.startswith("|")}


def find_manual_gaps(manual, action):
    """Fields of an action's dialog that its manual leaves out or says otherwise, and rows of fields that are gone."""
    fields = list_fields(ROOT / "extensions" / ("plank_%s.inx" % action.key))
    told, shared = list_manual(manual, action.title)
    missing = [label for label, begins in fields if label not in shared and not label.startswith("These are for")
               and not label.startswith("The species is for") and told.get(label) != begins.replace("|", "/")]
    return missing + [label for label in told if label not in dict(fields)]


@pytest.mark.parametrize("action", ACTIONS, ids=lambda one: one.key)
def test_the_manual_tells_every_field_of_an_action_by_its_two_ends(action):
    assert find_manual_gaps(MANUAL, action) == []


@pytest.mark.parametrize("fault", [("| Comb", "| Kamb"), ("| Stagger from frame to frame, across the plank | 10 mm",
                                                          "| Stagger from frame to frame, across the plank | 12 mm"),
                                   ("| Lines are struck |", "| Lines are drawn |")])
def test_a_planted_fault_of_the_manual_is_caught(fault):
    wrong = MANUAL.replace(*fault) if fault[0] in MANUAL else MANUAL.replace("| Show curvature", "| Hide curvature")
    assert wrong != MANUAL and any(find_manual_gaps(wrong, one) for one in ACTIONS)


def test_every_row_of_the_manual_tells_both_ends():
    rows = [row for row in MANUAL.split("\n## Tables", 1)[0].splitlines() if row.startswith("| ")]
    assert len(rows) > 200
    assert [row for row in rows if not all(cell.strip() for cell in row.strip("|").split("|")[-2:])] == []


def test_the_manual_has_the_actions_in_the_order_of_work():
    assert re.findall(r"^## \d+\. (.*)$", MANUAL, re.MULTILINE) == [one.title for one in ACTIONS]


def list_crowded_tabs(root):
    """Tabs of a dialog with more than eight fields."""
    return [page.get("gui-text") for page in root.iter(INX + "page")
            if len([one for one in page.iter(INX + "param") if one.get("gui-hidden") != "true"]) > 8]


def list_programmers_words(text):
    return [word for word in ("UserUnit", "Seed", "Tries", "SVG id", "boolean", "string:") if word in text]


@pytest.mark.parametrize("action", ACTIONS, ids=lambda one: one.key)
def test_a_dialog_is_read_at_a_glance(action):
    path = ROOT / "extensions" / ("plank_%s.inx" % action.key)
    root = etree.parse(str(path)).getroot()
    assert list_crowded_tabs(root) == []
    shown = [one.get("gui-text", "") + " " + one.get("gui-description", "") for one in root.iter(INX + "param")
             if one.get("gui-hidden") != "true"] + [one.text or "" for one in root.iter(INX + "option")]
    assert list_programmers_words(" ".join(shown)) == []


def test_planted_faults_of_a_dialog_are_caught():
    page = etree.Element(INX + "page", {"gui-text": "Full"})
    for _ in range(9):
        etree.SubElement(page, INX + "param")
    assert list_crowded_tabs(page.getroottree().getroot()) == ["Full"]
    assert list_programmers_words("one page (UserUnit)") == ["UserUnit"]


@pytest.mark.parametrize("action", ACTIONS, ids=lambda one: one.key)
def test_the_help_of_a_dialog_names_the_manual(action):
    assert "README.md" in (ROOT / "extensions" / ("plank_%s.inx" % action.key)).read_text(encoding="utf-8")


def list_untold_layers(developers):
    """Layers of the table that the developers' list of attributes leaves out."""
    row = next(line for line in developers.splitlines() if line.startswith("| `layer` |"))
    told = set(re.findall(r"[\w-]+", row.split("`plank:layer` = ", 1)[1].split("|", 1)[0]))
    return [one.layer for one in ACTIONS if one.layer and one.layer not in told]


def test_every_layer_is_told_to_developers():
    assert list_untold_layers(DEVELOPERS) == []
    assert "joints" in list_untold_layers(DEVELOPERS.replace(" joints,", ""))


def list_tree(developers):
    """Folders and modules that the developers' tree names, with what they lie in: 'plankcore/scan'."""
    tree = developers.split("```", 2)[1]
    found, above = [], {}
    for depth, name in re.findall(r"^( *)([\w.]+(?:/|\.py))(?= |$)", tree, re.MULTILINE):
        level = len(depth) // 2
        above[level] = name.rstrip("/")
        found.append("/".join(above[k] for k in range(level + 1)))
    return found


def test_the_developers_tree_names_every_folder_and_every_module_outside_them():
    sources = [p for p in read_sources() if p.startswith("plankcore/")]
    folders = {p.rsplit("/", 1)[0] for p in sources}
    alone = {p for p in sources if p.count("/") == 1} - {"plankcore/__init__.py"}
    told = [p for p in list_tree(DEVELOPERS) if p.startswith("plankcore")]
    assert sorted(told) == sorted(folders | alone)


def list_terms(developers):
    """Terms of the glossary, in its order."""
    return re.findall(r"^\* \*\*([^*]+)\*\*: ", developers.split("## Glossary", 1)[1].split("\n## ", 1)[0],
                      re.MULTILINE)


def test_the_glossary_is_alphabetical_and_tells_each_word_once():
    terms = list_terms(DEVELOPERS)
    assert len(terms) > 50 and terms == sorted(set(terms), key=str.lower)
