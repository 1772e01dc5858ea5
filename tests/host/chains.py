"""The sample strake's three drawings, each taken through all actions: what is selected, and the settings."""
from __future__ import annotations

import importlib.util
from dataclasses import dataclass, field

from host.scripts import SAMPLES

__all__ = ["Chain", "CHAINS", "truth"]

_NAMES = {"boat": "Tamsin Grey", "strake": "5", "thickness": "7/8 in", "forward": "right"}
# every edge its own allowance, in units of several kinds
_ALLOWANCE = {"upper": "3", "lower": "1/8 in", "fore": "2.5 cm", "aft": "0-0-6"}
ADDED_MM = {"upper": 3.0, "lower": 3.175, "fore": 25.0, "aft": 19.05}


@dataclass(frozen=True)
class Chain:
    """A drawing, and (script, selected ids, settings) in order."""

    drawing: object
    steps: tuple
    settings: dict = field(default_factory=dict)

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
    return Chain(SAMPLES / name, (("plank_fair", select, {**_NAMES, **fair}), ("plank_stations", frames, stations),
                                  ("plank_allowance", (), _ALLOWANCE), ("plank_plot", (), {"file_name": "sheet", "margin": "20 mm", **plot})))


CHAINS = {
    "traced": _make("strake_5_traced.svg", ("path66",), {"line_edge": "middle"}, {"source": "ticks", "first_label": "7"}, pdf="true"),
    "marks": _make("strake_5_marks.svg", ("marks", "ends"), {"honest_error": "0.3", "doubtful": "leave out", "comb": "true"}, {"source": "marks"}, pdf="false"),
    "edges": _make("strake_5_edges.svg", ("edges",), {}, {"source": "lines", "square_to": "drawn", "first_label": "F07"}, ("frames",), pdf="false"),
}


def _load_truth():
    spec = importlib.util.spec_from_file_location("tamsin_grey_truth", SAMPLES / "truth.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


truth = _load_truth()
