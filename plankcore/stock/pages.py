"""The boards on paper for the saw: a buying list, then a page for each board, with large figures for setting out the
planks on it. A part of choosing stock."""
from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.lettering import text_width_mm
from ..model.drawing import SheetText
from ..model.page import Page
from ..model.typed import refuse_unknown
from ..paper.blocks import letter_texts, make_ring, make_stroke, move_line, wrap_words
from ..paper.room import Room, WordBlock, make_block
from . import words
from .drawing import draw_piece, draw_wood, list_rings

if TYPE_CHECKING:
    from typing import Sequence

    from ..model.stock import PlankPiece, StockBoard, StockPlan
    from .shapes import StockSettings

__all__ = ["BOARD_PAGES", "draw_board_pages"]

# sizes of the pages, landscape
BOARD_PAGES = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "letter": (279.4, 215.9), "tabloid": (431.8, 279.4)}
_MARGIN = 12.0
_RATIOS = (1, 2, 5, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
_LARGE = 9.0              # height of the figures for setting out; less where there are many
_MOST_RINGS = 24
_RING_MM = 3.2            # height of the numbers of the rings
_TOO_FINE = ("station", "grain")           # details too fine for a small drawing; the pattern has the frames


def draw_board_pages(plan: StockPlan, pieces: Sequence[PlankPiece], boards: Sequence[StockBoard], *,
                     settings: StockSettings, page: str = "A4", file_name: str = "", day: str = "") -> tuple[Page, ...]:
    """Pages of a StockPlan: the buying list with what comes out of each board, then each board that is used, drawn
    small.

    Parameters
    ----------
    plan, pieces, boards, settings
        As for draw_boards.
    page : str
        One of BOARD_PAGES, landscape.
    file_name, day : str
        Printed if given.

    Returns
    -------
    tuple of Page
        Empty where no board is used.

    Raises
    ------
    SettingError
        If there is no such page, or more planks come out of one board than its page has room for.
    """
    refuse_unknown(page, BOARD_PAGES, problem="There is no page '%s'.", remedy="Choose one of: %s.", field="Page")
    if not plan.uses:
        return ()
    by_label = {p.label: p for p in pieces}
    used = [(next(b for b in boards if b.label == u.board), u) for u in plan.uses]
    found = [_lay_list(plan, used, settings, BOARD_PAGES[page])]
    for board, use in used:
        laid = [(by_label[p.piece], p) for p in plan.placements if p.board == board.label]
        found.append(_lay_board(board, use, laid, BOARD_PAGES[page]))
    return tuple(_finish(k, one, len(found), BOARD_PAGES[page], foot=(file_name, day))
                 for k, one in enumerate(found, 1))


def _finish(number, laid, count, size_mm, foot):
    """A page with its last line: number of the page, file and day."""
    name, lines, texts = laid
    said = words.foot_page(number, count, *foot)
    texts.append(SheetText(said, (_MARGIN, size_mm[1] - 8.0), 2.5, role="note"))
    return Page(name, size_mm[0], height_mm=size_mm[1], lines=(*lines, *letter_texts(tuple(texts))), title=name)


def _letter(texts, said, y, *, height_mm, room_mm, left=_MARGIN, style="note", role="note"):
    """Words from y down, wrapped to the room; the y below them."""
    for part in wrap_words(said, room_mm, height_mm):
        y += 1.7 * height_mm
        texts.append(SheetText(part, (left, y), height_mm, style=style, role=role))
    return y


def _lay_list(plan, used, settings, size_mm):
    """The buying list: each board and what comes out of it, the whole, what has no board, and the cautions."""
    texts, lines, room = [], [], size_mm[0] - 2 * _MARGIN
    y = _letter(texts, words.LIST_TITLE, _MARGIN - 4.0, height_mm=8.0, room_mm=room, role="name")
    rows = [words.list_heads(), *(words.list_board(board, use) for board, use in used)]
    wide = [max(text_width_mm(row[k], height_mm=1.0) for row in rows) for k in range(len(rows[0]) - 1)]
    last = max(text_width_mm(row[-1], height_mm=1.0) for row in rows)
    below = [*((t, "note") for t in plan.summary[:1]), *((words.tell_unplaced(*row), "warning") for row in
                                                         plan.unplaced)]
    high = min(4.5, (room - 5.0 * len(wide)) / (sum(wide) + min(last, 30.0)), 0.62 * size_mm[1] / len(rows) / 2.0)
    if high < 1.8:
        raise SettingError("%d boards are too many for one page." % len(used), "Choose a larger page.", "Page")
    for number, row in enumerate(rows):
        x, bottom = _MARGIN, y
        for k, cell in enumerate(row):
            if k < len(row) - 1:
                texts.append(SheetText(cell, (x, y + 1.9 * high), high, role="cell"))
                x += wide[k] * high + 5.0
            else:
                bottom = _letter(texts, cell, y + 0.2 * high, height_mm=high, room_mm=size_mm[0] - _MARGIN - x, left=x,
                                 role="cell")
        y = bottom + 0.5 * high
        lines.append(make_stroke((_MARGIN, y), (size_mm[0] - _MARGIN, y), role="rule",
                                 style="note" if number == 0 else "grid"))
    y += 3.0
    for said, style in below:
        y = _letter(texts, said.upper() + ".", y, height_mm=3.5, room_mm=room, style=style)
    for said in (words.tell_clearances(settings), *words.PAGE_CAUTIONS):
        y = _letter(texts, said, y, height_mm=2.5, room_mm=room)
    return words.LIST_TITLE, lines, texts


def _lay_board(board, use, laid, size_mm):
    """One board: its name, the board drawn small with numbered rings, and the figures of each ring."""
    texts, room = [], size_mm[0] - 2 * _MARGIN
    y = _letter(texts, words.name_board(board), _MARGIN - 4.0, height_mm=10.0, room_mm=room, role="name")
    y = _letter(texts, words.tell_heading(board, use), y + 1.0, height_mm=3.2, room_mm=room)
    low = board.outline.min(axis=0)
    ratio = float(next((r for r in _RATIOS if board.length_mm / r <= room
                        and board.width_mm / r <= 0.28 * size_mm[1]), _RATIOS[-1]))
    start = np.array([_MARGIN, y + 11.0])
    matrix = np.array([[1 / ratio, 0.0, start[0] - low[0] / ratio], [0.0, 1 / ratio, start[1] - low[1] / ratio]])
    true, small, zero, rings = [], [], np.zeros(2), []
    draw_wood(true, [], board, zero)
    names = []
    for piece, place in laid:
        named = []
        draw_piece(true, named, piece=piece, place=place, shift=zero)
        long = float(np.hypot(*(piece.run[-1] - piece.run[0]))) / ratio
        name, forward = (one for one in named if one.role == "name")
        run = piece.run @ place.to_board[:, :2].T + place.to_board[:, 2]
        names.append((name, run @ matrix[:, :2].T + matrix[:, 2]))
        arrow = next(one for one in true if one.role == "arrow")
        tail, tip = (matrix[:, :2] @ at + matrix[:, 2] for at in arrow.cubics[0, [0, 3]])
        small += _point_forward(texts, forward, tail=tail, tip=tip, room=long)
        true = [one for one in true if one.role != "arrow"]
        above, below = [], []
        list_rings(board, piece, place=place, above=above, below=below)
        rings += [(piece, one, upper) for some, upper in ((above, True), (below, False)) for one in some]
    lines = [*(move_line(one, matrix) for one in true if one.role not in _TOO_FINE), *small]
    foot = float(start[1] + board.width_mm / ratio)
    rows, number_x = [], _spread_numbers([(float((matrix[:, :2] @ one[:2] + matrix[:, 2])[0]), upper)
                                          for _, one, upper in rings])
    for number, (piece, (x, at_y, border, _, _), upper) in enumerate(rings, 1):
        at, edge = matrix[:, :2] @ (x, at_y) + matrix[:, 2], float(matrix[1, 1] * border + matrix[1, 2])
        lines += [make_ring(at, 1.2, role="ring", style="note"),
                  make_stroke((at[0], edge - 2.5 if upper else edge + 2.5), (at[0], at[1] - 1.2 if upper else
                                                                          at[1] + 1.2), role="distance",
                              style="datum")]
        texts.append(SheetText(str(number), (number_x[number - 1], edge - 3.2 if upper else edge + 6.4),
                               height_mm=_RING_MM, angle_deg=0.0, anchor="middle", role="ring-number"))
        rows.append(words.tell_ring(number, x - low[0], abs(at_y - border), upper=upper, piece=piece.label))
    if len(rows) > _MOST_RINGS:
        raise SettingError("Board %s holds more planks than its page can tell of." % board.label,
                           "Draw the boards at true size.", "Page")
    _name_pieces(texts, lines, names)
    kinds = list(dict.fromkeys(one.kind for one in board.defects))
    y = _letter(texts, words.tell_page_scale(ratio, kinds), foot + 8.0, height_mm=2.5, room_mm=room)
    _set_rows(texts, rows, y + 2.0, size_mm)
    return words.name_board(board), lines, texts


def _name_pieces(texts, lines, names):
    """Each name along its piece where nothing is drawn or lettered, abaft FWD, in letters as large as there is room
    for. names : of (SheetText of the true-size drawing, its piece's run (n, 2) on the page).
    """
    every = np.concatenate([one.cubics.reshape(-1, 2) for one in lines])
    room = Room(every.min(axis=0), every.max(axis=0))
    room.add_lines([one.cubics for one in lines])
    for text in texts:
        block, middle = make_block(text)
        room.add_box(middle, block.size_mm, angle_deg=text.angle_deg)
    for name, run in names:
        long, laid = float(np.hypot(*(run[-1] - run[0]))), None
        share = np.array([0.6, 0.55, 0.65, 0.5, 0.7, 0.45, 0.4])
        at = run[np.rint(share * (len(run) - 1)).astype(int)]
        off = np.array([[0.0, v] for v in (0.0, -1.0, 1.0, -2.0, 2.0)])
        most = min(_RING_MM, _fit(name.text, 0.5 * long, _RING_MM))
        for high in (most, 0.75 * most, 0.55 * most):
            block = WordBlock(((name.text, high),), role=name.role, style=name.style)
            laid = room.place(block, (at[:, None] + off).reshape(-1, 2), angles_deg=name.angle_deg)
            if laid is not None:
                break
        texts += laid if laid is not None else block.letter(at[0], angle_deg=name.angle_deg)


def _point_forward(texts, word, tail, tip, room):
    """FWD before an arrow that ends where that of the true-size drawing ends, no longer than the fifth of the plank
    which the name leaves free; adds the word, returns the arrow's lines.
    """
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    share = min(1.0, 0.2 * room / (8.0 + text_width_mm(word.text, height_mm=_RING_MM)))
    high, start = share * _RING_MM, tip - 6.5 * share * way
    a = np.radians(word.angle_deg)
    at = start - way * (1.5 * share + text_width_mm(word.text, height_mm=high) / 2) \
        + high / 2 * np.array([-np.sin(a), np.cos(a)])
    texts.append(replace(word, at_mm=(float(at[0]), float(at[1])), height_mm=high, anchor="middle"))
    return [make_stroke(start, tip, role="arrow", style="note"),
            *(make_stroke(tip, tip - share * (1.8 * way - 0.8 * s * side), role="arrow", style="note")
              for s in (1.0, -1.0))]


def _spread_numbers(places):
    """x of each ring's number, pushed apart where rings on one side of the board, (x, upper), stand too near."""
    x = np.array([at for at, _ in places])
    for above in (True, False):
        order = sorted((k for k, (_, upper) in enumerate(places) if upper is above), key=lambda k: x[k])
        wide = [text_width_mm(str(k + 1), height_mm=_RING_MM) for k in order]
        for _ in range(4 * len(order)):
            for m in range(len(order) - 1):
                near = (wide[m] + wide[m + 1]) / 2 + 1.2 - (x[order[m + 1]] - x[order[m]])
                if near > 1e-9:
                    x[order[m]] -= near / 2
                    x[order[m + 1]] += near / 2
    return x.tolist()


def _set_rows(texts, rows, y, size_mm):
    """The figures in columns, as large as there is room for: mm large, with inches small beside them."""
    scale = size_mm[0] / 297.0
    high = min(_LARGE * scale, (size_mm[1] - 16.0 - y) / (1.6 * len(rows) + 1.0))
    heads = words.RING_HEADS
    left = [_MARGIN + share * (size_mm[0] - 2 * _MARGIN) for share in (0.0, 0.08, 0.38, 0.72)]
    for at, head in zip(left, heads):
        texts.append(SheetText(head, (at, y + 4.0), 2.5, role="head"))
    for k, (number, along, along_in, inside, inside_in, piece) in enumerate(rows, 1):
        at = y + 5.0 + 1.6 * high * k
        wide = [text_width_mm(word, height_mm=high) + 3.0 for word in (along, inside)]
        texts += [SheetText(number, (left[0], at), high, role="figure"),
                  SheetText(along, (left[1], at), high, role="figure"),
                  SheetText(inside, (left[2], at), high, role="figure"),
                  *(SheetText(word, (x + w, at), _fit(word, left[n] - x - w - 5.0, 0.5 * high), role="figure-in")
                    for word, x, w, n in ((along_in, left[1], wide[0], 2), (inside_in, left[2], wide[1], 3))),
                  SheetText(piece, (left[3], at), _fit(piece, size_mm[0] - _MARGIN - left[3], 0.5 * high),
                            role="figure-of")]


def _fit(word, room_mm, height_mm):
    """The largest height, up to the one given, at which a word fits its room."""
    return min(height_mm, room_mm / max(text_width_mm(word, height_mm=1.0), 1e-9))
