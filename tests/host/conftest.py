"""What the host tests share: the display, and whether the editor is there at all."""
import os
from dataclasses import dataclass
from functools import cached_property

import pytest
from host import editor
from host.chains import CHAINS, SCANS, WOOD, lay_out
from host.reader import read
from host.refusals import check_refusal
from host.scripts import MAY_SPEAK, run_chain, run_script
from host.wood import take_outcome

SAMPLE_CHAINS = {**CHAINS, "wood": WOOD, "scans": SCANS}


def require(missing):
    """Skip for want of programs, or fail where they are required."""
    if missing:
        text = "not on this machine: " + ", ".join(missing)
        if os.environ.get("PLANK_HOST_TESTS") == "require":
            pytest.fail(text)
        pytest.skip(text)


@pytest.fixture(scope="session")
def display():
    """A display for the editor's runs."""
    require(editor.find_missing())
    with editor.open_display() as name:
        yield name


@pytest.fixture(scope="session")
def desk():
    """A display with a window manager, for dialogs."""
    require(editor.find_missing("openbox", "xdotool", "import"))
    with editor.open_display(windows=True) as name:
        yield name


@dataclass(frozen=True)
class Outcome:
    """A chain's last drawing by the editor and by the scripts, and the sheets beside them; what was read of the
    editor's, once for all tests.
    """

    editor: object
    scripts: object
    editor_sheet: object
    scripts_sheet: object
    run: object

    @cached_property
    def reading(self):
        return read(self.editor)

    @cached_property
    def sheet_reading(self):
        return read(self.editor_sheet)


@pytest.fixture(scope="session")
def by_scripts(tmp_path_factory):
    """{name: the last drawing} of the sample chains by this Python as it is, made when first asked for."""
    done = {}

    def make(name):
        if name not in done:
            folder = tmp_path_factory.mktemp(name + "_scripts")
            done[name] = run_chain(lay_out(SAMPLE_CHAINS[name], folder), SAMPLE_CHAINS[name].steps, folder=folder)
        return done[name]
    return make


@pytest.fixture(scope="session")
def outcomes(display, by_scripts, tmp_path_factory):
    """{name: Outcome} of the sample chains, made when first asked for."""
    done = {}

    def make(name):
        if name not in done:
            chain = CHAINS[name]
            folder = tmp_path_factory.mktemp(name)
            (folder / "editor").mkdir()
            settings = chain.list_settings()
            settings["plank_plot"] = dict(settings["plank_plot"], folder=folder / "editor")
            profile = editor.make_profile(folder / "profile", settings=settings)
            run = editor.run_actions(chain.drawing, chain.spell_for_editor(), profile=profile, display=display,
                                     output=folder / "editor" / "out.svg")
            run.check(*chain.scripts, may_speak=["plank_plot"])
            last = by_scripts(name)
            done[name] = Outcome(folder / "editor" / "out.svg", last, editor_sheet=folder / "editor" / "sheet.svg",
                                 scripts_sheet=last.parent / "sheet.svg", run=run)
        return done[name]
    return make


@pytest.fixture(scope="session")
def wood_by_scripts(by_scripts):
    """The bilge plank's chain as processes."""
    last = by_scripts("wood")
    return take_outcome(last.parent, last)


@pytest.fixture(scope="session")
def wood_by_editor(display, tmp_path_factory):
    """The chain in one run of the editor. What was selected for one action is still selected at the next, as it is for
    a person.
    """
    folder = tmp_path_factory.mktemp("wood_editor")
    profile = editor.make_profile(folder / "profile", settings=WOOD.list_settings())
    run = editor.run_actions(lay_out(WOOD, folder), WOOD.spell_for_editor(), profile=profile, display=display,
                             output=folder / "out.svg")
    run.check(*WOOD.scripts, may_speak=MAY_SPEAK)
    return take_outcome(folder, folder / "out.svg", [(a.script, a.said) for a in run.actions])


@pytest.fixture(scope="session")
def wood_plank(wood_by_editor):
    """The plank as the editor left it."""
    return wood_by_editor.plank


@pytest.fixture
def refuse(tmp_path):
    """refuse(script, drawing text or bytes, words, ...): run it and check the refusal."""
    def run(script, data, words, **how):
        drawing = tmp_path / "in.svg"
        drawing.write_bytes(data.encode() if isinstance(data, str) else data)
        before = sorted(p.name for p in tmp_path.iterdir())
        result = run_script(script, drawing, tmp_path / "out.svg", saved_as=str(drawing), **how)
        check_refusal(result, script, words=words, before=before, folder=tmp_path)
        return result.said
    return run
