"""The plank on its sheet: the line to cut, the net outline, stations, names and arrows, and what the actions have drawn
on it.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..geometry.polyline import contains_points
from ..geometry.strokes import flatten_strokes, measure_extent, measure_extents, sample_lines
from ..model.drawing import SheetLine, SheetText
from ..model.page import Piece
from ..paper.blocks import drop_doubles, join_pieces, letter_texts, make_ring, make_stroke, move_line, move_text
from ..paper.setting import list_station_words

if TYPE_CHECKING:
    from ..geometry.arrays import Matrix
    from ..model.drawing import SawLine
    from ..model.page import PlankMatter
    from ..model.plank import Plank

__all__ = ["describe_plank", "keep_on_wood", "lay_plank", "list_outlines", "split_parts"]

_TABLE_MM = 40.0          # words this near its rules belong to it
_BEYOND_MM = 150.0        # what else stands this far beyond an end is left out


def describe_plank(plank: Plank) -> str:
    """The plank's names in one line, without what is not known."""
    parts = [plank.name, "strake %s" % plank.strake if plank.strake else "", plank.side]
    return "  ".join(p.upper() for p in parts if p)


def list_outlines(plank: Plank, saw: SawLine | None) -> list[SheetLine]:
    """The line to cut, and under a saw line the net outline, where the plank lies on the page."""
    def chain(curves):
        return np.concatenate([c.cubics for c in curves])
    if not saw:
        return [SheetLine(chain(plank.outline()), "cut", role="outline", style="edge", closed=True)]
    return [SheetLine(chain(saw.curves), "cut", role="saw", style="saw", closed=True),
            SheetLine(chain(plank.outline()), "draw", role="outline", style="outline", closed=True)]


def lay_plank(matter: PlankMatter) -> tuple[Piece, list[Piece], Matrix]:
    """Turn a plank so that its baseline lies along the sheet, with all that belongs on it.

    Parameters
    ----------
    matter : PlankMatter

    Returns
    -------
    piece : Piece
        The plank, its least x and y of what is cut at 0.
    tables : list of Piece
        What an overlay letters beside the plank, clear of its ends: to be laid below it.
    to_piece : ndarray, shape (2, 3)
        Map from the page of the drawing to the piece.
    """
    plank, saw = matter.plank, matter.saw
    base = plank.find_baseline()
    right = base[0] - base[1] if plank.forward == "right" else base[1] - base[0]
    right = right / np.hypot(*right)
    turn = np.array([[right[0], right[1]], [-right[1], right[0]]])
    outlines = list_outlines(plank, saw)
    low, high = measure_extent(outlines[0].cubics @ turn.T)
    to_piece = np.hstack([turn, -low[:, None]])
    lines, texts = [move_line(one, to_piece) for one in outlines], []

    def move(points):
        return np.asarray(points) @ turn.T - low
    for station in matter.stations:
        _add_station(lines, texts, station, move)
    _add_worst_mark(texts, lines, plank, move)
    piece, tables = Piece(tuple(lines), tuple(texts)), []
    for overlay in matter.overlays:
        on, beside = _lay_overlay(overlay, to_piece, piece, high[0] - low[0])
        piece = join_pieces(piece, on)
        tables += [beside] if beside.lines or beside.texts else []
    lines, texts = [], []
    _add_names(texts, lines, plank=plank, move=move, piece=piece)
    return join_pieces(piece, Piece(tuple(lines), tuple(texts))), tables, to_piece


def split_parts(piece: Piece) -> tuple[Piece, list[Piece]]:
    """A piece without the parts of a scarfed or butted plank that are drawn clear of it, and those parts, each a Piece.
    """
    outlines = [one for one in piece.lines if one.role == "part" and _is_shifted(one)]
    found = [([], []) for _ in outlines]
    shapes = [flatten_strokes(one.cubics, tolerance_mm=0.5)[0] for one in outlines]
    names = [(dict(one.values).get("part"), dict(one.values)["shift_mm"]) for one in outlines]

    def find(values, cubics):
        told = (dict(values).get("part"), dict(values).get("shift_mm"))
        if told in names:
            return names.index(told)
        middle = np.mean(measure_extent(cubics), axis=0)[None]
        return next((k for k, shape in enumerate(shapes) if contains_points(shape, middle)[0]), None)
    lines, texts = [], []
    for one in piece.lines:
        k = find(one.values, one.cubics)
        (lines if k is None else found[k][0]).append(one)
    for text in piece.texts:
        drawn = letter_texts((text,))
        k = find((), drawn[0].cubics) if drawn else None
        (texts if k is None else found[k][1]).append(text)
    return Piece(tuple(lines), tuple(texts)), [Piece(tuple(a), tuple(b)) for a, b in found]


def _is_shifted(line):
    """Whether a part is drawn apart from the plank: one that is not lies over the plank's own lines."""
    return any(float(v) for v in dict(line.values).get("shift_mm", "").split())


def keep_on_wood(piece: Piece) -> Piece:
    """A piece without what lies outside its line to cut: neighbours' joints and blocks, which would only take up the
    roll.
    """
    outline = flatten_strokes(next(one for one in piece.lines if one.pen == "cut").cubics, tolerance_mm=0.1)[0]

    def lies_on(cubics):
        low, high = measure_extent(cubics)
        return bool(contains_points(outline, [low, high, (low[0], high[1]), (high[0], low[1])]).any()
                    and contains_points(outline, [(low + high) / 2])[0])
    lines = tuple(one for one in piece.lines if one.pen == "cut" or one.role == "outline" or lies_on(one.cubics)
                  or _runs_along(one, outline))
    texts = tuple(one for one in piece.texts if all(lies_on(drawn.cubics) for drawn in letter_texts((one,))))
    return Piece(lines, texts)


def _runs_along(line, outline):
    """Whether a closed line, a face of the board for instance, fills the outline but for its rim."""
    if not line.closed:
        return False
    size, whole = np.ptp(measure_extent(line.cubics), axis=0), np.ptp(outline, axis=0)
    return bool(np.all(np.abs(size - whole) < 0.25 * whole) and np.all(size <= whole + 1e-6))


def _lay_overlay(overlay, to_piece, piece, length_mm):
    """An overlay moved onto the sheet, in two: what lies on and about the plank, and its ruled table beside it."""
    # the face of the board that is the plank's own outline is drawn already, whatever its look
    fresh = drop_doubles([move_line(line, to_piece) for line in overlay.lines], earlier=piece.lines)
    have = {(t.text, t.at_mm) for t in piece.texts}
    words = [(t, drawn) for t in (move_text(t, to_piece) for t in overlay.texts) for drawn in letter_texts((t,))
             if (t.text, t.at_mm) not in have]

    boxes = measure_extents([one.cubics for one in fresh]), measure_extents([drawn.cubics for _, drawn in words])
    # all of its rules: wood left on a raked end may reach over where the table begins
    rules = [box for one, box in zip(fresh, boxes[0]) if one.role == "rule"]
    low, high = (np.min([r[0] for r in rules], axis=0),
                 np.max([r[1] for r in rules], axis=0)) if rules else (np.full(2, np.inf), np.full(2, -np.inf))

    def is_tabled(box):
        return bool(np.all(box[0] > low - _TABLE_MM) and np.all(box[1] < high + _TABLE_MM))

    def sort(things, places):
        """On the plank or near it, and in the table; neighbours' joints far beyond the ends are told in the rows, and
        only lengthen the sheet.
        """
        on = [one for one, box in zip(things, places) if not is_tabled(box)
              and not _stands_clear(box, length_mm, _BEYOND_MM)]
        return tuple(on), tuple(one for one, box in zip(things, places) if is_tabled(box))
    lines, texts = sort(fresh, boxes[0]), sort([t for t, _ in words], boxes[1])
    return Piece(lines[0], texts[0]), Piece(lines[1], texts[1])


def _stands_clear(box, length_mm, by_mm):
    return box[0][0] > length_mm + by_mm or box[1][0] < -by_mm


def _add_station(lines, texts, station, move):
    line = move(station.line)
    lines.append(make_stroke(*line, role="station", style="station",
                             values=(("station", station.label), ("width_mm", station.width_mm),
                                     ("distance_mm", station.distance_mm))))
    for text, at, height, angle in list_station_words(station, line):
        texts.append(SheetText(text, tuple(map(float, at)), height, angle, role="label"))


def _add_worst_mark(texts, lines, plank, move):
    """A ring about the mark that lies farthest off its fair edge, with how far."""
    worst = max(plank.marks, key=lambda m: abs(m.residual_mm), default=None)
    if worst is None or abs(worst.residual_mm) < 0.05:
        return
    at = move([worst.point])[0]
    middle = move(plank.find_baseline()).mean(axis=0)
    # the words stand on the wood, where they stay with the piece
    down = 1.0 if at[1] < middle[1] else -1.0
    lines.append(make_ring(at, 5.0, values=(("residual_mm", float(worst.residual_mm)),)))
    # the station's words are on its other side
    texts.append(SheetText("%.1f" % abs(worst.residual_mm), (float(at[0] - 6.5), float(at[1] + down * 5.0 + 1.5)),
                           height_mm=3.0, angle_deg=0.0, anchor="end", style="doubtful", role="label"))


def _gather_taken(piece):
    """Points (n, 2) along all that a piece draws and letters, by their x: what its name is to keep clear of."""
    taken = sample_lines([one.cubics for one in (*piece.lines, *letter_texts(piece.texts))], tolerance_mm=0.5,
                         step_mm=3.0)
    return taken[np.argsort(taken[:, 0], kind="stable")]


def _add_names(texts, lines, plank, move, piece):
    """Name, face, FWD and UP inside the outline, so that they stay with the piece that is cut out, where least else is
    drawn.
    """
    taken = _gather_taken(piece)

    def count_taken(at, wide, tall, angle_deg=0.0):
        a, reach = np.radians(angle_deg), np.hypot(wide, tall) / 2 + 1e-6
        first, last = np.searchsorted(taken[:, 0], [at[0] - reach, at[0] + reach])
        away = np.abs((taken[first:last] - at) @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]))
        return int(np.count_nonzero(np.all(away <= [wide / 2, tall / 2], axis=1)))
    upper, lower = plank.edges["upper"].curve, plank.edges["lower"].curve
    length = upper.measure_length_mm()
    name = "%s   %s FACE UP" % (describe_plank(plank), plank.seen_from.upper())

    # for lettering the run may be read off between places a hundredth of the length apart
    shares = np.linspace(0, 1, 101)
    above = upper.evaluate(upper.find_places(length * shares))
    below = lower.evaluate([lower.find_nearest(u)[0] for u in above])
    table = np.hstack([move((above + below) / 2), move(above), np.hypot(*(above - below).T)[:, None]])

    def find_middle(share):
        row = [float(np.interp(share, shares, column)) for column in table.T]
        return np.array(row[:2]), np.array(row[2:4]), row[4]

    def find_back(share):
        """Unit direction of the run there, towards the aft end."""
        ahead, behind = find_middle(max(share - 0.05, 0.0))[0], find_middle(min(share + 0.05, 1.0))[0]
        return (behind - ahead) / np.hypot(*(behind - ahead))
    # FWD: an arrow along the run, a little way in from the fore end; UP: towards the upper edge; the name between them
    # and the butt
    share = 0.06 if length > 900 else 0.15
    width, wide = find_middle(share)[2], find_middle(0.5)[2]
    size = float(np.clip(0.3 * width, 12.0, min(45.0, 0.06 * length + 6.0)))
    share = min((share + step * 0.3 * size / length for step in range(9)),
                key=lambda s: count_taken(find_middle(s)[0] + find_back(s) * 1.2 * size, 3.2 * size, 1.3 * size))
    spot, top, width = find_middle(share)
    room = 2 * (length * (0.5 - share) - 3.4 * size)
    height = min(0.14 * wide, 14.0, room / max(text_width_mm(name, height_mm=1.0), 1.0))
    height = max(float(height), 2.5)
    at, height, angle, down = _find_room(name, height,
                                         find_loose=lambda h: max(0.5 - share - (3.4 * size + 0.55 * text_width_mm(
                                             name, height_mm=h)) / length, 0.0), find_middle=find_middle,
                                         find_back=find_back, count_taken=count_taken)
    texts.append(SheetText(name, tuple(map(float, at + down * height / 2)), height_mm=height, angle_deg=angle,
                           anchor="middle", role="name"))
    bow = move(plank.find_baseline()[0]) - move(plank.find_baseline()[1])
    bow = bow / np.hypot(*bow)
    _add_arrow(lines, spot - bow * size, tip=spot, word="FWD", texts=texts, size=size)
    up = (top - spot) / max(np.hypot(*(top - spot)), 1e-9)
    aft_spot = spot - bow * (size * 2.2)
    _add_arrow(lines, aft_spot + up * (-size * 0.5), tip=aft_spot + up * size * 0.5, word="UP", texts=texts, size=size)


def _find_room(name, height_mm, find_loose, find_middle, find_back, count_taken):
    """Where the plank's name covers least: its middle, the height of its letters (smaller ones where only they have
    room), their turn, and the way down.
    """
    best = None
    for height in (height_mm, 0.75 * height_mm, 0.5 * height_mm, max(0.35 * height_mm, 3.0)):
        loose = find_loose(height)
        for share in 0.5 + loose * np.concatenate([[0.0], *([-v, v] for v in np.linspace(0.05, 1.0, 20))]):
            run = -find_back(share)
            run = run if run[0] > 0 else -run
            down, angle = np.array([-run[1], run[0]]), float(np.degrees(np.arctan2(run[1], run[0])))
            middle, _, wide = find_middle(share)
            for off in (0.0, -0.22, 0.22):
                at = middle + off * wide * down
                cover = count_taken(at, text_width_mm(name, height_mm=height) + height, 1.6 * height, angle)
                if best is None or cover < best[0]:
                    best = (cover, (at, height, angle, down))
                if not cover:
                    return best[1]
    return best[1]


def _add_arrow(lines, tail, tip, word, texts, size):
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    lines.append(make_stroke(tail, tip, style="arrow", role="arrow"))
    for s in (1, -1):
        lines.append(make_stroke(tip, tip - way * size * 0.25 + side * s * size * 0.12, style="arrow", role="arrow"))
    high = float(np.clip(size * 0.22, 4, 9))
    if word == "FWD":
        at, anchor = (tail + tip) / 2 + np.array([0.0, high * 1.8]), "middle"
    else:
        at, anchor = (tail + tip) / 2 + np.array([high * 0.7, high * 0.5]), "start"
    texts.append(SheetText(word, tuple(map(float, at)), height_mm=high, angle_deg=0.0, anchor=anchor, role="name"))
