"""Passes of pen and knife as HP-GL: plotter units of 0.025 mm, y up, absolute places, pen 1 draws and pen 2 cuts.

Commands used, by the HP-GL reference of the plotters that brought it in: IN, PA, PR, SP, PU, PD. The first plotters
took whole numbers to 32,767, which is 819 mm; HP-GL/2 takes them to 8,388,607, which is 209 m (from memory, not
checked).
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ...errors import SettingError
from ...geometry.strokes import dash_polyline
from ...geometry.travel import hang_strokes, order_strokes
from ..overlay import read_look

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Sequence

    from ...model.page import Pass

__all__ = ["RANGES", "UNITS_PER_MM", "lay_strokes", "sort_passes", "write_hpgl"]

UNITS_PER_MM = 40.0
RANGES = {"wide": 8388607, "classic": 32767}
_PENS = {"draw": 1, "cut": 2}
_PER_COMMAND = 50         # points in one command: the first plotters had little memory
_PERIOD_MM = 96.0         # least period of a dashed line: every dash costs a lift, which takes as long as 15 mm of line
_HUNG_MM = 12.0           # ticks and barbs up to here are drawn there and back on the way, which takes no longer


def write_hpgl(passes: Sequence[Pass], *, height_mm: float, limits: str = "wide") -> bytes:
    """HP-GL of passes.

    Parameters
    ----------
    passes : sequence of Pass
    height_mm : float
        Height of the page, whose lower edge is at y = 0.
    limits : {'wide', 'classic'}
        The range of whole numbers that the machine accepts.

    Returns
    -------
    bytes

    Raises
    ------
    SettingError
        If the page reaches beyond them.
    """
    out = ["IN;PA;"]
    for one in lay_strokes(passes, height_mm=height_mm):
        if one.runs:
            out.append("SP%d;" % _PENS[one.tool])
        for places in _round_runs(one.runs, height_mm, RANGES[limits], limits):
            if len(places) < 2:
                continue
            out.append("PU;PA%d,%d;" % tuple(places[0].tolist()))
            steps = np.diff(places, axis=0).ravel().tolist()
            if len(steps) == 2:  # for one straight stroke a relative move is no shorter than an absolute one
                out.append("PD%d,%d;" % tuple(places[1].tolist()))
                continue
            out.append("PD;PR%s;PA;" % ";PR".join(",".join(map(str, steps[k:k + 2 * _PER_COMMAND]))
                                                  for k in range(0, len(steps), 2 * _PER_COMMAND)))
    return ("\n".join(out + ["PU;SP0;"]) + "\n").encode("ascii")


def lay_strokes(passes: Sequence[Pass], *, height_mm: float) -> tuple[Pass, ...]:
    """Passes as the machine draws them: a pen's lines cut into the dashes of their look, and ordered for short travel
    from the page's lower left corner; cuts in their own order."""
    at, laid = np.array([0.0, height_mm]), []
    for one in passes:
        runs = list(one.runs) if one.runs and not one.styles else _dash(one)
        if one.tool == "draw" and one.styles:
            runs = order_strokes(runs, start_mm=at)
        laid.append(replace(one, runs=tuple(runs), styles=(), lettered=()))
        at = runs[-1][-1] if runs else at
    return tuple(laid)


def _round_runs(runs, height_mm, most, limits):
    """Each run in plotter units, (n, 2) of int, without points that lie on the line between their neighbours."""
    for run in runs:
        # midway between two units the last digit, which differs from machine to machine, is not to choose
        exact = np.stack([run[:, 0], height_mm - run[:, 1]], axis=1) * UNITS_PER_MM
        places = np.floor(exact + 0.5 + 1e-6).astype(int)
        far = int(np.abs(places).max(initial=0))
        if far > most:
            raise SettingError("The page reaches %.0f mm, and numbers of the %s range end at %.0f mm."
                               % (far / UNITS_PER_MM, limits, most / UNITS_PER_MM),
                               "Choose the wide range if the machine takes it, or tiles.", "HP-GL numbers")
        yield places[np.concatenate([[True], np.any(np.diff(places, axis=0) != 0, axis=1)])]


def _dash(one):
    """Runs of a pass; a pen's are cut into the dashes of their look, and solid ones that meet are drawn in one stroke;
    a knife's are left as they are."""
    dashed, solid, words = [], [], []
    for run, style, lettered in zip(one.runs, one.styles, one.lettered or [False] * len(one.runs)):
        look = read_look(style)
        if look is None:
            continue
        if look[2] and one.tool == "draw":
            dashed += dash_polyline(run, _stretch(look[2]))
        else:
            (words if lettered else solid).append(run)
    return [*(hang_strokes(solid, most_mm=_HUNG_MM) if one.tool == "draw" else solid), *words, *dashed]


def _stretch(dashes):
    """A dash pattern for a pen, lengthened in proportion so that each lift is worth while."""
    return tuple(length * max(1.0, _PERIOD_MM / sum(dashes)) for length in dashes)


def sort_passes(path: Path, passes: Sequence[Pass], apart: bool) -> list[tuple[Path, Sequence[Pass]]]:
    """Passes sorted into files: all in one, or each in its own: list of (Path, passes)."""
    if not apart:
        return [(path, list(passes))]
    return [(path.with_name("%s-%s%s" % (path.stem, one.tool, path.suffix)), [one]) for one in passes if one.runs]
