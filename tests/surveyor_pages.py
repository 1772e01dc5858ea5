"""The surveyor's sixth instrument: tiles, their key, rolls and long pages, measured on the pages themselves: laid by
their lines as the key says, and read as one.

It shares no code with plankcore; of the attributes it reads a line's role, its page, and the name of a join or a cross.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import shapely
from host.pdf import list_pdf_words, read_pdf_pages
from surveyor import Claim, read_words

__all__ = [
    "list_board_claims",
    "list_calibration_claims",
    "list_long_page_claims",
    "list_map_claims",
    "list_roll_claims",
    "list_tile_claims",
]

_MM = r"(-?\d+(?:\.\d+)?)"
_SIGNS = {"BELOW": 1.0, "ABOVE": -1.0}
_SODIPODI, _LABEL = (
    "{http://www.inkscape.org/namespaces/inkscape}page",
    "{http://www.inkscape.org/namespaces/inkscape}label",
)


@dataclass(frozen=True, eq=False)
class Tile:
    """A tile: its name, its items, where its page lies in the file, and where the tick 0 of its line would stand, both
    (2,) mm."""

    name: str
    items: list
    corner: np.ndarray
    zero: np.ndarray


def _list_pages(pages):
    """{name: x of its left edge} of the editor's pages."""
    root = next(iter(pages.items)).element.getroottree().getroot()
    return {p.get(_LABEL): float(p.get("x")) for p in root.iter(_SODIPODI)}


def _find_middle(item):
    points = np.vstack([r.trace(1) for r in item.runs])
    return (points.min(axis=0) + points.max(axis=0)) / 2


def _read_tiles(pages):
    lefts, found = _list_pages(pages), []
    for name, left in lefts.items():
        if name.startswith("KEY"):
            continue
        items = [i for i in pages.items if i.values.get("page") == name]
        line = next(i for i in items if i.role == "baseline").runs[0].trace(1)
        # the figures that stand at the ticks say which they are
        ticks = sorted(
            (float(_find_middle(i)[0]), float(np.ptp(i.runs[0].trace(1)[:, 1])))
            for i in items
            if i.role == "baseline-tick"
        )
        figures = [
            i
            for i in items
            if re.fullmatch(r"\d+", i.values.get("text", ""))
            and i.runs
            and abs(_find_middle(i)[1] - line[0, 1]) < 8.0
            and i.role not in ("label",)
        ]
        zeros = []
        for figure in figures:
            x = np.vstack([r.trace(1) for r in figure.runs])[:, 0]
            at = min(
                (t for t, tall in ticks if tall > 4.0),
                key=lambda t: min(abs(x.min() - 1.5 - t), abs(x.max() + 1.5 - t)),
            )
            zeros.append(at - float(figure.values["text"]))
        assert zeros, "no tick of tile %s has its figure" % name
        found.append((Tile(name, items, np.array([left, 0.0]), np.array([zeros[0], line[0, 1]])), zeros, ticks, line))
    return found


def list_tile_claims(pages, *, plank_mm):
    """Figures of the key and on the tiles: lines, ticks, crosses, joins, edges, key plan. plank_mm : least x and y and
    greatest of the line to cut, on a sheet along its baseline."""
    words, tiles = read_words(pages), _read_tiles(pages)
    by_name = {tile.name: tile for tile, *_ in tiles}
    step, outer = 10.0, []
    for tile, zeros, ticks, line in tiles:
        where = "tile %s" % tile.name
        for k, zero in enumerate(zeros):
            yield Claim("%s, figure %d" % (where, k), 0.0, 1e-3, zero - zeros[0])
        for k, (at, _) in enumerate(ticks):
            yield Claim("%s, tick %d" % (where, k), step * round((at - tile.zero[0]) / step), 1e-3, at - tile.zero[0])
        yield Claim("%s, line straight along" % where, 0.0, 1e-3, float(np.ptp(line[:, 1])))
        base = next(i for i in tile.items if i.role == "baseline")
        for name, value in (("from-mm", line[:, 0].min()), ("to-mm", line[:, 0].max())):
            yield Claim("%s, line, %s" % (where, name), base.number(name), 1e-3, float(value) - tile.zero[0])
        outer += [ticks[0][0] - tile.zero[0], ticks[-1][0] - tile.zero[0]]
    first, last, length, begins, ends = re.search(
        r"FROM TICK %s TO TICK %s ARE %s MM BY ONE TAPE; THE LINE TO CUT BEGINS AT %s AND ENDS AT %s MM"
        % (_MM, _MM, _MM, _MM, _MM),
        words,
    ).groups()
    yield Claim("key, first tick", float(first), 0.01, min(outer))
    yield Claim("key, last tick", float(last), 0.01, max(outer))
    yield Claim("key, from tick to tick", float(length), 0.1, max(outer) - min(outer))
    below = yield from _claim_joins(words, tiles, by_name)
    yield from _claim_cut(begins, ends, tiles=tiles, below=below, plank_mm=plank_mm)
    yield from _claim_edges(words, tiles)
    for k, (tile, *_) in enumerate(tiles, 1):
        texts = [i.values["text"] for i in tile.items if "text" in i.values]
        number, count = next(m.groups() for m in (re.search(r"TILE (\d+) OF (\d+)$", t) for t in texts) if m)
        yield Claim("tile %s, number" % tile.name, int(number), 0, k)
        yield Claim("tile %s, of how many" % tile.name, int(count), 0, len(tiles))
        told = next(
            m
            for m in (re.match(r"LAY BY LINE (\w)(?:, %s MM (BELOW|ABOVE) LINE (\w))?, TICKS" % _MM, t) for t in texts)
            if m
        )
        row = tile.name[0]
        base = told.group(4) or row
        assert told.group(1) == row and (told.group(2) is None) == (below[row] == 0.0) and below[base] == 0.0
        if told.group(2):
            yield Claim(
                "tile %s, below" % tile.name, _SIGNS[told.group(3)] * float(told.group(2)), 0.1, below[tile.name[0]]
            )
    for row, text, way in re.findall(r"LINE (\w) IS PARALLEL TO LINE \w, %s MM (BELOW|ABOVE) IT" % _MM, words):
        yield Claim("key, line %s below" % row, _SIGNS[way] * float(text), 0.1, below[row])
    yield from _claim_key_plan(words, pages, plank_mm)


def _claim_joins(words, tiles, by_name):
    """Crosses lie on each other where two tiles are laid by their lines, and as far apart as is told. Returns how far
    each row's line lies below the first's."""
    crosses = {}
    for tile, *_ in tiles:
        for item in tile.items:
            if item.role == "join-mark":
                crosses.setdefault(item.values["cross"], {})[tile.name] = _find_middle(item) - tile.zero
    below = {}
    while {name[0] for name in by_name} - set(below):
        # the first line of a plank, or of a part that is laid by itself
        below[min({name[0] for name in by_name} - set(below))] = 0.0
        for _ in range(len(by_name)):
            for places in crosses.values():
                for a, b in ((a, b) for a in places for b in places if a[0] != b[0]):
                    if a[0] in below and b[0] not in below:
                        below[b[0]] = below[a[0]] + float(places[a][1] - places[b][1])
    laid = {}
    for cross, places in crosses.items():
        assert len(places) == 2, "cross %s is on %d tiles" % (cross, len(places))
        spots = [place + [0.0, below[name[0]]] for name, place in places.items()]
        laid[cross] = spots[0]
        yield Claim("cross %s, of both tiles" % cross, 0.0, 1e-3, float(np.hypot(*(spots[0] - spots[1]))))
    for tile, *_ in tiles:
        texts = [i.values["text"] for i in tile.items if "text" in i.values]
        for a, b, text in (
            m.groups() for m in (re.fullmatch(r"(\d+[A-Z])  TO (\d+[A-Z]) %s MM" % _MM, t) for t in texts) if m
        ):
            yield Claim(
                "tile %s, %s to %s" % (tile.name, a, b), float(text), 0.1, float(np.hypot(*(laid[a] - laid[b])))
            )
    told = re.findall(r"JOIN (\d+), (\w+) TO (\w+): %s MM" % _MM, words)
    # where it has room for them; the distances stand on the tiles as well
    joins = {int(c[:-1]) for c in crosses}
    assert not told or joins == {int(t[0]) for t in told}, "the key tells of %d joins" % len(told)
    for number, one, other, text in told:
        some = sorted(c for c in crosses if c[:-1] == number)
        assert set(crosses[some[0]]) == {one, other}, "join %s is of %s" % (number, sorted(crosses[some[0]]))
        yield Claim("key, join %s" % number, float(text), 0.1, float(np.hypot(*(laid[some[0]] - laid[some[-1]]))))
    far = re.search(
        r"LONG DIAGONALS, CROSS TO CROSS: (\w+) TO (\w+) %s, (\w+) TO (\w+) %s MM" % (_MM, _MM), words
    ) or re.search(r"FROM CROSS (\w+) TO CROSS (\w+) %s MM" % _MM, words)
    if far:
        groups = far.groups()
        for a, b, text in (groups[k : k + 3] for k in range(0, len(groups), 3)):
            yield Claim("key, %s to %s" % (a, b), float(text), 0.1, float(np.hypot(*(laid[a] - laid[b]))))
    return below


def _claim_cut(begins, ends, tiles, below, plank_mm):
    """The line to cut of all tiles, laid: where it begins and ends, and that it is as long and as broad as the plank's
    own."""
    cut = "saw" if any(j.role == "saw" for tile, *_ in tiles for j in tile.items) else "outline"
    points = np.vstack(
        [
            r.trace(64) - tile.zero + [0.0, below[tile.name[0]]]
            for tile, *_ in tiles
            for i in tile.items
            if i.role == cut
            for r in i.runs
        ]
    )
    yield Claim("key, line to cut begins", float(begins), 0.1, float(points[:, 0].min()))
    yield Claim("key, line to cut ends", float(ends), 0.1, float(points[:, 0].max()))
    # the tiles lie along the plank's least width: its greatest reach does not mind
    hull = shapely.get_coordinates(shapely.MultiPoint(points).convex_hull)
    reach = float(np.hypot(*(hull[:, None] - hull[None]).reshape(-1, 2).T).max())
    yield Claim("tiles, the line's greatest reach", plank_mm, 0.01, reach)


def _claim_edges(words, tiles):
    wide, tall, across = re.search(r"DASHED EDGES %s X %s MM, BOTH DIAGONALS %s MM" % (_MM, _MM, _MM), words).groups()
    for tile, *_ in tiles:
        ends = np.vstack([i.runs[0].trace(1) for i in tile.items if i.role in ("tile-edge", "glue-edge")])
        low, high = ends.min(axis=0), ends.max(axis=0)
        for name, text, value in (
            ("wide", wide, high[0] - low[0]),
            ("tall", tall, high[1] - low[1]),
            ("diagonal", across, np.hypot(*(high - low))),
        ):
            yield Claim("tile %s, edges, %s" % (tile.name, name), float(text), 0.1, float(value))


def _claim_key_plan(words, pages, plank_mm):
    """The key plan's plank, times its scale, reaches as far as the plank."""
    (scale,) = re.search(r"KEY PLAN 1:(\d+) ", words).groups()
    shapes = [i for i in pages.items if i.role == "key-plan" and any(len(p) == 4 for r in i.runs for p in r.pieces)]
    reach = 0.0
    for item in shapes:
        hull = shapely.get_coordinates(shapely.MultiPoint(np.vstack([r.trace(16) for r in item.runs])).convex_hull)
        reach = max(reach, float(np.hypot(*(hull[:, None] - hull[None]).reshape(-1, 2).T).max()))
    yield Claim("key plan, 1:%s" % scale, plank_mm, 0.01 * int(scale), reach * int(scale))


def list_roll_claims(roll, lofted):
    """Widths at the frames of a plank that lies on a roll: each figure follows its frame's label."""
    labels, at = [i.values["text"] for i in roll.items if i.role in ("label", "short-card") and "text" in i.values], 0
    for label, line in lofted.frames:
        some = [
            k
            for k in range(at, len(labels) - 1)
            if labels[k] == label.upper() and re.fullmatch(r"\d+\.\d (IN|OUT)BOARD", labels[k + 1])
        ]
        assert some, "frame %s has no width on the roll" % label
        told = float(labels[some[0] + 1].split()[0])
        yield Claim("roll, width at frame %s" % label, told, 0.1, float(np.hypot(*(line[1] - line[0]))))


def list_long_page_claims(sheet):
    """The two rows at either end of a long page: how long it is, and how far apart the two crosses stand."""
    ends = [i for i in sheet.items if i.role == "page-end" and "text" not in i.values]
    texts = [i.values["text"] for i in sheet.items if i.role == "page-end" and "text" in i.values]
    assert len(ends) == 2 and len(texts) == 4, "a long page has %d crosses and %d rows of words at its ends" % (
        len(ends),
        len(texts),
    )
    apart = float(np.hypot(*(_find_middle(ends[0]) - _find_middle(ends[1]))))
    for text in texts:
        long, between = (
            re.fullmatch(p % _MM, text) for p in (r"THIS PAGE IS %s MM LONG", r"TO THE CROSS AT ITS OTHER END %s MM")
        )
        yield Claim(
            "page end, %s" % ("length" if long else "cross to cross"),
            float((long or between).group(1)),
            0.1,
            sheet.width_mm if long else apart,
        )
    for item in ends:
        yield Claim("page end, length-mm", item.number("length-mm"), 0.02, sheet.width_mm)
        yield Claim("page end, apart-mm", item.number("apart-mm"), 1e-3, apart)


def list_calibration_claims(page, lofted):
    """What a page to measure says of itself: its bars, its crosses, and the error that a reading half a mm off at the
    bar leaves over the plank's length."""
    words = " ".join(read_words(page).split())
    bars = {"ALONG": 0.0, "ACROSS": 0.0}
    for item in page.find("scale-bar"):
        line = item.runs[0].trace(1)
        long, way = float(np.hypot(*(line[-1] - line[0]))), "ALONG" if abs(line[-1] - line[0])[0] > 1.0 else "ACROSS"
        if abs(long / 25.4 - round(long / 25.4)) > 1e-6:  # the others are in whole inches
            bars[way] = max(bars[way], long)
    for way, long in bars.items():
        (text,) = re.search(r"BAR %s SAYS %s MEASURES" % (way, _MM), words).groups()
        yield Claim("calibration, bar %s" % way, float(text), 0.1, long)
    crosses = sorted((_find_middle(i) for i in page.find("corner-cross")), key=lambda p: tuple(p.round(3)))
    assert len(crosses) == 4
    (a, d, b, _) = crosses
    for name, other in (("AB", b), ("AD", d)):
        (text,) = re.search(r"(?:CROSSES AB SAYS [\d.]+ )?\b%s SAYS %s" % (name, _MM), words).groups()
        yield Claim("calibration, crosses %s" % name, float(text), 0.1, float(np.hypot(*(other - a))))
    ends = [(lofted.corner("upper " + e) + lofted.corner("lower " + e)) / 2 for e in ("fore", "aft")]
    length = float(np.hypot(*(ends[1] - ends[0])))
    off, left, over = re.search(
        r"READ TO %s MM, THE BAR ALONG LEAVES %s MM OVER THE %s MM OF" % (_MM, _MM, _MM), words
    ).groups()
    yield Claim("calibration, over the plank", float(over), 0.1, length)
    yield Claim("calibration, error left", float(left), 0.01, float(off) * length / bars["ALONG"])


def list_map_claims(page, lofted, drawing):
    """The butt map: its bar, its frames and the spaces below them, where the plank begins and ends and where its joints
    stand, all times the scale that is lettered, against the drawing of the plank."""
    words = " ".join(i.values["text"] for i in page.items if "text" in i.values)
    bar_m, scale = re.search(r"%s M ALONG THE SIDE\. SCALE 1:(\d+)" % _MM, words).groups()
    ratio = float(scale)

    def find_x(item):
        return np.vstack([r.trace(1) for r in item.runs])[:, 0]

    yield Claim("map, bar", 1000 * float(bar_m), 0.01, ratio * float(np.ptp(find_x(page.one("map-bar")))))
    lines = {i.values["frame"]: float(find_x(i).mean()) for i in page.find("grid") if "frame" in i.values}
    box = next(i for i in page.find("this-plank") if np.ptp(np.vstack([r.trace(1) for r in i.runs])[:, 1]) > 1.0
               and len(i.runs[0].pieces) >= 4)
    low, high = float(find_x(box).min()), float(find_x(box).max())
    # the bow lies to the right of a starboard side that is seen from outboard
    side = drawing.find("plank")[0].values["side"]
    start, way = (high, -1.0) if side == "starboard" else (low, 1.0)
    fore, along, _ = lofted.axes
    ends = [(lofted.corner("upper " + e) + lofted.corner("lower " + e)) / 2 for e in ("fore", "aft")]
    yield Claim("map, the plank's length", ratio * (high - low), 0.01, float(np.hypot(*(ends[1] - ends[0]))))
    places = {}
    for label, line in lofted.frames:
        places[label] = float((line.mean(axis=0) - fore) @ along)
        yield Claim("map, frame %s" % label, ratio * way * (lines[label] - start), 0.01, places[label])
    spaces = sorted((float(_find_middle(i)[0]), i.values["text"]) for i in page.find("space"))
    by_x = sorted(lines.values())
    assert len(spaces) == len(by_x) - 1, "%d spaces below %d frames" % (len(spaces), len(by_x))
    for (x, text), a, b in zip(spaces, by_x, by_x[1:]):
        assert a < x < b, "the space %s stands below no bay" % text
        yield Claim("map, space %s at %.0f" % (text, x), float(text), 1.0, ratio * (b - a))
    for item in page.find("joint"):
        at = ratio * way * (float(find_x(item).mean()) - start)
        bay = item.values["bay"].split("-")
        if all(label in places for label in bay):
            some = [_find_along(one, fore, along) for one in drawing.find("joint")]
            near = min(some, key=lambda v: abs(v - at))
            yield Claim("map, joint %s" % item.values["bay"], at, 0.01, near)
            assert min(places[v] for v in bay) < near < max(places[v] for v in bay), "joint %s" % item.values["bay"]


def _find_along(item, fore, along):
    points = item.runs[0].trace(1)
    return float(((points[0] + points[-1]) / 2 - fore) @ along)


def list_board_claims(data):
    """Pages of boards, from the PDF that goes to the saw: each ring's figures against the small drawing of the board,
    times the scale that is lettered, in mm and in the inches behind them; boards on the list against their pages."""
    pages, texts = read_pdf_pages(data), list_pdf_words(data)
    assert len(pages) == len(texts) > 1
    listed = " ".join(word for word, _ in texts[0])
    for page, words in zip(pages[1:], texts[1:]):
        said = " ".join(word for word, _ in words)
        board, thick, wide, long = re.search(r"BOARD ([^:]+): .*?%s X %s X %s MM" % (_MM, _MM, _MM), said).groups()
        assert "%s X %s X %s" % (thick, wide, long) in listed, "board %s is not on the list" % board
        (scale,) = re.search(r"DRAWN 1:(\d+)", said).groups()
        ratio, where = float(scale), "board %s" % board
        closed = [points for path in page.paths for points, shut in path if shut]
        rings = [p for p in closed if len(p) == 13 and np.abs(np.ptp(p, axis=0) - 2.4).max() < 0.05]
        wood = max((p for p in closed if len(p) in (4, 5)), key=lambda p: float(np.ptp(p[:, 0])))
        low, high = wood.min(axis=0), wood.max(axis=0)
        yield Claim(where + ", long", float(long), 1.0, ratio * float(high[0] - low[0]))
        yield Claim(where + ", wide", float(wide), 1.0, ratio * float(high[1] - low[1]))
        rows = re.findall(
            r"(?<!\S)(\d+) %s (\([^)]*IN\)) ?%s (\([^)]*IN\)) (UPPER|LOWER)" % (_MM, _MM), _order_rows(words)
        )
        assert len(rows) == len(rings) >= 3, "%s: %d rings, %d rows" % (where, len(rings), len(rows))
        middles = [(p.min(axis=0) + p.max(axis=0)) / 2 for p in rings]
        for number, text, text_in, inside, inside_in, edge in rows:
            # of the words with that number the one that stands outside the board is its ring's
            numbers = [at for word, at in words if word == number and low[0] - 6 < at[0] < high[0] + 6
                       and (low[1] - 6 < at[1] < low[1] or high[1] < at[1] < high[1] + 8)]
            assert numbers, "%s, ring %s has no number" % (where, number)
            ring = min(middles, key=lambda m: abs(m[0] - numbers[0][0] - 1.0))
            off = ring[1] - low[1] if edge == "UPPER" else high[1] - ring[1]
            for name, printed, inches, value in (("along", text, text_in, ring[0] - low[0]),
                                                 ("in", inside, inside_in, off)):
                yield Claim("%s, ring %s, %s" % (where, number, name), float(printed), 0.1, ratio * float(value))
                yield Claim("%s, ring %s, %s in inches" % (where, number, name), 25.4 * _read_inches(inches), 25.4 / 16,
                            ratio * float(value))


def _read_inches(text):
    parts = re.sub(r"[^\d/ ]", "", text).split()
    return sum(float(p.split("/")[0]) / float(p.split("/")[1]) if "/" in p else float(p) for p in parts)


def _order_rows(words):
    """Words from the top down, and from left to right in each row."""
    return " ".join(word for word, _ in sorted(words, key=lambda one: (round(one[1][1]), one[1][0])))
