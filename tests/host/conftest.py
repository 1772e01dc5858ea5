"""What the host tests share: the display, and whether the editor is there at all."""
import os
from dataclasses import dataclass

import pytest

from host import editor
from host.chains import CHAINS
from host.scripts import run_chain


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
    """A chain's last drawing by the editor and by the scripts, and the sheets beside them."""

    editor: object
    scripts: object
    editor_sheet: object
    scripts_sheet: object
    run: object


@pytest.fixture(scope="session")
def outcomes(display, tmp_path_factory):
    """{name: Outcome} of the sample chains, made when first asked for."""
    done = {}

    def make(name):
        if name not in done:
            chain = CHAINS[name]
            folder = tmp_path_factory.mktemp(name)
            (folder / "editor").mkdir()
            (folder / "scripts").mkdir()
            settings = chain.list_settings()
            settings["plank_plot"] = dict(settings["plank_plot"], folder=folder / "editor")
            profile = editor.make_profile(folder / "profile", settings=settings)
            run = editor.run_actions(chain.drawing, chain.spell_for_editor(), profile=profile, display=display, output=folder / "editor" / "out.svg")
            run.check(*chain.scripts, may_speak=["plank_plot"])
            last = run_chain(chain.drawing, chain.steps, folder=folder / "scripts")
            done[name] = Outcome(folder / "editor" / "out.svg", last, folder / "editor" / "sheet.svg", folder / "scripts" / "sheet.svg", run)
        return done[name]
    return make
