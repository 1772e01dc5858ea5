"""The surveyor's seventh instrument: what is planed off where, what the water does to the width, and how large a plank
is, measured again on the drawn faces and the saw line. It shares no code with plankcore.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import shapely
from surveyor import Claim, _measure_proofs, cut_up, lay_axes, measure_along, read_words
from surveyor_wood import find_words, list_frames

__all__ = ["list_area_claims", "list_planing_claims", "list_stock_claims", "list_swelling_claims"]

_MM = r"(-?\d+(?:\.\d+)?)"
_TENTH = 0.1


# -- planing ---------------------------------------------------------------------------------------------------


def list_planing_claims(sheet, drawing, lofted):
    """'UPPER EDGE: 0.7 TO 4.2 MM OFF THE INSIDE FACE, MOST AT STATION 4': how far the other face stands beyond the
    drawn one, square to it, looked at every two mm, of edges and ends."""
    words = read_words(sheet)
    for edge in ("upper", "lower", "fore", "aft"):
        name = "%s %s" % (edge.upper(), "EDGE" if edge in ("upper", "lower") else "END")
        (text,) = find_words(
            r"%s: ((?:SQUARE, NOTHING TO PLANE|(?:UP TO )?[0-9.]+ (?:TO [0-9.]+ )?MM (?:ALL ALONG )?OFF THE).*?)\. "
            r"(?:[A-Z])"
            % name,
            words,
        )
        points, away = _measure_aside(lofted, edge)
        faces = {"inboard": ("INSIDE", "OUTSIDE"), "outboard": ("OUTSIDE", "INSIDE")}[lofted.face]
        for sign, face in zip((1.0, -1.0), faces):
            told = re.search(
                r"(?:%s TO |(UP TO ))?%s MM( ALL ALONG)? OFF THE %s FACE(?:, MOST ([^;]*))?" % (_MM, _MM, face), text
            )
            most, least = float((sign * away).max()), float((sign * away).min())
            where = "sheet, planed off the %s %s, %s face" % (
                edge,
                "edge" if edge in ("upper", "lower") else "end",
                face,
            )
            if not told:
                # less than a tenth is told as nothing
                yield Claim(where + ", not told", 0.0, 2 * _TENTH, max(most, 0.0))
                continue
            low, _, high, even, place = told.groups()
            yield Claim(where + ", most", float(high), _TENTH, most)
            if low or even:
                yield Claim(where + ", least", float(low or high), _TENTH if low else 2 * _TENTH, least)
            else:
                yield Claim(where + ", least, not told", 0.0, 2 * _TENTH, max(least, 0.0))
            if place:
                yield Claim(
                    "%s, most %s" % (where, place.lower()),
                    most,
                    4e-3,
                    _find_most(list_frames(drawing, lofted), lofted, points, sign * away, place=place),
                )


def _measure_aside(lofted, edge):
    """Points of an edge of the drawn face, and how far outside it the other face's lies, square to it, where both are
    abreast."""
    over, length = lofted.other[edge], lofted.length(edge)
    first, last = over[0] - over[1], over[-1] - over[-2]
    over = np.vstack([over[0] + first / np.hypot(*first), over, over[-1] + last / np.hypot(*last)])
    places = np.union1d(np.linspace(0, length, int(length / 2) + 2), length - np.linspace(0, 3, 31)).clip(0)
    points = lofted.walk(edge, np.union1d(places, np.linspace(0, 3, 31)))
    which, away = measure_along(points, lofted.outward_each(edge, points)[1], cut_up(over), reach=60.0)
    return points[which], away


def _find_most(frames, lofted, points, away, place):
    """The largest at the place told: within a seventh of a bay of a station, or between two, or beyond one."""
    fore, along, _ = lay_axes(lofted.pattern)
    x = (points - fore) @ along
    at = {label.upper(): where for label, (where, _) in frames.items()}
    bay = min(abs(a - b) for a in at.values() for b in at.values() if a != b)
    one = re.fullmatch(r"AT STATION (.+)", place)
    two = re.fullmatch(r"BETWEEN STATIONS (.+) AND (.+)", place)
    ahead = re.fullmatch(r"FORWARD OF STATION (.+)", place)
    if one:
        here = np.abs(x - at[one.group(1)]) <= 0.16 * bay
    elif two:
        here = (x >= min(at[g] for g in two.groups())) & (x <= max(at[g] for g in two.groups()))
    elif ahead:
        here = x <= at[ahead.group(1)]
    else:
        here = x >= at[re.fullmatch(r"AFT OF STATION (.+)", place).group(1)]
    return float(away[here].max())


# -- water -----------------------------------------------------------------------------------------------------


def list_swelling_claims(sheet, lofted, *, shrinkage_percent, hung_percent, afloat_percent, added_mm, seam_mm=0.0):
    """Movement on the width as drawn, by the green size less what has shrunk of it in proportion below 30 % (USDA Wood
    Handbook FPL-GTR-190, chapter 13), and the room left off as it is drawn.

    shrinkage_percent : green to ovendry, of Table 4-3. added_mm : {edge: allowance}, of the long edges.
    """
    words = read_words(sheet)

    def share(moisture):
        return 1 - shrinkage_percent / 100 * (30 - min(moisture, 30)) / 30

    moved = share(afloat_percent) / share(hung_percent) - 1
    widest = max(
        [_measure_proofs(lofted_pattern(lofted))["Greatest width"]]
        + [max(s["inside"], s["outside"]) for s in lofted.sections.values()]
    )
    grows, width = find_words(
        r"AN ESTIMATE BY AVERAGES: ([+-]%s) MM ON THE GREATEST WIDTH OF %s MM" % (_MM[1:-1], _MM), words
    )
    yield Claim("sheet, swelling, width", float(width), _TENTH, widest)
    yield Claim("sheet, swelling, moves", float(grows), _TENTH, moved * widest)
    (seam,) = find_words(r"AT EACH SEAM ([+-]\d+(?:\.\d+)?) MM, NEIGHBOURS", words)
    yield Claim("sheet, swelling, each seam", float(seam), _TENTH, moved * widest)
    told = re.search(r"LEFT OFF FOR SWELLING: %s MM AT EACH EDGE AT THE WIDEST" % _MM, words)
    if told:
        yield Claim("sheet, swelling, left off at each edge", float(told.group(1)), _TENTH, moved * widest / 2)
        if not lofted.other:
            yield from _claim_room(words, lofted, added_mm)
    gap = re.search(
        r"THE SEAM, %s MM AT THE OUTSIDE WHEN HUNG, WOULD (NOT )?CLOSE BY SWELLING ALONE(?:;|:) %s MM" % (_MM, _MM),
        words,
    )
    if gap:
        open_ = seam_mm + (moved * widest if told else 0.0)
        yield Claim("sheet, seam when hung", float(gap.group(1)), _TENTH, open_)
        yield Claim("sheet, seam, what stays or presses", float(gap.group(3)), _TENTH, abs(open_ - moved * widest))


def lofted_pattern(lofted):
    """The plank as the pattern shows it, before bending and roundness."""
    return replace(lofted, edges=lofted.pattern, ways={})


def _claim_room(words, lofted, added):
    """Where only the drawn face counts: how far inside its allowance the saw line is drawn."""
    for edge in ("upper", "lower"):
        off = lofted.saw_off_each(edge, lofted.walk(edge, np.linspace(0.0, lofted.length(edge), 301)))
        (room,) = find_words(r"ROOM FOR SWELLING LEFT OFF: .*?%s EDGE UP TO %s MM" % (edge.upper(), _MM), words)
        yield Claim("sheet, room, %s edge" % edge, float(room), _TENTH, added[edge] - float(off.min()))
        inside = re.search(r"THE SAW LINE RUNS INSIDE .*?%s EDGE UP TO %s MM INSIDE" % (edge.upper(), _MM), words)
        clear = re.search(
            r"THE SAW LINE STAYS OUTSIDE [^.]*?: [^.]*?(?:\.\d[^.]*?)*%s EDGE %s MM" % (edge.upper(), _MM), words
        )
        if inside:
            yield Claim("sheet, saw inside the %s edge" % edge, -float(inside.group(1)), _TENTH, float(off.min()))
        elif clear:
            yield Claim("sheet, saw outside the %s edge" % edge, float(clear.group(1)), _TENTH, float(off.min()))
        else:
            yield Claim("sheet, saw off the %s edge, not told" % edge, 0.0, _TENTH, float(off.min()))


# -- areas -----------------------------------------------------------------------------------------------------


def list_area_claims(drawing, lofted):
    """Area, length and width of the plank as its group carries them, of the four drawn edges and of the outline."""
    plank = drawing.find("plank")[0]
    edges = {i.values["edge"]: i.runs[0].pieces for i in drawing.find("edge")}
    loop = [*edges["upper"], *edges["aft"], *(p[::-1] for e in ("lower", "fore") for p in edges[e][::-1])]
    for name, pieces in (("edges", loop), ("outline", drawing.one("outline").runs[0].pieces)):
        yield Claim("drawing, area of the %s, mm2" % name, plank.number("area-mm2"), 1e-3, measure_area(pieces))
    proofs = _measure_proofs(lofted_pattern(lofted))
    yield Claim("drawing, length", plank.number("length-mm"), 1e-3, proofs["Baseline"])
    yield Claim("drawing, width", plank.number("width-mm"), 1e-3, proofs["Greatest width"])
    for edge in drawing.find("edge"):
        yield Claim(
            "drawing, length of the %s edge" % edge.values["edge"],
            edge.number("length-mm"),
            1e-3,
            float(shapely.LineString(lofted.pattern[edge.values["edge"]]).length),
        )


def measure_area(pieces):
    """Area within a closed chain of Bezier pieces, mm2: half the integral of x dy - y dx, by Gauss's rule, which is
    exact for them."""
    u, weights = np.polynomial.legendre.leggauss(6)
    u = (u + 1) / 2
    total = 0.0
    for piece in pieces:
        rows = [piece[None] + 0.0 * u[:, None, None]]
        while rows[-1].shape[1] > 2:  # de Casteljau, down to the last chord, which is the tangent
            r = rows[-1]
            rows.append(r[:, :-1] * (1 - u[:, None, None]) + r[:, 1:] * u[:, None, None])
        ends = rows[-1]
        way = (len(piece) - 1) * (ends[:, 1] - ends[:, 0])
        at = ends[:, 0] * (1 - u[:, None]) + ends[:, 1] * u[:, None]
        total += float(np.sum(weights / 2 * (at[:, 0] * way[:, 1] - at[:, 1] * way[:, 0]))) / 2
    return abs(total)


# -- boards ------------------------------------------------------------------------------------------------------------


def list_stock_claims(drawing, lofted, *, board_mm, thickness_mm, edge_mm=5.0, end_mm=25.0, slope=12.0):
    """What Choose Stock says of a plank on one rectangular board (thick, wide, long): least boards, board measure,
    waste
    and what a scarf saves, on the saw line as drawn.

    A board foot is 144 cubic inches. The narrowest rectangle round a shape lies along an edge of its hull, and so does
    the
    smallest (H. Freeman and R. Shapira, Comm. ACM 18, 1975; from memory, not checked).
    """
    layer = next(i for i in drawing.items if i.role == "layer" and i.values.get("layer") == "stock")
    words = " ".join(layer.rows())
    ring = shapely.Polygon(np.vstack([r.trace(64) for r in drawing.one("saw").runs]))
    narrow = min(list_rectangles(ring), key=lambda box: box[0])
    small = min(list_rectangles(ring), key=lambda box: box[0] * box[1])
    wide, long, area_wide, area_long = find_words(
        r"LEAST BOARD: %s MM \([^)]*\) WIDE, %s MM LONG.*?OF LEAST AREA: %s X %s MM" % (_MM, _MM, _MM, _MM), words
    )
    for name, text, step, value in (
        ("least board, wide", wide, _TENTH, narrow[0] + 2 * edge_mm),
        ("least board, long", long, 1.0, narrow[1] + 2 * end_mm),
        ("least area, wide", area_wide, 1.0, small[0] + 2 * edge_mm),
        ("least area, long", area_long, 1.0, small[1] + 2 * end_mm),
    ):
        yield Claim("stock, %s" % name, float(text), step, value)
    yield Claim("stock, least-width-mm", layer.number("least-width-mm"), 0.01, narrow[0] + 2 * edge_mm)
    feet, metres, waste = find_words(r"%s BF BY VOLUME, .*?, %s M3; WASTE %s %%" % (_MM, _MM, _MM), words)
    volume = float(np.prod(board_mm))
    yield Claim("stock, board feet", float(feet), 0.01, volume / 25.4**3 / 144)
    yield Claim("stock, cubic metres", float(metres), 1e-4, volume / 1e9)
    yield Claim("stock, waste", float(waste), 1.0, 100 * (1 - ring.area / board_mm[1] / board_mm[2]))
    yield from _claim_tally(words, board_mm)
    yield from _claim_grain(layer, words, lofted)
    yield from _claim_scarf(words, ring, narrow, lofted, length=slope * thickness_mm, edge=edge_mm, end=end_mm)


def _claim_tally(words, board_mm):
    """Surface measure of hardwood lumber: width in inches by length in whole feet, over twelve, to the nearest foot;
    times the thickness in whole quarters of an inch (NHLA, Rules for the Measurement and Inspection of Hardwood and
    Cypress, from memory, not checked)."""
    feet, surface = find_words(r"%s BF BY NHLA \(SM %s\)" % (_MM, _MM), words)
    thick, wide, long = (v / 25.4 for v in board_mm)
    told = round(wide * int(long / 12) / 12)
    yield Claim("stock, surface measure", float(surface), 0.5, told)
    yield Claim("stock, feet by tally", float(feet), 0.01, told * int(4 * thick) / 4)


def _claim_grain(layer, words, lofted):
    """How far the line midway between the long edges bows, and its greatest angle to a grain that runs along the board;
    at the place that is told it is that angle."""
    fore, along, up = lay_axes(lofted.edges)
    shares, sides = np.linspace(0.0, 1.0, 4001), []
    for name in ("upper", "lower"):
        line = lofted.edges[name]
        arc = np.append(0.0, np.cumsum(np.hypot(*np.diff(line, axis=0).T)))
        sides.append(np.stack([np.interp(shares * arc[-1], arc, line[:, k]) for k in (0, 1)], axis=1) - fore)
    x, middle = (sum(sides) / 2) @ along, (sum(sides) / 2) @ up
    (sny,) = find_words(r"SNY %s MM" % _MM, words)
    yield Claim("stock, sny", float(sny), _TENTH, float(np.ptp(middle)))
    hand = np.sign(up @ [-along[1], along[0]]) * (-1 if layer.values["turned-over"] == "yes" else 1)
    off = np.abs(hand * np.degrees(np.arctan(np.gradient(middle, x))) + layer.number("turn-deg"))
    ratio, degrees, at = find_words(
        r"GRAIN RUNS OUT 1 IN %s AT THE WORST \(%s DEGREES\), %s MM ALONG FROM THE FORE END" % (_MM, _MM, _MM), words
    )
    yield Claim("stock, run-out", float(degrees), _TENTH, float(off.max()))
    yield Claim("stock, run-out, one in", float(ratio), 1.0, float(1 / np.tan(np.radians(off.max()))))
    yield Claim("stock, run-out-deg", layer.number("runout-deg"), 0.02, float(off.max()))
    yield Claim("stock, run-out where it is told", float(np.interp(float(at), x, off)), 0.04, float(off.max()))


def _claim_scarf(words, ring, narrow, lofted, length, edge, end):
    """The parts cut square to the baseline, half the scarf's length beyond the middle that is told."""
    told = re.search(
        r"A SCARF \d+ TO 1 \(%s MM\) WITH ITS MIDDLE %s MM FROM THE FORE END LETS BOARDS OF %s MM SERVE IN PLACE OF "
        r"%s MM, AND (SAVES|COSTS) %s M2" % (_MM, _MM, _MM, _MM, _MM),
        words,
    )
    if not told:
        assert "A SCARF WOULD NOT LET" in words
        return
    long, middle, serve, whole, sense, saved = told.groups()
    fore, along, up = lay_axes(lofted.edges)
    sides = []
    for sign in (-1.0, 1.0):
        cut = fore + (float(middle) - sign * length / 2) * along
        corners = [
            cut - 900 * up,
            cut + 900 * up,
            cut + 900 * up + sign * 9000 * along,
            cut - 900 * up + sign * 9000 * along,
        ]
        sides.append(min(list_rectangles(shapely.intersection(ring, shapely.Polygon(corners))), key=lambda box: box[0]))
    yield Claim("stock, scarf, long", float(long), 1.0, length)
    yield Claim("stock, scarf, boards serve", float(serve), 1.0, max(w for w, _ in sides) + 2 * edge)
    yield Claim("stock, scarf, in place of", float(whole), 1.0, narrow[0] + 2 * edge)
    boards = [(w + 2 * edge) * (n + 2 * end) for w, n in (narrow, *sides)]
    yield Claim(
        "stock, scarf, saves", float(saved) * (1 if sense == "SAVES" else -1), 1e-3, (boards[0] - sum(boards[1:])) / 1e6
    )


def list_rectangles(shape):
    """(width, length) of the rectangles round a shape that lie along the edges of its hull."""
    points = shapely.get_coordinates(shape.convex_hull)
    ways = np.diff(points, axis=0)
    ways = ways[np.hypot(*ways.T) > 1e-9]
    ways = ways / np.hypot(*ways.T)[:, None]
    along, across = points @ ways.T, points @ np.stack([-ways[:, 1], ways[:, 0]])
    return [tuple(sorted(box)) for box in zip(np.ptp(across, axis=0), np.ptp(along, axis=0))]
