"""The first page of a set of tiles, and the only one that is no tile: the plan with its joins and frames, the order of
laying, how straightness is proved, what to prove, to saw and to doubt, and bars as wide as the page.
"""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import SettingError
from ..geometry.lettering import text_width_mm
from ..geometry.strokes import measure_extent
from ..model.drawing import SheetLine
from ..model.page import Page, SheetBlock
from ..paper.bars import lay_page_bars
from ..paper.blocks import join_blocks, letter_texts, make_stroke, measure_block, move_block, wrap_words
from ..paper.room import Room, WordBlock
from ..units import format_inches
from .boxes import BoxLine, lay_box, lay_foot, list_boxes
from .tile_sheets import list_lines
from .tiles import list_order, name_row

if TYPE_CHECKING:
    from typing import Sequence

    from ..geometry.arrays import Points
    from ..model.page import PlankMatter
    from .chosen import SheetSettings
    from .tiles import Join, TilePlan

__all__ = ["lay_key", "tell_scale"]

# size of the letters, lines of PROVE and of the two other boxes, share of the height for the plan, whether every join
# is told: the first that keeps all on one page
_FORMS = ((5.0, 10, 10, 0.35, True), (3.5, 10, 10, 0.35, True), (3.0, 10, 10, 0.3, True), (2.5, 10, 10, 0.3, True),
          *((2.5, prove, most, share, False) for prove, most in (
              (10, 10), (8, 8), (6, 6), (5, 5), (4, 4), (0, 8), (0, 6), (0, 4), (0, 3), (0, 2), (0, 0))
            for share in (0.25, 0.17)))
# how boxes may stand in rows: so many in each
_ROWS = ((1, 1, 1, 1, 1), (2, 1, 2), (1, 2, 2), (2, 3), (1, 1, 3), (2, 2, 1), (1, 4))
_APART_MM = 4.0
_LONGEST = 80             # characters of a line, or nearly
_FINE_MM = 2.5
_BAND_MM = 8.0            # above the plan and below it, for numbers that have no room in it
# drawing scales of the drawing office, each of which has a name in inches to the foot: 1:8 is 1 1/2 in, 1:16 is 3/4 in
_SCALES = (2, 4, 8, 12, 16, 24, 32, 48, 64, 96)


def tell_scale(scale: int) -> str:
    """'1:16 (3/4 IN TO THE FOOT)'."""
    return "1:%d (%s TO THE FOOT)" % (scale, format_inches(12 * 25.4 / scale).upper())


def _tell_order(plan):
    """'A1, A2, B3; A4 ON A2': a tile whose ground is not named is glued on the one before."""
    told: list[str] = []
    order = list_order(plan)
    for k, (tile, under, _) in enumerate(order):
        if under is None or order[k - 1][0] == under:
            told.append(tile.name)
        else:
            told.append("%s ON %s" % (tile.name, under.name))
    return "ORDER, EACH GLUED BY ONE EDGE ON THE ONE BEFORE, OR THE ONE NAMED: %s." % ", ".join(told)


def _list_laying(plan, said):
    """How the tiles are laid."""
    lines = list_lines(plan)
    first, last = min(one.first_mm for one in lines), max(one.last_mm for one in lines)
    told = [_tell_order(plan),
            "BY A STRAIGHT LINE, NOT BY ITS NEIGHBOUR: A THIN WIRE OR A CHALK LINE OF %d MM, ALONG IT ONE STEEL TAPE "
            "THAT STAYS. A TILE LIES RIGHT WITH %s UNDER THE WIRE AT BOTH ENDS AND ITS TICKS AT THEIR FIGURES."
            % (last - first, _tell_line(lines))]
    for one in lines[1:]:
        base = plan.owners.index(plan.owners[one.number])
        if base == one.number:
            told.append("LINE %s IS THE FIRST OF ANOTHER PIECE, WHICH IS LAID BY ITSELF." % name_row(one.number))
        else:
            told.append("LINE %s IS PARALLEL TO LINE %s, %.1f MM %s IT: SET IT OFF AT BOTH ENDS, FROM %d TO %d."
                        % (name_row(one.number), name_row(base), abs(one.below_mm),
                           "BELOW" if one.below_mm > 0 else "ABOVE", one.first_mm, one.last_mm))
    return told + list(said)


def _tell_line(lines):
    return "LINE A" if len(lines) == 1 else "ITS LINE"


def _list_proofs(plan, joins, ends_mm, *, each):
    """What proves that the tiles lie straight, and as long as they should."""
    lines = list_lines(plan)
    zero, first, last = plan.zero_mm, min(one.first_mm for one in lines), max(one.last_mm for one in lines)
    return ["STRAIGHT: THE WIRE COVERS %s AT EVERY TICK. LENGTH: FROM TICK %d TO TICK %d ARE %.1f MM BY ONE TAPE; THE "
            "LINE TO CUT BEGINS AT %.1f AND ENDS AT %.1f MM."
            % (_tell_line(lines), first, last, last - first, ends_mm[0] - zero, ends_mm[1] - zero),
            *_list_joins(joins, each=each),
            "EACH TILE: DASHED EDGES %.1f X %.1f MM, BOTH DIAGONALS %.1f MM, OR THE MACHINE LEANS. MEASURE THE BARS, "
            "ALONG AND ACROSS, BEFORE CUTTING." % (plan.width_mm, plan.height_mm,
                                                   np.hypot(plan.width_mm, plan.height_mm))]


def _list_joins(joins, *, each):
    """What the crosses prove; each : whether to tell of every join what stands on its tiles as well."""
    if not joins:
        return []
    told = ["JOIN %d, %s TO %s: %.1f MM" % (j.number, j.first.name, j.second.name, j.apart_mm) for j in joins]
    rows = ["CROSSES OF A JOIN COVER EACH OTHER, PRICKED THROUGH OR AGAINST THE LIGHT; WHERE THEY AND THE WIRE "
            "DISAGREE, THE WIRE HOLDS. FROM CROSS TO CROSS%s." % (
                ": " + ".  ".join(told) if each else " AS THE TILES TELL")]
    upright = [j for j in joins if j.upright and j.first.body == 0]
    if len(upright) > 1:
        first, last = upright[0], upright[-1]
        ends = [("%d%s" % (j.number, chr(ord("A") + k)), j.crosses[k]) for j in (first, last)
                for k in (0, len(j.crosses) - 1)]
        far = ["%s TO %s %.1f" % (a[0], b[0], np.hypot(*np.subtract(a[1], b[1])))
               for a, b in ((ends[0], ends[3]), (ends[1], ends[2]))]
        rows.append("ALL JOINED, THE LONG DIAGONALS, CROSS TO CROSS: %s MM. THEY PROVE THE ENDS; A BEND BETWEEN IS FOR "
                    "THE WIRE." % ", ".join(far))
    return rows


def lay_key(matter: PlankMatter, outlines: Sequence[SheetLine], plan: TilePlan, joins: Sequence[Join],
            stations: Sequence[tuple[str, Points]], *, room_mm: Sequence[float], page_mm: Sequence[float],
            edge_mm: float, title: str, settings: SheetSettings, said: Sequence[str] = ()) -> Page:
    """The key, always one page: of the boxes' lines as many as there is room for, the others are told to be in the
    record.

    Parameters
    ----------
    outlines : sequence of SheetLine
        The plank's outlines where the tiles lie, the one to cut first; then those of its parts.
    stations : sequence of (label, (2, 2))
        Frames and their lines there.
    room_mm : (float, float)
        What may be drawn on.
    page_mm : (float, float)
        The paper.
    said : sequence of str
        What else is to be told of the laying.

    Raises
    ------
    SettingError
        If the sheet is too small for it.
    """
    bars = lay_page_bars(*room_mm)
    lengths = [(dict(one.values)["along"], dict(one.values)["length_mm"]) for one in bars.piece.lines
               if one.role == "scale-bar"]
    ends = measure_extent(outlines[0].cubics)
    laying = _list_laying(plan, said)
    plans: dict[int, SheetBlock] = {}
    for size, prove, most, share, each in _FORMS:
        proofs = _list_proofs(plan, joins, (ends[0][0], ends[1][0]), each=each)
        scale = _choose_scale(plan, bars.beside_mm, share * bars.above_mm)
        if scale not in plans:
            plans[scale] = _draw_plan(outlines, plan, joins, stations, scale=scale, room_mm=bars.beside_mm)
        drawn = plans[scale]
        head = WordBlock(tuple((row, size) for row in wrap_words(
            "KEY PLAN %s, %d TILES, DASHED; JOINS AND FRAMES BY NUMBER" % (tell_scale(scale), len(plan.tiles)),
            bars.beside_mm, size)), role="note")
        foot = lay_foot(matter, settings, bars.beside_mm, title, height_mm=0.0, size=min(0.7, size / 7))
        told = [*list_boxes(matter, lengths, most=prove)[:1], *list_boxes(matter, lengths, most=most)[1:]]
        told = [box for box, count in zip(told, (prove, most, most)) if count]
        without = ["%s HAVE NO ROOM HERE: SEE RECORD." % ("FIGURES TO PROVE" if most else "PROVE, SAW AND DOUBT")]
        boxes = [("LAY", [BoxLine(row) for row in [*laying, *([] if prove else without)]], "note"),
                 ("STRAIGHT", [BoxLine(row) for row in proofs], "note"), *told]
        top = measure_block(drawn)[1][1] + 6.0 + head.tall_mm
        room = bars.above_mm - top - _measure_foot(foot) - 2 * _APART_MM
        laid = _lay_boxes(boxes, bars.beside_mm, room, size=size)
        if laid is not None:
            break
    else:
        raise SettingError("A sheet of %.0f x %.0f mm has no room for the key to its tiles." % tuple(page_mm),
                           "Choose a larger sheet.", "Sheet size")
    below = top + measure_block(laid)[1][1] + _APART_MM
    heading = SheetBlock((), head.letter((head.wide_mm / 2, head.tall_mm / 2 + 1.0)))
    whole = join_blocks(heading, _move(drawn, 0.0, head.tall_mm + 4.0), _move(laid, 0.0, top + _APART_MM),
                        _move(foot, 0.0, below + _APART_MM), bars.piece)
    whole = _move(whole, edge_mm, edge_mm)
    return Page("KEY", float(page_mm[0]), float(page_mm[1]), (*whole.lines, *letter_texts(whole.texts)), title=title)


def _move(piece, x, y):
    return move_block(piece, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))


def _measure_foot(piece):
    return float(measure_block(piece)[1][1])


def _lay_boxes(boxes, wide, tall, *, size):
    """Boxes in columns, each where it comes to lie highest, or in rows of as many as are told; the first way that keeps
    them within a height, or None.
    """
    longest = text_width_mm("0", height_mm=size) * _LONGEST + 24.0

    def lay(box, count):
        room = min((wide - (count - 1) * _APART_MM) / count, longest)
        return lay_box(box[0], box[1], style=box[2], size=size, room_mm=room) if room >= 20 * size else None
    for count in (2, 3):
        found, feet = [], [0.0] * count
        for laid in (lay(box, count) for box in boxes):
            if laid is None:
                feet = [np.inf]
                break
            k = int(np.argmin(feet))
            found.append(_move(laid[0], k * (wide + _APART_MM) / count, feet[k]))
            feet[k] += laid[2] + _APART_MM
        if max(feet) - _APART_MM <= tall:
            return join_blocks(*found)
    for rows in _ROWS:
        found, y, some = [], 0.0, list(boxes)
        for count in rows:
            here, some = some[:count], some[count:]
            laid = [lay(box, count) for box in here]
            if any(one is None for one in laid):
                y = np.inf
                break
            found += [_move(one[0], k * (wide + _APART_MM) / count, y) for k, one in enumerate(laid)]
            y += max([one[2] + _APART_MM for one in laid], default=0.0)
        if y - _APART_MM <= tall:
            return join_blocks(*found)
    return None


def _measure_tiles(plan):
    """Corners of all tiles, and the least and greatest of them."""
    boxes = [plan.find_box(tile) for tile in plan.tiles]
    return boxes, np.min([b[0] for b in boxes], axis=0), np.max([b[1] for b in boxes], axis=0)


def _choose_scale(plan, room, tall):
    """The n of the largest scale 1 : n by which the tiles and what is lettered round them find room."""
    _, low, high = _measure_tiles(plan)
    return next((n for n in _SCALES if (high - low)[0] / n <= room - 22.0
                 and (high - low)[1] / n <= tall - 2 * _BAND_MM), _SCALES[-1])


def _draw_plan(outlines, plan, joins, stations, *, scale, room_mm) -> SheetBlock:
    """The tiles, the lines they are laid by, joins, frames and outlines small, as a key to how they lie together: from
    (0, 0) down and to the right.
    """
    boxes, low, high = _measure_tiles(plan)

    def shrink(points):
        return (np.asarray(points, float) - low) / scale + [0.0, _BAND_MM]
    lines = [SheetLine(shrink(one.cubics), "draw", role="key-plan", style="outline" if one.pen == "draw" else "edge",
                       closed=one.closed) for one in outlines]
    for a, b in boxes:
        corners = shrink([a, (b[0], a[1]), b, (a[0], b[1])])
        lines += [make_stroke(p, q, role="key-plan", style="sheet") for p, q in zip(corners, np.roll(corners, -1, 0))]
    # frames from the upper edge as far as their numbers want: tiles have their names below
    lines += [make_stroke(*shrink([line[0], line[0] + (line[1] - line[0]) / 3]), role="key-plan", style="station")
              for _, line in stations]
    right = shrink(high)[0]
    words: list[tuple[WordBlock, Points]] = []
    for number, y in enumerate(plan.lines_mm):               # beyond the tiles, where they hide none of their names
        at = shrink((0.0, y))[1]
        lines.append(make_stroke((right + 1.0, at), (right + 5.0, at), role="key-plan", style="join",
                                 values=(("row", name_row(number)),)))
        words.append((WordBlock((("LINE " + name_row(number), _FINE_MM),)),
                      np.array([(right + 13.0, at + k) for k in (0.0, 3.0, -3.0, 6.0, -6.0, 9.0, -9.0)])))
    room = Room((0.0, 0.0), shrink(high) + [22.0, _BAND_MM], round_mm=12.0)
    room.add_lines([one.cubics for one in lines])
    steps = np.arange(-22.0, 22.5, 1.0)
    near = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    near = near[np.argsort(np.hypot(near[:, 0], near[:, 1]), kind="stable")]
    words += [(WordBlock(((label.upper(), _FINE_MM),), style="station"),
               shrink(line[0]) + near[(near[:, 1] < 4.0) & (np.abs(near[:, 0]) < 4.0)]) for label, line in stations]
    for tile, (a, b) in zip(plan.tiles, boxes):
        size, (first, last) = float(np.clip(0.25 * min(b - a) / scale, _FINE_MM, 5.0)), shrink([a, b])
        goal = np.array([(first + last)[0] / 2, last[1] - size])
        places = goal + near
        inside = np.all((places > first + size / 2) & (places < last - size / 2), axis=1)
        words.append((WordBlock(((tile.name, size),)),
                      np.vstack([goal, places[inside], places[near[:, 1] >= 0.0], places])))
    words += [(WordBlock(((str(join.number), _FINE_MM),), style="join"),
               shrink(join.crosses[0]) + near[np.abs(near[:, 0]) < 5.0]) for join in joins]
    texts = []
    for block, places in words:
        half = block.size_mm[0] / 2
        places = [at for at in places if at[1] > 2.5 and half < at[0] < max(room_mm, right + 22.0) - half]
        laid = room.place(block, places)
        # frames and joins are counted from their neighbours where they have no room
        texts += laid or (block.letter(places[0]) if block.style == "note" else ())
    return SheetBlock(tuple(lines), tuple(texts))
