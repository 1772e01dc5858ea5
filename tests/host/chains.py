"""The sample planks taken through the actions: what is selected, and the settings.

Strake 5's three drawings go from trace, marks or edges to the sheet; strake 3's through all that is done to the wood;
strake 6's photographs to marks.
"""
from __future__ import annotations

import importlib.util
import shutil
import sys
from dataclasses import dataclass

from host.scripts import SAMPLES

__all__ = ["ADDED_MM", "CHAINS", "SCANS", "WOOD", "Chain", "hull", "lay_out", "truth"]

_NAMES = {"boat": "Tamsin Grey", "strake": "5", "side": "starboard", "face": "inboard", "thickness": "7/8 in",
          "forward": "right"}
# every edge its own allowance, in units of several kinds
_ALLOWANCE = {"upper": "3", "lower": "1/8 in", "fore": "2.5 cm", "aft": "0-0-6"}
ADDED_MM = {"upper": 3.0, "lower": 3.175, "fore": 25.0, "aft": 19.05}


@dataclass(frozen=True)
class Chain:
    """A drawing, (script, selected ids, settings) in order, and the tables beside the drawing that the settings name.
    """

    drawing: object
    steps: tuple
    tables: tuple = ()

    @property
    def scripts(self):
        """Names of the scripts in order."""
        return [s for s, _, _ in self.steps]

    def spell_for_editor(self):
        """The steps as run_actions wants them."""
        said = []
        for script, select, _ in self.steps:
            said += ["select-by-id:" + ",".join(select)] * bool(select) + [script]
        return said

    def list_settings(self):
        """{script: settings}"""
        return {script: settings for script, _, settings in self.steps}


def _make(name, select, fair, stations, frames=(), **plot):
    return Chain(SAMPLES / name,
                 (("plank_fair", select, {"meant_for": name, **_NAMES, **fair}), ("plank_stations", frames, stations),
                                  ("plank_allowance", (), _ALLOWANCE),
                  ("plank_plot", (), {"file_name": "sheet", "margin": "20 mm", **plot})))


CHAINS = {
    "traced": _make("strake_5_traced.svg", ("path66",), {"line_edge": "middle"},
                    {"meant_for": "5 starboard", "source": "ticks", "first_label": "7"}, pdf="true"),
    "marks": _make("strake_5_marks.svg", ("marks", "ends"),
                   {"honest_error": "0.3", "doubtful": "leave out", "comb": "true"}, {"source": "marks"}, pdf="false",
                   sheets="roll", dxf="true", hpgl="true", apart="true"),
    "edges": _make("strake_5_edges.svg", ("edges",), fair={},
                   stations={"source": "lines", "square_to": "drawn", "first_label": "F07", "numbers": "false",
                    "meant_for": "5 starboard"}, frames=("frames",), pdf="false", dxf="true", hpgl="true",
                   knife_offset="0.5 mm"),
}

_MEANT = {"meant_for": "3 starboard"}             # a dialog keeps what was typed for the last plank
_PLANK = ("plank-1",)                             # the copy that Other Hand lays beside it is another
# a bilge plank, its readings in a table beside the drawing; hull.py lays the widths flat as they are straight across,
# so they are chords
WOOD = Chain(SAMPLES / "side" / "side.svg", (
    ("plank_fair", ("edges_3f",), {"meant_for": "side.svg", "boat": "Tamsin Grey", "strake": "3", "side": "starboard",
                                   "face": "inboard", "forward": "right", "thickness": "25 mm"}),
    ("plank_stations", ("frames_3f",), {**_MEANT, "source": "lines", "square_to": "drawn", "first_label": "2"}),
    ("plank_section", (), {**_MEANT, "table": "frames_3f.csv", "pattern": "4 mm", "widths": "chord", "read": "square",
                           "seam_rule": "sixteenth", "seam_share": "both",
                           "sizes": "metric", "species": "western larch"}),
    ("plank_joints", (), {**_MEANT, "joints": "scarf 8-9", "slope": "8", "rule": "three-and-three",
                          "fore_end": "hood", "aft_end": "butt", "joint_file": "joints.csv",
                          "frame_file": "frames.csv", "siding": "45 mm", "map_file": "butt_map"}),
    ("plank_fastenings", (), {"sided": "45 mm", "list_file": "to_buy"}),
    ("plank_allowance", (), {**_MEANT, "upper": "3 mm", "lower": "1/8 in", "fore": "25 mm", "aft": "1 in",
                             "species": "western larch", "hanging": "15", "afloat": "25"}),
    ("plank_turn", (), {**_MEANT, "symmetry": "diagonals, M. Orme, 3 May"}),
    ("plank_stock", _PLANK, {**_MEANT, "boards": "boards.csv", "species": "western larch", "file_name": "boards",
                             "true_size": "true"}),
    ("plank_check", _PLANK, {**_MEANT, "true_length": "3103 mm", "frame": "8", "frame_width": "148 mm",
                             "moisture": "15", "file_name": "checked"}),
    ("plank_record", _PLANK, {**_MEANT, "folder": "records", "file_name": "record", "measured_by": "M. Orme"})),
             ("frames_3f.csv", "joints.csv", "frames.csv", "boards.csv"))

_TAPE = {"honest_error": "0.2 mm"}
# two photographs to one set of marks
SCANS = Chain(SAMPLES / "strake_6" / "strake_6_marked.svg", (
    ("plank_true_up", ("photo_aft",), {"map": "perspective", **_TAPE}),
    ("plank_true_up", ("photo_fore",), {"map": "perspective", **_TAPE}),
    ("plank_join", ("photo_aft", "photo_fore"), _TAPE),
    ("plank_marks", ("photo_aft", "photo_fore"), {"line_edge": "inboard", "least_error": "0.2 mm", "reach": "40 mm"})))


def lay_out(chain, folder):
    """A chain's drawing for it to be run in a folder: where it needs tables, a copy beside copies of them, and a folder
    for its record.
    """
    if not chain.tables:
        return chain.drawing
    (folder / "records").mkdir(parents=True)
    for name in (chain.drawing.name, *chain.tables):
        shutil.copy(chain.drawing.parent / name, folder / name)
    return folder / chain.drawing.name


def _load(path):
    spec = importlib.util.spec_from_file_location("tamsin_grey_" + path.stem, path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module               # a dataclass looks for its module there
    spec.loader.exec_module(module)
    return module


truth, hull = _load(SAMPLES / "truth.py"), _load(SAMPLES / "side" / "hull.py")
