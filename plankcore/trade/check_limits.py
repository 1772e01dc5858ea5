"""Limits of the checks that are not part of another rule, each with its source.

Two numbers are given where practice gives a range: up to the first a plank passes, beyond the second it fails, between
them it is doubtful.
"""
from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BAR_SHARE",
    "BEVEL_OFF_DEG",
    "BEVEL_SHARE",
    "BEVEL_STEP_DEG",
    "EDGE_WOOD_MM",
    "END_DISTANCE_MM",
    "END_WOOD_MM",
    "FLAT_SHARE",
    "GIRTH_PER_STRAKE_MM",
    "GRAIN_SHANKS",
    "LEAST_WIDTH_MM",
    "MEMORY",
    "MOST_INFLECTIONS",
    "OFF_FAIR_MM",
    "PRACTICE",
    "SEAM_SHARES",
    "STEP_MM",
    "UNEVEN_FRAMES",
    "WRONG_SCALES",
    "Limit",
]

INCH_MM = 25.4
PRACTICE = "common practice, no source"
MEMORY = "from memory, not checked"


@dataclass(frozen=True)
class Limit:
    """Up to `good` it passes, beyond `bad` it fails; source."""

    good: float
    bad: float
    source: str = PRACTICE


OFF_FAIR_MM = Limit(INCH_MM / 16, INCH_MM / 8)
"""A mark farther than 1/16 to 1/8 in off the fair edge is a misplaced mark, not noise."""
STEP_MM = 0.8
"""A pencil line is about half a mm to each side, a marker's 2 mm: a smaller step is not the thickness of a line."""
MOST_INFLECTIONS = 1
"""An edge laid flat bends in one direction, or has one inflection where the sheer runs out."""
FLAT_SHARE = 0.35
"""A batten shows a flat where its bend falls to about a third of what it is on both sides of it."""
LEAST_WIDTH_MM = 2 * INCH_MM
"""Strakes much under 2 in call for a stealer, or for other lining off."""
UNEVEN_FRAMES = Limit(0.5, 1.5)
"""Shares of the usual frame space: outside them a frame has probably been missed, or marked twice."""
BAR_SHARE = Limit(0.001, 0.002, "makers' figures for plotters and scanners, 0.1 to 0.2 percent, " + MEMORY)
"""Relative error of a scale bar, or of a diagonal."""
BEVEL_OFF_DEG, BEVEL_SHARE = Limit(2.0, 4.0), 0.35
"""A tight bevel is half the angle between two flats. If the frame's roundness is the same on both sides of the seam,
that is the angle whose sine is half the plank's width over the radius; at a bilge where it changes this is off by a
degree or two, and by about a third of itself."""
BEVEL_STEP_DEG = Limit(2.0, 4.0)
"""A bevel gauge is read to about a degree."""
EDGE_WOOD_MM = Limit(INCH_MM / 16, INCH_MM / 4)
"""1/16 to 1/8 in is left on an edge for saw and plane; up to 1/4 in is only waste."""
END_WOOD_MM = Limit(INCH_MM - 1.5, 3 * INCH_MM)
"""1 to 2 in is left on an end until the dry fit; 3 in is only waste. 25 mm counts as an inch."""
SEAM_SHARES = Limit(1 / 16, 3.5 / 25, "1/16 in per inch (Traditional Small Craft Association, rules of thumb) to 3.5 "
                                      "mm on 25 mm (builders' accounts)")
"""Opening of a seam at the outside, for each mm of thickness."""
END_DISTANCE_MM = Limit(2 * INCH_MM, 2 * INCH_MM)
"""2 to 3 in from a fastening to the butt."""
GRAIN_SHANKS = 1.0
"""Fastenings nearer than their own thickness across the grain are in one grain line."""
GIRTH_PER_STRAKE_MM = 1.0
"""Error in measuring the width of each strake."""
WRONG_SCALES = ((90 / 96, "A PIXEL OF 96 TO THE INCH TAKEN FOR ONE OF 90"),
                (96 / 90, "A PIXEL OF 90 TO THE INCH TAKEN FOR ONE OF 96"),
                (72 / 96, "A PIXEL OF 96 TO THE INCH TAKEN FOR A POINT"),
                (96 / 72, "A POINT TAKEN FOR A PIXEL OF 96 TO THE INCH"),
                (25.4, "INCHES TAKEN FOR MM, OR THE OTHER WAY ABOUT"),
                (1 / 25.4, "INCHES TAKEN FOR MM, OR THE OTHER WAY ABOUT"),
                (10.0, "CM TAKEN FOR MM"), (0.1, "CM TAKEN FOR MM"))
"""Ratios, drawing to boat, that result from a wrong unit: 96 user pixels to the inch (CSS Values and Units, W3C), 72
points, and 90 pixels in old drawings."""
