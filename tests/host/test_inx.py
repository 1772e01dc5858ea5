"""Each dialog's .inx against the editor's own schemas, and against its script: one definition of every setting, in two
files.
"""
import unittest
from pathlib import Path

import inkex.tester
import pytest
from host.inx import NS, SCRIPTS, find_title, list_length_fields, list_pages, list_params, load_class, read_inx
from host.scripts import EXTENSIONS
from inkex.tester.inx import InxMixin
from lxml import etree

SCHEMAS = [Path(inkex.tester.__file__).parent / "inkscape.extension.rng",
           Path("/usr/share/inkscape/extensions/inkscape.extension.rng")]


class Agreement(InxMixin, unittest.TestCase):
    """inkex's own comparison of an .inx with its script."""


@pytest.fixture(autouse=True)
def among_the_scripts(monkeypatch):
    """inkex looks for a script where it stands."""
    monkeypatch.chdir(EXTENSIONS)
    monkeypatch.syspath_prepend(str(EXTENSIONS))


def find_disagreements(root, actions):
    """Where an .inx and an argument parser differ, in words.

    Stricter than inkex's comparison, which passes over empty defaults and over choices that one side alone has.
    """
    found = []
    params = {p.get("name"): p for p in list_params(root) if p.get("type") != "notebook"}
    args = {a.dest: a for a in actions if a.dest not in ("help", "output", "input_file", "ids", "selected_nodes",
                                                         "tab")}
    for name in sorted(set(params) ^ set(args)):
        found.append("%s is in one only" % name)
    for name in sorted(set(params) & set(args)):
        param, arg = params[name], args[name]
        kind, options = param.get("type"), [o.get("value") for o in param.findall(NS + "option")]
        told = options[0] if kind == "optiongroup" else param.text or ""
        known = {True: "true", False: "false"}.get(arg.default, arg.default) if kind == "bool" else str(arg.default)
        if told != known:
            found.append("%s begins as '%s' and as '%s'" % (name, told, known))
        if sorted(options) != sorted(arg.choices or []):
            found.append("%s can be %s and %s" % (name, options, arg.choices))
    return found


def test_every_script_has_its_dialog_and_every_dialog_its_script():
    assert SCRIPTS and {p.stem for p in EXTENSIONS.glob("*.inx")} == {
        p.stem for p in EXTENSIONS.glob("plank_*.py")} == set(SCRIPTS)


@pytest.mark.parametrize("script", SCRIPTS)
@pytest.mark.parametrize("schema", SCHEMAS, ids=["of the library", "of the editor"])
def test_the_inx_keeps_to_the_schema(script, schema):
    if not schema.is_file():
        pytest.skip("not on this machine: %s" % schema.name)
    etree.RelaxNG(etree.parse(str(schema))).assertValid(read_inx(script).getroottree())


def test_planted_fault_the_schema_refuses_what_is_not_in_it():
    root = read_inx(SCRIPTS[0])
    list_params(root)[1].set("type", "lenght")
    with pytest.raises(etree.DocumentInvalid):
        etree.RelaxNG(etree.parse(str(SCHEMAS[0]))).assertValid(root.getroottree())


@pytest.mark.parametrize("script", SCRIPTS)
def test_inkex_finds_dialog_and_script_agreed(script):
    Agreement().assertInxIsGood(str(EXTENSIONS / (script + ".inx")))


@pytest.mark.parametrize("script", SCRIPTS)
def test_dialog_and_script_have_the_same_settings_choices_and_defaults(script):
    assert find_disagreements(read_inx(script), load_class(script)().arg_parser._actions) == []


def rename(root):
    list_params(root)[1].set("name", "other")


def begin_elsewhere(root):
    next(p for p in list_params(root) if p.get("type") == "string" and p.text).text = "7 mm"


def begin_with_a_word(root):
    next(p for p in list_params(root) if p.get("name") == "boat").text = "Someone's boat"


def turn_options_round(root):
    group = next(p for p in list_params(root) if p.get("name") == "side")
    group.append(group[0])


def forget_an_option(root):
    group = next(p for p in list_params(root) if p.get("name") == "line_edge")
    group.remove(group[-1])


@pytest.mark.parametrize("fault", [rename, begin_elsewhere, begin_with_a_word, turn_options_round, forget_an_option])
def test_planted_disagreements_are_caught(fault):
    root, actions = read_inx("plank_fair"), load_class("plank_fair")().arg_parser._actions
    fault(root)
    assert find_disagreements(root, actions)


@pytest.mark.parametrize("script", SCRIPTS)
def test_every_action_is_in_our_menu_with_a_tip_and_its_own_id(script):
    root = read_inx(script)
    menu = root.findall("%seffect/%seffects-menu/%ssubmenu" % (NS, NS, NS))
    assert [m.get("name") for m in menu] == ["Plank Pattern"]
    assert len(root.findtext("%seffect/%smenu-tip" % (NS, NS)).strip()) > 20
    assert root.findtext(NS + "id") == "plankcore." + script
    # without a location the editor looks on the path, finds nothing, and says nothing
    command = root.find("%sscript/%scommand" % (NS, NS))
    assert (command.get("location"), command.get("interpreter"), command.text) == ("inx", "python", script + ".py")


@pytest.mark.parametrize("script", SCRIPTS)
def test_the_title_in_messages_is_that_in_the_menu(script):
    assert load_class(script).ACTION.title == find_title(script)
    # the editor adds the dots of an entry that opens a dialog
    assert not read_inx(script).findtext(NS + "name").endswith(".")


def test_no_two_actions_share_a_name():
    assert len({find_title(s) for s in SCRIPTS}) == len(SCRIPTS)


@pytest.mark.parametrize("script", SCRIPTS)
def test_every_setting_has_a_label_and_help_stands_on_a_page_of_its_own(script):
    for param in list_params(read_inx(script)):
        if param.get("type") != "notebook":
            assert (param.get("gui-text") or "").strip(), param.get("name")
    assert list_pages(script)[-1] == "help"


class Stop(Exception):
    """The work has come to the drawing."""


@pytest.mark.parametrize("script", SCRIPTS)
def test_what_is_read_as_a_length_is_labelled_as_one(script, monkeypatch):
    """The editor gives no unit beside a field: the label must say that a length is wanted, and every such field be read
    by the one function.
    """
    extension, asked = load_class(script)(), []
    extension.read_arguments([])
    read = extension.read_length_mm

    def note(name, *more, **limits):
        asked.append(name)
        return read(name, *more, **limits)
    monkeypatch.setattr(extension, "read_length_mm", note)

    class Drawing:
        def __getattr__(self, name):
            raise Stop
    with pytest.raises(Stop):
        extension.work(Drawing(), extension.options)
    assert sorted(asked) == sorted(list_length_fields(script))


@pytest.mark.parametrize("script",
                         [s for s in SCRIPTS if "folder" in [p.get("name") for p in list_params(read_inx(s))]])
def test_an_action_that_writes_files_has_no_live_preview(script):
    assert read_inx(script).find(NS + "effect").get("needs-live-preview") == "false"
