#!/usr/bin/env python3
"""Plot Sheets: a page sized to the plank, planks on a roll, or tiles, to plot or cut at true size."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore.actions import PLOT
from plankcore.document.extension import PlankExtension
from plankcore.document.files.hpgl import RANGES, lay_strokes, sort_passes, write_hpgl
from plankcore.document.files.media import find_media_file, find_named, make_place, read_media, write_media
from plankcore.document.files.output import check_formats, name_files
from plankcore.document.files.pdf import LONGEST_PDF_MM, choose_user_unit, write_pdf
from plankcore.document.files.sheet import write_pages_svg, write_sheet_layer
from plankcore.document.layers.state import name_sheet, read_matter
from plankcore.plot import calibration as media_calibration
from plankcore.plot.chosen import ALL, CUT, cut_parts
from plankcore.plot.film import FilmSettings, make_film
from plankcore.plot.passes import CutterSettings, PenSpeeds, measure_passes, order_cuts, plan_passes
from plankcore.plot.sheet import (
    OWN,
    PLOTTED,
    ROLLS,
    SHEETS,
    MediumSettings,
    SheetSettings,
    choose_long_side,
    cut_page,
    describe_plank,
    find_lie,
    lay_out_calibration,
    lay_out_matter,
    lay_out_roll,
    lay_out_sheets,
    make_page,
)

if TYPE_CHECKING:
    from typing import Any, Sequence

    from plankcore.document.drawing import Drawing
    from plankcore.model.drawing import Sheet
    from plankcore.model.page import MediumCorrection, Page, PlankMatter, SheetLie
    from plankcore.plot.passes import PassFigures

FEWEST = "fewest sheets"
CALIBRATE = ["no", "a sheet that was not corrected", "a sheet that was corrected"]


class PlankPlot(PlankExtension):
    """Reads planks with the layers of all actions; writes pages as files, and the sheet's frame round each plank."""

    ACTION = PLOT

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--sheets", default="one sheet", choices=["one sheet", "roll", "tiles"])
        self.add_file_arguments(pars)
        pars.add_argument("--file_name", default="")
        pars.add_argument("--margin", default="20 mm")
        pars.add_argument("--day", default="")
        for name, ticked in (("svg", True), ("pdf", True), ("dxf", False), ("hpgl", False), ("separate", False)):
            pars.add_argument("--" + name, type=inkex.Boolean, default=ticked)
        pars.add_argument("--plotted", default=ALL, choices=list(PLOTTED))
        for name in ("crosses", "mirror"):
            pars.add_argument("--" + name, type=inkex.Boolean, default=False)
        pars.add_argument("--lift_seconds", type=float, default=0.15)
        pars.add_argument("--long_pdf", default="parts", choices=["parts", "one page"])
        pars.add_argument("--roll", default="36 in (914 mm)", choices=[*ROLLS, OWN])
        pars.add_argument("--sheet_size", default="A3", choices=[*SHEETS, OWN])
        pars.add_argument("--long_side", default="along", choices=["along", "across", FEWEST])
        for name, default in (("own_width", "0"), ("own_height", "0"), ("roll_length", "0"), ("edge", "10 mm"),
                              ("overlap", "20 mm"), ("gap", "15 mm"),
                              ("overcut", "1 mm"), ("knife_offset", "0"), ("weeding", "0"), ("feed", "0"),
                              ("pen_down", "100 mm"), ("pen_up", "250 mm")):
            pars.add_argument("--" + name, default=default)
        pars.add_argument("--hpgl_range", default="wide", choices=list(RANGES))
        pars.add_argument("--tied", type=inkex.Boolean, default=True)
        pars.add_argument("--apart", type=inkex.Boolean, default=False)
        pars.add_argument("--medium", default="")
        pars.add_argument("--first_edge", default="short edge", choices=["short edge", "long edge"])
        pars.add_argument("--media_file", default="")
        pars.add_argument("--calibrate", default="no", choices=CALIBRATE)
        pars.add_argument("--calibration_page", type=inkex.Boolean, default=False)
        pars.add_argument("--measured_day", default="")
        for name, default in (("along_told", "1000 mm"), ("along_found", "0"), ("across_told", "150 mm"),
                              ("across_found", "0"),
                              ("side_along", "0"), ("side_across", "0"), ("diagonal_ac", "0"), ("diagonal_bd", "0")):
            pars.add_argument("--" + name, default=default)

    def work(self, drawing: Drawing, options: Any) -> bool:
        formats = {name: self.read_yes_no(name, name.upper()) for name in ("svg", "pdf", "dxf", "hpgl")}
        check_formats(formats)
        separate, apart = self.read_yes_no("separate", "Each page as an SVG of its own"), self.read_yes_no(
            "apart", "Drawn and cut in files of their own")
        margin_mm = self.read_length_mm("margin", "Margin", least_mm=0, most_mm=500)
        medium = self.read_medium()
        cutter = self.read_cutter()
        film, speeds = self.read_film(medium), PenSpeeds(self.read_length_mm("pen_down", "Drawn in a second"),
                                                         self.read_length_mm("pen_up", "Travelled in a second"),
                                                         options.lift_seconds)
        measured, measuring = self.read_measured(), self.read_yes_no("calibration_page", "A page to measure")
        groups = drawing.find_groups_meant(otherwise_all=options.sheets == "roll")
        matters = [cut_parts(read_matter(drawing, group)) for group in groups]
        medium = self.choose_side(matters, medium)
        stem, owner = self.choose_place(drawing, [m.plank for m in matters], file_name=options.file_name,
                                        what="calibration" if measuring else name_sheet(groups))
        files = {}
        settings = SheetSettings(margin_mm, stem.name, options.day.strip(),
                                        self.read_correction(measured, find_lie(options.sheets, medium)),
                                        plotted=options.plotted)
        laid = [lay_out_matter(matter, settings=settings)
                for matter in matters] if options.sheets == "one sheet" else []
        lay = self.lay_calibration if measuring else self.lay_out
        pages = lay(matters, laid, medium, settings)
        if not (film.is_plain() or measuring):
            about = settings.margin_mm if laid else medium.edge_mm
            pages, said = make_film(pages, film, correction=settings.correction, about_mm=about)
            for text in said:
                self.say(text)
        pages = [order_cuts(page) for page in pages]
        if formats["svg"]:
            files.update((path, write_pages_svg(some))
                         for path, some in name_files(stem, ".svg", pages, separate))
        if formats["pdf"]:
            files[stem.with_name(stem.name + ".pdf")] = self.make_pdf(pages, medium, settings)
        if formats["dxf"]:
            files[stem.with_name(stem.name + ".dxf")] = self.make_dxf(pages)
        if formats["hpgl"]:
            for path, (page,) in name_files(stem, ".plt", pages, True):
                passes = lay_strokes(plan_passes(page, cutter), height_mm=page.height_mm)
                self.tell_time(path.name, measure_passes(passes, start_mm=(0.0, page.height_mm)), speeds)
                for name, some in sort_passes(path, passes, apart):
                    files[name] = write_hpgl(some, height_mm=page.height_mm, limits=options.hpgl_range)
        self.outbox.add(files, owner=owner)
        whole = options.plotted == ALL and not measuring     # else the drawing stays as it is, as with a roll
        for group, sheet in zip(groups, laid if whole else ()):
            write_sheet_layer(drawing, group, sheet)
        self.say_when_written("Written: " + ", ".join(str(path) for path in files))
        return bool(laid) and whole

    def read_cutter(self) -> CutterSettings:
        """How pen and knife draw and cut."""
        return CutterSettings(self.read_length_mm("overcut", "Overcut"),
                              self.read_length_mm("knife_offset", "Blade offset"),
                              self.read_yes_no("tied", "A pen draws each word in one stroke"))

    def make_dxf(self, pages: Sequence[Page]) -> bytes:
        """The DXF, by a room that is loaded where it is asked for."""
        from plankcore.document.files.dxf import write_dxf

        return write_dxf(pages)

    def read_film(self, medium: MediumSettings) -> FilmSettings:
        """The FilmSettings."""
        options = self.options
        film = FilmSettings(weeding_mm=self.read_length_mm("weeding", "Weeding frame", least_mm=0),
                            crosses=self.read_yes_no("crosses", "Crosses to register by"),
                            mirror=self.read_yes_no("mirror", "Mirrored"),
                            feed_mm=self.read_length_mm("feed", "Longest feed", least_mm=0),
                            hairline=options.plotted == CUT, edge_mm=medium.edge_mm)
        return film.leave_tiles() if options.sheets == "tiles" else film

    def tell_time(self, name: str, figures: PassFigures, speeds: PenSpeeds) -> None:
        """A message on lifts and time for a file on a machine."""
        seconds = figures.estimate_seconds(speeds)
        self.say("%s: %d lifts, %.1f m drawn or cut, %.1f m of travel; about %.0f min %02.0f s by the speeds that are "
                 "set." % (name, figures.lifts, figures.down_mm / 1000, figures.up_mm / 1000, seconds // 60,
                           seconds % 60))

    def read_medium(self) -> MediumSettings:
        """The MediumSettings."""
        own = self.read_length_mm("own_width", "Own width",
                                  least_mm=0), self.read_length_mm("own_height", "Own height", least_mm=0)
        return MediumSettings(self.options.roll, self.options.sheet_size, own_mm=own, long_side=self.options.long_side,
                                     edge_mm=self.read_length_mm("edge", "Edge", least_mm=0),
                                     overlap_mm=self.read_length_mm("overlap", "Overlap", least_mm=0),
                                     gap_mm=self.read_length_mm("gap", "Gap", least_mm=0, most_mm=500),
                                     longest_mm=self.read_length_mm("roll_length", "Longest run", least_mm=0),
                                     first_edge=self.options.first_edge)

    def choose_side(self, matters: Sequence[PlankMatter], medium: MediumSettings) -> MediumSettings:
        """The medium with its sheets laid whichever way takes fewer, where that is asked for."""
        if self.options.sheets != "tiles" or medium.long_side != FEWEST:
            return medium
        side = choose_long_side(matters, medium, SheetSettings(plotted=self.options.plotted))
        self.say("The long side of the sheets lies %s the plank: so they are the fewest." % side)
        return replace(medium, long_side=side)

    def lay_out(self, matters: Sequence[PlankMatter], laid: Sequence[Sheet], medium: MediumSettings,
                settings: SheetSettings) -> list[Page]:
        """The pages, of the kind asked for."""
        if self.options.sheets == "roll":
            pages, said = lay_out_roll(matters, medium=medium, settings=settings)
            self.say(said[0].upper() + said[1:] + ".")
            return pages
        if not laid:
            pages, told = lay_out_sheets(matters, medium=medium, settings=settings)
            for text in told:
                self.say(text)
            return pages
        pages = []
        for number, one in enumerate(laid, 1):
            page = make_page(one, settings=settings)
            said = "the sheet is %.0f x %.0f mm" % (page.width_mm, page.height_mm)
            self.say(("%s: %s." % (page.title, said)) if len(laid) > 1 else said[0].upper() + said[1:] + ".")
            pages.append(page if len(laid) == 1 else replace(page, name="PLANK %d %s" % (number, page.name)))
        return pages

    def lay_calibration(self, matters: Sequence[PlankMatter], laid: Sequence[Sheet], medium: MediumSettings,
                        settings: SheetSettings) -> list[Page]:
        """The page for measuring the medium, instead of the planks."""
        lengths = {describe_plank(m.plank) or "PLANK %d" % k: m.plank.measure_length_mm()
                   for k, m in enumerate(matters, 1)}
        size = (laid[0].width_mm, laid[0].height_mm) if laid else (0.0, 0.0)
        page, said = lay_out_calibration(self.options.sheets, lengths, medium=medium, settings=settings, sheet_mm=size)
        self.say(said[0].upper() + said[1:] + ".")
        return [page]

    def make_pdf(self, pages: Sequence[Page], medium: MediumSettings, settings: SheetSettings) -> bytes:
        """The PDF, with the user's choice for pages longer than readers accept."""
        longest = max(page.width_mm for page in pages)
        if longest > LONGEST_PDF_MM:
            if self.options.long_pdf == "parts":
                about = settings.margin_mm if self.options.sheets == "one sheet" else medium.edge_mm
                pages = [part for page in pages
                         for part in cut_page(page, longest_mm=LONGEST_PDF_MM, edge_mm=medium.edge_mm,
                                                     correction=settings.correction, about_mm=about)]
                self.say("PDF readers stop at %.0f mm: the PDF is in %d parts, to be laid by the line that runs "
                         "through them; each says its length at both ends." % (LONGEST_PDF_MM, len(pages)))
            else:
                self.say("The PDF is longer than the %.0f mm of old readers: its page counts in %d/72 in (UserUnit). "
                         "A reader that does not know this prints it small: tape it from the cross at one end to the "
                         "cross at the other."
                         % (LONGEST_PDF_MM, choose_user_unit(longest, 0)))
        return write_pdf(pages, title=pages[0].title)

    def read_measured(self) -> list[tuple[float, ...]]:
        """(stated, measured) lengths of the bars, the rectangle's sides, and its diagonals."""
        return [(self.read_length_mm(a, field, least_mm=0), self.read_length_mm(b, field, least_mm=0))
                for a, b, field in
                (("along_told", "along_found", "Bar along"), ("across_told", "across_found", "Bar across"),
                 ("side_along", "side_across", "Rectangle"), ("diagonal_ac", "diagonal_bd", "Diagonals"))]

    def read_correction(self, measured: Sequence[Sequence[float]], lie: SheetLie) -> MediumCorrection | None:
        """The correction to plot with, or None; one that is measured now is also added to the files to write, for
        sheets that lie as this one will."""
        options = self.options
        if not options.medium.strip():
            if options.calibrate != "no":
                media_calibration.refuse_nameless()
            return None
        path = find_media_file(options.media_file)
        media = read_media(path, waiting=self.outbox.find(path))
        if options.calibrate == "no":
            return self.choose_correction(media, lie)
        earlier = self.choose_correction(media, lie) if options.calibrate == CALIBRATE[2] else None
        correction, findings = media_calibration.measure_medium(options.medium, day=options.measured_day,
                                                                along_mm=measured[0], across_mm=measured[1],
                                                                   rectangle_mm=measured[2], diagonals_mm=measured[3],
                                                                earlier=earlier, lie=lie)
        for finding in findings:
            self.say(finding.text)
        if correction is earlier:
            self.say("These measurements of %s are kept already; they were not counted twice." % options.medium)
            return earlier
        make_place(path, options.media_file)
        self.outbox.add_kept(path, write_media(media, correction))
        self.say_when_written("Kept for %s, %s: along %.5f, across %.5f, skew %.2f mm/m." % (
            correction.medium, lie.describe(), correction.along, correction.across, correction.skew_mm_per_m + 0.0))
        return correction

    def choose_correction(self, media: Sequence[MediumCorrection], lie: SheetLie) -> MediumCorrection:
        """The stored correction for a sheet that lies like this; a message says if it was measured on one that lay the
        other way."""
        correction = media_calibration.choose_correction(find_named(media, self.options.medium), lie)
        if correction.turned:
            self.say("%s was measured on a sheet that lay the other way in the machine (%s): along and across have "
                     "changed places, along %.5f, across %.5f."
                     % (correction.medium, lie.describe(), correction.along, correction.across))
        return correction


if __name__ == "__main__":
    PlankPlot().run()
