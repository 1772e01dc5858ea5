"""The named tolerances of the project, all in mm.

Each says what it bounds. Whoever flattens or fits names one of these, never a bare number.
"""

CURVE_MM = 0.02
"""A written curve lies no further than this from the exact one."""

FIT_MM = 0.005
"""What one step of curve fitting may spend of CURVE_MM: fairing, offsetting and trimming each take a share."""

FLATTEN_MM = 0.005
"""Chords stand in for curves to this, where only crossings, areas or tests need them."""

JOIN_MM = 0.01
"""End points closer than this are the same point."""

GUARD_MM = 0.05
"""A finished plank whose lengths differ from its recorded ones by more than this has been changed."""
