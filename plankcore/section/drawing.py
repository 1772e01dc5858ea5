"""A Board drawn on its plank: both faces, at each station its section at full size laid down beside the line, and a
table clear of the plank.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.curve import make_line
from ..geometry.lettering import text_width_mm
from ..model.drawing import Overlay, SheetLine, SheetText
from ..paper.blocks import list_station_words
from .shapes import EDGES, draw_profile, shape_section
from .words import list_remarks, name_table, spell_bevel, spell_end, spell_hollow

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.board import Board
    from ..model.drawing import Station
    from ..model.plank import Plank

__all__ = ["draw_board"]

_CLEAR_MM = 4.0           # distance of a section from its station's line
_TICK_MM = 5.0            # length of ticks, short enough to keep clear of the station's words at the edge
_GAP_MM = 3.0             # distance of a section's words from it
_TABLE_AWAY_MM = 45.0     # distance of the table from the plank, with room for the saw line and extra wood at the ends
_TABLE_MM = 4.0           # height of the table's capitals
_HEADS = ("STATION", "IN", "OUT", "HOLLOW", "STOCK", "FINISHED", "UPPER", "LOWER", "STRAIN", "NOTE")
_UNITS = ("", "MM", "MM", "MM", "MM", "MM", "DEG", "DEG", "MM PER M", "")


def draw_board(plank: Plank, board: Board, stations: Sequence[Station]) -> Overlay:
    """The Overlay of a Board.

    Parameters
    ----------
    plank : Plank
    board : Board
        Of this plank.
    stations : sequence of Station
        Those that it was made for; their words are kept clear.
    """
    lines = [_draw_face(board.drawn_face, "drawn-face", board.face),
             _draw_face(board.other_face, "other-face", "outboard" if board.face == "inboard" else "inboard")]
    texts = []
    by_label = {s.label: s for s in stations}
    aft = plank.find_axes()[1]
    # words stay within the area that both faces share
    edges = [[face[k].flatten(tolerance_mm=0.1) for face in (board.drawn_face, board.other_face)] for k in (0, 2)]
    for section in board.sections:
        _lay_section(lines, texts, section=section, board=board, station=by_label[section.station], aft=aft,
                     edges=edges)
    _lay_table(lines, texts, board)
    return Overlay(tuple(lines), tuple(texts), board.facts, board.findings)


def _draw_face(curves, role, face):
    cubics = np.concatenate([c.cubics for c in curves])
    return SheetLine(cubics, "draw", role=role, style=role, closed=True,
                     values=(("face", face), ("pieces", " ".join(str(len(c.cubics)) for c in curves))))


def _reshape(section, board):
    """The SectionShape of a Section, at the wanted thickness."""
    bevels = {e: np.radians(section.bevels_deg[e]) for e in EDGES}
    return shape_section(section.curvature_per_mm, section.inside_mm, board.thickness_mm, bevels_rad=bevels,
                         seams_rad=dict.fromkeys(EDGES, 0.0))


def _find_room(edges, middle, *, down, away, first, last):
    """Range along `down` that both faces cover, between `first` and `last` along `away` from `middle`."""
    at = np.linspace(first, last, 9)
    limits = []
    for runs, pick in zip(edges, (max, min)):
        found = []
        for run in runs:
            x, y = (run - middle) @ down, (run - middle) @ away
            order = np.argsort(y)
            found += list(np.interp(at, y[order], x[order]))
        limits.append(float(pick(found)))
    return limits


def _list_values(section, inside_pieces):
    """Attributes of a drawn section: (name, value) each."""
    values = [("station", section.station), ("inside_pieces", inside_pieces),
              ("radius_mm", 1 / section.curvature_per_mm if section.curvature_per_mm else "flat"),
              ("strain_ppm", "unknown" if section.strain is None else 1e6 * section.strain),
              ("known", " ".join("%s=%s" % item for item in section.known.items())), ("note", section.note)]
    values += [(name, float(getattr(section, name))) for name in (
        "distance_mm", "inside_mm", "outside_mm", "hollow_mm", "rounding_mm", "stock_mm", "thickness_mm")]
    values += [("%s_%s" % (e, name), float(kept[e])) for e in EDGES
               for name, kept in (("bevel_deg", section.bevels_deg), ("growth_mm", section.growths_mm))]
    return tuple(values)


def _lay_section(lines, texts, *, section, board, station, aft, edges):
    """One section: the width along the station's line, the inside towards it, the outside aft of it."""
    upper, lower = section.line
    down = (lower - upper) / np.hypot(*(lower - upper))
    away = np.array([-down[1], down[0]])
    away = away if away @ aft > 0 else -away
    right = away if away[0] > 0 or (away[0] == 0 and away[1] > 0) else -away
    # mark the frame at the board's edges: the station's own line belongs to the pattern, and may be some mm off
    for edge, end, way in (("upper", upper, down), ("lower", lower, -down)):
        lines.append(SheetLine(make_line(end, end + way * _TICK_MM).cubics, "draw", role="section-line",
                               style="section-line",
                               closed=False, values=(("edge", edge), ("station", section.station))))
    shape = _reshape(section, board)
    below = max(0.0, -float(shape.crown_mm))
    clear = _find_clear_mm(upper, away, station) + below
    middle = (upper + lower) / 2
    thick = section.stock_mm
    high, low = _find_room(edges, middle, down=down, away=away, first=clear + thick / 2, last=clear + thick / 2)
    origin = middle + down * ((high + low) / 2 - section.inside_mm / 2) + away * clear

    def place(points):
        points = np.asarray(points, float)
        return origin + points[..., :1] * down + points[..., 1:] * away
    cubics, inside_pieces = draw_profile(shape)
    lines.append(SheetLine(place(cubics), "draw", role="section", style="section", closed=True,
                           values=_list_values(section, inside_pieces)))
    wide = section.inside_mm
    for edge, x, sign in (("upper", 0.0, -1), ("lower", wide, 1)):
        corner = np.array([x, 0.0])
        tip = corner + np.array([sign * float(shape.growths_mm[edge]), float(shape.rises_mm[edge])])
        lines.append(SheetLine(make_line(place(corner), place(tip)).cubics, "draw", role="bevel", style="bevel",
                               closed=False,
                               values=(("edge", edge), ("station", section.station),
                                       ("bevel_deg", section.bevels_deg[edge]),
                                ("growth_mm", section.growths_mm[edge]))))
    # the faces of the flat stock it is made of
    for y in (-below, section.stock_mm - below):
        if section.curvature_per_mm and abs(section.stock_mm - board.thickness_mm) > 0.05:
            lines.append(SheetLine(make_line(place(np.array([0.0, y])), place(np.array([wide, y]))).cubics, "draw",
                                   "stock-face", "stock-face"))

    def find_room(first, last):
        """The range between the edges in the section's own axes, from one distance outward to another."""
        return [v - (origin - middle) @ down
                for v in _find_room(edges, middle, down=down, away=away, first=clear + first, last=clear + last)]
    _letter_section(texts, section, board=board, shape=shape, place=place, right=right, below=below,
                    find_room=find_room, away=away)


def _find_clear_mm(upper, away, station):
    """Distance of a section aft of the upper end of its line, so that the station's line and words stay clear."""
    edge = max(0.0, max(float((p - upper) @ away) for p in station.line))
    ends = [0.0]
    for text, at, height, angle in list_station_words(station):
        way = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
        at = np.asarray(at, float)
        ends += [float((p - upper) @ away) for p in (at, at + way * text_width_mm(text, height_mm=height))]
    return max(edge + _CLEAR_MM, max(ends) + 0.6 * _CLEAR_MM if max(ends) > 0.0 else 0.0)


def _letter_section(texts, section, *, board, shape, place, right, below, find_room, away):
    """IN and OUT inside the section, the bevels and the hollow beside it."""
    angle = float(np.degrees(np.arctan2(right[1], right[0])))
    lowers = np.array([-right[1], right[0]])          # direction from the tops of letters to their baseline
    forward = right @ away > 0

    def letter(text, x, y, height, outward):
        at = place(np.array([x, y])) + lowers * height / 2
        texts.append(SheetText(text, tuple(map(float, at)), height_mm=height, angle_deg=angle,
                               anchor="start" if forward == outward else "end",
                               role="label"))
    wide = section.inside_mm
    small = float(np.clip(board.thickness_mm / 7, 1.8, 3.5))
    x = 0.3 * wide
    crown = float(shape.crown_mm) * (1 - (2 * x / wide - 1) ** 2)
    letter("IN", x, y=crown + 0.4 * small, height=small, outward=True)
    letter("OUT", x, y=crown + board.thickness_mm - 0.4 * small, height=small, outward=False)
    height = float(np.clip(wide / 25, 2.5, 4.0))
    beside = section.stock_mm - below + _GAP_MM
    for edge in EDGES:
        text = spell_bevel(section, edge) if section.reaches(edge) else spell_end(section.known[edge])
        high, low = find_room(beside, beside + text_width_mm(text, height_mm=height))
        # inside both faces, whichever way the edges slope
        x = max(0.0, high) + 0.9 * height if edge == "upper" else min(wide, low) - 0.9 * height
        letter(text, x, y=beside, height=height, outward=True)
    if section.hollow_mm >= 0.05:
        letter(spell_hollow(section), wide / 2, y=beside, height=height, outward=True)


def _lay_table(lines, texts, board):
    """The numbers of all sections, to the right of the plank."""
    points = np.vstack([c.flatten() for c in (*board.drawn_face, *board.other_face)])
    left, top = float(points[:, 0].max()) + _TABLE_AWAY_MM, float(points[:, 1].min())
    rows = [_HEADS, _UNITS] + [_list_cells(s) for s in board.sections]
    gap, pitch = 1.6 * _TABLE_MM, 1.8 * _TABLE_MM
    used = [j for j in range(len(_HEADS)) if j < len(_HEADS) - 1 or any(r[j] for r in rows[2:])]
    wide = [max(text_width_mm(r[j], height_mm=_TABLE_MM) if r[j] else 0.0 for r in rows) for j in used]
    texts.append(SheetText(name_table(board.thickness_mm), (left, top), 1.25 * _TABLE_MM, role="label"))
    y = top + 1.3 * pitch
    total = sum(wide) + gap * (len(used) - 1)
    for number, row in enumerate(rows):
        x = left
        for j, room in zip(used, wide):
            if row[j]:
                words = j in (0, len(_HEADS) - 1)
                texts.append(SheetText(row[j], (x if words else x + room, y), _TABLE_MM,
                                       anchor="start" if words else "end", role="label"))
            x += room + gap
        if number == 1:
            lines.append(_rule(left, left + total, y + 0.45 * _TABLE_MM))
        y += pitch
    lines.append(_rule(left, left + total, y - pitch + 0.45 * _TABLE_MM))


def _rule(first, last, y):
    return SheetLine(make_line((first, y), (last, y)).cubics, "draw", "rule", "note")


def _spell_strain(share):
    """In mm in a metre."""
    text = "%.1f" % (1000 * share)
    return "0.0" if text == "-0.0" else text


def _list_cells(section):
    """One row of the table."""
    bevels = ["%+.1f" % section.bevels_deg[e] if section.reaches(e) else "NONE" for e in EDGES]
    return (section.station.upper(), "%.1f" % section.inside_mm, "%.1f" % section.outside_mm,
            "%.1f" % section.hollow_mm, "%.1f" % section.stock_mm, "%.1f" % section.thickness_mm,
            *("0.0" if b in ("+0.0", "-0.0") else b for b in bevels),
            "?" if section.strain is None else _spell_strain(section.strain), "; ".join(list_remarks(section)))
