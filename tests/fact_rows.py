"""Sentences as facts, for tests that only need a layer to say something."""
from __future__ import annotations

from plankcore.model.drawing import Fact

__all__ = ["make_facts"]


def make_facts(rows, *, key="said"):
    """Facts of one key that are nothing but sentences, str in their order."""
    return tuple(Fact(key, row) for row in rows)
