"""The actions: one row each, in the order of work. Menus, README, sheet, record, check, turned copy, tests and every
remedy that names an action read this table; nothing else lists them.

The face of an action's operation is named in its row: `faces`, modules below plankcore, the only ones of their folders
that anybody else may open.
"""
from __future__ import annotations

from dataclasses import dataclass

# and each row by its name
__all__ = ["ACTIONS", "OVERLAYS", "Action"]


@dataclass(frozen=True)
class Action:
    """One action of the menu.

    Parameters
    ----------
    key : str
        extensions/plank_KEY.py and .inx, and the action's name in a recipe.
    title : str
        Its name in the menu and in every sentence.
    faces : tuple of str
        'folder.module' below plankcore: the modules of its operation that the script imports.
    layer, label : str
        The layer it owns, by `plank:layer`, and what the editor calls it; '' where it owns none.
    overlay : bool
        Whether the layer is an Overlay of the plank that the sheet lays on and that the checks read.
    heading : str
        What the record calls that layer's part; '' where the record leaves it out.
    carried : bool
        Whether a turned copy takes the Overlay along as it is. False where the layer concerns one plank alone, or where
        Other Face, Other Hand reads and turns its contents by themselves.
    """

    key: str
    title: str
    faces: tuple[str, ...]
    layer: str = ""
    label: str = ""
    overlay: bool = False
    heading: str = ""
    carried: bool = False

    @property
    def capitals(self) -> str:
        """Its name as sheet and checks letter it."""
        return self.title.upper()

    @property
    def first(self) -> str:
        """The remedy where it has not been run: 'Run Fair Plank first.'"""
        return "Run %s first." % self.title

    @property
    def again(self) -> str:
        """The remedy where what it made is out of date: 'Run Fair Plank again.'"""
        return "Run %s again." % self.title


TRUE_UP = Action("true_up", "True Up Scan", ("scan.true_up",), layer="true-up", label="True up: residuals")
JOIN = Action("join", "Join Scans", ("scan.join",), layer="join", label="Join: misfits")
MARKS = Action("marks", "Read Marks", ("scan.marks",), layer="marks", label="Marks")
FAIR = Action("fair", "Fair Plank", ("fair.fair", "scan.pattern"), layer="fair", label="Fair plank")
STATIONS = Action("stations", "Frame Stations", ("stations.strike",), layer="stations", label="Frame stations")
SECTION = Action("section", "Hollow and Bevels", ("section.board",), layer="section", label="Hollow and bevels",
                 overlay=True, heading="Hollow and bevels", carried=True)
JOINTS = Action("joints", "Scarfs and Butts", ("joints.place",), layer="joints", label="Scarfs and Butts",
                overlay=True, heading="Scarfs and butts", carried=True)
FASTENINGS = Action("fastenings", "Fastenings", ("fastenings.lay_out",), layer="fastenings", label="Fastenings",
                    overlay=True, heading="Fastenings", carried=True)
ALLOWANCE = Action("allowance", "Allowances", ("allowance.saw_line",), layer="saw", label="Saw line",
                   heading="Saw line")
STOCK = Action("stock", "Choose Stock", ("stock.choose",), layer="stock", label="Stock", overlay=True, heading="Stock")
TURN = Action("turn", "Other Face, Other Hand", ("turn.turn",), layer="turn", label="Turned", overlay=True,
              heading="Turned")
PLOT = Action("plot", "Plot Sheets", ("plot.sheet", "plot.passes", "plot.calibration", "plot.chosen", "plot.film"),
              layer="sheet", label="Plot sheet")
RECORD = Action("record", "Plank Record", ("record.build",))
CHECK = Action("check", "Check Plank", ("check.run",), layer="check", label="Check")

# collected from the rows above in their order, so that a new action needs nothing here but its row
ACTIONS = tuple(one for one in list(globals().values()) if isinstance(one, Action))
# those that draw on the plank, in the order in which they are laid on the sheet and printed in the record
OVERLAYS = tuple(one for one in ACTIONS if one.overlay)
