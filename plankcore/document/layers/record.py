"""What the record says in the words of other actions, read from their layers."""
from __future__ import annotations

from ...actions import OVERLAYS
from ..overlay import read_overlay

__all__ = ["read_sections"]


def read_sections(drawing, group):
    """Headings and words of the layers that a plank's later actions have made, whatever drew them.

    Returns
    -------
    list of (heading, action, rows or None)
        rows are str, None where the action has not been run.

    Raises
    ------
    PatternError
        If a layer was changed, or is older than the plank's fairing.
    """
    found = []
    for one in OVERLAYS:
        overlay = read_overlay(drawing, group, layer=one.layer, action=one.title)
        found.append((one.heading, one.title, None if overlay is None else overlay.rows))
    return found
