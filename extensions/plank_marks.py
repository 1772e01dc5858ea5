#!/usr/bin/env python3
"""Read Marks: traced tags, thick lines and divider arcs to marks with edge, station and standard error."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401

from plankcore import naming
from plankcore.actions import MARKS
from plankcore.document.extension import PlankExtension
from plankcore.document.layers.marks import read_mark_shapes, read_numbers, write_marks
from plankcore.scan.marks import EDGES, KINDS, LINE_EDGES, STATIONS, MarkSettings, read_marks

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankMarks(PlankExtension):
    """Reads the selected traced shapes and the frame numbers near them, writes the Marks layer."""

    ACTION = MARKS

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--kind", default="auto", choices=KINDS)
        pars.add_argument("--line_edge", default="inboard", choices=LINE_EDGES)
        pars.add_argument("--edge", default="auto", choices=EDGES)
        pars.add_argument("--forward", default="right", choices=["right", "left"])
        pars.add_argument("--earlier", default="replace", choices=["replace", "keep"])
        pars.add_argument("--radius", default="0 mm")
        pars.add_argument("--same_point", default="10 mm")
        pars.add_argument("--block", default="1 in")
        pars.add_argument("--stroke_width", default="0 mm")
        pars.add_argument("--along", default="spacing", choices=["spacing", "frames"])
        pars.add_argument("--spacing", default="100 mm")
        pars.add_argument("--least_error", default="0.2 mm")
        pars.add_argument("--smallest", default="6 mm")
        pars.add_argument("--shortest_line", default="25 mm")
        pars.add_argument("--shortest_tag", default="20 mm")
        pars.add_argument("--stations", default="numbers", choices=STATIONS)
        pars.add_argument("--reach", default="60 mm")
        pars.add_argument("--first_label", default="1")
        pars.add_argument("--count", default="up", choices=["up", "down"])
        pars.add_argument("--from_end", default="fore", choices=["fore", "aft"])

    def work(self, drawing: Drawing, options: Any) -> None:
        count = None
        if options.stations == "count":           # loaded only where frames are counted
            from plankcore.stations.strike import LabelRule
            count = LabelRule(options.first_label, 1 if options.count == "up" else -1, options.from_end).name
        settings = MarkSettings(
            kind=options.kind, line_edge=options.line_edge, edge=options.edge, forward=options.forward,
            radius_mm=self.read_length_mm("radius", "Divider opening", least_mm=0, most_mm=2000),
            block_mm=self.read_length_mm("block", "Block", least_mm=1, most_mm=500),
            stroke_width_mm=self.read_length_mm("stroke_width", "Width of a line drawn as one stroke", least_mm=0,
                                                most_mm=50),
            spacing_mm=self.read_length_mm("spacing", "Marks along a line every", least_mm=5, most_mm=5000),
            at_frames=options.along == "frames",
            same_point_mm=self.read_length_mm("same_point", "Arcs are of one point if their centres lie within",
                                              least_mm=0, most_mm=200),
            least_error_mm=self.read_length_mm("least_error", "Least error a mark may claim", least_mm=0.01,
                                               most_mm=20),
            smallest_mm=self.read_length_mm("smallest", "Specks are smaller than", least_mm=0, most_mm=100),
            shortest_line_mm=self.read_length_mm("shortest_line", "Shortest line", least_mm=5, most_mm=5000),
            shortest_tag_mm=self.read_length_mm("shortest_tag", "Shortest tag", least_mm=8, most_mm=250),
            stations=options.stations,
            reach_mm=self.read_length_mm("reach", "A number belongs to marks within", least_mm=1, most_mm=2000),
            from_end=options.from_end, count=count)
        refuse_other_bow(drawing, options, in_dialog=self.in_dialog)
        report = read_marks(read_mark_shapes(drawing), settings=settings, numbers=read_numbers(drawing))
        write_marks(drawing, report, keep=options.earlier == "keep",
                    settings={"kind": options.kind, "line_edge": options.line_edge, "radius_mm": settings.radius_mm,
                                                                      "block_mm": settings.block_mm if options.kind
                                  == "block" else 0.0})


def refuse_other_bow(drawing: Drawing, options: Any, *, in_dialog: bool) -> None:
    """Refuse a bow or a first label that may be another plank's. Marks are read before the plank has names in the
    drawing, so its file name is what is compared."""
    groups = drawing.find_groups()
    names = drawing.read_names(groups[0]) if len(groups) == 1 else naming.PlankNames()
    typed = {"The bow lies to the": options.forward if options.forward != "right" else "",
             "First label, when counting": options.first_label if options.stations == "count"
             and options.first_label.strip() != "1" else ""}
    naming.refuse_leftovers(names, typed, meant_for=options.meant_for,
                            file_name=drawing.file_name if len(groups) <= 1 else "", in_dialog=in_dialog)


if __name__ == "__main__":
    PlankMarks().run()
