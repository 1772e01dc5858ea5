#!/usr/bin/env python3
"""Plot Sheets: a page sized to the plank, to plot or cut at true size."""
import _plank_path  # noqa: F401

import inkex

from plankcore import sheets
from plankcore.document import layers
from plankcore.document.extension import PlankExtension
from plankcore.document.output import choose_sheet_paths
from plankcore.document.sheet_file import write_sheet_layer, write_sheet_pdf, write_sheet_svg


class PlankPlot(PlankExtension):
    """Reads plank, stations and saw line; writes the sheet as a file, and its frame round the plank."""

    TITLE = "Plot Sheets"

    def add_arguments(self, pars):
        super().add_arguments(pars)
        pars.add_argument("--folder", default="")
        pars.add_argument("--file_name", default="")
        pars.add_argument("--margin", default="20 mm")
        pars.add_argument("--day", default="")
        pars.add_argument("--pdf", type=inkex.Boolean, default=True)

    def work(self, drawing, options):
        make_pdf = self.read_yes_no("pdf", "Make a PDF as well")
        margin_mm = self.read_length_mm("margin", "Margin", least_mm=0, most_mm=500)
        group = drawing.find_group()
        plank = drawing.read_plank(group)
        svg_path, pdf_path = choose_sheet_paths(drawing.path, plank, folder=options.folder, file_name=options.file_name)
        sheet = sheets.lay_out_sheet(plank, stations=layers.read_stations(drawing, group), saw=layers.read_saw_line(drawing, group),
                                     settings=sheets.SheetSettings(margin_mm, svg_path.name, options.day.strip()))
        write_sheet_svg(sheet, str(svg_path))
        self.say("The sheet, %.0f x %.0f mm, is in %s" % (sheet.width_mm, sheet.height_mm, svg_path))
        if make_pdf:
            trouble = write_sheet_pdf(sheet, str(svg_path), str(pdf_path))
            self.say(trouble or "and, at true size, in %s" % pdf_path)
        write_sheet_layer(drawing, group, sheet)


if __name__ == "__main__":
    PlankPlot().run()
