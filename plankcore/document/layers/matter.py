"""What is plotted of a plank, read from the layers of all actions."""
from __future__ import annotations

from dataclasses import replace

from ...actions import OVERLAYS
from ...model.page import PlankMatter
from .. import names
from ..fit_report import read_scan_rows
from ..overlay import read_overlay
from .lines import read_saw_line
from .sections import read_struck

__all__ = ["name_sheet", "read_matter"]


def read_matter(drawing, group):
    """A plank as it is struck on the board, with its stations, saw line, overlays, and what was said when its scans
    were trued.

    Raises
    ------
    PatternError
        If a layer was changed, or is older than the plank's fairing.
    """
    plank, stations, board = read_struck(drawing, group)
    # the marks lie on the pattern; the sheet tells them outside or inside its fair edge, whatever sign the fairing gave
    # them
    faired = drawing.read_plank(group)
    plank = replace(plank, marks=tuple(replace(m, residual_mm=faired.measure_outside_mm(m)) for m in faired.marks))
    overlays = [read_overlay(drawing, group, layer=one.layer, action=one.title) for one in OVERLAYS]
    return PlankMatter(plank, tuple(stations), read_saw_line(drawing, group),
                       tuple(o for o in overlays if o is not None),
                       board.includes if board is not None else (), tuple(read_scan_rows(drawing)))


def name_sheet(groups, what="sheet"):
    """What the files of a plot, or of another kind, are called after the plank's own names: a copy with its other face
    up is not to take its original's place.
    """
    copy = len(groups) == 1 and names.get(groups[0], "turned-from")
    return "%s face up %s" % (names.get(groups[0], "seen-from"), what) if copy else what
