"""Every sentence of Fair Plank: marks that the others do not bear out."""
from __future__ import annotations

__all__ = ["tell_doubtful_mark", "tell_scatter"]


def tell_doubtful_mark(mark, number, off_mm, *, left_out):
    """One mark that the others do not believe; number : how manieth of its edge from the fore end."""
    which = "at frame %s" % mark.station if mark.station else "%d from the fore end" % number
    return "%s edge, mark %s: %.1f mm off what the other marks say; measure it again. It is %s." % (
        mark.edge.capitalize(), which, off_mm, "left out" if left_out else "kept")


def tell_scatter(times, error_mm):
    """All marks scatter more than they honestly may."""
    return "The marks scatter about %.1f times as much as the honest error of %.2g mm says." % (times, error_mm)
