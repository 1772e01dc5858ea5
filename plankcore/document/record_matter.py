"""What the record says in the words of other actions, read from their layers."""
from __future__ import annotations

from . import names
from .overlay import read_overlay

__all__ = ["read_sections", "read_scan_rows"]

# heading, layer, the action that makes it; in the order in which they are printed
_SECTIONS = (("Hollow and bevels", "section", "Hollow and Bevels"), ("Scarfs and butts", "joints", "Scarfs and Butts"), ("Fastenings", "fastenings", "Fastenings"),
             ("Stock", "stock", "Choose Stock"), ("Turned", "turn", "Other Face, Other Hand"))


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
    for heading, layer, action in _SECTIONS:
        overlay = read_overlay(drawing, group, layer=layer, action=action)
        found.append((heading, action, None if overlay is None else overlay.rows))
    return found


def read_scan_rows(drawing):
    """What True Up Scan and Join Scans have said of the scans' scale, a list of str."""
    reports = [one for one in drawing.root if isinstance(one.tag, str) and names.get(one, "layer") in ("true-up", "join")]
    return [names.get(e, "text") for one in reports for e in names.find_roles(one, "note") if not names.get(e, "point")]
