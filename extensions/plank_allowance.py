#!/usr/bin/env python3
"""Allowances: the saw line outside the net outline."""
import _plank_path  # noqa: F401

from plankcore import allowance
from plankcore.document import layers
from plankcore.document.extension import PlankExtension


class PlankAllowance(PlankExtension):
    """Reads the fair plank, adds wood to each edge, writes the Saw line layer."""

    TITLE = "Allowances"

    def add_arguments(self, pars):
        super().add_arguments(pars)
        pars.add_argument("--upper", default="3 mm")
        pars.add_argument("--lower", default="3 mm")
        pars.add_argument("--fore", default="25 mm")
        pars.add_argument("--aft", default="25 mm")

    def work(self, drawing, options):
        added = {name: self.read_length_mm(name, "Allowance, %s" % name) for name in ("upper", "lower", "fore", "aft")}
        group = drawing.find_group()
        plank = drawing.read_plank(group)
        layers.write_saw_line(drawing, group, allowance.add_allowances(plank, added_mm=added))


if __name__ == "__main__":
    PlankAllowance().run()
