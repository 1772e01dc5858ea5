"""Boards read from a table and from the page, as StockBoards."""
from __future__ import annotations

import os
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ...errors import DocumentError, PatternError, SelectionError, SettingError
from ...geometry.bezier import flatten_cubics
from ...geometry.convex import find_least_rectangle
from ...geometry.polyline import contains_points, draw_disc, measure_area_mm2
from ...model.stock import Defect, StockBoard
from ...units import parse_length_mm
from .. import names
from ..read import list_candidates, read_trace
from ..transforms import apply
from .table import Column, read_table_file

if TYPE_CHECKING:
    from ..drawing import Drawing

__all__ = ["read_stock"]

_COLUMNS = (
    Column("id", required=True), Column("length", "length", least=50, most=30000),
    Column("width", "length", least=10, most=3000), Column("outline", otherwise=""),
    Column("thickness", "length", required=True, least=2, most=300), Column("moisture", "number", least=0, most=200),
    Column("species", otherwise=""),
    Column("grain", "number", least=-45, most=45), Column("knots", otherwise=""), Column("defects", otherwise=""),
    Column("sap", "length", least=0, most=500, otherwise=0.0),
    Column("sap edge", "choice", choices=("both", "upper", "lower"), otherwise="both"), Column("note", otherwise=""),
)
_BOARD = re.compile(r"^\s*board\s+([^\s,:;]+)\s*[,:;]?\s*(.*)$", re.IGNORECASE)
_MARK = re.compile(r"^\s*(knot|defect|split|shake|rot|grain)s?\b", re.IGNORECASE)
_PLACES = ("Write circles as x,y,r and other shapes as x,y x,y x,y, from the board's left end and its upper edge, "
           "divided by semicolons.")
_FLAT_MM = 0.05
_GRAIN_PLACES = 21


def read_stock(drawing: Drawing, path: str, *, unit: str) -> list[StockBoard]:
    """All boards: those of the table, by their order there, then those that are drawn on the page and not named in it.

    Parameters
    ----------
    drawing : Drawing
        Closed outlines labelled 'board B7, 32 mm' are boards; shapes on them labelled knot, defect, split, shake or rot
        are defects, and a line labelled grain gives the direction of the grain.
    path : str
        A CSV file, or ''. A relative path is looked for beside the drawing.
    unit : str
        Of bare lengths.

    Returns
    -------
    list of StockBoard

    Raises
    ------
    DocumentError
        Where the table is wrong; the message names row and column.
    SelectionError, PatternError
        Where a drawn board is.
    """
    drawn = _read_drawn(drawing, unit)
    boards, used = [], set()
    for row in read_table_file(path, _COLUMNS, unit=unit, folder=drawing.home) if path else ():
        where = "%s, row %d" % (os.path.basename(path), row["row"])
        if any(b.label.lower() == row["id"].lower() for b in boards):
            raise DocumentError("The board '%s' stands there twice." % row["id"], "Give each board its own id.",
                                where + ", column id")
        key = (row["outline"] or row["id"]).lower()
        key = key[6:].strip() if key.startswith("board ") else key
        sized = row["length"] is not None and row["width"] is not None
        if row["outline"] and key not in drawn:
            raise DocumentError("No outline on the page is labelled 'board %s'." % (row["outline"]),
                                "Label the board's closed outline so, or give length and width.",
                                where + ", column outline")
        if not sized and key not in drawn:
            column = "length" if row["length"] is None else "width"
            raise DocumentError("The board '%s' has no %s, and no outline on the page is labelled 'board %s'."
                                % (row["id"], column, row["id"]),
                                "Give length and width, or draw its outline.", "%s, column %s" % (where, column))
        if sized and row["outline"]:
            raise DocumentError("The board '%s' has both a size and a drawn outline." % row["id"],
                                "Leave length and width empty where the outline counts.", where + ", column outline")
        boards.append(_make_board(row, None if sized else drawn[key], unit, where))
        used.add(None if sized else key)
    for key, board in drawn.items():
        if key in used:
            continue
        if any(b.label.lower() == key for b in boards):
            raise SelectionError("Board %s is drawn on the page, and the table gives it a size." % board.label,
                                 "Leave its length and width empty in the table, or take one of them away.",
                                 board.where)
        if not board.thickness_mm:
            raise SelectionError("Board %s is drawn, but nothing tells its thickness." % board.label,
                                 "Label it 'board %s, 32 mm', or give it a row in the table." % board.label,
                                 board.where)
        boards.append(board)
    return boards


def _make_board(row, drawn, unit, where):
    sap = tuple(row["sap"] if row["sap edge"] in ("both", side) else 0.0 for side in ("upper", "lower"))
    if drawn is None:
        length, width = row["length"], row["width"]
        if width > length:
            raise DocumentError("Board %s is %g mm long and %g mm wide." % (row["id"], length, width),
                                "The length is the greater.", where + ", column width")
        outline = np.array([[0, 0], [length, 0], [length, width], [0, width]], float)
        grain, defects = np.zeros((1, 2)), ()
    else:
        outline, grain, defects = drawn.outline, drawn.grain, drawn.defects
        length, width = drawn.length_mm, drawn.width_mm
    if sum(sap) >= width:
        raise DocumentError("Board %s has nothing left between its sapwood." % row["id"],
                            "Give less than half its width.", where + ", column sap")
    grain = np.array(((0.0, row["grain"]),)) if row["grain"] is not None else grain
    written = tuple(d for column, kind in (("knots", "knot"), ("defects", "defect"))
                    for d in _read_defects(row[column], kind, unit=unit, spot="%s, column %s" % (where, column),
                                           length=length, width=width))
    return StockBoard(row["id"], outline, thickness_mm=row["thickness"], grain=grain,
                      moisture_percent=row["moisture"], species=row["species"],
                      defects=(*defects, *written), sap_mm=sap, drawn=drawn is not None, where=where)


def _read_defects(text, kind, *, unit, spot, length, width):
    """Defects written in a cell."""
    for part in (p.strip() for p in text.split(";")):
        if not part:
            continue
        groups = [[_read_number(v, unit, spot) for v in g.split(",")] for g in part.split()]
        if len(groups) == 1 and len(groups[0]) == 3:
            x, y, radius = groups[0]
            if not 0 < radius <= 1000:
                raise DocumentError("A radius of %g mm cannot be that of a defect." % radius,
                                    "Give more than 0 and at most 1000 mm.", spot)
            outline = draw_disc((x, y), radius)
        elif len(groups) >= 3 and all(len(g) == 2 for g in groups):
            outline = np.array(groups)
        else:
            raise DocumentError("'%s' is no circle and no shape." % part, _PLACES, spot)
        low, high = outline.min(axis=0), outline.max(axis=0)
        if high[0] < 0 or high[1] < 0 or low[0] > length or low[1] > width:
            raise DocumentError("'%s' lies outside the board." % part,
                                "The board is %g x %g mm. %s" % (length, width, _PLACES), spot)
        yield Defect(kind, outline)


def _read_number(text, unit, spot):
    try:
        return parse_length_mm(text, unit=unit, field=spot)
    except SettingError:
        raise DocumentError("'%s' is not a length." % text.strip(), _PLACES, spot) from None


def _read_drawn(drawing, unit):
    """{label in lower case: StockBoard} of the outlines on the page, with their defects and grain; thickness 0 where
    the label gives none."""
    boards, maps, marks = {}, {}, []
    for element in list_candidates(drawing.root):
        label = element.get("{%s}label" % names.INKSCAPE) or ""
        board, mark = _BOARD.match(label), _MARK.match(label)
        if board:
            name, rest = board.groups()
            _read_outline(read_trace(element, drawing.page), name, rest, unit, boards=boards, maps=maps)
        elif mark:
            marks.append((element, mark.group(1).lower()))
    for element, word in marks if boards else ():
        trace = read_trace(element, drawing.page)
        runs = [_flatten(run) for run in trace.runs]
        middle = (np.concatenate(runs).min(axis=0) + np.concatenate(runs).max(axis=0)) / 2
        key = next((k for k, b in boards.items() if contains_points(b.outline, apply(maps[k], middle[None]))[0]), None)
        if key is None:
            raise SelectionError("%s lies on no board." % trace.label,
                                 "Move it onto a board, or take '%s' out of its label." % word, trace.label)
        runs = [apply(maps[key], run) for run in runs]
        if word == "grain":
            boards[key] = replace(boards[key], grain=_read_grain(runs[0], trace.label))
        else:
            # a crack drawn as an open line becomes a closed outline: along it and back
            shapes = [run if closed else np.vstack([run, run[-2:0:-1]]) for run, (_, closed) in zip(runs, trace.runs)]
            boards[key] = replace(boards[key],
                                  defects=(*boards[key].defects,
                                           *(Defect("knot" if word == "knot" else "defect", s) for s in shapes)))
    return boards


def _flatten(run):
    points = flatten_cubics(run[0], tolerance_mm=_FLAT_MM)
    return points[:-1] if run[1] and np.hypot(*(points[-1] - points[0])) < 1e-6 else points


def _read_outline(trace, name, rest, unit, *, boards, maps):
    key = name.lower()
    if key in boards:
        raise SelectionError("Two outlines on the page are labelled 'board %s'." % name, "Give each its own name.",
                             trace.label)
    if len(trace.runs) != 1 or not trace.runs[0][1]:
        raise PatternError("The outline of board %s is not one closed line." % name,
                           "Join its end nodes, and draw its defects as shapes of their own.", trace.label)
    thickness = 0.0
    if rest.strip():
        try:
            thickness = parse_length_mm(rest, unit=unit, field="label of %s" % trace.label, least_mm=2, most_mm=300)
        except SettingError as error:
            raise SelectionError("After its name the label of board %s holds '%s', which is no thickness. %s"
                                 % (name, rest.strip(), error.problem),
                                 "Label it 'board %s, 32 mm'." % name, trace.label) from None
    points = _flatten(trace.runs[0])
    if abs(measure_area_mm2(points)) < 1000:
        raise PatternError("The outline of board %s has no size." % name, "Draw it at true size.", trace.label)
    a = np.radians(find_least_rectangle(points).turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    low = (points @ turn.T).min(axis=0)
    maps[key] = np.hstack([turn, -low[:, None]])
    boards[key] = StockBoard(name, apply(maps[key], points), thickness, drawn=True, where=trace.label)


def _read_grain(run, label):
    """(x, degrees) along a line drawn with the grain."""
    step = np.diff(run, axis=0)
    if abs(run[-1, 0] - run[0, 0]) < 50:
        raise SelectionError("The line %s is too short to tell the grain." % label,
                             "Draw it along the board, 50 mm or more.", label)
    step = step * np.sign(run[-1, 0] - run[0, 0])
    sound = step[:, 0] > 1e-9
    if not sound.all():
        raise SelectionError("The line %s turns back on itself." % label, "Draw it along the board.", label)
    x, way = (run[1:, 0] + run[:-1, 0]) / 2, np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    order = np.argsort(x)
    x, way = x[order], way[order]
    if np.ptp(way) < 0.01:
        return ((0.0, float(way[0])),)
    even = np.linspace(x[0], x[-1], _GRAIN_PLACES)
    return np.stack([even, np.interp(even, x, way)], axis=1)
