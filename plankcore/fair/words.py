"""Every sentence of Fair Plank: marks that contradict the others, and which parts of a trace were ignored."""
from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Mapping

    from ..model.plank import Apart, Batten, CornerGuess, Edge, EdgeReport, Mark, Nail, ReportRow
    from .from_trace import Lost

__all__ = [
    "spell_force",
    "tell_again",
    "tell_batten",
    "tell_believed",
    "tell_corner_guess",
    "tell_doubtful_mark",
    "tell_knuckle",
    "tell_overrun",
    "tell_scatter",
    "tell_shortened_wave",
    "tell_told_shape",
    "tell_trace_left_out",
    "tell_unbelieved",
    "tell_wander",
]


def tell_doubtful_mark(mark: Mark, number: int, off_mm: float, *, left_out: bool) -> str:
    """One mark that contradicts the others; number : its number on its edge, counted from the fore end."""
    which = "at frame %s" % mark.station if mark.station else "%d from the fore end" % number
    return "%s edge, mark %s: %.1f mm off what the other marks say; measure it again. It is %s." % (
        mark.edge.capitalize(), which, off_mm, "left out" if left_out else "kept")


def tell_scatter(times: float, error_mm: float) -> str:
    """All marks together scatter more than the honest error allows."""
    return "The marks scatter about %.1f times as much as the honest error of %.2g mm says." % (times, error_mm)


def tell_shortened_wave(wave_mm: float, asked_mm: float, long_mm: float) -> str:
    """The plank is too short for the shortest wave in the settings."""
    return ("The marks run over %.0f mm: the shortest wave was taken as %.0f mm, a third of that, not %.0f mm."
            % (long_mm, wave_mm, asked_mm))


def tell_trace_left_out(edge: str, length_mm: float, most_mm: float) -> str:
    """Which part of a trace was ignored: nothing drawn is left out silently."""
    return ("%s edge: %.0f mm of the trace lie too far off the fair edge to count, up to %.1f mm, here; they were left "
            "out. A shorter wave follows them." % (edge.capitalize(), length_mm, most_mm))


def tell_corner_guess(edge: str, guess: CornerGuess, spacing_mm: float) -> str:
    """A corner past the last mark, which is a guess; spacing_mm : of the marks, 0 for a trace."""
    spaced = " (the marks stand %.0f mm apart)" % spacing_mm if spacing_mm else ""
    return ("%s edge, %s corner: it lies %.0f mm past the last %s%s and is guessed, to %.1f mm (one standard error). "
            "Set one more mark there." % (edge.capitalize(), guess.end, guess.beyond_mm,
                                      "mark" if spacing_mm else "of the trace", spaced, guess.band_mm))


def tell_overrun(edge: str, end: str, past_mm: float) -> str:
    """Marks or a trace that run past their corner by more than a careless pen would."""
    return ("%s edge: its record runs %.0f mm past the %s end; the end was taken as it is drawn, and the edge is cut "
            "there." % (edge.capitalize(), past_mm, end))


def tell_told_shape(edge: str, called: str, worst_mm: float, station: str, *, odd: bool) -> str:
    """An edge whose shape was given: straight, or a line's name; odd : where its marks or trace contradict that."""
    words = "%s edge: %s, as it was said. Its record lies up to %.1f mm off that%s." % (
        edge.capitalize(), "straight" if called == "straight" else "it follows the line '%s'" % called, worst_mm,
        " (frame %s)" % station if station else "")
    return words + (" That is more than the honest error: look whether what was said is true." if odd else "")


def tell_knuckle(edge: str, station: str, turn_deg: float) -> str:
    """A knuckle that the user marked, and by how much the edge turns there."""
    return "%s edge: it turns by %.1f degrees%s, a knuckle as it was said." % (
        edge.capitalize(), turn_deg, " at frame %s" % station if station else "")


def spell_force(nail: Nail) -> str:
    """'3.2 N', or '0.031 EI/m2' where the batten's stiffness is not given; + pushes outward."""
    return "%+.1f N" % nail.force_n if nail.force_n is not None else "%+.3f EI/m2" % (1e6 * nail.jump_per_mm2)


def tell_batten(batten: Batten, hardest: Nail, most: Apart, *, is_edge: bool) -> str:
    """A batten held by hand beside the fair edge, or in its place."""
    def at(station):
        return " at frame %s" % station if station else ""
    return ("%s edge: a batten through %d nails %s. It asks most of the nail%s, %s, and runs %.1f mm %s of the fair "
            "edge%s, at most." % (batten.edge.capitalize(), len(batten.nails),
                          "is the edge that is drawn" if is_edge else "is drawn beside it", at(hardest.station),
                          spell_force(hardest).lstrip("+-"), abs(most.apart_mm),
                          "outside" if most.apart_mm >= 0 else "inside", at(most.station)))


def tell_believed(edge: Edge, report: EdgeReport, *, held: bool) -> tuple[str, ...]:
    """What an edge was faired from, how far that lies off it, and how accurately the edge is known."""
    used = [r for r in report.rows if r.verdict != "left-out"]
    first = ("%d of %d marks, each to %.2g mm" % (sum(r.verdict == "used" for r in report.rows), len(report.rows),
                                                 max(r.error_mm for r in report.rows)) if report.marked
             else "The line as it was drawn or traced")
    lines = ["%s. As a rule %.2f mm off the edge (rms), at most %.2f mm." % (first, edge.rms_mm, edge.worst_mm)]
    if held:
        lines.append("The edge is a batten held by hand, not the one that fairing found.")
    elif edge.told:
        lines.append("Its shape was said: %s." % ("straight" if edge.told == "straight"
                                                  else "after the line '%s'" % edge.told))
    elif report.wave_mm:
        lines.append(("The marks speak for waves of about %.0f mm and longer." if report.marked
                      else "A wave of %.0f mm keeps half its height.") % report.wave_mm)
    lines.append("Known to %.2f mm amid its record, %.2f mm at its worst (one standard error)." % (
        sorted(r.band_mm for r in used)[len(used) // 2], edge.band_mm))
    return tuple(lines)


def _name(report, row):
    return "frame %s" % row.station if row.station else "the mark %.0f mm along" % row.along_mm


def tell_unbelieved(report: EdgeReport, offs: Mapping[ReportRow, float], lost: Lost | None) -> tuple[str, ...]:
    """Marks that contradict the others; offs : how far each is from the curve that the others make, by row. lost : of a
    trace, (length, largest distance) of the part that was ignored, or None."""
    lines = tuple("%s: %.1f mm off what the others say; %s." % (
        _name(report, row).capitalize(), offs.get(row, abs(row.residual_mm)),
        "left out" if row.verdict == "left-out" else "kept, and the edge bends to it")
        for row in report.rows if row.verdict != "used")
    if lost:
        lines += ("%.0f mm of the line: up to %.1f mm off, left out." % lost[:2],)
    return lines or ("Nothing: no mark disagrees with the others." if report.marked
                     else "Nothing of the line was left out.",)


def tell_again(edge: Edge, report: EdgeReport, lost: Lost | None) -> tuple[str, ...]:
    """What to measure again, or more often; lost : of a trace, (length, largest distance) of the part that was ignored,
    or None."""
    lines = tuple("%s, on the boat." % _name(report, row).capitalize() for row in report.rows if row.verdict != "used")
    lines += tuple("One more mark near the %s corner: it lies %.0f mm past the last and is known to %.1f mm." % (
        one.end, one.beyond_mm, one.band_mm) for one in edge.guesses)
    if lost:
        lines += ("Where %.0f mm of the line lie up to %.1f mm off." % lost[:2],)
    return lines or ("Nothing.",)


def tell_wander(sd_mm: float, length_mm: float) -> str:
    """How much the pen wanders about the fair line, as estimated from the trace."""
    return ("The line as it was traced or drawn wanders %.2f mm off a fair one (one standard deviation); places within "
            "some %.0f mm of each other are off together. What is told of edges and ends counts that."
            % (sd_mm, length_mm))
