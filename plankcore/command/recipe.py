"""A whole chain of actions on one or many planks, in one process, from a TOML file.

    folder = "out"                      # where results go, beside the recipe; made if missing
    if_there = "refuse"                 # an output whose name another's file has: refuse or number

    [every.fair]                        # settings for this action wherever it is a step
    boat = "Tamsin Grey"

    [[plank]]
    drawing = "strake_5_traced.svg"     # beside the recipe
    output = "strake_5.svg"             # in the folder

    [[plank.step]]
    action = "fair"                     # the script plank_fair.py; the other names are its settings
    select = ["path58"]                 # ids; left out: as in the editor with nothing selected
    planks = "all"                      # also select all planks; left out: the one faired or turned last
    strake = "5"

Each step does what the dialog's Apply does, on the plank that was faired or turned last unless it selects another.
A plank that fails is reported, neither its drawing nor any file of its steps is written, the rest go on.
"""
from __future__ import annotations

import difflib
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ..document.files.output import IF_THERE
from ..errors import DocumentError, SettingError

if TYPE_CHECKING:
    from typing import Iterable, Sequence

__all__ = ["PlankTask", "Recipe", "RecipeStep", "read_recipe", "refuse_unknown"]


@dataclass(frozen=True)
class RecipeStep:
    """One action with its arguments, selected ids, and whether it is for all planks of the drawing."""

    action: str
    arguments: tuple[str, ...]
    select: tuple[str, ...]
    all_planks: bool = False


@dataclass(frozen=True)
class PlankTask:
    """One plank: drawing in, drawing out, steps."""

    label: str
    drawing: Path
    output: Path
    steps: tuple[RecipeStep, ...]


@dataclass(frozen=True)
class Recipe:
    """All planks of a recipe, the folder for results, and what is done where another's file has an output's name:
    refuse or number.
    """

    folder: Path
    planks: tuple[PlankTask, ...]
    if_there: str = "refuse"


def _write_argument(name, value, where):
    if isinstance(value, bool):
        value = "true" if value else "false"
    elif not isinstance(value, (str, int, float)):
        raise SettingError("'%s' holds %s, not a word or a number." % (name, type(value).__name__),
                           "Write a text, a number, true or false.", where)
    return "--%s=%s" % (name, value)


def read_recipe(path: Path) -> Recipe:
    """Read and check a recipe.

    Raises
    ------
    DocumentError, SettingError
        With the table that is wrong.
    """
    try:
        import tomllib
    # tomllib came with Python 3.11: the editor's Python may be older, the one that runs recipes may not
    except ImportError:
        raise SettingError("Recipes need Python 3.11 or newer.",
                           "Run plankcore with a newer Python; the editor may keep its own.",
                           sys.version.split()[0]) from None
    path = Path(path)
    try:
        if path.exists() and not path.is_file():
            raise DocumentError("The recipe '%s' is no plain file." % path, "Give the path of a TOML file.", str(path))
        with open(path, "rb") as stream:
            data = tomllib.load(stream)
    except OSError as error:
        raise DocumentError("The recipe '%s' cannot be read: %s." % (path, error.strerror),
                            "Give the path of a TOML file.", str(path)) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DocumentError("The recipe is not valid TOML: %s." % error, "Mend it there.", str(path)) from None
    refuse_unknown(data, ("folder", "every", "plank", "if_there"), str(path))
    if data.get("if_there", "refuse") not in IF_THERE:
        raise SettingError("if_there is '%s'." % data["if_there"], "Write one of: %s." % ", ".join(IF_THERE), str(path))
    home = path.resolve().parent
    _refuse_control(str(data.get("folder", ".")), "folder", str(path))
    folder = (home / str(data.get("folder", "."))).resolve()
    planks = data.get("plank")
    if not isinstance(planks, list) or not planks:
        raise SettingError("The recipe names no plank.", "Begin a table with [[plank]].", str(path))
    every = data.get("every", {})
    if not isinstance(every, dict) or not all(isinstance(v, dict) for v in every.values()):
        raise SettingError("'every' holds something that is not a table of settings.",
                           "Begin tables with [every.fair], [every.plot] and so on.", "%s, every" % path.name)
    tasks = []
    for number, plank in enumerate(planks, 1):
        tasks.append(_read_plank(plank, every, home=home, folder=folder, where="%s, plank %d" % (path.name, number)))
    used = {step.action for task in tasks for step in task.steps}
    for action in every:
        if action not in used:
            raise SettingError("[every.%s] has settings for an action that is no step." % action,
                               "Steps use: %s." % ", ".join(sorted(used)), "%s, every" % path.name)
    outputs = [t.output.resolve() for t in tasks]
    for task in tasks:
        if outputs.count(task.output.resolve()) > 1:
            raise SettingError("Two planks have the output '%s'." % task.output.name, "Give each its own.",
                               "%s, %s" % (path.name, task.output.name))
    return Recipe(folder, tuple(tasks), data.get("if_there", "refuse"))


def _read_plank(plank, every, home, folder, where):
    """One [[plank]] table as a PlankTask."""
    if not isinstance(plank, dict):
        raise SettingError("A plank is not a table.", "Begin a table with [[plank]].", where)
    refuse_unknown(plank, ("label", "drawing", "output", "step"), where)
    for key in ("drawing", "output"):
        if not isinstance(plank.get(key), str) or not plank[key].strip():
            raise SettingError("The plank has no %s." % key, "Write %s = \"file.svg\"." % key, where)
    listed = plank.get("step", [])
    if not isinstance(listed, list) or not listed or not all(isinstance(step, dict) for step in listed):
        raise SettingError("The plank has no steps, or a step is not a table.", "Begin tables with [[plank.step]].",
                           where)
    steps = []
    for count, step in enumerate(listed, 1):
        spot = "%s, step %d" % (where, count)
        action = step.get("action")
        if not isinstance(action, str):
            raise SettingError("The step names no action.", "Write action = \"fair\", for instance.", spot)
        settings = dict(every.get(action, {}))
        settings.update({k: v for k, v in step.items() if k not in ("action", "select", "planks")})
        select = step.get("select", [])
        if not isinstance(select, list) or not all(isinstance(s, str) for s in select):
            raise SettingError("select is not a list of ids.", "Write select = [\"path58\"].", spot)
        if step.get("planks", "last") not in ("last", "all"):
            raise SettingError("'%s' is not a choice of planks." % step["planks"],
                               "Write planks = \"all\", or leave it out for the last one.", spot)
        steps.append(RecipeStep(action, tuple(_write_argument(k, v, spot) for k, v in settings.items()), tuple(select),
                          step.get("planks") == "all"))
    for key in ("drawing", "output", "label"):
        _refuse_control(str(plank.get(key, "")), key, where)
    drawing, output = home / plank["drawing"], folder / plank["output"]
    if drawing.resolve() == output.resolve():
        raise SettingError("The output would take the place of the drawing.", "Give another name.", where)
    return PlankTask(str(plank.get("label", Path(plank["output"]).stem)), drawing, output, tuple(steps))


def _refuse_control(text, key, where):
    if any(ord(c) < 32 for c in text):
        raise SettingError("'%s' holds a control character." % key, "Write it again.", where)


def refuse_unknown(table: Iterable[str], known: Sequence[str], where: str) -> None:
    """Refuse an unknown key, naming the one that was probably meant.

    Raises
    ------
    SettingError
    """
    for key in table:
        if key not in known:
            near = difflib.get_close_matches(key, known, 1)
            raise SettingError("'%s' is not known here." % key, "%sKnown are: %s."
                               % ("Is '%s' meant? " % near[0] if near else "", ", ".join(known)), where)
