#!/usr/bin/env python3
"""Plank Record: offsets by which the plank can be struck without a plotter, and all that is known of it, as a page to
print and a table.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401

from plankcore import naming
from plankcore.actions import RECORD
from plankcore.document.extension import PlankExtension
from plankcore.document.files.marks import spell_name
from plankcore.document.files.record import spell_html
from plankcore.document.files.record_table import spell_csv
from plankcore.document.layers.joints import read_joints
from plankcore.document.layers.lines import read_saw_line, read_stations
from plankcore.document.layers.sections import read_board
from plankcore.document.layers.state import name_sheet, read_sections
from plankcore.document.write import read_scan_facts
from plankcore.record.build import FIGURES, RecordSettings, build_record, read_moisture

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankRecord(PlankExtension):
    """Reads the plank and every layer on it, writes the record beside the drawing; the drawing stays as it is."""

    ACTION = RECORD

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        self.add_file_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--file_name", default="")
        pars.add_argument("--figures", default="both", choices=FIGURES)
        pars.add_argument("--fraction", default="16", choices=["16", "8", "32"])
        pars.add_argument("--measured_by", default="")
        pars.add_argument("--day", default="")
        pars.add_argument("--moisture", default="")
        pars.add_argument("--remarks", default="")

    def work(self, drawing: Drawing, options: Any) -> bool:
        moisture = read_moisture(options.moisture)
        group = drawing.find_group()
        naming.refuse_leftovers(drawing.read_names(group),
                                {"Measured by": options.measured_by, "Date": options.day,
                                 "Moisture of the wood": options.moisture, "Remarks": options.remarks},
                                meant_for=options.meant_for, file_name=drawing.own_file_name, in_dialog=self.in_dialog)
        plank = drawing.read_plank(group)
        stem, owner = self.choose_place(drawing, [plank], file_name=options.file_name,
                                        what=name_sheet([group], "record"))
        page, table = stem.with_name(stem.name + ".html"), stem.with_name(stem.name + ".csv")
        settings = RecordSettings(options.figures, int(options.fraction), measured_by=options.measured_by.strip(),
                                         day=options.day.strip(), moisture=moisture, remarks=options.remarks.strip(),
                                         drawing_name=spell_name(drawing.path), file_name=page.name)
        joints, _ = read_joints(drawing, group)
        made = build_record(
            plank, stations=read_stations(drawing, group), saw=read_saw_line(drawing, group),
            board=read_board(drawing, group), joints=joints,
            sections=read_sections(drawing, group), scans=read_scan_facts(drawing), settings=settings)
        self.outbox.add({page: spell_html(made), table: spell_csv(made)}, owner=owner)
        self.say_when_written("The record is in %s\nand its offsets, as a table, in %s" % (page, table))
        for doubt in made.doubts:
            self.say(doubt)
        return False


if __name__ == "__main__":
    PlankRecord().run()
