"""Checks of the plank as wood: thickness, saw line, allowances, the board it is to come out of, moisture."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..actions import ALLOWANCE, FAIR, SECTION, STOCK
from ..geometry.convex import find_least_width, measure_extents_mm
from ..model.check import CheckResult, make_place
from ..model.drawing import find_facts
from ..trade.check_limits import EDGE_WOOD_MM, END_WOOD_MM, PRACTICE
from ..trade.moisture import LEAST_PERCENT, MOST_PERCENT, judge_hanging_moisture
from ..units import format_inches, format_mm

if TYPE_CHECKING:
    from ..model.check import PlankState

__all__ = ["CHECKS"]

_LOOP = ("upper", "aft", "lower", "fore")      # the order of Plank.outline, of a Board's faces and of a saw line
_LONG = ("upper", "lower")
_SEEN_MM = 0.1            # smaller differences are ignored: no saw is that accurate
_SHORT_MM = 0.05
_RULE = "the plank's own thickness and the hollow of its frames"


def check_thickness(state: PlankState) -> CheckResult:
    """Whether the thickness is known at all."""
    name = "THICKNESS GIVEN"
    if state.plank.thickness_mm > 0:
        return CheckResult(name, "pass",
                           found="%s (%s)" % (format_mm(state.plank.thickness_mm).upper(),
                                        format_inches(state.plank.thickness_mm).upper()), limit="GIVEN",
                           source=PRACTICE,
                           number=state.plank.thickness_mm)
    return CheckResult(name, "doubt", found="NOT GIVEN", limit="GIVEN", source=PRACTICE,
                       remedy="MEASURE THE OLD PLANK WHERE IT IS SOUND, AND GIVE IT IN %s" % FAIR.capitals, where=(),
                       number=0.0)


def check_finished(state: PlankState) -> CheckResult:
    """Finished thickness after the hollow, at every station, out of the stock that was given."""
    name, board = "FINISHED THICKNESS AFTER THE HOLLOW", state.board
    if board is None:
        return CheckResult.need(name, SECTION.capitals)
    worst = min(board.sections, key=lambda s: s.thickness_mm)
    said = "%s AT FRAME %s" % (format_mm(worst.thickness_mm).upper(), worst.station.upper())
    limit = "%s" % format_mm(board.thickness_mm).upper()
    if worst.thickness_mm >= board.thickness_mm - _SHORT_MM:
        # without a given stock the sections are drawn at the thickness wanted, which proves nothing
        if not board.given_stock_mm:
            return CheckResult.need(name, "THE THICKNESS OF THE STOCK, GIVEN IN %s" % SECTION.capitals)
        return CheckResult(name, "pass", found=said, limit=limit, source=_RULE, number=worst.thickness_mm)
    thin = [s for s in board.sections if s.thickness_mm < board.thickness_mm - _SHORT_MM]
    return CheckResult(name, "fail", found=said, limit=limit, source=_RULE,
                       remedy="BUY STOCK OF %s (%s)" % (format_mm(board.stock_mm).upper(), board.stock_name.upper()),
                       where=tuple(make_place(s.line.mean(axis=0)) for s in thin), number=worst.thickness_mm)


def check_stock_thickness(state: PlankState) -> CheckResult:
    """The thickness of the board at hand, compared with what the thickest section needs."""
    name, there = "BOARD THICK ENOUGH", state.measured.board_thickness_mm
    if not there:
        return CheckResult.need(name, "THE THICKNESS OF THE BOARD THERE IS")
    board, plank = state.board, state.plank
    if board is None and plank.thickness_mm <= 0:
        return CheckResult.need(name, "THE PLANK'S THICKNESS, AND %s" % SECTION.capitals)
    said = "%s" % format_mm(there).upper()
    if board is None:
        limit = "%s, HOLLOW AND PLANING NOT COUNTED" % format_mm(plank.thickness_mm).upper()
        if there < plank.thickness_mm - _SHORT_MM:
            return CheckResult(name, "fail", found=said, limit=limit, source=_RULE, remedy="A THICKER BOARD",
                               where=(), number=there)
        return CheckResult.need(name, "%s: THE HOLLOW TAKES THICKNESS" % SECTION.capitals)
    worst = max(board.sections, key=lambda s: s.stock_mm)
    limit = "%s WITH PLANING (%s)" % (format_mm(board.stock_mm).upper(), board.stock_name.upper())
    if there >= board.stock_mm - _SHORT_MM:
        return CheckResult(name, "pass", found=said, limit=limit, source=_RULE, number=there)
    thin = tuple(make_place(s.line.mean(axis=0)) for s in board.sections
                 if s.stock_mm > there - _SHORT_MM) or (make_place(worst.line.mean(axis=0)),)
    if there < worst.stock_mm - _SHORT_MM:
        said += ", LEAVES %s AT FRAME %s" % (format_mm(max(there - worst.stock_mm + board.thickness_mm, 0)).upper(),
                                             worst.station.upper())
        return CheckResult(name, "fail", found=said, limit=limit, source=_RULE,
                           remedy="A THICKER BOARD, OR A NARROWER STRAKE: THE HOLLOW GROWS WITH THE SQUARE OF THE "
                                  "WIDTH",
                           where=thin, number=there)
    return CheckResult(name, "doubt", found=said, limit=limit, source=_RULE,
                       remedy="NO WOOD IS LEFT FOR PLANING: A FLAT, SURFACED BOARD ALONE WILL DO",
                       where=(make_place(worst.line.mean(axis=0)),), number=there)


def _measure_clear_mm(state, number, face):
    """How far a saw line lies outside a face along one long edge: places (n, 2) of the face and mm (n,), negative where
    it lies inside."""
    start, along, across = state.plank.find_axes()
    sawn, curve = state.saw_curves[number], face[number]
    line = sawn.flatten() - start
    order = np.argsort(line @ along, kind="stable")
    x, y = (line @ along)[order], (line @ across)[order]
    u = np.linspace(0, len(curve.cubics), 12 * len(curve.cubics) + 1)
    points = curve.evaluate(u)
    at, off = (points - start) @ along, (points - start) @ across
    inner = (at >= x[0]) & (at <= x[-1])
    slope = np.gradient(y, np.maximum.accumulate(x + 1e-9 * np.arange(len(x)))) if len(x) > 2 else np.full(
        len(x), (y[-1] - y[0]) / (x[-1] - x[0]))
    other = state.plank.edges["lower" if _LOOP[number] == "upper" else "upper"].curve
    outward = np.sign(np.mean(off) - np.mean((other.flatten() - start) @ across))
    apart = outward * (np.interp(at, x, y) - off) / np.sqrt(1 + np.interp(at, x, slope) ** 2)
    return points[inner], apart[inner]


def check_saw_line(state: PlankState) -> CheckResult:
    """Whether the saw line holds both faces of the plank: made before the bevels were known it cuts the outside too
    narrow.
    """
    name, board = "SAW LINE OUTSIDE BOTH FACES", state.board
    if not state.saw_curves:
        return CheckResult.need(name, ALLOWANCE.capitals)
    faces = [("DRAWN FACE",
              state.plank.outline())] if board is None else [("%s FACE" % board.face.upper(), board.drawn_face),
                                                                           ("%s FACE"
                                                                            % {"inboard": "OUTBOARD",
                                                                               "outboard": "INBOARD"}[board.face],
                                                                            board.other_face)]
    rows = []
    for words, face in faces:
        for edge in _LONG:
            points, clear = _measure_clear_mm(state, _LOOP.index(edge), face)
            if len(clear):
                k = int(np.argmin(clear))
                left = state.saw.added_mm[edge] if state.saw is not None else 0.0
                rows.append((float(clear[k]), float(clear[k]) - left, "%s, %s EDGE" % (words, edge.upper()),
                             make_place(points[k])))
    worst = min(rows, key=lambda r: r[0])
    said = "ALONG THE %s" % worst[2] if abs(worst[0]) < _SEEN_MM else "%s %s THE %s" % (
        format_mm(abs(worst[0])).upper(), "OUTSIDE" if worst[0] > 0 else "INSIDE", worst[2])
    limit, source = ("NOT INSIDE EITHER FACE",
                     "geometry: the outside is wider or narrower by thickness times the tangent of each bevel")
    room = state.saw is not None and "swelling" in state.saw.includes
    if worst[0] < -_SEEN_MM:
        where = tuple(r[3] for r in rows if r[0] < -_SEEN_MM)
        if room:
            return CheckResult(name, "doubt", found=said + ": THE ROOM FOR SWELLING THAT WAS ASKED FOR",
                               limit=limit + " BUT BY THE ROOM ASKED FOR", source=source,
                               remedy="MEANT: MARK THE NET EDGE ANEW, THAT ROOM INSIDE THE FACE, BEFORE PLANING. IF "
                                      "NOT MEANT, RUN %s AGAIN WITHOUT ROOM" % ALLOWANCE.capitals,
                               where=where, number=worst[0])
        return CheckResult(name, "fail", found=said, limit=limit, source=source,
                           remedy="THE PLANK WOULD BE TOO NARROW: RUN %s AGAIN, AFTER %s"
                                  % (ALLOWANCE.capitals, SECTION.capitals),
                           where=where,
                           number=worst[0])
    if board is None:
        return CheckResult.need(name, "%s: THE OTHER FACE IS NOT KNOWN" % SECTION.capitals)
    eaten = [r for r in rows if r[1] < -_SEEN_MM]
    if state.saw is not None and eaten and not room:
        most = min(eaten, key=lambda r: r[1])
        return CheckResult(name, "doubt", found=said, limit="%s LEFT AS ASKED" % format_mm(most[0] - most[1]).upper(),
                           source=source,
                           remedy="THE BEVEL EATS THE WOOD LEFT FOR PLANING: RUN %s AGAIN" % ALLOWANCE.capitals,
                           where=(most[3],), number=worst[0])
    if room:
        said += ", THE ROOM FOR SWELLING THAT WAS ASKED FOR TAKEN OFF"
    return CheckResult(name, "pass", found=said, limit=limit, source=source, number=worst[0])


def check_edge_wood(state: PlankState) -> CheckResult:
    """Wood left at the long edges."""
    name = "WOOD LEFT AT THE EDGES"
    if state.saw is None:
        return CheckResult.need(name, ALLOWANCE.capitals)
    return _judge_wood(name, state, edges=_LONG, limit=EDGE_WOOD_MM, words="1/16 TO 1/8 IN, OVER 1/4 IN IS WASTE",
                       why="NOTHING IS LEFT FOR SAW AND PLANE", remedy="GIVE 1/16 TO 1/8 IN IN %s" % ALLOWANCE.capitals)


def check_end_wood(state: PlankState) -> CheckResult:
    """Wood left at the ends."""
    name = "WOOD LEFT AT THE ENDS"
    if state.saw is None:
        return CheckResult.need(name, ALLOWANCE.capitals)
    return _judge_wood(name, state, edges=("fore", "aft"), limit=END_WOOD_MM, words="1 TO 2 IN UNTIL THE DRY FIT",
                       why="THE END IS CUT ONCE AND MUST BE RIGHT",
                       remedy="GIVE 1 TO 2 IN IN %s; CUT EXACT ONLY WHAT HAS BEEN TRIED" % ALLOWANCE.capitals)


def _judge_wood(name, state, *, edges, limit, words, why, remedy):
    added = state.saw.added_mm
    said = ", ".join("%s %s" % (e.upper(), format_mm(added[e]).upper()) for e in edges)
    # 0.1 mm of grace: a yard that works in whole mm rounds sixteenths of an inch
    low = [e for e in edges if added[e] < limit.good - 0.1]
    high = [e for e in edges if added[e] > limit.bad + 0.1]
    if not low and not high:
        return CheckResult(name, "pass", found=said, limit=words, source=limit.source,
                           number=min(added[e] for e in edges))
    where = tuple(make_place(state.plank.edges[e].curve.evaluate([len(state.plank.edges[e].curve.cubics) / 2])[0])
                  for e in low + high)
    return CheckResult(name, "doubt", found=said, limit=words, source=limit.source,
                       remedy="%s: %s" % (why, remedy) if low
                       else "MORE THAN IS NEEDED: " + remedy, where=where, number=min(added[e] for e in edges))


def check_board_size(state: PlankState) -> CheckResult:
    """Whether the plank, with its sny (the curve of its run), comes out of the board at hand."""
    name, long, wide = "BOARD LONG AND WIDE ENOUGH", state.measured.board_length_mm, state.measured.board_width_mm
    if not (long and wide):
        return CheckResult.need(name, "LENGTH AND WIDTH OF THE BOARD THERE IS")
    curves = state.saw_curves or state.plank.outline()
    what, more = ("SAW LINE" if state.saw_curves else "NET OUTLINE"), (0.0, 0.0)
    pieces = [(what, np.vstack([c.flatten() for c in curves]))]
    if len(state.parts) > 1:
        added = state.saw.added_mm if state.saw is not None else dict.fromkeys(_LOOP, 0.0)
        more = (added["fore"] + added["aft"], added["upper"] + added["lower"])
        pieces = [("PART %d" % p.number, np.vstack([c.flatten() for c in p.curves])) for p in state.parts]
    rows = []
    for words, points in pieces:
        least = find_least_width(points, longest_mm=long - more[0])
        free = find_least_width(points)
        length = float(measure_extents_mm(points, least.turn_deg if least else free.turn_deg)[0][0]) + more[0]
        width = (least or free).width_mm + more[1]
        rows.append((width, length, words, least is None or (width > wide and free.length_mm + more[0] > long)))
    worst = max(rows, key=lambda r: (r[3], r[0]))
    sny = _measure_sny_mm(state.plank)
    said = "%s TAKES %.0f X %.0f MM, SNY %.0f MM" % (worst[2], worst[1], worst[0], sny)
    limit, source = "%.0f X %.0f MM" % (long, wide), "geometry of its outline, laid as straight as it will go"
    if worst[3]:
        return CheckResult(name, "fail", found=said, limit=limit, source=source,
                           remedy="TOO LONG: A LONGER BOARD, OR A BUTT OR SCARF",
                           where=tuple(make_place(p) for p in state.plank.find_baseline()), number=worst[1])
    if worst[0] > wide:
        return CheckResult(name, "fail", found=said, limit=limit, source=source,
                           remedy="TOO NARROW FOR THE SNY: A WIDER BOARD, OR TWO LENGTHS SCARFED",
                           where=(_find_crown(state.plank),), number=worst[0])
    return CheckResult(name, "pass", found=said, limit=limit, source=source, number=worst[0])


def check_chosen_board(state: PlankState) -> CheckResult:
    """What Choose Stock found about the board: wood to spare, knots, slope of the grain."""
    name, source = "BOARD CHOSEN, AND ITS GRAIN", "the settings of %s" % STOCK.title
    if STOCK.layer not in state.facts:
        return CheckResult.need(name, "%s: A BOARD, AND THE WAY ITS GRAIN RUNS" % STOCK.capitals)
    doubts = state.findings.get("stock", ())
    if not doubts:
        said = [fact.words for fact in find_facts(state.facts[STOCK.layer], "board")]
        return CheckResult(name, "pass", found=said[0].rstrip(".") if said else "", limit="NO DOUBT THERE",
                           source=source, number=0)
    return CheckResult(name, "doubt", found=doubts[0].text.rstrip(".").upper()
                       + ("; AND %d MORE" % (len(doubts) - 1) if len(doubts) > 1 else ""), limit="NO DOUBT THERE",
                       source=source,
                       remedy="ANOTHER BOARD, OR ANOTHER PLACE ON IT",
                       where=tuple(f.where for f in doubts if f.where is not None),
                       number=len(doubts))


def _find_bow(plank):
    """Points (n, 2) on the upper edge, and the distance of each from the chord of its ends, mm."""
    points = plank.edges["upper"].curve.flatten()
    way = points[-1] - points[0]
    return points, np.abs((points - points[0]) @ np.array([-way[1], way[0]])) / np.hypot(*way)


def _measure_sny_mm(plank):
    return float(_find_bow(plank)[1].max())


def _find_crown(plank):
    points, bow = _find_bow(plank)
    return make_place(points[int(np.argmax(bow))])


def check_moisture(state: PlankState) -> CheckResult:
    """Moisture of the wood when it is hung."""
    name, percent = "MOISTURE WHEN HUNG", state.measured.moisture
    if percent is None:
        return CheckResult.need(name, "THE MOISTURE OF THE BOARD, BY METER OR OVEN")
    lives = state.saw.lives if state.saw is not None else "not said"
    advice = judge_hanging_moisture(percent, lives=lives)
    said, limit = "%g PERCENT" % percent, "%g TO %g PERCENT" % (LEAST_PERCENT, MOST_PERCENT)
    source = "E. C. Peck, FPL R1606 (1945)"
    if advice.verdict == "ok":
        return CheckResult(name, "pass", found=said, limit=limit, source=source, number=percent)
    remedy = ("LET IT TAKE UP MOISTURE IN THE SHED: " if advice.verdict == "low"
              else "LET IT DRY UNDER COVER: ") + advice.comes.upper()
    return CheckResult(name, "fail", found=said, limit=limit, source=source, remedy=remedy, where=(), number=percent)


CHECKS = (check_thickness, check_finished, check_stock_thickness, check_saw_line, check_edge_wood, check_end_wood,
          check_board_size, check_chosen_board, check_moisture)
