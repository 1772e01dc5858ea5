#!/usr/bin/env python3
"""Frame Stations: lines across the plank at the frames, labelled and measured."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import STATIONS
from plankcore.document.extension import PlankExtension
from plankcore.document.layers.lines import write_stations
from plankcore.document.layers.marks import read_numbers
from plankcore.stations.strike import SOURCES, SQUARE_TO, LabelRule, StationSettings, strike_stations

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing

# the dialog's defaults: left at these, they say nothing about a particular plank
FIRST_MM, SPACING_MM, FIRST_LABEL = 150.0, 230.0, "1"


class PlankStations(PlankExtension):
    """Reads the fair plank, strikes its stations, writes the Stations layer."""

    ACTION = STATIONS

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--source", default="spacing", choices=SOURCES)
        pars.add_argument("--first", default="%g mm" % FIRST_MM)
        pars.add_argument("--spacing", default="%g mm" % SPACING_MM)
        pars.add_argument("--square_to", default="baseline", choices=SQUARE_TO)
        pars.add_argument("--numbers", type=inkex.Boolean, default=True)
        pars.add_argument("--first_label", default=FIRST_LABEL)
        pars.add_argument("--count", default="up", choices=["up", "down"])
        pars.add_argument("--from_end", default="fore", choices=["fore", "aft"])

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = StationSettings(
            options.source, options.square_to,
            first_mm=self.read_length_mm("first", "First frame from the end", least_mm=0, most_mm=50000),
            spacing_mm=self.read_length_mm("spacing", "Frame spacing", least_mm=10, most_mm=5000),
            labels=LabelRule(options.first_label, 1 if options.count == "up" else -1, options.from_end))
        group = drawing.find_group()
        naming.refuse_leftovers(drawing.read_names(group), list_typed(options, settings), meant_for=options.meant_for,
                                file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        plank = drawing.read_plank(group)
        lines = drawing.read_selected_lines() if options.source == "lines" else ()
        numbers = read_numbers(drawing) if self.read_yes_no("numbers", "Numbers written beside them rule") else ()
        write_stations(drawing, group, *strike_stations(plank, settings=settings, lines=lines,
                                                                        numbers=numbers), square_to=options.square_to)


def list_typed(options: Any, settings: StationSettings) -> dict[str, str]:
    """Settings that number and place the frames of one plank only, {field: text}; '' where one is at the dialog's
    default, or is not used."""
    spaced = settings.source == "spacing"
    return {"First frame from the end": options.first if spaced and settings.first_mm != FIRST_MM else "",
            "Frame spacing": options.spacing if spaced and settings.spacing_mm != SPACING_MM else "",
            "First label": options.first_label if options.first_label.strip() != FIRST_LABEL else ""}


if __name__ == "__main__":
    PlankStations().run()
