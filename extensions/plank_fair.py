#!/usr/bin/env python3
"""Fair Plank: a traced outline, edge lines or marks to four fair edges and the net outline."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import FAIR
from plankcore.document.extension import PlankExtension
from plankcore.fair.fair import BATTENS, FairSettings, draw_report, fair_plank, measure_comb
from plankcore.scan.pattern import LINE_EDGES, read_pattern

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing
    from plankcore.model.plank import PlankNames

AS_DRAWN = "as the drawing says"
NONE = "none"
# settings that apply to one plank only, and are stored in its drawing
OWN = {"known": "Edges whose shape is known", "nails": "Nails"}


class PlankFair(PlankExtension):
    """Reads the selection, fairs it, writes the Fair plank layer."""

    ACTION = FAIR

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--honest_error", default="0.5 mm")
        pars.add_argument("--shortest_wave", default="600 mm")
        pars.add_argument("--line_edge", default="middle", choices=LINE_EDGES)
        pars.add_argument("--doubtful", default="keep", choices=["keep", "leave out"])
        pars.add_argument("--known", default="")
        pars.add_argument("--nails", default="")
        pars.add_argument("--batten", default="beside", choices=BATTENS)
        pars.add_argument("--batten_thick", default="")
        pars.add_argument("--batten_wide", default="")
        pars.add_argument("--batten_wood", default="")
        pars.add_argument("--report", type=inkex.Boolean, default=False)
        pars.add_argument("--comb", type=inkex.Boolean, default=False)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--boat", default="")
        pars.add_argument("--strake", default="")
        pars.add_argument("--side", default=AS_DRAWN, choices=[AS_DRAWN, "starboard", "port"])
        pars.add_argument("--face", default=AS_DRAWN, choices=[AS_DRAWN, "inboard", "outboard"])
        pars.add_argument("--forward", default=AS_DRAWN, choices=[AS_DRAWN, "right", "left"])
        pars.add_argument("--thickness", default="")

    def read_names(self) -> PlankNames:
        """The plank's names as typed; '' and 0 mean not given."""
        options = self.options
        side, face, forward = ("" if one == AS_DRAWN else one for one in (options.side, options.face, options.forward))
        thickness_mm = self.read_length_mm("thickness", "Plank thickness", least_mm=0, most_mm=300, empty_mm=0.0)
        return naming.PlankNames(" ".join(options.boat.split()), " ".join(options.strake.split()),
                                 side, face, forward=forward, thickness_mm=thickness_mm)

    def settle_plank_own(self, drawing: Drawing, group: Any, known: PlankNames) -> dict[str, Any]:
        """The settings on this plank's edges: as typed, if those are for this plank; else as stored in the drawing."""
        typed = {name: " ".join(getattr(self.options, name).split()) for name in OWN}
        naming.refuse_leftovers(known, {OWN[name]: text for name, text in typed.items()},
                                meant_for=self.options.meant_for, file_name=drawing.file_name,
                                in_dialog=self.in_dialog)
        return {name: "" if text.lower() == NONE else text or drawing.read_fair_setting(group, name)
                for name, text in typed.items()}

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = FairSettings(
            honest_error_mm=self.read_length_mm("honest_error", "How far off a mark may honestly be"),
            shortest_wave_mm=self.read_length_mm("shortest_wave", "Shortest wave the wood can have"),
            doubtful=options.doubtful, batten=options.batten, batten_wood=options.batten_wood.strip(),
            batten_thick_mm=self.read_length_mm("batten_thick", "Batten, thickness", empty_mm=0.0),
            batten_wide_mm=self.read_length_mm("batten_wide", "Batten, width", empty_mm=0.0))
        typed = self.read_names()
        comb = self.read_yes_no("comb", "Show curvature as a comb")
        report = self.read_yes_no("report", "Draw a report beside the plank")
        traces, group, said = drawing.find_source()
        others = drawing.list_other_names(group)
        names, told = naming.settle_names(typed, None if group is None else drawing.read_names(group),
                                          meant_for=options.meant_for, file_name=drawing.file_name,
                                          in_dialog=self.in_dialog, boats=[other.name for other, _ in others])
        naming.refuse_namesake(names, others)
        settings = replace(settings, **self.settle_plank_own(drawing, group, names))
        lines = {called: drawing.find_line(called) for called in settings.list_known().values() if called != "straight"}
        pattern = read_pattern(traces, forward=names.forward, line_edge=options.line_edge,
                                       error_mm=settings.honest_error_mm)
        plank = fair_plank(pattern, settings=settings, lines=lines, said=said, told=told, name=names.name,
                                   strake=names.strake, side=names.side, face=names.face,
                                   thickness_mm=names.thickness_mm, assumed=names.assumed)
        drawing.write_fair(plank, group=group, sources=[t.source for t in traces], settings=settings,
                           comb=measure_comb(plank) if comb else None,
                           report=draw_report(plank) if report else None)


if __name__ == "__main__":
    PlankFair().run()
