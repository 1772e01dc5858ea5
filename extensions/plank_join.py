#!/usr/bin/env python3
"""Join Scans: pieces at true size brought together on the labelled points they share."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401

from plankcore.actions import JOIN
from plankcore.document import carry, pieces, write
from plankcore.document.extension import PlankExtension
from plankcore.scan.join import JoinSettings, join_pieces

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankJoin(PlankExtension):
    """Reads the pieces, fits them to one another, moves them and writes the Join layer."""

    ACTION = JOIN

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--honest_error", default="0.3 mm")
        pars.add_argument("--most_far", default="10 mm")

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = JoinSettings(
            self.read_length_mm("honest_error", "How far off a shared point may honestly be"),
            self.read_length_mm("most_far", "Largest error allowed at the far ends"))
        found = pieces.read_pieces(drawing)
        join = join_pieces(found.pieces, settings=settings)
        carry.carry_pieces(drawing, found, join)
        write.write_fit_report(drawing, action=JOIN,
                                    facts=join.facts, misfits=join.misfits, findings=join.findings,
                                    box=join.find_reach(found.pieces),
                                    joins=" ".join(e.get("id") for e in found.elements), freedom=join.freedom)


if __name__ == "__main__":
    PlankJoin().run()
