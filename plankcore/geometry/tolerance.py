"""The named tolerances of the project, all in mm.

Code that flattens or fits curves uses these names, never a bare number.
"""

CURVE_MM = 0.02
"""A written curve lies no further than this from the exact one."""

FIT_MM = 0.005
"""The part of CURVE_MM that one step of curve fitting may use: fairing, offsetting and trimming take a part each."""

FLATTEN_MM = 0.005
"""Tolerance of chords that replace curves for crossings, areas and tests only."""

JOIN_MM = 0.01
"""End points closer than this are the same point."""

GUARD_MM = 0.05
"""A finished plank whose lengths differ from its recorded ones by more than this has been changed."""
