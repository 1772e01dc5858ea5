#!/usr/bin/env python3
"""Scarfs and Butts: joints in the plank, judged by a named rule against the neighbours', drawn, and mapped."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import JOINTS
from plankcore.document.extension import PlankExtension
from plankcore.document.files.pdf import write_pdf
from plankcore.document.files.sheet import write_pages_svg
from plankcore.document.files.table import read_frame_table, read_joint_table
from plankcore.document.layers.joints import read_drawn_joints, write_joints
from plankcore.document.layers.sections import read_other_planks, read_struck
from plankcore.document.layers.state import name_sheet
from plankcore.joints.place import (
    ENDS,
    FEATHERS,
    KINDS,
    PAGES,
    RULES,
    SLOPES,
    SQUARE_TO,
    JointSettings,
    draw_map,
    place_joints,
)

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankJoints(PlankExtension):
    """Reads plank, stations, tables and labelled lines; writes the Scarfs and butts layer and, if asked, the butt map.
    """

    ACTION = JOINTS

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--joints", default="propose 1")
        pars.add_argument("--kind", default="butt", choices=KINDS)
        pars.add_argument("--rule", default="three-and-three", choices=RULES)
        pars.add_argument("--fore_end", default="butt", choices=ENDS)
        pars.add_argument("--aft_end", default="butt", choices=ENDS)
        pars.add_argument("--joint_file", default="")
        pars.add_argument("--frame_file", default="")
        pars.add_argument("--spacing", default="0 mm")
        pars.add_argument("--siding", default="0 mm")
        pars.add_argument("--stock", default="0 mm")
        pars.add_argument("--slope", default="12", choices=SLOPES)
        pars.add_argument("--feather", default="aft", choices=FEATHERS)
        pars.add_argument("--square_to", default="run", choices=SQUARE_TO)
        pars.add_argument("--block_times", type=float, default=10.0)
        pars.add_argument("--lap", default="20 mm")
        pars.add_argument("--drain", default="10 mm")
        pars.add_argument("--lay_out", type=inkex.Boolean, default=True)
        pars.add_argument("--map_file", default="")
        self.add_file_arguments(pars)
        pars.add_argument("--map_page", default="a4", choices=PAGES)

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = JointSettings(
            joints=options.joints, kind=options.kind, rule=options.rule, slope=float(options.slope),
            feather=options.feather, square_to=options.square_to,
            fore_end=options.fore_end, aft_end=options.aft_end,
            siding_mm=self.read_length_mm("siding", "Frame siding", least_mm=0, most_mm=500),
            spacing_mm=self.read_length_mm("spacing", "Frame spacing", least_mm=0, most_mm=2000),
            stock_mm=self.read_length_mm("stock", "Longest board", least_mm=0, most_mm=30000),
            drain_mm=self.read_length_mm("drain", "Drain gap", least_mm=0, most_mm=100),
            lap_mm=self.read_length_mm("lap", "Block lap", least_mm=0, most_mm=100),
            block_times=options.block_times, lay_out=self.read_yes_no("lay_out", "Lay the parts out apart"),
            unit=options.unit)
        group = drawing.find_group()
        placed = "" if options.joints.strip().lower().startswith(("propose", "none")) else options.joints
        # a butt is the dialog's default; any other kind of end is a statement on one plank
        ends = {"The %s end of the plank" % end: "" if kind == "butt" else kind
                for end, kind in (("fore", options.fore_end), ("aft", options.aft_end))}
        naming.refuse_leftovers(drawing.read_names(group), {"Joints": placed, **ends}, meant_for=options.meant_for,
                                file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        plank, stations, _ = read_struck(drawing, group)
        records = read_drawn_joints(drawing, side=plank.side, stations=stations)
        records += read_joint_table(options.joint_file.strip(), unit=options.unit,
                                    folder=drawing.home) if options.joint_file.strip() else []
        frames = read_frame_table(options.frame_file.strip(), unit=options.unit,
                                  folder=drawing.home) if options.frame_file.strip() else []
        plan = place_joints(plank, stations, settings=settings, records=records, frame_records=frames)
        if options.map_file.strip():
            stem, owner = self.choose_place(drawing, [plank], file_name=options.map_file,
                                            what=name_sheet([group], "butt map"))
            others, left_out = read_other_planks(drawing, group)
            for text in left_out:
                self.say(text)
            drawn = draw_map(plank, plan, others=others, page=options.map_page, settings=settings, file_name=stem.name)
            self.outbox.add({"%s.svg" % stem: write_pages_svg([drawn]),
                             "%s.pdf" % stem: write_pdf([drawn], title=drawn.title)}, owner=owner)
            self.say_when_written("The butt map is in %s.svg and %s.pdf" % (stem, stem.name))
        write_joints(drawing, group, plan.overlay, rule=settings.rule, fore_end=settings.fore_end,
                     aft_end=settings.aft_end,
                     failing=sum(v.passed is False for v in plan.verdicts))


if __name__ == "__main__":
    PlankJoints().run()
