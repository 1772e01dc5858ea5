"""The layer of Hollow and Bevels: a Board written with its drawing, and rebuilt from it."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...actions import SECTION
from ...errors import PatternError
from ...geometry import arrays
from ...geometry.bezier import flatten_cubics
from ...model.board import Board, Seam, Section, lay_on_board
from ...model.plank import EDGE_NAMES
from .. import names
from ..overlay import read_overlay, write_overlay
from ..pathdata import cut_pieces
from ..planks import describe_group
from .lines import read_stations

if TYPE_CHECKING:
    from ...model.drawing import Overlay, Station
    from ...model.plank import Plank
    from ..drawing import Drawing
    from ..names import Element
    from ..write import LayerWriter

__all__ = ["read_board", "read_other_planks", "read_struck", "write_board"]

_FACES = ("drawn-face", "other-face")
_NUMBERS = ("distance_mm", "inside_mm", "outside_mm", "hollow_mm", "rounding_mm", "stock_mm", "thickness_mm")


def write_board(drawing: Drawing, group: Element, board: Board, overlay: Overlay) -> LayerWriter:
    """Write the drawing of a Board, as its action has laid it out, and the numbers by which `read_board` finds it
    again.
    """
    return write_overlay(
        drawing, group, overlay, layer=SECTION.layer, label=SECTION.label, face=board.face,
        thickness_mm=float(board.thickness_mm), stock_mm=float(board.stock_mm),
        given_stock_mm=float(board.given_stock_mm),
        stock_name=board.stock_name, length_added_mm=float(board.length_added_mm), turn_deg=float(board.turn_deg),
        includes=" ".join(board.includes),
        seam_rule=board.seam.rule, seam_source=board.seam.source, seam_gap_mm=float(board.seam.gap_mm),
        seam_share=board.seam.share)


def read_board(drawing: Drawing, group: Element) -> Board | None:
    """The Board made since the last fairing, or None where there is none.

    Raises
    ------
    PatternError
        If its drawing was changed since it was made, or the plank was faired again.
    """
    overlay = read_overlay(drawing, group, layer=SECTION.layer, action=SECTION.title)
    if overlay is None:
        return None
    layer = names.find_layer(group, SECTION.layer)
    try:
        faces = {line.role: cut_pieces(line.cubics, dict(line.values)["pieces"]) for line in overlay.lines
                 if line.role in _FACES}
        ends = [(dict(line.values), line.cubics[0, 0]) for line in overlay.lines if line.role == "section-line"]
        places = {(values["station"], values["edge"]): place for values, place in ends}
        sections = tuple(_read_section(line, places) for line in overlay.lines if line.role == "section")
        seam = Seam(names.get(layer, "seam-rule"), names.get(layer, "seam-source"),
                    float(names.get(layer, "seam-gap-mm")), names.get(layer, "seam-share"))
        numbers = [float(names.get(layer, name))
                   for name in ("thickness-mm", "stock-mm", "length-added-mm", "turn-deg")]
        drawn, other = (faces[name] for name in _FACES)
        return Board(drawn, other, sections, seam, thickness_mm=numbers[0], stock_mm=numbers[1],
                     stock_name=names.get(layer, "stock-name"), length_added_mm=numbers[2], turn_deg=numbers[3],
                     includes=tuple(names.get(layer, "includes").split()), facts=overlay.facts,
                     findings=overlay.findings, face=names.get(layer, "face"),
                     given_stock_mm=float(names.get(layer, "given-stock-mm") or 0.0))
    except (KeyError, ValueError, IndexError):
        raise PatternError("The layer %s has lost some of its numbers." % SECTION.label, SECTION.again,
                           SECTION.label) from None


def read_struck(drawing: Drawing, group: Element) -> tuple[Plank, list[Station], Board | None]:
    """A plank and its stations as they lie on the flat board: after Hollow and Bevels those of the board, otherwise as
    they were faired.

    Returns
    -------
    plank : Plank
    stations : list of Station
    board : Board or None
    """
    # read first, so that a refusal names the layer that comes first in the order of work
    stations = read_stations(drawing, group)
    board = read_board(drawing, group)
    return (*lay_on_board(drawing.read_plank(group), stations, board), board)


def read_other_planks(drawing: Drawing, group: Element) -> tuple[list[tuple[Plank, list[Station]]], list[str]]:
    """Every other plank of the drawing as it is struck, with its stations; and sentences about those that cannot be
    read until an action is run again."""
    found, left_out = [], []
    for other in drawing.find_groups():
        if other is group:
            continue
        try:
            plank, stations, _ = read_struck(drawing, other)
            found.append((plank, stations))
        except PatternError as error:
            left_out.append("Left out of this is %s: %s %s" % (describe_group(other), error.problem, error.remedy))
    return found, left_out


def _read_section(line, places):
    """A Section from the path that draws it, and the path's attributes."""
    values = dict(line.values)
    numbers = {name: float(values[name]) for name in _NUMBERS}
    radius, strain = values["radius_mm"], values["strain_ppm"]
    edges = [e for e in EDGE_NAMES if e + "_bevel_deg" in values]
    known = dict(word.split("=") for word in values["known"].split())
    return Section(
        station=values["station"], line=np.array([places[values["station"], edge] for edge in ("upper", "lower")]),
        curvature_per_mm=0.0 if radius == "flat" else 1 / float(radius),
        bevels_deg={e: float(values[e + "_bevel_deg"]) for e in edges},
        growths_mm={e: float(values[e + "_growth_mm"]) for e in edges}, known=known,
        profile=_read_profile(line.cubics, int(values["inside_pieces"])), note=values.get("note", ""),
        strain=None if strain == "unknown" else float(strain) / 1e6, **numbers)


def _read_profile(cubics, inside_pieces):
    """The section's polygon in its own axes, wherever and whichever way round it is drawn: inside corners first, then
    outward.
    """
    first, second = cubics[0, 0], cubics[inside_pieces - 1, 3]
    along = (second - first) / np.hypot(*(second - first))
    across = np.array([-along[1], along[0]])
    outside = cubics[inside_pieces, 3]
    across = across if (outside - second) @ across > 0 else -across
    points = flatten_cubics(cubics, tolerance_mm=arrays.FLATTEN_MM)[:-1] - first
    return np.stack([points @ along, points @ across], axis=1)
