"""Bytes of a plot in each format, and lifts, way and time of a pen, beside their limits.

Run: python tests/benchmarks/plot_files.py [DRAWING.svg ...], drawings that hold fair planks; each is plotted on one
sheet if it holds one plank, else on a roll of 36 in. Without drawings: invented planks of tests/plots.py, one on a
sheet and eight on a roll.
"""
import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[1]), str(Path(__file__).resolve().parents[2])]

from plots import make_matter

from plankcore.document.drawing import Drawing
from plankcore.document.extension import load_document
from plankcore.document.files.dxf import write_dxf
from plankcore.document.files.hpgl import lay_strokes, write_hpgl
from plankcore.document.files.pdf import write_pdf
from plankcore.document.files.sheet import write_pages_svg
from plankcore.document.layers.state import read_matter
from plankcore.plot.chosen import PLOTTED, cut_parts
from plankcore.plot.passes import PenSpeeds, measure_passes, order_cuts, plan_passes
from plankcore.plot.sheet import SheetSettings, lay_out_matter, lay_out_roll, make_page

SHEET = {"svg": 300e3, "pdf": 300e3, "lifts": 1500}
ROLL = {"svg": 3e6, "pdf": 3e6, "dxf": 3e6, "plt": 3e6, "lifts": 15000}


def measure(matters, plotted):
    settings = SheetSettings(plotted=plotted)
    page = make_page(lay_out_matter(matters[0], settings=settings), settings=settings) if len(matters) == 1 \
        else lay_out_roll(matters, settings=settings)[0][0]
    page = order_cuts(page)
    passes = lay_strokes(plan_passes(page), height_mm=page.height_mm)
    figures = measure_passes(passes, start_mm=(0.0, page.height_mm))
    return {"svg": len(write_pages_svg([page])), "pdf": len(write_pdf([page], title="T")),
            "dxf": len(write_dxf([page])),
            "plt": len(write_hpgl(passes, height_mm=page.height_mm)), "lifts": figures.lifts,
            "down m": round(figures.down_mm / 1000, 1), "up m": round(figures.up_mm / 1000, 1),
            "min": round(figures.estimate_seconds(PenSpeeds()) / 60, 1)}


def read_matters(path):
    drawing = Drawing(load_document(Path(path).read_bytes(), where=path).getroot())
    return [cut_parts(read_matter(drawing, group)) for group in drawing.find_groups_meant(otherwise_all=True)]


def main():
    lots = {path: read_matters(path) for path in sys.argv[1:]} or {
        "an invented plank": [make_matter(length=3000.0, width=150.0)],
        "eight of them": [make_matter(strake=str(k), length=2000.0 + 150 * k, width=140.0) for k in range(8)]}
    for name, matters in lots.items():
        limits = SHEET if len(matters) == 1 else ROLL
        for plotted in PLOTTED:
            print("%s, %s" % (name, plotted))
            for key, value in measure(matters, plotted).items():
                print("  %-7s %10s%s" % (key, value, "  limit %d%s" % (limits[key], "" if value <= limits[key] else
                                                                      "  OVER") if key in limits else ""))


if __name__ == "__main__":
    main()
