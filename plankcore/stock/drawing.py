"""The boards' page: every board that is used, one under the other at true size, with what comes out of it, to be marked
out with a rule and chalk.

Numbers at a small circle give its distance along the board from the left end, and in from the nearer edge.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.lettering import text_width_mm
from ..geometry.strokes import draw_polyline
from ..model.drawing import SheetLine, SheetText
from ..model.page import Page, SheetBlock
from ..paper.bars import lay_bars
from ..paper.blocks import letter_texts, make_arrow, make_ring, make_stroke, move_block, wrap_words
from . import words

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Values
    from ..model.stock import Placement, PlankPiece, StockBoard, StockPlan
    from .shapes import StockSettings

__all__ = ["draw_boards", "draw_piece", "draw_wood", "list_rings"]

_MARGIN, _GAP, _HIGH = 25.0, 45.0, 5.0     # margin of the page, gap between boards, height of small lettering


def draw_boards(plan: StockPlan, pieces: Sequence[PlankPiece], boards: Sequence[StockBoard], *, settings: StockSettings,
                file_name: str = "", day: str = "") -> Page | None:
    """The page of a StockPlan.

    Parameters
    ----------
    plan : StockPlan
    pieces : sequence of PlankPiece
    boards : sequence of StockBoard
    settings : StockSettings
    file_name, day : str
        Printed if given.

    Returns
    -------
    Page or None
        None where no board is used.
    """
    if not plan.uses:
        return None
    by_label = {p.label: p for p in pieces}
    used = [(next(b for b in boards if b.label == u.board), u) for u in plan.uses]
    room = max(max(b.length_mm for b, _ in used), 600.0)
    lines, texts = [], []
    y = _MARGIN
    said = [(words.TITLE, 10.0), *((t.upper() + ".", _HIGH) for t in plan.summary[:1]),
            (words.tell_clearances(settings), _HIGH), (words.RINGS, _HIGH)]
    said += [(words.tell_unplaced(*row).upper() + ".", _HIGH) for row in plan.unplaced]
    said += [(t, 4.0) for t in words.CAUTIONS]
    said += [("  ".join(t for t in ("FILE " + file_name if file_name else "", day) if t),
               4.0)] if file_name or day else []
    for text, height in said:
        for part in wrap_words(text, room, height):
            y += 1.8 * height
            texts.append(SheetText(part, (_MARGIN, y), height, role="note"))
    for board, use in used:
        piece, y = _draw_board(board, use,
                               [(by_label[p.piece], p) for p in plan.placements if p.board == board.label], y + _GAP)
        lines += piece.lines
        texts += piece.texts
    bars = lay_bars(room)
    piece = move_block(bars.piece, np.array([[1.0, 0.0, _MARGIN], [0.0, 1.0, y + _GAP]]))
    page = SheetBlock(tuple(lines) + piece.lines, tuple(texts) + piece.texts)
    return Page("boards", room + 2 * _MARGIN, height_mm=y + _GAP + bars.below_mm + _MARGIN,
                lines=page.lines + letter_texts(page.texts), title=words.TITLE)


def _draw_board(board, use, laid, top):
    """A board with its words and the pieces on it as a SheetBlock, and the y below it. top : where its words begin."""
    lines, texts = [], []
    low = board.outline.min(axis=0)
    texts.append(SheetText(words.tell_heading(board, use), (_MARGIN, top + 7.0), 7.0, role="label"))
    above, below = [], []
    for piece, place in laid:
        list_rings(board, piece, place=place, above=above, below=below)
    rows = [_stack(some) for some in (above, below)]
    start = top + 16.0 + 8.0 * max([r + 1 for r in rows[0]] + [0])
    shift = np.array([_MARGIN - low[0], start - low[1]])
    draw_wood(lines, texts, board, shift)
    for piece, place in laid:
        draw_piece(lines, texts, piece=piece, place=place, shift=shift)
    foot = start + board.width_mm
    for marks, row, edge, way in ((above, rows[0], start, -1.0), (below, rows[1], foot, 1.0)):
        for (x, y, border, text, wide), k in zip(marks, row):
            at, out = np.array([x, y]) + shift, edge + way * (4.0 + 8.0 * k)
            lines += [make_ring(at, 2.0, role="ring", style="note"),
                      make_stroke((at[0], border + shift[1]), at - (0.0, -way * 2.0), role="distance", style="datum"),
                      make_stroke((at[0], out), (at[0], border + shift[1]), role="distance", style="datum")]
            texts.append(SheetText(text, (float(at[0]) + 1.5, out if way < 0 else out + _HIGH), _HIGH, role="label"))
    return SheetBlock(tuple(lines), tuple(texts)), foot + 8.0 * max([r + 1 for r in rows[1]] + [0])


def _line(points, style, role, *, closed=False, pen="draw", **values):
    points = np.vstack([points, points[:1]]) if closed else np.asarray(points, float)
    return SheetLine(draw_polyline(points), pen, role=role, style=style, closed=closed, values=tuple(values.items()))


def draw_wood(lines: list[SheetLine], texts: list[SheetText], board: StockBoard, shift: Values) -> None:
    """A board with its sapwood, defects and direction of grain, moved by `shift` (2,) mm: added to lines and texts."""
    outline = board.outline + shift
    lines.append(_line(outline, "stock-board", "board", closed=True, board=board.label))
    for k, sap in enumerate(board.sap_mm):
        if sap > 0:
            lines += [_line(run + shift, "stock-sap", "sapwood") for run in _find_sap(board, k, sap)]
    for defect in board.defects:
        ring = defect.outline + shift
        lines.append(_line(ring, "stock-defect", defect.kind, closed=True))
        middle, size = (ring.min(axis=0) + ring.max(axis=0)) / 2, np.ptp(ring, axis=0) / 2
        if size.min() > 6.0:
            for way in (1.0, -1.0):
                arm = 0.6 * size * (1.0, way)
                lines.append(make_stroke(middle - arm, middle + arm, role=defect.kind, style="stock-defect"))
        last = middle[0] + size[0] > outline[:, 0].max() - 40.0
        texts.append(SheetText(defect.kind,
                               (float(middle[0] + (-1 if last else 1) * (size[0] + 2.0)), float(middle[1]) + 2.0),
                               height_mm=4.0, angle_deg=0.0, anchor="end" if last else "start", role="label",
                               style="warning"))
    # the direction of the grain, in a few light strokes
    low, high = board.outline.min(axis=0), board.outline.max(axis=0)
    count = max(int((high[0] - low[0]) / 600), 2)
    for k in range(count):
        x = low[0] + (k + 0.5) * (high[0] - low[0]) / count
        a = np.radians(float(board.find_grain_deg(x)))
        centre, along = np.array([x, (low[1] + high[1]) / 2]) + shift, 45.0 * np.array([np.cos(a), np.sin(a)])
        for off in (-0.3, 0.0, 0.3):
            side = np.array([20.0 * off, off * board.width_mm])
            lines.append(make_stroke(centre + side - along, centre + side + along, role="grain", style="stock-grain"))


def _find_sap(board, which, sap):
    """The border of the sapwood along the upper (0) or lower (1) edge, as runs."""
    outline, following = board.outline, np.roll(board.outline, -1, axis=0)
    turning = np.sign(np.sum(outline[:, 0] * following[:, 1] - outline[:, 1] * following[:, 0]))
    step = following - outline
    chosen = (step[:, 0] * turning >= 0) == (which == 0)
    runs = []
    for a, b, on in zip(outline, following, chosen):
        way = b - a
        if on and abs(way[0]) > abs(way[1]):
            inward = np.array([-way[1], way[0]]) / np.hypot(*way) * turning
            runs.append(np.stack([a, b]) + sap * inward)
    return runs


def _map(place, points, shift):
    return np.asarray(points, float) @ place.to_board[:, :2].T + place.to_board[:, 2] + shift


def draw_piece(lines: list[SheetLine], texts: list[SheetText], piece: PlankPiece, place: Placement,
               shift: Values) -> None:
    """The pieces on a board, moved by `shift` (2,) mm: added to lines and texts."""
    chain = np.concatenate([c.cubics for c in piece.curves])
    lines.append(SheetLine(_map(place, chain, shift), "cut", role="saw" if piece.includes == "saw line" else "outline",
                           style="saw" if piece.includes == "saw line" else "edge", closed=True,
                           values=(("piece", piece.label),)))
    if piece.net:
        lines.append(SheetLine(_map(place, np.concatenate([c.cubics for c in piece.net]), shift), "draw",
                               role="outline",
                               style="outline", closed=True))
    for label, line in piece.stations:
        ends = _map(place, line, shift)
        lines.append(make_stroke(*ends, role="station", style="station", values=(("station", label),)))
        long = float(np.hypot(*(ends[1] - ends[0])))
        way = (ends[1] - ends[0]) / max(long, 1e-9)
        right = np.array([-way[1], way[0]])
        right = right if right[0] > 0 else -right
        at = ends[0] + way * min(0.2 * long, 16.0) + right * 2.0
        texts.append(SheetText(label, tuple(map(float, at)), 4.5, float(np.degrees(np.arctan2(right[1], right[0]))),
                               role="label"))
    for _, line in piece.joints:
        lines.append(make_stroke(*_map(place, line, shift), role="joint", style="joint"))
    run = _map(place, piece.run, shift)
    _letter_piece(lines, texts, piece=piece, place=place, run=run)


def _letter_piece(lines, texts, piece, place, run):
    """The piece's name along its middle, and an arrow forward."""
    face = {"inboard": "outboard", "outboard": "inboard"}[piece.face_up] if place.turned_over else piece.face_up
    name = words.name_piece(piece, face, turned_over=place.turned_over)
    count = len(run)
    k = _find_clear_place(piece, count)
    here, ahead, behind = run[k], run[k - count // 20], run[k + count // 20]
    way = (ahead - behind) / np.hypot(*(ahead - behind))
    read = way if way[0] > 0 else -way
    down = np.array([-read[1], read[0]])
    room = 0.4 * float(np.hypot(*(run[-1] - run[0])))
    height = float(np.clip(room / max(text_width_mm(name, height_mm=1.0), 1.0), 3.0, 9.0))
    texts.append(SheetText(name, tuple(map(float, here + down * height / 2)), height_mm=height,
                           angle_deg=float(np.degrees(np.arctan2(read[1], read[0]))), anchor="middle", role="name"))
    tip = run[int(0.1 * count)]
    tail = tip - way * 45.0
    lines += make_arrow(tail, tip, back_mm=9.0, aside_mm=4.0)
    texts.append(SheetText("FWD", tuple(map(float, (tail + tip) / 2 + down * 8.5)), height_mm=5.0,
                           angle_deg=float(np.degrees(np.arctan2(read[1], read[0]))), anchor="middle", role="name"))


def _find_clear_place(piece, count):
    """Index of a place of the run, near its middle, that lies midway between two stations."""
    start, way = piece.run[0], piece.run[-1] - piece.run[0]
    share = sorted(float((np.mean(line, axis=0) - start) @ way / (way @ way)) for _, line in piece.stations)
    middles = [(a + b) / 2 for a, b in zip(share[:-1], share[1:])] + [0.5] * (len(share) < 2)
    return int(np.clip(min(middles, key=lambda s: abs(s - 0.5)), 0.3, 0.7) * count)


def list_rings(board: StockBoard, piece: PlankPiece, place: Placement,
               above: list[tuple[float, float, float, str, float]],
               below: list[tuple[float, float, float, str, float]]) -> None:
    """Places to be measured with a rule: the piece's corner at each end and its edge at the middle, on the side of the
    board's nearer edge.

    Each is (x, y, y of the board's edge there, words, their length), on the board.
    """
    zero = np.zeros(2)
    corners = np.array([_map(place, c.start[None], zero)[0] for c in piece.curves])
    outline = np.vstack([_map(place, c.flatten(), zero)[:-1] for c in piece.curves])
    x = outline[:, 0].mean()
    edges = _find_borders(board.outline, np.array([x]))[:, 0]
    own = _find_borders(outline, np.array([x]))[:, 0]
    upper = own[0] - edges[0] <= edges[1] - own[1]
    order = np.argsort(corners[:, 0])
    ends = [min((corners[k] for k in two), key=lambda p: p[1] if upper else -p[1]) for two in (order[:2], order[2:])]
    middle = 0.5 * (ends[0][0] + ends[1][0])
    spots = [ends[0], np.array([middle, _find_borders(outline, np.array([middle]))[0 if upper else 1, 0]]), ends[1]]
    for spot in spots:
        border = float(_find_borders(board.outline, spot[:1])[0 if upper else 1, 0])
        text = "%.1f / %.1f" % (spot[0] - board.outline[:, 0].min(), abs(spot[1] - border))
        (above if upper else below).append((float(spot[0]), float(spot[1]), border, text,
                                            text_width_mm(text, height_mm=_HIGH) + 6.0))


def _find_borders(polygon, x):
    """Least and greatest y of a polygon at places x: (2, k)."""
    start, end = polygon, np.roll(polygon, -1, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (x[None] - start[:, :1]) / (end - start)[:, :1]
    y = np.where((share >= -1e-9) & (share <= 1 + 1e-9), start[:, 1:] + share * (end - start)[:, 1:], np.nan)
    return np.stack([np.nanmin(y, axis=0), np.nanmax(y, axis=0)])


def _stack(marks):
    """A row for the words of each mark, so that neighbours do not overlap."""
    rows, ends = [0] * len(marks), []
    for k in sorted(range(len(marks)), key=lambda k: marks[k][0]):
        row = next((r for r, end in enumerate(ends) if marks[k][0] >= end), len(ends))
        ends[row:row + 1] = [marks[k][0] + marks[k][4]]
        rows[k] = row
    return rows
