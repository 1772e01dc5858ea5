"""Lettering recognised among lines, letter by letter, and letters drawn with as few lifts of the pen as possible.

A line of words is the letters of its text under one affine map. Where that map is found, a file can hold each form of
letter once, and a pen can draw each letter in one go.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from .lettering import draw_letter, lay_letters

if TYPE_CHECKING:
    from .arrays import Cubics, Matrix, Points

__all__ = ["Lettered", "find_lettering", "join_strokes", "letter_with_pen"]

_SAME_MM = 1e-5           # a line within this distance of its letters is made of them
_TOUCH = 0.05             # grid units: strokes nearer to each other than this touch
_BOW = 0.7                # grid units: depth of the bow under two letters that are tied, less than a comma hangs down
_UNTIED, _UNTIED_AFTER = "Q\u00d8\u0110", "F"      # with a bow under it F would be E
_FLANKS = {"O": (225.0, 315.0)}              # degrees round its middle, and straight: with bows below it O would be Q
_FOOT = 0.2               # grid units: points this little above a letter's lowest are its feet
_SLASH = 1.28             # a pen draws the stroke in a zero so much longer, out to the ring: one lift less


@dataclass(frozen=True, eq=False, repr=False)
class Lettered:
    """A line of words: its letters as they are spelt, where each begins, and how long the line is, in grid units;
    matrix (2, 3) carries them, y up from the baseline, to mm on the page.
    """

    spelt: str
    starts: tuple[float, ...]
    length: float
    matrix: Matrix

    @property
    def scale(self) -> float:
        """mm per grid unit: the root of the map's magnification of area."""
        m = self.matrix
        return float(np.sqrt(abs(m[0, 0] * m[1, 1] - m[0, 1] * m[1, 0])))


@lru_cache(maxsize=2048)
def _lay_grid(text):
    """Spelling, starts, length, and the ends of each straight piece in the grid with a column of ones: (k, 3) twice."""
    spelt, starts, length = lay_letters(text)
    strokes = [grid + [at, 0.0] for c, at in zip(spelt, starts) if c != " " for grid in draw_letter(c)]
    if not strokes:
        return spelt, tuple(starts), length, np.zeros((0, 3)), np.zeros((0, 3))
    first, last = np.concatenate([s[:-1] for s in strokes]), np.concatenate([s[1:] for s in strokes])
    ones = np.ones((len(first), 1))
    return spelt, tuple(starts), length, np.hstack([first, ones]), np.hstack([last, ones])


def find_lettering(text: str, cubics: Cubics) -> Lettered | None:
    """The letters that a line of cubics (k, 4, 2), mm, is made of, or None where it is not exactly this text. Words cut
    off at the edge of a tile count as ordinary lines, and so does a text of a single upright stroke."""
    return _find(text, np.ascontiguousarray(cubics, float).tobytes())


@lru_cache(maxsize=1024)          # each format of a page asks for the same words
def _find(text, data):
    spelt, starts, length, first, last = _lay_grid(text)
    places = np.frombuffer(data).reshape(-1, 4, 2)
    if len(first) != len(places) or len(first) < 2:
        return None
    middle = np.append(first[:, :2].mean(axis=0), 0.0)
    apart = first - middle
    normal = apart.T @ apart
    if normal[0, 0] * normal[1, 1] - normal[0, 1] ** 2 < 1e-6:
        return None
    found = np.linalg.solve(normal, apart.T @ places[:, 0])
    found[2] -= middle[:2] @ found[:2]
    if max(np.abs(first @ found - places[:, 0]).max(), np.abs(last @ found - places[:, 3]).max()) > _SAME_MM:
        return None
    return Lettered(spelt, starts, length, found.T)


def letter_with_pen(words: Lettered, *, tolerance_mm: float = 0.0, tied: bool = False) -> list[Points]:
    """The words as strokes (n, 2), mm, with as few strokes for each letter as possible, and without points that lie
    within tolerance_mm of the stroke anyway.

    tied : whether the letters of a word are drawn in one stroke, with a bow below the line from each to the next, as
    in writing. Figures and signs stay apart, so that none can be misread.
    """
    m, within = words.matrix, float(np.floor(100.0 * tolerance_mm / words.scale + 0.5 + 1e-6)) / 100.0
    return [stroke @ m[:, :2].T + m[:, 2] for run in _list_runs(words, within, tied)
            for stroke in ([_tie(run, within)] if len(run) > 1 else
                           [one + [run[0][1], 0.0] for one in _draw_joined(run[0][0], within)])]


def _list_runs(words, within, tied):
    """Letters (character, where it begins) that are drawn together: those of a word, or each alone."""
    runs, last = [], ""
    for character, at in zip(words.spelt, words.starts):
        alone = not (tied and character.isalpha() and character not in _UNTIED
                     and len(_draw_joined(character, within)) == 1)
        if last in _FLANKS and len(runs[-1]) == 1:
            last = ""
        if character != " " and (alone or not last):
            runs.append([(character, at)])
        elif character != " ":
            runs[-1].append((character, at))
        last = "" if alone or character in _UNTIED_AFTER else character
    return runs


@lru_cache(maxsize=1024)
def _draw_joined(character, within):
    strokes = draw_letter(character)
    if character == "0":
        ring, slash = strokes
        strokes = [ring, slash.mean(axis=0) + _SLASH * (slash - slash.mean(axis=0))]
    return [stroke[_find_needed(stroke, within)] for stroke in join_strokes(strokes)]


def _tie(run, within):
    """Letters (character, where it begins) as one stroke (n, 2), grid units."""
    parts: list[Points] = []
    for k, (character, at) in enumerate(run):
        stroke = _draw_between(character, within, k > 0, k < len(run) - 1) + [at, 0.0]
        if parts:
            share = np.linspace(0.0, 1.0, 7)[1:-1, None]
            first, last = parts[-1][-1], stroke[0]
            low = 0.0 if _FLANKS.keys() & {character, run[k - 1][0]} else _BOW
            parts.append(first + (last - first) * share - [0.0, 4 * low] * share * (1 - share))
        parts.append(stroke)
    return np.vstack(parts)


@lru_cache(maxsize=1024)
def _draw_between(character, within, entered, left):
    """A letter in one stroke, from its left foot where it is entered from the letter before, to its right foot where it
    is left for the next one."""
    strokes = draw_letter(character)
    every = np.vstack(strokes)
    if character in _FLANKS:
        middle, half = (every.max(axis=0) + every.min(axis=0)) / 2, np.ptp(every, axis=0) / 2
        begin, end = (every[np.argmin(np.abs((every - middle) / half - [np.cos(a), np.sin(a)]).sum(axis=1))]
                      for a in np.radians(_FLANKS[character]))
    else:
        feet = every[every[:, 1] < every[:, 1].min() + _FOOT]
        begin, end = feet[np.argmin(feet[:, 0])], feet[np.argmax(feet[:, 0])]
    for foot in [one for one, wanted in ((begin, entered), (end, left)) if wanted]:
        strokes = [part for stroke in strokes for part in _cut_at(stroke, foot)]
    nodes: list[Points] = []
    edges = [(_find_node(nodes, piece[0]), _find_node(nodes, piece[-1]), piece) for piece in _part_at_meetings(strokes)]
    first, last = _find_node(nodes, begin) if entered else None, _find_node(nodes, end) if left else None
    path = _walk(_even_out(edges, first, last), first, last)
    return path[_find_needed(path, within)]


def _cut_at(stroke, point):
    """A stroke in two where it has this point between its ends."""
    at = [k for k in range(1, len(stroke) - 1) if np.abs(stroke[k] - point).max() < 1e-9]
    return [stroke[:at[0] + 1], stroke[at[0]:]] if at else [stroke]


def _find_needed(points, within):
    """Which points of a polyline are needed to keep it within the tolerance: bool (n,) (Douglas and Peucker)."""
    kept = np.zeros(len(points), bool)
    kept[[0, -1]] = True
    ahead = [(0, len(points) - 1)]
    while ahead:
        first, last = ahead.pop()
        way, inner = points[last] - points[first], points[first + 1:last] - points[first]
        if not len(inner):
            continue
        share = np.clip(inner @ way / max(way @ way, 1e-12), 0.0, 1.0)
        # of several points equally far off, a letter's are often so, the first is taken on every machine
        away = np.round(np.hypot(*(inner - share[:, None] * way).T), 9)
        far = int(np.argmax(away))
        if away[far] > max(within, 1e-9):
            kept[first + 1 + far] = True
            ahead += [(first, first + 1 + far), (first + 1 + far, last)]
    return kept


def join_strokes(strokes: list[Points]) -> list[Points]:
    """Strokes (k, 2) that touch or cross each other, drawn without lifting the pen. Some stretches have to be drawn
    twice: the choice with the least length is made.

    Examples
    --------
    >>> import numpy as np
    >>> [s.tolist() for s in join_strokes([np.array([[0., 0.], [2., 0.]]), np.array([[2., 0.], [2., 2.]])])]
    [[[0.0, 0.0], [2.0, 0.0], [2.0, 2.0]]]
    """
    pieces = _part_at_meetings(strokes)
    nodes: list[Points] = []
    edges = [(_find_node(nodes, piece[0]), _find_node(nodes, piece[-1]), piece) for piece in pieces]
    joined = []
    for group in _list_connected(edges):
        joined.append(_walk(_even_out(group)))
    return joined


def _part_at_meetings(strokes):
    """Strokes split where the end of another lies on them, and where two cross."""
    marks = [[] for _ in strokes]
    for k, one in enumerate(strokes):
        for other in (o for j, o in enumerate(strokes) if j != k):
            marks[k] += [place for end in (other[0], other[-1]) for place in _find_on(one, end)]
            marks[k] += _find_crossings(one, other)
    pieces = []
    for one, places in zip(strokes, marks):
        arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(one, axis=0).T))])
        kept = []
        for at in sorted(places):
            if _TOUCH < at < arc[-1] - _TOUCH and (not kept or at - kept[-1] > _TOUCH):
                kept.append(at)
        ends = [0.0, *kept, float(arc[-1])]
        for low, high in zip(ends[:-1], ends[1:]):
            inner = one[(arc > low + 1e-9) & (arc < high - 1e-9)]
            cut = [[np.interp(at, arc, one[:, 0]), np.interp(at, arc, one[:, 1])] for at in (low, high)]
            pieces.append(np.vstack([cut[:1], inner, cut[1:]]))
    return pieces


def _find_on(line, point):
    """Distance along a polyline to its place nearest to a point: a list of one, empty where that is too far to touch.
    """
    way, arc = np.diff(line, axis=0), np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    long = np.diff(arc)
    at = np.clip(np.sum((point - line[:-1]) * way, axis=1) / long ** 2, 0.0, 1.0)
    away = np.hypot(*(line[:-1] + at[:, None] * way - point).T)
    k = int(np.argmin(away))
    return [float(arc[k] + at[k] * long[k])] if away[k] <= _TOUCH else []


def _find_crossings(line, other):
    """How far along a polyline each crossing with another one is."""
    arc, found = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))]), []
    for k, (a, b) in enumerate(zip(line[:-1], line[1:])):
        for c, d in zip(other[:-1], other[1:]):
            p, q, r = b - a, d - c, c - a
            area = p[0] * q[1] - p[1] * q[0]
            if abs(area) < 1e-9:
                continue
            s, t = (r[0] * q[1] - r[1] * q[0]) / area, (r[0] * p[1] - r[1] * p[0]) / area
            if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0:
                found.append(float(arc[k] + s * (arc[k + 1] - arc[k])))
    return found


def _find_node(nodes, point):
    """The number of the node at a place; a new node is added where there is none."""
    for k, node in enumerate(nodes):
        if np.hypot(*(node - point)) <= 2 * _TOUCH:
            return k
    nodes.append(point)
    return len(nodes) - 1


def _list_connected(edges):
    """Edges (node, node, piece) in connected groups, ordered by their first edge."""
    groups = []
    for edge in edges:
        near = [g for g in groups if any({edge[0], edge[1]} & {e[0], e[1]} for e in g)]
        for g in near[1:]:
            near[0].extend(g)
            groups.remove(g)
        if near:
            near[0].append(edge)
        else:
            groups.append([edge])
    return groups


def _list_odd(edges):
    """Nodes with an odd number of edges."""
    ends = [e for edge in edges for e in edge[:2]]
    return [n for n in dict.fromkeys(ends) if ends.count(n) % 2]


def _even_out(edges, first=None, last=None):
    """Edges, some of them repeated so that one path runs over all of them, from the node `first` and to the node `last`
    where these are given; the repeated length is the least possible."""
    def fits(some):
        odd = set(_list_odd(some))
        if first is not None and last is not None:
            return odd == ({first, last} if first != last else set())
        return len(odd) <= 2 and (first is last or not odd or bool(odd & {first, last}))
    if fits(edges):
        return edges
    lengths = [float(np.hypot(*np.diff(piece, axis=0).T).sum()) for *_, piece in edges]
    best: tuple[float, tuple[int, ...]] | None = None
    for count in range(1, len(edges) + 1):
        for some in combinations(range(len(edges)), count):
            twice = sum(lengths[k] for k in some)
            if (best is None or twice < best[0]) and fits([*edges, *(edges[k] for k in some)]):
                best = (twice, some)
        if count >= 4 and best is not None:
            break
    return [*edges, *(edges[k] for k in best[1])] if best is not None else edges


def _walk(edges, first=None, last=None):
    """One path over all edges (Hierholzer's method), from the node `first` and to the node `last` where these are
    given, else from a node with an odd number of edges if there is one."""
    start = first
    if start is None:
        start = next((n for n in _list_odd(edges) if n != last), last if last is not None else edges[0][0])
    left, way = list(range(len(edges))), []
    stack: list[tuple[Any, Any]] = [(start, None)]
    while stack:
        node = stack[-1][0]
        k = next((k for k in left if node in edges[k][:2]), None)
        if k is None:
            way.append(stack.pop())
            continue
        left.remove(k)
        a, b, piece = edges[k]
        stack.append((b, piece) if node == a else (a, piece[::-1]))
    pieces = [piece for _, piece in way[::-1] if piece is not None]
    return np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:])])
