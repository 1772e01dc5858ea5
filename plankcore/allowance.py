"""The saw line: the net outline moved outward, edge by edge, by the wood that is left for saw, plane and fitting."""
from __future__ import annotations

from .errors import PatternError, SettingError
from .geometry.outline import OffsetFailure, offset_outline
from .line_model import SawLine

__all__ = ["add_allowances", "MOST_MM"]

MOST_MM = 300.0
_LOOP = ("upper", "aft", "lower", "fore")      # the order of Plank.outline


def add_allowances(plank, *, added_mm):
    """Move each edge outward by its own allowance, corners mitred.

    Parameters
    ----------
    plank : Plank
    added_mm : dict
        Edge name to mm, 0 or more: small on the long edges leaves little to plane, large wastes stock; on the
        ends it is wood to fit the hood end and the butt with. Common practice, no source: 1/16 to 1/8 in an edge,
        1 to 2 in at an end until the dry fit.

    Returns
    -------
    SawLine

    Raises
    ------
    SettingError
        If an allowance is negative or beyond MOST_MM.
    PatternError
        If the shape cannot take it, with the place.
    """
    for name, value in added_mm.items():
        if not 0 <= value <= MOST_MM:
            raise SettingError("An allowance of %g mm on the %s edge cannot be used." % (value, name), "Give 0 to %d mm; an allowance is wood left on." % MOST_MM, "Allowance, %s" % name)
    try:
        curves = offset_outline(plank.outline(), [added_mm[n] for n in _LOOP])
    except OffsetFailure as failure:
        raise PatternError("The plank cannot take these allowances: %s." % failure.reason, "Give less there, or fair with a longer shortest wave.", failure.point) from None
    return SawLine(tuple(curves), dict(added_mm))
