"""Plank patterns: from a traced pattern to a fair, stationed, plottable plank."""

__version__ = "0.2.0"
