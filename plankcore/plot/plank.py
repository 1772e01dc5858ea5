"""The plank on its sheet: the line to cut, the net outline, stations, names and arrows, and what the actions have drawn
on it.
"""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.polyline import contains_points
from ..geometry.strokes import flatten_strokes, measure_extent, measure_extents
from ..model.drawing import SheetLine
from ..model.page import SheetBlock
from ..paper.blocks import drop_doubles, join_blocks, letter_texts, make_ring, make_stroke, move_line, move_text
from ..paper.room import Room, WordBlock, make_block
from .cards import lay_cards, letter_sections, move_sections, read_sections
from .line_names import draw_baseline, letter_baseline, name_lines
from .strip import LyingPlank, lay_arrows, lay_names

if TYPE_CHECKING:
    from ..geometry.arrays import Matrix
    from ..model.drawing import SawLine
    from ..model.page import PlankMatter
    from ..model.plank import Plank
    from ..paper.room import Bounds

__all__ = ["describe_plank", "is_shifted", "keep_on_wood", "lay_plank", "list_outlines", "split_parts",
           "turn_along"]

_TABLE_MM = 40.0          # words this near to a table's rules belong to the table
_BEYOND_MM = 150.0        # anything else this far beyond an end is left out


def describe_plank(plank: Plank) -> str:
    """The plank's known names in one line."""
    parts = [plank.name, "strake %s" % plank.strake if plank.strake else "", plank.side]
    return "  ".join(p.upper() for p in parts if p)


def list_outlines(plank: Plank, saw: SawLine | None) -> list[SheetLine]:
    """The line to cut, and with a saw line the net outline too, in their places on the page."""
    def chain(curves):
        return np.concatenate([c.cubics for c in curves])
    if not saw:
        return [SheetLine(chain(plank.outline()), "cut", role="outline", style="edge", closed=True)]
    return [SheetLine(chain(saw.curves), "cut", role="saw", style="saw", closed=True),
            SheetLine(chain(plank.outline()), "draw", role="outline", style="outline", closed=True)]


def turn_along(matter: PlankMatter) -> tuple[Matrix, list[SheetLine]]:
    """The map (2, 3) from the page of the drawing to a sheet along which the plank's baseline lies, the least x and y
    of what is cut at 0; and its outlines there.
    """
    plank = matter.plank
    base = plank.find_baseline()
    right = base[0] - base[1] if plank.forward == "right" else base[1] - base[0]
    right = right / np.hypot(*right)
    turn = np.array([[right[0], right[1]], [-right[1], right[0]]])
    outlines = list_outlines(plank, matter.saw)
    low, _ = measure_extent(outlines[0].cubics @ turn.T)
    to_piece = np.hstack([turn, -low[:, None]])
    return to_piece, [move_line(one, to_piece) for one in outlines]


def lay_plank(matter: PlankMatter, *, bounds: Bounds | None = None) -> tuple[SheetBlock, list[SheetBlock], Matrix]:
    """A plank turned so that its baseline lies along the sheet, with all that belongs on it.

    Parameters
    ----------
    matter : PlankMatter
    bounds : Bounds, optional
        Where its words may stand, on tiles for instance; then no figures are lettered on the baseline.

    Returns
    -------
    piece : SheetBlock
        The plank; what is cut has its least x and y at 0.
    tables : list of SheetBlock
        Tables that overlays have beside the plank, clear of its ends: to be placed below it. The table of sections is
        only in the record.
    to_piece : ndarray, shape (2, 3)
        Map from the page of the drawing to the piece.
    """
    to_piece, lines = turn_along(matter)

    def move(points):
        return np.asarray(points) @ to_piece[:, :2].T + to_piece[:, 2]
    run = LyingPlank(matter.plank, move)
    length = float(np.ptp(measure_extent(lines[0].cubics), axis=0)[0])
    outline = flatten_strokes(lines[0].cubics, tolerance_mm=0.1)[0]
    stations = [(station, move(station.line)) for station in matter.stations]
    lines += [_draw_station(*one) for one in stations]
    piece, tables, words, sections = SheetBlock(tuple(lines)), [], [], {}
    for overlay in matter.overlays:
        on, beside, found = _lay_overlay(overlay, to_piece, piece, length)
        sections.update(found)
        words += on.texts
        piece = join_blocks(piece, SheetBlock(on.lines))
        tables += [beside] if beside.lines or beside.texts else []
    lines = move_sections(piece.lines, run, matter.stations) + draw_baseline(run, outline)
    texts = _letter_plank(matter, lines, run, stations=stations, sections=sections, words=words, move=move,
                          bounds=bounds)
    return SheetBlock(tuple(lines), tuple(texts)), tables, to_piece


def _letter_plank(matter, lines, run, *, stations, sections, words, move, bounds):
    """All words on and about the wood, each in a free place; further lines are added to `lines`. The most important
    words are placed first: which plank and face, then the frames, then the names of lines."""
    plank = matter.plank
    ring, residual = _find_worst_mark(plank, move)
    lines += [ring] if ring else []
    room = Room(*measure_extent(np.concatenate([one.cubics for one in lines])))
    room.add_lines([one.cubics for one in lines])
    if bounds is not None:
        room.keep_to(bounds)
    # lettering of overlays keeps its place where that is free
    laid, waiting = [], []
    for text in words:
        block, middle = make_block(text)
        if room.find(block.size_mm, middle, angles_deg=text.angle_deg) is None:
            waiting.append(text)
            continue
        room.add_box(middle, block.size_mm, angle_deg=text.angle_deg)
        laid.append(text)
    arrows, texts = lay_arrows(room, run, [float(x) for _, line in stations for x in line[:, 0]])
    lines += arrows
    named = lay_names(room, run)
    cards, leads = lay_cards(room, run, stations, sections)
    marks = [] if ring is None else _letter_worst_mark(room, ring, residual)
    inner = letter_sections(room, lines, plank.thickness_mm or 22.0)
    others, more = _lay_waiting(room, waiting)
    told = letter_baseline(room, run) if bounds is None else []
    names, strokes = name_lines(room, run, lines)
    lines += [*leads, *more, *strokes]
    return [*cards, *named, *texts, *marks, *inner, *laid, *others, *told, *names]


def _lay_waiting(room, waiting):
    """Words that have no room where they were lettered, moved as little as possible, smaller if that helps; those that
    had to go far get a stroke to their place."""
    texts, leads = [], []
    turns = np.radians(np.arange(0, 360, 22.5))
    for text in waiting:
        found = None
        for share, reach in ((1.0, 60.0), (0.7, 60.0), (0.7, 400.0)):
            small = replace(text, height_mm=max(share * text.height_mm, min(2.5, text.height_mm)))
            block, middle = make_block(small)
            away = np.arange(2.0, reach, 3.0)
            a = np.radians(text.angle_deg)
            along = np.stack([np.cos(turns) * np.cos(a) - np.sin(turns) * np.sin(a),
                              np.cos(turns) * np.sin(a) + np.sin(turns) * np.cos(a)], axis=1)
            places = middle + (away[:, None, None] * along).reshape(-1, 2)
            found = room.place(block, places, angles_deg=text.angle_deg)
            if found is not None:
                new = make_block(found[0])[1]
                if np.hypot(*(new - middle)) > 60.0:
                    leads += _draw_lead(room, middle, new, block.size_mm)
                break
        texts += found if found is not None else (text,)
    return texts, leads


def _draw_lead(room, place, middle, size):
    """A stroke from words to the place they are meant for, or none where it would run over others."""
    away = place - middle
    share = np.min(np.array(size) / 2 / np.maximum(np.abs(away), 1e-9))
    start = middle + away * min(share + 4.0 / np.hypot(*away), 1.0)
    if room.crosses_words(start, place):
        return []
    lead = make_stroke(start, place, role="lead", style="datum")
    room.add_lines([lead.cubics])
    return [lead]


def split_parts(piece: SheetBlock) -> tuple[SheetBlock, list[SheetBlock]]:
    """A piece without the parts of a scarfed or butted plank that are drawn clear of it, and those parts, SheetBlocks.
    """
    outlines = [one for one in piece.lines if one.role == "part" and is_shifted(one)]
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
    return SheetBlock(tuple(lines), tuple(texts)), [SheetBlock(tuple(a), tuple(b)) for a, b in found]


def is_shifted(line: SheetLine) -> bool:
    """Whether a part is drawn apart from the plank: one that is not lies over the plank's own lines."""
    return any(float(v) for v in dict(line.values).get("shift_mm", "").split())


def keep_on_wood(piece: SheetBlock) -> SheetBlock:
    """A piece without anything outside its line to cut, such as neighbours' joints and blocks, which would only use up
    the roll."""
    outline = flatten_strokes(next(one for one in piece.lines if one.pen == "cut").cubics, tolerance_mm=0.1)[0]

    def lies_on(cubics):
        low, high = measure_extent(cubics)
        return bool(contains_points(outline, [low, high, (low[0], high[1]), (high[0], low[1])]).any()
                    and contains_points(outline, [(low + high) / 2])[0])
    lines = tuple(one for one in piece.lines if one.pen == "cut" or one.role == "outline" or lies_on(one.cubics)
                  or _runs_along(one, outline))
    texts = tuple(one for one in piece.texts if all(lies_on(drawn.cubics) for drawn in letter_texts((one,))))
    return SheetBlock(lines, texts)


def _runs_along(line, outline):
    """Whether a closed line, such as a face of the board, fills nearly the whole outline."""
    if not line.closed:
        return False
    size, whole = np.ptp(measure_extent(line.cubics), axis=0), np.ptp(outline, axis=0)
    return bool(np.all(np.abs(size - whole) < 0.25 * whole) and np.all(size <= whole + 1e-6))


def _lay_overlay(overlay, to_piece, piece, length_mm):
    """An overlay moved onto the sheet, in two pieces, what is on and about the plank and its ruled table beside it, and
    its sections by frame: what is lettered with those is left out, since the cards say it."""
    # the face of the board that is the plank's own outline is already drawn, if in another look
    fresh = drop_doubles([move_line(line, to_piece) for line in overlay.lines], earlier=piece.lines)
    boxes = measure_extents([one.cubics for one in fresh])
    # go by all of the table's rules: extra wood on a raked end may reach past the table's beginning
    rules = [box for one, box in zip(fresh, boxes) if one.role == "rule"]
    low, high = (np.min([r[0] for r in rules], axis=0),
                 np.max([r[1] for r in rules], axis=0)) if rules else (np.full(2, np.inf), np.full(2, -np.inf))

    def is_tabled(box):
        return bool(np.all(box[0] > low - _TABLE_MM) and np.all(box[1] < high + _TABLE_MM))

    def sort(things, places):
        """(what is on the plank or near it, what is in the table). Neighbours' joints far beyond the ends are left out:
        the rows list them, and they would only lengthen the sheet."""
        on = [one for one, box in zip(things, places) if not is_tabled(box)
              and not _stands_clear(box, length_mm, _BEYOND_MM)]
        return tuple(on), tuple(one for one, box in zip(things, places) if is_tabled(box))
    lines = sort(fresh, boxes)
    sections = read_sections(lines[0])
    if sections:
        return SheetBlock(lines[0]), SheetBlock(), sections
    have = {(t.text, t.at_mm) for t in piece.texts}
    words = [(t, drawn) for t in (move_text(t, to_piece) for t in overlay.texts) for drawn in letter_texts((t,))
             if (t.text, t.at_mm) not in have]
    texts = sort([t for t, _ in words], measure_extents([drawn.cubics for _, drawn in words]))
    return SheetBlock(lines[0], texts[0]), SheetBlock(lines[1], texts[1]), {}


def _stands_clear(box, length_mm, by_mm):
    return box[0][0] > length_mm + by_mm or box[1][0] < -by_mm


def _draw_station(station, line):
    return make_stroke(*line, role="station", style="station",
                       values=(("station", station.label), ("width_mm", station.width_mm),
                               ("distance_mm", station.distance_mm)))


def _find_worst_mark(plank, move):
    """A ring about the mark with the largest residual, and that residual, or None."""
    worst = max(plank.marks, key=lambda m: abs(m.residual_mm), default=None)
    if worst is None or abs(worst.residual_mm) < 0.05:
        return None, 0.0
    return make_ring(move([worst.point])[0], 5.0, values=(("residual_mm", float(worst.residual_mm)),)), \
        abs(worst.residual_mm)


def _letter_worst_mark(room, ring, residual):
    """Letter the residual as near to the ring as there is room."""
    middle = np.mean(measure_extent(ring.cubics), axis=0)
    for words, height in (("WORST MARK %.1f MM OFF" % residual, 5.0), ("%.1f MM OFF" % residual, 5.0),
                          ("%.1f" % residual, 5.0), ("%.1f" % residual, 3.5)):
        block = WordBlock(((words, height),), style="doubtful")
        a = np.radians(np.arange(0, 360, 15.0))
        places = [middle + away * np.stack([np.cos(a), np.sin(a)], axis=1) for away in np.arange(10.0, 60.0, 3.0)]
        laid = room.place(block, np.concatenate(places))
        if laid is not None:
            return list(laid)
    return []
