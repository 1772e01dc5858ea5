#!/usr/bin/env python3
"""Allowances: the saw line outside the net outline, or outside both faces of the board, and what the wood does afloat.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import ALLOWANCE
from plankcore.allowance.saw_line import LIVES, SwellingSettings, add_allowances
from plankcore.check.run import read_number
from plankcore.document.extension import PlankExtension
from plankcore.document.layers.lines import write_saw_line
from plankcore.document.layers.sections import read_board

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankAllowance(PlankExtension):
    """Reads the fair plank, and its board where hollow and bevels are known, adds wood to each edge, writes the Saw
    line layer.
    """

    ACTION = ALLOWANCE

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--upper", default="3 mm")
        pars.add_argument("--lower", default="3 mm")
        pars.add_argument("--fore", default="25 mm")
        pars.add_argument("--aft", default="25 mm")
        pars.add_argument("--species", default="")
        pars.add_argument("--cut", default="flat", choices=["flat", "quarter"])
        pars.add_argument("--hanging", type=float, default=15.0)
        pars.add_argument("--lives", default=LIVES[0], choices=LIVES)
        pars.add_argument("--afloat", default="")
        pars.add_argument("--strakes", type=int, default=0)
        pars.add_argument("--girth", default="0")
        pars.add_argument("--tangential", type=float, default=0.0)
        pars.add_argument("--radial", type=float, default=0.0)
        pars.add_argument("--room", type=inkex.Boolean, default=False)

    def work(self, drawing: Drawing, options: Any) -> None:
        added = {name: self.read_length_mm(name, "Allowance, %s" % name) for name in ("upper", "lower", "fore", "aft")}
        swelling = SwellingSettings(options.species, options.cut, hanging_percent=options.hanging,
                                              afloat_percent=read_number(options.afloat, "Moisture afloat", low=0,
                                                                         high=200),
                                              strakes=options.strakes,
                                              girth_mm=self.read_length_mm("girth", "Girth of the side"),
                                              room=self.read_yes_no("room", "Leave room for swelling"),
                                              tangential_percent=options.tangential, radial_percent=options.radial,
                                    lives=options.lives)
        group = drawing.find_group()
        naming.refuse_leftovers(drawing.read_names(group),
                                {"Species": options.species,
                                 "Own shrinkage, tangential": "%g" % options.tangential if options.tangential else "",
                                                            "Own shrinkage, radial": "%g" % options.radial
                                 if options.radial else "", "Leave room for swelling": "yes" if swelling.room else "",
                                                            "This plank lives": "" if options.lives
                                 == LIVES[0] else options.lives},
                                meant_for=options.meant_for, file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        plank = drawing.read_plank(group)
        board = read_board(drawing, group)
        write_saw_line(drawing, group,
                              add_allowances(plank, added_mm=added, board=board, swelling=swelling))


if __name__ == "__main__":
    PlankAllowance().run()
