#!/usr/bin/env python3
"""Fastenings: the place of each, its size, and what to buy."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import FASTENINGS
from plankcore.document.extension import PlankExtension
from plankcore.document.layers.joints import read_blocks, read_ends, read_joints, spell_list, write_fastenings
from plankcore.document.layers.sections import read_struck
from plankcore.document.layers.state import name_sheet
from plankcore.fastenings.lay_out import (
    ENDS,
    FRAME_LIES,
    FRAME_WOODS,
    HEADS,
    METALS,
    RULES,
    SCARFS,
    SIZES,
    FasteningSettings,
    SizeSettings,
    lay_out_fastenings,
)

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankFastenings(PlankExtension):
    """Reads the fair plank, its stations and its joints, lays out the fastenings, writes the Fastenings layer and on
    demand the buying list.
    """

    ACTION = FASTENINGS

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--rule", default="small", choices=list(RULES))
        pars.add_argument("--own_count", type=int, default=0)
        pars.add_argument("--sided", default="45 mm")
        pars.add_argument("--frame_lies", default="middle", choices=list(FRAME_LIES))
        pars.add_argument("--frame_edge", default="10 mm")
        pars.add_argument("--edge", default="0 mm")
        pars.add_argument("--stagger", default="10 mm")
        pars.add_argument("--fore_end", default="auto", choices=["auto", *ENDS])
        pars.add_argument("--aft_end", default="auto", choices=["auto", *ENDS])
        pars.add_argument("--end", default="2 in")
        pars.add_argument("--hood", default="30 mm")
        pars.add_argument("--butt_count", type=int, default=0)
        pars.add_argument("--block", default="0 mm")
        pars.add_argument("--block_thickness", default="0 mm")
        pars.add_argument("--scarf", default="feather", choices=list(SCARFS))
        pars.add_argument("--neighbours", default="")
        pars.add_argument("--size", default="herreshoff", choices=list(SIZES))
        pars.add_argument("--metal", default="not-named", choices=list(METALS))
        pars.add_argument("--boat_metal", default="not-named", choices=list(METALS))
        pars.add_argument("--thickness", default="0 mm")
        pars.add_argument("--gauge", default="")
        pars.add_argument("--length", default="0 mm")
        pars.add_argument("--plug", default="0 mm")
        pars.add_argument("--heads", default="auto", choices=list(HEADS))
        pars.add_argument("--softwood", type=inkex.Boolean, default=True)
        pars.add_argument("--frame_wood", default="hardwood", choices=list(FRAME_WOODS))
        pars.add_argument("--frame_depth", default="0 mm")
        pars.add_argument("--spare", type=int, default=10)
        pars.add_argument("--list_file", default="")
        self.add_file_arguments(pars)

    def work(self, drawing: Drawing, options: Any) -> None:
        def read(name, field):
            return self.read_length_mm(name, field, least_mm=0)
        size = SizeSettings(options.size, options.gauge, length_mm=read("length", "Length"),
                            plug_mm=read("plug", "Plug"),
                                       softwood=self.read_yes_no("softwood", "Softwood"), frame_wood=options.frame_wood,
                                       frame_depth_mm=read("frame_depth", "Frame depth"),
                            block_mm=read("block_thickness", "Block thickness"),
                                       heads=options.heads, spare_percent=options.spare,
                                       metal=options.metal, boat_metal=options.boat_metal)
        settings = FasteningSettings(
            rule=options.rule, own_count=options.own_count, butt_count=options.butt_count,
            sided_mm=read("sided", "Frame width"), frame_lies=options.frame_lies,
            frame_edge_mm=read("frame_edge", "Clear of the frame's sides"), edge_mm=read("edge", "Edge distance"),
            end_mm=read("end", "End distance"), hood_mm=read("hood", "Hood end distance"),
            stagger_mm=read("stagger", "Stagger"), scarf=options.scarf, block_mm=read("block", "Block length"),
            neighbours=options.neighbours, thickness_mm=read("thickness", "Thickness"), size=size)
        group = drawing.find_group()
        names = drawing.read_names(group)
        naming.check_same_thickness(settings.thickness_mm, names, field="Plank thickness")
        own_thickness = options.thickness if settings.thickness_mm and not names.thickness_mm else ""
        typed = {"Plank thickness": own_thickness, "Butts of the neighbours": options.neighbours,
                 "The boat's own gauge": options.gauge,
                 "The boat's own length": options.length if size.length_mm else "",
                 "The boat's own plug": options.plug if size.plug_mm else "",
                 **{"The plank's %s end" % end: "" if kind == "auto" else kind
                    for end, kind in (("fore", options.fore_end), ("aft", options.aft_end))}}
        naming.refuse_leftovers(names, typed, meant_for=options.meant_for,
                                file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        told = read_ends(drawing, group)
        settings = replace(settings, fore_end=told["fore"] if options.fore_end == "auto" else options.fore_end,
                           aft_end=told["aft"] if options.aft_end == "auto" else options.aft_end)
        joints, _ = read_joints(drawing, group)
        plank, stations, _ = read_struck(drawing, group)
        stem, owner = self.choose_place(drawing, [plank], file_name=options.list_file,
                                        what=name_sheet([group], "buying list"),
                                        field="List file") if options.list_file.strip() else (None, "")
        layout = lay_out_fastenings(plank, stations=stations, settings=settings, joints=joints,
                                    blocks=read_blocks(drawing, group))
        write_fastenings(drawing, group, layout)
        if stem is not None:
            path = stem.with_name(stem.name + ".csv")
            self.outbox.add({path: spell_list(layout.lists)}, owner=owner)
            self.say_when_written("The buying list is in %s." % path)


if __name__ == "__main__":
    PlankFastenings().run()
