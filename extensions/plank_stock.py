#!/usr/bin/env python3
"""Choose Stock: which boards the planks come out of, how they lie on them, and what that costs."""
from __future__ import annotations

from typing import TYPE_CHECKING

import _plank_path  # noqa: F401
import inkex

from plankcore import naming
from plankcore.actions import STOCK
from plankcore.document.extension import PlankExtension
from plankcore.document.files.boards import read_stock
from plankcore.document.files.pdf import write_pdf
from plankcore.document.files.sheet import write_pages_svg
from plankcore.document.layers.state import name_sheet
from plankcore.document.layers.stock import read_pieces, write_stock
from plankcore.stock.choose import (
    BOARD_PAGES,
    KNOT_RULES,
    LAYS,
    StockSettings,
    choose_stock,
    draw_board_pages,
    draw_boards,
)

if TYPE_CHECKING:
    from typing import Any

    from plankcore.document.drawing import Drawing


class PlankStock(PlankExtension):
    """Reads planks or their parts, and boards from a table and the page; writes each plank's Stock layer and the
    boards' pages.
    """

    ACTION = STOCK

    def add_arguments(self, pars: Any) -> None:
        super().add_arguments(pars)
        pars.add_argument("--meant_for", default="")
        pars.add_argument("--boards", default="")
        pars.add_argument("--species", default="")
        pars.add_argument("--parts", type=inkex.Boolean, default=True)
        pars.add_argument("--lay", default="grain", choices=LAYS)
        pars.add_argument("--turn_over", type=inkex.Boolean, default=False)
        pars.add_argument("--most_turn", type=float, default=10.0)
        self.add_file_arguments(pars)
        pars.add_argument("--file_name", default="")
        pars.add_argument("--page", default="A4", choices=list(BOARD_PAGES))
        pars.add_argument("--true_size", type=inkex.Boolean, default=False)
        pars.add_argument("--kerf", default="4 mm")
        pars.add_argument("--edge", default="5 mm")
        pars.add_argument("--end", default="25 mm")
        pars.add_argument("--sap", type=inkex.Boolean, default=False)
        pars.add_argument("--knots", default="out", choices=KNOT_RULES)
        pars.add_argument("--clear", default="20 mm")
        pars.add_argument("--steepest", type=float, default=10.0)
        pars.add_argument("--slope", type=float, default=12.0)
        pars.add_argument("--tries", type=int, default=6)
        pars.add_argument("--seed", type=int, default=1)
        pars.add_argument("--day", default="")

    def work(self, drawing: Drawing, options: Any) -> None:
        settings = StockSettings(
            kerf_mm=self.read_length_mm("kerf", "Kerf"),
            edge_mm=self.read_length_mm("edge", "Clear of the board's edges"),
            end_mm=self.read_length_mm("end", "Clear of the board's ends"),
            clear_mm=self.read_length_mm("clear", "Clear of defects"),
            use_sap=self.read_yes_no("sap", "Sapwood may be used"), turn_over=self.read_yes_no(
                "turn_over", "Planks may lie hidden side up"), knots=options.knots, lay=options.lay,
            most_turn_deg=options.most_turn, steepest=options.steepest, scarf_slope=options.slope,
            species=options.species.strip(), tries=options.tries, seed=options.seed)
        use_parts = self.read_yes_no("parts", "Parts of scarfed planks")
        true_size = self.read_yes_no("true_size", "Boards at true size as well")
        groups = drawing.find_groups_meant()
        names = drawing.read_names(groups[0]) if len(groups) == 1 else naming.PlankNames()
        naming.refuse_leftovers(names, {"Boards of this species only": options.species}, meant_for=options.meant_for,
                                file_name=drawing.file_name, in_dialog=self.in_dialog)
        pieces = read_pieces(drawing, groups, use_parts=use_parts)
        boards = read_stock(drawing, options.boards.strip(), unit=options.unit)
        planks = [drawing.read_plank(g) for g in groups]
        stem, owner = self.choose_place(drawing, planks, file_name=options.file_name,
                                        what=name_sheet(groups, "boards")) if boards else (None, "")
        plan = choose_stock(pieces, boards, settings=settings, progress=self.say)
        for text in plan.summary:
            self.say(text)
        told = {"settings": settings, "file_name": stem.name if stem else "", "day": options.day.strip()}
        pages = draw_board_pages(plan, pieces, boards, page=options.page, **told)
        if pages:
            files = {"%s.pdf" % stem: write_pdf(pages, title=pages[0].title)}
            self.say_when_written("The boards, a page to each behind the buying list, are in %s.pdf" % stem)
            large = draw_boards(plan, pieces, boards, **told) if true_size else None
            if large is not None:
                files["%s.svg" % stem] = write_pages_svg([large])
                self.say_when_written("The boards at true size, %.0f x %.0f mm, are in %s.svg"
                                      % (large.width_mm, large.height_mm, stem))
            self.outbox.add(files, owner=owner)
        write_stock(drawing, groups, pieces, plan)


if __name__ == "__main__":
    PlankStock().run()
