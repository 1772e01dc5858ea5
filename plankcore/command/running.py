"""Runs a recipe: all its actions on one or many planks, in one process. For what a recipe is, see recipe.py."""
from __future__ import annotations

import importlib.util
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from lxml import etree

from ..document import names
from ..document.extension import load_document, report_fault
from ..document.files.output import Outbox, make_folder, refuse_foreign, relink_pictures
from ..document.overlay import read_words
from ..errors import DocumentError, PlankError, SettingError
from .recipe import refuse_unknown

if TYPE_CHECKING:
    from typing import Callable

    from ..document.extension import PlankExtension
    from .recipe import Recipe

__all__ = ["list_actions", "load_action", "run_recipe"]


def list_actions(folder: Path) -> list[str]:
    """Names of the actions whose scripts lie in a folder: fair for plank_fair.py."""
    return sorted(p.stem[len("plank_"):] for p in Path(folder).glob("plank_*.py"))


def load_action(folder: Path, action: str) -> type[PlankExtension]:
    """The extension class of an action."""
    if action not in list_actions(folder):
        raise SettingError("'%s' is not an action." % action, "Use one of: %s." % ", ".join(list_actions(folder)),
                           "action")
    module = "plank_" + action
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))         # the scripts import _plank_path, which lies beside them
    spec = importlib.util.spec_from_file_location(module, Path(folder) / (module + ".py"))
    loaded = sys.modules.get(module)
    if loaded is None:
        if spec is None or spec.loader is None:
            raise SettingError("The script of the action '%s' cannot be loaded." % action,
                               "Install the actions again.", str(Path(folder) / (module + ".py")))
        loaded = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(loaded)
        sys.modules[module] = loaded
    return getattr(loaded, "".join(w.capitalize() for w in module.split("_")))


def run_recipe(recipe: Recipe, *, actions: Path,
               progress: Callable[[str], None]) -> tuple[list[Path], list[tuple[str, PlankError]]]:
    """Run all planks.

    Parameters
    ----------
    recipe : Recipe
    actions : path
        Folder of the action scripts.
    progress : callable
        progress(text) is called as the work goes on.

    Returns
    -------
    written : list of Path
    failed : list of (label, PlankError)
    """
    make_folder(recipe.folder, field="folder")
    written, failed = [], []
    for number, task in enumerate(recipe.planks, 1):
        head = "[%d/%d] %s" % (number, len(recipe.planks), task.label)
        try:
            written.append(_run_plank(task, actions, lambda text: progress("%s: %s" % (head, text)), recipe.if_there))
            continue
        except PlankError as error:
            problem = error
        except Exception:       # noqa: BLE001 - a fault of ours must not end the other planks' run
            problem = report_fault(task.label)
        failed.append((task.label, problem))
        progress("%s: FAILED\n%s" % (head, problem))
    return written, failed


_TAKEN = "Give another output, move that file away first, or write if_there = \"number\" at the head of the recipe."


def _read_drawing(task):
    """The bytes of a task's drawing."""
    try:
        if task.drawing.exists() and not task.drawing.is_file():
            raise DocumentError("The drawing '%s' is no plain file." % task.drawing, "Give the path of a drawing.",
                                task.label)
        return task.drawing.read_bytes()
    except OSError as error:
        raise DocumentError("The drawing '%s' cannot be read: %s." % (task.drawing, error.strerror),
                            "Give the path beside the recipe.", task.label) from None


def _run_plank(task, actions, progress, if_there):
    root = load_document(_read_drawing(task), where=str(task.drawing)).getroot()
    group, outbox = None, Outbox()
    make_folder(task.output.parent, field=task.label)           # sheets' folders are relative to the output
    owner = "drawing / recipe / %s / from %s" % (task.label, task.drawing.name)
    output = task.output
    if if_there == "number":
        output = outbox.number(output.with_suffix(""), owner).with_suffix(output.suffix)
    refuse_foreign(output, owner, _TAKEN)                       # refused before the work, so that none is done in vain
    for step in task.steps:
        refuse_unknown([one.split("=", 1)[0][2:] for one in step.arguments],
                        load_action(actions, step.action)().list_settings(), "%s, step %s" % (task.label, step.action))
    for step in task.steps:
        began = time.perf_counter()
        action = load_action(actions, step.action)()
        try:
            action.read_arguments(list(step.arguments))
            before = {g.get("id"): names.get(g, "fairing") for g in names.find_roles(root, "plank")}
            layers = names.find_roles(root, "layer")
            select = list(step.select) or []
            if step.all_planks:
                select = [g.get("id") for g in names.find_roles(root, "plank")] + select
            elif group is not None and step.action != "fair" and not _names_plank(root, select):
                select = [group] + select
            action.apply(root, select, str(output), home=str(task.drawing.resolve().parent), outbox=outbox)
        except PlankError as error:
            error.where = "%s, step %s%s" % (task.label, step.action, "" if error.where is None else ": %s" % (
                error.where if isinstance(error.where, str) else "%.1f mm from the left and %.1f mm from the top"
                % tuple(error.where)))
            raise
        for one in names.find_roles(root, "plank"):
            if before.get(one.get("id")) != names.get(one, "fairing"):
                group = one.get("id")
        progress("%s (%.2f s)%s" % (step.action, time.perf_counter() - began,
                                    "".join("\n    " + m for m in action.messages)))
        for note in _list_new_notes(root, layers):
            progress("note: " + note)
    relink_pictures(root, old_folder=str(task.drawing.resolve().parent), new_folder=str(output.resolve().parent))
    # the drawing and all files of its steps are written together, so that a plank that failed leaves none of them
    # behind
    outbox.add({output: etree.tostring(root.getroottree(), xml_declaration=True, encoding="UTF-8")}, owner=owner,
               suffix=".svg", remedy=_TAKEN)
    for text in outbox.write():
        progress(text)
    progress("written to %s" % output)
    return output


def _names_plank(root, select):
    """Whether one of the ids is of a plank: the step then acts on that one, not on the last that was faired or turned.
    """
    return any(one.get("id") in select for one in names.find_roles(root, "plank"))


def _list_new_notes(root, layers):
    """Sentences that an action has left on the drawing: those in layers that are new. What a turned plank took along
    from its original was reported before."""
    fresh = [one for one in names.find_roles(root, "layer") if not any(one is old for old in layers)
             and names.get(one, "layer") != "sheet" and names.get(one, "carried") != "yes"]
    return [text for one in fresh
            for text in [*read_words(one),
                         *(names.get(e, "text") for e in names.find_roles(one, "note") if not names.get(e, "point"))]]
