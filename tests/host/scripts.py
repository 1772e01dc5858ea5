"""The actions as plain scripts, each a process, as a recipe's author or a terminal runs them.

Where no Python is named the process is a child of one that has the libraries loaded (nursery.py).
"""
from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from host.nursery import TIMEOUT_S, run_in_nursery

__all__ = ["EXTENSIONS", "MAY_SPEAK", "ROOT", "SAMPLES", "Result", "list_arguments", "run_chain", "run_script"]

ROOT = Path(__file__).resolve().parents[2]
EXTENSIONS = ROOT / "extensions"
SAMPLES = ROOT / "samples" / "tamsin_grey"


# those that tell where a file was written, or warn of what it is for the user to see to
MAY_SPEAK = ("plank_plot", "plank_joints", "plank_fastenings", "plank_turn", "plank_stock", "plank_check",
             "plank_record")


@dataclass(frozen=True)
class Result:
    """How a process ended."""

    code: int
    out: str
    said: str


def list_arguments(settings):
    """['--name=value', ...]"""
    return ["--%s=%s" % pair for pair in settings.items()]


def run_script(script, drawing, output, *, select=(), settings=None, more=(), python=None, env=None, saved_as="",
               strict=False):
    """Run one action.

    Parameters
    ----------
    script : str
        plank_fair, for instance.
    drawing, output : Path
    select : ids, in order. settings : dict. more : further arguments as they are.
    python : sequence of str
        The interpreter and what comes before the script; this one by default.
    env : dict
        Put over the environment.
    saved_as : str
        Where the editor would say the drawing is saved.
    strict : bool
        Warnings are errors.
    """
    around = {k: v for k, v in os.environ.items() if not k.startswith("INKSCAPE_")}
    around.update(DOCUMENT_PATH=saved_as, PYTHONDONTWRITEBYTECODE="1", **(env or {}))
    path, arguments = EXTENSIONS / (script + ".py"), ["--id=" + s for s in select] + list_arguments(
        settings or {}) + [*more, "--output=%s" % output, str(drawing)]
    grown = None if python else run_in_nursery(path, arguments, around, strict=strict)
    if grown is not None:
        return Result(grown[0], grown[1].decode("utf-8"), grown[2].decode("utf-8"))
    command = [*(python or [sys.executable]), *(["-W", "error"] if strict else []), str(path), *arguments]
    done = subprocess.run(command, env=around, stdin=subprocess.DEVNULL, capture_output=True,
                          timeout=TIMEOUT_S)
    return Result(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))


def run_chain(drawing, steps, *, folder, may_speak=MAY_SPEAK, **how):
    """Run scripts one after the other, each on what the last one wrote.

    steps : sequence of (script, select, settings). Returns the last drawing.
    """
    for count, (script, select, settings) in enumerate(steps, 1):
        output = folder / ("%d_%s.svg" % (count, script))
        result = run_script(script, drawing, output, select=select, settings=settings, saved_as=str(output), **how)
        assert result.code == 0, "%s ended with %d: %s" % (script, result.code, result.said)
        assert not result.out and (script in may_speak
                                   or not result.said), "%s said: %s%s" % (script, result.out, result.said)
        # a record, and a roll or tiles, are made of a drawing that stays as it is
        assert output.exists() or script in ("plank_record", "plank_plot"), "%s wrote no drawing" % script
        drawing = output if output.exists() else drawing
    return drawing
