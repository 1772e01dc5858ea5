"""What a plotter does with HP-GL, from the published list of its commands: a pen, up or down, taken to places in units
of 0.025 mm.

Shares no code with what writes it. Commands known: IN, PA, PR, SP, PU, PD; any other is an error, as is a place that is
no whole number.
"""
from __future__ import annotations

import re

import numpy as np

__all__ = ["MM_PER_UNIT", "plot_hpgl"]

MM_PER_UNIT = 0.025


def plot_hpgl(data):
    """{pen: list of strokes (n, 2) in mm, y up} and the list of commands."""
    strokes, commands, pen, at, down, run = {}, [], 0, np.zeros(2, int), False, []
    relative = False

    def lift():
        if len(run) > 1:
            strokes.setdefault(pen, []).append(np.array(run) * MM_PER_UNIT)
        run.clear()
    for text in data.decode("ascii").replace("\n", "").split(";"):
        if not text:
            continue
        name, given = text[:2], text[2:]
        assert re.fullmatch(r"(-?\d+(,-?\d+)*)?", given), text
        numbers = [int(v) for v in given.split(",")] if given else []
        commands.append((name, numbers))
        if name == "IN":
            assert not numbers
        elif name == "SP":
            lift()
            pen, down = (numbers or [0])[0], False
        elif name in ("PU", "PD", "PA", "PR"):
            assert len(numbers) % 2 == 0
            if name in ("PA", "PR"):                   # places count from the origin, or from the place before
                relative = name == "PR"
            elif name == "PU":
                lift()
                down = False
            else:
                run += [] if down else [at.copy()]
                down = True
            for step in np.array(numbers, int).reshape(-1, 2):
                at = at + step if relative else step
                if down:
                    assert pen, "drawn without a pen"
                    run.append(at.copy())
        else:
            raise AssertionError("the file uses %s, which is not read here" % name)
    lift()
    return strokes, commands
