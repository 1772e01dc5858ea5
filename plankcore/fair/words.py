"""Every sentence of Fair Plank: marks that the others do not bear out, and what of a trace does not count."""
from __future__ import annotations

__all__ = ["tell_corner_guess", "tell_doubtful_mark", "tell_overrun", "tell_scatter", "tell_trace_left_out"]


def tell_doubtful_mark(mark, number, off_mm, *, left_out):
    """One mark that the others do not believe; number : how manieth of its edge from the fore end."""
    which = "at frame %s" % mark.station if mark.station else "%d from the fore end" % number
    return "%s edge, mark %s: %.1f mm off what the other marks say; measure it again. It is %s." % (
        mark.edge.capitalize(), which, off_mm, "left out" if left_out else "kept")


def tell_scatter(times, error_mm):
    """All marks scatter more than they honestly may."""
    return "The marks scatter about %.1f times as much as the honest error of %.2g mm says." % (times, error_mm)


def tell_trace_left_out(edge, length_mm, most_mm):
    """What of a trace has no say in its edge: nothing that was drawn is left out without a word."""
    return ("%s edge: %.0f mm of the trace lie too far off the fair edge to count, up to %.1f mm, here; they were left "
            "out. A shorter wave follows them." % (edge.capitalize(), length_mm, most_mm))


def tell_corner_guess(edge, guess, spacing_mm):
    """A corner past the last mark, which nothing holds: spacing_mm of the marks, 0 of a trace."""
    spaced = " (the marks stand %.0f mm apart)" % spacing_mm if spacing_mm else ""
    return ("%s edge, %s corner: it lies %.0f mm past the last %s%s and is guessed, to %.1f mm (one standard error). "
            "Set one more mark there." % (edge.capitalize(), guess.end, guess.beyond_mm,
                                      "mark" if spacing_mm else "of the trace", spaced, guess.band_mm))


def tell_overrun(edge, end, past_mm):
    """A record that runs past its corner by more than a pen does."""
    return ("%s edge: its record runs %.0f mm past the %s end; the end was taken as it is drawn, and the edge is cut "
            "there." % (edge.capitalize(), past_mm, end))
