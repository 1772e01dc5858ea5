#!/usr/bin/env python3
"""True Up Scan: a scan or photo brought to true size from control points, lengths or a rectangle."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401

from plankcore.actions import TRUE_UP
from plankcore.document import carry, controls, write
from plankcore.document.extension import PlankExtension
from plankcore.scan.true_up import MAPS, WRONG, TrueUpSettings, true_up

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankTrueUp(PlankExtension):
    """Reads the controls, fits the map, carries the scan and writes the True up layer."""

    ACTION = TRUE_UP

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--map", default="least", choices=MAPS)
        pars.add_argument("--honest_error", default="0.3 mm")
        pars.add_argument("--most_far", default="5 mm")
        pars.add_argument("--wrong", default="refuse", choices=WRONG)
        pars.add_argument("--pattern_height", default="0 mm")
        pars.add_argument("--camera_height", default="0 mm")

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = TrueUpSettings(
            options.map,
            self.read_length_mm("honest_error", "How far off a control may honestly be"),
            most_far_mm=self.read_length_mm("most_far", "Largest error allowed at the far ends"),
            wrong=options.wrong,
            pattern_mm=self.read_length_mm("pattern_height", "Pattern above the dots"),
            camera_mm=self.read_length_mm("camera_height", "Camera above the dots"))
        scan = controls.read_scan(drawing, unit=options.unit)
        fit = true_up(scan.points, scan.lengths, scan.rectangles, reach=scan.reach, picture=scan.picture,
                             settings=settings)
        key, left = carry.carry_scan(drawing, scan, fit)
        write.write_fit_report(drawing, action=TRUE_UP, facts=fit.facts, misfits=fit.misfits,
                                    findings=[*fit.findings, *scan.findings, *left],
                                    box=fit.face_map.apply(scan.reach), of=key, map=fit.map, freedom=fit.freedom)


if __name__ == "__main__":
    PlankTrueUp().run()
