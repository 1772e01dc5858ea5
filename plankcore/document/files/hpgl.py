"""Passes of pen and knife as HP-GL: plotter units of 0.025 mm, y up, absolute places, pen 1 draws and pen 2 cuts.

Commands used, by the HP-GL reference of the plotters that brought it in: IN, PA, SP, PU, PD. The first plotters took
whole numbers to 32,767, which is 819 mm; HP-GL/2 takes them to 8,388,607, which is 209 m (from memory, not checked).
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...errors import SettingError
from ...geometry.strokes import dash_polyline
from ..overlay import read_look

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Sequence

    from ...model.page import Pass

__all__ = ["RANGES", "UNITS_PER_MM", "sort_passes", "write_hpgl"]

UNITS_PER_MM = 40.0
RANGES = {"wide": 8388607, "classic": 32767}
_PENS = {"draw": 1, "cut": 2}
_PER_COMMAND = 50         # places in one PD: short commands fit the first plotters' memory


def write_hpgl(passes: Sequence[Pass], *, height_mm: float, limits: str = "wide") -> bytes:
    """HP-GL of passes.

    Parameters
    ----------
    passes : sequence of Pass
    height_mm : float
        Of the page: what lies at its foot is at y = 0.
    limits : {'wide', 'classic'}
        Which whole numbers the machine takes.

    Returns
    -------
    bytes

    Raises
    ------
    SettingError
        If the page reaches beyond them.
    """
    most, out = RANGES[limits], ["IN;PA;"]
    for one in passes:
        if one.runs:
            out.append("SP%d;" % _PENS[one.tool])
        runs = list(_dash(one))
        if not runs:
            continue
        starts = np.cumsum([0] + [len(run) for run in runs[:-1]])
        points = np.concatenate(runs)
        places = np.rint(np.stack([points[:, 0], height_mm - points[:, 1]], axis=1) * UNITS_PER_MM).astype(int)
        if np.abs(places).max() > most:
            far = np.maximum.reduceat(np.abs(places).max(axis=1), starts)
            raise SettingError("The page reaches %.0f mm, and numbers of the %s range end at %.0f mm."
                               % (far[far > most][0] / UNITS_PER_MM, limits, most / UNITS_PER_MM),
                               "Choose the wide range if the machine takes it, or tiles.", "HP-GL numbers")
        kept = np.concatenate([[True], np.any(np.diff(places, axis=0) != 0, axis=1)])
        kept[starts] = True
        begins = (2 * (np.cumsum(kept) - 1)[starts]).tolist()
        figures = [str(value) for value in places[kept].ravel().tolist()]
        for a, b in zip(begins, [*begins[1:], len(figures)]):
            if b - a < 4:
                continue
            out.append("PU%s,%s;" % (figures[a], figures[a + 1]))
            for first in range(a + 2, b, 2 * _PER_COMMAND):
                out.append("PD%s;" % ",".join(figures[first:min(first + 2 * _PER_COMMAND, b)]))
    return ("\n".join(out + ["PU;SP0;"]) + "\n").encode("ascii")


def _dash(one):
    """Runs of a pass, those of a pen cut into the dashes of their look; a knife cuts through."""
    for run, style in zip(one.runs, one.styles):
        look = read_look(style)
        if look is None:
            continue
        yield from dash_polyline(run, look[2]) if look[2] and one.tool == "draw" else [run]


def sort_passes(path: Path, passes: Sequence[Pass], apart: bool) -> list[tuple[Path, Sequence[Pass]]]:
    """Passes sorted into files: all in one, or each in its own: list of (Path, passes)."""
    if not apart:
        return [(path, list(passes))]
    return [(path.with_name("%s-%s%s" % (path.stem, one.tool, path.suffix)), [one]) for one in passes if one.runs]
