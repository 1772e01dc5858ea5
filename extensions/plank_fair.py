#!/usr/bin/env python3
"""Fair Plank: a traced outline, edge lines or marks to four fair edges and the net outline."""
import _plank_path  # noqa: F401

import inkex

from plankcore import fairing, tracing
from plankcore.document.extension import PlankExtension


class PlankFair(PlankExtension):
    """Reads the selection, fairs it, writes the Fair plank layer."""

    TITLE = "Fair Plank"

    def add_arguments(self, pars):
        super().add_arguments(pars)
        pars.add_argument("--honest_error", default="0.5 mm")
        pars.add_argument("--shortest_wave", default="600 mm")
        pars.add_argument("--line_edge", default="middle", choices=tracing.LINE_EDGES)
        pars.add_argument("--doubtful", default="keep", choices=["keep", "leave out"])
        pars.add_argument("--comb", type=inkex.Boolean, default=False)
        pars.add_argument("--forward", default="right", choices=["right", "left"])
        pars.add_argument("--boat", default="")
        pars.add_argument("--strake", default="")
        pars.add_argument("--side", default="starboard", choices=["starboard", "port"])
        pars.add_argument("--face", default="inboard", choices=["inboard", "outboard"])
        pars.add_argument("--thickness", default="0 mm")

    def work(self, drawing, options):
        settings = fairing.FairSettings(
            honest_error_mm=self.read_length_mm("honest_error", "How far off a mark may honestly be"),
            shortest_wave_mm=self.read_length_mm("shortest_wave", "Shortest wave the wood can have"),
            doubtful=options.doubtful)
        thickness_mm = self.read_length_mm("thickness", "Plank thickness", least_mm=0, most_mm=300)
        comb = self.read_yes_no("comb", "Show curvature as a comb")
        traces, group, said = drawing.find_source()
        pattern = tracing.read_pattern(traces, forward=options.forward, line_edge=options.line_edge, error_mm=settings.honest_error_mm)
        plank = fairing.fair_plank(pattern, settings=settings, said=said, name=options.boat.strip(), strake=options.strake.strip(),
                                   side=options.side, face=options.face, thickness_mm=thickness_mm)
        drawing.write_fair(plank, group=group, sources=[t.source for t in traces], settings=settings,
                           comb=fairing.measure_comb(plank) if comb else None)


if __name__ == "__main__":
    PlankFair().run()
