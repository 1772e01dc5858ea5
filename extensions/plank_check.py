#!/usr/bin/env python3
"""Check Plank: everything that is wrong with a plank, where, and what to do."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401

from plankcore import naming
from plankcore.actions import CHECK
from plankcore.check.run import (
    FACES,
    SIDES,
    Measured,
    count_verdicts,
    draw_check,
    read_number,
    read_widths_mm,
    run_checks,
    tell_table_place,
    write_table,
)
from plankcore.document.extension import PlankExtension
from plankcore.document.layers.joints import read_fastenings, read_joints
from plankcore.document.layers.lines import read_saw_line, read_stations
from plankcore.document.layers.sections import read_board
from plankcore.document.layers.state import gather_state, name_sheet, write_check

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing

READ = {"stations": read_stations, "saw": read_saw_line, "board": read_board,
        "joints": read_joints, "fastenings": read_fastenings}
LENGTHS = (("true_length", "True length"), ("frame_width", "Width at that frame"), ("girth", "Girth at that frame"),
           ("board_length", "Board, length"), ("board_width", "Board, width"),
           ("board_thickness", "Board, thickness"), ("bar_along", "Bar along, measured"),
           ("bar_across", "Bar across, measured"), ("bar_along_told", "Bar along, as it says"),
           ("bar_across_told", "Bar across, as it says"), ("falling", "Diagonal, upper fore to lower aft"),
           ("rising", "Diagonal, lower fore to upper aft"))


class PlankCheck(PlankExtension):
    """Reads the plank and every layer on it, writes the Check layer: rings, and the table of all results."""

    ACTION = CHECK

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        for name, _ in LENGTHS:
            pars.add_argument("--" + name, default="")
        pars.add_argument("--length_tolerance", default="3 mm")
        pars.add_argument("--width_tolerance", default="1 mm")
        for name in ("frame", "upper_angle", "lower_angle", "other_widths", "moisture", "file_name"):
            pars.add_argument("--" + name, default="")
        self.add_file_arguments(pars)
        pars.add_argument("--for_side", default="not said", choices=SIDES)
        pars.add_argument("--scanned_up", default="not said", choices=FACES)

    def read_measured(self) -> Measured:
        """The Measured values; an empty field is not given."""
        options, length = self.options, {}
        for name, field in LENGTHS:
            if not getattr(options, name).strip():
                setattr(options, name, "0")
            length[name] = self.read_length_mm(name, field, least_mm=0, most_mm=50000)
        said = {name: "" if getattr(options, name) == "not said" else getattr(options, name)
                for name in ("for_side", "scanned_up")}
        return Measured(
            true_length_mm=length["true_length"], length_tolerance_mm=self.read_length_mm(
                "length_tolerance", "Length, within", least_mm=0.1, most_mm=100), frame=options.frame.strip(),
            width_mm=length["frame_width"],
            width_tolerance_mm=self.read_length_mm("width_tolerance", "Width, within", least_mm=0.1, most_mm=20),
            upper_angle_deg=read_number(options.upper_angle, "Angle above", low=-120, high=120),
            lower_angle_deg=read_number(options.lower_angle, "Angle below", low=-120, high=120),
            girth_mm=length["girth"], other_widths_mm=read_widths_mm(
                options.other_widths, "Widths of the other strakes", unit=options.unit),
            moisture=read_number(options.moisture, "Moisture", low=0, high=200),
            board_length_mm=length["board_length"], board_width_mm=length["board_width"],
            board_thickness_mm=length["board_thickness"],
            bar_along_mm=(length["bar_along_told"], length["bar_along"]),
            bar_across_mm=(length["bar_across_told"], length["bar_across"]),
            falling_mm=length["falling"], rising_mm=length["rising"], **said)

    def list_typed(self) -> dict[str, str]:
        """Measurements that apply to one plank only, as typed: {field: text}."""
        options = self.options
        words = {"Frame that was measured": "frame", "Angle above": "upper_angle", "Angle below": "lower_angle",
                 "Widths of the other strakes": "other_widths", "Moisture": "moisture"}
        chosen = {"Side of the boat it is for": "for_side", "Face that lay up in the scan": "scanned_up"}
        return {**{field: getattr(options, name) for name, field in LENGTHS},
                **{field: getattr(options, name) for field, name in words.items()},
                **{field: "" if getattr(options, name) == "not said" else getattr(options, name)
                   for field, name in chosen.items()}}

    def work(self, drawing: Drawing, options: Any) -> None:
        typed = self.list_typed()
        measured = self.read_measured()
        group = drawing.find_group()
        naming.refuse_leftovers(drawing.read_names(group), typed, meant_for=options.meant_for,
                                file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        state = gather_state(drawing, group, read=READ, measured=measured)
        results = run_checks(state)
        overlay = draw_check(state, results)
        files = {}
        if options.file_name.strip():
            stem, owner = self.choose_place(drawing, [state.plank], file_name=options.file_name,
                                            what=name_sheet([group], "check"))
            files[stem.with_name(stem.name + ".csv")] = write_table(results)
        write_check(drawing, group, overlay)
        if files:
            self.outbox.add(files, owner=owner)
        failed = [r.name for r in results if r.verdict == "fail"]
        if failed:
            # the table may be out of sight, so a message names everything that fails
            self.say("%s fail%s: %s.\nThe table %s the plank says where and what to do."
                     % (len(failed), "s" if len(failed) == 1 else "", "; ".join(name.lower() for name in failed),
                        tell_table_place(state, overlay)))
        for path in files:
            self.say_when_written("%s; the table lies %s the plank. The list is in %s."
                                  % (count_verdicts(results), tell_table_place(state, overlay), path))


if __name__ == "__main__":
    PlankCheck().run()
