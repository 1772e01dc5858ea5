#!/usr/bin/env python3
"""Hollow and Bevels: what was read at the frames to both faces of the board, its section at each of them, and the stock
it takes.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import SECTION
from plankcore.document.extension import PlankExtension
from plankcore.document.files.table import read_bevel_table
from plankcore.document.layers.lines import read_stations
from plankcore.document.layers.sections import write_board
from plankcore.section.board import (
    READ,
    RULES,
    SHARES,
    SYSTEMS,
    TREATMENTS,
    WIDTHS,
    BoardSettings,
    draw_board,
    make_board,
)

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankSection(PlankExtension):
    """Reads the fair plank, its stations and the table of readings, writes the Hollow and bevels layer."""

    ACTION = SECTION

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--table", default="")
        pars.add_argument("--typed", default="")
        pars.add_argument("--pattern", default="3 mm")
        pars.add_argument("--widths", default="girth", choices=WIDTHS)
        pars.add_argument("--read", default="square", choices=READ)
        pars.add_argument("--turn", type=float, default=0.0)
        pars.add_argument("--seam_rule", default="none", choices=RULES)
        pars.add_argument("--seam_own", default="0 mm")
        pars.add_argument("--seam_share", default="both", choices=SHARES)
        pars.add_argument("--seam_in_bevels", type=inkex.Boolean, default=False)
        pars.add_argument("--fore_bevel", type=float, default=0.0)
        pars.add_argument("--aft_bevel", type=float, default=0.0)
        pars.add_argument("--planing", default="1.5 mm")
        pars.add_argument("--stock", default="0 mm")
        pars.add_argument("--sizes", default="metric", choices=SYSTEMS)
        pars.add_argument("--species", default="")
        pars.add_argument("--honest_hollow", default="0.5 mm")
        pars.add_argument("--honest_bevel", type=float, default=1.0)
        pars.add_argument("--shortest_wave", default="600 mm")
        pars.add_argument("--doubtful", default="keep", choices=TREATMENTS)

    def list_typed(self) -> dict[str, str]:
        """Settings that apply to one plank only, as typed: {field: text}."""
        options = self.options
        numbers = {"Bend between the ends": options.turn, "Bevel of the fore end": options.fore_bevel,
                   "Bevel of the aft end": options.aft_bevel}
        lengths = {"Stock thickness": (options.stock, "0 mm"), "Pattern thickness": (options.pattern, "3 mm")}
        return {"Table of the frames": options.table, "Rows typed": options.typed, "Wood": options.species,
                **{field: "%g" % value if value else "" for field, value in numbers.items()},
                **{field: "" if text.strip() in ("", "0", as_it_comes) else text
                   for field, (text, as_it_comes) in lengths.items()}}

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = BoardSettings(
            pattern_mm=self.read_length_mm("pattern", "Pattern thickness", least_mm=0, most_mm=50),
            widths=options.widths, read=options.read,
            seam_rule=options.seam_rule, seam_own_mm=self.read_length_mm("seam_own", "Seam, own gap", least_mm=0,
                                                                         most_mm=20), seam_share=options.seam_share,
            seam_in_bevels=self.read_yes_no("seam_in_bevels", "Bevels have the seam in them"), turn_deg=options.turn,
            fore_bevel_deg=options.fore_bevel, aft_bevel_deg=options.aft_bevel,
            honest_hollow_mm=self.read_length_mm("honest_hollow", "Honest error of a hollow", least_mm=0.01,
                                                 most_mm=10), honest_bevel_deg=options.honest_bevel,
            shortest_wave_mm=self.read_length_mm("shortest_wave", "Shortest wave", least_mm=20, most_mm=20000),
            planing_mm=self.read_length_mm("planing", "Planing", least_mm=0, most_mm=25),
            stock_mm=self.read_length_mm("stock", "Stock thickness", least_mm=0, most_mm=300), sizes=options.sizes,
            species=options.species,
            doubtful=options.doubtful)
        group = drawing.find_group()
        naming.refuse_leftovers(drawing.read_names(group), self.list_typed(), meant_for=options.meant_for,
                                file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        plank = drawing.read_plank(group)
        stations = read_stations(drawing, group)
        rows = read_bevel_table(options.table, options.typed, unit=options.unit, folder=drawing.home)
        board = make_board(plank, stations, rows, settings=settings)
        write_board(drawing, group, board, draw_board(plank, board, stations))


if __name__ == "__main__":
    PlankSection().run()
