"""What the record says in the words of other actions, read from their layers."""
from __future__ import annotations

from ..overlay import ACTIONS, read_overlay

__all__ = ["read_sections"]

# headings and layers in the order in which they are printed
_SECTIONS = {"Hollow and bevels": "section", "Scarfs and butts": "joints", "Fastenings": "fastenings",
             "Stock": "stock", "Turned": "turn"}


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
    for heading, layer in _SECTIONS.items():
        overlay = read_overlay(drawing, group, layer=layer, action=ACTIONS[layer])
        found.append((heading, ACTIONS[layer], None if overlay is None else overlay.rows))
    return found
